/* Forces on a car: limits and identities, against the equations written out with numbers. */
#include "thinair/vehicle.h"

#include "test.h"

static double ratio[] = {3.07, 1.93, 1.31};
static const ta_vehicle car = {.mass_kg = 1163.0,
                               .drag_area_m2 = 0.93,
                               .downforce_area_m2 = 0.61,
                               .rolling_resistance = 0.0137,
                               .tyre_radius_m = 0.313,
                               .gear = ratio,
                               .gear_count = 3,
                               .final_drive = 4.13,
                               .drivetrain_efficiency = 0.87,
                               .grip = {.drive = 0.97, .corner = 1.17, .brake = 1.07},
                               .driven_load_share = 0.62};
static const double G0 = 9.80665; /* ISO 2533 */

static void forces_of_one_motion(void **state) {
  (void)state;
  const ta_motion at = {.grade = 0.087, .density_kgm3 = 0.931, .speed_ms = 31.7};
  const double q = 0.5 * 0.931 * 31.7 * 31.7, across = 1163.0 * G0 * cos(asin(0.087));
  const double load = across + 0.61 * q, rolling = 0.0137 * load, grade = 1163.0 * G0 * 0.087;
  int bad = off_rel("car", "drag", ta_vehicle_drag(&car, &at), 0.93 * q, 1e-14);
  bad += off_rel("car", "load", ta_vehicle_load(&car, &at), load, 1e-14);
  bad += off_rel("car", "rolling", ta_vehicle_rolling(&car, &at), rolling, 1e-14);
  bad += off_rel("car", "grade", ta_vehicle_grade_force(&car, 0.087), grade, 1e-14);
  bad += off_rel("car", "resistance", ta_vehicle_resistance(&car, &at), 0.93 * q + rolling + grade,
                 1e-14);
  bad += off_rel("car", "grip", ta_vehicle_drive_grip(&car, &at), 0.97 * 0.62 * load, 1e-14);
  bad += off_rel("car", "braking", ta_vehicle_braking(&car, &at),
                 (1.07 * load + 0.93 * q + rolling + grade) / 1163.0, 1e-14);
  bad += off_rel("car", "engine", ta_vehicle_engine_force(&car, 213e3, 31.7), 0.87 * 213e3 / 31.7,
                 1e-14);
  assert_int_equal(bad, 0);
}

static void downhill_pulls_and_lift_takes_no_more_than_the_load(void **state) {
  (void)state;
  const ta_motion down = {.grade = -0.13, .density_kgm3 = 1.07, .speed_ms = 0.0};
  ta_vehicle lifting = car;
  lifting.downforce_area_m2 = -0.37;
  const ta_motion fast = {.grade = 0.0, .density_kgm3 = 1.07, .speed_ms = 317.0};
  assert_true(ta_vehicle_resistance(&car, &down) < 0.0);
  assert_true(ta_vehicle_load(&lifting, &fast) == 0.0);
  assert_true(ta_vehicle_rolling(&lifting, &fast) == 0.0);
}

/* At the corner's speed the tyres' side force is all used, whatever the car. */
static void a_corner_takes_all_the_grip(void **state) {
  (void)state;
  static const double area[] = {0.0, 0.61, 3.7, -0.29}, radius[] = {7.3, 41.0, 263.0};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(area); i++) {
    for (size_t k = 0; k < COUNT_OF(radius); k++) {
      ta_vehicle v = car;
      v.downforce_area_m2 = area[i];
      const double speed = ta_vehicle_corner_speed(&v, -0.073, 1.031, radius[k]);
      const ta_motion at = {.grade = -0.073, .density_kgm3 = 1.031, .speed_ms = speed};
      bad += off_rel("corner", "side force", 1163.0 * speed * speed / radius[k],
                     1.17 * ta_vehicle_load(&v, &at), 1e-13);
    }
  }
  assert_int_equal(bad, 0);
}

static void downforce_can_suffice_at_any_speed(void **state) {
  (void)state;
  /* m/r = grip 1/2 rho A there */
  const double edge_m = 1163.0 / (1.17 * 0.5 * 1.031 * 0.61);
  assert_true(isinf(ta_vehicle_corner_speed(&car, 0.0, 1.031, 1.0001 * edge_m)));
  assert_true(isfinite(ta_vehicle_corner_speed(&car, 0.0, 1.031, 0.9999 * edge_m)));
  assert_true(isinf(ta_vehicle_corner_speed(&car, 0.0, 1.031, (double)INFINITY)));
}

static void engine_speed_and_road_speed_there_and_back(void **state) {
  (void)state;
  int bad = 0;
  for (size_t gear = 1; gear <= 3; gear++) {
    const double turns_a_second = 23.9 / (2.0 * acos(-1.0) * 0.313);
    const double rpm = ta_vehicle_engine_rpm(&car, gear, 23.9);
    bad += off_rel("gear", "rpm", rpm, 60.0 * turns_a_second * 4.13 * ratio[gear - 1], 1e-14);
    bad += off_rel("gear", "speed", ta_vehicle_speed(&car, gear, rpm), 23.9, 1e-14);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(forces_of_one_motion),
      cmocka_unit_test(downhill_pulls_and_lift_takes_no_more_than_the_load),
      cmocka_unit_test(a_corner_takes_all_the_grip),
      cmocka_unit_test(downforce_can_suffice_at_any_speed),
      cmocka_unit_test(engine_speed_and_road_speed_there_and_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
