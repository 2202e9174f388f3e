/* Contours against closed forms, and lines cut by outlines. */
#include "report/contour.h"

#include <stdlib.h>

#include "test.h"

static const double PI = 3.14159265358979323846;

enum { NX = 83, NY = 71 };

typedef struct {
  double x[NX], y[NY], value[NX * NY];
} sampled;

/* Nodes that crowd together, over -1.31 to 1.37 and -1.23 to 1.29. */
static void sample(sampled *s, double (*f)(double x, double y)) {
  for (size_t i = 0; i < NX; i++) {
    const double t = (double)i / (NX - 1);
    s->x[i] = -1.31 + 2.68 * (t + 0.03 * sin(2.0 * PI * t));
  }
  for (size_t j = 0; j < NY; j++) {
    const double t = (double)j / (NY - 1);
    s->y[j] = -1.23 + 2.52 * (t - 0.02 * sin(2.0 * PI * t));
  }
  for (size_t j = 0; j < NY; j++)
    for (size_t i = 0; i < NX; i++) s->value[j * NX + i] = f(s->x[i], s->y[j]);
}

static ta_lines traced(const sampled *s, double level) {
  ta_lines lines;
  assert_int_equal(ta_contour_trace(s->x, NX, s->y, NY, s->value, level, &lines), TA_OK);
  return lines;
}

static ta_lines clipped(const ta_lines *lines, const ta_xy *corner, size_t count) {
  ta_lines inside;
  assert_int_equal(ta_lines_clip(lines, corner, count, &inside), TA_OK);
  return inside;
}

static double length_of(const ta_lines *lines) {
  double length = 0.0;
  for (size_t k = 0; k < lines->line_count; k++) {
    const ta_span *line = &lines->line[k];
    for (size_t i = 0; i + (line->closed ? 0 : 1) < line->count; i++) {
      const ta_xy a = lines->point[line->first + i],
                  b = lines->point[line->first + (i + 1) % line->count];
      length += hypot(b.x - a.x, b.y - a.y);
    }
  }
  return length;
}

/* Spans lie one behind the other and use all points; no point is repeated. */
static void assert_sound(const ta_lines *lines) {
  size_t used = 0;
  for (size_t k = 0; k < lines->line_count; k++) {
    const ta_span *line = &lines->line[k];
    assert_int_equal(line->first, used);
    assert_true(line->count >= (line->closed ? 3 : 2));
    for (size_t i = 0; i + (line->closed ? 0 : 1) < line->count; i++) {
      const ta_xy a = lines->point[line->first + i],
                  b = lines->point[line->first + (i + 1) % line->count];
      assert_true(a.x != b.x || a.y != b.y);
    }
    used += line->count;
  }
  assert_int_equal(lines->point_count, used);
}

/* ---- tracing --------------------------------------------------------------------------------- */

static double radius(double x, double y) {
  return hypot(x - 0.037, y + 0.021);
}

static void a_circle_is_one_closed_line(void **state) {
  (void)state;
  static sampled s;
  sample(&s, radius);
  const double r = 0.8173;
  ta_lines lines = traced(&s, r);
  assert_sound(&lines);
  assert_int_equal(lines.line_count, 1);
  assert_true(lines.line[0].closed);
  /* between two nodes h apart the radius is off a straight line by h^2 / (8 r) at the most */
  const double h = 0.0436, sag = h * h / (8.0 * r);
  double area = 0.0;
  int bad = 0;
  for (size_t i = 0; i < lines.point_count; i++) {
    const ta_xy a = lines.point[i], b = lines.point[(i + 1) % lines.point_count];
    bad += off("point", "radius", radius(a.x, a.y), r, sag);
    area += 0.5 * (a.x * b.y - a.y * b.x);
  }
  bad += off_rel("circle", "area", fabs(area), PI * r * r, 1e-3);
  bad += off_rel("circle", "length", length_of(&lines), 2.0 * PI * r, 1e-3);
  assert_int_equal(bad, 0);
  ta_lines_free(&lines);
}

static double plane(double x, double y) {
  return 0.71 * x - 0.43 * y;
}

