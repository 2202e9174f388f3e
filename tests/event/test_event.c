/* test_event.c - the goal over engine speed, memory, and the checks of more than one value. */
#include "thinair/event.h"

#include <gsl/gsl_errno.h>
#include <math.h>

#include "../test.h"

static ta_diagnostics diagnostics;

/* ---- the goal ---- */

static void a_goal_in_map_is_itself(void **state) {
  (void)state;
  const ta_goal goal = {.has_map = true, .map_pa = 221.3e3, .boost_pa = 9.0};
  assert_true(ta_goal_map(&goal, 85e3, 0.0) == 221.3e3);
  assert_true(ta_goal_map(&goal, 70e3, 7123.0) == 221.3e3);
}

/* Common practice: boost and the ambient pressure where it is read add up to MAP. */
static void a_goal_in_boost_adds_the_start(void **state) {
  (void)state;
  const ta_goal goal = {.has_boost = true, .boost_pa = 131e3};
  assert_true(ta_goal_map(&goal, 85.3e3, 4000.0) == 216.3e3);
}

static void a_goal_in_rows_is_linear_between_and_constant_beyond(void **state) {
  (void)state;
  ta_goal_point rows[] = {{3000.0, 90e3, 0.0, true, false},
                          {5000.0, 0.0, 200e3, false, true},
                          {6200.0, 0.0, 230e3, false, true}};
  const ta_goal goal = {.point = rows, .point_count = 3};
  const double start = 84e3; /* the first row is 174 kPa */
  static const struct {
    const char *row;
    double rpm, map_pa;
  } want[] = {{"below", 1000.0, 174e3},  {"first", 3000.0, 174e3},     {"between", 3500.0, 180.5e3},
              {"second", 5000.0, 200e3}, {"between", 5900.0, 222.5e3}, {"last", 6200.0, 230e3},
              {"beyond", 9000.0, 230e3}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(want); i++)
    bad += off(want[i].row, "MAP", ta_goal_map(&goal, start, want[i].rpm), want[i].map_pa, 1e-9);
  assert_int_equal(bad, 0);
}

/* ---- memory ---- */

static void an_event_owns_what_it_allocates(void **state) {
  (void)state;
  static const ta_event nothing;
  ta_event event = {0};
  for (size_t i = 1; i < 300; i++) { /* past the first room for owners */
    unsigned char *memory = ta_event_allocate(&event, i);
    assert_non_null(memory);
    for (size_t k = 0; k < i; k++) assert_int_equal(memory[k], 0);
    memset(memory, 0x5a, i);
  }
  assert_int_equal(event.owned_count, 299);
  ta_event_free(&event);
  assert_memory_equal(&event, &nothing, sizeof event);
  ta_event_free(&event);
  ta_event_free(NULL);
}

/* ---- the checks, one slip each ---- */

static ta_course_point road[3];
static ta_ve_point ve[2];
static ta_map_point slow[3], fast[3];
static ta_speed_line lines[2];
static ta_station station;

static ta_event sound_event(void) {
  const ta_map_point some_slow[] = {{0.13, 2.35, 0.69}, {0.20, 2.28, 0.76}, {0.30, 1.75, 0.66}},
                     some_fast[] = {{0.20, 3.4, 0.69}, {0.27, 3.3, 0.75}, {0.38, 2.1, 0.6}};
  road[0] = (ta_course_point){.distance_m = 0.0, .elevation_m = 1460.0};
  road[1] = (ta_course_point){.distance_m = 9e3, .elevation_m = 2100.0};
  road[2] = (ta_course_point){.distance_m = 21e3, .elevation_m = 1800.0};
  memcpy(slow, some_slow, sizeof slow);
  memcpy(fast, some_fast, sizeof fast);
  ve[0] = (ta_ve_point){2000.0, 0.9};
  ve[1] = (ta_ve_point){7000.0, 1.0};
  lines[0] = (ta_speed_line){120e3, slow, 3};
  lines[1] = (ta_speed_line){150e3, fast, 3};
  station = (ta_station){
      .elevation_m = 1460.0, .temperature_k = 288.0, .pressure_pa = 85e3, .has_pressure = true};
  return (ta_event){.course = {road, 3},
                    .car = {.engine = {.ve = ve, .ve_count = 2, .window_rpm = {4000.0, 7000.0}},
                            .turbo = {.count = 1.0,
                                      .rated_rpm = 140e3,
                                      .compressor = {.exducer_m = 0.066,
                                                     .has_exducer = true,
                                                     .line = lines,
                                                     .line_count = 2}}},
                    .day = {.station = &station, .station_count = 1, .lapse_rate_k_m = 0.0065},
                    .goal = {.has_map = true, .map_pa = 200e3}};
}

