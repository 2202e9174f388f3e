/* test_plan.c - the whole plan: every verdict and every reason provoked. */
#include <gsl/gsl_errno.h>

#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/plan.h"

static void make(const invented *it, ta_prepared *prepared, ta_plan *plan) {
  assert_int_equal(ta_prepare(&it->event, prepared), TA_OK);
  assert_int_equal(ta_plan_make(prepared, plan), TA_OK);
}

static void change_nothing(invented *it) {
  it->event.goal.map_pa = 146e3;
}

static void change_to_over(invented *it) {
  it->event.goal.map_pa = 173300.0;
}

static void change_to_unreachable(invented *it) {
  it->event.goal.map_pa = 351e3;
}

static void change_to_far_above_the_top_line(invented *it) {
  it->event.goal.map_pa = 191e3;
  it->event.car.turbo.rated_rpm = 211e3;
}

static void change_to_surge(invented *it) {
  it->event.goal.map_pa = 191e3;
  it->event.car.engine.displacement_m3 *= 0.4;
}

static void change_to_choke(invented *it) {
  for (size_t i = 0; i < 3; i++) it->course[i].elevation_m = 3907.0 + 53.0 * (double)i;
  it->event.goal.map_pa = 91e3;
  it->event.car.engine.displacement_m3 *= 1.7;
  it->event.car.turbo.rated_rpm = 191e3;
}

/* Within the limit, but by less than what the lines know of each other. */
static void change_to_nearly_at_the_limit(invented *it) {
  it->event.goal.map_pa = 146e3;
  ta_prepared prepared;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  make(it, &prepared, plan);
  assert_true(plan->map_error > 1e-6);
  it->event.car.turbo.rated_rpm = plan->over.worst.point.shaft_rpm * (1.0 + 0.7 * plan->map_error) /
                                  (1.0 - it->event.goal.margin);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
}

static void change_to_one_cold_reading(invented *it) {
  it->event.goal.map_pa = 146e3;
  it->event.day_is_isa = false;
  it->station[0] = (ta_station){
      .elevation_m = 1463.0, .temperature_k = 266.3, .pressure_pa = 85300.0, .has_pressure = true};
  it->event.day =
      (ta_day_reading){.station = it->station, .station_count = 1, .lapse_rate_k_m = 0.0065};
}

/* Two lines of the map: how well they predict each other cannot be told. */
static void change_to_two_lines(invented *it) {
  it->event.goal.map_pa = 146e3;
  ta_compressor *compressor = &it->event.car.turbo.compressor;
  compressor->line[1] = compressor->line[compressor->line_count - 1];
  compressor->line_count = 2;
}

/* 30 K colder 400 m higher: still air cannot be. */
static void change_to_stations_that_disagree(invented *it) {
  it->event.goal.map_pa = 146e3;
  it->event.day_is_isa = false;
  it->station[0] = (ta_station){
      .elevation_m = 1463.0, .temperature_k = 296.3, .pressure_pa = 85300.0, .has_pressure = true};
  it->station[1] = (ta_station){.elevation_m = 1871.0, .temperature_k = 266.3};
  it->event.day =
      (ta_day_reading){.station = it->station, .station_count = 2, .lapse_rate_k_m = 0.0065};
}

static double restrictor_share(const invented *it) {
  ta_prepared prepared;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  make(it, &prepared, plan);
  const double share = plan->over.worst.point.restrictor_share;
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
  return share;
}

/* Within the limit, its throat at a share of the choked flow. */
static void restrict_to(invented *it, double share) {
  it->event.goal.map_pa = 146e3;
  it->event.car.turbo.rated_rpm = 171e3;
  it->event.car.intake.has_restrictor = true;
  it->event.car.intake.restrictor = (ta_restrictor){0.047, 1.0, 0.93};
  for (int i = 0; i < 30; i++)
    it->event.car.intake.restrictor.diameter_m *= sqrt(restrictor_share(it) / share);
}

static void change_to_a_throat_near_choke(invented *it) {
  restrict_to(it, 0.974);
}

static void change_to_a_throat_not_so_near(invented *it) {
  restrict_to(it, 0.966);
}

static void change_to_a_choked_throat(invented *it) {
  restrict_to(it, 0.97);
  it->event.car.intake.restrictor.diameter_m *= 0.91;
}

