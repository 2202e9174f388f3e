/* day.c - the day's air over the whole mountain.
 *
 * Model     Temperature and mixing ratio piecewise linear in height; pressure hydrostatic with
 *           virtual temperature, in closed form over layers of at most 250 m.
 * Units     SI.  Heights in this file are geopotential; elevations are geometric.
 * Source    Hydrostatics; saturation as in moist_air.c.
 * Limits    Still air; an inversion that no station sees is not known (but see cold readings).
 * Decision  A layer is split where the air saturates, so Tv has no kink inside one.
 * Pinned by tests/model/test_day.c, tests/published/test_soundings.c and test_altimetry.c. */
#include "thinair/day.h"

#include <math.h>
#include <stdio.h>

#include "thinair/moist_air.h"

static const double LOWEST_M = -2000.0, HIGHEST_M = 9000.0; /* elevations */
static const double LAYER_M = 250.0;
static const double GRAVITY_OVER_R = TA_G0_MS2 / TA_R_DRY_JKGK; /* [K/m] */
static const double STANDARD_LAPSE_K_M = 0.0065;
static const double ADIABATIC_LAPSE_K_M = 0.0098;

/* Above the stations: floor, ceiling and two nodes of a cold reading.  11 km are 44 layers, a node
 * adds one at the most, and saturation splits each layer once at the most. */
enum { NODES_MAX = TA_STATIONS_MAX + 4, LAYERS_MAX = 2 * (44 + NODES_MAX) };
_Static_assert((int)LAYERS_MAX < (int)TA_DAY_LAYERS_MAX, "every column fits");

/* A station as read: in rising order, QNH and humidity settled. */
typedef struct {
  size_t index; /* in the reading */
  double height, temperature, log_pressure, vapour_pa;
  bool has_pressure, has_vapour;
  size_t node; /* in the temperature curve */
} site;

/* ---- what is refused ---- */

typedef struct {
  ta_diagnostics *list;
  bool good;
} check;

typedef struct {
  char text[TA_KEY_MAX];
} key;

typedef struct {
  double low, high;
  double factor, offset; /* for people */
  const char *unit;
} range;

static const range ELEVATION = {-2000.0, 9000.0, 1.0, 0.0, " m"};
static const range TEMPERATURE = {180.0, 340.0, 1.0, -273.15, " degC"};
static const range QNH = {90e3, 109e3, 0.01, 0.0, " hPa"};
static const range HUMIDITY = {0.0, 1.0, 100.0, 0.0, " %"};
static const range DEW_POINT = {173.15, 313.15, 1.0, -273.15, " degC"}; /* highest known: 35 degC */
static const range OFFSET = {-50.0, 50.0, 1.0, 0.0, " K"};
static const range LAPSE = {-0.01, 0.01, 1e3, 0.0, " K/km"};

static key key_of(const char *text) {
  key k;
  (void)snprintf(k.text, sizeof k.text, "%s", text);
  return k;
}

static key station_key(size_t i, const char *leaf) {
  key k;
  (void)snprintf(k.text, sizeof k.text, "stations[%zu].%s", i, leaf);
  return k;
}

/* The reading fails.  True when that is to be said: not about a key that has an error already. */
static bool refuse(check *c, key k) {
  c->good = false;
  if (c->list == NULL) return false;
  char whole[2 * TA_KEY_MAX];
  (void)snprintf(whole, sizeof whole, "%s%s", c->list->scope, k.text);
  return ta_key_sound(c->list, whole);
}

static bool in_range(check *c, key k, double value, const range *r) {
  if (value >= r->low && value <= r->high) return true;
  if (refuse(c, k)) {
    if (isfinite(value))
      (void)ta_raise(c->list, TA_ERROR, k.text, "found %.6g%s; taken: %.6g to %.6g%s",
                     value * r->factor + r->offset, r->unit, r->low * r->factor + r->offset,
                     r->high * r->factor + r->offset, r->unit);
    else
      (void)ta_raise(c->list, TA_ERROR, k.text, "not a finite number");
  }
  return false;
}

static void refuse_pair(check *c, key k, key also, const char *words) {
  if (refuse(c, k) && refuse(c, also))
    (void)ta_raise_relation(c->list, k.text, also.text, "%s", words);
}

