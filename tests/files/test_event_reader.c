/* test_event_reader.c - whole events: every key in SI, in other units, in files, and set by hand.
 *
 * Factors    of the second spelling: NIST SP 811 (2008) Appendix B, as in test_quantity.c. */
#define _POSIX_C_SOURCE 200809L /* mkdtemp */
#include "thinair/event_reader.h"

#include <gsl/gsl_errno.h>
#include <stdbool.h>
#include <unistd.h>

#include "../test.h"
#include "thinair/schema.h"
#include "whole_event.h"

/* The whole event again, in the other units that people write. */
static const char IN_OTHER_UNITS[] =
    "event: made up\nunits: us\n"
    "course:\n"
    "  columns: {mark: text, elevation: ft, distance: mi}\n"
    "  rows: [[Start, 4800, 0.19262506959357353], [Long Bend, 8880, 9.9], "
    "[~, 13500, 21.188757655293088]]\n"
    "car:\n"
    "  car: one that was made up\n"
    "  engine:\n"
    "    displacement: 122 cu in\n"
    "    volumetric_efficiency:\n"
    "      columns: {ve: '%', engine_speed: Hz}\n"
    "      rows: [[86, 34], [101, 100], [93, 127]]\n"
    "    boost_window: [75 Hz, 0.12 kHz]\n"
    "    redline: 127 Hz\n"
    "    air_fuel_ratio: 1.18e1\n"
    "    bsfc: 0.5100469065615 lb/hp/h\n"
    "  intake: {pressure_drop: 8 inH2O, at_flow: 40 lb/min, temperature_rise: 10.8 degF, "
    "measured_at: {pressure: 29 inHg, temperature: 77 degF}}\n"
    "  charge_cooler: {effectiveness: 74 %, pressure_drop: 91 mbar, at_flow: 305 g/s, "
    "coolant: 104 degF, leak: 0.015, measured_at: {pressure: 2100 hPa, temperature: 39.85 degC}}\n"
    "  control: {holds: absolute, overshoot: 48 hPa}\n"
    "  turbo:\n"
    "    count: 2\n"
    "    imbalance: 0.03\n"
    "    rated_speed: 2.44 kHz\n"
    "    thin_air: {reynolds_exponent: 0.17, pressure_exponent: 0.03}\n"
    "    compressor:\n"
    "      compressor: made up too\n"
    "      exducer_diameter: 2.6 in\n"
    "      reference: {pressure: 0.962 bar, temperature: 86 degF}\n"
    "      columns: {efficiency: '%', flow: g/s, pressure_ratio: 1}\n"
    "      lines:\n"
    "        - {speed: 1.5 kHz, rows: [[68, 80, 1.62], [75, 140, 1.58], [70, 200, 1.45], "
    "[50, 240, 1.2]]}\n"
    "        - {speed: 2.0 kHz, rows: [[69, 130, 2.35], [76, 200, 2.28], [70, 275, 2.03], "
    "[50, 315, 1.54]]}\n"
    "        - {speed: 2.5 kHz, rows: [[69, 200, 3.4], [75, 270, 3.3], [70, 345, 2.9], "
    "[50, 380, 2.1]]}\n"
    "day:\n"
    "  lapse_rate: 6.1 degC/km\n"
    "  stations:\n"
    "    - {name: paddock, elevation: 4800 ft, temperature: 60.8 degF, pressure: 0.853 bar, "
    "humidity: 0.4}\n"
    "    - {elevation: 13500 ft, temperature: 30.2 degF, qnh: 101.93 kPa, dew_point: 22.1 degF}\n"
    "goal: {boost: 15.954151150323016 psi, margin: 0.04}\n";

/* What a car may have besides, in other units. */
static const char *const IN_STILL_OTHER_UNITS[][2] = {
    {COURSE,
     "  columns: {distance: km, elevation: m, speed_limit: mph, mark: text, corner_radius: ft}\n"
     "  rows: [[0.31, 1463.04, 60, Start, ~], [15.9325056, 2706.624, ~, Long Bend, 100], "
     "[34.1, 4114.8, ~, ~, ~]]\n"},
    {PLAIN_RISE, PLAIN_RISE "    ram_recovery: 0.35\n"
                            "    restrictor: {recovery: 0.82, count: 2, diameter: 1.3 in}\n"},
    {PLAIN_CONTROL,
     "  control: {holds: gauge-from-key-on, overshoot: 48 mbar, map_error: 9 hPa, "
     "barometer_error: 7 mbar, barometer_read_at: 4500 ft, map_sensor: 3.5 bar, "
     "minimum_boost: 0.55 bar, unit: psi, resolution: 13 hPa, positions: 5, "
     "interpolation: step, pressure_axis: [0.6 bar, 850 mbar], speed_axis: [75 Hz, 110 Hz, 128 "
     "Hz]}\n"
     "  vehicle: {mass: 2500 lb, drag_area: 10 ft2, downforce_area: 5 ft2, "
     "rolling_resistance: 0.013, tyre_radius: 1 ft, gears: [3.1, 2.05, 1.5], final_drive: 4.1, "
     "drivetrain_efficiency: 87 %, shift_speed: 118 Hz, shift_time: 0.12 s, "
     "grip: {brake: 1.04, corner: 1.13, drive: 1.02}, driven_load_share: 0.61}\n"},
    {PLAIN_IMBALANCE, PLAIN_IMBALANCE
     "    sensor: {blades: 7, divider: 2, thread_pitch: 0.025 in, turns_back: 0.75}\n"
     "    turbine: {inlet_temperature: 1670 degF, efficiency: 0.69, mechanical_efficiency: 0.96, "
     "reference: {pressure: 1.016 bar, temperature: 16.85 degC}, "
     "flow_capacity: {columns: {flow: g/s, expansion_ratio: 1}, "
     "rows: [[110, 1.2], [150, 1.7], [166, 2.6]]}, back_pressure: 53 mbar, at_flow: 18.6 kg/min, "
     "measured_at: 0.98 bar, gamma: 1.31, gas_constant: 289}\n"}};

/* What stations and a goal in boost leave out. */
static const char TABLE_GOAL[] =
    "  columns: {engine_speed: rpm, map: kPa, boost: bar}\n"
    "  rows: [[3010, ~, 0.93], [5200, 231.5, ~]]\n"
    "  margin: 5 %\n";

static ta_diagnostics diagnostics;

static void show(void) {
  for (size_t i = 0; i < diagnostics.count; i++)
    print_error("%s:%d:%d: %s: %s\n", diagnostics.item[i].place.file,
                diagnostics.item[i].place.line, diagnostics.item[i].place.column,
                diagnostics.item[i].key, diagnostics.item[i].text);
}

static ta_status read_text(const char *text, const ta_setting *settings, size_t setting_count,
                           ta_event *event) {
  ta_diagnostics_clear(&diagnostics);
  memset(event, 0x5a, sizeof *event); /* what a caller's stack may hold */
  return ta_event_read_bytes("/nonexistent/event.yaml", text, strlen(text), settings, setting_count,
                             event, &diagnostics);
}

static void read_good(const char *text, const ta_setting *settings, size_t setting_count,
                      ta_event *event) {
  if (read_text(text, settings, setting_count, event) == TA_OK) return;
  show();
  fail_msg("a sound event is refused");
}

/* ---- every key ---- */

typedef struct {
  const char *key;
  double got, want; /* SI */
} value;

/* Marks keys as covered; adds up what is off. */
static int check_values(const value *values, size_t count, bool *covered) {
  int bad = 0;
  size_t rows;
  const ta_field *row = ta_schema(&rows);
  for (size_t i = 0; i < count; i++) {
    const ta_field *field = ta_schema_find(values[i].key, strlen(values[i].key));
    if (field == NULL) fail_msg("no such key: %s", values[i].key);
    if (covered != NULL) covered[field - row] = true;
    bad += off_rel(values[i].key, "SI", values[i].got, values[i].want, 1e-10);
  }
  return bad;
}

