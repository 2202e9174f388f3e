/* drive.c - whether the turbine can drive the boost that is asked for.
 *
 * Model     The power balance of turbine.h at every point; the target is judged at its set-point,
 *           for overshoot is no boost that has to be held.
 * Limits    Full load in a steady state: how long the turbo takes to get there is not modelled.
 * Pinned by tests/plan/test_drive.c.
 */
#include "thinair/drive.h"

#include <math.h>
#include <string.h>

enum { HALVINGS = 9 }; /* of a step: to 1 Pa */
static const double STAYS_PA = 1000.0, STEP_PA = 500.0, SETTLED_RPM = 1.0;
static const double PLACE_M = 0.05;     /* of road */
static const double LOWEST_SHARE = 0.3; /* of the boost window's low end: no lower threshold */

/* What one lane of a block asks of its turbine. */
static ta_drive_demand demand_of(const ta_car *car, double air_flow_kg_s, double gas_constant_jkgk,
                                 double ambient_pa, double inlet_k, double outlet_k) {
  const double judged_kg_s =
      air_flow_kg_s * (1.0 + car->charge_cooler.leak) * ta_turbo_share(&car->turbo);
  return (ta_drive_demand){
      .turbo_count = car->turbo.count,
      .air_flow_kg_s = air_flow_kg_s,
      .air_fuel_ratio = car->engine.air_fuel_ratio,
      .ambient_pa = ambient_pa,
      .compressor_power_w = ta_compressor_power(judged_kg_s, gas_constant_jkgk, inlet_k, outlet_k)};
}

ta_status ta_point_drive(const ta_car *car, const ta_operating_point *point, ta_drive *drive) {
  if (car == NULL || point == NULL || drive == NULL) return TA_ERR_ARGUMENT;
  if (point->zone == TA_UNREACHABLE) return TA_ERR_DOMAIN;
  const ta_drive_demand demand = demand_of(
      car, point->air_flow_kg_s, point->ambient.gas_constant_jkgk, point->ambient.pressure_pa,
      point->inlet_temperature_k, point->outlet_temperature_k);
  return ta_turbine_drive(&car->turbo.turbine, &demand, drive);
}

void ta_points_excess(const ta_car *car, const ta_point_block *block, double *excess_w) {
  for (size_t i = 0; i < block->count; i++) {
    const ta_drive_demand demand = demand_of(
        car, block->air_flow_kg_s[i], block->gas_constant_jkgk[i], block->ambient_pressure_pa[i],
        block->inlet_temperature_k[i], block->outlet_temperature_k[i]);
    excess_w[i] = block->zone[i] == TA_UNREACHABLE
                      ? -HUGE_VAL
                      : ta_turbine_excess(&car->turbo.turbine, &demand);
  }
}

static void solve_excess(const ta_prepared *prepared, const ta_air *air, const double *rpm,
                         const double *map_pa, size_t count, double *excess_w) {
  ta_point_block block = {.count = count};
  for (size_t i = 0; i < count; i++) ta_point_block_set(&block, i, air, rpm[i], map_pa[i], 0.0);
  ta_points_solve(&prepared->event->car, prepared->map, &block);
  ta_points_excess(&prepared->event->car, &block, excess_w);
}

bool ta_map_is_held(const ta_prepared *prepared, const ta_air *air, double engine_rpm,
                    double map_pa) {
  double excess = 0.0;
  solve_excess(prepared, air, &engine_rpm, &map_pa, 1, &excess);
  return excess >= 0.0;
}

void ta_highest_held_map(const ta_prepared *prepared, const ta_air *air, const double *rpm,
                         size_t count, const double *highest_map_pa, double *held_pa) {
  double low[TA_LANES], high[TA_LANES], at[TA_LANES], excess[TA_LANES] = {0.0}, most_pa = 0.0;
  int short_steps[TA_LANES] = {0};
  bool stops[TA_LANES] = {false}, counting = count > 0;
  for (size_t i = 0; i < count; i++) {
    low[i] = high[i] = air->pressure_pa;
    most_pa = fmax(most_pa, highest_map_pa[i]);
  }
  /* a shortfall that begins below the highest is seen to stay above it */
  const int steps = (int)((most_pa + STAYS_PA - air->pressure_pa) / STEP_PA) + 1;
  for (int step = 1; counting && step <= steps; step++) {
    const double map_pa = air->pressure_pa + STEP_PA * step;
    for (size_t i = 0; i < count; i++) at[i] = map_pa;
    solve_excess(prepared, air, rpm, at, count, excess);
    counting = false;
    for (size_t i = 0; i < count; i++) {
      if (stops[i]) continue;
      if (excess[i] >= 0.0) {
        low[i] = map_pa;
        short_steps[i] = 0;
      } else if (short_steps[i]++ == 0) {
        high[i] = map_pa;
      }
      stops[i] = short_steps[i] * STEP_PA > STAYS_PA;
      counting = counting || !stops[i];
    }
  }
  for (int halving = 0; count > 0 && halving < HALVINGS; halving++) {
    for (size_t i = 0; i < count; i++) at[i] = stops[i] ? 0.5 * (low[i] + high[i]) : low[i];
    solve_excess(prepared, air, rpm, at, count, excess);
    for (size_t i = 0; i < count; i++)
      if (stops[i]) *(excess[i] < 0.0 ? &high[i] : &low[i]) = at[i];
  }
  for (size_t i = 0; i < count; i++)
    held_pa[i] = stops[i] ? fmin(low[i], highest_map_pa[i]) : highest_map_pa[i];
}