/* A pressure that no barometer shows at that elevation is most often an altimeter setting. */
static void check_pressure(check *c, const ta_station *s, size_t i) {
  const key k = station_key(i, "pressure");
  if (!isfinite(s->pressure_pa)) {
    if (refuse(c, k)) (void)ta_raise(c->list, TA_ERROR, k.text, "not a finite number");
    return;
  }
  const double height = ta_geopotential_m(s->elevation_m);
  ta_air standard;
  if (ta_isa_at(height, &standard) != TA_OK) return; /* the elevation has its own error */
  const double ratio = s->pressure_pa / standard.pressure_pa;
  if (fabs(ratio - 1.0) <= 0.04 || !refuse(c, k)) return;

  char advice[160] = "no barometer shows that there: check pressure, unit and elevation";
  double qnh;
  if (s->pressure_pa > 94e3 && s->pressure_pa < 106e3 && (ratio > 1.0) == (height > 0.0))
    (void)snprintf(advice, sizeof advice,
                   "looks like an altimeter setting: write `qnh`, or read a barometer there");
  else if (ta_qnh(s->pressure_pa, height, &qnh) == TA_OK && qnh >= QNH.low && qnh <= QNH.high)
    (void)snprintf(advice, sizeof advice,
                   "check elevation and unit; if a barometer there does show that, write "
                   "`qnh: %.1f hPa` instead",
                   0.01 * qnh);
  (void)ta_raise(
      c->list, TA_ERROR, k.text,
      "found %.1f hPa, where the standard day has %.1f hPa; taken: within 4 %% of it; %s",
      0.01 * s->pressure_pa, 0.01 * standard.pressure_pa, advice);
}

static void check_qnh(check *c, const ta_station *s, size_t i) {
  const key k = station_key(i, "qnh");
  if (isfinite(s->qnh_pa) && s->qnh_pa < QNH.low && s->qnh_pa > 0.0) {
    if (refuse(c, k))
      (void)ta_raise(c->list, TA_ERROR, k.text,
                     "found %.1f hPa; taken: %.0f to %.0f hPa; looks like a barometer reading: "
                     "write `pressure`",
                     0.01 * s->qnh_pa, 0.01 * QNH.low, 0.01 * QNH.high);
  } else {
    (void)in_range(c, k, s->qnh_pa, &QNH);
  }
}

/* True when the station has a place. */
static bool check_station(check *c, const ta_station *s, size_t i) {
  const key pressure = station_key(i, "pressure"), qnh = station_key(i, "qnh");
  const key humidity = station_key(i, "humidity"), dew_point = station_key(i, "dew_point");
  const key temperature = station_key(i, "temperature");

  const bool placed = in_range(c, station_key(i, "elevation"), s->elevation_m, &ELEVATION);
  const bool warm = in_range(c, temperature, s->temperature_k, &TEMPERATURE);

  if (s->has_pressure && s->has_qnh)
    refuse_pair(c, pressure, qnh, "both given; taken: the one that was read");
  else if (s->has_pressure && placed)
    check_pressure(c, s, i);
  else if (s->has_qnh)
    check_qnh(c, s, i);

  if (s->has_humidity && s->has_dew_point) {
    refuse_pair(c, humidity, dew_point, "both given; taken: the one that was read");
  } else if (s->has_humidity) {
    double dew;
    if (in_range(c, humidity, s->humidity, &HUMIDITY) && warm &&
        ta_dew_point(s->humidity * ta_saturation_pressure(s->temperature_k), &dew) == TA_OK &&
        dew > DEW_POINT.high && refuse(c, humidity))
      (void)ta_raise(c->list, TA_ERROR, humidity.text,
                     "at this temperature a dew point of %.1f degC; taken: up to 40 degC",
                     dew - 273.15);
  } else if (s->has_dew_point) {
    if (in_range(c, dew_point, s->dew_point_k, &DEW_POINT) && warm &&
        s->dew_point_k > s->temperature_k)
      refuse_pair(c, dew_point, temperature,
                  "the dew point is above the temperature; taken: at most the temperature");
  }
  return placed;
}

