/* fuzz_quantity.c - text to quantity, as every kind.
 *
 * Property  What is read is finite, and printed with 17 digits in the same unit reads the same to
 *           the last bit.  There and back through SI is off by a few roundings.  What is refused
 *           leaves the output alone and says why in plain ASCII. */
#include <float.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "thinair/quantity.h"

static void check_taken(const char *text, ta_kind kind, double si) {
  double number = 0.0, again = 0.0;
  const char *name = NULL;
  char printed[400], why[300];
  HOLDS(isfinite(si));
  while (*text == ' ' || *text == '\t') text++;
  HOLDS(ta_number_parse(text, &number, &name) == TA_OK);
  (void)snprintf(printed, sizeof printed, "%.17g%s", number, name);
  HOLDS(ta_quantity_parse(printed, kind, &again, why, sizeof why) == TA_OK);
  HOLDS(memcmp(&again, &si, sizeof si) == 0);

  while (*name == ' ' || *name == '\t') name++;
  size_t length = strlen(name);
  while (length > 0 && (name[length - 1] == ' ' || name[length - 1] == '\t')) length--;
  const ta_unit *unit = length > 0 ? ta_unit_find(kind, name, length) : ta_unit_find(kind, "1", 1);
  HOLDS(unit != NULL);
  const double typed = ta_from_si(unit, si);
  if (isfinite(typed)) /* beyond in a small unit: 1e308 km in mm */
    HOLDS(fabs(ta_to_si(unit, typed) - si) <=
          4.0 * DBL_EPSILON * (fabs(si) + unit->offset) + DBL_MIN);
}

static void check_refused(const char *why, double si) {
  HOLDS(si == -7.25e77);
  HOLDS(why[0] != '\0' && strlen(why) <= 250);
  for (const char *c = why; *c != '\0'; c++) HOLDS(*c >= ' ' && *c <= '~');
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char text[301]; /* more than a name of a unit takes, with blanks around */
  const size_t length = size < sizeof text - 1 ? size : sizeof text - 1;
  if (length > 0) memcpy(text, bytes, length);
  text[length] = '\0';
  for (int k = 0; k < TA_KIND_COUNT; k++) {
    double si = -7.25e77;
    char why[300] = "";
    if (ta_quantity_parse(text, (ta_kind)k, &si, why, sizeof why) == TA_OK)
      check_taken(text, (ta_kind)k, si);
    else
      check_refused(why, si);
  }
  return 0;
}
