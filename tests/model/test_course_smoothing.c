/* test_course_smoothing.c - the local quadratic: what it must leave alone, and what it removes.
 *
 * Expected  The loss of noise is worked out here from the weights of a local quadratic on even
 *           spacing in closed form (sums of even powers of u; odd ones vanish), not by the code
 *           under test.  Cleveland 1979 for tricube, from memory. */
#include "thinair/course_smoothing.h"

#include <stdio.h>
#include <stdlib.h>

#include "../test.h"

enum { MANY = 4001 };
static ta_course_point point[MANY];

static ta_course course_of(size_t count, double spacing_m, double (*profile)(double)) {
  for (size_t i = 0; i < count; i++)
    point[i] = (ta_course_point){.distance_m = (double)i * spacing_m,
                                 .elevation_m = profile((double)i * spacing_m)};
  return (ta_course){point, count};
}

static double quadratic(double x) {
  return 1463.0 + 0.083 * x - 3.1e-6 * x * x;
} /* top inside */
static double ramp(double x) {
  return 1511.5 + 0.0873 * x;
}
static double waves(double x) {
  return 1500.0 + 0.05 * x + 3.0 * sin(x / 23.0);
}

/* Normal noise of 1, the same each run: the sum of twelve draws of a linear generator. */
static double noise(uint64_t *seed) {
  double sum = -6.0;
  for (int i = 0; i < 12; i++) {
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    sum += (double)(*seed >> 11) / 9007199254740992.0;
  }
  return sum;
}

static double tricube(double u) {
  return pow(1.0 - pow(fabs(u), 3.0), 3.0);
}

/* Share of white noise that a local quadratic leaves in its middle, on even spacing. */
static double noise_left(double spacing_m, double length_m) {
  const int half = (int)ceil(0.5 * length_m / spacing_m) - 1;
  double s0 = 0.0, s2 = 0.0, s4 = 0.0, squares = 0.0;
  for (int k = -half; k <= half; k++) {
    const double u = k * spacing_m / (0.5 * length_m), w = tricube(u);
    s0 += w, s2 += w * u * u, s4 += w * u * u * u * u;
  }
  for (int k = -half; k <= half; k++) {
    const double u = k * spacing_m / (0.5 * length_m);
    const double share = tricube(u) * (s4 - s2 * u * u) / (s0 * s4 - s2 * s2);
    squares += share * share;
  }
  return sqrt(squares);
}

static void a_quadratic_is_left_as_it_is(void **state) {
  (void)state;
  ta_course course = course_of(4001, 5.0, quadratic);
  uint64_t seed = 4;
  double x = 0.0;
  for (size_t i = 0; i < course.count; i++) { /* unevenly spaced, ends one-sided */
    point[i].distance_m = x;
    point[i].elevation_m = quadratic(x);
    x += 5.0 + 1.2 * fmax(-3.0, fmin(3.0, noise(&seed)));
  }
  ta_smoothing_residual residual = {-1.0, -1.0};
  assert_int_equal(ta_course_smooth(&course, 50.0, &residual), TA_OK);
  int bad = off("quadratic", "residual", residual.residual_max_m, 0.0, 1e-9);
  bad += off("quadratic", "rms", residual.residual_rms_m, 0.0, 1e-9);
  for (size_t i = 0; i < course.count; i++)
    bad +=
        off("quadratic", "elevation", point[i].elevation_m, quadratic(point[i].distance_m), 1e-9);
  assert_int_equal(bad, 0);
}

static void a_ramp_stays_straight_and_rising(void **state) {
  (void)state;
  ta_course course = course_of(500, 3.7, ramp);
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  int bad = 0;
  for (size_t i = 1; i < course.count; i++)
    bad += off("ramp", "grade", (point[i].elevation_m - point[i - 1].elevation_m) / 3.7, 0.0873,
               1e-11);
  assert_int_equal(bad, 0);
}

/* The tolerance is the sampling error of an rms over some 4000 points, correlated over 10. */
static void noise_is_reduced_as_theory_says(void **state) {
  (void)state;
  static const struct {
    double spacing_m, length_m;
  } row[] = {{5.0, 50.0}, {5.0, 120.0}, {2.0, 50.0}};
  int bad = 0;
  for (size_t r = 0; r < COUNT_OF(row); r++) {
    ta_course course = course_of(MANY, row[r].spacing_m, ramp);
    uint64_t seed = 20 + r;
    for (size_t i = 0; i < MANY; i++) point[i].elevation_m += 2.0 * noise(&seed);
    ta_smoothing_residual residual;
    assert_int_equal(ta_course_smooth(&course, row[r].length_m, &residual), TA_OK);
    double squares = 0.0;
    for (size_t i = 200; i < MANY - 200; i++)
      squares += pow(point[i].elevation_m - ramp(point[i].distance_m), 2.0);
    char name[60];
    (void)snprintf(name, sizeof name, "%g m apart, %g m", row[r].spacing_m, row[r].length_m);
    const double want = 2.0 * noise_left(row[r].spacing_m, row[r].length_m);
    bad += off_rel(name, "rms left", sqrt(squares / (MANY - 400)), want, 0.06);
    /* what is left and what was taken are nearly at right angles: l0 is the middle's own share */
    assert_true(residual.residual_rms_m > 1.2 && residual.residual_rms_m < 2.0);
    assert_true(residual.residual_max_m > 3.0 * residual.residual_rms_m);
  }
  assert_int_equal(bad, 0);
  assert_true(noise_left(5.0, 50.0) < 0.56 && noise_left(5.0, 50.0) > 0.5);
}