static void change_to_a_blind_sensor(invented *it) {
  it->event.goal.map_pa = 146e3;
  it->event.car.control.has_map_sensor = true;
  it->event.car.control.map_sensor_pa = (146e3 + 5300.0) / 0.98 - 3.0;
}

/* Of a boost it is blind where the air is densest: 85 kPa at the start, 61 kPa at the summit. */
static void change_to_a_sensor_blind_at_the_start(invented *it) {
  it->event.car.control.holds = TA_HOLDS_GAUGE;
  it->event.goal = (ta_goal){.boost_pa = 61e3, .has_boost = true, .margin = 0.037};
  it->event.car.control.has_map_sensor = true;
  it->event.car.control.map_sensor_pa = 147e3;
}

static void change_to_a_sensor_that_just_reaches(invented *it) {
  change_to_a_blind_sensor(it);
  it->event.car.control.map_sensor_pa += 6.0;
}

/* The target would hold, the spring passes the limit. */
static void change_to_a_hard_spring(invented *it) {
  it->event.goal.map_pa = 146e3;
  it->event.car.control.has_minimum_boost = true;
  it->event.car.control.minimum_boost_pa = 113e3;
}

static void change_to_a_hard_spring_and_too_much(invented *it) {
  change_to_a_hard_spring(it);
  it->event.goal.map_pa = 173300.0;
}

static void change_to_hardly_any_boost(invented *it) {
  it->event.goal.map_pa = 88e3;
  it->event.car.engine.displacement_m3 *= 0.55;
  for (size_t i = 0; i < 4; i++) it->course[i].elevation_m = 1463.0 + 17.0 * (double)i;
}

/* Two thirds of the exhaust's heat are gone: nothing like the target can be driven. */
static void change_to_a_cold_turbine(invented *it) {
  change_nothing(it);
  static ta_turbine_flow flow[] = {{1.2, 0.131}, {1.6, 0.172}, {2.1, 0.186}, {3.1, 0.193}};
  it->event.car.turbo.has_turbine = true;
  it->event.car.turbo.turbine = (ta_turbine){.inlet_temperature_k = 611.0,
                                             .efficiency = 0.47,
                                             .has_efficiency = true,
                                             .mechanical_efficiency = 0.96,
                                             .reference_pa = 101325.0,
                                             .reference_k = 288.15,
                                             .flow = flow,
                                             .flow_count = 4,
                                             .back_pressure_pa = 5900.0,
                                             .at_flow_kg_s = 0.297,
                                             .measured_pa = 101325.0,
                                             .gamma = 1.32,
                                             .gas_constant_jkgk = 290.0};
}

/* Past the map at every engine speed, and hopeless to drive: it is the shaft that is told of. */
static void change_to_unreachable_with_a_cold_turbine(invented *it) {
  change_to_a_cold_turbine(it);
  it->event.goal.map_pa = 653e3;
}

/* Its limit lies below what it drives, and the target above. */
static void change_to_over_on_the_way_to_what_is_not_driven(invented *it) {
  change_to_a_cold_turbine(it);
  it->event.car.turbo.rated_rpm = 101e3;
}

