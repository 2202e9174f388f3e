/* csv_tree.c - a CSV table as a tree. */
#include "csv_tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv_reader.h"

enum { LINES_COMPARED = 64 }; /* a compressor map holds fewer */

typedef struct {
  ta_yaml *yaml;
  ta_diagnostics *diagnostics;
  const char *rows;
  const ta_field *group;
  const char *group_name, *group_unit;
  int group_column; /* -1: none */
  bool out_of_memory;
} tree;

/* Nodes are numbers, 0 for none: adding one may move all the others. */
static int placed(tree *t, int id, const ta_csv_cell *cell) {
  yaml_node_t *node = ta_yaml_node(t->yaml, id);
  if (node == NULL) {
    t->out_of_memory = true;
    return 0;
  }
  node->start_mark.line = (size_t)cell->line - 1;
  node->start_mark.column = (size_t)cell->column - 1;
  return id;
}

/* A cell is text as it stands: only an empty one stands for nothing. */
static int scalar(tree *t, const char *text, const ta_csv_cell *cell) {
  const yaml_scalar_style_t style =
      text[0] != '\0' ? YAML_DOUBLE_QUOTED_SCALAR_STYLE : YAML_PLAIN_SCALAR_STYLE;
  return placed(t,
                yaml_document_add_scalar(&t->yaml->tree, NULL, (const unsigned char *)text,
                                         (int)strlen(text), style),
                cell);
}

static int sequence(tree *t, const ta_csv_cell *cell) {
  return placed(t, yaml_document_add_sequence(&t->yaml->tree, NULL, YAML_BLOCK_SEQUENCE_STYLE),
                cell);
}

static int mapping(tree *t, const ta_csv_cell *cell) {
  return placed(t, yaml_document_add_mapping(&t->yaml->tree, NULL, YAML_BLOCK_MAPPING_STYLE), cell);
}

static void put(tree *t, int map, const char *name, int value, const ta_csv_cell *cell) {
  const int key = scalar(t, name, cell);
  if (map == 0 || key == 0 || value == 0 ||
      yaml_document_append_mapping_pair(&t->yaml->tree, map, key, value) == 0)
    t->out_of_memory = true;
}

static void append(tree *t, int list, int item) {
  if (list == 0 || item == 0 || yaml_document_append_sequence_item(&t->yaml->tree, list, item) == 0)
    t->out_of_memory = true;
}

/* Bytes of the character of UTF-8 that begins here; 0 where none does. */
static size_t character(const unsigned char *c, const unsigned char *end) {
  const size_t length = *c < 0x80 ? 1 : *c < 0xc2 ? 0 : *c < 0xe0 ? 2 : *c < 0xf0 ? 3 : 4;
  if (*c == 0 || *c > 0xf4 || length > (size_t)(end - c)) return 0;
  for (size_t i = 1; i < length; i++)
    if ((c[i] & 0xc0) != 0x80) return 0;
  const bool overlong = (*c == 0xe0 && c[1] < 0xa0) || (*c == 0xf0 && c[1] < 0x90);
  return overlong || (*c == 0xf4 && c[1] > 0x8f) ? 0 : length;
}

static bool check_text(const ta_csv *csv, const char *bytes, size_t size, ta_diagnostics *d) {
  const unsigned char *c = (const unsigned char *)bytes, *end = c + size;
  ta_csv_cell at = {NULL, 1, 1};
  if (size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0) c += 3;
  for (size_t length; c < end; c += length) {
    length = character(c, end);
    if (length == 0) {
      ta_csv_raise(csv, &at, d, "",
                   *c == 0 ? "this is not a text file: a zero byte stands here"
                           : "this is not UTF-8 text: save the table as UTF-8");
      return false;
    }
    at.column++;
    if (*c == '\n') at.line++, at.column = 1;
  }
  return true;
}

/* Lines of the file one after the other. */
typedef struct {
  const char *text;
  size_t number; /* from 0 */
} line_walk;

/* What stands before the key in a comment line "# key: value"; 0 for another line.  Lines are asked
 * for in order. */
static size_t before_key(line_walk *line, size_t number) {
  while (line->number < number && strchr(line->text, '\n') != NULL) {
    line->text = strchr(line->text, '\n') + 1;
    line->number++;
  }
  const char *c = line->text;
  if (line->number != number || *c != '#') return 0;
  const size_t before = 1 + strspn(c + 1, " "),
               name = strspn(c + before, "abcdefghijklmnopqrstuvwxyz_");
  return name > 0 && c[before + name] == ':' && c[before + name + 1] == ' ' ? before : 0;
}

