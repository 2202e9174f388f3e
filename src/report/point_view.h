/* point_view.h - an operating point with what a reader wants beside it, and its columns. */
#ifndef THINAIR_REPORT_POINT_VIEW_H
#define THINAIR_REPORT_POINT_VIEW_H

#include "table.h"
#include "thinair/drive.h"
#include "thinair/operating_point.h"
#include "thinair/prepare.h"

typedef struct {
  ta_operating_point point;
  double density_altitude_m, boost_pa, tip_speed_ms; /* not finite: not known */
  double rated_rpm, limit_rpm, shaft_over_limit, shaft_over_rated;
  double cap_map_pa, cap_boost_pa, restrictor_share;
  const char *cap_limited_by, *cap_limited_by_words; /* NULL: no MAP reaches the limit */
  bool has_drive;
  ta_drive drive;
  double driven_map_pa; /* highest MAP that the turbine holds here */
  const char *driven;   /* "yes", "no", and whether that is an estimate */
} ta_point_view;

/** at_cap: the point at its cap; NULL: no MAP reaches the limit, the cap stays unknown. */
ta_point_view ta_point_view_of(const ta_prepared *prepared, const ta_operating_point *point,
                               const ta_operating_point *at_cap);

/** The point solved at the MAP where the shaft reaches its limit, at the same air and engine speed.
 *  @return NULL when no MAP reaches it. */
const ta_operating_point *ta_point_at_cap(const ta_prepared *prepared,
                                          const ta_operating_point *point,
                                          ta_operating_point *at_cap);

/** The groups of keys of a point, inside the object that is open. */
void ta_point_json(ta_json *json, const ta_point_view *view);

/** Density altitude [m, geometric]; not finite where it is outside the standard day. */
double ta_density_altitude_of(const ta_air *air);

#endif
