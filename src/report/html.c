/* html.c - tables for a page.
 *
 * Decision  Every cell carries its heading, so that a narrow screen can stack the cells of a row;
 *           roles are written out, because a browser forgets them when a style does that.
 */
#include "svg.h"
#include "table.h"

void ta_table_html(const ta_table *table, ta_unit_system system, const char *kind,
                   const char *caption, ta_buffer *out) {
  char text[TA_SHOWN_MAX];
  ta_buffer_add(out, "<table class=\"%s\" role=\"table\"", kind);
  if (caption != NULL) {
    ta_buffer_add(out, ">\n<caption>");
    ta_svg_escape(out, caption);
    ta_buffer_add(out, "</caption>\n");
  } else {
    ta_buffer_add(out, " aria-labelledby=\"%s-heading\">\n", kind);
  }
  ta_buffer_add(out, "<thead role=\"rowgroup\"><tr role=\"row\">");
  for (size_t i = 0; i < table->column_count; i++) {
    const char *heading = ta_table_heading(&table->column[i], system, text);
    ta_buffer_add(out, "<%s role=\"columnheader\"%s%s>", heading[0] != '\0' ? "th" : "td",
                  heading[0] != '\0' ? " scope=\"col\"" : "",
                  table->column[i].cell == TA_CELL_NUMBER ? " class=\"number\"" : "");
    ta_svg_escape(out, heading);
    ta_buffer_add(out, "</%s>", heading[0] != '\0' ? "th" : "td");
  }
  ta_buffer_add(out, "</tr></thead>\n<tbody role=\"rowgroup\">\n");
  for (size_t k = 0; k < table->row_count; k++) {
    const char *row = (const char *)table->row + k * table->row_size;
    ta_buffer_add(out, "<tr role=\"row\">");
    for (size_t i = 0; i < table->column_count; i++) {
      const ta_column *column = &table->column[i];
      ta_buffer_add(out, "<%s%s data-label=\"",
                    i == 0 ? "th scope=\"row\" role=\"rowheader\"" : "td role=\"cell\"",
                    column->cell == TA_CELL_NUMBER ? " class=\"number\"" : "");
      ta_svg_escape(out, ta_table_heading(column, system, text));
      ta_buffer_add(out, "\">");
      ta_svg_escape(out, ta_table_cell(column, system, row, text));
      ta_buffer_add(out, i == 0 ? "</th>" : "</td>");
    }
    ta_buffer_add(out, "</tr>\n");
  }
  ta_buffer_add(out, "</tbody>\n</table>\n");
}
