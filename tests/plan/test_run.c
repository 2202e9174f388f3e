/* A run up the course, against closed forms and against an integration in time by a library. */
#include "thinair/run.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/course_shape.h"

static const double G0 = 9.80665; /* ISO 2533 */
static const double PI = 3.14159265358979323846;

/* ---- cars, roads and engines to put together ------------------------------------------------- */

enum { NODES_MAX = 12, POINTS_MAX = 320 };

/* A car, its engine and a road.  Made in place: it points into itself. */
typedef struct {
  double gear[6], rpm[NODES_MAX], density[NODES_MAX], power[2 * NODES_MAX * NODES_MAX];
  ta_course_point point[POINTS_MAX];
  ta_vehicle car;
  ta_full_load load;
  ta_course course;
} setting;

/* One gear, no losses, air or resistance, 913 kg on four driven wheels; one power for all engine
 * speeds from a crawl; two points 1,170 m apart on the flat. */
static void simple(setting *s, double power_w) {
  *s = (setting){.gear = {1.0},
                 .rpm = {1e-3, 9.1e6},
                 .density = {1.0},
                 .power = {power_w, power_w},
                 .point = {{.distance_m = 0.0}, {.distance_m = 1170.0}}};
  s->car = (ta_vehicle){.mass_kg = 913.0,
                        .tyre_radius_m = 0.31,
                        .gear = s->gear,
                        .gear_count = 1,
                        .final_drive = 1.0,
                        .drivetrain_efficiency = 1.0,
                        .shift_rpm = 9e6,
                        .grip = {.drive = 0.93, .corner = 1.13, .brake = 1.03},
                        .driven_load_share = 1.0};
  s->load = (ta_full_load){.elevation_count = 1,
                           .low_m = 0.0,
                           .engine_rpm = s->rpm,
                           .engine_count = 2,
                           .density_kgm3 = s->density,
                           .layer_count = 1,
                           .power_w = s->power};
  s->course = (ta_course){s->point, 2};
}

/* Elevations of the table: power and density are the same at all. */
static void stretch_elevations(setting *s, double low_m, double high_m) {
  s->load.low_m = low_m;
  s->load.step_m = high_m - low_m;
  s->load.elevation_count = 2;
  s->density[1] = s->density[0];
  for (size_t i = 0; i < s->load.engine_count; i++)
    s->power[s->load.engine_count + i] = s->power[i];
}

static ta_status try_to_drive(const setting *s, double tolerance, ta_run *run) {
  ta_road road;
  assert_int_equal(ta_road_make(&s->course, TA_CORNER_LENGTH_M, &road), TA_OK);
  const ta_status status = ta_run_make(&road, &s->car, &s->load, tolerance, run);
  ta_road_free(&road);
  return status;
}

/* To be freed with ta_run_free. */
static ta_run drive(const setting *s, double tolerance) {
  ta_run run;
  assert_int_equal(try_to_drive(s, tolerance, &run), TA_OK);
  return run;
}

static const ta_run_step *last_of(const ta_run *run) {
  return &run->step[run->step_count - 1];
}

static const ta_run_step *at_point(const ta_run *run, size_t point) {
  assert_true(point < run->point_count);
  return &run->step[run->at_point[point]];
}

/* ---- closed forms ---------------------------------------------------------------------------- */

/* v^2 = 2 a x, t = sqrt(2 x/a): exact for any step. */
static void constant_force_from_a_standstill(void **state) {
  (void)state;
  setting s;
  simple(&s, 9e9);
  stretch_elevations(&s, 1500.0, 1700.0);
  s.car.rolling_resistance = 0.017;
  s.car.driven_load_share = 0.57;
  s.point[0].elevation_m = 1517.0;
  s.point[1].elevation_m = 1603.0;
  const double sine = 86.0 / 1170.0, cosine = cos(asin(sine));
  const double a = G0 * (0.93 * 0.57 * cosine - 0.017 * cosine - sine);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  int bad = off_rel("grip", "time", run.time_s, sqrt(2.0 * 1170.0 / a), 1e-12);
  bad += off_rel("grip", "speed", last_of(&run)->speed_ms, sqrt(2.0 * 1170.0 * a), 1e-12);
  for (size_t i = 0; i < run.step_count; i++) {
    const ta_run_step *step = &run.step[i];
    bad += off("grip", "time on the way", step->time_s, sqrt(2.0 * step->distance_m / a), 1e-10);
    bad += off("grip", "elevation", step->elevation_m, 1517.0 + sine * step->distance_m, 1e-9);
  }
  /* a small part of the power is in use */
  const double force = 0.93 * 0.57 * 913.0 * G0 * cosine;
  bad += off_rel("grip", "throttle", last_of(&run)->throttle_share,
                 force * last_of(&run)->speed_ms / 9e9, 1e-9);
  assert_int_equal(bad, 0);
  assert_int_equal(run.point_count, 2);
  assert_false(run.stalled);
  ta_run_free(&run);
}

/* m a = F - c v^2 gives v^2 = F/c (1 - exp(-2 c x/m)), smooth all the way: Heun's order 2 shows. */
static void the_order_of_convergence_is_two(void **state) {
  (void)state;
  setting s;
  simple(&s, 9e9);
  s.car.grip.drive = 0.31;
  s.car.drag_area_m2 = 1.97;
  s.density[0] = 1.07;
  const double c = 0.5 * 1.07 * 1.97, force = 0.31 * 913.0 * G0;
  const double time = 913.0 / sqrt(force * c) * acosh(exp(c * 1170.0 / 913.0));
  ta_run run = drive(&s, 1e-9);
  int bad = off_rel("drag", "time", run.time_s, time, 1e-9);
  bad += off("drag", "change", fabs(run.time_s - time), run.change_s / 3.0, 0.1 * run.change_s);
  bad += off("drag", "order", run.order, 2.0, 0.1);
  assert_int_equal(bad, 0);
  assert_true(run.order_settled && run.halvings > 2 && run.step_m < 1.0);
  ta_run_free(&run);
}

/* Grip first, m a = F - c v^2; then m v dv/dt = P - c v^3.  Both integrate to logarithms. */
static void constant_power_against_drag(void **state) {
  (void)state;
  const double power = 0.87 * 171e3, c = 0.5 * 1.07 * 0.97, m = 913.0, force = 0.93 * m * G0;
  setting s;
  simple(&s, 171e3);
  s.car.drivetrain_efficiency = 0.87;
  s.car.drag_area_m2 = 0.97;
  s.density[0] = 1.07;
  const double v1 = power / force; /* where the grip suffices */
  const double x1 = m / (2.0 * c) * log(force / (force - c * v1 * v1)),
               t1 = m / sqrt(force * c) * atanh(v1 * sqrt(c / force));
  const double v2 =
      cbrt((power - (power - c * v1 * v1 * v1) * exp(-3.0 * c * (1170.0 - x1) / m)) / c);
  const double k = cbrt(power / c);
  double side[2]; /* of the integral of m v/(P - c v^3) */
  for (int i = 0; i < 2; i++) {
    const double v = i == 0 ? v1 : v2;
    side[i] = m / (3.0 * k * c) *
              (-log(k - v) + 0.5 * log(v * v + k * v + k * k) -
               sqrt(3.0) * atan((2.0 * v + k) / (sqrt(3.0) * k)));
  }
  const double time = t1 + side[1] - side[0];
  ta_run run = drive(&s, TA_RUN_TOLERANCE), fine = drive(&s, 1e-7);
  int bad = off_rel("power", "time", run.time_s, time, 2.0 * TA_RUN_TOLERANCE);
  bad += off_rel("power, fine", "time", fine.time_s, time, 1e-7);
  bad += off_rel("power, fine", "speed", last_of(&fine)->speed_ms, v2, 1e-6);
  ta_run coarse = drive(&s, TA_COARSE_RUN_TOLERANCE); /* one halving, whose third is left */
  bad += off_rel("power, coarse", "time", coarse.time_s, time, TA_COARSE_RUN_TOLERANCE / 3.0);
  assert_true(coarse.halvings == 1 && !coarse.has_order && !coarse.order_settled);
  ta_run_free(&coarse);
  assert_true(fine.order_settled && fine.halvings > run.halvings && fine.step_m < run.step_m);
  bad += off("power, fine", "order", fine.order, 2.0, 0.6);
  assert_int_equal(bad, 0);
  assert_true(last_of(&fine)->throttle_share == 1.0 && fine.step[1].throttle_share < 1.0);
  ta_run_free(&run);
  ta_run_free(&fine);
}

