/* test_access.c - numbers by key: what is set in a fork is what a reading with that setting holds,
 * and the event it was forked from stays as it was. */
#include "thinair/access.h"

#include <stdlib.h>

#include "../files/whole_event.h"
#include "../test.h"
#include "thinair/event_reader.h"
#include "thinair/prepare.h"

#define GOAL_ROWS                              \
  "  columns: {engine_speed: rpm, map: kPa}\n" \
  "  rows: [[4510, 171.3], [7190, 183.7]]\n"   \
  "  margin: 4 %\n"

static ta_diagnostics diagnostics;
static char why[TA_MESSAGE_MAX];

static void read_event(const char *text, const ta_setting *settings, size_t count,
                       ta_event *event) {
  ta_diagnostics_clear(&diagnostics);
  if (ta_event_read_bytes("made-up.yaml", text, strlen(text), settings, count, event,
                          &diagnostics) != TA_OK)
    fail_msg("%s: %s", diagnostics.item[0].key, diagnostics.item[0].text);
}

static double number(const ta_event *event, const char *key) {
  double si = 0.0;
  if (ta_event_number_get(event, key, &si, why, sizeof why) != TA_OK) fail_msg("%s: %s", key, why);
  return si;
}

/* One key of each form.  The values are written by hand in SI: psi and degC by their definitions. */
static const struct {
  const char *key, *text;
  double before_si, si;
} settable[] = {
    {"car.intake.pressure_drop", "3.71 kPa", 1992.71128, 3710.0},
    {"car.engine.boost_window[1]", "7110 rpm", 7200.0, 7110.0},
    {"car.engine.boost_window[0]", "4470 rpm", 4500.0, 4470.0},
    {"car.charge_cooler.coolant", "31.5 degC", 313.15, 304.65},
    {"car.charge_cooler.leak", "2.3 %", 0.015, 0.023},
    {"day.stations[0].temperature", "19.3 degC", 289.15, 292.45},
    {"day.stations[lowest].humidity", "63 %", 0.40, 0.63},
    {"day.stations[1].dew_point", "-7.3 degC", 267.65, 265.85},
    {"day.lapse_rate", "5.7 K/km", 0.0061, 0.0057},
    {"goal.margin", "3.3 %", 0.04, 0.033},
    {"car.turbo.compressor.exducer_diameter", "67.1 mm", 0.06604, 0.0671},
};

static void a_number_set_is_the_number_read(void **state) {
  (void)state;
  ta_event event;
  int bad = 0;
  read_event(WHOLE, NULL, 0, &event);
  for (size_t i = 0; i < COUNT_OF(settable); i++) {
    const char *key = settable[i].key;
    const ta_setting setting = {"--set", key, settable[i].text, NULL};
    ta_event fork, read;
    ta_event_fork(&event, &fork);
    bad += off_rel(key, "before", number(&fork, key), settable[i].before_si, 1e-12);
    assert_int_equal(ta_event_number_set(&fork, key, settable[i].si, why, sizeof why), TA_OK);
    bad += off_rel(key, "set", number(&fork, key), settable[i].si, 0.0);
    bad += off_rel(key, "the event itself", number(&event, key), settable[i].before_si, 1e-12);
    read_event(WHOLE, &setting, 1, &read);
    bad += off_rel(key, "read", number(&read, key), settable[i].si, 1e-12);
    ta_event_free(&read);
    ta_event_free(&fork);
  }
  ta_event_free(&event);
  assert_int_equal(bad, 0);
}

