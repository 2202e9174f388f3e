/* levers.c - what moves the answer.
 *
 * Method    Each lever changes one input of a copy of the event, and the tightest place is solved
 *           again: the shaft at the target, the cap, the power at the cap, and the quickest run that
 *           the limit allows.
 * Pinned by tests/plan/test_levers.c.
 */
#include "thinair/levers.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/access.h"
#include "thinair/strategy.h"
#include "thinair/timed_run.h"

static const double BEST_COOLER = 0.95;
static const double RUN_TOLERANCE = 1e-3; /* of times that are compared: their errors are alike */

/* What a lever does to a copy of the event: sets from and to; false where it has no hold. */
typedef bool (*pull)(ta_event *event, double *from, double *to);

static bool set(double *value, double to_value, double *from, double *to) {
  *from = *value;
  *to = *value = to_value;
  return *from != *to;
}

static bool leak(ta_event *e, double *from, double *to) {
  double *value = &e->car.charge_cooler.leak;
  return set(value, *value + 0.05, from, to);
}

static bool intake_drop(ta_event *e, double *from, double *to) {
  double *value = &e->car.intake.drop.drop_pa;
  return set(value, 2.0 * *value, from, to);
}

static bool intake_temperature(ta_event *e, double *from, double *to) {
  double *value = &e->car.intake.temperature_rise_k;
  return set(value, *value + 10.0, from, to);
}

static bool restrictor(ta_event *e, double *from, double *to) {
  double *value = &e->car.intake.restrictor.diameter_m;
  return e->car.intake.has_restrictor && set(value, *value + 1e-3, from, to);
}

static bool cooler(ta_event *e, double *from, double *to) {
  double *value = &e->car.charge_cooler.effectiveness;
  return *value > 0.0 && set(value, fmax(fmin(*value + 0.10, BEST_COOLER), *value), from, to);
}

static bool coolant(ta_event *e, double *from, double *to) {
  double *value = &e->car.charge_cooler.coolant_k;
  return e->car.charge_cooler.has_coolant && set(value, *value - 10.0, from, to);
}

static bool charge_drop(ta_event *e, double *from, double *to) {
  double *value = &e->car.charge_cooler.drop.drop_pa;
  return set(value, 0.5 * *value, from, to);
}

static bool shift(ta_event *e, double *from, double *to) {
  double *top = &e->car.engine.window_rpm[1], *at = &e->car.vehicle.shift_rpm;
  *from = e->car.has_vehicle ? *at : *top;
  *to = *at = *from - 400.0;
  *top = fmin(*top, *to);
  return *to > e->car.engine.window_rpm[0];
}

static bool overshoot(ta_event *e, double *from, double *to) {
  double *value = &e->car.control.overshoot_pa;
  return set(value, 0.5 * *value, from, to);
}

static bool margin(ta_event *e, double *from, double *to) {
  double *value = &e->goal.margin;
  return set(value, *value + 0.01, from, to);
}

static bool mass(ta_event *e, double *from, double *to) {
  double *value = &e->car.vehicle.mass_kg;
  return e->car.has_vehicle && set(value, *value - 50.0, from, to);
}

static bool warmer(ta_event *e, double *from, double *to) {
  *from = 0.0;
  *to = 10.0;
  e->day.isa_offset_k += 10.0;
  for (size_t i = 0; i < e->day.station_count; i++) {
    e->day.station[i].temperature_k += 10.0;
    e->day.station[i].dew_point_k += 10.0; /* as moist, relative to saturation */
  }
  return true;
}

static bool lower_pressure(ta_event *e, double *from, double *to) {
  *from = 0.0;
  *to = -1000.0;
  for (size_t i = 0; i < e->day.station_count; i++) {
    e->day.station[i].pressure_pa -= 1000.0;
    e->day.station[i].qnh_pa -= 1000.0;
  }
  return e->day.station_count > 0; /* the standard day's pressure is what it is */
}

static const struct {
  const char *name, *words;
  ta_kind kind;
  pull pull;
  bool day; /* it changes the air */
} rows[] = {
    {"leak", "boost leak", TA_RATIO, leak, false},
    {"intake_drop", "intake drop", TA_PRESSURE_DIFFERENCE, intake_drop, false},
    {"intake_temperature", "intake above ambient", TA_TEMPERATURE_DIFFERENCE, intake_temperature,
     false},
    {"restrictor", "restrictor", TA_LENGTH, restrictor, false},
    {"cooler", "cooler effectiveness", TA_NUMBER, cooler, false},
    {"coolant", "coolant", TA_TEMPERATURE, coolant, false},
    {"charge_drop", "charge path drop", TA_PRESSURE_DIFFERENCE, charge_drop, false},
    {"shift_speed", "shift at", TA_ROTATION, shift, false},
    {"overshoot", "overshoot", TA_PRESSURE_DIFFERENCE, overshoot, false},
    {"margin", "margin", TA_RATIO, margin, false},
    {"mass", "mass", TA_MASS, mass, false},
    {"warmer", "day warmer", TA_TEMPERATURE_DIFFERENCE, warmer, true},
    {"lower_pressure", "barometer lower", TA_PRESSURE_DIFFERENCE, lower_pressure, true},
};
_Static_assert(sizeof rows / sizeof rows[0] <= TA_LEVERS_MAX, "room for every lever");
static const size_t LEVERS = sizeof rows / sizeof rows[0];