#define MAP "car.turbo.compressor."
#define VE "car.engine.volumetric_efficiency.rows[]."

static int check_whole(const ta_event *e, bool *covered) {
  const ta_engine *engine = &e->car.engine;
  const ta_flow_drop *intake = &e->car.intake.drop, *cooler = &e->car.charge_cooler.drop;
  const ta_turbo *turbo = &e->car.turbo;
  const ta_compressor *map = &turbo->compressor;
  const ta_station *low = &e->day.station[0], *high = &e->day.station[1];
  assert_int_equal(e->course.count, 3);
  assert_int_equal(engine->ve_count, 3);
  assert_int_equal(map->line_count, 3);
  assert_int_equal(map->line[2].point_count, 4);
  assert_int_equal(e->day.station_count, 2);
  const value values[] = {
      {"course.rows[].distance", e->course.point[0].distance_m, 310.0},
      {"course.rows[].distance", e->course.point[1].distance_m, 9.9 * 1609.344},
      {"course.rows[].elevation", e->course.point[2].elevation_m, 13500 * 0.3048},
      {"car.engine.displacement", engine->displacement_m3, 122 * 16.387064e-6},
      {VE "engine_speed", engine->ve[1].engine_rpm, 6000.0},
      {VE "ve", engine->ve[1].ve, 1.01},
      {VE "ve", engine->ve[2].ve, 0.93},
      {"car.engine.boost_window", engine->window_rpm[0], 4500.0},
      {"car.engine.boost_window", engine->window_rpm[1], 7200.0},
      {"car.engine.redline", engine->redline_rpm, 7620.0},
      {"car.engine.air_fuel_ratio", engine->air_fuel_ratio, 11.8},
      {"car.engine.bsfc", engine->bsfc_kg_j, 0.31025 / 3.6e6},
      {"car.intake.pressure_drop", intake->drop_pa, 8 * 249.08891},
      {"car.intake.at_flow", intake->at_flow_kg_s, 40 * 0.45359237 / 60},
      {"car.intake.measured_at.pressure", intake->pressure_pa, 29 * 3386.38864034},
      {"car.intake.measured_at.temperature", intake->temperature_k, 298.15},
      {"car.intake.temperature_rise", e->car.intake.temperature_rise_k, 6.0},
      {"car.charge_cooler.effectiveness", e->car.charge_cooler.effectiveness, 0.74},
      {"car.charge_cooler.pressure_drop", cooler->drop_pa, 9100.0},
      {"car.charge_cooler.at_flow", cooler->at_flow_kg_s, 0.305},
      {"car.charge_cooler.measured_at.pressure", cooler->pressure_pa, 210e3},
      {"car.charge_cooler.measured_at.temperature", cooler->temperature_k, 313.0},
      {"car.charge_cooler.coolant", e->car.charge_cooler.coolant_k, 313.15},
      {"car.charge_cooler.leak", e->car.charge_cooler.leak, 0.015},
      {"car.control.overshoot", e->car.control.overshoot_pa, 4800.0},
      {"car.turbo.count", turbo->count, 2.0},
      {"car.turbo.imbalance", turbo->imbalance, 0.03},
      {"car.turbo.rated_speed", turbo->rated_rpm, 146400.0},
      {"car.turbo.thin_air.reynolds_exponent", turbo->thin_air.reynolds_exponent, 0.17},
      {"car.turbo.thin_air.pressure_exponent", turbo->thin_air.pressure_exponent, 0.03},
      {MAP "exducer_diameter", map->exducer_m, 0.06604},
      {MAP "reference.pressure", map->reference.pressure_pa, 96200.0},
      {MAP "reference.temperature", map->reference.temperature_k, 303.15},
      {MAP "lines[].speed", map->line[1].corrected_rpm, 120000.0},
      {MAP "lines[].rows[].flow", map->line[1].point[2].flow_kg_s, 0.275},
      {MAP "lines[].rows[].pressure_ratio", map->line[1].point[2].pressure_ratio, 2.03},
      {MAP "lines[].rows[].efficiency", map->line[1].point[2].efficiency, 0.70},
      {MAP "lines[].rows[].efficiency", map->line[2].point[3].efficiency, 0.5},
      {"day.stations[].elevation", low->elevation_m, 1463.04},
      {"day.stations[].temperature", low->temperature_k, 289.15},
      {"day.stations[].pressure", low->pressure_pa, 85300.0},
      {"day.stations[].humidity", low->humidity, 0.4},
      {"day.stations[].qnh", high->qnh_pa, 101930.0},
      {"day.stations[].dew_point", high->dew_point_k, 267.65},
      {"day.lapse_rate", e->day.lapse_rate_k_m, 0.0061},
      {"goal.boost", e->goal.boost_pa, 110e3},
      {"goal.margin", e->goal.margin, 0.04},
  };
  assert_string_equal(e->name, "made up");
  assert_int_equal(e->units, TA_US);
  assert_string_equal(e->course.point[1].mark, "Long Bend");
  assert_null(e->course.point[2].mark);
  assert_string_equal(e->car.name, "one that was made up");
  assert_int_equal(engine->cycle, TA_FOUR_STROKE);
  assert_int_equal(e->car.control.holds, TA_HOLDS_ABSOLUTE);
  assert_int_equal(turbo->thin_air.off, 0);
  assert_string_equal(map->name, "made up too");
  assert_string_equal(low->name, "paddock");
  assert_null(high->name);
  assert_true(engine->has_redline && e->car.charge_cooler.has_coolant && map->has_exducer);
  assert_true(low->has_pressure && !low->has_qnh && low->has_humidity && !low->has_dew_point);
  assert_true(!high->has_pressure && high->has_qnh && !high->has_humidity && high->has_dew_point);
  assert_true(e->goal.has_boost && !e->goal.has_map && e->goal.point == NULL && !e->day_is_isa);
  return check_values(values, COUNT_OF(values), covered);
}

#define TURBINE_KEY "car.turbo.turbine."

