/* display.h - how each sort of number is shown: its unit in both unit systems, its decimals. */
#ifndef THINAIR_REPORT_DISPLAY_H
#define THINAIR_REPORT_DISPLAY_H

#include <stddef.h>

#include "thinair/event.h"
#include "thinair/quantity.h"

/* One row per sort: symbol, kind, unit and decimals metric, unit and decimals US. */
#define TA_SHOW_ROWS(X)                                              \
  X(TA_SHOW_MAP, TA_PRESSURE, "kPa", 1, "psia", 2)                   \
  X(TA_SHOW_BOOST, TA_GAUGE_PRESSURE, "bar", 2, "psi", 1)            \
  X(TA_SHOW_AMBIENT, TA_PRESSURE, "kPa", 1, "inHg", 2)               \
  X(TA_SHOW_VAPOUR, TA_PRESSURE, "kPa", 2, "inHg", 3)                \
  X(TA_SHOW_STATION, TA_PRESSURE, "kPa", 1, "psia", 2)               \
  X(TA_SHOW_DIFFERENCE, TA_PRESSURE_DIFFERENCE, "kPa", 1, "psi", 2)  \
  X(TA_SHOW_TEMPERATURE, TA_TEMPERATURE, "degC", 1, "degF", 1)       \
  X(TA_SHOW_WARMER, TA_TEMPERATURE_DIFFERENCE, "K", 1, "degF", 1)    \
  X(TA_SHOW_MASS, TA_MASS, "kg", 0, "lb", 0)                         \
  X(TA_SHOW_DENSITY, TA_DENSITY, "kg/m3", 4, "lb/ft3", 5)            \
  X(TA_SHOW_ELEVATION, TA_LENGTH, "m", 0, "ft", 0)                   \
  X(TA_SHOW_DISTANCE, TA_LENGTH, "km", 3, "mi", 3)                   \
  X(TA_SHOW_WHEEL, TA_LENGTH, "mm", 1, "in", 2)                      \
  X(TA_SHOW_FLOW, TA_MASS_FLOW, "kg/min", 2, "lb/min", 2)            \
  X(TA_SHOW_SPEED, TA_SPEED, "m/s", 1, "m/s", 1)                     \
  X(TA_SHOW_RPM, TA_ROTATION, "rpm", 0, "rpm", 0)                    \
  X(TA_SHOW_POWER, TA_POWER, "kW", 0, "hp", 0)                       \
  X(TA_SHOW_BSFC, TA_SPECIFIC_CONSUMPTION, "g/kWh", 0, "lb/hp/h", 3) \
  X(TA_SHOW_AREA, TA_AREA, "m2", 3, "m2", 3)                         \
  X(TA_SHOW_RATIO, TA_RATIO, "", 4, "", 4)                           \
  X(TA_SHOW_COUNT_OF, TA_NUMBER, "", 0, "", 0)                       \
  X(TA_SHOW_PERCENT, TA_RATIO, "%", 2, "%", 2)                       \
  X(TA_SHOW_SHARE, TA_RATIO, "%", 1, "%", 1)                         \
  X(TA_SHOW_TIME, TA_TIME, "s", 1, "s", 1)                           \
  X(TA_SHOW_GATE, TA_TIME, "ms", 1, "ms", 1)

typedef enum {
#define X(symbol, kind, metric, metric_decimals, us, us_decimals) symbol,
  TA_SHOW_ROWS(X)
#undef X
      TA_SHOW_COUNT
} ta_show;

enum { TA_SHOWN_MAX = 48 };

ta_kind ta_show_kind(ta_show show);

/** The sort that a kind is shown as where nothing more is known of it. */
ta_show ta_show_of(ta_kind kind);

/** "kPa"; "" for bare numbers. */
const char *ta_show_unit(ta_show show, ta_unit_system system);

/** The number alone, in that unit, with that many decimals (-1: the sort's own), thousands set
 *  apart; "-" when it is not finite. */
const char *ta_show_number(ta_show show, ta_unit_system system, int decimals, double si,
                           char text[TA_SHOWN_MAX]);

/** Number and unit: "2,727 m". */
const char *ta_show_quantity(ta_show show, ta_unit_system system, int decimals, double si,
                             char text[TA_SHOWN_MAX]);

/** The SI value whose last digit shown is rounded down: for a cap, so that what is read is not
 * above it; and the same as text. */
double ta_show_rounded_down(ta_show show, ta_unit_system system, double si);
const char *ta_show_cap(ta_show show, ta_unit_system system, double si, char text[TA_SHOWN_MAX]);

/** The value in that unit. */
double ta_show_value(ta_show show, ta_unit_system system, double si);

/** What a JSON key of this kind ends in ("_kPa", "" for bare numbers), and the value there. */
const char *ta_json_suffix(ta_kind kind);
double ta_json_value(ta_kind kind, double si);

#endif
