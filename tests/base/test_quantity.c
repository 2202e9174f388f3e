/* test_quantity.c - the unit table and the reading of quantities.
 *
 * Oracle     UDUNITS-2 for every row of the table; the C library's strtod, in the C locale, for
 *            the numbers.
 * Published  NIST SP 811 (2008), Appendix B.8, figures from memory. */
#define _POSIX_C_SOURCE 200809L /* mkdtemp, setenv */
#include "thinair/quantity.h"

#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include <udunits2.h>

#include "test.h"

enum { LONG = 10000 };
static const double UNTOUCHED = -7.25e77;

/* ---- the table --------------------------------------------------------- */

/* The SI unit of a kind as UDUNITS spells it.  A revolution is 2 pi there, as it should. */
static const char *si_spelling(ta_kind kind) {
  static const char *const si[] = {
#define X(symbol, name, unit) [symbol] = (unit),
      TA_KIND_ROWS(X)
#undef X
  };
  return kind == TA_ROTATION ? "revolution/minute" : si[kind];
}

/* Our names in UDUNITS' spelling, which reads "mph" as milli-phot and "PS" as peta-siemens.
 * A difference has no zero point, which UDUNITS knows for K and degR only. */
static const struct {
  ta_kind kind;
  const char *name, *spelling;
} spelled[] = {
    {TA_NUMBER, "1", "1"},
    {TA_RATIO, "1", "1"},
    {TA_RATIO, "%", "percent"},
    {TA_PRESSURE, "Pa", "pascal"},
    {TA_PRESSURE, "hPa", "hectopascal"},
    {TA_PRESSURE, "kPa", "kilopascal"},
    {TA_PRESSURE, "MPa", "megapascal"},
    {TA_PRESSURE, "mbar", "millibar"},
    {TA_PRESSURE, "bar", "bar"},
    {TA_PRESSURE, "psi", "psi"},
    {TA_PRESSURE, "psia", "psi"},
    {TA_PRESSURE, "psig", "psi"},
    {TA_PRESSURE, "inHg", "inch_Hg"},
    {TA_PRESSURE, "mmHg", "mmHg"},
    {TA_PRESSURE, "inH2O", "inch conventional_water"},
    {TA_PRESSURE, "atm", "standard_atmosphere"},
    {TA_TEMPERATURE, "K", "kelvin"},
    {TA_TEMPERATURE, "degC", "degree_Celsius"},
    {TA_TEMPERATURE, "degF", "degree_Fahrenheit"},
    {TA_TEMPERATURE_DIFFERENCE, "K", "kelvin"},
    {TA_TEMPERATURE_DIFFERENCE, "degC", "kelvin"},
    {TA_TEMPERATURE_DIFFERENCE, "degF", "degree_rankine"},
    {TA_LAPSE_RATE, "K/km", "kelvin/kilometer"},
    {TA_LAPSE_RATE, "degC/km", "kelvin/kilometer"},
    {TA_LENGTH, "mm", "millimeter"},
    {TA_LENGTH, "cm", "centimeter"},
    {TA_LENGTH, "m", "meter"},
    {TA_LENGTH, "km", "kilometer"},
    {TA_LENGTH, "in", "international_inch"},
    {TA_LENGTH, "ft", "international_foot"},
    {TA_LENGTH, "mi", "international_mile"},
    {TA_AREA, "m2", "meter^2"},
    {TA_AREA, "ft2", "international_foot^2"},
    {TA_VOLUME, "m3", "meter^3"},
    {TA_VOLUME, "cc", "centimeter^3"},
    {TA_VOLUME, "l", "litre"},
    {TA_VOLUME, "cu in", "international_inch^3"},
    {TA_MASS, "kg", "kilogram"},
    {TA_MASS, "lb", "pound"},
    {TA_DENSITY, "kg/m3", "kilogram/meter^3"},
    {TA_DENSITY, "lb/ft3", "pound/international_foot^3"},
    {TA_MASS_FLOW, "kg/s", "kilogram/second"},
    {TA_MASS_FLOW, "g/s", "gram/second"},
    {TA_MASS_FLOW, "kg/min", "kilogram/minute"},
    {TA_MASS_FLOW, "kg/h", "kilogram/hour"},
    {TA_MASS_FLOW, "lb/min", "pound/minute"},
    {TA_MASS_FLOW, "lb/s", "pound/second"},
    {TA_VOLUME_FLOW, "m3/s", "meter^3/second"},
    {TA_VOLUME_FLOW, "m3/min", "meter^3/minute"},
    {TA_VOLUME_FLOW, "cfm", "international_foot^3/minute"},
    {TA_ROTATION, "rpm", "revolution/minute"},
    {TA_ROTATION, "Hz", "revolution/second"},
    {TA_ROTATION, "kHz", "1000 revolution/second"},
    {TA_POWER, "W", "watt"},
    {TA_POWER, "kW", "kilowatt"},
    {TA_POWER, "hp", "550 international_foot.pound_force/second"},
    {TA_POWER, "PS", "75 kilogram_force.meter/second"},
    {TA_SPECIFIC_CONSUMPTION, "g/kWh", "gram/(kilowatt.hour)"},
    {TA_SPECIFIC_CONSUMPTION, "lb/hp/h", "pound/(550 international_foot.pound_force/second)/hour"},
    {TA_SPEED, "m/s", "meter/second"},
    {TA_SPEED, "km/h", "kilometer/hour"},
    {TA_SPEED, "mph", "international_mile/hour"},
    {TA_TIME, "ms", "millisecond"},
    {TA_TIME, "s", "second"},
    {TA_TIME, "min", "minute"},
    {TA_ANGLE, "deg", "arc_degree"},
};

