/* gpx.h - a course from a GPX file. */
#ifndef THINAIR_FILES_GPX_H
#define THINAIR_FILES_GPX_H

#include "thinair/diagnostics.h"
#include "thinair/event.h"
#include "thinair/status.h"

/**
 * Read a course from the bytes of a GPX 1.0 or 1.1 file.  Elevations are as in the file, not smoothed.
 *
 * @param[in,out] event        Owns the points and marks that are made.
 * @param[out]    course       Untouched on failure.
 * @param[in,out] diagnostics  Every error and warning, placed (file:line:column).
 * @retval TA_ERR_INPUT  At least one error was raised.
 */
ta_status ta_gpx_read(const char *path, const char *bytes, size_t size, ta_event *event,
                      ta_course *course, ta_diagnostics *diagnostics);

#endif
