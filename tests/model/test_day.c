/* test_day.c - the day's air: a fine integration beside it, limits, every warning and refusal. */
#include <gsl/gsl_errno.h>

#include <stdio.h>

#include "../test.h"
#include "thinair/day.h"
#include "thinair/moist_air.h"

static const double LAPSE = 0.0065;

static ta_diagnostics said; /* cleared by each use */

static ta_station dry(double elevation, double temperature, double pressure) {
  return (ta_station){.elevation_m = elevation,
                      .temperature_k = temperature,
                      .pressure_pa = pressure,
                      .has_pressure = pressure > 0.0};
}

static ta_station humid(double elevation, double temperature, double pressure, double humidity) {
  ta_station s = dry(elevation, temperature, pressure);
  s.humidity = humidity;
  s.has_humidity = true;
  return s;
}

static ta_status build(ta_station *stations, size_t count, double lapse, ta_day *day) {
  ta_diagnostics_clear(&said);
  const ta_day_reading reading = {
      .station = stations, .station_count = count, .lapse_rate_k_m = lapse};
  return ta_day_build(&reading, day, &said);
}

static ta_status build_isa(double offset, double humidity, ta_day *day) {
  ta_diagnostics_clear(&said);
  const ta_day_reading reading = {.isa_offset_k = offset, .isa_humidity = humidity};
  return ta_day_build(&reading, day, &said);
}

static ta_air air_at(const ta_day *day, double elevation) {
  ta_air air = {0};
  assert_int_equal(ta_day_air(day, elevation, &air), TA_OK);
  return air;
}

static double humidity_of(const ta_air *air) {
  return ta_vapour_pressure(air->mixing_ratio, air->pressure_pa) /
         ta_saturation_pressure(air->temperature_k);
}

static bool mentions(size_t item, const char *words) {
  return item < said.count && strstr(said.item[item].text, words) != NULL;
}

/* ---- the standard day ---- */

static void standard_day(void **state) {
  (void)state;
  static ta_day day;
  assert_int_equal(build_isa(0.0, 0.0, &day), TA_OK);
  assert_true(day.standard && day.humidity_known && !day.cold_reading && !day.stations_disagree);
  assert_true(day.top_station_m == HUGE_VAL);
  assert_int_equal(said.count, 0);
  for (int n = 0; n < 81; n++) {
    const double z = -2000.0 + 137.5 * n;
    ta_air want;
    assert_int_equal(ta_isa_at(ta_geopotential_m(z), &want), TA_OK);
    const ta_air air = air_at(&day, z);
    assert_memory_equal(&air, &want, sizeof air);
  }
}

static void offset_moves_the_thermometer_alone(void **state) {
  (void)state;
  static ta_day day;
  int bad = 0;
  assert_int_equal(build_isa(17.3, 0.63, &day), TA_OK);
  assert_int_equal(said.count, 0);
  for (int n = 0; n < 22; n++) {
    const double z = -2000.0 + 511.0 * n;
    ta_air standard;
    assert_int_equal(ta_isa_at(ta_geopotential_m(z), &standard), TA_OK);
    const ta_air air = air_at(&day, z);
    assert_true(air.pressure_pa == standard.pressure_pa);
    bad += off("offset", "T", air.temperature_k, standard.temperature_k + 17.3, 1e-12);
    bad += off("constant", "humidity", humidity_of(&air), 0.63, 1e-12);
    bad += off_rel(
        "moist", "rho", air.density_kgm3,
        air.pressure_pa / (287.05287 * ta_virtual_temperature(air.temperature_k, air.mixing_ratio)),
        1e-14);
  }
  assert_int_equal(bad, 0);
}

static void cold_standard_day_warns(void **state) {
  (void)state;
  static ta_day day;
  assert_int_equal(build_isa(-20.0, 0.0, &day), TA_OK);
  assert_int_equal(said.count, 1);
  assert_int_equal(said.errors, 0);
  assert_string_equal(said.item[0].key, "isa.offset");
  assert_true(mentions(0, "3.9 % at 4,050 m and -20 K") && mentions(0, "shaft faster"));

  /* And it is 3.9 %: the same temperatures read at two stations, the pressure integrated. */
  static ta_day real;
  const double top = 288.15 - LAPSE * ta_geopotential_m(4050.0) - 20.0;
  ta_station pair[] = {dry(0.0, 268.15, 101325.0), dry(4050.0, top, 0.0)};
  assert_int_equal(build(pair, 2, LAPSE, &real), TA_OK);
  assert_int_equal(off("4 050 m", "share",
                       1.0 - air_at(&real, 4050.0).pressure_pa / air_at(&day, 4050.0).pressure_pa,
                       0.039, 0.0005),
                   0);
}

/* ---- the column against a fine integration ---- */

/* The profile again, in the words of its definition and in steps of 1 m (fourth order). */
typedef struct {
  const ta_station *s; /* in rising order */
  size_t count;
  double lapse;
  bool warmer_of_isa;
  double ratio[8]; /* of the stations that give humidity */
} profile;

static double temperature_of(const profile *p, double h) {
  const double low = ta_geopotential_m(p->s[0].elevation_m);
  const double top = ta_geopotential_m(p->s[p->count - 1].elevation_m);
  if (h < low) return p->s[0].temperature_k + p->lapse * (low - h);
  if (h > top) {
    const double t = p->s[p->count - 1].temperature_k - p->lapse * (h - top);
    return p->warmer_of_isa ? fmax(t, 288.15 - 0.0065 * h) : t;
  }
  for (size_t i = 1; i < p->count; i++) {
    const double a = ta_geopotential_m(p->s[i - 1].elevation_m);
    const double b = ta_geopotential_m(p->s[i].elevation_m);
    if (h <= b)
      return (p->s[i - 1].temperature_k * (b - h) + p->s[i].temperature_k * (h - a)) / (b - a);
  }
  return p->s[0].temperature_k;
}

