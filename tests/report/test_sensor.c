/* test_sensor.c - the report of a shaft-speed sensor. */
#include <gsl/gsl_errno.h>

#include "../invented_car.h"
#include "thinair/report.h"
#include "thinair/speed_sensor.h"

static const ta_style text_style = {.format = TA_FORMAT_TEXT, .units = TA_METRIC, .version = "0"};

static void report(invented *it, const ta_style *style, ta_buffer *out) {
  static ta_diagnostics diagnostics;
  ta_prepared prepared;
  it->event.name = "made up";
  it->event.car.name = "one that was made up";
  it->event.car.turbo.has_sensor = true;
  assert_int_equal(ta_prepare(&it->event, &prepared), TA_OK);
  ta_diagnostics_clear(&diagnostics);
  ta_report_sensor(&prepared, &diagnostics, style, out);
  ta_prepared_free(&prepared);
  assert_false(out->failed);
}

static void holds(const ta_buffer *out, const char *text) {
  if (strstr(out->text, text) == NULL) fail_msg("\"%s\" does not stand in\n%s", text, out->text);
}

/* By hand: rated 158,700, limit 152,828.1, alarm 155,764 down to 155,500; 9 blades by 2. */
static void figures_are_those_worked_by_hand(void **state) {
  (void)state;
  invented it;
  ta_buffer out = {0};
  invented_make(&it);
  it.event.car.turbo.sensor = (ta_speed_sensor){.blades = 9.0, .divider = 2.0};
  report(&it, &text_style, &out);
  holds(&out, "limit         152,828        96.3     11,462\n"); /* 152828.1/60 x 4.5 = 11462.1 */
  holds(&out, "alarm         155,500        98.0     11,662\n"); /* 11662.5 */
  holds(&out, "rated         158,700       100.0     11,902\n"); /* 11902.5 */
  holds(&out, "to be read    190,440       120.0     14,283\n"); /* 14283.0 */
  holds(&out, "more than 28,566 Hz");
  holds(&out, "142,830 Hz to place");
  holds(&out, "    1.0            13,333\n"); /* 60 x 2/(9 x 0.001) */
  holds(&out, "  100.0               133\n");
  holds(&out, "587 rpm, a tenth of the way"); /* (158700 - 152828.1)/10 */
  holds(&out, "takes a gate of 22.7 ms");     /* 120/(9 x 587.19) */
  holds(&out, "give car.turbo.sensor.thread_pitch and");
  holds(&out, "     9                    152,828          100.0                  155,500  right\n");
  holds(&out,
        "    10                    137,545           90.0                  172,778  too late");
  holds(&out, "     8                    171,932          112.5                  138,222\n");
  holds(&out, "A prediction does not replace a shaft-speed sensor.");
  ta_buffer_free(&out);
}

/* An alarm that would sound at the limit, or at the rated speed, is no alarm. */
static void a_margin_without_room_for_an_alarm_is_told(void **state) {
  (void)state;
  static const double margins[] = {0.0, 0.001, 0.0062, 0.0064};
  for (size_t i = 0; i < COUNT_OF(margins); i++) {
    for (int format = TA_FORMAT_TEXT; format <= TA_FORMAT_JSON; format++) {
      invented it;
      ta_buffer out = {0};
      const ta_style style = {.format = (ta_format)format, .units = TA_METRIC, .version = "0"};
      invented_make(&it);
      it.event.goal.margin = margins[i];
      it.event.car.turbo.sensor = (ta_speed_sensor){.blades = 9.0, .divider = 2.0};
      report(&it, &style, &out);
      const bool room = strstr(out.text, "rpm apart: too little room for an alarm") == NULL;
      assert_int_equal(room, i == 3);
      if (format == TA_FORMAT_TEXT)
        assert_int_equal(strstr(out.text, "Set the alarm at ") != NULL, room);
      ta_buffer_free(&out);
    }
  }
}

static void the_gap_follows_the_units(void **state) {
  (void)state;
  invented it;
  ta_buffer out = {0};
  invented_make(&it);
  it.event.car.turbo.sensor = (ta_speed_sensor){.blades = 9.0,
                                                .divider = 1.0,
                                                .thread_pitch_m = 1.25e-3,
                                                .turns_back = 1.4,
                                                .has_thread_pitch = true,
                                                .has_turns_back = true};
  report(&it, &text_style, &out);
  holds(&out, "1.75 mm = 1.4 turns back of a thread of 1.25 mm");
  ta_buffer_free(&out);
  const ta_style us = {.format = TA_FORMAT_TEXT, .units = TA_US, .version = "0"};
  report(&it, &us, &out);
  holds(&out, "0.0689 in = 1.4 turns back of a thread of 0.0492 in"); /* 1.75/25.4 */
  ta_buffer_free(&out);
}

static void json_holds_what_is_not_known_as_null(void **state) {
  (void)state;
  invented it;
  ta_buffer out = {0};
  const ta_style json = {.format = TA_FORMAT_JSON, .units = TA_US, .version = "0"};
  invented_make(&it);
  it.event.goal.margin = 0.0; /* limit and rated are one: no gate tells them apart */
  it.event.car.turbo.sensor = (ta_speed_sensor){.blades = 9.0, .divider = 2.0};
  report(&it, &json, &out);
  holds(&out, "\"frequency_Hz\": 14283\n");
  holds(&out, "\"sampled_above_Hz\": 28566,");
  holds(&out, "\"wanted_step_rpm\": 0,\n  \"wanted_gate_s\": null,\n  \"gap_m\": null,");
  holds(&out, "\"gate_s\": 0.001,");
  holds(&out, "\"alarm_at_rpm\":");
  assert_null(strstr(out.text, "too late"));
  ta_buffer_free(&out);
  const ta_style csv = {.format = TA_FORMAT_CSV, .version = "0"};
  report(&it, &csv, &out);
  holds(&out, "name,shaft (rpm),of_rated (%),frequency_Hz\n");
  ta_buffer_free(&out);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(figures_are_those_worked_by_hand),
      cmocka_unit_test(a_margin_without_room_for_an_alarm_is_told),
      cmocka_unit_test(the_gap_follows_the_units),
      cmocka_unit_test(json_holds_what_is_not_known_as_null),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
