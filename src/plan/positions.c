/* positions.c - a few positions of a boost knob, and the marks at which to switch.
 *
 * Method    A driver switches at a mark, for an elevation is nothing that a driver knows.  Each part
 *           of the course between two marks has its own constant cap; a position that spans several
 *           has the least of theirs.  Which marks to take is settled by dynamic programming over the
 *           parts (Bellman, Dynamic Programming, 1957).
 * Pinned by tests/plan/test_positions.c: against every choice of marks there is.
 */
#include "thinair/positions.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double WORTH_A_POSITION = 1e-6; /* relative, of MAP */

/* Parts between marks: part i runs from point at[i] to point at[i + 1] of the course. */
typedef struct {
  size_t *at;
  ta_constant_cap *cap;
  size_t count;
} parts;

static ta_status cap_of_part(const ta_prepared *prepared, size_t first, size_t last,
                             const ta_profile *profile, ta_constant_cap *cap) {
  ta_event part = *prepared->event;
  ta_prepared cut = *prepared;
  part.course = (ta_course){prepared->event->course.point + first, last - first + 1};
  cut.event = &part;
  return ta_constant_cap_find(&cut, profile, cap);
}

static ta_status parts_make(const ta_prepared *prepared, const ta_profile *profile, parts *p) {
  const ta_course *course = &prepared->event->course;
  p->at = calloc(course->count + 1, sizeof *p->at);
  p->cap = calloc(course->count, sizeof *p->cap);
  ta_status status = p->at != NULL && p->cap != NULL ? TA_OK : TA_ERR_MEMORY;
  for (size_t i = 1; status == TA_OK && i < course->count; i++) {
    if (course->point[i].mark == NULL && i + 1 < course->count) continue;
    p->at[p->count + 1] = i;
    status = cap_of_part(prepared, p->at[p->count], i, profile, &p->cap[p->count]);
    p->count++;
  }
  return status;
}

/* Best score of the first j parts with k positions, and where the last of them begins. */
typedef struct {
  double score;
  size_t from;
} choice;

static const ta_constant_cap *tighter(const ta_constant_cap *a, const ta_constant_cap *b) {
  if (a->can_be_had != b->can_be_had) return a->can_be_had ? b : a;
  return b->set_point < a->set_point ? b : a;
}

static void choose(const ta_prepared *prepared, const parts *p, size_t most, choice *best) {
  const ta_course_point *point = prepared->event->course.point;
  const size_t row = p->count + 1;
  for (size_t k = 0; k <= most; k++)
    for (size_t j = 0; j <= p->count; j++)
      best[k * row + j] = (choice){k == 0 && j == 0 ? 0.0 : -HUGE_VAL, 0};
  for (size_t k = 1; k <= most; k++) {
    for (size_t j = 1; j <= p->count; j++) {
      const ta_constant_cap *cap = &p->cap[j - 1];
      for (size_t i = j; i-- > 0;) { /* the last position spans parts i to j - 1 */
        cap = tighter(cap, &p->cap[i]);
        const double length = point[p->at[j]].distance_m - point[p->at[i]].distance_m;
        /* a cap that cannot be had is worth nothing: it is kept to as short a part as can be */
        const double worth = cap->can_be_had ? cap->set_point * length : 0.0;
        const double score = best[(k - 1) * row + i].score + worth;
        if (score > best[k * row + j].score) best[k * row + j] = (choice){score, i};
      }
    }
  }
}

ta_status ta_positions_find(const ta_prepared *prepared, const ta_profile *profile, size_t most,
                            ta_positions *positions) {
  if (prepared == NULL || profile == NULL || positions == NULL || most == 0) return TA_ERR_ARGUMENT;
  memset(positions, 0, sizeof *positions);
  parts p = {0};
  choice *best = NULL;
  ta_positions found = {0};
  ta_status status = parts_make(prepared, profile, &p);
  if (status != TA_OK) goto done;
  if (most > p.count) most = p.count;
  const size_t row = p.count + 1;
  best = calloc((most + 1) * row, sizeof *best);
  found.position = calloc(most + 1, sizeof *found.position);
  status = TA_ERR_MEMORY;
  if (best == NULL || found.position == NULL) goto done;
  choose(prepared, &p, most, best);
  found.count = 1;
  for (size_t k = 2; k <= most; k++)
    if (best[k * row + p.count].score >
        best[found.count * row + p.count].score * (1.0 + WORTH_A_POSITION))
      found.count = k;
  size_t end = p.count;
  for (size_t k = found.count; k > 0; k--) {
    const size_t from = best[k * row + end].from;
    const ta_course_point *point = &prepared->event->course.point[p.at[from]];
    ta_position *position = &found.position[k - 1];
    *position = (ta_position){.from_mark = point->mark,
                              .from_distance_m = point->distance_m,
                              .from_elevation_m = point->elevation_m,
                              .cap = p.cap[from]};
    for (size_t i = from + 1; i < end; i++) position->cap = *tighter(&position->cap, &p.cap[i]);
    end = from;
  }
  status = TA_OK;
  *positions = found;
  found.position = NULL;
done:
  free(found.position);
  free(best);
  free(p.at);
  free(p.cap);
  return status;
}

void ta_positions_free(ta_positions *positions) {
  if (positions == NULL) return;
  free(positions->position);
  memset(positions, 0, sizeof *positions);
}