static double ratio_of(const profile *p, double h, double log_pressure) {
  double below = -HUGE_VAL, above = HUGE_VAL, w_below = 0.0, w_above = 0.0;
  for (size_t i = 0; i < p->count; i++) {
    const double at = ta_geopotential_m(p->s[i].elevation_m);
    if (!p->s[i].has_humidity) continue;
    if (at <= h) below = at, w_below = p->ratio[i];
    if (at >= h && above == HUGE_VAL) above = at, w_above = p->ratio[i];
  }
  double w = isfinite(below) ? w_below : w_above;
  if (isfinite(below) && isfinite(above) && above > below)
    w = (w_below * (above - h) + w_above * (h - below)) / (above - below);
  return fmin(w, ta_mixing_ratio(ta_saturation_pressure(temperature_of(p, h)), exp(log_pressure)));
}

static double slope_of(const profile *p, double h, double log_pressure) {
  const double tv = ta_virtual_temperature(temperature_of(p, h), ratio_of(p, h, log_pressure));
  return -9.80665 / (287.05287 * tv);
}

static double integrate_to(const profile *p, double h, double log_pressure, double target) {
  const int steps = (int)ceil(fabs(target - h)) + 1;
  const double d = (target - h) / steps;
  for (int i = 0; i < steps; i++) {
    const double at = h + i * d;
    const double k1 = slope_of(p, at, log_pressure);
    const double k2 = slope_of(p, at + d / 2.0, log_pressure + k1 * d / 2.0);
    const double k3 = slope_of(p, at + d / 2.0, log_pressure + k2 * d / 2.0);
    const double k4 = slope_of(p, at + d, log_pressure + k3 * d);
    log_pressure += d * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
  }
  return log_pressure;
}

static ta_station columns[][3] = {
    {{.elevation_m = 1450.0,
      .temperature_k = 290.15,
      .pressure_pa = 85300.0,
      .has_pressure = true}},
    {{.elevation_m = 1450.0,
      .temperature_k = 290.15,
      .pressure_pa = 85300.0,
      .humidity = 0.45,
      .has_pressure = true,
      .has_humidity = true},
     {.elevation_m = 4050.0, .temperature_k = 276.15}},
    {{.elevation_m = 113.0,
      .temperature_k = 306.4,
      .pressure_pa = 100210.0,
      .humidity = 0.93,
      .has_pressure = true,
      .has_humidity = true}},
    {{.elevation_m = 870.0,
      .temperature_k = 296.2,
      .pressure_pa = 91740.0,
      .humidity = 1.0,
      .has_pressure = true,
      .has_humidity = true},
     {.elevation_m = 2310.0, .temperature_k = 288.8, .humidity = 1.0, .has_humidity = true},
     {.elevation_m = 3920.0, .temperature_k = 279.1, .humidity = 0.22, .has_humidity = true}},
    {{.elevation_m = 640.0,
      .temperature_k = 268.3,
      .pressure_pa = 94710.0,
      .humidity = 0.88,
      .has_pressure = true,
      .has_humidity = true}},
    {{.elevation_m = 210.0, .temperature_k = 283.4, .pressure_pa = 99120.0, .has_pressure = true},
     {.elevation_m = 730.0, .temperature_k = 291.7, .humidity = 0.71, .has_humidity = true},
     {.elevation_m = 2875.0, .temperature_k = 271.2}},
};
static const struct {
  const char *name;
  size_t count;
  double lapse;
  bool cold;
} cases[] = {
    {"dry", 1, 0.0065, false},
    {"two stations", 2, 0.0065, false},
    {"tropical, saturates aloft", 1, 0.0058, false},
    {"saturated between", 3, 0.0071, false},
    {"cold valley, low lapse rate", 1, 0.0047, true},
    {"inversion, humidity aloft only", 3, 0.0065, false},
};

static void a_fine_integration_agrees(void **state) {
  (void)state;
  int bad = 0;
  double worst = 0.0;
  for (size_t c = 0; c < COUNT_OF(cases); c++) {
    static ta_day day;
    assert_int_equal(build(columns[c], cases[c].count, cases[c].lapse, &day), TA_OK);
    assert_int_equal(day.cold_reading, cases[c].cold);
    profile p = {columns[c], cases[c].count, cases[c].lapse, cases[c].cold, {0}};
    const double from = ta_geopotential_m(p.s[0].elevation_m), start = log(p.s[0].pressure_pa);
    /* Mixing ratio where no pressure was read: by the integration itself, until it stands. */
    for (int round = 0; round < 8; round++)
      for (size_t i = 0; i < p.count; i++) {
        const double at = ta_geopotential_m(p.s[i].elevation_m);
        const double e = p.s[i].humidity * ta_saturation_pressure(p.s[i].temperature_k);
        if (p.s[i].has_humidity)
          p.ratio[i] = ta_mixing_ratio(e, exp(integrate_to(&p, from, start, at)));
      }
    double log_pressure = start, h = from;
    double z = p.s[0].elevation_m;
    while (z > -2000.0) {
      z = fmax(z - 61.7, -2000.0);
      log_pressure = integrate_to(&p, h, log_pressure, ta_geopotential_m(z));
      h = ta_geopotential_m(z);
      const double got = air_at(&day, z).pressure_pa;
      worst = fmax(worst, fabs(got / exp(log_pressure) - 1.0));
      bad += off_rel(cases[c].name, "p below", got, exp(log_pressure), 1e-5);
    }
    log_pressure = start, h = from;
    z = p.s[0].elevation_m;
    while (z < 9000.0) {
      z = fmin(z + 61.7, 9000.0);
      log_pressure = integrate_to(&p, h, log_pressure, ta_geopotential_m(z));
      h = ta_geopotential_m(z);
      const ta_air air = air_at(&day, z);
      worst = fmax(worst, fabs(air.pressure_pa / exp(log_pressure) - 1.0));
      bad += off_rel(cases[c].name, "p", air.pressure_pa, exp(log_pressure), 1e-5);
      bad += off(cases[c].name, "T", air.temperature_k, temperature_of(&p, h), 1e-9);
      bad += off(cases[c].name, "w", air.mixing_ratio, ratio_of(&p, h, log_pressure), 1e-6);
    }
  }
  print_message("worst %.2g of the pressure\n", worst);
  assert_int_equal(bad, 0);
}

