/* event_reader.c - walks the parsed files along the schema and fills the event.
 *
 * Three steps: mount (load every file that is named, each at the key that names it), settings
 * (--set and its like, put into the trees, so that there is no second parser), walk (along the
 * schema rows).  Checks raise diagnostics by key; at the end each key is looked up in the trees and
 * gets its place.
 */
#include "thinair/event_reader.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "csv_tree.h"
#include "gpx.h"
#include "metar.h"
#include "thinair/quantity.h"
#include "thinair/schema.h"
#include "yaml_reader.h"

enum { FILES_MAX = 8, COLUMNS_MAX = 16, NAMES_MAX = 32, NAMES_TEXT = 500, LONGEST_NAME = 100 };

typedef struct {
  char mount[TA_KEY_MAX]; /* the key at which the file stands; "" for the event itself */
  ta_yaml yaml;
} mounted;

typedef struct {
  mounted file[FILES_MAX];
  size_t file_count;
  const ta_setting *given; /* as the caller has them */
  ta_setting *setting;     /* the same, with the lowest station's number in their keys */
  char (*setting_key)[TA_KEY_MAX];
  size_t setting_count;
  ta_event *event;
  ta_diagnostics *diagnostics;
  bool station_is_metar; /* the only station was made of a report */
  bool out_of_memory;
} reading;

/* Memory that the event owns. */
static void *take(reading *r, size_t bytes) {
  void *memory = ta_event_allocate(r->event, bytes);
  if (memory == NULL) r->out_of_memory = true;
  return memory;
}

/* One mapping being walked.  `path` is the key as written ("day.stations[1]"), `pattern` the
 * schema's ("day.stations[]"), `base` the struct that its values go into. */
typedef struct scope {
  const struct scope *outer;
  mounted *file;
  yaml_node_t *node;
  char path[TA_KEY_MAX], pattern[TA_KEY_MAX];
  char *base;
} scope;

static void join(char *key, const char *group, const char *name, size_t length) {
  (void)snprintf(key, TA_KEY_MAX, "%s%s%.*s", group, group[0] != '\0' ? "." : "", (int)length,
                 name);
}

static bool key_is_within(const char *key, const char *group) {
  const size_t n = strlen(group);
  return n == 0 || (strncmp(key, group, n) == 0 && strchr(".[", key[n]) != NULL);
}

/* ---- places ---------------------------------------------------------------------------------- */

/* The file whose mount holds the key, the innermost one. */
static mounted *file_of(reading *r, const char *key) {
  mounted *best = NULL;
  for (size_t i = 0; i < r->file_count; i++)
    if (key_is_within(key, r->file[i].mount) &&
        (best == NULL || strlen(r->file[i].mount) > strlen(best->mount)))
      best = &r->file[i];
  return best;
}

/* Position of a name in the mapping `columns`, -1 when it is not there. */
static int column_of(const yaml_node_t *columns, ta_yaml *yaml, const char *name, size_t length) {
  int position = 0;
  if (columns == NULL || columns->type != YAML_MAPPING_NODE) return -1;
  for (const yaml_node_pair_t *pair = columns->data.mapping.pairs.start;
       pair < columns->data.mapping.pairs.top; pair++, position++) {
    const char *key = ta_yaml_text(ta_yaml_node(yaml, pair->key));
    if (key != NULL && strlen(key) == length && strncmp(key, name, length) == 0) return position;
  }
  return -1;
}

/* The node of a key, or the innermost node on the way to it that is there.  *exact tells which. */
static yaml_node_t *node_of(mounted *file, const char *key, bool *exact) {
  ta_yaml *yaml = &file->yaml;
  yaml_node_t *node = ta_yaml_root(yaml), *columns = NULL;
  const char *c = key + strlen(file->mount);
  *exact = true;
  while (*c != '\0') {
    yaml_node_t *next = NULL;
    const size_t length = strcspn(c, ".[");
    if (*c == '.') {
      c++;
      continue;
    }
    if (*c == '[') {
      char *end = NULL;
      const unsigned long index = strtoul(c + 1, &end, 10);
      if (node->type == YAML_SEQUENCE_NODE &&
          index < (size_t)(node->data.sequence.items.top - node->data.sequence.items.start))
        next = ta_yaml_node(yaml, node->data.sequence.items.start[index]);
      c = *end == ']' ? end + 1 : end;
    } else {
      if (node->type == YAML_MAPPING_NODE) {
        yaml_node_t *here = ta_yaml_value(yaml, node, "columns", 7);
        if (here != NULL) columns = here;
        next = ta_yaml_value(yaml, node, c, length);
      } else if (node->type == YAML_SEQUENCE_NODE) { /* a row of cells */
        const int position = column_of(columns, yaml, c, length);
        if (position >= 0 &&
            position < node->data.sequence.items.top - node->data.sequence.items.start)
          next = ta_yaml_node(yaml, node->data.sequence.items.start[position]);
      }
      c += length;
    }
    if (next == NULL) {
      *exact = false;
      return node;
    }
    node = next;
  }
  return node;
}

static void place_of_setting(const ta_setting *setting, ta_place *place) {
  const bool set = strcmp(setting->option, "--set") == 0; /* other options name their key */
  (void)snprintf(place->file, sizeof place->file, "%s%s%s", setting->option, set ? " " : "",
                 set ? setting->key : "");
  place->line = place->column = 0;
}

static size_t common_length(const char *a, const char *b) {
  size_t n = 0;
  while (a[n] != '\0' && a[n] == b[n]) n++;
  return n;
}

static void place_of_node(mounted *file, const yaml_node_t *node, const char *key, const reading *r,
                          ta_place *place) {
  const int id = (int)(node - file->yaml.tree.nodes.start) + 1;
  if (id > file->yaml.written) { /* by the setting of that key, or of one beside it */
    const ta_setting *nearest = &r->setting[0];
    for (size_t i = 1; i < r->setting_count; i++)
      if (common_length(r->setting[i].key, key) >= common_length(nearest->key, key))
        nearest = &r->setting[i];
    place_of_setting(nearest, place);
    return;
  }
  (void)snprintf(place->file, sizeof place->file, "%s", file->yaml.path);
  place->line = (int)node->start_mark.line + 1;
  place->column = (int)node->start_mark.column + 1;
}

/* Where a key was written: a station made of a report stands in the report. */
static const char *written_key(const reading *r, const char *key) {
  return r->station_is_metar && key_is_within(key, "day.stations") ? "day.metar" : key;
}

