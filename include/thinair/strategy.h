/* strategy.h - the ways to run the course that a plan offers. */
#ifndef THINAIR_STRATEGY_H
#define THINAIR_STRATEGY_H

#include <stdbool.h>

#include "thinair/plan.h"

/* One row per way: symbol, JSON name, words. */
#define TA_STRATEGY_ROWS(X)                              \
  X(TA_FULL_TARGET, "target", "full target")             \
  X(TA_BY_AMBIENT, "schedule", "by ambient pressure")    \
  X(TA_BY_POSITION, "positions", "positions of a knob")  \
  X(TA_ONE_CAP, "constant", "one cap for the whole run") \
  X(TA_EARLY_SHIFT, "shift_speed", "full target, shifted earlier")

typedef enum {
#define X(symbol, name, words) symbol,
  TA_STRATEGY_ROWS(X)
#undef X
      TA_STRATEGY_COUNT
} ta_strategy;

const char *ta_strategy_name(ta_strategy strategy);  /* "schedule" */
const char *ta_strategy_words(ta_strategy strategy); /* "by ambient pressure" */

/** Does the plan offer it?  The target always; the others where the limit asks for a cap and they
 *  give one. */
bool ta_strategy_offered(const ta_plan *plan, ta_strategy strategy);

/** Highest set-point that it lets through at a place; HUGE_VAL: the goal's own. */
double ta_strategy_cap(const ta_plan *plan, ta_strategy strategy, double distance_m,
                       double ambient_pa);

/** Engine speeds that it runs the boost window over. */
ta_speed_range ta_strategy_speeds(const ta_prepared *prepared, const ta_plan *plan,
                                  ta_strategy strategy);

#endif
