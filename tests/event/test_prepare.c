/* test_prepare.c - set-points under every controller, against their rules written out by hand. */
#include "thinair/prepare.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"
#include "thinair/plan.h"

/* Some event: any controller, any goal; the rest as invented. */
static void draw(uint64_t number, invented *it) {
  uint64_t next = 31 * number;
  invented_make(it);
  ta_control *control = &it->event.car.control;
  control->holds = (int)(3.0 * invented_random(next++));
  control->overshoot_pa = 7e3 * invented_random(next++);
  control->map_error_pa = invented_random(next++) < 0.4 ? 0.0 : 3e3 * invented_random(next++);
  control->has_barometer_read_at = invented_random(next++) < 0.5;
  control->barometer_read_at_m = 900.0 + 2000.0 * invented_random(next++);
  control->has_minimum_boost = invented_random(next++) < 0.5;
  control->minimum_boost_pa = 90e3 * invented_random(next++);
  control->has_map_sensor = invented_random(next++) < 0.5;
  control->map_sensor_pa = 150e3 + 90e3 * invented_random(next++);
  const double kind = invented_random(next++);
  if (kind < 0.3)
    it->event.goal =
        (ta_goal){.boost_pa = 40e3 + 90e3 * invented_random(next++), .has_boost = true};
  else if (kind < 0.6)
    it->event.goal = (ta_goal){.map_pa = 120e3 + 90e3 * invented_random(next++), .has_map = true};
  else
    it->event.goal = (ta_goal){.point = it->goal, .point_count = 3};
  for (size_t i = 0; i < 3; i++) {
    it->goal[i] =
        (ta_goal_point){.engine_rpm = 3913.0 + (number % 2 == 0 ? 1337.0 : 1907.0) * (double)i,
                        .boost_pa = 40e3 + 90e3 * invented_random(next++),
                        .map_pa = 120e3 + 90e3 * invented_random(next++),
                        .has_map = invented_random(next++) < 0.5};
    it->goal[i].has_boost = !it->goal[i].has_map;
  }
  it->event.goal.margin = 0.031;
}

static void set_points_follow_the_controllers_rules(void **state) {
  (void)state;
  int bad = 0;
  size_t springs = 0, blind = 0;
  for (uint64_t number = 0; number < 400; number++) {
    invented it;
    draw(number, &it);
    const ta_control *control = &it.event.car.control;
    ta_prepared prepared;
    assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
    char row[40];
    (void)snprintf(row, sizeof row, "event %u, holds %d", (unsigned)number, control->holds);
    double low = HUGE_VAL, high = 0.0;
    for (double rpm = 3000.0; rpm < 7300.0; rpm += 111.7) {
      const double set = ta_prepared_goal(&prepared, rpm);
      bad += off_rel(row, "goal", set, judged_goal(&prepared, rpm), 1e-14);
      for (double ambient_pa = 55e3; ambient_pa < 90e3; ambient_pa += 9.7e3) {
        const double map_pa = ta_set_point_map(&prepared, set, ambient_pa);
        const bool gauge = control->holds == TA_HOLDS_GAUGE;
        bad += off_rel(row, "MAP", map_pa, gauge ? set + ambient_pa : set, 1e-15);
        bad += off_rel(row, "back", ta_map_set_point(&prepared, map_pa, ambient_pa), set, 1e-12);
        const double judged = ta_judged_map(&prepared, set, ambient_pa);
        bad += off_rel(row, "judged", judged, judged_map(control, set, ambient_pa), 1e-14);
        springs += judged > map_pa + control->overshoot_pa + control->map_error_pa + 1.0;
        blind += judged > ta_sensor_reach(control);
      }
    }
    const ta_speed_range window = ta_judged_speeds(&it.event.car);
    assert_true(window.low_rpm == 4130.0 && window.high_rpm == 7270.0);
    ta_car car = it.event.car; /* with a vehicle on to its shift speed, where that is higher */
    car.has_vehicle = true;
    car.vehicle.shift_rpm = 7313.0;
    assert_true(ta_judged_speeds(&car).low_rpm == 4130.0);
    assert_true(ta_judged_speeds(&car).high_rpm == 7313.0);
    car.vehicle.shift_rpm = 7211.0;
    assert_true(ta_judged_speeds(&car).high_rpm == 7270.0);
    for (int i = 0; i <= 3140; i++) {
      const double set = judged_goal(&prepared, 4130.0 + i);
      low = fmin(low, set);
      high = fmax(high, set);
    }
    for (size_t i = 0; i < it.event.goal.point_count; i++)
      if (it.goal[i].engine_rpm > 4130.0 && it.goal[i].engine_rpm < 7270.0) {
        low = fmin(low, judged_goal(&prepared, it.goal[i].engine_rpm));
        high = fmax(high, judged_goal(&prepared, it.goal[i].engine_rpm));
      }
    double lowest, highest;
    ta_prepared_goal_range(&prepared, window, &lowest, &highest);
    bad += off_rel(row, "lowest goal", lowest, low, 1e-12);
    bad += off_rel(row, "highest goal", highest, high, 1e-12);
    bad += off(row, "excess", ta_control_excess(control),
               control->overshoot_pa + control->map_error_pa, 0.0);
    if (control->has_map_sensor)
      bad += off_rel(row, "reach", ta_sensor_reach(control), 0.98 * control->map_sensor_pa, 1e-15);
    else
      assert_true(isinf(ta_sensor_reach(control)));
    assert_true(prepared.limit_rpm == 158700.0 * (1.0 - 0.031));
    ta_prepared_free(&prepared);
  }
  assert_true(springs > 500 && blind > 500);
  assert_int_equal(bad, 0);
}

