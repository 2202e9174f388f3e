/* test_course.c - elevation over distance: nodes, between, ends; the check of a course as typed. */
#include "../test.h"

#include <stdlib.h>

#include "thinair/course.h"

static ta_course_point points[] = {{.distance_m = -120.0, .elevation_m = 1463.0},
                                   {.distance_m = 870.0, .elevation_m = 1511.0, .mark = "bridge"},
                                   {.distance_m = 1930.0, .elevation_m = 1502.0},
                                   {.distance_m = 4110.0, .elevation_m = 1897.0, .mark = "chapel"},
                                   {.distance_m = 4120.0, .elevation_m = 1899.5},
                                   {.distance_m = 9730.0, .elevation_m = 1899.5, .mark = "summit"}};
static const ta_course course = {points, COUNT_OF(points)};

static void elevation_is_linear_between_points_and_level_beyond(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < course.count; i++)
    assert_true(ta_course_elevation(&course, points[i].distance_m) == points[i].elevation_m);
  for (size_t i = 1; i < course.count; i++)
    for (double share = 0.0; share <= 1.0; share += 0.03125) {
      const ta_course_point *a = &points[i - 1], *b = &points[i];
      const double at = a->distance_m + share * (b->distance_m - a->distance_m);
      bad += off("between", "elevation", ta_course_elevation(&course, at),
                 (1.0 - share) * a->elevation_m + share * b->elevation_m, 1e-9);
    }
  assert_true(ta_course_elevation(&course, nextafter(-120.0, -HUGE_VAL)) == 1463.0);
  assert_true(ta_course_elevation(&course, -9e9) == 1463.0);
  assert_true(ta_course_elevation(&course, 9e9) == 1899.5);
  bad += off("ulp above", "elevation", ta_course_elevation(&course, nextafter(870.0, 1e9)), 1511.0,
             1e-9);
  bad += off("ulp below", "elevation", ta_course_elevation(&course, nextafter(870.0, 0.0)), 1511.0,
             1e-9);
  assert_int_equal(bad, 0);
  const ta_course one = {points, 1};
  assert_true(ta_course_elevation(&one, 77.0) == 1463.0);
}

static void range_spans_all_points(void **state) {
  (void)state;
  ta_course_point valley[] = {{.distance_m = 0.0, .elevation_m = 801.0},
                              {.distance_m = 500.0, .elevation_m = 702.5},
                              {.distance_m = 900.0, .elevation_m = 911.0},
                              {.distance_m = 1500.0, .elevation_m = 850.0}};
  const ta_course dip = {valley, COUNT_OF(valley)}, one = {valley, 1};
  double low = 0.0, high = 0.0;
  ta_course_range(&dip, &low, &high);
  assert_true(low == 702.5 && high == 911.0);
  ta_course_range(&one, &low, &high);
  assert_true(low == 801.0 && high == 801.0);
}

/* Up, down and up again: the first time counts; what is never reached lies at the end. */
static void an_elevation_is_first_reached_somewhere(void **state) {
  (void)state;
  static ta_course_point road[] = {{.distance_m = 130.0, .elevation_m = 1503.0},
                                   {.distance_m = 1130.0, .elevation_m = 1703.0},
                                   {.distance_m = 1330.0, .elevation_m = 1703.0},
                                   {.distance_m = 1830.0, .elevation_m = 1603.0},
                                   {.distance_m = 2830.0, .elevation_m = 1853.0}};
  static const struct {
    double elevation_m, distance_m;
  } rows[] = {{1503.0, 130.0},  {1653.0, 880.0},  /* three quarters of 1,000 m */
              {1703.0, 1130.0}, {1753.0, 2430.0}, /* 150 of 250 m up 1,000 m */
              {1853.0, 2830.0}, {1900.0, 2830.0}, {1400.0, 2830.0}};
  const ta_course way = {road, COUNT_OF(road)};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++)
    bad += off("first at", "distance", ta_course_distance(&way, rows[i].elevation_m),
               rows[i].distance_m, 1e-9);
  assert_int_equal(bad, 0);
}

static void nearest_mark_is_the_nearest(void **state) {
  (void)state;
  assert_string_equal(ta_course_nearest_mark(&course, -500.0)->mark, "bridge");
  assert_string_equal(ta_course_nearest_mark(&course, 2489.0)->mark,
                      "bridge"); /* 2490 is halfway */
  assert_string_equal(ta_course_nearest_mark(&course, 2491.0)->mark, "chapel");
  assert_string_equal(ta_course_nearest_mark(&course, 4500.0)->mark, "chapel");
  assert_string_equal(ta_course_nearest_mark(&course, 1e6)->mark, "summit");
  ta_course_point bare[] = {{.distance_m = 0.0, .elevation_m = 801.0},
                            {.distance_m = 500.0, .elevation_m = 702.5}};
  const ta_course unmarked = {bare, COUNT_OF(bare)};
  assert_null(ta_course_nearest_mark(&unmarked, 100.0));
}

