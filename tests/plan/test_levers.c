/* test_levers.c - each lever against an event that is changed and prepared by code of our own; the
 * signs that physics demands; what looks like margin; the order; which are absent. */
#include <gsl/gsl_errno.h>
#ifdef _OPENMP
#include <omp.h>
#endif

#include "random_event.h"
#include "thinair/levers.h"
#include "thinair/moist_air.h"
#include "thinair/strategy.h"
#include "thinair/timed_run.h"

static const double SUMMIT_M = 3257.0;

typedef struct {
  drawn d;
  ta_station station[2];
  ta_road road;
} setting;

/* Everything that a lever may take hold of. */
static void begin(setting *s) {
  memset(s, 0, sizeof *s);
  drawn *d = &s->d;
  invented_make(&d->it);
  give_short_course(d);
  give_vehicle(d);
  ta_event *event = &d->it.event;
  event->goal.map_pa = 173300.0;
  event->car.charge_cooler.leak = 0.011;
  event->car.charge_cooler.has_coolant = true;
  event->car.charge_cooler.coolant_k = 297.3;
  event->car.intake.has_restrictor = true;
  event->car.intake.restrictor = (ta_restrictor){0.0513, 1.0, 0.86};
  event->car.control.map_error_pa = 700.0;
  s->station[0] = (ta_station){.elevation_m = 2911.0,
                               .temperature_k = 283.7,
                               .qnh_pa = 101730.0,
                               .has_qnh = true,
                               .dew_point_k = 277.1,
                               .has_dew_point = true};
  s->station[1] = (ta_station){
      .elevation_m = 3241.0, .temperature_k = 281.9, .humidity = 0.57, .has_humidity = true};
  event->day =
      (ta_day_reading){.station = s->station, .station_count = 2, .lapse_rate_k_m = 0.0065};
  event->day_is_isa = false;
}

static void finish(setting *s) {
  prepare(&s->d);
  limit_at_share(&s->d, 0.37);
  assert_int_equal(ta_road_make(&s->d.it.event.course, TA_CORNER_LENGTH_M, &s->road), TA_OK);
}

static void end(setting *s) {
  ta_road_free(&s->road);
  ta_prepared_free(&s->d.prepared);
}

static ta_levers pull_all(const setting *s, bool timed) {
  const ta_placed_point at = {.distance_m = 4897.0, .elevation_m = SUMMIT_M};
  ta_levers levers;
  assert_int_equal(ta_levers_make(&s->d.prepared, &at, timed ? &s->road : NULL, &levers), TA_OK);
  assert_true(levers.distance_m == 4897.0 && levers.elevation_m == SUMMIT_M);
  return levers;
}

static const ta_lever *named(const ta_levers *levers, const char *name) {
  for (size_t i = 0; i < levers->count; i++)
    if (strcmp(levers->lever[i].name, name) == 0) return &levers->lever[i];
  return NULL;
}

/* ---- the same by hand ------------------------------------------------------------------------ */

typedef struct {
  double shaft_rpm, cap, power_w, time_s;
} answer;

/* Prepared anew from its event, every engine speed up to the window's top and the shift. */
static answer solve(const ta_event *event, const ta_road *road) {
  ta_prepared p;
  answer found = {0.0, 0.0, 0.0, (double)INFINITY};
  assert_int_equal(ta_prepare(event, &p), TA_OK);
  const double *given = event->car.engine.window_rpm,
               window[] = {given[0], event->car.has_vehicle
                                         ? fmax(given[1], event->car.vehicle.shift_rpm)
                                         : given[1]};
  ta_air air;
  assert_int_equal(ta_day_air(&p.day, SUMMIT_M, &air), TA_OK);
  ta_place_cap cap;
  assert_int_equal(ta_place_cap_find(&p, (ta_speed_range){window[0], window[1]}, &air, &cap),
                   TA_OK);
  found.cap = cap.set_point;
  for (double n = window[0];; n += 2.0) {
    const double rpm = fmin(n, window[1]), goal = ta_prepared_goal(&p, rpm),
                 judged_pa = ta_judged_map(&p, goal, air.pressure_pa),
                 capped = fmin(goal, cap.set_point);
    ta_operating_point point;
    assert_int_equal(ta_point_solve(&event->car, p.map, &air, rpm, judged_pa, &point), TA_OK);
    found.shaft_rpm = fmax(found.shaft_rpm, point.shaft_rpm);
    double map_pa, power_w;
    ta_full_load_at(&p, &air, 0.0, &rpm, &capped, 1, &map_pa, &power_w);
    found.power_w = fmax(found.power_w, power_w);
    if (n >= window[1]) break;
  }
  if (road != NULL) assert_int_equal(ta_quickest_run(&p, road, 1e-2, &found.time_s), TA_OK);
  ta_prepared_free(&p);
  return found;
}

