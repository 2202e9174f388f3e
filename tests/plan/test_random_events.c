/* test_random_events.c - a property of every event: no cap in any form, solved again on its own with
 * overshoot and sensor error on, passes the limit anywhere; none is above the goal; nothing fails.
 *
 * Drawn: the compressor, the engine and its cycle, one turbo or several, leaks, restrictors, springs,
 * sensors, what the controller holds, the goal in boost, MAP or rows, the day, and the road with its
 * dips and marks.  TA_EVENTS sets how many, TA_FIRST the first of them. */
#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"
#include "thinair/plan.h"

enum { SHAPES = 6, EVENTS = 1050, DRAWS = 128, HEIGHTS = 14 };
static const double SAME = 1e-6; /* relative, of the limit */

static const invented_shape shapes[SHAPES] = {
    {151300.0, 0.187, 0.372, 0.431, 0.52, 0.771}, {203700.0, 0.071, 0.163, 0.397, 0.61, 0.742},
    {94100.0, 0.431, 0.817, 0.513, 0.43, 0.793},  {118900.0, 0.253, 0.457, 0.466, 0.83, 0.764},
    {172300.0, 0.119, 0.291, 0.352, 0.37, 0.733}, {134700.0, 0.211, 0.509, 0.561, 0.68, 0.781},
};

static double spread(uint64_t *next, double low, double high) {
  return low + (high - low) * invented_random((*next)++);
}

static bool in(uint64_t *next, double share) {
  return invented_random((*next)++) < share;
}

static void draw_road(uint64_t *next, invented *it) {
  static const char *const marks[] = {"one",  "two", "three", "four",
                                      "five", "six", "seven", "eight"};
  const size_t count = 2 + (size_t)spread(next, 0.0, 5.0);
  double at_m = spread(next, 0.0, 900.0), elevation_m = spread(next, 300.0, 2300.0);
  const double steep = in(next, 0.34) ? 1.0 : 0.0; /* most of them level: soon solved */
  if (steep == 0.0) elevation_m += spread(next, 0.0, 2500.0);
  memset(it->course, 0, sizeof it->course);
  for (size_t i = 0; i < count; i++) {
    it->course[i] = (ta_course_point){.distance_m = at_m, .elevation_m = elevation_m};
    if (in(next, 0.6)) it->course[i].mark = marks[i];
    at_m += spread(next, 3000.0, 9000.0);
    elevation_m += steep * spread(next, -300.0, 1000.0);
  }
  it->event.course.count = count;
}

static void draw_day(uint64_t *next, invented *it) {
  it->event.day = (ta_day_reading){.isa_offset_k = spread(next, -25.0, 27.0),
                                   .isa_humidity = spread(next, 0.0, 1.0),
                                   .lapse_rate_k_m = spread(next, 0.004, 0.0085)};
  it->event.day_is_isa = in(next, 0.5);
  if (it->event.day_is_isa) return;
  double low_m, high_m;
  ta_course_range(&it->event.course, &low_m, &high_m);
  ta_air isa;
  assert_int_equal(ta_isa_at(ta_geopotential_m(low_m), &isa), TA_OK);
  const double warmth = spread(next, -9.0, 20.0);
  it->station[0] = (ta_station){.elevation_m = low_m,
                                .temperature_k = isa.temperature_k + warmth,
                                .pressure_pa = isa.pressure_pa * spread(next, 0.975, 1.02),
                                .has_pressure = true,
                                .humidity = spread(next, 0.0, 1.0),
                                .has_humidity = in(next, 0.5)};
  it->station[1] =
      (ta_station){.elevation_m = low_m + spread(next, 0.3, 1.0) * (high_m - low_m) + 50.0,
                   .temperature_k = 0.0};
  it->station[1].temperature_k =
      it->station[0].temperature_k -
      spread(next, 0.001, 0.008) * (it->station[1].elevation_m - it->station[0].elevation_m);
  it->event.day.station = it->station;
  it->event.day.station_count = in(next, 0.5) ? 2 : 1;
}

static void draw_control(uint64_t *next, ta_control *control) {
  *control = (ta_control){.holds = (int)spread(next, 0.0, 3.0),
                          .overshoot_pa = in(next, 0.2) ? 0.0 : spread(next, 1e3, 12e3),
                          .map_error_pa = in(next, 0.5) ? 0.0 : spread(next, 500.0, 4e3),
                          .barometer_error_pa = spread(next, 0.0, 1500.0),
                          .has_barometer_read_at = in(next, 0.3),
                          .barometer_read_at_m = spread(next, 300.0, 2500.0),
                          .has_map_sensor = in(next, 0.15),
                          .map_sensor_pa = spread(next, 150e3, 260e3),
                          .has_minimum_boost = in(next, 0.3),
                          .minimum_boost_pa = spread(next, 15e3, 190e3),
                          .resolution_pa = spread(next, 100.0, 2500.0),
                          .positions = floor(spread(next, 1.0, 5.0))};
}

