/* course_shape.c - grade, corners and totals of a course.
 *
 * Model     Grade is the rise over a stated length of road; a corner is the circle through three
 *           places a stated length of road apart, on the plane that touches the ellipsoid there.
 * Limits    A corner shorter than the length looks wider than it is.
 * Pinned by tests/model/test_course_shape.c.
 */
#include "thinair/course_shape.h"

#include <math.h>
#include <stdbool.h>

#include "thinair/geodesic.h"

static const double STRAIGHT_M = 10e3;

/* First and last point of the segment that holds a point. */
static void segment_of(const ta_course *course, size_t point, size_t *first, size_t *last) {
  *first = *last = point;
  while (*first > 0 && !course->point[*first].after_gap) (*first)--;
  while (*last + 1 < course->count && !course->point[*last + 1].after_gap) (*last)++;
}

static double grade_inside(const ta_course *course, size_t first, size_t last, double distance_m,
                           double length_m) {
  const double from = fmax(distance_m - 0.5 * length_m, course->point[first].distance_m),
               to = fmin(distance_m + 0.5 * length_m, course->point[last].distance_m);
  return to > from
             ? (ta_course_elevation(course, to) - ta_course_elevation(course, from)) / (to - from)
             : 0.0;
}

double ta_course_grade(const ta_course *course, double distance_m, double length_m) {
  size_t first, last;
  segment_of(course, ta_course_point_before(course, distance_m), &first, &last);
  return grade_inside(course, first, last, distance_m, length_m);
}

typedef struct {
  double latitude, longitude;
} place;

/* Where the road is at a distance, linear between the points of a segment. */
static place place_at(const ta_course *course, double distance_m) {
  const size_t i = ta_course_point_before(course, distance_m);
  const ta_course_point *a = &course->point[i],
                        *b = &course->point[i + 1 < course->count ? i + 1 : i];
  const double length = b->distance_m - a->distance_m,
               share = length > 0.0 ? (distance_m - a->distance_m) / length : 0.0;
  return (place){a->latitude_deg + share * (b->latitude_deg - a->latitude_deg),
                 a->longitude_deg + share * (b->longitude_deg - a->longitude_deg)};
}

static double apart(place a, place b) {
  return ta_geodesic_distance(a.latitude, a.longitude, b.latitude, b.longitude);
}

static double radius_inside(const ta_course *course, size_t first, size_t last, size_t point,
                            double length_m) {
  const double at_m = course->point[point].distance_m, half = 0.5 * length_m;
  if (!course->point[point].has_position || at_m - half < course->point[first].distance_m ||
      at_m + half > course->point[last].distance_m)
    return (double)INFINITY;
  const place before = place_at(course, at_m - half), at = place_at(course, at_m),
              after = place_at(course, at_m + half);
  const double a = apart(at, after), b = apart(before, after), c = apart(before, at);
  const double p = 0.5 * (a + b + c);
  const double area = sqrt(fmax(p * (p - a) * (p - b) * (p - c), 0.0)); /* Heron */
  const double radius = area > 0.0 ? a * b * c / (4.0 * area) : (double)INFINITY;
  return radius < STRAIGHT_M ? radius : (double)INFINITY;
}

double ta_course_radius(const ta_course *course, size_t point, double length_m) {
  size_t first, last;
  segment_of(course, point, &first, &last);
  return radius_inside(course, first, last, point, length_m);
}

ta_course_summary ta_course_sum_up(const ta_course *course, double length_m) {
  ta_course_summary sum = {.tightest_radius_m = (double)INFINITY};
  ta_course_range(course, &sum.min_elevation_m, &sum.max_elevation_m);
  for (size_t first = 0, last; first < course->count; first = last + 1) {
    last = first;
    while (last + 1 < course->count && !course->point[last + 1].after_gap) last++;
    sum.segments++;
    sum.distance_m += course->point[last].distance_m - course->point[first].distance_m;
    for (size_t i = first; i <= last; i++) {
      const double rise =
          i > first ? course->point[i].elevation_m - course->point[i - 1].elevation_m : 0.0;
      sum.ascent_m += fmax(rise, 0.0);
      sum.descent_m += fmax(-rise, 0.0);
      sum.steepest_grade =
          fmax(sum.steepest_grade,
               fabs(grade_inside(course, first, last, course->point[i].distance_m, length_m)));
      sum.tightest_radius_m =
          fmin(sum.tightest_radius_m, radius_inside(course, first, last, i, length_m));
    }
  }
  return sum;
}