/* ---- what was read is met, what was not follows the rule ---- */

static void readings_are_met(void **state) {
  (void)state;
  static ta_day day;
  int bad = 0;
  ta_station s[] = {humid(1450.0, 290.15, 85300.0, 0.45), humid(2780.0, 279.6, 72610.0, 0.81),
                    dry(4050.0, 276.15, 0.0)};
  assert_int_equal(build(s, 3, LAPSE, &day), TA_OK);
  assert_true(day.humidity_known && !day.standard && !day.cold_reading);
  bad += off("top station", "z", day.top_station_m, 4050.0, 1e-9);
  for (size_t i = 0; i < 3; i++) {
    const ta_air air = air_at(&day, s[i].elevation_m);
    bad += off("station", "T", air.temperature_k, s[i].temperature_k, 1e-10);
    if (s[i].has_pressure) bad += off_rel("station", "p", air.pressure_pa, s[i].pressure_pa, 1e-11);
    if (s[i].has_humidity)
      bad += off("station", "humidity", humidity_of(&air), s[i].humidity, 1e-9);
  }
  /* Beyond: the lapse rate, and the nearest humid station's mixing ratio. */
  const double climb = ta_geopotential_m(5000.0) - ta_geopotential_m(4050.0);
  const double drop = ta_geopotential_m(1450.0) - ta_geopotential_m(300.0);
  bad += off("above", "T", air_at(&day, 5000.0).temperature_k, 276.15 - 0.0065 * climb, 1e-9);
  bad += off("below", "T", air_at(&day, 300.0).temperature_k, 290.15 + 0.0065 * drop, 1e-9);
  bad += off("above", "w", air_at(&day, 3100.0).mixing_ratio, air_at(&day, 2780.0).mixing_ratio,
             1e-12);
  bad +=
      off("below", "w", air_at(&day, 300.0).mixing_ratio, air_at(&day, 1450.0).mixing_ratio, 1e-12);
  /* Between: linear in geopotential height. */
  const double middle =
      ta_geometric_m((ta_geopotential_m(1450.0) + ta_geopotential_m(2780.0)) / 2.0);
  bad += off("between", "T", air_at(&day, middle).temperature_k, (290.15 + 279.6) / 2.0, 1e-9);
  bad += off("between", "w", air_at(&day, middle).mixing_ratio,
             (air_at(&day, 1450.0).mixing_ratio + air_at(&day, 2780.0).mixing_ratio) / 2.0, 1e-9);
  assert_int_equal(bad, 0);
}

static void order_does_not_matter(void **state) {
  (void)state;
  static ta_day rising, shuffled;
  ta_station a = humid(1450.0, 290.15, 85300.0, 0.45), b = humid(2780.0, 279.6, 72610.0, 0.81),
             c = dry(4050.0, 276.15, 0.0);
  ta_station up[] = {a, b, c}, mixed[] = {c, a, b};
  assert_int_equal(build(up, 3, LAPSE, &rising), TA_OK);
  assert_int_equal(build(mixed, 3, LAPSE, &shuffled), TA_OK);
  for (int n = 0; n < 64; n++) {
    const double z = -2000.0 + 173.0 * n;
    const ta_air one = air_at(&rising, z), other = air_at(&shuffled, z);
    assert_memory_equal(&one, &other, sizeof one);
  }
}

static void two_ways_of_saying_it(void **state) {
  (void)state;
  static ta_day one, other;
  int bad = 0;
  ta_station a = humid(1450.0, 290.15, 0.0, 0.45), b = a;
  assert_int_equal(ta_station_pressure(101900.0, ta_geopotential_m(1450.0), &a.pressure_pa), TA_OK);
  a.has_pressure = true;
  b.qnh_pa = 101900.0;
  b.has_qnh = true;
  b.has_humidity = false;
  b.has_dew_point = true;
  assert_int_equal(ta_dew_point(0.45 * ta_saturation_pressure(290.15), &b.dew_point_k), TA_OK);
  assert_int_equal(build(&a, 1, LAPSE, &one), TA_OK);
  assert_int_equal(build(&b, 1, LAPSE, &other), TA_OK);
  for (int n = 0; n < 64; n++) {
    const double z = -2000.0 + 173.0 * n;
    bad += off_rel("QNH and dew point", "rho", air_at(&one, z).density_kgm3,
                   air_at(&other, z).density_kgm3, 1e-11);
  }
  assert_int_equal(bad, 0);
}

static void dry_is_moist_with_nothing(void **state) {
  (void)state;
  static ta_day one, other;
  ta_station a = dry(1450.0, 290.15, 85300.0), b = humid(1450.0, 290.15, 85300.0, 0.0);
  assert_int_equal(build(&a, 1, LAPSE, &one), TA_OK);
  assert_int_equal(build(&b, 1, LAPSE, &other), TA_OK);
  assert_false(one.humidity_known);
  assert_true(other.humidity_known);
  int bad = 0;
  for (int n = 0; n < 64; n++) {
    const double z = -2000.0 + 173.0 * n;
    assert_true(air_at(&one, z).mixing_ratio == 0.0);
    bad +=
        off_rel("dry", "rho", air_at(&one, z).density_kgm3, air_at(&other, z).density_kgm3, 1e-14);
  }
  /* The standard day read at one station is the standard day. */
  ta_station sea = dry(0.0, 288.15, 101325.0);
  assert_int_equal(build(&sea, 1, LAPSE, &one), TA_OK);
  for (int n = 0; n < 64; n++) {
    const double z = -2000.0 + 173.0 * n;
    ta_air standard;
    assert_int_equal(ta_isa_at(ta_geopotential_m(z), &standard), TA_OK);
    bad += off_rel("standard", "p", air_at(&one, z).pressure_pa, standard.pressure_pa, 1e-11);
  }
  assert_int_equal(bad, 0);
}

