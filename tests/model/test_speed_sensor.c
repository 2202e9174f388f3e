/* test_speed_sensor.c - pulses of a sensor that counts blades. */
#include "thinair/speed_sensor.h"

#include "test.h"

/* A count of blades: a wheel of 11 that turns 1,234 times a second passes 13,574 of them; divided by
 * 4, a pulse for every fourth.  One pulse a turn at 150,000 rpm is 2.5 kHz (common practice). */
static void frequency_is_a_count_of_blades(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_speed_sensor sensor;
    double shaft_rpm, want_hz;
  } rows[] = {
      {"one a turn", {.blades = 1.0, .divider = 1.0}, 150000.0, 2500.0},
      {"eleven", {.blades = 11.0, .divider = 1.0}, 60.0 * 1234.0, 13574.0},
      {"eleven by four", {.blades = 11.0, .divider = 4.0}, 60.0 * 1234.0, 3393.5},
      {"still", {.blades = 7.0, .divider = 3.0}, 0.0, 0.0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++)
    bad += off(rows[i].row, "frequency", ta_sensor_frequency(&rows[i].sensor, rows[i].shaft_rpm),
               rows[i].want_hz, 1e-9);
  assert_int_equal(bad, 0);
}

/* The pulses that fall into a gate at two speeds one step apart differ by one. */
static void a_step_is_one_pulse_in_the_gate(void **state) {
  (void)state;
  const ta_speed_sensor sensor = {.blades = 7.0, .divider = 3.0};
  const double gate_s = 0.0137, n_rpm = 123456.0, step_rpm = ta_sensor_step(&sensor, gate_s);
  int bad = off("7 by 3", "pulses",
                gate_s * (ta_sensor_frequency(&sensor, n_rpm + step_rpm) -
                          ta_sensor_frequency(&sensor, n_rpm)),
                1.0, 1e-9);
  bad += off("7 by 3", "there and back", ta_sensor_gate(&sensor, step_rpm), gate_s, 1e-15);
  /* 60 x 3 / (7 x 0.0137) */
  bad += off("7 by 3", "step", step_rpm, 1876.955161626694, 1e-9);
  assert_int_equal(bad, 0);
}

static void a_wrong_count_shows_as_its_ratio(void **state) {
  (void)state;
  const ta_speed_sensor sensor = {.blades = 7.0, .divider = 1.0};
  const double n_rpm = 131313.0;
  int bad = 0;
  for (double set = 1.0; set < 15.0; set++) {
    /* the logger divides the same pulses by its own count */
    const ta_speed_sensor as_set = {.blades = set, .divider = 1.0};
    const double shown = ta_sensor_shown(&sensor, n_rpm, set);
    bad += off_rel("7", "pulses", ta_sensor_frequency(&as_set, shown),
                   ta_sensor_frequency(&sensor, n_rpm), 1e-14);
  }
  assert_int_equal(bad, 0);
}

static void counts_are_whole_and_stand_once(void **state) {
  (void)state;
  static const struct {
    double blades, want[TA_SENSOR_COUNTS_MAX];
    int count;
  } rows[] = {
      {6.0, {3.0, 5.0, 6.0, 7.0, 12.0}, 5},
      {7.0, {6.0, 7.0, 8.0, 14.0}, 4}, /* no half blade */
      {2.0, {1.0, 2.0, 3.0, 4.0}, 4},  /* half of it is one less */
      {1.0, {1.0, 2.0}, 2},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_speed_sensor sensor = {.blades = rows[i].blades, .divider = 1.0};
    double count[TA_SENSOR_COUNTS_MAX];
    assert_int_equal(ta_sensor_counts(&sensor, count), rows[i].count);
    for (int k = 0; k < rows[i].count; k++) assert_true(count[k] == rows[i].want[k]);
  }
}

/* Common practice: a thread of 1 mm backed off by 1.6 turns leaves 1.6 mm. */
static void the_gap_is_pitch_times_turns(void **state) {
  (void)state;
  const ta_speed_sensor common = {.thread_pitch_m = 1e-3, .turns_back = 1.6},
                        other = {.thread_pitch_m = 0.75e-3, .turns_back = 1.3};
  assert_int_equal(off("1 mm", "gap", ta_sensor_gap(&common), 1.6e-3, 1e-15) +
                       off("0.75 mm", "gap", ta_sensor_gap(&other), 0.975e-3, 1e-15),
                   0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(frequency_is_a_count_of_blades),
      cmocka_unit_test(a_step_is_one_pulse_in_the_gate),
      cmocka_unit_test(a_wrong_count_shows_as_its_ratio),
      cmocka_unit_test(counts_are_whole_and_stand_once),
      cmocka_unit_test(the_gap_is_pitch_times_turns),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
