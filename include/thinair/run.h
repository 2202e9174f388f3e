/* run.h - a timed run up the course. */
#ifndef THINAIR_RUN_H
#define THINAIR_RUN_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/course.h"
#include "thinair/course_shape.h"
#include "thinair/status.h"
#include "thinair/vehicle.h"

/** Full-load power of one strategy over elevation and engine speed, linear between nodes. */
typedef struct {
  double low_m, step_m; /* evenly spaced elevations, over all of the course's; step 0 for one */
  size_t elevation_count;
  const double *engine_rpm; /* rising, two or more, the last at or above the shift speed; below the
                               first the torque is constant */
  size_t engine_count;
  const double *density_kgm3; /* ambient moist density [elevation] */
  double ram_pa[2];           /* rising */
  size_t layer_count;         /* 1: no ram; 2: power at ram_pa[0] and [1], linear between, else the
                                 nearer one's */
  double ram_recovery;        /* ram = recovery x 1/2 rho v^2 */
  const double *section_from_m; /* distance from which on each section's power holds, rising */
  size_t section_count;         /* 0 or 1: one power for the whole course */
  const double *power_w;        /* [section][layer][elevation][engine], 0: not known */
  const double
      *missing_map_pa; /* the same: what the MAP held is below the one asked for, 0 or more;
                                   NULL: nothing anywhere */
} ta_full_load;

#define TA_RUN_TOLERANCE 1e-4        /* change of the time that ends the halving, unless given */
#define TA_COARSE_RUN_TOLERANCE 1e-2 /* of runs that are only compared: their errors are alike */

/** Is something known that slows a car: a corner's radius, a speed limit, or positions to take
 *  corners from?  Else the time of a run means nothing. */
bool ta_run_time_known(const ta_course *course);

/** A course with its corners, made once for any number of runs.  The course is borrowed. */
typedef struct {
  const ta_course *course;
  double *curvature_1m; /* at each point, from positions; 0: straight, or no position */
} ta_road;

/**
 * @param[in]  course    One that ta_course_check passes.
 * @param[in]  length_m  Above 0; see ta_course_radius.
 * @param[out] road      To be freed with ta_road_free.  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  Something is missing; a course of fewer than two points; a distance that
 *                          does not rise; a length that is not above 0.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_road_make(const ta_course *course, double length_m, ta_road *road);
void ta_road_free(ta_road *road);

/** The car at one place of its run.  Gear and throttle are those it arrives with. */
typedef struct {
  double distance_m, elevation_m, time_s, speed_ms;
  double engine_rpm;     /* never below the first of the full-load table: the clutch slips */
  double throttle_share; /* of the full-load power; below 1 at the limit of grip or of a corner, 0
                            in a shift and on the brakes */
  double missing_map_pa; /* at full load here; 0 where a node of its table next to it misses none */
  size_t gear;           /* from 1 */
} ta_run_step;

typedef struct {
  ta_run_step *step; /* in order of distance, from the start; every course point is one of them, and
                        both ends of every shift */
  size_t step_count;
  size_t *at_point;   /* the step of each course point reached */
  size_t point_count; /* course points reached */
  double time_s;      /* to the finish, or to where it stalled */
  bool power_unknown; /* somewhere: a power of 0 in the full load is next to its way */
  bool stalled;       /* came to a standstill at the last step: the car cannot climb on */
  double step_m;      /* the longest step of the last halving */
  double change_s;    /* what the last halving changed; with order 2 a third of it is left */
  size_t halvings;    /* two or more; one may do for a coarse run or many thousand points */
  double order;       /* of convergence, observed over the last two halvings; when has_order */
  bool has_order;     /* there were two, and both changed the time the same way */
  bool order_settled; /* the halving before showed the same order, within 0.5 */
} ta_run;

/**
 * Drive a course from a standing start, as fast as the car goes; nothing slows it at the finish.
 *
 * Quasi-steady: at every place the force is the full-load power's or the grip's, whichever is less;
 * speeds are those from which the brakes make every corner and speed limit.  A corner lasts from
 * its point to the next; between points that have positions curvature is linear.  The time means
 * little unless ta_run_time_known.
 *
 * Gears: up at the shift speed, not before, and only where the next gear can hold the speed (else
 * the engine stays at the shift speed); down where the lower gear gives more force and the speed
 * can still grow by what two shifts take, at no cost on the brakes and in corners.  A shift coasts
 * for the shift time.  The highest gear never passes the shift speed either.
 *
 * Over a gap (after_gap) speed and gear are carried on and no time runs.
 *
 * Steps are halved until the time changes by less than the tolerance, or there are a million of
 * them.
 *
 * @param[in]  tolerance  Relative, above 0; TA_RUN_TOLERANCE.
 * @param[out] run        To be freed with ta_run_free.  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  Something is missing, or not finite.
 * @retval TA_ERR_DOMAIN    A length, mass, ratio, grip, efficiency, radius or limit is not above 0;
 *                          engine speeds do not rise or end below the shift speed; the course
 *                          leaves the elevations; a grade of 1 or more.
 * @retval TA_ERR_MEMORY
 *
 * Accuracy  330 of 336 invented runs are within 1e-4 of ones with far finer steps.  Where a change
 *           of gear is a toss-up another step may decide otherwise: 6e-3 at worst.
 * Threads   No static state; allocates.
 */
ta_status ta_run_make(const ta_road *road, const ta_vehicle *vehicle, const ta_full_load *full_load,
                      double tolerance, ta_run *run);
/** Time of the whole course [s]; INFINITY where the car stalls on it or its power is not known. */
double ta_run_made_s(const ta_run *run);

void ta_run_free(ta_run *run);

#endif
