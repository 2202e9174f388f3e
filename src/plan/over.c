/* over.c - where along the course the shaft passes its limit.
 *
 * Method    Shaft speed at the goal depends on elevation and engine speed alone.  The worst engine
 *           speed of those judged is found at elevations as close as it takes (the profile), and
 *           the course is walked through them: its points, and the profile's nodes between its points,
 *           so that a peak between two course points is not missed.
 * Pinned by tests/plan/test_over.c.
 */
#include "thinair/over.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  EVEN_STEPS = 54,
  FIRST_STEPS = 16,
  SKETCH_STEPS = 4,
  HALVINGS_MAX = 8,
  REFINEMENTS = 2,
  CLOSE_IN = 120,
  WIDENINGS = 17
};
static const double PROFILE_TOLERANCE = 1e-5, SKETCH_TOLERANCE = 1e-4; /* of the limit */
static const double CROSSING_M = 0.05;
static const double ON_A_NODE = 1e-9; /* of a step */
static const double STEEP = 4.0;      /* slope of the shaft over its change from lane to lane */

/* ---- the worst engine speed ------------------------------------------------------------------ */

static double even_step(ta_speed_range range) {
  return (range.high_rpm - range.low_rpm) / EVEN_STEPS;
}

/* The engine speed to try after this one: a breakpoint of ve or goal, or an even step; above the
 * range's end INFINITY. */
static double next_speed(const ta_event *event, ta_speed_range range, double after) {
  const ta_engine *engine = &event->car.engine;
  if (!(after < range.high_rpm)) return (double)INFINITY;
  const double step = even_step(range),
               even = range.low_rpm + step * (floor((after - range.low_rpm) / step) + 1.0);
  double next = fmin(range.high_rpm, even > after ? even : even + step);
  for (size_t i = 0; i < engine->ve_count; i++)
    if (engine->ve[i].engine_rpm > after) next = fmin(next, engine->ve[i].engine_rpm);
  for (size_t i = 0; i < event->goal.point_count; i++)
    if (event->goal.point[i].engine_rpm > after) next = fmin(next, event->goal.point[i].engine_rpm);
  return next;
}

size_t ta_speeds_in_range(const ta_event *event, ta_speed_range range, double *from, double *rpm) {
  size_t count = 0;
  while (count < TA_LANES && isfinite(*from)) {
    rpm[count++] = *from;
    *from = next_speed(event, range, *from);
  }
  return count;
}

static double set_point(const ta_prepared *prepared, double cap, double engine_rpm) {
  return fmin(ta_prepared_goal(prepared, engine_rpm), cap);
}

/* Of speeds past what the map can tell the later one counts: the engine breathes most there. */
static bool as_fast(double shaft_rpm, double best) {
  return shaft_rpm > best || (isinf(shaft_rpm) && isinf(best));
}

/* Lane of the fastest shaft with the controller at its set-point, overshoot on. */
static size_t solve_speeds(const ta_prepared *prepared, const ta_air *air, double cap,
                           const double *rpm, ta_point_block *block) {
  size_t fastest = 0;
  for (size_t i = 0; i < block->count; i++)
    ta_point_block_set(block, i, air, rpm[i],
                       ta_judged_map(prepared, set_point(prepared, cap, rpm[i]), air->pressure_pa),
                       0.0);
  ta_points_solve(&prepared->event->car, prepared->map, block);
  for (size_t i = 1; i < block->count; i++)
    if (as_fast(block->shaft_rpm[i], block->shaft_rpm[fastest])) fastest = i;
  return fastest;
}

/* Does the shaft fall off from a lane to one side of it, so steadily over the next two that it has no
 * maximum before them?  Breakpoints of ve and goal are lanes, so between lanes the curve is smooth. */
static bool falls_off(const ta_point_block *block, size_t lane, int side) {
  const size_t near = lane + (size_t)side, far = near + (size_t)side; /* wraps below 0 */
  if (near >= block->count || far >= block->count) return false;
  const double *rpm = block->engine_rpm, *shaft = block->shaft_rpm;
  const double slope = (shaft[lane] - shaft[near]) / fabs(rpm[lane] - rpm[near]),
               then = (shaft[near] - shaft[far]) / fabs(rpm[near] - rpm[far]);
  return slope > STEEP * fabs(slope - then);
}

/* Is the fastest lane the maximum itself: an end of the range or a kink, as most often? */
static bool is_peak(const ta_point_block *block, ta_speed_range range, size_t lane) {
  const double rpm = block->engine_rpm[lane];
  return (rpm <= range.low_rpm || falls_off(block, lane, -1)) &&
         (rpm >= range.high_rpm || falls_off(block, lane, 1));
}

