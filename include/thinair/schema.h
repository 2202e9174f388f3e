/* schema.h - one row for every key of the user's files.
 *
 * The rows drive reading, checking, "what is taken" in errors, and --set.  A key is written with
 * dots; "[]" stands for any element of a list ("day.stations[].elevation") or any row of a table
 * ("course.rows[].elevation"). */
#ifndef THINAIR_SCHEMA_H
#define THINAIR_SCHEMA_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/quantity.h"

typedef enum {
  TA_FORM_GROUP,    /* a mapping: here only to say whether it may be left out */
  TA_FORM_QUANTITY, /* a number with a unit; also one of `choices`, which unsets it */
  TA_FORM_RANGE,    /* [low, high], two quantities, low below high */
  TA_FORM_SERIES,   /* [a, b, ...], one quantity or more */
  TA_FORM_TEXT,
  TA_FORM_CHOICE,  /* one of `choices`, kept as its number */
  TA_FORM_FILE,    /* the group may stand in a file of its own, named here */
  TA_FORM_LIST,    /* a sequence of mappings */
  TA_FORM_COLUMNS, /* column names and units for the tables further in */
  TA_FORM_TABLE    /* rows of cells under `columns`, here or in a mapping further out */
} ta_form;

typedef enum { TA_REQUIRED, TA_OPTIONAL, TA_DEFAULT } ta_presence;

typedef struct {
  const char *key;
  ta_form form;
  ta_kind kind;
  ta_presence presence;
  size_t offset;     /* in ta_event, or in the element of the list or table that holds the key */
  size_t has_offset; /* of a bool that is set when the key is given; TA_NOWHERE: none */
  size_t count_offset,
      element_size;   /* of lists, series and tables: the number of elements, their size */
  ta_kind other_kind; /* the quantity may be of this kind too; TA_NUMBER: it may not */
  size_t other_offset, other_has_offset; /* where it goes then */
  double low, high;    /* what is taken, SI, both included; of a text its most bytes, 0: 100 */
  double fallback;     /* with TA_DEFAULT */
  const char *choices; /* "four-stroke|two-stroke|rotary" */
  const char *about;   /* one line, for people */
} ta_field;

#define TA_NOWHERE ((size_t)-1)

const ta_field *ta_schema(size_t *count);

/** The row of a key pattern (length bytes); NULL when there is none. */
const ta_field *ta_schema_find(const char *pattern, size_t length);

/** "day.stations[0].temperature" -> "day.stations[].temperature".  Anything but an index between the
 *  brackets stays, so that the schema does not know the key. */
void ta_schema_pattern(const char *key, char pattern[TA_KEY_MAX]);

/** True when some row lies inside this group. */
bool ta_schema_is_group(const char *pattern, size_t length);

/**
 * The names taken right inside a group, each once, in the order of the rows.
 * @param[in]     group  Pattern of the group, "" for the event itself.
 * @param[in,out] at     Row to go on from; start with 0.
 * @param[out]    length Of the name.
 * @return The name (not terminated), or NULL when there are no more.
 */
const char *ta_schema_next_name(const char *group, size_t *at, size_t *length);

/** "a, b, c": the names taken right inside a group, for messages. */
void ta_schema_names(const char *group, char *text, size_t size);

/** Why a pattern is no key of one value, and what is taken there, for messages. */
void ta_schema_taken(const char *pattern, char *text, size_t size);

/** Does the field take a value [SI]? */
bool ta_field_takes(const ta_field *field, double si);

/** The unit that was typed after a number, to speak back in; else the kind's first one. */
const ta_unit *ta_field_unit(const ta_field *field, const char *text);

/** "taken: 20 to 500 degC" */
void ta_field_range(const ta_field *field, const ta_unit *unit, char *text, size_t size);

/** "620 degC is outside what is possible here; taken: 20 to 500 degC" */
void ta_field_outside(const ta_field *field, const ta_unit *unit, double si, char *text,
                      size_t size);

/** "; this is a ...": where a unit is that of a flow or speed parameter, what makes it a corrected
 *  flow or speed; else "".  unit may be NULL. */
const char *ta_field_conversion(const ta_field *field, const char *unit);

#endif
