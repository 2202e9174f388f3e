/* levers.c - what moves the answer.
 *
 * Method    Each lever changes one input of a copy of the event, and the tightest place is solved
 *           again: the shaft at the target, the cap, the power at the cap, and the quickest run that
 *           the limit allows.  What only the wheels feel is driven again on the same full load.
 * Decision  Another compressor is the sweep's business.  Air-fuel ratio is no lever: power goes with
 *           the air, and the brake specific fuel consumption would move with it.  Nor is ram
 *           recovery: caps are judged without ram.
 * Pinned by tests/plan/test_levers.c.
 */
#include "thinair/levers.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/access.h"
#include "thinair/moist_air.h"
#include "thinair/strategy.h"
#include "thinair/timed_run.h"

static const double BEST_COOLER = 0.95, KEY_ON_HIGHER_M = 500.0;
/* Less than what is shown as tenths is no change to speak of. */
static const double SLOWER_S = 0.05, SLOWER_SHARE = 0.0005, LESS_POWER_W = 50.0;

/* ---- what a lever does ----------------------------------------------------------------------- */

/* Changes a fork of the base's event: sets from and to; false where it has no hold. */
typedef bool (*pull)(const ta_prepared *base, ta_event *fork, double *from, double *to);

static bool set_number(ta_event *fork, const char *key, double si) {
  char why[TA_MESSAGE_MAX];
  return ta_event_number_set(fork, key, si, why, sizeof why) == TA_OK;
}

/* A number of every element of a list that has it: "day.stations", "temperature".  false: one of
 * them takes no such step. */
static bool add_to_each(ta_event *fork, const char *list, size_t count, const char *name,
                        double change) {
  for (size_t i = 0; i < count; i++) {
    char key[TA_KEY_MAX], why[TA_MESSAGE_MAX];
    double si;
    (void)snprintf(key, sizeof key, "%s[%zu].%s", list, i, name);
    if (ta_event_number_get(fork, key, &si, why, sizeof why) == TA_OK &&
        !set_number(fork, key, si + change))
      return false;
  }
  return true;
}

static bool cooler(const ta_prepared *base, ta_event *e, double *from, double *to) {
  double *value = &e->car.charge_cooler.effectiveness;
  (void)base;
  *from = *value;
  *to = *value = fmax(fmin(*value + 0.10, BEST_COOLER), *value);
  return *from > 0.0; /* else none is fitted */
}

/* The cams, or the head; as much more air at every engine speed. */
static bool volumetric_efficiency(const ta_prepared *base, ta_event *e, double *from, double *to) {
  (void)base;
  *from = 0.0;
  *to = 0.02;
  e->car.engine.displacement_m3 *= 1.0 + *to; /* stands for it: the air goes with the product */
  return true;
}

/* The highest engine speed under boost: what is above the new one comes down to it. */
static bool shift(const ta_prepared *base, ta_event *e, double *from, double *to) {
  double *top = &e->car.engine.window_rpm[1], *at = &e->car.vehicle.shift_rpm;
  (void)base;
  *from = e->car.has_vehicle ? fmax(*top, *at) : *top;
  *to = *from - 400.0;
  *top = fmin(*top, *to);
  *at = fmin(*at, *to);
  return true;
}

static bool target(const ta_prepared *base, ta_event *e, double *from, double *to) {
  (void)base;
  *from = 0.0;
  *to = -10e3;
  if (e->goal.has_boost) return set_number(e, "goal.boost", e->goal.boost_pa + *to);
  if (e->goal.has_map) return set_number(e, "goal.map", e->goal.map_pa + *to);
  const size_t count = e->goal.point_count;
  return add_to_each(e, "goal.rows", count, "boost", *to) &&
         add_to_each(e, "goal.rows", count, "map", *to);
}

static bool imbalance(const ta_prepared *base, ta_event *e, double *from, double *to) {
  double *value = &e->car.turbo.imbalance;
  (void)base;
  *from = *value;
  *to = *value = 0.5 * *from;
  return e->car.turbo.count > 1.0; /* else it has no say */
}

