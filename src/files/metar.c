/* metar.c - the aerodrome report METAR.
 *
 * Model     Groups are told by their form alone: time "231953Z", temperatures "17/M02", pressure
 *           "Q1013" (whole hPa) or "A2992" (hundredths of inHg), both altimeter settings.  The body
 *           ends where remarks or a trend begin; of the remarks only the temperatures in tenths,
 *           "T01720022", are read, since the body rounds to whole degrees.
 * Limits    Q is rounded down to whole hPa, about 8 m of height.
 */
#include "metar.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PA_PER_HUNDREDTH_INHG = 33.86389;
static const double ICE_POINT_K = 273.15;
static const double COLDEST_K = 183.1, WARMEST_K = 333.2; /* -90 to 60 degC, and a rounding */
static const double LOWEST_QNH_PA = 90e3, HIGHEST_QNH_PA = 109e3;

/* Does text have this form?  9: a digit, A: a capital letter, anything else: itself. */
static bool fits(const char *text, size_t length, const char *form) {
  if (strlen(form) != length) return false;
  for (size_t i = 0; i < length; i++) {
    const char c = text[i];
    const bool good = form[i] == '9'   ? c >= '0' && c <= '9'
                      : form[i] == 'A' ? c >= 'A' && c <= 'Z'
                                       : c == form[i];
    if (!good) return false;
  }
  return true;
}

static int digits(const char *text, size_t count) {
  int value = 0;
  for (size_t i = 0; i < count; i++) value = 10 * value + (text[i] - '0');
  return value;
}

/* "M02" or "17" -> degC; *length is what it took, 0 when it is neither. */
static double body_temperature(const char *text, size_t left, size_t *length) {
  const size_t minus = left > 0 && text[0] == 'M' ? 1 : 0;
  *length = 0;
  if (left < minus + 2 || !fits(text + minus, 2, "99")) return 0.0;
  *length = minus + 2;
  const double value = digits(text + minus, 2);
  return minus == 1 ? -value : value;
}

typedef struct {
  ta_metar metar;
  int times, temperatures, pressures;
  bool tenths;
} found;

static void take_group(found *f, const char *group, size_t length) {
  size_t a = 0, b = 0;
  if (fits(group, length, "999999Z")) {
    f->times++;
    f->metar.day = digits(group, 2);
    f->metar.hour = digits(group + 2, 2);
    f->metar.minute = digits(group + 4, 2);
  } else if (fits(group, length, "Q9999") || fits(group, length, "A9999")) {
    const bool fine = group[0] == 'A';
    const double qnh_pa = digits(group + 1, 4) * (fine ? PA_PER_HUNDREDTH_INHG : 100.0);
    /* some countries give both: the finer one stands where they say the same */
    const bool same = f->pressures == 1 && fabs(qnh_pa - f->metar.qnh_pa) <= 100.0;
    if (!same) f->pressures++;
    if (!same || fine) f->metar.qnh_pa = qnh_pa;
  } else {
    const double temperature = body_temperature(group, length, &a);
    if (a == 0 || a == length || group[a] != '/') return;
    const double dew_point = body_temperature(group + a + 1, length - a - 1, &b);
    const size_t rest = length - a - 1 - b;
    if (rest != 0 && !(b == 0 && (fits(group + a + 1, rest, "//") || rest == 0))) return;
    f->temperatures++;
    f->metar.temperature_k = temperature + ICE_POINT_K;
    f->metar.has_dew_point = b > 0;
    f->metar.dew_point_k = dew_point + ICE_POINT_K;
  }
}

/* "T01720022": sign digit 1 is minus, then tenths; dew point last. */
static void take_tenths(found *f, const char *group, size_t length) {
  if ((!fits(group, length, "T99999999") && !fits(group, length, "T9999")) ||
      digits(group + 1, 1) > 1 || (length == 9 && digits(group + 5, 1) > 1))
    return;
  const double sign = group[1] == '1' ? -1.0 : 1.0,
               temperature = sign * digits(group + 2, 3) / 10.0 + ICE_POINT_K;
  const bool both = length == 9 && f->metar.has_dew_point;
  const double dew_point =
      both ? (group[5] == '1' ? -1.0 : 1.0) * digits(group + 6, 3) / 10.0 + ICE_POINT_K
           : f->metar.dew_point_k;
  /* the tenths must be those of the body's whole degrees, else it is another group */
  if (fabs(temperature - f->metar.temperature_k) > 0.6 ||
      fabs(dew_point - f->metar.dew_point_k) > 0.6)
    return;
  f->tenths = true;
  f->metar.temperature_k = temperature;
  f->metar.dew_point_k = dew_point;
}

static ta_status refuse(char *why, size_t size, const char *what) {
  if (why != NULL) (void)snprintf(why, size, "%s", what);
  return TA_ERR_ARGUMENT;
}

ta_status ta_metar_read(const char *report, ta_metar *metar, char *why, size_t why_size) {
  if (report == NULL || metar == NULL) return TA_ERR_ARGUMENT;
  static const char *const body_ends[] = {"RMK", "TEMPO", "BECMG", "NOSIG"};
  found f = {.times = 0};
  bool body = true, remarks = false;
  for (const char *c = report; *c != '\0';) {
    c += strspn(c, " \t\r\n=");
    const size_t length = strcspn(c, " \t\r\n=");
    for (size_t i = 0; i < sizeof body_ends / sizeof body_ends[0]; i++)
      if (strlen(body_ends[i]) == length && strncmp(c, body_ends[i], length) == 0) body = false;
    remarks |= length == 3 && strncmp(c, "RMK", 3) == 0;
    if (body)
      take_group(&f, c, length);
    else if (remarks && !f.tenths && f.temperatures == 1)
      take_tenths(&f, c, length);
    c += length;
  }
  if (f.times == 0)
    return refuse(why, why_size, "the report has no time, such as 231953Z: is it a METAR?");
  if (f.times > 1) return refuse(why, why_size, "the report has two times: one report is taken");
  if (f.metar.day < 1 || f.metar.day > 31 || f.metar.hour > 23 || f.metar.minute > 59)
    return refuse(why, why_size, "the time of the report is none: day, hour and minute are taken");
  if (f.temperatures == 0)
    return refuse(why, why_size, "the report has no temperatures, such as 17/M02");
  if (f.temperatures > 1) return refuse(why, why_size, "the report has two temperature groups");
  if (f.pressures == 0)
    return refuse(why, why_size, "the report has no pressure, such as Q1013 or A2992");
  if (f.pressures > 1)
    return refuse(why, why_size, "the report has two pressures that are not the same");
  if (!(f.metar.temperature_k >= COLDEST_K && f.metar.temperature_k <= WARMEST_K))
    return refuse(why, why_size, "the temperature of the report is none: -90 to 60 degC are taken");
  if (f.metar.has_dew_point && f.metar.dew_point_k > f.metar.temperature_k)
    return refuse(why, why_size, "the dew point of the report is above its temperature");
  if (!(f.metar.qnh_pa >= LOWEST_QNH_PA && f.metar.qnh_pa <= HIGHEST_QNH_PA))
    return refuse(why, why_size,
                  "the pressure of the report is no altimeter setting: Q0900 to Q1090 are taken");
  *metar = f.metar;
  return TA_OK;
}
