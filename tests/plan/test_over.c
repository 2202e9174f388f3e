/* test_over.c - where the shaft passes its limit, against solves at every half metre of road; the
 * worst engine speed, against every engine speed; the profile, against direct solves. */
#include <gsl/gsl_errno.h>

#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/over.h"

static void prepare(invented *it, ta_prepared *prepared) {
  assert_int_equal(ta_prepare(&it->event, prepared), TA_OK);
}

static double worst_shaft(const ta_prepared *prepared, double elevation_m) {
  ta_operating_point worst;
  assert_int_equal(ta_worst_in_window(prepared, elevation_m, HUGE_VAL, &worst), TA_OK);
  return worst.shaft_rpm;
}

static void road(invented *it, double scale, const double (*points)[2], size_t count) {
  memset(it->course, 0, sizeof it->course);
  for (size_t i = 0; i < count; i++) {
    it->course[i].distance_m = scale * points[i][0];
    it->course[i].elevation_m = points[0][1] + scale * (points[i][1] - points[0][1]);
  }
  it->event.course.count = count;
}

/* Set the limit to a share of the way from the slowest to the fastest shaft of the course. */
static void limit_between(ta_prepared *prepared, double share) {
  double low = HUGE_VAL, high = 0.0, bottom, top;
  ta_course_range(&prepared->event->course, &bottom, &top);
  for (int i = 0; i <= 12; i++) {
    const double shaft = worst_shaft(prepared, bottom + (top - bottom) * i / 12.0);
    low = fmin(low, shaft);
    high = fmax(high, shaft);
  }
  prepared->limit_rpm = low + share * (high - low);
}

/* ---- the worst engine speed
 * ---------------------------------------------------------------------- */

/* Every 0.9 rev/min. */
static void scan_window(const ta_prepared *prepared, double elevation_m, double cap_pa,
                        double *rpm_at, double *shaft) {
  const ta_car *car = &prepared->event->car;
  ta_air air;
  assert_int_equal(ta_day_air(&prepared->day, elevation_m, &air), TA_OK);
  const double low = car->engine.window_rpm[0], high = car->engine.window_rpm[1];
  const size_t count = (size_t)((high - low) / 0.9) + 2;
  *shaft = 0.0;
  for (size_t from = 0; from < count; from += TA_LANES) {
    ta_point_block b = {.count = count - from < TA_LANES ? count - from : TA_LANES};
    for (size_t i = 0; i < b.count; i++) {
      b.ambient_pressure_pa[i] = air.pressure_pa;
      b.ambient_temperature_k[i] = air.temperature_k;
      b.gas_constant_jkgk[i] = air.gas_constant_jkgk;
      b.engine_rpm[i] = low + (high - low) * (double)(from + i) / (double)(count - 1);
      b.map_pa[i] =
          fmin(ta_prepared_goal(prepared, b.engine_rpm[i]), cap_pa) + car->control.overshoot_pa;
    }
    ta_points_solve(car, prepared->map, &b);
    for (size_t i = 0; i < b.count; i++)
      if (b.shaft_rpm[i] > *shaft) {
        *shaft = b.shaft_rpm[i];
        *rpm_at = b.engine_rpm[i];
      }
  }
}

static int worst_against_scan(const char *row, invented *it) {
  ta_prepared prepared;
  prepare(it, &prepared);
  int bad = 0;
  const double caps[] = {HUGE_VAL, 187300.0};
  for (size_t i = 0; i < COUNT_OF(caps); i++) {
    ta_operating_point worst;
    double rpm = 0.0, shaft;
    assert_int_equal(ta_worst_in_window(&prepared, 3013.0, caps[i], &worst), TA_OK);
    scan_window(&prepared, 3013.0, caps[i], &rpm, &shaft);
    bad += off(row, "engine speed", worst.engine_rpm, rpm, 1.0);
    if (!(worst.shaft_rpm >= shaft - 1.0)) /* a scan may step over a kink, so it may be more */
      bad += off(row, "shaft", worst.shaft_rpm, shaft, 1.0);
    ta_operating_point direct;
    assert_int_equal(ta_point_solve(&it->event.car, prepared.map, &worst.ambient, worst.engine_rpm,
                                    worst.map_pa, &direct),
                     TA_OK);
    assert_true(direct.shaft_rpm == worst.shaft_rpm);
    /* the controller at its set-point, overshoot on */
    const double set_point = fmin(ta_prepared_goal(&prepared, worst.engine_rpm), caps[i]);
    assert_true(worst.map_pa == set_point + it->event.car.control.overshoot_pa);
  }
  ta_prepared_free(&prepared);
  return bad;
}