static void every_verdict_and_reason(void **state) {
  (void)state;
  static const struct {
    const char *row;
    void (*change)(invented *it);
    ta_verdict verdict;
    bool reason[TA_REASON_COUNT];
  } rows[] = {
      {"clear", change_nothing, TA_CLEAR, {false}},
      {"over", change_to_over, TA_OVER, {[TA_REASON_OVER] = true}},
      {"unreachable",
       change_to_unreachable,
       TA_OVER,
       {[TA_REASON_OVER] = true, [TA_REASON_UNREACHABLE] = true}},
      {"far above the top line",
       change_to_far_above_the_top_line,
       TA_UNSURE,
       {[TA_REASON_FAR_EXTRAPOLATED] = true}},
      {"surge",
       change_to_surge,
       TA_UNSURE,
       {[TA_REASON_SURGE] = true, [TA_REASON_SURGE_IN_WINDOW] = true}},
      {"choke", change_to_choke, TA_UNSURE, {[TA_REASON_CHOKE] = true}},
      {"nearly at the limit",
       change_to_nearly_at_the_limit,
       TA_UNSURE,
       {[TA_REASON_MAP_ERROR] = true}},
      {"one cold reading",
       change_to_one_cold_reading,
       TA_UNSURE,
       {[TA_REASON_COLD_READING] = true}},
      {"two speed lines", change_to_two_lines, TA_UNSURE, {[TA_REASON_MAP_ERROR_UNKNOWN] = true}},
      {"stations that disagree",
       change_to_stations_that_disagree,
       TA_UNSURE,
       {[TA_REASON_STATIONS_DISAGREE] = true}},
      {"a throat near choke",
       change_to_a_throat_near_choke,
       TA_UNSURE,
       {[TA_REASON_RESTRICTOR] = true}},
      {"a throat not so near", change_to_a_throat_not_so_near, TA_CLEAR, {false}},
      {"a choked throat",
       change_to_a_choked_throat,
       TA_OVER,
       {[TA_REASON_OVER] = true, [TA_REASON_RESTRICTOR] = true}},
      {"a blind sensor", change_to_a_blind_sensor, TA_UNSURE, {[TA_REASON_MAP_SENSOR] = true}},
      {"a sensor blind at the start",
       change_to_a_sensor_blind_at_the_start,
       TA_UNSURE,
       {[TA_REASON_MAP_SENSOR] = true}},
      {"a sensor that just reaches", change_to_a_sensor_that_just_reaches, TA_CLEAR, {false}},
      {"a hard spring", change_to_a_hard_spring, TA_CANNOT_CAP, {[TA_REASON_CANNOT_CAP] = true}},
      {"a hard spring and too much",
       change_to_a_hard_spring_and_too_much,
       TA_OVER,
       {[TA_REASON_OVER] = true, [TA_REASON_CANNOT_CAP] = true}},
      {"a cold turbine",
       change_to_a_cold_turbine,
       TA_CANNOT_HOLD,
       {[TA_REASON_CANNOT_HOLD] = true}},
      {"unreachable with a cold turbine",
       change_to_unreachable_with_a_cold_turbine,
       TA_OVER,
       {[TA_REASON_OVER] = true, [TA_REASON_UNREACHABLE] = true}},
      {"over on the way to what is not driven",
       change_to_over_on_the_way_to_what_is_not_driven,
       TA_CANNOT_HOLD,
       {[TA_REASON_CANNOT_HOLD] = true, [TA_REASON_OVER] = true}},
      {"hardly any boost", change_to_hardly_any_boost, TA_CLEAR, {false}},
  };
  bool provoked[TA_REASON_COUNT] = {false}, zone[TA_ZONE_COUNT] = {false},
       verdict[TA_VERDICT_COUNT] = {false};
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    invented_make(&it);
    rows[i].change(&it);
    ta_prepared prepared;
    make(&it, &prepared, plan);
    if (plan->verdict != rows[i].verdict) {
      print_error("%s: %s\n", rows[i].row, ta_verdict_name(plan->verdict));
      bad++;
    }
    zone[plan->over.worst.point.zone] = true;
    /* a place that no speed can be named for lies in a stretch over the limit */
    if (plan->over.worst.point.zone == TA_UNREACHABLE) {
      const double at_m = plan->over.worst.distance_m;
      bool covered = false;
      for (size_t k = 0; k < plan->over.count; k++)
        covered = covered || (plan->over.stretch[k].from_distance_m <= at_m &&
                              plan->over.stretch[k].to_distance_m >= at_m);
      if (!covered) fail_msg("%s: no stretch", rows[i].row);
    }
    verdict[plan->verdict] = true;
    for (int r = 0; r < TA_REASON_COUNT; r++) {
      provoked[r] = provoked[r] || plan->reason[r];
      if (plan->reason[r] == rows[i].reason[r]) continue;
      print_error("%s: reason %d is %d (worst %s, %+.3f of the top line, %.0f rpm)\n", rows[i].row,
                  r, plan->reason[r], ta_zone_name(plan->over.worst.point.zone),
                  plan->over.worst.point.beyond_top_line, plan->over.worst.point.shaft_rpm);
      bad++;
    }
    ta_plan_free(plan);
    ta_prepared_free(&prepared);
  }
  free(plan);
  for (int r = 0; r < TA_REASON_COUNT; r++) assert_true(provoked[r]);
  for (int z = 0; z < TA_ZONE_COUNT; z++) assert_true(zone[z]);
  for (int v = 0; v < TA_VERDICT_COUNT; v++) assert_true(verdict[v]);
  assert_int_equal(bad, 0);
}

