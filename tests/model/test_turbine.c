/* test_turbine.c - an independent solution, the energy of the whole, closed forms, laws that hold
 * for any turbine, the two curves, refusals. */
#include "thinair/turbine.h"

#include <float.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_roots.h>

#include "../invented_car.h"

/* ---- random turbines ------------------------------------------------------------------------- */

enum { POINTS_MAX = 9, DRAWS = 64, TURBINES = 3000 };

typedef struct {
  ta_turbine_flow flow[POINTS_MAX];
  ta_turbine_efficiency efficiency[POINTS_MAX];
  ta_turbine turbine;
  ta_drive_demand demand;
} drawn;

static double spread(uint64_t *next, double low, double high) {
  return low + (high - low) * invented_random((*next)++);
}

/* Some turbine and some demand, within what it can give or not. */
static void draw(uint64_t number, drawn *d) {
  uint64_t next = number * DRAWS;
  memset(d, 0, sizeof *d);
  const double count = floor(spread(&next, 1.0, 5.0)), air_kg_s = spread(&next, 0.07, 0.71),
               ratio = spread(&next, 10.3, 14.9), one_kg_s = air_kg_s * (1.0 + 1.0 / ratio) / count;
  d->demand = (ta_drive_demand){
      .turbo_count = count,
      .air_flow_kg_s = air_kg_s,
      .air_fuel_ratio = ratio,
      .ambient_pa = spread(&next, 57.3e3, 101.9e3),
      .compressor_power_w = air_kg_s / count * 1006.3 * spread(&next, 9.0, 307.0)};
  d->turbine = (ta_turbine){
      .inlet_temperature_k = spread(&next, 913.0, 1307.0),
      .efficiency = spread(&next, 0.43, 0.77),
      .has_efficiency = spread(&next, 0.0, 1.0) < 0.5,
      .efficiency_point = d->efficiency,
      .efficiency_count = (size_t)spread(&next, 1.0, POINTS_MAX),
      .mechanical_efficiency = spread(&next, 0.91, 0.99),
      .reference_pa = spread(&next, 95.3e3, 102.7e3),
      .reference_k = spread(&next, 286.0, 303.0),
      .flow = d->flow,
      .flow_count = (size_t)spread(&next, 2.0, POINTS_MAX),
      .back_pressure_pa = spread(&next, 0.0, 1.0) < 0.2 ? 0.0 : spread(&next, 1.3e3, 27.1e3),
      .at_flow_kg_s = air_kg_s * spread(&next, 0.7, 1.7),
      .measured_pa = spread(&next, 83.1e3, 119.3e3),
      .gamma = spread(&next, 1.29, 1.36),
      .gas_constant_jkgk = spread(&next, 285.1, 292.3),
  };
  double at = 1.0, flow = 0.0;
  for (size_t i = 0; i < d->turbine.flow_count; i++) {
    at += spread(&next, 0.07, 0.71);
    flow += spread(&next, 0.0, 1.0) < 0.1 && i > 0 ? 0.0 : spread(&next, 0.03, 1.3) / at;
    d->flow[i] = (ta_turbine_flow){at, flow};
  }
  const double last_kg_s = one_kg_s / spread(&next, 0.87, 2.3);
  for (size_t i = 0; i < d->turbine.flow_count; i++) d->flow[i].flow_kg_s *= last_kg_s / flow;
  at = 0.9;
  for (size_t i = 0; i < d->turbine.efficiency_count; i++) {
    at += spread(&next, 0.11, 0.83);
    d->efficiency[i] = (ta_turbine_efficiency){at, spread(&next, 0.51, 0.74)};
  }
  assert_true(next <= (number + 1) * DRAWS);
}

static ta_drive solved(const drawn *d) {
  ta_drive drive;
  assert_int_equal(ta_turbine_drive(&d->turbine, &d->demand, &drive), TA_OK);
  return drive;
}

/* ---- the same equations, other unknowns, other roots ----------------------------------------- */

/* Unknown: the pressure before the turbine; the one after it is a root of its own. */
typedef struct {
  const ta_turbine *t;
  const ta_drive_demand *demand;
  gsl_interp *cubic;
  double x[POINTS_MAX + 1], y[POINTS_MAX + 1];
  double p4_pa;
} reference;

static double root_between(double (*f)(double, void *), void *with, double low, double high) {
  gsl_function function = {f, with};
  gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  assert_int_equal(gsl_root_fsolver_set(solver, &function, low, high), GSL_SUCCESS);
  for (int i = 0; i < 200; i++) {
    assert_int_equal(gsl_root_fsolver_iterate(solver), GSL_SUCCESS);
    low = gsl_root_fsolver_x_lower(solver);
    high = gsl_root_fsolver_x_upper(solver);
    if (high - low <= 1e-15 * high) break;
  }
  const double root = gsl_root_fsolver_root(solver);
  gsl_root_fsolver_free(solver);
  return root;
}

