/* caps.c - the boost caps that keep the shaft within its limit.
 *
 * Method    In one air the cap is solved at the worst engine speed, then tried over all of them; one
 *           that still passes the limit becomes the new worst, until none does.  The constant cap
 *           goes the same way over the elevations of the profile.
 * Pinned by tests/plan/test_caps.c: at its cap the tightest point sits on the limit, and nothing
 *           else is over.
 */
#include "thinair/caps.h"

#include <math.h>

#include "thinair/drive.h"

enum { SETTLE_STEPS = 60, PLACES_MAX = 50 };
static const double ON_THE_LIMIT = 1e-9;        /* relative */
static const double THROAT_CHOKED = 1.0 - 1e-6; /* share of the choked flow */

static const char *const names[] = {
#define X(symbol, name) [symbol] = name,
    TA_LIMITED_BY_ROWS(X)
#undef X
};

const char *ta_limited_by_name(ta_limited_by limited_by) {
  return (unsigned)limited_by < TA_LIMITED_BY_COUNT ? names[limited_by] : "?";
}

ta_limited_by ta_limited_by_point(ta_zone zone, double restrictor_share) {
  if (restrictor_share >= THROAT_CHOKED) return TA_BY_RESTRICTOR;
  if (zone == TA_SURGE) return TA_BY_SURGE;
  return zone == TA_CHOKE ? TA_BY_CHOKE : TA_BY_RATED_SPEED;
}

/* Does the wastegate's spring give more than the set-point asks for? */
static bool spring_rules(const ta_prepared *prepared, const ta_place_cap *cap) {
  return prepared->event->car.control.has_minimum_boost &&
         cap->at.map_pa > ta_set_point_map(prepared, cap->set_point, cap->at.ambient.pressure_pa) +
                              ta_control_excess(&prepared->event->car.control) +
                              ON_THE_LIMIT * cap->at.map_pa;
}

/* The target's highest, or what the sensor can read of it. */
static ta_place_cap uncapped(const ta_prepared *prepared, ta_speed_range range, double ambient_pa) {
  const ta_control *control = &prepared->event->car.control;
  double lowest, highest;
  ta_prepared_goal_range(prepared, range, &lowest, &highest);
  const double read =
      ta_map_set_point(prepared, ta_sensor_reach(control) - ta_control_excess(control), ambient_pa);
  return (ta_place_cap){.set_point = fmin(highest, read),
                        .limited_by = read < highest ? TA_BY_MAP_SENSOR : TA_BY_GOAL,
                        .can_be_had = true};
}

bool ta_speed_caps(const ta_prepared *prepared, const ta_air *const *air, const double *rpm,
                   size_t count, double *set_point) {
  bool can_be_had = true;
  const ta_car *car = &prepared->event->car;
  const double excess_pa = ta_control_excess(&car->control),
               reach_pa = ta_sensor_reach(&car->control);
  double asked[TA_LANES], spring[TA_LANES], highest[TA_LANES], left_over_w[TA_LANES];
  bool reached[TA_LANES];
  ta_point_block block = {.count = count};
  for (size_t i = 0; i < count; i++) {
    const double goal_pa =
        ta_set_point_map(prepared, ta_prepared_goal(prepared, rpm[i]), air[i]->pressure_pa);
    ta_point_block_set(&block, i, air[i], rpm[i], goal_pa, 0.0);
    asked[i] = fmin(goal_pa + excess_pa, reach_pa);
    /* what the spring gives whatever is asked must be within the limit, too */
    spring[i] =
        air[i]->pressure_pa * (1.0 + ON_THE_LIMIT) +
        (car->control.has_minimum_boost ? car->control.minimum_boost_pa + car->control.overshoot_pa
                                        : 0.0);
    highest[i] = fmax(asked[i], spring[i]);
  }
  ta_point_caps(car, prepared->map, prepared->limit_rpm, highest, &block, reached);
  for (size_t i = 0; i < count; i++) {
    const double least_pa = car->control.has_minimum_boost ? spring[i] : spring[i] + excess_pa;
    if (reached[i] && block.map_pa[i] < least_pa) can_be_had = false;
    block.map_pa[i] = fmin(block.map_pa[i], asked[i]) - excess_pa;
  }
  if (car->turbo.has_turbine) {
    ta_point_block held = block;
    for (size_t i = 0; i < count; i++)
      held.map_pa[i] = fmax(block.map_pa[i], air[i]->pressure_pa * (1.0 + ON_THE_LIMIT));
    ta_points_solve(car, prepared->map, &held);
    ta_points_excess(car, &held, left_over_w);
    for (size_t i = 0; i < count; i++)
      if (left_over_w[i] < 0.0)
        ta_highest_held_map(prepared, air[i], &rpm[i], 1, &held.map_pa[i], &block.map_pa[i]);
  }
  for (size_t i = 0; i < count; i++)
    set_point[i] = ta_map_set_point(prepared, block.map_pa[i], air[i]->pressure_pa);
  return can_be_had;
}

/* A cap that the turbine drives at no engine speed that is judged comes down to the most that it
 * does drive there. */
