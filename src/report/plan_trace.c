/* plan_trace.c - a plan along the course, point by point. */
#include "plan_view.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
  double distance_m, elevation_m, ambient_pa, engine_rpm, map_pa, shaft_rpm, shaft_over_limit,
      corrected_flow_kg_s, pressure_ratio, power_w;
  double time_s, speed_ms, gear, run_engine_rpm, run_shaft_rpm, throttle_share; /* of the run */
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
    TRACE("time", TA_SHOW_TIME, time_s),
    TRACE("speed", TA_SHOW_SPEED, speed_ms),
    TRACE("gear", TA_SHOW_COUNT_OF, gear),
    TRACE("run_engine", TA_SHOW_RPM, run_engine_rpm),
    TRACE("run_shaft", TA_SHOW_RPM, run_shaft_rpm),
    TRACE("throttle", TA_SHOW_RATIO, throttle_share),
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(trace_row, zone)},
    {"mark", "mark", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(trace_row, mark)},
};

/* The run at a point of the course. */
static void run_at(const ta_plan *plan, size_t point, trace_row *row) {
  const ta_run *run = &plan->runs.run;
  const double none = (double)NAN;
  row->time_s = row->speed_ms = row->gear = row->run_engine_rpm = row->run_shaft_rpm =
      row->throttle_share = none;
  if (plan->runs.known != TA_TIME_KNOWN || point >= run->point_count) return;
  const size_t k = run->at_point[point];
  row->time_s = run->step[k].time_s;
  row->speed_ms = run->step[k].speed_ms;
  row->gear = (double)run->step[k].gear;
  row->run_engine_rpm = run->step[k].engine_rpm;
  row->throttle_share = run->step[k].throttle_share;
  if (row->throttle_share > 0.0) row->run_shaft_rpm = plan->runs.shaft_rpm[k];
}

/* The profile read along the course; NULL when there is no memory. */
static trace_row *rows_of(const ta_prepared *prepared, const ta_plan *plan) {
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
    if (isinf(rows[i].shaft_rpm)) /* what hangs on the compressor is not known there */
      rows[i].corrected_flow_kg_s = rows[i].pressure_ratio = rows[i].power_w = (double)NAN;
    run_at(plan, i, &rows[i]);
  }
  return rows;
}

bool ta_plan_trace_make(const ta_prepared *prepared, const ta_plan *plan, ta_plan_trace *trace) {
  trace_row *rows = rows_of(prepared, plan);
  trace->rows = rows;
  trace->table = (ta_table){trace_columns, sizeof trace_columns / sizeof trace_columns[0], rows,
                            prepared->event->course.count, sizeof *rows};
  return rows != NULL;
}

void ta_plan_trace_free(ta_plan_trace *trace) {
  free(trace->rows);
}
