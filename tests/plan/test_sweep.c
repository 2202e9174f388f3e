/* test_sweep.c - cells of a sweep against a plan of the event read with those values; the same bits on
 * one thread and two; values as people type them. */
#include "thinair/sweep.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../files/whole_event.h"
#include "../test.h"
#include "thinair/event_reader.h"
#include "thinair/over.h"
#include "thinair/plan.h"

#ifdef _OPENMP
#include <omp.h>
#endif

static ta_diagnostics diagnostics;
static char why[TA_KEY_MAX + TA_MESSAGE_MAX];

typedef struct {
  ta_event event;
  ta_prepared prepared;
} ready;

static void make_ready(const char *text, const ta_setting *settings, size_t count, ready *it) {
  ta_diagnostics_clear(&diagnostics);
  if (ta_event_read_bytes("made-up.yaml", text, strlen(text), settings, count, &it->event,
                          &diagnostics) != TA_OK)
    fail_msg("%s: %s", diagnostics.item[0].key, diagnostics.item[0].text);
  assert_int_equal(ta_prepare(&it->event, &it->prepared), TA_OK);
}

static void free_ready(ready *it) {
  ta_prepared_free(&it->prepared);
  ta_event_free(&it->event);
}

static void parse(const char *text, ta_sweep_axis *axis) {
  if (ta_sweep_axis_parse(text, axis, why, sizeof why) != TA_OK) fail_msg("%s: %s", text, why);
}

static bool keep_on(void *context) {
  size_t *begun = context;
  ++*begun;
  return true;
}

static void solve(const ready *base, const ta_sweep_axis *axis, size_t count, ta_sweep *sweep) {
  size_t fixed[TA_SWEEP_KEYS_MAX], begun = 0;
  for (size_t k = 0; k < count; k++) fixed[k] = TA_SWEEP_VARIED;
  assert_int_equal(ta_sweep_make(axis, count, sweep), TA_OK);
  assert_int_equal(ta_sweep_solve(sweep, &base->prepared, fixed, keep_on, &begun), TA_OK);
  assert_int_equal(begun, sweep->cell_count);
}

/* Flow over that of the surge line, found by halving where the zone turns to surge at the pressure
 * ratio of the point; without thin air the map point is the point itself. */
static double surge_margin_by_zone(const ready *it) {
  const ta_car *car = &it->event.car;
  ta_air air;
  ta_operating_point point;
  double low_m, high_m;
  ta_course_range(&it->event.course, &low_m, &high_m);
  assert_int_equal(ta_day_air(&it->prepared.day, high_m, &air), TA_OK);
  const double rpm = car->engine.window_rpm[0],
               map_pa = ta_judged_map(&it->prepared, ta_prepared_goal(&it->prepared, rpm),
                                      air.pressure_pa);
  assert_int_equal(ta_point_solve(car, it->prepared.map, &air, rpm, map_pa, &point), TA_OK);
  double surge = 0.01 * point.corrected_flow_kg_s, right = 10.0 * point.corrected_flow_kg_s;
  for (int i = 0; i < 60; i++) {
    const double middle = 0.5 * (surge + right);
    ta_map_reading reading;
    assert_int_equal(ta_compressor_map_at(it->prepared.map, middle, point.pressure_ratio, &reading),
                     TA_OK);
    *(reading.surge_to_choke < 0.0 ? &surge : &right) = middle;
  }
  return point.corrected_flow_kg_s / surge - 1.0;
}