/* Stations in rising order; QNH as pressure, humidity as vapour pressure. */
static void sort_stations(const ta_day_reading *reading, site sites[TA_STATIONS_MAX]) {
  for (size_t i = 0; i < reading->station_count; i++) {
    const ta_station *s = &reading->station[i];
    site new = {.index = i,
                .height = ta_geopotential_m(s->elevation_m),
                .temperature = s->temperature_k,
                .has_pressure = s->has_pressure || s->has_qnh,
                .has_vapour = s->has_humidity || s->has_dew_point};
    double pressure = s->has_pressure ? s->pressure_pa : 0.0;
    if (s->has_qnh) (void)ta_station_pressure(s->qnh_pa, new.height, &pressure);
    if (new.has_pressure) new.log_pressure = log(pressure);
    if (s->has_humidity) new.vapour_pa = s->humidity *ta_saturation_pressure(s->temperature_k);
    if (s->has_dew_point) new.vapour_pa = ta_saturation_pressure(s->dew_point_k);
    size_t at = i;
    for (; at > 0 && sites[at - 1].height > new.height; at--) sites[at] = sites[at - 1];
    sites[at] = new;
  }
}

static void check_order(check *c, const site *sites, size_t count) {
  for (size_t i = 1; i < count; i++)
    if (sites[i].height - sites[i - 1].height < 1.0)
      refuse_pair(c, station_key(sites[i].index, "elevation"),
                  station_key(sites[i - 1].index, "elevation"),
                  "two stations at one elevation; taken: 1 m apart or more");
  if (sites[0].has_pressure) return;
  const key k = station_key(sites[0].index, "pressure");
  if (refuse(c, k) && refuse(c, station_key(sites[0].index, "qnh")))
    (void)ta_raise(c->list, TA_ERROR, k.text,
                   "missing: the lowest station needs `pressure` or `qnh`");
}

/* ---- the column ---- */

/* Linear between its points, constant beyond, 0 without any. */
typedef struct {
  size_t count;
  double x[NODES_MAX], y[NODES_MAX];
} curve;

static void curve_add(curve *c, double x, double y) {
  c->x[c->count] = x;
  c->y[c->count++] = y;
}

static double curve_at(const curve *c, double x) {
  if (c->count == 0) return 0.0;
  if (x <= c->x[0]) return c->y[0];
  for (size_t i = 1; i < c->count; i++)
    if (x < c->x[i])
      return c->y[i - 1] + (c->y[i] - c->y[i - 1]) * (x - c->x[i - 1]) / (c->x[i] - c->x[i - 1]);
  return c->y[c->count - 1];
}

typedef struct {
  curve temperature; /* floor to ceiling; two points at one height are a jump */
  curve ratio;       /* mixing ratio of the stations that give humidity */
  curve shift;       /* ln p + integral at the stations that give pressure */
} column;

/* The air at one height of the march upwards. */
typedef struct {
  double height, temperature, ratio, virtual_temperature;
  double integral; /* of g/(R Tv) dH from the floor */
  double excess;   /* of the mixing ratio over saturation, before it is limited */
} parcel;

/* Mean of 1/T where T is linear from a to b: ln(b/a)/(b - a), without its cancellation. */
static double mean_inverse(double a, double b) {
  const double x = (b - a) / (b + a);
  return (x == 0.0 ? 1.0 : atanh(x) / x) * 2.0 / (a + b);
}

static double saturation_ratio(double temperature, double pressure) {
  /* Near boiling there is no limit; half the pressure keeps it finite, far above any station's. */
  return ta_mixing_ratio(fmin(ta_saturation_pressure(temperature), 0.5 * pressure), pressure);
}

/* The parcel at a height, reached from one below.  Saturation needs the pressure and the pressure
 * the vapour; a 250 m layer tells them apart so well that two rounds leave 1e-9. */
static parcel parcel_at(const column *c, const parcel *below, double height, double temperature) {
  const double linear = curve_at(&c->ratio, height), shift = curve_at(&c->shift, height);
  parcel at = {.height = height, .temperature = temperature, .ratio = below->ratio};
  for (int round = 0;; round++) {
    at.virtual_temperature = ta_virtual_temperature(temperature, at.ratio);
    at.integral =
        below->integral + GRAVITY_OVER_R * (height - below->height) *
                              mean_inverse(below->virtual_temperature, at.virtual_temperature);
    if (round == 2 || c->ratio.count == 0) return at;
    const double saturation = saturation_ratio(temperature, exp(shift - at.integral));
    at.excess = linear - saturation;
    at.ratio = fmin(linear, saturation);
  }
}

