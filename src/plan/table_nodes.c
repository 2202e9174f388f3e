/* table_nodes.c - the nodes of a table over two axes that stays below a ceiling.
 *
 * Method    Each node starts at the ceiling, is lowered by the largest excess of the table in any
 *           cell it touches, and is then raised, one after the other, to first contact with a
 *           sample.  A node in contact stays so whatever the others do, so one pass leaves none
 *           that could be raised.  On ceilings like those of a boost cap a linear program over the
 *           same samples gains less than 0.01 % of the value on that.
 * Guard     The table is bilinear between samples, so where it keeps below the samples of the
 *           ceiling it keeps below their bilinear surface, and the samples are first lowered by as
 *           much as the ceiling may dip below that surface: the dips along both axes, added.
 * Limits    A dip that no sample shows is not seen.
 * Pinned by tests/plan/test_table_nodes.c, on grids finer than the samples and off them.
 */
#include "table_nodes.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

enum { FINE = 4 };                    /* samples a cell and axis */
static const double ON_A_STEP = 1e-9; /* of the resolution */

/* ---- reading --------------------------------------------------------------------------------- */

/* The node at or below, and the share of the way to the next one. */
static size_t node_below(const double *node, size_t count, double at, double *share) {
  *share = 0.0;
  size_t i = count - 1;
  while (i > 0 && !(at >= node[i])) i--;
  if (i + 1 < count && at > node[i]) *share = (at - node[i]) / (node[i + 1] - node[i]);
  return i;
}

double ta_table_nodes_read(const ta_table_nodes *table, double x, double y) {
  double along_x, along_y;
  const size_t i = node_below(table->x, table->x_count, x, &along_x);
  const size_t j = node_below(table->y, table->y_count, y, &along_y);
  const double *low = &table->value[i * table->y_count + j];
  if (table->reading == TA_TABLE_STEP) return *low;
  const double *high = along_x > 0.0 ? low + table->y_count : low;
  const size_t next = along_y > 0.0 ? 1 : 0;
  const double at_low = low[0] + along_y * (low[next] - low[0]);
  const double at_high = high[0] + along_y * (high[next] - high[0]);
  return at_low + along_x * (at_high - at_low);
}

/* ---- samples of the ceiling ------------------------------------------------------------------ */

typedef struct {
  size_t x_count, y_count;
  double *x, *y; /* of each sample, [x_count][y_count] as are all */
  double *ceiling;
  double *highest; /* the ceiling less the guard */
  double *room;    /* from the table to that */
} samples;

static size_t sample_count(size_t nodes) {
  return FINE * (nodes - 1) + 1;
}

static double sample_at(const double *node, size_t sample) {
  const size_t i = sample / FINE, k = sample % FINE;
  return k == 0 ? node[i] : node[i] + (node[i + 1] - node[i]) * (double)k / FINE;
}

static ta_status take_samples(const ta_table_nodes *table, ta_ceiling ceiling, void *context,
                              samples *s) {
  const size_t count = s->x_count * s->y_count;
  for (size_t a = 0; a < s->x_count; a++)
    for (size_t b = 0; b < s->y_count; b++) {
      s->x[a * s->y_count + b] = sample_at(table->x, a);
      s->y[a * s->y_count + b] = sample_at(table->y, b);
    }
  const ta_status status = ceiling(context, s->x, s->y, count, s->ceiling);
  if (status != TA_OK) return status;
  for (size_t k = 0; k < count; k++)
    if (!(s->ceiling[k] > 0.0 && isfinite(s->ceiling[k]))) return TA_ERR_DOMAIN;
  return TA_OK;
}

/* A line of samples along one axis, and the one beside it. */
typedef struct {
  const double *at, *ceiling;
  size_t count, along, across; /* strides: to the next sample, to the line beside */
} line;

/* By how much the slope rises at a sample; past the ends it may rise by anything.  The larger of
 * both lines counts: a bend that runs askew shows at different samples of them. */
static double slope_rise(const line *l, size_t sample) {
  if (sample == 0 || sample + 1 >= l->count) return HUGE_VAL;
  const size_t before = (sample - 1) * l->along, here = before + l->along, after = here + l->along;
  const double step = l->at[here] - l->at[before], next_step = l->at[after] - l->at[here];
  const double *a = l->ceiling, *b = a + l->across;
  return fmax((a[after] - a[here]) / next_step - (a[here] - a[before]) / step,
              (b[after] - b[here]) / next_step - (b[here] - b[before]) / step);
}