static int cell_against_plan(const char *row, const ta_sweep_cell *cell, const ready *it) {
  static ta_plan plan;
  int bad = 0;
  assert_int_equal(ta_plan_make(&it->prepared, &plan), TA_OK);
  const ta_placed_point *worst = &plan.over.worst;
  const double start_pa = it->prepared.start.pressure_pa,
               cap_pa = ta_set_point_map(&it->prepared, plan.caps.constant.set_point, start_pa);
  if ((cell->state == TA_SWEEP_OVER) != (plan.over.count > 0))
    bad +=
        off(row, "state", cell->state, plan.over.count > 0 ? TA_SWEEP_OVER : TA_SWEEP_WITHIN, 0.0);
  bad += off_rel(row, "worst", cell->worst_rpm, worst->point.shaft_rpm, 1e-12);
  bad += off_rel(row, "over limit", cell->worst_over_limit,
                 worst->point.shaft_rpm / it->prepared.limit_rpm, 1e-12);
  bad += off_rel(row, "summit", cell->summit_rpm,
                 plan.profile.node[plan.profile.count - 1].shaft_rpm, 1e-12);
  if (plan.over.count > 0) {
    bad += off(row, "first over", cell->first_over_m, plan.over.first.distance_m, 0.2);
    ta_operating_point at, before;
    const ta_course *course = &it->event.course;
    assert_int_equal(ta_worst_in_window(&it->prepared, cell->first_height_m, HUGE_VAL, &at), TA_OK);
    assert_int_equal(
        ta_worst_in_window(&it->prepared, ta_course_elevation(course, cell->first_over_m - 0.1),
                           HUGE_VAL, &before),
        TA_OK);
    assert_true(at.shaft_rpm > it->prepared.limit_rpm);
    assert_true(before.shaft_rpm <= it->prepared.limit_rpm || plan.over.starts_over);
    bad += off(row, "its elevation", cell->first_height_m, plan.over.first.elevation_m, 0.1);
    const ta_course_point *mark =
        ta_course_nearest_mark(&it->event.course, plan.over.first.distance_m);
    assert_string_equal(cell->first_mark, mark->mark);
  }
  assert_true(cell->has_cap == plan.caps.constant.can_be_had);
  bad += off_rel(row, "cap", cell->cap_map_pa, cap_pa, 1e-9);
  bad += off(row, "boost", cell->cap_boost_pa, cap_pa - start_pa, 1e-3);
  if (cell->has_cap) { /* against the point itself, solved at the set-point */
    const ta_placed_point *tightest = &plan.caps.constant.tightest;
    ta_operating_point at;
    assert_int_equal(ta_point_solve(&it->event.car, it->prepared.map, &tightest->point.ambient,
                                    tightest->point.engine_rpm,
                                    ta_set_point_map(&it->prepared, plan.caps.constant.set_point,
                                                     tightest->point.ambient.pressure_pa),
                                    &at),
                     TA_OK);
    bad += off_rel(row, "power", cell->power_w, at.power_w, 1e-9);
  }
  assert_int_equal(cell->limited_by, plan.caps.constant.limited_by);
  assert_true(cell->has_surge_margin && cell->why[0] == '\0');
  assert_true(cell->has_time == (plan.runs.known == TA_TIME_KNOWN));
  if (cell->has_time)
    bad += off_rel(row, "time", cell->time_s,
                   plan.runs.time_s[cell->limited_by == TA_BY_GOAL ? TA_FULL_TARGET : TA_ONE_CAP],
                   1e-12);
  ta_plan_free(&plan);
  return bad;
}

/* Three keys that touch goal, day and compressor map; each cell against the event read so. */
static void cells_are_those_of_a_plan(void **state) {
  (void)state;
  static const char *const texts[] = {"goal.boost=0.61:1.17 bar:3",
                                      "day.stations[0].temperature=9.3,21.7 degC",
                                      "car.turbo.compressor.lines[2].speed=149.3e3,152.9e3 rpm"};
  ta_sweep_axis axis[3];
  ta_sweep sweep;
  ready base;
  int bad = 0;
  size_t over = 0;
  make_ready(WHOLE, NULL, 0, &base);
  for (size_t k = 0; k < 3; k++) parse(texts[k], &axis[k]);
  solve(&base, axis, 3, &sweep);
  assert_int_equal(sweep.cell_count, 12);
  for (size_t i = 0; i < sweep.cell_count; i++) {
    char value[3][TA_SWEEP_VALUE_MAX];
    ta_setting setting[3];
    const size_t number[3] = {i / 4, i / 2 % 2, i % 2}; /* the last key changes from cell to cell */
    for (size_t k = 0; k < 3; k++) {
      assert_int_equal(ta_sweep_value_of(&sweep, i, k), number[k]);
      setting[k] = (ta_setting){"--set", axis[k].key,
                                ta_sweep_value_text(&axis[k], number[k], 17, value[k]), NULL};
    }
    ready one;
    make_ready(WHOLE, setting, 3, &one);
    bad += cell_against_plan(value[0], &sweep.cell[i], &one);
    over += sweep.cell[i].state == TA_SWEEP_OVER;
    free_ready(&one);
  }
  assert_true(over > 0 && over < sweep.cell_count);
  ta_sweep_free(&sweep);
  for (size_t k = 0; k < 3; k++) ta_sweep_axis_free(&axis[k]);
  free_ready(&base);
  assert_int_equal(bad, 0);
}

