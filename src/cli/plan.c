/* plan.c - thinair plan. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "thinair/earlier_plan.h"
#include "thinair/plan.h"
#include "thinair/plan_gist.h"

/* The gist of the same line without --now. */
static bool gist_before(const command_line *line, ta_plan_gist *gist) {
  static command_line before_line;
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  before_line = *line;
  before_line.setting_count = 0;
  for (size_t i = 0; i < line->setting_count; i++)
    if (strcmp(line->setting[i].option, "--now") != 0)
      before_line.setting[before_line.setting_count++] = line->setting[i];
  if (!event_open(&before_line, &event, &diagnostics, &prepared)) return false;
  ta_plan *before = malloc(sizeof *before);
  const bool planned = before != NULL && ta_plan_make(&prepared, before) == TA_OK;
  if (planned) {
    ta_plan_gist_of(&prepared, before, gist);
    ta_plan_free(before);
  }
  free(before);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return planned;
}

/* What leads the text: what changed since an earlier plan (NULL: none), and with --now. */
static void report_changes(const command_line *line, const ta_prepared *prepared,
                           const ta_plan *plan, const ta_earlier_plan *since, const ta_style *style,
                           ta_buffer *out) {
  char heading[TA_FILE_MAX + TA_GIST_TEXT_MAX + 40];
  ta_plan_gist now, before;
  ta_plan_gist_of(prepared, plan, &now);
  if (since != NULL) {
    (void)snprintf(heading, sizeof heading, "What changed since %s (thinair %s)", line->since,
                   since->version);
    ta_report_change(heading, prepared, &since->gist, &now, style, out);
  }
  if (line->now != NULL && gist_before(line, &before))
    ta_report_change("What changed with the new reading", prepared, &before, &now, style, out);
}

/* The controller's table in a file of its own, where --table asks for one. */
static bool write_table(const command_line *line, const ta_prepared *prepared,
                        const ta_plan *plan) {
  ta_buffer out = {0};
  if (line->table == NULL) return true;
  if (ta_report_table_file(prepared, plan, &out))
    return write_output(line->table, line->force, &out);
  (void)fprintf(stderr, "thinair: %s: not written: %s\n", line->table,
                prepared->event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON
                    ? "a controller that reads its barometer once cannot follow a table"
                    : "no controller table keeps the shaft within the limit");
  return false;
}

static int plan_prepared(const command_line *line, const ta_prepared *prepared,
                         const ta_earlier_plan *since, const ta_diagnostics *diagnostics) {
  ta_buffer out = {0};
  int code = EXIT_FAILED;
  ta_plan *plan = malloc(sizeof *plan);
  const ta_status status = plan != NULL ? ta_plan_make(prepared, plan) : TA_ERR_MEMORY;
  if (status == TA_OK) {
    const ta_style style = style_of(line, prepared->event);
    if (style.format == TA_FORMAT_TEXT) report_changes(line, prepared, plan, since, &style, &out);
    ta_report_plan(prepared, plan, since, diagnostics, &style, &out);
    const bool only_table = line->table != NULL && strcmp(line->table, "-") == 0;
    const bool written = write_table(line, prepared, plan);
    if (only_table)
      ta_buffer_free(&out);
    else
      code = print_report(&out);
    if (only_table || !written) code = written ? EXIT_DONE : EXIT_FAILED;
    if (code == EXIT_DONE && line->fail_if_over && plan->verdict != TA_CLEAR) code = EXIT_OVER;
    ta_plan_free(plan);
  } else {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  }
  free(plan);
  return code;
}

/* The earlier plan of this event that --since names; what is wrong with it is printed. */
static bool since_open(const command_line *line, const ta_event *event, ta_earlier_plan *since) {
  static ta_diagnostics diagnostics;
  const ta_status status = ta_earlier_plan_read(line->since, event->name, since, &diagnostics);
  if (status == TA_OK) return true;
  print_diagnostics(&diagnostics, TA_ERROR);
  if (diagnostics.errors == 0) (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  return false;
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  ta_earlier_plan since;
  int code = EXIT_FAILED;
  if (!event_open(line, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  if (line->since == NULL)
    code = plan_prepared(line, &prepared, NULL, &diagnostics);
  else if (since_open(line, &event, &since))
    code = plan_prepared(line, &prepared, &since, &diagnostics);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return code;
}

const command command_plan = {
    .name = "plan",
    .operand = "EVENT",
    .about = "where the shaft passes its limit, and the boost cap that avoids it",
    .help =
        "Reads the event, judges the whole course over the boost window with overshoot on, and\n"
        "prints the verdict, the places, the caps, what moves it, and what was not checked.\n"
        "--table - writes the controller table to standard output instead.",
    .example = "thinair plan courses/tolvane-dome --set car.intake.pressure_drop=\"4 kPa\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_FAIL |
               OPTION_SINCE | OPTION_TABLE,
    .run = run};
