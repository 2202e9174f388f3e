/* Drawings as numbers: ticks, places, labels, colours, and what the document holds. */
#include "report/svg.h"

#include <expat.h>
#include <stdio.h>
#include <stdlib.h>

#include "test.h"

/* ---- ticks ----------------------------------------------------------------------------------- */

/* Worked by hand from the rule: the finest 1-2-5 step that leaves 5 text heights between ticks, or
 * the widest label and 1.2 text heights, along a level axis, and 3 along an upright one. */
static void ticks_are_round_and_as_many_as_fit(void **state) {
  (void)state;
  static const struct {
    const char *row;
    double from, to, length_px, text_px;
    bool level;
    int count;
    double first, last;
    const char *first_text, *last_text;
  } rows[] = {
      {"course", 0.0, 34.0, 1120.0, 12.0, true, 18, 0.0, 34.0, "0", "34"},
      {"course, narrow", 0.0, 34.0, 310.0, 12.0, true, 4, 0.0, 30.0, "0", "30"},
      {"elevations", 1000.0, 4500.0, 434.0, 13.0, false, 8, 1000.0, 4500.0, "1,000", "4,500"},
      {"elevations, low", 1000.0, 4500.0, 250.0, 13.0, false, 4, 1000.0, 4000.0, "1,000", "4,000"},
      {"across zero", -3.1, 2.7, 300.0, 12.0, true, 3, -2.0, 2.0, "-2", "2"},
      {"runs backwards", 86.3, 57.7, 403.0, 12.0, true, 6, 60.0, 85.0, "60", "85"},
      {"below zero, backwards", -0.13, -0.71, 163.0, 12.0, false, 3, -0.6, -0.2, "-0.6", "-0.2"},
      {"tiny", 1.3e-9, 4.7e-9, 303.0, 12.0, true, 3, 2e-9, 4e-9, "2e-9", "4e-9"},
      {"small", 0.00012, 0.00047, 303.0, 12.0, true, 3, 2e-4, 4e-4, "0.0002", "0.0004"},
      {"narrow and far from zero", 101325.1, 101325.9, 324.0, 12.0, true, 4, 101325.2, 101325.8,
       "101,325.2", "101,325.8"},
      {"labels too wide for that", 101325.1, 101325.9, 303.0, 12.0, true, 1, 101325.5, 101325.5,
       "101,325.5", "101,325.5"},
      {"large", 0.0, 3.3e7, 703.0, 12.0, true, 7, 0.0, 3e7, "0", "30,000,000"},
      {"very large", -2.2e13, 6.9e13, 343.0, 12.0, true, 5, -2e13, 6e13, "-2e13", "6e13"},
      {"ends on ticks", 0.1, 0.7, 263.0, 13.0, false, 7, 0.1, 0.7, "0.1", "0.7"},
  };
  int bad = 0;
  char text[TA_TICK_TEXT_MAX];
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    const ta_axis axis = {rows[k].from, rows[k].to, ""};
    const ta_ticks ticks = ta_ticks_fit(&axis, rows[k].length_px, rows[k].text_px, rows[k].level);
    bad += off(rows[k].row, "count", ticks.count, rows[k].count, 0.0);
    if (ticks.count < 1) continue;
    bad += off_rel(rows[k].row, "first", ta_tick_value(&ticks, 0), rows[k].first, 1e-15);
    bad +=
        off_rel(rows[k].row, "last", ta_tick_value(&ticks, ticks.count - 1), rows[k].last, 1e-15);
    assert_string_equal(ta_tick_text(&ticks, 0, text), rows[k].first_text);
    assert_string_equal(ta_tick_text(&ticks, ticks.count - 1, text), rows[k].last_text);
  }
  assert_int_equal(bad, 0);
}

static void no_ticks_where_there_is_no_axis(void **state) {
  (void)state;
  static const double ends[][2] = {
      {3.7, 3.7},           {0.0, 0.0},          {1.0, (double)NAN}, {(double)-INFINITY, 2.0},
      {1e15, 1e15 + 0.125}, {-1.7e308, 1.7e308}, {0.0, 1e-310}};
  for (size_t k = 0; k < COUNT_OF(ends); k++) {
    const ta_axis axis = {ends[k][0], ends[k][1], ""};
    assert_int_equal(ta_ticks_fit(&axis, 500.0, 12.0, true).count, 0);
  }
}

/* Random axes: labels apart, all ticks within, one step finer would not fit. */
static void labels_of_ticks_stay_apart(void **state) {
  (void)state;
  const ta_svg svg = {.text_px = 11.7};
  uint32_t random = 12345;
  char text[TA_TICK_TEXT_MAX];
  for (int k = 0; k < 2000; k++) {
    double drawn[4];
    for (int i = 0; i < 4; i++) {
      random = random * 1664525U + 1013904223U; /* Numerical Recipes' generator, from memory */
      drawn[i] = (random >> 8) / 16777216.0;
    }
    const double size = pow(10.0, 14.0 * drawn[0] - 6.0), from = size * (drawn[1] - 0.5);
    const double to = from + size * (drawn[2] - 0.5), length = 150.0 + 1000.0 * drawn[3];
    const ta_axis axis = {from, to, ""};
    const ta_ticks ticks = ta_ticks_fit(&axis, length, svg.text_px, true);
    double right = -HUGE_VAL;
    for (int i = 0; i < ticks.count; i++) {
      const double value = ta_tick_value(&ticks, i),
                   share = (value - fmin(from, to)) / fabs(to - from);
      assert_true(share > -1e-9 && share < 1.0 + 1e-9);
      const ta_lettering label = {{length * share, 0.0}, TA_MIDDLE, .role = TA_ROLE_MUTED};
      const ta_rect box = ta_svg_text_box(&svg, &label, ta_tick_text(&ticks, i, text));
      assert_true(box.left > right + svg.text_px);
      right = box.right;
      assert_true(fabs(strtod(text, NULL) - value) <= 1e-12 * fabs(value) ||
                  strchr(text, ',') != NULL);
    }
    assert_true(ticks.count < 2 || ticks.count <= 1 + (int)(length / (5.0 * svg.text_px)));
  }
}

static void axes_end_at_round_numbers(void **state) {
  (void)state;
  static const struct {
    double low, high, from, to;
  } rows[] = {
      {117.3, 162.9, 110.0, 170.0}, {1460.0, 4120.0, 1000.0, 4500.0},
      {-0.31, 0.22, -0.4, 0.3},     {4120.0, 1460.0, 1000.0, 4500.0},
      {20.0, 80.0, 20.0, 80.0},     {7.0, 7.0, 6.6, 7.4},
      {0.0, 0.0, -1.0, 1.0},        {0.3, 0.7, 0.3, 0.7},
  };
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    const ta_axis axis = ta_axis_around(rows[k].low, rows[k].high, "");
    bad += off_rel("axis", "from", axis.from, rows[k].from, 1e-15);
    bad += off_rel("axis", "to", axis.to, rows[k].to, 1e-15);
  }
  const ta_axis unknown = ta_axis_around((double)NAN, 3.0, ""),
                endless = ta_axis_around(-1.7e308, 1.7e308, ""),
                nothing = ta_axis_around(5e-324, 1e-310, "");
  assert_true(unknown.from == 0.0 && unknown.to == 1.0);
  assert_true(endless.from == 0.0 && endless.to == 1.0);
  assert_true(nothing.from == -1.0 && nothing.to == 1.0);
  assert_int_equal(bad, 0);
}

