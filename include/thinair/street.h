/* street.h - a street car that moves to the mountains: its present boost at the elevations where it
 * is driven, on a cold, a standard and a hot day, and the cap that holds on all three. */
#ifndef THINAIR_STREET_H
#define THINAIR_STREET_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/caps.h"
#include "thinair/event.h"
#include "thinair/plan.h"
#include "thinair/prepare.h"
#include "thinair/status.h"

/** The days: symbol, name, temperature off the standard day's [K], 1: pressure integrated with it.
 *  On a cold day the pressure aloft is really lower and the shaft faster, so there it is; on a hot
 *  day it is higher, and the standard one errs on the careful side. */
#define TA_STREET_DAY_ROWS(X)               \
  X(TA_STREET_COLD, "cold", -10.0, 1)       \
  X(TA_STREET_STANDARD, "standard", 0.0, 0) \
  X(TA_STREET_HOT, "hot", 20.0, 0)

typedef enum {
#define X(symbol, name, offset_k, hydrostatic) symbol,
  TA_STREET_DAY_ROWS(X)
#undef X
      TA_STREET_DAY_COUNT
} ta_street_day;

/** "cold", "standard", "hot" */
const char *ta_street_day_name(ta_street_day day);

/** How far the day's temperature stands off the standard one [K]. */
double ta_street_day_offset(ta_street_day day);

enum { TA_STREET_PLACES_MAX = 16, TA_STREET_CAPS_MAX = 48 };
#define TA_STREET_LOWEST_M (-500.0)
#define TA_STREET_HIGHEST_M 6500.0

/** What the customer asks. */
typedef struct {
  ta_goal goal;              /* the present boost or MAP, one number, and the margin */
  const double *elevation_m; /* home first, then trips: -500 to 6 500 m */
  size_t elevation_count;    /* 1 to TA_STREET_PLACES_MAX */
  double cap_step_m;         /* caps at its multiples too; 250 m or more */
} ta_street_question;

/** The present boost at one place on one day: the worst of the boost window, overshoot on. */
typedef struct {
  ta_operating_point worst;
  ta_window_look look; /* at the whole boost window */
  double map_error;    /* of the compressor map there, relative; negative: not known */
  bool reason[TA_REASON_COUNT];
  ta_verdict verdict;
} ta_street_point;

typedef struct {
  double elevation_m;
  ta_street_point day[TA_STREET_DAY_COUNT];
} ta_street_place;

/** How high up the present boost is within the limit: judged like a place, so with the compressor
 *  map's own error on. */
typedef struct {
  double from_m, elevation_m; /* whole metres: clear from the one to the other, not so 1 m beyond */
  bool nowhere;               /* clear at no elevation of the search */
  bool everywhere;            /* at all of them: from_m and elevation_m are its ends */
} ta_street_reach;

/** A cap that holds on all three days, the compressor map's own error taken off: each of the two
 *  numbers does, if it is what is held. */
typedef struct {
  double elevation_m;
  double boost_pa; /* above the ambient; gauge-from-key-on: above the ambient read with the key */
  double map_pa;
  ta_limited_by limited_by; /* on the day that sets it, in the quantity that the controller holds */
  ta_street_day day;
  bool can_be_had;
  ta_verdict
      verdict; /* of what the controller holds, set as the target: only a clear one is offered;
                         set where it can be had */
} ta_street_cap;

/** The answer.  Its parts point at each other: not to be copied or moved. */
typedef struct {
  ta_course_point home_and_top[2];
  ta_event event[TA_STREET_DAY_COUNT];
  ta_prepared prepared[TA_STREET_DAY_COUNT];
  ta_verdict verdict;                          /* the worst of all places and days */
  ta_street_place place[TA_STREET_PLACES_MAX]; /* in the order asked, home first */
  size_t place_count;
  double low_m, high_m;    /* lowest and highest place */
  bool key_on_is_supposed; /* to be at low_m: the car does not say where the barometer is read */
  ta_street_reach reach[TA_STREET_DAY_COUNT];
  double searched_from_m, searched_to_m; /* sea level to 4 500 m, and to every place */
  ta_street_cap cap[TA_STREET_CAPS_MAX]; /* rising */
  size_t cap_count;
  ta_street_cap one; /* holds at all of them; elevation_m where it is set */
} ta_street;

/**
 * Answer for a car that was read and checked.
 *
 * A boost with a controller that holds `absolute` is the boost seen at home on the standard day: the
 * MAP is the same on trips and on every day.  `gauge` holds it above the live ambient, and
 * `gauge-from-key-on` above the day's ambient where the key is turned: unless the car says
 * barometer_read_at at the lowest place, for from there up the boost is the highest.
 *
 * @param[in]  car     Its car is read; must outlive the answer.
 * @param[out] street  To be given back with ta_street_free.  Zeroed on failure.
 * @retval TA_ERR_ARGUMENT  No elevation or too many, a target that is not one number above 0 in
 *                          the quantity that the controller can hold, a margin outside 0 to 0.5.
 * @retval TA_ERR_DOMAIN    An elevation outside its range; a MAP that is no boost at home.
 */
ta_status ta_street_make(const ta_event *car, const ta_street_question *question,
                         ta_street *street);
void ta_street_free(ta_street *street);

#endif
