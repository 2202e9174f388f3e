/* course.c - elevation over distance.
 *
 * Model     Elevation is linear in distance between points; nothing is known beyond the ends.
 * Limits    Grades above 50 % are refused: steeper than any road, so a mistyped number.
 */
#include "thinair/course.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double STEEPEST_GRADE = 0.5;

ta_status ta_course_check(const ta_course *course, ta_diagnostics *diagnostics) {
  if (course == NULL) return TA_ERR_ARGUMENT;
  size_t faults = 0;
  if (course->count < 2) {
    (void)ta_raise(diagnostics, TA_ERROR, "rows", "a course needs at least two points, found %zu",
                   course->count);
    return TA_ERR_INPUT;
  }
  for (size_t i = 1; i < course->count; i++) {
    const ta_course_point *a = &course->point[i - 1], *b = &course->point[i];
    const double length = b->distance_m - a->distance_m, rise = b->elevation_m - a->elevation_m;
    char key[TA_KEY_MAX], before[TA_KEY_MAX];
    (void)snprintf(key, sizeof key, "rows[%zu].distance", i);
    (void)snprintf(before, sizeof before, "rows[%zu].distance", i - 1);
    if (!(length > 0.0)) {
      faults++;
      (void)ta_raise_relation(diagnostics, key, before,
                              "distance must rise from point to point, found %.12g m after %.12g m",
                              b->distance_m, a->distance_m);
    } else if (!b->after_gap && !(fabs(rise) <= STEEPEST_GRADE * length)) {
      faults++;
      (void)snprintf(key, sizeof key, "rows[%zu].elevation", i);
      (void)ta_raise(diagnostics, TA_ERROR, key,
                     "%.6g m of height over %.6g m of road is a grade of %.0f %%; up to %.0f %% is "
                     "taken",
                     rise, length, 100.0 * rise / length, 100.0 * STEEPEST_GRADE);
    }
  }
  return faults == 0 ? TA_OK : TA_ERR_INPUT;
}

size_t ta_course_point_before(const ta_course *course, double distance_m) {
  size_t low = 0, high = course->count;
  while (high - low > 1) {
    const size_t middle = low + (high - low) / 2;
    if (course->point[middle].distance_m <= distance_m)
      low = middle;
    else
      high = middle;
  }
  return low;
}

double ta_course_elevation(const ta_course *course, double distance_m) {
  const ta_course_point *point = course->point;
  const size_t last = course->count - 1;
  if (!(distance_m > point[0].distance_m)) return point[0].elevation_m;
  if (!(distance_m < point[last].distance_m)) return point[last].elevation_m;
  const ta_course_point *a = &point[ta_course_point_before(course, distance_m)], *b = a + 1;
  const double share = (distance_m - a->distance_m) / (b->distance_m - a->distance_m);
  return a->elevation_m + share * (b->elevation_m - a->elevation_m);
}

double ta_course_distance(const ta_course *course, double elevation_m) {
  for (size_t i = 1; i < course->count; i++) {
    const ta_course_point *a = &course->point[i - 1], *b = &course->point[i];
    const double rise = b->elevation_m - a->elevation_m;
    if ((elevation_m - a->elevation_m) * (elevation_m - b->elevation_m) <= 0.0)
      return rise == 0.0 ? a->distance_m
                         : a->distance_m + (b->distance_m - a->distance_m) *
                                               (elevation_m - a->elevation_m) / rise;
  }
  return course->point[course->count - 1].distance_m;
}

void ta_course_range(const ta_course *course, double *low_m, double *high_m) {
  double low = course->point[0].elevation_m, high = low;
  for (size_t i = 1; i < course->count; i++) {
    low = fmin(low, course->point[i].elevation_m);
    high = fmax(high, course->point[i].elevation_m);
  }
  *low_m = low;
  *high_m = high;
}

ta_status ta_course_thin(const ta_course *course, double spacing_m, ta_course *thin) {
  double low_m, high_m;
  ta_course_point *point = malloc(course->count * sizeof *point);
  if (point == NULL) return TA_ERR_MEMORY;
  ta_course_range(course, &low_m, &high_m);
  size_t count = 0;
  bool has_low = false, has_high = false; /* of a level road one point is enough */
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *p = &course->point[i];
    const bool lowest = !has_low && p->elevation_m == low_m,
               highest = !has_high && p->elevation_m == high_m;
    has_low = has_low || lowest;
    has_high = has_high || highest;
    ta_course_point *kept = count > 0 ? &point[count - 1] : NULL;
    const bool stays = kept == NULL || i + 1 == course->count || p->after_gap ||
                       (i + 1 < course->count && p[1].after_gap) || lowest || highest ||
                       p->distance_m - kept->distance_m >= spacing_m;
    if (stays) {
      point[count++] = *p;
      continue;
    }
    if (p->has_corner_radius &&
        !(kept->has_corner_radius && kept->corner_radius_m <= p->corner_radius_m)) {
      kept->has_corner_radius = true;
      kept->corner_radius_m = p->corner_radius_m;
    }
    if (p->has_speed_limit &&
        !(kept->has_speed_limit && kept->speed_limit_ms <= p->speed_limit_ms)) {
      kept->has_speed_limit = true;
      kept->speed_limit_ms = p->speed_limit_ms;
    }
  }
  *thin = (ta_course){point, count};
  return TA_OK;
}

const ta_course_point *ta_course_nearest_mark(const ta_course *course, double distance_m) {
  const ta_course_point *nearest = NULL;
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *point = &course->point[i];
    if (point->mark != NULL && (nearest == NULL || fabs(point->distance_m - distance_m) <
                                                       fabs(nearest->distance_m - distance_m)))
      nearest = point;
  }
  return nearest;
}