static void mismatch_is_shared_linearly(void **state) {
  (void)state;
  static ta_day one, two;
  int bad = 0;
  ta_station s[] = {dry(1450.0, 290.15, 85300.0), dry(4050.0, 276.15, 0.0)};
  assert_int_equal(build(s, 2, LAPSE, &one), TA_OK);
  const double hydrostatic = air_at(&one, 4050.0).pressure_pa;
  s[1].pressure_pa = hydrostatic - 250.0;
  s[1].has_pressure = true;
  assert_int_equal(build(s, 2, LAPSE, &two), TA_OK);
  const double whole = log(s[1].pressure_pa / hydrostatic);
  const double low = ta_geopotential_m(1450.0), high = ta_geopotential_m(4050.0);
  for (int n = 0; n < 64; n++) {
    const double z = -2000.0 + 173.0 * n;
    const double part = fmin(fmax((ta_geopotential_m(z) - low) / (high - low), 0.0), 1.0);
    bad += off("shared", "ln p", log(air_at(&two, z).pressure_pa / air_at(&one, z).pressure_pa),
               part * whole, 2e-8);
  }
  /* Reported: 2.5 hPa, and 250 Pa/(rho g0) in metres; the reading is low, so it stands higher. */
  char metres[32];
  const double rho = hydrostatic / (287.05287 * 276.15);
  (void)snprintf(metres, sizeof metres, "stood %.0f m higher", 250.0 / (rho * 9.80665));
  assert_int_equal(said.count, 1);
  assert_int_equal(said.item[0].severity, TA_WARNING);
  assert_string_equal(said.item[0].key, "stations[1].pressure");
  assert_string_equal(said.item[0].also_key, "stations[0].pressure");
  assert_true(mentions(0, "2.5 hPa less") && mentions(0, metres));
  assert_true(two.stations_disagree && !one.stations_disagree);

  s[1].pressure_pa = hydrostatic + 250.0;
  assert_int_equal(build(s, 2, LAPSE, &two), TA_OK);
  assert_true(mentions(0, "2.5 hPa more") && mentions(0, "m lower"));
  /* 1 hPa is the edge. */
  s[1].pressure_pa = hydrostatic + 99.0;
  assert_int_equal(build(s, 2, LAPSE, &two), TA_OK);
  assert_int_equal(said.count, 0);
  assert_false(two.stations_disagree);
  s[1].pressure_pa = hydrostatic + 101.0;
  assert_int_equal(build(s, 2, LAPSE, &two), TA_OK);
  assert_int_equal(said.count, 1);
  assert_int_equal(bad, 0);
}

/* A station without pressure in between does not part the two that share a mismatch. */
static void mismatch_reaches_over_a_station(void **state) {
  (void)state;
  static ta_day day;
  ta_station s[] = {dry(1450.0, 290.15, 85300.0), dry(2700.0, 283.0, 0.0),
                    dry(4050.0, 276.15, 61400.0)};
  s[2].has_pressure = false;
  s[2].has_qnh = true;
  s[2].qnh_pa = 104300.0;
  assert_int_equal(build(s, 3, LAPSE, &day), TA_OK);
  assert_int_equal(said.count, 1);
  assert_string_equal(said.item[0].key, "stations[2].qnh");
  assert_string_equal(said.item[0].also_key, "stations[0].pressure");
}

/* Three stations with pressure: each pair shares its own mismatch. */
static void mismatches_pair_by_pair(void **state) {
  (void)state;
  static ta_day day;
  ta_station s[] = {dry(1450.0, 290.15, 85300.0), dry(2700.0, 283.0, 0.0), dry(4050.0, 276.15, 0.0),
                    dry(4300.0, 274.5, 0.0)};
  assert_int_equal(build(s, 4, LAPSE, &day), TA_OK);
  for (size_t i = 1; i < 4; i++) {
    s[i].pressure_pa = air_at(&day, s[i].elevation_m).pressure_pa - (i > 1 ? 150.0 : 0.0);
    s[i].has_pressure = true;
  }
  assert_int_equal(build(s, 4, LAPSE, &day), TA_OK);
  assert_int_equal(said.count, 1);
  assert_string_equal(said.item[0].key, "stations[2].pressure");
  assert_string_equal(said.item[0].also_key, "stations[1].pressure");
  assert_true(mentions(0, "1.5 hPa less"));
}

static void pressure_falls_and_air_is_never_oversaturated(void **state) {
  (void)state;
  for (size_t c = 0; c < COUNT_OF(cases); c++) {
    static ta_day day;
    assert_int_equal(build(columns[c], cases[c].count, cases[c].lapse, &day), TA_OK);
    double last = HUGE_VAL;
    for (int n = 0; n < 3549; n++) {
      const double z = -2000.0 + 3.1 * n;
      const ta_air air = air_at(&day, z);
      assert_true(air.pressure_pa < last);
      assert_true(humidity_of(&air) < 1.0 + 1e-12);
      last = air.pressure_pa;
    }
  }
}

static void layers_meet(void **state) {
  (void)state;
  int bad = 0;
  for (size_t c = 0; c < COUNT_OF(cases); c++) {
    static ta_day day;
    assert_int_equal(build(columns[c], cases[c].count, cases[c].lapse, &day), TA_OK);
    assert_true(day.count > 44);
    for (size_t i = 1; i + 1 < day.count; i++) {
      const double h = day.level[i].height_gp_m, z = ta_geometric_m(h);
      assert_true(h - day.level[i - 1].height_gp_m <= 250.0 + 1e-9);
      double below = z, above = z;
      while (ta_geopotential_m(below) >= h) below = nextafter(below, -HUGE_VAL);
      while (ta_geopotential_m(above) <= h) above = nextafter(above, HUGE_VAL);
      const ta_air a = air_at(&day, below), b = air_at(&day, above);
      bad += off_rel(cases[c].name, "p", b.pressure_pa, a.pressure_pa, 1e-13);
      if (cases[c].cold && fabs(z - columns[c][0].elevation_m) < 1e-6) continue; /* the jump */
      bad += off_rel(cases[c].name, "T", b.temperature_k, a.temperature_k, 1e-13);
      bad += off(cases[c].name, "w", b.mixing_ratio, a.mixing_ratio, 1e-14);
    }
  }
  assert_int_equal(bad, 0);
}

