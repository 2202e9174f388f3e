/* json.c - the JSON writer: RFC 8259, C locale, numbers with 12 digits, never NaN. */
#include <math.h>
#include <stdio.h>

#include "table.h"
#include "thinair/compressor_map.h"

static void quoted(ta_buffer *out, const char *text) {
  ta_buffer_add(out, "\"");
  while (*text != '\0') {
    size_t plain = 0;
    while ((unsigned char)text[plain] >= 0x20 && text[plain] != '"' && text[plain] != '\\') plain++;
    if (plain > 0)
      ta_buffer_add(out, "%.*s", (int)plain, text);
    else if (*text == '"' || *text == '\\')
      ta_buffer_add(out, "\\%c", *text);
    else
      ta_buffer_add(out, "\\u%04x", (unsigned)(unsigned char)*text);
    text += plain > 0 ? plain : 1;
  }
  ta_buffer_add(out, "\"");
}

static void number(ta_buffer *out, double value) {
  if (isfinite(value))
    ta_buffer_add(out, "%.12g", value);
  else
    ta_buffer_add(out, "null");
}

static void next(ta_json *json, const char *key) {
  if (json->depth > 0)
    ta_buffer_add(json->out, "%s\n%*s", json->first ? "" : ",", 2 * json->depth, "");
  json->first = false;
  if (key == NULL) return;
  quoted(json->out, key);
  ta_buffer_add(json->out, ": ");
}

void ta_json_open(ta_json *json, const char *key, char bracket) {
  next(json, key);
  ta_buffer_add(json->out, "%c", bracket);
  json->depth++;
  json->first = true;
}

void ta_json_close(ta_json *json, char bracket) {
  json->depth--;
  if (!json->first) ta_buffer_add(json->out, "\n%*s", 2 * json->depth, "");
  ta_buffer_add(json->out, "%c", bracket);
  json->first = false;
  if (json->depth == 0) ta_buffer_add(json->out, "\n");
}

void ta_json_text(ta_json *json, const char *key, const char *text) {
  next(json, key);
  if (text != NULL)
    quoted(json->out, text);
  else
    ta_buffer_add(json->out, "null");
}

void ta_json_number(ta_json *json, const char *key, double value) {
  next(json, key);
  number(json->out, value);
}

void ta_json_bool(ta_json *json, const char *key, bool value) {
  next(json, key);
  ta_buffer_add(json->out, value ? "true" : "false");
}

void ta_json_null(ta_json *json, const char *key) {
  ta_json_text(json, key, NULL);
}

static ta_kind kind_of(const ta_column *column) {
  return ta_show_kind(column->show);
}

static void key_of(const ta_column *column, char *key, size_t size) {
  (void)snprintf(key, size, "%s%s", column->name,
                 column->cell == TA_CELL_NUMBER ? ta_json_suffix(kind_of(column)) : "");
}

static void cell(ta_json *json, const char *key, const ta_column *column, const char *row) {
  const void *at = row + column->offset;
  if (column->cell == TA_CELL_NUMBER)
    ta_json_number(json, key, ta_json_value(kind_of(column), *(const double *)at));
  else if (column->cell == TA_CELL_TEXT)
    ta_json_text(json, key, *(const char *const *)at);
  else
    ta_json_text(json, key, ta_zone_name(*(const ta_zone *)at));
}

void ta_json_cells(ta_json *json, const ta_table *table, size_t row) {
  char key[80];
  for (size_t i = 0; i < table->column_count; i++) {
    key_of(&table->column[i], key, sizeof key);
    cell(json, key, &table->column[i], (const char *)table->row + row * table->row_size);
  }
}

void ta_json_rows(ta_json *json, const char *key, const ta_table *table) {
  ta_json_open(json, key, '[');
  for (size_t i = 0; i < table->row_count; i++) {
    ta_json_open(json, NULL, '{');
    ta_json_cells(json, table, i);
    ta_json_close(json, '}');
  }
  ta_json_close(json, ']');
}

void ta_json_columns(ta_json *json, const ta_table *table) {
  char key[80];
  for (size_t i = 0; i < table->column_count; i++) {
    const ta_column *column = &table->column[i];
    key_of(column, key, sizeof key);
    next(json, key);
    ta_buffer_add(json->out, "[");
    for (size_t k = 0; k < table->row_count; k++) {
      const char *at = (const char *)table->row + k * table->row_size + column->offset;
      if (k > 0) ta_buffer_add(json->out, ", ");
      if (column->cell == TA_CELL_NUMBER) {
        number(json->out, ta_json_value(kind_of(column), *(const double *)(const void *)at));
      } else if (column->cell == TA_CELL_ZONE) {
        quoted(json->out, ta_zone_name(*(const ta_zone *)(const void *)at));
      } else {
        const char *text = *(const char *const *)(const void *)at;
        if (text != NULL)
          quoted(json->out, text);
        else
          ta_buffer_add(json->out, "null");
      }
    }
    ta_buffer_add(json->out, "]");
  }
}
