/* yaml_reader.c - libyaml's document with the errors in the user's words.
 *
 * Decision  An unclosed bracket is noticed lines later, so the place where it opened is told too.
 */
#include "yaml_reader.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { LARGEST_FILE = 64 * 1024 * 1024, DEEPEST = 64 };

ta_status ta_file_read(const char *path, char **bytes, size_t *size, char *why, size_t why_size) {
  struct stat about;
  FILE *file = NULL;
  char *content = NULL;
  ta_status status = TA_ERR_FILE;
  /* a pipe or a device would hang or never end */
  if (stat(path, &about) != 0) {
    (void)snprintf(why, why_size, "there is no such file");
  } else if (!S_ISREG(about.st_mode)) {
    (void)snprintf(why, why_size, "this is not a regular file");
  } else if (about.st_size > LARGEST_FILE) {
    (void)snprintf(why, why_size, "%lld MiB; files up to %d MiB are taken",
                   (long long)(about.st_size >> 20), LARGEST_FILE >> 20);
  } else if ((file = fopen(path, "rb")) == NULL) {
    (void)snprintf(why, why_size, "it cannot be opened");
  } else if ((content = malloc((size_t)about.st_size + 1)) == NULL) {
    (void)snprintf(why, why_size, "out of memory");
  } else {
    const size_t got = fread(content, 1, (size_t)about.st_size, file);
    if (ferror(file) != 0) {
      (void)snprintf(why, why_size, "it cannot be read");
      free(content);
    } else {
      content[got] = '\0';
      *bytes = content;
      *size = got;
      status = TA_OK;
    }
  }
  if (file != NULL) (void)fclose(file);
  return status;
}

static void raise_at(ta_diagnostics *diagnostics, const char *path, size_t line, size_t column,
                     const char *text) {
  ta_diagnostic *item = ta_raise(diagnostics, TA_ERROR, "", "%s", text);
  if (item == NULL) return;
  (void)snprintf(item->place.file, sizeof item->place.file, "%s", path);
  item->place.line = (int)line;
  item->place.column = (int)column;
}

static void raise_parser_error(const yaml_parser_t *parser, const char *path, const char *bytes,
                               size_t size, ta_diagnostics *diagnostics) {
  char text[TA_MESSAGE_MAX];
  size_t line = parser->problem_mark.line + 1, column = parser->problem_mark.column + 1;
  const char *problem = parser->problem != NULL ? parser->problem : "out of memory";
  if (parser->error == YAML_READER_ERROR) { /* no mark, only a byte offset */
    line = column = 1;
    for (size_t i = 0; i < parser->problem_offset && i < size; i++) {
      column++;
      if (bytes[i] == '\n') line++, column = 1;
    }
    (void)snprintf(text, sizeof text, "this is not YAML text: %s", problem);
  } else if (parser->context != NULL && parser->context_mark.line + 1 != line) {
    (void)snprintf(text, sizeof text, "%s (%s that starts at line %zu, column %zu)", problem,
                   parser->context, parser->context_mark.line + 1,
                   parser->context_mark.column + 1);
  } else {
    (void)snprintf(text, sizeof text, "%s%s%s", problem, parser->context != NULL ? " " : "",
                   parser->context != NULL ? parser->context : "");
  }
  raise_at(diagnostics, path, line, column, text);
}

/* Nesting of the text's brackets where it goes deeper than any of our files can; 0 when it does not.
 * libyaml's time grows with the square of it. */
static bool nests_too_deep(const char *bytes, size_t size, size_t *line, size_t *column) {
  int depth = 0;
  *line = *column = 1;
  for (size_t i = 0; i < size; i++) {
    if (bytes[i] == '[' || bytes[i] == '{') depth++;
    if (bytes[i] == ']' || bytes[i] == '}') depth--;
    if (depth > DEEPEST) return true;
    (*column)++;
    if (bytes[i] == '\n') (*line)++, *column = 1;
  }
  return false;
}

