/* csv_reader.c - comma-separated tables, one pass over the bytes, nothing copied.
 *
 * Decision  Own code: the libraries at hand lose line numbers and byte-order marks, or hold a whole
 *           trace in memory as text.  Spreadsheets of half the world write semicolons, so a header
 *           row without a comma may be cut by them or by tabs.
 */
#include "csv_reader.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void ta_csv_start(ta_csv *csv, const char *path, char *bytes, size_t size) {
  memset(csv, 0, sizeof *csv);
  csv->path = path;
  csv->next = bytes;
  csv->end = bytes + size;
  csv->line = 1;
  *csv->end = '\0';
  if (size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0) csv->next += 3;
}

void ta_csv_raise(const ta_csv *csv, const ta_csv_cell *cell, ta_diagnostics *diagnostics,
                  const char *key, const char *format, ...) {
  char text[TA_MESSAGE_MAX];
  va_list args;
  va_start(args, format);
  (void)vsnprintf(text, sizeof text, format, args);
  va_end(args);
  ta_diagnostic *item = ta_raise(diagnostics, TA_ERROR, key, "%s", text);
  if (item == NULL) return;
  (void)snprintf(item->place.file, sizeof item->place.file, "%s", csv->path);
  item->place.line = cell->line;
  item->place.column = cell->column;
}

static bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

/* Pass over empty lines and comments; true when a record begins at csv->next. */
static bool find_record(ta_csv *csv) {
  while (csv->next < csv->end) {
    char *c = csv->next;
    while (c < csv->end && (is_blank(*c) || *c == '\r')) c++;
    if (c < csv->end && *c != '\n' && *c != '#') return true;
    while (c < csv->end && *c != '\n') c++;
    csv->next = c < csv->end ? c + 1 : c;
    csv->line++;
  }
  return false;
}

/* What cuts the header row, and so every row. */
static char separator_of(const char *c, const char *end) {
  bool comma = false, semicolon = false, tab = false;
  for (; c < end && *c != '\n'; c++) {
    comma |= *c == ',';
    semicolon |= *c == ';';
    tab |= *c == '\t';
  }
  return comma || (!semicolon && !tab) ? ',' : (semicolon ? ';' : '\t');
}

/* Take a quoted cell off; c stands behind the quote.  Returns where its text ends, and sets *c
 * behind the closing quote; NULL when that is missing. */
static char *unquote(ta_csv *csv, char **c) {
  char *to = *c, *from = *c;
  for (; from < csv->end; from++) {
    if (*from == '"') {
      if (from + 1 < csv->end && from[1] == '"') {
        from++;
      } else {
        *c = from + 1;
        return to;
      }
    }
    csv->line += *from == '\n';
    *to++ = *from;
  }
  return NULL;
}

bool ta_csv_next(ta_csv *csv, ta_diagnostics *diagnostics) {
  csv->count = 0;
  if (!find_record(csv)) return false;
  if (csv->separator == '\0') csv->separator = separator_of(csv->next, csv->end);
  char *c = csv->next, *line_start = csv->next;
  while (true) {
    while (c < csv->end && is_blank(*c) && *c != csv->separator) c++;
    ta_csv_cell cell = {c, csv->line, (int)(c - line_start) + 1};
    char *end;
    if (*c == '"') {
      cell.text = ++c;
      end = unquote(csv, &c);
      if (end == NULL) {
        ta_csv_raise(csv, &cell, diagnostics, "", "the quote that opens here is never closed");
        csv->next = csv->end;
        return false;
      }
      while (c < csv->end && is_blank(*c) && *c != csv->separator) c++;
      if (c < csv->end && *c != csv->separator && *c != '\r' && *c != '\n') {
        ta_csv_raise(csv, &cell, diagnostics, "", "text follows the closing quote of this cell");
        csv->next = csv->end;
        return false;
      }
    } else {
      while (c < csv->end && *c != csv->separator && *c != '\n') c++;
      end = c;
      while (end > cell.text && (is_blank(end[-1]) || end[-1] == '\r')) end--;
    }
    while (c < csv->end && *c == '\r') c++;
    const bool more = c < csv->end && *c == csv->separator;
    *end = '\0';
    if (csv->count == TA_CSV_CELLS_MAX) {
      ta_csv_raise(csv, &cell, diagnostics, "", "the row has more than %d cells", TA_CSV_CELLS_MAX);
      csv->next = csv->end;
      return false;
    }
    csv->cell[csv->count++] = cell;
    if (c < csv->end) c++;
    if (!more) break;
  }
  csv->line++;
  csv->next = c;
  return true;
}

void ta_csv_heading(char *cell, const char **name, const char **unit) {
  char *open = strrchr(cell, '('), *close = strrchr(cell, ')');
  *name = cell;
  *unit = "";
  if (open == NULL || close == NULL || close < open || close[1] != '\0') return;
  *close = '\0';
  *unit = open + 1;
  while (open > cell && is_blank(open[-1])) open--;
  *open = '\0';
}
