/* plan_json.c - a plan as one JSON object. */
#include <math.h>

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
                           const char *judged_at) {
  ta_json_open(json, key, '[');
  for (size_t i = 0; i < over->count; i++) {
    const ta_stretch *stretch = &over->stretch[i];
    ta_json_open(json, NULL, '{');
    ta_json_number(json, "from_distance_m", stretch->from_distance_m);
    ta_json_number(json, "to_distance_m", stretch->to_distance_m);
    ta_json_number(json, "from_elevation_m", stretch->from_elevation_m);
    ta_json_number(json, "to_elevation_m", stretch->to_elevation_m);
    ta_json_number(json, "peak_shaft_rpm", stretch->peak_shaft_rpm);
    ta_json_null(json, "time_s");
    ta_json_text(json, "judged_at", judged_at);
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
  stretches_json(json, "over", over, "boost_window");
  if (plan->has_redline)
    stretches_json(json, "over_at_redline", &plan->redline, "redline");
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

static void constant_json(ta_json *json, const ta_prepared *prepared, const ta_constant_cap *cap) {
  set_point_json(json, prepared, cap->set_point, prepared->start.pressure_pa, "boost_at_start_kPa",
                 cap->can_be_had);
  ta_json_number(json, "power_kW",
                 cap->can_be_had ? cap->tightest.point.power_w / 1e3 : (double)NAN);
  ta_json_number(json, "per_10K_kPa", cap->per_10k / 1e3);
  ta_json_null(json, "time_s");
  ta_json_null(json, "cost_s");
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
    ta_json_number(json, "power_kW", row->cap.at.power_w / 1e3);
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

static void shift_json(ta_json *json, const ta_shift_speed *shift) {
  if (shift->none) {
    ta_json_null(json, "shift_speed");
    return;
  }
  ta_json_open(json, "shift_speed", '{');
  ta_json_number(json, "engine_rpm", shift->engine_rpm);
  ta_json_bool(json, "whole_window", shift->whole_window);
  ta_json_number(json, "elevation_m", shift->elevation_m);
  ta_json_number(json, "power_kW", shift->at.power_w / 1e3);
  ta_json_null(json, "time_s");
  ta_json_null(json, "cost_s");
  ta_json_close(json, '}');
}

static void caps_json(ta_json *json, const ta_prepared *prepared, const ta_plan *plan) {
  ta_json_open(json, "caps", '{');
  ta_json_open(json, "constant", '{');
  constant_json(json, prepared, &plan->constant);
  ta_json_close(json, '}');
  schedule_json(json, prepared, &plan->schedule);
  positions_json(json, prepared, &plan->positions);
  shift_json(json, &plan->shift);
  ta_json_null(json, "table");
  ta_json_close(json, '}');
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
  caps_json(&json, prepared, plan);
  ta_json_null(&json, "levers");
  ta_json_null(&json, "run");
  ta_json_open(&json, "trace", '{');
  ta_json_columns(&json, &trace.table);
  ta_plan_trace_free(&trace);
  ta_json_close(&json, '}');
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}
