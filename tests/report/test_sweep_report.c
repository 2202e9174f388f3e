/* test_sweep_report.c - a sweep in words, as matrix, CSV and JSON, from cells made by hand. */
#include <stdio.h>
#include <stdlib.h>

#include "../test.h"
#include "thinair/report.h"

static ta_diagnostics diagnostics;
static const ta_event event = {.name = "made up"};

static ta_sweep_cell solved(double over_limit, double cap_pa) {
  ta_sweep_cell cell = {.state = over_limit > 1.0 ? TA_SWEEP_OVER : TA_SWEEP_WITHIN,
                        .worst_rpm = 141300.0 * over_limit,
                        .worst_over_limit = over_limit,
                        .summit_rpm = 141300.0 * over_limit,
                        .has_cap = true,
                        .cap_map_pa = cap_pa,
                        .cap_boost_pa = cap_pa - 85300.0,
                        .limited_by = over_limit > 1.0 ? TA_BY_RATED_SPEED : TA_BY_GOAL,
                        .power_w = 231700.0,
                        .has_surge_margin = true,
                        .surge_margin = 0.317};
  if (over_limit <= 1.0) return cell;
  cell.first_over_m = 17310.0;
  cell.first_height_m = 2713.0;
  (void)strcpy(cell.first_mark, "Gate, upper");
  return cell;
}

static void made(const char *const *vary, size_t count, ta_sweep_axis *axis, ta_sweep *sweep) {
  char why[400];
  for (size_t k = 0; k < count; k++)
    assert_int_equal(ta_sweep_axis_parse(vary[k], &axis[k], why, sizeof why), TA_OK);
  assert_int_equal(ta_sweep_make(axis, count, sweep), TA_OK);
}

static char *report(const ta_sweep *sweep, ta_sweep_show show, ta_format format,
                    ta_unit_system units) {
  const ta_style style = {.format = format, .units = units, .version = "7.3.1"};
  ta_buffer out = {0};
  ta_report_sweep(sweep, &event, show, &diagnostics, &style, &out);
  assert_false(out.failed);
  return out.text;
}

static void holds(const char *text, const char *part) {
  if (strstr(text, part) == NULL) fail_msg("not there: %s\nin:\n%s", part, text);
}

static void free_all(ta_sweep_axis *axis, size_t count, ta_sweep *sweep) {
  for (size_t k = 0; k < count; k++) ta_sweep_axis_free(&axis[k]);
  ta_sweep_free(sweep);
}

static void one_key_is_a_table_that_shows_the_crossing(void **state) {
  (void)state;
  static const char *const vary[] = {"car.intake.pressure_drop=1.1:5.1 kPa:5"};
  ta_sweep_axis axis[1];
  ta_sweep sweep;
  made(vary, 1, axis, &sweep);
  sweep.cell[0] = solved(0.97, 201390.0);
  sweep.cell[1] = solved(0.99, 201390.0);
  sweep.cell[2] = solved(1.03, 193270.0); /* 1 lies a quarter of the way: 2.35 kPa */
  sweep.cell[3] = solved(1.05, 187130.0);
  (void)strcpy(sweep.cell[4].why, "it could not be");
  char *text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "made up: 5 combinations of car.intake.pressure_drop\n");
  holds(text, "The limit is crossed between 2.1 kPa and 3.1 kPa, at about 2.35 kPa.\n");
  holds(text,
        "Highest constant cap as MAP at the start: 201.3 kPa (1.1 kPa). Lowest: 187.1 kPa "
        "(4.1 kPa).\n");
  /* caps rounded down: 193.27 and 1.0797 */
  holds(
      text,
      "\n3.1 kPa                   OVER      145,539       103.0         17.310  2,713  Gate, upper"
      "     145,539        193.2              1.07  the shaft        232            31.7");
  holds(text, "it could not be\n");
  assert_null(strstr(text, "time at cap"));
  holds(text, "run at the constant cap; time not known: the car file has no vehicle\n");
  holds(text, "a burst wheel can kill");
  free(text);

  sweep.cell[2].worst_over_limit = sweep.cell[2].worst_rpm = (double)INFINITY;
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "The limit is crossed between 2.1 kPa and 3.1 kPa.\n");
  free(text);
  for (size_t i = 2; i < 4; i++) sweep.cell[i] = solved(0.98, 201390.0);
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "The limit is passed at none of these values.\n");
  assert_null(strstr(text, "crossed"));
  assert_null(strstr(text, "Highest"));
  free(text);
  free_all(axis, 1, &sweep);
}

