/* moist_air.c - water vapour in the air.
 *
 * Model     Ideal gases; saturation over liquid water at every temperature.
 * Units     SI.
 * Source    ASHRAE Handbook Fundamentals 2017, ch. 1.
 * Limits    No enhancement factor: saturated real air holds 0.4 to 0.5 % more vapour.
 * Decision  Over water below freezing too: weather reports and hygrometers are.
 * Pinned by tests/published/test_humid_air.c and tests/model/test_moist_air.c. */
#include "thinair/moist_air.h"

#include <math.h>
#include <stddef.h>

#include "thinair/air.h"

/* ASHRAE 2017 ch. 1 eq. (6), liquid water. */
static const double C8 = -5.8002206e3, C9 = 1.3914993, C10 = -4.8640239e-2, C11 = 4.1764768e-5,
                    C12 = -1.4452093e-8, C13 = 6.5459673;

static const double COLDEST_K = 173.15, HOTTEST_K = 473.15;

static double log_saturation(double t) {
  return C8 / t + C9 + t * (C10 + t * (C11 + t * C12)) + C13 * log(t);
}

double ta_saturation_pressure(double temperature_k) {
  return exp(log_saturation(temperature_k));
}

double ta_mixing_ratio(double vapour_pressure_pa, double pressure_pa) {
  return TA_EPSILON * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa);
}

double ta_vapour_pressure(double mixing_ratio, double pressure_pa) {
  return pressure_pa * mixing_ratio / (TA_EPSILON + mixing_ratio);
}

double ta_moist_gas_constant(double mixing_ratio) {
  return TA_R_DRY_JKGK * (1.0 + mixing_ratio / TA_EPSILON) / (1.0 + mixing_ratio);
}

double ta_virtual_temperature(double temperature_k, double mixing_ratio) {
  return temperature_k * (1.0 + mixing_ratio / TA_EPSILON) / (1.0 + mixing_ratio);
}

ta_status ta_dew_point(double vapour_pressure_pa, double *temperature_k) {
  if (temperature_k == NULL || !isfinite(vapour_pressure_pa)) return TA_ERR_ARGUMENT;
  if (vapour_pressure_pa < ta_saturation_pressure(COLDEST_K) ||
      vapour_pressure_pa > ta_saturation_pressure(HOTTEST_K))
    return TA_ERR_DOMAIN;
  /* Newton on ln e over 1/T, in which it is nearly straight: from anywhere in the range four steps
   * leave 1e-9 K; one to spare. */
  const double want = log(vapour_pressure_pa);
  double t = 300.0;
  for (int step = 0; step < 5; step++) {
    const double slope = C8 - t * (C13 + t * (C10 + t * (2.0 * C11 + t * 3.0 * C12)));
    t = 1.0 / (1.0 / t + (want - log_saturation(t)) / slope);
  }
  *temperature_k = t;
  return TA_OK;
}
