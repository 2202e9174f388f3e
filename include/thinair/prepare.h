/* prepare.h - the event made ready to be solved: its column of air, its compressor surface. */
#ifndef THINAIR_PREPARE_H
#define THINAIR_PREPARE_H

#include <stdbool.h>

#include "thinair/air.h"
#include "thinair/compressor_map.h"
#include "thinair/day.h"
#include "thinair/event.h"
#include "thinair/operating_point.h"
#include "thinair/status.h"

/** Immutable once made; may be shared by threads. */
typedef struct {
  const ta_event *event; /* borrowed: must outlive this */
  ta_day day;
  ta_compressor_map *map;
  bool map_is_borrowed; /* of another prepared event, which must outlive this */
  ta_air start;         /* the air at the start line */
  double read_pa;       /* ambient pressure that a gauge-from-key-on controller has read */
  double limit_rpm;     /* rated speed less the margin */
} ta_prepared;

/**
 * Prepare a checked event.
 * @param[out] prepared  To be given back with ta_prepared_free.  Zeroed on failure.
 * @retval TA_ERR_INPUT  The event does not pass ta_event_check.
 */
ta_status ta_prepare(const ta_event *event, ta_prepared *prepared);

/**
 * Prepare a checked fork of a prepared event: of the day and the compressor map what is not touched
 * is the base's, and the map is borrowed from it.
 * @param[in]  touches   TA_TOUCHES_..., see access.h: what differs between the two.
 * @param[out] prepared  To be given back with ta_prepared_free, before the base.  Zeroed on failure.
 * @retval TA_ERR_INPUT  The fork does not pass ta_event_check.
 */
ta_status ta_prepare_again(const ta_prepared *base, const ta_event *fork, unsigned touches,
                           ta_prepared *prepared);

/** The same without the wastegate's spring, in a copy of the event that outlives it; borrows all of
 *  prepared and is not to be freed. */
ta_prepared ta_prepared_without_spring(const ta_prepared *prepared, ta_event *event);

/** NULL is fine. */
void ta_prepared_free(ta_prepared *prepared);

/**
 * A set-point is in the quantity that the controller holds [Pa]: MAP, or boost above the live
 * ambient.  Goals and caps are set-points.
 */

/** Set-point of the goal at an engine speed. */
double ta_prepared_goal(const ta_prepared *prepared, double engine_rpm);

/** Engine speeds between which the shaft is judged. */
typedef struct {
  double low_rpm, high_rpm;
} ta_speed_range;

/** From the boost window's low end to its top, or to the vehicle's shift speed where that is higher:
 *  what the car revs to it is judged at. */
ta_speed_range ta_judged_speeds(const ta_car *car);

/** Lowest and highest set-point of the goal in a range of engine speeds. */
void ta_prepared_goal_range(const ta_prepared *prepared, ta_speed_range range, double *low_set,
                            double *high_set);

/** MAP of a set-point at an ambient pressure, nothing on it; and the set-point of a MAP. */
double ta_set_point_map(const ta_prepared *prepared, double set_point, double ambient_pa);
double ta_map_set_point(const ta_prepared *prepared, double map_pa, double ambient_pa);

/** How far the MAP may stand above a set-point's: overshoot and the error of the sensor. */
double ta_control_excess(const ta_control *control);

/** The MAP to judge a set-point by: overshoot and the sensor's error on, and no lower than the
 *  wastegate's spring gives. */
double ta_judged_map(const ta_prepared *prepared, double set_point, double ambient_pa);

/** Does the wastegate's spring give more than a set-point, overshoot and the sensor's error on? */
bool ta_spring_rules(const ta_prepared *prepared, double set_point, double ambient_pa);

/** Highest judged MAP that the controller's sensor can read; HUGE_VAL where its range is not given.
 *  Above 98 % of full scale it is blind. */
double ta_sensor_reach(const ta_control *control);

#endif