static void a_sound_event_passes(void **state) {
  (void)state;
  static const char *const parts[] = {"", "course", "car", "car.turbo.compressor", "day"};
  const ta_event event = sound_event();
  for (size_t i = 0; i < COUNT_OF(parts); i++) {
    ta_diagnostics_clear(&diagnostics);
    if (ta_event_check(&event, parts[i], &diagnostics) != TA_OK)
      fail_msg("%s: %s", diagnostics.item[0].key, diagnostics.item[0].text);
    assert_string_equal(diagnostics.scope, "");
  }
}

static int check_one(const char *row, const ta_event *event, const char *part, const char *key,
                     const char *also, const char *phrase) {
  ta_diagnostics_clear(&diagnostics);
  const ta_status status = ta_event_check(event, part, &diagnostics);
  const ta_diagnostic *item = &diagnostics.item[0];
  while (item->severity != TA_ERROR && item < &diagnostics.item[diagnostics.count]) item++;
  if (status == TA_ERR_INPUT && diagnostics.errors == 1 && strcmp(item->key, key) == 0 &&
      strcmp(item->also_key, also) == 0 && strstr(item->text, phrase) != NULL)
    return 0;
  print_error("%s: %s, %zu errors, %s / %s: %s\n", row, ta_status_name(status), diagnostics.errors,
              item->key, item->also_key, item->text);
  return 1;
}

static void relations_are_checked(void **state) {
  (void)state;
  ta_goal_point rows[] = {{3000.0, 0.0, 180e3, false, true}, {5000.0, 0.0, 190e3, false, true}};
  ta_event e = sound_event();
  int bad = 0;
  road[2].distance_m = 9e3;
  bad += check_one("course", &e, "", "course.rows[2].distance", "course.rows[1].distance", "rise");
  bad +=
      check_one("course", &e, "course", "course.rows[2].distance", "course.rows[1].distance", "");
  e = sound_event();
  e.course.count = 1;
  bad += check_one("one point", &e, "", "course.rows", "", "two points");
  e = sound_event();
  ve[1].engine_rpm = 2000.0;
  bad += check_one("ve", &e, "car", "car.engine.volumetric_efficiency.rows[1].engine_speed",
                   "car.engine.volumetric_efficiency.rows[0].engine_speed", "rise");
  e = sound_event();
  e.car.engine.has_redline = true;
  e.car.engine.redline_rpm = 6999.0;
  bad += check_one("redline", &e, "", "car.engine.redline", "car.engine.boost_window[1]", "below");
  /* the controller's axis reaches to what is judged: the window's top, or the shift speed */
  double axis[] = {4000.0, 7000.0};
  e = sound_event();
  e.car.control.speed_axis_rpm = axis;
  e.car.control.speed_axis_count = 2;
  e.car.has_vehicle = true;
  e.car.vehicle.shift_rpm = 7001.0;
  bad += check_one("axis", &e, "car", "car.control.speed_axis", "car.vehicle.shift_speed", "7001");
  e.car.has_vehicle = false;
  e.car.engine.window_rpm[1] = 7001.0;
  bad += check_one("axis", &e, "car", "car.control.speed_axis", "car.engine.boost_window", "7001");
  e = sound_event();
  e.car.turbo.count = 1.5;
  bad += check_one("count", &e, "", "car.turbo.count", "", "no whole number");
  /* 250 and 700 m/s on 66 mm are 72343 and 202561 rpm: pi D n / 60 */
  e = sound_event();
  e.car.turbo.rated_rpm = 72342.0;
  bad += check_one("slow", &e, "", "car.turbo.rated_speed", "car.turbo.compressor.exducer_diameter",
                   "250 m/s");
  e.car.turbo.rated_rpm = 202563.0;
  bad += check_one("fast", &e, "", "car.turbo.rated_speed", "car.turbo.compressor.exducer_diameter",
                   "700 m/s");
  e = sound_event();
  lines[1].corrected_rpm = 119e3;
  bad += check_one("lines", &e, "car.turbo.compressor", "car.turbo.compressor.lines[1]",
                   "car.turbo.compressor.lines[0]", "not faster");
  e = sound_event();
  e.goal.has_map = false;
  bad += check_one("no target", &e, "", "goal", "", "no target");
  e.goal.has_map = e.goal.has_boost = true;
  bad += check_one("two targets", &e, "", "goal", "", "more than one");
  e = sound_event();
  e.goal = (ta_goal){.point = rows, .point_count = 0};
  bad += check_one("no rows", &e, "", "goal.rows", "", "no rows");
  e.goal.point_count = 2;
  rows[1].has_boost = true;
  bad += check_one("both in a row", &e, "", "goal.rows[1]", "", "both boost and map");
  rows[1].has_boost = rows[1].has_map = false;
  bad += check_one("none in a row", &e, "", "goal.rows[1]", "", "neither boost nor map");
  rows[1] = (ta_goal_point){3000.0, 0.0, 190e3, false, true};
  bad +=
      check_one("rows", &e, "", "goal.rows[1].engine_speed", "goal.rows[0].engine_speed", "rise");
  rows[1] = (ta_goal_point){5000.0, 0.0, 84.9e3, false, true};
  bad += check_one("below ambient", &e, "", "goal.rows[1]", "", "is no boost");
  e = sound_event();
  e.goal.map_pa = 84.9e3; /* 85 kPa at the lowest point */
  bad += check_one("below ambient", &e, "", "goal.map", "", "is no boost");
  e = sound_event();
  e.day_is_isa = true;
  bad += check_one("two days", &e, "", "day.isa", "day.stations", "one is taken");
  e.day_is_isa = false;
  e.day.station_count = 0;
  bad += check_one("no day", &e, "", "day", "", "there is no day");
  e = sound_event();
  station.has_pressure = false;
  bad += check_one("no pressure", &e, "day", "day.stations[0].pressure", "", "needs");
  assert_int_equal(bad, 0);
}

