/* plan.h - the main job: is the target within the limit on this course, where not, and which cap
 * avoids it. */
#ifndef THINAIR_PLAN_H
#define THINAIR_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/drive.h"
#include "thinair/levers.h"
#include "thinair/over.h"
#include "thinair/prepare.h"
#include "thinair/status.h"
#include "thinair/strategy.h"
#include "thinair/timed_run.h"

/* Of shaft speed above the map's top line: past it a point is unreliable. */
#define TA_UNRELIABLE_BEYOND_TOP 0.10

/** Verdicts in order of precedence: the first that holds is the plan's. */
#define TA_VERDICT_ROWS(X)                                                            \
  X(TA_CANNOT_HOLD, "cannot_hold") /* the turbine cannot drive the target */          \
  X(TA_OVER, "over")               /* the limit is passed */                          \
  X(TA_CANNOT_CAP, "cannot_cap")   /* the target would hold, the spring gives more */ \
  X(TA_UNSURE, "unsure")           /* not enough is known to call it within */        \
  X(TA_CLEAR, "clear")             /* within the limit as described */

typedef enum {
#define X(symbol, name) symbol,
  TA_VERDICT_ROWS(X)
#undef X
      TA_VERDICT_COUNT
} ta_verdict;

/** "cannot_hold", "over", "cannot_cap", "unsure", "clear" */
const char *ta_verdict_name(ta_verdict verdict);

/** Why a verdict is what it is; words for them are report's business. */
typedef enum {
  TA_REASON_CANNOT_HOLD,       /* somewhere the turbine cannot drive the target */
  TA_REASON_OVER,              /* the shaft passes the limit */
  TA_REASON_CANNOT_CAP,        /* the wastegate's spring gives more than the cap */
  TA_REASON_UNREACHABLE,       /* past what the compressor map can tell at all */
  TA_REASON_FAR_EXTRAPOLATED,  /* the worst point lies more than 10 % above the top line */
  TA_REASON_SURGE,             /* the worst point lies left of the surge line */
  TA_REASON_CHOKE,             /* the worst point lies right of the lines' ends */
  TA_REASON_RESTRICTOR,        /* the inlet restrictor chokes, or is within 3 % of it */
  TA_REASON_MAP_SENSOR,        /* the target lies beyond what the controller's sensor reads */
  TA_REASON_MAP_ERROR,         /* below the limit by less than the map's own error */
  TA_REASON_MAP_ERROR_UNKNOWN, /* two speed lines: none can be left out to see how far off it is */
  TA_REASON_STATIONS_DISAGREE, /* superadiabatic, or pressures more than 1 hPa apart */
  TA_REASON_SURGE_IN_WINDOW,   /* part of the boost window lies left of the surge line */
  TA_REASON_COLD_READING,      /* one cold valley reading stands for the whole day */
  TA_REASON_COUNT
} ta_reason;

/** How far off a compressor map has shown itself to be, relative: inside its lines the worst of the
 *  lines when left out and predicted, above them its top line; negative: not known. */
typedef struct {
  double inside, beyond_top_line;
} ta_map_error;
ta_status ta_map_error_find(const ta_compressor *compressor, ta_map_error *error);

/** Of the two the one where the point lies. */
double ta_map_error_at(const ta_map_error *error, const ta_operating_point *point);

/** Does the goal, overshoot on, lie beyond what the controller's sensor reads at this ambient? */
bool ta_sensor_is_blind(const ta_prepared *prepared, double ambient_pa);

/**
 * The reasons that a worst point gives for itself; those of target, spring, sensor and day are left
 * alone.
 * @param[in] map_error         At the point, relative; negative: not known.
 * @param[in] surges_below_rpm  Highest engine speed of the window left of the surge line; 0: none.
 * @param[in] over              The limit is passed: then the map's own error has no say.
 */
void ta_point_reasons(const ta_operating_point *worst, double limit_rpm, double map_error,
                      double surges_below_rpm, bool over, bool reason[TA_REASON_COUNT]);

/** The first verdict, in order of precedence, that the reasons call for. */
ta_verdict ta_verdict_of(const bool reason[TA_REASON_COUNT]);

typedef struct {
  ta_verdict verdict;
  bool reason[TA_REASON_COUNT];
  double surges_below_rpm; /* at the goal somewhere on the course: highest engine speed of the
                              window left of the surge line; 0: none */
  struct { /* compressor outlet of the course at the goal; unreachable points left out */
    double outlet_temperature_k, engine_rpm, elevation_m; /* 0 K: all are */
  } hottest;
  double map_error; /* of the compressor map at the worst point, relative; 0: not known */
  bool map_error_known;
  ta_profile profile; /* at the goal */
  ta_over over;
  bool has_redline; /* above what is judged, and what a held target would do up to it */
  ta_over redline;
  ta_cap_set caps;
  ta_drive_check drive;
  ta_timed_runs runs;
  ta_levers levers;
  ta_operating_point start; /* worst of the window at the start line */
} ta_plan;

/** Can the compressor map not vouch for a point: more than 10 % above its top line, left of its surge
 *  line, right of its lines' ends, past what it can tell, or an inlet restrictor near its choking? */
bool ta_point_is_unreliable(const ta_operating_point *point);

/** Alarm set-point of a shaft-speed sensor: halfway between limit and rated speed, rounded down to
 *  500 rpm where that stays above the limit. */
double ta_alarm_rpm(const ta_prepared *prepared);

/** Is there room for it: are limit and rated speed 1,000 rpm apart or more? */
bool ta_alarm_has_room(const ta_prepared *prepared);

/**
 * Plan a prepared event.
 * @param[out] plan  To be given back with ta_plan_free.  Zeroed on failure.
 */
ta_status ta_plan_make(const ta_prepared *prepared, ta_plan *plan);
void ta_plan_free(ta_plan *plan);

#endif