static const char *spelling(const ta_unit *unit) {
  const bool pressure = unit->kind == TA_GAUGE_PRESSURE || unit->kind == TA_PRESSURE_DIFFERENCE;
  const ta_kind kind = pressure ? TA_PRESSURE : unit->kind;
  for (size_t i = 0; i < COUNT_OF(spelled); i++)
    if (spelled[i].kind == kind && strcmp(spelled[i].name, unit->name) == 0)
      return spelled[i].spelling;
  return NULL;
}

/* Tolerance: a handful of roundings, theirs and ours; back the same way too. */
static int off_udunits(ut_system *system, const ta_unit *unit) {
  const char *const theirs = spelling(unit);
  if (theirs == NULL) {
    print_error("%s: not in the list of spellings\n", unit->name);
    return 1;
  }
  ut_unit *const from = ut_parse(system, theirs, UT_ASCII);
  ut_unit *const to = ut_parse(system, si_spelling(unit->kind), UT_ASCII);
  cv_converter *const converter = from && to ? ut_get_converter(from, to) : NULL;
  int bad = 0;
  if (converter == NULL) {
    print_error("%s: UDUNITS cannot convert %s to %s\n", unit->name, theirs,
                si_spelling(unit->kind));
    bad = 1;
  } else {
    static const double values[] = {0.0, 0.37, 29.92, 431.7, 155320.0};
    for (size_t i = 0; i < COUNT_OF(values); i++) {
      const double want = cv_convert_double(converter, values[i]);
      bad += off_rel(unit->name, theirs, ta_to_si(unit, values[i]), want, 2e-15);
      const double zero_point = fabs(unit->offset / unit->factor); /* back goes through it */
      bad += off(unit->name, "back", ta_from_si(unit, want), values[i],
                 1e-15 * (values[i] + zero_point));
    }
    cv_free(converter);
  }
  ut_free(from);
  ut_free(to);
  return bad;
}

static void every_unit_agrees_with_udunits(void **state) {
  (void)state;
  (void)ut_set_error_message_handler(ut_ignore);
  ut_system *const system = ut_read_xml(NULL);
  assert_non_null(system);
  size_t count = 0;
  const ta_unit *const units = ta_units(&count);
  assert_true(count >= COUNT_OF(spelled));
  int bad = 0;
  for (size_t i = 0; i < count; i++) bad += off_udunits(system, &units[i]);
  ut_free_system(system);
  assert_int_equal(bad, 0);
}

/* Source     NIST SP 811 (2008), Appendix B.8, from memory; "exact" is bold type there.
 * Tolerance  Half a unit of the last digit printed; a part in 1e15 where exact. */
static void published_factors(void **state) {
  (void)state;
  static const struct {
    const char *text;
    ta_kind kind;
    double want, tolerance;
  } rows[] = {
      {"1 atm", TA_PRESSURE, 1.01325e5, 0},
      {"1 bar", TA_PRESSURE, 1e5, 0},
      {"1 mbar", TA_PRESSURE, 1e2, 0},
      {"1 psi", TA_PRESSURE, 6.894757e3, 0.5e-3},
      {"1 psia", TA_PRESSURE, 6.894757e3, 0.5e-3},
      {"1 psig", TA_GAUGE_PRESSURE, 6.894757e3, 0.5e-3},
      {"1 inHg", TA_PRESSURE, 3.386389e3, 0.5e-3},
      {"1 mmHg", TA_PRESSURE, 1.333224e2, 0.5e-4},
      {"1 inH2O", TA_PRESSURE_DIFFERENCE, 2.490889e2, 0.5e-4},
      {"32 degF", TA_TEMPERATURE, 273.15, 1e-13},
      {"212 degF", TA_TEMPERATURE, 373.15, 1e-13},
      {"68 degF", TA_TEMPERATURE, 293.15, 1e-13},
      {"-40 degF", TA_TEMPERATURE, 233.15, 1e-13},
      {"-40 degC", TA_TEMPERATURE, 233.15, 1e-13},
      {"1 degF", TA_TEMPERATURE_DIFFERENCE, 5.555556e-1, 0.5e-7},
      {"1 degC", TA_TEMPERATURE_DIFFERENCE, 1, 0},
      {"1 in", TA_LENGTH, 2.54e-2, 0},
      {"1 ft", TA_LENGTH, 3.048e-1, 0},
      {"1 mi", TA_LENGTH, 1.609344e3, 0},
      {"1 ft2", TA_AREA, 9.290304e-2, 1e-16},
      {"1 cu in", TA_VOLUME, 1.638706e-5, 0.5e-11},
      {"1 l", TA_VOLUME, 1e-3, 0},
      {"1 lb", TA_MASS, 4.535924e-1, 0.5e-7},
      {"1 lb/ft3", TA_DENSITY, 1.601846e1, 0.5e-5},
      {"1 lb/min", TA_MASS_FLOW, 7.559873e-3, 0.5e-9},
      {"1 lb/s", TA_MASS_FLOW, 4.535924e-1, 0.5e-7},
      {"1 cfm", TA_VOLUME_FLOW, 4.719474e-4, 0.5e-10},
      {"1 hp", TA_POWER, 7.456999e2, 0.5e-4},
      {"1 PS", TA_POWER, 7.354988e2, 0.5e-4},
      {"1 lb/hp/h", TA_SPECIFIC_CONSUMPTION, 1.689659e-7, 0.5e-13},
      {"1 km/h", TA_SPEED, 2.777778e-1, 0.5e-7},
      {"1 mph", TA_SPEED, 4.4704e-1, 1e-16},
      {"1 min", TA_TIME, 60, 0},
      {"1 deg", TA_ANGLE, 1.745329e-2, 0.5e-8},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    double si = UNTOUCHED;
    assert_int_equal(ta_quantity_parse(rows[i].text, rows[i].kind, &si, NULL, 0), TA_OK);
    bad += off(rows[i].text, ta_kind_name(rows[i].kind), si, rows[i].want, rows[i].tolerance);
  }
  assert_int_equal(bad, 0);
}

