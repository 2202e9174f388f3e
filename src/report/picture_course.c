/* picture_course.c - the shaft along the course: the ground below, speeds above.
 *
 * Method    The course is read at even steps of distance and at the highest and lowest of its points
 *           in each of them, so that 100,000 points draw as fast as 100.
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "picture_parts.h"
#include "plan_view.h"

enum { CAP_NODES = 97, STRETCHES_LABELLED = 4, MARKS_DRAWN = 40, LEVEL_SPOTS = 13 };
static const double STEP_PX = 2.0;
static const double GROUND_SHARE = 0.39; /* of the height */
static const double JUST_BEFORE_M = 1e-3;
static const double MARKS_APART_EM = 1.5;

/* One place along the course. */
typedef struct {
  double distance_m, elevation_m;
  double shaft_rpm;  /* at the full target */
  double capped_rpm; /* under the best cap; NaN: none */
  bool is_estimate;  /* off the compressor map */
  ta_zone zone;      /* of an estimate: on which side */
} place;

typedef struct {
  place *at;
  size_t count;
  ta_strategy cap;
  bool has_cap;
} course_line;

/* ---- where it is read ------------------------------------------------------------------------- */

static int by_distance(const void *a, const void *b) {
  const double x = ((const place *)a)->distance_m, y = ((const place *)b)->distance_m;
  return (x > y) - (x < y);
}

static void add_place(course_line *line, const ta_course *course, double distance_m) {
  line->at[line->count++] =
      (place){.distance_m = distance_m, .elevation_m = ta_course_elevation(course, distance_m)};
}

/* The lowest and the highest point of the course in every step. */
static void add_course_points(course_line *line, const ta_course *course, double step_m) {
  const ta_course_point *point = course->point;
  for (size_t i = 0; i < course->count;) {
    const double cell = floor((point[i].distance_m - point[0].distance_m) / step_m);
    size_t low = i, high = i, k = i;
    for (; k < course->count && floor((point[k].distance_m - point[0].distance_m) / step_m) == cell;
         k++) {
      if (point[k].elevation_m < point[low].elevation_m) low = k;
      if (point[k].elevation_m > point[high].elevation_m) high = k;
    }
    line->at[line->count++] =
        (place){.distance_m = point[low].distance_m, .elevation_m = point[low].elevation_m};
    if (high != low)
      line->at[line->count++] =
          (place){.distance_m = point[high].distance_m, .elevation_m = point[high].elevation_m};
    i = k;
  }
}

/* ---- what is read ----------------------------------------------------------------------------- */

/* Shaft speed under the cap at even elevations, for one part of the course. */
static void cap_nodes(const ta_prepared *prepared, const ta_plan *plan, ta_strategy cap,
                      double distance_m, const double range_m[2], double *shaft_rpm) {
  const ta_speed_range speeds = ta_strategy_speeds(prepared, &plan->caps, cap);
  for (size_t i = 0; i < CAP_NODES; i++) {
    const double elevation_m =
        range_m[0] + (range_m[1] - range_m[0]) * (double)i / (double)(CAP_NODES - 1);
    ta_judged worst = {.shaft_rpm = (double)NAN};
    if (i > 0 && !(range_m[1] > range_m[0]))
      worst.shaft_rpm = shaft_rpm[0];
    else if (!ta_judged_at(prepared, plan, cap, speeds, distance_m, elevation_m, &worst))
      worst.shaft_rpm = (double)NAN;
    shaft_rpm[i] = worst.shaft_rpm;
  }
}

static double between_nodes(const double *node, const double range_m[2], double elevation_m) {
  if (!(range_m[1] > range_m[0])) return node[0];
  const double x = (elevation_m - range_m[0]) / (range_m[1] - range_m[0]) * (CAP_NODES - 1),
               inside = fmin(fmax(x, 0.0), (double)(CAP_NODES - 1));
  const size_t i = inside < CAP_NODES - 1 ? (size_t)inside : CAP_NODES - 2;
  return node[i] + (inside - (double)i) * (node[i + 1] - node[i]);
}

static void read_cap(const ta_prepared *prepared, const ta_plan *plan, course_line *line) {
  double node[CAP_NODES], range_m[2];
  const ta_positions *positions = &plan->caps.positions;
  const size_t parts = line->has_cap && line->cap == TA_BY_POSITION ? positions->count : 1;
  size_t next = 0;
  ta_course_range(&prepared->event->course, &range_m[0], &range_m[1]);
  for (size_t part = 0; part < parts; part++) {
    const double from_m = line->at[next].distance_m,
                 to_m = part + 1 < parts ? positions->position[part + 1].from_distance_m : HUGE_VAL;
    if (line->has_cap) cap_nodes(prepared, plan, line->cap, from_m, range_m, node);
    for (; next < line->count && line->at[next].distance_m < to_m; next++)
      line->at[next].capped_rpm =
          line->has_cap ? between_nodes(node, range_m, line->at[next].elevation_m) : (double)NAN;
  }
}

