/* test_timed_run.c - the run under every strategy, against runs on finer grids of our own; the shaft
 * along it, against a solve at every step; when there is no time. */
#include <gsl/gsl_errno.h>

#include "random_event.h"
#include "thinair/drive.h"
#include "thinair/timed_run.h"

/* ---- events and caps ------------------------------------------------------------------------- */

/* The invented car, its limit passed on the short course. */
static void begin(drawn *d) {
  memset(d, 0, sizeof *d);
  invented_make(&d->it);
  give_short_course(d);
  give_vehicle(d);
  d->it.event.car.control.barometer_error_pa = 470.0;
  d->it.event.car.control.resolution_pa = 1000.0;
  d->it.event.car.control.positions = 3.0;
  d->it.event.goal.map_pa = 173300.0;
}

static void finish(drawn *d, double limit_share) {
  prepare(d);
  limit_at_share(d, limit_share);
}

/* As a plan makes them.  To be freed with ta_cap_set_free. */
static void find_caps(const drawn *d, ta_cap_set *caps) {
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  memset(caps, 0, sizeof *caps);
  assert_int_equal(
      ta_profile_make(&d->prepared, ta_judged_speeds(&d->it.event.car), HUGE_VAL, profile), TA_OK);
  assert_int_equal(ta_constant_cap_find(&d->prepared, profile, &caps->constant), TA_OK);
  assert_int_equal(ta_controller_table_find(&d->prepared, true, &caps->table), TA_OK);
  assert_int_equal(ta_schedule_find(&d->prepared, &caps->schedule), TA_OK);
  assert_int_equal(ta_positions_find(&d->prepared, profile, 3, &caps->positions), TA_OK);
  assert_int_equal(ta_shift_speed_find(&d->prepared, profile, &caps->shift), TA_OK);
  free(profile);
}

/* A knob that is turned at these marks. */
static void set_positions(ta_cap_set *caps, const double (*from_and_cap)[2], size_t count) {
  ta_positions_free(&caps->positions);
  caps->positions.position = calloc(count, sizeof *caps->positions.position);
  assert_non_null(caps->positions.position);
  caps->positions.count = count;
  for (size_t i = 0; i < count; i++)
    caps->positions.position[i] = (ta_position){
        .from_distance_m = from_and_cap[i][0],
        .cap = {
            .set_point = from_and_cap[i][1], .limited_by = TA_BY_RATED_SPEED, .can_be_had = true}};
}

static ta_timed_runs make(const drawn *d, const ta_cap_set *caps) {
  ta_timed_runs runs;
  assert_int_equal(ta_timed_runs_make(&d->prepared, caps, &runs), TA_OK);
  return runs;
}

/* ---- an independent run ---------------------------------------------------------------------- */

enum { ROWS = 113, COLUMNS_MAX = 400, LAYERS = 2, SECTIONS = 3 };

typedef struct {
  double rpm[COLUMNS_MAX], density[ROWS], from_m[SECTIONS];
  double power[SECTIONS * LAYERS * ROWS * COLUMNS_MAX];
  ta_full_load load;
} fine;

static double cap_at(const ta_prepared *prepared, const ta_cap_set *caps, ta_strategy strategy,
                     size_t section, const ta_air *air, double rpm) {
  if (caps == NULL) { /* of each engine speed in its air */
    double set_point;
    (void)ta_speed_caps(prepared, &air, &rpm, 1, &set_point);
    return set_point;
  }
  const double ambient_pa = air->pressure_pa;
  switch (strategy) {
    case TA_BY_TABLE:
      return ta_controller_table_read(prepared, &caps->table, ambient_pa, rpm);
    case TA_BY_AMBIENT:
      return ta_schedule_read(prepared, &caps->schedule, ambient_pa);
    case TA_BY_POSITION:
      return caps->positions.position[section].cap.set_point;
    case TA_ONE_CAP:
      return caps->constant.set_point;
    default:
      return HUGE_VAL;
  }
}

/* Power at full load of a column of engine speeds, the controller and the turbine written out. */
static void full_load(const ta_prepared *prepared, const ta_cap_set *caps, ta_strategy strategy,
                      size_t section, const ta_air *air, double ram_pa, const double *rpm,
                      size_t count, double *power_w) {
  const ta_car *car = &prepared->event->car;
  const bool gauge = car->control.holds == TA_HOLDS_GAUGE;
  for (size_t from = 0; from < count; from += TA_LANES) {
    ta_point_block b = {.count = count - from < TA_LANES ? count - from : TA_LANES};
    double excess[TA_LANES];
    for (size_t i = 0; i < b.count; i++) {
      const double n = rpm[from + i], set = fmin(ta_prepared_goal(prepared, n),
                                                 cap_at(prepared, caps, strategy, section, air, n));
      const double spring = car->control.has_minimum_boost ? car->control.minimum_boost_pa : 1e-4;
      b.ambient_pressure_pa[i] = air->pressure_pa;
      b.ambient_temperature_k[i] = air->temperature_k;
      b.gas_constant_jkgk[i] = air->gas_constant_jkgk;
      b.engine_rpm[i] = n;
      b.ram_pa[i] = ram_pa;
      b.map_pa[i] = fmax(set + (gauge ? air->pressure_pa : 0.0), air->pressure_pa + spring);
    }
    ta_points_solve(car, prepared->map, &b);
    if (car->turbo.has_turbine) {
      ta_points_excess(car, &b, excess);
      for (size_t i = 0; i < b.count; i++) {
        if (excess[i] >= 0.0) continue;
        const double asked = b.map_pa[i];
        ta_highest_held_map(prepared, air, &b.engine_rpm[i], 1, &asked, &b.map_pa[i]);
        b.map_pa[i] = fmax(b.map_pa[i], air->pressure_pa + 1e-4);
      }
      ta_points_solve(car, prepared->map, &b);
    }
    for (size_t i = 0; i < b.count; i++)
      power_w[from + i] = b.air_flow_kg_s[i] / (1.0 + air->mixing_ratio) /
                          car->engine.air_fuel_ratio / car->engine.bsfc_kg_j;
  }
}