static void tip_speeds_at_the_bounds_are_taken(void **state) {
  (void)state;
  ta_event event = sound_event();
  static const double rpm[] = {72344.0, 202560.0};
  for (size_t i = 0; i < COUNT_OF(rpm); i++) {
    event.car.turbo.rated_rpm = rpm[i];
    ta_diagnostics_clear(&diagnostics);
    assert_int_equal(ta_event_check(&event, "", &diagnostics), TA_OK);
  }
  event.car.turbo.rated_rpm = 1.0;
  event.car.turbo.compressor.has_exducer = false; /* nothing to check it with */
  assert_int_equal(ta_event_check(&event, "", &diagnostics), TA_OK);
}

static void a_check_of_unsound_keys_is_skipped(void **state) {
  (void)state;
  static const char *const keys[] = {"car.turbo.rated_speed",
                                     "car.turbo.compressor.exducer_diameter", "car.turbo", "car"};
  ta_event event = sound_event();
  event.car.turbo.rated_rpm = 1.0;
  for (size_t i = 0; i < COUNT_OF(keys); i++) {
    ta_diagnostics_clear(&diagnostics);
    (void)ta_raise(&diagnostics, TA_ERROR, keys[i], "raised before");
    assert_int_equal(ta_event_check(&event, "", &diagnostics), TA_ERR_INPUT);
    if (diagnostics.errors != 1) fail_msg("%s: %s", keys[i], diagnostics.item[1].text);
  }
}

/* 500 m above the highest station is still taken without a word. */
static void a_course_far_above_the_stations_is_warned_of(void **state) {
  (void)state;
  const ta_event event = sound_event();
  road[1].elevation_m = 1960.0;
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_check(&event, "", &diagnostics), TA_OK);
  const size_t before = diagnostics.count; /* of other matters */
  road[1].elevation_m = 1961.0;
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_check(&event, "", &diagnostics), TA_OK);
  assert_int_equal(diagnostics.count, before + 1);
  assert_string_equal(diagnostics.item[before].key, "day.stations");
  assert_int_equal(diagnostics.item[before].severity, TA_WARNING);
}