static void read_target(const ta_plan *plan, course_line *line) {
  for (size_t i = 0; i < line->count; i++) {
    place *p = &line->at[i];
    const ta_operating_point *below, *above;
    double share;
    ta_profile_between(&plan->profile, p->elevation_m, &below, &above, &share);
    const ta_operating_point *nearer = share < 0.5 ? below : above;
    const double beyond =
        below->beyond_top_line + share * (above->beyond_top_line - below->beyond_top_line);
    p->shaft_rpm = ta_profile_shaft(&plan->profile, p->elevation_m);
    p->is_estimate = nearer->zone == TA_EXTRAPOLATED || nearer->zone == TA_MAPPED
                         ? beyond > 0.0
                         : nearer->zone != TA_MAPPED;
    p->zone = nearer->zone == TA_MAPPED ? TA_EXTRAPOLATED : nearer->zone;
  }
}

/* @return false when there is no memory. */
static bool line_make(const ta_prepared *prepared, const ta_plan *plan, double width_px,
                      course_line *line) {
  const ta_course *course = &prepared->event->course;
  const ta_over *over = &plan->over;
  const double from_m = course->point[0].distance_m,
               length_m = course->point[course->count - 1].distance_m - from_m;
  const size_t steps = (size_t)(width_px / STEP_PX);
  const double step_m = length_m / (double)steps;
  const ta_positions *positions = &plan->caps.positions;
  line->count = 0;
  line->has_cap = ta_best_cap(plan, &line->cap);
  line->at = malloc((3 * steps + 8 + 2 * over->count + 2 * positions->count) * sizeof *line->at);
  if (line->at == NULL) return false;
  for (size_t i = 0; i <= steps; i++)
    add_place(line, course, fmin(from_m + step_m * (double)i, from_m + length_m));
  add_course_points(line, course, step_m);
  for (size_t i = 0; i < over->count; i++) {
    add_place(line, course, over->stretch[i].from_distance_m);
    add_place(line, course, over->stretch[i].to_distance_m);
  }
  for (size_t i = 1; line->has_cap && line->cap == TA_BY_POSITION && i < positions->count; i++) {
    add_place(line, course, positions->position[i].from_distance_m - JUST_BEFORE_M);
    add_place(line, course, positions->position[i].from_distance_m);
  }
  qsort(line->at, line->count, sizeof *line->at, by_distance);
  read_target(plan, line);
  read_cap(prepared, plan, line);
  return true;
}

/* ---- words ------------------------------------------------------------------------------------ */

/* "16.4 km (2,732 m)" */
static const char *short_place(const ta_sheet *sheet, double distance_m, double elevation_m,
                               char text[TA_SENTENCE_MAX]) {
  char km[TA_SHOWN_MAX], height[TA_SHOWN_MAX];
  (void)snprintf(text, TA_SENTENCE_MAX, "%s (%s)",
                 ta_show_quantity(TA_SHOW_DISTANCE, sheet->units, 1, distance_m, km),
                 ta_show_quantity(TA_SHOW_ELEVATION, sheet->units, 0, elevation_m, height));
  return text;
}

