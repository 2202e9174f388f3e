/* test_operating_point.c - whole points: an independent solver, the residual of every equation,
 * bits, the cap of a point, limits and refusals. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "../invented_car.h"
/* The file itself: how often its passes do not meet shows nowhere outside. */
#include "model/operating_point.c" /* NOLINT(bugprone-suspicious-include) */

/* ---- random cars ----------------------------------------------------------------------------- */

enum { SHAPES = 6, POINTS = 2400, DRAWS = 64 };

typedef struct {
  invented it;
  ta_air ambient;
  double engine_rpm, map_pa, ram_pa;
} random_point;

static const invented_shape shapes[SHAPES] = {
    {151300.0, 0.187, 0.372, 0.431, 0.52, 0.771}, {203700.0, 0.071, 0.163, 0.397, 0.61, 0.742},
    {94100.0, 0.431, 0.817, 0.513, 0.43, 0.793},  {118900.0, 0.253, 0.457, 0.466, 0.83, 0.764},
    {172300.0, 0.119, 0.291, 0.352, 0.37, 0.733}, {134700.0, 0.211, 0.509, 0.561, 0.68, 0.781},
};
static ta_compressor_map *maps[SHAPES];

static double share(uint64_t *next) {
  return invented_random((*next)++);
}

static double spread(uint64_t *next, double low, double high) {
  return low + (high - low) * share(next);
}

/* Some ambient air, some car about the compressor, some MAP: mapped or not, every choice of the
 * car file taken by some. */
static void draw(uint64_t number, random_point *p) {
  uint64_t next = number * DRAWS;
  invented_make(&p->it);
  const invented_shape *shape = &shapes[number % SHAPES];
  invented_lines(shape, &p->it);
  ta_car *car = &p->it.event.car;
  const double elevation_m = spread(&next, 500.0, 5500.0), offset_k = spread(&next, -31.0, 33.0);
  p->ambient = invented_air(elevation_m, offset_k, spread(&next, 0.0, 0.013));
  car->engine.cycle = (int)(3.0 * share(&next));
  for (size_t i = 0; i < car->engine.ve_count; i++) p->it.ve[i].ve *= spread(&next, 0.8, 1.1);
  p->engine_rpm = spread(&next, 1500.0, 9300.0);
  car->intake.drop.drop_pa = share(&next) < 0.1 ? 0.0 : spread(&next, 200.0, 6000.0);
  car->intake.drop.pressure_pa = spread(&next, 70e3, 103e3);
  car->intake.drop.temperature_k = spread(&next, 270.0, 320.0);
  car->intake.temperature_rise_k = spread(&next, 0.0, 17.0);
  ta_charge_cooler *cooler = &car->charge_cooler;
  const double kind = share(&next);
  cooler->effectiveness = kind < 0.1 ? 0.0 : kind < 0.2 ? 1.0 : spread(&next, 0.3, 0.95);
  cooler->drop.drop_pa = share(&next) < 0.1 ? 0.0 : spread(&next, 500.0, 21000.0);
  cooler->drop.pressure_pa = spread(&next, 90e3, 290e3);
  cooler->drop.temperature_k = spread(&next, 280.0, 380.0);
  cooler->has_coolant = share(&next) < 0.3;
  cooler->coolant_k = spread(&next, 258.0, 318.0);
  cooler->leak = share(&next) < 0.4 ? 0.0 : spread(&next, 0.0, 0.12);
  ta_turbo *turbo = &car->turbo;
  turbo->count = fmax(1.0, floor(spread(&next, -1.0, 4.0)));
  turbo->imbalance = spread(&next, 0.0, 0.05);
  turbo->thin_air.off = share(&next) < 0.2;
  turbo->thin_air.reynolds_exponent = share(&next) < 0.1 ? 0.0 : spread(&next, 0.05, 0.3);
  turbo->thin_air.pressure_exponent = share(&next) < 0.1 ? 0.0 : spread(&next, 0.01, 0.12);
  turbo->compressor.reference.pressure_pa =
      share(&next) < 0.5 ? 96170.0 : spread(&next, 95e3, 102e3);
  turbo->compressor.reference.temperature_k =
      share(&next) < 0.5 ? 302.6 : spread(&next, 285.0, 305.0);
  p->map_pa = p->ambient.pressure_pa * (1.003 + 2.6 * pow(share(&next), 1.4));
  /* displacement such that the flow falls on the map, or a little off it */
  const double flow = spread(&next, 0.45, 1.55) * shape->choke_kg_s * turbo->count *
                      pow(p->map_pa / p->ambient.pressure_pa / 3.6, 0.5) * p->ambient.pressure_pa /
                      101325.0;
  car->engine.displacement_m3 = flow * 60.0 * (car->engine.cycle == TA_FOUR_STROKE ? 2.0 : 1.0) *
                                287.0 * 315.0 / (p->map_pa * p->engine_rpm);
  car->intake.drop.at_flow_kg_s = flow * spread(&next, 0.9, 1.6);
  cooler->drop.at_flow_kg_s = flow * spread(&next, 0.9, 1.6);
  /* less than the boost, so that there is a pressure ratio */
  p->ram_pa = share(&next) < 0.7
                  ? 0.0
                  : fmin(spread(&next, 100.0, 2900.0), 0.5 * (p->map_pa - p->ambient.pressure_pa));
  car->intake.has_restrictor = share(&next) < 0.4;
  ta_restrictor *restrictor = &car->intake.restrictor;
  restrictor->count = floor(spread(&next, 1.0, 4.0));
  restrictor->recovery = share(&next) < 0.1 ? 1.0 : spread(&next, 0.0, 1.0);
  /* throats that the flow fills to some share, or is too much for */
  const double area = flow * (1.0 + cooler->leak) * sqrt(287.0 * p->ambient.temperature_k) /
                      (0.68 * (p->ambient.pressure_pa + p->ram_pa) * spread(&next, 0.25, 1.15));
  restrictor->diameter_m = sqrt(4.0 * area / (3.14159265358979 * restrictor->count));
  assert_true(next <= (number + 1) * DRAWS);
}

/* ---- the same physics written again, with other unknowns ---------------------------------------
 */

typedef double (*function)(double x, void *context);

/* Brent to the last digit; upward the bracket is widened until the signs differ. */
static double root(function f, void *context, double low, double high) {
  const double f_low = f(low, context);
  double f_high = f(high, context);
  if (f_low == 0.0) return low;
  for (int i = 0; i < 40 && (f_low < 0.0) == (f_high < 0.0); i++) {
    high *= 1.5;
    f_high = f(high, context);
  }
  if (f_high == 0.0) return high;
  gsl_function fn = {f, context};
  gsl_root_fsolver *s = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  assert_non_null(s);
  assert_int_equal(gsl_root_fsolver_set(s, &fn, low, high), GSL_SUCCESS);
  for (int i = 0; i < 120; i++) {
    if (gsl_root_fsolver_iterate(s) != GSL_SUCCESS) break;
    const double width = gsl_root_fsolver_x_upper(s) - gsl_root_fsolver_x_lower(s);
    if (!(width > 4e-15 * fabs(gsl_root_fsolver_root(s)))) break;
  }
  const double x = gsl_root_fsolver_root(s);
  gsl_root_fsolver_free(s);
  return x;
}

