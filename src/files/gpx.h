/* gpx.h - a course from a GPX file. */
#ifndef THINAIR_FILES_GPX_H
#define THINAIR_FILES_GPX_H

#include "thinair/diagnostics.h"
#include "thinair/event.h"
#include "thinair/status.h"

/**
 * Read a course from the bytes of a GPX 1.0 or 1.1 file.  Elevations are as in the file, not
 * smoothed.
 *
 * Tracks are taken, routes where there is no track; every segment in the order of the file.  The
 * gap between two segments is not driven: the point after it stands 0.01 m on, with after_gap set,
 * so the last distance is the sum of the geodesics inside segments.  Named points and waypoints
 * within 100 m of the road become marks.  A point that repeats the place before it (1 mm) is left
 * out.
 *
 * @param[in,out] event        Owns the points and marks that are made.
 * @param[out]    course       Untouched on failure.
 * @param[in,out] diagnostics  Every error and warning, placed (file:line:column), with key
 * "course".
 * @retval TA_ERR_INPUT     At least one error was raised.
 * @retval TA_ERR_ARGUMENT  A pointer is NULL.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_gpx_read(const char *path, const char *bytes, size_t size, ta_event *event,
                      ta_course *course, ta_diagnostics *diagnostics);

#endif
