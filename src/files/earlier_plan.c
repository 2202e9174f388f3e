/* earlier_plan.c - an earlier plan, read back from its JSON.
 *
 * Method    JSON is near enough to YAML for libyaml's parser of events; the path to each value is kept
 *           and the few that are wanted are picked, so a long trace builds no tree.
 * Pinned by tests/files/test_earlier_plan.c, tests/fuzz/fuzz_earlier_plan.c.
 */
#include "thinair/earlier_plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/quantity.h"
#include "yaml_reader.h"

enum { DEEPEST = 64, SHOWN_MAX = 40 };

typedef struct {
  ta_earlier_plan plan;
  char event[TA_GIST_TEXT_MAX];
} content;

typedef enum { AS_TEXT, AS_NUMBER, AS_VERDICT, AS_LIMITED_BY, AS_GROUP } form;

#define GIST(member) offsetof(content, plan.gist.member)
#define NOWHERE ((size_t)-1)

enum { VERSION, EVENT, VERDICT, FIRST_OVER }; /* picks that have a say of their own */

/* Every key is needed; one may hold null where that means something.  si = factor x value. */
static const struct {
  const char *key;
  form form;
  bool null_taken;
  size_t offset, has_offset;
  double factor, low, high; /* low and high as written */
} picks[] = {
    [VERSION] = {"thinair_version", AS_TEXT, false, offsetof(content, plan.version), NOWHERE, 0, 0,
                 0},
    [EVENT] = {"event", AS_TEXT, false, offsetof(content, event), NOWHERE, 0, 0, 0},
    [VERDICT] = {"verdict", AS_VERDICT, false, GIST(verdict), NOWHERE, 0, 0, 0},
    [FIRST_OVER] = {"first_over", AS_GROUP, true, 0, GIST(passes), 0, 0, 0},
    {"limit.limit_rpm", AS_NUMBER, false, GIST(limit_rpm), NOWHERE, 1.0, 1e3, 1e6},
    {"start.pressure_kPa", AS_NUMBER, false, GIST(start_pressure_pa), NOWHERE, 1e3, 10.0, 200.0},
    {"start.temperature_K", AS_NUMBER, false, GIST(start_temperature_k), NOWHERE, 1.0, 150.0,
     350.0},
    {"worst.compressor.shaft_rpm", AS_NUMBER, true, GIST(worst_shaft_rpm), NOWHERE, 1.0, 0.0, 1e7},
    {"worst.engine.map_kPa", AS_NUMBER, false, GIST(worst_map_pa), NOWHERE, 1e3, 1.0, 1e4},
    {"first_over.distance_m", AS_NUMBER, false, GIST(first_distance_m), NOWHERE, 1.0, -1e7, 1e7},
    {"first_over.elevation_m", AS_NUMBER, false, GIST(first_elevation_m), NOWHERE, 1.0, -2000.0,
     9000.0},
    {"first_over.mark", AS_TEXT, true, GIST(first_mark), NOWHERE, 0, 0, 0},
    {"caps.constant.map_kPa", AS_NUMBER, true, GIST(cap_map_pa), GIST(has_cap), 1e3, 1.0, 1e4},
    {"caps.constant.time_s", AS_NUMBER, true, GIST(cap_time_s), NOWHERE, 1.0, 0.0, 1e7},
    {"caps.constant.limited_by", AS_LIMITED_BY, false, GIST(limited_by), NOWHERE, 0, 0, 0},
};
enum { PICKS = sizeof picks / sizeof picks[0] };

static const char *const verdicts[] = {
#define X(symbol, name) [symbol] = name,
    TA_VERDICT_ROWS(X)
#undef X
};
static const char *const limited_bys[] = {
#define X(symbol, name) [symbol] = name,
    TA_LIMITED_BY_ROWS(X)
#undef X
};

typedef struct {
  const char *file;
  ta_diagnostics *diagnostics;
  content *content;
  bool seen[PICKS];
  char key
      [TA_KEY_MAX]; /* path of the value that comes next; too long a one is cut, and is no pick's */
  int depth;
  struct {
    size_t key_length; /* of the path of this level itself */
    bool mapping, key_due;
  } level[DEEPEST];
  size_t root_line, root_column, errors_before;
  yaml_mark_t event_mark; /* where the event's name stands */
} walk;

static void raise_at_mark(walk *w, const yaml_mark_t *mark, const char *key, const char *text) {
  char all[TA_MESSAGE_MAX];
  (void)snprintf(all, sizeof all, "%s%s%s", key, key[0] != '\0' ? ": " : "", text);
  ta_yaml_raise_at(w->diagnostics, w->file, mark != NULL ? mark->line + 1 : w->root_line,
                   mark != NULL ? mark->column + 1 : w->root_column, all);
}