static void goal_rows(invented *it, const double (*rows)[2], size_t count) {
  it->event.goal = (ta_goal){.point = it->goal, .point_count = count, .margin = 0.037};
  for (size_t i = 0; i < count; i++)
    it->goal[i] = (ta_goal_point){.engine_rpm = rows[i][0], .map_pa = rows[i][1], .has_map = true};
}

static void worst_engine_speed_is_that_of_a_dense_scan(void **state) {
  (void)state;
  invented it;
  int bad = 0;
  invented_make(&it);
  bad += worst_against_scan("as invented: the shift speed", &it);
  it.event.car.engine.window_rpm[1] = 6500.0;
  bad += worst_against_scan("a lower shift speed", &it);

  invented_make(&it);
  it.ve[2] = (ta_ve_point){6013.0, 1.113}; /* a peak at a breakpoint that no even step meets */
  it.ve[3].ve = 0.79;
  bad += worst_against_scan("a kink of ve", &it);

  invented_make(&it);
  it.ve[3].ve = 0.777;
  bad += worst_against_scan("a smooth maximum of ve times speed", &it);

  invented_make(&it);
  const double peak[][2] = {{4000.0, 197e3}, {5437.0, 239e3}, {7300.0, 181e3}};
  goal_rows(&it, peak, COUNT_OF(peak));
  bad += worst_against_scan("a kink of the goal", &it);

  const double fall[][2] = {{4000.0, 251e3}, {7300.0, 177e3}};
  goal_rows(&it, fall, COUNT_OF(fall));
  bad += worst_against_scan("a falling goal", &it);

  const double gentle[][2] = {{4000.0, 171e3}, {7300.0, 140e3}};
  goal_rows(&it, gentle, COUNT_OF(gentle));
  it.event.car.control.overshoot_pa = 20e3; /* without it the lowest engine speed is the worst */
  bad += worst_against_scan("an overshoot that moves the worst engine speed", &it);

  invented_make(&it);
  it.event.car.engine.window_rpm[0] = it.event.car.engine.window_rpm[1] = 5831.0;
  bad += worst_against_scan("a window of one speed", &it);
  assert_int_equal(bad, 0);
}

/* A smooth maximum at every place between the last two engine speeds that are looked at first, and
 * past both; the same at the lower end. */
static void a_maximum_beside_an_end_is_found(void **state) {
  (void)state;
  int bad = 0;
  for (double beside = -31.0; beside < 131.0; beside += 11.7) {
    invented it;
    ta_prepared prepared;
    ta_operating_point worst;
    char row[48];
    invented_make(&it);
    it.ve[3].ve = 0.777;
    prepare(&it, &prepared);
    assert_int_equal(ta_worst_in_window(&prepared, 3013.0, HUGE_VAL, &worst), TA_OK);
    ta_prepared_free(&prepared);
    double *window = it.event.car.engine.window_rpm;
    assert_true(worst.engine_rpm > window[0] + 500.0 && worst.engine_rpm < window[1] - 200.0);
    const double low = window[0], high = window[1];
    window[1] = worst.engine_rpm + beside;
    (void)snprintf(row, sizeof row, "%.1f below the high end", beside);
    bad += worst_against_scan(row, &it);
    window[0] = worst.engine_rpm - beside;
    window[1] = high;
    (void)snprintf(row, sizeof row, "%.1f above the low end", beside);
    bad += worst_against_scan(row, &it);
    window[0] = low;
  }
  assert_int_equal(bad, 0);
}

/* A breakpoint that ve and goal share must not hide the maximum next to it. */
static void a_shared_breakpoint_hides_nothing(void **state) {
  (void)state;
  int bad = 0;
  for (double fall = 1.57e-4; fall < 1.67e-4; fall += 3.1e-6) {
    invented it;
    invented_make(&it);
    it.ve[3].ve = it.ve[2].ve - fall * (it.ve[3].engine_rpm - it.ve[2].engine_rpm);
    const double rows[][2] = {{4000.0, 212e3}, {it.ve[2].engine_rpm, 224e3}, {7300.0, 224e3}};
    goal_rows(&it, rows, COUNT_OF(rows));
    char row[32];
    (void)snprintf(row, sizeof row, "fall %.3e", fall);
    bad += worst_against_scan(row, &it);
  }
  assert_int_equal(bad, 0);
}

