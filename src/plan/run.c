/* run.c - a timed run up the course, quasi-steady.
 *
 * Model     A point mass whose force at a place is the engine's full load or the grip of its driven
 *           tyres, whichever is less; its gears, its brakes, and the corners it must make.
 * Method    In distance, on the square of the speed, which is smooth through the standing start:
 *           d(v^2)/dx = 2 a.  Backward from the finish, braking, for the speed that must not be
 *           passed; forward from the start, at full load, below it.  Both are Heun's (order 2).
 *           Where the forward pass meets a ceiling, a shift speed or the end of a shift, the step
 *           is cut there.  All steps are halved until the time stands.
 * Units     SI; engine speed in rev/min.
 * Limits    Full load at once, no spool-up; grip along and across the road do not share one circle.
 * Pinned by tests/plan/test_run.c.
 */
#include "thinair/run.h"

#include <math.h>
#include <stdlib.h>

enum {
  HALVINGS_MAX = 10,
  MANY_STEPS = 20000,
  STEPS_MAX = 1000000,
  CUTS_MAX = 100000,
  SMALLER_MAX = 60,
  CHANGES = 3
};
static const double FIRST_STEP_M = 64.0;
static const double FIRST_STEP_S = 1.0;       /* where the car is slow */
static const double FIRST_STEPS = 1e5;        /* so many on the longest road, its points aside */
static const double ON_CEILING = 1.0 - 1e-12; /* rounding */
static const double STANDSTILL = 1e-4;        /* v^2 [m2/s2] */
static const double HARDER = 1.001;           /* a gear pulls than another */
static const double ORDERS_AGREE = 0.5;

/* ---- the road -------------------------------------------------------------------------------- */

bool ta_run_time_known(const ta_course *course) {
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *point = &course->point[i];
    if (point->has_corner_radius || point->has_speed_limit || point->has_position) return true;
  }
  return false;
}

static bool all_have_position(const ta_course *course) {
  for (size_t i = 0; i < course->count; i++)
    if (!course->point[i].has_position) return false;
  return true;
}

ta_status ta_road_make(const ta_course *course, double length_m, ta_road *road) {
  if (course == NULL || road == NULL || course->count < 2 || !(length_m > 0.0))
    return TA_ERR_ARGUMENT;
  for (size_t i = 1; i < course->count; i++)
    if (!(course->point[i].distance_m > course->point[i - 1].distance_m)) return TA_ERR_ARGUMENT;
  double *curvature = malloc(course->count * sizeof *curvature);
  if (curvature == NULL) return TA_ERR_MEMORY;
  /* only the points around one have a say: a window moves along with it */
  for (size_t i = 0, low = 0, high = 0; i < course->count; i++) {
    ta_course_point *point = course->point;
    const double at_m = point[i].distance_m, half_m = 0.5 * length_m;
    while (low < i && point[low + 1].distance_m <= at_m - half_m) low++;
    while (high + 1 < course->count && point[high].distance_m < at_m + half_m) high++;
    const ta_course window = {&point[low], high - low + 1};
    curvature[i] =
        all_have_position(&window) ? 1.0 / ta_course_radius(&window, i - low, length_m) : 0.0;
  }
  *road = (ta_road){course, curvature};
  return TA_OK;
}

void ta_road_free(ta_road *road) {
  if (road == NULL) return;
  free(road->curvature_1m);
  *road = (ta_road){0};
}

/* Curvature [1/m] between a point and the next. */
static double curvature_between(const ta_road *road, size_t point, double share) {
  const ta_course_point *from = &road->course->point[point];
  if (from->has_corner_radius) return 1.0 / from->corner_radius_m;
  const double *curvature = &road->curvature_1m[point];
  return curvature[0] + share * (curvature[1] - curvature[0]);
}

/* ---- forces at a place ----------------------------------------------------------------------- */

/* A node of the steps, before any is cut. */
typedef struct {
  double distance_m, elevation_m;
  double ceiling; /* v^2 that must not be passed */
} node;

/* A run being driven.  w is v^2 throughout [m2/s2]. */
typedef struct {
  const ta_road *road;
  const ta_vehicle *vehicle;
  const ta_full_load *load;
  node *node;
  size_t engine_cursor; /* where the engine speed was last found */
  double w, time_s;
  double coast_s; /* left of a shift */
  double step_s;  /* no step takes much longer */
  size_t gear;
  ta_run run;
  size_t room; /* for steps */
} drive;

