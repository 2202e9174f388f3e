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
  csv->line = csv->column = 1;
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

/* Pass over one byte. */
static void pass(ta_csv *csv) {
  const unsigned char c = (unsigned char)*csv->next++;
  if (c == '\n')
    csv->line++, csv->column = 1;
  else if ((c & 0xc0) != 0x80) /* of a character, its first byte */
    csv->column++;
}

/* Pass over empty lines and comments; true when a record begins at csv->next. */
static bool find_record(ta_csv *csv) {
  while (csv->next < csv->end) {
    const char *c = csv->next;
    while (c < csv->end && (is_blank(*c) || *c == '\r')) c++;
    if (c < csv->end && *c != '\n' && *c != '#') return true;
    while (csv->next < csv->end && *csv->next != '\n') pass(csv);
    if (csv->next < csv->end) pass(csv);
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

static void pass_blanks(ta_csv *csv) {
  while (csv->next < csv->end && is_blank(*csv->next) && *csv->next != csv->separator) pass(csv);
}

static bool at_end_of_cell(const ta_csv *csv) {
  return csv->next == csv->end || *csv->next == csv->separator || *csv->next == '\n';
}

/* Take a quoted cell.  Returns the end of its text; NULL when the closing quote is missing. */
static char *take_quoted(ta_csv *csv) {
  pass(csv);
  char *to = csv->next;
  while (csv->next < csv->end) {
    if (*csv->next == '"') {
      pass(csv);
      if (*csv->next != '"') return to; /* two of them stand for one */
    }
    *to++ = *csv->next;
    pass(csv);
  }
  return NULL;
}

static char *take_plain(ta_csv *csv) {
  char *start = csv->next;
  while (!at_end_of_cell(csv)) pass(csv);
  char *end = csv->next;
  while (end > start && (is_blank(end[-1]) || end[-1] == '\r')) end--;
  return end;
}

/* The rest of the file cannot be read. */
static bool give_up(ta_csv *csv, const ta_csv_cell *cell, ta_diagnostics *diagnostics,
                    const char *text) {
  ta_csv_raise(csv, cell, diagnostics, "", "%s", text);
  csv->next = csv->end;
  csv->count = 0;
  return false;
}

bool ta_csv_next(ta_csv *csv, ta_diagnostics *diagnostics) {
  csv->count = 0;
  if (!find_record(csv)) return false;
  if (csv->separator == '\0') csv->separator = separator_of(csv->next, csv->end);
  bool more = true;
  while (more) {
    pass_blanks(csv);
    ta_csv_cell cell = {csv->next, csv->line, csv->column};
    char *end;
    if (csv->next < csv->end && *csv->next == '"') {
      cell.text = csv->next + 1;
      end = take_quoted(csv);
      if (end == NULL)
        return give_up(csv, &cell, diagnostics, "the quote that opens here is never closed");
      pass_blanks(csv);
      while (csv->next < csv->end && *csv->next == '\r') pass(csv);
      if (!at_end_of_cell(csv))
        return give_up(csv, &cell, diagnostics, "text follows the closing quote of this cell");
    } else {
      end = take_plain(csv);
    }
    if (csv->count == TA_CSV_CELLS_MAX)
      return give_up(csv, &cell, diagnostics, "the row has more than 64 cells");
    csv->cell[csv->count++] = cell;
    more = csv->next < csv->end && *csv->next == csv->separator;
    if (csv->next < csv->end) pass(csv);
    *end = '\0';
  }
  return true;
}

void ta_csv_heading(char *cell, const char **name, const char **unit) {
  char *open = strchr(cell, '('), *close = strrchr(cell, ')');
  *name = cell;
  *unit = "";
  if (open == NULL || close == NULL || close < open || close[1] != '\0') return;
  while (close > open + 1 && is_blank(close[-1])) close--;
  *close = '\0';
  *unit = open + 1 + strspn(open + 1, " \t");
  while (open > cell && is_blank(open[-1])) open--;
  *open = '\0';
}