static void residual_is_read_less_smoothed(void **state) {
  (void)state;
  ta_course course = course_of(300, 4.0, waves);
  static double before[300];
  uint64_t seed = 9;
  for (size_t i = 0; i < 300; i++) before[i] = point[i].elevation_m += noise(&seed);
  ta_smoothing_residual residual;
  assert_int_equal(ta_course_smooth(&course, 60.0, &residual), TA_OK);
  double squares = 0.0, largest = 0.0;
  for (size_t i = 0; i < 300; i++) {
    squares += pow(before[i] - point[i].elevation_m, 2.0);
    largest = fmax(largest, fabs(before[i] - point[i].elevation_m));
  }
  int bad = off("waves", "rms", residual.residual_rms_m, sqrt(squares / 300.0), 1e-12);
  bad += off("waves", "max", residual.residual_max_m, largest, 1e-12);
  assert_int_equal(bad, 0);
}

/* A peak of 4 m in the middle of level road, and ends that stand off it. */
static void start_summit_and_finish_are_kept_without_a_step(void **state) {
  (void)state;
  static double rest[400];
  for (size_t i = 0; i < 400; i++)
    point[i] = (ta_course_point){.distance_m = 5.0 * (double)i, .elevation_m = 1500.0};
  point[0].elevation_m = 1503.0;
  point[200].elevation_m = 1504.0;
  point[399].elevation_m = 1498.0;
  ta_course course = {point, 400};
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  assert_true(point[0].elevation_m == 1503.0);
  assert_true(point[200].elevation_m == 1504.0);
  assert_true(point[399].elevation_m == 1498.0);
  for (size_t i = 0; i < 400; i++) rest[i] = point[i].elevation_m;
  int bad = 0;
  /* beside them the steps are those of the fade and of the quadratic, not of the peak */
  for (size_t i = 1; i < 400; i++) assert_true(fabs(rest[i] - rest[i - 1]) < 1.1);
  assert_true(rest[199] > 1503.0 && rest[201] > 1503.0);
  /* nothing is moved farther off than one length */
  for (size_t i = 0; i < 400; i++)
    if (i > 10 && (i < 190 || i > 210) && i < 389)
      bad += off("level", "elevation", rest[i], 1500.0, 1e-9);
  assert_int_equal(bad, 0);
}

static void nothing_rises_above_the_summit(void **state) {
  (void)state;
  ta_course course = course_of(2000, 5.0, ramp);
  uint64_t seed = 77;
  double top = 0.0;
  for (size_t i = 0; i < 2000; i++) {
    point[i].elevation_m = 1500.0 + 2.0 * noise(&seed);
    top = fmax(top, point[i].elevation_m);
  }
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  double low, high;
  ta_course_range(&course, &low, &high);
  assert_true(high == top);
}

/* A summit just before the finish: both kept, and no step on the way up. */
static void kept_points_close_together(void **state) {
  (void)state;
  ta_course course = course_of(200, 5.0, ramp);
  point[198].elevation_m += 6.0;
  point[199].elevation_m -= 1.0;
  const double summit = point[198].elevation_m, finish = point[199].elevation_m;
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  assert_true(point[198].elevation_m == summit && point[199].elevation_m == finish);
  for (size_t i = 1; i < 199; i++)
    assert_true(fabs(point[i].elevation_m - point[i - 1].elevation_m) < 2.5);
}

