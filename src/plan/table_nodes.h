/* table_nodes.h - the nodes of a table over two axes that stays below a ceiling. */
#ifndef THINAIR_PLAN_TABLE_NODES_H
#define THINAIR_PLAN_TABLE_NODES_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/status.h"

/** How the reader of a table takes values off its nodes. */
typedef enum {
  TA_TABLE_LINEAR, /* bilinear between the four nodes around */
  TA_TABLE_STEP    /* the node at or below on both axes */
} ta_table_reading;

/** A table over two rising axes.  Beyond an axis its end holds; an axis may have one node. */
typedef struct {
  const double *x, *y;
  size_t x_count, y_count;
  ta_table_reading reading;
  double *value; /* [x_count][y_count]; the caller's */
  bool above_x;  /* values stand above x, as boost does above ambient pressure */
} ta_table_nodes;

/** How far the table stands below its ceiling, 1 - table/ceiling, over the samples; of values that
 *  stand above x with x added to both. */
typedef struct {
  double mean, worst;
} ta_give_away;

/** Fills value[count] with the ceiling at the places (x, y).  A status other than TA_OK ends the
 *  fit. */
typedef ta_status (*ta_ceiling)(void *context, const double *x, const double *y, size_t count,
                                double *value);

/**
 * Set the nodes so that the table, as its reader takes it, nowhere between its first and last nodes
 * stands above the ceiling, and no linear node alone could be higher.
 *
 * The ceiling is asked once, for all samples: each cell's sides in quarters, nodes included.
 * Between samples it is guarded against the dips that bends seen by the samples allow: smooth
 * curvature, kinks anywhere, and a kink up that is clipped level beside it.  A dip that falls
 * between samples as a whole, or several kinks in one quarter of a cell, may be missed.
 *
 * @param[in]     resolution  Step of the values [the values' unit]; nodes are whole multiples of
 *                            it, rounded down but for 1e-9 of a step.  0: not rounded.
 * @param[in,out] table       Its values are set.
 * @param[out]    give_away   May be NULL.
 *
 * @retval TA_ERR_ARGUMENT  Something is NULL, an axis is empty or does not rise or is not finite,
 *                          or the resolution is negative or not finite.
 * @retval TA_ERR_DOMAIN    The ceiling is not positive and finite somewhere.
 * @retval TA_ERR_MEMORY    No room for the samples.
 * @return else what the ceiling said.  Values and give-away are untouched unless TA_OK.
 */
ta_status ta_table_nodes_fit(ta_table_nodes *table, ta_ceiling ceiling, void *context,
                             double resolution, ta_give_away *give_away);

/** The table as its reader takes it, at any place. */
double ta_table_nodes_read(const ta_table_nodes *table, double x, double y);

#endif