/* The time under a strategy, on a grid of our own. */
static double own_time(const drawn *d, const ta_cap_set *caps, ta_strategy strategy,
                       double tolerance) {
  const ta_event *event = &d->it.event;
  ta_vehicle vehicle = event->car.vehicle;
  if (strategy == TA_EARLY_SHIFT)
    vehicle.shift_rpm = fmin(vehicle.shift_rpm, caps->shift.engine_rpm);
  fine *f = calloc(1, sizeof *f);
  assert_non_null(f);
  const double *window = event->car.engine.window_rpm;
  const double low = fmin(window[0], 0.9 * vehicle.shift_rpm),
               high = fmax(window[1], vehicle.shift_rpm);
  size_t columns = 0;
  for (double n = low; n < high; n += 19.0) {
    f->rpm[columns++] = n;
    for (size_t i = 0; i < event->car.engine.ve_count; i++)
      if (event->car.engine.ve[i].engine_rpm > n && event->car.engine.ve[i].engine_rpm < n + 19.0)
        f->rpm[columns++] = event->car.engine.ve[i].engine_rpm;
  }
  f->rpm[columns++] = high;
  assert_true(columns <= COLUMNS_MAX);
  double low_m, high_m;
  ta_course_range(&event->course, &low_m, &high_m);
  f->load = (ta_full_load){.low_m = low_m,
                           .step_m = (high_m - low_m) / (ROWS - 1),
                           .elevation_count = ROWS,
                           .engine_rpm = f->rpm,
                           .engine_count = columns,
                           .density_kgm3 = f->density,
                           .ram_pa = {0.0, 1370.0},
                           .layer_count = event->car.intake.ram_recovery > 0.0 ? 2 : 1,
                           .ram_recovery = event->car.intake.ram_recovery,
                           .section_from_m = f->from_m,
                           .section_count = strategy == TA_BY_POSITION ? caps->positions.count : 1,
                           .power_w = f->power};
  assert_true(f->load.section_count <= SECTIONS);
  double *power_w = f->power;
  for (size_t s = 0; s < f->load.section_count; s++) {
    if (strategy == TA_BY_POSITION) f->from_m[s] = caps->positions.position[s].from_distance_m;
    for (size_t layer = 0; layer < f->load.layer_count; layer++)
      for (size_t row = 0; row < ROWS; row++, power_w += columns) {
        ta_air air;
        const double at_m = fmin(low_m + f->load.step_m * (double)row, high_m);
        assert_int_equal(ta_day_air(&d->prepared.day, at_m, &air), TA_OK);
        f->density[row] = air.density_kgm3;
        full_load(&d->prepared, caps, strategy, s, &air, f->load.ram_pa[layer], f->rpm, columns,
                  power_w);
      }
  }
  ta_road road;
  ta_run run;
  assert_int_equal(ta_road_make(&event->course, TA_CORNER_LENGTH_M, &road), TA_OK);
  assert_int_equal(ta_run_make(&road, &vehicle, &f->load, tolerance, &run), TA_OK);
  const double time_s = run.stalled ? (double)INFINITY : run.time_s;
  ta_run_free(&run);
  ta_road_free(&road);
  free(f);
  return time_s;
}

static int check_times(const char *row, const drawn *d, const ta_cap_set *caps,
                       const ta_timed_runs *runs, unsigned least_offered) {
  int bad = 0;
  unsigned offered = 0;
  ta_strategy best = TA_FULL_TARGET;
  assert_int_equal(runs->known, TA_TIME_KNOWN);
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    const ta_strategy s = (ta_strategy)i;
    if (!ta_strategy_offered(caps, s)) {
      if (isfinite(runs->time_s[i])) bad++;
      continue;
    }
    offered++;
    char what[64];
    (void)snprintf(what, sizeof what, "time, %s", ta_strategy_name(s));
    bad += off_rel(row, what, runs->time_s[i], own_time(d, caps, s, 3e-5), 2e-4);
    if (s != TA_FULL_TARGET && (best == TA_FULL_TARGET || runs->time_s[i] < runs->time_s[best]))
      best = s;
    if (s != TA_FULL_TARGET && s != TA_EARLY_SHIFT &&
        !(runs->time_s[i] >= runs->time_s[TA_FULL_TARGET] * (1.0 - 1e-4)))
      bad++;
  }
  if (runs->has_best != (offered > 1) || (runs->has_best && runs->best != best)) bad++;
  if (runs->run.time_s != runs->time_s[TA_FULL_TARGET]) bad++;
  if (offered < least_offered) {
    print_error("%s: only %u offered\n", row, offered);
    bad++;
  }
  return bad;
}