/* A place as the forces see it. */
typedef struct {
  double distance_m, elevation_m, grade, density_kgm3, ceiling;
  size_t section, row; /* of the full-load table */
  double row_share;
} place;

/* Share 0 at a, 1 at b. */
static place place_between(const ta_full_load *load, const node *a, const node *b, double grade,
                           double distance_m) {
  const double share = (distance_m - a->distance_m) / (b->distance_m - a->distance_m);
  place p = {.distance_m = distance_m,
             .elevation_m = a->elevation_m + share * (b->elevation_m - a->elevation_m),
             .grade = grade,
             .ceiling = a->ceiling + share * (b->ceiling - a->ceiling)};
  while (p.section + 1 < load->section_count && load->section_from_m[p.section + 1] <= distance_m)
    p.section++;
  const double *density = load->density_kgm3;
  if (load->elevation_count > 1) {
    const double at = fmin(fmax((p.elevation_m - load->low_m) / load->step_m, 0.0),
                           (double)(load->elevation_count - 1));
    p.row = (size_t)at;
    if (p.row + 1 == load->elevation_count) p.row--;
    p.row_share = at - (double)p.row;
    p.density_kgm3 = density[p.row] + p.row_share * (density[p.row + 1] - density[p.row]);
  } else {
    p.density_kgm3 = density[0];
  }
  return p;
}

static ta_motion motion_at(const place *p, double w) {
  return (ta_motion){.grade = p->grade, .density_kgm3 = p->density_kgm3, .speed_ms = sqrt(w)};
}

/* Where an engine speed lies among those of the table: the one at or below it, and the share of the
 * next. */
static size_t engine_column(drive *d, double engine_rpm, double *share) {
  const double *rpm = d->load->engine_rpm;
  size_t i = d->engine_cursor;
  while (i + 2 < d->load->engine_count && engine_rpm > rpm[i + 1]) i++;
  while (i > 0 && engine_rpm < rpm[i]) i--;
  d->engine_cursor = i;
  *share = (engine_rpm - rpm[i]) / (rpm[i + 1] - rpm[i]);
  return i;
}

/* One layer of a table, linear in elevation and in engine speed; *least of the nodes around. */
static double layer_between(const ta_full_load *load, const double *table, size_t layer,
                            const place *p, size_t column, double column_share, double *least) {
  const size_t columns = load->engine_count, rows = load->elevation_count;
  const double
      *low = &table[((p->section * load->layer_count + layer) * rows + p->row) * columns + column],
      *high = rows > 1 ? low + columns : low;
  const double left = low[0] + p->row_share * (high[0] - low[0]),
               right = low[1] + p->row_share * (high[1] - low[1]);
  *least = fmin(fmin(low[0], low[1]), fmin(high[0], high[1]));
  return left + column_share * (right - left);
}

static double layer_power(drive *d, size_t layer, const place *p, size_t column,
                          double column_share) {
  double least;
  const double power =
      layer_between(d->load, d->load->power_w, layer, p, column, column_share, &least);
  if (!(least > 0.0)) d->run.power_unknown = true;
  return power;
}

/* MAP that is missing from what is asked; 0 next to a node where none is, and with or without the
 * wind, whichever misses less: the shaft is judged by it. */
static double missing_map(drive *d, const place *p, double engine_rpm) {
  const ta_full_load *load = d->load;
  if (load->missing_map_pa == NULL) return 0.0;
  double share, missing = HUGE_VAL;
  const size_t column = engine_column(d, engine_rpm, &share);
  for (size_t layer = 0; layer < load->layer_count; layer++) {
    double least;
    const double here = layer_between(load, load->missing_map_pa, layer, p, column, share, &least);
    missing = fmin(missing, least > 0.0 ? here : 0.0);
  }
  return missing;
}

static double full_power(drive *d, const place *p, double engine_rpm, const ta_motion *motion) {
  const ta_full_load *load = d->load;
  double share;
  const size_t i = engine_column(d, engine_rpm, &share);
  const double power = layer_power(d, 0, p, i, share);
  if (load->layer_count == 1) return power;
  const double ram =
      load->ram_recovery * 0.5 * motion->density_kgm3 * motion->speed_ms * motion->speed_ms;
  const double ram_share = (ram - load->ram_pa[0]) / (load->ram_pa[1] - load->ram_pa[0]);
  return power + fmin(fmax(ram_share, 0.0), 1.0) * (layer_power(d, 1, p, i, share) - power);
}

