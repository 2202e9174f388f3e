/* test_controller_table.c - the controller's table: read by code of our own, on a finer grid and at
 * random places between and beyond its nodes, no set-point passes the limit or the goal though the
 * barometer reads high; what it gives away against caps by an independent root. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "../judged.h"
#include "random_event.h"
#include "thinair/caps.h"
#include "thinair/controller_table.h"
#include "thinair/drive.h"
#include "thinair/event_reader.h"

/* ---- what a controller does, and the air it does it in --------------------------------------- */

static size_t at_or_below(const double *node, size_t count, double at) {
  size_t i = 0;
  while (i + 1 < count && node[i + 1] <= at) i++;
  return i;
}

/* Linear between the nodes or the node at or below; the ends hold beyond. */
static double read_off(const ta_prepared *prepared, const ta_controller_table *t, double reading_pa,
                       double rpm) {
  const ta_controller_axes *a = &t->axes;
  const size_t rows = a->pressure_count, columns = a->speed_count;
  if (prepared->event->car.control.interpolation == 1)
    return t->set_point[at_or_below(a->pressure_pa, rows, reading_pa) * columns +
                        at_or_below(a->speed_rpm, columns, rpm)];
  const double p = fmin(fmax(reading_pa, a->pressure_pa[0]), a->pressure_pa[rows - 1]),
               n = fmin(fmax(rpm, a->speed_rpm[0]), a->speed_rpm[columns - 1]);
  size_t i = at_or_below(a->pressure_pa, rows, p), j = at_or_below(a->speed_rpm, columns, n);
  if (i + 1 == rows && i > 0) i--;
  if (j + 1 == columns && j > 0) j--;
  const double up =
      rows > 1 ? (p - a->pressure_pa[i]) / (a->pressure_pa[i + 1] - a->pressure_pa[i]) : 0.0;
  const double right =
      columns > 1 ? (n - a->speed_rpm[j]) / (a->speed_rpm[j + 1] - a->speed_rpm[j]) : 0.0;
  double sum = 0.0;
  for (size_t k = 0; k < 4; k++) {
    const double weight = (k < 2 ? 1.0 - up : up) * (k % 2 == 0 ? 1.0 - right : right);
    if (weight != 0.0) sum += weight * t->set_point[(i + k / 2) * columns + j + k % 2];
  }
  return sum;
}

/* Secants on the logarithm of pressure, which is nearly linear in height. */
static ta_air air_of(const ta_day *day, double pressure_pa) {
  double z0 = 1500.0, z1 = 3500.0;
  ta_air a, b;
  assert_int_equal(ta_day_air(day, z0, &a), TA_OK);
  for (int i = 0; i < 40; i++) {
    assert_int_equal(ta_day_air(day, z1, &b), TA_OK);
    if (fabs(b.pressure_pa / pressure_pa - 1.0) < 1e-12 || a.pressure_pa == b.pressure_pa) break;
    const double z2 =
        z1 + (z1 - z0) * log(pressure_pa / b.pressure_pa) / log(b.pressure_pa / a.pressure_pa);
    z0 = z1;
    a = b;
    z1 = z2;
  }
  assert_int_equal(off_rel("air", "pressure", b.pressure_pa, pressure_pa, 1e-10), 0);
  return b;
}

/* Set-point of the goal, all written out. */
static double goal_of(const ta_prepared *prepared, double rpm) {
  const ta_goal *goal = &prepared->event->goal;
  double map_pa = goal->map_pa;
  if (goal->point_count > 0) {
    const ta_goal_point *g = goal->point;
    const size_t last = goal->point_count - 1;
    map_pa = rpm <= g[0].engine_rpm ? g[0].map_pa : g[last].map_pa;
    for (size_t i = 0; i < last; i++)
      if (rpm > g[i].engine_rpm && rpm <= g[i + 1].engine_rpm)
        map_pa = g[i].map_pa + (g[i + 1].map_pa - g[i].map_pa) * (rpm - g[i].engine_rpm) /
                                   (g[i + 1].engine_rpm - g[i].engine_rpm);
  } else if (goal->has_boost) {
    map_pa = goal->boost_pa + prepared->start.pressure_pa;
  }
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? map_pa - prepared->start.pressure_pa
                                                              : map_pa;
}

