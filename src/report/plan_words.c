/* plan_words.c - what a plan says in sentences. */
#include "plan_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"

/* The target as it is set: "228.0 kPa", or "125.0 to 175.0 kPa" where it changes with engine speed. */
static void goal_text(const ta_prepared *prepared, ta_unit_system units, char *text, size_t size) {
  const bool gauge = prepared->event->car.control.holds == TA_HOLDS_GAUGE;
  const ta_show show = gauge ? TA_SHOW_BOOST : TA_SHOW_MAP;
  double low, high;
  ta_prepared_goal_range(prepared, ta_judged_speeds(&prepared->event->car), &low, &high);
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)snprintf(text, size, "%s%s%s%s", high > low ? ta_show_number(show, units, -1, low, a) : "",
                 high > low ? " to " : "", ta_show_quantity(show, units, -1, high, b),
                 gauge ? " of boost" : "");
}

/* ---- the answer ------------------------------------------------------------------------------ */

static char *add_line(ta_answer *answer, const char *verdict, bool is_item) {
  ta_answer_line *line = &answer->line[answer->count++];
  line->verdict = verdict;
  line->is_item = is_item;
  return line->text;
}

/* What to do, and what the cap is worth: it stands on the limit, and the map is known only so well. */
static void cap_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_answer *answer) {
  static const char *const ways[TA_STRATEGY_COUNT] = {
      [TA_BY_TABLE] = "the table below",
      [TA_BY_AMBIENT] = "the cap by ambient pressure below",
      [TA_BY_POSITION] = "the positions below",
      [TA_EARLY_SHIFT] = "the full target with the early shift below"};
  const ta_constant_cap *cap = &plan->caps.constant;
  const ta_placed_point *at = &cap->tightest;
  const ta_timed_runs *runs = &plan->runs;
  const size_t size = sizeof(ta_paragraph);
  char set[TA_SENTENCE_MAX], place[TA_SENTENCE_MAX], zone[TA_SENTENCE_MAX], sure[TA_SHOWN_MAX] = "";
  const char *forbidden = "Do not run this target on this course.";
  const bool has_better = runs->has_best && ways[runs->best] != NULL,
             is_vouched = ta_caps_are_vouched(&plan->caps);
  char *text = add_line(answer, NULL, false);
  if (!cap->can_be_had) {
    (void)snprintf(text, size, "%s %s", forbidden,
                   cap->tightest.point.restrictor_share >= 1.0
                       ? "No boost cap avoids it: the inlet restrictor chokes."
                   : cap->limited_by == TA_BY_MINIMUM_BOOST
                       ? "The wastegate spring alone gives more than the cap: a softer spring, a "
                         "larger wastegate or less exhaust to drive it would help."
                       : "No boost cap avoids it.");
    return;
  }
  if (has_better && isfinite(runs->time_s[TA_FULL_TARGET]))
    (void)snprintf(text, size, "%s Run %s: it costs %.1f s.", forbidden, ways[runs->best],
                   runs->time_s[runs->best] - runs->time_s[TA_FULL_TARGET]);
  else
    (void)snprintf(
        text, size, "%s%s", forbidden,
        is_vouched ? "" : " Nor the caps below: they lie where not enough is known to run them.");
  /* the cap is where the shaft stands on the limit, as far as the map can tell */
  if (plan->map_error_known)
    (void)snprintf(sure, sizeof sure, ", +-%.2f %%,", 100.0 * plan->map_error);
  text = add_line(answer, NULL, false);
  const size_t used = (size_t)snprintf(text, size, "One cap%s: %s; ",
                                       has_better   ? ""
                                       : is_vouched ? " for the whole run"
                                                    : " would be",
                                       ta_say_set_point(prepared, cap->set_point, units, set));
  if (cap->limited_by == TA_BY_RATED_SPEED || cap->limited_by == TA_BY_SURGE ||
      cap->limited_by == TA_BY_CHOKE)
    (void)snprintf(
        text + used, size - used, "on the limit%s at %s: %s.", sure,
        ta_say_place(&prepared->event->course, units, at->distance_m, at->elevation_m, place),
        ta_say_zone(&at->point, zone));
  else
    (void)snprintf(text + used, size - used, "limited by %s.", ta_say_limited_by(cap->limited_by));
}