/* What is said of the lever is what the changed event gives. */
static int check(const ta_levers *levers, const char *name, const setting *base,
                 const ta_event *changed, bool timed, double from, double to) {
  const ta_lever *lever = named(levers, name);
  if (lever == NULL) {
    print_error("no lever %s\n", name);
    return 1;
  }
  const answer a = solve(&base->d.it.event, timed ? &base->road : NULL),
               b = solve(changed, timed ? &base->road : NULL);
  int bad = off_rel(name, "from", lever->from, from, 1e-12);
  bad += off_rel(name, "to", lever->to, to, 1e-12);
  bad += off(name, "shaft", lever->shaft_share, b.shaft_rpm / a.shaft_rpm - 1.0, 1e-6);
  bad += off(name, "cap", lever->cap_change, b.cap - a.cap, 1e-3);
  bad += off(name, "power", lever->power_change_w, b.power_w - a.power_w, 12.0);
  if (timed)
    bad += off(name, "time", lever->time_change_s, b.time_s - a.time_s, 1e-9);
  else if (isfinite(lever->time_change_s))
    bad++;
  const double shaft = b.shaft_rpm / a.shaft_rpm - 1.0, power_w = b.power_w - a.power_w;
  const bool slower_run = timed && b.time_s > a.time_s + 0.05,
             margin_costs = shaft < -5e-4 && (power_w < -50.0 || slower_run),
             gains = shaft > 5e-4 && power_w > 50.0 && b.cap < a.cap;
  bad += off(name, "misleads", lever->misleads, margin_costs || gains, 0.0);
  return bad;
}

/* One input changed, by hand; station is a copy of the event's, to be changed too. */
typedef void (*changer)(ta_event *e, ta_station *station);

#define CHANGE(name, statement)                        \
  static void name(ta_event *e, ta_station *station) { \
    (void)e, (void)station;                            \
    statement;                                         \
  }
CHANGE(target, e->goal.map_pa = 163300.0)
CHANGE(leak, e->car.charge_cooler.leak = 0.061)
CHANGE(intake_drop, e->car.intake.drop.drop_pa = 4060.0)
CHANGE(intake_temperature, e->car.intake.temperature_rise_k = 15.7)
CHANGE(restrictor, e->car.intake.restrictor.diameter_m = 0.0523)
CHANGE(cooler, e->car.charge_cooler.effectiveness = 0.843)
CHANGE(coolant, e->car.charge_cooler.coolant_k = 287.3)
CHANGE(charge_drop, e->car.charge_cooler.drop.drop_pa = 4450.0)
CHANGE(bsfc, e->car.engine.bsfc_kg_j *= 0.97)
CHANGE(shift_speed, e->car.engine.window_rpm[1] = 6870.0; e->car.vehicle.shift_rpm = 6870.0)
CHANGE(overshoot, e->car.control.overshoot_pa = 2650.0)
CHANGE(map_error, e->car.control.map_error_pa = 350.0)
CHANGE(margin, e->goal.margin += 0.01)
CHANGE(mass, e->car.vehicle.mass_kg = 1103.0)
CHANGE(drag, e->car.vehicle.drag_area_m2 *= 0.95)
CHANGE(downforce, e->car.vehicle.downforce_area_m2 *= 1.1)
CHANGE(final_drive, e->car.vehicle.final_drive *= 1.05)
CHANGE(shift_time, e->car.vehicle.shift_time_s = 0.0615)
CHANGE(warmer, station[0].temperature_k = 293.7; station[0].dew_point_k = 287.1;
       station[1].temperature_k = 291.9)
CHANGE(lower_pressure, station[0].qnh_pa = 100730.0)

static void volumetric_efficiency(ta_event *e, ta_station *station) {
  static ta_ve_point more[INVENTED_ROWS];
  (void)station;
  assert_true(e->car.engine.ve_count <= COUNT_OF(more));
  for (size_t i = 0; i < e->car.engine.ve_count; i++) {
    more[i] = e->car.engine.ve[i];
    more[i].ve *= 1.02;
  }
  e->car.engine.ve = more;
}

static void grip(ta_event *e, ta_station *station) {
  (void)station;
  e->car.vehicle.grip.drive *= 1.02;
  e->car.vehicle.grip.corner *= 1.02;
  e->car.vehicle.grip.brake *= 1.02;
}