/* More breakpoints than a block has lanes, the worst at one of the last. */
static void no_breakpoint_is_left_out(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static ta_ve_point fine[301];
  for (size_t i = 0; i < COUNT_OF(fine); i++)
    fine[i] = (ta_ve_point){3991.0 + 11.3 * (double)i, 0.97 - 2e-5 * 11.3 * (double)i};
  fine[241].ve += 0.15;
  it.event.car.engine.ve = fine;
  it.event.car.engine.ve_count = COUNT_OF(fine);
  assert_int_equal(worst_against_scan("301 points of ve", &it), 0);
}

/* ---- the profile
 * --------------------------------------------------------------------------------- */

static void profile_stays_with_direct_solves(void **state) {
  (void)state;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  for (int kind = 0; kind < 6; kind++) {
    invented it;
    invented_make(&it);
    const double rows[][2] = {{4000.0, 203e3}, {5437.0, 229e3}, {7300.0, 214e3}};
    if (kind == 1) goal_rows(&it, rows, COUNT_OF(rows));
    if (kind == 2) { /* in choke */
      it.event.car.engine.displacement_m3 *= 1.7;
      it.event.goal.map_pa = 163e3;
    }
    if (kind == 3) it.event.car.engine.displacement_m3 *= 0.62; /* in surge at first */
    ta_station stations[] = {{.elevation_m = 1463.0,
                              .temperature_k = 290.3,
                              .pressure_pa = 85300.0,
                              .has_pressure = true},
                             {.elevation_m = 3053.0, .temperature_k = 285.7},
                             {.elevation_m = 4117.0, .temperature_k = 275.3}};
    if (kind == 4) { /* a kink at the station on the way */
      it.event.day = (ta_day_reading){
          .station = stations, .station_count = COUNT_OF(stations), .lapse_rate_k_m = 0.0065};
      it.event.day_is_isa = false;
    }
    if (kind == 5) { /* so tall that the nodes must come closer */
      it.course[0].elevation_m = 307.0;
      it.course[3].elevation_m = 6511.0;
      it.event.goal.map_pa = 113e3;
    }
    const double low_m = it.course[0].elevation_m, high_m = it.course[3].elevation_m;
    const double near = kind == 4 ? 1e-4 : 1e-5;
    ta_prepared prepared;
    prepare(&it, &prepared);
    assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it.event.car), HUGE_VAL, profile),
                     TA_OK);
    double worst = 0.0;
    size_t named = 0;
    for (int i = 0; i < 110; i++) {
      const double z =
          i < 80 ? low_m + (high_m - low_m) * (i + 0.377) / 80.0 : 3053.0 + 2.3 * (i - 95);
      const double shaft = worst_shaft(&prepared, z), read = ta_profile_shaft(profile, z);
      if (isinf(read)) continue; /* next to what the map can tell: counted as over */
      named++;
      worst = fmax(worst, fabs(read - shaft) / prepared.limit_rpm);
    }
    print_message("profile %d: %zu nodes, off by %.1e of the limit\n", kind, profile->count, worst);
    assert_true(named > 20 && worst <= near);
    /* on a node, the node; beyond the ends, the ends */
    assert_true(profile->elevation_m[0] == low_m);
    assert_true(profile->elevation_m[profile->count - 1] == high_m);
    for (size_t i = 0; i < profile->count; i++) {
      const double z = profile->elevation_m[i];
      assert_true(i == 0 || z > profile->elevation_m[i - 1]);
      assert_true(ta_profile_shaft(profile, z) == profile->node[i].shaft_rpm);
      assert_true(profile->node[i].shaft_rpm == worst_shaft(&prepared, z));
      const ta_operating_point *below, *above;
      double share;
      ta_profile_between(profile, z, &below, &above, &share);
      assert_true(below == &profile->node[i] && share == 0.0);
      if (i + 1 == profile->count) break;
      ta_profile_between(profile, z + 0.37 * (profile->elevation_m[i + 1] - z), &below, &above,
                         &share);
      assert_true(below == &profile->node[i] && above == &profile->node[i + 1]);
      assert_true(fabs(share - 0.37) < 1e-9);
    }
    assert_true(ta_profile_shaft(profile, 200.0) == profile->node[0].shaft_rpm);
    assert_true(ta_profile_shaft(profile, 7000.0) == profile->node[profile->count - 1].shaft_rpm);
    ta_prepared_free(&prepared);
  }
  free(profile);
}

/* ---- along the course
 * ---------------------------------------------------------------------------- */

typedef struct {
  double from, to, peak;
} scanned;

enum { SCANNED_MAX = 16 };

