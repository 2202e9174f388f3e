/* compressor_map.c - from the maker's speed lines to the surface that is read.
 *
 * Model     In the coordinates of compressor_surface.h a speed line is a function F(v) = Nc/q, and
 *           along the fan law F does not change with speed.  Where a line is level in y, F is
 *           proportional to 1 - v; where it falls vertically, to v: so F is tame from surge to
 *           choke, and lines are compared at equal v even where they end at different places.
 *           Along a line: cubic through its points, smoothed as far as the points themselves say
 *           (robust generalised cross-validation).  Past its ends a line turns level (surge) or
 *           vertical (choke).  Across the lines, at each v: cubic in q; above the top line its
 *           slope is continued; below the lowest it fades out into the fan law.
 * Limits    Efficiency is treated the same way over (v, q) and kept within what the lines show.
 * Pinned by tests/model/test_compressor_map.c, tests/published/test_compressor_map.c.
 */
#include "thinair/compressor_map.h"

#include <gsl/gsl_eigen.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/compressor_surface.h"
#include "thinair/air.h"

static const double EFFICIENCY_MAX = 0.9;     /* no compressor of this kind is better */
static const double PEAK_ABOVE_POINTS = 0.01; /* how far a peak between points may stand out */
static const double TURNS_WITHIN = 0.4;       /* of a line's width, past its ends */
static const double GRID_OVER_TOP = 1.35;     /* q where the grid ends, over the top line's */
static const double TREND_MAX = 0.8;          /* steepest d ln F/d ln q above the top line */
static const double EDGE_TREND_MAX = 1.0;     /* steepest dv/d ln q there, in the line's widths */
static const double EDGES_APART = 0.25;       /* of the narrowest line's width, at least */
static const double PLAIN_SHARE = 0.2;        /* of plain in robust cross-validation */
static const double TOGETHER = 1e-3;          /* points closer in v than this are one */

/* A point is misread when it is off by more than reading flow and pressure ratio wrong by so much
 * explains: noise is about 0.5 %.  From a few thousand noisy maps and slips of one digit. */
static const double READING = 0.03;          /* off its own line */
static const double READING_OTHERS = 0.02;   /* and off where the other lines would have it */
static const double READING_ALONE = 0.05;    /* the latter, where its own line says nothing */
static const double READING_SMOOTHED = 0.04; /* off the finished surface */
static const double ENDS_READING = 2.0; /* times that at a line's ends, and at the outer lines */
/* How well a line is known, in speed: without one of its points, without all of them. */
static const double OWN_FLOOR = 0.015, OWN_INNER = 0.6, OWN_END = 0.8, OWN_USELESS = 0.05;
static const double OTHERS_INNER = 0.015, OTHERS_OUTER = 0.03, FAN_LAW = 0.1, OTHERS_PAST = 0.2;
static const double NEVER_FALLS = 0.003; /* of speed, as pressure ratio rises at one flow */
static const double SUSPECT = 0.5;       /* such a share of misread is tried as the culprit */
static const double GROSS = 20.0;        /* no point weighs more in finding it */
enum { SUSPECTS_MAX = 40, MISREAD_MAX = 8 };

static double head_y(double pressure_ratio) {
  return sqrt(expm1((TA_GAMMA - 1.0) / TA_GAMMA * log(pressure_ratio)));
}

/* Makes w at the top line's end as large as y at its first point. */
static double flow_scale(const ta_speed_line *top) {
  return head_y(top->point[0].pressure_ratio) / top->point[top->point_count - 1].flow_kg_s;
}

static double clamp(double x, double low, double high) {
  return fmin(fmax(x, low), high);
}

/* A smooth function given at n rising knots. */
typedef struct {
  size_t n;
  const double *x;
  double *z, *slope;
} curve;

/* A speed line in the surface's coordinates. */
typedef struct {
  double rpm;
  double *memory;
  double *v;
  curve g, efficiency;                /* rpm/w; both over v */
  double level_slope, vertical_slope; /* d ln y/dv at its first, d ln w/dv at its last point */
} drawn_line;

/* Slopes of the parabola through each knot and its neighbours. */
static void curve_slopes(const curve *c) {
  for (size_t i = 0; i < c->n; i++) {
    if (c->n == 2) {
      c->slope[i] = (c->z[1] - c->z[0]) / (c->x[1] - c->x[0]);
      continue;
    }
    const size_t k = i == 0 ? 1 : i == c->n - 1 ? c->n - 2 : i;
    const double before = c->x[k] - c->x[k - 1], after = c->x[k + 1] - c->x[k];
    const double low = (c->z[k] - c->z[k - 1]) / before, high = (c->z[k + 1] - c->z[k]) / after;
    const double bend = (high - low) / (before + after);
    c->slope[i] = low + bend * (2.0 * c->x[i] - c->x[k - 1] - c->x[k]);
  }
}

/* Inside the knots. */
static double curve_at(const curve *c, double x) {
  size_t k = 0;
  while (k + 2 < c->n && x > c->x[k + 1]) k++;
  const double width = c->x[k + 1] - c->x[k], rise = c->z[k + 1] - c->z[k];
  const double t = (x - c->x[k]) / width, u = 1.0 - t;
  return c->z[k] + t * rise +
         t * u * (u * (width * c->slope[k] - rise) - t * (width * c->slope[k + 1] - rise));
}

/* A step whose rate fades out over the reach. */
static double faded(double step, double reach) {
  const double x = fmin(step, reach);
  return x - 0.5 * x * x / reach;
}

static double line_width(const drawn_line *line) {
  return line->v[line->g.n - 1] - line->v[0];
}

static double line_f(const drawn_line *line, double v) {
  const double reach = TURNS_WITHIN * line_width(line);
  const double first = line->v[0], last = line->v[line->g.n - 1];
  if (v < first)
    return first * line->g.z[0] * (1.0 - v) / (1.0 - first) *
           (1.0 + line->level_slope * faded(first - v, reach));
  if (v > last)
    return v * line->g.z[line->g.n - 1] * (1.0 - line->vertical_slope * faded(v - last, reach));
  return v * curve_at(&line->g, v);
}

static double line_efficiency(const drawn_line *line, double v) {
  const curve *c = &line->efficiency;
  const double reach = TURNS_WITHIN * line_width(line);
  const double first = line->v[0], last = line->v[c->n - 1];
  if (v < first) return c->z[0] - c->slope[0] * faded(first - v, reach);
  if (v > last) return c->z[c->n - 1] + c->slope[c->n - 1] * faded(v - last, reach);
  return curve_at(c, v);
}

/* Draw a line through its points, less those that are out (NULL: none).  Points that reading noise
 * has put in the wrong order, or on top of each other, are taken together. */
