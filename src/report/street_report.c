/* street_report.c - the answer to a customer on the phone: for the engineer, and in five sentences that
 * can be sent on as they stand. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "sentences.h"
#include "thinair/report.h"

enum { WIDTH = TA_LINE_WIDTH, SENTENCES = 5, NAMED_PLACES = 3 };

/* ---- rows ------------------------------------------------------------------------------------ */

/* One place on one day. */
typedef struct {
  const char *day, *verdict;
  double elevation_m, ambient_pa, temperature_k, engine_rpm, map_pa, boost_pa, shaft_rpm, of_rated,
      of_limit, power_w, beyond_top_line, map_error;
  ta_zone zone;
} point_row;

#define POINT(name, show, member) \
  { name, name, TA_CELL_NUMBER, show, offsetof(point_row, member) }
static const ta_column point_columns[] = {
    POINT("elevation", TA_SHOW_ELEVATION, elevation_m),
    {"day", "day", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(point_row, day)},
    {"verdict", "verdict", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(point_row, verdict)},
    POINT("ambient", TA_SHOW_AMBIENT, ambient_pa),
    POINT("temperature", TA_SHOW_TEMPERATURE, temperature_k),
    POINT("engine", TA_SHOW_RPM, engine_rpm),
    POINT("map", TA_SHOW_MAP, map_pa),
    POINT("boost", TA_SHOW_BOOST, boost_pa),
    POINT("shaft", TA_SHOW_RPM, shaft_rpm),
    POINT("shaft_over_rated", TA_SHOW_RATIO, of_rated),
    POINT("shaft_over_limit", TA_SHOW_RATIO, of_limit),
    POINT("power", TA_SHOW_POWER, power_w),
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(point_row, zone)},
    POINT("beyond_top_line", TA_SHOW_RATIO, beyond_top_line),
    POINT("map_error", TA_SHOW_RATIO, map_error),
};

static point_row point_row_of(const ta_street *street, const ta_street_place *place, int day) {
  const ta_street_point *point = &place->day[day];
  const ta_prepared *prepared = &street->prepared[day];
  const ta_operating_point *worst = &point->worst;
  const double unknown = (double)NAN;
  return (point_row){.day = ta_street_day_name((ta_street_day)day),
                     .verdict = ta_verdict_name(point->verdict),
                     .elevation_m = place->elevation_m,
                     .ambient_pa = worst->ambient.pressure_pa,
                     .temperature_k = worst->ambient.temperature_k,
                     .engine_rpm = worst->engine_rpm,
                     .map_pa = worst->map_pa,
                     .boost_pa = worst->map_pa - worst->ambient.pressure_pa,
                     .shaft_rpm = worst->shaft_rpm,
                     .of_rated = worst->shaft_rpm / prepared->event->car.turbo.rated_rpm,
                     .of_limit = worst->shaft_rpm / prepared->limit_rpm,
                     .power_w = worst->zone == TA_UNREACHABLE ? unknown : worst->power_w,
                     .beyond_top_line = worst->beyond_top_line,
                     .map_error = point->map_error < 0.0 ? unknown : point->map_error,
                     .zone = worst->zone};
}

/* One place on all days, for people. */
typedef struct {
  double elevation_m, of_rated[TA_STREET_DAY_COUNT], power_w[TA_STREET_DAY_COUNT];
  const char *verdict[TA_STREET_DAY_COUNT];
} place_row;

#define ON_A_DAY(title, day)                                                      \
  {"", title, TA_CELL_NUMBER, TA_SHOW_SHARE, offsetof(place_row, of_rated[day])}, \
      {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(place_row, verdict[day])}, { \
    "", "power", TA_CELL_NUMBER, TA_SHOW_POWER, offsetof(place_row, power_w[day]) \
  }
static const ta_column place_columns[] = {
    {"", "elevation", TA_CELL_NUMBER, TA_SHOW_ELEVATION, offsetof(place_row, elevation_m)},
    ON_A_DAY("   cold", TA_STREET_COLD),
    ON_A_DAY("   standard", TA_STREET_STANDARD),
    ON_A_DAY("   hot", TA_STREET_HOT),
};

static const char *verdict_words(ta_verdict verdict) {
  static const char *const words[] = {[TA_OVER] = "OVER",
                                      [TA_CANNOT_CAP] = "spring",
                                      [TA_UNSURE] = "unsure",
                                      [TA_CLEAR] = "within"};
  return words[verdict];
}

