/* plan_tables.c - the tables of a plan.
 *
 * Decision  The last figure of a set-point is rounded down, so that what is read off can be held.
 */
#include "plan_tables.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "controller_unit.h"
#include "plan_view.h"
#include "plan_words.h"
#include "thinair/controller_table.h"

#define TEXT(title, row, member) \
  { "", title, TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(row, member) }

/* ---- places ---------------------------------------------------------------------------------- */

#define PLACE(title, show, member) \
  { title, title, TA_CELL_NUMBER, show, offsetof(ta_place_row, member) }
static const ta_column place_columns[] = {
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(ta_place_row, place)},
    PLACE("elevation", TA_SHOW_ELEVATION, elevation_m),
    PLACE("ambient", TA_SHOW_AMBIENT, ambient_pa),
    PLACE("air", TA_SHOW_TEMPERATURE, temperature_k),
    PLACE("shaft", TA_SHOW_RPM, shaft_rpm),
    PLACE("of rated", TA_SHOW_SHARE, of_rated),
    PLACE("power", TA_SHOW_POWER, power_w),
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(ta_place_row, sure)},
};

static void place_row_set(ta_place_row *row, const ta_prepared *prepared, const char *place,
                          const ta_operating_point *point, double elevation_m) {
  *row = (ta_place_row){.place = place,
                        .elevation_m = elevation_m,
                        .ambient_pa = point->ambient.pressure_pa,
                        .temperature_k = point->ambient.temperature_k,
                        .shaft_rpm = point->shaft_rpm,
                        .of_rated = point->shaft_rpm / prepared->event->car.turbo.rated_rpm,
                        .power_w = point->zone == TA_UNREACHABLE ? (double)NAN : point->power_w};
  row->sure = ta_say_zone(point, row->words);
}

void ta_places_table_make(const ta_prepared *prepared, const ta_plan *plan,
                          ta_places_table *places) {
  const ta_over *over = &plan->over;
  const double top_m = ta_top_of_course(&prepared->event->course)->elevation_m;
  const bool is_summit = !prepared->event->is_cut && over->worst.elevation_m >= top_m - 0.5 &&
                         over->worst.distance_m > prepared->event->course.point[0].distance_m;
  ta_place_row *rows = places->row;
  size_t count = 0;
  place_row_set(&rows[count++], prepared, prepared->event->is_cut ? "From" : "Start", &plan->start,
                prepared->event->course.point[0].elevation_m);
  if (over->count > 0 && !over->starts_over)
    place_row_set(&rows[count++], prepared, "First over", &over->first.point,
                  over->first.elevation_m);
  place_row_set(&rows[count++], prepared, is_summit ? "Summit" : "Worst", &over->worst.point,
                over->worst.elevation_m);
  places->table = (ta_table){place_columns, sizeof place_columns / sizeof place_columns[0], rows,
                             count, sizeof rows[0]};
}

/* ---- ways to run ----------------------------------------------------------------------------- */

static const ta_column way_columns[TA_WAY_COLUMNS] = {
    TEXT("What to run", ta_way_row, what), TEXT("MAP", ta_way_row, map),
    TEXT("boost", ta_way_row, boost),      TEXT("power", ta_way_row, power),
    TEXT("time", ta_way_row, time),        TEXT("cost", ta_way_row, cost),
    TEXT("", ta_way_row, remark),
};

/* "228", or "228 > 193" where the two differ as shown. */
static void from_to_text(ta_show show, ta_unit_system units, double from, double to,
                         ta_words text) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  (void)ta_show_number(show, units, -1, from, a);
  (void)ta_show_number(show, units, -1, to, b);
  const bool same = strcmp(a, b) == 0;
  (void)snprintf(text, sizeof(ta_words), "%s%s%s", a, same ? "" : " > ", same ? "" : b);
}

/* The same of a cap: rounded down, so that what is read off can be held. */
static void cap_from_to_text(ta_show show, ta_unit_system units, double from, double to,
                             ta_words text) {
  from_to_text(show, units, ta_show_rounded_down(show, units, from),
               ta_show_rounded_down(show, units, to), text);
}

/* What a strategy holds at a place of the course: the MAP at the top of its engine speeds, and the
 * highest power. */
typedef struct {
  double map_pa, boost_pa, power_w;
} held;

