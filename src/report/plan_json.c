/* plan_json.c - a plan as one JSON object. */
#include <math.h>
#include <stdio.h>

#include "plan_view.h"
#include "point_view.h"

static void place_json(ta_json *json, const ta_course *course, double distance_m,
                       double elevation_m) {
  const ta_course_point *mark = ta_course_nearest_mark(course, distance_m);
  ta_json_number(json, "distance_m", distance_m);
  ta_json_number(json, "elevation_m", elevation_m);
  ta_json_text(json, "mark", mark != NULL ? mark->mark : NULL);
}

static void worst_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  const ta_placed_point *worst = &plan->over.worst;
  ta_operating_point at_cap;
  const ta_point_view view =
      ta_point_view_of(prepared, &worst->point, ta_point_at_cap(prepared, &worst->point, &at_cap));
  ta_json_open(json, "worst", '{');
  place_json(json, &prepared->event->course, worst->distance_m, worst->elevation_m);
  ta_point_json(json, &view);
  ta_json_close(json, '}');
}

static void stretches_json(ta_json *json, const char *key, const ta_over *over,
                           const ta_timed_runs *runs, double limit_rpm, const char *judged_at) {
  ta_json_open(json, key, '[');
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *stretch = &over->stretch[i];
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "from_distance_m", stretch->from_distance_m);
    ta_json_number(json, "to_distance_m", stretch->to_distance_m);
    ta_json_number(json, "from_elevation_m", stretch->from_elevation_m);
    ta_json_number(json, "to_elevation_m", stretch->to_elevation_m);
    ta_json_number(json, "peak_shaft_rpm", stretch->peak_shaft_rpm);
    ta_json_number(
        json, "time_s",
        runs != NULL && runs->known == TA_TIME_KNOWN
            ? ta_seconds_over(runs, limit_rpm, stretch->from_distance_m, stretch->to_distance_m)
            : (double)NAN);
    ta_json_text(json, "judged_at", stretch->in_run ? "engine_speed" : judged_at);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void over_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  const ta_over *over = &plan->over;
  ta_json_bool(json, "starts_over", over->starts_over);
  if (over->count == 0) {
    ta_json_null(json, "first_over");
  } else {
    ta_json_open(json, "first_over", '{');
    place_json(json, &prepared->event->course, over->first.distance_m, over->first.elevation_m);
    ta_json_number(json, "engine_rpm", over->first.point.engine_rpm);
    ta_json_close(json, '}');
  }
  stretches_json(json, "over", over, &plan->runs, prepared->limit_rpm, "boost_window");
  if (plan->has_redline)
    stretches_json(json, "over_at_redline", &plan->redline, NULL, prepared->limit_rpm, "redline");
  else
    ta_json_null(json, "over_at_redline");
}

/* A set-point as MAP and boost; both null where it cannot be had. */
static void set_point_json(ta_json *json, const ta_prepared *prepared, double set_point,
                           double ambient_pa, const char *boost_key, bool can_be_had) {
  const double map_pa = ta_set_point_map(prepared, set_point, ambient_pa), none = (double)NAN;
  ta_json_number(json, "map_kPa", can_be_had ? map_pa / 1e3 : none);
  ta_json_number(json, boost_key, can_be_had ? (map_pa - ambient_pa) / 1e3 : none);
}

/* What a strategy takes, and costs against the full target; null where it is not known. */
static void time_json(ta_json *json, const ta_timed_runs *runs, ta_strategy strategy) {
  ta_json_number(json, "time_s", runs->time_s[strategy]);
  ta_json_number(json, "cost_s", runs->time_s[strategy] - runs->time_s[TA_FULL_TARGET]);
}