/* ---- places ---------------------------------------------------------------------------------- */

static void begin(ta_svg *svg, double width, double height, double text_px, ta_buffer *out) {
  const ta_drawing drawing = {"one", "Title", "Description", width, height, text_px, true};
  ta_svg_open(svg, &drawing, out);
}

static const ta_frame backwards = {
    {83.0, 41.0, 1117.0, 503.0}, {86.3, 57.7, ""}, {163.0, 241.0, ""}};

static void places_go_there_and_back(void **state) {
  (void)state;
  int bad = 0;
  const ta_xy corner = ta_frame_place(&backwards, (ta_xy){86.3, 163.0});
  bad += off("lower left", "x", corner.x, 83.0, 1e-12) +
         off("lower left", "y", corner.y, 503.0, 1e-12);
  const ta_xy other = ta_frame_place(&backwards, (ta_xy){57.7, 241.0});
  bad += off("upper right", "x", other.x, 1117.0, 1e-12) +
         off("upper right", "y", other.y, 41.0, 1e-12);
  for (double x = 50.3; x < 90.0; x += 3.17)
    for (double y = 150.1; y < 250.0; y += 7.31) {
      const ta_xy back = ta_frame_data(&backwards, ta_frame_place(&backwards, (ta_xy){x, y}));
      bad += off("back", "x", back.x, x, 1e-10) + off("back", "y", back.y, y, 1e-10);
    }
  assert_int_equal(bad, 0);
}

/* The text from here on that stands between two others. */
static void between(const char *text, const char *before, const char *after, char *found,
                    size_t room) {
  const char *from = strstr(text, before);
  assert_non_null(from);
  from += strlen(before);
  const char *to = strstr(from, after);
  assert_non_null(to);
  assert_true((size_t)(to - from) < room);
  memcpy(found, from, (size_t)(to - from));
  found[to - from] = '\0';
}

static size_t occurrences(const char *text, const char *what) {
  size_t count = 0;
  for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what)) count++;
  return count;
}

static void a_line_is_drawn_where_its_numbers_are(void **state) {
  (void)state;
  const ta_xy points[] = {{86.3, 163.0}, {71.9, 200.7}, {60.13, 231.31}, {57.7, 170.1}};
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 1200.0, 560.0, 13.0, &out);
  ta_svg_line(&svg, &backwards, TA_ROLE_SHAFT_UNDER_CAP, points, COUNT_OF(points));
  ta_svg_close(&svg);
  char d[200];
  between(out.text, "stroke-dasharray=\"9 4\" stroke-linejoin=\"round\" d=\"", "\"", d, sizeof d);
  const char *at = d;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(points); i++) {
    double x, y;
    int used = 0;
    assert_int_equal(sscanf(at, i == 0 ? "M%lf %lf%n" : "L%lf %lf%n", &x, &y, &used), 2);
    at += used;
    /* 1034 units for 28.6 kPa backwards, 462 for 78 upward; half of the last decimal */
    bad += off("line", "x", x, 83.0 + (86.3 - points[i].x) * 1034.0 / 28.6, 0.00501);
    bad += off("line", "y", y, 503.0 - (points[i].y - 163.0) * 462.0 / 78.0, 0.00501);
  }
  assert_int_equal(*at, '\0');
  assert_int_equal(bad, 0);
  ta_buffer_free(&out);
}

static void path_of(const ta_xy *points, size_t count, char *d, size_t room) {
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 400.0, 300.0, 12.0, &out);
  ta_svg_line(&svg, NULL, TA_ROLE_TEXT, points, count);
  ta_svg_close(&svg);
  between(out.text, "stroke-linejoin=\"round\" d=\"", "\"", d, room);
  ta_buffer_free(&out);
}

static void lines_have_gaps_and_no_needless_points(void **state) {
  (void)state;
  char d[200];
  const double gap = (double)NAN;
  path_of((ta_xy[]){{gap, 1.0},
                    {10.0, 20.0},
                    {30.5, 40.126},
                    {50.0, gap},
                    {60.0, 7.0},
                    {(double)INFINITY, 8.0},
                    {71.0, -0.004},
                    {72.07, 0.8}},
          8, d, sizeof d);
  assert_string_equal(d, "M10 20L30.5 40.13M60 7h0.5M71 0L72.07 0.8");
  /* nearer than a quarter to the last one drawn: left out, but not the end; a peak stays */
  path_of((ta_xy[]){{1.0, 1.0},
                    {1.1, 1.0},
                    {1.2, 1.1},
                    {1.3, 1.0},
                    {1.4, 9.5},
                    {1.5, 1.0},
                    {1.51, 1.0},
                    {1.52, 1.0}},
          8, d, sizeof d);
  assert_string_equal(d, "M1 1L1.3 1L1.4 9.5L1.5 1L1.52 1");
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 400.0, 300.0, 12.0, &out);
  const size_t before = out.length;
  ta_svg_line(&svg, NULL, TA_ROLE_TEXT, (ta_xy[]){{gap, 1.0}, {2.0, gap}}, 2);
  ta_svg_polygon(&svg, NULL, TA_ROLE_TEXT, TA_SOLID, (ta_xy[]){{1.0, 1.0}, {2.0, gap}, {3.0, 1.0}},
                 3);
  ta_svg_marker(&svg, NULL, TA_ROLE_TEXT, TA_DISC, (ta_xy){gap, 1.0}, 9.0);
  ta_svg_text(&svg, &(ta_lettering){.at = {gap, 1.0}}, "lost");
  assert_int_equal(out.length, before);
  assert_false(ta_svg_label(&svg, TA_ROLE_TEXT, (ta_xy){1.0, gap}, TA_SIDE_RIGHT, NULL, "lost"));
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

