/* Compressor map: closed-form maps in, the same maps out.
 *
 * Source  The maps are invented here: head coefficient psi and flow coefficient phi in closed form,
 *         both of Mach-like speed m = speed over the top line's, so that
 *         Wc = phi m flow_top, PR^(2/7) - 1 = psi m^2 head_top.  Nothing comes from the code under
 *         test.  Bars: closed-form maps, a line left out between two others 0.1 % rms in speed, the
 *         top line 0.3 %; points with 0.5 % reading noise, less than 0.5 %. */
#include "thinair/compressor_map.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/compressor_surface.h"
#include "test.h"

enum { LINES_MAX = 8, POINTS_MAX = 24 };

typedef struct {
  ta_speed_line line[LINES_MAX];
  ta_map_point point[LINES_MAX][POINTS_MAX];
  size_t count;
} sheet;

static const double FLOW_TOP = 0.4731, HEAD_TOP = 0.8317, TOP_RPM = 148300.0;

typedef enum { PARABOLA, CUBIC, STEEP, PEAKED, VERTICAL, WALL, EQUAL_ENDS, KINDS } kind;

static const char *const kind_name[KINDS] = {"parabola", "cubic", "steep",     "peaked",
                                             "vertical", "wall",  "equal ends"};

/* phi and psi at t of the way from surge to choke, on the line at m. */
static void closed_form(kind k, double m, double t, double *phi, double *psi) {
  const double m2 = m * m;
  double surge = 0.37 + 0.19 * m2, choke = 0.81 + 0.11 * m - 0.07 * m2;
  double psi_0 = 0.57 + 0.05 * m2, n = 3.1 + 2.2 * m, end = 0.08;
  switch (k) {
    case PARABOLA:
      surge = 0.34 + 0.11 * pow(m, 1.5);
      choke = 0.79 + 0.04 * m2;
      *phi = surge + (choke - surge) * t;
      *psi = 0.61 + 0.05 * m2 - (0.31 + 0.09 * m2) * *phi * *phi;
      return;
    case CUBIC:
      surge = 0.31 + 0.16 * m2;
      choke = 0.86 - 0.05 * m;
      *phi = surge + (choke - surge) * t;
      *psi = 0.54 + 0.05 * m - (0.44 + 0.11 * m) * pow(*phi, 3.0);
      return;
    case STEEP:
      surge = 0.41 + 0.17 * m2;
      choke = 0.81 - 0.02 * m2;
      *phi = surge + (choke - surge) * t;
      *psi = 0.53 + 0.04 * m2 - 0.34 * pow(*phi / 0.81, 5.3 + 2.0 * m);
      return;
    case PEAKED: /* the pressure ratio rises at first */
      surge = 0.27 + 0.14 * m;
      *phi = surge + (0.83 - surge) * t;
      *psi = 0.55 + 0.06 * m2 - 0.88 * pow(*phi - surge - 0.12, 2.0);
      return;
    case WALL: /* level, then vertical */
      n = 9.2 + 2.1 * m;
      break;
    case EQUAL_ENDS: /* every line ends at the same pressure ratio */
      surge = 0.31 + 0.19 * m2;
      choke = 0.82 + 0.08 * m - 0.08 * m2;
      n = 4.2 + 2.8 * m;
      end = asin(pow((pow(1.16, 2.0 / 7.0) - 1.0) / (HEAD_TOP * m2) / psi_0, 1.1));
      break;
    case VERTICAL:
    default:
      break;
  }
  const double start = acos(pow(surge / choke, 0.5 * n)), angle = start + (end - start) * t;
  *phi = choke * pow(cos(angle), 2.0 / n);
  *psi = psi_0 * pow(sin(angle), 2.0 / 2.2);
}

static double pressure_ratio_of(double h) {
  return pow(1.0 + h, 3.5);
}
static double head_of(double pressure_ratio) {
  return pow(pressure_ratio, 2.0 / 7.0) - 1.0;
}

static void draw(sheet *s, kind k, const double *m, size_t lines, size_t points) {
  s->count = lines;
  for (size_t i = 0; i < lines; i++) {
    s->line[i] = (ta_speed_line){TOP_RPM * m[i], s->point[i], points};
    for (size_t j = 0; j < points; j++) {
      const double t = (double)j / (double)(points - 1);
      double phi, psi;
      closed_form(k, m[i], t, &phi, &psi);
      s->point[i][j] =
          (ta_map_point){phi * m[i] * FLOW_TOP, pressure_ratio_of(psi * m[i] * m[i] * HEAD_TOP),
                         0.783 - 0.06 * pow(m[i] - 0.74, 2.0) - 0.31 * pow(t - 0.46, 2.0)};
    }
  }
}

static const double six[] = {0.397, 0.563, 0.701, 0.817, 0.912, 1.0};
static const double three[] = {0.503, 0.769, 1.0};
static const double ten[] = {0.311, 0.402, 0.497, 0.583, 0.664, 0.741, 0.818, 0.887, 0.943, 1.0};

static ta_compressor_map *made(const sheet *s) {
  ta_compressor_map *map = NULL;
  assert_int_equal(ta_compressor_map_create(s->line, s->count, &map), TA_OK);
  assert_non_null(map);
  return map;
}

static ta_map_reading at(const ta_compressor_map *map, double flow, double pressure_ratio) {
  ta_map_reading r;
  assert_int_equal(ta_compressor_map_at(map, flow, pressure_ratio, &r), TA_OK);
  return r;
}

/* Numerical Recipes' constants of a linear congruential generator; from memory. */
static double uniform(uint64_t *state) {
  *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
  return (double)(*state >> 11) * 0x1p-53;
}

static double gaussian(uint64_t *state) {
  const double u = uniform(state), v = uniform(state);
  return sqrt(-2.0 * log(u + 1e-300)) * cos(6.283185307179586 * v);
}

