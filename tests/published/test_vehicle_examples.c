/* test_vehicle_examples.c - worked examples of longitudinal vehicle dynamics from course notes and a
 * textbook.  Each tolerance covers the digits printed and the g of the page (9.81, or 10 where that
 * is said) in place of 9.80665. */
#include "test.h"
#include "thinair/vehicle.h"

static const double LB_KG = 0.45359237, FT_M = 0.3048;                         /* exact */
static const double LBF_N = 4.4482216152605;                                   /* exact */
static const double SLUG_FT3_KGM3 = 4.4482216152605 / 0.3048 / 0.028316846592; /* lbf s2/ft, ft3 */
static const double MPH_MS = 0.44704, KMH_MS = 1.0 / 3.6;                      /* exact */
static const double PI = 3.14159265358979323846;

/* Drag, rolling resistance, grade force.  A 0 under "want": not printed. */
static void resistances(void **state) {
  (void)state;
  static const char NPTEL_2[] =
      "NPTEL course, week 2 assignment solution (stored page, document 803585363)";
  static const char NOTES[] = "course notes on vehicle resistance (stored page)";
  static const struct {
    const char *row, *source;
    double mass_kg, drag_area_m2, rolling, density_kgm3, grade_deg, speed_kmh;
    double drag_n, rolling_n, grade_n, total_n, tolerance;
  } rows[] = {
      {"three-wheeler, 30 km/h", NPTEL_2, 600.0, 0.45 * 1.6, 0.015, 1.2, 8.0, 30.0, 30.0, 87.43,
       819.17, 0.0, 0.003},
      {"three-wheeler, 80 km/h", NPTEL_2, 600.0, 0.45 * 1.6, 0.015, 1.2, 8.0, 80.0, 213.33, 87.43,
       819.17, 0.0, 0.003},
      {"four-wheeler, 30 km/h", NPTEL_2, 1500.0, 0.3 * 2.5, 0.015, 1.2, 8.0, 30.0, 31.25, 218.57,
       2047.93, 0.0, 0.003},
      {"four-wheeler, 80 km/h", NPTEL_2, 1500.0, 0.3 * 2.5, 0.015, 1.2, 8.0, 80.0, 222.22, 218.57,
       2047.93, 0.0, 0.003},
      {"two-wheeler, 30 km/h", NPTEL_2, 200.0, 0.9 * 0.6, 0.015, 1.2, 8.0, 30.0, 22.5, 0.0, 273.0,
       0.0, 0.003},
      {"two-wheeler, 80 km/h", NPTEL_2, 200.0, 0.9 * 0.6, 0.015, 1.2, 8.0, 80.0, 160.0, 0.0, 273.0,
       0.0, 0.003},
      /* the page takes its rolling resistance on the flat */
      {"two-wheeler, flat", NPTEL_2, 200.0, 0.9 * 0.6, 0.015, 1.2, 0.0, 30.0, 22.5, 29.4, 0.0, 0.0,
       0.003},
      {"72 km/h", NOTES, 1200.0, 0.28 * 2.0, 0.012, 1.225, 0.0, 72.0, 137.2, 141.3, 0.0, 278.5,
       0.002},
      /* air speed is 120 + 10 km/h of headwind */
      {"headwind", "NPTEL course, assignment 3 (stored page)", 1000.0, 0.3 * 3.0, 0.0, 1.25, 0.0,
       130.0, 733.5, 0.0, 0.0, 733.5, 0.001},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_vehicle car = {.mass_kg = rows[i].mass_kg,
                            .drag_area_m2 = rows[i].drag_area_m2,
                            .rolling_resistance = rows[i].rolling};
    const ta_motion at = {.grade = sin(rows[i].grade_deg * PI / 180.0),
                          .density_kgm3 = rows[i].density_kgm3,
                          .speed_ms = rows[i].speed_kmh * KMH_MS};
    const char *row = rows[i].row;
    const double tolerance = rows[i].tolerance;
    int here = off_rel(row, "drag [N]", ta_vehicle_drag(&car, &at), rows[i].drag_n, tolerance);
    if (rows[i].rolling_n > 0.0)
      here +=
          off_rel(row, "rolling [N]", ta_vehicle_rolling(&car, &at), rows[i].rolling_n, tolerance);
    if (rows[i].grade_n > 0.0)
      here += off_rel(row, "grade [N]", ta_vehicle_grade_force(&car, at.grade), rows[i].grade_n,
                      tolerance);
    if (rows[i].total_n > 0.0)
      here +=
          off_rel(row, "total [N]", ta_vehicle_resistance(&car, &at), rows[i].total_n, tolerance);
    if (here > 0) print_error("  source: %s\n", rows[i].source);
    bad += here;
  }
  assert_int_equal(bad, 0);
}

