/* test_caps.c - the caps of one air and of the whole run: on the limit at its tightest place, within it everywhere else,
 * never above the goal; what limits it, each provoked. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"
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
  assert_int_equal(ta_profile_make(&s->prepared, ta_judged_speeds(&s->prepared.event->car),
                                   HUGE_VAL, s->profile),
                   TA_OK);
  assert_int_equal(ta_over_find(&s->prepared, s->profile, &s->over), TA_OK);
  assert_int_equal(ta_constant_cap_find(&s->prepared, s->profile, &s->cap), TA_OK);
}

static void drop(solved *s) {
  ta_over_free(&s->over);
  ta_prepared_free(&s->prepared);
  free(s->profile);
}

/* Fastest shaft of the whole course at a set-point. */
static double fastest(const solved *s, double cap, double step_m) {
  const ta_event *event = s->prepared.event;
  return judged_fastest_between(&s->prepared, 0, event->course.count - 1, step_m, 61.0,
                                event->car.engine.window_rpm[1], cap);
}

/* What holds of every cap that the limit sets. */
static int on_the_limit(const char *row, const solved *s, double goal_set) {
  const double limit = s->prepared.limit_rpm;
  const ta_operating_point *tightest = &s->cap.tightest.point;
  int bad = 0;
  if (!s->cap.can_be_had || !(s->cap.set_point < goal_set)) bad++;
  bad += off_rel(row, "tightest", tightest->shaft_rpm, limit, 1e-8);
  if (!(tightest->shaft_rpm <= limit)) bad++;
  if (!(fastest(s, s->cap.set_point, 37.0) <= limit * (1.0 + 1e-9))) bad++;
  if (!(fastest(s, s->cap.set_point * 1.001, 37.0) > limit)) bad++;
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
  bad += off_rel(
      row, "judged at", tightest->map_pa,
      judged_map(&s->prepared.event->car.control, s->cap.set_point, tightest->ambient.pressure_pa),
      1e-9);
  if (bad > 0)
    print_error("%s: cap %.1f Pa, tightest %.3f rpm of %.3f, %d faults\n", row, s->cap.set_point,
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
  assert_true(s.cap.set_point == 146300.0 && s.cap.can_be_had);
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
  assert_true(s.cap.set_point == 143e3);
  assert_int_equal(s.cap.limited_by, TA_BY_GOAL);
  drop(&s);
  /* a window that begins on the slope of the first row */
  it.event.car.engine.window_rpm[0] = 4000.0;
  find(&it, &s);
  const double at_start = 241e3 + (4000.0 - 3010.0) / (4200.0 - 3010.0) * (131e3 - 241e3);
  assert_int_equal(off_rel("slope", "cap", s.cap.set_point, at_start, 1e-14), 0);
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
  const double with_overshoot = s.cap.set_point;
  drop(&s);

  it.event.car.control.overshoot_pa = 0.0; /* a set-point takes the overshoot off */
  find(&it, &s);
  bad += on_the_limit("no overshoot", &s, 173300.0);
  bad += off("overshoot", "cap", s.cap.set_point, with_overshoot + 5300.0, 1e-3);
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
  if (!(fastest(&s, s.cap.set_point, 5.0) <= s.prepared.limit_rpm * (1.0 + 1e-5))) bad++;
  if (!(fastest(&s, s.cap.set_point * 1.001, 5.0) > s.prepared.limit_rpm)) bad++;
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
  assert_false(s.cap.can_be_had);
  assert_int_equal(s.cap.limited_by, TA_BY_CHOKE); /* of the compressor, with no boost at all */
  const ta_air summit = judged_air(&s.prepared, 4117.0);
  assert_true(judged_fastest(&s.prepared, &summit, 4130.0, 7270.0, 61.0,
                             summit.pressure_pa * 1.0001 - 5300.0) > s.prepared.limit_rpm);
  assert_true(s.cap.tightest.point.shaft_rpm > s.prepared.limit_rpm);
  drop(&s);
  it.event.car.control.has_minimum_boost = true; /* no set-point helps while the spring is there */
  it.event.car.control.minimum_boost_pa = 31e3;
  find(&it, &s);
  assert_false(s.cap.can_be_had);
  assert_int_equal(s.cap.limited_by, TA_BY_MINIMUM_BOOST);
  drop(&s);
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
  assert_true(isfinite(fastest(&s, s.cap.set_point, 37.0)) &&
              isinf(fastest(&s, s.cap.set_point * 1.001, 37.0)));
  assert_true(s.cap.set_point < 351e3);
  drop(&s);
}

/* A controller of boost: tightest is where boost above the live ambient is least. */
static void a_gauge_controller_is_capped_in_boost(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.control.holds = TA_HOLDS_GAUGE;
  it.event.car.control.map_error_pa = 1700.0;
  it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
  solved s;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_RATED_SPEED);
  const int bad = on_the_limit("gauge", &s, 113e3);
  assert_true(s.cap.set_point < 113e3 && s.cap.set_point > 70e3);
  drop(&s);
  assert_int_equal(bad, 0);
}