static void line_through(const ta_speed_line *line, double per_flow, const bool *out,
                         drawn_line *drawn) {
  double *v = drawn->v, *g = drawn->g.z, *efficiency = drawn->efficiency.z;
  double *weight = drawn->g.slope; /* not in use yet */
  size_t n = 0;
  drawn->rpm = line->corrected_rpm;
  for (size_t j = 0; j < line->point_count; j++) {
    if (out != NULL && out[j]) continue;
    const double w = per_flow * line->point[j].flow_kg_s;
    v[n] = w / (w + head_y(line->point[j].pressure_ratio));
    g[n] = line->corrected_rpm / w;
    efficiency[n] = line->point[j].efficiency;
    weight[n++] = 1.0;
    while (n > 1 && !(v[n - 1] >= v[n - 2] + TOGETHER)) {
      const double share = weight[n - 1] / (weight[n - 1] + weight[n - 2]);
      n--;
      v[n - 1] += share * (v[n] - v[n - 1]);
      g[n - 1] += share * (g[n] - g[n - 1]);
      efficiency[n - 1] += share * (efficiency[n] - efficiency[n - 1]);
      weight[n - 1] += weight[n];
    }
  }
  drawn->g.n = drawn->efficiency.n = n;
}

static ta_status line_draw(const ta_speed_line *line, double per_flow, drawn_line *drawn) {
  const size_t n = line->point_count;
  drawn->memory = malloc(5 * n * sizeof *drawn->memory);
  if (drawn->memory == NULL) return TA_ERR_MEMORY;
  drawn->v = drawn->memory;
  drawn->g = (curve){n, drawn->v, drawn->memory + n, drawn->memory + 2 * n};
  drawn->efficiency = (curve){n, drawn->v, drawn->memory + 3 * n, drawn->memory + 4 * n};
  line_through(line, per_flow, NULL, drawn);
  return TA_OK;
}

/* Once the values are final.  Flow never falls towards choke, nor does the curve between points. */
static void line_finish(drawn_line *line) {
  const curve *g = &line->g;
  const size_t last = g->n - 1;
  for (size_t j = 1; j <= last; j++) g->z[j] = fmin(g->z[j], g->z[j - 1]);
  curve_slopes(g);
  curve_slopes(&line->efficiency);
  for (size_t j = 0; j <= last; j++) {
    const double before = j == 0 ? HUGE_VAL : (g->z[j - 1] - g->z[j]) / (g->x[j] - g->x[j - 1]);
    const double after = j == last ? HUGE_VAL : (g->z[j] - g->z[j + 1]) / (g->x[j + 1] - g->x[j]);
    g->slope[j] = clamp(g->slope[j], -3.0 * fmin(before, after), 0.0);
  }
  /* w = rpm/g, y = w (1 - v)/v; past surge y, and past choke w, may still rise a little. */
  const double reach = TURNS_WITHIN * line_width(line), v = line->v[0];
  line->level_slope =
      clamp(-g->slope[0] / g->z[0] - 1.0 / (v * (1.0 - v)), -0.5 / reach, 0.5 / reach);
  line->vertical_slope = clamp(-g->slope[last] / g->z[last], 0.0, 0.5 / reach);
}

enum { SMOOTH_POINTS_MIN = 8, STRENGTHS = 26 };

/* One line's roughness (mean square third divided difference) in its principal axes. */
typedef struct {
  size_t n; /* 0: too few points to be smoothed */
  gsl_vector *roughness;
  gsl_matrix *axes;
} line_modes;

static void modes_free(line_modes *modes) {
  if (modes->roughness != NULL) gsl_vector_free(modes->roughness);
  if (modes->axes != NULL) gsl_matrix_free(modes->axes);
}

static ta_status modes_make(const drawn_line *line, line_modes *modes) {
  const size_t n = line->g.n;
  if (n < SMOOTH_POINTS_MIN) return TA_OK;
  ta_status status = TA_ERR_MEMORY;
  gsl_matrix *square = gsl_matrix_calloc(n, n);
  gsl_eigen_symmv_workspace *work = gsl_eigen_symmv_alloc(n);
  modes->roughness = gsl_vector_alloc(n);
  modes->axes = gsl_matrix_alloc(n, n);
  if (square == NULL || work == NULL || modes->roughness == NULL || modes->axes == NULL) goto done;
  const double width = line_width(line);
  for (size_t j = 0; j + 3 < n; j++) {
    double weight[4];
    for (size_t a = 0; a < 4; a++) {
      weight[a] = 1.0;
      for (size_t b = 0; b < 4; b++)
        if (b != a) weight[a] *= width / (line->v[j + a] - line->v[j + b]);
    }
    for (size_t a = 0; a < 4; a++)
      for (size_t b = 0; b < 4; b++)
        *gsl_matrix_ptr(square, j + a, j + b) += weight[a] * weight[b] / (double)n;
  }
  if (gsl_eigen_symmv(square, modes->roughness, modes->axes, work) == 0) {
    modes->n = n;
    status = TA_OK;
  }
done:
  if (square != NULL) gsl_matrix_free(square);
  if (work != NULL) gsl_eigen_symmv_free(work);
  return status;
}

static double kept(const line_modes *modes, size_t k, double strength) {
  return 1.0 / (1.0 + strength * fmax(gsl_vector_get(modes->roughness, k), 0.0));
}

static double along_axis(const line_modes *modes, size_t k, const double *z) {
  double sum = 0.0;
  for (size_t j = 0; j < modes->n; j++) sum += gsl_matrix_get(modes->axes, j, k) * z[j];
  return sum;
}

/* Smooths one quantity of all lines with one strength, the one that robust generalised
 * cross-validation likes best: the points' own scatter decides, exact points stay. */
static void smooth(const drawn_line *line, const line_modes *modes, size_t count, bool efficiency) {
  double best = HUGE_VAL, strength = 0.0;
  for (int step = 0; step < STRENGTHS; step++) {
    const double trial = pow(10.0, -12.0 + 0.5 * step);
    double misfit = 0.0, removed = 0.0, square = 0.0, points = 0.0;
    for (size_t i = 0; i < count; i++) {
      const double *z = efficiency ? line[i].efficiency.z : line[i].g.z;
      for (size_t k = 0; k < modes[i].n; k++) {
        const double keep = kept(&modes[i], k, trial);
        const double lost = (1.0 - keep) * along_axis(&modes[i], k, z) / z[0];
        misfit += lost * lost;
        removed += 1.0 - keep;
        square += keep * keep;
      }
      points += (double)modes[i].n;
    }
    const double score =
        misfit / (removed * removed) * (PLAIN_SHARE + (1.0 - PLAIN_SHARE) * square / points);
    if (score < best) {
      best = score;
      strength = trial;
    }
  }
  for (size_t i = 0; i < count; i++) {
    double *z = efficiency ? line[i].efficiency.z : line[i].g.z;
    double *scratch = line[i].g.slope; /* not in use yet */
    for (size_t k = 0; k < modes[i].n; k++) scratch[k] = along_axis(&modes[i], k, z);
    for (size_t j = 0; j < modes[i].n; j++)
      for (size_t k = 0; k < modes[i].n; k++)
        z[j] -=
            (1.0 - kept(&modes[i], k, strength)) * scratch[k] * gsl_matrix_get(modes[i].axes, j, k);
  }
}