static double exhaust_kg_s(const ta_drive_demand *demand) {
  return demand->air_flow_kg_s + demand->air_flow_kg_s / demand->air_fuel_ratio;
}

static double pipe(double p4_pa, void *with) {
  const reference *r = with;
  const double flow = exhaust_kg_s(r->demand) / r->t->at_flow_kg_s;
  return p4_pa - r->demand->ambient_pa -
         r->t->back_pressure_pa * flow * flow * r->t->measured_pa / p4_pa;
}

static double one_flow(const reference *r, double p3_pa) {
  const size_t last = r->t->flow_count;
  const double e = p3_pa / r->p4_pa;
  const double corrected =
      e >= r->x[last] ? r->y[last] : gsl_interp_eval(r->cubic, r->x, r->y, fmax(e, 1.0), NULL);
  return corrected * (p3_pa / r->t->reference_pa) /
         sqrt(r->t->inlet_temperature_k / r->t->reference_k);
}

static double efficiency(const ta_turbine *t, double e) {
  if (t->has_efficiency) return t->efficiency;
  const ta_turbine_efficiency *p = t->efficiency_point;
  for (size_t i = 0; i + 1 < t->efficiency_count; i++)
    if (e >= p[i].expansion_ratio && e < p[i + 1].expansion_ratio)
      return (p[i].efficiency * (p[i + 1].expansion_ratio - e) +
              p[i + 1].efficiency * (e - p[i].expansion_ratio)) /
             (p[i + 1].expansion_ratio - p[i].expansion_ratio);
  return p[e < p[0].expansion_ratio ? 0 : t->efficiency_count - 1].efficiency;
}

/* Outlet temperature from the isentropic one; power from the fall of enthalpy. */
static double one_power(const reference *r, double p3_pa) {
  const ta_turbine *t = r->t;
  const double t3_k = t->inlet_temperature_k,
               isentropic_k = t3_k * pow(r->p4_pa / p3_pa, 1.0 - 1.0 / t->gamma),
               t4_k = t3_k - efficiency(t, p3_pa / r->p4_pa) * (t3_k - isentropic_k);
  return t->mechanical_efficiency * one_flow(r, p3_pa) * t->gas_constant_jkgk /
         (1.0 - 1.0 / t->gamma) * (t3_k - t4_k);
}

static double unbalanced(double p3_pa, void *with) {
  const reference *r = with;
  return one_power(r, p3_pa) - r->demand->compressor_power_w;
}

static double past_the_turbines(double p3_pa, void *with) {
  const reference *r = with;
  return r->demand->turbo_count * one_flow(r, p3_pa) - exhaust_kg_s(r->demand);
}

static void reference_open(reference *r, const drawn *d) {
  r->t = &d->turbine;
  r->demand = &d->demand;
  r->x[0] = 1.0;
  r->y[0] = 0.0;
  for (size_t i = 0; i < d->turbine.flow_count; i++) {
    r->x[i + 1] = d->turbine.flow[i].expansion_ratio;
    r->y[i + 1] = d->turbine.flow[i].flow_kg_s;
  }
  r->cubic = gsl_interp_alloc(gsl_interp_steffen, d->turbine.flow_count + 1);
  assert_int_equal(gsl_interp_init(r->cubic, r->x, r->y, d->turbine.flow_count + 1), GSL_SUCCESS);
  r->p4_pa = root_between(pipe, r, 0.99 * d->demand.ambient_pa, d->demand.ambient_pa + 1000e3);
}

/* The lowest balance by small steps up; false where even all of the exhaust is too little. */
static bool reference_balance(reference *r, double *p3_pa) {
  const double shut_pa = root_between(past_the_turbines, r, r->p4_pa, 1000.0 * r->p4_pa);
  enum { STEPS = 700 };
  double low = r->p4_pa;
  for (int i = 1; i <= STEPS; i++) {
    const double high = r->p4_pa + (shut_pa - r->p4_pa) * i / STEPS;
    if (unbalanced(high, r) >= 0.0) {
      *p3_pa = root_between(unbalanced, r, low, high);
      return true;
    }
    low = high;
  }
  *p3_pa = shut_pa;
  return false;
}

