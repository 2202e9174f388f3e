/* card_report.c - the run card: one page for the start line.
 *
 * Decision  What is to be set stands in words above the rows; the rows are what the gauges should read
 *           then at one engine speed, overshoot off: what the car really makes, the wastegate's spring
 *           and the turbine's drive in it.
 * Decision  Caps are rounded down as they are set and shown, ambients that go with them up.
 * Decision  Weather only ever lowers a cap here; what would raise one asks for a new plan.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"

enum { WIDTH = 80, ROWS_MAX = 14, COLUMNS = 9, SET_IN = 9, BISECTIONS = 40 };
static const double SHIFT_STEP_RPM = 50.0, KEY_ON_PA = 1000.0;
static const double NEARBY_M = 100.0;      /* a distance is shown to that */
static const double OFF_THE_SET_PA = 10.0; /* less than any column shows */

typedef struct {
  const char *name;
  ta_course_point place;
  ta_air air;
  size_t position;          /* of the knob, from 1 */
  double set_map_pa;        /* MAP of what is set, rounded down as it is set */
  ta_operating_point made;  /* by the car at the columns' engine speed */
  ta_operating_point point; /* fastest of the window at the cap, overshoot off */
} card_row;

/* Where the target is held back first. */
typedef struct {
  double distance_m;   /* HUGE_VAL: nowhere */
  bool between_places; /* no place of the course has that distance */
} cap_start;

ta_strategy ta_card_strategy(const ta_plan *plan) {
  static const ta_strategy order[] = {TA_BY_TABLE, TA_BY_AMBIENT, TA_BY_POSITION, TA_ONE_CAP};
  for (size_t i = 0; i < sizeof order / sizeof order[0]; i++)
    if (ta_strategy_offered(&plan->caps, order[i])) return order[i];
  return TA_FULL_TARGET;
}

/* ---- what is set ------------------------------------------------------------------------------ */

static bool holds_gauge(const ta_prepared *prepared) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE;
}

static bool holds_key_on(const ta_prepared *prepared) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON;
}

static ta_show show_set(const ta_prepared *prepared) {
  return holds_gauge(prepared) || holds_key_on(prepared) ? TA_SHOW_BOOST : TA_SHOW_MAP;
}

static const char *words_set(const ta_prepared *prepared) {
  return holds_gauge(prepared) ? "boost" : holds_key_on(prepared) ? "boost above key-on" : "MAP";
}

/* A set-point in the quantity that is typed in. */
static double typed(const ta_prepared *prepared, double set_point) {
  return holds_key_on(prepared) ? set_point - prepared->read_pa : set_point;
}

/* The set-point rounded down as it is typed in. */
static double as_typed(const ta_prepared *prepared, ta_unit_system units, double set_point) {
  const double off = set_point - typed(prepared, set_point);
  return off + ta_show_rounded_down(show_set(prepared), units, set_point - off);
}

/* ---- places ---------------------------------------------------------------------------------- */

static size_t position_at(const ta_plan *plan, double distance_m) {
  size_t i = 0;
  while (i + 1 < plan->caps.positions.count &&
         plan->caps.positions.position[i + 1].from_distance_m <= distance_m)
    i++;
  return i + 1;
}

/* Start, finish, summit, where a knob is turned and the cap starts: never thinned out. */
static bool must_stay(const ta_course *course, const ta_plan *plan, ta_strategy strategy,
                      double cap_start_m, const ta_course_point *top,
                      const ta_course_point *place) {
  if (place == &course->point[0] || place == &course->point[course->count - 1] || place == top ||
      place->distance_m == cap_start_m)
    return true;
  for (size_t i = 1; strategy == TA_BY_POSITION && i < plan->caps.positions.count; i++)
    if (plan->caps.positions.position[i].from_distance_m == place->distance_m) return true;
  return false;
}

static const char *name_of(const ta_event *event, const ta_course_point *place) {
  const ta_course *course = &event->course;
  if (place->mark != NULL) return place->mark;
  if (place == &course->point[0]) return event->is_cut ? "From here" : "Start";
  if (place == &course->point[course->count - 1]) return "Finish";
  return place == ta_top_of_course(course) ? "Summit" : "-";
}

