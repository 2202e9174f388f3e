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
 * Replace every elevation by a local quadratic through the length of road around it.  Start, summit
 * (the first highest point) and finish keep theirs: what smoothing took there is given back, fading
 * out smoothly over one length on either side.  Nothing rises above the summit.  Segments
 * (after_gap) are smoothed each on its own; towards their ends the length of road lies inside them.
 *
 * A quadratic profile is left as it is, and so is a point with fewer than four points within half a
 * length: a track of points L apart is smoothed by lengths above 3 L.
 *
 * @param[in,out] course    Distances rising.  Left as it was unless TA_OK is returned.
 * @param[in]     length_m  Above 0; the road used for one point, away from ends half on either
 * side.
 * @param[out]    residual  May be NULL.
 * @retval TA_ERR_ARGUMENT  No course, a length that is not above 0, distances that do not rise, an
 *                          elevation that is not finite.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_course_smooth(ta_course *course, double length_m, ta_smoothing_residual *residual);

#endif