static ta_map_reading read_map(const ta_compressor_map *map, double flow, double head) {
  ta_map_reading reading;
  assert_int_equal(ta_compressor_map_at(map, flow, pow(1.0 + head, 3.5), &reading), TA_OK);
  return reading;
}

/* Efficiency on the lines: the reading's own, and right of choke, where T2/T1 stays the line end's,
 * that of the line's end. */
static double efficiency_on_line(const ta_compressor_map *map, double flow, double head,
                                 const ta_map_reading *at) {
  const ta_surface_view view = ta_surface_view_of(map);
  return at->efficiency / ta_surface_locate(&view, flow, sqrt(head)).recovered;
}

typedef struct {
  const ta_car *car;
  const ta_compressor_map *map;
  ta_air ambient;
  double engine_rpm, map_pa, ram_pa;
  /* at the assumed flow and outlet pressure */
  double flow, t1, p1, p2, t2, t_m, corrected, head;
  double head_ratio, efficiency, map_rpm;
  double filled; /* flow over the restrictor's choked flow */
  ta_zone zone;
} reference;

static double viscosity(double t) {
  return 1.458e-6 * pow(t, 1.5) / (t + 110.4);
}

/* Thin air: the unknown is the head ratio. */
static double head_ratio_back(double ratio, void *context) {
  reference *r = context;
  const ta_thin_air *thin = &r->car->turbo.thin_air;
  const ta_reference_state *ref = &r->car->turbo.compressor.reference;
  const double flow = r->corrected / sqrt(ratio), head = r->head / ratio;
  const ta_map_reading at = read_map(r->map, flow, head);
  const double on_line = efficiency_on_line(r->map, flow, head, &at);
  const double rt1 = r->ambient.gas_constant_jkgk * r->t1, rt_ref = 287.05287 * ref->temperature_k;
  const double reynolds = r->p1 / ref->pressure_pa * sqrt(rt_ref / rt1) *
                          viscosity(ref->temperature_k) / viscosity(r->t1);
  const double n = thin->off ? 0.0 : thin->reynolds_exponent;
  const double here = 1.0 - (1.0 - on_line) * (0.3 + 0.7 * pow(reynolds, -n));
  r->head_ratio = ratio;
  r->efficiency = at.efficiency * here / on_line;
  r->map_rpm = at.corrected_rpm;
  r->zone = at.zone;
  return 0.5 + 0.5 * here / on_line - ratio;
}

/* The charge path: the unknown is the outlet pressure. */
static double outlet_pressure_back(double p2, void *context) {
  reference *r = context;
  const ta_flow_drop *d = &r->car->charge_cooler.drop;
  r->p2 = p2;
  r->head = pow(p2 / r->p1, 2.0 / 7.0) - 1.0;
  const double ratio = root(head_ratio_back, r, 0.6, 1.2);
  (void)head_ratio_back(ratio, r);
  r->t2 = r->t1 * (1.0 + r->head / r->efficiency);
  const double measured = d->pressure_pa / (287.05287 * d->temperature_k);
  const double density = p2 / (r->ambient.gas_constant_jkgk * r->t2);
  return r->map_pa + d->drop_pa * pow(r->flow / d->at_flow_kg_s, 2.0) * measured / density - p2;
}

/* Flow of a throat of 1 m2 from air at 1 Pa and R T = 1, over its Mach number: continuity with
 * isentropic relations, gamma = 1.4. */
static double throat_flow(double mach) {
  return sqrt(1.4) * mach * pow(1.0 + 0.2 * mach * mach, -3.0);
}

static double throat_flow_back(double mach, void *context) {
  return throat_flow(mach) - *(const double *)context;
}

/* Pressure lost to a restrictor: the unknown is the Mach number in the throat. */
static double restrictor_loss(const ta_restrictor *restrictor, double carried, double p0,
                              double rt0, double *filled) {
  const double d = restrictor->diameter_m;
  const double area = restrictor->count * 3.14159265358979324 / 4.0 * d * d;
  double flow = carried * sqrt(rt0) / (area * p0), mach = 1.0;
  *filled = flow / throat_flow(1.0);
  if (*filled < 1.0) mach = root(throat_flow_back, &flow, 0.0, 1.0);
  return (1.0 - restrictor->recovery) * (p0 - p0 * pow(1.0 + 0.2 * mach * mach, -3.5));
}

static double inlet_pressure(reference *r, double flow) {
  const ta_flow_drop *d = &r->car->intake.drop;
  const double mouth = r->ambient.pressure_pa + r->ram_pa;
  const double carried = flow * (1.0 + r->car->charge_cooler.leak);
  const double measured = d->pressure_pa / (287.05287 * d->temperature_k);
  const double lost =
      r->car->intake.has_restrictor
          ? restrictor_loss(&r->car->intake.restrictor, carried, mouth,
                            r->ambient.gas_constant_jkgk * r->ambient.temperature_k, &r->filled)
          : 0.0;
  return mouth - lost -
         d->drop_pa * pow(carried / d->at_flow_kg_s, 2.0) * measured / r->ambient.density_kgm3;
}

static double ve_at(const ta_engine *e, double rpm) {
  for (size_t i = 1; i < e->ve_count; i++)
    if (rpm >= e->ve[i - 1].engine_rpm && rpm <= e->ve[i].engine_rpm)
      return (e->ve[i - 1].ve * (e->ve[i].engine_rpm - rpm) +
              e->ve[i].ve * (rpm - e->ve[i - 1].engine_rpm)) /
             (e->ve[i].engine_rpm - e->ve[i - 1].engine_rpm);
  return rpm < e->ve[0].engine_rpm ? e->ve[0].ve : e->ve[e->ve_count - 1].ve;
}

/* The engine: the unknown is its mass flow. */
static double flow_back(double flow, void *context) {
  reference *r = context;
  const ta_car *car = r->car;
  const double rt = r->ambient.gas_constant_jkgk;
  const double n = car->turbo.count;
  r->flow = flow;
  r->t1 = r->ambient.temperature_k + car->intake.temperature_rise_k;
  r->p1 = inlet_pressure(r, flow);
  if (!(r->p1 > 0.02 * r->ambient.pressure_pa)) r->p1 = 0.02 * r->ambient.pressure_pa;
  const double judged =
      flow * (1.0 + car->charge_cooler.leak) * (n > 1.0 ? (1.0 + car->turbo.imbalance) / n : 1.0);
  const ta_reference_state *ref = &car->turbo.compressor.reference;
  r->corrected =
      judged * sqrt(rt * r->t1 / (287.05287 * ref->temperature_k)) * ref->pressure_pa / r->p1;
  const double p2 = root(outlet_pressure_back, r, r->map_pa, 1.15 * r->map_pa);
  (void)outlet_pressure_back(p2, r);
  const double coolant =
      car->charge_cooler.has_coolant ? car->charge_cooler.coolant_k : r->ambient.temperature_k;
  r->t_m =
      (1.0 - car->charge_cooler.effectiveness) * r->t2 + car->charge_cooler.effectiveness * coolant;
  const double revs = car->engine.cycle == TA_FOUR_STROKE ? 2.0 : 1.0;
  return ve_at(&car->engine, r->engine_rpm) * car->engine.displacement_m3 * r->engine_rpm /
             (60.0 * revs) * r->map_pa / (rt * r->t_m) -
         flow;
}

