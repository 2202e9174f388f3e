/* test_strategy.c - the ways to run the course: names, which are offered, the cap that each reads at
 * a place, and what the engine gets of it. */
#include <gsl/gsl_errno.h>

#include "random_event.h"
#include "thinair/drive.h"
#include "thinair/strategy.h"

/* Caps made by hand, no two alike.  To be freed with ta_cap_set_free. */
static void make_caps(drawn *d, ta_cap_set *caps) {
  memset(caps, 0, sizeof *caps);
  caps->constant =
      (ta_constant_cap){.set_point = 141300.0, .limited_by = TA_BY_RATED_SPEED, .can_be_had = true};
  assert_int_equal(ta_controller_table_find(&d->prepared, false, &caps->table), TA_OK);
  caps->table.can_be_had = true;
  const size_t columns = caps->table.axes.speed_count;
  for (size_t i = 0; i < caps->table.axes.pressure_count * columns; i++)
    caps->table.set_point[i] =
        131e3 + 2310.0 * (double)(i / columns) + 730.0 * (double)(i % columns);
  caps->schedule.count = 3;
  for (size_t i = 0; i < 3; i++)
    caps->schedule.row[i] = (ta_schedule_row){.ambient_pa = 84700.0 - 11300.0 * (double)i,
                                              .set_point = 151700.0 - 7300.0 * (double)i,
                                              .cap = {.can_be_had = true}};
  caps->positions.position = calloc(3, sizeof *caps->positions.position);
  assert_non_null(caps->positions.position);
  caps->positions.count = 3;
  for (size_t i = 0; i < 3; i++)
    caps->positions.position[i] = (ta_position){.from_distance_m = 11310.0 * (double)i,
                                                .cap = {.set_point = 157e3 - 9100.0 * (double)i,
                                                        .limited_by = TA_BY_RATED_SPEED,
                                                        .can_be_had = true}};
  caps->shift.engine_rpm = 6317.0;
}

static void begin(drawn *d) {
  memset(d, 0, sizeof *d);
  invented_make(&d->it);
}

static void names(void **state) {
  (void)state;
  static const char *const want[] = {"target",    "table",    "schedule",
                                     "positions", "constant", "shift_speed"};
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    assert_string_equal(ta_strategy_name((ta_strategy)i), want[i]);
    assert_true(strlen(ta_strategy_words((ta_strategy)i)) > 8);
    for (int k = 0; k < i; k++)
      assert_string_not_equal(ta_strategy_words((ta_strategy)i), ta_strategy_words((ta_strategy)k));
  }
  assert_string_equal(ta_strategy_words(TA_FULL_TARGET), "full target");
  assert_string_equal(ta_strategy_name(TA_STRATEGY_COUNT), "?");
  assert_string_equal(ta_strategy_words((ta_strategy)-1), "?");
}

/* Exactly these are offered, by bits. */
static void assert_offered(const ta_cap_set *caps, unsigned bits) {
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    if (ta_strategy_offered(caps, (ta_strategy)i) == (bits >> i & 1u)) continue;
    print_error("%s: %s\n", ta_strategy_name((ta_strategy)i),
                bits >> i & 1u ? "missing" : "offered");
    fail();
  }
}

