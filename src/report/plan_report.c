/* plan_report.c - a plan as a briefing. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"
#include "terminal_profile.h"
#include "thinair/controller_table.h"

enum { WIDTH = TA_LINE_WIDTH, STRETCHES_SHOWN = 4, TABLE_SHOWN = 8, LEVERS_SHOWN = 6 };

double ta_map_at_start(const ta_prepared *prepared, double set_point) {
  return ta_set_point_map(prepared, set_point, prepared->start.pressure_pa);
}

const ta_course_point *ta_top_of_course(const ta_course *course) {
  const ta_course_point *top = &course->point[0];
  for (size_t i = 1; i < course->count; i++)
    if (course->point[i].elevation_m > top->elevation_m) top = &course->point[i];
  return top;
}

/* "228", or "228 > 193" where the two differ as shown; the last figure is rounded down, so that what
 * is read off can be held. */
static void from_to_text(ta_show show, ta_unit_system units, int decimals, double from, double to,
                         char *text, size_t size) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)ta_show_number(show, units, decimals, from, a);
  (void)ta_show_number(show, units, decimals, to, b);
  if (strcmp(a, b) == 0)
    (void)snprintf(text, size, "%s", a);
  else
    (void)snprintf(text, size, "%s > %s", a, b);
}

/* The target as it is set: "228.0 kPa", or "125.0 to 175.0 kPa" where it changes with engine speed. */
static void goal_text(const ta_prepared *prepared, ta_unit_system units, char *text, size_t size) {
  const bool gauge = prepared->event->car.control.holds == TA_HOLDS_GAUGE;
  const ta_show show = gauge ? TA_SHOW_BOOST : TA_SHOW_MAP;
  double low, high;
  ta_prepared_goal_range(prepared, ta_boost_window(&prepared->event->car.engine), &low, &high);
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)snprintf(text, size, "%s%s%s%s", high > low ? ta_show_number(show, units, -1, low, a) : "",
                 high > low ? " to " : "", ta_show_quantity(show, units, -1, high, b),
                 gauge ? " of boost" : "");
}

/* ---- what to run ----------------------------------------------------------------------------- */

typedef struct {
  const char *what, *map, *boost, *power, *time, *cost, *remark;
  char words[6][TA_SENTENCE_MAX / 4];
} run_row;

static const ta_column run_columns[] = {
    {"", "What to run", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, what)},
    {"", "MAP", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, map)},
    {"", "boost, start > top", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, boost)},
    {"", "power", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, power)},
    {"", "time", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, time)},
    {"", "cost", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, cost)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, remark)},
};

/* What a strategy holds at a place of the course: the MAP at the top of its engine speeds, and the
 * highest power. */
typedef struct {
  double map_pa, boost_pa, power_w;
} held;

static held held_at(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    double distance_m, double elevation_m) {
  const ta_speed_range range = ta_strategy_speeds(prepared, &plan->caps, strategy);
  ta_air air;
  held most = {(double)NAN, (double)NAN, (double)NAN};
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK) return most;
  for (double from = range.low_rpm; isfinite(from);) {
    double rpm[TA_LANES], map_pa[TA_LANES], power_w[TA_LANES];
    const size_t count = ta_speeds_in_range(prepared->event, range, &from, rpm);
    ta_strategy_full_load(prepared, &plan->caps, strategy, distance_m, &air, 0.0, rpm, count,
                          map_pa, power_w);
    for (size_t i = 0; i < count; i++) most.power_w = fmax(power_w[i], most.power_w);
    most.map_pa = map_pa[count - 1];
  }
  most.boost_pa = fmax(most.map_pa - air.pressure_pa, 0.0);
  return most;
}

static void positions_words(const ta_positions *positions, ta_unit_system units,
                            const ta_prepared *prepared, char *text, size_t size) {
  size_t used = 0;
  for (size_t i = 0; i < positions->count && used < size; i++) {
    char shown[TA_SHOWN_MAX];
    const double map_pa = ta_map_at_start(prepared, positions->position[i].cap.set_point);
    used +=
        (size_t)snprintf(text + used, size - used, "%s%s", i > 0 ? "/" : "",
                         ta_show_number(TA_SHOW_MAP, units, -1,
                                        ta_show_rounded_down(TA_SHOW_MAP, units, map_pa), shown));
  }
}

