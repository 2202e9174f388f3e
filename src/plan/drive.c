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

static const double STAYS_PA = 1000.0, STEP_PA = 4000.0, SETTLED_PA = 1.0, SETTLED_RPM = 1.0;
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

static void set_lane(ta_point_block *block, size_t i, const ta_air *air, double rpm,
                     double map_pa) {
  block->ambient_pressure_pa[i] = air->pressure_pa;
  block->ambient_temperature_k[i] = air->temperature_k;
  block->gas_constant_jkgk[i] = air->gas_constant_jkgk;
  block->engine_rpm[i] = rpm;
  block->map_pa[i] = map_pa;
  block->ram_pa[i] = 0.0;
}

static void solve_excess(const ta_prepared *prepared, const ta_air *air, const double *rpm,
                         const double *map_pa, size_t count, double *excess_w) {
  ta_point_block block = {.count = count};
  for (size_t i = 0; i < count; i++) set_lane(&block, i, air, rpm[i], map_pa[i]);
  ta_points_solve(&prepared->event->car, prepared->map, &block);
  ta_points_excess(&prepared->event->car, &block, excess_w);
}

bool ta_map_is_held(const ta_prepared *prepared, const ta_air *air, double engine_rpm,
                    double map_pa) {
  double excess;
  solve_excess(prepared, air, &engine_rpm, &map_pa, 1, &excess);
  return excess >= 0.0;
}

void ta_highest_held_map(const ta_prepared *prepared, const ta_air *air, const double *rpm,
                         size_t count, const double *highest_map_pa, double *held_pa) {
  double low[TA_LANES], high[TA_LANES], at[TA_LANES], excess[TA_LANES];
  bool stops[TA_LANES] = {false};
  double widest = 0.0;
  for (size_t i = 0; i < count; i++) {
    low[i] = air->pressure_pa;
    high[i] = highest_map_pa[i];
    widest = fmax(widest, high[i] - low[i]);
  }
  /* a shortfall counts when it stays for 1 kPa: a step, and 1 kPa above it */
  const int steps = (int)ceil(widest / STEP_PA);
  for (int step = 1; step <= steps; step++) {
    double above[TA_LANES], excess_above[TA_LANES];
    for (size_t i = 0; i < count; i++) {
      at[i] = air->pressure_pa + (highest_map_pa[i] - air->pressure_pa) * step / steps;
      above[i] = at[i] + STAYS_PA;
    }
    solve_excess(prepared, air, rpm, at, count, excess);
    bool any = false;
    for (size_t i = 0; i < count; i++) any = any || (!stops[i] && excess[i] < 0.0);
    if (any) solve_excess(prepared, air, rpm, above, count, excess_above);
    for (size_t i = 0; i < count; i++) {
      if (stops[i]) continue;
      stops[i] = excess[i] < 0.0 && excess_above[i] < 0.0;
      *(stops[i] ? &high[i] : &low[i]) = at[i];
    }
  }
  for (double wide = STEP_PA; wide > SETTLED_PA; wide *= 0.5) {
    for (size_t i = 0; i < count; i++) at[i] = stops[i] ? 0.5 * (low[i] + high[i]) : high[i];
    solve_excess(prepared, air, rpm, at, count, excess);
    for (size_t i = 0; i < count; i++)
      if (stops[i]) *(excess[i] < 0.0 ? &high[i] : &low[i]) = at[i];
  }
  for (size_t i = 0; i < count; i++) held_pa[i] = stops[i] ? low[i] : highest_map_pa[i];
}

static double goal_map(const ta_prepared *prepared, const ta_air *air, double rpm) {
  return ta_set_point_map(prepared, ta_prepared_goal(prepared, rpm), air->pressure_pa);
}