static void agrees_with_an_independent_solution(void **state) {
  (void)state;
  int bad = 0, driven = 0, beyond = 0;
  for (uint64_t n = 0; n < TURBINES; n++) {
    drawn d;
    draw(n, &d);
    reference r;
    reference_open(&r, &d);
    double p3_pa;
    const bool balances = reference_balance(&r, &p3_pa);
    const ta_drive got = solved(&d);
    char row[40];
    (void)snprintf(row, sizeof row, "turbine %d", (int)n);
    bad += got.driven != balances;
    bad += off_rel(row, "We", got.exhaust_flow_kg_s, exhaust_kg_s(&d.demand), 1e-14);
    bad += off_rel(row, "p4", got.outlet_pressure_pa, r.p4_pa, 1e-13);
    bad += off_rel(row, "p3", got.inlet_pressure_pa, p3_pa, 1e-11);
    bad += off_rel(row, "E", got.expansion_ratio, p3_pa / r.p4_pa, 1e-11);
    const double through = d.demand.turbo_count * one_flow(&r, p3_pa);
    bad += off_rel(row, "flow", got.turbine_flow_kg_s, through, 1e-10);
    bad += off(row, "share", got.wastegate_share, 1.0 - through / exhaust_kg_s(&d.demand), 1e-10);
    bad += off_rel(row, "power", got.power_w, one_power(&r, p3_pa), 1e-10);
    const double shut_pa = root_between(past_the_turbines, &r, r.p4_pa, 1000.0 * r.p4_pa);
    bad += off(row, "excess", got.excess_w, unbalanced(shut_pa, &r), 1e-10 * got.power_w);
    bad +=
        off_rel(row, "excess alone", ta_turbine_excess(&d.turbine, &d.demand), got.excess_w, 0.0);
    const ta_turbine *t = &d.turbine;
    const bool past =
        got.expansion_ratio > t->flow[t->flow_count - 1].expansion_ratio ||
        (!t->has_efficiency &&
         got.expansion_ratio > t->efficiency_point[t->efficiency_count - 1].expansion_ratio);
    bad += got.beyond_points != past;
    driven += balances;
    beyond += past;
    gsl_interp_free(r.cubic);
  }
  assert_int_equal(bad, 0);
  assert_in_range(driven, TURBINES / 5, TURBINES * 4 / 5);
  assert_in_range(beyond, TURBINES / 10, TURBINES * 9 / 10);
}

/* What goes in as hot gas comes out as cooler gas, work of the compressors and bearing loss. */
static void energy_is_kept(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = TURBINES; n < TURBINES + 500; n++) {
    drawn d;
    draw(n, &d);
    /* the compressor's work, of the air that it heats */
    const double one_kg_s = d.demand.air_flow_kg_s / d.demand.turbo_count, r_jkgk = 288.31,
                 t1_k = 279.3, t2_k = 279.3 + 43.7;
    d.demand.compressor_power_w = ta_compressor_power(one_kg_s, r_jkgk, t1_k, t2_k);
    const ta_drive got = solved(&d);
    if (!got.driven) continue;
    const ta_turbine *t = &d.turbine;
    const double cp = t->gas_constant_jkgk * t->gamma / (t->gamma - 1.0),
                 t3_k = t->inlet_temperature_k;
    const double ideal_k = t3_k * pow(got.expansion_ratio, -(t->gamma - 1.0) / t->gamma);
    const double t4_k = t3_k + (ideal_k - t3_k) * efficiency(t, got.expansion_ratio);
    const double past_kg_s = got.exhaust_flow_kg_s * got.wastegate_share;
    const double in_w = cp * got.exhaust_flow_kg_s * t3_k,
                 out_w = cp * (got.turbine_flow_kg_s * t4_k + past_kg_s * t3_k),
                 work_w = d.demand.air_flow_kg_s * 3.5 * r_jkgk * (t2_k - t1_k);
    char row[40];
    (void)snprintf(row, sizeof row, "turbine %d", (int)n);
    bad += off(row, "enthalpy", (in_w - out_w) * t->mechanical_efficiency, work_w, 1e-13 * in_w);
    bad += off_rel(row, "power", got.power_w, work_w / d.demand.turbo_count, 1e-11);
  }
  assert_int_equal(bad, 0);
}

/* ---- closed forms and limits ----------------------------------------------------------------- */