static void lists_are_copied_once_and_only_where_they_are_set(void **state) {
  (void)state;
  ta_event event, fork;
  read_event(WHOLE, NULL, 0, &event);
  ta_event_fork(&event, &fork);
  assert_int_equal(fork.owned_count, 0);
  assert_ptr_equal(fork.car.engine.ve, event.car.engine.ve);

  const char *ve = "car.engine.volumetric_efficiency.rows[1].ve";
  assert_int_equal(ta_event_number_set(&fork, ve, 0.977, why, sizeof why), TA_OK);
  const ta_ve_point *own = fork.car.engine.ve;
  assert_ptr_not_equal(own, event.car.engine.ve);
  assert_int_equal(fork.owned_count, 1);
  assert_int_equal(ta_event_number_set(&fork, "car.engine.volumetric_efficiency.rows[2].ve", 0.913,
                                       why, sizeof why),
                   TA_OK);
  assert_ptr_equal(fork.car.engine.ve, own);
  assert_int_equal(fork.owned_count, 1);
  assert_true(own[1].ve == 0.977 && own[2].ve == 0.913 && own[1].engine_rpm == 6000.0);
  assert_true(event.car.engine.ve[1].ve == 1.01 && event.car.engine.ve[2].ve == 0.93);

  /* a list in a list: the outer one too */
  const char *flow = "car.turbo.compressor.lines[1].rows[2].flow";
  assert_int_equal(ta_event_number_set(&fork, flow, 0.2713, why, sizeof why), TA_OK);
  assert_int_equal(fork.owned_count, 3);
  assert_true(fork.car.turbo.compressor.printed[1].point[2].flow_kg_s == 0.2713);
  assert_true(event.car.turbo.compressor.printed[1].point[2].flow_kg_s == 0.275);
  assert_ptr_equal(fork.car.turbo.compressor.printed[0].point,
                   event.car.turbo.compressor.printed[0].point);
  assert_true(number(&fork, flow) == 0.2713);
  assert_true(number(&fork, "car.turbo.compressor.lines[2].rows[2].flow") == 0.345);

  ta_event_free(&fork);
  assert_true(event.car.engine.ve[0].ve == 0.86); /* still there */
  ta_event_free(&event);
}

static void elements_of_a_series_are_numbers(void **state) {
  (void)state;
  ta_event event, fork;
  char *text = replaced(WHOLE, "overshoot: 4.8 kPa}",
                        "overshoot: 4.8 kPa, speed_axis: [2110 rpm, 5030 rpm, 7690 rpm]}");
  read_event(text, NULL, 0, &event);
  free(text);
  ta_event_fork(&event, &fork);
  assert_true(number(&event, "car.control.speed_axis[1]") == 5030.0);
  assert_int_equal(ta_event_number_set(&fork, "car.control.speed_axis[1]", 5170.0, why, sizeof why),
                   TA_OK);
  assert_true(number(&fork, "car.control.speed_axis[1]") == 5170.0);
  assert_true(number(&fork, "car.control.speed_axis[2]") == 7690.0);
  assert_true(number(&event, "car.control.speed_axis[1]") == 5030.0);
  assert_int_equal(ta_event_number_set(&fork, "car.control.speed_axis[3]", 5170.0, why, sizeof why),
                   TA_ERR_ARGUMENT);
  assert_non_null(strstr(why, "car.control.speed_axis holds 3"));
  ta_event_free(&fork);
  ta_event_free(&event);
}

static void goals_replace_each_other(void **state) {
  (void)state;
  ta_event event, fork;
  read_event(WHOLE, NULL, 0, &event);
  ta_event_fork(&event, &fork);
  assert_int_equal(ta_event_number_set(&fork, "goal.map", 187300.0, why, sizeof why), TA_OK);
  assert_true(fork.goal.has_map && !fork.goal.has_boost && fork.goal.map_pa == 187300.0);
  assert_int_equal(ta_event_number_get(&fork, "goal.boost", &(double){0.0}, why, sizeof why),
                   TA_ERR_INPUT);
  assert_int_equal(ta_event_number_set(&fork, "goal.margin", 0.051, why, sizeof why), TA_OK);
  assert_true(fork.goal.has_map);
  ta_event_free(&fork);
  ta_event_free(&event);

  char *text = replaced(WHOLE, GOAL, GOAL_ROWS);
  read_event(text, NULL, 0, &event);
  free(text);
  ta_event_fork(&event, &fork);
  assert_int_equal(ta_event_number_set(&fork, "goal.rows[1].boost", 98700.0, why, sizeof why),
                   TA_OK);
  assert_true(fork.goal.point[1].has_boost && !fork.goal.point[1].has_map);
  assert_true(fork.goal.point[0].has_map && event.goal.point[1].has_map);
  assert_int_equal(ta_event_number_set(&fork, "goal.rows[1].map", 181300.0, why, sizeof why),
                   TA_OK);
  assert_true(!fork.goal.point[1].has_boost && fork.goal.point[1].has_map);
  assert_int_equal(ta_event_number_set(&fork, "goal.boost", 98700.0, why, sizeof why), TA_OK);
  assert_true(fork.goal.has_boost && fork.goal.point == NULL && fork.goal.point_count == 0);
  assert_int_equal(event.goal.point_count, 2);
  ta_event_free(&fork);
  ta_event_free(&event);
}