static ta_speed_range speeds_of(const ta_prepared *prepared, const ta_plan *plan,
                                ta_strategy strategy) {
  ta_speed_range range = ta_strategy_speeds(prepared, &plan->caps, strategy);
  if (strategy == TA_EARLY_SHIFT)
    range.high_rpm = fmax(range.low_rpm, SHIFT_STEP_RPM * floor(range.high_rpm / SHIFT_STEP_RPM));
  return range;
}

/* Is the target held back at a place?  A table is asked at the columns' engine speed, and its rounding
 * to its step does not count. */
static bool is_capped(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                      double distance_m) {
  const ta_event *event = prepared->event;
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  const bool stepped = strategy == TA_BY_TABLE || strategy == TA_BY_AMBIENT;
  ta_air air;
  double low, high;
  if (ta_day_air(&prepared->day, ta_course_elevation(&event->course, distance_m), &air) != TA_OK)
    return false;
  ta_prepared_goal_range(prepared, range, &low, &high);
  return ta_strategy_cap(prepared, &plan->caps, strategy, distance_m, air.pressure_pa,
                         range.high_rpm) <
         (strategy == TA_BY_TABLE ? ta_prepared_goal(prepared, range.high_rpm) : high) -
             (stepped ? event->car.control.resolution_pa : 0.0) - OFF_THE_SET_PA;
}

/* To the metre; a place of the course that has a row, or could have, serves where one is near. */
static cap_start find_cap_start(const ta_prepared *prepared, const ta_plan *plan,
                                ta_strategy strategy) {
  const ta_course *course = &prepared->event->course;
  const ta_course_point *point = course->point;
  size_t i = 0;
  while (i < course->count && !is_capped(prepared, plan, strategy, point[i].distance_m)) i++;
  if (i == course->count) return (cap_start){HUGE_VAL, false};
  const ta_course_point *top = ta_top_of_course(course);
  double low_m = point[i > 0 ? i - 1 : 0].distance_m, high_m = point[i].distance_m;
  for (int k = 0; k < BISECTIONS && high_m - low_m > 1.0; k++) {
    const double middle_m = 0.5 * (low_m + high_m);
    *(is_capped(prepared, plan, strategy, middle_m) ? &high_m : &low_m) = middle_m;
  }
  for (; i < course->count && point[i].distance_m <= high_m + NEARBY_M; i++)
    if (point[i].mark != NULL || must_stay(course, plan, strategy, HUGE_VAL, top, &point[i]))
      return (cap_start){point[i].distance_m, false};
  return (cap_start){high_m, true};
}

/* The rows' places, the other marks thinned evenly. */
static size_t find_places(const ta_event *event, const ta_plan *plan, ta_strategy strategy,
                          const cap_start *start, card_row rows[ROWS_MAX]) {
  const ta_course *course = &event->course;
  const ta_course_point *top = ta_top_of_course(course);
  size_t staying = start->between_places ? 1 : 0, others = 0, count = 0, due = 0;
  for (size_t i = 0; i < course->count; i++) {
    if (must_stay(course, plan, strategy, start->distance_m, top, &course->point[i]))
      staying++;
    else if (course->point[i].mark != NULL)
      others++;
  }
  const size_t room = staying < ROWS_MAX ? ROWS_MAX - staying : 0,
               wanted = others < room ? others : room;
  bool due_between = start->between_places;
  for (size_t i = 0; i < course->count && count < ROWS_MAX; i++) {
    const ta_course_point *place = &course->point[i];
    bool kept = must_stay(course, plan, strategy, start->distance_m, top, place);
    if (!kept && place->mark != NULL) {
      due += wanted;
      kept = due >= others;
      if (kept) due -= others;
    }
    if (due_between && place->distance_m > start->distance_m) {
      due_between = false;
      rows[count++] =
          (card_row){.name = "-",
                     .place = {.distance_m = start->distance_m,
                               .elevation_m = ta_course_elevation(course, start->distance_m)}};
    }
    if (kept && count < ROWS_MAX)
      rows[count++] = (card_row){.name = name_of(event, place), .place = *place};
  }
  return count;
}

