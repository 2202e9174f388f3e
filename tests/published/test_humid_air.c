/* test_humid_air.c - water vapour against tables, other formulas and another program's grid. */
#include <gsl/gsl_errno.h>

#include <stdio.h>

#include "../test.h"
#include "thinair/air.h"
#include "thinair/moist_air.h"

#define NONE ((double)NAN)
#define MMHG_PA 133.322368 /* the conventional millimetre of mercury */

static double kelvin(double celsius) {
  return celsius + 273.15;
}

static double density(double pressure, double temperature, double ratio) {
  return pressure / (ta_moist_gas_constant(ratio) * temperature);
}

/* Sources, by column: IAPWS-IF97 region 4 by python3-iapws 1.5.2; psychrolib 1.1.1; Magnus formula
 * of WMO-No. 8 annex 4.B (2008; from memory); ASHRAE Handbook Fundamentals 2017 ch. 1 table 3 as
 * quoted in psychrolib's tests; and a page of mc-computing.com that tabulates JPL P18,
 * Goff-Gratch (WMO), Buck's original and WMO 2000. */
static const struct {
  double t_c, iapws, psychrolib, magnus, ashrae, jpl, goff_gratch, buck, wmo2000;
} saturation[] = {
    {0.0, NONE, NONE, 611.2000, NONE, 610.8, 610.695, 611.21, 610.696},
    {5.0, 872.5749, 872.4867, 871.7427, 872.6, NONE, NONE, NONE, NONE},
    {10.0, 1228.1839, 1227.9953, 1226.0302, NONE, 1227.0, 1227.09, 1227.6, 1226.13},
    {15.0, 1705.7449, 1705.4478, 1701.6720, NONE, 1704.0, 1704.2, 1704.57, 1702.18},
    {20.0, 2339.2148, 2338.8037, 2332.5960, NONE, 2337.0, 2337.08, 2337.28, 2333.3},
    {25.0, 3169.7469, 3169.2165, 3160.0569, 3169.7, NONE, NONE, NONE, NONE},
    {30.0, 4246.6883, 4246.0302, 4233.7239, NONE, 4243.0, 4242.73, 4243.51, 4231.74},
    {35.0, 5628.6201, 5627.8194, 5612.8417, NONE, NONE, NONE, NONE, NONE},
    {40.0, 7384.4275, 7383.4600, 7367.4581, NONE, 7378.0, 7377.33, 7384.18, 7349.57},
    {45.0, 9594.3888, 9593.2199, 9579.7098, NONE, NONE, NONE, NONE, NONE},
    {50.0, 12351.2704, 12349.8565, 12345.1582, 12351.3, NONE, NONE, NONE, NONE},
    {60.0, 19945.8019, 19943.7606, 19993.2875, NONE, NONE, NONE, NONE, NONE},
};

static int near_if(const char *row, const char *what, double got, double want, double tolerance) {
  return isnan(want) ? 0 : off_rel(row, what, got, want, tolerance);
}

/* Tolerance  Same formula: what is printed.  Table 3: 300 ppm.  Real water (IF97): 3.5e-4.  The
 *            other families differ among themselves by 0.1 to 0.5 %, widest at 50 and 60 degC. */
static void saturation_over_water(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(saturation); i++) {
    char row[64];
    (void)snprintf(row, sizeof row, "%g degC", saturation[i].t_c);
    const double e = ta_saturation_pressure(kelvin(saturation[i].t_c));
    bad += near_if(row, "IF97", e, saturation[i].iapws, 3.5e-4);
    bad += near_if(row, "psychrolib", e, saturation[i].psychrolib, 6e-8);
    bad += near_if(row, "Magnus", e, saturation[i].magnus, 0.003);
    bad += near_if(row, "ASHRAE table 3", e, saturation[i].ashrae, 300e-6);
    bad += near_if(row, "JPL P18", e, saturation[i].jpl, 0.0015);
    bad += near_if(row, "Goff-Gratch", e, saturation[i].goff_gratch, 0.0015);
    bad += near_if(row, "Buck", e, saturation[i].buck, 0.001);
    bad += near_if(row, "WMO 2000", e, saturation[i].wmo2000, 0.005);
  }
  assert_int_equal(bad, 0);
}