static void a_map_reads_its_own_points(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (size_t points = 3; points <= 19; points += 4) {
    for (kind k = 0; k < KINDS; k++) {
      draw(&s, k, six, 6, points);
      ta_compressor_map *map = made(&s);
      for (size_t i = 0; i < s.count; i++) {
        for (size_t j = 0; j < points; j++) {
          const ta_map_point *p = &s.point[i][j];
          const ta_map_reading r = at(map, p->flow_kg_s, p->pressure_ratio);
          bad += off_rel(kind_name[k], "speed", r.corrected_rpm, s.line[i].corrected_rpm, 2e-4);
          bad += off_rel(kind_name[k], "efficiency", r.efficiency, p->efficiency, 1e-3);
          bad += off(kind_name[k], "beyond the top", r.beyond_top_line,
                     s.line[i].corrected_rpm / TOP_RPM - 1.0, 2e-4);
          if (j == 0) bad += off(kind_name[k], "tau at surge", r.surge_to_choke, 0.0, 2e-4);
          if (j == points - 1)
            bad += off(kind_name[k], "tau at choke", r.surge_to_choke, 1.0, 2e-4);
          if (j > 0 && j < points - 1 && i > 0 && i < s.count - 1)
            assert_int_equal(r.zone, TA_MAPPED);
        }
      }
      ta_compressor_map_free(map);
    }
  }
  assert_int_equal(bad, 0);
}

/* Speed read at line i from a map made of the others. */
static double left_out(const sheet *s, size_t i) {
  sheet rest = {.count = s->count - 1};
  for (size_t k = 0, n = 0; k < s->count; k++)
    if (k != i) rest.line[n++] = s->line[k];
  ta_compressor_map *map = made(&rest);
  double sum = 0.0;
  for (size_t j = 0; j < s->line[i].point_count; j++) {
    const ta_map_point *p = &s->line[i].point[j];
    const double e =
        at(map, p->flow_kg_s, p->pressure_ratio).corrected_rpm / s->line[i].corrected_rpm - 1.0;
    sum += e * e;
  }
  ta_compressor_map_free(map);
  return sqrt(sum / (double)s->line[i].point_count);
}

static void a_line_left_out_is_predicted(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (size_t points = 7; points <= 19; points += 6) {
    for (kind k = 0; k < KINDS; k++) {
      draw(&s, k, six, 6, points);
      double rms[LINES_MAX];
      assert_int_equal(ta_compressor_map_leave_one_out(s.line, s.count, rms), TA_OK);
      assert_true(rms[0] == -1.0);
      for (size_t i = 1; i < s.count; i++) {
        char row[64];
        (void)snprintf(row, sizeof row, "%s, %zu points, line %zu", kind_name[k], points, i + 1);
        bad += off(row, "rms", rms[i], 0.0, i == s.count - 1 ? 3e-3 : 1e-3);
        bad += off(row, "rms reported", rms[i], left_out(&s, i), 1e-12);
      }
    }
  }
  assert_int_equal(bad, 0);
}

static void two_lines_cannot_be_left_out(void **state) {
  (void)state;
  sheet s;
  draw(&s, CUBIC, three + 1, 2, 7);
  double rms[2] = {7.0, 7.0};
  assert_int_equal(ta_compressor_map_leave_one_out(s.line, 2, rms), TA_OK);
  assert_true(rms[0] == -1.0 && rms[1] == -1.0);
}

static void reading_noise_is_not_amplified(void **state) {
  (void)state;
  uint64_t seed = 20260713;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    sheet exact, s;
    double sum = 0.0, smoothed = 0.0, points = 0.0;
    draw(&exact, k, six, 6, 11);
    for (int round = 0; round < 10; round++) {
      draw(&s, k, six, 6, 11);
      for (size_t i = 0; i < s.count; i++) {
        for (size_t j = 0; j < 11; j++) {
          s.point[i][j].flow_kg_s *= 1.0 + 0.005 * gaussian(&seed);
          s.point[i][j].pressure_ratio *= 1.0 + 0.005 * gaussian(&seed);
        }
      }
      ta_compressor_map *map = made(&s);
      for (size_t i = 0; i < s.count; i++) {
        for (size_t j = 0; j < 11; j++) {
          const ta_map_point *p = &exact.point[i][j], *noisy = &s.point[i][j];
          const double e =
              at(map, p->flow_kg_s, p->pressure_ratio).corrected_rpm / s.line[i].corrected_rpm -
              1.0;
          const double own = at(map, noisy->flow_kg_s, noisy->pressure_ratio).corrected_rpm /
                                 s.line[i].corrected_rpm -
                             1.0;
          sum += e * e;
          smoothed += own * own;
          points += 1.0;
        }
      }
      ta_compressor_map_free(map);
    }
    bad += off(kind_name[k], "rms speed error", sqrt(sum / points), 0.0, 0.0042);
    bad +=
        off(kind_name[k], "rms distance from the points", sqrt(smoothed / points), 0.0035, 0.0009);
  }
  assert_int_equal(bad, 0);
}

static void ten_lines_and_two_lines_of_three_points_make_maps(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, three + 1, 2, 3);
    ta_compressor_map *map = made(&s);
    double phi, psi;
    closed_form(k, 0.88, 0.45, &phi, &psi);
    const ta_map_reading r =
        at(map, phi * 0.88 * FLOW_TOP, pressure_ratio_of(psi * 0.88 * 0.88 * HEAD_TOP));
    bad += off_rel(kind_name[k], "speed between two lines", r.corrected_rpm, 0.88 * TOP_RPM, 2e-2);
    ta_compressor_map_free(map);
    draw(&s, k, ten + 2, 8, 15);
    map = made(&s);
    const ta_map_reading fine =
        at(map, phi * 0.88 * FLOW_TOP, pressure_ratio_of(psi * 0.88 * 0.88 * HEAD_TOP));
    bad += off_rel(kind_name[k], "speed among eight", fine.corrected_rpm, 0.88 * TOP_RPM, 5e-4);
    bad += off_rel(kind_name[k], "top", ta_compressor_map_top_rpm(map), TOP_RPM, 0.0);
    ta_compressor_map_free(map);
  }
  assert_int_equal(bad, 0);
}

