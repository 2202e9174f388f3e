/* quantity.h - kinds of quantity, the unit table, and numbers with units as people type them.
 *
 * SI inside, with one exception: rotation is in rev/min, because the trade has no other. */
#ifndef THINAIR_QUANTITY_H
#define THINAIR_QUANTITY_H

#include <stddef.h>

#include "thinair/status.h"

/* One row per kind: symbol, name for people, SI unit (the unit inside). */
#define TA_KIND_ROWS(X)                                       \
  X(TA_NUMBER, "number", "1") /* bare only */                 \
  X(TA_RATIO, "ratio", "1")   /* bare or % */                 \
  X(TA_PRESSURE, "absolute pressure", "Pa")                   \
  X(TA_GAUGE_PRESSURE, "gauge pressure", "Pa")                \
  X(TA_PRESSURE_DIFFERENCE, "pressure difference", "Pa")      \
  X(TA_TEMPERATURE, "temperature", "K")                       \
  X(TA_TEMPERATURE_DIFFERENCE, "temperature difference", "K") \
  X(TA_LAPSE_RATE, "lapse rate", "K/m")                       \
  X(TA_LENGTH, "length", "m")                                 \
  X(TA_AREA, "area", "m2")                                    \
  X(TA_VOLUME, "volume", "m3")                                \
  X(TA_MASS, "mass", "kg")                                    \
  X(TA_DENSITY, "density", "kg/m3")                           \
  X(TA_MASS_FLOW, "mass flow", "kg/s")                        \
  X(TA_VOLUME_FLOW, "volume flow", "m3/s")                    \
  X(TA_ROTATION, "rotational speed", "rpm")                   \
  X(TA_POWER, "power", "W")                                   \
  X(TA_SPECIFIC_CONSUMPTION, "specific consumption", "kg/J")  \
  X(TA_SPEED, "speed", "m/s")                                 \
  X(TA_TIME, "time", "s")                                     \
  X(TA_ANGLE, "angle", "rad")

typedef enum {
#define X(symbol, name, si) symbol,
  TA_KIND_ROWS(X)
#undef X
      TA_KIND_COUNT
} ta_kind;

/** si = factor * value + offset */
typedef struct {
  const char *name;
  ta_kind kind;
  double factor, offset;
} ta_unit;

/** Name of a kind for people, such as "absolute pressure". */
const char *ta_kind_name(ta_kind kind);

/** The units a kind takes, such as "Pa, hPa, kPa, ..."; for bare kinds "a bare number". */
const char *ta_kind_units(ta_kind kind);

/** The unit of that kind with that name (length bytes, case matters); NULL when there is none.
 *  A bare number has the unit "1", in the heading of a column too. */
const ta_unit *ta_unit_find(ta_kind kind, const char *name, size_t length);

double ta_to_si(const ta_unit *unit, double value);
double ta_from_si(const ta_unit *unit, double si);

/**
 * Read a plain decimal number ("-12", "0.30", "1e-3") whatever the locale; hexadecimal, "nan" and
 * "inf" are refused.
 *
 * @param[in]  text    Need not be only the number, but starts with it.
 * @param[out] number  Finite.  Untouched on failure.
 * @param[out] rest    First byte after the number.  Untouched on failure.
 * @retval TA_ERR_ARGUMENT  No number stands at the start of text.
 * @retval TA_ERR_DOMAIN    It is too large to be held.
 */
ta_status ta_number_parse(const char *text, double *number, const char **rest);

/**
 * Read a quantity as people type it, "22 psi", "1.6bar", "4 %", and convert it to SI.
 *
 * @param[in]  text  A number and a unit of the kind, with blanks or none before, between, after.
 * @param[in]  kind  What it must be.  TA_NUMBER and TA_RATIO need no unit; all else does.
 * @param[out] si    The value in the kind's SI unit.  Untouched on failure.
 * @param[out] why   On failure: what was found and what is taken, in words; may be NULL.  Plain
 *                   ASCII, no control bytes, at most 40 bytes of the text; 250 bytes hold it all.
 * @retval TA_ERR_ARGUMENT  Not a number, no unit, an unknown unit, a unit of another kind.
 * @retval TA_ERR_DOMAIN    Out of what a double holds, or below absolute zero.
 * Source  Factors: NIST SP 811 (2008) Appendix B; checked against UDUNITS-2 in
 *         tests/base/test_quantity.c.
 */
ta_status ta_quantity_parse(const char *text, ta_kind kind, double *si, char *why, size_t why_size);

/** Every unit taken, by kind, in the order of ta_kind_units(); for tests and manuals. */
const ta_unit *ta_units(size_t *count);

#endif