/* Below freezing, supercooled water: Magnus formula over water, WMO-No. 8 annex 4.B (from memory),
 * 611.2 Pa exp(17.62 t/(243.12 + t)), which it states for -45 to 60 degC. */
static void saturation_over_supercooled_water(void **state) {
  (void)state;
  int bad = 0;
  for (int n = 0; n < 9; n++) {
    const double t = -45.0 + 5.0 * n;
    bad += off_rel("supercooled", "e", ta_saturation_pressure(kelvin(t)),
                   611.2 * exp(17.62 * t / (243.12 + t)), 0.006);
  }
  /* Over ice at -20 degC it would be 103.26 Pa (psychrolib grid below): 18 % less. */
  assert_true(ta_saturation_pressure(253.15) > 1.2 * 103.2603786);
  assert_int_equal(bad, 0);
}

/* Source     psychrolib 1.1.1 (ASHRAE 2017 ch. 1, ideal gases), computed: every temperature of the
 *            grid at every pressure, the humidity in turn.  Its saturation is over ice below
 *            freezing, so there its vapour pressure is taken and its frost point is not.
 * Tolerance  What is printed; its gas constant is 287.042, and its dry air holds 1e-7 of vapour.
 *            The dew point is iterated there to 0.001 K. */
static const struct {
  double p_pa, t_c, rh, es_pa, e_pa, w, rho, tv_k, td_c;
} grid[] = {
    {101325.0, -20.0, 1.0, 103.2603786, 103.2603786, 6.34471176e-4, 1.393881577, 253.247570, -20.0},
    {101325.0, -10.0, 0.5, 259.902865, 129.9514325, 7.98681801e-4, 1.340778899, 263.277653,
     -17.58137175},
    {101325.0, 0.0, 0.0, 611.1535709, 0.0, 1.00000000e-7, 1.292319608, 273.150017, NONE},
    {101325.0, 10.0, 0.2, 1227.995275, 245.5990551, 0.001511179359, 1.24553647, 283.409704,
     -10.63607629},
    {101325.0, 15.0, 0.8, 1705.447794, 1364.358236, 0.008488898909, 1.21881023, 289.624351,
     11.58158854},
    {101325.0, 20.0, 1.0, 2338.8037, 2338.8037, 0.01469505165, 1.193644058, 295.730641, 20.0},
    {101325.0, 25.0, 0.5, 3169.21647, 1584.608235, 0.009881043691, 1.176958186, 299.923248,
     13.86397327},
    {101325.0, 30.0, 0.0, 4246.030244, 0.0, 1.00000000e-7, 1.164430483, 303.150018, NONE},
    {101325.0, 35.0, 0.2, 5627.819447, 1125.563889, 0.006986454818, 1.140725869, 309.449564,
     8.706690675},
    {101325.0, 40.0, 0.8, 7383.460009, 5906.768007, 0.03850086877, 1.102402997, 320.206969,
     35.87751167},
    {101325.0, 45.0, 1.0, 9593.219934, 9593.219934, 0.06504240044, 1.069816705, 329.960376, 45.0},
    {95000.0, -20.0, 0.0, 103.2603786, 0.0, 1.00000000e-7, 1.307375072, 253.150015, NONE},
    {95000.0, -10.0, 0.2, 259.902865, 51.98057299, 3.40492173e-4, 1.257433241, 263.204446,
     -26.95513215},
    {95000.0, 0.0, 0.8, 611.1535709, 488.9228567, 0.003217433716, 1.209291869, 273.682498,
     -2.682935616},
    {95000.0, 10.0, 1.0, 1227.995275, 1227.995275, 0.008144707195, 1.163145557, 284.540501, 10.0},
    {95000.0, 15.0, 0.5, 1705.447794, 852.7238972, 0.005633167376, 1.144677851, 289.131146,
     4.671921496},
    {95000.0, 20.0, 0.0, 2338.8037, 0.0, 1.00000000e-7, 1.128985159, 293.150018, NONE},
    {95000.0, 25.0, 0.2, 3169.21647, 633.843294, 0.004177511104, 1.107252067, 298.903953,
     0.5014970674},
    {95000.0, 30.0, 0.8, 4246.030244, 3396.824195, 0.0230629321, 1.076985539, 307.304052,
     26.16859324},
    {95000.0, 35.0, 1.0, 5627.819447, 5627.819447, 0.03916424713, 1.04997498, 315.209434, 35.0},
    {95000.0, 40.0, 0.5, 7383.460009, 3691.730004, 0.02514616713, 1.0413532, 317.819179,
     27.58516168},
    {95000.0, 45.0, 0.0, 9593.219934, 0.0, 1.00000000e-7, 1.040270311, 318.150019, NONE},
    {85000.0, -20.0, 0.8, 103.2603786, 82.60830286, 6.05032961e-4, 1.169326926, 253.243046,
     -22.3039461},
    {85000.0, -10.0, 1.0, 259.902865, 259.902865, 0.001907541917, 1.124003808, 263.454545, -10.0},
    {85000.0, 0.0, 0.5, 611.1535709, 305.5767854, 0.002243972467, 1.082633887, 273.521747,
     -8.163625114},
    {85000.0, 10.0, 0.0, 1227.995275, 0.0, 1.00000000e-7, 1.045819863, 283.150017, NONE},
    {85000.0, 15.0, 0.2, 1705.447794, 341.0895589, 0.002505807653, 1.026113738, 288.587806,
     -6.901727548},
    {85000.0, 20.0, 0.8, 2338.8037, 1871.04296, 0.01399856145, 1.001738423, 295.610017, 16.4470577},
    {85000.0, 25.0, 1.0, 3169.21647, 3169.21647, 0.02408724752, 0.9792045411, 302.412724, 25.0},
    {85000.0, 30.0, 0.5, 4246.030244, 2123.015122, 0.01593203037, 0.9675993858, 306.039789,
     18.44663986},
    {85000.0, 35.0, 0.0, 5627.819447, 0.0, 1.00000000e-7, 0.9609732084, 308.150019, NONE},
    {85000.0, 40.0, 0.2, 7383.460009, 1476.692002, 0.01099598698, 0.9394188289, 315.220329,
     12.78313811},
    {85000.0, 45.0, 0.8, 9593.219934, 7674.575948, 0.06172826333, 0.8989972092, 329.393583,
     40.72721812},
    {75000.0, -20.0, 0.5, 103.2603786, 51.63018929, 4.28443449e-4, 1.03186966, 253.215900,
     -27.02176166},
    {75000.0, -10.0, 0.0, 259.902865, 0.0, 1.00000000e-7, 0.9929157856, 263.150016, NONE},
    {75000.0, 0.0, 0.2, 611.1535709, 122.2307142, 0.001015265041, 0.9559759053, 273.318400,
     -18.23025037},
    {75000.0, 10.0, 0.8, 1227.995275, 982.3962204, 0.008254744629, 0.9182126817, 284.559133,
     6.713005487},
    {75000.0, 15.0, 1.0, 1705.447794, 1705.447794, 0.01447167213, 0.89897488, 290.648616, 15.0},
    {75000.0, 20.0, 0.5, 2338.8037, 1169.40185, 0.009850978481, 0.886050218, 294.888258,
     9.272392288},
    {75000.0, 25.0, 0.0, 3169.21647, 0.0, 1.00000000e-7, 0.8763568304, 298.150018, NONE},
    {75000.0, 30.0, 0.2, 4246.030244, 849.2060487, 0.007122775466, 0.8582132328, 304.453246,
     4.612818595},
    {75000.0, 35.0, 0.8, 5627.819447, 4502.255557, 0.03971978614, 0.8286744164, 315.305746,
     31.02463446},
    {75000.0, 40.0, 1.0, 7383.460009, 7383.460009, 0.06791394585, 0.8033251626, 325.255347, 40.0},
    {75000.0, 45.0, 0.5, 9593.219934, 4796.609967, 0.04249406738, 0.8014091975, 326.032950,
     32.14099849},
    {65000.0, -20.0, 0.2, 103.2603786, 20.65207572, 1.97669808e-4, 0.8944123932, 253.180411,
     -35.72666094},
    {65000.0, -10.0, 0.8, 259.902865, 207.922292, 0.001995864841, 0.8594864125, 263.468618,
     -12.48955722},
    {65000.0, 0.0, 1.0, 611.1535709, 611.1535709, 0.005903256988, 0.8260763897, 274.124403, 0.0},
    {65000.0, 10.0, 0.5, 1227.995275, 613.9976377, 0.005930990383, 0.7968886457, 284.164794,
     0.06259124364},
    {65000.0, 15.0, 0.0, 1705.447794, 0.0, 1.00000000e-7, 0.7858673739, 288.150018, NONE},
    {65000.0, 20.0, 0.2, 2338.8037, 467.76074, 0.004508156803, 0.7703620132, 293.949719,
     -3.208636383},
    {65000.0, 25.0, 0.8, 3169.21647, 2535.373176, 0.02524409014, 0.7483093575, 302.612409,
     21.30939716},
    {65000.0, 30.0, 1.0, 4246.030244, 4246.030244, 0.04346707368, 0.7285349848, 310.826113, 30.0},
    {65000.0, 35.0, 0.5, 5627.819447, 2813.909723, 0.02814290262, 0.7228349276, 313.277194,
     23.02037346},
    {65000.0, 40.0, 0.0, 7383.460009, 0.0, 1.00000000e-7, 0.7231284809, 313.150019, NONE},
    {65000.0, 45.0, 0.2, 9593.219934, 1918.643987, 0.01891669916, 0.7038211854, 321.740383,
     16.84219667},
    {60000.0, -20.0, 1.0, 103.2603786, 103.2603786, 0.001072216561, 0.8251733865, 253.314815,
     -20.0},
    {60000.0, -10.0, 0.5, 259.902865, 129.9514325, 0.001349967899, 0.793682268, 263.365647,
     -17.58137175},
    {60000.0, 0.0, 0.0, 611.1535709, 0.0, 1.00000000e-7, 0.7652521735, 273.150017, NONE},
    {60000.0, 10.0, 0.2, 1227.995275, 245.5990551, 0.00255628208, 0.7370834289, 283.588853,
     -10.63607629},
    {60000.0, 15.0, 0.8, 1705.447794, 1364.358236, 0.01447167213, 0.719179904, 290.648616,
     11.58158854},
    {60000.0, 20.0, 1.0, 2338.8037, 2338.8037, 0.02522679654, 0.7025354833, 297.534643, 20.0},
    {60000.0, 25.0, 0.5, 3169.21647, 1584.608235, 0.01687122416, 0.6940855435, 301.156890,
     13.86397327},
    {60000.0, 30.0, 0.0, 4246.030244, 0.0, 1.00000000e-7, 0.6895221217, 303.150018, NONE},
    {60000.0, 35.0, 0.2, 5627.819447, 1125.563889, 0.01189037007, 0.6735232779, 310.351031,
     8.706690675},
    {60000.0, 40.0, 0.8, 7383.460009, 5906.768007, 0.06791394585, 0.6426601301, 325.255347,
     35.87751167},
    {60000.0, 45.0, 1.0, 9593.219934, 9593.219934, 0.1183661238, 0.6172990905, 338.618098, 45.0},
};

