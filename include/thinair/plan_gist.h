/* plan_gist.h - the few figures of a plan by which two plans are compared. */
#ifndef THINAIR_PLAN_GIST_H
#define THINAIR_PLAN_GIST_H

#include <stdbool.h>

#include "thinair/plan.h"

enum { TA_GIST_TEXT_MAX = 128 };

/** Plain data. */
typedef struct {
  ta_verdict verdict;
  double limit_rpm;
  double start_pressure_pa, start_temperature_k; /* the air at the start line */
  double worst_shaft_rpm; /* INFINITY: past what the compressor map can tell */
  double worst_map_pa;    /* the target there, overshoot on */
  bool passes;            /* the limit, and where first: */
  double first_distance_m, first_elevation_m;
  char first_mark[TA_GIST_TEXT_MAX]; /* the nearest; empty: none */
  bool has_cap;                      /* one cap for the whole run can be had */
  double cap_map_pa;                 /* as MAP at the start line */
  ta_limited_by limited_by;
  double cap_time_s; /* INFINITY: not known */
} ta_plan_gist;

void ta_plan_gist_of(const ta_prepared *prepared, const ta_plan *plan, ta_plan_gist *gist);

#endif