/* Choked from 1.37 up, of one efficiency, without a pipe. */
static void choked(drawn *d) {
  *d = (drawn){.flow = {{1.19, 0.083}, {1.37, 0.127}}};
  d->turbine = (ta_turbine){.inlet_temperature_k = 1187.0,
                            .efficiency = 0.673,
                            .has_efficiency = true,
                            .mechanical_efficiency = 0.967,
                            .reference_pa = 101325.0,
                            .reference_k = 288.15,
                            .flow = d->flow,
                            .flow_count = 2,
                            .at_flow_kg_s = 0.297,
                            .measured_pa = 101325.0,
                            .gamma = 1.32,
                            .gas_constant_jkgk = 290.0};
  d->demand = (ta_drive_demand){.turbo_count = 1.0,
                                .air_flow_kg_s = 0.281,
                                .air_fuel_ratio = 11.83,
                                .ambient_pa = 62370.0,
                                .compressor_power_w = 23310.0};
}

/* Past choke the wastegate is shut at a flow in proportion to p3; and with gamma = 2 the balance is
 * a quadratic in sqrt(E). */
static void a_choked_turbine_has_closed_forms(void **state) {
  (void)state;
  drawn d;
  choked(&d);
  d.turbine.gamma = 2.0;
  const double per_p3 = 0.127 / 101325.0 * sqrt(288.15 / 1187.0);
  const double shut = 0.281 * (1.0 + 1.0 / 11.83) / (per_p3 * 62370.0);
  const double scale = 0.967 * 0.673 * 580.0 * 1187.0 * per_p3 * 62370.0; /* W of E - sqrt(E) */
  const double root = 0.5 * (1.0 + sqrt(1.0 + 4.0 * 23310.0 / scale)), ratio = root * root;
  assert_true(ratio > 1.37 && ratio < shut);
  ta_drive got = solved(&d);
  assert_true(got.driven && got.beyond_points);
  int bad = off_rel("choked", "p4", got.outlet_pressure_pa, 62370.0, 0.0);
  bad += off_rel("choked", "E", got.expansion_ratio, ratio, 1e-12);
  bad += off_rel("choked", "p3", got.inlet_pressure_pa, ratio * 62370.0, 1e-12);
  bad += off_rel("choked", "flow", got.turbine_flow_kg_s, per_p3 * ratio * 62370.0, 1e-12);
  bad += off("choked", "share", got.wastegate_share, 1.0 - ratio / shut, 1e-12);
  bad += off_rel("choked", "excess", got.excess_w, scale * (shut - sqrt(shut)) - 23310.0, 1e-12);

  d.demand.compressor_power_w = 1.01 * scale * (shut - sqrt(shut));
  got = solved(&d);
  assert_false(got.driven);
  bad += off_rel("too much", "E", got.expansion_ratio, shut, 1e-13);
  bad += off("too much", "share", got.wastegate_share, 0.0, 0.0);
  bad += off_rel("too much", "power", got.power_w, scale * (shut - sqrt(shut)), 1e-12);
  bad += off_rel("too much", "excess", got.excess_w, -0.01 * scale * (shut - sqrt(shut)), 1e-10);
  assert_int_equal(bad, 0);
}

/* Near no expansion the first cubic's slope and the powers' binomial series say what happens:
 * P = eta_m eta We_t cp T3 k (E - 1),  We_t = slope (E - 1) p4/p_ref sqrt(T_ref/T3). */
static void little_power_takes_little_expansion(void **state) {
  (void)state;
  drawn d;
  choked(&d);
  const double slope = 0.083 / 0.19;
  int bad = 0;
  for (int tens = 3; tens <= 6; tens++) {
    const double small = 1.3 * pow(10.0, -tens);
    d.demand.compressor_power_w = 0.967 * 0.673 * 290.0 * 1187.0 * slope * (62370.0 / 101325.0) *
                                  sqrt(288.15 / 1187.0) * small * small;
    const ta_drive got = solved(&d);
    bad += off_rel("little power", "E - 1", got.expansion_ratio - 1.0, small, 3.0 * small + 1e-7);
    bad += off("little power", "share", got.wastegate_share, 1.0, small);
  }
  d.demand.compressor_power_w = 0.0;
  const ta_drive got = solved(&d);
  assert_true(got.driven);
  bad += off("no power", "E", got.expansion_ratio, 1.0, 0.0);
  bad += off("no power", "share", got.wastegate_share, 1.0, 0.0);
  bad += off("no power", "flow", got.turbine_flow_kg_s, 0.0, 0.0);
  bad += off("no power", "power", got.power_w, 0.0, 0.0);
  assert_int_equal(bad, 0);
}

