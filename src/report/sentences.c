/* sentences.c - places, verdicts, warnings and cautions in words. */
#include "sentences.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char ta_cautions[] =
    "A prediction does not replace a shaft-speed sensor.\n"
    "The maker's rated speed and the event's rules govern.\n"
    "Have a qualified person check this before the car runs, and keep people out of the wheel's "
    "plane: "
    "a burst wheel can kill.\n";

const char *ta_say_place(const ta_course *course, ta_unit_system units, double distance_m,
                         double elevation_m, char text[TA_SENTENCE_MAX]) {
  char km[TA_SHOWN_MAX], height[TA_SHOWN_MAX], gap[TA_SHOWN_MAX], near[TA_SENTENCE_MAX / 2] = "";
  const ta_course_point *mark = ta_course_nearest_mark(course, distance_m);
  if (mark != NULL) {
    const double from = distance_m - mark->distance_m;
    /* tens of metres are as near as a driver can tell */
    const double rounded =
        units == TA_US ? 0.3048 * 50.0 * round(from / (0.3048 * 50.0)) : 10.0 * round(from / 10.0);
    if (rounded == 0.0)
      (void)snprintf(near, sizeof near, ", %s", mark->mark);
    else if (fabs(rounded) < 1000.0)
      (void)snprintf(near, sizeof near, ", %s %s %s",
                     ta_show_quantity(TA_SHOW_ELEVATION, units, 0, fabs(rounded), gap),
                     from > 0.0 ? "after" : "before", mark->mark);
    else
      (void)snprintf(near, sizeof near, ", %s %s %s",
                     ta_show_quantity(TA_SHOW_DISTANCE, units, 1, fabs(from), gap),
                     from > 0.0 ? "after" : "before", mark->mark);
  }
  (void)snprintf(text, TA_SENTENCE_MAX, "%s (%s%s)",
                 ta_show_quantity(TA_SHOW_DISTANCE, units, 1, distance_m, km),
                 ta_show_quantity(TA_SHOW_ELEVATION, units, 0, elevation_m, height), near);
  return text;
}

const char *ta_say_set_point(const ta_prepared *prepared, double set_point, ta_unit_system units,
                             char text[TA_SENTENCE_MAX]) {
  const bool gauge = prepared->event->car.control.holds == TA_HOLDS_GAUGE;
  char shown[TA_SHOWN_MAX];
  (void)snprintf(text, TA_SENTENCE_MAX, "%s%s",
                 ta_show_cap(gauge ? TA_SHOW_BOOST : TA_SHOW_MAP, units, set_point, shown),
                 gauge ? " of boost" : "");
  return text;
}

const char *ta_say_zone(const ta_operating_point *point, char text[TA_SENTENCE_MAX]) {
  const bool on_the_lines =
      point->zone == TA_MAPPED || point->zone == TA_BELOW ||
      (point->zone == TA_EXTRAPOLATED && point->beyond_top_line <= TA_UNRELIABLE_BEYOND_TOP);
  if (on_the_lines && ta_point_is_unreliable(point)) { /* it is the restrictor then */
    (void)snprintf(text, TA_SENTENCE_MAX,
                   "within 3 %% of the inlet restrictor's choke: unreliable");
    return text;
  }
  switch (point->zone) {
    case TA_EXTRAPOLATED:
      (void)snprintf(text, TA_SENTENCE_MAX, "%.1f %% past the map's last line: an estimate%s",
                     100.0 * point->beyond_top_line,
                     point->beyond_top_line > TA_UNRELIABLE_BEYOND_TOP ? ", and unreliable" : "");
      break;
    case TA_UNREACHABLE:
      (void)snprintf(text, TA_SENTENCE_MAX, "%s: no speed can be named",
                     point->restrictor_share >= 1.0 ? "the inlet restrictor chokes"
                                                    : "more than 25 % past the map's last line");
      break;
    case TA_SURGE:
      (void)snprintf(text, TA_SENTENCE_MAX, "left of the surge line: unreliable");
      break;
    case TA_CHOKE:
      (void)snprintf(text, TA_SENTENCE_MAX, "right of the lines' ends: unreliable");
      break;
    case TA_BELOW:
      (void)snprintf(text, TA_SENTENCE_MAX, "below the map's lowest line: an estimate");
      break;
    default:
      (void)snprintf(text, TA_SENTENCE_MAX, "inside the map: firm");
  }
  return text;
}

const char *ta_say_time(double seconds, char text[TA_SHOWN_MAX]) {
  const double tenths = floor(10.0 * seconds + 0.5);
  const int minutes = (int)(tenths / 600.0);
  if (isfinite(seconds))
    (void)snprintf(text, TA_SHOWN_MAX, "%d:%04.1f", minutes, (tenths - 600.0 * minutes) / 10.0);
  else
    (void)snprintf(text, TA_SHOWN_MAX, "-");
  return text;
}

