/* picture_cap.c - the cap over ambient pressure, the air thinning to the right.
 *
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "picture_parts.h"
#include "plan_view.h"
#include "thinair/controller_table.h"

enum { ALONG = 65, SPEEDS_MAX = 4, STRETCHES_MAX = 6, BISECTIONS = 12 };

/* Caps of some engine speeds at even elevations. */
typedef struct {
  double low_m, high_m, elevation_m[ALONG], ambient_pa[ALONG];
  double engine_rpm[SPEEDS_MAX], cap[SPEEDS_MAX][ALONG]; /* set-points */
  size_t speed_count;
} cap_lines;

/* What limits the cap of all engine speeds, from one elevation to another. */
typedef struct {
  double from_pa, to_pa;
  ta_limited_by by;
} limited_stretch;

/* ---- what is drawn ---------------------------------------------------------------------------- */

static void add_engine_speed(cap_lines *lines, double rpm) {
  for (size_t i = 0; i < lines->speed_count; i++)
    if (fabs(lines->engine_rpm[i] - rpm) < 50.0) return;
  if (lines->speed_count < SPEEDS_MAX) lines->engine_rpm[lines->speed_count++] = rpm;
}

/* The ends of what is judged, one between, and the redline; a narrow picture has two. */
static void choose_speeds(const ta_car *car, bool is_narrow, cap_lines *lines) {
  const ta_speed_range judged = ta_judged_speeds(car), all = ta_controller_speeds(car);
  add_engine_speed(lines, judged.low_rpm);
  if (!is_narrow)
    add_engine_speed(lines, 100.0 * round(0.005 * (judged.low_rpm + judged.high_rpm)));
  add_engine_speed(lines, judged.high_rpm);
  if (!is_narrow) add_engine_speed(lines, all.high_rpm);
}

static bool lines_make(const ta_prepared *prepared, const ta_plan *plan, bool is_narrow,
                       cap_lines *lines) {
  const ta_schedule *schedule = &plan->caps.schedule;
  lines->speed_count = 0;
  choose_speeds(&prepared->event->car, is_narrow, lines);
  ta_course_range(&prepared->event->course, &lines->low_m, &lines->high_m);
  if (schedule->count > 0)
    lines->high_m = fmax(lines->high_m, schedule->row[schedule->count - 1].elevation_m);
  if (!(lines->high_m > lines->low_m)) lines->high_m = lines->low_m + 100.0;
  for (size_t i = 0; i < ALONG; i++) {
    ta_air air;
    const ta_air *each[SPEEDS_MAX];
    double set_point[SPEEDS_MAX];
    lines->elevation_m[i] = lines->low_m + (lines->high_m - lines->low_m) * (double)i / (ALONG - 1);
    if (ta_day_air(&prepared->day, lines->elevation_m[i], &air) != TA_OK) return false;
    lines->ambient_pa[i] = air.pressure_pa;
    for (size_t k = 0; k < lines->speed_count; k++) each[k] = &air;
    (void)ta_speed_caps(prepared, each, lines->engine_rpm, lines->speed_count, set_point);
    for (size_t k = 0; k < lines->speed_count; k++) lines->cap[k][i] = set_point[k];
  }
  return true;
}

static ta_limited_by limited_at(const ta_prepared *prepared, double elevation_m) {
  ta_air air;
  ta_place_cap cap = {.limited_by = TA_BY_GOAL};
  if (ta_day_air(&prepared->day, elevation_m, &air) == TA_OK)
    (void)ta_place_cap_find(prepared, ta_controller_speeds(&prepared->event->car), &air, &cap);
  return cap.limited_by;
}

static double pressure_at(const ta_prepared *prepared, double elevation_m) {
  ta_air air = {.pressure_pa = (double)NAN};
  (void)ta_day_air(&prepared->day, elevation_m, &air);
  return air.pressure_pa;
}

static size_t stretches_make(const ta_prepared *prepared, const cap_lines *lines,
                             limited_stretch stretch[STRETCHES_MAX]) {
  size_t count = 1;
  stretch[0] = (limited_stretch){lines->ambient_pa[0], lines->ambient_pa[ALONG - 1],
                                 limited_at(prepared, lines->low_m)};
  for (size_t i = 4; i < ALONG && count < STRETCHES_MAX; i += 4) {
    double same_m = lines->elevation_m[i - 4], other_m = lines->elevation_m[i];
    const ta_limited_by by = limited_at(prepared, other_m);
    if (by == stretch[count - 1].by) continue;
    for (int k = 0; k < BISECTIONS; k++) {
      const double middle = 0.5 * (same_m + other_m);
      *(limited_at(prepared, middle) == stretch[count - 1].by ? &same_m : &other_m) = middle;
    }
    const double border_pa = pressure_at(prepared, other_m);
    stretch[count - 1].to_pa = border_pa;
    stretch[count++] = (limited_stretch){border_pa, lines->ambient_pa[ALONG - 1], by};
  }
  return count;
}

