/* test_altimetry.c - altimeter setting, station pressure, reduction, density altitude. */
#include <gsl/gsl_errno.h>

#include <stdio.h>

#include "../test.h"
#include "thinair/air.h"
#include "thinair/day.h"
#include "thinair/moist_air.h"

static const double FOOT_M = 0.3048;

/* Computed outside the project from the printed constants (T0 288.15 K, 101 325 Pa, 6.5 K/km,
 * 9.80665 m/s2, 287.05287 J/(kg K)), the pressure altitudes cross-checked with the ATMOSPHERE_1976
 * of python3-fluids.  Tolerance: half a unit of the last digit. */
static const struct {
  double station_gp_m, qnh_pa, station_pa, pressure_altitude_m;
} pairs[] = {
    {0.0, 97000.0, 97000.0000, 366.4092},      {0.0, 99000.0, 99000.0000, 195.3613},
    {0.0, 100500.0, 100500.0000, 68.9023},     {0.0, 101325.0, 101325.0000, 0.0000},
    {0.0, 102500.0, 102500.0000, -97.3535},    {0.0, 104000.0, 104000.0000, -220.3299},
    {500.0, 97000.0, 91340.4882, 866.4092},    {500.0, 99000.0, 93245.6437, 695.3613},
    {500.0, 100500.0, 94674.7452, 568.9023},   {500.0, 101325.0, 95460.8353, 500.0000},
    {500.0, 102500.0, 96580.5202, 402.6465},   {500.0, 104000.0, 98010.0769, 279.6701},
    {1000.0, 97000.0, 85951.3765, 1366.4092},  {1000.0, 99000.0, 87765.1673, 1195.3613},
    {1000.0, 100500.0, 89125.9629, 1068.9023}, {1000.0, 101325.0, 89874.5629, 1000.0000},
    {1000.0, 102500.0, 90940.9472, 902.6465},  {1000.0, 104000.0, 92302.6198, 779.6701},
    {1500.0, 97000.0, 80822.6683, 1866.4092},  {1500.0, 99000.0, 82548.4849, 1695.3613},
    {1500.0, 100500.0, 83843.5007, 1568.9023}, {1500.0, 101325.0, 84555.9941, 1500.0000},
    {1500.0, 102500.0, 85571.0410, 1402.6465}, {1500.0, 104000.0, 86867.3236, 1279.6701},
    {2000.0, 97000.0, 75944.6262, 2366.4092},  {2000.0, 99000.0, 77585.7709, 2195.3613},
    {2000.0, 100500.0, 78817.4676, 2068.9023}, {2000.0, 101325.0, 79495.2019, 2000.0000},
    {2000.0, 102500.0, 80460.8240, 1902.6465}, {2000.0, 104000.0, 81694.1464, 1779.6701},
    {2500.0, 97000.0, 71307.7681, 2866.4092},  {2500.0, 99000.0, 72867.4561, 2695.3613},
    {2500.0, 100500.0, 74038.2299, 2568.9023}, {2500.0, 101325.0, 74682.5176, 2500.0000},
    {2500.0, 102500.0, 75600.5773, 2402.6465}, {2500.0, 104000.0, 76773.3061, 2279.6701},
    {3000.0, 97000.0, 66902.8632, 3366.4092},  {3000.0, 99000.0, 68384.2242, 3195.3613},
    {3000.0, 100500.0, 69496.4077, 3068.9023}, {3000.0, 101325.0, 70108.5265, 3000.0000},
    {3000.0, 102500.0, 70980.8372, 2902.6465}, {3000.0, 104000.0, 72095.2767, 2779.6701},
    {3500.0, 97000.0, 62720.9284, 3866.4092},  {3500.0, 99000.0, 64127.0079, 3695.3613},
    {3500.0, 100500.0, 65182.8711, 3568.9023}, {3500.0, 101325.0, 65764.0644, 3500.0000},
    {3500.0, 102500.0, 66592.3909, 3402.6465}, {3500.0, 104000.0, 67650.7838, 3279.6701},
    {4000.0, 97000.0, 58753.2247, 4366.4092},  {4000.0, 99000.0, 60086.9851, 4195.3613},
    {4000.0, 100500.0, 61088.7363, 4068.9023}, {4000.0, 101325.0, 61640.2137, 4000.0000},
    {4000.0, 102500.0, 62426.2733, 3902.6465}, {4000.0, 104000.0, 63430.8019, 3779.6701},
    {4300.0, 97000.0, 56471.8880, 4666.4092},  {4300.0, 99000.0, 57763.6448, 4495.3613},
    {4300.0, 100500.0, 58733.9634, 4368.9023}, {4300.0, 101325.0, 59268.1783, 4300.0000},
    {4300.0, 102500.0, 60029.6823, 4202.6465}, {4300.0, 104000.0, 61002.9150, 4079.6701},
    {-50.0, 97000.0, 97581.2159, 316.4092},    {-50.0, 99000.0, 99590.8952, 145.3613},
    {-50.0, 100500.0, 101098.1302, 18.9023},   {-50.0, 101325.0, 101927.1007, -50.0000},
    {-50.0, 102500.0, 103107.7450, -147.3535}, {-50.0, 104000.0, 104614.9327, -270.3299},
};