static held held_at(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    double distance_m, double elevation_m) {
  const ta_speed_range range = ta_strategy_speeds(prepared, &plan->caps, strategy);
  ta_air air;
  held most = {(double)NAN, (double)NAN, (double)NAN};
  bool is_known = true; /* the compressor map reaches so far */
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK) return most;
  for (double from = range.low_rpm; isfinite(from);) {
    double rpm[TA_LANES], map_pa[TA_LANES], power_w[TA_LANES];
    const size_t count = ta_speeds_in_range(prepared->event, range, &from, rpm);
    ta_strategy_full_load(prepared, &plan->caps, strategy, distance_m, &air, 0.0, rpm, count,
                          map_pa, power_w);
    for (size_t i = 0; i < count; i++) {
      most.power_w = fmax(power_w[i], most.power_w);
      is_known = is_known && power_w[i] > 0.0;
    }
    most.map_pa = map_pa[count - 1];
  }
  if (!is_known) most.power_w = (double)NAN;
  most.boost_pa = fmax(most.map_pa - air.pressure_pa, 0.0);
  return most;
}

static void positions_words(const ta_positions *positions, ta_unit_system units,
                            const ta_prepared *prepared, char *text, size_t size) {
  size_t used = 0;
  for (size_t i = 0; i < positions->count && used < size; i++) {
    char shown[TA_SHOWN_MAX];
    const double map_pa = ta_map_at_start(prepared, positions->position[i].cap.set_point);
    used +=
        (size_t)snprintf(text + used, size - used, "%s%s", i > 0 ? "/" : "",
                         ta_show_number(TA_SHOW_MAP, units, -1,
                                        ta_show_rounded_down(TA_SHOW_MAP, units, map_pa), shown));
  }
}

static void way_row_set(ta_way_row *row, const ta_prepared *prepared, const ta_plan *plan,
                        ta_strategy strategy, ta_unit_system units) {
  const ta_course *course = &prepared->event->course;
  const ta_course_point *start = &course->point[0], *top = ta_top_of_course(course);
  const held a = held_at(prepared, plan, strategy, start->distance_m, start->elevation_m),
             b = held_at(prepared, plan, strategy, top->distance_m, top->elevation_m);
  char rpm[TA_SHOWN_MAX];
  *row = (ta_way_row){.strategy = strategy,
                      .map = row->words[1],
                      .boost = row->words[2],
                      .power = row->words[3],
                      .time = row->words[4],
                      .cost = row->words[5],
                      .remark = ""};
  row->what = row->words[0];
  const bool over = plan->reason[TA_REASON_OVER] || plan->reason[TA_REASON_CANNOT_CAP];
  switch (strategy) {
    case TA_FULL_TARGET:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s%s", ta_strategy_words(strategy),
                     over ? " (forbidden)" : "");
      break;
    case TA_BY_POSITION:
      (void)snprintf(row->words[0], sizeof row->words[0], "%zu %s", plan->caps.positions.count,
                     ta_strategy_words(strategy));
      break;
    case TA_EARLY_SHIFT:
      (void)snprintf(row->words[0], sizeof row->words[0], "full target, shift at %s",
                     ta_show_quantity(TA_SHOW_RPM, units, -1,
                                      50.0 * floor(plan->caps.shift.engine_rpm / 50.0), rpm));
      break;
    default:
      (void)snprintf(row->words[0], sizeof row->words[0], "%s", ta_strategy_words(strategy));
  }
  /* the target is as it is set */
  void (*const say)(ta_show, ta_unit_system, double, double, ta_words) =
      strategy == TA_FULL_TARGET ? from_to_text : cap_from_to_text;
  if (strategy == TA_BY_POSITION)
    positions_words(&plan->caps.positions, units, prepared, row->words[1], sizeof row->words[1]);
  else
    say(TA_SHOW_MAP, units, a.map_pa, b.map_pa, row->words[1]);
  say(TA_SHOW_BOOST, units, a.boost_pa, b.boost_pa, row->words[2]);
  from_to_text(TA_SHOW_POWER, units, a.power_w, b.power_w, row->words[3]);
  const double *time_s = plan->runs.time_s;
  if (isfinite(time_s[strategy])) {
    (void)ta_say_time(time_s[strategy], row->words[4]);
    if (strategy != TA_FULL_TARGET && isfinite(time_s[TA_FULL_TARGET]))
      (void)snprintf(row->words[5], sizeof row->words[5], "%+.1f s",
                     time_s[strategy] - time_s[TA_FULL_TARGET]);
  }
  if (plan->runs.has_best && plan->runs.best == strategy) row->remark = "<- best";
  if (strategy == TA_ONE_CAP && plan->caps.constant.limited_by != TA_BY_RATED_SPEED)
    row->remark = ta_say_limited_by(plan->caps.constant.limited_by);
}