static double reference_shaft(const reference *r) {
  const ta_thin_air *thin = &r->car->turbo.thin_air;
  const ta_reference_state *ref = &r->car->turbo.compressor.reference;
  const double k = thin->off ? 0.0 : thin->pressure_exponent;
  return r->map_rpm * fmax(1.0, pow(r->p1 / ref->pressure_pa, -k)) *
         sqrt(r->ambient.gas_constant_jkgk * r->t1 / (287.05287 * ref->temperature_k));
}

static void put(const random_point *p, ta_point_block *block, size_t lane) {
  block->ambient_pressure_pa[lane] = p->ambient.pressure_pa;
  block->ambient_temperature_k[lane] = p->ambient.temperature_k;
  block->gas_constant_jkgk[lane] = p->ambient.gas_constant_jkgk;
  block->engine_rpm[lane] = p->engine_rpm;
  block->map_pa[lane] = p->map_pa;
  block->ram_pa[lane] = p->ram_pa;
}

/* The point that was drawn; with ram, which a single point has not, out of a block. */
static ta_operating_point solve_drawn(const random_point *p, const ta_compressor_map *map) {
  const ta_car *car = &p->it.event.car;
  ta_operating_point point;
  assert_int_equal(ta_point_solve(car, map, &p->ambient, p->engine_rpm, p->map_pa, &point), TA_OK);
  if (p->ram_pa == 0.0) return point;
  ta_point_block b = {.count = 1};
  put(p, &b, 0);
  ta_points_solve(car, map, &b);
  const bool named = b.zone[0] != TA_UNREACHABLE;
  return (ta_operating_point){
      .ambient = p->ambient,
      .engine_rpm = p->engine_rpm,
      .map_pa = p->map_pa,
      .air_flow_kg_s = b.air_flow_kg_s[0],
      .fuel_flow_kg_s =
          ta_engine_fuel_flow(&car->engine, b.air_flow_kg_s[0], p->ambient.mixing_ratio),
      .power_w = ta_engine_power(&car->engine, b.air_flow_kg_s[0], p->ambient.mixing_ratio),
      .charge_temperature_k = b.charge_temperature_k[0],
      .inlet_pressure_pa = b.inlet_pressure_pa[0],
      .inlet_temperature_k = b.inlet_temperature_k[0],
      .outlet_pressure_pa = b.outlet_pressure_pa[0],
      .outlet_temperature_k = b.outlet_temperature_k[0],
      .pressure_ratio = b.outlet_pressure_pa[0] / b.inlet_pressure_pa[0],
      .corrected_flow_kg_s = b.corrected_flow_kg_s[0],
      .corrected_rpm = named ? b.corrected_rpm[0] : (double)INFINITY,
      .efficiency = b.efficiency[0],
      .shaft_rpm = b.shaft_rpm[0],
      .beyond_top_line = named ? b.beyond_top_line[0] : (double)INFINITY,
      .thin_air_speed_factor = thin_air_speed_factor(map, &b),
      .restrictor_share = b.restrictor_share[0],
      .zone = b.zone[0]};
}

static void whole_points_agree_with_an_independent_solver(void **state) {
  (void)state;
  int bad = 0;
  size_t in_zone[TA_ZONE_COUNT] = {0}, restricted = 0, near_choked = 0, choked = 0;
  double worst = 0.0;
  for (uint64_t number = 0; number < POINTS; number++) {
    random_point p;
    draw(number, &p);
    const ta_compressor_map *map = maps[number % SHAPES];
    const ta_operating_point got = solve_drawn(&p, map);
    in_zone[got.zone]++;
    reference want = {.car = &p.it.event.car,
                      .map = map,
                      .ambient = p.ambient,
                      .engine_rpm = p.engine_rpm,
                      .map_pa = p.map_pa,
                      .ram_pa = p.ram_pa};
    const double flow = root(flow_back, &want, 0.31 * got.air_flow_kg_s, 1.7 * got.air_flow_kg_s);
    (void)flow_back(flow, &want);
    char row[64];
    (void)snprintf(row, sizeof row, "car %u, %s", (unsigned)number, ta_zone_name(got.zone));
    const struct {
      const char *what;
      double got, want;
    } values[] = {{"W", got.air_flow_kg_s, want.flow},
                  {"p1", got.inlet_pressure_pa, want.p1},
                  {"T1", got.inlet_temperature_k, want.t1},
                  {"p2", got.outlet_pressure_pa, want.p2},
                  {"T2", got.outlet_temperature_k, want.t2},
                  {"T_m", got.charge_temperature_k, want.t_m},
                  {"Wc", got.corrected_flow_kg_s, want.corrected},
                  {"eta", got.efficiency, want.efficiency},
                  {"PR", got.pressure_ratio, want.p2 / want.p1}};
    for (size_t i = 0; i < COUNT_OF(values); i++) {
      bad += off_rel(row, values[i].what, values[i].got, values[i].want, 1e-9);
      worst = fmax(worst, fabs(values[i].got / values[i].want - 1.0));
    }
    bad += off(row, "share of the choked flow", got.restrictor_share, want.filled, 1e-9);
    restricted += want.filled > 0.0;
    near_choked += want.filled > 0.95 && want.filled < 1.0;
    choked += want.filled >= 1.0;
    assert_int_equal(got.zone, want.filled >= 1.0 ? TA_UNREACHABLE : want.zone);
    if (got.zone == TA_UNREACHABLE) {
      assert_true(isinf(got.shaft_rpm) && isinf(got.corrected_rpm) && isinf(got.beyond_top_line));
      continue;
    }
    const double shaft = reference_shaft(&want);
    bad += off_rel(row, "shaft", got.shaft_rpm, shaft, 1e-9);
    bad += off_rel(row, "corrected speed",
                   got.corrected_rpm *
                       sqrt(p.ambient.gas_constant_jkgk * want.t1 /
                            (287.05287 * p.it.event.car.turbo.compressor.reference.temperature_k)),
                   shaft, 1e-9);
    bad += off(row, "beyond the top line", got.beyond_top_line,
               want.map_rpm / shapes[number % SHAPES].top_rpm - 1.0, 1e-9);
    /* thin air: over what the map says at the point itself */
    const double without = read_map(map, want.corrected, want.head).corrected_rpm;
    if (isfinite(without))
      bad +=
          off_rel(row, "thin-air factor", got.thin_air_speed_factor,
                  want.map_rpm *
                      fmax(1.0, pow(want.p1 / p.it.event.car.turbo.compressor.reference.pressure_pa,
                                    p.it.event.car.turbo.thin_air.off
                                        ? 0.0
                                        : -p.it.event.car.turbo.thin_air.pressure_exponent)) /
                      without,
                  1e-9);
    worst = fmax(worst, fabs(got.shaft_rpm / shaft - 1.0));
    /* power and fuel: the dry share of the air */
    const double dry = want.flow / (1.0 + p.ambient.mixing_ratio);
    bad += off_rel(row, "fuel", got.fuel_flow_kg_s, dry / 11.83, 1e-9);
    bad += off_rel(row, "power", got.power_w, dry / 11.83 * 3.6e9 / 311.0, 1e-9);
    assert_true(got.engine_rpm == p.engine_rpm && got.map_pa == p.map_pa &&
                got.ambient.pressure_pa == p.ambient.pressure_pa);
  }
  print_message(
      "%d points, worst %.2e: %zu mapped, %zu extrapolated, %zu below, %zu surge, "
      "%zu choke, %zu unreachable\n",
      POINTS, worst, in_zone[TA_MAPPED], in_zone[TA_EXTRAPOLATED], in_zone[TA_BELOW],
      in_zone[TA_SURGE], in_zone[TA_CHOKE], in_zone[TA_UNREACHABLE]);
  print_message("%zu with a restrictor, %zu of them within 5 %% of choked, %zu choked\n",
                restricted, near_choked, choked);
  assert_true(near_choked >= 30 && choked >= 60);
  for (size_t i = 0; i < TA_ZONE_COUNT; i++) assert_true(in_zone[i] >= 60);
  assert_int_equal(bad, 0);
}