static void run_row_set(run_row *row, const ta_prepared *prepared, const ta_plan *plan,
                        ta_strategy strategy, ta_unit_system units) {
  const ta_course *course = &prepared->event->course;
  const ta_course_point *start = &course->point[0], *top = ta_top_of_course(course);
  const held a = held_at(prepared, plan, strategy, start->distance_m, start->elevation_m),
             b = held_at(prepared, plan, strategy, top->distance_m, top->elevation_m);
  char rpm[TA_SHOWN_MAX];
  *row = (run_row){.map = row->words[1],
                   .boost = row->words[2],
                   .power = row->words[3],
                   .time = row->words[4],
                   .cost = row->words[5],
                   .remark = ""};
  row->what = row->words[0];
  const bool over = plan->reason[TA_REASON_OVER] || plan->reason[TA_REASON_CANNOT_CAP];
  switch (strategy) {
    case TA_FULL_TARGET:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s%s", ta_strategy_words(strategy),
                     over ? " (forbidden)" : "");
      break;
    case TA_BY_POSITION:
      (void)snprintf(row->words[0], sizeof row->words[0], "%zu %s", plan->caps.positions.count,
                     ta_strategy_words(strategy));
      break;
    case TA_EARLY_SHIFT:
      (void)snprintf(row->words[0], sizeof row->words[0], "full target, shift at %s",
                     ta_show_quantity(TA_SHOW_RPM, units, -1,
                                      50.0 * floor(plan->caps.shift.engine_rpm / 50.0), rpm));
      break;
    default:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s", ta_strategy_words(strategy));
  }
  if (strategy == TA_BY_POSITION)
    positions_words(&plan->caps.positions, units, prepared, row->words[1], sizeof row->words[1]);
  else
    from_to_text(TA_SHOW_MAP, units, -1, ta_show_rounded_down(TA_SHOW_MAP, units, a.map_pa),
                 ta_show_rounded_down(TA_SHOW_MAP, units, b.map_pa), row->words[1],
                 sizeof row->words[1]);
  from_to_text(TA_SHOW_BOOST, units, -1, a.boost_pa, b.boost_pa, row->words[2],
               sizeof row->words[2]);
  from_to_text(TA_SHOW_POWER, units, -1, a.power_w, b.power_w, row->words[3], sizeof row->words[3]);
  const double *time_s = plan->runs.time_s;
  if (isfinite(time_s[strategy])) {
    (void)ta_say_time(time_s[strategy], row->words[4]);
    if (strategy != TA_FULL_TARGET)
      (void)snprintf(row->words[5], sizeof row->words[5], "%+.1f s",
                     time_s[strategy] - time_s[TA_FULL_TARGET]);
  }
  if (plan->runs.has_best && plan->runs.best == strategy) row->remark = "<- best";
  if (strategy == TA_ONE_CAP && plan->caps.constant.limited_by != TA_BY_RATED_SPEED)
    row->remark = ta_say_limited_by(plan->caps.constant.limited_by);
}

static void what_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_buffer *out) {
  run_row rows[TA_STRATEGY_COUNT];
  ta_column columns[sizeof run_columns / sizeof run_columns[0]];
  char map[TA_SHOWN_MAX], boost[TA_SHOWN_MAX], power[TA_SHOWN_MAX];
  size_t count = 0;
  for (int i = 0; i < TA_STRATEGY_COUNT; i++)
    if (ta_strategy_offered(&plan->caps, (ta_strategy)i))
      run_row_set(&rows[count++], prepared, plan, (ta_strategy)i, units);
  memcpy(columns, run_columns, sizeof columns);
  (void)snprintf(map, sizeof map, "MAP %s", ta_show_unit(TA_SHOW_MAP, units));
  (void)snprintf(boost, sizeof boost, "boost %s, start > top", ta_show_unit(TA_SHOW_BOOST, units));
  (void)snprintf(power, sizeof power, "power %s", ta_show_unit(TA_SHOW_POWER, units));
  columns[1].title = map;
  columns[2].title = boost;
  columns[3].title = power;
  const ta_table table = {columns, sizeof columns / sizeof columns[0], rows, count, sizeof rows[0]};
  ta_table_text(&table, units, out);
  if (ta_strategy_offered(&plan->caps, TA_BY_POSITION)) {
    char text[3 * TA_SENTENCE_MAX];
    size_t used = 0;
    for (size_t i = 0; i < plan->caps.positions.count && used < sizeof text; i++) {
      const ta_position *position = &plan->caps.positions.position[i];
      char set[TA_SENTENCE_MAX], place[TA_SENTENCE_MAX];
      (void)ta_say_set_point(prepared, position->cap.set_point, units, set);
      used += (size_t)snprintf(
          text + used, sizeof text - used, "%s%s%s%s", i > 0 ? ", " : "Positions: ", set,
          i > 0 ? " from " : "",
          i > 0 ? ta_say_place(&prepared->event->course, units, position->from_distance_m,
                               position->from_elevation_m, place)
                : " at the start");
    }
    ta_folded(out, WIDTH, 2, text);
  }
}