/* ---- drawing ---------------------------------------------------------------------------------- */

typedef struct {
  ta_sheet *sheet;
  const cap_lines *lines;
  ta_show show; /* of set-points */
  ta_frame frame;
} cap_panel;

static ta_xy placed(const cap_panel *p, double ambient_pa, double set_point) {
  return (ta_xy){ta_sheet_value(p->sheet, TA_SHOW_AMBIENT, ambient_pa),
                 ta_sheet_value(p->sheet, p->show, set_point)};
}

static ta_axis cap_axis(const cap_panel *p, const char *title) {
  double low = HUGE_VAL, high = -HUGE_VAL;
  const ta_plan *plan = p->sheet->plan;
  for (size_t k = 0; k < p->lines->speed_count; k++)
    for (size_t i = 0; i < ALONG; i++) {
      low = fmin(low, p->lines->cap[k][i]);
      high = fmax(high, p->lines->cap[k][i]);
    }
  for (size_t i = 0; i < plan->caps.schedule.count; i++)
    low = fmin(low, plan->caps.schedule.row[i].set_point);
  double goal_low, goal_high;
  const ta_prepared *prepared = p->sheet->prepared;
  ta_prepared_goal_range(prepared, ta_controller_speeds(&prepared->event->car), &goal_low,
                         &goal_high);
  high = fmax(high, goal_high);
  if (plan->caps.constant.can_be_had) low = fmin(low, plan->caps.constant.set_point);
  const double a = ta_sheet_value(p->sheet, p->show, low),
               b = ta_sheet_value(p->sheet, p->show, high), room = fmax(b - a, 0.02 * b);
  return ta_axis_around(a - 0.15 * room, b + 0.25 * room, title);
}

static double across(const cap_panel *p, double ambient_pa) {
  return ta_frame_place(&p->frame, placed(p, ambient_pa, 0.0)).x;
}

/* Round elevations above the plot, where the day has their pressure. */
static void draw_elevations(const cap_panel *p) {
  ta_sheet *sheet = p->sheet;
  const ta_unit_system units = sheet->units;
  const ta_rect *plot = &p->frame.plot;
  const double em = sheet->svg.text_px;
  const ta_axis axis = {ta_sheet_value(sheet, TA_SHOW_ELEVATION, p->lines->low_m),
                        ta_sheet_value(sheet, TA_SHOW_ELEVATION, p->lines->high_m), ""};
  const double per_m = ta_show_value(TA_SHOW_ELEVATION, units, 1.0);
  const ta_ticks ticks = ta_ticks_fit(&axis, 0.85 * (plot->right - plot->left), em, true);
  ta_svg_part(&sheet->svg, "elevations");
  for (int i = 0; i < ticks.count; i++) {
    char text[TA_TICK_TEXT_MAX];
    const double pressure = pressure_at(sheet->prepared, ta_tick_value(&ticks, i) / per_m);
    const double x = across(p, pressure);
    const ta_xy tick[2] = {{x, plot->top - 0.5 * em}, {x, plot->top}};
    const ta_lettering label = {{x, plot->top - 1.25 * em}, TA_MIDDLE, .role = TA_ROLE_MUTED};
    ta_svg_line(&sheet->svg, NULL, TA_ROLE_GROUND, tick, 2);
    ta_svg_text(&sheet->svg, &label, ta_tick_text(&ticks, i, text));
  }
  ta_svg_part_end(&sheet->svg);
}