static void segments_do_not_see_each_other(void **state) {
  (void)state;
  static double alone[600];
  uint64_t seed = 3;
  ta_course course = course_of(600, 5.0, waves);
  for (size_t i = 0; i < 600; i++) point[i].elevation_m += noise(&seed) + (i < 300 ? 0.0 : -250.0);
  point[299].elevation_m = 1700.0; /* the summit ends the first segment */
  point[300].after_gap = true;
  static ta_course_point copy[600];
  memcpy(copy, point, sizeof copy);
  /* the second segment on its own, with its summit far away from the seam */
  ta_course second = {copy + 300, 300};
  copy[300].after_gap = false;
  assert_int_equal(ta_course_smooth(&second, 50.0, NULL), TA_OK);
  for (size_t i = 300; i < 600; i++) alone[i] = copy[i].elevation_m;
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  size_t summit = 300;
  for (size_t i = 300; i < 600; i++)
    if (copy[i].elevation_m > copy[summit].elevation_m) summit = i;
  assert_true(summit > 330);
  int bad = 0;
  for (size_t i = 310; i < summit - 11; i++) /* beyond the fade of its own start and summit */
    bad += off("second", "elevation", point[i].elevation_m, alone[i], 1e-9);
  assert_int_equal(bad, 0);
  assert_true(point[299].elevation_m == 1700.0);
  assert_true(fabs(point[300].elevation_m - (waves(1500.0) - 250.0)) < 3.0);
}

static void few_points_are_left_as_read(void **state) {
  (void)state;
  ta_course course = course_of(100, 25.0, waves); /* three in a window of 51 m, none to spare */
  ta_smoothing_residual residual;
  assert_int_equal(ta_course_smooth(&course, 51.0, &residual), TA_OK);
  assert_true(residual.residual_max_m == 0.0 && residual.residual_rms_m == 0.0);
  course = course_of(100, 25.0, waves);
  assert_int_equal(ta_course_smooth(&course, 130.0, &residual), TA_OK); /* five */
  assert_true(residual.residual_max_m > 0.01);
  course = course_of(2, 25.0, waves);
  assert_int_equal(ta_course_smooth(&course, 1e4, &residual), TA_OK);
  assert_true(residual.residual_max_m == 0.0);
}

/* The same by the textbook: normal equations in distance, solved by Cramer's rule.  The window is
 * half a length on either side, moved inwards at the ends of the segment begin to end. */
static double by_normal_equations(const ta_course_point *p, size_t begin, size_t end, size_t i,
                                  double length_m) {
  long double s[5] = {0.0L}, t[3] = {0.0L};
  const double inside =
      fmin(p[i].distance_m - p[begin].distance_m, p[end - 1].distance_m - p[i].distance_m);
  const double half = inside < 0.5 * length_m ? length_m - inside : 0.5 * length_m;
  int count = 0;
  for (size_t k = begin; k < end; k++) {
    const double u = (p[k].distance_m - p[i].distance_m) / half;
    if (fabs(u) >= 1.0) continue;
    long double power = (long double)tricube(u);
    for (int n = 0; n < 5; n++, power *= (long double)u) {
      s[n] += power;
      if (n < 3) t[n] += power * (long double)p[k].elevation_m;
    }
    count++;
  }
  if (count < 4) return p[i].elevation_m;
  const long double c0 = s[2] * s[4] - s[3] * s[3], c1 = s[2] * s[3] - s[1] * s[4],
                    c2 = s[1] * s[3] - s[2] * s[2];
  return (double)((t[0] * c0 + t[1] * c1 + t[2] * c2) / (s[0] * c0 + s[1] * c1 + s[2] * c2));
}

static double fade(double apart_m, double reach_m) {
  const double t = 1.0 - fabs(apart_m) / reach_m;
  return t > 0.0 ? t * t * (3.0 - 2.0 * t) : 0.0;
}

/* Uneven spacing, two segments and one of a single point, the summit early in a long descent. */
static void it_is_the_textbook_fit_with_three_points_given_back(void **state) {
  (void)state;
  enum { COUNT = 160, SEAM = 70, SUMMIT = 3 };
  static const size_t begin[] = {0, SEAM, SEAM + 1, COUNT};
  static ta_course_point before[COUNT];
  static double want[COUNT];
  const double length_m = 60.0;
  uint64_t seed = 31;
  double x = 200.0;
  for (size_t i = 0; i < COUNT; i++) {
    x += i == SEAM || i == SEAM + 1 ? 0.01 : 7.0 + 2.0 * fmax(-3.0, fmin(3.0, noise(&seed)));
    point[i] = (ta_course_point){.distance_m = x,
                                 .elevation_m = 1700.0 - 0.06 * x + noise(&seed),
                                 .after_gap = i == SEAM || i == SEAM + 1};
  }
  point[SUMMIT].elevation_m = point[SUMMIT + 1].elevation_m = 1692.5; /* the first of two */
  memcpy(before, point, sizeof before);
  for (size_t segment = 0; segment < 3; segment++)
    for (size_t i = begin[segment]; i < begin[segment + 1]; i++)
      want[i] = by_normal_equations(before, begin[segment], begin[segment + 1], i, length_m);
  const double start_off = before[0].elevation_m - want[0],
               summit_off = before[SUMMIT].elevation_m - want[SUMMIT],
               finish_off = before[COUNT - 1].elevation_m - want[COUNT - 1];
  const double apart = before[SUMMIT].distance_m - before[0].distance_m;
  assert_true(apart < length_m);
  for (size_t i = 0; i < COUNT; i++) {
    const double from_summit = before[i].distance_m - before[SUMMIT].distance_m;
    want[i] += start_off * fade(before[i].distance_m - before[0].distance_m, apart) +
               summit_off * fade(from_summit, from_summit < 0.0 ? apart : length_m) +
               finish_off * fade(before[i].distance_m - before[COUNT - 1].distance_m, length_m);
    want[i] = fmin(want[i], 1692.5);
  }
  ta_course course = {point, COUNT};
  assert_int_equal(ta_course_smooth(&course, length_m, NULL), TA_OK);
  int bad = 0;
  for (size_t i = 0; i < COUNT; i++) {
    char name[20];
    (void)snprintf(name, sizeof name, "point %zu", i);
    bad += off(name, "elevation", point[i].elevation_m, want[i], 1e-9);
  }
  assert_int_equal(bad, 0);
}