static void over_lines(const ta_prepared *prepared, const ta_plan *plan, const char *goal,
                       ta_unit_system units, ta_answer *answer) {
  const ta_event *event = prepared->event;
  const ta_course *course = &event->course;
  const ta_over *over = &plan->over;
  char place[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
  const ta_stretch *first = &over->stretch[0], *last = &over->stretch[over->count - 1];
  const double finish_m = course->point[course->count - 1].distance_m;
  if (last->to_distance_m >= finish_m)
    (void)snprintf(to, sizeof to, event->is_cut ? "the end of the part" : "the finish");
  else
    (void)ta_say_place(course, units, last->to_distance_m, last->to_elevation_m, to);
  (void)snprintf(
      add_line(answer, "OVER THE LIMIT", false), sizeof(ta_paragraph), "from %s to %s at %s%s.",
      over->starts_over
          ? (event->is_cut ? "where the part begins" : "the start")
          : ta_say_place(course, units, first->from_distance_m, first->from_elevation_m, place),
      to, goal, over->count > 1 ? ", with breaks" : "");
  cap_lines(prepared, plan, units, answer);
}

void ta_answer_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                    ta_answer *answer) {
  const size_t size = sizeof(ta_paragraph);
  char reason[TA_SENTENCE_MAX] = "", goal[2 * TA_SHOWN_MAX], alarm[TA_SHOWN_MAX];
  goal_text(prepared, units, goal, sizeof goal);
  answer->count = 0;
  switch (plan->verdict) {
    case TA_CANNOT_HOLD:
      if (plan->reason[TA_REASON_OVER]) over_lines(prepared, plan, goal, units, answer);
      (void)ta_say_reason(prepared, plan, TA_REASON_CANNOT_HOLD, units, reason);
      (void)snprintf(add_line(answer, "CANNOT HOLD", false), size, "%s.", reason);
      break;
    case TA_OVER:
      over_lines(prepared, plan, goal, units, answer);
      break;
    case TA_CANNOT_CAP:
      (void)snprintf(add_line(answer, "CANNOT CAP", false), size,
                     "to %s: the target is within the limit, but the wastegate spring gives more.",
                     goal);
      cap_lines(prepared, plan, units, answer);
      break;
    case TA_UNSURE:
      (void)snprintf(add_line(answer, "UNSURE", false), size,
                     "at the target: not enough is known to call this within the limit, for these "
                     "reasons:");
      for (int i = 0; i < TA_REASON_COUNT; i++)
        if (ta_say_reason(prepared, plan, (ta_reason)i, units, reason))
          (void)snprintf(add_line(answer, NULL, true), size, "%s", reason);
      break;
    default:
      (void)snprintf(add_line(answer, "CLEAR", false), size,
                     "at %s: within the limit as described; sensor on, alarm set at %s.", goal,
                     ta_show_quantity(TA_SHOW_RPM, units, -1, ta_alarm_rpm(prepared), alarm));
  }
}

bool ta_say_untold(const ta_prepared *prepared, const ta_plan *plan, ta_reason reason,
                   ta_unit_system units, char text[TA_SENTENCE_MAX]) {
  const bool told = plan->verdict == TA_UNSURE || reason == TA_REASON_OVER ||
                    (reason == TA_REASON_CANNOT_HOLD && plan->verdict == TA_CANNOT_HOLD) ||
                    (reason == TA_REASON_CANNOT_CAP && !plan->caps.constant.can_be_had);
  return !told && ta_say_reason(prepared, plan, reason, units, text);
}

/* ---- the rest -------------------------------------------------------------------------------- */

static bool is_named(const ta_plan *plan) {
  return plan->over.worst.point.zone != TA_UNREACHABLE;
}

const char *ta_say_limit(const ta_prepared *prepared, ta_unit_system units, ta_paragraph text) {
  const ta_event *event = prepared->event;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)snprintf(text, sizeof(ta_paragraph), "%s = rated %s less %.3g %%",
                 ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->limit_rpm, a),
                 ta_show_number(TA_SHOW_RPM, units, -1, event->car.turbo.rated_rpm, b),
                 100.0 * event->goal.margin);
  return text;
}

const char *ta_say_judged(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                          ta_paragraph text) {
  const ta_car *car = &prepared->event->car;
  const ta_speed_range judged = ta_judged_speeds(car);
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], d[TA_SHOWN_MAX],
      worst[TA_SHOWN_MAX + 10] = "";
  if (is_named(plan))
    (void)snprintf(worst, sizeof worst, " (worst %s)",
                   ta_show_number(TA_SHOW_RPM, units, -1, plan->over.worst.point.engine_rpm, d));
  (void)snprintf(
      text, sizeof(ta_paragraph), "judged from %s to %s rpm%s, overshoot of %s on",
      ta_show_number(TA_SHOW_RPM, units, -1, judged.low_rpm, a),
      ta_show_number(TA_SHOW_RPM, units, -1, judged.high_rpm, b), worst,
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, ta_control_excess(&car->control), c));
  return text;
}