static void draw_goal(uint64_t *next, invented *it) {
  const double window = it->event.car.engine.window_rpm[0], boost_pa = spread(next, 60e3, 185e3);
  const double start_pa = invented_air(it->course[0].elevation_m, 0.0, 0.0).pressure_pa;
  const double kind = spread(next, 0.0, 1.0);
  it->event.goal = (ta_goal){.margin = spread(next, 0.0, 0.07)};
  if (kind < 0.35) {
    it->event.goal.boost_pa = boost_pa;
    it->event.goal.has_boost = true;
  } else if (kind < 0.7) {
    it->event.goal.map_pa = boost_pa + start_pa;
    it->event.goal.has_map = true;
  } else {
    it->event.goal.point = it->goal;
    it->event.goal.point_count = 2 + (size_t)spread(next, 0.0, 3.0);
    for (size_t i = 0; i < it->event.goal.point_count; i++) {
      const double here_pa = boost_pa * spread(next, 0.75, 1.1);
      it->goal[i] = (ta_goal_point){.engine_rpm = window * (0.9 + 0.27 * (double)i),
                                    .boost_pa = here_pa,
                                    .map_pa = here_pa + start_pa,
                                    .has_map = in(next, 0.5)};
      it->goal[i].has_boost = !it->goal[i].has_map;
    }
  }
}

static void draw_car(uint64_t *next, const invented_shape *shape, invented *it) {
  ta_car *car = &it->event.car;
  const double boost_pa = 120e3, ambient_pa = 75e3;
  car->engine.cycle = in(next, 0.6) ? TA_FOUR_STROKE : in(next, 0.5) ? TA_TWO_STROKE : TA_ROTARY;
  for (size_t i = 0; i < car->engine.ve_count; i++) it->ve[i].ve *= spread(next, 0.87, 1.08);
  car->engine.window_rpm[0] = spread(next, 3000.0, 4900.0);
  car->engine.window_rpm[1] = car->engine.window_rpm[0] + spread(next, 300.0, 3300.0);
  car->engine.has_redline = in(next, 0.6);
  car->engine.redline_rpm = car->engine.window_rpm[1] + spread(next, 0.0, 500.0);
  car->turbo.count = in(next, 0.7) ? 1.0 : floor(spread(next, 2.0, 5.0));
  car->turbo.imbalance = spread(next, 0.0, 0.05);
  car->turbo.thin_air.off = in(next, 0.15);
  car->turbo.rated_rpm = shape->top_rpm * spread(next, 0.82, 1.17);
  car->intake.temperature_rise_k = spread(next, 0.0, 15.0);
  ta_charge_cooler *cooler = &car->charge_cooler;
  cooler->effectiveness = in(next, 0.1) ? 0.0 : spread(next, 0.4, 0.95);
  cooler->has_coolant = in(next, 0.3);
  cooler->coolant_k = spread(next, 273.0, 318.0);
  cooler->leak = in(next, 0.5) ? 0.0 : spread(next, 0.0, 0.08);
  const double flow = spread(next, 0.45, 1.75) * shape->choke_kg_s * car->turbo.count *
                      pow((boost_pa + ambient_pa) / ambient_pa / 3.6, 0.5) * ambient_pa / 101325.0;
  car->engine.displacement_m3 = flow * 60.0 * (car->engine.cycle == TA_FOUR_STROKE ? 2.0 : 1.0) *
                                287.0 * 315.0 /
                                ((boost_pa + ambient_pa) * car->engine.window_rpm[1]);
  car->intake.drop.at_flow_kg_s = flow * spread(next, 0.9, 1.6);
  cooler->drop.at_flow_kg_s = flow * spread(next, 0.9, 1.6);
  car->intake.has_restrictor = in(next, 0.2);
  car->intake.restrictor =
      (ta_restrictor){.count = floor(spread(next, 1.0, 3.0)), .recovery = spread(next, 0.5, 1.0)};
  car->intake.restrictor.diameter_m =
      sqrt(4.0 * flow * sqrt(287.0 * 290.0) / (0.6847 * ambient_pa * spread(next, 0.6, 1.05)) /
           (3.14159265358979 * car->intake.restrictor.count));
}

