/* whole_event.h - an invented event in blocks: put together it is one file, or each its own. */
#ifndef THINAIR_TESTS_WHOLE_EVENT_H
#define THINAIR_TESTS_WHOLE_EVENT_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD "event: made up\nunits: us\n"
#define COURSE                                            \
  "  columns: {distance: km, elevation: m, mark: text}\n" \
  "  rows:\n"                                             \
  "    - [0.31, 1463.04, Start]\n"                        \
  "    - [15.9325056, 2706.624, Long Bend]\n"             \
  "    - [34.1, 4114.8, ~]\n"
#define CAR_HEAD                                             \
  "  car: one that was made up\n"                            \
  "  engine:\n"                                              \
  "    displacement: 1999.221808 cc\n"                       \
  "    cycle: four-stroke\n"                                 \
  "    volumetric_efficiency:\n"                             \
  "      columns: {engine_speed: rpm, ve: 1}\n"              \
  "      rows: [[2040, 0.86], [6000, 1.01], [7620, 0.93]]\n" \
  "    boost_window: [4500 rpm, 7200 rpm]\n"                 \
  "    redline: 7620 rpm\n"                                  \
  "    air_fuel_ratio: 11.8\n"                               \
  "    bsfc: 310.25 g/kWh\n"                                 \
  "  intake:\n"                                              \
  "    pressure_drop: 1.99271128 kPa\n"                      \
  "    at_flow: 0.30239491333333333 kg/s\n"                  \
  "    measured_at: {pressure: 98.20527056986 kPa, temperature: 25 degC}\n"
#define COOLER                                                 \
  "  charge_cooler:\n"                                         \
  "    effectiveness: 0.74\n"                                  \
  "    pressure_drop: 9.1 kPa\n"                               \
  "    at_flow: 18.3 kg/min\n"                                 \
  "    measured_at: {pressure: 2.1 bar, temperature: 313 K}\n" \
  "    coolant: 40 degC\n"                                     \
  "    leak: 1.5 %\n"
#define TURBO                     \
  "  turbo:\n"                    \
  "    count: 2\n"                \
  "    imbalance: 3 %\n"          \
  "    rated_speed: 146400 rpm\n" \
  "    thin_air: {reynolds_exponent: 0.17, pressure_exponent: 0.03}\n"
#define CAR CAR_HEAD PLAIN_RISE COOLER PLAIN_CONTROL TURBO
#define LINE_1                                                                                \
  "        - speed: 90000 rpm\n"                                                              \
  "          rows: [[0.08, 1.62, 0.68], [0.14, 1.58, 0.75], [0.20, 1.45, 0.70], [0.24, 1.2, " \
  "0.5]]\n"
#define LINE_2                                                                     \
  "        - speed: 120000 rpm\n"                                                  \
  "          rows: [[0.13, 2.35, 0.69], [0.20, 2.28, 0.76], [0.275, 2.03, 0.70], " \
  "[0.315, 1.54, 0.5]]\n"
#define LINE_3                    \
  "        - speed: 150000 rpm\n" \
  "          rows: [[0.20, 3.4, 0.69], [0.27, 3.3, 0.75], [0.345, 2.9, 0.70], [0.38, 2.1, 0.5]]\n"
#define COMPRESSOR                                                  \
  "      compressor: made up too\n"                                 \
  "      exducer_diameter: 66.04 mm\n"                              \
  "      reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n"  \
  "      columns: {flow: kg/s, pressure_ratio: 1, efficiency: 1}\n" \
  "      lines:\n" LINE_1 LINE_2 LINE_3
#define ISLANDS                                                             \
  "        - efficiency: 75 %\n"                                            \
  "          rows: [[7.4, 1.58], [10.6, 2.28], [14.6, 3.3], [12.3, 2.2]]\n" \
  "        - efficiency: 0.70\n"                                            \
  "          columns: {pressure_ratio: 1, flow: g/s}\n"                     \
  "          rows: [[1.45, 201], [2.03, 275], [2.9, 345], [1.6, 90], [2.33, 133]]\n"
/* A compressor map as printed: tip speeds, volume flow at the reference state, islands, surge line. */
#define PRINTED                                                                                 \
  "      compressor: made up too\n"                                                             \
  "      exducer_diameter: 66.04 mm\n"                                                          \
  "      reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n"                              \
  "      columns: {flow: m3/min, pressure_ratio: 1}\n"                                          \
  "      lines:\n"                                                                              \
  "        - {speed: 311 m/s, rows: [[4.1, 1.63], [7.6, 1.58], [10.9, 1.45], [13.0, 1.2]]}\n"   \
  "        - {speed: 415 m/s, rows: [[6.9, 2.35], [10.8, 2.28], [14.9, 2.03], [17.1, 1.54]]}\n" \
  "        - {speed: 519 m/s, rows: [[10.7, 3.4], [14.7, 3.3], [18.7, 2.9], [20.6, 2.1]]}\n"    \
  "      islands:\n" ISLANDS                                                                    \
  "      surge_line:\n"                                                                         \
  "        columns: {flow: kg/s, pressure_ratio: 1}\n"                                          \
  "        rows: [[0.0765, 1.63], [0.2, 3.4]]\n"
