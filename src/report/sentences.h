/* sentences.h - places, verdicts, warnings and cautions in words, each built once. */
#ifndef THINAIR_REPORT_SENTENCES_H
#define THINAIR_REPORT_SENTENCES_H

#include "table.h"
#include "thinair/plan.h"

enum { TA_LINE_WIDTH = 98, TA_SENTENCE_MAX = 800, TA_WARNINGS_MAX = TA_DIAGNOSTICS_MAX + 12 };

/** "16.2 km (2,727 m, 300 m after Goat Fold)" */
const char *ta_say_place(const ta_course *course, ta_unit_system units, double distance_m,
                         double elevation_m, char text[TA_SENTENCE_MAX]);

/** "228.0 kPa", or as boost where the controller holds that: rounded down, what is shown can be held. */
const char *ta_say_set_point(const ta_prepared *prepared, double set_point, ta_unit_system units,
                             char text[TA_SENTENCE_MAX]);

/** Why the verdict is what it is, in the order of precedence.  @return false when it does not hold.
 */
bool ta_say_reason(const ta_prepared *prepared, const ta_plan *plan, ta_reason reason,
                   ta_unit_system units, char text[TA_SENTENCE_MAX]);

/** "inside the map: firm", "7 % past the map's last line: an estimate", ... */
const char *ta_say_zone(const ta_operating_point *point, char text[TA_SENTENCE_MAX]);

/** "17:35.2", minutes and seconds. */
const char *ta_say_time(double seconds, char text[TA_SHOWN_MAX]);

/** "" where the time is known, else "; time not known: ..." */
const char *ta_say_time_known(ta_time_known known);

/** What limits a cap: "the target", "the shaft", "the sensor's range", ... */
const char *ta_say_limited_by(ta_limited_by limited_by);

/** Warnings in words: those of the files, and those of the plan (NULL: none). */
typedef struct {
  char text[TA_WARNINGS_MAX][TA_MESSAGE_MAX];
  size_t count;
} ta_warnings;
void ta_warnings_collect(const ta_prepared *prepared, const ta_plan *plan,
                         const ta_diagnostics *diagnostics, ta_unit_system units,
                         ta_warnings *warnings);
/** Aluminium wheels lose strength above 200 degC of compressor outlet (common practice). */
#define TA_WHEEL_WEAK_ABOVE_K 473.15

/** The warnings of a hot compressor outlet, and of limit and rated speed without room for an alarm
 *  between them: added where they hold. */
void ta_warn_of_heat(ta_warnings *warnings, ta_unit_system units, double outlet_temperature_k,
                     double engine_rpm, const char *where);
void ta_warn_of_alarm(const ta_prepared *prepared, ta_unit_system units, ta_warnings *warnings);
void ta_warnings_add(ta_warnings *warnings, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/** The three lines of caution. */
extern const char ta_cautions[];

/** The warnings as notes; with a blank line before them. */
void ta_notes(const ta_warnings *warnings, ta_buffer *out);
void ta_warnings_text(const ta_warnings *warnings, ta_buffer *out);

/** The warnings as the JSON list "warnings". */
void ta_warnings_json(const ta_warnings *warnings, ta_json *json);

/** Text folded at a width, every line after the first set in by `indent`. */
void ta_folded(ta_buffer *out, int width, int indent, const char *text);

/** Text folded beside a heading that stands in the indent of its first line. */
void ta_headed(ta_buffer *out, int width, int indent, const char *heading, const char *text);

#endif