/* The number of a name; what is taken is told when it is none of them. */
static bool choice_of(const char *const *names, int count, const char *text, int *choice,
                      char *taken, size_t size) {
  size_t used = 0;
  for (*choice = 0; *choice < count; ++*choice)
    if (strcmp(names[*choice], text) == 0) return true;
  for (int i = 0; i < count && used < size; i++)
    used += (size_t)snprintf(taken + used, size - used, "%s%s",
                             i > 0 ? ", " : "one is taken of: ", names[i]);
  return false;
}

/* Short enough, and nothing in it that could steer a terminal. */
static bool is_plain_text(const char *text, size_t length) {
  for (size_t i = 0; i < length; i++)
    if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f) return false;
  return length < TA_GIST_TEXT_MAX;
}

/* Puts a scalar where the pick has it; what is taken is told when it does not fit. */
static bool put(size_t pick, const yaml_event_t *event, content *into, char *taken, size_t size) {
  const char *text = (const char *)event->data.scalar.value, *rest;
  char *at = (char *)into + picks[pick].offset;
  const bool plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
  double number;
  int choice;
  switch (picks[pick].form) {
    case AS_NUMBER:
      (void)snprintf(taken, size, "a number from %.12g to %.12g is taken", picks[pick].low,
                     picks[pick].high);
      if (!plain || ta_number_parse(text, &number, &rest) != TA_OK || *rest != '\0' ||
          !(number >= picks[pick].low && number <= picks[pick].high))
        return false;
      number *= picks[pick].factor;
      memcpy(at, &number, sizeof number);
      return true;
    case AS_TEXT:
      (void)snprintf(taken, size, "a text of up to %d bytes, no control characters, is taken",
                     TA_GIST_TEXT_MAX - 1);
      if (!is_plain_text(text, event->data.scalar.length)) return false;
      memcpy(at, text, event->data.scalar.length + 1);
      return true;
    case AS_VERDICT:
      if (!choice_of(verdicts, TA_VERDICT_COUNT, text, &choice, taken, size)) return false;
      *(ta_verdict *)(void *)at = (ta_verdict)choice;
      return true;
    case AS_LIMITED_BY:
      if (!choice_of(limited_bys, TA_LIMITED_BY_COUNT, text, &choice, taken, size)) return false;
      *(ta_limited_by *)(void *)at = (ta_limited_by)choice;
      return true;
    default:
      (void)snprintf(taken, size, "a group of keys or null is taken");
      return false;
  }
}

/* Nothing inside a group is due. */
static void skip_inside(walk *w, size_t group) {
  const size_t n = strlen(picks[group].key);
  for (size_t i = 0; i < PICKS; i++)
    if (strncmp(picks[i].key, picks[group].key, n) == 0 && picks[i].key[n] == '.')
      w->seen[i] = true;
}

/* A value at the path: a scalar, or the start of a list or group. */
static void take(walk *w, const yaml_event_t *event) {
  size_t pick = 0;
  while (pick < PICKS && strcmp(picks[pick].key, w->key) != 0) pick++;
  if (pick == PICKS) return;
  const bool scalar = event->type == YAML_SCALAR_EVENT,
             group = event->type == YAML_MAPPING_START_EVENT;
  const char *value = scalar ? (const char *)event->data.scalar.value : "";
  const bool is_null =
      scalar && event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE && strcmp(value, "null") == 0;
  char taken[200] = "a single value is taken", text[TA_MESSAGE_MAX];
  bool fits = group && picks[pick].form == AS_GROUP;
  if (is_null && picks[pick].null_taken)
    fits = true;
  else if (scalar)
    fits = put(pick, event, w->content, taken, sizeof taken) && !is_null;
  if (fits && !is_null && picks[pick].has_offset != NOWHERE)
    *(bool *)((char *)w->content + picks[pick].has_offset) = true;
  if (!fits) {
    (void)snprintf(text, sizeof text, "found %s%.*s%s; %s",
                   scalar ? "" : (group ? "a group of keys" : "a list or a reference"), SHOWN_MAX,
                   value, strlen(value) > SHOWN_MAX ? "..." : "", taken);
    raise_at_mark(w, &event->start_mark, w->key, text);
  } else if (w->seen[pick]) {
    raise_at_mark(w, &event->start_mark, w->key, "it stands here a second time; it is taken once");
  }
  w->seen[pick] = true;
  if (pick == EVENT) w->event_mark = event->start_mark;
  if (is_null && pick == FIRST_OVER) skip_inside(w, pick);
}

/* A node begins.  A mapping's nodes are keys and values in turn; a key becomes the path's last part,
 * and what stands inside a list or is no plain key has a path that no pick has. */