/* What MAP is missing is linear between nodes that miss some, nothing next to one that misses none, and
 * with two layers the less of both; a power of 0 beside the way makes it unknown. */
static void what_is_missing_at_a_step(void **state) {
  (void)state;
  static const double missing[][4] = {
      {3100.0, 7300.0, 3100.0, 7300.0}, {3100.0, 0.0, 3100.0, 0.0}, {3100.0, 7300.0, 900.0, 700.0}};
  setting s;
  simple(&s, 171e3);
  s.power[2] = s.power[3] = 171e3;
  s.load.layer_count = 2;
  s.load.ram_pa[1] = 1370.0;
  s.load.ram_recovery = 0.8;
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(missing); k++) {
    s.load.missing_map_pa = missing[k];
    ta_run run = drive(&s, TA_RUN_TOLERANCE);
    const size_t layer = k == 2 ? 2 : 0;
    for (size_t i = 0; i < run.step_count; i++) {
      const double share = (run.step[i].engine_rpm - 1e-3) / (9.1e6 - 1e-3),
                   linear = missing[k][layer] + share * (missing[k][layer + 1] - missing[k][layer]);
      bad += off("missing", "MAP", run.step[i].missing_map_pa, k == 1 ? 0.0 : linear, 1e-6);
    }
    assert_false(run.power_unknown);
    ta_run_free(&run);
  }
  s.load.missing_map_pa = NULL;
  s.power[3] = 0.0;
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  assert_true(run.power_unknown && last_of(&run)->missing_map_pa == 0.0);
  ta_run_free(&run);
  assert_int_equal(bad, 0);
}

/* P = v (m g (sin + crr cos) + c v^2) at the end of a long grade. */
static void terminal_speed_on_a_grade(void **state) {
  (void)state;
  setting s;
  simple(&s, 97e3);
  s.point[1] = (ta_course_point){.distance_m = 31700.0, .elevation_m = 2853.0};
  stretch_elevations(&s, 0.0, 2853.0);
  s.car.drag_area_m2 = 0.97;
  s.car.downforce_area_m2 = 0.43;
  s.car.rolling_resistance = 0.019;
  const double sine = 2853.0 / 31700.0, weight = 913.0 * G0;
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  const double v = last_of(&run)->speed_ms;
  const double wanted =
      v * (weight * sine + 0.019 * (weight * cos(asin(sine)) + 0.5 * 0.43 * v * v) +
           0.5 * 0.97 * v * v);
  assert_int_equal(off_rel("grade", "power at terminal speed", wanted, 97e3, 1e-6), 0);
  ta_run_free(&run);
}

/* Ram raises the power from 97 to 103 kW over 200 to 1,100 Pa of pressure at the intake. */
static void ram_adds_power(void **state) {
  (void)state;
  static const struct {
    const char *row;
    double drag_area_m2, recovery;
  } rows[] = {{"below", 4.1, 0.23}, {"between", 0.97, 0.37}, {"above", 0.31, 0.91}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    setting s;
    simple(&s, 97e3);
    s.point[1].distance_m = 33100.0;
    s.car.drag_area_m2 = rows[i].drag_area_m2;
    s.load.layer_count = 2;
    s.load.ram_pa[0] = 200.0;
    s.load.ram_pa[1] = 1100.0;
    s.load.ram_recovery = rows[i].recovery;
    s.power[2] = s.power[3] = 103e3;
    ta_run run = drive(&s, TA_RUN_TOLERANCE);
    const double v = last_of(&run)->speed_ms, ram = rows[i].recovery * 0.5 * v * v;
    const double power = ram < 200.0    ? 97e3
                         : ram > 1100.0 ? 103e3
                                        : 97e3 + 6e3 * (ram - 200.0) / 900.0;
    assert_true((power == 97e3) == (i == 0) && (power == 103e3) == (i == 2));
    bad += off_rel(rows[i].row, "power at top speed", 0.5 * rows[i].drag_area_m2 * v * v * v, power,
                   1e-6);
    ta_run_free(&run);
  }
  assert_int_equal(bad, 0);
}

/* Against brakes and drag w = (w1 + b/k) exp(2 k x) - b/k at x before a limit, b the brakes'
 * deceleration, k drag over mass. */
