/* sweep.c - the cells of a what-if matrix.
 *
 * Method    Numbers are set in a fork of the event, and what they do not touch is borrowed; each cell
 *           is then the plan's own profile, first crossing and constant cap, and where it is asked
 *           for the run at that cap.
 * Pinned by tests/plan/test_sweep.c: cells equal a plan of the event read with those values.
 */
#include "thinair/sweep.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/access.h"
#include "thinair/over.h"
#include "thinair/plan.h"
#include "thinair/run.h"
#include "thinair/timed_run.h"

static const char *const names[] = {
#define X(symbol, name) [symbol] = name,
    TA_SWEEP_STATE_ROWS(X)
#undef X
};

const char *ta_sweep_state_name(ta_sweep_state state) {
  return (unsigned)state < TA_SWEEP_STATE_COUNT ? names[state] : "?";
}

ta_status ta_sweep_make(const ta_sweep_axis *axis, size_t axis_count, ta_sweep *sweep) {
  if (axis == NULL || sweep == NULL || axis_count == 0) return TA_ERR_ARGUMENT;
  memset(sweep, 0, sizeof *sweep);
  size_t count = 1;
  for (size_t k = 0; k < axis_count; k++) {
    if (axis[k].count > TA_SWEEP_CELLS_MAX / count) return TA_ERR_DOMAIN;
    count *= axis[k].count;
  }
  ta_sweep_cell *cell = calloc(count, sizeof *cell);
  if (cell == NULL) return TA_ERR_MEMORY;
  *sweep = (ta_sweep){axis, axis_count, cell, count, count <= TA_SWEEP_TIMED_MAX};
  return TA_OK;
}

void ta_sweep_free(ta_sweep *sweep) {
  if (sweep == NULL) return;
  free(sweep->cell);
  memset(sweep, 0, sizeof *sweep);
}

size_t ta_sweep_value_of(const ta_sweep *sweep, size_t cell, size_t axis) {
  for (size_t k = sweep->axis_count; --k > axis;) cell /= sweep->axis[k].count;
  return cell % sweep->axis[axis].count;
}

/* Number of cells with the fixed values, and the cell of one of them. */
static size_t fixed_count(const ta_sweep *sweep, const size_t *fixed) {
  size_t count = 1;
  for (size_t k = 0; k < sweep->axis_count; k++)
    if (fixed[k] == TA_SWEEP_VARIED) count *= sweep->axis[k].count;
  return count;
}

static size_t fixed_cell(const ta_sweep *sweep, const size_t *fixed, size_t number) {
  size_t cell = 0, step = 1;
  for (size_t k = sweep->axis_count; k-- > 0;) {
    const size_t count = sweep->axis[k].count;
    const size_t value = fixed[k] == TA_SWEEP_VARIED ? number % count : fixed[k];
    if (fixed[k] == TA_SWEEP_VARIED) number /= count;
    cell += value * step;
    step *= count;
  }
  return cell;
}

/* What a thread works in. */
typedef struct {
  ta_profile profile;
  ta_diagnostics diagnostics;
} workspace;

/* At the map point, as zones are judged. */
static bool surge_margin(const ta_prepared *prepared, double elevation_m, double *margin) {
  const ta_car *car = &prepared->event->car;
  ta_air air;
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK) return false;
  const double rpm = car->engine.window_rpm[0];
  ta_point_block b = {.count = 1};
  ta_point_block_set(&b, 0, &air, rpm,
                     ta_judged_map(prepared, ta_prepared_goal(prepared, rpm), air.pressure_pa),
                     0.0);
  ta_points_solve(car, prepared->map, &b);
  if (b.zone[0] == TA_UNREACHABLE) return false;
  const double ratio = pow(1.0 + b.map_y[0] * b.map_y[0], TA_GAMMA / (TA_GAMMA - 1.0));
  *margin = b.map_flow_kg_s[0] / ta_compressor_map_surge_flow(prepared->map, ratio) - 1.0;
  return isfinite(*margin);
}