static void constant_json(ta_json *json, const ta_prepared *prepared, const ta_constant_cap *cap) {
  set_point_json(json, prepared, cap->set_point, prepared->start.pressure_pa, "boost_at_start_kPa",
                 cap->can_be_had);
  ta_json_number(json, "boost_above_key_on_kPa",
                 cap->can_be_had && prepared->event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON
                     ? (cap->set_point - prepared->read_pa) / 1e3
                     : (double)NAN);
  ta_json_number(json, "power_kW",
                 cap->can_be_had
                     ? ta_cap_power(prepared, cap->set_point, &cap->tightest.point) / 1e3
                     : (double)NAN);
  ta_json_number(json, "per_10K_kPa", cap->per_10k / 1e3);
  ta_json_text(json, "limited_by", ta_limited_by_name(cap->limited_by));
}

static void schedule_json(ta_json *json, const ta_prepared *prepared, const ta_schedule *schedule) {
  if (schedule->count == 0) {
    ta_json_null(json, "schedule");
    return;
  }
  ta_json_open(json, "schedule", '[');
  for (size_t i = 0; i < schedule->count; i++) {
    const ta_schedule_row *row = &schedule->row[i];
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "ambient_kPa", row->ambient_pa / 1e3);
    ta_json_number(json, "elevation_m", row->elevation_m);
    set_point_json(json, prepared, row->set_point, row->ambient_pa, "boost_kPa",
                   row->cap.can_be_had);
    ta_json_number(json, "engine_rpm", row->cap.at.engine_rpm);
    ta_json_number(json, "power_kW", ta_cap_power(prepared, row->set_point, &row->cap.at) / 1e3);
    ta_json_number(json, "per_10K_kPa", row->per_10k / 1e3);
    ta_json_text(json, "limited_by", ta_limited_by_name(row->cap.limited_by));
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void positions_json(ta_json *json, const ta_prepared *prepared,
                           const ta_positions *positions) {
  ta_json_open(json, "positions", '[');
  for (size_t i = 0; i < positions->count; i++) {
    const ta_position *position = &positions->position[i];
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "from_distance_m", position->from_distance_m);
    ta_json_number(json, "from_elevation_m", position->from_elevation_m);
    ta_json_text(json, "from_mark", position->from_mark);
    constant_json(json, prepared, &position->cap);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void shift_json(ta_json *json, const ta_prepared *prepared, const ta_shift_speed *shift,
                       const ta_timed_runs *runs) {
  if (shift->none) {
    ta_json_null(json, "shift_speed");
    return;
  }
  ta_json_open(json, "shift_speed", '{');
  ta_json_number(json, "engine_rpm", shift->engine_rpm);
  ta_json_bool(json, "whole_window", shift->whole_window);
  ta_json_number(json, "elevation_m", shift->elevation_m);
  ta_json_number(
      json, "power_kW",
      ta_cap_power(prepared, ta_prepared_goal(prepared, shift->engine_rpm), &shift->at) / 1e3);
  time_json(json, runs, TA_EARLY_SHIFT);
  ta_json_close(json, '}');
}

static void axis_json(ta_json *json, const char *key, const double *at, size_t count,
                      double per_si) {
  ta_json_open(json, key, '[');
  for (size_t i = 0; i < count; i++) ta_json_number(json, NULL, at[i] * per_si);
  ta_json_close(json, ']');
}

static void table_json(ta_json *json, const ta_prepared *prepared,
                       const ta_controller_table *table) {
  const ta_controller_axes *axes = &table->axes;
  const ta_control *control = &prepared->event->car.control;
  if (table->set_point == NULL) {
    ta_json_null(json, "table");
    return;
  }
  ta_json_open(json, "table", '{');
  axis_json(json, "ambient_kPa", axes->pressure_pa, axes->pressure_count, 1e-3);
  axis_json(json, "engine_rpm", axes->speed_rpm, axes->speed_count, 1.0);
  ta_json_open(json, "map_kPa", '[');
  for (size_t i = 0; i < axes->pressure_count; i++) {
    double map_kpa[TA_AXIS_MAX];
    for (size_t k = 0; k < axes->speed_count; k++)
      map_kpa[k] = ta_set_point_map(prepared, table->set_point[i * axes->speed_count + k],
                                    axes->pressure_pa[i]) /
                   1e3;
    axis_json(json, NULL, map_kpa, axes->speed_count, 1.0);
  }
  ta_json_close(json, ']');
  ta_json_text(json, "interpolation", control->interpolation == 0 ? "linear" : "step");
  ta_json_number(json, "resolution_kPa", control->resolution_pa / 1e3);
  ta_json_bool(json, "can_be_had", table->can_be_had);
  ta_json_number(json, "give_away_mean", table->give_away_mean);
  ta_json_number(json, "give_away_worst", table->give_away_worst);
  ta_json_close(json, '}');
}

static void drive_json(ta_json *json, const ta_prepared *prepared, const ta_drive_check *drive) {
  if (!drive->checked) {
    ta_json_null(json, "drive");
    return;
  }
  ta_json_open(json, "drive", '{');
  const ta_threshold *threshold = drive->threshold;
  ta_json_number(json, "threshold_at_start_rpm", threshold[0].engine_rpm);
  ta_json_number(json, "threshold_at_top_rpm", threshold[TA_THRESHOLDS - 1].engine_rpm);
  ta_json_open(json, "threshold", '[');
  for (int i = 0; i < TA_THRESHOLDS; i++) {
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "elevation_m", threshold[i].elevation_m);
    ta_json_number(json, "engine_rpm", threshold[i].engine_rpm);
    ta_json_bool(json, "or_below", threshold[i].or_below);
    ta_json_bool(json, "is_known", !threshold[i].is_unknown);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
  ta_json_number(json, "expansion_ratio",
                 drive->expansion_ratio > 0.0 ? drive->expansion_ratio : (double)NAN);
  ta_json_bool(json, "beyond_points", drive->beyond_points);
  if (drive->cannot_hold) {
    ta_json_open(json, "cannot_hold", '{');
    place_json(json, &prepared->event->course, drive->distance_m, drive->elevation_m);
    ta_json_number(json, "engine_rpm", drive->engine_rpm);
    ta_json_number(json, "held_map_kPa", drive->held_map_pa / 1e3);
    ta_json_close(json, '}');
  } else {
    ta_json_null(json, "cannot_hold");
  }
  ta_json_close(json, '}');
}

static void caps_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  ta_json_open(json, "caps", '{');
  ta_json_open(json, "constant", '{');
  constant_json(json, prepared, &plan->caps.constant);
  time_json(json, &plan->runs, TA_ONE_CAP);
  ta_json_close(json, '}');
  schedule_json(json, prepared, &plan->caps.schedule);
  positions_json(json, prepared, &plan->caps.positions);
  shift_json(json, prepared, &plan->caps.shift, &plan->runs);
  table_json(json, prepared, &plan->caps.table);
  ta_json_close(json, '}');
}

static void moment_json(ta_json *json, const char *key, const ta_course *course,
                        const ta_moment *moment) {
  if (!moment->happens) {
    ta_json_null(json, key);
    return;
  }
  ta_json_open(json, key, '{');
  place_json(json, course, moment->distance_m, moment->elevation_m);
  ta_json_number(json, "engine_rpm", moment->engine_rpm);
  ta_json_number(json, "time_s", moment->time_s);
  ta_json_close(json, '}');
}

static bool corners_from_positions(const ta_course *course) {
  for (size_t i = 0; i < course->count; i++)
    if (course->point[i].has_position && !course->point[i].has_corner_radius) return true;
  return false;
}

static void run_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  const ta_timed_runs *runs = &plan->runs;
  const char *why = ta_say_time_known(runs->known);
  ta_json_text(json, "run_unknown_because", runs->known != TA_TIME_KNOWN ? why + 2 : NULL);
  if (runs->known != TA_TIME_KNOWN) {
    ta_json_null(json, "run");
    return;
  }
  const double none = (double)NAN;
  ta_json_open(json, "run", '{');
  ta_json_number(json, "time_s", runs->time_s[TA_FULL_TARGET]);
  ta_json_number(json, "over_limit_s", runs->over_limit_s);
  ta_json_number(json, "over_rated_s", runs->over_rated_s);
  ta_json_number(json, "peak_shaft_rpm", runs->peak_shaft_rpm);
  moment_json(json, "first_over", &prepared->event->course, &runs->first_over);
  moment_json(json, "first_over_rated", &prepared->event->course, &runs->first_over_rated);
  ta_json_text(json, "best", runs->has_best ? ta_strategy_name(runs->best) : NULL);
  ta_json_open(json, "strategies", '[');
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    ta_json_open(json, NULL, '{');
    ta_json_text(json, "name", ta_strategy_name((ta_strategy)i));
    time_json(json, runs, (ta_strategy)i);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
  ta_json_text(json, "shaft_judged_at", "full_throttle");
  ta_json_number(json, "corner_length_m",
                 corners_from_positions(&prepared->event->course) ? TA_CORNER_LENGTH_M : none);
  ta_json_number(json, "steps", (double)runs->run.step_count);
  ta_json_number(json, "step_m", runs->run.step_m);
  ta_json_number(json, "last_change_s", runs->run.change_s);
  ta_json_number(json, "order", runs->run.has_order ? runs->run.order : none);
  ta_json_bool(json, "order_settled", runs->run.order_settled);
  ta_json_close(json, '}');
}

