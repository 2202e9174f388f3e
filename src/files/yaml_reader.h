/* yaml_reader.h - one YAML file as a tree that remembers where everything was written. */
#ifndef THINAIR_FILES_YAML_READER_H
#define THINAIR_FILES_YAML_READER_H

#include <stdbool.h>
#include <yaml.h>

#include "thinair/diagnostics.h"
#include "thinair/status.h"

typedef struct {
  char path[TA_FILE_MAX];
  yaml_document_t tree;
  int written; /* nodes above this number were inserted later, by a setting */
} ta_yaml;

/** Read a whole regular file, at most 64 MiB.  @param[out] bytes To be freed. */
ta_status ta_file_read(const char *path, char **bytes, size_t *size, char *why, size_t why_size);

/** Parse bytes.  Errors are raised and placed.  Delete with ta_yaml_delete when TA_OK. */
ta_status ta_yaml_parse(const char *path, const char *bytes, size_t size, ta_yaml *yaml,
                        ta_diagnostics *diagnostics);
void ta_yaml_delete(ta_yaml *yaml);

yaml_node_t *ta_yaml_root(ta_yaml *yaml);
yaml_node_t *ta_yaml_node(ta_yaml *yaml, int id);

/** Raise an error at a place; and what stopped libyaml's parser, in words. */
void ta_yaml_raise_at(ta_diagnostics *diagnostics, const char *path, size_t line, size_t column,
                      const char *text);
void ta_yaml_raise_problem(const yaml_parser_t *parser, const char *path, const char *bytes,
                           size_t size, ta_diagnostics *diagnostics);

/** Value of a name in a mapping; NULL when node is no mapping or has no such name. */
yaml_node_t *ta_yaml_value(ta_yaml *yaml, const yaml_node_t *node, const char *name, size_t length);

/** Text of a scalar; NULL for other nodes. */
const char *ta_yaml_text(const yaml_node_t *node);

/** True for "key:", "key: ~" and "key: null". */
bool ta_yaml_is_null(const yaml_node_t *node);

/** "text \"abc\"", "a list", "a mapping", "nothing": what stands there, for messages. */
const char *ta_yaml_found(const yaml_node_t *node, char *text, size_t size);

#endif