/* Throats that choke before the shaft reaches its limit: the highest MAP that air can be drawn for. */
static void a_restrictor_limits(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.intake.has_restrictor = true;
  it.event.car.intake.restrictor = (ta_restrictor){0.0337, 1.0, 0.87};
  it.event.car.turbo.rated_rpm = 191e3;
  solved s;
  find(&it, &s);
  assert_true(s.over.count > 0 && isinf(s.over.worst.point.shaft_rpm));
  assert_int_equal(s.cap.limited_by, TA_BY_RESTRICTOR);
  assert_true(s.cap.can_be_had && s.cap.set_point < 173300.0);
  const ta_operating_point *tightest = &s.cap.tightest.point;
  assert_true(tightest->restrictor_share < 1.0 && tightest->restrictor_share > 1.0 - 1e-6);
  /* 0.6847 A p0/sqrt(R T0): NACA Report 1135 (1953), equation for choked flow, gamma 1.4 */
  const double area = 3.14159265358979 / 4.0 * 0.0337 * 0.0337;
  int bad = off_rel("choked", "flow", tightest->air_flow_kg_s,
                    0.68473 * area * tightest->ambient.pressure_pa /
                        sqrt(tightest->ambient.gas_constant_jkgk * tightest->ambient.temperature_k),
                    1e-5);
  if (!(fastest(&s, s.cap.set_point, 37.0) <= s.prepared.limit_rpm)) bad++;
  if (!isinf(fastest(&s, s.cap.set_point * 1.001, 37.0))) bad++;
  drop(&s);
  assert_int_equal(bad, 0);
}

/* Above 98 % of full scale the controller does not see its own pressure.  Sensors are absolute, so a
 * boost is first beyond it where the air is densest. */
static void a_sensor_limits(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_control *control = &it.event.car.control;
  control->map_error_pa = 1100.0;
  control->has_map_sensor = true;
  control->map_sensor_pa = 149e3;
  solved s;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_MAP_SENSOR);
  int bad = off("absolute", "cap", s.cap.set_point, 0.98 * 149e3 - 5300.0 - 1100.0, 1e-6);
  assert_true(s.cap.can_be_had && s.cap.per_10k == 0.0);
  drop(&s);

  control->map_sensor_pa = 193e3; /* the shaft is at its limit before */
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_RATED_SPEED);
  drop(&s);

  control->holds = TA_HOLDS_GAUGE;
  control->map_sensor_pa = 151e3;
  it.event.goal = (ta_goal){.boost_pa = 71e3, .has_boost = true, .margin = 0.037};
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_MAP_SENSOR);
  bad += off("gauge", "cap", s.cap.set_point,
             0.98 * 151e3 - 5300.0 - 1100.0 - judged_air(&s.prepared, 1463.0).pressure_pa, 1e-6);
  assert_true(s.cap.tightest.elevation_m == 1463.0);
  drop(&s);

  control->map_sensor_pa = 221e3; /* within its range everywhere */
  it.event.goal.boost_pa = 61e3;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_GOAL);
  assert_int_equal(bad + off("wide", "cap", s.cap.set_point, 61e3, 1e-9), 0);
  drop(&s);
}

