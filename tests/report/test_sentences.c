/* test_sentences.c - every reason, warning, zone and limit in words, each provoked. */
#include "report/plan_words.h"
#include "report/sentences.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"

typedef struct {
  invented it;
  ta_prepared prepared;
  ta_plan plan;
  ta_diagnostics diagnostics;
  ta_warnings warnings;
} planned;

static planned *plan_of(void (*change)(invented *it)) {
  planned *p = calloc(1, sizeof *p);
  assert_non_null(p);
  invented_make(&p->it);
  p->it.event.car.control.minimum_boost_pa = 61e3;
  if (change != NULL) change(&p->it);
  assert_int_equal(ta_prepare(&p->it.event, &p->prepared), TA_OK);
  assert_int_equal(ta_plan_make(&p->prepared, &p->plan), TA_OK);
  return p;
}

static void drop(planned *p) {
  ta_plan_free(&p->plan);
  ta_prepared_free(&p->prepared);
  free(p);
}

static void every_reason_has_its_words(void **state) {
  (void)state;
  static const struct {
    ta_reason reason;
    double restrictor_share, shaft_rpm;
    const char *metric, *us;
  } rows[] = {
      {TA_REASON_OVER, 0.0, 161234.0, "limit of 152,828 rpm: up to 161,234 rpm at 34.0 km",
       "up to 161,234 rpm at 21.1 mi (13,507 ft"},
      {TA_REASON_OVER, 0.0, HUGE_VAL, "152,828 rpm: beyond what the map can tell at 34.0 km", ""},
      {TA_REASON_OVER, 1.0, HUGE_VAL, "152,828 rpm: no speed can be named at 34.0 km", ""},
      {TA_REASON_CANNOT_HOLD, 0.0, 1e5,
       "from 15.9 km (2,703 m, 10.3 km before gate) on, the turbine cannot drive the target over "
       "the "
       "whole boost window: at 4,321 rpm of engine speed it holds 151.3 kPa",
       "it holds 21.94 psia"},
      {TA_REASON_CANNOT_CAP, 0.0, 1e5, "the wastegate's spring alone, 0.61 bar of boost",
       "8.8 psi"},
      {TA_REASON_UNREACHABLE, 0.0, 1e5, "more than 25 % past the map's last line", ""},
      {TA_REASON_FAR_EXTRAPOLATED, 0.0, 1e5, "12.3 % past the map's last line, and past 10 %", ""},
      {TA_REASON_SURGE, 0.0, 1e5, "left of the surge line", ""},
      {TA_REASON_CHOKE, 0.0, 1e5, "(choke), where speed rises steeply", ""},
      {TA_REASON_RESTRICTOR, 0.981, 1e5, "98.1 % of what chokes the inlet restrictor", ""},
      {TA_REASON_RESTRICTOR, 1.0, 1e5, "the inlet restrictor chokes: the air for this target", ""},
      {TA_REASON_MAP_SENSOR, 0.0, 1e5, "98 % of the pressure sensor's range of 213.0 kPa",
       "30.89 psia"},
      {TA_REASON_MAP_ERROR, 0.0, 151000.0, "151,000 rpm, is below the limit of 152,828 rpm by less",
       ""},
      {TA_REASON_MAP_ERROR_UNKNOWN, 0.0, 1e5, "with two speed lines none can be left out", ""},
      {TA_REASON_STATIONS_DISAGREE, 0.0, 1e5, "the day's stations disagree", ""},
      {TA_REASON_SURGE_IN_WINDOW, 0.0, 1e5, "up to 4,321 rpm of engine speed", ""},
      {TA_REASON_COLD_READING, 0.0, 1e5, "one cold valley reading", ""},
  };
  planned *p = plan_of(NULL);
  p->it.event.car.control.map_sensor_pa = 213e3;
  p->plan.surges_below_rpm = 4321.0;
  p->plan.drive = (ta_drive_check){.cannot_hold = true,
                                   .distance_m = 15870.0,
                                   .elevation_m = 2703.0,
                                   .engine_rpm = 4321.0,
                                   .held_map_pa = 151.3e3};
  p->plan.over.worst.point.beyond_top_line = 0.123;
  bool said[TA_REASON_COUNT] = {false};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char metric[TA_SENTENCE_MAX] = "", us[TA_SENTENCE_MAX] = "";
    memset(p->plan.reason, 0, sizeof p->plan.reason);
    assert_false(ta_say_reason(&p->prepared, &p->plan, rows[i].reason, TA_METRIC, metric));
    p->plan.reason[rows[i].reason] = said[rows[i].reason] = true;
    p->plan.over.worst.point.restrictor_share = rows[i].restrictor_share;
    p->plan.over.worst.point.shaft_rpm = rows[i].shaft_rpm;
    assert_true(ta_say_reason(&p->prepared, &p->plan, rows[i].reason, TA_METRIC, metric));
    assert_true(ta_say_reason(&p->prepared, &p->plan, rows[i].reason, TA_US, us));
    if (strstr(metric, rows[i].metric) != NULL && strstr(us, rows[i].us) != NULL) continue;
    print_error("%s\n%s\n", metric, us);
    bad++;
  }
  for (int r = 0; r < TA_REASON_COUNT; r++) assert_true(said[r]);
  drop(p);
  assert_int_equal(bad, 0);
}

