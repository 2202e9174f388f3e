/* sweep_report.c - a what-if matrix as table, matrix, CSV and JSON. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sentences.h"
#include "table.h"
#include "thinair/report.h"

enum { REASONS_MAX = 4, CROSSINGS_MAX = 4, PANEL_MAX = 30 };

/* What a matrix may show, in the order of ta_sweep_show. */
static const struct {
  const char *name, *title;
  ta_show show;
} shows[] = {
    [TA_SHOWS_CAP] = {"cap", "constant cap as MAP at the start", TA_SHOW_MAP},
    [TA_SHOWS_SPEED] = {"speed", "worst shaft speed", TA_SHOW_RPM},
    [TA_SHOWS_FIRST] = {"first", "distance at which the limit is first passed", TA_SHOW_DISTANCE},
    [TA_SHOWS_POWER] = {"power", "power at the constant cap", TA_SHOW_POWER},
    [TA_SHOWS_SURGE] = {"surge", "surge margin", TA_SHOW_SHARE},
    [TA_SHOWS_TIME] = {"time", "run time at the constant cap", TA_SHOW_TIME},
};

bool ta_sweep_show_find(const char *name, ta_sweep_show *show) {
  for (size_t i = 0; i < sizeof shows / sizeof shows[0]; i++) {
    if (strcmp(shows[i].name, name) != 0) continue;
    *show = (ta_sweep_show)i;
    return true;
  }
  return false;
}

/* A cell as it is shown: what is not known is not finite, or NULL. */
typedef struct {
  const char *value[TA_SWEEP_KEYS_MAX], *state, *first_mark, *limited_by, *why;
  double worst_rpm, worst_over_limit, first_over_m, first_height_m, summit_rpm, cap_map_pa,
      cap_boost_pa, power_w, surge_margin, time_s;
} cell_row;

#define CELL(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(cell_row, member) }
#define WORDS(name, title, member) \
  { name, title, TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(cell_row, member) }

static const ta_column columns[] = {
    WORDS("state", "limit", state),
    CELL("worst_shaft", "worst", TA_SHOW_RPM, worst_rpm),
    CELL("shaft_over_limit", "of limit", TA_SHOW_SHARE, worst_over_limit),
    CELL("first_over_distance", "first over", TA_SHOW_DISTANCE, first_over_m),
    CELL("first_over_elevation", "at", TA_SHOW_ELEVATION, first_height_m),
    WORDS("first_over_mark", "near", first_mark),
    CELL("summit_shaft", "summit", TA_SHOW_RPM, summit_rpm),
    CELL("cap_map", "cap MAP", TA_SHOW_MAP, cap_map_pa),
    CELL("cap_boost_at_start", "boost, start", TA_SHOW_BOOST, cap_boost_pa),
    WORDS("limited_by", "set by", limited_by),
    CELL("power", "power", TA_SHOW_POWER, power_w),
    CELL("surge_margin", "surge margin", TA_SHOW_SHARE, surge_margin),
    CELL("time", "time at cap", TA_SHOW_TIME, time_s),
    WORDS("reason", "no answer", why),
};
enum { COLUMN_COUNT = sizeof columns / sizeof columns[0] };

/* A sweep and all that its writers share. */
typedef struct {
  const ta_sweep *sweep;
  cell_row *row;
  char **label[TA_SWEEP_KEYS_MAX]; /* of each value of each key */
  char title[TA_SWEEP_KEYS_MAX][TA_KEY_MAX + 20];
  ta_column column[TA_SWEEP_KEYS_MAX + COLUMN_COUNT];
  size_t column_count;
} view;

static void view_free(view *v) {
  for (size_t k = 0; k < v->sweep->axis_count; k++) {
    for (size_t i = 0; v->label[k] != NULL && i < v->sweep->axis[k].count; i++)
      free(v->label[k][i]);
    free(v->label[k]);
  }
  free(v->row);
}