/* ---- traps that are answered with a warning ---- */

static void one_cold_valley_reading(void **state) {
  (void)state;
  static ta_day day;
  int bad = 0;
  const double h = ta_geopotential_m(640.0), standard = 288.15 - 0.0065 * h;
  ta_station valley = dry(640.0, standard - 8.01, 94710.0);
  assert_int_equal(build(&valley, 1, LAPSE, &day), TA_OK);
  assert_true(day.cold_reading);
  assert_int_equal(said.count, 1);
  assert_int_equal(said.item[0].severity, TA_WARNING);
  assert_string_equal(said.item[0].key, "stations[0].temperature");
  assert_true(mentions(0, "8.0 K below the standard day") && mentions(0, "unsafe"));
  bad += off("there", "T", air_at(&day, 640.0).temperature_k, standard - 8.01, 1e-9);
  bad += off("below", "T", air_at(&day, 0.0).temperature_k, standard - 8.01 + 0.0065 * h, 1e-9);
  for (int n = 0; n < 23; n++) {
    const double z = 641.0 + 371.0 * n;
    bad += off("above", "T", air_at(&day, z).temperature_k, 288.15 - 0.0065 * ta_geopotential_m(z),
               1e-9);
  }
  bad += off_rel("there", "p", air_at(&day, 640.0).pressure_pa, 94710.0, 1e-12);

  /* The reading's own extrapolation, where that is the warmer. */
  assert_int_equal(build(&valley, 1, 0.004, &day), TA_OK);
  bad += off("far above", "T", air_at(&day, 8000.0).temperature_k,
             standard - 8.01 - 0.004 * (ta_geopotential_m(8000.0) - h), 1e-9);
  bad += off("just above", "T", air_at(&day, 3000.0).temperature_k,
             288.15 - 0.0065 * ta_geopotential_m(3000.0), 1e-9);

  /* Not so cold, or not alone. */
  valley.temperature_k = standard - 7.99;
  assert_int_equal(build(&valley, 1, LAPSE, &day), TA_OK);
  assert_true(!day.cold_reading && said.count == 0);
  bad += off("as read", "T", air_at(&day, 3000.0).temperature_k,
             standard - 7.99 - 0.0065 * (ta_geopotential_m(3000.0) - h), 1e-9);
  ta_station pair[] = {dry(640.0, standard - 12.0, 94710.0), dry(2600.0, 262.0, 0.0)};
  assert_int_equal(build(pair, 2, LAPSE, &day), TA_OK);
  assert_true(!day.cold_reading && said.count == 0);
  assert_int_equal(bad, 0);
}

static void cold_reading_at_the_ends_of_the_column(void **state) {
  (void)state;
  static ta_day day;
  ta_air standard;
  assert_int_equal(ta_isa_at(ta_geopotential_m(-2000.0), &standard), TA_OK);
  ta_station bottom = dry(-2000.0, 280.0, standard.pressure_pa);
  assert_int_equal(build(&bottom, 1, LAPSE, &day), TA_OK);
  assert_int_equal(off("floor", "T", air_at(&day, -2000.0).temperature_k, 280.0, 1e-9), 0);
  assert_int_equal(
      off_rel("floor", "p", air_at(&day, -2000.0).pressure_pa, standard.pressure_pa, 1e-12), 0);
  assert_true(air_at(&day, -1999.0).temperature_k > 301.0);
  assert_int_equal(ta_isa_at(ta_geopotential_m(9000.0), &standard), TA_OK);
  ta_station top = dry(9000.0, 210.0, standard.pressure_pa);
  assert_int_equal(build(&top, 1, LAPSE, &day), TA_OK);
  assert_int_equal(off("ceiling", "T", air_at(&day, 9000.0).temperature_k, 210.0, 1e-9), 0);
}

static void superadiabatic_stations_warn(void **state) {
  (void)state;
  static ta_day day;
  ta_station s[] = {dry(1450.0, 290.15, 85300.0), dry(2450.0, 0.0, 0.0)};
  const double climb = ta_geopotential_m(2450.0) - ta_geopotential_m(1450.0);
  s[1].temperature_k = 290.15 - 0.0098 * climb - 1.99;
  assert_int_equal(build(s, 2, LAPSE, &day), TA_OK);
  assert_true(said.count == 0 && !day.stations_disagree);
  s[1].temperature_k = 290.15 - 0.0098 * climb - 2.01;
  assert_int_equal(build(s, 2, LAPSE, &day), TA_OK);
  assert_int_equal(said.count, 1);
  assert_int_equal(said.item[0].severity, TA_WARNING);
  assert_string_equal(said.item[0].key, "stations[1].temperature");
  assert_string_equal(said.item[0].also_key, "stations[0].temperature");
  assert_true(mentions(0, "stations disagree") && day.stations_disagree);
}

static void keys_carry_the_scope(void **state) {
  (void)state;
  static ta_day day;
  ta_station s[] = {dry(2450.0, 270.0, 0.0), dry(1450.0, 290.15, 85300.0)};
  const ta_day_reading reading = {.station = s, .station_count = 2, .lapse_rate_k_m = LAPSE};
  ta_diagnostics_clear(&said);
  (void)snprintf(said.scope, sizeof said.scope, "day.");
  assert_int_equal(ta_day_build(&reading, &day, &said), TA_OK);
  assert_int_equal(said.count, 1);
  /* The indices are the reading's, whatever the order. */
  assert_string_equal(said.item[0].key, "day.stations[0].temperature");
  assert_string_equal(said.item[0].also_key, "day.stations[1].temperature");
}

