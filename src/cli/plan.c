/* plan.c - thinair plan. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "thinair/plan.h"

/* The same line without --now, to lead with what changed. */
static void report_change(const command_line *line, const ta_prepared *now, const ta_plan *plan,
                          const ta_style *style, ta_buffer *out) {
  static command_line before_line;
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  before_line = *line;
  before_line.setting_count = 0;
  for (size_t i = 0; i < line->setting_count; i++)
    if (strcmp(line->setting[i].option, "--now") != 0)
      before_line.setting[before_line.setting_count++] = line->setting[i];
  if (!event_open(&before_line, &event, &diagnostics, &prepared)) return;
  ta_plan *before = malloc(sizeof *before);
  if (before != NULL && ta_plan_make(&prepared, before) == TA_OK) {
    ta_report_change(&prepared, before, now, plan, style, out);
    ta_plan_free(before);
  }
  free(before);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  ta_buffer out = {0};
  if (!event_open(line, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  int code = EXIT_FAILED;
  ta_plan *plan = malloc(sizeof *plan);
  const ta_status status = plan != NULL ? ta_plan_make(&prepared, plan) : TA_ERR_MEMORY;
  if (status == TA_OK) {
    const ta_style style = style_of(line, &event);
    if (line->now != NULL && style.format == TA_FORMAT_TEXT)
      report_change(line, &prepared, plan, &style, &out);
    ta_report_plan(&prepared, plan, &diagnostics, &style, &out);
    code = print_report(&out);
    if (code == EXIT_DONE && line->fail_if_over && plan->verdict != TA_CLEAR) code = EXIT_OVER;
    ta_plan_free(plan);
  } else {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  }
  free(plan);
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
        "prints the verdict, the places, the cap, and what was not checked.",
    .example = "thinair plan courses/tolvane-dome --set car.intake.pressure_drop=\"4 kPa\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_FAIL,
    .run = run};