/* ---- time ------------------------------------------------------------------------------------ */

#define DRIVEN                                                                          \
  HEAD "course:\n" ROAD "car:\n" CAR_HEAD PLAIN_RISE COOLER PLAIN_CONTROL VEHICLE TURBO \
       "    compressor:\n" COMPRESSOR "day:\n" DAY "goal:\n" GOAL

/* Car, goal, day and a corner of the road; a cell with a road of its own, too. */
static void times_are_those_of_a_plan(void **state) {
  (void)state;
  static const char *const texts[] = {"car.vehicle.mass=1033,1371 kg", "goal.boost=0.61,1.17 bar",
                                      "course.rows[1].corner_radius=17.3,130.7 m"};
  for (size_t keys = 2; keys <= 3; keys++) {
    ta_sweep_axis axis[3];
    ta_sweep sweep;
    ready base;
    int bad = 0;
    size_t by_goal = 0;
    make_ready(DRIVEN, NULL, 0, &base);
    for (size_t k = 0; k < keys; k++) parse(texts[k], &axis[k]);
    solve(&base, axis, keys, &sweep);
    for (size_t i = 0; i < sweep.cell_count; i++) {
      const double before_kg = base.event.car.vehicle.mass_kg;
      const double before_m = base.event.course.point[1].corner_radius_m;
      base.event.car.vehicle.mass_kg = axis[0].si[ta_sweep_value_of(&sweep, i, 0)];
      base.event.goal.boost_pa = axis[1].si[ta_sweep_value_of(&sweep, i, 1)];
      if (keys == 3)
        base.event.course.point[1].corner_radius_m = axis[2].si[ta_sweep_value_of(&sweep, i, 2)];
      bad += cell_against_plan("driven", &sweep.cell[i], &base);
      assert_true(sweep.cell[i].has_time);
      by_goal += sweep.cell[i].limited_by == TA_BY_GOAL;
      base.event.car.vehicle.mass_kg = before_kg;
      base.event.course.point[1].corner_radius_m = before_m;
    }
    assert_true(by_goal > 0 && by_goal < sweep.cell_count);
    if (keys == 3) /* the wider corner is the quicker one */
      for (size_t i = 0; i < sweep.cell_count; i += 2)
        assert_true(sweep.cell[i + 1].time_s < sweep.cell[i].time_s - 0.05);
    ta_sweep_free(&sweep);
    for (size_t k = 0; k < keys; k++) ta_sweep_axis_free(&axis[k]);
    free_ready(&base);
    assert_int_equal(bad, 0);
  }
}

/* A car that is heavier, or must stay farther below its rated speed, is not quicker. */
static void more_mass_or_margin_is_not_quicker(void **state) {
  (void)state;
  ta_sweep_axis axis[2];
  ta_sweep sweep;
  ready base;
  char *unlimited = replaced(DRIVEN, "96.56064", "~"), /* full load up to the corner */
      *geared = replaced(unlimited, "[3.1, 2.05, 1.5]", "[3.1, 1.9, 1.3, 0.81]");
  make_ready(geared, NULL, 0, &base);
  free(geared);
  free(unlimited);
  parse("car.vehicle.mass=907.3:1513.7 kg:5", &axis[0]);
  parse("goal.margin=2.3:9.7 %:4", &axis[1]);
  solve(&base, axis, 2, &sweep);
  for (size_t i = 0; i < 5; i++)
    for (size_t j = 0; j < 4; j++) {
      const ta_sweep_cell *cell = &sweep.cell[4 * i + j];
      assert_true(cell->has_time && cell->limited_by != TA_BY_GOAL);
      if (i > 0) assert_true(cell->time_s > cell[-4].time_s + 3.0);
      if (j > 0) assert_true(cell->time_s > cell[-1].time_s + 3.0);
      if (i > 0) assert_true(cell->cap_map_pa == cell[-4].cap_map_pa);
    }
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis[0]);
  ta_sweep_axis_free(&axis[1]);
  free_ready(&base);
}

