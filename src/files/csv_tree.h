/* csv_tree.h - a CSV table as the tree that the same table in YAML would give.
 *
 * So the schema, its ranges and its located errors serve both.  Comment lines of the form
 * "# key: value" above the header row are the keys beside the table. */
#ifndef THINAIR_FILES_CSV_TREE_H
#define THINAIR_FILES_CSV_TREE_H

#include "thinair/schema.h"
#include "yaml_reader.h"

/**
 * @param[in]  rows   Schema pattern of the rows, such as "course.rows[]".
 * @param[in]  group  A column whose runs of equal cells become the elements of a list "lines", each
 *                    with that value and its own rows; NULL: one table.
 * @param[out] yaml   Delete with ta_yaml_delete when TA_OK.  A row with an error of its own is left
 *                    out; such errors have the key "rows" or "lines".
 */
ta_status ta_csv_to_tree(const char *path, const char *bytes, size_t size, const char *rows,
                         const ta_field *group, ta_yaml *yaml, ta_diagnostics *diagnostics);

#endif