static void the_right_flag_goes_with_a_number(void **state) {
  (void)state;
  ta_event event, fork;
  char *text = replaced(WHOLE, COMPRESSOR, PRINTED); /* tip speeds, volume flows */
  read_event(text, NULL, 0, &event);
  free(text);
  ta_event_fork(&event, &fork);
  const char *speed = "car.turbo.compressor.lines[0].speed", *sensor = "car.control.map_sensor";
  double si = 17.3;
  assert_int_equal(ta_event_number_get(&fork, speed, &si, why, sizeof why), TA_ERR_INPUT);
  assert_int_equal(ta_event_number_get(&fork, sensor, &si, why, sizeof why), TA_ERR_INPUT);
  assert_true(si == 17.3);
  assert_int_equal(ta_event_number_set(&fork, speed, 91300.0, why, sizeof why), TA_OK);
  assert_int_equal(ta_event_number_set(&fork, sensor, 391300.0, why, sizeof why), TA_OK);
  assert_false(fork.car.turbo.compressor.printed[0].has_tip_speed);
  assert_true(fork.car.control.has_map_sensor);
  assert_true(event.car.turbo.compressor.printed[0].has_tip_speed);
  assert_true(number(&fork, speed) == 91300.0 && number(&fork, sensor) == 391300.0);
  ta_event_free(&fork);
  ta_event_free(&event);
}

static void what_cannot_be_set_is_refused_in_words(void **state) {
  (void)state;
  static const struct {
    const char *key;
    double si;
    ta_status status;
    const char *word;
  } refused[] = {
      {"car.intake.drop", 3710.0, TA_ERR_ARGUMENT, "no such key; taken inside car.intake: "},
      {"car.engine.boost_window", 5130.0, TA_ERR_ARGUMENT, "one value is set at a time"},
      {"car.engine.boost_window[2]", 5130.0, TA_ERR_ARGUMENT, "holds 2"},
      {"car.engine.boost_window[]", 5130.0, TA_ERR_ARGUMENT, "no such key"},
      {"car.control.holds", 1.0, TA_ERR_ARGUMENT, "one value"},
      {"day.stations", 1.0, TA_ERR_ARGUMENT, "one value"},
      {"day.stations[2].temperature", 281.3, TA_ERR_ARGUMENT, "day.stations holds 2"},
      {"day.stations[99999999999999999999].temperature", 281.3, TA_ERR_ARGUMENT, "holds 2"},
      {"car.intake.pressure_drop", 100001.0, TA_ERR_DOMAIN, "taken: 0 to 1e+05 Pa"},
      {"car.intake.pressure_drop", -0.1, TA_ERR_DOMAIN, "outside what is possible"},
      {"car.intake.restrictor.diameter", 0.0371, TA_ERR_INPUT, "has no car.intake.restrictor"},
      {"car.vehicle.mass", 1130.0, TA_ERR_INPUT, "has no car.vehicle"},
      {"car.vehicle.gears[0]", 3.1, TA_ERR_INPUT, "has no car.vehicle"},
      {"day.isa.offset", 7.1, TA_ERR_INPUT, "has no day.isa"},
      {"day.elevation", 1813.0, TA_ERR_INPUT, "the report"},
      {"course.smoothing", 61.0, TA_ERR_INPUT, "smoothed"},
  };
  ta_event event, fork;
  read_event(WHOLE, NULL, 0, &event);
  ta_event_fork(&event, &fork);
  const ta_event before = fork;
  for (size_t i = 0; i < COUNT_OF(refused); i++) {
    const ta_status status =
        ta_event_number_set(&fork, refused[i].key, refused[i].si, why, sizeof why);
    if (status != refused[i].status || strstr(why, refused[i].word) == NULL)
      fail_msg("%s: %s, %s", refused[i].key, ta_status_name(status), why);
  }
  assert_int_equal(ta_event_number_set(&fork, "goal.margin", (double)NAN, why, sizeof why),
                   TA_ERR_DOMAIN);
  assert_memory_equal(&fork, &before, sizeof fork);
  ta_event_free(&fork);
  ta_event_free(&event);

  const ta_setting off = {"--set", "car.turbo.thin_air", "off", NULL};
  read_event(WHOLE, &off, 1, &event);
  ta_event_fork(&event, &fork);
  assert_int_equal(
      ta_event_number_set(&fork, "car.turbo.thin_air.pressure_exponent", 0.07, why, sizeof why),
      TA_ERR_INPUT);
  assert_string_equal(why, "car.turbo.thin_air is off");
  assert_int_equal(ta_event_number_set(&fork, "car.turbo.rated_speed", 147300.0, why, sizeof why),
                   TA_OK);
  ta_event_free(&event);

  const ta_setting smoothed = {"--set", "course.smoothing", "730 m", NULL};
  read_event(WHOLE, &smoothed, 1, &event);
  ta_event_fork(&event, &fork);
  assert_int_equal(ta_event_number_set(&fork, "course.rows[1].elevation", 2713.0, why, sizeof why),
                   TA_ERR_INPUT);
  ta_event_free(&event);
}

