/* svg.h - drawing: an SVG document, linear axes, lines, areas, markers, cells, and labels that keep
 * out of each other's way.
 *
 * Lengths are user units, y downward; one unit is one pixel at the drawing's nominal width.  Points
 * are data when a frame is given, else user units.  Drawing never fails on its way: a lack of
 * memory leaves `failed` set in the buffer.  No scripts, no fonts, nothing from elsewhere; texts
 * are escaped (XML 1.0), what is no UTF-8 becomes U+FFFD, control characters are dropped.  Numbers
 * have two decimals, whatever the locale. */
#ifndef THINAIR_REPORT_SVG_H
#define THINAIR_REPORT_SVG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "contour.h"
#include "palette.h"
#include "thinair/buffer.h"

enum { TA_SVG_ID_MAX = 40, TA_TICK_TEXT_MAX = 40 };

typedef struct {
  double left, top, right, bottom;
} ta_rect;

/* ---- the document ---------------------------------------------------------------------------- */

typedef struct {
  const char *id;          /* begins every id, so that drawings share a page; letters, digits, - */
  const char *title;       /* read out by screen readers, as is: */
  const char *description; /* what the picture shows, in words */
  double width, height;
  double text_px;  /* size of text; below 11 is taken as 11, here and everywhere */
  bool with_style; /* carries its own style sheet; else the page holds ta_svg_style */
} ta_drawing;

/** Where no label may stand any more. */
typedef struct {
  ta_rect rect;
  bool is_text; /* so no leader may cross it either */
} ta_taken;

/** A drawing under way; plain, but written by these functions only. */
typedef struct {
  ta_buffer *out;
  char id[TA_SVG_ID_MAX];
  double width, height, text_px;
  unsigned definitions; /* with ids made on the way */
  ta_taken *taken;
  size_t taken_count, taken_room;
} ta_svg;

/** The style sheet: colours by role, light and dark.  A page that defines the custom properties
 *  ("--ta-limit") has the last word. */
void ta_svg_style(ta_buffer *out);

void ta_svg_open(ta_svg *svg, const ta_drawing *drawing, ta_buffer *out);
void ta_svg_close(ta_svg *svg);

/** Any text inside an element or an attribute. */
void ta_svg_escape(ta_buffer *out, const char *text);

/* ---- axes ------------------------------------------------------------------------------------ */

/** from is at the left or the bottom; from > to runs backwards. */
typedef struct {
  double from, to;
  const char *title; /* with its unit; NULL: no ticks, no grid, no title */
} ta_axis;

/** Between low and high and a little around, to round numbers; equal ones are set apart. */
ta_axis ta_axis_around(double low, double high, const char *title);

/** Round numbers (1, 2 or 5 times a power of ten) along an axis: whole times
 *  digit * 10^exponent, from first upward. */
typedef struct {
  int64_t first;
  int count, digit, exponent;
} ta_ticks;

/**
 * As many ticks as keep their labels apart.
 *
 * @param[in] length_px  Of the axis.
 * @param[in] level      It runs from left to right, so that the width of labels counts.
 * @return No ticks when an end is not finite, or the ends are equal to 12 digits.
 */
ta_ticks ta_ticks_fit(const ta_axis *axis, double length_px, double text_px, bool level);

double ta_tick_value(const ta_ticks *ticks, int i);

/** "2,500", "0.05", "-3e-9". */
const char *ta_tick_text(const ta_ticks *ticks, int i, char text[TA_TICK_TEXT_MAX]);

/** Where data stand in the drawing. */
typedef struct {
  ta_rect plot;
  ta_axis x, y;
} ta_frame;

ta_xy ta_frame_place(const ta_frame *frame, ta_xy data); /* data -> user units */
ta_xy ta_frame_data(const ta_frame *frame, ta_xy place); /* and back */

typedef struct {
  ta_axis x, left;
  const ta_axis *right; /* NULL: none */
  ta_rect room;         /* kept free at each side of the axes with their labels, say for a key */
} ta_chart;

/** Draws grid, axes, labels and titles. */
void ta_chart_draw(ta_svg *svg, const ta_chart *chart, ta_frame *left, ta_frame *right);

/** The same, with the right axis to itself in a share of the height at the bottom, the left one above
 *  it. */
void ta_chart_draw_split(ta_svg *svg, const ta_chart *chart, double right_share, ta_frame *left,
                         ta_frame *right);

/** What follows until it is ended, as one group with the id "<drawing's id>-<name>": for style
 *  sheets, and for who takes the drawing apart in an editor. */
void ta_svg_part(ta_svg *svg, const char *name);
void ta_svg_part_end(ta_svg *svg);

