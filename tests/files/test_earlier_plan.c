/* test_earlier_plan.c - a plan's JSON read back: what was written comes back, what is broken is placed. */
#include "thinair/earlier_plan.h"

#include <gsl/gsl_errno.h>

#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/report.h"

#define PLAN                                                                                 \
  "{\n"                                                                                      \
  "  \"thinair_version\": \"0.0.7\",\n"                                                      \
  "  \"event\": \"made up\",\n"                                                              \
  "  \"since\": {\"verdict\": \"clear\", \"limit_rpm\": 1},\n"                               \
  "  \"verdict\": \"over\",\n"                                                               \
  "  \"limit\": {\"rated_rpm\": 158700, \"limit_rpm\": 152828.1},\n"                         \
  "  \"start\": {\"pressure_kPa\": 84.944, \"temperature_K\": 287.31},\n"                    \
  "  \"worst\": {\"mark\": null, \"compressor\": {\"shaft_rpm\": 161234.5},\n"               \
  "    \"engine\": {\"map_kPa\": 229.37}},\n"                                                \
  "  \"first_over\": {\"distance_m\": 16357.1, \"elevation_m\": 2731.9, \"mark\": \"x\"},\n" \
  "  \"over\": [{\"verdict\": \"unsure\", \"start\": {\"pressure_kPa\": 3}}],\n"             \
  "  \"caps\": {\"constant\": {\"map_kPa\": 163.71, \"limited_by\": \"rated_speed\",\n"      \
  "    \"time_s\": 1071.43}},\n"                                                             \
  "  \"trace\": {\"distance_m\": [0, 1, 2]}\n"                                               \
  "}\n"

