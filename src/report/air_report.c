/* air_report.c - the day's air at some elevations. */
#include <math.h>
#include <stdlib.h>

#include "point_view.h"
#include "sentences.h"
#include "thinair/moist_air.h"
#include "thinair/report.h"

typedef struct {
  double elevation_m, pressure_altitude_m, density_altitude_m, vapour_pressure_pa,
      virtual_temperature_k;
  ta_air air;
} level;

#define COLUMN(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(level, member) }

static const ta_column columns[] = {
    COLUMN("elevation", "elevation", TA_SHOW_ELEVATION, elevation_m),
    COLUMN("pressure", "pressure", TA_SHOW_AMBIENT, air.pressure_pa),
    COLUMN("temperature", "temperature", TA_SHOW_TEMPERATURE, air.temperature_k),
    COLUMN("density", "density", TA_SHOW_DENSITY, air.density_kgm3),
    COLUMN("pressure_altitude", "pressure alt", TA_SHOW_ELEVATION, pressure_altitude_m),
    COLUMN("density_altitude", "density alt", TA_SHOW_ELEVATION, density_altitude_m),
    COLUMN("vapour_pressure", "vapour", TA_SHOW_VAPOUR, vapour_pressure_pa),
    COLUMN("virtual_temperature", "virtual", TA_SHOW_TEMPERATURE, virtual_temperature_k),
};

void ta_report_air(const double *elevation_m, const ta_air *air, size_t count,
                   const ta_diagnostics *diagnostics, const ta_style *style, ta_buffer *out) {
  level *rows = calloc(count + 1, sizeof *rows);
  if (rows == NULL) {
    out->failed = true;
    return;
  }
  for (size_t i = 0; i < count; i++) {
    double height;
    rows[i].elevation_m = elevation_m[i];
    rows[i].air = air[i];
    rows[i].pressure_altitude_m = ta_pressure_altitude(air[i].pressure_pa, &height) == TA_OK
                                      ? ta_geometric_m(height)
                                      : (double)NAN;
    rows[i].density_altitude_m = ta_density_altitude_of(&air[i]);
    rows[i].vapour_pressure_pa = ta_vapour_pressure(air[i].mixing_ratio, air[i].pressure_pa);
    rows[i].virtual_temperature_k =
        ta_virtual_temperature(air[i].temperature_k, air[i].mixing_ratio);
  }
  const ta_table table = {columns, sizeof columns / sizeof columns[0], rows, count, sizeof *rows};
  ta_warnings warnings;
  ta_warnings_collect(NULL, NULL, diagnostics, style->units, &warnings);
  if (style->format == TA_FORMAT_JSON) {
    ta_json json = {.out = out};
    ta_json_open(&json, NULL, '{');
    ta_json_text(&json, "thinair_version", style->version);
    ta_json_rows(&json, "levels", &table);
    ta_warnings_json(&warnings, &json);
    ta_json_close(&json, '}');
  } else if (style->format == TA_FORMAT_CSV) {
    ta_table_csv(&table, style->units, out);
  } else {
    ta_table_text(&table, style->units, out);
    ta_warnings_text(&warnings, out);
  }
  free(rows);
}
