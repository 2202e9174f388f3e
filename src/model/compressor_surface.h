/* compressor_surface.h - the compressor map as one dense, smooth surface, and how it is read.
 *
 * Coordinates  w = Wc / flow_scale and y = sqrt(PR^(2/7) - 1); both are proportional to speed along
 *              the fan law.  q = y + w says how far up the map, v = w/q where between surge and
 *              choke: diagonals q = const cross the map much as speed lines do, so both the surge
 *              line and the lines' ends are functions of q, even where the lines fall vertically
 *              to one pressure ratio, or the surge line stands upright.
 *              tau = (v - v_surge(q)) / (v_choke(q) - v_surge(q)).
 * Surface      Nc/q and efficiency over (tau, q), uniform quadratic B-splines: slope continuous.
 * Edges        Left of surge the point moves right to the surge line at the same y; right of choke
 *              it moves up to the lines' ends at the same flow.  Below and above the grid the fan
 *              law holds (the clamped index), so every reading is finite and rises with y.
 * Loops        No branch, no allocation, selects and plain arrays: gcc vectorises a loop over
 *              lanes, and the bits do not depend on the lane.
 */
#ifndef THINAIR_COMPRESSOR_SURFACE_H
#define THINAIR_COMPRESSOR_SURFACE_H

#include "thinair/compressor_map.h"

enum {
  TA_SURFACE_TAU = 48, /* cells from surge to choke */
  TA_SURFACE_Q = 96    /* cells up the map; also of the two edges */
};

struct ta_compressor_map {
  double per_flow;    /* w = per_flow * Wc [s/kg] */
  double cells_per_q; /* of y and w too */
  double top_rpm, low_rpm;
  /* B-spline coefficients; the entry k belongs to the middle of cell k - 1. */
  double surge_v[TA_SURFACE_Q + 2];                            /* v on the surge line, over q */
  double per_span_v[TA_SURFACE_Q + 2];                         /* 1/(v_choke - v_surge), over q */
  double surge_w_per_y[TA_SURFACE_Q + 2];                      /* w/y on the surge line, over y */
  double choke_y_per_w[TA_SURFACE_Q + 2];                      /* y/w at the lines' ends, over w */
  double rpm_per_q[(TA_SURFACE_TAU + 2) * (TA_SURFACE_Q + 2)]; /* Nc/q [tau][q] */
  double efficiency[(TA_SURFACE_TAU + 2) * (TA_SURFACE_Q + 2)];
};

/** Speed above which no reading is named, over the top line's. */
#define TA_UNREACHABLE_OVER_TOP 1.25

/** Where a reading falls among the cells: first coefficient and the three weights. */
typedef struct {
  int first;
  double a, b, c;
} ta_surface_cell;

static inline ta_surface_cell ta_surface_cell_at(double cells, double count) {
  /* Written so that NaN falls on the first cell; the last cell holds its own upper end. */
  const double most = count * (1.0 - 1e-15);
  double x = cells > 0.0 ? cells : 0.0;
  x = x < most ? x : most;
  const int whole = (int)x;
  const double f = x - (double)whole, g = 1.0 - f;
  return (ta_surface_cell){whole, 0.5 * g * g, 0.5 + f * g, 0.5 * f * f};
}

static inline double ta_surface_along(const double *coefficient, int first, ta_surface_cell q) {
  return q.a * coefficient[first] + q.b * coefficient[first + 1] + q.c * coefficient[first + 2];
}

static inline double ta_surface_edge(const double *coefficient, ta_surface_cell q) {
  return ta_surface_along(coefficient, q.first, q);
}

static inline double ta_surface_value(const double *coefficient, ta_surface_cell tau,
                                      ta_surface_cell q) {
  enum { STRIDE = TA_SURFACE_Q + 2, TWO_ROWS = 2 * STRIDE };
  const int first = tau.first * STRIDE + q.first;
  return tau.a * ta_surface_along(coefficient, first, q) +
         tau.b * ta_surface_along(coefficient + STRIDE, first, q) +
         tau.c * ta_surface_along(coefficient + TWO_ROWS, first, q);
}

/** The surface as a loop reads it: gcc gathers from plain pointers, not from arrays in a struct. */
typedef struct {
  double per_flow, cells_per_q;
  const double *surge_v, *per_span_v, *surge_w_per_y, *choke_y_per_w, *rpm_per_q, *efficiency;
} ta_surface_view;

static inline ta_surface_view ta_surface_view_of(const struct ta_compressor_map *m) {
  return (ta_surface_view){m->per_flow,      m->cells_per_q,   m->surge_v,   m->per_span_v,
                           m->surge_w_per_y, m->choke_y_per_w, m->rpm_per_q, m->efficiency};
}