static double read(const char *text, ta_kind kind) {
  double si = (double)NAN;
  char why[400] = "";
  if (ta_quantity_parse(text, kind, &si, why, sizeof why) != TA_OK) fail_msg("%s", why);
  return si;
}

/* Common practice: a gauge on the dash and the day's barometer add up to MAP. */
static void map_is_boost_and_ambient(void **state) {
  (void)state;
  int bad = off("10 psi at 14.7 psi", "MAP",
                read("10 psi", TA_GAUGE_PRESSURE) + read("14.7 psi", TA_PRESSURE),
                read("24.7 psia", TA_PRESSURE), 1e-10);
  bad += off("1.35 bar at 853 hPa", "MAP",
             read("1.35 bar", TA_GAUGE_PRESSURE) + read("853 hPa", TA_PRESSURE), 220300, 1e-10);
  /* Common practice: 29.92 inHg is the standard altimeter setting, 1013.2 hPa. */
  bad += off("29.92 inHg", "QNH", read("29.92 inHg", TA_PRESSURE), 101320, 5);
  /* Common practice: a turbo's speed sensor at 2.5 kHz, one pulse a turn, is 150 000 rpm. */
  bad += off("2.5 kHz", "speed", read("2.5 kHz", TA_ROTATION), 150000, 0);
  bad += off("6.5 degC/km", "lapse", read("6.5 degC/km", TA_LAPSE_RATE), 0.0065, 1e-17);
  bad += off("310 g/kWh", "fuel for 1 kW h [kg]",
             read("310 g/kWh", TA_SPECIFIC_CONSUMPTION) * 3.6e6, 0.310, 1e-15);
  assert_int_equal(bad, 0);
}

static int letter(char c) {
  return c >= 'A' && c <= 'Z' ? c + 32 : c;
}

static bool same_but_for_case(const char *a, const char *b) {
  while (*a != '\0' && letter(*a) == letter(*b)) a++, b++;
  return *a == *b;
}

/* The list for people is the table, joined; a hint about case has one meaning only. */
static void units_in_words_are_the_table(void **state) {
  (void)state;
  size_t count = 0;
  const ta_unit *const units = ta_units(&count);
  for (int k = 0; k < TA_KIND_COUNT; k++) {
    const ta_kind kind = (ta_kind)k;
    char words[400] = "";
    for (size_t i = 0; i < count; i++) {
      if (units[i].kind != kind) continue;
      const bool bare = strcmp(units[i].name, "1") == 0;
      const char *const link = words[0] == '\0' ? "" : kind == TA_RATIO ? " or " : ", ";
      const size_t n = strlen(words);
      (void)snprintf(words + n, sizeof words - n, "%s%s", link,
                     bare ? "a bare number" : units[i].name);
      assert_ptr_equal(ta_unit_find(kind, units[i].name, strlen(units[i].name)), &units[i]);
      assert_true(isfinite(units[i].factor) && units[i].factor > 0);
      for (size_t j = 0; j < i; j++)
        if (units[j].kind == kind) assert_false(same_but_for_case(units[i].name, units[j].name));
    }
    assert_string_equal(ta_kind_units(kind), words);
  }
}

static void kinds_have_names(void **state) {
  (void)state;
#define X(symbol, words, si) assert_string_equal(ta_kind_name(symbol), words);
  TA_KIND_ROWS(X)
#undef X
  assert_string_equal(ta_kind_name(TA_KIND_COUNT), "?");
  assert_string_equal(ta_kind_name((ta_kind)-1), "?");
  assert_string_equal(ta_kind_units(TA_KIND_COUNT), "?");
  assert_string_equal(ta_kind_units((ta_kind)-1), "?");
}