static void begin_node(walk *w, const yaml_event_t *event) {
  if (w->depth == 0) {
    w->root_line = event->start_mark.line + 1;
    w->root_column = event->start_mark.column + 1;
    return;
  }
  const size_t at = w->level[w->depth - 1].key_length;
  if (!w->level[w->depth - 1].mapping || w->level[w->depth - 1].key_due) {
    const bool named = w->level[w->depth - 1].mapping && event->type == YAML_SCALAR_EVENT;
    (void)snprintf(w->key + at, sizeof w->key - at, "%s%s", at > 0 ? "." : "",
                   named ? (const char *)event->data.scalar.value : "[]");
  } else {
    take(w, event);
  }
}

static void end_node(walk *w) {
  if (w->depth > 0) w->level[w->depth - 1].key_due = !w->level[w->depth - 1].key_due;
}

/* @return what cannot be gone on from, or NULL. */
static const char *step(walk *w, const yaml_event_t *event, int *documents) {
  switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
      return ++*documents > 1 ? "a second document starts here; one is taken" : NULL;
    case YAML_SCALAR_EVENT:
    case YAML_ALIAS_EVENT:
      begin_node(w, event);
      if (w->depth == 0) return "found a single value; the object that plan --json writes is taken";
      end_node(w);
      return NULL;
    case YAML_SEQUENCE_START_EVENT:
    case YAML_MAPPING_START_EVENT:
      begin_node(w, event);
      if (w->depth == DEEPEST) return "the text nests too deep here; 64 levels are taken";
      w->level[w->depth].key_length = strlen(w->key);
      w->level[w->depth].mapping = event->type == YAML_MAPPING_START_EVENT;
      w->level[w->depth].key_due = true;
      w->depth++;
      return NULL;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
      w->depth--;
      end_node(w);
      return NULL;
    default:
      return NULL;
  }
}

/* What is wrong with the whole, once it has been walked through. */
static void check(walk *w, const char *event) {
  char text[TA_MESSAGE_MAX];
  if (!w->seen[VERSION] || !w->seen[VERDICT]) {
    raise_at_mark(w, NULL, "", "found no plan; what plan --json writes is taken");
    return;
  }
  if (!w->seen[FIRST_OVER]) skip_inside(w, FIRST_OVER);
  for (size_t i = 0; i < PICKS; i++)
    if (!w->seen[i])
      raise_at_mark(w, NULL, picks[i].key, "missing; what plan --json writes is taken");
  if (w->diagnostics->errors > w->errors_before || strcmp(w->content->event, event) == 0) return;
  (void)snprintf(text, sizeof text, "found a plan of \"%.100s\"; one of \"%.100s\" is taken",
                 w->content->event, event);
  raise_at_mark(w, &w->event_mark, "event", text);
}

ta_status ta_earlier_plan_read_bytes(const char *path, const char *bytes, size_t size,
                                     const char *event, ta_earlier_plan *earlier,
                                     ta_diagnostics *diagnostics) {
  if (path == NULL || bytes == NULL || event == NULL || earlier == NULL || diagnostics == NULL)
    return TA_ERR_ARGUMENT;
  content read = {.plan.gist = {.worst_shaft_rpm = HUGE_VAL, .cap_time_s = HUGE_VAL}};
  walk w = {.file = path,
            .diagnostics = diagnostics,
            .content = &read,
            .root_line = 1,
            .root_column = 1,
            .errors_before = diagnostics->errors};
  yaml_parser_t parser;
  yaml_event_t next;
  int documents = 0;
  bool ended = false, stopped = false;
  if (yaml_parser_initialize(&parser) == 0) return TA_ERR_MEMORY;
  yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, size);
  while (!ended && !stopped) {
    if (yaml_parser_parse(&parser, &next) == 0) {
      ta_yaml_raise_problem(&parser, path, bytes, size, diagnostics);
      break;
    }
    const char *wrong = step(&w, &next, &documents);
    stopped = wrong != NULL;
    if (stopped) raise_at_mark(&w, &next.start_mark, "", wrong);
    ended = next.type == YAML_STREAM_END_EVENT;
    yaml_event_delete(&next);
  }
  yaml_parser_delete(&parser);
  if (ended) check(&w, event);
  if (diagnostics->errors > w.errors_before) return TA_ERR_INPUT;
  *earlier = read.plan;
  return TA_OK;
}

ta_status ta_earlier_plan_read(const char *path, const char *event, ta_earlier_plan *earlier,
                               ta_diagnostics *diagnostics) {
  char *bytes = NULL, why[200];
  size_t size = 0;
  if (path == NULL || diagnostics == NULL) return TA_ERR_ARGUMENT;
  if (ta_file_read(path, &bytes, &size, why, sizeof why) != TA_OK) {
    ta_yaml_raise_at(diagnostics, path, 0, 0, why);
    return TA_ERR_INPUT;
  }
  const ta_status status =
      ta_earlier_plan_read_bytes(path, bytes, size, event, earlier, diagnostics);
  free(bytes);
  return status;
}
