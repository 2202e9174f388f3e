/* main.c - options, help, and the choice of the command. */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "command.h"

static const command *const commands[] = {&command_plan,    &command_point,      &command_air,
                                          &command_course,  &command_compressor, &command_street,
                                          &command_sensor,  &command_card,       &command_sweep,
                                          &command_picture, &command_report};

/* One row per option: name, whether it takes a value, which commands take it, help. */
enum {
  JSON = 1,
  CSV,
  YAML,
  UNITS,
  SET,
  BOOST,
  MAP,
  FAIL,
  DAY,
  NOW,
  FROM,
  TO,
  ELEVATION,
  ENGINE_SPEED,
  AT,
  ELEVATIONS,
  MARGIN,
  SINCE,
  STRATEGY,
  VARY,
  SHOW,
  OUTPUT,
  FORCE,
  PICTURE,
  TABLE,
  NARROW,
  HELP,
  VERSION
};
static const struct {
  const char *name, *value;
  int id;
  unsigned group;
  const char *help;
} options[] = {
    {"elevation", "Q", ELEVATION, OPTION_ELEVATION,
     "height above sea level, \"4120 m\", \"13500 ft\""},
    {"engine-speed", "Q", ENGINE_SPEED, OPTION_ENGINE_SPEED, "\"7200 rpm\""},
    {"at", "\"FLOW, PR\"", AT, OPTION_AT,
     "read the map at a corrected flow and pressure ratio, \"0.25 kg/s, 2.4\"; repeatable"},
    {"elevations", "Q,Q", ELEVATIONS, OPTION_STREET,
     "where the customer lives, then trips, \"2300 m,3400 m\"; 1 to 16"},
    {"margin", "Q", MARGIN, OPTION_STREET, "limit = rated speed less this; 5 % unless given"},
    {"vary", "KEY=VALUES", VARY, OPTION_SWEEP, "A:B:N or A,B,...; repeatable"},
    {"show", "NAME", SHOW, OPTION_SWEEP,
     "what a matrix shows: cap (the default), speed, first, power, surge or time"},
    {"boost", "Q", BOOST, OPTION_GOAL, "replace the goal by a boost at the start, \"1.4 bar\""},
    {"map", "Q", MAP, OPTION_GOAL, "replace the goal by a manifold absolute pressure, \"228 kPa\""},
    {"day", "FILE", DAY, OPTION_DAY, "another day file"},
    {"now", "\"T, P, RH\"", NOW, OPTION_DAY,
     "what the lowest station reads now, \"4 degC, 851 hPa, 60 %\""},
    {"from", "PLACE", FROM, OPTION_PART, "judge the course from a distance or a mark on"},
    {"to", "PLACE", TO, OPTION_PART, "judge the course up to a distance or a mark"},
    {"set", "KEY=VALUE", SET, OPTION_SET,
     "replace any key of the files, car.intake.pressure_drop=\"4 kPa\"; repeatable"},
    {"since", "FILE", SINCE, OPTION_SINCE,
     "lead with what changed since an earlier plan --json of this event"},
    {"strategy", "NAME", STRATEGY, OPTION_STRATEGY,
     "table, schedule, positions, constant or shift_speed; the first that can be had, shift_speed "
     "aside"},
    {"fail-if-over", NULL, FAIL, OPTION_FAIL, "exit with 3 on any verdict but clear"},
    {"table", "FILE", TABLE, OPTION_TABLE,
     "write the controller table too, as CSV in the controller's unit, axes first"},
    {"picture", "FILE", PICTURE, OPTION_PICTURE, "draw it to an SVG file"},
    {"narrow", NULL, NARROW, OPTION_NARROW | OPTION_PICTURE, "the drawing for a phone"},
    {"units", "metric|us", UNITS, OPTION_OUTPUT | OPTION_UNITS,
     "units of text and CSV; default as in the event"},
    {"json", NULL, JSON, OPTION_OUTPUT, "one JSON object, its units in its keys"},
    {"csv", NULL, CSV, OPTION_OUTPUT, "the main table as CSV"},
    {"yaml", NULL, YAML, OPTION_YAML, "the course as a YAML file"},
    {"output", "FILE", OUTPUT, OPTION_FILE, "write to a file, -o FILE too; whole or not at all"},
    {"force", NULL, FORCE, OPTION_FILE | OPTION_PICTURE | OPTION_TABLE,
     "replace that file should it be there"},
    {"help", NULL, HELP, ~0U, "this text"},
    {"version", NULL, VERSION, ~0U, "version of the program"},
};
enum { OPTION_COUNT = sizeof options / sizeof options[0] };

