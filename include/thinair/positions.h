/* positions.h - a few positions of a boost knob, and the marks at which to switch. */
#ifndef THINAIR_POSITIONS_H
#define THINAIR_POSITIONS_H

#include "thinair/caps.h"
#include "thinair/prepare.h"

/** One position: from a mark on, until the next position's mark or the finish. */
typedef struct {
  const char *from_mark; /* NULL: the start of the course */
  double from_distance_m, from_elevation_m;
  ta_constant_cap cap; /* of its part of the course */
} ta_position;

typedef struct {
  ta_position *position; /* in order of distance; to be freed with ta_positions_free */
  size_t count;
} ta_positions;

/**
 * The best use of at most so many positions: each within the limit from its mark to the next, the
 * marks chosen for the most MAP over the length of the course, to which power is nearly
 * proportional.  Fewer positions where more gain nothing.
 *
 * @param[in]  profile    Of the goal over ta_judged_speeds.
 * @param[in]  most       Positions of the knob, at least 1.
 * @param[out] positions  Zeroed on failure.
 */
ta_status ta_positions_find(const ta_prepared *prepared, const ta_profile *profile, size_t most,
                            ta_positions *positions);
void ta_positions_free(ta_positions *positions);

#endif
