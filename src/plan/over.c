/* over.c - where along the course the shaft passes its limit.
 *
 * Method    Shaft speed at the goal depends on elevation and engine speed alone.  The worst engine
 *           speed of the boost window is found at evenly spaced elevations (the profile), and the
 *           course is walked through them: its points, and the profile's nodes between its points,
 *           so that a peak between two course points is not missed.
 * Pinned by tests/plan/test_over.c.
 */
#include "thinair/over.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EVEN_STEPS = 54, FIRST_NODES = 33, REFINEMENTS = 2, BISECTIONS = 60, WIDENINGS = 17 };
static const double PROFILE_TOLERANCE = 1e-5; /* of the limit */
static const double CROSSING_M = 0.05;
static const double ON_A_NODE = 1e-9; /* of a step */

/* ---- the worst engine speed ------------------------------------------------------------------ */

static double even_step(const ta_event *event) {
  const double *window = event->car.engine.window_rpm;
  return (window[1] - window[0]) / EVEN_STEPS;
}

/* The engine speed to try after this one: a breakpoint of ve or goal, or an even step; above the
 * window's end INFINITY. */
static double next_speed(const ta_event *event, double after) {
  const ta_engine *engine = &event->car.engine;
  const double low = engine->window_rpm[0], high = engine->window_rpm[1];
  if (!(after < high)) return (double)INFINITY;
  const double step = even_step(event), even = low + step * (floor((after - low) / step) + 1.0);
  double next = fmin(high, even > after ? even : even + step);
  for (size_t i = 0; i < engine->ve_count; i++)
    if (engine->ve[i].engine_rpm > after) next = fmin(next, engine->ve[i].engine_rpm);
  for (size_t i = 0; i < event->goal.point_count; i++)
    if (event->goal.point[i].engine_rpm > after) next = fmin(next, event->goal.point[i].engine_rpm);
  return next;
}

/* The next engine speeds to try, a block's worth at the most; *from moves on. */
static size_t next_speeds(const ta_event *event, double *from, double *rpm) {
  size_t count = 0;
  while (count < TA_LANES && isfinite(*from)) {
    rpm[count++] = *from;
    *from = next_speed(event, *from);
  }
  return count;
}

static double set_point(const ta_prepared *prepared, double cap_pa, double engine_rpm) {
  return fmin(ta_prepared_goal(prepared, engine_rpm), cap_pa);
}

/* Lane of the fastest shaft with the controller at its set-point, overshoot on. */
static size_t solve_speeds(const ta_prepared *prepared, const ta_air *air, double cap_pa,
                           const double *rpm, ta_point_block *block) {
  const ta_car *car = &prepared->event->car;
  size_t fastest = 0;
  for (size_t i = 0; i < block->count; i++) {
    block->ambient_pressure_pa[i] = air->pressure_pa;
    block->ambient_temperature_k[i] = air->temperature_k;
    block->gas_constant_jkgk[i] = air->gas_constant_jkgk;
    block->engine_rpm[i] = rpm[i];
    block->map_pa[i] = set_point(prepared, cap_pa, rpm[i]) + car->control.overshoot_pa;
  }
  ta_points_solve(car, prepared->map, block);
  for (size_t i = 1; i < block->count; i++)
    if (block->shaft_rpm[i] > block->shaft_rpm[fastest]) fastest = i;
  return fastest;
}

