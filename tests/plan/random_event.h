/* random_event.h - invented events in any number: cars, compressor maps, turbines, days and goals
 * whose shaft passes its limit somewhere on the course. */
#ifndef THINAIR_RANDOM_EVENT_H
#define THINAIR_RANDOM_EVENT_H

#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/over.h"
#include "thinair/prepare.h"

enum { FLOW_POINTS = 6, GEARS = 5 };

/** Made in place: it points into itself. */
typedef struct {
  invented it;
  ta_turbine_flow flow[FLOW_POINTS];
  ta_turbine_efficiency efficiency[INVENTED_ROWS];
  double gear[GEARS];
  ta_prepared prepared;
} drawn;

static inline double spread(uint64_t *next, double low, double high) {
  return low + (high - low) * invented_random((*next)++);
}

/** A turbine whose flow is that of a nozzle; size 1 is right for the invented car. */
static inline void give_turbine(drawn *d, double size, double efficiency) {
  static const double ratio[FLOW_POINTS] = {1.19, 1.58, 2.03, 2.49, 3.02, 4.03},
                      flow[FLOW_POINTS] = {0.1297, 0.1703, 0.1851, 0.1899, 0.1921, 0.1929};
  ta_turbo *turbo = &d->it.event.car.turbo;
  for (size_t i = 0; i < FLOW_POINTS; i++) d->flow[i] = (ta_turbine_flow){ratio[i], flow[i] * size};
  turbo->has_turbine = true;
  turbo->turbine = (ta_turbine){.inlet_temperature_k = 1203.7,
                                .efficiency = efficiency,
                                .has_efficiency = true,
                                .mechanical_efficiency = 0.967,
                                .reference_pa = 101325.0,
                                .reference_k = 288.15,
                                .flow = d->flow,
                                .flow_count = FLOW_POINTS,
                                .back_pressure_pa = 6100.0,
                                .at_flow_kg_s = 0.297,
                                .measured_pa = 101325.0,
                                .gamma = 1.32,
                                .gas_constant_jkgk = 290.0};
}

/** A vehicle, and corners on the invented course. */
static inline void give_vehicle(drawn *d) {
  static const double gear[GEARS] = {3.11, 2.03, 1.51, 1.19, 0.97};
  static const double radius[] = {0.0, 31.7, 87.3, 0.0, 19.3, 143.0, 61.1, 0.0};
  memcpy(d->gear, gear, sizeof gear);
  d->it.event.car.has_vehicle = true;
  d->it.event.car.vehicle = (ta_vehicle){.mass_kg = 1153.0,
                                         .drag_area_m2 = 0.953,
                                         .downforce_area_m2 = 0.613,
                                         .rolling_resistance = 0.0143,
                                         .tyre_radius_m = 0.311,
                                         .gear = d->gear,
                                         .gear_count = GEARS,
                                         .final_drive = 4.11,
                                         .drivetrain_efficiency = 0.869,
                                         .shift_rpm = 7190.0,
                                         .shift_time_s = 0.123,
                                         .grip = {1.01, 1.153, 1.049},
                                         .driven_load_share = 0.623};
  for (size_t i = 0; i < d->it.event.course.count; i++) {
    d->it.course[i].has_corner_radius = radius[i % COUNT_OF(radius)] > 0.0;
    d->it.course[i].corner_radius_m = radius[i % COUNT_OF(radius)];
  }
}

/** A short climb with corners, a dip in it: some elevations are met three times. */
static inline void give_short_course(drawn *d) {
  static const ta_course_point course[] = {
      {.distance_m = 0.0, .elevation_m = 2911.0, .mark = "start"},
      {.distance_m = 613.0, .elevation_m = 2963.0},
      {.distance_m = 1187.0, .elevation_m = 3049.0, .mark = "barn"},
      {.distance_m = 1979.0, .elevation_m = 2987.0},
      {.distance_m = 2311.0, .elevation_m = 2951.0, .mark = "ford"},
      {.distance_m = 3307.0, .elevation_m = 3083.0},
      {.distance_m = 4013.0, .elevation_m = 3151.0, .mark = "gate"},
      {.distance_m = 4897.0, .elevation_m = 3257.0, .mark = "summit"}};
  memset(d->it.course, 0, sizeof d->it.course);
  memcpy(d->it.course, course, sizeof course);
  d->it.event.course = (ta_course){d->it.course, COUNT_OF(course)};
}

/** Fastest shaft of the boost window at an elevation, at the goal, overshoot on. */
static inline double worst_at(const ta_prepared *prepared, double elevation_m) {
  ta_operating_point worst;
  assert_int_equal(ta_worst_in_window(prepared, elevation_m, HUGE_VAL, &worst), TA_OK);
  return worst.shaft_rpm;
}

static inline void prepare(drawn *d) {
  assert_int_equal(ta_prepare(&d->it.event, &d->prepared), TA_OK);
}

/** The limit stands a share of the way from the slowest to the fastest of the course's two ends of
 *  height; prepared again. */