static void humidity(ta_event *e, ta_station *station) {
  (void)e;
  for (int i = 0; i < 2; i++) {
    station[i].humidity = 1.0;
    station[i].has_humidity = true;
    station[i].has_dew_point = false;
  }
}

static int check_changed(const ta_levers *levers, const char *name, const setting *s, bool timed,
                         changer change, double from, double to) {
  ta_event e = s->d.it.event;
  ta_station station[2];
  memcpy(station, s->station, sizeof station);
  if (e.day.station_count > 0) e.day.station = station;
  change(&e, station);
  return check(levers, name, s, &e, timed, from, to);
}

static const struct {
  const char *name;
  changer change;
  double from, to;
  bool wheels; /* only a run can tell */
} changes[] = {
    {"target", target, 0.0, -10e3, false},
    {"leak", leak, 0.011, 0.061, false},
    {"intake_drop", intake_drop, 2030.0, 4060.0, false},
    {"intake_temperature", intake_temperature, 5.7, 15.7, false},
    {"restrictor", restrictor, 0.0513, 0.0523, false},
    {"cooler", cooler, 0.743, 0.843, false},
    {"coolant", coolant, 297.3, 287.3, false},
    {"charge_drop", charge_drop, 8900.0, 4450.0, false},
    {"volumetric_efficiency", volumetric_efficiency, 0.0, 0.02, false},
    {"shift_speed", shift_speed, 7270.0, 6870.0, false}, /* of shift speed and top the higher */
    {"overshoot", overshoot, 5300.0, 2650.0, false},
    {"map_error", map_error, 700.0, 350.0, false},
    {"mass", mass, 1153.0, 1103.0, true},
    {"drag", drag, 0.953, 0.90535, true},
    {"downforce", downforce, 0.613, 0.6743, true},
    {"grip", grip, 0.0, 0.02, true},
    {"final_drive", final_drive, 4.11, 4.3155, true},
    {"shift_time", shift_time, 0.123, 0.0615, true},
    {"warmer", warmer, 0.0, 10.0, false},
    {"lower_pressure", lower_pressure, 0.0, -1000.0, false},
};

static void each_lever_is_a_changed_event(void **state) {
  (void)state;
  setting s;
  int bad = 0;
  for (int timed = 0; timed < 2; timed++) {
    const bool t = timed == 1;
    size_t count = 3; /* of which the values are not in the table */
    begin(&s);
    if (t) s.d.it.event.car.control.holds = TA_HOLDS_GAUGE;
    finish(&s);
    const ta_levers levers = pull_all(&s, t);
    for (size_t i = 0; i < COUNT_OF(changes); i++) {
      if (changes[i].wheels && !t) {
        if (named(&levers, changes[i].name) != NULL) bad++;
        continue;
      }
      bad += check_changed(&levers, changes[i].name, &s, t, changes[i].change, changes[i].from,
                           changes[i].to);
      count++;
    }
    const double bsfc_kg_j = s.d.it.event.car.engine.bsfc_kg_j, margin_1 = s.d.it.event.goal.margin;
    bad += check_changed(&levers, "bsfc", &s, t, bsfc, bsfc_kg_j, 0.97 * bsfc_kg_j);
    bad += check_changed(&levers, "margin", &s, t, margin, margin_1, margin_1 + 0.01);
    /* the start line stands at the first station */
    const double at_start = ta_saturation_pressure(277.1) / ta_saturation_pressure(283.7);
    bad += check_changed(&levers, "humidity", &s, t, humidity, at_start, 1.0);
    bad += off("levers", "count", (double)levers.count, (double)count, 0.0);
    end(&s);
  }
  assert_int_equal(bad, 0);
}

/* ---- levers that not every car has ------------------------------------------------------------ */

CHANGE(softer_spring, e->car.control.minimum_boost_pa = 93300.0)
CHANGE(balanced, e->car.turbo.imbalance = 0.0135)
CHANGE(free_exhaust, e->car.turbo.turbine.back_pressure_pa = 3050.0)
CHANGE(less_boost, e->goal.boost_pa = 77300.0)
CHANGE(read_higher, e->car.control.barometer_read_at_m = 3411.0;
       e->car.control.has_barometer_read_at = true)