static void push(ta_day *day, const column *c, const parcel *p) {
  const size_t i = day->count++;
  day->level[i].height_gp_m = p->height;
  day->level[i].temperature_k = p->temperature;
  day->level[i].mixing_ratio = p->ratio;
  day->level[i].log_pressure = curve_at(&c->shift, p->height) - p->integral;
  day->level[i].virtual_temperature_k = p->virtual_temperature;
}

static bool saturated(const parcel *p) {
  return p->excess > 0.0;
}

/* Where the air saturates, or ceases to, between two parcels.  The excess is all but straight over
 * a layer: four false positions leave less than a metre, and a metre is nothing to the pressure. */
static parcel saturation_level(const column *c, const parcel *below, const parcel *above) {
  parcel low = *below, high = *above, at = *above;
  for (int step = 0; step < 4; step++) {
    const double part = low.excess / (low.excess - high.excess);
    at = parcel_at(c, below, low.height + part * (high.height - low.height),
                   low.temperature + part * (high.temperature - low.temperature));
    if (saturated(&at) == saturated(&low))
      low = at;
    else
      high = at;
  }
  return at;
}

/* Integrate from the floor to the ceiling; integral[] at the points of the temperature curve. */
static void march(const column *c, ta_day *day, double integral[NODES_MAX]) {
  const double *x = c->temperature.x, *t = c->temperature.y;
  const parcel floor_air = {
      .height = x[0], .ratio = curve_at(&c->ratio, x[0]), .virtual_temperature = t[0]};
  parcel at = parcel_at(c, &floor_air, x[0], t[0]);
  day->count = 0;
  push(day, c, &at);
  integral[0] = at.integral;
  for (size_t j = 1; j < c->temperature.count; j++) {
    const int layers = (int)fmax(ceil((x[j] - x[j - 1]) / LAYER_M), 1.0);
    for (int k = 1; k <= layers; k++) {
      const double left = (double)(layers - k) / layers; /* 0 at the top: its node exactly */
      const parcel next =
          parcel_at(c, &at, x[j] - left * (x[j] - x[j - 1]), t[j] - left * (t[j] - t[j - 1]));
      if (saturated(&next) != saturated(&at) && next.height > at.height) {
        const parcel between = saturation_level(c, &at, &next);
        push(day, c, &between);
      }
      push(day, c, &next);
      at = next;
    }
    integral[j] = at.integral;
  }
}

static ta_air standard_at(double height) {
  ta_air air = {0};
  (void)ta_isa_at(height, &air); /* the callers' heights are inside its range */
  return air;
}

/* Temperature over the whole height; true when it rests on one cold valley reading. */
static bool temperature_curve(site *sites, size_t count, double lapse, bool what_if, curve *c) {
  const double floor_m = ta_geopotential_m(LOWEST_M), ceiling_m = ta_geopotential_m(HIGHEST_M);
  const site *low = &sites[0], *top = &sites[count - 1];
  const double colder_by = standard_at(low->height).temperature_k - low->temperature;
  const bool cold = count == 1 && colder_by > 8.0 && !what_if;

  c->count = 0;
  if (low->height > floor_m)
    curve_add(c, floor_m, low->temperature + lapse * (low->height - floor_m));
  for (size_t i = 0; i < count; i++) {
    sites[i].node = c->count;
    curve_add(c, sites[i].height, sites[i].temperature);
  }
  if (top->height >= ceiling_m) return cold;
  double at_ceiling = top->temperature - lapse * (ceiling_m - top->height);
  if (cold) {
    curve_add(c, low->height, low->temperature + colder_by);
    if (lapse < STANDARD_LAPSE_K_M) {
      const double meet = low->height + colder_by / (STANDARD_LAPSE_K_M - lapse);
      if (meet < ceiling_m) curve_add(c, meet, low->temperature - lapse * (meet - low->height));
    }
    at_ceiling = fmax(at_ceiling, standard_at(ceiling_m).temperature_k);
  }
  curve_add(c, ceiling_m, at_ceiling);
  return cold;
}

/* Pressure, vapour and integral depend on each other: repeat until the pressures stand still.  A
 * round shrinks the error by about the share of vapour in the air; the worst of 300 000 random
 * readings took 12 rounds. */