/* The keys of EVERYTHING that are not in WHOLE. */
static int check_everything(const ta_event *e, bool *covered) {
  const ta_control *control = &e->car.control;
  const ta_restrictor *restrictor = &e->car.intake.restrictor;
  const ta_speed_sensor *sensor = &e->car.turbo.sensor;
  const ta_turbine *turbine = &e->car.turbo.turbine;
  const ta_vehicle *vehicle = &e->car.vehicle;
  const ta_course_point *road = e->course.point;
  assert_int_equal(turbine->flow_count, 3);
  assert_int_equal(vehicle->gear_count, 3);
  const value values[] = {
      {"course.rows[].corner_radius", road[1].corner_radius_m, 30.48},
      {"course.rows[].speed_limit", road[0].speed_limit_ms, 60 * 0.44704},
      {"car.intake.ram_recovery", e->car.intake.ram_recovery, 0.35},
      {"car.intake.restrictor.diameter", restrictor->diameter_m, 0.03302},
      {"car.intake.restrictor.count", restrictor->count, 2.0},
      {"car.intake.restrictor.recovery", restrictor->recovery, 0.82},
      {"car.control.overshoot", control->overshoot_pa, 4800.0},
      {"car.control.map_error", control->map_error_pa, 900.0},
      {"car.control.barometer_error", control->barometer_error_pa, 700.0},
      {"car.control.barometer_read_at", control->barometer_read_at_m, 1371.6},
      {"car.control.map_sensor", control->map_sensor_pa, 350e3},
      {"car.control.minimum_boost", control->minimum_boost_pa, 55e3},
      {"car.control.resolution", control->resolution_pa, 1300.0},
      {"car.control.pressure_axis", control->pressure_axis_pa[0], 60e3},
      {"car.control.pressure_axis", control->pressure_axis_pa[1], 85e3},
      {"car.control.speed_axis", control->speed_axis_rpm[2], 7680.0},
      {"car.control.positions", control->positions, 5.0},
      {"car.turbo.sensor.blades", sensor->blades, 7.0},
      {"car.turbo.sensor.divider", sensor->divider, 2.0},
      {"car.turbo.sensor.thread_pitch", sensor->thread_pitch_m, 0.635e-3},
      {"car.turbo.sensor.turns_back", sensor->turns_back, 0.75},
      {TURBINE_KEY "inlet_temperature", turbine->inlet_temperature_k, 1183.15},
      {TURBINE_KEY "efficiency", turbine->efficiency, 0.69},
      {TURBINE_KEY "mechanical_efficiency", turbine->mechanical_efficiency, 0.96},
      {TURBINE_KEY "reference.pressure", turbine->reference_pa, 101600.0},
      {TURBINE_KEY "reference.temperature", turbine->reference_k, 290.0},
      {TURBINE_KEY "flow_capacity.rows[].expansion_ratio", turbine->flow[1].expansion_ratio, 1.7},
      {TURBINE_KEY "flow_capacity.rows[].flow", turbine->flow[2].flow_kg_s, 0.166},
      {TURBINE_KEY "back_pressure", turbine->back_pressure_pa, 5300.0},
      {TURBINE_KEY "at_flow", turbine->at_flow_kg_s, 0.31},
      {TURBINE_KEY "measured_at", turbine->measured_pa, 98e3},
      {TURBINE_KEY "gamma", turbine->gamma, 1.31},
      {TURBINE_KEY "gas_constant", turbine->gas_constant_jkgk, 289.0},
      {"car.vehicle.mass", vehicle->mass_kg, 2500 * 0.45359237},
      {"car.vehicle.drag_area", vehicle->drag_area_m2, 10 * 0.09290304},
      {"car.vehicle.downforce_area", vehicle->downforce_area_m2, 5 * 0.09290304},
      {"car.vehicle.rolling_resistance", vehicle->rolling_resistance, 0.013},
      {"car.vehicle.tyre_radius", vehicle->tyre_radius_m, 0.3048},
      {"car.vehicle.gears", vehicle->gear[0], 3.1},
      {"car.vehicle.gears", vehicle->gear[2], 1.5},
      {"car.vehicle.final_drive", vehicle->final_drive, 4.1},
      {"car.vehicle.drivetrain_efficiency", vehicle->drivetrain_efficiency, 0.87},
      {"car.vehicle.shift_speed", vehicle->shift_rpm, 7080.0},
      {"car.vehicle.shift_time", vehicle->shift_time_s, 0.12},
      {"car.vehicle.grip.drive", vehicle->grip.drive, 1.02},
      {"car.vehicle.grip.corner", vehicle->grip.corner, 1.13},
      {"car.vehicle.grip.brake", vehicle->grip.brake, 1.04},
      {"car.vehicle.driven_load_share", vehicle->driven_load_share, 0.61},
  };
  assert_true(!road[0].has_corner_radius && road[0].has_speed_limit);
  assert_true(road[1].has_corner_radius && !road[1].has_speed_limit);
  assert_int_equal(control->holds, TA_HOLDS_GAUGE_KEY_ON);
  assert_int_equal(control->unit, TA_CONTROLLER_PSI);
  assert_int_equal(control->interpolation, 1);
  assert_true(control->pressure_axis_count == 2 && control->speed_axis_count == 3);
  assert_true(control->has_barometer_read_at && control->has_map_sensor &&
              control->has_minimum_boost);
  assert_true(e->car.intake.has_restrictor && e->car.turbo.has_sensor && e->car.turbo.has_turbine &&
              e->car.has_vehicle);
  assert_true(sensor->has_thread_pitch && sensor->has_turns_back);
  assert_true(turbine->has_efficiency && turbine->efficiency_count == 0);
  return check_values(values, COUNT_OF(values), covered);
}

static void every_key_is_read_in_si(void **state) {
  (void)state;
  bool covered[200] = {false};
  size_t count;
  const ta_field *row = ta_schema(&count);
  assert_true(count <= COUNT_OF(covered));

  ta_event event;
  read_good(WHOLE, NULL, 0, &event);
  int bad = check_whole(&event, covered);
  ta_event_free(&event);

  char *text = replaced(WHOLE, GOAL, TABLE_GOAL);
  char *isa = replaced(text, DAY, "  isa: {offset: 9 K, humidity: 35 %}\n");
  read_good(isa, NULL, 0, &event);
  assert_int_equal(event.goal.point_count, 2);
  assert_true(event.day_is_isa && event.day.station_count == 0);
  assert_int_equal(event.day.isa_hydrostatic, 0);
  assert_true(event.goal.point[0].has_boost && !event.goal.point[0].has_map);
  assert_true(!event.goal.point[1].has_boost && event.goal.point[1].has_map);
  const value tables[] = {{"day.isa.offset", event.day.isa_offset_k, 9.0},
                          {"day.isa.humidity", event.day.isa_humidity, 0.35},
                          {"goal.rows[].engine_speed", event.goal.point[0].engine_rpm, 3010.0},
                          {"goal.rows[].boost", event.goal.point[0].boost_pa, 93e3},
                          {"goal.rows[].map", event.goal.point[1].map_pa, 231.5e3}};
  bad += check_values(tables, COUNT_OF(tables), covered);
  ta_event_free(&event);
  free(isa);
  free(text);

  text = replaced(WHOLE, "boost: 1.1 bar", "map: 33 psia");
  read_good(text, NULL, 0, &event);
  const value map[] = {{"goal.map", event.goal.map_pa, 33 * 6894.757293168361}};
  bad += check_values(map, 1, covered);
  ta_event_free(&event);
  free(text);

  text = replaced(WHOLE, COMPRESSOR, PRINTED);
  read_good(text, NULL, 0, &event);
  const ta_compressor *printed = &event.car.turbo.compressor;
  const ta_speed_line *second = &printed->line[1];
  const value island[] = {
      {MAP "islands[].efficiency", printed->island[0].efficiency, 0.75},
      {MAP "islands[].rows[].flow", printed->island[0].point[2].flow_m3_s, 14.6 / 60},
      {MAP "islands[].rows[].flow", printed->island[1].point[2].flow_kg_s, 0.345},
      {MAP "islands[].rows[].pressure_ratio", printed->island[1].point[4].pressure_ratio, 2.33},
      {MAP "surge_line.rows[].flow", printed->surge[1].flow_kg_s, 0.2},
      {MAP "surge_line.rows[].pressure_ratio", printed->surge[0].pressure_ratio, 1.63},
      {MAP "lines[].speed", printed->printed[2].tip_speed_ms, 519.0},
      {MAP "lines[].rows[].flow", printed->printed[1].point[3].flow_m3_s, 17.1 / 60},
      /* n = 60 u/(pi D); p/(R T) of dry air, R of ISO 2533 */
      {MAP "lines[].speed", printed->line[2].corrected_rpm,
       60 * 519 / (3.14159265358979324 * 0.06604)},
      {MAP "lines[].rows[].flow", second->point[second->point_count - 1].flow_kg_s,
       17.1 / 60 * 96200 / (287.05287 * 303.15)}};
  bad += check_values(island, COUNT_OF(island), covered);
  assert_int_equal(printed->island_count, 2);
  assert_int_equal(printed->island[0].point_count, 4);
  assert_int_equal(printed->island[1].point_count, 5);
  assert_int_equal(printed->surge_count, 2);
  assert_true(printed->printed[0].has_tip_speed && printed->printed[0].point[0].has_volume);
  assert_true(printed->island[0].point[0].has_volume && !printed->island[1].point[0].has_volume);
  assert_false(printed->printed[0].point[0].has_efficiency);
  ta_event_free(&event);
  free(text);

  char *smooth = replaced(WHOLE, COURSE, "  smoothing: 0.3 km\n" COURSE);
  text = replaced(smooth, DAY, "  metar: XXAA 121200Z 22012KT 17/M02 Q1013\n  elevation: 1880 m\n");
  read_good(text, NULL, 0, &event);
  const value metar[] = {{"course.smoothing", event.course_smoothing_m, 300.0},
                         {"day.elevation", event.metar_elevation_m, 1880.0},
                         {"day.stations[].temperature", event.day.station[0].temperature_k, 290.15},
                         {"day.stations[].dew_point", event.day.station[0].dew_point_k, 271.15},
                         {"day.stations[].qnh", event.day.station[0].qnh_pa, 101300.0},
                         {"day.stations[].elevation", event.day.station[0].elevation_m, 1880.0}};
  bad += check_values(metar, COUNT_OF(metar), covered);
  assert_int_equal(event.day.station_count, 1);
  assert_true(event.has_course_smoothing && event.day.station[0].has_dew_point);
  assert_string_equal(event.metar, "XXAA 121200Z 22012KT 17/M02 Q1013");
  ta_event_free(&event);
  free(text);
  free(smooth);

  text = replaced(WHOLE, DAY, "  isa: {offset: -9 K, column: hydrostatic}\n");
  read_good(text, NULL, 0, &event);
  assert_int_equal(event.day.isa_hydrostatic, 1);
  ta_event_free(&event);
  free(text);

  read_good(EVERYTHING, NULL, 0, &event);
  bad += check_everything(&event, covered);
  ta_event_free(&event);

  text = replaced(EVERYTHING, "      efficiency: 69 %\n", TURBINE_TABLE);
  read_good(text, NULL, 0, &event);
  const ta_turbine *turbine = &event.car.turbo.turbine;
  assert_true(!turbine->has_efficiency && turbine->efficiency_count == 2);
  const value efficiency[] = {
      {TURBINE_KEY "efficiency.rows[].expansion_ratio",
       turbine->efficiency_point[0].expansion_ratio, 1.3},
      {TURBINE_KEY "efficiency.rows[].efficiency", turbine->efficiency_point[1].efficiency, 0.71}};
  bad += check_values(efficiency, COUNT_OF(efficiency), covered);
  ta_event_free(&event);
  free(text);

  for (size_t i = 0; i < count; i++) {
    if (covered[i] || (row[i].form != TA_FORM_QUANTITY && row[i].form != TA_FORM_RANGE &&
                       row[i].form != TA_FORM_SERIES))
      continue;
    print_error("%s is read by no test\n", row[i].key);
    bad++;
  }
  assert_int_equal(bad, 0);
}

