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
#include "restrictor.h"
#include "thin_air.h"

enum { PASSES = 7, RESTRICTED_PASSES = 9, BRACKET_STEPS = 200, SETTLE_ROUNDS = 20, CLOSE_IN = 60 };
static const double MEET = 1e-10;       /* relative, of the outlet temperature */
static const double CAP_SETTLED = 3e-9; /* relative, of the limit or of the MAP */
static const double COUNT_UP_PA = 20e3;
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
  bool coolant_fixed;                 /* else the ambient air cools */
  double throat_area_m2, throat_loss; /* of the inlet restrictor; 0: none */
  double reference_pa, reference_k;
  double reynolds_exponent, pressure_exponent;
} air_path;

/* Of one lane, the same in every pass. */
typedef struct {
  double mouth_pa, map_pa, inlet_k, coolant_k; /* mouth: of the intake, ram on */
  double flow_k;                               /* engine flow times charge temperature */
  double share_of_choked;     /* of the restrictor's choked flow, over the engine's flow */
  double drop_over_flow2;     /* intake drop over the square of the engine's flow */
  double charge_over_flow2_k; /* of the charge path: p2 (p2 - p_m) over W^2 T2 */
  double corrected_per_flow;  /* corrected flow times inlet pressure over the engine's flow */
  double reynolds_per_pa;
} lane_given;

/* The same of every lane, structure of arrays. */
typedef struct {
  double mouth_pa[TA_LANES], map_pa[TA_LANES], inlet_k[TA_LANES], coolant_k[TA_LANES],
      flow_k[TA_LANES], share_of_choked[TA_LANES], drop_over_flow2[TA_LANES],
      charge_over_flow2_k[TA_LANES], corrected_per_flow[TA_LANES], reynolds_per_pa[TA_LANES];
} lanes_given;

/* One lane's stations at an assumed outlet temperature. */
typedef struct {
  double outlet_k;         /* what the compressor gives back */
  double efficiency_ratio; /* thin air: eta over the map's, at the map point that was assumed */
  double charge_k, flow, inlet_pa, outlet_pa;
  double corrected_flow, efficiency;
  double map_flow, map_y;  /* the map point */
  double restrictor_share; /* flow over the choked flow */
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
      .throat_area_m2 =
          car->intake.has_restrictor ? ta_restrictor_throat_area(&car->intake.restrictor) : 0.0,
      .throat_loss = 1.0 - car->intake.restrictor.recovery,
      .reference_pa = car->turbo.compressor.reference.pressure_pa,
      .reference_k = car->turbo.compressor.reference.temperature_k,
      .reynolds_exponent = thin->off != 0 ? 0.0 : thin->reynolds_exponent,
      .pressure_exponent = thin->off != 0 ? 0.0 : thin->pressure_exponent,
  };
}

ALWAYS_INLINE lane_given lane_of(const lanes_given *given, size_t i) {
  return (lane_given){given->mouth_pa[i],
                      given->map_pa[i],
                      given->inlet_k[i],
                      given->coolant_k[i],
                      given->flow_k[i],
                      given->share_of_choked[i],
                      given->drop_over_flow2[i],
                      given->charge_over_flow2_k[i],
                      given->corrected_per_flow[i],
                      given->reynolds_per_pa[i]};
}