static void levers_that_not_every_car_has(void **state) {
  (void)state;
  setting s;
  int bad = 0;
  begin(&s); /* a spring that alone passes the limit */
  s.d.it.event.car.control.has_minimum_boost = true;
  s.d.it.event.car.control.minimum_boost_pa = 103300.0;
  finish(&s);
  ta_levers levers = pull_all(&s, true);
  bad += check_changed(&levers, "minimum_boost", &s, true, softer_spring, 103300.0, 93300.0);
  assert_null(named(&levers, "back_pressure"));
  assert_null(named(&levers, "imbalance"));
  assert_null(named(&levers, "key_on"));
  end(&s);

  begin(&s); /* two of them, of half the flow each */
  ta_car *car = &s.d.it.event.car;
  car->turbo.count = 2.0;
  car->turbo.imbalance = 0.027;
  car->engine.displacement_m3 *= 2.0;
  car->intake.drop.at_flow_kg_s *= 2.0;
  car->charge_cooler.drop.at_flow_kg_s *= 2.0;
  car->intake.restrictor.count = 2.0;
  finish(&s);
  levers = pull_all(&s, false);
  bad += check_changed(&levers, "imbalance", &s, false, balanced, 0.027, 0.0135);
  end(&s);

  begin(&s); /* a turbine too large for it */
  give_turbine(&s.d, 2.3, 0.61);
  finish(&s);
  levers = pull_all(&s, true);
  bad += check_changed(&levers, "back_pressure", &s, true, free_exhaust, 6100.0, 3050.0);
  assert_true(named(&levers, "back_pressure")->time_change_s < 0.0);
  end(&s);

  begin(&s); /* boost over the ambient at key-on */
  s.d.it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  s.d.it.event.goal.has_map = false;
  s.d.it.event.goal.has_boost = true;
  s.d.it.event.goal.boost_pa = 87300.0;
  finish(&s);
  levers = pull_all(&s, true);
  ta_air low, high;
  assert_int_equal(ta_day_air(&s.d.prepared.day, 2911.0, &low), TA_OK);
  assert_int_equal(ta_day_air(&s.d.prepared.day, 3411.0, &high), TA_OK);
  bad += check_changed(&levers, "key_on", &s, true, read_higher, low.pressure_pa, high.pressure_pa);
  bad += check_changed(&levers, "target", &s, true, less_boost, 0.0, -10e3);
  end(&s);

  begin(&s); /* read lower down than the start, by a barometer of its own */
  s.d.it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  s.d.it.event.car.control.has_barometer_read_at = true;
  s.d.it.event.car.control.barometer_read_at_m = 2911.0;
  s.d.it.event.goal.has_map = false;
  s.d.it.event.goal.has_boost = true;
  s.d.it.event.goal.boost_pa = 87300.0;
  s.d.it.event.is_cut = true;
  s.d.it.event.start_elevation_m = 2950.0;
  finish(&s);
  levers = pull_all(&s, false);
  bad +=
      check_changed(&levers, "key_on", &s, false, read_higher, low.pressure_pa, high.pressure_pa);
  end(&s);
  assert_int_equal(bad, 0);
}

static void less_at_each_row(ta_event *e, ta_station *station) {
  static ta_goal_point less[3];
  (void)station;
  memcpy(less, e->goal.point, sizeof less);
  for (size_t i = 0; i < 3; i++) less[i].map_pa -= less[i].has_map ? 10e3 : 0.0;
  for (size_t i = 0; i < 3; i++) less[i].boost_pa -= less[i].has_boost ? 10e3 : 0.0;
  e->goal.point = less;
}

static void a_target_over_engine_speed(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.goal[0] = (ta_goal_point){.engine_rpm = 3700.0, .map_pa = 151300.0, .has_map = true};
  s.d.it.goal[1] = (ta_goal_point){.engine_rpm = 5130.0, .boost_pa = 107e3, .has_boost = true};
  s.d.it.goal[2] = (ta_goal_point){.engine_rpm = 7300.0, .map_pa = 167300.0, .has_map = true};
  s.d.it.event.goal = (ta_goal){.point = s.d.it.goal, .point_count = 3, .margin = 0.037};
  finish(&s);
  const ta_levers levers = pull_all(&s, true);
  assert_int_equal(check_changed(&levers, "target", &s, true, less_at_each_row, 0.0, -10e3), 0);
  end(&s);
}

/* The engine speed that is named is the one that was solved, whichever of the two is higher. */
CHANGE(shift_below_top, e->car.engine.window_rpm[1] = 6870.0)
CHANGE(shift_above_top, e->car.vehicle.shift_rpm = 7090.0)
static void shift_speed_and_the_top_of_the_window(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.car.vehicle.shift_rpm = 6530.0;
  finish(&s);
  ta_levers levers = pull_all(&s, true);
  int bad = check_changed(&levers, "shift_speed", &s, true, shift_below_top, 7270.0, 6870.0);
  end(&s);
  begin(&s);
  s.d.it.event.car.engine.window_rpm[1] = 6710.0;
  s.d.it.event.car.vehicle.shift_rpm = 7490.0;
  finish(&s);
  levers = pull_all(&s, true);
  bad += check_changed(&levers, "shift_speed", &s, true, shift_above_top, 7490.0, 7090.0);
  end(&s);
  assert_int_equal(bad, 0);
}