static void other_units_give_the_same_values(void **state) {
  (void)state;
  ta_event event;
  read_good(IN_OTHER_UNITS, NULL, 0, &event);
  int bad = check_whole(&event, NULL);
  ta_event_free(&event);
  char *text = replaced(WHOLE, "", "");
  for (size_t i = 0; i < COUNT_OF(IN_STILL_OTHER_UNITS); i++) {
    char *more = replaced(text, IN_STILL_OTHER_UNITS[i][0], IN_STILL_OTHER_UNITS[i][1]);
    free(text);
    text = more;
  }
  read_good(text, NULL, 0, &event);
  bad += check_everything(&event, NULL);
  ta_event_free(&event);
  free(text);
  assert_int_equal(bad, 0);
}

static void what_is_left_out_has_its_default(void **state) {
  (void)state;
  static const char *const left_out[] = {
      "units: us\n",
      "    cycle: four-stroke\n",
      "    redline: 7620 rpm\n",
      "    measured_at: {pressure: 98.20527056986 kPa, temperature: 25 degC}\n",
      ", temperature: 313 K",
      "    leak: 1.5 %\n",
      "    count: 2\n",
      "    imbalance: 3 %\n",
      "    thin_air: {reynolds_exponent: 0.17, pressure_exponent: 0.03}\n",
      "      exducer_diameter: 66.04 mm\n",
      "  lapse_rate: 6.1 K/km\n"};
  char *text = replaced(WHOLE, "", "");
  for (size_t i = 0; i < COUNT_OF(left_out); i++) {
    char *less = replaced(text, left_out[i], "");
    free(text);
    text = less;
  }
  ta_event e;
  read_good(text, NULL, 0, &e);
  free(text);
  /* ISO 2533 sea level; the rest is ours */
  const value values[] = {
      {"car.intake.measured_at.pressure", e.car.intake.drop.pressure_pa, 101325.0},
      {"car.intake.measured_at.temperature", e.car.intake.drop.temperature_k, 288.15},
      {"car.charge_cooler.measured_at.pressure", e.car.charge_cooler.drop.pressure_pa, 210e3},
      {"car.charge_cooler.measured_at.temperature", e.car.charge_cooler.drop.temperature_k, 288.15},
      {"car.charge_cooler.leak", e.car.charge_cooler.leak, 0.0},
      {"car.turbo.count", e.car.turbo.count, 1.0},
      {"car.turbo.imbalance", e.car.turbo.imbalance, 0.02},
      {"car.turbo.thin_air.reynolds_exponent", e.car.turbo.thin_air.reynolds_exponent, 0.16},
      {"car.turbo.thin_air.pressure_exponent", e.car.turbo.thin_air.pressure_exponent, 0.04},
      {"day.lapse_rate", e.day.lapse_rate_k_m, 0.0065}};
  int bad = check_values(values, COUNT_OF(values), NULL);
  const value controller[] = {
      {"car.intake.ram_recovery", e.car.intake.ram_recovery, 0.0},
      {"car.control.map_error", e.car.control.map_error_pa, 0.0},
      {"car.control.barometer_error", e.car.control.barometer_error_pa, 500.0},
      {"car.control.resolution", e.car.control.resolution_pa, 1000.0},
      {"car.control.positions", e.car.control.positions, 3.0}};
  bad += check_values(controller, COUNT_OF(controller), NULL);
  assert_int_equal(e.car.control.unit, TA_CONTROLLER_KPA);
  assert_true(!e.car.control.has_barometer_read_at && !e.car.control.has_map_sensor &&
              !e.car.control.has_minimum_boost);
  assert_true(!e.car.intake.has_restrictor && !e.car.turbo.has_sensor && !e.car.turbo.has_turbine &&
              !e.car.has_vehicle);
  assert_true(!e.course.point[1].has_corner_radius && !e.course.point[1].has_speed_limit);
  assert_true(e.units == TA_METRIC && e.car.engine.cycle == TA_FOUR_STROKE);
  assert_true(!e.car.engine.has_redline && !e.car.turbo.compressor.has_exducer);
  assert_int_equal(e.car.turbo.thin_air.off, 0);
  ta_event_free(&e);
  assert_int_equal(bad, 0);
}