/* Engine speed in the gear engaged; the clutch slips below the lowest that the table knows. */
static double engine_speed(const drive *d, size_t gear, double speed_ms) {
  return fmax(ta_vehicle_engine_rpm(d->vehicle, gear, speed_ms), d->load->engine_rpm[0]);
}

/* Force at the wheels at full load, were there grip for it. */
static double engine_force(drive *d, const place *p, size_t gear, const ta_motion *motion) {
  const double rpm = engine_speed(d, gear, motion->speed_ms);
  /* of constant torque below the lowest engine speed: the force is the one at that speed */
  return ta_vehicle_engine_force(d->vehicle, full_power(d, p, rpm, motion),
                                 ta_vehicle_speed(d->vehicle, gear, rpm));
}

/* Force at full load; the tyres may not pass on all of it. */
static double pull(drive *d, const place *p, size_t gear, double w) {
  const ta_motion motion = motion_at(p, w);
  return fmin(engine_force(d, p, gear, &motion), ta_vehicle_drive_grip(d->vehicle, &motion));
}

/* Acceleration [m/s2] with this force at the wheels. */
static double acceleration(const drive *d, const place *p, double force_n, double w) {
  const ta_motion motion = motion_at(p, w);
  return (force_n - ta_vehicle_resistance(d->vehicle, &motion)) / d->vehicle->mass_kg;
}

/* ---- gears ----------------------------------------------------------------------------------- */

/* v^2 at the shift speed of a gear. */
static double gear_ceiling(const drive *d, size_t gear) {
  const double v = ta_vehicle_speed(d->vehicle, gear, d->vehicle->shift_rpm);
  return v * v;
}

static bool is_on(double w, double ceiling) {
  return w >= ceiling * ON_CEILING;
}

/* By how much it is worth changing down to this gear from the next, and back later; above 0 when it
 * is: the lower gear pulls harder, and the speed can still grow by what two shifts take. */
static double worth(drive *d, const place *p, size_t gear, double w) {
  const ta_vehicle *vehicle = d->vehicle;
  const double room_ms = ta_vehicle_speed(vehicle, gear, vehicle->shift_rpm) - sqrt(w);
  const double low = pull(d, p, gear, w) / vehicle->mass_kg,
               high = pull(d, p, gear + 1, w) / vehicle->mass_kg;
  return fmin(room_ms - 2.0 * vehicle->shift_time_s * low, low - HARDER * high);
}

static bool pays(drive *d, const place *p, size_t gear, double w) {
  return w < gear_ceiling(d, gear) && worth(d, p, gear, w) > 0.0;
}

/* due: the place was stepped to because changing down begins to pay there. */
static void choose_gear(drive *d, const place *p, bool due) {
  const ta_vehicle *vehicle = d->vehicle;
  if (!due && is_on(d->w, p->ceiling)) {
    while (d->gear > 1 && pays(d, p, d->gear - 1, d->w)) d->gear--;
    d->coast_s = 0.0;
  }
  if (d->coast_s > 0.0) return;
  if (due || (d->gear > 1 && pays(d, p, d->gear - 1, d->w))) {
    d->gear--;
    d->coast_s = vehicle->shift_time_s;
  } else if (d->gear < vehicle->gear_count && is_on(d->w, gear_ceiling(d, d->gear)) &&
             acceleration(d, p, pull(d, p, d->gear + 1, d->w), d->w) >= 0.0) {
    d->gear++;
    d->coast_s = vehicle->shift_time_s;
  }
}

/* ---- the forward pass ------------------------------------------------------------------------ */

static ta_status put_step(drive *d, const place *p, double throttle_share) {
  ta_run *run = &d->run;
  if (run->step_count == d->room) {
    const size_t room = 2 * d->room;
    ta_run_step *more = realloc(run->step, room * sizeof *more);
    if (more == NULL) return TA_ERR_MEMORY;
    run->step = more;
    d->room = room;
  }
  const double speed_ms = sqrt(d->w), rpm = engine_speed(d, d->gear, speed_ms);
  run->step[run->step_count++] = (ta_run_step){.distance_m = p->distance_m,
                                               .elevation_m = p->elevation_m,
                                               .time_s = d->time_s,
                                               .speed_ms = speed_ms,
                                               .engine_rpm = rpm,
                                               .throttle_share = throttle_share,
                                               .missing_map_pa = missing_map(d, p, rpm),
                                               .gear = d->gear};
  return TA_OK;
}

