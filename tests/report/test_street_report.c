/* test_street_report.c - what is sent to a customer: five sentences whatever the verdict, with their
 * reservations and without a promise; JSON that does not follow the units. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/report.h"

static const double elevation_m[] = {2317.0, 3391.7};

static void report(ta_holds holds, double boost_pa, double spring_pa, const ta_style *style,
                   ta_buffer *out, ta_verdict *verdict) {
  static const ta_goal goal = {.has_boost = true, .margin = 0.043};
  invented it;
  invented_make(&it);
  it.event.car.name = "an invented estate";
  it.event.car.control = (ta_control){.holds = holds,
                                      .overshoot_pa = 4300.0,
                                      .minimum_boost_pa = spring_pa,
                                      .has_minimum_boost = spring_pa > 0.0};
  ta_street_question question = {goal, elevation_m, COUNT_OF(elevation_m), 500.0};
  question.goal.boost_pa = boost_pa;
  ta_street *street = malloc(sizeof *street);
  assert_non_null(street);
  assert_int_equal(ta_street_make(&it.event, &question, street), TA_OK);
  ta_report_street(street, false, NULL, style, out);
  assert_false(out->failed);
  *verdict = street->verdict;
  ta_street_free(street);
  free(street);
}

static int times(const char *text, const char *what) {
  int count = 0;
  for (; (text = strstr(text, what)) != NULL; text++) count++;
  return count;
}

/* The sentences of the JSON, one a line. */
static const char *sentences(const ta_buffer *out, char text[8000]) {
  const char *from = strstr(out->text, "\"sentences\": [\n");
  assert_non_null(from);
  from = strchr(from, '\n') + 1;
  const char *to = strstr(from, "\n  ]");
  assert_non_null(to);
  assert_true(to - from < 8000 - 2);
  memcpy(text, from, (size_t)(to - from));
  text[to - from] = '\n';
  text[to - from + 1] = '\0';
  return text;
}

static void five_sentences_whatever_the_verdict(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_holds holds;
    double boost_pa, spring_pa;
    ta_verdict verdict;
    const char *says;
  } rows[] = {
      {"clear", TA_HOLDS_GAUGE, 91.3e3, 0.0, TA_CLEAR, "no lower setting is called for"},
      {"over", TA_HOLDS_GAUGE, 117.3e3, 0.0, TA_OVER, "Set to no more than 1.1"},
      {"absolute", TA_HOLDS_ABSOLUTE, 117.3e3, 0.0, TA_OVER,
       "kPa of absolute manifold pressure (1.17 bar of boost at home)"},
      {"key-on", TA_HOLDS_GAUGE_KEY_ON, 117.3e3, 0.0, TA_OVER,
       "bar of boost above the air at 2,317 m, where the key is turned, it is within"},
      {"past the map", TA_HOLDS_GAUGE, 291e3, 0.0, TA_OVER, "past what the turbo's data can tell"},
      {"spring", TA_HOLDS_GAUGE, 91.3e3, 117e3, TA_CANNOT_CAP, "a softer spring"},
  };
  static const char *const promises[] = {"safe", "guarantee", "optimum",
                                         "nan",  "inf",       "rpm of rpm"};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_style json = {
        .format = TA_FORMAT_JSON, .units = TA_METRIC, .colour = false, .version = "0"};
    const ta_style plain = {
        .format = TA_FORMAT_TEXT, .units = TA_METRIC, .colour = false, .version = "0"};
    ta_buffer out = {0}, text_out = {0};
    ta_verdict verdict;
    char text[8000];
    report(rows[i].holds, rows[i].boost_pa, rows[i].spring_pa, &json, &out, &verdict);
    report(rows[i].holds, rows[i].boost_pa, rows[i].spring_pa, &plain, &text_out, &verdict);
    (void)sentences(&out, text);
    if (verdict != rows[i].verdict || times(text, "\n") != 5 || times(text, ".\"") != 5 ||
        times(text, ". ") != 0 || strstr(text, rows[i].says) == NULL ||
        strstr(text, "have the car's own shaft speed measured before relying on this") == NULL ||
        strstr(text, "maker's ratings") == NULL || strstr(text, "qualified") == NULL) {
      print_error("%s: %s\n%s", rows[i].row, ta_verdict_name(verdict), text);
      bad++;
    }
    for (size_t k = 0; k < COUNT_OF(promises); k++) {
      if (strstr(text, promises[k]) == NULL && strstr(text_out.text, promises[k]) == NULL) continue;
      print_error("%s says \"%s\"\n", rows[i].row, promises[k]);
      bad++;
    }
    const char *last = "a burst wheel can kill.\n"; /* cautions stand last */
    if (times(text_out.text, "\n") > 46 ||
        strcmp(text_out.text + text_out.length - strlen(last), last) != 0) {
      print_error("%s:\n%s", rows[i].row, text_out.text);
      bad++;
    }
    ta_buffer_free(&out);
    ta_buffer_free(&text_out);
  }
  assert_int_equal(bad, 0);
}

