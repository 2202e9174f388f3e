/* csv_tree.c - a CSV table as a tree. */
#include "csv_tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv_reader.h"

/* Nodes are numbers: adding one may move all the others. */
static int scalar(ta_yaml *yaml, const char *text, int line, int column) {
  const int id = yaml_document_add_scalar(&yaml->tree, NULL, (const unsigned char *)text,
                                          (int)strlen(text), YAML_PLAIN_SCALAR_STYLE);
  yaml_node_t *node = ta_yaml_node(yaml, id);
  if (node == NULL) return 0;
  node->start_mark.line = (size_t)line - 1;
  node->start_mark.column = (size_t)column - 1;
  return id;
}

static int placed(ta_yaml *yaml, int id, const ta_csv_cell *cell) {
  yaml_node_t *node = ta_yaml_node(yaml, id);
  if (node == NULL) return 0;
  node->start_mark.line = (size_t)cell->line - 1;
  node->start_mark.column = (size_t)cell->column - 1;
  return id;
}

static int sequence(ta_yaml *yaml, const ta_csv_cell *cell) {
  return placed(yaml, yaml_document_add_sequence(&yaml->tree, NULL, YAML_BLOCK_SEQUENCE_STYLE),
                cell);
}

static int mapping(ta_yaml *yaml, const ta_csv_cell *cell) {
  return placed(yaml, yaml_document_add_mapping(&yaml->tree, NULL, YAML_BLOCK_MAPPING_STYLE), cell);
}

static void put(ta_yaml *yaml, int map, const char *name, int value, const ta_csv_cell *cell) {
  (void)yaml_document_append_mapping_pair(&yaml->tree, map,
                                          scalar(yaml, name, cell->line, cell->column), value);
}

/* The comment lines at the top that say "key: value", the rest as empty lines, so that places fit;
 * to be freed. */
static char *keys_beside(const char *bytes, size_t size, size_t *length) {
  char *text = malloc(size + 3);
  size_t used = 0;
  const char *c = bytes, *end = bytes + size;
  if (text == NULL) return NULL;
  if (size >= 3 && memcmp(c, "\xef\xbb\xbf", 3) == 0) c += 3;
  while (c < end && (*c == '#' || *c == '\n' || *c == '\r')) {
    const char *stop = memchr(c, '\n', (size_t)(end - c));
    const size_t n = (size_t)((stop != NULL ? stop : end) - c);
    const size_t word = n > 2 ? strspn(c + 1, " ") : 0;
    const size_t name = n > 2 ? strspn(c + 1 + word, "abcdefghijklmnopqrstuvwxyz_") : 0;
    if (*c == '#' && name > 0 && 1 + word + name + 1 < n && c[1 + word + name] == ':' &&
        c[2 + word + name] == ' ') {
      memcpy(text + used, c + 1 + word, n - 1 - word); /* set in alike, whatever the blanks */
      used += n - 1 - word;
    }
    text[used++] = '\n';
    c += n + (stop != NULL ? 1 : 0);
  }
  /* never empty, so that the tree has a root */
  text[used++] = '{';
  text[used++] = '}';
  text[used] = '\0';
  for (size_t i = 0; i + 2 < used; i++)
    if (text[i] != '\n' && text[i] != '\r') { /* a key stands there: no braces needed */
      used -= 2;
      text[used] = '\0';
      break;
    }
  *length = used;
  return text;
}

/* The header row as `columns`, the grouping column apart.  Returns its position, or -1. */
static int read_header(ta_csv *csv, const char *group_by, int columns, ta_yaml *yaml,
                       const char **group_unit) {
  int group = -1;
  for (size_t i = 0; i < csv->count; i++) {
    char heading[200];
    const char *name, *unit;
    (void)snprintf(heading, sizeof heading, "%s", csv->cell[i].text);
    ta_csv_heading(heading, &name, &unit);
    if (group_by != NULL && group < 0 && strcmp(name, group_by) == 0) {
      group = (int)i;
      *group_unit = strrchr(csv->cell[i].text, '(') != NULL ? strrchr(csv->cell[i].text, '(') : "";
      continue;
    }
    const bool is_text = strcmp(name, "mark") == 0;
    const char *taken = unit[0] != '\0' ? unit : (is_text ? "text" : "1");
    put(yaml, columns, name, scalar(yaml, taken, csv->cell[i].line, csv->cell[i].column),
        &csv->cell[i]);
  }
  return group;
}