/* Time of the run at the cap, on the road that all cells share or, where it is NULL, on the cell's own. */
static ta_status time_run(const ta_prepared *prepared, const ta_constant_cap *cap,
                          const ta_road *shared, ta_sweep_cell *cell) {
  if (!cap->can_be_had || ta_event_time_known(prepared->event) != TA_TIME_KNOWN) return TA_OK;
  ta_road own = {0};
  ta_status status = TA_OK;
  if (shared == NULL) status = ta_road_make(&prepared->event->course, TA_CORNER_LENGTH_M, &own);
  if (status == TA_OK)
    status = ta_capped_run(prepared, cap, shared != NULL ? shared : &own, TA_RUN_TOLERANCE,
                           &cell->time_s);
  cell->has_time = status == TA_OK && isfinite(cell->time_s);
  ta_road_free(&own);
  return status;
}

static ta_status judge(const ta_prepared *prepared, bool timed, const ta_road *road, workspace *w,
                       ta_sweep_cell *cell) {
  const ta_course *course = &prepared->event->course;
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  ta_profile *profile = &w->profile;
  ta_over over;
  ta_constant_cap cap;
  ta_status status = ta_profile_sketch(prepared, window, HUGE_VAL, profile);
  if (status == TA_OK) status = ta_constant_cap_find(prepared, profile, &cap);
  if (status == TA_OK && timed) status = time_run(prepared, &cap, road, cell);
  if (status == TA_OK) status = ta_over_find(prepared, profile, &over);
  if (status != TA_OK) return status;
  const ta_operating_point *worst = &over.worst.point;
  cell->worst_rpm = worst->shaft_rpm;
  cell->worst_over_limit = worst->shaft_rpm / prepared->limit_rpm;
  cell->summit_rpm = profile->node[profile->count - 1].shaft_rpm;
  cell->state = over.count > 0                  ? TA_SWEEP_OVER
                : ta_point_is_unreliable(worst) ? TA_SWEEP_UNKNOWN
                                                : TA_SWEEP_WITHIN;
  if (over.count > 0) {
    const ta_course_point *mark = ta_course_nearest_mark(course, over.first.distance_m);
    cell->first_over_m = over.first.distance_m;
    cell->first_height_m = over.first.elevation_m;
    (void)snprintf(cell->first_mark, sizeof cell->first_mark, "%s", mark != NULL ? mark->mark : "");
  }
  ta_over_free(&over);
  const double start_pa = prepared->start.pressure_pa;
  cell->has_cap = cap.can_be_had;
  cell->cap_map_pa = ta_set_point_map(prepared, cap.set_point, start_pa);
  cell->cap_boost_pa = cell->cap_map_pa - start_pa;
  cell->limited_by = cap.limited_by;
  cell->power_w = ta_cap_power(prepared, cap.set_point, &cap.tightest.point);
  cell->has_surge_margin =
      surge_margin(prepared, profile->elevation_m[profile->count - 1], &cell->surge_margin);
  return TA_OK;
}

/* A cell's numbers in a fork of the event.  What is wrong with them goes into cell->why. */
static ta_status set_numbers(const ta_sweep *sweep, const size_t *fixed, size_t index,
                             ta_event *fork, unsigned *touches, ta_sweep_cell *cell) {
  for (size_t k = 0; k < sweep->axis_count; k++) {
    const ta_sweep_axis *axis = &sweep->axis[k];
    char why[TA_MESSAGE_MAX];
    if (fixed[k] != TA_SWEEP_VARIED) continue;
    const double si = axis->si[ta_sweep_value_of(sweep, index, k)];
    ta_status status = TA_ERR_DOMAIN;
    if (ta_field_takes(axis->field, si))
      status = ta_event_number_set(fork, axis->key, si, why, sizeof why);
    else /* in the user's unit */
      ta_field_outside(axis->field, axis->unit, si, why, sizeof why);
    if (status != TA_OK && status != TA_ERR_MEMORY)
      (void)snprintf(cell->why, sizeof cell->why, "%s: %s", axis->key, why);
    if (status != TA_OK) return status;
    *touches |= ta_event_number_touches(axis->key);
  }
  return TA_OK;
}