/* Share of a step at which v^2, going from w0 to w1, passes a ceiling that goes from c0 to c1. */
static double share_below(double w0, double w1, double c0, double c1) {
  return w1 > c1 ? (c0 - w0) / ((c0 - w0) + (w1 - c1)) : 1.0;
}

/* Share of the full load that gives a car this acceleration; no more than the tyres pass on. */
static double share_of_load(drive *d, const place *p, double acceleration_ms2) {
  const ta_motion motion = motion_at(p, d->w);
  const double full = engine_force(d, p, d->gear, &motion),
               wanted = fmin(d->vehicle->mass_kg * acceleration_ms2 +
                                 ta_vehicle_resistance(d->vehicle, &motion),
                             ta_vehicle_drive_grip(d->vehicle, &motion));
  return wanted < full ? fmax(wanted / full, 0.0) : 1.0;
}

/* One step from a place: where it ends, and v^2 there. */
typedef struct {
  place end;
  double length_m, w;
  bool change_down; /* there */
} stride;

/* Shorten a stride; v^2 is taken as linear in it. */
static void cut(const drive *d, const node *a, const node *b, const place *here, double share,
                stride *s) {
  s->length_m *= share;
  s->w = d->w + share * (s->w - d->w);
  s->end = place_between(d->load, a, b, here->grade, here->distance_m + s->length_m);
}

/* At full load, or coasting, towards b with this acceleration at first; TA_ERR_DOMAIN where no step
 * is small enough. */
static ta_status step_freely(drive *d, const node *a, const node *b, const place *here,
                             double acceleration_ms2, stride *s) {
  const bool coasting = d->coast_s > 0.0;
  const double rest_m = b->distance_m - here->distance_m,
               soon_m = d->step_s * (sqrt(d->w) + 0.5 * d->step_s * fabs(acceleration_ms2));
  *s = (stride){.length_m = fmin(rest_m, soon_m)};
  s->end = place_between(d->load, a, b, here->grade,
                         soon_m < rest_m ? here->distance_m + soon_m : b->distance_m);
  for (int k = 0; k < SMALLER_MAX; k++) {
    const double guess = fmax(d->w + 2.0 * s->length_m * acceleration_ms2, 0.0);
    const double then =
        acceleration(d, &s->end, coasting ? 0.0 : pull(d, &s->end, d->gear, guess), guess);
    s->w = d->w + s->length_m * (acceleration_ms2 + then);
    if (s->w > 0.0) return TA_OK;
    cut(d, a, b, here, 0.5, s);
  }
  return TA_ERR_DOMAIN;
}

/* From a place towards b, up to the first event: a ceiling, the end of a shift, a place to
 * change down. */
static ta_status advance(drive *d, const node *a, const node *b, const place *here, stride *s) {
  const bool coasting = d->coast_s > 0.0;
  const double first = acceleration(d, here, coasting ? 0.0 : pull(d, here, d->gear, d->w), d->w);
  if (d->w < STANDSTILL && !(first > 0.0)) {
    d->run.stalled = true;
    return TA_OK;
  }
  const ta_status status = step_freely(d, a, b, here, first, s);
  if (status != TA_OK) return status;

  const double top = gear_ceiling(d, d->gear);
  double most = (double)INFINITY; /* of a car that is at a ceiling already */
  if (is_on(d->w, here->ceiling)) most = s->end.ceiling;
  if (is_on(d->w, top)) most = fmin(most, top);
  const bool held = s->w > most;
  if (held) s->w = most;
  const double share = fmin(share_below(d->w, s->w, here->ceiling, s->end.ceiling),
                            share_below(d->w, s->w, top, top));
  if (share < 1.0) cut(d, a, b, here, share, s);
  if (!coasting && !held && d->gear > 1 && pays(d, &s->end, d->gear - 1, s->w)) {
    const double before = fmin(worth(d, here, d->gear - 1, d->w), 0.0),
                 after = worth(d, &s->end, d->gear - 1, s->w);
    cut(d, a, b, here, before / (before - after), s);
    s->change_down = true;
  }

  const double v0 = sqrt(d->w), mean = 0.5 * (s->w - d->w) / s->length_m;
  double time_s = 2.0 * s->length_m / (v0 + sqrt(s->w));
  if (coasting && time_s > d->coast_s) {
    time_s = d->coast_s;
    cut(d, a, b, here, fmin(time_s * (v0 + 0.5 * mean * time_s) / s->length_m, 1.0), s);
  }
  if (coasting) d->coast_s -= time_s;
  d->time_s += time_s;
  d->w = s->w;
  return put_step(d, &s->end, coasting ? 0.0 : share_of_load(d, &s->end, held ? mean : HUGE_VAL));
}