ta_status ta_worst_in_window(const ta_prepared *prepared, double elevation_m, double cap_pa,
                             ta_operating_point *worst) {
  if (prepared == NULL || worst == NULL || isnan(cap_pa)) return TA_ERR_ARGUMENT;
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status != TA_OK) return status;
  const double *window = prepared->event->car.engine.window_rpm;
  double rpm[TA_LANES] = {window[0]}, best = window[0], best_shaft = 0.0;
  ta_point_block block;
  for (double from = window[0]; isfinite(from);) {
    block.count = next_speeds(prepared->event, &from, rpm);
    const size_t fastest = solve_speeds(prepared, &air, cap_pa, rpm, &block);
    if (!(block.shaft_rpm[fastest] > best_shaft)) continue;
    best = rpm[fastest];
    best_shaft = block.shaft_rpm[fastest];
  }
  double reach = even_step(prepared->event);
  for (int k = 0; k < REFINEMENTS; k++) {
    const double low = fmax(best - reach, window[0]), high = fmin(best + reach, window[1]);
    block.count = TA_LANES / 2;
    reach = (high - low) / (double)(block.count - 1);
    for (size_t i = 0; i < block.count; i++) rpm[i] = low + reach * (double)i;
    const size_t fastest = solve_speeds(prepared, &air, cap_pa, rpm, &block);
    if (!(block.shaft_rpm[fastest] > best_shaft)) continue;
    best = rpm[fastest];
    best_shaft = block.shaft_rpm[fastest];
  }
  const ta_car *car = &prepared->event->car;
  /* a cap may lie below the ambient pressure of a low start: there is no boost to judge there */
  const double map_pa = fmax(set_point(prepared, cap_pa, best) + car->control.overshoot_pa,
                             air.pressure_pa * (1.0 + 1e-9));
  return ta_point_solve(car, prepared->map, &air, best, map_pa, worst);
}

ta_status ta_surge_in_window(const ta_prepared *prepared, double elevation_m, double *engine_rpm) {
  if (prepared == NULL || engine_rpm == NULL) return TA_ERR_ARGUMENT;
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status != TA_OK) return status;
  double rpm[TA_LANES];
  ta_point_block block;
  *engine_rpm = 0.0;
  for (double from = prepared->event->car.engine.window_rpm[0]; isfinite(from);) {
    block.count = next_speeds(prepared->event, &from, rpm);
    (void)solve_speeds(prepared, &air, HUGE_VAL, rpm, &block);
    for (size_t i = 0; i < block.count; i++)
      if (block.zone[i] == TA_SURGE) *engine_rpm = rpm[i];
  }
  return TA_OK;
}

/* ---- the profile over elevation -------------------------------------------------------------- */

void ta_profile_between(const ta_profile *profile, double elevation_m,
                        const ta_operating_point **below, const ta_operating_point **above,
                        double *share) {
  double at = profile->step_m > 0.0 ? (elevation_m - profile->low_m) / profile->step_m : 0.0;
  at = fmin(fmax(at, 0.0), (double)(profile->count - 1));
  const size_t i = (size_t)at;
  *below = &profile->node[i];
  *above = &profile->node[i + 1 < profile->count ? i + 1 : i];
  *share = at - (double)i;
}

double ta_profile_shaft(const ta_profile *profile, double elevation_m) {
  const ta_operating_point *below, *above;
  double share;
  ta_profile_between(profile, elevation_m, &below, &above, &share);
  if (share < ON_A_NODE) return below->shaft_rpm;
  if (share > 1.0 - ON_A_NODE) return above->shaft_rpm;
  if (isinf(below->shaft_rpm) || isinf(above->shaft_rpm)) return (double)INFINITY;
  return below->shaft_rpm + share * (above->shaft_rpm - below->shaft_rpm);
}

/* Put a node between every two; *worst_error is how far the new ones lie off the straight line. */
static ta_status halve_steps(const ta_prepared *prepared, double cap_pa, ta_profile *profile,
                             double *worst_error) {
  const size_t count = 2 * profile->count - 1;
  *worst_error = 0.0;
  profile->step_m *= 0.5;
  for (size_t i = profile->count; i-- > 1;) profile->node[2 * i] = profile->node[i];
  for (size_t i = 1; i < count; i += 2) {
    const ta_status status = ta_worst_in_window(
        prepared, profile->low_m + (double)i * profile->step_m, cap_pa, &profile->node[i]);
    if (status != TA_OK) return status;
    const double a = profile->node[i - 1].shaft_rpm, b = profile->node[i + 1].shaft_rpm,
                 middle = profile->node[i].shaft_rpm;
    if (isfinite(a) && isfinite(b)) *worst_error = fmax(*worst_error, fabs(middle - 0.5 * (a + b)));
  }
  profile->count = count;
  return TA_OK;
}

