/* test_air.c - the standard day: identities, limits, ways back, refusals. */
#include <gsl/gsl_errno.h>

#include <float.h>

#include "../test.h"
#include "thinair/air.h"

static const double FLOOR_M = -2001.0, TROPOPAUSE_M = 11000.0, CEILING_M = 20000.0;

static ta_air isa(double height_gp_m) {
  ta_air air = {0};
  assert_int_equal(ta_isa_at(height_gp_m, &air), TA_OK);
  return air;
}

static void sea_level_is_the_definition(void **state) {
  (void)state;
  const ta_air air = isa(0.0);
  assert_true(air.pressure_pa == 101325.0 && air.temperature_k == 288.15);
  assert_true(air.mixing_ratio == 0.0 && air.gas_constant_jkgk == 287.05287);
  /* ISO 2533:1975 table 1. */
  assert_int_equal(off("sea level", "rho", air.density_kgm3, 1.225, 5e-7), 0);
}

/* US Standard Atmosphere 1976 table I, 11 000 and 20 000 m geopotential (from memory). */
static void isothermal_layer(void **state) {
  (void)state;
  int bad = 0;
  bad += off("11 km", "T", isa(11000.0).temperature_k, 216.65, 1e-12);
  bad += off_rel("11 km", "p", isa(11000.0).pressure_pa, 22632.0, 5e-6);
  bad += off("20 km", "T", isa(20000.0).temperature_k, 216.65, 1e-12);
  bad += off_rel("20 km", "p", isa(20000.0).pressure_pa, 5474.8, 2e-5);
  assert_int_equal(bad, 0);
}

/* dp/dH = -rho g0, by central differences, and p = rho R T. */
static void standard_day_is_hydrostatic(void **state) {
  (void)state;
  int bad = 0;
  for (int n = 0; n < 46; n++) {
    const double h = -1990.0 + 487.3 * n;
    const double slope = (isa(h + 1.0).pressure_pa - isa(h - 1.0).pressure_pa) / 2.0;
    const ta_air air = isa(h);
    bad += off_rel("hydrostatics", "dp/dH", slope, -9.80665 * air.density_kgm3, 1e-7);
    bad += off_rel("gas law", "p", air.pressure_pa,
                   air.density_kgm3 * air.gas_constant_jkgk * air.temperature_k, 1e-15 * 4.0);
  }
  assert_int_equal(bad, 0);
}

static void layers_meet(void **state) {
  (void)state;
  const ta_air at = isa(TROPOPAUSE_M);
  const ta_air below = isa(nextafter(TROPOPAUSE_M, 0.0));
  const ta_air above = isa(nextafter(TROPOPAUSE_M, HUGE_VAL));
  int bad = 0;
  bad += off_rel("one ulp below", "p", below.pressure_pa, at.pressure_pa, 1e-14);
  bad += off_rel("one ulp above", "p", above.pressure_pa, at.pressure_pa, 1e-14);
  bad += off_rel("one ulp below", "T", below.temperature_k, at.temperature_k, 1e-14);
  bad += off_rel("one ulp above", "T", above.temperature_k, at.temperature_k, 1e-14);
  double h_below = 0.0, h_above = 0.0;
  assert_int_equal(ta_pressure_altitude(at.pressure_pa * (1.0 + 1e-12), &h_below), TA_OK);
  assert_int_equal(ta_pressure_altitude(at.pressure_pa * (1.0 - 1e-12), &h_above), TA_OK);
  bad += off("inverse", "H", h_below, TROPOPAUSE_M, 1e-7);
  bad += off("inverse", "H", h_above, TROPOPAUSE_M, 1e-7);
  assert_int_equal(bad, 0);
}

/* US Standard Atmosphere 1976 table I: 5 000 m is 4 996 m geopotential, 11 000 m 10 981 m; ISO 2533
 * gives 20 000 m as 19 937 m. */