/* The spring alone passes the limit at the summit: no set-point helps there. */
static void a_spring_may_leave_no_cap(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_control *control = &it.event.car.control;
  control->has_minimum_boost = true;
  control->minimum_boost_pa = 111e3;
  solved s;
  find(&it, &s);
  assert_int_equal(s.cap.limited_by, TA_BY_MINIMUM_BOOST);
  assert_false(s.cap.can_be_had);
  assert_true(fastest(&s, 1e3, 37.0) > s.prepared.limit_rpm);
  drop(&s);
  control->minimum_boost_pa = 83e3; /* softer than the cap: no matter */
  find(&it, &s);
  const int bad = on_the_limit("a soft spring", &s, 173300.0);
  assert_int_equal(s.cap.limited_by, TA_BY_RATED_SPEED);
  drop(&s);
  assert_int_equal(bad, 0);
}

/* Point caps of one air: against counting the set-point up by hand, all modes. */
static void the_cap_of_a_place_is_the_first_that_passes(void **state) {
  (void)state;
  int bad = 0;
  for (int holds = TA_HOLDS_ABSOLUTE; holds <= TA_HOLDS_GAUGE_KEY_ON; holds++) {
    invented it;
    invented_make(&it);
    it.event.car.control.holds = holds;
    it.event.car.control.map_error_pa = 1300.0;
    it.goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .boost_pa = 89e3, .has_boost = true};
    it.goal[1] = (ta_goal_point){.engine_rpm = 5437.0, .map_pa = 203e3, .has_map = true};
    it.goal[2] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 187e3, .has_map = true};
    it.event.goal = (ta_goal){.point = it.goal, .point_count = 3, .margin = 0.037};
    ta_prepared prepared;
    assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
    const ta_speed_range window = {4130.0, 7270.0};
    for (double z = 2003.0; z < 4300.0; z += 570.0) {
      const ta_air air = judged_air(&prepared, z);
      const double none = holds == TA_HOLDS_GAUGE ? 0.0 : air.pressure_pa, step = 130.0;
      ta_place_cap cap;
      assert_int_equal(ta_place_cap_find(&prepared, window, &air, &cap), TA_OK);
      double first = none + step, high = judged_goal(&prepared, 5437.0);
      while (first < high &&
             judged_fastest(&prepared, &air, 4130.0, 7270.0, 61.0, first) <= prepared.limit_rpm)
        first += step;
      if (first >= high)
        bad += off("goal", "cap", cap.set_point, high, 1e-6);
      else
        bad += off("cap", "set-point", cap.set_point, first - 0.5 * step, 0.5 * step + 2.0);
      assert_int_equal(cap.limited_by, first >= high ? TA_BY_GOAL : TA_BY_RATED_SPEED);
      assert_true(cap.can_be_had);
      /* 10 K warmer, the same pressure, the same vapour */
      ta_air warm = air;
      warm.temperature_k += 10.0;
      warm.density_kgm3 = warm.pressure_pa / (warm.gas_constant_jkgk * warm.temperature_k);
      ta_place_cap warmer;
      double change = 0.0;
      assert_int_equal(ta_cap_per_10k(&prepared, window, &cap, &change), TA_OK);
      assert_int_equal(ta_place_cap_find(&prepared, window, &warm, &warmer), TA_OK);
      bad += off("10 K", "change", change, warmer.set_point - cap.set_point, 1e-6);
      if (cap.limited_by != TA_BY_GOAL) assert_true(change < -1e3);
    }
    ta_prepared_free(&prepared);
  }
  assert_int_equal(bad, 0);
}

