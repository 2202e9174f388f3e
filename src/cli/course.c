/* course.c - thinair course. */
#include <stdio.h>

#include "command.h"

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_buffer out = {0};
  if (line->operand == NULL) {
    (void)fprintf(stderr, "thinair: course needs a course file\ntry: thinair course --help\n");
    return EXIT_USAGE;
  }
  if (!part_open(line, "course", &event, &diagnostics)) return EXIT_FAILED;
  const ta_style style = style_of(line, NULL);
  ta_report_course(&event, &diagnostics, &style, &out);
  ta_event_free(&event);
  return print_report(&out);
}

const command command_course = {.name = "course",
                                .operand = "FILE",
                                .about = "check, sum up and convert a course: YAML, CSV or GPX",
                                .help =
                                    "Distance, ascent, highest place, grades and marks of a "
                                    "course. Elevations of a GPX file are\n"
                                    "smoothed over 50 m unless --set course.smoothing says "
                                    "otherwise. --yaml and --csv write the\n"
                                    "course as it is judged.",
                                .example = "thinair course track.gpx --yaml > course.yaml",
                                .options = OPTION_OUTPUT | OPTION_SET | OPTION_YAML,
                                .run = run};