static void units_are_found_by_kind_name_and_length(void **state) {
  (void)state;
  assert_string_equal(ta_unit_find(TA_LENGTH, "mm (bore)", 2)->name, "mm");
  assert_string_equal(ta_unit_find(TA_LENGTH, "mm (bore)", 1)->name, "m");
  assert_null(ta_unit_find(TA_LENGTH, "mm (bore)", 3));
  assert_null(ta_unit_find(TA_LENGTH, "mm", 0));
  assert_null(ta_unit_find(TA_LENGTH, "MM", 2));
  assert_null(ta_unit_find(TA_LENGTH, NULL, 0));
  assert_null(ta_unit_find(TA_LENGTH, "psi", 3));
  assert_null(ta_unit_find(TA_KIND_COUNT, "psi", 3));
  assert_null(ta_unit_find(TA_GAUGE_PRESSURE, "psia", 4));
  assert_null(ta_unit_find(TA_PRESSURE, "psig", 4));
  assert_null(ta_unit_find(TA_PRESSURE_DIFFERENCE, "psia", 4));
  assert_null(ta_unit_find(TA_PRESSURE_DIFFERENCE, "psig", 4));
  assert_true(isnan(ta_to_si(ta_unit_find(TA_TEMPERATURE, "degF", 4), (double)NAN)));
}

/* ---- numbers ----------------------------------------------------------- */

static void numbers_are_read_up_to_their_end(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double want;
    size_t used;
  } rows[] = {
      {"-12", -12, 3},
      {"+12", 12, 3},
      {"0.30", 0.30, 4},
      {"1e-3", 1e-3, 4},
      {"1E+3psi", 1e3, 4},
      {".5", 0.5, 2},
      {"5.", 5, 2},
      {"5.e1", 50, 4},
      {"1e", 1, 1},
      {"1e+", 1, 1},
      {"1e5.5", 1e5, 3},
      {"1.2.3", 1.2, 3},
      {"1,5", 1, 1},
      {"12 34", 12, 2},
      {"007", 7, 3},
      {"0e999", 0, 5},
      {"-0.0", 0, 4},
      {"1e-999", 0, 6},
      {"4.9406564584124654e-324", 4.9406564584124654e-324, 23},
      {"1.7976931348623157e308", 1.7976931348623157e308, 22},
      {"1e00000000000000000000000000003", 1e3, 31},
      {"0.0000000000000000000000000001e28", 1, 33},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    double number = UNTOUCHED;
    const char *rest = NULL;
    assert_int_equal(ta_number_parse(rows[i].text, &number, &rest), TA_OK);
    bad += off(rows[i].text, "number", number, rows[i].want, 0);
    bad += off(rows[i].text, "bytes", (double)(rest - rows[i].text), (double)rows[i].used, 0);
  }
  assert_int_equal(bad, 0);
}

static void what_is_no_number_is_refused(void **state) {
  (void)state;
  static const struct {
    const char *text;
    ta_status want;
  } rows[] = {
      {"", TA_ERR_ARGUMENT},      {"-", TA_ERR_ARGUMENT},
      {"+", TA_ERR_ARGUMENT},     {".", TA_ERR_ARGUMENT},
      {"-.", TA_ERR_ARGUMENT},    {".e5", TA_ERR_ARGUMENT},
      {"e5", TA_ERR_ARGUMENT},    {"--1", TA_ERR_ARGUMENT},
      {" 1", TA_ERR_ARGUMENT},    {"psi", TA_ERR_ARGUMENT},
      {"nan", TA_ERR_ARGUMENT},   {"-NAN(1)", TA_ERR_ARGUMENT},
      {"inf", TA_ERR_ARGUMENT},   {"Infinity", TA_ERR_ARGUMENT},
      {"0x10", TA_ERR_ARGUMENT},  {"-0X1p3", TA_ERR_ARGUMENT},
      {",5", TA_ERR_ARGUMENT},    {"1e999", TA_ERR_DOMAIN},
      {"-1e309", TA_ERR_DOMAIN},  {"1e99999999999999999999", TA_ERR_DOMAIN},
      {"1.8e308", TA_ERR_DOMAIN},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    double number = UNTOUCHED;
    const char *rest = "as it was";
    const ta_status got = ta_number_parse(rows[i].text, &number, &rest);
    if (got != rows[i].want) fail_msg("\"%s\": got %s", rows[i].text, ta_status_name(got));
    assert_true(number == UNTOUCHED);
    assert_string_equal(rest, "as it was");
  }
  double number = UNTOUCHED;
  const char *rest = NULL;
  assert_int_equal(ta_number_parse(NULL, &number, &rest), TA_ERR_ARGUMENT);
  assert_int_equal(ta_number_parse("1", NULL, &rest), TA_ERR_ARGUMENT);
  assert_int_equal(ta_number_parse("1", &number, NULL), TA_ERR_ARGUMENT);
  assert_null(rest);
  assert_true(number == UNTOUCHED);
}

static double number_in(const char *text) {
  double number = (double)NAN;
  const char *rest = NULL;
  assert_int_equal(ta_number_parse(text, &number, &rest), TA_OK);
  assert_string_equal(rest, "");
  return number;
}