static double map_of(const ta_prepared *prepared, double set_point, const ta_air *air) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? set_point + air->pressure_pa
                                                              : set_point;
}

static double shaft_at(const ta_prepared *prepared, const ta_air *air, double rpm, double map_pa) {
  ta_operating_point point;
  assert_int_equal(ta_point_solve(&prepared->event->car, prepared->map, air, rpm, map_pa, &point),
                   TA_OK);
  return point.shaft_rpm;
}

/* ---- never past the limit -------------------------------------------------------------------- */

/* The controller reads; the air is up to the barometer's error thinner than it reads. */
static int check_place(const char *row, const ta_prepared *prepared, const ta_controller_table *t,
                       double reading_pa, double rpm) {
  const ta_control *control = &prepared->event->car.control;
  const double set_point = read_off(prepared, t, reading_pa, rpm);
  int bad = off_rel(row, "reading", ta_controller_table_read(prepared, t, reading_pa, rpm),
                    set_point, 1e-12);
  const ta_controller_axes *a = &t->axes;
  const bool between = rpm >= a->speed_rpm[0] && rpm <= a->speed_rpm[a->speed_count - 1];
  if (between && !(set_point <= goal_of(prepared, rpm) * (1.0 + 1e-9))) {
    print_error("%s: %.1f at %.0f Pa and %.0f rpm is above the goal\n", row, set_point, reading_pa,
                rpm);
    bad++;
  }
  for (int k = 0; k <= 2; k++) {
    const ta_air air = air_of(&prepared->day, reading_pa - 0.5 * k * control->barometer_error_pa);
    const double map_pa =
        map_of(prepared, set_point, &air) + control->overshoot_pa + control->map_error_pa;
    if (!(map_pa > air.pressure_pa)) continue; /* no boost */
    const double shaft = shaft_at(prepared, &air, rpm, map_pa);
    if (shaft <= prepared->limit_rpm * (1.0 + 1e-6)) continue;
    print_error("%s: %.3f rpm of %.3f at %.1f Pa read high by %.1f, %.1f rpm\n", row, shaft,
                prepared->limit_rpm, reading_pa, 0.5 * k * control->barometer_error_pa, rpm);
    bad++;
  }
  return bad;
}

/* Nodes, three places between each two, random places; pressures that the course has, read high by
 * the barometer's error. */
static int check_table(const char *row, const ta_prepared *prepared, const ta_controller_table *t,
                       uint64_t seed) {
  const ta_controller_axes *a = &t->axes;
  const ta_event *event = prepared->event;
  int bad = 0;
  for (size_t i = 0; i < 4 * (a->pressure_count - 1) + 1; i++) {
    const size_t row_of = i / 4;
    const double p = a->pressure_pa[row_of] +
                     (i % 4 == 0 ? 0.0
                                 : 0.25 * (double)(i % 4) *
                                       (a->pressure_pa[row_of + 1] - a->pressure_pa[row_of]));
    for (size_t k = 0; k < 4 * (a->speed_count - 1) + 1; k++) {
      const size_t column = k / 4;
      const double n =
          a->speed_rpm[column] +
          (k % 4 == 0 ? 0.0
                      : 0.25 * (double)(k % 4) * (a->speed_rpm[column + 1] - a->speed_rpm[column]));
      if (n <= fmax(event->car.engine.window_rpm[1], event->car.engine.redline_rpm))
        bad += check_place(row, prepared, t, p, n);
    }
  }
  double low_m, high_m;
  ta_air low, high;
  ta_course_range(&event->course, &low_m, &high_m);
  assert_int_equal(ta_day_air(&prepared->day, low_m, &low), TA_OK);
  assert_int_equal(ta_day_air(&prepared->day, high_m, &high), TA_OK);
  const ta_speed_range speeds = ta_controller_speeds(&event->car);
  for (uint64_t i = 0; i < 150; i++) {
    uint64_t next = seed + 2 * i;
    const double p = spread(&next, high.pressure_pa - 2000.0,
                            low.pressure_pa + event->car.control.barometer_error_pa),
                 n = spread(&next, speeds.low_rpm, speeds.high_rpm);
    bad += check_place(row, prepared, t, p, n);
  }
  return bad;
}

