/* operating_point.c - the one solver: blocks of points, and single points as blocks of one.
 *
 * Method    The unknown is the compressor outlet temperature T2.  Given it, every station is
 *           explicit, and the compressor gives a T2 back; the two meet after a handful of secant
 *           passes.  A warmer T2 thins the charge and lowers the flow, so the curve that comes back
 *           is nearly flat.  The thin-air head ratio moves the map point by a little of itself and is
 *           carried along from pass to pass.  A lane whose passes have not met goes to a bracketed
 *           solve of its own.
 * Units     SI, speeds in rev/min.
 * Limits    Shaft speed follows flow and pressure ratio within milliseconds, so the steady map
 *           holds in transients too; spool-up itself is not modelled.
 * Pinned by tests/model/test_operating_point.c: residual of every equation, and an independent
 *           solver with other unknowns.
 */
#include "thinair/operating_point.h"

#include <math.h>

#include "batch_math.h"
#include "compressor_surface.h"
#include "thin_air.h"

enum { PASSES = 6, BRACKET_STEPS = 200, SETTLE_ROUNDS = 20 };
static const double MEET = 1e-10;             /* relative, of the outlet temperature */
static const double LEAST_HEAD = 1e-12;       /* no boost: the wheel idles */
static const double LEAST_INLET_SHARE = 0.05; /* of ambient: below it the flow cannot be drawn */

/* The clones differ in speed alone: no contraction, so the bits are the same. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_THREAD__) && !defined(__SANITIZE_ADDRESS__)
#define VECTOR_CLONES __attribute__((target_clones("default", "avx2")))
#else
#define VECTOR_CLONES
#endif

#if defined(__GNUC__) && !defined(__clang__)
#define EACH_LANE_ALONE _Pragma("GCC ivdep") /* what is stored for one lane is read by no other */
#else
#define EACH_LANE_ALONE
#endif

/* A loop over lanes is vectorised only when all that it calls stands inside it. */
#define ALWAYS_INLINE static inline __attribute__((always_inline))

/* Of the car, the same for every lane. */
typedef struct {
  double flow_per_speed; /* displacement per rev/min and intake stroke [m3/s per rev/min] */
  double temperature_rise_k, leak, turbo_share;
  double intake_drop, charge_drop; /* drop rho / W^2 [Pa (kg/m3)/(kg/s)^2] */
  double effectiveness, coolant_k;
  bool coolant_fixed; /* else the ambient air cools */
  double reference_pa, reference_k;
  double reynolds_exponent, pressure_exponent;
} air_path;

/* Of one lane, the same in every pass. */
typedef struct {
  double ambient_pa, map_pa, inlet_k, coolant_k;
  double flow_k;              /* engine flow times charge temperature */
  double drop_over_flow2;     /* intake drop over the square of the engine's flow */
  double charge_over_flow2_k; /* of the charge path: p2 (p2 - p_m) over W^2 T2 */
  double corrected_per_flow;  /* corrected flow times inlet pressure over the engine's flow */
  double reynolds_per_pa;
} lane_given;

/* The same of every lane, structure of arrays. */
typedef struct {
  double ambient_pa[TA_LANES], map_pa[TA_LANES], inlet_k[TA_LANES], coolant_k[TA_LANES],
      flow_k[TA_LANES], drop_over_flow2[TA_LANES], charge_over_flow2_k[TA_LANES],
      corrected_per_flow[TA_LANES], reynolds_per_pa[TA_LANES];
} lanes_given;

/* One lane's stations at an assumed outlet temperature. */
typedef struct {
  double outlet_k;         /* what the compressor gives back */
  double efficiency_ratio; /* thin air: eta over the map's, at the map point that was assumed */
  double charge_k, flow, inlet_pa, outlet_pa;
  double corrected_flow, efficiency;
  double map_flow, map_y; /* the map point */
} stations;

static double drop_coefficient(const ta_flow_drop *drop) {
  return drop->drop_pa / (drop->at_flow_kg_s * drop->at_flow_kg_s) * drop->pressure_pa /
         (TA_R_DRY_JKGK * drop->temperature_k);
}