static void areas_and_bands(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 400.0, 300.0, 12.0, &out);
  const double gap = (double)NAN;
  const ta_xy upper[] = {{10.0, 50.0}, {20.0, 60.0}, {30.0, gap}, {40.0, 70.0}, {50.0, 80.0}},
              lower[] = {{10.0, 9.0}, {20.0, 8.0}, {30.0, 7.0}, {40.0, 6.0}, {50.0, gap}};
  char d[200];
  const size_t start = out.length;
  ta_svg_band(&svg, NULL, TA_ROLE_OVER_LIMIT, TA_HATCH, upper, lower, 5);
  between(out.text + start, " d=\"", "\"", d, sizeof d);
  assert_string_equal(d, "M10 50L20 60L20 8L10 9Z");
  assert_int_equal(occurrences(out.text + start, "<path"), 1);
  assert_non_null(strstr(out.text + start, "fill=\"url(#ta-one-hatch-over-limit)\""));
  const size_t area = out.length;
  ta_svg_area(&svg, NULL, TA_ROLE_GROUND, TA_TINT, upper, 5, 290.0);
  between(out.text + area, " d=\"", "\"", d, sizeof d);
  assert_string_equal(d, "M10 50L20 60L20 290L10 290Z");
  assert_int_equal(occurrences(out.text + area, "<path"), 2);
  assert_int_equal(occurrences(out.text + area, "fill-opacity=\"0.18\""), 2);
  const size_t island = out.length;
  ta_span spans[] = {{0, 3, true}, {3, 2, false}};
  ta_xy points[] = {{1.0, 1.0}, {9.0, 1.0}, {5.0, 7.0}, {20.0, 2.0}, {30.0, 3.0}};
  ta_svg_lines(&svg, NULL, TA_ROLE_ISLAND, &(ta_lines){points, spans, 5, 2});
  between(out.text + island, " d=\"", "\"", d, sizeof d);
  assert_string_equal(d, "M1 1L9 1L5 7ZM20 2L30 3");
  const size_t clip = out.length;
  ta_svg_clip(&svg, NULL, upper, 2);
  ta_svg_clip_end(&svg);
  ta_svg_clip(&svg, &backwards, NULL, 0);
  ta_svg_clip_end(&svg);
  assert_non_null(strstr(out.text + clip, "<clipPath id=\"ta-one-0\"><path d=\"M10 50L20 60Z\"/>"));
  assert_non_null(strstr(out.text + clip,
                         "<clipPath id=\"ta-one-1\"><rect x=\"83\" y=\"41\" "
                         "width=\"1034\" height=\"462\"/>"));
  assert_non_null(strstr(out.text + clip, "<g clip-path=\"url(#ta-one-1)\">"));
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

/* ---- texts ----------------------------------------------------------------------------------- */

static void texts_come_out_harmless(void **state) {
  (void)state;
  static const struct {
    const char *in, *out;
  } rows[] = {
      {"plain 22 psi", "plain 22 psi"},
      {"</title><script>alert(1)</script>",
       "&#60;/title&#62;&#60;script&#62;alert(1)&#60;/script&#62;"},
      {"a & b \"c\" 'd'", "a &#38; b &#34;c&#34; &#39;d&#39;"},
      {"]]>", "]]&#62;"},
      {"one\ttwo\r\nthree", "one two  three"},
      {"\x01\x02"
       "bell\x07"
       "del\x7f"
       "esc\x1b[31m",
       "belldelesc[31m"},
      {"c1\xc2\x85"
       "next",
       "c1next"},
      {"turned\xe2\x80\xae"
       "gnp",
       "turnedgnp"},
      {"set\xe2\x81\xa6"
       "apart",
       "setapart"},
      {"Col d\xe2\x80\x99"
       "\xc3\x89t\xc3\xa9",
       "Col d\xe2\x80\x99"
       "\xc3\x89t\xc3\xa9"},
      {"\xf0\x9f\x8f\x94", "\xf0\x9f\x8f\x94"},
      /* RFC 3629: a lone continuation, cut short, overlong, a surrogate, beyond U+10FFFF */
      {"a\x80z", "a\xef\xbf\xbdz"},
      {"a\xc3", "a\xef\xbf\xbd"},
      {"a\xe2\x82<", "a\xef\xbf\xbd\xef\xbf\xbd&#60;"},
      {"a\xc0\xbcz", "a\xef\xbf\xbd\xef\xbf\xbdz"},
      {"a\xe0\x80\xbcz", "a\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbdz"},
      {"a\xed\xa0\x80z", "a\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbdz"},
      {"a\xf4\x90\x80\x80z", "a\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbdz"},
      {"a\xff\xfez", "a\xef\xbf\xbd\xef\xbf\xbdz"},
      {"a\xef\xbf\xbfz", "az"}, /* U+FFFF is no character of XML */
  };
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    ta_buffer out = {0};
    ta_svg_escape(&out, rows[k].in);
    assert_string_equal(out.text, rows[k].out);
    ta_buffer_free(&out);
  }
}

/* Advance widths of DejaVu Sans 2.37 (hmtx table), the widest face a reader is likely to have. */
static void no_text_is_wider_than_its_box(void **state) {
  (void)state;
  static const struct {
    const char *text;
    bool bold;
    double em;
  } rows[] = {
      {"first over: 24.2 km, 3,217 m", false, 14.045},
      {"ambient pressure, kPa", false, 11.252},
      {"148,800 rpm", false, 6.473},
      {"WORST POINT, ELEVATION 4120 M", false, 17.387},
      {"first over: 24.2 km, 3,217 m", true, 15.754},
      {"148,800 rpm", true, 7.154},
      {"WORST POINT, ELEVATION 4120 M", true, 19.443},
  };
  const ta_svg svg = {.text_px = 13.0};
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    const ta_lettering l = {{70.0, 30.0}, TA_END, .bold = rows[k].bold, .size_px = 17.0};
    const ta_rect box = ta_svg_text_box(&svg, &l, rows[k].text);
    const double width = box.right - box.left, real = 17.0 * rows[k].em;
    if (!(width >= real && width < 1.25 * real))
      fail_msg("%s: %g for %g", rows[k].text, width, real);
    assert_true(fabs(box.right - 70.0) < 1e-12);
    const ta_lettering turned = {
        {70.0, 30.0}, TA_START, .bold = rows[k].bold, .size_px = 17.0, .turn_deg = -90.0};
    const ta_rect up = ta_svg_text_box(&svg, &turned, rows[k].text);
    assert_true(fabs(up.bottom - 30.0) < 1e-9 && fabs(up.top - (30.0 - width)) < 1e-9);
    assert_true(fabs(up.right - up.left - (box.bottom - box.top)) < 1e-9);
  }
}