/* `restricted` is a constant of the loop that calls: a car without a restrictor does not pay for it. */
ALWAYS_INLINE stations stations_at(const air_path *path, const ta_surface_view *map,
                                   const lane_given *lane, double outlet_k, double efficiency_ratio,
                                   const bool restricted) {
  stations s;
  s.charge_k = outlet_k - path->effectiveness * (outlet_k - lane->coolant_k);
  s.flow = lane->flow_k / s.charge_k;
  const double flow2 = s.flow * s.flow, least_pa = LEAST_INLET_SHARE * lane->mouth_pa;
  double inlet_pa = lane->mouth_pa - lane->drop_over_flow2 * flow2;
  s.restrictor_share = 0.0;
  if (restricted) {
    s.restrictor_share = s.flow * lane->share_of_choked;
    inlet_pa -=
        path->throat_loss * lane->mouth_pa * (1.0 - ta_restrictor_throat_ratio(s.restrictor_share));
  }
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
  const bool restricted = path->throat_area_m2 > 0.0;
  stations s = stations_at(path, map, lane, outlet_k, *efficiency_ratio, restricted);
  for (int round = 0;
       round < SETTLE_ROUNDS && fabs(s.efficiency_ratio - *efficiency_ratio) > 0.01 * MEET;
       round++) {
    *efficiency_ratio = s.efficiency_ratio;
    s = stations_at(path, map, lane, outlet_k, *efficiency_ratio, restricted);
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
  block->restrictor_share[i] = s->restrictor_share;
}

/* speed_ve: engine speed times volumetric efficiency. */
ALWAYS_INLINE void pass_stations(const air_path *path, const ta_surface_view *view,
                                 const double *speed_ve, ta_point_block *block, lanes_given *given,
                                 double *outlet_k, double *ratio, const bool restricted) {
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
    const double inlet_k = ambient_k + path->temperature_rise_k,
                 mouth_pa = ambient_pa + block->ram_pa[i];
    given->mouth_pa[i] = mouth_pa;
    given->share_of_choked[i] =
        restricted ? carried / ta_restrictor_choked_flow(path->throat_area_m2, mouth_pa,
                                                         gas_constant, ambient_k)
                   : 0.0;
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
    const stations s = stations_at(path, map, &lane, before_k[i], ratio[i], restricted);
    gave_k[i] = s.outlet_k;
    ratio[i] = s.efficiency_ratio;
    outlet_k[i] = s.outlet_k;
  }
  /* near choke a restrictor's loss of pressure runs away from the flow, and the curve is steep */
  const double steepest = restricted ? -50.0 : -2.0;
  const int passes = restricted ? RESTRICTED_PASSES : PASSES;
  for (int pass = 2; pass < passes; pass++) {
    EACH_LANE_ALONE
    for (size_t i = 0; i < count; i++) {
      const lane_given lane = lane_of(given, i);
      const stations s = stations_at(path, map, &lane, outlet_k[i], ratio[i], restricted);
      const double moved = outlet_k[i] - before_k[i];
      double slope = (s.outlet_k - gave_k[i]) / (moved != 0.0 ? moved : 1.0);
      slope = slope < 0.5 ? slope : 0.5;
      slope = slope > steepest ? slope : steepest;
      before_k[i] = outlet_k[i];
      gave_k[i] = s.outlet_k;
      ratio[i] = s.efficiency_ratio;
      outlet_k[i] = outlet_k[i] + (s.outlet_k - outlet_k[i]) / (1.0 - slope);
    }
  }
  EACH_LANE_ALONE
  for (size_t i = 0; i < count; i++) {
    const lane_given lane = lane_of(given, i);
    const stations s = stations_at(path, map, &lane, outlet_k[i], ratio[i], restricted);
    store(block, i, &s, outlet_k[i], mismatch(&s, outlet_k[i], ratio[i]));
    block->inlet_temperature_k[i] = given->inlet_k[i];
  }
}

VECTOR_CLONES
static void solve_free(const air_path *path, const ta_surface_view *view, const double *speed_ve,
                       ta_point_block *block, lanes_given *given, double *outlet_k, double *ratio) {
  pass_stations(path, view, speed_ve, block, given, outlet_k, ratio, false);
}

