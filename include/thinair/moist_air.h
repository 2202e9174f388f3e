/* moist_air.h - water vapour in the air.
 *
 * Ideal gases without enhancement factor: real saturated air holds 0.4 to 0.5 % more vapour, and
 * the density is within 0.05 % (tests/published/test_humid_air.c). */
#ifndef THINAIR_MOIST_AIR_H
#define THINAIR_MOIST_AIR_H

#include "thinair/status.h"

#define TA_EPSILON 0.621945 /* molar mass of water over that of dry air; ASHRAE 2017 */

/**
 * Saturation vapour pressure over water, below freezing too: humidity is reported so.
 *
 *     ln e = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T
 *
 * @param[in] temperature_k  T [K], 173.15 to 473.15; printed for 273.15 up, continued below.
 * @return    e [Pa]; NaN for NaN.
 *
 * Accuracy  300 ppm of the printed table at 5 to 50 degC, 0.1 % of IAPWS-IF97.
 * Threads   Pure.
 * Source    ASHRAE Handbook Fundamentals 2017, ch. 1 eq. (6), after Hyland and Wexler 1983.
 */
double ta_saturation_pressure(double temperature_k);

/**
 * Mixing ratio from vapour pressure and total pressure, and back.
 *
 *     w = eps e/(p - e)      e = p w/(eps + w)
 *
 * @param[in] vapour_pressure_pa  e [Pa], 0 to below p.
 * @param[in] pressure_pa         p [Pa], total, above 0.
 * @param[in] mixing_ratio        w [kg of vapour per kg of dry air], from 0.
 * @return    w [kg/kg] or e [Pa]; NaN for NaN.
 *
 * Accuracy  Rounding, of ideal gases.
 * Threads   Pure.
 * Source    ASHRAE Handbook Fundamentals 2017, ch. 1 eq. (20).
 */
double ta_mixing_ratio(double vapour_pressure_pa, double pressure_pa);
double ta_vapour_pressure(double mixing_ratio, double pressure_pa);

/**
 * Gas constant of moist air:  R = R_dry (1 + w/eps)/(1 + w).
 *
 * @param[in] mixing_ratio  w [kg/kg], from 0.
 * @return    [J/(kg K)]; NaN for NaN.
 *
 * Accuracy  Rounding, of ideal gases.
 * Threads   Pure.
 * Source    Mixture of ideal gases.
 */
double ta_moist_gas_constant(double mixing_ratio);

/**
 * Virtual temperature: the temperature at which dry air has the same density and pressure.
 *
 *     Tv = T (1 + w/eps)/(1 + w)
 *
 * @param[in] temperature_k  T [K].
 * @param[in] mixing_ratio   w [kg/kg], from 0.
 * @return    Tv [K]; NaN for NaN.
 *
 * Accuracy  Rounding, of ideal gases.
 * Threads   Pure.
 * Source    AMS Glossary of Meteorology, "virtual temperature".
 */
double ta_virtual_temperature(double temperature_k, double mixing_ratio);

/**
 * Dew point over water: the temperature whose saturation pressure this is.
 *
 * @param[in]  vapour_pressure_pa  [Pa], saturation at 173.15 to 473.15 K: 0.00366 Pa to 1.555 MPa.
 * @param[out] temperature_k       [K].  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  temperature_k is NULL, or the pressure is not finite.
 * @retval TA_ERR_DOMAIN    The pressure is outside the range.
 *
 * Accuracy  1e-9 K of the inverse of ta_saturation_pressure.
 * Threads   Pure; no allocation.
 * Source    As ta_saturation_pressure.
 */
ta_status ta_dew_point(double vapour_pressure_pa, double *temperature_k);

#endif