static void times_are_those_of_finer_grids(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  ta_timed_runs runs;
  int bad = 0;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  runs = make(&d, &caps);
  bad += check_times("absolute", &d, &caps, &runs, 6);
  const double free_s = runs.time_s[TA_FULL_TARGET];
  ta_timed_runs_free(&runs);

  /* a knob that is turned twice: the dip is driven at two caps at the same elevations */
  const double knob[][2] = {{0.0, 151300.0}, {1187.0, 121700.0}, {2311.0, 171100.0}};
  set_positions(&caps, knob, COUNT_OF(knob));
  caps.shift.engine_rpm = 6113.0;
  runs = make(&d, &caps);
  bad += check_times("a knob", &d, &caps, &runs, 6);
  const double turned_s = runs.time_s[TA_BY_POSITION];
  ta_timed_runs_free(&runs);
  caps.positions.position[1].cap.set_point = 171100.0; /* at the same elevations again */
  runs = make(&d, &caps);
  assert_true(runs.time_s[TA_BY_POSITION] < turned_s - 0.02);
  ta_timed_runs_free(&runs);
  caps.shift.engine_rpm = 7700.0; /* above the car's own: that one stays */
  runs = make(&d, &caps);
  bad += off_rel("shift", "time", runs.time_s[TA_EARLY_SHIFT], free_s, 1e-12);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);

  begin(&d); /* the wind helps */
  d.it.event.car.intake.ram_recovery = 0.83;
  finish(&d, 0.2);
  find_caps(&d, &caps);
  runs = make(&d, &caps);
  bad += check_times("ram", &d, &caps, &runs, 6);
  print_message("ram: %.4f s, still air: %.4f s\n", runs.time_s[TA_FULL_TARGET], free_s);
  assert_true(runs.time_s[TA_FULL_TARGET] < free_s - 1e-3);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);

  begin(&d); /* boost above ambient, a spring, humid */
  d.it.event.car.control.holds = TA_HOLDS_GAUGE;
  d.it.event.car.control.has_minimum_boost = true;
  d.it.event.car.control.minimum_boost_pa = 61e3;
  d.it.event.day.isa_humidity = 0.93;
  finish(&d, 0.4);
  find_caps(&d, &caps);
  caps.constant.set_point = 43e3; /* the spring gives more */
  runs = make(&d, &caps);
  bad += check_times("gauge", &d, &caps, &runs, 5);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);

  begin(&d); /* not all of it can be driven */
  give_turbine(&d, 1.67, 0.61);
  finish(&d, 0.4);
  find_caps(&d, &caps);
  runs = make(&d, &caps);
  bad += check_times("turbine", &d, &caps, &runs, 4);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* A shift below the boost window's low end, and a window that ends below the shift speed. */