static ta_status solve_row(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                           ta_unit_system units, card_row *row) {
  ta_event calm_event = *prepared->event;
  ta_prepared calm = *prepared;
  calm_event.car.control.overshoot_pa = calm_event.car.control.map_error_pa = 0.0;
  calm.event = &calm_event;
  double low, high, made_pa, power_w;
  ta_status status = ta_day_air(&prepared->day, row->place.elevation_m, &row->air);
  if (status != TA_OK) return status;
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  const double rpm = range.high_rpm;
  ta_prepared_goal_range(prepared, range, &low, &high);
  const double cap = fmin(high, ta_strategy_cap(prepared, &plan->caps, strategy,
                                                row->place.distance_m, row->air.pressure_pa, rpm)),
               set_point = as_typed(prepared, units, fmin(cap, ta_prepared_goal(prepared, rpm)));
  row->position = position_at(plan, row->place.distance_m);
  row->set_map_pa = ta_set_point_map(prepared, set_point, row->air.pressure_pa);
  ta_full_load_at(prepared, &row->air, 0.0, &rpm, &set_point, 1, &made_pa, &power_w);
  status = ta_point_solve(&calm_event.car, prepared->map, &row->air, rpm, made_pa, &row->made);
  if (status != TA_OK) return status;
  return ta_worst_in_air(&calm, range, &row->air, as_typed(prepared, units, cap), &row->point);
}

/* How many bytes the first characters of a text take. */
static int bytes_of(const char *text, int characters) {
  int bytes = 0;
  for (; text[bytes] != '\0'; bytes++)
    if (((unsigned char)text[bytes] & 0xc0) != 0x80 && characters-- == 0) break;
  return bytes;
}

/* Source  Unicode: the blocks of scripts written from right to left; UTF-8 sorts as its characters do. */
static bool has_right_to_left(const char *text) {
  static const char *const blocks[][2] = {{"\u0590", "\u08ff"},
                                          {"\ufb1d", "\ufdff"},
                                          {"\ufe70", "\ufeff"},
                                          {"\U00010800", "\U00010fff"},
                                          {"\U0001e800", "\U0001efff"}};
  for (; *text != '\0'; text++)
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
      if (strcmp(text, blocks[i][0]) >= 0 && strncmp(text, blocks[i][1], strlen(blocks[i][1])) <= 0)
        return true;
  return false;
}

enum { NAME_MAX_WIDTH = WIDTH, NAME_BYTES = 4 * NAME_MAX_WIDTH + 8 };

/* A name cut to a width; one that is written from right to left in an isolate (UAX #9), which keeps
 * the numbers beside it where they are. */
static const char *name_cut(const char *name, int width, char text[NAME_BYTES]) {
  const bool turned = has_right_to_left(name);
  (void)snprintf(text, NAME_BYTES, "%s%.*s%s", turned ? "\u2068" : "",
                 bytes_of(name, width < NAME_MAX_WIDTH ? width : NAME_MAX_WIDTH), name,
                 turned ? "\u2069" : "");
  return text;
}

/* ---- may it be printed? ---------------------------------------------------------------------- */

/* Does a reason stand against the strategy?  A cap keeps out of what is wrong with the target alone;
 * its own rows are looked at one by one. */
static bool stands_against(const ta_plan *plan, ta_strategy strategy, ta_reason reason) {
  const bool of_the_day = reason == TA_REASON_STATIONS_DISAGREE || reason == TA_REASON_COLD_READING,
             holds_target = strategy == TA_FULL_TARGET || strategy == TA_EARLY_SHIFT;
  if (of_the_day) return true;
  if (plan->verdict == TA_OVER) return reason == TA_REASON_MAP_SENSOR && strategy == TA_EARLY_SHIFT;
  return holds_target || ta_card_strategy(plan) == TA_FULL_TARGET;
}