static void draw(uint64_t number, invented *it) {
  uint64_t next = number * DRAWS;
  const invented_shape *shape = &shapes[number % SHAPES];
  invented_make(it);
  invented_lines(shape, it);
  it->event.car.turbo.compressor.line_count = 3; /* every other line: made in half the time */
  for (size_t i = 0; i < 3; i++) it->line[i] = it->line[2 * i + 1];
  draw_road(&next, it);
  draw_day(&next, it);
  draw_car(&next, shape, it);
  draw_control(&next, &it->event.car.control);
  draw_goal(&next, it);
  assert_true(next <= (number + 1) * DRAWS);
}

/* What the reader would refuse: a goal that is no boost. */
static bool is_valid(const ta_prepared *prepared) {
  double low, high, low_m, high_m;
  const ta_event *event = prepared->event;
  const ta_speed_range all = {1.0, 30000.0};
  ta_prepared_goal_range(prepared, all, &low, &high);
  ta_course_range(&event->course, &low_m, &high_m);
  return event->car.control.holds == TA_HOLDS_GAUGE ? low > 0.0
                                                    : low > judged_air(prepared, low_m).pressure_pa;
}

typedef struct {
  const ta_prepared *prepared;
  uint64_t number;
  int bad;
} check;

static void fault(check *c, const char *what, double got, double limit) {
  print_error("event %u: %s: %.9g, limit %.9g (%+.2e)\n", (unsigned)c->number, what, got, limit,
              got / limit - 1.0);
  c->bad++;
}

/* Elevation at a share of the way along a part of the road. */
static ta_air air_along(const check *c, double from_m, double to_m, double share) {
  return judged_air(c->prepared, ta_course_elevation(&c->prepared->event->course,
                                                     from_m + share * (to_m - from_m)));
}

/* Within the limit along a part of the road; where no cap can be had even the least passes it. */
static void hold(check *c, const char *what, double from_m, double to_m, double high_rpm,
                 double cap, bool can_be_had) {
  const ta_event *event = c->prepared->event;
  double fastest = 0.0;
  for (int i = 0; i <= HEIGHTS; i++) {
    const ta_air air = air_along(c, from_m, to_m, (double)i / HEIGHTS);
    fastest = fmax(fastest, judged_fastest(c->prepared, &air, event->car.engine.window_rpm[0],
                                           high_rpm, 211.0, cap));
  }
  for (size_t i = 0; i < event->course.count; i++) {
    const ta_course_point *point = &event->course.point[i];
    if (point->distance_m < from_m || point->distance_m > to_m) continue;
    const ta_air air = judged_air(c->prepared, point->elevation_m);
    fastest = fmax(fastest, judged_fastest(c->prepared, &air, event->car.engine.window_rpm[0],
                                           high_rpm, 211.0, cap));
  }
  const double limit = c->prepared->limit_rpm;
  if (can_be_had && !(fastest <= limit * (1.0 + SAME))) fault(c, what, fastest, limit);
}

static void check_constant(check *c, const ta_constant_cap *cap, double from_m, double to_m,
                           double goal, const char *what) {
  if (!(cap->set_point <= goal * (1.0 + 1e-12))) fault(c, what, cap->set_point, goal);
  if (!isfinite(cap->set_point) || !isfinite(cap->per_10k)) fault(c, "no number", 0.0, 1.0);
  if (cap->can_be_had == (cap->limited_by == TA_BY_MINIMUM_BOOST)) fault(c, "by", 0.0, 1.0);
  if (cap->limited_by == TA_BY_GOAL && cap->set_point < goal * (1.0 - 1e-12))
    fault(c, "by the goal", cap->set_point, goal);
  hold(c, what, from_m, to_m, c->prepared->event->car.engine.window_rpm[1], cap->set_point,
       cap->can_be_had);
}