static void integrate(column *c, site *sites, size_t count, ta_day *day) {
  const double floor_m = c->temperature.x[0];
  const double guess = sites[0].log_pressure - log(standard_at(sites[0].height).pressure_pa);
  curve_add(&c->shift, floor_m, guess + log(standard_at(floor_m).pressure_pa));
  for (size_t i = 0; i < count; i++)
    if (!sites[i].has_pressure)
      sites[i].log_pressure = guess + log(standard_at(sites[i].height).pressure_pa);

  double change = HUGE_VAL, integral[NODES_MAX];
  for (int round = 0; round < 40 && change > 1e-12; round++) {
    c->ratio.count = 0;
    for (size_t i = 0; i < count; i++)
      if (sites[i].has_vapour)
        curve_add(&c->ratio, sites[i].height,
                  ta_mixing_ratio(sites[i].vapour_pa, exp(sites[i].log_pressure)));
    march(c, day, integral);

    const curve before = c->shift;
    c->shift.count = 0;
    change = 0.0;
    for (size_t i = 0; i < count; i++)
      if (sites[i].has_pressure) {
        const double shift = sites[i].log_pressure + integral[sites[i].node];
        change = fmax(change, fabs(shift - curve_at(&before, sites[i].height)));
        curve_add(&c->shift, sites[i].height, shift);
      }
    for (size_t i = 0; i < count; i++)
      if (!sites[i].has_pressure) {
        const double now = curve_at(&c->shift, sites[i].height) - integral[sites[i].node];
        change = fmax(change, fabs(now - sites[i].log_pressure));
        sites[i].log_pressure = now;
      }
  }
}

/* ---- what is doubtful ---- */

static void warn_pair(ta_diagnostics *list, key k, key also, const char *text) {
  ta_diagnostic *item = ta_raise(list, TA_WARNING, k.text, "%s", text);
  if (item == NULL) return;
  const int length =
      snprintf(item->also_key, sizeof item->also_key, "%s%s", list->scope, also.text);
  if (length >= TA_KEY_MAX) item->also_key[0] = '\0'; /* cut short it would name another place */
}

static key pressure_key(const ta_day_reading *reading, size_t i) {
  return station_key(i, reading->station[i].has_qnh ? "qnh" : "pressure");
}

static bool temperatures_disagree(ta_diagnostics *list, const site *low, const site *high) {
  const double fall = low->temperature - high->temperature, climb = high->height - low->height;
  if (!(fall > ADIABATIC_LAPSE_K_M * climb + 2.0)) return false;
  char text[TA_MESSAGE_MAX];
  (void)snprintf(text, sizeof text,
                 "stations disagree: %.1f K colder than the station %.0f m below, where still air "
                 "can be %.1f K colder (9.8 K/km): sun on a thermometer, or two times of day?",
                 fall, climb, ADIABATIC_LAPSE_K_M * climb);
  warn_pair(list, station_key(high->index, "temperature"), station_key(low->index, "temperature"),
            text);
  return true;
}

/* Shared over too small a height, a mismatch can make the pressure rise: in a layer first where it
 * is warmest. */
static bool pressure_falls(const ta_day *day, double from_m, double to_m) {
  for (size_t i = 1; i < day->count; i++) {
    const double bottom = day->level[i - 1].height_gp_m, top = day->level[i].height_gp_m;
    if (bottom < from_m || top > to_m) continue;
    const double rise = day->level[i].log_pressure - day->level[i - 1].log_pressure;
    const double a = day->level[i - 1].virtual_temperature_k;
    const double b = day->level[i].virtual_temperature_k;
    const double bow = GRAVITY_OVER_R * (top - bottom) * (mean_inverse(a, b) - 1.0 / fmax(a, b));
    if (rise + bow > 0.0) return false;
  }
  return true;
}