/* Values as texts: with their units for people, bare and whole for CSV. */
static bool make_labels(view *v, const ta_sweep_axis *axis, size_t k, bool csv) {
  v->label[k] = calloc(axis->count, sizeof *v->label[k]);
  for (size_t i = 0; v->label[k] != NULL && i < axis->count; i++) {
    char text[TA_SWEEP_VALUE_MAX];
    if (csv && axis->word == NULL)
      (void)snprintf(text, sizeof text, "%.12g", ta_from_si(axis->unit, axis->si[i]));
    else
      (void)ta_sweep_value_text(axis, i, 6, text);
    v->label[k][i] = malloc(strlen(text) + 1);
    if (v->label[k][i] == NULL) return false;
    memcpy(v->label[k][i], text, strlen(text) + 1);
  }
  const bool unit = csv && axis->unit != NULL && strcmp(axis->unit->name, "1") != 0;
  (void)snprintf(v->title[k], sizeof v->title[k], "%s%s%s%s", axis->key, unit ? " (" : "",
                 unit ? axis->unit->name : "", unit ? ")" : "");
  v->column[v->column_count++] = (ta_column){v->title[k], v->title[k], TA_CELL_TEXT, TA_SHOW_RATIO,
                                             offsetof(cell_row, value) + k * sizeof(char *)};
  return v->label[k] != NULL;
}

static cell_row row_of(const ta_sweep_cell *cell, bool text, ta_unit_system units) {
  static const char *const words[] = {
      [TA_SWEEP_OVER] = "OVER", [TA_SWEEP_WITHIN] = "within", [TA_SWEEP_UNKNOWN] = "not known"};
  const double none = (double)NAN;
  if (cell->state == TA_SWEEP_UNSOLVED)
    return (cell_row){.why = cell->why,
                      .worst_rpm = none,
                      .worst_over_limit = none,
                      .first_over_m = none,
                      .first_height_m = none,
                      .summit_rpm = none,
                      .cap_map_pa = none,
                      .cap_boost_pa = none,
                      .power_w = none,
                      .surge_margin = none,
                      .time_s = none};
  const bool over = cell->state == TA_SWEEP_OVER, cap = cell->has_cap;
  return (cell_row){
      .state = text ? words[cell->state] : ta_sweep_state_name(cell->state),
      .worst_rpm = cell->worst_rpm,
      .worst_over_limit = cell->worst_over_limit,
      .first_over_m = over ? cell->first_over_m : none,
      .first_height_m = over ? cell->first_height_m : none,
      .first_mark = over && cell->first_mark[0] != '\0' ? cell->first_mark : NULL,
      .summit_rpm = cell->summit_rpm,
      .cap_map_pa = !cap   ? none
                    : text ? ta_show_rounded_down(TA_SHOW_MAP, units, cell->cap_map_pa)
                           : cell->cap_map_pa,
      .cap_boost_pa = !cap   ? none
                      : text ? ta_show_rounded_down(TA_SHOW_BOOST, units, cell->cap_boost_pa)
                             : cell->cap_boost_pa,
      .limited_by =
          text ? ta_say_limited_by(cell->limited_by) : ta_limited_by_name(cell->limited_by),
      .power_w = cap ? cell->power_w : none,
      .surge_margin = cell->has_surge_margin ? cell->surge_margin : none,
      .time_s = cell->has_time ? cell->time_s : none};
}

static bool view_make(const ta_sweep *sweep, const ta_style *style, view *v) {
  const bool text = style->format == TA_FORMAT_TEXT;
  bool good = true;
  *v = (view){.sweep = sweep};
  v->row = calloc(sweep->cell_count, sizeof *v->row);
  for (size_t k = 0; k < sweep->axis_count; k++)
    good = make_labels(v, &sweep->axis[k], k, style->format == TA_FORMAT_CSV) && good;
  bool any_time = !text, any_why = !text;
  if (!good || v->row == NULL) return false;
  for (size_t i = 0; i < sweep->cell_count; i++) {
    v->row[i] = row_of(&sweep->cell[i], text, style->units);
    for (size_t k = 0; k < sweep->axis_count; k++)
      v->row[i].value[k] = v->label[k][ta_sweep_value_of(sweep, i, k)];
    any_time = any_time || isfinite(v->row[i].time_s);
    any_why = any_why || v->row[i].why != NULL;
  }
  for (size_t i = 0; i < COLUMN_COUNT; i++) /* on a terminal empty columns only take room */
    if ((any_time || columns[i].offset != offsetof(cell_row, time_s)) &&
        (any_why || columns[i].offset != offsetof(cell_row, why)))
      v->column[v->column_count++] = columns[i];
  return true;
}

/* ---- text ------------------------------------------------------------------------------------ */

