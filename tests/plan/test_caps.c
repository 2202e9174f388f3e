/* test_caps.c - the constant cap: on the limit at its tightest place, within it everywhere else,
 * never above the goal; what limits it, each provoked. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/caps.h"

typedef struct {
  ta_prepared prepared;
  ta_profile *profile;
  ta_over over;
  ta_constant_cap cap;
} solved;

static void find(const invented *it, solved *s) {
  assert_int_equal(ta_prepare(&it->event, &s->prepared), TA_OK);
  s->profile = malloc(sizeof *s->profile);
  assert_non_null(s->profile);
  assert_int_equal(ta_profile_make(&s->prepared, ta_boost_window(&s->prepared.event->car.engine), HUGE_VAL, s->profile), TA_OK);
  assert_int_equal(ta_over_find(&s->prepared, s->profile, &s->over), TA_OK);
  assert_int_equal(ta_constant_cap_find(&s->prepared, &s->over, &s->cap), TA_OK);
}

static void drop(solved *s) {
  ta_over_free(&s->over);
  ta_prepared_free(&s->prepared);
  free(s->profile);
}

/* Fastest shaft of the whole course at a set-point: every 37 m of height and every 61 rev/min,
 * point by point, with the goal and the overshoot written out. */
static double fastest(const solved *s, double cap_pa, double step_m) {
  const ta_event *event = s->prepared.event;
  double low, high, shaft = 0.0;
  ta_course_range(&event->course, &low, &high);
  const int steps = high > low ? (int)((high - low) / step_m) + 1 : 1;
  for (int i = 0; i <= steps; i++) {
    ta_air air;
    assert_int_equal(ta_day_air(&s->prepared.day, low + (high - low) * i / steps, &air), TA_OK);
    const double *window = event->car.engine.window_rpm;
    const int speeds = (int)((window[1] - window[0]) / 61.0) + 1;
    for (int k = 0; k <= speeds; k++) {
      const double rpm = window[0] + (window[1] - window[0]) * k / speeds;
      const double goal = event->goal.point_count == 0
                              ? event->goal.map_pa
                              : ta_goal_map(&event->goal, s->prepared.start.pressure_pa, rpm);
      const double map_pa = fmin(goal, cap_pa) + event->car.control.overshoot_pa;
      ta_operating_point point;
      if (!(map_pa > air.pressure_pa)) continue;
      assert_int_equal(ta_point_solve(&event->car, s->prepared.map, &air, rpm, map_pa, &point),
                       TA_OK);
      shaft = fmax(shaft, point.shaft_rpm);
    }
  }
  return shaft;
}

/* What holds of every cap that the limit sets. */
static int on_the_limit(const char *row, const solved *s, double goal_pa) {
  const double limit = s->prepared.limit_rpm;
  const ta_operating_point *tightest = &s->cap.tightest.point;
  int bad = 0;
  if (!s->cap.clear_of_ambient || !(s->cap.map_pa < goal_pa)) bad++;
  bad += off_rel(row, "tightest", tightest->shaft_rpm, limit, 1e-8);
  if (!(tightest->shaft_rpm <= limit)) bad++;
  if (!(fastest(s, s->cap.map_pa, 37.0) <= limit * (1.0 + 1e-9))) bad++;
  if (!(fastest(s, s->cap.map_pa * 1.001, 37.0) > limit)) bad++;
  /* the tightest point is the car's own at that place, at the cap, overshoot on */
  bad += off(row, "place", s->cap.tightest.elevation_m,
             ta_course_elevation(&s->prepared.event->course, s->cap.tightest.distance_m), 1e-6);
  ta_operating_point direct;
  ta_air air;
  assert_int_equal(ta_day_air(&s->prepared.day, s->cap.tightest.elevation_m, &air), TA_OK);
  assert_int_equal(ta_point_solve(&s->prepared.event->car, s->prepared.map, &air,
                                  tightest->engine_rpm, tightest->map_pa, &direct),
                   TA_OK);
  bad += off(row, "point", tightest->shaft_rpm, direct.shaft_rpm, 0.0);
  if (!(tightest->map_pa <= s->cap.map_pa + s->prepared.event->car.control.overshoot_pa)) bad++;
  if (bad > 0)
    print_error("%s: cap %.1f Pa, tightest %.3f rpm of %.3f, %d faults\n", row, s->cap.map_pa,
                tightest->shaft_rpm, limit, bad);
  return bad;
}

