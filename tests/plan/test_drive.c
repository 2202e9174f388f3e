/* test_drive.c - the turbine's drive: the power balance by an independent root on the pressure
 * before the turbine, the highest held MAP by counting up, the boost threshold and the first place
 * that cannot be driven by brute force; caps that the turbine sets. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_roots.h>

#include "random_event.h"
#include "thinair/caps.h"
#include "thinair/controller_table.h"
#include "thinair/drive.h"
#include "thinair/positions.h"
#include "thinair/schedule.h"

/* ---- an independent balance ------------------------------------------------------------------ */

static const double CP_OVER_R = 3.5; /* of air, gamma 1.4 */

/* Unknown: the pressure before the turbine. */
typedef struct {
  const ta_turbine *turbine;
  double p4_pa, compressor_w, exhaust_kg_s, count;
  double e[FLOW_POINTS + 1], flow[FLOW_POINTS + 1];
  gsl_interp *cubic; /* Steffen's, through no flow at no expansion */
} balance;

static double one_flow(const balance *b, double p3_pa) {
  const double e = p3_pa / b->p4_pa;
  if (e <= 1.0) return 0.0;
  const double corrected = e >= b->e[FLOW_POINTS]
                               ? b->flow[FLOW_POINTS]
                               : gsl_interp_eval(b->cubic, b->e, b->flow, e, NULL);
  return corrected * (p3_pa / b->turbine->reference_pa) /
         sqrt(b->turbine->inlet_temperature_k / b->turbine->reference_k);
}

static double heat_capacity(const ta_turbine *t) {
  return t->gas_constant_jkgk * t->gamma / (t->gamma - 1.0);
}

/* Temperature of what has gone through the turbine. */
static double turbine_outlet_k(const balance *b, double p3_pa) {
  const ta_turbine *t = b->turbine;
  const double isentropic_k =
      t->inlet_temperature_k * pow(b->p4_pa / p3_pa, (t->gamma - 1.0) / t->gamma);
  return t->inlet_temperature_k - t->efficiency * (t->inlet_temperature_k - isentropic_k);
}

static double one_power(const balance *b, double p3_pa) {
  return b->turbine->mechanical_efficiency * one_flow(b, p3_pa) * heat_capacity(b->turbine) *
         (b->turbine->inlet_temperature_k - turbine_outlet_k(b, p3_pa));
}

static double left_over(double p3_pa, void *with) {
  const balance *b = with;
  return one_power(b, p3_pa) - b->compressor_w;
}

static double not_taken(double p3_pa, void *with) {
  const balance *b = with;
  return b->count * one_flow(b, p3_pa) - b->exhaust_kg_s;
}

static double pipe(double p4_pa, void *with) {
  const double *number = with; /* ambient, back pressure times its pressure */
  return p4_pa - number[0] - number[1] / p4_pa;
}

static double root(double (*f)(double, void *), void *with, double low, double high) {
  gsl_function function = {f, with};
  gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
  assert_int_equal(gsl_root_fsolver_set(solver, &function, low, high), GSL_SUCCESS);
  for (int i = 0; i < 200 && high - low > 1e-15 * high; i++) {
    assert_int_equal(gsl_root_fsolver_iterate(solver), GSL_SUCCESS);
    low = gsl_root_fsolver_x_lower(solver);
    high = gsl_root_fsolver_x_upper(solver);
  }
  const double found = gsl_root_fsolver_root(solver);
  gsl_root_fsolver_free(solver);
  return found;
}

/* Everything that the balance of a point takes, from its stations. */
static balance balance_of(const ta_car *car, const ta_operating_point *point) {
  const ta_turbine *t = &car->turbo.turbine;
  balance b = {.turbine = t, .count = car->turbo.count};
  const double unequal = car->turbo.count > 1.0 ? 1.0 + car->turbo.imbalance : 1.0;
  const double through = point->air_flow_kg_s * (1.0 + car->charge_cooler.leak) / b.count * unequal;
  b.compressor_w = through * CP_OVER_R * point->ambient.gas_constant_jkgk *
                   (point->outlet_temperature_k - point->inlet_temperature_k);
  b.exhaust_kg_s = point->air_flow_kg_s + point->air_flow_kg_s / car->engine.air_fuel_ratio;
  b.p4_pa = point->ambient.pressure_pa;
  if (t->back_pressure_pa > 0.0) {
    const double share = b.exhaust_kg_s / t->at_flow_kg_s;
    double number[] = {b.p4_pa, t->back_pressure_pa * share * share * t->measured_pa};
    b.p4_pa = root(pipe, number, b.p4_pa, 5.0 * b.p4_pa);
  }
  b.e[0] = 1.0;
  for (size_t i = 0; i < FLOW_POINTS; i++) {
    b.e[i + 1] = t->flow[i].expansion_ratio;
    b.flow[i + 1] = t->flow[i].flow_kg_s;
  }
  b.cubic = gsl_interp_alloc(gsl_interp_steffen, FLOW_POINTS + 1);
  assert_int_equal(gsl_interp_init(b.cubic, b.e, b.flow, FLOW_POINTS + 1), GSL_SUCCESS);
  return b;
}