static ta_status smooth_all(drawn_line *line, size_t count) {
  line_modes *modes = calloc(count, sizeof *modes);
  if (modes == NULL) return TA_ERR_MEMORY;
  ta_status status = TA_OK;
  for (size_t i = 0; i < count && status == TA_OK; i++) status = modes_make(&line[i], &modes[i]);
  if (status == TA_OK) {
    smooth(line, modes, count, false);
    smooth(line, modes, count, true);
  }
  for (size_t i = 0; i < count; i++) modes_free(&modes[i]);
  free(modes);
  return status;
}

/* One knot a line, over q.  Steepest: of the trend above the top line, per ln q. */
static void across_finish(const curve *c, double steepest) {
  const double limit = steepest / c->x[c->n - 1];
  curve_slopes(c);
  c->slope[c->n - 1] = clamp(c->slope[c->n - 1], -limit, limit);
}

/* Fades out below the lowest line; above the top line goes on in ln q. */
static double across(const curve *c, double q) {
  const double low = c->x[0], top = c->x[c->n - 1];
  if (q < low) return c->z[0] - c->slope[0] * faded(low - q, 0.5 * low);
  if (q > top) return c->z[c->n - 1] + c->slope[c->n - 1] * top * log(q / top);
  return curve_at(c, q);
}

/* All that the surface is made of. */
typedef struct {
  size_t count;
  drawn_line *line;
  double *memory, *knot;
  curve surge, choke;      /* v of the lines' first and last points over q */
  double width_min;        /* the edges come no closer */
  double choke_max;        /* v on the choke edge stays below: y above 0 */
  double q_end;            /* where the grid ends and the fan law begins */
  curve log_f, efficiency; /* at one v */
  double efficiency_min, efficiency_max;
} drawing;

static void drawing_free(drawing *d) {
  for (size_t i = 0; d->line != NULL && i < d->count; i++) free(d->line[i].memory);
  free(d->line);
  free(d->memory);
}

static ta_status drawing_make(const ta_speed_line *line, size_t count, double per_flow,
                              drawing *d) {
  d->count = count;
  d->line = calloc(count, sizeof *d->line);
  d->memory = malloc(11 * count * sizeof *d->memory);
  if (d->line == NULL || d->memory == NULL) return TA_ERR_MEMORY;
  double *m = d->memory;
  d->surge = (curve){count, m, m + count, m + 2 * count};
  d->choke = (curve){count, m + 3 * count, m + 4 * count, m + 5 * count};
  d->knot = m + 6 * count;
  d->log_f = (curve){count, d->knot, m + 7 * count, m + 8 * count};
  d->efficiency = (curve){count, d->knot, m + 9 * count, m + 10 * count};
  for (size_t i = 0; i < count; i++) {
    const ta_status status = line_draw(&line[i], per_flow, &d->line[i]);
    if (status != TA_OK) return status;
  }
  const ta_status status = smooth_all(d->line, count);
  if (status != TA_OK) return status;
  d->efficiency_min = d->width_min = 1.0;
  d->choke_max = d->efficiency_max = 0.0;
  for (size_t i = 0; i < count; i++) {
    drawn_line *drawn = &d->line[i];
    const size_t last = drawn->g.n - 1;
    line_finish(drawn);
    m[i] = drawn->rpm / (drawn->v[0] * drawn->g.z[0]);
    d->surge.z[i] = drawn->v[0];
    m[3 * count + i] = drawn->rpm / (drawn->v[last] * drawn->g.z[last]);
    d->choke.z[i] = drawn->v[last];
    d->width_min = fmin(d->width_min, EDGES_APART * line_width(drawn));
    d->choke_max = fmax(d->choke_max, 0.5 * (1.0 + drawn->v[last]));
    if (i > 0 && !(d->surge.x[i] > d->surge.x[i - 1] && d->choke.x[i] > d->choke.x[i - 1]))
      return TA_ERR_INPUT;
    for (size_t j = 0; j <= last; j++) {
      d->efficiency_min = fmin(d->efficiency_min, line[i].point[j].efficiency);
      d->efficiency_max = fmax(d->efficiency_max, line[i].point[j].efficiency);
    }
  }
  const drawn_line *top = &d->line[count - 1];
  for (size_t j = 0; j < top->g.n; j++)
    d->q_end = fmax(d->q_end, GRID_OVER_TOP * top->rpm / (top->v[j] * top->g.z[j]));
  const double steepest = EDGE_TREND_MAX * line_width(&d->line[count - 1]);
  d->efficiency_max = fmin(d->efficiency_max + PEAK_ABOVE_POINTS, EFFICIENCY_MAX);
  across_finish(&d->surge, steepest);
  across_finish(&d->choke, steepest);
  return TA_OK;
}

static double surge_edge(const drawing *d, double q) {
  return across(&d->surge, fmin(q, d->q_end));
}

static double choke_edge(const drawing *d, double q) {
  return fmin(fmax(across(&d->choke, fmin(q, d->q_end)), surge_edge(d, q) + d->width_min),
              d->choke_max);
}

/* F and efficiency at a place on the map. */
static void drawing_at(const drawing *d, double v, double q, double *f, double *efficiency) {
  for (size_t i = 0; i < d->count; i++) {
    d->knot[i] = d->line[i].rpm / line_f(&d->line[i], v);
    /* Far past their ends, where no reading comes near, short lines might meet. */
    if (i > 0) d->knot[i] = fmax(d->knot[i], 1.001 * d->knot[i - 1]);
    d->log_f.z[i] = log(d->line[i].rpm / d->knot[i]);
    d->efficiency.z[i] = line_efficiency(&d->line[i], v);
  }
  across_finish(&d->log_f, TREND_MAX);
  across_finish(&d->efficiency, TREND_MAX);
  *f = exp(across(&d->log_f, q));
  *efficiency = clamp(across(&d->efficiency, q), 0.5 * d->efficiency_min, d->efficiency_max);
}