/* The text with the first `old` replaced; to be freed. */
static char *with(const char *text, const char *old, const char *new) {
  const char *at = strstr(text, old);
  assert_non_null(at);
  const size_t size = strlen(text) + strlen(new) + 1;
  char *made = malloc(size);
  assert_non_null(made);
  (void)snprintf(made, size, "%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
  return made;
}

static ta_status read_text(const char *text, ta_earlier_plan *earlier,
                           ta_diagnostics *diagnostics) {
  ta_diagnostics_clear(diagnostics);
  return ta_earlier_plan_read_bytes("then.json", text, strlen(text), "made up", earlier,
                                    diagnostics);
}

static void what_is_written_by_hand_is_picked(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  ta_earlier_plan earlier;
  assert_int_equal(read_text(PLAN, &earlier, &diagnostics), TA_OK);
  const ta_plan_gist *gist = &earlier.gist;
  assert_string_equal(earlier.version, "0.0.7");
  assert_int_equal(gist->verdict, TA_OVER);
  assert_int_equal(gist->limited_by, TA_BY_RATED_SPEED);
  assert_true(gist->passes && gist->has_cap);
  assert_string_equal(gist->first_mark, "x");
  assert_int_equal(off("plan", "limit", gist->limit_rpm, 152828.1, 1e-9) +
                       off("plan", "pressure", gist->start_pressure_pa, 84944.0, 1e-9) +
                       off("plan", "temperature", gist->start_temperature_k, 287.31, 1e-12) +
                       off("plan", "worst", gist->worst_shaft_rpm, 161234.5, 1e-9) +
                       off("plan", "target", gist->worst_map_pa, 229370.0, 1e-9) +
                       off("plan", "time", gist->cap_time_s, 1071.43, 1e-9) +
                       off("plan", "distance", gist->first_distance_m, 16357.1, 1e-9) +
                       off("plan", "elevation", gist->first_elevation_m, 2731.9, 1e-9) +
                       off("plan", "cap", gist->cap_map_pa, 163710.0, 1e-9),
                   0);
}

static void null_says_what_it_means(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  ta_earlier_plan earlier;
  char *wild = with(PLAN, "161234.5", "null"), *capless = with(wild, "163.71", "null"),
       *timeless = with(capless, "1071.43", "null"), *unmarked = with(timeless, "\"x\"", "null");
  assert_int_equal(read_text(unmarked, &earlier, &diagnostics), TA_OK);
  assert_true(isinf(earlier.gist.worst_shaft_rpm) && earlier.gist.passes);
  assert_false(earlier.gist.has_cap);
  assert_true(isinf(earlier.gist.cap_time_s));
  assert_string_equal(earlier.gist.first_mark, "");
  char *quiet =
      with(PLAN, "{\"distance_m\": 16357.1, \"elevation_m\": 2731.9, \"mark\": \"x\"}", "null");
  assert_int_equal(read_text(quiet, &earlier, &diagnostics), TA_OK);
  assert_false(earlier.gist.passes);
  free(wild);
  free(capless);
  free(timeless);
  free(unmarked);
  free(quiet);
}

/* Through the writer and back: over, clear, past what the map can tell, a gauge controller. */
static void what_plan_writes_comes_back(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  static const struct {
    const char *row;
    ta_goal goal;
    int holds;
    double spring_pa;
  } rows[] = {
      {"over", {.map_pa = 173300.0, .has_map = true, .margin = 0.037}, TA_HOLDS_ABSOLUTE, 0.0},
      {"no cap", {.map_pa = 173300.0, .has_map = true, .margin = 0.037}, TA_HOLDS_ABSOLUTE, 130e3},
      {"clear", {.map_pa = 146000.0, .has_map = true, .margin = 0.037}, TA_HOLDS_ABSOLUTE, 0.0},
      {"wild", {.map_pa = 351000.0, .has_map = true, .margin = 0.037}, TA_HOLDS_ABSOLUTE, 0.0},
      {"gauge", {.boost_pa = 113000.0, .has_boost = true, .margin = 0.037}, TA_HOLDS_GAUGE, 0.0},
  };
  const ta_style style = {.format = TA_FORMAT_JSON, .version = "0.0.7"};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    ta_prepared prepared;
    ta_plan *plan = malloc(sizeof *plan);
    ta_buffer first = {0}, second = {0};
    ta_plan_gist want;
    ta_earlier_plan got;
    assert_non_null(plan);
    invented_make(&it);
    it.event.name = "made up";
    it.event.goal = rows[i].goal;
    it.event.car.control.holds = rows[i].holds;
    it.event.car.control.minimum_boost_pa = rows[i].spring_pa;
    it.event.car.control.has_minimum_boost = rows[i].spring_pa > 0.0;
    it.event.car.control.positions = 2.0;
    it.event.car.control.resolution_pa = 1000.0;
    assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
    assert_int_equal(ta_plan_make(&prepared, plan), TA_OK);
    ta_plan_gist_of(&prepared, plan, &want);
    assert_true(want.has_cap == plan->caps.constant.can_be_had);
    ta_diagnostics_clear(&diagnostics);
    ta_report_plan(&prepared, plan, NULL, &diagnostics, &style, &first);
    assert_non_null(strstr(first.text, "\"since\": null,"));
    assert_int_equal(read_text(first.text, &got, &diagnostics), TA_OK);
    assert_string_equal(got.version, "0.0.7");
    assert_int_equal(got.gist.verdict, want.verdict);
    assert_int_equal(got.gist.limited_by, want.limited_by);
    assert_true(got.gist.passes == want.passes && got.gist.has_cap == want.has_cap);
    assert_string_equal(got.gist.first_mark, want.first_mark);
#define SAME(member) off_rel(rows[i].row, #member, got.gist.member, want.member, 1e-11)
    bad += SAME(limit_rpm) + SAME(start_pressure_pa) + SAME(start_temperature_k);
    if (isinf(want.worst_shaft_rpm))
      assert_true(isinf(got.gist.worst_shaft_rpm));
    else
      bad += SAME(worst_shaft_rpm);
    if (want.passes) bad += SAME(first_distance_m) + SAME(first_elevation_m);
    if (want.has_cap) bad += SAME(cap_map_pa);
#undef SAME
    /* written into the next plan beside its own figures, it does not get into their way */
    ta_report_plan(&prepared, plan, &got, &diagnostics, &style, &second);
    assert_non_null(strstr(second.text, "\"since\": {\n"));
    ta_earlier_plan again;
    assert_int_equal(read_text(second.text, &again, &diagnostics), TA_OK);
    assert_true(again.gist.has_cap == got.gist.has_cap);
    assert_int_equal(
        off_rel(rows[i].row, "cap again", again.gist.cap_map_pa, got.gist.cap_map_pa, 1e-15), 0);
    ta_buffer_free(&first);
    ta_buffer_free(&second);
    ta_plan_free(plan);
    ta_prepared_free(&prepared);
    free(plan);
  }
  assert_int_equal(bad, 0);
}

