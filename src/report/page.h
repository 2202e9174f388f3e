/* page.h - the parts of a page: its texts, its inputs, what its script reads. */
#ifndef THINAIR_REPORT_PAGE_H
#define THINAIR_REPORT_PAGE_H

#include "thinair/buffer.h"
#include "thinair/plan.h"
#include "thinair/prepare.h"

enum { TA_CURSOR_POINTS = 300 };

/** The style sheet, its colours those of the drawings.
 *  @param[in] card_pt  Size of the run card's letters in print [pt].
 *  @param[in] leading  Of its lines, over that size. */
void ta_page_style(double card_pt, double leading, ta_buffer *out);

/** The script that links the pictures. */
void ta_page_script(ta_buffer *out);

/** Toggles, numbers and slider that go with the pictures of the course and the compressor map,
 *  up to where the pictures stand, and what comes after them. */
void ta_page_switches(const ta_plan *plan, ta_buffer *out);
void ta_page_readout(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                     ta_buffer *out);

/** The trace along the course as JSON for the script, evenly thinned. */
void ta_page_trace(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                   ta_buffer *out);

/** Every value of the event as the rows of a table: key, value, what it is. */
void ta_page_inputs(const ta_event *event, ta_unit_system units, ta_buffer *out);

#endif