static void left_of_surge_the_head_coefficient_and_efficiency_stay(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    ta_compressor_map *map = made(&s);
    for (size_t i = 0; i < s.count; i++) {
      const ta_map_point *p = &s.point[i][0];
      const ta_map_reading r = at(map, 0.37 * p->flow_kg_s, p->pressure_ratio);
      bad += off_rel(kind_name[k], "speed", r.corrected_rpm, s.line[i].corrected_rpm, 2e-4);
      bad += off_rel(kind_name[k], "efficiency", r.efficiency, p->efficiency, 1e-3);
      assert_int_equal(r.zone, TA_SURGE);
      assert_true(r.surge_to_choke < 0.0);
    }
    ta_compressor_map_free(map);
  }
  assert_int_equal(bad, 0);
}

static void right_of_choke_the_line_falls_vertically(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    ta_compressor_map *map = made(&s);
    for (size_t i = 0; i < s.count; i++) {
      const ta_map_point *p = &s.point[i][8];
      const double pr = 1.0 + 0.41 * (p->pressure_ratio - 1.0);
      const ta_map_reading r = at(map, p->flow_kg_s, pr);
      bad += off_rel(kind_name[k], "speed", r.corrected_rpm, s.line[i].corrected_rpm, 3e-4);
      bad += off_rel(kind_name[k], "T2/T1 - 1", head_of(pr) / r.efficiency,
                     head_of(p->pressure_ratio) / p->efficiency, 2e-3);
      assert_int_equal(r.zone, TA_CHOKE);
      assert_true(r.surge_to_choke > 1.0);
    }
    ta_compressor_map_free(map);
  }
  assert_int_equal(bad, 0);
}

static void far_below_the_lowest_line_the_fan_law_holds(void **state) {
  (void)state;
  sheet s;
  draw(&s, CUBIC, six, 6, 9);
  ta_compressor_map *map = made(&s);
  const double flow = 0.2 * s.point[0][4].flow_kg_s,
               h = 0.04 * head_of(s.point[0][4].pressure_ratio);
  const ta_map_reading high = at(map, flow, pressure_ratio_of(h));
  const ta_map_reading low = at(map, 0.3 * flow, pressure_ratio_of(0.09 * h));
  assert_int_equal(high.zone, TA_BELOW);
  int bad = off_rel("fan law", "speed", low.corrected_rpm, 0.3 * high.corrected_rpm, 1e-6);
  bad += off_rel("fan law", "efficiency", low.efficiency, high.efficiency, 1e-6);
  bad += off_rel("fan law", "near the lowest line's", high.corrected_rpm,
                 0.2 * s.line[0].corrected_rpm, 0.03);
  assert_int_equal(bad, 0);
  ta_compressor_map_free(map);
}

static void every_zone_is_met(void **state) {
  (void)state;
  sheet s;
  draw(&s, PARABOLA, six, 6, 9);
  ta_compressor_map *map = made(&s);
  const ta_surface_view view = ta_surface_view_of(map);
  double phi, psi;
  closed_form(PARABOLA, 1.13, 0.5, &phi, &psi);
  const double above = pressure_ratio_of(psi * 1.13 * 1.13 * HEAD_TOP);
  const ta_map_point *mid = &s.point[3][4], *low = &s.point[0][4];
  const struct {
    const char *name;
    ta_zone want;
    double flow, pressure_ratio;
  } rows[] = {
      {"mapped", TA_MAPPED, mid->flow_kg_s, mid->pressure_ratio},
      {"extrapolated", TA_EXTRAPOLATED, phi * 1.13 * FLOW_TOP, above},
      {"below", TA_BELOW, 0.8 * low->flow_kg_s, 1.0 + 0.6 * (low->pressure_ratio - 1.0)},
      {"surge", TA_SURGE, 0.3 * mid->flow_kg_s, mid->pressure_ratio},
      {"choke", TA_CHOKE, mid->flow_kg_s, 1.01},
      {"unreachable", TA_UNREACHABLE, mid->flow_kg_s, 40.0},
      {"unreachable", TA_UNREACHABLE, 50.0, 1.2},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_map_reading r = at(map, rows[i].flow, rows[i].pressure_ratio);
    assert_string_equal(ta_zone_name(r.zone), rows[i].name);
    assert_int_equal(r.zone, rows[i].want);
    assert_true(isinf(r.corrected_rpm) == (r.zone == TA_UNREACHABLE));
    assert_true(isinf(r.beyond_top_line) == (r.zone == TA_UNREACHABLE));
  }
  int bad = off("trend", "speed 13 % above the top line",
                at(map, rows[1].flow, above).beyond_top_line, 0.13, 0.004);
  assert_int_equal(bad, 0);
  assert_string_equal(ta_zone_name(TA_ZONE_COUNT), "?");
  /* Up to 1.25 times the top line's speed is named. */
  const double slope = s.point[5][4].flow_kg_s / sqrt(head_of(s.point[5][4].pressure_ratio));
  double y = 0.1;
  while (ta_surface_rpm(&view, slope * y, y) < 1.249 * TOP_RPM) y *= 1.0001;
  assert_int_equal(at(map, slope * y, pressure_ratio_of(y * y)).zone, TA_EXTRAPOLATED);
  while (ta_surface_rpm(&view, slope * y, y) < 1.251 * TOP_RPM) y *= 1.0001;
  assert_int_equal(at(map, slope * y, pressure_ratio_of(y * y)).zone, TA_UNREACHABLE);
  ta_compressor_map_free(map);
}