static bool overlap(ta_rect a, ta_rect b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/* Every text of the chart by its box: none on another, all inside the drawing. */
static void assert_texts_apart(const ta_svg *svg) {
  for (size_t i = 0; i < svg->taken_count; i++) {
    const ta_rect a = svg->taken[i].rect;
    if (!svg->taken[i].is_text) continue;
    assert_true(a.left >= 0.0 && a.top >= 0.0 && a.right <= svg->width && a.bottom <= svg->height);
    for (size_t k = i + 1; k < svg->taken_count; k++)
      if (svg->taken[k].is_text && overlap(a, svg->taken[k].rect))
        fail_msg("%g x %g: texts %zu and %zu", svg->width, svg->height, i, k);
  }
}

static const ta_key_entry entries[] = {
    {TA_ROLE_SHAFT_AT_TARGET, false, TA_SOLID, "shaft at target"},
    {TA_ROLE_SHAFT_UNDER_CAP, false, TA_SOLID, "shaft under the cap"},
    {TA_ROLE_LIMIT, false, TA_SOLID, "limit"},
    {TA_ROLE_OVER_LIMIT, true, TA_HATCH, "over the limit"},
    {TA_ROLE_EXTRAPOLATED, true, TA_HATCH, "beyond the measured map"},
};

/* A chart with all that there is, twenty marks close together among it. */
static void draw_busy(ta_svg *svg, const char *id, double width, double height, double text_px,
                      ta_buffer *out) {
  const ta_drawing drawing = {id,  "Shaft </title> \"speed\"", "Over & out", width, height, text_px,
                              true};
  ta_svg_open(svg, &drawing, out);
  const double top = ta_svg_key(svg, entries, COUNT_OF(entries), 8.0, 6.0, width - 8.0);
  const ta_axis right = ta_axis_around(1460.0, 4120.0, "elevation, m");
  const ta_chart chart = {{0.0, 34.0, "distance, km"},
                          ta_axis_around(117.3, 162.9, "shaft speed, 1000 rpm"),
                          &right,
                          {4.0, top, 4.0, 4.0}};
  ta_frame shaft, ground;
  ta_chart_draw(svg, &chart, &shaft, &ground);
  ta_xy line[35];
  for (size_t i = 0; i < 35; i++)
    line[i] = (ta_xy){(double)i, 1500.0 + 70.0 * (double)i + 90.0 * sin(0.9 * (double)i)};
  ta_svg_clip(svg, &ground, NULL, 0);
  ta_svg_area(svg, &ground, TA_ROLE_GROUND, TA_TINT, line, 35, ground.y.from);
  ta_svg_polygon(svg, &shaft, TA_ROLE_EXTRAPOLATED, TA_HATCH,
                 (ta_xy[]){{31.0, 110.0}, {34.0, 110.0}, {34.0, 170.0}}, 3);
  ta_svg_clip_end(svg);
  ta_svg_line(svg, &ground, TA_ROLE_GROUND, line, 35);
  ta_svg_keep_line_clear(svg, &ground, line, 35);
  for (size_t i = 0; i < 20; i++) {
    char name[20];
    (void)snprintf(name, sizeof name, "Mark %zu", i);
    const ta_xy at = ta_frame_place(&ground, line[12 + i / 2]);
    ta_svg_marker(svg, NULL, TA_ROLE_MARK, (ta_marker)(1 + i % 8), at, 8.0);
    (void)ta_svg_label(svg, TA_ROLE_MUTED, at, (ta_side)(i % 8), &shaft.plot, name);
  }
  ta_svg_cell(svg, (ta_rect){0.0, 0.0, 40.0, 20.0}, 0.37, 0.0, "203");
  ta_svg_scale_bar(svg, (ta_rect){200.0, 100.0, 370.0, 110.0}, &(ta_axis){170.0, 230.0, "cap"});
  ta_svg_text(svg, &(ta_lettering){.at = {9.0, 9.0}, .turn_deg = -90.0, .size_px = 3.0}, "small");
}

static void no_text_covers_another(void **state) {
  (void)state;
  static const double sizes[][3] = {{1200.0, 560.0, 13.0}, {390.0, 420.0, 12.0},
                                    {390.0, 420.0, 16.0},  {1200.0, 560.0, 21.0},
                                    {320.0, 300.0, 4.0},   {360.0, 560.0, 19.0}};
  static const double spans[][2] = {{117.3, 162.9}, {-0.00031, 0.00047}, {1e6, 8.7e6}, {-3.0, 9e4}};
  for (size_t k = 0; k < COUNT_OF(sizes); k++)
    for (size_t i = 0; i < COUNT_OF(spans); i++) {
      ta_buffer out = {0};
      ta_svg svg;
      begin(&svg, sizes[k][0], sizes[k][1], sizes[k][2], &out);
      const double top = ta_svg_key(&svg, entries, COUNT_OF(entries), 8.0, 6.0, sizes[k][0] - 8.0);
      const ta_axis right = ta_axis_around(spans[i][0], spans[i][1], "elevation, m");
      const ta_chart chart = {{spans[i][0], spans[i][1], "distance, km"},
                              ta_axis_around(spans[i][0], spans[i][1], "shaft speed, 1000 rpm"),
                              i % 2 == 0 ? &right : NULL,
                              {4.0, top, 4.0, 4.0}};
      ta_frame left, other = {0};
      ta_chart_draw(&svg, &chart, &left, &other);
      if (i % 2 == 0)
        assert_memory_equal(&left.plot, &other.plot, sizeof left.plot);
      else
        assert_true(other.plot.right == 0.0);
      assert_true(left.plot.right - left.plot.left > 0.3 * sizes[k][0]);
      assert_true(left.plot.bottom - left.plot.top > 0.3 * sizes[k][1]);
      assert_int_equal(occurrences(out.text, "<text"), svg.taken_count);
      for (size_t m = 0; m < svg.taken_count; m++)
        assert_false(overlap(svg.taken[m].rect, left.plot));
      assert_texts_apart(&svg);
      ta_svg_close(&svg);
      ta_buffer_free(&out);
    }
  for (size_t k = 0; k < 2; k++) {
    ta_buffer out = {0};
    ta_svg svg;
    begin(&svg, sizes[k][0], sizes[k][1], sizes[k][2], &out);
    size_t drawn = 0;
    for (size_t i = 0; i < 60; i++) {
      const ta_xy at = {sizes[k][0] * (0.2 + 0.01 * (double)i), 200.0 + (double)(i % 7)};
      drawn += ta_svg_label(&svg, TA_ROLE_TEXT, at, (ta_side)(i % 8), NULL, "Goat Fold");
    }
    if (!(drawn > 10 && drawn < 60)) fail_msg("%zu labels", drawn); /* some had to go */
    assert_int_equal(occurrences(out.text, "<text"), drawn);
    assert_texts_apart(&svg);
    ta_svg_close(&svg);
    ta_buffer_free(&out);
  }
}

static void split_panels_share_the_width_and_not_the_height(void **state) {
  (void)state;
  static const double sizes[][3] = {{1200.0, 560.0, 13.0}, {390.0, 420.0, 12.0}};
  for (size_t k = 0; k < COUNT_OF(sizes); k++) {
    ta_buffer out = {0};
    ta_svg svg;
    begin(&svg, sizes[k][0], sizes[k][1], sizes[k][2], &out);
    const ta_axis right = {1273.0, 5147.0, "elevation, m"};
    const ta_chart chart = {{0.0, 34.0, "distance, km"},
                            ta_axis_around(117.3, 162.9, "shaft speed, 1000 rpm"),
                            &right,
                            {4.0, 31.0, 4.0, 4.0}};
    ta_frame whole, upper, lower;
    ta_chart_draw(&svg, &chart, &whole, NULL);
    ta_svg_close(&svg);
    ta_buffer_free(&out);
    begin(&svg, sizes[k][0], sizes[k][1], sizes[k][2], &out);
    ta_chart_draw_split(&svg, &chart, 0.37, &upper, &lower);
    const double height = lower.plot.bottom - upper.plot.top;
    assert_true(upper.plot.left == lower.plot.left && upper.plot.right == lower.plot.right);
    assert_true(upper.plot.bottom < lower.plot.top && lower.plot.bottom == whole.plot.bottom);
    assert_int_equal(
        off("share", "upper", (upper.plot.bottom - upper.plot.top) / height, 0.63, 1e-12), 0);
    assert_true(lower.y.from == 1273.0 && lower.y.to == 5147.0);
    for (size_t m = 0; m < svg.taken_count; m++) {
      assert_false(overlap(svg.taken[m].rect, upper.plot));
      assert_false(overlap(svg.taken[m].rect, lower.plot));
    }
    assert_texts_apart(&svg);
    char part[6000];
    between(out.text, "-right-axis\">", "</g>", part, sizeof part);
    assert_true(occurrences(part, "<text") >= 2);
    assert_null(strstr(part, "elevation"));
    ta_svg_close(&svg);
    ta_buffer_free(&out);
  }
}

static void a_label_on_its_point_gives_way(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 400.0, 300.0, 13.0, &out);
  assert_true(ta_svg_label_on(&svg, TA_ROLE_ISLAND, (ta_xy){133.0, 97.0}, NULL, "74 %"));
  assert_non_null(strstr(out.text, " x=\"133\" y=\"101.68\" text-anchor=\"middle\">74 %<"));
  const size_t length = out.length;
  assert_false(ta_svg_label_on(&svg, TA_ROLE_ISLAND, (ta_xy){141.0, 101.0}, NULL, "76 %"));
  assert_false(ta_svg_label_on(&svg, TA_ROLE_ISLAND, (ta_xy){3.0, 201.0}, NULL, "76 %"));
  assert_false(ta_svg_label_on(&svg, TA_ROLE_ISLAND, (ta_xy){(double)NAN, 201.0}, NULL, "76 %"));
  assert_false(ta_svg_label_on(&svg, TA_ROLE_ISLAND, (ta_xy){233.0, 201.0},
                               &(ta_rect){230.0, 190.0, 400.0, 300.0}, "76 %"));
  assert_int_equal(out.length, length);
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

/* Colour of a share, edge of the role; nothing where there is no place. */
static void spots_have_the_scale_s_colour(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg svg;
  char want[100];
  begin(&svg, 400.0, 300.0, 13.0, &out);
  const size_t length = out.length;
  ta_svg_spot(&svg, NULL, TA_ROLE_TEXT, TA_DISC, (ta_xy){(double)INFINITY, 3.0}, 9.0, 0.3);
  ta_svg_spot(&svg, NULL, TA_ROLE_TEXT, TA_NO_MARKER, (ta_xy){30.0, 3.0}, 9.0, 0.3);
  assert_int_equal(out.length, length);
  ta_svg_part(&svg, "spots");
  ta_svg_spot(&svg, NULL, TA_ROLE_TEXT, TA_DISC, (ta_xy){97.0, 53.0}, 9.0, 0.31);
  ta_svg_part_end(&svg);
  (void)snprintf(want, sizeof want,
                 "-spots\">\n<path class=\"ta-text\" fill=\"#%06x\" stroke=\"currentColor\"",
                 (unsigned)ta_scale_colour(0.31));
  assert_non_null(strstr(out.text, want));
  assert_non_null(strstr(out.text, " d=\"M92.5 53a"));
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

static void labels_stand_where_they_are_wanted_or_near(void **state) {
  (void)state;
  static const struct {
    ta_side side;
    int x, y; /* on which side of the point its box lies */
  } rows[] = {{TA_SIDE_RIGHT, 1, 0},  {TA_SIDE_UPPER_RIGHT, 1, -1},
              {TA_SIDE_ABOVE, 0, -1}, {TA_SIDE_UPPER_LEFT, -1, -1},
              {TA_SIDE_LEFT, -1, 0},  {TA_SIDE_LOWER_LEFT, -1, 1},
              {TA_SIDE_BELOW, 0, 1},  {TA_SIDE_LOWER_RIGHT, 1, 1}};
  const ta_xy at = {203.0, 151.0};
  for (size_t k = 0; k < COUNT_OF(rows); k++) {
    ta_buffer out = {0};
    ta_svg svg;
    begin(&svg, 400.0, 300.0, 12.0, &out);
    const size_t start = out.length;
    assert_true(ta_svg_label(&svg, TA_ROLE_TEXT, at, rows[k].side, NULL, "Cairn"));
    const ta_rect box = svg.taken[0].rect;
    assert_int_equal((box.left > at.x) - (box.right < at.x), rows[k].x);
    assert_int_equal((box.top > at.y) - (box.bottom < at.y), rows[k].y);
    assert_int_equal(occurrences(out.text + start, "<path"), 0);
    /* that place taken: beside it; all eight taken: farther off, with a leader; no room: nowhere */
    assert_true(ta_svg_label(&svg, TA_ROLE_TEXT, at, rows[k].side, NULL, "Cairn"));
    assert_int_equal(occurrences(out.text + start, "<path"), 0);
    ta_svg_keep_clear(&svg, (ta_rect){at.x - 14.0, at.y - 14.0, at.x + 14.0, at.y + 14.0});
    assert_true(ta_svg_label(&svg, TA_ROLE_TEXT, at, rows[k].side, NULL, "Cairn"));
    assert_int_equal(occurrences(out.text + start, "<path"), 1);
    const size_t before = out.length;
    assert_false(ta_svg_label(&svg, TA_ROLE_TEXT, at, rows[k].side,
                              &(ta_rect){190.0, 140.0, 215.0, 170.0}, "Cairn"));
    ta_svg_keep_clear(&svg, (ta_rect){0.0, 0.0, 400.0, 300.0});
    assert_false(ta_svg_label(&svg, TA_ROLE_TEXT, at, rows[k].side, NULL, "Cairn"));
    assert_int_equal(out.length, before);
    ta_svg_close(&svg);
    ta_buffer_free(&out);
  }
}

static void labels_keep_off_lines(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 400.0, 300.0, 12.0, &out);
  /* slopes away to the right with few points, then a crowd of them */
  ta_xy line[202] = {{200.0, 150.0}, {390.0, 190.0}};
  for (size_t i = 2; i < 202; i++)
    line[i] = (ta_xy){390.0 - 1.9 * (double)(i - 1), 190.0 + 0.1 * (double)i};
  line[90].y = (double)NAN;
  ta_svg_keep_line_clear(&svg, NULL, line, 202);
  const size_t of_the_line = svg.taken_count;
  assert_true(
      ta_svg_label(&svg, TA_ROLE_TEXT, line[0], TA_SIDE_LOWER_RIGHT, NULL, "schedule, 6,000 rpm"));
  const ta_rect box = svg.taken[of_the_line].rect;
  for (double share = 0.0; share <= 1.0; share += 0.001) {
    const double x = 200.0 + 190.0 * share, y = 150.0 + 40.0 * share;
    assert_false(overlap(box, (ta_rect){x, y, x, y}));
  }
  for (size_t i = 2; i < 202; i++)
    assert_false(i != 90 && overlap(box, (ta_rect){line[i].x, line[i].y, line[i].x, line[i].y}));
  /* beside a long slope there is room, close to it and without a leader */
  const size_t start = out.length;
  const ta_xy slope[2] = {{20.0, 20.0}, {380.0, 280.0}};
  ta_svg_keep_line_clear(&svg, NULL, slope, 2);
  assert_true(ta_svg_label(&svg, TA_ROLE_TEXT, (ta_xy){230.0, 90.0}, TA_SIDE_RIGHT, NULL, "limit"));
  assert_int_equal(occurrences(out.text + start, "<path"), 0);
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

/* ---- the document ---------------------------------------------------------------------------- */

enum { IDS_MAX = 64 };

typedef struct {
  char id[IDS_MAX][64], wanted[IDS_MAX][64];
  size_t ids, wants;
  char title[200];
  int depth, texts;
  bool in_title, in_foreign, named;
} document;

static void remember(char list[IDS_MAX][64], size_t *count, const char *text, size_t length) {
  assert_true(*count < IDS_MAX && length < 64);
  memcpy(list[*count], text, length);
  list[(*count)++][length] = '\0';
}

static void XMLCALL element_begins(void *data, const XML_Char *name, const XML_Char **attribute) {
  static const char *const taken[] = {"svg", "title", "desc", "style", "defs",     "pattern",
                                      "g",   "rect",  "path", "text",  "clipPath", "linearGradient",
                                      "stop"};
  document *d = data;
  bool known = false;
  for (size_t i = 0; i < COUNT_OF(taken); i++) known = known || strcmp(name, taken[i]) == 0;
  if (!known) fail_msg("element %s", name);
  d->in_title = strcmp(name, "title") == 0;
  d->depth++;
  d->texts += strcmp(name, "text") == 0;
  for (; attribute[0] != NULL; attribute += 2) {
    const char *key = attribute[0], *value = attribute[1];
    assert_true(strncmp(key, "on", 2) != 0 && strstr(key, "href") == NULL);
    if (strcmp(key, "id") == 0) remember(d->id, &d->ids, value, strlen(value));
    if (strncmp(value, "url(", 4) == 0) {
      assert_true(value[4] == '#' && value[strlen(value) - 1] == ')');
      remember(d->wanted, &d->wants, value + 5, strlen(value) - 6);
    }
    if (strcmp(key, "font-size") == 0) assert_true(strtod(value, NULL) >= 11.0);
    if (strcmp(key, "aria-labelledby") == 0) {
      const char *space = strchr(value, ' ');
      assert_non_null(space);
      remember(d->wanted, &d->wants, value, (size_t)(space - value));
      remember(d->wanted, &d->wants, space + 1, strlen(space + 1));
    }
    d->named = d->named || (strcmp(key, "role") == 0 && strcmp(value, "img") == 0);
    /* at most two decimals, wherever there is a number */
    for (const char *mark = strchr(value, '.'); mark != NULL; mark = strchr(mark + 1, '.'))
      assert_true(strspn(mark + 1, "0123456789") <= 2);
  }
}

static void XMLCALL element_ends(void *data, const XML_Char *name) {
  (void)name;
  document *d = data;
  d->in_title = false;
  d->depth--;
}

static void XMLCALL characters(void *data, const XML_Char *text, int length) {
  document *d = data;
  if (d->in_title) strncat(d->title, text, (size_t)length);
}

static void parse(document *d, const char *text, size_t length) {
  XML_Parser parser = XML_ParserCreate(NULL);
  assert_non_null(parser);
  memset(d, 0, sizeof *d);
  XML_SetUserData(parser, d);
  XML_SetElementHandler(parser, element_begins, element_ends);
  XML_SetCharacterDataHandler(parser, characters);
  if (XML_Parse(parser, text, (int)length, 1) != XML_STATUS_OK)
    fail_msg("line %lu: %s", (unsigned long)XML_GetCurrentLineNumber(parser),
             XML_ErrorString(XML_GetErrorCode(parser)));
  XML_ParserFree(parser);
}

static void the_document_is_sound_and_stands_alone(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg svg;
  draw_busy(&svg, "first", 1200.0, 560.0, 13.0, &out);
  ta_svg_close(&svg);
  assert_false(out.failed);
  static document d;
  parse(&d, out.text, out.length);
  assert_string_equal(d.title, "Shaft </title> \"speed\"");
  assert_true(d.named && d.texts > 30);
  assert_true(d.wants >= 5);
  for (size_t i = 0; i < d.ids; i++) {
    assert_true(strncmp(d.id[i], "ta-first-", 9) == 0);
    for (size_t k = 0; k < i; k++) assert_string_not_equal(d.id[i], d.id[k]);
  }
  for (size_t i = 0; i < d.wants; i++) {
    bool found = false;
    for (size_t k = 0; k < d.ids; k++) found = found || strcmp(d.wanted[i], d.id[k]) == 0;
    if (!found) fail_msg("%s is not there", d.wanted[i]);
  }
  assert_null(strstr(out.text, "@import"));
  assert_null(strstr(out.text, "nan"));
  assert_null(strstr(out.text, "inf\""));
  assert_int_equal(occurrences(out.text, "http"), 1); /* the name space */
  assert_non_null(strstr(out.text, "viewBox=\"0 0 1200 560\" width=\"1200\" height=\"560\""));
  assert_int_equal(
      occurrences(
          out.text,
          "<text class=\"ta-paper\" fill=\"currentColor\" x=\"9\" y=\"12.96\" font-size=\"11\""),
      1);
  ta_buffer_free(&out);
  /* without its own style sheet; an id that is none */
  ta_svg_open(&svg, &(ta_drawing){"a\"b c\xc3\xa9", "t", "d", 100.0, 50.5, (double)NAN, false},
              &out);
  ta_svg_close(&svg);
  parse(&d, out.text, out.length);
  assert_null(strstr(out.text, "<style>"));
  assert_non_null(strstr(out.text, "<title id=\"ta-a_b_c__-title\">"));
  assert_non_null(strstr(out.text, "viewBox=\"0 0 100 50.5\""));
  assert_non_null(strstr(out.text, " font-size=\"11\""));
  ta_buffer_free(&out);
}

static void every_marker_has_its_own_shape(void **state) {
  (void)state;
  static char seen[TA_MARKER_COUNT][300];
  for (ta_marker m = TA_DISC; m < TA_MARKER_COUNT; m++) {
    ta_buffer out = {0};
    ta_svg svg;
    begin(&svg, 100.0, 100.0, 12.0, &out);
    const size_t start = out.length;
    ta_svg_marker(&svg, NULL, TA_ROLE_TEXT, m, (ta_xy){50.0, 40.0}, 10.0);
    between(out.text + start, "class=\"ta-text\"", "/>", seen[m], sizeof seen[m]);
    assert_true(strlen(seen[m]) > 20);
    for (ta_marker k = TA_DISC; k < m; k++) assert_string_not_equal(seen[m], seen[k]);
    ta_svg_close(&svg);
    ta_buffer_free(&out);
  }
  assert_non_null(strstr(seen[TA_DISC], "d=\"M45 40a5 5 0 1 1 10 0a5 5 0 1 1 -10 0Z\""));
  assert_non_null(strstr(seen[TA_SQUARE], "d=\"M46 36L54 36L54 44L46 44Z\""));
  assert_non_null(
      strstr(seen[TA_CROSS], "fill=\"none\" stroke=\"currentColor\" stroke-width=\"2.5\""));
  assert_non_null(strstr(seen[TA_PLUS], "d=\"M50 35L50 45M55 40L45 40\""));
}

/* ---- colours --------------------------------------------------------------------------------- */

/* IEC 61966-2-1: linear light of an 8-bit channel. */
static void linear_rgb(uint32_t colour, double rgb[3]) {
  for (int i = 0; i < 3; i++) {
    const double v = (double)(colour >> (16 - 8 * i) & 255) / 255.0;
    rgb[i] = v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
  }
}

/* WCAG 2.1, definitions of relative luminance and of contrast ratio. */
static double contrast(uint32_t a, uint32_t b) {
  double rgb[2][3], l[2];
  linear_rgb(a, rgb[0]);
  linear_rgb(b, rgb[1]);
  for (int i = 0; i < 2; i++) l[i] = 0.2126 * rgb[i][0] + 0.7152 * rgb[i][1] + 0.0722 * rgb[i][2];
  return (fmax(l[0], l[1]) + 0.05) / (fmin(l[0], l[1]) + 0.05);
}

/* Linear light as people without one sort of cones see it: Machado, Oliveira and Fernandes, IEEE
 * Trans. Vis. Comput. Graph. 15(6), 2009, severity 1.0; from memory. */
static const double sights[][3][3] = {
    {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}},
    {{0.152286, 1.052583, -0.204868},
     {0.114503, 0.786281, 0.099216},
     {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968},
     {0.280085, 0.672501, 0.047413},
     {-0.011820, 0.042940, 0.968881}},
};

/* CIE 15: CIELAB at D65. */
static void lab_of(uint32_t colour, size_t sight, double lab[3]) {
  double rgb[3], seen[3], f[3];
  linear_rgb(colour, rgb);
  for (int i = 0; i < 3; i++) {
    seen[i] =
        sights[sight][i][0] * rgb[0] + sights[sight][i][1] * rgb[1] + sights[sight][i][2] * rgb[2];
    seen[i] = fmin(fmax(seen[i], 0.0), 1.0);
  }
  const double xyz[3] = {
      (0.4124564 * seen[0] + 0.3575761 * seen[1] + 0.1804375 * seen[2]) / 0.95047,
      0.2126729 * seen[0] + 0.7151522 * seen[1] + 0.0721750 * seen[2],
      (0.0193339 * seen[0] + 0.1191920 * seen[1] + 0.9503041 * seen[2]) / 1.08883};
  for (int i = 0; i < 3; i++)
    f[i] = xyz[i] > 216.0 / 24389.0 ? cbrt(xyz[i]) : (24389.0 / 27.0 * xyz[i] + 16.0) / 116.0;
  lab[0] = 116.0 * f[1] - 16.0;
  lab[1] = 500.0 * (f[0] - f[1]);
  lab[2] = 200.0 * (f[1] - f[2]);
}

static double apart(uint32_t a, uint32_t b, size_t sight) {
  double p[3], q[3];
  lab_of(a, sight, p);
  lab_of(b, sight, q);
  return sqrt((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1]) +
              (p[2] - q[2]) * (p[2] - q[2]));
}

