/* Grade, corners and totals, on roads whose answers are known without the code. */
#include "thinair/course_shape.h"

#include "test.h"
#include "thinair/geodesic.h"

static const double PI = 3.14159265358979323846;
/* WGS 84 at the equator, metres per degree north and east: the figures of any geodesy text (from
 * memory); at 0.3 degrees they are off by less than 1e-4. */
static const double NORTH_M = 110574.3, EAST_M = 111319.5;

static void a_ramp_has_its_grade_everywhere(void **state) {
  (void)state;
  ta_course_point point[] = {{.distance_m = 130.0, .elevation_m = 1460.0},
                             {.distance_m = 730.0, .elevation_m = 1508.0},
                             {.distance_m = 2130.0, .elevation_m = 1620.0}};
  const ta_course course = {point, 3};
  int bad = 0;
  for (double at = 130.0; at <= 2130.0; at += 87.0)
    bad += off("ramp", "grade", ta_course_grade(&course, at, 53.0), 0.08, 1e-12);
  bad += off("ramp", "grade at the end", ta_course_grade(&course, 2130.0, 53.0), 0.08, 1e-12);
  assert_int_equal(bad, 0);
}

static void a_kink_is_averaged_over_the_length(void **state) {
  (void)state;
  ta_course_point point[] = {{.distance_m = 0.0, .elevation_m = 100.0},
                             {.distance_m = 370.0, .elevation_m = 100.0},
                             {.distance_m = 740.0, .elevation_m = 137.0}};
  const ta_course course = {point, 3};
  /* half of the length lies on the flat, half on 10 % */
  assert_int_equal(off("kink", "grade", ta_course_grade(&course, 370.0, 50.0), 0.05, 1e-12), 0);
  assert_int_equal(off("flat", "grade", ta_course_grade(&course, 300.0, 50.0), 0.0, 1e-12), 0);
}

/* A road round a circle, some way north-east of nowhere. */
static ta_course circle(ta_course_point *point, size_t count, double radius_m, double spacing_m) {
  const double lat0 = 0.3, lon0 = -31.7, scale = cos(lat0 * PI / 180.0);
  for (size_t i = 0; i < count; i++) {
    const double angle = spacing_m / radius_m * (double)i;
    point[i] = (ta_course_point){.elevation_m = 900.0,
                                 .latitude_deg = lat0 + radius_m * sin(angle) / NORTH_M,
                                 .longitude_deg = lon0 + radius_m * cos(angle) / (EAST_M * scale),
                                 .has_position = true};
    if (i > 0)
      point[i].distance_m =
          point[i - 1].distance_m +
          ta_geodesic_distance(point[i - 1].latitude_deg, point[i - 1].longitude_deg,
                               point[i].latitude_deg, point[i].longitude_deg);
  }
  return (ta_course){point, count};
}

static void a_circle_has_its_radius(void **state) {
  (void)state;
  ta_course_point point[80];
  const ta_course course = circle(point, COUNT_OF(point), 60.0, 2.1);
  int bad = 0;
  /* three points of a circle give it: what is off is the metres per degree */
  for (size_t i = 10; i < 70; i++)
    bad += off_rel("circle", "radius", ta_course_radius(&course, i, 30.0), 60.0, 3e-4);
  assert_int_equal(bad, 0);
  assert_true(isinf(ta_course_radius(&course, 3, 30.0)));  /* too near the start */
  assert_true(isinf(ta_course_radius(&course, 77, 30.0))); /* and the finish */
  point[40].has_position = false;
  assert_true(isinf(ta_course_radius(&course, 40, 30.0)));
}

/* Points farther apart than the length: the circle goes on to the neighbours. */
static void wide_spacing_keeps_the_radius(void **state) {
  (void)state;
  static const double spacing_m[] = {5.0, 23.0, 27.0, 41.0, 97.0};
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(spacing_m); k++) {
    ta_course_point point[41];
    const ta_course course = circle(point, COUNT_OF(point), 103.0, spacing_m[k]);
    const size_t last = COUNT_OF(point) - 1, reach = (size_t)ceil(25.0 / spacing_m[k] * 1.01);
    for (size_t i = reach; i + reach <= last; i++)
      bad += off_rel("circle", "radius", ta_course_radius(&course, i, 50.0), 103.0, 3e-4);
    assert_true(isinf(ta_course_radius(&course, 0, 50.0)));
    assert_true(isinf(ta_course_radius(&course, last, 50.0)));
    const ta_corner_sight sight = ta_course_corner_sight(&course, 50.0);
    assert_true(sight.has_positions);
    bad += off("circle", "share", sight.sparse_share, spacing_m[k] > 25.0 ? 1.0 : 0.0, 0.0);
  }
  assert_int_equal(bad, 0);
}

/* Scatter in place of a straight road and of a bend, by the roll of dice of the SplitMix64 kind: evenly
 * spread over a width its standard deviation is the width over sqrt(12). */