static void locate(reading *r) {
  for (size_t i = 0; i < r->diagnostics->count; i++) {
    ta_diagnostic *item = &r->diagnostics->item[i];
    bool exact;
    if (item->place.file[0] == '\0') {
      const char *key = written_key(r, item->key);
      mounted *file = file_of(r, key);
      if (file != NULL) place_of_node(file, node_of(file, key, &exact), key, r, &item->place);
    }
    if (item->also_key[0] != '\0') {
      const char *key = written_key(r, item->also_key);
      mounted *file = file_of(r, key);
      if (file != NULL) place_of_node(file, node_of(file, key, &exact), key, r, &item->also);
    }
  }
}

/* Raise an error placed at a node rather than at its key: unknown names, cells, doubled keys. */
static void raise_at_node(reading *r, mounted *file, const yaml_node_t *node, const char *key,
                          const char *text) {
  ta_diagnostic *item = ta_raise(r->diagnostics, TA_ERROR, key, "%s", text);
  if (item != NULL) place_of_node(file, node, key, r, &item->place);
}

/* ---- values ---------------------------------------------------------------------------------- */

static void put_bool(char *base, size_t offset, bool value) {
  if (offset != TA_NOWHERE) memcpy(base + offset, &value, sizeof value);
}
static void put_double(char *base, size_t offset, double value) {
  memcpy(base + offset, &value, sizeof value);
}
static void put_int(char *base, size_t offset, int value) {
  memcpy(base + offset, &value, sizeof value);
}

static bool read_quantity(reading *r, const ta_field *field, const yaml_node_t *node,
                          const char *path, double *si) {
  char found[80], why[300], taken[100];
  const char *text = ta_yaml_text(node);
  if (text == NULL || ta_yaml_is_null(node)) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; %s, taken: %s",
                   ta_yaml_found(node, found, sizeof found), field->about,
                   ta_kind_units(field->kind));
    return false;
  }
  if (ta_quantity_parse(text, field->kind, si, why, sizeof why) != TA_OK) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "%s%s%s%s%s%s", why,
                   field->other_kind != TA_NUMBER ? "; or " : "",
                   field->other_kind != TA_NUMBER ? ta_kind_units(field->other_kind) : "",
                   field->choices != NULL ? "; or the word " : "",
                   field->choices != NULL ? field->choices : "", ta_field_conversion(field, text));
    return false;
  }
  if (!ta_field_takes(field, *si)) {
    ta_field_range(field, ta_field_unit(field, text), taken, sizeof taken);
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "%s is outside what is possible here; %s",
                   ta_yaml_found(node, found, sizeof found), taken);
    return false;
  }
  return true;
}

static bool read_range(reading *r, const ta_field *field, mounted *file, const yaml_node_t *node,
                       const char *path, double *pair) {
  char found[80], element[TA_KEY_MAX];
  if (node->type != YAML_SEQUENCE_NODE ||
      node->data.sequence.items.top - node->data.sequence.items.start != 2) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; %s, taken: [low, high]",
                   ta_yaml_found(node, found, sizeof found), field->about);
    return false;
  }
  bool good = true;
  for (int i = 0; i < 2; i++) {
    (void)snprintf(element, sizeof element, "%s[%d]", path, i);
    good &= read_quantity(r, field, ta_yaml_node(&file->yaml, node->data.sequence.items.start[i]),
                          element, &pair[i]);
  }
  return good;
}

static void read_series(reading *r, const scope *s, const ta_field *field, const yaml_node_t *node,
                        const char *path) {
  char found[80], element[TA_KEY_MAX];
  const bool list = node->type == YAML_SEQUENCE_NODE;
  const size_t count =
      list ? (size_t)(node->data.sequence.items.top - node->data.sequence.items.start) : 0;
  if (count == 0) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; %s, taken: [a, b, ...]",
                   list ? "an empty list" : ta_yaml_found(node, found, sizeof found), field->about);
    return;
  }
  double *values = take(r, count * sizeof *values);
  if (values == NULL) return;
  for (size_t i = 0; i < count; i++) {
    (void)snprintf(element, sizeof element, "%s[%zu]", path, i);
    (void)read_quantity(r, field, ta_yaml_node(&s->file->yaml, node->data.sequence.items.start[i]),
                        element, &values[i]);
  }
  memcpy(s->base + field->offset, &values, sizeof values);
  memcpy(s->base + field->count_offset, &count, sizeof count);
}

/* No control characters, C0 or C1 (in UTF-8 0xc2 and 0x80 to 0x9f). */
static bool is_plain(const char *text) {
  for (const unsigned char *c = (const unsigned char *)text; *c != '\0'; c++)
    if (*c < 0x20 || *c == 0x7f || (*c == 0xc2 && c[1] < 0xa0)) return false;
  return true;
}

static char *read_text(reading *r, const ta_field *field, const yaml_node_t *node,
                       const char *path) {
  char found[80];
  const char *text = ta_yaml_text(node);
  if (text == NULL || ta_yaml_is_null(node)) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; a text is taken",
                   ta_yaml_found(node, found, sizeof found));
    return NULL;
  }
  if (!is_plain(text)) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path,
                   "the text holds a control character; one line of plain text is taken");
    return NULL;
  }
  const double longest = field->high > 0.0 ? field->high : LONGEST_NAME;
  if ((double)strlen(text) > longest) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path,
                   "the text is %zu bytes long; up to %.0f are taken", strlen(text), longest);
    return NULL;
  }
  char *copy = take(r, strlen(text) + 1);
  if (copy != NULL) memcpy(copy, text, strlen(text) + 1);
  return copy;
}

/* Position of a word in "a|b|c"; -1 when it is not there. */
static int choice_of(const char *choices, const char *word) {
  int position = 0;
  const size_t length = strlen(word);
  for (const char *c = choices;; position++) {
    const size_t n = strcspn(c, "|");
    if (n == length && strncmp(c, word, n) == 0) return position;
    if (c[n] == '\0') return -1;
    c += n + 1;
  }
}

static void read_choice(reading *r, const ta_field *field, const yaml_node_t *node,
                        const char *path, char *base) {
  char found[80], words[100];
  const char *text = ta_yaml_text(node);
  const int choice = text != NULL ? choice_of(field->choices, text) : -1;
  if (choice >= 0) {
    put_int(base, field->offset, choice);
    return;
  }
  size_t used = 0;
  for (const char *c = field->choices; *c != '\0' && used + 3 < sizeof words; c++) {
    words[used++] = *c == '|' ? ',' : *c;
    if (*c == '|') words[used++] = ' ';
  }
  words[used] = '\0';
  (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; %s, taken: %s",
                 ta_yaml_found(node, found, sizeof found), field->about, words);
}

/* ---- tables ---------------------------------------------------------------------------------- */