/* ---- refusals ---- */

/* One change to a sound pair of stations; what is said about it. */
typedef enum {
  ELEVATION,
  TEMPERATURE,
  PRESSURE,
  QNH,
  HUMIDITY,
  DEW_POINT,
  NO_PRESSURE,
  OTHER_ELEVATION,
  OTHER_PRESSURE,
  LAPSE_RATE
} change;

#define NOT_A_NUMBER ((double)NAN)
#define INFINITE ((double)INFINITY)

static bool untouched(const ta_day *day) {
  const unsigned char *byte = (const unsigned char *)day;
  for (size_t i = 0; i < sizeof *day; i++)
    if (byte[i] != 0x5a) return false;
  return true;
}

static const struct {
  const char *row;
  change what;
  double value;
  const char *key, *also_key, *words;
} refused[] = {
    {"elevation NaN", ELEVATION, NOT_A_NUMBER, "stations[0].elevation", "", "not a finite"},
    {"temperature NaN", TEMPERATURE, NOT_A_NUMBER, "stations[0].temperature", "", "not a finite"},
    {"pressure NaN", PRESSURE, NOT_A_NUMBER, "stations[0].pressure", "", "not a finite"},
    {"qnh NaN", QNH, NOT_A_NUMBER, "stations[0].qnh", "", "not a finite"},
    {"humidity NaN", HUMIDITY, NOT_A_NUMBER, "stations[0].humidity", "", "not a finite"},
    {"dew point NaN", DEW_POINT, NOT_A_NUMBER, "stations[0].dew_point", "", "not a finite"},
    {"lapse rate NaN", LAPSE_RATE, NOT_A_NUMBER, "lapse_rate", "", "not a finite"},
    {"pressure infinite", PRESSURE, INFINITE, "stations[0].pressure", "", "not a finite"},
    {"elevation low", ELEVATION, -2000.1, "stations[0].elevation", "", "taken: -2000 to 9000 m"},
    {"elevation high", ELEVATION, 9000.1, "stations[0].elevation", "", "taken: -2000 to 9000 m"},
    {"no place on earth", ELEVATION, -6356766.0, "stations[0].elevation", "", "taken"},
    {"temperature low", TEMPERATURE, 179.9, "stations[0].temperature", "", "taken: -93.15 to"},
    {"temperature high", TEMPERATURE, 340.1, "stations[0].temperature", "", "to 66.85 degC"},
    {"humidity low", HUMIDITY, -0.01, "stations[0].humidity", "", "taken: 0 to 100 %"},
    {"humidity in percent", HUMIDITY, 45.0, "stations[0].humidity", "", "found 4500 %"},
    {"dew point low", DEW_POINT, 173.0, "stations[0].dew_point", "", "taken: -100 to 40 degC"},
    {"dew point high", DEW_POINT, 313.2, "stations[0].dew_point", "", "taken: -100 to 40 degC"},
    {"dew point above temperature", DEW_POINT, 290.16, "stations[0].dew_point",
     "stations[0].temperature", "above the temperature"},
    {"lapse rate low", LAPSE_RATE, -0.0101, "lapse_rate", "", "taken: -10 to 10 K/km"},
    {"lapse rate per km", LAPSE_RATE, 6.5, "lapse_rate", "", "found 6500 K/km"},
    {"altimeter setting", PRESSURE, 101300.0, "stations[0].pressure", "",
     "looks like an altimeter setting: write `qnh`, or read a barometer there"},
    {"4 % high", PRESSURE, 88490.0, "stations[0].pressure", "", "write `qnh: 1052."},
    {"4 % low", PRESSURE, 81670.0, "stations[0].pressure", "", "write `qnh: 97"},
    {"a factor of ten", PRESSURE, 8530.0, "stations[0].pressure", "", "no barometer shows that"},
    {"above any setting", PRESSURE, 107000.0, "stations[0].pressure", "",
     "no barometer shows that"},
    {"below any setting", PRESSURE, 75000.0, "stations[0].pressure", "", "no barometer shows that"},
    {"pressure 0", PRESSURE, 0.0, "stations[0].pressure", "", "no barometer shows that"},
    {"barometer as qnh", QNH, 85300.0, "stations[0].qnh", "",
     "taken: 900 to 1090 hPa; looks like a barometer reading: write `pressure`"},
    {"qnh high", QNH, 109001.0, "stations[0].qnh", "", "taken: 900 to 1090 hPa"},
    {"qnh negative", QNH, -101300.0, "stations[0].qnh", "", "taken: 900 to 1090 hPa"},
    {"lowest without pressure", NO_PRESSURE, 0.0, "stations[0].pressure", "",
     "`pressure` or `qnh`"},
    {"one elevation twice", OTHER_ELEVATION, 1450.9, "stations[1].elevation",
     "stations[0].elevation", "two stations at one elevation"},
    {"pressure rises", OTHER_PRESSURE, 85310.0, "stations[1].pressure", "stations[0].pressure",
     "the pressure would rise with height"},
};

static void apply(change what, double value, ta_station s[2], double *lapse) {
  switch (what) {
    case ELEVATION:
      s[0].elevation_m = value;
      break;
    case TEMPERATURE:
      s[0].temperature_k = value;
      break;
    case PRESSURE:
      s[0].pressure_pa = value;
      break;
    case QNH:
      s[0].has_pressure = false, s[0].has_qnh = true, s[0].qnh_pa = value;
      break;
    case HUMIDITY:
      s[0].has_humidity = true, s[0].humidity = value;
      break;
    case DEW_POINT:
      s[0].has_dew_point = true, s[0].dew_point_k = value;
      break;
    case NO_PRESSURE:
      s[0].has_pressure = false;
      break;
    case OTHER_ELEVATION:
      s[1].elevation_m = value;
      break;
    case OTHER_PRESSURE:
      s[1].elevation_m = 1480.0, s[1].temperature_k = 290.0, s[1].has_pressure = true,
      s[1].pressure_pa = value;
      break;
    case LAPSE_RATE:
      *lapse = value;
      break;
  }
}

