/* schema.c - the rows, and how they are found. */
#include "thinair/schema.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "thinair/event.h"

#define AT(type, member) .offset = offsetof(type, member), .has_offset = TA_NOWHERE
#define AT_HAS(type, member, has) \
  .offset = offsetof(type, member), .has_offset = offsetof(type, has), .presence = TA_OPTIONAL
#define OR(kind, type, member, has)                             \
  .other_kind = (kind), .other_offset = offsetof(type, member), \
  .other_has_offset = offsetof(type, has)
#define LIST(type, member, count, element) \
  AT(type, member), .count_offset = offsetof(type, count), .element_size = sizeof(element)
#define FLOW_DROP(group, drop, what)                                                           \
  {group ".pressure_drop",                                                                     \
   TA_FORM_QUANTITY,                                                                           \
   TA_PRESSURE_DIFFERENCE,                                                                     \
   AT(ta_event, drop.drop_pa),                                                                 \
   .low = 0.0,                                                                                 \
   .high = 100e3,                                                                              \
   .about = "pressure drop of the " what " at that flow"},                                     \
      {group ".at_flow",                                                                       \
       TA_FORM_QUANTITY,                                                                       \
       TA_MASS_FLOW,                                                                           \
       AT(ta_event, drop.at_flow_kg_s),                                                        \
       .low = 1e-4,                                                                            \
       .high = 10.0,                                                                           \
       .about = "the whole engine's air flow at which it was read"},                           \
      {group ".measured_at", TA_FORM_GROUP, .presence = TA_OPTIONAL, .has_offset = TA_NOWHERE, \
       .about = "state of the dry air it was read with; ISA sea level unless given"},          \
      {group ".measured_at.pressure",                                                          \
       TA_FORM_QUANTITY,                                                                       \
       TA_PRESSURE,                                                                            \
       AT(ta_event, drop.pressure_pa),                                                         \
       .presence = TA_DEFAULT,                                                                 \
       .fallback = 101325.0,                                                                   \
       .low = 20e3,                                                                            \
       .high = 1e6,                                                                            \
       .about = "pressure of that air"},                                                       \
  {                                                                                            \
    group ".measured_at.temperature", TA_FORM_QUANTITY, TA_TEMPERATURE,                        \
        AT(ta_event, drop.temperature_k), .presence = TA_DEFAULT, .fallback = 288.15,          \
                                          .low = 200.0, .high = 500.0,                         \
                                          .about = "temperature of that air"                   \
  }

#define PRINTED_POINT(group)                                                                    \
  {group ".flow",                                                                               \
   TA_FORM_QUANTITY,                                                                            \
   TA_MASS_FLOW,                                                                                \
   AT(ta_printed_point, flow_kg_s),                                                             \
   OR(TA_VOLUME_FLOW, ta_printed_point, flow_m3_s, has_volume),                                 \
   .low = 1e-4,                                                                                 \
   .high = 20.0,                                                                                \
   .about = "corrected flow: mass, or volume at the reference state"},                          \
  {                                                                                             \
    group ".pressure_ratio", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_printed_point, pressure_ratio), \
        .low = 1.0, .high = 12.0, .about = "total to total"                                     \
  }