void ta_ways_table_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_ways_table *ways) {
  char rpm[TA_SHOWN_MAX];
  size_t count = 0;
  for (int i = 0; i < TA_STRATEGY_COUNT; i++)
    if (ta_strategy_offered(&plan->caps, (ta_strategy)i))
      way_row_set(&ways->row[count++], prepared, plan, (ta_strategy)i, units);
  memcpy(ways->column, way_columns, sizeof ways->column);
  (void)snprintf(ways->heading[0], TA_SHOWN_MAX, "MAP %s at %s rpm",
                 ta_show_unit(TA_SHOW_MAP, units),
                 ta_show_number(TA_SHOW_RPM, units, -1,
                                ta_judged_speeds(&prepared->event->car).high_rpm, rpm));
  (void)snprintf(ways->heading[1], TA_SHOWN_MAX, "boost %s, start > top",
                 ta_show_unit(TA_SHOW_BOOST, units));
  (void)snprintf(ways->heading[2], TA_SHOWN_MAX, "power %s", ta_show_unit(TA_SHOW_POWER, units));
  for (size_t i = 0; i < 3; i++) ways->column[1 + i].title = ways->heading[i];
  ways->table = (ta_table){ways->column, TA_WAY_COLUMNS, ways->row, count, sizeof ways->row[0]};
}

/* ---- the controller's table ------------------------------------------------------------------- */

/* Rows or columns of an axis that are shown: all of them, or some spread evenly, both ends in. */
static size_t shown_of(size_t count, size_t at_most, size_t *at) {
  const size_t shown = count < at_most ? count : at_most;
  for (size_t i = 0; i < shown; i++) at[i] = shown > 1 ? i * (count - 1) / (shown - 1) : 0;
  return shown;
}

static void controller_columns(const ta_controller_axes *axes, const size_t *speeds,
                               ta_unit_system units, ta_controller_shown *shown) {
  const size_t count = shown->speed_count + 4;
  char rpm[TA_SHOWN_MAX];
  for (size_t k = 0; k < count; k++) {
    if (k == 0)
      (void)snprintf(shown->heading[k], TA_SHOWN_MAX, "ambient %s",
                     ta_show_unit(TA_SHOW_AMBIENT, units));
    else if (k == 1)
      (void)snprintf(shown->heading[k], TA_SHOWN_MAX, "elevation %s",
                     ta_show_unit(TA_SHOW_ELEVATION, units));
    else if (k < count - 2)
      (void)snprintf(shown->heading[k], TA_SHOWN_MAX, "%.20s rpm",
                     ta_show_number(TA_SHOW_RPM, units, -1, axes->speed_rpm[speeds[k - 2]], rpm));
    else
      (void)snprintf(shown->heading[k], TA_SHOWN_MAX, "%s",
                     k == count - 2       ? "any"
                     : units == TA_METRIC ? "+10 K"
                                          : "+18 degF");
    shown->column[k] =
        (ta_column){"", shown->heading[k], TA_CELL_TEXT, TA_SHOW_RATIO,
                    offsetof(ta_controller_row, cell) + k * sizeof shown->row[0].cell[0]};
  }
}

/* "-5"; what is gained has its sign, too. */
static void gain_text(const ta_control *control, double gain, char text[TA_SHOWN_MAX]) {
  char shown[TA_SHOWN_MAX];
  (void)ta_show_controller(control, gain, shown);
  const bool some = strspn(shown, "0.") < strlen(shown);
  (void)snprintf(text, TA_SHOWN_MAX, "%s%.40s", some && gain > 0.0 ? "+" : "", shown);
}