bool ta_boost_threshold(const ta_prepared *prepared, const ta_air *air, double *engine_rpm) {
  const double *window = prepared->event->car.engine.window_rpm;
  double low = LOWEST_SHARE * window[0], high = window[1];
  double rpm[TA_LANES], map[TA_LANES], excess[TA_LANES];
  bool held = false;
  for (bool first = true; first || (held && high - low > SETTLED_RPM); first = false) {
    for (size_t i = 0; i < TA_LANES; i++) {
      rpm[i] = low + (high - low) * (double)i / (TA_LANES - 1);
      map[i] = goal_map(prepared, air, rpm[i]);
    }
    solve_excess(prepared, air, rpm, map, TA_LANES, excess);
    size_t from = TA_LANES; /* the first lane above which all hold */
    while (from > 0 && excess[from - 1] >= 0.0) from--;
    held = from < TA_LANES;
    if (!held) return false;
    high = rpm[from];
    if (from == 0) break;
    low = rpm[from - 1];
  }
  *engine_rpm = high;
  return true;
}

/* The largest shortfall of power over the window in one air, negative where all is held; and the
 * engine speed of it. */
static double shortfall(const ta_prepared *prepared, const ta_air *air, double *engine_rpm) {
  const ta_speed_range window = ta_boost_window(&prepared->event->car.engine);
  double worst = -HUGE_VAL, rpm[TA_LANES], map[TA_LANES], excess[TA_LANES];
  for (double from = window.low_rpm; isfinite(from);) {
    const size_t count = ta_speeds_in_range(prepared->event, window, &from, rpm);
    for (size_t i = 0; i < count; i++) map[i] = goal_map(prepared, air, rpm[i]);
    solve_excess(prepared, air, rpm, map, count, excess);
    for (size_t i = 0; i < count; i++) {
      if (!(-excess[i] > worst)) continue;
      worst = -excess[i];
      *engine_rpm = rpm[i];
    }
  }
  return worst;
}

static double threshold_at(const ta_prepared *prepared, const ta_air *air) {
  double rpm;
  return ta_boost_threshold(prepared, air, &rpm) ? rpm : (double)INFINITY;
}

ta_status ta_drive_check_make(const ta_prepared *prepared, const ta_profile *profile,
                              ta_drive_check *check) {
  if (prepared == NULL || profile == NULL || check == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  const ta_course *course = &event->course;
  ta_drive_check made = {.checked = event->car.turbo.has_turbine};
  double low_m, high_m;
  ta_air air;
  ta_course_range(course, &low_m, &high_m);
  ta_status status = ta_day_air(&prepared->day, high_m, &air);
  if (status == TA_OK && made.checked) {
    made.start_threshold_rpm = threshold_at(prepared, &prepared->start);
    made.top_threshold_rpm = threshold_at(prepared, &air);
  }
  double short_w[TA_PROFILE_NODES_MAX], rpm = 0.0;
  for (size_t i = 0; status == TA_OK && made.checked && i < profile->count; i++) {
    status = ta_day_air(&prepared->day, profile->elevation_m[i], &air);
    if (status == TA_OK) short_w[i] = shortfall(prepared, &air, &rpm);
  }
  for (size_t i = 0; status == TA_OK && made.checked && i < course->count; i++) {
    const ta_operating_point *below, *above;
    double share;
    ta_profile_between(profile, course->point[i].elevation_m, &below, &above, &share);
    const double a = short_w[below - profile->node], b = short_w[above - profile->node];
    if (!((share < 1.0 && a > 0.0) || (share > 0.0 && b > 0.0))) continue;
    made.cannot_hold = true;
    made.distance_m = course->point[i].distance_m;
    made.elevation_m = course->point[i].elevation_m;
    status = ta_day_air(&prepared->day, made.elevation_m, &air);
    if (status != TA_OK) break;
    (void)shortfall(prepared, &air, &made.engine_rpm);
    const double goal_pa = goal_map(prepared, &air, made.engine_rpm);
    ta_highest_held_map(prepared, &air, &made.engine_rpm, 1, &goal_pa, &made.held_map_pa);
    break;
  }
  if (status == TA_OK) *check = made;
  return status;
}
