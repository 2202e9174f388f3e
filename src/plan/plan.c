/* plan.c - the main job put together, and its verdict.
 *
 * Decision  "clear" is earned: a worst point that the compressor map cannot vouch for, or that is
 *           nearer to the limit than the map's own error, is "unsure".
 */
#include "thinair/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LEVER_SPACING_M = 8.0; /* runs that are compared need no more */
static const double ALARM_STEP_RPM = 500.0;
static const double UNRELIABLE_RESTRICTOR = 0.97; /* share of the choked flow */

static const char *const names[] = {
#define X(symbol, name) [symbol] = name,
    TA_VERDICT_ROWS(X)
#undef X
};

const char *ta_verdict_name(ta_verdict verdict) {
  return (unsigned)verdict < TA_VERDICT_COUNT ? names[verdict] : "?";
}

ta_status ta_map_error_find(const ta_compressor *compressor, ta_map_error *error) {
  if (compressor == NULL || error == NULL) return TA_ERR_ARGUMENT;
  double *rms = malloc(compressor->line_count * sizeof *rms);
  if (rms == NULL) return TA_ERR_MEMORY;
  const ta_status status =
      ta_compressor_map_leave_one_out(compressor->line, compressor->line_count, rms);
  if (status == TA_OK) {
    const size_t top = compressor->line_count - 1;
    *error = (ta_map_error){-1.0, rms[top]};
    for (size_t i = 0; i < top; i++) error->inside = fmax(error->inside, rms[i]);
  }
  free(rms);
  return status;
}

double ta_map_error_at(const ta_map_error *error, const ta_operating_point *point) {
  return point->beyond_top_line > 0.0 ? error->beyond_top_line : error->inside;
}

bool ta_point_is_unreliable(const ta_operating_point *point) {
  return point->zone == TA_SURGE || point->zone == TA_CHOKE || point->zone == TA_UNREACHABLE ||
         (point->zone == TA_EXTRAPOLATED && point->beyond_top_line > TA_UNRELIABLE_BEYOND_TOP) ||
         point->restrictor_share > UNRELIABLE_RESTRICTOR;
}

double ta_alarm_rpm(const ta_prepared *prepared) {
  const double middle = 0.5 * (prepared->limit_rpm + prepared->event->car.turbo.rated_rpm),
               round = ALARM_STEP_RPM * floor(middle / ALARM_STEP_RPM);
  return round > prepared->limit_rpm ? round : floor(middle);
}

bool ta_alarm_has_room(const ta_prepared *prepared) {
  /* less, and a step down from the middle may be at the limit */
  return prepared->event->car.turbo.rated_rpm - prepared->limit_rpm >= 2.0 * ALARM_STEP_RPM;
}

/* Would the target as it is set pass the limit, were there no spring to give more? */
static ta_status target_passes(const ta_prepared *prepared, bool *passes) {
  ta_event event;
  const ta_prepared springless = ta_prepared_without_spring(prepared, &event);
  ta_profile *profile = malloc(sizeof *profile);
  if (profile == NULL) return TA_ERR_MEMORY;
  const ta_status status =
      ta_profile_make(&springless, ta_judged_speeds(&event.car), HUGE_VAL, profile);
  *passes = false;
  for (size_t i = 0; status == TA_OK && i < profile->count; i++)
    *passes = *passes || profile->node[i].shaft_rpm > prepared->limit_rpm;
  free(profile);
  return status;
}

bool ta_sensor_is_blind(const ta_prepared *prepared, double ambient_pa) {
  double low, high;
  ta_prepared_goal_range(prepared, ta_judged_speeds(&prepared->event->car), &low, &high);
  return ta_judged_map(prepared, high, ambient_pa) > ta_sensor_reach(&prepared->event->car.control);
}

/* Where the air of the course is densest. */
static bool sensor_is_blind(const ta_prepared *prepared) {
  double low_m, high_m;
  ta_air air;
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  return ta_day_air(&prepared->day, low_m, &air) == TA_OK &&
         ta_sensor_is_blind(prepared, air.pressure_pa);
}