/* The groups that may be left out have defaults of their own inside. */
static void groups_have_defaults_inside(void **state) {
  (void)state;
  static const char *const left_out[] = {
      "      count: 2\n      recovery: 82 %\n",
      ", divider: 2, thread_pitch: 0.635 mm, turns_back: 0.75",
      "      measured_at: 98 kPa\n      gamma: 1.31\n      gas_constant: 289\n",
      "    downforce_area: 0.4645152 m2\n"};
  char *text = replaced(EVERYTHING, "", "");
  for (size_t i = 0; i < COUNT_OF(left_out); i++) {
    char *less = replaced(text, left_out[i], "");
    free(text);
    text = less;
  }
  ta_event e;
  read_good(text, NULL, 0, &e);
  free(text);
  const value values[] = {
      {"car.intake.restrictor.count", e.car.intake.restrictor.count, 1.0},
      {"car.intake.restrictor.recovery", e.car.intake.restrictor.recovery, 0.85},
      {"car.turbo.sensor.divider", e.car.turbo.sensor.divider, 1.0},
      {TURBINE_KEY "measured_at", e.car.turbo.turbine.measured_pa, 101325.0},
      {TURBINE_KEY "gamma", e.car.turbo.turbine.gamma, 1.32},
      {TURBINE_KEY "gas_constant", e.car.turbo.turbine.gas_constant_jkgk, 290.0},
      {"car.vehicle.downforce_area", e.car.vehicle.downforce_area_m2, 0.0}};
  const int bad = check_values(values, COUNT_OF(values), NULL);
  assert_true(!e.car.turbo.sensor.has_thread_pitch && !e.car.turbo.sensor.has_turns_back);
  ta_event_free(&e);
  assert_int_equal(bad, 0);
}

static void words_of_the_controller_are_taken(void **state) {
  (void)state;
  static const char *const holds[] = {"absolute", "gauge", "gauge-from-key-on"}, *const units[] = {
                                                                                     "kPa", "mbar",
                                                                                     "bar", "psi"};
  for (int i = 0; i < 4; i++) {
    const ta_setting settings[] = {{"--set", "car.control.unit", units[i], NULL},
                                   {"--set", "car.control.holds", holds[i % 3], NULL}};
    ta_event event;
    read_good(WHOLE, settings, 2, &event);
    assert_int_equal(event.car.control.unit, i);
    assert_int_equal(event.car.control.holds, i % 3);
    ta_event_free(&event);
  }
  assert_true(TA_HOLDS_ABSOLUTE == 0 && TA_HOLDS_GAUGE == 1 && TA_HOLDS_GAUGE_KEY_ON == 2);
  assert_true(TA_CONTROLLER_KPA == 0 && TA_CONTROLLER_MBAR == 1 && TA_CONTROLLER_BAR == 2 &&
              TA_CONTROLLER_PSI == 3);
}

static void words_are_taken(void **state) {
  (void)state;
  ta_event event;
  char *rotary = replaced(WHOLE, "four-stroke", "rotary"),
       *ambient = replaced(rotary, "coolant: 40 degC", "coolant: ambient"),
       *off_text =
           replaced(ambient, "{reynolds_exponent: 0.17, pressure_exponent: 0.03}", "\"off\"");
  read_good(off_text, NULL, 0, &event);
  assert_int_equal(event.car.engine.cycle, TA_ROTARY);
  assert_false(event.car.charge_cooler.has_coolant);
  assert_int_equal(event.car.turbo.thin_air.off, 1);
  ta_event_free(&event);
  ta_event_free(&event);
  free(rotary);
  free(ambient);
  free(off_text);
}

/* ---- settings ---- */

static void settings_replace_insert_and_make_groups(void **state) {
  (void)state;
  const char *measured = "    measured_at: {pressure: 98.20527056986 kPa, temperature: 25 degC}\n";
  char *text = replaced(WHOLE, measured, "");
  const ta_setting settings[] = {
      {"--set", "event", "another name", NULL},
      {"--set", "car.intake.pressure_drop", "3 kPa", NULL},
      {"--set", "car.intake.pressure_drop", "4 kPa", NULL}, /* the last one counts */
      {"--set", "car.intake.measured_at.temperature", "300 K", NULL},
      {"--set", "car.turbo.thin_air", "off", NULL},
      {"--set", "day.stations[1].temperature", "-3 degC", NULL},
      {"--set", "day.stations[1].name", "Summit", NULL},
      {"--set", "car.turbo.compressor.lines[0].speed", "90100 rpm", NULL},
      {"--set", "car.engine.cycle", "two-stroke", NULL},
      {"--map", "goal.map", "221 kPa", "boost|columns|rows"},
  };
  ta_event e;
  read_good(text, settings, COUNT_OF(settings), &e);
  free(text);
  const value values[] = {
      {"car.intake.pressure_drop", e.car.intake.drop.drop_pa, 4e3},
      {"car.intake.measured_at.temperature", e.car.intake.drop.temperature_k, 300.0},
      {"car.intake.measured_at.pressure", e.car.intake.drop.pressure_pa, 101325.0},
      {"day.stations[].temperature", e.day.station[0].temperature_k, 289.15},
      {"day.stations[].temperature", e.day.station[1].temperature_k, 270.15},
      {MAP "lines[].speed", e.car.turbo.compressor.line[0].corrected_rpm, 90100.0},
      {"goal.map", e.goal.map_pa, 221e3},
      {"goal.margin", e.goal.margin, 0.04}};
  const int bad = check_values(values, COUNT_OF(values), NULL);
  assert_string_equal(e.name, "another name");
  assert_string_equal(e.day.station[1].name, "Summit");
  assert_int_equal(e.car.turbo.thin_air.off, 1);
  assert_int_equal(e.car.engine.cycle, TA_TWO_STROKE);
  assert_true(e.goal.has_map && !e.goal.has_boost);
  ta_event_free(&e);
  assert_int_equal(bad, 0);
}

static void settings_reach_into_series_and_displace_tables(void **state) {
  (void)state;
  const ta_setting settings[] = {{"--set", "car.vehicle.gears[2]", "1.37", NULL},
                                 {"--set", "car.engine.boost_window[1]", "7050 rpm", NULL},
                                 {"--set", "car.turbo.turbine.efficiency", "0.67", NULL},
                                 {"--set", "car.intake.restrictor.diameter", "31.7 mm", NULL}};
  char *text = replaced(EVERYTHING, "      efficiency: 69 %\n", TURBINE_TABLE);
  ta_event e;
  read_good(text, settings, COUNT_OF(settings), &e);
  free(text);
  const value values[] = {
      {"car.vehicle.gears", e.car.vehicle.gear[0], 3.1},
      {"car.vehicle.gears", e.car.vehicle.gear[1], 2.05},
      {"car.vehicle.gears", e.car.vehicle.gear[2], 1.37},
      {"car.engine.boost_window", e.car.engine.window_rpm[0], 4500.0},
      {"car.engine.boost_window", e.car.engine.window_rpm[1], 7050.0},
      {"car.turbo.turbine.efficiency", e.car.turbo.turbine.efficiency, 0.67},
      {"car.intake.restrictor.diameter", e.car.intake.restrictor.diameter_m, 0.0317}};
  int bad = check_values(values, COUNT_OF(values), NULL);
  assert_true(e.car.vehicle.gear_count == 3 && e.car.turbo.turbine.has_efficiency &&
              e.car.turbo.turbine.efficiency_count == 0);
  ta_event_free(&e);
  const ta_setting beyond = {"--set", "car.vehicle.gears[3]", "1.1", NULL};
  assert_int_equal(read_text(EVERYTHING, &beyond, 1, &e), TA_ERR_INPUT);
  assert_int_equal(diagnostics.errors, 1);
  for (size_t i = 0; i < diagnostics.count; i++)
    if (diagnostics.item[i].severity == TA_ERROR)
      bad += strstr(diagnostics.item[i].text, "hold nothing of that key") == NULL;
  assert_int_equal(bad, 0);
}

