/* schedule.h - the cap over ambient pressure, for a controller with a barometer. */
#ifndef THINAIR_SCHEDULE_H
#define THINAIR_SCHEDULE_H

#include "thinair/caps.h"
#include "thinair/prepare.h"

typedef struct {
  double ambient_pa, elevation_m; /* where the day has that pressure */
  double set_point;               /* as it goes into the controller, rounded down */
  ta_place_cap cap;               /* in the air there */
  double per_10k;                 /* change of that cap in air 10 K warmer at the same pressure */
} ta_schedule_row;

/** Read between its rows as the controller does; its end values hold beyond. */
typedef struct {
  ta_schedule_row row[TA_AXIS_MAX]; /* from the highest pressure down */
  size_t count;                     /* 0: the controller has no live barometer */
} ta_schedule;

/**
 * Set-points over ambient pressure that keep every engine speed up to the redline within the limit,
 * between the rows too, though the barometer reads high by its error.  From the course's highest
 * pressure to 2 kPa below its lowest.
 *
 * @retval TA_ERR_DOMAIN  The day does not reach so high.
 */
ta_status ta_schedule_find(const ta_prepared *prepared, ta_schedule *schedule);

/** The set-point that the controller reads off at an ambient pressure.  At least one row. */
double ta_schedule_read(const ta_prepared *prepared, const ta_schedule *schedule,
                        double ambient_pa);

#endif
