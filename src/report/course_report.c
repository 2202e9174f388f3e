/* course_report.c - a course summed up, and converted. */
#include <math.h>
#include <stdlib.h>

#include "sentences.h"
#include "thinair/course_shape.h"
#include "thinair/report.h"

typedef struct {
  double distance_m, elevation_m, grade;
  const char *mark;
} point_row;

#define NUMBER(name, show, member) \
  { name, name, TA_CELL_NUMBER, show, offsetof(point_row, member) }
static const ta_column columns[] = {
    NUMBER("distance", TA_SHOW_DISTANCE, distance_m),
    NUMBER("elevation", TA_SHOW_ELEVATION, elevation_m),
    {"mark", "mark", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(point_row, mark)},
};
static const ta_column mark_columns[] = {
    NUMBER("distance", TA_SHOW_DISTANCE, distance_m),
    NUMBER("elevation", TA_SHOW_ELEVATION, elevation_m),
    NUMBER("grade", TA_SHOW_PERCENT, grade),
    {"mark", "mark", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(point_row, mark)},
};

static void marks_json(ta_json *json, const ta_course *course) {
  ta_json_open(json, "marks", '[');
  for (size_t i = 0; i < course->count; i++) {
    if (course->point[i].mark == NULL) continue;
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "distance_m", course->point[i].distance_m);
    ta_json_number(json, "elevation_m", course->point[i].elevation_m);
    ta_json_text(json, "mark", course->point[i].mark);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void json_report(const ta_course *course, const ta_course_summary *sum, double smoothing_m,
                        const ta_smoothing_residual *residual, const ta_warnings *warnings,
                        const ta_style *style, ta_buffer *out) {
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_number(&json, "points", (double)course->count);
  ta_json_number(&json, "distance_m", sum->distance_m);
  ta_json_number(&json, "ascent_m", sum->ascent_m);
  ta_json_number(&json, "descent_m", sum->descent_m);
  ta_json_number(&json, "min_elevation_m", sum->min_elevation_m);
  ta_json_number(&json, "max_elevation_m", sum->max_elevation_m);
  ta_json_number(&json, "steepest_grade", sum->steepest_grade);
  ta_json_number(&json, "tightest_radius_m", sum->tightest_radius_m);
  if (smoothing_m > 0.0) {
    ta_json_number(&json, "smoothing_m", smoothing_m);
    ta_json_number(&json, "residual_rms_m", residual->residual_rms_m);
    ta_json_number(&json, "residual_max_m", residual->residual_max_m);
  } else {
    ta_json_null(&json, "smoothing_m");
    ta_json_null(&json, "residual_rms_m");
    ta_json_null(&json, "residual_max_m");
  }
  ta_json_number(&json, "segments", (double)sum->segments);
  marks_json(&json, course);
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}

/* Quoted as YAML wants it: double quotes, with those inside and backslashes escaped. */
static void yaml_text(ta_buffer *out, const char *text) {
  ta_buffer_add(out, "\"");
  for (; *text != '\0'; text++)
    ta_buffer_add(out, *text == '"' || *text == '\\' ? "\\%c" : "%c", *text);
  ta_buffer_add(out, "\"");
}

static void yaml_report(const ta_course *course, ta_buffer *out) {
  ta_buffer_add(out, "columns: {distance: m, elevation: m, mark: text}\nrows:\n");
  for (size_t i = 0; i < course->count; i++) {
    ta_buffer_add(out, "  - [%.12g, %.12g, ", course->point[i].distance_m,
                  course->point[i].elevation_m);
    if (course->point[i].mark != NULL)
      yaml_text(out, course->point[i].mark);
    else
      ta_buffer_add(out, "~");
    ta_buffer_add(out, "]\n");
  }
}

static void text_report(const ta_course *course, const ta_course_summary *sum, double smoothing_m,
                        const ta_smoothing_residual *residual, const ta_table *marks,
                        const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  const ta_unit_system units = style->units;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], d[TA_SHOWN_MAX];
  ta_buffer_add(out, "%s of road, from %s to %s, highest %s\n",
                ta_show_quantity(TA_SHOW_DISTANCE, units, 2, sum->distance_m, a),
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1, course->point[0].elevation_m, b),
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1,
                                 course->point[course->count - 1].elevation_m, c),
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1, sum->max_elevation_m, d));
  ta_buffer_add(out, "%zu points in %zu segment%s; ascent %s, descent %s; steepest %.1f %%\n",
                course->count, sum->segments, sum->segments == 1 ? "" : "s",
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1, sum->ascent_m, a),
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1, sum->descent_m, b),
                100.0 * sum->steepest_grade);
  if (isfinite(sum->tightest_radius_m))
    ta_buffer_add(out, "tightest corner about %s, over %s of road or more\n",
                  ta_show_quantity(TA_SHOW_ELEVATION, units, -1, sum->tightest_radius_m, a),
                  ta_show_quantity(TA_SHOW_ELEVATION, units, -1, TA_CORNER_LENGTH_M, b));
  if (smoothing_m > 0.0)
    ta_buffer_add(out,
                  "elevations smoothed over %s: what was taken off is %.2f m rms, %.2f m at most\n",
                  ta_show_quantity(TA_SHOW_ELEVATION, units, -1, smoothing_m, a),
                  residual->residual_rms_m, residual->residual_max_m);
  else
    ta_buffer_add(out, "elevations as given\n");
  if (marks->row_count > 0) {
    ta_buffer_add(out, "\n");
    ta_table_text(marks, units, out);
  }
  ta_warnings_text(warnings, out);
}

void ta_report_course(const ta_event *event, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out) {
  const ta_course *course = &event->course;
  const double length_m = event->has_course_smoothing ? event->course_smoothing_m : 50.0;
  point_row *rows = calloc(2 * course->count, sizeof *rows), *marks = rows + course->count;
  ta_warnings warnings;
  size_t marked = 0;
  if (rows == NULL) {
    out->failed = true;
    return;
  }
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *point = &course->point[i];
    rows[i] = (point_row){
        .distance_m = point->distance_m, .elevation_m = point->elevation_m, .mark = point->mark};
    if (point->mark == NULL) continue;
    marks[marked] = rows[i];
    marks[marked++].grade = ta_course_grade(course, point->distance_m, length_m);
  }
  const ta_course_summary sum = ta_course_sum_up(course, length_m);
  const double smoothing_m = event->has_course_smoothing ? event->course_smoothing_m : 0.0;
  ta_warnings_collect(NULL, NULL, diagnostics, style->units, &warnings);
  if (style->format == TA_FORMAT_JSON) {
    json_report(course, &sum, smoothing_m, &event->course_residual, &warnings, style, out);
  } else if (style->format == TA_FORMAT_CSV) {
    const ta_table table = {columns, sizeof columns / sizeof columns[0], rows, course->count,
                            sizeof *rows};
    ta_table_csv(&table, style->units, out);
  } else if (style->format == TA_FORMAT_YAML) {
    yaml_report(course, out);
  } else {
    const ta_table table = {mark_columns, sizeof mark_columns / sizeof mark_columns[0], marks,
                            marked, sizeof *marks};
    text_report(course, &sum, smoothing_m, &event->course_residual, &table, &warnings, style, out);
  }
  free(rows);
}
