/* fuzz_earlier_plan.c - bytes to an earlier plan.
 *
 * Property  What is taken is finite and can be, and its texts steer no terminal.  What is refused is
 *           left alone, and every error has a place in the bytes. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "thinair/earlier_plan.h"

static void check_text(const char text[TA_GIST_TEXT_MAX]) {
  const size_t length = strlen(text);
  HOLDS(length < TA_GIST_TEXT_MAX);
  for (size_t i = 0; i < length; i++) HOLDS((unsigned char)text[i] >= 0x20 && text[i] != 0x7f);
}

static void check_taken(const ta_earlier_plan *plan) {
  const ta_plan_gist *gist = &plan->gist;
  check_text(plan->version);
  check_text(gist->first_mark);
  HOLDS((unsigned)gist->verdict < TA_VERDICT_COUNT);
  HOLDS((unsigned)gist->limited_by < TA_LIMITED_BY_COUNT);
  HOLDS(isfinite(gist->limit_rpm) && gist->limit_rpm > 0.0);
  HOLDS(gist->start_pressure_pa >= 10e3 && gist->start_pressure_pa <= 200e3);
  HOLDS(gist->start_temperature_k >= 150.0 && gist->start_temperature_k <= 350.0);
  HOLDS(gist->worst_shaft_rpm >= 0.0);
  HOLDS(isfinite(gist->first_distance_m) && isfinite(gist->first_elevation_m));
  HOLDS(isfinite(gist->cap_map_pa));
  HOLDS(!gist->has_cap || gist->cap_map_pa > 0.0);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static ta_diagnostics diagnostics;
  char *exact = malloc(size + 1); /* reading past the end is noticed */
  if (exact == NULL) return 0;
  if (size > 0) memcpy(exact, bytes, size);
  ta_earlier_plan plan, untouched;
  memset(&plan, 0x5a, sizeof plan);
  untouched = plan;
  ta_diagnostics_clear(&diagnostics);
  if (ta_earlier_plan_read_bytes("then.json", exact, size, "made up", &plan, &diagnostics) ==
      TA_OK) {
    HOLDS(diagnostics.errors == 0);
    check_taken(&plan);
  } else {
    HOLDS(diagnostics.errors > 0);
    HOLDS(memcmp(&plan, &untouched, sizeof plan) == 0);
    for (size_t i = 0; i < diagnostics.count; i++)
      HOLDS(diagnostics.item[i].place.line >= 1 && diagnostics.item[i].place.column >= 1 &&
            (size_t)diagnostics.item[i].place.line <= size + 2);
  }
  free(exact);
  return 0;
}
