/* operating_point.h - one car at one place at one engine speed and one MAP: every station of the
 * air's way in, and the shaft speed that it takes. */
#ifndef THINAIR_OPERATING_POINT_H
#define THINAIR_OPERATING_POINT_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/air.h"
#include "thinair/car.h"
#include "thinair/compressor_map.h"

enum { TA_LANES = 64 };

/** A block of points, structure of arrays.  Lanes 0 to count - 1 are in use. */
typedef struct {
  size_t count;

  /* given */
  double ambient_pressure_pa[TA_LANES];
  double ambient_temperature_k[TA_LANES];
  double gas_constant_jkgk[TA_LANES];
  double engine_rpm[TA_LANES];
  double map_pa[TA_LANES]; /* manifold absolute pressure */
  double ram_pa[TA_LANES]; /* of the driving wind, at the intake's mouth; 0 at rest */

  /* solved */
  double air_flow_kg_s[TA_LANES];     /* into the engine, moist */
  double inlet_pressure_pa[TA_LANES]; /* compressor inlet, total */
  double inlet_temperature_k[TA_LANES];
  double outlet_pressure_pa[TA_LANES]; /* compressor outlet, total */
  double outlet_temperature_k[TA_LANES];
  double charge_temperature_k[TA_LANES]; /* in the plenum */
  double corrected_flow_kg_s[TA_LANES];  /* of the judged turbo */
  double efficiency[TA_LANES];           /* of its compressor, thin air included */
  double corrected_rpm[TA_LANES];        /* raw: continued where it is unreachable */
  double shaft_rpm[TA_LANES];            /* INFINITY where unreachable */
  double beyond_top_line[TA_LANES];      /* as ta_map_reading, at the map point */
  double surge_to_choke[TA_LANES];
  double map_flow_kg_s[TA_LANES], map_y[TA_LANES]; /* the map point; y = sqrt(PR^(2/7) - 1) */
  double restrictor_share[TA_LANES]; /* flow over the restrictor's choked flow; 0: none */
  double residual[TA_LANES];         /* of the outlet temperature, relative */
  ta_zone zone[TA_LANES];
} ta_point_block;

/** What is given of a lane: its air, engine speed and MAP, and the ram pressure at the intake. */
void ta_point_block_set(ta_point_block *block, size_t lane, const ta_air *air, double engine_rpm,
                        double map_pa, double ram_pa);

/**
 * Solve a block: the compressor outlet temperature at which the air that the engine draws, through
 * intake, compressor and charge cooler, is the air that heats it so.
 *
 *     W   = ve Vd n / (60 revs_per_intake) p_m / (R T_m)          engine
 *     p1  = p_amb + ram - drop_in - drop_restrictor               intake, carries W (1 + leak)
 *     T1  = T_amb + rise
 *     p2  = p_m + drop_charge at density p2 / (R T2)              charge path, carries W
 *     T2  = T1 (1 + (PR^((gamma-1)/gamma) - 1) / eta)             compressor, PR = p2 / p1
 *     T_m = T2 - effectiveness (T2 - T_coolant)                   charge cooler
 *     eta, shaft speed                                            compressor map and thin air
 *
 * @param[in]     car    As read and checked.
 * @param[in]     map    Surface of the car's compressor.
 * @param[in,out] block  Each lane: 10 to 200 kPa and 180 to 340 K ambient, moist gas constant,
 *                       engine speed above 0, MAP above ambient.
 *
 * Accuracy  Residual of every equation below 1e-9 relative, see tests/model/test_operating_point.c.
 * Threads   Pure, no allocation.  A lane's bits depend on that lane alone.
 */
void ta_points_solve(const ta_car *car, const ta_compressor_map *map, ta_point_block *block);

/** One point, every station.  Pressures total, temperatures total; turbo values are the judged
 *  turbo's. */
typedef struct {
  ta_air ambient;
  double engine_rpm, map_pa;
  double air_flow_kg_s, fuel_flow_kg_s, charge_temperature_k, power_w;
  double inlet_pressure_pa, inlet_temperature_k, outlet_pressure_pa, outlet_temperature_k;
  double pressure_ratio, corrected_flow_kg_s, corrected_rpm, efficiency;
  double shaft_rpm; /* INFINITY where unreachable, and corrected_rpm too */
  double beyond_top_line, thin_air_speed_factor;
  double restrictor_share; /* flow over the restrictor's choked flow; 0: there is none */
  ta_zone zone;
} ta_operating_point;

/**
 * Solve one point.
 * @retval TA_ERR_ARGUMENT  Not finite.
 * @retval TA_ERR_DOMAIN    Engine speed not above 0, or MAP not above ambient: no boost to solve.
 */
ta_status ta_point_solve(const ta_car *car, const ta_compressor_map *map, const ta_air *ambient,
                         double engine_rpm, double map_pa, ta_operating_point *point);

/** Brake power [W] and fuel flow [kg/s] of an air flow [kg/s] of that mixing ratio. */
double ta_engine_fuel_flow(const ta_engine *engine, double air_flow_kg_s, double mixing_ratio);
double ta_engine_power(const ta_engine *engine, double air_flow_kg_s, double mixing_ratio);

/* A MAP above any that a compressor map can name a speed for, over the ambient pressure. */
#define TA_HIGHEST_MAP_OVER_AMBIENT 10.0

/**
 * Point caps: for each lane the lowest MAP, counted up from ambient, at which the shaft reaches a
 * limit.
 *
 * @param[in]     highest_map_pa  Where counting ends [lane], above ambient.
 * @param[in,out] block           Its given values but the MAP; solved at the caps, the side within
 *                                the limit, or at highest_map_pa where the limit is not reached.
 * @param[out]    reached         Whether the limit is reached up to there [lane].
 */
void ta_point_caps(const ta_car *car, const ta_compressor_map *map, double limit_rpm,
                   const double *highest_map_pa, ta_point_block *block, bool *reached);

/** The same for one point, at rest.  @return true when the limit is reached. */
bool ta_point_cap(const ta_car *car, const ta_compressor_map *map, const ta_air *ambient,
                  double engine_rpm, double limit_rpm, double highest_map_pa, double *cap_pa);

#endif