static void a_plane_gives_the_straight_line_itself(void **state) {
  (void)state;
  static sampled s;
  sample(&s, plane);
  ta_lines lines = traced(&s, 0.113);
  assert_sound(&lines);
  assert_int_equal(lines.line_count, 1);
  assert_false(lines.line[0].closed);
  int bad = 0;
  for (size_t i = 0; i < lines.point_count; i++)
    bad += off("plane", "value", plane(lines.point[i].x, lines.point[i].y), 0.113, 1e-14);
  /* from edge to edge: x = (0.113 + 0.43 y) / 0.71 at the lower and at the upper edge */
  const ta_xy ends[2] = {lines.point[0], lines.point[lines.point_count - 1]};
  const size_t lower = ends[0].y < ends[1].y ? 0 : 1;
  bad += off("lower", "y", ends[lower].y, s.y[0], 0.0);
  bad += off("lower", "x", ends[lower].x, (0.113 + 0.43 * s.y[0]) / 0.71, 1e-14);
  bad += off("upper", "y", ends[1 - lower].y, s.y[NY - 1], 0.0);
  bad += off("upper", "x", ends[1 - lower].x, (0.113 + 0.43 * s.y[NY - 1]) / 0.71, 1e-14);
  assert_int_equal(bad, 0);
  ta_lines_free(&lines);
}

static double hyperbola(double x, double y) {
  return (x - 0.013) * (y - 0.027);
}

static void two_branches_stay_two_lines(void **state) {
  (void)state;
  static sampled s;
  sample(&s, hyperbola);
  for (int side = -1; side <= 1; side += 2) {
    ta_lines lines = traced(&s, 0.11 * side);
    assert_sound(&lines);
    assert_int_equal(lines.line_count, 2);
    for (size_t k = 0; k < 2; k++) {
      const ta_span *line = &lines.line[k];
      const double first = lines.point[line->first].x - 0.013;
      for (size_t i = 0; i < line->count; i++)
        assert_true((lines.point[line->first + i].x - 0.013) * first > 0.0);
    }
    ta_lines_free(&lines);
  }
}

static double flat(double x, double y) {
  (void)x;
  (void)y;
  return 0.731;
}

static void a_flat_function_gives_nothing(void **state) {
  (void)state;
  static sampled s;
  sample(&s, flat);
  static const double levels[] = {0.73, 0.731, 0.732};
  for (size_t k = 0; k < COUNT_OF(levels); k++) {
    ta_lines lines = traced(&s, levels[k]);
    assert_int_equal(lines.line_count, 0);
    assert_int_equal(lines.point_count, 0);
    ta_lines_free(&lines);
  }
}

/* One cell with its corners at (0, 0), (3, 0), (0, 7), (3, 7); alternating corners. */
static void a_saddle_is_cut_as_its_middle_says(void **state) {
  (void)state;
  static const double x[] = {0.0, 3.0}, y[] = {0.0, 7.0};
  static const struct {
    const char *row;
    double value[4]; /* lower left, lower right, upper left, upper right */
    bool lower_left_is_cut_off;
  } rows[] = {
      {"middle high, lower left high", {9.0, 1.0, 2.0, 8.0}, false},
      {"middle low, lower left high", {5.1, 1.0, 2.0, 5.3}, true},
      {"middle high, lower left low", {2.0, 9.0, 8.0, 1.0}, true},
      {"middle low, lower left low", {1.0, 5.1, 5.3, 2.0}, false},
  };
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    ta_lines lines;
    assert_int_equal(ta_contour_trace(x, 2, y, 2, rows[k].value, 4.4, &lines), TA_OK);
    assert_sound(&lines);
    assert_int_equal(lines.line_count, 2);
    /* the line that ends at the left edge goes to the lower edge or to the upper one */
    bool found = false;
    for (size_t i = 0; i < 2; i++) {
      const ta_xy *end = &lines.point[lines.line[i].first];
      assert_int_equal(lines.line[i].count, 2);
      const size_t left = end[0].x == 0.0 ? 0 : 1;
      if (end[left].x != 0.0) continue;
      found = true;
      if ((end[1 - left].y == 0.0) != rows[k].lower_left_is_cut_off) fail_msg("%s", rows[k].row);
    }
    assert_true(found);
    ta_lines_free(&lines);
  }
}

static void cells_without_a_value_end_the_lines(void **state) {
  (void)state;
  static sampled s;
  sample(&s, radius);
  size_t on = 35 * NX + NX / 2; /* from the middle to the first node beyond the circle */
  while (s.value[on] < 0.8173) on++;
  s.value[on] = (double)NAN;
  ta_lines lines = traced(&s, 0.8173);
  assert_sound(&lines);
  assert_int_equal(lines.line_count, 1);
  assert_false(lines.line[0].closed);
  for (size_t i = 0; i < lines.point_count; i++)
    assert_true(isfinite(lines.point[i].x) && isfinite(lines.point[i].y));
  ta_lines_free(&lines);
}