ta_status ta_worst_in_air(const ta_prepared *prepared, ta_speed_range range, const ta_air *air,
                          double cap, ta_operating_point *worst) {
  if (prepared == NULL || air == NULL || worst == NULL || isnan(cap) ||
      !(range.low_rpm <= range.high_rpm))
    return TA_ERR_ARGUMENT;
  double rpm[TA_LANES] = {range.low_rpm}, best = range.low_rpm, best_shaft = 0.0;
  bool found = false;
  ta_point_block block;
  for (double from = range.low_rpm; isfinite(from);) {
    block.count = ta_speeds_in_range(prepared->event, range, &from, rpm);
    const size_t fastest = solve_speeds(prepared, air, cap, rpm, &block);
    if (!as_fast(block.shaft_rpm[fastest], best_shaft)) continue;
    best = rpm[fastest];
    best_shaft = block.shaft_rpm[fastest];
    found = is_peak(&block, range, fastest);
  }
  double reach = even_step(range);
  for (int k = 0; !found && k < REFINEMENTS; k++) {
    const double low = fmax(best - reach, range.low_rpm), high = fmin(best + reach, range.high_rpm);
    block.count = TA_LANES / 2;
    reach = (high - low) / (double)(block.count - 1);
    for (size_t i = 0; i < block.count; i++) rpm[i] = low + reach * (double)i;
    const size_t fastest = solve_speeds(prepared, air, cap, rpm, &block);
    if (!as_fast(block.shaft_rpm[fastest], best_shaft)) continue;
    best = rpm[fastest];
    best_shaft = block.shaft_rpm[fastest];
  }
  /* a cap may lie below the ambient pressure of a low start: there is no boost to judge there */
  const double map_pa =
      fmax(ta_judged_map(prepared, set_point(prepared, cap, best), air->pressure_pa),
           air->pressure_pa * (1.0 + 1e-9));
  return ta_point_solve(&prepared->event->car, prepared->map, air, best, map_pa, worst);
}

ta_status ta_worst_in_range(const ta_prepared *prepared, ta_speed_range range, double elevation_m,
                            double cap, ta_operating_point *worst) {
  if (prepared == NULL) return TA_ERR_ARGUMENT;
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  return status == TA_OK ? ta_worst_in_air(prepared, range, &air, cap, worst) : status;
}

ta_status ta_worst_in_window(const ta_prepared *prepared, double elevation_m, double cap,
                             ta_operating_point *worst) {
  if (prepared == NULL) return TA_ERR_ARGUMENT;
  return ta_worst_in_range(prepared, ta_judged_speeds(&prepared->event->car), elevation_m, cap,
                           worst);
}

ta_status ta_look_over_window(const ta_prepared *prepared, double elevation_m,
                              ta_window_look *look) {
  if (prepared == NULL || look == NULL) return TA_ERR_ARGUMENT;
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status != TA_OK) return status;
  double rpm[TA_LANES];
  ta_point_block block;
  ta_window_look found = {0};
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  for (double from = window.low_rpm; isfinite(from);) {
    block.count = ta_speeds_in_range(prepared->event, window, &from, rpm);
    (void)solve_speeds(prepared, &air, HUGE_VAL, rpm, &block);
    for (size_t i = 0; i < block.count; i++) {
      if (block.zone[i] == TA_SURGE) found.surges_below_rpm = rpm[i];
      if (block.zone[i] == TA_UNREACHABLE ||
          !(block.outlet_temperature_k[i] > found.outlet_temperature_k))
        continue;
      found.outlet_temperature_k = block.outlet_temperature_k[i];
      found.hottest_rpm = rpm[i];
    }
  }
  *look = found;
  return TA_OK;
}

/* ---- the profile over elevation -------------------------------------------------------------- */

/* The last node at or below an elevation; the first one below all. */
static size_t node_below(const ta_profile *profile, double elevation_m) {
  size_t low = 0, high = profile->count;
  while (high - low > 1) {
    const size_t middle = low + (high - low) / 2;
    *(profile->elevation_m[middle] <= elevation_m ? &low : &high) = middle;
  }
  return low;
}

const ta_operating_point *ta_profile_node_at(const ta_profile *profile, double elevation_m) {
  const size_t i = node_below(profile, elevation_m);
  return profile->elevation_m[i] == elevation_m ? &profile->node[i] : NULL;
}