/* Solve every half metre. */
static size_t scan_course(const ta_prepared *prepared, scanned *stretch, double *fastest) {
  const ta_course *course = &prepared->event->course;
  const double start = course->point[0].distance_m;
  const double length = course->point[course->count - 1].distance_m - start;
  const size_t steps = (size_t)(length / 0.5);
  size_t count = 0;
  bool inside = false;
  *fastest = 0.0;
  for (size_t i = 0; i <= steps; i++) {
    const double at = start + length * (double)i / (double)steps;
    const double shaft = worst_shaft(prepared, ta_course_elevation(course, at));
    *fastest = fmax(*fastest, shaft);
    const bool over = shaft > prepared->limit_rpm;
    if (over && !inside) {
      assert_true(count < SCANNED_MAX);
      stretch[count++] = (scanned){.from = at};
    }
    if (over) {
      stretch[count - 1].to = at;
      stretch[count - 1].peak = fmax(stretch[count - 1].peak, shaft);
    }
    inside = over;
  }
  return count;
}

/* The first crossing by halving, from half a metre before the scan's. */
static double first_crossing(const ta_prepared *prepared, double over_m) {
  const ta_course *course = &prepared->event->course;
  double low = over_m - 0.5, high = over_m;
  if (!(worst_shaft(prepared, ta_course_elevation(course, low)) <= prepared->limit_rpm))
    return high;
  while (high - low > 1e-4) {
    const double middle = 0.5 * (low + high);
    if (worst_shaft(prepared, ta_course_elevation(course, middle)) > prepared->limit_rpm)
      high = middle;
    else
      low = middle;
  }
  return high;
}

/* Returns the number of stretches, or -1 when anything is off; tolerance: share of the limit. */
static int against_scan(const char *row, const ta_prepared *prepared, double tolerance) {
  const ta_course *course = &prepared->event->course;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  ta_over over;
  assert_int_equal(
      ta_profile_make(prepared, ta_judged_speeds(&prepared->event->car), HUGE_VAL, profile), TA_OK);
  assert_int_equal(ta_over_find(prepared, profile, &over), TA_OK);
  scanned want[SCANNED_MAX];
  double fastest;
  const size_t count = scan_course(prepared, want, &fastest);
  int bad = 0;
  if (over.count != count) {
    print_error("%s: %zu stretches, want %zu\n", row, over.count, count);
    bad++;
  }
  const double limit = prepared->limit_rpm;
  for (size_t i = 0; bad == 0 && i < count; i++) {
    const ta_stretch *s = &over.stretch[i];
    bad += off(row, "from", s->from_distance_m, want[i].from - 0.25, 1.0);
    bad += off(row, "to", s->to_distance_m, want[i].to + 0.25, 1.0);
    if (isfinite(want[i].peak))
      bad += off(row, "peak", s->peak_shaft_rpm, want[i].peak, 2.0 * tolerance * limit);
    else if (!isinf(s->peak_shaft_rpm))
      bad++;
    bad += off(row, "from, elevation", s->from_elevation_m,
               ta_course_elevation(course, s->from_distance_m), 1e-6);
    bad += off(row, "to, elevation", s->to_elevation_m,
               ta_course_elevation(course, s->to_distance_m), 1e-6);
  }
  const double start = course->point[0].distance_m;
  const bool starts_over = worst_shaft(prepared, course->point[0].elevation_m) > limit;
  if (over.starts_over != starts_over) bad++;
  if (bad == 0 && count > 0) {
    const double first = starts_over ? start : first_crossing(prepared, want[0].from);
    bad += off(row, "first", over.first.distance_m, first, 0.1);
    bad += off(row, "first, elevation", over.first.elevation_m,
               ta_course_elevation(course, over.first.distance_m), 1e-9);
    bad += off(row, "first, shaft", over.first.point.shaft_rpm,
               worst_shaft(prepared, over.first.elevation_m), 0.0);
    bad += off(row, "first stretch", over.stretch[0].from_distance_m, over.first.distance_m, 0.0);
    if (!(over.first.point.shaft_rpm >= limit)) bad++;
  }
  if (isfinite(fastest))
    bad += off(row, "worst", over.worst.point.shaft_rpm, fastest, tolerance * limit);
  else if (!isinf(over.worst.point.shaft_rpm))
    bad++;
  bad += off(row, "worst, elevation", over.worst.elevation_m,
             ta_course_elevation(course, over.worst.distance_m), 1e-6);
  ta_over_free(&over);
  assert_true(over.stretch == NULL && over.count == 0);
  free(profile);
  return bad == 0 ? (int)count : -1;
}