static int times_of(const char *text, const char *vary, bool timed) {
  ta_sweep_axis axis;
  ta_sweep sweep;
  ready base;
  int times = 0;
  size_t begun = 0;
  const size_t fixed[] = {TA_SWEEP_VARIED};
  make_ready(text, NULL, 0, &base);
  parse(vary, &axis);
  assert_int_equal(ta_sweep_make(&axis, 1, &sweep), TA_OK);
  sweep.timed = timed;
  assert_int_equal(ta_sweep_solve(&sweep, &base.prepared, fixed, keep_on, &begun), TA_OK);
  for (size_t i = 0; i < sweep.cell_count; i++) {
    assert_true(sweep.cell[i].state != TA_SWEEP_UNSOLVED);
    times += sweep.cell[i].has_time ? 1 << i : 0;
  }
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  free_ready(&base);
  return times;
}

static void a_time_is_told_only_where_there_is_one(void **state) {
  (void)state;
  char *no_vehicle = replaced(DRIVEN, VEHICLE, ""), *no_corners = replaced(DRIVEN, ROAD, COURSE);
  assert_int_equal(times_of(DRIVEN, "goal.margin=2.3,4.1 %", true), 3);
  assert_int_equal(times_of(DRIVEN, "goal.margin=2.3,4.1 %", false), 0);
  assert_int_equal(times_of(no_vehicle, "goal.margin=2.3,4.1 %", true), 0);
  assert_int_equal(times_of(no_corners, "goal.margin=2.3,4.1 %", true), 0);
  assert_int_equal(times_of(no_corners, "course.rows[1].elevation=2413,2519 m", true), 0);
  /* a corner that one cell makes is known to that cell's road alone */
  assert_int_equal(times_of(no_corners, "course.rows[1].corner_radius=27.1,31.3 m", true), 3);
  /* a spring that leaves no cap leaves no time at it */
  assert_int_equal(times_of(DRIVEN, "car.control.minimum_boost=0.13,1.97 bar", true), 1);
  /* a car that cannot climb has none */
  assert_int_equal(times_of(DRIVEN, "car.vehicle.grip.drive=0.05,1.03", true), 2);
  free(no_vehicle);
  free(no_corners);
}

static void only_small_sweeps_are_timed_unasked(void **state) {
  (void)state;
  ta_sweep_axis axis;
  ta_sweep sweep;
  parse("goal.margin=1:2 %:401", &axis);
  assert_int_equal(ta_sweep_make(&axis, 1, &sweep), TA_OK);
  assert_false(sweep.timed);
  ta_sweep_free(&sweep);
  axis.count--; /* 400 */
  assert_int_equal(ta_sweep_make(&axis, 1, &sweep), TA_OK);
  assert_true(sweep.timed);
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
}

static void surge_margin_is_flow_over_the_surge_line(void **state) {
  (void)state;
  const ta_setting settings[] = {{"--set", "car.turbo.thin_air", "off", NULL},
                                 {"--set", "car.turbo.count", "1", NULL}};
  ta_sweep_axis axis;
  ta_sweep sweep;
  ready base;
  int bad = 0;
  make_ready(WHOLE, settings, 2, &base);
  parse("car.engine.boost_window[0]=3130,7170 rpm", &axis);
  solve(&base, &axis, 1, &sweep);
  for (size_t i = 0; i < 2; i++) {
    base.event.car.engine.window_rpm[0] = axis.si[i];
    bad += off(i == 0 ? "in surge" : "right of it", "margin", sweep.cell[i].surge_margin,
               surge_margin_by_zone(&base), 1e-4);
  }
  assert_true(sweep.cell[0].surge_margin < -0.1 && sweep.cell[1].surge_margin > 0.1);
  assert_int_equal(bad, 0);
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  free_ready(&base);
}