static void four_points_are_enough_and_lengths_may_be_short(void **state) {
  (void)state;
  for (size_t i = 0; i < 4; i++)
    point[i] = (ta_course_point){.distance_m = 0.1 * (double)i,
                                 .elevation_m = 1500.0 + (i == 2 ? 0.02 : 0.0)};
  ta_course course = {point, 4};
  assert_int_equal(ta_course_smooth(&course, 0.9, NULL), TA_OK);
  assert_true(point[1].elevation_m != 1500.0 && point[2].elevation_m == 1500.02);
}

/* Points in heaps, as from a car that stands: no fit may run away. */
static void heaps_of_points_do_no_harm(void **state) {
  (void)state;
  uint64_t seed = 12;
  double x = 0.0;
  for (size_t i = 0; i < 400; i++) {
    point[i] = (ta_course_point){.distance_m = x, .elevation_m = 1500.0 + noise(&seed)};
    x += i % 40 == 0 ? 24.9999999999 : i % 7 == 0 ? 1e-3 : 1e-9;
  }
  ta_course course = {point, 400};
  assert_int_equal(ta_course_smooth(&course, 50.0, NULL), TA_OK);
  for (size_t i = 0; i < 400; i++)
    assert_true(isfinite(point[i].elevation_m) && fabs(point[i].elevation_m - 1500.0) < 12.0);
}

static void refusals_leave_the_course_alone(void **state) {
  (void)state;
  ta_course course = course_of(50, 5.0, waves), none = {NULL, 0};
  static ta_course_point before[50];
  ta_smoothing_residual residual = {-1.0, -2.0};
  memcpy(before, point, sizeof before);
  static const double length[] = {0.0, -50.0, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < COUNT_OF(length); i++)
    assert_int_equal(ta_course_smooth(&course, length[i], &residual), TA_ERR_ARGUMENT);
  assert_memory_equal(before, point, sizeof before);
  assert_int_equal(ta_course_smooth(NULL, 50.0, &residual), TA_ERR_ARGUMENT);
  assert_int_equal(ta_course_smooth(&none, 50.0, &residual), TA_ERR_ARGUMENT);
  point[1].distance_m = point[0].distance_m;
  assert_int_equal(ta_course_smooth(&course, 50.0, &residual), TA_ERR_ARGUMENT);
  point[1] = before[1];
  point[0].elevation_m = (double)NAN;
  assert_int_equal(ta_course_smooth(&course, 50.0, &residual), TA_ERR_ARGUMENT);
  point[0] = before[0];
  point[20].distance_m = point[19].distance_m;
  assert_int_equal(ta_course_smooth(&course, 50.0, &residual), TA_ERR_ARGUMENT);
  point[20] = before[20];
  point[20].elevation_m = (double)NAN;
  assert_int_equal(ta_course_smooth(&course, 50.0, &residual), TA_ERR_ARGUMENT);
  assert_true(point[19].elevation_m == before[19].elevation_m);
  assert_true(residual.residual_rms_m == -1.0 && residual.residual_max_m == -2.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_quadratic_is_left_as_it_is),
      cmocka_unit_test(a_ramp_stays_straight_and_rising),
      cmocka_unit_test(noise_is_reduced_as_theory_says),
      cmocka_unit_test(residual_is_read_less_smoothed),
      cmocka_unit_test(start_summit_and_finish_are_kept_without_a_step),
      cmocka_unit_test(nothing_rises_above_the_summit),
      cmocka_unit_test(kept_points_close_together),
      cmocka_unit_test(segments_do_not_see_each_other),
      cmocka_unit_test(few_points_are_left_as_read),
      cmocka_unit_test(it_is_the_textbook_fit_with_three_points_given_back),
      cmocka_unit_test(four_points_are_enough_and_lengths_may_be_short),
      cmocka_unit_test(heaps_of_points_do_no_harm),
      cmocka_unit_test(refusals_leave_the_course_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
