/* test_moist_air.c - water vapour: identities, limits, ways back, refusals. */
#include <gsl/gsl_errno.h>

#include "../test.h"
#include "thinair/air.h"
#include "thinair/moist_air.h"

static void there_and_back(void **state) {
  (void)state;
  int bad = 0;
  for (int n = 0; n < 82; n++) {
    const double t = 173.15 + 3.7 * n;
    double back = 0.0;
    assert_int_equal(ta_dew_point(ta_saturation_pressure(t), &back), TA_OK);
    bad += off("dew point", "T", back, t, 1e-9);
  }
  for (int n = 0; n < 19; n++) {
    const double e = 0.0 + 487.0 * n;
    bad += off("mixing ratio", "e", ta_vapour_pressure(ta_mixing_ratio(e, 63210.0), 63210.0), e,
               1e-11);
  }
  assert_int_equal(bad, 0);
}

static void limits(void **state) {
  (void)state;
  int bad = 0;
  /* Dry air is moist air with nothing in it. */
  assert_true(ta_mixing_ratio(0.0, 87000.0) == 0.0 && ta_vapour_pressure(0.0, 87000.0) == 0.0);
  assert_true(ta_moist_gas_constant(0.0) == TA_R_DRY_JKGK);
  assert_true(ta_virtual_temperature(281.3, 0.0) == 281.3);
  /* Vapour alone: R = 461.5 J/(kg K), IAPWS (from memory: 461.526); the molar masses of 0.621945
   * leave 0.003 %. */
  bad += off_rel("vapour", "R", ta_moist_gas_constant(1e9), 461.526, 1e-4);
  /* The same density two ways. */
  const double w = 0.0173, t = 297.3, p = 84200.0;
  bad += off_rel("moist", "rho", p / (ta_moist_gas_constant(w) * t),
                 p / (TA_R_DRY_JKGK * ta_virtual_temperature(t, w)), 1e-15 * 4.0);
  /* Partial densities add up: vapour at e, dry air at p - e. */
  const double e = ta_vapour_pressure(w, p);
  bad += off_rel("moist", "rho", p / (ta_moist_gas_constant(w) * t),
                 ((p - e) / TA_R_DRY_JKGK + e * TA_EPSILON / TA_R_DRY_JKGK) / t, 1e-14);
  assert_int_equal(bad, 0);
}

/* Boiling at one atmosphere, 373.124 K on ITS-90 (IAPWS; from memory). */
static void boiling_point(void **state) {
  (void)state;
  double t = 0.0;
  assert_int_equal(ta_dew_point(101325.0, &t), TA_OK);
  assert_int_equal(off("1 atm", "T", t, 373.124, 0.03), 0);
}

static void saturation_rises(void **state) {
  (void)state;
  double last = 0.0;
  for (int n = 0; n < 3001; n++) {
    const double t = 173.15 + 0.1 * n;
    const double e = ta_saturation_pressure(t);
    assert_true(e > last);
    last = e;
  }
  assert_true(isnan(ta_saturation_pressure((double)NAN)));
}

static void refusals_leave_the_output_alone(void **state) {
  (void)state;
  const double low = ta_saturation_pressure(173.15), high = ta_saturation_pressure(473.15);
  double t = -7.0;
  assert_int_equal(ta_dew_point((double)NAN, &t), TA_ERR_ARGUMENT);
  assert_int_equal(ta_dew_point((double)INFINITY, &t), TA_ERR_ARGUMENT);
  assert_int_equal(ta_dew_point(0.0, &t), TA_ERR_DOMAIN);
  assert_int_equal(ta_dew_point(-3.0, &t), TA_ERR_DOMAIN);
  assert_int_equal(ta_dew_point(nextafter(low, 0.0), &t), TA_ERR_DOMAIN);
  assert_int_equal(ta_dew_point(nextafter(high, HUGE_VAL), &t), TA_ERR_DOMAIN);
  assert_int_equal(ta_dew_point(1000.0, NULL), TA_ERR_ARGUMENT);
  assert_true(t == -7.0);
  assert_int_equal(ta_dew_point(low, &t), TA_OK);
  assert_true(fabs(t - 173.15) < 1e-9);
  assert_int_equal(ta_dew_point(high, &t), TA_OK);
  assert_true(fabs(t - 473.15) < 1e-9);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(there_and_back),
      cmocka_unit_test(limits),
      cmocka_unit_test(boiling_point),
      cmocka_unit_test(saturation_rises),
      cmocka_unit_test(refusals_leave_the_output_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