static void names_and_refusals(void **state) {
  (void)state;
  assert_string_equal(ta_limited_by_name(TA_BY_GOAL), "goal");
  assert_string_equal(ta_limited_by_name(TA_BY_RATED_SPEED), "rated_speed");
  assert_string_equal(ta_limited_by_name(TA_BY_SURGE), "surge");
  assert_string_equal(ta_limited_by_name(TA_BY_CHOKE), "choke");
  assert_string_equal(ta_limited_by_name(TA_LIMITED_BY_COUNT), "?");
  assert_string_equal(ta_limited_by_name(TA_BY_RESTRICTOR), "restrictor");
  assert_string_equal(ta_limited_by_name(TA_BY_MAP_SENSOR), "map_sensor");
  assert_string_equal(ta_limited_by_name(TA_BY_MINIMUM_BOOST), "minimum_boost");
  assert_int_equal(ta_limited_by_point(TA_MAPPED, 0.0), TA_BY_RATED_SPEED);
  assert_int_equal(ta_limited_by_point(TA_EXTRAPOLATED, 0.97), TA_BY_RATED_SPEED);
  assert_int_equal(ta_limited_by_point(TA_SURGE, 0.0), TA_BY_SURGE);
  assert_int_equal(ta_limited_by_point(TA_CHOKE, 0.9), TA_BY_CHOKE);
  assert_int_equal(ta_limited_by_point(TA_CHOKE, 1.0), TA_BY_RESTRICTOR);
  assert_int_equal(ta_limited_by_point(TA_MAPPED, 1.0 - 1e-7), TA_BY_RESTRICTOR);
  invented it;
  invented_make(&it);
  solved s;
  find(&it, &s);
  ta_constant_cap cap = {.set_point = -7.0};
  assert_int_equal(ta_constant_cap_find(NULL, s.profile, &cap), TA_ERR_ARGUMENT);
  assert_int_equal(ta_constant_cap_find(&s.prepared, NULL, &cap), TA_ERR_ARGUMENT);
  assert_int_equal(ta_constant_cap_find(&s.prepared, s.profile, NULL), TA_ERR_ARGUMENT);
  const ta_speed_range window = {4130.0, 7270.0}, turned = {7270.0, 4130.0};
  const ta_air air = s.prepared.start;
  ta_place_cap place = {.set_point = -7.0};
  double change = -7.0;
  assert_int_equal(ta_place_cap_find(NULL, window, &air, &place), TA_ERR_ARGUMENT);
  assert_int_equal(ta_place_cap_find(&s.prepared, window, NULL, &place), TA_ERR_ARGUMENT);
  assert_int_equal(ta_place_cap_find(&s.prepared, window, &air, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_place_cap_find(&s.prepared, turned, &air, &place), TA_ERR_ARGUMENT);
  assert_int_equal(ta_cap_per_10k(NULL, window, &place, &change), TA_ERR_ARGUMENT);
  assert_int_equal(ta_cap_per_10k(&s.prepared, window, NULL, &change), TA_ERR_ARGUMENT);
  assert_int_equal(ta_cap_per_10k(&s.prepared, window, &place, NULL), TA_ERR_ARGUMENT);
  it.course[3].elevation_m = 9500.0; /* above the column of air */
  assert_int_equal(ta_constant_cap_find(&s.prepared, s.profile, &cap), TA_ERR_DOMAIN);
  assert_true(cap.set_point == -7.0 && place.set_point == -7.0 && change == -7.0);
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
      cmocka_unit_test(a_gauge_controller_is_capped_in_boost),
      cmocka_unit_test(a_restrictor_limits),
      cmocka_unit_test(a_sensor_limits),
      cmocka_unit_test(a_spring_may_leave_no_cap),
      cmocka_unit_test(the_cap_of_a_place_is_the_first_that_passes),
      cmocka_unit_test(names_and_refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
