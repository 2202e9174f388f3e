/* test_schedule.c - the schedule over ambient pressure: solved again in air that a barometer reads
 * wrong, no engine speed to the redline passes the limit. */
#include "thinair/controller_table.h"
#include "thinair/schedule.h"

#include <gsl/gsl_errno.h>

#include "../invented_car.h"
#include "../judged.h"

/* The day's air at a pressure. */
static ta_air air_of(const ta_prepared *prepared, double pressure_pa) {
  double low = -900.0, high = 8000.0;
  for (int i = 0; i < 70; i++) {
    const double middle = 0.5 * (low + high);
    *(judged_air(prepared, middle).pressure_pa > pressure_pa ? &low : &high) = middle;
  }
  return judged_air(prepared, high);
}

/* As a controller reads it: linear between the rows, the end's value beyond. */
static double read_schedule(const ta_schedule *schedule, double reading_pa) {
  const ta_schedule_row *row = schedule->row;
  if (reading_pa >= row[0].ambient_pa) return row[0].set_point;
  for (size_t i = 1; i < schedule->count; i++)
    if (reading_pa >= row[i].ambient_pa)
      return row[i].set_point + (row[i - 1].set_point - row[i].set_point) *
                                    (reading_pa - row[i].ambient_pa) /
                                    (row[i - 1].ambient_pa - row[i].ambient_pa);
  return row[schedule->count - 1].set_point;
}

static void change_nothing(invented *it) {
  (void)it;
}

static void change_to_gauge(invented *it) {
  it->event.car.control.holds = TA_HOLDS_GAUGE;
  it->event.car.control.map_error_pa = 1900.0;
  it->event.goal = (ta_goal){.boost_pa = 119e3, .has_boost = true, .margin = 0.037};
}

static void change_to_rows(invented *it) {
  it->goal[0] = (ta_goal_point){.engine_rpm = 4200.0, .map_pa = 163e3, .has_map = true};
  it->goal[1] = (ta_goal_point){.engine_rpm = 5437.0, .map_pa = 201e3, .has_map = true};
  it->goal[2] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 171e3, .has_map = true};
  it->event.goal = (ta_goal){.point = it->goal, .point_count = 3, .margin = 0.037};
}

/* Far off, and steps as coarse as 20 hPa. */
static void change_to_a_poor_barometer(invented *it) {
  it->event.car.control.barometer_error_pa = 2300.0;
  it->event.car.control.resolution_pa = 2000.0;
}

static void change_to_a_warm_layer(invented *it) {
  static ta_station stations[] = {
      {.elevation_m = 1463.0, .temperature_k = 281.3, .pressure_pa = 85300.0, .has_pressure = true},
      {.elevation_m = 2907.0, .temperature_k = 293.7},
      {.elevation_m = 4117.0, .temperature_k = 268.1}};
  it->event.day = (ta_day_reading){
      .station = stations, .station_count = COUNT_OF(stations), .lapse_rate_k_m = 0.0065};
  it->event.day_is_isa = false;
}

static void change_to_a_restrictor(invented *it) {
  it->event.car.intake.has_restrictor = true;
  it->event.car.intake.restrictor = (ta_restrictor){0.0351, 1.0, 0.71};
}

static void change_to_a_sensor(invented *it) {
  change_to_gauge(it);
  it->event.car.control.has_map_sensor = true;
  it->event.car.control.map_sensor_pa = 191e3;
}

static void change_to_choke(invented *it) {
  it->event.car.engine.displacement_m3 *= 1.7;
  it->event.car.turbo.rated_rpm = 131300.0;
  it->event.goal.map_pa = 119e3;
}

static const struct {
  const char *row;
  void (*change)(invented *it);
} kinds[] = {
    {"as invented", change_nothing},          {"gauge", change_to_gauge},
    {"a goal of rows", change_to_rows},       {"a poor barometer", change_to_a_poor_barometer},
    {"a warm layer", change_to_a_warm_layer}, {"a restrictor", change_to_a_restrictor},
    {"a sensor", change_to_a_sensor},         {"choke", change_to_choke}};