/* The value that a matrix shows. */
static double shown_value(const cell_row *row, ta_sweep_show show) {
  const double value[] = {[TA_SHOWS_CAP] = row->cap_map_pa,     [TA_SHOWS_SPEED] = row->worst_rpm,
                          [TA_SHOWS_FIRST] = row->first_over_m, [TA_SHOWS_POWER] = row->power_w,
                          [TA_SHOWS_SURGE] = row->surge_margin, [TA_SHOWS_TIME] = row->time_s};
  return value[show];
}

/* "4 kPa, gauge": the values of a cell. */
static const char *say_values(const view *v, size_t cell, char text[TA_SENTENCE_MAX]) {
  size_t used = 0;
  text[0] = '\0';
  for (size_t k = 0; k < v->sweep->axis_count && used < TA_SENTENCE_MAX; k++)
    used += (size_t)snprintf(text + used, TA_SENTENCE_MAX - used, "%s%s", k > 0 ? ", " : "",
                             v->row[cell].value[k]);
  return text;
}

/* Highest and lowest of what is shown, and where. */
static void say_extremes(const view *v, ta_sweep_show show, const ta_style *style, ta_buffer *out) {
  size_t high = 0, low = 0, known = 0;
  for (size_t i = 0; i < v->sweep->cell_count; i++) {
    const double value = shown_value(&v->row[i], show);
    if (!isfinite(value)) continue;
    if (known++ == 0) high = low = i;
    if (value > shown_value(&v->row[high], show)) high = i;
    if (value < shown_value(&v->row[low], show)) low = i;
  }
  if (high == low) return;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], at[TA_SENTENCE_MAX], to[TA_SENTENCE_MAX];
  (void)ta_show_quantity(shows[show].show, style->units, -1, shown_value(&v->row[high], show), a);
  (void)ta_show_quantity(shows[show].show, style->units, -1, shown_value(&v->row[low], show), b);
  ta_buffer_add(out, "Highest %s: %s (%s). Lowest: %s (%s).\n", shows[show].title, a,
                say_values(v, high, at), b, say_values(v, low, to));
}

/* Where one key's values cross the limit, straight between two of them. */
static void say_crossings(const view *v, ta_buffer *out) {
  const ta_sweep *sweep = v->sweep;
  const ta_sweep_axis *axis = &sweep->axis[0];
  size_t over = 0, solved = 0, crossings = 0;
  for (size_t i = 0; i < sweep->cell_count; i++) {
    over += sweep->cell[i].state == TA_SWEEP_OVER;
    solved += sweep->cell[i].state != TA_SWEEP_UNSOLVED;
    if (i == 0 || axis->word != NULL) continue;
    const ta_sweep_cell *a = &sweep->cell[i - 1], *b = &sweep->cell[i];
    if (a->state == TA_SWEEP_UNSOLVED || b->state == TA_SWEEP_UNSOLVED ||
        (a->state == TA_SWEEP_OVER) == (b->state == TA_SWEEP_OVER) || crossings++ >= CROSSINGS_MAX)
      continue;
    const double share = (1.0 - a->worst_over_limit) / (b->worst_over_limit - a->worst_over_limit);
    const bool known = isfinite(a->worst_over_limit) && isfinite(b->worst_over_limit);
    const double si = axis->si[i - 1] + share * (axis->si[i] - axis->si[i - 1]);
    ta_buffer_add(out, "The limit is crossed between %s and %s", v->row[i - 1].value[0],
                  v->row[i].value[0]);
    if (known)
      ta_buffer_add(out, ", at about %.4g%s%s", ta_from_si(axis->unit, si),
                    strcmp(axis->unit->name, "1") == 0 ? "" : " ",
                    strcmp(axis->unit->name, "1") == 0 ? "" : axis->unit->name);
    ta_buffer_add(out, ".\n");
  }
  if (over == 0 || over == solved)
    ta_buffer_add(out, "The limit is passed at %s.\n",
                  over == 0 ? "none of these values" : "all of these values");
}

static void add_rows(const view *v, const ta_style *style, ta_buffer *out) {
  const ta_table table = {v->column, v->column_count, v->row, v->sweep->cell_count, sizeof *v->row};
  ta_table_text(&table, style->units, out);
}

