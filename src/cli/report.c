/* report.c - thinair report. */
#include <stdio.h>
#include <string.h>

#include "output_file.h"
#include "planned.h"
#include "thinair/weather.h"

/* A word as a shell takes it. */
static void shell_word(const char *word, ta_buffer *out) {
  static const char plain[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
      "0123456789_./=:@%+,-";
  if (word[0] != '\0' && word[strspn(word, plain)] == '\0') {
    ta_buffer_add(out, "%s", word);
    return;
  }
  ta_buffer_add(out, "'");
  for (; *word != '\0'; word++) ta_buffer_add(out, *word == '\'' ? "'\\''" : "%c", *word);
  ta_buffer_add(out, "'");
}

static void command_text(const command_line *line, ta_buffer *out) {
  ta_buffer_add(out, "thinair");
  for (int i = 1; i < line->word_count; i++) {
    ta_buffer_add(out, " ");
    shell_word(line->word[i], out);
  }
}

static void make_page(const command_line *line, const ta_prepared *prepared, const ta_plan *plan,
                      const ta_diagnostics *diagnostics, ta_buffer *out) {
  ta_style style = style_of(line, prepared->event), bold = style;
  ta_buffer card = {0}, typed = {0};
  ta_weather weather;
  char date[CLOCK_TEXT_MAX], why[1000];
  bold.colour = true;
  clock_text(date);
  const char *clock = date[0] != '\0' ? date + CLOCK_TIME : NULL;
  const ta_status status = ta_weather_find(prepared, &plan->caps.constant, &weather);
  if (status != TA_OK) (void)snprintf(why, sizeof why, "%s", ta_status_text(status));
  const bool has_card =
      status == TA_OK && ta_report_card(prepared, plan, ta_card_strategy(plan), &weather, clock,
                                        &bold, &card, why, sizeof why);
  command_text(line, &typed);
  out->failed = out->failed || card.failed || typed.failed;
  if (!out->failed) {
    const ta_page page = {.command = typed.text,
                          .made = clock != NULL ? date : NULL,
                          .card = has_card ? card.text : NULL,
                          .no_card = why};
    ta_report_page(prepared, plan, diagnostics, &page, &style, out);
  }
  ta_buffer_free(&card);
  ta_buffer_free(&typed);
}

static int write_page(const command_line *line, output_file *file, ta_buffer *out) {
  if (file->file == NULL) return print_report(out);
  if (out->failed) (void)fprintf(stderr, "thinair: %s\n", ta_status_text(TA_ERR_MEMORY));
  const bool good = !out->failed && output_file_finish(file, out);
  if (good) (void)fprintf(stderr, "thinair: wrote %s, %zu kB\n", line->output, out->length / 1000);
  ta_buffer_free(out);
  return good ? EXIT_DONE : EXIT_FAILED;
}

static int plan_and_write(const command_line *line, output_file *file) {
  planned *p = planned_open(line);
  if (p == NULL) return EXIT_FAILED;
  ta_buffer out = {0};
  make_page(line, &p->prepared, &p->plan, &p->diagnostics, &out);
  int code = write_page(line, file, &out);
  if (code == EXIT_DONE && line->fail_if_over && p->plan.verdict != TA_CLEAR) code = EXIT_OVER;
  planned_close(p);
  return code;
}

static int run(const command_line *line) {
  output_file file = {0};
  if (line->output == NULL) {
    (void)fprintf(stderr,
                  "thinair: report needs -o FILE.html, or -o - for standard output\n"
                  "try: thinair report --help\n");
    return EXIT_USAGE;
  }
  if (strcmp(line->output, "-") != 0 && !output_file_open(line->output, line->force, &file))
    return EXIT_FAILED;
  const int code = plan_and_write(line, &file);
  output_file_discard(&file);
  return code;
}

const command command_report = {
    .name = "report",
    .operand = "EVENT",
    .about = "the plan as one page with pictures, for a browser, a phone and the printer",
    .help =
        "Writes one HTML file that needs nothing else and no network: the answer, what to run, "
        "the\n"
        "pictures, every table and every input. Printed, it is the run card on one sheet.",
    .example = "thinair report courses/tolvane-dome -o tolvane-dome.html",
    .options = OPTION_UNITS | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_FAIL |
               OPTION_FILE,
    .run = run};
