/* svg.c - drawing in SVG.
 *
 * Standard  SVG 1.1 elements only, so that office programs read it as well; colours by CSS custom
 *           properties, each preceded by its plain value for readers that know none.
 * Decision  Widths of text are those of a wide face: a narrower one leaves more room, never less.
 * Pinned by tests/report/test_svg.c.
 */
#include "svg.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double LEAST_TEXT_PX = 11.0;
static const double NEAR_PX = 0.25; /* a point nearer than this to the last is not seen */
static const double HATCH_PX = 7.0;
static const double CLOSER_TICKS = 0.6; /* in a panel that is a part of the height */

/* ---- numbers and texts ----------------------------------------------------------------------- */

/* Two decimals without printf's %f, whose decimal mark follows the locale. */
static void number(ta_buffer *out, double value) {
  const double most = 1e9;
  const long long hundredths = llround(100.0 * fmin(fmax(value, -most), most));
  const long long size = llabs(hundredths), whole = size / 100, rest = size % 100;
  ta_buffer_add(out, "%s%lld", hundredths < 0 ? "-" : "", whole);
  if (rest % 10 != 0)
    ta_buffer_add(out, ".%02lld", rest);
  else if (rest != 0)
    ta_buffer_add(out, ".%lld", rest / 10);
}

static void attribute(ta_buffer *out, const char *name, double value) {
  ta_buffer_add(out, " %s=\"", name);
  number(out, value);
  ta_buffer_add(out, "\"");
}

static void coordinates(ta_buffer *out, const char *command, ta_xy at) {
  ta_buffer_add(out, "%s", command);
  number(out, at.x);
  ta_buffer_add(out, " ");
  number(out, at.y);
}

/* How many bytes follow the first of a character in UTF-8; -1 if none begins with it. */
static int bytes_after(unsigned char first) {
  if (first < 0x80) return 0;
  if (first < 0xC2 || first >= 0xF5) return -1;
  if (first < 0xE0) return 1;
  return first < 0xF0 ? 2 : 3;
}

/* The next character of UTF-8 (RFC 3629), U+FFFD for a byte that begins none; text moves on. */
static uint32_t next_character(const char **text) {
  const unsigned char *byte = (const unsigned char *)*text;
  const int more = bytes_after(byte[0]);
  *text += 1;
  if (more < 0) return 0xFFFD;
  uint32_t character = more == 0 ? byte[0] : byte[0] & (0x3FU >> more);
  for (int i = 1; i <= more; i++) {
    if ((byte[i] & 0xC0) != 0x80) return 0xFFFD;
    character = character << 6 | (byte[i] & 0x3FU);
  }
  const bool too_long = (more == 2 && character < 0x800) || (more == 3 && character < 0x10000);
  const bool surrogate = character >= 0xD800 && character <= 0xDFFF;
  if (too_long || surrogate || character > 0x10FFFF) return 0xFFFD;
  *text += more;
  return character;
}

/* Controls, those that turn the direction of writing among them, and what is no character. */
static bool is_dropped(uint32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || (c >= 0x202A && c <= 0x202E) ||
         (c >= 0x2066 && c <= 0x2069) || (c & 0xFFFE) == 0xFFFE;
}

static bool is_space(uint32_t c) {
  return c == '\t' || c == '\n' || c == '\r';
}

void ta_svg_escape(ta_buffer *out, const char *text) {
  while (*text != '\0') {
    const char *from = text;
    const uint32_t c = next_character(&text);
    if (is_space(c))
      ta_buffer_add(out, " ");
    else if (is_dropped(c))
      continue;
    else if (c == '&' || c == '<' || c == '>' || c == '"' || c == '\'')
      ta_buffer_add(out, "&#%" PRIu32 ";", c);
    else if (c == 0xFFFD)
      ta_buffer_add(out, "\xef\xbf\xbd");
    else
      ta_buffer_add(out, "%.*s", (int)(text - from), from);
  }
}

/* Advance width [em], at least that of DejaVu Sans, which is wider than the rest of the stack. */
static double character_width(uint32_t c) {
  if (is_dropped(c) && !is_space(c)) return 0.0;
  if (c >= 0x1100) return 1.0;
  if (c < 0x80 && strchr("ijl.,:;|' \t\r\n", (int)c) != NULL) return 0.34;
  if (c < 0x80 && strchr("frt!()[]-/I", (int)c) != NULL) return 0.42;
  if (c < 0x80 && strchr("mwMW%@+=<>^~#&", (int)c) != NULL) return 1.0;
  return (c >= 'A' && c <= 'Z') || c >= 0x80 ? 0.79 : 0.65;
}

static double text_width(const char *text, double size_px, bool bold) {
  double width = 0.0;
  while (*text != '\0') width += character_width(next_character(&text));
  return width * size_px * (bold ? 1.18 : 1.0);
}

/* ---- the document ---------------------------------------------------------------------------- */

void ta_svg_style(ta_buffer *out) {
  ta_buffer_add(out,
                "<style>\n.ta-drawing{max-width:100%%;height:auto}\n"
                ".ta-halo{stroke-width:3px;stroke-linejoin:round;paint-order:stroke}\n");
  for (int dark = 0; dark < 2; dark++) {
    if (dark) ta_buffer_add(out, "@media screen and (prefers-color-scheme:dark){\n");
    for (ta_role role = 0; role < TA_ROLE_COUNT; role++) {
      const ta_look *look = ta_role_look(role);
      const uint32_t colour = dark ? look->dark : look->light;
      ta_buffer_add(out, ".ta-%s{color:#%06" PRIx32 ";color:var(--ta-%s,#%06" PRIx32 ")}\n",
                    look->name, colour, look->name, colour);
    }
    const uint32_t paper =
        dark ? ta_role_look(TA_ROLE_PAPER)->dark : ta_role_look(TA_ROLE_PAPER)->light;
    ta_buffer_add(out, ".ta-halo{stroke:#%06" PRIx32 ";stroke:var(--ta-paper,#%06" PRIx32 ")}\n%s",
                  paper, paper, dark ? "}\n" : "");
  }
  ta_buffer_add(out, "</style>\n");
}