static void within_the_limit_the_goal_stands(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.goal.map_pa = 146300.0;
  solved s;
  find(&it, &s);
  assert_int_equal(s.over.count, 0);
  assert_true(s.cap.map_pa == 146300.0 && s.cap.clear_of_ambient);
  assert_int_equal(s.cap.limited_by, TA_BY_GOAL);
  assert_true(s.cap.tightest.distance_m == s.over.worst.distance_m);
  assert_true(s.cap.tightest.point.shaft_rpm == s.over.worst.point.shaft_rpm);
  drop(&s);
}

/* The highest set-point of the goal inside the window, not outside it. */
static void a_goal_of_rows_stands_at_its_highest(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.goal[0] = (ta_goal_point){.engine_rpm = 3010.0, .map_pa = 241e3, .has_map = true};
  it.goal[1] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 131e3, .has_map = true};
  it.goal[2] = (ta_goal_point){.engine_rpm = 5437.0, .map_pa = 143e3, .has_map = true};
  it.goal[3] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 127e3, .has_map = true};
  it.event.goal = (ta_goal){.point = it.goal, .point_count = 4, .margin = 0.037};
  solved s;
  find(&it, &s);
  assert_true(s.cap.map_pa == 143e3);
  assert_int_equal(s.cap.limited_by, TA_BY_GOAL);
  drop(&s);
  /* a window that begins on the slope of the first row */
  it.event.car.engine.window_rpm[0] = 4000.0;
  find(&it, &s);
  const double at_start = 241e3 + (4000.0 - 3010.0) / (4200.0 - 3010.0) * (131e3 - 241e3);
  assert_int_equal(off_rel("slope", "cap", s.cap.map_pa, at_start, 1e-14), 0);
  drop(&s);
}

static void the_cap_puts_the_tightest_point_on_the_limit(void **state) {
  (void)state;
  invented it;
  solved s;
  int bad = 0;
  invented_make(&it);
  find(&it, &s);
  bad += on_the_limit("as invented", &s, 173300.0);
  assert_int_equal(s.cap.limited_by, TA_BY_RATED_SPEED);
  assert_true(s.cap.tightest.elevation_m == 4117.0 && s.cap.tightest.distance_m == 34010.0);
  const double with_overshoot = s.cap.map_pa;
  drop(&s);

  it.event.car.control.overshoot_pa = 0.0; /* a set-point takes the overshoot off */
  find(&it, &s);
  bad += on_the_limit("no overshoot", &s, 173300.0);
  bad += off("overshoot", "cap", s.cap.map_pa, with_overshoot + 5300.0, 1e-3);
  drop(&s);

  invented_make(&it);
  it.goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 163e3, .has_map = true};
  it.goal[1] = (ta_goal_point){.engine_rpm = 5437.0, .map_pa = 187e3, .has_map = true};
  it.goal[2] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 171e3, .has_map = true};
  it.event.goal = (ta_goal){.point = it.goal, .point_count = 3, .margin = 0.037};
  find(&it, &s);
  bad += on_the_limit("goal of rows", &s, 187e3);
  drop(&s);

  invented_make(&it); /* a warm layer halfway: the tightest place is not the summit */
  ta_station stations[] = {
      {.elevation_m = 1463.0, .temperature_k = 281.3, .pressure_pa = 85300.0, .has_pressure = true},
      {.elevation_m = 3907.0, .temperature_k = 303.7},
      {.elevation_m = 4117.0, .temperature_k = 268.1}};
  it.event.day = (ta_day_reading){
      .station = stations, .station_count = COUNT_OF(stations), .lapse_rate_k_m = 0.0065};
  it.event.day_is_isa = false;
  find(&it, &s);
  assert_true(fabs(s.cap.tightest.elevation_m - 3907.0) < 40.0);
  if (!(fastest(&s, s.cap.map_pa, 5.0) <= s.prepared.limit_rpm * (1.0 + 1e-5))) bad++;
  if (!(fastest(&s, s.cap.map_pa * 1.001, 5.0) > s.prepared.limit_rpm)) bad++;
  drop(&s);

  invented_make(&it); /* downhill, and a course that reaches the summit twice: the first of them */
  it.course[0].elevation_m = 4117.0;
  it.course[1].elevation_m = 3307.0;
  find(&it, &s);
  bad += on_the_limit("twice", &s, 173300.0);
  assert_true(s.cap.tightest.distance_m == 0.0);
  drop(&s);

  invented_make(&it); /* flat */
  it.event.course.count = 2;
  it.course[0].elevation_m = it.course[1].elevation_m = 3907.0;
  find(&it, &s);
  bad += on_the_limit("flat", &s, 173300.0);
  assert_true(s.cap.tightest.distance_m == 0.0);
  drop(&s);
  assert_int_equal(bad, 0);
}