/* What a lever is judged by. */
typedef struct {
  double shaft_rpm, cap, power_w, time_s;
} outcome;

static ta_status solve(const ta_prepared *prepared, double elevation_m, const ta_road *road,
                       outcome *out) {
  const ta_speed_range window = ta_judged_speeds(&prepared->event->car);
  ta_air air;
  ta_operating_point worst;
  ta_place_cap cap;
  ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
  if (status == TA_OK) status = ta_worst_in_air(prepared, window, &air, HUGE_VAL, &worst);
  if (status == TA_OK) status = ta_place_cap_find(prepared, window, &air, &cap);
  if (status != TA_OK) return status;
  *out = (outcome){worst.shaft_rpm, cap.set_point, 0.0, (double)INFINITY};
  for (double from = window.low_rpm; isfinite(from);) {
    double rpm[TA_LANES], set_point[TA_LANES], map_pa[TA_LANES], power_w[TA_LANES];
    const size_t count = ta_speeds_in_range(prepared->event, window, &from, rpm);
    for (size_t i = 0; i < count; i++)
      set_point[i] = fmin(ta_prepared_goal(prepared, rpm[i]), cap.set_point);
    ta_full_load_at(prepared, &air, 0.0, rpm, set_point, count, map_pa, power_w);
    for (size_t i = 0; i < count; i++) out->power_w = fmax(out->power_w, power_w[i]);
  }
  return road != NULL ? ta_quickest_run(prepared, road, RUN_TOLERANCE, &out->time_s) : TA_OK;
}

/* The event with a lever pulled, ready to be solved on the base's compressor map. */
static ta_status solve_pulled(const ta_prepared *prepared, size_t row, double elevation_m,
                              const ta_road *road, ta_lever *lever, bool *has_hold, outcome *out) {
  ta_event event = *prepared->event;
  ta_prepared pulled;
  ta_station *stations = NULL;
  if (rows[row].day && event.day.station_count > 0) {
    stations = malloc(event.day.station_count * sizeof *stations);
    if (stations == NULL) return TA_ERR_MEMORY;
    memcpy(stations, event.day.station, event.day.station_count * sizeof *stations);
    event.day.station = stations;
  }
  ta_status status = TA_OK;
  *has_hold = rows[row].pull(&event, &lever->from, &lever->to);
  if (*has_hold)
    status = ta_prepare_again(prepared, &event, rows[row].day ? TA_TOUCHES_DAY : 0, &pulled);
  if (status == TA_ERR_INPUT) { /* no such day can be */
    *has_hold = false;
    status = TA_OK;
  }
  if (*has_hold && status == TA_OK) {
    status = solve(&pulled, elevation_m, road, out);
    ta_prepared_free(&pulled);
  }
  free(stations);
  return status;
}

static int by_effect(const void *a, const void *b) {
  const ta_lever *x = a, *y = b;
  const double left = isfinite(x->time_change_s) ? x->time_change_s : 1e-3 * x->power_change_w,
               right = isfinite(y->time_change_s) ? y->time_change_s : 1e-3 * y->power_change_w;
  if (fabs(left) != fabs(right)) return fabs(left) > fabs(right) ? -1 : 1;
  return strcmp(x->name, y->name);
}

ta_status ta_levers_make(const ta_prepared *prepared, const ta_placed_point *at,
                         const ta_road *road, ta_levers *levers) {
  if (prepared == NULL || at == NULL || levers == NULL) return TA_ERR_ARGUMENT;
  ta_levers made = {.distance_m = at->distance_m, .elevation_m = at->elevation_m};
  outcome base;
  ta_status status = solve(prepared, at->elevation_m, road, &base);
  ta_lever lever[TA_LEVERS_MAX];
  outcome out[TA_LEVERS_MAX];
  bool has_hold[TA_LEVERS_MAX];
  ta_status each[TA_LEVERS_MAX];
#pragma omp parallel for schedule(dynamic)
  for (size_t i = 0; i < LEVERS; i++) {
    lever[i] = (ta_lever){.name = rows[i].name, .words = rows[i].words, .kind = rows[i].kind};
    each[i] = solve_pulled(prepared, i, at->elevation_m, road, &lever[i], &has_hold[i], &out[i]);
  }
  for (size_t i = 0; status == TA_OK && i < LEVERS; i++) {
    status = each[i];
    if (status != TA_OK || !has_hold[i]) continue;
    const bool told = isfinite(base.shaft_rpm) && isfinite(out[i].shaft_rpm);
    lever[i].shaft_share = told ? out[i].shaft_rpm / base.shaft_rpm - 1.0 : (double)INFINITY;
    lever[i].cap_change = out[i].cap - base.cap;
    lever[i].power_change_w = out[i].power_w - base.power_w;
    lever[i].time_change_s = isfinite(base.time_s) ? out[i].time_s - base.time_s : (double)INFINITY;
    lever[i].misleads =
        told && lever[i].shaft_share * lever[i].power_change_w > 0.0 && lever[i].cap_change != 0.0;
    made.lever[made.count++] = lever[i];
  }
  if (status != TA_OK) return status;
  qsort(made.lever, made.count, sizeof made.lever[0], by_effect);
  *levers = made;
  return TA_OK;
}
