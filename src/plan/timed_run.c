/* timed_run.c - the run up the course under each strategy.
 *
 * Method    Full-load power depends on elevation, engine speed and ram pressure alone, and under
 *           positions of a knob on the part of the course: it is solved on a grid once for each
 *           strategy and read by the run.
 * Pinned by tests/plan/test_timed_run.c.
 */
#include "thinair/timed_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ELEVATIONS = 33, FEW_ELEVATIONS = 9, SPEEDS_MAX = 512 };
static const double FASTEST_MS = 90.0; /* to which ram pressure is solved */
static const double PROFILE_ERROR = 1e-4;

/* The grid of one strategy, and the memory of it. */
typedef struct {
  ta_full_load load;
  double engine_rpm[SPEEDS_MAX], density_kgm3[ELEVATIONS];
  double *power_w, *missing_pa, *from_m;
  bool is_short; /* of the MAP asked for, somewhere */
} grid;

/* No run passes its shift speed. */
static ta_speed_range speeds_of(const ta_prepared *prepared, const ta_vehicle *vehicle) {
  const double low_rpm = prepared->event->car.engine.window_rpm[0];
  return (ta_speed_range){fmin(low_rpm, 0.9 * vehicle->shift_rpm), vehicle->shift_rpm};
}

static double grid_elevation(const ta_full_load *load, size_t row) {
  return load->low_m + load->step_m * (double)row;
}

static void grid_free(grid *g) {
  free(g->power_w);
  free(g->missing_pa);
  free(g->from_m);
}

static void full_load_at_caps(const ta_prepared *prepared, const ta_air *air, double ram_pa,
                              const double *rpm, size_t count, double *map_pa, double *power_w) {
  const ta_air *each[TA_LANES];
  double set_point[TA_LANES];
  for (size_t i = 0; i < count; i++) each[i] = air;
  (void)ta_speed_caps(prepared, each, rpm, count, set_point);
  ta_full_load_at(prepared, air, ram_pa, rpm, set_point, count, map_pa, power_w);
}

/* What full load at the target misses of the MAP that it asks for. */
static double missing_map(const ta_prepared *prepared, double rpm, double map_pa,
                          double ambient_pa) {
  const double asked_pa = ta_asked_map(prepared, ta_prepared_goal(prepared, rpm), ambient_pa);
  return fmax(asked_pa - map_pa, 0.0);
}

/* Every fourth engine speed, and the last: the cap is a smooth thing. */
static void thin_out(double *rpm, size_t *count) {
  size_t kept = 0;
  for (size_t i = 0; i < *count; i += 4) rpm[kept++] = rpm[i];
  if (rpm[kept - 1] < rpm[*count - 1]) rpm[kept++] = rpm[*count - 1];
  *count = kept;
}