void ta_point_reasons(const ta_operating_point *worst, double limit_rpm, double map_error,
                      double surges_below_rpm, bool over, bool reason[TA_REASON_COUNT]) {
  reason[TA_REASON_RESTRICTOR] = worst->restrictor_share > UNRELIABLE_RESTRICTOR;
  reason[TA_REASON_UNREACHABLE] = worst->zone == TA_UNREACHABLE && worst->restrictor_share < 1.0;
  reason[TA_REASON_FAR_EXTRAPOLATED] =
      worst->zone == TA_EXTRAPOLATED && worst->beyond_top_line > TA_UNRELIABLE_BEYOND_TOP;
  reason[TA_REASON_SURGE] = worst->zone == TA_SURGE;
  reason[TA_REASON_CHOKE] = worst->zone == TA_CHOKE;
  reason[TA_REASON_MAP_ERROR] =
      !over && worst->shaft_rpm * (1.0 + fmax(map_error, 0.0)) > limit_rpm;
  reason[TA_REASON_MAP_ERROR_UNKNOWN] = !over && map_error < 0.0;
  reason[TA_REASON_SURGE_IN_WINDOW] = surges_below_rpm > 0.0;
}

ta_verdict ta_verdict_of(const bool reason[TA_REASON_COUNT]) {
  if (reason[TA_REASON_CANNOT_HOLD]) return TA_CANNOT_HOLD;
  if (reason[TA_REASON_OVER]) return TA_OVER;
  if (reason[TA_REASON_CANNOT_CAP]) return TA_CANNOT_CAP;
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (reason[i]) return TA_UNSURE;
  return TA_CLEAR;
}

static ta_status judge(const ta_prepared *prepared, ta_plan *plan) {
  bool *reason = plan->reason, passes = plan->over.count > 0;
  reason[TA_REASON_CANNOT_CAP] = plan->caps.constant.limited_by == TA_BY_MINIMUM_BOOST;
  if (reason[TA_REASON_CANNOT_CAP]) {
    const ta_status status = target_passes(prepared, &passes);
    if (status != TA_OK) return status;
  }
  reason[TA_REASON_CANNOT_HOLD] = plan->drive.cannot_hold;
  reason[TA_REASON_OVER] = passes;
  reason[TA_REASON_MAP_SENSOR] = sensor_is_blind(prepared);
  ta_point_reasons(&plan->over.worst.point, prepared->limit_rpm,
                   plan->map_error_known ? plan->map_error : -1.0, plan->surges_below_rpm,
                   plan->over.count > 0, reason);
  reason[TA_REASON_STATIONS_DISAGREE] = prepared->day.stations_disagree;
  reason[TA_REASON_COLD_READING] = prepared->day.cold_reading;
  plan->verdict = ta_verdict_of(reason);
  return TA_OK;
}

/* What the target does above the speeds that are judged, should it still be held there. */
static ta_status find_redline(const ta_prepared *prepared, ta_plan *plan) {
  const ta_engine *engine = &prepared->event->car.engine;
  const double top_rpm = ta_judged_speeds(&prepared->event->car).high_rpm;
  plan->has_redline = engine->has_redline && engine->redline_rpm > top_rpm;
  if (!plan->has_redline) return TA_OK;
  ta_profile *profile = malloc(sizeof *profile);
  if (profile == NULL) return TA_ERR_MEMORY;
  const ta_speed_range above = {top_rpm, engine->redline_rpm};
  ta_status status = ta_profile_make(prepared, above, HUGE_VAL, profile);
  if (status == TA_OK) status = ta_over_find(prepared, profile, &plan->redline);
  free(profile);
  return status;
}

static ta_status pull_levers(const ta_prepared *prepared, ta_plan *plan) {
  const ta_placed_point *at = &plan->caps.constant.tightest;
  if (plan->runs.known != TA_TIME_KNOWN) return ta_levers_make(prepared, at, NULL, &plan->levers);
  ta_course thin;
  ta_road road;
  ta_status status = ta_course_thin(&prepared->event->course, LEVER_SPACING_M, &thin);
  if (status != TA_OK) return status;
  status = ta_road_make(&thin, TA_CORNER_LENGTH_M, &road);
  if (status == TA_OK) {
    status = ta_levers_make(prepared, at, &road, &plan->levers);
    ta_road_free(&road);
  }
  free(thin.point);
  return status;
}