typedef struct {
  const ta_field *field[COLUMNS_MAX];
  const ta_unit *unit[COLUMNS_MAX]; /* NULL: text */
  size_t count;
  mounted *file;
  const yaml_node_t *node;
  char path[TA_KEY_MAX];
} columns;

static void raise_missing(reading *r, const char *path, const char *pattern, const ta_field *field);

/* Raised here where the mapping may do without `columns`, having no `rows`; elsewhere by the walk of
 * the mapping, or of the one around it, that may not. */
static void raise_no_columns(reading *r, const scope *s) {
  char path[TA_KEY_MAX], pattern[TA_KEY_MAX];
  const scope *around = s;
  do {
    join(pattern, around->pattern, "columns", 7);
    const ta_field *field = ta_schema_find(pattern, strlen(pattern));
    if (field != NULL && field->presence == TA_REQUIRED) return;
  } while ((around = around->outer) != NULL);
  join(path, s->path, "columns", 7);
  join(pattern, s->pattern, "columns", 7);
  raise_missing(r, path, pattern, ta_schema_find(pattern, strlen(pattern)));
}

/* The mapping `columns` of this scope or of the nearest one around it. */
static yaml_node_t *columns_node(const scope *s, const scope **where) {
  for (; s != NULL; s = s->outer) {
    yaml_node_t *node = ta_yaml_value(&s->file->yaml, s->node, "columns", 7);
    if (node != NULL) {
      *where = s;
      return node;
    }
  }
  return NULL;
}

static bool read_columns(reading *r, const scope *s, const char *row_pattern, columns *out) {
  const scope *where = NULL;
  yaml_node_t *node = columns_node(s, &where);
  const size_t errors = r->diagnostics->errors;
  char names[NAMES_TEXT], text[TA_MESSAGE_MAX], found[80];
  out->count = 0;
  ta_schema_names(row_pattern, names, sizeof names);
  if (node == NULL) {
    raise_no_columns(r, s);
    return false;
  }
  out->file = where->file;
  out->node = node;
  join(out->path, where->path, "columns", 7);
  if (!ta_key_sound(r->diagnostics, out->path)) return false; /* told once, by an earlier line */
  if (node->type != YAML_MAPPING_NODE) {
    (void)ta_raise(r->diagnostics, TA_ERROR, out->path,
                   "found %s; taken: {name: unit, ...} with the names %s",
                   ta_yaml_found(node, found, sizeof found), names);
    return false;
  }
  for (const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
       pair < node->data.mapping.pairs.top; pair++) {
    yaml_node_t *key = ta_yaml_node(&where->file->yaml, pair->key);
    yaml_node_t *value = ta_yaml_node(&where->file->yaml, pair->value);
    const char *name = ta_yaml_text(key), *unit = ta_yaml_text(value);
    char pattern[TA_KEY_MAX];
    join(pattern, row_pattern, name != NULL ? name : "", name != NULL ? strlen(name) : 0);
    const ta_field *field = name != NULL ? ta_schema_find(pattern, strlen(pattern)) : NULL;
    if (field == NULL) {
      (void)snprintf(text, sizeof text, "no such column: %s; taken: %s",
                     ta_yaml_found(key, found, sizeof found), names);
      raise_at_node(r, where->file, key, out->path, text);
      continue;
    }
    bool doubled = false;
    for (size_t i = 0; i < out->count; i++) doubled |= out->field[i] == field;
    if (doubled || out->count == COLUMNS_MAX) {
      (void)snprintf(text, sizeof text, "the column %.40s stands here twice", name);
      raise_at_node(r, where->file, key, out->path, text);
      continue;
    }
    out->unit[out->count] = NULL;
    if (field->form == TA_FORM_TEXT) {
      if (unit == NULL || strcmp(unit, "text") != 0) {
        (void)snprintf(text, sizeof text, "found %s; the column %.40s takes: text",
                       ta_yaml_found(value, found, sizeof found), name);
        raise_at_node(r, where->file, value, out->path, text);
      }
    } else {
      const bool bare = field->kind == TA_NUMBER || field->kind == TA_RATIO;
      out->unit[out->count] = unit == NULL ? NULL : ta_unit_find(field->kind, unit, strlen(unit));
      if (out->unit[out->count] == NULL && unit != NULL && field->other_kind != TA_NUMBER)
        out->unit[out->count] = ta_unit_find(field->other_kind, unit, strlen(unit));
      if (out->unit[out->count] == NULL) {
        (void)snprintf(
            text, sizeof text, "found %s; the column %.40s takes: %s%s%s%s",
            ta_yaml_found(value, found, sizeof found), name,
            bare ? (field->kind == TA_RATIO ? "1 or %" : "1") : ta_kind_units(field->kind),
            field->other_kind != TA_NUMBER ? ", " : "",
            field->other_kind != TA_NUMBER ? ta_kind_units(field->other_kind) : "",
            ta_field_conversion(field, unit));
        raise_at_node(r, where->file, value, out->path, text);
      }
    }
    out->field[out->count++] = field;
  }
  size_t at = 0, length;
  const char *name;
  while ((name = ta_schema_next_name(row_pattern, &at, &length)) != NULL) {
    char pattern[TA_KEY_MAX];
    join(pattern, row_pattern, name, length);
    const ta_field *field = ta_schema_find(pattern, strlen(pattern));
    bool given = false;
    for (size_t i = 0; i < out->count; i++) given |= out->field[i] == field;
    if (!given && field->presence == TA_REQUIRED)
      (void)ta_raise(r->diagnostics, TA_ERROR, out->path, "the column %.*s is missing: %s",
                     (int)length, name, field->about);
  }
  return errors == r->diagnostics->errors;
}

static void read_cell(reading *r, const columns *c, size_t column, const yaml_node_t *cell,
                      const char *path, size_t row, char *element) {
  const ta_field *field = c->field[column];
  const ta_unit *unit = c->unit[column];
  const char *name = strrchr(field->key, '.') + 1, *text = ta_yaml_text(cell), *rest = NULL;
  char key[TA_KEY_MAX], found[80], taken[100];
  double number = 0.0;
  if (ta_yaml_is_null(cell) && field->presence == TA_OPTIONAL) return;
  if (unit == NULL) {
    (void)snprintf(key, sizeof key, "%s[%zu].%s", path, row, name);
    const char *copy = read_text(r, field, cell, key);
    memcpy(element + field->offset, &copy, sizeof copy);
    return;
  }
  if (text != NULL && ta_number_parse(text, &number, &rest) == TA_OK && *rest == '\0') {
    const double si = ta_to_si(unit, number);
    if (unit->kind != field->kind) { /* its range is that of the kind it is turned into */
      put_double(element, field->other_offset, si);
      put_bool(element, field->other_has_offset, true);
      return;
    }
    if (ta_field_takes(field, si)) {
      put_double(element, field->offset, si);
      put_bool(element, field->has_offset, true);
      return;
    }
    (void)snprintf(key, sizeof key, "%s[%zu].%s", path, row, name);
    ta_field_range(field, unit, taken, sizeof taken);
    (void)ta_raise(r->diagnostics, TA_ERROR, key, "%s is outside what is possible here; %s",
                   ta_yaml_found(cell, found, sizeof found), taken);
    return;
  }
  (void)snprintf(key, sizeof key, "%s[%zu].%s", path, row, name);
  const bool comma =
      text != NULL && strchr(text, ',') != NULL && text[strspn(text, "+-0123456789.,")] == '\0';
  (void)ta_raise(r->diagnostics, TA_ERROR, key, "found %s; a bare number is taken here, %s",
                 ta_yaml_found(cell, found, sizeof found),
                 comma ? "with a point for the decimal mark and no other marks"
                       : "its unit stands in `columns`");
}