static void a_climb_passes_the_limit_once(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double climb[][2] = {
      {-40.0, 2311.0}, {130.0, 2383.7}, {290.0, 2447.1}, {411.0, 2493.3}};
  road(&it, 0.2, climb, COUNT_OF(climb));
  ta_prepared prepared;
  prepare(&it, &prepared);
  static const double shares[] = {0.011, 0.377, 0.713, 0.993};
  for (size_t i = 0; i < COUNT_OF(shares); i++) {
    limit_between(&prepared, shares[i]);
    assert_int_equal(against_scan("climb", &prepared, 1e-5), 1);
  }
  ta_prepared_free(&prepared);
}

static void dips_leave_the_limit_and_enter_it_again(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double dips[][2] = {{0.0, 2311.0},   {121.0, 2367.3}, {203.0, 2331.9},
                                   {310.0, 2377.7}, {361.0, 2353.1}, {370.0, 2353.1},
                                   {455.0, 2391.0}, {557.0, 2349.3}};
  road(&it, 0.2, dips, COUNT_OF(dips));
  ta_prepared prepared;
  prepare(&it, &prepared);
  limit_between(&prepared, 0.57); /* below the second dip, above the first's and the ends */
  assert_int_equal(against_scan("dips", &prepared, 1e-5), 3);
  limit_between(&prepared, 0.91);
  assert_int_equal(against_scan("the last top alone", &prepared, 1e-5), 1);
  limit_between(&prepared, 0.41);
  assert_int_equal(against_scan("the first dip alone is within", &prepared, 1e-5), 2);
  ta_prepared_free(&prepared);
}

static void downhill_starts_over_and_gets_within(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double down[][2] = {{70.0, 2493.3}, {201.0, 2440.9}, {433.0, 2331.0}};
  road(&it, 0.2, down, COUNT_OF(down));
  ta_prepared prepared;
  prepare(&it, &prepared);
  limit_between(&prepared, 0.377);
  assert_int_equal(against_scan("downhill", &prepared, 1e-5), 1);
  limit_between(&prepared, -0.1);
  assert_int_equal(against_scan("over all the way", &prepared, 1e-5), 1);
  limit_between(&prepared, 1.01);
  assert_int_equal(against_scan("never over", &prepared, 1e-5), 0);
  ta_prepared_free(&prepared);
}

static void a_flat_course_is_over_or_it_is_not(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double flat[][2] = {{10.0, 2493.3}, {97.0, 2493.3}, {233.0, 2493.3}};
  road(&it, 0.2, flat, COUNT_OF(flat));
  ta_prepared prepared;
  prepare(&it, &prepared);
  const double shaft = worst_shaft(&prepared, 2493.3);
  prepared.limit_rpm = shaft * (1.0 - 1e-6);
  assert_int_equal(against_scan("flat, over", &prepared, 1e-5), 1);
  prepared.limit_rpm = shaft; /* on the limit is within it */
  assert_int_equal(against_scan("flat, on the limit", &prepared, 1e-5), 0);
  ta_prepared_free(&prepared);
}

/* A warm layer halfway up: the peak lies between two points of the course. */
static void a_peak_between_two_points_is_not_missed(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double two[][2] = {{0.0, 2311.0}, {310.0, 2417.0}};
  road(&it, 0.4, two, COUNT_OF(two));
  ta_station stations[] = {
      {.elevation_m = 2311.0, .temperature_k = 288.3, .pressure_pa = 76800.0, .has_pressure = true},
      {.elevation_m = 2329.4, .temperature_k = 297.7},
      {.elevation_m = 2353.4, .temperature_k = 289.1}};
  it.event.day = (ta_day_reading){
      .station = stations, .station_count = COUNT_OF(stations), .lapse_rate_k_m = 0.0065};
  it.event.day_is_isa = false;
  ta_prepared prepared;
  prepare(&it, &prepared);
  assert_true(worst_shaft(&prepared, 2329.4) > worst_shaft(&prepared, 2353.4) * 1.005);
  limit_between(&prepared, 0.83);
  assert_int_equal(against_scan("a warm layer", &prepared, 1e-4), 1);
  ta_prepared_free(&prepared);
}

