/* test_change.c - what changed from one plan to another. */
#include <gsl/gsl_errno.h>

#include "../invented_car.h"
#include "thinair/report.h"

static const ta_plan_gist over = {.verdict = TA_OVER,
                                  .limit_rpm = 152828.1,
                                  .start_pressure_pa = 84944.0,
                                  .start_temperature_k = 287.31,
                                  .worst_shaft_rpm = HUGE_VAL,
                                  .worst_map_pa = 229370.0,
                                  .passes = true,
                                  .first_distance_m = 25310.0,
                                  .first_elevation_m = 3447.3,
                                  .has_cap = true,
                                  .cap_map_pa = 163791.0,
                                  .limited_by = TA_BY_RATED_SPEED,
                                  .cap_time_s = HUGE_VAL};
static const ta_plan_gist quiet = {.verdict = TA_CLEAR,
                                   .limit_rpm = 149000.0,
                                   .start_pressure_pa = 84133.0,
                                   .start_temperature_k = 281.87,
                                   .worst_shaft_rpm = 136208.4,
                                   .worst_map_pa = 148610.0,
                                   .has_cap = true,
                                   .cap_map_pa = 146591.0,
                                   .limited_by = TA_BY_GOAL,
                                   .cap_time_s = 1071.43};

static void report(int holds, ta_unit_system units, const ta_plan_gist *before, ta_buffer *out) {
  invented it;
  ta_prepared prepared;
  const ta_style style = {.format = TA_FORMAT_TEXT, .units = units, .version = "0"};
  invented_make(&it);
  it.event.car.control.holds = holds;
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  ta_report_change("What changed", &prepared, before, &quiet, &style, out);
  ta_prepared_free(&prepared);
}

static void both_sides_stand_side_by_side(void **state) {
  (void)state;
  ta_buffer out = {0};
  report(TA_HOLDS_ABSOLUTE, TA_METRIC, &over, &out);
  assert_string_equal(
      out.text,
      "What changed\n"
      "                                         before                                now\n"
      "verdict                                  over                                  clear\n"
      "air at the start                         14.2 degC, 84.9 kPa                   8.7 degC, "
      "84.1 kPa\n"
      "limit                                    152,828 rpm                           149,000 rpm\n"
      "target at the worst place, overshoot on  229.4 kPa                             148.6 kPa\n"
      "worst shaft speed                        no speed can be named                 136,208 rpm\n"
      "first over the limit                     25.3 km (3,447 m, 820 m before gate)  nowhere\n"
      "one cap for the whole run                163.7 kPa                             146.5 kPa, "
      "the target\n"
      "run with that cap                        not known                             17:51.4\n"
      "\n");
  ta_buffer_free(&out);
}

/* Each side's boost is over its own air at the start: 163.791 - 84.944, 146.591 - 84.133. */
static void a_gauge_controllers_cap_is_its_boost(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_plan_gist capless = over;
  report(TA_HOLDS_GAUGE, TA_METRIC, &over, &out);
  assert_non_null(strstr(out.text, "0.78 bar of boost  "));
  assert_non_null(strstr(out.text, "0.62 bar of boost, the target\n"));
  ta_buffer_free(&out);
  capless.has_cap = false;
  report(TA_HOLDS_GAUGE, TA_US, &capless, &out);
  assert_non_null(strstr(out.text, "none avoids it  "));
  assert_non_null(strstr(out.text, "57.5 degF, 25.08 inHg")); /* 84,944 Pa/3,386.389 */
  ta_buffer_free(&out);
}

static void an_unchanged_plan_is_one_line(void **state) {
  (void)state;
  ta_buffer out = {0};
  report(TA_HOLDS_ABSOLUTE, TA_METRIC, &quiet, &out);
  assert_string_equal(out.text, "What changed: nothing of note\n\n");
  ta_buffer_free(&out);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(both_sides_stand_side_by_side),
      cmocka_unit_test(an_unchanged_plan_is_one_line),
      cmocka_unit_test(a_gauge_controllers_cap_is_its_boost),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