static void a_sound_course_passes(void **state) {
  (void)state;
  ta_diagnostics list;
  ta_diagnostics_clear(&list);
  assert_int_equal(ta_course_check(&course, &list), TA_OK);
  assert_int_equal(list.count, 0);
  /* just within the steepest grade, up and down */
  ta_course_point steep[] = {{.distance_m = 0.0, .elevation_m = 801.0},
                             {.distance_m = 100.0, .elevation_m = 851.0},
                             {.distance_m = 200.0, .elevation_m = 801.0}};
  const ta_course edge = {steep, COUNT_OF(steep)};
  assert_int_equal(ta_course_check(&edge, &list), TA_OK);
  assert_int_equal(list.count, 0);
}

static void every_fault_is_raised_at_its_row(void **state) {
  (void)state;
  ta_course_point bad[] = {
      {.distance_m = 0.0, .elevation_m = 801.0},
      {.distance_m = 100.0, .elevation_m = 852.0}, /* 51 % up */
      {.distance_m = 100.0, .elevation_m = 852.0}, /* no step at all */
      {.distance_m = 90.0, .elevation_m = 852.0},  /* backwards */
      {.distance_m = 190.0, .elevation_m = 801.0}, /* 51 % down */
      {.distance_m = (double)NAN, .elevation_m = 801.0},
      {.distance_m = 390.0, .elevation_m = 801.0}}; /* after NaN nothing rises */
  const ta_course course_bad = {bad, COUNT_OF(bad)};
  static const char *const keys[] = {"rows[1].elevation", "rows[2].distance", "rows[3].distance",
                                     "rows[4].elevation", "rows[5].distance", "rows[6].distance"};
  static const char *const also[] = {"", "rows[1].distance", "rows[2].distance",
                                     "", "rows[4].distance", "rows[5].distance"};
  ta_diagnostics list;
  ta_diagnostics_clear(&list);
  assert_int_equal(ta_course_check(&course_bad, &list), TA_ERR_INPUT);
  assert_int_equal(list.count, COUNT_OF(keys));
  for (size_t i = 0; i < COUNT_OF(keys); i++) {
    assert_string_equal(list.item[i].key, keys[i]);
    assert_string_equal(list.item[i].also_key, also[i]);
    assert_int_equal(list.item[i].severity, TA_ERROR);
  }
  assert_int_equal(ta_course_check(&course_bad, NULL), TA_ERR_INPUT);
}

static void too_few_points_and_no_course(void **state) {
  (void)state;
  ta_diagnostics list;
  ta_diagnostics_clear(&list);
  const ta_course one = {points, 1}, none = {NULL, 0};
  assert_int_equal(ta_course_check(&one, &list), TA_ERR_INPUT);
  assert_string_equal(list.item[0].key, "rows");
  assert_int_equal(ta_course_check(&none, &list), TA_ERR_INPUT);
  assert_int_equal(list.count, 2);
  assert_int_equal(ta_course_check(NULL, &list), TA_ERR_ARGUMENT);
}

/* ---- fewer points ---------------------------------------------------------------------------- */

/* Counter-based: number `index` of a sequence, evenly spread over [0, 1).  The mixer is that of
 * SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
static double random_at(uint64_t index) {
  uint64_t z = (index + 1) * 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  z ^= z >> 31;
  return (double)(z >> 11) * 0x1.0p-53;
}

enum { MANY = 500 };

/* Points 0.3 to 9 m apart, some with corners, limits, gaps and marks. */
static void draw_road(uint64_t number, ta_course_point road[MANY]) {
  double at_m = 313.0, elevation_m = 1463.0;
  uint64_t n = number * MANY * 8;
  for (size_t i = 0; i < MANY; i++) {
    road[i] = (ta_course_point){.distance_m = at_m, .elevation_m = elevation_m};
    road[i].has_corner_radius = random_at(n++) < 0.3;
    road[i].corner_radius_m = 8.0 + 90.0 * random_at(n++);
    road[i].has_speed_limit = random_at(n++) < 0.1;
    road[i].speed_limit_ms = 9.0 + 30.0 * random_at(n++);
    road[i].after_gap = i > 0 && random_at(n++) < 0.02;
    at_m += 0.3 + 8.7 * random_at(n++);
    elevation_m += 0.9 * (random_at(n++) - 0.4);
  }
}

/* Tightest corner and lowest limit of road[from] to road[end - 1]; HUGE_VAL: none. */
static void tightest(const ta_course_point *road, size_t from, size_t end, double *radius_m,
                     double *limit_ms) {
  *radius_m = *limit_ms = HUGE_VAL;
  for (size_t i = from; i < end; i++) {
    if (road[i].has_corner_radius) *radius_m = fmin(*radius_m, road[i].corner_radius_m);
    if (road[i].has_speed_limit) *limit_ms = fmin(*limit_ms, road[i].speed_limit_ms);
  }
}