static void which_are_offered(void **state) {
  (void)state;
  enum { ALL = (1u << TA_STRATEGY_COUNT) - 1u };
#define BUT(strategy) (ALL & ~(1u << (strategy)))
  drawn d;
  ta_cap_set caps;
  begin(&d);
  prepare(&d);
  make_caps(&d, &caps);
  assert_offered(&caps, ALL);
  caps.constant.limited_by = TA_BY_GOAL; /* the target is within the limit */
  assert_offered(&caps, 1u << TA_FULL_TARGET);
  caps.constant.limited_by = TA_BY_MAP_SENSOR;
  assert_offered(&caps, ALL);
  caps.constant.can_be_had = false;
  assert_offered(&caps, BUT(TA_ONE_CAP));
  caps.constant.can_be_had = true;
  caps.table.can_be_had = false;
  assert_offered(&caps, BUT(TA_BY_TABLE));
  caps.table.can_be_had = true;
  double *set_point = caps.table.set_point;
  caps.table.set_point = NULL; /* no live barometer */
  assert_offered(&caps, BUT(TA_BY_TABLE));
  caps.table.set_point = set_point;
  caps.schedule.row[2].cap.can_be_had = false;
  assert_offered(&caps, BUT(TA_BY_AMBIENT));
  caps.schedule.row[2].cap.can_be_had = true;
  caps.schedule.count = 0;
  assert_offered(&caps, BUT(TA_BY_AMBIENT));
  caps.schedule.count = 3;
  caps.positions.position[1].cap.can_be_had = false;
  assert_offered(&caps, BUT(TA_BY_POSITION));
  caps.positions.position[1].cap.can_be_had = true;
  caps.positions.count = 1; /* is the one cap */
  assert_offered(&caps, BUT(TA_BY_POSITION));
  caps.positions.count = 2;
  assert_offered(&caps, ALL);
  caps.shift.none = true;
  assert_offered(&caps, BUT(TA_EARLY_SHIFT));
  caps.shift.none = false;
  caps.shift.whole_window = true;
  assert_offered(&caps, BUT(TA_EARLY_SHIFT));
  ta_cap_set_free(&caps);
  assert_null(caps.table.set_point);
  assert_null(caps.positions.position);
  ta_cap_set_free(NULL);
  ta_prepared_free(&d.prepared);
}

static double cap_at(const drawn *d, const ta_cap_set *caps, ta_strategy strategy,
                     double distance_m, double ambient_pa, double rpm) {
  return ta_strategy_cap(&d->prepared, caps, strategy, distance_m, ambient_pa, rpm);
}

static void caps_at_places(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  prepare(&d);
  make_caps(&d, &caps);
  int bad = 0;
  assert_true(cap_at(&d, &caps, TA_FULL_TARGET, 7.0, 71e3, 5011.0) == HUGE_VAL);
  assert_true(cap_at(&d, &caps, TA_EARLY_SHIFT, 7.0, 71e3, 5011.0) == HUGE_VAL);
  assert_true(cap_at(&d, &caps, TA_ONE_CAP, 7.0, 71e3, 5011.0) == 141300.0);
  /* a knob stays where it is until the next mark, before the first too */
  assert_true(cap_at(&d, &caps, TA_BY_POSITION, -3.0, 71e3, 5011.0) == 157e3);
  assert_true(cap_at(&d, &caps, TA_BY_POSITION, 11309.9, 71e3, 5011.0) == 157e3);
  assert_true(cap_at(&d, &caps, TA_BY_POSITION, 11310.0, 71e3, 5011.0) == 147900.0);
  assert_true(cap_at(&d, &caps, TA_BY_POSITION, 34010.0, 71e3, 5011.0) == 138800.0);
  /* a line through the rows, its ends held */
  bad += off_rel("schedule", "row", cap_at(&d, &caps, TA_BY_AMBIENT, 7.0, 73400.0, 5011.0),
                 144400.0, 1e-12);
  bad += off_rel("schedule", "between", cap_at(&d, &caps, TA_BY_AMBIENT, 7.0, 81310.0, 5011.0),
                 144400.0 + 7300.0 * 0.7, 1e-12);
  bad += off_rel("schedule", "above", cap_at(&d, &caps, TA_BY_AMBIENT, 7.0, 91e3, 5011.0), 151700.0,
                 1e-12);
  bad += off_rel("schedule", "below", cap_at(&d, &caps, TA_BY_AMBIENT, 7.0, 51e3, 5011.0), 137100.0,
                 1e-12);
  const ta_controller_axes *axes = &caps.table.axes;
  const double p = 0.3 * axes->pressure_pa[2] + 0.7 * axes->pressure_pa[3],
               n = 0.6 * axes->speed_rpm[4] + 0.4 * axes->speed_rpm[5];
  bad += off_rel("table", "between", cap_at(&d, &caps, TA_BY_TABLE, 7.0, p, n),
                 131e3 + 2310.0 * 2.7 + 730.0 * 4.4, 1e-12);
  d.it.event.car.control.interpolation = 1;
  bad += off_rel("table", "by steps", cap_at(&d, &caps, TA_BY_TABLE, 7.0, p, n),
                 131e3 + 2310.0 * 2.0 + 730.0 * 4.0, 1e-12);
  assert_int_equal(bad, 0);
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    const ta_speed_range range = ta_strategy_speeds(&d.prepared, &caps, (ta_strategy)i);
    assert_true(range.low_rpm == 4130.0 &&
                range.high_rpm == (i == TA_EARLY_SHIFT ? 6317.0 : 7270.0));
  }
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

