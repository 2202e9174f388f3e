/* test_street.c - the street answer: every number solved again, point by point, in air of closed forms;
 * every verdict provoked; the elevation up to which the boost holds, to the metre. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/street.h"

static const double HOME_M = 2317.0, TRIP_M = 3391.7, LOW_TRIP_M = 1173.0;
static const double BOOST_PA = 117.3e3, MARGIN = 0.043;

static void street_car(invented *it) {
  invented_make(it);
  it->event.car.control =
      (ta_control){.holds = TA_HOLDS_GAUGE, .overshoot_pa = 4300.0, .map_error_pa = 700.0};
}

static ta_street_question asked(const double *elevation_m, size_t count) {
  return (ta_street_question){.goal = {.boost_pa = BOOST_PA, .has_boost = true, .margin = MARGIN},
                              .elevation_m = elevation_m,
                              .elevation_count = count,
                              .cap_step_m = 500.0};
}

static ta_street *answered(const invented *it, const ta_street_question *question) {
  ta_street *street = malloc(sizeof *street);
  assert_non_null(street);
  assert_int_equal(ta_street_make(&it->event, question, street), TA_OK);
  return street;
}

static void drop(ta_street *street) {
  ta_street_free(street);
  free(street);
}

/* The day's dry air in closed form.  Pressure in a layer of one lapse rate: U.S. Standard Atmosphere
 * 1976, eq. (33a); equation number from memory.  The cold day is that layer with its base 10 K colder;
 * the hot day keeps the standard pressure. */
static ta_air air_at(ta_street_day day, double elevation_m) {
  static const double offset_k[] = {-10.0, 0.0, 20.0}, base_k[] = {278.15, 288.15, 288.15};
  const double height = 6356766.0 * elevation_m / (6356766.0 + elevation_m), lapse = 0.0065,
               r = 287.05287;
  ta_air air = {
      .pressure_pa = 101325.0 * pow(1.0 - lapse * height / base_k[day], 9.80665 / (r * lapse)),
      .temperature_k = 288.15 + offset_k[day] - lapse * height,
      .gas_constant_jkgk = r};
  air.density_kgm3 = air.pressure_pa / (r * air.temperature_k);
  return air;
}

/* Fastest shaft of the boost window at a MAP. */
static double fastest_at(const ta_street *street, const ta_air *air, double map_pa) {
  const ta_car *car = &street->event[0].car;
  const double *window = car->engine.window_rpm;
  double fastest = 0.0;
  enum { STEPS = 900 };
  for (int i = 0; i <= STEPS; i++) {
    const double rpm = window[0] + (window[1] - window[0]) * i / STEPS;
    ta_operating_point point;
    assert_int_equal(ta_point_solve(car, street->prepared[0].map, air, rpm, map_pa, &point), TA_OK);
    fastest = fmax(fastest, point.shaft_rpm);
  }
  return fastest;
}

/* What the controller holds, written out: MAP in the manifold on a day at an elevation. */
static double held_map(ta_holds holds, double read_at_m, ta_street_day day, double elevation_m) {
  if (holds == TA_HOLDS_ABSOLUTE) return BOOST_PA + air_at(TA_STREET_STANDARD, HOME_M).pressure_pa;
  return BOOST_PA + air_at(day, holds == TA_HOLDS_GAUGE ? elevation_m : read_at_m).pressure_pa;
}

static double excess(const ta_street *street) {
  return street->event[0].car.control.overshoot_pa + street->event[0].car.control.map_error_pa;
}