static void levers_json(ta_json *json, const ta_levers *levers) {
  ta_json_open(json, "levers", '[');
  for (size_t i = 0; i < levers->count; i++) {
    const ta_lever *lever = &levers->lever[i];
    char from[40], to[40];
    ta_json_open(json, NULL, '{');
    ta_json_text(json, "name", lever->name);
    (void)snprintf(from, sizeof from, "from%s", ta_json_suffix(lever->kind));
    (void)snprintf(to, sizeof to, "to%s", ta_json_suffix(lever->kind));
    ta_json_number(json, from, ta_json_value(lever->kind, lever->from));
    ta_json_number(json, to, ta_json_value(lever->kind, lever->to));
    ta_json_number(json, "shaft_share", lever->shaft_share);
    ta_json_number(json, "cap_kPa", lever->cap_change / 1e3);
    ta_json_number(json, "power_kW", lever->power_change_w / 1e3);
    ta_json_number(json, "time_s", lever->time_change_s);
    ta_json_bool(json, "misleads", lever->misleads);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

void ta_plan_json(const ta_prepared *prepared, const ta_plan *plan, const ta_earlier_plan *since,
                  const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  ta_plan_trace trace;
  if (!ta_plan_trace_make(prepared, plan, &trace)) {
    out->failed = true;
    return;
  }
  char text[TA_SENTENCE_MAX];
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_text(&json, "event", event->name);
  ta_since_json(&json, since);
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
  ta_json_number(&json, "alarm_rpm", ta_alarm_rpm(prepared));
  ta_json_close(&json, '}');
  ta_json_open(&json, "start", '{');
  ta_json_number(&json, "pressure_kPa", prepared->start.pressure_pa / 1e3);
  ta_json_number(&json, "temperature_K", prepared->start.temperature_k);
  ta_json_close(&json, '}');
  worst_json(&json, prepared, plan);
  over_json(&json, prepared, plan);
  drive_json(&json, prepared, &plan->drive);
  caps_json(&json, prepared, plan);
  levers_json(&json, &plan->levers);
  run_json(&json, prepared, plan);
  ta_json_open(&json, "trace", '{');
  ta_json_columns(&json, &trace.table);
  ta_plan_trace_free(&trace);
  ta_json_close(&json, '}');
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}