const char *ta_say_stretch(const ta_prepared *prepared, const ta_stretch *stretch,
                           ta_unit_system units, ta_paragraph text) {
  const ta_course *course = &prepared->event->course;
  char from[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
  (void)snprintf(
      text, sizeof(ta_paragraph), "%s to %s",
      ta_say_place(course, units, stretch->from_distance_m, stretch->from_elevation_m, from),
      ta_say_place(course, units, stretch->to_distance_m, stretch->to_elevation_m, to));
  return text;
}

const char *ta_say_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                       ta_paragraph text) {
  const ta_timed_runs *runs = &plan->runs;
  const ta_course *course = &prepared->event->course;
  const size_t size = sizeof(ta_paragraph);
  char over[TA_SHOWN_MAX], whole[TA_SHOWN_MAX], rated[TA_SHOWN_MAX], place[TA_SENTENCE_MAX];
  if (runs->known != TA_TIME_KNOWN) return NULL;
  size_t used;
  (void)ta_say_time(runs->time_s[TA_FULL_TARGET], whole);
  if (runs->first_over.happens)
    used = (size_t)snprintf(text, size, "%s for %s of %s, from %s on",
                            isinf(runs->peak_shaft_rpm) ? "over, or not known," : "over",
                            ta_say_time(runs->over_limit_s, over), whole,
                            ta_say_place(course, units, runs->first_over.distance_m,
                                         runs->first_over.elevation_m, place));
  else
    used = (size_t)snprintf(text, size,
                            "never over at the engine speeds of the simulated run of %s", whole);
  if (runs->first_over_rated.happens)
    (void)snprintf(text + used, size - used, "; above rated%s for %s, from %s on",
                   isinf(runs->peak_shaft_rpm) ? ", or not known," : "",
                   ta_say_time(runs->over_rated_s, rated),
                   ta_say_place(course, units, runs->first_over_rated.distance_m,
                                runs->first_over_rated.elevation_m, place));
  return text;
}

const char *ta_say_redline(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                           ta_paragraph text) {
  const ta_event *event = prepared->event;
  char rpm[TA_SHOWN_MAX], from[TA_SENTENCE_MAX];
  if (!plan->has_redline || plan->redline.count == 0) return NULL;
  (void)snprintf(text, sizeof(ta_paragraph), "should the target be held on to %s: over from %s on",
                 ta_show_quantity(TA_SHOW_RPM, units, -1, event->car.engine.redline_rpm, rpm),
                 ta_say_place(&event->course, units, plan->redline.first.distance_m,
                              plan->redline.first.elevation_m, from));
  return text;
}

const char *ta_say_worst(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                         ta_paragraph text) {
  const ta_placed_point *worst = &plan->over.worst;
  char speed[2 * TA_SHOWN_MAX] = "", rpm[TA_SHOWN_MAX], place[TA_SENTENCE_MAX],
                 zone[TA_SENTENCE_MAX];
  if (is_named(plan))
    (void)snprintf(speed, sizeof speed, "%s, %.1f %% of rated, at ",
                   ta_show_quantity(TA_SHOW_RPM, units, -1, worst->point.shaft_rpm, rpm),
                   100.0 * worst->point.shaft_rpm / prepared->event->car.turbo.rated_rpm);
  (void)snprintf(
      text, sizeof(ta_paragraph), "%s%s: %s", speed,
      ta_say_place(&prepared->event->course, units, worst->distance_m, worst->elevation_m, place),
      ta_say_zone(&worst->point, zone));
  return text;
}

const char *ta_say_day(const ta_prepared *prepared, ta_unit_system units, ta_paragraph text) {
  const ta_event *event = prepared->event;
  const double top_m = ta_top_of_course(&event->course)->elevation_m;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], d[TA_SHOWN_MAX], e[TA_SHOWN_MAX],
      from[TA_SHOWN_MAX] = "the standard day";
  ta_air top;
  if (ta_day_air(&prepared->day, top_m, &top) != TA_OK) return NULL;
  if (event->day.station_count > 0)
    (void)snprintf(from, sizeof from, "%zu %s", event->day.station_count,
                   event->metar != NULL            ? "aerodrome report"
                   : event->day.station_count == 1 ? "station"
                                                   : "stations");
  (void)snprintf(text, sizeof(ta_paragraph), "%s, %s at the start; %s, %s at %s; from %s",
                 ta_show_quantity(TA_SHOW_TEMPERATURE, units, -1, prepared->start.temperature_k, a),
                 ta_show_quantity(TA_SHOW_AMBIENT, units, -1, prepared->start.pressure_pa, b),
                 ta_show_quantity(TA_SHOW_TEMPERATURE, units, -1, top.temperature_k, c),
                 ta_show_quantity(TA_SHOW_AMBIENT, units, -1, top.pressure_pa, d),
                 ta_show_quantity(TA_SHOW_ELEVATION, units, -1, top_m, e), from);
  return text;
}