/* A worst point in surge is not vouched for; past what the map can tell is over the limit. */
static void states_follow_the_worst_point(void **state) {
  (void)state;
  const ta_setting low = {"--set", "car.engine.boost_window[0]", "2730 rpm", NULL};
  static const ta_sweep_state want[] = {TA_SWEEP_UNKNOWN, TA_SWEEP_WITHIN, TA_SWEEP_OVER,
                                        TA_SWEEP_OVER};
  ta_sweep_axis axis[2];
  ta_sweep sweep;
  ready base;
  make_ready(WHOLE, &low, 1, &base);
  parse("goal.boost=0.31,4.7 bar", &axis[0]);
  parse("car.engine.boost_window[1]=3110,7130 rpm", &axis[1]);
  solve(&base, axis, 2, &sweep);
  for (size_t i = 0; i < 4; i++) {
    ta_operating_point worst;
    base.event.goal.boost_pa = axis[0].si[i / 2];
    base.event.car.engine.window_rpm[1] = axis[1].si[i % 2];
    assert_int_equal(ta_worst_in_window(&base.prepared, 4114.8, HUGE_VAL, &worst), TA_OK);
    assert_true((worst.zone == TA_SURGE) == (want[i] == TA_SWEEP_UNKNOWN));
    assert_true((worst.shaft_rpm > base.prepared.limit_rpm) == (want[i] == TA_SWEEP_OVER));
    assert_int_equal(sweep.cell[i].state, want[i]);
  }
  assert_true(isinf(sweep.cell[2].worst_rpm));
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis[0]);
  ta_sweep_axis_free(&axis[1]);
  free_ready(&base);
}

/* A spring that gives more than the cap leaves none. */
static void a_cap_that_cannot_be_had_is_none(void **state) {
  (void)state;
  ta_sweep_axis axis;
  ta_sweep sweep;
  ready base;
  make_ready(WHOLE, NULL, 0, &base);
  parse("car.control.minimum_boost=0.13,1.97 bar", &axis);
  solve(&base, &axis, 1, &sweep);
  assert_true(sweep.cell[0].has_cap);
  assert_int_equal(sweep.cell[0].limited_by, TA_BY_SURGE);
  assert_false(sweep.cell[1].has_cap);
  assert_int_equal(sweep.cell[1].limited_by, TA_BY_MINIMUM_BOOST);
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  free_ready(&base);
}

static void bits_do_not_depend_on_threads(void **state) {
  (void)state;
#ifdef _OPENMP
  ta_sweep_axis axis[2];
  ta_sweep one, two;
  ready base;
  make_ready(WHOLE, NULL, 0, &base);
  parse("car.intake.pressure_drop=1.13:5.71 kPa:5", &axis[0]);
  parse("goal.margin=1.3:7.1 %:4", &axis[1]);
  const int threads = omp_get_max_threads();
  omp_set_num_threads(1);
  solve(&base, axis, 2, &one);
  omp_set_num_threads(2);
  solve(&base, axis, 2, &two);
  omp_set_num_threads(threads);
  assert_int_equal(one.cell[7].state, TA_SWEEP_OVER);
  assert_memory_equal(one.cell, two.cell, one.cell_count * sizeof *one.cell);
  ta_sweep_free(&one);
  ta_sweep_free(&two);
  ta_sweep_axis_free(&axis[0]);
  ta_sweep_axis_free(&axis[1]);
  free_ready(&base);
#else
  skip();
#endif
}

static void a_cell_that_fails_leaves_the_others(void **state) {
  (void)state;
  ta_sweep_axis axis;
  ta_sweep sweep;
  ready base;
  make_ready(WHOLE, NULL, 0, &base);
  parse("car.engine.boost_window[0]=100,4130,7310 rpm", &axis);
  solve(&base, &axis, 1, &sweep);
  assert_int_equal(sweep.cell[0].state, TA_SWEEP_UNSOLVED);
  assert_string_equal(
      sweep.cell[0].why,
      "car.engine.boost_window[0]: 100 rpm is outside what is possible here; taken: "
      "200 to 3e+04 rpm");
  assert_int_equal(sweep.cell[1].state, TA_SWEEP_OVER);
  assert_int_equal(sweep.cell[1].why[0], '\0');
  assert_int_equal(sweep.cell[2].state, TA_SWEEP_UNSOLVED);
  assert_string_equal(sweep.cell[2].why,
                      "car.engine.boost_window: the first must be below the second");
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  parse("car.intake.pressure_drop=2.1,121.3 kPa", &axis); /* in the unit that was typed */
  solve(&base, &axis, 1, &sweep);
  assert_string_equal(
      sweep.cell[1].why,
      "car.intake.pressure_drop: 121.3 kPa is outside what is possible here; taken: "
      "0 to 100 kPa");
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  free_ready(&base);
}