static void a_setting_displaces_a_goal_in_rows(void **state) {
  (void)state;
  char *text = replaced(WHOLE, GOAL, TABLE_GOAL);
  const ta_setting setting = {"--boost", "goal.boost", "17 psi", "map|columns|rows"};
  ta_event event;
  read_good(text, &setting, 1, &event);
  free(text);
  assert_true(event.goal.has_boost && event.goal.point == NULL && event.goal.point_count == 0);
  assert_int_equal(off_rel("--boost", "boost", event.goal.boost_pa, 17 * 6894.757293168361, 1e-14),
                   0);
  ta_event_free(&event);
}

static void bad_settings_are_placed_at_themselves(void **state) {
  (void)state;
  static const struct {
    ta_setting setting;
    const char *place, *key, *phrase;
  } rows[] = {
      {{"--set", "car.intake.pressure_drop", "4", NULL},
       "--set car.intake.pressure_drop",
       "car.intake.pressure_drop",
       "has no unit"},
      {{"--set", "car.intake.pressure_drop", "", NULL},
       "--set car.intake.pressure_drop",
       "car.intake.pressure_drop",
       "does not begin with a plain number"},
      {{"--set", "car.intake.drop", "4 kPa", NULL},
       "--set car.intake.drop",
       "",
       "no such key; taken inside car.intake: pressure_drop, at_flow"},
      {{"--set", "", "4 kPa", NULL}, "--set ", "", "taken inside the event: event, units"},
      {{"--set", "car.intake", "4 kPa", NULL}, "--set car.intake", "", "this key holds more"},
      {{"--set", "car.engine.boost_window", "[1 rpm, 2 rpm]", NULL},
       "--set car.engine.boost_window",
       "",
       "one value is set at a time: car.engine.boost_window[0], car.engine.boost_window[1]"},
      {{"--set", "car.engine.boost_window[2]", "900 rpm", NULL},
       "--set car.engine.boost_window[2]",
       "",
       "hold nothing of that key"},
      {{"--set", "car.vehicle.gears", "3.1", NULL},
       "--set car.vehicle.gears",
       "",
       "one value is set at a time: car.vehicle.gears[0], car.vehicle.gears[1], ..."},
      {{"--set", "car.vehicle.gears[1]", "1.9", NULL}, /* and the vehicle is not begun with it */
       "--set car.vehicle.gears[1]",
       "",
       "there is no car.vehicle: the files hold nothing of that key that could be replaced"},
      {{"--set", "car.control.speed_axis[1]", "6500 rpm", NULL},
       "--set car.control.speed_axis[1]",
       "",
       "the files hold nothing of that key"},
      {{"--set", "course.rows[1].elevation", "3 km", NULL},
       "--set course.rows[1].elevation",
       "",
       "this key holds more"},
      {{"--set", "day.stations[2].temperature", "3 K", NULL},
       "--set day.stations[2].temperature",
       "",
       "nothing of that key"},
      {{"--set", "day.stations[].temperature", "270 K", NULL},
       "--set day.stations[].temperature",
       "",
       "no such key"},
      {{"--set", "day.stations[-1].temperature", "270 K", NULL},
       "--set day.stations[-1].temperature",
       "",
       "no such key"},
      {{"--set", "day.stations[0x].temperature", "270 K", NULL},
       "--set day.stations[0x].temperature",
       "",
       "no such key"},
      {{"--set", "day.stations[0.temperature", "270 K", NULL},
       "--set day.stations[0.temperature",
       "",
       "no such key"},
      {{"--set", "day.stations[99999999999999999999].name", "x", NULL},
       "--set day.stations[99999999999999999999].name",
       "",
       "nothing of that key"},
      {{"--set", "day.stations[0].name", "\xff", NULL},
       "--set day.stations[0].name",
       "",
       "not UTF-8"},
      {{"--set", "day.stations[0].name", "a\nb", NULL},
       "--set day.stations[0].name",
       "day.stations[0].name",
       "control character"},
      {{"--set", "course", "none.yaml", NULL},
       "--set course",
       "course",
       "none.yaml: there is no such file"},
      {{"--set", "goal.map", "220 kPa", NULL},
       "/nonexistent/event.yaml",
       "goal",
       "more than one target"},
      {{"--boost", "goal.boost", "34 psia", "map|columns|rows"},
       "--boost",
       "goal.boost",
       "absolute pressure"},
      {{"--boost", "goal.bost", "34 psi", NULL}, "--boost", "", "no such key"},
      {{"--set", "day.isa.offset", "5 K", NULL},
       "--set day.isa.offset",
       "day.isa",
       "both the standard day and stations"},
      {{"--set", "car.turbo.rated_speed", "14640 rpm", NULL},
       "--set car.turbo.rated_speed",
       "car.turbo.rated_speed",
       "tip speed"},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event;
    if (read_text(WHOLE, &rows[i].setting, 1, &event) == TA_ERR_INPUT && diagnostics.errors == 1) {
      size_t k = 0;
      while (diagnostics.item[k].severity != TA_ERROR) k++;
      const ta_diagnostic *item = &diagnostics.item[k];
      if (strcmp(item->place.file, rows[i].place) == 0 && strcmp(item->key, rows[i].key) == 0 &&
          strstr(item->text, rows[i].phrase) != NULL)
        continue;
    }
    print_error("%s=%s, %zu errors:\n", rows[i].setting.key, rows[i].setting.value,
                diagnostics.errors);
    show();
    ta_event_free(&event);
    bad++;
  }
  assert_int_equal(bad, 0);
}

/* A group that a setting makes lacks the rest: placed at that setting, not at one never typed. */
static void a_group_made_on_the_way_is_checked(void **state) {
  (void)state;
  char *text = replaced(WHOLE, "  control: {holds: absolute, overshoot: 4.8 kPa}\n", "");
  const ta_setting settings[] = {{"--set", "event", "x", NULL},
                                 {"--set", "car.control.overshoot", "5 kPa", NULL},
                                 {"--set", "car.car", "y", NULL}};
  ta_event event;
  assert_int_equal(read_text(text, settings, 3, &event), TA_ERR_INPUT);
  free(text);
  assert_int_equal(diagnostics.errors, 1);
  assert_string_equal(diagnostics.item[0].key, "car.control.holds");
  assert_string_equal(diagnostics.item[0].place.file, "--set car.control.overshoot");
}

/* ---- files ---- */

static char folder[] = "/tmp/thinair-event-XXXXXX";
static const char *const files[] = {"event.yaml", "course.yaml", "car.yaml", "compressor.yaml",
                                    "day.yaml",   "hot.yaml",    "track.GPX"};

static void path_of(const char *name, char *path) {
  (void)snprintf(path, TA_FILE_MAX, "%s/%s", folder, name);
}

static int write_file(const char *name, const char *text) {
  char path[TA_FILE_MAX];
  path_of(name, path);
  FILE *file = fopen(path, "wb");
  if (file == NULL) return -1;
  (void)fputs(text, file);
  return fclose(file);
}

static int write_files(void **state) {
  (void)state;
  if (mkdtemp(folder) == NULL) return -1;
  return write_file("event.yaml",
                    HEAD "course: course.yaml\ncar: car.yaml\nday: day.yaml\ngoal:\n" GOAL) +
         write_file("course.yaml", COURSE) +
         write_file("car.yaml", CAR "    compressor: compressor.yaml\n") +
         write_file("compressor.yaml", COMPRESSOR) + write_file("day.yaml", DAY) +
         write_file("hot.yaml", "isa: {offset: 20 K}\n");
}

static int remove_files(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  for (size_t i = 0; i < COUNT_OF(files); i++) {
    path_of(files[i], path);
    (void)remove(path);
  }
  return rmdir(folder);
}