/* ---- what the event cannot take ---------------------------------------------------------------- */

/* 50 kg is the lightest car there can be. */
CHANGE(lightest, e->car.vehicle.mass_kg = 50.0)
static void a_step_stays_within_what_its_key_takes(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.car.vehicle.mass_kg = 73.0;
  finish(&s);
  ta_levers levers = pull_all(&s, true);
  int bad = check_changed(&levers, "mass", &s, true, lightest, 73.0, 50.0);
  end(&s);

  static const struct {
    const char *name;
    size_t offset;
    double at_its_end;
  } ends[] = {
      {"mass", offsetof(ta_event, car.vehicle.mass_kg), 50.0},
      {"leak", offsetof(ta_event, car.charge_cooler.leak), 0.5},
      {"intake_temperature", offsetof(ta_event, car.intake.temperature_rise_k), 80.0},
      {"intake_drop", offsetof(ta_event, car.intake.drop.drop_pa), 100e3},
      {"coolant", offsetof(ta_event, car.charge_cooler.coolant_k), 230.0},
      {"margin", offsetof(ta_event, goal.margin), 0.5},
      {"drag", offsetof(ta_event, car.vehicle.drag_area_m2), 0.05},
      {"final_drive", offsetof(ta_event, car.vehicle.final_drive), 30.0},
      {"grip", offsetof(ta_event, car.vehicle.grip.brake), 3.0},
      {"target", offsetof(ta_event, goal.map_pa), 78e3},
  };
  begin(&s);
  finish(&s);
  for (size_t i = 0; i < COUNT_OF(ends); i++) {
    double *value = (double *)(void *)((char *)&s.d.it.event + ends[i].offset), was = *value;
    *value = ends[i].at_its_end;
    levers = pull_all(&s, true);
    if (named(&levers, ends[i].name) != NULL) {
      print_error("%s cannot go on\n", ends[i].name);
      bad++;
    }
    if (levers.count < 6) { /* the others stay */
      print_error("%s: %zu left\n", ends[i].name, levers.count);
      bad++;
    }
    *value = was;
  }
  end(&s);
  assert_int_equal(bad, 0);
}

/* Of the standard day the thermometer alone moves; its pressure is what it is. */
CHANGE(warmer_isa, e->day.isa_offset_k = 13.7)
CHANGE(humid_isa, e->day.isa_humidity = 1.0)
static void on_the_standard_day(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.day =
      (ta_day_reading){.isa_offset_k = 3.7, .isa_humidity = 0.37, .lapse_rate_k_m = 0.0065};
  s.d.it.event.day_is_isa = true;
  finish(&s);
  const ta_levers levers = pull_all(&s, false);
  int bad = check_changed(&levers, "warmer", &s, false, warmer_isa, 0.0, 10.0);
  bad += check_changed(&levers, "humidity", &s, false, humid_isa, 0.37, 1.0);
  assert_null(named(&levers, "lower_pressure"));
  end(&s);
  assert_int_equal(bad, 0);
}

/* A goal that falls with engine speed: at the cap it rules where it is lower. */
static void the_power_is_that_of_goal_and_cap(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.goal[0] = (ta_goal_point){.engine_rpm = 4300.0, .map_pa = 171e3, .has_map = true};
  s.d.it.goal[1] = (ta_goal_point){.engine_rpm = 7100.0, .map_pa = 123e3, .has_map = true};
  s.d.it.event.goal = (ta_goal){.point = s.d.it.goal, .point_count = 2, .margin = 0.037};
  finish(&s);
  const ta_levers levers = pull_all(&s, false);
  ta_event e = s.d.it.event;
  e.car.charge_cooler.effectiveness = 0.843;
  assert_int_equal(check(&levers, "cooler", &s, &e, false, 0.743, 0.843), 0);
  end(&s);
}

/* ---- what physics demands -------------------------------------------------------------------- */