/* caps NULL: at the cap of each engine speed in each air. */
static ta_status grid_make(const ta_prepared *prepared, const ta_cap_set *caps,
                           ta_strategy strategy, const ta_vehicle *vehicle, grid *g) {
  const ta_event *event = prepared->event;
  ta_full_load *load = &g->load;
  double low_m, high_m, map_pa[TA_LANES];
  ta_course_range(&event->course, &low_m, &high_m);
  memset(g, 0, sizeof *g);
  const ta_speed_range range = speeds_of(prepared, vehicle);
  for (double from = range.low_rpm; isfinite(from) && load->engine_count + TA_LANES <= SPEEDS_MAX;)
    load->engine_count +=
        ta_speeds_in_range(event, range, &from, &g->engine_rpm[load->engine_count]);
  if (caps == NULL) thin_out(g->engine_rpm, &load->engine_count);
  load->engine_rpm = g->engine_rpm;
  load->low_m = low_m;
  load->elevation_count = high_m > low_m ? (caps != NULL ? ELEVATIONS : FEW_ELEVATIONS) : 1;
  load->step_m = high_m > low_m ? (high_m - low_m) / (double)(load->elevation_count - 1) : 0.0;
  load->density_kgm3 = g->density_kgm3;
  load->ram_recovery = event->car.intake.ram_recovery;
  load->layer_count = load->ram_recovery > 0.0 ? 2 : 1;
  load->ram_pa[1] =
      load->ram_recovery * 0.5 * prepared->start.density_kgm3 * FASTEST_MS * FASTEST_MS;
  load->section_count = strategy == TA_BY_POSITION ? caps->positions.count : 1;
  g->from_m = calloc(load->section_count + 1, sizeof *g->from_m);
  const size_t nodes =
      load->section_count * load->layer_count * load->elevation_count * load->engine_count;
  g->power_w = calloc(nodes + 1, sizeof *g->power_w);
  g->missing_pa = calloc(nodes + 1, sizeof *g->missing_pa);
  if (g->from_m == NULL || g->power_w == NULL || g->missing_pa == NULL) return TA_ERR_MEMORY;
  load->section_from_m = g->from_m;
  load->power_w = g->power_w;
  double *power_w = g->power_w, *missing_pa = g->missing_pa;
  for (size_t section = 0; section < load->section_count; section++) {
    const double from_m = strategy == TA_BY_POSITION
                              ? caps->positions.position[section].from_distance_m
                              : event->course.point[0].distance_m;
    g->from_m[section] = from_m;
    for (size_t layer = 0; layer < load->layer_count; layer++) {
      for (size_t row = 0; row < load->elevation_count; row++) {
        ta_air air;
        const ta_status status =
            ta_day_air(&prepared->day, fmin(grid_elevation(load, row), high_m), &air);
        if (status != TA_OK) return status;
        g->density_kgm3[row] = air.density_kgm3;
        for (size_t k = 0; k < load->engine_count; k += TA_LANES) {
          const size_t left = load->engine_count - k, count = left < TA_LANES ? left : TA_LANES;
          const double *rpm = &g->engine_rpm[k], ram_pa = load->ram_pa[layer];
          if (caps != NULL)
            ta_strategy_full_load(prepared, caps, strategy, from_m, &air, ram_pa, rpm, count,
                                  map_pa, power_w);
          else
            full_load_at_caps(prepared, &air, ram_pa, rpm, count, map_pa, power_w);
          for (size_t i = 0; i < count; i++) {
            if (strategy != TA_FULL_TARGET || caps == NULL) continue;
            missing_pa[i] = missing_map(prepared, rpm[i], map_pa[i], air.pressure_pa);
            g->is_short = g->is_short || missing_pa[i] > 0.0;
          }
          power_w += count;
          missing_pa += count;
        }
      }
    }
  }
  if (g->is_short) load->missing_map_pa = g->missing_pa;
  return TA_OK;
}

/* *time_s INFINITY where the car stalls, or the compressor map cannot name a point of its run. */
static ta_status drive(const ta_prepared *prepared, const ta_cap_set *caps, const ta_road *road,
                       ta_strategy strategy, double tolerance, ta_run *run) {
  ta_vehicle vehicle = prepared->event->car.vehicle;
  if (strategy == TA_EARLY_SHIFT)
    vehicle.shift_rpm = fmin(vehicle.shift_rpm, caps->shift.engine_rpm);
  grid *g = malloc(sizeof *g);
  if (g == NULL) return TA_ERR_MEMORY;
  ta_status status = grid_make(prepared, caps, strategy, &vehicle, g);
  *run = (ta_run){0};
  if (status == TA_OK) status = ta_run_make(road, &vehicle, &g->load, tolerance, run);
  grid_free(g);
  free(g);
  return status;
}

/* ---- the shaft along the run ------------------------------------------------------------------ */

/* Share of the step from a to b that is above a speed, the shaft linear between; where no speed can
 * be named, all of it or none. */
static double share_above(double a, double b, double rpm) {
  if (!(b > 0.0)) return 0.0; /* the throttle is shut */
  if (!isfinite(a) || !isfinite(b) || !(a > 0.0)) return b > rpm ? 1.0 : 0.0;
  const double high = fmax(a, b), low = fmin(a, b);
  if (high <= rpm) return 0.0;
  return low >= rpm ? 1.0 : (high - rpm) / (high - low);
}