static int check_balance(const char *row, const ta_car *car, const ta_operating_point *point,
                         ta_drive *drive) {
  balance b = balance_of(car, point);
  int bad = 0;
  assert_int_equal(ta_point_drive(car, point, drive), TA_OK);
  const double shut_pa = root(not_taken, &b, b.p4_pa, 40.0 * b.p4_pa);
  bad += off_rel(row, "excess", drive->excess_w, left_over(shut_pa, &b),
                 1e-9 + 1e-9 * b.compressor_w / fabs(drive->excess_w));
  bad += off(row, "driven", drive->driven, left_over(shut_pa, &b) >= 0.0, 0.0);
  double p3_pa = shut_pa;
  if (drive->driven) { /* the first root on the way up */
    double low = b.p4_pa, step = (shut_pa - b.p4_pa) / 997.0;
    while (left_over(low + step, &b) < 0.0 && low < shut_pa) low += step;
    p3_pa = root(left_over, &b, low, low + step);
  }
  const double through = b.count * one_flow(&b, p3_pa);
  bad += off_rel(row, "p4", drive->outlet_pressure_pa, b.p4_pa, 1e-12);
  bad += off_rel(row, "p3", drive->inlet_pressure_pa, p3_pa, 1e-9);
  bad += off_rel(row, "E", drive->expansion_ratio, p3_pa / b.p4_pa, 1e-9);
  bad += off_rel(row, "exhaust", drive->exhaust_flow_kg_s, b.exhaust_kg_s, 1e-13);
  bad += off_rel(row, "turbine flow", drive->turbine_flow_kg_s, through, 1e-9);
  bad += off(row, "wastegate", drive->wastegate_share, 1.0 - through / b.exhaust_kg_s, 1e-9);
  bad += off_rel(row, "power", drive->power_w, one_power(&b, p3_pa), 1e-9);
  if (drive->driven) bad += off_rel(row, "balance", drive->power_w, b.compressor_w, 1e-9);
  /* what the exhaust brings is what the shafts take, bearings' share too, and what leaves */
  const ta_turbine *t = b.turbine;
  const double cp = heat_capacity(t), bypass = drive->exhaust_flow_kg_s - drive->turbine_flow_kg_s;
  const double in_w = drive->exhaust_flow_kg_s * cp * t->inlet_temperature_k,
               out_w =
                   cp * (drive->turbine_flow_kg_s * turbine_outlet_k(&b, drive->inlet_pressure_pa) +
                         bypass * t->inlet_temperature_k),
               work_w = b.count * drive->power_w / t->mechanical_efficiency;
  bad += off_rel(row, "enthalpy", in_w, out_w + work_w, 1e-11);
  gsl_interp_free(b.cubic);
  return bad;
}

static ta_operating_point solve(const drawn *d, double elevation_m, double rpm, double map_pa) {
  ta_air air;
  ta_operating_point point;
  assert_int_equal(ta_day_air(&d->prepared.day, elevation_m, &air), TA_OK);
  assert_int_equal(ta_point_solve(&d->it.event.car, d->prepared.map, &air, rpm, map_pa, &point),
                   TA_OK);
  return point;
}

static void begin(drawn *d) {
  memset(d, 0, sizeof *d);
  invented_make(&d->it);
}