/* ---- the controller's table ------------------------------------------------------------------- */

/* Rows or columns of an axis that go on a terminal: all of them, or 8 spread evenly, both ends in. */
static size_t shown_of(size_t count, size_t *at) {
  const size_t shown = count < TABLE_SHOWN ? count : TABLE_SHOWN;
  for (size_t i = 0; i < shown; i++) at[i] = shown > 1 ? i * (count - 1) / (shown - 1) : 0;
  return shown;
}

static void controller_table(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                             ta_buffer *out) {
  const ta_controller_table *table = &plan->caps.table;
  const ta_controller_axes *axes = &table->axes;
  const ta_control *control = &prepared->event->car.control;
  const ta_show show = control->holds == TA_HOLDS_GAUGE ? TA_SHOW_BOOST : TA_SHOW_MAP;
  size_t rows[TABLE_SHOWN], columns[TABLE_SHOWN];
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], text[2 * TA_SENTENCE_MAX];
  if (!ta_strategy_offered(&plan->caps, TA_BY_TABLE)) return;
  const size_t row_count = shown_of(axes->pressure_count, rows),
               column_count = shown_of(axes->speed_count, columns);
  (void)snprintf(text, sizeof text,
                 "Controller table, %s in %s, rounded down to %s; within the limit between its "
                 "cells, %s, with a barometer up to %s high:",
                 show == TA_SHOW_BOOST ? "boost" : "MAP", ta_show_unit(show, units),
                 ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, control->resolution_pa, a),
                 control->interpolation == 0 ? "read linearly" : "read by steps",
                 ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, control->barometer_error_pa, b));
  ta_buffer_add(out, "\n");
  ta_folded(out, WIDTH, 2, text);
  (void)snprintf(text, sizeof text, "ambient %s", ta_show_unit(TA_SHOW_AMBIENT, units));
  ta_buffer_add(out, "  %12s", text);
  (void)snprintf(text, sizeof text, "elevation %s", ta_show_unit(TA_SHOW_ELEVATION, units));
  ta_buffer_add(out, "  %12s", text);
  for (size_t k = 0; k < column_count; k++)
    ta_buffer_add(out, " %6s",
                  ta_show_number(TA_SHOW_RPM, units, -1, axes->speed_rpm[columns[k]], a));
  ta_buffer_add(out, " rpm     any  +10 K\n");
  for (size_t i = row_count; i-- > 0;) { /* from the densest air up */
    const size_t row = rows[i];
    const ta_schedule_row *any = &plan->caps.schedule.row[axes->pressure_count - 1 - row];
    ta_buffer_add(out, "  %12s  %12s",
                  ta_show_number(TA_SHOW_AMBIENT, units, -1, axes->pressure_pa[row], a),
                  ta_show_number(TA_SHOW_ELEVATION, units, -1, any->elevation_m, b));
    for (size_t k = 0; k < column_count; k++)
      ta_buffer_add(out, " %6s",
                    ta_show_number(show, units, -1,
                                   table->set_point[row * axes->speed_count + columns[k]], a));
    ta_buffer_add(out, "     %7s", ta_show_number(show, units, -1, any->set_point, a));
    ta_buffer_add(out, " %6s\n", ta_show_number(show, units, -1, any->per_10k, a));
  }
  if (row_count < axes->pressure_count || column_count < axes->speed_count)
    ta_buffer_add(out, "  (%zu x %zu breakpoints in all: --json has them)\n", axes->pressure_count,
                  axes->speed_count);
}