/* Between two pressure ratios at one flow, the two neighbouring doubles where the zone changes. */
static int step_at_boundary(const char *row, const ta_compressor_map *map, double flow, double low,
                            double high) {
  const ta_zone zone = at(map, flow, low).zone;
  if (at(map, flow, high).zone == zone) return off(row, "no boundary", 1.0, 0.0, 0.0);
  for (int i = 0; i < 80; i++) {
    const double middle = 0.5 * (low + high);
    if (at(map, flow, middle).zone == zone)
      low = middle;
    else
      high = middle;
  }
  const ta_map_reading a = at(map, flow, low), b = at(map, flow, high);
  int bad = off_rel(row, "efficiency across", b.efficiency, a.efficiency, 1e-12);
  bad += off(row, "tau across", b.surge_to_choke, a.surge_to_choke, 1e-12);
  if (a.zone != TA_UNREACHABLE && b.zone != TA_UNREACHABLE)
    bad += off_rel(row, "speed across", b.corrected_rpm, a.corrected_rpm, 1e-12);
  return bad;
}

static void readings_are_continuous_across_every_boundary(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    ta_compressor_map *map = made(&s);
    const ta_map_point *mid = &s.point[3][2], *top = &s.point[5][2], *low = &s.point[0][2];
    const ta_map_point *left = &s.point[3][0];
    bad += step_at_boundary("surge", map, 1.02 * left->flow_kg_s, 0.99 * left->pressure_ratio,
                            1.2 * left->pressure_ratio);
    bad += step_at_boundary("choke", map, mid->flow_kg_s, 1.0001, mid->pressure_ratio);
    bad += step_at_boundary("top", map, top->flow_kg_s, 0.97 * top->pressure_ratio,
                            1.03 * top->pressure_ratio);
    bad += step_at_boundary("lowest", map, low->flow_kg_s, 1.0 + 0.95 * (low->pressure_ratio - 1.0),
                            1.0 + 1.05 * (low->pressure_ratio - 1.0));
    bad += step_at_boundary("unreachable", map, mid->flow_kg_s, 1.6 * mid->pressure_ratio, 30.0);
    ta_compressor_map_free(map);
  }
  assert_int_equal(bad, 0);
}

static void speed_rises_with_pressure_ratio_at_every_flow(void **state) {
  (void)state;
  sheet s;
  int bad = 0;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    ta_compressor_map *map = made(&s);
    const ta_surface_view view = ta_surface_view_of(map);
    for (int i = 0; i < 700; i++) {
      const double flow = 1e-6 * pow(1.03, i);
      double fastest = 0.0;
      for (int j = 0; j < 2300; j++) {
        const double head = 1e-6 * pow(1.01, j);
        const ta_surface_reading r = ta_surface_at(&view, flow, sqrt(head));
        /* Where lines fall vertically speed stands still: interpolation wavers in the sixth digit.
         */
        const double waver = r.corrected_rpm < 1.25 * TOP_RPM ? 2e-5 : 2e-3;
        if (!(r.corrected_rpm >= fastest * (1.0 - waver))) {
          print_error("%s: flow %g, head %g: %.17g after %.17g\n", kind_name[k], flow, head,
                      r.corrected_rpm, fastest);
          bad++;
        }
        fastest = fmax(fastest, r.corrected_rpm);
      }
    }
    /* Along a fan-law ray it rises in earnest. */
    for (int i = 0; i < 380; i++) {
      const double slope = 1e-4 * pow(1.05, i);
      double before = 0.0;
      for (int j = 0; j < 1400; j++) {
        const double y = 1e-4 * pow(1.01, j);
        const double rpm = ta_surface_rpm(&view, slope * y, y);
        if (!(rpm > 1.0005 * before)) bad++;
        before = rpm;
      }
    }
    ta_compressor_map_free(map);
  }
  assert_int_equal(bad, 0);
}

static void every_point_of_twelve_decades_has_a_reading(void **state) {
  (void)state;
  uint64_t seed = 17;
  sheet s;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    ta_compressor_map *map = made(&s);
    const ta_surface_view view = ta_surface_view_of(map);
    bool met[TA_ZONE_COUNT] = {false};
    for (int i = 0; i < 40000; i++) {
      const double flow = pow(10.0, -6.0 + 12.0 * uniform(&seed));
      const double pr = 1.0 + pow(10.0, -9.0 + 12.0 * uniform(&seed));
      const ta_map_reading r = at(map, flow, pr);
      const ta_surface_reading raw = ta_surface_at(&view, flow, sqrt(head_of(pr)));
      met[r.zone] = true;
      assert_true(r.zone == TA_UNREACHABLE ? isinf(r.corrected_rpm) && r.corrected_rpm > 0.0
                                           : isfinite(r.corrected_rpm) && r.corrected_rpm > 0.0);
      assert_true(isfinite(raw.corrected_rpm) && raw.corrected_rpm > 0.0);
      assert_true(r.efficiency > 0.0 && r.efficiency <= 0.9);
      assert_true(isfinite(r.surge_to_choke));
    }
    assert_true(met[TA_BELOW] && met[TA_SURGE] && met[TA_CHOKE] && met[TA_UNREACHABLE]);
    ta_compressor_map_free(map);
  }
}

static void efficiency_stays_possible_between_and_above_the_lines(void **state) {
  (void)state;
  sheet s;
  draw(&s, CUBIC, six, 6, 9);
  for (size_t j = 0; j < 9; j++) s.point[5][j].efficiency = 0.25; /* falls off at the top */
  ta_compressor_map *map = made(&s);
  for (int i = 0; i < 84; i++) {
    const double m = 0.4 + 0.01 * i;
    double phi, psi;
    closed_form(CUBIC, m, 0.5, &phi, &psi);
    const double e =
        at(map, phi * m * FLOW_TOP, pressure_ratio_of(psi * m * m * HEAD_TOP)).efficiency;
    assert_true(e > 0.11 && e < 0.80);
  }
  ta_compressor_map_free(map);
}