/* Words are read into events of their own: their cells are found by the fixed numbers. */
static void fixed_values_have_their_own_cells(void **state) {
  (void)state;
  ta_sweep_axis axis[3];
  ta_sweep sweep;
  ready base;
  size_t begun = 0;
  make_ready(WHOLE, NULL, 0, &base);
  parse("goal.margin=2.1,3.3 %", &axis[0]);
  parse("car.control.holds=absolute,gauge,gauge-from-key-on", &axis[1]);
  parse("car.charge_cooler.leak=0.7,1.9 %", &axis[2]);
  assert_int_equal(ta_sweep_make(axis, 3, &sweep), TA_OK);
  const size_t gauge[] = {TA_SWEEP_VARIED, 1, TA_SWEEP_VARIED}, key_on[] = {0, 2, TA_SWEEP_VARIED};
  assert_int_equal(ta_sweep_solve(&sweep, &base.prepared, gauge, keep_on, &begun), TA_OK);
  assert_int_equal(begun, 4);
  ta_sweep_refuse(&sweep, key_on, "could not be read");
  for (size_t i = 0; i < 12; i++) {
    assert_true((sweep.cell[i].state != TA_SWEEP_UNSOLVED) == (i / 2 % 3 == 1));
    assert_true((sweep.cell[i].why[0] != '\0') == (i == 4 || i == 5));
  }
  assert_string_equal(sweep.cell[5].why, "could not be read");
  ta_sweep_free(&sweep);
  for (size_t k = 0; k < 3; k++) ta_sweep_axis_free(&axis[k]);
  free_ready(&base);
}

static bool stop_after_three(void *context) {
  size_t *begun = context;
  return ++*begun <= 3;
}

static void a_sweep_stops_when_it_is_told(void **state) {
  (void)state;
  ta_sweep_axis axis;
  ta_sweep sweep;
  ready base;
  const size_t fixed[] = {TA_SWEEP_VARIED};
  size_t begun = 0, solved = 0;
  make_ready(WHOLE, NULL, 0, &base);
  parse("goal.margin=1.3:7.1 %:40", &axis);
  assert_int_equal(ta_sweep_make(&axis, 1, &sweep), TA_OK);
  assert_int_equal(ta_sweep_solve(&sweep, &base.prepared, fixed, stop_after_three, &begun), TA_OK);
  for (size_t i = 0; i < sweep.cell_count; i++) solved += sweep.cell[i].state != TA_SWEEP_UNSOLVED;
  assert_int_equal(begun, 4);
  assert_int_equal(solved, 3);
  ta_sweep_free(&sweep);
  ta_sweep_axis_free(&axis);
  free_ready(&base);
}