/* ---- the answer ------------------------------------------------------------------------------ */

/* What to do, and what the cap is worth: it stands on the limit, and the map is known only so well. */
static void cap_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_constant_cap *cap = &plan->caps.constant;
  const ta_placed_point *at = &cap->tightest;
  char text[3 * TA_SENTENCE_MAX], set[TA_SENTENCE_MAX], place[TA_SENTENCE_MAX],
      zone[TA_SENTENCE_MAX];
  const char *forbidden = "Do not run this target on this course.";
  if (!cap->can_be_had) {
    (void)snprintf(text, sizeof text, "%s %s", forbidden,
                   cap->limited_by == TA_BY_MINIMUM_BOOST
                       ? "The wastegate spring alone gives more than the cap: a softer spring, a "
                         "larger wastegate or less exhaust to drive it would help."
                       : "No boost cap avoids it.");
    ta_folded(out, WIDTH, 0, text);
    return;
  }
  const ta_timed_runs *runs = &plan->runs;
  size_t used = (size_t)snprintf(text, sizeof text, "%s ", forbidden);
  if (runs->has_best && isfinite(runs->time_s[TA_FULL_TARGET]) && runs->best != TA_ONE_CAP)
    used += (size_t)snprintf(text + used, sizeof text - used,
                             "Run the %s, below: it costs %.1f s against the forbidden run. ",
                             ta_strategy_words(runs->best),
                             runs->time_s[runs->best] - runs->time_s[TA_FULL_TARGET]);
  (void)snprintf(
      text + used, sizeof text - used,
      "One cap for the whole run: %s; it stands on the limit, overshoot on, at %s: %s.",
      ta_say_set_point(prepared, cap->set_point, units, set),
      ta_say_place(&prepared->event->course, units, at->distance_m, at->elevation_m, place),
      ta_say_zone(&at->point, zone));
  ta_folded(out, WIDTH, 0, text);
}