static void print_help(FILE *to, const command *c) {
  if (c == NULL) {
    (void)fprintf(to,
                  "thinair: the shaft speed of a turbo on the way up a mountain\n\n"
                  "usage: thinair COMMAND [OPERAND] [OPTIONS]\n\n");
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
      (void)fprintf(
          to, "  %-10s %-5s %-6s %s\n", commands[i]->name,
          commands[i]->first_operand != NULL ? commands[i]->first_operand : commands[i]->operand,
          commands[i]->first_operand != NULL ? commands[i]->operand : "", commands[i]->about);
    (void)fprintf(to,
                  "\nthinair COMMAND --help tells the rest. EVENT is a folder or an event file, "
                  "this folder if left out.\nexample: thinair plan courses/tolvane-dome\n\n"
                  "exit: 0 done, 1 bad input or failure, 2 wrong usage, 3 not clear "
                  "(--fail-if-over), 130 interrupted\n");
    return;
  }
  (void)fprintf(to, "thinair %s: %s\n\nusage: thinair %s%s%s [%s] [OPTIONS]\n\n%s\n\n", c->name,
                c->about, c->name, c->first_operand != NULL ? " " : "",
                c->first_operand != NULL ? c->first_operand : "", c->operand, c->help);
  for (size_t i = 0; i < OPTION_COUNT; i++) {
    char name[60];
    if ((options[i].group & c->options) == 0 && options[i].group != ~0U) continue;
    (void)snprintf(name, sizeof name, "--%s%s%s", options[i].name,
                   options[i].value != NULL ? " " : "",
                   options[i].value != NULL ? options[i].value : "");
    (void)fprintf(to, "  %-22s %s\n", name, options[i].help);
  }
  (void)fprintf(to, "\nexample: %s\n", c->example);
}

static int usage(const command *c, const char *what, const char *which) {
  (void)fprintf(stderr, "thinair: %s%s\ntry: thinair%s%s --help\n", what, which,
                c != NULL ? " " : "", c != NULL ? c->name : "");
  return EXIT_USAGE;
}

static const command *command_of(const char *name) {
  for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
    if (strcmp(commands[i]->name, name) == 0) return commands[i];
  return NULL;
}

static bool add_setting(command_line *line, const char *option, const char *key, size_t key_length,
                        const char *value, const char *instead_of) {
  if (line->setting_count == SETTINGS_MAX || key_length >= TA_KEY_MAX) return false;
  char *kept = line->setting_key[line->setting_count];
  (void)snprintf(kept, TA_KEY_MAX, "%.*s", (int)key_length, key);
  line->setting[line->setting_count++] = (ta_setting){option, kept, value, instead_of};
  return true;
}

/* Is a key another that this setting stands instead of? */
static bool stands_instead_of(const ta_setting *setting, const char *key) {
  const char *last = strrchr(setting->key, '.'), *name = setting->instead_of;
  const size_t folder = last != NULL ? (size_t)(last - setting->key) + 1 : 0;
  if (name == NULL || strncmp(setting->key, key, folder) != 0) return false;
  for (size_t length = 0; *name != '\0'; name += length + (name[length] == '|')) {
    length = strcspn(name, "|");
    if (strlen(key) == folder + length && strncmp(key + folder, name, length) == 0) return true;
  }
  return false;
}

