/* test_turbine.c - the turbine drive against textbook examples and the flow of a nozzle.
 *
 * Each row names its source, and whether its figures were read from a page or are from memory. */
#include "thinair/turbine.h"

#include <gsl/gsl_errno.h>

#include "../test.h"

/* A turbine choked from almost no expansion, whose wastegate is shut at this expansion ratio. */
static ta_turbine choked(ta_turbine_flow *flow, double exhaust_kg_s, double shut_ratio,
                         double inlet_k, double cp, double gamma, double efficiency,
                         double mechanical_efficiency) {
  *flow = (ta_turbine_flow){1.0003, exhaust_kg_s / shut_ratio};
  return (ta_turbine){.inlet_temperature_k = inlet_k,
                      .efficiency = efficiency,
                      .has_efficiency = true,
                      .mechanical_efficiency = mechanical_efficiency,
                      .reference_pa = 100e3,
                      .reference_k = inlet_k,
                      .flow = flow,
                      .flow_count = 1,
                      .gamma = gamma,
                      .gas_constant_jkgk = cp * (gamma - 1.0) / gamma};
}

/* Source  Saravanamuttoo, Rogers and Cohen, Gas Turbine Theory, ex. 2.1, from memory: compression by
 *         4 from 288 K at 85 %, 164.7 K and with 99 % at the bearings 167.2 kJ/kg; expansion from
 *         1100 K by 3.654 at 87 %, 264.8 K and 304.0 kJ/kg; 136.8 kJ/kg are left.  cp 1.005 and
 *         1.148 kJ/(kg K), the fuel's mass left out, 1 kg/s. */
static void gas_turbine_cycle(void **state) {
  (void)state;
  ta_turbine_flow flow;
  ta_turbine turbine = choked(&flow, 1.0, 3.654, 1100.0, 1148.0, 4.0 / 3.0, 0.87, 1.0);
  const double compressor_w = ta_compressor_power(1.0, 1005.0 / 3.5, 288.0, 288.0 + 164.7) / 0.99;
  const ta_drive_demand demand = {1.0, 1.0, 1e15, 100e3, compressor_w};
  int bad = off("ex. 2.1", "compressor", compressor_w, 167.2e3, 50.0);
  bad += off("ex. 2.1", "left over", ta_turbine_excess(&turbine, &demand), 136.8e3, 50.0);
  /* all of the turbine's work asked for: its expansion comes back, and with it its fall of
   * temperature */
  ta_drive drive;
  const ta_drive_demand all = {1.0, 1.0, 1e15, 100e3, 303.9e3};
  assert_int_equal(ta_turbine_drive(&turbine, &all, &drive), TA_OK);
  assert_true(drive.driven);
  bad += off("ex. 2.1", "E", drive.expansion_ratio, 3.654, 0.002);
  bad += off("ex. 2.1", "T3 - T4", drive.power_w / (1148.0 * drive.turbine_flow_kg_s), 264.8, 0.1);
  assert_int_equal(bad, 0);
}

/* Source  Cengel and Boles, Thermodynamics, ch. 7, problem of an automobile's turbocharger, from
 *         memory: exhaust 0.02 kg/s falls from 450 to 400 degC (cp 1.075 kJ/(kg K)), 5 % are lost on
 *         the way, and 0.018 kg/s of air (1.008) leave at 126.1 degC, from 70.  Worked from the
 *         figures it is 126.3. */
static void turbocharger(void **state) {
  (void)state;
  const double efficiency = 0.713, gamma = 1075.0 / (1075.0 - 287.0);
  /* the expansion that cools by 50 K at that efficiency */
  const double ratio = pow(1.0 - 50.0 / (723.15 * efficiency), -gamma / (gamma - 1.0));
  ta_turbine_flow flow;
  const ta_turbine turbine = choked(&flow, 0.02, ratio, 723.15, 1075.0, gamma, efficiency, 0.95);
  const ta_drive_demand idle = {1.0, 0.018, 9.0, 100e3, 0.0};
  const double gas_constant = 1008.0 / 3.5;
  /* excess over no compressor at all, given to the air */
  const double per_kelvin = ta_compressor_power(0.018, gas_constant, 70.0, 71.0);
  const double outlet_c = 70.0 + ta_turbine_excess(&turbine, &idle) / per_kelvin;
  int bad = off("turbocharger", "T2", outlet_c, 126.1, 0.3);
  ta_drive drive;
  const ta_drive_demand demand = {1.0, 0.018, 9.0, 100e3,
                                  ta_compressor_power(0.018, gas_constant, 70.0, 126.1)};
  assert_int_equal(ta_turbine_drive(&turbine, &demand, &drive), TA_OK);
  bad += off("turbocharger", "exhaust", drive.exhaust_flow_kg_s, 0.02, 1e-15);
  assert_true(drive.driven);
  bad += off("turbocharger", "wastegate", drive.wastegate_share, 0.0, 0.01);
  assert_int_equal(bad, 0);
}

/* W sqrt(T0)/p0 of a convergent nozzle over its choked value (St Venant and Wantzel; any text on gas
 * dynamics). */
static double nozzle(double gamma, double expansion_ratio) {
  const double critical = pow(0.5 * (gamma + 1.0), gamma / (gamma - 1.0));
  const double r = 1.0 / fmin(expansion_ratio, critical), most = 1.0 / critical;
  return sqrt((pow(r, 2.0 / gamma) - pow(r, (gamma + 1.0) / gamma)) /
              (pow(most, 2.0 / gamma) - pow(most, (gamma + 1.0) / gamma)));
}

/* How near a few points come to a smooth law of flow: two nozzles, one that chokes at 1.85 and, as
 * stator and rotor one after the other, one that chokes at its square. */
static void points_of_a_nozzle(void **state) {
  (void)state;
  static const double at[] = {1.2, 1.6, 2.0, 2.5, 3.0, 4.0};
  ta_turbine_flow flow[COUNT_OF(at)];
  int bad = 0;
  for (int stages = 1; stages <= 2; stages++) {
    for (size_t i = 0; i < COUNT_OF(at); i++)
      flow[i] = (ta_turbine_flow){at[i], 0.193 * nozzle(1.32, pow(at[i], 1.0 / stages))};
    const ta_turbine turbine = {.flow = flow, .flow_count = COUNT_OF(at)};
    for (int k = 0; k < 1000; k++) {
      const double e = 1.2 + 0.0037 * k;
      bad += off_rel("nozzle", "flow", ta_turbine_capacity(&turbine, e),
                     0.193 * nozzle(1.32, pow(e, 1.0 / stages)), 0.012);
    }
    /* below the points straight, where a nozzle's flow goes with the root */
    bad +=
        off("nozzle", "share of the flow at 1.05",
            ta_turbine_capacity(&turbine, 1.05) / (0.193 * nozzle(1.32, pow(1.05, 1.0 / stages))),
            0.5, 0.02);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(gas_turbine_cycle),
      cmocka_unit_test(turbocharger),
      cmocka_unit_test(points_of_a_nozzle),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
