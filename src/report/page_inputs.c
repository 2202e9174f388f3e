/* page_inputs.c - every value that an event was read with, as rows of a table.
 *
 * The rows of the schema are walked as they stand; what was not given is left out.
 */
#include <stdio.h>
#include <string.h>

#include "page.h"
#include "svg.h"
#include "thinair/quantity.h"
#include "thinair/schema.h"

enum { KEY = 2 * TA_KEY_MAX, ROWS_WRITTEN_OUT = 60, FORM_MAX = 200 };

typedef struct {
  ta_unit_system units;
  ta_buffer *out;
} writer;

static const void *at(const void *base, size_t offset) {
  return (const char *)base + offset;
}

static bool is_set(const void *base, size_t has_offset) {
  return has_offset == TA_NOWHERE || *(const bool *)at(base, has_offset);
}

/* In a unit that people would type. */
static void quantity_text(ta_kind kind, ta_unit_system units, double si, char *text, size_t size) {
  static const char *const names[TA_KIND_COUNT][2] = {
      [TA_PRESSURE] = {"kPa", "psia"},
      [TA_GAUGE_PRESSURE] = {"bar", "psi"},
      [TA_PRESSURE_DIFFERENCE] = {"kPa", "psi"},
      [TA_TEMPERATURE] = {"degC", "degF"},
      [TA_TEMPERATURE_DIFFERENCE] = {"K", "degF"},
      [TA_LAPSE_RATE] = {"K/km", "K/km"},
      [TA_LENGTH] = {"m", "ft"},
      [TA_AREA] = {"m2", "ft2"},
      [TA_VOLUME] = {"cc", "cu in"},
      [TA_MASS] = {"kg", "lb"},
      [TA_DENSITY] = {"kg/m3", "lb/ft3"},
      [TA_MASS_FLOW] = {"kg/s", "lb/min"},
      [TA_VOLUME_FLOW] = {"m3/s", "cfm"},
      [TA_ROTATION] = {"rpm", "rpm"},
      [TA_POWER] = {"kW", "hp"},
      [TA_SPECIFIC_CONSUMPTION] = {"g/kWh", "lb/hp/h"},
      [TA_SPEED] = {"km/h", "mph"},
      [TA_TIME] = {"s", "s"},
      [TA_ANGLE] = {"deg", "deg"},
  };
  const char *name = names[kind][units];
  if (kind == TA_LENGTH && si < 0.5) name = units == TA_US ? "in" : "mm"; /* a part, not a road */
  const ta_unit *unit = name != NULL ? ta_unit_find(kind, name, strlen(name)) : NULL;
  if (unit != NULL)
    (void)snprintf(text, size, "%.7g %s", ta_from_si(unit, si), name);
  else
    (void)snprintf(text, size, "%.7g", si);
}

/* The choice with that number out of "a|b|c". */
static void choice_text(const char *choices, int number, char *text, size_t size) {
  for (; number > 0 && *choices != '\0'; number--)
    choices += strcspn(choices, "|") + (choices[strcspn(choices, "|")] == '|');
  (void)snprintf(text, size, "%.*s", (int)strcspn(choices, "|"), choices);
}

/* One value as it would be typed.  @return false where none was given. */
static bool value_text(const writer *w, const ta_field *field, const void *base, char *text,
                       size_t size) {
  const void *value = at(base, field->offset);
  size_t used = 0;
  text[0] = '\0';
  switch (field->form) {
    case TA_FORM_QUANTITY:
      if (field->other_kind != TA_NUMBER && is_set(base, field->other_has_offset))
        quantity_text(field->other_kind, w->units, *(const double *)at(base, field->other_offset),
                      text, size);
      else if (is_set(base, field->has_offset))
        quantity_text(field->kind, w->units, *(const double *)value, text, size);
      else if (field->choices != NULL)
        choice_text(field->choices, 0, text, size);
      break;
    case TA_FORM_RANGE:
    case TA_FORM_SERIES: {
      const bool range = field->form == TA_FORM_RANGE;
      const double *number = range ? value : *(const double *const *)value;
      const size_t count = range ? 2 : *(const size_t *)at(base, field->count_offset);
      for (size_t i = 0; i < count && used < size; i++) {
        char one[FORM_MAX];
        quantity_text(field->kind, w->units, number[i], one, sizeof one);
        used += (size_t)snprintf(text + used, size - used, "%s%s", i > 0 ? ", " : "", one);
      }
      break;
    }
    case TA_FORM_TEXT:
      if (*(const char *const *)value != NULL)
        (void)snprintf(text, size, "%s", *(const char *const *)value);
      break;
    case TA_FORM_CHOICE:
      choice_text(field->choices, *(const int *)value, text, size);
      break;
    default:
      break;
  }
  return text[0] != '\0';
}

