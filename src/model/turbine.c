/* turbine.c - what the turbine must do to drive its compressor, and whether it can.
 *
 * Model     A turbine is a nozzle whose corrected flow depends on its expansion ratio alone, and an
 *           efficiency; the wastegate takes what the turbine does not need.  With p4 settled by the
 *           whole exhaust, flow and power of a turbine are
 *             We_t = (p4/p_ref) sqrt(T_ref/T3) E phi(E)
 *             P_t  = eta_m cp T3 (p4/p_ref) sqrt(T_ref/T3) E phi(E) eta(E) (1 - E^-k)
 *           so the balance has one unknown, E.  E phi(E) rises, which gives one E with the wastegate
 *           shut; the lowest balance is looked for from 1 up to there.
 * Units     SI, pressures absolute.
 * Limits    Steady flow of one inlet: pulses and twin scrolls are inside the efficiency, heat given
 *           off by the turbine's housing too.  The gas temperature before the turbine is given, and
 *           the pipe behind it is taken to be as warm as when its drop was read.
 * Pinned by tests/model/test_turbine.c (other unknowns, GSL's roots and cubic),
 *           tests/published/test_turbine.c.
 */
#include "thinair/turbine.h"

#include <math.h>

#include "batch_math.h"
#include "thinair/air.h"

enum { ROOT_STEPS = 100, PARTS_WHERE_STEEP = 64 };
static const double MEET = 1e-13;  /* relative, of flow or power */
static const double CLOSE = 4e-16; /* relative, of a bracket: two roundings wide */

double ta_compressor_power(double flow_kg_s, double gas_constant_jkgk, double inlet_k,
                           double outlet_k) {
  return flow_kg_s * TA_GAMMA * gas_constant_jkgk / (TA_GAMMA - 1.0) * (outlet_k - inlet_k);
}

/* ---- the turbine's curves -------------------------------------------------------------------- */

/* The points, led by no flow at no expansion. */
static ta_turbine_flow node(const ta_turbine *turbine, size_t i) {
  return i == 0 ? (ta_turbine_flow){1.0, 0.0} : turbine->flow[i - 1];
}

static double secant(ta_turbine_flow a, ta_turbine_flow b) {
  return (b.flow_kg_s - a.flow_kg_s) / (b.expansion_ratio - a.expansion_ratio);
}

/* Steffen's slope at a node, of flow that never falls. */
static double node_slope(const ta_turbine *turbine, size_t i) {
  const ta_turbine_flow at = node(turbine, i);
  if (i == 0) return secant(at, node(turbine, 1));
  const ta_turbine_flow below = node(turbine, i - 1);
  const double s_below = secant(below, at);
  if (i == turbine->flow_count) return s_below;
  const ta_turbine_flow above = node(turbine, i + 1);
  const double s_above = secant(at, above), h_below = at.expansion_ratio - below.expansion_ratio,
               h_above = above.expansion_ratio - at.expansion_ratio;
  const double parabola = (s_below * h_above + s_above * h_below) / (h_below + h_above),
               steepest = 2.0 * (s_below < s_above ? s_below : s_above);
  return parabola < steepest ? parabola : steepest;
}

double ta_turbine_capacity(const ta_turbine *turbine, double expansion_ratio) {
  const ta_turbine_flow *last = &turbine->flow[turbine->flow_count - 1];
  if (!(expansion_ratio > 1.0)) return 0.0;
  if (!(expansion_ratio < last->expansion_ratio)) return last->flow_kg_s;
  size_t i = 0;
  while (node(turbine, i + 1).expansion_ratio <= expansion_ratio) i++;
  const ta_turbine_flow a = node(turbine, i), b = node(turbine, i + 1);
  const double h = b.expansion_ratio - a.expansion_ratio, x = expansion_ratio - a.expansion_ratio;
  const double s = secant(a, b), from = node_slope(turbine, i), to = node_slope(turbine, i + 1);
  const double square = (3.0 * s - 2.0 * from - to) / h, cube = (from + to - 2.0 * s) / (h * h);
  return a.flow_kg_s + x * (from + x * (square + x * cube));
}

double ta_turbine_efficiency_at(const ta_turbine *turbine, double expansion_ratio) {
  if (turbine->has_efficiency) return turbine->efficiency;
  const ta_turbine_efficiency *point = turbine->efficiency_point;
  const size_t last = turbine->efficiency_count - 1;
  if (!(expansion_ratio > point[0].expansion_ratio)) return point[0].efficiency;
  if (!(expansion_ratio < point[last].expansion_ratio)) return point[last].efficiency;
  size_t i = 1;
  while (point[i].expansion_ratio < expansion_ratio) i++;
  const double share = (expansion_ratio - point[i - 1].expansion_ratio) /
                       (point[i].expansion_ratio - point[i - 1].expansion_ratio);
  return point[i - 1].efficiency + share * (point[i].efficiency - point[i - 1].efficiency);
}