/* Two settings of one thing: which would count is nothing to guess.  @return false: none. */
static bool find_doubled(const command_line *line, char *words, size_t size) {
  for (size_t i = 0; i < line->setting_count; i++)
    for (size_t k = 0; k < i; k++) {
      const ta_setting *a = &line->setting[k], *b = &line->setting[i];
      if (strcmp(a->key, b->key) != 0 && !stands_instead_of(a, b->key) &&
          !stands_instead_of(b, a->key))
        continue;
      (void)snprintf(words, size, "%s (%.100s) and %s (%.100s)", a->option, a->key, b->option,
                     b->key);
      return true;
    }
  return false;
}

/* "4 degC, 851 hPa, 60 %": each part is told by its unit. */
static bool take_now(command_line *line, const char *value) {
  static const struct {
    ta_kind kind;
    const char *key, *instead_of;
  } parts[] = {{TA_TEMPERATURE, "day.stations[lowest].temperature", NULL},
               {TA_PRESSURE, "day.stations[lowest].pressure", "qnh"},
               {TA_RATIO, "day.stations[lowest].humidity", "dew_point"}};
  bool seen[3] = {false, false, false};
  for (size_t count = 0; count < 3; count++) {
    const size_t length = strcspn(value, ",");
    char *text = line->now_text[count];
    double si;
    size_t part = 0;
    if (length >= sizeof line->now_text[0]) return false;
    (void)snprintf(text, sizeof line->now_text[0], "%.*s", (int)length, value);
    while (part < 3 && ta_quantity_parse(text, parts[part].kind, &si, NULL, 0) != TA_OK) part++;
    if (part == 3 || seen[part] || (part == 2 && strchr(text, '%') == NULL)) return false;
    seen[part] = true;
    if (!add_setting(line, "--now", parts[part].key, strlen(parts[part].key), text,
                     parts[part].instead_of))
      return false;
    if (value[length] == '\0') return true;
    value += length + 1;
  }
  return false;
}

/* Takes one option; returns what is wrong with it, or NULL. */
static const char *take_option(command_line *line, int id, const char *value) {
  const char *equals;
  switch (id) {
    case JSON:
      line->format = TA_FORMAT_JSON;
      return NULL;
    case CSV:
      line->format = TA_FORMAT_CSV;
      return NULL;
    case YAML:
      line->format = TA_FORMAT_YAML;
      return NULL;
    case UNITS:
      line->units = strcmp(value, "us") == 0 ? TA_US : TA_METRIC;
      return strcmp(value, "us") == 0 || strcmp(value, "metric") == 0
                 ? NULL
                 : "--units takes metric or us, found ";
    case SET:
      equals = strchr(value, '=');
      if (equals == NULL || equals == value) return "--set takes KEY=VALUE, found ";
      return add_setting(line, "--set", value, (size_t)(equals - value), equals + 1, NULL)
                 ? NULL
                 : "too many settings, or too long a key: ";
    case BOOST:
      if (line->map != NULL) return "one of --boost and --map is taken, found both: ";
      line->boost = value;
      return add_setting(line, "--boost", "goal.boost", 10, value, "map|columns|rows")
                 ? NULL
                 : "too many settings: ";
    case MAP:
      if (line->boost != NULL) return "one of --boost and --map is taken, found both: ";
      line->map = value;
      return add_setting(line, "--map", "goal.map", 8, value, "boost|columns|rows")
                 ? NULL
                 : "too many settings: ";
    case DAY:
      return add_setting(line, "--day", "day", 3, value, NULL) ? NULL : "too many settings: ";
    case NOW:
      line->now = value;
      return take_now(line, value)
                 ? NULL
                 : "--now takes temperature, station pressure and humidity, such as \"4 degC, "
                   "851 hPa, 60 %\", found ";
    case FROM:
      line->from = value;
      return NULL;
    case TO:
      line->to = value;
      return NULL;
    case FAIL:
      line->fail_if_over = true;
      return NULL;
    case ELEVATION:
      if (line->elevation_count == REPEATS_MAX) return "too many elevations: ";
      line->elevation[line->elevation_count++] = value;
      return NULL;
    case ENGINE_SPEED:
      line->engine_speed = value;
      return NULL;
    case ELEVATIONS:
      line->elevations = value;
      return NULL;
    case MARGIN:
      line->margin = value;
      return NULL;
    case SINCE:
      line->since = value;
      return NULL;
    case STRATEGY:
      line->strategy = value;
      return NULL;
    case VARY:
      if (line->vary_count == TA_SWEEP_KEYS_MAX) return "up to 8 keys are varied, found also ";
      line->vary[line->vary_count++] = value;
      return NULL;
    case SHOW:
      return ta_sweep_show_find(value, &line->show)
                 ? NULL
                 : "--show takes cap, speed, first, power, surge or time, found ";
    case OUTPUT:
      line->output = value;
      return NULL;
    case FORCE:
      line->force = true;
      return NULL;
    case PICTURE:
      line->picture = value;
      return NULL;
    case TABLE:
      line->table = value;
      return NULL;
    case NARROW:
      line->is_narrow = true;
      return NULL;
    default: /* AT */
      if (line->at_count == REPEATS_MAX) return "too many points: ";
      line->at[line->at_count++] = value;
      return NULL;
  }
}