static void signs(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.car.intake.has_restrictor = false;
  finish(&s);
  const ta_levers levers = pull_all(&s, true);
  static const char *const faster[] = {"leak", "intake_drop", "intake_temperature", "warmer",
                                       "lower_pressure"};
  for (size_t i = 0; i < COUNT_OF(faster); i++) {
    const ta_lever *lever = named(&levers, faster[i]);
    assert_non_null(lever);
    assert_true(lever->shaft_share > 1e-4 && lever->cap_change < -30.0);
    assert_true(lever->time_change_s > 0.0 && lever->power_change_w < 0.0);
    assert_false(lever->misleads);
  }
  const ta_lever *overshoot = named(&levers, "overshoot");
  int bad = off("overshoot", "cap", overshoot->cap_change, 2650.0, 1e-2);
  assert_true(overshoot->shaft_share < 0.0 && overshoot->time_change_s < 0.0);
  assert_false(overshoot->misleads);
  const ta_lever *margin = named(&levers, "margin");
  assert_true(margin->shaft_share == 0.0 && margin->cap_change < 0.0 && !margin->misleads);
  const ta_lever *mass = named(&levers, "mass");
  assert_true(mass->shaft_share == 0.0 && mass->cap_change == 0.0 && mass->power_change_w == 0.0);
  assert_true(mass->time_change_s < 0.0 && !mass->misleads);
  /* denser charge at the same MAP: more flow, a faster shaft, a lower cap */
  const ta_lever *cooler = named(&levers, "cooler");
  assert_true(cooler->shaft_share > 0.0 && cooler->cap_change < 0.0);
  assert_true(cooler->misleads == (cooler->power_change_w > 0.0));
  assert_true(cooler->power_change_w > 0.0);
  const ta_lever *shift = named(&levers, "shift_speed");
  assert_true(shift->shaft_share < 0.0 && shift->cap_change > 0.0);
  const ta_lever *charge = named(&levers, "charge_drop");
  assert_true(charge->shaft_share < 0.0 && charge->cap_change > 0.0 && charge->time_change_s < 0.0);
  end(&s);
  assert_int_equal(bad, 0);
  /* a larger restrictor lets the inlet pressure be */
  begin(&s);
  finish(&s);
  const ta_levers restricted = pull_all(&s, false);
  const ta_lever *restrictor = named(&restricted, "restrictor");
  assert_true(restrictor->shaft_share < 0.0 && restrictor->cap_change > 0.0);
  end(&s);
}

/* Where the target is within the limit the cap does not move, and what slows the shaft costs time. */
static void what_looks_like_margin(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.car.engine.window_rpm[1] = 6030.0;
  s.d.it.event.car.vehicle.shift_rpm = 6030.0;
  finish(&s);
  s.d.it.event.car.turbo.rated_rpm *= 1.2;
  s.d.prepared.limit_rpm *= 1.2;
  const ta_levers levers = pull_all(&s, true), untimed = pull_all(&s, false);
  const ta_lever *shift = named(&levers, "shift_speed"), *less = named(&levers, "target"),
                 *cold = named(&levers, "cooler");
  assert_true(shift->cap_change == 0.0 && shift->shaft_share < 0.0 && shift->time_change_s > 0.3);
  assert_true(shift->misleads && named(&untimed, "shift_speed")->misleads);
  assert_true(less->misleads && less->power_change_w < 0.0);
  /* more power and a faster shaft, as one would think: no cap is lower */
  assert_true(cold->shaft_share > 0.0 && cold->power_change_w > 0.0 && !cold->misleads);
  end(&s);

  begin(
      &s); /* a lower target that the cap takes anyway at the top, and that is missed lower down */
  s.d.it.event.car.intake.has_restrictor = false;
  s.d.it.event.goal.map_pa = 203300.0;
  finish(&s);
  limit_at_share(&s.d, 0.03);
  const ta_levers low = pull_all(&s, true), no_time = pull_all(&s, false);
  less = named(&low, "target");
  assert_true(fabs(less->power_change_w) < 1.0 && less->time_change_s > 0.05 && less->misleads);
  assert_false(named(&no_time, "target")->misleads);
  end(&s);
}

static void the_order(void **state) {
  (void)state;
  setting s;
  begin(&s);
  finish(&s);
  for (int timed = 0; timed < 2; timed++) {
    const ta_levers levers = pull_all(&s, timed == 1);
    for (size_t i = 0; i < levers.count; i++) {
      const ta_lever *a = &levers.lever[i];
      assert_true(isfinite(a->time_change_s) == (timed == 1));
      assert_true(strlen(a->words) > 3 && a->kind < TA_KIND_COUNT);
      if (i == 0) continue;
      const ta_lever *before = a - 1;
      assert_true(timed == 1 ? fabs(before->time_change_s) >= fabs(a->time_change_s)
                             : fabs(before->power_change_w) >= fabs(a->power_change_w));
    }
  }
  end(&s);
}

