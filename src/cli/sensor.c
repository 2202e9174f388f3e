/* sensor.c - thinair sensor. */
#include "command.h"

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  static command_line needing;
  ta_event event;
  ta_prepared prepared;
  ta_buffer out = {0};
  needing = *line;
  needing.needed = "car.turbo.sensor";
  if (!event_open(&needing, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  const ta_style style = style_of(line, &event);
  ta_report_sensor(&prepared, &diagnostics, &style, &out);
  const int code = print_report(&out);
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