static void over_headline(const ta_prepared *prepared, const ta_plan *plan, const char *goal,
                          ta_unit_system units, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_course *course = &event->course;
  const ta_over *over = &plan->over;
  char text[3 * TA_SENTENCE_MAX], place[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
  const ta_stretch *first = &over->stretch[0], *last = &over->stretch[over->count - 1];
  const double finish_m = course->point[course->count - 1].distance_m;
  if (last->to_distance_m >= finish_m)
    (void)snprintf(to, sizeof to, event->is_cut ? "the end of the part" : "the finish");
  else
    (void)ta_say_place(course, units, last->to_distance_m, last->to_elevation_m, to);
  (void)snprintf(text, sizeof text, "from %s to %s at %s%s.",
                 over->starts_over ? (event->is_cut ? "where the part begins" : "the start")
                                   : ta_say_place(course, units, first->from_distance_m,
                                                  first->from_elevation_m, place),
                 to, goal, over->count > 1 ? ", with breaks" : "");
  ta_folded(out, WIDTH - 15, 0, text);
}

static void headline(const ta_prepared *prepared, const ta_plan *plan, const ta_style *style,
                     ta_buffer *out) {
  char text[3 * TA_SENTENCE_MAX], reason[TA_SENTENCE_MAX], goal[2 * TA_SHOWN_MAX],
      alarm[TA_SHOWN_MAX];
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  goal_text(prepared, style->units, goal, sizeof goal);
  switch (plan->verdict) {
    case TA_CANNOT_HOLD:
      ta_buffer_add(out, "%sCANNOT HOLD%s ", strong, plain);
      if (ta_say_reason(prepared, plan, TA_REASON_CANNOT_HOLD, style->units, reason))
        ta_folded(out, WIDTH - 12, 0, reason);
      if (!plan->reason[TA_REASON_OVER]) break;
      ta_buffer_add(out, "%sOVER THE LIMIT%s ", strong, plain);
      over_headline(prepared, plan, goal, style->units, out);
      cap_lines(prepared, plan, style->units, out);
      break;
    case TA_OVER:
      ta_buffer_add(out, "%sOVER THE LIMIT%s ", strong, plain);
      over_headline(prepared, plan, goal, style->units, out);
      cap_lines(prepared, plan, style->units, out);
      break;
    case TA_CANNOT_CAP:
      ta_buffer_add(out, "%sCANNOT CAP%s ", strong, plain);
      (void)snprintf(text, sizeof text,
                     "to %s: the target is within the limit, but the wastegate spring gives more.",
                     goal);
      ta_folded(out, WIDTH - 11, 0, text);
      cap_lines(prepared, plan, style->units, out);
      break;
    case TA_UNSURE:
      ta_buffer_add(out, "%sUNSURE%s ", strong, plain);
      ta_folded(out, WIDTH - 7, 0,
                "at the target: not enough is known to call this within the limit, for these "
                "reasons:");
      for (int i = 0; i < TA_REASON_COUNT; i++) {
        if (!ta_say_reason(prepared, plan, (ta_reason)i, style->units, reason)) continue;
        ta_buffer_add(out, "  - ");
        ta_folded(out, WIDTH, 4, reason);
      }
      break;
    default:
      ta_buffer_add(out, "%sCLEAR%s ", strong, plain);
      (void)snprintf(
          text, sizeof text, "at %s: within the limit as described; sensor on, alarm set at %s.",
          goal, ta_show_quantity(TA_SHOW_RPM, style->units, -1, ta_alarm_rpm(prepared), alarm));
      ta_folded(out, WIDTH - 6, 0, text);
  }
}

/* ---- places ---------------------------------------------------------------------------------- */

typedef struct {
  const char *place, *sure;
  double elevation_m, ambient_pa, temperature_k, shaft_rpm, of_rated, power_w;
  char words[TA_SENTENCE_MAX];
} place_row;

#define PLACE(title, show, member) \
  { title, title, TA_CELL_NUMBER, show, offsetof(place_row, member) }
static const ta_column place_columns[] = {
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(place_row, place)},
    PLACE("elevation", TA_SHOW_ELEVATION, elevation_m),
    PLACE("ambient", TA_SHOW_AMBIENT, ambient_pa),
    PLACE("air", TA_SHOW_TEMPERATURE, temperature_k),
    PLACE("shaft", TA_SHOW_RPM, shaft_rpm),
    PLACE("of rated", TA_SHOW_SHARE, of_rated),
    PLACE("power", TA_SHOW_POWER, power_w),
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(place_row, sure)},
};

static void place_row_set(place_row *row, const ta_prepared *prepared, const char *place,
                          const ta_operating_point *point, double elevation_m) {
  *row = (place_row){.place = place,
                     .elevation_m = elevation_m,
                     .ambient_pa = point->ambient.pressure_pa,
                     .temperature_k = point->ambient.temperature_k,
                     .shaft_rpm = point->shaft_rpm,
                     .of_rated = point->shaft_rpm / prepared->event->car.turbo.rated_rpm,
                     .power_w = point->zone == TA_UNREACHABLE ? (double)NAN : point->power_w};
  row->sure = ta_say_zone(point, row->words);
}

static void places(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                   ta_buffer *out) {
  const ta_over *over = &plan->over;
  const double top_m = ta_top_of_course(&prepared->event->course)->elevation_m;
  place_row rows[3];
  size_t count = 0;
  place_row_set(&rows[count++], prepared, prepared->event->is_cut ? "From" : "Start", &plan->start,
                prepared->event->course.point[0].elevation_m);
  if (over->count > 0 && !over->starts_over)
    place_row_set(&rows[count++], prepared, "First over", &over->first.point,
                  over->first.elevation_m);
  place_row_set(&rows[count++], prepared,
                over->worst.elevation_m >= top_m - 0.5 ? "Summit" : "Worst", &over->worst.point,
                over->worst.elevation_m);
  const ta_table table = {place_columns, sizeof place_columns / sizeof place_columns[0], rows,
                          count, sizeof rows[0]};
  ta_table_text(&table, units, out);
}