static void each_point_is_solved_again(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_holds holds;
    double read_at_m;
    bool has_read_at;
  } rows[] = {{"absolute", TA_HOLDS_ABSOLUTE, 0.0, false},
              {"gauge", TA_HOLDS_GAUGE, 0.0, false},
              {"key-on", TA_HOLDS_GAUGE_KEY_ON, LOW_TRIP_M, false}, /* the lowest: the most boost */
              {"key-on elsewhere", TA_HOLDS_GAUGE_KEY_ON, 1871.3, true}};
  const double elevation_m[] = {HOME_M, TRIP_M, LOW_TRIP_M};
  const ta_street_question question = asked(elevation_m, COUNT_OF(elevation_m));
  int bad = 0;
  for (size_t r = 0; r < COUNT_OF(rows); r++) {
    invented it;
    street_car(&it);
    it.event.car.control.holds = rows[r].holds;
    if (rows[r].has_read_at) it.event.car.control.barometer_read_at_m = rows[r].read_at_m;
    it.event.car.control.has_barometer_read_at = rows[r].has_read_at;
    ta_street *street = answered(&it, &question);
    const double limit = it.event.car.turbo.rated_rpm * (1.0 - MARGIN);
    assert_int_equal(street->place_count, COUNT_OF(elevation_m));
    assert_int_equal(street->key_on_is_supposed,
                     rows[r].holds == TA_HOLDS_GAUGE_KEY_ON && !rows[r].has_read_at);
    for (size_t i = 0; i < COUNT_OF(elevation_m); i++)
      for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
        const ta_street_point *point = &street->place[i].day[day];
        const ta_air air = air_at((ta_street_day)day, elevation_m[i]);
        const double map_pa =
            held_map(rows[r].holds, rows[r].read_at_m, (ta_street_day)day, elevation_m[i]) +
            excess(street);
        const double fastest = fastest_at(street, &air, map_pa);
        bad += off(rows[r].row, "elevation", street->place[i].elevation_m, elevation_m[i], 0.0);
        bad += off_rel(rows[r].row, "pressure", point->worst.ambient.pressure_pa, air.pressure_pa,
                       2e-6);
        bad += off(rows[r].row, "temperature", point->worst.ambient.temperature_k,
                   air.temperature_k, 1e-6);
        bad += off_rel(rows[r].row, "MAP", point->worst.map_pa, map_pa, 2e-6);
        bad += off_rel(rows[r].row, "shaft", point->worst.shaft_rpm, fastest, 5e-6);
        if ((point->verdict == TA_OVER) != (fastest > limit)) bad++;
      }
    drop(street);
  }
  assert_int_equal(bad, 0);
}

/* The hot day is the fastest.  A cold one is denser and would be the slowest, but for its own pressure
 * aloft, which is lower: that makes the shaft faster than the standard pressure would. */
static void days_are_in_order(void **state) {
  (void)state;
  const double elevation_m[] = {HOME_M, TRIP_M};
  const ta_street_question question = asked(elevation_m, 2);
  invented it;
  street_car(&it);
  ta_street *street = answered(&it, &question);
  for (size_t i = 0; i < 2; i++) {
    const ta_street_point *day = street->place[i].day;
    const double cold_rpm = day[TA_STREET_COLD].worst.shaft_rpm;
    ta_air kept = air_at(TA_STREET_STANDARD, elevation_m[i]);
    kept.temperature_k -= 10.0;
    const double kept_rpm = fastest_at(street, &kept, BOOST_PA + kept.pressure_pa + excess(street));
    assert_true(day[TA_STREET_HOT].worst.shaft_rpm > cold_rpm);
    assert_true(day[TA_STREET_HOT].worst.shaft_rpm > day[TA_STREET_STANDARD].worst.shaft_rpm);
    assert_true(day[TA_STREET_STANDARD].worst.shaft_rpm > kept_rpm && cold_rpm > 1.001 * kept_rpm);
    assert_true(day[TA_STREET_COLD].worst.power_w > day[TA_STREET_HOT].worst.power_w);
  }
  for (int day = TA_STREET_COLD; day < TA_STREET_HOT; day++)
    assert_true(street->reach[TA_STREET_HOT].elevation_m < street->reach[day].elevation_m);
  drop(street);
}

