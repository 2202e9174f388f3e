/* event.h - everything that was read about one event: course, car, day, goal. */
#ifndef THINAIR_EVENT_H
#define THINAIR_EVENT_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/car.h"
#include "thinair/course.h"
#include "thinair/course_smoothing.h"
#include "thinair/day.h"
#include "thinair/diagnostics.h"
#include "thinair/status.h"

typedef enum { TA_METRIC, TA_US } ta_unit_system;

/** Target at one engine speed: boost or MAP, whichever the goal is written in. */
typedef struct {
  double engine_rpm, boost_pa, map_pa;
  bool has_boost, has_map;
} ta_goal_point;

/** The target: one number, or rows over engine speed (linear between, constant beyond). */
typedef struct {
  double boost_pa, map_pa;
  bool has_boost, has_map;
  ta_goal_point *point;
  size_t point_count;
  double margin; /* limit = rated speed x (1 - margin) */
} ta_goal;

/** The event as read, all SI.  Lists and texts belong to the event; a shallow copy may stand in
 *  for it while it lives. */
typedef struct {
  const char *name;
  int units; /* ta_unit_system */
  ta_course course;
  bool is_cut;              /* a part of the course is judged */
  bool starts_midway;       /* and does not begin at the start line */
  double start_elevation_m; /* of the start line, when the course is cut */
  bool course_is_gpx;
  double course_smoothing_m; /* over which elevations were smoothed */
  bool has_course_smoothing;
  ta_smoothing_residual course_residual;
  ta_car car;
  ta_day_reading day;
  bool day_is_isa;
  const char *metar; /* the report that the only station was made of; NULL: none */
  double metar_elevation_m;
  bool has_metar_elevation;
  ta_goal goal;

  void **owned;
  size_t owned_count, owned_room;
} ta_event;

/** Memory that lives as long as the event, zeroed; NULL when there is none. */
void *ta_event_allocate(ta_event *event, size_t bytes);

/** Give back all that the event owns and zero it.  NULL is fine. */
void ta_event_free(ta_event *event);

/**
 * Make of what was read what the model wants: speed lines of the printed compressor map, smoothed
 * elevations.  A step whose values carry an error is skipped.  Before ta_event_check.
 * @retval TA_ERR_MEMORY  Out of memory.
 */
ta_status ta_event_complete(ta_event *event, ta_diagnostics *diagnostics);

/**
 * Check what one value alone cannot show: relations between values, the course, the day, the
 * compressor map.  A check whose values already carry an error is skipped.
 *
 * @param[in] part  Key of the part that was read, such as "car.turbo.compressor"; "" for all.
 * @retval TA_ERR_INPUT  The list holds at least one error.
 */
ta_status ta_event_check(const ta_event *event, const char *part, ta_diagnostics *diagnostics);

/**
 * Keep a part of the course: from and to are each a distance with its unit or the name of a mark;
 * NULL: the course's own end.  Distances stay those of the whole course, and so does the start line.
 *
 * @param[out] why  On failure: what was found and what is taken.
 * @retval TA_ERR_ARGUMENT  Neither a distance nor a mark, or nothing is left between the two.
 */
ta_status ta_event_cut(ta_event *event, const char *from, const char *to, char *why,
                       size_t why_size);

/** MAP that the goal asks for at an engine speed [Pa].  A goal in boost is the boost seen at the
 *  start line, whose ambient pressure [Pa] is given. */
double ta_goal_map(const ta_goal *goal, double start_pressure_pa, double engine_rpm);

#endif
