/* card_report.c - the run card: one page for the start line.
 *
 * Decision  Caps are rounded down as they are shown, and the speed expected is solved at what is shown,
 *           overshoot off: it is what the gauge should read, and lies below the limit.
 * Decision  Weather only ever lowers a cap here; what would raise one asks for a new plan.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"

enum { WIDTH = 80, ROWS_MAX = 14, COLUMNS = 9, SET_IN = 9 };
static const double SHIFT_STEP_RPM = 50.0, KEY_ON_PA = 1000.0;

typedef struct {
  const char *name;
  const ta_course_point *place;
  double ambient_pa, set_point;
  bool capped;
  size_t position;          /* of the knob, from 1 */
  ta_operating_point point; /* at the set-point, overshoot off */
} card_row;

ta_strategy ta_card_strategy(const ta_plan *plan) {
  static const ta_strategy order[] = {TA_BY_TABLE, TA_BY_AMBIENT, TA_BY_POSITION, TA_ONE_CAP};
  for (size_t i = 0; i < sizeof order / sizeof order[0]; i++)
    if (ta_strategy_offered(&plan->caps, order[i])) return order[i];
  return TA_FULL_TARGET;
}

static bool holds_gauge(const ta_prepared *prepared) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE;
}

/* ---- places ---------------------------------------------------------------------------------- */

static size_t position_at(const ta_plan *plan, double distance_m) {
  size_t i = 0;
  while (i + 1 < plan->caps.positions.count &&
         plan->caps.positions.position[i + 1].from_distance_m <= distance_m)
    i++;
  return i + 1;
}

/* Start, finish, summit, and where a knob is turned: never thinned out. */
static bool must_stay(const ta_course *course, const ta_course_point *top, const ta_plan *plan,
                      ta_strategy strategy, const ta_course_point *place) {
  if (place == &course->point[0] || place == &course->point[course->count - 1] || place == top)
    return true;
  for (size_t i = 1; strategy == TA_BY_POSITION && i < plan->caps.positions.count; i++)
    if (plan->caps.positions.position[i].from_distance_m == place->distance_m) return true;
  return false;
}

static const char *name_of(const ta_event *event, const ta_course_point *place) {
  const ta_course *course = &event->course;
  if (place->mark != NULL) return place->mark;
  if (place == &course->point[0]) return event->is_cut ? "From here" : "Start";
  return place == &course->point[course->count - 1] ? "Finish" : "Summit";
}

/* The rows' places, the other marks thinned evenly. */
static size_t find_places(const ta_event *event, const ta_plan *plan, ta_strategy strategy,
                          card_row rows[ROWS_MAX]) {
  const ta_course *course = &event->course;
  const ta_course_point *top = ta_top_of_course(course);
  size_t staying = 0, others = 0, count = 0, due = 0;
  for (size_t i = 0; i < course->count; i++) {
    if (must_stay(course, top, plan, strategy, &course->point[i]))
      staying++;
    else if (course->point[i].mark != NULL)
      others++;
  }
  const size_t room = staying < ROWS_MAX ? ROWS_MAX - staying : 0,
               wanted = others < room ? others : room;
  for (size_t i = 0; i < course->count && count < ROWS_MAX; i++) {
    const ta_course_point *place = &course->point[i];
    bool kept = must_stay(course, top, plan, strategy, place);
    if (!kept && place->mark != NULL) {
      due += wanted;
      kept = due >= others;
      if (kept) due -= others;
    }
    if (kept) rows[count++] = (card_row){.name = name_of(event, place), .place = place};
  }
  return count;
}

static ta_speed_range speeds_of(const ta_prepared *prepared, const ta_plan *plan,
                                ta_strategy strategy) {
  ta_speed_range range = ta_strategy_speeds(prepared, &plan->caps, strategy);
  if (strategy == TA_EARLY_SHIFT)
    range.high_rpm = fmax(range.low_rpm, SHIFT_STEP_RPM * floor(range.high_rpm / SHIFT_STEP_RPM));
  return range;
}

