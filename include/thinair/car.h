/* car.h - the car as the air passes through it: engine, intake, charge cooler, turbo, control. */
#ifndef THINAIR_CAR_H
#define THINAIR_CAR_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/compressor_map.h"
#include "thinair/turbine.h"
#include "thinair/vehicle.h"

typedef struct {
  double engine_rpm, ve;
} ta_ve_point;

typedef enum { TA_FOUR_STROKE, TA_TWO_STROKE, TA_ROTARY } ta_cycle;

typedef struct {
  double displacement_m3; /* rotary: one chamber times the number of rotors */
  int cycle;              /* ta_cycle */
  ta_ve_point *ve;        /* rising in speed */
  size_t ve_count;
  double window_rpm[2]; /* boost window: where the target is held */
  double redline_rpm;
  bool has_redline;
  double air_fuel_ratio;
  double bsfc_kg_j; /* brake specific fuel consumption */
} ta_engine;

/** A pressure drop measured at one flow and one state of dry air; the whole engine's. */
typedef struct {
  double drop_pa, at_flow_kg_s;
  double pressure_pa, temperature_k; /* of the air it was measured with */
} ta_flow_drop;

/** An inlet restrictor: round throats side by side. */
typedef struct {
  double diameter_m, count;
  double recovery; /* share of the throat's fall of pressure that comes back behind it */
} ta_restrictor;

typedef struct {
  ta_flow_drop drop;
  double temperature_rise_k;
  double ram_recovery; /* share of the driving wind's dynamic pressure that reaches the intake */
  ta_restrictor restrictor;
  bool has_restrictor;
} ta_intake;

typedef struct {
  double effectiveness;
  ta_flow_drop drop; /* compressor outlet to plenum, throttle included */
  double coolant_k;  /* used when has_coolant; else the ambient air cools */
  bool has_coolant;
  double leak; /* share of the engine's air that is lost after the compressor */
} ta_charge_cooler;

typedef struct {
  double pressure_pa, temperature_k;
} ta_reference_state;

/** A point as printed: flow as mass or as volume at the reference state, efficiency or none. */
typedef struct {
  double flow_kg_s, flow_m3_s, pressure_ratio, efficiency;
  bool has_volume, has_efficiency;
} ta_printed_point;

/** A speed line as printed: marked with its corrected speed, or with the tip speed. */
typedef struct {
  double corrected_rpm, tip_speed_ms;
  bool has_tip_speed;
  ta_printed_point *point; /* from surge to choke */
  size_t point_count;
} ta_printed_line;

/** A printed contour of one efficiency. */
typedef struct {
  double efficiency;
  ta_printed_point *point;
  size_t point_count;
} ta_printed_island;

typedef struct {
  const char *name;
  double exducer_m;
  bool has_exducer;
  ta_reference_state reference;
  ta_printed_line *printed;
  size_t printed_count;
  ta_printed_island *island;
  size_t island_count;
  ta_printed_point *surge; /* the surge line */
  size_t surge_count;
  ta_speed_line *line; /* made of the above by ta_printed_map_complete */
  size_t line_count;
} ta_compressor;

/** Correction of a gas-stand map to thin air; see thin_air.h. */
typedef struct {
  int off; /* 1: no correction */
  double reynolds_exponent, pressure_exponent;
} ta_thin_air;

/** A sensor that counts passing blades. */
typedef struct {
  double blades, divider;
  double thread_pitch_m, turns_back; /* of a threaded sensor; when given */
  bool has_thread_pitch, has_turns_back;
} ta_speed_sensor;

typedef struct {
  double count;     /* turbos in parallel */
  double imbalance; /* how much more than its share the judged one carries; has no say at count 1 */
  double rated_rpm; /* physical, the maker's */
  ta_thin_air thin_air;
  ta_compressor compressor;
  ta_speed_sensor sensor;
  bool has_sensor;
  ta_turbine turbine;
  bool has_turbine;
} ta_turbo;

/** What the boost controller holds. */
typedef enum {
  TA_HOLDS_ABSOLUTE,     /* MAP */
  TA_HOLDS_GAUGE,        /* boost above the live ambient; a pressure-actuated wastegate too */
  TA_HOLDS_GAUGE_KEY_ON, /* boost above the ambient read once, with the key: an absolute target */
} ta_holds;

/** Units of pressure that controllers count in; the order of the schema's choices. */
typedef enum {
  TA_CONTROLLER_KPA,
  TA_CONTROLLER_MBAR,
  TA_CONTROLLER_BAR,
  TA_CONTROLLER_PSI
} ta_controller_unit;

typedef struct {
  int holds;                  /* ta_holds */
  double overshoot_pa;        /* how far the pressure runs above the set-point, at worst */
  double map_error_pa;        /* how far its pressure sensor reads low, at worst */
  double barometer_error_pa;  /* how far its barometer reads high, at worst */
  double barometer_read_at_m; /* elevation at which gauge-from-key-on reads the ambient */
  bool has_barometer_read_at; /* else the start line */
  double map_sensor_pa;       /* full scale, absolute */
  bool has_map_sensor;
  double minimum_boost_pa; /* with boost control off: the wastegate's spring */
  bool has_minimum_boost;
  int unit; /* ta_controller_unit */
  double resolution_pa;
  double positions;                          /* of a boost knob */
  int interpolation;                         /* 0: its table is read linearly; 1: by steps */
  double *pressure_axis_pa, *speed_axis_rpm; /* of its table, rising; where given */
  size_t pressure_axis_count, speed_axis_count;
} ta_control;

enum { TA_AXIS_MAX = 32 }; /* breakpoints of an axis of the table */

typedef struct {
  const char *name;
  ta_engine engine;
  ta_intake intake;
  ta_charge_cooler charge_cooler;
  ta_control control;
  ta_turbo turbo;
  ta_vehicle vehicle;
  bool has_vehicle;
} ta_car;

/** Volumetric efficiency at an engine speed: linear between its points, constant beyond. */
double ta_engine_ve(const ta_engine *engine, double engine_rpm);

/** Crankshaft revolutions per intake stroke: four-stroke 2; two-stroke 1; rotary 1. */
double ta_engine_revs_per_intake(const ta_engine *engine);

/** Flow that the judged turbo carries, over the flow of the intake. */
double ta_turbo_share(const ta_turbo *turbo);

#endif