const char *ta_say_time_known(ta_time_known known) {
  static const char *const words[] = {
      [TA_TIME_KNOWN] = "",
      [TA_TIME_NO_VEHICLE] = "; time not known: the car file has no vehicle",
      [TA_TIME_NO_CORNERS] =
          "; time not known: the course has no corners, speed limits or positions",
      [TA_TIME_STALLED] = "; time not known: the car cannot climb this course",
      [TA_TIME_UNREACHABLE] =
          "; time of the full target not known: the compressor map does not reach so far"};
  return words[known];
}

const char *ta_say_limited_by(ta_limited_by limited_by) {
  static const char *const words[] = {
      [TA_BY_GOAL] = "the target",           [TA_BY_RATED_SPEED] = "the shaft",
      [TA_BY_SURGE] = "the shaft, in surge", [TA_BY_CHOKE] = "the shaft, in choke",
      [TA_BY_RESTRICTOR] = "the restrictor", [TA_BY_MAP_SENSOR] = "the sensor's range",
      [TA_BY_DRIVE] = "the turbine",         [TA_BY_MINIMUM_BOOST] = "the spring"};
  return words[limited_by];
}

bool ta_say_reason(const ta_prepared *prepared, const ta_plan *plan, ta_reason reason,
                   ta_unit_system units, char text[TA_SENTENCE_MAX]) {
  if (!plan->reason[reason]) return false;
  const ta_placed_point *worst = &plan->over.worst;
  char place[TA_SENTENCE_MAX], shown[TA_SHOWN_MAX], limit[TA_SHOWN_MAX], most[TA_SENTENCE_MAX];
  (void)ta_say_place(&prepared->event->course, units, worst->distance_m, worst->elevation_m, place);
  (void)ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->limit_rpm, limit);
  switch (reason) {
    case TA_REASON_OVER:
      if (worst->point.restrictor_share >= 1.0)
        (void)snprintf(most, sizeof most, "no speed can be named");
      else if (isinf(worst->point.shaft_rpm))
        (void)snprintf(most, sizeof most, "beyond what the map can tell");
      else
        (void)snprintf(most, sizeof most, "up to %s",
                       ta_show_quantity(TA_SHOW_RPM, units, -1, worst->point.shaft_rpm, shown));
      (void)snprintf(text, TA_SENTENCE_MAX, "the shaft passes its limit of %s: %s at %s", limit,
                     most, place);
      break;
    case TA_REASON_CANNOT_HOLD: {
      char map[TA_SHOWN_MAX], where[TA_SENTENCE_MAX];
      (void)snprintf(
          text, TA_SENTENCE_MAX,
          "from %s on, the turbine cannot drive the target over the whole boost window: at %s of "
          "engine speed it holds %s",
          ta_say_place(&prepared->event->course, units, plan->drive.distance_m,
                       plan->drive.elevation_m, where),
          ta_show_quantity(TA_SHOW_RPM, units, -1, plan->drive.engine_rpm, shown),
          ta_show_quantity(TA_SHOW_MAP, units, -1, plan->drive.held_map_pa, map));
      break;
    }
    case TA_REASON_CANNOT_CAP:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "the wastegate's spring alone, %s of boost, gives more than the cap: a softer "
                     "spring, a larger wastegate or an earlier shift would help",
                     ta_show_quantity(TA_SHOW_BOOST, units, -1,
                                      prepared->event->car.control.minimum_boost_pa, shown));
      break;
    case TA_REASON_RESTRICTOR:
      if (worst->point.restrictor_share >= 1.0)
        (void)snprintf(text, TA_SENTENCE_MAX,
                       "at %s the inlet restrictor chokes: the air for this target cannot be drawn",
                       place);
      else
        (void)snprintf(text, TA_SENTENCE_MAX,
                       "at %s the flow is %.1f %% of what chokes the inlet restrictor; within 3 %% "
                       "of it the prediction is unreliable",
                       place, 100.0 * worst->point.restrictor_share);
      break;
    case TA_REASON_MAP_SENSOR:
      (void)snprintf(
          text, TA_SENTENCE_MAX,
          "the target, overshoot on, lies beyond 98 %% of the pressure sensor's range of "
          "%s: the controller would not see it",
          ta_show_quantity(TA_SHOW_MAP, units, -1, prepared->event->car.control.map_sensor_pa,
                           shown));
      break;
    case TA_REASON_UNREACHABLE:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "at %s the point lies more than 25 %% past the map's last line", place);
      break;
    case TA_REASON_FAR_EXTRAPOLATED:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "the worst point lies %.1f %% past the map's last line, and past 10 %% the "
                     "prediction is unreliable",
                     100.0 * worst->point.beyond_top_line);
      break;
    case TA_REASON_SURGE:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "the worst point lies left of the surge line, where the map says nothing");
      break;
    case TA_REASON_CHOKE:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "the worst point lies right of the speed lines' ends (choke), where speed "
                     "rises steeply and the map says nothing");
      break;
    case TA_REASON_MAP_ERROR:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "the worst point, %s, is below the limit of %s by less than the map's own "
                     "error, %.2f %%",
                     ta_show_quantity(TA_SHOW_RPM, units, -1, worst->point.shaft_rpm, shown), limit,
                     100.0 * plan->map_error);
      break;
    case TA_REASON_MAP_ERROR_UNKNOWN:
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "how far off the compressor map is cannot be told: with two speed lines none "
                     "can be left out and predicted");
      break;
    case TA_REASON_STATIONS_DISAGREE:
      (void)snprintf(text, TA_SENTENCE_MAX, "the day's stations disagree");
      break;
    case TA_REASON_SURGE_IN_WINDOW:
      (void)snprintf(
          text, TA_SENTENCE_MAX,
          "up to %s of engine speed the target lies left of the surge line, where the map "
          "says nothing and the boost cannot be held",
          ta_show_quantity(TA_SHOW_RPM, units, -1, plan->surges_below_rpm, shown));
      break;
    default: /* TA_REASON_COLD_READING */
      (void)snprintf(text, TA_SENTENCE_MAX,
                     "one cold valley reading stands for the air up to the summit");
  }
  return true;
}

