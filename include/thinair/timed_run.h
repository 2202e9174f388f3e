/* timed_run.h - the run up the course under each strategy: what a cap costs, and what the shaft does
 * at the engine speeds that the car really has. */
#ifndef THINAIR_TIMED_RUN_H
#define THINAIR_TIMED_RUN_H

#include "thinair/run.h"
#include "thinair/strategy.h"

/** Why there is no time. */
typedef enum {
  TA_TIME_KNOWN,
  TA_TIME_NO_VEHICLE, /* the car file has no vehicle */
  TA_TIME_NO_CORNERS, /* the course has no corners, speed limits or positions */
  TA_TIME_STALLED,    /* the car cannot climb it at the full target */
  TA_TIME_UNREACHABLE /* the compressor map can name no point of the full target somewhere */
} ta_time_known;

/** Where the shaft first does something in the run. */
typedef struct {
  bool happens;
  double distance_m, elevation_m, engine_rpm, time_s;
} ta_moment;

/** What event and course tell of it before any run: never TA_TIME_STALLED. */
ta_time_known ta_event_time_known(const ta_event *event);

typedef struct {
  ta_time_known known;
  double time_s[TA_STRATEGY_COUNT]; /* INFINITY: not offered, stalled, or not known */
  bool has_best;
  ta_strategy best; /* of the caps, the quickest */

  ta_run run;        /* at the full target */
  double *shaft_rpm; /* at each of its steps, overshoot on, as at full throttle; 0 where the
                        throttle is shut */
  double over_limit_s, over_rated_s, peak_shaft_rpm;
  ta_moment first_over, first_over_rated;
} ta_timed_runs;

/**
 * Drive the course under every strategy that is offered.
 *
 * The engine gets what ta_strategy_full_load says; below the boost window its torque stays.  The
 * shaft is judged at what the full target's run gets at full throttle, overshoot on, ram pressure
 * too: where the turbine does not drive the target, at the MAP it does drive.  So it is wherever the
 * throttle is open at all; at part throttle the shaft really turns slower, and that is left as a
 * reserve.  A run of which the compressor map can name no point somewhere has no time.
 *
 * @param[out] runs  To be freed with ta_timed_runs_free; zeroed on failure.
 */
ta_status ta_timed_runs_make(const ta_prepared *prepared, const ta_cap_set *caps,
                             ta_timed_runs *runs);
void ta_timed_runs_free(ta_timed_runs *runs);

/** Time of a run [s] with every engine speed at its own cap in every air, what a perfect table would
 *  give; INFINITY where the car cannot climb.  The car has a vehicle. */
ta_status ta_quickest_run(const ta_prepared *prepared, const ta_road *road, double tolerance,
                          double *time_s);

/** Time of a run [s] under one cap for all of it, which can be had: that of ta_timed_runs_make on this
 *  road; INFINITY where the car cannot climb.  The car has a vehicle. */
ta_status ta_capped_run(const ta_prepared *prepared, const ta_constant_cap *cap,
                        const ta_road *road, double tolerance, double *time_s);

/**
 * Add the stretches where the shaft passes the limit in the run alone: at places that the judgement
 * over all engine speeds calls within the limit, as below the boost window.  They end where steps of
 * the run do.
 * @param[in,out] over  Of the course, see ta_over_find; first and worst follow.
 */
ta_status ta_over_add_run(const ta_prepared *prepared, const ta_profile *profile,
                          const ta_timed_runs *runs, ta_over *over);

/** Full load of that run, for vehicles that differ in what only the wheels feel: any but the shift
 *  speed.
 *  @param[out] load  To be freed with ta_quickest_load_free; untouched on failure. */
ta_status ta_quickest_load_make(const ta_prepared *prepared, ta_full_load **load);
void ta_quickest_load_free(ta_full_load *load);

/** Seconds of the run over the limit between two distances. */
double ta_seconds_over(const ta_timed_runs *runs, double limit_rpm, double from_m, double to_m);

#endif