static air_path path_of(const ta_car *car) {
  const ta_thin_air *thin = &car->turbo.thin_air;
  return (air_path){
      .flow_per_speed =
          car->engine.displacement_m3 / (60.0 * ta_engine_revs_per_intake(&car->engine)),
      .temperature_rise_k = car->intake.temperature_rise_k,
      .leak = car->charge_cooler.leak,
      .turbo_share = ta_turbo_share(&car->turbo),
      .intake_drop = drop_coefficient(&car->intake.drop),
      .charge_drop = drop_coefficient(&car->charge_cooler.drop),
      .effectiveness = car->charge_cooler.effectiveness,
      .coolant_k = car->charge_cooler.coolant_k,
      .coolant_fixed = car->charge_cooler.has_coolant,
      .reference_pa = car->turbo.compressor.reference.pressure_pa,
      .reference_k = car->turbo.compressor.reference.temperature_k,
      .reynolds_exponent = thin->off != 0 ? 0.0 : thin->reynolds_exponent,
      .pressure_exponent = thin->off != 0 ? 0.0 : thin->pressure_exponent,
  };
}

ALWAYS_INLINE lane_given lane_of(const lanes_given *given, size_t i) {
  return (lane_given){given->ambient_pa[i],
                      given->map_pa[i],
                      given->inlet_k[i],
                      given->coolant_k[i],
                      given->flow_k[i],
                      given->drop_over_flow2[i],
                      given->charge_over_flow2_k[i],
                      given->corrected_per_flow[i],
                      given->reynolds_per_pa[i]};
}

ALWAYS_INLINE stations stations_at(const air_path *path, const ta_surface_view *map,
                                   const lane_given *lane, double outlet_k,
                                   double efficiency_ratio) {
  stations s;
  s.charge_k = outlet_k - path->effectiveness * (outlet_k - lane->coolant_k);
  s.flow = lane->flow_k / s.charge_k;
  const double flow2 = s.flow * s.flow, least_pa = LEAST_INLET_SHARE * lane->ambient_pa;
  const double inlet_pa = lane->ambient_pa - lane->drop_over_flow2 * flow2;
  s.inlet_pa = inlet_pa > least_pa ? inlet_pa : least_pa;
  s.outlet_pa = 0.5 * (lane->map_pa + sqrt(lane->map_pa * lane->map_pa +
                                           4.0 * lane->charge_over_flow2_k * flow2 * outlet_k));
  s.corrected_flow = lane->corrected_per_flow * s.flow / s.inlet_pa;

  const double exponent = (TA_GAMMA - 1.0) / TA_GAMMA;
  double head = ta_exp(exponent * ta_log(s.outlet_pa / s.inlet_pa)) - 1.0;
  head = head > LEAST_HEAD ? head : LEAST_HEAD;
  const double y = sqrt(head);
  const double per_root = 1.0 / sqrt(ta_thin_air_head_ratio(efficiency_ratio));
  s.map_flow = s.corrected_flow * per_root;
  s.map_y = y * per_root;
  const ta_surface_place place = ta_surface_locate(map, s.map_flow, s.map_y);
  const double on_line = ta_surface_value(map->efficiency, place.tau_cell, place.q_cell);
  /* right of choke the heating stays that of the line's end, and so does its share of loss */
  s.efficiency_ratio = ta_thin_air_efficiency_ratio(on_line, s.inlet_pa * lane->reynolds_per_pa,
                                                    path->reynolds_exponent);
  s.efficiency = on_line * place.recovered * s.efficiency_ratio;
  s.outlet_k = lane->inlet_k * (1.0 + head / s.efficiency);
  return s;
}

/* Both the outlet temperature and the thin-air ratio must come back as assumed. */
ALWAYS_INLINE double mismatch(const stations *s, double outlet_k, double efficiency_ratio) {
  const double a = fabs(s->outlet_k - outlet_k) / outlet_k,
               b = fabs(s->efficiency_ratio - efficiency_ratio);
  return a > b ? a : b;
}

/* What comes back above an assumed temperature, the thin-air ratio settled. */
static double excess_at(const air_path *path, const ta_surface_view *map, const lane_given *lane,
                        double outlet_k, double *efficiency_ratio) {
  stations s = stations_at(path, map, lane, outlet_k, *efficiency_ratio);
  for (int round = 0; round < SETTLE_ROUNDS && s.efficiency_ratio != *efficiency_ratio; round++) {
    *efficiency_ratio = s.efficiency_ratio;
    s = stations_at(path, map, lane, outlet_k, *efficiency_ratio);
  }
  return s.outlet_k - outlet_k;
}

/* Bracketed solve of one lane: the temperature that comes back lies above a low guess and below a
 * high one.  False position with the Illinois weights (Dowell and Jarratt, BIT 11, 1971, 168), and
 * now and then a halving. */
