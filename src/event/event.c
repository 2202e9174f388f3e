/* event.c - memory of the event as read, and the checks that need more than one value. */
#include "thinair/event.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/access.h"
#include "thinair/course_shape.h"
#include "thinair/prepare.h"
#include "thinair/printed_map.h"
#include "thinair/quantity.h"

static const double GPX_SMOOTHING_M = 50.0;
static const double SLOWEST_TIP_MS = 250.0, FASTEST_TIP_MS = 700.0;
static const double SAME_NUMBER = 1e-4; /* relative: read off the map, not off the data sheet */
static const double SPARSE_SHARE = 0.1, SCATTER_RADIUS_M = 500.0; /* worth a warning */
static const double STATION_REACH_M = 500.0; /* above it the day is an extrapolation */

void *ta_event_allocate(ta_event *event, size_t bytes) {
  if (event->owned_count == event->owned_room) {
    const size_t room = event->owned_room == 0 ? 64 : 2 * event->owned_room;
    void **more = realloc(event->owned, room * sizeof *more);
    if (more == NULL) return NULL;
    event->owned = more;
    event->owned_room = room;
  }
  void *memory = calloc(1, bytes);
  if (memory != NULL) event->owned[event->owned_count++] = memory;
  return memory;
}

void ta_event_free(ta_event *event) {
  if (event == NULL) return;
  for (size_t i = 0; i < event->owned_count; i++) free(event->owned[i]);
  free(event->owned);
  memset(event, 0, sizeof *event);
}

/* A point of the goal in MAP. */
static double goal_point_map(bool has_map, double map_pa, double boost_pa,
                             double start_pressure_pa) {
  return has_map ? map_pa : boost_pa + start_pressure_pa;
}

double ta_goal_map(const ta_goal *goal, double start_pressure_pa, double engine_rpm) {
  if (goal->point_count == 0)
    return goal_point_map(goal->has_map, goal->map_pa, goal->boost_pa, start_pressure_pa);
  size_t i = 0;
  while (i < goal->point_count && goal->point[i].engine_rpm < engine_rpm) i++;
  const ta_goal_point *above = &goal->point[i < goal->point_count ? i : i - 1],
                      *below = i > 0 ? &goal->point[i - 1] : above;
  const double high = goal_point_map(above->has_map, above->map_pa, above->boost_pa,
                                     start_pressure_pa),
               low = goal_point_map(below->has_map, below->map_pa, below->boost_pa,
                                    start_pressure_pa);
  const double width = above->engine_rpm - below->engine_rpm;
  return width > 0.0 ? low + (engine_rpm - below->engine_rpm) / width * (high - low) : low;
}

/* Was all that speed lines are made of read without an error? */
static bool lines_can_be_made(const ta_compressor *compressor, const ta_diagnostics *d) {
  static const char *const parts[] = {"reference", "columns", "lines", "islands", "surge_line"};
  bool sound = true;
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
    char key[TA_KEY_MAX];
    (void)snprintf(key, sizeof key, "car.turbo.compressor.%s", parts[i]);
    sound = sound && ta_key_sound(d, key);
  }
  for (size_t i = 0; i < compressor->printed_count; i++)
    if (compressor->printed[i].has_tip_speed)
      return sound && ta_key_sound(d, "car.turbo.compressor.exducer_diameter");
  return sound;
}

/* Where no islands stand in for it, an efficiency left out among others is a slip of its row. */
static bool efficiencies_stand(const ta_compressor *compressor, ta_diagnostics *d) {
  const size_t errors = d->errors;
  bool any = false;
  for (size_t i = 0; i < compressor->printed_count; i++)
    for (size_t j = 0; j < compressor->printed[i].point_count; j++)
      any |= compressor->printed[i].point[j].has_efficiency;
  if (!any || compressor->island_count > 0) return true;
  for (size_t i = 0; i < compressor->printed_count; i++)
    for (size_t j = 0; j < compressor->printed[i].point_count; j++) {
      char key[TA_KEY_MAX];
      if (compressor->printed[i].point[j].has_efficiency) continue;
      (void)snprintf(key, sizeof key, "car.turbo.compressor.lines[%zu].rows[%zu].efficiency", i, j);
      (void)ta_raise(d, TA_ERROR, key,
                     "found nothing; without islands an efficiency is taken in every row");
    }
  return errors == d->errors;
}