/* The ignition on higher up, or a barometer that reads there. */
static bool key_on(const ta_prepared *base, ta_event *e, double *from, double *to) {
  ta_control *control = &e->car.control;
  const double start_m = e->is_cut ? e->start_elevation_m : e->course.point[0].elevation_m;
  ta_air air;
  control->barometer_read_at_m =
      (control->has_barometer_read_at ? control->barometer_read_at_m : start_m) + KEY_ON_HIGHER_M;
  control->has_barometer_read_at = true;
  if (control->holds != TA_HOLDS_GAUGE_KEY_ON ||
      ta_day_air(&base->day, control->barometer_read_at_m, &air) != TA_OK)
    return false;
  *from = base->read_pa;
  *to = air.pressure_pa;
  return true;
}

static bool grip(const ta_prepared *base, ta_event *e, double *from, double *to) {
  const ta_grip now = base->event->car.vehicle.grip;
  *from = 0.0;
  *to = 0.02;
  return e->car.has_vehicle && set_number(e, "car.vehicle.grip.drive", now.drive * (1.0 + *to)) &&
         set_number(e, "car.vehicle.grip.corner", now.corner * (1.0 + *to)) &&
         set_number(e, "car.vehicle.grip.brake", now.brake * (1.0 + *to));
}

static bool warmer(const ta_prepared *base, ta_event *e, double *from, double *to) {
  (void)base;
  *from = 0.0;
  *to = 10.0;
  if (e->day_is_isa) return set_number(e, "day.isa.offset", e->day.isa_offset_k + *to);
  const size_t count = e->day.station_count;
  return add_to_each(e, "day.stations", count, "temperature", *to) &&
         add_to_each(e, "day.stations", count, "dew_point", *to); /* as moist, of saturation */
}

static bool lower_pressure(const ta_prepared *base, ta_event *e, double *from, double *to) {
  (void)base;
  *from = 0.0;
  *to = -1000.0;
  const size_t count = e->day.station_count;
  return count > 0 && /* the standard day's pressure is what it is */
         add_to_each(e, "day.stations", count, "pressure", *to) &&
         add_to_each(e, "day.stations", count, "qnh", *to);
}

/* Fog all the way up. */
static bool humidity(const ta_prepared *base, ta_event *e, double *from, double *to) {
  const ta_air *start = &base->start;
  *from = ta_vapour_pressure(start->mixing_ratio, start->pressure_pa) /
          ta_saturation_pressure(start->temperature_k);
  *to = 1.0;
  if (e->day_is_isa) return set_number(e, "day.isa.humidity", *to);
  for (size_t i = 0; i < e->day.station_count; i++) {
    char key[TA_KEY_MAX];
    (void)snprintf(key, sizeof key, "day.stations[%zu].humidity", i);
    if (!set_number(e, key, *to)) return false;
    e->day.station[i].has_dew_point = false; /* the list is the fork's own by now */
  }
  return true;
}

/* ---- the levers ------------------------------------------------------------------------------ */

/* What a lever has hold of.  The wheels alone leave the engine's full load as it is. */
typedef enum { DAY, ENGINE, WHEELS } holds;