/* Past what the compressor map can tell the speed is not known, and all of it counts as over. */
static void unreachable_counts_as_over(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double climb[][2] = {
      {0.0, 3111.0}, {230.0, 3211.3}, {390.0, 3203.1}, {511.0, 3211.0}};
  road(&it, 1.0, climb, COUNT_OF(climb));
  ta_prepared prepared;
  prepare(&it, &prepared);
  /* a goal at which the map ends halfway up */
  while (isfinite(worst_shaft(&prepared, 3170.0))) it.event.goal.map_pa += 800.0;
  assert_true(isfinite(worst_shaft(&prepared, 3111.0)));
  prepared.limit_rpm = worst_shaft(&prepared, 3131.0);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  ta_over over;
  assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it.event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
  assert_int_equal(over.count, 1);
  assert_true(isinf(over.stretch[0].peak_shaft_rpm) && isinf(over.worst.point.shaft_rpm));
  assert_int_equal(over.worst.point.zone, TA_UNREACHABLE);
  assert_true(over.worst.distance_m == 230.0); /* the highest of them stands for all */
  assert_true(over.stretch[0].to_distance_m == 511.0);
  int bad = off("unreachable", "first", over.first.distance_m,
                first_crossing(&prepared, over.first.distance_m + 0.2), 0.1);
  assert_true(isinf(ta_profile_shaft(profile, 3205.0)));
  ta_over_free(&over);
  /* the limit so high that the speed jumps over it */
  prepared.limit_rpm *= 1.5;
  assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
  assert_int_equal(over.count, 1);
  double low = 3111.0, high = 3170.0;
  while (high - low > 1e-5) {
    const double middle = 0.5 * (low + high);
    if (isinf(worst_shaft(&prepared, middle)))
      high = middle;
    else
      low = middle;
  }
  bad += off("jump", "first, elevation", over.first.elevation_m, high, 0.1);
  assert_true(isinf(over.first.point.shaft_rpm));
  ta_over_free(&over);
  free(profile);
  ta_prepared_free(&prepared);
  assert_int_equal(bad, 0);
}

/* Its stretches reach to the nearest place that is known to be within. */
static void unreachable_stretches_err_on_the_long_side(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double hills[][2] = {{0.0, 3111.0}, {41.0, 3211.3}, {83.0, 3117.0}, {131.0, 3209.0}};
  road(&it, 1.0, hills, COUNT_OF(hills));
  ta_prepared prepared;
  prepare(&it, &prepared);
  while (isfinite(worst_shaft(&prepared, 3170.0))) it.event.goal.map_pa += 800.0;
  prepared.limit_rpm = 900e3; /* no speed that can be named passes it */
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  ta_over over;
  assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it.event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
  scanned want[SCANNED_MAX];
  double fastest;
  assert_int_equal(scan_course(&prepared, want, &fastest), 2);
  assert_int_equal(over.count, 2);
  double gap_m = 0.0; /* between the last node that can be named and the next */
  for (size_t i = 1; i < profile->count && gap_m == 0.0; i++)
    if (isinf(profile->node[i].shaft_rpm))
      gap_m = profile->elevation_m[i] - profile->elevation_m[i - 1];
  assert_true(gap_m > 0.0 && gap_m < 5.0);
  const double node_m = gap_m * 48.0 / (3209.0 - 3117.0) + 0.5; /* along the road; of the scan */
  assert_true(over.stretch[0].to_distance_m >= want[0].to &&
              over.stretch[0].to_distance_m <= want[0].to + node_m);
  assert_true(over.stretch[1].from_distance_m <= want[1].from &&
              over.stretch[1].from_distance_m >= want[1].from - node_m);
  ta_over_free(&over);
  /* between a node that is known and one that is not, nothing is known: up and down */
  profile->count = 3;
  for (size_t i = 0; i < 3; i++) profile->elevation_m[i] = 3000.0 + 10.0 * (double)i;
  profile->node[0].shaft_rpm = 1e5;
  profile->node[1].shaft_rpm = (double)INFINITY;
  profile->node[2].shaft_rpm = 1e5;
  assert_true(ta_profile_shaft(profile, 3000.0) == 1e5);
  assert_true(isinf(ta_profile_shaft(profile, 3003.0)) && isinf(ta_profile_shaft(profile, 3017.0)));
  assert_true(ta_profile_shaft(profile, 3020.0) == 1e5);
  free(profile);
  ta_prepared_free(&prepared);
}