static void solve_lane(const air_path *path, const ta_surface_view *map, const lane_given *lane,
                       double *outlet_k, double *efficiency_ratio) {
  double low = lane->inlet_k, high = 20.0 * lane->inlet_k, ratio = *efficiency_ratio;
  double above = excess_at(path, map, lane, low, &ratio),
         below = excess_at(path, map, lane, high, &ratio), at = low;
  int side = 0;
  for (int step = 1; step <= BRACKET_STEPS && high - low > 1e-13 * high; step++) {
    at = step % 8 == 0 ? 0.5 * (low + high) : low + (high - low) * above / (above - below);
    const double excess = excess_at(path, map, lane, at, &ratio);
    if (fabs(excess) <= 0.01 * MEET * at) break;
    if (excess > 0.0) {
      low = at;
      above = excess;
      if (side > 0) below *= 0.5;
      side = 1;
    } else {
      high = at;
      below = excess;
      if (side < 0) above *= 0.5;
      side = -1;
    }
  }
  *outlet_k = at;
  *efficiency_ratio = ratio;
}

ALWAYS_INLINE void store(ta_point_block *block, size_t i, const stations *s, double outlet_k,
                         double residual) {
  block->residual[i] = residual;
  block->air_flow_kg_s[i] = s->flow;
  block->inlet_pressure_pa[i] = s->inlet_pa;
  block->outlet_pressure_pa[i] = s->outlet_pa;
  block->outlet_temperature_k[i] = outlet_k;
  block->charge_temperature_k[i] = s->charge_k;
  block->corrected_flow_kg_s[i] = s->corrected_flow;
  block->efficiency[i] = s->efficiency;
  block->map_flow_kg_s[i] = s->map_flow;
  block->map_y[i] = s->map_y;
}

/* speed_ve: engine speed times volumetric efficiency. */
VECTOR_CLONES
static void solve_stations(const air_path *path, const ta_surface_view *view,
                           const double *speed_ve, ta_point_block *block, lanes_given *given,
                           double *outlet_k, double *ratio) {
  double before_k[TA_LANES], gave_k[TA_LANES];
  const size_t count = block->count;
  const ta_surface_view surface = *view, *map = &surface; /* known not to change in the loops */
  const double carried = 1.0 + path->leak, reference_rt = TA_R_DRY_JKGK * path->reference_k;
  const double ambient_cools = path->coolant_fixed ? 0.0 : 1.0,
               fixed_coolant_k = path->coolant_fixed ? path->coolant_k : 0.0;

  EACH_LANE_ALONE
  for (size_t i = 0; i < count; i++) {
    const double ambient_pa = block->ambient_pressure_pa[i],
                 ambient_k = block->ambient_temperature_k[i],
                 gas_constant = block->gas_constant_jkgk[i], map_pa = block->map_pa[i];
    const double inlet_k = ambient_k + path->temperature_rise_k;
    given->ambient_pa[i] = ambient_pa;
    given->map_pa[i] = map_pa;
    given->inlet_k[i] = inlet_k;
    given->coolant_k[i] = ambient_k * ambient_cools + fixed_coolant_k;
    given->flow_k[i] = path->flow_per_speed * speed_ve[i] * map_pa / gas_constant;
    given->drop_over_flow2[i] =
        path->intake_drop * carried * carried * gas_constant * ambient_k / ambient_pa;
    given->charge_over_flow2_k[i] = path->charge_drop * gas_constant;
    given->corrected_per_flow[i] = carried * path->turbo_share *
                                   sqrt(gas_constant * inlet_k / reference_rt) * path->reference_pa;
    given->reynolds_per_pa[i] =
        ta_reynolds_ratio_per_pa(inlet_k, gas_constant, path->reference_pa, path->reference_k);
    /* a guess without losses in the ducts, at 70 % efficiency */
    const double head = ta_exp((TA_GAMMA - 1.0) / TA_GAMMA * ta_log(map_pa / ambient_pa)) - 1.0;
    before_k[i] = inlet_k * (1.0 + (head > 0.0 ? head : 0.0) / 0.7);
    ratio[i] = 1.0;
  }
  EACH_LANE_ALONE
  for (size_t i = 0; i < count; i++) {
    const lane_given lane = lane_of(given, i);
    const stations s = stations_at(path, map, &lane, before_k[i], ratio[i]);
    gave_k[i] = s.outlet_k;
    ratio[i] = s.efficiency_ratio;
    outlet_k[i] = s.outlet_k;
  }
  for (int pass = 2; pass < PASSES; pass++) {
    EACH_LANE_ALONE
    for (size_t i = 0; i < count; i++) {
      const lane_given lane = lane_of(given, i);
      const stations s = stations_at(path, map, &lane, outlet_k[i], ratio[i]);
      const double moved = outlet_k[i] - before_k[i];
      double slope = (s.outlet_k - gave_k[i]) / (moved != 0.0 ? moved : 1.0);
      slope = slope < 0.5 ? slope : 0.5;
      slope = slope > -2.0 ? slope : -2.0;
      before_k[i] = outlet_k[i];
      gave_k[i] = s.outlet_k;
      ratio[i] = s.efficiency_ratio;
      outlet_k[i] = outlet_k[i] + (s.outlet_k - outlet_k[i]) / (1.0 - slope);
    }
  }
  EACH_LANE_ALONE
  for (size_t i = 0; i < count; i++) {
    const lane_given lane = lane_of(given, i);
    const stations s = stations_at(path, map, &lane, outlet_k[i], ratio[i]);
    store(block, i, &s, outlet_k[i], mismatch(&s, outlet_k[i], ratio[i]));
    block->inlet_temperature_k[i] = given->inlet_k[i];
  }
}

