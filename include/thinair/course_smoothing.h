/* course_smoothing.h - elevations of a satellite receiver made into a road. */
#ifndef THINAIR_COURSE_SMOOTHING_H
#define THINAIR_COURSE_SMOOTHING_H

#include "thinair/course.h"
#include "thinair/status.h"

/** What smoothing did. */
typedef struct {
  double residual_rms_m, residual_max_m; /* read elevation less smoothed */
} ta_smoothing_residual;

/**
 * Replace elevations by a local quadratic over a length of road; start, summit and finish keep
 * theirs.  Segments (after_gap) are smoothed each on its own.
 *
 * @param[in,out] course    Distances rising.
 * @param[in]     length_m  Above 0.
 * @param[out]    residual  May be NULL.
 */
ta_status ta_course_smooth(ta_course *course, double length_m, ta_smoothing_residual *residual);

#endif
