/* strategy.c - the ways to run the course: the target, and its caps. */
#include "thinair/strategy.h"

#include <math.h>
#include <string.h>

#include "thinair/drive.h"
#include "thinair/plan.h"

static const double ABOVE_HELD_PA = 1e3;

static const struct {
  const char *name, *words;
} rows[] = {
#define X(symbol, name, words) [symbol] = {name, words},
    TA_STRATEGY_ROWS(X)
#undef X
};

const char *ta_strategy_name(ta_strategy strategy) {
  return (unsigned)strategy < TA_STRATEGY_COUNT ? rows[strategy].name : "?";
}

const char *ta_strategy_words(ta_strategy strategy) {
  return (unsigned)strategy < TA_STRATEGY_COUNT ? rows[strategy].words : "?";
}

void ta_cap_set_free(ta_cap_set *caps) {
  if (caps == NULL) return;
  ta_positions_free(&caps->positions);
  ta_controller_table_free(&caps->table);
  memset(caps, 0, sizeof *caps);
}

static bool schedule_can_be_had(const ta_schedule *schedule) {
  for (size_t i = 0; i < schedule->count; i++)
    if (!schedule->row[i].cap.can_be_had) return false;
  return schedule->count > 0;
}

static bool positions_can_be_had(const ta_positions *positions) {
  for (size_t i = 0; i < positions->count; i++)
    if (!positions->position[i].cap.can_be_had) return false;
  return positions->count > 1; /* one position is the one cap */
}

bool ta_strategy_offered(const ta_cap_set *caps, ta_strategy strategy) {
  const bool capped = caps->constant.limited_by != TA_BY_GOAL;
  switch (strategy) {
    case TA_FULL_TARGET:
      return true;
    case TA_BY_TABLE:
      return capped && caps->table.set_point != NULL && caps->table.can_be_had;
    case TA_BY_AMBIENT:
      return capped && schedule_can_be_had(&caps->schedule);
    case TA_BY_POSITION:
      return capped && positions_can_be_had(&caps->positions);
    case TA_ONE_CAP:
      return capped && caps->constant.can_be_had;
    default: /* TA_EARLY_SHIFT */
      return capped && !caps->shift.none && !caps->shift.whole_window;
  }
}

bool ta_caps_are_vouched(const ta_cap_set *caps) {
  return caps->constant.limited_by == TA_BY_GOAL ||
         !ta_point_is_unreliable(&caps->constant.tightest.point);
}

double ta_strategy_cap(const ta_prepared *prepared, const ta_cap_set *caps, ta_strategy strategy,
                       double distance_m, double ambient_pa, double engine_rpm) {
  const ta_positions *positions = &caps->positions;
  size_t i = 0;
  switch (strategy) {
    case TA_BY_TABLE:
      return ta_controller_table_read(prepared, &caps->table, ambient_pa, engine_rpm);
    case TA_BY_AMBIENT:
      return ta_schedule_read(prepared, &caps->schedule, ambient_pa);
    case TA_BY_POSITION:
      while (i + 1 < positions->count && positions->position[i + 1].from_distance_m <= distance_m)
        i++;
      return positions->position[i].cap.set_point;
    case TA_ONE_CAP:
      return caps->constant.set_point;
    default:
      return HUGE_VAL;
  }
}

double ta_asked_map(const ta_prepared *prepared, double set_point, double ambient_pa) {
  const ta_control *control = &prepared->event->car.control;
  const double spring_pa = control->has_minimum_boost ? control->minimum_boost_pa : 0.0;
  return fmax(ta_set_point_map(prepared, set_point, ambient_pa),
              ambient_pa * (1.0 + 1e-9) + spring_pa);
}

void ta_full_load_at(const ta_prepared *prepared, const ta_air *air, double ram_pa,
                     const double *rpm, const double *set_point, size_t count, double *map_pa,
                     double *power_w) {
  const ta_car *car = &prepared->event->car;
  double left_over_w[TA_LANES];
  ta_point_block block = {.count = count};
  for (size_t i = 0; i < count; i++)
    ta_point_block_set(&block, i, air, rpm[i],
                       ta_asked_map(prepared, set_point[i], air->pressure_pa), ram_pa);
  ta_points_solve(car, prepared->map, &block);
  if (car->turbo.has_turbine) {
    /* the lanes that it cannot drive come down together */
    double short_rpm[TA_LANES], asked_pa[TA_LANES], held_pa[TA_LANES];
    size_t lane[TA_LANES], short_count = 0;
    ta_points_excess(car, &block, left_over_w);
    for (size_t i = 0; i < count; i++) {
      if (left_over_w[i] >= 0.0) continue;
      lane[short_count] = i;
      short_rpm[short_count] = rpm[i];
      asked_pa[short_count++] = block.map_pa[i];
    }
    ta_highest_held_map(prepared, air, short_rpm, short_count, asked_pa, held_pa);
    /* where the compressor map ends before the turbine is short, nobody knows what it holds */
    ta_point_block above = {.count = short_count};
    for (size_t k = 0; k < short_count; k++)
      ta_point_block_set(&above, k, air, short_rpm[k], held_pa[k] + ABOVE_HELD_PA, ram_pa);
    ta_points_solve(car, prepared->map, &above);
    for (size_t k = 0; k < short_count; k++)
      if (above.zone[k] != TA_UNREACHABLE)
        block.map_pa[lane[k]] = fmax(held_pa[k], air->pressure_pa * (1.0 + 1e-9));
    if (short_count > 0) ta_points_solve(car, prepared->map, &block);
  }
  for (size_t i = 0; i < count; i++) {
    map_pa[i] = block.map_pa[i];
    power_w[i] = block.zone[i] == TA_UNREACHABLE
                     ? 0.0
                     : ta_engine_power(&car->engine, block.air_flow_kg_s[i], air->mixing_ratio);
  }
}

double ta_cap_power(const ta_prepared *prepared, double set_point, const ta_operating_point *at) {
  double map_pa, power_w;
  ta_full_load_at(prepared, &at->ambient, 0.0, &at->engine_rpm, &set_point, 1, &map_pa, &power_w);
  return power_w;
}

void ta_strategy_full_load(const ta_prepared *prepared, const ta_cap_set *caps,
                           ta_strategy strategy, double distance_m, const ta_air *air,
                           double ram_pa, const double *rpm, size_t count, double *map_pa,
                           double *power_w) {
  double set_point[TA_LANES];
  for (size_t i = 0; i < count; i++)
    set_point[i] =
        fmin(ta_prepared_goal(prepared, rpm[i]),
             ta_strategy_cap(prepared, caps, strategy, distance_m, air->pressure_pa, rpm[i]));
  ta_full_load_at(prepared, air, ram_pa, rpm, set_point, count, map_pa, power_w);
}

ta_speed_range ta_strategy_speeds(const ta_prepared *prepared, const ta_cap_set *caps,
                                  ta_strategy strategy) {
  ta_speed_range range = ta_judged_speeds(&prepared->event->car);
  if (strategy == TA_EARLY_SHIFT) range.high_rpm = caps->shift.engine_rpm;
  return range;
}