/* Bytes of text up to a line end of YAML, which knows more of them than the table does. */
static size_t text_length(const char *c) {
  size_t n = 0;
  while (strchr("\r\n", c[n]) == NULL && strncmp(c + n, "\xc2\x85", 2) != 0 &&
         strncmp(c + n, "\xe2\x80\xa8", 3) != 0 && strncmp(c + n, "\xe2\x80\xa9", 3) != 0)
    n++;
  return n;
}

/* The comment lines at the top that hold keys, each from its key on, the others as empty lines.
 * To be freed. */
static char *keys_beside(const char *bytes) {
  char *text = malloc(strlen(bytes) + sizeof "\n{}"), *to = text;
  bool any = false;
  line_walk line = {bytes, 0};
  if (text == NULL) return NULL;
  for (const char *c = bytes; *c == '#' || *c == '\n' || *c == '\r';) {
    const size_t length = strcspn(c, "\n"), before = before_key(&line, line.number);
    if (before > 0) {
      const size_t n = text_length(c + before);
      memcpy(to, c + before, n);
      to += n;
      any = true;
    }
    c += length;
    if (*c == '\n') *to++ = *c++;
    line = (line_walk){c, line.number + 1};
  }
  memcpy(to, any ? "" : "{}", any ? 1 : 3); /* never empty, so that the tree has a root */
  return text;
}

/* Parse the keys beside the table, and put their places back to where they stand in the file. */
static ta_status parse_keys(const char *path, const char *bytes, ta_yaml *yaml,
                            ta_diagnostics *diagnostics) {
  const size_t before = diagnostics->count;
  char *text = keys_beside(bytes);
  if (text == NULL) return TA_ERR_MEMORY;
  const ta_status status = ta_yaml_parse(path, text, strlen(text), yaml, diagnostics);
  free(text);
  line_walk line = {bytes, 0};
  for (size_t i = before; i < diagnostics->count; i++) {
    ta_place *place = &diagnostics->item[i].place;
    place->column += (int)before_key(&line, (size_t)place->line - 1);
  }
  if (status != TA_OK) return status;
  for (yaml_node_t *node = yaml->tree.nodes.start; node < yaml->tree.nodes.top; node++)
    node->start_mark.column += before_key(&line, node->start_mark.line);
  return TA_OK;
}

/* The grouping column of the header; false when it cannot be used. */
static bool read_group_heading(tree *t, const ta_csv *csv, size_t i, const char *unit) {
  const ta_field *group = t->group;
  const size_t length = strlen(unit);
  if (t->group_column >= 0) {
    ta_csv_raise(csv, &csv->cell[i], t->diagnostics, "columns", "the column %s stands here twice",
                 t->group_name);
    return false;
  }
  t->group_column = (int)i;
  t->group_unit = unit;
  if (ta_unit_find(group->kind, unit, length) != NULL ||
      (group->other_kind != TA_NUMBER && ta_unit_find(group->other_kind, unit, length) != NULL))
    return true;
  ta_csv_raise(csv, &csv->cell[i], t->diagnostics, "columns",
               "found %s%.40s%s; the column %s takes: %s%s%s%s", length > 0 ? "\"" : "no unit",
               unit, length > 0 ? "\"" : "", t->group_name, ta_kind_units(group->kind),
               group->other_kind != TA_NUMBER ? ", " : "",
               group->other_kind != TA_NUMBER ? ta_kind_units(group->other_kind) : "",
               ta_field_conversion(group, unit));
  return false;
}

/* The header row as `columns`, the grouping column apart. */
static bool read_header(tree *t, const ta_csv *csv, int columns) {
  bool good = true;
  for (size_t i = 0; i < csv->count; i++) {
    const char *name, *unit;
    char key[TA_KEY_MAX];
    ta_csv_heading(csv->cell[i].text, &name, &unit);
    if (t->group != NULL && strcmp(name, t->group_name) == 0) {
      good = read_group_heading(t, csv, i, unit) && good;
      continue;
    }
    (void)snprintf(key, sizeof key, "%s.%s", t->rows, name);
    const ta_field *field = ta_schema_find(key, strlen(key));
    if (unit[0] == '\0' && field != NULL && field->form == TA_FORM_TEXT) unit = "text";
    if (unit[0] == '\0' && field != NULL && (field->kind == TA_NUMBER || field->kind == TA_RATIO))
      unit = "1";
    put(t, columns, name, scalar(t, unit, &csv->cell[i]), &csv->cell[i]);
  }
  if (t->group != NULL && t->group_column < 0) {
    ta_csv_raise(csv, &csv->cell[0], t->diagnostics, "columns", "the column %s is missing: %s",
                 t->group_name, t->group->about);
    good = false;
  }
  return good;
}