static void bits_depend_on_neither_lane_nor_block(void **state) {
  (void)state;
  enum { LANES = 64 };
  uint64_t seed = 5;
  sheet s;
  draw(&s, VERTICAL, six, 6, 9);
  ta_compressor_map *map = made(&s);
  const ta_surface_view view = ta_surface_view_of(map);
  double flow[LANES], y[LANES], rpm[LANES], efficiency[LANES], tau[LANES];
  for (int i = 0; i < LANES; i++) {
    flow[i] = 0.02 + 0.6 * uniform(&seed);
    y[i] = 0.05 + 1.1 * uniform(&seed);
  }
  for (int first = 0; first < 5; first++) {
    for (int i = first; i < LANES; i++) {
      const ta_surface_reading r = ta_surface_at(&view, flow[i], y[i]);
      rpm[i] = r.corrected_rpm;
      efficiency[i] = r.efficiency;
      tau[i] = r.surge_to_choke;
    }
    for (int i = first; i < LANES; i++) {
      volatile double one_flow = flow[i], one_y = y[i];
      assert_true(rpm[i] == ta_surface_rpm(&view, one_flow, one_y));
      assert_true(efficiency[i] == ta_surface_efficiency(&view, one_flow, one_y));
      assert_true(tau[i] == ta_surface_at(&view, one_flow, one_y).surge_to_choke);
    }
  }
  ta_compressor_map_free(map);
}

