/* status.c - the status rows as a table. */
#include "thinair/status.h"

static const struct {
  const char *name, *text;
} rows[] = {
#define X(symbol, words) [symbol] = {#symbol, words},
    TA_STATUS_ROWS(X)
#undef X
};
_Static_assert(sizeof rows / sizeof rows[0] == TA_STATUS_COUNT, "one row per status");

const char *ta_status_name(ta_status status) {
  return (unsigned)status < TA_STATUS_COUNT ? rows[status].name : "?";
}

const char *ta_status_text(ta_status status) {
  return (unsigned)status < TA_STATUS_COUNT ? rows[status].text : "unknown status";
}