/* A new element of `lines`; returns its rows.  0 when this value had rows before. */
static int begin_line(tree *t, const ta_csv *csv, int lines, ta_csv_cell *first, size_t *count) {
  const ta_csv_cell *cell = &csv->cell[t->group_column];
  char value[100];
  for (size_t i = 0; i < *count && i < LINES_COMPARED; i++) {
    if (strcmp(first[i].text, cell->text) != 0) continue;
    ta_csv_raise(csv, cell, t->diagnostics, "lines",
                 "the rows of %s %.40s stand apart: others begin at line %d; all points of one "
                 "line are taken together, from surge to choke",
                 t->group_name, cell->text, first[i].line);
    return 0;
  }
  if (*count < LINES_COMPARED) first[*count] = *cell;
  ++*count;
  const int line = mapping(t, cell), rows = sequence(t, cell);
  const bool fits = strlen(cell->text) + strlen(t->group_unit) + 2 <= sizeof value;
  (void)snprintf(value, sizeof value, "%s %s", cell->text, fits ? t->group_unit : "");
  put(t, line, t->group_name, scalar(t, fits ? value : cell->text, cell), cell);
  put(t, line, "rows", rows, cell);
  append(t, lines, line);
  return rows;
}

static void read_rows(tree *t, ta_csv *csv, int list) {
  static const char *const empty = "";
  ta_csv_cell first[LINES_COMPARED];
  const char *last = empty;
  const size_t wanted = csv->count;
  const int group = t->group_column;
  size_t lines = 0;
  int rows = group < 0 ? list : 0;
  while (!t->out_of_memory && ta_csv_next(csv, t->diagnostics)) {
    if (csv->count != wanted) {
      ta_csv_raise(csv, &csv->cell[0], t->diagnostics, group < 0 ? "rows" : "lines",
                   "the row has %zu cells, and the header has %zu", csv->count, wanted);
      continue;
    }
    if (group >= 0 && (lines == 0 || strcmp(last, csv->cell[group].text) != 0)) {
      rows = begin_line(t, csv, list, first, &lines);
      if (rows == 0) return;
      last = csv->cell[group].text;
    }
    const int row = sequence(t, &csv->cell[0]);
    for (size_t i = 0; i < csv->count; i++)
      if ((int)i != group) append(t, row, scalar(t, csv->cell[i].text, &csv->cell[i]));
    append(t, rows, row);
  }
}

static ta_status read_table(tree *t, ta_csv *csv) {
  const ta_csv_cell start = {NULL, 1, 1};
  const size_t errors = t->diagnostics->errors;
  if (!ta_csv_next(csv, t->diagnostics)) {
    if (t->diagnostics->errors == errors)
      ta_csv_raise(csv, &start, t->diagnostics, "",
                   "there is no header row, such as distance (km),elevation (m)");
    return TA_ERR_INPUT;
  }
  const ta_csv_cell head = csv->cell[0];
  const int root = (int)(ta_yaml_root(t->yaml) - t->yaml->tree.nodes.start) + 1,
            columns = mapping(t, &head), list = sequence(t, &head);
  put(t, root, "columns", columns, &head);
  put(t, root, t->group != NULL ? "lines" : "rows", list, &head);
  if (!read_header(t, csv, columns)) return TA_ERR_INPUT;
  read_rows(t, csv, list);
  return t->out_of_memory ? TA_ERR_MEMORY : TA_OK;
}

ta_status ta_csv_to_tree(const char *path, const char *bytes, size_t size, const char *rows,
                         const ta_field *group, ta_yaml *yaml, ta_diagnostics *diagnostics) {
  tree t = {.yaml = yaml,
            .diagnostics = diagnostics,
            .rows = rows,
            .group = group,
            .group_name = group != NULL ? strrchr(group->key, '.') + 1 : NULL,
            .group_column = -1};
  ta_csv csv;
  char *copy = malloc(size + 1);
  if (copy == NULL) return TA_ERR_MEMORY;
  memcpy(copy, bytes, size);
  ta_csv_start(&csv, path, copy, size);
  ta_status status = check_text(&csv, copy, size, diagnostics) ? TA_OK : TA_ERR_INPUT;
  if (status == TA_OK) status = parse_keys(path, csv.next, yaml, diagnostics);
  if (status == TA_OK) {
    status = read_table(&t, &csv);
    yaml->written = (int)(yaml->tree.nodes.top - yaml->tree.nodes.start);
    if (status != TA_OK) ta_yaml_delete(yaml);
  }
  free(copy);
  return status;
}
