/* quantity.c - kinds of quantity, the unit table, and numbers with units as people type them.
 *
 * Source    NIST SP 811 (2008) Appendix B; a factor that is exact there by definition is built
 *           here from its definition.
 * Limits    Absolute pressure and temperature are refused below zero; every other bound belongs
 *           to the key that is read, not to its kind.
 * Pinned by tests/base/test_quantity.c: every row against UDUNITS-2. */
#include "thinair/quantity.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const names[] = {
#define X(symbol, name, si) [symbol] = (name),
    TA_KIND_ROWS(X)
#undef X
};

#define PRESSURES "Pa, hPa, kPa, MPa, mbar, bar, psi, inHg, mmHg, inH2O, atm"

/* The unit table in words; the test holds the two in step. */
static const char *const taken[] = {
    [TA_NUMBER] = "a bare number",
    [TA_RATIO] = "a bare number or %",
    [TA_PRESSURE] = (PRESSURES ", psia"),
    [TA_GAUGE_PRESSURE] = (PRESSURES ", psig"),
    [TA_PRESSURE_DIFFERENCE] = PRESSURES,
    [TA_TEMPERATURE] = "K, degC, degF",
    [TA_TEMPERATURE_DIFFERENCE] = "K, degC, degF",
    [TA_LAPSE_RATE] = "K/km, degC/km",
    [TA_LENGTH] = "mm, cm, m, km, in, ft, mi",
    [TA_AREA] = "m2, ft2",
    [TA_VOLUME] = "m3, cc, l, cu in",
    [TA_MASS] = "kg, lb",
    [TA_DENSITY] = "kg/m3, lb/ft3",
    [TA_MASS_FLOW] = "kg/s, g/s, kg/min, kg/h, lb/min, lb/s",
    [TA_VOLUME_FLOW] = "m3/s, m3/min, cfm",
    [TA_ROTATION] = "rpm, Hz, kHz",
    [TA_POWER] = "W, kW, hp, PS",
    [TA_SPECIFIC_CONSUMPTION] = "g/kWh, lb/hp/h",
    [TA_SPEED] = "m/s, km/h, mph",
    [TA_TIME] = "ms, s, min",
    [TA_ANGLE] = "deg",
};
_Static_assert(sizeof taken / sizeof taken[0] == TA_KIND_COUNT, "one row per kind");

/* All exact by definition. */
#define G0 9.80665       /* m/s2 */
#define POUND 0.45359237 /* kg */
#define INCH 0.0254      /* m */
#define FOOT 0.3048      /* m */
#define MILE 1609.344    /* m */
#define CUBIC_INCH (INCH * INCH * INCH)
#define SQUARE_FOOT (FOOT * FOOT)
#define CUBIC_FOOT (FOOT * FOOT * FOOT)
#define PSI (POUND * G0 / (INCH * INCH))
#define MMHG (13595.1 * G0 * 1e-3)           /* conventional mercury, 13595.1 kg/m3 */
#define INHG (13595.1 * G0 * INCH)           /* the same */
#define INH2O (1000 * G0 * INCH)             /* conventional water, 1000 kg/m3 */
#define HORSEPOWER (550 * FOOT * POUND * G0) /* mechanical, 550 ft lbf/s */
#define METRIC_HORSEPOWER (75 * G0)          /* 75 kgf m/s */
#define RANKINE (5.0 / 9.0)                  /* K, one degree */
#define PI 3.14159265358979323846

#define ROW(name, kind, factor) \
  { name, kind, factor, 0 }
#define PRESSURE_ROWS(kind)                                                                \
  ROW("Pa", kind, 1), ROW("hPa", kind, 1e2), ROW("kPa", kind, 1e3), ROW("MPa", kind, 1e6), \
      ROW("mbar", kind, 1e2), ROW("bar", kind, 1e5), ROW("psi", kind, PSI),                \
      ROW("inHg", kind, INHG), ROW("mmHg", kind, MMHG), ROW("inH2O", kind, INH2O),         \
      ROW("atm", kind, 101325)

