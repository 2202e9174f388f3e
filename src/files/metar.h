/* metar.h - the aerodrome report METAR, as far as a column of air needs it. */
#ifndef THINAIR_FILES_METAR_H
#define THINAIR_FILES_METAR_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/status.h"

typedef struct {
  int day, hour, minute; /* UTC */
  double temperature_k;
  double dew_point_k;
  bool has_dew_point;
  double qnh_pa;
} ta_metar;

/**
 * Read time, temperatures and pressure from a report; everything else is passed over.
 *
 * @param[out] metar  Untouched on failure.
 * @param[out] why    On failure: what is missing or wrong, in words; may be NULL.
 * @retval TA_ERR_ARGUMENT  A group that is needed is missing, given twice or unreadable.
 * Source  WMO Manual on Codes (WMO-No. 306) FM 15 METAR: groups YYGGggZ, T'T'/T'dT'd,
 * QP_HP_HP_HP_H; the A group in hundredths of inHg and the remark T group in tenths of a degree as
 * in the US Federal Meteorological Handbook No. 1, chapter 12.
 */
ta_status ta_metar_read(const char *report, ta_metar *metar, char *why, size_t why_size);

#endif
