/* table.h - one description of a table, and its four writers.
 *
 * A row is any struct; a column says where in it a value stands and how it is called.  The JSON key
 * is the name plus its kind's suffix, the text heading the title plus the unit, the CSV heading
 * "name (unit)".  A record is a table of one row. */
#ifndef THINAIR_REPORT_TABLE_H
#define THINAIR_REPORT_TABLE_H

#include "display.h"
#include "thinair/buffer.h"

typedef enum {
  TA_CELL_NUMBER, /* double; shown as null or "-" when it is not finite */
  TA_CELL_TEXT,   /* const char *; null or empty when NULL */
  TA_CELL_ZONE    /* ta_zone */
} ta_cell;

typedef struct {
  const char *name;  /* JSON key without its suffix */
  const char *title; /* heading in text */
  ta_cell cell;
  ta_show show; /* of numbers */
  size_t offset;
} ta_column;

typedef struct {
  const ta_column *column;
  size_t column_count;
  const void *row;
  size_t row_count, row_size;
} ta_table;

/** Width on a terminal: bytes that begin a character. */
int ta_text_width(const char *text);

void ta_table_text(const ta_table *table, ta_unit_system system, ta_buffer *out);
void ta_table_csv(const ta_table *table, ta_unit_system system, ta_buffer *out);

/** For a page: the first column names the rows.
 *  @param[in] kind     Class of the table.
 *  @param[in] caption  NULL: the element with the id "<kind>-heading" names the table. */
void ta_table_html(const ta_table *table, ta_unit_system system, const char *kind,
                   const char *caption, ta_buffer *out);

/** Heading and cell in words, as text and page show them; text may hold them. */
const char *ta_table_heading(const ta_column *column, ta_unit_system system,
                             char text[TA_SHOWN_MAX]);
const char *ta_table_cell(const ta_column *column, ta_unit_system system, const void *row,
                          char text[TA_SHOWN_MAX]);

/* JSON is written in order; commas and indentation are the writer's business. */
typedef struct {
  ta_buffer *out;
  int depth;
  bool first; /* nothing stands in the innermost object or list yet */
} ta_json;

/* key is NULL inside a list. */
void ta_json_open(ta_json *json, const char *key, char bracket);
void ta_json_close(ta_json *json, char bracket);
void ta_json_text(ta_json *json, const char *key, const char *text); /* NULL: null */
void ta_json_number(ta_json *json, const char *key, double value);   /* not finite: null */
void ta_json_bool(ta_json *json, const char *key, bool value);
void ta_json_null(ta_json *json, const char *key);

/** The columns of one row, inside the object that is open. */
void ta_json_cells(ta_json *json, const ta_table *table, size_t row);
/** A list of objects. */
void ta_json_rows(ta_json *json, const char *key, const ta_table *table);
/** An object of lists, one a column, inside the object that is open. */
void ta_json_columns(ta_json *json, const ta_table *table);

#endif
