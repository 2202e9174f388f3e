/* test_car.c - what follows from the car's data alone. */
#include "../test.h"

#include "thinair/car.h"

static void ve_is_linear_between_its_points_and_constant_beyond(void **state) {
  (void)state;
  ta_ve_point point[] = {{1970.0, 0.857}, {4030.0, 0.971}, {6110.0, 1.013}, {7490.0, 0.918}};
  const ta_engine engine = {.ve = point, .ve_count = COUNT_OF(point)};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(point); i++)
    assert_true(ta_engine_ve(&engine, point[i].engine_rpm) == point[i].ve);
  for (size_t i = 1; i < COUNT_OF(point); i++) {
    const ta_ve_point *a = &point[i - 1], *b = &point[i];
    for (double share = 0.0; share <= 1.0; share += 0.0625)
      bad += off("between", "ve",
                 ta_engine_ve(&engine, a->engine_rpm + share * (b->engine_rpm - a->engine_rpm)),
                 (1.0 - share) * a->ve + share * b->ve, 1e-15);
    /* one ulp to either side of a point */
    bad +=
        off("ulp below", "ve", ta_engine_ve(&engine, nextafter(b->engine_rpm, 0.0)), b->ve, 1e-15);
    bad +=
        off("ulp above", "ve", ta_engine_ve(&engine, nextafter(a->engine_rpm, 1e9)), a->ve, 1e-15);
  }
  assert_true(ta_engine_ve(&engine, nextafter(1970.0, 0.0)) == 0.857);
  assert_true(ta_engine_ve(&engine, 13.0) == 0.857);
  assert_true(ta_engine_ve(&engine, nextafter(7490.0, 1e9)) == 0.918);
  assert_true(ta_engine_ve(&engine, 19000.0) == 0.918);
  assert_int_equal(bad, 0);
}

static void one_point_holds_everywhere(void **state) {
  (void)state;
  ta_ve_point point[] = {{5210.0, 0.937}};
  const ta_engine engine = {.ve = point, .ve_count = 1};
  assert_true(ta_engine_ve(&engine, 5210.0) == 0.937);
  assert_true(ta_engine_ve(&engine, 900.0) == 0.937 && ta_engine_ve(&engine, 9100.0) == 0.937);
}

/* Common practice: a four-stroke draws in every second revolution, a two-stroke in every one, each
 * rotor of a rotary one chamber per turn of the eccentric shaft. */
static void revolutions_per_intake(void **state) {
  (void)state;
  const struct {
    int cycle;
    double want;
  } rows[] = {{TA_FOUR_STROKE, 2.0}, {TA_TWO_STROKE, 1.0}, {TA_ROTARY, 1.0}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_engine engine = {.cycle = rows[i].cycle};
    assert_true(ta_engine_revs_per_intake(&engine) == rows[i].want);
  }
}

static void share_of_the_judged_turbo(void **state) {
  (void)state;
  const struct {
    const char *row;
    double count, imbalance, want;
  } rows[] = {{"one, whatever the imbalance", 1.0, 0.02, 1.0},
              {"two alike", 2.0, 0.0, 0.5},
              {"two, 2 % more than its half", 2.0, 0.02, 0.51},
              {"three, 3 % more than its third", 3.0, 0.03, 1.03 / 3.0}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_turbo turbo = {.count = rows[i].count, .imbalance = rows[i].imbalance};
    bad += off(rows[i].row, "share", ta_turbo_share(&turbo), rows[i].want, 1e-15);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ve_is_linear_between_its_points_and_constant_beyond),
      cmocka_unit_test(one_point_holds_everywhere),
      cmocka_unit_test(revolutions_per_intake),
      cmocka_unit_test(share_of_the_judged_turbo),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