void ta_warnings_add(ta_warnings *warnings, const char *format, ...) {
  if (warnings->count == TA_WARNINGS_MAX) return;
  va_list args;
  va_start(args, format);
  (void)vsnprintf(warnings->text[warnings->count++], TA_MESSAGE_MAX, format, args);
  va_end(args);
}

void ta_warn_of_heat(ta_warnings *warnings, ta_unit_system units, double outlet_temperature_k,
                     double engine_rpm, const char *where) {
  char hot[TA_SHOWN_MAX], weak[TA_SHOWN_MAX], rpm[TA_SHOWN_MAX];
  if (!(outlet_temperature_k > TA_WHEEL_WEAK_ABOVE_K)) return;
  ta_warnings_add(
      warnings,
      "the compressor outlet reaches %s at %s of engine speed, at %s: above %s aluminium "
      "wheels lose strength (common practice)",
      ta_show_quantity(TA_SHOW_TEMPERATURE, units, 0, outlet_temperature_k, hot),
      ta_show_quantity(TA_SHOW_RPM, units, -1, engine_rpm, rpm), where,
      ta_show_quantity(TA_SHOW_TEMPERATURE, units, 0, TA_WHEEL_WEAK_ABOVE_K, weak));
}

void ta_warn_of_alarm(const ta_prepared *prepared, ta_unit_system units, ta_warnings *warnings) {
  char gap[TA_SHOWN_MAX];
  if (ta_alarm_has_room(prepared)) return;
  ta_warnings_add(
      warnings,
      "limit and rated speed lie %s apart: too little room for an alarm between them, which would "
      "sound at the limit or not before the rated speed; a larger margin makes room",
      ta_show_quantity(TA_SHOW_RPM, units, -1,
                       prepared->event->car.turbo.rated_rpm - prepared->limit_rpm, gap));
}

/* The spring adds to the ambient: under an absolute target it rules in dense air, below some
 * elevation; under a boost everywhere or nowhere. */
static void warn_of_spring(const ta_prepared *prepared, ta_unit_system units,
                           ta_warnings *warnings) {
  const ta_course *course = &prepared->event->course;
  double low_set, high_set, ruled_m, free_m;
  char place[TA_SENTENCE_MAX], where[TA_SENTENCE_MAX + 60] = "all the way";
  ta_air air;
  ta_course_range(course, &ruled_m, &free_m);
  ta_prepared_goal_range(prepared, ta_judged_speeds(&prepared->event->car), &low_set, &high_set);
  if (ta_day_air(&prepared->day, ruled_m, &air) != TA_OK ||
      !ta_spring_rules(prepared, low_set, air.pressure_pa))
    return;
  if (ta_day_air(&prepared->day, free_m, &air) == TA_OK &&
      !ta_spring_rules(prepared, low_set, air.pressure_pa)) {
    while (free_m - ruled_m > 0.1) {
      const double middle_m = 0.5 * (ruled_m + free_m);
      const bool ruled = ta_day_air(&prepared->day, middle_m, &air) == TA_OK &&
                         ta_spring_rules(prepared, low_set, air.pressure_pa);
      *(ruled ? &ruled_m : &free_m) = middle_m;
    }
    (void)snprintf(where, sizeof where, "wherever the course lies lower than at %s",
                   ta_say_place(course, units, ta_course_distance(course, free_m), free_m, place));
  }
  ta_warnings_add(
      warnings,
      "%s the wastegate's spring gives more than the target asks for%s: the boost there "
      "is the spring's",
      where, high_set > low_set ? ", at some engine speeds at least" : "");
}