/* ---- every equation at the solved point --------------------------------------------------------
 */

static int residuals(const random_point *p, const ta_compressor_map *map, const ta_point_block *b,
                     size_t i, double *worst) {
  const ta_car *car = &p->it.event.car;
  const ta_charge_cooler *cooler = &car->charge_cooler;
  const ta_turbo *turbo = &car->turbo;
  const ta_reference_state *ref = &turbo->compressor.reference;
  const double r = p->ambient.gas_constant_jkgk, w = b->air_flow_kg_s[i];
  const double p1 = b->inlet_pressure_pa[i], p2 = b->outlet_pressure_pa[i];
  const double t1 = b->inlet_temperature_k[i], t2 = b->outlet_temperature_k[i];
  const double t_m = b->charge_temperature_k[i];
  const double revs = car->engine.cycle == TA_FOUR_STROKE ? 2.0 : 1.0;
  const double coolant = cooler->has_coolant ? cooler->coolant_k : p->ambient.temperature_k;
  const double carried = w * (1.0 + cooler->leak);
  const double judged =
      turbo->count > 1.0 ? carried * (1.0 + turbo->imbalance) / turbo->count : carried;
  const ta_flow_drop *in = &car->intake.drop, *out = &cooler->drop;
  const double in_density = in->pressure_pa / (287.05287 * in->temperature_k);
  const double out_density = out->pressure_pa / (287.05287 * out->temperature_k);
  const double head = expm1(log(p2 / p1) / 3.5), map_head = b->map_y[i] * b->map_y[i];
  const ta_map_reading at = read_map(map, b->map_flow_kg_s[i], map_head);
  const double on_line = efficiency_on_line(map, b->map_flow_kg_s[i], map_head, &at);
  const double n = turbo->thin_air.off ? 0.0 : turbo->thin_air.reynolds_exponent;
  const double reynolds = (p1 / (r * t1)) * sqrt(r * t1) / viscosity(t1) /
                          ((ref->pressure_pa / (287.05287 * ref->temperature_k)) *
                           sqrt(287.05287 * ref->temperature_k) / viscosity(ref->temperature_k));
  const double loss = 0.3 + 0.7 * pow(reynolds, -n), here = 1.0 - loss * (1.0 - on_line);
  const double ratio = 0.5 + 0.5 * here / on_line;
  const double mouth = p->ambient.pressure_pa + p->ram_pa;
  double filled = 0.0;
  const double lost = car->intake.has_restrictor
                          ? restrictor_loss(&car->intake.restrictor, carried, mouth,
                                            r * p->ambient.temperature_k, &filled)
                          : 0.0;
  const struct {
    const char *equation;
    double left, right;
  } rows[] = {
      {"engine", w,
       ve_at(&car->engine, p->engine_rpm) * car->engine.displacement_m3 * p->engine_rpm /
           (60.0 * revs) * p->map_pa / (r * t_m)},
      {"inlet temperature", t1, p->ambient.temperature_k + car->intake.temperature_rise_k},
      {"inlet pressure",
       p1 +
           in->drop_pa * pow(carried / in->at_flow_kg_s, 2.0) * in_density /
               p->ambient.density_kgm3 +
           lost,
       mouth},
      {"charge path", p2,
       p->map_pa + out->drop_pa * pow(w / out->at_flow_kg_s, 2.0) * out_density / (p2 / (r * t2))},
      {"outlet temperature", t2, t1 * (1.0 + head / b->efficiency[i])},
      {"charge cooler", t_m, t2 - cooler->effectiveness * (t2 - coolant)},
      {"corrected flow", b->corrected_flow_kg_s[i],
       judged * sqrt(r * t1 / (287.05287 * ref->temperature_k)) / (p1 / ref->pressure_pa)},
      {"loss", b->efficiency[i], at.efficiency * here / on_line},
      {"head ratio", map_head * ratio, head},
      {"flow ratio", b->map_flow_kg_s[i] * sqrt(ratio), b->corrected_flow_kg_s[i]},
  };
  char row[64];
  (void)snprintf(row, sizeof row, "%s%s", ta_zone_name(b->zone[i]), filled > 0.0 ? ", filled" : "");
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    bad += off_rel(row, rows[k].equation, rows[k].left, rows[k].right, 1e-9);
    *worst = fmax(*worst, fabs(rows[k].left / rows[k].right - 1.0));
  }
  return bad;
}

/* Lanes of a block whose passes did not meet. */
static size_t passes_unmet(const ta_car *car, const ta_compressor_map *map,
                           const ta_point_block *given) {
  ta_point_block block = *given;
  const air_path path = path_of(car);
  const ta_surface_view view = ta_surface_view_of(map);
  lanes_given lanes;
  double speed_ve[TA_LANES], outlet_k[TA_LANES], ratio[TA_LANES];
  for (size_t i = 0; i < block.count; i++)
    speed_ve[i] = block.engine_rpm[i] * ta_engine_ve(&car->engine, block.engine_rpm[i]);
  (path.throat_area_m2 > 0.0 ? solve_restricted : solve_free)(&path, &view, speed_ve, &block,
                                                              &lanes, outlet_k, ratio);
  size_t unmet = 0;
  for (size_t i = 0; i < block.count; i++) unmet += block.residual[i] <= MEET ? 0 : 1;
  return unmet;
}