/* The map's error [relative] by which a verdict is unsure: of the lines left out and predicted, the
 * top one's for a point above it. */
static double error_at(const ta_street *street, ta_street_day day, double elevation_m,
                       double map_pa) {
  const ta_car *car = &street->event[0].car;
  const ta_compressor *compressor = &car->turbo.compressor;
  const ta_air air = air_at(day, elevation_m);
  double rms[INVENTED_LINES], inside = 0.0;
  ta_operating_point point;
  assert_int_equal(ta_compressor_map_leave_one_out(compressor->line, compressor->line_count, rms),
                   TA_OK);
  for (size_t i = 0; i + 1 < compressor->line_count; i++) inside = fmax(inside, rms[i]);
  assert_int_equal(
      ta_point_solve(car, street->prepared[0].map, &air, car->engine.window_rpm[1], map_pa, &point),
      TA_OK); /* the fastest of this car */
  return point.beyond_top_line > 0.0 ? rms[compressor->line_count - 1] : inside;
}

static void one_metre_more_is_over(void **state) {
  (void)state;
  const double elevation_m[] = {HOME_M, TRIP_M};
  const ta_street_question question = asked(elevation_m, 2);
  invented it;
  street_car(&it);
  ta_street *street = answered(&it, &question);
  const double limit = it.event.car.turbo.rated_rpm * (1.0 - MARGIN);
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    const ta_street_reach *reach = &street->reach[day];
    assert_false(reach->nowhere || reach->everywhere);
    assert_true(reach->elevation_m > 0.0 && reach->elevation_m < 4500.0 &&
                reach->elevation_m == floor(reach->elevation_m));
    assert_true(street->searched_from_m == 0.0 && reach->from_m == 0.0);
    for (int more = 0; more <= 1; more++) {
      const double at_m = reach->elevation_m + more;
      const ta_air air = air_at((ta_street_day)day, at_m);
      const double map_pa = BOOST_PA + air.pressure_pa + excess(street);
      const double error = error_at(street, (ta_street_day)day, at_m, map_pa);
      assert_true(error > 1e-4); /* or the test would not see it */
      assert_int_equal(fastest_at(street, &air, map_pa) * (1.0 + error) > limit, more);
    }
  }
  drop(street);
}

/* A height that is offered, asked about as a place, is clear; so is the cap, set as the target. */
static void what_is_offered_judges_as_within(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_holds holds;
    double boost_pa;
  } rows[] = {{"absolute", TA_HOLDS_ABSOLUTE, BOOST_PA},
              {"gauge", TA_HOLDS_GAUGE, BOOST_PA},
              {"gauge, above the lines", TA_HOLDS_GAUGE, 141.7e3},
              {"key-on", TA_HOLDS_GAUGE_KEY_ON, BOOST_PA}};
  const double elevation_m[] = {HOME_M, TRIP_M, LOW_TRIP_M};
  int bad = 0;
  for (size_t r = 0; r < COUNT_OF(rows); r++) {
    invented it;
    street_car(&it);
    it.event.car.control.holds = rows[r].holds;
    ta_street_question question = asked(elevation_m, COUNT_OF(elevation_m));
    question.goal.boost_pa = rows[r].boost_pa;
    ta_street *street = answered(&it, &question);
    if (street->one.limited_by != TA_BY_RATED_SPEED || street->one.verdict != TA_CLEAR) bad++;
    question.goal.boost_pa = 10.0 * floor(street->one.boost_pa / 10.0);
    if (rows[r].holds == TA_HOLDS_ABSOLUTE) {
      question.goal.has_boost = false;
      question.goal.has_map = true;
      question.goal.map_pa = 10.0 * floor(street->one.map_pa / 10.0);
    }
    ta_street *capped = answered(&it, &question);
    if (capped->verdict != TA_CLEAR || capped->one.limited_by != TA_BY_GOAL) {
      print_error("%s: capped it is %s\n", rows[r].row, ta_verdict_name(capped->verdict));
      bad++;
    }
    drop(capped);
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
      const double at_m[] = {HOME_M, street->reach[day].elevation_m, LOW_TRIP_M};
      question = asked(at_m, COUNT_OF(at_m));
      question.goal.boost_pa = rows[r].boost_pa;
      ta_street *there = answered(&it, &question);
      if (street->reach[day].nowhere || there->place[1].day[day].verdict != TA_CLEAR) {
        print_error("%s: at %.0f m it is %s\n", rows[r].row, at_m[1],
                    ta_verdict_name(there->place[1].day[day].verdict));
        bad++;
      }
      drop(there);
    }
    drop(street);
  }
  assert_int_equal(bad, 0);
}

