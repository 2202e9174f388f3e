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
#define CAR                                                                 \
  "  car: one that was made up\n"                                           \
  "  engine:\n"                                                             \
  "    displacement: 1999.221808 cc\n"                                      \
  "    cycle: four-stroke\n"                                                \
  "    volumetric_efficiency:\n"                                            \
  "      columns: {engine_speed: rpm, ve: 1}\n"                             \
  "      rows: [[2040, 0.86], [6000, 1.01], [7620, 0.93]]\n"                \
  "    boost_window: [4500 rpm, 7200 rpm]\n"                                \
  "    redline: 7620 rpm\n"                                                 \
  "    air_fuel_ratio: 11.8\n"                                              \
  "    bsfc: 310.25 g/kWh\n"                                                \
  "  intake:\n"                                                             \
  "    pressure_drop: 1.99271128 kPa\n"                                     \
  "    at_flow: 0.30239491333333333 kg/s\n"                                 \
  "    measured_at: {pressure: 98.20527056986 kPa, temperature: 25 degC}\n" \
  "    temperature_rise: 6 K\n"                                             \
  "  charge_cooler:\n"                                                      \
  "    effectiveness: 0.74\n"                                               \
  "    pressure_drop: 9.1 kPa\n"                                            \
  "    at_flow: 18.3 kg/min\n"                                              \
  "    measured_at: {pressure: 2.1 bar, temperature: 313 K}\n"              \
  "    coolant: 40 degC\n"                                                  \
  "    leak: 1.5 %\n"                                                       \
  "  control: {holds: absolute, overshoot: 4.8 kPa}\n"                      \
  "  turbo:\n"                                                              \
  "    count: 2\n"                                                          \
  "    imbalance: 3 %\n"                                                    \
  "    rated_speed: 146400 rpm\n"                                           \
  "    thin_air: {reynolds_exponent: 0.17, pressure_exponent: 0.03}\n"
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
