/* compressor.c - thinair compressor. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"

/* "FLOW, PR" -> kg/s and a bare number; what is wrong is printed. */
static bool read_at(const char *text, double *flow_kg_s, double *pressure_ratio) {
  const char *comma = strchr(text, ',');
  char flow[100];
  if (comma == NULL || (size_t)(comma - text) >= sizeof flow) {
    (void)fprintf(stderr, "--at: \"%.60s\" is not \"FLOW, PR\", such as \"0.25 kg/s, 2.4\"\n",
                  text);
    return false;
  }
  (void)snprintf(flow, sizeof flow, "%.*s", (int)(comma - text), text);
  if (!option_quantity("--at, flow", flow, TA_MASS_FLOW, flow_kg_s) ||
      !option_quantity("--at, pressure ratio", comma + 1, TA_NUMBER, pressure_ratio))
    return false;
  if (*flow_kg_s > 0.0 && *pressure_ratio > 1.0) return true;
  (void)fprintf(stderr, "--at: \"%.60s\": a flow above 0 and a pressure ratio above 1 are taken\n",
                text);
  return false;
}

/* @return whether it is written. */
static bool draw(const command_line *line, const ta_compressor *compressor,
                 const ta_compressor_map *map) {
  const ta_style style = style_of(line, NULL);
  ta_picture_frame frame = ta_picture_frame_of(TA_PICTURE_COMPRESSOR, line->is_narrow, style.units);
  frame.id = ta_picture_name(TA_PICTURE_COMPRESSOR);
  frame.with_style = true;
  ta_buffer out = {0};
  ta_picture_map_draw(compressor, map, &frame, &out);
  return write_output(line->picture, line->force, &out);
}

static int report(const command_line *line, const ta_event *event,
                  const ta_diagnostics *diagnostics) {
  const ta_compressor *compressor = &event->car.turbo.compressor;
  ta_compressor_reading at[REPEATS_MAX];
  ta_compressor_map *map = NULL;
  ta_buffer out = {0};
  int code = EXIT_FAILED;
  double *rms = calloc(compressor->line_count + 1, sizeof *rms);
  ta_status status = rms == NULL
                         ? TA_ERR_MEMORY
                         : ta_compressor_map_create(compressor->line, compressor->line_count, &map);
  if (status == TA_OK)
    status = ta_compressor_map_leave_one_out(compressor->line, compressor->line_count, rms);
  bool good = status == TA_OK;
  if (!good) (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  for (size_t i = 0; good && i < line->at_count; i++) {
    good = read_at(line->at[i], &at[i].corrected_flow_kg_s, &at[i].pressure_ratio) &&
           ta_compressor_map_at(map, at[i].corrected_flow_kg_s, at[i].pressure_ratio,
                                &at[i].reading) == TA_OK;
  }
  if (good && line->picture != NULL) {
    code = draw(line, compressor, map) ? EXIT_DONE : EXIT_FAILED;
  } else if (good) {
    const ta_style style = style_of(line, NULL);
    ta_report_compressor(compressor, rms, at, line->at_count, diagnostics, &style, &out);
    code = print_report(&out);
  }
  ta_compressor_map_free(map);
  free(rms);
  return code;
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  if (line->operand == NULL) {
    (void)fprintf(stderr,
                  "thinair: compressor needs a compressor file\ntry: thinair compressor --help\n");
    return EXIT_USAGE;
  }
  if (!part_open(line, "car.turbo.compressor", &event, &diagnostics)) return EXIT_FAILED;
  const int code = report(line, &event, &diagnostics);
  ta_event_free(&event);
  return code;
}

const command command_compressor = {
    .name = "compressor",
    .operand = "FILE",
    .about = "check a compressor map and how well its lines predict each other; read it",
    .help =
        "Lists the speed lines, each with the error of its speed when it is left out and the\n"
        "others predict it, and reads the map at every --at. --picture draws it with the points "
        "as\n"
        "typed, to lay beside the print.",
    .example = "thinair compressor courses/tolvane-dome/compressor.yaml --at \"0.25 kg/s, 2.4\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_AT | OPTION_PICTURE,
    .run = run};
