/* test_course.c - elevation over distance: nodes, between, ends; the check of a course as typed. */
#include "../test.h"

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

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(elevation_is_linear_between_points_and_level_beyond),
      cmocka_unit_test(range_spans_all_points),
      cmocka_unit_test(nearest_mark_is_the_nearest),
      cmocka_unit_test(a_sound_course_passes),
      cmocka_unit_test(every_fault_is_raised_at_its_row),
      cmocka_unit_test(too_few_points_and_no_course),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