static void a_key_touches_what_is_made_of_it(void **state) {
  (void)state;
  assert_int_equal(ta_event_number_touches("day.stations[0].temperature"), TA_TOUCHES_DAY);
  assert_int_equal(ta_event_number_touches("day.lapse_rate"), TA_TOUCHES_DAY);
  assert_int_equal(ta_event_number_touches("course.rows[1].elevation"), TA_TOUCHES_COURSE);
  assert_int_equal(ta_event_number_touches("car.turbo.compressor.lines[0].rows[1].flow"),
                   TA_TOUCHES_COMPRESSOR_MAP);
  assert_int_equal(ta_event_number_touches("car.turbo.rated_speed"), TA_TOUCHES_NOTHING);
  assert_int_equal(ta_event_number_touches("car.intake.pressure_drop"), TA_TOUCHES_NOTHING);
  assert_int_equal(ta_event_number_touches("goal.margin"), TA_TOUCHES_NOTHING);
}

/* A fork prepared again is the event read and prepared with that setting, bit for bit. */
static void a_fork_is_prepared_as_an_event_read_so(void **state) {
  (void)state;
  static const struct {
    const char *key, *text;
    double si;
    bool borrowed;
  } varied[] = {
      {"day.stations[0].temperature", "293.65 K", 293.65, true},
      {"day.lapse_rate", "5.7 K/km", 5.7 * 0.001, true},
      {"goal.margin", "0.033", 0.033, true},
      {"car.turbo.rated_speed", "147300 rpm", 147300.0, true},
      {"car.intake.pressure_drop", "3710 Pa", 3710.0, true},
      {"car.turbo.compressor.reference.temperature", "298.7 K", 298.7, false},
      {"car.turbo.compressor.lines[2].speed", "151300 rpm", 151300.0, false},
  };
  ta_event event;
  ta_prepared base;
  read_event(WHOLE, NULL, 0, &event);
  assert_int_equal(ta_prepare(&event, &base), TA_OK);
  assert_false(base.map_is_borrowed);
  for (size_t i = 0; i < COUNT_OF(varied); i++) {
    const ta_setting setting = {"--set", varied[i].key, varied[i].text, NULL};
    ta_event fork, read;
    ta_prepared again, want;
    ta_map_reading got_reading, want_reading;
    ta_event_fork(&event, &fork);
    assert_int_equal(ta_event_number_set(&fork, varied[i].key, varied[i].si, why, sizeof why),
                     TA_OK);
    const unsigned touches = ta_event_number_touches(varied[i].key);
    ta_diagnostics_clear(&diagnostics);
    assert_int_equal(ta_event_fork_complete(&fork, touches, &diagnostics), TA_OK);
    assert_int_equal(ta_prepare_again(&base, &fork, touches, &again), TA_OK);
    read_event(WHOLE, &setting, 1, &read);
    assert_int_equal(ta_prepare(&read, &want), TA_OK);

    assert_ptr_equal(again.event, &fork);
    assert_memory_equal(&again.day, &want.day, sizeof want.day);
    assert_memory_equal(&again.start, &want.start, sizeof want.start);
    assert_true(again.limit_rpm == want.limit_rpm && again.read_pa == want.read_pa);
    assert_true((again.map == base.map) == varied[i].borrowed);
    assert_true(again.map_is_borrowed == varied[i].borrowed);
    assert_int_equal(ta_compressor_map_at(again.map, 0.2317, 2.713, &got_reading), TA_OK);
    assert_int_equal(ta_compressor_map_at(want.map, 0.2317, 2.713, &want_reading), TA_OK);
    assert_true(got_reading.corrected_rpm == want_reading.corrected_rpm);
    ta_prepared_free(&again);
    ta_prepared_free(&want);
    ta_event_free(&read);
    ta_event_free(&fork);
  }
  ta_map_reading still;
  assert_int_equal(ta_compressor_map_at(base.map, 0.2317, 2.713, &still), TA_OK);
  ta_prepared_free(&base);
  ta_event_free(&event);
}