static double bumps(double x, double y) {
  return sin(7.3 * x + 0.2) * sin(6.1 * y - 0.3);
}

/* Every crossed edge of the grid is met once: the points of all lines are as many. */
static void no_crossing_is_lost(void **state) {
  (void)state;
  static sampled s;
  sample(&s, bumps);
  const double level = 0.317;
  size_t crossings = 0;
  for (size_t j = 0; j < NY; j++)
    for (size_t i = 0; i < NX; i++) {
      const bool above = s.value[j * NX + i] >= level;
      crossings += i + 1 < NX && (s.value[j * NX + i + 1] >= level) != above;
      crossings += j + 1 < NY && (s.value[(j + 1) * NX + i] >= level) != above;
    }
  ta_lines lines = traced(&s, level);
  assert_sound(&lines);
  assert_int_equal(lines.point_count, crossings);
  assert_true(lines.line_count > 10);
  for (size_t k = 0; k < lines.line_count; k++) { /* an open line begins and ends at the edge */
    const ta_span *line = &lines.line[k];
    for (int end = 0; end < 2 && !line->closed; end++) {
      const ta_xy p = lines.point[line->first + (end == 0 ? 0 : line->count - 1)];
      assert_true(p.x == s.x[0] || p.x == s.x[NX - 1] || p.y == s.y[0] || p.y == s.y[NY - 1]);
    }
  }
  ta_lines_free(&lines);
}

static void a_level_met_by_nodes_repeats_no_point(void **state) {
  (void)state;
  static const double x[] = {0.0, 1.3, 2.9, 4.1}, y[] = {0.0, 0.7, 1.9};
  static const double value[] = {1.0, 1.0, 1.0, 1.0, 1.0, 3.0, 3.0, 1.0, 1.0, 1.0, 1.0, 1.0};
  ta_lines lines;
  assert_int_equal(ta_contour_trace(x, 4, y, 3, value, 3.0, &lines), TA_OK);
  assert_sound(&lines); /* the ridge between two nodes, there and back */
  assert_int_equal(lines.line_count, 1);
  assert_int_equal(lines.point_count, 2);
  ta_lines_free(&lines);
  static const double peak[] = {1.0, 1.0, 1.0, 1.0, 1.0, 3.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0};
  assert_int_equal(ta_contour_trace(x, 4, y, 3, peak, 3.0, &lines), TA_OK);
  assert_int_equal(lines.line_count, 0);
  ta_lines_free(&lines);
}

/* ---- cutting --------------------------------------------------------------------------------- */

static ta_lines polyline(ta_xy *point, size_t count, bool closed, ta_span *line) {
  *line = (ta_span){0, count, closed};
  return (ta_lines){point, line, count, 1};
}

static void a_circle_cut_by_a_rectangle(void **state) {
  (void)state;
  static sampled s;
  sample(&s, radius);
  const double r = 0.8173;
  ta_lines circle = traced(&s, r);
  /* the right side cuts it, the others do not */
  const ta_xy box[4] = {{-1.1, -1.0}, {0.4439, -1.0}, {0.4439, 1.0}, {-1.1, 1.0}};
  ta_lines inside = clipped(&circle, box, 4);
  assert_sound(&inside);
  assert_int_equal(inside.line_count, 1);
  assert_false(inside.line[0].closed);
  const ta_xy first = inside.point[0], last = inside.point[inside.point_count - 1];
  int bad = off("first", "x", first.x, 0.4439, 0.0) + off("last", "x", last.x, 0.4439, 0.0);
  const double half = sqrt(r * r - (0.4439 - 0.037) * (0.4439 - 0.037));
  bad += off("ends", "apart", fabs(first.y - last.y), 2.0 * half, 1e-3);
  const double angle = 2.0 * acos((0.4439 - 0.037) / r);
  bad += off_rel("arc", "length", length_of(&inside), r * (2.0 * PI - angle), 1e-3);
  for (size_t i = 0; i < inside.point_count; i++) assert_true(inside.point[i].x <= 0.4439);
  ta_lines_free(&inside);
  /* four sides cut it: four arcs */
  const ta_xy tight[4] = {{-0.7, -0.71}, {0.73, -0.71}, {0.73, 0.69}, {-0.7, 0.69}};
  inside = clipped(&circle, tight, 4);
  assert_sound(&inside);
  assert_int_equal(inside.line_count, 4);
  double outside = 0.0;
  static const double distance[] = {0.737, 0.689, 0.693, 0.711}; /* from the middle to each side */
  for (size_t k = 0; k < 4; k++) outside += 2.0 * acos(distance[k] / r) * r;
  bad += off_rel("arcs", "length", length_of(&inside), 2.0 * PI * r - outside, 2e-3);
  ta_lines_free(&inside);
  /* wholly inside it stays closed and the same; wholly outside nothing is left */
  const ta_xy wide[3] = {{-3.0, -2.0}, {4.0, -2.0}, {0.1, 4.7}};
  inside = clipped(&circle, wide, 3);
  assert_int_equal(inside.line_count, 1);
  assert_true(inside.line[0].closed);
  assert_int_equal(inside.point_count, circle.point_count);
  assert_memory_equal(inside.point, circle.point, circle.point_count * sizeof *circle.point);
  ta_lines_free(&inside);
  const ta_xy hole[3] = {{-0.2, -0.2}, {0.3, -0.2}, {0.1, 0.4}};
  inside = clipped(&circle, hole, 3);
  assert_int_equal(inside.line_count, 0);
  ta_lines_free(&inside);
  ta_lines_free(&circle);
  assert_int_equal(bad, 0);
}