/* Parts of a plan that need only the profile, and nothing of each other. */
typedef ta_status (*part)(const ta_prepared *prepared, ta_plan *plan);

static ta_status find_start(const ta_prepared *prepared, ta_plan *plan) {
  return ta_worst_in_window(prepared, prepared->event->course.point[0].elevation_m, HUGE_VAL,
                            &plan->start);
}

static ta_status look_over_windows(const ta_prepared *prepared, ta_plan *plan) {
  for (size_t i = 0; i < plan->profile.count; i++) {
    ta_window_look look;
    const ta_status status = ta_look_over_window(prepared, plan->profile.elevation_m[i], &look);
    if (status != TA_OK) return status;
    plan->surges_below_rpm = fmax(plan->surges_below_rpm, look.surges_below_rpm);
    if (!(look.outlet_temperature_k > plan->hottest.outlet_temperature_k)) continue;
    plan->hottest.outlet_temperature_k = look.outlet_temperature_k;
    plan->hottest.engine_rpm = look.hottest_rpm;
    plan->hottest.elevation_m = plan->profile.elevation_m[i];
  }
  return TA_OK;
}

static ta_status find_over(const ta_prepared *prepared, ta_plan *plan) {
  return ta_over_find(prepared, &plan->profile, &plan->over);
}

static ta_status find_drive(const ta_prepared *prepared, ta_plan *plan) {
  return ta_drive_check_make(prepared, &plan->profile, &plan->drive);
}

static ta_status find_map_error(const ta_prepared *prepared, ta_plan *plan) {
  const ta_operating_point *highest = &plan->profile.node[0];
  for (size_t i = 1; i < plan->profile.count; i++)
    if (plan->profile.node[i].beyond_top_line > highest->beyond_top_line)
      highest = &plan->profile.node[i];
  ta_map_error error;
  const ta_status status = ta_map_error_find(&prepared->event->car.turbo.compressor, &error);
  if (status == TA_OK) plan->map_error = ta_map_error_at(&error, highest);
  return status;
}

static ta_status find_table(const ta_prepared *prepared, ta_plan *plan) {
  return ta_controller_table_find(prepared, true, &plan->caps.table);
}

static ta_status find_schedule(const ta_prepared *prepared, ta_plan *plan) {
  return ta_schedule_find(prepared, &plan->caps.schedule);
}

static ta_status find_other_caps(const ta_prepared *prepared, ta_plan *plan) {
  ta_cap_set *caps = &plan->caps;
  const size_t positions = (size_t)prepared->event->car.control.positions;
  ta_status status = ta_constant_cap_find(prepared, &plan->profile, &caps->constant);
  if (status == TA_OK)
    status = ta_positions_find(prepared, &plan->profile, positions, &caps->positions);
  if (status == TA_OK) status = ta_shift_speed_find(prepared, &plan->profile, &caps->shift);
  return status;
}

ta_status ta_plan_make(const ta_prepared *prepared, ta_plan *plan) {
  static const part parts[] = {find_table,      find_schedule,     find_map_error,
                               find_other_caps, find_redline,      find_drive,
                               find_over,       look_over_windows, find_start};
  enum { PARTS = sizeof parts / sizeof parts[0] };
  if (prepared == NULL || plan == NULL) return TA_ERR_ARGUMENT;
  memset(plan, 0, sizeof *plan);
  ta_status status =
      ta_profile_make(prepared, ta_judged_speeds(&prepared->event->car), HUGE_VAL, &plan->profile);
  ta_status each[PARTS] = {TA_OK};
  if (status == TA_OK) {
#pragma omp parallel for schedule(dynamic)
    for (size_t i = 0; i < PARTS; i++) each[i] = parts[i](prepared, plan);
  }
  for (size_t i = 0; status == TA_OK && i < PARTS; i++) status = each[i];
  if (status == TA_OK) status = ta_timed_runs_make(prepared, &plan->caps, &plan->runs);
  if (status == TA_OK) status = ta_over_add_run(prepared, &plan->profile, &plan->runs, &plan->over);
  if (status == TA_OK) status = pull_levers(prepared, plan);
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
  ta_cap_set_free(&plan->caps);
  ta_timed_runs_free(&plan->runs);
  memset(plan, 0, sizeof *plan);
}