static uint32_t colour_of(ta_role role, int theme) {
  return theme == 0 ? ta_role_look(role)->light : ta_role_look(role)->dark;
}

/* WCAG 2.1, 1.4.3 asks 4.5 for text and 1.4.11 asks 3 for graphics; every role may be the colour of
 * a label, so all but paper and the grid, which carries no meaning of its own, give 4.5. */
static void everything_stands_out_from_the_paper(void **state) {
  (void)state;
  assert_true(fabs(contrast(0x000000, 0xffffff) - 21.0) < 1e-9);
  assert_true(fabs(contrast(0x777777, 0xffffff) - 4.48) < 0.005); /* well-known near miss */
  for (int theme = 0; theme < 2; theme++)
    for (ta_role role = TA_ROLE_GRID + 1; role < TA_ROLE_COUNT; role++) {
      const double ratio = contrast(colour_of(role, theme), colour_of(TA_ROLE_PAPER, theme));
      const double wanted = role == TA_ROLE_TEXT || role == TA_ROLE_MUTED ? 7.0 : 4.5;
      if (!(ratio >= wanted))
        fail_msg("%s on theme %d: %.2f", ta_role_look(role)->name, theme, ratio);
    }
}

/* 10 in CIELAB is told apart at a glance in a picture; common practice. */
static void lines_are_told_apart_by_any_eye(void **state) {
  (void)state;
  static const ta_role course[] = {TA_ROLE_GROUND, TA_ROLE_SHAFT_AT_TARGET, TA_ROLE_SHAFT_UNDER_CAP,
                                   TA_ROLE_LIMIT, TA_ROLE_RATED_SPEED},
                       map[] = {TA_ROLE_ISLAND, TA_ROLE_SHAFT_AT_TARGET, TA_ROLE_SHAFT_UNDER_CAP,
                                TA_ROLE_LIMIT, TA_ROLE_SURGE_LINE};
  assert_true(apart(0xffffff, 0xffffff, 1) == 0.0 && apart(0xffffff, 0x000000, 2) > 99.9);
  for (size_t sight = 0; sight < COUNT_OF(sights); sight++)
    for (int theme = 0; theme < 2; theme++)
      for (size_t i = 0; i < 5; i++)
        for (size_t k = 0; k < i; k++) {
          const double along =
                           apart(colour_of(course[i], theme), colour_of(course[k], theme), sight),
                       on_map = apart(colour_of(map[i], theme), colour_of(map[k], theme), sight);
          if (!(along >= 20.0) || !(on_map >= 10.0))
            fail_msg("sight %zu theme %d pair %zu %zu: %.1f, %.1f", sight, theme, i, k, along,
                     on_map);
        }
}