/* In the order in which people are told of them.  "1" is the unit of a bare number. */
static const ta_unit units[] = {
    {"1", TA_NUMBER, 1, 0},
    {"1", TA_RATIO, 1, 0},
    {"%", TA_RATIO, 1e-2, 0},
    PRESSURE_ROWS(TA_PRESSURE),
    {"psia", TA_PRESSURE, PSI, 0},
    PRESSURE_ROWS(TA_GAUGE_PRESSURE),
    {"psig", TA_GAUGE_PRESSURE, PSI, 0},
    PRESSURE_ROWS(TA_PRESSURE_DIFFERENCE),
    {"K", TA_TEMPERATURE, 1, 0},
    {"degC", TA_TEMPERATURE, 1, 273.15},
    {"degF", TA_TEMPERATURE, RANKINE, 459.67 * RANKINE},
    {"K", TA_TEMPERATURE_DIFFERENCE, 1, 0},
    {"degC", TA_TEMPERATURE_DIFFERENCE, 1, 0},
    {"degF", TA_TEMPERATURE_DIFFERENCE, RANKINE, 0},
    {"K/km", TA_LAPSE_RATE, 1e-3, 0},
    {"degC/km", TA_LAPSE_RATE, 1e-3, 0},
    {"mm", TA_LENGTH, 1e-3, 0},
    {"cm", TA_LENGTH, 1e-2, 0},
    {"m", TA_LENGTH, 1, 0},
    {"km", TA_LENGTH, 1e3, 0},
    {"in", TA_LENGTH, INCH, 0},
    {"ft", TA_LENGTH, FOOT, 0},
    {"mi", TA_LENGTH, MILE, 0},
    {"m2", TA_AREA, 1, 0},
    {"ft2", TA_AREA, SQUARE_FOOT, 0},
    {"m3", TA_VOLUME, 1, 0},
    {"cc", TA_VOLUME, 1e-6, 0},
    {"l", TA_VOLUME, 1e-3, 0},
    {"cu in", TA_VOLUME, CUBIC_INCH, 0},
    {"kg", TA_MASS, 1, 0},
    {"lb", TA_MASS, POUND, 0},
    {"kg/m3", TA_DENSITY, 1, 0},
    {"lb/ft3", TA_DENSITY, POUND / CUBIC_FOOT, 0},
    {"kg/s", TA_MASS_FLOW, 1, 0},
    {"g/s", TA_MASS_FLOW, 1e-3, 0},
    {"kg/min", TA_MASS_FLOW, 1.0 / 60, 0},
    {"kg/h", TA_MASS_FLOW, 1.0 / 3600, 0},
    {"lb/min", TA_MASS_FLOW, POUND / 60, 0},
    {"lb/s", TA_MASS_FLOW, POUND, 0},
    {"m3/s", TA_VOLUME_FLOW, 1, 0},
    {"m3/min", TA_VOLUME_FLOW, 1.0 / 60, 0},
    {"cfm", TA_VOLUME_FLOW, CUBIC_FOOT / 60, 0},
    {"rpm", TA_ROTATION, 1, 0},
    {"Hz", TA_ROTATION, 60, 0},
    {"kHz", TA_ROTATION, 60e3, 0},
    {"W", TA_POWER, 1, 0},
    {"kW", TA_POWER, 1e3, 0},
    {"hp", TA_POWER, HORSEPOWER, 0},
    {"PS", TA_POWER, METRIC_HORSEPOWER, 0},
    {"g/kWh", TA_SPECIFIC_CONSUMPTION, 1e-3 / 3.6e6, 0},
    {"lb/hp/h", TA_SPECIFIC_CONSUMPTION, POUND / (HORSEPOWER * 3600), 0},
    {"m/s", TA_SPEED, 1, 0},
    {"km/h", TA_SPEED, 1 / 3.6, 0},
    {"mph", TA_SPEED, MILE / 3600, 0},
    {"ms", TA_TIME, 1e-3, 0},
    {"s", TA_TIME, 1, 0},
    {"min", TA_TIME, 60, 0},
    {"deg", TA_ANGLE, PI / 180, 0},
};
enum { UNITS = sizeof units / sizeof units[0] };

const char *ta_kind_name(ta_kind kind) {
  return (unsigned)kind < TA_KIND_COUNT ? names[kind] : "?";
}

const char *ta_kind_units(ta_kind kind) {
  return (unsigned)kind < TA_KIND_COUNT ? taken[kind] : "?";
}