static double edge_reach(const drawing *d, bool surge, double q) {
  return q * (surge ? 1.0 - surge_edge(d, q) : choke_edge(d, q));
}

/* v on the surge edge at this y, or on the choke edge at this w. */
static double edge_v(const drawing *d, bool surge, double want) {
  double low = 0.0, high = want;
  while (edge_reach(d, surge, high) < want) high *= 2.0;
  for (int i = 0; i < 60; i++) {
    const double q = 0.5 * (low + high);
    if (edge_reach(d, surge, q) < want)
      low = q;
    else
      high = q;
  }
  return surge ? surge_edge(d, high) : choke_edge(d, high);
}

/* Coefficients of the quadratic B-spline that takes these values at both ends and, to third order,
 * at the middles of the n cells; value[0] and value[n + 1] are the ends. */
static void spline_coefficients(const double *value, size_t n, size_t stride, double *coefficient) {
  const double *middle = value + stride, *last = middle + (n - 1) * stride;
  const double before = 8.0 / 3.0 * value[0] - 2.0 * middle[0] + middle[stride] / 3.0;
  const double after = 8.0 / 3.0 * last[stride] - 2.0 * last[0] + (last - stride)[0] / 3.0;
  for (size_t i = 0; i < n; i++) {
    const double left = i == 0 ? before : middle[(i - 1) * stride];
    const double right = i == n - 1 ? after : middle[(i + 1) * stride];
    coefficient[(i + 1) * stride] = (10.0 * middle[i * stride] - left - right) / 8.0;
  }
  coefficient[0] = 2.0 * value[0] - coefficient[stride];
  coefficient[(n + 1) * stride] = 2.0 * last[stride] - coefficient[n * stride];
}

/* In units of cells: the ends and the middles. */
static double sample_cell(size_t k, size_t n) {
  return k == 0 ? 0.0 : k == n + 1 ? (double)n : (double)k - 0.5;
}

enum { TAU_SAMPLES = TA_SURFACE_TAU + 2, Q_SAMPLES = TA_SURFACE_Q + 2 };

/* One row of samples from surge to choke: Nc/q and efficiency over q, and the flow there. */
typedef struct {
  double f[Q_SAMPLES], efficiency[Q_SAMPLES], w[Q_SAMPLES], v[Q_SAMPLES];
} sample_row;

/* rpm/w at this w; cubic through the four samples about it. */
static double row_g_at(const sample_row *row, double w) {
  size_t k = 2;
  while (k + 2 < Q_SAMPLES && row->w[k] < w) k++;
  double sum = 0.0;
  for (size_t a = k - 2; a < k + 2; a++) {
    double term = row->f[a] / row->v[a];
    for (size_t b = k - 2; b < k + 2; b++)
      if (b != a) term *= (w - row->w[b]) / (row->w[a] - row->w[b]);
    sum += term;
  }
  return sum;
}

/* At one flow the speed never falls as the pressure ratio rises from choke to surge: where lines
 * fall vertically it stands still, and interpolation alone would let it waver in the fifth digit.
 */
static void rows_level(sample_row *row) {
  enum { END = Q_SAMPLES - 1, EASED = 6 };
  for (size_t a = TAU_SAMPLES - 1; a-- > 0;) {
    const sample_row *next = &row[a + 1];
    /* Off the grid the fan law holds, rpm/w as at its ends; the upper end is eased into. */
    row[a].f[0] = fmax(row[a].f[0], row[a].v[0] * next->f[0] / next->v[0]);
    const double lift = fmax(row[a].v[END] * next->f[END] / next->v[END] - row[a].f[END], 0.0);
    for (size_t k = 0; k <= EASED; k++) {
      const double t = (double)k / EASED;
      row[a].f[END - EASED + k] += lift * t * t;
    }
    for (size_t k = 1; k < END; k++)
      if (row[a].w[k] > next->w[1])
        row[a].f[k] = fmax(row[a].f[k], row[a].v[k] * row_g_at(next, row[a].w[k]));
  }
}

static ta_status surface_fill(const drawing *d, ta_compressor_map *m) {
  sample_row *row = malloc(TAU_SAMPLES * sizeof *row);
  if (row == NULL) return TA_ERR_MEMORY;
  double edge[4][Q_SAMPLES];
  for (size_t k = 0; k < Q_SAMPLES; k++) {
    const double q = fmax(sample_cell(k, TA_SURFACE_Q), 1e-6) / m->cells_per_q;
    const double v_surge = surge_edge(d, q), span = choke_edge(d, q) - v_surge;
    const double at_surge = edge_v(d, true, q), at_choke = edge_v(d, false, q);
    edge[0][k] = v_surge;
    edge[1][k] = 1.0 / span;
    edge[2][k] = at_surge / (1.0 - at_surge);
    edge[3][k] = (1.0 - at_choke) / at_choke;
    for (size_t a = 0; a < TAU_SAMPLES; a++) {
      const double v = v_surge + span * sample_cell(a, TA_SURFACE_TAU) / TA_SURFACE_TAU;
      row[a].v[k] = v;
      row[a].w[k] = v * q;
      drawing_at(d, v, q, &row[a].f[k], &row[a].efficiency[k]);
    }
  }
  rows_level(row);
  spline_coefficients(edge[0], TA_SURFACE_Q, 1, m->surge_v);
  spline_coefficients(edge[1], TA_SURFACE_Q, 1, m->per_span_v);
  spline_coefficients(edge[2], TA_SURFACE_Q, 1, m->surge_w_per_y);
  spline_coefficients(edge[3], TA_SURFACE_Q, 1, m->choke_y_per_w);
  double along_f[TAU_SAMPLES * Q_SAMPLES], along_efficiency[TAU_SAMPLES * Q_SAMPLES];
  for (size_t a = 0; a < TAU_SAMPLES; a++) {
    spline_coefficients(row[a].f, TA_SURFACE_Q, 1, along_f + a * Q_SAMPLES);
    spline_coefficients(row[a].efficiency, TA_SURFACE_Q, 1, along_efficiency + a * Q_SAMPLES);
  }
  for (size_t k = 0; k < Q_SAMPLES; k++) {
    spline_coefficients(along_f + k, TA_SURFACE_TAU, Q_SAMPLES, m->rpm_per_q + k);
    spline_coefficients(along_efficiency + k, TA_SURFACE_TAU, Q_SAMPLES, m->efficiency + k);
  }
  free(row);
  return TA_OK;
}