/* What stands against every run of this plan, or against this strategy. */
static bool plan_refused(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                         ta_unit_system units, char *why, size_t size) {
  char text[TA_SENTENCE_MAX];
  if (plan->verdict == TA_CLEAR) return false;
  for (int i = 0; i < TA_REASON_COUNT; i++) {
    if (!stands_against(plan, strategy, (ta_reason)i) ||
        !ta_say_reason(prepared, plan, (ta_reason)i, units, text))
      continue;
    const bool cap = ta_card_strategy(plan) != TA_FULL_TARGET && strategy != TA_EARLY_SHIFT;
    (void)snprintf(why, size, "%s: %s",
                   cap ? "not enough is known to run a cap"
                   : plan->verdict == TA_UNSURE || plan->verdict == TA_OVER
                       ? "not enough is known to run the target"
                       : "the target cannot be run",
                   text);
    return true;
  }
  if (strategy == TA_FULL_TARGET) {
    (void)snprintf(why, size, "the target passes the limit, and no cap can be had that avoids it%s",
                   plan->caps.constant.limited_by == TA_BY_MINIMUM_BOOST
                       ? ": the wastegate's spring alone gives more"
                       : "");
    return true;
  }
  if (ta_strategy_offered(&plan->caps, strategy)) {
    /* overshoot on, as the caps are judged; the shift's own points are looked at row by row */
    if (strategy == TA_EARLY_SHIFT || ta_caps_are_vouched(&plan->caps)) return false;
    (void)snprintf(why, size, "not enough is known to run a cap: where the tightest stands, %s",
                   ta_say_zone(&plan->caps.constant.tightest.point, text));
    return true;
  }
  size_t used =
      (size_t)snprintf(why, size, "%s cannot be had; what can:", ta_strategy_name(strategy));
  for (int i = TA_FULL_TARGET + 1; i < TA_STRATEGY_COUNT && used < size; i++)
    if (ta_strategy_offered(&plan->caps, (ta_strategy)i))
      used += (size_t)snprintf(why + used, size - used, " %s", ta_strategy_name((ta_strategy)i));
  return true;
}

/* A row that the compressor map cannot vouch for, or a restrictor near its choke. */
static bool row_refused(const card_row *row, char *why, size_t size) {
  char text[TA_SENTENCE_MAX], name[NAME_BYTES];
  if (!ta_point_is_unreliable(&row->point)) return false;
  (void)snprintf(why, size, "not enough is known to run this at %s: %s",
                 name_cut(row->name, 60, name), ta_say_zone(&row->point, text));
  return true;
}

/* ---- the table ------------------------------------------------------------------------------- */

typedef char cell[TA_SHOWN_MAX];

/* Without the name; "~" where the speed is an estimate. */
static void row_cells(const card_row *row, ta_unit_system units, cell cells[COLUMNS]) {
  const double map_pa = row->made.map_pa, ambient_pa = row->air.pressure_pa;
  cell rpm;
  (void)ta_show_number(TA_SHOW_DISTANCE, units, 1, row->place.distance_m, cells[1]);
  (void)ta_show_number(TA_SHOW_ELEVATION, units, -1, row->place.elevation_m, cells[2]);
  (void)ta_show_number(TA_SHOW_AMBIENT, units, -1, ambient_pa, cells[3]);
  (void)ta_show_number(TA_SHOW_MAP, units, -1, ta_show_rounded_down(TA_SHOW_MAP, units, map_pa),
                       cells[4]);
  (void)ta_show_number(TA_SHOW_BOOST, units, -1,
                       ta_show_rounded_down(TA_SHOW_BOOST, units, map_pa - ambient_pa), cells[5]);
  (void)snprintf(cells[6], TA_SHOWN_MAX, "%s%.20s", row->made.zone == TA_MAPPED ? "" : "~",
                 ta_show_number(TA_SHOW_RPM, units, -1, row->made.shaft_rpm, rpm));
  (void)snprintf(cells[7], TA_SHOWN_MAX, "%zu", row->position);
}

static bool is_the_springs(const card_row *row) {
  return row->made.map_pa > fmax(row->set_map_pa, row->air.pressure_pa) + OFF_THE_SET_PA;
}

/* Below the heading and the units stand the rows. */
static const char *name_of_line(const card_row *rows, size_t line) {
  return line == 0 ? "place" : line == 1 ? "" : rows[line - 2].name;
}