/* Over wins over every doubt. */
static void over_wins(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  change_to_one_cold_reading(&it);
  it.event.goal.map_pa = 179e3;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  ta_prepared prepared;
  make(&it, &prepared, plan);
  assert_int_equal(plan->verdict, TA_OVER);
  assert_true(plan->reason[TA_REASON_OVER] && plan->reason[TA_REASON_COLD_READING]);
  assert_false(plan->reason[TA_REASON_MAP_ERROR]);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
}

/* A vehicle without a course to drive it on; and one that has corners, too. */
static void give_shift_speed(invented *it, double shift_rpm, bool corners) {
  static double gear[] = {3.11, 2.03, 1.51, 1.19, 0.97};
  it->event.car.has_vehicle = true;
  it->event.car.vehicle = (ta_vehicle){.mass_kg = 1153.0,
                                       .drag_area_m2 = 0.953,
                                       .tyre_radius_m = 0.311,
                                       .gear = gear,
                                       .gear_count = COUNT_OF(gear),
                                       .final_drive = 4.11,
                                       .drivetrain_efficiency = 0.869,
                                       .shift_rpm = shift_rpm,
                                       .grip = {1.01, 1.153, 1.049},
                                       .driven_load_share = 0.623};
  it->course[1].has_corner_radius = corners;
  it->course[1].corner_radius_m = 61.0;
}

/* What the car revs to is judged, whatever the boost window says: plan and caps are those of a window
 * that reaches as far. */
static void the_window_is_judged_up_to_the_shift_speed(void **state) {
  (void)state;
  ta_plan *plan[2];
  ta_prepared prepared[2];
  invented it[2];
  for (int i = 0; i < 2; i++) {
    plan[i] = malloc(sizeof **plan);
    assert_non_null(plan[i]);
    invented_make(&it[i]);
    give_shift_speed(&it[i], 7190.0, false);
    it[i].event.car.engine.window_rpm[1] = i == 0 ? 7190.0 : 5870.0;
    make(&it[i], &prepared[i], plan[i]);
  }
  const ta_plan *a = plan[0], *b = plan[1];
  assert_true(a->verdict == b->verdict && a->over.count == b->over.count && a->over.count > 0);
  assert_true(a->over.worst.point.shaft_rpm == b->over.worst.point.shaft_rpm);
  assert_true(b->over.worst.point.engine_rpm == 7190.0);
  assert_true(a->over.first.distance_m == b->over.first.distance_m);
  const ta_cap_set *ac = &a->caps, *bc = &b->caps;
  assert_true(ac->constant.set_point == bc->constant.set_point);
  assert_true(ac->shift.engine_rpm == bc->shift.engine_rpm && !bc->shift.whole_window);
  for (size_t i = 0; i < ac->schedule.count; i++)
    assert_true(ac->schedule.row[i].set_point == bc->schedule.row[i].set_point);
  const ta_controller_axes *axes = &bc->table.axes;
  assert_true(axes->speed_rpm[axes->speed_count - 1] == 7190.0);
  assert_int_equal(axes->speed_count, ac->table.axes.speed_count);
  for (size_t i = 0; i < axes->speed_count * axes->pressure_count; i++)
    assert_true(ac->table.set_point[i] == bc->table.set_point[i]);
  for (int i = 0; i < 2; i++) {
    ta_plan_free(plan[i]);
    ta_prepared_free(&prepared[i]);
    free(plan[i]);
  }
}

/* Below the boost window nothing is judged but the run. */
static void a_target_that_only_the_run_passes_is_over(void **state) {
  (void)state;
  static const ta_goal_point goal[] = {{3890.0, 0.0, 213100.0, false, true},
                                       {4130.0, 0.0, 137300.0, false, true},
                                       {7270.0, 0.0, 121300.0, false, true}};
  invented it;
  invented_make(&it);
  give_shift_speed(&it, 4330.0, true);
  memcpy(it.goal, goal, sizeof goal);
  it.event.goal = (ta_goal){.point = it.goal, .point_count = 3, .margin = 0.037};
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  ta_prepared prepared;
  make(&it, &prepared, plan);
  const double peak_rpm = plan->runs.peak_shaft_rpm, window_rpm = plan->over.worst.point.shaft_rpm;
  assert_true(plan->over.count == 0 && !plan->reason[TA_REASON_OVER] && peak_rpm > window_rpm);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  it.event.car.turbo.rated_rpm = (0.7 * peak_rpm + 0.3 * window_rpm) / (1.0 - 0.037);
  make(&it, &prepared, plan);
  assert_int_equal(plan->verdict, TA_OVER);
  assert_true(plan->over.count > 0 && plan->over.stretch[0].in_run);
  assert_true(plan->over.worst.point.shaft_rpm > prepared.limit_rpm);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
}