/* ---- what the engine gets -------------------------------------------------------------------- */

enum { SPEEDS = 5 };
static const double rpm[SPEEDS] = {2310.0, 4170.0, 5130.0, 6230.0, 7190.0};

static ta_air air_at(const drawn *d, double elevation_m) {
  ta_air air;
  assert_int_equal(ta_day_air(&d->prepared.day, elevation_m, &air), TA_OK);
  return air;
}

/* Power from the flow of the point, all written out. */
static double power_of(const drawn *d, const ta_air *air, double engine_rpm, double map_pa) {
  const ta_engine *engine = &d->it.event.car.engine;
  ta_operating_point point;
  assert_int_equal(
      ta_point_solve(&d->it.event.car, d->prepared.map, air, engine_rpm, map_pa, &point), TA_OK);
  return point.zone == TA_UNREACHABLE ? 0.0
                                      : point.air_flow_kg_s / (1.0 + air->mixing_ratio) /
                                            engine->air_fuel_ratio / engine->bsfc_kg_j;
}

static void the_engine_gets_the_set_point_without_overshoot(void **state) {
  (void)state;
  int bad = 0;
  for (int gauge = 0; gauge < 2; gauge++) {
    drawn d;
    begin(&d);
    d.it.event.car.control.holds = gauge ? TA_HOLDS_GAUGE : TA_HOLDS_ABSOLUTE;
    d.it.event.car.control.overshoot_pa = 7100.0;
    d.it.event.car.control.map_error_pa = 1900.0;
    d.it.event.day.isa_humidity = 0.8;
    prepare(&d);
    const ta_air air = air_at(&d, 2711.0);
    const double set[SPEEDS] = {141e3, 151e3, 163e3, 157e3, 149e3};
    double set_point[SPEEDS], map_pa[SPEEDS], power_w[SPEEDS];
    for (int i = 0; i < SPEEDS; i++) set_point[i] = set[i] - (gauge ? air.pressure_pa : 0.0);
    ta_full_load_at(&d.prepared, &air, 0.0, rpm, set_point, SPEEDS, map_pa, power_w);
    for (int i = 0; i < SPEEDS; i++) {
      bad += off_rel("full load", "MAP", map_pa[i], set[i], 1e-12);
      bad += off_rel("full load", "power", power_w[i], power_of(&d, &air, rpm[i], set[i]), 1e-9);
    }
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
}

static void no_less_than_the_spring_or_ambient(void **state) {
  (void)state;
  int bad = 0;
  drawn d;
  begin(&d);
  prepare(&d);
  ta_control *control = &d.it.event.car.control;
  const ta_air air = air_at(&d, 2711.0);
  const double set[SPEEDS] = {51e3, 101e3, 121e3, 131e3, 161e3};
  double map_pa[SPEEDS], power_w[SPEEDS];
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  bad += off_rel("no spring", "MAP", map_pa[0], air.pressure_pa, 1e-8);
  assert_true(map_pa[0] > air.pressure_pa && map_pa[1] == 101e3);
  control->minimum_boost_pa = 53e3; /* not there yet */
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  assert_true(map_pa[1] == 101e3);
  control->has_minimum_boost = true;
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  for (int i = 0; i < SPEEDS; i++) {
    const double want = fmax(set[i], air.pressure_pa + 53e3);
    bad += off_rel("spring", "MAP", map_pa[i], want, 1e-8);
    bad += off_rel("spring", "power", power_w[i], power_of(&d, &air, rpm[i], want), 1e-7);
  }
  assert_true(air.pressure_pa + 53e3 > 121e3 && air.pressure_pa + 53e3 < 131e3);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

static void no_more_than_the_turbine_drives(void **state) {
  (void)state;
  int bad = 0;
  drawn d;
  begin(&d);
  give_turbine(&d, 1.67, 0.61);
  prepare(&d);
  const ta_air air = air_at(&d, 2711.0);
  const double set[SPEEDS] = {171e3, 171e3, 171e3, 171e3, 171e3};
  double map_pa[SPEEDS], power_w[SPEEDS], held[SPEEDS];
  ta_highest_held_map(&d.prepared, &air, rpm, SPEEDS, set, held);
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  for (int i = 0; i < SPEEDS; i++) {
    const double want = fmax(held[i], air.pressure_pa * (1.0 + 1e-9));
    bad += off("drive", "MAP", map_pa[i], want, 1.5);
    bad += off_rel("drive", "power", power_w[i], power_of(&d, &air, rpm[i], want), 1e-4);
    if (i > 0 && !(power_w[i] > power_w[i - 1])) bad++;
  }
  assert_true(held[1] < 140e3 && held[3] == 171e3 && map_pa[4] == 171e3);
  /* neither spring nor ambient air asks a wheel to turn that nothing turns */
  d.it.event.car.control.has_minimum_boost = true;
  d.it.event.car.control.minimum_boost_pa = 81e3;
  const double low[SPEEDS] = {81e3, 81e3, 81e3, 81e3, 81e3};
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, low, SPEEDS, map_pa, power_w);
  for (int i = 0; i < SPEEDS; i++) {
    const double spring = air.pressure_pa + 81e3;
    ta_highest_held_map(&d.prepared, &air, &rpm[i], 1, &spring, &held[i]);
    bad += off("spring not driven", "MAP", map_pa[i], fmax(held[i], air.pressure_pa), 1.5);
    assert_true(map_pa[i] > air.pressure_pa);
  }
  give_turbine(&d, 97.0, 0.021); /* nothing is driven at all */
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  for (int i = 0; i < SPEEDS; i++) {
    bad += off_rel("nothing driven", "MAP", map_pa[i], air.pressure_pa, 1e-4);
    assert_true(map_pa[i] > air.pressure_pa && power_w[i] > 0.0);
  }
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

static void ram_helps_as_the_solver_says(void **state) {
  (void)state;
  drawn d;
  begin(&d);
  prepare(&d);
  const ta_air air = air_at(&d, 2711.0);
  const double set[SPEEDS] = {151e3, 151e3, 151e3, 151e3, 151e3};
  double map_pa[SPEEDS], still_w[SPEEDS], moving_w[SPEEDS];
  ta_point_block block = {.count = 2 * SPEEDS};
  for (size_t i = 0; i < 2 * SPEEDS; i++) {
    block.ambient_pressure_pa[i] = air.pressure_pa;
    block.ambient_temperature_k[i] = air.temperature_k;
    block.gas_constant_jkgk[i] = air.gas_constant_jkgk;
    block.engine_rpm[i] = rpm[i % SPEEDS];
    block.map_pa[i] = 151e3;
    block.ram_pa[i] = i < SPEEDS ? 0.0 : 2130.0;
  }
  ta_points_solve(&d.it.event.car, d.prepared.map, &block);
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, still_w);
  ta_full_load_at(&d.prepared, &air, 2130.0, rpm, set, SPEEDS, map_pa, moving_w);
  int bad = 0;
  for (size_t i = 0; i < SPEEDS; i++) {
    const ta_engine *engine = &d.it.event.car.engine;
    const double per_flow =
        1.0 / (1.0 + air.mixing_ratio) / engine->air_fuel_ratio / engine->bsfc_kg_j;
    bad += off_rel("still", "power", still_w[i], block.air_flow_kg_s[i] * per_flow, 1e-12);
    bad += off_rel("ram", "power", moving_w[i], block.air_flow_kg_s[SPEEDS + i] * per_flow, 1e-12);
    /* the same MAP from a denser intake: less heating, more air, a slower wheel */
    if (!(moving_w[i] > still_w[i] * 1.0005)) bad++;
    if (!(block.shaft_rpm[SPEEDS + i] < block.shaft_rpm[i] * 0.999)) bad++;
  }
  assert_int_equal(bad, 0);
  ta_prepared_free(&d.prepared);
}

static void where_the_map_names_no_point_there_is_no_power(void **state) {
  (void)state;
  drawn d;
  begin(&d);
  prepare(&d);
  const ta_air air = air_at(&d, 4001.0);
  const double set[SPEEDS] = {141e3, 141e3, 141e3, 141e3, 331e3};
  double map_pa[SPEEDS], power_w[SPEEDS];
  ta_full_load_at(&d.prepared, &air, 0.0, rpm, set, SPEEDS, map_pa, power_w);
  for (int i = 0; i + 1 < SPEEDS; i++) assert_true(power_w[i] > 0.0);
  assert_true(power_w[SPEEDS - 1] == 0.0);
  ta_prepared_free(&d.prepared);
}

/* The goal where it is lower, the strategy's cap where that is. */
static void a_strategy_gives_the_lesser_of_goal_and_cap(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  d.it.goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 137e3, .has_map = true};
  d.it.goal[1] = (ta_goal_point){.engine_rpm = 6200.0, .map_pa = 171e3, .has_map = true};
  d.it.event.goal = (ta_goal){.point = d.it.goal, .point_count = 2, .margin = 0.037};
  prepare(&d);
  make_caps(&d, &caps);
  const ta_air air = air_at(&d, 2711.0);
  int bad = 0, by_goal = 0;
  for (int s = 0; s < TA_STRATEGY_COUNT; s++) {
    double map_pa[SPEEDS], power_w[SPEEDS];
    ta_strategy_full_load(&d.prepared, &caps, (ta_strategy)s, 15900.0, &air, 0.0, rpm, SPEEDS,
                          map_pa, power_w);
    for (int i = 0; i < SPEEDS; i++) {
      const double goal = rpm[i] < 4200.0
                              ? 137e3
                              : fmin(137e3 + (171e3 - 137e3) * (rpm[i] - 4200.0) / 2000.0, 171e3);
      const double cap =
          ta_strategy_cap(&d.prepared, &caps, (ta_strategy)s, 15900.0, air.pressure_pa, rpm[i]);
      bad += off_rel(ta_strategy_name((ta_strategy)s), "MAP", map_pa[i], fmin(goal, cap), 1e-9);
      bad += off_rel(ta_strategy_name((ta_strategy)s), "power", power_w[i],
                     power_of(&d, &air, rpm[i], fmin(goal, cap)), 1e-7);
      by_goal += goal < cap;
    }
  }
  assert_int_equal(bad, 0);
  assert_true(by_goal > 12 && by_goal < 25);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(names),
      cmocka_unit_test(which_are_offered),
      cmocka_unit_test(caps_at_places),
      cmocka_unit_test(the_engine_gets_the_set_point_without_overshoot),
      cmocka_unit_test(no_less_than_the_spring_or_ambient),
      cmocka_unit_test(no_more_than_the_turbine_drives),
      cmocka_unit_test(ram_helps_as_the_solver_says),
      cmocka_unit_test(where_the_map_names_no_point_there_is_no_power),
      cmocka_unit_test(a_strategy_gives_the_lesser_of_goal_and_cap),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