typedef struct {
  double elevation_m, boost_pa, map_pa;
  const char *limited_by, *limited_by_words, *day, *doubt;
} cap_row;

#define CAP(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(cap_row, member) }
static const ta_column cap_columns[] = {
    CAP("elevation", "elevation", TA_SHOW_ELEVATION, elevation_m),
    CAP("boost", "boost", TA_SHOW_BOOST, boost_pa),
    CAP("map", "MAP", TA_SHOW_MAP, map_pa),
    {"limited_by", "limited by", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(cap_row, limited_by_words)},
    {"day", "on the day", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(cap_row, day)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(cap_row, doubt)},
};

static cap_row cap_row_of(const ta_street_cap *cap) {
  const double none = (double)NAN;
  return (cap_row){
      .elevation_m = cap->elevation_m,
      .boost_pa = cap->can_be_had ? cap->boost_pa : none,
      .map_pa = cap->can_be_had ? cap->map_pa : none,
      .limited_by = ta_limited_by_name(cap->limited_by),
      .limited_by_words = ta_say_limited_by(cap->limited_by),
      .day = cap->limited_by == TA_BY_GOAL ? NULL : ta_street_day_name(cap->day),
      .doubt = cap->can_be_had && cap->verdict != TA_CLEAR ? verdict_words(cap->verdict) : NULL};
}

/* ---- words ----------------------------------------------------------------------------------- */

static const char *customers_day(ta_street_day day) {
  static const char *const words[] = {[TA_STREET_COLD] = "a cold day",
                                      [TA_STREET_STANDARD] = "an average day",
                                      [TA_STREET_HOT] = "a hot day"};
  return words[day];
}

static bool holds_map(const ta_street *street) {
  return street->event[0].car.control.holds == TA_HOLDS_ABSOLUTE;
}

static const char *elevation_text(double elevation_m, ta_unit_system units,
                                  char text[TA_SHOWN_MAX]) {
  return ta_show_quantity(TA_SHOW_ELEVATION, units, 0, elevation_m, text);
}

static const char *home_temperature(const ta_street *street, ta_street_day day,
                                    ta_unit_system units, char text[TA_SHOWN_MAX]) {
  return ta_show_quantity(TA_SHOW_TEMPERATURE, units, 0, street->prepared[day].start.temperature_k,
                          text);
}

/* " above the air at 1,500 m, where the key is turned", for a controller that reads it once. */
static const char *key_text(const ta_street *street, ta_unit_system units,
                            char text[TA_SENTENCE_MAX]) {
  const ta_control *control = &street->event[0].car.control;
  char at[TA_SHOWN_MAX];
  text[0] = '\0';
  if (control->holds == TA_HOLDS_GAUGE_KEY_ON)
    (void)snprintf(text, TA_SENTENCE_MAX, " above the air at %s, where the key is turned",
                   elevation_text(control->barometer_read_at_m, units, at));
  return text;
}

/* The present setting: "1.10 bar of boost", or "186.7 kPa of absolute manifold pressure (1.10 bar
 * of boost at home)". */
static const char *goal_text(const ta_street *street, ta_unit_system units,
                             char text[TA_SENTENCE_MAX]) {
  const ta_goal *goal = &street->event[TA_STREET_STANDARD].goal;
  char map[TA_SHOWN_MAX], boost[TA_SHOWN_MAX], key[TA_SENTENCE_MAX];
  const double above_pa = street->prepared[TA_STREET_STANDARD].start.pressure_pa;
  const double boost_pa = goal->has_map ? goal->map_pa - above_pa : goal->boost_pa;
  (void)ta_show_quantity(TA_SHOW_BOOST, units, -1, boost_pa, boost);
  if (goal->has_map)
    (void)snprintf(text, TA_SENTENCE_MAX, "%s of absolute manifold pressure (%s of boost at home)",
                   ta_show_quantity(TA_SHOW_MAP, units, -1, goal->map_pa, map), boost);
  else
    (void)snprintf(text, TA_SENTENCE_MAX, "%s of boost%s", boost, key_text(street, units, key));
  return text;
}

/* The cap in the quantity that the controller holds, rounded down. */
static const char *cap_text(const ta_street *street, ta_unit_system units,
                            char text[TA_SENTENCE_MAX]) {
  char shown[TA_SHOWN_MAX], key[TA_SENTENCE_MAX];
  const bool absolute = holds_map(street);
  (void)snprintf(text, TA_SENTENCE_MAX, "%s of %s%s",
                 ta_show_cap(absolute ? TA_SHOW_MAP : TA_SHOW_BOOST, units,
                             absolute ? street->one.map_pa : street->one.boost_pa, shown),
                 absolute ? "absolute manifold pressure" : "boost", key_text(street, units, key));
  return text;
}

