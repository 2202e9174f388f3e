/* course.h - the road: elevation over distance, with named places. */
#ifndef THINAIR_COURSE_H
#define THINAIR_COURSE_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/status.h"

typedef struct {
  double distance_m;
  double elevation_m;                 /* geometric */
  const char *mark;                   /* a named place; NULL: none */
  double latitude_deg, longitude_deg; /* WGS 84; set when has_position */
  bool has_position;
  double corner_radius_m, speed_limit_ms; /* from here to the next point; when the flags say so */
  bool has_corner_radius, has_speed_limit;
  bool after_gap; /* the road before this point is not known: a new segment starts here */
} ta_course_point;

/** Points in order of distance; elevation is linear in distance between them. */
typedef struct {
  ta_course_point *point;
  size_t count;
} ta_course;

/**
 * Check a course as typed: at least two points, distance rising from each to the next, no grade
 * beyond 50 %.  Raises every fault with keys "rows[i]".
 * @retval TA_ERR_INPUT  At least one error was raised.
 */
ta_status ta_course_check(const ta_course *course, ta_diagnostics *diagnostics);

/** The last point at or before a distance [m]; the first point before all.  At least one point. */
size_t ta_course_point_before(const ta_course *course, double distance_m);

/** Elevation [m] at a distance [m], the end's elevation beyond either end.  At least one point. */
double ta_course_elevation(const ta_course *course, double distance_m);

/** Distance [m] at which the course first stands at an elevation [m]; its end where it never does. */
double ta_course_distance(const ta_course *course, double elevation_m);

/** Lowest and highest elevation [m].  At least one point. */
void ta_course_range(const ta_course *course, double *low_m, double *high_m);

/**
 * A course of fewer points: those nearer to the one before than a spacing [m] are left out, the
 * tightest corner and the lowest speed limit of what is joined kept.  Ends, gaps and the lowest and
 * highest point stay.
 * @param[out] thin  Its points to be freed with free; untouched on failure.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_course_thin(const ta_course *course, double spacing_m, ta_course *thin);

/** The marked point nearest to a distance; NULL when nothing is marked. */
const ta_course_point *ta_course_nearest_mark(const ta_course *course, double distance_m);

#endif
