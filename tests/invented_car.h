/* invented_car.h - an invented car on an invented mountain, for tests of the solver and the plan.
 *
 * The compressor map is a closed form: the throttle runs from surge (0) to choke (1), head goes
 * nearly with speed squared, flow nearly with speed, and the lines fall off towards choke. */
#ifndef THINAIR_INVENTED_CAR_H
#define THINAIR_INVENTED_CAR_H

#include <math.h>
#include <string.h>

#include "test.h"
#include "thinair/event.h"
#include "thinair/moist_air.h"

enum { INVENTED_LINES = 6, INVENTED_POINTS = 9, INVENTED_ROWS = 8 };

/** The shape of a compressor map. */
typedef struct {
  double top_rpm, surge_kg_s, choke_kg_s; /* of the top line */
  double head;                            /* PR^(2/7) - 1 at surge on the top line */
  double droop;                           /* share of the head lost at choke */
  double efficiency;                      /* the best */
} invented_shape;

static const invented_shape INVENTED_SHAPE = {151300.0, 0.187, 0.372, 0.431, 0.52, 0.771};

typedef struct {
  ta_map_point point[INVENTED_LINES][INVENTED_POINTS];
  ta_speed_line line[INVENTED_LINES];
  ta_ve_point ve[INVENTED_ROWS];
  ta_goal_point goal[INVENTED_ROWS];
  ta_course_point course[INVENTED_ROWS];
  ta_station station[2];
  ta_event event;
} invented;

static inline void invented_lines(const invented_shape *shape, invented *it) {
  for (size_t i = 0; i < INVENTED_LINES; i++) {
    const double u = 0.52 + 0.48 * (double)i / (INVENTED_LINES - 1);
    const double surge = shape->surge_kg_s * pow(u, 1.22), choke = shape->choke_kg_s * pow(u, 0.87);
    it->line[i] = (ta_speed_line){
        .corrected_rpm = shape->top_rpm * u, .point = it->point[i], .point_count = INVENTED_POINTS};
    for (size_t j = 0; j < INVENTED_POINTS; j++) {
      const double t = (double)j / (INVENTED_POINTS - 1);
      const double head = shape->head * pow(u, 2.07) * (1.0 - shape->droop * t * t * t);
      const double off_best = (t - 0.43) * (t - 0.43) + 0.17 * (u - 0.79) * (u - 0.79);
      it->point[i][j] = (ta_map_point){.flow_kg_s = surge + (choke - surge) * t,
                                       .pressure_ratio = pow(1.0 + head, 3.5),
                                       .efficiency = shape->efficiency * (1.0 - 0.67 * off_best)};
    }
  }
  it->event.car.turbo.compressor.line = it->line;
  it->event.car.turbo.compressor.line_count = INVENTED_LINES;
}

/** A car on a climb from 1 463 to 4 117 m, its goal within the limit below and over it above. */
static inline void invented_make(invented *it) {
  static const ta_ve_point ve[] = {
      {1960.0, 0.861}, {4020.0, 0.968}, {6010.0, 1.003}, {7510.0, 0.929}};
  static const ta_course_point course[] = {
      {.distance_m = 0.0, .elevation_m = 1463.0, .mark = "start"},
      {.distance_m = 15870.0, .elevation_m = 2703.0},
      {.distance_m = 26130.0, .elevation_m = 3512.0, .mark = "gate"},
      {.distance_m = 34010.0, .elevation_m = 4117.0, .mark = "summit"}};
  memset(it, 0, sizeof *it);
  memcpy(it->ve, ve, sizeof ve);
  memcpy(it->course, course, sizeof course);
  it->event = (ta_event){
      .course = {it->course, COUNT_OF(course)},
      .car = {.engine = {.displacement_m3 = 1.983e-3,
                         .cycle = TA_FOUR_STROKE,
                         .ve = it->ve,
                         .ve_count = COUNT_OF(ve),
                         .window_rpm = {4130.0, 7270.0},
                         .air_fuel_ratio = 11.83,
                         .bsfc_kg_j = 311.0 / 3.6e9},
              .intake = {.drop = {2030.0, 0.297, 101325.0, 288.15}, .temperature_rise_k = 5.7},
              .charge_cooler = {.effectiveness = 0.743, .drop = {8900.0, 0.303, 101325.0, 288.15}},
              .control = {.holds = TA_HOLDS_ABSOLUTE,
                          .overshoot_pa = 5300.0,
                          .barometer_error_pa = 570.0,
                          .resolution_pa = 700.0,
                          .positions = 3.0},
              .turbo = {.count = 1.0,
                        .rated_rpm = 158700.0,
                        .thin_air = {0, 0.16, 0.04},
                        .compressor = {.reference = {96170.0, 302.6}}}},
      .day = {.isa_offset_k = 3.7, .isa_humidity = 0.37, .lapse_rate_k_m = 0.0065},
      .day_is_isa = true,
      .goal = {.map_pa = 173300.0, .has_map = true, .margin = 0.037},
  };
  invented_lines(&INVENTED_SHAPE, it);
}

static inline ta_compressor_map *invented_map(const invented *it) {
  ta_compressor_map *map = NULL;
  assert_int_equal(ta_compressor_map_create(it->line, INVENTED_LINES, &map), TA_OK);
  return map;
}

/** Standard pressure at an elevation, off the standard temperature, with some vapour in it. */
static inline ta_air invented_air(double elevation_m, double offset_k, double mixing_ratio) {
  ta_air air;
  assert_int_equal(ta_isa_at(ta_geopotential_m(elevation_m), &air), TA_OK);
  air.temperature_k += offset_k;
  air.mixing_ratio = mixing_ratio;
  air.gas_constant_jkgk = ta_moist_gas_constant(mixing_ratio);
  air.density_kgm3 = air.pressure_pa / (air.gas_constant_jkgk * air.temperature_k);
  return air;
}

/** Counter-based: number `index` of a sequence, evenly spread over [0, 1).  The mixer is that of
 *  SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
static inline double invented_random(uint64_t index) {
  uint64_t z = (index + 1) * 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  z ^= z >> 31;
  return (double)(z >> 11) * 0x1.0p-53;
}

#endif