/* Worked by hand: 85.0 kPa where the car starts, 79.5 kPa where the barometer was read. */
static void worked_examples(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_control *control = &it.event.car.control;
  it.event.goal = (ta_goal){.boost_pa = 110e3, .has_boost = true};
  *control = (ta_control){.overshoot_pa = 4e3, .map_error_pa = 1e3, .positions = 1.0};
  ta_prepared prepared;
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  prepared.start.pressure_pa = 85e3;
  prepared.read_pa = 79.5e3;
  int bad = 0;
  static const struct {
    int holds;
    double set, map_at_60, judged_at_60;
  } rows[] = {{TA_HOLDS_ABSOLUTE, 195e3, 195e3, 200e3},
              {TA_HOLDS_GAUGE, 110e3, 170e3, 175e3},
              {TA_HOLDS_GAUGE_KEY_ON, 189.5e3, 189.5e3, 194.5e3}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    control->holds = rows[i].holds;
    const double set = ta_prepared_goal(&prepared, 5000.0);
    bad += off("worked", "set-point", set, rows[i].set, 1e-9);
    bad += off("worked", "MAP", ta_set_point_map(&prepared, set, 60e3), rows[i].map_at_60, 1e-9);
    bad += off("worked", "judged", ta_judged_map(&prepared, set, 60e3), rows[i].judged_at_60, 1e-9);
    /* a spring of 145 kPa: its 205 kPa and the overshoot; the sensor has no say in it */
    control->has_minimum_boost = true;
    control->minimum_boost_pa = 145e3;
    bad += off("worked", "spring", ta_judged_map(&prepared, set, 60e3), 209e3, 1e-9);
    control->has_minimum_boost = false;
  }
  ta_prepared_free(&prepared);
  assert_int_equal(bad, 0);
}

/* Gauge-from-key-on is an absolute target of the boost and the ambient that was read: the same plan,
 * bit by bit. */