/* The one warning that a course and a car give beside those of the sound event; NULL: none. */
static const char *one_warning(const ta_event *event, const char *part, const char *key) {
  const char *found = NULL;
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_check(event, part, &diagnostics), TA_OK);
  for (size_t i = 0; i < diagnostics.count; i++) {
    if (strcmp(diagnostics.item[i].key, key) != 0) continue;
    assert_null(found);
    assert_int_equal(diagnostics.item[i].severity, TA_WARNING);
    found = diagnostics.item[i].text;
  }
  return found;
}

static void a_shift_above_the_window_is_warned_of(void **state) {
  (void)state;
  ta_event event = sound_event();
  event.car.has_vehicle = true;
  event.car.vehicle.shift_rpm = 7000.0;
  assert_null(one_warning(&event, "", "car.vehicle.shift_speed"));
  event.car.vehicle.shift_rpm = 7019.0;
  const char *text = one_warning(&event, "", "car.vehicle.shift_speed");
  assert_true(text != NULL && strstr(text, "7019 rpm") != NULL && strstr(text, "7000 rpm") != NULL);
  event.car.has_vehicle = false;
  assert_null(one_warning(&event, "", "car.vehicle.shift_speed"));
}

/* A track of points so far apart, each so far to the left or the right of a straight road. */
static void lay_track(ta_course_point *point, size_t count, double spacing_m, double off_m) {
  for (size_t i = 0; i < count; i++)
    point[i] = (ta_course_point){.distance_m = spacing_m * (double)i,
                                 .elevation_m = 1460.0 + 0.03 * spacing_m * (double)i,
                                 .latitude_deg = spacing_m * (double)i / 110574.3,
                                 .longitude_deg = (i % 2 == 0 ? off_m : -off_m) / 111319.5,
                                 .has_position = true};
}

static void positions_that_tell_no_corners_are_warned_of(void **state) {
  (void)state;
  static ta_course_point point[101];
  ta_event event = sound_event();
  event.course = (ta_course){point, COUNT_OF(point)};
  event.car.has_vehicle = true;
  event.car.vehicle.shift_rpm = 6900.0;
  lay_track(point, COUNT_OF(point), 5.3, 0.0);
  assert_null(one_warning(&event, "", "course"));
  lay_track(point, COUNT_OF(point), 26.3, 0.0);
  const char *text = one_warning(&event, "", "course");
  assert_true(text != NULL && strstr(text, "100 % of the road") && strstr(text, "50 m of road"));
  /* zigzag by 0.47 m: of the nine points within the length a parabola takes three terms, and 0.47 m
   * times sqrt(9/6) is left for the others */
  lay_track(point, COUNT_OF(point), 5.3, 0.47);
  text = one_warning(&event, "", "course");
  assert_true(text != NULL && strstr(text, "scatter by 0.6 m") && strstr(text, "50 m of road"));
  assert_non_null(one_warning(&event, "course", "course"));
  event.car.has_vehicle = false; /* no run, no matter */
  assert_null(one_warning(&event, "", "course"));
  event.course_is_gpx = event.car.has_vehicle = true;
  assert_non_null(one_warning(&event, "", "course"));
  lay_track(point, COUNT_OF(point), 5.3, 0.31); /* 840 m of radius */
  assert_null(one_warning(&event, "", "course"));
}

static void arguments_are_asked_for(void **state) {
  (void)state;
  const ta_event event = sound_event();
  assert_int_equal(ta_event_check(NULL, "", &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_check(&event, NULL, &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_check(&event, "", NULL), TA_ERR_ARGUMENT);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_goal_in_map_is_itself),
      cmocka_unit_test(a_goal_in_boost_adds_the_start),
      cmocka_unit_test(a_goal_in_rows_is_linear_between_and_constant_beyond),
      cmocka_unit_test(an_event_owns_what_it_allocates),
      cmocka_unit_test(a_sound_event_passes),
      cmocka_unit_test(relations_are_checked),
      cmocka_unit_test(tip_speeds_at_the_bounds_are_taken),
      cmocka_unit_test(a_check_of_unsound_keys_is_skipped),
      cmocka_unit_test(a_course_far_above_the_stations_is_warned_of),
      cmocka_unit_test(a_shift_above_the_window_is_warned_of),
      cmocka_unit_test(positions_that_tell_no_corners_are_warned_of),
      cmocka_unit_test(arguments_are_asked_for),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
