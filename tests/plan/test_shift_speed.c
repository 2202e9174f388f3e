/* test_shift_speed.c - the shift speed that holds the goal: solved again up to it nothing passes the
 * limit, and one rev/min more does. */
#include "thinair/shift_speed.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"

static void find(const invented *it, ta_prepared *prepared, ta_profile *profile,
                 ta_shift_speed *shift) {
  assert_int_equal(ta_prepare(&it->event, prepared), TA_OK);
  assert_int_equal(ta_profile_make(prepared, ta_judged_speeds(&it->event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(ta_shift_speed_find(prepared, profile, shift), TA_OK);
}

static double fastest_to(const ta_prepared *prepared, double high_rpm) {
  return judged_fastest_between(prepared, 0, prepared->event->course.count - 1, 53.0, 31.0,
                                high_rpm, HUGE_VAL);
}

static void one_more_rpm_passes_the_limit(void **state) {
  (void)state;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  int bad = 0;
  size_t asked = 0;
  for (int kind = 0; kind < 8; kind++) {
    invented it;
    invented_make(&it);
    ta_station stations[] = {{.elevation_m = 1463.0,
                              .temperature_k = 281.3,
                              .pressure_pa = 85300.0,
                              .has_pressure = true},
                             {.elevation_m = 3907.0, .temperature_k = 303.7},
                             {.elevation_m = 4117.0, .temperature_k = 268.1}};
    if (kind == 1) it.event.goal.map_pa = 168e3;
    if (kind == 2) {
      it.event.car.control.holds = TA_HOLDS_GAUGE;
      it.event.car.control.map_error_pa = 1300.0;
      it.event.goal = (ta_goal){.boost_pa = 104e3, .has_boost = true, .margin = 0.037};
    }
    if (kind == 3) {
      it.goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 153e3, .has_map = true};
      it.goal[1] = (ta_goal_point){.engine_rpm = 5437.0, .map_pa = 191e3, .has_map = true};
      it.goal[2] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 163e3, .has_map = true};
      it.event.goal = (ta_goal){.point = it.goal, .point_count = 3, .margin = 0.037};
    }
    if (kind == 4) { /* the tightest place is not the summit */
      it.event.day = (ta_day_reading){
          .station = stations, .station_count = COUNT_OF(stations), .lapse_rate_k_m = 0.0065};
      it.event.day_is_isa = false;
    }
    if (kind == 5) {
      it.event.car.intake.has_restrictor = true;
      it.event.car.intake.restrictor = (ta_restrictor){0.0331, 1.0, 0.83};
      it.event.goal.map_pa = 151e3;
    }
    if (kind == 6) {
      it.event.car.control.has_minimum_boost = true;
      it.event.car.control.minimum_boost_pa = 109e3;
      it.event.goal.map_pa = 131e3;
    }
    if (kind == 7) { /* down first */
      it.course[0].elevation_m = 4117.0;
      it.course[3].elevation_m = 4003.0;
    }
    ta_prepared prepared;
    ta_shift_speed shift;
    find(&it, &prepared, profile, &shift);
    const double limit = prepared.limit_rpm, rpm = shift.engine_rpm;
    char row[20];
    (void)snprintf(row, sizeof row, "kind %d", kind);
    if (shift.none || shift.whole_window) fail_msg("%s: %d %.1f", row, shift.none, rpm);
    assert_true(rpm > 4130.0 && rpm < 7270.0);
    asked++;
    if (!(fastest_to(&prepared, rpm) <= limit * (1.0 + (kind == 4 ? 1e-5 : 1e-6)))) {
      print_error("%s: %.2f of %.2f rpm up to %.2f\n", row, fastest_to(&prepared, rpm), limit, rpm);
      bad++;
    }
    /* one more at the place that is told */
    const ta_air air = judged_air(&prepared, shift.elevation_m);
    assert_true(judged_fastest(&prepared, &air, 4130.0, rpm + 1.0, 31.0, HUGE_VAL) > limit);
    assert_true(judged_fastest(&prepared, &air, 4130.0, rpm, 31.0, HUGE_VAL) <= limit);
    bad += off(row, "engine speed", shift.at.engine_rpm, rpm, 0.0);
    bad += off_rel(row, "MAP", shift.at.map_pa,
                   judged_map(&it.event.car.control, judged_goal(&prepared, rpm), air.pressure_pa),
                   1e-12);
    bad += off_rel(row, "ambient", shift.at.ambient.pressure_pa, air.pressure_pa, 1e-14);
    if (kind == 4) assert_true(fabs(shift.elevation_m - 3907.0) < 40.0);
    ta_prepared_free(&prepared);
  }
  free(profile);
  assert_int_equal(asked, 8);
  assert_int_equal(bad, 0);
}

static void the_whole_window_or_nothing(void **state) {
  (void)state;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  invented it;
  invented_make(&it);
  ta_prepared prepared;
  ta_shift_speed shift;
  it.event.goal.map_pa = 143e3; /* within the limit up to the top */
  find(&it, &prepared, profile, &shift);
  assert_true(shift.whole_window && !shift.none && shift.engine_rpm == 7270.0);
  assert_true(shift.at.engine_rpm == 7270.0 && shift.at.map_pa == 143e3 + 5300.0);
  ta_prepared_free(&prepared);

  it.event.goal.map_pa = 243e3; /* too much at the low end already */
  find(&it, &prepared, profile, &shift);
  assert_true(shift.none && !shift.whole_window);
  assert_true(fastest_to(&prepared, 4130.0) > prepared.limit_rpm);
  ta_prepared_free(&prepared);
  free(profile);
}

static void refusals(void **state) {
  (void)state;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  invented it;
  invented_make(&it);
  ta_prepared prepared;
  ta_shift_speed shift;
  find(&it, &prepared, profile, &shift);
  shift.engine_rpm = -7.0;
  assert_int_equal(ta_shift_speed_find(NULL, profile, &shift), TA_ERR_ARGUMENT);
  assert_int_equal(ta_shift_speed_find(&prepared, NULL, &shift), TA_ERR_ARGUMENT);
  assert_int_equal(ta_shift_speed_find(&prepared, profile, NULL), TA_ERR_ARGUMENT);
  profile->elevation_m[profile->count - 1] = 9500.0; /* above the column of air */
  assert_int_equal(ta_shift_speed_find(&prepared, profile, &shift), TA_ERR_DOMAIN);
  assert_true(shift.engine_rpm == -7.0);
  ta_prepared_free(&prepared);
  free(profile);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_more_rpm_passes_the_limit),
      cmocka_unit_test(the_whole_window_or_nothing),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