const char *ta_say_positions(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                             ta_paragraph text) {
  const ta_positions *positions = &plan->caps.positions;
  const size_t size = sizeof(ta_paragraph);
  size_t used = 0;
  if (!ta_strategy_offered(&plan->caps, TA_BY_POSITION)) return NULL;
  for (size_t i = 0; i < positions->count && used < size; i++) {
    const ta_position *position = &positions->position[i];
    char set[TA_SENTENCE_MAX], place[TA_SENTENCE_MAX];
    (void)ta_say_set_point(prepared, position->cap.set_point, units, set);
    if (i == 0)
      used = (size_t)snprintf(text, size, "Positions: %s", set);
    else
      used +=
          (size_t)snprintf(text + used, size - used, ", from %s %s",
                           ta_say_place(&prepared->event->course, units, position->from_distance_m,
                                        position->from_elevation_m, place),
                           set);
  }
  (void)snprintf(text + used, size - used, ".");
  return text;
}

const char *ta_say_holds(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                         ta_paragraph text) {
  static const char *const words[] = {
      [TA_HOLDS_ABSOLUTE] = "Absolute MAP is held, so the boost rises where the car climbs",
      [TA_HOLDS_GAUGE] =
          "Boost above the live ambient is held, so the MAP falls where the car climbs",
      [TA_HOLDS_GAUGE_KEY_ON] =
          "Boost above the ambient at key-on is held, an absolute MAP for the whole run"};
  const ta_control *control = &prepared->event->car.control;
  char ambient[TA_SHOWN_MAX], set[TA_SHOWN_MAX], typed[2 * TA_SENTENCE_MAX / 4] = "";
  if (control->holds == TA_HOLDS_GAUGE_KEY_ON)
    (void)snprintf(typed, sizeof typed, ": type MAP less %s%s%s",
                   ta_show_quantity(TA_SHOW_MAP, units, -1, prepared->read_pa, ambient),
                   plan->caps.constant.can_be_had ? ", for the one cap " : "",
                   plan->caps.constant.can_be_had
                       ? ta_show_cap(TA_SHOW_BOOST, units,
                                     plan->caps.constant.set_point - prepared->read_pa, set)
                       : "");
  (void)snprintf(text, sizeof(ta_paragraph), "%s%s%s.", words[control->holds], typed,
                 ta_say_time_known(plan->runs.known));
  return text;
}

const char *ta_say_no_shift(const ta_plan *plan) {
  return plan->reason[TA_REASON_OVER] && plan->caps.shift.none ? "No earlier shift avoids it."
                                                               : NULL;
}

/* "from 3,404 rpm" */
static const char *from_threshold(const ta_threshold *threshold, ta_unit_system units,
                                  char text[TA_SENTENCE_MAX]) {
  char rpm[TA_SHOWN_MAX];
  if (isfinite(threshold->engine_rpm))
    (void)snprintf(text, TA_SENTENCE_MAX, "from %s%s",
                   ta_show_quantity(TA_SHOW_RPM, units, -1, threshold->engine_rpm, rpm),
                   threshold->or_below ? " or below" : "");
  else
    (void)snprintf(text, TA_SENTENCE_MAX, "%s",
                   threshold->is_unknown ? "from a speed that is not known (the map ends)"
                                         : "not up to the window's top speed");
  return text;
}

const char *ta_say_drive(const ta_plan *plan, ta_unit_system units, ta_paragraph text) {
  char a[TA_SENTENCE_MAX], b[TA_SENTENCE_MAX];
  const ta_threshold *start = &plan->drive.threshold[0],
                     *top = &plan->drive.threshold[TA_THRESHOLDS - 1];
  if (!plan->drive.checked) return NULL;
  if (start->is_unknown && top->is_unknown) return NULL;
  if (isinf(start->engine_rpm) && isinf(top->engine_rpm) && !start->is_unknown && !top->is_unknown)
    return "The turbine drives it up to the window's top speed neither at the start nor at the "
           "top.";
  (void)snprintf(text, sizeof(ta_paragraph),
                 "The turbine drives it %s at the start, %s at the top.",
                 from_threshold(start, units, a), from_threshold(top, units, b));
  return text;
}

