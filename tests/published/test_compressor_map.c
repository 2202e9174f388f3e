/* Compressor map: a measured one.
 *
 * Source  NASA High Efficiency Centrifugal Compressor (HECC) data archive, NASA Glenn Research
 *         Center, read-me of 2023-04-14, data on data.nasa.gov: vaneless diffuser, transition duct
 *         inlet, 12 mil exit clearance, 64 steady readings of 2022-04-18.  Corrected to 288.15 K
 * and 101.325 kPa by the archive itself (real gas, humid); pressure ratio total to total;
 *         isentropic efficiency.
 * Caution Each reading has its own corrected speed, within 0.07 % of the line's mean; the mean is
 *         taken as the line's speed and that scatter left in the points.
 * Bars    Measured maps: a line left out between two others 0.3 % rms in speed, the top line 0.8 %.
 */
#include "thinair/compressor_map.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "test.h"

static const struct {
  int percent; /* nominal corrected speed */
  double corrected_rpm;
  ta_map_point point; /* kg/s, total to total, isentropic */
} reading[] = {
    {75, 16327.4, {2.49958, 2.58579, 0.81546}},  {75, 16325.2, {2.61533, 2.60012, 0.82590}},
    {75, 16336.7, {2.72626, 2.61351, 0.83654}},  {75, 16318.7, {2.82658, 2.61171, 0.84449}},
    {75, 16337.4, {2.95210, 2.60885, 0.85000}},  {75, 16332.7, {3.06477, 2.59919, 0.85382}},
    {75, 16328.7, {3.17750, 2.58449, 0.85668}},  {75, 16320.9, {3.28521, 2.56551, 0.85840}},
    {75, 16334.2, {3.39824, 2.54861, 0.85858}},  {75, 16321.8, {3.51449, 2.52207, 0.85979}},
    {75, 16329.8, {3.63750, 2.49353, 0.85893}},  {75, 16332.8, {3.74585, 2.45666, 0.85252}},
    {75, 16318.1, {3.82095, 2.41847, 0.84353}},  {85, 18512.6, {3.17682, 3.28674, 0.82176}},
    {85, 18525.5, {3.30457, 3.29372, 0.82936}},  {85, 18502.2, {3.41162, 3.28517, 0.83660}},
    {85, 18504.3, {3.51864, 3.27475, 0.84202}},  {85, 18512.1, {3.63612, 3.26168, 0.84573}},
    {85, 18508.2, {3.73974, 3.23552, 0.84567}},  {85, 18509.6, {3.85544, 3.21502, 0.84660}},
    {85, 18515.7, {3.96140, 3.19879, 0.84803}},  {85, 18508.0, {4.08985, 3.17347, 0.84857}},
    {85, 18503.6, {4.19977, 3.14593, 0.84851}},  {85, 18500.9, {4.30396, 3.11597, 0.84807}},
    {85, 18516.7, {4.43099, 3.08127, 0.84660}},  {85, 18515.9, {4.58542, 3.01411, 0.84017}},
    {90, 19611.9, {3.61595, 3.71393, 0.82380}},  {90, 19608.4, {3.72592, 3.69869, 0.82765}},
    {90, 19620.7, {3.84244, 3.68723, 0.83249}},  {90, 19622.9, {3.95649, 3.67215, 0.83710}},
    {90, 19625.9, {4.07339, 3.65025, 0.83921}},  {90, 19624.2, {4.20056, 3.61483, 0.83930}},
    {90, 19599.1, {4.31158, 3.57763, 0.83857}},  {90, 19619.7, {4.42788, 3.56263, 0.83912}},
    {90, 19617.2, {4.54363, 3.52738, 0.83855}},  {90, 19617.4, {4.66098, 3.49611, 0.83896}},
    {90, 19609.6, {4.77512, 3.46141, 0.83852}},  {90, 19601.0, {4.91667, 3.39800, 0.83498}},
    {95, 20704.6, {3.86348, 4.20606, 0.81657}},  {95, 20702.4, {3.97935, 4.19415, 0.82099}},
    {95, 20701.2, {4.09374, 4.17110, 0.82462}},  {95, 20709.1, {4.21334, 4.15142, 0.82880}},
    {95, 20695.7, {4.29690, 4.13189, 0.83153}},  {95, 20701.2, {4.41146, 4.10423, 0.83358}},
    {95, 20686.7, {4.54172, 4.06030, 0.83384}},  {95, 20700.4, {4.64148, 4.03422, 0.83243}},
    {95, 20691.3, {4.77351, 3.98751, 0.82878}},  {95, 20684.2, {4.86144, 3.95803, 0.82857}},
    {95, 20695.8, {5.01011, 3.91775, 0.82992}},  {95, 20684.7, {5.08634, 3.88362, 0.83025}},
    {95, 20692.4, {5.20681, 3.84503, 0.82962}},  {95, 20695.7, {5.33280, 3.77086, 0.82348}},
    {100, 21803.9, {4.37690, 4.72489, 0.81589}}, {100, 21789.3, {4.52118, 4.68350, 0.81930}},
    {100, 21798.9, {4.64613, 4.65293, 0.82291}}, {100, 21789.8, {4.76045, 4.61537, 0.82499}},
    {100, 21793.6, {4.86933, 4.58843, 0.82705}}, {100, 21795.9, {4.99470, 4.53959, 0.82644}},
    {100, 21796.2, {5.09684, 4.49790, 0.82375}}, {100, 21809.0, {5.24102, 4.43021, 0.81706}},
    {100, 21795.7, {5.31161, 4.38440, 0.81486}}, {100, 21786.4, {5.46042, 4.32527, 0.81496}},
    {100, 21788.0, {5.57296, 4.24827, 0.81014}}, {100, 21799.2, {5.66424, 4.10212, 0.79821}},
};