static void the_balance_is_that_of_an_independent_root(void **state) {
  (void)state;
  int bad = 0, driven = 0, not_driven = 0;
  for (uint64_t i = 0; i < 120; i++) {
    drawn d;
    uint64_t next = 7000 + 16 * i;
    begin(&d);
    give_turbine(&d, spread(&next, 0.6, 2.1), spread(&next, 0.45, 0.78));
    ta_car *car = &d.it.event.car;
    car->turbo.turbine.inlet_temperature_k = spread(&next, 950.0, 1300.0);
    car->turbo.turbine.back_pressure_pa *= spread(&next, 0.2, 3.0);
    car->turbo.turbine.measured_pa *= spread(&next, 0.9, 1.2);
    if (i % 3 == 1) {
      car->turbo.count = 2.0;
      car->turbo.imbalance = spread(&next, 0.0, 0.07);
      car->engine.displacement_m3 *= 2.0;
    }
    if (i % 2 == 1) car->charge_cooler.leak = spread(&next, 0.01, 0.13);
    prepare(&d);
    ta_drive drive;
    const ta_operating_point point =
        solve(&d, spread(&next, 1500.0, 4100.0), spread(&next, 3300.0, 7300.0),
              spread(&next, 110e3, 187e3));
    bad += check_balance("random", car, &point, &drive);
    *(drive.driven ? &driven : &not_driven) += 1;
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
  assert_true(driven > 20 && not_driven > 20);
}

static void without_back_pressure_and_choked(void **state) {
  (void)state;
  drawn d;
  ta_drive drive;
  int bad = 0;
  begin(&d);
  give_turbine(&d, 1.0, 0.68);
  ta_turbine *turbine = &d.it.event.car.turbo.turbine;
  turbine->back_pressure_pa = 0.0;
  prepare(&d);
  ta_operating_point point = solve(&d, 2711.0, 6130.0, 173e3);
  bad += check_balance("no pipe", &d.it.event.car, &point, &drive);
  assert_true(drive.driven && drive.outlet_pressure_pa == point.ambient.pressure_pa);

  /* choked with the wastegate shut: all of the exhaust at the last point's corrected flow */
  for (size_t i = 0; i < FLOW_POINTS; i++) d.flow[i].flow_kg_s *= 0.31;
  turbine->efficiency = 0.031;
  bad += check_balance("choked", &d.it.event.car, &point, &drive);
  assert_true(!drive.driven && drive.beyond_points);
  const double p3_pa = drive.exhaust_flow_kg_s *
                       sqrt(turbine->inlet_temperature_k / turbine->reference_k) *
                       turbine->reference_pa / d.flow[FLOW_POINTS - 1].flow_kg_s;
  bad += off_rel("choked", "p3", drive.inlet_pressure_pa, p3_pa, 1e-12);
  bad += off("choked", "wastegate", drive.wastegate_share, 0.0, 1e-12);
  assert_int_equal(bad, 0);
  ta_prepared_free(&d.prepared);
}

static void a_block_has_the_excess_of_its_points(void **state) {
  (void)state;
  drawn d;
  begin(&d);
  give_turbine(&d, 1.07, 0.66);
  d.it.event.car.charge_cooler.leak = 0.031;
  d.it.event.car.turbo.count = 2.0;
  d.it.event.car.turbo.imbalance = 0.043;
  d.it.event.car.engine.displacement_m3 *= 1.9;
  prepare(&d);
  ta_point_block block = {.count = TA_LANES};
  ta_operating_point point[TA_LANES];
  double excess[TA_LANES];
  int bad = 0, unreachable = 0;
  for (size_t i = 0; i < TA_LANES; i++) {
    point[i] =
        solve(&d, 1500.0 + 40.0 * (double)i, 3300.0 + 61.0 * (double)i, 113e3 + 2.3e3 * (double)i);
    block.ambient_pressure_pa[i] = point[i].ambient.pressure_pa;
    block.ambient_temperature_k[i] = point[i].ambient.temperature_k;
    block.gas_constant_jkgk[i] = point[i].ambient.gas_constant_jkgk;
    block.engine_rpm[i] = point[i].engine_rpm;
    block.map_pa[i] = point[i].map_pa;
  }
  ta_points_solve(&d.it.event.car, d.prepared.map, &block);
  ta_points_excess(&d.it.event.car, &block, excess);
  for (size_t i = 0; i < TA_LANES; i++) {
    ta_drive drive;
    if (point[i].zone == TA_UNREACHABLE) {
      assert_true(excess[i] == -HUGE_VAL);
      assert_int_equal(ta_point_drive(&d.it.event.car, &point[i], &drive), TA_ERR_DOMAIN);
      unreachable++;
      continue;
    }
    assert_int_equal(ta_point_drive(&d.it.event.car, &point[i], &drive), TA_OK);
    bad += off_rel("lane", "excess", excess[i], drive.excess_w, 1e-9);
    assert_int_equal(
        ta_map_is_held(&d.prepared, &point[i].ambient, point[i].engine_rpm, point[i].map_pa),
        drive.excess_w >= 0.0);
  }
  assert_int_equal(bad, 0);
  assert_true(unreachable > 3 && unreachable < 40);
  ta_prepared_free(&d.prepared);
}

/* ---- the highest held MAP -------------------------------------------------------------------- */

enum { COUNT_PA = 100, COUNTS_MAX = 4096 };

/* Counting up in steps of 100 Pa: the first that the turbine cannot drive, nor anything within the
 * next 1 kPa; the end where there is none. */
static double counted(const ta_prepared *prepared, const ta_air *air, double rpm, double high_pa) {
  const ta_car *car = &prepared->event->car;
  static bool is_short[COUNTS_MAX];
  const size_t count = (size_t)((high_pa + 1000.0 - air->pressure_pa) / COUNT_PA) + 2;
  assert_true(count <= COUNTS_MAX);
  for (size_t from = 0; from < count; from += TA_LANES) {
    ta_point_block b = {.count = count - from < TA_LANES ? count - from : TA_LANES};
    for (size_t i = 0; i < b.count; i++) {
      b.ambient_pressure_pa[i] = air->pressure_pa;
      b.ambient_temperature_k[i] = air->temperature_k;
      b.gas_constant_jkgk[i] = air->gas_constant_jkgk;
      b.engine_rpm[i] = rpm;
      b.map_pa[i] = air->pressure_pa + COUNT_PA * (double)(from + i);
    }
    ta_points_solve(car, prepared->map, &b);
    for (size_t i = 0; i < b.count; i++) {
      const ta_drive_demand demand = {
          .turbo_count = car->turbo.count,
          .air_flow_kg_s = b.air_flow_kg_s[i],
          .air_fuel_ratio = car->engine.air_fuel_ratio,
          .ambient_pa = air->pressure_pa,
          .compressor_power_w = b.air_flow_kg_s[i] * (1.0 + car->charge_cooler.leak) *
                                ta_turbo_share(&car->turbo) * CP_OVER_R * air->gas_constant_jkgk *
                                (b.outlet_temperature_k[i] - b.inlet_temperature_k[i])};
      is_short[from + i] =
          b.zone[i] == TA_UNREACHABLE || ta_turbine_excess(&car->turbo.turbine, &demand) < 0.0;
    }
  }
  size_t run = 0;
  for (size_t i = 0; i < count; i++) {
    run = is_short[i] ? run + 1 : 0;
    if (run > 1000 / COUNT_PA)
      return fmin(air->pressure_pa + COUNT_PA * (double)(i - 1000 / COUNT_PA), high_pa);
  }
  return high_pa;
}

/* Off by less than one step of the counting, down. */
static int check_held(const char *row, const ta_prepared *prepared, const ta_air *air,
                      const double *rpm, const double *high_pa, size_t count, int *stopped) {
  double held[TA_LANES];
  int bad = 0;
  ta_highest_held_map(prepared, air, rpm, count, high_pa, held);
  for (size_t i = 0; i < count; i++) {
    const double want = counted(prepared, air, rpm[i], high_pa[i]);
    if (held[i] < high_pa[i]) ++*stopped;
    const double above = fmax(want, air->pressure_pa);
    if (!(held[i] <= above + 1.5 && held[i] >= above - COUNT_PA - 1.5))
      bad += off(row, "held", held[i], want, COUNT_PA);
  }
  return bad;
}

static void the_highest_held_map_is_what_counting_up_finds(void **state) {
  (void)state;
  int bad = 0, stopped = 0, all = 0;
  for (uint64_t i = 0; i < 60; i++) {
    drawn d;
    uint64_t next = 9000 + 64 * i;
    begin(&d);
    give_turbine(&d, spread(&next, 0.6, 2.1), spread(&next, 0.45, 0.78));
    d.it.event.car.charge_cooler.leak = spread(&next, 0.0, 0.1);
    if (i % 3 == 0) { /* an efficiency of rows */
      const double at[] = {1.1, 1.45, 1.9, 2.6, 3.7};
      ta_turbine *t = &d.it.event.car.turbo.turbine;
      for (size_t k = 0; k < COUNT_OF(at); k++)
        d.efficiency[k] = (ta_turbine_efficiency){at[k], spread(&next, 0.35, 0.75)};
      t->has_efficiency = false;
      t->efficiency_point = d.efficiency;
      t->efficiency_count = COUNT_OF(at);
    }
    prepare(&d);
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, spread(&next, 1463.0, 4117.0), &air), TA_OK);
    double rpm[7], high[7];
    for (size_t k = 0; k < 7; k++) {
      rpm[k] = spread(&next, 1900.0, 7300.0);
      high[k] = spread(&next, 113e3, 251e3);
    }
    bad += check_held("random", &d.prepared, &air, rpm, high, 7, &stopped);
    all += 7;
    ta_prepared_free(&d.prepared);
  }
  print_message("held MAP: %d of %d end below what was asked\n", stopped, all);
  assert_int_equal(bad, 0);
  assert_true(stopped > 100 && stopped < 400);
}