int main(int argc, char **argv) {
  static command_line line = {.units = -1};
  struct option accepted[OPTION_COUNT + 1];
  int index, id;
  gsl_set_error_handler_off();
  if (argc < 2) {
    print_help(stderr, NULL);
    return EXIT_USAGE;
  }
  if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
    print_help(stdout, NULL);
    return EXIT_DONE;
  }
  if (strcmp(argv[1], "--version") == 0) {
    (void)printf("thinair %s\n", TA_VERSION);
    return EXIT_DONE;
  }
  const command *c = command_of(argv[1]);
  if (c == NULL) return usage(NULL, "no such command: ", argv[1]);

  line.word = argv; /* operands last, once the options are read */
  line.word_count = argc;
  memset(accepted, 0, sizeof accepted);
  for (size_t i = 0; i < OPTION_COUNT; i++)
    accepted[i] =
        (struct option){options[i].name, options[i].value != NULL ? required_argument : no_argument,
                        NULL, options[i].id};
  opterr = 0;
  optind = 2;
  while ((id = getopt_long(argc, argv, ":o:", accepted, &index)) != -1) {
    if (id == '?' || id == ':')
      return usage(c,
                   id == ':' ? "a value is missing after " : "no such option: ", argv[optind - 1]);
    if (id == 'o') id = OUTPUT;
    size_t row = 0;
    while (options[row].id != id) row++;
    if (id == HELP) {
      print_help(stdout, c);
      return EXIT_DONE;
    }
    if (id == VERSION) {
      (void)printf("thinair %s\n", TA_VERSION);
      return EXIT_DONE;
    }
    if ((options[row].group & c->options) == 0)
      return usage(c, "this command takes no --", options[row].name);
    const char *wrong = take_option(&line, id, optarg);
    if (wrong != NULL) return usage(c, wrong, optarg);
  }
  char doubled[300];
  if (find_doubled(&line, doubled, sizeof doubled))
    return usage(c, "two options set the same: ", doubled);
  if (c->first_operand != NULL && optind < argc) line.name = argv[optind++];
  if (argc - optind > 1)
    return usage(c,
                 c->first_operand != NULL ? "two operands are taken, found also "
                                          : "one operand is taken, found also ",
                 argv[optind + 1]);
  if (optind < argc) line.operand = argv[optind];
  return c->run(&line);
}

ta_status event_make(const command_line *line, ta_event *event, ta_diagnostics *diagnostics,
                     ta_prepared *prepared, char *why, size_t why_size) {
  char wrong[300];
  ta_diagnostics_clear(diagnostics);
  why[0] = '\0';
  ta_status status =
      ta_event_read_needing(line->operand != NULL ? line->operand : ".", line->setting,
                            line->setting_count, line->needed, event, diagnostics);
  if (status != TA_OK) return status;
  if (line->from != NULL || line->to != NULL) {
    status = ta_event_cut(event, line->from, line->to, wrong, sizeof wrong);
    if (status == TA_ERR_ARGUMENT) (void)snprintf(why, why_size, "--from, --to: %s", wrong);
  }
  if (status == TA_OK) status = ta_prepare(event, prepared);
  if (status != TA_OK) ta_event_free(event);
  return status;
}