/* Signed distance from the line through a and b. */
static double beside(ta_xy a, ta_xy b, ta_xy p) {
  return ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / hypot(b.x - a.x, b.y - a.y);
}

static void cut_ends_lie_on_the_outline(void **state) {
  (void)state;
  static sampled s;
  sample(&s, bumps);
  ta_lines lines = traced(&s, 0.213);
  /* concave, no side along an axis */
  const ta_xy star[6] = {{-1.17, -0.91}, {0.13, -0.34}, {1.21, -1.07},
                         {0.83, 0.97},   {0.07, 0.31},  {-0.93, 1.11}};
  ta_lines inside = clipped(&lines, star, 6);
  assert_sound(&inside);
  assert_true(inside.line_count > lines.line_count / 2);
  size_t ends = 0;
  for (size_t k = 0; k < inside.line_count; k++)
    for (int end = 0; end < 2 && !inside.line[k].closed; end++) {
      const ta_span *line = &inside.line[k];
      const ta_xy p = inside.point[line->first + (end == 0 ? 0 : line->count - 1)];
      double nearest = 1.0;
      for (size_t i = 0; i < 6; i++)
        nearest = fmin(nearest, fabs(beside(star[i], star[(i + 1) % 6], p)));
      assert_true(nearest < 1e-9);
      ends++;
    }
  assert_true(ends > 10);
  /* what is inside and what is inside the rest of the plane make up the whole: the outline and a
   * frame around it, joined by a slit, are the rest by the even-odd rule */
  ta_xy rest[12] = {{-9.0, -9.0}, {9.0, -9.1}, {9.2, 9.0}, {-9.1, 9.3}, {-9.0, -9.0}};
  for (size_t i = 0; i <= 6; i++) rest[5 + i] = star[i % 6];
  ta_lines outside = clipped(&lines, rest, 12);
  const int bad = off_rel("inside and outside", "length", length_of(&inside) + length_of(&outside),
                          length_of(&lines), 1e-9);
  assert_int_equal(bad, 0);
  ta_lines_free(&outside);
  ta_lines_free(&inside);
  ta_lines_free(&lines);
}

