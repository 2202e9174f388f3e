/* test_strategy.c - the ways to run: which are offered, and the set-point that each lets through. */
#include "thinair/strategy.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"

static ta_plan *planned(const invented *it, ta_prepared *prepared) {
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  assert_int_equal(ta_prepare(&it->event, prepared), TA_OK);
  assert_int_equal(ta_plan_make(prepared, plan), TA_OK);
  return plan;
}

static void drop(ta_plan *plan, ta_prepared *prepared) {
  ta_plan_free(plan);
  ta_prepared_free(prepared);
  free(plan);
}

static void change_nothing(invented *it) {
  it->event.goal.map_pa = 168e3; /* an earlier shift would do */
}

static void change_to_a_tame_target(invented *it) {
  it->event.goal.map_pa = 141e3;
}

static void change_to_key_on(invented *it) {
  change_nothing(it);
  it->event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
}

static void change_to_no_marks(invented *it) {
  change_nothing(it);
  for (size_t i = 0; i < 4; i++) it->course[i].mark = NULL;
}

static void change_to_far_too_much(invented *it) {
  it->event.goal.map_pa = 253e3; /* too much at the window's low end as well */
}

static void change_to_a_hard_spring(invented *it) {
  it->event.goal.map_pa = 141e3;
  it->event.car.control.has_minimum_boost = true;
  it->event.car.control.minimum_boost_pa = 113e3;
}

/* Within the limit, and beyond what the sensor reads. */
static void change_to_a_blind_sensor(invented *it) {
  it->event.goal.map_pa = 141e3;
  it->event.car.control.has_map_sensor = true;
  it->event.car.control.map_sensor_pa = 143e3;
}

static void only_what_helps_is_offered(void **state) {
  (void)state;
  static const struct {
    const char *row;
    void (*change)(invented *it);
    bool offered[TA_STRATEGY_COUNT]; /* target, ambient, position, one cap, shift */
  } rows[] = {
      {"as invented", change_nothing, {true, true, true, true, true}},
      {"a tame target", change_to_a_tame_target, {true, false, false, false, false}},
      {"key-on", change_to_key_on, {true, false, true, true, true}},
      {"no marks", change_to_no_marks, {true, true, false, true, true}},
      {"far too much", change_to_far_too_much, {true, true, true, true, false}},
      {"a blind sensor", change_to_a_blind_sensor, {true, true, false, true, false}},
      {"a hard spring", change_to_a_hard_spring, {true, false, false, false, true}},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    ta_prepared prepared;
    invented_make(&it);
    rows[i].change(&it);
    ta_plan *plan = planned(&it, &prepared);
    for (int s = 0; s < TA_STRATEGY_COUNT; s++) {
      if (ta_strategy_offered(plan, (ta_strategy)s) == rows[i].offered[s]) continue;
      print_error("%s: %s\n", rows[i].row, ta_strategy_name((ta_strategy)s));
      bad++;
    }
    drop(plan, &prepared);
  }
  assert_int_equal(bad, 0);
}

/* Along the course, at the set-point that each lets through: only the full target passes. */
static void what_is_offered_stays_within_the_limit(void **state) {
  (void)state;
  invented it;
  ta_prepared prepared;
  invented_make(&it);
  change_nothing(&it);
  ta_plan *plan = planned(&it, &prepared);
  const ta_course *course = &it.event.course;
  for (int s = 0; s < TA_STRATEGY_COUNT; s++) {
    const ta_strategy strategy = (ta_strategy)s;
    const ta_speed_range speeds = ta_strategy_speeds(&prepared, plan, strategy);
    assert_true(speeds.low_rpm == 4130.0);
    assert_true(speeds.high_rpm == (s == TA_EARLY_SHIFT ? plan->shift.engine_rpm : 7270.0));
    double fastest = 0.0;
    for (double at_m = 0.0; at_m <= 34010.0; at_m += 34010.0 / 83.0) {
      const ta_air air = judged_air(&prepared, ta_course_elevation(course, at_m));
      const double cap = ta_strategy_cap(plan, strategy, at_m, air.pressure_pa);
      assert_true(isinf(cap) == (s == TA_FULL_TARGET || s == TA_EARLY_SHIFT));
      fastest = fmax(fastest,
                     judged_fastest(&prepared, &air, speeds.low_rpm, speeds.high_rpm, 97.0, cap));
    }
    assert_true((fastest > prepared.limit_rpm) == (s == TA_FULL_TARGET));
    assert_true(fastest > 0.98 * prepared.limit_rpm);
  }
  drop(plan, &prepared);
}