static void hatches(const ta_svg *svg) {
  ta_buffer_add(svg->out, "<defs>\n");
  for (ta_role role = 0; role < TA_ROLE_COUNT; role++) {
    const ta_look *look = ta_role_look(role);
    if (look->hatch_deg < 0) continue;
    ta_buffer_add(svg->out, "<pattern id=\"%s-hatch-%s\" patternUnits=\"userSpaceOnUse\"", svg->id,
                  look->name);
    attribute(svg->out, "width", HATCH_PX);
    attribute(svg->out, "height", HATCH_PX);
    ta_buffer_add(svg->out, " patternTransform=\"rotate(%d)\"><g class=\"ta-%s\">", look->hatch_deg,
                  look->name);
    ta_buffer_add(svg->out,
                  "<rect width=\"8\" height=\"8\" fill=\"currentColor\" "
                  "fill-opacity=\"0.1\"/><path d=\"M0 3.5H8\" stroke=\"currentColor\" "
                  "stroke-width=\"1.25\"/></g></pattern>\n");
  }
  ta_buffer_add(svg->out, "</defs>\n");
}

static double readable(double size_px) {
  return size_px > LEAST_TEXT_PX ? size_px : LEAST_TEXT_PX;
}

void ta_svg_open(ta_svg *svg, const ta_drawing *drawing, ta_buffer *out) {
  *svg = (ta_svg){.out = out,
                  .width = drawing->width,
                  .height = drawing->height,
                  .text_px = readable(drawing->text_px)};
  (void)snprintf(svg->id, sizeof svg->id, "ta-%s", drawing->id);
  for (char *c = svg->id; *c != '\0'; c++) {
    const bool plain = (*c >= '0' && *c <= '9') || (*c >= 'a' && *c <= 'z') ||
                       (*c >= 'A' && *c <= 'Z') || *c == '-';
    if (!plain) *c = '_';
  }
  ta_buffer_add(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ");
  number(out, svg->width);
  ta_buffer_add(out, " ");
  number(out, svg->height);
  ta_buffer_add(out, "\"");
  attribute(out, "width", svg->width);
  attribute(out, "height", svg->height);
  ta_buffer_add(out,
                " class=\"ta-drawing\" role=\"img\" aria-labelledby=\"%s-title %s-desc\" "
                "font-family=\"system-ui, 'Segoe UI', Roboto, Helvetica, Arial, sans-serif\"",
                svg->id, svg->id);
  attribute(out, "font-size", svg->text_px);
  ta_buffer_add(out, ">\n<title id=\"%s-title\">", svg->id);
  ta_svg_escape(out, drawing->title);
  ta_buffer_add(out, "</title>\n<desc id=\"%s-desc\">", svg->id);
  ta_svg_escape(out, drawing->description);
  ta_buffer_add(out, "</desc>\n");
  if (drawing->with_style) ta_svg_style(out);
  hatches(svg);
  ta_svg_rect(svg, TA_ROLE_PAPER, TA_SOLID, (ta_rect){0.0, 0.0, svg->width, svg->height});
}

void ta_svg_close(ta_svg *svg) {
  ta_buffer_add(svg->out, "</svg>\n");
  free(svg->taken);
  svg->taken = NULL;
  svg->taken_count = svg->taken_room = 0;
}

void ta_svg_part(ta_svg *svg, const char *name) {
  ta_buffer_add(svg->out, "<g id=\"%s-%s\">\n", svg->id, name);
}

void ta_svg_part_end(ta_svg *svg) {
  ta_buffer_add(svg->out, "</g>\n");
}

/* ---- ticks ----------------------------------------------------------------------------------- */

static double step_of(const ta_ticks *ticks) {
  return ticks->exponent < 0 ? ticks->digit / pow(10.0, -ticks->exponent)
                             : ticks->digit * pow(10.0, ticks->exponent);
}

static void next_coarser(ta_ticks *ticks) {
  if (ticks->digit == 5) ticks->exponent++;
  ticks->digit = ticks->digit == 1 ? 2 : ticks->digit == 2 ? 5 : 1;
}

double ta_tick_value(const ta_ticks *ticks, int i) {
  const double digits = (double)((ticks->first + i) * ticks->digit);
  return ticks->exponent < 0 ? digits / pow(10.0, -ticks->exponent)
                             : digits * pow(10.0, ticks->exponent);
}

const char *ta_tick_text(const ta_ticks *ticks, int i, char text[TA_TICK_TEXT_MAX]) {
  enum { MOST_DECIMALS = 6, MOST_ZEROS = 9 };
  const int64_t digits = (ticks->first + i) * ticks->digit;
  if (digits == 0) {
    (void)snprintf(text, TA_TICK_TEXT_MAX, "0");
    return text;
  }
  if (ticks->exponent < -MOST_DECIMALS || ticks->exponent > MOST_ZEROS) {
    (void)snprintf(text, TA_TICK_TEXT_MAX, "%" PRId64 "e%d", digits, ticks->exponent);
    return text;
  }
  const int decimals = ticks->exponent < 0 ? -ticks->exponent : 0;
  char plain[TA_TICK_TEXT_MAX]; /* the digits alone, with a leading zero at least */
  int length =
      snprintf(plain, sizeof plain, "%0*" PRId64, decimals + 1, digits < 0 ? -digits : digits);
  for (int zeros = 0; zeros < ticks->exponent; zeros++) plain[length++] = '0';
  int used = 0;
  if (digits < 0) text[used++] = '-';
  for (int k = 0; k < length && used + 2 < TA_TICK_TEXT_MAX; k++) {
    const int left = length - decimals - k; /* digits before the decimal mark, this one too */
    if (left == 0) text[used++] = '.';
    if (k > 0 && left > 0 && left % 3 == 0) text[used++] = ',';
    text[used++] = plain[k];
  }
  text[used] = '\0';
  return text;
}

static double widest_tick(const ta_ticks *ticks, double text_px) {
  double widest = 0.0;
  char text[TA_TICK_TEXT_MAX];
  for (int i = 0; i < ticks->count; i++)
    widest = fmax(widest, text_width(ta_tick_text(ticks, i, text), text_px, false));
  return widest;
}

static bool is_span(double from, double to) {
  const double least = 1e-100; /* far below any quantity, far above what is lost to underflow */
  return isfinite(to - from) && fabs(to - from) > fmax(1e-12 * fmax(fabs(from), fabs(to)), least);
}

/* Finer than anybody wants, by two to three decades. */
static ta_ticks finest(double span) {
  return (ta_ticks){.digit = 1, .exponent = (int)floor(log10(span)) - 2};
}

ta_ticks ta_ticks_fit(const ta_axis *axis, double length_px, double text_px, bool level) {
  const double low = fmin(axis->from, axis->to), span = fabs(axis->to - axis->from);
  const double on_the_end = 1e-9; /* of a step: rounding */
  if (!is_span(axis->from, axis->to)) return (ta_ticks){0};
  for (ta_ticks ticks = finest(span);; next_coarser(&ticks)) {
    const double step = step_of(&ticks);
    ticks.first = (int64_t)ceil(low / step - on_the_end);
    ticks.count = (int)((int64_t)floor((low + span) / step + on_the_end) - ticks.first) + 1;
    const double apart =
        level ? fmax(widest_tick(&ticks, text_px) + 1.2 * text_px, 5.0 * text_px) : 3.0 * text_px;
    if (ticks.count < 2 || length_px * step / span >= apart) return ticks;
  }
}

ta_axis ta_axis_around(double low, double high, const char *title) {
  if (!isfinite(high - low)) return (ta_axis){0.0, 1.0, title};
  if (!is_span(low, high)) {
    const double apart = 0.05 * fabs(low), wide = is_span(-apart, apart) ? apart : 1.0;
    low -= wide;
    high += wide;
  }
  enum { MOST_STEPS = 8 };
  ta_ticks ticks = finest(fabs(high - low));
  while (fabs(high - low) / step_of(&ticks) > MOST_STEPS) next_coarser(&ticks);
  const double step = step_of(&ticks);
  ticks.first = (int64_t)floor(fmin(low, high) / step + 1e-9);
  const int64_t last = (int64_t)ceil(fmax(low, high) / step - 1e-9);
  return (ta_axis){ta_tick_value(&ticks, 0), ta_tick_value(&ticks, (int)(last - ticks.first)),
                   title};
}

/* ---- axes ------------------------------------------------------------------------------------ */

ta_xy ta_frame_place(const ta_frame *frame, ta_xy data) {
  const ta_rect *plot = &frame->plot;
  const double along = (data.x - frame->x.from) / (frame->x.to - frame->x.from),
               up = (data.y - frame->y.from) / (frame->y.to - frame->y.from);
  return (ta_xy){plot->left + along * (plot->right - plot->left),
                 plot->bottom - up * (plot->bottom - plot->top)};
}

ta_xy ta_frame_data(const ta_frame *frame, ta_xy place) {
  const ta_rect *plot = &frame->plot;
  const double along = (place.x - plot->left) / (plot->right - plot->left),
               up = (plot->bottom - place.y) / (plot->bottom - plot->top);
  return (ta_xy){frame->x.from + along * (frame->x.to - frame->x.from),
                 frame->y.from + up * (frame->y.to - frame->y.from)};
}

static ta_xy placed(const ta_frame *frame, ta_xy point) {
  return frame != NULL ? ta_frame_place(frame, point) : point;
}

static void straight(ta_svg *svg, ta_role role, ta_xy from, ta_xy to) {
  ta_buffer_add(svg->out, "<path class=\"ta-%s\" stroke=\"currentColor\" stroke-width=\"1\" d=\"",
                ta_role_look(role)->name);
  coordinates(svg->out, "M", from);
  coordinates(svg->out, "L", to);
  ta_buffer_add(svg->out, "\"/>\n");
}

static void take(ta_svg *svg, ta_rect rect, bool is_text) {
  if (svg->taken_count == svg->taken_room) {
    const size_t room = 2 * svg->taken_room + 64;
    ta_taken *more = realloc(svg->taken, room * sizeof *more);
    svg->out->failed = svg->out->failed || more == NULL;
    if (more == NULL) return;
    svg->taken = more;
    svg->taken_room = room;
  }
  svg->taken[svg->taken_count++] = (ta_taken){rect, is_text};
}

/* A text that no label may cover. */
static void fixed_text(ta_svg *svg, const ta_lettering *lettering, const char *text) {
  ta_svg_text(svg, lettering, text);
  take(svg, ta_svg_text_box(svg, lettering, text), true);
}

static void draw_level_axis(ta_svg *svg, const ta_frame *frame, const ta_ticks *ticks) {
  const ta_rect *plot = &frame->plot;
  const double em = svg->text_px;
  char text[TA_TICK_TEXT_MAX];
  for (int i = 0; i < ticks->count; i++) {
    const double x = ta_frame_place(frame, (ta_xy){ta_tick_value(ticks, i), frame->y.from}).x;
    straight(svg, TA_ROLE_GRID, (ta_xy){x, plot->top}, (ta_xy){x, plot->bottom});
    const ta_lettering label = {{x, plot->bottom + 1.25 * em}, TA_MIDDLE, .role = TA_ROLE_MUTED};
    fixed_text(svg, &label, ta_tick_text(ticks, i, text));
  }
  if (frame->x.title == NULL) return;
  const ta_lettering title = {
      {0.5 * (plot->left + plot->right), plot->bottom + 2.6 * em}, TA_MIDDLE, .role = TA_ROLE_TEXT};
  fixed_text(svg, &title, frame->x.title);
}

static void draw_upright_axis(ta_svg *svg, const ta_frame *frame, const ta_ticks *ticks,
                              bool is_right) {
  const ta_rect *plot = &frame->plot;
  const double gap = 0.5 * svg->text_px;
  char text[TA_TICK_TEXT_MAX];
  for (int i = 0; i < ticks->count; i++) {
    const double y = ta_frame_place(frame, (ta_xy){frame->x.from, ta_tick_value(ticks, i)}).y;
    if (is_right)
      straight(svg, TA_ROLE_MUTED, (ta_xy){plot->right, y}, (ta_xy){plot->right + 0.6 * gap, y});
    else
      straight(svg, TA_ROLE_GRID, (ta_xy){plot->left, y}, (ta_xy){plot->right, y});
    const ta_lettering label = {{is_right ? plot->right + gap : plot->left - gap, y},
                                is_right ? TA_START : TA_END,
                                .role = TA_ROLE_MUTED};
    fixed_text(svg, &label, ta_tick_text(ticks, i, text));
  }
}

/* The lower or upper part of a frame's plot, with a row between them for the lower one's title;
 * all of it where the share is 0. */
static ta_rect part_of(const ta_svg *svg, ta_rect plot, double right_share, bool is_right) {
  if (!(right_share > 0.0)) return plot;
  const double border = plot.bottom - right_share * (plot.bottom - plot.top);
  if (is_right)
    plot.top = border + 1.9 * svg->text_px;
  else
    plot.bottom = border;
  return plot;
}

static bool is_shown(const ta_axis *axis) {
  return axis != NULL && axis->title != NULL;
}

/* A number with all the digits that a reader of the drawing wants, whatever the locale. */
static void data_attribute(ta_buffer *out, const char *name, double value) {
  char text[40];
  (void)snprintf(text, sizeof text, "%.9g", value);
  char *mark = strchr(text, ',');
  if (mark != NULL) *mark = '.';
  ta_buffer_add(out, " data-%s=\"%s\"", name, text);
}

/* Says where data stand, for a page's script. */
static void describe_frame(const ta_svg *svg, const ta_frame *frame) {
  const struct {
    const char *name;
    double value;
  } facts[] = {{"x0", frame->x.from},      {"x1", frame->x.to},
               {"y0", frame->y.from},      {"y1", frame->y.to},
               {"left", frame->plot.left}, {"right", frame->plot.right},
               {"top", frame->plot.top},   {"bottom", frame->plot.bottom}};
  ta_buffer_add(svg->out, "<g class=\"ta-plot\"");
  for (size_t i = 0; i < sizeof facts / sizeof facts[0]; i++)
    data_attribute(svg->out, facts[i].name, facts[i].value);
  ta_buffer_add(svg->out, "/>\n");
}

void ta_chart_draw(ta_svg *svg, const ta_chart *chart, ta_frame *left, ta_frame *right) {
  ta_chart_draw_split(svg, chart, 0.0, left, right);
}

void ta_chart_draw_split(ta_svg *svg, const ta_chart *chart, double right_share, ta_frame *left,
                         ta_frame *right) {
  const double em = svg->text_px;
  const bool has_left = is_shown(&chart->left), has_right = is_shown(chart->right),
             has_x = is_shown(&chart->x);
  const ta_rect outer = {chart->room.left, chart->room.top, svg->width - chart->room.right,
                         svg->height - chart->room.bottom};
  /* titles of the upright axes stand above them, one below the other where one row is too short */
  const double titles_px = (has_left ? text_width(chart->left.title, em, false) : 0.0) +
                           (has_right ? text_width(chart->right->title, em, false) : 0.0);
  const bool is_split = right_share > 0.0,
             in_one_row = is_split || titles_px + 2.0 * em <= outer.right - outer.left;
  const int rows = has_left && has_right && !in_one_row ? 2 : has_left || has_right ? 1 : 0;
  ta_rect plot = {outer.left + 0.5 * em, outer.top + (0.7 + 1.35 * rows) * em,
                  outer.right - 0.5 * em, outer.bottom - (has_x ? 3.3 : 0.7) * em};
  ta_ticks left_ticks = {0}, right_ticks = {0}, x_ticks = {0};
  if (has_left) {
    const ta_rect part = part_of(svg, plot, right_share, false);
    left_ticks = ta_ticks_fit(&chart->left, part.bottom - part.top, em, false);
    plot.left += widest_tick(&left_ticks, em) + 0.2 * em;
  }
  if (has_right) {
    const ta_rect part = part_of(svg, plot, right_share, true);
    right_ticks = ta_ticks_fit(chart->right, part.bottom - part.top,
                               is_split ? CLOSER_TICKS * em : em, false);
    plot.right -= widest_tick(&right_ticks, em) + 0.2 * em;
  }
  if (has_x) {
    /* half a label may stand out at each end */
    x_ticks = ta_ticks_fit(&chart->x, plot.right - plot.left, em, true);
    const double half = 0.5 * widest_tick(&x_ticks, em);
    plot.left = fmax(plot.left, outer.left + half);
    plot.right = fmin(plot.right, outer.right - half);
    x_ticks = ta_ticks_fit(&chart->x, plot.right - plot.left, em, true);
  }
  *left = (ta_frame){part_of(svg, plot, right_share, false), chart->x, chart->left};
  ta_svg_part(svg, "x-axis");
  draw_level_axis(svg, &(ta_frame){plot, chart->x, chart->left}, &x_ticks);
  ta_svg_part_end(svg);
  ta_svg_part(svg, "left-axis");
  draw_upright_axis(svg, left, &left_ticks, false);
  ta_svg_part_end(svg);
  if (has_left) {
    const ta_lettering title = {{outer.left + 0.3 * em, outer.top + 0.7 * em},
                                .role = TA_ROLE_TEXT};
    fixed_text(svg, &title, chart->left.title);
  }
  if (chart->right != NULL && right != NULL)
    *right = (ta_frame){part_of(svg, plot, right_share, true), chart->x, *chart->right};
  if (has_right) {
    const ta_frame frame = {part_of(svg, plot, right_share, true), chart->x, *chart->right};
    ta_svg_part(svg, "right-axis");
    draw_upright_axis(svg, &frame, &right_ticks, true);
    ta_svg_part_end(svg);
    const ta_lettering title = {
        {outer.right - 0.3 * em, is_split ? frame.plot.top - 1.25 * em : plot.top - 1.35 * em},
        TA_END,
        .role = TA_ROLE_TEXT};
    fixed_text(svg, &title, chart->right->title);
  }
  straight(svg, TA_ROLE_MUTED, (ta_xy){plot.left, plot.bottom}, (ta_xy){plot.right, plot.bottom});
  describe_frame(svg, left);
  if (has_right && right != NULL) describe_frame(svg, right);
}

/* ---- lines ----------------------------------------------------------------------------------- */

static bool is_finite(ta_xy p) {
  return isfinite(p.x) && isfinite(p.y);
}

static bool is_near(ta_xy a, ta_xy b) {
  return hypot(a.x - b.x, a.y - b.y) < NEAR_PX;
}

/* Adds points of one run (no gaps) to a path's data. */
static void run_of(ta_svg *svg, const ta_frame *frame, const ta_xy *point, size_t count,
                   bool backward, bool begin) {
  ta_xy drawn = {0.0, 0.0};
  for (size_t k = 0; k < count; k++) {
    const ta_xy at = placed(frame, point[backward ? count - 1 - k : k]);
    if (k > 0 && k + 1 < count && is_near(at, drawn)) continue;
    coordinates(svg->out, k == 0 && begin ? "M" : "L", at);
    drawn = at;
  }
}

/* Length of the run of finite points from here. */
static size_t finite_run(const ta_frame *frame, const ta_xy *point, size_t count) {
  size_t run = 0;
  while (run < count && is_finite(placed(frame, point[run]))) run++;
  return run;
}

static void begin_stroke(ta_svg *svg, ta_role role) {
  const ta_look *look = ta_role_look(role);
  ta_buffer_add(svg->out, "<path class=\"ta-%s\" fill=\"none\" stroke=\"currentColor\"",
                look->name);
  attribute(svg->out, "stroke-width", look->width);
  if (look->dash[0] != '\0') ta_buffer_add(svg->out, " stroke-dasharray=\"%s\"", look->dash);
  ta_buffer_add(svg->out, " stroke-linejoin=\"round\" d=\"");
}

void ta_svg_line(ta_svg *svg, const ta_frame *frame, ta_role role, const ta_xy *point,
                 size_t count) {
  bool begun = false;
  for (size_t i = 0; i < count;) {
    const size_t run = finite_run(frame, point + i, count - i);
    if (run > 0 && !begun) begin_stroke(svg, role);
    begun = begun || run > 0;
    run_of(svg, frame, point + i, run, false, true);
    if (run == 1) ta_buffer_add(svg->out, "h0.5"); /* a lone point is seen, too */
    i += run > 0 ? run : 1;
  }
  if (begun) ta_buffer_add(svg->out, "\"/>\n");
}

void ta_svg_lines(ta_svg *svg, const ta_frame *frame, ta_role role, const ta_lines *lines) {
  if (lines->line_count == 0) return;
  begin_stroke(svg, role);
  for (size_t i = 0; i < lines->line_count; i++) {
    const ta_span *line = &lines->line[i];
    run_of(svg, frame, lines->point + line->first, line->count, false, true);
    if (line->closed) ta_buffer_add(svg->out, "Z");
  }
  ta_buffer_add(svg->out, "\"/>\n");
}

/* ---- areas ----------------------------------------------------------------------------------- */

static void filling(ta_svg *svg, ta_role role, ta_fill fill) {
  const ta_look *look = ta_role_look(role);
  ta_buffer_add(svg->out, " class=\"ta-%s\"", look->name);
  if (fill == TA_HATCH && look->hatch_deg >= 0) {
    ta_buffer_add(svg->out, " fill=\"url(#%s-hatch-%s)\" stroke=\"currentColor\"", svg->id,
                  look->name);
    attribute(svg->out, "stroke-width", look->width);
    if (look->dash[0] != '\0') ta_buffer_add(svg->out, " stroke-dasharray=\"%s\"", look->dash);
  } else {
    ta_buffer_add(svg->out, " fill=\"currentColor\"%s",
                  fill == TA_TINT ? " fill-opacity=\"0.18\"" : "");
  }
}

void ta_svg_polygon(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill,
                    const ta_xy *point, size_t count) {
  if (count < 3 || finite_run(frame, point, count) < count) return;
  ta_buffer_add(svg->out, "<path");
  filling(svg, role, fill);
  ta_buffer_add(svg->out, " d=\"");
  run_of(svg, frame, point, count, false, true);
  ta_buffer_add(svg->out, "Z\"/>\n");
}

void ta_svg_band(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill, const ta_xy *upper,
                 const ta_xy *lower, size_t count) {
  for (size_t i = 0; i < count;) {
    const size_t above = finite_run(frame, upper + i, count - i),
                 run = finite_run(frame, lower + i, above);
    if (run > 1) {
      ta_buffer_add(svg->out, "<path");
      filling(svg, role, fill);
      ta_buffer_add(svg->out, " d=\"");
      run_of(svg, frame, upper + i, run, false, true);
      run_of(svg, frame, lower + i, run, true, false);
      ta_buffer_add(svg->out, "Z\"/>\n");
    }
    i += run > 0 ? run : 1;
  }
}

void ta_svg_area(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill, const ta_xy *point,
                 size_t count, double base) {
  for (size_t i = 0; i < count;) {
    const size_t run = finite_run(frame, point + i, count - i);
    if (run > 1) {
      const ta_xy foot[2] = {{point[i].x, base}, {point[i + run - 1].x, base}};
      ta_buffer_add(svg->out, "<path");
      filling(svg, role, fill);
      ta_buffer_add(svg->out, " d=\"");
      run_of(svg, frame, point + i, run, false, true);
      run_of(svg, frame, foot, 2, true, false);
      ta_buffer_add(svg->out, "Z\"/>\n");
    }
    i += run > 0 ? run : 1;
  }
}

static void extent(ta_buffer *out, ta_rect rect) {
  attribute(out, "x", rect.left);
  attribute(out, "y", rect.top);
  attribute(out, "width", fmax(rect.right - rect.left, 0.0));
  attribute(out, "height", fmax(rect.bottom - rect.top, 0.0));
}

void ta_svg_rect(ta_svg *svg, ta_role role, ta_fill fill, ta_rect rect) {
  ta_buffer_add(svg->out, "<rect");
  filling(svg, role, fill);
  extent(svg->out, rect);
  ta_buffer_add(svg->out, "/>\n");
}

void ta_svg_clip(ta_svg *svg, const ta_frame *frame, const ta_xy *point, size_t count) {
  const unsigned id = svg->definitions++;
  ta_buffer_add(svg->out, "<clipPath id=\"%s-%u\">", svg->id, id);
  if (point == NULL) {
    ta_buffer_add(svg->out, "<rect");
    extent(svg->out, frame->plot);
    ta_buffer_add(svg->out, "/>");
  } else {
    ta_buffer_add(svg->out, "<path d=\"");
    run_of(svg, frame, point, finite_run(frame, point, count), false, true);
    ta_buffer_add(svg->out, "Z\"/>");
  }
  ta_buffer_add(svg->out, "</clipPath>\n<g clip-path=\"url(#%s-%u)\">\n", svg->id, id);
}

void ta_svg_clip_end(ta_svg *svg) {
  ta_buffer_add(svg->out, "</g>\n");
}

/* ---- markers --------------------------------------------------------------------------------- */

/* Corners on a circle of radius 1; the disc and the ring are drawn by arcs. */
static const struct {
  const char *joined; /* the order in which corners are joined; a space lifts the pen */
  ta_xy corner[4];
} shapes[TA_MARKER_COUNT] = {
    [TA_SQUARE] = {"0123Z", {{-0.8, -0.8}, {0.8, -0.8}, {0.8, 0.8}, {-0.8, 0.8}}},
    [TA_DIAMOND] = {"0123Z", {{0.0, -1.1}, {1.1, 0.0}, {0.0, 1.1}, {-1.1, 0.0}}},
    [TA_PEAK] = {"012Z", {{0.0, -1.1}, {1.0, 0.75}, {-1.0, 0.75}}},
    [TA_VALLEY] = {"012Z", {{0.0, 1.1}, {1.0, -0.75}, {-1.0, -0.75}}},
    [TA_CROSS] = {"02 13", {{-0.8, -0.8}, {0.8, -0.8}, {0.8, 0.8}, {-0.8, 0.8}}},
    [TA_PLUS] = {"02 13", {{0.0, -1.0}, {1.0, 0.0}, {0.0, 1.0}, {-1.0, 0.0}}},
};

static void shape_path(ta_buffer *out, ta_marker marker, ta_xy at, double radius) {
  if (marker == TA_DISC || marker == TA_RING) {
    coordinates(out, "M", (ta_xy){at.x - radius, at.y});
    for (int half = 0; half < 2; half++) {
      ta_buffer_add(out, "a");
      number(out, radius);
      ta_buffer_add(out, " ");
      number(out, radius);
      coordinates(out, " 0 1 1 ", (ta_xy){half == 0 ? 2.0 * radius : -2.0 * radius, 0.0});
    }
    ta_buffer_add(out, "Z");
    return;
  }
  const char *joined = shapes[marker].joined;
  for (const char *c = joined; *c != '\0'; c++) {
    if (*c == 'Z') ta_buffer_add(out, "Z");
    if (*c < '0' || *c > '3') continue;
    const ta_xy corner = shapes[marker].corner[*c - '0'];
    coordinates(out, c == joined || c[-1] == ' ' ? "M" : "L",
                (ta_xy){at.x + radius * corner.x, at.y + radius * corner.y});
  }
}

void ta_svg_marker(ta_svg *svg, const ta_frame *frame, ta_role role, ta_marker marker, ta_xy at,
                   double size_px) {
  const ta_xy middle = placed(frame, at);
  if (marker == TA_NO_MARKER || !is_finite(middle)) return;
  const bool is_open = marker == TA_CROSS || marker == TA_PLUS || marker == TA_RING;
  const double radius = 0.5 * size_px, stroke = is_open ? 0.25 * size_px : 0.0;
  /* an edge of paper keeps it apart from what lies below */
  for (int on_top = 0; on_top < 2; on_top++) {
    const bool is_filled = marker == TA_RING ? !on_top : !is_open;
    ta_buffer_add(svg->out, "<path class=\"ta-%s\" fill=\"%s\" stroke=\"currentColor\"",
                  on_top ? ta_role_look(role)->name : ta_role_look(TA_ROLE_PAPER)->name,
                  is_filled ? "currentColor" : "none");
    attribute(svg->out, "stroke-width", on_top ? stroke : stroke + 3.0);
    ta_buffer_add(svg->out, " d=\"");
    shape_path(svg->out, marker, middle, radius);
    ta_buffer_add(svg->out, "\"/>\n");
  }
}

void ta_svg_spot(ta_svg *svg, const ta_frame *frame, ta_role role, ta_marker marker, ta_xy at,
                 double size_px, double share) {
  const ta_xy middle = placed(frame, at);
  if (marker == TA_NO_MARKER || !is_finite(middle)) return;
  ta_buffer_add(svg->out, "<path class=\"ta-%s\" fill=\"#%06" PRIx32 "\" stroke=\"currentColor\"",
                ta_role_look(role)->name, ta_scale_colour(share));
  attribute(svg->out, "stroke-width", 1.5);
  ta_buffer_add(svg->out, " d=\"");
  shape_path(svg->out, marker, middle, 0.5 * size_px);
  ta_buffer_add(svg->out, "\"/>\n");
}

/* ---- text ------------------------------------------------------------------------------------ */

static double size_of(const ta_svg *svg, const ta_lettering *lettering) {
  return lettering->size_px > 0.0 ? readable(lettering->size_px) : svg->text_px;
}

static const double CAP_MIDDLE =
    0.36; /* of the size: from the baseline to the middle of capitals */
static const double HALF_HEIGHT = 0.6; /* of the size, with room for descenders */

/* fill is a colour, or NULL for the role's. */
static void lettered(ta_svg *svg, const ta_lettering *l, const char *fill, const char *text) {
  static const char *const anchors[] = {"start", "middle", "end"};
  const double size = size_of(svg, l);
  if (!is_finite(l->at)) return;
  ta_buffer_add(svg->out, "<text");
  if (fill == NULL)
    ta_buffer_add(svg->out, " class=\"ta-%s%s\" fill=\"currentColor\"", ta_role_look(l->role)->name,
                  l->halo ? " ta-halo" : "");
  else
    ta_buffer_add(svg->out, " fill=\"%s\"", fill);
  attribute(svg->out, "x", l->at.x);
  attribute(svg->out, "y", l->at.y + CAP_MIDDLE * size);
  if (size != svg->text_px) attribute(svg->out, "font-size", size);
  if (l->anchor != TA_START) ta_buffer_add(svg->out, " text-anchor=\"%s\"", anchors[l->anchor]);
  if (l->bold) ta_buffer_add(svg->out, " font-weight=\"bold\"");
  if (l->turn_deg != 0.0) {
    ta_buffer_add(svg->out, " transform=\"rotate(");
    number(svg->out, l->turn_deg);
    coordinates(svg->out, " ", l->at);
    ta_buffer_add(svg->out, ")\"");
  }
  ta_buffer_add(svg->out, ">");
  ta_svg_escape(svg->out, text);
  ta_buffer_add(svg->out, "</text>\n");
}

void ta_svg_text(ta_svg *svg, const ta_lettering *lettering, const char *text) {
  lettered(svg, lettering, NULL, text);
}

ta_rect ta_svg_text_box(const ta_svg *svg, const ta_lettering *lettering, const char *text) {
  const double size = size_of(svg, lettering), width = text_width(text, size, lettering->bold);
  const double left = lettering->anchor == TA_START    ? 0.0
                      : lettering->anchor == TA_MIDDLE ? -0.5 * width
                                                       : -width;
  const double half = HALF_HEIGHT * size, turn = lettering->turn_deg * (acos(-1.0) / 180.0);
  const ta_xy corner[4] = {
      {left, -half}, {left + width, -half}, {left + width, half}, {left, half}};
  ta_rect box = {HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL};
  for (size_t i = 0; i < 4; i++) {
    const double x = lettering->at.x + corner[i].x * cos(turn) - corner[i].y * sin(turn),
                 y = lettering->at.y + corner[i].x * sin(turn) + corner[i].y * cos(turn);
    box = (ta_rect){fmin(box.left, x), fmin(box.top, y), fmax(box.right, x), fmax(box.bottom, y)};
  }
  return box;
}

/* ---- labels ---------------------------------------------------------------------------------- */

void ta_svg_keep_clear(ta_svg *svg, ta_rect rect) {
  take(svg, rect, false);
}

void ta_svg_keep_line_clear(ta_svg *svg, const ta_frame *frame, const ta_xy *point, size_t count) {
  enum { MOST_PIECES = 1000 };
  ta_xy from = {0.0, 0.0}; /* of the piece that grows */
  bool begun = false;
  for (size_t i = 0; i < count; i++) {
    const ta_xy to = placed(frame, point[i]);
    if (!is_finite(to) || !begun) {
      begun = is_finite(to);
      from = to;
      continue;
    }
    const double length = hypot(to.x - from.x, to.y - from.y);
    if (length < 0.5 * svg->text_px && i + 1 < count) continue;
    const int pieces = (int)fmin(ceil(2.0 * length / svg->text_px) + 1.0, MOST_PIECES);
    for (int k = 0; k < pieces; k++) {
      const double a = (double)k / pieces, b = (double)(k + 1) / pieces;
      const double xa = from.x + a * (to.x - from.x), xb = from.x + b * (to.x - from.x),
                   ya = from.y + a * (to.y - from.y), yb = from.y + b * (to.y - from.y);
      ta_svg_keep_clear(svg, (ta_rect){fmin(xa, xb) - 1.0, fmin(ya, yb) - 1.0, fmax(xa, xb) + 1.0,
                                       fmax(ya, yb) + 1.0});
    }
    from = to;
  }
}

static bool overlap(ta_rect a, ta_rect b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

static bool is_free(const ta_svg *svg, ta_rect box, const ta_rect *within) {
  if (box.left < within->left || box.right > within->right || box.top < within->top ||
      box.bottom > within->bottom)
    return false;
  for (size_t i = 0; i < svg->taken_count; i++)
    if (overlap(box, svg->taken[i].rect)) return false;
  return true;
}

static bool crosses_text(const ta_svg *svg, ta_xy from, ta_xy to) {
  enum { STEPS = 16 };
  for (size_t i = 0; i < svg->taken_count; i++)
    for (int k = 0; svg->taken[i].is_text && k <= STEPS; k++) {
      const double x = from.x + (to.x - from.x) * k / STEPS,
                   y = from.y + (to.y - from.y) * k / STEPS;
      if (overlap((ta_rect){x, y, x, y}, svg->taken[i].rect)) return true;
    }
  return false;
}

bool ta_svg_label(ta_svg *svg, ta_role role, ta_xy at, ta_side side, const ta_rect *within,
                  const char *text) {
  static const ta_xy toward[] = {{1.0, 0.0},  {0.7, -0.7}, {0.0, -1.0}, {-0.7, -0.7},
                                 {-1.0, 0.0}, {-0.7, 0.7}, {0.0, 1.0},  {0.7, 0.7}};
  static const unsigned turns[] = {0, 1, 7, 2, 6, 3, 5, 4}; /* by nearness to the side wanted */
  enum { RINGS = 4 };
  const ta_rect all = {0.0, 0.0, svg->width, svg->height};
  const double em = svg->text_px;
  if (!is_finite(at)) return false;
  for (int ring = 0; ring < RINGS; ring++) {
    const double off = (0.6 + 1.4 * ring) * em;
    for (size_t k = 0; k < 8; k++) {
      const ta_xy way = toward[((unsigned)side + turns[k]) % 8];
      const ta_xy foot = {at.x + off * way.x, at.y + off * way.y};
      const ta_lettering label = {.at = {foot.x, foot.y + HALF_HEIGHT * em * way.y},
                                  .anchor = way.x > 0.0   ? TA_START
                                            : way.x < 0.0 ? TA_END
                                                          : TA_MIDDLE,
                                  .role = role,
                                  .halo = true};
      const ta_rect box = ta_svg_text_box(svg, &label, text);
      if (!is_free(svg, box, within != NULL ? within : &all)) continue;
      if (ring > 0 && crosses_text(svg, at, foot)) continue;
      if (ring > 0) straight(svg, TA_ROLE_MUTED, at, foot);
      if (ring > 0) ta_svg_keep_line_clear(svg, NULL, (ta_xy[]){at, foot}, 2);
      fixed_text(svg, &label, text);
      return true;
    }
  }
  return false;
}

bool ta_svg_label_on(ta_svg *svg, ta_role role, ta_xy at, const ta_rect *within, const char *text) {
  const ta_rect all = {0.0, 0.0, svg->width, svg->height};
  const ta_lettering label = {.at = at, .anchor = TA_MIDDLE, .role = role, .halo = true};
  if (!is_finite(at)) return false;
  const double apart = 0.4 * svg->text_px; /* from labels that name something else */
  const ta_rect box = ta_svg_text_box(svg, &label, text);
  if (!is_free(svg, (ta_rect){box.left - apart, box.top, box.right + apart, box.bottom},
               within != NULL ? within : &all))
    return false;
  fixed_text(svg, &label, text);
  return true;
}

/* ---- keys and tables ------------------------------------------------------------------------- */

double ta_svg_key(ta_svg *svg, const ta_key_entry *entry, size_t count, double left, double top,
                  double right) {
  const double em = svg->text_px, swatch = 3.2 * em, row = 1.5 * em;
  double x = left, y = top + 0.5 * row;
  for (size_t i = 0; i < count; i++) {
    const double width = swatch + 0.5 * em + text_width(entry[i].text, em, false);
    if (x > left && x + width > right) {
      x = left;
      y += row;
    }
    const ta_xy ends[2] = {{x, y}, {x + swatch, y}};
    /* one group each, so that who hides a role hides its entry */
    ta_buffer_add(svg->out, "<g class=\"ta-%s\">\n", ta_role_look(entry[i].role)->name);
    if (entry[i].is_area) {
      ta_svg_rect(svg, entry[i].role, entry[i].fill,
                  (ta_rect){x, y - 0.5 * em, x + swatch, y + 0.5 * em});
    } else {
      ta_svg_line(svg, NULL, entry[i].role, ends, 2);
      ta_svg_marker(svg, NULL, entry[i].role, ta_role_look(entry[i].role)->marker,
                    (ta_xy){x + 0.5 * swatch, y}, 0.7 * em);
    }
    const ta_lettering text = {{x + swatch + 0.5 * em, y}, .role = TA_ROLE_TEXT};
    fixed_text(svg, &text, entry[i].text);
    ta_buffer_add(svg->out, "</g>\n");
    x += width + 1.5 * em;
  }
  return y + 0.5 * row;
}

void ta_svg_cell(ta_svg *svg, ta_rect rect, double share, double size_px, const char *text) {
  const uint32_t colour = ta_scale_colour(share);
  ta_buffer_add(svg->out, "<rect fill=\"#%06" PRIx32 "\"", colour);
  extent(svg->out, rect);
  ta_buffer_add(svg->out, "/>\n");
  const ta_lettering middle = {{0.5 * (rect.left + rect.right), 0.5 * (rect.top + rect.bottom)},
                               .anchor = TA_MIDDLE,
                               .size_px = size_px};
  if (text[0] == '\0') return;
  lettered(svg, &middle, ta_takes_black(colour) ? "#000000" : "#ffffff", text);
}

void ta_svg_scale_bar(ta_svg *svg, ta_rect rect, const ta_axis *axis) {
  enum { STOPS = 12 };
  const unsigned id = svg->definitions++;
  ta_buffer_add(svg->out, "<linearGradient id=\"%s-%u\">", svg->id, id);
  for (int i = 0; i <= STOPS; i++) {
    ta_buffer_add(svg->out, "<stop");
    attribute(svg->out, "offset", (double)i / STOPS);
    ta_buffer_add(svg->out, " stop-color=\"#%06" PRIx32 "\"/>", ta_scale_colour((double)i / STOPS));
  }
  ta_buffer_add(svg->out, "</linearGradient>\n<rect fill=\"url(#%s-%u)\"", svg->id, id);
  extent(svg->out, rect);
  ta_buffer_add(svg->out, "/>\n");
  const ta_frame frame = {rect, *axis, {0.0, 1.0, NULL}};
  const ta_ticks ticks = ta_ticks_fit(axis, rect.right - rect.left, svg->text_px, true);
  draw_level_axis(svg, &frame, &ticks);
}