static void table(const card_row *rows, size_t count, const cap_start *start, ta_strategy strategy,
                  ta_unit_system units, ta_buffer *out) {
  const bool knob = strategy == TA_BY_POSITION;
  cell cells[ROWS_MAX + 2][COLUMNS] = {
      {"", "at", "elev", "ambient", "MAP", "boost", "shaft", "knob", ""}, {[7] = "no."}};
  static const ta_show shows[COLUMNS] = {
      [1] = TA_SHOW_DISTANCE, [2] = TA_SHOW_ELEVATION, [3] = TA_SHOW_AMBIENT,
      [4] = TA_SHOW_MAP,      [5] = TA_SHOW_BOOST,     [6] = TA_SHOW_RPM};
  char name[NAME_BYTES];
  bool capped = false;
  for (size_t c = 1; c <= 6; c++)
    (void)snprintf(cells[1][c], TA_SHOWN_MAX, "%s", ta_show_unit(shows[c], units));
  for (size_t i = 0; i < count; i++) {
    const bool starts = !capped && rows[i].place.distance_m >= start->distance_m;
    const bool spring = is_the_springs(&rows[i]);
    row_cells(&rows[i], units, cells[i + 2]);
    (void)snprintf(cells[i + 2][8], TA_SHOWN_MAX, "%s%s%s%s", starts || spring ? "<- " : "",
                   starts ? "cap starts" : "", starts && spring ? ", " : "",
                   spring ? "spring" : "");
    capped = capped || starts;
  }
  int width[COLUMNS] = {0}, left = WIDTH;
  for (size_t c = 0; c < COLUMNS; c++) {
    for (size_t i = 0; i < count + 2; i++) {
      const int w = ta_text_width(c > 0 ? cells[i][c] : name_of_line(rows, i));
      width[c] = w > width[c] ? w : width[c];
    }
    if (c == 7 && !knob) width[c] = -2;
    if (c > 0) left -= width[c] + 2;
  }
  if (width[0] > left) width[0] = left;
  for (size_t i = 0; i < count + 2; i++) {
    const char *whole = name_of_line(rows, i);
    const int wide = ta_text_width(whole);
    ta_buffer_add(out, "%s%*s", name_cut(whole, width[0], name),
                  width[0] > wide ? width[0] - wide : 0, "");
    for (size_t c = 1; c < COLUMNS - 1; c++)
      if (c != 7 || knob) ta_buffer_add(out, "  %*s", width[c], cells[i][c]);
    ta_buffer_add(out, "%s%s\n", cells[i][8][0] != '\0' ? "  " : "", cells[i][8]);
  }
}

/* ---- words ----------------------------------------------------------------------------------- */

/* Text that grows; what does not fit is left out. */
typedef struct {
  char text[2 * TA_SENTENCE_MAX];
  size_t used;
} words;

__attribute__((format(printf, 2, 3))) static void say(words *w, const char *format, ...) {
  va_list args;
  if (w->used >= sizeof w->text) return;
  va_start(args, format);
  w->used += (size_t)vsnprintf(w->text + w->used, sizeof w->text - w->used, format, args);
  va_end(args);
}

/* A set-point as it is typed in. */
static const char *set_number(const ta_prepared *prepared, ta_unit_system units, double set_point,
                              char text[TA_SHOWN_MAX]) {
  return ta_show_number(show_set(prepared), units, -1,
                        typed(prepared, as_typed(prepared, units, set_point)), text);
}

/* "228.0 at 85.5, ...": a set-point read at a higher ambient than it was made for would be too high,
 * so the ambients are rounded up. */
static void say_schedule(const ta_prepared *prepared, const ta_schedule *schedule,
                         ta_unit_system units, words *w) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  say(w, "Set %s by ambient, %s at %s: ", words_set(prepared),
      ta_show_unit(show_set(prepared), units), ta_show_unit(TA_SHOW_AMBIENT, units));
  for (size_t i = 0; i < schedule->count; i++) {
    const ta_schedule_row *row = &schedule->row[i];
    say(w, "%s%s at %s", i > 0 ? ", " : "", set_number(prepared, units, row->set_point, a),
        ta_show_number(TA_SHOW_AMBIENT, units, -1,
                       -ta_show_rounded_down(TA_SHOW_AMBIENT, units, -row->ambient_pa), b));
  }
  say(w,
      prepared->event->car.control.interpolation == 0 ? "; linear between them." : "; in steps.");
}