static void change_nothing(invented *it) {
  it->event.goal.map_pa = 146e3;
}

static void change_to_no_thin_air(invented *it) {
  change_nothing(it);
  it->event.car.turbo.thin_air.off = 1;
}

/* At the start 85 kPa and the spring's 67 are more than the target's 146, up to where 79 are left. */
static void change_to_a_spring_above_the_target(invented *it) {
  change_nothing(it);
  it->event.car.control.has_minimum_boost = true;
  it->event.car.control.minimum_boost_pa = 67e3;
}

static void change_to_a_spring_all_the_way(invented *it) {
  change_to_a_spring_above_the_target(it);
  it->event.car.control.minimum_boost_pa = 91e3; /* 61 kPa at the top */
}

/* A boost goes with the ambient, and so does the spring's. */
static void change_to_a_spring_of_a_gauge(invented *it) {
  it->event.goal = (ta_goal){.boost_pa = 61.3e3, .has_boost = true, .margin = 0.037};
  it->event.car.control.holds = TA_HOLDS_GAUGE;
  it->event.car.control.has_minimum_boost = true;
  it->event.car.control.minimum_boost_pa = 61.9e3;
}

/* The low end of the target alone lies below the spring's. */
static void change_to_a_spring_at_some_speeds(invented *it) {
  change_to_a_spring_above_the_target(it);
  it->goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 146e3, .has_map = true};
  it->goal[1] = (ta_goal_point){.engine_rpm = 7200.0, .map_pa = 161e3, .has_map = true};
  it->event.goal.has_map = false;
  it->event.goal.point = it->goal;
  it->event.goal.point_count = 2;
}

static void change_to_no_room_for_an_alarm(invented *it) {
  change_nothing(it);
  it->event.goal.margin = 0.00629; /* of 158,700 rpm: 998.2 */
}

static void change_to_just_room_for_an_alarm(invented *it) {
  change_nothing(it);
  it->event.goal.margin = 0.00631; /* 1,001.4 */
}

static void change_to_a_spring_below_the_target(invented *it) {
  change_to_a_spring_above_the_target(it);
  it->event.car.control.minimum_boost_pa = 59e3;
}

static void change_to_surge(invented *it) {
  change_nothing(it);
  it->event.car.engine.displacement_m3 *= 0.6;
}

static void change_to_heat(invented *it) {
  it->event.goal.map_pa = 196e3;
  it->event.car.engine.window_rpm[0] = 5100.0;
  it->event.car.charge_cooler.effectiveness = 0.2;
  it->event.car.turbo.compressor.reference.temperature_k = 288.15;
  it->event.car.intake.temperature_rise_k = 43.0;
  it->event.car.turbo.rated_rpm = 211e3;
}

/* One point of flow, at an expansion ratio that a small turbine passes. */
static void change_to_a_small_turbine(invented *it) {
  static ta_turbine_flow flow = {1.7, 0.047};
  change_nothing(it);
  it->event.car.turbo.has_turbine = true;
  it->event.car.turbo.turbine = (ta_turbine){.inlet_temperature_k = 1203.7,
                                             .efficiency = 0.68,
                                             .has_efficiency = true,
                                             .mechanical_efficiency = 0.967,
                                             .reference_pa = 101325.0,
                                             .reference_k = 288.15,
                                             .flow = &flow,
                                             .flow_count = 1,
                                             .gamma = 1.32,
                                             .gas_constant_jkgk = 290.0};
}