static void check_schedule(check *c, const ta_plan *plan, double goal) {
  const ta_schedule *schedule = &plan->caps.schedule;
  const ta_event *event = c->prepared->event;
  const ta_control *control = &event->car.control;
  if ((schedule->count == 0) != (control->holds == TA_HOLDS_GAUGE_KEY_ON))
    fault(c, "no schedule", 0.0, 1.0);
  bool had = schedule->count > 0;
  for (size_t i = 0; i < schedule->count; i++) {
    had = had && schedule->row[i].cap.can_be_had;
    if (!(schedule->row[i].set_point <= goal * (1.0 + 1e-12)))
      fault(c, "schedule above the goal", schedule->row[i].set_point, goal);
  }
  if (!had) return;
  const double top_rpm = ta_controller_speeds(&event->car).high_rpm;
  const double end_m = event->course.point[event->course.count - 1].distance_m;
  for (int i = 0; i <= HEIGHTS; i++) {
    const ta_air air = air_along(c, event->course.point[0].distance_m, end_m, (double)i / HEIGHTS);
    const double reading = air.pressure_pa + control->barometer_error_pa *
                                                 invented_random(c->number * 37 + (uint64_t)i);
    const double shaft = judged_fastest(c->prepared, &air, event->car.engine.window_rpm[0], top_rpm,
                                        97.0, ta_schedule_read(c->prepared, schedule, reading));
    if (!(shaft <= c->prepared->limit_rpm * (1.0 + SAME)))
      fault(c, "schedule", shaft, c->prepared->limit_rpm);
  }
}

static void check_table(check *c, const ta_controller_table *table) {
  const ta_event *event = c->prepared->event;
  const ta_course_point *road = event->course.point;
  const ta_speed_range range = ta_controller_speeds(&event->car);
  if ((table->set_point == NULL) != (event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON))
    fault(c, "no table", 0.0, 1.0);
  if (table->set_point == NULL || !table->can_be_had) return;
  const double end_m = road[event->course.count - 1].distance_m;
  for (int i = 0; i <= HEIGHTS; i++) {
    const ta_air air = air_along(c, road[0].distance_m, end_m, (double)i / HEIGHTS);
    const double reading = air.pressure_pa + event->car.control.barometer_error_pa *
                                                 invented_random(c->number * 41 + (uint64_t)i);
    for (int k = 0; k <= 16; k++) {
      const double rpm = range.low_rpm + (range.high_rpm - range.low_rpm) * k / 16;
      const double set_point = ta_controller_table_read(c->prepared, table, reading, rpm),
                   goal = ta_prepared_goal(c->prepared, rpm);
      if (event->goal.point_count == 0 && !(set_point <= goal * (1.0 + 1e-12)))
        fault(c, "table above the goal", set_point, goal);
      const double shaft = judged_fastest(c->prepared, &air, rpm, rpm, 97.0, set_point);
      if (!(shaft <= c->prepared->limit_rpm * (1.0 + SAME)))
        fault(c, "table", shaft, c->prepared->limit_rpm);
    }
  }
}

/* The forms of a cap that a plan holds: all, or one beside the constant. */
typedef enum { WHOLE, SCHEDULE, TABLE, POSITIONS, SHIFT_SPEED, CONSTANT, FORMS } form;

static void check_verdict(check *c, const ta_plan *plan, double start_m, double end_m) {
  bool any = false;
  for (int r = 0; r < TA_REASON_COUNT; r++) any = any || plan->reason[r];
  const ta_verdict verdict = plan->reason[TA_REASON_OVER]         ? TA_OVER
                             : plan->reason[TA_REASON_CANNOT_CAP] ? TA_CANNOT_CAP
                             : any                                ? TA_UNSURE
                                                                  : TA_CLEAR;
  if (plan->verdict != verdict) fault(c, "verdict", plan->verdict, verdict);
  if (verdict == TA_CLEAR)
    hold(c, "clear", start_m, end_m, c->prepared->event->car.engine.window_rpm[1], HUGE_VAL, true);
  const bool over = plan->reason[TA_REASON_OVER] || plan->reason[TA_REASON_CANNOT_CAP];
  if (over != (plan->over.count > 0)) fault(c, "over", (double)plan->over.count, over);
  if (plan->over.count > 0 && plan->caps.constant.limited_by == TA_BY_GOAL)
    fault(c, "over, and no cap", 0.0, 1.0);
}

static void check_plan(check *c, const ta_plan *plan, form held) {
  const ta_event *event = c->prepared->event;
  const ta_course_point *road = event->course.point;
  const double end_m = road[event->course.count - 1].distance_m, start_m = road[0].distance_m;
  double lowest, goal, redline_goal;
  ta_prepared_goal_range(c->prepared, ta_judged_speeds(&event->car), &lowest, &goal);
  ta_prepared_goal_range(c->prepared, ta_controller_speeds(&event->car), &lowest, &redline_goal);
  check_constant(c, &plan->caps.constant, start_m, end_m, goal, "constant");
  for (size_t i = 0; i < plan->caps.positions.count; i++) {
    const ta_position *p = &plan->caps.positions.position[i];
    check_constant(c, &p->cap, p->from_distance_m,
                   i + 1 < plan->caps.positions.count ? p[1].from_distance_m : end_m, goal,
                   "position");
  }
  if (held == WHOLE || held == SCHEDULE) check_schedule(c, plan, redline_goal);
  if (held == WHOLE || held == TABLE) check_table(c, &plan->caps.table);
  if ((held == WHOLE || held == SHIFT_SPEED) && !plan->caps.shift.none)
    hold(c, "shift speed", start_m, end_m, plan->caps.shift.engine_rpm, HUGE_VAL, true);
  if (held == WHOLE) check_verdict(c, plan, start_m, end_m);
  for (size_t i = 0; i < plan->profile.count; i++)
    if (isnan(plan->profile.node[i].shaft_rpm) || isnan(plan->profile.node[i].power_w))
      fault(c, "no number", (double)i, 1.0);
}