/* Steps of the resolution by which the nodes stand, on the mean, below the highest that the cap at the
 * node itself allows: no table can do better there, whatever its cells ask. */
static double steps_below_best(const ta_prepared *prepared, const ta_controller_table *t) {
  const ta_controller_axes *a = &t->axes;
  const double step = prepared->event->car.control.resolution_pa;
  double steps = 0.0;
  for (size_t i = 0; i < a->pressure_count; i++) {
    const ta_air as_read = air_of(&prepared->day, a->pressure_pa[i]),
                 thin = air_of(&prepared->day,
                               a->pressure_pa[i] - prepared->event->car.control.barometer_error_pa);
    const ta_air *const air[] = {&as_read, &thin};
    for (size_t k = 0; k < a->speed_count; k++) {
      const double rpm[] = {a->speed_rpm[k], a->speed_rpm[k]};
      double cap[2];
      (void)ta_speed_caps(prepared, air, rpm, 2, cap);
      steps +=
          floor(fmin(cap[0], cap[1]) / step + 1e-9) - t->set_point[i * a->speed_count + k] / step;
    }
  }
  return steps / (double)(a->pressure_count * a->speed_count);
}

static void no_reading_passes_the_limit(void **state) {
  (void)state;
  enum { EVENTS = 216 };
  int bad = 0, tables = 0, steps = 0;
  double mean[2] = {0.0}, worst_mean[2] = {0.0}, worst[2] = {0.0}, steps_below = 0.0;
  for (uint64_t i = 0; i < EVENTS; i++) {
    drawn d;
    char row[32];
    draw_event(i, &d);
    d.it.event.car.control.interpolation = i % 5 == 4;
    (void)snprintf(row, sizeof row, "event %d", (int)i);
    ta_controller_table table[2];
    for (int rounded = 0; rounded < 2; rounded++) {
      assert_int_equal(ta_controller_table_find(&d.prepared, rounded == 1, &table[rounded]), TA_OK);
      if (table[rounded].can_be_had)
        bad += check_table(row, &d.prepared, &table[rounded], 1000000 + 1000 * i);
    }
    if (table[1].can_be_had && i % 5 != 4) steps_below += steps_below_best(&d.prepared, &table[1]);
    if (table[0].can_be_had) tables++;
    if (table[0].can_be_had && i % 5 == 4) steps++;
    for (int k = 0; k < 2; k++) {
      if (table[k].can_be_had && i % 5 != 4) {
        mean[k] += table[k].give_away_mean;
        worst_mean[k] = fmax(worst_mean[k], table[k].give_away_mean);
        worst[k] = fmax(worst[k], table[k].give_away_worst);
      }
      ta_controller_table_free(&table[k]);
    }
    ta_prepared_free(&d.prepared);
  }
  print_message(
      "%d tables, %d of them by steps; linear give-away: mean %.3f %% (largest mean %.3f, "
      "worst place %.2f), rounded %.3f %% (%.3f, %.2f)\n",
      tables, steps, 100.0 * mean[0] / (tables - steps), 100.0 * worst_mean[0], 100.0 * worst[0],
      100.0 * mean[1] / (tables - steps), 100.0 * worst_mean[1], 100.0 * worst[1]);
  print_message("rounded nodes stand %.3f steps of 1 kPa below the best\n",
                steps_below / (tables - steps));
  assert_int_equal(bad, 0);
  assert_true(tables >= 200);
  assert_true(mean[0] / (tables - steps) < 0.001 && mean[1] / (tables - steps) < 0.004);
  assert_true(steps_below / (tables - steps) < 0.1);
}

