/* judged.h - the shaft that a set-point leads to, with the controller's rules written out again.
 *
 * Of the program only the solver, the day and the engine's speeds are used: each is pinned by tests
 * of its own. */
#ifndef THINAIR_JUDGED_H
#define THINAIR_JUDGED_H

#include <math.h>

#include "test.h"
#include "thinair/operating_point.h"
#include "thinair/prepare.h"

static inline ta_air judged_air(const ta_prepared *prepared, double elevation_m) {
  ta_air air;
  assert_int_equal(ta_day_air(&prepared->day, elevation_m, &air), TA_OK);
  return air;
}

/** The goal in MAP at an engine speed, linear between rows; a boost counts from `from_pa`. */
static inline double judged_goal_map(const ta_goal *goal, double engine_rpm, double from_pa) {
  if (goal->point_count == 0) return goal->has_map ? goal->map_pa : goal->boost_pa + from_pa;
  double before_rpm = 0.0, before_pa = 0.0;
  for (size_t i = 0; i < goal->point_count; i++) {
    const ta_goal_point *row = &goal->point[i];
    const double map_pa = row->has_map ? row->map_pa : row->boost_pa + from_pa;
    if (engine_rpm <= row->engine_rpm) {
      if (i == 0) return map_pa;
      return before_pa +
             (map_pa - before_pa) * (engine_rpm - before_rpm) / (row->engine_rpm - before_rpm);
    }
    before_rpm = row->engine_rpm;
    before_pa = map_pa;
  }
  return before_pa;
}

/** Set-point of the goal, in the quantity that the controller holds. */
static inline double judged_goal(const ta_prepared *prepared, double engine_rpm) {
  const ta_event *event = prepared->event;
  const ta_control *control = &event->car.control;
  const double start_m =
      event->is_cut ? event->start_elevation_m : event->course.point[0].elevation_m;
  const double start_pa = judged_air(prepared, start_m).pressure_pa;
  if (control->holds == TA_HOLDS_GAUGE)
    return judged_goal_map(&event->goal, engine_rpm, start_pa) - start_pa;
  const bool elsewhere = control->holds == TA_HOLDS_GAUGE_KEY_ON && control->has_barometer_read_at;
  const double read_pa =
      elsewhere ? judged_air(prepared, control->barometer_read_at_m).pressure_pa : start_pa;
  return judged_goal_map(&event->goal, engine_rpm, read_pa);
}

/** The worst MAP that a set-point may give: what the spring does alone, or what is asked for, the
 *  sensor's error and the overshoot on. */
static inline double judged_map(const ta_control *control, double set_point, double ambient_pa) {
  double map_pa = set_point + control->map_error_pa;
  if (control->holds == TA_HOLDS_GAUGE) map_pa += ambient_pa;
  if (control->has_minimum_boost && map_pa < ambient_pa + control->minimum_boost_pa)
    map_pa = ambient_pa + control->minimum_boost_pa;
  return map_pa + control->overshoot_pa;
}

/** Fastest shaft over a range of engine speeds in one air, set-points not above a cap.  Every
 *  step_rpm, and every breakpoint of ve and goal in the range. */
static inline double judged_fastest(const ta_prepared *prepared, const ta_air *air, double low_rpm,
                                    double high_rpm, double step_rpm, double cap) {
  const ta_event *event = prepared->event;
  const ta_engine *engine = &event->car.engine;
  const size_t even = high_rpm > low_rpm ? (size_t)((high_rpm - low_rpm) / step_rpm) + 2 : 1;
  const size_t count = even + engine->ve_count + event->goal.point_count;
  double fastest = 0.0;
  for (size_t from = 0; from < count; from += TA_LANES) {
    ta_point_block b = {.count = count - from < TA_LANES ? count - from : TA_LANES};
    for (size_t i = 0; i < b.count; i++) {
      const size_t k = from + i;
      double rpm = low_rpm;
      if (k < even)
        rpm = even > 1 ? low_rpm + (high_rpm - low_rpm) * (double)k / (double)(even - 1) : low_rpm;
      else if (k < even + engine->ve_count)
        rpm = engine->ve[k - even].engine_rpm;
      else
        rpm = event->goal.point[k - even - engine->ve_count].engine_rpm;
      rpm = fmin(fmax(rpm, low_rpm), high_rpm);
      b.ambient_pressure_pa[i] = air->pressure_pa;
      b.ambient_temperature_k[i] = air->temperature_k;
      b.gas_constant_jkgk[i] = air->gas_constant_jkgk;
      b.engine_rpm[i] = rpm;
      b.map_pa[i] =
          judged_map(&event->car.control, fmin(judged_goal(prepared, rpm), cap), air->pressure_pa);
    }
    ta_points_solve(&event->car, prepared->map, &b);
    for (size_t i = 0; i < b.count; i++) {
      if (isnan(b.shaft_rpm[i])) fail_msg("no number at %.1f rpm", b.engine_rpm[i]);
      fastest = fmax(fastest, b.shaft_rpm[i]);
    }
  }
  return fastest;
}

/** The same over a part of the course, every step_m of height and at its points. */
static inline double judged_fastest_between(const ta_prepared *prepared, size_t first, size_t last,
                                            double step_m, double step_rpm, double high_rpm,
                                            double cap) {
  const ta_course_point *point = prepared->event->course.point;
  double low_m = point[first].elevation_m, high_m = low_m, fastest = 0.0;
  for (size_t i = first; i <= last; i++) {
    low_m = fmin(low_m, point[i].elevation_m);
    high_m = fmax(high_m, point[i].elevation_m);
  }
  const int steps = high_m > low_m ? (int)((high_m - low_m) / step_m) + 1 : 0;
  for (int i = 0; i <= steps; i++) {
    const ta_air air =
        judged_air(prepared, steps > 0 ? low_m + (high_m - low_m) * i / steps : low_m);
    fastest =
        fmax(fastest, judged_fastest(prepared, &air, prepared->event->car.engine.window_rpm[0],
                                     high_rpm, step_rpm, cap));
  }
  return fastest;
}

#endif