/* "193.0*": over the limit; "?": not known whether. */
static void cell_text(const cell_row *row, const ta_sweep_cell *cell, ta_sweep_show show,
                      ta_unit_system units, char text[TA_SHOWN_MAX]) {
  char number[TA_SHOWN_MAX];
  const bool none =
      show == TA_SHOWS_FIRST && cell->state != TA_SWEEP_UNSOLVED && cell->state != TA_SWEEP_OVER;
  (void)ta_show_number(shows[show].show, units, -1, shown_value(row, show), number);
  (void)snprintf(text, TA_SHOWN_MAX, "%.40s%s", none ? "none" : number,
                 cell->state == TA_SWEEP_OVER      ? "*"
                 : cell->state == TA_SWEEP_UNKNOWN ? "?"
                                                   : " ");
}

static void pad(ta_buffer *out, const char *text, int width, bool right) {
  const int blanks = width - ta_text_width(text);
  ta_buffer_add(out, "%*s%s%*s", right && blanks > 0 ? blanks : 0, "", text,
                !right && blanks > 0 ? blanks : 0, "");
}

/* Each reason once, up to some. */
static void say_reasons(const view *v, ta_buffer *out) {
  const char *said[REASONS_MAX];
  size_t count = 0, unsolved = 0;
  for (size_t i = 0; i < v->sweep->cell_count; i++) {
    const char *why = v->row[i].why;
    bool known = why == NULL || count == REASONS_MAX;
    unsolved += why != NULL;
    for (size_t k = 0; !known && k < count; k++) known = strcmp(said[k], why) == 0;
    if (!known) said[count++] = why;
  }
  if (unsolved == 0) return;
  ta_buffer_add(out, "No answer at %zu of %zu cells:\n", unsolved, v->sweep->cell_count);
  for (size_t k = 0; k < count; k++) {
    ta_buffer_add(out, "  ");
    ta_folded(out, TA_LINE_WIDTH, 4, said[k]);
  }
}

/* The second key's values side by side, as many as a line takes; then the rest below. */
static void add_matrix(const view *v, ta_sweep_show show, const ta_style *style, ta_buffer *out) {
  const ta_sweep *sweep = v->sweep;
  const size_t rows = sweep->axis[0].count, count = sweep->axis[1].count;
  char text[TA_SHOWN_MAX];
  int first = 0, width = 0;
  for (size_t i = 0; i < rows; i++)
    first = ta_text_width(v->label[0][i]) > first ? ta_text_width(v->label[0][i]) : first;
  for (size_t i = 0; i < count; i++) /* a mark's room stands after the number */
    width = ta_text_width(v->label[1][i]) + 1 > width ? ta_text_width(v->label[1][i]) + 1 : width;
  for (size_t i = 0; i < sweep->cell_count; i++) {
    cell_text(&v->row[i], &sweep->cell[i], show, style->units, text);
    width = ta_text_width(text) > width ? ta_text_width(text) : width;
  }
  const int room = (TA_LINE_WIDTH - first) / (width + 2);
  const size_t panel = room < 1 ? 1 : room > PANEL_MAX ? PANEL_MAX : (size_t)room;
  const char *unit = ta_show_unit(shows[show].show, style->units);
  ta_buffer_add(out, "%s%s%s; down: %s; across: %s\n", shows[show].title,
                unit[0] != '\0' ? " in " : "", unit, sweep->axis[0].key, sweep->axis[1].key);
  for (size_t from = 0; from < count; from += panel) {
    const size_t to = from + panel < count ? from + panel : count;
    pad(out, "", first, false);
    for (size_t j = from; j < to; j++) {
      ta_buffer_add(out, "  ");
      pad(out, v->label[1][j], width - 1, true);
      ta_buffer_add(out, "%s", j + 1 < to ? " " : "\n");
    }
    for (size_t i = 0; i < rows; i++) {
      pad(out, v->label[0][i], first, false);
      for (size_t j = from; j < to; j++) {
        cell_text(&v->row[i * count + j], &sweep->cell[i * count + j], show, style->units, text);
        ta_buffer_add(out, "  ");
        pad(out, text, width, true);
      }
      ta_buffer_add(out, "\n");
    }
    ta_buffer_add(out, "\n");
  }
  ta_buffer_add(out, "* over the limit   ? unreliable at the worst point   - no answer\n");
  say_reasons(v, out);
}