static ta_status surface_make(const ta_speed_line *line, size_t count, ta_compressor_map **map) {
  const ta_speed_line *top = &line[count - 1];
  ta_compressor_map *m = malloc(sizeof *m);
  if (m == NULL) return TA_ERR_MEMORY;
  m->per_flow = flow_scale(top);
  m->low_rpm = line[0].corrected_rpm;
  m->top_rpm = top->corrected_rpm;
  drawing d = {0};
  ta_status status = drawing_make(line, count, m->per_flow, &d);
  if (status == TA_OK) {
    m->cells_per_q = TA_SURFACE_Q / d.q_end;
    status = surface_fill(&d, m);
  }
  drawing_free(&d);
  if (status == TA_OK)
    *map = m;
  else
    free(m);
  return status;
}

enum { KEY_SIZE = 64 };

static const char *line_key(char key[KEY_SIZE], size_t i) {
  (void)snprintf(key, KEY_SIZE, "lines[%zu]", i);
  return key;
}

static const char *row_key(char key[KEY_SIZE], size_t i, size_t j) {
  (void)snprintf(key, KEY_SIZE, "lines[%zu].rows[%zu]", i, j);
  return key;
}

/* Each number by itself. */
static bool points_sound(const ta_speed_line *line, size_t i, ta_diagnostics *list) {
  bool sound = true;
  char key[KEY_SIZE];
  if (!(isfinite(line->corrected_rpm) && line->corrected_rpm > 0.0)) {
    ta_raise(list, TA_ERROR, line_key(key, i), "line %zu: corrected speed %g is not above 0", i + 1,
             line->corrected_rpm);
    sound = false;
  }
  if (line->point == NULL || line->point_count < 3) {
    ta_raise(list, TA_ERROR, line_key(key, i),
             "line %zu has %zu points; a speed line takes three or more", i + 1,
             line->point == NULL ? 0 : line->point_count);
    return false;
  }
  for (size_t j = 0; j < line->point_count; j++) {
    const ta_map_point *p = &line->point[j];
    (void)row_key(key, i, j);
    if (!(isfinite(p->flow_kg_s) && p->flow_kg_s > 0.0)) {
      ta_raise(list, TA_ERROR, key, "line %zu point %zu: flow %g is not above 0", i + 1, j + 1,
               p->flow_kg_s);
      sound = false;
    }
    if (!(isfinite(p->pressure_ratio) && p->pressure_ratio > 1.0)) {
      ta_raise(list, TA_ERROR, key, "line %zu point %zu: pressure ratio %g is not above 1", i + 1,
               j + 1, p->pressure_ratio);
      sound = false;
    }
    if (!(p->efficiency > 0.0 && p->efficiency <= EFFICIENCY_MAX)) {
      ta_raise(list, TA_ERROR, key, "line %zu point %zu: efficiency %g is not between 0 and %g",
               i + 1, j + 1, p->efficiency, EFFICIENCY_MAX);
      sound = false;
    }
  }
  return sound;
}

/* d ln y/d ln PR */
static double head_per_ratio(double pressure_ratio) {
  const double y2 = head_y(pressure_ratio) * head_y(pressure_ratio);
  return 0.5 * (TA_GAMMA - 1.0) / TA_GAMMA * (1.0 + y2) / y2;
}

/* The lines as they are searched for misread points. */
typedef struct {
  const ta_speed_line *line;
  size_t count;
  double per_flow;
  drawn_line *drawn;  /* through the points that are not out */
  drawn_line without; /* the line of the point in question, drawn without it */
  bool **out;         /* [line][point] misread */
  double *scratch;    /* 3 count */
} search;

/* A point in the surface's coordinates. */
typedef struct {
  double v, q, per_ratio;
} spot;

static spot spot_of(const search *s, size_t i, size_t j) {
  const ta_map_point *p = &s->line[i].point[j];
  const double w = s->per_flow * p->flow_kg_s, q = w + head_y(p->pressure_ratio);
  return (spot){w / q, q, head_per_ratio(p->pressure_ratio)};
}

/* Two points make no line. */
static bool known_line(const drawn_line *line) {
  return line->g.n >= 3;
}

/* How far v lies past the ends of a line, over its width; 0 between them. */
static double past_ends(const drawn_line *line, double v) {
  return fmax(fmax(line->v[0] - v, v - line->v[line->g.n - 1]), 0.0) / line_width(line);
}

/* ln F at a place as the other lines have it. */
static double others_log_f(const search *s, size_t i, double v, double q) {
  curve c = {0, s->scratch, s->scratch + s->count, s->scratch + 2 * s->count};
  double *knot = s->scratch;
  for (size_t k = 0; k < s->count; k++) {
    if (k == i || !known_line(&s->drawn[k])) continue;
    knot[c.n] = s->drawn[k].rpm / line_f(&s->drawn[k], v);
    if (c.n > 0) knot[c.n] = fmax(knot[c.n], 1.001 * knot[c.n - 1]);
    c.z[c.n] = log(s->drawn[k].rpm / knot[c.n]);
    c.n++;
  }
  if (c.n < 2) return c.n == 1 ? c.z[0] : (double)NAN;
  across_finish(&c, TREND_MAX);
  return across(&c, q);
}

static double log_f(const search *s, size_t i, bool own, double v, double q) {
  return own ? log(line_f(&s->without, v)) : others_log_f(s, i, v, q);
}

/* How far a point stands off a line, over what may be: a little misread flow and pressure ratio,
 * and how well the line is known there.  Flow hardly counts where a line is level, pressure ratio
 * hardly where it falls. */
static double stands_off(const search *s, size_t i, spot at, bool own, double reading,
                         double known) {
  const double step = 1e-3, v = at.v;
  const double slope =
      (log_f(s, i, own, v + step, at.q) - log_f(s, i, own, v - step, at.q)) / (2.0 * step);
  const double by_flow = v * (1.0 + slope * (1.0 - v)),
               by_ratio = at.per_ratio * (1.0 - v) * (1.0 - slope * v);
  const double off = log(s->line[i].corrected_rpm / at.q) - log_f(s, i, own, v, at.q);
  return fabs(off) / hypot(reading * hypot(by_flow, by_ratio), known);
}

/* How well a line is known, in speed, where one of its points is left out. */
static double own_known(const drawn_line *without, double v) {
  const double past = past_ends(without, v);
  if (past > 0.0) return OWN_END * past * past;
  size_t k = 1;
  while (k + 1 < without->g.n && without->v[k] < v) k++;
  const double gap = (without->v[k] - without->v[k - 1]) / line_width(without);
  return OWN_INNER * gap * gap * gap * gap;
}