static void read_table(reading *r, const scope *s, const ta_field *field, yaml_node_t *node,
                       const char *path) {
  char row_pattern[TA_KEY_MAX], found[80], key[TA_KEY_MAX];
  columns c = {.count = 0};
  (void)snprintf(row_pattern, sizeof row_pattern, "%s[]", field->key);
  const bool good_columns = read_columns(r, s, row_pattern, &c);
  if (node->type != YAML_SEQUENCE_NODE) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; taken: [[...], [...], ...]",
                   ta_yaml_found(node, found, sizeof found));
    return;
  }
  const yaml_node_item_t *item = node->data.sequence.items.start;
  const size_t count = (size_t)(node->data.sequence.items.top - item);
  char *elements = take(r, (count + 1) * field->element_size);
  if (!good_columns || elements == NULL) return;
  for (size_t i = 0; i < count; i++) {
    yaml_node_t *row = ta_yaml_node(&s->file->yaml, item[i]);
    const size_t cells =
        row->type == YAML_SEQUENCE_NODE
            ? (size_t)(row->data.sequence.items.top - row->data.sequence.items.start)
            : 0;
    if (cells != c.count) {
      (void)snprintf(key, sizeof key, "%s[%zu]", path, i);
      if (row->type != YAML_SEQUENCE_NODE)
        (void)ta_raise(r->diagnostics, TA_ERROR, key, "found %s; a row is taken: [...]",
                       ta_yaml_found(row, found, sizeof found));
      else
        (void)ta_raise(r->diagnostics, TA_ERROR, key,
                       "the row has %zu cells, and there are %zu columns", cells, c.count);
      continue;
    }
    for (size_t j = 0; j < cells; j++)
      read_cell(r, &c, j, ta_yaml_node(&s->file->yaml, row->data.sequence.items.start[j]), path, i,
                elements + i * field->element_size);
  }
  memcpy(s->base + field->offset, &elements, sizeof elements);
  memcpy(s->base + field->count_offset, &count, sizeof count);
}

/* ---- the walk -------------------------------------------------------------------------------- */

static void read_group(reading *r, const scope *s);

static void read_list(reading *r, const scope *s, const ta_field *field, yaml_node_t *node,
                      const char *path) {
  char found[80];
  if (node->type != YAML_SEQUENCE_NODE ||
      node->data.sequence.items.top == node->data.sequence.items.start) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; %s, a list is taken: - {...}",
                   node->type == YAML_SEQUENCE_NODE ? "an empty list"
                                                    : ta_yaml_found(node, found, sizeof found),
                   field->about);
    return;
  }
  const yaml_node_item_t *item = node->data.sequence.items.start;
  const size_t count = (size_t)(node->data.sequence.items.top - item);
  char *elements = take(r, count * field->element_size);
  if (elements == NULL) return;
  for (size_t i = 0; i < count; i++) {
    scope inner = {s,  s->file, ta_yaml_node(&s->file->yaml, item[i]),
                   "", "",      elements + i * field->element_size};
    (void)snprintf(inner.path, sizeof inner.path, "%s[%zu]", path, i);
    (void)snprintf(inner.pattern, sizeof inner.pattern, "%s[]", field->key);
    if (inner.node->type != YAML_MAPPING_NODE)
      (void)ta_raise(r->diagnostics, TA_ERROR, inner.path, "found %s; taken: {key: value, ...}",
                     ta_yaml_found(inner.node, found, sizeof found));
    else
      read_group(r, &inner);
  }
  memcpy(s->base + field->offset, &elements, sizeof elements);
  memcpy(s->base + field->count_offset, &count, sizeof count);
}

/* A group that stands in a mapping of its own, or in a file that the scalar names. */
static void read_inner_group(reading *r, const scope *s, yaml_node_t *node, const char *path,
                             const char *pattern) {
  char found[80], names[NAMES_TEXT];
  scope inner = {s, s->file, node, "", "", s->base};
  (void)snprintf(inner.path, sizeof inner.path, "%s", path);
  (void)snprintf(inner.pattern, sizeof inner.pattern, "%s", pattern);
  for (size_t i = 0; i < r->file_count; i++) {
    if (strcmp(r->file[i].mount, path) == 0) {
      inner.file = &r->file[i];
      inner.node = ta_yaml_root(&r->file[i].yaml);
    }
  }
  if (inner.node->type == YAML_MAPPING_NODE) {
    read_group(r, &inner);
    return;
  }
  const ta_field *field = ta_schema_find(pattern, strlen(pattern));
  if (field != NULL && field->form == TA_FORM_FILE && ta_yaml_text(node) != NULL &&
      !ta_yaml_is_null(node))
    return; /* the file could not be read, and that was told */
  ta_schema_names(pattern, names, sizeof names);
  (void)ta_raise(r->diagnostics, TA_ERROR, path, "found %s; a group of keys is taken: %s",
                 ta_yaml_found(node, found, sizeof found), names);
}

