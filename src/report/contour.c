/* contour.c - marching squares, and polylines cut by a polygon.
 *
 * Method    Each edge of the grid is crossed at most once, so a crossing is known by its edge.  A
 *           cell joins its crossings two by two; every crossing then has at most two neighbours, and
 *           following them gives the lines: first those that have an end, then the closed ones.
 *           To cut, every piece of a line is split where it meets the outline, and the parts whose
 *           middle is inside are kept and joined.
 * Pinned by tests/report/test_contour.c.
 */
#include "contour.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

void ta_lines_free(ta_lines *lines) {
  if (lines == NULL) return;
  free(lines->point);
  free(lines->line);
  memset(lines, 0, sizeof *lines);
}

/* ---- lines being made ------------------------------------------------------------------------ */

typedef struct {
  ta_lines lines;
  size_t point_room, line_room;
  bool failed;
} growing;

static void *with_room(void *array, size_t size, size_t wanted, size_t *room, bool *failed) {
  if (*failed || wanted <= *room) return array;
  void *more = realloc(array, 2 * wanted * size);
  *failed = more == NULL;
  if (more == NULL) return array;
  *room = 2 * wanted;
  return more;
}

static void begin_line(growing *g) {
  ta_lines *lines = &g->lines;
  lines->line =
      with_room(lines->line, sizeof *lines->line, lines->line_count + 1, &g->line_room, &g->failed);
  if (!g->failed) lines->line[lines->line_count++] = (ta_span){lines->point_count, 0, false};
}

static bool same(ta_xy a, ta_xy b) {
  return a.x == b.x && a.y == b.y;
}

/* Adds to the newest line; a point where the last one stands already is left out. */
static void add_point(growing *g, ta_xy at) {
  ta_lines *lines = &g->lines;
  lines->point = with_room(lines->point, sizeof *lines->point, lines->point_count + 1,
                           &g->point_room, &g->failed);
  if (g->failed) return;
  ta_span *line = &lines->line[lines->line_count - 1];
  if (line->count > 0 && same(lines->point[lines->point_count - 1], at)) return;
  lines->point[lines->point_count++] = at;
  line->count++;
}

/* A closed line has three points or more, an open one two. */
static void end_line(growing *g, bool closed) {
  if (g->failed) return;
  ta_lines *lines = &g->lines;
  ta_span *line = &lines->line[lines->line_count - 1];
  if (closed && line->count > 1 &&
      same(lines->point[line->first], lines->point[line->first + line->count - 1])) {
    line->count--;
    lines->point_count--;
  }
  line->closed = closed && line->count > 2;
  if (line->count > 1) return;
  lines->point_count = line->first;
  lines->line_count--;
}

static ta_status hand_over(growing *g, ta_lines *lines) {
  if (g->failed) {
    ta_lines_free(&g->lines);
    return TA_ERR_MEMORY;
  }
  *lines = g->lines;
  return TA_OK;
}

/* ---- tracing --------------------------------------------------------------------------------- */

static const size_t NONE = SIZE_MAX;

typedef struct {
  size_t neighbour[2];
} crossing;

/* Edges along x come first, row by row; then those along y. */
typedef struct {
  const double *x, *y, *value;
  size_t nx, ny;
  double level;
} grid;

static size_t edge_along_x(const grid *g, size_t i, size_t j) {
  return j * (g->nx - 1) + i;
}

static size_t edge_along_y(const grid *g, size_t i, size_t j) {
  return g->ny * (g->nx - 1) + j * g->nx + i;
}

static ta_xy crossing_at(const grid *g, size_t edge) {
  const size_t along_x = g->ny * (g->nx - 1), left = edge - along_x;
  const bool flat = edge < along_x;
  const size_t i = flat ? edge % (g->nx - 1) : left % g->nx,
               j = flat ? edge / (g->nx - 1) : left / g->nx;
  const size_t next_i = flat ? i + 1 : i, next_j = flat ? j : j + 1;
  const double a = g->value[j * g->nx + i], b = g->value[next_j * g->nx + next_i];
  const double t = (g->level - a) / (b - a);
  return (ta_xy){g->x[i] + t * (g->x[next_i] - g->x[i]), g->y[j] + t * (g->y[next_j] - g->y[j])};
}

static void join(crossing *at, size_t a, size_t b) {
  at[a].neighbour[at[a].neighbour[0] == NONE ? 0 : 1] = b;
  at[b].neighbour[at[b].neighbour[0] == NONE ? 0 : 1] = a;
}