/* From one node to the next; a standstill ends it. */
static ta_status drive_on(drive *d, const node *a, const node *b, double grade) {
  place here = place_between(d->load, a, b, grade, a->distance_m);
  stride s = {0};
  for (int cuts = 0; here.distance_m < b->distance_m; cuts++) {
    if (cuts == CUTS_MAX) return TA_ERR_DOMAIN;
    choose_gear(d, &here, s.change_down);
    const ta_status status = advance(d, a, b, &here, &s);
    if (status != TA_OK || d->run.stalled) return status;
    here = s.end;
  }
  return TA_OK;
}

/* ---- nodes and the backward pass ------------------------------------------------------------- */

/* Steps between a point and the next. */
static size_t steps_after(const ta_course *course, size_t point, double first_step_m,
                          size_t halvings) {
  const ta_course_point *from = &course->point[point];
  if (from[1].after_gap) return 1;
  return (size_t)ceil((from[1].distance_m - from[0].distance_m) / first_step_m) << halvings;
}

static double grade_after(const ta_course *course, size_t point) {
  const ta_course_point *from = &course->point[point];
  return (from[1].elevation_m - from[0].elevation_m) / (from[1].distance_m - from[0].distance_m);
}

/* v^2 of the corner and the speed limit between a point and the next. */
static double limit_between(const drive *d, size_t point, const place *p, double share) {
  const ta_course_point *from = &d->road->course->point[point];
  const double curvature = curvature_between(d->road, point, share);
  double v = from->has_speed_limit ? from->speed_limit_ms : (double)INFINITY;
  if (curvature > 0.0)
    v = fmin(v, ta_vehicle_corner_speed(d->vehicle, p->grade, p->density_kgm3, 1.0 / curvature));
  return v * v;
}

/* The nodes after a point, up to the next; a point has the lower limit of both its sides. */
static void lay_nodes(drive *d, size_t point, size_t steps, node *first) {
  const ta_course_point *from = &d->road->course->point[point];
  const node last = {.distance_m = from[1].distance_m, .elevation_m = from[1].elevation_m};
  const node begin = *first;
  const double top = gear_ceiling(d, d->vehicle->gear_count);
  const double grade = from[1].after_gap ? 0.0 : grade_after(d->road->course, point);
  for (size_t k = 0; k <= steps; k++) {
    const double share = (double)k / (double)steps;
    const double at_m = k < steps ? begin.distance_m + share * (last.distance_m - begin.distance_m)
                                  : last.distance_m;
    const place p = place_between(d->load, &begin, &last, grade, at_m);
    if (k > 0) first[k] = (node){p.distance_m, p.elevation_m, top};
    if (!from[1].after_gap)
      first[k].ceiling = fmin(first[k].ceiling, limit_between(d, point, &p, share));
  }
}

/* Lower the ceiling at a to what the brakes can take off on the way to b. */
static void brake_before(const drive *d, node *a, const node *b, double grade) {
  if (a->ceiling <= b->ceiling) return;
  const place from = place_between(d->load, a, b, grade, a->distance_m),
              to = place_between(d->load, a, b, grade, b->distance_m);
  const double length = b->distance_m - a->distance_m;
  const ta_motion end = motion_at(&to, b->ceiling);
  const double d1 = fmax(ta_vehicle_braking(d->vehicle, &end), 0.0);
  const ta_motion begin = motion_at(&from, b->ceiling + 2.0 * length * d1);
  const double d0 = fmax(ta_vehicle_braking(d->vehicle, &begin), 0.0);
  a->ceiling = fmin(a->ceiling, b->ceiling + length * (d0 + d1));
}

/* ---- one run with given steps, and its halving ----------------------------------------------- */