static ta_status solve_cell(const ta_sweep *sweep, const ta_prepared *base, const ta_road *road,
                            const size_t *fixed, size_t index, workspace *w) {
  ta_sweep_cell *cell = &sweep->cell[index];
  ta_event fork;
  ta_prepared prepared;
  unsigned touches = TA_TOUCHES_NOTHING;
  ta_diagnostics_clear(&w->diagnostics);
  ta_event_fork(base->event, &fork);
  ta_status status = set_numbers(sweep, fixed, index, &fork, &touches, cell);
  if (status == TA_OK) {
    status = ta_event_fork_complete(&fork, touches, &w->diagnostics);
    for (size_t i = 0; i < w->diagnostics.count && cell->why[0] == '\0'; i++)
      if (w->diagnostics.item[i].severity == TA_ERROR)
        (void)snprintf(cell->why, sizeof cell->why, "%s: %s", w->diagnostics.item[i].key,
                       w->diagnostics.item[i].text);
  }
  if (status == TA_OK) {
    status = ta_prepare_again(base, &fork, touches, &prepared);
    if (status == TA_OK) status = judge(&prepared, sweep->timed, road, w, cell);
    if (status != TA_OK) (void)snprintf(cell->why, sizeof cell->why, "%s", ta_status_text(status));
    ta_prepared_free(&prepared);
  }
  ta_event_free(&fork);
  return status;
}

static bool varies_course(const ta_sweep *sweep, const size_t *fixed) {
  for (size_t k = 0; k < sweep->axis_count; k++)
    if (fixed[k] == TA_SWEEP_VARIED &&
        (ta_event_number_touches(sweep->axis[k].key) & TA_TOUCHES_COURSE) != 0)
      return true;
  return false;
}

ta_status ta_sweep_solve(ta_sweep *sweep, const ta_prepared *base, const size_t *fixed,
                         bool (*keep_on)(void *context), void *context) {
  if (sweep == NULL || base == NULL || fixed == NULL || keep_on == NULL) return TA_ERR_ARGUMENT;
  const long count = (long)fixed_count(sweep, fixed);
  bool stopped = false, out_of_memory = false;
  ta_road shared = {0};
  const bool same_road = !varies_course(sweep, fixed);
  if (sweep->timed && same_road && ta_event_time_known(base->event) == TA_TIME_KNOWN) {
    const ta_status status = ta_road_make(&base->event->course, TA_CORNER_LENGTH_M, &shared);
    if (status != TA_OK) return status;
  }
#ifdef _OPENMP
#pragma omp parallel
#endif
  {
    workspace *w = malloc(sizeof *w);
#ifdef _OPENMP
#pragma omp for schedule(dynamic)
#endif
    for (long i = 0; i < count; i++) {
      bool go;
#ifdef _OPENMP
#pragma omp critical
#endif
      {
        out_of_memory = out_of_memory || w == NULL;
        stopped = stopped || out_of_memory || !keep_on(context);
        go = !stopped;
      }
      if (!go) continue;
      if (solve_cell(sweep, base, same_road ? &shared : NULL, fixed,
                     fixed_cell(sweep, fixed, (size_t)i), w) == TA_ERR_MEMORY) {
#ifdef _OPENMP
#pragma omp critical
#endif
        out_of_memory = true;
      }
    }
    free(w);
  }
  ta_road_free(&shared);
  return out_of_memory ? TA_ERR_MEMORY : TA_OK;
}

void ta_sweep_refuse(ta_sweep *sweep, const size_t *fixed, const char *why) {
  const size_t count = fixed_count(sweep, fixed);
  for (size_t i = 0; i < count; i++) {
    ta_sweep_cell *cell = &sweep->cell[fixed_cell(sweep, fixed, i)];
    (void)snprintf(cell->why, sizeof cell->why, "%s", why);
  }
}