static void the_parts_are_those_of_the_parts_alone(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.car.engine.window_rpm[0] = 2311.0;
  ta_plan *plan = malloc(sizeof *plan);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(plan);
  assert_non_null(profile);
  ta_prepared prepared;
  make(&it, &prepared, plan);
  assert_int_equal(ta_profile_make(&prepared, ta_judged_speeds(&it.event.car), HUGE_VAL, profile),
                   TA_OK);
  assert_int_equal(plan->profile.count, profile->count);
  for (size_t i = 0; i < profile->count; i++)
    assert_true(plan->profile.node[i].shaft_rpm == profile->node[i].shaft_rpm);
  ta_over over;
  assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
  assert_true(plan->over.count == over.count && over.count == 1);
  assert_true(plan->over.first.distance_m == over.first.distance_m);
  assert_true(plan->over.worst.point.shaft_rpm == over.worst.point.shaft_rpm);
  ta_constant_cap cap;
  assert_int_equal(ta_constant_cap_find(&prepared, profile, &cap), TA_OK);
  assert_true(plan->caps.constant.set_point == cap.set_point);
  ta_operating_point start;
  assert_int_equal(ta_worst_in_window(&prepared, 1463.0, HUGE_VAL, &start), TA_OK);
  assert_true(plan->start.shaft_rpm == start.shaft_rpm && plan->start.map_pa == start.map_pa);
  /* surge at the goal: the higher of both ends of the course */
  ta_window_look low, high;
  assert_int_equal(ta_look_over_window(&prepared, 1463.0, &low), TA_OK);
  assert_int_equal(ta_look_over_window(&prepared, 4117.0, &high), TA_OK);
  assert_true(plan->surges_below_rpm > 2311.0 &&
              plan->surges_below_rpm == fmax(low.surges_below_rpm, high.surges_below_rpm));
  /* an absolute target: the pressure ratio, and the heat, are highest at the top */
  assert_true(high.outlet_temperature_k > low.outlet_temperature_k);
  assert_true(plan->hottest.outlet_temperature_k == high.outlet_temperature_k);
  assert_true(plan->hottest.engine_rpm == high.hottest_rpm && plan->hottest.elevation_m == 4117.0);
  ta_over_free(&over);
  ta_plan_free(plan);
  assert_true(plan->over.stretch == NULL && plan->profile.count == 0);
  ta_prepared_free(&prepared);
  free(plan);
  free(profile);
}

/* Above the boost window: what a target that is held there does, up to the redline. */
static void the_redline_is_judged_apart(void **state) {
  (void)state;
  static const double redlines[] = {7270.0, 7613.0};
  ta_plan *plan = malloc(sizeof *plan);
  ta_profile *profile = malloc(sizeof *profile);
  assert_non_null(plan);
  assert_non_null(profile);
  for (size_t i = 0; i < COUNT_OF(redlines); i++) {
    invented it;
    invented_make(&it);
    it.event.car.engine.redline_rpm = redlines[i];
    it.event.car.engine.has_redline = true;
    ta_prepared prepared;
    make(&it, &prepared, plan);
    assert_true(plan->has_redline == (redlines[i] > 7270.0));
    if (plan->has_redline) {
      ta_over over;
      const ta_speed_range above = {7270.0, 7613.0};
      assert_int_equal(ta_profile_make(&prepared, above, HUGE_VAL, profile), TA_OK);
      assert_int_equal(ta_over_find(&prepared, profile, &over), TA_OK);
      assert_true(plan->redline.count == over.count && over.count == 1);
      assert_true(plan->redline.first.distance_m == over.first.distance_m);
      assert_true(over.first.distance_m < plan->over.first.distance_m);
      ta_over_free(&over);
    } else {
      assert_true(plan->redline.count == 0 && plan->redline.stretch == NULL);
    }
    ta_plan_free(plan);
    ta_prepared_free(&prepared);
  }
  free(plan);
  free(profile);
}