static void say_headline(const ta_sheet *sheet, char text[TA_SENTENCE_MAX]) {
  const ta_plan *plan = sheet->plan;
  const ta_over *over = &plan->over;
  const ta_course *course = &sheet->prepared->event->course;
  const bool is_cut = sheet->prepared->event->is_cut;
  char from[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
  if (over->count > 0) {
    const ta_stretch *s = &over->stretch[0];
    if (over->starts_over)
      (void)snprintf(from, sizeof from, is_cut ? "where the part begins" : "the start");
    else
      (void)short_place(sheet, s->from_distance_m, s->from_elevation_m, from);
    if (s->to_distance_m < course->point[course->count - 1].distance_m)
      (void)short_place(sheet, s->to_distance_m, s->to_elevation_m, to);
    else
      (void)snprintf(to, sizeof to, is_cut ? "the end of the part" : "the finish");
    if (over->count > 1)
      (void)snprintf(text, TA_SENTENCE_MAX, "Over the limit on %zu stretches, the first from %s",
                     over->count, from);
    else
      (void)snprintf(text, TA_SENTENCE_MAX, "Over the limit from %s to %s", from, to);
    return;
  }
  (void)snprintf(text, TA_SENTENCE_MAX, "%s",
                 plan->verdict == TA_CANNOT_HOLD  ? "The turbine cannot drive the target"
                 : plan->verdict == TA_CANNOT_CAP ? "The wastegate's spring gives more than the cap"
                 : plan->verdict == TA_CLEAR
                     ? "Within the limit as described, all the way"
                     : "Not over the limit, but not enough is known to call it within");
}

static void say_description(const ta_sheet *sheet, char text[TA_SENTENCE_MAX]) {
  const ta_plan *plan = sheet->plan;
  const ta_placed_point *worst = &plan->over.worst;
  const ta_course *course = &sheet->prepared->event->course;
  char limit[TA_SHOWN_MAX], shaft[TA_SHOWN_MAX + 30], place_text[TA_SENTENCE_MAX],
      low[TA_SHOWN_MAX], high[TA_SHOWN_MAX], first[TA_SENTENCE_MAX / 2] = "nowhere";
  double low_m, high_m;
  ta_course_range(course, &low_m, &high_m);
  if (isfinite(worst->point.shaft_rpm))
    (void)ta_show_quantity(TA_SHOW_RPM, sheet->units, -1, worst->point.shaft_rpm, shaft);
  else
    (void)snprintf(shaft, sizeof shaft, "more than the map can name");
  if (plan->over.count > 0)
    (void)snprintf(first, sizeof first, "first at %s",
                   short_place(sheet, plan->over.stretch[0].from_distance_m,
                               plan->over.stretch[0].from_elevation_m, place_text));
  (void)ta_say_place(course, sheet->units, worst->distance_m, worst->elevation_m, place_text);
  (void)snprintf(text, TA_SENTENCE_MAX,
                 "Shaft speed at the full target along the course, from %s to %s of elevation: it "
                 "passes the limit of %s %s and is highest, %s, at %s.",
                 ta_show_quantity(TA_SHOW_ELEVATION, sheet->units, 0, low_m, low),
                 ta_show_quantity(TA_SHOW_ELEVATION, sheet->units, 0, high_m, high),
                 ta_show_quantity(TA_SHOW_RPM, sheet->units, -1, sheet->prepared->limit_rpm, limit),
                 first, shaft, place_text);
}

/* ---- drawing ---------------------------------------------------------------------------------- */

typedef struct {
  ta_sheet *sheet;
  const course_line *line;
  ta_frame speed, ground;
  ta_xy *point; /* room for one line */
} panel;

typedef double (*reader)(const panel *p, size_t i);

static double read_ground(const panel *p, size_t i) {
  return ta_sheet_value(p->sheet, TA_SHOW_ELEVATION, p->line->at[i].elevation_m);
}

static double read_capped(const panel *p, size_t i) {
  return p->line->at[i].capped_rpm;
}

static bool is_estimate(const panel *p, size_t i) {
  return p->line->at[i].is_estimate;
}

static double read_firm(const panel *p, size_t i) {
  return is_estimate(p, i) ? (double)NAN : p->line->at[i].shaft_rpm;
}

/* One place more at each end, so that it meets the firm line. */
static double read_soft(const panel *p, size_t i) {
  const bool near = is_estimate(p, i) || (i > 0 && is_estimate(p, i - 1)) ||
                    (i + 1 < p->line->count && is_estimate(p, i + 1));
  return near ? p->line->at[i].shaft_rpm : (double)NAN;
}

static double read_shaft(const panel *p, size_t i) {
  return fmin(p->line->at[i].shaft_rpm, p->speed.y.to);
}

/* Fills p->point from some places on. */
static size_t trace(const panel *p, const ta_frame *frame, reader read, double from_m,
                    double to_m) {
  size_t count = 0;
  for (size_t i = 0; i < p->line->count; i++) {
    const double d = p->line->at[i].distance_m;
    if (d < from_m || d > to_m) continue;
    p->point[count++] = (ta_xy){ta_sheet_value(p->sheet, TA_SHOW_DISTANCE, d), read(p, i)};
  }
  return ta_points_thin(frame, p->point, count);
}

static size_t whole(const panel *p, const ta_frame *frame, reader read) {
  return trace(p, frame, read, -HUGE_VAL, HUGE_VAL);
}

/* Between the line in p->point and a value below it. */
static void keep_area_clear(const panel *p, const ta_frame *frame, size_t count, double base) {
  ta_svg *svg = &p->sheet->svg;
  for (size_t i = 1; i < count; i++) {
    const ta_xy a = ta_frame_place(frame, p->point[i - 1]), b = ta_frame_place(frame, p->point[i]);
    const double foot = ta_frame_place(frame, (ta_xy){0.0, base}).y;
    const int pieces = isfinite(b.y - a.y) ? (int)ceil((b.x - a.x) / svg->text_px) : 0;
    for (int k = 0; k < pieces; k++) {
      const double from = (double)k / pieces, to = (double)(k + 1) / pieces;
      ta_svg_keep_clear(
          svg, (ta_rect){a.x + from * (b.x - a.x), a.y + fmin(from * (b.y - a.y), to * (b.y - a.y)),
                         a.x + to * (b.x - a.x), foot});
    }
  }
}

static void draw_line(const panel *p, const char *name, ta_role role, reader read) {
  ta_svg *svg = &p->sheet->svg;
  const size_t count = whole(p, &p->speed, read);
  ta_svg_part(svg, name);
  ta_svg_line(svg, &p->speed, role, p->point, count);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->speed, p->point, count);
}