static void folder_and_file_name_the_same_event(void **state) {
  (void)state;
  char path[TA_FILE_MAX], slash[TA_FILE_MAX];
  path_of("event.yaml", path);
  path_of("", slash);
  const char *names[] = {folder, slash, path};
  for (size_t i = 0; i < COUNT_OF(names); i++) {
    ta_event event;
    ta_diagnostics_clear(&diagnostics);
    if (ta_event_read(names[i], NULL, 0, &event, &diagnostics) != TA_OK) show();
    assert_int_equal(diagnostics.errors, 0);
    assert_int_equal(check_whole(&event, NULL), 0);
    ta_event_free(&event);
  }
}

static void settings_reach_into_files(void **state) {
  (void)state;
  char hot[TA_FILE_MAX];
  path_of("hot.yaml", hot);
  const ta_setting settings[] = {{"--set", "car.turbo.compressor.exducer_diameter", "67 mm", NULL},
                                 {"--set", "day.isa.humidity", "30 %", NULL},
                                 {"--day", "day", hot, NULL}};
  ta_event event;
  ta_diagnostics_clear(&diagnostics);
  if (ta_event_read(folder, settings, 3, &event, &diagnostics) != TA_OK) show();
  assert_int_equal(diagnostics.errors, 0);
  int bad = off("--set", "exducer", event.car.turbo.compressor.exducer_m, 0.067, 1e-15);
  bad += off("--day", "offset", event.day.isa_offset_k, 20.0, 0.0);
  bad += off("--set", "humidity", event.day.isa_humidity, 0.3, 1e-15);
  assert_int_equal(event.day.station_count, 0);
  ta_event_free(&event);
  assert_int_equal(bad, 0);
}

/* What a command needs and the files leave out is an error at the mapping that lacks it; where the
 * files are wrong already nothing is added. */
static void what_is_needed_is_missed_at_its_mapping(void **state) {
  (void)state;
  static const struct {
    const char *needed;
    ta_setting setting;
    const char *key; /* of the one error; NULL: there is none */
  } rows[] = {{"car.turbo.sensor",
               {"--set", "car.turbo.compressor.exducer_diameter", "67 mm", NULL},
               "car.turbo.sensor"},
              {"car.turbo.sensor", {"--set", "car.turbo.sensor.blades", "7", NULL}, NULL},
              {"car.turbo.sensor",
               {"--set", "car.turbo.sensor.divider", "2", NULL},
               "car.turbo.sensor.blades"},
              {"car.turbo.sensor", {"--set", "car", "nowhere.yaml", NULL}, "car"},
              {"car.turbo.compressor",
               {"--set", "car.turbo.compressor.exducer_diameter", "67 mm", NULL},
               NULL}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event;
    ta_diagnostics_clear(&diagnostics);
    const ta_status status =
        ta_event_read_needing(folder, &rows[i].setting, 1, rows[i].needed, &event, &diagnostics);
    assert_int_equal(diagnostics.errors, rows[i].key != NULL ? 1 : 0);
    assert_int_equal(status, rows[i].key != NULL ? TA_ERR_INPUT : TA_OK);
    if (status == TA_OK) ta_event_free(&event);
    const ta_diagnostic *item = diagnostics.item;
    while (rows[i].key != NULL && item->severity != TA_ERROR) item++; /* past the warnings */
    if (rows[i].key != NULL) assert_string_equal(item->key, rows[i].key);
    if (i > 0) continue;
    /* the mapping of car.turbo, in a file of its own or in the event's */
    assert_true(item->place.line > 1 && item->place.column > 1);
    assert_non_null(strstr(item->text, "it holds blades, divider"));
  }
}

static void an_error_stands_in_the_file_that_holds_it(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  path_of("compressor.yaml", path);
  char *text = replaced(COMPRESSOR, "2.28, 0.76", "2.28, 1.76");
  assert_int_equal(write_file("compressor.yaml", text), 0);
  free(text);
  ta_event event;
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read(folder, NULL, 0, &event, &diagnostics), TA_ERR_INPUT);
  assert_int_equal(write_file("compressor.yaml", COMPRESSOR), 0);
  assert_int_equal(diagnostics.errors, 1);
  const ta_diagnostic *item = &diagnostics.item[0];
  assert_string_equal(item->key, "car.turbo.compressor.lines[1].rows[1].efficiency");
  assert_string_equal(item->place.file, path);
  assert_int_equal(item->place.line, 9);
  assert_int_equal(item->place.column, 51);
}

static void parts_are_read_alone(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event e;
  path_of("compressor.yaml", path);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read_part("car.turbo.compressor", path, NULL, 0, &e, &diagnostics),
                   TA_OK);
  assert_int_equal(e.car.turbo.compressor.line_count, 3);
  assert_true(e.name == NULL && e.course.point == NULL && e.car.turbo.rated_rpm == 0.0);
  ta_event_free(&e);

  path_of("car.yaml", path);
  const ta_setting lower = {"--set", "car.turbo.rated_speed", "140 kHz", NULL};
  const ta_setting inside = {"--set", "car.turbo.rated_speed", "141000 rpm", NULL};
  assert_int_equal(ta_event_read_part("car", path, &inside, 1, &e, &diagnostics), TA_OK);
  assert_true(e.car.turbo.rated_rpm == 141000.0 && e.car.turbo.compressor.line_count == 3);
  ta_event_free(&e);
  assert_int_equal(ta_event_read_part("car", path, &lower, 1, &e, &diagnostics), TA_ERR_INPUT);
  assert_string_equal(diagnostics.item[0].key, "car.turbo.rated_speed");
  assert_string_equal(diagnostics.item[0].place.file, "--set car.turbo.rated_speed");

  path_of("day.yaml", path);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read_part("day", path, NULL, 0, &e, &diagnostics), TA_OK);
  assert_int_equal(e.day.station_count, 2);
  ta_event_free(&e);

  path_of("course.yaml", path);
  assert_int_equal(ta_event_read_part("course", path, NULL, 0, &e, &diagnostics), TA_OK);
  assert_int_equal(e.course.count, 3);
  ta_event_free(&e);
  assert_int_equal(ta_event_read_part(NULL, path, NULL, 0, &e, &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_read_part_bytes("day", path, NULL, 0, &e, &diagnostics),
                   TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_read_part_bytes(NULL, path, "", 0, &e, &diagnostics), TA_ERR_ARGUMENT);
}

/* ---- tracks ---- */

/* Three points 111 m and more apart on a meridian, up and down; a gap before the last two. */
#define TRACK(third)                                                                             \
  "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n" \
  "<trk><trkseg>\n"                                                                              \
  "<trkpt lat=\"46.0000\" lon=\"7.5\"><ele>1500</ele></trkpt>\n"                                 \
  "<trkpt lat=\"46.0001\" lon=\"7.5\"><ele>1502</ele></trkpt>\n"                                 \
  "<trkpt lat=\"46.0002\" lon=\"7.5\"><ele>" third                                               \
  "</ele></trkpt>\n"                                                                             \
  "<trkpt lat=\"46.0003\" lon=\"7.5\"><ele>1501</ele></trkpt>\n"                                 \
  "<trkpt lat=\"46.0004\" lon=\"7.5\"><ele>1506</ele></trkpt>\n"                                 \
  "<trkpt lat=\"46.0005\" lon=\"7.5\"><ele>1508</ele></trkpt>\n"                                 \
  "</trkseg><trkseg>\n"                                                                          \
  "<trkpt lat=\"46.0100\" lon=\"7.5\"><ele>1600</ele></trkpt>\n"                                 \
  "<trkpt lat=\"46.0101\" lon=\"7.5\"><ele>1603</ele></trkpt>\n"                                 \
  "</trkseg></trk></gpx>\n"