static void every_equation_holds_at_the_solved_point(void **state) {
  (void)state;
  int bad = 0;
  size_t unmet = 0;
  double worst = 0.0;
  for (uint64_t number = 0; number < POINTS; number++) {
    random_point p;
    draw(number, &p);
    ta_point_block block = {.count = 1};
    put(&p, &block, 0);
    unmet += passes_unmet(&p.it.event.car, maps[number % SHAPES], &block);
    ta_points_solve(&p.it.event.car, maps[number % SHAPES], &block);
    bad += residuals(&p, maps[number % SHAPES], &block, 0, &worst);
    assert_true(block.residual[0] <= 1e-9);
  }
  print_message("worst residual %.2e; %zu of %d took the bracketed solve\n", worst, unmet, POINTS);
  assert_int_equal(bad, 0);
}

/* From bad guesses and on its own, the bracketed solve arrives where the passes do. */
static void the_bracketed_solve_agrees_with_the_passes(void **state) {
  (void)state;
  int bad = 0;
  size_t forced = 0;
  for (uint64_t number = 0; number < POINTS; number += 3) {
    random_point p;
    draw(number, &p);
    const ta_car *car = &p.it.event.car;
    const ta_compressor_map *map = maps[number % SHAPES];
    ta_point_block block = {.count = 1};
    put(&p, &block, 0);
    forced += passes_unmet(car, map, &block);
    ta_points_solve(car, map, &block);
    const air_path path = path_of(car);
    const ta_surface_view view = ta_surface_view_of(map);
    lanes_given lanes;
    ta_point_block again = block;
    double speed_ve = p.engine_rpm * ta_engine_ve(&car->engine, p.engine_rpm), t2, ratio;
    const bool restricted = path.throat_area_m2 > 0.0;
    (restricted ? solve_restricted : solve_free)(&path, &view, &speed_ve, &again, &lanes, &t2,
                                                 &ratio);
    const lane_given lane = lane_of(&lanes, 0);
    ratio = 0.9;
    solve_lane(&path, &view, &lane, &t2, &ratio);
    const stations s = stations_at(&path, &view, &lane, t2, ratio, restricted);
    bad += off_rel("bracketed", "T2", t2, block.outlet_temperature_k[0], 3e-10);
    bad += off_rel("bracketed", "W", s.flow, block.air_flow_kg_s[0], 3e-10);
    bad += off("bracketed", "residual", mismatch(&s, t2, ratio), 0.0, 1e-11);
  }
  assert_true(forced > 0); /* else the ordinary call never goes that way */
  assert_int_equal(bad, 0);
}

/* ---- bits --------------------------------------------------------------------------------------
 */

static int same_lane(const ta_point_block *a, size_t i, const ta_point_block *b, size_t k) {
  const double *const left[] = {a->air_flow_kg_s,        a->inlet_pressure_pa,
                                a->inlet_temperature_k,  a->outlet_pressure_pa,
                                a->outlet_temperature_k, a->charge_temperature_k,
                                a->corrected_flow_kg_s,  a->efficiency,
                                a->corrected_rpm,        a->shaft_rpm,
                                a->beyond_top_line,      a->surge_to_choke,
                                a->map_flow_kg_s,        a->map_y,
                                a->restrictor_share,     a->residual};
  const double *const right[] = {b->air_flow_kg_s,        b->inlet_pressure_pa,
                                 b->inlet_temperature_k,  b->outlet_pressure_pa,
                                 b->outlet_temperature_k, b->charge_temperature_k,
                                 b->corrected_flow_kg_s,  b->efficiency,
                                 b->corrected_rpm,        b->shaft_rpm,
                                 b->beyond_top_line,      b->surge_to_choke,
                                 b->map_flow_kg_s,        b->map_y,
                                 b->restrictor_share,     b->residual};
  int differs = a->zone[i] == b->zone[k] ? 0 : 1;
  for (size_t n = 0; n < COUNT_OF(left); n++)
    differs += memcmp(&left[n][i], &right[n][k], sizeof(double)) == 0 ? 0 : 1;
  return differs;
}

static void bits_depend_on_the_lane_alone(void **state) {
  (void)state;
  random_point p;
  const ta_car *car = &p.it.event.car;
  const ta_compressor_map *map = maps[0];
  ta_point_block all = {.count = TA_LANES};
  bool unmet = false;
  for (uint64_t number = 12; number < 12 + 60 * SHAPES && !unmet; number += SHAPES) {
    draw(number, &p); /* a car of which some lanes go to the bracketed solve */
    for (size_t i = 0; i < TA_LANES; i++) {
      random_point other;
      draw(1000 + SHAPES * i, &other);
      p.ambient = other.ambient;
      p.map_pa = other.map_pa;
      p.engine_rpm = other.engine_rpm;
      p.ram_pa = other.ram_pa;
      put(&p, &all, i);
    }
    unmet = passes_unmet(car, map, &all) > 0;
  }
  assert_true(unmet);
  ta_point_block solved = all;
  ta_points_solve(car, map, &solved);
  int differs = 0;
  static const size_t counts[] = {1, 2, 3, 4, 5, 7, 13, 31, 63, 64};
  for (size_t c = 0; c < COUNT_OF(counts); c++)
    for (size_t from = 0; from < TA_LANES; from += 7) {
      ta_point_block part = {.count = counts[c]};
      for (size_t i = 0; i < part.count; i++) { /* another order, other neighbours */
        const size_t source = (from + 29 * i) % TA_LANES;
        part.ambient_pressure_pa[i] = all.ambient_pressure_pa[source];
        part.ambient_temperature_k[i] = all.ambient_temperature_k[source];
        part.gas_constant_jkgk[i] = all.gas_constant_jkgk[source];
        part.engine_rpm[i] = all.engine_rpm[source];
        part.map_pa[i] = all.map_pa[source];
        part.ram_pa[i] = all.ram_pa[source];
      }
      ta_points_solve(car, map, &part);
      for (size_t i = 0; i < part.count; i++)
        differs += same_lane(&part, i, &solved, (from + 29 * i) % TA_LANES);
    }
  assert_int_equal(differs, 0);
}

/* ---- laws without numbers
 * ------------------------------------------------------------------------ */

static ta_operating_point solve(const ta_car *car, const ta_compressor_map *map, const ta_air *air,
                                double engine_rpm, double map_pa) {
  ta_operating_point point;
  assert_int_equal(ta_point_solve(car, map, air, engine_rpm, map_pa, &point), TA_OK);
  return point;
}