static void make(size_t kind, invented *it, ta_prepared *prepared, ta_schedule *schedule) {
  invented_make(it);
  it->event.car.engine.redline_rpm = 7613.0;
  it->event.car.engine.has_redline = true;
  it->ve[3].engine_rpm = 7800.0;
  kinds[kind].change(it);
  assert_int_equal(ta_prepare(&it->event, prepared), TA_OK);
  assert_int_equal(ta_schedule_find(prepared, schedule), TA_OK);
}

static void no_reading_leads_past_the_limit(void **state) {
  (void)state;
  int bad = 0;
  for (size_t kind = 0; kind < COUNT_OF(kinds); kind++) {
    invented it;
    ta_prepared prepared;
    ta_schedule schedule;
    make(kind, &it, &prepared, &schedule);
    const ta_control *control = &it.event.car.control;
    const double top = schedule.row[0].ambient_pa,
                 bottom = schedule.row[schedule.count - 1].ambient_pa,
                 error = control->barometer_error_pa, limit = prepared.limit_rpm;
    double fastest = 0.0;
    for (int e = 0; e <= 4; e++)
      for (int i = 0; i <= 97; i++) { /* readings from the last row to above the first */
        const double reading = bottom + (top + 3100.0 - bottom) * i / 97.0;
        const ta_air air = air_of(&prepared, reading - error * e / 4.0);
        const double shaft = judged_fastest(&prepared, &air, 4130.0, 7613.0, 37.0,
                                            read_schedule(&schedule, reading));
        fastest = fmax(fastest, shaft);
        if (shaft <= limit * (1.0 + 1e-9)) continue;
        print_error("%s: %.1f of %.1f rpm at a reading of %.1f Pa, %.1f high\n", kinds[kind].row,
                    shaft, limit, reading, error * e / 4.0);
        bad++;
      }
    /* none the less it is no wild guess: it comes near the limit somewhere; sensor and throat stop
     * it before */
    if (kind != 5 && kind != 6 && !(fastest > 0.985 * limit)) {
      print_error("%s: %.1f of %.1f rpm at the most\n", kinds[kind].row, fastest, limit);
      bad++;
    }
    ta_prepared_free(&prepared);
  }
  assert_int_equal(bad, 0);
}