static void a_track_is_smoothed_over_50_m_unless_told_otherwise(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event e;
  path_of("track.GPX", path);
  assert_int_equal(write_file("track.GPX", TRACK("1507")), 0);
  static const struct {
    const char *smoothing;
    double length_m;
  } rows[] = {{NULL, 50.0}, {"120 m", 120.0}, {"1 m", 1.0}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_setting setting = {"--set", "course.smoothing", rows[i].smoothing, NULL};
    ta_diagnostics_clear(&diagnostics);
    if (ta_event_read_part("course", path, &setting, rows[i].smoothing != NULL, &e, &diagnostics) !=
        TA_OK)
      show();
    assert_int_equal(diagnostics.errors, 0);
    assert_true(e.course_is_gpx && e.has_course_smoothing);
    assert_true(e.course_smoothing_m == rows[i].length_m);
    assert_int_equal(e.course.count, 8);
    for (size_t k = 0; k < 8; k++) assert_true(e.course.point[k].after_gap == (k == 6));
    assert_true(e.course.point[0].elevation_m == 1500.0 && e.course.point[7].elevation_m == 1603.0);
    /* 11 m from point to point: 1 m holds no neighbour, and a length below 3 spacings is none */
    const bool smoothed = rows[i].length_m > 3 * 11.2;
    assert_true((fabs(e.course.point[2].elevation_m - 1507.0) > 0.1) == smoothed);
    assert_true((e.course_residual.residual_max_m > 0.1) == smoothed);
    ta_event_free(&e);
  }
}

static void an_event_names_a_track(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event e;
  path_of("track.GPX", path);
  assert_int_equal(write_file("track.GPX", TRACK("1507")), 0);
  const ta_setting settings[] = {{"--set", "course", path, NULL},
                                 {"--set", "course.smoothing", "80 m", NULL}};
  ta_diagnostics_clear(&diagnostics);
  if (ta_event_read(folder, settings, 2, &e, &diagnostics) != TA_OK) show();
  assert_int_equal(diagnostics.errors, 0);
  assert_true(e.course.count == 8 && e.course_smoothing_m == 80.0);
  ta_event_free(&e);
}

static void errors_of_a_track_are_placed(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event e;
  path_of("track.GPX", path);
  static const struct {
    const char *row, *text;
    const char *value; /* of course.smoothing; NULL: not set */
    const char *place; /* NULL: the file */
    int line;
  } rows[] = {
      {"elevation", TRACK("high"), NULL, NULL, 6},
      {"no XML", "columns: {}", NULL, NULL, 1},
      {"empty", "", NULL, NULL, 1},
      {"smoothing", TRACK("1507"), "50", "--set course.smoothing", 0},
      {"smoothing out of range", TRACK("1507"), "50 km", "--set course.smoothing", 0},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_setting setting = {"--set", "course.smoothing", rows[i].value, NULL};
    assert_int_equal(write_file("track.GPX", rows[i].text), 0);
    ta_diagnostics_clear(&diagnostics);
    assert_int_equal(
        ta_event_read_part("course", path, &setting, rows[i].value != NULL, &e, &diagnostics),
        TA_ERR_INPUT);
    const ta_diagnostic *item = &diagnostics.item[0];
    while (item->severity != TA_ERROR) item++;
    if (diagnostics.errors != 1 || item->place.line != rows[i].line ||
        strcmp(item->place.file, rows[i].place != NULL ? rows[i].place : path) != 0) {
      show();
      fail_msg("%s", rows[i].row);
    }
  }
}

static void a_course_in_yaml_is_smoothed_when_it_says_so(void **state) {
  (void)state;
  static const char rows[] =
      "columns: {distance: m, elevation: m}\n"
      "rows: [[0, 1500], [10, 1502], [20, 1507], [30, 1501], [40, 1506], "
      "[50, 1508]]\n";
  ta_event plain, smooth;
  char text[400];
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(
      ta_event_read_part_bytes("course", "road.yaml", rows, strlen(rows), &plain, &diagnostics),
      TA_ERR_INPUT); /* a grade of 60 % */
  assert_int_equal(diagnostics.errors, 1);
  (void)snprintf(text, sizeof text, "smoothing: 50 m\n%s", rows);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(
      ta_event_read_part_bytes("course", "road.yaml", text, strlen(text), &smooth, &diagnostics),
      TA_OK);
  assert_true(smooth.course_smoothing_m == 50.0);
  assert_true(fabs(smooth.course.point[2].elevation_m - 1507.0) > 1.0);
  ta_event_free(&smooth);
}

/* What lies outside the part is refused, not passed over. */
static void settings_outside_a_part_are_refused(void **state) {
  (void)state;
  static const char *const keys[] = {"goal.margin", "day.stations[0].name", "course", "day", "car"};
  char path[TA_FILE_MAX];
  path_of("car.yaml", path);
  for (size_t i = 0; i < COUNT_OF(keys); i++) {
    const ta_setting setting = {"--set", keys[i], "4 %", NULL};
    ta_event event;
    ta_diagnostics_clear(&diagnostics);
    if (ta_event_read_part("car", path, &setting, 1, &event, &diagnostics) != TA_ERR_INPUT)
      fail_msg("%s is taken", keys[i]);
    assert_int_equal(diagnostics.errors, 1);
    assert_non_null(strstr(diagnostics.item[0].text, "does not hold that key"));
  }
}

/* A warning comes with a good event, and has its place. */
static void warnings_are_kept(void **state) {
  (void)state;
  char *text = replaced(
      WHOLE,
      "    - {elevation: 4114.8 m, temperature: -1 degC, qnh: 1019.3 hPa, dew_point: -5.5 degC}\n",
      "");
  ta_event event;
  read_good(text, NULL, 0, &event);
  assert_true(diagnostics.count > 0 && diagnostics.errors == 0);
  bool told = false;
  for (size_t i = 0; i < diagnostics.count; i++) {
    const ta_diagnostic *item = &diagnostics.item[i];
    assert_int_equal(item->severity, TA_WARNING);
    assert_string_equal(item->place.file, "/nonexistent/event.yaml");
    assert_true(item->place.line > 0);
    told |= strcmp(item->key, "day.stations") == 0 &&
            strstr(item->text, "no station in the top 2652 m") != NULL; /* 4114.8 - 1463.04 */
  }
  assert_true(told);
  ta_event_free(&event);
  free(text);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_key_is_read_in_si),
      cmocka_unit_test(other_units_give_the_same_values),
      cmocka_unit_test(what_is_left_out_has_its_default),
      cmocka_unit_test(groups_have_defaults_inside),
      cmocka_unit_test(words_of_the_controller_are_taken),
      cmocka_unit_test(words_are_taken),
      cmocka_unit_test(settings_replace_insert_and_make_groups),
      cmocka_unit_test(settings_reach_into_series_and_displace_tables),
      cmocka_unit_test(a_setting_displaces_a_goal_in_rows),
      cmocka_unit_test(bad_settings_are_placed_at_themselves),
      cmocka_unit_test(a_group_made_on_the_way_is_checked),
      cmocka_unit_test(folder_and_file_name_the_same_event),
      cmocka_unit_test(settings_reach_into_files),
      cmocka_unit_test(an_error_stands_in_the_file_that_holds_it),
      cmocka_unit_test(what_is_needed_is_missed_at_its_mapping),
      cmocka_unit_test(parts_are_read_alone),
      cmocka_unit_test(a_track_is_smoothed_over_50_m_unless_told_otherwise),
      cmocka_unit_test(an_event_names_a_track),
      cmocka_unit_test(errors_of_a_track_are_placed),
      cmocka_unit_test(a_course_in_yaml_is_smoothed_when_it_says_so),
      cmocka_unit_test(settings_outside_a_part_are_refused),
      cmocka_unit_test(warnings_are_kept),
  };
  return cmocka_run_group_tests(tests, write_files, remove_files);
}