/* At the foot of the plot; in few words where one has no room for more. */
static void draw_stretches(const cap_panel *p) {
  ta_sheet *sheet = p->sheet;
  limited_stretch stretch[STRETCHES_MAX];
  const size_t count = stretches_make(sheet->prepared, p->lines, stretch);
  const double em = sheet->svg.text_px, y = p->frame.plot.bottom - 0.9 * em;
  char text[TA_SENTENCE_MAX];
  const char *by = "limited by ";
  ta_lettering label = {.at = {0.0, y}, .anchor = TA_MIDDLE, .role = TA_ROLE_MUTED, .halo = true};
  for (size_t i = 0; i < count; i++) {
    (void)snprintf(text, sizeof text, "limited by %s", ta_say_limited_by(stretch[i].by));
    const ta_rect box = ta_svg_text_box(&sheet->svg, &label, text);
    if (box.right - box.left > across(p, stretch[i].to_pa) - across(p, stretch[i].from_pa))
      by = "by ";
  }
  ta_svg_part(&sheet->svg, "limited-by");
  for (size_t i = 0; i < count; i++) {
    const double from = across(p, stretch[i].from_pa), to = across(p, stretch[i].to_pa);
    const ta_xy border[2] = {{from, p->frame.plot.top}, {from, p->frame.plot.bottom}};
    if (i > 0) ta_svg_line(&sheet->svg, NULL, TA_ROLE_MARK, border, 2);
    (void)snprintf(text, sizeof text, "%s%s", by, ta_say_limited_by(stretch[i].by));
    label.at.x = 0.5 * (from + to);
    const ta_rect box = ta_svg_text_box(&sheet->svg, &label, text);
    if (box.right - box.left > to - from) continue;
    ta_svg_text(&sheet->svg, &label, text);
    ta_svg_keep_clear(&sheet->svg, box);
  }
  ta_svg_part_end(&sheet->svg);
}

static void draw_engine_speeds(const cap_panel *p) {
  ta_svg *svg = &p->sheet->svg;
  ta_svg_part(svg, "engine-speeds");
  for (size_t k = 0; k < p->lines->speed_count; k++) {
    ta_xy point[ALONG];
    for (size_t i = 0; i < ALONG; i++)
      point[i] = placed(p, p->lines->ambient_pa[i], p->lines->cap[k][i]);
    const size_t count = ta_points_thin(&p->frame, point, ALONG);
    ta_svg_line(svg, &p->frame, TA_ROLE_SPEED_LINE, point, count);
    ta_svg_keep_line_clear(svg, &p->frame, point, count);
  }
  ta_svg_part_end(svg);
}

/* The fastest first; slower ones that end at the same cap go with it. */
static void label_engine_speeds(const cap_panel *p) {
  const cap_lines *lines = p->lines;
  for (size_t k = lines->speed_count; k-- > 0;) {
    char text[2 * TA_SHOWN_MAX], rpm[TA_SHOWN_MAX];
    const double end = lines->cap[k][ALONG - 1];
    const bool is_alone = k == 0 || lines->cap[k - 1][ALONG - 1] > end;
    if (k + 1 < lines->speed_count && lines->cap[k + 1][ALONG - 1] >= end) continue;
    (void)snprintf(text, sizeof text, "%s%s rpm", is_alone ? "" : "to ",
                   ta_show_number(TA_SHOW_RPM, p->sheet->units, -1, lines->engine_rpm[k], rpm));
    (void)ta_svg_label(&p->sheet->svg, TA_ROLE_TEXT,
                       ta_frame_place(&p->frame, placed(p, lines->ambient_pa[ALONG - 1], end)),
                       TA_SIDE_RIGHT, NULL, text);
  }
}

static void draw_schedule(const cap_panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_schedule *schedule = &p->sheet->plan->caps.schedule;
  const bool by_steps = p->sheet->prepared->event->car.control.interpolation != 0;
  ta_xy corner[2 * TA_AXIS_MAX], row[TA_AXIS_MAX];
  size_t count = 0;
  for (size_t i = 0; i < schedule->count; i++) {
    row[i] = placed(p, schedule->row[i].ambient_pa, schedule->row[i].set_point);
    /* read by steps, a row's value holds up to the next denser one */
    if (by_steps && i > 0) corner[count++] = (ta_xy){row[i - 1].x, row[i].y};
    corner[count++] = row[i];
  }
  ta_svg_part(svg, "schedule");
  ta_svg_line(svg, &p->frame, TA_ROLE_SHAFT_UNDER_CAP, corner, count);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->frame, corner, count);
  for (size_t i = 0; i < schedule->count; i++)
    ta_svg_marker(svg, &p->frame, TA_ROLE_SHAFT_UNDER_CAP, TA_SQUARE, row[i], 8.0);
}