/* What the shaft does at the engine speeds that the car really has. */
static void run_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_timed_runs *runs = &plan->runs;
  const ta_course *course = &prepared->event->course;
  char over[TA_SHOWN_MAX], whole[TA_SHOWN_MAX], rated[TA_SHOWN_MAX], place[TA_SENTENCE_MAX],
      text[2 * TA_SENTENCE_MAX];
  if (runs->known != TA_TIME_KNOWN) return;
  size_t used;
  (void)ta_say_time(runs->time_s[TA_FULL_TARGET], whole);
  if (runs->first_over.happens)
    used = (size_t)snprintf(text, sizeof text, "over for %s of %s, from %s on",
                            ta_say_time(runs->over_limit_s, over), whole,
                            ta_say_place(course, units, runs->first_over.distance_m,
                                         runs->first_over.elevation_m, place));
  else
    used = (size_t)snprintf(text, sizeof text,
                            "never over at the engine speeds of the simulated run of %s", whole);
  if (runs->first_over_rated.happens)
    (void)snprintf(text + used, sizeof text - used, "; above rated for %s, from %s on",
                   ta_say_time(runs->over_rated_s, rated),
                   ta_say_place(course, units, runs->first_over_rated.distance_m,
                                runs->first_over_rated.elevation_m, place));
  ta_buffer_add(out, "%-9s ", "In a run");
  ta_folded(out, WIDTH, 10, text);
}

static void stretches(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_course *course = &prepared->event->course;
  const ta_over *over = &plan->over;
  char from[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX], rpm[TA_SHOWN_MAX];
  for (size_t i = 0; over->count > 1 && i < over->count && i < STRETCHES_SHOWN; i++) {
    const ta_stretch *s = &over->stretch[i];
    ta_buffer_add(out, "%-9s %s to %s\n", i == 0 ? "Over" : "",
                  ta_say_place(course, units, s->from_distance_m, s->from_elevation_m, from),
                  ta_say_place(course, units, s->to_distance_m, s->to_elevation_m, to));
  }
  if (over->count > STRETCHES_SHOWN)
    ta_buffer_add(out, "%-9s and %zu more stretches\n", "", over->count - STRETCHES_SHOWN);
  run_lines(prepared, plan, units, out);
  if (!plan->has_redline || plan->redline.count == 0) return;
  ta_buffer_add(
      out, "%-9s should the target be held on to %s: over from %s on\n", "Redline",
      ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->event->car.engine.redline_rpm, rpm),
      ta_say_place(course, units, plan->redline.first.distance_m, plan->redline.first.elevation_m,
                   from));
}

/* ---- what moves it --------------------------------------------------------------------------- */

typedef struct {
  const char *step, *speed, *cap, *power, *time, *remark;
  char words[5][TA_SENTENCE_MAX / 4];
} lever_row;

static const ta_column lever_columns[] = {
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, step)},
    {"", "shaft", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, speed)},
    {"", "cap", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, cap)},
    {"", "power at it", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, power)},
    {"", "time", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, time)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(lever_row, remark)},
};

/* "+5.1 kW"; the sign stands, a nought has none. */
static void change_text(ta_show show, ta_unit_system units, double change, char *text,
                        size_t size) {
  char shown[TA_SHOWN_MAX];
  (void)ta_show_quantity(show, units, -1, fabs(change), shown);
  const bool none = strspn(shown, "0.") > 0 && shown[strspn(shown, "0.")] == ' ';
  (void)snprintf(text, size, "%s%s", none ? "" : change < 0.0 ? "-" : "+", shown);
}

static void step_text(const ta_lever *lever, ta_unit_system units, char *text, size_t size) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  const ta_show show = ta_show_of(lever->kind);
  if (lever->from == 0.0 && lever->kind != TA_RATIO)
    change_text(show, units, lever->to, b, sizeof b);
  else
    (void)snprintf(b, sizeof b, "%s", ta_show_quantity(show, units, -1, lever->to, a));
  if (lever->from == 0.0)
    (void)snprintf(text, size, "%s %s", lever->words, b);
  else
    (void)snprintf(text, size, "%s %s > %s", lever->words,
                   ta_show_number(show, units, -1, lever->from, a), b);
}