static void windows_that_do_not_meet_the_shift_speed(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  ta_timed_runs runs;
  int bad = 0;
  begin(&d);
  d.it.event.car.engine.window_rpm[1] = 6590.0;
  finish(&d, 0.2);
  find_caps(&d, &caps);
  runs = make(&d, &caps);
  bad += check_times("window ends early", &d, &caps, &runs, 6);
  ta_timed_runs_free(&runs);
  caps.shift.engine_rpm = 4257.0;
  runs = make(&d, &caps);
  bad += check_times("shift low", &d, &caps, &runs, 6);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* What a perfect table would give. */
static void the_quickest_run(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  ta_road road;
  assert_int_equal(ta_road_make(&d.it.event.course, TA_CORNER_LENGTH_M, &road), TA_OK);
  double time_s = -1.0, coarse_s, exact_s;
  assert_int_equal(ta_quickest_run(&d.prepared, &road, TA_RUN_TOLERANCE, &time_s), TA_OK);
  for (int i = 0; i < TA_STRATEGY_COUNT; i++)
    if (i == TA_FULL_TARGET ? time_s < runs.time_s[i] * (1.0 - 1e-4)
                            : i != TA_EARLY_SHIFT && time_s > runs.time_s[i] * (1.0 + 1e-4)) {
      print_error("quickest %.3f s, %s %.3f s\n", time_s, ta_strategy_name((ta_strategy)i),
                  runs.time_s[i]);
      fail();
    }
  /* an exact table of many nodes, without the barometer's error, is such a table */
  double pressures[TA_AXIS_MAX], speeds[TA_AXIS_MAX];
  ta_air low, high;
  assert_int_equal(ta_day_air(&d.prepared.day, 2911.0, &low), TA_OK);
  assert_int_equal(ta_day_air(&d.prepared.day, 3257.0, &high), TA_OK);
  ta_control *control = &d.it.event.car.control;
  for (size_t i = 0; i < TA_AXIS_MAX; i++) {
    const double share = (double)i / (TA_AXIS_MAX - 1);
    pressures[i] = high.pressure_pa - 20.0 + share * (low.pressure_pa - high.pressure_pa + 40.0);
    speeds[i] = 4130.0 + share * (7270.0 - 4130.0);
  }
  control->pressure_axis_pa = pressures;
  control->speed_axis_rpm = speeds;
  control->pressure_axis_count = control->speed_axis_count = TA_AXIS_MAX;
  control->barometer_error_pa = 0.0;
  ta_controller_table_free(&caps.table);
  assert_int_equal(ta_controller_table_find(&d.prepared, false, &caps.table), TA_OK);
  const double want_s = own_time(&d, &caps, TA_BY_TABLE, 3e-5);
  int bad = off_rel("quickest", "time", time_s, want_s, 2e-4);
  assert_int_equal(ta_quickest_run(&d.prepared, &road, 3e-3, &coarse_s), TA_OK);
  bad += off_rel("quickest", "coarse", coarse_s, want_s, 3e-3);
  assert_int_equal(ta_quickest_run(&d.prepared, &road, 1e-6, &exact_s), TA_OK);
  bad += off_rel("quickest", "exact", exact_s, want_s, 2e-4);
  assert_int_equal(bad, 0);
  assert_true(exact_s != coarse_s);
  d.it.event.car.vehicle.mass_kg *= 40.0;
  d.it.event.car.vehicle.grip.drive = 0.13; /* slides back */
  assert_int_equal(ta_quickest_run(&d.prepared, &road, TA_RUN_TOLERANCE, &time_s), TA_OK);
  assert_true(isinf(time_s));
  time_s = -7.0;
  assert_int_equal(ta_quickest_run(NULL, &road, 1e-3, &time_s), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quickest_run(&d.prepared, NULL, 1e-3, &time_s), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quickest_run(&d.prepared, &road, 1e-3, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quickest_run(&d.prepared, &road, 0.0, &time_s), TA_ERR_ARGUMENT);
  assert_true(time_s == -7.0);
  ta_full_load *load = NULL;
  assert_int_equal(ta_quickest_load_make(NULL, &load), TA_ERR_ARGUMENT);
  assert_int_equal(ta_quickest_load_make(&d.prepared, NULL), TA_ERR_ARGUMENT);
  assert_null(load);
  ta_quickest_load_free(NULL);
  ta_road_free(&road);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

/* On the whole climb, where the cap changes much with height. */
static void the_quickest_run_of_a_long_climb(void **state) {
  (void)state;
  drawn d;
  memset(&d, 0, sizeof d);
  invented_make(&d.it);
  give_vehicle(&d);
  d.it.event.car.vehicle.drag_area_m2 = 2.31; /* its power counts all the way */
  finish(&d, 0.2);
  ta_road road;
  double time_s;
  assert_int_equal(ta_road_make(&d.it.event.course, TA_CORNER_LENGTH_M, &road), TA_OK);
  assert_int_equal(ta_quickest_run(&d.prepared, &road, TA_RUN_TOLERANCE, &time_s), TA_OK);
  const double want_s = own_time(&d, NULL, TA_FULL_TARGET, 3e-5);
  print_message("long climb: %.3f s, on a finer grid %.3f s\n", time_s, want_s);
  assert_int_equal(off_rel("long climb", "time", time_s, want_s, 3e-5), 0);
  ta_road_free(&road);
  ta_prepared_free(&d.prepared);
}

static void no_cap_is_faster_than_the_target(void **state) {
  (void)state;
  int bad = 0;
  int cars = 0;
  double closest = HUGE_VAL;
  for (uint64_t i = 0; i < 16; i++) {
    drawn d;
    ta_cap_set caps;
    uint64_t next = 50000 + 64 * i;
    draw_event(200 + i, &d);
    give_short_course(&d);
    give_vehicle(&d);
    ta_prepared_free(&d.prepared);
    finish(&d, spread(&next, -0.5, 0.7));
    if (isinf(worst_at(&d.prepared, 3257.0))) { /* there the target has no time */
      ta_prepared_free(&d.prepared);
      continue;
    }
    find_caps(&d, &caps);
    cars++;
    caps.constant.limited_by = TA_BY_RATED_SPEED;
    caps.constant.can_be_had = caps.table.can_be_had = true;
    const double goal = ta_prepared_goal(&d.prepared, 6100.0);
    const double knob[][2] = {{0.0, goal * spread(&next, 0.7, 1.1)},
                              {1187.0, goal * spread(&next, 0.7, 1.1)},
                              {4013.0, goal * spread(&next, 0.7, 1.1)}};
    set_positions(&caps, knob, COUNT_OF(knob));
    caps.constant.set_point = goal * spread(&next, 0.7, 1.1);
    for (size_t k = 0; k < caps.schedule.count; k++) {
      caps.schedule.row[k].set_point = goal * spread(&next, 0.7, 1.1);
      caps.schedule.row[k].cap.can_be_had = true;
    }
    ta_timed_runs runs = make(&d, &caps);
    for (int s = 0; s < TA_STRATEGY_COUNT; s++) {
      if (s == TA_FULL_TARGET || s == TA_EARLY_SHIFT) continue;
      const double slower = runs.time_s[s] / runs.time_s[TA_FULL_TARGET] - 1.0;
      closest = fmin(closest, slower);
      if (slower >= -2e-4) continue;
      print_error("event %d: %s is quicker by %.2g\n", (int)i, ta_strategy_name((ta_strategy)s),
                  -slower);
      bad++;
    }
    if (runs.has_best)
      for (int s = 1; s < TA_STRATEGY_COUNT; s++)
        if (runs.time_s[s] < runs.time_s[runs.best]) bad++;
    ta_timed_runs_free(&runs);
    ta_cap_set_free(&caps);
    ta_prepared_free(&d.prepared);
  }
  print_message("slower than the target by %.1e at least\n", closest);
  assert_int_equal(bad, 0);
  assert_true(cars > 9);
}

/* ---- the shaft along the run ----------------------------------------------------------------- */

/* Mean of a thousand places between a and b that stand above a level. */
static double above(double a, double b, double level) {
  int count = 0;
  for (int i = 0; i < 1000; i++) count += a + (b - a) * (i + 0.5) / 1000.0 > level;
  return count / 1000.0;
}

static void check_shaft(const char *row, double ram_recovery, double limit_share,
                        double rated_share, double *over_s) {
  drawn d;
  ta_cap_set caps;
  begin(&d);
  d.it.event.car.intake.ram_recovery = ram_recovery;
  d.it.event.car.control.map_error_pa = 1300.0;
  finish(&d, limit_share);
  /* rated and limit both somewhere on the way */
  const double limit = d.prepared.limit_rpm, top = worst_at(&d.prepared, 3257.0);
  d.it.event.car.turbo.rated_rpm = limit + rated_share * (top - limit);
  d.it.event.goal.margin = 1.0 - limit / d.it.event.car.turbo.rated_rpm;
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  int bad = 0;
  double over_limit_s = 0.0, over_rated_s = 0.0, peak = 0.0;
  size_t first = 0, first_rated = 0, shut = 0;
  for (size_t i = 0; i < runs.run.step_count; i++) {
    const ta_run_step *step = &runs.run.step[i];
    if (i == 0) {
      assert_true(runs.shaft_rpm[0] == 0.0);
      continue;
    }
    const double seconds = step->time_s - step[-1].time_s;
    if (!(step->throttle_share > 0.0)) {
      if (runs.shaft_rpm[i] != 0.0) bad++;
      shut++;
      continue;
    }
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, step->elevation_m, &air), TA_OK);
    ta_point_block b = {
        .count = 1,
        .ambient_pressure_pa = {air.pressure_pa},
        .ambient_temperature_k = {air.temperature_k},
        .gas_constant_jkgk = {air.gas_constant_jkgk},
        .engine_rpm = {step->engine_rpm},
        .map_pa = {173300.0 + 5300.0 + 1300.0},
        .ram_pa = {ram_recovery * 0.5 * air.density_kgm3 * step->speed_ms * step->speed_ms}};
    ta_points_solve(&d.it.event.car, d.prepared.map, &b);
    const double shaft = b.shaft_rpm[0];
    bad += off_rel(row, "shaft", runs.shaft_rpm[i], shaft, 2e-6);
    peak = fmax(peak, shaft);
    /* linear from the step before, where the throttle was open there */
    const double from = runs.shaft_rpm[i - 1] > 0.0 ? runs.shaft_rpm[i - 1] : shaft;
    over_limit_s += seconds * above(from, shaft, d.prepared.limit_rpm);
    over_rated_s += seconds * above(from, shaft, d.it.event.car.turbo.rated_rpm);
    if (shaft > d.prepared.limit_rpm && first == 0) first = i;
    if (shaft > d.it.event.car.turbo.rated_rpm && first_rated == 0) first_rated = i;
  }
  bad += off(row, "seconds over the limit", runs.over_limit_s, over_limit_s, 2e-3);
  bad += off(row, "seconds over rated", runs.over_rated_s, over_rated_s, 2e-3);
  bad += off_rel(row, "peak", runs.peak_shaft_rpm, peak, 2e-6);
  print_message("%s: %.2f s over the limit, %.2f s over rated, %zu steps, %zu shut\n", row,
                over_limit_s, over_rated_s, runs.run.step_count, shut);
  assert_true(first > 0 && first_rated > first && shut > 3);
  assert_true(over_limit_s > over_rated_s && over_rated_s > 0.0 && over_limit_s < runs.run.time_s);
  const ta_moment *moment[] = {&runs.first_over, &runs.first_over_rated};
  for (int i = 0; i < 2; i++) {
    const ta_run_step *step = &runs.run.step[i == 0 ? first : first_rated];
    assert_true(moment[i]->happens);
    bad += off(row, "first, distance", moment[i]->distance_m, step->distance_m, 0.0);
    bad += off(row, "first, elevation", moment[i]->elevation_m, step->elevation_m, 0.0);
    bad += off(row, "first, engine speed", moment[i]->engine_rpm, step->engine_rpm, 0.0);
    bad += off(row, "first, time", moment[i]->time_s, step->time_s, 0.0);
  }
  /* parts of the road add up to the whole */
  const double parts[] = {-1.0, 611.3, 1187.0, 2311.0, 3307.0, 4897.0};
  double sum = 0.0, sum_rated = 0.0;
  for (size_t i = 1; i < COUNT_OF(parts); i++) {
    sum += ta_seconds_over(&runs, d.prepared.limit_rpm, parts[i - 1], parts[i]);
    sum_rated += ta_seconds_over(&runs, d.it.event.car.turbo.rated_rpm, parts[i - 1], parts[i]);
  }
  bad += off(row, "parts", sum, runs.over_limit_s, 1e-9);
  bad += off(row, "parts over rated", sum_rated, runs.over_rated_s, 1e-9);
  const double before_m = runs.first_over.distance_m;
  if (ta_seconds_over(&runs, d.prepared.limit_rpm, -1.0, before_m - 0.01) != 0.0) bad++;
  if (!(ta_seconds_over(&runs, d.prepared.limit_rpm, before_m - 0.01, before_m) > 0.0)) bad++;
  bad += off(row, "two halves",
             ta_seconds_over(&runs, d.prepared.limit_rpm, -1.0, before_m) +
                 ta_seconds_over(&runs, d.prepared.limit_rpm, before_m, 1e9),
             runs.over_limit_s, 1e-9);
  if (ta_seconds_over(&runs, d.prepared.limit_rpm, 5000.0, 9000.0) != 0.0) bad++;
  *over_s = over_limit_s;
  ta_timed_runs_free(&runs);
  assert_true(ta_seconds_over(&runs, 1.0, -1.0, 1e9) == 0.0);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

static void the_shaft_at_every_step(void **state) {
  (void)state;
  double still_s, ram_s;
  check_shaft("still", 0.0, -1.3, 0.4, &still_s);
  check_shaft("ram", 0.83, -1.3, 0.4, &ram_s);
  assert_true(ram_s < still_s - 0.5); /* a denser intake, a slower shaft */
}

/* MAP that one engine speed really gets of the goal, the turbine asked on its own. */
static double held_map(const drawn *d, const ta_air *air, double rpm, double goal_pa) {
  double held_pa;
  if (ta_map_is_held(&d->prepared, air, rpm, goal_pa)) return goal_pa;
  ta_highest_held_map(&d->prepared, air, &rpm, 1, &goal_pa, &held_pa);
  return fmax(held_pa, air->pressure_pa);
}

/* Where the turbine drives less than the target, the shaft is that of what it drives, overshoot on;
 * never a slower one. */
static void check_short(double efficiency, double close_share) {
  drawn d;
  ta_cap_set caps;
  begin(&d);
  give_turbine(&d, 1.67, efficiency);
  d.it.event.car.intake.ram_recovery = 0.83;
  finish(&d, 0.4);
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  size_t held = 0, missing = 0, close = 0;
  int bad = 0;
  for (size_t i = 1; i < runs.run.step_count; i++) {
    const ta_run_step *step = &runs.run.step[i];
    if (!(step->throttle_share > 0.0)) continue;
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, step->elevation_m, &air), TA_OK);
    const double map_pa = held_map(&d, &air, step->engine_rpm, 173300.0);
    ta_point_block b = {.count = 1};
    ta_point_block_set(&b, 0, &air, step->engine_rpm, map_pa + 5300.0,
                       0.83 * 0.5 * air.density_kgm3 * step->speed_ms * step->speed_ms);
    ta_points_solve(&d.it.event.car, d.prepared.map, &b);
    const double slower = 1.0 - runs.shaft_rpm[i] / b.shaft_rpm[0];
    if (!(slower < 6e-4)) { /* between the nodes of its table */
      print_error("step %zu, %.0f rpm: slower than its own by %.2g\n", i, step->engine_rpm, slower);
      bad++;
    }
    *(map_pa < 173300.0 ? &missing : &held) += 1;
    if (map_pa < 173300.0 && slower > -2e-3) close++;
    if (map_pa == 173300.0 && slower < -1e-6) bad++;
  }
  print_message("%zu steps short of the target, %zu close to it; %zu held\n", missing, close, held);
  assert_true(missing > 100 && held > 100 && close > close_share * (double)missing);
  assert_int_equal(bad, 0);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

static void the_shaft_where_the_turbine_is_short(void **state) {
  (void)state;
  check_short(0.53, 0.8);
  check_short(0.61, 0.0); /* short by the end of the table only: next to nodes that are not */
}

/* The profile of the goal over what is judged, and what of the course it calls over. */
static ta_over judge(const drawn *d, ta_profile *profile) {
  ta_over over;
  assert_int_equal(
      ta_profile_make(&d->prepared, ta_judged_speeds(&d->it.event.car), HUGE_VAL, profile), TA_OK);
  assert_int_equal(ta_over_find(&d->prepared, profile, &over), TA_OK);
  return over;
}

/* A target that is higher below the boost window, to which the car shifts. */
static void begin_below_the_window(drawn *d) {
  static const ta_goal_point goal[] = {{3890.0, 0.0, 213100.0, false, true},
                                       {4130.0, 0.0, 152300.0, false, true},
                                       {7270.0, 0.0, 152300.0, false, true}};
  begin(d);
  memcpy(d->it.goal, goal, sizeof goal);
  d->it.event.goal = (ta_goal){.point = d->it.goal, .point_count = 3, .margin = 0.037};
  d->it.event.car.vehicle.shift_rpm = 4330.0;
  prepare(d);
}

static void only_the_run_is_over(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin_below_the_window(&d);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  const double top = worst_at(&d.prepared, 3257.0), peak = runs.peak_shaft_rpm;
  ta_timed_runs_free(&runs);
  assert_true(peak > 1.01 * top);
  int bad = 0;
  const double limits[] = {0.6 * top + 0.4 * peak, 0.999 * top,
                           0.9 * worst_at(&d.prepared, 2911.0)};
  for (size_t i = 0; i < COUNT_OF(limits); i++) {
    d.prepared.limit_rpm = limits[i];
    runs = make(&d, &caps);
    ta_over over = judge(&d, profile);
    const size_t before = over.count;
    const ta_placed_point worst = over.worst;
    assert_true(i == 0 ? before == 0 : before > 0);
    assert_int_equal(ta_over_add_run(&d.prepared, profile, &runs, &over), TA_OK);
    if (i == 2) { /* all of the course is over already */
      assert_true(over.count == before && over.worst.point.shaft_rpm == worst.point.shaft_rpm);
    } else {
      assert_true(over.count > before);
      double seconds = 0.0;
      size_t in_run = 0;
      for (size_t k = 0; k < over.count; k++) {
        const ta_stretch *s = &over.stretch[k];
        if (k > 0 && s->from_distance_m < s[-1].from_distance_m) bad++;
        if (!(s->to_distance_m > s->from_distance_m && s->peak_shaft_rpm > limits[i])) bad++;
        in_run += s->in_run;
        seconds += ta_seconds_over(&runs, limits[i], s->from_distance_m, s->to_distance_m);
      }
      assert_true(in_run == over.count - before);
      bad += off("stretches", "seconds", seconds, runs.over_limit_s, 0.02);
      bad += off_rel("worst", "shaft", over.worst.point.shaft_rpm, runs.peak_shaft_rpm, 1e-6);
      assert_true(over.stretch[0].in_run && over.first.point.shaft_rpm > limits[i]);
      bad += off("first", "distance", over.first.distance_m, runs.first_over.distance_m, 0.0);
      assert_true(over.first.point.engine_rpm < 4130.0);
    }
    ta_over_free(&over);
    ta_timed_runs_free(&runs);
  }
  assert_int_equal(bad, 0);
  memset(&runs, 0, sizeof runs); /* no run: nothing is added */
  ta_over over = {0};
  assert_int_equal(ta_over_add_run(&d.prepared, profile, &runs, &over), TA_OK);
  assert_int_equal(over.count, 0);
  assert_int_equal(ta_over_add_run(NULL, profile, &runs, &over), TA_ERR_ARGUMENT);
  assert_int_equal(ta_over_add_run(&d.prepared, NULL, &runs, &over), TA_ERR_ARGUMENT);
  assert_int_equal(ta_over_add_run(&d.prepared, profile, NULL, &over), TA_ERR_ARGUMENT);
  assert_int_equal(ta_over_add_run(&d.prepared, profile, &runs, NULL), TA_ERR_ARGUMENT);
  free(profile);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

/* In a car that keeps within what is judged the run has nothing to add. */
static void the_run_adds_nothing(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  finish(&d, 0.4);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  ta_over over = judge(&d, profile);
  const size_t before = over.count;
  assert_true(before > 0 && runs.first_over.happens);
  assert_int_equal(ta_over_add_run(&d.prepared, profile, &runs, &over), TA_OK);
  assert_int_equal(over.count, before);
  ta_over_free(&over);
  free(profile);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

/* ---- no time --------------------------------------------------------------------------------- */

/* An inlet restrictor that chokes at the target: no point there can be named, and no time. */
static void a_target_past_the_compressor_map_has_no_time(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  d.it.event.car.intake.has_restrictor = true;
  d.it.event.car.intake.restrictor =
      (ta_restrictor){.diameter_m = 0.0297, .recovery = 0.85, .count = 1.0};
  finish(&d, 0.4);
  assert_true(isinf(worst_at(&d.prepared, 2911.0)));
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_UNREACHABLE);
  assert_true(isinf(runs.time_s[TA_FULL_TARGET]));
  assert_true(runs.shaft_rpm == NULL && !runs.first_over.happens);
  /* at the choke nothing vouches for the caps: none is the best to run */
  assert_true(!ta_caps_are_vouched(&caps) && !runs.has_best);
  /* a knob has a time though its first cap could not be held higher up */
  assert_true(isfinite(runs.time_s[TA_BY_TABLE]) && isfinite(runs.time_s[TA_ONE_CAP]));
  assert_true(!ta_strategy_offered(&caps, TA_BY_POSITION) || isfinite(runs.time_s[TA_BY_POSITION]));
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

static void assert_no_number(const ta_timed_runs *runs) {
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) assert_true(isinf(runs->time_s[i]));
  assert_false(runs->has_best);
}

/* The one cap of a run of its own is that of all strategies together, to the last bit. */
static void a_capped_run_is_the_strategy_of_one_cap(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  ta_road road;
  double time_s = -7.0;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  ta_timed_runs runs = make(&d, &caps);
  const ta_course *course = &d.it.event.course;
  assert_int_equal(ta_road_make(course, TA_CORNER_LENGTH_M, &road), TA_OK);
  assert_int_equal(ta_capped_run(NULL, &caps.constant, &road, 1e-3, &time_s), TA_ERR_ARGUMENT);
  assert_int_equal(ta_capped_run(&d.prepared, NULL, &road, 1e-3, &time_s), TA_ERR_ARGUMENT);
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, NULL, 1e-3, &time_s),
                   TA_ERR_ARGUMENT);
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, &road, 1e-3, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, &road, 0.0, &time_s),
                   TA_ERR_ARGUMENT);
  assert_true(time_s == -7.0);
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, &road, TA_RUN_TOLERANCE, &time_s),
                   TA_OK);
  assert_true(isfinite(time_s) && time_s == runs.time_s[TA_ONE_CAP]);
  assert_true(time_s > runs.time_s[TA_FULL_TARGET] * 1.001);
  /* a cap at the target's highest is the target */
  double low;
  ta_prepared_goal_range(&d.prepared, ta_judged_speeds(&d.it.event.car), &low,
                         &caps.constant.set_point);
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, &road, TA_RUN_TOLERANCE, &time_s),
                   TA_OK);
  assert_true(time_s == runs.time_s[TA_FULL_TARGET]);
  d.it.event.car.vehicle.grip.drive = 0.05; /* does not even start */
  assert_int_equal(ta_capped_run(&d.prepared, &caps.constant, &road, 1e-3, &time_s), TA_OK);
  assert_true(isinf(time_s));
  ta_road_free(&road);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