static void geometric_and_geopotential(void **state) {
  (void)state;
  int bad = 0;
  bad += off("5 km", "H", ta_geopotential_m(5000.0), 4996.0, 0.5);
  bad += off("11 km", "H", ta_geopotential_m(11000.0), 10981.0, 0.5);
  bad += off("20 km", "H", ta_geopotential_m(20000.0), 19937.0, 0.5);
  bad +=
      off("4 301 m, to 20 digits elsewhere", "H", ta_geopotential_m(4301.0), 4298.09190282, 1e-8);
  assert_true(ta_geopotential_m(0.0) == 0.0 && ta_geometric_m(0.0) == 0.0);
  for (int n = 0; n < 81; n++) {
    const double z = -2000.0 + 271.7 * n;
    bad += off("there and back", "z", ta_geometric_m(ta_geopotential_m(z)), z, 1e-11);
  }
  assert_true(isnan(ta_geopotential_m((double)NAN)));
  assert_int_equal(bad, 0);
}

static void there_and_back(void **state) {
  (void)state;
  int bad = 0;
  for (int n = 0; n < 600; n++) {
    const double h = FLOOR_M + 36.67 * n;
    const ta_air air = isa(h);
    double by_pressure = 0.0, by_density = 0.0;
    assert_int_equal(ta_pressure_altitude(air.pressure_pa, &by_pressure), TA_OK);
    assert_int_equal(ta_density_altitude(air.density_kgm3, &by_density), TA_OK);
    bad += off("pressure altitude", "H", by_pressure, h, 2e-11);
    bad += off("density altitude", "H", by_density, h, 2e-11);
  }
  assert_int_equal(bad, 0);
}

static void ends_of_the_range(void **state) {
  (void)state;
  const double ends[] = {FLOOR_M, CEILING_M};
  for (size_t i = 0; i < COUNT_OF(ends); i++) {
    const double beyond = nextafter(ends[i], ends[i] < 0.0 ? -HUGE_VAL : HUGE_VAL);
    const double away = ends[i] < 0.0 ? HUGE_VAL : 0.0;
    const ta_air air = isa(ends[i]);
    ta_air none = {0};
    double h = 0.0;
    assert_int_equal(ta_isa_at(beyond, &none), TA_ERR_DOMAIN);
    assert_int_equal(ta_pressure_altitude(air.pressure_pa, &h), TA_OK);
    assert_int_equal(ta_isa_at(h, &none), TA_OK); /* never a hair outside */
    assert_int_equal(ta_density_altitude(air.density_kgm3, &h), TA_OK);
    assert_int_equal(ta_isa_at(h, &none), TA_OK);
    assert_int_equal(ta_pressure_altitude(nextafter(air.pressure_pa, away), &h), TA_ERR_DOMAIN);
    assert_int_equal(ta_density_altitude(nextafter(air.density_kgm3, away), &h), TA_ERR_DOMAIN);
  }
  ta_air air = {0};
  assert_int_equal(ta_isa_at(ta_geopotential_m(-2000.0), &air), TA_OK);
}

static void altimeter_setting(void **state) {
  (void)state;
  int bad = 0;
  for (int n = 0; n < 14; n++) {
    const double h = -1973.0 + 511.0 * n;
    double p = 0.0, qnh = 0.0;
    assert_int_equal(ta_station_pressure(101325.0, h, &p), TA_OK);
    bad += off_rel("the standard setting", "p", p, isa(h).pressure_pa, 1e-14);
    assert_int_equal(ta_station_pressure(98760.0, h, &p), TA_OK);
    assert_int_equal(ta_qnh(p, h, &qnh), TA_OK);
    bad += off_rel("there and back", "QNH", qnh, 98760.0, 1e-14);
    /* Definition: an altimeter set to QNH reads the station's height. */
    double at_station = 0.0, at_setting = 0.0;
    assert_int_equal(ta_pressure_altitude(p, &at_station), TA_OK);
    assert_int_equal(ta_pressure_altitude(qnh, &at_setting), TA_OK);
    bad += off("reading", "H", at_station - at_setting, h, 1e-9);
  }
  double same = 0.0;
  assert_int_equal(ta_station_pressure(99187.0, 0.0, &same), TA_OK);
  bad += off_rel("sea level", "p", same, 99187.0, 1e-14);
  assert_int_equal(bad, 0);
}