/* The last row first, then those that differ from the row before. */
static void label_schedule(const cap_panel *p) {
  const ta_schedule *schedule = &p->sheet->plan->caps.schedule;
  for (size_t i = schedule->count; i-- > 0;) {
    const ta_schedule_row *row = &schedule->row[i];
    char text[TA_SHOWN_MAX];
    if (p->sheet->is_narrow && i + 1 < schedule->count) return;
    if (i > 0 && row->set_point == schedule->row[i - 1].set_point) continue;
    (void)ta_show_number(p->show, p->sheet->units, -1,
                         ta_show_rounded_down(p->show, p->sheet->units, row->set_point), text);
    (void)ta_svg_label(&p->sheet->svg, TA_ROLE_SHAFT_UNDER_CAP,
                       ta_frame_place(&p->frame, placed(p, row->ambient_pa, row->set_point)),
                       TA_SIDE_LOWER_LEFT, &p->frame.plot, text);
  }
}

static void draw_level(const cap_panel *p, const char *name, ta_role role, double set_point,
                       const char *what, ta_side side) {
  ta_svg *svg = &p->sheet->svg;
  char text[TA_SENTENCE_MAX], shown[TA_SHOWN_MAX];
  const ta_xy line[2] = {placed(p, p->lines->ambient_pa[0], set_point),
                         placed(p, p->lines->ambient_pa[ALONG - 1], set_point)};
  ta_svg_part(svg, name);
  ta_svg_line(svg, &p->frame, role, line, 2);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->frame, line, 2);
  (void)snprintf(text, sizeof text, "%s %s", what,
                 ta_show_cap(p->show, p->sheet->units, set_point, shown));
  (void)ta_svg_label(svg, role, ta_frame_place(&p->frame, line[side == TA_SIDE_UPPER_LEFT ? 1 : 0]),
                     side, &p->frame.plot, text);
}

/* The target where it is one number; where it changes with engine speed its own lines show it. */
static void draw_goal(const cap_panel *p) {
  const ta_prepared *prepared = p->sheet->prepared;
  double low, high;
  ta_prepared_goal_range(prepared, ta_controller_speeds(&prepared->event->car), &low, &high);
  if (high - low > 1e-6 * high) return;
  draw_level(p, "goal", TA_ROLE_SHAFT_AT_TARGET, high, "target", TA_SIDE_UPPER_LEFT);
}

static void draw_key(ta_sheet *sheet) {
  ta_key_entry entry[4];
  size_t count = 0;
  entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_AT_TARGET, false, TA_SOLID, "target"};
  entry[count++] = (ta_key_entry){TA_ROLE_SPEED_LINE, false, TA_SOLID,
                                  sheet->is_narrow ? "cap" : "cap at an engine speed"};
  if (sheet->plan->caps.schedule.count > 0)
    entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_UNDER_CAP, false, TA_SOLID,
                                    sheet->is_narrow ? "schedule" : "schedule, for all speeds"};
  ta_sheet_key(sheet, entry, count);
}

/* ---- words ------------------------------------------------------------------------------------ */

/* The schedule from the start to the top, in words. */
static void say_schedule(const ta_sheet *sheet, char headline[TA_SENTENCE_MAX]) {
  const ta_prepared *prepared = sheet->prepared;
  const ta_schedule *schedule = &sheet->plan->caps.schedule;
  const ta_show show = ta_set_point_show(prepared);
  const double top_m = ta_top_of_course(&prepared->event->course)->elevation_m;
  char start[TA_SHOWN_MAX], top[TA_SHOWN_MAX];
  (void)ta_show_cap(show, sheet->units,
                    ta_schedule_read(prepared, schedule, prepared->start.pressure_pa), start);
  (void)ta_show_cap(show, sheet->units,
                    ta_schedule_read(prepared, schedule, pressure_at(prepared, top_m)), top);
  if (strcmp(start, top) == 0)
    (void)snprintf(headline, TA_SENTENCE_MAX, "By ambient pressure: %s all the way", top);
  else
    (void)snprintf(headline, TA_SENTENCE_MAX, "By ambient pressure: %s at the start, %s at the top",
                   start, top);
}