/* How far the ceiling may dip below the chord over one interval h between samples, where the slope
 * rises by a and b at its ends.
 *
 *     both rise  h a b/(a + b)  where the chords before and after, made longer, meet: nothing
 *                               convex through the samples lies lower
 *     one rises  h c            a bend down hides one up, and the one chord alone holds; on a
 *                               cell's edge by no more than the bend down that is seen, as a kink
 *                               there stands at a sample and is no dip
 *
 * Where the ceiling bends down on both sides of all that, their mean, and no more than twice the
 * lesser, is added to a and b first: the ceiling plus such a parabola is convex, and dips more. */
static double chord_dip(const line *l, size_t interval) {
  if (l->count == 1) return 0.0;
  const size_t last = l->count - 2, k = interval;
  const double beside = slope_rise(l, k > 1 ? k - 1 : (k + 4 < last ? k + 4 : last));
  const double beyond = slope_rise(l, k + 2 <= last ? k + 2 : (k > 3 ? k - 3 : 1));
  const double down = fmax(0.0, fmin(-0.5 * (beside + beyond), -2.0 * fmax(beside, beyond)));
  const double before = slope_rise(l, k) + down, after = slope_rise(l, k + 1) + down;
  const double inside = fmax(k % FINE > 0 ? before : 0.0, (k + 1) % FINE > 0 ? after : 0.0);
  const double least = fmin(before, after), most = fmax(before, after);
  const double hidden = isinf(most) ? 0.0 : fmin(most, -least);
  const double rise = least > 0.0 ? least / (1.0 + least / most) : fmax(fmax(inside, hidden), 0.0);
  return (l->at[(k + 1) * l->along] - l->at[k * l->along]) * rise;
}

static void lower_by_guard(samples *s) {
  for (size_t k = 0; k < s->x_count * s->y_count; k++) s->highest[k] = s->ceiling[k];
  const size_t to_next_x = s->x_count > 1 ? s->y_count : 0, to_next_y = s->y_count > 1 ? 1 : 0;
  /* cells between samples; along an axis with one sample they are flat */
  for (size_t a = 0; a + 1 < s->x_count || a == 0; a++)
    for (size_t b = 0; b + 1 < s->y_count || b == 0; b++) {
      const line along_x = {&s->x[b], &s->ceiling[b], s->x_count, to_next_x, to_next_y};
      const size_t row = a * s->y_count;
      const line along_y = {&s->y[row], &s->ceiling[row], s->y_count, to_next_y, to_next_x};
      const double dip = chord_dip(&along_x, a) + chord_dip(&along_y, b);
      for (size_t i = 0; i < 2; i++)
        for (size_t j = 0; j < 2; j++) {
          const size_t corner = row + b + i * to_next_x + j * to_next_y;
          s->highest[corner] = fmin(s->highest[corner], s->ceiling[corner] - dip);
        }
    }
}

/* ---- setting the nodes ----------------------------------------------------------------------- */

/* The samples of the cells that a node touches, along one axis: first and one past the last. */
typedef struct {
  size_t first, end;
} reach;

static reach reach_of(size_t node, size_t cells_below, size_t count) {
  const size_t at = node * FINE, end = at + FINE + 1;
  return (reach){at - (node > 0 ? cells_below * FINE : 0), end < count ? end : count};
}

/* Share of a node in the linear table at a sample within its reach. */
static double share_of(size_t node, size_t sample) {
  const size_t at = node * FINE;
  return 1.0 - (double)(sample > at ? sample - at : at - sample) / FINE;
}

static double round_down(double value, double resolution) {
  return resolution > 0.0 ? resolution * floor(value / resolution + ON_A_STEP) : value;
}

/* A node's value moves by `rise`. */
static void take_room(samples *s, size_t i, size_t j, double rise) {
  const reach x = reach_of(i, 1, s->x_count), y = reach_of(j, 1, s->y_count);
  for (size_t a = x.first; a < x.end; a++)
    for (size_t b = y.first; b < y.end; b++)
      s->room[a * s->y_count + b] -= share_of(i, a) * share_of(j, b) * rise;
}

static void find_room(const ta_table_nodes *table, samples *s) {
  for (size_t k = 0; k < s->x_count * s->y_count; k++) s->room[k] = s->highest[k];
  for (size_t i = 0; i < table->x_count; i++)
    for (size_t j = 0; j < table->y_count; j++)
      take_room(s, i, j, table->value[i * table->y_count + j]);
}

