/* batch_math.h - log and exp in plain C, for loops over lanes.
 *
 * Decision  The C library's own do not vectorise, and its vector variants differ in the last digit
 *           from CPU to CPU.  These give the same bits everywhere, within 2 units of the last place
 *           of the C library over their range (tests/model/test_batch_math.c).
 * Source    Argument reduction by powers of two, then log x = 2 atanh((x-1)/(x+1)) and the Taylor
 *           series of exp: any text on elementary functions (Muller, Elementary Functions).
 */
#ifndef THINAIR_BATCH_MATH_H
#define THINAIR_BATCH_MATH_H

#include <stdint.h>
#include <string.h>

/* Adding this to a small whole number leaves the number in the low bits of the double. */
#define TA_WHOLE_SHIFT 6755399441055744.0 /* 1.5 * 2^52 */

/** Natural logarithm of a positive, normal, finite x. */
static inline double ta_log(double x) {
  const double half_sqrt = 0.70710678118654752440;
  uint64_t bits, shift_bits;
  double mantissa, shift = TA_WHOLE_SHIFT, exponent;
  memcpy(&bits, &x, sizeof bits);
  /* exponent such that the mantissa lies between sqrt(1/2) and sqrt(2) */
  uint64_t half_bits;
  memcpy(&half_bits, &half_sqrt, sizeof half_bits);
  const uint64_t from = bits - half_bits;
  const uint64_t whole = (from >> 52) - ((from >> 63) << 12); /* sign carried */
  memcpy(&shift_bits, &shift, sizeof shift_bits);
  shift_bits += whole;
  memcpy(&exponent, &shift_bits, sizeof exponent);
  exponent -= TA_WHOLE_SHIFT;
  bits -= whole << 52;
  memcpy(&mantissa, &bits, sizeof mantissa);

  const double z = (mantissa - 1.0) / (mantissa + 1.0), z2 = z * z;
  double series = 1.0 / 21.0;
  series = series * z2 + 1.0 / 19.0;
  series = series * z2 + 1.0 / 17.0;
  series = series * z2 + 1.0 / 15.0;
  series = series * z2 + 1.0 / 13.0;
  series = series * z2 + 1.0 / 11.0;
  series = series * z2 + 1.0 / 9.0;
  series = series * z2 + 1.0 / 7.0;
  series = series * z2 + 1.0 / 5.0;
  series = series * z2 + 1.0 / 3.0;
  const double low = 2.0 * z * z2 * series;
  /* ln 2 in two parts, the first exact times any exponent */
  return exponent * 0.693147180369123816490 +
         (2.0 * z + (low + exponent * 1.90821492927058770002e-10));
}

/** Exponential of x, -700 to 700. */
static inline double ta_exp(double x) {
  const double shifted = x * 1.44269504088896340736 + TA_WHOLE_SHIFT;
  const double whole = shifted - TA_WHOLE_SHIFT;
  const double r = (x - whole * 0.693147180369123816490) - whole * 1.90821492927058770002e-10;
  double series = 1.0 / 6227020800.0;
  series = series * r + 1.0 / 479001600.0;
  series = series * r + 1.0 / 39916800.0;
  series = series * r + 1.0 / 3628800.0;
  series = series * r + 1.0 / 362880.0;
  series = series * r + 1.0 / 40320.0;
  series = series * r + 1.0 / 5040.0;
  series = series * r + 1.0 / 720.0;
  series = series * r + 1.0 / 120.0;
  series = series * r + 1.0 / 24.0;
  series = series * r + 1.0 / 6.0;
  series = series * r + 0.5;
  const double e = 1.0 + (r + r * r * series);
  uint64_t bits, power;
  memcpy(&power, &shifted, sizeof power);
  memcpy(&bits, &e, sizeof bits);
  bits += power << 52;
  double result;
  memcpy(&result, &bits, sizeof result);
  return result;
}

#endif