static double goal_map(const ta_prepared *prepared, const ta_air *air, double rpm) {
  return ta_set_point_map(prepared, ta_prepared_goal(prepared, rpm), air->pressure_pa);
}

void ta_boost_threshold(const ta_prepared *prepared, const ta_air *air, ta_threshold *threshold) {
  const ta_speed_range judged = ta_judged_speeds(&prepared->event->car);
  double low = LOWEST_SHARE * judged.low_rpm, high = judged.high_rpm;
  double rpm[TA_LANES], map[TA_LANES], excess[TA_LANES] = {0.0};
  threshold->engine_rpm = (double)INFINITY;
  threshold->or_below = threshold->is_unknown = false;
  for (bool first = true; first || high - low > SETTLED_RPM; first = false) {
    for (size_t i = 0; i < TA_LANES; i++) {
      rpm[i] = low + (high - low) * (double)i / (TA_LANES - 1);
      map[i] = goal_map(prepared, air, rpm[i]);
    }
    solve_excess(prepared, air, rpm, map, TA_LANES, excess);
    size_t from = TA_LANES; /* the first lane above which all hold */
    while (from > 0 && excess[from - 1] >= 0.0) from--;
    threshold->is_unknown = from == TA_LANES && isinf(excess[TA_LANES - 1]);
    if (from == TA_LANES) return;
    threshold->engine_rpm = high = rpm[from];
    threshold->or_below = from == 0;
    if (from == 0) return;
    low = rpm[from - 1];
  }
}

/* The largest shortfall of power over the window at an elevation, negative where all is held; and
 * the engine speed of it.  Past what the compressor map can tell the power that it takes is not known:
 * that is over the limit, and never short of drive. */
static ta_status shortfall(const ta_prepared *prepared, double elevation_m, double *short_w,
                           double *engine_rpm) {
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  double worst = -HUGE_VAL, rpm[TA_LANES], map[TA_LANES], excess[TA_LANES] = {0.0};
  ta_air air;
  const ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status != TA_OK) return status;
  for (double from = window.low_rpm; isfinite(from);) {
    const size_t count = ta_speeds_in_range(prepared->event, window, &from, rpm);
    for (size_t i = 0; i < count; i++) map[i] = goal_map(prepared, &air, rpm[i]);
    solve_excess(prepared, &air, rpm, map, count, excess);
    for (size_t i = 0; i < count; i++) {
      if (isinf(excess[i]) || !(-excess[i] > worst)) continue;
      worst = -excess[i];
      *engine_rpm = rpm[i];
    }
  }
  *short_w = worst;
  return TA_OK;
}

/* ---- along the course ------------------------------------------------------------------------ */

/* The shortfall at the profile's elevations. */
typedef struct {
  const ta_prepared *prepared;
  const ta_profile *profile;
  double short_w[TA_PROFILE_NODES_MAX];
} shortfalls;

/* As at the elevations of the profile above and below where those agree; else solved. */
static ta_status is_short(const shortfalls *s, double elevation_m, bool *answer) {
  const ta_operating_point *below, *above;
  double share, short_w = 0.0, rpm;
  ta_profile_between(s->profile, elevation_m, &below, &above, &share);
  *answer = s->short_w[below - s->profile->node] > 0.0;
  if (*answer == (s->short_w[above - s->profile->node] > 0.0)) return TA_OK;
  const ta_status status = shortfall(s->prepared, elevation_m, &short_w, &rpm);
  *answer = short_w > 0.0;
  return status;
}

/* On the way from one elevation to another: the profile's next one, or the end. */
static double next_elevation(const ta_profile *profile, double from_m, double to_m) {
  const ta_operating_point *below, *above;
  double share;
  ta_profile_between(profile, from_m, &below, &above, &share);
  if (to_m > from_m) {
    const double next_m = profile->elevation_m[above - profile->node];
    return next_m > from_m ? fmin(next_m, to_m) : to_m;
  }
  const size_t i = (size_t)(below - profile->node);
  const double next_m = profile->elevation_m[share > 0.0 || i == 0 ? i : i - 1];
  return next_m < from_m ? fmax(next_m, to_m) : to_m;
}

