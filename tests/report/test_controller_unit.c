/* test_controller_unit.c - set-points in the controller's unit, never above what they stand for. */
#include "../test.h"

#include "../../src/report/controller_unit.h"

static void set_points_are_shown_to_the_resolution(void **state) {
  (void)state;
  static const struct {
    ta_controller_unit unit;
    double resolution_pa, set_point_pa;
    const char *shown;
  } rows[] = {
      {TA_CONTROLLER_KPA, 1000.0, 193000.0, "193"},
      {TA_CONTROLLER_KPA, 500.0, 193500.0, "193.5"},
      {TA_CONTROLLER_KPA, 700.0, 193199.99, "193.1"}, /* a hair below: down */
      {TA_CONTROLLER_KPA, 1000.0, -4200.0, "-5"},     /* what 10 K take away: down as well */
      {TA_CONTROLLER_MBAR, 700.0, 140700.0, "1407"},
      {TA_CONTROLLER_BAR, 1000.0, 107000.0, "1.07"},
      {TA_CONTROLLER_BAR, 1300.0, 105300.0, "1.053"},
      {TA_CONTROLLER_PSI, 689.4757293168361, 107.0 * 1378.9514586336722, "21.4"},
      {TA_CONTROLLER_PSI, 1000.0, 107000.0, "15.519"}, /* 15.51904: three places at the most */
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_control control = {.unit = (int)rows[i].unit, .resolution_pa = rows[i].resolution_pa};
    char text[TA_SHOWN_MAX];
    if (strcmp(ta_show_controller(&control, rows[i].set_point_pa, text), rows[i].shown) == 0)
      continue;
    print_error("row %zu: %s, want %s\n", i, text, rows[i].shown);
    bad++;
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(set_points_are_shown_to_the_resolution),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