static void grid_of_humid_air(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(grid); i++) {
    char row[64];
    (void)snprintf(row, sizeof row, "%g Pa, %g degC, %g", grid[i].p_pa, grid[i].t_c, grid[i].rh);
    const double p = grid[i].p_pa, t = kelvin(grid[i].t_c);
    double e = grid[i].e_pa;
    if (grid[i].t_c > 0.01) {
      bad += off_rel(row, "es", ta_saturation_pressure(t), grid[i].es_pa, 1e-9);
      e = grid[i].rh * ta_saturation_pressure(t);
    }
    const double w = ta_mixing_ratio(e, p), dry = e > 0.0 ? 0.0 : 1.1e-7;
    bad += off(row, "w", w, grid[i].w, 1e-8 * grid[i].w + dry);
    if (e > 0.0) bad += off_rel(row, "e", ta_vapour_pressure(grid[i].w, p), e, 1e-8);
    bad += off_rel(row, "rho", density(p, t, w), grid[i].rho * 287.042 / 287.05287, 2e-7);
    bad += off(row, "Tv", ta_virtual_temperature(t, w), grid[i].tv_k, 5e-5);
    double td;
    if (grid[i].td_c > 0.01) {
      assert_int_equal(ta_dew_point(e, &td), TA_OK);
      bad += off(row, "dew point", td, kelvin(grid[i].td_c), 0.001);
    }
  }
  assert_int_equal(bad, 0);
}

