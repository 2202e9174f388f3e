/* csv_reader.h - comma-separated tables (RFC 4180) with one header row, read record by record. */
#ifndef THINAIR_FILES_CSV_READER_H
#define THINAIR_FILES_CSV_READER_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/status.h"

enum { TA_CSV_CELLS_MAX = 64 };

/** One cell, blanks around it and quotes taken off.  Valid as long as the bytes. */
typedef struct {
  char *text;       /* terminated */
  int line, column; /* where it begins, from 1; columns count characters of UTF-8 */
} ta_csv_cell;

/** A file being read; its bytes are changed on the way. */
typedef struct {
  const char *path;
  char *next, *end;
  int line, column; /* of `next` */
  char separator;   /* ',' unless the header row holds only ';' or tabs */
  size_t count;
  ta_csv_cell cell[TA_CSV_CELLS_MAX];
} ta_csv;

/** Start at the first byte; a byte-order mark is passed over, and so are lines that begin with '#'.
 *  bytes[size] must be writable. */
void ta_csv_start(ta_csv *csv, const char *path, char *bytes, size_t size);

/**
 * Read the next record into csv->cell and csv->count; empty lines are passed over.
 * @return false at the end of the file, or when an error was raised (an open quote, too many
 *         cells).
 */
bool ta_csv_next(ta_csv *csv, ta_diagnostics *diagnostics);

/** Split a header cell "name (unit)" in place: *unit is "" where there is none. */
void ta_csv_heading(char *cell, const char **name, const char **unit);

/** Raise an error placed at a cell. */
void ta_csv_raise(const ta_csv *csv, const ta_csv_cell *cell, ta_diagnostics *diagnostics,
                  const char *key, const char *format, ...) __attribute__((format(printf, 5, 6)));

#endif