static void a_fork_out_of_order_is_told(void **state) {
  (void)state;
  static const struct {
    const char *key;
    double si;
    const char *about;
  } wrong[] = {
      {"car.engine.boost_window[0]", 7300.0, "car.engine.boost_window"},
      {"car.engine.redline", 7100.0, "car.engine.redline"},
      {"car.engine.volumetric_efficiency.rows[1].engine_speed", 1990.0,
       "car.engine.volumetric_efficiency.rows[1].engine_speed"},
      {"course.rows[1].distance", 200.0, "course.rows[1].distance"},
      {"car.turbo.compressor.lines[1].speed", 151300.0, "car.turbo.compressor.lines[2]"},
      {"day.stations[0].pressure", 101300.0, "day.stations[0].pressure"},
      {"car.turbo.count", 1.5, "car.turbo.count"},
  };
  ta_event event;
  read_event(WHOLE, NULL, 0, &event);
  for (size_t i = 0; i < COUNT_OF(wrong); i++) {
    ta_event fork;
    ta_event_fork(&event, &fork);
    assert_int_equal(ta_event_number_set(&fork, wrong[i].key, wrong[i].si, why, sizeof why), TA_OK);
    ta_diagnostics_clear(&diagnostics);
    assert_int_equal(
        ta_event_fork_complete(&fork, ta_event_number_touches(wrong[i].key), &diagnostics),
        TA_ERR_INPUT);
    const ta_diagnostic *item = &diagnostics.item[0];
    if (strcmp(item->key, wrong[i].about) != 0)
      fail_msg("%s: %s: %s", wrong[i].key, item->key, item->text);
    ta_event_free(&fork);
  }
  ta_event_free(&event);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_number_set_is_the_number_read),
      cmocka_unit_test(lists_are_copied_once_and_only_where_they_are_set),
      cmocka_unit_test(elements_of_a_series_are_numbers),
      cmocka_unit_test(goals_replace_each_other),
      cmocka_unit_test(the_right_flag_goes_with_a_number),
      cmocka_unit_test(what_cannot_be_set_is_refused_in_words),
      cmocka_unit_test(a_key_touches_what_is_made_of_it),
      cmocka_unit_test(a_fork_is_prepared_as_an_event_read_so),
      cmocka_unit_test(a_fork_out_of_order_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
