/* csv_tree.h - a CSV table as the tree that the same table in YAML would give.
 *
 * So the schema, its ranges and its located errors serve both.  Comment lines of the form
 * "# key: value" at the top of the file are the keys beside the table. */
#ifndef THINAIR_FILES_CSV_TREE_H
#define THINAIR_FILES_CSV_TREE_H

#include "yaml_reader.h"

/**
 * @param[in]  group_by  Name of a column whose runs of equal cells become the elements of a list
 *                       "lines", each with that value and its own rows; NULL: one table.
 * @param[in]  size      bytes[size] must be writable; the bytes are changed.
 * @param[out] yaml      Delete with ta_yaml_delete when TA_OK.
 */
ta_status ta_csv_to_tree(const char *path, char *bytes, size_t size, const char *group_by,
                         ta_yaml *yaml, ta_diagnostics *diagnostics);

#endif