enum { LINES = 5, POINTS_MAX = 20 };

typedef struct {
  ta_speed_line line[LINES];
  ta_map_point point[LINES][POINTS_MAX];
} sheet;

static void draw(sheet *s) {
  size_t i = 0, n = 0;
  double sum = 0.0;
  for (size_t k = 0; k < COUNT_OF(reading); k++) {
    s->point[i][n++] = reading[k].point;
    sum += reading[k].corrected_rpm;
    if (k + 1 < COUNT_OF(reading) && reading[k + 1].percent == reading[k].percent) continue;
    s->line[i] = (ta_speed_line){sum / (double)n, s->point[i], n};
    i++;
    n = 0;
    sum = 0.0;
  }
  assert_int_equal(i, LINES);
}

static void a_measured_map_is_accepted_and_read_back(void **state) {
  (void)state;
  sheet s;
  draw(&s);
  ta_diagnostics *list = calloc(1, sizeof *list);
  assert_non_null(list);
  assert_int_equal(ta_speed_lines_check(s.line, LINES, list), TA_OK);
  assert_int_equal(list->count, 0);
  free(list);
  ta_compressor_map *map = NULL;
  assert_int_equal(ta_compressor_map_create(s.line, LINES, &map), TA_OK);
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(reading); k++) {
    ta_map_reading r;
    assert_int_equal(
        ta_compressor_map_at(map, reading[k].point.flow_kg_s, reading[k].point.pressure_ratio, &r),
        TA_OK);
    bad += off_rel("own point", "speed", r.corrected_rpm, reading[k].corrected_rpm, 2e-3);
    bad += off("own point", "efficiency", r.efficiency, reading[k].point.efficiency, 1.5e-3);
  }
  ta_compressor_map_free(map);
  assert_int_equal(bad, 0);
}

static void a_measured_line_left_out_is_predicted(void **state) {
  (void)state;
  sheet s;
  draw(&s);
  double rms[LINES];
  assert_int_equal(ta_compressor_map_leave_one_out(s.line, LINES, rms), TA_OK);
  assert_true(rms[0] == -1.0);
  int bad = 0;
  for (size_t i = 1; i < LINES; i++) {
    ta_speed_line rest[LINES - 1];
    for (size_t k = 0, n = 0; k < LINES; k++)
      if (k != i) rest[n++] = s.line[k];
    ta_compressor_map *map = NULL;
    assert_int_equal(ta_compressor_map_create(rest, LINES - 1, &map), TA_OK);
    double sum = 0.0;
    for (size_t j = 0; j < s.line[i].point_count; j++) {
      ta_map_reading r;
      assert_int_equal(
          ta_compressor_map_at(map, s.point[i][j].flow_kg_s, s.point[i][j].pressure_ratio, &r),
          TA_OK);
      sum += pow(r.corrected_rpm / s.line[i].corrected_rpm - 1.0, 2.0);
    }
    ta_compressor_map_free(map);
    const double measured = sqrt(sum / (double)s.line[i].point_count);
    bad += off(i == LINES - 1 ? "top line" : "between", "rms", measured, 0.0,
               i == LINES - 1 ? 8e-3 : 3e-3);
    bad += off("reported", "rms", rms[i], measured, 1e-12);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_measured_map_is_accepted_and_read_back),
      cmocka_unit_test(a_measured_line_left_out_is_predicted),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