/* A shortfall that begins just below what is asked stays above it; one that begins at ambient leaves
 * no boost at all. */
static void at_both_ends_of_the_counting(void **state) {
  (void)state;
  drawn d;
  begin(&d);
  give_turbine(&d, 1.67, 0.61);
  prepare(&d);
  const double rpm = 4713.0, most = 231e3, above[] = {30.0, 310.0, 730.0, 1430.0};
  double held, again;
  int bad = 0;
  ta_highest_held_map(&d.prepared, &d.prepared.start, &rpm, 1, &most, &held);
  assert_true(held > d.prepared.start.pressure_pa + 10e3 && held < most - 10e3);
  for (size_t i = 0; i < COUNT_OF(above); i++) {
    const double asked = held + above[i];
    ta_highest_held_map(&d.prepared, &d.prepared.start, &rpm, 1, &asked, &again);
    bad += off("asked for little more", "held", again, held, 1.0);
  }
  const double less = held - 310.0;
  ta_highest_held_map(&d.prepared, &d.prepared.start, &rpm, 1, &less, &again);
  assert_true(again == less);
  ta_prepared_free(&d.prepared);
  begin(&d);
  give_turbine(&d, 9.1, 0.21);
  prepare(&d);
  ta_highest_held_map(&d.prepared, &d.prepared.start, &rpm, 1, &most, &held);
  assert_true(held >= d.prepared.start.pressure_pa && held < d.prepared.start.pressure_pa + 1.0);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* A turbine with a notch in its efficiency: shortfalls of less than 1 kPa are passed over, wider
 * ones are not. */
static void a_shortfall_counts_when_it_stays_for_1_kpa(void **state) {
  (void)state;
  int bad = 0, stopped = 0, passed = 0, met = 0;
  for (int i = 0; i < 40; i++) {
    drawn d;
    begin(&d);
    give_turbine(&d, 1.0, 0.68);
    const double centre = 1.53 + 0.0077 * i, half = 0.0067 + 0.00031 * i;
    const double at[] = {1.01,          centre - 1.001 * half, centre - half,
                         centre + half, centre + 1.001 * half, 4.03};
    const double eta[] = {0.68, 0.68, 0.21, 0.21, 0.68, 0.68};
    ta_turbine *t = &d.it.event.car.turbo.turbine;
    for (size_t k = 0; k < COUNT_OF(at); k++)
      d.efficiency[k] = (ta_turbine_efficiency){at[k], eta[k]};
    t->has_efficiency = false;
    t->efficiency_point = d.efficiency;
    t->efficiency_count = COUNT_OF(at);
    prepare(&d);
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, 2711.0, &air), TA_OK);
    const double rpm[] = {5113.0}, high[] = {163e3 + 311.0 * i};
    int before = stopped;
    bad += check_held("notch", &d.prepared, &air, rpm, high, 1, &stopped);
    *(stopped > before ? &met : &passed) += 1;
    ta_prepared_free(&d.prepared);
  }
  print_message("notch: %d passed over, %d met\n", passed, met);
  assert_int_equal(bad, 0);
  assert_true(passed > 3 && met > 3);
}

/* Each too narrow to count: they do not add up. */
static void two_short_shortfalls_are_not_one(void **state) {
  (void)state;
  int bad = 0, stopped = 0, met = 0;
  for (int i = 0; i < 24; i++) {
    drawn d;
    begin(&d);
    give_turbine(&d, 1.0, 0.68);
    const double first = 1.7, second = 1.9, half = 0.0091 + 0.00071 * i;
    const double at[] = {1.01,          first - half, first,         first + half,
                         second - half, second,       second + half, 4.03};
    const double eta[] = {0.68, 0.68, 0.11, 0.68, 0.68, 0.11, 0.68, 0.68};
    ta_turbine *t = &d.it.event.car.turbo.turbine;
    for (size_t k = 0; k < COUNT_OF(at); k++)
      d.efficiency[k] = (ta_turbine_efficiency){at[k], eta[k]};
    t->has_efficiency = false;
    t->efficiency_point = d.efficiency;
    t->efficiency_count = COUNT_OF(at);
    prepare(&d);
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, 2711.0, &air), TA_OK);
    const double rpm = 5113.0, high = 171e3;
    bad += check_held("two notches", &d.prepared, &air, &rpm, &high, 1, &stopped);
    for (double map_pa = air.pressure_pa + 50.0; map_pa < high; map_pa += 50.0)
      if (!ta_map_is_held(&d.prepared, &air, rpm, map_pa)) {
        met++;
        break;
      }
    ta_prepared_free(&d.prepared);
  }
  print_message("two notches: %d of %d met, %d stop\n", met, 24, stopped);
  assert_int_equal(bad, 0);
  assert_true(met > 10 && stopped < met - 5);
}

/* ---- the boost threshold --------------------------------------------------------------------- */