/* With the key turned low down the boost goes up the mountain: turning it anywhere higher is within,
 * too, and the order in which the places are named has no say. */
static void the_key_is_turned_where_it_gives_most(void **state) {
  (void)state;
  const double home_first[] = {TRIP_M, LOW_TRIP_M}, low_first[] = {LOW_TRIP_M, TRIP_M};
  invented it;
  street_car(&it);
  it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  ta_street_question question = asked(home_first, 2);
  question.goal.boost_pa = 96.7e3;
  ta_street *a = answered(&it, &question);
  question.elevation_m = low_first;
  ta_street *b = answered(&it, &question);
  it.event.car.control.has_barometer_read_at = true;
  it.event.car.control.barometer_read_at_m = TRIP_M;
  ta_street *at_home = answered(&it, &question);
  assert_int_equal(a->verdict, TA_OVER);
  assert_true(a->one.boost_pa == b->one.boost_pa);
  /* what is held is an absolute pressure: the two pressures where the key is turned lie between */
  const double gap_pa =
      air_at(TA_STREET_HOT, LOW_TRIP_M).pressure_pa - air_at(TA_STREET_HOT, TRIP_M).pressure_pa;
  assert_int_equal(at_home->verdict, TA_CLEAR); /* it was called within before */
  question.goal.boost_pa = BOOST_PA;
  drop(at_home);
  at_home = answered(&it, &question);
  assert_true(fabs(at_home->one.boost_pa - a->one.boost_pa - gap_pa) < 2.0);
  drop(a);
  drop(b);
  drop(at_home);
}

/* Low down the pressure sensor is blind; the reach begins where it sees, to the metre. */
static void the_reach_begins_where_the_sensor_sees(void **state) {
  (void)state;
  const double elevation_m[] = {HOME_M, TRIP_M};
  ta_street_question question = asked(elevation_m, 2);
  question.goal.boost_pa = 71.3e3;
  invented it;
  street_car(&it);
  it.event.car.control.map_sensor_pa = 163e3;
  it.event.car.control.has_map_sensor = true;
  ta_street *street = answered(&it, &question);
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    const ta_street_reach *reach = &street->reach[day];
    assert_false(reach->nowhere || reach->everywhere);
    assert_true(reach->from_m > 0.0 && reach->from_m == floor(reach->from_m));
    assert_true(reach->elevation_m == 4500.0);
    for (int less = 0; less <= 1; less++) {
      const double map_pa =
          71.3e3 + excess(street) + air_at((ta_street_day)day, reach->from_m - less).pressure_pa;
      assert_int_equal(map_pa > 0.98 * 163e3, less);
    }
  }
  drop(street);
}

/* Too few lines to know the map's error: nothing is offered. */
static void nothing_is_offered_of_what_is_not_known(void **state) {
  (void)state;
  const double elevation_m[] = {HOME_M, TRIP_M};
  const ta_street_question question = asked(elevation_m, 2);
  invented it;
  street_car(&it);
  ta_compressor *compressor = &it.event.car.turbo.compressor;
  compressor->line[1] = compressor->line[compressor->line_count - 1];
  compressor->line_count = 2;
  ta_street *street = answered(&it, &question);
  assert_int_equal(street->verdict, TA_OVER);
  assert_true(street->one.can_be_had && street->one.verdict == TA_UNSURE);
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) assert_true(street->reach[day].nowhere);
  drop(street);
}

