/* palette.c - the roles as a table, and the sequential colour scale.
 *
 * Source    sRGB and its white point D65: IEC 61966-2-1; CIELAB: CIE 15; relative luminance and
 *           contrast ratio: WCAG 2.1.
 * Pinned by tests/report/test_svg.c.
 */
#include "palette.h"

#include <math.h>
#include <stddef.h>

static const ta_look looks[] = {
#define X(symbol, name, light, dark, width, dash, marker, hatch) \
  [symbol] = {name, light, dark, width, dash, marker, hatch},
    TA_ROLE_ROWS(X)
#undef X
};
_Static_assert(sizeof looks / sizeof looks[0] == TA_ROLE_COUNT, "one row per role");

const ta_look *ta_role_look(ta_role role) {
  return &looks[role];
}

static double linear_of(unsigned channel) {
  const double v = channel / 255.0;
  return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static uint32_t channel_of(double linear) {
  const double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1.0 / 2.4) - 0.055;
  return (uint32_t)lround(255.0 * fmin(fmax(v, 0.0), 1.0));
}

/* Inverse of CIELAB's f where it is a cube root: above 1 % of white, as all of the scale is. */
static double cubed(double f) {
  return f * f * f;
}

static uint32_t from_lab(const double lab[3]) {
  const double f = (lab[0] + 16.0) / 116.0;
  const double x = 0.95047 * cubed(f + lab[1] / 500.0), y = cubed(f),
               z = 1.08883 * cubed(f - lab[2] / 200.0);
  return channel_of(3.2404542 * x - 1.5371385 * y - 0.4985314 * z) << 16 |
         channel_of(-0.9692660 * x + 1.8760108 * y + 0.0415560 * z) << 8 |
         channel_of(0.0556434 * x - 0.2040259 * y + 1.0572252 * z);
}

uint32_t ta_scale_colour(double share) {
  static const double lab[3][3] = {{95.0, -4.0, 26.0}, {62.0, -24.0, -6.0}, {25.0, 12.0, -38.0}};
  double length[2];
  for (size_t i = 0; i < 2; i++)
    length[i] = sqrt(pow(lab[i + 1][0] - lab[i][0], 2.0) + pow(lab[i + 1][1] - lab[i][1], 2.0) +
                     pow(lab[i + 1][2] - lab[i][2], 2.0));
  const double along = fmin(fmax(share, 0.0), 1.0) * (length[0] + length[1]);
  const size_t leg = along > length[0] ? 1 : 0;
  const double part = leg == 0 ? along / length[0] : (along - length[0]) / length[1];
  double mixed[3];
  for (size_t i = 0; i < 3; i++) mixed[i] = lab[leg][i] + part * (lab[leg + 1][i] - lab[leg][i]);
  return from_lab(mixed);
}

bool ta_takes_black(uint32_t colour) {
  const double luminance = 0.2126 * linear_of(colour >> 16 & 255) +
                           0.7152 * linear_of(colour >> 8 & 255) + 0.0722 * linear_of(colour & 255);
  return (luminance + 0.05) / 0.05 > 1.05 / (luminance + 0.05);
}