static void the_boost_threshold_is_that_of_every_engine_speed(void **state) {
  (void)state;
  int bad = 0, never = 0, some = 0;
  for (uint64_t i = 0; i < 24; i++) {
    drawn d;
    uint64_t next = 21000 + 16 * i;
    begin(&d);
    give_turbine(&d, spread(&next, 0.9, 2.7), spread(&next, 0.57, 0.75));
    d.it.event.goal.map_pa = spread(&next, 131e3, 187e3);
    if (i % 4 == 1) { /* a goal that falls at the top, and one that rises steeply */
      d.it.goal[0] = (ta_goal_point){.engine_rpm = 3100.0, .map_pa = 121e3, .has_map = true};
      d.it.goal[1] = (ta_goal_point){
          .engine_rpm = 5137.0, .map_pa = spread(&next, 150e3, 220e3), .has_map = true};
      d.it.goal[2] = (ta_goal_point){.engine_rpm = 7200.0, .map_pa = 141e3, .has_map = true};
      d.it.event.goal = (ta_goal){.point = d.it.goal, .point_count = 3, .margin = 0.037};
    }
    prepare(&d);
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, spread(&next, 1463.0, 4117.0), &air), TA_OK);
    ta_threshold threshold = {.elevation_m = -7.0, .engine_rpm = -1.0, .or_below = true};
    ta_boost_threshold(&d.prepared, &air, &threshold);
    const double rpm = threshold.engine_rpm;
    const bool found = isfinite(rpm);
    assert_true(threshold.elevation_m == -7.0);
    /* down from the window's top, as long as the goal is held */
    const double lowest = 0.3 * 4130.0;
    double at = 7270.0, last = -1.0;
    for (; at >= lowest; at -= 1.0) {
      const double map_pa = ta_goal_map(&d.it.event.goal, d.prepared.start.pressure_pa, at);
      if (!ta_map_is_held(&d.prepared, &air, at, map_pa)) break;
      last = at;
    }
    assert_int_equal(found, last > 0.0);
    assert_int_equal(threshold.or_below, found && at < lowest);
    if (found) {
      some++;
      bad += off("threshold", "engine speed", rpm, at < lowest ? lowest : last, 1.0);
    } else {
      never++;
    }
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
  assert_true(some > 8 && never > 2);
}

/* Below 0.3 of the window's low end none is looked for. */
static void the_lowest_boost_threshold(void **state) {
  (void)state;
  drawn d;
  begin(&d);
  give_turbine(&d, 0.13, 0.75);
  d.it.event.goal.map_pa = 87e3;
  prepare(&d);
  ta_threshold threshold;
  ta_boost_threshold(&d.prepared, &d.prepared.start, &threshold);
  assert_true(threshold.or_below);
  assert_int_equal(off_rel("lowest", "engine speed", threshold.engine_rpm, 0.3 * 4130.0, 1e-12), 0);
  ta_prepared_free(&d.prepared);
}

/* ---- along the course ------------------------------------------------------------------------ */

/* Is the goal short of drive at some engine speed of the window: every 3 rev/min? */
static bool short_at(const ta_prepared *prepared, double elevation_m) {
  const ta_event *event = prepared->event;
  const double *window = event->car.engine.window_rpm;
  ta_air air;
  assert_int_equal(ta_day_air(&prepared->day, elevation_m, &air), TA_OK);
  for (double rpm = window[0];; rpm += 3.0) {
    const double at = fmin(rpm, window[1]);
    if (!ta_map_is_held(prepared, &air, at,
                        ta_goal_map(&event->goal, prepared->start.pressure_pa, at)))
      return true;
    if (rpm >= window[1]) return false;
  }
}

/* First metre of the road where the goal is short; negative: nowhere. */
static double first_short(const ta_prepared *prepared, double step_m) {
  const ta_course *course = &prepared->event->course;
  const double end = course->point[course->count - 1].distance_m;
  for (double at = 0.0;; at += step_m) {
    const double here = fmin(at, end);
    if (short_at(prepared, ta_course_elevation(course, here))) return here;
    if (at >= end) return -1.0;
  }
}

static void check_drive(drawn *d, ta_drive_check *check) {
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  prepare(d);
  assert_int_equal(
      ta_profile_make(&d->prepared, ta_judged_speeds(&d->it.event.car), HUGE_VAL, profile), TA_OK);
  assert_int_equal(ta_drive_check_make(&d->prepared, profile, check), TA_OK);
  free(profile);
}

static int check_first_place(const char *row, const drawn *d, const ta_drive_check *check) {
  const ta_course *course = &d->it.event.course;
  int bad = 0;
  /* to 50 m of road first, then every half metre of those */
  const double coarse = first_short(&d->prepared, 50.0);
  if (coarse < 0.0) return check->cannot_hold;
  double want = fmax(coarse - 50.0, 0.0);
  while (!short_at(&d->prepared, ta_course_elevation(course, want))) want += 0.5;
  if (!check->cannot_hold) {
    print_error("%s: cannot hold from %.1f m on, and it is not said\n", row, want);
    return 1;
  }
  bad += off(row, "place", check->distance_m, want, 3.0);
  bad += off(row, "elevation", check->elevation_m, ta_course_elevation(course, check->distance_m),
             1e-6);
  ta_air air;
  assert_int_equal(ta_day_air(&d->prepared.day, check->elevation_m, &air), TA_OK);
  const double goal_pa =
      ta_goal_map(&d->it.event.goal, d->prepared.start.pressure_pa, check->engine_rpm);
  if (ta_map_is_held(&d->prepared, &air, check->engine_rpm, goal_pa)) bad++;
  const double held = counted(&d->prepared, &air, check->engine_rpm, goal_pa);
  bad += off(row, "held", check->held_map_pa, held, COUNT_PA + 1.5);
  return bad;
}

static void weak(drawn *d) {
  begin(d);
  give_turbine(d, 2.0, 0.62);
  d->it.event.car.engine.window_rpm[0] = 6203.0;
  d->it.event.goal.map_pa = 170300.0;
}

