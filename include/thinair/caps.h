/* caps.h - the boost caps that keep the shaft within its limit. */
#ifndef THINAIR_CAPS_H
#define THINAIR_CAPS_H

#include "thinair/operating_point.h"
#include "thinair/over.h"
#include "thinair/prepare.h"

/** What stops a cap from being higher. */
#define TA_LIMITED_BY_ROWS(X)                                                           \
  X(TA_BY_GOAL, "goal")                   /* the target itself is within the limit */   \
  X(TA_BY_RATED_SPEED, "rated_speed")     /* the shaft reaches its limit */             \
  X(TA_BY_SURGE, "surge")                 /* it does so left of the surge line */       \
  X(TA_BY_CHOKE, "choke")                 /* it does so right of the lines' ends */     \
  X(TA_BY_RESTRICTOR, "restrictor")       /* the inlet restrictor chokes */             \
  X(TA_BY_MAP_SENSOR, "map_sensor")       /* the controller's sensor reads no higher */ \
  X(TA_BY_DRIVE, "drive")                 /* the turbine drives no more */              \
  X(TA_BY_MINIMUM_BOOST, "minimum_boost") /* the spring gives more: the cap cannot be had */

typedef enum {
#define X(symbol, name) symbol,
  TA_LIMITED_BY_ROWS(X)
#undef X
      TA_LIMITED_BY_COUNT
} ta_limited_by;

/** "goal", "rated_speed", ... */
const char *ta_limited_by_name(ta_limited_by limited_by);

/** What limits a point that stands at the limit. */
ta_limited_by ta_limited_by_point(ta_zone zone, double restrictor_share);

/** The cap in one air. */
typedef struct {
  double set_point; /* the target's highest where it is limited by the goal */
  ta_limited_by limited_by;
  bool can_be_had;       /* false: the limit is passed at the lowest that can be held */
  ta_operating_point at; /* the engine speed that sets it, at the cap, overshoot on */
} ta_place_cap;

/**
 * The highest set-point at which no engine speed of a range passes the limit in this air, counting
 * up from ambient: for each engine speed the point cap less overshoot and sensor error, and of
 * those that lie below the goal the least.  Where the turbine drives less at every engine speed of
 * the boost window it is the most that it drives at one.
 */
ta_status ta_place_cap_find(const ta_prepared *prepared, ta_speed_range range, const ta_air *air,
                            ta_place_cap *cap);

/**
 * The highest set-point of engine speeds, each for itself in its air: the point cap less overshoot
 * and sensor error, not above the goal, what the sensor reads or what the turbine drives.
 *
 * @param[in]  air, rpm   [count], at most TA_LANES.
 * @param[out] set_point  [count]
 * @return false where the wastegate's spring, or no boost at all, gives more than some of them.
 */
bool ta_speed_caps(const ta_prepared *prepared, const ta_air *const *air, const double *rpm,
                   size_t count, double *set_point);

/** Change of a cap in air 10 K warmer at the same pressure. */
ta_status ta_cap_per_10k(const ta_prepared *prepared, ta_speed_range range, const ta_place_cap *cap,
                         double *change);

/** One set-point for the whole run. */
typedef struct {
  double set_point;
  ta_limited_by limited_by;
  bool can_be_had;          /* false: even the lowest that can be held passes the limit somewhere */
  ta_placed_point tightest; /* where the cap is set by the limit, at the cap, overshoot on; where
                               limited by the goal: the worst point */
  double per_10k;           /* change of the cap at the tightest place in air 10 K warmer */
} ta_constant_cap;

/**
 * The highest set-point at which no place of the course and no engine speed that is judged passes the
 * limit; never above the goal, nor at any place above what the turbine drives there at the best
 * engine speed.  Judged at the elevations of the profile, and at the
 * course's own lowest and highest.
 *
 * @param[in] profile  Of the goal over ta_judged_speeds, for this course or one that it is part of.
 */
ta_status ta_constant_cap_find(const ta_prepared *prepared, const ta_profile *profile,
                               ta_constant_cap *cap);

#endif