VECTOR_CLONES
static void solve_restricted(const air_path *path, const ta_surface_view *view,
                             const double *speed_ve, ta_point_block *block, lanes_given *given,
                             double *outlet_k, double *ratio) {
  pass_stations(path, view, speed_ve, block, given, outlet_k, ratio, true);
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

void ta_point_block_set(ta_point_block *block, size_t lane, const ta_air *air, double engine_rpm,
                        double map_pa, double ram_pa) {
  block->ambient_pressure_pa[lane] = air->pressure_pa;
  block->ambient_temperature_k[lane] = air->temperature_k;
  block->gas_constant_jkgk[lane] = air->gas_constant_jkgk;
  block->engine_rpm[lane] = engine_rpm;
  block->map_pa[lane] = map_pa;
  block->ram_pa[lane] = ram_pa;
}

void ta_points_solve(const ta_car *car, const ta_compressor_map *map, ta_point_block *block) {
  const air_path path = path_of(car);
  const ta_surface_view view = ta_surface_view_of(map);
  lanes_given given;
  double speed_ve[TA_LANES], outlet_k[TA_LANES], ratio[TA_LANES];
  for (size_t i = 0; i < block->count; i++)
    speed_ve[i] = block->engine_rpm[i] * ta_engine_ve(&car->engine, block->engine_rpm[i]);
  const bool restricted = path.throat_area_m2 > 0.0;
  (restricted ? solve_restricted : solve_free)(&path, &view, speed_ve, block, &given, outlet_k,
                                               ratio);
  for (size_t i = 0; i < block->count; i++) {
    if (block->residual[i] <= MEET) continue;
    const lane_given lane = lane_of(&given, i);
    solve_lane(&path, &view, &lane, &outlet_k[i], &ratio[i]);
    const stations s = stations_at(&path, &view, &lane, outlet_k[i], ratio[i], restricted);
    store(block, i, &s, outlet_k[i], mismatch(&s, outlet_k[i], ratio[i]));
  }
  read_speeds(&path, map, block);
  for (size_t i = 0; i < block->count; i++) {
    const double map_rpm = (1.0 + block->beyond_top_line[i]) * map->top_rpm;
    block->zone[i] = ta_surface_zone(map, map_rpm, block->surge_to_choke[i]);
    if (!(block->residual[i] <= MEET)) block->zone[i] = TA_UNREACHABLE; /* no state that holds */
    if (block->restrictor_share[i] >= 1.0) block->zone[i] = TA_UNREACHABLE; /* it cannot be drawn */
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
  ta_point_block_set(&b, 0, ambient, engine_rpm, map_pa, 0.0);
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
      .restrictor_share = b.restrictor_share[0],
      .zone = b.zone[0],
  };
  return TA_OK;
}

/* MAPs at which the lanes reach a limit: each lane counts up over its bracket and keeps the first
 * step that reaches the limit, then closes in on it with the Illinois weights.  The side within the
 * limit is what stays. */
void ta_point_caps(const ta_car *car, const ta_compressor_map *map, double limit_rpm,
                   const double *highest_map_pa, ta_point_block *block, bool *reached) {
  double low[TA_LANES], high[TA_LANES], below[TA_LANES], above[TA_LANES];
  int side[TA_LANES] = {0}, steps[TA_LANES], most_steps = 0;
  for (size_t i = 0; i < block->count; i++) {
    steps[i] = (int)ceil((highest_map_pa[i] - block->ambient_pressure_pa[i]) / COUNT_UP_PA) + 1;
    most_steps = steps[i] > most_steps ? steps[i] : most_steps;
    low[i] = block->ambient_pressure_pa[i];
    high[i] = highest_map_pa[i];
    below[i] = limit_rpm; /* no boost, no speed; replaced by the first step */
    above[i] = -1.0;
    reached[i] = false;
  }
  bool counting = true;
  for (int step = 0; counting && step <= most_steps; step++) {
    for (size_t i = 0; i < block->count; i++)
      block->map_pa[i] =
          block->ambient_pressure_pa[i] +
          (highest_map_pa[i] - block->ambient_pressure_pa[i]) * fmin(step, steps[i]) / steps[i];
    ta_points_solve(car, map, block);
    counting = false;
    for (size_t i = 0; i < block->count; i++) {
      if (reached[i]) continue;
      reached[i] = block->shaft_rpm[i] >= limit_rpm;
      counting = counting || !reached[i];
      *(reached[i] ? &high[i] : &low[i]) = block->map_pa[i];
      *(reached[i] ? &above[i] : &below[i]) = fabs(block->shaft_rpm[i] - limit_rpm);
    }
  }
  const double aim_rpm = 0.5 * CAP_SETTLED * limit_rpm;
  for (int step = 1; step <= CLOSE_IN; step++) {
    for (size_t i = 0; i < block->count; i++) {
      /* aimed a hair within the limit: that is the side which is kept */
      const double share = fmax(below[i] - aim_rpm, 0.5 * below[i]) / (below[i] + above[i]);
      /* where no speed can be named there is nothing to weigh with */
      const bool halve = isinf(above[i]) || step % 6 == 0;
      block->map_pa[i] =
          reached[i] ? low[i] + (high[i] - low[i]) * (halve ? 0.5 : share) : highest_map_pa[i];
    }
    ta_points_solve(car, map, block);
    bool done = true;
    for (size_t i = 0; i < block->count; i++) {
      if (!reached[i] || high[i] - low[i] <= CAP_SETTLED * high[i]) continue;
      const double off = fabs(block->shaft_rpm[i] - limit_rpm);
      if (block->shaft_rpm[i] >= limit_rpm) {
        high[i] = block->map_pa[i];
        above[i] = off;
        if (side[i] > 0) below[i] *= 0.5;
        side[i] = 1;
      } else {
        low[i] = block->map_pa[i];
        below[i] = off;
        if (side[i] < 0) above[i] *= 0.5;
        side[i] = -1;
      }
      if (off <= CAP_SETTLED * limit_rpm && block->shaft_rpm[i] < limit_rpm) high[i] = low[i];
      done = done && high[i] - low[i] <= CAP_SETTLED * high[i];
    }
    if (done) break;
  }
  for (size_t i = 0; i < block->count; i++)
    block->map_pa[i] = reached[i] ? low[i] : highest_map_pa[i];
  ta_points_solve(car, map, block);
}

bool ta_point_cap(const ta_car *car, const ta_compressor_map *map, const ta_air *ambient,
                  double engine_rpm, double limit_rpm, double highest_map_pa, double *cap_pa) {
  ta_point_block b = {.count = 1};
  bool reached;
  ta_point_block_set(&b, 0, ambient, engine_rpm, ambient->pressure_pa, 0.0);
  ta_point_caps(car, map, limit_rpm, &highest_map_pa, &b, &reached);
  *cap_pa = b.map_pa[0];
  return reached;
}
