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

#endif