void ta_warnings_collect(const ta_prepared *prepared, const ta_plan *plan,
                         const ta_diagnostics *diagnostics, ta_unit_system units,
                         ta_warnings *warnings) {
  char rpm[TA_SHOWN_MAX], place[TA_SENTENCE_MAX];
  warnings->count = 0;
  for (size_t i = 0; diagnostics != NULL && i < diagnostics->count; i++)
    if (diagnostics->item[i].severity == TA_WARNING)
      ta_warnings_add(warnings, "%s", diagnostics->item[i].text);
  if (prepared == NULL) return;
  if (prepared->event->car.turbo.thin_air.off != 0)
    ta_warnings_add(warnings,
                    "thin air is off: the compressor map is read as if the mountain's air were as "
                    "dense as the gas stand's, which makes the shaft look slower than it is");
  if (plan == NULL) return;
  warn_of_spring(prepared, units, warnings);
  ta_warn_of_alarm(prepared, units, warnings);
  if (prepared->event->starts_midway && plan->runs.known == TA_TIME_KNOWN)
    ta_warnings_add(warnings,
                    "the run starts from a standstill where the part begins: its times are longer "
                    "than the part takes in a run from the start line");
  if (plan->drive.beyond_points)
    ta_warnings_add(warnings,
                    "the turbine is asked for an expansion ratio of up to %.1f, past its typed "
                    "points: whether it drives the target there is an estimate",
                    plan->drive.expansion_ratio);
  if (plan->surges_below_rpm > 0.0)
    ta_warnings_add(warnings,
                    "somewhere on the course the target lies left of the surge line up to %s of "
                    "engine speed: the boost there cannot be held, and surge harms the turbo",
                    ta_show_quantity(TA_SHOW_RPM, units, -1, plan->surges_below_rpm, rpm));
  const ta_course *course = &prepared->event->course;
  const double hottest_m = plan->hottest.elevation_m;
  ta_warn_of_heat(
      warnings, units, plan->hottest.outlet_temperature_k, plan->hottest.engine_rpm,
      ta_say_place(course, units, ta_course_distance(course, hottest_m), hottest_m, place));
}

void ta_warnings_text(const ta_warnings *warnings, ta_buffer *out) {
  if (warnings->count > 0) ta_buffer_add(out, "\n");
  ta_notes(warnings, out);
}

void ta_notes(const ta_warnings *warnings, ta_buffer *out) {
  for (size_t i = 0; i < warnings->count; i++) {
    ta_buffer_add(out, "Note: ");
    ta_folded(out, TA_LINE_WIDTH, 6, warnings->text[i]);
  }
}

void ta_warnings_json(const ta_warnings *warnings, ta_json *json) {
  ta_json_open(json, "warnings", '[');
  for (size_t i = 0; i < warnings->count; i++) ta_json_text(json, NULL, warnings->text[i]);
  ta_json_close(json, ']');
}

void ta_folded(ta_buffer *out, int width, int indent, const char *text) {
  int column = 0;
  while (*text != '\0') {
    const int word = (int)strcspn(text, " ");
    if (column > indent && column + 1 + word > width) {
      ta_buffer_add(out, "\n%*s", indent, "");
      column = indent;
    } else if (column > 0) {
      ta_buffer_add(out, " ");
      column++;
    }
    ta_buffer_add(out, "%.*s", word, text);
    column += word;
    text += word;
    while (*text == ' ') text++;
  }
  ta_buffer_add(out, "\n");
}

void ta_headed(ta_buffer *out, int width, int indent, const char *heading, const char *text) {
  ta_buffer lines = {0};
  ta_folded(&lines, width - indent, 0, text);
  out->failed = out->failed || lines.failed;
  for (const char *line = lines.text; line != NULL && *line != '\0';
       line += strcspn(line, "\n") + 1) {
    ta_buffer_add(out, "%-*s%.*s\n", indent, line == lines.text ? heading : "",
                  (int)strcspn(line, "\n"), line);
  }
  ta_buffer_free(&lines);
}