/* A lever is one number, which becomes times x number + add as far as its key takes it; or a pull. */
static const struct {
  const char *name, *words;
  const char *key;
  double times, add;
  pull pull;
  ta_kind kind; /* of a pull */
  holds holds;
} rows[] = {
#define NUMBER(name, words, key, times, add, holds) \
  { name, words, key, times, add, NULL, TA_NUMBER, holds }
#define PULL(name, words, pull, kind, holds) \
  { name, words, NULL, 1.0, 0.0, pull, kind, holds }
    PULL("target", "target", target, TA_PRESSURE_DIFFERENCE, ENGINE),
    NUMBER("leak", "boost leak", "car.charge_cooler.leak", 1.0, 0.05, ENGINE),
    NUMBER("intake_drop", "intake drop", "car.intake.pressure_drop", 2.0, 0.0, ENGINE),
    NUMBER("intake_temperature", "intake above ambient", "car.intake.temperature_rise", 1.0, 10.0,
           ENGINE),
    NUMBER("restrictor", "restrictor", "car.intake.restrictor.diameter", 1.0, 1e-3, ENGINE),
    PULL("cooler", "cooler effectiveness", cooler, TA_RATIO, ENGINE),
    NUMBER("coolant", "coolant", "car.charge_cooler.coolant", 1.0, -10.0, ENGINE),
    NUMBER("charge_drop", "charge path drop", "car.charge_cooler.pressure_drop", 0.5, 0.0, ENGINE),
    PULL("volumetric_efficiency", "volumetric efficiency up", volumetric_efficiency, TA_RATIO,
         ENGINE),
    NUMBER("bsfc", "bsfc", "car.engine.bsfc", 0.97, 0.0, ENGINE),
    PULL("shift_speed", "engine speed up to", shift, TA_ROTATION, ENGINE),
    NUMBER("overshoot", "overshoot", "car.control.overshoot", 0.5, 0.0, ENGINE),
    NUMBER("map_error", "sensor reads low by", "car.control.map_error", 0.5, 0.0, ENGINE),
    NUMBER("minimum_boost", "wastegate spring", "car.control.minimum_boost", 1.0, -10e3, ENGINE),
    PULL("key_on", "key on at", key_on, TA_PRESSURE, ENGINE),
    PULL("imbalance", "imbalance of the turbos", imbalance, TA_RATIO, ENGINE),
    NUMBER("back_pressure", "exhaust back pressure", "car.turbo.turbine.back_pressure", 0.5, 0.0,
           ENGINE),
    NUMBER("margin", "margin", "goal.margin", 1.0, 0.01, ENGINE),
    NUMBER("mass", "mass", "car.vehicle.mass", 1.0, -50.0, WHEELS),
    NUMBER("drag", "drag area", "car.vehicle.drag_area", 0.95, 0.0, WHEELS),
    NUMBER("downforce", "downforce area", "car.vehicle.downforce_area", 1.1, 0.0, WHEELS),
    PULL("grip", "grip of the tyres up", grip, TA_RATIO, WHEELS),
    NUMBER("final_drive", "final drive", "car.vehicle.final_drive", 1.05, 0.0, WHEELS),
    NUMBER("shift_time", "shift time", "car.vehicle.shift_time", 0.5, 0.0, WHEELS),
    PULL("warmer", "day warmer", warmer, TA_TEMPERATURE_DIFFERENCE, DAY),
    PULL("lower_pressure", "barometer lower", lower_pressure, TA_PRESSURE_DIFFERENCE, DAY),
    PULL("humidity", "humidity at the start", humidity, TA_RATIO, DAY),
#undef NUMBER
#undef PULL
};
_Static_assert(sizeof rows / sizeof rows[0] <= TA_LEVERS_MAX, "room for every lever");
static const size_t LEVERS = sizeof rows / sizeof rows[0];

static bool pull_row(size_t row, const ta_prepared *base, ta_event *fork, ta_lever *lever) {
  char why[TA_MESSAGE_MAX];
  lever->kind = rows[row].kind;
  if (rows[row].key == NULL)
    return rows[row].pull(base, fork, &lever->from, &lever->to) && lever->from != lever->to;
  const ta_field *field = ta_number_field(rows[row].key, why, sizeof why);
  if (ta_event_number_get(fork, rows[row].key, &lever->from, why, sizeof why) != TA_OK)
    return false;
  lever->kind = field->kind;
  lever->to = fmin(fmax(rows[row].times * lever->from + rows[row].add, field->low), field->high);
  return lever->from != lever->to && set_number(fork, rows[row].key, lever->to);
}

/* ---- what it moves --------------------------------------------------------------------------- */

/* What a lever is judged by. */
typedef struct {
  double shaft_rpm, cap, power_w, time_s;
} outcome;

/* At one place; no time. */
static ta_status solve_place(const ta_prepared *prepared, double elevation_m, outcome *out) {
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
  return TA_OK;
}

static ta_status drive(const ta_road *road, const ta_vehicle *vehicle, const ta_full_load *load,
                       double *time_s) {
  ta_run run;
  const ta_status status = ta_run_make(road, vehicle, load, TA_COARSE_RUN_TOLERANCE, &run);
  if (status != TA_OK) return status;
  *time_s = ta_run_made_s(&run);
  ta_run_free(&run);
  return TA_OK;
}

/* The event as it is, and what levers are measured from. */
typedef struct {
  const ta_prepared *prepared;
  double elevation_m;
  const ta_road *road; /* NULL: no time */
  ta_full_load *load;  /* of the quickest run; NULL without a road */
  outcome out;
} basis;