/* Density from humidity.  Tolerance: the values are of real air (CIPM and Jones 1978, with
 * compressibility and enhancement), which ideal gases meet to 0.05 %. */
static const struct {
  const char *source;
  double t_c, p_pa, rh, rho;
} from_humidity[] = {
    {"NIST SOP appendix B example 1, in R masscor's tests", 22.3, 748.1 * MMHG_PA, 0.37, 1.17194},
    {"NIST SOP appendix B example 3, in R masscor's tests", 23.4, 612.3 * MMHG_PA, 0.23, 0.95632},
    {"Mass Metrology p. 205, in R masscor's tests", 10.0, 730.0 * MMHG_PA, 0.4, 1.19569},
    {"Mass Metrology p. 205, in R masscor's tests", 40.0, 760.0 * MMHG_PA, 0.4, 1.11497},
    {"CIPM approximate formula, in R masscor's tests", 25.0, 760.0 * MMHG_PA, 0.4, 1.1787},
    {"Psychro.jl documentation, real gas", 20.0, 101325.0, 0.0, 1.20447767},
    {"Psychro.jl documentation, real gas", 20.0, 101325.0, 0.7, 1.19714361},
    {"R fieldClim tests", 20.8, 98996.13, 0.0, 1.1732},
};

/* Density at a dew point of 10 degC: a page of a construction handbook, three digits. */
static const struct {
  double t_c, rho, tolerance;
} from_dew_point[] = {
    {0.0, 1.287, 0.0012},  {10.0, 1.241, 0.0012}, {20.0, 1.199, 0.0012},
    {40.0, 1.122, 0.0035}, {60.0, 1.055, 0.0035},
};

