/* test_weather.c - the one cap in another hour's weather. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/weather.h"

/* A day of two stations: the lower with its pressure, the upper with its temperature alone. */
static void make_stations(invented *it) {
  invented_make(it);
  it->station[0] = (ta_station){.elevation_m = 1463.0,
                                .temperature_k = 287.3,
                                .pressure_pa = 85170.0,
                                .humidity = 0.43,
                                .has_pressure = true,
                                .has_humidity = true};
  it->station[1] = (ta_station){.elevation_m = 4090.0, .temperature_k = 271.9};
  it->event.day.station = it->station;
  it->event.day.station_count = 2;
  it->event.day_is_isa = false;
}

static ta_constant_cap cap_of(const invented *it) {
  ta_prepared prepared;
  ta_constant_cap cap;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  assert_int_equal(ta_prepare(&it->event, &prepared), TA_OK);
  assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it->event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(ta_constant_cap_find(&prepared, profile, &cap), TA_OK);
  ta_prepared_free(&prepared);
  free(profile);
  return cap;
}

static ta_weather weather_of(const invented *it) {
  const ta_constant_cap cap = cap_of(it);
  ta_prepared prepared;
  ta_weather weather;
  assert_int_equal(ta_prepare(&it->event, &prepared), TA_OK);
  assert_int_equal(ta_weather_find(&prepared, &cap, &weather), TA_OK);
  ta_prepared_free(&prepared);
  return weather;
}

/* The same days, typed anew. */
static void changes_are_those_of_the_days_typed_anew(void **state) {
  (void)state;
  invented it, warm, low;
  make_stations(&it);
  make_stations(&warm);
  make_stations(&low);
  warm.station[0].temperature_k = 292.3;
  warm.station[1].temperature_k = 276.9;
  low.station[0].pressure_pa = 84170.0;
  const ta_weather weather = weather_of(&it);
  const double cap = cap_of(&it).set_point;
  assert_true(weather.warmer.known && weather.lower.known);
  assert_int_equal(
      off("warmer", "cap", cap + weather.warmer.change, cap_of(&warm).set_point, 1e-6) +
          off("lower", "cap", cap + weather.lower.change, cap_of(&low).set_point, 1e-6),
      0);
  /* thinner air takes a lower cap, 2 to 4 Pa for 1 Pa; warmer air too at the same pressure, but a
   * warmer column lifts the pressure at the top */
  assert_true(weather.lower.change < -1500.0 && weather.lower.change > -5000.0);
  assert_true(fabs(weather.warmer.change) < 500.0);
}

/* It is the barometer that reads 10 hPa less, whatever the day was written in. */
static void an_altimeter_setting_stands_for_its_pressure(void **state) {
  (void)state;
  invented it, qnh;
  make_stations(&it);
  make_stations(&qnh);
  assert_int_equal(ta_qnh(85170.0, ta_geopotential_m(1463.0), &qnh.station[0].qnh_pa), TA_OK);
  qnh.station[0].has_qnh = true;
  qnh.station[0].has_pressure = false;
  qnh.station[0].pressure_pa = 0.0;
  const ta_weather a = weather_of(&it), b = weather_of(&qnh);
  assert_int_equal(off("QNH", "lower", b.lower.change, a.lower.change, 0.1) +
                       off("QNH", "warmer", b.warmer.change, a.warmer.change, 0.1),
                   0);
}

static void a_standard_day_moves_its_thermometer_alone(void **state) {
  (void)state;
  invented it, warm;
  invented_make(&it);
  invented_make(&warm);
  warm.event.day.isa_offset_k = 8.7;
  const ta_weather weather = weather_of(&it);
  assert_true(weather.warmer.known);
  assert_false(weather.lower.known);
  assert_true(weather.warmer.change < -500.0 && weather.warmer.change > -5000.0);
  assert_int_equal(off("isa", "warmer", cap_of(&it).set_point + weather.warmer.change,
                       cap_of(&warm).set_point, 1e-6),
                   0);
}

static void a_target_that_holds_changes_by_nothing(void **state) {
  (void)state;
  invented it;
  make_stations(&it);
  it.event.goal = (ta_goal){.boost_pa = 50e3, .has_boost = true, .margin = 0.037};
  const ta_weather weather = weather_of(&it);
  assert_true(weather.warmer.known && weather.lower.known);
  assert_true(weather.warmer.change == 0.0 && weather.lower.change == 0.0);
}

static void what_cannot_be_is_not_known(void **state) {
  (void)state;
  invented it;
  make_stations(&it);
  it.station[0].pressure_pa = 82250.0; /* 10 hPa less is more than 4 % off the standard day */
  ta_weather weather = weather_of(&it);
  assert_true(weather.warmer.known);
  assert_false(weather.lower.known);
  make_stations(&it);
  it.event.car.control.minimum_boost_pa = 130e3; /* the spring gives more than any cap */
  it.event.car.control.has_minimum_boost = true;
  weather = weather_of(&it);
  assert_false(weather.warmer.known || weather.lower.known);
}

static void refusals(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  const ta_constant_cap cap = cap_of(&it);
  ta_prepared prepared;
  ta_weather weather = {.warmer.change = 17.0};
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  assert_int_equal(ta_weather_find(NULL, &cap, &weather), TA_ERR_ARGUMENT);
  assert_int_equal(ta_weather_find(&prepared, NULL, &weather), TA_ERR_ARGUMENT);
  assert_int_equal(ta_weather_find(&prepared, &cap, NULL), TA_ERR_ARGUMENT);
  assert_true(weather.warmer.change == 17.0);
  ta_prepared_free(&prepared);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(changes_are_those_of_the_days_typed_anew),
      cmocka_unit_test(an_altimeter_setting_stands_for_its_pressure),
      cmocka_unit_test(a_standard_day_moves_its_thermometer_alone),
      cmocka_unit_test(a_target_that_holds_changes_by_nothing),
      cmocka_unit_test(what_cannot_be_is_not_known),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
