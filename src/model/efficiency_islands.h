/* efficiency_islands.h - efficiency between printed islands. */
#ifndef THINAIR_EFFICIENCY_ISLANDS_H
#define THINAIR_EFFICIENCY_ISLANDS_H

#include <stddef.h>

#include "thinair/status.h"

/** A known efficiency at a place of the map; along and up are each about 1 wide. */
typedef struct {
  double along; /* share of the way from surge to choke */
  double up;    /* corrected speed over the top line's */
  double efficiency;
} ta_known_efficiency;

/**
 * Efficiency at other places, by a smoothed thin-plate spline through the known ones.
 *
 * @param[in]     known  At least 6, not all on one straight line.
 * @param[in,out] place  along and up given, efficiency filled in.
 * @retval TA_ERR_DOMAIN  The known places do not span a surface.
 */
ta_status ta_efficiency_between(const ta_known_efficiency *known, size_t known_count,
                                ta_known_efficiency *place, size_t place_count);

#endif
