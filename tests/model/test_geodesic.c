/* test_geodesic.c - distances on the ellipsoid against GeographicLib's and PROJ's geodesics.
 *
 * Oracles    GeographicLib 2.0/2.2 (C. F. F. Karney): printed pairs, to 1e-9 m.
 *            PROJ's geodesic.h (the same author's, "Algorithms for geodesics", J. Geodesy 87 (2013)
 *            43): the sweep.
 * Tolerance  Rounding: sines of degrees and differences of 6.4e6 m leave some 4e-9 m.  Beyond it
 *            the method's own error, which grows with the fourth power of the leg. */
#include "thinair/geodesic.h"

#include <geodesic.h>
#include <stdio.h>

#include "../test.h"

static const double ROUNDING_M = 4e-9;

static void printed_pairs_agree(void **state) {
  (void)state;
  static const struct {
    const char *row;
    double latitude1, longitude1, latitude2, longitude2, want_m, relative;
  } pair[] = {
      {"valley to pass", 46.619, 10.592, 46.5286, 10.453, 14646.671105868, 0.0},
      {"gate to summit", 38.9213, -105.037, 38.8409, -105.0442, 8947.300927106, 0.0},
      {"1 arcsec north", 45, 7, 45.0002777778, 7, 30.869941394, 0.0},
      {"1 arcsec east", 45, 7, 45, 7.0002777778, 21.901900389, 0.0},
      {"0.1 m step", 46, 8, 46.000001, 8.000001, 0.135481283, 0.0},
      {"1 deg along the equator", 0, 0, 0, 1, 111319.490793274, 5e-12},
      {"1 deg from the equator", 0, 0, 1, 0, 110574.388557799, 5e-12},
      {"over the date line", 51, 179.9999, 51, -179.9999, 14.039535534, 0.0},
      {"coast to pass", -12.05, -77.11, -11.6, -76.18, 112909.671429539, 5e-12},
      {"harbour to summit", 19.725, -155.087, 19.8207, -155.4681, 41319.125829664, 5e-13},
      {"over an ocean", 40.6, -73.8, 51.6, -0.5, 5551759.400318679, 2e-5},
      {"same point", 46.5, 10.4, 46.5, 10.4, 0.0, 0.0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(pair); i++)
    bad += off(pair[i].row, "distance",
               ta_geodesic_distance(pair[i].latitude1, pair[i].longitude1, pair[i].latitude2,
                                    pair[i].longitude2),
               pair[i].want_m, ROUNDING_M + pair[i].relative * pair[i].want_m);
  assert_int_equal(bad, 0);
}

/* From every latitude, poles too, in every direction and over the date line. */
static void error_grows_with_the_leg_as_stated(void **state) {
  (void)state;
  static const struct {
    double leg_m, relative;
  } row[] = {{0.11, 0.0},      {1.3, 0.0},         {17.0, 0.0},     {173.0, 0.0},
             {1.07e3, 0.0},    {9.8e3, 4e-13},     {31.0e3, 4e-13}, {98.0e3, 3e-12},
             {155.0e3, 2e-11}, {300.0e3, 2.5e-10}, {990.0e3, 3e-8}, {1.97e6, 5e-7},
             {4.9e6, 2e-5}};
  struct geod_geodesic wgs84;
  geod_init(&wgs84, 6378137.0, 1.0 / 298.257223563);
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(row); i++) {
    double worst = 0.0;
    for (double latitude = -90.0; latitude <= 90.0; latitude += 1.25)
      for (double azimuth = 0.0; azimuth < 360.0; azimuth += 7.5) {
        double latitude2, longitude2, azimuth2, want;
        geod_direct(&wgs84, latitude, 179.97, azimuth, row[i].leg_m, &latitude2, &longitude2,
                    &azimuth2);
        geod_inverse(&wgs84, latitude, 179.97, latitude2, longitude2, &want, NULL, NULL);
        const double got = ta_geodesic_distance(latitude, 179.97, latitude2, longitude2);
        worst = fmax(worst, isnan(got) ? HUGE_VAL : fabs(got - want));
      }
    char name[40];
    (void)snprintf(name, sizeof name, "%g m", row[i].leg_m);
    bad += off(name, "worst error", worst, 0.0, ROUNDING_M + row[i].relative * row[i].leg_m);
  }
  assert_int_equal(bad, 0);
}

static void it_is_symmetric_and_knows_whole_turns(void **state) {
  (void)state;
  int bad = 0;
  const double there = ta_geodesic_distance(46.619, 10.592, 46.5286, 10.453);
  bad += off("back", "distance", ta_geodesic_distance(46.5286, 10.453, 46.619, 10.592), there,
             ROUNDING_M);
  bad += off("south", "distance", ta_geodesic_distance(-46.619, 10.592, -46.5286, 10.453), there,
             ROUNDING_M);
  bad += off("a turn on", "distance", ta_geodesic_distance(46.619, 10.592, 46.5286, 370.453), there,
             ROUNDING_M);
  bad += off("at the pole", "distance", ta_geodesic_distance(90.0, 13.0, 90.0, -88.0), 0.0,
             ROUNDING_M);
  assert_int_equal(bad, 0);
}

static void it_is_finite_everywhere(void **state) {
  (void)state;
  for (double latitude = -90.0; latitude <= 90.0; latitude += 7.5)
    for (double longitude = -180.0; longitude <= 180.0; longitude += 7.5) {
      const double got = ta_geodesic_distance(latitude, longitude, -latitude, longitude + 180.0);
      assert_true(got > 19.0e6 && got < 20.1e6);
    }
  assert_true(isnan(ta_geodesic_distance((double)NAN, 0.0, 0.0, 0.0)));
  assert_true(isnan(ta_geodesic_distance(0.0, 0.0, 0.0, (double)NAN)));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(printed_pairs_agree),
      cmocka_unit_test(error_grows_with_the_leg_as_stated),
      cmocka_unit_test(it_is_symmetric_and_knows_whole_turns),
      cmocka_unit_test(it_is_finite_everywhere),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