static void no_two_roles_differ_in_colour_alone(void **state) {
  (void)state;
  static const ta_role lines[] = {
      TA_ROLE_GROUND,        TA_ROLE_SHAFT_AT_TARGET, TA_ROLE_SHAFT_UNDER_CAP, TA_ROLE_LIMIT,
      TA_ROLE_RATED_SPEED,   TA_ROLE_OVER_LIMIT,      TA_ROLE_EXTRAPOLATED,    TA_ROLE_SPEED_LINE,
      TA_ROLE_ISLAND,        TA_ROLE_SURGE_LINE,      TA_ROLE_CHOKE_LINE,      TA_ROLE_MARK,
      TA_ROLE_SHAFT_ESTIMATE};
  for (size_t i = 0; i < COUNT_OF(lines); i++)
    for (size_t k = 0; k < i; k++) {
      const ta_look *a = ta_role_look(lines[i]), *b = ta_role_look(lines[k]);
      assert_true(strcmp(a->dash, b->dash) != 0 || a->marker != b->marker ||
                  a->hatch_deg != b->hatch_deg);
      assert_string_not_equal(a->name, b->name);
    }
}

static void the_scale_is_even_and_falls_in_lightness(void **state) {
  (void)state;
  enum { STEPS = 20 };
  double before[3], low = HUGE_VAL, high = 0.0;
  lab_of(ta_scale_colour(0.0), 0, before);
  assert_true(before[0] > 90.0);
  for (int i = 1; i <= STEPS; i++) {
    double lab[3];
    const uint32_t colour = ta_scale_colour((double)i / STEPS);
    lab_of(colour, 0, lab);
    assert_true(lab[0] < before[0] - 1.0); /* each step is seen in grey */
    const double step = apart(colour, ta_scale_colour((double)(i - 1) / STEPS), 0);
    low = fmin(low, step);
    high = fmax(high, step);
    memcpy(before, lab, sizeof before);
    for (size_t sight = 1; sight < COUNT_OF(sights); sight++) {
      double now[3], last[3];
      lab_of(colour, sight, now);
      lab_of(ta_scale_colour((double)(i - 1) / STEPS), sight, last);
      assert_true(now[0] < last[0]);
    }
  }
  assert_true(before[0] < 30.0);
  /* rounding to 8 bits takes or gives 1 at the most; the bend in the middle cuts one step short */
  assert_true(low > 4.0 && high < 6.5);
  assert_int_equal(ta_scale_colour(-3.0), ta_scale_colour(0.0));
  assert_int_equal(ta_scale_colour(1.7), ta_scale_colour(1.0));
  assert_int_equal(ta_scale_colour((double)NAN), ta_scale_colour(0.0));
}

