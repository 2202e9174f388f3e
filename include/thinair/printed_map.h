/* printed_map.h - a compressor map as it is printed, made into speed lines with efficiencies. */
#ifndef THINAIR_PRINTED_MAP_H
#define THINAIR_PRINTED_MAP_H

#include <stddef.h>

#include "thinair/car.h"
#include "thinair/diagnostics.h"
#include "thinair/status.h"

/**
 * Make speed lines of a compressor as printed.
 *
 *   - volume flow at the reference state becomes mass flow, a tip speed a corrected speed;
 *   - each line is made to begin on the surge line, where one is printed: points left of it fall
 *     away, a line that begins right of it is continued to it;
 *   - points without an efficiency get it from a smooth surface through the islands and the points
 *     that have one: a thin-plate spline over the share from surge to choke and the corrected
 * speed.
 *
 * @param[in,out] compressor   line has room for printed_count lines, each of them for one point
 * more than its printed line; they are filled and counted.
 * @param[in,out] diagnostics  Errors with keys "lines[i]", "islands", "exducer_diameter" and the
 * like.
 * @retval TA_ERR_INPUT   At least one error was raised.
 * @retval TA_ERR_MEMORY  Out of memory.
 *
 * Limits  Beyond the outermost island efficiency is an extrapolation, kept between 0.3 and the best
 *         that is printed plus 0.01.
 * Source  Thin-plate spline with smoothing: Wahba, Spline Models for Observational Data, SIAM 1990,
 *         section 2.4.
 */
ta_status ta_printed_map_complete(ta_compressor *compressor, ta_diagnostics *diagnostics);

/** Corrected mass flow [kg/s] of a printed point, whose flow may be a volume. */
double ta_printed_flow(const ta_compressor *compressor, const ta_printed_point *point);

#endif