static ta_status solve_row(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                           ta_unit_system units, card_row *row) {
  ta_event calm_event = *prepared->event;
  ta_prepared calm = *prepared;
  calm_event.car.control.overshoot_pa = calm_event.car.control.map_error_pa = 0.0;
  calm.event = &calm_event;
  ta_air air;
  double low, high;
  ta_status status = ta_day_air(&prepared->day, row->place->elevation_m, &air);
  if (status != TA_OK) return status;
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  const ta_show show = holds_gauge(prepared) ? TA_SHOW_BOOST : TA_SHOW_MAP;
  ta_prepared_goal_range(prepared, range, &low, &high);
  high = ta_show_rounded_down(show, units, high);
  const double cap = ta_strategy_cap(prepared, &plan->caps, strategy, row->place->distance_m,
                                     air.pressure_pa, range.high_rpm);
  row->ambient_pa = air.pressure_pa;
  row->set_point = fmin(isinf(cap) ? cap : ta_show_rounded_down(show, units, cap), high);
  row->capped = row->set_point < high;
  row->position = position_at(plan, row->place->distance_m);
  return ta_worst_in_air(&calm, range, &air, row->set_point, &row->point);
}

/* ---- may it be printed? ---------------------------------------------------------------------- */

/* What stands against every run of this plan, or against this strategy. */
static bool plan_refused(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                         ta_unit_system units, char *why, size_t size) {
  static const ta_reason whatever_is_run[] = {TA_REASON_STATIONS_DISAGREE, TA_REASON_COLD_READING};
  char text[TA_SENTENCE_MAX];
  if (plan->verdict == TA_CLEAR) return false;
  for (int i = 0; plan->verdict != TA_OVER && i < TA_REASON_COUNT; i++) {
    if (!ta_say_reason(prepared, plan, (ta_reason)i, units, text)) continue;
    (void)snprintf(why, size, "%s: %s",
                   plan->verdict == TA_UNSURE ? "not enough is known to run the target"
                                              : "the target cannot be run",
                   text);
    return true;
  }
  for (size_t i = 0; i < sizeof whatever_is_run / sizeof whatever_is_run[0]; i++) {
    if (!ta_say_reason(prepared, plan, whatever_is_run[i], units, text)) continue;
    (void)snprintf(why, size, "not enough is known to run a cap: %s", text);
    return true;
  }
  if (strategy == TA_FULL_TARGET) {
    (void)snprintf(why, size, "the target passes the limit, and no cap can be had that avoids it%s",
                   plan->caps.constant.limited_by == TA_BY_MINIMUM_BOOST
                       ? ": the wastegate's spring alone gives more"
                       : "");
    return true;
  }
  if (ta_strategy_offered(&plan->caps, strategy)) return false;
  size_t used =
      (size_t)snprintf(why, size, "%s cannot be had; what can:", ta_strategy_name(strategy));
  for (int i = TA_FULL_TARGET + 1; i < TA_STRATEGY_COUNT && used < size; i++)
    if (ta_strategy_offered(&plan->caps, (ta_strategy)i))
      used += (size_t)snprintf(why + used, size - used, " %s", ta_strategy_name((ta_strategy)i));
  return true;
}

/* A row that the compressor map cannot vouch for. */
static bool row_refused(const card_row *row, char *why, size_t size) {
  const ta_zone zone = row->point.zone;
  char text[TA_SENTENCE_MAX];
  if (zone != TA_UNREACHABLE && zone != TA_SURGE && zone != TA_CHOKE &&
      row->point.beyond_top_line <= TA_UNRELIABLE_BEYOND_TOP)
    return false;
  (void)snprintf(why, size, "not enough is known to run this at %.60s: %s", row->name,
                 ta_say_zone(&row->point, text));
  return true;
}

/* ---- the table ------------------------------------------------------------------------------- */

typedef char cell[TA_SHOWN_MAX];

/* "~" where the speed is an estimate. */
static void row_cells(const ta_prepared *prepared, const card_row *row, ta_unit_system units,
                      cell cells[COLUMNS]) {
  const double map_pa = ta_set_point_map(prepared, row->set_point, row->ambient_pa);
  cell rpm;
  (void)snprintf(cells[0], TA_SHOWN_MAX, "%s", row->name);
  (void)ta_show_number(TA_SHOW_DISTANCE, units, 1, row->place->distance_m, cells[1]);
  (void)ta_show_number(TA_SHOW_ELEVATION, units, -1, row->place->elevation_m, cells[2]);
  (void)ta_show_number(TA_SHOW_AMBIENT, units, -1, row->ambient_pa, cells[3]);
  (void)ta_show_number(TA_SHOW_MAP, units, -1, map_pa, cells[4]);
  (void)ta_show_number(TA_SHOW_BOOST, units, -1, map_pa - row->ambient_pa, cells[5]);
  (void)snprintf(cells[6], TA_SHOWN_MAX, "%s%.20s", row->point.zone == TA_MAPPED ? "" : "~",
                 ta_show_number(TA_SHOW_RPM, units, -1, row->point.shaft_rpm, rpm));
  (void)snprintf(cells[7], TA_SHOWN_MAX, "%zu", row->position);
}