static void two_half_size_turbos_are_one(void **state) {
  (void)state;
  invented one, two;
  invented_make(&one);
  invented_make(&two);
  invented_shape half = INVENTED_SHAPE;
  half.surge_kg_s *= 0.5;
  half.choke_kg_s *= 0.5;
  invented_lines(&half, &two);
  two.event.car.turbo.count = 2.0;
  ta_compressor_map *map = invented_map(&one), *halved = invented_map(&two);
  int bad = 0;
  for (double rpm = 3100.0; rpm < 7300.0; rpm += 370.0) {
    const ta_air air = invented_air(2310.0, 7.1, 0.006);
    const ta_operating_point a = solve(&one.event.car, map, &air, rpm, 197300.0);
    const ta_operating_point b = solve(&two.event.car, halved, &air, rpm, 197300.0);
    bad += off_rel("two", "W", b.air_flow_kg_s, a.air_flow_kg_s, 1e-12);
    bad += off_rel("two", "Wc", b.corrected_flow_kg_s, 0.5 * a.corrected_flow_kg_s, 1e-12);
    bad += off_rel("two", "shaft", b.shaft_rpm, a.shaft_rpm, 1e-12);
  }
  ta_compressor_map_free(map);
  ta_compressor_map_free(halved);
  assert_int_equal(bad, 0);
}

/* Twice the displacement at half the speed, or half the revolutions per intake, is the same air. */
static void swept_volume_a_second_is_what_counts(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_car *car = &it.event.car;
  car->engine.ve_count = 1;
  ta_compressor_map *map = invented_map(&it);
  const ta_air air = invented_air(3170.0, -4.3, 0.003);
  const ta_operating_point a = solve(car, map, &air, 6130.0, 203100.0);
  car->engine.displacement_m3 *= 2.0;
  const ta_operating_point b = solve(car, map, &air, 3065.0, 203100.0);
  car->engine.displacement_m3 *= 0.5;
  car->engine.cycle = TA_TWO_STROKE;
  const ta_operating_point c = solve(car, map, &air, 3065.0, 203100.0);
  car->engine.cycle = TA_ROTARY;
  const ta_operating_point d = solve(car, map, &air, 3065.0, 203100.0);
  int bad = 0;
  const ta_operating_point *same[] = {&b, &c, &d};
  for (size_t i = 0; i < COUNT_OF(same); i++) {
    bad += off_rel("same air", "W", same[i]->air_flow_kg_s, a.air_flow_kg_s, 1e-14);
    bad += off_rel("same air", "shaft", same[i]->shaft_rpm, a.shaft_rpm, 1e-14);
    bad += off_rel("same air", "power", same[i]->power_w, a.power_w, 1e-14);
  }
  ta_compressor_map_free(map);
  assert_int_equal(bad, 0);
}

/* At a held MAP each of these makes the shaft faster wherever the point lies between the lines or
 * above the top one.  Right of choke, where the speed follows the flow alone, a hotter day may go
 * either way (less corrected flow against a faster speed of sound), and the charge path's drop
 * has no say.  Flow alone, as an uneven share brings it, takes no speed near the surge line, where
 * the lines are level. */
static void what_makes_the_shaft_faster(void **state) {
  (void)state;
  enum {
    HOTTER,
    HIGHER,
    HUMID,
    INTAKE_RISE,
    INTAKE_DROP,
    CHARGE_DROP,
    LEAK,
    COOLING,
    MORE_MAP,
    MORE_REVS,
    UNEVEN,
    CHANGES
  };
  static const char *const names[CHANGES] = {
      "hotter", "higher",  "more humid", "warmer intake", "intake drop", "charge drop",
      "leak",   "cooling", "MAP",        "revs",          "imbalance"};
  invented it;
  invented_make(&it);
  invented_shape half = INVENTED_SHAPE;
  half.surge_kg_s *= 0.5;
  half.choke_kg_s *= 0.5;
  invented_lines(&half, &it);
  it.event.car.turbo.count = 2.0;
  it.event.car.engine.displacement_m3 *= 1.9; /* reaches choke too */
  ta_compressor_map *map = invented_map(&it);
  int slower = 0;
  size_t tried = 0, choked = 0;
  for (double z = 607.0; z < 5000.0; z += 431.0)
    for (double rpm = 2130.0; rpm < 7500.0; rpm += 370.0)
      for (double map_pa = 107e3; map_pa < 270e3; map_pa += 13.1e3) {
        const ta_air air = invented_air(z, 5.3, 0.004);
        if (map_pa < 1.05 * air.pressure_pa) continue;
        const ta_operating_point a = solve(&it.event.car, map, &air, rpm, map_pa);
        const bool on_map = a.zone == TA_MAPPED || a.zone == TA_EXTRAPOLATED;
        if (!on_map && a.zone != TA_CHOKE) continue;
        tried += on_map;
        choked += a.zone == TA_CHOKE;
        ta_map_reading at;
        assert_int_equal(ta_compressor_map_at(map, a.corrected_flow_kg_s, a.pressure_ratio, &at),
                         TA_OK);
        for (int change = 0; change < CHANGES; change++) {
          if (change == UNEVEN && at.surge_to_choke < 0.3) continue;
          if (!on_map && (change == HOTTER || change == HUMID || change == CHARGE_DROP)) continue;
          ta_car car = it.event.car;
          ta_air changed = air;
          double revs = rpm, held_pa = map_pa;
          switch (change) {
            case HOTTER:
              changed = invented_air(z, 7.3, 0.004);
              break;
            case HIGHER:
              changed = invented_air(z + 40.0, 5.3, 0.004);
              break;
            case HUMID:
              changed = invented_air(z, 5.3, 0.009);
              break;
            case INTAKE_RISE:
              car.intake.temperature_rise_k += 1.0;
              break;
            case INTAKE_DROP:
              car.intake.drop.drop_pa *= 1.1;
              break;
            case CHARGE_DROP:
              car.charge_cooler.drop.drop_pa *= 1.1;
              break;
            case LEAK:
              car.charge_cooler.leak += 0.005;
              break;
            case COOLING:
              car.charge_cooler.effectiveness += 0.02;
              break;
            case MORE_MAP:
              held_pa *= 1.004;
              break;
            case MORE_REVS:
              revs *= 1.002;
              break;
            default:
              car.turbo.imbalance += 0.01;
              break;
          }
          const ta_operating_point b = solve(&car, map, &changed, revs, held_pa);
          if (b.shaft_rpm > a.shaft_rpm) {
            /* better cooling pays for it with more air */
            if (change != COOLING || b.air_flow_kg_s > a.air_flow_kg_s) continue;
          }
          print_error("%s: %.3f after %.3f rpm, %s\n", names[change], b.shaft_rpm, a.shaft_rpm,
                      ta_zone_name(a.zone));
          slower++;
        }
      }
  print_message("%zu points on the map, %zu in choke\n", tried, choked);
  ta_compressor_map_free(map);
  assert_true(tried > 300 && choked > 50);
  assert_int_equal(slower, 0);
}

/* Below the reference pressure thin air takes more speed, as long as the Reynolds number is below
 * the gas stand's; off, or with exponents of 0, it changes no bit. */
