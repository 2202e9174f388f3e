/* plan_report.c - a plan as a briefing. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"

enum { WIDTH = TA_LINE_WIDTH, STRETCHES_SHOWN = 4 };

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
  const char *what, *map, *boost, *power, *remark;
  char words[4][TA_SENTENCE_MAX / 4];
} run_row;

static const ta_column run_columns[] = {
    {"", "What to run", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, what)},
    {"", "MAP", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, map)},
    {"", "boost, start > top", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, boost)},
    {"", "power", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, power)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, remark)},
};

/* Set-point and power of a strategy at a place of the course. */
typedef struct {
  double map_pa, boost_pa, power_w;
} held;

static held held_at(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    double distance_m, double elevation_m) {
  const ta_speed_range range = ta_strategy_speeds(prepared, plan, strategy);
  ta_air air = {.pressure_pa = (double)NAN};
  ta_operating_point point = {.power_w = (double)NAN, .zone = TA_UNREACHABLE};
  double low, high;
  (void)ta_day_air(&prepared->day, elevation_m, &air);
  ta_prepared_goal_range(prepared, range, &low, &high);
  const double cap = ta_strategy_cap(plan, strategy, distance_m, air.pressure_pa);
  const double map_pa = ta_set_point_map(prepared, fmin(high, cap), air.pressure_pa);
  (void)ta_worst_in_air(prepared, range, &air, cap, &point);
  return (held){map_pa, fmax(map_pa - air.pressure_pa, 0.0),
                point.zone == TA_UNREACHABLE ? (double)NAN : point.power_w};
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
  *row = (run_row){.map = row->words[1], .boost = row->words[2], .power = row->words[3]};
  row->what = row->words[0];
  const bool over = plan->verdict == TA_OVER || plan->verdict == TA_CANNOT_CAP;
  switch (strategy) {
    case TA_FULL_TARGET:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s%s", ta_strategy_words(strategy),
                     over ? " (forbidden)" : "");
      break;
    case TA_BY_POSITION:
      (void)snprintf(row->words[0], sizeof row->words[0], "%zu %s", plan->positions.count,
                     ta_strategy_words(strategy));
      break;
    case TA_EARLY_SHIFT:
      (void)snprintf(row->words[0], sizeof row->words[0], "full target, shift at %s",
                     ta_show_quantity(TA_SHOW_RPM, units, -1,
                                      50.0 * floor(plan->shift.engine_rpm / 50.0), rpm));
      break;
    default:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s", ta_strategy_words(strategy));
  }
  if (strategy == TA_BY_POSITION)
    positions_words(&plan->positions, units, prepared, row->words[1], sizeof row->words[1]);
  else
    from_to_text(TA_SHOW_MAP, units, -1, ta_show_rounded_down(TA_SHOW_MAP, units, a.map_pa),
                 ta_show_rounded_down(TA_SHOW_MAP, units, b.map_pa), row->words[1],
                 sizeof row->words[1]);
  from_to_text(TA_SHOW_BOOST, units, -1, a.boost_pa, b.boost_pa, row->words[2],
               sizeof row->words[2]);
  from_to_text(TA_SHOW_POWER, units, -1, a.power_w, b.power_w, row->words[3], sizeof row->words[3]);
  row->remark = "";
  if (strategy == TA_ONE_CAP && plan->constant.limited_by != TA_BY_RATED_SPEED)
    row->remark = ta_say_limited_by(plan->constant.limited_by);
}

