/* fuzz_event_reader.c - bytes to event, and on to the plan.
 *
 * Input     An event file.  Leading lines "#set KEY=VALUE" are settings; YAML skips them.
 * Property  What is taken passes the check again, can be prepared and planned, and no number of
 *           the plan is a NaN.  What is refused has an error with a place, and leaves nothing. */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "fuzz.h"
#include "thinair/event_reader.h"
#include "thinair/plan.h"

enum { LARGEST = 32 * 1024, SETTINGS = 4, TEXT = 200, POINTS = 200 };

typedef struct {
  char text[SETTINGS][TEXT];
  ta_setting setting[SETTINGS];
  size_t count;
} settings;

static void read_settings(const char *bytes, size_t size, settings *s) {
  const char *line = bytes, *end = bytes + size;
  s->count = 0;
  while (s->count < SETTINGS && end - line > 5 && memcmp(line, "#set ", 5) == 0) {
    const char *newline = memchr(line, '\n', (size_t)(end - line));
    if (newline == NULL) return;
    char *text = s->text[s->count];
    (void)snprintf(text, TEXT, "%.*s", (int)(newline - line - 5), line + 5);
    char *value = strchr(text, '=');
    if (value == NULL) return;
    *value++ = '\0';
    s->setting[s->count] = (ta_setting){"--set", text, value, NULL};
    if (strcmp(text, "goal.boost") == 0)
      s->setting[s->count] = (ta_setting){"--boost", text, value, "map|columns|rows"};
    s->count++;
    line = newline + 1;
  }
}

static void check_refused(const ta_event *event, const ta_diagnostics *diagnostics) {
  static const ta_event nothing;
  HOLDS(diagnostics->errors > 0 && diagnostics->count > 0);
  HOLDS(memcmp(event, &nothing, sizeof nothing) == 0);
  for (size_t i = 0; i < diagnostics->count; i++) {
    const ta_diagnostic *item = &diagnostics->item[i];
    HOLDS(item->text[0] != '\0');
    HOLDS(item->place.file[0] != '\0');
    HOLDS(item->also_key[0] == '\0' || item->also.file[0] != '\0');
  }
}

static void check_point(const ta_operating_point *p) {
  const double number[] = {p->engine_rpm,
                           p->map_pa,
                           p->air_flow_kg_s,
                           p->fuel_flow_kg_s,
                           p->charge_temperature_k,
                           p->power_w,
                           p->inlet_pressure_pa,
                           p->inlet_temperature_k,
                           p->outlet_pressure_pa,
                           p->pressure_ratio,
                           p->outlet_temperature_k,
                           p->corrected_rpm,
                           p->corrected_flow_kg_s,
                           p->efficiency,
                           p->shaft_rpm,
                           p->beyond_top_line,
                           p->thin_air_speed_factor};
  for (size_t i = 0; i < sizeof number / sizeof number[0]; i++) HOLDS(!isnan(number[i]));
}

static void check_plan(const ta_plan *plan) {
  HOLDS(plan->verdict < TA_VERDICT_COUNT);
  for (size_t i = 0; i < plan->profile.count; i++) check_point(&plan->profile.node[i]);
  for (size_t i = 0; i < plan->over.count; i++) {
    const ta_stretch *s = &plan->over.stretch[i];
    HOLDS(s->from_distance_m <= s->to_distance_m && !isnan(s->peak_shaft_rpm));
    HOLDS(isfinite(s->from_elevation_m) && isfinite(s->to_elevation_m));
  }
  check_point(&plan->over.worst.point);
  check_point(&plan->start);
  HOLDS(isfinite(plan->caps.constant.set_point));
  HOLDS(plan->caps.constant.limited_by < TA_LIMITED_BY_COUNT &&
        !isnan(plan->caps.constant.per_10k));
  check_point(&plan->caps.constant.tightest.point);
  for (size_t i = 0; i < plan->caps.schedule.count; i++) {
    const ta_schedule_row *row = &plan->caps.schedule.row[i];
    HOLDS(isfinite(row->set_point) && isfinite(row->ambient_pa) && !isnan(row->per_10k));
    check_point(&row->cap.at);
  }
  HOLDS(plan->caps.positions.count > 0);
  for (size_t i = 0; i < plan->caps.positions.count; i++)
    HOLDS(isfinite(plan->caps.positions.position[i].cap.set_point));
  HOLDS(isfinite(plan->caps.shift.engine_rpm));
  HOLDS(isfinite(plan->surges_below_rpm) && isfinite(plan->map_error));
}

static void check_taken(const ta_event *event, ta_diagnostics *diagnostics) {
  static ta_plan plan;
  ta_prepared prepared;
  ta_diagnostics_clear(diagnostics);
  HOLDS(ta_event_check(event, "", diagnostics) == TA_OK);
  HOLDS(ta_prepare(event, &prepared) == TA_OK);
  if (event->course.count <= POINTS) { /* so that a run stays short */
    HOLDS(ta_plan_make(&prepared, &plan) == TA_OK);
    check_plan(&plan);
    ta_plan_free(&plan);
    ta_plan_free(&plan);
  }
  ta_prepared_free(&prepared);
  ta_prepared_free(&prepared);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static ta_diagnostics diagnostics;
  static settings s;
  ta_event event;
  if (size > LARGEST) return 0;
  (void)gsl_set_error_handler_off();
  char *text = malloc(size > 0 ? size : 1); /* exact: reading past the end is noticed */
  if (text == NULL) return 0;
  if (size > 0) memcpy(text, bytes, size);
  read_settings(text, size, &s);
  ta_diagnostics_clear(&diagnostics);
  const ta_status status = ta_event_read_bytes("/nonexistent/event.yaml", text, size, s.setting,
                                               s.count, &event, &diagnostics);
  free(text);
  HOLDS(status == TA_OK || status == TA_ERR_INPUT);
  if (status == TA_OK)
    check_taken(&event, &diagnostics);
  else
    check_refused(&event, &diagnostics);
  ta_event_free(&event);
  ta_event_free(&event);
  return 0;
}
