/* air.c - thinair air. */
#include <stdio.h>

#include "command.h"
#include "thinair/day.h"

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event = {0};
  ta_prepared prepared = {0};
  ta_buffer out = {0};
  double elevation_m[REPEATS_MAX];
  ta_air air[REPEATS_MAX];
  if (line->elevation_count == 0) {
    (void)fprintf(stderr, "thinair: air needs at least one --elevation\ntry: thinair air --help\n");
    return EXIT_USAGE;
  }
  const bool standard = line->operand == NULL;
  if (!standard && !event_open(line, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  if (standard && line->setting_count > 0) {
    (void)fprintf(stderr, "thinair: %s needs an event\n", line->setting[0].option);
    return EXIT_USAGE;
  }
  int code = EXIT_DONE;
  for (size_t i = 0; code == EXIT_DONE && i < line->elevation_count; i++) {
    if (!option_quantity("--elevation", line->elevation[i], TA_LENGTH, &elevation_m[i])) {
      code = EXIT_FAILED;
    } else if ((standard ? ta_isa_at(ta_geopotential_m(elevation_m[i]), &air[i])
                         : ta_day_air(&prepared.day, elevation_m[i], &air[i])) != TA_OK) {
      (void)fprintf(stderr, "--elevation: %s is outside -2000 m to %d m\n", line->elevation[i],
                    standard ? 20000 : 9000);
      code = EXIT_FAILED;
    }
  }
  if (code == EXIT_DONE) {
    const ta_style style = style_of(line, standard ? NULL : &event);
    if (style.format == TA_FORMAT_TEXT)
      ta_buffer_add(&out, "%s\n\n",
                    standard ? "Standard day (ISA), dry: no event named" : event.name);
    ta_report_air(elevation_m, air, line->elevation_count, &diagnostics, &style, &out);
    code = print_report(&out);
  }
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return code;
}

const command command_air = {
    .name = "air",
    .operand = "EVENT",
    .about = "the day's air at some elevations; the dry standard day without an event",
    .help =
        "Pressure, temperature, density, pressure and density altitude, vapour pressure and\n"
        "virtual temperature at each --elevation.",
    .example = "thinair air courses/tolvane-dome --elevation \"1460 m\" --elevation \"13500 ft\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_DAY | OPTION_ELEVATION,
    .run = run};