/* "from 2,300 m to 3,400 m", or "at 2,300 m" where there is no other. */
static const char *places_text(const ta_street *street, ta_unit_system units,
                               char text[TA_SENTENCE_MAX]) {
  char low[TA_SHOWN_MAX], high[TA_SHOWN_MAX];
  (void)elevation_text(street->low_m, units, low);
  if (street->high_m > street->low_m)
    (void)snprintf(text, TA_SENTENCE_MAX, "from %s to %s", low,
                   elevation_text(street->high_m, units, high));
  else
    (void)snprintf(text, TA_SENTENCE_MAX, "at %s", low);
  return text;
}

/* "at home (2,300 m) on a hot day, at 3,400 m on an average day and on a hot day": where and when a
 * verdict holds. */
static void where_text(const ta_street *street, ta_verdict verdict, ta_unit_system units,
                       char *text, size_t size) {
  size_t used = 0, named = 0, more = 0;
  text[0] = '\0';
  for (size_t i = 0; i < street->place_count; i++) {
    char at[TA_SHOWN_MAX];
    int found = 0;
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++)
      found += street->place[i].day[day].verdict == verdict;
    if (found == 0) continue;
    if (named == NAMED_PLACES) {
      more++;
      continue;
    }
    (void)elevation_text(street->place[i].elevation_m, units, at);
    used += (size_t)snprintf(text + used, size - used, i == 0 ? "%sat home (%s)" : "%sat %s",
                             named > 0 ? ", " : "", at);
    named++;
    if (found == TA_STREET_DAY_COUNT)
      used += (size_t)snprintf(text + used, size - used, " on cold, average and hot days alike");
    for (int day = 0, left = found; found < TA_STREET_DAY_COUNT && day < TA_STREET_DAY_COUNT;
         day++) {
      if (street->place[i].day[day].verdict != verdict) continue;
      used += (size_t)snprintf(text + used, size - used, "%son %s", left == found ? " " : " and ",
                               customers_day((ta_street_day)day));
      left--;
    }
  }
  if (more > 0)
    (void)snprintf(text + used, size - used, " and at %zu more %s", more,
                   more == 1 ? "place" : "places");
}

static const char *reason_words(ta_reason reason) {
  static const char *const words[TA_REASON_COUNT] = {
      [TA_REASON_OVER] = "the shaft passes its limit",
      [TA_REASON_CANNOT_CAP] = "the wastegate's spring alone gives more than the cap",
      [TA_REASON_UNREACHABLE] = "more than 25 % past the compressor map's last line",
      [TA_REASON_FAR_EXTRAPOLATED] = "more than 10 % past the compressor map's last line",
      [TA_REASON_SURGE] = "left of the surge line, where the compressor map says nothing",
      [TA_REASON_CHOKE] = "right of the speed lines' ends, where the compressor map says nothing",
      [TA_REASON_RESTRICTOR] = "the inlet restrictor chokes, or is within 3 % of it",
      [TA_REASON_MAP_SENSOR] = "beyond 98 % of what the controller's pressure sensor reads",
      [TA_REASON_MAP_ERROR] = "below the limit by less than the compressor map's own error",
      [TA_REASON_MAP_ERROR_UNKNOWN] =
          "two speed lines: how far off the compressor map is cannot be told",
      [TA_REASON_SURGE_IN_WINDOW] = "part of the boost window lies left of the surge line"};
  return words[reason] != NULL ? words[reason] : "?";
}

/* Does a reason hold at some place on some day of that verdict? */
static bool reason_holds(const ta_street *street, ta_reason reason, ta_verdict verdict) {
  for (size_t i = 0; i < street->place_count; i++)
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++)
      if (street->place[i].day[day].verdict == verdict && street->place[i].day[day].reason[reason])
        return true;
  return false;
}

/* ---- to the customer ------------------------------------------------------------------------- */