static void say(const ta_sheet *sheet, const cap_lines *lines, char headline[TA_SENTENCE_MAX],
                char description[TA_SENTENCE_MAX]) {
  const ta_prepared *prepared = sheet->prepared;
  const ta_cap_set *caps = &sheet->plan->caps;
  const ta_show show = ta_set_point_show(prepared);
  const size_t top = lines->speed_count - 1;
  char from[TA_SHOWN_MAX], to[TA_SHOWN_MAX], one[TA_SENTENCE_MAX], rpm[TA_SHOWN_MAX],
      dense[TA_SHOWN_MAX], thin[TA_SHOWN_MAX];
  (void)ta_say_set_point(prepared, caps->constant.set_point, sheet->units, one);
  if (!caps->constant.can_be_had)
    (void)snprintf(headline, TA_SENTENCE_MAX, "No cap keeps the whole run within the limit");
  else if (caps->constant.limited_by == TA_BY_GOAL)
    (void)snprintf(headline, TA_SENTENCE_MAX, "The target needs no cap on this course");
  else if (caps->schedule.count > 0)
    say_schedule(sheet, headline);
  else
    (void)snprintf(headline, TA_SENTENCE_MAX, "One cap for the whole run: %s", one);
  (void)snprintf(
      description, TA_SENTENCE_MAX,
      "The highest %s within the limit over ambient pressure from %s to %s: at %s of engine speed "
      "it goes from %s to %s; one cap for the whole run is %s.",
      ta_set_point_word(prepared),
      ta_show_quantity(TA_SHOW_AMBIENT, sheet->units, -1, lines->ambient_pa[0], dense),
      ta_show_quantity(TA_SHOW_AMBIENT, sheet->units, -1, lines->ambient_pa[ALONG - 1], thin),
      ta_show_quantity(TA_SHOW_RPM, sheet->units, -1, lines->engine_rpm[top], rpm),
      ta_show_cap(show, sheet->units, lines->cap[top][0], from),
      ta_show_cap(show, sheet->units, lines->cap[top][ALONG - 1], to),
      caps->constant.can_be_had ? one : "not to be had");
}

bool ta_picture_cap_draw(const ta_prepared *prepared, const ta_plan *plan,
                         const ta_picture_frame *frame, ta_buffer *out) {
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  cap_lines lines;
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX], pressure[2 * TA_SHOWN_MAX],
      cap[2 * TA_SHOWN_MAX], elevation[2 * TA_SHOWN_MAX];
  if (!lines_make(prepared, plan, ta_frame_is_narrow(frame), &lines)) return false;
  say(&sheet, &lines, headline, description);
  ta_sheet_open_plan(&sheet, TA_PICTURE_CAP, prepared, plan, frame, headline, description, out);
  draw_key(&sheet);
  cap_panel p = {.sheet = &sheet, .lines = &lines, .show = ta_set_point_show(prepared)};
  (void)snprintf(pressure, sizeof pressure, "ambient pressure, %s",
                 ta_show_unit(TA_SHOW_AMBIENT, sheet.units));
  (void)snprintf(elevation, sizeof elevation, "elevation, %s",
                 ta_show_unit(TA_SHOW_ELEVATION, sheet.units));
  (void)snprintf(cap, sizeof cap, "%s, %s", ta_set_point_word(prepared),
                 ta_show_unit(p.show, sheet.units));
  const double em = sheet.svg.text_px;
  const ta_lettering left = {{8.0, sheet.top + 0.7 * em}, .role = TA_ROLE_TEXT},
                     right = {{sheet.svg.width - 8.0, sheet.top + 0.7 * em},
                              TA_END,
                              .role = TA_ROLE_TEXT};
  const ta_chart chart = {
      {ta_sheet_value(&sheet, TA_SHOW_AMBIENT, lines.ambient_pa[0]),
       ta_sheet_value(&sheet, TA_SHOW_AMBIENT, lines.ambient_pa[ALONG - 1]), pressure},
      cap_axis(&p, ""),
      NULL,
      {4.0, sheet.top + 1.3 * em, 6.5 * em, sheet.svg.height - sheet.bottom - 4.0}};
  ta_svg_text(&sheet.svg, &left, cap);
  ta_svg_text(&sheet.svg, &right, elevation);
  ta_chart_draw(&sheet.svg, &chart, &p.frame, NULL);
  draw_elevations(&p);
  draw_stretches(&p);
  draw_engine_speeds(&p);
  if (plan->caps.constant.can_be_had && plan->caps.constant.limited_by != TA_BY_GOAL)
    draw_level(&p, "one-cap", TA_ROLE_MARK, plan->caps.constant.set_point, "one cap",
               TA_SIDE_UPPER_RIGHT);
  draw_goal(&p);
  if (plan->caps.schedule.count > 0) draw_schedule(&p);
  label_engine_speeds(&p);
  label_schedule(&p);
  ta_svg_close(&sheet.svg);
  return true;
}
