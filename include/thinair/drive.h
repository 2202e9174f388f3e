/* drive.h - whether the turbine can drive the boost that is asked for. */
#ifndef THINAIR_DRIVE_H
#define THINAIR_DRIVE_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/operating_point.h"
#include "thinair/over.h"
#include "thinair/prepare.h"
#include "thinair/turbine.h"

/** How the exhaust drives the judged turbo at a solved point.  The car has a turbine.
 *  @retval TA_ERR_DOMAIN  The point is unreachable. */
ta_status ta_point_drive(const ta_car *car, const ta_operating_point *point, ta_drive *drive);

/** Power [W] that the turbine has left over at each lane of a solved block with the wastegate shut;
 *  negative: it cannot drive the lane.  -HUGE_VAL where the lane is unreachable. */
void ta_points_excess(const ta_car *car, const ta_point_block *block, double *excess_w);

/** Can the turbine drive a MAP at an engine speed in this air? */
bool ta_map_is_held(const ta_prepared *prepared, const ta_air *air, double engine_rpm,
                    double map_pa);

/**
 * Highest MAP that the turbine holds at engine speeds in one air: counting up from ambient, where
 * its excess turns negative and stays so for 1 kPa.
 *
 * @param[in]  rpm             [count], at most TA_LANES.
 * @param[in]  highest_map_pa  Where counting ends [count].
 * @param[out] held_pa         [count]; highest_map_pa where all of it is held.
 */
void ta_highest_held_map(const ta_prepared *prepared, const ta_air *air, const double *rpm,
                         size_t count, const double *highest_map_pa, double *held_pa);

/** Lowest engine speed from which on, up to the window's top, the goal can be driven. */
typedef struct {
  double elevation_m;
  double engine_rpm; /* INFINITY: not even at the top of the window, or not known */
  bool is_unknown;   /* there, for the compressor map ends */
  bool or_below;     /* it is the lowest that is looked at: the threshold may lie below */
} ta_threshold;

/** The threshold in one air; its elevation is left as it is. */
void ta_boost_threshold(const ta_prepared *prepared, const ta_air *air, ta_threshold *threshold);

enum { TA_THRESHOLDS = 5 };

/** Where on the course the goal cannot be driven over the whole boost window.  A point past what the
 *  compressor map can tell is no such place: it is over the limit. */
typedef struct {
  bool checked;                               /* the car file gives a turbine */
  bool cannot_hold;                           /* somewhere it cannot */
  double distance_m, elevation_m, engine_rpm; /* first such place, and the speed of the largest
                                                 shortfall there; when cannot_hold */
  double held_map_pa;                         /* what is held there and then */
  ta_threshold threshold[TA_THRESHOLDS];      /* evenly in height, from the start line to the top */
  double expansion_ratio; /* the highest that the goal asks for over the course, at the engine speed
                             that turns the shaft fastest; 0: none can be told */
  bool beyond_points;     /* that is past the turbine's typed points: an estimate */
} ta_drive_check;

/** @param[in] profile  Of the goal over ta_judged_speeds. */
ta_status ta_drive_check_make(const ta_prepared *prepared, const ta_profile *profile,
                              ta_drive_check *check);

#endif
