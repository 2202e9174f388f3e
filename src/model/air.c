/* air.c - the standard atmosphere, and what altimeters make of it.
 *
 * Model     Troposphere of constant lapse rate to 11 km, isothermal layer above.
 * Units     SI.  Heights are geopotential but where a name says geometric.
 * Source    ISO 2533:1975; the US Standard Atmosphere 1976 is the same up to 32 km.
 * Limits    Dry, no weather; -2 to 20 km.
 * Pinned by tests/published/test_iso2533.c, test_altimetry.c and tests/model/test_air.c. */
#include "thinair/air.h"

#include <math.h>
#include <stddef.h>

#define LAPSE_K_M 0.0065 /* ISO 2533 table 4, up to 11 km */

static const double EARTH_RADIUS_M = 6356766.0; /* ISO 2533 eq. (8) */
static const double T0_K = 288.15;              /* sea level */
static const double P0_PA = 101325.0;           /* sea level */
static const double TROPOPAUSE_M = 11000.0;
static const double FLOOR_M = -2001.0;
static const double CEILING_M = 20000.0;

/* g0/(R L): pressure goes as T to this power, density to one less. */
static const double EXPONENT = TA_G0_MS2 / (TA_R_DRY_JKGK * LAPSE_K_M);

double ta_geopotential_m(double geometric_m) {
  return EARTH_RADIUS_M * geometric_m / (EARTH_RADIUS_M + geometric_m);
}

double ta_geometric_m(double geopotential_m) {
  return EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m);
}

static ta_air isa(double height_m) {
  const double t = T0_K - LAPSE_K_M * fmin(height_m, TROPOPAUSE_M);
  const double above_m = fmax(height_m - TROPOPAUSE_M, 0.0);
  const double p =
      P0_PA * pow(t / T0_K, EXPONENT) * exp(-TA_G0_MS2 * above_m / (TA_R_DRY_JKGK * t));
  return (ta_air){.pressure_pa = p,
                  .temperature_k = t,
                  .mixing_ratio = 0.0,
                  .gas_constant_jkgk = TA_R_DRY_JKGK,
                  .density_kgm3 = p / (TA_R_DRY_JKGK * t)};
}

ta_status ta_isa_at(double geopotential_m, ta_air *air) {
  if (air == NULL || !isfinite(geopotential_m)) return TA_ERR_ARGUMENT;
  if (geopotential_m < FLOOR_M || geopotential_m > CEILING_M) return TA_ERR_DOMAIN;
  *air = isa(geopotential_m);
  return TA_OK;
}

/* Height at which something that falls with height from `sea_level`, as T to `power` up to the
 * tropopause and exponentially above, has this value. */
static double height_where(double value, double sea_level, double tropopause, double power) {
  if (value >= tropopause) return T0_K / LAPSE_K_M * (1.0 - pow(value / sea_level, 1.0 / power));
  const double t = T0_K - LAPSE_K_M * TROPOPAUSE_M;
  return TROPOPAUSE_M + TA_R_DRY_JKGK * t / TA_G0_MS2 * log(tropopause / value);
}

/* The range is settled by the value, not by the height, so that both ends round-trip. */
static double within_range(double height_m) {
  return fmin(fmax(height_m, FLOOR_M), CEILING_M);
}

ta_status ta_pressure_altitude(double pressure_pa, double *geopotential_m) {
  if (geopotential_m == NULL || !isfinite(pressure_pa)) return TA_ERR_ARGUMENT;
  if (pressure_pa > isa(FLOOR_M).pressure_pa || pressure_pa < isa(CEILING_M).pressure_pa)
    return TA_ERR_DOMAIN;
  *geopotential_m =
      within_range(height_where(pressure_pa, P0_PA, isa(TROPOPAUSE_M).pressure_pa, EXPONENT));
  return TA_OK;
}

ta_status ta_density_altitude(double density_kgm3, double *geopotential_m) {
  if (geopotential_m == NULL || !isfinite(density_kgm3)) return TA_ERR_ARGUMENT;
  if (density_kgm3 > isa(FLOOR_M).density_kgm3 || density_kgm3 < isa(CEILING_M).density_kgm3)
    return TA_ERR_DOMAIN;
  *geopotential_m = within_range(height_where(density_kgm3, isa(0.0).density_kgm3,
                                              isa(TROPOPAUSE_M).density_kgm3, EXPONENT - 1.0));
  return TA_OK;
}

/* The pressure that the standard troposphere has `climb_m` above the place where it is `from_pa`:
 * QNH and station pressure are one climb apart, up or down. */
static ta_status pressure_above(double from_pa, double station_m, double climb_m,
                                double *pressure_pa) {
  if (pressure_pa == NULL || !isfinite(from_pa) || !isfinite(station_m)) return TA_ERR_ARGUMENT;
  if (station_m < FLOOR_M || station_m > TROPOPAUSE_M) return TA_ERR_DOMAIN;
  const double coldest = 1.0 - LAPSE_K_M * TROPOPAUSE_M / T0_K;
  const double from = pow(from_pa / P0_PA, 1.0 / EXPONENT);
  const double to = from - LAPSE_K_M * climb_m / T0_K;
  if (!(from >= coldest && to >= coldest)) return TA_ERR_DOMAIN; /* NaN: a negative pressure */
  *pressure_pa = P0_PA * pow(to, EXPONENT);
  return TA_OK;
}

ta_status ta_station_pressure(double qnh_pa, double station_geopotential_m, double *pressure_pa) {
  return pressure_above(qnh_pa, station_geopotential_m, station_geopotential_m, pressure_pa);
}

ta_status ta_qnh(double pressure_pa, double station_geopotential_m, double *qnh_pa) {
  return pressure_above(pressure_pa, station_geopotential_m, -station_geopotential_m, qnh_pa);
}