static ta_status drive_course(drive *d, double first_step_m, size_t halvings) {
  const ta_course *course = d->road->course;
  d->step_s = ldexp(FIRST_STEP_S * first_step_m / FIRST_STEP_M, -(int)halvings);
  size_t nodes = 1;
  for (size_t i = 0; i + 1 < course->count; i++)
    nodes += steps_after(course, i, first_step_m, halvings);
  ta_run *run = &d->run;
  d->room = nodes + nodes / 8 + 64; /* steps are cut here and there */
  d->node = malloc(nodes * sizeof *d->node);
  run->step = malloc(d->room * sizeof *run->step);
  run->at_point = malloc(course->count * sizeof *run->at_point);
  if (d->node == NULL || run->step == NULL || run->at_point == NULL) return TA_ERR_MEMORY;

  d->node[0] = (node){course->point[0].distance_m, course->point[0].elevation_m,
                      gear_ceiling(d, d->vehicle->gear_count)};
  node *at = d->node;
  for (size_t i = 0; i + 1 < course->count; i++) {
    const size_t steps = steps_after(course, i, first_step_m, halvings);
    lay_nodes(d, i, steps, at);
    at += steps;
  }
  for (size_t i = course->count - 1; i-- > 0;) {
    const size_t steps = steps_after(course, i, first_step_m, halvings);
    for (size_t k = 0; k < steps; k++, at--) {
      if (course->point[i + 1].after_gap)
        at[-1].ceiling = fmin(at[-1].ceiling, at->ceiling);
      else
        brake_before(d, at - 1, at, grade_after(course, i));
    }
  }

  d->gear = 1;
  const place start = place_between(d->load, at, at + 1, 0.0, at->distance_m);
  ta_status status = put_step(d, &start, 1.0);
  run->at_point[run->point_count++] = 0;
  for (size_t i = 0; i + 1 < course->count && status == TA_OK; i++) {
    const size_t steps = steps_after(course, i, first_step_m, halvings);
    if (course->point[i + 1].after_gap) {
      const place p = place_between(d->load, at, at + 1, 0.0, at[1].distance_m);
      status = put_step(d, &p, run->step[run->step_count - 1].throttle_share);
    } else {
      const double grade = grade_after(course, i);
      for (size_t k = 0; k < steps && status == TA_OK && !run->stalled; k++) {
        status = drive_on(d, at + k, at + k + 1, grade);
        run->step_m = fmax(run->step_m, at[k + 1].distance_m - at[k].distance_m);
      }
    }
    at += steps;
    if (run->stalled) break;
    run->at_point[run->point_count++] = run->step_count - 1;
  }
  run->time_s = d->time_s;
  return status;
}

static bool all_positive(const double *value, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (!(value[i] > 0.0 && value[i] < (double)INFINITY)) return false;
  return true;
}

static bool none_negative(const double *value, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (!(value[i] >= 0.0 && value[i] < (double)INFINITY)) return false;
  return true;
}

static ta_status check_vehicle(const ta_vehicle *v) {
  const double positive[] = {
      v->mass_kg,    v->tyre_radius_m, v->final_drive, v->drivetrain_efficiency, v->shift_rpm,
      v->grip.drive, v->grip.corner,   v->grip.brake,  v->driven_load_share};
  const double rest[] = {v->drag_area_m2, v->rolling_resistance, v->shift_time_s};
  const bool sound = all_positive(positive, sizeof positive / sizeof *positive) &&
                     none_negative(rest, sizeof rest / sizeof *rest) &&
                     isfinite(v->downforce_area_m2) && all_positive(v->gear, v->gear_count);
  return sound ? TA_OK : TA_ERR_DOMAIN;
}

static ta_status check_load(const ta_full_load *load, double shift_rpm) {
  if (load->engine_count < 2 || load->elevation_count < 1 || load->layer_count < 1 ||
      load->layer_count > 2)
    return TA_ERR_DOMAIN;
  for (size_t i = 1; i < load->engine_count; i++)
    if (!(load->engine_rpm[i] > load->engine_rpm[i - 1])) return TA_ERR_DOMAIN;
  for (size_t i = 1; i < load->section_count; i++)
    if (!(load->section_from_m[i] > load->section_from_m[i - 1])) return TA_ERR_DOMAIN;
  const size_t sections = load->section_count > 1 ? load->section_count : 1;
  const bool sound =
      all_positive(load->engine_rpm, load->engine_count) &&
      load->engine_rpm[load->engine_count - 1] >= shift_rpm &&
      (load->elevation_count == 1 || (load->step_m > 0.0 && load->step_m < (double)INFINITY)) &&
      all_positive(load->density_kgm3, load->elevation_count) &&
      none_negative(load->power_w,
                    sections * load->layer_count * load->elevation_count * load->engine_count) &&
      (load->missing_map_pa == NULL ||
       none_negative(load->missing_map_pa,
                     sections * load->layer_count * load->elevation_count * load->engine_count)) &&
      (load->layer_count == 1 || (load->ram_pa[1] > load->ram_pa[0] && load->ram_recovery >= 0.0));
  return sound ? TA_OK : TA_ERR_DOMAIN;
}

