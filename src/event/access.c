/* access.c - numbers of an event by key.
 *
 * Method    The key is walked along the schema: each [i] steps into a list, the rest is the offset of
 *           the field's row.  On the way to a number that is set, a list that the fork does not own is
 *           copied into it.
 * Pinned by tests/event/test_access.c: what is set is what a reading with that setting holds.
 */
#include "thinair/access.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void ta_event_fork(const ta_event *event, ta_event *fork) {
  *fork = *event;
  fork->owned = NULL;
  fork->owned_count = fork->owned_room = 0;
}

const ta_field *ta_number_field(const char *key, char *why, size_t why_size) {
  char pattern[TA_KEY_MAX];
  const char *word = strstr(key, "[lowest]");
  if (word != NULL) {
    char numbered[TA_KEY_MAX];
    (void)snprintf(numbered, sizeof numbered, "%.*s[0]%s", (int)(word - key), key,
                   word + strlen("[lowest]"));
    return ta_number_field(numbered, why, why_size);
  }
  ta_schema_pattern(key, pattern);
  const size_t length = strlen(pattern), bare = length > 2 ? length - 2 : 0;
  const ta_field *field = ta_schema_find(pattern, length), *around = ta_schema_find(pattern, bare);
  if (strlen(key) < TA_KEY_MAX && field != NULL && field->form == TA_FORM_QUANTITY) return field;
  if (strcmp(pattern + bare, "[]") == 0 && around != NULL &&
      (around->form == TA_FORM_RANGE || around->form == TA_FORM_SERIES))
    return around;
  ta_schema_taken(pattern, why, why_size);
  return NULL;
}

static bool is_within(const char *key, const char *group) {
  const size_t n = strlen(group);
  return strncmp(key, group, n) == 0 && key[n] == '.';
}

/* Is every group there that may be left out, and is no choice made that shuts the group? */
static bool groups_are_there(const ta_event *event, const char *key, char *why, size_t why_size) {
  size_t count;
  const ta_field *row = ta_schema(&count);
  for (size_t i = 0; i < count; i++) {
    bool there = true;
    int choice = 0;
    if (!is_within(key, row[i].key)) continue;
    if (row[i].form == TA_FORM_GROUP && row[i].has_offset != TA_NOWHERE)
      memcpy(&there, (const char *)event + row[i].has_offset, sizeof there);
    if (row[i].form == TA_FORM_CHOICE)
      memcpy(&choice, (const char *)event + row[i].offset, sizeof choice);
    if (there && choice == 0) continue;
    (void)snprintf(why, why_size, there ? "%s is off" : "the event has no %s", row[i].key);
    return false;
  }
  return true;
}

static size_t lowest_station(const ta_event *event) {
  size_t lowest = 0;
  for (size_t i = 1; i < event->day.station_count; i++)
    if (event->day.station[i].elevation_m < event->day.station[lowest].elevation_m) lowest = i;
  return lowest;
}

static bool owns(const ta_event *event, const void *memory) {
  for (size_t i = 0; i < event->owned_count; i++)
    if (event->owned[i] == memory) return true;
  return false;
}

/* The list that a row describes becomes the event's own. */
static ta_status own_list(ta_event *event, char *base, const ta_field *list, size_t count) {
  void *elements, *copy;
  memcpy(&elements, base + list->offset, sizeof elements);
  if (owns(event, elements)) return TA_OK;
  copy = ta_event_allocate(event, count * list->element_size);
  if (copy == NULL) return TA_ERR_MEMORY;
  memcpy(copy, elements, count * list->element_size);
  memcpy(base + list->offset, &copy, sizeof copy);
  return TA_OK;
}

/* Where a number stands: the struct that its row's offsets count from, and the number itself. */
typedef struct {
  char *base, *number;
} place;

static ta_status find_number(ta_event *event, const ta_field *field, const char *key, bool own,
                             place *found, char *why, size_t why_size) {
  char pattern[TA_KEY_MAX] = "", *base = (char *)event, *element = NULL;
  for (const char *c = key; *c != '\0';) {
    const size_t used = strlen(pattern), n = strcspn(c, "[");
    (void)snprintf(pattern + used, sizeof pattern - used, "%.*s", (int)n, c);
    c += n;
    if (*c == '\0') break;
    const ta_field *list = ta_schema_find(pattern, strlen(pattern));
    char *end = NULL;
    const bool lowest = strncmp(c, "[lowest]", 8) == 0;
    const size_t index = lowest ? lowest_station(event) : strtoul(c + 1, &end, 10);
    size_t count = 2;
    if (list->form != TA_FORM_RANGE) memcpy(&count, base + list->count_offset, sizeof count);
    if (index >= count) {
      (void)snprintf(why, why_size, "%.*s holds %zu, which count from 0", (int)(c - key), key,
                     count);
      return TA_ERR_ARGUMENT;
    }
    if (list->form == TA_FORM_RANGE) {
      element = base + list->offset + index * sizeof(double);
    } else {
      const ta_status status = own ? own_list(event, base, list, count) : TA_OK;
      if (status != TA_OK) return status;
      memcpy(&element, base + list->offset, sizeof element);
      element += index * list->element_size;
    }
    c = lowest ? c + 8 : end + 1;
    if (*c != '\0') base = element;
    (void)snprintf(pattern + strlen(pattern), sizeof pattern - strlen(pattern), "[]");
  }
  const bool single = field->form == TA_FORM_QUANTITY;
  *found = (place){base, single ? base + field->offset : element};
  assert(found->number != NULL);
  return TA_OK;
}