/* The first few; a leak is always among them, for nothing on the dash shows it. */
static size_t levers_shown(const ta_levers *levers, const ta_lever **shown) {
  size_t count = 0;
  for (size_t i = 0; i < levers->count; i++) {
    const bool leak = strcmp(levers->lever[i].name, "leak") == 0;
    if (count < LEVERS_SHOWN)
      shown[count++] = &levers->lever[i];
    else if (leak)
      shown[count - 1] = &levers->lever[i];
  }
  return count;
}

static void what_moves_it(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                          ta_buffer *out) {
  const ta_levers *levers = &plan->levers;
  lever_row rows[LEVERS_SHOWN];
  char heading[2 * TA_SENTENCE_MAX], place[TA_SENTENCE_MAX];
  ta_column columns[sizeof lever_columns / sizeof lever_columns[0]];
  const ta_lever *shown[LEVERS_SHOWN];
  const size_t count = levers_shown(levers, shown);
  for (size_t i = 0; i < count; i++) {
    const ta_lever *lever = shown[i];
    lever_row *row = &rows[i];
    row->step = row->words[0];
    row->speed = row->words[1];
    row->cap = row->words[2];
    row->power = row->words[3];
    row->time = row->words[4];
    row->remark = strcmp(lever->name, "leak") == 0 ? "check hoses: MAP will not show it" : "";
    step_text(lever, units, row->words[0], sizeof row->words[0]);
    if (isfinite(lever->shaft_share))
      (void)snprintf(row->words[1], sizeof row->words[1], "%+.1f %%", 100.0 * lever->shaft_share);
    else
      (void)snprintf(row->words[1], sizeof row->words[1], "-");
    change_text(TA_SHOW_DIFFERENCE, units, lever->cap_change, row->words[2], sizeof row->words[2]);
    change_text(TA_SHOW_POWER, units, lever->power_change_w, row->words[3], sizeof row->words[3]);
    row->words[4][0] = '\0';
    if (isfinite(lever->time_change_s))
      change_text(TA_SHOW_TIME, units, lever->time_change_s, row->words[4], sizeof row->words[4]);
    if (lever->misleads)
      row->remark = lever->shaft_share > 0.0 ? "more power, though the cap is lower"
                                             : "a slower shaft, and less power";
  }
  (void)snprintf(heading, sizeof heading, "What moves it, at %s",
                 ta_say_place(&prepared->event->course, units, levers->distance_m,
                              levers->elevation_m, place));
  memcpy(columns, lever_columns, sizeof columns);
  columns[0].title = heading;
  const ta_table table = {columns, sizeof columns / sizeof columns[0], rows, count, sizeof rows[0]};
  ta_buffer_add(out, "\n");
  ta_table_text(&table, units, out);
}

/* ---- what was not checked -------------------------------------------------------------------- */

static void not_checked(const ta_prepared *prepared, const ta_plan *plan, ta_buffer *out) {
  const ta_car *car = &prepared->event->car;
  const struct {
    bool missing;
    const char *words;
  } parts[] = {
      {!plan->drive.checked, "turbine drive (no turbine)"},
      {plan->runs.known != TA_TIME_KNOWN, "run time"},
      {!car->control.has_minimum_boost, "wastegate spring (no minimum_boost)"},
      {!car->control.has_map_sensor, "sensor range (no map_sensor)"},
      {!car->engine.has_redline, "redline (none given)"},
  };
  char text[2 * TA_SENTENCE_MAX];
  size_t used = 0;
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (parts[i].missing)
      used += (size_t)snprintf(text + used, sizeof text - used, "%s%s",
                               used == 0 ? "Not checked: " : ", ", parts[i].words);
  (void)snprintf(text + used, sizeof text - used,
                 "%sNot covered: a hose off or a wastegate stuck shut, anti-lag, missed shifts, "
                 "boost creep, blow-off, unequal twin-scroll admission, nitrous or water ahead of "
                 "the compressor, spool-up.",
                 used > 0 ? ". " : "");
  ta_folded(out, WIDTH, 0, text);
}

static void drive_line(const ta_plan *plan, ta_unit_system units, ta_buffer *out) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  ta_buffer_add(out,
                "  The turbine drives the target from %s rpm at the start and %s rpm at the top.\n",
                ta_show_number(TA_SHOW_RPM, units, -1, plan->drive.start_threshold_rpm, a),
                ta_show_number(TA_SHOW_RPM, units, -1, plan->drive.top_threshold_rpm, b));
}

