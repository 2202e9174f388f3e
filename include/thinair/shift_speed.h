/* shift_speed.h - the cap expressed as an engine speed: shifting earlier instead of less boost. */
#ifndef THINAIR_SHIFT_SPEED_H
#define THINAIR_SHIFT_SPEED_H

#include "thinair/over.h"
#include "thinair/prepare.h"

typedef struct {
  double engine_rpm;     /* up to it the goal is held within the limit all along the course */
  bool whole_window;     /* the goal holds up to the top of what is judged */
  bool none;             /* it does not even at the window's low end */
  double elevation_m;    /* where it is tightest */
  ta_operating_point at; /* there, at that engine speed; valid unless none */
} ta_shift_speed;

/** The highest engine speed up to which the goal, overshoot on, stays within the limit everywhere.
 *  @param[in] profile  Of the goal over ta_judged_speeds. */
ta_status ta_shift_speed_find(const ta_prepared *prepared, const ta_profile *profile,
                              ta_shift_speed *shift);

#endif