static void read_value(reading *r, const scope *s, const ta_field *field, yaml_node_t *node,
                       const char *path, const char *pattern) {
  double pair[2] = {0.0, 0.0};
  const char *text = ta_yaml_text(node);
  if (field == NULL || field->form == TA_FORM_FILE || field->form == TA_FORM_GROUP) {
    if (field != NULL) put_bool(s->base, field->has_offset, true);
    read_inner_group(r, s, node, path, pattern);
    return;
  }
  switch (field->form) {
    case TA_FORM_QUANTITY:
      if (node->type == YAML_MAPPING_NODE && ta_schema_is_group(pattern, strlen(pattern))) {
        read_inner_group(r, s, node, path, pattern);
        return;
      }
      if (field->choices != NULL && text != NULL && choice_of(field->choices, text) >= 0) return;
      if (field->other_kind != TA_NUMBER && text != NULL &&
          ta_quantity_parse(text, field->other_kind, &pair[0], NULL, 0) == TA_OK) {
        put_double(s->base, field->other_offset, pair[0]);
        put_bool(s->base, field->other_has_offset, true);
      } else if (read_quantity(r, field, node, path, &pair[0])) {
        put_double(s->base, field->offset, pair[0]);
        put_bool(s->base, field->has_offset, true);
      }
      return;
    case TA_FORM_RANGE:
      if (read_range(r, field, s->file, node, path, pair)) {
        put_double(s->base, field->offset, pair[0]);
        put_double(s->base, field->offset + sizeof(double), pair[1]);
      }
      return;
    case TA_FORM_TEXT: {
      const char *copy = read_text(r, field, node, path);
      memcpy(s->base + field->offset, &copy, sizeof copy);
      return;
    }
    case TA_FORM_CHOICE:
      if (text == NULL && ta_schema_is_group(pattern, strlen(pattern)))
        read_inner_group(r, s, node, path, pattern);
      else
        read_choice(r, field, node, path, s->base);
      return;
    case TA_FORM_SERIES:
      read_series(r, s, field, node, path);
      return;
    case TA_FORM_LIST:
      read_list(r, s, field, node, path);
      return;
    case TA_FORM_TABLE:
      read_table(r, s, field, node, path);
      return;
    default: /* TA_FORM_COLUMNS: read with the table */
      return;
  }
}

/* The defaults of everything right in a group and in the groups inside it, lists apart. */
static void put_defaults(char *base, const char *pattern) {
  size_t count;
  const ta_field *field = ta_schema(&count);
  const size_t n = strlen(pattern);
  for (size_t i = 0; i < count; i++)
    if (key_is_within(field[i].key, pattern) && field[i].presence == TA_DEFAULT &&
        strchr(field[i].key + n, '[') == NULL) {
      if (field[i].form == TA_FORM_CHOICE)
        put_int(base, field[i].offset, (int)field[i].fallback);
      else
        put_double(base, field[i].offset, field[i].fallback);
    }
}

/* How a name that is not there is told, once for a whole group. */
static void raise_missing(reading *r, const char *path, const char *pattern,
                          const ta_field *field) {
  char names[NAMES_TEXT];
  if (field != NULL && (field->form == TA_FORM_QUANTITY || field->form == TA_FORM_RANGE ||
                        field->form == TA_FORM_SERIES)) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "missing: %s; taken: %s%s", field->about,
                   field->form == TA_FORM_RANGE    ? "[low, high] in "
                   : field->form == TA_FORM_SERIES ? "[a, b, ...] in "
                                                   : "",
                   ta_kind_units(field->kind));
  } else if (field != NULL && field->form == TA_FORM_CHOICE) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "missing: %s; taken: %s", field->about,
                   field->choices);
  } else if (field != NULL && field->form != TA_FORM_FILE && field->form != TA_FORM_GROUP) {
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "missing: %s", field->about);
  } else {
    ta_schema_names(pattern, names, sizeof names);
    (void)ta_raise(r->diagnostics, TA_ERROR, path, "missing: %s%sit holds %s",
                   field != NULL ? field->about : "", field != NULL ? "; " : "", names);
  }
}

static void read_group(reading *r, const scope *s) {
  bool seen[NAMES_MAX] = {false};
  char names[NAMES_TEXT], text[TA_MESSAGE_MAX], found[80], path[TA_KEY_MAX], pattern[TA_KEY_MAX];
  put_defaults(s->base, s->pattern);
  ta_schema_names(s->pattern, names, sizeof names);
  for (const yaml_node_pair_t *pair = s->node->data.mapping.pairs.start;
       pair < s->node->data.mapping.pairs.top; pair++) {
    yaml_node_t *key = ta_yaml_node(&s->file->yaml, pair->key);
    yaml_node_t *value = ta_yaml_node(&s->file->yaml, pair->value);
    const char *written = ta_yaml_text(key), *name;
    size_t at = 0, length = 0, position = 0;
    while ((name = ta_schema_next_name(s->pattern, &at, &length)) != NULL) {
      if (written != NULL && strlen(written) == length && strncmp(written, name, length) == 0)
        break;
      position++;
    }
    if (name == NULL) {
      (void)snprintf(text, sizeof text, "no such key: %s; taken: %s",
                     ta_yaml_found(key, found, sizeof found), names);
      raise_at_node(r, s->file, key, s->path, text);
      continue;
    }
    join(path, s->path, name, length);
    join(pattern, s->pattern, name, length);
    if (seen[position]) {
      raise_at_node(r, s->file, key, path, "the key stands here twice");
      continue;
    }
    seen[position] = true;
    read_value(r, s, ta_schema_find(pattern, strlen(pattern)), value, path, pattern);
  }
  size_t at = 0, length = 0, position = 0;
  const char *name;
  while ((name = ta_schema_next_name(s->pattern, &at, &length)) != NULL) {
    if (seen[position++]) continue;
    join(path, s->path, name, length);
    join(pattern, s->pattern, name, length);
    const ta_field *field = ta_schema_find(pattern, strlen(pattern));
    if (field != NULL && field->form == TA_FORM_TABLE && field->presence == TA_OPTIONAL &&
        ta_yaml_value(&s->file->yaml, s->node, "columns", 7) != NULL)
      raise_missing(r, path, pattern, field); /* columns of no table */
    const bool from_track = r->event->course_is_gpx && strcmp(s->pattern, "course") == 0;
    if ((field == NULL || field->presence == TA_REQUIRED) && !from_track)
      raise_missing(r, path, pattern, field);
  }
}

/* ---- files and settings ---------------------------------------------------------------------- */

/* "name" seen from the folder of the file that names it. */
static void beside(const char *from, const char *name, char *path, size_t size) {
  const char *slash = strrchr(from, '/');
  if (name[0] == '/' || slash == NULL)
    (void)snprintf(path, size, "%s", name);
  else
    (void)snprintf(path, size, "%.*s/%s", (int)(slash - from), from, name);
}

static bool ends_in(const char *path, const char *ending) {
  const size_t n = strlen(path), m = strlen(ending);
  if (n < m) return false;
  for (size_t i = 0; i < m; i++) {
    const char c = path[n - m + i];
    if ((c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c) != ending[i]) return false;
  }
  return true;
}

/* Bytes of a file into a tree.  A track goes straight into the event, and an empty tree stands for
 * it, for settings beside it. */