static void refusals_are_named_and_leave_the_day_alone(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(refused); i++) {
    static ta_day day;
    memset(&day, 0x5a, sizeof day);
    double lapse = LAPSE;
    ta_station s[] = {dry(1450.0, 290.15, 85300.0), dry(4050.0, 276.15, 0.0)};
    apply(refused[i].what, refused[i].value, s, &lapse);
    const ta_status status = build(s, 2, lapse, &day);
    if (status != TA_ERR_INPUT || said.count != 1 || said.errors != 1 ||
        strcmp(said.item[0].key, refused[i].key) != 0 ||
        strcmp(said.item[0].also_key, refused[i].also_key) != 0 || !mentions(0, refused[i].words) ||
        !untouched(&day)) {
      print_error("%s: %s, %zu said, %s | %s: %s\n", refused[i].row, ta_status_name(status),
                  said.count, said.item[0].key, said.item[0].also_key, said.item[0].text);
      bad++;
    }
    /* Without a list it is refused all the same. */
    const ta_day_reading reading = {.station = s, .station_count = 2, .lapse_rate_k_m = lapse};
    assert_int_equal(ta_day_build(&reading, &day, NULL), TA_ERR_INPUT);
  }
  assert_int_equal(bad, 0);
}

static void limits_are_taken(void **state) {
  (void)state;
  static ta_day day;
  ta_air standard;
  const double ends[] = {-2000.0, 9000.0};
  for (size_t i = 0; i < COUNT_OF(ends); i++) {
    assert_int_equal(ta_isa_at(ta_geopotential_m(ends[i]), &standard), TA_OK);
    ta_station s = dry(ends[i], 270.0, standard.pressure_pa * 1.0399);
    assert_int_equal(build(&s, 1, -0.01, &day), TA_OK);
    s.pressure_pa = standard.pressure_pa * 0.9601;
    assert_int_equal(build(&s, 1, 0.01, &day), TA_OK);
  }
  const double temperatures[] = {180.0, 340.0};
  for (size_t i = 0; i < COUNT_OF(temperatures); i++) {
    ta_station s = dry(300.0, temperatures[i], 97000.0);
    assert_int_equal(build(&s, 1, LAPSE, &day), TA_OK);
  }
  ta_station wet = humid(300.0, 290.0, 97000.0, 1.0);
  assert_int_equal(build(&wet, 1, LAPSE, &day), TA_OK);
  const double settings[] = {90000.0, 109000.0};
  for (size_t i = 0; i < COUNT_OF(settings); i++) {
    ta_station s = dry(300.0, 290.0, 0.0);
    s.has_qnh = true;
    s.qnh_pa = settings[i];
    assert_int_equal(build(&s, 1, LAPSE, &day), TA_OK);
  }
  ta_station close[] = {dry(300.0, 290.0, 97000.0), dry(301.1, 290.0, 0.0)};
  assert_int_equal(build(close, 2, LAPSE, &day), TA_OK);
  assert_int_equal(build_isa(50.0, 1.0, &day), TA_OK);
  assert_int_equal(build_isa(-50.0, 1.0, &day), TA_OK);
}

static void vapour_that_no_air_holds(void **state) {
  (void)state;
  static ta_day day;
  ta_station s = humid(300.0, 322.0, 97000.0, 0.9);
  assert_int_equal(build(&s, 1, LAPSE, &day), TA_ERR_INPUT);
  assert_string_equal(said.item[0].key, "stations[0].humidity");
  assert_true(mentions(0, "a dew point of 46.8 degC"));
}

/* An altimeter setting at a shore below the sea reads low, not high. */
static void altimeter_setting_below_the_sea(void **state) {
  (void)state;
  static ta_day day;
  ta_station s = dry(-410.0, 303.0, 101300.0);
  assert_int_equal(build(&s, 1, LAPSE, &day), TA_ERR_INPUT);
  assert_true(mentions(0, "looks like an altimeter setting"));
  /* A deep low at the coast is real, and the way out is said. */
  s = dry(20.0, 283.0, 96500.0);
  assert_int_equal(build(&s, 1, LAPSE, &day), TA_ERR_INPUT);
  assert_true(mentions(0, "write `qnh: 967.3 hPa` instead"));
  s.has_pressure = false;
  s.has_qnh = true;
  s.qnh_pa = 96731.0;
  assert_int_equal(build(&s, 1, LAPSE, &day), TA_OK);
  assert_int_equal(off("way out", "p", air_at(&day, 20.0).pressure_pa, 96500.0, 5.0), 0);
}

static void both_given(void **state) {
  (void)state;
  static ta_day day;
  ta_station s = humid(1450.0, 290.15, 85300.0, 0.45);
  s.has_qnh = true;
  s.qnh_pa = 101300.0;
  s.has_dew_point = true;
  s.dew_point_k = 278.0;
  assert_int_equal(build(&s, 1, LAPSE, &day), TA_ERR_INPUT);
  assert_int_equal(said.count, 2); /* every error, not the first alone */
  assert_string_equal(said.item[0].key, "stations[0].pressure");
  assert_string_equal(said.item[0].also_key, "stations[0].qnh");
  assert_string_equal(said.item[1].key, "stations[0].humidity");
  assert_string_equal(said.item[1].also_key, "stations[0].dew_point");
  assert_true(mentions(0, "both given") && mentions(1, "both given"));
}

static void isa_refusals(void **state) {
  (void)state;
  static const struct {
    double offset, humidity;
    const char *key;
  } rows[] = {
      {(double)NAN, 0.0, "isa.offset"},   {-50.1, 0.0, "isa.offset"},  {50.1, 0.0, "isa.offset"},
      {0.0, (double)NAN, "isa.humidity"}, {0.0, -0.1, "isa.humidity"}, {0.0, 1.1, "isa.humidity"},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    static ta_day day;
    memset(&day, 0x5a, sizeof day);
    assert_int_equal(build_isa(rows[i].offset, rows[i].humidity, &day), TA_ERR_INPUT);
    assert_int_equal(said.count, 1);
    assert_string_equal(said.item[0].key, rows[i].key);
    assert_true(untouched(&day));
  }
}

