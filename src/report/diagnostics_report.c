/* diagnostics_report.c - errors and warnings as lines that an editor can jump to. */
#include "thinair/report.h"

static void place_text(const ta_place *place, ta_buffer *out) {
  if (place->file[0] == '\0') return;
  ta_buffer_add(out, "%s:", place->file);
  if (place->line > 0) ta_buffer_add(out, "%d:%d:", place->line, place->column);
  ta_buffer_add(out, " ");
}

void ta_report_diagnostics(const ta_diagnostics *diagnostics, ta_severity least, ta_buffer *out) {
  for (size_t i = 0; i < diagnostics->count; i++) {
    const ta_diagnostic *item = &diagnostics->item[i];
    if (item->severity > least) continue;
    place_text(&item->place, out);
    if (item->severity == TA_WARNING) ta_buffer_add(out, "warning: ");
    ta_buffer_add(out, "%s%s%s\n", item->key, item->key[0] != '\0' ? ": " : "", item->text);
    if (item->also.file[0] != '\0') {
      ta_buffer_add(out, "  ");
      place_text(&item->also, out);
      ta_buffer_add(out, "%s stands here\n", item->also_key);
    }
  }
  if (diagnostics->dropped > 0) ta_buffer_add(out, "and %zu more\n", diagnostics->dropped);
}
