/* course_shape.h - grade, corners and totals of a course. */
#ifndef THINAIR_COURSE_SHAPE_H
#define THINAIR_COURSE_SHAPE_H

#include <stddef.h>

#include "thinair/course.h"

/** Grade (rise over road) around a distance [m], taken over a length of road [m] centred on it and
 *  cut off at the ends of its segment.  At least two points. */
double ta_course_grade(const ta_course *course, double distance_m, double length_m);

/**
 * Radius [m] of the road seen from above around a point: the circle through the places half a
 * length before it, at it, and half a length after it.  INFINITY where it is straight (above 10
 * km), near the ends of a segment, and where positions are not known.
 */
double ta_course_radius(const ta_course *course, size_t point, double length_m);

typedef struct {
  double distance_m; /* along the road, gaps between segments not counted */
  double ascent_m, descent_m, min_elevation_m, max_elevation_m;
  double steepest_grade;    /* over length_m, without sign */
  double tightest_radius_m; /* over length_m; INFINITY where positions are not known */
  size_t segments;
} ta_course_summary;

/** Totals of a course of at least two points. */
ta_course_summary ta_course_sum_up(const ta_course *course, double length_m);

#endif