static void row(const writer *w, const char *key, const char *value, const char *about) {
  ta_buffer_add(w->out, "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">");
  ta_svg_escape(w->out, key);
  ta_buffer_add(w->out, "</th><td role=\"cell\">");
  ta_svg_escape(w->out, value);
  ta_buffer_add(w->out, "</td><td role=\"cell\">");
  ta_svg_escape(w->out, about);
  ta_buffer_add(w->out, "</td></tr>\n");
}

/* Does every group that the key stands in stand in the file? */
static bool groups_are_set(const char *key, size_t from, const void *base) {
  for (size_t i = from; key[i] != '\0'; i++) {
    const ta_field *group = key[i] == '.' ? ta_schema_find(key, i) : NULL;
    if (group != NULL && group->form == TA_FORM_GROUP && !is_set(base, group->has_offset))
      return false;
  }
  return true;
}

/* The cells of a table's row: "engine_speed 2000 rpm, ve 0.86". */
static void cells(const writer *w, const char *table, const void *element, char *text,
                  size_t size) {
  size_t count, used = 0;
  const ta_field *field = ta_schema(&count);
  const size_t length = strlen(table);
  text[0] = '\0';
  for (size_t i = 0; i < count && used < size; i++) {
    char value[FORM_MAX];
    if (strncmp(field[i].key, table, length) != 0 ||
        strncmp(field[i].key + length, "[].", 3) != 0 ||
        !value_text(w, &field[i], element, value, sizeof value))
      continue;
    used += (size_t)snprintf(text + used, size - used, "%s%s %s", used > 0 ? ", " : "",
                             field[i].key + length + 3, value);
  }
}

/* The keys right inside a pattern, "" or "day.stations[].", named as the files have them. */
static void group(const writer *w, const char *pattern, const char *path, const void *base) {
  size_t count;
  const ta_field *field = ta_schema(&count);
  const size_t inside = strlen(pattern);
  for (size_t i = 0; i < count; i++) {
    const ta_field *f = &field[i];
    char key[KEY], text[2048];
    if (strncmp(f->key, pattern, inside) != 0 || strstr(f->key + inside, "[]") != NULL ||
        !groups_are_set(f->key, inside, base))
      continue;
    (void)snprintf(key, sizeof key, "%s%s", path, f->key + inside);
    if (f->form != TA_FORM_LIST && f->form != TA_FORM_TABLE) {
      if (value_text(w, f, base, text, sizeof text)) row(w, key, text, f->about);
      continue;
    }
    const char *element = *(const char *const *)at(base, f->offset);
    const size_t elements = *(const size_t *)at(base, f->count_offset);
    if (elements > ROWS_WRITTEN_OUT) {
      (void)snprintf(text, sizeof text, "%zu rows", elements);
      row(w, key, text, f->about);
      continue;
    }
    for (size_t k = 0; k < elements; k++, element += f->element_size) {
      char below[KEY], name[KEY];
      if (f->form == TA_FORM_TABLE) {
        (void)snprintf(name, sizeof name, "%.*s[%zu]", KEY - 24, key, k);
        cells(w, f->key, element, text, sizeof text);
        row(w, name, text, k == 0 ? f->about : "");
      } else {
        (void)snprintf(below, sizeof below, "%s[].", f->key);
        (void)snprintf(name, sizeof name, "%.*s[%zu].", KEY - 24, key, k);
        group(w, below, name, element);
      }
    }
  }
}

void ta_page_inputs(const ta_event *event, ta_unit_system units, ta_buffer *out) {
  const writer w = {units, out};
  ta_buffer_add(out,
                "<table class=\"inputs\" role=\"table\" "
                "aria-labelledby=\"inputs-heading\">\n<thead role=\"rowgroup\"><tr "
                "role=\"row\"><th scope=\"col\" role=\"columnheader\">key</th><th scope=\"col\" "
                "role=\"columnheader\">value</th><th scope=\"col\" role=\"columnheader\">what it "
                "is</th></tr></thead>\n<tbody role=\"rowgroup\">\n");
  group(&w, "", "", event);
  ta_buffer_add(out, "</tbody>\n</table>\n");
}