static ta_status read_bytes(reading *r, const char *mount, const char *path, const char *bytes,
                            size_t size, ta_yaml *yaml) {
  static const char speed[] = "car.turbo.compressor.lines[].speed";
  const bool course = strcmp(mount, "course") == 0,
             compressor = strcmp(mount, "car.turbo.compressor") == 0;
  if (course && ends_in(path, ".csv"))
    return ta_csv_to_tree(path, bytes, size, "course.rows[]", NULL, yaml, r->diagnostics);
  if (compressor && ends_in(path, ".csv"))
    return ta_csv_to_tree(path, bytes, size, "car.turbo.compressor.lines[].rows[]",
                          ta_schema_find(speed, strlen(speed)), yaml, r->diagnostics);
  if (!course || !ends_in(path, ".gpx"))
    return ta_yaml_parse(path, bytes, size, yaml, r->diagnostics);
  const ta_status status =
      ta_gpx_read(path, bytes, size, r->event, &r->event->course, r->diagnostics);
  r->event->course_is_gpx = status == TA_OK;
  return status == TA_OK ? ta_yaml_parse(path, "{}", 2, yaml, r->diagnostics) : status;
}

static mounted *mount_bytes(reading *r, const char *mount, const char *path, const char *bytes,
                            size_t size) {
  if (r->file_count == FILES_MAX) return NULL;
  mounted *file = &r->file[r->file_count];
  const size_t before = r->diagnostics->count;
  const ta_status status = read_bytes(r, mount, path, bytes, size, &file->yaml);
  /* an error of the file's text makes the group that it holds unsound */
  for (size_t i = before; i < r->diagnostics->count; i++) {
    char key[TA_KEY_MAX], *raised = r->diagnostics->item[i].key;
    if (key_is_within(raised, mount)) continue;
    (void)snprintf(key, sizeof key, "%s%s%s", mount, raised[0] != '\0' ? "." : "", raised);
    memcpy(raised, key, sizeof key);
  }
  if (status == TA_ERR_MEMORY) r->out_of_memory = true;
  if (status != TA_OK) return NULL;
  (void)snprintf(file->mount, sizeof file->mount, "%s", mount);
  r->file_count++;
  return file;
}

static mounted *mount_file(reading *r, const char *mount, const char *path) {
  char why[100], *bytes = NULL;
  size_t size = 0;
  bool again = false;
  for (size_t i = 0; i < r->file_count; i++) again |= strcmp(r->file[i].yaml.path, path) == 0;
  if (again) {
    (void)ta_raise(r->diagnostics, TA_ERROR, mount, "%.200s: this file is read already", path);
    return NULL;
  }
  if (ta_file_read(path, &bytes, &size, why, sizeof why) != TA_OK) {
    if (r->file_count > 0) {
      (void)ta_raise(r->diagnostics, TA_ERROR, mount, "%.200s: %s", path, why);
    } else { /* the file that the user named: there is no key to speak of */
      ta_diagnostic *item = ta_raise(r->diagnostics, TA_ERROR, "", "%s", why);
      if (item != NULL) (void)snprintf(item->place.file, sizeof item->place.file, "%s", path);
    }
    return NULL;
  }
  mounted *file = mount_bytes(r, mount, path, bytes, size);
  free(bytes);
  return file;
}

static void raise_setting(reading *r, const ta_setting *setting, const char *text) {
  ta_diagnostic *item = ta_raise(r->diagnostics, TA_ERROR, "", "%s", text);
  if (item != NULL) place_of_setting(setting, &item->place);
}

static int add_scalar(ta_yaml *yaml, const char *text, size_t length) {
  return yaml_document_add_scalar(&yaml->tree, NULL, (const unsigned char *)text, (int)length,
                                  YAML_ANY_SCALAR_STYLE);
}

/* Take a name out of a mapping. */
static void drop_name(ta_yaml *yaml, yaml_node_t *mapping, const char *name, size_t length) {
  yaml_node_pair_t *pair = mapping->data.mapping.pairs.start;
  while (pair < mapping->data.mapping.pairs.top) {
    const yaml_node_t *key = ta_yaml_node(yaml, pair->key);
    if (key->type == YAML_SCALAR_NODE && key->data.scalar.length == length &&
        memcmp(key->data.scalar.value, name, length) == 0) {
      memmove(pair, pair + 1, (size_t)(mapping->data.mapping.pairs.top - pair - 1) * sizeof *pair);
      mapping->data.mapping.pairs.top--;
    } else {
      pair++;
    }
  }
}

/* Put the setting's text where its key stands, making the groups on the way. */
static void apply_setting(reading *r, mounted *file, const ta_setting *setting) {
  ta_yaml *yaml = &file->yaml;
  yaml_node_t *node = ta_yaml_root(yaml);
  const char *c = setting->key + strlen(file->mount);
  if (*c == '.') c++;
  while (true) {
    const size_t length = strcspn(c, ".[");
    if (node->type != YAML_MAPPING_NODE) break;
    const bool last = c[length] == '\0';
    if (last) {
      const int mapping = (int)(node - yaml->tree.nodes.start) + 1;
      for (const char *w = setting->instead_of; w != NULL && *w != '\0';
           w += strcspn(w, "|") + (w[strcspn(w, "|")] == '|'))
        drop_name(yaml, node, w, strcspn(w, "|"));
      drop_name(yaml, node, c, length);
      const int key = add_scalar(yaml, c, length),
                value = add_scalar(yaml, setting->value, strlen(setting->value));
      if (key != 0 && value != 0)
        (void)yaml_document_append_mapping_pair(&yaml->tree, mapping, key, value);
      else
        raise_setting(r, setting, "the value is not UTF-8 text");
      return;
    }
    yaml_node_t *next = ta_yaml_value(yaml, node, c, length);
    if (next == NULL && c[length] == '.' && strchr(c, '[') != NULL) {
      char text[TA_MESSAGE_MAX];
      (void)snprintf(text, sizeof text,
                     "there is no %.*s: the files hold nothing of that key that could be replaced",
                     (int)(c + length - setting->key), setting->key);
      raise_setting(r, setting, text);
      return;
    }
    if (next == NULL && c[length] == '.') {
      const int mapping = (int)(node - yaml->tree.nodes.start) + 1;
      const int key = add_scalar(yaml, c, length),
                inner = yaml_document_add_mapping(&yaml->tree, NULL, YAML_ANY_MAPPING_STYLE);
      (void)yaml_document_append_mapping_pair(&yaml->tree, mapping, key, inner);
      next = ta_yaml_node(yaml, inner);
    }
    c += length;
    while (next != NULL && *c == '[') {
      char *end = NULL;
      const unsigned long index = strtoul(c + 1, &end, 10);
      const bool there =
          next->type == YAML_SEQUENCE_NODE &&
          index < (size_t)(next->data.sequence.items.top - next->data.sequence.items.start);
      c = *end == ']' ? end + 1 : end;
      if (there && *c == '\0') { /* one value of a range or series */
        const int list = (int)(next - yaml->tree.nodes.start) + 1,
                  value = add_scalar(yaml, setting->value, strlen(setting->value));
        if (value != 0)
          ta_yaml_node(yaml, list)->data.sequence.items.start[index] = value;
        else
          raise_setting(r, setting, "the value is not UTF-8 text");
        return;
      }
      next = there ? ta_yaml_node(yaml, next->data.sequence.items.start[index]) : NULL;
    }
    if (*c == '.') c++;
    if (next == NULL || *c == '\0') break;
    node = next;
  }
  if (ta_key_sound(r->diagnostics, setting->key)) /* else its file could not be read */
    raise_setting(r, setting, "the files hold nothing of that key that could be replaced");
}