/* 1 + 2^-53 lies half way between 1 and the next double and rounds to even, down; any digit more,
 * however far out, and it must round up. */
#define HALF_WAY "1.00000000000000011102230246251565404236316680908203125"

static void long_numbers_are_rounded_right(void **state) {
  (void)state;
  static char text[LONG + 32];
  assert_true(number_in(HALF_WAY) == 1.0);
  for (size_t zeros = 0; zeros < LONG - 100; zeros = 2 * zeros + 1) {
    (void)snprintf(text, sizeof text, "%s%0*d", HALF_WAY, (int)zeros + 1, 0);
    assert_true(number_in(text) == 1.0);
    (void)snprintf(text, sizeof text, "%s%0*d", HALF_WAY, (int)zeros + 1, 1);
    assert_true(number_in(text) == 1.0 + 0x1p-52);
  }
  /* The half way with the most digits, 768, lies below 2^-1021 and rounds to even, up. */
  const long double longest = 0x1p-1021L - 0x1p-1075L;
  (void)snprintf(text, sizeof text, "%.767Le", longest);
  assert_int_equal(text[1 + 767], '5');
  assert_true(number_in(text) == 0x1p-1021);
  text[1 + 767] = '4';
  assert_true(number_in(text) == 0x1p-1021 - 0x1p-1074);

  memset(text, '3', LONG);
  text[LONG] = '\0';
  memcpy(text, "0.", 2);
  assert_true(number_in(text) == 1.0 / 3.0);
  text[1] = '3'; /* 10,000 digits before the mark */
  double number = UNTOUCHED;
  const char *rest = NULL;
  assert_int_equal(ta_number_parse(text, &number, &rest), TA_ERR_DOMAIN);
  memcpy(text + LONG, "e-9999", sizeof "e-9999"); /* the first is a zero */
  assert_true(number_in(text) == 1.0 / 3.0);
  (void)snprintf(text, sizeof text, "0.%0*de10000", LONG, 7);
  assert_true(number_in(text) == 7.0);
}

/* A fixed sequence (Knuth's MMIX generator), so that a failure can be repeated. */
static unsigned next_random(uint64_t *seed, unsigned below) {
  *seed = *seed * 6364136223846793005u + 1442695040888963407u;
  return (unsigned)(*seed >> 33) % below;
}

/* In the C locale strtod reads the same grammar, hexadecimal and words apart. */
static void numbers_agree_with_the_c_library(void **state) {
  (void)state;
  static const char alphabet[] = "0123456789012345678900000..eE-+ ,";
  uint64_t seed = 20111;
  int read_well = 0;
  for (int i = 0; i < 200000; i++) {
    char text[64];
    const unsigned length = 1 + next_random(&seed, 30);
    for (unsigned j = 0; j < length; j++)
      text[j] = alphabet[next_random(&seed, sizeof alphabet - 1)];
    text[length] = '\0';
    if (text[0] == ' ') continue; /* strtod skips them */
    char *end = NULL;
    const double want = strtod(text, &end);
    double number = UNTOUCHED;
    const char *rest = text;
    const ta_status status = ta_number_parse(text, &number, &rest);
    if (end == text || !isfinite(want)) {
      if (status != (end == text ? TA_ERR_ARGUMENT : TA_ERR_DOMAIN)) fail_msg("\"%s\"", text);
      continue;
    }
    if (status != TA_OK || number != want || signbit(number) != signbit(want) || rest != end)
      fail_msg("\"%s\": %.17g, want %.17g", text, number, want);
    read_well++;
  }
  assert_true(read_well > 100000);
}

/* ---- quantities -------------------------------------------------------- */