static void the_first_place_that_cannot_be_driven(void **state) {
  (void)state;
  drawn d;
  ta_drive_check check;
  int bad = 0;
  weak(&d); /* held at the start, not at the summit: between two points of the course */
  check_drive(&d, &check);
  bad += check_first_place("climb", &d, &check);
  assert_true(check.checked && check.cannot_hold && check.distance_m > 900.0);
  for (int i = 0; i < TA_THRESHOLDS; i++) {
    const ta_threshold *found = &check.threshold[i];
    const double elevation_m = 1463.0 + (4117.0 - 1463.0) * i / 4.0;
    ta_threshold threshold;
    ta_air air;
    assert_int_equal(ta_day_air(&d.prepared.day, elevation_m, &air), TA_OK);
    ta_boost_threshold(&d.prepared, &air, &threshold);
    bad += off("threshold", "elevation", found->elevation_m, elevation_m, 1e-9);
    bad += off("threshold", "engine speed", found->engine_rpm, threshold.engine_rpm, 1e-6);
    assert_int_equal(found->or_below, threshold.or_below);
  }
  assert_true(check.threshold[0].engine_rpm <= 6203.0 && check.threshold[4].engine_rpm > 6203.0);
  const double climb_m = check.distance_m;
  ta_prepared_free(&d.prepared);

  weak(&d); /* two points are a course */
  d.it.course[1] = d.it.course[3];
  d.it.event.course.count = 2;
  check_drive(&d, &check);
  bad += check_first_place("two points", &d, &check);
  ta_prepared_free(&d.prepared);

  weak(&d); /* high at the start, a dip where it is held, and up again: the start is the first */
  d.it.course[0].elevation_m = 4003.0;
  check_drive(&d, &check);
  bad += check_first_place("from above", &d, &check);
  assert_true(check.cannot_hold && check.distance_m == 0.0);
  ta_prepared_free(&d.prepared);

  weak(&d); /* a crest, then a dip, then the summit: the crest comes first */
  d.it.course[1].elevation_m = 3907.0;
  d.it.course[2].elevation_m = 2111.0;
  check_drive(&d, &check);
  bad += check_first_place("crest", &d, &check);
  assert_true(check.cannot_hold && check.distance_m < climb_m);
  ta_prepared_free(&d.prepared);

  weak(&d); /* a warm layer that no point of the course lies in */
  d.it.event.goal.map_pa = 155e3;
  ta_station layer[] = {
      {.elevation_m = 1463.0, .temperature_k = 287.3, .pressure_pa = 85300.0, .has_pressure = true},
      {.elevation_m = 3001.0, .temperature_k = 277.0},
      {.elevation_m = 3107.0, .temperature_k = 309.0},
      {.elevation_m = 3211.0, .temperature_k = 275.0}};
  d.it.event.day = (ta_day_reading){
      .station = layer, .station_count = COUNT_OF(layer), .lapse_rate_k_m = 0.0065};
  d.it.event.day_is_isa = false;
  d.it.course[3].elevation_m = 3523.0;
  check_drive(&d, &check);
  bad += check_first_place("warm layer", &d, &check);
  ta_prepared_free(&d.prepared);
  d.it.course[0].elevation_m = 3523.0; /* from above */
  d.it.course[3].elevation_m = 3301.0;
  d.it.course[2].elevation_m = 2207.0;
  d.it.course[1].elevation_m = 2411.0;
  check_drive(&d, &check);
  bad += check_first_place("warm layer from above", &d, &check);
  assert_true(check.cannot_hold && check.distance_m > 1000.0 && check.distance_m < 15870.0);
  ta_prepared_free(&d.prepared);

  weak(&d); /* everywhere held */
  d.it.event.goal.map_pa = 127e3;
  check_drive(&d, &check);
  bad += check_first_place("held", &d, &check);
  assert_true(check.checked && !check.cannot_hold);
  ta_prepared_free(&d.prepared);

  weak(&d); /* nothing is driven at the summit at any engine speed */
  give_turbine(&d, 3.1, 0.31);
  check_drive(&d, &check);
  bad += check_first_place("nowhere", &d, &check);
  assert_true(isinf(check.threshold[0].engine_rpm) && isinf(check.threshold[4].engine_rpm));
  ta_prepared_free(&d.prepared);

  begin(&d); /* no turbine, no answer */
  check_drive(&d, &check);
  assert_true(!check.checked && !check.cannot_hold);
  ta_prepared_free(&d.prepared);
  assert_int_equal(bad, 0);
}

/* ---- caps ------------------------------------------------------------------------------------ */

/* The highest MAP that is held at any engine speed of a range, no more than a set-point asks for;
 * and whether one of them holds all that is asked. */
static bool any_held(const drawn *d, ta_speed_range range, const ta_air *air, double set_point,
                     double *most_pa) {
  bool any = false;
  *most_pa = 0.0;
  for (double rpm = range.low_rpm;; rpm += 47.0) {
    const double at = fmin(rpm, range.high_rpm);
    const double set = fmin(ta_prepared_goal(&d->prepared, at), set_point),
                 map_pa = ta_set_point_map(&d->prepared, set, air->pressure_pa);
    const double held = counted(&d->prepared, air, at, map_pa);
    any = any || held >= map_pa;
    *most_pa = fmax(*most_pa, held);
    if (rpm >= range.high_rpm) return any;
  }
}

/* A car that passes its limit at the goal, were there the exhaust to drive it. */
static void short_of_exhaust(drawn *d, double size) {
  begin(d);
  give_turbine(d, size, 0.61);
  d->it.event.goal.map_pa = 201e3;
  d->it.event.car.control = (ta_control){.holds = TA_HOLDS_ABSOLUTE,
                                         .overshoot_pa = 5300.0,
                                         .barometer_error_pa = 470.0,
                                         .resolution_pa = 1000.0,
                                         .positions = 3.0};
  prepare(d);
  limit_at_share(d, 0.3);
}

static void caps_ask_for_no_more_than_is_driven(void **state) {
  (void)state;
  int bad = 0, by_drive = 0, by_limit = 0;
  for (int i = 0; i < 12; i++) {
    drawn d;
    short_of_exhaust(&d, 1.5 + 0.091 * i);
    const ta_speed_range window = ta_judged_speeds(&d.it.event.car);
    for (int k = 0; k < 3; k++) {
      ta_air air;
      ta_place_cap cap;
      double most_pa;
      assert_int_equal(ta_day_air(&d.prepared.day, 1463.0 + 1311.0 * k, &air), TA_OK);
      assert_int_equal(ta_place_cap_find(&d.prepared, window, &air, &cap), TA_OK);
      const bool any = any_held(&d, window, &air, cap.set_point, &most_pa);
      if (cap.limited_by == TA_BY_DRIVE) {
        /* the engine speeds of this scan are not those of the cap's */
        bad += off("drive", "cap", cap.set_point, most_pa, 600.0);
        if (any_held(&d, window, &air, cap.set_point + 2000.0, &most_pa)) bad++;
        by_drive++;
      } else {
        if (!any) bad++;
        by_limit++;
      }
      if (!(cap.at.shaft_rpm <= d.prepared.limit_rpm)) bad++;
    }
    ta_prepared_free(&d.prepared);
  }
  print_message("place caps: %d set by the drive, %d not\n", by_drive, by_limit);
  assert_int_equal(bad, 0);
  assert_true(by_drive > 5 && by_limit > 5);
}

