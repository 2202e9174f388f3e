/* speed_sensor.h - what a sensor that counts passing blades puts out, and what a logger makes of
 * it. */
#ifndef THINAIR_SPEED_SENSOR_H
#define THINAIR_SPEED_SENSOR_H

#include "thinair/car.h"

/** A runaway shaft must still be read: how far above the rated speed the logger should reach
 *  (common practice). */
#define TA_SENSOR_REACH_OVER_RATED 1.2

/** A level that is sampled must be so more than this often in a cycle, or it shows as a lower
 *  frequency (Shannon, Proc. IRE 37, 1949, 10); and this often to place its edges (common
 *  practice). */
#define TA_SENSOR_SAMPLES_LEAST 2.0
#define TA_SENSOR_SAMPLES_FOR_EDGES 10.0

/**
 * Pulses a second at a shaft speed.
 *
 *     f = n/60 blades/divider
 *
 * @param[in] shaft_rpm  n [rev/min]
 * @return    [Hz]
 * Source     A count of blades; the divider of the sensor's amplifier as its maker states it.
 */
double ta_sensor_frequency(const ta_speed_sensor *sensor, double shaft_rpm);

/**
 * Shaft speed that one pulse more or less is worth to a logger that counts over a gate, and the gate
 * that makes it worth so much.
 *
 *     dn = 60 divider/(blades gate)        gate = 60 divider/(blades dn)
 *
 * @param[in] gate_s, step_rpm  Above 0; 0 gives INFINITY.
 * @return    [rev/min]; [s]
 * Source     The frequency above with one pulse in a gate.
 */
double ta_sensor_step(const ta_speed_sensor *sensor, double gate_s);
double ta_sensor_gate(const ta_speed_sensor *sensor, double step_rpm);

/** Speed [rev/min] that a logger shows when it is set to another number of blades: n blades/set.  The
 *  shaft turns at n when it shows the returned speed. */
double ta_sensor_shown(const ta_speed_sensor *sensor, double shaft_rpm, double set_blades);

/** Gap [m] of a threaded sensor, screwed in until it touches and backed off: pitch x turns.  Both
 *  must be given. */
double ta_sensor_gap(const ta_speed_sensor *sensor);

enum { TA_SENSOR_COUNTS_MAX = 5 };

/** The blade counts that a logger may be set to, rising: half the right one where that is whole, one
 *  less, the right one, one more, twice (splitter blades counted, or not).  @return How many. */
int ta_sensor_counts(const ta_speed_sensor *sensor, double count[TA_SENSOR_COUNTS_MAX]);

#endif