const ta_unit *ta_units(size_t *count) {
  if (count != NULL) *count = UNITS;
  return units;
}

static char lower(char c) {
  return (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

static bool is_name(const ta_unit *unit, const char *name, size_t length, bool any_case) {
  if (strlen(unit->name) != length) return false;
  for (size_t i = 0; i < length; i++) {
    const char a = unit->name[i], b = name[i];
    if (a != b && !(any_case && lower(a) == lower(b))) return false;
  }
  return true;
}

static const ta_unit *find(ta_kind kind, const char *name, size_t length, bool any_case) {
  for (size_t i = 0; i < UNITS; i++)
    if (units[i].kind == kind && is_name(&units[i], name, length, any_case)) return &units[i];
  return NULL;
}

const ta_unit *ta_unit_find(ta_kind kind, const char *name, size_t length) {
  return name == NULL ? NULL : find(kind, name, length, false);
}

/* Two statements, since C11 lets one expression be fused: -459.67 degF is 0 K to the last bit. */
double ta_to_si(const ta_unit *unit, double value) {
  const double scaled = unit->factor * value;
  return scaled + unit->offset;
}

double ta_from_si(const ta_unit *unit, double si) {
  return (si - unit->offset) / unit->factor;
}

static bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/* Half way between two doubles has at most 768 digits; whatever follows matters only by being
 * there, so one more digit stands for it and the result is rounded right at any length. */
enum { DIGITS_KEPT = 768, EXPONENT_MAX = 1000000000 };

/* A power of ten as in "e-3"; 0, and *text left alone, when none stands there. */
static long long read_exponent(const char **text) {
  const char *p = *text;
  if (*p != 'e' && *p != 'E') return 0;
  const bool negative = *++p == '-';
  if (*p == '-' || *p == '+') p++;
  if (!is_digit(*p)) return 0;
  long long exponent = 0;
  for (; is_digit(*p); p++)
    if (exponent < EXPONENT_MAX) exponent = 10 * exponent + (*p - '0');
  *text = p;
  return negative ? -exponent : exponent;
}

/* strtod takes the host program's decimal mark, so it is given none: "12.5e3" goes in as "125e2".
 */
ta_status ta_number_parse(const char *text, double *number, const char **rest) {
  if (text == NULL || number == NULL || rest == NULL) return TA_ERR_ARGUMENT;
  char plain[1 + DIGITS_KEPT + 1 + sizeof "e-9223372036854775808"];
  size_t n = 0, kept = 0;
  const char *p = text;
  if (*p == '-' || *p == '+') plain[n++] = *p++;
  if (p[0] == '0' && lower(p[1]) == 'x') return TA_ERR_ARGUMENT;

  bool any = false, mark = false, more = false;
  long long power = 0;
  for (; is_digit(*p) || (*p == '.' && !mark); p++) {
    if (*p == '.') {
      mark = true;
      continue;
    }
    any = true;
    if (mark) power--;
    if (kept == 0 && *p == '0') continue; /* leading zeros say nothing */
    if (kept < DIGITS_KEPT) {
      plain[n++] = *p;
      kept++;
    } else {
      more = more || *p != '0';
      power++;
    }
  }
  if (!any) return TA_ERR_ARGUMENT;
  if (kept == 0) plain[n++] = '0';
  if (more) {
    plain[n++] = '1';
    power--;
  }
  power += read_exponent(&p);
  (void)snprintf(plain + n, sizeof plain - n, "e%lld", power);
  const double value = strtod(plain, NULL);
  if (!isfinite(value)) return TA_ERR_DOMAIN;
  *number = value;
  *rest = p;
  return TA_OK;
}

static bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

static const char *skip_blanks(const char *text) {
  while (is_blank(*text)) text++;
  return text;
}

static ta_status refuse(ta_status status, char *why, size_t why_size, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

static ta_status refuse(ta_status status, char *why, size_t why_size, const char *format, ...) {
  if (why == NULL) return status;
  va_list args;
  va_start(args, format);
  (void)vsnprintf(why, why_size, format, args);
  va_end(args);
  return status;
}

enum { SHOWN_MAX = 40 };

/* What was typed, fit to be printed: shortened, and "?" for each byte that is not plain ASCII. */
typedef struct {
  char text[SHOWN_MAX + sizeof "..."];
} shown;

static shown show(const char *text) {
  shown s = {""};
  size_t n = 0;
  for (; n < SHOWN_MAX && text[n] != '\0'; n++)
    s.text[n] = (char)(text[n] >= ' ' && text[n] <= '~' ? text[n] : '?');
  if (text[n] != '\0') memcpy(s.text + n, "...", sizeof "...");
  return s;
}

static const char *article(const char *noun) {
  return strchr("aeiou", noun[0]) != NULL ? "an" : "a";
}

/* What a unit measures, in words; NULL when no kind has it. */
static const char *measures(const char *name, size_t length) {
  if (ta_unit_find(TA_PRESSURE_DIFFERENCE, name, length) != NULL) return "pressure"; /* any */
  for (size_t i = 0; i < UNITS; i++)
    if (is_name(&units[i], name, length, false)) return names[units[i].kind];
  return NULL;
}

/* Why text, which holds a number and this name, is no quantity of the kind. */
static ta_status refuse_unit(const char *text, const char *name, size_t length, ta_kind kind,
                             char *why, size_t why_size) {
  const shown found = show(text);
  const char *const wanted = names[kind], *const list = taken[kind];
  if (length == 0)
    return refuse(TA_ERR_ARGUMENT, why, why_size, "\"%s\" has no unit; %s %s takes %s", found.text,
                  article(wanted), wanted, list);
  const char *const other = measures(name, length);
  if (other != NULL)
    return refuse(TA_ERR_ARGUMENT, why, why_size, "\"%s\" is %s %s, not %s %s; taken: %s",
                  found.text, article(other), other, article(wanted), wanted, list);
  const ta_unit *const meant = find(kind, name, length, true);
  if (meant != NULL)
    return refuse(TA_ERR_ARGUMENT, why, why_size,
                  "\"%s\" has an unknown unit (did you mean %s?); taken: %s", found.text,
                  meant->name, list);
  return refuse(TA_ERR_ARGUMENT, why, why_size, "\"%s\" has an unknown unit; taken: %s", found.text,
                list);
}

ta_status ta_quantity_parse(const char *text, ta_kind kind, double *si, char *why,
                            size_t why_size) {
  if (text == NULL || si == NULL || (unsigned)kind >= TA_KIND_COUNT)
    return refuse(TA_ERR_ARGUMENT, why, why_size, "no text, no kind or no place for the result");

  double value = 0;
  const char *name = NULL;
  const ta_status status = ta_number_parse(skip_blanks(text), &value, &name);
  if (status == TA_ERR_DOMAIN)
    return refuse(status, why, why_size, "\"%s\" is too large to be held", show(text).text);
  if (status != TA_OK)
    return refuse(status, why, why_size,
                  "\"%s\" does not begin with a plain number such as 12.5; taken: %s",
                  show(text).text, taken[kind]);

  name = skip_blanks(name);
  size_t length = strlen(name);
  while (length > 0 && is_blank(name[length - 1])) length--;
  if (length > 0 && strchr("0123456789.,'+-", name[0]) != NULL)
    return refuse(TA_ERR_ARGUMENT, why, why_size,
                  "\"%s\" is not one plain number: write a point for the decimal mark and nothing "
                  "between thousands; taken: %s",
                  show(text).text, taken[kind]);

  const ta_unit *const unit =
      length > 0 ? ta_unit_find(kind, name, length) : ta_unit_find(kind, "1", 1);
  if (unit == NULL) return refuse_unit(text, name, length, kind, why, why_size);

  const double converted = ta_to_si(unit, value);
  if (!isfinite(converted))
    return refuse(TA_ERR_DOMAIN, why, why_size, "\"%s\" is too large to be held", show(text).text);
  if (kind == TA_TEMPERATURE && converted < 0)
    return refuse(TA_ERR_DOMAIN, why, why_size, "\"%s\" lies below absolute zero", show(text).text);
  if (kind == TA_PRESSURE && converted < 0)
    return refuse(TA_ERR_DOMAIN, why, why_size,
                  "\"%s\" is below zero, and an absolute pressure is wanted", show(text).text);
  *si = converted;
  return TA_OK;
}