static void caps_of_every_form_may_be_limited_by_drive(void **state) {
  (void)state;
  drawn d;
  short_of_exhaust(&d, 2.41);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  assert_int_equal(
      ta_profile_make(&d.prepared, ta_judged_speeds(&d.it.event.car), HUGE_VAL, profile), TA_OK);
  ta_constant_cap constant;
  assert_int_equal(ta_constant_cap_find(&d.prepared, profile, &constant), TA_OK);
  assert_int_equal(constant.limited_by, TA_BY_DRIVE);
  assert_true(constant.set_point < 201e3 &&
              constant.tightest.point.shaft_rpm <= d.prepared.limit_rpm);
  free(profile);

  ta_schedule schedule;
  assert_int_equal(ta_schedule_find(&d.prepared, &schedule), TA_OK);
  int bad = 0, by_drive = 0;
  for (size_t i = 0; i < schedule.count; i++)
    by_drive += schedule.row[i].cap.limited_by == TA_BY_DRIVE;
  assert_true(by_drive > 0);

  /* nodes of the table: of each engine speed, and on the way between them */
  ta_controller_table table;
  assert_int_equal(ta_controller_table_find(&d.prepared, false, &table), TA_OK);
  for (size_t i = 0; i < 60; i++) {
    const ta_controller_axes *axes = &table.axes;
    uint64_t next = 31000 + 2 * i;
    const double p = spread(&next, axes->pressure_pa[0],
                            axes->pressure_pa[axes->pressure_count - 1]),
                 rpm = spread(&next, axes->speed_rpm[0], axes->speed_rpm[axes->speed_count - 1]);
    const double set_point = ta_controller_table_read(&d.prepared, &table, p, rpm);
    ta_air air;
    double elevation_m;
    assert_int_equal(ta_air_at_pressure(&d.prepared.day, p, &air, &elevation_m), TA_OK);
    const double held = counted(&d.prepared, &air, rpm, 201e3);
    if (!(set_point <= fmax(held, air.pressure_pa) + 2.0)) {
      bad++;
      print_error("table at %.0f Pa, %.0f rpm: %.1f asked, %.1f driven\n", p, rpm, set_point, held);
    }
    by_drive += held < 200e3;
  }
  assert_int_equal(bad, 0);
  assert_true(by_drive > 30);
  ta_controller_table_free(&table);
  ta_prepared_free(&d.prepared);
}

/* How much more a set-point asks for than the turbine drives at the engine speed of the boost window
 * where it drives most: of 60 and of the goal's rows. */
static double too_much(const drawn *d, const ta_air *air, double set_point) {
  enum { EVEN = 60 };
  const ta_speed_range window = ta_judged_speeds(&d->it.event.car);
  const ta_goal *goal = &d->it.event.goal;
  double rpm[EVEN + 4], map_pa[EVEN + 4], held_pa[EVEN + 4], asked_pa = 0.0, most_pa = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < EVEN; i++)
    rpm[count++] =
        window.low_rpm + (window.high_rpm - window.low_rpm) * (double)i / (double)(EVEN - 1);
  for (size_t i = 0; i < goal->point_count; i++)
    if (goal->point[i].engine_rpm > window.low_rpm && goal->point[i].engine_rpm < window.high_rpm)
      rpm[count++] = goal->point[i].engine_rpm;
  for (size_t i = 0; i < count; i++) {
    map_pa[i] = ta_set_point_map(
        &d->prepared, fmin(ta_prepared_goal(&d->prepared, rpm[i]), set_point), air->pressure_pa);
    asked_pa = fmax(asked_pa, map_pa[i]);
  }
  ta_highest_held_map(&d->prepared, air, rpm, count, map_pa, held_pa);
  for (size_t i = 0; i < count; i++) most_pa = fmax(most_pa, held_pa[i]);
  return asked_pa - fmax(most_pa, air->pressure_pa);
}

/* Small cars and large: along the road neither the schedule, nor one cap, nor a position of a knob. */
static void no_form_of_a_cap_asks_for_more_than_is_driven(void **state) {
  (void)state;
  static const double share[] = {1.0, 0.44, 2.2, 1.23, 0.78, 1.37}; /* of the invented car's flow */
  enum { PLACES = 7 };
  int bad = 0, by[3] = {0}, free_of_it = 0;
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  for (uint64_t i = 0; i < 24; i++) {
    drawn d;
    uint64_t next = 40000 + 8 * i;
    draw_event(i, &d);
    ta_prepared_free(&d.prepared);
    const double size = share[i % COUNT_OF(share)] * spread(&next, 0.9, 2.7);
    give_turbine(&d, size, spread(&next, 0.45, 0.7));
    d.it.event.car.turbo.turbine.at_flow_kg_s *= share[i % COUNT_OF(share)];
    d.it.course[1].mark = "gate";
    prepare(&d);
    ta_schedule schedule;
    ta_constant_cap constant;
    ta_positions positions;
    assert_int_equal(
        ta_profile_make(&d.prepared, ta_judged_speeds(&d.it.event.car), HUGE_VAL, profile), TA_OK);
    assert_int_equal(ta_schedule_find(&d.prepared, &schedule), TA_OK);
    assert_int_equal(ta_constant_cap_find(&d.prepared, profile, &constant), TA_OK);
    assert_int_equal(ta_positions_find(&d.prepared, profile, 3, &positions), TA_OK);
    const ta_course *course = &d.it.event.course;
    for (int k = 0; k <= PLACES; k++) {
      const double at_m = course->point[course->count - 1].distance_m * k / PLACES;
      ta_air air;
      assert_int_equal(ta_day_air(&d.prepared.day, ta_course_elevation(course, at_m), &air), TA_OK);
      const ta_position *position = &positions.position[0];
      while (position + 1 < positions.position + positions.count &&
             position[1].from_distance_m <= at_m)
        position++;
      const double more_pa[] = {
          constant.can_be_had ? too_much(&d, &air, constant.set_point) : 0.0,
          position->cap.can_be_had ? too_much(&d, &air, position->cap.set_point) : 0.0,
          too_much(&d, &air, ta_schedule_read(&d.prepared, &schedule, air.pressure_pa))};
      static const char *const form[] = {"constant", "position", "schedule"};
      for (size_t f = 0; f < COUNT_OF(form); f++) {
        /* the engine speeds of this scan are not those of the cap's */
        if (more_pa[f] < 250.0) continue;
        print_error("event %d, %s at %.1f km: %.0f Pa more than is driven\n", (int)i, form[f],
                    at_m / 1e3, more_pa[f]);
        bad++;
      }
    }
    by[0] += constant.limited_by == TA_BY_DRIVE;
    for (size_t k = 0; k < positions.count; k++)
      by[1] += positions.position[k].cap.limited_by == TA_BY_DRIVE;
    for (size_t k = 0; k < schedule.count; k++)
      by[2] += schedule.row[k].cap.limited_by == TA_BY_DRIVE;
    free_of_it += constant.limited_by != TA_BY_DRIVE;
    ta_positions_free(&positions);
    ta_prepared_free(&d.prepared);
  }
  free(profile);
  print_message("by the drive: %d constant caps, %d positions, %d rows; %d constant caps are not\n",
                by[0], by[1], by[2], free_of_it);
  assert_int_equal(bad, 0);
  assert_true(by[0] > 4 && by[1] > 12 && by[2] > 40 && free_of_it > 4);
}