static ta_status take_drive(const ta_prepared *prepared, ta_speed_range range, const ta_air *air,
                            ta_place_cap *cap) {
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  double rpm[TA_LANES], map_pa[TA_LANES], held_pa[TA_LANES], lowest, highest, most_pa = 0.0;
  if (!prepared->event->car.turbo.has_turbine) return TA_OK;
  ta_prepared_goal_range(prepared, window, &lowest, &highest);
  const double asked_pa =
      ta_set_point_map(prepared, fmin(highest, cap->set_point), air->pressure_pa);
  for (double from = window.low_rpm; isfinite(from);) {
    const size_t count = ta_speeds_in_range(prepared->event, window, &from, rpm);
    for (size_t k = 0; k < count; k++) {
      const double set_point = fmin(ta_prepared_goal(prepared, rpm[k]), cap->set_point);
      map_pa[k] = ta_set_point_map(prepared, set_point, air->pressure_pa);
    }
    /* the fastest first: where all that is asked is driven at one speed there is nothing to lower */
    for (size_t k = count; k-- > 0;)
      if (map_pa[k] >= asked_pa * (1.0 - ON_THE_LIMIT) &&
          ta_map_is_held(prepared, air, rpm[k], map_pa[k]))
        return TA_OK;
    ta_highest_held_map(prepared, air, rpm, count, map_pa, held_pa);
    for (size_t k = 0; k < count; k++) most_pa = fmax(most_pa, held_pa[k]);
  }
  cap->set_point = ta_map_set_point(prepared, most_pa, air->pressure_pa);
  cap->limited_by = TA_BY_DRIVE;
  return ta_worst_in_air(prepared, range, air, cap->set_point, &cap->at);
}

ta_status ta_place_cap_find(const ta_prepared *prepared, ta_speed_range range, const ta_air *air,
                            ta_place_cap *cap) {
  if (prepared == NULL || air == NULL || cap == NULL || !(range.low_rpm <= range.high_rpm))
    return TA_ERR_ARGUMENT;
  const ta_car *car = &prepared->event->car;
  ta_place_cap found = uncapped(prepared, range, air->pressure_pa);
  double back = ON_THE_LIMIT;
  for (int i = 0; i < SETTLE_STEPS; i++) {
    const ta_status status = ta_worst_in_air(prepared, range, air, found.set_point, &found.at);
    if (status != TA_OK) return status;
    if (!(found.at.shaft_rpm > prepared->limit_rpm)) {
      const ta_status drive = take_drive(prepared, range, air, &found);
      if (drive == TA_OK) *cap = found;
      return drive;
    }
    if (spring_rules(prepared, &found)) break;
    double map_pa;
    (void)ta_point_cap(car, prepared->map, air, found.at.engine_rpm, prepared->limit_rpm,
                       fmax(found.at.map_pa, air->pressure_pa * (1.0 + ON_THE_LIMIT)), &map_pa);
    double lower =
        ta_map_set_point(prepared, map_pa - ta_control_excess(&car->control), air->pressure_pa);
    if (lower >= found.set_point * (1.0 - ON_THE_LIMIT)) { /* the last digits */
      lower = found.set_point - back * map_pa;
      back *= 2.0;
    }
    found.set_point = lower;
    const ta_status at_cap =
        ta_point_solve(car, prepared->map, air, found.at.engine_rpm,
                       fmax(map_pa, air->pressure_pa * (1.0 + ON_THE_LIMIT)), &found.at);
    if (at_cap != TA_OK) return at_cap;
    found.limited_by = ta_limited_by_point(found.at.zone, found.at.restrictor_share);
    if (!car->control.has_minimum_boost &&
        ta_set_point_map(prepared, lower, air->pressure_pa) <= air->pressure_pa)
      break; /* no boost is left to hold */
  }
  found.can_be_had = false;
  if (spring_rules(prepared, &found)) found.limited_by = TA_BY_MINIMUM_BOOST;
  *cap = found;
  return TA_OK;
}

ta_status ta_cap_per_10k(const ta_prepared *prepared, ta_speed_range range, const ta_place_cap *cap,
                         double *change) {
  if (prepared == NULL || cap == NULL || change == NULL) return TA_ERR_ARGUMENT;
  ta_air warm = cap->at.ambient;
  ta_place_cap warm_cap;
  warm.temperature_k += 10.0;
  warm.density_kgm3 *= cap->at.ambient.temperature_k / warm.temperature_k;
  const ta_status status = ta_place_cap_find(prepared, range, &warm, &warm_cap);
  if (status == TA_OK) *change = warm_cap.set_point - cap->set_point;
  return status;
}

/* Is a point faster than another?  Of points past what the map can tell, the higher place is. */
static bool faster(const ta_placed_point *a, const ta_placed_point *b) {
  const double an = a->point.shaft_rpm, bn = b->point.shaft_rpm;
  return an > bn || (isinf(an) && isinf(bn) && a->elevation_m > b->elevation_m);
}

/* The elevations at which a cap for the whole course is judged: its own two ends of height, then those
 * of the profile; false for one that the course does not have. */
