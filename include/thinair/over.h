/* over.h - where along the course the shaft passes its limit. */
#ifndef THINAIR_OVER_H
#define THINAIR_OVER_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/operating_point.h"
#include "thinair/prepare.h"
#include "thinair/status.h"

/** A point of the car at a place of the course. */
typedef struct {
  ta_operating_point point;
  double distance_m, elevation_m;
} ta_placed_point;

/** Engine speeds to try in a range: its ends, even steps, breakpoints of ve and goal; a block's worth
 *  at the most.  *from moves on, and is INFINITY at the end; start with the low end. */
size_t ta_speeds_in_range(const ta_event *event, ta_speed_range range, double *from, double *rpm);

/**
 * Worst point of a range of engine speeds at one elevation: where the shaft is fastest with the
 * controller at its set-point, overshoot on.  Ends of the range, breakpoints of ve and goal, and
 * maxima between, refined to 1 rpm.
 *
 * @param[in] cap  Set-points are not above it; HUGE_VAL: no cap.
 */
ta_status ta_worst_in_range(const ta_prepared *prepared, ta_speed_range range, double elevation_m,
                            double cap, ta_operating_point *worst);

/** The same in given air. */
ta_status ta_worst_in_air(const ta_prepared *prepared, ta_speed_range range, const ta_air *air,
                          double cap, ta_operating_point *worst);

/** The same over the speeds that are judged. */
ta_status ta_worst_in_window(const ta_prepared *prepared, double elevation_m, double cap,
                             ta_operating_point *worst);

/** What the judged engine speeds hold at one elevation besides its worst point, at the goal, overshoot on. */
typedef struct {
  double surges_below_rpm; /* highest engine speed left of the surge line; 0: none */
  double
      outlet_temperature_k; /* hottest of the compressor's outlet, unreachable points left out; 0:
                                  all are */
  double hottest_rpm;       /* the engine speed of that */
} ta_window_look;
ta_status ta_look_over_window(const ta_prepared *prepared, double elevation_m,
                              ta_window_look *look);

enum { TA_PROFILE_NODES_MAX = 1025 };

/**
 * What depends on elevation alone, solved on rising elevations: linear between them, and as many as
 * that takes to be within 1e-5 of the limit; next to a kink, as at a station halfway up, within a
 * few metres of height.
 */
typedef struct {
  size_t count;
  ta_speed_range range; /* of engine speed */
  double elevation_m[TA_PROFILE_NODES_MAX];
  ta_operating_point node[TA_PROFILE_NODES_MAX]; /* worst of the range */
} ta_profile;

ta_status ta_profile_make(const ta_prepared *prepared, ta_speed_range range, double cap,
                          ta_profile *profile);

/** The same on fewer elevations, those of the stations among them, within 1.5e-4 of the limit: for many
 *  events in a row. */
ta_status ta_profile_sketch(const ta_prepared *prepared, ta_speed_range range, double cap,
                            ta_profile *profile);

/** Shaft speed [rpm] at an elevation, read from the profile; INFINITY where either neighbour is. */
double ta_profile_shaft(const ta_profile *profile, double elevation_m);

/** The node at just this elevation; NULL: there is none. */
const ta_operating_point *ta_profile_node_at(const ta_profile *profile, double elevation_m);

/** The nodes at both sides of an elevation, and the share of the upper one. */
void ta_profile_between(const ta_profile *profile, double elevation_m,
                        const ta_operating_point **below, const ta_operating_point **above,
                        double *share);

/** One stretch over the limit. */
typedef struct {
  double from_distance_m, to_distance_m, from_elevation_m, to_elevation_m;
  double peak_shaft_rpm; /* INFINITY: past what the compressor map can tell */
  bool in_run; /* at the engine speeds of the simulated run; else over all that are judged */
} ta_stretch;

typedef struct {
  ta_stretch *stretch; /* in order of distance; to be freed with ta_over_free */
  size_t count;
  bool starts_over;      /* the limit is passed at the start already */
  ta_placed_point first; /* where the first stretch begins; set when count > 0 */
  ta_placed_point worst; /* fastest of the whole course */
} ta_over;

/** Stretches of the course over the limit at the profile's engine speeds; the first crossing is
 *  solved to 0.1 m of road. */
ta_status ta_over_find(const ta_prepared *prepared, const ta_profile *profile, ta_over *over);
void ta_over_free(ta_over *over);

#endif