static void draw_ground(const panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_over *over = &p->sheet->plan->over;
  size_t count = whole(p, &p->ground, read_ground);
  ta_svg_area(svg, &p->ground, TA_ROLE_GROUND, TA_TINT, p->point, count, p->ground.y.from);
  ta_svg_part(svg, "over-ground");
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *s = &over->stretch[i];
    count = trace(p, &p->ground, read_ground, s->from_distance_m, s->to_distance_m);
    ta_svg_area(svg, &p->ground, TA_ROLE_OVER_LIMIT, TA_HATCH, p->point, count, p->ground.y.from);
  }
  ta_svg_part_end(svg);
  count = whole(p, &p->ground, read_ground);
  ta_svg_part(svg, "ground");
  ta_svg_line(svg, &p->ground, TA_ROLE_GROUND, p->point, count);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->ground, p->point, count);
}

static void draw_over(const panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_over *over = &p->sheet->plan->over;
  ta_svg_part(svg, "over");
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *s = &over->stretch[i];
    const size_t count = trace(p, &p->speed, read_shaft, s->from_distance_m, s->to_distance_m);
    ta_svg_area(svg, &p->speed, TA_ROLE_OVER_LIMIT, TA_HATCH, p->point, count,
                p->sheet->prepared->limit_rpm);
  }
  ta_svg_part_end(svg);
}

static void keep_hatch_clear(const panel *p) {
  const ta_over *over = &p->sheet->plan->over;
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *s = &over->stretch[i];
    keep_area_clear(p, &p->speed,
                    trace(p, &p->speed, read_shaft, s->from_distance_m, s->to_distance_m),
                    p->sheet->prepared->limit_rpm);
  }
}

static void draw_level(const panel *p, const char *name, ta_role role, double rpm, ta_xy line[2]) {
  ta_svg *svg = &p->sheet->svg;
  line[0] = (ta_xy){p->speed.x.from, rpm};
  line[1] = (ta_xy){p->speed.x.to, rpm};
  ta_svg_part(svg, name);
  ta_svg_line(svg, &p->speed, role, line, 2);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->speed, line, 2);
}

/* On one side of a level, from the left on, where nothing is covered. */
static bool label_along(const panel *p, ta_role role, double rpm, bool is_above, const char *text) {
  ta_svg *svg = &p->sheet->svg;
  const ta_rect *plot = &p->speed.plot,
                within = {plot->left, p->sheet->top, plot->right, plot->bottom};
  const ta_rect box = ta_svg_text_box(svg, &(ta_lettering){0}, text);
  const double half = 0.5 * (box.right - box.left + svg->text_px),
               off = 0.5 * (box.bottom - box.top) + 1.5,
               y = ta_frame_place(&p->speed, (ta_xy){0.0, rpm}).y + (is_above ? -off : off);
  for (int i = 0; i < LEVEL_SPOTS; i++) {
    const double share = (double)i / (LEVEL_SPOTS - 1),
                 x = plot->left + half + share * (plot->right - plot->left - 2.0 * half);
    if (ta_svg_label_on(svg, role, (ta_xy){x, y}, &within, text)) return true;
  }
  return false;
}

