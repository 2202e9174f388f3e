/* earlier_plan.h - an earlier plan, read back from the JSON that was written of it. */
#ifndef THINAIR_EARLIER_PLAN_H
#define THINAIR_EARLIER_PLAN_H

#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/plan_gist.h"
#include "thinair/status.h"

typedef struct {
  char version[TA_GIST_TEXT_MAX]; /* of the program that wrote it */
  ta_plan_gist gist;
} ta_earlier_plan;

/**
 * Read the file that `thinair plan --json` wrote.
 *
 * @param[in]     event        Name of the event that it must be a plan of.
 * @param[out]    earlier      Untouched unless TA_OK is returned.
 * @param[in,out] diagnostics  What is wrong with it, placed.
 * @retval TA_ERR_INPUT   Not such a file, one of another event, or values that cannot be.
 * @retval TA_ERR_MEMORY  Out of memory.
 */
ta_status ta_earlier_plan_read(const char *path, const char *event, ta_earlier_plan *earlier,
                               ta_diagnostics *diagnostics);

/** The same from bytes; `path` is for messages. */
ta_status ta_earlier_plan_read_bytes(const char *path, const char *bytes, size_t size,
                                     const char *event, ta_earlier_plan *earlier,
                                     ta_diagnostics *diagnostics);

#endif
