/* terminal_profile.h - the course as a terminal can draw it: ground, shaft, where the limit is
 * passed. */
#ifndef THINAIR_REPORT_TERMINAL_PROFILE_H
#define THINAIR_REPORT_TERMINAL_PROFILE_H

#include "thinair/buffer.h"
#include "thinair/plan.h"
#include "thinair/report.h"

/** Block characters, style->width columns wide; nothing below 40 columns.  Where the limit is passed
 *  stands "^", above rated speed "#", which a last line says; bold as well where there is colour. */
void ta_terminal_profile(const ta_prepared *prepared, const ta_plan *plan, const ta_style *style,
                         ta_buffer *out);

#endif
