/* street.c - thinair street. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "thinair/schema.h"
#include "thinair/street.h"

static const double MARGIN = 0.05; /* unless --margin says otherwise */
static const double CAP_STEP_M = 500.0, CAP_STEP_US_M = 304.8 /* 1,000 ft */;

/* A quantity within what the files take for the same key; what is wrong is printed. */
static bool read_within(const char *option, const char *text, const char *key, double *si) {
  const ta_field *field = ta_schema_find(key, strlen(key));
  const ta_kind kind = field->kind;
  if (!option_quantity(option, text, kind, si)) return false;
  if (*si >= field->low && *si <= field->high) return true;
  const double shown = kind == TA_RATIO ? 100.0 : (kind == TA_LENGTH ? 1.0 : 1e-3);
  (void)fprintf(stderr, "%s: found \"%.60s\"; taken: %.6g to %.6g %s\n", option, text,
                field->low * shown, field->high * shown,
                kind == TA_RATIO ? "%" : (kind == TA_LENGTH ? "m" : "kPa"));
  return false;
}

/* "2300 m,3400 m" -> metres. */
static bool read_elevations(const char *text, double elevation_m[TA_STREET_PLACES_MAX],
                            size_t *count) {
  char one[60];
  for (*count = 0;; text++) {
    const size_t length = strcspn(text, ",");
    if (*count == TA_STREET_PLACES_MAX) {
      (void)fprintf(stderr,
                    "--elevations: found more than %d; taken: 1 to %d, separated by commas\n",
                    TA_STREET_PLACES_MAX, TA_STREET_PLACES_MAX);
      return false;
    }
    if (strspn(text, " \t") >= length || length >= sizeof one) {
      (void)fprintf(
          stderr,
          "--elevations: found \"%.*s\" as number %zu; taken: lengths separated by commas, "
          "such as \"2300 m,3400 m\"\n",
          (int)(length < sizeof one ? length : sizeof one - 1), text, *count + 1);
      return false;
    }
    (void)snprintf(one, sizeof one, "%.*s", (int)length, text);
    if (!read_within("--elevations", one, "day.stations[].elevation", &elevation_m[*count]))
      return false;
    (*count)++;
    text += length;
    if (*text == '\0') return true;
  }
}

/* What the controller of the car can be told; what is wrong is printed. */
static bool read_goal(const command_line *line, const ta_event *event, double home_m,
                      ta_goal *goal) {
  ta_air home;
  goal->margin = MARGIN;
  if (line->margin != NULL && !read_within("--margin", line->margin, "goal.margin", &goal->margin))
    return false;
  goal->has_map = line->map != NULL;
  goal->has_boost = !goal->has_map;
  if (goal->has_boost) return read_within("--boost", line->boost, "goal.boost", &goal->boost_pa);
  if (event->car.control.holds != TA_HOLDS_ABSOLUTE) {
    (void)fprintf(
        stderr,
        "--map: this car's controller holds a boost; taken: --boost, or a car with holds: "
        "absolute\n");
    return false;
  }
  if (!read_within("--map", line->map, "goal.map", &goal->map_pa)) return false;
  if (ta_isa_at(ta_geopotential_m(home_m), &home) == TA_OK && goal->map_pa > home.pressure_pa)
    return true;
  (void)fprintf(stderr, "--map: %s is no boost: the ambient pressure at home is %.1f kPa\n",
                line->map, home.pressure_pa / 1e3);
  return false;
}

/* The same line without the goal, which is no key of the car. */
static void keep_car_settings(const command_line *line, command_line *kept) {
  *kept = *line;
  kept->setting_count = 0;
  for (size_t i = 0; i < line->setting_count; i++)
    if (strcmp(line->setting[i].option, "--set") == 0)
      kept->setting[kept->setting_count++] = line->setting[i];
}

static int report(const command_line *line, const ta_event *event,
                  const ta_diagnostics *diagnostics) {
  double elevation_m[TA_STREET_PLACES_MAX];
  ta_street_question question = {.elevation_m = elevation_m};
  if (!read_elevations(line->elevations, elevation_m, &question.elevation_count) ||
      !read_goal(line, event, elevation_m[0], &question.goal))
    return EXIT_FAILED;
  const ta_style style = style_of(line, NULL);
  question.cap_step_m =
      style.units == TA_US && style.format != TA_FORMAT_JSON ? CAP_STEP_US_M : CAP_STEP_M;
  int code = EXIT_FAILED;
  ta_buffer out = {0};
  ta_street *street = malloc(sizeof *street);
  const ta_status status =
      street != NULL ? ta_street_make(event, &question, street) : TA_ERR_MEMORY;
  if (status == TA_OK) {
    ta_report_street(street, line->margin != NULL, diagnostics, &style, &out);
    code = print_report(&out);
    if (code == EXIT_DONE && line->fail_if_over && street->verdict != TA_CLEAR) code = EXIT_OVER;
    ta_street_free(street);
  } else {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  }
  free(street);
  return code;
}

static int run(const command_line *line) {
  static ta_diagnostics diagnostics;
  static command_line car_line;
  ta_event event;
  if (line->operand == NULL || line->elevations == NULL ||
      (line->boost == NULL && line->map == NULL)) {
    (void)fprintf(stderr,
                  "thinair: street needs a car file, --elevations, and --boost or --map\n"
                  "try: thinair street --help\n");
    return EXIT_USAGE;
  }
  keep_car_settings(line, &car_line);
  if (!part_open(&car_line, "car", &event, &diagnostics)) return EXIT_FAILED;
  const int code = report(line, &event, &diagnostics);
  ta_event_free(&event);
  return code;
}

const command command_street = {
    .name = "street",
    .operand = "CAR",
    .about = "the answer to a customer who lives or drives high up; no event needed",
    .help =
        "Judges the present boost of a street car at home, the first elevation, and on trips, on "
        "a\n"
        "cold (ISA -10 K), a standard and a hot (ISA +20 K) day; prints up to which elevation it "
        "is\n"
        "within the limit, the caps that hold on all three days, and five sentences to send.\n"
        "--boost is what the car runs now; --map is taken where the controller holds absolute.",
    .example =
        "thinair street courses/brackwater/car.yaml --boost \"1.10 bar\" --elevations "
        "\"2300 m,3400 m\"",
    .options = OPTION_OUTPUT | OPTION_SET | OPTION_GOAL | OPTION_STREET | OPTION_FAIL,
    .run = run};