/* And where all of it is left out. */
static double others_known(const search *s, size_t i, double v) {
  const bool outer = i == 0 || i + 1 == s->count;
  double past = 0.0;
  for (size_t k = i > 0 ? i - 1 : 0; k <= i + 1 && k < s->count; k++)
    if (k != i && known_line(&s->drawn[k])) past = fmax(past, past_ends(&s->drawn[k], v));
  return hypot(s->count == 2 ? FAN_LAW : outer ? OTHERS_OUTER : OTHERS_INNER, OTHERS_PAST * past);
}

/* Above 1 where a point was misread: it stands neither on its own line, drawn without it, nor where
 * the other lines would have it.  The first alone would blame its neighbours along the line, the
 * second those on the next line. */
static double misread(search *s, size_t i, size_t j) {
  s->out[i][j] = true;
  line_through(&s->line[i], s->per_flow, s->out[i], &s->without);
  s->out[i][j] = false;
  const spot at = spot_of(s, i, j);
  const bool own = known_line(&s->without), outer = i == 0 || i + 1 == s->count;
  if (own) line_finish(&s->without);
  const double known = own ? own_known(&s->without, at.v) : (double)INFINITY,
               others = others_known(s, i, at.v), more = outer ? ENDS_READING : 1.0;
  if (known > OWN_USELESS) return stands_off(s, i, at, false, more * READING_ALONE, others);
  const bool end = past_ends(&s->without, at.v) > 0.0;
  return fmin(
      stands_off(s, i, at, true, end ? ENDS_READING * READING : READING, hypot(known, OWN_FLOOR)),
      stands_off(s, i, at, false, more * READING_OTHERS, others));
}

static void redraw(search *s, size_t i) {
  line_through(&s->line[i], s->per_flow, s->out[i], &s->drawn[i]);
  if (known_line(&s->drawn[i])) line_finish(&s->drawn[i]);
}

/* All points that are not out: how badly they stand off, taken together and at worst, and how many
 * of them are suspects. */
typedef struct {
  double sum, worst;
  size_t suspects;
} verdict;

static verdict all_misread(search *s, double suspect) {
  verdict all = {0.0, 0.0, 0};
  for (size_t i = 0; i < s->count; i++) {
    for (size_t j = 0; j < s->line[i].point_count; j++) {
      const double by = s->out[i][j] ? 0.0 : misread(s, i, j);
      all.sum += fmin(by, GROSS);
      all.worst = fmax(all.worst, by);
      all.suspects += by > suspect ? 1 : 0;
    }
  }
  return all;
}

/* Of the suspects the one that was misread: without it the rest agree best. */
static void find_culprit(search *s, double suspect, size_t *bad_i, size_t *bad_j) {
  double least = HUGE_VAL, most = 0.0;
  for (size_t i = 0; i < s->count; i++) {
    for (size_t j = 0; j < s->line[i].point_count; j++) {
      const double by = s->out[i][j] ? 0.0 : misread(s, i, j);
      if (!(by > suspect)) continue;
      s->out[i][j] = true;
      redraw(s, i);
      const double sum = all_misread(s, suspect).sum;
      s->out[i][j] = false;
      redraw(s, i);
      if (sum > least || (sum == least && !(by > most))) continue;
      least = sum;
      most = by;
      *bad_i = i;
      *bad_j = j;
    }
  }
}

/* Raise the misread points: all, but of a map that is nothing but misread the first few. */
static bool search_points(search *s, ta_diagnostics *list) {
  char key[KEY_SIZE];
  for (int found = 0; found < MISREAD_MAX; found++) {
    double suspect = SUSPECT;
    verdict all = all_misread(s, suspect);
    if (!(all.worst > 1.0)) return found == 0;
    while (all.suspects > SUSPECTS_MAX && 2.0 * suspect < all.worst)
      all = all_misread(s, suspect *= 2.0);
    size_t i = 0, j = 0;
    find_culprit(s, suspect, &i, &j);
    s->out[i][j] = true;
    redraw(s, i);
    const spot at = spot_of(s, i, j);
    const double log_rest =
        known_line(&s->drawn[i]) ? log(line_f(&s->drawn[i], at.v)) : others_log_f(s, i, at.v, at.q);
    ta_raise(list, TA_ERROR, row_key(key, i, j),
             "line %zu point %zu leaves its line: the rest puts it at %.3g times the line's speed",
             i + 1, j + 1, at.q * exp(log_rest) / s->line[i].corrected_rpm);
  }
  return false;
}

/* Does a line run from surge to choke at all? */
static bool runs_to_choke(const search *s, size_t i, ta_diagnostics *list) {
  char key[KEY_SIZE];
  for (size_t j = 0; j + 1 < s->line[i].point_count; j++)
    if (spot_of(s, i, j + 1).v > spot_of(s, i, j).v) return true;
  ta_raise(list, TA_ERROR, line_key(key, i),
           "line %zu runs from choke to surge; its points go from surge to choke", i + 1);
  return false;
}

/* Of two points that stand in the wrong order, the one that was misread: the one without which the
 * rest is in order, else the one that stands off, else the latter. */
static size_t out_of_order(search *s, size_t i, size_t j) {
  const bool without_first = j == 0 || spot_of(s, i, j - 1).v < spot_of(s, i, j + 1).v;
  const bool without_second =
      j + 2 == s->line[i].point_count || spot_of(s, i, j).v < spot_of(s, i, j + 2).v;
  if (without_first != without_second) return without_first ? j : j + 1;
  return misread(s, i, j) > fmax(SUSPECT, misread(s, i, j + 1)) ? j : j + 1;
}

/* Do a line's points stand in order, but for what reading noise does? */
static bool in_order(search *s, size_t i, ta_diagnostics *list) {
  char key[KEY_SIZE];
  if (s->drawn[i].g.n < 2) {
    ta_raise(list, TA_ERROR, line_key(key, i), "line %zu: all its points stand in one place",
             i + 1);
    return false;
  }
  for (size_t j = 0; j + 1 < s->line[i].point_count; j++) {
    const ta_map_point *p = &s->line[i].point[j];
    const spot a = spot_of(s, i, j), b = spot_of(s, i, j + 1);
    const double noise = READING * a.v * (1.0 - a.v) * hypot(1.0, a.per_ratio);
    if (b.v > a.v - noise && p[1].flow_kg_s > p[0].flow_kg_s * (1.0 - READING)) continue;
    const size_t bad = out_of_order(s, i, j);
    ta_raise(list, TA_ERROR, row_key(key, i, bad),
             "line %zu point %zu leaves its line: flow over head does not rise from surge to choke",
             i + 1, bad + 1);
    return false;
  }
  return true;
}

