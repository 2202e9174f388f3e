/* sweep.h - a what-if matrix: the plan's main figures at every combination of some keys' values. */
#ifndef THINAIR_SWEEP_H
#define THINAIR_SWEEP_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/caps.h"
#include "thinair/prepare.h"
#include "thinair/schema.h"
#include "thinair/status.h"

enum {
  TA_SWEEP_KEYS_MAX = 8,
  TA_SWEEP_CELLS_MAX = 100000,
  TA_SWEEP_TIMED_MAX = 400, /* combinations in which the run is driven unasked */
  TA_SWEEP_VALUE_MAX = TA_FILE_MAX,
  TA_SWEEP_MARK_MAX = 104
};

/** The values of one key. */
typedef struct {
  char key[TA_KEY_MAX];
  const ta_field *field;
  const ta_unit *unit; /* of numbers; NULL: the values are words or names of files */
  double *si;          /* numbers */
  char **word;         /* words, as typed */
  size_t count;
} ta_sweep_axis;

/**
 * Read "KEY=A:B:N" (N values, even from A to B), "KEY=A,B,..." or, for keys that hold a word or the
 * name of a file, "KEY=word,word,...".  A number without a unit takes that of the last one.
 *
 * @param[out] axis  To be freed with ta_sweep_axis_free.  Zeroed on failure.
 * @param[out] why   On failure: what was found and what is taken.
 * @retval TA_ERR_ARGUMENT  No such key, a value that is none of the key's, fewer than two values.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_sweep_axis_parse(const char *text, ta_sweep_axis *axis, char *why, size_t why_size);
void ta_sweep_axis_free(ta_sweep_axis *axis);

/** A value in the unit that was typed, with that many digits: 6 to read, 17 to give on. */
const char *ta_sweep_value_text(const ta_sweep_axis *axis, size_t value, int digits,
                                char text[TA_SWEEP_VALUE_MAX]);

/** The symbol and its JSON name. */
#define TA_SWEEP_STATE_ROWS(X)                                                    \
  X(TA_SWEEP_UNSOLVED, NULL)     /* no answer: `why` says so */                   \
  X(TA_SWEEP_OVER, "over")       /* the limit is passed somewhere */              \
  X(TA_SWEEP_WITHIN, "within")   /* it is not; the map's own error not counted */ \
  X(TA_SWEEP_UNKNOWN, "unknown") /* it is not, but the worst point is unreliable */

typedef enum {
#define X(symbol, name) symbol,
  TA_SWEEP_STATE_ROWS(X)
#undef X
      TA_SWEEP_STATE_COUNT
} ta_sweep_state;

/** "over", "within", "unknown"; NULL: unsolved. */
const char *ta_sweep_state_name(ta_sweep_state state);

/** One combination.  Judged as a plan is: at the goal, overshoot on, over ta_judged_speeds. */
typedef struct {
  ta_sweep_state state;
  char why[TA_KEY_MAX + TA_MESSAGE_MAX]; /* where unsolved: the reason */
  double worst_rpm;                      /* INFINITY: past what the compressor map can tell */
  double worst_over_limit;
  double summit_rpm;     /* worst of the window at the highest place; may be INFINITY too */
  double first_over_m;   /* distance of the first crossing; with TA_SWEEP_OVER, as all of first_ */
  double first_height_m; /* its elevation */
  char first_mark[TA_SWEEP_MARK_MAX]; /* the mark nearest to it; "": none */
  bool has_cap;                       /* false: even the lowest set-point passes the limit */
  double cap_map_pa;                  /* the constant cap as MAP at the start */
  double cap_boost_pa;                /* and as boost there */
  ta_limited_by limited_by;
  double power_w; /* at the cap, at the place and engine speed that set it */
  bool has_surge_margin;
  double surge_margin; /* at the highest place, lowest engine speed of the window, at the goal:
                          corrected flow over that of the surge line at the same pressure ratio,
                          less 1; below 0 in surge */
  bool has_time;       /* asked for, known, with a cap that can be had and lets the car climb */
  double time_s;       /* of the run at the constant cap, as a plan tells it */
} ta_sweep_cell;

/** Cells in order: the last key's value changes from cell to cell. */
typedef struct {
  const ta_sweep_axis *axis; /* borrowed */
  size_t axis_count;
  ta_sweep_cell *cell;
  size_t cell_count;
  bool
      timed; /* the run is driven in every cell: the dearer half of it.  As made: where there are no
                 more than TA_SWEEP_TIMED_MAX */
} ta_sweep;

/**
 * Room for all combinations.
 * @param[out] sweep  To be freed with ta_sweep_free.  Zeroed on failure.
 * @retval TA_ERR_DOMAIN  More than TA_SWEEP_CELLS_MAX.
 */
ta_status ta_sweep_make(const ta_sweep_axis *axis, size_t axis_count, ta_sweep *sweep);
void ta_sweep_free(ta_sweep *sweep);

/** Number of the value of an axis in a cell. */
size_t ta_sweep_value_of(const ta_sweep *sweep, size_t cell, size_t axis);

#define TA_SWEEP_VARIED ((size_t)-1)

/**
 * Solve the cells of one prepared event.
 *
 * @param[in] base   Read with the values that `fixed` names.
 * @param[in] fixed  For each axis the number of its value that base holds, or TA_SWEEP_VARIED for
 *                   numbers to be set in forks of it.
 * @param[in] keep_on, context  Asked before each cell; once it says no, the rest stays unsolved.
 * @retval TA_ERR_MEMORY
 * Threads   Spread over cells; bits do not depend on their number.
 */
ta_status ta_sweep_solve(ta_sweep *sweep, const ta_prepared *base, const size_t *fixed,
                         bool (*keep_on)(void *context), void *context);

/** The reason why the cells of an event that could not be read have no answer. */
void ta_sweep_refuse(ta_sweep *sweep, const size_t *fixed, const char *why);

#endif
