/* prepare.c - from the event as read to what the solver needs. */
#include "thinair/prepare.h"

#include <string.h>

ta_status ta_prepare(const ta_event *event, ta_prepared *prepared) {
  if (event == NULL || prepared == NULL) return TA_ERR_ARGUMENT;
  memset(prepared, 0, sizeof *prepared);
  ta_prepared made = {.event = event,
                      .limit_rpm = event->car.turbo.rated_rpm * (1.0 - event->goal.margin)};
  ta_status status = ta_day_build(&event->day, &made.day, NULL);
  const double start_m =
      event->is_cut ? event->start_elevation_m : event->course.point[0].elevation_m;
  if (status == TA_OK) status = ta_day_air(&made.day, start_m, &made.start);
  if (status == TA_OK)
    status = ta_compressor_map_create(event->car.turbo.compressor.line,
                                      event->car.turbo.compressor.line_count, &made.map);
  if (status == TA_OK) *prepared = made;
  return status;
}

void ta_prepared_free(ta_prepared *prepared) {
  if (prepared == NULL) return;
  ta_compressor_map_free(prepared->map);
  memset(prepared, 0, sizeof *prepared);
}

double ta_prepared_goal(const ta_prepared *prepared, double engine_rpm) {
  return ta_goal_map(&prepared->event->goal, prepared->start.pressure_pa, engine_rpm);
}