static void published_densities(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(from_humidity); i++) {
    const double p = from_humidity[i].p_pa, t = kelvin(from_humidity[i].t_c);
    const double w = ta_mixing_ratio(from_humidity[i].rh * ta_saturation_pressure(t), p);
    bad += off_rel(from_humidity[i].source, "rho", density(p, t, w), from_humidity[i].rho, 5e-4);
  }
  for (size_t i = 0; i < COUNT_OF(from_dew_point); i++) {
    const double p = 760.0 * MMHG_PA;
    const double w = ta_mixing_ratio(ta_saturation_pressure(kelvin(10.0)), p);
    bad += off("dew point 10 degC", "rho", density(p, kelvin(from_dew_point[i].t_c), w),
               from_dew_point[i].rho, from_dew_point[i].tolerance);
  }
  assert_int_equal(bad, 0);
}

/* Source  ASHRAE Handbook Fundamentals 2017 ch. 1, as quoted in psychrolib's tests. */
static void ashrae_examples(void **state) {
  (void)state;
  int bad = 0;
  double e, w, td;
  /* Table 2, saturated, real gas: the enhancement factor is 0.4 to 0.6 % of it. */
  e = ta_saturation_pressure(kelvin(5.0));
  bad += off("5 degC", "ws", ta_mixing_ratio(e, 101325.0), 0.005425, 0.00012);
  e = ta_saturation_pressure(kelvin(25.0));
  bad += off("25 degC", "ws", ta_mixing_ratio(e, 101325.0), 0.020173, 0.00012);
  e = ta_saturation_pressure(kelvin(50.0));
  bad += off("50 degC", "ws", ta_mixing_ratio(e, 101325.0), 0.086863, 0.0006);
  bad += off("25 degC dry", "v", 1.0 / density(101325.0, kelvin(25.0), 0.0), 0.8443, 0.0005);
  bad += off("3169.7 Pa", "w", ta_mixing_ratio(3169.7, 95461.0), 0.0213603998, 6e-11);
  /* Its gas constant is 287.042: 4e-5. */
  const double rho = density(95461.0, kelvin(30.0), 0.02);
  bad += off("30 degC, 0.02", "rho", rho, 1.084119863, 5e-5);
  bad += off("30 degC, 0.02", "v per kg dry", 1.02 / rho, 0.940855374, 4e-5);
  /* Example 1, read off a chart: dry bulb 40 degC, wet bulb 20 degC; eq. (33) for the latter. */
  w = ta_mixing_ratio(ta_saturation_pressure(kelvin(20.0)), 101325.0);
  w = ((2501.0 - 2.326 * 20.0) * w - 1.006 * (40.0 - 20.0)) / (2501.0 + 1.86 * 40.0 - 4.186 * 20.0);
  bad += off("example 1", "w", w, 0.0065, 1e-4);
  e = ta_vapour_pressure(w, 101325.0);
  assert_int_equal(ta_dew_point(e, &td), TA_OK);
  bad += off("example 1", "dew point", td, kelvin(7.0), 0.5);
  bad += off("example 1", "humidity", e / ta_saturation_pressure(kelvin(40.0)), 0.14, 0.01);
  bad += off("example 1", "v per kg dry", (1.0 + w) / density(101325.0, kelvin(40.0), w), 0.896,
             0.002);
  assert_int_equal(bad, 0);
}