/** A point moved onto the map. */
typedef struct {
  double surge_to_choke; /* of the point itself: below 0 in surge, above 1 in choke */
  double q;              /* after the move, as all below */
  double recovered;      /* y^2 of the point over y^2 after the move: below 1 in choke */
  ta_surface_cell tau_cell, q_cell;
} ta_surface_place;

/** Where the surge line stands at a head: w. */
static inline double ta_surface_surge_w(const ta_surface_view *m, double y) {
  return y *
         ta_surface_edge(m->surge_w_per_y, ta_surface_cell_at(y * m->cells_per_q, TA_SURFACE_Q));
}

static inline ta_surface_place ta_surface_locate(const ta_surface_view *m, double flow_kg_s,
                                                 double y) {
  const double w = m->per_flow * flow_kg_s, q = y + w;
  const ta_surface_cell at_q = ta_surface_cell_at(q * m->cells_per_q, TA_SURFACE_Q);
  const double tau =
      (w / q - ta_surface_edge(m->surge_v, at_q)) * ta_surface_edge(m->per_span_v, at_q);

  const double surge_w = ta_surface_surge_w(m, y);
  const double on_w = w > surge_w ? w : surge_w;
  const ta_surface_cell at_w = ta_surface_cell_at(w * m->cells_per_q, TA_SURFACE_Q);
  const double choke_y = w * ta_surface_edge(m->choke_y_per_w, at_w);
  const double on_y = y > choke_y ? y : choke_y;
  const double ratio = y / on_y, on_q = on_y + on_w;
  return (ta_surface_place){
      .surge_to_choke = tau,
      .q = on_q,
      .recovered = ratio * ratio,
      .tau_cell = ta_surface_cell_at(tau * TA_SURFACE_TAU, TA_SURFACE_TAU),
      .q_cell = ta_surface_cell_at(on_q * m->cells_per_q, TA_SURFACE_Q),
  };
}

/** What the surface says; raw: finite beyond TA_UNREACHABLE_OVER_TOP too. */
typedef struct {
  double corrected_rpm;
  double efficiency;     /* such that T2/T1 - 1 = y^2 / efficiency */
  double surge_to_choke; /* not clamped: below 0 in surge, above 1 in choke */
} ta_surface_reading;

/**
 * Read the surface at a map point.
 * @param[in] flow_kg_s  Corrected flow, above 0.
 * @param[in] y          sqrt(PR^((gamma - 1)/gamma) - 1), above 0.
 */
static inline ta_surface_reading ta_surface_at(const ta_surface_view *m, double flow_kg_s,
                                               double y) {
  const ta_surface_place p = ta_surface_locate(m, flow_kg_s, y);
  return (ta_surface_reading){
      .corrected_rpm = p.q * ta_surface_value(m->rpm_per_q, p.tau_cell, p.q_cell),
      .efficiency = p.recovered * ta_surface_value(m->efficiency, p.tau_cell, p.q_cell),
      .surge_to_choke = p.surge_to_choke,
  };
}

/** The efficiency alone, for the passes of a solve; the same bits as ta_surface_at. */
static inline double ta_surface_efficiency(const ta_surface_view *m, double flow_kg_s, double y) {
  const ta_surface_place p = ta_surface_locate(m, flow_kg_s, y);
  return p.recovered * ta_surface_value(m->efficiency, p.tau_cell, p.q_cell);
}

/** The speed alone; the same bits as ta_surface_at. */
static inline double ta_surface_rpm(const ta_surface_view *m, double flow_kg_s, double y) {
  const ta_surface_place p = ta_surface_locate(m, flow_kg_s, y);
  return p.q * ta_surface_value(m->rpm_per_q, p.tau_cell, p.q_cell);
}

/** Zone of a reading.  A hair is allowed, so that the lines' own points are on the map. */
static inline ta_zone ta_surface_zone(const struct ta_compressor_map *m, double corrected_rpm,
                                      double surge_to_choke) {
  const double hair = 1e-4;
  if (!(corrected_rpm <= TA_UNREACHABLE_OVER_TOP * m->top_rpm)) return TA_UNREACHABLE;
  if (surge_to_choke < -hair) return TA_SURGE;
  if (surge_to_choke > 1.0 + hair) return TA_CHOKE;
  if (corrected_rpm > (1.0 + hair) * m->top_rpm) return TA_EXTRAPOLATED;
  return corrected_rpm < (1.0 - hair) * m->low_rpm ? TA_BELOW : TA_MAPPED;
}

#endif
