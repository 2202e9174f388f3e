/* fuzz_compressor_map.c - bytes to a compressor map, and back to its own points.
 *
 * Input     YAML; CSV where it begins with '#'.
 * Property  What is taken gives back the speed of every point within the 3 % that the check of its
 *           lines allows, and has an answer that is finite, or none, wherever it is asked.  What is
 *           refused has an error with a place, and leaves nothing. */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "thinair/event_reader.h"

enum { LARGEST = 32 * 1024, POINTS = 500, PLACES = 40 };
static const double OFF = 0.0301;

static void check_refused(const ta_event *event, const ta_diagnostics *d, const char *path) {
  static const ta_event nothing;
  HOLDS(d->errors > 0 && d->count > 0);
  HOLDS(memcmp(event, &nothing, sizeof nothing) == 0);
  for (size_t i = 0; i < d->count; i++) {
    HOLDS(d->item[i].text[0] != '\0' && strcmp(d->item[i].place.file, path) == 0);
    HOLDS(d->item[i].place.line >= 1 && d->item[i].place.column >= 1);
    HOLDS(d->item[i].also_key[0] == '\0' || d->item[i].also.line >= 1);
  }
}

static void check_answer(const ta_compressor_map *map, double flow_kg_s, double pressure_ratio) {
  ta_map_reading at;
  HOLDS(ta_compressor_map_at(map, flow_kg_s, pressure_ratio, &at) == TA_OK);
  if (at.zone == TA_UNREACHABLE) return;
  HOLDS(isfinite(at.corrected_rpm) && at.corrected_rpm > 0.0);
  HOLDS(isfinite(at.efficiency) && at.efficiency > 0.0 && at.efficiency <= 1.0);
  HOLDS(isfinite(at.surge_to_choke));
}

static void check_taken(const ta_compressor *compressor) {
  ta_compressor_map *map = NULL;
  size_t points = 0;
  for (size_t i = 0; i < compressor->line_count; i++) points += compressor->line[i].point_count;
  if (points > POINTS) return; /* so that a run stays short */
  HOLDS(ta_compressor_map_create(compressor->line, compressor->line_count, &map) == TA_OK);
  const ta_speed_line *top = &compressor->line[compressor->line_count - 1];
  const double flow = top->point[top->point_count - 1].flow_kg_s,
               ratio = top->point[0].pressure_ratio;
  for (size_t i = 0; i < compressor->line_count; i++) {
    const ta_speed_line *line = &compressor->line[i];
    for (size_t j = 0; j < line->point_count; j++) {
      ta_map_reading at;
      const ta_map_point *p = &line->point[j];
      HOLDS(ta_compressor_map_at(map, p->flow_kg_s, p->pressure_ratio, &at) == TA_OK);
      HOLDS(at.zone != TA_UNREACHABLE);
      HOLDS(fabs(at.corrected_rpm / line->corrected_rpm - 1.0) <= OFF);
    }
  }
  for (int i = 1; i <= PLACES; i++) /* the fractions of two irrational numbers fill the plane */
    check_answer(map, 2.0 * flow * fmod(i * 0.6180339887498949, 1.0) + 1e-9,
                 1.0 + 1.5 * (ratio - 1.0) * fmod(i * 0.7548776662466927, 1.0) + 1e-9);
  ta_compressor_map_free(map);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static ta_diagnostics diagnostics;
  ta_event event;
  if (size > LARGEST) return 0;
  (void)gsl_set_error_handler_off();
  char *text = malloc(size > 0 ? size : 1); /* exact: reading past the end is noticed */
  if (text == NULL) return 0;
  if (size > 0) memcpy(text, bytes, size);
  const char *path = size > 0 && text[0] == '#' ? "map.csv" : "map.yaml";
  ta_diagnostics_clear(&diagnostics);
  const ta_status status =
      ta_event_read_part_bytes("car.turbo.compressor", path, text, size, &event, &diagnostics);
  free(text);
  HOLDS(status == TA_OK || status == TA_ERR_INPUT);
  if (status == TA_OK)
    check_taken(&event.car.turbo.compressor);
  else
    check_refused(&event, &diagnostics, path);
  ta_event_free(&event);
  return 0;
}