static void time_is_named_by_its_cap(void **state) {
  (void)state;
  static const char *const vary[] = {"car.turbo=one.yaml,two.yaml,three.yaml"};
  ta_sweep_axis axis[1];
  ta_sweep sweep;
  made(vary, 1, axis, &sweep);
  for (size_t i = 0; i < 3; i++) {
    sweep.cell[i] = solved(1.03, 193270.0);
    sweep.cell[i].has_time = i != 1;
    sweep.cell[i].time_s = 1037.3 + (double)i;
  }
  char *text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "time at cap s\n");
  holds(text, "31.7        1,037.3\n");
  holds(text, "31.7              -\n");
  holds(text, "31.7        1,039.3\n");
  assert_null(strstr(text, "1,038"));
  assert_null(strstr(text, "left out"));
  assert_null(strstr(text, "not known"));
  free(text);
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_CSV, TA_METRIC);
  holds(text, ",surge_margin (%),time (s),reason\n");
  holds(text, ",31.7,1037.3,\n");
  holds(text, ",31.7,,\n");
  free(text);
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_JSON, TA_METRIC);
  holds(text, "  \"time_strategy\": \"constant\",\n");
  holds(text, "      \"time_s\": 1037.3,\n");
  holds(text, "      \"time_s\": null,\n");
  holds(text, "\"warnings\": []");
  free(text);

  for (size_t i = 0; i < 3; i++) sweep.cell[i].has_time = false;
  sweep.timed = false;
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "time of the run at the constant cap is left out");
  holds(text, "for up to 400 combinations");
  holds(text, "--show time");
  assert_null(strstr(text, "not known"));
  assert_null(strstr(text, "time at cap"));
  free(text);
  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_JSON, TA_METRIC);
  holds(text, "  \"time_strategy\": null,\n");
  holds(text, "left out");
  free(text);
  free_all(axis, 1, &sweep);
}

static void two_keys_are_a_matrix_of_one_quantity(void **state) {
  (void)state;
  static const char *const vary[] = {"car.control.holds=absolute,gauge",
                                     "day.isa.offset=-7,3,13 K"};
  ta_sweep_axis axis[2];
  ta_sweep sweep;
  made(vary, 2, axis, &sweep);
  for (size_t i = 0; i < 6; i++) sweep.cell[i] = solved(0.96 + 0.02 * (double)i, 201390.0);
  sweep.cell[1].state = TA_SWEEP_UNKNOWN;
  sweep.cell[4] = (ta_sweep_cell){.why = "no such air"};
  sweep.cell[5].cap_map_pa = 188830.0;
  char *text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  holds(text,
        "Highest constant cap as MAP at the start: 201.3 kPa (absolute, -7 K). Lowest: 188.8 "
        "kPa (gauge, 13 K).\n");
  holds(text, "in kPa; down: car.control.holds; across: day.isa.offset\n");
  holds(text,
        "           -7 K     3 K    13 K\n"
        "absolute  201.3   201.3?  201.3 \n"
        "gauge     201.3*      -   188.8*\n");
  holds(text, "No answer at 1 of 6 cells:\n  no such air\n");
  free(text);
  text = report(&sweep, TA_SHOWS_FIRST, TA_FORMAT_TEXT, TA_US);
  /* 17.31 km / 1.609344 = 10.756 mi */
  holds(text,
        "absolute    none     none?    none \n"
        "gauge     10.756*       -   10.756*\n");
  free(text);
  text = report(&sweep, TA_SHOWS_SURGE, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "surge margin in %;");
  holds(text, "absolute  31.7   31.7?  31.7 \n");
  free(text);
  text = report(&sweep, TA_SHOWS_SPEED, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "absolute  135,648   138,474?  141,300 \n");
  free(text);
  text = report(&sweep, TA_SHOWS_POWER, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "absolute   232    232?   232 \n");
  free(text);
  text = report(&sweep, TA_SHOWS_TIME, TA_FORMAT_TEXT, TA_METRIC);
  holds(text, "absolute     -      -?     - \n");
  free(text);
  free_all(axis, 2, &sweep);
}

