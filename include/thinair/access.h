/* access.h - numbers of an event by key, SI, and copies of an event to set them in. */
#ifndef THINAIR_ACCESS_H
#define THINAIR_ACCESS_H

#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/event.h"
#include "thinair/schema.h"
#include "thinair/status.h"

/**
 * A shallow copy: lists and texts stay the event's, which must outlive it, until a number inside a
 * list is set.
 * @param[out] fork  To be given back with ta_event_free, which frees only what the fork made.
 */
void ta_event_fork(const ta_event *event, ta_event *fork);

/** The row of a key that holds one number: a quantity, an end of a range, an element of a series, a
 *  cell of a table.  NULL: it is no such key, and `why` says what is taken there. */
const ta_field *ta_number_field(const char *key, char *why, size_t why_size);

/**
 * The number of a key.
 *
 * @param[in]  key  "car.intake.pressure_drop", "car.engine.boost_window[1]",
 *                  "day.stations[0].temperature", "goal.rows[2].map"; [lowest] stands for the
 *                  number of the lowest station.
 * @param[out] si   In the SI unit of its kind.  Untouched on failure.
 * @param[out] why  On failure: what was found and what is taken, in words.
 * @retval TA_ERR_ARGUMENT  No key of one number, or past the end of its list.
 * @retval TA_ERR_INPUT     The event does not give it.
 */
ta_status ta_event_number_get(const ta_event *event, const char *key, double *si, char *why,
                              size_t why_size);

/**
 * Set the number of a key in a fork, and the flag that it is given.  A list that holds it becomes
 * the fork's own.  goal.boost and goal.map replace each other and the rows; in a row too.  What was
 * made of the number is left to ta_event_fork_complete and ta_prepare_again.
 *
 * @param[out] why  On failure: what was found and what is taken, in words.
 * @retval TA_ERR_ARGUMENT  No key of one number, or past the end of its list.
 * @retval TA_ERR_DOMAIN    Outside what the key takes, or not finite.
 * @retval TA_ERR_INPUT     Only an event read with that number can have it: its group is not there,
 *                          or the reading has used it up, as smoothed elevations.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_event_number_set(ta_event *fork, const char *key, double si, char *why,
                              size_t why_size);

/** What must be made anew when the number of a key changes; joined with |. */
enum {
  TA_TOUCHES_NOTHING = 0,
  TA_TOUCHES_DAY = 1 << 0,
  TA_TOUCHES_COURSE = 1 << 1,
  TA_TOUCHES_COMPRESSOR_MAP = 1 << 2,
  TA_TOUCHES_ALL = TA_TOUCHES_DAY | TA_TOUCHES_COURSE | TA_TOUCHES_COMPRESSOR_MAP
};

unsigned ta_event_number_touches(const char *key);

/**
 * Make the speed lines of a fork anew, where its numbers touch them, and check what ta_event_check
 * does but a course or compressor map that is not touched.  Of a checked event.
 * @retval TA_ERR_INPUT   The list holds at least one error.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_event_fork_complete(ta_event *fork, unsigned touches, ta_diagnostics *diagnostics);

#endif
