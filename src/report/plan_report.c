/* plan_report.c - a plan as a briefing, as JSON, and its trace as CSV. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "point_view.h"
#include "sentences.h"
#include "thinair/report.h"

enum { WIDTH = TA_LINE_WIDTH };

typedef struct {
  double distance_m, elevation_m, ambient_pa, engine_rpm, map_pa, shaft_rpm, shaft_over_limit,
      corrected_flow_kg_s, pressure_ratio, power_w;
  ta_zone zone;
  const char *mark;
} trace_row;

#define TRACE(name, show, member) \
  { name, name, TA_CELL_NUMBER, show, offsetof(trace_row, member) }
static const ta_column trace_columns[] = {
    TRACE("distance", TA_SHOW_DISTANCE, distance_m),
    TRACE("elevation", TA_SHOW_ELEVATION, elevation_m),
    TRACE("ambient", TA_SHOW_AMBIENT, ambient_pa),
    TRACE("engine", TA_SHOW_RPM, engine_rpm),
    TRACE("map", TA_SHOW_MAP, map_pa),
    TRACE("shaft", TA_SHOW_RPM, shaft_rpm),
    TRACE("shaft_over_limit", TA_SHOW_RATIO, shaft_over_limit),
    TRACE("corrected_flow", TA_SHOW_FLOW, corrected_flow_kg_s),
    TRACE("pressure_ratio", TA_SHOW_RATIO, pressure_ratio),
    TRACE("power", TA_SHOW_POWER, power_w),
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(trace_row, zone)},
    {"mark", "mark", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(trace_row, mark)},
};

/* The profile read along the course; NULL when there is no memory. */
static trace_row *trace_of(const ta_prepared *prepared, const ta_plan *plan) {
  const ta_course *course = &prepared->event->course;
  trace_row *rows = calloc(course->count, sizeof *rows);
  for (size_t i = 0; rows != NULL && i < course->count; i++) {
    const ta_course_point *place = &course->point[i];
    const ta_operating_point *a, *b;
    double share;
    ta_air air = {.pressure_pa = (double)NAN};
    (void)ta_day_air(&prepared->day, place->elevation_m, &air);
    ta_profile_between(&plan->profile, place->elevation_m, &a, &b, &share);
#define BETWEEN(member) (a->member + share * (b->member - a->member))
    rows[i] = (trace_row){
        .distance_m = place->distance_m,
        .elevation_m = place->elevation_m,
        .ambient_pa = air.pressure_pa,
        .engine_rpm = BETWEEN(engine_rpm),
        .map_pa = BETWEEN(map_pa),
        .shaft_rpm = ta_profile_shaft(&plan->profile, place->elevation_m),
        .corrected_flow_kg_s = BETWEEN(corrected_flow_kg_s),
        .pressure_ratio = BETWEEN(pressure_ratio),
        .power_w = BETWEEN(power_w),
        .zone = share < 0.5 ? a->zone : b->zone,
        .mark = place->mark,
    };
#undef BETWEEN
    rows[i].shaft_over_limit = rows[i].shaft_rpm / prepared->limit_rpm;
  }
  return rows;
}

static double boost_at_start(const ta_prepared *prepared, double map_pa) {
  return map_pa - prepared->start.pressure_pa;
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void place_json(ta_json *json, const ta_course *course, double distance_m,
                       double elevation_m) {
  const ta_course_point *mark = ta_course_nearest_mark(course, distance_m);
  ta_json_number(json, "distance_m", distance_m);
  ta_json_number(json, "elevation_m", elevation_m);
  ta_json_text(json, "mark", mark != NULL ? mark->mark : NULL);
}

static void worst_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  const ta_placed_point *worst = &plan->over.worst;
  double cap_pa = 0.0;
  ta_operating_point at_cap = {.zone = TA_MAPPED};
  const bool reached = ta_point_cap(
      &prepared->event->car, prepared->map, &worst->point.ambient, worst->point.engine_rpm,
      prepared->limit_rpm, TA_HIGHEST_MAP_OVER_AMBIENT * worst->point.ambient.pressure_pa, &cap_pa);
  if (reached)
    (void)ta_point_solve(&prepared->event->car, prepared->map, &worst->point.ambient,
                         worst->point.engine_rpm, cap_pa, &at_cap);
  const ta_point_view view =
      ta_point_view_of(prepared, &worst->point, cap_pa, reached, at_cap.zone);
  ta_json_open(json, "worst", '{');
  place_json(json, &prepared->event->course, worst->distance_m, worst->elevation_m);
  ta_point_json(json, &view);
  ta_json_close(json, '}');
}

