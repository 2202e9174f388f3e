/* sensor.c - thinair sensor. */
#include <stdio.h>

#include "command.h"

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  ta_buffer out = {0};
  int code = EXIT_FAILED;
  if (!event_open(line, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  if (event.car.turbo.has_sensor) {
    const ta_style style = style_of(line, &event);
    ta_report_sensor(&prepared, &diagnostics, &style, &out);
    code = print_report(&out);
  } else {
    (void)fprintf(stderr,
                  "thinair: this car has no shaft-speed sensor: car.turbo.sensor is missing; "
                  "taken: blades, and where they apply divider, thread_pitch and turns_back\n");
  }
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return code;
}

const command command_sensor = {
    .name = "sensor",
    .operand = "EVENT",
    .about = "a shaft-speed sensor: pulse frequencies, logger, gap, blade count",
    .help =
        "Pulse frequency at limit, alarm, rated speed and above, what a logger needs to read it,\n"
        "the gap of a threaded sensor, and how a wrong blade count shows.",
    .example = "thinair sensor courses/tolvane-dome --set car.turbo.sensor.divider=2",
    .options = OPTION_OUTPUT | OPTION_SET,
    .run = run};
