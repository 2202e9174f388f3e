/* palette.h - how each thing in a picture looks: its role gives colour, dash, marker and hatch.
 *
 * No meaning rests on colour alone: any two roles that draw lines differ in dash, marker or hatch
 * as well.  Colours are sRGB, 0xrrggbb, one for a light and one for a dark ground. */
#ifndef THINAIR_REPORT_PALETTE_H
#define THINAIR_REPORT_PALETTE_H

#include <stdbool.h>
#include <stdint.h>

typedef enum {
  TA_NO_MARKER,
  TA_DISC,
  TA_RING,
  TA_SQUARE,
  TA_DIAMOND,
  TA_PEAK,
  TA_VALLEY,
  TA_CROSS,
  TA_PLUS,
  TA_MARKER_COUNT
} ta_marker;

/* One row per role: symbol, name in CSS ("--ta-limit"), colour on light, colour on dark, line width
 * [user units], dash (lengths of line and gap, "" is solid), marker, hatch [degrees; -1 is none]. */
#define TA_ROLE_ROWS(X)                                                                         \
  X(TA_ROLE_PAPER, "paper", 0xffffff, 0x11161c, 1.0, "", TA_NO_MARKER, -1)                      \
  X(TA_ROLE_GRID, "grid", 0xd9dfe5, 0x333d48, 1.0, "", TA_NO_MARKER, -1)                        \
  X(TA_ROLE_TEXT, "text", 0x14191f, 0xf1f4f7, 1.0, "", TA_NO_MARKER, -1)                        \
  X(TA_ROLE_MUTED, "muted", 0x4d5966, 0xb3bdc8, 1.0, "", TA_NO_MARKER, -1)                      \
  X(TA_ROLE_GROUND, "ground", 0x66717d, 0x8e99a5, 1.5, "", TA_PEAK, -1)                         \
  X(TA_ROLE_SHAFT_AT_TARGET, "shaft-at-target", 0x0b3a86, 0xb4d2ff, 2.75, "", TA_DISC, -1)      \
  X(TA_ROLE_SHAFT_ESTIMATE, "shaft-estimate", 0x0b3a86, 0xb4d2ff, 2.75, "3 3", TA_RING, -1)     \
  X(TA_ROLE_SHAFT_UNDER_CAP, "shaft-under-cap", 0x0c78b9, 0x3d9fe6, 2.75, "9 4", TA_SQUARE, -1) \
  X(TA_ROLE_LIMIT, "limit", 0xa8210c, 0xff8560, 2.25, "18 5", TA_CROSS, -1)                     \
  X(TA_ROLE_RATED_SPEED, "rated-speed", 0x560a24, 0xffd3da, 1.75, "14 4 3 4", TA_PLUS, -1)      \
  X(TA_ROLE_OVER_LIMIT, "over-limit", 0xa8210c, 0xff8560, 1.5, "", TA_NO_MARKER, 45)            \
  X(TA_ROLE_EXTRAPOLATED, "extrapolated", 0x66717d, 0x8e99a5, 1.25, "4 4", TA_NO_MARKER, 135)   \
  X(TA_ROLE_SPEED_LINE, "speed-line", 0x36424f, 0xc3ccd6, 1.25, "", TA_NO_MARKER, -1)           \
  X(TA_ROLE_ISLAND, "island", 0x946e00, 0xc9a227, 1.25, "6 2.5", TA_NO_MARKER, -1)              \
  X(TA_ROLE_SURGE_LINE, "surge-line", 0x14191f, 0xf1f4f7, 2.25, "12 3 3 3 3 3", TA_VALLEY, -1)  \
  X(TA_ROLE_CHOKE_LINE, "choke-line", 0x6a3d7c, 0xd3a6e8, 2.25, "2.5 3", TA_RING, -1)           \
  X(TA_ROLE_MARK, "mark", 0x4d5966, 0xb3bdc8, 1.0, "1.5 4", TA_DIAMOND, -1)

typedef enum {
#define X(symbol, name, light, dark, width, dash, marker, hatch) symbol,
  TA_ROLE_ROWS(X)
#undef X
      TA_ROLE_COUNT
} ta_role;

typedef struct {
  const char *name;
  uint32_t light, dark;
  double width;
  const char *dash;
  ta_marker marker;
  int hatch_deg;
} ta_look;

const ta_look *ta_role_look(ta_role role);

/**
 * Colour of a share on the sequential scale, the same on light and dark ground: pale straw at 0,
 * through teal, to deep indigo at 1.  Equal steps of share are equal distances in CIELAB (CIE 15),
 * and lightness falls all the way, so a grey print keeps the order.  A share outside 0 to 1 has the
 * end's colour, NaN that of 0.
 */
uint32_t ta_scale_colour(double share);

/** Whether black reads better than white on it: contrast ratio of WCAG 2.1. */
bool ta_takes_black(uint32_t colour);

#endif