static void join_in_cell(const grid *g, size_t i, size_t j, crossing *at) {
  const double corner[4] = {g->value[j * g->nx + i], g->value[j * g->nx + i + 1],
                            g->value[(j + 1) * g->nx + i + 1], g->value[(j + 1) * g->nx + i]};
  /* edge k leads from corner k to the next one around */
  const size_t edge[4] = {edge_along_x(g, i, j), edge_along_y(g, i + 1, j),
                          edge_along_x(g, i, j + 1), edge_along_y(g, i, j)};
  size_t crossed[4], count = 0;
  for (size_t k = 0; k < 4; k++) {
    if (!isfinite(corner[k])) return;
    if ((corner[k] >= g->level) != (corner[(k + 1) % 4] >= g->level)) crossed[count++] = edge[k];
  }
  if (count == 2) join(at, crossed[0], crossed[1]);
  if (count < 4) return;
  const double middle = 0.25 * (corner[0] + corner[1] + corner[2] + corner[3]);
  /* the corners that differ from the middle are cut off, each by a line of its own */
  const size_t cut = (middle >= g->level) == (corner[0] >= g->level) ? 0 : 1;
  join(at, crossed[cut], crossed[cut + 1]);
  join(at, crossed[cut + 2], crossed[(cut + 3) % 4]);
}

static void follow(const grid *g, crossing *at, size_t from, bool closed, growing *made) {
  begin_line(made);
  for (size_t edge = from; edge != NONE && !made->failed;) {
    add_point(made, crossing_at(g, edge));
    const size_t next =
        at[edge].neighbour[0] != NONE ? at[edge].neighbour[0] : at[edge].neighbour[1];
    at[edge].neighbour[0] = at[edge].neighbour[1] = NONE;
    if (next != NONE) /* no way back */
      at[next].neighbour[at[next].neighbour[0] == edge ? 0 : 1] = NONE;
    edge = next;
  }
  end_line(made, closed);
}

static bool rising(const double *v, size_t count) {
  for (size_t i = 0; i < count; i++)
    if (!isfinite(v[i]) || (i > 0 && !(v[i - 1] < v[i]))) return false;
  return true;
}

ta_status ta_contour_trace(const double *x, size_t x_count, const double *y, size_t y_count,
                           const double *value, double level, ta_lines *lines) {
  if (x == NULL || y == NULL || value == NULL || lines == NULL || x_count < 2 || y_count < 2 ||
      !isfinite(level) || !rising(x, x_count) || !rising(y, y_count))
    return TA_ERR_ARGUMENT;
  const grid g = {x, y, value, x_count, y_count, level};
  const size_t edges = y_count * (x_count - 1) + (y_count - 1) * x_count;
  crossing *at = malloc(edges * sizeof *at);
  if (at == NULL) return TA_ERR_MEMORY;
  for (size_t k = 0; k < edges; k++) at[k] = (crossing){{NONE, NONE}};
  for (size_t j = 0; j + 1 < y_count; j++)
    for (size_t i = 0; i + 1 < x_count; i++) join_in_cell(&g, i, j, at);
  growing made = {0};
  for (size_t k = 0; k < edges; k++)
    if (at[k].neighbour[0] != NONE && at[k].neighbour[1] == NONE) follow(&g, at, k, false, &made);
  for (size_t k = 0; k < edges; k++)
    if (at[k].neighbour[0] != NONE) follow(&g, at, k, true, &made);
  free(at);
  return hand_over(&made, lines);
}

/* ---- cutting --------------------------------------------------------------------------------- */

static const double CLOSE = 1e-12; /* of the outline's width and height, or of a piece's length */

typedef struct {
  const ta_xy *corner;
  size_t count;
  double per_width, per_height; /* the two directions may have very different units */
} polygon;

static ta_xy scaled(const polygon *o, ta_xy from, ta_xy to) {
  return (ta_xy){(to.x - from.x) * o->per_width, (to.y - from.y) * o->per_height};
}

static double dot(ta_xy a, ta_xy b) {
  return a.x * b.x + a.y * b.y;
}

static double cross(ta_xy a, ta_xy b) {
  return a.x * b.y - a.y * b.x;
}

/* Whether p lies on the piece from a to b, and at which share of it. */
static bool is_on(const polygon *o, ta_xy a, ta_xy b, ta_xy p, double *share) {
  const ta_xy piece = scaled(o, a, b), to_p = scaled(o, a, p);
  const double length2 = dot(piece, piece);
  *share = length2 > 0.0 ? fmin(fmax(dot(to_p, piece) / length2, 0.0), 1.0) : 0.0;
  return hypot(to_p.x - *share * piece.x, to_p.y - *share * piece.y) <= CLOSE;
}

static bool is_inside(const polygon *o, ta_xy p) {
  bool odd = false;
  for (size_t i = 0; i < o->count; i++) {
    const ta_xy a = o->corner[i], b = o->corner[(i + 1) % o->count];
    double share;
    if (is_on(o, a, b, p, &share)) return true;
    if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
      odd = !odd;
  }
  return odd;
}

