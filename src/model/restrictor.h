/* restrictor.h - the throat of an inlet restrictor.
 *
 * Model     Isentropic from the air outside to the throat, of air that stands still before it:
 *             W = A p0/sqrt(R T0) sqrt(gamma) M (1 + (gamma-1)/2 M^2)^(-(gamma+1)/(2(gamma-1)))
 *             p_throat/p0 = (1 + (gamma-1)/2 M^2)^(-gamma/(gamma-1))
 *           at M = 1 the throat is choked: W = 0.6847 A p0/sqrt(R T0).  Behind the throat a share of
 *           the fall of pressure comes back.
 * Source    NACA Report 1135, 1953, equations 44 and 80 (their numbers from memory) for gamma =
 *           1.4; any text on gas dynamics.
 * Limits    No discharge coefficient: a real throat passes a little less, and chokes a little
 *           earlier.
 * Units     SI.
 * Pinned by tests/model/test_restrictor.c.
 */
#ifndef THINAIR_RESTRICTOR_H
#define THINAIR_RESTRICTOR_H

#include <math.h>

#include "thinair/air.h"
#include "thinair/car.h"

/** Flow that chokes all throats of a restrictor [kg/s]. */
static inline double ta_restrictor_choked_flow(double throat_area_m2, double pressure_pa,
                                               double gas_constant_jkgk, double temperature_k) {
  const double to_sonic = 2.0 / (TA_GAMMA + 1.0); /* cubed: the exponent is 3 at gamma = 1.4 */
  return sqrt(TA_GAMMA) * to_sonic * to_sonic * to_sonic * throat_area_m2 * pressure_pa /
         sqrt(gas_constant_jkgk * temperature_k);
}

static inline double ta_restrictor_throat_area(const ta_restrictor *restrictor) {
  return 0.25 * acos(-1.0) * restrictor->diameter_m * restrictor->diameter_m * restrictor->count;
}

/** Pressure in the throat over the pressure before it, at a share of the choked flow, 0 to 1; above
 *  1 that of the choked throat. */
static inline double ta_restrictor_throat_ratio(double share) {
  const double m = share < 1.0 ? share : 1.0;
  const double v = sqrt(1.0 - m);
  /* within 2 % of M and of 1 - M everywhere; each step of Newton's squares that */
  double mach = 1.0 + v * (-1.0954 + v * (0.3482 - 0.2528 * v));
  double q = 1.0;
  for (int i = 0; i < 4; i++) {
    q = 1.0 + 0.5 * (TA_GAMMA - 1.0) * mach * mach;
    const double c = 0.5 * (TA_GAMMA + 1.0) / q, c3 = c * c * c;
    const double slope = c3 * (1.0 - mach * mach) / q;
    mach -= (mach * c3 - m) / (slope > 1e-9 ? slope : 1e-9);
  }
  q = 1.0 + 0.5 * (TA_GAMMA - 1.0) * mach * mach;
  return 1.0 / (q * q * q * sqrt(q));
}

#endif