static inline void limit_at_share(drawn *d, double share) {
  double low_m, high_m;
  ta_course_range(&d->it.event.course, &low_m, &high_m);
  const double told = 1.07 * d->it.line[INVENTED_LINES - 1].corrected_rpm;
  const double low = fmin(worst_at(&d->prepared, low_m), 0.9 * told),
               high = fmin(worst_at(&d->prepared, high_m), told);
  d->it.event.car.turbo.rated_rpm = (low + share * (high - low)) / (1.0 - d->it.event.goal.margin);
  ta_prepared_free(&d->prepared);
  prepare(d);
}

/** Event number n, prepared; to be freed with ta_prepared_free(&d->prepared). */
static inline void draw_event(uint64_t number, drawn *d) {
  static const invented_shape shapes[] = {
      {151300.0, 0.187, 0.372, 0.431, 0.52, 0.771}, {203700.0, 0.071, 0.163, 0.397, 0.61, 0.742},
      {94100.0, 0.431, 0.817, 0.513, 0.43, 0.793},  {118900.0, 0.253, 0.457, 0.466, 0.83, 0.764},
      {172300.0, 0.119, 0.291, 0.452, 0.37, 0.733}, {134700.0, 0.211, 0.509, 0.561, 0.68, 0.781}};
  uint64_t next = number * 128;
  memset(d, 0, sizeof *d);
  invented_make(&d->it);
  const invented_shape *shape = &shapes[number % COUNT_OF(shapes)];
  invented_lines(shape, &d->it);
  ta_event *event = &d->it.event;
  ta_car *car = &event->car;
  ta_control *control = &car->control;
  for (size_t i = 0; i < car->engine.ve_count; i++) d->it.ve[i].ve *= spread(&next, 0.87, 1.07);
  car->engine.window_rpm[0] = spread(&next, 3600.0, 4700.0);
  car->engine.window_rpm[1] = spread(&next, 6300.0, 7400.0);
  car->engine.has_redline = spread(&next, 0.0, 1.0) < 0.5;
  car->engine.redline_rpm = car->engine.window_rpm[1] + spread(&next, 130.0, 700.0);
  /* at the top of the window and a middling boost the flow is in the middle of the map */
  const double middle = spread(&next, 0.62, 0.83) * shape->choke_kg_s;
  car->engine.displacement_m3 = middle * 120.0 * 287.0 * 315.0 / (191e3 * 7000.0);
  car->intake.drop.at_flow_kg_s = middle * spread(&next, 0.9, 1.5);
  car->charge_cooler.drop.at_flow_kg_s = middle * spread(&next, 0.9, 1.5);
  car->charge_cooler.effectiveness = spread(&next, 0.45, 0.9);
  car->charge_cooler.leak = spread(&next, 0.0, 1.0) < 0.6 ? 0.0 : spread(&next, 0.0, 0.06);
  car->charge_cooler.has_coolant = spread(&next, 0.0, 1.0) < 0.3;
  car->charge_cooler.coolant_k = spread(&next, 277.0, 311.0);
  control->holds = spread(&next, 0.0, 1.0) < 0.5 ? TA_HOLDS_ABSOLUTE : TA_HOLDS_GAUGE;
  control->overshoot_pa = spread(&next, 0.0, 8100.0);
  control->map_error_pa = spread(&next, 0.0, 1700.0);
  control->barometer_error_pa = spread(&next, 0.0, 970.0);
  control->resolution_pa = 1000.0;
  control->positions = 3.0;
  event->day.isa_offset_k = spread(&next, -17.0, 23.0);
  event->day.isa_humidity = spread(&next, 0.0, 0.9);
  if (spread(&next, 0.0, 1.0) < 0.5) { /* two stations in place of it */
    event->day_is_isa = false;
    d->it.station[0] = (ta_station){.elevation_m = spread(&next, 1350.0, 1700.0),
                                    .temperature_k = spread(&next, 277.0, 303.0),
                                    .has_humidity = true,
                                    .humidity = spread(&next, 0.2, 0.9),
                                    .has_qnh = true,
                                    .qnh_pa = spread(&next, 100100.0, 103300.0)};
    d->it.station[1] =
        (ta_station){.elevation_m = spread(&next, 2700.0, 4100.0), .temperature_k = 0.0};
    d->it.station[1].temperature_k =
        d->it.station[0].temperature_k -
        0.001 * spread(&next, -1.0, 8.7) *
            (d->it.station[1].elevation_m - d->it.station[0].elevation_m);
    event->day =
        (ta_day_reading){.station = d->it.station, .station_count = 2, .lapse_rate_k_m = 0.0065};
  }
  const double map_pa = spread(&next, 161e3, 223e3);
  event->goal.map_pa = map_pa;
  if (spread(&next, 0.0, 1.0) < 0.4) { /* rows in place of one number */
    const double at[] = {car->engine.window_rpm[0] - 130.0, spread(&next, 5000.0, 5900.0),
                         car->engine.window_rpm[1] - 170.0};
    for (size_t i = 0; i < COUNT_OF(at); i++)
      d->it.goal[i] = (ta_goal_point){
          .engine_rpm = at[i], .map_pa = map_pa * spread(&next, 0.88, 1.05), .has_map = true};
    event->goal =
        (ta_goal){.point = d->it.goal, .point_count = COUNT_OF(at), .margin = event->goal.margin};
  }
  const double limit_share = spread(&next, -0.3, 0.9);
  assert_true(next <= (number + 1) * 128);
  prepare(d);
  limit_at_share(d, limit_share);
}

#endif