static void first_sentence(const ta_street *street, ta_unit_system units,
                           char text[2 * TA_SENTENCE_MAX]) {
  char goal[TA_SENTENCE_MAX], where[TA_SENTENCE_MAX];
  const size_t size = (size_t)2 * TA_SENTENCE_MAX;
  (void)goal_text(street, units, goal);
  where_text(street, street->verdict, units, where, sizeof where);
  switch (street->verdict) {
    case TA_OVER:
      (void)snprintf(text, size,
                     "Set to %s, the turbo of your car turns faster than our limit %s: "
                     "please do not use that setting there.",
                     goal, where);
      break;
    case TA_CANNOT_CAP:
      (void)snprintf(text, size,
                     "Set to %s the turbo of your car would stay within our limit, but "
                     "the wastegate's spring alone gives more boost than that %s.",
                     goal, where);
      break;
    case TA_UNSURE:
      (void)snprintf(text, size,
                     "Set to %s, we cannot say that the turbo of your car stays within our "
                     "limit %s: not enough is known to call it.",
                     goal, where);
      break;
    default:
      (void)snprintf(text, size,
                     "Set to %s, the turbo of your car as it was described to us stays within our "
                     "limit %s, on a cold, an average and a hot day.",
                     goal, places_text(street, units, where));
  }
}

static void second_sentence(const ta_street *street, ta_unit_system units,
                            char text[2 * TA_SENTENCE_MAX]) {
  char limit[TA_SHOWN_MAX], rated[TA_SHOWN_MAX], fastest[TA_SHOWN_MAX], shaft[2 * TA_SHOWN_MAX],
      at[TA_SHOWN_MAX], air[TA_SHOWN_MAX];
  const ta_prepared *prepared = &street->prepared[0];
  const ta_operating_point *worst = &street->place[0].day[0].worst;
  double elevation_m = street->place[0].elevation_m;
  ta_street_day on = TA_STREET_COLD;
  for (size_t i = 0; i < street->place_count; i++)
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
      const ta_operating_point *point = &street->place[i].day[day].worst;
      if (!(point->shaft_rpm > worst->shaft_rpm)) continue;
      worst = point;
      elevation_m = street->place[i].elevation_m;
      on = (ta_street_day)day;
    }
  const double rated_rpm = prepared->event->car.turbo.rated_rpm;
  if (isinf(worst->shaft_rpm))
    (void)snprintf(shaft, sizeof shaft, "past what the turbo's data can tell");
  else
    (void)snprintf(shaft, sizeof shaft, "%s, %.1f %% of rated",
                   ta_show_quantity(TA_SHOW_RPM, units, -1, worst->shaft_rpm, fastest),
                   100.0 * worst->shaft_rpm / rated_rpm);
  (void)snprintf(
      text, (size_t)2 * TA_SENTENCE_MAX,
      "Our limit is %s, the maker's rated speed of %s less %.3g %%; the fastest that we calculate "
      "is "
      "%s, at %s on %s with %s in the air.",
      ta_show_quantity(TA_SHOW_RPM, units, -1, prepared->limit_rpm, limit),
      ta_show_quantity(TA_SHOW_RPM, units, -1, rated_rpm, rated),
      100.0 * prepared->event->goal.margin, shaft, elevation_text(elevation_m, units, at),
      customers_day(on),
      ta_show_quantity(TA_SHOW_TEMPERATURE, units, 0, worst->ambient.temperature_k, air));
}

/* "up to 2,181 m", "from 1,200 m up to 2,181 m", "everywhere up to 4,500 m", "at no elevation". */
static const char *reach_text(const ta_street *street, int day, ta_unit_system units,
                              char text[TA_SENTENCE_MAX]) {
  const ta_street_reach *reach = &street->reach[day];
  char from[TA_SHOWN_MAX] = "", at[TA_SHOWN_MAX];
  if (reach->from_m > street->searched_from_m) /* rounded up: what lies lower is not within */
    (void)elevation_text(-ta_show_rounded_down(TA_SHOW_ELEVATION, units, -reach->from_m), units,
                         from);
  (void)elevation_text(ta_show_rounded_down(TA_SHOW_ELEVATION, units, reach->elevation_m), units,
                       at);
  if (reach->nowhere)
    (void)snprintf(text, TA_SENTENCE_MAX, "at no elevation");
  else
    (void)snprintf(text, TA_SENTENCE_MAX, "%s%s%sup to %s", from[0] != '\0' ? "from " : "", from,
                   reach->everywhere ? "everywhere "
                   : from[0] != '\0' ? " "
                                     : "",
                   at);
  return text;
}