static void refusals_leave_the_output_alone(void **state) {
  (void)state;
  sheet s;
  draw(&s, CUBIC, six, 6, 9);
  ta_compressor_map *map = made(&s);
  const struct {
    double flow, pressure_ratio;
    ta_status want;
  } rows[] = {
      {(double)NAN, 2.0, TA_ERR_ARGUMENT},
      {0.2, (double)NAN, TA_ERR_ARGUMENT},
      {(double)INFINITY, 2.0, TA_ERR_ARGUMENT},
      {0.2, (double)INFINITY, TA_ERR_ARGUMENT},
      {0.0, 2.0, TA_ERR_DOMAIN},
      {-0.1, 2.0, TA_ERR_DOMAIN},
      {0.2, 1.0, TA_ERR_DOMAIN},
      {0.2, 0.7, TA_ERR_DOMAIN},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_map_reading r = {.corrected_rpm = -7.0, .zone = TA_ZONE_COUNT};
    assert_int_equal(ta_compressor_map_at(map, rows[i].flow, rows[i].pressure_ratio, &r),
                     rows[i].want);
    assert_true(r.corrected_rpm == -7.0 && r.zone == TA_ZONE_COUNT);
  }
  ta_map_reading r;
  assert_int_equal(ta_compressor_map_at(NULL, 0.2, 2.0, &r), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_at(map, 0.2, 2.0, NULL), TA_ERR_ARGUMENT);
  ta_compressor_map_free(map);
  ta_compressor_map_free(NULL);

  ta_compressor_map *none = NULL;
  assert_int_equal(ta_compressor_map_create(NULL, 2, &none), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_create(s.line, 6, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_create(s.line, 1, &none), TA_ERR_INPUT);
  assert_null(none);
  double rms[6] = {9.0};
  assert_int_equal(ta_compressor_map_leave_one_out(NULL, 6, rms), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_leave_one_out(s.line, 6, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_leave_one_out(s.line, 1, rms), TA_ERR_INPUT);
  assert_true(rms[0] == 9.0);
}

static void few_lines(sheet *s) {
  s->count = 1;
}
static void no_lines(sheet *s) {
  s->count = 0;
}
static void few_points(sheet *s) {
  s->line[2].point_count = 2;
}
static void no_points(sheet *s) {
  s->line[2].point = NULL;
}
static void speed_not_a_number(sheet *s) {
  s->line[1].corrected_rpm = (double)NAN;
}
static void speed_negative(sheet *s) {
  s->line[0].corrected_rpm = -1.0;
}
static void speeds_swapped(sheet *s) {
  const double rpm = s->line[2].corrected_rpm;
  s->line[2].corrected_rpm = s->line[3].corrected_rpm;
  s->line[3].corrected_rpm = rpm;
}
static void speed_twice(sheet *s) {
  s->line[4].corrected_rpm = s->line[3].corrected_rpm;
}
static void flow_zero(sheet *s) {
  s->point[1][3].flow_kg_s = 0.0;
}
static void flow_infinite(sheet *s) {
  s->point[1][3].flow_kg_s = (double)INFINITY;
}
static void ratio_one(sheet *s) {
  s->point[4][8].pressure_ratio = 1.0;
}
static void ratio_not_a_number(sheet *s) {
  s->point[4][8].pressure_ratio = (double)NAN;
}
static void efficiency_zero(sheet *s) {
  s->point[0][0].efficiency = 0.0;
}
static void efficiency_high(sheet *s) {
  s->point[0][0].efficiency = 0.91;
}
static void efficiency_not_a_number(sheet *s) {
  s->point[0][0].efficiency = (double)NAN;
}
static void ratio_misread_low(sheet *s) {
  s->point[3][6].pressure_ratio -= 0.5;
}
static void ratio_misread_high(sheet *s) {
  s->point[3][6].pressure_ratio += 0.5;
}
static void ratio_misread_slightly(sheet *s) {
  s->point[3][2].pressure_ratio *= 1.09;
}
static void flow_misread(sheet *s) {
  s->point[3][6].flow_kg_s *= 0.8;
}
static void last_flow_misread(sheet *s) {
  s->point[3][8].flow_kg_s = 0.94 * s->point[3][7].flow_kg_s;
}
static void line_reversed(sheet *s) {
  for (size_t j = 0; j < 4; j++) {
    const ta_map_point p = s->point[3][j];
    s->point[3][j] = s->point[3][8 - j];
    s->point[3][8 - j] = p;
  }
}
/* Line 4 pulled down at its choke side, through line 3. */
static void lines_cross(sheet *s) {
  for (size_t j = 0; j < 9; j++) {
    const double t = (double)j / 8.0, shrink = 1.0 - 0.24 * t * t;
    s->point[3][j].flow_kg_s *= shrink;
    s->point[3][j].pressure_ratio =
        pressure_ratio_of(head_of(s->point[3][j].pressure_ratio) * shrink * shrink);
  }
}
static void line_starts_late(sheet *s) {
  s->line[3].point += 5;
  s->line[3].point_count -= 5;
}
static void line_ends_early(sheet *s) {
  s->line[3].point_count = 6;
}

static const struct {
  const char *name;
  void (*spoil)(sheet *s);
  const char *key, *also, *text;
} faults[] = {
    {"one line", few_lines, "lines", "", "1 speed lines; a compressor map takes two or more"},
    {"no line", no_lines, "lines", "", "0 speed lines"},
    {"two points", few_points, "lines[2]", "", "line 3 has 2 points"},
    {"no points", no_points, "lines[2]", "", "line 3 has 0 points"},
    {"speed NaN", speed_not_a_number, "lines[1]", "", "line 2: corrected speed nan"},
    {"speed < 0", speed_negative, "lines[0]", "", "line 1: corrected speed -1 is not above 0"},
    {"order", speeds_swapped, "lines[3]", "lines[2]", "is not faster than line 3"},
    {"twice", speed_twice, "lines[4]", "lines[3]", "is not faster than line 4"},
    {"flow 0", flow_zero, "lines[1].rows[3]", "", "line 2 point 4: flow 0 is not above 0"},
    {"flow inf", flow_infinite, "lines[1].rows[3]", "", "line 2 point 4: flow inf"},
    {"PR 1", ratio_one, "lines[4].rows[8]", "", "line 5 point 9: pressure ratio 1 is not above 1"},
    {"PR NaN", ratio_not_a_number, "lines[4].rows[8]", "", "line 5 point 9: pressure ratio nan"},
    {"eff 0", efficiency_zero, "lines[0].rows[0]", "", "line 1 point 1: efficiency 0 is not"},
    {"eff 0.91", efficiency_high, "lines[0].rows[0]", "",
     "efficiency 0.91 is not between 0 and 0.9"},
    {"eff NaN", efficiency_not_a_number, "lines[0].rows[0]", "", "efficiency nan"},
    {"PR low", ratio_misread_low, "lines[3].rows[6]", "", "line 4 point 7 leaves its line"},
    {"PR high", ratio_misread_high, "lines[3].rows[6]", "", "line 4 point 7 leaves its line"},
    {"PR 9 %", ratio_misread_slightly, "lines[3].rows[2]", "", "line 4 point 3 leaves its line"},
    {"flow", flow_misread, "lines[3].rows[6]", "", "line 4 point 7 leaves its line"},
    {"last flow", last_flow_misread, "lines[3].rows[8]", "", "line 4 point 9 leaves its line"},
    {"reversed", line_reversed, "lines[3]", "", "line 4 runs from choke to surge"},
    {"cross", lines_cross, "lines[2].rows[7]", "lines[3]", "line 3 crosses line 4 at point 8"},
    {"late start", line_starts_late, "lines[4].rows[0]", "lines[3].rows[0]",
     "line 5 begins no higher than line 4"},
    {"early end", line_ends_early, "lines[3].rows[5]", "lines[2].rows[8]",
     "line 4 ends at no more flow than line 3"},
};

static void every_fault_is_raised_with_its_key(void **state) {
  (void)state;
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  for (size_t i = 0; i < COUNT_OF(faults); i++) {
    sheet s;
    draw(&s, PARABOLA, six, 6, 9);
    faults[i].spoil(&s);
    ta_diagnostics_clear(list);
    const ta_status status = ta_speed_lines_check(s.line, s.count, list);
    const ta_diagnostic *item = &list->item[0];
    if (status != TA_ERR_INPUT || list->errors != 1 || strcmp(item->key, faults[i].key) != 0 ||
        strcmp(item->also_key, faults[i].also) != 0 || strstr(item->text, faults[i].text) == NULL)
      fail_msg("%s: %s, %zu errors, key '%s' also '%s': %s", faults[i].name, ta_status_name(status),
               list->errors, item->key, item->also_key, item->text);
    ta_compressor_map *map = NULL;
    assert_int_equal(ta_compressor_map_create(s.line, s.count, &map), TA_ERR_INPUT);
    assert_null(map);
  }
  assert_int_equal(ta_speed_lines_check(NULL, 2, list), TA_ERR_ARGUMENT);
  free(list);
}

/* As typed: so many decimals of flow [kg/s], two of pressure ratio. */
static void round_off(sheet *s) {
  for (size_t i = 0; i < s->count; i++) {
    for (size_t j = 0; j < s->line[i].point_count; j++) {
      s->point[i][j].flow_kg_s = round(1e4 * s->point[i][j].flow_kg_s) / 1e4;
      s->point[i][j].pressure_ratio = round(1e2 * s->point[i][j].pressure_ratio) / 1e2;
    }
  }
}

/* Common practice: half a percent is how well a plot is digitised. */
static void points_read_with_half_a_percent_of_noise_are_accepted(void **state) {
  (void)state;
  static const size_t points[] = {3, 5, 9, 13, 20};
  uint64_t seed = 20260715;
  int refused = 0, maps = 0;
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  for (int round = 0; round < 12; round++) {
    for (kind k = 0; k < KINDS; k++) {
      for (size_t p = 0; p < COUNT_OF(points); p++) {
        sheet s;
        draw(&s, k, points[p] > 13 ? ten + 2 : six, points[p] > 13 ? 8 : 6, points[p]);
        for (size_t i = 0; i < s.count; i++) {
          for (size_t j = 0; j < points[p]; j++) {
            s.point[i][j].flow_kg_s *= 1.0 + 0.005 * gaussian(&seed);
            s.point[i][j].pressure_ratio *= 1.0 + 0.005 * gaussian(&seed);
          }
        }
        maps++;
        if (ta_speed_lines_check(s.line, s.count, list) == TA_OK) continue;
        refused++;
        print_message("%s, %zu points: %s\n", kind_name[k], points[p],
                      list->item[list->count - 1].text);
        ta_diagnostics_clear(list);
      }
    }
  }
  free(list);
  assert_true(refused * 400 <= maps);
}

static void a_point_read_twice_counts_once(void **state) {
  (void)state;
  sheet s, twice;
  draw(&s, CUBIC, six, 6, 9);
  draw(&twice, CUBIC, six, 6, 9);
  for (size_t j = 9; j > 4; j--) twice.point[3][j] = twice.point[3][j - 1];
  twice.line[3].point_count = 10;
  ta_compressor_map *want = made(&s);
  int bad = 0;
  for (int back = 0; back < 2; back++) { /* the same, then a hair left of the one before */
    twice.point[3][5].flow_kg_s = (1.0 - 4e-4 * back) * twice.point[3][4].flow_kg_s;
    ta_compressor_map *got = made(&twice);
    for (size_t j = 0; j < 9; j++) {
      const ta_map_point *p = &s.point[3][j];
      bad += off_rel("twice", "speed", at(got, p->flow_kg_s, p->pressure_ratio).corrected_rpm,
                     at(want, p->flow_kg_s, p->pressure_ratio).corrected_rpm, 4e-4);
    }
    ta_compressor_map_free(got);
  }
  ta_compressor_map_free(want);
  assert_int_equal(bad, 0);
}

/* What was slipped: a digit mistyped, or two of them swapped. */
static const struct {
  kind k;
  const double *m;
  size_t lines, points, i, j;
  double flow, pressure_ratio; /* over what stands there; 1: left */
  const char *key;
} slips[] = {
    {PARABOLA, six, 6, 9, 3, 0, 1.0, 2.82 / 2.28, "lines[3].rows[0]"},
    {PARABOLA, six, 6, 9, 3, 0, 1.0, 3.28 / 2.28, "lines[3].rows[0]"},
    {CUBIC, six, 6, 9, 3, 6, 1.0, 2.82 / 2.28, "lines[3].rows[6]"},
    {CUBIC, six, 6, 9, 3, 6, 1.0, 3.28 / 2.28, "lines[3].rows[6]"},
    {STEEP, six, 6, 9, 5, 0, 1.0, 2.82 / 2.28, "lines[5].rows[0]"},
    {STEEP, six, 6, 9, 5, 8, 1.0, 3.28 / 2.28, "lines[5].rows[8]"},
    {VERTICAL, six, 6, 9, 0, 4, 1.0, 1.8 / 1.3, "lines[0].rows[4]"},
    {WALL, six, 6, 9, 2, 0, 1.0, 2.82 / 2.28, "lines[2].rows[0]"},
    {EQUAL_ENDS, six, 6, 9, 4, 3, 1.0, 2.82 / 2.28, "lines[4].rows[3]"},
    {PARABOLA, six, 6, 9, 3, 7, 0.241 / 0.214, 1.0, "lines[3].rows[7]"},
    {CUBIC, six, 6, 9, 4, 8, 0.241 / 0.214, 1.0, "lines[4].rows[8]"},
    {STEEP, six, 6, 9, 1, 7, 0.214 / 0.241, 1.0, "lines[1].rows[7]"},
    {VERTICAL, six, 6, 9, 3, 8, 0.241 / 0.214, 1.0, "lines[3].rows[8]"},
    {WALL, six, 6, 9, 3, 5, 0.421 / 0.214, 1.0, "lines[3].rows[5]"},
    {PEAKED, six, 6, 9, 2, 2, 0.114 / 0.214, 1.0, "lines[2].rows[2]"},
    {PEAKED, six, 6, 9, 5, 8, 10.0, 1.0, "lines[5].rows[8]"},
    {PARABOLA, six, 6, 20, 3, 11, 1.0, 2.82 / 2.28, "lines[3].rows[11]"},
    {CUBIC, six, 6, 20, 1, 19, 0.241 / 0.214, 1.0, "lines[1].rows[19]"},
    {STEEP, ten, 8, 20, 4, 0, 1.0, 2.82 / 2.28, "lines[4].rows[0]"},
    {VERTICAL, ten, 8, 20, 6, 10, 1.0, 2.28 / 2.82, "lines[6].rows[10]"},
    {PARABOLA, six, 6, 5, 3, 2, 1.0, 2.82 / 2.28, "lines[3].rows[2]"},
    {CUBIC, six, 6, 5, 2, 0, 1.0, 2.82 / 2.28, "lines[2].rows[0]"},
    {WALL, six, 6, 5, 4, 4, 0.214 / 0.241, 1.0, "lines[4].rows[4]"},
    {WALL, three, 3, 5, 0, 0, 1.0, 4.5 / 1.5, "lines[0].rows[0]"},
    {STEEP, three, 3, 5, 0, 3, 1.0, 1.13 / 1.31, "lines[0].rows[3]"},
    {STEEP, three, 3, 5, 1, 3, 1.0, 2.82 / 2.28, "lines[1].rows[3]"},
    {CUBIC, three, 3, 9, 0, 8, 0.214 / 0.241, 1.0, "lines[0].rows[8]"},
    {PARABOLA, six, 6, 3, 3, 1, 1.0, 2.82 / 2.28, "lines[3].rows[1]"},
    {VERTICAL, six, 6, 3, 2, 2, 0.241 / 0.214, 1.0, "lines[2].rows[2]"},
    {CUBIC, three + 1, 2, 9, 1, 4, 1.0, 2.28 / 2.82, "lines[1].rows[4]"},
};

static void a_slip_of_the_pen_is_named_where_it_was_made(void **state) {
  (void)state;
  int bad = 0;
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  for (size_t n = 0; n < COUNT_OF(slips); n++) {
    sheet s;
    draw(&s, slips[n].k, slips[n].m, slips[n].lines, slips[n].points);
    round_off(&s);
    s.point[slips[n].i][slips[n].j].flow_kg_s *= slips[n].flow;
    s.point[slips[n].i][slips[n].j].pressure_ratio *= slips[n].pressure_ratio;
    ta_diagnostics_clear(list);
    (void)ta_speed_lines_check(s.line, s.count, list);
    if (list->errors == 1 && strcmp(list->item[0].key, slips[n].key) == 0) continue;
    print_error("slip %zu, %s: %zu errors, %s: %s, want %s\n", n, kind_name[slips[n].k],
                list->errors, list->item[0].key, list->item[0].text, slips[n].key);
    bad++;
  }
  free(list);
  assert_int_equal(bad, 0);
}

/* Every point of a map in turn, moved to where its line would be at a speed 10 % higher, 20 % at the
 * four corners, which little else holds in place: none is accepted, and the point is named. */
static void no_point_can_be_off_by_a_tenth_in_speed(void **state) {
  (void)state;
  int accepted = 0, elsewhere = 0;
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  for (kind k = 0; k < KINDS; k++) {
    sheet s;
    draw(&s, k, six, 6, 9);
    for (size_t i = 0; i < s.count; i++) {
      for (size_t j = 0; j < 9; j++) {
        const ta_map_point keep = s.point[i][j];
        char key[64];
        const bool corner = (i == 0 || i + 1 == s.count) && (j == 0 || j == 8);
        const double faster = corner ? 1.2 : 1.1;
        s.point[i][j].flow_kg_s *= faster;
        s.point[i][j].pressure_ratio =
            pressure_ratio_of(faster * faster * head_of(keep.pressure_ratio));
        ta_diagnostics_clear(list);
        (void)snprintf(key, sizeof key, "lines[%zu].rows[%zu]", i, j);
        if (ta_speed_lines_check(s.line, s.count, list) == TA_OK) {
          print_message("%s %s accepted\n", kind_name[k], key);
          accepted++;
        } else if (strcmp(list->item[0].key, key) != 0) {
          print_message("%s %s: %s\n", kind_name[k], key, list->item[0].key);
          elsewhere++;
        }
        s.point[i][j] = keep;
      }
    }
  }
  free(list);
  assert_int_equal(accepted, 0);
  assert_int_equal(elsewhere, 0);
}

static void every_fault_of_a_map_is_raised_and_sound_maps_raise_none(void **state) {
  (void)state;
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  sheet s;
  for (kind k = 0; k < KINDS; k++) {
    draw(&s, k, six, 6, 9);
    assert_int_equal(ta_speed_lines_check(s.line, s.count, list), TA_OK);
  }
  assert_int_equal(list->count, 0);
  draw(&s, PARABOLA, six, 6, 9);
  flow_zero(&s);
  ratio_one(&s);
  few_points(&s);
  speed_twice(&s);
  assert_int_equal(ta_speed_lines_check(s.line, s.count, list), TA_ERR_INPUT);
  assert_int_equal(list->errors, 4);
  ta_diagnostics_clear(list);
  draw(&s, PARABOLA, six, 6, 9);
  ratio_misread_low(&s);
  s.point[1][4].pressure_ratio *= 0.8;
  assert_int_equal(ta_speed_lines_check(s.line, s.count, list), TA_ERR_INPUT);
  assert_int_equal(list->errors, 2);
  free(list);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_map_reads_its_own_points),
      cmocka_unit_test(a_line_left_out_is_predicted),
      cmocka_unit_test(two_lines_cannot_be_left_out),
      cmocka_unit_test(reading_noise_is_not_amplified),
      cmocka_unit_test(ten_lines_and_two_lines_of_three_points_make_maps),
      cmocka_unit_test(left_of_surge_the_head_coefficient_and_efficiency_stay),
      cmocka_unit_test(right_of_choke_the_line_falls_vertically),
      cmocka_unit_test(far_below_the_lowest_line_the_fan_law_holds),
      cmocka_unit_test(every_zone_is_met),
      cmocka_unit_test(readings_are_continuous_across_every_boundary),
      cmocka_unit_test(speed_rises_with_pressure_ratio_at_every_flow),
      cmocka_unit_test(every_point_of_twelve_decades_has_a_reading),
      cmocka_unit_test(efficiency_stays_possible_between_and_above_the_lines),
      cmocka_unit_test(bits_depend_on_neither_lane_nor_block),
      cmocka_unit_test(refusals_leave_the_output_alone),
      cmocka_unit_test(every_fault_is_raised_with_its_key),
      cmocka_unit_test(points_read_with_half_a_percent_of_noise_are_accepted),
      cmocka_unit_test(a_point_read_twice_counts_once),
      cmocka_unit_test(a_slip_of_the_pen_is_named_where_it_was_made),
      cmocka_unit_test(no_point_can_be_off_by_a_tenth_in_speed),
      cmocka_unit_test(every_fault_of_a_map_is_raised_and_sound_maps_raise_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
