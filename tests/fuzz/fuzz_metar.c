/* fuzz_metar.c - text to a report.
 *
 * Property  What is taken is a time, temperatures and an altimeter setting that can be, and a
 *           remark behind it changes nothing.  What is refused is left alone, in words. */
#include <math.h>
#include <string.h>

#include "../../src/files/metar.h"
#include "fuzz.h"

enum { LARGEST = 2000 };

static void check_taken(const char *report, const ta_metar *m) {
  static char more[LARGEST + 20];
  ta_metar again;
  HOLDS(m->day >= 1 && m->day <= 31 && m->hour >= 0 && m->hour <= 23);
  HOLDS(m->minute >= 0 && m->minute <= 59);
  HOLDS(m->temperature_k >= 183.0 && m->temperature_k <= 333.3); /* -90 to 60 degC */
  HOLDS(!m->has_dew_point || (m->dew_point_k >= 174.0 && m->dew_point_k <= m->temperature_k));
  HOLDS(m->qnh_pa >= 90e3 && m->qnh_pa <= 109e3);
  (void)snprintf(more, sizeof more, "%s RMK Q0999 T0600", report);
  HOLDS(ta_metar_read(more, &again, NULL, 0) == TA_OK);
  HOLDS(again.day == m->day && again.hour == m->hour && again.minute == m->minute);
  HOLDS(again.temperature_k == m->temperature_k || fabs(m->temperature_k - 333.15) < 0.7);
  HOLDS(again.has_dew_point == m->has_dew_point && again.qnh_pa == m->qnh_pa);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char why[200] = "";
  if (size > LARGEST) return 0;
  char *report = malloc(size + 1); /* exact: reading past the end is noticed */
  if (report == NULL) return 0;
  if (size > 0) memcpy(report, bytes, size);
  report[size] = '\0';
  ta_metar metar, untouched;
  memset(&metar, 0x5a, sizeof metar);
  untouched = metar;
  if (ta_metar_read(report, &metar, why, sizeof why) == TA_OK) {
    check_taken(report, &metar);
  } else {
    HOLDS(memcmp(&metar, &untouched, sizeof metar) == 0);
    HOLDS(why[0] != '\0' && strlen(why) < sizeof why - 1);
  }
  free(report);
  return 0;
}
