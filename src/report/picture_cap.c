/* picture_cap.c - the cap over ambient pressure, the air thinning to the right.
 *
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "picture_parts.h"
#include "plan_tables.h"
#include "plan_view.h"
#include "thinair/controller_table.h"

enum { ALONG = 65, SPEEDS_MAX = 4, STRETCHES_MAX = 6, BISECTIONS = 12 };
static const double LEAST_SPAN_PA = 10e3; /* of the axis: less would be a magnifying glass */

/* Caps of some engine speeds at even elevations; the schedule where it is offered. */
typedef struct {
  const ta_schedule *schedule; /* NULL: none */
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
  lines->schedule = ta_strategy_offered(&plan->caps, TA_BY_AMBIENT) ? schedule : NULL;
  lines->speed_count = 0;
  choose_speeds(&prepared->event->car, is_narrow, lines);
  ta_course_range(&prepared->event->course, &lines->low_m, &lines->high_m);
  if (lines->schedule != NULL) {
    lines->low_m = fmin(lines->low_m, schedule->row[0].elevation_m);
    lines->high_m = fmax(lines->high_m, schedule->row[schedule->count - 1].elevation_m);
  }
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

/* ---- the target -------------------------------------------------------------------------------- */

typedef struct {
  double low, high;
  bool is_one; /* number for all engine speeds */
} goal_range;

static goal_range goal_of(const ta_prepared *prepared) {
  goal_range goal;
  ta_prepared_goal_range(prepared, ta_controller_speeds(&prepared->event->car), &goal.low,
                         &goal.high);
  goal.is_one = !(goal.high - goal.low > 1e-6 * goal.high);
  return goal;
}

static bool is_target(const goal_range *goal, double set_point) {
  return set_point >= goal->high * (1.0 - 1e-9);
}

/* A cap is rounded down, so that it can be held; the target stands as it is set. */
static const char *say_set_point(const ta_sheet *sheet, double set_point, char text[TA_SHOWN_MAX]) {
  const goal_range goal = goal_of(sheet->prepared);
  const ta_show show = ta_set_point_show(sheet->prepared);
  return is_target(&goal, set_point) ? ta_show_quantity(show, sheet->units, -1, set_point, text)
                                     : ta_show_cap(show, sheet->units, set_point, text);
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
  for (size_t i = 0; p->lines->schedule != NULL && i < p->lines->schedule->count; i++)
    low = fmin(low, p->lines->schedule->row[i].set_point);
  high = fmax(high, goal_of(p->sheet->prepared).high);
  if (plan->caps.constant.can_be_had) low = fmin(low, plan->caps.constant.set_point);
  const double least = ta_sheet_value(p->sheet, p->show, LEAST_SPAN_PA) -
                       ta_sheet_value(p->sheet, p->show, 0.0),
               a = ta_sheet_value(p->sheet, p->show, low),
               b = ta_sheet_value(p->sheet, p->show, high),
               more = 0.5 * fmax(least - 1.4 * (b - a), 0.0);
  return ta_axis_around(a - 0.15 * (b - a) - more, b + 0.25 * (b - a) + more, title);
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

/* All engine speeds together: the target limits them all, anything else one of them at least. */
typedef enum { WHOLE_WORDS, FEW_WORDS, FEWEST_WORDS } wordiness;

static const char *say_stretch(const limited_stretch *stretch, wordiness words,
                               char text[TA_SENTENCE_MAX]) {
  static const char *const some[] = {"some speed ", "some ", ""};
  (void)snprintf(text, TA_SENTENCE_MAX, "%s%sby %s", stretch->by == TA_BY_GOAL ? "" : some[words],
                 words == WHOLE_WORDS ? "limited " : "", ta_say_limited_by(stretch->by));
  return text;
}

static bool stretch_fits(const cap_panel *p, const limited_stretch *stretch, wordiness words) {
  char text[TA_SENTENCE_MAX];
  const ta_rect box =
      ta_svg_text_box(&p->sheet->svg, &(ta_lettering){0}, say_stretch(stretch, words, text));
  return box.right - box.left <= across(p, stretch->to_pa) - across(p, stretch->from_pa);
}

/* At the foot of the plot; in few words where one has no room for more, and beside it where it has
 * none for those. */
static void draw_stretches(const cap_panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_rect *plot = &p->frame.plot;
  limited_stretch stretch[STRETCHES_MAX];
  const size_t count = stretches_make(p->sheet->prepared, p->lines, stretch);
  char text[TA_SENTENCE_MAX];
  wordiness most = WHOLE_WORDS;
  for (size_t i = 0; i < count; i++)
    if (!stretch_fits(p, &stretch[i], WHOLE_WORDS)) most = FEW_WORDS;
  ta_svg_part(svg, "limited-by");
  for (size_t i = 1; i < count; i++) {
    const double x = across(p, stretch[i].from_pa);
    ta_svg_line(svg, NULL, TA_ROLE_MARK, (ta_xy[]){{x, plot->top}, {x, plot->bottom}}, 2);
  }
  for (int beside = 0; beside < 2; beside++)
    for (size_t i = 0; i < count; i++) {
      const wordiness words = stretch_fits(p, &stretch[i], most) ? most : FEWEST_WORDS;
      const ta_lettering label = {
          .at = {0.5 * (across(p, stretch[i].from_pa) + across(p, stretch[i].to_pa)),
                 plot->bottom - 0.9 * svg->text_px},
          .anchor = TA_MIDDLE,
          .role = TA_ROLE_MUTED,
          .halo = true};
      if (stretch_fits(p, &stretch[i], words) == (beside != 0)) continue;
      (void)say_stretch(&stretch[i], words, text);
      if (beside) {
        (void)ta_svg_label(svg, TA_ROLE_MUTED, label.at, TA_SIDE_ABOVE, plot, text);
      } else {
        ta_svg_text(svg, &label, text);
        ta_svg_keep_clear(svg, ta_svg_text_box(svg, &label, text));
      }
    }
  ta_svg_part_end(svg);
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

/* The names of the lines, from the highest end down, in a column right of the plot. */
typedef struct {
  char text[SPEEDS_MAX][2 * TA_SHOWN_MAX];
  double cap[SPEEDS_MAX]; /* where each line ends */
  size_t count;
  double width_px;
} end_names;

static bool ends_with_next(const cap_lines *lines, size_t k) {
  return k + 1 < lines->speed_count &&
         fabs(lines->cap[k + 1][ALONG - 1] - lines->cap[k][ALONG - 1]) < 1.0;
}

/* The slowest that end at the same cap, as a rule the target, share one name. */
static end_names names_make(const ta_sheet *sheet, const cap_lines *lines) {
  end_names names = {.count = 0};
  size_t k = 0;
  while (ends_with_next(lines, k)) k++;
  for (const size_t shared = k; k < lines->speed_count; k++) {
    char text[2 * TA_SHOWN_MAX], rpm[TA_SHOWN_MAX];
    const double cap = lines->cap[k][ALONG - 1];
    (void)snprintf(text, sizeof text, "%s%s rpm", k == shared && k > 0 ? "to " : "",
                   ta_show_number(TA_SHOW_RPM, sheet->units, -1, lines->engine_rpm[k], rpm));
    const ta_rect box = ta_svg_text_box(&sheet->svg, &(ta_lettering){0}, text);
    names.width_px = fmax(names.width_px, box.right - box.left);
    size_t at = names.count++;
    for (; at > 0 && names.cap[at - 1] < cap; at--) {
      names.cap[at] = names.cap[at - 1];
      memcpy(names.text[at], names.text[at - 1], sizeof text);
    }
    names.cap[at] = cap;
    memcpy(names.text[at], text, sizeof text);
  }
  return names;
}

/* Moves falling places as little as it takes (by least squares, the isotonic regression) to be so far
 * apart, in their order. */
static void spread(const double *y, size_t count, double apart, double *to) {
  for (size_t i = 0; i < count; i++) {
    to[i] = -HUGE_VAL;
    for (size_t first = 0; first <= i; first++) {
      double least = HUGE_VAL;
      for (size_t last = i; last < count; last++) {
        double sum = 0.0;
        for (size_t k = first; k <= last; k++) sum += y[k] - apart * (double)k;
        least = fmin(least, sum / (double)(last - first + 1));
      }
      to[i] = fmax(to[i], least + apart * (double)i);
    }
  }
}

static void name_engine_speeds(const cap_panel *p, const end_names *names) {
  ta_svg *svg = &p->sheet->svg;
  const ta_rect *plot = &p->frame.plot;
  const double em = svg->text_px, apart = 1.25 * em;
  double end[SPEEDS_MAX], y[SPEEDS_MAX];
  for (size_t i = 0; i < names->count; i++)
    end[i] = ta_frame_place(&p->frame, placed(p, p->lines->ambient_pa[ALONG - 1], names->cap[i])).y;
  spread(end, names->count, apart, y);
  ta_svg_part(svg, "speed-names");
  for (size_t i = 0; i < names->count; i++) {
    y[i] = fmin(y[i], plot->bottom - apart * (double)(names->count - 1 - i));
    const ta_lettering name = {{plot->right + 1.4 * em, y[i]}, .role = TA_ROLE_TEXT};
    if (fabs(y[i] - end[i]) > 1.0)
      ta_svg_line(svg, NULL, TA_ROLE_SPEED_LINE,
                  (ta_xy[]){{plot->right, end[i]}, {plot->right + 1.1 * em, y[i]}}, 2);
    ta_svg_text(svg, &name, names->text[i]);
    ta_svg_keep_clear(svg, ta_svg_text_box(svg, &name, names->text[i]));
  }
  ta_svg_part_end(svg);
}

static void draw_schedule(const cap_panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_schedule *schedule = p->lines->schedule;
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

/* The last row first, then those that differ from the row before; at the target its own line has
 * the number. */
static void label_schedule(const cap_panel *p) {
  const ta_schedule *schedule = p->lines->schedule;
  const goal_range goal = goal_of(p->sheet->prepared);
  for (size_t i = schedule->count; i-- > 0;) {
    const ta_schedule_row *row = &schedule->row[i];
    char text[TA_SHOWN_MAX];
    if (p->sheet->is_narrow && i + 1 < schedule->count) return;
    if (i > 0 && row->set_point == schedule->row[i - 1].set_point) continue;
    if (goal.is_one && is_target(&goal, row->set_point)) continue;
    (void)ta_show_number(p->show, p->sheet->units, -1,
                         ta_show_rounded_down(p->show, p->sheet->units, row->set_point), text);
    (void)ta_svg_label(&p->sheet->svg, TA_ROLE_SHAFT_UNDER_CAP,
                       ta_frame_place(&p->frame, placed(p, row->ambient_pa, row->set_point)),
                       TA_SIDE_LOWER_LEFT, &p->frame.plot, text);
  }
}

static void draw_level(const cap_panel *p, const char *name, ta_role role, double set_point) {
  ta_svg *svg = &p->sheet->svg;
  const ta_xy line[2] = {placed(p, p->lines->ambient_pa[0], set_point),
                         placed(p, p->lines->ambient_pa[ALONG - 1], set_point)};
  ta_svg_part(svg, name);
  ta_svg_line(svg, &p->frame, role, line, 2);
  ta_svg_part_end(svg);
  ta_svg_keep_line_clear(svg, &p->frame, line, 2);
}

static void label_level(const cap_panel *p, ta_role role, double set_point, const char *what,
                        ta_side side) {
  char text[TA_SENTENCE_MAX], shown[TA_SHOWN_MAX];
  const double ambient_pa = p->lines->ambient_pa[side == TA_SIDE_UPPER_LEFT ? ALONG - 1 : 0];
  (void)snprintf(text, sizeof text, "%s %s", what, say_set_point(p->sheet, set_point, shown));
  (void)ta_svg_label(&p->sheet->svg, role,
                     ta_frame_place(&p->frame, placed(p, ambient_pa, set_point)), side,
                     &p->frame.plot, text);
}

static void draw_key(ta_sheet *sheet, bool has_schedule) {
  ta_key_entry entry[4];
  size_t count = 0;
  entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_AT_TARGET, false, TA_SOLID, "target"};
  entry[count++] = (ta_key_entry){TA_ROLE_SPEED_LINE, false, TA_SOLID,
                                  sheet->is_narrow ? "cap" : "cap at an engine speed"};
  if (has_schedule)
    entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_UNDER_CAP, false, TA_SOLID,
                                    sheet->is_narrow ? "schedule" : "schedule, for all speeds"};
  ta_sheet_key(sheet, entry, count);
}

/* ---- words ------------------------------------------------------------------------------------ */

/* The schedule from the start to the top, in the very numbers of the plan's table: "228.0 > 188.4",
 * or one where the two are the same. */
static void say_schedule(const ta_sheet *sheet, char headline[TA_SENTENCE_MAX]) {
  const ta_show show = ta_set_point_show(sheet->prepared);
  const char *unit = ta_show_unit(show, sheet->units), *held = "";
  ta_ways_table ways;
  ta_ways_table_make(sheet->prepared, sheet->plan, sheet->units, &ways);
  for (size_t i = 0; i < ways.table.row_count; i++)
    if (ways.row[i].strategy == TA_BY_AMBIENT)
      held = show == TA_SHOW_BOOST ? ways.row[i].boost : ways.row[i].map;
  const char *top = strstr(held, " > ");
  if (top == NULL)
    (void)snprintf(headline, TA_SENTENCE_MAX, "By ambient pressure: %s %s all the way", held, unit);
  else
    (void)snprintf(headline, TA_SENTENCE_MAX, "By ambient pressure: %.*s %s %s, %s %s at the top",
                   (int)(top - held), held, unit, ta_say_start(sheet->prepared), top + 3, unit);
}

static void say(const ta_sheet *sheet, const cap_lines *lines, char headline[TA_SENTENCE_MAX],
                char description[TA_SENTENCE_MAX]) {
  const ta_prepared *prepared = sheet->prepared;
  const ta_cap_set *caps = &sheet->plan->caps;
  const size_t top = lines->speed_count - 1;
  char from[TA_SHOWN_MAX], to[TA_SHOWN_MAX], one[TA_SENTENCE_MAX], rpm[TA_SHOWN_MAX],
      dense[TA_SHOWN_MAX], thin[TA_SHOWN_MAX];
  (void)ta_say_set_point(prepared, caps->constant.set_point, sheet->units, one);
  if (!caps->constant.can_be_had)
    (void)snprintf(headline, TA_SENTENCE_MAX, "No cap keeps the whole run within the limit");
  else if (caps->constant.limited_by == TA_BY_GOAL)
    (void)snprintf(headline, TA_SENTENCE_MAX, "The target needs no cap on this course");
  else if (lines->schedule != NULL)
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
      say_set_point(sheet, lines->cap[top][0], from),
      say_set_point(sheet, lines->cap[top][ALONG - 1], to),
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
  draw_key(&sheet, lines.schedule != NULL);
  const end_names names = names_make(&sheet, &lines);
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
      {4.0, sheet.top + 1.3 * em, names.width_px + em, sheet.svg.height - sheet.bottom - 4.0}};
  ta_svg_text(&sheet.svg, &left, cap);
  ta_svg_text(&sheet.svg, &right, elevation);
  ta_chart_draw(&sheet.svg, &chart, &p.frame, NULL);
  draw_elevations(&p);
  draw_engine_speeds(&p);
  const ta_constant_cap *one = &plan->caps.constant;
  const goal_range goal = goal_of(prepared); /* over several, its own lines show it */
  const bool has_one = one->can_be_had && one->limited_by != TA_BY_GOAL;
  if (has_one) draw_level(&p, "one-cap", TA_ROLE_MARK, one->set_point);
  if (goal.is_one) draw_level(&p, "goal", TA_ROLE_SHAFT_AT_TARGET, goal.high);
  if (lines.schedule != NULL) draw_schedule(&p);
  draw_stretches(&p);
  name_engine_speeds(&p, &names);
  if (goal.is_one)
    label_level(&p, TA_ROLE_SHAFT_AT_TARGET, goal.high, "target", TA_SIDE_UPPER_LEFT);
  if (has_one) label_level(&p, TA_ROLE_MARK, one->set_point, "one cap", TA_SIDE_UPPER_RIGHT);
  if (lines.schedule != NULL) label_schedule(&p);
  ta_svg_close(&sheet.svg);
  return true;
}
