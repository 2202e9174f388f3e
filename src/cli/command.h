/* command.h - one command of the program, and what the command line said. */
#ifndef THINAIR_CLI_COMMAND_H
#define THINAIR_CLI_COMMAND_H

#include <stdbool.h>
#include <stddef.h>

#include "report/pictures.h"
#include "thinair/diagnostics.h"
#include "thinair/event_reader.h"
#include "thinair/prepare.h"
#include "thinair/quantity.h"
#include "thinair/report.h"

/* Exit codes. */
enum { EXIT_DONE = 0, EXIT_FAILED = 1, EXIT_USAGE = 2, EXIT_OVER = 3, EXIT_INTERRUPTED = 130 };

enum { SETTINGS_MAX = 64, REPEATS_MAX = 256 };

/* Which options a command takes. */
enum {
  OPTION_OUTPUT = 1 << 0, /* --json, --csv, --units */
  OPTION_SET = 1 << 1,
  OPTION_GOAL = 1 << 2, /* --boost, --map */
  OPTION_FAIL = 1 << 3,
  OPTION_ELEVATION = 1 << 4,
  OPTION_ENGINE_SPEED = 1 << 5,
  OPTION_AT = 1 << 6,
  OPTION_YAML = 1 << 7,
  OPTION_DAY = 1 << 8,     /* --day, --now */
  OPTION_PART = 1 << 9,    /* --from, --to */
  OPTION_STREET = 1 << 10, /* --elevations, --margin */
  OPTION_UNITS = 1 << 11,  /* --units alone */
  OPTION_SINCE = 1 << 12,
  OPTION_STRATEGY = 1 << 13,
  OPTION_SWEEP = 1 << 14,   /* --vary, --show */
  OPTION_FILE = 1 << 15,    /* --output, --force */
  OPTION_NARROW = 1 << 16,  /* --narrow */
  OPTION_PICTURE = 1 << 17, /* --picture, with --force and --narrow */
  OPTION_TABLE = 1 << 18    /* --table, with --force */
};

typedef struct {
  char *const *word; /* all of it, operands last */
  int word_count;
  const char *name; /* the first of two operands, for commands that take them; NULL: none given */
  const char *operand; /* NULL: none given */
  ta_format format;
  int units; /* ta_unit_system; -1: not given */
  bool fail_if_over;
  ta_setting setting[SETTINGS_MAX + TA_SWEEP_KEYS_MAX]; /* room for the values of a sweep */
  char setting_key[SETTINGS_MAX][TA_KEY_MAX];
  size_t setting_count;
  const char *needed;          /* a key that the event must give for the command; NULL: none */
  const char *map, *boost;     /* --map and --boost as typed; NULL: not given */
  const char *now, *from, *to; /* as typed; NULL: not given */
  char now_text[3][60];        /* what --now says, cut at its commas */
  const char *elevation[REPEATS_MAX];
  size_t elevation_count;
  const char *elevations, *margin;
  const char *engine_speed;
  const char *since, *strategy; /* as typed; NULL: not given */
  const char *at[REPEATS_MAX];
  size_t at_count;
  const char *vary[TA_SWEEP_KEYS_MAX];
  size_t vary_count;
  ta_sweep_show show;
  const char *output, *picture, *table; /* NULL: not given */
  bool force, is_narrow;
} command_line;

typedef struct {
  const char *name;
  const char *first_operand; /* of two; NULL: one is taken */
  const char *operand, *about, *help, *example;
  unsigned options;
  int (*run)(const command_line *line);
} command;

extern const command command_plan, command_point, command_air, command_course, command_compressor,
    command_street, command_sensor, command_card, command_sweep, command_picture, command_report;

/** The event that the line names, read and prepared; diagnostics are printed when it is not good.
 */
bool event_open(const command_line *line, ta_event *event, ta_diagnostics *diagnostics,
                ta_prepared *prepared);

/** The same without a word.  why is set where the diagnostics do not say it; else left empty. */
ta_status event_make(const command_line *line, ta_event *event, ta_diagnostics *diagnostics,
                     ta_prepared *prepared, char *why, size_t why_size);

/** One part of an event from the file that the line names; errors are printed, keys as that file has
 *  them. */
bool part_open(const command_line *line, const char *part, ta_event *event,
               ta_diagnostics *diagnostics);

/** A quantity given with an option; the error is printed. */
bool option_quantity(const char *option, const char *text, ta_kind kind, double *si);

/** How to write, as the line and the event (NULL: none) have it. */
ta_style style_of(const command_line *line, const ta_event *event);

/** Print a report, or say that memory or the output failed, and free it. */
int print_report(ta_buffer *out);

enum { CLOCK_TEXT_MAX = 17, CLOCK_TIME = 11 }; /* where the time of day begins */
/** The local time, "2026-06-28 09:40"; empty where the clock cannot be read. */
void clock_text(char text[CLOCK_TEXT_MAX]);

/** Write a text to a file, or to standard output ("-"), and free it; what is wrong is printed. */
bool write_output(const char *path, bool force, ta_buffer *out);

/** Print diagnostics of at least that weight on standard error. */
void print_diagnostics(const ta_diagnostics *diagnostics, ta_severity least);

#endif