/* Forty columns do not fit a line: every value stands in one panel. */
static void a_wide_matrix_is_folded(void **state) {
  (void)state;
  static const char *const vary[] = {"goal.margin=1,2 %", "day.isa.offset=1:40 K:40"};
  ta_sweep_axis axis[2];
  ta_sweep sweep;
  made(vary, 2, axis, &sweep);
  for (size_t i = 0; i < 80; i++) sweep.cell[i] = solved(0.97, 100000.0 + 1000.0 * (double)i);
  char *text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_TEXT, TA_METRIC);
  const char *matrix = strstr(text, "across");
  for (size_t i = 0; i < 80; i++) {
    char value[40];
    (void)snprintf(value, sizeof value, " %zu.0 ", 100 + i);
    holds(matrix, value);
  }
  for (const char *line = matrix; *line != '*'; line = strchr(line, '\n') + 1)
    assert_true(strcspn(line, "\n") <= 98);
  free(text);
  free_all(axis, 2, &sweep);
}

static void csv_and_json_hold_every_cell(void **state) {
  (void)state;
  static const char *const vary[] = {"car.control.holds=absolute,gauge",
                                     "day.stations[lowest].pressure=845.1,853.3 hPa",
                                     "goal.margin=3.1,4.7 %"};
  ta_sweep_axis axis[3];
  ta_sweep sweep;
  made(vary, 3, axis, &sweep);
  for (size_t i = 0; i < 8; i++) sweep.cell[i] = solved(1.01, 193270.0);
  sweep.cell[6] = (ta_sweep_cell){.why = "none, \"here\""};
  sweep.cell[7].has_cap = false;
  char *text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_CSV, TA_METRIC);
  holds(
      text,
      "car.control.holds,day.stations[lowest].pressure (hPa),goal.margin (%),state,worst_shaft "
      "(rpm),shaft_over_limit (%),first_over_distance (km),first_over_elevation (m),"
      "first_over_mark,summit_shaft (rpm),cap_map (kPa),cap_boost_at_start (bar),limited_by,power "
      "(kW),surge_margin (%),time (s),reason\n"
      "absolute,845.1,3.1,over,142713,101,17.31,2713,\"Gate, "
      "upper\",142713,193.27,1.0797,rated_speed,231.7,31.7,,\n");
  holds(text, "\ngauge,853.3,3.1,,,,,,,,,,,,,,\"none, \"\"here\"\"\"\n");
  holds(text,
        "\ngauge,853.3,4.7,over,142713,101,17.31,2713,\"Gate, upper\",142713,,,rated_speed,,");
  free(text);

  text = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_JSON, TA_METRIC);
  char *us = report(&sweep, TA_SHOWS_CAP, TA_FORMAT_JSON, TA_US);
  assert_string_equal(text, us);
  holds(text,
        "      \"key\": \"day.stations[lowest].pressure\",\n"
        "      \"unit\": \"kPa\",\n"
        "      \"values\": [\n"
        "        84.51,\n"
        "        85.33\n");
  holds(text, "      \"key\": \"car.control.holds\",\n      \"unit\": null,\n");
  holds(text,
        "      \"values\": [\n        \"gauge\",\n        85.33,\n        0.031\n      ],\n"
        "      \"state\": null,\n      \"worst_shaft_rpm\": null,\n");
  holds(text, "      \"reason\": \"none, \\\"here\\\"\"\n");
  holds(text, "      \"cap_map_kPa\": 193.27,\n      \"cap_boost_at_start_kPa\": 107.97,\n");
  holds(text, "      \"shaft_over_limit\": 1.01,\n      \"first_over_distance_m\": 17310,\n");
  holds(text, "      \"surge_margin\": 0.317,\n      \"time_s\": null,\n      \"reason\": null\n");
  holds(text, "\"thinair_version\": \"7.3.1\"");
  holds(text, "\"warnings\": [");
  free(us);
  free(text);
  free_all(axis, 3, &sweep);
}

static void quantities_have_names(void **state) {
  (void)state;
  static const char *const names[] = {"cap", "speed", "first", "power", "surge", "time"};
  for (size_t i = 0; i < COUNT_OF(names); i++) {
    ta_sweep_show show = TA_SHOWS_TIME;
    assert_true(ta_sweep_show_find(names[i], &show));
    assert_int_equal(show, i);
  }
  ta_sweep_show show = TA_SHOWS_POWER;
  assert_false(ta_sweep_show_find("caps", &show));
  assert_int_equal(show, TA_SHOWS_POWER);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_key_is_a_table_that_shows_the_crossing),
      cmocka_unit_test(time_is_named_by_its_cap),
      cmocka_unit_test(two_keys_are_a_matrix_of_one_quantity),
      cmocka_unit_test(a_wide_matrix_is_folded),
      cmocka_unit_test(csv_and_json_hold_every_cell),
      cmocka_unit_test(quantities_have_names),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
