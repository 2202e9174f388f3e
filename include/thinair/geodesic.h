/* geodesic.h - distances on the WGS 84 ellipsoid. */
#ifndef THINAIR_GEODESIC_H
#define THINAIR_GEODESIC_H

/**
 * Distance [m] along the ellipsoid between two places.  Longitudes may differ by a whole turn.
 *
 * @param[in] latitude1_deg, latitude2_deg  -90 to 90.  NaN in, NaN out.
 *
 * Accuracy  Rounding of some 4e-9 m up to 10 km; relative 3e-12 at 100 km, 2e-10 at 300 km, 3e-8 at
 *           1000 km, 5e-7 at 2000 km, 2e-5 at 5000 km, of no use near antipodes (PROJ's geodesic in
 *           tests/model/test_geodesic.c).
 */
double ta_geodesic_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                            double longitude2_deg);

#endif
