/* test.h - what every test program includes: cmocka, and a comparison that NaN fails. */
#ifndef THINAIR_TEST_H
#define THINAIR_TEST_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* cmocka's assert_float_equal narrows to float and passes NaN, so it is never used here. */

/* 0 when |got - want| <= tolerance, else prints the row and returns 1.  NaN fails. */
static inline int off(const char *row, const char *what, double got, double want,
                      double tolerance) {
  if (fabs(got - want) <= tolerance) return 0;
  print_error("%s: %s is %.17g, want %.17g +/- %.3g (off by %.3g)\n", row, what, got, want,
              tolerance, got - want);
  return 1;
}

/* The same with a relative tolerance. */
static inline int off_rel(const char *row, const char *what, double got, double want,
                          double tolerance) {
  return off(row, what, got, want, tolerance * fabs(want));
}

#define COUNT_OF(array) (sizeof(array) / sizeof(array)[0])

#endif