/* The map of a large wheel on a small engine, and of a small one on a large engine. */
static void surge_and_choke_limit(void **state) {
  (void)state;
  invented it;
  solved s;
  int bad = 0;
  invented_make(&it);
  it.event.car.engine.displacement_m3 *= 0.4;
  it.event.goal.map_pa = 251e3;
  it.event.car.turbo.rated_rpm = 151300.0;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_SURGE);
  assert_int_equal(s.cap.tightest.point.zone, TA_SURGE);
  bad += on_the_limit("surge", &s, 251e3);
  drop(&s);

  invented_make(&it);
  it.event.car.engine.displacement_m3 *= 1.7;
  for (size_t i = 0; i < 3; i++) it.course[i].elevation_m = 3907.0 + 53.0 * (double)i;
  it.event.goal.map_pa = 101e3;
  it.event.car.turbo.rated_rpm = 131300.0;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_CHOKE);
  assert_int_equal(s.cap.tightest.point.zone, TA_CHOKE);
  bad += on_the_limit("choke", &s, 101e3);
  drop(&s);
  assert_int_equal(bad, 0);
}

/* An engine so large that the air it draws without boost turns the wheel past the limit. */
static void no_boost_at_all_may_be_over(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.turbo.rated_rpm = 51300.0;
  it.event.car.engine.displacement_m3 *= 2.3;
  it.event.goal.map_pa = 151e3;
  solved s;
  find(&it, &s);
  assert_false(s.cap.clear_of_ambient);
  ta_air summit;
  assert_int_equal(ta_day_air(&s.prepared.day, 4117.0, &summit), TA_OK);
  int bad = off_rel("ambient", "set-point", s.cap.map_pa, summit.pressure_pa, 1e-8);
  assert_true(s.cap.tightest.point.shaft_rpm > s.prepared.limit_rpm);
  drop(&s);
  assert_int_equal(bad, 0);
}

/* A limit past what the map can tell: the cap stops where the map does. */
static void the_cap_stops_where_the_map_ends(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.goal.map_pa = 351e3;
  it.event.car.turbo.rated_rpm = 400e3;
  solved s;
  find(&it, &s);
  assert_true(isinf(s.over.worst.point.shaft_rpm) && isfinite(s.cap.tightest.point.shaft_rpm));
  assert_true(isfinite(fastest(&s, s.cap.map_pa, 37.0)) &&
              isinf(fastest(&s, s.cap.map_pa * 1.001, 37.0)));
  assert_true(s.cap.map_pa < 351e3);
  drop(&s);
}

static void names_and_refusals(void **state) {
  (void)state;
  assert_string_equal(ta_limited_by_name(TA_BY_GOAL), "goal");
  assert_string_equal(ta_limited_by_name(TA_BY_RATED_SPEED), "rated_speed");
  assert_string_equal(ta_limited_by_name(TA_BY_SURGE), "surge");
  assert_string_equal(ta_limited_by_name(TA_BY_CHOKE), "choke");
  assert_string_equal(ta_limited_by_name(TA_LIMITED_BY_COUNT), "?");
  assert_int_equal(ta_limited_by_zone(TA_MAPPED), TA_BY_RATED_SPEED);
  assert_int_equal(ta_limited_by_zone(TA_EXTRAPOLATED), TA_BY_RATED_SPEED);
  invented it;
  invented_make(&it);
  solved s;
  find(&it, &s);
  ta_constant_cap cap = {.map_pa = -7.0};
  assert_int_equal(ta_constant_cap_find(NULL, &s.over, &cap), TA_ERR_ARGUMENT);
  assert_int_equal(ta_constant_cap_find(&s.prepared, NULL, &cap), TA_ERR_ARGUMENT);
  assert_int_equal(ta_constant_cap_find(&s.prepared, &s.over, NULL), TA_ERR_ARGUMENT);
  s.over.worst.elevation_m = 9500.0; /* above the column of air */
  assert_int_equal(ta_constant_cap_find(&s.prepared, &s.over, &cap), TA_ERR_DOMAIN);
  assert_true(cap.map_pa == -7.0);
  drop(&s);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(within_the_limit_the_goal_stands),
      cmocka_unit_test(a_goal_of_rows_stands_at_its_highest),
      cmocka_unit_test(the_cap_puts_the_tightest_point_on_the_limit),
      cmocka_unit_test(surge_and_choke_limit),
      cmocka_unit_test(no_boost_at_all_may_be_over),
      cmocka_unit_test(the_cap_stops_where_the_map_ends),
      cmocka_unit_test(names_and_refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
