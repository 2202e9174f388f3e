/* fuzz_csv.c - bytes to a course table.
 *
 * Property  What is taken has distances that rise and elevations that can be; written as CSV it is
 *           read again as the same course.  What is refused has an error with a place inside the
 *           file, and leaves nothing. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "fuzz.h"
#include "thinair/event_reader.h"
#include "thinair/report.h"

enum { LARGEST = 64 * 1024 };

static ta_diagnostics diagnostics;

static ta_status read_course(const char *bytes, size_t size, ta_event *event) {
  ta_diagnostics_clear(&diagnostics);
  return ta_event_read_part_bytes("course", "road.csv", bytes, size, event, &diagnostics);
}

static void check_refused(const ta_event *event, int lines) {
  static const ta_event nothing;
  HOLDS(diagnostics.errors > 0 && diagnostics.count > 0);
  HOLDS(memcmp(event, &nothing, sizeof nothing) == 0);
  for (size_t i = 0; i < diagnostics.count; i++) {
    const ta_diagnostic *item = &diagnostics.item[i];
    HOLDS(item->text[0] != '\0' && strncmp(item->key, "course", 6) == 0);
    HOLDS(strcmp(item->place.file, "road.csv") == 0 && item->place.column >= 1);
    HOLDS(item->place.line >= 1 && item->place.line <= lines);
  }
}

/* Twelve digits keep the points apart, and the steepest grade below what is taken. */
static bool survives_rounding(const ta_course *course) {
  for (size_t i = 1; i < course->count; i++) {
    const ta_course_point *a = &course->point[i - 1], *b = &course->point[i];
    const double step_m = b->distance_m - a->distance_m;
    if (step_m < 1e-6 * (fabs(a->distance_m) + fabs(b->distance_m)) + 1e-6 ||
        fabs(b->elevation_m - a->elevation_m) > 0.49 * step_m)
      return false;
  }
  return true;
}

/* Blanks around a cell are the table's, not the mark's. */
static bool same_mark(const char *a, const char *b) {
  if (a == NULL) a = "";
  if (b == NULL) b = "";
  a += strspn(a, " ");
  size_t n = strlen(a);
  while (n > 0 && a[n - 1] == ' ') n--;
  b += strspn(b, " ");
  size_t m = strlen(b);
  while (m > 0 && b[m - 1] == ' ') m--;
  return n == m && memcmp(a, b, n) == 0;
}

static void check_written(const ta_event *event, ta_unit_system units) {
  const ta_style style = {.format = TA_FORMAT_CSV, .units = units, .colour = false, .version = "0"};
  ta_buffer out = {0};
  ta_event again;
  ta_report_course(event, &diagnostics, &style, &out);
  HOLDS(!out.failed && out.text != NULL);
  HOLDS(read_course(out.text, out.length, &again) == TA_OK);
  HOLDS(again.course.count == event->course.count);
  for (size_t i = 0; i < again.course.count; i++) {
    const ta_course_point *a = &event->course.point[i], *b = &again.course.point[i];
    HOLDS(fabs(a->distance_m - b->distance_m) <= 1e-11 * fabs(a->distance_m));
    HOLDS(fabs(a->elevation_m - b->elevation_m) <= 1e-11 * fabs(a->elevation_m));
    HOLDS(same_mark(a->mark, b->mark));
  }
  ta_event_free(&again);
  ta_buffer_free(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  ta_event event;
  if (size > LARGEST) return 0;
  char *text = malloc(size > 0 ? size : 1); /* exact: reading past the end is noticed */
  if (text == NULL) return 0;
  if (size > 0) memcpy(text, bytes, size);
  int lines = 2; /* what a file lacks at its end may be told on the line behind it */
  for (size_t i = 0; i < size; i++) lines += text[i] == '\n' || text[i] == '\r';
  const ta_status status = read_course(text, size, &event);
  free(text);
  HOLDS(status == TA_OK || status == TA_ERR_INPUT);
  if (status == TA_OK) {
    const ta_course *course = &event.course;
    HOLDS(course->count >= 2);
    for (size_t i = 0; i < course->count; i++) {
      HOLDS(i == 0 || course->point[i].distance_m > course->point[i - 1].distance_m);
      HOLDS(course->point[i].elevation_m >= -501.0 && course->point[i].elevation_m <= 6501.0);
    }
    if (survives_rounding(course)) {
      check_written(&event, TA_METRIC);
      check_written(&event, TA_US);
    }
  } else {
    check_refused(&event, lines);
  }
  ta_event_free(&event);
  return 0;
}