/* What is to be set, in the quantity that the controller holds. */
static void say_set(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    ta_unit_system units, words *w) {
  const ta_positions *positions = &plan->caps.positions;
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  const char *unit = ta_show_unit(show_set(prepared), units);
  char a[TA_SHOWN_MAX];
  double low, high;
  ta_prepared_goal_range(prepared, range, &low, &high);
  switch (strategy) {
    case TA_BY_TABLE:
      say(w,
          "Load the controller table (thinair plan --table FILE); the %s column is what it gives "
          "at %s, for checking only.",
          words_set(prepared), ta_show_quantity(TA_SHOW_RPM, units, -1, range.high_rpm, a));
      break;
    case TA_BY_AMBIENT:
      say_schedule(prepared, &plan->caps.schedule, units, w);
      break;
    case TA_BY_POSITION:
      say(w, "Set %s, %s: ", words_set(prepared), unit);
      for (size_t i = 0; i < positions->count; i++)
        say(w, "%sno. %zu %s", i > 0 ? ", " : "", i + 1,
            set_number(prepared, units, positions->position[i].cap.set_point, a));
      say(w, ". Turn it where the knob column changes.");
      break;
    default: /* one set-point for the whole run */
      say(w, "Set %s%s %s %s", high > low ? "the target by engine speed, nowhere above " : "",
          words_set(prepared),
          set_number(prepared, units,
                     fmin(high, strategy == TA_ONE_CAP ? plan->caps.constant.set_point : high), a),
          unit);
      if (!holds_key_on(prepared)) say(w, ".");
  }
}

/* Where the key is turned. */
static double key_elevation_m(const ta_event *event) {
  return event->car.control.has_barometer_read_at ? event->car.control.barometer_read_at_m
         : event->is_cut                          ? event->start_elevation_m
                                                  : event->course.point[0].elevation_m;
}

static void how_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                       ta_unit_system units, ta_buffer *out) {
  words w = {.used = 0};
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  if (plan->verdict == TA_CLEAR)
    say(&w, "full target, no cap. ");
  else if (strategy == TA_EARLY_SHIFT)
    say(&w, "full target, SHIFT AT %s. ",
        ta_show_quantity(TA_SHOW_RPM, units, -1, range.high_rpm, a));
  else
    say(&w, "%s. ", ta_strategy_words(strategy));
  say_set(prepared, plan, strategy, units, &w);
  if (holds_key_on(prepared))
    say(&w, "%s the controller adds it to the %s that it reads when the key is turned at %s.",
        strategy == TA_BY_POSITION ? " Boost above key-on:" : ":",
        ta_show_quantity(TA_SHOW_MAP, units, -1, prepared->read_pa, a),
        ta_show_quantity(TA_SHOW_ELEVATION, units, -1, key_elevation_m(prepared->event), b));
  ta_headed(out, WIDTH, SET_IN, "RUN", w.text);
}

/* What a strategy lets through at the first row's place. */
static double first_set(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                        const card_row *first, double rpm) {
  return fmin(ta_prepared_goal(prepared, rpm),
              ta_strategy_cap(prepared, &plan->caps, strategy, first->place.distance_m,
                              first->air.pressure_pa, rpm));
}