static bool pressures_disagree(check *c, key k, key also, const site *low, const site *high,
                               double log_mismatch, const ta_day *day) {
  const double mismatch_pa = exp(high->log_pressure) * (1.0 - exp(-log_mismatch));
  if (!pressure_falls(day, low->height, high->height)) {
    refuse_pair(c, k, also,
                "stations disagree: with both the pressure would rise with height; taken: "
                "pressures that fall from the lower to the higher");
    return true;
  }
  if (!(fabs(mismatch_pa) > 100.0)) return false;
  char text[TA_MESSAGE_MAX];
  (void)snprintf(text, sizeof text,
                 "stations disagree: %.1f hPa %s than the air over the station below gives, as if "
                 "it stood %.0f m %s; the difference is shared over the height between them",
                 0.01 * fabs(mismatch_pa), mismatch_pa > 0.0 ? "more" : "less",
                 fabs(log_mismatch) * high->temperature / GRAVITY_OVER_R,
                 mismatch_pa > 0.0 ? "lower" : "higher");
  warn_pair(c->list, k, also, text);
  return true;
}

static bool stations_disagree(check *c, const ta_day_reading *reading, const site *sites,
                              const curve *shift, const ta_day *day) {
  bool disagree = false;
  const site *low = &sites[0];
  size_t anchor = 0; /* of the shift curve; the lowest station has pressure */
  for (size_t i = 1; i < reading->station_count; i++) {
    const site *high = &sites[i];
    if (temperatures_disagree(c->list, high - 1, high)) disagree = true;
    if (!high->has_pressure) continue;
    const double mismatch = shift->y[anchor + 1] - shift->y[anchor];
    if (pressures_disagree(c, pressure_key(reading, high->index), pressure_key(reading, low->index),
                           low, high, mismatch, day))
      disagree = true;
    low = high;
    anchor++;
  }
  return disagree;
}

/* ---- build and ask ---- */

static ta_status build_standard(const ta_day_reading *reading, ta_day *day, check *c) {
  const key offset = key_of("isa.offset");
  (void)in_range(c, offset, reading->isa_offset_k, &OFFSET);
  (void)in_range(c, key_of("isa.humidity"), reading->isa_humidity, &HUMIDITY);
  if (!c->good) return TA_ERR_INPUT;
  if (reading->isa_offset_k < 0.0)
    (void)ta_raise(c->list, TA_WARNING, offset.text,
                   "a what-if, not a forecast: the standard pressure is kept, but on a cold day "
                   "the real pressure aloft is lower (3.9 %% at 4,050 m and -20 K) and the shaft "
                   "faster; `column: hydrostatic` integrates it, stations give a real day");
  *day = (ta_day){.standard = true,
                  .humidity_known = true,
                  .top_station_m = HUGE_VAL,
                  .offset_k = reading->isa_offset_k,
                  .humidity = reading->isa_humidity};
  return TA_OK;
}

static ta_status build_from_stations(const ta_day_reading *reading, ta_day *day, check *c) {
  const size_t count = reading->station_count;
  if (count > TA_STATIONS_MAX) {
    const key k = key_of("stations");
    if (refuse(c, k))
      (void)ta_raise(c->list, TA_ERROR, k.text, "found %zu; taken: up to %d", count,
                     TA_STATIONS_MAX);
    return TA_ERR_INPUT;
  }
  (void)in_range(c, key_of("lapse_rate"), reading->lapse_rate_k_m, &LAPSE);
  bool placed = true;
  for (size_t i = 0; i < count; i++)
    if (!check_station(c, &reading->station[i], i)) placed = false;
  if (!placed) return TA_ERR_INPUT;
  site sites[TA_STATIONS_MAX];
  sort_stations(reading, sites);
  check_order(c, sites, count);
  if (!c->good) return TA_ERR_INPUT;

  ta_day built = {.top_station_m = ta_geometric_m(sites[count - 1].height)};
  column air = {0};
  built.cold_reading = temperature_curve(sites, count, reading->lapse_rate_k_m,
                                         reading->isa_hydrostatic != 0, &air.temperature);
  integrate(&air, sites, count, &built);
  built.humidity_known = air.ratio.count > 0;
  built.stations_disagree = stations_disagree(c, reading, sites, &air.shift, &built);
  if (!c->good) return TA_ERR_INPUT;
  if (built.cold_reading)
    (void)ta_raise(c->list, TA_WARNING, station_key(0, "temperature").text,
                   "one cold reading: %.1f K below the standard day, and no station above; a dawn "
                   "inversion makes the summit too cold, which is the unsafe way, so the warmer "
                   "of the extrapolation and the standard day is taken above; read a thermometer "
                   "higher up",
                   standard_at(sites[0].height).temperature_k - sites[0].temperature);
  *day = built;
  return TA_OK;
}