ta_status ta_profile_make(const ta_prepared *prepared, double cap_pa, ta_profile *profile) {
  if (prepared == NULL || profile == NULL) return TA_ERR_ARGUMENT;
  double low, high;
  ta_course_range(&prepared->event->course, &low, &high);
  profile->low_m = low;
  profile->count = high > low ? FIRST_NODES : 1;
  profile->step_m = high > low ? (high - low) / (FIRST_NODES - 1) : 0.0;
  for (size_t i = 0; i < profile->count; i++) {
    const ta_status status =
        ta_worst_in_window(prepared, low + (double)i * profile->step_m, cap_pa, &profile->node[i]);
    if (status != TA_OK) return status;
  }
  /* halving the step quarters the error of a straight line; the last halving is four times better
   * than what it measured, but next to a kink, where that is luck */
  double error = profile->count > 1 ? (double)INFINITY : 0.0;
  while (error > 4.0 * PROFILE_TOLERANCE * prepared->limit_rpm &&
         2 * profile->count - 1 <= TA_PROFILE_NODES_MAX) {
    const ta_status status = halve_steps(prepared, cap_pa, profile, &error);
    if (status != TA_OK) return status;
  }
  return TA_OK;
}

/* ---- along the course ------------------------------------------------------------------------ */

/* A walk along the course: its points, and the profile's nodes between them. */
typedef struct {
  double distance_m, elevation_m, shaft_rpm;
} step;

typedef struct {
  const ta_prepared *prepared;
  ta_over *over;
  size_t room;
  bool inside; /* of a stretch */
  bool failed; /* out of memory */
} walk;

static double crossing_share(const step *a, const step *b, double limit) {
  if (isinf(a->shaft_rpm)) return 1.0; /* all of the step counts as over */
  if (isinf(b->shaft_rpm)) return 0.0;
  return (limit - a->shaft_rpm) / (b->shaft_rpm - a->shaft_rpm);
}

/* Of places past what the map can tell the highest stands for all: the air is thinnest there. */
static bool is_worse(const step *s, const step *worst) {
  if (isinf(s->shaft_rpm) && isinf(worst->shaft_rpm)) return s->elevation_m > worst->elevation_m;
  return !(s->shaft_rpm <= worst->shaft_rpm);
}

static void take_step(walk *w, const step *a, const step *b) {
  const double limit = w->prepared->limit_rpm;
  const bool over = b->shaft_rpm > limit;
  if (over && !w->inside) {
    if (w->over->count == w->room) {
      const size_t room = w->room == 0 ? 16 : 2 * w->room;
      ta_stretch *more = realloc(w->over->stretch, room * sizeof *more);
      if (more == NULL) {
        w->failed = true;
        return;
      }
      w->over->stretch = more;
      w->room = room;
    }
    const double share = a != NULL ? crossing_share(a, b, limit) : 1.0;
    const step *from = a != NULL ? a : b;
    w->over->stretch[w->over->count++] = (ta_stretch){
        .from_distance_m = from->distance_m + share * (b->distance_m - from->distance_m),
        .from_elevation_m = from->elevation_m + share * (b->elevation_m - from->elevation_m)};
    w->inside = true;
  }
  if (!w->inside) return;
  ta_stretch *stretch = &w->over->stretch[w->over->count - 1];
  double share = 1.0;
  if (!over) {
    share = crossing_share(a, b, limit);
    w->inside = false;
  }
  const step *from = a != NULL ? a : b;
  stretch->to_distance_m = from->distance_m + share * (b->distance_m - from->distance_m);
  stretch->to_elevation_m = from->elevation_m + share * (b->elevation_m - from->elevation_m);
  if (over) stretch->peak_shaft_rpm = fmax(stretch->peak_shaft_rpm, b->shaft_rpm);
}

/* Is the limit passed at a distance? */
static ta_status passes_at(const ta_prepared *prepared, double distance_m, bool *over) {
  ta_operating_point point;
  const double elevation_m = ta_course_elevation(&prepared->event->course, distance_m);
  const ta_status status = ta_worst_in_window(prepared, elevation_m, HUGE_VAL, &point);
  if (status == TA_OK) *over = point.shaft_rpm > prepared->limit_rpm;
  return status;
}