/* At which engine speed the columns are, and whether more is set at another. */
static void columns_words(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                          const card_row *first, ta_unit_system units, ta_buffer *out) {
  const ta_goal *goal = &prepared->event->goal;
  const ta_speed_range range = speeds_of(prepared, plan, strategy);
  const double shown = first_set(prepared, plan, strategy, first, range.high_rpm);
  double most = shown, most_rpm = range.high_rpm;
  char text[TA_SENTENCE_MAX], a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  for (size_t i = 0; i <= goal->point_count; i++) {
    const double rpm = i < goal->point_count ? goal->point[i].engine_rpm : range.low_rpm;
    if (rpm < range.low_rpm || rpm > range.high_rpm) continue;
    const double set = first_set(prepared, plan, strategy, first, rpm);
    if (set <= most) continue;
    most = set;
    most_rpm = rpm;
  }
  if (most > shown + OFF_THE_SET_PA) {
    (void)snprintf(text, sizeof text,
                   "More is set at other engine speeds: %s of %s at %s in the first row.",
                   ta_show_cap(show_set(prepared), units, typed(prepared, most), a),
                   words_set(prepared), ta_show_quantity(TA_SHOW_RPM, units, -1, most_rpm, b));
    ta_folded(out, WIDTH, 0, text);
  }
  (void)snprintf(text, sizeof text,
                 "At %s and full throttle, overshoot off, the gauges should read:",
                 ta_show_quantity(TA_SHOW_RPM, units, -1, range.high_rpm, a));
  ta_folded(out, WIDTH, 0, text);
}

/* What the signs in the rows mean. */
static void signs_words(const card_row *rows, size_t count, ta_buffer *out) {
  bool estimated = false, springs = false;
  for (size_t i = 0; i < count; i++) {
    estimated = estimated || rows[i].made.zone != TA_MAPPED;
    springs = springs || is_the_springs(&rows[i]);
  }
  if (estimated) ta_folded(out, WIDTH, 0, "~ past the compressor map's lines: an estimate");
  if (springs)
    ta_folded(out, WIDTH, 0, "spring: the wastegate's spring gives that there, whatever is set.");
}

/* What a change of the weather does to the cap, rounded to the careful side. */
static void change_words(const ta_prepared *prepared, const ta_plan *plan, double change,
                         bool known, ta_unit_system units, char *text, size_t size) {
  const bool gauge = holds_gauge(prepared) || holds_key_on(prepared);
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

/* Where the gauge is checked with the engine off: where the run begins, or where the key is turned. */
static void key_on_words(const ta_prepared *prepared, const card_row *first, ta_unit_system units,
                         char *text, size_t size) {
  const ta_event *event = prepared->event;
  const bool key_on = holds_key_on(prepared);
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], name[NAME_BYTES], at[TA_SENTENCE_MAX / 2] = "";
  if (key_on)
    (void)snprintf(at, sizeof at, " at %s",
                   ta_show_quantity(TA_SHOW_ELEVATION, units, -1, key_elevation_m(event), a));
  else if (event->is_cut)
    (void)snprintf(at, sizeof at, " at %s (%s)", name_cut(first->name, 60, name),
                   ta_show_quantity(TA_SHOW_ELEVATION, units, -1, first->place.elevation_m, a));
  (void)snprintf(
      text, size,
      "Key on%s, engine off: MAP must read %s +/- %s. If it does not, find out why first: do not "
      "run on a "
      "wrong one. %s",
      at,
      ta_show_quantity(TA_SHOW_MAP, units, -1, key_on ? prepared->read_pa : first->air.pressure_pa,
                       a),
      ta_show_cap(TA_SHOW_DIFFERENCE, units, KEY_ON_PA, b),
      key_on ? "Leave the key on from there: turned again it reads another ambient. " : "");
}