static void nowhere_and_everywhere(void **state) {
  (void)state;
  const double high[] = {HOME_M, 5003.6}, low[] = {-341.7};
  ta_street_question question = asked(high, 2);
  invented it;
  street_car(&it);
  question.goal.boost_pa = 31.3e3;
  ta_street *street = answered(&it, &question);
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    assert_true(street->reach[day].everywhere && !street->reach[day].nowhere);
    assert_true(street->reach[day].elevation_m == 5003.0);
  }
  /* the target holds everywhere: as MAP the least is the highest place's */
  assert_int_equal(street->one.limited_by, TA_BY_GOAL);
  assert_true(street->one.map_pa == street->cap[street->cap_count - 1].map_pa);
  assert_true(street->one.map_pa < street->cap[0].map_pa);
  drop(street);
  question = asked(low, 1);
  question.goal.boost_pa = 231e3;
  street = answered(&it, &question);
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    assert_true(street->reach[day].nowhere && !street->reach[day].everywhere);
    assert_true(street->reach[day].elevation_m == -341.0);
  }
  assert_true(street->searched_to_m == 4500.0);
  drop(street);
}

/* Below the sea the cold column is the denser one. */
static void caps_hold_on_all_three_days(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_holds holds;
  } rows[] = {{"absolute", TA_HOLDS_ABSOLUTE},
              {"gauge", TA_HOLDS_GAUGE},
              {"key-on", TA_HOLDS_GAUGE_KEY_ON}};
  const double LOWEST_M = -341.7, elevation_m[] = {HOME_M, TRIP_M, LOWEST_M, 2000.001, HOME_M};
  const double want_m[] = {-341.7, 0.0,    500.0,  1000.0, 1500.0,
                           2000.0, HOME_M, 2500.0, 3000.0, TRIP_M};
  const ta_street_question question = asked(elevation_m, COUNT_OF(elevation_m));
  int bad = 0;
  for (size_t r = 0; r < COUNT_OF(rows); r++) {
    invented it;
    street_car(&it);
    it.event.car.control.holds = rows[r].holds;
    ta_street *street = answered(&it, &question);
    const double limit = it.event.car.turbo.rated_rpm * (1.0 - MARGIN);
    double least_boost = HUGE_VAL, least_map = HUGE_VAL;
    assert_int_equal(street->cap_count, COUNT_OF(want_m));
    for (size_t i = 0; i < COUNT_OF(want_m); i++) {
      const ta_street_cap *cap = &street->cap[i];
      bool by_map = false, by_boost = false;
      bad += off(rows[r].row, "elevation", cap->elevation_m, want_m[i], 0.0);
      if (!cap->can_be_had) bad++;
      double goal_map = HUGE_VAL, goal_boost = HUGE_VAL;
      for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
        const ta_air air = air_at((ta_street_day)day, cap->elevation_m);
        const double above_pa = rows[r].holds == TA_HOLDS_GAUGE_KEY_ON
                                    ? air_at((ta_street_day)day, LOWEST_M).pressure_pa
                                    : air.pressure_pa;
        const double goal_pa =
            held_map(rows[r].holds, LOWEST_M, (ta_street_day)day, cap->elevation_m);
        goal_map = fmin(goal_map, goal_pa);
        goal_boost = fmin(goal_boost, goal_pa - above_pa);
        const double map_pa = cap->map_pa + excess(street),
                     of_boost_pa = cap->boost_pa + above_pa + excess(street);
        /* each of the two numbers holds on its own */
        if (!(fastest_at(street, &air, map_pa) <= limit * (1.0 + 5e-6))) bad++;
        if (!(fastest_at(street, &air, of_boost_pa) <= limit * (1.0 + 5e-6))) bad++;
        const double error =
            1.0 + error_at(street, (ta_street_day)day, cap->elevation_m, of_boost_pa);
        by_map = by_map || fastest_at(street, &air, map_pa + 60.0) * error > limit;
        by_boost = by_boost || fastest_at(street, &air, of_boost_pa + 60.0) * error > limit;
      }
      /* and could not be higher, be it for the shaft or for the target */
      const bool goal = cap->limited_by == TA_BY_GOAL;
      if (goal) {
        bad += off_rel(rows[r].row, "MAP of the target", cap->map_pa, goal_map, 1e-5);
        bad += off_rel(rows[r].row, "boost of the target", cap->boost_pa, goal_boost, 1e-5);
      } else if (!(rows[r].holds == TA_HOLDS_ABSOLUTE ? by_map : by_boost) ||
                 cap->limited_by != TA_BY_RATED_SPEED || cap->day != TA_STREET_HOT) {
        print_error("%s: the cap at %.0f m could be higher\n", rows[r].row, cap->elevation_m);
        bad++;
      }
      least_boost = fmin(least_boost, cap->boost_pa);
      least_map = fmin(least_map, cap->map_pa);
    }
    assert_int_equal(street->cap[0].limited_by, TA_BY_GOAL);
    bad += off(rows[r].row, "one cap, boost", street->one.boost_pa, least_boost, 0.0);
    bad += off(rows[r].row, "one cap, MAP", street->one.map_pa, least_map, 0.0);
    bad += off(rows[r].row, "one cap, where", street->one.elevation_m, TRIP_M, 0.0);
    assert_int_equal(street->one.limited_by, TA_BY_RATED_SPEED);
    drop(street);
  }
  assert_int_equal(bad, 0);
}

