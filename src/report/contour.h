/* contour.h - lines of equal value over a rectangular grid, and lines cut by an outline. */
#ifndef THINAIR_REPORT_CONTOUR_H
#define THINAIR_REPORT_CONTOUR_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/status.h"

/** A place in the plane, in whatever coordinates the caller works in. */
typedef struct {
  double x, y;
} ta_xy;

/** One of several lines: its points are point[first] to point[first + count - 1].  A closed one
 *  goes on from its last point to its first, which is not repeated. */
typedef struct {
  size_t first, count;
  bool closed;
} ta_span;

/** Lines in one array of points, so that all of them can be mapped in one loop.  Give back with
 *  ta_lines_free. */
typedef struct {
  ta_xy *point;
  ta_span *line;
  size_t point_count, line_count;
} ta_lines;

void ta_lines_free(ta_lines *lines); /* NULL is fine */

/**
 * The lines on which a sampled function has one value: marching squares.
 *
 * Between two nodes the function is linear.  A node at the level itself counts as above it.  In a
 * cell whose corners alternate, the mean of the four decides which pair is joined.  Cells with a
 * corner that is not finite are left out, and lines end at them.  Lines go from edge to edge of the
 * grid, or are closed; no point is repeated.
 *
 * @param[in]  x, y   Places of the nodes, each strictly rising; at least 2 each.
 * @param[in]  value  At (x[i], y[j]): value[j * x_count + i].
 * @param[out] lines  Left as it was unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  A pointer is NULL, the level or a place is not finite, or x or y does
 *                          not rise.
 * @retval TA_ERR_MEMORY    Out of memory.
 */
ta_status ta_contour_trace(const double *x, size_t x_count, const double *y, size_t y_count,
                           const double *value, double level, ta_lines *lines);

/**
 * The parts of lines that lie inside a polygon, its outline included.
 *
 * The outline may be concave; where it crosses itself the even-odd rule holds.  A cut end is
 * computed along the outline's edge, so on an edge parallel to an axis it has that edge's
 * coordinate to the last bit.  A closed line that is wholly inside stays closed.
 *
 * @param[in]  outline  Its corners, at least 3; the last is joined to the first.
 * @param[out] inside   Left as it was unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  A pointer is NULL, there are fewer than 3 corners, one is not finite,
 *                          or all are on one line along x or y.
 * @retval TA_ERR_MEMORY    Out of memory.
 */
ta_status ta_lines_clip(const ta_lines *lines, const ta_xy *outline, size_t corner_count,
                        ta_lines *inside);

#endif
