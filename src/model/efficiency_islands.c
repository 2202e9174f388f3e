/* efficiency_islands.c - efficiency between printed islands.
 *
 * Model     Thin-plate spline f(x) = sum w_i phi(|x - x_i|) + a0 + a1 x + a2 z, phi(r) = r^2 ln r,
 *           that bends least among those that miss the known values by no more than reading them
 *           off a plot does: (K + n lambda I) w + P a = y, P' w = 0.
 * Source    Wahba, Spline Models for Observational Data, SIAM 1990, section 2.4.
 * Limits    Past the outermost known place it goes on as a plane; the caller bounds it.
 */
#include "efficiency_islands.h"

#include <gsl/gsl_linalg.h>
#include <math.h>

enum { PLANE = 3, KNOWN_MIN = 6, KNOWN_MAX = 600 };
static const double SMOOTHING =
    1e-5; /* n lambda per known place; of tests/model/test_printed_map.c */

static double bend(double dx, double dz) {
  const double r2 = dx * dx + dz * dz;
  return r2 > 0.0 ? 0.5 * r2 * log(r2) : 0.0;
}

ta_status ta_efficiency_between(const ta_known_efficiency *known, size_t known_count,
                                ta_known_efficiency *place, size_t place_count) {
  if (known == NULL || place == NULL) return TA_ERR_ARGUMENT;
  if (known_count < KNOWN_MIN) return TA_ERR_DOMAIN;
  /* a dense tracing says no more than every second or third point of it */
  const size_t stride = (known_count + KNOWN_MAX - 1) / KNOWN_MAX, n = known_count / stride;
  ta_status status = TA_ERR_MEMORY;
  gsl_matrix *matrix = gsl_matrix_calloc(n + PLANE, n + PLANE);
  gsl_vector *right = gsl_vector_calloc(n + PLANE), *weight = gsl_vector_alloc(n + PLANE);
  gsl_permutation *order = gsl_permutation_alloc(n + PLANE);
  if (matrix == NULL || right == NULL || weight == NULL || order == NULL) goto done;
  for (size_t i = 0; i < n; i++) {
    const ta_known_efficiency *a = &known[i * stride];
    const double plane[PLANE] = {1.0, a->along, a->up};
    for (size_t k = 0; k < n; k++)
      gsl_matrix_set(matrix, i, k,
                     bend(a->along - known[k * stride].along, a->up - known[k * stride].up));
    gsl_matrix_set(matrix, i, i, SMOOTHING * (double)n);
    for (size_t k = 0; k < PLANE; k++) {
      gsl_matrix_set(matrix, i, n + k, plane[k]);
      gsl_matrix_set(matrix, n + k, i, plane[k]);
    }
    gsl_vector_set(right, i, a->efficiency);
  }
  int sign;
  status = TA_ERR_DOMAIN;
  if (gsl_linalg_LU_decomp(matrix, order, &sign) != GSL_SUCCESS ||
      gsl_linalg_LU_solve(matrix, order, right, weight) != GSL_SUCCESS)
    goto done;
  for (size_t k = 0; k < n + PLANE; k++)
    if (!isfinite(gsl_vector_get(weight, k))) goto done;
  for (size_t k = 0; k < place_count; k++) {
    double f = gsl_vector_get(weight, n) + gsl_vector_get(weight, n + 1) * place[k].along +
               gsl_vector_get(weight, n + 2) * place[k].up;
    for (size_t i = 0; i < n; i++)
      f += gsl_vector_get(weight, i) *
           bend(place[k].along - known[i * stride].along, place[k].up - known[i * stride].up);
    place[k].efficiency = f;
  }
  status = TA_OK;
done:
  gsl_permutation_free(order);
  if (weight != NULL) gsl_vector_free(weight);
  if (right != NULL) gsl_vector_free(right);
  if (matrix != NULL) gsl_matrix_free(matrix);
  return status;
}