const char *ta_say_model(const ta_plan *plan, ta_paragraph text) {
  const size_t size = sizeof(ta_paragraph);
  char error[TA_SHOWN_MAX] = "not known";
  if (plan->map_error_known)
    (void)snprintf(error, sizeof error, "%.2f %%", 100.0 * plan->map_error);
  size_t used = is_named(plan)
                    ? (size_t)snprintf(text, size, "Worst place: thin air %+.1f %% of speed, ",
                                       100.0 * (plan->over.worst.point.thin_air_speed_factor - 1.0))
                    : (size_t)snprintf(text, size, "At its top line the ");
  (void)snprintf(text + used, size - used,
                 "compressor map's own error %s. Rated speed as typed; the maker's sheet "
                 "governs.",
                 error);
  return text;
}

const char *ta_say_imbalance(const ta_prepared *prepared, ta_paragraph text) {
  const ta_turbo *turbo = &prepared->event->car.turbo;
  if (!(turbo->count > 1.0)) return NULL;
  (void)snprintf(text, sizeof(ta_paragraph),
                 "Of %.0f turbos the one judged carries %.3g %% more than its share.", turbo->count,
                 100.0 * turbo->imbalance);
  return text;
}

const char *ta_say_not_checked(const ta_prepared *prepared, const ta_plan *plan,
                               ta_paragraph text) {
  const ta_car *car = &prepared->event->car;
  const struct {
    bool missing;
    const char *words;
  } parts[] = {
      {!plan->drive.checked, "turbine drive (no turbine)"},
      {plan->runs.known != TA_TIME_KNOWN, "run time"},
      {!car->control.has_minimum_boost, "wastegate spring (no minimum_boost)"},
      {!car->control.has_map_sensor, "sensor range (no map_sensor)"},
      {!car->engine.has_redline, "redline (none given)"},
  };
  const size_t size = sizeof(ta_paragraph);
  size_t used = 0;
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    if (parts[i].missing)
      used += (size_t)snprintf(text + used, size - used, "%s%s", used == 0 ? "Not checked: " : ", ",
                               parts[i].words);
  (void)snprintf(
      text + used, size - used,
      "%sNot covered: hose off, wastegate stuck shut, anti-lag, missed shift, boost creep, "
      "blow-off, unequal twin-scroll admission, nitrous or water at the inlet, "
      "spool-up.",
      used > 0 ? ". " : "");
  return text;
}

const char *ta_say_change(ta_show show, ta_unit_system units, double change,
                          char text[TA_SHOWN_MAX]) {
  char shown[TA_SHOWN_MAX];
  if (!isfinite(change)) {
    (void)snprintf(text, TA_SHOWN_MAX, "-");
    return text;
  }
  (void)ta_show_quantity(show, units, -1, fabs(change), shown);
  const size_t noughts = strspn(shown, "0.");
  const bool none = noughts > 0 && (shown[noughts] == ' ' || shown[noughts] == '\0');
  (void)snprintf(text, TA_SHOWN_MAX, "%s%.30s", none ? "" : change < 0.0 ? "-" : "+", shown);
  return text;
}

const char *ta_say_lever(const ta_lever *lever, ta_unit_system units, char text[TA_SENTENCE_MAX]) {
  const ta_show show = ta_show_of(lever->kind);
  const int decimals = lever->kind == TA_NUMBER ? 2 : -1;
  char from[TA_SHOWN_MAX], to[TA_SHOWN_MAX];
  if (lever->from != 0.0)
    (void)snprintf(text, TA_SENTENCE_MAX, "%s %s > %s", lever->words,
                   ta_show_number(show, units, decimals, lever->from, from),
                   ta_show_quantity(show, units, decimals, lever->to, to));
  else
    (void)snprintf(text, TA_SENTENCE_MAX, "%s %s", lever->words,
                   lever->kind == TA_RATIO ? ta_show_quantity(show, units, decimals, lever->to, to)
                                           : ta_say_change(show, units, lever->to, to));
  return text;
}

size_t ta_levers_first(const ta_levers *levers, size_t at_most, const ta_lever **first) {
  size_t count = 0;
  for (size_t i = 0; i < levers->count; i++) {
    if (count < at_most)
      first[count++] = &levers->lever[i];
    else if (strcmp(levers->lever[i].name, "leak") == 0)
      first[count - 1] = &levers->lever[i];
  }
  return count;
}