static void over_json(ta_json *json, const ta_prepared *prepared, const ta_over *over) {
  ta_json_bool(json, "starts_over", over->starts_over);
  if (over->count == 0) {
    ta_json_null(json, "first_over");
  } else {
    ta_json_open(json, "first_over", '{');
    place_json(json, &prepared->event->course, over->first.distance_m, over->first.elevation_m);
    ta_json_number(json, "engine_rpm", over->first.point.engine_rpm);
    ta_json_close(json, '}');
  }
  ta_json_open(json, "over", '[');
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *stretch = &over->stretch[i];
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "from_distance_m", stretch->from_distance_m);
    ta_json_number(json, "to_distance_m", stretch->to_distance_m);
    ta_json_number(json, "from_elevation_m", stretch->from_elevation_m);
    ta_json_number(json, "to_elevation_m", stretch->to_elevation_m);
    ta_json_number(json, "peak_shaft_rpm", stretch->peak_shaft_rpm);
    ta_json_null(json, "time_s");
    ta_json_text(json, "judged_at", "boost_window");
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void caps_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  const ta_constant_cap *cap = &plan->constant;
  ta_json_open(json, "caps", '{');
  if (cap->clear_of_ambient) {
    ta_json_open(json, "constant", '{');
    ta_json_number(json, "map_kPa", cap->map_pa / 1e3);
    ta_json_number(json, "boost_at_start_kPa", boost_at_start(prepared, cap->map_pa) / 1e3);
    ta_json_number(json, "power_kW", cap->tightest.point.power_w / 1e3);
    ta_json_null(json, "time_s");
    ta_json_null(json, "cost_s");
    ta_json_text(json, "limited_by", ta_limited_by_name(cap->limited_by));
    ta_json_close(json, '}');
  } else {
    ta_json_null(json, "constant");
  }
  ta_json_null(json, "schedule");
  ta_json_null(json, "positions");
  ta_json_null(json, "table");
  ta_json_close(json, '}');
}

static void plan_json(const ta_prepared *prepared, const ta_plan *plan, const ta_table *trace,
                      const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  char text[TA_SENTENCE_MAX];
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_text(&json, "event", event->name);
  ta_json_text(&json, "verdict", ta_verdict_name(plan->verdict));
  ta_json_open(&json, "reasons", '[');
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (ta_say_reason(prepared, plan, (ta_reason)i, TA_METRIC, text))
      ta_json_text(&json, NULL, text);
  ta_json_close(&json, ']');
  ta_json_open(&json, "limit", '{');
  ta_json_number(&json, "rated_rpm", event->car.turbo.rated_rpm);
  ta_json_number(&json, "limit_rpm", prepared->limit_rpm);
  ta_json_number(&json, "margin", event->goal.margin);
  ta_json_close(&json, '}');
  worst_json(&json, prepared, plan);
  over_json(&json, prepared, &plan->over);
  caps_json(&json, prepared, plan);
  ta_json_null(&json, "levers");
  ta_json_null(&json, "run");
  ta_json_open(&json, "trace", '{');
  ta_json_columns(&json, trace);
  ta_json_close(&json, '}');
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}

/* ---- the briefing ---------------------------------------------------------------------------- */

/* "1.43 bar", or "1.43 > 1.66 bar": an absolute target's boost rises as the car climbs. */
static void boost_text(const ta_prepared *prepared, double map_pa, double ambient_pa,
                       ta_unit_system units, char *text, size_t size) {
  char start[TA_SHOWN_MAX], top[TA_SHOWN_MAX];
  const double at_start = boost_at_start(prepared, map_pa);
  (void)snprintf(
      text, size, "%s > %s",
      at_start > 0.0 ? ta_show_number(TA_SHOW_BOOST, units, -1, at_start, start) : "none",
      map_pa > ambient_pa ? ta_show_quantity(TA_SHOW_BOOST, units, -1, map_pa - ambient_pa, top)
                          : "none");
}

/* "228.0 kPa", or "125.0 to 175.0 kPa" where the target changes with engine speed. */
static void goal_text(const ta_prepared *prepared, ta_unit_system units, char *text, size_t size) {
  double low, high;
  ta_prepared_goal_range(prepared, &low, &high);
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)snprintf(text, size, "%s%s%s",
                 high > low ? ta_show_number(TA_SHOW_MAP, units, -1, low, a) : "",
                 high > low ? " to " : "", ta_show_quantity(TA_SHOW_MAP, units, -1, high, b));
}

