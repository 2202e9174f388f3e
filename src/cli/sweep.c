/* sweep.c - thinair sweep. */
#define _POSIX_C_SOURCE 200809L
#include "thinair/sweep.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "command.h"
#include "output_file.h"
#include "thinair/access.h"

static volatile sig_atomic_t interrupted;

static void on_interrupt(int number) {
  (void)number;
  interrupted = 1;
}

/* How far it is, for a person who waits. */
typedef struct {
  size_t done, count;
  double begun_s, shown_s;
  bool shown;
} progress;

static const double QUIET_S = 1.0, BETWEEN_S = 0.1;
enum { BAR = 40 };

static double now_s(void) {
  struct timespec now = {0};
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool keep_on(void *context) {
  progress *p = context;
  p->done++;
  const double now = now_s();
  if (isatty(STDERR_FILENO) && now - p->begun_s > QUIET_S && now - p->shown_s > BETWEEN_S) {
    const int filled = (int)(BAR * p->done / p->count);
    (void)fprintf(stderr, "\r[%.*s%*s] %zu of %zu cells ", filled,
                  "########################################", BAR - filled, "", p->done, p->count);
    (void)fflush(stderr);
    p->shown = true;
    p->shown_s = now;
  }
  return !interrupted;
}

/* Which keys need the event to be read for each of their values: words, files, and numbers that only
 * a reading can take.  false: a key is none, and that was printed. */
static bool find_read_axes(const ta_event *event, const ta_sweep_axis *axis, size_t count,
                           bool *is_read) {
  for (size_t k = 0; k < count; k++) {
    char why[TA_MESSAGE_MAX];
    ta_event fork;
    is_read[k] = axis[k].word != NULL;
    if (is_read[k]) continue;
    ta_event_fork(event, &fork);
    const ta_status status =
        ta_event_number_set(&fork, axis[k].key, axis[k].field->low, why, sizeof why);
    ta_event_free(&fork);
    is_read[k] = status == TA_ERR_INPUT;
    if (status == TA_OK || is_read[k]) continue;
    (void)fprintf(stderr, "--vary %s: %s\n", axis[k].key, why);
    return false;
  }
  return true;
}

/* Why an event could not be read, in its first line. */
static void first_reason(const ta_diagnostics *diagnostics, ta_status status, char *why,
                         size_t size) {
  ta_buffer lines = {0};
  if (why[0] != '\0') return;
  ta_report_diagnostics(diagnostics, TA_ERROR, &lines);
  (void)snprintf(why, size, "%.*s",
                 lines.text != NULL ? (int)strcspn(lines.text, "\n") : TA_MESSAGE_MAX,
                 lines.text != NULL ? lines.text : ta_status_text(status));
  ta_buffer_free(&lines);
}

/* The cells of one reading of the event. */
static ta_status solve_reading(const command_line *line, ta_sweep *sweep, const size_t *fixed,
                               progress *p) {
  static command_line varied;
  static ta_diagnostics diagnostics;
  static char value[TA_SWEEP_KEYS_MAX][TA_SWEEP_VALUE_MAX];
  char why[TA_KEY_MAX + TA_MESSAGE_MAX] = "";
  ta_event event;
  ta_prepared prepared;
  varied = *line;
  for (size_t k = 0; k < sweep->axis_count; k++) {
    if (fixed[k] == TA_SWEEP_VARIED) continue;
    varied.setting[varied.setting_count++] =
        (ta_setting){"--vary", sweep->axis[k].key,
                     ta_sweep_value_text(&sweep->axis[k], fixed[k], 17, value[k]), NULL};
  }
  ta_status status = event_make(&varied, &event, &diagnostics, &prepared, why, sizeof why);
  if (status != TA_OK) {
    first_reason(&diagnostics, status, why, sizeof why);
    ta_sweep_refuse(sweep, fixed, why);
    (void)keep_on(p);
    return status == TA_ERR_MEMORY ? status : TA_OK;
  }
  status = ta_sweep_solve(sweep, &prepared, fixed, keep_on, p);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return status;
}

static ta_status solve(const command_line *line, ta_sweep *sweep, const ta_prepared *base,
                       const bool *is_read) {
  progress p = {.count = sweep->cell_count, .begun_s = now_s()};
  size_t fixed[TA_SWEEP_KEYS_MAX], readings = 1;
  for (size_t k = 0; k < sweep->axis_count; k++) {
    fixed[k] = TA_SWEEP_VARIED;
    if (is_read[k]) readings *= sweep->axis[k].count;
  }
  ta_status status = TA_OK;
  for (size_t i = 0; status == TA_OK && i < readings && !interrupted; i++) {
    size_t number = i;
    for (size_t k = 0; k < sweep->axis_count; k++) {
      if (!is_read[k]) continue;
      fixed[k] = number % sweep->axis[k].count;
      number /= sweep->axis[k].count;
    }
    status = readings > 1 ? solve_reading(line, sweep, fixed, &p)
                          : ta_sweep_solve(sweep, base, fixed, keep_on, &p);
  }
  if (p.shown) (void)fprintf(stderr, "\r\033[K");
  return status;
}

static bool any_solved(const ta_sweep *sweep) {
  for (size_t i = 0; i < sweep->cell_count; i++)
    if (sweep->cell[i].state != TA_SWEEP_UNSOLVED) return true;
  (void)fprintf(stderr, "thinair: no cell has an answer: %s\n", sweep->cell[0].why);
  return false;
}

static int solve_and_report(const command_line *line, ta_sweep *sweep, const ta_prepared *base,
                            const bool *is_read, const ta_diagnostics *diagnostics) {
  output_file file = {0};
  ta_buffer out = {0};
  int code = EXIT_FAILED;
  const struct sigaction action = {.sa_handler = on_interrupt};
  (void)sigaction(SIGINT, &action, NULL);
  if (line->output != NULL && !output_file_open(line->output, line->force, &file)) return code;
  const ta_status status = solve(line, sweep, base, is_read);
  if (interrupted) {
    code = EXIT_INTERRUPTED;
  } else if (status != TA_OK) {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  } else if (any_solved(sweep)) {
    ta_style style = style_of(line, base->event);
    style.colour = style.colour && line->output == NULL;
    ta_report_sweep(sweep, base->event, line->show, diagnostics, &style, &out);
    if (line->output == NULL)
      code = print_report(&out);
    else if (out.failed)
      (void)fprintf(stderr, "thinair: %s\n", ta_status_text(TA_ERR_MEMORY));
    else if (output_file_finish(&file, &out))
      code = EXIT_DONE;
  }
  ta_buffer_free(&out);
  output_file_discard(&file);
  return code;
}

/* The axes that the line names; what is wrong is printed. */
static bool parse_axes(const command_line *line, ta_sweep_axis *axis) {
  for (size_t k = 0; k < line->vary_count; k++) {
    char why[TA_MESSAGE_MAX];
    bool good = ta_sweep_axis_parse(line->vary[k], &axis[k], why, sizeof why) == TA_OK;
    for (size_t i = 0; good && i < k; i++) {
      good = strcmp(axis[i].key, axis[k].key) != 0;
      if (!good) (void)snprintf(why, sizeof why, "the key stands here twice");
    }
    if (good) continue;
    (void)fprintf(stderr, "--vary %.*s: %s\n", (int)strcspn(line->vary[k], "="), line->vary[k],
                  why);
    return false;
  }
  return true;
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_sweep_axis axis[TA_SWEEP_KEYS_MAX] = {0};
  bool is_read[TA_SWEEP_KEYS_MAX] = {false};
  ta_sweep sweep = {0};
  ta_event event;
  ta_prepared base;
  int code = EXIT_FAILED;
  if (line->vary_count == 0) {
    (void)fprintf(stderr, "thinair: sweep needs at least one --vary\ntry: thinair sweep --help\n");
    return EXIT_USAGE;
  }
  if (parse_axes(line, axis)) {
    const ta_status status = ta_sweep_make(axis, line->vary_count, &sweep);
    if (status != TA_OK)
      (void)fprintf(stderr, "thinair: %s\n",
                    status == TA_ERR_DOMAIN ? "more than 100,000 combinations of values: up to "
                                              "100,000 are taken"
                                            : ta_status_text(status));
    sweep.timed = sweep.timed || line->show == TA_SHOWS_TIME;
    if (status == TA_OK && event_open(line, &event, &diagnostics, &base)) {
      if (find_read_axes(&event, axis, line->vary_count, is_read))
        code = solve_and_report(line, &sweep, &base, is_read, &diagnostics);
      ta_prepared_free(&base);
      ta_event_free(&event);
    }
  }
  ta_sweep_free(&sweep);
  for (size_t k = 0; k < line->vary_count; k++) ta_sweep_axis_free(&axis[k]);
  return code;
}

const command command_sweep = {
    .name = "sweep",
    .operand = "EVENT",
    .about = "what if: the answer over a range of values of one key or more",
    .help =
        "Plans the event at every combination of the values that --vary gives. One key makes a\n"
        "table, two a matrix of what --show names, more a list; --csv and --json hold everything.\n"
        "\n"
        "  --vary car.intake.pressure_drop=\"1 kPa:6 kPa:11\"     eleven values, even\n"
        "  --vary car.intake.pressure_drop=\"1,2,4 kPa\"          these\n"
        "  --vary car.control.holds=absolute,gauge              words\n"
        "  --vary car.turbo.compressor=a.yaml,b.yaml            files; car.turbo, car, day, "
        "course\n"
        "\n"
        "Surge margin: at the highest place, lowest engine speed of the boost window, at the "
        "goal;\n"
        "corrected flow over that of the surge line at the same pressure ratio, less 1.\n"
        "Time: of the run at the constant cap, as plan tells it; where car and course let a run "
        "be\n"
        "timed. Without --show time it is left out of more than 400 combinations.",
    .example =
        "thinair sweep courses/tolvane-dome --vary car.intake.pressure_drop=\"1 kPa:6 kPa:11\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_SWEEP |
               OPTION_FILE,
    .run = run};
