/* thin_air.h - what thin air takes from a compressor whose map was measured in dense air.
 *
 * Model     A gas stand breathes air near sea level.  On a mountain the Reynolds number of the wheel
 *           falls by a third and more: losses rise, and a pressure ratio takes more speed than the
 *           corrected map says.  Leaving that out errs on the unsafe side.
 *             Re/Re_map = rho1 sqrt(R T1) / mu(T1), over the same at the map's reference
 *             (1 - eta)/(1 - eta_map) = 0.3 + 0.7 (Re/Re_map)^-n
 *             head ratio h = 0.5 + 0.5 eta/eta_map, flow ratio sqrt(h)
 *           so the map point (W, head) at one corrected speed becomes (W sqrt(h), h head, eta).
 *           What is left of the measured effect goes with the inlet pressure:
 *             Nc = Nc_map max(1, (p1/p_ref)^-k)
 * Source    The splits 0.3/0.7 and 0.5/0.5: Strub et al., J. Turbomachinery 109(4), 1987, 541; see
 *           also Casey, J. Eng. Gas Turbines Power 107(2), 1985, 541.  The power law in place of the
 *           ratio of friction factors is a simplification.  The pressure term: Leufven and Eriksson,
 *           Int. J. Engine Research, doi 10.1177/1468087412439018, measured on car turbos; k = 0.04
 *           is about the low end of what they find, 0.12 the high end (our reading).
 *           Viscosity: Sutherland's formula with the constants of ISO 2533.
 * Units     SI.
 */
#ifndef THINAIR_THIN_AIR_H
#define THINAIR_THIN_AIR_H

#include <math.h>

#include "batch_math.h"
#include "thinair/air.h"
#include "thinair/car.h"

/** Dynamic viscosity of air [Pa s]. */
static inline double ta_viscosity(double temperature_k) {
  return 1.458e-6 * temperature_k * sqrt(temperature_k) / (temperature_k + 110.4);
}

/** Reynolds number over the map's, per pascal of inlet pressure [1/Pa]. */
static inline double ta_reynolds_ratio_per_pa(double inlet_temperature_k, double gas_constant_jkgk,
                                              double reference_pa, double reference_k) {
  return sqrt(TA_R_DRY_JKGK * reference_k / (gas_constant_jkgk * inlet_temperature_k)) *
         ta_viscosity(reference_k) / (ta_viscosity(inlet_temperature_k) * reference_pa);
}

/** eta / eta_map at a Reynolds ratio; exponent 0: exactly 1.  Not below a half: the split of losses was
 *  made for compressors near their best, and of a poor one it would take all. */
static inline double ta_thin_air_efficiency_ratio(double efficiency, double reynolds_ratio,
                                                  double exponent) {
  const double loss = 0.3 + 0.7 * ta_exp(-exponent * ta_log(reynolds_ratio));
  const double ratio = 1.0 + (1.0 - loss) * (1.0 - efficiency) / efficiency;
  return ratio > 0.5 ? ratio : 0.5;
}

/** Head of the real point over the head of its map point; the flow ratio is its square root. */
static inline double ta_thin_air_head_ratio(double efficiency_ratio) {
  return 0.5 + 0.5 * efficiency_ratio;
}

/** Corrected speed over the map's, from the inlet pressure alone. */
static inline double ta_thin_air_pressure_factor(double pressure_over_reference, double exponent) {
  const double factor = ta_exp(-exponent * ta_log(pressure_over_reference));
  return factor > 1.0 ? factor : 1.0;
}

#endif
