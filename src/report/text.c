/* text.c - tables for people and for spreadsheets. */
#include <stdio.h>
#include <string.h>

#include "table.h"
#include "thinair/compressor_map.h"

const char *ta_table_cell(const ta_column *column, ta_unit_system system, const void *row,
                          char text[TA_SHOWN_MAX]) {
  const void *at = (const char *)row + column->offset;
  const char *words;
  if (column->cell == TA_CELL_NUMBER)
    return ta_show_number(column->show, system, -1, *(const double *)at, text);
  words =
      column->cell == TA_CELL_ZONE ? ta_zone_name(*(const ta_zone *)at) : *(const char *const *)at;
  return words != NULL ? words : "";
}

const char *ta_table_heading(const ta_column *column, ta_unit_system system,
                             char text[TA_SHOWN_MAX]) {
  const char *unit = column->cell == TA_CELL_NUMBER ? ta_show_unit(column->show, system) : "";
  if (unit[0] == '\0') return column->title;
  (void)snprintf(text, TA_SHOWN_MAX, "%s %s", column->title, unit);
  return text;
}

int ta_text_width(const char *text) {
  int width = 0;
  for (; *text != '\0'; text++) width += ((unsigned char)*text & 0xc0) != 0x80;
  return width;
}

void ta_table_text(const ta_table *table, ta_unit_system system, ta_buffer *out) {
  char text[TA_SHOWN_MAX];
  enum { COLUMNS_MAX = 32 };
  int width[COLUMNS_MAX];
  for (size_t i = 0; i < table->column_count && i < COLUMNS_MAX; i++) {
    width[i] = ta_text_width(ta_table_heading(&table->column[i], system, text));
    for (size_t k = 0; k < table->row_count; k++) {
      const int w = ta_text_width(ta_table_cell(
          &table->column[i], system, (const char *)table->row + k * table->row_size, text));
      width[i] = w > width[i] ? w : width[i];
    }
  }
  for (size_t k = 0; k <= table->row_count; k++) {
    int blanks = 0;
    for (size_t i = 0; i < table->column_count && i < COLUMNS_MAX; i++) {
      const ta_column *column = &table->column[i];
      const char *shown =
          k == 0 ? ta_table_heading(column, system, text)
                 : ta_table_cell(column, system,
                                 (const char *)table->row + (k - 1) * table->row_size, text);
      const int pad = width[i] - ta_text_width(shown);
      const bool right = column->cell == TA_CELL_NUMBER;
      /* blanks wait for something to stand behind them: none at the end of a line */
      if (shown[0] == '\0') {
        blanks += width[i] + 2;
        continue;
      }
      ta_buffer_add(out, "%*s%s", blanks + (right ? pad : 0), "", shown);
      blanks = 2 + (right ? 0 : pad);
    }
    ta_buffer_add(out, "\n");
  }
}

/* RFC 4180: quoted where a comma, a quote or a line's end stands inside, or a blank at either end. */
static void csv_cell(ta_buffer *out, const char *text) {
  const size_t length = strlen(text);
  const bool blank_end = length > 0 && (text[0] == ' ' || text[length - 1] == ' ');
  if (!blank_end && strpbrk(text, ",\"\r\n") == NULL) {
    ta_buffer_add(out, "%s", text);
    return;
  }
  ta_buffer_add(out, "\"");
  for (; *text != '\0'; text++) ta_buffer_add(out, *text == '"' ? "\"\"" : "%c", *text);
  ta_buffer_add(out, "\"");
}

void ta_table_csv(const ta_table *table, ta_unit_system system, ta_buffer *out) {
  for (size_t i = 0; i < table->column_count; i++) {
    const ta_column *column = &table->column[i];
    const char *unit = column->cell == TA_CELL_NUMBER ? ta_show_unit(column->show, system) : "";
    ta_buffer_add(out, "%s%s%s%s%s", i > 0 ? "," : "", column->name, unit[0] != '\0' ? " (" : "",
                  unit, unit[0] != '\0' ? ")" : "");
  }
  ta_buffer_add(out, "\n");
  for (size_t k = 0; k < table->row_count; k++) {
    const char *row = (const char *)table->row + k * table->row_size;
    char text[TA_SHOWN_MAX];
    for (size_t i = 0; i < table->column_count; i++) {
      const ta_column *column = &table->column[i];
      const double value =
          column->cell == TA_CELL_NUMBER
              ? ta_show_value(column->show, system,
                              *(const double *)(const void *)(row + column->offset))
              : 0.0;
      if (i > 0) ta_buffer_add(out, ",");
      if (column->cell != TA_CELL_NUMBER)
        csv_cell(out, ta_table_cell(column, system, row, text));
      else if (value - value == 0.0) /* finite; an empty cell otherwise */
        ta_buffer_add(out, "%.12g", value);
    }
    ta_buffer_add(out, "\n");
  }
}