#define DAY                                                                               \
  "  stations:\n"                                                                         \
  "    - {name: paddock, elevation: 1463.04 m, temperature: 16 degC, pressure: 853 hPa, " \
  "humidity: 40 %}\n"                                                                     \
  "    - {elevation: 4114.8 m, temperature: -1 degC, qnh: 1019.3 hPa, "                   \
  "dew_point: -5.5 degC}\n"                                                               \
  "  lapse_rate: 6.1 K/km\n"
#define GOAL "  boost: 1.1 bar\n  margin: 4 %\n"

#define WHOLE \
  HEAD "course:\n" COURSE "car:\n" CAR "    compressor:\n" COMPRESSOR "day:\n" DAY "goal:\n" GOAL

/* What a car may have besides: a second spelling of some of its lines. */
#define PLAIN_CONTROL "  control: {holds: absolute, overshoot: 4.8 kPa}\n"
#define CONTROL                                      \
  "  control:\n"                                     \
  "    holds: gauge-from-key-on\n"                   \
  "    overshoot: 4.8 kPa\n"                         \
  "    map_error: 0.9 kPa\n"                         \
  "    barometer_error: 0.7 kPa\n"                   \
  "    barometer_read_at: 1371.6 m\n"                \
  "    map_sensor: 350 kPa\n"                        \
  "    minimum_boost: 55 kPa\n"                      \
  "    unit: psi\n"                                  \
  "    resolution: 1.3 kPa\n"                        \
  "    interpolation: step\n"                        \
  "    pressure_axis: [60 kPa, 85 kPa]\n"            \
  "    speed_axis: [4500 rpm, 6600 rpm, 7680 rpm]\n" \
  "    positions: 5\n"
#define PLAIN_RISE "    temperature_rise: 6 K\n"
#define RESTRICTED             \
  PLAIN_RISE                   \
  "    ram_recovery: 35 %\n"   \
  "    restrictor:\n"          \
  "      diameter: 33.02 mm\n" \
  "      count: 2\n"           \
  "      recovery: 82 %\n"
#define PLAIN_IMBALANCE "    imbalance: 3 %\n"
#define TURBINE                                                                     \
  "    sensor: {blades: 7, divider: 2, thread_pitch: 0.635 mm, turns_back: 0.75}\n" \
  "    turbine:\n"                                                                  \
  "      inlet_temperature: 910 degC\n"                                             \
  "      efficiency: 69 %\n"                                                        \
  "      mechanical_efficiency: 96 %\n"                                             \
  "      reference: {pressure: 101.6 kPa, temperature: 290 K}\n"                    \
  "      flow_capacity:\n"                                                          \
  "        columns: {expansion_ratio: 1, flow: kg/s}\n"                             \
  "        rows: [[1.2, 0.11], [1.7, 0.15], [2.6, 0.166]]\n"                        \
  "      back_pressure: 5.3 kPa\n"                                                  \
  "      at_flow: 0.31 kg/s\n"                                                      \
  "      measured_at: 98 kPa\n"                                                     \
  "      gamma: 1.31\n"                                                             \
  "      gas_constant: 289\n"
#define TURBINE_TABLE                                                                           \
  "      efficiency: {columns: {expansion_ratio: 1, efficiency: '%'}, rows: [[1.3, 66], [2.4, " \
  "71]]}\n"
#define VEHICLE                                          \
  "  vehicle:\n"                                         \
  "    mass: 1133.980925 kg\n"                           \
  "    drag_area: 0.9290304 m2\n"                        \
  "    downforce_area: 0.4645152 m2\n"                   \
  "    rolling_resistance: 1.3 %\n"                      \
  "    tyre_radius: 304.8 mm\n"                          \
  "    gears: [3.1, 2.05, 1.5]\n"                        \
  "    final_drive: 4.1\n"                               \
  "    drivetrain_efficiency: 0.87\n"                    \
  "    shift_speed: 7080 rpm\n"                          \
  "    shift_time: 120 ms\n"                             \
  "    grip: {drive: 1.02, corner: 1.13, brake: 1.04}\n" \
  "    driven_load_share: 61 %\n"
#define ROAD                                                                                   \
  "  columns: {distance: km, elevation: m, corner_radius: m, speed_limit: km/h, mark: text}\n" \
  "  rows:\n"                                                                                  \
  "    - [0.31, 1463.04, ~, 96.56064, Start]\n"                                                \
  "    - [15.9325056, 2706.624, 30.48, ~, Long Bend]\n"                                        \
  "    - [34.1, 4114.8, ~, ~, ~]\n"
#define EVERYTHING                                                                        \
  HEAD "course:\n" ROAD "car:\n" CAR_HEAD RESTRICTED COOLER CONTROL VEHICLE TURBO TURBINE \
       "    compressor:\n" COMPRESSOR "day:\n" DAY "goal:\n" GOAL

/* The text with the first `old` replaced; to be freed.  "" appends. */
static inline char *replaced(const char *text, const char *old, const char *with) {
  const char *at = old[0] != '\0' ? strstr(text, old) : text + strlen(text);
  if (at == NULL) {
    (void)fprintf(stderr, "nothing to replace: %s\n", old);
    abort();
  }
  const size_t size = strlen(text) + strlen(with) + 1;
  char *made = malloc(size);
  if (made == NULL) abort();
  (void)snprintf(made, size, "%.*s%s%s", (int)(at - text), text, with, at + strlen(old));
  return made;
}

#endif