/* Hot air lies on the ground: where the barometer is right the cap is lower than in the thinner,
 * cooler air that it may be wrong about. */
static void hot_air_under_cool(void **state) {
  (void)state;
  drawn d;
  draw_event(3, &d);
  ta_prepared_free(&d.prepared);
  ta_station layer[] = {
      {.elevation_m = 1463.0, .temperature_k = 315.0, .pressure_pa = 85300.0, .has_pressure = true},
      {.elevation_m = 1807.0, .temperature_k = 265.0},
      {.elevation_m = 4117.0, .temperature_k = 261.0}};
  d.it.event.day = (ta_day_reading){
      .station = layer, .station_count = COUNT_OF(layer), .lapse_rate_k_m = 0.0065};
  d.it.event.day_is_isa = false;
  d.it.event.car.control.barometer_error_pa = 970.0;
  prepare(&d);
  /* the limit is passed at the start */
  d.it.event.car.turbo.rated_rpm =
      0.983 * worst_at(&d.prepared, 1463.0) / (1.0 - d.it.event.goal.margin);
  ta_prepared_free(&d.prepared);
  prepare(&d);
  ta_controller_table t;
  assert_int_equal(ta_controller_table_find(&d.prepared, false, &t), TA_OK);
  assert_true(t.can_be_had);
  const int bad = check_table("hot air under cool", &d.prepared, &t, 990000);
  ta_controller_table_free(&t);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* ---- what it gives away ---------------------------------------------------------------------- */

typedef struct {
  const ta_prepared *prepared;
  const ta_air *air;
  double rpm;
} asked;

static double over_limit(double map_pa, void *with) {
  const asked *a = with;
  return fmin(shaft_at(a->prepared, a->air, a->rpm, map_pa), 1e9) - a->prepared->limit_rpm;
}

/* Set-point cap by Brent's root: the shaft rises with MAP here. */
static double cap_of(const ta_prepared *prepared, const ta_air *air, double rpm) {
  const ta_control *control = &prepared->event->car.control;
  const double excess = control->overshoot_pa + control->map_error_pa,
               goal = goal_of(prepared, rpm), high = map_of(prepared, goal, air) + excess;
  asked a = {prepared, air, rpm};
  if (over_limit(high, &a) <= 0.0) return goal;
  gsl_function f = {over_limit, &a};
  gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  double low = air->pressure_pa * 1.001, top = high;
  assert_int_equal(gsl_root_fsolver_set(solver, &f, low, top), GSL_SUCCESS);
  for (int i = 0; i < 100 && top - low > 0.01; i++) {
    assert_int_equal(gsl_root_fsolver_iterate(solver), GSL_SUCCESS);
    low = gsl_root_fsolver_x_lower(solver);
    top = gsl_root_fsolver_x_upper(solver);
  }
  const double map_pa = gsl_root_fsolver_root(solver) - excess;
  gsl_root_fsolver_free(solver);
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? map_pa - air->pressure_pa : map_pa;
}

static void the_demo_gives_away_little(void **state) {
  (void)state;
  ta_event event;
  ta_prepared prepared;
  ta_diagnostics *diagnostics = calloc(1, sizeof *diagnostics);
  assert_non_null(diagnostics);
  assert_int_equal(ta_event_read(TA_COURSES "/tolvane-dome", NULL, 0, &event, diagnostics), TA_OK);
  assert_int_equal(ta_prepare(&event, &prepared), TA_OK);
  const double bar[] = {0.001, 0.004};
  int bad = 0;
  for (int rounded = 0; rounded < 2; rounded++) {
    ta_controller_table t;
    assert_int_equal(ta_controller_table_find(&prepared, rounded == 1, &t), TA_OK);
    assert_true(t.can_be_had);
    bad += check_table("demo", &prepared, &t, 77000);
    double mean = 0.0, worst = 0.0;
    enum { SIDE = 29 };
    for (int i = 0; i < SIDE; i++) {
      /* between the samples that the table was made of, and on them: both at 29 places a side */
      const double share = i / (SIDE - 1.0);
      const double p =
          t.axes.pressure_pa[0] +
          share * (t.axes.pressure_pa[t.axes.pressure_count - 1] - t.axes.pressure_pa[0]);
      const ta_air thin = air_of(&prepared.day, p - event.car.control.barometer_error_pa);
      for (int k = 0; k < SIDE; k++) {
        const double n =
            t.axes.speed_rpm[0] +
            k / (SIDE - 1.0) * (t.axes.speed_rpm[t.axes.speed_count - 1] - t.axes.speed_rpm[0]);
        const double away = 1.0 - read_off(&prepared, &t, p, n) / cap_of(&prepared, &thin, n);
        if (!(away > -1e-6)) bad++;
        mean += away / (SIDE * SIDE);
        worst = fmax(worst, away);
      }
    }
    print_message("demo, %s: give-away mean %.4f %%, worst %.3f %% (said: %.4f, %.3f)\n",
                  rounded ? "rounded to 1 kPa" : "not rounded", 100.0 * mean, 100.0 * worst,
                  100.0 * t.give_away_mean, 100.0 * t.give_away_worst);
    if (!(mean < bar[rounded] && t.give_away_mean < bar[rounded])) bad++;
    bad += off("demo", "mean", t.give_away_mean, mean, 0.3 * mean);
    bad += off("demo", "worst", t.give_away_worst, worst, 0.5 * worst);
    ta_controller_table_free(&t);
  }
  assert_int_equal(bad, 0);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  free(diagnostics);
}

/* ---- rounding, axes, what cannot be had ------------------------------------------------------ */

static void nodes_are_whole_steps_of_what_is_held(void **state) {
  (void)state;
  const double steps[] = {1000.0, 689.4757293168361, 170.0};
  int bad = 0;
  for (uint64_t i = 0; i < 12; i++) {
    drawn d;
    draw_event(3000 + i, &d);
    d.it.event.car.control.resolution_pa = steps[i % 3];
    d.it.event.car.control.holds = i % 2 == 0 ? TA_HOLDS_GAUGE : TA_HOLDS_ABSOLUTE;
    ta_controller_table exact, t;
    assert_int_equal(ta_controller_table_find(&d.prepared, false, &exact), TA_OK);
    assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
    int whole_exact = 0;
    for (size_t k = 0; k < t.axes.pressure_count * t.axes.speed_count; k++) {
      const double in_steps = t.set_point[k] / steps[i % 3],
                   exact_steps = exact.set_point[k] / steps[i % 3];
      bad += off("rounded", "node", in_steps, round(in_steps), 1e-6);
      whole_exact += fabs(exact_steps - round(exact_steps)) < 1e-3;
    }
    if (t.can_be_had && !(t.give_away_mean > exact.give_away_mean)) bad++;
    assert_true(whole_exact < 10);
    ta_controller_table_free(&exact);
    ta_controller_table_free(&t);
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
}

static bool holds(const double *axis, size_t count, double value) {
  for (size_t i = 0; i < count; i++)
    if (axis[i] == value) return true;
  return false;
}

static void chosen_axes(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t i = 0; i < 40; i++) {
    drawn d;
    draw_event(4000 + i, &d);
    const ta_engine *engine = &d.it.event.car.engine;
    ta_controller_axes a;
    ta_air low, high;
    assert_int_equal(ta_controller_axes_make(&d.prepared, &a), TA_OK);
    assert_int_equal(ta_day_air(&d.prepared.day, 1463.0, &low), TA_OK);
    assert_int_equal(ta_day_air(&d.prepared.day, 4117.0, &high), TA_OK);
    assert_int_equal(a.pressure_count, 8);
    assert_int_equal(a.speed_count, 8);
    for (size_t k = 0; k < 8; k++) {
      const double even = high.pressure_pa - 2000.0 +
                          (low.pressure_pa - high.pressure_pa + 2000.0) * (double)k / 7.0;
      /* but for the rounding to half a kPa of node and ends */
      bad += off("pressure", "node", a.pressure_pa[k], even, 750.0);
      assert_true(fmod(a.pressure_pa[k], 500.0) == 0.0);
      if (k > 0 && !(a.speed_rpm[k] >= a.speed_rpm[k - 1] + 99.0)) bad++;
    }
    assert_true(a.speed_rpm[0] == engine->window_rpm[0]);
    assert_true(a.speed_rpm[7] ==
                (engine->has_redline ? engine->redline_rpm : engine->window_rpm[1]));
    /* bends of ve and goal are nodes, but for those next to another */
    for (size_t k = 0; k < engine->ve_count + d.it.event.goal.point_count; k++) {
      const double rpm = k < engine->ve_count
                             ? engine->ve[k].engine_rpm
                             : d.it.event.goal.point[k - engine->ve_count].engine_rpm;
      bool near = rpm < a.speed_rpm[0] || rpm > a.speed_rpm[7];
      for (size_t n = 0; n < 8; n++) near = near || fabs(a.speed_rpm[n] - rpm) < 100.0;
      if (!near) bad++;
    }
    if (!holds(a.speed_rpm, 8, 6010.0) && d.it.event.goal.point_count == 0) bad++;
    /* the rest are even in the widest gaps: no gap is twice another that was halved */
    double widest = 0.0;
    for (size_t n = 1; n < 8; n++) widest = fmax(widest, a.speed_rpm[n] - a.speed_rpm[n - 1]);
    if (!(widest < 0.31 * (a.speed_rpm[7] - a.speed_rpm[0]))) bad++;
    ta_prepared_free(&d.prepared);
  }
  /* a redline below the top of the window, one that is missing, and a narrow window */
  drawn d;
  draw_event(4100, &d);
  d.it.event.car.engine.has_redline = true;
  d.it.event.car.engine.redline_rpm = d.it.event.car.engine.window_rpm[1] - 313.0;
  assert_true(ta_controller_speeds(&d.it.event.car).high_rpm ==
              d.it.event.car.engine.window_rpm[1]);
  d.it.event.car.engine.has_redline = false;
  d.it.event.car.engine.redline_rpm = 9000.0;
  assert_true(ta_controller_speeds(&d.it.event.car).high_rpm ==
              d.it.event.car.engine.window_rpm[1]);
  ta_controller_axes a;
  d.it.event.car.engine.window_rpm[0] = 6213.0;
  d.it.event.car.engine.window_rpm[1] = 6597.0;
  assert_int_equal(ta_controller_axes_make(&d.prepared, &a), TA_OK);
  assert_true(a.speed_count >= 2 && a.speed_count < 6 && a.speed_rpm[0] == 6213.0 &&
              a.speed_rpm[a.speed_count - 1] == 6597.0);
  d.it.event.car.engine.window_rpm[1] = 6213.0;
  assert_int_equal(ta_controller_axes_make(&d.prepared, &a), TA_OK);
  assert_true(a.speed_count == 1 && a.speed_rpm[0] == 6213.0);
  ta_controller_table t;
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
  if (t.can_be_had) bad += check_table("one speed", &d.prepared, &t, 555000);
  ta_controller_table_free(&t);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* Within a window that the axis given does not reach down to, its first node holds. */
static void axes_of_the_car_file(void **state) {
  (void)state;
  double pressures[] = {50300.0, 57100.0, 66900.0, 79300.0, 91700.0},
         speeds[] = {4900.0, 5650.0, 6610.0, 7390.0, 8130.0};
  int bad = 0, tables = 0;
  for (uint64_t i = 0; i < 24; i++) {
    drawn d;
    draw_event(5000 + i, &d);
    ta_control *control = &d.it.event.car.control;
    control->pressure_axis_pa = pressures;
    control->pressure_axis_count = COUNT_OF(pressures);
    if (i % 2 == 0) {
      control->speed_axis_rpm = speeds;
      control->speed_axis_count = COUNT_OF(speeds);
    }
    control->interpolation = i % 3 == 2;
    ta_controller_table t;
    assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
    assert_int_equal(t.axes.pressure_count, COUNT_OF(pressures));
    for (size_t k = 0; k < COUNT_OF(pressures); k++)
      assert_true(t.axes.pressure_pa[k] == pressures[k]);
    if (i % 2 == 0) {
      assert_int_equal(t.axes.speed_count, COUNT_OF(speeds));
      for (size_t k = 0; k < COUNT_OF(speeds); k++) assert_true(t.axes.speed_rpm[k] == speeds[k]);
    }
    if (t.can_be_had) {
      bad += check_table("given axes", &d.prepared, &t, 600000 + 1000 * i);
      tables++;
    }
    ta_controller_table_free(&t);
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
  assert_true(tables > 12);
}

static void what_cannot_be_had(void **state) {
  (void)state;
  drawn d;
  ta_controller_table t;
  draw_event(11, &d);
  ta_control *control = &d.it.event.car.control;
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
  assert_true(t.can_be_had && t.set_point != NULL);
  double least = HUGE_VAL; /* boost of the table in the thinnest air */
  for (size_t k = 0; k < t.axes.speed_count; k++)
    least = fmin(least,
                 t.set_point[k] - (control->holds == TA_HOLDS_GAUGE ? 0.0 : t.axes.pressure_pa[0]));
  ta_controller_table_free(&t);
  control->has_minimum_boost = true;
  control->minimum_boost_pa = least - 2500.0; /* rounding and the barometer's error below */
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
  assert_true(t.can_be_had);
  ta_controller_table_free(&t);
  control->minimum_boost_pa = least + 2500.0 + control->map_error_pa;
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
  assert_true(!t.can_be_had && t.set_point != NULL);
  ta_controller_table_free(&t);
  control->has_minimum_boost = false;
  control->holds = TA_HOLDS_GAUGE_KEY_ON; /* blind to the air on the way */
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_OK);
  assert_null(t.set_point);
  assert_int_equal(t.axes.pressure_count, 8);
  ta_controller_table_free(&t);
  ta_controller_table_free(NULL);
  control->holds = TA_HOLDS_ABSOLUTE;
  t.can_be_had = false;
  t.give_away_mean = -7.0;
  assert_int_equal(ta_controller_table_find(NULL, true, &t), TA_ERR_ARGUMENT);
  assert_int_equal(ta_controller_table_find(&d.prepared, true, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_controller_axes_make(NULL, &t.axes), TA_ERR_ARGUMENT);
  assert_int_equal(ta_controller_axes_make(&d.prepared, NULL), TA_ERR_ARGUMENT);
  double outside[] = {23000.0, 61000.0}; /* above 9 000 m */
  control->pressure_axis_pa = outside;
  control->pressure_axis_count = COUNT_OF(outside);
  assert_int_equal(ta_controller_table_find(&d.prepared, true, &t), TA_ERR_DOMAIN);
  assert_true(t.give_away_mean == -7.0 && !t.can_be_had);
  ta_prepared_free(&d.prepared);
}

/* A goal that is within the limit, and a spring that gives more than it asks for: where the spring
 * alone passes the limit no table helps. */
static void a_spring_above_the_goal(void **state) {
  (void)state;
  static const struct {
    double minimum_boost_pa, limit_share; /* of the shaft that the spring leads to */
    bool can_be_had;
  } rows[] = {{97e3, 1.0 - 1e-6, false}, {97e3, 1.0 + 1e-6, true}, {31e3, 1.0 - 1e-6, true}};
  for (int holds = TA_HOLDS_ABSOLUTE; holds <= TA_HOLDS_GAUGE; holds++)
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
      invented it;
      ta_prepared prepared;
      ta_controller_table t;
      invented_make(&it);
      it.event.course.count = 2; /* level: one air in all that counts */
      it.course[0].elevation_m = it.course[1].elevation_m = 3184.0;
      ta_control *control = &it.event.car.control;
      control->holds = holds;
      control->barometer_error_pa = 0.0;
      control->has_minimum_boost = true;
      control->minimum_boost_pa = 97e3;
      it.event.goal = (ta_goal){.boost_pa = 61e3, .has_boost = true};
      assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
      /* nodes stand from 2 kPa below the course's pressure to half a kPa above it */
      double fastest = 0.0;
      ta_controller_axes axes;
      assert_int_equal(ta_controller_axes_make(&prepared, &axes), TA_OK);
      for (double p = axes.pressure_pa[0]; p <= axes.pressure_pa[axes.pressure_count - 1];
           p += 125.0)
        for (size_t k = 0; k < axes.speed_count; k++) {
          const ta_air air = air_of(&prepared.day, p);
          fastest = fmax(fastest, judged_fastest(&prepared, &air, axes.speed_rpm[k],
                                                 axes.speed_rpm[k], 1.0, 61e3));
        }
      ta_prepared_free(&prepared);
      it.event.car.turbo.rated_rpm = fastest * rows[i].limit_share;
      control->minimum_boost_pa = rows[i].minimum_boost_pa;
      assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
      assert_int_equal(ta_controller_table_find(&prepared, true, &t), TA_OK);
      if (t.can_be_had != rows[i].can_be_had) fail_msg("holds %d, row %zu", holds, i);
      for (size_t k = 0; k < t.axes.pressure_count * t.axes.speed_count; k++)
        assert_true(t.set_point[k] <= ta_prepared_goal(&prepared, 5000.0));
      ta_controller_table_free(&t);
      ta_prepared_free(&prepared);
    }
}

static void the_air_at_a_pressure(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t i = 0; i < 30; i++) {
    drawn d;
    draw_event(6000 + i, &d);
    uint64_t next = 880000 + 4 * i;
    const double elevation_m = spread(&next, -1900.0, 8900.0);
    ta_air want, got;
    double back_m;
    assert_int_equal(ta_day_air(&d.prepared.day, elevation_m, &want), TA_OK);
    assert_int_equal(ta_air_at_pressure(&d.prepared.day, want.pressure_pa, &got, &back_m), TA_OK);
    bad += off("round trip", "elevation", back_m, elevation_m, 1e-4);
    bad += off_rel("round trip", "pressure", got.pressure_pa, want.pressure_pa, 1e-9);
    bad += off_rel("round trip", "temperature", got.temperature_k, want.temperature_k, 1e-8);
    bad += off_rel("round trip", "moisture", got.gas_constant_jkgk, want.gas_constant_jkgk, 1e-9);
    assert_int_equal(ta_air_at_pressure(&d.prepared.day, 19300.0, &got, &back_m), TA_ERR_DOMAIN);
    assert_int_equal(ta_air_at_pressure(&d.prepared.day, 141e3, &got, &back_m), TA_ERR_DOMAIN);
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_reading_passes_the_limit),
      cmocka_unit_test(hot_air_under_cool),
      cmocka_unit_test(the_demo_gives_away_little),
      cmocka_unit_test(nodes_are_whole_steps_of_what_is_held),
      cmocka_unit_test(chosen_axes),
      cmocka_unit_test(axes_of_the_car_file),
      cmocka_unit_test(what_cannot_be_had),
      cmocka_unit_test(a_spring_above_the_goal),
      cmocka_unit_test(the_air_at_a_pressure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