static int same(const char *what, const ta_drive *a, const ta_drive *b, double per_flow,
                double per_pressure) {
  return off_rel(what, "E", b->expansion_ratio, a->expansion_ratio, 1e-11) +
         off(what, "share", b->wastegate_share, a->wastegate_share, 1e-11) +
         off_rel(what, "flow", b->turbine_flow_kg_s, per_flow * a->turbine_flow_kg_s, 1e-11) +
         off_rel(what, "p4", b->outlet_pressure_pa, per_pressure * a->outlet_pressure_pa, 1e-13) +
         (a->driven != b->driven);
}

static void similar_turbines_run_alike(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = 0; n < 300; n++) {
    drawn d;
    draw(n, &d);
    const ta_drive got = solved(&d);
    /* three engines' exhaust over three times the turbos and a pipe for three */
    drawn other = d;
    other.turbine.flow = other.flow;
    other.turbine.efficiency_point = other.efficiency;
    other.demand.turbo_count *= 3.0;
    other.demand.air_flow_kg_s *= 3.0;
    other.turbine.at_flow_kg_s *= 3.0;
    ta_drive alike = solved(&other);
    bad += same("three times over", &got, &alike, 3.0, 1.0);
    bad += off_rel("three times over", "power", alike.power_w, got.power_w, 1e-11);
    /* Mach similarity: pressures, flows and power in proportion */
    const double less = 0.617;
    other.demand = d.demand;
    other.demand.ambient_pa *= less;
    other.demand.air_flow_kg_s *= less;
    other.demand.compressor_power_w *= less;
    other.turbine.back_pressure_pa *= less;
    other.turbine.measured_pa *= less;
    other.turbine.at_flow_kg_s = less * d.turbine.at_flow_kg_s;
    alike = solved(&other);
    bad += same("less pressure", &got, &alike, less, less);
    bad += off_rel("less pressure", "power", alike.power_w, less * got.power_w, 1e-11);
    /* corrected for another state: the same turbine */
    other.demand = d.demand;
    other.turbine = d.turbine;
    other.turbine.flow = other.flow;
    other.turbine.reference_pa *= 1.073;
    other.turbine.reference_k *= 0.957;
    for (size_t i = 0; i < other.turbine.flow_count; i++)
      other.flow[i].flow_kg_s *= 1.073 / sqrt(0.957);
    alike = solved(&other);
    bad += same("other reference", &got, &alike, 1.0, 1.0);
    /* a pipe read at another state and flow, of the same drop times density */
    other = d;
    other.turbine.flow = other.flow;
    other.turbine.efficiency_point = other.efficiency;
    other.turbine.at_flow_kg_s *= 1.37;
    other.turbine.measured_pa *= 0.83;
    other.turbine.back_pressure_pa *= 1.37 * 1.37 / 0.83;
    alike = solved(&other);
    bad += same("other reading of the pipe", &got, &alike, 1.0, 1.0);
  }
  assert_int_equal(bad, 0);
}

/* ---- laws ------------------------------------------------------------------------------------ */

/* Changes one thing; where a turbine drives before and after, the drive must answer in a known
 * direction: +1 up, -1 down, 0 not looked at. */
typedef struct {
  const char *what;
  void (*change)(drawn *d);
  int ratio, inlet, share, excess;
  bool one_efficiency; /* a law only where efficiency does not change with E */
} law;

static void more_power(drawn *d) {
  d->demand.compressor_power_w *= 1.013;
}
static void hotter(drawn *d) {
  d->turbine.inlet_temperature_k += 17.0;
}
static void thinner_air(drawn *d) {
  d->demand.ambient_pa *= 0.983;
}
static void more_exhaust(drawn *d) {
  d->demand.air_flow_kg_s *= 1.017;
}
static void richer(drawn *d) {
  d->demand.air_fuel_ratio *= 0.93;
}
static void larger_turbine(drawn *d) {
  for (size_t i = 0; i < d->turbine.flow_count; i++) d->flow[i].flow_kg_s *= 1.019;
}
static void better_turbine(drawn *d) {
  d->turbine.efficiency *= 1.011;
  for (size_t i = 0; i < d->turbine.efficiency_count; i++) d->efficiency[i].efficiency *= 1.011;
}
static void better_bearing(drawn *d) {
  d->turbine.mechanical_efficiency *= 1.007;
}
static void narrower_pipe(drawn *d) {
  d->turbine.back_pressure_pa += 1310.0;
}
static void one_turbo_more(drawn *d) {
  d->demand.turbo_count += 1.0; /* at the same power each */
}