static void note(ta_moment *moment, const ta_run_step *step) {
  if (moment->happens) return;
  *moment = (ta_moment){true, step->distance_m, step->elevation_m, step->engine_rpm, step->time_s};
}

/* One lane for the state at a step: what the full target gets, overshoot on, the wind in the
 * intake. */
static ta_status set_lane(const ta_prepared *prepared, const ta_run_step *step,
                          ta_point_block *block) {
  const size_t i = block->count++;
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, step->elevation_m, &air);
  if (status != TA_OK) return status;
  ta_point_block_set(
      block, i, &air, step->engine_rpm,
      ta_judged_map(prepared, ta_prepared_goal(prepared, step->engine_rpm), air.pressure_pa) -
          step->missing_map_pa,
      prepared->event->car.intake.ram_recovery * 0.5 * air.density_kgm3 * step->speed_ms *
          step->speed_ms);
  return TA_OK;
}

static ta_status solve_shaft(const ta_prepared *prepared, const ta_run *run, double *shaft_rpm) {
  for (size_t i = 1; i < run->step_count;) {
    size_t step[TA_LANES] = {0};
    ta_point_block block = {.count = 0};
    for (; i < run->step_count && block.count < TA_LANES; i++) {
      if (!(run->step[i].throttle_share > 0.0)) continue;
      step[block.count] = i;
      const ta_status status = set_lane(prepared, &run->step[i], &block);
      if (status != TA_OK) return status;
    }
    ta_points_solve(&prepared->event->car, prepared->map, &block);
    for (size_t k = 0; k < block.count; k++) shaft_rpm[step[k]] = block.shaft_rpm[k];
  }
  return TA_OK;
}

static ta_status judge_run(const ta_prepared *prepared, ta_timed_runs *runs) {
  const double limit = prepared->limit_rpm, rated = prepared->event->car.turbo.rated_rpm;
  runs->shaft_rpm = calloc(runs->run.step_count, sizeof *runs->shaft_rpm);
  if (runs->shaft_rpm == NULL) return TA_ERR_MEMORY;
  const ta_status status = solve_shaft(prepared, &runs->run, runs->shaft_rpm);
  if (status != TA_OK) return status;
  for (size_t i = 1; i < runs->run.step_count; i++) {
    const ta_run_step *step = &runs->run.step[i];
    const double rpm = runs->shaft_rpm[i], seconds = step->time_s - step[-1].time_s;
    runs->peak_shaft_rpm = fmax(runs->peak_shaft_rpm, rpm);
    runs->over_limit_s += seconds * share_above(runs->shaft_rpm[i - 1], rpm, limit);
    runs->over_rated_s += seconds * share_above(runs->shaft_rpm[i - 1], rpm, rated);
    if (rpm > limit) note(&runs->first_over, step);
    if (rpm > rated) note(&runs->first_over_rated, step);
  }
  return TA_OK;
}

double ta_seconds_over(const ta_timed_runs *runs, double limit_rpm, double from_m, double to_m) {
  double seconds = 0.0;
  for (size_t i = 1; runs->shaft_rpm != NULL && i < runs->run.step_count; i++) {
    const ta_run_step *step = &runs->run.step[i];
    if (step->distance_m > from_m && step->distance_m <= to_m)
      seconds += (step->time_s - step[-1].time_s) *
                 share_above(runs->shaft_rpm[i - 1], runs->shaft_rpm[i], limit_rpm);
  }
  return seconds;
}

ta_time_known ta_event_time_known(const ta_event *event) {
  if (!event->car.has_vehicle) return TA_TIME_NO_VEHICLE;
  return ta_run_time_known(&event->course) ? TA_TIME_KNOWN : TA_TIME_NO_CORNERS;
}

/* ---- where only the run is over --------------------------------------------------------------- */