static void what_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_buffer *out) {
  run_row rows[TA_STRATEGY_COUNT];
  ta_column columns[sizeof run_columns / sizeof run_columns[0]];
  char map[TA_SHOWN_MAX], boost[TA_SHOWN_MAX], power[TA_SHOWN_MAX];
  size_t count = 0;
  for (int i = 0; i < TA_STRATEGY_COUNT; i++)
    if (ta_strategy_offered(plan, (ta_strategy)i))
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
  if (ta_strategy_offered(plan, TA_BY_POSITION)) {
    char text[3 * TA_SENTENCE_MAX];
    size_t used = 0;
    for (size_t i = 0; i < plan->positions.count && used < sizeof text; i++) {
      const ta_position *position = &plan->positions.position[i];
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

typedef struct {
  double ambient_pa, elevation_m, map_pa, boost_pa, per_10k_pa;
  const char *limited_by;
} schedule_row;

#define SCHEDULE(title, show, member) \
  { title, title, TA_CELL_NUMBER, show, offsetof(schedule_row, member) }
static const ta_column schedule_columns[] = {
    SCHEDULE("  ambient", TA_SHOW_AMBIENT, ambient_pa),
    SCHEDULE("elevation", TA_SHOW_ELEVATION, elevation_m),
    SCHEDULE("MAP", TA_SHOW_MAP, map_pa),
    SCHEDULE("boost", TA_SHOW_BOOST, boost_pa),
    SCHEDULE("10 K warmer", TA_SHOW_DIFFERENCE, per_10k_pa),
    {"", "limited by", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(schedule_row, limited_by)},
};

static void schedule_table(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                           ta_buffer *out) {
  const ta_control *control = &prepared->event->car.control;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX];
  schedule_row rows[TA_SCHEDULE_ROWS];
  if (!ta_strategy_offered(plan, TA_BY_AMBIENT)) return;
  for (size_t i = 0; i < plan->schedule.count; i++) {
    const ta_schedule_row *row = &plan->schedule.row[i];
    const double map_pa = ta_set_point_map(prepared, row->set_point, row->ambient_pa);
    rows[i] = (schedule_row){row->ambient_pa, row->elevation_m,
                             map_pa,          map_pa - row->ambient_pa,
                             row->per_10k,    ta_say_limited_by(row->cap.limited_by)};
  }
  const ta_speed_range range = ta_schedule_speeds(&prepared->event->car.engine);
  ta_buffer_add(
      out, "\nBy ambient pressure, at any speed to %s rpm; steps of %s; barometer up to %s high\n",
      ta_show_number(TA_SHOW_RPM, units, -1, range.high_rpm, a),
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, control->resolution_pa, b),
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, control->barometer_error_pa, c));
  const ta_table table = {schedule_columns, sizeof schedule_columns / sizeof schedule_columns[0],
                          rows, plan->schedule.count, sizeof rows[0]};
  ta_table_text(&table, units, out);
}

/* ---- the answer ------------------------------------------------------------------------------ */

/* What to do, and what the cap is worth: it stands on the limit, and the map is known only so well. */
static void cap_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_constant_cap *cap = &plan->constant;
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
  (void)snprintf(
      text, sizeof text,
      "%s One cap for the whole run: %s. It stands on the limit, "
      "overshoot on, at %s; %s.",
      forbidden, ta_say_set_point(prepared, cap->set_point, units, set),
      ta_say_place(&prepared->event->course, units, at->distance_m, at->elevation_m, place),
      ta_say_zone(at->point.zone, at->point.beyond_top_line, zone));
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
  row->sure = ta_say_zone(point->zone, point->beyond_top_line, row->words);
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
  if (!plan->has_redline || plan->redline.count == 0) return;
  ta_buffer_add(
      out, "%-9s should the target be held on to %s: over from %s on\n", "Redline",
      ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->event->car.engine.redline_rpm, rpm),
      ta_say_place(course, units, plan->redline.first.distance_m, plan->redline.first.elevation_m,
                   from));
}

/* ---- what was not checked -------------------------------------------------------------------- */

static void not_checked(const ta_prepared *prepared, ta_buffer *out) {
  const ta_car *car = &prepared->event->car;
  char text[2 * TA_SENTENCE_MAX];
  (void)snprintf(
      text, sizeof text,
      "Not checked: turbine drive, run time%s%s%s. Not covered: a hose off or a wastegate "
      "stuck shut, anti-lag, missed shifts, boost creep, blow-off, unequal twin-scroll "
      "admission, nitrous or water ahead of the compressor, spool-up.",
      car->control.has_minimum_boost ? "" : ", wastegate spring (no minimum_boost)",
      car->control.has_map_sensor ? "" : ", sensor range (no map_sensor)",
      car->engine.has_redline ? "" : ", redline (none given)");
  ta_folded(out, WIDTH, 0, text);
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
  ta_buffer_add(out, "  (%s; time not known)\n", holds_words(&event->car.control));
  schedule_table(prepared, plan, units, out);
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
  not_checked(prepared, out);
  ta_warnings_text(warnings, out);
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