static void blocks(const ta_prepared *prepared, const ta_plan *plan, const card_row *first,
                   ta_unit_system units, ta_buffer *out) {
  const ta_turbo *turbo = &prepared->event->car.turbo;
  char text[2 * TA_SENTENCE_MAX], key_on[TA_SENTENCE_MAX], a[TA_SHOWN_MAX], sensor[60] = "";
  if (turbo->has_sensor)
    (void)snprintf(sensor, sizeof sensor, "; blade count %.0f in the logger", turbo->sensor.blades);
  key_on_words(prepared, first, units, key_on, sizeof key_on);
  (void)snprintf(
      text, sizeof text,
      "%sHoses and clamps by hand; air filter; sensor's wire%s; room in the logger for the whole "
      "run.",
      key_on, sensor);
  ta_headed(out, WIDTH, SET_IN, "BEFORE", text);
  if (plan->surges_below_rpm > 0.0)
    (void)snprintf(text, sizeof text,
                   "Full throttle above %s only: up to there the target lies left of the surge "
                   "line somewhere. ",
                   ta_show_quantity(TA_SHOW_RPM, units, -1, plan->surges_below_rpm, a));
  else
    text[0] = '\0';
  const size_t used = strlen(text);
  (void)snprintf(text + used, sizeof text - used,
                 "Alarm once: lift, shift early, go on with less boost. Twice, or a new noise, "
                 "smoke, falling boost: stop where it is safe.");
  ta_headed(out, WIDTH, SET_IN, "IN RUN", text);
  ta_headed(
      out, WIDTH, SET_IN, "AFTER",
      "Peak rpm ________ at __________ peak MAP ________ oil temp ________ ambient at the top "
      "________");
  (void)snprintf(text, sizeof text,
                 "Once above %s, however short: no more runs until someone qualified has checked "
                 "shaft play, the wheels for rub, the oil for metal.",
                 ta_show_cap(TA_SHOW_RPM, units, turbo->rated_rpm, a));
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

static void head(const ta_prepared *prepared, const card_row *first, const char *made,
                 const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], text[TA_SENTENCE_MAX];
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  (void)snprintf(text, sizeof text, "%s, %s", event->name, event->car.name);
  ta_folded(out, WIDTH, 0, text);
  ta_buffer_add(
      out, "date __________  run ____  made %s from %s, %s at %s\n", made != NULL ? made : "_____",
      ta_show_quantity(TA_SHOW_TEMPERATURE, style->units, -1, first->air.temperature_k, a),
      ta_show_quantity(TA_SHOW_AMBIENT, style->units, -1, first->air.pressure_pa, b),
      event->is_cut
          ? ta_show_quantity(TA_SHOW_ELEVATION, style->units, -1, first->place.elevation_m, c)
          : "the start");
  ta_buffer_add(out, "%sALARM %s    NEVER ABOVE %s%s (maker's rated)\n", strong,
                ta_show_cap(TA_SHOW_RPM, style->units, ta_alarm_rpm(prepared), a),
                ta_show_cap(TA_SHOW_RPM, style->units, event->car.turbo.rated_rpm, b), plain);
  ta_buffer_add(out, "controller file ____________________  checked by ____________________\n");
}

bool ta_report_card(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    const ta_weather *weather, const char *made, const ta_style *style,
                    ta_buffer *out, char *why, size_t why_size) {
  const ta_unit_system units = style->units;
  card_row rows[ROWS_MAX] = {{0}};
  if (plan->verdict == TA_CLEAR) strategy = TA_FULL_TARGET;
  if (plan_refused(prepared, plan, strategy, units, why, why_size)) return false;
  const cap_start start = find_cap_start(prepared, plan, strategy);
  const size_t count = find_places(prepared->event, plan, strategy, &start, rows);
  for (size_t i = 0; i < count; i++) {
    const ta_status status = solve_row(prepared, plan, strategy, units, &rows[i]);
    if (status != TA_OK) {
      (void)snprintf(why, why_size, "%s", ta_status_text(status));
      return false;
    }
    if (row_refused(&rows[i], why, why_size)) return false;
  }
  head(prepared, &rows[0], made, style, out);
  ta_warnings warnings = {.count = 0};
  ta_warn_of_alarm(prepared, units, &warnings);
  if (warnings.count > 0) ta_headed(out, WIDTH, SET_IN, "NOTE", warnings.text[0]);
  ta_buffer_add(out, "\n");
  how_to_run(prepared, plan, strategy, units, out);
  columns_words(prepared, plan, strategy, &rows[0], units, out);
  table(rows, count, &start, strategy, units, out);
  signs_words(rows, count, out);
  ta_buffer_add(out, "\n");
  blocks(prepared, plan, &rows[0], units, out);
  weather_lines(prepared, plan, strategy, weather, units, out);
  ta_buffer_add(out, "\n");
  cautions(out);
  ta_buffer_add(out, "thinair %s\n", style->version);
  return true;
}
