/* test_worked_examples.c - textbook and examination examples, through the public interface.
 *
 * Each row names its source, and whether the printed answer was read from a page or is from memory.
 * The car of an example has no drops, and a compressor whose efficiency is the same everywhere. */
#include <gsl/gsl_errno.h>

#include "../invented_car.h"
#include "thinair/operating_point.h"

/* A car with nothing in the way: no drops, no rise, one volumetric efficiency, no correction. */
static void bare(invented *it, double efficiency) {
  invented_make(it);
  ta_car *car = &it->event.car;
  car->engine.ve_count = 1;
  car->intake.drop.drop_pa = 0.0;
  car->intake.temperature_rise_k = 0.0;
  car->charge_cooler =
      (ta_charge_cooler){.effectiveness = 0.0, .drop = {0.0, 1.0, 101325.0, 288.15}};
  car->turbo.thin_air.off = 1;
  for (size_t i = 0; i < INVENTED_LINES; i++)
    for (size_t j = 0; j < INVENTED_POINTS; j++) it->point[i][j].efficiency = efficiency;
}

static ta_air dry(double pressure_pa, double temperature_k) {
  return (ta_air){.pressure_pa = pressure_pa,
                  .temperature_k = temperature_k,
                  .gas_constant_jkgk = TA_R_DRY_JKGK,
                  .density_kgm3 = pressure_pa / (TA_R_DRY_JKGK * temperature_k)};
}

static ta_operating_point solve(const invented *it, const ta_air *air, double rpm, double map_pa) {
  ta_compressor_map *map = invented_map(it);
  ta_operating_point point;
  assert_int_equal(ta_point_solve(&it->event.car, map, air, rpm, map_pa, &point), TA_OK);
  ta_compressor_map_free(map);
  return point;
}

/* Compressor outlet temperature from pressure ratio and isentropic efficiency. */
static const struct {
  const char *source;
  double t1_k, pressure_ratio, efficiency, t2_k, tolerance_k;
} outlets[] = {
    /* printed 373.3 K, answers from 371 to 376 taken; read from a page */
    {"supercharger problem attributed to Sahay", 300.0, 1.8, 0.75, 373.3, 0.2},
    /* from memory: 350.7 K, of an isentropic temperature rounded to 335 K */
    {"Eastop & McConkey, Applied Thermodynamics, supercharging", 288.0, 1.7, 0.75, 350.7, 0.2},
    /* printed 366.7 K; the book rounds the isentropic temperature up by 0.9 K, to 350 K */
    {"Mathur & Sharma, Internal Combustion Engines, ex. 17.1", 300.0, 1.7, 0.75, 366.7, 1.3},
    /* inputs read from a file, answer worked from them: 475 m/s x 422.5 m/s of work, 298 K +
     * 199.7 K, at 80 % a pressure ratio of 4.492 */
    {"Gorla & Khan, Turbomachinery, ex. 4.1", 298.0, 4.492494, 0.80, 298.0 + 200703.03 / 1005.0,
     0.3},
    /* from memory: 193 K of rise, pressure ratio 4.23 */
    {"Saravanamuttoo et al., Gas Turbine Theory, ex. 4.1", 295.0, 4.23, 0.78, 295.0 + 193.0, 0.4},
    /* read from a page: 25 to 200 degC over a pressure ratio of 4; printed 0.83, which is 0.828 */
    {"homework problem with given answers, 4 kg/s", 298.15, 4.0, 0.83, 473.15, 0.5},
    /* from memory: 569.5 K with variable specific heats; constant ones give 574.1 K */
    {"Cengel & Boles, Thermodynamics, ex. 7-14", 285.15, 8.0, 0.80, 569.5, 5.7},
};

static void outlet_temperature(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(outlets); i++) {
    invented it;
    bare(&it, outlets[i].efficiency);
    const ta_air air = dry(99.7e3, outlets[i].t1_k);
    /* small, so that the point is on the map, wherever the pressure ratio lies */
    it.event.car.engine.displacement_m3 = 1.2e-3;
    const ta_operating_point point =
        solve(&it, &air, 6000.0, outlets[i].pressure_ratio * air.pressure_pa);
    assert_true(point.zone != TA_CHOKE);
    bad += off_rel(outlets[i].source, "PR", point.pressure_ratio, outlets[i].pressure_ratio, 1e-12);
    bad += off(outlets[i].source, "T2", point.outlet_temperature_k, outlets[i].t2_k,
               outlets[i].tolerance_k);
  }
  assert_int_equal(bad, 0);
}

/* Engine air flow.  Charge cooled all the way, so the plenum stands at the temperature given. */
static double engine_flow(double displacement_m3, int cycle, double rpm, double ve, double map_pa,
                          double plenum_k) {
  invented it;
  bare(&it, 0.74);
  ta_car *car = &it.event.car;
  car->engine.displacement_m3 = displacement_m3;
  car->engine.cycle = cycle;
  it.ve[0].ve = ve;
  car->charge_cooler.effectiveness = 1.0;
  car->charge_cooler.has_coolant = true;
  car->charge_cooler.coolant_k = plenum_k;
  const ta_air air = dry(map_pa * (1.0 - 1e-9), 288.15); /* as good as unblown */
  return solve(&it, &air, rpm, map_pa).air_flow_kg_s;
}