static void numbers_on_the_scale_are_read(void **state) {
  (void)state;
  for (int i = 0; i <= 100; i++) {
    const uint32_t colour = ta_scale_colour(0.01 * i);
    const double ratio = contrast(colour, ta_takes_black(colour) ? 0x000000 : 0xffffff);
    assert_true(ratio >= 4.5);
    assert_true(ratio >= contrast(colour, ta_takes_black(colour) ? 0xffffff : 0x000000));
  }
  ta_buffer out = {0};
  ta_svg svg;
  begin(&svg, 100.0, 100.0, 12.0, &out);
  ta_svg_cell(&svg, (ta_rect){10.0, 20.0, 50.0, 40.0}, 0.0, 0.0, "171");
  ta_svg_cell(&svg, (ta_rect){50.0, 20.0, 90.0, 40.0}, 1.0, 0.0, "229");
  char want[300];
  (void)snprintf(want, sizeof want,
                 "<rect fill=\"#%06x\" x=\"50\" y=\"20\" width=\"40\" height=\"20\"/>\n"
                 "<text fill=\"#ffffff\" x=\"70\" y=\"34.32\" text-anchor=\"middle\">229</text>",
                 (unsigned)ta_scale_colour(1.0));
  assert_non_null(strstr(out.text, want));
  assert_non_null(strstr(out.text, "<text fill=\"#000000\" x=\"30\""));
  ta_svg_scale_bar(&svg, (ta_rect){5.0, 50.0, 95.0, 60.0}, &(ta_axis){170.0, 230.0, "cap"});
  static const char *const offsets[] = {"0", "0.25", "0.5", "1"};
  for (size_t i = 0; i < COUNT_OF(offsets); i++) {
    (void)snprintf(want, sizeof want, "<stop offset=\"%s\" stop-color=\"#%06x\"/>", offsets[i],
                   (unsigned)ta_scale_colour(strtod(offsets[i], NULL)));
    assert_non_null(strstr(out.text, want));
  }
  ta_svg_close(&svg);
  ta_buffer_free(&out);
}

