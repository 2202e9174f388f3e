/* caps.h - the boost caps that keep the shaft within its limit. */
#ifndef THINAIR_CAPS_H
#define THINAIR_CAPS_H

#include "thinair/operating_point.h"
#include "thinair/over.h"
#include "thinair/prepare.h"

/** What stops a cap from being higher. */
#define TA_LIMITED_BY_ROWS(X)                                                     \
  X(TA_BY_GOAL, "goal")               /* the target itself is within the limit */ \
  X(TA_BY_RATED_SPEED, "rated_speed") /* the shaft reaches its limit */           \
  X(TA_BY_SURGE, "surge")             /* it does so left of the surge line */     \
  X(TA_BY_CHOKE, "choke")             /* it does so right of the lines' ends */

typedef enum {
#define X(symbol, name) symbol,
  TA_LIMITED_BY_ROWS(X)
#undef X
      TA_LIMITED_BY_COUNT
} ta_limited_by;

/** "goal", "rated_speed", ... */
const char *ta_limited_by_name(ta_limited_by limited_by);

/** What limits a point that stands at the limit. */
ta_limited_by ta_limited_by_zone(ta_zone zone);

/** One MAP for the whole run. */
typedef struct {
  double map_pa; /* set-point: overshoot is taken off */
  ta_limited_by limited_by;
  bool clear_of_ambient;    /* false: even no boost at all passes the limit somewhere */
  ta_placed_point tightest; /* where the cap is set by the limit, at the cap, overshoot on; where
                               limited by the goal: the worst point */
} ta_constant_cap;

/**
 * The highest set-point at which no place of the course and no engine speed of the boost window
 * passes the limit, counting up from ambient; never above the goal.
 *
 * @param[in] over  What ta_over_find said of the goal.
 */
ta_status ta_constant_cap_find(const ta_prepared *prepared, const ta_over *over,
                               ta_constant_cap *cap);

#endif