VECTOR_CLONES
static void read_speeds(const air_path *path, const struct ta_compressor_map *map,
                        ta_point_block *block) {
  const ta_surface_view view = ta_surface_view_of(map);
  const double reference_rt = TA_R_DRY_JKGK * path->reference_k;
  EACH_LANE_ALONE
  for (size_t i = 0; i < block->count; i++) {
    const ta_surface_reading reading =
        ta_surface_at(&view, block->map_flow_kg_s[i], block->map_y[i]);
    const double factor = ta_thin_air_pressure_factor(
        block->inlet_pressure_pa[i] / path->reference_pa, path->pressure_exponent);
    block->beyond_top_line[i] = reading.corrected_rpm / map->top_rpm - 1.0;
    block->surge_to_choke[i] = reading.surge_to_choke;
    block->corrected_rpm[i] = reading.corrected_rpm * factor;
    block->shaft_rpm[i] =
        block->corrected_rpm[i] *
        sqrt(block->gas_constant_jkgk[i] * block->inlet_temperature_k[i] / reference_rt);
  }
}

void ta_points_solve(const ta_car *car, const ta_compressor_map *map, ta_point_block *block) {
  const air_path path = path_of(car);
  const ta_surface_view view = ta_surface_view_of(map);
  lanes_given given;
  double speed_ve[TA_LANES], outlet_k[TA_LANES], ratio[TA_LANES];
  for (size_t i = 0; i < block->count; i++)
    speed_ve[i] = block->engine_rpm[i] * ta_engine_ve(&car->engine, block->engine_rpm[i]);
  solve_stations(&path, &view, speed_ve, block, &given, outlet_k, ratio);
  for (size_t i = 0; i < block->count; i++) {
    if (block->residual[i] <= MEET) continue;
    const lane_given lane = lane_of(&given, i);
    solve_lane(&path, &view, &lane, &outlet_k[i], &ratio[i]);
    const stations s = stations_at(&path, &view, &lane, outlet_k[i], ratio[i]);
    store(block, i, &s, outlet_k[i], mismatch(&s, outlet_k[i], ratio[i]));
  }
  read_speeds(&path, map, block);
  for (size_t i = 0; i < block->count; i++) {
    const double map_rpm = (1.0 + block->beyond_top_line[i]) * map->top_rpm;
    block->zone[i] = ta_surface_zone(map, map_rpm, block->surge_to_choke[i]);
    if (!(block->residual[i] <= MEET)) block->zone[i] = TA_UNREACHABLE; /* no state that holds */
    if (block->zone[i] == TA_UNREACHABLE) block->shaft_rpm[i] = (double)INFINITY;
  }
}

double ta_engine_fuel_flow(const ta_engine *engine, double air_flow_kg_s, double mixing_ratio) {
  return air_flow_kg_s / (1.0 + mixing_ratio) / engine->air_fuel_ratio;
}

double ta_engine_power(const ta_engine *engine, double air_flow_kg_s, double mixing_ratio) {
  return ta_engine_fuel_flow(engine, air_flow_kg_s, mixing_ratio) / engine->bsfc_kg_j;
}