/* The highest expansion ratio is at the goal, nothing on it, at the top of the window. */
static void how_hard_the_turbine_works(void **state) {
  (void)state;
  drawn d;
  int bad = 0;
  for (int small = 0; small < 2; small++) {
    ta_drive_check check;
    begin(&d);
    give_turbine(&d, small == 1 ? 0.43 : 1.13, 0.67);
    d.it.event.car.engine.window_rpm[0] = 5203.0;
    check_drive(&d, &check);
    double highest = 0.0;
    bool beyond = false;
    for (double at_m = 1463.0; at_m <= 4117.0; at_m += 1327.0) { /* its ends among them */
      const double goal_pa = d.it.event.goal.map_pa;
      ta_operating_point point = solve(&d, at_m, 7270.0, goal_pa);
      ta_drive drive;
      assert_int_equal(ta_point_drive(&d.it.event.car, &point, &drive), TA_OK);
      highest = fmax(highest, drive.expansion_ratio);
      beyond = beyond || drive.beyond_points;
    }
    bad += off_rel("turbine", "expansion ratio", check.expansion_ratio, highest, 1e-9);
    bad += check.beyond_points != beyond || beyond != (small == 1);
    for (int i = 0; i < TA_THRESHOLDS; i++) { /* a small one drives it as low as is looked */
      bad += check.threshold[i].or_below != (small == 1);
      bad += small == 1 && check.threshold[i].engine_rpm != 0.3 * 5203.0;
    }
    assert_true((highest > 4.03) == (small == 1));
    ta_prepared_free(&d.prepared);
  }
  assert_int_equal(bad, 0);
}

static void refusals(void **state) {
  (void)state;
  drawn d;
  weak(&d);
  prepare(&d);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(profile);
  assert_int_equal(
      ta_profile_make(&d.prepared, ta_judged_speeds(&d.it.event.car), HUGE_VAL, profile), TA_OK);
  ta_operating_point point = solve(&d, 2711.0, 6130.0, 173e3);
  ta_drive drive = {.power_w = -7.0};
  ta_drive_check check = {.distance_m = -7.0};
  const ta_car *car = &d.it.event.car;
  assert_int_equal(ta_point_drive(NULL, &point, &drive), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_drive(car, NULL, &drive), TA_ERR_ARGUMENT);
  assert_int_equal(ta_point_drive(car, &point, NULL), TA_ERR_ARGUMENT);
  point.zone = TA_UNREACHABLE;
  assert_int_equal(ta_point_drive(car, &point, &drive), TA_ERR_DOMAIN);
  assert_true(drive.power_w == -7.0);
  assert_int_equal(ta_drive_check_make(NULL, profile, &check), TA_ERR_ARGUMENT);
  assert_int_equal(ta_drive_check_make(&d.prepared, NULL, &check), TA_ERR_ARGUMENT);
  assert_int_equal(ta_drive_check_make(&d.prepared, profile, NULL), TA_ERR_ARGUMENT);
  profile->elevation_m[profile->count - 1] = 9500.0; /* above the column of air */
  assert_int_equal(ta_drive_check_make(&d.prepared, profile, &check), TA_ERR_DOMAIN);
  assert_true(check.distance_m == -7.0);
  free(profile);
  ta_prepared_free(&d.prepared);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_balance_is_that_of_an_independent_root),
      cmocka_unit_test(without_back_pressure_and_choked),
      cmocka_unit_test(a_block_has_the_excess_of_its_points),
      cmocka_unit_test(the_highest_held_map_is_what_counting_up_finds),
      cmocka_unit_test(at_both_ends_of_the_counting),
      cmocka_unit_test(a_shortfall_counts_when_it_stays_for_1_kpa),
      cmocka_unit_test(two_short_shortfalls_are_not_one),
      cmocka_unit_test(the_boost_threshold_is_that_of_every_engine_speed),
      cmocka_unit_test(the_lowest_boost_threshold),
      cmocka_unit_test(the_first_place_that_cannot_be_driven),
      cmocka_unit_test(how_hard_the_turbine_works),
      cmocka_unit_test(caps_ask_for_no_more_than_is_driven),
      cmocka_unit_test(caps_of_every_form_may_be_limited_by_drive),
      cmocka_unit_test(no_form_of_a_cap_asks_for_more_than_is_driven),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