/* Mannering and Washburn, Principles of Highway Engineering and Traffic Analysis, example (values as
 * read on a stored page): 2,600 lb, 60 mph, 5 %; rolling coefficient 0.01 (1 + V/147), V in ft/s. */
static void resistance_in_us_units(void **state) {
  (void)state;
  const double speed_ms = 60.0 * MPH_MS;
  const ta_vehicle car = {.mass_kg = 2600.0 * LB_KG,
                          .drag_area_m2 = 0.35 * 22.0 * FT_M * FT_M,
                          .rolling_resistance = 0.01 * (1.0 + speed_ms / FT_M / 147.0)};
  const ta_motion at = {
      .grade = 0.05, .density_kgm3 = 0.002045 * SLUG_FT3_KGM3, .speed_ms = speed_ms};
  const char *row = "2,600 lb";
  int bad = off_rel(row, "drag", ta_vehicle_drag(&car, &at), 60.97 * LBF_N, 0.002);
  bad += off_rel(row, "rolling", ta_vehicle_rolling(&car, &at), 41.57 * LBF_N, 0.002);
  bad += off_rel(row, "grade", ta_vehicle_grade_force(&car, 0.05), 130.0 * LBF_N, 0.002);
  bad += off_rel(row, "total", ta_vehicle_resistance(&car, &at), 232.5 * LBF_N, 0.002);
  assert_int_equal(bad, 0);
}

/* NPTEL Electric Vehicles (IIT Delhi), week 4, stored page: 0 to 80 km/h in 10 s, g = 10, inertia of
 * the turning parts 6 %; force at the end 3,218.1 N, 71.5 kW at the wheels, 79.5 kW at the shaft. */
static void power_for_an_acceleration(void **state) {
  (void)state;
  const ta_vehicle car = {.mass_kg = 1200.0,
                          .drag_area_m2 = 0.25 * 2.0,
                          .rolling_resistance = 0.02,
                          .drivetrain_efficiency = 0.9};
  const double speed_ms = 80.0 * KMH_MS;
  const ta_motion at = {.density_kgm3 = 1.25, .speed_ms = speed_ms};
  const double force_n = 1200.0 * 1.06 * speed_ms / 10.0 + ta_vehicle_resistance(&car, &at);
  int bad = off_rel("0 to 80 km/h", "force", force_n, 3218.1, 0.003);
  bad += off_rel("0 to 80 km/h", "power at the wheels", force_n * speed_ms, 71.5e3, 0.003);
  bad +=
      off_rel("79.5 kW", "force", ta_vehicle_engine_force(&car, 79.5e3, speed_ms), 3218.1, 0.003);
  assert_int_equal(bad, 0);
}

/* The same page: 200 N m through a ratio over wheel radius of 15 /m are 3,000 N. */
static void force_of_a_torque(void **state) {
  (void)state;
  double ratio[] = {15.0};
  const ta_vehicle car = {.tyre_radius_m = 0.31,
                          .gear = ratio,
                          .gear_count = 1,
                          .final_drive = 0.31,
                          .drivetrain_efficiency = 1.0};
  const double speed_ms = 17.3,
               shaft_rads = ta_vehicle_engine_rpm(&car, 1, speed_ms) * 2.0 * PI / 60.0;
  assert_int_equal(
      off_rel("200 N m", "force", ta_vehicle_engine_force(&car, 200.0 * shaft_rads, speed_ms),
              3000.0, 1e-6),
      0);
}

/* NPTEL course, assignment 3, stored page: 750 rad/s, ratio 10, wheel of 0.4 m: 54 km/h; 90 km/h,
 * ratio 8, wheel of 0.6 m: 666.67 rad/s. */
static void engine_speed_and_road_speed(void **state) {
  (void)state;
  double ratio[] = {10.0, 8.0};
  ta_vehicle car = {.tyre_radius_m = 0.2, .gear = ratio, .gear_count = 2, .final_drive = 1.0};
  int bad = off_rel("ratio 10", "speed", ta_vehicle_speed(&car, 1, 750.0 * 60.0 / (2.0 * PI)),
                    54.0 * KMH_MS, 1e-4);
  car.tyre_radius_m = 0.3;
  bad += off_rel("ratio 8", "rpm", ta_vehicle_engine_rpm(&car, 2, 90.0 * KMH_MS),
                 666.67 * 60.0 / (2.0 * PI), 1e-4);
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(resistances),
      cmocka_unit_test(resistance_in_us_units),
      cmocka_unit_test(power_for_an_acceleration),
      cmocka_unit_test(force_of_a_torque),
      cmocka_unit_test(engine_speed_and_road_speed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