/* E phi: flow of one turbine over that at p3 = p4 for a flow capacity of 1. */
static double flow_term(const ta_turbine *turbine, double expansion_ratio) {
  return expansion_ratio * ta_turbine_capacity(turbine, expansion_ratio);
}

/* The same times the share of the gas's enthalpy that becomes work. */
static double power_term(const ta_turbine *turbine, double expansion_ratio) {
  const double exponent = (turbine->gamma - 1.0) / turbine->gamma;
  return flow_term(turbine, expansion_ratio) * ta_turbine_efficiency_at(turbine, expansion_ratio) *
         (1.0 - ta_exp(-exponent * ta_log(expansion_ratio)));
}

/* ---- expansion ratios ------------------------------------------------------------------------ */

/* Where a term reaches a level, between a ratio at which it is below and one at which it is not.
 * Inverse quadratic interpolation where the three latest points allow it, else halving
 * (Chandrupatla, Advances in Engineering Software 28, 1997, 145): near E = 1 power goes with the
 * square of E - 1, and a chord creeps. */
static double ratio_where(double (*term)(const ta_turbine *, double), const ta_turbine *turbine,
                          double level, double low, double high) {
  double b = low, f_b = term(turbine, low) - level; /* root between a, the latest, and b */
  double a = high, f_a = term(turbine, high) - level, share = 0.5;
  for (int step = 0; step < ROOT_STEPS && fabs(f_a) > MEET * level; step++) {
    double c = a, f_c = f_a;
    const double at = a + share * (b - a), f_at = term(turbine, at) - level;
    if ((f_at < 0.0) != (f_a < 0.0)) {
      c = b;
      f_c = f_b;
      b = a;
      f_b = f_a;
    }
    a = at;
    f_a = f_at;
    if (fabs(b - a) <= CLOSE * a) break;
    const double xi = (a - b) / (c - b), phi = (f_a - f_b) / (f_c - f_b);
    share = 0.5;
    if (phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi)
      share = f_a / (f_b - f_a) * f_c / (f_b - f_c) +
              (c - a) / (b - a) * f_a / (f_c - f_a) * f_b / (f_c - f_b);
  }
  return a;
}

/* The one ratio of a flow. */
static double flow_ratio(const ta_turbine *turbine, double level) {
  double low = 1.0;
  for (size_t i = 0; i < turbine->flow_count; i++) {
    const double high = turbine->flow[i].expansion_ratio;
    if (high * turbine->flow[i].flow_kg_s >= level)
      return ratio_where(flow_term, turbine, level, low, high);
    low = high;
  }
  return level / turbine->flow[turbine->flow_count - 1].flow_kg_s;
}

/* The next point of efficiency, up to an end. */
static double next_point(const ta_turbine *turbine, double after, double end) {
  const size_t count = turbine->has_efficiency ? 0 : turbine->efficiency_count;
  for (size_t i = 0; i < count && turbine->efficiency_point[i].expansion_ratio < end; i++)
    if (turbine->efficiency_point[i].expansion_ratio > after)
      return turbine->efficiency_point[i].expansion_ratio;
  return end;
}

/* Between two neighbouring points, does efficiency fall so fast that power may fall too?  Only where
 * E eta falls, and that is steepest at the upper end. */
static bool is_steep(const ta_turbine *turbine, double low, double high) {
  const double eta = ta_turbine_efficiency_at(turbine, high);
  return eta * (high - low) + high * (eta - ta_turbine_efficiency_at(turbine, low)) < 0.0;
}

/* The lowest ratio of a power, up to an end; false: there is none. */
static bool lowest_power_ratio(const ta_turbine *turbine, double level, double end, double *ratio) {
  double low = 1.0;
  if (!(level > 0.0)) {
    *ratio = low;
    return true;
  }
  while (low < end) {
    const double from = low, high = next_point(turbine, low, end);
    const int parts = is_steep(turbine, from, high) ? PARTS_WHERE_STEEP : 1;
    for (int part = 1; part <= parts; part++) {
      const double to = part == parts ? high : from + (high - from) * part / parts;
      if (power_term(turbine, to) >= level) {
        *ratio = ratio_where(power_term, turbine, level, low, to);
        return true;
      }
      low = to;
    }
  }
  return false;
}

/* ---- the balance ----------------------------------------------------------------------------- */

/* What a demand settles before any balance. */
typedef struct {
  double exhaust_kg_s, outlet_pa;
  double flow_per_term, power_per_term; /* of one turbine */
  double power_term;                    /* at which it balances its compressor */
  double shut_ratio;                    /* expansion ratio with the wastegate shut */
  double excess_w;
} exhaust;