static void the_style_sheet_has_every_role_in_both_themes(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_svg_style(&out);
  const char *dark = strstr(out.text, "@media screen and (prefers-color-scheme:dark){");
  assert_non_null(dark);
  for (ta_role role = 0; role < TA_ROLE_COUNT; role++) {
    const ta_look *look = ta_role_look(role);
    for (int theme = 0; theme < 2; theme++) {
      const unsigned colour = (unsigned)colour_of(role, theme);
      char rule[200]; /* the plain colour first, for readers without custom properties */
      (void)snprintf(rule, sizeof rule, ".ta-%s{color:#%06x;color:var(--ta-%s,#%06x)}", look->name,
                     colour, look->name, colour);
      const char *found = strstr(theme == 0 ? out.text : dark, rule);
      assert_non_null(found);
      assert_true(theme == 1 || found < dark);
    }
  }
  ta_buffer_free(&out);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ticks_are_round_and_as_many_as_fit),
      cmocka_unit_test(no_ticks_where_there_is_no_axis),
      cmocka_unit_test(labels_of_ticks_stay_apart),
      cmocka_unit_test(axes_end_at_round_numbers),
      cmocka_unit_test(places_go_there_and_back),
      cmocka_unit_test(a_line_is_drawn_where_its_numbers_are),
      cmocka_unit_test(lines_have_gaps_and_no_needless_points),
      cmocka_unit_test(areas_and_bands),
      cmocka_unit_test(texts_come_out_harmless),
      cmocka_unit_test(no_text_is_wider_than_its_box),
      cmocka_unit_test(no_text_covers_another),
      cmocka_unit_test(split_panels_share_the_width_and_not_the_height),
      cmocka_unit_test(a_label_on_its_point_gives_way),
      cmocka_unit_test(spots_have_the_scale_s_colour),
      cmocka_unit_test(labels_stand_where_they_are_wanted_or_near),
      cmocka_unit_test(labels_keep_off_lines),
      cmocka_unit_test(the_document_is_sound_and_stands_alone),
      cmocka_unit_test(every_marker_has_its_own_shape),
      cmocka_unit_test(everything_stands_out_from_the_paper),
      cmocka_unit_test(lines_are_told_apart_by_any_eye),
      cmocka_unit_test(no_two_roles_differ_in_colour_alone),
      cmocka_unit_test(the_scale_is_even_and_falls_in_lightness),
      cmocka_unit_test(numbers_on_the_scale_are_read),
      cmocka_unit_test(the_style_sheet_has_every_role_in_both_themes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