static ta_status add_stretch(const ta_run_step *from, ta_over *over) {
  ta_stretch *more = realloc(over->stretch, (over->count + 1) * sizeof *more);
  if (more == NULL) return TA_ERR_MEMORY;
  over->stretch = more;
  more[over->count++] = (ta_stretch){
      .from_distance_m = from->distance_m, .from_elevation_m = from->elevation_m, .in_run = true};
  return TA_OK;
}

static int by_distance(const void *a, const void *b) {
  const double at = ((const ta_stretch *)a)->from_distance_m,
               bt = ((const ta_stretch *)b)->from_distance_m;
  return (at > bt) - (at < bt);
}

/* The state at a step, as a point of the car. */
static ta_status place_step(const ta_prepared *prepared, const ta_run_step *step,
                            ta_placed_point *placed) {
  ta_point_block lane = {.count = 0};
  ta_air air;
  ta_status status = set_lane(prepared, step, &lane);
  if (status == TA_OK) status = ta_day_air(&prepared->day, step->elevation_m, &air);
  if (status == TA_OK)
    status = ta_point_solve(&prepared->event->car, prepared->map, &air, step->engine_rpm,
                            lane.map_pa[0], &placed->point);
  placed->distance_m = step->distance_m;
  placed->elevation_m = step->elevation_m;
  return status;
}

ta_status ta_over_add_run(const ta_prepared *prepared, const ta_profile *profile,
                          const ta_timed_runs *runs, ta_over *over) {
  if (prepared == NULL || profile == NULL || runs == NULL || over == NULL) return TA_ERR_ARGUMENT;
  if (runs->shaft_rpm == NULL) return TA_OK;
  /* beside a stretch of the profile, its own error is no news */
  const double limit = prepared->limit_rpm,
               news = limit * (over->count > 0 ? 1.0 + PROFILE_ERROR : 1.0);
  const ta_run_step *first = NULL, *worst = NULL;
  double worst_rpm = over->worst.point.shaft_rpm;
  ta_status status = TA_OK;
  bool inside = false;
  for (size_t i = 1; i < runs->run.step_count && status == TA_OK; i++) {
    const ta_run_step *step = &runs->run.step[i];
    const double rpm = runs->shaft_rpm[i];
    if (!(rpm > 0.0)) continue; /* the throttle is shut */
    const bool is_told = ta_profile_shaft(profile, step->elevation_m) > limit,
               is_news = !is_told && rpm > news;
    if (is_news && !inside) status = add_stretch(step - 1, over);
    if (status != TA_OK) return status;
    if (is_news || (inside && !is_told)) { /* the step on which it falls below is over in part */
      over->stretch[over->count - 1].to_distance_m = step->distance_m;
      over->stretch[over->count - 1].to_elevation_m = step->elevation_m;
    }
    inside = is_news;
    if (!is_news) continue;
    ta_stretch *stretch = &over->stretch[over->count - 1];
    stretch->peak_shaft_rpm = fmax(stretch->peak_shaft_rpm, rpm);
    if (first == NULL) first = step;
    if (rpm > worst_rpm) {
      worst = step;
      worst_rpm = rpm;
    }
  }
  if (first == NULL) return status;
  qsort(over->stretch, over->count, sizeof *over->stretch, by_distance);
  if (over->stretch[0].in_run) {
    over->starts_over = false;
    status = place_step(prepared, first, &over->first);
  }
  if (status == TA_OK && worst != NULL) status = place_step(prepared, worst, &over->worst);
  return status;
}

/* ---- every strategy --------------------------------------------------------------------------- */

