/* strategy.c - the ways to run the course that a plan offers. */
#include "thinair/strategy.h"

#include <math.h>

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

bool ta_strategy_offered(const ta_plan *plan, ta_strategy strategy) {
  const bool capped = plan->constant.limited_by != TA_BY_GOAL;
  switch (strategy) {
    case TA_FULL_TARGET:
      return true;
    case TA_BY_AMBIENT:
      return capped && schedule_can_be_had(&plan->schedule);
    case TA_BY_POSITION:
      return capped && positions_can_be_had(&plan->positions);
    case TA_ONE_CAP:
      return capped && plan->constant.can_be_had;
    default: /* TA_EARLY_SHIFT */
      return capped && !plan->shift.none && !plan->shift.whole_window;
  }
}

static double schedule_cap(const ta_schedule *schedule, double ambient_pa) {
  const ta_schedule_row *row = schedule->row; /* from the highest pressure down */
  if (ambient_pa >= row[0].ambient_pa) return row[0].set_point;
  for (size_t i = 1; i < schedule->count; i++) {
    const double share =
        (row[i - 1].ambient_pa - ambient_pa) / (row[i - 1].ambient_pa - row[i].ambient_pa);
    if (share <= 1.0)
      return row[i - 1].set_point + share * (row[i].set_point - row[i - 1].set_point);
  }
  return row[schedule->count - 1].set_point;
}

double ta_strategy_cap(const ta_plan *plan, ta_strategy strategy, double distance_m,
                       double ambient_pa) {
  const ta_positions *positions = &plan->positions;
  size_t i = 0;
  switch (strategy) {
    case TA_BY_AMBIENT:
      return schedule_cap(&plan->schedule, ambient_pa);
    case TA_BY_POSITION:
      while (i + 1 < positions->count && positions->position[i + 1].from_distance_m <= distance_m)
        i++;
      return positions->position[i].cap.set_point;
    case TA_ONE_CAP:
      return plan->constant.set_point;
    default:
      return HUGE_VAL;
  }
}

ta_speed_range ta_strategy_speeds(const ta_prepared *prepared, const ta_plan *plan,
                                  ta_strategy strategy) {
  ta_speed_range range = ta_boost_window(&prepared->event->car.engine);
  if (strategy == TA_EARLY_SHIFT) range.high_rpm = plan->shift.engine_rpm;
  return range;
}