/* The least of a field over the cells that a node touches, up from the cells below it or not. */
static double least_within(const samples *s, const double *field, size_t i, size_t j,
                           size_t cells_below) {
  const reach x = reach_of(i, cells_below, s->x_count), y = reach_of(j, cells_below, s->y_count);
  double least = HUGE_VAL;
  for (size_t a = x.first; a < x.end; a++)
    for (size_t b = y.first; b < y.end; b++) least = fmin(least, field[a * s->y_count + b]);
  return least;
}

/* By how much one node may rise until the table meets a sample. */
static double rise_to_contact(const samples *s, size_t i, size_t j) {
  const reach x = reach_of(i, 1, s->x_count), y = reach_of(j, 1, s->y_count);
  double rise = HUGE_VAL;
  for (size_t a = x.first; a < x.end; a++)
    for (size_t b = y.first; b < y.end; b++) {
      const double share = share_of(i, a) * share_of(j, b);
      if (share > 0.0) rise = fmin(rise, s->room[a * s->y_count + b] / share);
    }
  return rise;
}

static void raise_nodes(ta_table_nodes *table, samples *s, double resolution) {
  for (size_t i = 0; i < table->x_count; i++)
    for (size_t j = 0; j < table->y_count; j++) {
      double *value = &table->value[i * table->y_count + j];
      const double raised = round_down(*value + rise_to_contact(s, i, j), resolution);
      take_room(s, i, j, raised - *value);
      *value = raised;
    }
}

static void set_linear(ta_table_nodes *table, samples *s, double resolution) {
  for (size_t i = 0; i < table->x_count; i++)
    for (size_t j = 0; j < table->y_count; j++)
      table->value[i * table->y_count + j] = s->highest[(i * s->y_count + j) * FINE];
  find_room(table, s);
  for (size_t i = 0; i < table->x_count; i++)
    for (size_t j = 0; j < table->y_count; j++)
      table->value[i * table->y_count + j] += fmin(0.0, least_within(s, s->room, i, j, 1));
  find_room(table, s);
  raise_nodes(table, s, 0.0);
  if (!(resolution > 0.0)) return;
  /* what all lose by rounding lets some rise by a step */
  for (size_t n = 0; n < table->x_count * table->y_count; n++)
    table->value[n] = round_down(table->value[n], resolution);
  find_room(table, s);
  raise_nodes(table, s, resolution);
}

static void set_steps(ta_table_nodes *table, const samples *s, double resolution) {
  for (size_t i = 0; i < table->x_count; i++)
    for (size_t j = 0; j < table->y_count; j++)
      table->value[i * table->y_count + j] =
          round_down(least_within(s, s->highest, i, j, 0), resolution);
}

static ta_give_away give_away_of(const ta_table_nodes *table, const samples *s) {
  const size_t count = s->x_count * s->y_count;
  ta_give_away away = {0.0, 0.0};
  for (size_t k = 0; k < count; k++) {
    const double below = s->ceiling[k] - ta_table_nodes_read(table, s->x[k], s->y[k]),
                 lost = below / (s->ceiling[k] + (table->above_x ? s->x[k] : 0.0));
    away.mean += lost / (double)count;
    away.worst = fmax(away.worst, lost);
  }
  return away;
}

static bool rises(const double *node, size_t count) {
  if (node == NULL || count == 0 || !isfinite(node[0]) || !isfinite(node[count - 1])) return false;
  for (size_t i = 1; i < count; i++)
    if (!(node[i] > node[i - 1])) return false;
  return true;
}

ta_status ta_table_nodes_fit(ta_table_nodes *table, ta_ceiling ceiling, void *context,
                             double resolution, ta_give_away *give_away) {
  if (table == NULL || table->value == NULL || ceiling == NULL || resolution < 0.0 ||
      !isfinite(resolution) || !rises(table->x, table->x_count) || !rises(table->y, table->y_count))
    return TA_ERR_ARGUMENT;
  samples s = {.x_count = sample_count(table->x_count), .y_count = sample_count(table->y_count)};
  const size_t count = s.x_count * s.y_count;
  double *memory = calloc(count, 5 * sizeof *memory);
  if (memory == NULL) return TA_ERR_MEMORY;
  s.x = memory;
  s.y = s.x + count;
  s.ceiling = s.y + count;
  s.highest = s.ceiling + count;
  s.room = s.highest + count;
  const ta_status status = take_samples(table, ceiling, context, &s);
  if (status == TA_OK) {
    lower_by_guard(&s);
    if (table->reading == TA_TABLE_STEP)
      set_steps(table, &s, resolution);
    else
      set_linear(table, &s, resolution);
    if (give_away != NULL) *give_away = give_away_of(table, &s);
  }
  free(memory);
  return status;
}
