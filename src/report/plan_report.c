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

/* Start, first crossing, worst place: a line each, their units in them. */
static void place_lines(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_buffer *out) {
  ta_places_table places;
  ta_places_table_make(prepared, plan, &places);
  for (size_t i = 0; i < places.table.row_count; i++) {
    const ta_place_row *row = &places.row[i];
    char height[TA_SHOWN_MAX], ambient[TA_SHOWN_MAX], air[TA_SHOWN_MAX], shaft[TA_SHOWN_MAX],
        share[TA_SHOWN_MAX], power[TA_SHOWN_MAX];
    ta_buffer_add(out, "%-10s %9s  %10s  %10s  %11s  %7s%s  %6s  %s\n", row->place,
                  ta_show_quantity(TA_SHOW_ELEVATION, units, -1, row->elevation_m, height),
                  ta_show_quantity(TA_SHOW_AMBIENT, units, -1, row->ambient_pa, ambient),
                  ta_show_quantity(TA_SHOW_TEMPERATURE, units, -1, row->temperature_k, air),
                  ta_show_quantity(TA_SHOW_RPM, units, -1, row->shaft_rpm, shaft),
                  ta_show_quantity(TA_SHOW_SHARE, units, -1, row->of_rated, share),
                  i == 0 ? " of rated" : "         ",
                  ta_show_quantity(TA_SHOW_POWER, units, -1, row->power_w, power), row->sure);
  }
}

static void stretches(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                      ta_buffer *out) {
  const ta_over *over = &plan->over;
  ta_paragraph text;
  for (size_t i = 0; over->count > 1 && i < over->count && i < STRETCHES_SHOWN; i++)
    ta_buffer_add(out, "%-10s %s\n", i == 0 ? "Over" : "",
                  ta_say_stretch(prepared, &over->stretch[i], units, text));
  if (over->count > STRETCHES_SHOWN)
    ta_buffer_add(out, "%-10s and %zu more stretches\n", "", over->count - STRETCHES_SHOWN);
  if (ta_say_run(prepared, plan, units, text) != NULL) {
    ta_buffer_add(out, "%-10s ", "In a run");
    ta_folded(out, WIDTH - 11, 11, text);
  }
  if (ta_say_redline(prepared, plan, units, text) != NULL)
    ta_buffer_add(out, "%-10s %s\n", "Redline", text);
}

/* A row that is as those on either side says nothing new: the controller reads the same without it. */
static bool is_repeated(const ta_controller_shown *shown, size_t i) {
  if (i == 0 || i + 1 == shown->table.row_count) return false;
  for (size_t k = 2; k < shown->speed_count + 4; k++)
    if (strcmp(shown->row[i].cell[k], shown->row[i - 1].cell[k]) != 0 ||
        strcmp(shown->row[i].cell[k], shown->row[i + 1].cell[k]) != 0)
      return false;
  return true;
}

static void controller_table(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                             ta_buffer *out) {
  ta_controller_shown shown;
  if (!ta_controller_shown_make(prepared, plan, units, TABLE_SHOWN, &shown)) return;
  ta_buffer_add(out, "\n");
  ta_folded(out, WIDTH, 2, shown.about);
  ta_buffer_add(out, "%12s  %12s", shown.heading[0], shown.heading[1]);
  for (size_t k = 2; k < shown.speed_count + 2; k++) /* the unit stands once, behind them all */
    ta_buffer_add(out, " %6.*s", (int)strcspn(shown.heading[k], " "), shown.heading[k]);
  ta_buffer_add(out, " rpm     any  %s\n", shown.heading[shown.speed_count + 3]);
  for (size_t i = 0; i < shown.table.row_count; i++) {
    const ta_controller_row *row = &shown.row[i];
    const size_t last = shown.speed_count + 2;
    if (is_repeated(&shown, i)) continue;
    ta_buffer_add(out, "%12s  %12s", row->cell[0], row->cell[1]);
    for (size_t k = 2; k < last; k++) ta_buffer_add(out, " %6s", row->cell[k]);
    ta_buffer_add(out, "     %7s %6s\n", row->cell[last], row->cell[last + 1]);
  }
  if (shown.rest[0] != '\0') ta_buffer_add(out, "  (%s)\n", shown.rest);
}

/* Several sentences as one paragraph; NULL: one that does not hold. */
static void paragraph(const char *const *sentence, size_t count, ta_buffer *out) {
  char text[4 * sizeof(ta_paragraph)];
  size_t used = 0;
  for (size_t i = 0; i < count; i++)
    if (sentence[i] != NULL)
      used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", used > 0 ? " " : "",
                               sentence[i]);
  ta_folded(out, WIDTH, 0, text);
}

static void briefing(const ta_prepared *prepared, const ta_plan *plan, const ta_warnings *warnings,
                     const ta_style *style, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_unit_system units = style->units;
  ta_paragraph text, more, rest;
  ta_ways_table ways;
  ta_levers_table levers;
  (void)snprintf(text, sizeof text, "%s, %s", event->name, event->car.name);
  const int width = ta_text_width(text);
  ta_buffer_add(out, "%s%*sthinair %s\n", text, width < WIDTH - 14 ? WIDTH - 12 - width : 2, "",
                style->version);
  answer_lines(prepared, plan, style, out);
  ta_buffer_add(out, "%-10s %s   %s\n", "Limit", ta_say_limit(prepared, units, text),
                ta_say_judged(prepared, plan, units, more));
  place_lines(prepared, plan, units, out);
  stretches(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  ta_ways_table_make(prepared, plan, units, &ways);
  ta_table_text(&ways.table, units, out);
  paragraph((const char *const[]){ta_say_positions(prepared, plan, units, text),
                                  ta_say_holds(prepared, plan, units, more), ta_say_no_shift(plan),
                                  ta_say_drive(plan, units, rest)},
            4, out);
  controller_table(prepared, plan, units, out);
  ta_buffer_add(out, "\n");
  ta_levers_table_make(prepared, plan, units, &levers);
  ta_table_text(&levers.table, units, out);
  paragraph((const char *const[]){ta_say_model(plan, text), ta_say_imbalance(prepared, more),
                                  ta_say_not_checked(prepared, plan, rest)},
            3, out);
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (ta_say_untold(prepared, plan, (ta_reason)i, units, text)) {
      ta_buffer_add(out, "Also: ");
      ta_folded(out, WIDTH, 6, text);
    }
  ta_notes(warnings, out);
  ta_terminal_profile(prepared, plan, style, out);
  ta_buffer_add(out, "%s%s", style->width > 0 ? "\n" : "", ta_cautions);
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