static void rows_are_what_they_say(void **state) {
  (void)state;
  int bad = 0;
  bool by[TA_LIMITED_BY_COUNT] = {false};
  for (size_t kind = 0; kind < COUNT_OF(kinds); kind++) {
    invented it;
    ta_prepared prepared;
    ta_schedule schedule;
    make(kind, &it, &prepared, &schedule);
    const double resolution = it.event.car.control.resolution_pa,
                 error = it.event.car.control.barometer_error_pa;
    assert_int_equal(schedule.count, 8);
    /* even but for the rounding to half a kPa that makes them fit to be typed */
    const double high_pa = 500.0 * ceil(judged_air(&prepared, 1463.0).pressure_pa / 500.0),
                 low_pa =
                     500.0 * floor((judged_air(&prepared, 4117.0).pressure_pa - 2000.0) / 500.0);
    for (size_t i = 0; i < schedule.count; i++) {
      const ta_schedule_row *row = &schedule.row[i];
      const double share = (double)i / (8 - 1);
      bad += off(kinds[kind].row, "ambient", row->ambient_pa, high_pa + share * (low_pa - high_pa),
                 i == 0 || i == 7 ? 1e-6 : 250.0);
      assert_true(fmod(row->ambient_pa, 500.0) == 0.0);
      bad += off(kinds[kind].row, "elevation", judged_air(&prepared, row->elevation_m).pressure_pa,
                 row->ambient_pa, 1e-3);
      const double steps = row->set_point / resolution;
      bad += off(kinds[kind].row, "steps", steps, round(steps), 1e-9);
      by[row->cap.limited_by] = true;
      /* the cap of the air there, and of air 10 K warmer */
      const ta_air air = air_of(&prepared, row->ambient_pa);
      ta_place_cap cap, warm_cap, thin_cap;
      const ta_speed_range range = {4130.0, 7613.0};
      assert_int_equal(ta_place_cap_find(&prepared, range, &air, &cap), TA_OK);
      bad += off_rel(kinds[kind].row, "cap", row->cap.set_point, cap.set_point, 1e-7);
      ta_air warm = air;
      warm.temperature_k += 10.0;
      warm.density_kgm3 = warm.pressure_pa / (warm.gas_constant_jkgk * warm.temperature_k);
      assert_int_equal(ta_place_cap_find(&prepared, range, &warm, &warm_cap), TA_OK);
      bad += off(kinds[kind].row, "10 K", row->per_10k, warm_cap.set_point - cap.set_point, 0.5);
      /* rounded down from the cap of the thinnest air that such a reading may mean */
      const ta_air thin = air_of(&prepared, row->ambient_pa - error);
      assert_int_equal(ta_place_cap_find(&prepared, range, &thin, &thin_cap), TA_OK);
      assert_true(row->set_point <= fmin(cap.set_point, thin_cap.set_point) + 1e-6);
      /* a goal of rows is cut all at once, and next to that a line must give much away */
      if (kind == 2) continue;
      if (!(row->set_point >= fmin(cap.set_point, thin_cap.set_point) - 2.0 * resolution - 900.0)) {
        print_error("%s: %.0f Pa at %.0f Pa, and %.0f Pa may be held\n", kinds[kind].row,
                    row->set_point, row->ambient_pa, fmin(cap.set_point, thin_cap.set_point));
        bad++;
      }
    }
    ta_prepared_free(&prepared);
  }
  assert_true(by[TA_BY_GOAL] && by[TA_BY_RATED_SPEED] && by[TA_BY_MAP_SENSOR] &&
              by[TA_BY_RESTRICTOR] && by[TA_BY_CHOKE]);
  assert_int_equal(bad, 0);
}

/* The redline is reached by the table; without one the window's top is. */
static void speeds_reach_to_the_redline(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_engine *engine = &it.event.car.engine;
  ta_speed_range range = ta_controller_speeds(&it.event.car);
  assert_true(range.low_rpm == 4130.0 && range.high_rpm == 7270.0);
  engine->redline_rpm = 7613.0;
  assert_true(ta_controller_speeds(&it.event.car).high_rpm == 7270.0);
  engine->has_redline = true;
  assert_true(ta_controller_speeds(&it.event.car).high_rpm == 7613.0);
  engine->redline_rpm = 7011.0;
  assert_true(ta_controller_speeds(&it.event.car).high_rpm == 7270.0);
}

static void no_schedule_without_a_live_barometer(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  ta_prepared prepared;
  ta_schedule schedule = {.count = 7};
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  assert_int_equal(ta_schedule_find(&prepared, &schedule), TA_OK);
  assert_int_equal(schedule.count, 0);
  ta_prepared_free(&prepared);
}

static void refusals(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_prepared prepared;
  ta_schedule schedule = {.count = 7};
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  assert_int_equal(ta_schedule_find(NULL, &schedule), TA_ERR_ARGUMENT);
  assert_int_equal(ta_schedule_find(&prepared, NULL), TA_ERR_ARGUMENT);
  it.course[3].elevation_m = 8900.0; /* 2 kPa less lies above the column of air */
  assert_int_equal(ta_schedule_find(&prepared, &schedule), TA_ERR_DOMAIN);
  assert_int_equal(schedule.count, 7);
  ta_prepared_free(&prepared);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_reading_leads_past_the_limit),
      cmocka_unit_test(rows_are_what_they_say),
      cmocka_unit_test(speeds_reach_to_the_redline),
      cmocka_unit_test(no_schedule_without_a_live_barometer),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
