/* air.h - still air at one place, and the standard atmosphere. */
#ifndef THINAIR_AIR_H
#define THINAIR_AIR_H

#include "thinair/status.h"

/* ISO 2533 / US Standard Atmosphere 1976 */
#define TA_G0_MS2 9.80665       /* adopted acceleration of gravity [m/s2] */
#define TA_R_DRY_JKGK 287.05287 /* gas constant of dry air [J/(kg K)] */
#define TA_GAMMA 1.4            /* ratio of specific heats, dry and moist */

/** Still air at one place.  Plain data. */
typedef struct {
  double pressure_pa;
  double temperature_k;
  double mixing_ratio;      /* kg of vapour per kg of dry air */
  double gas_constant_jkgk; /* of the moist air */
  double density_kgm3;
} ta_air;

/**
 * Geopotential height of a geometric elevation, and back.
 *
 *     H = r z / (r + z)      z = r H / (r - H)      r = 6 356 766 m
 *
 * @param[in] geometric_m, geopotential_m  [m]; any but z = -r and H = r.
 * @return    [m]; NaN for NaN.
 *
 * Accuracy  Rounding, for the standard latitude; real gravity moves H by up to 0.3 %.
 * Threads   Pure.
 * Source    ISO 2533:1975, eq. (8) and (9).
 */
double ta_geopotential_m(double geometric_m);
double ta_geometric_m(double geopotential_m);

/**
 * Dry air of the standard day.
 *
 *     T = T0 - L H                           up to 11 000 m; T0 = 288.15 K, L = 6.5 K/km
 *     p = p0 (T/T0)^(g0/(R L))               p0 = 101 325 Pa
 *     T = 216.65 K,  p = p11 exp(-g0 (H - 11 000)/(R T))      above
 *     rho = p/(R T)
 *
 * @param[in]  geopotential_m  H [m], -2 001 to 20 000; the lower end is 2 000 m below sea level,
 *                             geometric, rounded outward.
 * @param[out] air             Mixing ratio 0.  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT     air is NULL, or the height is not finite.
 * @retval TA_ERR_DOMAIN       The height is outside the range.
 *
 * Accuracy  The printed tables to one unit of their last digit, see
 *           tests/published/test_iso2533.c.
 * Threads   Pure; no allocation.
 * Source    ISO 2533:1975, clause 2 and tables 5 to 7.
 */
ta_status ta_isa_at(double geopotential_m, ta_air *air);

/**
 * Geopotential height at which the standard day has this pressure, or this density: pressure
 * altitude and density altitude.  The equations of ta_isa_at, solved for H.
 *
 * @param[in]  pressure_pa     [Pa]
 * @param[in]  density_kgm3    [kg/m3]; give the density of the moist air.
 * @param[out] geopotential_m  [m], -2 001 to 20 000.  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT     geopotential_m is NULL, or the input is not finite.
 * @retval TA_ERR_DOMAIN       The height would be outside the range.
 *
 * Accuracy  There and back within 2e-11 m.
 * Threads   Pure; no allocation.
 * Source    ISO 2533:1975, clause 2.
 */
ta_status ta_pressure_altitude(double pressure_pa, double *geopotential_m);
ta_status ta_density_altitude(double density_kgm3, double *geopotential_m);

/**
 * Station pressure from an altimeter setting (QNH), and back, by the standard day.
 *
 *     (QNH/p0)^(1/n) = (p/p0)^(1/n) + L H/T0      n = g0/(R L)
 *
 * @param[in]  qnh_pa, pressure_pa      [Pa], above 0.
 * @param[in]  station_geopotential_m   H [m], -2 001 to 11 000.
 * @param[out] pressure_pa, qnh_pa      [Pa].  Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  The output is NULL, or an input is not finite.
 * @retval TA_ERR_DOMAIN    An input is outside its range, or the pressure altitude of station or
 *                          altimeter setting is above the troposphere.
 *
 * Accuracy  Rounding.  QNH is reported in whole hPa or 0.01 inHg, so 50 or 17 Pa are lost before.
 * Threads   Pure; no allocation.
 * Source    The standard day, ISO 2533:1975; the definition of QNH is common practice.
 */
ta_status ta_station_pressure(double qnh_pa, double station_geopotential_m, double *pressure_pa);
ta_status ta_qnh(double pressure_pa, double station_geopotential_m, double *qnh_pa);

#endif
