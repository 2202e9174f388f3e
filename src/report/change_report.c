/* change_report.c - what changed from one plan of an event to another. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_view.h"
#include "thinair/plan_gist.h"

typedef struct {
  const char *what, *before, *now;
  char words[2][TA_SENTENCE_MAX];
} change_row;

static const ta_column columns[] = {
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, what)},
    {"", "before", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, before)},
    {"", "now", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, now)},
};

enum { VERDICT, AIR, LIMIT, TARGET, WORST, FIRST, CAP, TIME, ROWS };

static void side(const ta_prepared *prepared, const ta_plan_gist *gist, ta_unit_system units,
                 int which, change_row rows[ROWS]) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], set[TA_SENTENCE_MAX];
  (void)snprintf(rows[VERDICT].words[which], TA_SENTENCE_MAX, "%s", ta_verdict_name(gist->verdict));
  (void)snprintf(rows[AIR].words[which], TA_SENTENCE_MAX, "%s, %s",
                 ta_show_quantity(TA_SHOW_TEMPERATURE, units, -1, gist->start_temperature_k, a),
                 ta_show_quantity(TA_SHOW_AMBIENT, units, -1, gist->start_pressure_pa, b));
  (void)ta_show_quantity(TA_SHOW_RPM, units, -1, gist->limit_rpm, rows[LIMIT].words[which]);
  (void)ta_show_quantity(TA_SHOW_MAP, units, -1, gist->worst_map_pa, rows[TARGET].words[which]);
  if (isinf(gist->worst_shaft_rpm))
    (void)snprintf(rows[WORST].words[which], TA_SENTENCE_MAX, "no speed can be named");
  else
    (void)ta_show_quantity(TA_SHOW_RPM, units, -1, gist->worst_shaft_rpm, rows[WORST].words[which]);
  if (gist->passes)
    (void)ta_say_place(&prepared->event->course, units, gist->first_distance_m,
                       gist->first_elevation_m, rows[FIRST].words[which]);
  else
    (void)snprintf(rows[FIRST].words[which], TA_SENTENCE_MAX, "nowhere");
  const double set_point = ta_map_set_point(prepared, gist->cap_map_pa, gist->start_pressure_pa);
  if (gist->has_cap)
    (void)snprintf(rows[CAP].words[which], TA_SENTENCE_MAX, "%s%s",
                   ta_say_set_point(prepared, set_point, units, set),
                   gist->limited_by == TA_BY_GOAL ? ", the target" : "");
  else
    (void)snprintf(rows[CAP].words[which], TA_SENTENCE_MAX, "none avoids it");
  if (isfinite(gist->cap_time_s))
    (void)ta_say_time(gist->cap_time_s, rows[TIME].words[which]);
  else
    (void)snprintf(rows[TIME].words[which], TA_SENTENCE_MAX, "not known");
}

void ta_report_change(const char *heading, const ta_prepared *prepared, const ta_plan_gist *before,
                      const ta_plan_gist *now, const ta_style *style, ta_buffer *out) {
  change_row rows[ROWS] = {[VERDICT] = {.what = "verdict"},
                           [AIR] = {.what = "air at the start"},
                           [LIMIT] = {.what = "limit"},
                           [TARGET] = {.what = "target at the worst place, overshoot on"},
                           [WORST] = {.what = "worst shaft speed"},
                           [FIRST] = {.what = "first over the limit"},
                           [CAP] = {.what = "one cap for the whole run"},
                           [TIME] = {.what = "run with that cap"}};
  bool is_changed = false;
  side(prepared, before, style->units, 0, rows);
  side(prepared, now, style->units, 1, rows);
  for (size_t i = 0; i < ROWS; i++) {
    rows[i].before = rows[i].words[0];
    rows[i].now = rows[i].words[1];
    is_changed = is_changed || strcmp(rows[i].before, rows[i].now) != 0;
  }
  if (!is_changed) {
    ta_buffer_add(out, "%s: nothing of note\n\n", heading);
    return;
  }
  const ta_table table = {columns, sizeof columns / sizeof columns[0], rows, ROWS, sizeof rows[0]};
  ta_buffer_add(out, "%s\n", heading);
  ta_table_text(&table, style->units, out);
  ta_buffer_add(out, "\n");
}

void ta_since_json(ta_json *json, const ta_earlier_plan *since) {
  if (since == NULL) {
    ta_json_null(json, "since");
    return;
  }
  const ta_plan_gist *gist = &since->gist;
  ta_json_open(json, "since", '{');
  ta_json_text(json, "thinair_version", since->version);
  ta_json_text(json, "verdict", ta_verdict_name(gist->verdict));
  ta_json_number(json, "limit_rpm", gist->limit_rpm);
  ta_json_number(json, "pressure_kPa", gist->start_pressure_pa / 1e3);
  ta_json_number(json, "temperature_K", gist->start_temperature_k);
  ta_json_number(json, "worst_shaft_rpm", gist->worst_shaft_rpm);
  ta_json_number(json, "worst_map_kPa", gist->worst_map_pa / 1e3);
  if (gist->passes) {
    ta_json_open(json, "first_over", '{');
    ta_json_number(json, "distance_m", gist->first_distance_m);
    ta_json_number(json, "elevation_m", gist->first_elevation_m);
    ta_json_text(json, "mark", gist->first_mark[0] != '\0' ? gist->first_mark : NULL);
    ta_json_close(json, '}');
  } else {
    ta_json_null(json, "first_over");
  }
  ta_json_number(json, "cap_map_kPa", gist->has_cap ? gist->cap_map_pa / 1e3 : (double)NAN);
  ta_json_text(json, "cap_limited_by", ta_limited_by_name(gist->limited_by));
  ta_json_number(json, "cap_time_s", gist->cap_time_s);
  ta_json_close(json, '}');
}
