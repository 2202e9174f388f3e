/* picture_parts.h - what the pictures of a plan share: the sheet with its headline, thin lines, and
 * what a cap does to the shaft. */
#ifndef THINAIR_REPORT_PICTURE_PARTS_H
#define THINAIR_REPORT_PICTURE_PARTS_H

#include "pictures.h"
#include "sentences.h"
#include "svg.h"

/** A picture under way. */
typedef struct {
  ta_svg svg;
  const ta_prepared *prepared; /* this and the plan NULL: a compressor alone */
  const ta_plan *plan;
  ta_unit_system units;
  bool is_narrow;     /* for a phone: fewer labels */
  double top, bottom; /* what is above and below is taken */
} ta_sheet;

/** What a sheet says of itself. */
typedef struct {
  const char *subject;     /* whose picture it is */
  const char *title;       /* what is drawn */
  const char *headline;    /* the answer in a few words */
  const char *description; /* in one sentence, with its numbers */
} ta_sheet_words;

/** Is it for a phone? */
bool ta_frame_is_narrow(const ta_picture_frame *frame);

/** Opens the drawing and writes subject (on a file of its own) and headline. */
void ta_sheet_open(ta_sheet *sheet, const ta_prepared *prepared, const ta_plan *plan,
                   const ta_picture_frame *frame, const ta_sheet_words *words, ta_buffer *out);

/** The same with the event's and the car's names as the subject. */
void ta_sheet_open_plan(ta_sheet *sheet, ta_picture picture, const ta_prepared *prepared,
                        const ta_plan *plan, const ta_picture_frame *frame, const char *headline,
                        const char *description, ta_buffer *out);

/** A key below what is there already. */
void ta_sheet_key(ta_sheet *sheet, const ta_key_entry *entry, size_t count);

/** Text in as many lines as it takes, at most so many, the last cut with "...". */
void ta_sheet_paragraph(ta_sheet *sheet, const ta_lettering *style, size_t most_lines,
                        const char *text);

/** Leaves out points that a line through the others passes within a third of a pixel; gaps stay.
 *  @return How many are left. */
size_t ta_points_thin(const ta_frame *frame, ta_xy *point, size_t count);

/** A value in the user's unit; as long as the sheet. */
double ta_sheet_value(const ta_sheet *sheet, ta_show show, double si);

/** The sort of quantity that set-points are shown as, and "MAP" or "boost". */
ta_show ta_set_point_show(const ta_prepared *prepared);
const char *ta_set_point_word(const ta_prepared *prepared);

/** "at the start", or "where the part begins" of a course that is cut. */
const char *ta_say_start(const ta_prepared *prepared);

/** The best way to run it within the limit: the quickest, else the first that is offered.
 *  @return false where none is. */
bool ta_best_cap(const ta_plan *plan, ta_strategy *best);

/** What the shaft does at the worst of some engine speeds. */
typedef struct {
  double shaft_rpm, corrected_flow_kg_s, pressure_ratio, beyond_top_line, engine_rpm, map_pa;
} ta_judged;

/** At a place under a strategy, overshoot on.  @return false where the day has no air. */
bool ta_judged_at(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                  ta_speed_range range, double distance_m, double elevation_m, ta_judged *worst);

/** Each picture.  @return false where there is nothing to draw it of. */
bool ta_picture_course_draw(const ta_prepared *prepared, const ta_plan *plan,
                            const ta_picture_frame *frame, ta_buffer *out);
bool ta_picture_compressor_draw(const ta_prepared *prepared, const ta_plan *plan,
                                const ta_picture_frame *frame, ta_buffer *out);
bool ta_picture_cap_draw(const ta_prepared *prepared, const ta_plan *plan,
                         const ta_picture_frame *frame, ta_buffer *out);
bool ta_picture_table_draw(const ta_prepared *prepared, const ta_plan *plan,
                           const ta_picture_frame *frame, ta_buffer *out);
bool ta_picture_levers_draw(const ta_prepared *prepared, const ta_plan *plan,
                            const ta_picture_frame *frame, ta_buffer *out);
bool ta_picture_time_draw(const ta_prepared *prepared, const ta_plan *plan,
                          const ta_picture_frame *frame, ta_buffer *out);

#endif