/* Whether a setting can be set at all; an error is raised when it cannot. */
static const ta_field *setting_field(reading *r, const ta_setting *setting) {
  char pattern[TA_KEY_MAX], text[TA_MESSAGE_MAX];
  ta_schema_pattern(setting->key, pattern);
  const ta_field *field = ta_schema_find(pattern, strlen(pattern));
  if (strlen(setting->key) < TA_KEY_MAX && field != NULL &&
      (field->form == TA_FORM_QUANTITY || field->form == TA_FORM_TEXT ||
       field->form == TA_FORM_CHOICE || field->form == TA_FORM_FILE) &&
      strstr(pattern, "rows[]") == NULL)
    return field;
  const size_t bare = strlen(pattern) - (strlen(pattern) > 2 ? 2 : 0);
  const ta_field *range = ta_schema_find(pattern, bare);
  if (strcmp(pattern + bare, "[]") == 0 && range != NULL &&
      (range->form == TA_FORM_RANGE || range->form == TA_FORM_SERIES))
    return range; /* one value of it */
  ta_schema_taken(pattern, text, sizeof text);
  raise_setting(r, setting, text);
  return NULL;
}

/* Load the files that are named, outer ones first, each after the settings that may rename it. */
static void mount_all(reading *r, const ta_field *const *settable) {
  size_t count;
  const ta_field *field = ta_schema(&count);
  for (size_t i = 0; i < count; i++) {
    if (field[i].form != TA_FORM_FILE) continue;
    mounted *outer = file_of(r, field[i].key);
    if (outer == NULL || strcmp(outer->mount, field[i].key) == 0) continue;
    for (size_t k = 0; k < r->setting_count; k++)
      if (settable[k] == &field[i]) apply_setting(r, outer, &r->setting[k]);
    bool exact;
    const yaml_node_t *node = node_of(outer, field[i].key, &exact);
    if (!exact || ta_yaml_text(node) == NULL || ta_yaml_is_null(node)) continue;
    if (!is_plain(ta_yaml_text(node))) {
      (void)ta_raise(r->diagnostics, TA_ERROR, field[i].key,
                     "the name of the file holds a control character");
      continue;
    }
    char path[TA_FILE_MAX];
    const bool set_here = (int)(node - outer->yaml.tree.nodes.start) + 1 > outer->yaml.written;
    if (set_here) /* typed on the command line: seen from where the user stands */
      (void)snprintf(path, sizeof path, "%s", ta_yaml_text(node));
    else
      beside(outer->yaml.path, ta_yaml_text(node), path, sizeof path);
    (void)mount_file(r, field[i].key, path);
  }
}

/* Number of the lowest station, as it will be read; -1 when there is none. */
static int lowest_station(reading *r) {
  const char *key = "day.stations";
  mounted *file = file_of(r, key);
  bool exact;
  int lowest = -1;
  double lowest_m = HUGE_VAL, elevation_m;
  if (file == NULL) return -1;
  const yaml_node_t *list = node_of(file, key, &exact);
  if (!exact || list->type != YAML_SEQUENCE_NODE) return -1;
  const yaml_node_item_t *item = list->data.sequence.items.start;
  for (int i = 0; item + i < list->data.sequence.items.top; i++) {
    const char *text = ta_yaml_text(
        ta_yaml_value(&file->yaml, ta_yaml_node(&file->yaml, item[i]), "elevation", 9));
    if (text == NULL || ta_quantity_parse(text, TA_LENGTH, &elevation_m, NULL, 0) != TA_OK ||
        !(elevation_m < lowest_m))
      continue;
    lowest = i;
    lowest_m = elevation_m;
  }
  return lowest;
}

/* "day.stations[lowest].temperature" -> "day.stations[2].temperature" */
static void number_lowest(reading *r, size_t k, int number) {
  const char *given = r->given[k].key, *word = strstr(given, "[lowest]");
  if (word == NULL)
    (void)snprintf(r->setting_key[k], TA_KEY_MAX, "%s", given);
  else
    (void)snprintf(r->setting_key[k], TA_KEY_MAX, "%.*s[%d]%s", (int)(word - given), given, number,
                   word + strlen("[lowest]"));
}

static bool name_lowest(reading *r, size_t k) {
  if (strstr(r->given[k].key, "[lowest]") == NULL) return true;
  const int lowest = lowest_station(r);
  if (lowest >= 0)
    number_lowest(r, k, lowest);
  else if (k == 0 || strcmp(r->given[k - 1].option, r->given[k].option) != 0) /* once is enough */
    raise_setting(r, &r->setting[k],
                  "there is no station whose reading could be replaced: --day takes another "
                  "day file, --set day.metar another report");
  return lowest >= 0;
}

static void fill(reading *r, const char *part) {
  const ta_field **settable = calloc(r->setting_count + 1, sizeof *settable); /* NULL: it is not */
  if (settable == NULL) {
    r->out_of_memory = true;
    return;
  }
  for (size_t k = 0; k < r->setting_count; k++) settable[k] = setting_field(r, &r->setting[k]);
  mount_all(r, settable);
  for (size_t k = 0; k < r->setting_count; k++) {
    if (settable[k] == NULL || !name_lowest(r, k)) continue;
    mounted *file = file_of(r, r->setting[k].key);
    if (file == NULL || strcmp(r->setting[k].key, part) == 0)
      raise_setting(r, &r->setting[k], "the file that is read does not hold that key");
    else if (settable[k]->form != TA_FORM_FILE)
      apply_setting(r, file, &r->setting[k]);
  }
  free(settable);
  scope outermost = {NULL, &r->file[0], ta_yaml_root(&r->file[0].yaml), "", "", (char *)r->event};
  (void)snprintf(outermost.path, sizeof outermost.path, "%s", part);
  (void)snprintf(outermost.pattern, sizeof outermost.pattern, "%s", part);
  read_group(r, &outermost);
}

