/* prepare.h - the event made ready to be solved: its column of air, its compressor surface. */
#ifndef THINAIR_PREPARE_H
#define THINAIR_PREPARE_H

#include "thinair/air.h"
#include "thinair/compressor_map.h"
#include "thinair/day.h"
#include "thinair/event.h"
#include "thinair/operating_point.h"
#include "thinair/status.h"

/** Immutable once made; may be shared by threads. */
typedef struct {
  const ta_event *event; /* borrowed: must outlive this */
  ta_day day;
  ta_compressor_map *map;
  ta_air start;     /* the air at the start line */
  double limit_rpm; /* rated speed less the margin */
} ta_prepared;

/**
 * Prepare a checked event.
 * @param[out] prepared  To be given back with ta_prepared_free.  Zeroed on failure.
 * @retval TA_ERR_INPUT  The event does not pass ta_event_check.
 */
ta_status ta_prepare(const ta_event *event, ta_prepared *prepared);

/** NULL is fine. */
void ta_prepared_free(ta_prepared *prepared);

/** Set-point of the goal at an engine speed [Pa absolute]. */
double ta_prepared_goal(const ta_prepared *prepared, double engine_rpm);

/** Lowest and highest set-point of the goal inside the boost window [Pa absolute]. */
void ta_prepared_goal_range(const ta_prepared *prepared, double *low_pa, double *high_pa);

#endif