static const ta_field rows[] = {
    {"event", TA_FORM_TEXT, AT(ta_event, name), .about = "name of the event, free text"},
    {"units", TA_FORM_CHOICE, AT(ta_event, units), .presence = TA_DEFAULT, .choices = "metric|us",
     .about = "units of the output"},

    {"course", TA_FORM_FILE, .has_offset = TA_NOWHERE,
     .about = "the road: a file, or the mapping itself"},
    {"course.smoothing", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_event, course_smoothing_m, has_course_smoothing), .low = 1.0, .high = 5000.0,
     .about = "length of road over which elevations are smoothed; GPX: 50 m unless given"},
    {"course.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .about = "column names and their units"},
    {"course.rows", TA_FORM_TABLE, LIST(ta_event, course.point, course.count, ta_course_point),
     .about = "points from start to finish"},
    {"course.rows[].distance", TA_FORM_QUANTITY, TA_LENGTH, AT(ta_course_point, distance_m),
     .low = -1e7, .high = 1e7, .about = "along the road"},
    {"course.rows[].elevation", TA_FORM_QUANTITY, TA_LENGTH, AT(ta_course_point, elevation_m),
     .low = -500.0, .high = 6500.0, .about = "above sea level"},
    {"course.rows[].corner_radius", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_course_point, corner_radius_m, has_corner_radius), .low = 1.0, .high = 1e5,
     .about = "radius of the road from here to the next point; ~: straight"},
    {"course.rows[].speed_limit", TA_FORM_QUANTITY, TA_SPEED,
     AT_HAS(ta_course_point, speed_limit_ms, has_speed_limit), .low = 0.1, .high = 200.0,
     .about = "highest speed from here to the next point; ~: none"},
    {"course.rows[].mark", TA_FORM_TEXT, AT(ta_course_point, mark), .presence = TA_OPTIONAL,
     .about = "a named place"},

    {"car", TA_FORM_FILE, .has_offset = TA_NOWHERE,
     .about = "the car: a file, or the mapping itself"},
    {"car.car", TA_FORM_TEXT, AT(ta_event, car.name), .about = "name of the car, free text"},
    {"car.engine.displacement", TA_FORM_QUANTITY, TA_VOLUME,
     AT(ta_event, car.engine.displacement_m3), .low = 50e-6, .high = 0.03,
     .about = "swept volume; rotary: one chamber times the number of rotors"},
    {"car.engine.cycle", TA_FORM_CHOICE, AT(ta_event, car.engine.cycle), .presence = TA_DEFAULT,
     .choices = "four-stroke|two-stroke|rotary", .about = "working cycle"},
    {"car.engine.volumetric_efficiency.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .about = "column names and their units"},
    {"car.engine.volumetric_efficiency.rows", TA_FORM_TABLE,
     LIST(ta_event, car.engine.ve, car.engine.ve_count, ta_ve_point),
     .about = "air taken in per displacement, at the plenum's MAP and temperature"},
    {"car.engine.volumetric_efficiency.rows[].engine_speed", TA_FORM_QUANTITY, TA_ROTATION,
     AT(ta_ve_point, engine_rpm), .low = 1.0, .high = 30000.0, .about = "engine speed"},
    {"car.engine.volumetric_efficiency.rows[].ve", TA_FORM_QUANTITY, TA_RATIO, AT(ta_ve_point, ve),
     .low = 0.2, .high = 1.6, .about = "volumetric efficiency"},
    {"car.engine.boost_window", TA_FORM_RANGE, TA_ROTATION, AT(ta_event, car.engine.window_rpm),
     .low = 200.0, .high = 30000.0, .about = "engine speeds between which the target is held"},
    {"car.engine.redline", TA_FORM_QUANTITY, TA_ROTATION,
     AT_HAS(ta_event, car.engine.redline_rpm, car.engine.has_redline), .low = 200.0,
     .high = 30000.0, .about = "highest engine speed"},
    {"car.engine.air_fuel_ratio", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.engine.air_fuel_ratio), .low = 2.0, .high = 40.0,
     .about = "mass of air over mass of fuel, under boost"},
    {"car.engine.bsfc", TA_FORM_QUANTITY, TA_SPECIFIC_CONSUMPTION,
     AT(ta_event, car.engine.bsfc_kg_j), .low = 100.0 / 3.6e9, .high = 1500.0 / 3.6e9,
     .about = "brake specific fuel consumption, under boost"},

    FLOW_DROP("car.intake", car.intake.drop, "intake, from outside to the compressor"),
    {"car.intake.temperature_rise", TA_FORM_QUANTITY, TA_TEMPERATURE_DIFFERENCE,
     AT(ta_event, car.intake.temperature_rise_k), .low = 0.0, .high = 80.0,
     .about = "compressor inlet above ambient; more when the engine bay is heat-soaked"},
    {"car.intake.ram_recovery", TA_FORM_QUANTITY, TA_RATIO, AT(ta_event, car.intake.ram_recovery),
     .presence = TA_DEFAULT, .low = 0.0, .high = 1.0,
     .about = "share of the driving wind's dynamic pressure that reaches the intake"},
    {"car.intake.restrictor", TA_FORM_GROUP, .presence = TA_OPTIONAL,
     .has_offset = offsetof(ta_event, car.intake.has_restrictor),
     .about = "inlet restrictor, where the rules ask for one"},
    {"car.intake.restrictor.diameter", TA_FORM_QUANTITY, TA_LENGTH,
     AT(ta_event, car.intake.restrictor.diameter_m), .low = 0.005, .high = 0.3,
     .about = "diameter of its throat"},
    {"car.intake.restrictor.count", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.intake.restrictor.count), .presence = TA_DEFAULT, .fallback = 1.0, .low = 1.0,
     .high = 8.0, .about = "restrictors side by side"},
    {"car.intake.restrictor.recovery", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.intake.restrictor.recovery), .presence = TA_DEFAULT, .fallback = 0.85,
     .low = 0.0, .high = 1.0,
     .about = "share of the throat's fall of pressure that comes back behind it"},

    {"car.charge_cooler.effectiveness", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.charge_cooler.effectiveness), .low = 0.0, .high = 1.0,
     .about = "share of the difference to the coolant that is taken away; 0: none fitted"},
    FLOW_DROP("car.charge_cooler", car.charge_cooler.drop,
              "charge path, from compressor to plenum, throttle included"),
    {"car.charge_cooler.coolant", TA_FORM_QUANTITY, TA_TEMPERATURE,
     AT_HAS(ta_event, car.charge_cooler.coolant_k, car.charge_cooler.has_coolant), .low = 230.0,
     .high = 400.0, .choices = "ambient", .about = "what cools: the ambient air, or a temperature"},
    {"car.charge_cooler.leak", TA_FORM_QUANTITY, TA_RATIO, AT(ta_event, car.charge_cooler.leak),
     .presence = TA_DEFAULT, .low = 0.0, .high = 0.5,
     .about = "air lost after the compressor, as a share of the engine's"},

    {"car.control.holds", TA_FORM_CHOICE, AT(ta_event, car.control.holds),
     .choices = "absolute|gauge|gauge-from-key-on",
     .about = "what the boost controller holds: MAP; boost above the live ambient, as a "
              "pressure-actuated wastegate does; boost above the ambient read once, with the key"},
    {"car.control.overshoot", TA_FORM_QUANTITY, TA_PRESSURE_DIFFERENCE,
     AT(ta_event, car.control.overshoot_pa), .low = 0.0, .high = 100e3,
     .about = "how far the pressure runs above the set-point, at worst"},
    {"car.control.map_error", TA_FORM_QUANTITY, TA_PRESSURE_DIFFERENCE,
     AT(ta_event, car.control.map_error_pa), .presence = TA_DEFAULT, .low = 0.0, .high = 50e3,
     .about = "how far the controller's pressure sensor reads low, at worst"},
    {"car.control.barometer_error", TA_FORM_QUANTITY, TA_PRESSURE_DIFFERENCE,
     AT(ta_event, car.control.barometer_error_pa), .presence = TA_DEFAULT, .fallback = 500.0,
     .low = 0.0, .high = 20e3, .about = "how far the controller's barometer reads high, at worst"},
    {"car.control.barometer_read_at", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_event, car.control.barometer_read_at_m, car.control.has_barometer_read_at),
     .low = -500.0, .high = 6500.0,
     .about = "elevation at which gauge-from-key-on reads the ambient; the start unless given"},
    {"car.control.map_sensor", TA_FORM_QUANTITY, TA_PRESSURE,
     AT_HAS(ta_event, car.control.map_sensor_pa, car.control.has_map_sensor), .low = 100e3,
     .high = 2e6, .about = "full scale of the controller's pressure sensor"},
    {"car.control.minimum_boost", TA_FORM_QUANTITY, TA_GAUGE_PRESSURE,
     AT_HAS(ta_event, car.control.minimum_boost_pa, car.control.has_minimum_boost), .low = 0.0,
     .high = 500e3, .about = "boost with its control off: the wastegate's spring"},
    {"car.control.unit", TA_FORM_CHOICE, AT(ta_event, car.control.unit), .presence = TA_DEFAULT,
     .choices = "kPa|mbar|bar|psi", .about = "unit of pressure in the controller's table"},
    {"car.control.resolution", TA_FORM_QUANTITY, TA_PRESSURE_DIFFERENCE,
     AT(ta_event, car.control.resolution_pa), .presence = TA_DEFAULT, .fallback = 1000.0,
     .low = 1.0, .high = 20e3, .about = "step of the controller's table"},
    {"car.control.interpolation", TA_FORM_CHOICE, AT(ta_event, car.control.interpolation),
     .presence = TA_DEFAULT, .choices = "linear|step",
     .about = "how the controller reads its table between breakpoints"},
    {"car.control.pressure_axis", TA_FORM_SERIES, TA_PRESSURE,
     LIST(ta_event, car.control.pressure_axis_pa, car.control.pressure_axis_count, double),
     .presence = TA_OPTIONAL, .low = 35e3, .high = 115e3,
     .about = "breakpoints of ambient pressure in the controller's table; chosen unless given"},
    {"car.control.speed_axis", TA_FORM_SERIES, TA_ROTATION,
     LIST(ta_event, car.control.speed_axis_rpm, car.control.speed_axis_count, double),
     .presence = TA_OPTIONAL, .low = 1.0, .high = 30000.0,
     .about = "breakpoints of engine speed in the controller's table; chosen unless given"},
    {"car.control.positions", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.control.positions),
     .presence = TA_DEFAULT, .fallback = 3.0, .low = 1.0, .high = 12.0,
     .about = "positions of the boost knob that the driver can use"},

    {"car.turbo", TA_FORM_FILE, .has_offset = TA_NOWHERE,
     .about = "the turbo: a file, or the mapping itself"},
    {"car.turbo.count", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.turbo.count),
     .presence = TA_DEFAULT, .fallback = 1.0, .low = 1.0, .high = 8.0,
     .about = "turbos in parallel"},
    {"car.turbo.imbalance", TA_FORM_QUANTITY, TA_RATIO, AT(ta_event, car.turbo.imbalance),
     .presence = TA_DEFAULT, .fallback = 0.02, .low = 0.0, .high = 0.5,
     .about = "how much more than its share the judged one of several carries"},
    {"car.turbo.rated_speed", TA_FORM_QUANTITY, TA_ROTATION, AT(ta_event, car.turbo.rated_rpm),
     .low = 10000.0, .high = 500000.0, .about = "physical shaft speed that the maker allows"},
    {"car.turbo.thin_air", TA_FORM_CHOICE, AT(ta_event, car.turbo.thin_air.off),
     .presence = TA_DEFAULT, .choices = "on|off",
     .about = "correction of the compressor map to thin air"},
    {"car.turbo.thin_air.reynolds_exponent", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.turbo.thin_air.reynolds_exponent), .presence = TA_DEFAULT, .fallback = 0.16,
     .low = 0.0, .high = 0.5, .about = "power of the Reynolds ratio in the losses"},
    {"car.turbo.thin_air.pressure_exponent", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.turbo.thin_air.pressure_exponent), .presence = TA_DEFAULT, .fallback = 0.04,
     .low = 0.0, .high = 0.5, .about = "power of the inlet pressure in the speed"},

    {"car.turbo.sensor", TA_FORM_GROUP, .presence = TA_OPTIONAL,
     .has_offset = offsetof(ta_event, car.turbo.has_sensor),
     .about = "shaft-speed sensor that counts passing blades"},
    {"car.turbo.sensor.blades", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.turbo.sensor.blades),
     .low = 1.0, .high = 40.0, .about = "blades that pass the sensor in one revolution"},
    {"car.turbo.sensor.divider", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.turbo.sensor.divider), .presence = TA_DEFAULT, .fallback = 1.0, .low = 1.0,
     .high = 64.0, .about = "blades for one pulse of the sensor's amplifier"},
    {"car.turbo.sensor.thread_pitch", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_event, car.turbo.sensor.thread_pitch_m, car.turbo.sensor.has_thread_pitch),
     .low = 0.1e-3, .high = 5e-3, .about = "pitch of a threaded sensor"},
    {"car.turbo.sensor.turns_back", TA_FORM_QUANTITY, TA_NUMBER,
     AT_HAS(ta_event, car.turbo.sensor.turns_back, car.turbo.sensor.has_turns_back), .low = 0.05,
     .high = 10.0, .about = "turns that its maker has it backed off after it touches"},

    {"car.turbo.compressor", TA_FORM_FILE, .has_offset = TA_NOWHERE,
     .about = "the compressor map: a file, or the mapping itself"},
    {"car.turbo.compressor.compressor", TA_FORM_TEXT, AT(ta_event, car.turbo.compressor.name),
     .about = "name of the compressor, free text"},
    {"car.turbo.compressor.exducer_diameter", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_event, car.turbo.compressor.exducer_m, car.turbo.compressor.has_exducer),
     .low = 0.02, .high = 0.3, .about = "of the compressor wheel: for tip speed and typing errors"},
    {"car.turbo.compressor.reference", TA_FORM_GROUP, .has_offset = TA_NOWHERE,
     .about = "state that flow and speed are corrected to; printed on the map. Usual ones: "
              "96.17 kPa with 302.6 K; 100 kPa with 298.15 K; 101.325 kPa with 288.15 K"},
    {"car.turbo.compressor.reference.pressure", TA_FORM_QUANTITY, TA_PRESSURE,
     AT(ta_event, car.turbo.compressor.reference.pressure_pa), .low = 80e3, .high = 110e3,
     .about = "reference pressure; usual: 96.17 kPa, 100 kPa, 101.325 kPa"},
    {"car.turbo.compressor.reference.temperature", TA_FORM_QUANTITY, TA_TEMPERATURE,
     AT(ta_event, car.turbo.compressor.reference.temperature_k), .low = 270.0, .high = 320.0,
     .about = "reference temperature; usual: 302.6 K, 298.15 K, 288.15 K"},
    {"car.turbo.compressor.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .about = "column names and units of every line's rows"},
    {"car.turbo.compressor.lines", TA_FORM_LIST,
     LIST(ta_event, car.turbo.compressor.printed, car.turbo.compressor.printed_count,
          ta_printed_line),
     .about = "speed lines, from the slowest"},
    {"car.turbo.compressor.lines[].speed", TA_FORM_QUANTITY, TA_ROTATION,
     AT(ta_printed_line, corrected_rpm), OR(TA_SPEED, ta_printed_line, tip_speed_ms, has_tip_speed),
     .low = 1000.0, .high = 500000.0, .about = "corrected speed of the line, or its tip speed"},
    {"car.turbo.compressor.lines[].rows", TA_FORM_TABLE,
     LIST(ta_printed_line, point, point_count, ta_printed_point),
     .about = "points from surge to choke"},
    PRINTED_POINT("car.turbo.compressor.lines[].rows[]"),
    {"car.turbo.compressor.lines[].rows[].efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT_HAS(ta_printed_point, efficiency, has_efficiency), .low = 0.2, .high = 0.9,
     .about = "isentropic, total to total; 0.9 is beyond what such a wheel can do"},
    {"car.turbo.compressor.islands", TA_FORM_LIST,
     LIST(ta_event, car.turbo.compressor.island, car.turbo.compressor.island_count,
          ta_printed_island),
     .presence = TA_OPTIONAL, .about = "contours of one efficiency each, as printed"},
    {"car.turbo.compressor.islands[].efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_printed_island, efficiency), .low = 0.3, .high = 0.9,
     .about = "isentropic, total to total"},
    {"car.turbo.compressor.islands[].columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .presence = TA_OPTIONAL, .about = "column names and units"},
    {"car.turbo.compressor.islands[].rows", TA_FORM_TABLE,
     LIST(ta_printed_island, point, point_count, ta_printed_point),
     .about = "points of the contour"},
    PRINTED_POINT("car.turbo.compressor.islands[].rows[]"),
    {"car.turbo.compressor.surge_line", TA_FORM_GROUP, .has_offset = TA_NOWHERE,
     .presence = TA_OPTIONAL, .about = "the surge line, where it is printed apart"},
    {"car.turbo.compressor.surge_line.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .presence = TA_OPTIONAL, .about = "column names and units"},
    {"car.turbo.compressor.surge_line.rows", TA_FORM_TABLE,
     LIST(ta_event, car.turbo.compressor.surge, car.turbo.compressor.surge_count, ta_printed_point),
     .about = "points of the surge line, from the lowest"},
    PRINTED_POINT("car.turbo.compressor.surge_line.rows[]"),

    {"car.turbo.turbine", TA_FORM_GROUP, .presence = TA_OPTIONAL,
     .has_offset = offsetof(ta_event, car.turbo.has_turbine),
     .about = "the turbine, to tell whether it can drive the target"},
    {"car.turbo.turbine.inlet_temperature", TA_FORM_QUANTITY, TA_TEMPERATURE,
     AT(ta_event, car.turbo.turbine.inlet_temperature_k), .low = 500.0, .high = 1500.0,
     .about = "exhaust gas before the turbine, total"},
    {"car.turbo.turbine.efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT_HAS(ta_event, car.turbo.turbine.efficiency, car.turbo.turbine.has_efficiency), .low = 0.2,
     .high = 0.9, .about = "total to static: one number, or columns and rows over expansion_ratio"},
    {"car.turbo.turbine.efficiency.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .about = "column names and their units"},
    {"car.turbo.turbine.efficiency.rows", TA_FORM_TABLE,
     LIST(ta_event, car.turbo.turbine.efficiency_point, car.turbo.turbine.efficiency_count,
          ta_turbine_efficiency),
     .about = "efficiency over expansion ratio"},
    {"car.turbo.turbine.efficiency.rows[].expansion_ratio", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_turbine_efficiency, expansion_ratio), .low = 1.0, .high = 20.0,
     .about = "total to static"},
    {"car.turbo.turbine.efficiency.rows[].efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_turbine_efficiency, efficiency), .low = 0.2, .high = 0.9, .about = "total to static"},
    {"car.turbo.turbine.mechanical_efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.turbo.turbine.mechanical_efficiency), .low = 0.5, .high = 1.0,
     .about = "share of the turbine's power that reaches the compressor"},
    {"car.turbo.turbine.reference", TA_FORM_GROUP, .has_offset = TA_NOWHERE,
     .about = "state that its flow capacity is corrected to"},
    {"car.turbo.turbine.reference.pressure", TA_FORM_QUANTITY, TA_PRESSURE,
     AT(ta_event, car.turbo.turbine.reference_pa), .low = 80e3, .high = 110e3,
     .about = "reference pressure"},
    {"car.turbo.turbine.reference.temperature", TA_FORM_QUANTITY, TA_TEMPERATURE,
     AT(ta_event, car.turbo.turbine.reference_k), .low = 270.0, .high = 1000.0,
     .about = "reference temperature"},
    {"car.turbo.turbine.flow_capacity.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE,
     .about = "column names and their units"},
    {"car.turbo.turbine.flow_capacity.rows", TA_FORM_TABLE,
     LIST(ta_event, car.turbo.turbine.flow, car.turbo.turbine.flow_count, ta_turbine_flow),
     .about = "corrected flow of one turbine over expansion ratio"},
    {"car.turbo.turbine.flow_capacity.rows[].expansion_ratio", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_turbine_flow, expansion_ratio), .low = 1.0, .high = 20.0, .about = "total to static"},
    {"car.turbo.turbine.flow_capacity.rows[].flow", TA_FORM_QUANTITY, TA_MASS_FLOW,
     AT(ta_turbine_flow, flow_kg_s), .low = 1e-4, .high = 20.0, .about = "corrected flow"},
    {"car.turbo.turbine.back_pressure", TA_FORM_QUANTITY, TA_PRESSURE_DIFFERENCE,
     AT(ta_event, car.turbo.turbine.back_pressure_pa), .low = 0.0, .high = 200e3,
     .about = "pressure drop of the exhaust after the turbine at that flow"},
    {"car.turbo.turbine.at_flow", TA_FORM_QUANTITY, TA_MASS_FLOW,
     AT(ta_event, car.turbo.turbine.at_flow_kg_s), .low = 1e-4, .high = 10.0,
     .about = "the whole engine's exhaust flow at which it was read"},
    {"car.turbo.turbine.measured_at", TA_FORM_QUANTITY, TA_PRESSURE,
     AT(ta_event, car.turbo.turbine.measured_pa), .presence = TA_DEFAULT, .fallback = 101325.0,
     .low = 20e3, .high = 300e3,
     .about = "pressure at the turbine's outlet that it was read with; ISA sea level unless given"},
    {"car.turbo.turbine.gamma", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.turbo.turbine.gamma),
     .presence = TA_DEFAULT, .fallback = 1.32, .low = 1.2, .high = 1.4,
     .about = "ratio of specific heats of the exhaust gas"},
    {"car.turbo.turbine.gas_constant", TA_FORM_QUANTITY, TA_NUMBER,
     AT(ta_event, car.turbo.turbine.gas_constant_jkgk), .presence = TA_DEFAULT, .fallback = 290.0,
     .low = 270.0, .high = 310.0, .about = "of the exhaust gas, in J/(kg K)"},

    {"car.vehicle", TA_FORM_GROUP, .presence = TA_OPTIONAL,
     .has_offset = offsetof(ta_event, car.has_vehicle),
     .about = "mass, drag, grip and gears: needed for the run up the hill"},
    {"car.vehicle.mass", TA_FORM_QUANTITY, TA_MASS, AT(ta_event, car.vehicle.mass_kg), .low = 50.0,
     .high = 50e3, .about = "ready to run, driver in it"},
    {"car.vehicle.drag_area", TA_FORM_QUANTITY, TA_AREA, AT(ta_event, car.vehicle.drag_area_m2),
     .low = 0.05, .high = 20.0, .about = "drag coefficient times frontal area"},
    {"car.vehicle.downforce_area", TA_FORM_QUANTITY, TA_AREA,
     AT(ta_event, car.vehicle.downforce_area_m2), .presence = TA_DEFAULT, .low = 0.0, .high = 20.0,
     .about = "downforce over dynamic pressure"},
    {"car.vehicle.rolling_resistance", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.vehicle.rolling_resistance), .low = 0.0, .high = 0.2,
     .about = "rolling force over load"},
    {"car.vehicle.tyre_radius", TA_FORM_QUANTITY, TA_LENGTH,
     AT(ta_event, car.vehicle.tyre_radius_m), .low = 0.1, .high = 1.5,
     .about = "of the driven wheels, rolling"},
    {"car.vehicle.gears", TA_FORM_SERIES, TA_NUMBER,
     LIST(ta_event, car.vehicle.gear, car.vehicle.gear_count, double), .low = 0.1, .high = 30.0,
     .about = "ratios of the gears, first gear first"},
    {"car.vehicle.final_drive", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.vehicle.final_drive),
     .low = 0.5, .high = 30.0, .about = "ratio of the final drive"},
    {"car.vehicle.drivetrain_efficiency", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.vehicle.drivetrain_efficiency), .low = 0.3, .high = 1.0,
     .about = "share of the engine's power that reaches the road"},
    {"car.vehicle.shift_speed", TA_FORM_QUANTITY, TA_ROTATION, AT(ta_event, car.vehicle.shift_rpm),
     .low = 500.0, .high = 30000.0, .about = "engine speed at which the driver shifts up"},
    {"car.vehicle.shift_time", TA_FORM_QUANTITY, TA_TIME, AT(ta_event, car.vehicle.shift_time_s),
     .low = 0.0, .high = 5.0, .about = "without drive, for each shift"},
    {"car.vehicle.grip.drive", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.vehicle.grip.drive),
     .low = 0.05, .high = 3.0, .about = "driving force over load of the driven tyres"},
    {"car.vehicle.grip.corner", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.vehicle.grip.corner),
     .low = 0.05, .high = 3.0, .about = "cornering force over load"},
    {"car.vehicle.grip.brake", TA_FORM_QUANTITY, TA_NUMBER, AT(ta_event, car.vehicle.grip.brake),
     .low = 0.05, .high = 3.0, .about = "braking force over load"},
    {"car.vehicle.driven_load_share", TA_FORM_QUANTITY, TA_RATIO,
     AT(ta_event, car.vehicle.driven_load_share), .low = 0.1, .high = 1.0,
     .about = "share of the car's weight on the driven axles"},

    {"day", TA_FORM_FILE, .has_offset = TA_NOWHERE,
     .about = "the day's air: a file, or the mapping itself"},
    {"day.isa", TA_FORM_GROUP, .presence = TA_OPTIONAL,
     .has_offset = offsetof(ta_event, day_is_isa),
     .about = "the standard day, warmed or cooled: a what-if, not a forecast"},
    {"day.isa.offset", TA_FORM_QUANTITY, TA_TEMPERATURE_DIFFERENCE, AT(ta_event, day.isa_offset_k),
     .presence = TA_DEFAULT, .low = -50.0, .high = 50.0,
     .about = "departure from the standard temperature"},
    {"day.isa.humidity", TA_FORM_QUANTITY, TA_RATIO, AT(ta_event, day.isa_humidity),
     .presence = TA_DEFAULT, .low = 0.0, .high = 1.0,
     .about = "relative humidity; dry unless given"},
    {"day.isa.column", TA_FORM_CHOICE, AT(ta_event, day.isa_hydrostatic), .presence = TA_DEFAULT,
     .choices = "standard|hydrostatic",
     .about = "pressure aloft: the standard day's, or integrated with the moved temperature"},
    {"day.metar", TA_FORM_TEXT, AT(ta_event, metar), .presence = TA_OPTIONAL, .high = 1000.0,
     .about = "an aerodrome report; time, temperatures and the Q or A group are read"},
    {"day.elevation", TA_FORM_QUANTITY, TA_LENGTH,
     AT_HAS(ta_event, metar_elevation_m, has_metar_elevation), .low = -500.0, .high = 6500.0,
     .about = "of the aerodrome, with metar"},
    {"day.stations", TA_FORM_LIST, LIST(ta_event, day.station, day.station_count, ta_station),
     .presence = TA_OPTIONAL, .about = "readings"},
    {"day.stations[].name", TA_FORM_TEXT, AT(ta_station, name), .presence = TA_OPTIONAL,
     .about = "name of the place"},
    {"day.stations[].elevation", TA_FORM_QUANTITY, TA_LENGTH, AT(ta_station, elevation_m),
     .low = -500.0, .high = 6500.0, .about = "above sea level"},
    {"day.stations[].temperature", TA_FORM_QUANTITY, TA_TEMPERATURE, AT(ta_station, temperature_k),
     .low = 210.0, .high = 333.0, .about = "of the air, in the shade"},
    {"day.stations[].pressure", TA_FORM_QUANTITY, TA_PRESSURE,
     AT_HAS(ta_station, pressure_pa, has_pressure), .low = 30e3, .high = 110e3,
     .about = "station pressure: read there, not reduced to sea level"},
    {"day.stations[].qnh", TA_FORM_QUANTITY, TA_PRESSURE, AT_HAS(ta_station, qnh_pa, has_qnh),
     .low = 90e3, .high = 109e3, .about = "altimeter setting"},
    {"day.stations[].humidity", TA_FORM_QUANTITY, TA_RATIO,
     AT_HAS(ta_station, humidity, has_humidity), .low = 0.0, .high = 1.0,
     .about = "relative humidity"},
    {"day.stations[].dew_point", TA_FORM_QUANTITY, TA_TEMPERATURE,
     AT_HAS(ta_station, dew_point_k, has_dew_point), .low = 180.0, .high = 313.15,
     .about = "dew point"},
    {"day.lapse_rate", TA_FORM_QUANTITY, TA_LAPSE_RATE, AT(ta_event, day.lapse_rate_k_m),
     .presence = TA_DEFAULT, .fallback = 0.0065, .low = -0.01, .high = 0.01,
     .about = "fall of temperature with height beyond the stations"},

    {"goal.boost", TA_FORM_QUANTITY, TA_GAUGE_PRESSURE,
     AT_HAS(ta_event, goal.boost_pa, goal.has_boost), .low = 1e3, .high = 700e3,
     .about = "boost at the start line, gauge"},
    {"goal.map", TA_FORM_QUANTITY, TA_PRESSURE, AT_HAS(ta_event, goal.map_pa, goal.has_map),
     .low = 50e3, .high = 800e3, .about = "manifold absolute pressure"},
    {"goal.columns", TA_FORM_COLUMNS, .has_offset = TA_NOWHERE, .presence = TA_OPTIONAL,
     .about = "column names and their units"},
    {"goal.rows", TA_FORM_TABLE, LIST(ta_event, goal.point, goal.point_count, ta_goal_point),
     .presence = TA_OPTIONAL, .about = "boost or MAP over engine speed"},
    {"goal.rows[].engine_speed", TA_FORM_QUANTITY, TA_ROTATION, AT(ta_goal_point, engine_rpm),
     .low = 1.0, .high = 30000.0, .about = "engine speed"},
    {"goal.rows[].boost", TA_FORM_QUANTITY, TA_GAUGE_PRESSURE,
     AT_HAS(ta_goal_point, boost_pa, has_boost), .low = 1e3, .high = 700e3,
     .about = "boost at the start line, gauge"},
    {"goal.rows[].map", TA_FORM_QUANTITY, TA_PRESSURE, AT_HAS(ta_goal_point, map_pa, has_map),
     .low = 50e3, .high = 800e3, .about = "manifold absolute pressure"},
    {"goal.margin", TA_FORM_QUANTITY, TA_RATIO, AT(ta_event, goal.margin), .low = 0.0, .high = 0.5,
     .about = "limit = rated speed less this"},
};