/* A report is a station with an altimeter setting, at the aerodrome. */
static void make_metar_station(reading *r) {
  ta_event *event = r->event;
  ta_metar metar;
  char why[120];
  if (!ta_key_sound(r->diagnostics, "day")) return;
  if (event->metar == NULL) {
    if (event->has_metar_elevation)
      (void)ta_raise(r->diagnostics, TA_ERROR, "day.elevation",
                     "this is the elevation of a metar, and there is none; a station has its own");
    return;
  }
  if (event->day.station_count > 0 || event->day_is_isa) {
    (void)ta_raise_relation(r->diagnostics, "day.metar",
                            event->day_is_isa ? "day.isa" : "day.stations",
                            "of metar, stations and isa one is taken");
    return;
  }
  if (!event->has_metar_elevation) {
    (void)ta_raise(r->diagnostics, TA_ERROR, "day.elevation",
                   "missing: the aerodrome's elevation, with metar; taken: %s",
                   ta_kind_units(TA_LENGTH));
    return;
  }
  if (ta_metar_read(event->metar, &metar, why, sizeof why) != TA_OK) {
    (void)ta_raise(r->diagnostics, TA_ERROR, "day.metar", "%s", why);
    return;
  }
  ta_station *station = take(r, sizeof *station);
  if (station == NULL) return;
  *station = (ta_station){.name = "METAR",
                          .elevation_m = event->metar_elevation_m,
                          .temperature_k = metar.temperature_k,
                          .qnh_pa = metar.qnh_pa,
                          .has_qnh = true,
                          .dew_point_k = metar.dew_point_k,
                          .has_dew_point = metar.has_dew_point};
  event->day.station = station;
  event->day.station_count = 1;
  r->station_is_metar = true;
  (void)ta_raise(r->diagnostics, TA_WARNING, "day.metar",
                 "of the report of day %d, %02d:%02d UTC, temperatures and the altimeter setting "
                 "are used, rounded as they are; wind, clouds and weather are not",
                 metar.day, metar.hour, metar.minute);
}

/* A key of the schema that may be left out, but not here. */
static void need(reading *r, const char *key) {
  mounted *file = file_of(r, key);
  bool exact;
  if (file == NULL || !ta_key_sound(r->diagnostics, key)) return;
  const yaml_node_t *node = node_of(file, key, &exact);
  if (!exact || ta_yaml_is_null(node)) raise_missing(r, key, key, ta_schema_find(key, strlen(key)));
}

static void finish(reading *r) {
  locate(r);
  for (size_t i = 0; i < r->file_count; i++) ta_yaml_delete(&r->file[i].yaml);
  free(r->setting);
  free(r->setting_key);
  free(r);
}

/* Read from bytes, or from the file at path where bytes is NULL.  needed may be NULL. */
static ta_status read_all(const char *part, const char *path, const char *bytes, size_t size,
                          const ta_setting *settings, size_t setting_count, const char *needed,
                          ta_event *event, ta_diagnostics *diagnostics) {
  reading *r = calloc(1, sizeof *r);
  if (r == NULL) return TA_ERR_MEMORY;
  memset(event, 0, sizeof *event);
  r->event = event;
  r->diagnostics = diagnostics;
  r->given = settings;
  r->setting = calloc(setting_count + 1, sizeof *r->setting);
  r->setting_key = calloc(setting_count + 1, sizeof *r->setting_key);
  if (r->setting == NULL || r->setting_key == NULL) {
    finish(r);
    return TA_ERR_MEMORY;
  }
  for (size_t k = 0; k < setting_count; k++) {
    r->setting[k] = settings[k];
    r->setting[k].key = r->setting_key[k];
    number_lowest(r, k, 0); /* the files tell which, once they are read */
  }
  r->setting_count = setting_count;
  const mounted *file =
      bytes != NULL ? mount_bytes(r, part, path, bytes, size) : mount_file(r, part, path);
  if (file != NULL) {
    fill(r, part);
    make_metar_station(r);
    if (ta_event_complete(event, diagnostics) == TA_ERR_MEMORY) r->out_of_memory = true;
    (void)ta_event_check(event, part, diagnostics);
    if (needed != NULL) need(r, needed);
  }
  const bool out_of_memory = r->out_of_memory || (file == NULL && diagnostics->errors == 0);
  finish(r);
  if (!out_of_memory && diagnostics->errors == 0) return TA_OK;
  ta_event_free(event);
  return out_of_memory ? TA_ERR_MEMORY : TA_ERR_INPUT;
}

ta_status ta_event_read_bytes(const char *path, const char *bytes, size_t size,
                              const ta_setting *settings, size_t setting_count, ta_event *event,
                              ta_diagnostics *diagnostics) {
  if (path == NULL || bytes == NULL || event == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  return read_all("", path, bytes, size, settings, setting_count, NULL, event, diagnostics);
}

ta_status ta_event_read_part_bytes(const char *part, const char *path, const char *bytes,
                                   size_t size, ta_event *event, ta_diagnostics *diagnostics) {
  if (part == NULL || path == NULL || bytes == NULL || event == NULL || diagnostics == NULL)
    return TA_ERR_ARGUMENT;
  return read_all(part, path, bytes, size, NULL, 0, NULL, event, diagnostics);
}

ta_status ta_event_read_needing(const char *path, const ta_setting *settings, size_t setting_count,
                                const char *needed, ta_event *event, ta_diagnostics *diagnostics) {
  char file[TA_FILE_MAX];
  struct stat about;
  if (path == NULL || event == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  const bool folder = stat(path, &about) == 0 && S_ISDIR(about.st_mode);
  (void)snprintf(file, sizeof file, "%s%s", path,
                 !folder ? "" : (path[strlen(path) - 1] == '/' ? "event.yaml" : "/event.yaml"));
  return read_all("", file, NULL, 0, settings, setting_count, needed, event, diagnostics);
}

ta_status ta_event_read(const char *path, const ta_setting *settings, size_t setting_count,
                        ta_event *event, ta_diagnostics *diagnostics) {
  return ta_event_read_needing(path, settings, setting_count, NULL, event, diagnostics);
}

ta_status ta_event_read_part(const char *part, const char *path, const ta_setting *settings,
                             size_t setting_count, ta_event *event, ta_diagnostics *diagnostics) {
  if (part == NULL || path == NULL || event == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  return read_all(part, path, NULL, 0, settings, setting_count, NULL, event, diagnostics);
}