static void change_nothing(invented *it) {
  (void)it;
}

/* The fastest of the three days lies below the limit by less than what the lines know of each other. */
static void change_to_nearly_at_the_limit(invented *it) {
  const double elevation_m[] = {HOME_M, TRIP_M};
  ta_street_question question = asked(elevation_m, 2);
  question.goal.boost_pa = 71.3e3;
  ta_street *street = answered(it, &question);
  const ta_street_point *hot = &street->place[1].day[TA_STREET_HOT];
  assert_true(hot->map_error > 1e-6);
  it->event.car.turbo.rated_rpm =
      hot->worst.shaft_rpm * (1.0 + 0.7 * hot->map_error) / (1.0 - MARGIN);
  drop(street);
}

static void change_to_two_lines(invented *it) {
  ta_compressor *compressor = &it->event.car.turbo.compressor;
  compressor->line[1] = compressor->line[compressor->line_count - 1];
  compressor->line_count = 2;
}

static void change_to_surge(invented *it) {
  it->event.car.engine.displacement_m3 *= 0.4;
}

static void change_to_a_short_sensor(invented *it) {
  it->event.car.control.map_sensor_pa = 151e3;
  it->event.car.control.has_map_sensor = true;
}

/* The spring alone gives what passes the limit on the hot day of the trip; the target does not. */
static void change_to_a_hard_spring(invented *it) {
  it->event.car.control.minimum_boost_pa = 113.1e3;
  it->event.car.control.has_minimum_boost = true;
}