const ta_field *ta_schema(size_t *count) {
  *count = sizeof rows / sizeof rows[0];
  return rows;
}

const ta_field *ta_schema_find(const char *pattern, size_t length) {
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (strncmp(rows[i].key, pattern, length) == 0 && rows[i].key[length] == '\0') return &rows[i];
  return NULL;
}

bool ta_schema_is_group(const char *pattern, size_t length) {
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (strncmp(rows[i].key, pattern, length) == 0 && rows[i].key[length] == '.') return true;
  return false;
}

const char *ta_schema_next_name(const char *group, size_t *at, size_t *length) {
  const size_t inside = strlen(group) + (group[0] != '\0');
  for (; *at < sizeof rows / sizeof rows[0]; (*at)++) {
    const char *key = rows[*at].key;
    if (strncmp(key, group, strlen(group)) != 0) continue;
    if (group[0] != '\0' && key[strlen(group)] != '.') continue;
    const char *name = key + inside;
    const size_t n = strcspn(name, ".[");
    /* rows of one group stand together, so a name met before is the row above's */
    const char *above = *at > 0 ? rows[*at - 1].key : "";
    if (strncmp(above, key, inside + n) == 0 && strchr(".[", above[inside + n]) != NULL) continue;
    if (name[n] == '[') continue;
    (*at)++;
    *length = n;
    return name;
  }
  return NULL;
}

