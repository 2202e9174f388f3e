/* The three writers, on a table that holds everything a cell can hold. */
#include "report/table.h"

#include "test.h"
#include "thinair/compressor_map.h"

typedef struct {
  double map_pa, distance_m, missing;
  const char *mark;
  ta_zone zone;
} row;

static const ta_column columns[] = {
    {"map", "MAP", TA_CELL_NUMBER, TA_SHOW_MAP, offsetof(row, map_pa)},
    {"distance", "along", TA_CELL_NUMBER, TA_SHOW_DISTANCE, offsetof(row, distance_m)},
    {"missing", "missing", TA_CELL_NUMBER, TA_SHOW_RPM, offsetof(row, missing)},
    {"mark", "mark", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(row, mark)},
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(row, zone)},
};

static row rows[] = {{170270.0, 1234567.0, 0.0, "Caf\xc3\xa9, \"upper\"", TA_SURGE},
                     {99940.0, -0.0001, 0.0, NULL, TA_MAPPED}};

static ta_table table(void) {
  rows[0].missing = (double)INFINITY;
  rows[1].missing = (double)NAN;
  return (ta_table){columns, COUNT_OF(columns), rows, COUNT_OF(rows), sizeof rows[0]};
}

static void text_is_aligned_and_in_the_units_asked_for(void **state) {
  (void)state;
  const ta_table t = table();
  ta_buffer out = {0};
  ta_table_text(&t, TA_METRIC, &out);
  assert_string_equal(out.text,
                      "MAP kPa   along km  missing rpm  mark           zone\n"
                      "  170.3  1,234.567            -  Caf\xc3\xa9, \"upper\"  surge\n"
                      "   99.9      0.000            -                 mapped\n");
  ta_buffer_free(&out);
  const ta_table no_zone = {columns, 4, rows, 2, sizeof rows[0]}; /* its last cell is empty */
  ta_table_text(&no_zone, TA_METRIC, &out);
  assert_non_null(strstr(out.text, "            -\n"));
  ta_buffer_free(&out);
  ta_table_text(&t, TA_US, &out);
  /* 170,270 Pa / 6894.757 Pa/psi = 24.70 psi; 1,234.567 km / 1.609344 = 767.124 mi */
  assert_non_null(strstr(out.text, "MAP psia"));
  assert_non_null(strstr(out.text, "24.70"));
  assert_non_null(strstr(out.text, "767.124"));
  ta_buffer_free(&out);
}

static void csv_quotes_and_leaves_the_unknown_empty(void **state) {
  (void)state;
  const ta_table t = table();
  ta_buffer out = {0};
  ta_table_csv(&t, TA_METRIC, &out);
  assert_string_equal(out.text,
                      "map (kPa),distance (km),missing (rpm),mark,zone\n"
                      "170.27,1234.567,,\"Caf\xc3\xa9, \"\"upper\"\"\",surge\n"
                      "99.94,-1e-07,,,mapped\n");
  ta_buffer_free(&out);
}

static void json_escapes_and_never_holds_nan(void **state) {
  (void)state;
  const ta_table t = table();
  ta_buffer out = {0};
  ta_json json = {.out = &out};
  ta_json_open(&json, NULL, '{');
  ta_json_rows(&json, "rows", &t);
  ta_json_open(&json, "columns", '{');
  ta_json_columns(&json, &t);
  ta_json_close(&json, '}');
  ta_json_text(&json, "control", "a\tb\\c");
  ta_json_bool(&json, "yes", true);
  ta_json_close(&json, '}');
  assert_string_equal(out.text,
                      "{\n"
                      "  \"rows\": [\n"
                      "    {\n"
                      "      \"map_kPa\": 170.27,\n"
                      "      \"distance_m\": 1234567,\n"
                      "      \"missing_rpm\": null,\n"
                      "      \"mark\": \"Caf\xc3\xa9, \\\"upper\\\"\",\n"
                      "      \"zone\": \"surge\"\n"
                      "    },\n"
                      "    {\n"
                      "      \"map_kPa\": 99.94,\n"
                      "      \"distance_m\": -0.0001,\n"
                      "      \"missing_rpm\": null,\n"
                      "      \"mark\": null,\n"
                      "      \"zone\": \"mapped\"\n"
                      "    }\n"
                      "  ],\n"
                      "  \"columns\": {\n"
                      "    \"map_kPa\": [170.27, 99.94],\n"
                      "    \"distance_m\": [1234567, -0.0001],\n"
                      "    \"missing_rpm\": [null, null],\n"
                      "    \"mark\": [\"Caf\xc3\xa9, \\\"upper\\\"\", null],\n"
                      "    \"zone\": [\"surge\", \"mapped\"]\n"
                      "  },\n"
                      "  \"control\": \"a\\u0009b\\\\c\",\n"
                      "  \"yes\": true\n"
                      "}\n");
  ta_buffer_free(&out);
}

