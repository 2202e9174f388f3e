/* prepare.c - from the event as read to what the solver needs. */
#include "thinair/prepare.h"

#include <math.h>
#include <string.h>

#include "thinair/access.h"

static const double SENSOR_REACH = 0.98; /* of full scale */

/* The air at the start and where the barometer is read. */
static ta_status see_air(ta_prepared *prepared) {
  const ta_event *event = prepared->event;
  const double start_m =
      event->is_cut ? event->start_elevation_m : event->course.point[0].elevation_m;
  ta_status status = ta_day_air(&prepared->day, start_m, &prepared->start);
  ta_air read = prepared->start;
  if (status == TA_OK && event->car.control.has_barometer_read_at)
    status = ta_day_air(&prepared->day, event->car.control.barometer_read_at_m, &read);
  prepared->read_pa = read.pressure_pa;
  return status;
}

/* The base's day and map stand for what is not touched; base is NULL where all is. */
static ta_status prepare(const ta_prepared *base, const ta_event *event, unsigned touches,
                         ta_prepared *prepared) {
  const bool new_map = (touches & TA_TOUCHES_COMPRESSOR_MAP) != 0;
  memset(prepared, 0, sizeof *prepared);
  ta_prepared made = {.event = event,
                      .limit_rpm = event->car.turbo.rated_rpm * (1.0 - event->goal.margin)};
  ta_status status = TA_OK;
  if ((touches & TA_TOUCHES_DAY) != 0)
    status = ta_day_build(&event->day, &made.day, NULL);
  else
    made.day = base->day;
  if (status == TA_OK) status = see_air(&made);
  if (status == TA_OK && new_map)
    status = ta_compressor_map_create(event->car.turbo.compressor.line,
                                      event->car.turbo.compressor.line_count, &made.map);
  if (!new_map) made.map = base->map;
  made.map_is_borrowed = !new_map;
  if (status == TA_OK) *prepared = made;
  return status;
}

ta_status ta_prepare(const ta_event *event, ta_prepared *prepared) {
  if (event == NULL || prepared == NULL) return TA_ERR_ARGUMENT;
  return prepare(NULL, event, TA_TOUCHES_ALL, prepared);
}

ta_status ta_prepare_again(const ta_prepared *base, const ta_event *fork, unsigned touches,
                           ta_prepared *prepared) {
  if (base == NULL || fork == NULL || prepared == NULL) return TA_ERR_ARGUMENT;
  return prepare(base, fork, touches, prepared);
}

ta_prepared ta_prepared_without_spring(const ta_prepared *prepared, ta_event *event) {
  ta_prepared springless = *prepared;
  *event = *prepared->event;
  event->car.control.has_minimum_boost = false;
  springless.event = event;
  return springless;
}

void ta_prepared_free(ta_prepared *prepared) {
  if (prepared == NULL) return;
  if (!prepared->map_is_borrowed) ta_compressor_map_free(prepared->map);
  memset(prepared, 0, sizeof *prepared);
}

double ta_prepared_goal(const ta_prepared *prepared, double engine_rpm) {
  const bool key_on = prepared->event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON;
  const double seen_pa = key_on ? prepared->read_pa : prepared->start.pressure_pa;
  return ta_map_set_point(prepared, ta_goal_map(&prepared->event->goal, seen_pa, engine_rpm),
                          prepared->start.pressure_pa);
}

double ta_set_point_map(const ta_prepared *prepared, double set_point, double ambient_pa) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? set_point + ambient_pa : set_point;
}

double ta_map_set_point(const ta_prepared *prepared, double map_pa, double ambient_pa) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? map_pa - ambient_pa : map_pa;
}

double ta_control_excess(const ta_control *control) {
  return control->overshoot_pa + control->map_error_pa;
}

double ta_judged_map(const ta_prepared *prepared, double set_point, double ambient_pa) {
  const ta_control *control = &prepared->event->car.control;
  const double spring_pa = ambient_pa + control->minimum_boost_pa;
  return fmax(ta_set_point_map(prepared, set_point, ambient_pa) + ta_control_excess(control),
              control->has_minimum_boost ? spring_pa + control->overshoot_pa : 0.0);
}

bool ta_spring_rules(const ta_prepared *prepared, double set_point, double ambient_pa) {
  return ta_judged_map(prepared, set_point, ambient_pa) >
         ta_set_point_map(prepared, set_point, ambient_pa) +
             ta_control_excess(&prepared->event->car.control);
}

double ta_sensor_reach(const ta_control *control) {
  return control->has_map_sensor ? SENSOR_REACH * control->map_sensor_pa : HUGE_VAL;
}

ta_speed_range ta_judged_speeds(const ta_car *car) {
  const double *window = car->engine.window_rpm;
  return (ta_speed_range){window[0],
                          car->has_vehicle ? fmax(window[1], car->vehicle.shift_rpm) : window[1]};
}

void ta_prepared_goal_range(const ta_prepared *prepared, ta_speed_range range, double *low_set,
                            double *high_set) {
  const ta_goal *goal = &prepared->event->goal;
  double low = ta_prepared_goal(prepared, range.low_rpm), high = low;
  for (size_t i = 0; i <= goal->point_count; i++) { /* the breakpoints inside, and the other end */
    const double rpm = i < goal->point_count ? goal->point[i].engine_rpm : range.high_rpm;
    if (rpm < range.low_rpm || rpm > range.high_rpm) continue;
    low = fmin(low, ta_prepared_goal(prepared, rpm));
    high = fmax(high, ta_prepared_goal(prepared, rpm));
  }
  *low_set = low;
  *high_set = high;
}
