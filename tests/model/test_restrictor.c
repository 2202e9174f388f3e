/* test_restrictor.c - the throat of an inlet restrictor against tables of gas dynamics.
 *
 * Source     NACA Report 1135, Equations, Tables, and Charts for Compressible Flow, 1953, table I
 *            (subsonic flow, gamma 1.4): M, p/pt, A/A*; to 4 digits, from memory.
 * Tolerance  Half a unit of the last digit printed of p/pt, and what half a unit of A/A* makes of
 *            p/pt; near M = 1 that is more, for A/A* is flat there. */
#include "model/restrictor.h"

#include "test.h"

/* p/pt at a Mach number, and the share of the choked flow: gamma 1.4 written out as powers. */
static double ratio_at(double mach) {
  return pow(1.0 + 0.2 * mach * mach, -3.5);
}

static double share_at(double mach) {
  return mach * pow((1.0 + 0.2 * mach * mach) / 1.2, -3.0);
}

static void throats_agree_with_the_printed_table(void **state) {
  (void)state;
  static const struct {
    const char *row;
    double mach, pressure, area; /* p/pt, A/A* */
  } printed[] = {
      {"M 0.10", 0.10, 0.9930, 5.8218}, {"M 0.20", 0.20, 0.9725, 2.9635},
      {"M 0.30", 0.30, 0.9395, 2.0351}, {"M 0.40", 0.40, 0.8956, 1.5901},
      {"M 0.50", 0.50, 0.8430, 1.3398}, {"M 0.60", 0.60, 0.7840, 1.1882},
      {"M 0.70", 0.70, 0.7209, 1.0944}, {"M 0.80", 0.80, 0.6560, 1.0382},
      {"M 0.90", 0.90, 0.5913, 1.0089}, {"M 1.00", 1.00, 0.5283, 1.0000},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(printed); i++) {
    /* the flow through a throat of area A is A* over A of what would choke it */
    const double share = 1.0 / printed[i].area;
    const double low = ta_restrictor_throat_ratio(fmin(1.0 / (printed[i].area - 0.00005), 1.0)),
                 high = ta_restrictor_throat_ratio(1.0 / (printed[i].area + 0.00005));
    bad += off(printed[i].row, "p/pt", ta_restrictor_throat_ratio(share), printed[i].pressure,
               0.00005 + (printed[i].mach < 1.0 ? high - low : 0.0));
    bad += off(printed[i].row, "p/pt of the formula", ratio_at(printed[i].mach),
               printed[i].pressure, 0.00005);
    bad += off_rel(printed[i].row, "share of the formula", share_at(printed[i].mach), share, 5e-5);
  }
  assert_int_equal(bad, 0);
}

/* From Mach number to share and back, to what the inversion near M = 1 leaves of the digits. */
static void every_mach_number_is_found_again(void **state) {
  (void)state;
  int bad = 0;
  for (int i = 1; i < 2000; i++) {
    const double mach = i / 2000.0, share = share_at(mach);
    bad += off_rel("throat", "p/pt", ta_restrictor_throat_ratio(share), ratio_at(mach),
                   1e-15 + 1e-15 / (1.0 - mach));
  }
  for (double below = 1e-3; below > 1e-13; below *= 0.1) /* M = 1 - below */
    bad += off_rel("next to choke", "p/pt", ta_restrictor_throat_ratio(share_at(1.0 - below)),
                   ratio_at(1.0 - below), 1e-7); /* the root of what a double holds */
  assert_int_equal(bad, 0);
}

static void pressure_falls_with_flow(void **state) {
  (void)state;
  double before = 1.0;
  assert_true(ta_restrictor_throat_ratio(0.0) == 1.0);
  for (int i = 1; i <= 4000; i++) {
    const double ratio = ta_restrictor_throat_ratio(i / 4000.0);
    assert_true(ratio < before && ratio > 0.528);
    before = ratio;
  }
  /* (2/(gamma + 1))^(gamma/(gamma - 1)), 0.5283 in every text; beyond it stays */
  const double choked = pow(2.0 / 2.4, 3.5);
  int bad = off_rel("choked", "p/pt", ta_restrictor_throat_ratio(1.0), choked, 1e-12);
  bad += off_rel("more than choked", "p/pt", ta_restrictor_throat_ratio(1.73), choked, 1e-12);
  /* a little flow takes half rho v2, as Bernoulli has it: p0 - p = (W/A)^2 R T/(2 p0) */
  const double share = 1e-3, flow = 0.68473 * share; /* of A p0/sqrt(R T0) */
  bad += off_rel("little", "1 - p/pt", 1.0 - ta_restrictor_throat_ratio(share), 0.5 * flow * flow,
                 2e-5);
  assert_int_equal(bad, 0);
}

/* 0.6847 A p0/sqrt(R T0), the constant sqrt(1.4) (5/6)^3 = 0.684731; worked to 30 digits:
 *   34 mm, 101 325 Pa, 288.15 K, R 287.05287: A 9.0792028e-4 m2, 0.219 025 3 kg/s
 *   20 mm, 84 310 Pa, 301.4 K, the same R:    A 3.1415927e-4 m2, 0.061 659 0 kg/s */
static void throats_choke_at_the_flow_of_the_books(void **state) {
  (void)state;
  static const struct {
    const char *row;
    ta_restrictor restrictor;
    double pressure_pa, temperature_k, area_m2, flow_kg_s;
  } rows[] = {
      {"34 mm",
       {0.034, 1.0, 0.85},
       101325.0,
       288.15,
       0.000907920276887450246,
       0.219025332808801372},
      {"20 mm", {0.020, 1.0, 0.85}, 84310.0, 301.4, 0.000314159265358979324, 0.061659027551512467},
      {"two of 20 mm",
       {0.020, 2.0, 0.85},
       84310.0,
       301.4,
       2 * 0.000314159265358979324,
       2 * 0.061659027551512467},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const double area = ta_restrictor_throat_area(&rows[i].restrictor);
    bad += off_rel(rows[i].row, "area", area, rows[i].area_m2, 1e-14);
    bad += off_rel(
        rows[i].row, "flow",
        ta_restrictor_choked_flow(area, rows[i].pressure_pa, 287.05287, rows[i].temperature_k),
        rows[i].flow_kg_s, 1e-14);
    bad += off_rel(
        rows[i].row, "by the book's constant", rows[i].flow_kg_s,
        0.6847 * rows[i].area_m2 * rows[i].pressure_pa / sqrt(287.05287 * rows[i].temperature_k),
        0.00005 / 0.6847);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(throats_agree_with_the_printed_table),
      cmocka_unit_test(every_mach_number_is_found_again),
      cmocka_unit_test(pressure_falls_with_flow),
      cmocka_unit_test(throats_choke_at_the_flow_of_the_books),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