/* Solve the first crossing exactly, between a distance within the limit and one over it. */
static ta_status place_first(const ta_prepared *prepared, ta_over *over) {
  const ta_course *course = &prepared->event->course;
  ta_stretch *stretch = &over->stretch[0];
  double high = stretch->from_distance_m, low = high;
  ta_status status = TA_OK;
  if (!over->starts_over) {
    /* widen until the bracket holds: the profile is off by less than a metre of height */
    bool is_over = true;
    for (int k = 0; status == TA_OK && is_over && k < WIDENINGS; k++) {
      low = fmax(stretch->from_distance_m - ldexp(1.0, k), course->point[0].distance_m);
      status = passes_at(prepared, low, &is_over);
    }
    is_over = false;
    for (int k = 0; status == TA_OK && !is_over && k < WIDENINGS; k++) {
      high = fmin(stretch->from_distance_m + ldexp(1.0, k), stretch->to_distance_m);
      status = passes_at(prepared, high, &is_over);
    }
    for (int i = 0; status == TA_OK && i < BISECTIONS && high - low > CROSSING_M; i++) {
      const double middle = 0.5 * (low + high);
      status = passes_at(prepared, middle, &is_over);
      *(is_over ? &high : &low) = middle;
    }
  }
  if (status != TA_OK) return status;
  over->first.distance_m = stretch->from_distance_m = high;
  over->first.elevation_m = stretch->from_elevation_m = ta_course_elevation(course, high);
  return ta_worst_in_window(prepared, over->first.elevation_m, HUGE_VAL, &over->first.point);
}

ta_status ta_over_find(const ta_prepared *prepared, const ta_profile *profile, ta_over *over) {
  if (prepared == NULL || profile == NULL || over == NULL) return TA_ERR_ARGUMENT;
  const ta_course *course = &prepared->event->course;
  memset(over, 0, sizeof *over);
  walk w = {.prepared = prepared, .over = over};
  step before = {course->point[0].distance_m, course->point[0].elevation_m,
                 ta_profile_shaft(profile, course->point[0].elevation_m)};
  step worst = before;
  over->starts_over = before.shaft_rpm > prepared->limit_rpm;
  take_step(&w, NULL, &before);
  for (size_t i = 1; i < course->count && !w.failed; i++) {
    const ta_course_point *b = &course->point[i];
    const double from_m = before.elevation_m, rise = b->elevation_m - from_m,
                 length = b->distance_m - before.distance_m, start_m = before.distance_m;
    /* the profile's nodes between the two points, in order of distance */
    const double step_m = profile->step_m;
    long node = 0, last = -1;
    if (step_m > 0.0 && rise > 0.0) {
      node = (long)floor((from_m - profile->low_m) / step_m) + 1;
      last = (long)ceil((b->elevation_m - profile->low_m) / step_m) - 1;
    } else if (step_m > 0.0 && rise < 0.0) {
      node = (long)ceil((from_m - profile->low_m) / step_m) - 1;
      last = (long)floor((b->elevation_m - profile->low_m) / step_m) + 1;
    }
    const long direction = rise < 0.0 ? -1 : 1;
    for (; rise != 0.0 && (last - node) * direction >= 0; node += direction) {
      const double elevation_m = profile->low_m + (double)node * step_m;
      const step s = {start_m + length * (elevation_m - from_m) / rise, elevation_m,
                      ta_profile_shaft(profile, elevation_m)};
      take_step(&w, &before, &s);
      if (is_worse(&s, &worst)) worst = s;
      before = s;
    }
    const step s = {b->distance_m, b->elevation_m, ta_profile_shaft(profile, b->elevation_m)};
    take_step(&w, &before, &s);
    if (is_worse(&s, &worst)) worst = s;
    before = s;
  }
  ta_status status = w.failed ? TA_ERR_MEMORY : TA_OK;
  over->worst.distance_m = worst.distance_m;
  over->worst.elevation_m = worst.elevation_m;
  if (status == TA_OK)
    status = ta_worst_in_window(prepared, worst.elevation_m, HUGE_VAL, &over->worst.point);
  if (status == TA_OK && over->count > 0) status = place_first(prepared, over);
  if (status != TA_OK) ta_over_free(over);
  return status;
}

void ta_over_free(ta_over *over) {
  if (over == NULL) return;
  free(over->stretch);
  memset(over, 0, sizeof *over);
}