static void values_are_read_as_they_are_typed(void **state) {
  (void)state;
  ta_sweep_axis axis;
  char text[TA_SWEEP_VALUE_MAX];
  int bad = 0;
  parse("car.intake.pressure_drop=1.3 kPa:6.1 kPa:5", &axis);
  assert_int_equal(axis.count, 5);
  for (size_t i = 0; i < 5; i++)
    bad += off("even", "drop", axis.si[i], 1300.0 + 1200.0 * (double)i, 1e-9);
  assert_string_equal(ta_sweep_value_text(&axis, 1, 6, text), "2.5 kPa");
  ta_sweep_axis_free(&axis);
  parse("car.intake.pressure_drop= 1.3 : 0.61 psi : 2 ", &axis); /* the last unit; falling */
  bad += off_rel("psi", "low", axis.si[0], 1.3 * 6894.757293168, 1e-12);
  bad += off_rel("psi", "high", axis.si[1], 0.61 * 6894.757293168, 1e-12);
  assert_string_equal(ta_sweep_value_text(&axis, 1, 6, text), "0.61 psi");
  ta_sweep_axis_free(&axis);
  parse("day.stations[lowest].temperature=-7.3,68 degF,11.3 degC", &axis); /* each its own */
  bad += off("degC", "first", axis.si[0], 273.15 - 7.3, 1e-9);
  bad += off("degF", "second", axis.si[1], 293.15, 1e-9);
  assert_string_equal(ta_sweep_value_text(&axis, 1, 6, text), "20 degC");
  ta_sweep_axis_free(&axis);
  parse("goal.margin=2.3:4.7 %:3", &axis);
  bad += off("ratio", "middle", axis.si[1], 0.035, 1e-12);
  ta_sweep_axis_free(&axis);
  parse("car.engine.air_fuel_ratio=11.3:12.7:3", &axis);
  assert_string_equal(ta_sweep_value_text(&axis, 2, 6, text), "12.7");
  ta_sweep_axis_free(&axis);
  parse("car.turbo.compressor=a:b.yaml, c d.csv", &axis); /* a colon in a name */
  assert_null(axis.si);
  assert_int_equal(axis.count, 2);
  assert_string_equal(axis.word[0], "a:b.yaml");
  assert_string_equal(axis.word[1], "c d.csv");
  ta_sweep_axis_free(&axis);
  parse("car.charge_cooler.coolant=ambient,31 degC", &axis); /* a word among numbers */
  assert_string_equal(axis.word[1], "31 degC");
  ta_sweep_axis_free(&axis);
  static const char *const files[] = {"day=a,b", "car=a,b", "course=a,b", "car.turbo=a,b"};
  for (size_t i = 0; i < COUNT_OF(files); i++) {
    parse(files[i], &axis);
    assert_non_null(axis.word);
    ta_sweep_axis_free(&axis);
  }
  assert_int_equal(bad, 0);
}

static void what_is_no_list_of_values_is_refused_in_words(void **state) {
  (void)state;
  static const struct {
    const char *text, *word;
  } refused[] = {
      {"car.intake.pressure_drop", "KEY=A:B:N"},
      {"=1:2 kPa:3", "KEY=A:B:N"},
      {"car.intake.drop=1:2 kPa:3", "no such key; taken inside car.intake"},
      {"car.engine.boost_window=4000:5000 rpm:3", "one value is set at a time"},
      {"car.intake=1:2 kPa:3", "one value is set at a time"},
      {"car.intake.pressure_drop=1:2:3", "has no unit"},
      {"car.intake.pressure_drop=1,2", "has no unit"},
      {"car.intake.pressure_drop=1 kPa:2:3", "has no unit"},
      {"car.intake.pressure_drop=1:2 kg:3", "kg"},
      {"car.intake.pressure_drop=1 K:2 kPa:3", "K"},
      {"car.intake.pressure_drop=1:2 kPa", "A:B:N is taken"},
      {"car.intake.pressure_drop=1:2 kPa:3:4", "A:B:N is taken"},
      {"car.intake.pressure_drop=:2 kPa:3", "A:B:N is taken"},
      {"car.intake.pressure_drop=1:2 kPa:1", "no number of values"},
      {"car.intake.pressure_drop=1:2 kPa:2.5", "no number of values"},
      {"car.intake.pressure_drop=1:2 kPa:-3", "no number of values"},
      {"car.intake.pressure_drop=1:2 kPa:three", "no number of values"},
      {"car.intake.pressure_drop=1:2 kPa:3 kPa", "no number of values"},
      {"car.intake.pressure_drop=1:2 kPa:100001", "no number of values; taken: 2 to 100000"},
      {"car.intake.pressure_drop=2 kPa:2000 Pa:3", "the same"},
      {"car.intake.pressure_drop=2 kPa", "one value is nothing to compare"},
      {"car.intake.pressure_drop=1 kPa,,2 kPa", "value 2 is empty"},
      {"car.intake.pressure_drop=", "value 1 is empty"},
      {"car.intake.pressure_drop=low,high", "low"},
      {"car.control.holds=absolute,nothing", "taken: absolute|gauge"},
      {"car.control.holds=absolute", "one value is nothing to compare"},
      {"goal.boost=20,24 psia", "psia"},
  };
  for (size_t i = 0; i < COUNT_OF(refused); i++) {
    ta_sweep_axis axis;
    why[0] = '\0';
    const ta_status status = ta_sweep_axis_parse(refused[i].text, &axis, why, sizeof why);
    if (status != TA_ERR_ARGUMENT || strstr(why, refused[i].word) == NULL)
      fail_msg("%s: %s, %s", refused[i].text, ta_status_name(status), why);
    assert_true(axis.count == 0 && axis.si == NULL && axis.word == NULL);
  }
}