/* Two neighbours: the upper one lies outside the lower one, and so do its ends. */
static bool pair_sound(const search *s, size_t i, ta_diagnostics *list) {
  const drawn_line *low = &s->drawn[i], *high = &s->drawn[i + 1];
  char key[KEY_SIZE], also[KEY_SIZE];
  for (size_t side = 0; side < 2; side++) {
    const drawn_line *other = side == 0 ? high : low;
    for (size_t j = 0; j < s->line[i + side].point_count; j++) {
      const spot at = spot_of(s, i + side, j);
      const double q_other = other->rpm / line_f(other, at.v);
      if (side == 0 ? at.q < q_other : at.q > q_other) continue;
      ta_raise_relation(list, row_key(key, i + side, j), line_key(also, i + 1 - side),
                        "line %zu crosses line %zu at point %zu", i + side + 1, i + 2 - side,
                        j + 1);
      return false;
    }
  }
  const double low_v = low->v[0], high_v = high->v[0];
  const double low_y = low->rpm / low->g.z[0] * (1.0 - low_v) / low_v;
  const double high_y = high->rpm / high->g.z[0] * (1.0 - high_v) / high_v;
  if (!(high_y > low_y && high_y / (1.0 - high_v) > low_y / (1.0 - low_v))) {
    ta_raise_relation(list, row_key(key, i + 1, 0), row_key(also, i, 0),
                      "line %zu begins no higher than line %zu: the surge line must rise", i + 2,
                      i + 1);
    return false;
  }
  const size_t low_n = low->g.n - 1, high_n = high->g.n - 1;
  const double low_w = low->rpm / low->g.z[low_n], high_w = high->rpm / high->g.z[high_n];
  if (!(high_w > low_w && high_w / high->v[high_n] > low_w / low->v[low_n])) {
    ta_raise_relation(list, row_key(key, i + 1, s->line[i + 1].point_count - 1),
                      row_key(also, i, s->line[i].point_count - 1),
                      "line %zu ends at no more flow than line %zu: choke flow must rise", i + 2,
                      i + 1);
    return false;
  }
  return true;
}

/* What a point may stand off the surface in speed: what misreading flow or pressure ratio makes. */
static double allowed(const ta_map_point *p) {
  return READING_SMOOTHED * fmax(1.0, head_per_ratio(p->pressure_ratio));
}

/* The surface gives every point its line's speed back, and rises with pressure ratio there. */
static bool surface_sound(const ta_compressor_map *map, const ta_speed_line *line, size_t i,
                          ta_diagnostics *list) {
  char key[KEY_SIZE];
  for (size_t j = 0; j < line->point_count; j++) {
    const double flow = line->point[j].flow_kg_s, y = head_y(line->point[j].pressure_ratio);
    const ta_surface_view view = ta_surface_view_of(map);
    const double rpm = ta_surface_rpm(&view, flow, y);
    if (fabs(rpm / line->corrected_rpm - 1.0) <= allowed(&line->point[j]) &&
        ta_surface_rpm(&view, flow, 1.01 * y) >= rpm * (1.0 - NEVER_FALLS))
      continue;
    ta_raise(list, TA_ERROR, row_key(key, i, j),
             "line %zu point %zu leaves its line: the map reads %.0f rpm there, not %.0f", i + 1,
             j + 1, rpm, line->corrected_rpm);
    return false;
  }
  return true;
}

static void search_free(search *s) {
  for (size_t i = 0; i < s->count; i++) {
    if (s->drawn != NULL) free(s->drawn[i].memory);
    if (s->out != NULL) free(s->out[i]);
  }
  free(s->drawn);
  free(s->out);
  free(s->without.memory);
  free(s->scratch);
}

/* Like flow_scale, but no one misread point sways it. */
static double typical_scale(const ta_speed_line *line, size_t count) {
  double scale[3];
  for (size_t k = 0; k < 3; k++) {
    const ta_speed_line *of = &line[(count - 1) * k / 2];
    const size_t at = k == 1 && count == 2 ? 1 : of->point_count / 2;
    scale[k] = head_y(of->point[at].pressure_ratio) / of->point[at].flow_kg_s;
  }
  return fmax(fmin(scale[0], scale[1]), fmin(fmax(scale[0], scale[1]), scale[2]));
}

static ta_status search_make(const ta_speed_line *line, size_t count, search *s) {
  size_t longest = 0;
  *s = (search){.line = line, .count = count, .per_flow = typical_scale(line, count)};
  s->drawn = calloc(count, sizeof *s->drawn);
  s->out = calloc(count, sizeof *s->out);
  s->scratch = calloc(3 * count, sizeof *s->scratch);
  if (s->drawn == NULL || s->out == NULL || s->scratch == NULL) return TA_ERR_MEMORY;
  for (size_t i = 0; i < count; i++) {
    if (line[i].point_count > line[longest].point_count) longest = i;
    s->out[i] = calloc(line[i].point_count, sizeof *s->out[i]);
    if (s->out[i] == NULL || line_draw(&line[i], s->per_flow, &s->drawn[i]) != TA_OK)
      return TA_ERR_MEMORY;
  }
  return line_draw(&line[longest], s->per_flow, &s->without);
}

/* Shapes, once every number by itself is sound. */
static ta_status shapes_check(const ta_speed_line *line, size_t count, ta_diagnostics *list) {
  search s;
  ta_status status = search_make(line, count, &s);
  bool sound = true;
  for (size_t i = 0; i < count && status == TA_OK; i++)
    if (!runs_to_choke(&s, i, list)) sound = false;
  if (status == TA_OK && sound) {
    for (size_t i = 0; i < count; i++) redraw(&s, i);
    sound = search_points(&s, list);
    for (size_t i = 0; sound && i < count; i++)
      if (!in_order(&s, i, list)) sound = false;
    for (size_t i = 0; sound && i + 1 < count; i++)
      if (!pair_sound(&s, i, list)) sound = false;
  }
  search_free(&s);
  return status == TA_OK && !sound ? TA_ERR_INPUT : status;
}

