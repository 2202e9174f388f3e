/* turbine.h - the turbine that drives the compressor. */
#ifndef THINAIR_TURBINE_H
#define THINAIR_TURBINE_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/status.h"

/** A point of the turbine's flow capacity: corrected flow of one turbine at an expansion ratio. */
typedef struct {
  double expansion_ratio, flow_kg_s;
} ta_turbine_flow;

/** A point of its efficiency, total to static. */
typedef struct {
  double expansion_ratio, efficiency;
} ta_turbine_efficiency;

typedef struct {
  double inlet_temperature_k;
  double efficiency; /* total to static; where no table is given */
  bool has_efficiency;
  ta_turbine_efficiency *efficiency_point; /* rising in expansion ratio */
  size_t efficiency_count;
  double mechanical_efficiency;
  double reference_pa, reference_k;
  ta_turbine_flow *flow; /* rising in both */
  size_t flow_count;
  double back_pressure_pa, at_flow_kg_s; /* of the whole exhaust after the turbine, at that flow */
  double measured_pa;                    /* turbine outlet pressure that it was read with */
  double gamma, gas_constant_jkgk;       /* of the exhaust gas */
} ta_turbine;

/** What is asked of the turbines. */
typedef struct {
  double turbo_count;        /* in parallel, each with its turbine */
  double air_flow_kg_s;      /* into the engine, moist */
  double air_fuel_ratio;     /* by mass */
  double ambient_pa;         /* where the exhaust ends */
  double compressor_power_w; /* of one turbo: ta_compressor_power */
} ta_drive_demand;

/** How the exhaust drives the compressors.  Where it cannot, the state with the wastegate shut. */
typedef struct {
  double exhaust_flow_kg_s;  /* of the whole engine */
  double outlet_pressure_pa; /* p4, after the turbine, static */
  double inlet_pressure_pa;  /* p3, before it, total */
  double expansion_ratio;    /* p3/p4 */
  double turbine_flow_kg_s;  /* through all turbines */
  double wastegate_share;    /* of the exhaust that goes past them: 0 shut, 1 all */
  double power_w;            /* that one turbine hands to its compressor */
  double excess_w;           /* ta_turbine_excess */
  bool driven;
  bool beyond_points; /* past the last point of flow capacity or efficiency: constant there */
} ta_drive;

/**
 * Power that a compressor takes:  P = W cp (T2 - T1),  cp = gamma R/(gamma - 1).
 *
 * @param[in] flow_kg_s          W [kg/s], through this compressor.
 * @param[in] gas_constant_jkgk  R [J/(kg K)], of the moist air.
 * @param[in] inlet_k, outlet_k  T1, T2 [K], total.
 * @return    [W]; NaN for NaN.
 *
 * Threads   Pure.
 * Source    Steady flow energy equation of a perfect gas.
 */
double ta_compressor_power(double flow_kg_s, double gas_constant_jkgk, double inlet_k,
                           double outlet_k);

/**
 * Flow capacity of one turbine: a monotone cubic through (1, 0) and the points; 0 up to an expansion
 * ratio of 1, the last point's beyond it (choked).
 *
 *     We_t sqrt(T3/T_ref)/(p3/p_ref) = phi(E)
 *
 * @param[in] turbine          Points rising in expansion ratio, all above 1; flow never falling.
 * @param[in] expansion_ratio  E, any number.
 * @return    phi [kg/s].
 *
 * Accuracy  Six points of a nozzle's flow, 1.2 to 4: within 1.2 % between them.  Below the first the
 *           flow of a nozzle rises faster, and this one is short by half at 1.05: the turbine seems
 *           to need more expansion than it does.  See tests/published/test_turbine.c.
 * Threads   Pure, no allocation.
 * Source    Steffen, Astronomy and Astrophysics 239, 1990, 443; slopes at the ends: the secants.
 */
double ta_turbine_capacity(const ta_turbine *turbine, double expansion_ratio);

/** Efficiency at an expansion ratio: the one number, or linear between its points and constant
 *  beyond them. */
double ta_turbine_efficiency_at(const ta_turbine *turbine, double expansion_ratio);

/**
 * The lowest expansion ratio at which a turbine drives its compressor, and what goes past it.
 *
 *     We  = W (1 + 1/AFR)                                        exhaust; AFR on the moist air
 *     p4  = p_amb + back_pressure (We/at_flow)^2 p_measured/p4   exhaust pipe
 *     E   = p3/p4                                                total to static
 *     We_t = phi(E) (p3/p_ref)/sqrt(T3/T_ref)                    flow capacity, one turbine
 *     P   = eta_m eta(E) We_t cp T3 (1 - E^(-(gamma-1)/gamma))   its power, the compressor's
 *     share = 1 - count We_t/We                                  wastegate
 *
 * @param[in]  turbine  As read and checked: see ta_turbine_capacity; points of efficiency rising in
 *                      expansion ratio, efficiency above 0.
 * @param[in]  demand   All above 0; power from 0: there E is 1, and all goes past the turbines.
 *                      With turbos that do not share evenly, of the one that is judged.
 * @param[out] drive    Untouched unless TA_OK is returned.  Not driven when every balance would
 *                      take more than the whole exhaust; then all is said with the wastegate shut.
 * @retval TA_ERR_ARGUMENT  Something is NULL or not finite; no point of flow, no efficiency.
 * @retval TA_ERR_DOMAIN    A number of demand or turbine is outside its range.
 *
 * Accuracy  Power balance within 1e-11 of the compressor's power for expansion ratios from 1.01.
 * Threads   Pure, no allocation.
 * Source    Watson and Janota, Turbocharging the Internal Combustion Engine, 1982: turbine flow,
 *           power and energy balance; from memory.
 */
ta_status ta_turbine_drive(const ta_turbine *turbine, const ta_drive_demand *demand,
                           ta_drive *drive);

/**
 * Power that one turbine would give with the wastegate shut, over its compressor's: below 0 the
 * compressor cannot be driven.  The equations and inputs of ta_turbine_drive, unchecked.
 *
 * @return    [W]
 *
 * Limits    Where efficiency falls faster than 1/E, less gas may give more power, and
 *           ta_turbine_drive may still find a balance.
 * Threads   Pure, no allocation.
 */
double ta_turbine_excess(const ta_turbine *turbine, const ta_drive_demand *demand);

#endif