/* One node over the limit is one stretch, wherever it stands between the points of the course. */
static void no_node_is_walked_past(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const double up_and_down[][2] = {
      {0.0, 2000.0}, {31.0, 2047.0}, {63.0, 2100.0}, {97.0, 2000.0}};
  road(&it, 1.0, up_and_down, COUNT_OF(up_and_down));
  ta_prepared prepared;
  prepare(&it, &prepared);
  prepared.limit_rpm = 1e5;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  profile->range = ta_judged_speeds(&it.event.car);
  profile->count = 11;
  for (size_t i = 0; i < 11; i++) profile->elevation_m[i] = 2000.0 + 10.0 * (double)i;
  for (size_t over_at = 1; over_at < 10; over_at++) {
    for (size_t i = 0; i < profile->count; i++)
      profile->node[i].shaft_rpm = i == over_at ? 1.1e5 : 0.9e5;
    ta_over over;
    assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
    assert_int_equal(over.count, 2); /* on the way up and on the way down */
    const double z = 2000.0 + 10.0 * (double)over_at;
    int bad = off("down", "from", over.stretch[1].from_elevation_m, z + 5.0, 1e-6);
    bad += off("down", "to", over.stretch[1].to_elevation_m, z - 5.0, 1e-6);
    bad += off("up", "to", over.stretch[0].to_elevation_m, z + 5.0, 1e-6);
    bad += off("up", "peak", over.stretch[0].peak_shaft_rpm, 1.1e5, 0.0);
    bad += off("worst", "elevation", over.worst.elevation_m, z, 1e-9);
    ta_over_free(&over);
    assert_int_equal(bad, 0);
  }
  free(profile);
  ta_prepared_free(&prepared);
}

static void many_stretches_are_all_kept(void **state) {
  (void)state;
  enum { TOPS = 37 };
  static ta_course_point waves[2 * TOPS + 1];
  for (size_t i = 0; i < COUNT_OF(waves); i++)
    waves[i] = (ta_course_point){.distance_m = 31.0 * (double)i,
                                 .elevation_m = i % 2 == 0 ? 2311.0 : 2323.0};
  invented it;
  invented_make(&it);
  it.event.course = (ta_course){waves, COUNT_OF(waves)};
  ta_prepared prepared;
  prepare(&it, &prepared);
  limit_between(&prepared, 0.5);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  ta_over over;
  assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it.event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
  assert_int_equal(over.count, TOPS);
  for (size_t i = 0; i < over.count; i++) {
    const double top = waves[2 * i + 1].distance_m;
    assert_true(over.stretch[i].from_distance_m > top - 31.0 &&
                over.stretch[i].from_distance_m < top);
    assert_true(over.stretch[i].to_distance_m < top + 31.0 && over.stretch[i].to_distance_m > top);
  }
  ta_over_free(&over);
  free(profile);
  ta_prepared_free(&prepared);
}

static void surge_is_found_up_to_its_highest_engine_speed(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.engine.window_rpm[0] = 2311.0;
  ta_prepared prepared;
  prepare(&it, &prepared);
  ta_window_look look;
  double highest = 0.0;
  assert_int_equal(ta_look_over_window(&prepared, 4117.0, &look), TA_OK);
  const double rpm = look.surges_below_rpm;
  ta_air air;
  assert_int_equal(ta_day_air(&prepared.day, 4117.0, &air), TA_OK);
  for (double n = 2311.0; n <= 7270.0; n += 1.0) {
    ta_operating_point point;
    assert_int_equal(
        ta_point_solve(&it.event.car, prepared.map, &air, n,
                       it.event.goal.map_pa + it.event.car.control.overshoot_pa, &point),
        TA_OK);
    if (point.zone == TA_SURGE) highest = n;
  }
  assert_true(highest > 2311.0 && highest < 7270.0);
  assert_true(rpm <= highest + 1.0 && rpm > highest - 100.0); /* one of 64 steps */
  it.event.car.engine.window_rpm[0] = 7000.0;
  assert_int_equal(ta_look_over_window(&prepared, 4117.0, &look), TA_OK);
  assert_true(look.surges_below_rpm == 0.0);
  ta_prepared_free(&prepared);
}

/* Not where the shaft is fastest; and what lies past the map has no temperature. */
static void the_hottest_outlet_is_that_of_a_dense_scan(void **state) {
  (void)state;
  static const double goals_pa[] = {173300.0, 261700.0, 419000.0};
  for (size_t g = 0; g < COUNT_OF(goals_pa); g++) {
    invented it;
    invented_make(&it);
    it.event.car.engine.window_rpm[0] = 2711.0;
    it.event.goal.map_pa = goals_pa[g];
    if (g == 0) it.event.car.engine.displacement_m3 *= 0.71;
    ta_prepared prepared;
    prepare(&it, &prepared);
    ta_air air;
    assert_int_equal(ta_day_air(&prepared.day, 4117.0, &air), TA_OK);
    double hottest_k = 0.0, hottest_rpm = 0.0;
    int unreachable = 0;
    for (double n = 2711.0; n <= 7270.0; n += 1.0) {
      ta_operating_point point;
      assert_int_equal(
          ta_point_solve(&it.event.car, prepared.map, &air, n,
                         it.event.goal.map_pa + it.event.car.control.overshoot_pa, &point),
          TA_OK);
      unreachable += point.zone == TA_UNREACHABLE;
      if (point.zone == TA_UNREACHABLE || !(point.outlet_temperature_k > hottest_k)) continue;
      hottest_k = point.outlet_temperature_k;
      hottest_rpm = n;
    }
    ta_window_look look;
    ta_operating_point fastest;
    assert_int_equal(ta_look_over_window(&prepared, 4117.0, &look), TA_OK);
    assert_int_equal(ta_worst_in_window(&prepared, 4117.0, HUGE_VAL, &fastest), TA_OK);
    assert_true(fabs(look.outlet_temperature_k - hottest_k) <= 0.5); /* one of 64 steps */
    assert_true(fabs(look.hottest_rpm - hottest_rpm) <= 170.0);
    assert_int_equal(unreachable > 0, g > 0);
    if (g == 0) assert_true(look.outlet_temperature_k > fastest.outlet_temperature_k + 1.0);
    if (g == 2) assert_true(look.outlet_temperature_k == 0.0 && look.hottest_rpm == 0.0);
    ta_prepared_free(&prepared);
  }
}