static void third_sentence(const ta_street *street, ta_unit_system units,
                           char text[2 * TA_SENTENCE_MAX]) {
  const size_t size = (size_t)2 * TA_SENTENCE_MAX;
  size_t used = (size_t)snprintf(text, size, "Left as it is, the setting is within that limit ");
  for (int day = 0; day < TA_STREET_DAY_COUNT && used < size; day++) {
    char reach[TA_SENTENCE_MAX], air[TA_SHOWN_MAX];
    used +=
        (size_t)snprintf(text + used, size - used, "%s%s on %s (%s at home)",
                         day == 0 ? "" : (day + 1 < TA_STREET_DAY_COUNT ? ", " : " and "),
                         reach_text(street, day, units, reach), customers_day((ta_street_day)day),
                         home_temperature(street, (ta_street_day)day, units, air));
  }
  if (used < size) (void)snprintf(text + used, size - used, ".");
}

static void fourth_sentence(const ta_street *street, ta_unit_system units,
                            char text[2 * TA_SENTENCE_MAX]) {
  char cap[TA_SENTENCE_MAX], where[TA_SENTENCE_MAX];
  const size_t size = (size_t)2 * TA_SENTENCE_MAX;
  (void)places_text(street, units, where);
  if (!street->one.can_be_had)
    (void)snprintf(
        text, size,
        street->one.limited_by == TA_BY_MINIMUM_BOOST
            ? "Turning the boost down does not bring it within the limit %s, because the "
              "wastegate's spring alone gives more: a softer spring or a larger wastegate "
              "would have to be fitted."
            : "No boost setting brings it within the limit %s.",
        where);
  else if (street->one.limited_by == TA_BY_GOAL)
    (void)snprintf(text, size,
                   street->verdict == TA_CLEAR
                       ? "By this calculation no lower setting is called for %s."
                       : "By this calculation the limit is not passed %s, but too little is known "
                         "there to rely on that.",
                   where);
  else if (street->one.verdict != TA_CLEAR)
    (void)snprintf(text, size,
                   "A lower setting would be needed, but too little is known to name one that is "
                   "within the limit %s.",
                   where);
  else
    (void)snprintf(
        text, size,
        "Set to no more than %s, it is within that limit %s on all three days, as the car "
        "was described to us.",
        cap_text(street, units, cap), where);
}

/* Five, to be sent as they stand. */
static void customers_sentences(const ta_street *street, ta_unit_system units,
                                char text[SENTENCES][2 * TA_SENTENCE_MAX]) {
  first_sentence(street, units, text[0]);
  second_sentence(street, units, text[1]);
  third_sentence(street, units, text[2]);
  fourth_sentence(street, units, text[3]);
  (void)snprintf(
      text[4], sizeof text[4],
      "This is a calculation and no measurement: have the car's own shaft speed measured "
      "before relying on this, let the turbo maker's ratings decide, and have someone "
      "qualified check the car.");
}

/* ---- text ------------------------------------------------------------------------------------ */

static void headline(const ta_street *street, const ta_style *style, ta_buffer *out) {
  static const char *const heads[] = {[TA_OVER] = "OVER THE LIMIT",
                                      [TA_CANNOT_CAP] = "CANNOT CAP",
                                      [TA_UNSURE] = "UNSURE",
                                      [TA_CLEAR] = "CLEAR"};
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  const char *head = heads[street->verdict];
  char goal[TA_SENTENCE_MAX], where[TA_SENTENCE_MAX], cap[TA_SENTENCE_MAX],
      text[3 * TA_SENTENCE_MAX];
  (void)goal_text(street, style->units, goal);
  if (street->verdict == TA_CLEAR)
    (void)snprintf(where, sizeof where, "within the limit as described, on all three days");
  else
    where_text(street, street->verdict, style->units, where, sizeof where);
  ta_buffer_add(out, "%s%s%s ", strong, head, plain);
  (void)snprintf(text, sizeof text, "with %s: %s.", goal, where);
  ta_folded(out, WIDTH - (int)strlen(head) - 1, 0, text);
  if (street->verdict == TA_UNSURE)
    for (int i = 0; i < TA_REASON_COUNT; i++)
      if (reason_holds(street, (ta_reason)i, street->verdict))
        ta_buffer_add(out, "  - %s\n", reason_words((ta_reason)i));
  if (street->verdict != TA_OVER && street->verdict != TA_CANNOT_CAP) return;
  if (street->one.can_be_had && street->one.verdict != TA_CLEAR)
    (void)snprintf(text, sizeof text,
                   "Do not run it there. Too little is known to name a setting that is within the "
                   "limit.");
  else if (street->one.can_be_had)
    (void)snprintf(text, sizeof text,
                   "Do not run it there. Within the limit on all three days: %s.",
                   cap_text(street, style->units, cap));
  else
    (void)snprintf(text, sizeof text, "Do not run it there. %s",
                   street->one.limited_by == TA_BY_MINIMUM_BOOST
                       ? "The wastegate's spring alone gives more than the cap."
                       : "No boost setting avoids it.");
  ta_folded(out, WIDTH, 0, text);
}