static ta_status complete_compressor(ta_event *event, ta_diagnostics *d) {
  ta_compressor *compressor = &event->car.turbo.compressor;
  if (compressor->printed_count == 0 || !lines_can_be_made(compressor, d) ||
      !efficiencies_stand(compressor, d))
    return TA_OK;
  compressor->line = ta_event_allocate(event, compressor->printed_count * sizeof *compressor->line);
  if (compressor->line == NULL) return TA_ERR_MEMORY;
  for (size_t i = 0; i < compressor->printed_count; i++) {
    const size_t room = compressor->printed[i].point_count + 1; /* one more: the surge line's */
    compressor->line[i].point = ta_event_allocate(event, room * sizeof *compressor->line[i].point);
    if (compressor->line[i].point == NULL) return TA_ERR_MEMORY;
  }
  (void)snprintf(d->scope, sizeof d->scope, "car.turbo.compressor.");
  const ta_status status = ta_printed_map_complete(compressor, d);
  d->scope[0] = '\0';
  return status == TA_ERR_INPUT ? TA_OK : status;
}

static ta_status complete_course(ta_event *event, ta_diagnostics *d) {
  if (event->course.count < 2 || !ta_key_sound(d, "course")) return TA_OK;
  if (event->course_is_gpx && !event->has_course_smoothing) {
    event->course_smoothing_m = GPX_SMOOTHING_M;
    event->has_course_smoothing = true;
  }
  if (!event->has_course_smoothing) return TA_OK;
  const ta_status status =
      ta_course_smooth(&event->course, event->course_smoothing_m, &event->course_residual);
  return status == TA_ERR_MEMORY ? status : TA_OK; /* what is wrong with it the check tells */
}