/* Text cut to a width on the terminal. */
static void cut(char *text, int width) {
  int seen = 0;
  for (; *text != '\0'; text++) {
    seen += ((unsigned char)*text & 0xc0) != 0x80;
    if (seen > width) break;
  }
  *text = '\0';
}

static void table(const ta_prepared *prepared, const card_row *rows, size_t count,
                  ta_strategy strategy, ta_unit_system units, ta_buffer *out) {
  const bool knob = strategy == TA_BY_POSITION;
  cell cells[ROWS_MAX + 2][COLUMNS] = {
      {"place", "at", "elev", "ambient", "MAP", "boost", "shaft", "knob", ""}, {[7] = "no."}};
  static const ta_show shows[COLUMNS] = {
      [1] = TA_SHOW_DISTANCE, [2] = TA_SHOW_ELEVATION, [3] = TA_SHOW_AMBIENT,
      [4] = TA_SHOW_MAP,      [5] = TA_SHOW_BOOST,     [6] = TA_SHOW_RPM};
  bool capped = false;
  for (size_t c = 1; c <= 6; c++)
    (void)snprintf(cells[1][c], TA_SHOWN_MAX, "%s", ta_show_unit(shows[c], units));
  for (size_t i = 0; i < count; i++) {
    row_cells(prepared, &rows[i], units, cells[i + 2]);
    if (rows[i].capped && !capped) (void)snprintf(cells[i + 2][8], TA_SHOWN_MAX, "<- cap starts");
    capped = capped || rows[i].capped;
  }
  int width[COLUMNS] = {0}, left = WIDTH;
  for (size_t c = 0; c < COLUMNS; c++) {
    for (size_t i = 0; i < count + 2; i++) {
      const int w = ta_text_width(cells[i][c]);
      width[c] = w > width[c] ? w : width[c];
    }
    if (c == 7 && !knob) width[c] = -2;
    if (c > 0) left -= width[c] + 2;
  }
  if (width[0] > left) width[0] = left;
  for (size_t i = 0; i < count + 2; i++) {
    cut(cells[i][0], width[0]);
    ta_buffer_add(out, "%s%*s", cells[i][0], width[0] - ta_text_width(cells[i][0]), "");
    for (size_t c = 1; c < COLUMNS - 1; c++)
      if (c != 7 || knob) ta_buffer_add(out, "  %*s", width[c], cells[i][c]);
    ta_buffer_add(out, "%s%s\n", cells[i][8][0] != '\0' ? "  " : "", cells[i][8]);
  }
}

/* ---- words ----------------------------------------------------------------------------------- */

static void how_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                       ta_unit_system units, ta_buffer *out) {
  const ta_event *event = prepared->event;
  char text[TA_SENTENCE_MAX], a[TA_SHOWN_MAX], what[TA_SENTENCE_MAX / 2];
  if (plan->verdict == TA_CLEAR) {
    (void)snprintf(what, sizeof what, "full target, no cap");
  } else if (strategy == TA_EARLY_SHIFT) {
    (void)snprintf(
        what, sizeof what, "full target, SHIFT AT %s",
        ta_show_quantity(TA_SHOW_RPM, units, -1, speeds_of(prepared, plan, strategy).high_rpm, a));
  } else {
    (void)snprintf(what, sizeof what, "%s", ta_strategy_words(strategy));
  }
  switch (event->car.control.holds) {
    case TA_HOLDS_GAUGE:
      (void)snprintf(text, sizeof text, "%s. The controller holds boost: set the boost column.",
                     what);
      break;
    case TA_HOLDS_GAUGE_KEY_ON:
      (void)snprintf(text, sizeof text,
                     "%s. The controller adds its boost to the %s it read at key-on: set the MAP "
                     "column less that.",
                     what, ta_show_quantity(TA_SHOW_MAP, units, -1, prepared->read_pa, a));
      break;
    default:
      (void)snprintf(
          text, sizeof text,
          "%s. The controller holds MAP: set the MAP column; boost is what a gauge shows "
          "then.",
          what);
  }
  ta_headed(out, WIDTH, SET_IN, "RUN", text);
}