static exhaust exhaust_of(const ta_turbine *turbine, const ta_drive_demand *demand) {
  exhaust e;
  e.exhaust_kg_s = demand->air_flow_kg_s * (1.0 + 1.0 / demand->air_fuel_ratio);
  e.outlet_pa = demand->ambient_pa;
  if (turbine->back_pressure_pa > 0.0) {
    const double flow = e.exhaust_kg_s / turbine->at_flow_kg_s;
    e.outlet_pa = 0.5 * (e.outlet_pa +
                         sqrt(e.outlet_pa * e.outlet_pa + 4.0 * turbine->back_pressure_pa * flow *
                                                              flow * turbine->measured_pa));
  }
  e.flow_per_term = e.outlet_pa / turbine->reference_pa *
                    sqrt(turbine->reference_k / turbine->inlet_temperature_k);
  const double cp = turbine->gamma * turbine->gas_constant_jkgk / (turbine->gamma - 1.0);
  e.power_per_term =
      turbine->mechanical_efficiency * cp * turbine->inlet_temperature_k * e.flow_per_term;
  e.power_term = demand->compressor_power_w / e.power_per_term;
  e.shut_ratio = flow_ratio(turbine, e.exhaust_kg_s / (demand->turbo_count * e.flow_per_term));
  /* of the same two terms that decide whether there is a balance: the signs agree */
  e.excess_w = e.power_per_term * (power_term(turbine, e.shut_ratio) - e.power_term);
  return e;
}

double ta_turbine_excess(const ta_turbine *turbine, const ta_drive_demand *demand) {
  return exhaust_of(turbine, demand).excess_w;
}

static ta_status check(const ta_turbine *turbine, const ta_drive_demand *demand) {
  const bool piped = turbine->back_pressure_pa != 0.0;
  const double above_zero[] = {demand->turbo_count,
                               demand->air_flow_kg_s,
                               demand->air_fuel_ratio,
                               demand->ambient_pa,
                               turbine->inlet_temperature_k,
                               turbine->mechanical_efficiency,
                               turbine->reference_pa,
                               turbine->reference_k,
                               turbine->gas_constant_jkgk,
                               turbine->gamma - 1.0,
                               turbine->has_efficiency ? turbine->efficiency : 1.0,
                               piped ? turbine->at_flow_kg_s : 1.0,
                               piped ? turbine->measured_pa : 1.0};
  ta_status status = TA_OK;
  for (size_t i = 0; i < sizeof above_zero / sizeof above_zero[0]; i++) {
    if (!isfinite(above_zero[i])) return TA_ERR_ARGUMENT;
    if (!(above_zero[i] > 0.0)) status = TA_ERR_DOMAIN;
  }
  if (!isfinite(demand->compressor_power_w) || !isfinite(turbine->back_pressure_pa))
    return TA_ERR_ARGUMENT;
  if (demand->compressor_power_w < 0.0 || turbine->back_pressure_pa < 0.0) return TA_ERR_DOMAIN;
  return status;
}

static bool is_beyond_points(const ta_turbine *turbine, double expansion_ratio) {
  if (expansion_ratio > turbine->flow[turbine->flow_count - 1].expansion_ratio) return true;
  return !turbine->has_efficiency &&
         expansion_ratio > turbine->efficiency_point[turbine->efficiency_count - 1].expansion_ratio;
}

ta_status ta_turbine_drive(const ta_turbine *turbine, const ta_drive_demand *demand,
                           ta_drive *drive) {
  if (turbine == NULL || demand == NULL || drive == NULL || turbine->flow == NULL ||
      turbine->flow_count == 0 ||
      (!turbine->has_efficiency &&
       (turbine->efficiency_point == NULL || turbine->efficiency_count == 0)))
    return TA_ERR_ARGUMENT;
  const ta_status status = check(turbine, demand);
  if (status != TA_OK) return status;
  const exhaust e = exhaust_of(turbine, demand);
  if (!isfinite(e.excess_w)) return TA_ERR_DOMAIN; /* beyond what a double holds */
  double ratio = e.shut_ratio;
  const bool driven = lowest_power_ratio(turbine, e.power_term, e.shut_ratio, &ratio);
  double through_kg_s = e.exhaust_kg_s;
  if (driven) /* all of it at the most, but for a rounding */
    through_kg_s =
        fmin(through_kg_s, demand->turbo_count * e.flow_per_term * flow_term(turbine, ratio));
  *drive = (ta_drive){
      .exhaust_flow_kg_s = e.exhaust_kg_s,
      .outlet_pressure_pa = e.outlet_pa,
      .inlet_pressure_pa = ratio * e.outlet_pa,
      .expansion_ratio = ratio,
      .turbine_flow_kg_s = through_kg_s,
      .wastegate_share = 1.0 - through_kg_s / e.exhaust_kg_s,
      .power_w = e.power_per_term * power_term(turbine, ratio),
      .excess_w = e.excess_w,
      .driven = driven,
      .beyond_points = is_beyond_points(turbine, ratio),
  };
  return TA_OK;
}