bool event_open(const command_line *line, ta_event *event, ta_diagnostics *diagnostics,
                ta_prepared *prepared) {
  char why[400];
  const ta_status status = event_make(line, event, diagnostics, prepared, why, sizeof why);
  if (status == TA_OK) return true;
  print_diagnostics(diagnostics, TA_ERROR);
  if (why[0] != '\0')
    (void)fprintf(stderr, "%s\n", why);
  else if (diagnostics->errors == 0)
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  return false;
}

bool part_open(const command_line *line, const char *part, ta_event *event,
               ta_diagnostics *diagnostics) {
  const size_t n = strlen(part);
  ta_diagnostics_clear(diagnostics);
  if (ta_event_read_part(part, line->operand, line->setting, line->setting_count, event,
                         diagnostics) == TA_OK)
    return true;
  for (size_t i = 0; i < diagnostics->count; i++) {
    char *key = diagnostics->item[i].key;
    if (strncmp(key, part, n) != 0) continue;
    const char *inside = key + n + (key[n] == '.');
    memmove(key, inside, strlen(inside) + 1);
  }
  print_diagnostics(diagnostics, TA_ERROR);
  return false;
}

bool option_quantity(const char *option, const char *text, ta_kind kind, double *si) {
  char why[300];
  if (ta_quantity_parse(text, kind, si, why, sizeof why) == TA_OK) return true;
  (void)fprintf(stderr, "%s: %s\n", option, why);
  return false;
}

static int terminal_width(void) {
  struct winsize size;
  return ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

/* Source  POSIX.1-2017, Base Definitions, 8.2: the first of these that is set and not empty rules. */
static bool locale_is_utf_8(void) {
  static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
  const char *locale = NULL;
  for (size_t i = 0; i < sizeof names / sizeof names[0] && (locale == NULL || *locale == '\0'); i++)
    locale = getenv(names[i]);
  const char *codeset = locale != NULL ? strchr(locale, '.') : NULL;
  return codeset != NULL &&
         (strncasecmp(codeset, ".UTF-8", 6) == 0 || strncasecmp(codeset, ".UTF8", 5) == 0);
}

ta_style style_of(const command_line *line, const ta_event *event) {
  const char *no_colour = getenv("NO_COLOR");
  const bool terminal = isatty(STDOUT_FILENO) != 0;
  int units = line->units;
  if (units < 0) units = event != NULL ? event->units : TA_METRIC;
  return (ta_style){.format = line->format,
                    .units = (ta_unit_system)units,
                    .colour = terminal && (no_colour == NULL || no_colour[0] == '\0'),
                    .width = terminal && locale_is_utf_8() ? terminal_width() : 0,
                    .version = TA_VERSION};
}

int print_report(ta_buffer *out) {
  int code = EXIT_DONE;
  if (out->failed) {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(TA_ERR_MEMORY));
    code = EXIT_FAILED;
  } else if (fwrite(out->text, 1, out->length, stdout) != out->length || fflush(stdout) != 0) {
    perror("thinair: standard output");
    code = EXIT_FAILED;
  }
  ta_buffer_free(out);
  return code;
}

void print_diagnostics(const ta_diagnostics *diagnostics, ta_severity least) {
  ta_buffer out = {0};
  ta_report_diagnostics(diagnostics, least, &out);
  if (out.text != NULL) (void)fputs(out.text, stderr);
  ta_buffer_free(&out);
}

void clock_text(char text[CLOCK_TEXT_MAX]) {
  const time_t now = time(NULL);
  struct tm local;
  if (now == (time_t)-1 || localtime_r(&now, &local) == NULL ||
      strftime(text, CLOCK_TEXT_MAX, "%Y-%m-%d %H:%M", &local) != CLOCK_TEXT_MAX - 1)
    text[0] = '\0';
}