/* Always there, if need be over what is drawn. */
static void label_level(const panel *p, ta_role role, const char *what, double rpm, bool is_above) {
  ta_svg *svg = &p->sheet->svg;
  char text[2 * TA_SHOWN_MAX], shown[TA_SHOWN_MAX];
  const double em = svg->text_px;
  const ta_xy start = ta_frame_place(&p->speed, (ta_xy){p->speed.x.from, rpm});
  const ta_rect within = {p->speed.plot.left, p->sheet->top, p->speed.plot.right,
                          p->ground.plot.top};
  (void)snprintf(text, sizeof text, "%s %s", what,
                 ta_show_quantity(TA_SHOW_RPM, p->sheet->units, -1, rpm, shown));
  if (label_along(p, role, rpm, is_above, text) ||
      ta_svg_label(svg, role, start, is_above ? TA_SIDE_UPPER_RIGHT : TA_SIDE_LOWER_RIGHT, &within,
                   text) ||
      label_along(p, role, rpm, !is_above, text))
    return;
  const ta_lettering label = {{start.x + 0.5 * em, start.y + (is_above ? -0.7 * em : 0.7 * em)},
                              .role = role,
                              .halo = true};
  ta_svg_text(svg, &label, text);
  ta_svg_keep_clear(svg, ta_svg_text_box(svg, &label, text));
}

/* Where a stretch begins, on the limit. */
static ta_xy stretch_start(const panel *p, const ta_stretch *s) {
  return (ta_xy){ta_sheet_value(p->sheet, TA_SHOW_DISTANCE, s->from_distance_m),
                 p->sheet->prepared->limit_rpm};
}

/* A cross on the limit, a line down to the ground, and the place. */
static void label_stretches(const panel *p) {
  ta_sheet *sheet = p->sheet;
  const ta_over *over = &sheet->plan->over;
  char text[TA_SENTENCE_MAX + 20], where[TA_SENTENCE_MAX];
  const size_t most = sheet->is_narrow ? STRETCHES_LABELLED / 2 : STRETCHES_LABELLED,
               count = over->count < most ? over->count : most;
  for (size_t i = 0; i < count; i++) {
    const ta_xy at = stretch_start(p, &over->stretch[i]),
                foot = {at.x, ta_sheet_value(sheet, TA_SHOW_ELEVATION,
                                             over->stretch[i].from_elevation_m)};
    const ta_xy fall[2] = {ta_frame_place(&p->speed, at), ta_frame_place(&p->ground, foot)};
    ta_svg_line(&sheet->svg, NULL, TA_ROLE_MARK, fall, 2);
    ta_svg_keep_line_clear(&sheet->svg, NULL, fall, 2);
  }
  ta_svg_part(&sheet->svg, "over-from");
  for (size_t i = 0; i < count; i++)
    ta_svg_marker(&sheet->svg, &p->speed, TA_ROLE_LIMIT, TA_CROSS,
                  stretch_start(p, &over->stretch[i]), 10.0);
  ta_svg_part_end(&sheet->svg);
  for (size_t i = 0; i < count; i++) {
    const ta_stretch *s = &over->stretch[i];
    if (sheet->is_narrow)
      (void)short_place(sheet, s->from_distance_m, s->from_elevation_m, where);
    else
      (void)ta_say_place(&sheet->prepared->event->course, sheet->units, s->from_distance_m,
                         s->from_elevation_m, where);
    (void)snprintf(text, sizeof text, "over from %s", where);
    const ta_xy spot = ta_frame_place(&p->speed, stretch_start(p, s));
    const bool is_right = spot.x > 0.6 * sheet->svg.width;
    (void)ta_svg_label(&sheet->svg, TA_ROLE_TEXT, spot,
                       is_right ? TA_SIDE_LOWER_LEFT : TA_SIDE_LOWER_RIGHT, &p->speed.plot, text);
  }
}

static void label_worst(const panel *p) {
  ta_sheet *sheet = p->sheet;
  const ta_placed_point *worst = &sheet->plan->over.worst;
  const double shaft = worst->point.shaft_rpm;
  const ta_xy at = {ta_sheet_value(sheet, TA_SHOW_DISTANCE, worst->distance_m),
                    fmin(shaft, p->speed.y.to)};
  const ta_xy spot = ta_frame_place(&p->speed, at);
  char text[3 * TA_SHOWN_MAX], rpm[TA_SHOWN_MAX];
  const ta_rect within = {p->speed.plot.left, sheet->top, p->speed.plot.right,
                          p->speed.plot.bottom};
  if (isfinite(shaft))
    (void)snprintf(text, sizeof text, "%s, %.1f %% of rated",
                   ta_show_quantity(TA_SHOW_RPM, sheet->units, -1, shaft, rpm),
                   100.0 * shaft / sheet->prepared->event->car.turbo.rated_rpm);
  else
    (void)snprintf(text, sizeof text, "off the map: no speed can be named");
  ta_svg_part(&sheet->svg, "worst");
  if (isfinite(shaft))
    ta_svg_marker(&sheet->svg, &p->speed, TA_ROLE_SHAFT_AT_TARGET, TA_DISC, at, 10.0);
  ta_svg_part_end(&sheet->svg);
  (void)ta_svg_label(&sheet->svg, TA_ROLE_TEXT, spot,
                     spot.x > 0.5 * sheet->svg.width ? TA_SIDE_UPPER_LEFT : TA_SIDE_UPPER_RIGHT,
                     &within, text);
}

