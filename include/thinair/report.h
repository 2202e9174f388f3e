/* report.h - results in words, tables and JSON.
 *
 * Every report appends to a buffer; nothing here prints.  Text follows the unit system, JSON never
 * does.  JSON keys end in their unit; what was not computed is null. */
#ifndef THINAIR_REPORT_H
#define THINAIR_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/buffer.h"
#include "thinair/day.h"
#include "thinair/diagnostics.h"
#include "thinair/earlier_plan.h"
#include "thinair/event.h"
#include "thinair/operating_point.h"
#include "thinair/plan.h"
#include "thinair/prepare.h"
#include "thinair/strategy.h"
#include "thinair/street.h"
#include "thinair/sweep.h"
#include "thinair/weather.h"

typedef enum { TA_FORMAT_TEXT, TA_FORMAT_JSON, TA_FORMAT_CSV, TA_FORMAT_YAML } ta_format;

typedef struct {
  ta_format format;
  ta_unit_system units;
  bool colour;         /* for a terminal that wants it */
  int width;           /* of a terminal that shows UTF-8, in characters; 0: it goes to none */
  const char *version; /* of the program */
} ta_style;

/** A plan.  CSV: its trace along the course.
 *  @param[in] since  An earlier plan that stands in the JSON beside it; NULL: none. */
void ta_report_plan(const ta_prepared *prepared, const ta_plan *plan, const ta_earlier_plan *since,
                    const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out);

/** The controller's table as its editor takes it: CSV in the controller's own unit, axes first.
 *  @return false where there is none, or the spring gives more than it holds: out is untouched. */
bool ta_report_table_file(const ta_prepared *prepared, const ta_plan *plan, ta_buffer *out);

/** What a page tells besides the plan. */
typedef struct {
  const char *command; /* the command line that makes it again */
  const char *made;    /* when, "2026-06-28 09:40"; NULL: not said */
  const char *card;    /* the run card as text, bold as a terminal has it; NULL: none */
  const char *no_card; /* why there is none, in words */
} ta_page;

/**
 * A plan as one HTML page that needs nothing from elsewhere: the answer, the pictures, every table,
 * every input, and on paper the run card alone.
 *
 * Security  Nothing is loaded; styles and the one script run by their SHA-256 alone; texts of the
 *           files are escaped.
 */
void ta_report_page(const ta_prepared *prepared, const ta_plan *plan,
                    const ta_diagnostics *diagnostics, const ta_page *page, const ta_style *style,
                    ta_buffer *out);

/** What changed from one plan of an event to another, in the lines that lead the answer.
 *  @param[in] prepared  The event as it is now. */
void ta_report_change(const char *heading, const ta_prepared *prepared, const ta_plan_gist *before,
                      const ta_plan_gist *now, const ta_style *style, ta_buffer *out);

/** The strategy that a run card shows where none is asked for: by ambient pressure, else positions,
 *  else one cap; the full target where the plan is clear. */
ta_strategy ta_card_strategy(const ta_plan *plan);

/**
 * The run card: a page of 80 columns and at most 60 lines to take to the start line.
 *
 * @param[in]  strategy  How the course is run; has no say where the plan is clear.
 * @param[in]  made      Time of day, "09:40"; NULL: left open.
 * @param[out] why       When it is refused: in words.
 * @return false: nothing is printed, for as planned the car must not run like that.
 */
bool ta_report_card(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                    const ta_weather *weather, const char *made, const ta_style *style,
                    ta_buffer *out, char *why, size_t why_size);

/** The car's shaft-speed sensor, which must be given.  CSV: frequencies over speeds. */
void ta_report_sensor(const ta_prepared *prepared, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out);

/** The answer about a street car.  CSV: its places on its days. */
void ta_report_street(const ta_street *street, bool margin_given, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out);

/** One operating point at an elevation [m]. */
void ta_report_point(const ta_prepared *prepared, const ta_operating_point *point,
                     double elevation_m, const ta_diagnostics *diagnostics, const ta_style *style,
                     ta_buffer *out);

/** Air at elevations [m]. */
void ta_report_air(const double *elevation_m, const ta_air *air, size_t count,
                   const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out);

/** The event's course summed up; CSV and YAML: the course itself, elevations as they are judged. */
void ta_report_course(const ta_event *event, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out);

/** A compressor map: its lines with their leave-one-out errors (-1: none), and readings of it.
 *  name may be NULL. */
typedef struct {
  double corrected_flow_kg_s, pressure_ratio;
  ta_map_reading reading;
} ta_compressor_reading;
void ta_report_compressor(const ta_compressor *compressor, const double *left_out_rms,
                          const ta_compressor_reading *at, size_t at_count,
                          const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out);

/** What a matrix of two keys shows. */
typedef enum {
  TA_SHOWS_CAP,
  TA_SHOWS_SPEED,
  TA_SHOWS_FIRST,
  TA_SHOWS_POWER,
  TA_SHOWS_SURGE,
  TA_SHOWS_TIME
} ta_sweep_show;

/** "cap", "speed", ...; false when there is no such name. */
bool ta_sweep_show_find(const char *name, ta_sweep_show *show);

/** A sweep of an event.  Text: a table of one key, a matrix of two, a list of more; CSV and JSON hold
 *  every cell. */
void ta_report_sweep(const ta_sweep *sweep, const ta_event *event, ta_sweep_show show,
                     const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out);

/** Errors and warnings as lines "file:line:column: key: text". */
void ta_report_diagnostics(const ta_diagnostics *diagnostics, ta_severity least, ta_buffer *out);

#endif