static void key_on_is_an_absolute_target(void **state) {
  (void)state;
  static const double read_at_m[] = {1463.0, 1971.0, 907.0};
  ta_plan *a = malloc(sizeof *a), *b = malloc(sizeof *b);
  assert_non_null(a);
  assert_non_null(b);
  for (size_t i = 0; i < COUNT_OF(read_at_m); i++) {
    invented key_on, absolute;
    invented_make(&key_on);
    invented_make(&absolute);
    key_on.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
    key_on.event.car.control.has_barometer_read_at = i > 0; /* the start unless given */
    key_on.event.car.control.barometer_read_at_m = read_at_m[i];
    key_on.event.goal = (ta_goal){.boost_pa = 91e3, .has_boost = true, .margin = 0.037};
    ta_prepared p, q;
    assert_int_equal(ta_prepare(&key_on.event, &p), TA_OK);
    absolute.event.goal.map_pa = 91e3 + judged_air(&p, read_at_m[i]).pressure_pa;
    assert_int_equal(ta_prepare(&absolute.event, &q), TA_OK);
    assert_int_equal(ta_plan_make(&p, a), TA_OK);
    assert_int_equal(ta_plan_make(&q, b), TA_OK);
    assert_int_equal(a->verdict, b->verdict);
    assert_int_equal(a->verdict, TA_OVER);
    assert_memory_equal(a->reason, b->reason, sizeof a->reason);
    assert_int_equal(a->profile.count, b->profile.count);
    for (size_t k = 0; k < a->profile.count; k++)
      assert_true(a->profile.node[k].shaft_rpm == b->profile.node[k].shaft_rpm &&
                  a->profile.node[k].map_pa == b->profile.node[k].map_pa);
    assert_int_equal(a->over.count, b->over.count);
    assert_true(a->over.first.distance_m == b->over.first.distance_m);
    assert_true(a->caps.constant.set_point == b->caps.constant.set_point &&
                a->caps.constant.per_10k == b->caps.constant.per_10k);
    assert_int_equal(a->caps.positions.count, b->caps.positions.count);
    for (size_t k = 0; k < a->caps.positions.count; k++)
      assert_true(a->caps.positions.position[k].cap.set_point ==
                  b->caps.positions.position[k].cap.set_point);
    assert_true(a->caps.shift.engine_rpm == b->caps.shift.engine_rpm);
    /* without a live barometer there is nothing to schedule by */
    assert_true(a->caps.schedule.count == 0 && b->caps.schedule.count == 8);
    ta_plan_free(a);
    ta_plan_free(b);
    ta_prepared_free(&p);
    ta_prepared_free(&q);
  }
  free(a);
  free(b);
}

/* The start line stays where it was when a part of the course is judged. */
static void a_cut_course_keeps_its_start(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.goal = (ta_goal){.boost_pa = 91e3, .has_boost = true, .margin = 0.037};
  ta_prepared whole, part;
  assert_int_equal(ta_prepare(&it.event, &whole), TA_OK);
  it.event.is_cut = true;
  it.event.start_elevation_m = 1463.0;
  it.event.course = (ta_course){it.course + 1, 3};
  assert_int_equal(ta_prepare(&it.event, &part), TA_OK);
  assert_true(part.start.pressure_pa == whole.start.pressure_pa);
  assert_true(part.read_pa == whole.read_pa);
  assert_true(ta_prepared_goal(&part, 5000.0) == 91e3 + whole.start.pressure_pa);
  ta_prepared_free(&whole);
  ta_prepared_free(&part);
}

static void refusals(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_prepared prepared;
  assert_int_equal(ta_prepare(NULL, &prepared), TA_ERR_ARGUMENT);
  assert_int_equal(ta_prepare(&it.event, NULL), TA_ERR_ARGUMENT);
  it.event.car.control.has_barometer_read_at = true;
  it.event.car.control.barometer_read_at_m = 9700.0; /* above the column of air */
  memset(&prepared, 0x5a, sizeof prepared);
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_ERR_DOMAIN);
  assert_true(prepared.map == NULL && prepared.event == NULL);
  ta_prepared_free(NULL);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(set_points_follow_the_controllers_rules),
      cmocka_unit_test(worked_examples),
      cmocka_unit_test(key_on_is_an_absolute_target),
      cmocka_unit_test(a_cut_course_keeps_its_start),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