static ta_status check_course(const ta_course *course, const ta_full_load *load) {
  const double span_m = load->step_m * (double)(load->elevation_count - 1),
               rounding_m = 1e-9 * (1.0 + span_m + fabs(load->low_m));
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *p = &course->point[i];
    const bool sound =
        p->elevation_m >= load->low_m - rounding_m &&
        p->elevation_m <= load->low_m + span_m + rounding_m &&
        (!p->has_corner_radius || p->corner_radius_m > 0.0) &&
        (!p->has_speed_limit || p->speed_limit_ms > 0.0) &&
        (i + 1 == course->count || p[1].after_gap || fabs(grade_after(course, i)) < 1.0);
    if (!sound) return TA_ERR_DOMAIN;
  }
  return TA_OK;
}

/* Order of convergence that the last two changes tell, and whether the two before tell the same. */
static void tell_order(const double change[CHANGES], ta_run *run) {
  run->has_order = change[0] * change[1] > 0.0;
  if (!run->has_order) return;
  run->order = log2(change[1] / change[0]);
  run->order_settled =
      change[1] * change[2] > 0.0 && fabs(run->order - log2(change[2] / change[1])) <= ORDERS_AGREE;
}

ta_status ta_run_make(const ta_road *road, const ta_vehicle *vehicle, const ta_full_load *full_load,
                      double tolerance, ta_run *run) {
  if (road == NULL || road->curvature_1m == NULL || vehicle == NULL || vehicle->gear == NULL ||
      vehicle->gear_count < 1 || full_load == NULL || full_load->engine_rpm == NULL ||
      full_load->density_kgm3 == NULL || full_load->power_w == NULL ||
      (full_load->section_count > 1 && full_load->section_from_m == NULL) || run == NULL ||
      !(tolerance > 0.0))
    return TA_ERR_ARGUMENT;
  const ta_course *course = road->course;
  ta_status status = check_vehicle(vehicle);
  if (status == TA_OK) status = check_load(full_load, vehicle->shift_rpm);
  if (status == TA_OK) status = check_course(course, full_load);
  const double length_m = course->point[course->count - 1].distance_m - course->point[0].distance_m,
               first_step_m = fmax(FIRST_STEP_M, length_m / FIRST_STEPS);

  const bool coarse = tolerance >= TA_COARSE_RUN_TOLERANCE;
  ta_run best = {0};
  double change[CHANGES] = {0.0}; /* of the last halving, the one before, ... */
  for (size_t halvings = 0; status == TA_OK && halvings <= HALVINGS_MAX; halvings++) {
    if (halvings > 1 && best.step_count > STEPS_MAX / 2) break;
    drive d = {.road = road, .vehicle = vehicle, .load = full_load};
    const double before_s = best.time_s;
    ta_run_free(&best); /* two runs of a long course at a time are too much */
    status = drive_course(&d, first_step_m, halvings);
    free(d.node);
    if (status != TA_OK) {
      ta_run_free(&d.run);
      break;
    }
    for (size_t k = CHANGES - 1; k > 0; k--) change[k] = change[k - 1];
    change[0] = halvings > 0 ? d.run.time_s - before_s : 0.0;
    const bool settled = fabs(change[0]) <= tolerance * d.run.time_s;
    best = d.run;
    best.halvings = halvings;
    if (settled && halvings >= (coarse || best.step_count > MANY_STEPS ? 1 : 2)) break;
  }
  if (status != TA_OK) return status;
  best.change_s = fabs(change[0]);
  tell_order(change, &best);
  *run = best;
  return TA_OK;
}

double ta_run_made_s(const ta_run *run) {
  return run->stalled || run->power_unknown ? (double)INFINITY : run->time_s;
}

void ta_run_free(ta_run *run) {
  if (run == NULL) return;
  free(run->step);
  free(run->at_point);
  *run = (ta_run){0};
}