static const char *holds_words(const ta_control *control) {
  switch (control->holds) {
    case TA_HOLDS_GAUGE:
      return "boost above the live ambient is held, so the MAP falls as the car climbs";
    case TA_HOLDS_GAUGE_KEY_ON:
      return "boost above the ambient at key-on is held: an absolute MAP for the whole run";
    default:
      return "absolute MAP is held, so the boost rises as the car climbs";
  }
}

static void briefing(const ta_prepared *prepared, const ta_plan *plan, const ta_warnings *warnings,
                     const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_turbo *turbo = &event->car.turbo;
  const ta_over *over = &plan->over;
  char title[3 * TA_SENTENCE_MAX], a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX],
      d[TA_SHOWN_MAX], e[TA_SHOWN_MAX];
  const ta_unit_system units = style->units;
  (void)snprintf(title, sizeof title, "%s, %s", event->name, event->car.name);
  const int width = ta_text_width(title);
  ta_buffer_add(out, "%s%*sthinair %s\n", title, width < WIDTH - 14 ? WIDTH - 12 - width : 2, "",
                style->version);
  headline(prepared, plan, style, out);
  ta_buffer_add(
      out, "\n%-9s %s = rated %s less %.3g %%   judged from %s to %s rpm with %s overshoot on\n",
      "Limit", ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->limit_rpm, a),
      ta_show_number(TA_SHOW_RPM, units, -1, turbo->rated_rpm, b), 100.0 * event->goal.margin,
      ta_show_number(TA_SHOW_RPM, units, -1, event->car.engine.window_rpm[0], c),
      ta_show_number(TA_SHOW_RPM, units, -1, event->car.engine.window_rpm[1], d),
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, ta_control_excess(&event->car.control), e));
  places(prepared, plan, units, out);
  const bool named = over->worst.point.zone != TA_UNREACHABLE;
  if (named)
    ta_buffer_add(out, "The worst is at %s of engine speed.\n",
                  ta_show_quantity(TA_SHOW_RPM, units, -1, over->worst.point.engine_rpm, a));
  stretches(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  what_to_run(prepared, plan, units, out);
  ta_buffer_add(out, "  (%s%s)\n", holds_words(&event->car.control),
                ta_say_time_known(plan->runs.known));
  if (plan->drive.checked) drive_line(plan, units, out);
  controller_table(prepared, plan, units, out);
  what_moves_it(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  if (named)
    ta_buffer_add(out, "Thin air adds %.1f %% of shaft speed at the worst place. ",
                  100.0 * (over->worst.point.thin_air_speed_factor - 1.0));
  ta_buffer_add(out, "Rated speed as typed; the maker's sheet governs.\n");
  if (plan->map_error_known)
    ta_buffer_add(out,
                  "The compressor map's own error%s: %.2f %% of speed (a line left out and "
                  "predicted).\n",
                  named ? " there" : " at its top line", 100.0 * plan->map_error);
  if (turbo->count > 1.0)
    ta_buffer_add(out, "Of %.0f turbos the one judged carries %.3g %% more than its share.\n",
                  turbo->count, 100.0 * turbo->imbalance);
  not_checked(prepared, plan, out);
  ta_warnings_text(warnings, out);
  ta_terminal_profile(prepared, plan, style, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

void ta_report_plan(const ta_prepared *prepared, const ta_plan *plan, const ta_earlier_plan *since,
                    const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out) {
  ta_warnings warnings;
  ta_plan_trace trace;
  ta_warnings_collect(prepared, plan, diagnostics,
                      style->format == TA_FORMAT_JSON ? TA_METRIC : style->units, &warnings);
  if (style->format == TA_FORMAT_TEXT) {
    briefing(prepared, plan, &warnings, style, out);
  } else if (style->format == TA_FORMAT_JSON) {
    ta_plan_json(prepared, plan, since, &warnings, style, out);
  } else if (ta_plan_trace_make(prepared, plan, &trace)) {
    ta_table_csv(&trace.table, style->units, out);
    ta_plan_trace_free(&trace);
  } else {
    out->failed = true;
  }
}
