/* strategy.h - the ways to run the course: the target, and its caps. */
#ifndef THINAIR_STRATEGY_H
#define THINAIR_STRATEGY_H

#include <stdbool.h>

#include "thinair/caps.h"
#include "thinair/controller_table.h"
#include "thinair/positions.h"
#include "thinair/schedule.h"
#include "thinair/shift_speed.h"

/** The caps of one event, in every form that a controller or a driver takes. */
typedef struct {
  ta_constant_cap constant;
  ta_controller_table table;
  ta_schedule schedule;
  ta_positions positions;
  ta_shift_speed shift;
} ta_cap_set;

void ta_cap_set_free(ta_cap_set *caps);

/* One row per way: symbol, JSON name, words. */
#define TA_STRATEGY_ROWS(X)                                \
  X(TA_FULL_TARGET, "target", "full target")               \
  X(TA_BY_TABLE, "table", "table, ambient x engine speed") \
  X(TA_BY_AMBIENT, "schedule", "by ambient pressure only") \
  X(TA_BY_POSITION, "positions", "positions of a knob")    \
  X(TA_ONE_CAP, "constant", "one cap for the whole run")   \
  X(TA_EARLY_SHIFT, "shift_speed", "full target, shifted earlier")

typedef enum {
#define X(symbol, name, words) symbol,
  TA_STRATEGY_ROWS(X)
#undef X
      TA_STRATEGY_COUNT
} ta_strategy;

const char *ta_strategy_name(ta_strategy strategy);  /* "schedule" */
const char *ta_strategy_words(ta_strategy strategy); /* "by ambient pressure" */

/** Is it offered?  The target always; the others where the limit asks for a cap and they
 *  give one. */
bool ta_strategy_offered(const ta_cap_set *caps, ta_strategy strategy);

/** Highest set-point that it lets through at a place and an engine speed; HUGE_VAL: the goal's own. */
double ta_strategy_cap(const ta_prepared *prepared, const ta_cap_set *caps, ta_strategy strategy,
                       double distance_m, double ambient_pa, double engine_rpm);

/** Does the compressor map vouch for the caps: is the tightest point of the one for the whole run no
 *  unreliable one? */
bool ta_caps_are_vouched(const ta_cap_set *caps);

/** Engine speeds that it is judged at. */
ta_speed_range ta_strategy_speeds(const ta_prepared *prepared, const ta_cap_set *caps,
                                  ta_strategy strategy);

/** Power of the engine at a cap, overshoot not on, in the air and at the engine speed of a point. */
double ta_cap_power(const ta_prepared *prepared, double set_point, const ta_operating_point *at);

/** MAP that a set-point asks the turbine for: overshoot not on, no less than the wastegate's spring
 *  gives, no less than ambient. */
double ta_asked_map(const ta_prepared *prepared, double set_point, double ambient_pa);

/**
 * What the engine really gets of set-points in one air: what ta_asked_map asks for, no more than the
 * turbine drives, no less than ambient.
 *
 * @param[in]  ram_pa   Of the driving wind at the intake.
 * @param[in]  rpm, set_point   [count], at most TA_LANES.
 * @param[out] map_pa, power_w  [count]; power 0 where the compressor map can name no point.
 */
void ta_full_load_at(const ta_prepared *prepared, const ta_air *air, double ram_pa,
                     const double *rpm, const double *set_point, size_t count, double *map_pa,
                     double *power_w);

/** The same under a strategy at a place. */
void ta_strategy_full_load(const ta_prepared *prepared, const ta_cap_set *caps,
                           ta_strategy strategy, double distance_m, const ta_air *air,
                           double ram_pa, const double *rpm, size_t count, double *map_pa,
                           double *power_w);

#endif