ta_status ta_yaml_parse(const char *path, const char *bytes, size_t size, ta_yaml *yaml,
                        ta_diagnostics *diagnostics) {
  size_t line, column;
  if (nests_too_deep(bytes, size, &line, &column)) {
    raise_at(diagnostics, path, line, column, "brackets nest more than 64 deep here");
    return TA_ERR_INPUT;
  }
  yaml_parser_t parser;
  yaml_document_t more;
  ta_status status = TA_ERR_INPUT;
  if (yaml_parser_initialize(&parser) == 0) return TA_ERR_MEMORY;
  yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, size);
  if (yaml_parser_load(&parser, &yaml->tree) == 0) {
    raise_parser_error(&parser, path, bytes, size, diagnostics);
    yaml_parser_delete(&parser);
    return TA_ERR_INPUT;
  }
  (void)snprintf(yaml->path, sizeof yaml->path, "%s", path);
  yaml->written = (int)(yaml->tree.nodes.top - yaml->tree.nodes.start);
  const yaml_node_t *root = yaml_document_get_root_node(&yaml->tree);
  if (root == NULL) {
    raise_at(diagnostics, path, 1, 1, "the file is empty");
  } else if (root->type != YAML_MAPPING_NODE) {
    raise_at(diagnostics, path, root->start_mark.line + 1, root->start_mark.column + 1,
             "the file must hold `key: value` lines");
  } else if (yaml_parser_load(&parser, &more) == 0) {
    raise_parser_error(&parser, path, bytes, size, diagnostics);
  } else {
    const yaml_node_t *second = yaml_document_get_root_node(&more);
    if (second != NULL)
      raise_at(diagnostics, path, second->start_mark.line + 1, second->start_mark.column + 1,
               "a second document starts here; one is taken");
    else
      status = TA_OK;
    yaml_document_delete(&more);
  }
  if (status != TA_OK) yaml_document_delete(&yaml->tree);
  yaml_parser_delete(&parser);
  return status;
}

void ta_yaml_delete(ta_yaml *yaml) { yaml_document_delete(&yaml->tree); }

yaml_node_t *ta_yaml_root(ta_yaml *yaml) { return yaml_document_get_root_node(&yaml->tree); }

yaml_node_t *ta_yaml_node(ta_yaml *yaml, int id) {
  return yaml_document_get_node(&yaml->tree, id);
}

yaml_node_t *ta_yaml_value(ta_yaml *yaml, const yaml_node_t *node, const char *name,
                           size_t length) {
  if (node == NULL || node->type != YAML_MAPPING_NODE) return NULL;
  for (const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
       pair < node->data.mapping.pairs.top; pair++) {
    const yaml_node_t *key = ta_yaml_node(yaml, pair->key);
    if (key->type == YAML_SCALAR_NODE && key->data.scalar.length == length &&
        memcmp(key->data.scalar.value, name, length) == 0)
      return ta_yaml_node(yaml, pair->value);
  }
  return NULL;
}

const char *ta_yaml_text(const yaml_node_t *node) {
  return node != NULL && node->type == YAML_SCALAR_NODE ? (const char *)node->data.scalar.value
                                                        : NULL;
}

bool ta_yaml_is_null(const yaml_node_t *node) {
  const char *text = ta_yaml_text(node);
  return text != NULL && node->data.scalar.style == YAML_PLAIN_SCALAR_STYLE &&
         (text[0] == '\0' || strcmp(text, "~") == 0 || strcmp(text, "null") == 0);
}

const char *ta_yaml_found(const yaml_node_t *node, char *text, size_t size) {
  if (ta_yaml_is_null(node))
    (void)snprintf(text, size, "nothing");
  else if (node->type == YAML_SCALAR_NODE)
    (void)snprintf(text, size, "\"%.40s\"", (const char *)node->data.scalar.value);
  else
    (void)snprintf(text, size, "%s",
                   node->type == YAML_SEQUENCE_NODE ? "a list" : "a group of keys");
  return text;
}