static void numbers_are_shown_with_their_unit(void **state) {
  (void)state;
  static const struct {
    ta_show show;
    ta_unit_system units;
    int decimals;
    double si;
    const char *want;
  } shown[] = {
      {TA_SHOW_RPM, TA_METRIC, -1, 140160.0, "140,160 rpm"},
      {TA_SHOW_RPM, TA_METRIC, -1, -1234567.0, "-1,234,567 rpm"},
      {TA_SHOW_RPM, TA_METRIC, -1, 999.6, "1,000 rpm"},
      {TA_SHOW_RPM, TA_METRIC, -1, -0.2, "0 rpm"},
      {TA_SHOW_BOOST, TA_METRIC, -1, 143000.0, "1.43 bar"},
      /* 1 psi = 6894.757 Pa (NIST SP 811) */
      {TA_SHOW_BOOST, TA_US, -1, 68947.57, "10.0 psi"},
      {TA_SHOW_MAP, TA_US, -1, 170300.5, "24.70 psia"},
      {TA_SHOW_TEMPERATURE, TA_US, -1, 288.15, "59.0 degF"},
      {TA_SHOW_TEMPERATURE, TA_METRIC, 0, 272.65, "0 degC"},
      {TA_SHOW_ELEVATION, TA_US, -1, 4267.2, "14,000 ft"},
      {TA_SHOW_AMBIENT, TA_US, -1, 101325.0, "29.92 inHg"},
      {TA_SHOW_PERCENT, TA_METRIC, -1, 0.00234, "0.23 %"},
      {TA_SHOW_RATIO, TA_METRIC, 2, 1.005, "1.00"},
      {TA_SHOW_COUNT_OF, TA_METRIC, -1, 12.0, "12"},
  };
  char text[TA_SHOWN_MAX];
  for (size_t i = 0; i < COUNT_OF(shown); i++)
    assert_string_equal(
        ta_show_quantity(shown[i].show, shown[i].units, shown[i].decimals, shown[i].si, text),
        shown[i].want);
  assert_string_equal(ta_show_quantity(TA_SHOW_RPM, TA_METRIC, -1, (double)INFINITY, text),
                      "- rpm");
}

static void a_cap_is_never_shown_above_itself(void **state) {
  (void)state;
  char text[TA_SHOWN_MAX];
  assert_string_equal(ta_show_cap(TA_SHOW_MAP, TA_METRIC, 192999.0, text), "192.9 kPa");
  assert_string_equal(ta_show_cap(TA_SHOW_MAP, TA_METRIC, 193000.0, text), "193.0 kPa");
  assert_string_equal(ta_show_cap(TA_SHOW_MAP, TA_US, 192999.0, text), "27.99 psia"); /* 27.992 */
}

static void a_long_text_grows_the_buffer(void **state) {
  (void)state;
  ta_buffer out = {0};
  for (int i = 0; i < 5000; i++) ta_buffer_add(&out, "%04d,", i);
  assert_int_equal(out.length, 25000);
  assert_int_equal(strncmp(out.text + 24995, "4999,", 6), 0);
  assert_false(out.failed);
  ta_buffer_free(&out);
  assert_null(out.text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(text_is_aligned_and_in_the_units_asked_for),
      cmocka_unit_test(csv_quotes_and_leaves_the_unknown_empty),
      cmocka_unit_test(json_escapes_and_never_holds_nan),
      cmocka_unit_test(numbers_are_shown_with_their_unit),
      cmocka_unit_test(a_cap_is_never_shown_above_itself),
      cmocka_unit_test(a_long_text_grows_the_buffer),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