static void virtual_temperatures(void **state) {
  (void)state;
  int bad = 0;
  /* UFPR course notes, with T (1 + 0.61 w). */
  bad +=
      off("30 degC, 0.020", "Tv", ta_virtual_temperature(kelvin(30.0), 0.020), kelvin(33.7), 0.1);
  /* AMS Glossary of Meteorology: Tv = T (1 + w/eps)/(1 + w), eps 0.622. */
  bad += off("12.7 degC, 0.0083", "Tv", ta_virtual_temperature(kelvin(12.7), 0.0083),
             kelvin(12.7) * (1.0 + 0.0083 / 0.622) / 1.0083, 5e-4);
  assert_int_equal(bad, 0);
}

/* IAPWS-IF97 check value, saturation at 300 K: 3536.58941 Pa (from memory). */
static void saturation_at_300_k(void **state) {
  (void)state;
  assert_int_equal(off_rel("300 K", "e", ta_saturation_pressure(300.0), 3536.58941, 3e-4), 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(saturation_over_water), cmocka_unit_test(saturation_over_supercooled_water),
      cmocka_unit_test(grid_of_humid_air),     cmocka_unit_test(published_densities),
      cmocka_unit_test(ashrae_examples),       cmocka_unit_test(virtual_temperatures),
      cmocka_unit_test(saturation_at_300_k),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
