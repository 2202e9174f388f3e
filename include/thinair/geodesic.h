/* geodesic.h - distances on the WGS 84 ellipsoid. */
#ifndef THINAIR_GEODESIC_H
#define THINAIR_GEODESIC_H

/** Distance [m] along the ellipsoid between two places [deg]. */
double ta_geodesic_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                            double longitude2_deg);

#endif