bool ta_controller_shown_make(const ta_prepared *prepared, const ta_plan *plan,
                              ta_unit_system units, size_t at_most, ta_controller_shown *shown) {
  const ta_controller_table *table = &plan->caps.table;
  const ta_controller_axes *axes = &table->axes;
  const ta_control *control = &prepared->event->car.control;
  size_t rows[TA_AXIS_MAX] = {0}, speeds[TA_AXIS_MAX] = {0};
  char error[TA_SHOWN_MAX];
  if (!ta_strategy_offered(&plan->caps, TA_BY_TABLE)) return false;
  const size_t row_count = shown_of(axes->pressure_count, at_most, rows);
  shown->speed_count = shown_of(axes->speed_count, at_most, speeds);
  shown->rest[0] = '\0';
  if (row_count < axes->pressure_count || shown->speed_count < axes->speed_count)
    (void)snprintf(shown->rest, sizeof shown->rest, "%zu x %zu breakpoints in all: --table FILE",
                   axes->pressure_count, axes->speed_count);
  (void)snprintf(
      shown->about, sizeof shown->about,
      "Table, %s in %s; within the limit between cells (%s), with a barometer up to %s high:",
      control->holds == TA_HOLDS_GAUGE ? "boost" : "MAP", ta_controller_unit_of(control)->name,
      control->interpolation == 0 ? "linear" : "steps",
      ta_show_quantity(TA_SHOW_AMBIENT, units, -1, control->barometer_error_pa, error));
  controller_columns(axes, speeds, units, shown);
  for (size_t i = 0; i < row_count; i++) { /* from the densest air up */
    const size_t at = rows[row_count - 1 - i];
    const ta_schedule_row *any = &plan->caps.schedule.row[axes->pressure_count - 1 - at];
    ta_controller_row *row = &shown->row[i];
    const size_t last = shown->speed_count + 2;
    (void)ta_show_number(TA_SHOW_AMBIENT, units, -1, axes->pressure_pa[at], row->words[0]);
    (void)ta_show_number(TA_SHOW_ELEVATION, units, -1, any->elevation_m, row->words[1]);
    for (size_t k = 0; k < shown->speed_count; k++)
      (void)ta_show_controller(control, table->set_point[at * axes->speed_count + speeds[k]],
                               row->words[2 + k]);
    (void)ta_show_controller(control, any->set_point, row->words[last]);
    gain_text(control, any->per_10k, row->words[last + 1]);
    for (size_t k = 0; k < last + 2; k++) row->cell[k] = row->words[k];
  }
  shown->table = (ta_table){shown->column, shown->speed_count + 4, shown->row, row_count,
                            sizeof shown->row[0]};
  return true;
}

/* ---- what moves it --------------------------------------------------------------------------- */

static const ta_column lever_columns[TA_LEVER_COLUMNS] = {
    TEXT("", ta_lever_row, step),     TEXT("shaft", ta_lever_row, speed),
    TEXT("cap", ta_lever_row, cap),   TEXT("power at it", ta_lever_row, power),
    TEXT("time", ta_lever_row, time), TEXT("", ta_lever_row, remark),
};

void ta_levers_table_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                          ta_levers_table *table) {
  const ta_levers *levers = &plan->levers;
  char place[TA_SENTENCE_MAX];
  const ta_lever *shown[TA_LEVERS_SHOWN];
  const size_t count = ta_levers_first(levers, TA_LEVERS_SHOWN, shown);
  for (size_t i = 0; i < count; i++) {
    const ta_lever *lever = shown[i];
    ta_lever_row *row = &table->row[i];
    row->step = row->words;
    row->speed = row->shown[0];
    row->cap = row->shown[1];
    row->power = row->shown[2];
    row->time = row->shown[3];
    row->remark = strcmp(lever->name, "leak") == 0 ? "check hoses: MAP will not show it" : "";
    (void)ta_say_lever(lever, units, row->words);
    (void)ta_say_change(TA_SHOW_SHARE, units, lever->shaft_share, row->shown[0]);
    (void)ta_say_change(TA_SHOW_DIFFERENCE, units, lever->cap_change, row->shown[1]);
    (void)ta_say_change(TA_SHOW_POWER, units, lever->power_change_w, row->shown[2]);
    row->shown[3][0] = '\0';
    if (isfinite(lever->time_change_s))
      (void)ta_say_change(TA_SHOW_TIME, units, lever->time_change_s, row->shown[3]);
    if (lever->misleads)
      row->remark = lever->shaft_share > 0.0      ? "more power, though the cap is lower"
                    : lever->power_change_w < 0.0 ? "a slower shaft, and less power"
                                                  : "a slower shaft, and a slower run";
  }
  (void)snprintf(table->heading, sizeof table->heading, "What moves it, at %s",
                 ta_say_place(&prepared->event->course, units, levers->distance_m,
                              levers->elevation_m, place));
  memcpy(table->column, lever_columns, sizeof table->column);
  table->column[0].title = table->heading;
  table->table =
      (ta_table){table->column, TA_LEVER_COLUMNS, table->row, count, sizeof table->row[0]};
}