static void fewer_points_keep_what_a_run_must_not_lose(void **state) {
  (void)state;
  static ta_course_point road[MANY];
  const ta_course whole = {road, MANY};
  for (uint64_t number = 0; number < 40; number++) {
    const double spacing_m = 2.0 + 31.0 * random_at(number + 99991);
    double low_m, high_m, thin_low_m, thin_high_m;
    ta_course thin;
    draw_road(number, road);
    assert_int_equal(ta_course_thin(&whole, spacing_m, &thin), TA_OK);
    ta_course_range(&whole, &low_m, &high_m);
    ta_course_range(&thin, &thin_low_m, &thin_high_m);
    assert_true(thin_low_m == low_m && thin_high_m == high_m);
    assert_true(thin.point != road && thin.count < MANY && thin.count > 2);
    assert_true(thin.point[0].distance_m == road[0].distance_m);
    assert_true(thin.point[thin.count - 1].distance_m == road[MANY - 1].distance_m);
    size_t from = 0, gaps = 0, gaps_kept = 0;
    for (size_t i = 0; i < MANY; i++) gaps += road[i].after_gap;
    for (size_t k = 0; k < thin.count; k++) {
      const ta_course_point *p = &thin.point[k];
      assert_true(p->distance_m == road[from].distance_m &&
                  p->elevation_m == road[from].elevation_m && p->after_gap == road[from].after_gap);
      gaps_kept += p->after_gap;
      size_t end = from + 1; /* up to the next one that is kept */
      while (end < MANY &&
             (k + 1 == thin.count || road[end].distance_m < thin.point[k + 1].distance_m))
        end++;
      double radius_m, limit_ms;
      tightest(road, from, end, &radius_m, &limit_ms);
      assert_true(p->has_corner_radius == (radius_m < HUGE_VAL));
      assert_true(p->has_speed_limit == (limit_ms < HUGE_VAL));
      if (p->has_corner_radius) assert_true(p->corner_radius_m == radius_m);
      if (p->has_speed_limit) assert_true(p->speed_limit_ms == limit_ms);
      for (size_t i = from + 1; i < end; i++) { /* what was left out was near, and no gap's end */
        assert_true(road[i].distance_m - road[from].distance_m < spacing_m);
        assert_false(road[i].after_gap || (i + 1 < MANY && road[i + 1].after_gap));
      }
      /* what stays has a reason to */
      if (k > 0 && k + 1 < thin.count && !p->after_gap && !road[from + 1].after_gap &&
          p->elevation_m != low_m && p->elevation_m != high_m)
        assert_true(p->distance_m - thin.point[k - 1].distance_m >= spacing_m);
      from = end;
    }
    assert_true(from == MANY && gaps > 0 && gaps_kept == gaps);
    free(thin.point);
  }
}

static void nothing_is_lost_of_points_that_stand_apart(void **state) {
  (void)state;
  static const double spacings_m[] = {0.0, 987.3, 990.0}; /* the bridge is 990 m up the road */
  for (size_t i = 0; i < COUNT_OF(spacings_m); i++) {
    ta_course thin;
    assert_int_equal(ta_course_thin(&course, spacings_m[i], &thin), TA_OK);
    assert_int_equal(thin.count, course.count);
    assert_memory_equal(thin.point, points, sizeof points);
    free(thin.point);
  }
}

static void the_ends_alone_stay_of_a_level_road(void **state) {
  (void)state;
  ta_course_point level[50];
  for (size_t i = 0; i < COUNT_OF(level); i++)
    level[i] = (ta_course_point){.distance_m = 0.7 * (double)i, .elevation_m = 1463.0};
  const ta_course whole = {level, COUNT_OF(level)};
  ta_course thin;
  assert_int_equal(ta_course_thin(&whole, 1e9, &thin), TA_OK);
  assert_int_equal(thin.count, 2);
  assert_true(thin.point[1].distance_m == level[49].distance_m);
  free(thin.point);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(elevation_is_linear_between_points_and_level_beyond),
      cmocka_unit_test(range_spans_all_points),
      cmocka_unit_test(an_elevation_is_first_reached_somewhere),
      cmocka_unit_test(nearest_mark_is_the_nearest),
      cmocka_unit_test(a_sound_course_passes),
      cmocka_unit_test(every_fault_is_raised_at_its_row),
      cmocka_unit_test(too_few_points_and_no_course),
      cmocka_unit_test(fewer_points_keep_what_a_run_must_not_lose),
      cmocka_unit_test(nothing_is_lost_of_points_that_stand_apart),
      cmocka_unit_test(the_ends_alone_stay_of_a_level_road),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