static void what_is_broken_is_placed(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  static const struct {
    const char *old, *new;
    int line, column;
    const char *text;
  } rows[] = {
      /* no JSON */
      {"\"over\",\n", "\"over\"\n", 6, 3, "did not find expected ',' or '}'"},
      {"}\n}\n", "}\n", 15, 1, "did not find expected ',' or '}'"},
      {"[0, 1, 2]", "[0, 1, \"2]", 16, 1, "unexpected end of stream"},
      {"\"0.0.7\"", "\"0.0.7", 3, 4, "did not find expected"},
      {"}\n}\n", "}\n}\n--- {}\n", 16, 1, "a second document starts here"},
      /* no plan, or of something else */
      {"\"verdict\": \"over\",", "", 1, 1, "found no plan; what plan --json writes is taken"},
      {"\"thinair_version\"", "\"version\"", 1, 1, "found no plan"},
      {"made up", "Caf\xc3\xa9 run", 3, 12,
       "event: found a plan of \"Caf\xc3\xa9 run\"; one of \"made up\" is taken"},
      /* values that cannot be */
      {"\"over\"", "\"under\"", 5, 14,
       "verdict: found under; one is taken of: cannot_hold, over, cannot_cap, unsure, clear"},
      {"\"0.0.7\"", "null", 2, 22, "thinair_version: found null; a text of up to 127 bytes"},
      {"\"rated_speed\"", "7", 12, 58, "limited_by: found 7; one is taken of: goal, rated_speed"},
      {"84.944", "849.44", 7, 29, "start.pressure_kPa: found 849.44; a number from 10 to 200 is"},
      {"84.944", "\"84.944\"", 7, 29, "start.pressure_kPa: found 84.944; a number"},
      {"84.944", "84.944 kPa", 7, 29, "start.pressure_kPa: found 84.944 kPa; a number"},
      {"84.944", "nan", 7, 29, "start.pressure_kPa: found nan; a number"},
      {"287.31", "null", 7, 54, "start.temperature_K: found null; a number"},
      {"287.31", "[287.31]", 7, 54, "start.temperature_K: found a list or a reference; a single"},
      {"161234.5", "{}", 8, 55, "shaft_rpm: found a group of keys; a single value is taken"},
      {"{\"distance_m\": 16357.1, \"elevation_m\": 2731.9, \"mark\": \"x\"}", "[]", 10, 17,
       "first_over: found a list"},
      {"{\"distance_m\": 16357.1, \"elevation_m\": 2731.9, \"mark\": \"x\"}", "7", 10, 17,
       "first_over: found 7; a group of keys or null is taken"},
      {"\"x\"", "\"\\u001b[2J\"", 10, 72, "first_over.mark: found ?[2J; a text"},
      /* missing, twice */
      {"\"pressure_kPa\": 84.944, ", "", 1, 1, "start.pressure_kPa: missing"},
      {"\"mark\": \"x\"", "\"name\": \"x\"", 1, 1, "first_over.mark: missing"},
      {"\"caps\"", "\"lids\"", 1, 1, "caps.constant.map_kPa: missing"},
      {"\"rated_rpm\"", "\"limit_rpm\"", 6, 47, "limit.limit_rpm: it stands here a second time"},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char *text = with(PLAN, rows[i].old, rows[i].new);
    ta_earlier_plan earlier, untouched;
    memset(&earlier, 0x5a, sizeof earlier);
    untouched = earlier;
    const ta_status status = read_text(text, &earlier, &diagnostics);
    const ta_diagnostic *item = &diagnostics.item[0];
    if (status != TA_ERR_INPUT || diagnostics.errors == 0 || item->place.line != rows[i].line ||
        item->place.column != rows[i].column || strstr(item->text, rows[i].text) == NULL ||
        strcmp(item->place.file, "then.json") != 0 ||
        memcmp(&earlier, &untouched, sizeof earlier) != 0) {
      print_error("%s: %s, %zu errors, %d:%d %s\n", rows[i].new, ta_status_name(status),
                  diagnostics.errors, item->place.line, item->place.column, item->text);
      bad++;
    }
    free(text);
  }
  assert_int_equal(bad, 0);
}