static void refusals(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  ta_prepared prepared;
  prepare(&it, &prepared);
  ta_operating_point point = {.shaft_rpm = -7.0};
  ta_window_look look = {.hottest_rpm = -7.0};
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  ta_over over;
  assert_int_equal(ta_worst_in_window(NULL, 2000.0, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_window(&prepared, 2000.0, 1e9, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_window(&prepared, 2000.0, (double)NAN, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_window(&prepared, (double)NAN, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_window(&prepared, 9500.0, 1e9, &point), TA_ERR_DOMAIN);
  assert_int_equal(ta_look_over_window(NULL, 2000.0, &look), TA_ERR_ARGUMENT);
  assert_int_equal(ta_look_over_window(&prepared, 2000.0, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_look_over_window(&prepared, 9500.0, &look), TA_ERR_DOMAIN);
  assert_true(point.shaft_rpm == -7.0 && look.hottest_rpm == -7.0);
  const ta_speed_range window = ta_judged_speeds(&it.event.car), turned = {7000.0, 5000.0};
  const ta_air air = prepared.start;
  assert_int_equal(ta_worst_in_range(NULL, window, 2000.0, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_range(&prepared, turned, 2000.0, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_air(NULL, window, &air, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_air(&prepared, window, NULL, 1e9, &point), TA_ERR_ARGUMENT);
  assert_int_equal(ta_worst_in_air(&prepared, window, &air, 1e9, NULL), TA_ERR_ARGUMENT);
  assert_true(point.shaft_rpm == -7.0);
  assert_int_equal(ta_profile_make(NULL, window, 1e9, profile), TA_ERR_ARGUMENT);
  assert_int_equal(ta_profile_make(&prepared, window, 1e9, NULL), TA_ERR_ARGUMENT);
  it.course[3].elevation_m = 9500.0; /* above the column of air */
  assert_int_equal(ta_profile_make(&prepared, window, 1e9, profile), TA_ERR_DOMAIN);
  assert_int_equal(ta_over_find(NULL, profile, &over), TA_ERR_ARGUMENT);
  assert_int_equal(ta_over_find(&prepared, NULL, &over), TA_ERR_ARGUMENT);
  assert_int_equal(ta_over_find(&prepared, profile, NULL), TA_ERR_ARGUMENT);
  ta_over_free(NULL);
  free(profile);
  ta_prepared_free(&prepared);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(worst_engine_speed_is_that_of_a_dense_scan),
      cmocka_unit_test(a_maximum_beside_an_end_is_found),
      cmocka_unit_test(a_shared_breakpoint_hides_nothing),
      cmocka_unit_test(no_breakpoint_is_left_out),
      cmocka_unit_test(profile_stays_with_direct_solves),
      cmocka_unit_test(a_climb_passes_the_limit_once),
      cmocka_unit_test(dips_leave_the_limit_and_enter_it_again),
      cmocka_unit_test(downhill_starts_over_and_gets_within),
      cmocka_unit_test(a_flat_course_is_over_or_it_is_not),
      cmocka_unit_test(a_peak_between_two_points_is_not_missed),
      cmocka_unit_test(unreachable_counts_as_over),
      cmocka_unit_test(unreachable_stretches_err_on_the_long_side),
      cmocka_unit_test(no_node_is_walked_past),
      cmocka_unit_test(many_stretches_are_all_kept),
      cmocka_unit_test(surge_is_found_up_to_its_highest_engine_speed),
      cmocka_unit_test(the_hottest_outlet_is_that_of_a_dense_scan),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
