/* plan.c - the main job put together, and its verdict.
 *
 * Decision  "clear" is earned: a worst point that the compressor map cannot vouch for, or that is
 *           nearer to the limit than the map's own error, is "unsure".
 */
#include "thinair/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double UNRELIABLE_BEYOND_TOP = 0.10;

static const char *const names[] = {
#define X(symbol, name) [symbol] = name,
    TA_VERDICT_ROWS(X)
#undef X
};

const char *ta_verdict_name(ta_verdict verdict) {
  return (unsigned)verdict < TA_VERDICT_COUNT ? names[verdict] : "?";
}

/* How far off the map has shown itself to be, where the point lies: the top line left out and
 * predicted for a point above it, the worst of the other lines for one below it; -1: not known. */
static ta_status map_error_at(const ta_compressor *compressor, double beyond_top_line,
                              double *error) {
  double *rms = malloc(compressor->line_count * sizeof *rms);
  if (rms == NULL) return TA_ERR_MEMORY;
  const ta_status status =
      ta_compressor_map_leave_one_out(compressor->line, compressor->line_count, rms);
  *error = -1.0;
  if (status == TA_OK) {
    const size_t top = compressor->line_count - 1;
    if (beyond_top_line > 0.0)
      *error = rms[top];
    else
      for (size_t i = 0; i < top; i++) *error = fmax(*error, rms[i]);
  }
  free(rms);
  return status;
}

static void judge(const ta_prepared *prepared, ta_plan *plan) {
  const ta_operating_point *worst = &plan->over.worst.point;
  bool *reason = plan->reason;
  reason[TA_REASON_OVER] = plan->over.count > 0;
  reason[TA_REASON_UNREACHABLE] = worst->zone == TA_UNREACHABLE;
  reason[TA_REASON_FAR_EXTRAPOLATED] =
      worst->zone == TA_EXTRAPOLATED && worst->beyond_top_line > UNRELIABLE_BEYOND_TOP;
  reason[TA_REASON_SURGE] = worst->zone == TA_SURGE;
  reason[TA_REASON_CHOKE] = worst->zone == TA_CHOKE;
  reason[TA_REASON_MAP_ERROR] =
      !reason[TA_REASON_OVER] && worst->shaft_rpm * (1.0 + plan->map_error) > prepared->limit_rpm;
  reason[TA_REASON_MAP_ERROR_UNKNOWN] = !reason[TA_REASON_OVER] && !plan->map_error_known;
  reason[TA_REASON_STATIONS_DISAGREE] = prepared->day.stations_disagree;
  reason[TA_REASON_SURGE_IN_WINDOW] = plan->surges_below_rpm > 0.0;
  reason[TA_REASON_COLD_READING] = prepared->day.cold_reading;
  plan->verdict = TA_CLEAR;
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (reason[i]) plan->verdict = TA_UNSURE;
  if (reason[TA_REASON_OVER]) plan->verdict = TA_OVER;
}

ta_status ta_plan_make(const ta_prepared *prepared, ta_plan *plan) {
  if (prepared == NULL || plan == NULL) return TA_ERR_ARGUMENT;
  memset(plan, 0, sizeof *plan);
  const ta_event *event = prepared->event;
  ta_status status = ta_profile_make(prepared, HUGE_VAL, &plan->profile);
  if (status == TA_OK)
    status =
        ta_worst_in_window(prepared, event->course.point[0].elevation_m, HUGE_VAL, &plan->start);
  for (size_t i = 0; status == TA_OK && i < plan->profile.count; i++) {
    double rpm = 0.0;
    status =
        ta_surge_in_window(prepared, plan->profile.low_m + (double)i * plan->profile.step_m, &rpm);
    plan->surges_below_rpm = fmax(plan->surges_below_rpm, rpm);
  }
  if (status == TA_OK) status = ta_over_find(prepared, &plan->profile, &plan->over);
  if (status == TA_OK) status = ta_constant_cap_find(prepared, &plan->over, &plan->constant);
  if (status == TA_OK)
    status = map_error_at(&event->car.turbo.compressor, plan->over.worst.point.beyond_top_line,
                          &plan->map_error);
  plan->map_error_known = plan->map_error >= 0.0;
  plan->map_error = fmax(plan->map_error, 0.0);
  if (status == TA_OK)
    judge(prepared, plan);
  else
    ta_plan_free(plan);
  return status;
}

void ta_plan_free(ta_plan *plan) {
  if (plan == NULL) return;
  ta_over_free(&plan->over);
  memset(plan, 0, sizeof *plan);
}