static void special_pieces(void **state) {
  (void)state;
  const ta_xy box[4] = {{1.1, 20e3}, {3.7, 20e3}, {3.7, 90e3}, {1.1, 90e3}}; /* unlike units */
  const ta_xy dent[5] = {{0.0, 0.0}, {4.0, 0.0}, {4.0, 3.0}, {2.0, 1.0}, {0.0, 3.0}};
  const struct {
    const char *row;
    const ta_xy *corner;
    size_t corners;
    ta_xy point[4];
    size_t points;
    size_t lines, kept;
    ta_xy first, last;
  } rows[] = {
      {"through both sides", box, 4, {{0.3, 50e3}, {4.1, 50e3}}, 2, 1, 2, {1.1, 50e3}, {3.7, 50e3}},
      {"begins inside", box, 4, {{2.3, 50e3}, {4.1, 50e3}}, 2, 1, 2, {2.3, 50e3}, {3.7, 50e3}},
      {"along a side", box, 4, {{0.3, 90e3}, {4.1, 90e3}}, 2, 1, 2, {1.1, 90e3}, {3.7, 90e3}},
      {"beside a side",
       box,
       4,
       {{0.3, 90.001e3}, {4.1, 90.001e3}},
       2,
       0,
       0,
       {0.0, 0.0},
       {0.0, 0.0}},
      {"touches a corner", box, 4, {{0.3, 50e3}, {1.9, 130e3}}, 2, 0, 0, {0.0, 0.0}, {0.0, 0.0}},
      {"just outside a narrow side",
       box,
       4,
       {{1.0999999, 30e3}, {1.0999999, 60e3}},
       2,
       0,
       0,
       {0.0, 0.0},
       {0.0, 0.0}},
      {"out and back in the midst of a piece",
       dent,
       5,
       {{0.5, 2.0}, {3.5, 2.0}},
       2,
       2,
       4,
       {0.5, 2.0},
       {3.5, 2.0}},
      {"past the direction of a side",
       dent,
       5,
       {{0.2, 0.5}, {3.7, 0.5}},
       2,
       1,
       2,
       {0.2, 0.5},
       {3.7, 0.5}},
      {"over a corner that points inward",
       dent,
       5,
       {{1.0, 1.0}, {3.0, 1.0}},
       2,
       1,
       3,
       {1.0, 1.0},
       {3.0, 1.0}},
      {"goes out at a point of its own",
       box,
       4,
       {{2.0, 50e3}, {3.7, 60e3}, {5.0, 70e3}, {2.0, 120e3}},
       4,
       1,
       2,
       {2.0, 50e3},
       {3.7, 60e3}},
  };
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    ta_xy point[4];
    memcpy(point, rows[k].point, sizeof point);
    ta_span line;
    const ta_lines lines = polyline(point, rows[k].points, false, &line);
    ta_lines inside = clipped(&lines, rows[k].corner, rows[k].corners);
    assert_sound(&inside);
    bad += off(rows[k].row, "lines", (double)inside.line_count, (double)rows[k].lines, 0.0);
    bad += off(rows[k].row, "points", (double)inside.point_count, (double)rows[k].kept, 0.0);
    if (inside.line_count == rows[k].lines && inside.line_count > 0) {
      const ta_xy last = inside.point[inside.point_count - 1];
      bad += off(rows[k].row, "first x", inside.point[0].x, rows[k].first.x, 1e-12);
      bad += off(rows[k].row, "first y", inside.point[0].y, rows[k].first.y, 1e-8);
      bad += off(rows[k].row, "last x", last.x, rows[k].last.x, 1e-12);
      bad += off(rows[k].row, "last y", last.y, rows[k].last.y, 1e-8);
    }
    ta_lines_free(&inside);
  }
  assert_int_equal(bad, 0);
}

static const ta_xy kite[4] = {{-1.17, -0.91}, {1.21, -1.07}, {0.83, 0.97}, {-0.93, 1.11}};

/* Pieces that pass a corner and have no other point in common with the outline. */
static void a_touched_corner_leaves_nothing(void **state) {
  (void)state;
  for (int k = 0; k < 4; k++) {
    const ta_xy at = kite[k], before = kite[(k + 3) % 4], after = kite[(k + 1) % 4];
    /* between the direction of one side and that of the other, as seen from outside */
    const ta_xy from = {before.x - at.x, before.y - at.y}, to = {at.x - after.x, at.y - after.y};
    for (int i = 1; i < 50; i++) {
      const double a = 0.02 * i;
      const ta_xy way = {from.x + a * (to.x - from.x), from.y + a * (to.y - from.y)};
      ta_xy piece[2] = {{at.x - 0.7 * way.x, at.y - 0.7 * way.y},
                        {at.x + 0.31 * way.x, at.y + 0.31 * way.y}};
      ta_span line;
      const ta_lines lines = polyline(piece, 2, false, &line);
      ta_lines inside = clipped(&lines, kite, 4);
      assert_int_equal(inside.line_count, 0);
      ta_lines_free(&inside);
    }
  }
}