static void braking_distance(void **state) {
  (void)state;
  setting s;
  simple(&s, 871e3);
  s.car.drag_area_m2 = 1.93;
  s.car.rolling_resistance = 0.021;
  s.point[1] = (ta_course_point){
      .distance_m = 811.0, .elevation_m = -47.0, .speed_limit_ms = 13.7, .has_speed_limit = true};
  s.point[2] = (ta_course_point){.distance_m = 893.0, .elevation_m = -47.0};
  stretch_elevations(&s, -47.0, 0.0);
  s.course.count = 3;
  ta_run run = drive(&s, 1e-6);
  const double sine = -47.0 / 811.0, cosine = cos(asin(sine));
  const double b = G0 * (1.03 * cosine + 0.021 * cosine + sine), k = 0.5 * 1.93 / 913.0;
  int bad = 0;
  size_t braked = 0;
  double from = 0.0;
  for (size_t i = 1; i < run.step_count; i++) {
    const ta_run_step *step = &run.step[i];
    if (step->distance_m > 811.0) {
      bad += off_rel("held", "speed", step->speed_ms, 13.7, 1e-12);
    } else if (step->throttle_share == 0.0) {
      const double w = (13.7 * 13.7 + b / k) * exp(2.0 * k * (811.0 - step->distance_m)) - b / k;
      bad += off_rel("braking", "speed", step->speed_ms, sqrt(w), 1e-4);
      if (braked++ == 0) from = run.step[i - 1].distance_m;
    }
  }
  assert_true(braked > 10);
  assert_true(from > 400.0 && from < 790.0);
  bad += off_rel("held", "time", run.time_s - at_point(&run, 1)->time_s, 82.0 / 13.7, 1e-12);
  /* held at 13.7 m/s the engine gives what drag and rolling take */
  bad += off_rel("held", "throttle", last_of(&run)->throttle_share,
                 (0.021 * 913.0 * G0 + 0.5 * 1.93 * 13.7 * 13.7) * 13.7 / 871e3, 1e-9);
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

/* With nothing but grip, a brake is an accelerator run backward: between two limits the speed is
 * the same at equal distances from the middle. */
static void braking_is_accelerating_in_reversed_time(void **state) {
  (void)state;
  setting s;
  simple(&s, 9e9);
  s.car.grip.brake = s.car.grip.drive;
  s.car.downforce_area_m2 = 2.3;
  s.point[0] = (ta_course_point){.speed_limit_ms = 17.3, .has_speed_limit = true};
  s.point[1].distance_m = 71.0;
  s.point[2] = (ta_course_point){
      .distance_m = 71.0 + 416.0, .speed_limit_ms = 17.3, .has_speed_limit = true};
  s.point[3].distance_m = 71.0 + 416.0 + 53.0;
  s.course.count = 4;
  ta_run run = drive(&s, 1e-7);
  const double first = at_point(&run, 1)->time_s, second = at_point(&run, 2)->time_s;
  double middle = 0.0, peak = 0.0;
  for (size_t i = run.at_point[1]; i <= run.at_point[2]; i++) {
    if (run.step[i].speed_ms > peak) {
      peak = run.step[i].speed_ms;
      middle = run.step[i].time_s;
    }
  }
  /* m dv/dt = F + k v^2 up to the middle */
  const double force = 0.93 * 913.0 * G0, k = 0.93 * 0.5 * 2.3;
  const double w = (17.3 * 17.3 + force / k) * exp(2.0 * k * 208.0 / 913.0) - force / k;
  const double half =
      913.0 / sqrt(force * k) * (atan(sqrt(w * k / force)) - atan(17.3 * sqrt(k / force)));
  int bad = off_rel("mirror", "peak", peak, sqrt(w), 1e-5);
  bad += off_rel("mirror", "time up", middle - first, half, 1e-5);
  bad += off_rel("mirror", "time down", second - middle, half, 1e-5);
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

/* m v^2/r = grip (m g + 1/2 rho A v^2), and laps at that speed. */
static void a_circle_at_the_limit_of_grip(void **state) {
  (void)state;
  setting s;
  simple(&s, 300e3);
  s.car.downforce_area_m2 = 1.3;
  s.density[0] = 0.97;
  const double lap = 2.0 * PI * 41.7;
  for (size_t i = 0; i < 4; i++)
    s.point[i] = (ta_course_point){
        .distance_m = lap * (double)i, .corner_radius_m = 41.7, .has_corner_radius = true};
  s.course.count = 4;
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  const double v = sqrt(1.13 * G0 / (1.0 / 41.7 - 1.13 * 0.5 * 0.97 * 1.3 / 913.0));
  int bad = 0;
  for (size_t i = 2; i < 4; i++) {
    bad += off_rel("circle", "speed", at_point(&run, i)->speed_ms, v, 1e-12);
    bad += off_rel("circle", "lap", at_point(&run, i)->time_s - at_point(&run, i - 1)->time_s,
                   lap / v, 1e-12);
  }
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

/* A road bent after `straight` points, a point every 2.3 m near the equator; WGS 84 there has
 * 110,574.3 m and 111,319.5 m in a degree north and east (from memory). */
static void bend(setting *s, size_t straight, size_t count, double radius_m) {
  double angle = 0.0, north = 0.0, east = 0.0;
  for (size_t i = 0; i < count; i++) {
    s->point[i] = (ta_course_point){.distance_m = 2.3 * (double)i,
                                    .latitude_deg = north / 110574.3,
                                    .longitude_deg = east / 111319.5,
                                    .has_position = true};
    if (i >= straight) angle += 2.3 / radius_m;
    north += 2.3 * sin(angle);
    east += 2.3 * cos(angle);
  }
  s->course.count = count;
}

static void corners_from_positions(void **state) {
  (void)state;
  setting s;
  simple(&s, 300e3);
  bend(&s, 60, 200, 83.0);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  const double v = sqrt(1.13 * G0 * 83.0);
  int bad = 0;
  for (size_t i = 80; i < 180; i++)
    bad += off_rel("bend", "speed", at_point(&run, i)->speed_ms, v, 0.005);
  assert_int_equal(bad, 0);
  assert_true(at_point(&run, 40)->speed_ms < at_point(&run, 41)->speed_ms);
  assert_true(last_of(&run)->speed_ms > 1.05 * v); /* no radius is known at the end */
  ta_run_free(&run);

  /* a typed corner goes before the positions, and where one is missing the road is straight */
  s.point[97].corner_radius_m = 19.0;
  s.point[97].has_corner_radius = true;
  run = drive(&s, TA_RUN_TOLERANCE);
  assert_int_equal(
      off_rel("typed", "speed", at_point(&run, 98)->speed_ms, sqrt(1.13 * G0 * 19.0), 1e-9), 0);
  ta_run_free(&run);
  for (size_t i = 60; i < 200; i++) s.point[i].has_position = i % 3 != 0;
  s.point[97].has_corner_radius = false;
  run = drive(&s, TA_RUN_TOLERANCE);
  for (size_t i = 100; i < 150; i++)
    assert_true(at_point(&run, i + 1)->speed_ms > at_point(&run, i)->speed_ms);
  ta_run_free(&run);
}

/* The curvature that many points have is that of ta_course_radius on the whole course. */
static void curvature_is_that_of_the_course(void **state) {
  (void)state;
  setting s;
  simple(&s, 1.0);
  bend(&s, 60, 200, 83.0);
  s.point[131].after_gap = true;
  ta_road road;
  assert_int_equal(ta_road_make(&s.course, 37.0, &road), TA_OK);
  int bad = 0, bent = 0;
  for (size_t i = 0; i < 200; i++) {
    const double radius = ta_course_radius(&s.course, i, 37.0);
    bad +=
        off("bend", "curvature", road.curvature_1m[i], isinf(radius) ? 0.0 : 1.0 / radius, 1e-15);
    bent += isfinite(radius);
  }
  assert_int_equal(bad, 0);
  assert_true(bent > 100);
  assert_true(road.course == &s.course);
  ta_road_free(&road);
  assert_null(road.curvature_1m);
  ta_road_free(NULL);
}

/* Between the points the limit follows the curvature: here with grip enough to stay at it. */
static void curvature_is_linear_between_points(void **state) {
  (void)state;
  setting s;
  simple(&s, 9e9);
  s.car.grip.drive = s.car.grip.brake = 90.0;
  for (size_t i = 0; i < 4; i++)
    s.point[i] = (ta_course_point){.distance_m = 113.0 * (double)i, .has_position = true};
  s.course.count = 4;
  double curvature[] = {1.0 / 83.0, 1.0 / 29.0, 1.0 / 71.0, 1.0 / 137.0};
  const ta_road road = {&s.course, curvature};
  ta_run run;
  assert_int_equal(ta_run_make(&road, &s.car, &s.load, TA_RUN_TOLERANCE, &run), TA_OK);
  int bad = 0;
  for (size_t i = run.at_point[1]; i <= run.at_point[3]; i++) {
    const ta_run_step *step = &run.step[i];
    const size_t from = step->distance_m < 226.0 ? 1 : 2;
    const double share = step->distance_m / 113.0 - (double)from;
    const double here = curvature[from] + share * (curvature[from + 1] - curvature[from]);
    bad += off_rel("curve", "speed", step->speed_ms, sqrt(1.13 * G0 / here), 1e-4);
  }
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

/* ---- gears ----------------------------------------------------------------------------------- */

/* Constant torque on one grade, no air: each gear has one acceleration, each shift coasts with
 * g sin. */
static void shifts_at_constant_torque(void **state) {
  (void)state;
  setting s;
  simple(&s, 0.0);
  const double torque = 231.0, ratio[] = {3.1, 1.9, 1.3}, shift = 6870.0, lost = 0.17;
  s.rpm[0] = 1700.0;
  s.rpm[1] = 7310.0;
  for (size_t i = 0; i < 2; i++) s.power[i] = torque * s.rpm[i] * PI / 30.0;
  memcpy(s.gear, ratio, sizeof ratio);
  s.car.gear_count = 3;
  s.car.final_drive = 3.9;
  s.car.grip.drive = 3.0;
  s.car.drivetrain_efficiency = 0.89;
  s.car.shift_rpm = shift;
  s.car.shift_time_s = lost;
  s.point[1].elevation_m = 73.0;
  stretch_elevations(&s, 0.0, 73.0);
  const double down = G0 * 73.0 / 1170.0;
  struct {
    double time_s, distance_m, speed_ms, rpm, throttle;
    size_t gear;
  } wanted[5]; /* up to the shift speed and through the shift, twice; up to it in the top gear */
  double t = 0.0, x = 0.0, v = 0.0, pull = 0.0;
  for (size_t i = 0; i < 3; i++) {
    pull = 0.89 * torque * ratio[i] * 3.9 / 0.31 / 913.0;
    const double to = shift * PI / 30.0 * 0.31 / (3.9 * ratio[i]);
    t += (to - v) / (pull - down);
    x += 0.5 * (to * to - v * v) / (pull - down);
    v = to;
    wanted[2 * i].time_s = t, wanted[2 * i].distance_m = x, wanted[2 * i].speed_ms = v;
    wanted[2 * i].rpm = shift, wanted[2 * i].throttle = 1.0, wanted[2 * i].gear = i + 1;
    if (i == 2) break;
    t += lost;
    x += lost * (v - 0.5 * down * lost);
    v -= down * lost;
    wanted[2 * i + 1].time_s = t, wanted[2 * i + 1].distance_m = x, wanted[2 * i + 1].speed_ms = v;
    wanted[2 * i + 1].rpm = v / 0.31 * 30.0 / PI * 3.9 * ratio[i + 1];
    wanted[2 * i + 1].throttle = 0.0, wanted[2 * i + 1].gear = i + 2;
  }
  assert_true(x < 1170.0);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  int bad = off_rel("torque", "time", run.time_s, t + (1170.0 - x) / v, 1e-11);
  size_t found = 0;
  for (size_t i = 0; i < run.step_count && found < COUNT_OF(wanted); i++) {
    const ta_run_step *step = &run.step[i];
    if (fabs(step->time_s - wanted[found].time_s) > 1e-9) continue;
    bad += off_rel("event", "distance", step->distance_m, wanted[found].distance_m, 1e-11);
    bad += off_rel("event", "speed", step->speed_ms, wanted[found].speed_ms, 1e-11);
    bad += off_rel("event", "engine speed", step->engine_rpm, wanted[found].rpm, 1e-11);
    bad += off("event", "throttle", step->throttle_share, wanted[found].throttle, 0.0);
    bad += step->gear != wanted[found].gear;
    found++;
  }
  assert_int_equal(found, COUNT_OF(wanted));
  bad += off_rel("held", "throttle", last_of(&run)->throttle_share, down / pull, 1e-9);
  assert_int_equal(bad, 0);
  /* the clutch slips at the start */
  assert_true(run.step[0].engine_rpm == 1700.0 && run.step[0].throttle_share == 1.0);
  ta_run_free(&run);
}

/* Uphill the second gear of a weak car cannot hold what the first reaches: the engine stays at the
 * shift speed in the first.  Met in the second, the grade takes it down again. */
static void a_steep_road_wants_the_lower_gear(void **state) {
  (void)state;
  setting s;
  simple(&s, 81e3); /* at any engine speed above a crawl */
  s.rpm[0] = 2100.0;
  s.gear[0] = 2.9;
  s.gear[1] = 1.7;
  s.car.gear_count = 2;
  s.car.final_drive = 4.3;
  s.car.shift_rpm = 6530.0;
  s.car.shift_time_s = 0.13;
  s.rpm[1] = 7000.0;
  for (size_t i = 0; i < 2; i++) s.power[i] = 81e3 * s.rpm[i] / 6530.0; /* constant torque */
  s.point[1] = (ta_course_point){.distance_m = 613.0};
  s.point[2] = (ta_course_point){.distance_m = 1913.0, .elevation_m = 493.0};
  s.course.count = 3;
  stretch_elevations(&s, 0.0, 493.0);
  const double force2 = 81e3 / (6530.0 * PI / 30.0) * 1.7 * 4.3 / 0.31;
  const double weight = 913.0 * G0 * 493.0 / 1300.0;
  assert_true(force2 < weight && force2 * 2.9 / 1.7 > weight);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  assert_int_equal(at_point(&run, 1)->gear, 2);
  const ta_run_step *end = last_of(&run);
  assert_int_equal(end->gear, 1);
  int bad = off_rel("steep", "engine speed", end->engine_rpm, 6530.0, 1e-12);
  bad += off_rel("steep", "throttle", end->throttle_share, weight / (force2 * 2.9 / 1.7), 1e-9);
  /* up once; down once, where the speed in the first can grow by what two shifts take of it */
  size_t changes = 0, down = 0;
  for (size_t i = 1; i < run.step_count; i++) {
    if (run.step[i].gear == run.step[i - 1].gear) continue;
    changes++;
    down = i - 1;
  }
  assert_int_equal(changes, 2);
  const double v0 = at_point(&run, 1)->speed_ms, pull1 = force2 * 2.9 / 1.7 / 913.0,
               v1 = 6530.0 * PI / 30.0 * 0.31 / (4.3 * 2.9) - 2.0 * 0.13 * pull1;
  const double slope = (force2 - weight) / 913.0;
  bad += off("steep", "distance", run.step[down].distance_m,
             613.0 + 0.5 * (v1 * v1 - v0 * v0) / slope, 0.01);
  bad += off_rel("steep", "speed", run.step[down].speed_ms, v1, 1e-4);
  /* and it takes its time */
  size_t coasted = down;
  while (run.step[coasted + 1].throttle_share == 0.0) coasted++;
  bad += off("steep", "shift", run.step[coasted].time_s - run.step[down].time_s, 0.13, 1e-9);
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

/* A straight of 940 m, a corner of 34 m, a straight. */
static void corner_for_gears(setting *s, double speed_ms, double shift_time_s) {
  static const double ratio[] = {3.1, 2.05, 1.5, 1.2};
  simple(s, 171e3);
  s->rpm[0] = 1900.0;
  s->rpm[1] = 7000.0;
  s->power[0] = 171e3 * 1900.0 / 7000.0;
  memcpy(s->gear, ratio, sizeof ratio);
  s->car.gear_count = 4;
  s->car.final_drive = 4.1;
  s->car.grip.drive = 9.0;
  s->car.shift_rpm = 6900.0;
  s->car.shift_time_s = shift_time_s;
  s->point[1] =
      (ta_course_point){.distance_m = 937.0, .speed_limit_ms = speed_ms, .has_speed_limit = true};
  s->point[2] = (ta_course_point){.distance_m = 971.0};
  s->point[3] = (ta_course_point){.distance_m = 1470.0};
  s->course.count = 4;
}

/* Out of a slow corner a car is in the gear for it, without having shifted. */
static void brakes_bring_the_lower_gear(void **state) {
  (void)state;
  setting s;
  const double first_ms = 6900.0 * PI / 30.0 * 0.31 / (4.1 * 3.1);
  static const struct {
    const char *row;
    double share, shift_time_s;
    size_t gear;
  } rows[] = {{"slow", 0.61, 0.13, 1},
              {"next to the shift speed", 0.97, 0.13, 2},
              {"next to the shift speed, where a shift takes nothing", 0.97, 0.0, 1},
              {"above it", 1.03, 0.0, 2}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    corner_for_gears(&s, rows[i].share * first_ms, rows[i].shift_time_s);
    ta_run run = drive(&s, TA_RUN_TOLERANCE);
    size_t highest = 0;
    for (size_t k = 0; k < run.at_point[1]; k++)
      highest = run.step[k].gear > highest ? run.step[k].gear : highest;
    assert_int_equal(highest, 4);
    const ta_run_step *out = at_point(&run, 2);
    if (out->gear != rows[i].gear) print_error("%s\n", rows[i].row);
    assert_int_equal(out->gear, rows[i].gear);
    assert_int_equal(out[1].gear, rows[i].gear);
    assert_true(out[1].throttle_share > 0.0 && out[1].speed_ms > out->speed_ms);
    ta_run_free(&run);
  }
  /* however short the braking: from the highest gear to the first, and no time lost in the corner */
  corner_for_gears(&s, 0.61 * first_ms, 0.13);
  s.car.grip.brake = 90.0;
  s.car.rolling_resistance = 0.023;
  ta_run short_one = drive(&s, TA_RUN_TOLERANCE);
  const double in_s = at_point(&short_one, 1)->time_s, out_s = at_point(&short_one, 2)->time_s;
  assert_int_equal(off_rel("corner", "time", out_s - in_s, 34.0 / (0.61 * first_ms), 1e-12), 0);
  assert_int_equal(at_point(&short_one, 2)->gear, 1);
  ta_run_free(&short_one);
  /* of gears that pull alike the higher: constant power below the shift speed of both */
  corner_for_gears(&s, 0.61 * first_ms, 0.13);
  s.power[0] = 171e3;
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  assert_true(at_point(&run, 2)->gear > 1);
  ta_run_free(&run);
}

/* A shift that is not over when the brakes come is over then. */
static void brakes_end_a_shift(void **state) {
  (void)state;
  setting s;
  corner_for_gears(&s, 8.3, 31.0);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  const ta_run_step *in = at_point(&run, 1), *out = at_point(&run, 2);
  assert_true(in->throttle_share == 0.0 && in->time_s < 60.0);
  assert_true(out[1].throttle_share == 1.0);
  ta_run_free(&run);
}

/* ---- the road's odd places ------------------------------------------------------------------- */

static void over_a_gap_the_speed_is_carried_on(void **state) {
  (void)state;
  setting s;
  simple(&s, 213e3);
  s.point[1] = (ta_course_point){.distance_m = 411.0, .elevation_m = 31.0};
  s.point[2] = (ta_course_point){.distance_m = 977.0,
                                 .elevation_m = 1043.0,
                                 .after_gap = true,
                                 .speed_limit_ms = 21.3,
                                 .has_speed_limit = true};
  s.point[3] = (ta_course_point){.distance_m = 1013.0, .elevation_m = 1043.0};
  s.course.count = 4;
  stretch_elevations(&s, 0.0, 1043.0);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  const ta_run_step *before = at_point(&run, 1), *after = at_point(&run, 2);
  assert_true(after == before + 1);
  assert_true(after->time_s == before->time_s && after->speed_ms == before->speed_ms);
  assert_true(after->distance_m == 977.0 && after->elevation_m == 1043.0);
  /* and it has been braked to what comes after */
  int bad = off_rel("gap", "speed", before->speed_ms, 21.3, 1e-12);
  bad += off_rel("gap", "time after", run.time_s - after->time_s, 36.0 / 21.3, 1e-12);
  assert_int_equal(bad, 0);
  assert_true(run.step_m < 40.0);
  ta_run_free(&run);
}

/* Neither a tolerance that no step meets nor a road round the earth takes all memory. */
static void the_longest_roads_end_too(void **state) {
  (void)state;
  setting s;
  simple(&s, 97e3);
  s.car.drag_area_m2 = 0.97;
  s.point[1].distance_m = 103e3;
  ta_run run = drive(&s, 1e-300);
  assert_true(run.step_count < 1100000 && run.step_count > 400000);
  ta_run_free(&run);
  s.point[1].distance_m = 40e6;
  run = drive(&s, TA_RUN_TOLERANCE);
  assert_true(run.step_count < 500000);
  assert_int_equal(
      off_rel("round the earth", "time", run.time_s, 40e6 / cbrt(97e3 / (0.5 * 0.97)), 1e-4), 0);
  ta_run_free(&run);
}

static void a_car_that_cannot_climb_stalls(void **state) {
  (void)state;
  setting s;
  simple(&s, 90.0); /* less than any grade takes */
  s.rpm[0] = 2000.0;
  s.rpm[1] = 9.1e6;
  s.car.final_drive = 10.0;
  s.point[1].elevation_m = 230.0;
  stretch_elevations(&s, 0.0, 230.0);
  ta_run run = drive(&s, TA_RUN_TOLERANCE);
  assert_true(run.stalled);
  assert_int_equal(run.point_count, 1);
  assert_int_equal(run.step_count, 1);
  assert_true(run.time_s == 0.0);
  ta_run_free(&run);

  /* rolling down first, v^2 = 2 g h: it comes to a standstill as high as it began */
  simple(&s, 0.0);
  s.point[0].elevation_m = 43.0;
  s.point[1] = (ta_course_point){.distance_m = 611.0};
  s.point[2] = (ta_course_point){.distance_m = 1543.0, .elevation_m = 97.0};
  s.course.count = 3;
  stretch_elevations(&s, 0.0, 97.0);
  run = drive(&s, TA_RUN_TOLERANCE);
  assert_true(run.stalled);
  assert_int_equal(run.point_count, 2);
  int bad = off_rel("valley", "speed", at_point(&run, 1)->speed_ms, sqrt(2.0 * G0 * 43.0), 1e-12);
  bad += off("valley", "elevation", last_of(&run)->elevation_m, 43.0, 1e-3);
  assert_true(run.time_s == last_of(&run)->time_s && run.halvings < 6);
  assert_int_equal(bad, 0);
  ta_run_free(&run);
}

static void time_is_known_where_something_slows_the_car(void **state) {
  (void)state;
  setting s;
  simple(&s, 1.0);
  assert_false(ta_run_time_known(&s.course));
  s.point[1].has_corner_radius = true;
  assert_true(ta_run_time_known(&s.course));
  s.point[1] = (ta_course_point){.has_speed_limit = true};
  assert_true(ta_run_time_known(&s.course));
  s.point[1] = (ta_course_point){.has_position = true};
  assert_true(ta_run_time_known(&s.course));
}

/* ---- an independent integration -------------------------------------------------------------- */

/* The same car and engine written out as functions, driven in time by GSL's Runge-Kutta 8(9).
 * Density and power are straight lines in elevation, so that the tables hold them exactly. */
enum { GEARS = 4, RPMS = 5 };
static const double ratios[GEARS] = {3.13, 2.07, 1.51, 1.17};
static const double rpms[RPMS] = {2030.0, 3410.0, 4870.0, 6190.0, 7330.0};
static const double torques[RPMS] = {163.0, 287.0, 331.0, 317.0, 263.0};
static const double road_m[] = {0.0, 437.0, 911.0, 1003.0, 2207.0};
static const double height_m[] = {1603.0, 1641.0, 1709.0, 1709.0, 1853.0};

typedef struct {
  size_t gear;
  bool coasting, braking;
} reference;

static double grade_at(double x) {
  size_t i = 0;
  while (i + 2 < COUNT_OF(road_m) && x >= road_m[i + 1]) i++;
  return (height_m[i + 1] - height_m[i]) / (road_m[i + 1] - road_m[i]);
}

static double height_at(double x) {
  size_t i = 0;
  while (i + 2 < COUNT_OF(road_m) && x >= road_m[i + 1]) i++;
  return height_m[i] + grade_at(x) * (x - road_m[i]);
}

static double rpm_of(size_t gear, double v) {
  return v / (2.0 * PI * 0.313) * 60.0 * 3.59 * ratios[gear];
}

/* [W]; linear in engine speed between the nodes. */
static double power_of(double rpm, double height) {
  size_t i = 0;
  while (i + 2 < RPMS && rpm > rpms[i + 1]) i++;
  const double a = torques[i] * rpms[i] * PI / 30.0, b = torques[i + 1] * rpms[i + 1] * PI / 30.0;
  return (a + (rpm - rpms[i]) / (rpms[i + 1] - rpms[i]) * (b - a)) *
         (1.0 - 5.3e-5 * (height - 1600.0));
}

static double resisting_deceleration(double x, double v, double *load) {
  const double q = 0.5 * (1.031 - 9.1e-5 * (height_at(x) - 1600.0)) * v * v, sine = grade_at(x);
  *load = 1163.0 * G0 * sqrt(1.0 - sine * sine) + 0.59 * q;
  return (0.0139 * *load + 0.97 * q + 1163.0 * G0 * sine) / 1163.0;
}

static int equations(double t, const double y[], double dydt[], void *context) {
  (void)t;
  const reference *r = context;
  double load;
  const double x = y[0], v = y[1], rest = resisting_deceleration(x, v, &load);
  dydt[0] = v;
  if (r->braking) {
    dydt[1] = -rest - 1.07 * load / 1163.0;
    return GSL_SUCCESS;
  }
  double rpm = rpm_of(r->gear, v);
  const double at = rpm > rpms[0] ? v : v * rpms[0] / rpm;
  if (!(rpm > rpms[0])) rpm = rpms[0];
  const double wheel_speed = v > 0.0 ? at : rpms[0] / rpm_of(r->gear, 1.0);
  const double force = fmin(0.871 * power_of(rpm, height_at(x)) / wheel_speed, 0.97 * 0.613 * load);
  dydt[1] = (r->coasting ? 0.0 : force / 1163.0) - rest;
  return GSL_SUCCESS;
}

/* From y at *t until y[component] reaches a value, by small steps and a last one by the rule of false
 * position; or for a time. */
static void go(reference *r, double *t, double y[2], int component, double value, double seconds) {
  gsl_odeiv2_system system = {equations, NULL, 2, r};
  gsl_odeiv2_step *step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rk8pd, 2);
  double error[2];
  const double most = fabs(seconds) / 400.0;
  double gone = 0.0;
  const double direction = seconds < 0.0 ? -1.0 : 1.0;
  while (gone < fabs(seconds) - 1e-12) {
    double h = direction * fmin(most, fabs(seconds) - gone), next[2] = {y[0], y[1]};
    assert_int_equal(gsl_odeiv2_step_apply(step, *t, h, next, error, NULL, NULL, &system),
                     GSL_SUCCESS);
    if (component >= 0 && (y[component] - value) * (next[component] - value) <= 0.0) {
      for (int k = 0; k < 6; k++) {
        h *= (value - y[component]) / (next[component] - y[component]);
        next[0] = y[0], next[1] = y[1];
        assert_int_equal(gsl_odeiv2_step_apply(step, *t, h, next, error, NULL, NULL, &system),
                         GSL_SUCCESS);
      }
      memcpy(y, next, sizeof next);
      *t += h;
      gsl_odeiv2_step_free(step);
      return;
    }
    memcpy(y, next, sizeof next);
    *t += h;
    gone += fabs(h);
  }
  gsl_odeiv2_step_free(step);
  assert_true(component < 0); /* never reached otherwise */
}

/* Up through the gears from y until a distance; every kink of the road is a stop. */
static void climb(reference *r, double *t, double y[2], double to, double *shifted,
                  size_t *shifts) {
  double coast_until = -1.0;
  while (y[0] < to - 1e-9) {
    const double v_shift = 7040.0 / rpm_of(r->gear, 1.0);
    double stop = to;
    for (size_t i = 0; i < COUNT_OF(road_m); i++)
      if (road_m[i] > y[0] + 1e-9 && road_m[i] < stop) stop = road_m[i];
    double end[2] = {y[0], y[1]}, time = *t;
    if (r->coasting) {
      go(r, &time, end, -1, 0.0, coast_until - *t);
      if (end[0] < stop) {
        r->coasting = false;
      } else {
        end[0] = y[0], end[1] = y[1], time = *t;
        go(r, &time, end, 0, stop, 3.0);
      }
    } else {
      go(r, &time, end, 0, stop, 60.0);
      if (end[1] > v_shift) {
        end[0] = y[0], end[1] = y[1], time = *t;
        go(r, &time, end, 1, v_shift, 60.0);
        shifted[(*shifts)++] = end[0];
        r->gear++;
        r->coasting = true;
        coast_until = time + 0.137;
      }
    }
    memcpy(y, end, sizeof end);
    *t = time;
  }
}

static void a_library_drives_the_same_run(void **state) {
  (void)state;
  setting s;
  simple(&s, 0.0);
  memcpy(s.gear, ratios, sizeof ratios);
  memcpy(s.rpm, rpms, sizeof rpms);
  s.car = (ta_vehicle){.mass_kg = 1163.0,
                       .drag_area_m2 = 0.97,
                       .downforce_area_m2 = 0.59,
                       .rolling_resistance = 0.0139,
                       .tyre_radius_m = 0.313,
                       .gear = s.gear,
                       .gear_count = GEARS,
                       .final_drive = 3.59,
                       .drivetrain_efficiency = 0.871,
                       .shift_rpm = 7040.0,
                       .shift_time_s = 0.137,
                       .grip = {.drive = 0.97, .corner = 1.17, .brake = 1.07},
                       .driven_load_share = 0.613};
  s.load.low_m = 1600.0;
  s.load.step_m = 131.0;
  s.load.elevation_count = 3;
  s.load.engine_count = RPMS;
  for (size_t e = 0; e < 3; e++) {
    const double height = 1600.0 + 131.0 * (double)e;
    s.density[e] = 1.031 - 9.1e-5 * (height - 1600.0);
    for (size_t i = 0; i < RPMS; i++) s.power[e * RPMS + i] = power_of(rpms[i], height);
  }
  for (size_t i = 0; i < COUNT_OF(road_m); i++)
    s.point[i] = (ta_course_point){.distance_m = road_m[i], .elevation_m = height_m[i]};
  s.point[2].corner_radius_m = 37.3; /* level, from 911 to 1,003 m */
  s.point[2].has_corner_radius = true;
  s.course.count = COUNT_OF(road_m);
  ta_run run = drive(&s, TA_RUN_TOLERANCE), fine = drive(&s, 3e-7);

  const double rho = 1.031 - 9.1e-5 * 109.0,
               v_corner = sqrt(1.17 * 1163.0 * G0 / (1163.0 / 37.3 - 1.17 * 0.5 * rho * 0.59));
  /* the brake point: where the speed going up is the one of brakes run backward from the corner */
  double low = 450.0, high = 905.0, t = 0.0, y[2];
  double shifted[8];
  size_t shifts = 0;
  double t_corner = 0.0, v_peak = 0.0;
  for (int k = 0; k < 30; k++) {
    const double middle = 0.5 * (low + high);
    reference r = {0};
    t = y[0] = y[1] = 0.0;
    shifts = 0;
    climb(&r, &t, y, middle, shifted, &shifts);
    v_peak = y[1];
    r.braking = true;
    go(&r, &t, y, 1, v_corner, 20.0);
    if (y[0] > 911.0)
      high = middle;
    else
      low = middle;
    t_corner = t;
  }
  const double tolerance[] = {TA_RUN_TOLERANCE, 1e-5};
  int bad = 0;
  for (size_t k = 0; k < 2; k++) {
    const ta_run *it = k == 0 ? &run : &fine;
    bad +=
        off_rel("before the corner", "time", at_point(it, 2)->time_s, t_corner, 2.0 * tolerance[k]);
    bad += off_rel("corner", "speed", at_point(it, 3)->speed_ms, v_corner, 1e-12);
    double peak = 0.0;
    for (size_t i = 0; i < it->at_point[2]; i++) peak = fmax(peak, it->step[i].speed_ms);
    bad += off_rel("before the corner", "peak", peak, v_peak, 10.0 * tolerance[k]);
  }
  size_t found = 0;
  for (size_t i = 1; i < fine.at_point[2] && found < shifts; i++)
    if (fine.step[i].gear == found + 1 && fine.step[i + 1].gear == found + 2) {
      bad += off("shift", "distance", fine.step[i].distance_m, shifted[found], 0.01);
      found++;
    }
  assert_true(shifts > 1 && found == shifts);
  /* out of the corner, in the gear that the run is in there */
  reference r = {.gear = at_point(&fine, 3)->gear - 1};
  assert_true(rpm_of(r.gear, v_corner) < 7040.0);
  t = 0.0;
  y[0] = 1003.0;
  y[1] = v_corner;
  shifts = 0;
  climb(&r, &t, y, 2207.0, shifted, &shifts);
  assert_true(shifts > 0);
  bad += off_rel("after the corner", "time", fine.time_s - at_point(&fine, 3)->time_s, t, 1e-5);
  bad += off_rel("after the corner", "speed", last_of(&fine)->speed_ms, y[1], 1e-5);
  bad += off_rel("after the corner", "time", run.time_s - at_point(&run, 3)->time_s, t, 2e-4);
  assert_int_equal(bad, 0);
  ta_run_free(&run);
  ta_run_free(&fine);
}

/* ---- laws over random cars and roads --------------------------------------------------------- */

static double draw(uint64_t *at, double low, double high) {
  return low + (high - low) * invented_random((*at)++);
}

/* Power rises with engine speed, so that the lower gear always pulls harder. */
static void random_setting(uint64_t number, bool uphill, setting *s) {
  uint64_t at = number * 1000;
  simple(s, 0.0);
  ta_vehicle *car = &s->car;
  *car = (ta_vehicle){.mass_kg = draw(&at, 430.0, 2300.0),
                      .drag_area_m2 = draw(&at, 0.2, 2.0),
                      .downforce_area_m2 = draw(&at, -0.3, 3.0),
                      .rolling_resistance = draw(&at, 0.003, 0.05),
                      .tyre_radius_m = draw(&at, 0.23, 0.41),
                      .gear = s->gear,
                      .gear_count = (size_t)draw(&at, 1.0, 7.0),
                      .final_drive = draw(&at, 2.5, 6.0),
                      .drivetrain_efficiency = draw(&at, 0.6, 1.0),
                      .shift_rpm = draw(&at, 4100.0, 9000.0),
                      .shift_time_s = draw(&at, 0.0, 0.6),
                      .grip = {draw(&at, 0.2, 2.0), draw(&at, 0.2, 2.0), draw(&at, 0.2, 2.0)},
                      .driven_load_share = draw(&at, 0.3, 1.0)};
  for (size_t i = 0; i < car->gear_count; i++)
    s->gear[i] = i == 0 ? draw(&at, 2.0, 5.0) : s->gear[i - 1] * draw(&at, 0.55, 0.95);
  ta_full_load *load = &s->load;
  load->engine_count = (size_t)draw(&at, 2.0, 9.0);
  load->elevation_count = (size_t)draw(&at, 2.0, 5.0);
  load->layer_count = (size_t)draw(&at, 1.0, 3.0);
  load->low_m = 500.0;
  load->step_m = 3000.0 / (double)(load->elevation_count - 1);
  load->ram_pa[1] = draw(&at, 300.0, 2000.0);
  load->ram_recovery = draw(&at, 0.0, 1.0);
  for (size_t i = 0; i < load->engine_count; i++)
    s->rpm[i] = 1500.0 + (car->shift_rpm - 1400.0) * (double)i / (double)(load->engine_count - 1);
  const double rise = draw(&at, 20e3, 500e3) / (double)load->engine_count;
  for (size_t e = 0; e < load->elevation_count; e++) {
    s->density[e] = 1.17 * exp(-(double)e * load->step_m / 9700.0);
    for (size_t i = 0; i < load->engine_count; i++) {
      const size_t k = e * load->engine_count + i,
                   layer = load->elevation_count * load->engine_count;
      s->power[k] = (i > 0 ? s->power[k - 1] : 0.0) + draw(&at, 0.1, 1.0) * rise * s->density[e];
      s->power[layer + k] = s->power[k] * 1.03;
    }
  }
  s->course.count = (size_t)draw(&at, 2.0, 31.0);
  for (size_t i = 0; i < s->course.count; i++) {
    ta_course_point *p = &s->point[i];
    const double length = i == 0 ? 0.0 : exp(draw(&at, 0.0, 6.0));
    const double grade = uphill ? draw(&at, 0.0, 0.12) : draw(&at, -0.3, 0.3);
    *p = (ta_course_point){
        .distance_m = i == 0 ? 0.0 : p[-1].distance_m + length,
        .elevation_m =
            i == 0 ? 1700.0 : fmin(fmax(p[-1].elevation_m + grade * length, 500.0), 3500.0),
        .corner_radius_m = exp(draw(&at, 1.5, 6.0)),
        .has_corner_radius = draw(&at, 0.0, 1.0) < 0.4,
        .speed_limit_ms = draw(&at, 4.0, 60.0),
        .has_speed_limit = draw(&at, 0.0, 1.0) < 0.1,
        .after_gap = i > 0 && draw(&at, 0.0, 1.0) < 0.04};
  }
}

/* 0 when `better` is no slower than `worse`, and climbs what it climbs. */
static int is_no_slower(uint64_t number, const char *law, const setting *better,
                        const setting *worse) {
  ta_run a = drive(better, 2e-5), b = drive(worse, 2e-5);
  int bad = 0;
  if (!b.stalled) {
    const double slower = a.time_s - b.time_s, allowed = 2.0 * (a.change_s + b.change_s) + 1e-9;
    if (a.stalled || !(slower <= allowed)) {
      print_error("%s, setting %d: %.6f s against %.6f s\n", law, (int)number, a.time_s, b.time_s);
      bad = 1;
    }
  }
  ta_run_free(&a);
  ta_run_free(&b);
  return bad;
}

/* Without loss in a shift: with one, a faster car may meet one shift more before the finish. */
static void more_power_is_never_slower(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = 0; n < 150; n++) {
    setting strong, weak;
    random_setting(n, false, &strong);
    strong.car.shift_time_s = 0.0;
    random_setting(n, false, &weak);
    weak.car.shift_time_s = 0.0;
    uint64_t at = n * 1000 + 700;
    /* smaller rises, everywhere its own */
    const size_t engines = weak.load.engine_count, rows = weak.load.elevation_count;
    for (size_t e = 0; e < rows; e++) {
      for (size_t i = 0; i < engines; i++) {
        const size_t k = e * engines + i;
        const double rise = strong.power[k] - (i > 0 ? strong.power[k - 1] : 0.0);
        weak.power[k] = (i > 0 ? weak.power[k - 1] : 0.0) + draw(&at, 0.7, 1.0) * rise;
        weak.power[rows * engines + k] = 1.03 * weak.power[k];
      }
    }
    bad += is_no_slower(n, "more power", &strong, &weak);
  }
  assert_int_equal(bad, 0);
}

/* Where the tyres do not limit: there a heavy car pulls harder against the same drag. */
static void a_lighter_car_is_never_slower_uphill(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = 0; n < 150; n++) {
    setting light, heavy;
    random_setting(n, true, &light);
    random_setting(n, true, &heavy);
    light.car.shift_time_s = heavy.car.shift_time_s = 0.0;
    light.car.grip.drive = heavy.car.grip.drive = 90.0;
    light.car.downforce_area_m2 = heavy.car.downforce_area_m2 = fabs(heavy.car.downforce_area_m2);
    uint64_t at = n * 1000 + 700;
    light.car.mass_kg *= draw(&at, 0.8, 0.99);
    bad += is_no_slower(n, "less mass", &light, &heavy);
  }
  assert_int_equal(bad, 0);
}

/* Ten points for one, on the same straight lines. */
static void a_road_typed_more_finely_is_the_same_road(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t n = 0; n < 60; n++) {
    setting coarse, fine;
    random_setting(n, true, &coarse);
    coarse.car.gear_count = coarse.car.gear_count > 4 ? 4 : coarse.car.gear_count;
    random_setting(n, true, &fine);
    fine.car.gear_count = coarse.car.gear_count;
    const size_t count = coarse.course.count;
    for (size_t i = 0; i + 1 < count; i++) {
      const ta_course_point *a = &coarse.point[i];
      for (size_t k = 0; k < 10; k++) {
        const double share = (double)k / 10.0;
        ta_course_point p = *a;
        p.distance_m += share * (a[1].distance_m - a->distance_m);
        p.elevation_m += share * (a[1].elevation_m - a->elevation_m);
        p.after_gap = k == 0 ? a->after_gap : a[1].after_gap;
        fine.point[10 * i + k] = p;
      }
    }
    fine.point[10 * (count - 1)] = coarse.point[count - 1];
    fine.course.count = 10 * (count - 1) + 1;
    ta_run a = drive(&coarse, 1e-5), b = drive(&fine, 1e-5);
    assert_int_equal(a.stalled, b.stalled);
    /* where it stalls, the last crawl to a standstill has no such firm time */
    if (!a.stalled) bad += off_rel("typed finely", "time", b.time_s, a.time_s, 1e-4);
    bad += off("typed finely", "end", last_of(&b)->distance_m, last_of(&a)->distance_m, 0.1);
    ta_run_free(&a);
    ta_run_free(&b);
  }
  assert_int_equal(bad, 0);
}

/* Anything goes: power that jumps about, shifts that take long, hardly any grip. */
static void a_run_keeps_to_its_limits_whatever_the_car(void **state) {
  (void)state;
  int bad = 0;
  size_t stalled = 0;
  for (uint64_t n = 0; n < 400; n++) {
    setting s;
    random_setting(n, false, &s);
    uint64_t at = n * 1000 + 700;
    const size_t powers = s.load.layer_count * s.load.elevation_count * s.load.engine_count;
    for (size_t i = 0; i < powers; i++) s.power[i] *= draw(&at, 0.0, 1.0);
    if (n % 3 == 0) s.car.shift_time_s = 0.0;
    if (n % 7 == 0) s.car.grip.brake = s.car.grip.corner = 0.03;
    ta_run run = drive(&s, TA_RUN_TOLERANCE);
    stalled += run.stalled;
    if (run.point_count != s.course.count && !run.stalled) bad++;
    for (size_t i = 0; i < run.step_count; i++) {
      const ta_run_step *step = &run.step[i];
      const bool sound =
          isfinite(step->time_s) && step->speed_ms >= 0.0 && step->speed_ms < 1e3 &&
          step->engine_rpm >= s.rpm[0] && step->engine_rpm <= s.car.shift_rpm * (1.0 + 1e-9) &&
          step->gear >= 1 && step->gear <= s.car.gear_count && step->throttle_share >= 0.0 &&
          step->throttle_share <= 1.0 &&
          (i == 0 || (step->time_s >= step[-1].time_s && step->distance_m >= step[-1].distance_m));
      bad += !sound;
    }
    for (size_t i = 0; i < run.point_count; i++) {
      const ta_course_point *p = &s.point[i];
      const ta_run_step *step = at_point(&run, i);
      if (step->distance_m != p->distance_m) bad++;
      if (i + 1 == s.course.count || p[1].after_gap) continue;
      if (p->has_speed_limit && step->speed_ms > p->speed_limit_ms * (1.0 + 1e-9)) bad++;
      if (!p->has_corner_radius) continue;
      const double side = 0.5 * (s.car.downforce_area_m2) * 1.18 * step->speed_ms * step->speed_ms;
      if (s.car.mass_kg * step->speed_ms * step->speed_ms / p->corner_radius_m >
          s.car.grip.corner * (s.car.mass_kg * G0 + fmax(side, 0.0)) * (1.0 + 1e-9))
        bad++;
    }
    if (bad > 0) {
      print_error("setting %d\n", (int)n);
      break;
    }
    ta_run_free(&run);
  }
  assert_int_equal(bad, 0);
  assert_true(stalled > 10 && stalled < 350);
}

/* ---- refusals -------------------------------------------------------------------------------- */

static void arguments_are_refused(void **state) {
  (void)state;
  setting s;
  simple(&s, 97e3);
  ta_road road = {.curvature_1m = NULL}, none = {.course = &s.course};
  assert_int_equal(ta_road_make(NULL, 50.0, &road), TA_ERR_ARGUMENT);
  assert_int_equal(ta_road_make(&s.course, 0.0, &road), TA_ERR_ARGUMENT);
  assert_int_equal(ta_road_make(&s.course, (double)NAN, &road), TA_ERR_ARGUMENT);
  assert_int_equal(ta_road_make(&s.course, 50.0, NULL), TA_ERR_ARGUMENT);
  const ta_course one = {s.point, 1};
  assert_int_equal(ta_road_make(&one, 50.0, &road), TA_ERR_ARGUMENT);
  s.point[1].distance_m = 0.0;
  assert_int_equal(ta_road_make(&s.course, 50.0, &road), TA_ERR_ARGUMENT);
  assert_null(road.curvature_1m);
  s.point[1].distance_m = 531.0;
  assert_int_equal(ta_road_make(&s.course, 50.0, &road), TA_OK);
  ta_run run = {.time_s = -7.0};
  assert_int_equal(ta_run_make(NULL, &s.car, &s.load, 1e-4, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&none, &s.car, &s.load, 1e-4, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&road, NULL, &s.load, 1e-4, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&road, &s.car, NULL, 1e-4, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&road, &s.car, &s.load, 0.0, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&road, &s.car, &s.load, (double)NAN, &run), TA_ERR_ARGUMENT);
  assert_int_equal(ta_run_make(&road, &s.car, &s.load, 1e-4, NULL), TA_ERR_ARGUMENT);
  s.car.gear_count = 0;
  assert_int_equal(ta_run_make(&road, &s.car, &s.load, 1e-4, &run), TA_ERR_ARGUMENT);
  assert_true(run.time_s == -7.0);
  ta_road_free(&road);
  ta_run_free(NULL);
}

static void what_no_car_or_road_has_is_refused(void **state) {
  (void)state;
  setting s;
  simple(&s, 97e3);
  s.load.layer_count = 2;
  s.load.ram_pa[1] = 500.0;
  stretch_elevations(&s, 0.0, 900.0);
  s.point[0].elevation_m = s.point[1].elevation_m = 450.0;
  s.point[0].corner_radius_m = 71.0;
  s.point[0].speed_limit_ms = 31.0;
  s.point[0].has_corner_radius = s.point[0].has_speed_limit = true;
  for (size_t i = 4; i < 8; i++) s.power[i] = 98e3;
  ta_run run;
  assert_int_equal(try_to_drive(&s, 1e-4, &run), TA_OK);
  ta_run_free(&run);
  const struct {
    const char *row;
    double *value, bad;
  } rows[] = {{"mass", &s.car.mass_kg, 0.0},
              {"mass", &s.car.mass_kg, (double)INFINITY},
              {"mass", &s.car.mass_kg, (double)NAN},
              {"drag", &s.car.drag_area_m2, -0.1},
              {"downforce", &s.car.downforce_area_m2, (double)NAN},
              {"rolling", &s.car.rolling_resistance, -0.01},
              {"tyre", &s.car.tyre_radius_m, 0.0},
              {"gear", &s.gear[0], 0.0},
              {"final drive", &s.car.final_drive, 0.0},
              {"efficiency", &s.car.drivetrain_efficiency, 0.0},
              {"shift speed", &s.car.shift_rpm, 0.0},
              {"shift speed above the table", &s.car.shift_rpm, 9.2e6},
              {"shift time", &s.car.shift_time_s, -0.1},
              {"drive", &s.car.grip.drive, 0.0},
              {"corner", &s.car.grip.corner, 0.0},
              {"brake", &s.car.grip.brake, 0.0},
              {"share", &s.car.driven_load_share, 0.0},
              {"engine speeds fall", &s.rpm[0], 9.2e6},
              {"engine speed", &s.rpm[0], 0.0},
              {"step", &s.load.step_m, 0.0},
              {"table below the road", &s.load.low_m, 460.0},
              {"table above the road", &s.load.low_m, -460.0},
              {"density", &s.density[1], 0.0},
              {"power", &s.power[7], -1.0},
              {"power", &s.power[3], (double)NAN},
              {"ram falls", &s.load.ram_pa[0], 600.0},
              {"recovery", &s.load.ram_recovery, -0.1},
              {"elevation", &s.point[1].elevation_m, (double)NAN},
              {"radius", &s.point[0].corner_radius_m, 0.0},
              {"limit", &s.point[0].speed_limit_ms, 0.0}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const double good = *rows[i].value;
    *rows[i].value = rows[i].bad;
    const ta_status status = try_to_drive(&s, 1e-4, &run);
    if (status != TA_ERR_DOMAIN) print_error("%s\n", rows[i].row);
    assert_int_equal(status, TA_ERR_DOMAIN);
    *rows[i].value = good;
  }
  size_t *counts[] = {&s.load.engine_count, &s.load.elevation_count, &s.load.layer_count};
  const size_t bad[] = {1, 0, 3};
  for (size_t i = 0; i < 3; i++) {
    const size_t good = *counts[i];
    *counts[i] = bad[i];
    assert_int_equal(try_to_drive(&s, 1e-4, &run), TA_ERR_DOMAIN);
    *counts[i] = good;
  }
  s.point[1].distance_m = 37.0; /* a wall */
  s.point[1].elevation_m = 450.0 + 38.0;
  assert_int_equal(try_to_drive(&s, 1e-4, &run), TA_ERR_DOMAIN);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(constant_force_from_a_standstill),
      cmocka_unit_test(the_order_of_convergence_is_two),
      cmocka_unit_test(constant_power_against_drag),
      cmocka_unit_test(what_is_missing_at_a_step),
      cmocka_unit_test(terminal_speed_on_a_grade),
      cmocka_unit_test(ram_adds_power),
      cmocka_unit_test(braking_distance),
      cmocka_unit_test(braking_is_accelerating_in_reversed_time),
      cmocka_unit_test(a_circle_at_the_limit_of_grip),
      cmocka_unit_test(corners_from_positions),
      cmocka_unit_test(curvature_is_that_of_the_course),
      cmocka_unit_test(shifts_at_constant_torque),
      cmocka_unit_test(a_steep_road_wants_the_lower_gear),
      cmocka_unit_test(brakes_bring_the_lower_gear),
      cmocka_unit_test(brakes_end_a_shift),
      cmocka_unit_test(curvature_is_linear_between_points),
      cmocka_unit_test(the_longest_roads_end_too),
      cmocka_unit_test(over_a_gap_the_speed_is_carried_on),
      cmocka_unit_test(a_car_that_cannot_climb_stalls),
      cmocka_unit_test(time_is_known_where_something_slows_the_car),
      cmocka_unit_test(a_library_drives_the_same_run),
      cmocka_unit_test(more_power_is_never_slower),
      cmocka_unit_test(a_lighter_car_is_never_slower_uphill),
      cmocka_unit_test(a_road_typed_more_finely_is_the_same_road),
      cmocka_unit_test(a_run_keeps_to_its_limits_whatever_the_car),
      cmocka_unit_test(arguments_are_refused),
      cmocka_unit_test(what_no_car_or_road_has_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
