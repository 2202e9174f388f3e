/* test_soundings.c - pressure aloft from one ground station, against four radiosonde ascents.
 *
 * Source     Surface level, and pressures interpolated (ln p linear in height) between the
 *            reported levels, of: Norman OK, 1999-05-04 00Z (MetPy staticdata/may4_sounding.txt,
 *            commit f715a0e7); Boise ID, 2010-12-09 12Z (University of Wyoming), Albuquerque NM and
 *            Denver CO, 1999-05-04 00Z (Iowa State), these in Unidata siphon tests/fixtures, commit
 *            96aa8f51.  Observations of national weather services.  Heights are geopotential.
 * Mean       Of |predicted/true - 1| over every target up to 4 300 m, each weighing the same. */
#include <gsl/gsl_errno.h>

#include "../test.h"
#include "thinair/day.h"

enum { NORMAN, BOISE, ALBUQUERQUE, DENVER };

static const struct {
  const char *name;
  double height_gp_m, p_hpa, t_c, td_c;
  bool inversion; /* a cold pool under it, more than 8 K below the standard day */
} ascents[] = {
    [NORMAN] = {"Norman, warm and moist", 345.0, 959.0, 22.2, 19.0, false},
    [BOISE] = {"Boise, cold pool", 874.0, 919.0, -0.1, -0.2, true},
    [ALBUQUERQUE] = {"Albuquerque, high desert", 1619.0, 823.0, 17.8, -3.2, false},
    [DENVER] = {"Denver", 1611.0, 815.5, 14.9, 3.0, false},
};

static const struct {
  int ascent;
  double height_gp_m, p_hpa;
} targets[] = {
    {NORMAN, 500.0, 942.700},       {NORMAN, 1000.0, 890.338},      {NORMAN, 1500.0, 839.794},
    {NORMAN, 2000.0, 791.772},      {NORMAN, 2500.0, 745.731},      {NORMAN, 3000.0, 702.351},
    {NORMAN, 3500.0, 660.503},      {NORMAN, 4000.0, 620.032},      {NORMAN, 4300.0, 596.892},
    {BOISE, 1000.0, 904.743},       {BOISE, 1500.0, 850.941},       {BOISE, 2000.0, 799.893},
    {BOISE, 2500.0, 751.272},       {BOISE, 3000.0, 705.016},       {BOISE, 3500.0, 660.945},
    {BOISE, 4000.0, 618.931},       {BOISE, 4300.0, 594.887},       {ALBUQUERQUE, 2000.0, 786.361},
    {ALBUQUERQUE, 2500.0, 740.569}, {ALBUQUERQUE, 3000.0, 696.798}, {ALBUQUERQUE, 3500.0, 654.810},
    {ALBUQUERQUE, 4000.0, 614.774}, {ALBUQUERQUE, 4300.0, 591.653}, {DENVER, 2000.0, 778.481},
    {DENVER, 2500.0, 732.803},      {DENVER, 3000.0, 689.112},      {DENVER, 3500.0, 647.244},
    {DENVER, 4000.0, 607.526},      {DENVER, 4300.0, 584.504},
};

static void pressure_aloft_from_the_ground_station(void **state) {
  (void)state;
  double sum = 0.0, worst = 0.0, signed_sum = 0.0;
  for (size_t i = 0; i < COUNT_OF(targets); i++) {
    const int a = targets[i].ascent;
    ta_station ground = {.elevation_m = ta_geometric_m(ascents[a].height_gp_m),
                         .temperature_k = ascents[a].t_c + 273.15,
                         .pressure_pa = ascents[a].p_hpa * 100.0,
                         .dew_point_k = ascents[a].td_c + 273.15,
                         .has_pressure = true,
                         .has_dew_point = true};
    const ta_day_reading reading = {
        .station = &ground, .station_count = 1, .lapse_rate_k_m = 0.0065};
    static ta_day day;
    ta_air air;
    assert_int_equal(ta_day_build(&reading, &day, NULL), TA_OK);
    assert_int_equal(day.cold_reading, ascents[a].inversion);
    assert_int_equal(ta_day_air(&day, ta_geometric_m(targets[i].height_gp_m), &air), TA_OK);
    const double error = air.pressure_pa / (100.0 * targets[i].p_hpa) - 1.0;
    sum += fabs(error);
    signed_sum += error;
    worst = fmax(worst, fabs(error));
    print_message("%s, %g m: %+.3f %%\n", ascents[a].name, targets[i].height_gp_m, 100.0 * error);
  }
  const size_t count = COUNT_OF(targets);
  const double n = (double)count;
  print_message("mean of the size %.3f %%, mean %+.3f %%, worst %.3f %%\n", 100.0 * sum / n,
                100.0 * signed_sum / n, 100.0 * worst);
  assert_true(sum / n < 0.003);
  assert_true(worst < 0.024);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pressure_aloft_from_the_ground_station),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