static void qnh_and_station_pressure(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(pairs); i++) {
    char row[64];
    (void)snprintf(row, sizeof row, "%g m, QNH %g Pa", pairs[i].station_gp_m, pairs[i].qnh_pa);
    double pressure = 0.0, qnh = 0.0, altitude = 0.0;
    assert_int_equal(ta_station_pressure(pairs[i].qnh_pa, pairs[i].station_gp_m, &pressure), TA_OK);
    assert_int_equal(ta_qnh(pairs[i].station_pa, pairs[i].station_gp_m, &qnh), TA_OK);
    assert_int_equal(ta_pressure_altitude(pairs[i].station_pa, &altitude), TA_OK);
    bad += off(row, "station pressure", pressure, pairs[i].station_pa, 5.1e-5);
    bad += off(row, "QNH", qnh, pairs[i].qnh_pa, 1.1e-4);
    bad += off(row, "pressure altitude", altitude, pairs[i].pressure_altitude_m, 6e-5);
  }
  assert_int_equal(bad, 0);
}

/* Published examples with formulas of their own.  Tolerance by formula:
 *  - US weather service calculator, quoted in the tests of a public Scala project (aviatorsbot):
 *    QNH times ((288 - 0.0065 h)/288)^5.2561, which is exact near 1 013 hPa only: 0.25 hPa;
 *  - MetPy 1.x tests, Smithsonian formula with 0.3 hPa added: 0.45 hPa;
 *  - winds.mobi, a public test: 0.05 hPa;
 *  - av8n.com, worked examples of the FAA AWOS formula: 0.6 and 1.2 hPa, the page's own scatter. */
static const struct {
  const char *source;
  double elevation_m, qnh_hpa, station_hpa, tolerance_hpa;
} stations[] = {
    {"weather service", 304.8, 1013.0, 976.91, 0.04},
    {"weather service", 3048.0, 1013.0, 696.49, 0.25},
    {"weather service", 500.0, 990.0, 932.67, 0.25},
    {"weather service", 0.0, 1050.0, 1050.0, 1e-6},
    {"weather service", -200.0, 1013.0, 1037.27, 0.02},
    {"MetPy", 500.0, 1009.1438, 950.96498, 0.45},
    {"MetPy", 2000.0, 1000.0, 784.262996, 0.45},
    {"MetPy", 1500.0, 1005.0, 838.651657, 0.45},
    {"MetPy", 1000.0, 1010.0, 896.037821, 0.45},
    {"MetPy", 500.0, 1013.0, 954.639265, 0.45},
    {"winds.mobi", 1588.0, 1013.0, 836.25, 0.05},
    {"av8n.com", 1537.716, 30.20 * 33.8638866667, 849.77, 0.6},
    {"av8n.com", 2137.8672, 30.37 * 33.8638866667, 793.75, 1.2},
};

static void station_pressure_examples(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(stations); i++) {
    double pressure = 0.0;
    assert_int_equal(
        ta_station_pressure(stations[i].qnh_hpa * 100.0, stations[i].elevation_m, &pressure),
        TA_OK);
    bad += off(stations[i].source, "station pressure [hPa]", 0.01 * pressure,
               stations[i].station_hpa, stations[i].tolerance_hpa);
  }
  assert_int_equal(bad, 0);
}

