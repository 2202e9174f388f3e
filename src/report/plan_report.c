/* plan_report.c - a plan as a briefing. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan_tables.h"
#include "plan_view.h"
#include "plan_words.h"
#include "terminal_profile.h"

enum { WIDTH = TA_LINE_WIDTH, STRETCHES_SHOWN = 4, TABLE_SHOWN = 8 };

double ta_map_at_start(const ta_prepared *prepared, double set_point) {
  return ta_set_point_map(prepared, set_point, prepared->start.pressure_pa);
}

const ta_course_point *ta_top_of_course(const ta_course *course) {
  const ta_course_point *top = &course->point[0];
  for (size_t i = 1; i < course->count; i++)
    if (course->point[i].elevation_m > top->elevation_m) top = &course->point[i];
  return top;
}

static void sentence(const char *text, ta_buffer *out) {
  if (text != NULL) ta_buffer_add(out, "%s\n", text);
}

static void answer_lines(const ta_prepared *prepared, const ta_plan *plan, const ta_style *style,
                         ta_buffer *out) {
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  ta_answer answer;
  ta_answer_make(prepared, plan, style->units, &answer);
  for (size_t i = 0; i < answer.count; i++) {
    const ta_answer_line *line = &answer.line[i];
    int taken = 0;
    if (line->verdict != NULL) {
      ta_buffer_add(out, "%s%s%s ", strong, line->verdict, plain);
      taken = ta_text_width(line->verdict) + 1;
    }
    if (line->is_item) ta_buffer_add(out, "  - ");
    ta_folded(out, WIDTH - taken, line->is_item ? 4 : 0, line->text);
  }
}

static void stretches(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_over *over = &plan->over;
  ta_paragraph text;
  for (size_t i = 0; over->count > 1 && i < over->count && i < STRETCHES_SHOWN; i++)
    ta_buffer_add(out, "%-9s %s\n", i == 0 ? "Over" : "",
                  ta_say_stretch(prepared, &over->stretch[i], units, text));
  if (over->count > STRETCHES_SHOWN)
    ta_buffer_add(out, "%-9s and %zu more stretches\n", "", over->count - STRETCHES_SHOWN);
  if (ta_say_run(prepared, plan, units, text) != NULL) {
    ta_buffer_add(out, "%-9s ", "In a run");
    ta_folded(out, WIDTH, 10, text);
  }
  if (ta_say_redline(prepared, plan, units, text) != NULL)
    ta_buffer_add(out, "%-9s %s\n", "Redline", text);
}

static void controller_table(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                             ta_buffer *out) {
  ta_controller_shown shown;
  if (!ta_controller_shown_make(prepared, plan, units, TABLE_SHOWN, &shown)) return;
  ta_buffer_add(out, "\n");
  ta_folded(out, WIDTH, 2, shown.about);
  ta_buffer_add(out, "  %12s  %12s", shown.heading[0], shown.heading[1]);
  for (size_t k = 2; k < shown.speed_count + 2; k++) /* the unit stands once, behind them all */
    ta_buffer_add(out, " %6.*s", (int)strcspn(shown.heading[k], " "), shown.heading[k]);
  ta_buffer_add(out, " rpm     any  +10 K\n");
  for (size_t i = 0; i < shown.table.row_count; i++) {
    const ta_controller_row *row = &shown.row[i];
    const size_t last = shown.speed_count + 2;
    ta_buffer_add(out, "  %12s  %12s", row->cell[0], row->cell[1]);
    for (size_t k = 2; k < last; k++) ta_buffer_add(out, " %6s", row->cell[k]);
    ta_buffer_add(out, "     %7s %6s\n", row->cell[last], row->cell[last + 1]);
  }
  if (shown.rest[0] != '\0') ta_buffer_add(out, "  (%s)\n", shown.rest);
}

static void briefing(const ta_prepared *prepared, const ta_plan *plan, const ta_warnings *warnings,
                     const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_unit_system units = style->units;
  ta_paragraph text, more;
  ta_places_table places;
  ta_ways_table ways;
  ta_levers_table levers;
  (void)snprintf(text, sizeof text, "%s, %s", event->name, event->car.name);
  const int width = ta_text_width(text);
  ta_buffer_add(out, "%s%*sthinair %s\n", text, width < WIDTH - 14 ? WIDTH - 12 - width : 2, "",
                style->version);
  answer_lines(prepared, plan, style, out);
  ta_buffer_add(out, "\n%-9s %s   %s\n", "Limit", ta_say_limit(prepared, units, text),
                ta_say_judged(prepared, units, more));
  ta_places_table_make(prepared, plan, &places);
  ta_table_text(&places.table, units, out);
  sentence(ta_say_worst_speed(plan, units, text), out);
  stretches(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  ta_ways_table_make(prepared, plan, units, &ways);
  ta_table_text(&ways.table, units, out);
  if (ta_say_positions(prepared, plan, units, text) != NULL) ta_folded(out, WIDTH, 2, text);
  ta_buffer_add(out, "  (%s)\n", ta_say_holds(prepared, plan, text));
  if (ta_say_drive(plan, units, text) != NULL) ta_buffer_add(out, "  %s\n", text);
  controller_table(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  ta_levers_table_make(prepared, plan, units, &levers);
  ta_table_text(&levers.table, units, out);
  ta_buffer_add(out, "\n");
  if (ta_say_thin_air(plan, text) != NULL) ta_buffer_add(out, "%s ", text);
  sentence(ta_rated_speed_words, out);
  sentence(ta_say_map_error(plan, text), out);
  sentence(ta_say_imbalance(prepared, text), out);
  ta_folded(out, WIDTH, 0, ta_say_not_checked(prepared, plan, text));
  ta_warnings_text(warnings, out);
  ta_terminal_profile(prepared, plan, style, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

void ta_report_plan(const ta_prepared *prepared, const ta_plan *plan, const ta_earlier_plan *since,
                    const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out) {
  ta_warnings warnings;
  ta_plan_trace trace;
  ta_warnings_collect(prepared, plan, diagnostics,
                      style->format == TA_FORMAT_JSON ? TA_METRIC : style->units, &warnings);
  if (style->format == TA_FORMAT_TEXT) {
    briefing(prepared, plan, &warnings, style, out);
  } else if (style->format == TA_FORMAT_JSON) {
    ta_plan_json(prepared, plan, since, &warnings, style, out);
  } else if (ta_plan_trace_make(prepared, plan, &trace)) {
    ta_table_csv(&trace.table, style->units, out);
    ta_plan_trace_free(&trace);
  } else {
    out->failed = true;
  }
}