static double scattered(uint64_t index) {
  uint64_t z = (index + 1) * 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  z ^= z >> 31;
  return (double)(z >> 11) * 0x1.0p-53 - 0.5;
}

static void scatter_is_seen(void **state) {
  (void)state;
  static ta_course_point point[1201];
  static const double radius_m[] = {1e7, 211.0};
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(radius_m); k++) {
    const ta_course course = circle(point, COUNT_OF(point), radius_m[k], 5.3);
    bad += off("smooth", "scatter", ta_course_corner_sight(&course, 50.0).scatter_m, 0.0, 0.01);
    for (size_t i = 0; i < COUNT_OF(point); i++) {
      point[i].latitude_deg += 3.1 * scattered(2 * i) / NORTH_M;
      point[i].longitude_deg += 3.1 * scattered(2 * i + 1) / EAST_M;
    }
    const ta_corner_sight sight = ta_course_corner_sight(&course, 50.0);
    const double sigma = 3.1 / sqrt(12.0);
    bad += off_rel("scattered", "scatter", sight.scatter_m, sigma, 0.08);
    bad +=
        off_rel("scattered", "radius", sight.scatter_radius_m, 625.0 / (sqrt(6.0) * sigma), 0.08);
    assert_true(sight.sparse_share == 0.0);
  }
  /* corners of a straight road of that scatter: one in three is tighter than said */
  const ta_course course = circle(point, COUNT_OF(point), 1e7, 5.3);
  for (size_t i = 0; i < COUNT_OF(point); i++)
    point[i].longitude_deg += 3.1 * scattered(i) / EAST_M;
  const double said_m = ta_course_corner_sight(&course, 50.0).scatter_radius_m;
  size_t tighter = 0;
  for (size_t i = 0; i < COUNT_OF(point); i++)
    tighter += ta_course_radius(&course, i, 50.0) < said_m;
  bad += off("corners", "share tighter", (double)tighter / COUNT_OF(point), 0.32, 0.06);
  assert_int_equal(bad, 0);
  /* four points within the length tell nothing, and no positions tell less */
  const ta_course short_one = {point, 4};
  assert_true(ta_course_corner_sight(&short_one, 50.0).scatter_m == 0.0);
  for (size_t i = 0; i < 4; i++) point[i].has_position = false;
  const ta_corner_sight none = ta_course_corner_sight(&short_one, 50.0);
  assert_true(!none.has_positions && none.sparse_share == 0.0 && isinf(none.scatter_radius_m));
}

static void a_straight_road_has_no_corner(void **state) {
  (void)state;
  ta_course_point point[30] = {{0}};
  for (size_t i = 0; i < COUNT_OF(point); i++)
    point[i] = (ta_course_point){.distance_m = 7.0 * (double)i,
                                 .latitude_deg = 0.3,
                                 .longitude_deg = 7.0 * (double)i / EAST_M,
                                 .has_position = true};
  const ta_course course = {point, COUNT_OF(point)};
  assert_true(isinf(ta_course_radius(&course, 15, 30.0)));
  assert_true(isinf(ta_course_sum_up(&course, 30.0).tightest_radius_m));
}

static void totals_leave_gaps_out(void **state) {
  (void)state;
  ta_course_point point[] = {{.distance_m = 0.0, .elevation_m = 100.0},
                             {.distance_m = 410.0, .elevation_m = 131.0},
                             {.distance_m = 820.0, .elevation_m = 118.0},
                             {.distance_m = 820.01, .elevation_m = 240.0, .after_gap = true},
                             {.distance_m = 1230.01, .elevation_m = 251.0}};
  const ta_course course = {point, COUNT_OF(point)};
  const ta_course_summary sum = ta_course_sum_up(&course, 50.0);
  int bad = 0;
  bad += off("gap", "distance", sum.distance_m, 1230.0, 1e-9);
  bad += off("gap", "ascent", sum.ascent_m, 31.0 + 11.0, 1e-12);
  bad += off("gap", "descent", sum.descent_m, 13.0, 1e-12);
  bad += off("gap", "lowest", sum.min_elevation_m, 100.0, 0.0);
  bad += off("gap", "highest", sum.max_elevation_m, 251.0, 0.0);
  bad += off("gap", "steepest", sum.steepest_grade, 31.0 / 410.0, 1e-12);
  assert_int_equal(sum.segments, 2);
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_ramp_has_its_grade_everywhere),
      cmocka_unit_test(a_kink_is_averaged_over_the_length),
      cmocka_unit_test(a_circle_has_its_radius),
      cmocka_unit_test(wide_spacing_keeps_the_radius),
      cmocka_unit_test(scatter_is_seen),
      cmocka_unit_test(a_straight_road_has_no_corner),
      cmocka_unit_test(totals_leave_gaps_out),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