/* The standard day's sea level with its temperature moved, and the pressure integrated from there.
 */
static ta_status build_hydrostatic(const ta_day_reading *reading, ta_day *day, check *c) {
  const key offset = key_of("isa.offset");
  (void)in_range(c, offset, reading->isa_offset_k, &OFFSET);
  (void)in_range(c, key_of("isa.humidity"), reading->isa_humidity, &HUMIDITY);
  if (!c->good) return TA_ERR_INPUT;
  ta_station sea_level = {.temperature_k = standard_at(0.0).temperature_k + reading->isa_offset_k,
                          .pressure_pa = standard_at(0.0).pressure_pa,
                          .humidity = reading->isa_humidity,
                          .has_pressure = true,
                          .has_humidity = true};
  const ta_day_reading one = {.station = &sea_level,
                              .station_count = 1,
                              .lapse_rate_k_m = STANDARD_LAPSE_K_M,
                              .isa_hydrostatic = 1};
  const ta_status status = build_from_stations(&one, day, c);
  if (status == TA_OK) day->top_station_m = HUGE_VAL;
  return status;
}

ta_status ta_day_build(const ta_day_reading *reading, ta_day *day, ta_diagnostics *diagnostics) {
  if (reading == NULL || day == NULL || (reading->station == NULL && reading->station_count > 0))
    return TA_ERR_ARGUMENT;
  check c = {.list = diagnostics, .good = true};
  if (reading->station_count > 0) return build_from_stations(reading, day, &c);
  return reading->isa_hydrostatic != 0 ? build_hydrostatic(reading, day, &c)
                                       : build_standard(reading, day, &c);
}

static ta_air standard_air(const ta_day *day, double height) {
  ta_air air = standard_at(height);
  air.temperature_k += day->offset_k;
  if (day->humidity > 0.0)
    air.mixing_ratio =
        ta_mixing_ratio(day->humidity * ta_saturation_pressure(air.temperature_k), air.pressure_pa);
  return air;
}

static ta_air column_air(const ta_day *day, double height) {
  size_t low = 0, high = day->count - 1; /* level[low] < height <= level[high], but at the floor */
  while (high - low > 1) {
    const size_t middle = low + (high - low) / 2;
    if (day->level[middle].height_gp_m < height)
      low = middle;
    else
      high = middle;
  }
  const double climb = height - day->level[low].height_gp_m;
  const double whole = day->level[high].height_gp_m - day->level[low].height_gp_m;
  const double part = whole > 0.0 ? climb / whole : 0.0;
#define BETWEEN(what) (day->level[low].what + part * (day->level[high].what - day->level[low].what))
  const double tv_low = day->level[low].virtual_temperature_k;
  const double tv_high = day->level[high].virtual_temperature_k;
  /* ln p linear, and the bow that Tv gives it: both ends are met whatever was shared in between. */
  const double bow =
      GRAVITY_OVER_R * climb *
      (mean_inverse(tv_low, tv_high) - mean_inverse(tv_low, BETWEEN(virtual_temperature_k)));
  ta_air air = {.pressure_pa = exp(BETWEEN(log_pressure) + bow),
                .temperature_k = BETWEEN(temperature_k),
                .mixing_ratio = BETWEEN(mixing_ratio)};
#undef BETWEEN
  /* Saturation sags between two saturated levels. */
  if (air.mixing_ratio > 0.0)
    air.mixing_ratio = fmin(air.mixing_ratio, saturation_ratio(air.temperature_k, air.pressure_pa));
  return air;
}

ta_status ta_day_air(const ta_day *day, double elevation_m, ta_air *air) {
  if (day == NULL || air == NULL || !isfinite(elevation_m)) return TA_ERR_ARGUMENT;
  if (!day->standard && day->count < 2) return TA_ERR_ARGUMENT;
  if (elevation_m < LOWEST_M || elevation_m > HIGHEST_M) return TA_ERR_DOMAIN;
  const double height = ta_geopotential_m(elevation_m);
  *air = day->standard ? standard_air(day, height) : column_air(day, height);
  air->gas_constant_jkgk = ta_moist_gas_constant(air->mixing_ratio);
  air->density_kgm3 = air->pressure_pa / (air->gas_constant_jkgk * air->temperature_k);
  return TA_OK;
}