static const char *say_kind(const place *at) {
  switch (at->zone) {
    case TA_BELOW:
      return "below the lowest line";
    case TA_SURGE:
      return "left of the surge line";
    case TA_CHOKE:
      return "right of the lines' ends";
    default:
      return "past the last line";
  }
}

static ta_xy ring(const panel *p, const place *at) {
  const ta_xy point = {ta_sheet_value(p->sheet, TA_SHOW_DISTANCE, at->distance_m), at->shaft_rpm};
  ta_svg_marker(&p->sheet->svg, &p->speed, TA_ROLE_SHAFT_ESTIMATE, TA_RING, point, 8.0);
  return ta_frame_place(&p->speed, point);
}

/* At its beginning, else its end; in the middle where there is no room. */
static void label_estimate(const panel *p, const place *first, const place *middle, bool begins,
                           bool ends, ta_xy at) {
  ta_svg *svg = &p->sheet->svg;
  char text[TA_SENTENCE_MAX];
  (void)snprintf(text, sizeof text, "%s estimate: %s",
                 begins ? "from here an"
                 : ends ? "to here an"
                        : "an",
                 say_kind(first));
  if (ta_svg_label(svg, TA_ROLE_MUTED, at,
                   begins || ends ? TA_SIDE_UPPER_LEFT : TA_SIDE_UPPER_RIGHT, &p->speed.plot, text))
    return;
  (void)snprintf(text, sizeof text, "an estimate: %s", say_kind(first));
  const ta_xy spot = {ta_sheet_value(p->sheet, TA_SHOW_DISTANCE, middle->distance_m),
                      middle->shaft_rpm};
  (void)ta_svg_label(svg, TA_ROLE_MUTED, ta_frame_place(&p->speed, spot), TA_SIDE_BELOW,
                     &p->speed.plot, text);
}

/* Where the line becomes an estimate and where it ends to be one, and of which kind. */
static void label_estimates(const panel *p) {
  const course_line *line = p->line;
  size_t labelled = 0;
  ta_svg_part(&p->sheet->svg, "estimates");
  for (size_t i = 0; i < line->count && labelled < STRETCHES_LABELLED;) {
    const place *first = &line->at[i];
    if (!first->is_estimate || !isfinite(first->shaft_rpm)) {
      i++;
      continue;
    }
    size_t end = i + 1; /* the first place that is not of it */
    while (end < line->count && line->at[end].is_estimate && isfinite(line->at[end].shaft_rpm) &&
           line->at[end].zone == first->zone)
      end++;
    const bool begins = i > 0 && isfinite(line->at[i - 1].shaft_rpm),
               ends = end < line->count && !line->at[end].is_estimate;
    ta_xy at = ta_frame_place(&p->speed, (ta_xy){p->speed.x.from, first->shaft_rpm});
    if (ends) at = ring(p, &line->at[end]);
    if (begins) at = ring(p, first);
    if (!p->sheet->is_narrow)
      label_estimate(p, first, &line->at[i + (end - i) / 2], begins, ends, at);
    labelled++;
    i = end;
  }
  ta_svg_part_end(&p->sheet->svg);
}

/* ---- marks ------------------------------------------------------------------------------------ */

typedef struct {
  const ta_course_point *mark[MARKS_DRAWN];
  size_t count;
} chosen_marks;

static bool is_marked(const ta_course_point *point) {
  return point->mark != NULL && point->mark[0] != '\0';
}

static double from_chosen(const chosen_marks *marks, double distance_m) {
  double nearest_m = HUGE_VAL;
  for (size_t i = 0; i < marks->count; i++)
    nearest_m = fmin(nearest_m, fabs(marks->mark[i]->distance_m - distance_m));
  return nearest_m;
}

static void choose(chosen_marks *marks, const ta_course_point *mark, double apart_m) {
  if (mark != NULL && from_chosen(marks, mark->distance_m) > apart_m)
    marks->mark[marks->count++] = mark;
}

/* The first, the highest, the last, the one nearest to where the limit is passed; then always the one
 * farthest from those, as long as there is room. */