static void read_rows(ta_csv *csv, int group, const char *group_by, const char *group_unit,
                      int table, ta_yaml *yaml, ta_diagnostics *diagnostics) {
  char last[100] = "";
  const size_t wanted = csv->count;
  int rows = group < 0 ? sequence(yaml, &csv->cell[0]) : 0;
  if (group < 0) put(yaml, table, "rows", rows, &csv->cell[0]);
  while (ta_csv_next(csv, diagnostics)) {
    if (csv->count != wanted) {
      ta_csv_raise(csv, &csv->cell[0], diagnostics, "",
                   "the row has %zu cells, and the header has %zu", csv->count, wanted);
      continue;
    }
    if (group >= 0 && (rows == 0 || strcmp(last, csv->cell[group].text) != 0)) {
      char value[200];
      const ta_csv_cell *cell = &csv->cell[group];
      (void)snprintf(last, sizeof last, "%s", cell->text);
      (void)snprintf(value, sizeof value, "%s %s", cell->text, group_unit);
      const int line = mapping(yaml, cell);
      rows = sequence(yaml, cell);
      put(yaml, line, group_by, scalar(yaml, value, cell->line, cell->column), cell);
      put(yaml, line, "rows", rows, cell);
      (void)yaml_document_append_sequence_item(&yaml->tree, table, line);
    }
    const int row = sequence(yaml, &csv->cell[0]);
    for (size_t i = 0; i < csv->count; i++) {
      const ta_csv_cell *cell = &csv->cell[i];
      if ((int)i == group) continue;
      (void)yaml_document_append_sequence_item(&yaml->tree, row,
                                               scalar(yaml, cell->text, cell->line, cell->column));
    }
    (void)yaml_document_append_sequence_item(&yaml->tree, rows, row);
  }
}

ta_status ta_csv_to_tree(const char *path, char *bytes, size_t size, const char *group_by,
                         ta_yaml *yaml, ta_diagnostics *diagnostics) {
  const size_t errors = diagnostics->errors;
  ta_csv csv;
  size_t length = 0;
  const char *nul = memchr(bytes, '\0', size);
  if (nul != NULL) {
    const ta_csv_cell start = {bytes, 1, 1};
    csv.path = path;
    ta_csv_raise(&csv, &start, diagnostics, "", "this is not a text file: byte %zu is zero",
                 (size_t)(nul - bytes) + 1);
    return TA_ERR_INPUT;
  }
  char *beside = keys_beside(bytes, size, &length);
  if (beside == NULL) return TA_ERR_MEMORY;
  const ta_status status = ta_yaml_parse(path, beside, length, yaml, diagnostics);
  free(beside);
  if (status != TA_OK) return status;

  ta_csv_start(&csv, path, bytes, size);
  if (!ta_csv_next(&csv, diagnostics)) {
    const ta_csv_cell start = {bytes, 1, 1};
    if (diagnostics->errors == errors)
      ta_csv_raise(&csv, &start, diagnostics, "",
                   "there is no header row, such as distance (km),elevation (m)");
  } else {
    const int root = (int)(ta_yaml_root(yaml) - yaml->tree.nodes.start) + 1;
    const char *group_unit = "";
    char unit[60];
    const int columns = mapping(yaml, &csv.cell[0]);
    const int group = read_header(&csv, group_by, columns, yaml, &group_unit);
    put(yaml, root, "columns", columns, &csv.cell[0]);
    /* "(rpm)" -> "rpm"; the cell itself is gone with the next record */
    (void)snprintf(unit, sizeof unit, "%s", group_unit + (group_unit[0] == '('));
    if (strchr(unit, ')') != NULL) *strchr(unit, ')') = '\0';
    if (group_by != NULL && group < 0) {
      ta_csv_raise(&csv, &csv.cell[0], diagnostics, "", "the header has no column %s", group_by);
    } else if (group_by != NULL) {
      const int lines = sequence(yaml, &csv.cell[0]);
      put(yaml, root, "lines", lines, &csv.cell[0]);
      read_rows(&csv, group, group_by, unit, lines, yaml, diagnostics);
    } else {
      read_rows(&csv, -1, NULL, "", root, yaml, diagnostics);
    }
  }
  yaml->written = (int)(yaml->tree.nodes.top - yaml->tree.nodes.start);
  if (diagnostics->errors == errors) return TA_OK;
  ta_yaml_delete(yaml);
  return TA_ERR_INPUT;
}