static void an_alarm_lies_between_limit_and_rated_speed(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  static const struct {
    double rated_rpm, margin, alarm_rpm;
    bool has_room;
  } rows[] = {{158700.0, 0.037, 155500.0, true},  /* middle 155764.05 */
              {150000.0, 0.04, 147000.0, true},   /* the middle itself */
              {100400.0, 0.002, 100299.0, false}, /* 100000 lies below the limit of 100199.2 */
              {100700.0, 0.01, 100000.0, true}};  /* middle 100196.5, limit 99693 */
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    it.event.car.turbo.rated_rpm = rows[i].rated_rpm;
    it.event.goal.margin = rows[i].margin;
    ta_prepared prepared;
    assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
    bad += off_rel("alarm", "speed", ta_alarm_rpm(&prepared), rows[i].alarm_rpm, 1e-12);
    if (ta_alarm_has_room(&prepared) != rows[i].has_room) bad++;
    ta_prepared_free(&prepared);
  }
  assert_int_equal(bad, 0);
}

/* Above the top line counts how well the top line was foretold, between them the worst of the
 * others; of two lines nothing is known. */
static void map_error_is_that_of_the_lines_left_out(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  double rms[INVENTED_LINES];
  assert_int_equal(ta_compressor_map_leave_one_out(it.line, INVENTED_LINES, rms), TA_OK);
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  ta_prepared prepared;
  make(&it, &prepared, plan);
  assert_int_equal(plan->over.worst.point.zone, TA_EXTRAPOLATED);
  assert_true(plan->map_error == rms[INVENTED_LINES - 1] && plan->map_error > 0.0);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);

  it.event.goal.map_pa = 147e3;
  make(&it, &prepared, plan);
  assert_int_equal(plan->over.worst.point.zone, TA_MAPPED);
  double worst = 0.0;
  for (size_t i = 1; i + 1 < INVENTED_LINES; i++) worst = fmax(worst, rms[i]);
  assert_true(plan->map_error == worst && worst > 0.0);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);

  it.event.car.turbo.compressor.line = &it.line[INVENTED_LINES - 2];
  it.event.car.turbo.compressor.line_count = 2;
  make(&it, &prepared, plan);
  assert_true(plan->map_error == 0.0);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
}

static void a_flat_course_is_planned_too(void **state) {
  (void)state;
  invented it;
  invented_make(&it);
  it.event.course.count = 2;
  it.course[0].elevation_m = it.course[1].elevation_m = 4007.0;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  ta_prepared prepared;
  make(&it, &prepared, plan);
  assert_int_equal(plan->verdict, TA_OVER);
  assert_true(plan->profile.count == 1 && plan->over.starts_over && plan->over.count == 1);
  assert_true(plan->over.stretch[0].to_distance_m == it.course[1].distance_m);
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
}

static void names_and_refusals(void **state) {
  (void)state;
  assert_string_equal(ta_verdict_name(TA_OVER), "over");
  assert_string_equal(ta_verdict_name(TA_UNSURE), "unsure");
  assert_string_equal(ta_verdict_name(TA_CANNOT_CAP), "cannot_cap");
  assert_string_equal(ta_verdict_name(TA_CLEAR), "clear");
  assert_string_equal(ta_verdict_name(TA_VERDICT_COUNT), "?");
  invented it;
  invented_make(&it);
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  ta_prepared prepared;
  assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
  assert_int_equal(ta_plan_make(NULL, plan), TA_ERR_ARGUMENT);
  assert_int_equal(ta_plan_make(&prepared, NULL), TA_ERR_ARGUMENT);
  it.course[3].elevation_m = 9500.0; /* above the column of air */
  plan->verdict = TA_CLEAR;
  plan->over.count = 7;
  assert_int_equal(ta_plan_make(&prepared, plan), TA_ERR_DOMAIN);
  assert_true(plan->over.count == 0 && plan->over.stretch == NULL && plan->profile.count == 0);
  ta_plan_free(NULL);
  ta_prepared_free(&prepared);
  free(plan);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_verdict_and_reason),
      cmocka_unit_test(over_wins),
      cmocka_unit_test(the_window_is_judged_up_to_the_shift_speed),
      cmocka_unit_test(a_target_that_only_the_run_passes_is_over),
      cmocka_unit_test(the_parts_are_those_of_the_parts_alone),
      cmocka_unit_test(the_redline_is_judged_apart),
      cmocka_unit_test(an_alarm_lies_between_limit_and_rated_speed),
      cmocka_unit_test(map_error_is_that_of_the_lines_left_out),
      cmocka_unit_test(a_flat_course_is_planned_too),
      cmocka_unit_test(names_and_refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
