/* status.h - what a fallible call returns. */
#ifndef THINAIR_STATUS_H
#define THINAIR_STATUS_H

/* One row per outcome: symbol and text for people.  Enum, name and text are generated from these
 * rows.  Exit codes are the command line's business. */
#define TA_STATUS_ROWS(X)                                                      \
  X(TA_OK, "success")                                                          \
  X(TA_ERR_ARGUMENT, "a required argument is missing or not finite")           \
  X(TA_ERR_DOMAIN, "an input lies outside the range of the model")             \
  X(TA_ERR_INPUT, "the input has errors; the diagnostics name and place them") \
  X(TA_ERR_FILE, "a file cannot be read or written")                           \
  X(TA_ERR_MEMORY, "out of memory")

typedef enum {
#define X(symbol, text) symbol,
  TA_STATUS_ROWS(X)
#undef X
      TA_STATUS_COUNT
} ta_status;

/** The symbol of a status, such as "TA_ERR_DOMAIN"; "?" for a number that is none. */
const char *ta_status_name(ta_status status);

/** Words for people; "unknown status" for a number that is none. */
const char *ta_status_text(ta_status status);

#endif
