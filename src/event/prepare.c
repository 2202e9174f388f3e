/* prepare.c - from the event as read to what the solver needs. */
#include "thinair/prepare.h"

#include <math.h>
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

void ta_prepared_goal_range(const ta_prepared *prepared, double *low_pa, double *high_pa) {
  const ta_goal *goal = &prepared->event->goal;
  const double *window = prepared->event->car.engine.window_rpm;
  double low = ta_prepared_goal(prepared, window[0]), high = low;
  for (size_t i = 0; i <= goal->point_count; i++) { /* the breakpoints inside, and the other end */
    const double rpm = i < goal->point_count ? goal->point[i].engine_rpm : window[1];
    if (rpm < window[0] || rpm > window[1]) continue;
    low = fmin(low, ta_prepared_goal(prepared, rpm));
    high = fmax(high, ta_prepared_goal(prepared, rpm));
  }
  *low_pa = low;
  *high_pa = high;
}