static void there_is_no_time(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  ta_timed_runs runs;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  d.it.event.car.has_vehicle = false;
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_NO_VEHICLE);
  assert_no_number(&runs);
  assert_true(runs.shaft_rpm == NULL && runs.run.step_count == 0);
  assert_true(ta_seconds_over(&runs, 1.0, -1.0, 1e9) == 0.0);
  ta_timed_runs_free(&runs);
  d.it.event.car.has_vehicle = true;
  for (size_t i = 0; i < d.it.event.course.count; i++) d.it.course[i].has_corner_radius = false;
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_NO_CORNERS);
  assert_no_number(&runs);
  ta_timed_runs_free(&runs);
  d.it.course[2].has_speed_limit = true;
  d.it.course[2].speed_limit_ms = 17.0;
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_KNOWN);
  ta_timed_runs_free(&runs);
  d.it.event.car.vehicle.grip.drive = 0.05; /* does not even start */
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_STALLED);
  assert_no_number(&runs);
  assert_false(runs.first_over.happens);
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

/* A cap with which the car cannot climb costs no one the times of the others. */
static void one_cap_may_stall_alone(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  d.it.event.car.vehicle.mass_kg = 6.7e3;
  ta_timed_runs runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_KNOWN);
  ta_timed_runs_free(&runs);
  caps.constant.set_point = 70300.0;
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_KNOWN);
  assert_true(isinf(runs.time_s[TA_ONE_CAP]) && isfinite(runs.time_s[TA_FULL_TARGET]));
  assert_true(runs.has_best && runs.best != TA_ONE_CAP && isfinite(runs.time_s[runs.best]));
  ta_timed_runs_free(&runs);
  /* the only one that is offered */
  caps.table.can_be_had = false;
  caps.schedule.count = caps.positions.count = 0;
  caps.shift.none = true;
  runs = make(&d, &caps);
  assert_int_equal(runs.known, TA_TIME_KNOWN);
  assert_true(!runs.has_best && isfinite(runs.time_s[TA_FULL_TARGET]));
  ta_timed_runs_free(&runs);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