/* What to do, and what the cap is worth: it stands on the limit, and the map is known only so well. */
static void cap_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_constant_cap *cap = &plan->constant;
  const ta_placed_point *at = &cap->tightest;
  char text[3 * TA_SENTENCE_MAX], map[TA_SHOWN_MAX], boost[2 * TA_SHOWN_MAX],
      place[TA_SENTENCE_MAX], zone[TA_SENTENCE_MAX];
  const char *forbidden = "Do not run this target on this course.";
  if (!cap->clear_of_ambient) {
    ta_buffer_add(out, "%s No boost cap avoids it.\n", forbidden);
    return;
  }
  boost_text(prepared, ta_show_rounded_down(TA_SHOW_MAP, units, cap->map_pa),
             at->point.ambient.pressure_pa, units, boost, sizeof boost);
  (void)snprintf(text, sizeof text, "%s Cap the whole run at %s: boost %s.", forbidden,
                 ta_show_cap(TA_SHOW_MAP, units, cap->map_pa, map), boost);
  ta_folded(out, WIDTH, 0, text);
  (void)snprintf(
      text, sizeof text, "The cap stands on the limit, overshoot on, at %s; %s.",
      ta_say_place(&prepared->event->course, units, at->distance_m, at->elevation_m, place),
      ta_say_zone(at->point.zone, at->point.beyond_top_line, zone));
  ta_folded(out, WIDTH, 0, text);
}

static void headline(const ta_prepared *prepared, const ta_plan *plan, const ta_style *style,
                     ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_course *course = &event->course;
  const ta_over *over = &plan->over;
  char text[3 * TA_SENTENCE_MAX], place[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX],
      goal[2 * TA_SHOWN_MAX];
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  goal_text(prepared, style->units, goal, sizeof goal);
  if (plan->verdict == TA_OVER) {
    const ta_stretch *first = &over->stretch[0], *last = &over->stretch[over->count - 1];
    const double finish_m = course->point[course->count - 1].distance_m;
    if (last->to_distance_m >= finish_m)
      (void)snprintf(to, sizeof to, event->is_cut ? "the end of the part" : "the finish");
    else
      (void)ta_say_place(course, style->units, last->to_distance_m, last->to_elevation_m, to);
    (void)snprintf(text, sizeof text, "from %s to %s at %s%s.",
                   over->starts_over ? (event->is_cut ? "where the part begins" : "the start")
                                     : ta_say_place(course, style->units, first->from_distance_m,
                                                    first->from_elevation_m, place),
                   to, goal, over->count > 1 ? ", with breaks" : "");
    ta_buffer_add(out, "%sOVER THE LIMIT%s ", strong, plain);
    ta_folded(out, WIDTH - 15, 0, text);
    cap_lines(prepared, plan, style->units, out);
  } else if (plan->verdict == TA_UNSURE) {
    ta_buffer_add(out, "%sUNSURE%s ", strong, plain);
    ta_folded(out, WIDTH - 7, 0,
              "at the target: not enough is known to call this within the limit, for these "
              "reasons:");
    for (int i = 0; i < TA_REASON_COUNT; i++) {
      if (!ta_say_reason(prepared, plan, (ta_reason)i, style->units, place)) continue;
      ta_buffer_add(out, "  - ");
      ta_folded(out, WIDTH, 4, place);
    }
  } else {
    char alarm[TA_SHOWN_MAX];
    const double between = 0.5 * (prepared->limit_rpm + event->car.turbo.rated_rpm);
    ta_buffer_add(out, "%sCLEAR%s ", strong, plain);
    (void)snprintf(text, sizeof text,
                   "at %s: within the limit as described; sensor on, alarm set at %s.", goal,
                   ta_show_quantity(TA_SHOW_RPM, style->units, -1, between, alarm));
    ta_folded(out, WIDTH - 6, 0, text);
  }
}

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
  const double top_m =
      plan->profile.low_m + plan->profile.step_m * (double)(plan->profile.count - 1);
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

typedef struct {
  const char *what, *boost, *remark;
  double map_pa, power_w;
  char words[2 * TA_SHOWN_MAX];
} run_row;

static const ta_column run_columns[] = {
    {"", "What to run", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, what)},
    {"", "MAP", TA_CELL_NUMBER, TA_SHOW_MAP, offsetof(run_row, map_pa)},
    {"", "boost, start > tightest", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, boost)},
    {"", "power there", TA_CELL_NUMBER, TA_SHOW_POWER, offsetof(run_row, power_w)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(run_row, remark)},
};

