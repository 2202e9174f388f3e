/* terminal_profile.c - the course as a terminal can draw it. */
#include "terminal_profile.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "display.h"
#include "table.h"

enum { NARROWEST = 40, COLUMNS_MAX = 240, LABEL = 11, ROWS = 3, EIGHTHS = 8 };
static const double SHAFT_FLOOR = 0.75; /* of the limit: where the shaft's blocks begin */

typedef struct {
  size_t count;
  double elevation_m[COLUMNS_MAX];
  double shaft[COLUMNS_MAX]; /* over the limit; INFINITY past what the map can tell */
} columns;

static void take(const ta_prepared *prepared, const ta_plan *plan, columns *c, size_t i,
                 double elevation_m) {
  c->elevation_m[i] = fmax(c->elevation_m[i], elevation_m);
  c->shaft[i] =
      fmax(c->shaft[i], ta_profile_shaft(&plan->profile, elevation_m) / prepared->limit_rpm);
}

/* The fastest shaft of each column's stretch of road, and its highest ground. */
static void fill(const ta_prepared *prepared, const ta_plan *plan, columns *c) {
  enum { SAMPLES = 8 };
  const ta_course *course = &prepared->event->course;
  const double start_m = course->point[0].distance_m,
               length_m = course->point[course->count - 1].distance_m - start_m;
  for (size_t i = 0; i < c->count; i++) {
    c->elevation_m[i] = -HUGE_VAL;
    c->shaft[i] = 0.0;
    for (int k = 0; k <= SAMPLES; k++) {
      const double at_m = start_m + length_m * ((double)i + (double)k / SAMPLES) / (double)c->count;
      take(prepared, plan, c, i, ta_course_elevation(course, at_m));
    }
  }
  for (size_t k = 0; k < course->count; k++) { /* a crest may be shorter than the samples */
    const double column = (course->point[k].distance_m - start_m) / length_m * (double)c->count;
    const size_t i = column < (double)c->count ? (size_t)column : c->count - 1;
    take(prepared, plan, c, i, course->point[k].elevation_m);
  }
}

/* One row of blocks out of ROWS, the top one first; `high` is 0 to 1. */
static void block_row(const columns *c, const double *value, double low, double high, int row,
                      const ta_style *style, ta_buffer *out) {
  static const char *const blocks[] = {" ",      "\u2581", "\u2582", "\u2583", "\u2584",
                                       "\u2585", "\u2586", "\u2587", "\u2588"};
  bool bold = false;
  for (size_t i = 0; i < c->count; i++) {
    const double share = fmin(fmax((value[i] - low) / (high - low), 0.0), 1.0);
    const int eighths = (int)floor(share * ROWS * EIGHTHS + 0.5) - (ROWS - 1 - row) * EIGHTHS;
    const bool over = style->colour && c->shaft[i] > 1.0;
    if (over != bold) ta_buffer_add(out, over ? "\033[1m" : "\033[0m");
    bold = over;
    ta_buffer_add(out, "%s", blocks[eighths < 0 ? 0 : eighths > EIGHTHS ? EIGHTHS : eighths]);
  }
  ta_buffer_add(out, "%s\n", bold ? "\033[0m" : "");
}

static void chart(const char *label, const char *top, const char *bottom, const columns *c,
                  const double *value, double low, double high, const ta_style *style,
                  ta_buffer *out) {
  for (int row = 0; row < ROWS; row++) {
    ta_buffer_add(out, "%-*s", LABEL, row == 0 ? top : row == ROWS - 1 ? bottom : label);
    block_row(c, value, low, high, row, style, out);
  }
}

/* Names under their places, each where there is room for it. */
static void marks(const ta_course *course, size_t count, ta_buffer *out) {
  const double start_m = course->point[0].distance_m,
               length_m = course->point[course->count - 1].distance_m - start_m;
  size_t at = 0, last = 0;
  for (size_t i = 0; i < course->count; i++)
    if (course->point[i].mark != NULL) last = i;
  const size_t last_width =
      course->point[last].mark != NULL ? (size_t)ta_text_width(course->point[last].mark) : 0;
  ta_buffer_add(out, "%-*s", LABEL, "");
  for (size_t i = 0; i <= last; i++) {
    const ta_course_point *point = &course->point[i];
    if (point->mark == NULL) continue;
    const size_t width = (size_t)ta_text_width(point->mark);
    size_t column = (size_t)((double)(count - 1) * (point->distance_m - start_m) / length_m);
    if (width > count) continue;
    if (column + width > count) column = count - width;
    /* the last one, the summit mostly, keeps its room */
    if ((at > 0 && column < at + 1) || (i < last && column + width + 1 + last_width > count))
      continue;
    ta_buffer_add(out, "%*s%s", (int)(column - at), "", point->mark);
    at = column + width;
  }
  ta_buffer_add(out, "\n");
}

void ta_terminal_profile(const ta_prepared *prepared, const ta_plan *plan, const ta_style *style,
                         ta_buffer *out) {
  const int width = style->width < COLUMNS_MAX + LABEL ? style->width : COLUMNS_MAX + LABEL;
  if (width < NARROWEST) return;
  columns c = {.count = (size_t)(width - LABEL)};
  const double rated = prepared->event->car.turbo.rated_rpm / prepared->limit_rpm;
  double low_m, high_m, fastest = rated;
  char top[TA_SHOWN_MAX], bottom[TA_SHOWN_MAX];
  fill(prepared, plan, &c);
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  for (size_t i = 0; i < c.count; i++)
    if (isfinite(c.shaft[i])) fastest = fmax(fastest, c.shaft[i]);
  ta_buffer_add(out, "\n");
  (void)snprintf(top, sizeof top, "%.0f %%", 100.0 * fastest);
  (void)snprintf(bottom, sizeof bottom, "%.0f %%", 100.0 * SHAFT_FLOOR);
  chart("of limit", top, bottom, &c, c.shaft, SHAFT_FLOOR, fastest, style, out);
  ta_buffer_add(out, "%-*s", LABEL, "over");
  size_t last = 0;
  bool past_rated = false;
  for (size_t i = 0; i < c.count; i++) {
    if (c.shaft[i] > 1.0) last = i + 1;
    past_rated = past_rated || c.shaft[i] > rated;
  }
  for (size_t i = 0; i < last; i++)
    ta_buffer_add(out, "%s", c.shaft[i] > rated ? "#" : c.shaft[i] > 1.0 ? "^" : " ");
  ta_buffer_add(out, "%s\n", last > 0 ? "" : "nowhere");
  (void)ta_show_quantity(TA_SHOW_ELEVATION, style->units, -1, high_m, top);
  (void)ta_show_quantity(TA_SHOW_ELEVATION, style->units, -1, low_m, bottom);
  /* a flat course is ground all the same */
  chart("ground", top, bottom, &c, c.elevation_m, low_m - 0.1 * (high_m - low_m) - 1.0, high_m,
        style, out);
  marks(&prepared->event->course, c.count, out);
  if (last > 0)
    ta_buffer_add(out, "%-*s^ past limit%s\n", LABEL, "", past_rated ? ", # past rated" : "");
}
