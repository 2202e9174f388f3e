/* test_thin_air.c - the correction of the compressor map to thin air, term by term. */
#include "../test.h"

#include "model/thin_air.h"

/* ISO 2533:1975 table 5, dynamic viscosity at sea level and at 11 000 m (from memory: 1.7894e-5
 * and 1.4216e-5 Pa s). */
static void viscosity_is_the_standard_atmospheres(void **state) {
  (void)state;
  int bad = off("288.15 K", "mu", ta_viscosity(288.15), 1.7894e-5, 0.5e-9);
  bad += off("216.65 K", "mu", ta_viscosity(216.65), 1.4216e-5, 0.5e-9);
  assert_int_equal(bad, 0);
}

/* The Reynolds number of a wheel turning at one corrected speed, u = c sqrt(R T), over the same at
 * the reference: density, speed and viscosity written out. */
static void reynolds_ratio_is_density_speed_over_viscosity(void **state) {
  (void)state;
  int bad = 0;
  const double p_ref = 96170.0, t_ref = 302.6;
  for (double t = 253.7; t < 330.0; t += 11.3)
    for (double p = 51300.0; p < 104000.0; p += 9700.0) {
      const double r = 288.91;
      const double here = p / (r * t) * sqrt(r * t) / ta_viscosity(t);
      const double there =
          p_ref / (TA_R_DRY_JKGK * t_ref) * sqrt(TA_R_DRY_JKGK * t_ref) / ta_viscosity(t_ref);
      bad += off_rel("Re", "ratio", p * ta_reynolds_ratio_per_pa(t, r, p_ref, t_ref), here / there,
                     1e-14);
    }
  bad += off_rel("reference", "ratio",
                 p_ref * ta_reynolds_ratio_per_pa(t_ref, TA_R_DRY_JKGK, p_ref, t_ref), 1.0, 1e-15);
  assert_int_equal(bad, 0);
}

/* 0.3 of the loss stays, 0.7 grows: at two thirds of the Reynolds number and the exponent 0.16,
 * (2/3)^-0.16 = 1.067030 (worked by hand: 0.16 ln 1.5 = 0.0648744), so 25 % of loss becomes
 * 0.25 (0.3 + 0.7 1.067030) = 0.261730. */
static void losses_grow_as_the_source_splits_them(void **state) {
  (void)state;
  const double ratio = ta_thin_air_efficiency_ratio(0.75, 2.0 / 3.0, 0.16);
  int bad = off("two thirds", "eta", 0.75 * ratio, 1.0 - 0.261730, 1e-6);
  /* half of what the efficiency loses is lost in head */
  bad += off("two thirds", "head", ta_thin_air_head_ratio(ratio), 1.0 - 0.5 * (1.0 - ratio), 1e-15);
  bad += off("half", "head", ta_thin_air_head_ratio(0.9), 0.95, 1e-15);
  /* 60 % of the pressure: 0.6^-0.04 = 1.020643 (0.04 ln(5/3) = 0.0204330) */
  bad += off("60 %", "Nc", ta_thin_air_pressure_factor(0.6, 0.04), 1.020643, 1e-6);
  assert_int_equal(bad, 0);
}

static void nothing_at_the_reference_nor_without_exponents(void **state) {
  (void)state;
  for (double eta = 0.3; eta < 0.85; eta += 0.037) {
    assert_true(ta_thin_air_efficiency_ratio(eta, 1.0, 0.16) == 1.0);
    for (double re = 0.3; re < 1.5; re += 0.113)
      assert_true(ta_thin_air_efficiency_ratio(eta, re, 0.0) == 1.0);
  }
  assert_true(ta_thin_air_head_ratio(1.0) == 1.0);
  assert_true(ta_thin_air_pressure_factor(1.0, 0.04) == 1.0);
  for (double p = 0.4; p < 1.4; p += 0.057) assert_true(ta_thin_air_pressure_factor(p, 0.0) == 1.0);
}

static void thinner_is_worse_denser_is_not_faster(void **state) {
  (void)state;
  double eta_before = 0.0, factor_before = HUGE_VAL;
  for (double share = 0.4; share < 1.3; share += 0.01) {
    const double eta = 0.71 * ta_thin_air_efficiency_ratio(0.71, share, 0.16);
    const double factor = ta_thin_air_pressure_factor(share, 0.04);
    assert_true(eta > eta_before && (share < 1.0) == (eta < 0.71));
    assert_true(factor >= 1.0 && factor <= factor_before && (share < 1.0) == (factor > 1.0));
    eta_before = eta;
    factor_before = factor;
  }
  /* better wheels have less to lose */
  assert_true(ta_thin_air_efficiency_ratio(0.78, 0.6, 0.16) >
              ta_thin_air_efficiency_ratio(0.60, 0.6, 0.16));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(viscosity_is_the_standard_atmospheres),
      cmocka_unit_test(reynolds_ratio_is_density_speed_over_viscosity),
      cmocka_unit_test(losses_grow_as_the_source_splits_them),
      cmocka_unit_test(nothing_at_the_reference_nor_without_exponents),
      cmocka_unit_test(thinner_is_worse_denser_is_not_faster),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