static void run_row_set(run_row *row, const ta_prepared *prepared, const char *what, double map_pa,
                        const ta_operating_point *worst, ta_unit_system units) {
  *row = (run_row){.what = what,
                   .map_pa = map_pa,
                   .power_w = worst->zone == TA_UNREACHABLE ? (double)NAN : worst->power_w,
                   .remark = ""};
  boost_text(prepared, map_pa, worst->ambient.pressure_pa, units, row->words, sizeof row->words);
  row->boost = row->words;
}

static void what_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_buffer *out) {
  const ta_operating_point *worst = &plan->over.worst.point;
  const ta_constant_cap *cap = &plan->constant;
  run_row rows[2];
  size_t count = 0;
  run_row_set(&rows[count++], prepared,
              plan->verdict == TA_OVER ? "full target (forbidden)" : "full target",
              worst->map_pa - prepared->event->car.control.overshoot_pa, worst, units);
  if (cap->limited_by != TA_BY_GOAL && cap->clear_of_ambient) {
    run_row_set(&rows[count], prepared, "one cap for the whole run",
                ta_show_rounded_down(TA_SHOW_MAP, units, cap->map_pa), &cap->tightest.point, units);
    if (cap->limited_by != TA_BY_RATED_SPEED)
      rows[count].remark = cap->limited_by == TA_BY_SURGE ? "in surge" : "in choke";
    count++;
  }
  const ta_table table = {run_columns, sizeof run_columns / sizeof run_columns[0], rows, count,
                          sizeof rows[0]};
  ta_table_text(&table, units, out);
}

static void briefing(const ta_prepared *prepared, const ta_plan *plan, const ta_warnings *warnings,
                     const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_turbo *turbo = &event->car.turbo;
  const ta_over *over = &plan->over;
  char title[3 * TA_SENTENCE_MAX], a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX],
      d[TA_SHOWN_MAX];
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
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, event->car.control.overshoot_pa, title));
  places(prepared, plan, units, out);
  const bool named = over->worst.point.zone != TA_UNREACHABLE;
  if (named)
    ta_buffer_add(out, "The worst is at %s of engine speed.\n",
                  ta_show_quantity(TA_SHOW_RPM, units, -1, over->worst.point.engine_rpm, a));
  for (size_t i = 0; over->count > 1 && i < over->count && i < 6; i++) {
    char from[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
    const ta_stretch *s = &over->stretch[i];
    ta_buffer_add(
        out, "%-9s %s to %s\n", i == 0 ? "Over" : "",
        ta_say_place(&event->course, units, s->from_distance_m, s->from_elevation_m, from),
        ta_say_place(&event->course, units, s->to_distance_m, s->to_elevation_m, to));
  }
  if (over->count > 6) ta_buffer_add(out, "%-9s and %zu more stretches\n", "", over->count - 6);
  ta_buffer_add(out, "\n");
  what_to_run(prepared, plan, units, out);
  ta_buffer_add(
      out, "  (absolute MAP is held, so the boost rises as the car climbs; time not known)\n\n");
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
  ta_folded(out, WIDTH, 0,
            "Not checked: turbine drive, run time. Not covered: a hose off or a wastegate stuck "
            "shut, anti-lag, missed shifts, boost creep, blow-off, unequal twin-scroll admission, "
            "nitrous or water ahead of the compressor, spool-up.");
  ta_warnings_text(warnings, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

void ta_report_plan(const ta_prepared *prepared, const ta_plan *plan,
                    const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out) {
  ta_warnings warnings;
  ta_warnings_collect(prepared, plan, diagnostics,
                      style->format == TA_FORMAT_JSON ? TA_METRIC : style->units, &warnings);
  if (style->format == TA_FORMAT_TEXT) {
    briefing(prepared, plan, &warnings, style, out);
    return;
  }
  trace_row *rows = trace_of(prepared, plan);
  if (rows == NULL) {
    out->failed = true;
    return;
  }
  const ta_table trace = {trace_columns, sizeof trace_columns / sizeof trace_columns[0], rows,
                          prepared->event->course.count, sizeof *rows};
  if (style->format == TA_FORMAT_JSON)
    plan_json(prepared, plan, &trace, &warnings, style, out);
  else
    ta_table_csv(&trace, style->units, out);
  free(rows);
}