static bool height_at(const ta_profile *profile, double low_m, double high_m, size_t i,
                      double *elevation_m) {
  *elevation_m = i == 0 ? high_m : i == 1 ? low_m : profile->elevation_m[i - 2];
  return *elevation_m >= low_m && *elevation_m <= high_m;
}

/* The fastest point of the course at a cap.  Without a cap the profile has solved its points already. */
static ta_status fastest_of(const ta_prepared *prepared, const ta_profile *profile, double cap,
                            ta_placed_point *fastest) {
  ta_placed_point found = {.point.shaft_rpm = -1.0};
  ta_placed_point at = {.distance_m = 0.0};
  double low_m, high_m;
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  for (size_t i = 0; i < profile->count + 2; i++) {
    if (!height_at(profile, low_m, high_m, i, &at.elevation_m)) continue;
    if (i < 2 && ta_profile_node_at(profile, at.elevation_m) != NULL) continue;
    if (i >= 2 && isinf(cap)) {
      at.point = profile->node[i - 2];
    } else {
      const ta_status status =
          ta_worst_in_range(prepared, profile->range, at.elevation_m, cap, &at.point);
      if (status != TA_OK) return status;
    }
    if (faster(&at, &found)) found = at;
  }
  found.distance_m = ta_course_distance(&prepared->event->course, found.elevation_m);
  *fastest = found;
  return TA_OK;
}

/* Take the cap of one elevation where it is lower; *tightest is then the cap there. */
static void take_lower(const ta_prepared *prepared, double elevation_m, const ta_place_cap *place,
                       ta_constant_cap *cap, ta_place_cap *tightest) {
  if (place->can_be_had && !(place->set_point < cap->set_point)) return;
  cap->set_point = place->set_point;
  cap->limited_by = place->limited_by;
  cap->can_be_had = place->can_be_had;
  cap->tightest =
      (ta_placed_point){.point = place->at,
                        .distance_m = ta_course_distance(&prepared->event->course, elevation_m),
                        .elevation_m = elevation_m};
  *tightest = *place;
}

static ta_status take_place(const ta_prepared *prepared, ta_speed_range range, double elevation_m,
                            ta_constant_cap *cap, ta_place_cap *tightest) {
  ta_air air;
  ta_place_cap place;
  ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status == TA_OK) status = ta_place_cap_find(prepared, range, &air, &place);
  if (status == TA_OK) take_lower(prepared, elevation_m, &place, cap, tightest);
  return status;
}

/* Nowhere more than the turbine drives. */
static ta_status take_drive_along(const ta_prepared *prepared, const ta_profile *profile,
                                  ta_constant_cap *cap, ta_place_cap *tightest) {
  ta_status status = TA_OK;
  double low_m, high_m, elevation_m;
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  for (size_t i = 0; status == TA_OK && i < profile->count + 2; i++) {
    if (!height_at(profile, low_m, high_m, i, &elevation_m)) continue;
    ta_air air;
    ta_place_cap place = {.set_point = cap->set_point, .can_be_had = true};
    status = ta_day_air(&prepared->day, elevation_m, &air);
    if (status == TA_OK) status = take_drive(prepared, profile->range, &air, &place);
    if (status == TA_OK) take_lower(prepared, elevation_m, &place, cap, tightest);
  }
  return status;
}

ta_status ta_constant_cap_find(const ta_prepared *prepared, const ta_profile *profile,
                               ta_constant_cap *cap) {
  if (prepared == NULL || profile == NULL || cap == NULL) return TA_ERR_ARGUMENT;
  double lowest, low_m, high_m;
  ta_constant_cap found = {.limited_by = TA_BY_GOAL, .can_be_had = true};
  ta_place_cap tightest = {.can_be_had = true};
  ta_prepared_goal_range(prepared, profile->range, &lowest, &found.set_point);
  ta_course_range(&prepared->event->course, &low_m, &high_m);
  ta_status status = fastest_of(prepared, profile, HUGE_VAL, &found.tightest);
  ta_placed_point fastest = found.tightest;
  /* a sensor of absolute pressure is blind to a boost first where the air is densest */
  if (status == TA_OK && prepared->event->car.control.has_map_sensor)
    status = take_place(prepared, profile->range, low_m, &found, &tightest);
  for (int place = 0; status == TA_OK && found.can_be_had &&
                      fastest.point.shaft_rpm > prepared->limit_rpm * (1.0 + ON_THE_LIMIT);
       place++) {
    if (place == PLACES_MAX) return TA_ERR_DOMAIN; /* not settled */
    status = take_place(prepared, profile->range, fastest.elevation_m, &found, &tightest);
    if (status == TA_OK && found.can_be_had)
      status = fastest_of(prepared, profile, found.set_point, &fastest);
  }
  if (status == TA_OK && found.can_be_had)
    status = take_drive_along(prepared, profile, &found, &tightest);
  if (status == TA_OK && found.limited_by != TA_BY_GOAL)
    status = ta_cap_per_10k(prepared, profile->range, &tightest, &found.per_10k);
  if (status == TA_OK) *cap = found;
  return status;
}
