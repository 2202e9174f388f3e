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
static const double UNRELIABLE_RESTRICTOR = 0.97; /* share of the choked flow */

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

bool ta_point_is_unreliable(const ta_operating_point *point) {
  return point->zone == TA_SURGE || point->zone == TA_CHOKE || point->zone == TA_UNREACHABLE ||
         (point->zone == TA_EXTRAPOLATED && point->beyond_top_line > UNRELIABLE_BEYOND_TOP) ||
         point->restrictor_share > UNRELIABLE_RESTRICTOR;
}

double ta_alarm_rpm(const ta_prepared *prepared) {
  const double middle = 0.5 * (prepared->limit_rpm + prepared->event->car.turbo.rated_rpm),
               round = 500.0 * floor(middle / 500.0);
  return round > prepared->limit_rpm ? round : middle;
}

/* Would the target as it is set pass the limit, were there no spring to give more? */
static ta_status target_passes(const ta_prepared *prepared, bool *passes) {
  ta_event event = *prepared->event;
  ta_prepared springless = *prepared;
  event.car.control.has_minimum_boost = false;
  springless.event = &event;
  ta_profile *profile = malloc(sizeof *profile);
  if (profile == NULL) return TA_ERR_MEMORY;
  const ta_status status =
      ta_profile_make(&springless, ta_boost_window(&event.car.engine), HUGE_VAL, profile);
  *passes = false;
  for (size_t i = 0; status == TA_OK && i < profile->count; i++)
    *passes = *passes || profile->node[i].shaft_rpm > prepared->limit_rpm;
  free(profile);
  return status;
}

static bool sensor_is_blind(const ta_prepared *prepared) {
  double low, high, low_m, high_m;
  ta_air air;
  ta_prepared_goal_range(prepared, ta_boost_window(&prepared->event->car.engine), &low, &high);
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  return ta_day_air(&prepared->day, low_m, &air) == TA_OK &&
         ta_judged_map(prepared, high, air.pressure_pa) >
             ta_sensor_reach(&prepared->event->car.control);
}

static ta_status judge(const ta_prepared *prepared, ta_plan *plan) {
  const ta_operating_point *worst = &plan->over.worst.point;
  bool *reason = plan->reason, passes = plan->over.count > 0;
  reason[TA_REASON_CANNOT_CAP] = plan->constant.limited_by == TA_BY_MINIMUM_BOOST;
  if (reason[TA_REASON_CANNOT_CAP]) {
    const ta_status status = target_passes(prepared, &passes);
    if (status != TA_OK) return status;
  }
  reason[TA_REASON_CANNOT_HOLD] = plan->drive.cannot_hold;
  reason[TA_REASON_OVER] = passes;
  reason[TA_REASON_RESTRICTOR] = worst->restrictor_share > UNRELIABLE_RESTRICTOR;
  reason[TA_REASON_MAP_SENSOR] = sensor_is_blind(prepared);
  reason[TA_REASON_UNREACHABLE] = worst->zone == TA_UNREACHABLE && worst->restrictor_share < 1.0;
  reason[TA_REASON_FAR_EXTRAPOLATED] =
      worst->zone == TA_EXTRAPOLATED && worst->beyond_top_line > UNRELIABLE_BEYOND_TOP;
  reason[TA_REASON_SURGE] = worst->zone == TA_SURGE;
  reason[TA_REASON_CHOKE] = worst->zone == TA_CHOKE;
  reason[TA_REASON_MAP_ERROR] =
      plan->over.count == 0 && worst->shaft_rpm * (1.0 + plan->map_error) > prepared->limit_rpm;
  reason[TA_REASON_MAP_ERROR_UNKNOWN] = plan->over.count == 0 && !plan->map_error_known;
  reason[TA_REASON_STATIONS_DISAGREE] = prepared->day.stations_disagree;
  reason[TA_REASON_SURGE_IN_WINDOW] = plan->surges_below_rpm > 0.0;
  reason[TA_REASON_COLD_READING] = prepared->day.cold_reading;
  plan->verdict = TA_CLEAR;
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (reason[i]) plan->verdict = TA_UNSURE;
  if (reason[TA_REASON_CANNOT_CAP]) plan->verdict = TA_CANNOT_CAP;
  if (reason[TA_REASON_OVER]) plan->verdict = TA_OVER;
  if (reason[TA_REASON_CANNOT_HOLD]) plan->verdict = TA_CANNOT_HOLD;
  return TA_OK;
}

/* What the target does above the boost window, should it still be held there. */
static ta_status find_redline(const ta_prepared *prepared, ta_plan *plan) {
  const ta_engine *engine = &prepared->event->car.engine;
  plan->has_redline = engine->has_redline && engine->redline_rpm > engine->window_rpm[1];
  if (!plan->has_redline) return TA_OK;
  ta_profile *profile = malloc(sizeof *profile);
  if (profile == NULL) return TA_ERR_MEMORY;
  const ta_speed_range above = {engine->window_rpm[1], engine->redline_rpm};
  ta_status status = ta_profile_make(prepared, above, HUGE_VAL, profile);
  if (status == TA_OK) status = ta_over_find(prepared, profile, &plan->redline);
  free(profile);
  return status;
}

ta_status ta_plan_make(const ta_prepared *prepared, ta_plan *plan) {
  if (prepared == NULL || plan == NULL) return TA_ERR_ARGUMENT;
  memset(plan, 0, sizeof *plan);
  const ta_event *event = prepared->event;
  ta_status status =
      ta_profile_make(prepared, ta_boost_window(&event->car.engine), HUGE_VAL, &plan->profile);
  if (status == TA_OK)
    status =
        ta_worst_in_window(prepared, event->course.point[0].elevation_m, HUGE_VAL, &plan->start);
  for (size_t i = 0; status == TA_OK && i < plan->profile.count; i++) {
    double rpm = 0.0;
    status = ta_surge_in_window(prepared, plan->profile.elevation_m[i], &rpm);
    plan->surges_below_rpm = fmax(plan->surges_below_rpm, rpm);
  }
  if (status == TA_OK) status = ta_over_find(prepared, &plan->profile, &plan->over);
  if (status == TA_OK) status = find_redline(prepared, plan);
  if (status == TA_OK) status = ta_constant_cap_find(prepared, &plan->profile, &plan->constant);
  if (status == TA_OK) status = ta_drive_check_make(prepared, &plan->profile, &plan->drive);
  if (status == TA_OK) status = ta_controller_table_find(prepared, true, &plan->table);
  if (status == TA_OK) status = ta_schedule_find(prepared, &plan->schedule);
  if (status == TA_OK)
    status = ta_positions_find(prepared, &plan->profile, (size_t)event->car.control.positions,
                               &plan->positions);
  if (status == TA_OK) status = ta_shift_speed_find(prepared, &plan->profile, &plan->shift);
  if (status == TA_OK)
    status = map_error_at(&event->car.turbo.compressor, plan->over.worst.point.beyond_top_line,
                          &plan->map_error);
  plan->map_error_known = plan->map_error >= 0.0;
  plan->map_error = fmax(plan->map_error, 0.0);
  if (status == TA_OK) status = judge(prepared, plan);
  if (status != TA_OK) ta_plan_free(plan);
  return status;
}

void ta_plan_free(ta_plan *plan) {
  if (plan == NULL) return;
  ta_over_free(&plan->over);
  ta_over_free(&plan->redline);
  ta_positions_free(&plan->positions);
  ta_controller_table_free(&plan->table);
  memset(plan, 0, sizeof *plan);
}
