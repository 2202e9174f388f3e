/* schedule.h - the cap over ambient pressure, for a controller with a barometer. */
#ifndef THINAIR_SCHEDULE_H
#define THINAIR_SCHEDULE_H

#include "thinair/caps.h"
#include "thinair/prepare.h"

enum { TA_SCHEDULE_ROWS = 8 };

typedef struct {
  double ambient_pa, elevation_m; /* where the day has that pressure */
  double set_point;               /* as it goes into the controller, rounded down */
  ta_place_cap cap;               /* in the air there */
  double per_10k;                 /* change of that cap in air 10 K warmer at the same pressure */
} ta_schedule_row;

/** Linear between its rows, its end values beyond. */
typedef struct {
  ta_schedule_row row[TA_SCHEDULE_ROWS]; /* from the highest pressure down */
  size_t count;                          /* 0: the controller has no live barometer */
} ta_schedule;

/** Engine speeds that a schedule or table must stand: from the window's low end to the redline. */
ta_speed_range ta_schedule_speeds(const ta_engine *engine);

/**
 * Set-points over ambient pressure that keep every engine speed up to the redline within the limit,
 * between the rows too, though the barometer reads high by its error.  From the course's highest
 * pressure to 2 kPa below its lowest.
 *
 * @retval TA_ERR_DOMAIN  The day does not reach so high.
 */
ta_status ta_schedule_find(const ta_prepared *prepared, ta_schedule *schedule);

#endif