/* What a change of the weather does to the cap, rounded to the careful side. */
static void change_words(const ta_prepared *prepared, const ta_plan *plan, double change,
                         bool known, ta_unit_system units, char *text, size_t size) {
  const bool gauge = holds_gauge(prepared);
  const ta_show show = gauge ? TA_SHOW_BOOST : TA_SHOW_DIFFERENCE;
  const double step = units == TA_US ? 0.5 : gauge ? 0.01 : 1.0;
  const double steps = ceil(ta_show_value(show, units, -change) / step - 1e-6);
  const char *what = plan->verdict == TA_CLEAR ? "target" : "cap";
  if (!known)
    (void)snprintf(text, size, "plan again");
  else if (steps <= 0.0) /* an easier day is no reason to raise anything off a card */
    (void)snprintf(text, size, "%s as it is", what);
  else
    (void)snprintf(text, size, "%s -%.*f %s", what,
                   units == TA_US ? 1
                   : gauge        ? 2
                                  : 0,
                   steps * step, ta_show_unit(show, units));
}

/* At the rows of a table, a schedule or a position a warmer day may take more than off the one cap. */
static double warmer_change(const ta_plan *plan, ta_strategy strategy, const ta_weather *weather) {
  double change = weather->warmer.change;
  const double share = TA_WEATHER_WARMER_K / 10.0;
  const ta_controller_table *table = &plan->caps.table;
  const bool by_ambient = strategy == TA_BY_AMBIENT || strategy == TA_BY_TABLE;
  for (size_t i = 0; by_ambient && i < plan->caps.schedule.count; i++) {
    const ta_schedule_row *row = &plan->caps.schedule.row[i];
    double of_row = row->per_10k;
    /* the row stands for the speed of its lowest cap; at the others it is more, and so is the loss */
    for (size_t k = 0; strategy == TA_BY_TABLE && k < table->axes.speed_count; k++)
      of_row = fmin(
          of_row,
          row->per_10k / row->set_point *
              table->set_point[(plan->caps.schedule.count - 1 - i) * table->axes.speed_count + k]);
    change = fmin(change, share * of_row);
  }
  for (size_t i = 0; strategy == TA_BY_POSITION && i < plan->caps.positions.count; i++)
    change = fmin(change, share * plan->caps.positions.position[i].cap.per_10k);
  return change;
}

static void weather_lines(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                          const ta_weather *weather, ta_unit_system units, ta_buffer *out) {
  char text[TA_SENTENCE_MAX], warmer[TA_SHOWN_MAX], lower[TA_SHOWN_MAX], pressure[TA_SHOWN_MAX];
  const bool shifted = strategy == TA_EARLY_SHIFT && plan->verdict != TA_CLEAR;
  const ta_cap_change *a = &weather->warmer, *b = &weather->lower;
  change_words(prepared, plan, warmer_change(plan, strategy, weather), a->known && !shifted, units,
               warmer, sizeof warmer);
  change_words(prepared, plan, b->change, b->known && !shifted, units, lower, sizeof lower);
  if (units == TA_US)
    (void)ta_show_cap(TA_SHOW_AMBIENT, units, TA_WEATHER_LOWER_PA, pressure);
  else
    (void)snprintf(pressure, sizeof pressure, "%.0f hPa", TA_WEATHER_LOWER_PA / 100.0);
  const bool known = a->known && b->known && !shifted,
             eases = known && a->change < 0.0 && b->change < 0.0; /* then the other way raises it */
  (void)snprintf(
      text, sizeof text,
      "Up to %.0f %s warmer: %s. Up to %s lower: %s.%s More than either: new reading, plan "
      "again. Colder, or higher: %s.",
      units == TA_US ? 1.8 * TA_WEATHER_WARMER_K : TA_WEATHER_WARMER_K,
      units == TA_US ? "degF" : "degC", warmer, pressure, lower,
      known ? " Both at once: both off." : "", eases ? "no more than planned" : "plan again");
  ta_headed(out, WIDTH, SET_IN, "WEATHER", text);
}