static void choose_marks(const panel *p, chosen_marks *marks) {
  const ta_sheet *sheet = p->sheet;
  const ta_course *course = &sheet->prepared->event->course;
  const ta_over *over = &sheet->plan->over;
  const ta_rect *plot = &p->ground.plot;
  const ta_course_point *first = NULL, *last = NULL, *highest = NULL;
  const double length_m = course->point[course->count - 1].distance_m - course->point[0].distance_m,
               apart_m =
                   length_m * MARKS_APART_EM * sheet->svg.text_px / (plot->right - plot->left);
  for (size_t i = 0; i < course->count; i++) {
    const ta_course_point *point = &course->point[i];
    if (!is_marked(point)) continue;
    if (first == NULL) first = point;
    if (highest == NULL || point->elevation_m > highest->elevation_m) highest = point;
    last = point;
  }
  marks->count = 0;
  choose(marks, first, 0.0);
  choose(marks, highest, apart_m);
  choose(marks, last, apart_m);
  if (over->count > 0)
    choose(marks, ta_course_nearest_mark(course, over->first.distance_m), apart_m);
  while (marks->count < MARKS_DRAWN) {
    const ta_course_point *farthest = NULL;
    double most_m = apart_m;
    for (size_t i = 0; i < course->count; i++) {
      if (!is_marked(&course->point[i])) continue;
      const double away_m = from_chosen(marks, course->point[i].distance_m);
      if (away_m > most_m) {
        most_m = away_m;
        farthest = &course->point[i];
      }
    }
    if (farthest == NULL) return;
    marks->mark[marks->count++] = farthest;
  }
}

static void draw_marks(const panel *p) {
  ta_sheet *sheet = p->sheet;
  chosen_marks marks;
  choose_marks(p, &marks);
  ta_svg_part(&sheet->svg, "marks");
  for (size_t i = 0; i < marks.count; i++) {
    const ta_xy at = {ta_sheet_value(sheet, TA_SHOW_DISTANCE, marks.mark[i]->distance_m),
                      ta_sheet_value(sheet, TA_SHOW_ELEVATION, marks.mark[i]->elevation_m)};
    ta_svg_line(&sheet->svg, &p->ground, TA_ROLE_MARK, (ta_xy[]){{at.x, p->ground.y.from}, at}, 2);
    ta_svg_marker(&sheet->svg, &p->ground, TA_ROLE_MARK, TA_DIAMOND, at, 8.0);
  }
  ta_svg_part_end(&sheet->svg);
  /* names keep to the air: on the ground their edges of paper would rub it out */
  keep_area_clear(p, &p->ground, whole(p, &p->ground, read_ground), p->ground.y.from);
  ta_svg_part(&sheet->svg, "mark-names");
  for (size_t i = 0; i < marks.count; i++) {
    const ta_xy spot = ta_frame_place(
        &p->ground, (ta_xy){ta_sheet_value(sheet, TA_SHOW_DISTANCE, marks.mark[i]->distance_m),
                            ta_sheet_value(sheet, TA_SHOW_ELEVATION, marks.mark[i]->elevation_m)});
    (void)ta_svg_label(&sheet->svg, TA_ROLE_MUTED, spot,
                       spot.x > 0.3 * sheet->svg.width ? TA_SIDE_UPPER_LEFT : TA_SIDE_UPPER_RIGHT,
                       &p->ground.plot, marks.mark[i]->mark);
  }
  ta_svg_part_end(&sheet->svg);
}

/* ---- axes and panels -------------------------------------------------------------------------- */

static ta_axis speed_axis(const ta_sheet *sheet, const course_line *line) {
  const double limit = sheet->prepared->limit_rpm,
               rated = sheet->prepared->event->car.turbo.rated_rpm;
  double low = limit, high = rated;
  for (size_t i = 0; i < line->count; i++) {
    const double capped = line->at[i].capped_rpm, shaft = line->at[i].shaft_rpm;
    if (isfinite(capped)) low = fmin(low, capped);
    if (!isfinite(shaft)) continue;
    low = fmin(low, shaft);
    high = fmax(high, shaft);
  }
  return ta_axis_around(low, high + 0.05 * (high - low), "shaft speed, rpm");
}

/* With room above for the names of marks. */
static ta_axis ground_axis(const ta_sheet *sheet, const char *title) {
  double low_m, high_m;
  ta_course_range(&sheet->prepared->event->course, &low_m, &high_m);
  const double low = ta_sheet_value(sheet, TA_SHOW_ELEVATION, low_m),
               high = ta_sheet_value(sheet, TA_SHOW_ELEVATION, high_m);
  if (!(high - low > 1e-3 * high)) return ta_axis_around(low, high, title);
  return (ta_axis){low - 0.12 * (high - low), high + 0.45 * (high - low), title};
}

