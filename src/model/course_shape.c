/* course_shape.c - grade, corners and totals of a course.
 *
 * Model     Grade is the rise over a stated length of road; a corner is the circle through three of
 *           the course's own points, half of a stated length of road apart or next to each other, on
 *           the plane that touches the ellipsoid there.  A place between points lies on a chord,
 *           inside the bend: no circle goes through it.
 * Limits    A corner shorter than the length, or than the way to the next point, looks wider than it
 *           is; points that scatter make corners of a straight road.
 * Pinned by tests/model/test_course_shape.c.
 */
#include "thinair/course_shape.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "thinair/geodesic.h"

enum { SAMPLES = 500, LEAST_POINTS = 5 };
static const double STRAIGHT_M = 10e3;
static const double M_PER_DEG = 111.2e3, RAD_PER_DEG = 0.017453292519943295; /* a sphere will do */

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

static double apart(const ta_course_point *a, const ta_course_point *b) {
  return ta_geodesic_distance(a->latitude_deg, a->longitude_deg, b->latitude_deg, b->longitude_deg);
}

static double radius_inside(const ta_course *course, size_t first, size_t last, size_t point,
                            double length_m) {
  const ta_course_point *at = &course->point[point], *before = at, *after = at;
  const double half_m = 0.5 * length_m;
  while (before > &course->point[first] && at->distance_m - before->distance_m < half_m) before--;
  while (after < &course->point[last] && after->distance_m - at->distance_m < half_m) after++;
  if (!at->has_position || !before->has_position || !after->has_position ||
      at->distance_m - before->distance_m < half_m || after->distance_m - at->distance_m < half_m)
    return (double)INFINITY;
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
          fmin(sum.tightest_radius_m, radius_inside(course, first, last, i, TA_CORNER_LENGTH_M));
    }
  }
  return sum;
}

/* ---- what positions are worth ----------------------------------------------------------------- */

typedef struct {
  double along_m, across_m;
} offset;

/* Where a point is seen from another, along a direction of unit length and across it. */
static offset seen_from(const ta_course_point *origin, const ta_course_point *point,
                        const double direction[2]) {
  const double east_m = (point->longitude_deg - origin->longitude_deg) * M_PER_DEG *
                        cos(origin->latitude_deg * RAD_PER_DEG),
               north_m = (point->latitude_deg - origin->latitude_deg) * M_PER_DEG;
  return (offset){east_m * direction[0] + north_m * direction[1],
                  north_m * direction[0] - east_m * direction[1]};
}

/* Scatter of the points first to last across the parabola that fits them best, over their chord; it
 * is put together of orthogonal polynomials of the way along the chord. */
static double scatter_of(const ta_course_point *first, const ta_course_point *last) {
  const double n = (double)(last - first + 1), east[2] = {1.0, 0.0};
  const offset end = seen_from(first, last, east);
  const double chord_m = hypot(end.along_m, end.across_m),
               along[2] = {end.along_m / chord_m, end.across_m / chord_m};
  double u0 = 0.0, v0 = 0.0, s2 = 0.0, s3 = 0.0, n2 = 0.0, v1 = 0.0, v2 = 0.0, squares = 0.0;
  if (!(chord_m > 0.0)) return 0.0;
  for (const ta_course_point *k = first; k <= last; k++) {
    const offset o = seen_from(first, k, along);
    u0 += o.along_m / n;
    v0 += o.across_m / n;
  }
  for (const ta_course_point *k = first; k <= last; k++) {
    const offset o = seen_from(first, k, along);
    const double p1 = o.along_m - u0;
    s2 += p1 * p1;
    s3 += p1 * p1 * p1;
    v1 += (o.across_m - v0) * p1;
  }
  for (int pass = 0; pass < 2; pass++) { /* the quadratic term, then what none of them tells */
    for (const ta_course_point *k = first; k <= last; k++) {
      const offset o = seen_from(first, k, along);
      const double p1 = o.along_m - u0, p2 = p1 * p1 - s3 / s2 * p1 - s2 / n,
                   rest = o.across_m - v0 - v1 / s2 * p1;
      n2 += pass == 0 ? p2 * p2 : 0.0;
      v2 += pass == 0 ? rest * p2 : 0.0;
      squares += pass == 1 ? (rest - v2 / n2 * p2) * (rest - v2 / n2 * p2) : 0.0;
    }
    if (!(n2 > 0.0)) return 0.0;
  }
  return sqrt(squares / (n - 3.0));
}

static int rising(const void *a, const void *b) {
  const double at = *(const double *)a, bt = *(const double *)b;
  return (at > bt) - (at < bt);
}

ta_corner_sight ta_course_corner_sight(const ta_course *course, double length_m) {
  double scatter_m[SAMPLES], seen_m = 0.0, sparse_m = 0.0;
  const double half_m = 0.5 * length_m;
  size_t count = 0;
  for (size_t i = 1; i < course->count; i++) {
    const ta_course_point *b = &course->point[i], *a = b - 1;
    if (b->after_gap || !a->has_position || !b->has_position) continue;
    const double leg_m = b->distance_m - a->distance_m;
    seen_m += leg_m;
    if (leg_m > half_m) sparse_m += leg_m;
  }
  const size_t every = (course->count + SAMPLES - 1) / SAMPLES;
  for (size_t i = 0; i < course->count; i += every) {
    const ta_course_point *at = &course->point[i], *end = course->point + course->count - 1,
                          *low = at, *high = at;
    while (low > course->point && !low->after_gap && low[-1].has_position &&
           at->distance_m - low[-1].distance_m <= half_m)
      low--;
    while (high < end && !high[1].after_gap && high[1].has_position &&
           high[1].distance_m - at->distance_m <= half_m)
      high++;
    if (at->has_position && high - low + 1 >= LEAST_POINTS)
      scatter_m[count++] = scatter_of(low, high);
  }
  qsort(scatter_m, count, sizeof *scatter_m, rising);
  ta_corner_sight sight = {.has_positions = seen_m > 0.0,
                           .sparse_share = seen_m > 0.0 ? sparse_m / seen_m : 0.0,
                           .scatter_m = count > 0 ? scatter_m[count / 2] : 0.0};
  /* of a second difference over half the length: sqrt(1 + 4 + 1) times the scatter */
  sight.scatter_radius_m =
      sight.scatter_m > 0.0 ? half_m * half_m / (sqrt(6.0) * sight.scatter_m) : (double)INFINITY;
  return sight;
}
