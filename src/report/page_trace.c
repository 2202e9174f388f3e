/* page_trace.c - what the page's script reads: the trace along the course, and the place for its
 * numbers.
 *
 * Numbers to be shown are texts already; those that place a point are in the units of the pictures'
 * axes.
 *
 * Decision  Under the cap the engine speed is the one that is worst at the target, as on the picture
 *           of the compressor map: the worst under a table jumps between its columns.
 * Decision  Shaft, flow and pressure ratio have the overshoot on, as judged; what is to be set has not.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"
#include "picture_parts.h"

/* What the cursor shows of each way to run; what is to be set comes after them. */
#define QUANTITIES(X)                                      \
  X("shaft", "shaft", TA_SHOW_RPM, -1, shaft_rpm)          \
  X("share", "of limit", TA_SHOW_SHARE, -1, of_limit)      \
  X("engine", "engine", TA_SHOW_RPM, -1, engine_rpm)       \
  X("flow", "corrected flow", TA_SHOW_FLOW, -1, flow_kg_s) \
  X("ratio", "pressure ratio", TA_SHOW_RATIO, 2, pressure_ratio)

typedef struct {
  double shaft_rpm, of_limit, engine_rpm, flow_kg_s, pressure_ratio;
  double set_point; /* overshoot off, rounded down as shown where it is a cap */
} moment;

static const struct {
  const char *key, *title;
  ta_show show;
  int decimals; /* -1: as everywhere */
  size_t offset;
} quantities[] = {
#define X(key, title, show, decimals, member) \
  {key, title, show, decimals, offsetof(moment, member)},
    QUANTITIES(X)
#undef X
};
enum { QUANTITY_COUNT = sizeof quantities / sizeof quantities[0] };

typedef struct {
  size_t count;
  double distance_m[TA_CURSOR_POINTS], elevation_m[TA_CURSOR_POINTS];
  moment target[TA_CURSOR_POINTS], capped[TA_CURSOR_POINTS];
} trace;

static moment at_target(const ta_prepared *prepared, const ta_plan *plan, double elevation_m) {
  const ta_operating_point *a, *b;
  double share;
  ta_profile_between(&plan->profile, elevation_m, &a, &b, &share);
#define BETWEEN(member) (a->member + share * (b->member - a->member))
  const double shaft_rpm = ta_profile_shaft(&plan->profile, elevation_m),
               engine_rpm = BETWEEN(engine_rpm);
  return (moment){.shaft_rpm = shaft_rpm,
                  .of_limit = shaft_rpm / prepared->limit_rpm,
                  .engine_rpm = engine_rpm,
                  .flow_kg_s = BETWEEN(corrected_flow_kg_s),
                  .pressure_ratio = BETWEEN(pressure_ratio),
                  .set_point = ta_prepared_goal(prepared, engine_rpm)};
#undef BETWEEN
}

static moment at_cap(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                     ta_unit_system units, double engine_rpm, double distance_m,
                     double elevation_m) {
  const ta_speed_range range = ta_strategy_speeds(prepared, &plan->caps, strategy);
  const double rpm = fmin(fmax(engine_rpm, range.low_rpm), range.high_rpm);
  ta_air air;
  ta_judged at;
  const double none = (double)NAN;
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK ||
      !ta_judged_at(prepared, plan, strategy, (ta_speed_range){rpm, rpm}, distance_m, elevation_m,
                    &at))
    return (moment){none, none, none, none, none, none};
  const double cap =
      ta_strategy_cap(prepared, &plan->caps, strategy, distance_m, air.pressure_pa, rpm);
  return (moment){.shaft_rpm = at.shaft_rpm,
                  .of_limit = at.shaft_rpm / prepared->limit_rpm,
                  .engine_rpm = at.engine_rpm,
                  .flow_kg_s = at.corrected_flow_kg_s,
                  .pressure_ratio = at.pressure_ratio,
                  .set_point = fmin(ta_prepared_goal(prepared, rpm),
                                    ta_show_rounded_down(ta_set_point_show(prepared), units, cap))};
}

/* Evenly spaced along the road, both ends in. */
static void trace_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                       trace *t) {
  const ta_course *course = &prepared->event->course;
  const double from_m = course->point[0].distance_m,
               length_m = course->point[course->count - 1].distance_m - from_m;
  ta_strategy strategy = TA_FULL_TARGET;
  const bool has_cap = ta_best_cap(plan, &strategy);
  t->count = TA_CURSOR_POINTS;
  for (size_t i = 0; i < t->count; i++) {
    t->distance_m[i] = from_m + length_m * (double)i / (double)(t->count - 1);
    t->elevation_m[i] = ta_course_elevation(course, t->distance_m[i]);
    t->target[i] = at_target(prepared, plan, t->elevation_m[i]);
    if (has_cap)
      t->capped[i] = at_cap(prepared, plan, strategy, units, t->target[i].engine_rpm,
                            t->distance_m[i], t->elevation_m[i]);
  }
}

/* ---- JSON ------------------------------------------------------------------------------------ */

