/* compressor_report.c - a compressor map: its lines, how well they predict each other, readings. */
#include <math.h>
#include <stdlib.h>

#include "sentences.h"
#include "thinair/report.h"

typedef struct {
  double corrected_rpm, points, lowest_flow_kg_s, highest_flow_kg_s, highest_ratio, left_out_rms;
} line_row;

typedef struct {
  double corrected_flow_kg_s, pressure_ratio, corrected_rpm, efficiency, beyond_top_line;
  ta_zone zone;
} reading_row;

#define LINE(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(line_row, member) }
#define READING(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(reading_row, member) }

static const ta_column line_columns[] = {
    LINE("corrected", "corrected", TA_SHOW_RPM, corrected_rpm),
    LINE("points", "points", TA_SHOW_COUNT_OF, points),
    LINE("surge_flow", "flow at surge", TA_SHOW_FLOW, lowest_flow_kg_s),
    LINE("choke_flow", "at choke", TA_SHOW_FLOW, highest_flow_kg_s),
    LINE("highest_pressure_ratio", "highest ratio", TA_SHOW_RATIO, highest_ratio),
    LINE("left_out_speed_rms", "left out, speed rms", TA_SHOW_PERCENT, left_out_rms),
};
static const ta_column reading_columns[] = {
    READING("corrected_flow", "corrected flow", TA_SHOW_FLOW, corrected_flow_kg_s),
    READING("pressure_ratio", "pressure ratio", TA_SHOW_RATIO, pressure_ratio),
    READING("corrected", "corrected speed", TA_SHOW_RPM, corrected_rpm),
    READING("efficiency", "efficiency", TA_SHOW_RATIO, efficiency),
    READING("beyond_top_line", "beyond top", TA_SHOW_PERCENT, beyond_top_line),
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(reading_row, zone)},
};

static line_row line_row_of(const ta_speed_line *line, double rms) {
  line_row row = {.corrected_rpm = line->corrected_rpm,
                  .points = (double)line->point_count,
                  .lowest_flow_kg_s = line->point[0].flow_kg_s,
                  .highest_flow_kg_s = line->point[line->point_count - 1].flow_kg_s,
                  .left_out_rms = rms >= 0.0 ? rms : (double)NAN};
  for (size_t i = 0; i < line->point_count; i++)
    row.highest_ratio = fmax(row.highest_ratio, line->point[i].pressure_ratio);
  return row;
}

void ta_report_compressor(const ta_compressor *compressor, const double *left_out_rms,
                          const ta_compressor_reading *at, size_t at_count,
                          const ta_diagnostics *diagnostics, const ta_style *style,
                          ta_buffer *out) {
  const size_t count = compressor->line_count;
  line_row *lines = calloc(count + 1, sizeof *lines);
  reading_row *readings = calloc(at_count + 1, sizeof *readings);
  ta_warnings warnings;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  if (lines == NULL || readings == NULL) {
    out->failed = true;
    free(lines);
    free(readings);
    return;
  }
  for (size_t i = 0; i < count; i++) lines[i] = line_row_of(&compressor->line[i], left_out_rms[i]);
  for (size_t i = 0; i < at_count; i++)
    readings[i] = (reading_row){at[i].corrected_flow_kg_s,     at[i].pressure_ratio,
                                at[i].reading.corrected_rpm,   at[i].reading.efficiency,
                                at[i].reading.beyond_top_line, at[i].reading.zone};
  const ta_table line_table = {line_columns, sizeof line_columns / sizeof line_columns[0], lines,
                               count, sizeof *lines},
                 reading_table = {reading_columns,
                                  sizeof reading_columns / sizeof reading_columns[0], readings,
                                  at_count, sizeof *readings};
  ta_warnings_collect(NULL, NULL, diagnostics, style->units, &warnings);
  const char *name = compressor->name != NULL ? compressor->name : "compressor";
  if (style->format == TA_FORMAT_JSON) {
    ta_json json = {.out = out};
    ta_json_open(&json, NULL, '{');
    ta_json_text(&json, "thinair_version", style->version);
    ta_json_text(&json, "compressor", compressor->name);
    ta_json_open(&json, "reference", '{');
    ta_json_number(&json, "pressure_kPa", compressor->reference.pressure_pa / 1e3);
    ta_json_number(&json, "temperature_K", compressor->reference.temperature_k);
    ta_json_close(&json, '}');
    ta_json_rows(&json, "lines", &line_table);
    ta_json_rows(&json, "at", &reading_table);
    ta_warnings_json(&warnings, &json);
    ta_json_close(&json, '}');
  } else if (style->format == TA_FORMAT_CSV) {
    ta_table_csv(at_count > 0 ? &reading_table : &line_table, style->units, out);
  } else {
    ta_buffer_add(
        out, "%s: %zu speed lines, corrected to %s and %s\n\n", name, count,
        ta_show_quantity(TA_SHOW_STATION, style->units, 2, compressor->reference.pressure_pa, a),
        ta_show_quantity(TA_SHOW_TEMPERATURE, style->units, 2, compressor->reference.temperature_k,
                         b));
    if (at_count > 0) {
      ta_table_text(&reading_table, style->units, out);
      ta_buffer_add(out, "\n");
    }
    ta_table_text(&line_table, style->units, out);
    ta_buffer_add(out,
                  "\nLeft out: the line is taken away, the rest predict its speed at its own "
                  "points. The top line's\nfigure is what to expect of points above the map.\n");
    ta_warnings_text(&warnings, out);
  }
  free(lines);
  free(readings);
}
