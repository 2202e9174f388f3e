/* yaml_reader.c - libyaml's document with the errors in the user's words.
 *
 * Decision  An unclosed bracket is noticed lines later, so the place where it opened is told too.
 */
#include "yaml_reader.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { LARGEST_FILE = 64 * 1024 * 1024, DEEPEST = 64, SHOWN_MAX = 40 };

ta_status ta_file_read(const char *path, char **bytes, size_t *size, char *why, size_t why_size) {
  struct stat about;
  FILE *file = NULL;
  char *content = NULL;
  ta_status status = TA_ERR_FILE;
  /* a pipe or a device would hang or never end */
  if (strlen(path) >= TA_FILE_MAX - 1) {
    (void)snprintf(why, why_size, "the name is too long; up to %d bytes are taken",
                   TA_FILE_MAX - 2);
  } else if (stat(path, &about) != 0) {
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

void ta_yaml_raise_at(ta_diagnostics *diagnostics, const char *path, size_t line, size_t column,
                      const char *text) {
  ta_diagnostic *item = ta_raise(diagnostics, TA_ERROR, "", "%s", text);
  if (item == NULL) return;
  (void)snprintf(item->place.file, sizeof item->place.file, "%s", path);
  item->place.line = (int)line;
  item->place.column = (int)column;
}

void ta_yaml_raise_problem(const yaml_parser_t *parser, const char *path, const char *bytes,
                           size_t size, ta_diagnostics *diagnostics) {
  char text[TA_MESSAGE_MAX];
  size_t line = parser->problem_mark.line + 1, column = parser->problem_mark.column + 1;
  const char *problem = parser->problem != NULL ? parser->problem : "out of memory";
  if (parser->error == YAML_READER_ERROR) { /* no mark, only a byte offset */
    line = column = 1;
    for (size_t i = 0; i < parser->problem_offset && i < size; i++) {
      if (((unsigned char)bytes[i] & 0xc0) != 0x80) column++; /* of a character, its first byte */
      if (bytes[i] == '\n') line++, column = 1;
    }
    (void)snprintf(text, sizeof text, "this is not YAML text: %s", problem);
  } else if (parser->context != NULL && parser->context_mark.line + 1 != line) {
    (void)snprintf(text, sizeof text, "%s (%s that starts at line %zu, column %zu)", problem,
                   parser->context, parser->context_mark.line + 1, parser->context_mark.column + 1);
  } else {
    (void)snprintf(text, sizeof text, "%s%s%s", problem, parser->context != NULL ? " " : "",
                   parser->context != NULL ? parser->context : "");
  }
  ta_yaml_raise_at(diagnostics, path, line, column, text);
}

/* An anchor or a reference to one: a few of them can stand for more values than memory holds. */
static bool is_anchored(const yaml_event_t *event) {
  switch (event->type) {
    case YAML_ALIAS_EVENT:
      return true;
    case YAML_SCALAR_EVENT:
      return event->data.scalar.anchor != NULL;
    case YAML_SEQUENCE_START_EVENT:
      return event->data.sequence_start.anchor != NULL;
    case YAML_MAPPING_START_EVENT:
      return event->data.mapping_start.anchor != NULL;
    default:
      return false;
  }
}

/* Parse once without building a tree, which deep nesting could make huge. */
static ta_status check_events(const char *path, const char *bytes, size_t size,
                              ta_diagnostics *diagnostics) {
  yaml_parser_t parser;
  yaml_event_t event;
  int depth = 0, documents = 0;
  bool ended = false;
  const char *wrong = NULL;
  if (yaml_parser_initialize(&parser) == 0) return TA_ERR_MEMORY;
  yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, size);
  while (wrong == NULL && !ended) {
    if (yaml_parser_parse(&parser, &event) == 0) {
      ta_yaml_raise_problem(&parser, path, bytes, size, diagnostics);
      break;
    }
    switch (event.type) {
      case YAML_SEQUENCE_START_EVENT:
      case YAML_MAPPING_START_EVENT:
        if (++depth > DEEPEST) wrong = "the text nests too deep here; 64 levels are taken";
        break;
      case YAML_SEQUENCE_END_EVENT:
      case YAML_MAPPING_END_EVENT:
        depth--;
        break;
      case YAML_DOCUMENT_START_EVENT:
        if (++documents > 1) wrong = "a second document starts here; one is taken";
        break;
      case YAML_SCALAR_EVENT:
        if (strlen((const char *)event.data.scalar.value) != event.data.scalar.length)
          wrong = "the text holds a zero byte";
        break;
      case YAML_STREAM_END_EVENT:
        ended = true;
        break;
      default:
        break;
    }
    if (is_anchored(&event)) wrong = "anchors and references are not taken; write the values out";
    if (wrong != NULL)
      ta_yaml_raise_at(diagnostics, path, event.start_mark.line + 1, event.start_mark.column + 1,
                       wrong);
    yaml_event_delete(&event);
  }
  yaml_parser_delete(&parser);
  return wrong == NULL && ended ? TA_OK : TA_ERR_INPUT;
}

ta_status ta_yaml_parse(const char *path, const char *bytes, size_t size, ta_yaml *yaml,
                        ta_diagnostics *diagnostics) {
  ta_status status = check_events(path, bytes, size, diagnostics);
  if (status != TA_OK) return status;
  yaml_parser_t parser;
  if (yaml_parser_initialize(&parser) == 0) return TA_ERR_MEMORY;
  yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, size);
  const bool loaded = yaml_parser_load(&parser, &yaml->tree) != 0;
  yaml_parser_delete(&parser);
  if (!loaded) return TA_ERR_MEMORY; /* the text is sound, so nothing else is left */
  (void)snprintf(yaml->path, sizeof yaml->path, "%s", path);
  yaml->written = (int)(yaml->tree.nodes.top - yaml->tree.nodes.start);
  const yaml_node_t *root = yaml_document_get_root_node(&yaml->tree);
  if (root != NULL && root->type == YAML_MAPPING_NODE) return TA_OK;
  if (root == NULL)
    ta_yaml_raise_at(diagnostics, path, 1, 1, "the file is empty");
  else
    ta_yaml_raise_at(diagnostics, path, root->start_mark.line + 1, root->start_mark.column + 1,
                     "the file must hold `key: value` lines");
  yaml_document_delete(&yaml->tree);
  return TA_ERR_INPUT;
}

void ta_yaml_delete(ta_yaml *yaml) {
  yaml_document_delete(&yaml->tree);
}

yaml_node_t *ta_yaml_root(ta_yaml *yaml) {
  return yaml_document_get_root_node(&yaml->tree);
}

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
  if (ta_yaml_is_null(node)) {
    (void)snprintf(text, size, "nothing");
  } else if (node->type == YAML_SCALAR_NODE) {
    const unsigned char *value = node->data.scalar.value;
    size_t n = node->data.scalar.length;
    if (n > SHOWN_MAX)
      for (n = SHOWN_MAX; n > 0 && (value[n] & 0xc0) == 0x80; n--) continue; /* whole characters */
    (void)snprintf(text, size, "\"%.*s%s\"", (int)n, (const char *)value,
                   n < node->data.scalar.length ? "..." : "");
  } else {
    (void)snprintf(text, size, "%s",
                   node->type == YAML_SEQUENCE_NODE ? "a list" : "a group of keys");
  }
  return text;
}
