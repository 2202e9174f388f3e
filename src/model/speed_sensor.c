/* speed_sensor.c - pulses of a sensor that counts passing blades.
 *
 * Units     Shaft speed in rev/min, else SI.
 * Limits    Even blades and a clean signal: a missed or doubled pulse is not modelled.
 * Pinned by tests/model/test_speed_sensor.c.
 */
#include "thinair/speed_sensor.h"

static const double SECONDS_A_MINUTE = 60.0;

double ta_sensor_frequency(const ta_speed_sensor *sensor, double shaft_rpm) {
  return shaft_rpm / SECONDS_A_MINUTE * sensor->blades / sensor->divider;
}

double ta_sensor_step(const ta_speed_sensor *sensor, double gate_s) {
  return SECONDS_A_MINUTE * sensor->divider / (sensor->blades * gate_s);
}

double ta_sensor_gate(const ta_speed_sensor *sensor, double step_rpm) {
  return ta_sensor_step(sensor, step_rpm); /* step and gate stand for each other */
}

double ta_sensor_shown(const ta_speed_sensor *sensor, double shaft_rpm, double set_blades) {
  return shaft_rpm * sensor->blades / set_blades;
}

double ta_sensor_gap(const ta_speed_sensor *sensor) {
  return sensor->thread_pitch_m * sensor->turns_back;
}

int ta_sensor_counts(const ta_speed_sensor *sensor, double count[TA_SENSOR_COUNTS_MAX]) {
  const double right = sensor->blades,
               tried[TA_SENSOR_COUNTS_MAX] = {right / 2.0, right - 1.0, right, right + 1.0,
                                              right * 2.0};
  int n = 0;
  for (int i = 0; i < TA_SENSOR_COUNTS_MAX; i++) {
    const bool whole = tried[i] == (double)(int)tried[i] && tried[i] >= 1.0;
    if (whole && (n == 0 || tried[i] > count[n - 1])) count[n++] = tried[i];
  }
  return n;
}