static const law laws[] = {
    {"more power", more_power, 1, 1, -1, -1, false},
    {"hotter exhaust", hotter, -1, -1, 1, 1, false},
    {"thinner air", thinner_air, 1, -1, 1, 1, true},
    {"more exhaust", more_exhaust, 0, 0, 1, 1, true},
    {"richer", richer, 0, 0, 1, 1, true},
    {"larger turbine", larger_turbine, -1, -1, -1, -1, true},
    {"better turbine", better_turbine, -1, -1, 1, 1, false},
    {"better bearing", better_bearing, -1, -1, 1, 1, false},
    {"narrower pipe", narrower_pipe, -1, 1, -1, -1, true},
    {"one turbo more", one_turbo_more, 0, 0, -1, -1, true},
};

static int against(const char *what, const char *of, double before, double after, int direction) {
  if (direction == 0 || (after - before) * direction > 0.0) return 0;
  print_error("%s: %s went from %.17g to %.17g\n", what, of, before, after);
  return 1;
}

static void laws_hold(void **state) {
  (void)state;
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(laws); k++) {
    const law *l = &laws[k];
    int looked_at = 0;
    for (uint64_t n = 0; n < 1000; n++) {
      drawn d;
      draw(n, &d);
      if (l->one_efficiency) d.turbine.has_efficiency = true;
      const ta_drive before = solved(&d);
      l->change(&d);
      const ta_drive after = solved(&d);
      bad += against(l->what, "excess", before.excess_w, after.excess_w,
                     l->one_efficiency || k == 0 ? l->excess : 0);
      if (!before.driven || !after.driven) continue;
      bad += against(l->what, "E", before.expansion_ratio, after.expansion_ratio, l->ratio);
      bad += against(l->what, "p3", before.inlet_pressure_pa, after.inlet_pressure_pa, l->inlet);
      bad += against(l->what, "share", before.wastegate_share, after.wastegate_share, l->share);
      looked_at++;
    }
    assert_true(looked_at > 100);
  }
  assert_int_equal(bad, 0);
}

/* At the power that all of the exhaust gives, a hair more cannot be driven and a hair less can. */
static void driven_up_to_the_excess(void **state) {
  (void)state;
  for (uint64_t n = 0; n < 400; n++) {
    drawn d;
    draw(n, &d);
    d.turbine.has_efficiency = true;
    const double most_w = d.demand.compressor_power_w + solved(&d).excess_w;
    d.demand.compressor_power_w = most_w * (1.0 - 1e-10);
    ta_drive got = solved(&d);
    assert_true(got.driven && got.excess_w > 0.0 && got.wastegate_share >= 0.0 &&
                got.wastegate_share < 1e-8);
    d.demand.compressor_power_w = most_w * (1.0 + 1e-10);
    got = solved(&d);
    assert_true(!got.driven && got.excess_w < 0.0 && got.wastegate_share == 0.0);
    /* whatever the rounding, the two answers agree */
    for (int hair = -9; hair <= 9; hair++) {
      d.demand.compressor_power_w = most_w * (1.0 + hair * DBL_EPSILON);
      got = solved(&d);
      assert_true(got.driven == (got.excess_w >= 0.0) && got.wastegate_share >= 0.0);
    }
  }
}

/* An efficiency that collapses: power has a peak below the point of the shut wastegate, so that less
 * gas drives where all of it cannot.  The lowest balance stands on the rising side. */
static int collapse(double from, double to) {
  drawn d;
  choked(&d);
  d.efficiency[0] = (ta_turbine_efficiency){1.23, from};
  d.efficiency[1] = (ta_turbine_efficiency){5.23, to};
  d.turbine.has_efficiency = false;
  d.turbine.efficiency_point = d.efficiency;
  d.turbine.efficiency_count = 2;
  d.demand.air_flow_kg_s = 0.181;
  reference r;
  reference_open(&r, &d);
  double peak_w = 0.0, peak_pa = 0.0;
  for (int i = 0; i < 13000; i++) {
    const double p3_pa = (1.0 + 0.0003 * i) * r.p4_pa, power_w = one_power(&r, p3_pa);
    if (power_w > peak_w) {
      peak_w = power_w;
      peak_pa = p3_pa;
    }
  }
  int bad = 0, hidden = 0;
  for (int i = 0; i < 60; i++) {
    d.demand.compressor_power_w = (0.403 + 0.0101 * i) * peak_w;
    const ta_drive got = solved(&d);
    double p3_pa = 0.0;
    assert_true(got.driven && reference_balance(&r, &p3_pa));
    bad += off_rel("collapse", "p3", got.inlet_pressure_pa, p3_pa, 1e-11);
    assert_true(got.inlet_pressure_pa < peak_pa && got.wastegate_share > 0.0);
    hidden += got.excess_w < 0.0;
  }
  d.demand.compressor_power_w = 1.001 * peak_w;
  assert_false(solved(&d).driven);
  gsl_interp_free(r.cubic);
  assert_true(hidden > 5);
  return bad;
}

