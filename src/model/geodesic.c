/* geodesic.c - distance along the ellipsoid.
 *
 * Model     The straight chord between the two places, bent onto the circle that fits the ellipsoid
 *           in the middle between them: its radius is the ellipsoid's radius of curvature at
 *           mid-latitude, in the direction of the chord (Euler's theorem, 1/R = cos^2/M + sin^2/N).
 *           The chord knows neither date line nor pole, so there are no special cases.
 * Source    WGS 84 axes: NIMA TR8350.2.  M, N and Euler's theorem: any text on the ellipsoid.
 * Limits    Meant for legs of a road.  Accuracy over the length of a leg is in the header.
 */
#include "thinair/geodesic.h"

#include <math.h>

static const double SEMI_MAJOR_M = 6378137.0, FLATTENING = 1.0 / 298.257223563;
static const double RAD_PER_DEG = 3.14159265358979323846 / 180.0;

static double square(double x) {
  return x * x;
}

double ta_geodesic_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                            double longitude2_deg) {
  const double e2 = FLATTENING * (2.0 - FLATTENING); /* eccentricity squared */
  const double phi1 = latitude1_deg * RAD_PER_DEG, phi2 = latitude2_deg * RAD_PER_DEG;
  const double half_turn = sin(0.5 * (longitude2_deg - longitude1_deg) * RAD_PER_DEG);
  const double sin1 = sin(phi1), sin2 = sin(phi2), cos1 = cos(phi1), cos2 = cos(phi2);
  const double n1 = SEMI_MAJOR_M / sqrt(1.0 - e2 * square(sin1)), /* prime vertical */
      n2 = SEMI_MAJOR_M / sqrt(1.0 - e2 * square(sin2));

  /* p from the axis, z along it */
  const double p1 = n1 * cos1, p2 = n2 * cos2, dz = (1.0 - e2) * (n2 * sin2 - n1 * sin1);
  const double chord = sqrt(square(p2 - p1) + 4.0 * p1 * p2 * square(half_turn) + square(dz));
  if (chord == 0.0) return 0.0;

  /* the normals' mean points along the normal in the middle; it vanishes between antipodes */
  const double mean =
      sqrt(square(sin1 + sin2) + square(cos1 + cos2) - 4.0 * cos1 * cos2 * square(half_turn));
  const double sin_middle = mean > 0.0 ? (sin1 + sin2) / mean : 0.0;
  const double n = SEMI_MAJOR_M / sqrt(1.0 - e2 * square(sin_middle));
  /* Euler's theorem with N/M = 1 + e2/(1 - e2) cos^2 phi: dz/chord is cos phi times the cosine of
   * the azimuth */
  const double radius = n / (1.0 + e2 / (1.0 - e2) * square(dz / chord));
  return 2.0 * radius * asin(fmin(0.5 * chord / radius, 1.0));
}