/* ASHRAE Handbook Fundamentals 2017 ch. 1 table 1, as quoted in psychrolib's tests. */
static void standard_pressures(void **state) {
  (void)state;
  static const struct {
    double altitude_m, p_pa, tolerance;
  } rows[] = {{-500.0, 107478.0, 1.0}, {0.0, 101325.0, 0.5},   {500.0, 95461.0, 0.5},
              {1000.0, 89875.0, 0.5},  {4000.0, 61640.0, 0.5}, {10000.0, 26436.0, 0.5}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_air air;
    assert_int_equal(ta_isa_at(rows[i].altitude_m, &air), TA_OK);
    bad += off("table 1", "p", air.pressure_pa, rows[i].p_pa, rows[i].tolerance);
  }
  assert_int_equal(bad, 0);
}

/* Station pressure brought down to sea level, which a day with one station does below it.  Sources:
 * psychrolib tests (ASHRAE/WMO formula) and keisoku (a public calculator page), 6.5 K/km; MetPy
 * 1.x tests, whose figures follow from a column at the station's temperature.  Tolerance 2 Pa, and
 * 4 Pa for MetPy, whose constants differ.  Their heights do not tell geometric from geopotential;
 * geopotential is taken. */
static const struct {
  const char *source;
  double lapse_k_m, elevation_m, station_pa, t_c, sea_level_pa;
} reductions[] = {
    {"psychrolib", 0.0065, 105.0, 101226.5, 17.19, 102484.0},
    {"keisoku", 0.0065, 150.0, 100300.0, 15.0, 102097.0202},
    {"MetPy", 0.0, 500.0, 95096.498, 30.0, 100608.9},
    {"MetPy", 0.0, 2000.0, 78426.2996, -3.0, 100996.3556},
    {"MetPy", 0.0, 1500.0, 83865.1657, -2.0, 101311.9712},
    {"MetPy", 0.0, 1000.0, 89603.7821, -1.0, 101588.5397},
    {"MetPy", 0.0, 500.0, 95463.9265, 0.0, 101624.5615},
};

static void sea_level_examples(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(reductions); i++) {
    ta_station station = {.elevation_m = ta_geometric_m(reductions[i].elevation_m),
                          .temperature_k = reductions[i].t_c + 273.15,
                          .pressure_pa = reductions[i].station_pa,
                          .has_pressure = true};
    const ta_day_reading reading = {
        .station = &station, .station_count = 1, .lapse_rate_k_m = reductions[i].lapse_k_m};
    static ta_day day;
    ta_air air;
    assert_int_equal(ta_day_build(&reading, &day, NULL), TA_OK);
    assert_int_equal(ta_day_air(&day, 0.0, &air), TA_OK);
    bad += off(reductions[i].source, "sea level pressure", air.pressure_pa,
               reductions[i].sea_level_pa, reductions[i].lapse_k_m > 0.0 ? 2.0 : 4.0);
  }
  assert_int_equal(bad, 0);
}

/* Inputs: US weather service calculator, quoted in the tests of aviatorsbot.  Its own formula is
 * an approximation (up to 20 ft); the density altitude is that of a moist ideal gas in the exact
 * standard day, computed outside the project, in feet of geopotential.  Tolerance: 1.5 ft, from
 * the vapour pressure formula. */
static const struct {
  double p_hpa, t_c, td_c, density_altitude_ft, calculator_ft;
} weather_service[] = {
    {1013.0, 30.0, 20.0, 2027.18, 2044.3},
    {1013.0, 32.2222, 15.5556, 670.89 / 0.3048, 676.1 / 0.3048},
    {800.0, 50.0, -12.2222, 11547.86, 11559.6},
    {1090.0, 10.0, 5.0, -3020.90, -3001.2},
    {400.0, -40.0, -50.0, 22570.84, 22577.2},
    {400.0, -40.0, -40.0, 22574.29, 22580.6},
};

static void density_altitude_examples(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(weather_service); i++) {
    const double p = weather_service[i].p_hpa * 100.0, t = weather_service[i].t_c + 273.15;
    const double w = ta_mixing_ratio(ta_saturation_pressure(weather_service[i].td_c + 273.15), p);
    double altitude = 0.0;
    assert_int_equal(ta_density_altitude(p / (ta_moist_gas_constant(w) * t), &altitude), TA_OK);
    char row[64];
    (void)snprintf(row, sizeof row, "%g hPa, %g degC", weather_service[i].p_hpa,
                   weather_service[i].t_c);
    bad += off(row, "density altitude [ft]", altitude / FOOT_M,
               weather_service[i].density_altitude_ft, 1.5);
    bad += off(row, "calculator's [ft]", altitude / FOOT_M, weather_service[i].calculator_ft, 20.0);
  }
  assert_int_equal(bad, 0);
}