ta_status ta_event_complete(ta_event *event, ta_diagnostics *diagnostics) {
  if (event == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  const ta_status status = complete_compressor(event, diagnostics);
  return status == TA_OK ? complete_course(event, diagnostics) : status;
}

/* The distance that a text names, as a length or as a mark. */
static bool named_distance(const ta_course *course, const char *text, double *distance_m, char *why,
                           size_t why_size) {
  for (size_t i = 0; i < course->count; i++) {
    if (course->point[i].mark == NULL || strcmp(course->point[i].mark, text) != 0) continue;
    *distance_m = course->point[i].distance_m;
    return true;
  }
  if (ta_quantity_parse(text, TA_LENGTH, distance_m, NULL, 0) == TA_OK) return true;
  int used =
      snprintf(why, why_size, "\"%.60s\" is neither a distance nor a mark; marks here:", text);
  for (size_t i = 0; i < course->count && used > 0 && (size_t)used < why_size; i++)
    if (course->point[i].mark != NULL)
      used += snprintf(why + used, why_size - (size_t)used, " \"%.40s\"", course->point[i].mark);
  return false;
}

ta_status ta_event_cut(ta_event *event, const char *from, const char *to, char *why,
                       size_t why_size) {
  if (event == NULL || why == NULL || event->course.count < 2) return TA_ERR_ARGUMENT;
  const ta_course whole = event->course;
  double low = whole.point[0].distance_m, high = whole.point[whole.count - 1].distance_m;
  const double first = low, last = high;
  if ((from != NULL && !named_distance(&whole, from, &low, why, why_size)) ||
      (to != NULL && !named_distance(&whole, to, &high, why, why_size)))
    return TA_ERR_ARGUMENT;
  if (!(low >= first && high <= last && low < high)) {
    (void)snprintf(why, why_size,
                   "from %.6g m to %.6g m is no part of a course from %.6g m to %.6g m", low, high,
                   first, last);
    return TA_ERR_ARGUMENT;
  }
  ta_course_point *part = ta_event_allocate(event, (whole.count + 2) * sizeof *part);
  if (part == NULL) return TA_ERR_MEMORY;
  size_t count = 0;
  part[count++] =
      (ta_course_point){.distance_m = low, .elevation_m = ta_course_elevation(&whole, low)};
  for (size_t i = 0; i < whole.count; i++) {
    if (whole.point[i].distance_m == low || whole.point[i].distance_m == high) continue;
    if (whole.point[i].distance_m > low && whole.point[i].distance_m < high)
      part[count++] = whole.point[i];
  }
  part[count++] =
      (ta_course_point){.distance_m = high, .elevation_m = ta_course_elevation(&whole, high)};
  for (size_t i = 0; i < whole.count; i++) { /* the ends keep their names and places */
    if (whole.point[i].distance_m == low) part[0] = whole.point[i];
    if (whole.point[i].distance_m == high) part[count - 1] = whole.point[i];
  }
  if (!event->is_cut) event->start_elevation_m = whole.point[0].elevation_m;
  event->course = (ta_course){part, count};
  event->is_cut = true;
  event->starts_midway = event->starts_midway || low > first;
  return TA_OK;
}

/* The first column of a table must rise. */
static void check_rising(ta_diagnostics *d, const char *table, const char *column, const char *base,
                         size_t size, size_t count) {
  char key[TA_KEY_MAX], before[TA_KEY_MAX];
  const bool speed = strcmp(column, "engine_speed") == 0;
  for (size_t i = 1; i < count; i++) {
    double a, b; /* the column is the first member of each table's rows */
    memcpy(&a, base + (i - 1) * size, sizeof a);
    memcpy(&b, base + i * size, sizeof b);
    if (b > a) continue;
    (void)snprintf(key, sizeof key, "%s[%zu].%s", table, i, column);
    (void)snprintf(before, sizeof before, "%s[%zu].%s", table, i - 1, column);
    (void)ta_raise_relation(
        d, key, before, "%s must rise from row to row, found %.6g%s after %.6g%s",
        speed ? "engine speed" : "expansion ratio", b, speed ? " rpm" : "", a, speed ? " rpm" : "");
  }
}

/* Corners that come from positions matter to the run alone. */
static void check_corners(const ta_course *course, ta_diagnostics *d) {
  if (!ta_key_sound(d, "course")) return;
  const ta_corner_sight sight = ta_course_corner_sight(course, TA_CORNER_LENGTH_M);
  if (sight.sparse_share > SPARSE_SHARE)
    (void)ta_raise(d, TA_WARNING, "course",
                   "%.0f %% of the road lies between points more than %.0f m apart: corners come "
                   "from the positions, each over %.0f m of road or on to the next point, and a "
                   "shorter one looks wider than it is: the run may be too quick",
                   100.0 * sight.sparse_share, 0.5 * TA_CORNER_LENGTH_M, TA_CORNER_LENGTH_M);
  if (sight.scatter_radius_m < SCATTER_RADIUS_M)
    (void)ta_raise(d, TA_WARNING, "course",
                   "the positions scatter by %.1f m about a smooth road, which over %.0f m of road "
                   "makes corners of some %.0f m of a straight: the run is too slow; give corner "
                   "radii, or a track with the scatter taken out",
                   sight.scatter_m, TA_CORNER_LENGTH_M, sight.scatter_radius_m);
}

static void check_course(const ta_event *event, ta_diagnostics *d) {
  if (event->course_is_gpx || !ta_key_sound(d, "course")) return; /* the GPX reader has its own */
  (void)snprintf(d->scope, sizeof d->scope, "course.");
  (void)ta_course_check(&event->course, d);
  d->scope[0] = '\0';
}

static void check_engine(const ta_engine *engine, ta_diagnostics *d) {
  const char *ve = "car.engine.volumetric_efficiency.rows";
  if (ta_key_sound(d, "car.engine.volumetric_efficiency")) {
    if (engine->ve_count == 0)
      (void)ta_raise(d, TA_ERROR, ve, "the table has no rows; at least one is needed");
    check_rising(d, ve, "engine_speed", (const char *)engine->ve, sizeof *engine->ve,
                 engine->ve_count);
  }
  if (ta_key_sound(d, "car.engine.boost_window") &&
      !(engine->window_rpm[0] < engine->window_rpm[1]))
    (void)ta_raise(d, TA_ERROR, "car.engine.boost_window", "the first must be below the second");
  if (ta_key_sound(d, "car.engine.redline") && ta_key_sound(d, "car.engine.boost_window") &&
      engine->has_redline && engine->redline_rpm < engine->window_rpm[1])
    (void)ta_raise_relation(d, "car.engine.redline", "car.engine.boost_window[1]",
                            "the redline, %.6g rpm, is below the top of the boost window, %.6g rpm",
                            engine->redline_rpm, engine->window_rpm[1]);
}

/* A number of things. */
static void check_whole(ta_diagnostics *d, const char *key, double number, const char *things) {
  if (ta_key_sound(d, key) && number != floor(number))
    (void)ta_raise(d, TA_ERROR, key, "%.6g is no whole number of %s", number, things);
}

static void check_intake(const ta_intake *intake, ta_diagnostics *d) {
  if (intake->has_restrictor)
    check_whole(d, "car.intake.restrictor.count", intake->restrictor.count, "restrictors");
}

/* An axis of the controller's table rises and has room. */
static void check_axis(ta_diagnostics *d, const char *axis, const double *at, size_t count) {
  char key[TA_KEY_MAX], before[TA_KEY_MAX];
  if (count > TA_AXIS_MAX)
    (void)ta_raise(d, TA_ERROR, axis, "%zu breakpoints; up to %d are taken", count, TA_AXIS_MAX);
  for (size_t i = 1; i < count; i++) {
    if (at[i] > at[i - 1] || !ta_key_sound(d, axis)) continue;
    (void)snprintf(key, sizeof key, "%s[%zu]", axis, i);
    (void)snprintf(before, sizeof before, "%s[%zu]", axis, i - 1);
    (void)ta_raise_relation(d, key, before, "breakpoints must rise from one to the next");
  }
}

static void check_control(const ta_car *car, ta_diagnostics *d) {
  const ta_control *control = &car->control;
  const ta_engine *engine = &car->engine;
  const char *speeds = "car.control.speed_axis";
  check_axis(d, "car.control.pressure_axis", control->pressure_axis_pa,
             control->pressure_axis_count);
  check_axis(d, speeds, control->speed_axis_rpm, control->speed_axis_count);
  if (control->speed_axis_count > 0 && ta_key_sound(d, speeds) &&
      ta_key_sound(d, "car.engine.redline") && ta_key_sound(d, "car.engine.boost_window") &&
      ta_key_sound(d, "car.vehicle")) {
    const double last = control->speed_axis_rpm[control->speed_axis_count - 1],
                 judged = ta_judged_speeds(car).high_rpm,
                 top = engine->has_redline ? engine->redline_rpm : judged;
    if (last < top)
      (void)ta_raise_relation(
          d, speeds,
          engine->has_redline              ? "car.engine.redline"
          : judged > engine->window_rpm[1] ? "car.vehicle.shift_speed"
                                           : "car.engine.boost_window",
          "the last breakpoint, %.6g rpm, is held up to %.6g rpm, where the cap "
          "is lower: the axis must reach that far",
          last, top);
  }
  check_whole(d, "car.control.positions", control->positions, "positions");
  if (control->has_barometer_read_at && ta_key_sound(d, "car.control.holds") &&
      control->holds != TA_HOLDS_GAUGE_KEY_ON)
    (void)ta_raise(d, TA_WARNING, "car.control.barometer_read_at",
                   "only a controller that holds gauge-from-key-on reads its barometer once: this "
                   "elevation is not used");
}

static void check_sensor(const ta_speed_sensor *sensor, ta_diagnostics *d) {
  check_whole(d, "car.turbo.sensor.blades", sensor->blades, "blades");
  check_whole(d, "car.turbo.sensor.divider", sensor->divider, "blades for a pulse");
  if (sensor->has_thread_pitch != sensor->has_turns_back)
    (void)ta_raise(d, TA_ERROR, "car.turbo.sensor",
                   "thread_pitch and turns_back give the gap together; found %s alone",
                   sensor->has_thread_pitch ? "thread_pitch" : "turns_back");
}

static void check_turbine(const ta_turbine *turbine, ta_diagnostics *d) {
  const char *group = "car.turbo.turbine", *flow = "car.turbo.turbine.flow_capacity.rows",
             *efficiency = "car.turbo.turbine.efficiency.rows";
  char key[TA_KEY_MAX], before[TA_KEY_MAX];
  const bool whole = ta_key_sound(d, group); /* else what is not there may be mistyped */
  if (whole && turbine->has_efficiency == (turbine->efficiency_count > 0))
    (void)ta_raise(d, TA_ERROR, "car.turbo.turbine.efficiency",
                   "one number, or columns and rows over expansion_ratio, is taken");
  if (ta_key_sound(d, "car.turbo.turbine.efficiency"))
    check_rising(d, efficiency, "expansion_ratio", (const char *)turbine->efficiency_point,
                 sizeof *turbine->efficiency_point, turbine->efficiency_count);
  if (whole && turbine->flow_count == 0)
    (void)ta_raise(d, TA_ERROR, flow, "the table has no rows; at least one is needed");
  if (!ta_key_sound(d, "car.turbo.turbine.flow_capacity")) return;
  check_rising(d, flow, "expansion_ratio", (const char *)turbine->flow, sizeof *turbine->flow,
               turbine->flow_count);
  for (size_t i = 0; i < turbine->flow_count; i++) {
    (void)snprintf(key, sizeof key, "%s[%zu]", flow, i);
    if (i == 0 && !(turbine->flow[0].expansion_ratio > 1.0))
      (void)ta_raise(d, TA_ERROR, key,
                     "at an expansion ratio of 1 nothing flows; the first row lies above 1");
    if (i == 0 || turbine->flow[i].expansion_ratio <= turbine->flow[i - 1].expansion_ratio ||
        turbine->flow[i].flow_kg_s >= turbine->flow[i - 1].flow_kg_s)
      continue;
    (void)snprintf(before, sizeof before, "%s[%zu]", flow, i - 1);
    (void)ta_raise_relation(d, key, before,
                            "the flow of a turbine does not fall with its "
                            "expansion ratio, found %.6g kg/s after %.6g kg/s",
                            turbine->flow[i].flow_kg_s, turbine->flow[i - 1].flow_kg_s);
  }
}

static void check_vehicle(const ta_vehicle *vehicle, const ta_engine *engine, ta_diagnostics *d) {
  const bool gears = ta_key_sound(d, "car.vehicle.gears"); /* as they were read */
  for (size_t i = 1; gears && i < vehicle->gear_count; i++) {
    char key[TA_KEY_MAX], before[TA_KEY_MAX];
    if (vehicle->gear[i] < vehicle->gear[i - 1]) continue;
    (void)snprintf(key, sizeof key, "car.vehicle.gears[%zu]", i);
    (void)snprintf(before, sizeof before, "car.vehicle.gears[%zu]", i - 1);
    (void)ta_raise_relation(d, key, before,
                            "ratios must fall from gear to gear, found %.6g after %.6g",
                            vehicle->gear[i], vehicle->gear[i - 1]);
  }
  if (!ta_key_sound(d, "car.engine.redline") || !ta_key_sound(d, "car.vehicle.shift_speed")) return;
  if (engine->has_redline && vehicle->shift_rpm > engine->redline_rpm)
    (void)ta_raise_relation(d, "car.vehicle.shift_speed", "car.engine.redline",
                            "the shift speed, %.6g rpm, is above the redline, %.6g rpm",
                            vehicle->shift_rpm, engine->redline_rpm);
  if (vehicle->shift_rpm > engine->window_rpm[1])
    (void)ta_raise(d, TA_WARNING, "car.vehicle.shift_speed",
                   "the shift speed, %.6g rpm, lies above the top of car.engine.boost_window, %.6g "
                   "rpm: the shaft is judged, and every cap made, up to the shift speed",
                   vehicle->shift_rpm, engine->window_rpm[1]);
}

static void check_turbo(const ta_turbo *turbo, ta_diagnostics *d) {
  const ta_compressor *compressor = &turbo->compressor;
  check_whole(d, "car.turbo.count", turbo->count, "turbos");
  if (turbo->has_sensor) check_sensor(&turbo->sensor, d);
  if (turbo->has_turbine) check_turbine(&turbo->turbine, d);
  if (ta_key_sound(d, "car.turbo.rated_speed") &&
      ta_key_sound(d, "car.turbo.compressor.exducer_diameter") && compressor->has_exducer) {
    const double tip_ms = acos(-1.0) * compressor->exducer_m * turbo->rated_rpm / 60.0;
    if (!(tip_ms >= SLOWEST_TIP_MS && tip_ms <= FASTEST_TIP_MS))
      (void)ta_raise_relation(
          d, "car.turbo.rated_speed", "car.turbo.compressor.exducer_diameter",
          "%.6g rpm on a wheel of %.4g mm is a tip speed of %.0f m/s; compressor wheels are rated "
          "between %.0f and %.0f m/s, so one of the two is mistyped",
          turbo->rated_rpm, 1e3 * compressor->exducer_m, tip_ms, SLOWEST_TIP_MS, FASTEST_TIP_MS);
  }
}

/* A rated speed is physical; the number beside the top line is corrected to the reference. */
static void check_rated_speed(const ta_turbo *turbo, ta_diagnostics *d) {
  const ta_compressor *compressor = &turbo->compressor;
  if (compressor->line_count == 0 || !ta_key_sound(d, "car.turbo")) return;
  const double top_rpm = compressor->line[compressor->line_count - 1].corrected_rpm;
  if (fabs(turbo->rated_rpm / top_rpm - 1.0) < SAME_NUMBER)
    (void)ta_raise(d, TA_WARNING, "car.turbo.rated_speed",
                   "%.6g rpm is also the corrected speed of the map's top line: is it the maker's "
                   "rated speed, which is physical, or was it read off the map?",
                   turbo->rated_rpm);
}

static void check_compressor(const ta_compressor *compressor, ta_diagnostics *d) {
  if (!lines_can_be_made(compressor, d)) return;
  (void)snprintf(d->scope, sizeof d->scope, "car.turbo.compressor.");
  (void)ta_speed_lines_check(compressor->line, compressor->line_count, d);
  d->scope[0] = '\0';
}

static void check_goal(const ta_goal *goal, ta_diagnostics *d) {
  const bool whole = ta_key_sound(d, "goal"); /* else what is not there may be mistyped */
  const char *taken = "of boost, map, and rows over engine speed one is taken";
  const int given =
      (goal->has_boost ? 1 : 0) + (goal->has_map ? 1 : 0) + (goal->point != NULL ? 1 : 0);
  if (whole && given != 1)
    (void)ta_raise(d, TA_ERROR, "goal", "%s: %s",
                   given == 0 ? "there is no target" : "there is more than one target", taken);
  if (given != 1 || goal->point == NULL || !ta_key_sound(d, "goal.rows") ||
      !ta_key_sound(d, "goal.columns"))
    return;
  if (goal->point_count == 0)
    (void)ta_raise(d, TA_ERROR, "goal.rows", "the table has no rows; at least one is needed");
  check_rising(d, "goal.rows", "engine_speed", (const char *)goal->point, sizeof *goal->point,
               goal->point_count);
  for (size_t i = 0; i < goal->point_count; i++) {
    char key[TA_KEY_MAX];
    (void)snprintf(key, sizeof key, "goal.rows[%zu]", i);
    if (goal->point[i].has_boost == goal->point[i].has_map)
      (void)ta_raise(d, TA_ERROR, key, "%s; a row holds either boost or map",
                     goal->point[i].has_boost ? "both boost and map stand here"
                                              : "neither boost nor map stands here");
  }
}

/* Builds the day to find what is wrong with it; true when it was built. */
static bool check_day(const ta_event *event, ta_day *day, ta_diagnostics *d) {
  if (!ta_key_sound(d, "day")) return false;
  if (event->day.station_count > 0 && event->day_is_isa) {
    (void)ta_raise_relation(d, "day.isa", "day.stations",
                            "both the standard day and stations stand here; one is taken");
    return false;
  }
  if (event->day.station_count == 0 && !event->day_is_isa) {
    (void)ta_raise(d, TA_ERROR, "day", "there is no day: stations, metar, or isa, are taken");
    return false;
  }
  (void)snprintf(d->scope, sizeof d->scope, "day.");
  const ta_status status = ta_day_build(&event->day, day, d);
  d->scope[0] = '\0';
  return status == TA_OK;
}

/* The controller holds the end of its axis beyond it, and in thinner air the cap is lower. */
static void check_pressure_axis(const ta_control *control, const ta_day *day, double top_m,
                                ta_diagnostics *d) {
  const char *axis = "car.control.pressure_axis";
  ta_air top;
  if (control->pressure_axis_count == 0 || !ta_key_sound(d, axis) ||
      ta_day_air(day, top_m, &top) != TA_OK || control->pressure_axis_pa[0] <= top.pressure_pa)
    return;
  (void)ta_raise(
      d, TA_ERROR, axis,
      "the lowest breakpoint, %.1f kPa, is held down to the %.1f kPa of the course's top, "
      "where the cap is lower: the axis must reach that far",
      control->pressure_axis_pa[0] / 1e3, top.pressure_pa / 1e3);
}

/* What the day says about the course, and the goal about the air there. */
static void check_day_on_course(const ta_event *event, const ta_day *day, ta_diagnostics *d) {
  double low_m, high_m;
  ta_air start, low;
  if (!ta_key_sound(d, "course")) return;
  ta_course_range(&event->course, &low_m, &high_m);
  if (event->day.station_count > 0 && high_m > day->top_station_m + STATION_REACH_M)
    (void)ta_raise(
        d, TA_WARNING, "day.stations",
        "no station in the top %.0f m: the air there is extrapolated; a reading up there "
        "settles it",
        high_m - day->top_station_m);
  check_pressure_axis(&event->car.control, day, high_m, d);
  if (!ta_key_sound(d, "goal") ||
      ta_day_air(day, event->course.point[0].elevation_m, &start) != TA_OK ||
      ta_day_air(day, low_m, &low) != TA_OK)
    return;
  const ta_control *control = &event->car.control;
  const bool gauge = control->holds == TA_HOLDS_GAUGE;
  ta_air read = start;
  if (!ta_key_sound(d, "car.control") ||
      (control->has_barometer_read_at &&
       ta_day_air(day, control->barometer_read_at_m, &read) != TA_OK))
    return;
  const ta_goal *goal = &event->goal;
  const double densest_pa = gauge ? start.pressure_pa : low.pressure_pa;
  for (size_t i = 0; i < (goal->point_count > 0 ? goal->point_count : 1); i++) {
    const double rpm = goal->point_count > 0 ? goal->point[i].engine_rpm : 0.0,
                 map_pa = ta_goal_map(goal, read.pressure_pa, rpm);
    char key[TA_KEY_MAX];
    if (goal->point_count > 0)
      (void)snprintf(key, sizeof key, "goal.rows[%zu]", i);
    else
      (void)snprintf(key, sizeof key, "goal.%s", goal->has_map ? "map" : "boost");
    if (!(map_pa > densest_pa))
      (void)ta_raise(
          d, TA_ERROR, key, "a MAP of %.1f kPa is no boost: the ambient pressure %s %.1f kPa",
          map_pa / 1e3, gauge ? "at the start is" : "on this course is up to", densest_pa / 1e3);
  }
}

/* Course and compressor map are the long ones, and are left out where they were checked before. */
static ta_status check(const ta_event *event, const char *part, unsigned touches,
                       ta_diagnostics *diagnostics) {
  const bool all = part[0] == '\0', map = (touches & TA_TOUCHES_COMPRESSOR_MAP) != 0;
  ta_day day;
  bool day_built = false;
  if ((all && (touches & TA_TOUCHES_COURSE) != 0) || strcmp(part, "course") == 0) {
    check_course(event, diagnostics);
    if (!all || event->car.has_vehicle) check_corners(&event->course, diagnostics);
  }
  if (all || strcmp(part, "car") == 0) {
    check_engine(&event->car.engine, diagnostics);
    check_intake(&event->car.intake, diagnostics);
    check_control(&event->car, diagnostics);
    if (event->car.has_vehicle) check_vehicle(&event->car.vehicle, &event->car.engine, diagnostics);
    check_turbo(&event->car.turbo, diagnostics);
  }
  if ((all && map) || strcmp(part, "car") == 0 || strcmp(part, "car.turbo.compressor") == 0)
    check_compressor(&event->car.turbo.compressor, diagnostics);
  if (all || strcmp(part, "car") == 0) check_rated_speed(&event->car.turbo, diagnostics);
  if (all) check_goal(&event->goal, diagnostics);
  if (all || strcmp(part, "day") == 0) day_built = check_day(event, &day, diagnostics);
  if (all && day_built) check_day_on_course(event, &day, diagnostics);
  return diagnostics->errors == 0 ? TA_OK : TA_ERR_INPUT;
}

ta_status ta_event_check(const ta_event *event, const char *part, ta_diagnostics *diagnostics) {
  if (event == NULL || part == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  return check(event, part, TA_TOUCHES_ALL, diagnostics);
}

ta_status ta_event_fork_complete(ta_event *fork, unsigned touches, ta_diagnostics *diagnostics) {
  if (fork == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  const ta_status status =
      (touches & TA_TOUCHES_COMPRESSOR_MAP) != 0 ? complete_compressor(fork, diagnostics) : TA_OK;
  return status == TA_OK ? check(fork, "", touches, diagnostics) : status;
}
