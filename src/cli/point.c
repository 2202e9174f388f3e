/* point.c - thinair point. */
#include <stdio.h>

#include "command.h"
#include "thinair/operating_point.h"

static int solve(const command_line *line, const ta_prepared *prepared,
                 const ta_diagnostics *diagnostics) {
  const ta_event *event = prepared->event;
  double elevation_m, engine_rpm;
  ta_air air;
  ta_operating_point point;
  ta_buffer out = {0};
  if (!option_quantity("--elevation", line->elevation[0], TA_LENGTH, &elevation_m) ||
      !option_quantity("--engine-speed", line->engine_speed, TA_ROTATION, &engine_rpm))
    return EXIT_FAILED;
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK) {
    (void)fprintf(stderr, "--elevation: %s is outside -2000 m to 9000 m\n", line->elevation[0]);
    return EXIT_FAILED;
  }
  if (!(engine_rpm > 0.0 && engine_rpm <= 30000.0)) {
    (void)fprintf(stderr,
                  "--engine-speed: %s is outside what is possible; taken: up to 30000 rpm\n",
                  line->engine_speed);
    return EXIT_FAILED;
  }
  /* a MAP that was typed is taken as it is; a goal is a set-point, and runs over */
  const double map_pa =
      line->map != NULL
          ? event->goal.map_pa
          : ta_judged_map(prepared, ta_prepared_goal(prepared, engine_rpm), air.pressure_pa);
  const ta_status status =
      ta_point_solve(&event->car, prepared->map, &air, engine_rpm, map_pa, &point);
  if (status != TA_OK) {
    (void)fprintf(stderr,
                  "thinair: a MAP of %.1f kPa is no boost at an ambient pressure of %.1f kPa\n",
                  map_pa / 1e3, air.pressure_pa / 1e3);
    return EXIT_FAILED;
  }
  const ta_style style = style_of(line, event);
  ta_report_point(prepared, &point, elevation_m, diagnostics, &style, &out);
  return print_report(&out);
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  if (line->elevation_count != 1 || line->engine_speed == NULL) {
    (void)fprintf(stderr,
                  "thinair: point needs one --elevation and one --engine-speed\n"
                  "try: thinair point --help\n");
    return EXIT_USAGE;
  }
  if (!event_open(line, &event, &diagnostics, &prepared)) return EXIT_FAILED;
  const int code = solve(line, &prepared, &diagnostics);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  return code;
}

const command command_point = {
    .name = "point",
    .operand = "EVENT",
    .about = "one operating point, every station of the air's way in",
    .help =
        "Solves at exactly the MAP given with --map, else at the goal plus overshoot. The cap is\n"
        "the MAP at which the shaft reaches its limit there, overshoot not taken off.",
    .example =
        "thinair point courses/tolvane-dome --elevation \"4120 m\" --engine-speed \"7200 rpm\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_ELEVATION |
               OPTION_ENGINE_SPEED,
    .run = run};