static void every_fault_is_told(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  ta_earlier_plan earlier;
  char *one = with(PLAN, "84.944", "x"), *two = with(one, "287.31", "y"),
       *three = with(two, "\"map_kPa\"", "\"mpa_kPa\"");
  assert_int_equal(read_text(three, &earlier, &diagnostics), TA_ERR_INPUT);
  assert_int_equal(diagnostics.errors, 3);
  free(one);
  free(two);
  free(three);
  static const char *const others[] = {"", "[1, 2]", "7", "{}", "null", "a: [b, {c: d}]\n"};
  for (size_t i = 0; i < COUNT_OF(others); i++) {
    assert_int_equal(read_text(others[i], &earlier, &diagnostics), TA_ERR_INPUT);
    assert_int_equal(diagnostics.errors, 1);
    assert_true(diagnostics.item[0].place.line == 1 && diagnostics.item[0].place.column == 1);
  }
}

static void deep_nesting_and_odd_keys_are_stood(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  ta_earlier_plan earlier;
  char deep[300] = "{\"a\": ", *text;
  for (size_t i = 0; i < 70; i++) strcat(deep, "[");
  assert_int_equal(read_text(deep, &earlier, &diagnostics), TA_ERR_INPUT);
  assert_non_null(strstr(diagnostics.item[0].text, "nests too deep"));
  /* a key that is a list, one that is longer than a path, and after them all is as it was */
  char odd[400] = "{\n  ? [1, {b: c}] : {\"verdict\": 3},\n  \"";
  for (size_t i = 0; i < 200; i++) strcat(odd, "k");
  strcat(odd, "\": {\"verdict\": 3},\n");
  text = with(PLAN, "{\n", odd);
  assert_int_equal(read_text(text, &earlier, &diagnostics), TA_OK);
  free(text);
}

static void files_that_cannot_be_read_say_so(void **state) {
  (void)state;
  static ta_diagnostics diagnostics;
  ta_earlier_plan earlier;
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_earlier_plan_read("/nonexistent", "made up", &earlier, &diagnostics),
                   TA_ERR_INPUT);
  assert_string_equal(diagnostics.item[0].text, "there is no such file");
  assert_string_equal(diagnostics.item[0].place.file, "/nonexistent");
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_earlier_plan_read("/", "made up", &earlier, &diagnostics), TA_ERR_INPUT);
  assert_int_equal(ta_earlier_plan_read(NULL, "made up", &earlier, &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_earlier_plan_read_bytes("a", "{}", 2, "made up", NULL, &diagnostics),
                   TA_ERR_ARGUMENT);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_written_by_hand_is_picked),
      cmocka_unit_test(null_says_what_it_means),
      cmocka_unit_test(what_plan_writes_comes_back),
      cmocka_unit_test(what_is_broken_is_placed),
      cmocka_unit_test(every_fault_is_told),
      cmocka_unit_test(deep_nesting_and_odd_keys_are_stood),
      cmocka_unit_test(files_that_cannot_be_read_say_so),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