static void too_many_cells_are_refused(void **state) {
  (void)state;
  ta_sweep_axis axis[2];
  ta_sweep sweep;
  parse("goal.margin=1:2 %:400", &axis[0]);
  parse("car.intake.pressure_drop=1:2 kPa:250", &axis[1]);
  assert_int_equal(ta_sweep_make(axis, 2, &sweep), TA_OK);
  assert_int_equal(sweep.cell_count, TA_SWEEP_CELLS_MAX);
  ta_sweep_free(&sweep);
  axis[0].count++; /* not read */
  assert_int_equal(ta_sweep_make(axis, 2, &sweep), TA_ERR_DOMAIN);
  assert_null(sweep.cell);
  assert_int_equal(ta_sweep_make(axis, 0, &sweep), TA_ERR_ARGUMENT);
  ta_sweep_axis_free(&axis[0]);
  ta_sweep_axis_free(&axis[1]);
}

static int sketch_off(const char *row, const char *text, double tolerance) {
  static ta_profile sketch;
  ready base;
  int bad = 0;
  make_ready(text, NULL, 0, &base);
  const ta_speed_range window = ta_judged_speeds(&base.event.car);
  assert_int_equal(ta_profile_sketch(&base.prepared, window, HUGE_VAL, &sketch), TA_OK);
  assert_true(sketch.count >= 9 && sketch.count < 30);
  assert_true(sketch.elevation_m[0] == 1463.04);
  assert_true(sketch.elevation_m[sketch.count - 1] == 4114.8);
  for (double at_m = 1471.3; at_m < 4114.0; at_m += 17.7) {
    ta_operating_point worst;
    assert_int_equal(ta_worst_in_window(&base.prepared, at_m, HUGE_VAL, &worst), TA_OK);
    bad += off(row, "shaft", ta_profile_shaft(&sketch, at_m), worst.shaft_rpm,
               tolerance * base.prepared.limit_rpm);
  }
  free_ready(&base);
  return bad;
}

static void a_sketched_profile_keeps_its_tolerance(void **state) {
  (void)state;
  char *kinked = replaced(WHOLE, "    - {elevation: 4114.8 m",
                          "    - {elevation: 2831 m, temperature: 17 degC}\n"
                          "    - {elevation: 4114.8 m");
  int bad = sketch_off("two stations", WHOLE, 1.5e-4);
  /* an inversion over a cold valley passes the standard day at 2370 m, where no station stands */
  char *cold = replaced(WHOLE, DAY,
                        "  stations:\n"
                        "    - {elevation: 1463.04 m, temperature: -4.1 degC, pressure: 853 hPa}\n"
                        "  lapse_rate: -4.1 K/km\n");
  bad += sketch_off("a kink between stations", cold, 1.5e-4);
  free(cold);
  bad += sketch_off("a station halfway up", kinked, 1.5e-4);
  free(kinked);
  assert_int_equal(bad, 0);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cells_are_those_of_a_plan),
      cmocka_unit_test(times_are_those_of_a_plan),
      cmocka_unit_test(more_mass_or_margin_is_not_quicker),
      cmocka_unit_test(a_time_is_told_only_where_there_is_one),
      cmocka_unit_test(only_small_sweeps_are_timed_unasked),
      cmocka_unit_test(surge_margin_is_flow_over_the_surge_line),
      cmocka_unit_test(states_follow_the_worst_point),
      cmocka_unit_test(a_cap_that_cannot_be_had_is_none),
      cmocka_unit_test(bits_do_not_depend_on_threads),
      cmocka_unit_test(a_cell_that_fails_leaves_the_others),
      cmocka_unit_test(fixed_values_have_their_own_cells),
      cmocka_unit_test(a_sweep_stops_when_it_is_told),
      cmocka_unit_test(values_are_read_as_they_are_typed),
      cmocka_unit_test(what_is_no_list_of_values_is_refused_in_words),
      cmocka_unit_test(too_many_cells_are_refused),
      cmocka_unit_test(a_sketched_profile_keeps_its_tolerance),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