static void every_verdict(void **state) {
  (void)state;
  static const struct {
    const char *row;
    void (*change)(invented *it);
    double boost_pa;
    ta_verdict verdict;
    ta_reason reason; /* at the trip on the hot day; TA_REASON_COUNT: none */
  } rows[] = {
      {"clear", change_nothing, 71.3e3, TA_CLEAR, TA_REASON_COUNT},
      {"over", change_nothing, BOOST_PA, TA_OVER, TA_REASON_OVER},
      {"unreachable", change_nothing, 291e3, TA_OVER, TA_REASON_UNREACHABLE},
      {"nearly at the limit", change_to_nearly_at_the_limit, 71.3e3, TA_UNSURE,
       TA_REASON_MAP_ERROR},
      {"two lines", change_to_two_lines, 61.3e3, TA_UNSURE, TA_REASON_MAP_ERROR_UNKNOWN},
      {"surge", change_to_surge, 71.3e3, TA_UNSURE, TA_REASON_SURGE_IN_WINDOW},
      {"sensor", change_to_a_short_sensor, 71.3e3, TA_UNSURE, TA_REASON_COUNT},
      {"spring", change_to_a_hard_spring, 91.3e3, TA_CANNOT_CAP, TA_REASON_CANNOT_CAP},
      {"over, and a hard spring", change_to_a_hard_spring, 121.3e3, TA_OVER, TA_REASON_OVER},
  };
  const double elevation_m[] = {HOME_M, TRIP_M};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    street_car(&it);
    rows[i].change(&it);
    ta_street_question question = asked(elevation_m, 2);
    question.goal.boost_pa = rows[i].boost_pa;
    ta_street *street = answered(&it, &question);
    const ta_street_point *point = &street->place[1].day[TA_STREET_HOT];
    if (street->verdict != rows[i].verdict) {
      print_error("%s: %s\n", rows[i].row, ta_verdict_name(street->verdict));
      bad++;
    }
    if (rows[i].reason != TA_REASON_COUNT && !point->reason[rows[i].reason]) {
      print_error("%s: its reason is missing\n", rows[i].row);
      bad++;
    }
    if (rows[i].verdict == TA_CANNOT_CAP &&
        (street->one.can_be_had || street->one.limited_by != TA_BY_MINIMUM_BOOST ||
         point->verdict != TA_CANNOT_CAP || street->place[0].day[0].verdict != TA_CLEAR))
      bad++;
    drop(street);
  }
  /* the sensor is blind at home, where the air is denser, and sees the trip */
  invented it;
  street_car(&it);
  change_to_a_short_sensor(&it);
  ta_street_question question = asked(elevation_m, 2);
  question.goal.boost_pa = 71.3e3;
  ta_street *street = answered(&it, &question);
  assert_true(street->place[0].day[TA_STREET_HOT].reason[TA_REASON_MAP_SENSOR]);
  assert_int_equal(street->place[1].day[TA_STREET_HOT].verdict, TA_CLEAR);
  assert_int_equal(street->one.limited_by, TA_BY_MAP_SENSOR);
  drop(street);
  assert_int_equal(bad, 0);
}

