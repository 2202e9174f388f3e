/* test_trade.c - facts of the trade: what anyone who tunes turbocharged cars would check first. */
#include <gsl/gsl_errno.h>

#include "../invented_car.h"
#include "thinair/operating_point.h"
#include "thinair/prepare.h"
#include "thinair/quantity.h"

static double si(const char *text, ta_kind kind) {
  double value = (double)NAN;
  assert_int_equal(ta_quantity_parse(text, kind, &value, NULL, 0), TA_OK);
  return value;
}

/* Common practice: MAP is boost plus ambient; 10 psi of boost where the air has 14.7 psi is
 * 24.7 psi absolute. */
static void map_is_boost_plus_ambient(void **state) {
  (void)state;
  const ta_goal goal = {.boost_pa = si("10 psi", TA_GAUGE_PRESSURE), .has_boost = true};
  const double map_pa = ta_goal_map(&goal, si("14.7 psia", TA_PRESSURE), 5000.0);
  int bad = off_rel("10 psi", "MAP", map_pa, si("24.7 psia", TA_PRESSURE), 1e-12);
  /* the same through a prepared event: boost is what is seen at the start line, and the absolute
   * target stays as the car climbs */
  invented it;
  invented_make(&it);
  it.event.goal = (ta_goal){.boost_pa = 131e3, .has_boost = true, .margin = 0.037};
  ta_prepared prepared;
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  bad += off_rel("start line", "MAP", ta_prepared_goal(&prepared, 5000.0),
                 131e3 + prepared.start.pressure_pa, 1e-15);
  ta_prepared_free(&prepared);
  assert_int_equal(bad, 0);
}

/* Common practice: at 14,000 ft about 0.59 of the sea-level pressure is left. */
static void pressure_at_fourteen_thousand_feet(void **state) {
  (void)state;
  const ta_air summit = invented_air(si("14000 ft", TA_LENGTH), 0.0, 0.0);
  assert_int_equal(off("14,000 ft", "p/p0", summit.pressure_pa / 101325.0, 0.59, 0.006), 0);
}

/* Common practice: rated speeds run from about 80,000 rpm for large wheels to over 200,000 rpm for
 * small ones.  An event takes both, and refuses the two mixed up. */
static void rated_speeds_of_large_and_small_wheels(void **state) {
  (void)state;
  static const struct {
    const char *row;
    double exducer_m, rated_rpm;
    bool taken;
  } wheels[] = {{"90 mm, 80,000 rpm: 377 m/s", 0.090, 80e3, true},
                {"40 mm, 230,000 rpm: 482 m/s", 0.040, 230e3, true},
                {"90 mm, 230,000 rpm: 1,084 m/s", 0.090, 230e3, false},
                {"40 mm, 80,000 rpm: 168 m/s", 0.040, 80e3, false},
                {"just above 250 m/s", 0.060, 79600.0, true},
                {"just below 250 m/s", 0.060, 79550.0, false},
                {"just below 700 m/s", 0.060, 222800.0, true},
                {"just above 700 m/s", 0.060, 222830.0, false}};
  for (size_t i = 0; i < COUNT_OF(wheels); i++) {
    invented it;
    invented_make(&it);
    it.event.car.turbo.compressor.exducer_m = wheels[i].exducer_m;
    it.event.car.turbo.compressor.has_exducer = true;
    it.event.car.turbo.rated_rpm = wheels[i].rated_rpm;
    ta_diagnostics list;
    ta_diagnostics_clear(&list);
    (void)ta_event_check(&it.event, "car", &list);
    bool refused = false;
    for (size_t k = 0; k < list.count; k++)
      refused |= strcmp(list.item[k].key, "car.turbo.rated_speed") == 0;
    if (refused == wheels[i].taken)
      fail_msg("%s: %s", wheels[i].row, refused ? "refused" : "taken");
  }
}

/* Common practice: at a held MAP the shaft turns faster on the mountain than in the valley; at a
 * held boost pressure (gauge) too, but less so. */
static void the_mountain_takes_shaft_speed(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_compressor_map *map = invented_map(&it);
  const ta_air valley = invented_air(500.0, 0.0, 0.0), summit = invented_air(3500.0, 0.0, 0.0);
  ta_operating_point low, held, gauge;
  assert_int_equal(ta_point_solve(&it.event.car, map, &valley, 6000.0, 200e3, &low), TA_OK);
  assert_int_equal(ta_point_solve(&it.event.car, map, &summit, 6000.0, 200e3, &held), TA_OK);
  assert_int_equal(ta_point_solve(&it.event.car, map, &summit, 6000.0,
                                  200e3 - valley.pressure_pa + summit.pressure_pa, &gauge),
                   TA_OK);
  assert_true(held.shaft_rpm > low.shaft_rpm);
  assert_true(gauge.shaft_rpm > low.shaft_rpm && gauge.shaft_rpm < held.shaft_rpm);
  ta_compressor_map_free(map);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(map_is_boost_plus_ambient),
      cmocka_unit_test(pressure_at_fourteen_thousand_feet),
      cmocka_unit_test(rated_speeds_of_large_and_small_wheels),
      cmocka_unit_test(the_mountain_takes_shaft_speed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