static void the_lowest_balance_is_taken(void **state) {
  (void)state;
  assert_int_equal(collapse(0.71, 0.03) + collapse(0.71, 0.21), 0);
}

/* ---- curves ---------------------------------------------------------------------------------- */

static void flow_capacity(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = 0; n < 300; n++) {
    drawn d;
    draw(n, &d);
    const ta_turbine *t = &d.turbine;
    reference r;
    reference_open(&r, &d);
    const double end = r.x[t->flow_count], most = r.y[t->flow_count];
    for (size_t i = 0; i <= t->flow_count; i++) {
      const double at = r.x[i], flow = r.y[i];
      bad += off("node", "flow", ta_turbine_capacity(t, at), flow, 0.0);
      bad +=
          off("before it", "flow", ta_turbine_capacity(t, nextafter(at, 0.0)), flow, 1e-13 * most);
      bad +=
          off("after it", "flow", ta_turbine_capacity(t, nextafter(at, 9.0)), flow, 1e-13 * most);
    }
    double before = 0.0;
    for (int i = 0; i < 1000; i++) {
      const double at = 1.0 + (end - 1.0) * 0.001 * i;
      const double flow = ta_turbine_capacity(t, at);
      bad +=
          off("between", "flow", flow, gsl_interp_eval(r.cubic, r.x, r.y, at, NULL), 1e-14 * most);
      bad += !(flow >= before - 1e-15 * most);
      before = flow;
    }
    bad += off("beyond", "flow", ta_turbine_capacity(t, 1.7 * end), most, 0.0);
    bad += off("below", "flow", ta_turbine_capacity(t, 0.83), 0.0, 0.0);
    gsl_interp_free(r.cubic);
  }
  /* with one point it is a straight line */
  drawn d;
  choked(&d);
  d.turbine.flow_count = 1;
  bad +=
      off("one point", "flow", ta_turbine_capacity(&d.turbine, 1.07), 0.083 * 0.07 / 0.19, 1e-16);
  bad += off("one point", "flow", ta_turbine_capacity(&d.turbine, 2.3), 0.083, 0.0);
  assert_int_equal(bad, 0);
}

static void efficiency_over_expansion_ratio(void **state) {
  (void)state;
  drawn d;
  choked(&d);
  ta_turbine *t = &d.turbine;
  int bad = off("one number", "eta", ta_turbine_efficiency_at(t, 2.37), 0.673, 0.0);
  const ta_turbine_efficiency points[] = {{1.31, 0.587}, {1.93, 0.713}, {3.47, 0.641}};
  memcpy(d.efficiency, points, sizeof points);
  t->has_efficiency = false;
  t->efficiency_point = d.efficiency;
  t->efficiency_count = 3;
  for (size_t i = 0; i < 3; i++)
    bad += off("point", "eta", ta_turbine_efficiency_at(t, points[i].expansion_ratio),
               points[i].efficiency, 0.0);
  bad += off("below", "eta", ta_turbine_efficiency_at(t, 1.03), 0.587, 0.0);
  bad += off("beyond", "eta", ta_turbine_efficiency_at(t, 5.1), 0.641, 0.0);
  bad += off("between", "eta", ta_turbine_efficiency_at(t, 1.31 + 0.62 / 4.0), 0.587 + 0.126 / 4.0,
             1e-15);
  bad += off("between", "eta", ta_turbine_efficiency_at(t, 1.93 + 1.54 * 0.7), 0.713 - 0.072 * 0.7,
             1e-15);
  t->efficiency_count = 1;
  bad += off("alone", "eta", ta_turbine_efficiency_at(t, 1.2), 0.587, 0.0);
  bad += off("alone", "eta", ta_turbine_efficiency_at(t, 1.9), 0.587, 0.0);
  assert_int_equal(bad, 0);
}

/* cp of dry air is 7/2 R. */
static void compressor_power(void **state) {
  (void)state;
  assert_int_equal(
      off_rel("compressor", "power", ta_compressor_power(0.317, 287.05287, 281.3, 417.9),
              0.317 * 3.5 * 287.05287 * 136.6, 1e-14),
      0);
}

/* ---- refusals -------------------------------------------------------------------------------- */

