/* vehicle.h - the car as it meets road and air: mass, grip, drag, gears. */
#ifndef THINAIR_VEHICLE_H
#define THINAIR_VEHICLE_H

#include <stddef.h>

/** Coefficients of grip: force over load of the tyres that give it. */
typedef struct {
  double drive, corner, brake;
} ta_grip;

typedef struct {
  double mass_kg; /* ready to run, driver in it */
  double drag_area_m2, downforce_area_m2;
  double rolling_resistance;
  double tyre_radius_m;
  double *gear; /* ratios, first gear first */
  size_t gear_count;
  double final_drive, drivetrain_efficiency;
  double shift_rpm, shift_time_s;
  ta_grip grip;
  double driven_load_share; /* share of the car's weight on the driven axles */
} ta_vehicle;

/** How a car moves, and through which air. */
typedef struct {
  double grade;        /* rise over road: the sine of the slope; -1 to 1 */
  double density_kgm3; /* of the moist air */
  double speed_ms;
} ta_motion;

/*
 * Forces on a point mass.  All are pure, and none allocates.
 *
 * Source  The common longitudinal model of vehicle dynamics (common practice), as in the worked
 *         examples of tests/published/test_vehicle_examples.c.
 */

/** Drag [N]: 1/2 rho v^2 drag_area, against the motion.  Still air. */
double ta_vehicle_drag(const ta_vehicle *vehicle, const ta_motion *motion);

/** Load of the tyres [N]: m g cos + 1/2 rho v^2 downforce_area.  A negative area lifts; the load is
 *  never below 0. */
double ta_vehicle_load(const ta_vehicle *vehicle, const ta_motion *motion);

/** Rolling resistance [N]: rolling_resistance x load. */
double ta_vehicle_rolling(const ta_vehicle *vehicle, const ta_motion *motion);

/** The part of the weight along the road [N]: m g grade, above 0 uphill. */
double ta_vehicle_grade_force(const ta_vehicle *vehicle, double grade);

/** Drag, rolling resistance and grade force together [N]; below 0 where the car rolls by itself. */
double ta_vehicle_resistance(const ta_vehicle *vehicle, const ta_motion *motion);

/** Force at the wheels [N] that the engine's power gives without slip: efficiency P / v.
 *  @param[in] speed_ms  Above 0. */
double ta_vehicle_engine_force(const ta_vehicle *vehicle, double power_w, double speed_ms);

/** Highest force [N] the driven tyres pass on: grip.drive x driven_load_share x load.  Downforce is
 *  shared as the weight is; no load moves rearward under power. */
double ta_vehicle_drive_grip(const ta_vehicle *vehicle, const ta_motion *motion);

/** Deceleration [m/s2] with all tyres at grip.brake, resistances helping:
 *  (grip.brake x load + resistance)/m.  Below 0 where the brakes cannot hold the car. */
double ta_vehicle_braking(const ta_vehicle *vehicle, const ta_motion *motion);

/**
 * Highest speed [m/s] through a level corner, seen from above with this radius:
 *
 *     m v^2/r = grip.corner (m g cos + 1/2 rho v^2 downforce_area), solved for v
 *
 * INFINITY where downforce always suffices, and for an infinite radius.
 * @param[in] radius_m  Above 0.
 */
double ta_vehicle_corner_speed(const ta_vehicle *vehicle, double grade, double density_kgm3,
                               double radius_m);

/** Engine speed [rev/min] in a gear, counted from 1, at a road speed without slip; and back. */
double ta_vehicle_engine_rpm(const ta_vehicle *vehicle, size_t gear, double speed_ms);
double ta_vehicle_speed(const ta_vehicle *vehicle, size_t gear, double engine_rpm);

#endif
