/* display.c - how each sort of number is shown. */
#include "display.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct {
  ta_kind kind;
  const char *unit[2];
  int decimals[2];
} rows[] = {
#define X(symbol, kind, metric, metric_decimals, us, us_decimals) \
  [symbol] = {kind, {metric, us}, {metric_decimals, us_decimals}},
    TA_SHOW_ROWS(X)
#undef X
};

/* JSON units never follow the user's: one per kind. */
static const struct {
  const char *suffix;
  double per_si;
} json[TA_KIND_COUNT] = {
    [TA_NUMBER] = {"", 1.0},
    [TA_RATIO] = {"", 1.0},
    [TA_PRESSURE] = {"_kPa", 1e-3},
    [TA_GAUGE_PRESSURE] = {"_kPa", 1e-3},
    [TA_PRESSURE_DIFFERENCE] = {"_kPa", 1e-3},
    [TA_TEMPERATURE] = {"_K", 1.0},
    [TA_TEMPERATURE_DIFFERENCE] = {"_K", 1.0},
    [TA_LAPSE_RATE] = {"_K_m", 1.0},
    [TA_LENGTH] = {"_m", 1.0},
    [TA_AREA] = {"_m2", 1.0},
    [TA_VOLUME] = {"_m3", 1.0},
    [TA_MASS] = {"_kg", 1.0},
    [TA_DENSITY] = {"_kg_m3", 1.0},
    [TA_MASS_FLOW] = {"_kg_s", 1.0},
    [TA_VOLUME_FLOW] = {"_m3_s", 1.0},
    [TA_ROTATION] = {"_rpm", 1.0},
    [TA_POWER] = {"_kW", 1e-3},
    [TA_SPECIFIC_CONSUMPTION] = {"_kg_J", 1.0},
    [TA_SPEED] = {"_m_s", 1.0},
    [TA_TIME] = {"_s", 1.0},
    [TA_ANGLE] = {"_rad", 1.0},
};

ta_kind ta_show_kind(ta_show show) {
  return rows[show].kind;
}

const char *ta_show_unit(ta_show show, ta_unit_system system) {
  return rows[show].unit[system];
}

double ta_show_value(ta_show show, ta_unit_system system, double si) {
  const char *name = rows[show].unit[system];
  const ta_unit *unit = ta_unit_find(rows[show].kind, name, strlen(name));
  return unit != NULL ? ta_from_si(unit, si) : si;
}

const char *ta_show_number(ta_show show, ta_unit_system system, int decimals, double si,
                           char text[TA_SHOWN_MAX]) {
  if (!isfinite(si)) {
    (void)snprintf(text, TA_SHOWN_MAX, "-");
    return text;
  }
  char plain[TA_SHOWN_MAX / 2];
  (void)snprintf(plain, sizeof plain, "%.*f", decimals < 0 ? rows[show].decimals[system] : decimals,
                 ta_show_value(show, system, si));
  if (strspn(plain, "-0.") == strlen(plain) && plain[0] == '-') /* no minus zero */
    memmove(plain, plain + 1, strlen(plain));
  const size_t whole = strcspn(plain, ".");
  size_t used = 0;
  for (size_t i = 0; plain[i] != '\0' && used + 2 < TA_SHOWN_MAX; i++) {
    const size_t left = i < whole ? whole - i : 0;
    if (i > 0 && left > 0 && left % 3 == 0 && plain[i - 1] != '-') text[used++] = ',';
    text[used++] = plain[i];
  }
  text[used] = '\0';
  return text;
}

const char *ta_show_quantity(ta_show show, ta_unit_system system, int decimals, double si,
                             char text[TA_SHOWN_MAX]) {
  char number[TA_SHOWN_MAX];
  (void)ta_show_number(show, system, decimals, si, number);
  const char *unit = ta_show_unit(show, system);
  (void)snprintf(text, TA_SHOWN_MAX, "%.30s%s%s", number, unit[0] != '\0' ? " " : "", unit);
  return text;
}

double ta_show_rounded_down(ta_show show, ta_unit_system system, double si) {
  const double step = pow(10.0, -rows[show].decimals[system]),
               value = ta_show_value(show, system, si);
  const ta_unit *unit =
      ta_unit_find(rows[show].kind, rows[show].unit[system], strlen(rows[show].unit[system]));
  const double below = floor(value / step + 1e-9) * step;
  return unit != NULL ? ta_to_si(unit, below) : below;
}

const char *ta_show_cap(ta_show show, ta_unit_system system, double si, char text[TA_SHOWN_MAX]) {
  return ta_show_quantity(show, system, -1, ta_show_rounded_down(show, system, si), text);
}

ta_show ta_show_of(ta_kind kind) {
  switch (kind) {
    case TA_PRESSURE_DIFFERENCE:
      return TA_SHOW_DIFFERENCE;
    case TA_TEMPERATURE:
      return TA_SHOW_TEMPERATURE;
    case TA_TEMPERATURE_DIFFERENCE:
      return TA_SHOW_WARMER;
    case TA_ROTATION:
      return TA_SHOW_RPM;
    case TA_PRESSURE:
      return TA_SHOW_AMBIENT;
    case TA_GAUGE_PRESSURE:
      return TA_SHOW_BOOST;
    case TA_SPECIFIC_CONSUMPTION:
      return TA_SHOW_BSFC;
    case TA_AREA:
      return TA_SHOW_AREA;
    case TA_TIME:
      return TA_SHOW_GATE;
    case TA_LENGTH:
      return TA_SHOW_WHEEL;
    case TA_MASS:
      return TA_SHOW_MASS;
    case TA_RATIO:
      return TA_SHOW_SHARE;
    default:
      return TA_SHOW_RATIO;
  }
}

const char *ta_json_suffix(ta_kind kind) {
  return json[kind].suffix;
}

double ta_json_value(ta_kind kind, double si) {
  return si * json[kind].per_si;
}