static void every_warning_is_provoked(void **state) {
  (void)state;
  static const struct {
    const char *row;
    void (*change)(invented *it);
    const char *phrase; /* NULL: none */
  } rows[] = {
      {"nothing", change_nothing, NULL},
      {"thin air off", change_to_no_thin_air, "thin air is off"},
      {"a spring above the target", change_to_a_spring_above_the_target,
       "lower than at 7.5 km (2,051 m, 7.5 km after start) the wastegate's spring gives more than "
       "the target asks for: the boost there is the spring's"},
      {"a spring above the target all the way", change_to_a_spring_all_the_way,
       "all the way the wastegate's spring gives more than the target asks for: the boost"},
      {"a spring above a boost", change_to_a_spring_of_a_gauge,
       "all the way the wastegate's spring"},
      {"a spring at some speeds", change_to_a_spring_at_some_speeds,
       "(2,051 m, 7.5 km after start) the wastegate's spring gives more than the target asks for, "
       "at some engine speeds at least"},
      {"no room for an alarm", change_to_no_room_for_an_alarm,
       "limit and rated speed lie 998 rpm apart: too little room for an alarm"},
      {"just room for an alarm", change_to_just_room_for_an_alarm, NULL},
      {"a spring below the target", change_to_a_spring_below_the_target, NULL},
      {"surge", change_to_surge, "the target lies left of the surge line up to"},
      {"a small turbine", change_to_a_small_turbine,
       "past its typed points: whether it drives the target there is an estimate"},
      {"heat", change_to_heat, "above 200 degC aluminium wheels lose strength"},
      {"heat", change_to_heat, "of engine speed, at 34.0 km (4,117 m, summit): above"},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    planned *p = plan_of(rows[i].change);
    ta_warnings_collect(&p->prepared, &p->plan, NULL, TA_METRIC, &p->warnings);
    const size_t want = rows[i].phrase != NULL ? 1 : 0;
    if (p->warnings.count != want ||
        (want == 1 && strstr(p->warnings.text[0], rows[i].phrase) == NULL)) {
      print_error("%s: %zu warnings\n", rows[i].row, p->warnings.count);
      for (size_t k = 0; k < p->warnings.count; k++) print_error("  %s\n", p->warnings.text[k]);
      bad++;
    }
    drop(p);
  }
  assert_int_equal(bad, 0);
}

/* Both numbers follow the units: 473.15 K are 200 degC, 392 degF. */
static void heat_is_said_with_its_place(void **state) {
  (void)state;
  ta_warnings *warnings = calloc(1, sizeof *warnings);
  assert_non_null(warnings);
  ta_warn_of_heat(warnings, TA_METRIC, 473.1, 4517.0, "the gate");
  ta_warn_of_heat(warnings, TA_METRIC, (double)NAN, 4517.0, "the gate");
  assert_int_equal(warnings->count, 0);
  ta_warn_of_heat(warnings, TA_METRIC, 483.7, 4517.0, "the gate");
  ta_warn_of_heat(warnings, TA_US, 483.7, 4517.0, "the gate");
  assert_string_equal(warnings->text[0],
                      "the compressor outlet reaches 211 degC at 4,517 rpm of engine speed, at the "
                      "gate: above 200 degC aluminium wheels lose strength (common practice)");
  assert_non_null(strstr(warnings->text[1], "reaches 411 degF"));
  assert_non_null(strstr(warnings->text[1], "above 392 degF"));
  free(warnings);
}

/* Those of the files come first, errors are none of them, and what is not known is not spoken of. */
static void warnings_of_the_files_stand_first(void **state) {
  (void)state;
  planned *p = plan_of(change_to_no_thin_air);
  (void)ta_raise(&p->diagnostics, TA_WARNING, "day", "a cloud");
  (void)ta_raise(&p->diagnostics, TA_ERROR, "car", "a dent");
  (void)ta_raise(&p->diagnostics, TA_WARNING, "goal", "a wish");
  ta_warnings_collect(&p->prepared, &p->plan, &p->diagnostics, TA_METRIC, &p->warnings);
  assert_int_equal(p->warnings.count, 3);
  assert_string_equal(p->warnings.text[0], "a cloud");
  assert_string_equal(p->warnings.text[1], "a wish");
  assert_non_null(strstr(p->warnings.text[2], "thin air is off"));
  ta_warnings_collect(NULL, NULL, &p->diagnostics, TA_METRIC, &p->warnings);
  assert_int_equal(p->warnings.count, 2);
  for (int i = 0; i < TA_WARNINGS_MAX + 5; i++) ta_warnings_add(&p->warnings, "%d", i);
  assert_int_equal(p->warnings.count, TA_WARNINGS_MAX);
  assert_string_equal(p->warnings.text[2], "0");
  drop(p);
}

