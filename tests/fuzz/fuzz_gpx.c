/* fuzz_gpx.c - bytes to a course.
 *
 * Property  What is taken has at least two points, distances that rise, elevations and places that
 *           can be, and a length that is the sum of the geodesics inside its segments; smoothing it
 *           keeps both ends and the summit.  What is refused has an error with a place, and leaves
 *           the course alone.  What is placed is inside the file. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "../../src/files/gpx.h"
#include "fuzz.h"
#include "thinair/course_smoothing.h"
#include "thinair/geodesic.h"

enum { LARGEST = 64 * 1024 };

static void check_taken(const ta_course *course) {
  double distance_m = 0.0;
  bool road = false;
  HOLDS(course->count >= 2 && course->point != NULL);
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *b = &course->point[i], *a = b - 1;
    HOLDS(b->has_position && fabs(b->latitude_deg) <= 90.0 && fabs(b->longitude_deg) <= 180.0);
    HOLDS(b->elevation_m >= -500.0 && b->elevation_m <= 6500.0);
    HOLDS(b->mark == NULL || (b->mark[0] != '\0' && strlen(b->mark) <= 300));
    if (i == 0) {
      HOLDS(b->distance_m == 0.0 && !b->after_gap);
      continue;
    }
    HOLDS(b->distance_m > a->distance_m);
    road = road || !b->after_gap;
    distance_m += b->after_gap ? 0.01
                               : ta_geodesic_distance(a->latitude_deg, a->longitude_deg,
                                                      b->latitude_deg, b->longitude_deg);
  }
  HOLDS(road);
  HOLDS(fabs(distance_m - course->point[course->count - 1].distance_m) <= 1e-9 * distance_m);
}

static void check_smoothed(ta_course *course) {
  const ta_course_point *point = course->point;
  const size_t last = course->count - 1;
  double low, high, low_after, high_after;
  const double first_m = point[0].elevation_m, last_m = point[last].elevation_m;
  ta_smoothing_residual residual;
  ta_course_range(course, &low, &high);
  HOLDS(ta_course_smooth(course, 50.0, &residual) == TA_OK);
  ta_course_range(course, &low_after, &high_after);
  HOLDS(point[0].elevation_m == first_m && point[last].elevation_m == last_m);
  HOLDS(high_after == high && isfinite(low_after));
  HOLDS(residual.residual_rms_m <= residual.residual_max_m * (1.0 + 1e-9));
}

static void check_said(const ta_diagnostics *diagnostics, int lines) {
  for (size_t i = 0; i < diagnostics->count; i++) {
    const ta_diagnostic *item = &diagnostics->item[i];
    HOLDS(item->text[0] != '\0' && strcmp(item->place.file, "road.gpx") == 0);
    HOLDS(item->place.line >= 1 && item->place.line <= lines && item->place.column >= 1);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_course course = {NULL, 0};
  if (size > LARGEST) return 0;
  char *text = malloc(size > 0 ? size : 1); /* exact: reading past the end is noticed */
  if (text == NULL) return 0;
  if (size > 0) memcpy(text, bytes, size);
  int lines = 1;
  for (size_t i = 0; i < size; i++) lines += text[i] == '\n' || text[i] == '\r';
  memset(&event, 0, sizeof event);
  ta_diagnostics_clear(&diagnostics);
  const ta_status status = ta_gpx_read("road.gpx", text, size, &event, &course, &diagnostics);
  free(text);
  check_said(&diagnostics, lines);
  if (status == TA_OK) {
    HOLDS(diagnostics.errors == 0);
    check_taken(&course);
    check_smoothed(&course);
  } else {
    HOLDS(status == TA_ERR_INPUT && diagnostics.errors > 0);
    HOLDS(course.point == NULL && course.count == 0);
  }
  ta_event_free(&event);
  return 0;
}
