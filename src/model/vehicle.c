/* vehicle.c - forces on a car, as a point mass on a road.
 *
 * Model     Drag and downforce go with the square of the speed, rolling resistance with the load of
 *           the tyres; grip is one coefficient a direction; the tyres roll without slip.
 * Units     SI; engine speed in rev/min.
 * Source    Common practice; g0 from ISO 2533.
 * Limits    No load transfer, no banking, no wind, no inertia of wheels and engine; grip along and
 *           across the road do not share one circle.
 * Pinned by tests/model/test_vehicle.c and tests/published/test_vehicle_examples.c.
 */
#include "thinair/vehicle.h"

#include <math.h>

#include "thinair/air.h"

static const double RPM_PER_RADS = 9.54929658551372; /* 60/(2 pi) */

static double dynamic_pressure(const ta_motion *motion) {
  return 0.5 * motion->density_kgm3 * motion->speed_ms * motion->speed_ms;
}

static double weight_across(const ta_vehicle *vehicle, double grade) {
  return vehicle->mass_kg * TA_G0_MS2 * sqrt(1.0 - grade * grade);
}

double ta_vehicle_drag(const ta_vehicle *vehicle, const ta_motion *motion) {
  return dynamic_pressure(motion) * vehicle->drag_area_m2;
}

double ta_vehicle_load(const ta_vehicle *vehicle, const ta_motion *motion) {
  return fmax(
      weight_across(vehicle, motion->grade) + dynamic_pressure(motion) * vehicle->downforce_area_m2,
      0.0);
}

double ta_vehicle_rolling(const ta_vehicle *vehicle, const ta_motion *motion) {
  return vehicle->rolling_resistance * ta_vehicle_load(vehicle, motion);
}

double ta_vehicle_grade_force(const ta_vehicle *vehicle, double grade) {
  return vehicle->mass_kg * TA_G0_MS2 * grade;
}

double ta_vehicle_resistance(const ta_vehicle *vehicle, const ta_motion *motion) {
  return ta_vehicle_drag(vehicle, motion) + ta_vehicle_rolling(vehicle, motion) +
         ta_vehicle_grade_force(vehicle, motion->grade);
}

double ta_vehicle_engine_force(const ta_vehicle *vehicle, double power_w, double speed_ms) {
  return vehicle->drivetrain_efficiency * power_w / speed_ms;
}

double ta_vehicle_drive_grip(const ta_vehicle *vehicle, const ta_motion *motion) {
  return vehicle->grip.drive * vehicle->driven_load_share * ta_vehicle_load(vehicle, motion);
}

double ta_vehicle_braking(const ta_vehicle *vehicle, const ta_motion *motion) {
  return (vehicle->grip.brake * ta_vehicle_load(vehicle, motion) +
          ta_vehicle_resistance(vehicle, motion)) /
         vehicle->mass_kg;
}

double ta_vehicle_corner_speed(const ta_vehicle *vehicle, double grade, double density_kgm3,
                               double radius_m) {
  const double grip = vehicle->grip.corner;
  /* what the corner takes more than downforce gives, per v^2 */
  const double wanted =
      vehicle->mass_kg / radius_m - grip * 0.5 * density_kgm3 * vehicle->downforce_area_m2;
  return wanted > 0.0 ? sqrt(grip * weight_across(vehicle, grade) / wanted) : (double)INFINITY;
}

/* Engine speed over road speed. */
static double rpm_per_ms(const ta_vehicle *vehicle, size_t gear) {
  return vehicle->gear[gear - 1] * vehicle->final_drive * RPM_PER_RADS / vehicle->tyre_radius_m;
}

double ta_vehicle_engine_rpm(const ta_vehicle *vehicle, size_t gear, double speed_ms) {
  return rpm_per_ms(vehicle, gear) * speed_ms;
}

double ta_vehicle_speed(const ta_vehicle *vehicle, size_t gear, double engine_rpm) {
  return engine_rpm / rpm_per_ms(vehicle, gear);
}