static void blocks(const ta_prepared *prepared, ta_unit_system units, ta_buffer *out) {
  const ta_turbo *turbo = &prepared->event->car.turbo;
  char text[2 * TA_SENTENCE_MAX], a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], sensor[60] = "";
  if (turbo->has_sensor)
    (void)snprintf(sensor, sizeof sensor, "; blade count %.0f in the logger", turbo->sensor.blades);
  (void)snprintf(
      text, sizeof text,
      "Key on, engine off: MAP must read %s +/- %s. If it does not, find out why first: "
      "do not run on a wrong one. Hoses and clamps by hand; air filter; sensor's wire%s; "
      "room in the logger for the whole run.",
      ta_show_quantity(TA_SHOW_MAP, units, -1, prepared->start.pressure_pa, a),
      ta_show_quantity(TA_SHOW_DIFFERENCE, units, -1, KEY_ON_PA, b), sensor);
  ta_headed(out, WIDTH, SET_IN, "BEFORE", text);
  ta_headed(out, WIDTH, SET_IN, "IN RUN",
            "Alarm once: lift, shift early, go on with less boost. Twice, or a new noise, smoke, "
            "falling boost: stop where it is safe.");
  ta_headed(
      out, WIDTH, SET_IN, "AFTER",
      "Peak rpm ________ at __________ peak MAP ________ oil temp ________ ambient at the top "
      "________");
  (void)snprintf(text, sizeof text,
                 "Once above %s, however short: no more runs until someone qualified has checked "
                 "shaft play, the wheels for rub, the oil for metal.",
                 ta_show_quantity(TA_SHOW_RPM, units, -1, turbo->rated_rpm, a));
  ta_headed(out, WIDTH, SET_IN, "", text);
}

static void cautions(ta_buffer *out) {
  const char *line = ta_cautions;
  while (*line != '\0') {
    char text[TA_SENTENCE_MAX];
    const size_t length = strcspn(line, "\n");
    (void)snprintf(text, sizeof text, "%.*s", (int)length, line);
    ta_folded(out, WIDTH, 0, text);
    line += length + (line[length] == '\n');
  }
}

static void head(const ta_prepared *prepared, const char *made, const ta_style *style,
                 ta_buffer *out) {
  const ta_event *event = prepared->event;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], text[TA_SENTENCE_MAX];
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  (void)snprintf(text, sizeof text, "%s, %s", event->name, event->car.name);
  ta_folded(out, WIDTH, 0, text);
  ta_buffer_add(
      out, "date __________  run ____  made %s from %s, %s at the start\n",
      made != NULL ? made : "_____",
      ta_show_quantity(TA_SHOW_TEMPERATURE, style->units, -1, prepared->start.temperature_k, a),
      ta_show_quantity(TA_SHOW_AMBIENT, style->units, -1, prepared->start.pressure_pa, b));
  ta_buffer_add(out, "%sALARM %s    NEVER ABOVE %s%s (maker's rated)\n", strong,
                ta_show_quantity(TA_SHOW_RPM, style->units, -1, ta_alarm_rpm(prepared), a),
                ta_show_quantity(TA_SHOW_RPM, style->units, -1, event->car.turbo.rated_rpm, b),
                plain);
  ta_buffer_add(out, "controller file ____________________  checked by ____________________\n");
}

bool ta_report_card(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    const ta_weather *weather, const char *made, const ta_style *style,
                    ta_buffer *out, char *why, size_t why_size) {
  const ta_unit_system units = style->units;
  card_row rows[ROWS_MAX];
  if (plan->verdict == TA_CLEAR) strategy = TA_FULL_TARGET;
  if (plan_refused(prepared, plan, strategy, units, why, why_size)) return false;
  const size_t count = find_places(prepared->event, plan, strategy, rows);
  for (size_t i = 0; i < count; i++) {
    const ta_status status = solve_row(prepared, plan, strategy, units, &rows[i]);
    if (status != TA_OK) {
      (void)snprintf(why, why_size, "%s", ta_status_text(status));
      return false;
    }
    if (row_refused(&rows[i], why, why_size)) return false;
  }
  bool estimated = false;
  for (size_t i = 0; i < count; i++) estimated = estimated || rows[i].point.zone != TA_MAPPED;
  head(prepared, made, style, out);
  ta_warnings warnings = {.count = 0};
  ta_warn_of_alarm(prepared, units, &warnings);
  if (warnings.count > 0) ta_headed(out, WIDTH, SET_IN, "NOTE", warnings.text[0]);
  ta_buffer_add(out, "\n");
  how_to_run(prepared, plan, strategy, units, out);
  table(prepared, rows, count, strategy, units, out);
  ta_folded(out, WIDTH, 0,
            estimated ? "shaft: what its gauge should read there at full throttle, overshoot off; "
                        "~ past the compressor map's lines: an estimate"
                      : "shaft: what its gauge should read there at full throttle, overshoot off");
  ta_buffer_add(out, "\n");
  blocks(prepared, units, out);
  weather_lines(prepared, plan, strategy, weather, units, out);
  ta_buffer_add(out, "\n");
  cautions(out);
  ta_buffer_add(out, "thinair %s\n", style->version);
  return true;
}