static void thin_air_takes_speed(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_car *car = &it.event.car;
  ta_compressor_map *map = invented_map(&it);
  for (double z = 507.0; z < 5400.0; z += 271.0) {
    const ta_air air = invented_air(z, 6.1, 0.005);
    for (double rpm = 2900.0; rpm < 7400.0; rpm += 510.0) {
      car->turbo.thin_air = (ta_thin_air){0, 0.16, 0.04};
      const ta_operating_point with = solve(car, map, &air, rpm, air.pressure_pa + 83000.0);
      if (with.zone == TA_UNREACHABLE) continue;
      assert_true(with.inlet_pressure_pa < car->turbo.compressor.reference.pressure_pa);
      assert_true(with.thin_air_speed_factor > 1.0);
      car->turbo.thin_air = (ta_thin_air){1, 0.16, 0.04};
      const ta_operating_point off_air = solve(car, map, &air, rpm, air.pressure_pa + 83000.0);
      car->turbo.thin_air = (ta_thin_air){0, 0.0, 0.0};
      const ta_operating_point none = solve(car, map, &air, rpm, air.pressure_pa + 83000.0);
      assert_true(off_air.thin_air_speed_factor == 1.0 && none.thin_air_speed_factor == 1.0);
      assert_true(memcmp(&off_air.shaft_rpm, &none.shaft_rpm, sizeof(double)) == 0);
      assert_true(with.shaft_rpm > none.shaft_rpm);
      /* more of it, the higher */
      car->turbo.thin_air = (ta_thin_air){0, 0.16, 0.12};
      assert_true(solve(car, map, &air, rpm, air.pressure_pa + 83000.0).shaft_rpm > with.shaft_rpm);
    }
  }
  ta_compressor_map_free(map);
}

/* ---- the cap of a point
 * -------------------------------------------------------------------------- */

static void the_cap_is_the_lowest_map_at_the_limit(void **state) {
  (void)state;
  int bad = 0;
  size_t reached = 0, not_reached = 0, jumps = 0, choked = 0;
  for (uint64_t number = 0; number < 180; number++) {
    random_point p;
    draw(number, &p);
    const ta_car *car = &p.it.event.car;
    const ta_compressor_map *map = maps[number % SHAPES];
    const double limit =
        number % 11 == 0 ? 9e5 /* past what the map can tell */
                         : shapes[number % SHAPES].top_rpm * (0.75 + 0.4 * invented_random(number));
    const double highest = (1.4 + 3.0 * invented_random(number + 77777)) * p.ambient.pressure_pa;
    double cap = -1.0;
    const bool reaches = ta_point_cap(car, map, &p.ambient, p.engine_rpm, limit, highest, &cap);
    /* brute force: count up in small steps */
    double first = HUGE_VAL;
    const double step = (highest - p.ambient.pressure_pa) / 700.0;
    for (int i = 1; i <= 700 && first == HUGE_VAL; i++) {
      const double map_pa = i == 700 ? highest : p.ambient.pressure_pa + i * step;
      if (solve(car, map, &p.ambient, p.engine_rpm, map_pa).shaft_rpm >= limit) first = map_pa;
    }
    assert_int_equal(reaches, first < HUGE_VAL);
    if (!reaches) {
      not_reached++;
      assert_true(cap == highest);
      continue;
    }
    reached++;
    bad += off("scan", "cap", cap, first - 0.5 * step, 0.5 * step + 1e-6);
    if (!(cap > p.ambient.pressure_pa * (1.0 + 1e-9))) continue; /* over without boost already */
    const double at = solve(car, map, &p.ambient, p.engine_rpm, cap).shaft_rpm;
    assert_true(at <= limit);
    /* next to choke the flow of a restrictor hardly rises with the MAP any more */
    const bool chokes =
        solve(car, map, &p.ambient, p.engine_rpm, cap).restrictor_share > 1.0 - 1e-6;
    choked += chokes;
    if (isinf(solve(car, map, &p.ambient, p.engine_rpm, cap * (1.0 + (chokes ? 1e-4 : 1e-8)))
                  .shaft_rpm))
      jumps++; /* past what the map can tell, or choked: the speed jumps over the limit */
    else
      bad += off_rel("at the cap", "shaft", at, limit, 3e-9);
  }
  print_message("%zu reached (%zu at an edge, %zu of them choked), %zu not\n", reached, jumps,
                choked, not_reached);
  assert_true(reached > 90 && not_reached > 20 && choked > 2 && jumps > choked);
  assert_int_equal(bad, 0);
}

/* A lane's cap is its own, bit by bit, whatever is sought beside it. */
static void caps_depend_on_the_lane_alone(void **state) {
  (void)state;
  random_point p;
  draw(12, &p);
  const ta_car *car = &p.it.event.car;
  ta_point_block all = {.count = TA_LANES};
  double highest[TA_LANES];
  bool reached[TA_LANES];
  size_t met = 0, differs = 0;
  const double limit = 0.93 * shapes[0].top_rpm;
  for (size_t i = 0; i < TA_LANES; i++) {
    random_point other;
    draw(1000 + SHAPES * i, &other);
    p.ambient = other.ambient;
    p.engine_rpm = other.engine_rpm;
    p.ram_pa = other.ram_pa;
    put(&p, &all, i);
    highest[i] = (1.1 + 2.7 * invented_random(i + 4711)) * p.ambient.pressure_pa;
  }
  ta_point_block together = all;
  ta_point_caps(car, maps[0], limit, highest, &together, reached);
  for (size_t i = 0; i < TA_LANES; i++) {
    ta_point_block alone = {.count = 1};
    bool one_reached;
    alone.ambient_pressure_pa[0] = all.ambient_pressure_pa[i];
    alone.ambient_temperature_k[0] = all.ambient_temperature_k[i];
    alone.gas_constant_jkgk[0] = all.gas_constant_jkgk[i];
    alone.engine_rpm[0] = all.engine_rpm[i];
    alone.ram_pa[0] = all.ram_pa[i];
    ta_point_caps(car, maps[0], limit, &highest[i], &alone, &one_reached);
    differs += one_reached != reached[i] || alone.map_pa[0] != together.map_pa[i] ||
               same_lane(&alone, 0, &together, i) > 0;
    met += reached[i];
  }
  assert_true(met > 10 && met < TA_LANES - 10);
  assert_int_equal(differs, 0);
}

/* Without a restrictor what stands in its place has no say in any bit; and where it stands, one that
 * gives back all that its throat takes costs nothing until it chokes. */