/* The answer about a changed car, as text. */
static void changed(void (*change)(invented *it), double boost_pa, ta_buffer *out) {
  invented it;
  invented_make(&it);
  it.event.car.name = "an invented estate";
  it.event.car.control = (ta_control){.holds = TA_HOLDS_GAUGE, .overshoot_pa = 4300.0};
  change(&it);
  const ta_street_question question = {{.boost_pa = boost_pa, .has_boost = true, .margin = 0.043},
                                       elevation_m,
                                       COUNT_OF(elevation_m),
                                       500.0};
  const ta_style json = {.format = TA_FORMAT_JSON, .units = TA_METRIC, .version = "0"};
  ta_street *street = malloc(sizeof *street);
  assert_non_null(street);
  assert_int_equal(ta_street_make(&it.event, &question, street), TA_OK);
  ta_report_street(street, false, NULL, &json, out); /* its lines are not folded */
  ta_street_free(street);
  free(street);
}

static void change_to_a_spring(invented *it) {
  it->event.car.control.minimum_boost_pa = 61e3;
  it->event.car.control.has_minimum_boost = true;
}

/* Under an absolute target the spring rules where the air is dense: 76 + 61 kPa at home, 66 up there. */
static void change_to_a_spring_under_a_map(invented *it) {
  change_to_a_spring(it);
  it->event.car.control.holds = TA_HOLDS_ABSOLUTE;
}

static void change_to_heat(invented *it) {
  it->event.car.intake.temperature_rise_k = 59.0;
}

static void change_to_two_lines(invented *it) {
  ta_compressor *compressor = &it->event.car.turbo.compressor;
  compressor->line[1] = compressor->line[compressor->line_count - 1];
  compressor->line_count = 2;
}

static void change_to_a_key(invented *it) {
  it->event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  it->event.car.control.has_barometer_read_at = true;
  it->event.car.control.barometer_read_at_m = 1871.3;
}

static void change_to_a_short_sensor(invented *it) {
  it->event.car.control.map_sensor_pa = 163e3;
  it->event.car.control.has_map_sensor = true;
}

static void what_else_is_to_be_told(void **state) {
  (void)state;
  static const struct {
    const char *row;
    void (*change)(invented *it);
    double boost_pa;
    const char *says, *says_not;
  } rows[] = {
      {"spring", change_to_a_spring, 51.3e3,
       "at 2,317 m, 3,392 m the wastegate's spring gives more than is set: the boost there is the "
       "spring's, 0.61 bar",
       "at the start"},
      {"spring below", change_to_a_spring, 71.3e3, "\"warnings\": []", "spring gives"},
      {"spring under a MAP", change_to_a_spring_under_a_map, 56.3e3,
       "at 2,317 m the wastegate's spring gives more than is set", "3,392 m the wastegate"},
      {"heat", change_to_heat, 97.3e3, "of engine speed, at 3,392 m on a hot day: above 200 degC",
       "spring gives"},
      {"two lines", change_to_two_lines, 117.3e3,
       "too little is known to name one that is within the limit from 2,317 m to 3,392 m",
       "Set to no more"},
      {"two lines, nowhere", change_to_two_lines, 117.3e3, "within that limit at no elevation on a",
       "up to"},
      {"key", change_to_a_key, 117.3e3, "bar of boost above the air at 1,871 m, where the key is",
       "2,317 m, where the key"},
      {"sensor", change_to_a_short_sensor, 71.3e3,
       "within that limit from 1,488 m up to 4,500 m on a cold day", "limit everywhere"},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_buffer out = {0};
    changed(rows[i].change, rows[i].boost_pa, &out);
    if (strstr(out.text, rows[i].says) == NULL || strstr(out.text, rows[i].says_not) != NULL) {
      print_error("%s:\n%s\n", rows[i].row, out.text);
      bad++;
    }
    ta_buffer_free(&out);
  }
  assert_int_equal(bad, 0);
}

static void units_are_followed_but_by_json(void **state) {
  (void)state;
  const ta_style metric = {.format = TA_FORMAT_JSON,
                           .units = TA_METRIC,
                           .colour = false,
                           .version = "0"},
                 us = {.format = TA_FORMAT_JSON, .units = TA_US, .colour = false, .version = "0"},
                 text = {.format = TA_FORMAT_TEXT, .units = TA_US, .colour = false, .version = "0"};
  ta_buffer a = {0}, b = {0}, c = {0};
  ta_verdict verdict;
  report(TA_HOLDS_GAUGE, 117.3e3, 0.0, &metric, &a, &verdict);
  report(TA_HOLDS_GAUGE, 117.3e3, 0.0, &us, &b, &verdict);
  report(TA_HOLDS_GAUGE, 117.3e3, 0.0, &text, &c, &verdict);
  assert_string_equal(a.text, b.text);
  /* 117,300 Pa / 6894.757 Pa/psi = 17.01 psi; 3391.7 m / 0.3048 m/ft = 11,127.6 ft */
  assert_non_null(strstr(c.text, "Set to 17.0 psi of boost"));
  assert_non_null(strstr(c.text, "at 11,128 ft on a hot day"));
  assert_null(strstr(c.text, " bar"));
  assert_null(strstr(c.text, "degC"));
  ta_buffer_free(&a);
  ta_buffer_free(&b);
  ta_buffer_free(&c);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(five_sentences_whatever_the_verdict),
      cmocka_unit_test(what_else_is_to_be_told),
      cmocka_unit_test(units_are_followed_but_by_json),
  };
  gsl_set_error_handler_off();
  return cmocka_run_group_tests(tests, NULL, NULL);
}