/* By hand: rows of 80, 70 and 60 kPa; positions from 100, 900 and 1700 m. */
static void set_points_worked_by_hand(void **state) {
  (void)state;
  ta_plan *plan = calloc(1, sizeof *plan);
  assert_non_null(plan);
  plan->schedule.count = 3;
  static const double ambient_pa[] = {80e3, 70e3, 60e3}, set[] = {210e3, 190e3, 150e3};
  for (size_t i = 0; i < 3; i++) {
    plan->schedule.row[i].ambient_pa = ambient_pa[i];
    plan->schedule.row[i].set_point = set[i];
  }
  ta_position position[] = {{.from_distance_m = 100.0, .cap.set_point = 205e3},
                            {.from_distance_m = 900.0, .cap.set_point = 185e3},
                            {.from_distance_m = 1700.0, .cap.set_point = 145e3}};
  plan->positions = (ta_positions){position, 3};
  plan->constant.set_point = 143e3;
  static const struct {
    ta_strategy strategy;
    double distance_m, ambient_pa, want;
  } rows[] = {
      {TA_BY_AMBIENT, 0.0, 91e3, 210e3},       {TA_BY_AMBIENT, 0.0, 80e3, 210e3},
      {TA_BY_AMBIENT, 0.0, 77.5e3, 205e3},     {TA_BY_AMBIENT, 0.0, 70e3, 190e3},
      {TA_BY_AMBIENT, 0.0, 62.5e3, 160e3},     {TA_BY_AMBIENT, 0.0, 60e3, 150e3},
      {TA_BY_AMBIENT, 0.0, 51e3, 150e3},       {TA_BY_POSITION, 100.0, 0.0, 205e3},
      {TA_BY_POSITION, 899.0, 0.0, 205e3},     {TA_BY_POSITION, 900.0, 0.0, 185e3},
      {TA_BY_POSITION, 1699.0, 0.0, 185e3},    {TA_BY_POSITION, 1700.0, 0.0, 145e3},
      {TA_BY_POSITION, 99000.0, 0.0, 145e3},   {TA_ONE_CAP, 500.0, 65e3, 143e3},
      {TA_FULL_TARGET, 500.0, 65e3, HUGE_VAL}, {TA_EARLY_SHIFT, 500.0, 65e3, HUGE_VAL},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const double got =
        ta_strategy_cap(plan, rows[i].strategy, rows[i].distance_m, rows[i].ambient_pa);
    if (isinf(rows[i].want))
      bad += !isinf(got);
    else
      bad += off_rel(ta_strategy_name(rows[i].strategy), "set-point", got, rows[i].want, 1e-14);
  }
  free(plan);
  assert_int_equal(bad, 0);
}

static void names(void **state) {
  (void)state;
  assert_string_equal(ta_strategy_name(TA_FULL_TARGET), "target");
  assert_string_equal(ta_strategy_name(TA_BY_AMBIENT), "schedule");
  assert_string_equal(ta_strategy_name(TA_BY_POSITION), "positions");
  assert_string_equal(ta_strategy_name(TA_ONE_CAP), "constant");
  assert_string_equal(ta_strategy_name(TA_EARLY_SHIFT), "shift_speed");
  assert_string_equal(ta_strategy_words(TA_ONE_CAP), "one cap for the whole run");
  assert_string_equal(ta_strategy_name(TA_STRATEGY_COUNT), "?");
  assert_string_equal(ta_strategy_words(TA_STRATEGY_COUNT), "?");
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(only_what_helps_is_offered),
      cmocka_unit_test(what_is_offered_stays_within_the_limit),
      cmocka_unit_test(set_points_worked_by_hand),
      cmocka_unit_test(names),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