/* A whole plan takes long: of most events only one form. */
static ta_status plan_form(const ta_prepared *prepared, form held, ta_plan *plan) {
  if (held == WHOLE) return ta_plan_make(prepared, plan);
  memset(plan, 0, sizeof *plan);
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  ta_status status = ta_profile_make(prepared, window, HUGE_VAL, &plan->profile);
  if (status == TA_OK)
    status = ta_constant_cap_find(prepared, &plan->profile, &plan->caps.constant);
  if (status != TA_OK || held == CONSTANT) return status;
  if (held == TABLE) return ta_controller_table_find(prepared, true, &plan->caps.table);
  if (held == SCHEDULE) return ta_schedule_find(prepared, &plan->caps.schedule);
  if (held == POSITIONS)
    return ta_positions_find(prepared, &plan->profile,
                             (size_t)prepared->event->car.control.positions, &plan->caps.positions);
  return ta_shift_speed_find(prepared, &plan->profile, &plan->caps.shift);
}

static uint64_t from_environment(const char *name, uint64_t otherwise) {
  const char *text = getenv(name);
  return text != NULL ? strtoull(text, NULL, 10) : otherwise;
}

static void no_cap_of_any_event_passes_the_limit(void **state) {
  (void)state;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  int bad = 0;
  size_t valid = 0, of[TA_VERDICT_COUNT] = {0}, by[TA_LIMITED_BY_COUNT] = {0}, shifts = 0, rows = 0,
         switched = 0;
  const uint64_t first = from_environment("TA_FIRST", 0),
                 count = from_environment("TA_EVENTS", EVENTS);
  for (uint64_t number = first; number < first + count; number++) {
    invented it;
    draw(number, &it);
    ta_prepared prepared;
    assert_int_equal(ta_prepare(&it.event, &prepared), TA_OK);
    if (is_valid(&prepared)) {
      check c = {&prepared, number, 0};
      const form held = number % 8 < CONSTANT ? (form)(number % 8) : CONSTANT;
      const ta_status status = plan_form(&prepared, held, plan);
      if (status != TA_OK) {
        fault(&c, ta_status_name(status), 0.0, 1.0);
      } else {
        valid++;
        of[plan->verdict] += held == WHOLE;
        by[plan->caps.constant.limited_by]++;
        shifts += plan->caps.shift.engine_rpm > 0.0 && !plan->caps.shift.none &&
                  !plan->caps.shift.whole_window;
        switched += plan->caps.positions.count > 1;
        rows += plan->caps.schedule.count;
        check_plan(&c, plan, held);
        ta_plan_free(plan);
      }
      bad += c.bad;
    }
    ta_prepared_free(&prepared);
  }
  free(plan);
  print_message(
      "%zu events: %zu over, %zu cannot cap, %zu unsure, %zu clear; %zu shift speeds, %zu "
      "with positions, %zu rows\n",
      valid, of[TA_OVER], of[TA_CANNOT_CAP], of[TA_UNSURE], of[TA_CLEAR], shifts, switched, rows);
  for (int i = 0; i < TA_LIMITED_BY_COUNT; i++)
    print_message("  %zu by %s\n", by[i], ta_limited_by_name((ta_limited_by)i));
  assert_int_equal(bad, 0);
  if (count < EVENTS) return;
  assert_true(valid >= 1000 && shifts > 20 && switched > 8 && rows > 1100);
  /* these cars have no turbine: test_drive.c has */
  for (int i = 0; i < TA_VERDICT_COUNT; i++) assert_true(i == TA_CANNOT_HOLD || of[i] > 1);
  for (int i = 0; i < TA_LIMITED_BY_COUNT; i++) assert_true(i == TA_BY_DRIVE || by[i] > 1);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {cmocka_unit_test(no_cap_of_any_event_passes_the_limit)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