static void a_restrictor_counts_only_where_there_is_one(void **state) {
  (void)state;
  size_t compared = 0;
  for (uint64_t number = 0; number < 120; number++) {
    random_point p;
    draw(number, &p);
    const ta_compressor_map *map = maps[number % SHAPES];
    ta_intake *intake = &p.it.event.car.intake;
    ta_point_block plain = {.count = 1}, noted = {.count = 1};
    put(&p, &plain, 0);
    put(&p, &noted, 0);
    intake->has_restrictor = false;
    ta_points_solve(&p.it.event.car, map, &noted);
    ta_restrictor drawn = intake->restrictor;
    intake->restrictor = (ta_restrictor){0};
    ta_points_solve(&p.it.event.car, map, &plain);
    assert_int_equal(same_lane(&plain, 0, &noted, 0), 0);
    assert_true(plain.restrictor_share[0] == 0.0);
    intake->restrictor = drawn;
    intake->restrictor.recovery = 1.0;
    intake->has_restrictor = true;
    ta_points_solve(&p.it.event.car, map, &noted);
    if (noted.restrictor_share[0] >= 1.0) {
      assert_int_equal(noted.zone[0], TA_UNREACHABLE);
      assert_true(isinf(noted.shaft_rpm[0]));
      continue;
    }
    compared++;
    assert_true(noted.restrictor_share[0] > 0.0);
    assert_int_equal(off_rel("recovers all", "p1", noted.inlet_pressure_pa[0],
                             plain.inlet_pressure_pa[0], 1e-10),
                     0);
  }
  assert_true(compared > 60 && compared < 115);
}

/* ---- edges
 * --------------------------------------------------------------------------------------- */

static void no_boost_is_solved_without_fuss(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_compressor_map *map = invented_map(&it);
  const ta_air air = invented_air(1463.0, 3.7, 0.004);
  /* a hair above ambient is a point; lanes at and below ambient idle, and nothing is NaN */
  const ta_operating_point hair =
      solve(&it.event.car, map, &air, 5100.0, nextafter(air.pressure_pa, HUGE_VAL));
  assert_true(isfinite(hair.shaft_rpm) && hair.pressure_ratio > 1.0);
  /* nothing in the way: the little boost there is heats as it should */
  ta_car bare = it.event.car;
  bare.intake.drop.drop_pa = bare.charge_cooler.drop.drop_pa = 0.0;
  const ta_operating_point little = solve(&bare, map, &air, 5100.0, 1.0004 * air.pressure_pa);
  assert_int_equal(
      off_rel("little", "heating",
              (little.outlet_temperature_k / little.inlet_temperature_k - 1.0) * little.efficiency,
              expm1(log(1.0004) / 3.5), 1e-6),
      0);
  ta_point_block block = {.count = 3};
  const double share[] = {1.0, 0.7, 0.2};
  for (size_t i = 0; i < block.count; i++) {
    block.ambient_pressure_pa[i] = air.pressure_pa;
    block.ambient_temperature_k[i] = air.temperature_k;
    block.gas_constant_jkgk[i] = air.gas_constant_jkgk;
    block.engine_rpm[i] = 5100.0;
    block.map_pa[i] = share[i] * air.pressure_pa;
  }
  ta_points_solve(&it.event.car, map, &block);
  for (size_t i = 0; i < block.count; i++) {
    assert_true(isfinite(block.shaft_rpm[i]) && block.air_flow_kg_s[i] > 0.0);
    assert_true(i == 0 || block.shaft_rpm[i] < block.shaft_rpm[i - 1]);
  }
  ta_compressor_map_free(map);
}

/* More air than the intake can draw: no speed, but no nonsense either. */
static void an_intake_that_cannot_pass_the_air_is_unreachable(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_compressor_map *map = invented_map(&it);
  it.event.car.intake.drop.drop_pa = 400e3;
  const ta_air air = invented_air(2900.0, 3.7, 0.004);
  const ta_operating_point point = solve(&it.event.car, map, &air, 7100.0, 210e3);
  assert_int_equal(point.zone, TA_UNREACHABLE);
  assert_true(isinf(point.shaft_rpm) && isinf(point.corrected_rpm) && isinf(point.beyond_top_line));
  assert_true(point.inlet_pressure_pa > 0.0 && isfinite(point.outlet_temperature_k) &&
              isfinite(point.air_flow_kg_s) && isfinite(point.thin_air_speed_factor));
  double cap = 0.0;
  assert_true(ta_point_cap(&it.event.car, map, &air, 7100.0, 150e3,
                           TA_HIGHEST_MAP_OVER_AMBIENT * air.pressure_pa, &cap));
  assert_true(cap < 210e3);
  ta_compressor_map_free(map);
}

static void refusals_leave_the_output_alone(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_compressor_map *map = invented_map(&it);
  const ta_car *car = &it.event.car;
  const ta_air air = invented_air(2310.0, 3.7, 0.004);
  ta_operating_point point = {.shaft_rpm = -7.0, .map_pa = -8.0};
  const double nan = (double)NAN, inf = (double)INFINITY;
  ta_air broken[] = {air, air, air, air};
  broken[0].pressure_pa = nan;
  broken[1].temperature_k = nan;
  broken[2].gas_constant_jkgk = inf;
  broken[3].mixing_ratio = nan;
  for (size_t i = 0; i < COUNT_OF(broken); i++)
    assert_int_equal(ta_point_solve(car, map, &broken[i], 5000.0, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(NULL, map, &air, 5000.0, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, NULL, &air, 5000.0, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, NULL, 5000.0, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, &air, 5000.0, 2e5, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, &air, nan, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, &air, inf, 2e5, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, &air, 5000.0, nan, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_solve(car, map, &air, 0.0, 2e5, &point), TA_ERR_DOMAIN);
  assert_int_equal(ta_point_solve(car, map, &air, -5000.0, 2e5, &point), TA_ERR_DOMAIN);
  assert_int_equal(ta_point_solve(car, map, &air, 5000.0, air.pressure_pa, &point), TA_ERR_DOMAIN);
  assert_true(point.shaft_rpm == -7.0 && point.map_pa == -8.0);
  ta_compressor_map_free(map);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  for (size_t i = 0; i < SHAPES; i++) {
    invented it;
    memset(&it, 0, sizeof it);
    invented_lines(&shapes[i], &it);
    maps[i] = invented_map(&it);
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole_points_agree_with_an_independent_solver),
      cmocka_unit_test(every_equation_holds_at_the_solved_point),
      cmocka_unit_test(the_bracketed_solve_agrees_with_the_passes),
      cmocka_unit_test(bits_depend_on_the_lane_alone),
      cmocka_unit_test(two_half_size_turbos_are_one),
      cmocka_unit_test(swept_volume_a_second_is_what_counts),
      cmocka_unit_test(what_makes_the_shaft_faster),
      cmocka_unit_test(thin_air_takes_speed),
      cmocka_unit_test(the_cap_is_the_lowest_map_at_the_limit),
      cmocka_unit_test(caps_depend_on_the_lane_alone),
      cmocka_unit_test(a_restrictor_counts_only_where_there_is_one),
      cmocka_unit_test(no_boost_is_solved_without_fuss),
      cmocka_unit_test(an_intake_that_cannot_pass_the_air_is_unreachable),
      cmocka_unit_test(refusals_leave_the_output_alone),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  for (size_t i = 0; i < SHAPES; i++) ta_compressor_map_free(maps[i]);
  return failed;
}