/* ---- what is absent -------------------------------------------------------------------------- */

static void without_hold_a_lever_is_absent(void **state) {
  (void)state;
  setting s;
  begin(&s);
  ta_event *event = &s.d.it.event;
  event->car.intake.has_restrictor = false;
  event->car.charge_cooler.has_coolant = false;
  event->car.charge_cooler.effectiveness = 0.0;
  event->car.charge_cooler.drop.drop_pa = 0.0;
  event->car.intake.drop.drop_pa = 0.0;
  event->car.control.overshoot_pa = 0.0;
  event->car.has_vehicle = false;
  event->car.control.map_error_pa = 0.0;
  event->car.engine.window_rpm[0] = 6970.0;
  finish(&s);
  ta_levers levers = pull_all(&s, false);
  static const char *const absent[] = {
      "restrictor", "coolant",     "cooler", "charge_drop",   "intake_drop", "overshoot",
      "mass",       "shift_speed", "drag",   "downforce",     "grip",        "final_drive",
      "shift_time", "map_error",   "key_on", "minimum_boost", "imbalance",   "back_pressure"};
  for (size_t i = 0; i < COUNT_OF(absent); i++)
    if (named(&levers, absent[i]) != NULL) {
      print_error("%s has no hold\n", absent[i]);
      fail();
    }
  assert_int_equal(levers.count, 9);
  end(&s);

  begin(&s); /* without a vehicle the window's top is the shift */
  s.d.it.event.car.has_vehicle = false;
  finish(&s);
  levers = pull_all(&s, false);
  assert_true(named(&levers, "shift_speed")->from == 7270.0 &&
              named(&levers, "shift_speed")->to == 6870.0);
  end(&s);

  begin(&s); /* a shift above the window is judged, too */
  s.d.it.event.car.vehicle.shift_rpm = 7430.0;
  finish(&s);
  levers = pull_all(&s, false);
  assert_true(named(&levers, "shift_speed")->from == 7430.0);
  end(&s);

  begin(&s); /* near the best there is: as far as that, and not back from beyond it */
  s.d.it.event.car.charge_cooler.effectiveness = 0.893;
  finish(&s);
  levers = pull_all(&s, false);
  assert_true(named(&levers, "cooler")->to == 0.95);
  end(&s);
  begin(&s);
  s.d.it.event.car.charge_cooler.effectiveness = 0.971;
  finish(&s);
  levers = pull_all(&s, false);
  assert_null(named(&levers, "cooler"));
  end(&s);
}

/* A lever may ask for a day that cannot be: then it is absent, and the others stay. */
static void a_day_that_cannot_be_had(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.day.station_count =
      1; /* 3.5 % below the standard day: a deep low, or a typing error */
  s.station[0] = (ta_station){
      .elevation_m = 2911.0, .temperature_k = 281.3, .pressure_pa = 68630.0, .has_pressure = true};
  finish(&s);
  ta_levers levers = pull_all(&s, false);
  assert_null(named(&levers, "lower_pressure"));
  assert_non_null(named(&levers, "warmer"));
  assert_true(levers.count > 10);
  end(&s);

  begin(&s); /* as hot as a day is taken */
  s.d.it.event.day =
      (ta_day_reading){.isa_offset_k = 43.0, .isa_humidity = 0.1, .lapse_rate_k_m = 0.0065};
  s.d.it.event.day_is_isa = true;
  finish(&s);
  levers = pull_all(&s, false);
  assert_null(named(&levers, "warmer"));
  assert_non_null(named(&levers, "leak"));
  end(&s);
}

/* Where the target is past what the map can tell, no share of it is told, and it is no NaN. */
static void past_what_the_map_can_tell(void **state) {
  (void)state;
  setting s;
  begin(&s);
  s.d.it.event.car.intake.has_restrictor = false;
  finish(&s);
  s.d.it.event.goal.map_pa = 351e3;
  assert_true(isinf(worst_at(&s.d.prepared, SUMMIT_M)));
  const ta_levers levers = pull_all(&s, false);
  for (size_t i = 0; i < levers.count; i++) {
    const ta_lever *lever = &levers.lever[i];
    assert_true(isinf(lever->shaft_share) && lever->shaft_share > 0.0);
    assert_true(isfinite(lever->cap_change) && isfinite(lever->power_change_w));
    assert_false(lever->misleads);
  }
  assert_true(named(&levers, "leak")->cap_change < 0.0);
  /* a target that the map just tells, and with a leak does not */
  while (isinf(worst_at(&s.d.prepared, SUMMIT_M))) s.d.it.event.goal.map_pa -= 130.0;
  const ta_levers near_end = pull_all(&s, false);
  assert_true(isinf(named(&near_end, "leak")->shaft_share) && !named(&near_end, "leak")->misleads);
  assert_true(named(&near_end, "margin")->shaft_share == 0.0);
  end(&s);
}