static void limit_lines(const ta_street *street, bool margin_given, ta_unit_system units,
                        ta_buffer *out) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], d[TA_SHOWN_MAX], text[TA_SENTENCE_MAX];
  const ta_prepared *standard = &street->prepared[TA_STREET_STANDARD];
  const ta_car *car = &standard->event->car;
  const ta_speed_range judged = ta_judged_speeds(car);
  (void)snprintf(
      text, sizeof text, "Limit %s = rated less %.3g %%%s; %s to %s rpm, overshoot %s",
      ta_show_quantity(TA_SHOW_RPM, units, -1, standard->limit_rpm, a),
      100.0 * standard->event->goal.margin, margin_given ? "" : " (no --margin given)",
      ta_show_number(TA_SHOW_RPM, units, -1, judged.low_rpm, b),
      ta_show_number(TA_SHOW_RPM, units, -1, judged.high_rpm, c),
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, ta_control_excess(&car->control), d));
  ta_buffer_add(out, "\n");
  ta_folded(out, WIDTH, 6, text);
  (void)snprintf(
      text, sizeof text,
      "Days  dry: cold = ISA%+.0f K, standard = ISA, hot = ISA%+.0f K; at home %s, %s, %s",
      ta_street_day_offset(TA_STREET_COLD), ta_street_day_offset(TA_STREET_HOT),
      home_temperature(street, TA_STREET_COLD, units, a),
      home_temperature(street, TA_STREET_STANDARD, units, b),
      home_temperature(street, TA_STREET_HOT, units, c));
  ta_folded(out, WIDTH, 6, text);
}

static const char *held_words(const ta_street *street) {
  switch (street->event[0].car.control.holds) {
    case TA_HOLDS_GAUGE:
      return "boost above the live ambient is held; MAP is the least of the three days'";
    case TA_HOLDS_GAUGE_KEY_ON:
      return street->key_on_is_supposed
                 ? "boost is above the ambient where the key is turned: the lowest elevation "
                   "given, "
                   "the worst case"
                 : "boost is above the ambient where the key is turned, barometer_read_at";
    default:
      return "absolute MAP is held; boost is the least of the three days' at that elevation";
  }
}

static void tables(const ta_street *street, ta_unit_system units, ta_buffer *out) {
  place_row places[TA_STREET_PLACES_MAX];
  cap_row caps[TA_STREET_CAPS_MAX];
  char reach[TA_SENTENCE_MAX], text[2 * TA_SENTENCE_MAX];
  for (size_t i = 0; i < street->place_count; i++) {
    places[i].elevation_m = street->place[i].elevation_m;
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
      const point_row row = point_row_of(street, &street->place[i], day);
      places[i].of_rated[day] = row.of_rated;
      places[i].power_w[day] = row.power_w;
      places[i].verdict[day] = verdict_words(street->place[i].day[day].verdict);
    }
  }
  ta_buffer_add(out,
                "\nShaft speed with the present setting, of rated; the first elevation is home\n");
  const ta_table place_table = {place_columns, sizeof place_columns / sizeof place_columns[0],
                                places, street->place_count, sizeof places[0]};
  ta_table_text(&place_table, units, out);
  size_t used = (size_t)snprintf(text, sizeof text, "Within the limit:");
  for (int day = 0; day < TA_STREET_DAY_COUNT && used < sizeof text; day++)
    used += (size_t)snprintf(text + used, sizeof text - used, "%s %s %s", day > 0 ? "," : "",
                             ta_street_day_name((ta_street_day)day),
                             reach_text(street, day, units, reach));
  ta_folded(out, WIDTH, 2, text);
  for (size_t i = 0; i < street->cap_count; i++) {
    caps[i] = cap_row_of(&street->cap[i]);
    caps[i].boost_pa = ta_show_rounded_down(TA_SHOW_BOOST, units, caps[i].boost_pa);
    caps[i].map_pa = ta_show_rounded_down(TA_SHOW_MAP, units, caps[i].map_pa);
  }
  ta_buffer_add(out,
                "\nCaps that hold on all three days; overshoot and the map's own error taken off, "
                "rounded down\n");
  const ta_table cap_table = {cap_columns, sizeof cap_columns / sizeof cap_columns[0], caps,
                              street->cap_count, sizeof caps[0]};
  ta_table_text(&cap_table, units, out);
  ta_buffer_add(out, "  (%s)\n", held_words(street));
}