static void units_do_not_matter(void **state) {
  (void)state;
  static sampled s;
  sample(&s, bumps);
  ta_lines lines = traced(&s, 0.213), inside = clipped(&lines, kite, 4);
  const double wide = 1e-14, high = 1e12;
  ta_xy outline[4];
  for (size_t i = 0; i < 4; i++) outline[i] = (ta_xy){wide * kite[i].x, high * kite[i].y};
  for (size_t i = 0; i < lines.point_count; i++)
    lines.point[i] = (ta_xy){wide * lines.point[i].x, high * lines.point[i].y};
  ta_lines scaled = clipped(&lines, outline, 4);
  assert_int_equal(scaled.line_count, inside.line_count);
  assert_int_equal(scaled.point_count, inside.point_count);
  int bad = 0;
  for (size_t i = 0; i < inside.point_count; i++)
    bad += off("scaled", "x", scaled.point[i].x / wide, inside.point[i].x, 1e-12) +
           off("scaled", "y", scaled.point[i].y / high, inside.point[i].y, 1e-12);
  assert_int_equal(bad, 0);
  ta_lines_free(&scaled);
  ta_lines_free(&inside);
  ta_lines_free(&lines);
}

/* A closed line that is cut is joined across its first point. */
static void no_break_where_a_closed_line_begins(void **state) {
  (void)state;
  ta_xy square[4] = {{1.0, 1.0}, {5.0, 1.0}, {5.0, 2.0}, {1.0, 2.0}};
  ta_span line;
  const ta_lines lines = polyline(square, 4, true, &line);
  const ta_xy left[4] = {{0.0, 0.0}, {3.3, 0.0}, {3.3, 3.0}, {0.0, 3.0}};
  ta_lines inside = clipped(&lines, left, 4);
  assert_sound(&inside);
  assert_int_equal(inside.line_count, 1);
  assert_int_equal(inside.point_count, 4);
  const int bad = off("half", "length", length_of(&inside), 2.3 + 1.0 + 2.3, 1e-12);
  assert_int_equal(bad, 0);
  ta_lines_free(&inside);
}

static void refusals(void **state) {
  (void)state;
  const double x[] = {0.0, 1.1, 2.3}, y[] = {0.0, 1.7}, falling[] = {0.0, 1.1, 1.1},
               value[] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0}, not_finite[] = {0.0, (double)NAN, 2.0};
  ta_lines lines = {.line_count = 7};
  assert_int_equal(ta_contour_trace(NULL, 3, y, 2, value, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 3, NULL, 2, value, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 3, y, 2, NULL, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 3, y, 2, value, 2.5, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 1, y, 2, value, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 3, y, 1, value, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(x, 3, y, 2, value, (double)NAN, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(falling, 3, y, 2, value, 2.5, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_contour_trace(not_finite, 3, y, 2, value, 2.5, &lines), TA_ERR_ARGUMENT);
  const ta_xy corner[3] = {{0.0, 0.0}, {1.0, 0.1}, {0.3, 1.0}},
              level[3] = {{0.0, 2.0}, {1.0, 2.0}, {3.0, 2.0}},
              broken[3] = {{0.0, 0.0}, {1.0, (double)INFINITY}, {0.3, 1.0}};
  const ta_lines none = {0};
  assert_int_equal(ta_lines_clip(NULL, corner, 3, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_lines_clip(&none, NULL, 3, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_lines_clip(&none, corner, 3, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_lines_clip(&none, corner, 2, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_lines_clip(&none, level, 3, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(ta_lines_clip(&none, broken, 3, &lines), TA_ERR_ARGUMENT);
  assert_int_equal(lines.line_count, 7);
  assert_int_equal(ta_lines_clip(&none, corner, 3, &lines), TA_OK);
  assert_int_equal(lines.line_count, 0);
  ta_lines_free(&lines);
  ta_lines_free(NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_circle_is_one_closed_line),
      cmocka_unit_test(a_plane_gives_the_straight_line_itself),
      cmocka_unit_test(two_branches_stay_two_lines),
      cmocka_unit_test(a_flat_function_gives_nothing),
      cmocka_unit_test(a_saddle_is_cut_as_its_middle_says),
      cmocka_unit_test(cells_without_a_value_end_the_lines),
      cmocka_unit_test(no_crossing_is_lost),
      cmocka_unit_test(a_level_met_by_nodes_repeats_no_point),
      cmocka_unit_test(a_circle_cut_by_a_rectangle),
      cmocka_unit_test(cut_ends_lie_on_the_outline),
      cmocka_unit_test(special_pieces),
      cmocka_unit_test(a_touched_corner_leaves_nothing),
      cmocka_unit_test(units_do_not_matter),
      cmocka_unit_test(no_break_where_a_closed_line_begins),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
