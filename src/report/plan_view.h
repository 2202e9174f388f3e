/* plan_view.h - what the writers of a plan share. */
#ifndef THINAIR_REPORT_PLAN_VIEW_H
#define THINAIR_REPORT_PLAN_VIEW_H

#include "sentences.h"
#include "table.h"
#include "thinair/plan.h"
#include "thinair/report.h"
#include "thinair/strategy.h"

/** The profile read along the course, one row a point of it. */
typedef struct {
  ta_table table;
  void *rows;
} ta_plan_trace;

/** To be given back with ta_plan_trace_free.  @return false when there is no memory. */
bool ta_plan_trace_make(const ta_prepared *prepared, const ta_plan *plan, ta_plan_trace *trace);
void ta_plan_trace_free(ta_plan_trace *trace);

/** A set-point as MAP at the start line. */
double ta_map_at_start(const ta_prepared *prepared, double set_point);

/** The highest place of the course. */
const ta_course_point *ta_top_of_course(const ta_course *course);

void ta_plan_json(const ta_prepared *prepared, const ta_plan *plan, const ta_earlier_plan *since,
                  const ta_warnings *warnings, const ta_style *style, ta_buffer *out);

/** An earlier plan as the JSON object "since"; NULL: null. */
void ta_since_json(ta_json *json, const ta_earlier_plan *since);

#endif