void ta_profile_between(const ta_profile *profile, double elevation_m,
                        const ta_operating_point **below, const ta_operating_point **above,
                        double *share) {
  const size_t i = node_below(profile, elevation_m), next = i + 1 < profile->count ? i + 1 : i;
  const double gap = profile->elevation_m[next] - profile->elevation_m[i];
  *below = &profile->node[i];
  *above = &profile->node[next];
  *share = gap > 0.0 ? fmax((elevation_m - profile->elevation_m[i]) / gap, 0.0) : 0.0;
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

/* What a profile is made of, and where its next node goes. */
typedef struct {
  const ta_prepared *prepared;
  double cap, tolerance;
  ta_profile *profile;
} profile_work;

static ta_status solve_node(const profile_work *w, double elevation_m, ta_operating_point *node) {
  return ta_worst_in_range(w->prepared, w->profile->range, elevation_m, w->cap, node);
}

/* Is the straight line between two nodes good enough, seen from the middle?  Halving quarters its
 * error where the curvature is even; a third leaves room for where it is not. */
static bool straight(const profile_work *w, const ta_operating_point *low,
                     const ta_operating_point *middle, const ta_operating_point *high) {
  if (isinf(low->shaft_rpm) || isinf(high->shaft_rpm))
    return isinf(low->shaft_rpm) && isinf(middle->shaft_rpm) && isinf(high->shaft_rpm);
  const double off = fabs(middle->shaft_rpm - 0.5 * (low->shaft_rpm + high->shaft_rpm));
  return off <= 3.0 * w->tolerance * w->prepared->limit_rpm;
}

static void append(profile_work *w, double elevation_m, const ta_operating_point *node) {
  w->profile->elevation_m[w->profile->count] = elevation_m;
  w->profile->node[w->profile->count++] = *node;
}

/* Nodes above the last one up to `high`, as many as it takes. */
static ta_status add_nodes(profile_work *w, double high_m, const ta_operating_point *high,
                           int halvings) {
  const ta_operating_point low = w->profile->node[w->profile->count - 1];
  const double low_m = w->profile->elevation_m[w->profile->count - 1],
               middle_m = 0.5 * (low_m + high_m);
  ta_operating_point middle;
  ta_status status = solve_node(w, middle_m, &middle);
  if (status != TA_OK) return status;
  if (halvings == 0 || straight(w, &low, &middle, high)) {
    append(w, middle_m, &middle);
    append(w, high_m, high);
    return TA_OK;
  }
  status = add_nodes(w, middle_m, &middle, halvings - 1);
  return status == TA_OK ? add_nodes(w, high_m, high, halvings - 1) : status;
}

/* The elevation to go on to: an even step, or a station on the way, where the air has a kink. */
static double next_height(double even_m, double from_m, const ta_station *station, size_t count) {
  double next_m = even_m;
  for (size_t i = 0; i < count; i++)
    if (station[i].elevation_m > from_m) next_m = fmin(next_m, station[i].elevation_m);
  return next_m;
}

static ta_status make_profile(const ta_prepared *prepared, ta_speed_range range, double cap,
                              int steps, double tolerance, size_t stations, ta_profile *profile) {
  double low, high;
  ta_course_range(&prepared->event->course, &low, &high);
  profile->range = range;
  profile->count = 0;
  profile_work w = {prepared, cap, tolerance, profile};
  ta_operating_point node;
  ta_status status = solve_node(&w, low, &node);
  if (status != TA_OK) return status;
  append(&w, low, &node);
  size_t left = (size_t)steps + stations;
  for (int i = 1; status == TA_OK && high > low && i <= steps; left--) {
    const double from_m = profile->elevation_m[profile->count - 1],
                 even_m = i < steps ? low + (high - low) * i / steps : high,
                 at_m = next_height(even_m, from_m, prepared->event->day.station, stations);
    /* half of the room is kept for the steps to come */
    const size_t room = (TA_PROFILE_NODES_MAX - profile->count) / left;
    int halvings = 0;
    while (halvings < HALVINGS_MAX && (size_t)4 << halvings <= room) halvings++;
    status = solve_node(&w, at_m, &node);
    if (status == TA_OK) status = add_nodes(&w, at_m, &node, halvings);
    if (at_m == even_m) i++;
  }
  return status;
}

ta_status ta_profile_make(const ta_prepared *prepared, ta_speed_range range, double cap,
                          ta_profile *profile) {
  if (prepared == NULL || profile == NULL) return TA_ERR_ARGUMENT;
  return make_profile(prepared, range, cap, FIRST_STEPS, PROFILE_TOLERANCE, 0, profile);
}

ta_status ta_profile_sketch(const ta_prepared *prepared, ta_speed_range range, double cap,
                            ta_profile *profile) {
  if (prepared == NULL || profile == NULL) return TA_ERR_ARGUMENT;
  return make_profile(prepared, range, cap, SKETCH_STEPS, SKETCH_TOLERANCE,
                      prepared->event->day.station_count, profile);
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

/* The worst point at a distance, and how far it is over the limit; INFINITY past what the map can
 * tell. */
static ta_status solve_at(const ta_prepared *prepared, ta_speed_range range, double distance_m,
                          ta_operating_point *point, double *excess_rpm) {
  const double elevation_m = ta_course_elevation(&prepared->event->course, distance_m);
  const ta_status status = ta_worst_in_range(prepared, range, elevation_m, HUGE_VAL, point);
  if (status == TA_OK) *excess_rpm = point->shaft_rpm - prepared->limit_rpm;
  return status;
}

/* Solve the first crossing exactly, between a distance within the limit and one over it. */
static ta_status place_first(const ta_prepared *prepared, ta_speed_range range, ta_over *over) {
  const ta_course *course = &prepared->event->course;
  ta_stretch *stretch = &over->stretch[0];
  ta_operating_point *first = &over->first.point, point;
  double high = stretch->from_distance_m, low = high, below = 1.0, above = -1.0;
  ta_status status = TA_OK;
  if (over->starts_over) {
    status = solve_at(prepared, range, high, first, &above);
  } else {
    /* widen until the bracket holds: the profile is off by a metre of height or two */
    for (int k = 0; status == TA_OK && below > 0.0 && k < WIDENINGS; k += 2) {
      low = fmax(stretch->from_distance_m - ldexp(1.0, k), course->point[0].distance_m);
      status = solve_at(prepared, range, low, &point, &below);
    }
    for (int k = 0; status == TA_OK && !(above > 0.0) && k < WIDENINGS; k += 2) {
      high = fmin(stretch->from_distance_m + ldexp(1.0, k), stretch->to_distance_m);
      status = solve_at(prepared, range, high, first, &above);
    }
    /* straight between both, past the crossing by turns so that both ends come in; each third step
     * a halving */
    bool was_over = false;
    for (int i = 0; status == TA_OK && i < CLOSE_IN && high - low > CROSSING_M; i++) {
      const bool halve = i % 3 == 2 || !(below <= 0.0 && above > 0.0 && isfinite(above));
      const double share = halve ? 0.5 : -below / (above - below),
                   nudge = halve ? 0.0 : (was_over ? -0.4 : 0.4) * CROSSING_M,
                   at = fmin(fmax(low + share * (high - low) + nudge, low), high);
      double excess = 0.0;
      status = solve_at(prepared, range, at, &point, &excess);
      was_over = excess > 0.0;
      if (was_over) *first = point;
      *(was_over ? &high : &low) = at;
      *(was_over ? &above : &below) = excess;
    }
  }
  if (status != TA_OK) return status;
  over->first.distance_m = stretch->from_distance_m = high;
  over->first.elevation_m = stretch->from_elevation_m = ta_course_elevation(course, high);
  return TA_OK;
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
    size_t node = node_below(profile, from_m);
    if (rise > 0.0) node++;
    while (rise != 0.0 && node < profile->count) {
      const double elevation_m = profile->elevation_m[node];
      if (rise > 0.0 ? elevation_m >= b->elevation_m : elevation_m <= b->elevation_m) break;
      const step s = {start_m + length * (elevation_m - from_m) / rise, elevation_m,
                      profile->node[node].shaft_rpm};
      take_step(&w, &before, &s);
      if (is_worse(&s, &worst)) worst = s;
      before = s;
      node += rise > 0.0 ? 1 : (size_t)-1; /* past the first node it is past the last, too */
    }
    const step s = {b->distance_m, b->elevation_m, ta_profile_shaft(profile, b->elevation_m)};
    take_step(&w, &before, &s);
    if (is_worse(&s, &worst)) worst = s;
    before = s;
  }
  ta_status status = w.failed ? TA_ERR_MEMORY : TA_OK;
  over->worst.distance_m = worst.distance_m;
  over->worst.elevation_m = worst.elevation_m;
  const ta_operating_point *node = ta_profile_node_at(profile, worst.elevation_m);
  if (node != NULL)
    over->worst.point = *node;
  else if (status == TA_OK)
    status = ta_worst_in_range(prepared, profile->range, worst.elevation_m, HUGE_VAL,
                               &over->worst.point);
  if (status == TA_OK && over->count > 0) status = place_first(prepared, profile->range, over);
  if (status != TA_OK) ta_over_free(over);
  return status;
}

void ta_over_free(ta_over *over) {
  if (over == NULL) return;
  free(over->stretch);
  memset(over, 0, sizeof *over);
}