static void refusals_leave_the_output_alone(void **state) {
  (void)state;
  const double nan = (double)NAN, inf = (double)INFINITY;
  ta_air air = {-1.0, -2.0, -3.0, -4.0, -5.0};
  assert_int_equal(ta_isa_at(nan, &air), TA_ERR_ARGUMENT);
  assert_int_equal(ta_isa_at(inf, &air), TA_ERR_ARGUMENT);
  assert_int_equal(ta_isa_at(-2001.5, &air), TA_ERR_DOMAIN);
  assert_int_equal(ta_isa_at(20000.5, &air), TA_ERR_DOMAIN);
  assert_int_equal(ta_isa_at(0.0, NULL), TA_ERR_ARGUMENT);
  assert_true(air.pressure_pa == -1.0 && air.temperature_k == -2.0 && air.mixing_ratio == -3.0 &&
              air.gas_constant_jkgk == -4.0 && air.density_kgm3 == -5.0);

  double out = -7.0;
  assert_int_equal(ta_pressure_altitude(nan, &out), TA_ERR_ARGUMENT);
  assert_int_equal(ta_pressure_altitude(inf, &out), TA_ERR_ARGUMENT);
  assert_int_equal(ta_pressure_altitude(0.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_pressure_altitude(-101325.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_pressure_altitude(130000.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_pressure_altitude(101325.0, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_density_altitude(nan, &out), TA_ERR_ARGUMENT);
  assert_int_equal(ta_density_altitude(0.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_density_altitude(1.6, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_density_altitude(1.2, NULL), TA_ERR_ARGUMENT);

  static const struct {
    const char *row;
    double pressure, height;
    ta_status want;
  } refused[] = {
      {"pressure NaN", (double)NAN, 100.0, TA_ERR_ARGUMENT},
      {"height NaN", 101325.0, (double)NAN, TA_ERR_ARGUMENT},
      {"NaN before range", (double)NAN, 99000.0, TA_ERR_ARGUMENT},
      {"pressure 0", 0.0, 100.0, TA_ERR_DOMAIN},
      {"pressure negative", -0.5, 100.0, TA_ERR_DOMAIN},
      {"height below", 101325.0, -2001.5, TA_ERR_DOMAIN},
      {"height above the troposphere", 101325.0, 11000.5, TA_ERR_DOMAIN},
      {"pressure above the troposphere", 20000.0, 100.0, TA_ERR_DOMAIN},
  };
  for (size_t i = 0; i < COUNT_OF(refused); i++) {
    const double p = refused[i].pressure, h = refused[i].height;
    const ta_status station = ta_station_pressure(p, h, &out), qnh = ta_qnh(p, h, &out);
    if (station != refused[i].want || qnh != refused[i].want)
      fail_msg("%s: %s, %s", refused[i].row, ta_status_name(station), ta_status_name(qnh));
  }
  /* A low setting that puts a high station above the troposphere. */
  assert_int_equal(ta_station_pressure(80000.0, 10000.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_station_pressure(22500.0, -2000.0, &out), TA_ERR_DOMAIN);
  assert_int_equal(ta_station_pressure(101325.0, 0.0, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_station_pressure(101325.0, 99000.0, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_qnh(101325.0, 0.0, NULL), TA_ERR_ARGUMENT);
  assert_true(out == -7.0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sea_level_is_the_definition),
      cmocka_unit_test(isothermal_layer),
      cmocka_unit_test(standard_day_is_hydrostatic),
      cmocka_unit_test(layers_meet),
      cmocka_unit_test(geometric_and_geopotential),
      cmocka_unit_test(there_and_back),
      cmocka_unit_test(ends_of_the_range),
      cmocka_unit_test(altimeter_setting),
      cmocka_unit_test(refusals_leave_the_output_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