typedef struct {
  double share; /* of the piece */
  ta_xy at;
} meeting;

static int by_share(const void *a, const void *b) {
  const double first = ((const meeting *)a)->share, second = ((const meeting *)b)->share;
  return (first > second) - (first < second);
}

/* Where the piece from p to q meets the outline, in order, and q; room for 2 count + 1. */
static size_t meetings(const polygon *o, ta_xy p, ta_xy q, meeting *met) {
  const ta_xy piece = scaled(o, p, q);
  size_t count = 0;
  for (size_t i = 0; i < o->count; i++) {
    const ta_xy a = o->corner[i], b = o->corner[(i + 1) % o->count];
    const ta_xy edge = scaled(o, a, b), to_a = scaled(o, p, a);
    double share;
    if (is_on(o, p, q, a, &share)) met[count++] = (meeting){share, a};
    const double turn = cross(piece, edge);
    if (turn == 0.0) continue; /* parallel: an edge that the piece runs along is split at corners */
    share = cross(to_a, edge) / turn;
    const double along = cross(to_a, piece) / turn;
    if (share > 0.0 && share < 1.0 && along >= 0.0 && along <= 1.0)
      met[count++] = (meeting){share, {a.x + along * (b.x - a.x), a.y + along * (b.y - a.y)}};
  }
  qsort(met, count, sizeof *met, by_share);
  met[count++] = (meeting){1.0, q};
  return count;
}

typedef struct {
  ta_xy from, to;
  bool inside;
} part;

typedef struct {
  part *part;
  size_t count, room;
} parts;

/* The pieces of a line, split where they meet the outline. */
static void split(const polygon *o, const ta_xy *point, ta_span line, meeting *met, parts *all,
                  bool *failed) {
  const size_t pieces = line.closed ? line.count : line.count - 1;
  all->count = 0;
  for (size_t k = 0; k < pieces; k++) {
    meeting from = {0.0, point[line.first + k]};
    const size_t count = meetings(o, from.at, point[line.first + (k + 1) % line.count], met);
    all->part = with_room(all->part, sizeof *all->part, all->count + count, &all->room, failed);
    if (*failed) return;
    for (size_t i = 0; i < count; i++) {
      if (!(met[i].share > from.share + CLOSE)) continue;
      const ta_xy a = from.at, b = met[i].at, middle = {0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
      all->part[all->count++] = (part){a, b, is_inside(o, middle)};
      from = met[i];
    }
  }
}

/* The inside parts, joined.  A closed line is walked from a part that is outside, if there is one,
 * so that no line begins in its midst. */
static void join_inside(const parts *all, bool closed, growing *made) {
  size_t start = 0;
  while (closed && start < all->count && all->part[start].inside) start++;
  const bool whole = closed && start == all->count;
  bool drawing = false;
  for (size_t k = 0; k < all->count && !made->failed; k++) {
    const part *p = &all->part[(start + k) % all->count];
    if (p->inside && !drawing) {
      begin_line(made);
      add_point(made, p->from);
    }
    if (p->inside) add_point(made, p->to);
    if (!p->inside && drawing) end_line(made, false);
    drawing = p->inside;
  }
  if (drawing) end_line(made, whole);
}

ta_status ta_lines_clip(const ta_lines *lines, const ta_xy *outline, size_t corner_count,
                        ta_lines *inside) {
  if (lines == NULL || outline == NULL || inside == NULL || corner_count < 3)
    return TA_ERR_ARGUMENT;
  ta_xy low = outline[0], high = outline[0];
  for (size_t i = 0; i < corner_count; i++) {
    if (!isfinite(outline[i].x) || !isfinite(outline[i].y)) return TA_ERR_ARGUMENT;
    low = (ta_xy){fmin(low.x, outline[i].x), fmin(low.y, outline[i].y)};
    high = (ta_xy){fmax(high.x, outline[i].x), fmax(high.y, outline[i].y)};
  }
  if (!(low.x < high.x) || !(low.y < high.y)) return TA_ERR_ARGUMENT;
  const polygon o = {outline, corner_count, 1.0 / (high.x - low.x), 1.0 / (high.y - low.y)};
  meeting *met = malloc((2 * corner_count + 1) * sizeof *met);
  if (met == NULL) return TA_ERR_MEMORY;
  parts all = {0};
  growing made = {0};
  for (size_t i = 0; i < lines->line_count && !made.failed; i++) {
    split(&o, lines->point, lines->line[i], met, &all, &made.failed);
    if (!made.failed) join_inside(&all, lines->line[i].closed, &made);
  }
  free(all.part);
  free(met);
  return hand_over(&made, inside);
}