static void draw_key(ta_sheet *sheet, const course_line *line) {
  ta_key_entry entry[4];
  char cap[TA_SENTENCE_MAX];
  size_t count = 0;
  bool soft = false, firm = false;
  for (size_t i = 0; i < line->count; i++) *(line->at[i].is_estimate ? &soft : &firm) = true;
  if (firm)
    entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_AT_TARGET, false, TA_SOLID, "at the full target"};
  if (soft)
    entry[count++] =
        (ta_key_entry){TA_ROLE_SHAFT_ESTIMATE, false, TA_SOLID, "off the map: an estimate"};
  if (line->has_cap) {
    (void)snprintf(cap, sizeof cap, "%s%s",
                   sheet->is_narrow ? "" : "capped: ", ta_strategy_words(line->cap));
    entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_UNDER_CAP, false, TA_SOLID, cap};
  }
  if (sheet->plan->over.count > 0)
    entry[count++] = (ta_key_entry){TA_ROLE_OVER_LIMIT, true, TA_HATCH, "over the limit"};
  ta_sheet_key(sheet, entry, count);
}

static void draw_panels(ta_sheet *sheet, const course_line *line, ta_xy *room) {
  char distance[TA_SHOWN_MAX], elevation[TA_SHOWN_MAX];
  const ta_course *course = &sheet->prepared->event->course;
  (void)snprintf(distance, sizeof distance, "distance, %s",
                 ta_show_unit(TA_SHOW_DISTANCE, sheet->units));
  (void)snprintf(elevation, sizeof elevation, "elevation, %s",
                 ta_show_unit(TA_SHOW_ELEVATION, sheet->units));
  const ta_axis ground = ground_axis(sheet, elevation);
  const ta_chart chart = {
      {ta_sheet_value(sheet, TA_SHOW_DISTANCE, course->point[0].distance_m),
       ta_sheet_value(sheet, TA_SHOW_DISTANCE, course->point[course->count - 1].distance_m),
       distance},
      speed_axis(sheet, line),
      &ground,
      {4.0, sheet->top, 4.0, sheet->svg.height - sheet->bottom - 4.0}};
  panel p = {.sheet = sheet, .line = line, .point = room};
  ta_xy limit[2], rated[2];
  ta_chart_draw_split(&sheet->svg, &chart, GROUND_SHARE, &p.speed, &p.ground);
  draw_ground(&p);
  ta_svg_clip(&sheet->svg, &p.speed, NULL, 0);
  draw_over(&p);
  draw_level(&p, "rated", TA_ROLE_RATED_SPEED, sheet->prepared->event->car.turbo.rated_rpm, rated);
  draw_level(&p, "limit", TA_ROLE_LIMIT, sheet->prepared->limit_rpm, limit);
  if (line->has_cap) draw_line(&p, "capped", TA_ROLE_SHAFT_UNDER_CAP, read_capped);
  draw_line(&p, "target", TA_ROLE_SHAFT_AT_TARGET, read_firm);
  draw_line(&p, "estimate", TA_ROLE_SHAFT_ESTIMATE, read_soft);
  ta_svg_clip_end(&sheet->svg);
  label_level(&p, TA_ROLE_RATED_SPEED, "rated", sheet->prepared->event->car.turbo.rated_rpm, true);
  keep_hatch_clear(&p);
  label_level(&p, TA_ROLE_LIMIT, "limit", sheet->prepared->limit_rpm, false);
  label_stretches(&p);
  label_worst(&p);
  label_estimates(&p);
  draw_marks(&p);
}

bool ta_picture_course_draw(const ta_prepared *prepared, const ta_plan *plan,
                            const ta_picture_frame *frame, ta_buffer *out) {
  const ta_course *course = &prepared->event->course;
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX];
  course_line line;
  if (course->count < 2 || !line_make(prepared, plan, frame->width, &line)) return false;
  ta_xy *room = malloc((line.count + 1) * sizeof *room);
  const bool good = room != NULL;
  if (good) {
    say_headline(&sheet, headline);
    say_description(&sheet, description);
    ta_sheet_open_plan(&sheet, TA_PICTURE_COURSE, prepared, plan, frame, headline, description,
                       out);
    draw_key(&sheet, &line);
    draw_panels(&sheet, &line, room);
    ta_svg_close(&sheet.svg);
  }
  free(room);
  free(line.at);
  return good;
}