static void street_text(const ta_street *street, bool margin_given, const ta_warnings *warnings,
                        const ta_style *style, ta_buffer *out) {
  char sentence[SENTENCES][2 * TA_SENTENCE_MAX];
  const char *name = street->event[0].car.name;
  const int width = ta_text_width(name);
  ta_buffer_add(out, "%s%*sthinair %s\n", name, width < WIDTH - 14 ? WIDTH - 12 - width : 2, "",
                style->version);
  headline(street, style, out);
  limit_lines(street, margin_given, style->units, out);
  tables(street, style->units, out);
  ta_buffer_add(out, "\nTo the customer\n");
  customers_sentences(street, style->units, sentence);
  for (int i = 0; i < SENTENCES; i++) {
    ta_buffer_add(out, "  ");
    ta_folded(out, WIDTH, 2, sentence[i]);
  }
  ta_buffer_add(out, "\n");
  ta_buffer_add(
      out,
      "Not checked: turbine drive. Not covered: a hose off, a stuck wastegate, parts not as "
      "described.\n");
  ta_warnings_text(warnings, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void reasons_json(ta_json *json, const ta_street *street) {
  ta_json_open(json, "reasons", '[');
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (reason_holds(street, (ta_reason)i, street->verdict))
      ta_json_text(json, NULL, reason_words((ta_reason)i));
  ta_json_close(json, ']');
}

static void days_json(ta_json *json, const ta_street *street) {
  ta_json_open(json, "days", '[');
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    const ta_street_reach *reach = &street->reach[day];
    const ta_prepared *prepared = &street->prepared[day];
    ta_json_open(json, NULL, '{');
    ta_json_text(json, "day", ta_street_day_name((ta_street_day)day));
    ta_json_number(json, "offset_K", ta_street_day_offset((ta_street_day)day));
    ta_json_text(json, "column",
                 prepared->event->day.isa_hydrostatic != 0 ? "hydrostatic" : "standard");
    ta_json_number(json, "home_pressure_kPa", prepared->start.pressure_pa / 1e3);
    ta_json_number(json, "home_temperature_K", prepared->start.temperature_k);
    ta_json_number(json, "within_from_m", reach->nowhere ? (double)NAN : reach->from_m);
    ta_json_number(json, "within_up_to_m", reach->nowhere ? (double)NAN : reach->elevation_m);
    ta_json_bool(json, "within_everywhere", reach->everywhere);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

static void cap_json(ta_json *json, const ta_street_cap *cap) {
  const cap_row row = cap_row_of(cap);
  ta_json_number(json, "elevation_m", row.elevation_m);
  ta_json_number(json, "boost_kPa", row.boost_pa / 1e3);
  ta_json_number(json, "map_kPa", row.map_pa / 1e3);
  ta_json_text(json, "limited_by", row.limited_by);
  ta_json_text(json, "day", row.day);
  ta_json_bool(json, "can_be_had", cap->can_be_had);
  ta_json_text(json, "verdict", cap->can_be_had ? ta_verdict_name(cap->verdict) : NULL);
}

static void street_json(const ta_street *street, bool margin_given, const ta_table *points,
                        const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  static const char *const holds[] = {[TA_HOLDS_ABSOLUTE] = "absolute",
                                      [TA_HOLDS_GAUGE] = "gauge",
                                      [TA_HOLDS_GAUGE_KEY_ON] = "gauge-from-key-on"};
  char sentence[SENTENCES][2 * TA_SENTENCE_MAX];
  const ta_prepared *standard = &street->prepared[TA_STREET_STANDARD];
  const ta_event *event = standard->event;
  const double none = (double)NAN;
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_text(&json, "car", event->car.name);
  ta_json_text(&json, "verdict", ta_verdict_name(street->verdict));
  reasons_json(&json, street);
  ta_json_open(&json, "limit", '{');
  ta_json_number(&json, "rated_rpm", event->car.turbo.rated_rpm);
  ta_json_number(&json, "limit_rpm", standard->limit_rpm);
  ta_json_number(&json, "margin", event->goal.margin);
  ta_json_bool(&json, "margin_given", margin_given);
  ta_json_close(&json, '}');
  ta_json_open(&json, "setting", '{');
  ta_json_text(&json, "holds", holds[event->car.control.holds]);
  ta_json_number(&json, "key_on_elevation_m",
                 event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON
                     ? event->car.control.barometer_read_at_m
                     : none);
  ta_json_number(&json, "boost_kPa", event->goal.has_boost ? event->goal.boost_pa / 1e3 : none);
  ta_json_number(&json, "map_kPa", event->goal.has_map ? event->goal.map_pa / 1e3 : none);
  ta_json_close(&json, '}');
  ta_json_number(&json, "home_elevation_m", street->place[0].elevation_m);
  ta_json_number(&json, "searched_from_m", street->searched_from_m);
  ta_json_number(&json, "searched_to_m", street->searched_to_m);
  days_json(&json, street);
  ta_json_rows(&json, "points", points);
  ta_json_open(&json, "caps", '[');
  for (size_t i = 0; i < street->cap_count; i++) {
    ta_json_open(&json, NULL, '{');
    cap_json(&json, &street->cap[i]);
    ta_json_close(&json, '}');
  }
  ta_json_close(&json, ']');
  ta_json_open(&json, "one_cap", '{');
  cap_json(&json, &street->one);
  ta_json_close(&json, '}');
  ta_json_open(&json, "sentences", '[');
  customers_sentences(street, TA_METRIC, sentence);
  for (int i = 0; i < SENTENCES; i++) ta_json_text(&json, NULL, sentence[i]);
  ta_json_close(&json, ']');
  ta_json_null(&json, "drive");
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}

/* Where the spring gives more than is set, and the hottest compressor outlet. */
static void add_warnings(const ta_street *street, ta_unit_system units, ta_warnings *warnings) {
  char ruled[TA_SENTENCE_MAX / 2] = "", where[TA_SENTENCE_MAX], at[TA_SHOWN_MAX];
  size_t used = 0;
  ta_window_look hottest = {0};
  for (size_t i = 0; i < street->place_count; i++) {
    bool rules = false;
    (void)elevation_text(street->place[i].elevation_m, units, at);
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
      const ta_prepared *prepared = &street->prepared[day];
      const ta_street_point *point = &street->place[i].day[day];
      rules =
          rules || ta_spring_rules(prepared, ta_prepared_goal(prepared, point->worst.engine_rpm),
                                   point->worst.ambient.pressure_pa);
      if (!(point->look.outlet_temperature_k > hottest.outlet_temperature_k)) continue;
      hottest = point->look;
      (void)snprintf(where, sizeof where, "%s on %s", at, customers_day((ta_street_day)day));
    }
    if (rules && used < sizeof ruled)
      used += (size_t)snprintf(ruled + used, sizeof ruled - used, "%s%s", used > 0 ? ", " : "", at);
  }
  if (used > 0)
    ta_warnings_add(warnings,
                    "at %s the wastegate's spring gives more than is set: the boost there is the "
                    "spring's, %s",
                    ruled,
                    ta_show_quantity(TA_SHOW_BOOST, units, -1,
                                     street->event[0].car.control.minimum_boost_pa, at));
  ta_warn_of_heat(warnings, units, hottest.outlet_temperature_k, hottest.hottest_rpm, where);
}

void ta_report_street(const ta_street *street, bool margin_given, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out) {
  point_row rows[TA_STREET_PLACES_MAX * TA_STREET_DAY_COUNT];
  size_t count = 0;
  ta_warnings warnings;
  const ta_unit_system units = style->format == TA_FORMAT_JSON ? TA_METRIC : style->units;
  ta_warnings_collect(&street->prepared[TA_STREET_STANDARD], NULL, diagnostics, units, &warnings);
  add_warnings(street, units, &warnings);
  for (size_t i = 0; i < street->place_count; i++)
    for (int day = 0; day < TA_STREET_DAY_COUNT; day++)
      rows[count++] = point_row_of(street, &street->place[i], day);
  const ta_table points = {point_columns, sizeof point_columns / sizeof point_columns[0], rows,
                           count, sizeof rows[0]};
  if (style->format == TA_FORMAT_JSON)
    street_json(street, margin_given, &points, &warnings, style, out);
  else if (style->format == TA_FORMAT_CSV)
    ta_table_csv(&points, style->units, out);
  else
    street_text(street, margin_given, &warnings, style, out);
}