static void refusals(void **state) {
  (void)state;
  drawn d;
  ta_cap_set caps;
  begin(&d);
  finish(&d, 0.2);
  find_caps(&d, &caps);
  ta_timed_runs runs;
  assert_int_equal(ta_timed_runs_make(NULL, &caps, &runs), TA_ERR_ARGUMENT);
  assert_int_equal(ta_timed_runs_make(&d.prepared, NULL, &runs), TA_ERR_ARGUMENT);
  assert_int_equal(ta_timed_runs_make(&d.prepared, &caps, NULL), TA_ERR_ARGUMENT);
  d.it.event.car.vehicle.mass_kg = -1.0;
  assert_int_equal(ta_timed_runs_make(&d.prepared, &caps, &runs), TA_ERR_DOMAIN);
  assert_true(runs.shaft_rpm == NULL && runs.run.step == NULL && runs.run.step_count == 0);
  assert_true(runs.time_s[TA_FULL_TARGET] == 0.0);
  ta_timed_runs_free(NULL);
  ta_cap_set_free(&caps);
  ta_prepared_free(&d.prepared);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(times_are_those_of_finer_grids),
      cmocka_unit_test(windows_that_do_not_meet_the_shift_speed),
      cmocka_unit_test(the_quickest_run),
      cmocka_unit_test(the_quickest_run_of_a_long_climb),
      cmocka_unit_test(no_cap_is_faster_than_the_target),
      cmocka_unit_test(the_shaft_at_every_step),
      cmocka_unit_test(a_capped_run_is_the_strategy_of_one_cap),
      cmocka_unit_test(the_shaft_where_the_turbine_is_short),
      cmocka_unit_test(only_the_run_is_over),
      cmocka_unit_test(the_run_adds_nothing),
      cmocka_unit_test(a_target_past_the_compressor_map_has_no_time),
      cmocka_unit_test(there_is_no_time),
      cmocka_unit_test(one_cap_may_stall_alone),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
