/* course_smoothing.c - elevations of a satellite receiver made into a road.
 *
 * Model     At each point a quadratic in distance, least squares with tricube weights over half a
 *           length on either side; its value there is the smoothed elevation.  The weights fall to
 *           zero at the window's edge, so no step arises where a point enters or leaves it. Towards
 *           the ends of a segment the window widens to keep the whole length of road inside it.
 * Source    W. S. Cleveland, "Robust locally weighted regression and smoothing scatterplots",
 *           J. Am. Stat. Assoc. 74 (1979) 829: local polynomial, tricube (from memory).
 * Numbers   The quadratic is built on weighted orthogonal polynomials of u = (x - x0)/half, which
 *           uneven spacing does not spoil as it does normal equations.
 */
#include "thinair/course_smoothing.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

enum { KEPT = 3 }; /* start, summit, finish */

/* Below this share of weight in the quadratic term the points do not fix a quadratic. */
static const double THINNEST = 1e-12;

static double tricube(double u) {
  const double a = fabs(u), b = 1.0 - a * a * a;
  return a < 1.0 ? b * b * b : 0.0;
}

/* Elevation of the local quadratic at point i, from the points first to last around it. */
static double fitted(const ta_course_point *point, size_t first, size_t last, size_t i,
                     double half_m) {
  const double x0 = point[i].distance_m, z0 = point[i].elevation_m;
  double s0 = 0.0, s1 = 0.0, s2 = 0.0, s3 = 0.0, t0 = 0.0;
  for (size_t k = first; k <= last; k++) {
    const double u = (point[k].distance_m - x0) / half_m, w = tricube(u);
    s0 += w;
    s1 += w * u;
    t0 += w * (point[k].elevation_m - z0);
  }
  const double a = s1 / s0; /* P0 = 1, P1 = u - a, P2 = (u - a)^2 - b (u - a) - c */
  for (size_t k = first; k <= last; k++) {
    const double u = (point[k].distance_m - x0) / half_m, w = tricube(u), p1 = u - a;
    s2 += w * p1 * p1;
    s3 += w * p1 * p1 * p1;
  }
  const double b = s3 / s2, c = s2 / s0;
  double n2 = 0.0, t1 = 0.0, t2 = 0.0;
  for (size_t k = first; k <= last; k++) {
    const double u = (point[k].distance_m - x0) / half_m, w = tricube(u), p1 = u - a;
    const double p2 = p1 * p1 - b * p1 - c, z = point[k].elevation_m - z0;
    n2 += w * p2 * p2;
    t1 += w * p1 * z;
    t2 += w * p2 * z;
  }
  if (!(n2 > THINNEST * s0)) return z0;
  const double p2_here = a * a + b * a - c;
  return z0 + t0 / s0 - t1 / s2 * a + t2 / n2 * p2_here;
}

static void smooth_segment(const ta_course_point *point, size_t begin, size_t end, double length_m,
                           double *smoothed) {
  size_t first = begin, last = begin;
  for (size_t i = begin; i < end; i++) {
    const double x = point[i].distance_m;
    const double to_end_m = fmin(x - point[begin].distance_m, point[end - 1].distance_m - x);
    const double half_m = fmax(0.5 * length_m, length_m - to_end_m);
    while (x - point[first].distance_m >= half_m) first++;
    while (last + 1 < end && point[last + 1].distance_m - x < half_m) last++;
    /* a quadratic passes through three points exactly */
    smoothed[i] = last - first < 3 ? point[i].elevation_m : fitted(point, first, last, i, half_m);
  }
}

/* Give one kept point its elevation back, fading out with level ends over one length, but before
 * the next kept point and within the segment. */
static void give_back(const ta_course_point *point, size_t count, const size_t *kept, size_t i,
                      double length_m, double *smoothed) {
  const double x0 = point[i].distance_m, correction_m = point[i].elevation_m - smoothed[i];
  for (int side = -1; side <= 1; side += 2) {
    double reach_m = length_m;
    for (size_t k = 0; k < KEPT; k++) {
      const double apart_m = side * (point[kept[k]].distance_m - x0);
      if (apart_m > 0.0) reach_m = fmin(reach_m, apart_m);
    }
    for (size_t k = i;
         side < 0 ? k > 0 && !point[k].after_gap : k + 1 < count && !point[k + 1].after_gap;) {
      k = side < 0 ? k - 1 : k + 1;
      const double t = 1.0 - side * (point[k].distance_m - x0) / reach_m;
      if (t <= 0.0) break;
      smoothed[k] += correction_m * t * t * (3.0 - 2.0 * t);
    }
  }
  smoothed[i] = point[i].elevation_m;
}

static bool is_sound(const ta_course *course) {
  for (size_t i = 0; i < course->count; i++) {
    if (!isfinite(course->point[i].elevation_m) || !isfinite(course->point[i].distance_m))
      return false;
    if (i > 0 && !(course->point[i].distance_m > course->point[i - 1].distance_m)) return false;
  }
  return true;
}

ta_status ta_course_smooth(ta_course *course, double length_m, ta_smoothing_residual *residual) {
  if (course == NULL || course->count < 2 || !(length_m > 0.0) || !isfinite(length_m) ||
      !is_sound(course))
    return TA_ERR_ARGUMENT;
  ta_course_point *point = course->point;
  const size_t count = course->count;
  double *smoothed = malloc(count * sizeof *smoothed);
  if (smoothed == NULL) return TA_ERR_MEMORY;

  size_t summit = 0;
  for (size_t begin = 0, end; begin < count; begin = end) {
    for (end = begin + 1; end < count && !point[end].after_gap; end++) continue;
    smooth_segment(point, begin, end, length_m, smoothed);
  }
  for (size_t i = 1; i < count; i++)
    if (point[i].elevation_m > point[summit].elevation_m) summit = i;

  const size_t kept[KEPT] = {0, summit, count - 1};
  for (size_t k = 0; k < KEPT; k++) give_back(point, count, kept, kept[k], length_m, smoothed);

  const double top_m = point[summit].elevation_m;
  double squares = 0.0, largest = 0.0;
  for (size_t i = 0; i < count; i++) {
    const double read_m = point[i].elevation_m, road_m = fmin(smoothed[i], top_m);
    squares += (read_m - road_m) * (read_m - road_m);
    largest = fmax(largest, fabs(read_m - road_m));
    point[i].elevation_m = road_m;
  }
  free(smoothed);
  if (residual != NULL) *residual = (ta_smoothing_residual){sqrt(squares / (double)count), largest};
  return TA_OK;
}