static ta_status solve_base(basis *base) {
  ta_status status = solve_place(base->prepared, base->elevation_m, &base->out);
  if (base->road == NULL || status != TA_OK) return status;
  status = ta_quickest_load_make(base->prepared, &base->load);
  return status == TA_OK
             ? drive(base->road, &base->prepared->event->car.vehicle, base->load, &base->out.time_s)
             : status;
}

static ta_status solve_fork(const basis *base, const ta_event *fork, unsigned touches,
                            outcome *out) {
  ta_prepared pulled;
  ta_status status = ta_prepare_again(base->prepared, fork, touches, &pulled);
  if (status != TA_OK) return status;
  status = solve_place(&pulled, base->elevation_m, out);
  if (status == TA_OK && base->road != NULL)
    status = ta_quickest_run(&pulled, base->road, TA_COARSE_RUN_TOLERANCE, &out->time_s);
  ta_prepared_free(&pulled);
  return status;
}

/* What one lever gives; TA_ERR_INPUT where it has no hold, or there can be no such event. */
static ta_status solve_pulled(const basis *base, size_t row, ta_lever *lever, outcome *out) {
  const unsigned touches = rows[row].holds == DAY ? TA_TOUCHES_DAY : TA_TOUCHES_NOTHING;
  ta_event fork;
  ta_diagnostics diagnostics;
  *lever = (ta_lever){.name = rows[row].name, .words = rows[row].words};
  *out = base->out;
  if (rows[row].holds == WHEELS && base->road == NULL) return TA_ERR_INPUT;
  ta_event_fork(base->prepared->event, &fork);
  ta_diagnostics_clear(&diagnostics);
  ta_status status = pull_row(row, base->prepared, &fork, lever)
                         ? ta_event_fork_complete(&fork, touches, &diagnostics)
                         : TA_ERR_INPUT;
  if (status == TA_OK)
    status = rows[row].holds == WHEELS
                 ? drive(base->road, &fork.car.vehicle, base->load, &out->time_s)
                 : solve_fork(base, &fork, touches, out);
  ta_event_free(&fork);
  return status;
}

/* What looks like margin and costs power or time, and what gains power though the cap is lower. */
static bool misleads(const ta_lever *lever) {
  if (!isfinite(lever->shaft_share)) return false;
  if (lever->shaft_share < -SLOWER_SHARE)
    return lever->power_change_w < -LESS_POWER_W ||
           (isfinite(lever->time_change_s) && lever->time_change_s > SLOWER_S);
  return lever->shaft_share > SLOWER_SHARE && lever->power_change_w > LESS_POWER_W &&
         lever->cap_change < 0.0;
}

/* The change of a lever; false: it moves nothing. */
static bool compare(const outcome *base, const outcome *out, ta_lever *lever) {
  const bool told = isfinite(base->shaft_rpm) && isfinite(out->shaft_rpm);
  lever->shaft_share = told ? out->shaft_rpm / base->shaft_rpm - 1.0 : (double)INFINITY;
  lever->cap_change = out->cap - base->cap;
  lever->power_change_w = out->power_w - base->power_w;
  lever->time_change_s = isfinite(base->time_s) ? out->time_s - base->time_s : (double)INFINITY;
  lever->misleads = misleads(lever);
  return out->shaft_rpm != base->shaft_rpm || out->cap != base->cap ||
         out->power_w != base->power_w || out->time_s != base->time_s;
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
  basis base = {.prepared = prepared, .elevation_m = at->elevation_m, .road = road};
  ta_lever lever[TA_LEVERS_MAX];
  outcome out[TA_LEVERS_MAX];
  ta_status each[TA_LEVERS_MAX], status = solve_base(&base);
  if (status == TA_OK) {
#pragma omp parallel for schedule(dynamic)
    for (size_t i = 0; i < LEVERS; i++) each[i] = solve_pulled(&base, i, &lever[i], &out[i]);
  }
  ta_quickest_load_free(base.load);
  for (size_t i = 0; status == TA_OK && i < LEVERS; i++) {
    if (each[i] == TA_ERR_MEMORY) status = each[i];
    if (each[i] == TA_OK && compare(&base.out, &out[i], &lever[i]))
      made.lever[made.count++] = lever[i];
  }
  if (status != TA_OK) return status;
  qsort(made.lever, made.count, sizeof made.lever[0], by_effect);
  *levers = made;
  return TA_OK;
}