static void quantities_are_read_as_typed(void **state) {
  (void)state;
  static const struct {
    const char *text;
    ta_kind kind;
    double want;
  } rows[] = {
      {"1.6bar", TA_GAUGE_PRESSURE, 1.6e5},
      {"1.6 bar", TA_GAUGE_PRESSURE, 1.6e5},
      {" 1.6  bar ", TA_GAUGE_PRESSURE, 1.6e5},
      {"\t1.6\tbar\t", TA_GAUGE_PRESSURE, 1.6e5},
      {"-0.2 bar", TA_GAUGE_PRESSURE, -0.2e5},
      {"-2 kPa", TA_PRESSURE_DIFFERENCE, -2e3},
      {"0 Pa", TA_PRESSURE, 0},
      {"4 %", TA_RATIO, 0.04},
      {"4%", TA_RATIO, 0.04},
      {"0.04", TA_RATIO, 0.04},
      {"-12.5", TA_NUMBER, -12.5},
      {" 11.8 ", TA_NUMBER, 11.8},
      {"14110 ft", TA_LENGTH, 14110 * 0.3048},
      {"-200 m", TA_LENGTH, -200},
      {"122 cu in", TA_VOLUME, 122 * 1.6387064e-5},
      {"122cu in", TA_VOLUME, 122 * 1.6387064e-5},
      {"1e5 rpm", TA_ROTATION, 1e5},
      {"1.55e+5rpm", TA_ROTATION, 1.55e5},
      {"-5 K", TA_TEMPERATURE_DIFFERENCE, -5},
      {"0 K", TA_TEMPERATURE, 0},
      {"-273.15 degC", TA_TEMPERATURE, 0},
      {"-459.67 degF", TA_TEMPERATURE, 0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    double si = UNTOUCHED;
    char why[400] = "as it was";
    assert_int_equal(ta_quantity_parse(rows[i].text, rows[i].kind, &si, why, sizeof why), TA_OK);
    bad += off_rel(rows[i].text, ta_kind_name(rows[i].kind), si, rows[i].want, 4e-16);
    assert_string_equal(why, "as it was");
  }
  assert_int_equal(bad, 0);
}

#define PRESSURES "Pa, hPa, kPa, MPa, mbar, bar, psi, inHg, mmHg, inH2O, atm"
#define NOT_A_NUMBER(text) "\"" text "\" does not begin with a plain number such as 12.5; taken: "
#define NOT_PLAIN(text)                                                                            \
  "\"" text                                                                                        \
  "\" is not one plain number: write a point for the decimal mark and nothing between thousands; " \
  "taken: "

static const struct {
  const char *text;
  ta_kind kind;
  ta_status want;
  const char *why;
} refused[] = {
    {"22", TA_GAUGE_PRESSURE, TA_ERR_ARGUMENT,
     "\"22\" has no unit; a gauge pressure takes " PRESSURES ", psig"},
    {"22 ", TA_PRESSURE, TA_ERR_ARGUMENT,
     "\"22 \" has no unit; an absolute pressure takes " PRESSURES ", psia"},
    {"0", TA_LENGTH, TA_ERR_ARGUMENT,
     "\"0\" has no unit; a length takes mm, cm, m, km, in, ft, mi"},
    {"22 degC", TA_GAUGE_PRESSURE, TA_ERR_ARGUMENT,
     "\"22 degC\" is a temperature, not a gauge pressure; taken: " PRESSURES ", psig"},
    {"22 psia", TA_GAUGE_PRESSURE, TA_ERR_ARGUMENT,
     "\"22 psia\" is an absolute pressure, not a gauge pressure; taken: " PRESSURES ", psig"},
    {"22 psig", TA_PRESSURE, TA_ERR_ARGUMENT,
     "\"22 psig\" is a gauge pressure, not an absolute pressure; taken: " PRESSURES ", psia"},
    {"22 psia", TA_PRESSURE_DIFFERENCE, TA_ERR_ARGUMENT,
     "\"22 psia\" is an absolute pressure, not a pressure difference; taken: " PRESSURES},
    {"22 psi", TA_POWER, TA_ERR_ARGUMENT,
     "\"22 psi\" is a pressure, not a power; taken: W, kW, hp, PS"},
    {"5 psi", TA_NUMBER, TA_ERR_ARGUMENT,
     "\"5 psi\" is a pressure, not a number; taken: a bare number"},
    {"5 %", TA_NUMBER, TA_ERR_ARGUMENT, "\"5 %\" is a ratio, not a number; taken: a bare number"},
    {"5 K", TA_LAPSE_RATE, TA_ERR_ARGUMENT,
     "\"5 K\" is a temperature, not a lapse rate; taken: K/km, degC/km"},
    {"5 m2", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 m2\" is an area, not an angle; taken: deg"},
    {"22 KPA", TA_GAUGE_PRESSURE, TA_ERR_ARGUMENT,
     "\"22 KPA\" has an unknown unit (did you mean kPa?); taken: " PRESSURES ", psig"},
    {"40 HZ", TA_ROTATION, TA_ERR_ARGUMENT,
     "\"40 HZ\" has an unknown unit (did you mean Hz?); taken: rpm, Hz, kHz"},
    {"2 L", TA_VOLUME, TA_ERR_ARGUMENT,
     "\"2 L\" has an unknown unit (did you mean l?); taken: m3, cc, l, cu in"},
    {"2 furlong", TA_LENGTH, TA_ERR_ARGUMENT,
     "\"2 furlong\" has an unknown unit; taken: mm, cm, m, km, in, ft, mi"},
    {"20 \xc2\xb0"
     "C",
     TA_TEMPERATURE, TA_ERR_ARGUMENT, "\"20 ??C\" has an unknown unit; taken: K, degC, degF"},
    {"122 cu  in", TA_VOLUME, TA_ERR_ARGUMENT,
     "\"122 cu  in\" has an unknown unit; taken: m3, cc, l, cu in"},
    {"5 % %", TA_RATIO, TA_ERR_ARGUMENT,
     "\"5 % %\" has an unknown unit; taken: a bare number or %"},
    {"5 deg deg", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 deg deg\" has an unknown unit; taken: deg"},
    {"5 ~deg", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 ~deg\" has an unknown unit; taken: deg"},
    {"5 degx", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 degx\" has an unknown unit; taken: deg"},
    {"5 de", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 de\" has an unknown unit; taken: deg"},
    {"5 deg\n", TA_ANGLE, TA_ERR_ARGUMENT, "\"5 deg?\" has an unknown unit; taken: deg"},
    {"5\x1b[2Jdeg\x7f", TA_ANGLE, TA_ERR_ARGUMENT, "\"5?[2Jdeg?\" has an unknown unit; taken: deg"},
    {"1e", TA_NUMBER, TA_ERR_ARGUMENT, "\"1e\" has an unknown unit; taken: a bare number"},
    {"1,5 bar", TA_ANGLE, TA_ERR_ARGUMENT, NOT_PLAIN("1,5 bar") "deg"},
    {"14,110 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_PLAIN("14,110 deg") "deg"},
    {"14 110 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_PLAIN("14 110 deg") "deg"},
    {"1.2.3 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_PLAIN("1.2.3 deg") "deg"},
    {"2-3 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_PLAIN("2-3 deg") "deg"},
    {"5 1", TA_NUMBER, TA_ERR_ARGUMENT, NOT_PLAIN("5 1") "a bare number"},
    {"", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("") "deg"},
    {"  ", TA_NUMBER, TA_ERR_ARGUMENT, NOT_A_NUMBER("  ") "a bare number"},
    {"-", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("-") "deg"},
    {"- 5 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("- 5 deg") "deg"},
    {"deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("deg") "deg"},
    {"0x10", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("0x10") "deg"},
    {"nan psi", TA_PRESSURE, TA_ERR_ARGUMENT, NOT_A_NUMBER("nan psi") PRESSURES ", psia"},
    {"inf", TA_NUMBER, TA_ERR_ARGUMENT, NOT_A_NUMBER("inf") "a bare number"},
    {"\n5 deg", TA_ANGLE, TA_ERR_ARGUMENT, NOT_A_NUMBER("?5 deg") "deg"},
    {"1e999", TA_NUMBER, TA_ERR_DOMAIN, "\"1e999\" is too large to be held"},
    {"1e308 bar", TA_PRESSURE, TA_ERR_DOMAIN, "\"1e308 bar\" is too large to be held"},
    {"-1e308 bar", TA_GAUGE_PRESSURE, TA_ERR_DOMAIN, "\"-1e308 bar\" is too large to be held"},
    {"-273.16 degC", TA_TEMPERATURE, TA_ERR_DOMAIN, "\"-273.16 degC\" lies below absolute zero"},
    {"-459.68 degF", TA_TEMPERATURE, TA_ERR_DOMAIN, "\"-459.68 degF\" lies below absolute zero"},
    {"-1e-9 K", TA_TEMPERATURE, TA_ERR_DOMAIN, "\"-1e-9 K\" lies below absolute zero"},
    {"-3 psi", TA_PRESSURE, TA_ERR_DOMAIN,
     "\"-3 psi\" is below zero, and an absolute pressure is wanted"},
};

static void refusals_say_why_and_leave_the_output_alone(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(refused); i++) {
    double si = UNTOUCHED;
    char why[400] = "";
    const ta_status got = ta_quantity_parse(refused[i].text, refused[i].kind, &si, why, sizeof why);
    if (got != refused[i].want || strcmp(why, refused[i].why) != 0) {
      print_error("\"%s\": %s, %s\n  want %s\n", refused[i].text, ta_status_name(got), why,
                  refused[i].why);
      bad++;
    }
    assert_true(si == UNTOUCHED);
    assert_int_equal(ta_quantity_parse(refused[i].text, refused[i].kind, &si, NULL, sizeof why),
                     got);
  }
  assert_int_equal(bad, 0);

  double si = UNTOUCHED;
  assert_int_equal(ta_quantity_parse(NULL, TA_NUMBER, &si, NULL, 0), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quantity_parse("5", TA_NUMBER, NULL, NULL, 0), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quantity_parse("5", TA_KIND_COUNT, &si, NULL, 0), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quantity_parse("5", (ta_kind)-1, &si, NULL, 0), TA_ERR_ARGUMENT);
  assert_true(si == UNTOUCHED);
}

/* A unit of one kind is refused by every kind that does not have it. */
static void every_unit_is_refused_by_all_other_kinds(void **state) {
  (void)state;
  size_t count = 0;
  const ta_unit *const units = ta_units(&count);
  for (size_t i = 0; i < count; i++) {
    if (strcmp(units[i].name, "1") == 0) continue;
    char text[64];
    (void)snprintf(text, sizeof text, "3.7 %s", units[i].name);
    for (int k = 0; k < TA_KIND_COUNT; k++) {
      bool has = false;
      for (size_t j = 0; j < count; j++)
        has = has || ((int)units[j].kind == k && strcmp(units[j].name, units[i].name) == 0);
      double si = UNTOUCHED;
      char why[400] = "";
      const ta_status got = ta_quantity_parse(text, (ta_kind)k, &si, why, sizeof why);
      assert_int_equal(got, has ? TA_OK : TA_ERR_ARGUMENT);
      assert_true(has == (si != UNTOUCHED));
      assert_true(has == (strstr(why, " is a") == NULL));
    }
  }
}

/* Whatever was typed, at whatever length. */
static void what_is_echoed_is_short_and_printable(void **state) {
  (void)state;
  static char text[LONG + 8];
  for (int byte = 1; byte < 256; byte++) {
    memset(text, byte, LONG);
    text[LONG] = '\0';
    for (int k = 0; k < TA_KIND_COUNT; k++) {
      double si = UNTOUCHED;
      char why[400] = "";
      text[0] = '5'; /* so that the unit is at fault */
      const ta_status unit = ta_quantity_parse(text, (ta_kind)k, &si, why, sizeof why);
      assert_true(unit != TA_OK || byte == ' ' || byte == '\t');
      assert_true(strlen(why) < 250);
      text[0] = 'x';
      assert_int_equal(ta_quantity_parse(text, (ta_kind)k, &si, why, sizeof why), TA_ERR_ARGUMENT);
      assert_true(strlen(why) < 250);
      assert_true(si == UNTOUCHED || unit == TA_OK);
      for (const char *c = why; *c != '\0'; c++) assert_in_range(*c, ' ', '~');
      const char *const end = strstr(why, "...\"");
      assert_non_null(end);
      assert_int_equal(end - why, 1 + 40);
    }
  }
  /* Forty bytes are shown whole. */
  memset(text, 'x', 40);
  text[40] = '\0';
  char why[400] = "";
  double si = UNTOUCHED;
  assert_int_equal(ta_quantity_parse(text, TA_ANGLE, &si, why, sizeof why), TA_ERR_ARGUMENT);
  assert_memory_equal(why + 1, text, 40);
  assert_int_equal(why[41], '"');
}

static void a_small_buffer_is_not_overrun(void **state) {
  (void)state;
  double si = UNTOUCHED;
  char why[16];
  memset(why, '#', sizeof why);
  assert_int_equal(ta_quantity_parse("22", TA_SPEED, &si, why, 8), TA_ERR_ARGUMENT);
  assert_memory_equal(why, "\"22\" has\0", 8 - 1);
  assert_true(why[7] == '\0' && why[8] == '#');
  memset(why, '#', sizeof why);
  assert_int_equal(ta_quantity_parse("22", TA_SPEED, &si, why, 0), TA_ERR_ARGUMENT);
  assert_true(why[0] == '#');
  assert_true(si == UNTOUCHED);
}

/* A host program may have taken its user's locale.  One with a decimal comma is made for the test,
 * since none need be installed. */
static void the_locale_changes_nothing(void **state) {
  (void)state;
  char folder[] = "/tmp/thinair-locale-XXXXXX";
  assert_non_null(mkdtemp(folder));
  char command[128];
  (void)snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/comma >%s/log 2>&1",
                 folder, folder);
  const int made = system(command);
  assert_int_equal(setenv("LOCPATH", folder, 1), 0);
  const bool taken = made == 0 && setlocale(LC_ALL, "comma") != NULL;
  const bool comma = taken && strcmp(localeconv()->decimal_point, ",") == 0;
  double half = UNTOUCHED, si = UNTOUCHED, comma_si = UNTOUCHED;
  const char *rest = NULL;
  const double theirs = strtod("0.5", NULL);
  const ta_status number = ta_number_parse("0.5e1,5", &half, &rest);
  const ta_status quantity = ta_quantity_parse("1234.5 hPa", TA_PRESSURE, &si, NULL, 0);
  const ta_status refusal = ta_quantity_parse("1234,5 hPa", TA_PRESSURE, &comma_si, NULL, 0);
  (void)setlocale(LC_ALL, "C");
  (void)unsetenv("LOCPATH");
  (void)snprintf(command, sizeof command, "rm -r %s", folder);
  assert_int_equal(system(command), 0);
  if (!comma) {
    print_message("skipped: no locale with a decimal comma can be made here\n");
    skip();
  }
  assert_true(theirs == 0.0); /* the locale is in force: the C library stops at the point */
  assert_int_equal(number, TA_OK);
  assert_true(half == 5.0);
  assert_string_equal(rest, ",5");
  assert_int_equal(quantity, TA_OK);
  assert_true(si == 123450.0);
  assert_int_equal(refusal, TA_ERR_ARGUMENT);
  assert_true(comma_si == UNTOUCHED);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_unit_agrees_with_udunits),
      cmocka_unit_test(published_factors),
      cmocka_unit_test(map_is_boost_and_ambient),
      cmocka_unit_test(units_in_words_are_the_table),
      cmocka_unit_test(kinds_have_names),
      cmocka_unit_test(units_are_found_by_kind_name_and_length),
      cmocka_unit_test(numbers_are_read_up_to_their_end),
      cmocka_unit_test(what_is_no_number_is_refused),
      cmocka_unit_test(long_numbers_are_rounded_right),
      cmocka_unit_test(numbers_agree_with_the_c_library),
      cmocka_unit_test(quantities_are_read_as_typed),
      cmocka_unit_test(refusals_say_why_and_leave_the_output_alone),
      cmocka_unit_test(every_unit_is_refused_by_all_other_kinds),
      cmocka_unit_test(what_is_echoed_is_short_and_printable),
      cmocka_unit_test(a_small_buffer_is_not_overrun),
      cmocka_unit_test(the_locale_changes_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