/* No text may end the element that it stands in: "<" is written as its number. */
static void text_json(const char *text, ta_buffer *out) {
  ta_buffer_add(out, "\"");
  for (; *text != '\0'; text++) {
    const unsigned char c = (unsigned char)*text;
    if (c < 0x20 || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&')
      ta_buffer_add(out, "\\u%04x", (unsigned)c);
    else
      ta_buffer_add(out, "%c", c);
  }
  ta_buffer_add(out, "\"");
}

static void number_json(double value, ta_buffer *out) {
  if (isfinite(value))
    ta_buffer_add(out, "%.6g", value);
  else
    ta_buffer_add(out, "null");
}

static void moments_json(const char *name, const moment *moments, size_t count, ta_show set,
                         ta_unit_system units, ta_buffer *out) {
  char shown[TA_SHOWN_MAX];
  ta_buffer_add(out, ",\n\"%s\":{\"x\":[", name);
  for (size_t i = 0; i < count; i++) {
    ta_buffer_add(out, i > 0 ? "," : "");
    number_json(ta_show_value(TA_SHOW_FLOW, units, moments[i].flow_kg_s), out);
  }
  ta_buffer_add(out, "],\"y\":[");
  for (size_t i = 0; i < count; i++) {
    ta_buffer_add(out, i > 0 ? "," : "");
    number_json(moments[i].pressure_ratio, out);
  }
  ta_buffer_add(out, "]");
  for (size_t q = 0; q < QUANTITY_COUNT; q++) {
    ta_buffer_add(out, ",\n\"%s\":[", quantities[q].key);
    for (size_t i = 0; i < count; i++) {
      const char *at = (const char *)&moments[i] + quantities[q].offset;
      ta_buffer_add(out, "%s\"%s\"", i > 0 ? "," : "",
                    ta_show_number(quantities[q].show, units, quantities[q].decimals,
                                   *(const double *)(const void *)at, shown));
    }
    ta_buffer_add(out, "]");
  }
  ta_buffer_add(out, ",\n\"set\":[");
  for (size_t i = 0; i < count; i++)
    ta_buffer_add(out, "%s\"%s\"", i > 0 ? "," : "",
                  ta_show_number(set, units, -1, moments[i].set_point, shown));
  ta_buffer_add(out, "]}");
}

void ta_page_trace(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                   ta_buffer *out) {
  ta_strategy strategy;
  char place[TA_SENTENCE_MAX];
  trace *t = malloc(sizeof *t);
  out->failed = out->failed || t == NULL;
  if (t == NULL) return;
  trace_make(prepared, plan, units, t);
  size_t worst = 0;
  ta_buffer_add(out, "<script type=\"application/json\" id=\"trace\">{\"place\":[");
  for (size_t i = 0; i < t->count; i++) {
    ta_buffer_add(out, i > 0 ? "," : "");
    text_json(
        ta_say_place(&prepared->event->course, units, t->distance_m[i], t->elevation_m[i], place),
        out);
    if (fabs(t->distance_m[i] - plan->over.worst.distance_m) <
        fabs(t->distance_m[worst] - plan->over.worst.distance_m))
      worst = i;
  }
  ta_buffer_add(out, "],\n\"worst\":%zu,\"x\":[", worst);
  for (size_t i = 0; i < t->count; i++) {
    ta_buffer_add(out, i > 0 ? "," : "");
    number_json(ta_show_value(TA_SHOW_DISTANCE, units, t->distance_m[i]), out);
  }
  ta_buffer_add(out, "]");
  const ta_show set = ta_set_point_show(prepared);
  moments_json("target", t->target, t->count, set, units, out);
  if (ta_best_cap(plan, &strategy)) moments_json("cap", t->capped, t->count, set, units, out);
  ta_buffer_add(out, "}</script>\n");
  free(t);
}

/* ---- what stands in the page ----------------------------------------------------------------- */

void ta_page_switches(const ta_plan *plan, ta_buffer *out) {
  ta_strategy strategy;
  if (!ta_best_cap(plan, &strategy)) return;
  ta_buffer_add(out,
                "<input type=\"checkbox\" id=\"show-target\" checked><label for=\"show-target\" "
                "class=\"switch\"><span class=\"key of-target\"></span>%s</label>\n"
                "<input type=\"checkbox\" id=\"show-cap\" checked><label for=\"show-cap\" "
                "class=\"switch\"><span class=\"key of-cap\"></span>%s</label>\n",
                ta_strategy_words(TA_FULL_TARGET), ta_strategy_words(strategy));
}

static void read_out(const char *key, const char *title, const char *unit, bool has_cap,
                     ta_buffer *out) {
  ta_buffer_add(out, "<div><dt>%s%s%s</dt><dd class=\"of-target\" data-key=\"%s\"></dd>", title,
                unit[0] != '\0' ? " " : "", unit, key);
  if (has_cap) ta_buffer_add(out, "<dd class=\"of-cap\" data-key=\"%s\"></dd>", key);
  ta_buffer_add(out, "</div>\n");
}

void ta_page_readout(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                     ta_buffer *out) {
  ta_strategy strategy;
  const bool has_cap = ta_best_cap(plan, &strategy);
  char set[TA_SHOWN_MAX];
  ta_buffer_add(
      out,
      "<div class=\"readout scripted\">\n<label for=\"cursor\">Cursor <b id=\"place\"></b>"
      "</label>\n<input type=\"range\" id=\"cursor\" min=\"0\" max=\"%d\" step=\"1\" "
      "autocomplete=\"off\">\n<dl>\n",
      TA_CURSOR_POINTS - 1);
  for (size_t q = 0; q < QUANTITY_COUNT; q++)
    read_out(quantities[q].key, quantities[q].title, ta_show_unit(quantities[q].show, units),
             has_cap, out);
  (void)snprintf(set, sizeof set, "%s set", ta_set_point_word(prepared));
  read_out("set", set, ta_show_unit(ta_set_point_show(prepared), units), has_cap, out);
  ta_buffer_add(out, "</dl>\n</div>\n");
}