static void one_slip_gives_one_error(void **state) {
  (void)state;
  static ta_day day;
  ta_station s = dry(1450.0, 290.15, 0.0);
  const ta_day_reading reading = {.station = &s, .station_count = 1, .lapse_rate_k_m = LAPSE};
  ta_diagnostics_clear(&said);
  (void)snprintf(said.scope, sizeof said.scope, "day.");
  (void)ta_raise(&said, TA_ERROR, "stations[0].qnh", "no unit");
  assert_int_equal(ta_day_build(&reading, &day, &said), TA_ERR_INPUT);
  assert_int_equal(said.count, 1);
  /* Another station's slip hides nothing. */
  ta_diagnostics_clear(&said);
  (void)ta_raise(&said, TA_ERROR, "stations[1].qnh", "no unit");
  assert_int_equal(ta_day_build(&reading, &day, &said), TA_ERR_INPUT);
  assert_int_equal(said.count, 2);
}

static void many_stations(void **state) {
  (void)state;
  static ta_day day;
  ta_station s[TA_STATIONS_MAX + 1];
  for (size_t i = 0; i <= TA_STATIONS_MAX; i++) {
    const double z = 8990.0 - 139.0 * (double)i;
    /* wet and dry in turn, so that every stretch saturates somewhere */
    s[i] = humid(z, 288.15 - 0.0065 * z, 0.0, i % 2 == 0 ? 1.0 : 0.2);
  }
  assert_int_equal(
      ta_station_pressure(101325.0, ta_geopotential_m(s[63].elevation_m), &s[63].pressure_pa),
      TA_OK);
  s[63].has_pressure = true;
  assert_int_equal(build(s, TA_STATIONS_MAX, LAPSE, &day), TA_OK);
  assert_true(day.count <= TA_DAY_LAYERS_MAX);
  for (size_t i = 0; i < TA_STATIONS_MAX; i++) {
    const ta_air air = air_at(&day, s[i].elevation_m);
    assert_int_equal(off("station", "humidity", humidity_of(&air), s[i].humidity, 1e-6), 0);
  }
  memset(&day, 0, sizeof day);
  assert_int_equal(build(s, TA_STATIONS_MAX + 1, LAPSE, &day), TA_ERR_INPUT);
  assert_string_equal(said.item[0].key, "stations");
  assert_int_equal(day.count, 0);
}

static void arguments(void **state) {
  (void)state;
  static ta_day day;
  const ta_day_reading none = {.station_count = 1};
  ta_day_reading isa = {0};
  assert_int_equal(ta_day_build(NULL, &day, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_day_build(&isa, NULL, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_day_build(&none, &day, NULL), TA_ERR_ARGUMENT);

  ta_air air = {-1.0, -2.0, -3.0, -4.0, -5.0};
  static ta_day empty;
  assert_int_equal(ta_day_air(&empty, 0.0, &air), TA_ERR_ARGUMENT);
  ta_station s = dry(1450.0, 290.15, 85300.0);
  static ta_day column;
  assert_int_equal(build(&s, 1, LAPSE, &column), TA_OK);
  assert_int_equal(ta_day_build(&isa, &day, NULL), TA_OK);
  const ta_day *days[] = {&day, &column};
  for (size_t i = 0; i < COUNT_OF(days); i++) {
    assert_int_equal(ta_day_air(days[i], (double)NAN, &air), TA_ERR_ARGUMENT);
    assert_int_equal(ta_day_air(days[i], (double)INFINITY, &air), TA_ERR_ARGUMENT);
    assert_int_equal(ta_day_air(days[i], nextafter(-2000.0, -HUGE_VAL), &air), TA_ERR_DOMAIN);
    assert_int_equal(ta_day_air(days[i], nextafter(9000.0, HUGE_VAL), &air), TA_ERR_DOMAIN);
    assert_int_equal(ta_day_air(days[i], 0.0, NULL), TA_ERR_ARGUMENT);
  }
  assert_int_equal(ta_day_air(NULL, 0.0, &air), TA_ERR_ARGUMENT);
  assert_true(air.pressure_pa == -1.0 && air.temperature_k == -2.0 && air.mixing_ratio == -3.0 &&
              air.gas_constant_jkgk == -4.0 && air.density_kgm3 == -5.0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(standard_day),
      cmocka_unit_test(offset_moves_the_thermometer_alone),
      cmocka_unit_test(cold_standard_day_warns),
      cmocka_unit_test(a_fine_integration_agrees),
      cmocka_unit_test(readings_are_met),
      cmocka_unit_test(order_does_not_matter),
      cmocka_unit_test(two_ways_of_saying_it),
      cmocka_unit_test(dry_is_moist_with_nothing),
      cmocka_unit_test(mismatch_is_shared_linearly),
      cmocka_unit_test(mismatch_reaches_over_a_station),
      cmocka_unit_test(mismatches_pair_by_pair),
      cmocka_unit_test(pressure_falls_and_air_is_never_oversaturated),
      cmocka_unit_test(layers_meet),
      cmocka_unit_test(one_cold_valley_reading),
      cmocka_unit_test(cold_reading_at_the_ends_of_the_column),
      cmocka_unit_test(superadiabatic_stations_warn),
      cmocka_unit_test(keys_carry_the_scope),
      cmocka_unit_test(refusals_are_named_and_leave_the_day_alone),
      cmocka_unit_test(limits_are_taken),
      cmocka_unit_test(vapour_that_no_air_holds),
      cmocka_unit_test(altimeter_setting_below_the_sea),
      cmocka_unit_test(both_given),
      cmocka_unit_test(isa_refusals),
      cmocka_unit_test(one_slip_gives_one_error),
      cmocka_unit_test(many_stations),
      cmocka_unit_test(arguments),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
