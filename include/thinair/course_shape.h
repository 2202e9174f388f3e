/* course_shape.h - grade, corners and totals of a course. */
#ifndef THINAIR_COURSE_SHAPE_H
#define THINAIR_COURSE_SHAPE_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/course.h"

/** Grade (rise over road) around a distance [m], taken over a length of road [m] centred on it and
 *  cut off at the ends of its segment.  At least two points. */
double ta_course_grade(const ta_course *course, double distance_m, double length_m);

/**
 * Radius [m] of the road seen from above around a point: the circle through it and the nearest points
 * of the course at least half a length before and after it.  INFINITY where it is straight (above 10
 * km), nearer than half a length to the ends of a segment, and where positions are not known.
 */
double ta_course_radius(const ta_course *course, size_t point, double length_m);

#define TA_CORNER_LENGTH_M 50.0 /* of road that a corner's radius is taken over, unless given */

/** How well corners can be told from the positions of a course. */
typedef struct {
  bool has_positions;
  double sparse_share; /* of that road: between points farther apart than half the length */
  double scatter_m;    /* of the points across a smooth road: the median of the residuals of local
                              parabolas over the length, of five points or more; 0: none, or not
                              known */
  double scatter_radius_m; /* of the corners that it makes of a straight road, one in three of them
                              tighter; INFINITY: none */
} ta_corner_sight;

/** On up to 500 places of the course; the whole length of road is looked at for gaps. */
ta_corner_sight ta_course_corner_sight(const ta_course *course, double length_m);

typedef struct {
  double distance_m; /* along the road, gaps between segments not counted */
  double ascent_m, descent_m, min_elevation_m, max_elevation_m;
  double steepest_grade;    /* over length_m, without sign */
  double tightest_radius_m; /* over TA_CORNER_LENGTH_M; INFINITY where positions are not known */
  size_t segments;
} ta_course_summary;

/** Totals of a course of at least two points. */
ta_course_summary ta_course_sum_up(const ta_course *course, double length_m);

#endif