/* The standard column warmed or cooled as a whole, the pressure integrated through it from
 * 101 325 Pa at sea level; density altitude in geometric feet.
 * Source     JSBSim tests/TestDensityAltitude.py, commit cb19a988 (LGPL).  Tolerance 3 ft.
 * The rows at 30 000 ft are above the 9 000 m of a day. */
static const struct {
  double elevation_ft, offset_degr, density_altitude_ft;
} shifted[] = {
    {0.0, -27.0, -1838.3210293},   {0.0, 27.0, 1724.0715454},       {10000.0, -27.0, 8842.641773},
    {10000.0, 27.0, 11117.881412}, {20000.0, -27.0, 19524.3027252}, {20000.0, 27.0, 20511.1447732},
};

static void hydrostatic_column_of_a_shifted_day(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(shifted); i++) {
    const double offset = shifted[i].offset_degr / 1.8;
    const double top_m = 9000.0;
    ta_station pair[] = {{.elevation_m = 0.0,
                          .temperature_k = 288.15 + offset,
                          .pressure_pa = 101325.0,
                          .has_pressure = true},
                         {.elevation_m = top_m,
                          .temperature_k = 288.15 - 0.0065 * ta_geopotential_m(top_m) + offset}};
    const ta_day_reading reading = {.station = pair, .station_count = 2, .lapse_rate_k_m = 0.0065};
    static ta_day day;
    ta_air air;
    double altitude = 0.0;
    assert_int_equal(ta_day_build(&reading, &day, NULL), TA_OK);
    assert_int_equal(ta_day_air(&day, shifted[i].elevation_ft * FOOT_M, &air), TA_OK);
    assert_int_equal(ta_density_altitude(air.density_kgm3, &altitude), TA_OK);
    char row[64];
    (void)snprintf(row, sizeof row, "%g ft, %+g degR", shifted[i].elevation_ft,
                   shifted[i].offset_degr);
    bad += off(row, "density altitude [ft]", ta_geometric_m(altitude) / FOOT_M,
               shifted[i].density_altitude_ft, 3.0);
  }
  assert_int_equal(bad, 0);
}

/* Flight training pages, rounded arithmetic with 120 ft/K: 2.5 % of the answer. */
static void rules_of_thumb(void **state) {
  (void)state;
  int bad = 0;
  double altitude = 0.0, pressure = 0.0;
  /* 5 000 ft, 29.45 inHg, 35 degC: 9 070 ft. */
  assert_int_equal(ta_station_pressure(29.45 * 3386.38866667, 5000.0 * FOOT_M, &pressure), TA_OK);
  assert_int_equal(ta_density_altitude(pressure / (TA_R_DRY_JKGK * 308.15), &altitude), TA_OK);
  bad += off("5000 ft", "density altitude [ft]", altitude / FOOT_M, 9070.0, 227.0);
  /* 6 000 ft, 1 012 hPa, 15 degC: 7 467 ft. */
  assert_int_equal(ta_station_pressure(101200.0, 6000.0 * FOOT_M, &pressure), TA_OK);
  assert_int_equal(ta_density_altitude(pressure / (TA_R_DRY_JKGK * 288.15), &altitude), TA_OK);
  bad += off("6000 ft", "density altitude [ft]", altitude / FOOT_M, 7467.0, 187.0);
  /* FAA handbook of aeronautical knowledge: 29.70 inHg at sea level is 205 ft. */
  assert_int_equal(ta_pressure_altitude(29.70 * 3386.38866667, &altitude), TA_OK);
  bad += off("29.70 inHg", "pressure altitude [ft]", altitude / FOOT_M, 205.0, 3.0);
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(qnh_and_station_pressure),
      cmocka_unit_test(station_pressure_examples),
      cmocka_unit_test(standard_pressures),
      cmocka_unit_test(sea_level_examples),
      cmocka_unit_test(density_altitude_examples),
      cmocka_unit_test(hydrostatic_column_of_a_shifted_day),
      cmocka_unit_test(rules_of_thumb),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
