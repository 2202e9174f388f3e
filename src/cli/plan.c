/* plan.c - thinair plan. */
#include <stdio.h>
#include <string.h>

#include "planned.h"
#include "thinair/earlier_plan.h"
#include "thinair/plan_gist.h"
#include "thinair/strategy.h"

/* The gist of the same line without --now. */
static bool gist_before(const command_line *line, ta_plan_gist *gist) {
  static command_line before_line;
  before_line = *line;
  before_line.setting_count = 0;
  for (size_t i = 0; i < line->setting_count; i++)
    if (strcmp(line->setting[i].option, "--now") != 0)
      before_line.setting[before_line.setting_count++] = line->setting[i];
  planned *before = planned_open(&before_line);
  if (before == NULL) return false;
  ta_plan_gist_of(&before->prepared, &before->plan, gist);
  planned_close(before);
  return true;
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
  if (!ta_caps_are_vouched(&plan->caps)) {
    (void)fprintf(stderr,
                  "thinair: %s: not written: the caps lie where not enough is known to run them\n",
                  line->table);
    return false;
  }
  if (ta_report_table_file(prepared, plan, &out))
    return write_output(line->table, line->force, &out);
  (void)fprintf(stderr, "thinair: %s: not written: %s\n", line->table,
                prepared->event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON
                    ? "a controller that reads its barometer once cannot follow a table"
                    : "no controller table keeps the shaft within the limit");
  return false;
}

static int print_plan(const command_line *line, const planned *p, const ta_earlier_plan *since) {
  ta_buffer out = {0};
  int code = EXIT_DONE;
  const ta_style style = style_of(line, &p->event);
  if (style.format == TA_FORMAT_TEXT)
    report_changes(line, &p->prepared, &p->plan, since, &style, &out);
  ta_report_plan(&p->prepared, &p->plan, since, &p->diagnostics, &style, &out);
  const bool only_table = line->table != NULL && strcmp(line->table, "-") == 0,
             written = write_table(line, &p->prepared, &p->plan);
  if (only_table)
    ta_buffer_free(&out);
  else
    code = print_report(&out);
  if (!written) code = EXIT_FAILED;
  if (code == EXIT_DONE && line->fail_if_over && p->plan.verdict != TA_CLEAR) code = EXIT_OVER;
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
  if (line->table != NULL && strcmp(line->table, "-") == 0 && line->format != TA_FORMAT_TEXT) {
    (void)fprintf(stderr,
                  "thinair: --table - writes the table alone: no --json or --csv beside it\n"
                  "try: thinair plan --help\n");
    return EXIT_USAGE;
  }
  ta_earlier_plan since;
  planned *p = planned_open(line);
  if (p == NULL) return EXIT_FAILED;
  int code = EXIT_FAILED;
  if (line->since == NULL)
    code = print_plan(line, p, NULL);
  else if (since_open(line, &p->event, &since))
    code = print_plan(line, p, &since);
  planned_close(p);
  return code;
}

const command command_plan = {
    .name = "plan",
    .operand = "EVENT",
    .about = "where the shaft passes its limit, and the boost cap that avoids it",
    .help =
        "Reads the event, judges the whole course over the boost window (and on to the shift "
        "speed)\n"
        "with overshoot on, and prints the verdict, the places, the caps, what moves it,\n"
        "and what was not checked.\n"
        "--table - writes the controller table to standard output instead.",
    .example = "thinair plan courses/tolvane-dome --set car.intake.pressure_drop=\"4 kPa\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_FAIL |
               OPTION_SINCE | OPTION_TABLE,
    .run = run};
