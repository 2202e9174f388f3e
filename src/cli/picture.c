/* picture.c - thinair picture. */
#include <stdio.h>

#include "planned.h"

static int draw(const command_line *line, ta_picture picture, const ta_prepared *prepared,
                const ta_plan *plan) {
  const ta_style style = style_of(line, prepared->event);
  ta_picture_frame frame = ta_picture_frame_of(picture, line->is_narrow, style.units);
  frame.id = ta_picture_name(picture);
  frame.with_style = true;
  ta_buffer out = {0};
  if (ta_picture_draw(picture, prepared, plan, &frame, &out))
    return write_output(line->output, line->force, &out) ? EXIT_DONE : EXIT_FAILED;
  (void)fprintf(stderr, "thinair: there is nothing to draw \"%s\" of in this plan\n",
                ta_picture_name(picture));
  return EXIT_FAILED;
}

static int wrong_name(const char *name) {
  if (name == NULL)
    (void)fprintf(stderr, "thinair: picture needs a name;");
  else
    (void)fprintf(stderr, "thinair: no such picture: %s;", name);
  (void)fprintf(stderr, " pictures:");
  for (int i = 0; i < TA_PICTURE_COUNT; i++)
    (void)fprintf(stderr, " %s", ta_picture_name((ta_picture)i));
  (void)fprintf(stderr, "\ntry: thinair picture --help\n");
  return EXIT_USAGE;
}

static int run(const command_line *line) {
  ta_picture picture;
  if (line->name == NULL || !ta_picture_find(line->name, &picture)) return wrong_name(line->name);
  if (line->output == NULL) {
    (void)fprintf(stderr,
                  "thinair: picture needs -o FILE.svg, or -o - for standard output\n"
                  "try: thinair picture --help\n");
    return EXIT_USAGE;
  }
  planned *p = planned_open(line);
  const int code = p != NULL ? draw(line, picture, &p->prepared, &p->plan) : EXIT_FAILED;
  planned_close(p);
  return code;
}

const command command_picture = {
    .name = "picture",
    .first_operand = "NAME",
    .operand = "EVENT",
    .about = "one picture of the plan as SVG",
    .help =
        "NAME is course, compressor, cap, table, levers or time. A file that is there already is\n"
        "left alone unless --force is given; \"-\" is standard output.",
    .example = "thinair picture course courses/tolvane-dome -o course.svg",
    .options = OPTION_UNITS | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_FILE |
               OPTION_NARROW,
    .run = run};