/* A number of turbine or demand that is spoiled. */
#define TURBINE(member) #member, offsetof(drawn, turbine) + offsetof(ta_turbine, member)
#define DEMAND(member) #member, offsetof(drawn, demand) + offsetof(ta_drive_demand, member)
static const struct {
  const char *row;
  size_t offset;
  double refused; /* besides what no number may be */
} numbers[] = {
    {DEMAND(turbo_count), 0.0},          {DEMAND(air_flow_kg_s), 0.0},
    {DEMAND(air_fuel_ratio), 0.0},       {DEMAND(ambient_pa), 0.0},
    {DEMAND(compressor_power_w), -1e-9}, {TURBINE(inlet_temperature_k), 0.0},
    {TURBINE(efficiency), 0.0},          {TURBINE(mechanical_efficiency), 0.0},
    {TURBINE(reference_pa), 0.0},        {TURBINE(reference_k), 0.0},
    {TURBINE(back_pressure_pa), -1e-9},  {TURBINE(at_flow_kg_s), 0.0},
    {TURBINE(measured_pa), 0.0},         {TURBINE(gamma), 0.97},
    {TURBINE(gas_constant_jkgk), 0.0},
};

static ta_status refused(const drawn *d) {
  ta_drive drive, untouched;
  memset(&drive, 0x5a, sizeof drive);
  untouched = drive;
  const ta_status status = ta_turbine_drive(&d->turbine, &d->demand, &drive);
  assert_memory_equal(&drive, &untouched, sizeof drive);
  return status;
}

static void refusals_leave_the_drive_alone(void **state) {
  (void)state;
  drawn whole;
  choked(&whole);
  whole.turbine.back_pressure_pa = 6130.0;
  assert_true(solved(&whole).driven);
  for (size_t i = 0; i < COUNT_OF(numbers); i++) {
    const double spoiled[] = {(double)NAN, (double)INFINITY, -(double)INFINITY, -0.71,
                              numbers[i].refused};
    for (size_t k = 0; k < COUNT_OF(spoiled); k++) {
      drawn d = whole;
      memcpy((char *)&d + numbers[i].offset, &spoiled[k], sizeof spoiled[k]);
      const ta_status want = k < 3 ? TA_ERR_ARGUMENT : TA_ERR_DOMAIN, got = refused(&d);
      if (got != want) fail_msg("%s %g: %s", numbers[i].row, spoiled[k], ta_status_name(got));
    }
  }
  drawn d = whole;
  d.turbine.flow_count = 0;
  assert_int_equal(refused(&d), TA_ERR_ARGUMENT);
  d = whole;
  d.turbine.flow = NULL;
  assert_int_equal(refused(&d), TA_ERR_ARGUMENT);
  d = whole;
  d.turbine.has_efficiency = false;
  assert_int_equal(refused(&d), TA_ERR_ARGUMENT);
  d.turbine.efficiency_count = 1;
  assert_int_equal(refused(&d), TA_ERR_ARGUMENT);
  d.turbine.efficiency_count = 0;
  d.turbine.efficiency_point = d.efficiency;
  assert_int_equal(refused(&d), TA_ERR_ARGUMENT);
  d = whole;
  d.demand.air_flow_kg_s = 1e307;
  d.demand.ambient_pa = 1e-9;
  assert_int_equal(refused(&d), TA_ERR_DOMAIN);
  ta_drive drive;
  assert_int_equal(ta_turbine_drive(NULL, &whole.demand, &drive), TA_ERR_ARGUMENT);
  assert_int_equal(ta_turbine_drive(&whole.turbine, NULL, &drive), TA_ERR_ARGUMENT);
  assert_int_equal(ta_turbine_drive(&whole.turbine, &whole.demand, NULL), TA_ERR_ARGUMENT);
  /* without a pipe its two numbers have no say */
  d = whole;
  d.turbine.back_pressure_pa = d.turbine.at_flow_kg_s = d.turbine.measured_pa = 0.0;
  assert_int_equal(ta_turbine_drive(&d.turbine, &d.demand, &drive), TA_OK);
  assert_int_equal(off("no pipe", "p4", drive.outlet_pressure_pa, d.demand.ambient_pa, 0.0), 0);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(agrees_with_an_independent_solution),
      cmocka_unit_test(energy_is_kept),
      cmocka_unit_test(a_choked_turbine_has_closed_forms),
      cmocka_unit_test(little_power_takes_little_expansion),
      cmocka_unit_test(similar_turbines_run_alike),
      cmocka_unit_test(laws_hold),
      cmocka_unit_test(driven_up_to_the_excess),
      cmocka_unit_test(the_lowest_balance_is_taken),
      cmocka_unit_test(flow_capacity),
      cmocka_unit_test(efficiency_over_expansion_ratio),
      cmocka_unit_test(compressor_power),
      cmocka_unit_test(refusals_leave_the_drive_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