static void a_car_that_cannot_climb_has_no_time(void **state) {
  (void)state;
  setting s;
  begin(&s);
  finish(&s);
  s.d.it.event.car.vehicle.grip.drive = 0.05;
  const ta_levers levers = pull_all(&s, true);
  for (size_t i = 0; i < levers.count; i++) assert_true(isinf(levers.lever[i].time_change_s));
  for (size_t i = 1; i < levers.count; i++)
    assert_true(fabs(levers.lever[i - 1].power_change_w) >= fabs(levers.lever[i].power_change_w));
  end(&s);
}

/* ---- bits and inputs ------------------------------------------------------------------------- */

static void one_and_two_threads_agree(void **state) {
  (void)state;
#ifdef _OPENMP
  setting s;
  begin(&s);
  finish(&s);
  ta_levers one, two;
  omp_set_num_threads(1);
  one = pull_all(&s, true);
  omp_set_num_threads(2);
  two = pull_all(&s, true);
  assert_int_equal(one.count, two.count);
  for (size_t i = 0; i < one.count; i++) {
    const ta_lever *a = &one.lever[i], *b = &two.lever[i];
    assert_string_equal(a->name, b->name);
    assert_true(a->shaft_share == b->shaft_share && a->cap_change == b->cap_change &&
                a->power_change_w == b->power_change_w && a->time_change_s == b->time_change_s);
  }
  end(&s);
#else
  skip();
#endif
}

static void the_event_is_untouched(void **state) {
  (void)state;
  setting s;
  begin(&s);
  finish(&s);
  ta_event before;
  ta_prepared prepared;
  ta_station station[2];
  ta_course_point course[INVENTED_ROWS];
  double gear[GEARS];
  memcpy(&before, &s.d.it.event, sizeof before);
  memcpy(&prepared, &s.d.prepared, sizeof prepared);
  memcpy(station, s.station, sizeof station);
  memcpy(course, s.d.it.course, sizeof course);
  memcpy(gear, s.d.gear, sizeof gear);
  (void)pull_all(&s, true);
  assert_memory_equal(&before, &s.d.it.event, sizeof before);
  assert_memory_equal(&prepared, &s.d.prepared, sizeof prepared);
  assert_memory_equal(station, s.station, sizeof station);
  assert_memory_equal(course, s.d.it.course, sizeof course);
  assert_memory_equal(gear, s.d.gear, sizeof gear);
  end(&s);
}

static void refusals(void **state) {
  (void)state;
  setting s;
  begin(&s);
  finish(&s);
  ta_placed_point at = {.elevation_m = SUMMIT_M};
  ta_levers levers = {.distance_m = -7.0};
  assert_int_equal(ta_levers_make(NULL, &at, NULL, &levers), TA_ERR_ARGUMENT);
  assert_int_equal(ta_levers_make(&s.d.prepared, NULL, NULL, &levers), TA_ERR_ARGUMENT);
  assert_int_equal(ta_levers_make(&s.d.prepared, &at, NULL, NULL), TA_ERR_ARGUMENT);
  at.elevation_m = 9500.0; /* above the column of air */
  assert_int_equal(ta_levers_make(&s.d.prepared, &at, NULL, &levers), TA_ERR_DOMAIN);
  assert_true(levers.distance_m == -7.0);
  end(&s);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_lever_is_a_changed_event),
      cmocka_unit_test(levers_that_not_every_car_has),
      cmocka_unit_test(a_target_over_engine_speed),
      cmocka_unit_test(shift_speed_and_the_top_of_the_window),
      cmocka_unit_test(what_looks_like_margin),
      cmocka_unit_test(a_step_stays_within_what_its_key_takes),
      cmocka_unit_test(on_the_standard_day),
      cmocka_unit_test(the_power_is_that_of_goal_and_cap),
      cmocka_unit_test(signs),
      cmocka_unit_test(the_order),
      cmocka_unit_test(without_hold_a_lever_is_absent),
      cmocka_unit_test(a_day_that_cannot_be_had),
      cmocka_unit_test(past_what_the_map_can_tell),
      cmocka_unit_test(a_car_that_cannot_climb_has_no_time),
      cmocka_unit_test(one_and_two_threads_agree),
      cmocka_unit_test(the_event_is_untouched),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