static void add_text(const view *v, const ta_event *event, ta_sweep_show show,
                     const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  const size_t keys = v->sweep->axis_count;
  ta_buffer_add(out, "%s: %zu combinations of", event->name, v->sweep->cell_count);
  for (size_t k = 0; k < keys; k++)
    ta_buffer_add(out, "%s %s", k > 0 ? "," : "", v->sweep->axis[k].key);
  ta_buffer_add(out, "\n");
  if (keys == 1) say_crossings(v, out);
  say_extremes(v, keys == 2 ? show : TA_SHOWS_CAP, style, out);
  ta_buffer_add(out, "\n");
  if (keys == 2)
    add_matrix(v, show, style, out);
  else
    add_rows(v, style, out);
  ta_buffer_add(
      out,
      "\nWorst at the target, overshoot on, over the boost window; the cap is a set-point "
      "for the whole\nrun, overshoot taken off. The map's own error is not counted, drive "
      "and redline are not checked:\nplan the one you choose.\n");
  ta_warnings_text(warnings, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void value_json(ta_json *json, const ta_sweep_axis *axis, size_t value) {
  if (axis->word != NULL)
    ta_json_text(json, NULL, axis->word[value]);
  else
    ta_json_number(json, NULL, ta_json_value(axis->field->kind, axis->si[value]));
}

static void cell_json(const view *v, size_t i, ta_json *json) {
  ta_json_open(json, NULL, '{');
  ta_json_open(json, "values", '[');
  for (size_t k = 0; k < v->sweep->axis_count; k++)
    value_json(json, &v->sweep->axis[k], ta_sweep_value_of(v->sweep, i, k));
  ta_json_close(json, ']');
  const ta_table table = {columns, COLUMN_COUNT, v->row, v->sweep->cell_count, sizeof *v->row};
  ta_json_cells(json, &table, i);
  ta_json_close(json, '}');
}

static void add_json(const view *v, const ta_event *event, const ta_warnings *warnings,
                     const ta_style *style, ta_buffer *out) {
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_text(&json, "event", event->name);
  ta_json_text(&json, "time_strategy", v->sweep->timed ? ta_strategy_name(TA_ONE_CAP) : NULL);
  ta_json_open(&json, "vary", '[');
  for (size_t k = 0; k < v->sweep->axis_count; k++) {
    const ta_sweep_axis *axis = &v->sweep->axis[k];
    const char *suffix = axis->word == NULL ? ta_json_suffix(axis->field->kind) : "";
    ta_json_open(&json, NULL, '{');
    ta_json_text(&json, "key", axis->key);
    ta_json_text(&json, "unit", suffix[0] == '_' ? suffix + 1 : NULL);
    ta_json_open(&json, "values", '[');
    for (size_t i = 0; i < axis->count; i++) value_json(&json, axis, i);
    ta_json_close(&json, ']');
    ta_json_close(&json, '}');
  }
  ta_json_close(&json, ']');
  ta_json_open(&json, "cells", '[');
  for (size_t i = 0; i < v->sweep->cell_count; i++) cell_json(v, i, &json);
  ta_json_close(&json, ']');
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}

/* Why there are no times, where that is no single cell's fault. */
static void say_time(const ta_sweep *sweep, const ta_event *event, ta_warnings *warnings) {
  if (!sweep->timed) {
    ta_warnings_add(warnings,
                    "the time of the run at the constant cap is left out: it is found for up to %d "
                    "combinations, for more with --show time",
                    TA_SWEEP_TIMED_MAX);
    return;
  }
  for (size_t i = 0; i < sweep->cell_count; i++)
    if (sweep->cell[i].has_time) return;
  const ta_time_known known = ta_event_time_known(event);
  if (known != TA_TIME_KNOWN)
    ta_warnings_add(warnings, "run at the constant cap%s", ta_say_time_known(known));
}

void ta_report_sweep(const ta_sweep *sweep, const ta_event *event, ta_sweep_show show,
                     const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out) {
  view v;
  ta_warnings warnings;
  ta_warnings_collect(NULL, NULL, diagnostics, style->units, &warnings);
  say_time(sweep, event, &warnings);
  if (!view_make(sweep, style, &v)) {
    out->failed = true;
  } else if (style->format == TA_FORMAT_JSON) {
    add_json(&v, event, &warnings, style, out);
  } else if (style->format == TA_FORMAT_CSV) {
    const ta_table table = {v.column, v.column_count, v.row, sweep->cell_count, sizeof *v.row};
    ta_table_csv(&table, style->units, out);
  } else {
    add_text(&v, event, show, &warnings, style, out);
  }
  view_free(&v);
}
