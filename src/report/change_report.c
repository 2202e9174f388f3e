/* change_report.c - what a new reading changed. */
#include <stdio.h>

#include "sentences.h"
#include "thinair/report.h"

static const ta_station *lowest(const ta_event *event) {
  const ta_station *found = NULL;
  for (size_t i = 0; i < event->day.station_count; i++)
    if (found == NULL || event->day.station[i].elevation_m < found->elevation_m)
      found = &event->day.station[i];
  return found;
}

typedef struct {
  const char *what, *before, *now;
  char words[2][TA_SENTENCE_MAX];
} change_row;

static const ta_column columns[] = {
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, what)},
    {"", "before", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, before)},
    {"", "now", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(change_row, now)},
};

static void station_words(const ta_event *event, const ta_air *start, ta_unit_system units,
                          char text[TA_SENTENCE_MAX]) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  const ta_station *station = lowest(event);
  (void)snprintf(
      text, TA_SENTENCE_MAX, "%s, %s at the start",
      ta_show_quantity(TA_SHOW_TEMPERATURE, units, -1,
                       station != NULL ? station->temperature_k : start->temperature_k, a),
      ta_show_quantity(TA_SHOW_AMBIENT, units, -1, start->pressure_pa, b));
}

static void side(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units, int which,
                 change_row rows[4]) {
  const ta_over *over = &plan->over;
  station_words(prepared->event, &prepared->start, units, rows[0].words[which]);
  (void)ta_show_quantity(TA_SHOW_RPM, units, -1, over->worst.point.shaft_rpm, rows[1].words[which]);
  if (over->count > 0)
    (void)ta_say_place(&prepared->event->course, units, over->first.distance_m,
                       over->first.elevation_m, rows[2].words[which]);
  else
    (void)snprintf(rows[2].words[which], TA_SENTENCE_MAX, "nowhere");
  if (plan->caps.constant.can_be_had)
    (void)ta_say_set_point(prepared, plan->caps.constant.set_point, units, rows[3].words[which]);
  else
    (void)snprintf(rows[3].words[which], TA_SENTENCE_MAX, "none avoids it");
}

void ta_report_change(const ta_prepared *before, const ta_plan *plan_before, const ta_prepared *now,
                      const ta_plan *plan_now, const ta_style *style, ta_buffer *out) {
  change_row rows[4] = {{.what = "lowest station"},
                        {.what = "worst shaft speed"},
                        {.what = "first over the limit"},
                        {.what = "one cap for the whole run"}};
  side(before, plan_before, style->units, 0, rows);
  side(now, plan_now, style->units, 1, rows);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    rows[i].before = rows[i].words[0];
    rows[i].now = rows[i].words[1];
  }
  const ta_table table = {columns, sizeof columns / sizeof columns[0], rows,
                          sizeof rows / sizeof rows[0], sizeof rows[0]};
  ta_buffer_add(out, "What changed with the new reading\n");
  ta_table_text(&table, style->units, out);
  ta_buffer_add(out, "\n");
}