/* All checks, and the surface they end in. */
static ta_status checked_surface(const ta_speed_line *line, size_t count, ta_diagnostics *list,
                                 ta_compressor_map **map) {
  if (line == NULL && count > 0) return TA_ERR_ARGUMENT;
  if (count < 2) {
    ta_raise(list, TA_ERROR, "lines", "%zu speed lines; a compressor map takes two or more", count);
    return TA_ERR_INPUT;
  }
  bool sound = true;
  char key[KEY_SIZE], also[KEY_SIZE];
  for (size_t i = 0; i < count; i++)
    if (!points_sound(&line[i], i, list)) sound = false;
  for (size_t i = 1; i < count; i++) {
    if (!(line[i].corrected_rpm <= line[i - 1].corrected_rpm)) continue;
    ta_raise_relation(list, line_key(key, i), line_key(also, i - 1),
                      "line %zu (%g rpm) is not faster than line %zu (%g rpm)", i + 1,
                      line[i].corrected_rpm, i, line[i - 1].corrected_rpm);
    sound = false;
  }
  if (!sound) return TA_ERR_INPUT;
  ta_status status = shapes_check(line, count, list);
  ta_compressor_map *made = NULL;
  if (status == TA_OK) {
    status = surface_make(line, count, &made);
    if (status == TA_ERR_INPUT)
      ta_raise(list, TA_ERROR, "lines", "the speed lines lie too close to be told apart");
  }
  for (size_t i = 0; i < count && status == TA_OK; i++)
    if (!surface_sound(made, &line[i], i, list)) status = TA_ERR_INPUT;
  if (status == TA_OK)
    *map = made;
  else
    free(made);
  return status;
}

const char *ta_zone_name(ta_zone zone) {
  static const char *const name[] = {
#define X(symbol, words) [symbol] = (words),
      TA_ZONE_ROWS(X)
#undef X
  };
  return (unsigned)zone < TA_ZONE_COUNT ? name[zone] : "?";
}

ta_status ta_speed_lines_check(const ta_speed_line *line, size_t count,
                               ta_diagnostics *diagnostics) {
  ta_compressor_map *map = NULL;
  const ta_status status = checked_surface(line, count, diagnostics, &map);
  ta_compressor_map_free(map);
  return status;
}

ta_status ta_compressor_map_create(const ta_speed_line *line, size_t count,
                                   ta_compressor_map **map) {
  if (line == NULL || map == NULL) return TA_ERR_ARGUMENT;
  return checked_surface(line, count, NULL, map);
}

void ta_compressor_map_free(ta_compressor_map *map) {
  free(map);
}

double ta_compressor_map_top_rpm(const ta_compressor_map *map) {
  return map->top_rpm;
}

double ta_compressor_map_surge_flow(const ta_compressor_map *map, double pressure_ratio) {
  const ta_surface_view view = ta_surface_view_of(map);
  return ta_surface_surge_w(&view, head_y(pressure_ratio)) / view.per_flow;
}

ta_status ta_compressor_map_at(const ta_compressor_map *map, double flow_kg_s,
                               double pressure_ratio, ta_map_reading *reading) {
  if (map == NULL || reading == NULL || !isfinite(flow_kg_s) || !isfinite(pressure_ratio))
    return TA_ERR_ARGUMENT;
  if (!(flow_kg_s > 0.0 && pressure_ratio > 1.0)) return TA_ERR_DOMAIN;
  const ta_surface_view view = ta_surface_view_of(map);
  const ta_surface_reading raw = ta_surface_at(&view, flow_kg_s, head_y(pressure_ratio));
  const ta_zone zone = ta_surface_zone(map, raw.corrected_rpm, raw.surge_to_choke);
  const bool named = zone != TA_UNREACHABLE;
  *reading = (ta_map_reading){
      .corrected_rpm = named ? raw.corrected_rpm : (double)INFINITY,
      .efficiency = raw.efficiency,
      .beyond_top_line = named ? raw.corrected_rpm / map->top_rpm - 1.0 : (double)INFINITY,
      .surge_to_choke = raw.surge_to_choke,
      .zone = zone,
  };
  return TA_OK;
}

ta_status ta_compressor_map_point(const ta_compressor_map *map, double surge_to_choke,
                                  double corrected_rpm, double *flow_kg_s, double *pressure_ratio) {
  enum { BISECTIONS = 60 };
  if (map == NULL || flow_kg_s == NULL || pressure_ratio == NULL) return TA_ERR_ARGUMENT;
  if (!(surge_to_choke >= 0.0 && surge_to_choke <= 1.0 && corrected_rpm > 0.0 &&
        corrected_rpm <= TA_UNREACHABLE_OVER_TOP * map->top_rpm))
    return TA_ERR_DOMAIN;
  const ta_surface_cell tau = ta_surface_cell_at(surge_to_choke * TA_SURFACE_TAU, TA_SURFACE_TAU);
  double low = 0.0, high = 2.0 * TA_SURFACE_Q / map->cells_per_q;
  for (int i = 0; i < BISECTIONS; i++) {
    const double q = 0.5 * (low + high);
    const ta_surface_cell at_q = ta_surface_cell_at(q * map->cells_per_q, TA_SURFACE_Q);
    *(q * ta_surface_value(map->rpm_per_q, tau, at_q) < corrected_rpm ? &low : &high) = q;
  }
  const double q = 0.5 * (low + high);
  const ta_surface_cell at_q = ta_surface_cell_at(q * map->cells_per_q, TA_SURFACE_Q);
  const double v =
      ta_surface_edge(map->surge_v, at_q) + surge_to_choke / ta_surface_edge(map->per_span_v, at_q);
  const double y = q * (1.0 - v);
  *flow_kg_s = q * v / map->per_flow;
  *pressure_ratio = pow(1.0 + y * y, TA_GAMMA / (TA_GAMMA - 1.0));
  return TA_OK;
}

ta_status ta_compressor_map_leave_one_out(const ta_speed_line *line, size_t count, double *rms) {
  if (line == NULL || rms == NULL) return TA_ERR_ARGUMENT;
  ta_status status = ta_speed_lines_check(line, count, NULL);
  if (status != TA_OK) return status;
  ta_speed_line *rest = malloc(count * sizeof *rest);
  double *found = malloc(count * sizeof *found);
  if (rest == NULL || found == NULL) status = TA_ERR_MEMORY;
  for (size_t i = 0; i < count && status == TA_OK; i++) {
    found[i] = -1.0;
    if (i == 0 || count < 3) continue;
    for (size_t k = 0, n = 0; k < count; k++)
      if (k != i) rest[n++] = line[k];
    ta_compressor_map *map = NULL;
    status = surface_make(rest, count - 1, &map);
    if (status != TA_OK) continue;
    double sum = 0.0;
    for (size_t j = 0; j < line[i].point_count; j++) {
      const ta_map_point *p = &line[i].point[j];
      const ta_surface_view view = ta_surface_view_of(map);
      const double rpm = ta_surface_rpm(&view, p->flow_kg_s, head_y(p->pressure_ratio));
      const double error = rpm / line[i].corrected_rpm - 1.0;
      sum += error * error;
    }
    found[i] = sqrt(sum / (double)line[i].point_count);
    ta_compressor_map_free(map);
  }
  for (size_t i = 0; i < count && status == TA_OK; i++) rms[i] = found[i];
  free(found);
  free(rest);
  return status;
}