static void refusals(void **state) {
  (void)state;
  static const double good[] = {HOME_M, TRIP_M}, high[] = {HOME_M, 6500.1}, low[] = {-500.1},
                      nan_m[] = {(double)NAN};
  invented gauge, absolute;
  street_car(&gauge);
  street_car(&absolute);
  absolute.event.car.control.holds = TA_HOLDS_ABSOLUTE;
  const ta_goal boost = asked(good, 2).goal, no_boost = {.has_boost = true, .margin = MARGIN},
                nan_boost = {.boost_pa = (double)NAN, .has_boost = true, .margin = MARGIN},
                map = {.map_pa = 161e3, .has_map = true, .margin = MARGIN},
                no_map = {.map_pa = 76e3, .has_map = true, .margin = MARGIN},
                margin = {.boost_pa = BOOST_PA, .has_boost = true, .margin = 0.51},
                none = {.margin = MARGIN};
  const struct {
    const char *row;
    const invented *it;
    ta_street_question question;
    ta_status want;
  } rows[] = {
      {"good", &gauge, {boost, good, 2, 500.0}, TA_OK},
      {"good, MAP", &absolute, {map, good, 2, 500.0}, TA_OK},
      {"no place", &gauge, {boost, good, 0, 500.0}, TA_ERR_ARGUMENT},
      {"no list", &gauge, {boost, NULL, 1, 500.0}, TA_ERR_ARGUMENT},
      {"too many", &gauge, {boost, good, 17, 500.0}, TA_ERR_ARGUMENT},
      {"boost 0", &gauge, {no_boost, good, 2, 500.0}, TA_ERR_ARGUMENT},
      {"boost NaN", &gauge, {nan_boost, good, 2, 500.0}, TA_ERR_ARGUMENT},
      {"no target", &gauge, {none, good, 2, 500.0}, TA_ERR_ARGUMENT},
      {"MAP of a gauge", &gauge, {map, good, 2, 500.0}, TA_ERR_ARGUMENT},
      {"margin", &gauge, {margin, good, 2, 500.0}, TA_ERR_ARGUMENT},
      {"step", &gauge, {boost, good, 2, 249.0}, TA_ERR_ARGUMENT},
      {"too high", &gauge, {boost, high, 2, 500.0}, TA_ERR_DOMAIN},
      {"too low", &gauge, {boost, low, 1, 500.0}, TA_ERR_DOMAIN},
      {"NaN", &gauge, {boost, nan_m, 1, 500.0}, TA_ERR_DOMAIN},
      {"MAP below ambient", &absolute, {no_map, good, 2, 500.0}, TA_ERR_DOMAIN},
  };
  ta_street *street = malloc(sizeof *street);
  assert_non_null(street);
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_status got = ta_street_make(&rows[i].it->event, &rows[i].question, street);
    if (got != rows[i].want) fail_msg("%s: %s", rows[i].row, ta_status_name(got));
    ta_street_free(street);
    assert_int_equal(street->place_count, 0);
  }
  assert_int_equal(ta_street_make(NULL, &rows[0].question, street), TA_ERR_ARGUMENT);
  assert_int_equal(ta_street_make(&gauge.event, NULL, street), TA_ERR_ARGUMENT);
  assert_int_equal(ta_street_make(&gauge.event, &rows[0].question, NULL), TA_ERR_ARGUMENT);
  free(street);
  ta_street_free(NULL);
}

/* The widest question there is fits. */
static void sixteen_places_from_bottom_to_top(void **state) {
  (void)state;
  double elevation_m[TA_STREET_PLACES_MAX];
  for (size_t i = 0; i < TA_STREET_PLACES_MAX; i++)
    elevation_m[i] = TA_STREET_HIGHEST_M - (TA_STREET_HIGHEST_M - TA_STREET_LOWEST_M) * (double)i /
                                               (TA_STREET_PLACES_MAX - 1);
  ta_street_question question = asked(elevation_m, TA_STREET_PLACES_MAX);
  question.cap_step_m = 250.0;
  invented it;
  street_car(&it);
  ta_street *street = answered(&it, &question);
  assert_true(street->cap_count <= TA_STREET_CAPS_MAX && street->cap_count > 30);
  assert_true(street->cap[0].elevation_m == TA_STREET_LOWEST_M);
  assert_true(street->cap[street->cap_count - 1].elevation_m == TA_STREET_HIGHEST_M);
  for (size_t i = 1; i < street->cap_count; i++)
    assert_true(street->cap[i].elevation_m > street->cap[i - 1].elevation_m);
  drop(street);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_point_is_solved_again),
      cmocka_unit_test(days_are_in_order),
      cmocka_unit_test(one_metre_more_is_over),
      cmocka_unit_test(what_is_offered_judges_as_within),
      cmocka_unit_test(the_key_is_turned_where_it_gives_most),
      cmocka_unit_test(the_reach_begins_where_the_sensor_sees),
      cmocka_unit_test(nothing_is_offered_of_what_is_not_known),
      cmocka_unit_test(nowhere_and_everywhere),
      cmocka_unit_test(caps_hold_on_all_three_days),
      cmocka_unit_test(every_verdict),
      cmocka_unit_test(refusals),
      cmocka_unit_test(sixteen_places_from_bottom_to_top),
  };
  gsl_set_error_handler_off();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
