/* test_point_report.c - one operating point in words: what limits its cap, what was not checked, what
 * the controller cannot see or hold, and a hot compressor outlet. */
#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/report.h"

static const double HEIGHT_M = 4117.0;

static void report(const invented *it, double engine_rpm, const ta_style *style, ta_buffer *out) {
  ta_prepared prepared;
  ta_operating_point point;
  ta_air air;
  assert_int_equal(ta_prepare(&it->event, &prepared), TA_OK);
  assert_int_equal(ta_day_air(&prepared.day, HEIGHT_M, &air), TA_OK);
  const double map_pa =
      ta_judged_map(&prepared, ta_prepared_goal(&prepared, engine_rpm), air.pressure_pa);
  assert_int_equal(ta_point_solve(&it->event.car, prepared.map, &air, engine_rpm, map_pa, &point),
                   TA_OK);
  ta_report_point(&prepared, &point, HEIGHT_M, NULL, style, out);
  assert_false(out->failed);
  ta_prepared_free(&prepared);
}

static void change_nothing(invented *it) {
  (void)it;
}
/* The target is 173.3 kPa and 5.3 of overshoot; the cap at 7,270 rpm is near 168. */
static void change_to_a_sensor_below_both(invented *it) {
  it->event.car.control.has_map_sensor = true;
  it->event.car.control.map_sensor_pa = 137e3;
}
static void change_to_a_sensor_between(invented *it) {
  change_to_a_sensor_below_both(it);
  it->event.car.control.map_sensor_pa = 176e3;
}
static void change_to_a_low_target(invented *it) {
  change_to_a_sensor_below_both(it);
  it->event.goal.map_pa = 121e3;
}
static void change_to_a_long_sensor(invented *it) {
  change_to_a_sensor_below_both(it);
  it->event.car.control.map_sensor_pa = 311e3;
}
static void change_to_a_hard_spring(invented *it) {
  it->event.car.control.has_minimum_boost = true;
  it->event.car.control.minimum_boost_pa = 110e3;
}
static void change_to_a_spring_above_the_target(invented *it) {
  change_to_a_hard_spring(it);
  it->event.goal.map_pa = 131e3;
}
static void change_to_heat(invented *it) {
  it->event.goal.map_pa = 161e3;
  it->event.car.intake.temperature_rise_k = 61.0;
}
static void change_past_the_map(invented *it) {
  it->event.goal.map_pa = 419e3;
}

static void every_note_is_provoked(void **state) {
  (void)state;
  static const char *const notes[] = {"it can hold neither this point's MAP nor the cap here",
                                      "it can hold no MAP like this point's",
                                      "it can hold no MAP as high as the cap here",
                                      "gives more than the target asks for here: the MAP",
                                      "here, more than the cap",
                                      "of engine speed, at 4,117 m: above 200 degC"};
  enum { BOTH = 1, POINT = 2, CAP = 4, SPRING = 8, HARD = 16, HOT = 32 };
  static const struct {
    const char *row;
    void (*change)(invented *it);
    int notes;
  } rows[] = {{"nothing", change_nothing, 0},
              {"a sensor below both", change_to_a_sensor_below_both, BOTH},
              {"a sensor between cap and target", change_to_a_sensor_between, POINT},
              {"a low target", change_to_a_low_target, CAP},
              {"a long sensor", change_to_a_long_sensor, 0},
              {"a hard spring", change_to_a_hard_spring, HARD},
              {"a spring above the target", change_to_a_spring_above_the_target, HARD | SPRING},
              {"heat", change_to_heat, HOT},
              {"past the map", change_past_the_map, 0}};
  const ta_style json = {.format = TA_FORMAT_JSON, .units = TA_US, .version = "0"};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    ta_buffer out = {0};
    invented_make(&it);
    rows[i].change(&it);
    report(&it, 7270.0, &json, &out); /* JSON does not fold its lines, nor follow the units */
    for (size_t k = 0; k < COUNT_OF(notes); k++) {
      const bool there = strstr(out.text, notes[k]) != NULL;
      if (there == ((rows[i].notes >> k & 1) != 0)) continue;
      print_error("%s: \"%s\" is%s there\n%s\n", rows[i].row, notes[k], there ? "" : " not",
                  out.text);
      bad++;
    }
    ta_buffer_free(&out);
  }
  assert_int_equal(bad, 0);
}

static bool holds(const ta_buffer *out, const char *text) {
  return strstr(out->text, text) != NULL;
}

static void words_stand_in_the_text_and_names_in_the_json(void **state) {
  (void)state;
  static const ta_unit_system systems[] = {TA_METRIC, TA_US};
  for (size_t i = 0; i < COUNT_OF(systems); i++) {
    invented it;
    ta_buffer text = {0}, json = {0};
    const ta_style plain = {.format = TA_FORMAT_TEXT, .units = systems[i], .version = "0"},
                   keys = {.format = TA_FORMAT_JSON, .units = systems[i], .version = "0"};
    invented_make(&it);
    report(&it, 7270.0, &plain, &text);
    report(&it, 7270.0, &keys, &json);
    assert_true(holds(&text, "limited by               the shaft\n"));
    assert_false(holds(&text, "rated_speed") || holds(&text, "extrapolated"));
    assert_true(holds(&text, "past the map's last line: an estimate"));
    assert_true(holds(&text, "Drive       not checked: no turbine in the car file\n"));
    assert_true(holds(&json, "\"limited_by\": \"rated_speed\""));
    assert_true(holds(&json, "\"zone\": \"extrapolated\"") && holds(&json, "\"drive\": null"));
    /* what is read off the text is not above the cap */
    const char *cap = strstr(json.text, "\"cap\": {"), *exact = strstr(cap, "\"map_kPa\": "),
               *read = strstr(text.text, "MAP at the limit");
    const double exact_pa = 1e3 * strtod(exact + strlen("\"map_kPa\": "), NULL),
                 shown = strtod(read + strlen("MAP at the limit"), NULL),
                 shown_pa = systems[i] == TA_US ? shown * 6894.757293168 : 1e3 * shown,
                 step_pa = systems[i] == TA_US ? 69.0 : 100.0;
    assert_true(shown_pa <= exact_pa * (1.0 + 1e-9) && shown_pa > exact_pa - step_pa);
    ta_buffer_free(&text);
    ta_buffer_free(&json);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_note_is_provoked),
      cmocka_unit_test(words_stand_in_the_text_and_names_in_the_json),
  };
  gsl_set_error_handler_off();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