/* First elevation of the way from a course point to the next that is short; false: none is. */
static ta_status first_on_the_way(const shortfalls *s, const ta_course_point *from,
                                  double *elevation_m, bool *found) {
  const double metres_of_road =
      (from[1].distance_m - from->distance_m) / fabs(from[1].elevation_m - from->elevation_m);
  double held_m = from->elevation_m;
  ta_status status = TA_OK;
  while (status == TA_OK && !*found && held_m != from[1].elevation_m) {
    double short_m = next_elevation(s->profile, held_m, from[1].elevation_m);
    status = is_short(s, short_m, found);
    if (!*found) held_m = short_m;
    while (status == TA_OK && *found && fabs(short_m - held_m) * metres_of_road > PLACE_M) {
      bool middle;
      *elevation_m = 0.5 * (held_m + short_m);
      status = is_short(s, *elevation_m, &middle);
      *(middle ? &short_m : &held_m) = *elevation_m;
    }
    *elevation_m = short_m;
  }
  return status;
}

static ta_status find_first(const shortfalls *s, ta_drive_check *check) {
  const ta_course_point *point = s->prepared->event->course.point;
  double at_m = point->elevation_m, distance_m = point->distance_m;
  bool found;
  ta_status status = is_short(s, at_m, &found);
  for (size_t i = 1; status == TA_OK && !found && i < s->prepared->event->course.count; i++) {
    const ta_course_point *from = &point[i - 1];
    status = first_on_the_way(s, from, &at_m, &found);
    if (found)
      distance_m = from->distance_m + (from[1].distance_m - from->distance_m) *
                                          (at_m - from->elevation_m) /
                                          (from[1].elevation_m - from->elevation_m);
  }
  if (status != TA_OK || !found) return status;
  double short_w;
  ta_air air;
  check->cannot_hold = true;
  check->distance_m = distance_m;
  check->elevation_m = at_m;
  status = shortfall(s->prepared, at_m, &short_w, &check->engine_rpm);
  if (status == TA_OK) status = ta_day_air(&s->prepared->day, at_m, &air);
  if (status != TA_OK) return status;
  const double goal_pa = goal_map(s->prepared, &air, check->engine_rpm);
  ta_highest_held_map(s->prepared, &air, &check->engine_rpm, 1, &goal_pa, &check->held_map_pa);
  return TA_OK;
}

static ta_status find_thresholds(const ta_prepared *prepared, ta_drive_check *check) {
  const ta_event *event = prepared->event;
  double low_m, top_m;
  ta_course_range(&event->course, &low_m, &top_m);
  const double start_m =
      event->is_cut ? event->start_elevation_m : event->course.point[0].elevation_m;
  for (int i = 0; i < TA_THRESHOLDS; i++) {
    ta_threshold *threshold = &check->threshold[i];
    const double share = (double)i / (TA_THRESHOLDS - 1);
    ta_air air;
    threshold->elevation_m = (1.0 - share) * start_m + share * top_m;
    const ta_status status = ta_day_air(&prepared->day, threshold->elevation_m, &air);
    if (status != TA_OK) return status;
    ta_boost_threshold(prepared, &air, threshold);
  }
  return TA_OK;
}

/* How hard the turbine works at the goal, where the shaft is fastest at each of the profile's
 * elevations: the exhaust is the most there. */
static void find_expansion(const ta_prepared *prepared, const ta_profile *profile,
                           ta_drive_check *check) {
  const ta_car *car = &prepared->event->car;
  for (size_t i = 0; i < profile->count; i++) {
    const ta_operating_point *node = &profile->node[i];
    ta_operating_point point;
    ta_drive drive;
    if (ta_point_solve(car, prepared->map, &node->ambient, node->engine_rpm,
                       goal_map(prepared, &node->ambient, node->engine_rpm), &point) != TA_OK ||
        ta_point_drive(car, &point, &drive) != TA_OK)
      continue;
    check->expansion_ratio = fmax(check->expansion_ratio, drive.expansion_ratio);
    check->beyond_points = check->beyond_points || drive.beyond_points;
  }
}

ta_status ta_drive_check_make(const ta_prepared *prepared, const ta_profile *profile,
                              ta_drive_check *check) {
  if (prepared == NULL || profile == NULL || check == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  ta_drive_check made = {.checked = event->car.turbo.has_turbine};
  shortfalls s = {.prepared = prepared, .profile = profile};
  double rpm;
  ta_status status = TA_OK;
  if (made.checked) {
    status = find_thresholds(prepared, &made);
    find_expansion(prepared, profile, &made);
    for (size_t i = 0; status == TA_OK && i < profile->count; i++)
      status = shortfall(prepared, profile->elevation_m[i], &s.short_w[i], &rpm);
    if (status == TA_OK) status = find_first(&s, &made);
  }
  if (status == TA_OK) *check = made;
  return status;
}