static void zones_and_limits_have_words(void **state) {
  (void)state;
  static const struct {
    ta_zone zone;
    double beyond, restrictor_share;
    const char *words;
  } zones[] = {
      {TA_MAPPED, 0.0, 0.0, "inside the map: firm"},
      {TA_MAPPED, 0.0, 0.969, "inside the map: firm"},
      {TA_MAPPED, 0.0, 0.971, "within 3 % of the inlet restrictor's choke: unreliable"},
      {TA_EXTRAPOLATED, 0.061, 0.0, "6.1 % past the map's last line: an estimate"},
      {TA_EXTRAPOLATED, 0.113, 0.0, "11.3 % past the map's last line: an estimate, and unreliable"},
      {TA_BELOW, -0.4, 0.0, "below the map's lowest line: an estimate"},
      {TA_BELOW, -0.4, 0.983, "within 3 % of the inlet restrictor's choke: unreliable"},
      {TA_SURGE, 0.0, 0.0, "left of the surge line: unreliable"},
      {TA_CHOKE, 0.0, 0.0, "right of the lines' ends: unreliable"},
      {TA_UNREACHABLE, HUGE_VAL, 0.0,
       "more than 25 % past the map's last line: no speed can be named"},
      {TA_UNREACHABLE, HUGE_VAL, 0.999,
       "more than 25 % past the map's last line: no speed can be named"},
      {TA_UNREACHABLE, HUGE_VAL, 1.003, "the inlet restrictor chokes: no speed can be named"},
  };
  for (size_t i = 0; i < COUNT_OF(zones); i++) {
    char text[TA_SENTENCE_MAX];
    const ta_operating_point point = {.zone = zones[i].zone,
                                      .beyond_top_line = zones[i].beyond,
                                      .restrictor_share = zones[i].restrictor_share};
    assert_string_equal(ta_say_zone(&point, text), zones[i].words);
  }
  for (int i = 0; i < TA_LIMITED_BY_COUNT; i++)
    for (int k = 0; k < i; k++)
      assert_string_not_equal(ta_say_limited_by((ta_limited_by)i),
                              ta_say_limited_by((ta_limited_by)k));
  assert_string_equal(ta_say_limited_by(TA_BY_RESTRICTOR), "the restrictor");
  assert_string_equal(ta_say_limited_by(TA_BY_MINIMUM_BOOST), "the spring");
}

static void set_points_are_said_in_what_is_held(void **state) {
  (void)state;
  planned *p = plan_of(change_nothing);
  char text[TA_SENTENCE_MAX];
  static const struct {
    int holds;
    double set_point;
    ta_unit_system units;
    const char *words;
  } rows[] = {
      {TA_HOLDS_ABSOLUTE, 171290.0, TA_METRIC, "171.2 kPa"}, /* what is shown can be held */
      {TA_HOLDS_GAUGE_KEY_ON, 171290.0, TA_METRIC, "171.2 kPa"},
      {TA_HOLDS_GAUGE, 111900.0, TA_METRIC, "1.11 bar of boost"},
      {TA_HOLDS_GAUGE, 111900.0, TA_US, "16.2 psi of boost"},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    p->it.event.car.control.holds = rows[i].holds;
    assert_string_equal(ta_say_set_point(&p->prepared, rows[i].set_point, rows[i].units, text),
                        rows[i].words);
  }
  drop(p);
}

static void thresholds_have_words(void **state) {
  (void)state;
  ta_plan *plan = calloc(1, sizeof *plan);
  ta_paragraph text;
  assert_non_null(plan);
  assert_null(ta_say_drive(plan, TA_METRIC, text));
  plan->drive.checked = true;
  plan->drive.threshold[0] =
      (ta_threshold){.elevation_m = 1463.0, .engine_rpm = 1351.0, .or_below = true};
  plan->drive.threshold[TA_THRESHOLDS - 1] =
      (ta_threshold){.elevation_m = 4117.0, .engine_rpm = 4357.0};
  assert_string_equal(
      ta_say_drive(plan, TA_METRIC, text),
      "The turbine drives it from 1,351 rpm or below at the start, from 4,357 rpm at "
      "the top.");
  plan->drive.threshold[TA_THRESHOLDS - 1].engine_rpm = (double)INFINITY;
  assert_non_null(strstr(ta_say_drive(plan, TA_METRIC, text),
                         ", not up to the window's top speed at the top."));
  plan->drive.threshold[TA_THRESHOLDS - 1].is_unknown = true;
  assert_non_null(strstr(ta_say_drive(plan, TA_METRIC, text),
                         ", from a speed that is not known (the map ends)"));
  plan->drive.threshold[0] = (ta_threshold){.engine_rpm = (double)INFINITY, .is_unknown = true};
  assert_null(ta_say_drive(plan, TA_METRIC, text));
  plan->drive.threshold[0].is_unknown = plan->drive.threshold[TA_THRESHOLDS - 1].is_unknown = false;
  assert_non_null(
      strstr(ta_say_drive(plan, TA_METRIC, text), "neither at the start nor at the top"));
  free(plan);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_reason_has_its_words),
      cmocka_unit_test(every_warning_is_provoked),
      cmocka_unit_test(heat_is_said_with_its_place),
      cmocka_unit_test(warnings_of_the_files_stand_first),
      cmocka_unit_test(zones_and_limits_have_words),
      cmocka_unit_test(thresholds_have_words),
      cmocka_unit_test(set_points_are_said_in_what_is_held),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
