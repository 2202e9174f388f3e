/* plan_gist.c - the few figures of a plan by which two plans are compared. */
#include "thinair/plan_gist.h"

#include <stdio.h>

void ta_plan_gist_of(const ta_prepared *prepared, const ta_plan *plan, ta_plan_gist *gist) {
  const ta_over *over = &plan->over;
  const ta_constant_cap *cap = &plan->caps.constant;
  *gist = (ta_plan_gist){
      .verdict = plan->verdict,
      .limit_rpm = prepared->limit_rpm,
      .start_pressure_pa = prepared->start.pressure_pa,
      .start_temperature_k = prepared->start.temperature_k,
      .worst_shaft_rpm = over->worst.point.shaft_rpm,
      .worst_map_pa = over->worst.point.map_pa,
      .passes = over->count > 0,
      .has_cap = cap->can_be_had,
      .cap_map_pa = ta_set_point_map(prepared, cap->set_point, prepared->start.pressure_pa),
      .limited_by = cap->limited_by,
      .cap_time_s = plan->runs.time_s[TA_ONE_CAP]};
  if (!gist->passes) return;
  gist->first_distance_m = over->first.distance_m;
  gist->first_elevation_m = over->first.elevation_m;
  const ta_course_point *mark =
      ta_course_nearest_mark(&prepared->event->course, over->first.distance_m);
  if (mark != NULL) (void)snprintf(gist->first_mark, sizeof gist->first_mark, "%s", mark->mark);
}