static void engine_air_flow(void **state) {
  (void)state;
  const double pi = acos(-1.0), r = TA_R_DRY_JKGK;
  int bad = 0;
  /* Problem attributed to Sahay, read from a page: 3.0 l four-stroke, 2 000 rpm, 183.6 kg/h at
   * 1.20 kg/m3; printed 85 %. */
  bad +=
      off_rel("Sahay, 85 %", "kg/h",
              3600.0 * engine_flow(3.0e-3, TA_FOUR_STROKE, 2000.0, 0.85, 1.20 * r * 294.0, 294.0),
              183.6, 1e-9);
  /* Textbook problem, read from a page: four cylinders of 80 by 90 mm, 4 000 rpm, 80 %; printed
   * 0.0482 m3/s. */
  const double density = 98e3 / (r * 301.0);
  bad += off(
      "0.0482 m3/s", "flow",
      engine_flow(4.0 * pi / 4.0 * 0.08 * 0.08 * 0.09, TA_FOUR_STROKE, 4000.0, 0.80, 98e3, 301.0) /
          density,
      0.0482, 0.00006);
  /* Super Charging ex. 18.1, read from a page: six cylinders of 90 by 100 mm, 2 500 rpm, 75 %,
   * 1.6 kgf/cm2 (98 066.5 Pa each) and 333 K in the manifold; printed 5.871 kg/min, with pi 3.14
   * and R 29.27 kgf m/(kg K). */
  bad += off_rel("Super Charging 18.1", "kg/min",
                 60.0 * engine_flow(6.0 * pi / 4.0 * 0.09 * 0.09 * 0.1, TA_FOUR_STROKE, 2500.0,
                                    0.75, 1.6 * 98066.5, 333.0),
                 5.871, 1e-3);
  /* Eastop & McConkey, from memory: 3 l, 3 500 rpm sweeps 5.25 m3/min, 4.2 m3/min drawn at 80 %. */
  bad += off_rel("Eastop, unblown", "m3/min",
                 60.0 * engine_flow(3.0e-3, TA_FOUR_STROKE, 3500.0, 0.80, 101.3e3, 288.0) /
                     (101.3e3 / (r * 288.0)),
                 4.2, 1e-9);
  assert_int_equal(bad, 0);
}

/* Eastop & McConkey, from memory: the same engine blown at 1.7 without charge cooling, all the
 * swept volume filled at the blower's delivery; 0.149 kg/s, 7.31 m3/min of free air. */
static void supercharged_flow(void **state) {
  (void)state;
  invented it;
  bare(&it, 0.75);
  it.event.car.engine.displacement_m3 = 3.0e-3;
  it.ve[0].ve = 1.0;
  const ta_air air = dry(101.3e3, 288.0);
  const ta_operating_point point = solve(&it, &air, 3500.0, 1.7 * 101.3e3);
  int bad = off_rel("Eastop, blown", "W", point.air_flow_kg_s, 0.149, 0.006);
  bad += off_rel("Eastop, blown", "free air", 60.0 * point.air_flow_kg_s / air.density_kgm3, 7.31,
                 0.006);
  /* the blower's work, mechanical efficiency 0.8: 11.7 kW */
  bad += off_rel("Eastop, blown", "kW",
                 point.air_flow_kg_s * 1.005 * (point.outlet_temperature_k - 288.0) / 0.8, 11.7,
                 0.012);
  bad += off_rel("Eastop, blown", "T_m", point.charge_temperature_k, 350.7, 1e-3);
  assert_int_equal(bad, 0);
}

/* The definition of effectiveness, common practice: what is taken out over what could be.  Worked
 * by hand: 120 degC into the cooler, 20 degC air, 70 %: 50 degC in the plenum. */
static void charge_cooling(void **state) {
  (void)state;
  invented it;
  bare(&it, 0.75);
  it.event.car.charge_cooler.effectiveness = 0.70;
  const ta_air air = dry(95.3e3, 293.15);
  /* 120 degC: 100 K over 293.15 K at 75 %, so PR^(2/7) = 1 + 0.75 100/293.15 */
  const double pressure_ratio = pow(1.0 + 0.75 * 100.0 / 293.15, 3.5);
  const ta_operating_point point = solve(&it, &air, 5000.0, pressure_ratio * 95.3e3);
  int bad = off("hand", "T2", point.outlet_temperature_k, 393.15, 1e-7);
  bad += off("hand", "T_m", point.charge_temperature_k, 323.15, 1e-7);
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(outlet_temperature),
      cmocka_unit_test(engine_air_flow),
      cmocka_unit_test(supercharged_flow),
      cmocka_unit_test(charge_cooling),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