void ta_schema_names(const char *group, char *text, size_t size) {
  size_t at = 0, length = 0, used = 0;
  const char *name;
  text[0] = '\0';
  while ((name = ta_schema_next_name(group, &at, &length)) != NULL && used + length + 3 < size)
    used += (size_t)snprintf(text + used, size - used, "%s%.*s", used > 0 ? ", " : "", (int)length,
                             name);
}

void ta_schema_pattern(const char *key, char pattern[TA_KEY_MAX]) {
  size_t n = 0;
  for (const char *c = key; *c != '\0' && n + 1 < TA_KEY_MAX; c++) {
    pattern[n++] = *c;
    if (*c == '[' && c[1] == ']') pattern[n - 1] = '?';
    if (*c == '[') c += strspn(c + 1, "0123456789");
  }
  pattern[n] = '\0';
}

void ta_schema_taken(const char *pattern, char *text, size_t size) {
  char group[TA_KEY_MAX], names[TA_MESSAGE_MAX];
  const ta_field *field = ta_schema_find(pattern, strlen(pattern));
  (void)snprintf(group, sizeof group, "%s", pattern);
  while (group[0] != '\0' &&
         (strlen(group) == strlen(pattern) || !ta_schema_is_group(group, strlen(group)))) {
    char *dot = strrchr(group, '.');
    *(dot != NULL ? dot : group) = '\0';
  }
  ta_schema_names(group, names, sizeof names);
  if (field != NULL && (field->form == TA_FORM_RANGE || field->form == TA_FORM_SERIES))
    (void)snprintf(text, size, "one value is set at a time: %s[0], %s[1]%s", pattern, pattern,
                   field->form == TA_FORM_SERIES ? ", ..." : "");
  else
    (void)snprintf(text, size, "%s; taken inside %s: %s",
                   field != NULL || ta_schema_is_group(pattern, strlen(pattern))
                       ? "one value is set at a time, and this key holds more"
                       : "no such key",
                   group[0] != '\0' ? group : "the event", names);
}