/* Speed with thin air over without, at the same flow, pressure ratio, temperature and pressure. */
static double thin_air_speed_factor(const struct ta_compressor_map *map,
                                    const ta_point_block *block) {
  const double exponent = (TA_GAMMA - 1.0) / TA_GAMMA;
  const double head =
      ta_exp(exponent * ta_log(block->outlet_pressure_pa[0] / block->inlet_pressure_pa[0])) - 1.0;
  const ta_surface_view view = ta_surface_view_of(map);
  const double without = ta_surface_rpm(&view, block->corrected_flow_kg_s[0], sqrt(head));
  return block->corrected_rpm[0] / without;
}

ta_status ta_point_solve(const ta_car *car, const ta_compressor_map *map, const ta_air *ambient,
                         double engine_rpm, double map_pa, ta_operating_point *point) {
  if (car == NULL || map == NULL || ambient == NULL || point == NULL || !isfinite(engine_rpm) ||
      !isfinite(map_pa) || !isfinite(ambient->pressure_pa) || !isfinite(ambient->temperature_k) ||
      !isfinite(ambient->gas_constant_jkgk) || !isfinite(ambient->mixing_ratio))
    return TA_ERR_ARGUMENT;
  if (!(engine_rpm > 0.0) || !(map_pa > ambient->pressure_pa)) return TA_ERR_DOMAIN;
  ta_point_block b = {.count = 1};
  b.ambient_pressure_pa[0] = ambient->pressure_pa;
  b.ambient_temperature_k[0] = ambient->temperature_k;
  b.gas_constant_jkgk[0] = ambient->gas_constant_jkgk;
  b.engine_rpm[0] = engine_rpm;
  b.map_pa[0] = map_pa;
  ta_points_solve(car, map, &b);
  const bool reached = b.zone[0] != TA_UNREACHABLE;
  *point = (ta_operating_point){
      .ambient = *ambient,
      .engine_rpm = engine_rpm,
      .map_pa = map_pa,
      .air_flow_kg_s = b.air_flow_kg_s[0],
      .fuel_flow_kg_s =
          ta_engine_fuel_flow(&car->engine, b.air_flow_kg_s[0], ambient->mixing_ratio),
      .charge_temperature_k = b.charge_temperature_k[0],
      .power_w = ta_engine_power(&car->engine, b.air_flow_kg_s[0], ambient->mixing_ratio),
      .inlet_pressure_pa = b.inlet_pressure_pa[0],
      .inlet_temperature_k = b.inlet_temperature_k[0],
      .outlet_pressure_pa = b.outlet_pressure_pa[0],
      .outlet_temperature_k = b.outlet_temperature_k[0],
      .pressure_ratio = b.outlet_pressure_pa[0] / b.inlet_pressure_pa[0],
      .corrected_flow_kg_s = b.corrected_flow_kg_s[0],
      .corrected_rpm = reached ? b.corrected_rpm[0] : (double)INFINITY,
      .efficiency = b.efficiency[0],
      .shaft_rpm = b.shaft_rpm[0],
      .beyond_top_line = reached ? b.beyond_top_line[0] : (double)INFINITY,
      .thin_air_speed_factor = thin_air_speed_factor(map, &b),
      .zone = b.zone[0],
  };
  return TA_OK;
}

bool ta_point_cap(const ta_car *car, const ta_compressor_map *map, const ta_air *ambient,
                  double engine_rpm, double limit_rpm, double highest_map_pa, double *cap_pa) {
  double low = ambient->pressure_pa, high = highest_map_pa;
  /* Each round counts up over the bracket and keeps the first step that reaches the limit: 63
   * times narrower, and the lowest crossing is the one that is kept. */
  for (int round = 0; round < 7 && high - low > 1e-13 * high; round++) {
    ta_point_block b = {.count = TA_LANES};
    for (size_t i = 0; i < TA_LANES; i++) {
      b.ambient_pressure_pa[i] = ambient->pressure_pa;
      b.ambient_temperature_k[i] = ambient->temperature_k;
      b.gas_constant_jkgk[i] = ambient->gas_constant_jkgk;
      b.engine_rpm[i] = engine_rpm;
      b.map_pa[i] = low + (high - low) * (double)i / (TA_LANES - 1);
    }
    ta_points_solve(car, map, &b);
    size_t first = 0;
    while (first < TA_LANES && !(b.shaft_rpm[first] >= limit_rpm)) first++;
    if (first == TA_LANES) {
      if (round == 0) {
        *cap_pa = highest_map_pa;
        return false;
      }
      first = TA_LANES - 1; /* it is reached at the end of the bracket, but for a rounding */
    }
    high = b.map_pa[first];
    if (first > 0) low = b.map_pa[first - 1];
    if (first == 0) break; /* reached at ambient already */
  }
  *cap_pa = low;
  return true;
}