static bool flag_of(const char *base, size_t offset) {
  bool flag = false;
  memcpy(&flag, base + offset, sizeof flag);
  return flag;
}

static void set_flag(char *base, size_t offset, bool flag) {
  if (offset != TA_NOWHERE) memcpy(base + offset, &flag, sizeof flag);
}

ta_status ta_event_number_get(const ta_event *event, const char *key, double *si, char *why,
                              size_t why_size) {
  if (event == NULL || key == NULL || si == NULL || why == NULL) return TA_ERR_ARGUMENT;
  const ta_field *field = ta_number_field(key, why, why_size);
  if (field == NULL) return TA_ERR_ARGUMENT;
  if (!groups_are_there(event, key, why, why_size)) return TA_ERR_INPUT;
  ta_event fork;
  place at;
  ta_event_fork(event, &fork);
  const ta_status status = find_number(&fork, field, key, false, &at, why, why_size);
  if (status != TA_OK) return status;
  if (field->form == TA_FORM_QUANTITY &&
      ((field->has_offset != TA_NOWHERE && !flag_of(at.base, field->has_offset)) ||
       (field->other_kind != TA_NUMBER && flag_of(at.base, field->other_has_offset)))) {
    (void)snprintf(why, why_size, "the event does not give it as %s", ta_kind_name(field->kind));
    return TA_ERR_INPUT;
  }
  memcpy(si, at.number, sizeof *si);
  return TA_OK;
}

/* What reading makes of a number and then has no more. */
static bool used_up(const ta_event *event, const char *key, char *why, size_t why_size) {
  const bool smoothing = strcmp(key, "course.smoothing") == 0,
             road = is_within(key, "course") &&
                    (event->has_course_smoothing || event->is_cut || event->course_is_gpx);
  if (!smoothing && !road && strcmp(key, "day.elevation") != 0) return false;
  (void)snprintf(why, why_size, "%s",
                 smoothing || road ? "the course is smoothed and cut when the event is read"
                                   : "the report is made a station when the event is read");
  return true;
}

static void displace_goals(ta_event *fork, const char *key, char *base) {
  ta_goal *goal = &fork->goal;
  const char *dot = strrchr(key, '.');
  if (dot == NULL || strncmp(key, "goal.", 5) != 0) return;
  const bool boost = strcmp(dot, ".boost") == 0, map = strcmp(dot, ".map") == 0;
  if (!boost && !map) return;
  if (base == (char *)fork) {
    goal->has_boost = boost;
    goal->has_map = map;
    goal->point = NULL;
    goal->point_count = 0;
  } else {
    ta_goal_point *point = (ta_goal_point *)(void *)base;
    point->has_boost = boost;
    point->has_map = map;
  }
}

ta_status ta_event_number_set(ta_event *fork, const char *key, double si, char *why,
                              size_t why_size) {
  if (fork == NULL || key == NULL || why == NULL) return TA_ERR_ARGUMENT;
  const ta_field *field = ta_number_field(key, why, why_size);
  if (field == NULL) return TA_ERR_ARGUMENT;
  if (!isfinite(si) || !ta_field_takes(field, si)) {
    ta_field_outside(field, ta_field_unit(field, ""), si, why, why_size);
    return TA_ERR_DOMAIN;
  }
  if (!groups_are_there(fork, key, why, why_size) || used_up(fork, key, why, why_size))
    return TA_ERR_INPUT;
  place at;
  const ta_status status = find_number(fork, field, key, true, &at, why, why_size);
  if (status != TA_OK) return status;
  memcpy(at.number, &si, sizeof si);
  if (field->form == TA_FORM_QUANTITY) {
    set_flag(at.base, field->has_offset, true);
    if (field->other_kind != TA_NUMBER) set_flag(at.base, field->other_has_offset, false);
  }
  displace_goals(fork, key, at.base);
  return TA_OK;
}

unsigned ta_event_number_touches(const char *key) {
  if (is_within(key, "day")) return TA_TOUCHES_DAY;
  if (is_within(key, "course")) return TA_TOUCHES_COURSE;
  return is_within(key, "car.turbo.compressor") ? TA_TOUCHES_COMPRESSOR_MAP : TA_TOUCHES_NOTHING;
}