bool ta_field_takes(const ta_field *field, double si) {
  /* a bound typed in another unit may miss by a rounding */
  const double slack = 1e-9 * (fabs(field->low) + fabs(field->high));
  return si >= field->low - slack && si <= field->high + slack;
}

const ta_unit *ta_field_unit(const ta_field *field, const char *text) {
  double number;
  const char *rest;
  if (ta_number_parse(text, &number, &rest) == TA_OK) {
    while (*rest == ' ') rest++;
    size_t length = strlen(rest);
    while (length > 0 && rest[length - 1] == ' ') length--;
    const ta_unit *unit = ta_unit_find(field->kind, rest, length);
    if (unit != NULL) return unit;
  }
  size_t count;
  const ta_unit *unit = ta_units(&count);
  for (size_t i = 0; i < count; i++)
    if (unit[i].kind == field->kind) return &unit[i];
  return NULL;
}

void ta_field_range(const ta_field *field, const ta_unit *unit, char *text, size_t size) {
  const double low = unit != NULL ? ta_from_si(unit, field->low) : field->low,
               high = unit != NULL ? ta_from_si(unit, field->high) : field->high;
  const bool bare = unit == NULL || strcmp(unit->name, "1") == 0;
  if (bare && field->kind == TA_RATIO)
    (void)snprintf(text, size, "taken: %.4g to %.4g, or %.4g to %.4g %%", low, high, 100.0 * low,
                   100.0 * high);
  else
    (void)snprintf(text, size, "taken: %.4g to %.4g%s%s", low, high, bare ? "" : " ",
                   bare ? "" : unit->name);
}

void ta_field_outside(const ta_field *field, const ta_unit *unit, double si, char *text,
                      size_t size) {
  char taken[100];
  const bool bare = unit == NULL || strcmp(unit->name, "1") == 0;
  ta_field_range(field, unit, taken, sizeof taken);
  (void)snprintf(text, size, "%.6g%s%s is outside what is possible here; %s",
                 unit != NULL ? ta_from_si(unit, si) : si, bare ? "" : " ", bare ? "" : unit->name,
                 taken);
}

const char *ta_field_conversion(const ta_field *field, const char *unit) {
  if (unit == NULL || (strstr(unit, "sqrt") == NULL && strstr(unit, "\xe2\x88\x9a") == NULL))
    return "";
  return field->kind == TA_ROTATION
             ? "; this is a speed parameter N/sqrt(T): times the square root of the reference "
               "temperature it is a corrected speed"
             : "; this is a flow parameter W sqrt(T)/p: times the reference pressure over the "
               "square root of the reference temperature it is a corrected flow";
}