ta_status ta_timed_runs_make(const ta_prepared *prepared, const ta_cap_set *caps,
                             ta_timed_runs *runs) {
  if (prepared == NULL || caps == NULL || runs == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  memset(runs, 0, sizeof *runs);
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) runs->time_s[i] = (double)INFINITY;
  runs->known = ta_event_time_known(event);
  if (runs->known != TA_TIME_KNOWN) return TA_OK;
  ta_road road;
  ta_status status = ta_road_make(&event->course, TA_CORNER_LENGTH_M, &road);
  if (status != TA_OK) return status;
  ta_run run[TA_STRATEGY_COUNT] = {0};
  ta_status each[TA_STRATEGY_COUNT] = {TA_OK};
  double time_s[TA_STRATEGY_COUNT];
#pragma omp parallel for schedule(dynamic)
  for (int i = 0; i < TA_STRATEGY_COUNT; i++)
    if (ta_strategy_offered(caps, (ta_strategy)i)) {
      each[i] = drive(prepared, caps, &road, (ta_strategy)i, TA_RUN_TOLERANCE, &run[i]);
      time_s[i] = ta_run_made_s(&run[i]);
      if (i != TA_FULL_TARGET) ta_run_free(&run[i]); /* its time is all that is kept */
    }
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    if (status == TA_OK) status = each[i];
    if (each[i] != TA_OK || !ta_strategy_offered(caps, (ta_strategy)i)) continue;
    runs->time_s[i] = time_s[i];
    if (i == TA_FULL_TARGET) {
      runs->run = run[i];
      if (!isfinite(time_s[i]))
        runs->known = run[i].power_unknown ? TA_TIME_UNREACHABLE : TA_TIME_STALLED;
      continue;
    }
    if (isfinite(runs->time_s[i]) && ta_caps_are_vouched(caps) &&
        (!runs->has_best || runs->time_s[i] < runs->time_s[runs->best])) {
      runs->best = (ta_strategy)i;
      runs->has_best = true;
    }
  }
  if (status == TA_OK && runs->known != TA_TIME_UNREACHABLE) status = judge_run(prepared, runs);
  ta_road_free(&road);
  if (status != TA_OK) ta_timed_runs_free(runs);
  return status;
}

static ta_status time_of(const ta_prepared *prepared, const ta_cap_set *caps, const ta_road *road,
                         ta_strategy strategy, double tolerance, double *time_s) {
  ta_run run;
  const ta_status status = drive(prepared, caps, road, strategy, tolerance, &run);
  if (status != TA_OK) return status;
  *time_s = ta_run_made_s(&run);
  ta_run_free(&run);
  return TA_OK;
}

ta_status ta_quickest_load_make(const ta_prepared *prepared, ta_full_load **load) {
  if (prepared == NULL || load == NULL) return TA_ERR_ARGUMENT;
  grid *g = malloc(sizeof *g);
  if (g == NULL) return TA_ERR_MEMORY;
  const ta_status status =
      grid_make(prepared, NULL, TA_FULL_TARGET, &prepared->event->car.vehicle, g);
  if (status == TA_OK)
    *load = &g->load;
  else
    ta_quickest_load_free(&g->load);
  return status;
}

void ta_quickest_load_free(ta_full_load *load) {
  grid *g = (grid *)(void *)load; /* its first member */
  if (g == NULL) return;
  grid_free(g);
  free(g);
}

ta_status ta_quickest_run(const ta_prepared *prepared, const ta_road *road, double tolerance,
                          double *time_s) {
  if (prepared == NULL || road == NULL || time_s == NULL) return TA_ERR_ARGUMENT;
  return time_of(prepared, NULL, road, TA_FULL_TARGET, tolerance, time_s);
}

ta_status ta_capped_run(const ta_prepared *prepared, const ta_constant_cap *cap,
                        const ta_road *road, double tolerance, double *time_s) {
  if (prepared == NULL || cap == NULL || road == NULL || time_s == NULL) return TA_ERR_ARGUMENT;
  const ta_cap_set caps = {.constant = *cap};
  return time_of(prepared, &caps, road, TA_ONE_CAP, tolerance, time_s);
}

void ta_timed_runs_free(ta_timed_runs *runs) {
  if (runs == NULL) return;
  ta_run_free(&runs->run);
  free(runs->shaft_rpm);
  memset(runs, 0, sizeof *runs);
}
