/* caps.c - the boost caps that keep the shaft within its limit.
 *
 * Method    The constant cap is solved at the worst elevation, then tried over the whole profile; a
 *           place that still passes the limit becomes the new worst, until none does.
 * Pinned by tests/plan/test_caps.c: at its cap the tightest point sits on the limit, and nothing
 *           else is over.
 */
#include "thinair/caps.h"

#include <math.h>
#include <stdlib.h>

enum { COUNT_UP = 24, BISECTIONS = 60, PLACES_MAX = 50 };
static const double ON_THE_LIMIT = 1e-9; /* relative */

static const char *const names[] = {
#define X(symbol, name) [symbol] = name,
    TA_LIMITED_BY_ROWS(X)
#undef X
};

const char *ta_limited_by_name(ta_limited_by limited_by) {
  return (unsigned)limited_by < TA_LIMITED_BY_COUNT ? names[limited_by] : "?";
}

ta_limited_by ta_limited_by_zone(ta_zone zone) {
  if (zone == TA_SURGE) return TA_BY_SURGE;
  return zone == TA_CHOKE ? TA_BY_CHOKE : TA_BY_RATED_SPEED;
}

/* Does the window pass the limit at this elevation and cap? */
static ta_status passes(const ta_prepared *prepared, double elevation_m, double cap_pa,
                        bool *over) {
  ta_operating_point worst;
  const ta_status status = ta_worst_in_window(prepared, elevation_m, cap_pa, &worst);
  if (status == TA_OK) *over = worst.shaft_rpm > prepared->limit_rpm;
  return status;
}

/* Lowest cap at which the window reaches the limit at one elevation, between two caps: counts up,
 * then halves.  The lower side is kept, so the limit is not passed. */
static ta_status cap_at(const ta_prepared *prepared, double elevation_m, double low_pa,
                        double high_pa, double *cap_pa) {
  const double step = (high_pa - low_pa) / COUNT_UP;
  double low = low_pa, high = high_pa;
  bool over = false;
  ta_status status = TA_OK;
  for (int i = 1; i < COUNT_UP && status == TA_OK; i++) {
    status = passes(prepared, elevation_m, low_pa + i * step, &over);
    if (over) {
      high = low_pa + i * step;
      break;
    }
    low = low_pa + i * step;
  }
  for (int i = 0; i < BISECTIONS && status == TA_OK && high - low > ON_THE_LIMIT * high; i++) {
    const double middle = 0.5 * (low + high);
    status = passes(prepared, elevation_m, middle, &over);
    if (over)
      high = middle;
    else
      low = middle;
  }
  if (status == TA_OK) *cap_pa = low;
  return status;
}

/* Distance at which the course first stands at an elevation that it reaches. */
static double distance_of(const ta_course *course, double elevation_m) {
  for (size_t i = 1; i < course->count; i++) {
    const ta_course_point *a = &course->point[i - 1], *b = &course->point[i];
    const double rise = b->elevation_m - a->elevation_m;
    if ((elevation_m - a->elevation_m) * (elevation_m - b->elevation_m) <= 0.0)
      return rise == 0.0 ? a->distance_m
                         : a->distance_m + (b->distance_m - a->distance_m) *
                                               (elevation_m - a->elevation_m) / rise;
  }
  return course->point[course->count - 1].distance_m;
}

ta_status ta_constant_cap_find(const ta_prepared *prepared, const ta_over *over,
                               ta_constant_cap *cap) {
  if (prepared == NULL || over == NULL || cap == NULL) return TA_ERR_ARGUMENT;
  double lowest_goal, highest_goal;
  ta_prepared_goal_range(prepared, &lowest_goal, &highest_goal);
  ta_constant_cap found = {.map_pa = highest_goal,
                           .limited_by = TA_BY_GOAL,
                           .clear_of_ambient = true,
                           .tightest = over->worst};
  ta_profile *profile = malloc(sizeof *profile);
  if (profile == NULL) return TA_ERR_MEMORY;
  ta_status status = TA_OK;
  double elevation_m = over->worst.elevation_m;
  bool is_over = over->worst.point.shaft_rpm > prepared->limit_rpm;
  for (int place = 0; status == TA_OK && is_over && place < PLACES_MAX; place++) {
    ta_air air;
    status = ta_day_air(&prepared->day, elevation_m, &air);
    if (status != TA_OK) break;
    const double lowest = air.pressure_pa * (1.0 + ON_THE_LIMIT);
    bool at_ambient = lowest >= found.map_pa;
    if (!at_ambient) status = passes(prepared, elevation_m, lowest, &at_ambient);
    if (status != TA_OK) break;
    if (at_ambient) { /* a set-point of no boost passes the limit: there is nothing to cap */
      found.clear_of_ambient = false;
      found.map_pa = lowest;
    } else {
      status = cap_at(prepared, elevation_m, lowest, found.map_pa, &found.map_pa);
    }
    if (status == TA_OK)
      status = ta_worst_in_window(prepared, elevation_m, found.map_pa, &found.tightest.point);
    found.tightest.elevation_m = elevation_m;
    found.tightest.distance_m = distance_of(&prepared->event->course, elevation_m);
    found.limited_by = ta_limited_by_zone(found.tightest.point.zone);
    if (status != TA_OK || at_ambient) break;
    /* anywhere else still over? */
    is_over = false;
    status = ta_profile_make(prepared, found.map_pa, profile);
    double fastest = prepared->limit_rpm * (1.0 + ON_THE_LIMIT);
    for (size_t i = 0; status == TA_OK && i < profile->count; i++) {
      if (!(profile->node[i].shaft_rpm > fastest)) continue;
      is_over = true;
      fastest = profile->node[i].shaft_rpm;
      elevation_m = profile->low_m + (double)i * profile->step_m;
    }
  }
  free(profile);
  if (status == TA_OK && is_over && found.clear_of_ambient)
    status = TA_ERR_DOMAIN; /* not settled */
  if (status == TA_OK) *cap = found;
  return status;
}
