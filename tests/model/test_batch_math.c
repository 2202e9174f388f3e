/* test_batch_math.c - log and exp of the lanes against the C library's, which are themselves
 * within 1 unit of the last place. */
#include "../test.h"

#include "model/batch_math.h"

/* Distance in units of the last place of `want`. */
static double ulps(double got, double want) {
  const double unit = nextafter(fabs(want), HUGE_VAL) - fabs(want);
  return fabs(got - want) / unit;
}

/* The ranges come in evenly spread mantissas and exponents, and no sample is a round number. */
static void log_agrees_with_the_c_library(void **state) {
  (void)state;
  double worst = 0.0, at = 0.0;
  for (int exponent = -1020; exponent <= 1020; exponent += 3)
    for (int i = 0; i < 97; i++) {
      const double x = ldexp(1.0 + ((double)i + 0.377) / 97.0, exponent);
      const double u = ulps(ta_log(x), log(x));
      if (!(u <= worst)) worst = u, at = x;
    }
  for (int i = 0; i < 400000; i++) { /* about 1, where the result is small */
    const double x = 0.4 + 2.0 * ((double)i + 0.377) / 400000.0;
    const double u = ulps(ta_log(x), log(x));
    if (!(u <= worst)) worst = u, at = x;
  }
  for (int i = 1; i < 52; i++) { /* a hair from 1 */
    const double hair = ldexp(1.0, -i);
    const double above = ulps(ta_log(1.0 + hair), log(1.0 + hair));
    const double below = ulps(ta_log(1.0 - hair), log(1.0 - hair));
    if (!(above <= worst)) worst = above, at = 1.0 + hair;
    if (!(below <= worst)) worst = below, at = 1.0 - hair;
  }
  print_message("log: at worst %.2f ulp, at %.17g\n", worst, at);
  assert_true(worst <= 2.0);
}

static void exp_agrees_with_the_c_library(void **state) {
  (void)state;
  double worst = 0.0, at = 0.0;
  for (int i = 0; i < 400000; i++) {
    const double wide = -700.0 + 1400.0 * ((double)i + 0.377) / 400000.0,
                 x[] = {wide, wide / 700.0};
    for (size_t k = 0; k < COUNT_OF(x); k++) {
      const double u = ulps(ta_exp(x[k]), exp(x[k]));
      if (!(u <= worst)) worst = u, at = x[k];
    }
  }
  print_message("exp: at worst %.2f ulp, at %.17g\n", worst, at);
  assert_true(worst <= 2.0);
  assert_true(ulps(ta_exp(-700.0), exp(-700.0)) <= 2.0 && ulps(ta_exp(700.0), exp(700.0)) <= 2.0);
}

/* A thin-air exponent of 0 must leave the map alone to the last bit. */
static void exact_where_it_matters(void **state) {
  (void)state;
  assert_true(ta_log(1.0) == 0.0);
  assert_true(ta_exp(0.0) == 1.0 && ta_exp(-0.0) == 1.0);
  for (int exponent = -1000; exponent <= 1000; exponent += 7)
    assert_true(ulps(ta_log(ldexp(1.0, exponent)), exponent * 0.69314718055994530942) <= 1.0);
}

/* Both rise with x: evenly spread, and from one double to the next. */
static void monotone(void **state) {
  (void)state;
  double log_before = -HUGE_VAL, exp_before = 0.0;
  for (int i = 0; i < 500000; i++) {
    const double x = 1e-3 + 3.0 * (double)i / 500000.0;
    assert_true(ta_log(x) > log_before && ta_exp(x - 1.5) > exp_before);
    log_before = ta_log(x);
    exp_before = ta_exp(x - 1.5);
  }
  /* across each change of the argument reduction */
  const double seams[] = {0.70710678118654752440, 1.41421356237309504880, 1.0, 2.8284271247461903};
  for (size_t k = 0; k < COUNT_OF(seams); k++) {
    double x = seams[k] * (1.0 - 1e-13), before = -HUGE_VAL;
    for (int i = 0; i < 2000; i++, x = nextafter(x, HUGE_VAL)) {
      const double y = ta_log(x);
      assert_true(y >= before - 4e-16); /* rounding may take one place back, no more */
      before = y;
    }
  }
  for (int k = -3; k <= 3; k++) {
    double x = (k + 0.5) * 0.69314718055994530942 * (1.0 - 1e-13), before = 0.0;
    for (int i = 0; i < 2000; i++, x += 1e-16 * fabs(x) + 1e-16) {
      const double y = ta_exp(x);
      assert_true(y >= before * (1.0 - 4.5e-16));
      before = y;
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(log_agrees_with_the_c_library),
      cmocka_unit_test(exp_agrees_with_the_c_library),
      cmocka_unit_test(exact_where_it_matters),
      cmocka_unit_test(monotone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