/* ---- lines and areas ------------------------------------------------------------------------- */

/** In the role's width and dash.  Points that are not finite are gaps; those less than a quarter
 *  unit from the last one drawn are left out. */
void ta_svg_line(ta_svg *svg, const ta_frame *frame, ta_role role, const ta_xy *point,
                 size_t count);
void ta_svg_lines(ta_svg *svg, const ta_frame *frame, ta_role role, const ta_lines *lines);

typedef enum { TA_SOLID, TA_TINT, TA_HATCH } ta_fill; /* hatched only where the role has a hatch */

void ta_svg_polygon(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill,
                    const ta_xy *point, size_t count);
/** Between two lines with the same count; where either has a gap, so has the band. */
void ta_svg_band(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill, const ta_xy *upper,
                 const ta_xy *lower, size_t count);
/** Between a line and the value base. */
void ta_svg_area(ta_svg *svg, const ta_frame *frame, ta_role role, ta_fill fill, const ta_xy *point,
                 size_t count, double base);
void ta_svg_rect(ta_svg *svg, ta_role role, ta_fill fill, ta_rect rect);

/** What follows is cut to a polygon, to the frame's plot when point is NULL, until it is ended. */
void ta_svg_clip(ta_svg *svg, const ta_frame *frame, const ta_xy *point, size_t count);
void ta_svg_clip_end(ta_svg *svg);

void ta_svg_marker(ta_svg *svg, const ta_frame *frame, ta_role role, ta_marker marker, ta_xy at,
                   double size_px);

/** A marker, not an open one, in the colour of a share of the sequential scale, edged in the role's
 *  colour. */
void ta_svg_spot(ta_svg *svg, const ta_frame *frame, ta_role role, ta_marker marker, ta_xy at,
                 double size_px, double share);

/* ---- text ------------------------------------------------------------------------------------ */

typedef enum { TA_START, TA_MIDDLE, TA_END } ta_anchor;

/** Text is centred on `at` across its direction. */
typedef struct {
  ta_xy at;
  ta_anchor anchor;
  ta_role role;
  double size_px;  /* 0: the drawing's */
  double turn_deg; /* clockwise */
  bool bold, halo;
} ta_lettering;

void ta_svg_text(ta_svg *svg, const ta_lettering *lettering, const char *text);

/** What it covers at the most, in fonts as wide as any in the stack. */
ta_rect ta_svg_text_box(const ta_svg *svg, const ta_lettering *lettering, const char *text);

typedef enum {
  TA_SIDE_RIGHT,
  TA_SIDE_UPPER_RIGHT,
  TA_SIDE_ABOVE,
  TA_SIDE_UPPER_LEFT,
  TA_SIDE_LEFT,
  TA_SIDE_LOWER_LEFT,
  TA_SIDE_BELOW,
  TA_SIDE_LOWER_RIGHT
} ta_side;

/**
 * A label beside a point (user units), where it covers no other text and nothing kept clear: on the
 * side asked for, else on the one nearest to that; else farther off with a leader; else nowhere.
 *
 * @param[in] within  It stays inside; NULL: inside the drawing.
 * @return Whether it was drawn.
 */
bool ta_svg_label(ta_svg *svg, ta_role role, ta_xy at, ta_side side, const ta_rect *within,
                  const char *text);

/** A label on the very point, say of a line that it names, if it covers no text and nothing kept
 *  clear there.  @return Whether it was drawn. */
bool ta_svg_label_on(ta_svg *svg, ta_role role, ta_xy at, const ta_rect *within, const char *text);

/** Labels keep off. */
void ta_svg_keep_clear(ta_svg *svg, ta_rect rect);
void ta_svg_keep_line_clear(ta_svg *svg, const ta_frame *frame, const ta_xy *point, size_t count);

/* ---- keys and tables ------------------------------------------------------------------------- */

/** One entry of a key: the line with dash and marker, or the area with its fill. */
typedef struct {
  ta_role role;
  bool is_area;
  ta_fill fill;
  const char *text;
} ta_key_entry;

/** Entries one after the other, in as many rows as the width takes. @return Its lower edge. */
double ta_svg_key(ta_svg *svg, const ta_key_entry *entry, size_t count, double left, double top,
                  double right);

/** A cell of the sequential scale with a number, unless it is empty, in black or white, whichever
 *  reads better; size_px as in ta_lettering. */
void ta_svg_cell(ta_svg *svg, ta_rect rect, double share, double size_px, const char *text);

/** The scale itself with its numbers below; the axis gives the values at share 0 and 1. */
void ta_svg_scale_bar(ta_svg *svg, ta_rect rect, const ta_axis *axis);

#endif
