/* test_pictures.c - pictures read back as numbers: the axes from the ticks' own labels, the lines from
 * their vertices, against the plan and the model; and every picture of every event and of odd plans
 * sound, inside its drawing, and legible. */
#include <gsl/gsl_errno.h>

#include <dirent.h>
#include <expat.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/display.h"
#include "report/pictures.h"
#include "report/svg.h"
#include "test.h"
#include "thinair/controller_table.h"
#include "thinair/event_reader.h"
#include "thinair/thinair.h"

/* ---- plans ----------------------------------------------------------------------------------- */

typedef struct {
  ta_event event;
  ta_prepared prepared;
  ta_plan plan;
} planned;

typedef void (*changer)(ta_event *event);

static planned *make(const char *name, const char *key, const char *value, changer change) {
  static ta_diagnostics diagnostics;
  char path[500];
  const ta_setting setting = {
      "--set", key, value,
      key != NULL && strcmp(key, "goal.map") == 0 ? "boost|columns|rows" : NULL};
  planned *it = malloc(sizeof *it);
  assert_non_null(it);
  (void)snprintf(path, sizeof path, "%s/%s", TA_COURSES, name);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read(path, &setting, key != NULL ? 1 : 0, &it->event, &diagnostics),
                   TA_OK);
  if (change != NULL) change(&it->event);
  assert_int_equal(ta_prepare(&it->event, &it->prepared), TA_OK);
  assert_int_equal(ta_plan_make(&it->prepared, &it->plan), TA_OK);
  return it;
}

static void drop(planned *it) {
  ta_plan_free(&it->plan);
  ta_prepared_free(&it->prepared);
  ta_event_free(&it->event);
  free(it);
}

static ta_picture_frame frame_of(bool narrow, ta_unit_system units) {
  return (ta_picture_frame){.width = narrow ? 390.0 : 1200.0,
                            .height = narrow ? 420.0 : 560.0,
                            .text = narrow ? 12.0 : 14.0,
                            .id = "test",
                            .with_style = true,
                            .units = units};
}

/* ---- a drawing read back --------------------------------------------------------------------- */

enum { SHAPES_MAX = 1500, POINTS_MAX = 20000, TEXTS_MAX = 1500, DEPTH_MAX = 20, NAMES_MAX = 300 };

typedef struct {
  char part[40], fill[40];
  size_t first, count;
  bool is_rect, is_closed;
} shape;

typedef struct {
  char part[40], text[400];
  double x, y, size, turn_deg;
  char anchor;
  bool is_bold;
} lettering;

typedef struct {
  shape shape[SHAPES_MAX];
  ta_xy point[POINTS_MAX];
  lettering text[TEXTS_MAX];
  char part[DEPTH_MAX][40]; /* of each open element */
  char id[NAMES_MAX][64], wanted[NAMES_MAX][64];
  char title[1000], description[2000];
  char *into; /* where characters go */
  size_t shapes, points, texts, ids, wants, room;
  double size_px, width, height;
  int depth, hidden; /* inside definitions and the like */
} drawing;

static const char *value_of(const XML_Char **attribute, const char *key) {
  for (; attribute[0] != NULL; attribute += 2)
    if (strcmp(attribute[0], key) == 0) return attribute[1];
  return NULL;
}

static double number_of(const XML_Char **attribute, const char *key, double otherwise) {
  const char *value = value_of(attribute, key);
  return value != NULL ? strtod(value, NULL) : otherwise;
}

static void add_point(drawing *d, shape *s, double x, double y) {
  assert_true(d->points < POINTS_MAX && isfinite(x) && isfinite(y));
  d->point[d->points++] = (ta_xy){x, y};
  s->count++;
}

/* M and L with absolute coordinates; of an arc its start only; "h0.5" makes a lone point seen. */
static void read_path(drawing *d, const char *part, const char *fill, const char *data) {
  shape *s = NULL;
  for (const char *c = data; *c != '\0';) {
    char *end = NULL;
    if (*c == 'M') {
      assert_true(d->shapes < SHAPES_MAX);
      s = &d->shape[d->shapes++];
      *s = (shape){.first = d->points};
      memcpy(s->part, part, sizeof s->part);
      (void)snprintf(s->fill, sizeof s->fill, "%s", fill);
    }
    if (*c == 'M' || *c == 'L') {
      const double x = strtod(c + 1, &end);
      assert_true(end > c + 1);
      c = end;
      const double y = strtod(c, &end);
      assert_true(end > c);
      c = end;
      assert_non_null(s);
      add_point(d, s, x, y);
    } else {
      if (*c == 'Z' && s != NULL) s->is_closed = true;
      c++;
    }
  }
}

static void remember(char list[NAMES_MAX][64], size_t *count, const char *text, size_t length) {
  assert_true(*count < NAMES_MAX && length < 64);
  memcpy(list[*count], text, length);
  list[(*count)++][length] = '\0';
}

static void check_attributes(drawing *d, const XML_Char **attribute) {
  for (; attribute[0] != NULL; attribute += 2) {
    const char *key = attribute[0], *value = attribute[1];
    assert_true(strncmp(key, "on", 2) != 0 && strstr(key, "href") == NULL);
    assert_null(strstr(value, "nan"));
    if (strcmp(key, "id") == 0) remember(d->id, &d->ids, value, strlen(value));
    if (strncmp(value, "url(#", 5) == 0)
      remember(d->wanted, &d->wants, value + 5, strlen(value) - 6);
  }
}

static void XMLCALL begins(void *data, const XML_Char *name, const XML_Char **attribute) {
  static const char *const taken[] = {"svg", "title", "desc", "style", "defs",     "pattern",
                                      "g",   "rect",  "path", "text",  "clipPath", "linearGradient",
                                      "stop"};
  drawing *d = data;
  bool known = false;
  for (size_t i = 0; i < COUNT_OF(taken); i++) known = known || strcmp(name, taken[i]) == 0;
  if (!known) fail_msg("element %s", name);
  check_attributes(d, attribute);
  assert_true(d->depth + 1 < DEPTH_MAX);
  d->depth++;
  memcpy(d->part[d->depth], d->part[d->depth - 1], sizeof d->part[0]);
  const char *id = value_of(attribute, "id"), *fill = value_of(attribute, "fill"),
             *part = d->part[d->depth];
  if (strcmp(name, "g") == 0 && id != NULL)
    (void)snprintf(d->part[d->depth], sizeof d->part[0], "%s", id + strlen("ta-test-"));
  if (strcmp(name, "svg") == 0) {
    d->size_px = number_of(attribute, "font-size", 0.0);
    d->width = number_of(attribute, "width", 0.0);
    d->height = number_of(attribute, "height", 0.0);
  }
  d->hidden += strcmp(name, "defs") == 0 || strcmp(name, "clipPath") == 0;
  d->into = NULL;
  if (strcmp(name, "title") == 0) {
    d->into = d->title;
    d->room = sizeof d->title;
  } else if (strcmp(name, "desc") == 0) {
    d->into = d->description;
    d->room = sizeof d->description;
  } else if (strcmp(name, "text") == 0) {
    assert_true(d->texts < TEXTS_MAX);
    lettering *t = &d->text[d->texts++];
    const char *anchor = value_of(attribute, "text-anchor"),
               *turn = value_of(attribute, "transform");
    *t = (lettering){.x = number_of(attribute, "x", -1.0),
                     .y = number_of(attribute, "y", -1.0),
                     .size = number_of(attribute, "font-size", d->size_px),
                     .turn_deg = turn != NULL ? strtod(turn + strlen("rotate("), NULL) : 0.0,
                     .anchor = anchor == NULL ? 's' : anchor[0],
                     .is_bold = value_of(attribute, "font-weight") != NULL};
    t->y -= 0.36 * t->size; /* from the baseline to the middle */
    memcpy(t->part, part, sizeof t->part);
    d->into = t->text;
    d->room = sizeof t->text;
  } else if (strcmp(name, "path") == 0 && d->hidden == 0) {
    read_path(d, part, fill != NULL ? fill : "", value_of(attribute, "d"));
  } else if (strcmp(name, "rect") == 0 && d->hidden == 0) {
    assert_true(d->shapes < SHAPES_MAX);
    shape *s = &d->shape[d->shapes++];
    *s = (shape){.first = d->points, .is_rect = true};
    memcpy(s->part, part, sizeof s->part);
    (void)snprintf(s->fill, sizeof s->fill, "%s", fill != NULL ? fill : "");
    const double x = number_of(attribute, "x", 0.0), y = number_of(attribute, "y", 0.0);
    add_point(d, s, x, y);
    add_point(d, s, x + number_of(attribute, "width", 0.0),
              y + number_of(attribute, "height", 0.0));
  }
}

static void XMLCALL ends(void *data, const XML_Char *name) {
  drawing *d = data;
  d->hidden -= strcmp(name, "defs") == 0 || strcmp(name, "clipPath") == 0;
  d->into = NULL;
  d->depth--;
}

static void XMLCALL characters(void *data, const XML_Char *text, int length) {
  drawing *d = data;
  if (d->into == NULL) return;
  const size_t used = strlen(d->into);
  assert_true(used + (size_t)length < d->room);
  memcpy(d->into + used, text, (size_t)length);
  d->into[used + (size_t)length] = '\0';
}

static drawing *read_back(ta_buffer *out) {
  drawing *d = calloc(1, sizeof *d);
  XML_Parser parser = XML_ParserCreate(NULL);
  assert_true(d != NULL && parser != NULL && !out->failed);
  XML_SetUserData(parser, d);
  XML_SetElementHandler(parser, begins, ends);
  XML_SetCharacterDataHandler(parser, characters);
  if (XML_Parse(parser, out->text, (int)out->length, 1) != XML_STATUS_OK)
    fail_msg("line %lu: %s", (unsigned long)XML_GetCurrentLineNumber(parser),
             XML_ErrorString(XML_GetErrorCode(parser)));
  XML_ParserFree(parser);
  ta_buffer_free(out);
  return d;
}

static drawing *draw(const planned *it, ta_picture picture, bool narrow, ta_unit_system units) {
  const ta_picture_frame frame = frame_of(narrow, units);
  ta_buffer out = {0};
  assert_true(ta_picture_draw(picture, &it->prepared, &it->plan, &frame, &out));
  return read_back(&out);
}

static const shape *shape_of(const drawing *d, const char *part, size_t i) {
  for (size_t k = 0; k < d->shapes; k++)
    if (strcmp(d->shape[k].part, part) == 0 && i-- == 0) return &d->shape[k];
  return NULL;
}

static const lettering *text_of(const drawing *d, const char *part, size_t i) {
  for (size_t k = 0; k < d->texts; k++)
    if (strcmp(d->text[k].part, part) == 0 && i-- == 0) return &d->text[k];
  return NULL;
}

/* The first text that begins so; NULL: none. */
static const lettering *text_that_begins(const drawing *d, const char *words) {
  for (size_t k = 0; k < d->texts; k++)
    if (strncmp(d->text[k].text, words, strlen(words)) == 0) return &d->text[k];
  return NULL;
}

/* The answer, in bold. */
static const char *headline_of(const drawing *d) {
  for (size_t k = 0; k < d->texts; k++)
    if (d->text[k].is_bold) return d->text[k].text;
  return "";
}

/* "2,500" as a number. */
static bool plain_number(const char *text, double *value) {
  char digits[100];
  size_t n = 0;
  for (; *text != '\0' && n + 1 < sizeof digits; text++)
    if (*text != ',') digits[n++] = *text;
  digits[n] = '\0';
  char *end;
  *value = strtod(digits, &end);
  return n > 0 && *end == '\0';
}

/* An axis as its ticks say: value = at0 + per_px px. */
typedef struct {
  double at0, per_px;
} scale;

static scale scale_of(const drawing *d, const char *part, bool level) {
  double px[2] = {0.0, 0.0}, value[2] = {0.0, 0.0}, v;
  size_t found = 0;
  for (size_t k = 0; k < d->texts; k++) {
    const lettering *t = &d->text[k];
    if (strcmp(t->part, part) != 0 || !plain_number(t->text, &v)) continue;
    const size_t at = found == 0 ? 0 : 1;
    px[at] = level ? t->x : t->y;
    value[at] = v;
    found++;
  }
  if (found < 2) fail_msg("%zu ticks on %s", found, part);
  const double per_px = (value[1] - value[0]) / (px[1] - px[0]);
  return (scale){value[0] - per_px * px[0], per_px};
}

static double read_scale(scale s, double px) {
  return s.at0 + s.per_px * px;
}

static double shown(ta_show show, ta_unit_system units, double si) {
  return ta_show_value(show, units, si);
}

static double si_per(ta_show show, ta_unit_system units) {
  return 1.0 / (ta_show_value(show, units, 1.0) - ta_show_value(show, units, 0.0));
}

static ta_rect box_of(const drawing *d, const lettering *t) {
  const ta_svg svg = {.text_px = d->size_px};
  const ta_lettering l = {.at = {t->x, t->y},
                          .anchor = t->anchor == 's'   ? TA_START
                                    : t->anchor == 'm' ? TA_MIDDLE
                                                       : TA_END,
                          .size_px = t->size,
                          .turn_deg = t->turn_deg,
                          .bold = t->is_bold};
  return ta_svg_text_box(&svg, &l, t->text);
}

static void keep_two_lines(ta_event *event) {
  event->car.turbo.compressor.line += event->car.turbo.compressor.line_count - 2;
  event->car.turbo.compressor.line_count = 2;
}

/* ---- course ---------------------------------------------------------------------------------- */

/* How far [px] a line's vertices lie from where the plan has the shaft. */
static int line_off(const planned *it, const drawing *d, const char *part, ta_unit_system units,
                    size_t *vertices) {
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  int bad = 0;
  const shape *s;
  for (size_t i = 0; (s = shape_of(d, part, i)) != NULL; i++)
    for (size_t k = 0; k < s->count; k++) {
      const ta_xy p = d->point[s->first + k];
      const double distance_m = read_scale(x, p.x) * si_per(TA_SHOW_DISTANCE, units);
      const double shaft =
          ta_profile_shaft(&it->plan.profile, ta_course_elevation(&it->event.course, distance_m));
      bad += off(part, "px", p.y + (shaft - read_scale(y, p.y)) / y.per_px, p.y, 0.3);
      (*vertices)++;
    }
  return bad;
}

static void the_shaft_is_drawn_where_the_plan_has_it(void **state) {
  (void)state;
  static const char *const names[] = {"tolvane-dome", "red-lantern-canyon"};
  int bad = 0;
  for (size_t n = 0; n < COUNT_OF(names); n++) {
    planned *it = make(names[n], NULL, NULL, NULL);
    for (int narrow = 0; narrow < 2; narrow++)
      for (int us = 0; us < 2; us++) {
        const ta_unit_system units = us ? TA_US : TA_METRIC;
        drawing *d = draw(it, TA_PICTURE_COURSE, narrow, units);
        size_t vertices = 0;
        bad += line_off(it, d, "target", units, &vertices);
        bad += line_off(it, d, "estimate", units, &vertices);
        assert_true(vertices >= 10);
        /* between the vertices, too */
        const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
        const shape *s = shape_of(d, "target", 0);
        for (size_t k = 0; k + 1 < s->count; k++) {
          const ta_xy a = d->point[s->first + k], b = d->point[s->first + k + 1];
          for (int part = 1; part < 7; part++) {
            const double px = a.x + (b.x - a.x) * part / 7.0, py = a.y + (b.y - a.y) * part / 7.0;
            const double elevation_m = ta_course_elevation(
                &it->event.course, read_scale(x, px) * si_per(TA_SHOW_DISTANCE, units));
            const double shaft = ta_profile_shaft(&it->plan.profile, elevation_m);
            bad += off(names[n], "px between", (shaft - read_scale(y, py)) / y.per_px, 0.0, 1.0);
          }
        }
        free(d);
      }
    drop(it);
  }
  assert_int_equal(bad, 0);
}

static void the_course_picture_has_its_levels_and_places(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  drawing *d = draw(it, TA_PICTURE_COURSE, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false),
              up = scale_of(d, "right-axis", false);
  const ta_over *over = &it->plan.over;
  int bad = 0;
  const shape *s = shape_of(d, "limit", 0);
  bad += off("limit", "rpm", read_scale(y, d->point[s->first].y), it->prepared.limit_rpm, 3.0);
  s = shape_of(d, "rated", 0);
  bad += off("rated", "rpm", read_scale(y, d->point[s->first].y), 146e3, 3.0);
  /* the hatch begins where the limit is passed, and its foot is the limit */
  s = shape_of(d, "over", 0);
  bad += off("over", "km", read_scale(x, d->point[s->first].x),
             1e-3 * over->stretch[0].from_distance_m, 1e-3);
  bad += off("over", "foot", read_scale(y, d->point[s->first + s->count - 1].y),
             it->prepared.limit_rpm, 3.0);
  s = shape_of(d, "over-ground", 0);
  bad += off("ground", "km", read_scale(x, d->point[s->first].x),
             1e-3 * over->stretch[0].from_distance_m, 1e-3);
  s = shape_of(d, "ground", 0);
  for (size_t k = 0; k < s->count; k++) {
    const ta_xy p = d->point[s->first + k];
    bad += off("ground", "m", read_scale(up, p.y),
               ta_course_elevation(&it->event.course, 1e3 * read_scale(x, p.x)),
               0.3 * fabs(up.per_px));
  }
  /* a cross in two strokes: its middle */
  s = shape_of(d, "over-from", 0);
  const ta_xy a = d->point[s->first], b = d->point[s->first + 1];
  bad += off("first", "km", read_scale(x, 0.5 * (a.x + b.x)), 1e-3 * over->first.distance_m, 2e-3);
  bad += off("first", "rpm", read_scale(y, 0.5 * (a.y + b.y)), it->prepared.limit_rpm, 10.0);
  /* the worst: a disc, its path begins at its left */
  s = shape_of(d, "worst", 0);
  bad += off("worst", "km", read_scale(x, d->point[s->first].x + 5.0),
             1e-3 * over->worst.distance_m, 2e-3);
  bad +=
      off("worst", "rpm", read_scale(y, d->point[s->first].y), over->worst.point.shaft_rpm, 10.0);
  /* what lies past the map's last line is drawn as an estimate, and only that */
  for (int part = 0; part < 2; part++) {
    s = shape_of(d, part == 0 ? "target" : "estimate", 0);
    for (size_t k = 1; k + 1 < s->count; k++) {
      const double elevation_m =
          ta_course_elevation(&it->event.course, 1e3 * read_scale(x, d->point[s->first + k].x));
      const ta_operating_point *below, *above;
      double share;
      ta_profile_between(&it->plan.profile, elevation_m, &below, &above, &share);
      assert_int_equal(part == 0 ? below->zone : above->zone,
                       part == 0 ? TA_MAPPED : TA_EXTRAPOLATED);
    }
  }
  assert_int_equal(bad, 0);
  assert_non_null(strstr(d->description, "140,160 rpm"));
  assert_non_null(strstr(d->description, "153,641 rpm"));
  free(d);
  drop(it);
}

static void drive_a_part(ta_event *event) {
  char why[TA_MESSAGE_MAX];
  assert_int_equal(ta_event_cut(event, "Slate Gate", NULL, why, sizeof why), TA_OK);
}

static void a_part_is_called_a_part(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, drive_a_part);
  drawing *d = draw(it, TA_PICTURE_COURSE, false, TA_METRIC);
  assert_string_equal(headline_of(d),
                      "Over the limit from where the part begins to the end of the part");
  free(d);
  d = draw(it, TA_PICTURE_CAP, false, TA_METRIC);
  assert_non_null(strstr(headline_of(d), " kPa where the part begins, "));
  free(d);
  drop(it);
}

/* 40 named places within 2 km, and more along the road. */
static void name_many(ta_event *event) {
  static char names[200][20];
  size_t named = 0;
  for (size_t i = 1; i + 1 < event->course.count; i++) {
    ta_course_point *point = &event->course.point[i];
    if (point->mark != NULL || point->distance_m < 9100.0 || named == COUNT_OF(names)) continue;
    (void)snprintf(names[named], sizeof names[0], "Post %zu", named);
    point->mark = names[named++];
  }
  assert_true(named > 60);
}

static void of_many_marks_those_that_matter_are_named(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, name_many);
  const ta_course_point *nearest =
      ta_course_nearest_mark(&it->event.course, it->plan.over.first.distance_m);
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_COURSE, narrow, TA_METRIC);
    static const char *const first[] = {"Start", "Summit"};
    for (size_t i = 0; i < 2; i++) assert_non_null(text_that_begins(d, first[i]));
    assert_non_null(text_that_begins(d, nearest->mark));
    const scale x = scale_of(d, "x-axis", true), up = scale_of(d, "right-axis", false);
    double drawn[100];
    size_t marks = 0;
    const shape *s;
    for (size_t i = 0; (s = shape_of(d, "marks", i)) != NULL; i++) {
      if (s->count != 2) continue; /* a stake, else a diamond twice */
      for (size_t k = 0; k < marks; k++)
        assert_true(fabs(d->point[s->first].x - drawn[k]) > 1.4 * d->size_px);
      assert_true(marks < COUNT_OF(drawn));
      drawn[marks++] = d->point[s->first].x;
    }
    assert_true(marks >= (narrow ? 6 : 12) && marks <= 40);
    /* names stand in the air */
    const lettering *t;
    size_t names = 0;
    for (; (t = text_of(d, "mark-names", names)) != NULL; names++) {
      const ta_rect box = box_of(d, t);
      for (int k = 0; k <= 20; k++) {
        const double px = box.left + (box.right - box.left) * k / 20.0,
                     ground_m = ta_course_elevation(&it->event.course, 1e3 * read_scale(x, px));
        assert_true(box.bottom < (ground_m - up.at0) / up.per_px + 1.0);
      }
    }
    assert_true(names >= 3);
    free(d);
  }
  drop(it);
}

static void estimates_say_of_which_kind(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, keep_two_lines);
  drawing *d = draw(it, TA_PICTURE_COURSE, false, TA_METRIC);
  const ta_profile *profile = &it->plan.profile;
  assert_int_equal(profile->node[0].zone, TA_BELOW);
  assert_int_equal(profile->node[profile->count - 1].zone, TA_EXTRAPOLATED);
  bool below = false, past = false;
  const lettering *t;
  for (size_t i = 0; (t = text_of(d, "estimates", i)) != NULL; i++) {
    below = below || strstr(t->text, "estimate: below the lowest line") != NULL;
    past = past || strcmp(t->text, "from here an estimate: past the last line") == 0;
  }
  assert_true(below && past);
  free(d);
  drop(it);
}

/* One cap for the whole run is the best that this controller has: against solves at that cap. */
static void the_shaft_under_a_cap_is_solved_anew(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "car.control.positions", "1", NULL);
  planned *key_on = make("tolvane-dome", "car.control.holds", "gauge-from-key-on", NULL);
  int bad = 0;
  drawing *d = draw(key_on, TA_PICTURE_COURSE, false, TA_METRIC);
  assert_true(key_on->plan.runs.has_best);
  const ta_strategy best = key_on->plan.runs.best;
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  const shape *s = shape_of(d, "capped", 0);
  assert_true(s != NULL && s->count > 10);
  for (size_t k = 0; k < s->count; k++) {
    const ta_xy p = d->point[s->first + k];
    const double distance_m = 1e3 * read_scale(x, p.x),
                 elevation_m = ta_course_elevation(&key_on->event.course, distance_m);
    ta_operating_point worst;
    ta_air air;
    assert_int_equal(ta_day_air(&key_on->prepared.day, elevation_m, &air), TA_OK);
    bool at_a_switch = false; /* the line falls there from one cap to the next */
    for (size_t i = 0; best == TA_BY_POSITION && i < key_on->plan.caps.positions.count; i++)
      at_a_switch =
          at_a_switch ||
          fabs(distance_m - key_on->plan.caps.positions.position[i].from_distance_m) < 30.0;
    if (at_a_switch) continue;
    assert_int_equal(
        ta_worst_in_range(&key_on->prepared,
                          ta_strategy_speeds(&key_on->prepared, &key_on->plan.caps, best),
                          elevation_m,
                          ta_strategy_cap(&key_on->prepared, &key_on->plan.caps, best, distance_m,
                                          air.pressure_pa, 7200.0),
                          &worst),
        TA_OK);
    bad += off("capped", "rpm", read_scale(y, p.y), worst.shaft_rpm, 60.0);
  }
  /* upright at a switch: two vertices, both within half a pixel of it */
  assert_int_equal(best, TA_BY_POSITION);
  for (size_t i = 1; i < key_on->plan.caps.positions.count; i++) {
    const double at_px =
        (1e-3 * key_on->plan.caps.positions.position[i].from_distance_m - x.at0) / x.per_px;
    size_t near = 0;
    for (size_t k = 0; k < s->count; k++) near += fabs(d->point[s->first + k].x - at_px) < 0.5;
    assert_true(near >= 2);
  }
  free(d);
  /* the table holds the limit everywhere, and comes close to it */
  d = draw(it, TA_PICTURE_COURSE, false, TA_METRIC);
  const scale rpm = scale_of(d, "left-axis", false);
  double most = 0.0;
  s = shape_of(d, "capped", 0);
  for (size_t k = 0; k < s->count; k++)
    most = fmax(most, read_scale(rpm, d->point[s->first + k].y));
  assert_true(most <= it->prepared.limit_rpm + 20.0);
  assert_true(most > 0.985 * it->prepared.limit_rpm);
  free(d);
  assert_int_equal(bad, 0);
  drop(key_on);
  drop(it);
}

/* 100,001 points with noise: what is drawn follows the pixels, not the points. */
static void roughen(ta_event *event) {
  enum { COUNT = 100001 };
  ta_course_point *point = ta_event_allocate(event, COUNT * sizeof *point);
  assert_non_null(point);
  uint32_t random = 2463534242U;
  for (size_t i = 0; i < COUNT; i++) {
    random ^= random << 13; /* Marsaglia's xorshift, from memory */
    random ^= random >> 17;
    random ^= random << 5;
    point[i].distance_m = 0.337 * (double)i;
    point[i].elevation_m = 1460.0 + 0.0263 * (double)i + 9.0 * random / 4294967296.0;
  }
  event->course.point = point;
  event->course.count = COUNT;
}

static void a_long_course_makes_no_long_file(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "car.engine.boost_window[0]", "4700 rpm", roughen);
  const ta_picture_frame frame = frame_of(false, TA_METRIC);
  ta_buffer out = {0};
  assert_true(ta_picture_draw(TA_PICTURE_COURSE, &it->prepared, &it->plan, &frame, &out));
  if (out.length >= 60000) fail_msg("%zu bytes", out.length);
  ta_buffer_free(&out);
  drop(it);
}

/* A short road with 100,001 points and bumps that fall between steps of two pixels. */
static const double BUMP_M = 317.0;

static void add_bumps(ta_event *event) {
  roughen(event);
  for (size_t i = 0; i < event->course.count; i++) {
    const double d = 0.0337 * (double)i, from_top = fabs(fmod(d, BUMP_M) - 0.5 * BUMP_M);
    event->course.point[i].distance_m = d;
    event->course.point[i].elevation_m = 2011.0 + 0.029 * d + fmax(2.2 - 0.44 * from_top, 0.0);
  }
}

static void narrow_peaks_are_drawn(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, add_bumps);
  drawing *d = draw(it, TA_PICTURE_COURSE, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), up = scale_of(d, "right-axis", false);
  const shape *s = shape_of(d, "ground", 0);
  int bad = 0;
  for (int bump = 0; bump < 10; bump++) {
    const double top_m = BUMP_M * (bump + 0.5);
    double most = -HUGE_VAL;
    for (size_t k = 0; k < s->count; k++) {
      const ta_xy p = d->point[s->first + k];
      if (fabs(1e3 * read_scale(x, p.x) - top_m) < 8.0) most = fmax(most, read_scale(up, p.y));
    }
    bad += off("bump", "m", most, ta_course_elevation(&it->event.course, top_m), 0.6);
  }
  assert_int_equal(bad, 0);
  free(d);
  drop(it);
}

/* ---- compressor ------------------------------------------------------------------------------ */

static ta_map_reading read_map(const ta_compressor_map *map, scale x, scale y, ta_xy p,
                               ta_unit_system units) {
  ta_map_reading reading;
  const double flow = read_scale(x, p.x) * si_per(TA_SHOW_FLOW, units), ratio = read_scale(y, p.y);
  assert_int_equal(ta_compressor_map_at(map, flow, ratio, &reading), TA_OK);
  return reading;
}

static void islands_lie_on_the_map_and_end_on_its_outline(void **state) {
  (void)state;
  static const char *const names[] = {"tolvane-dome", "red-lantern-canyon"};
  for (size_t n = 0; n < COUNT_OF(names); n++)
    for (int narrow = 0; narrow < 2; narrow++) {
      planned *it = make(names[n], NULL, NULL, NULL);
      drawing *d = draw(it, TA_PICTURE_COMPRESSOR, narrow, TA_METRIC);
      const ta_compressor *compressor = &it->event.car.turbo.compressor;
      const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
      const double low = compressor->line[0].corrected_rpm,
                   top = ta_compressor_map_top_rpm(it->prepared.map),
                   hair = narrow ? 0.008 : 0.004; /* a twentieth of a pixel or two */
      size_t islands = 0, open_ends = 0;
      const shape *s;
      for (; (s = shape_of(d, "islands", islands)) != NULL; islands++) {
        double level = 0.0;
        for (size_t k = 0; k < s->count; k++) {
          const ta_xy p = d->point[s->first + k];
          const ta_map_reading r = read_map(it->prepared.map, x, y, p, TA_METRIC);
          assert_true(r.surge_to_choke > -hair && r.surge_to_choke < 1.0 + hair);
          assert_true(r.corrected_rpm > low * (1.0 - hair) && r.corrected_rpm < top * (1.0 + hair));
          if (k == s->count / 2) level = r.efficiency;
        }
        assert_int_equal(off(names[n], "level", 200.0 * level, round(200.0 * level), 0.5), 0);
        for (size_t k = 0; !s->is_closed && k < 2; k++) {
          const ta_map_reading r = read_map(
              it->prepared.map, x, y, d->point[s->first + (k == 0 ? 0 : s->count - 1)], TA_METRIC);
          const double from_edge =
              fmin(fmin(fabs(r.surge_to_choke), fabs(r.surge_to_choke - 1.0)),
                   fmin(fabs(r.corrected_rpm / top - 1.0), fabs(r.corrected_rpm / low - 1.0)));
          assert_true(from_edge < hair);
          open_ends++;
        }
      }
      assert_true(islands >= 4 && open_ends >= 4);
      free(d);
      drop(it);
    }
}

static void speed_lines_and_the_limit_lie_at_their_speeds(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  const ta_compressor *compressor = &it->event.car.turbo.compressor;
  int bad = 0;
  for (int us = 0; us < 2; us++) {
    const ta_unit_system units = us ? TA_US : TA_METRIC;
    drawing *d = draw(it, TA_PICTURE_COMPRESSOR, false, units);
    const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
    const shape *s;
    size_t lines = 0;
    for (; (s = shape_of(d, "speed-lines", lines)) != NULL; lines++)
      for (size_t k = 0; k < s->count; k++)
        bad +=
            off_rel("line", "rpm",
                    read_map(it->prepared.map, x, y, d->point[s->first + k], units).corrected_rpm,
                    compressor->line[lines].corrected_rpm, 4e-3);
    assert_int_equal(lines, compressor->line_count);
    /* as far above the limit's line as the shaft is above the limit */
    const ta_operating_point *worst = &it->plan.over.worst.point;
    ta_map_reading at_worst;
    assert_int_equal(ta_compressor_map_at(it->prepared.map, worst->corrected_flow_kg_s,
                                          worst->pressure_ratio, &at_worst),
                     TA_OK);
    s = shape_of(d, "limit", 0);
    for (size_t k = 0; k < s->count; k++)
      bad += off_rel("limit", "rpm",
                     read_map(it->prepared.map, x, y, d->point[s->first + k], units).corrected_rpm,
                     at_worst.corrected_rpm * it->prepared.limit_rpm / worst->shaft_rpm, 4e-3);
    /* edges */
    static const char *const edges[] = {"surge", "choke"};
    for (size_t e = 0; e < 2; e++) {
      s = shape_of(d, edges[e], 0);
      for (size_t k = 0; k < s->count; k++)
        bad += off(edges[e], "surge to choke",
                   read_map(it->prepared.map, x, y, d->point[s->first + k], units).surge_to_choke,
                   (double)e, 6e-3);
    }
    /* past the last line: a region whose far side is more than the worst */
    s = shape_of(d, "past-top", 0);
    double most = 0.0;
    for (size_t k = 0; k < s->count; k++) {
      const double rpm =
          read_map(it->prepared.map, x, y, d->point[s->first + k], units).corrected_rpm;
      assert_true(rpm > ta_compressor_map_top_rpm(it->prepared.map) * 0.997);
      most = fmax(most, rpm);
    }
    assert_true(most > at_worst.corrected_rpm);
    free(d);
  }
  assert_int_equal(bad, 0);
  drop(it);
}

/* The region past the last line goes farther than the path does. */
static void the_worst_is_inside_what_is_drawn(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "goal.map", "253 kPa", NULL);
  const ta_operating_point *worst = &it->plan.over.worst.point;
  assert_true(worst->beyond_top_line > 0.1);
  drawing *d = draw(it, TA_PICTURE_COMPRESSOR, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  const shape *s = shape_of(d, "past-top", 0);
  double most = 0.0;
  for (size_t k = 0; k < s->count; k++)
    most = fmax(most,
                read_map(it->prepared.map, x, y, d->point[s->first + k], TA_METRIC).corrected_rpm);
  assert_true(most > ta_compressor_map_top_rpm(it->prepared.map) * (1.0 + worst->beyond_top_line));
  free(d);
  drop(it);
}

/* Where the worst can't be named the limit is that of the tightest cap's place. */
static void the_limit_is_drawn_where_the_worst_has_no_speed(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "goal.map", "297 kPa", NULL);
  const ta_operating_point *tightest = &it->plan.caps.constant.tightest.point;
  assert_true(isinf(it->plan.over.worst.point.shaft_rpm));
  drawing *d = draw(it, TA_PICTURE_COMPRESSOR, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  const shape *s = shape_of(d, "limit", 0);
  ta_map_reading at;
  int bad = 0;
  assert_non_null(s);
  assert_int_equal(ta_compressor_map_at(it->prepared.map, tightest->corrected_flow_kg_s,
                                        tightest->pressure_ratio, &at),
                   TA_OK);
  for (size_t k = 0; k < s->count; k++)
    bad +=
        off_rel("limit", "rpm",
                read_map(it->prepared.map, x, y, d->point[s->first + k], TA_METRIC).corrected_rpm,
                at.corrected_rpm * it->prepared.limit_rpm / tightest->shaft_rpm, 8e-3);
  assert_int_equal(bad, 0);
  assert_non_null(text_that_begins(d, "limit at 4,120 m"));
  assert_non_null(strstr(text_that_begins(d, "thin air takes")->text, "drawn with it"));
  free(d);
  drop(it);
}

static void a_narrow_map_names_its_lines_and_both_ends_of_its_scale(void **state) {
  (void)state;
  planned *it = make("red-lantern-canyon", NULL, NULL, NULL);
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_COMPRESSOR, narrow, TA_METRIC);
    assert_string_equal(text_of(d, "scale", 1)->text, "2,350");
    assert_string_equal(text_of(d, "scale", 2)->text, "3,940");
    assert_non_null(text_that_begins(d, narrow ? "1000 rpm" : "speed, 1000 rpm"));
    assert_non_null(text_that_begins(d, "efficiency"));
    free(d);
  }
  drop(it);
  it = make("tolvane-dome", NULL, NULL, keep_two_lines);
  drawing *d = draw(it, TA_PICTURE_COMPRESSOR, false, TA_METRIC);
  size_t islands = 0;
  for (size_t k = 0; k < d->texts; k++) {
    const char *text = d->text[k].text;
    islands += strlen(text) == 4 && strcmp(text + 2, " %") == 0;
  }
  assert_true(islands >= 4);
  free(d);
  drop(it);
}

/* Spots at even elevations; what the compressor sees there, from the profile. */
static void the_path_is_where_the_profile_has_it(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  drawing *d = draw(it, TA_PICTURE_COMPRESSOR, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  double low_m, high_m;
  ta_course_range(&it->event.course, &low_m, &high_m);
  const shape *s;
  size_t spots = 0;
  int bad = 0;
  char colour[3][40] = {"", "", ""};
  for (; (s = shape_of(d, "target-spots", spots)) != NULL; spots++) {
    ta_operating_point worst;
    const double share = (double)(spots * 64 / 6) / 64.0;
    assert_int_equal(
        ta_worst_in_window(&it->prepared, low_m + share * (high_m - low_m), HUGE_VAL, &worst),
        TA_OK);
    bad += off("spot", "kg/min", read_scale(x, d->point[s->first].x + 5.0),
               60.0 * worst.corrected_flow_kg_s, 0.01);
    bad += off("spot", "pressure ratio", read_scale(y, d->point[s->first].y), worst.pressure_ratio,
               0.003);
    if (spots < 3) (void)snprintf(colour[spots], sizeof colour[0], "%s", s->fill);
  }
  assert_int_equal(spots, 7);
  assert_string_not_equal(colour[0], colour[1]);
  assert_string_not_equal(colour[1], colour[2]);
  /* under the cap there are fewer, all below the limit's line */
  size_t capped = 0;
  const shape *limit = shape_of(d, "limit", 0);
  const double limit_rpm =
      read_map(it->prepared.map, x, y, d->point[limit->first + limit->count / 2], TA_METRIC)
          .corrected_rpm;
  for (; (s = shape_of(d, "capped-spots", capped)) != NULL; capped++) {
    const ta_xy a = d->point[s->first], b = d->point[s->first + 2]; /* opposite corners */
    const ta_xy middle = {0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
    assert_true(read_map(it->prepared.map, x, y, middle, TA_METRIC).corrected_rpm <
                limit_rpm * 1.002);
  }
  assert_true(capped >= 2 && capped < spots);
  assert_int_equal(bad, 0);
  free(d);
  drop(it);
}

static void a_compressor_alone_shows_the_points_as_typed(void **state) {
  (void)state;
  planned *it = make("red-lantern-canyon", NULL, NULL, NULL);
  const ta_compressor *compressor = &it->event.car.turbo.compressor;
  for (int us = 0; us < 2; us++) {
    const ta_unit_system units = us ? TA_US : TA_METRIC;
    const ta_picture_frame frame = frame_of(us, units);
    ta_buffer out = {0};
    ta_picture_map_draw(compressor, it->prepared.map, &frame, &out);
    drawing *d = read_back(&out);
    const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
    size_t k = 0;
    int bad = 0;
    for (size_t i = 0; i < compressor->line_count; i++)
      for (size_t j = 0; j < compressor->line[i].point_count; j++, k++) {
        const shape *s = shape_of(d, "typed", 2 * k + 1); /* the paper's edge comes first */
        assert_non_null(s);
        bad += off(
            "typed", "px", d->point[s->first].x + 2.25,
            (shown(TA_SHOW_FLOW, units, compressor->line[i].point[j].flow_kg_s) - x.at0) / x.per_px,
            0.05);
        bad += off("typed", "px", d->point[s->first].y,
                   (compressor->line[i].point[j].pressure_ratio - y.at0) / y.per_px, 0.05);
      }
    for (size_t i = 0; i < compressor->island_count; i++) k += compressor->island[i].point_count;
    assert_true(compressor->island_count > 0);
    assert_non_null(shape_of(d, "typed", 2 * k - 1));
    assert_null(shape_of(d, "typed", 2 * k));
    assert_int_equal(bad, 0);
    free(d);
  }
  drop(it);
}

/* A point of a speed line, read back, is that point. */
static void a_point_of_a_speed_line_reads_back(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  const ta_compressor_map *map = it->prepared.map;
  const double top = ta_compressor_map_top_rpm(map);
  int bad = 0;
  for (int i = 0; i <= 13; i++)
    for (int j = 0; j <= 11; j++) {
      const double t = i / 13.0, rpm = top * (0.53 + 0.71 * j / 11.0);
      double flow = 7.7, ratio = 8.8;
      ta_map_reading reading;
      assert_int_equal(ta_compressor_map_point(map, t, rpm, &flow, &ratio), TA_OK);
      assert_int_equal(ta_compressor_map_at(map, flow, ratio, &reading), TA_OK);
      bad += off_rel("point", "rpm", reading.corrected_rpm, rpm, i == 0 || i == 13 ? 1e-3 : 1e-9);
      if (i > 0 && i < 13) bad += off("point", "t", reading.surge_to_choke, t, 1e-9);
    }
  /* against the lines as typed: surge and choke ends, and the flow between */
  const ta_speed_line *line = &it->event.car.turbo.compressor.line[3];
  double flow = 7.7, ratio = 8.8;
  assert_int_equal(ta_compressor_map_point(map, 0.0, line->corrected_rpm, &flow, &ratio), TA_OK);
  bad += off_rel("surge end", "flow", flow, line->point[0].flow_kg_s, 0.01);
  bad += off_rel("surge end", "ratio", ratio, line->point[0].pressure_ratio, 0.005);
  assert_int_equal(ta_compressor_map_point(map, 1.0, line->corrected_rpm, &flow, &ratio), TA_OK);
  bad += off_rel("choke end", "flow", flow, line->point[line->point_count - 1].flow_kg_s, 0.01);
  bad +=
      off_rel("choke end", "ratio", ratio, line->point[line->point_count - 1].pressure_ratio, 0.02);
  assert_int_equal(bad, 0);
  const double kept_flow = flow, kept_ratio = ratio;
  static const double wrong[][2] = {{-0.01, 1.0},  {1.01, 1.0},        {0.5, 0.0},
                                    {0.5, 1.2501}, {(double)NAN, 1.0}, {0.5, (double)NAN}};
  for (size_t i = 0; i < COUNT_OF(wrong); i++)
    assert_int_equal(ta_compressor_map_point(map, wrong[i][0], wrong[i][1] * top, &flow, &ratio),
                     TA_ERR_DOMAIN);
  assert_int_equal(ta_compressor_map_point(NULL, 0.5, top, &flow, &ratio), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_point(map, 0.5, top, NULL, &ratio), TA_ERR_ARGUMENT);
  assert_int_equal(ta_compressor_map_point(map, 0.5, top, &flow, NULL), TA_ERR_ARGUMENT);
  assert_true(flow == kept_flow && ratio == kept_ratio);
  drop(it);
}

/* ---- cap ------------------------------------------------------------------------------------- */

/* A road of few metres of height, over the limit all along. */
static void lower_everything(ta_event *event) {
  for (size_t i = 0; i < event->course.count; i++)
    event->course.point[i].elevation_m = 3007.0 + 0.011 * event->course.point[i].elevation_m;
}

static void caps_are_drawn_where_they_are(void **state) {
  (void)state;
  static const char *const names[] = {"tolvane-dome", "red-lantern-canyon"};
  int bad = 0;
  for (size_t n = 0; n < COUNT_OF(names); n++)
    for (int us = 0; us < 2; us++) {
      const ta_unit_system units = us ? TA_US : TA_METRIC;
      planned *it = make(names[n], NULL, NULL, NULL);
      drawing *d = draw(it, TA_PICTURE_CAP, false, units);
      const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
      const ta_show show = n == 0 ? TA_SHOW_MAP : TA_SHOW_BOOST;
      const ta_engine *engine = &it->event.car.engine;
      const double rpm[] = {engine->window_rpm[0],
                            100.0 * round(0.005 * (engine->window_rpm[0] + engine->window_rpm[1])),
                            engine->window_rpm[1], engine->redline_rpm};
      for (size_t i = 0; i < 4; i++) {
        const shape *s = shape_of(d, "engine-speeds", i);
        assert_true(s != NULL && s->count >= 2);
        for (size_t k = 0; k < s->count; k++) {
          const ta_xy p = d->point[s->first + k];
          ta_air air;
          const ta_air *each = &air;
          double elevation_m, cap;
          assert_int_equal(ta_air_at_pressure(&it->prepared.day,
                                              read_scale(x, p.x) * si_per(TA_SHOW_AMBIENT, units),
                                              &air, &elevation_m),
                           TA_OK);
          (void)ta_speed_caps(&it->prepared, &each, &rpm[i], 1, &cap);
          bad += off(names[n], "cap, px", p.y, (shown(show, units, cap) - y.at0) / y.per_px, 0.4);
        }
      }
      const ta_schedule *schedule = &it->plan.caps.schedule;
      const shape *s = shape_of(d, "schedule", 0);
      assert_int_equal(s->count >= 2, 1);
      for (size_t k = 0; k < s->count; k++) {
        const ta_xy p = d->point[s->first + k];
        const double ambient_pa = read_scale(x, p.x) * si_per(TA_SHOW_AMBIENT, units);
        bad += off(
            names[n], "schedule, px", p.y,
            (shown(show, units, ta_schedule_read(&it->prepared, schedule, ambient_pa)) - y.at0) /
                y.per_px,
            0.3);
      }
      s = shape_of(d, "goal", 0);
      bad += off(names[n], "goal, px", d->point[s->first].y,
                 (shown(show, units, ta_prepared_goal(&it->prepared, 6000.0)) - y.at0) / y.per_px,
                 0.05);
      s = shape_of(d, "one-cap", 0);
      bad += off(names[n], "one cap, px", d->point[s->first].y,
                 (shown(show, units, it->plan.caps.constant.set_point) - y.at0) / y.per_px, 0.05);
      /* the elevations above stand at their pressures */
      const lettering *t;
      size_t ticks = 0;
      for (; (t = text_of(d, "elevations", ticks)) != NULL; ticks++) {
        double elevation;
        ta_air air;
        assert_true(plain_number(t->text, &elevation));
        assert_int_equal(
            ta_day_air(&it->prepared.day, elevation * si_per(TA_SHOW_ELEVATION, units), &air),
            TA_OK);
        bad += off(names[n], "elevation, px", t->x,
                   (shown(TA_SHOW_AMBIENT, units, air.pressure_pa) - x.at0) / x.per_px, 0.05);
      }
      assert_true(ticks >= 4);
      assert_string_equal(text_of(d, "limited-by", 0)->text, "limited by the target");
      assert_string_equal(text_of(d, "limited-by", 1)->text, "some speed limited by the shaft");
      assert_null(text_of(d, "limited-by", 2));
      /* where the one ends and the other begins */
      s = shape_of(d, "limited-by", 0);
      ta_air air;
      double elevation_m;
      for (int side = -1; side <= 1; side += 2) {
        ta_place_cap cap;
        const double px = d->point[s->first].x + 2.0 * side;
        assert_int_equal(ta_air_at_pressure(&it->prepared.day,
                                            read_scale(x, px) * si_per(TA_SHOW_AMBIENT, units),
                                            &air, &elevation_m),
                         TA_OK);
        assert_int_equal(
            ta_place_cap_find(&it->prepared, ta_controller_speeds(&it->event.car), &air, &cap),
            TA_OK);
        assert_int_equal(cap.limited_by, side < 0 ? TA_BY_GOAL : TA_BY_RATED_SPEED);
      }
      free(d);
      drop(it);
    }
  assert_int_equal(bad, 0);
}

static void a_schedule_is_drawn_only_where_it_is_offered(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "car.control.minimum_boost", "1.5 bar", NULL);
  assert_true(it->plan.caps.schedule.count > 0);
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_CAP, narrow, TA_METRIC);
    assert_null(shape_of(d, "schedule", 0));
    assert_null(text_that_begins(d, "schedule"));
    /* three stretches, each with its name */
    static const char *const by[] = {"the target", "the shaft", "the spring"};
    for (size_t i = 0; i < COUNT_OF(by); i++) {
      size_t found = 0;
      const lettering *t;
      for (size_t k = 0; (t = text_of(d, "limited-by", k)) != NULL; k++)
        found += strstr(t->text, by[i]) != NULL;
      assert_int_equal(found, 1);
    }
    free(d);
  }
  drop(it);
  it = make("tolvane-dome", "goal.map", "121 kPa", NULL);
  drawing *d = draw(it, TA_PICTURE_CAP, false, TA_METRIC);
  const scale y = scale_of(d, "left-axis", false);
  const shape *goal = shape_of(d, "goal", 0);
  const lettering *above = text_of(d, "elevations", 0);
  assert_null(shape_of(d, "schedule", 0));
  /* not seen through a magnifying glass: 10 kPa and more */
  assert_true(2.0 * fabs(y.per_px) * (d->point[goal->first].y - above->y) >= 10.0);
  free(d);
  drop(it);
}

static void names_of_engine_speeds_stand_in_the_order_of_their_lines(void **state) {
  (void)state;
  static const char *const goals[] = {"297 kPa", "228 kPa", "207 kPa"};
  for (size_t g = 0; g < COUNT_OF(goals); g++) {
    planned *it = make("tolvane-dome", "goal.map", goals[g], NULL);
    drawing *d = draw(it, TA_PICTURE_CAP, false, TA_METRIC);
    double above = -HUGE_VAL;
    size_t names = 0;
    const lettering *t;
    for (; (t = text_of(d, "speed-names", names)) != NULL; names++) {
      double rpm = 0.0;
      const char *digits = strpbrk(t->text, "0123456789");
      char number[20];
      (void)snprintf(number, sizeof number, "%.*s", (int)strcspn(digits, " "), digits);
      assert_true(plain_number(number, &rpm));
      assert_true(t->y > above + t->size);
      above = t->y;
      const double speeds[] = {4500.0, 5900.0, 7200.0, 7600.0};
      for (size_t i = 0; i < 4; i++) {
        if (rpm != speeds[i]) continue;
        const shape *s = shape_of(d, "engine-speeds", i);
        assert_int_equal(off(goals[g], "px", t->y, d->point[s->first + s->count - 1].y, 35.0), 0);
      }
    }
    assert_true(names >= 3 && names <= 4);
    free(d);
    drop(it);
  }
}

/* The target as the verdict has it, the caps as the plan's table has them. */
static void the_cap_picture_says_what_the_plan_says(void **state) {
  (void)state;
  static const char *const names[] = {"tolvane-dome", "red-lantern-canyon", "brackwater"};
  for (size_t n = 0; n < COUNT_OF(names); n++)
    for (int us = 0; us < 2; us++) {
      const ta_style style = {.units = us ? TA_US : TA_METRIC};
      planned *it = make(names[n], NULL, NULL, NULL);
      drawing *d = draw(it, TA_PICTURE_CAP, false, style.units);
      ta_buffer plan = {0};
      char line[200], from[40], to[40];
      ta_report_plan(&it->prepared, &it->plan, NULL, NULL, &style, &plan);
      /* MAP and boost are the second and third column */
      const char *row = strstr(plan.text, "by ambient pressure only");
      assert_non_null(row);
      (void)snprintf(line, sizeof line, "%.150s", row + strlen("by ambient pressure only"));
      const bool is_boost = n > 0;
      char cells[2][2][40];
      assert_int_equal(sscanf(line, "%39s > %39s %39s > %39s", cells[0][0], cells[0][1],
                              cells[1][0], cells[1][1]),
                       4);
      (void)snprintf(from, sizeof from, ": %.20s ", cells[is_boost][0]);
      (void)snprintf(to, sizeof to, ", %.20s ", cells[is_boost][1]);
      if (strstr(headline_of(d), from) == NULL || strstr(headline_of(d), to) == NULL)
        fail_msg("%s: \"%s\" without%s and%s", names[n], headline_of(d), from, to);
      const lettering *target = text_that_begins(d, "target ");
      assert_non_null(target);
      for (size_t k = 0; strncmp(target->text, "target 2", 8) != 0 && k < d->texts; k++)
        if (strncmp(d->text[k].text, "target ", 7) == 0) target = &d->text[k];
      assert_non_null(strstr(plan.text, target->text + strlen("target ")));
      ta_buffer_free(&plan);
      free(d);
      drop(it);
    }
  /* a target that is no round number in the unit shown is rounded to the nearest, no cap it is */
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  drawing *d = draw(it, TA_PICTURE_CAP, false, TA_US);
  assert_non_null(text_that_begins(d, "target 33.07 psia")); /* 228 kPa / 6.894757 = 33.069 */
  free(d);
  drop(it);
}

static void the_ambient_axis_reaches_the_rows(void **state) {
  (void)state;
  static const struct {
    const char *event;
    changer change;
  } rows[] = {{"tolvane-dome", NULL},
              {"red-lantern-canyon", NULL},
              {"brackwater", NULL},
              {"tolvane-dome", lower_everything}};
  for (size_t n = 0; n < COUNT_OF(rows); n++)
    for (int narrow = 0; narrow < 2; narrow++) {
      planned *it = make(rows[n].event, NULL, NULL, rows[n].change);
      drawing *d = draw(it, TA_PICTURE_CAP, narrow, TA_METRIC);
      const lettering *t;
      double axis_px = 0.0;
      for (size_t k = 0; (t = text_of(d, "left-axis", k)) != NULL; k++)
        axis_px = fmax(axis_px, t->x);
      const shape *s = shape_of(d, "schedule", 0);
      assert_non_null(s);
      for (size_t k = 0; k < s->count; k++) assert_true(d->point[s->first + k].x > axis_px + 4.0);
      free(d);
      drop(it);
    }
}

/* Read by steps it is drawn by steps: level between its rows, at what the controller holds there. */
static void steps_are_drawn_as_steps(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "car.control.interpolation", "step", NULL);
  drawing *d = draw(it, TA_PICTURE_CAP, false, TA_METRIC);
  const scale x = scale_of(d, "x-axis", true), y = scale_of(d, "left-axis", false);
  int bad = 0;
  const shape *s = shape_of(d, "schedule", 0);
  size_t steps = 0;
  for (size_t k = 0; k + 1 < s->count; k++) {
    const ta_xy a = d->point[s->first + k], b = d->point[s->first + k + 1];
    if (fabs(a.x - b.x) < 0.02) continue; /* upright */
    const double held = ta_schedule_read(&it->prepared, &it->plan.caps.schedule,
                                         1e3 * read_scale(x, 0.5 * (a.x + b.x)));
    bad += off("step", "kPa", read_scale(y, a.y), 1e-3 * held, 0.01) +
           off("step", "kPa", read_scale(y, b.y), 1e-3 * held, 0.01);
    steps++;
  }
  assert_true(steps >= 5);
  assert_int_equal(bad, 0);
  free(d);
  drop(it);
}

/* ---- table ----------------------------------------------------------------------------------- */

static void the_table_says_what_goes_into_the_controller(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  const ta_controller_table *table = &it->plan.caps.table;
  const ta_controller_axes *axes = &table->axes;
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_TABLE, narrow, TA_METRIC);
    double least = HUGE_VAL, most = 0.0;
    for (size_t i = 0; i < axes->pressure_count * axes->speed_count; i++) {
      least = fmin(least, table->set_point[i]);
      most = fmax(most, table->set_point[i]);
    }
    size_t borders = 0;
    for (size_t row = 0; row < axes->pressure_count; row++)
      for (size_t column = 0; column < axes->speed_count; column++) {
        const size_t i = row * axes->speed_count + column;
        const double set_point =
            table->set_point[(axes->pressure_count - 1 - row) * axes->speed_count + column];
        const lettering *t = text_of(d, "cells", i);
        const shape *s = shape_of(d, "cells", i);
        double value = (double)NAN;
        assert_true(t != NULL && s != NULL && plain_number(t->text, &value));
        assert_true(1e3 * value <= set_point + 1e-6 && 1e3 * value > set_point - 999.0);
        const ta_xy a = d->point[s->first], b = d->point[s->first + 1];
        assert_true(t->x > a.x && t->x < b.x && t->y > a.y && t->y < b.y);
        char colour[10];
        (void)snprintf(colour, sizeof colour, "#%06x",
                       (unsigned)ta_scale_colour((most - set_point) / (most - least)));
        assert_string_equal(s->fill, colour);
        if (row > 0)
          borders +=
              (set_point < 228e3) !=
              (table->set_point[(axes->pressure_count - row) * axes->speed_count + column] < 228e3);
        if (column > 0)
          borders +=
              (set_point < 228e3) !=
              (table->set_point[(axes->pressure_count - 1 - row) * axes->speed_count + column - 1] <
               228e3);
      }
    assert_true(borders > 0);
    assert_non_null(shape_of(d, "border", borders - 1));
    assert_null(shape_of(d, "border", borders));
    double head;
    assert_true(plain_number(text_of(d, "heads", 0)->text, &head));
    assert_true(head == axes->speed_rpm[0]);
    free(d);
  }
  drop(it);
}

static void even_nodes(ta_event *event, size_t count) {
  static double pressure[32], speed[32];
  for (size_t i = 0; i < count; i++) {
    pressure[i] = 57.3e3 + 31.1e3 * (double)i / (double)(count - 1);
    speed[i] = 3011.0 + 4397.0 * (double)i / (double)(count - 1);
  }
  event->car.control.pressure_axis_pa = pressure;
  event->car.control.pressure_axis_count = count;
  event->car.control.speed_axis_rpm = speed;
  event->car.control.speed_axis_count = count;
}

static void eight_nodes(ta_event *event) {
  even_nodes(event, 8);
}

static void sixteen_nodes(ta_event *event) {
  even_nodes(event, 16);
}

static void thirty_two_nodes(ta_event *event) {
  even_nodes(event, 32);
}

/* Is that number among the texts of a part? */
static bool is_named(const drawing *d, const char *part, double number, double tolerance) {
  double value;
  for (size_t i = 0; text_of(d, part, i) != NULL; i++)
    if (plain_number(text_of(d, part, i)->text, &value) && fabs(value - number) <= tolerance)
      return true;
  return false;
}

static size_t numbers_in(const drawing *d, const char *part) {
  size_t i = 0;
  while (text_of(d, part, i) != NULL) i++;
  return i;
}

/* On a phone too; every speed and pressure has its name where there is room for a line of text. */
static void heads_and_numbers_of_a_table_stand_where_they_fit(void **state) {
  (void)state;
  static const struct {
    changer change;
    size_t nodes;
    bool has_numbers[2], has_heads[2]; /* wide, narrow */
  } rows[] = {{eight_nodes, 8, {true, true}, {true, true}},
              {sixteen_nodes, 16, {true, true}, {true, true}},
              {thirty_two_nodes, 32, {true, false}, {true, false}}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    planned *it = make("tolvane-dome", NULL, NULL, rows[i].change);
    const ta_controller_axes *axes = &it->plan.caps.table.axes;
    for (int narrow = 0; narrow < 2; narrow++) {
      drawing *d = draw(it, TA_PICTURE_TABLE, narrow, TA_METRIC);
      const size_t numbers = numbers_in(d, "cells");
      bad += numbers != (rows[i].has_numbers[narrow] ? rows[i].nodes * rows[i].nodes : 0);
      bool all = true;
      for (size_t k = 0; k < rows[i].nodes; k++) {
        ta_air air;
        double elevation_m;
        all = all && is_named(d, "heads", axes->speed_rpm[k], 0.51) &&
              is_named(d, "heads", 1e-3 * axes->pressure_pa[k], 0.051);
        if (narrow && ta_air_at_pressure(&it->prepared.day, axes->pressure_pa[k], &air,
                                         &elevation_m) == TA_OK)
          all = all && is_named(d, "heads", elevation_m, 0.51);
      }
      bad += all != rows[i].has_heads[narrow];
      if (bad > 0)
        fail_msg("%zu nodes, narrow %d: %zu numbers, heads %d", rows[i].nodes, narrow, numbers,
                 all);
      free(d);
    }
    drop(it);
  }
}

/* ---- bars ------------------------------------------------------------------------------------ */

/* The length of a bar to the right, negative to the left; its end that is not at nought. */
static double bar_px(const drawing *d, const shape *s, double zero_px) {
  const double left = d->point[s->first].x, right = d->point[s->first + 1].x;
  return fabs(left - zero_px) < 0.02 ? right - left : left - right;
}

static void bars_of_levers_are_as_long_as_what_they_move(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  const ta_levers *levers = &it->plan.levers;
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_LEVERS, narrow, TA_METRIC);
    double per[3] = {0.0, 0.0, 0.0}, above = 0.0;
    for (size_t i = 0; i < 5; i++) {
      const ta_lever *lever = &levers->lever[i];
      const double helps[3] = {-lever->time_change_s, lever->power_change_w, -lever->shaft_share};
      const lettering *t = text_of(d, lever->name, 0);
      assert_true(t != NULL && strncmp(t->text, lever->words, strlen(lever->words)) == 0);
      assert_true(t->y > above); /* in the plan's order */
      above = t->y;
      size_t k = 0;
      for (size_t q = 0; q < 3; q++) {
        const shape *s = shape_of(d, lever->name, k);
        assert_non_null(s);
        double px = 0.0;
        if (s->is_rect) {
          const shape *zero = shape_of(d, lever->name, k + 1);
          px = bar_px(d, s, d->point[zero->first].x);
          assert_true(zero != NULL && (strstr(s->fill, "hatch") != NULL) == (helps[q] < 0.0));
          k++;
        }
        k++;
        assert_true(px * helps[q] >= 0.0);
        if (fabs(px) < 8.0) continue;
        if (per[q] == 0.0) per[q] = px / helps[q];
        assert_int_equal(off(lever->name, "px", px, per[q] * helps[q], 0.03 * fabs(px) + 0.1), 0);
      }
      double value = (double)NAN;
      char number[40];
      (void)snprintf(number, sizeof number, "%.20s", text_of(d, lever->name, 1)->text);
      number[strcspn(number, " ")] = '\0';
      assert_true(plain_number(number, &value));
      assert_int_equal(off(lever->name, "s", value, lever->time_change_s, 0.0501), 0);
    }
    assert_true(per[0] > 0.0 && per[1] > 0.0 && per[2] > 0.0);
    assert_non_null(text_of(d, "leak", 0)); /* always */
    /* those that are not drawn are counted */
    size_t drawn = 0, before = 0, leak = 0;
    while (strcmp(levers->lever[leak].name, "leak") != 0) leak++;
    for (size_t i = 0; i < levers->count; i++) {
      const bool is_drawn = text_of(d, levers->lever[i].name, 0) != NULL;
      drawn += is_drawn;
      before += !is_drawn && i < leak;
    }
    char rest[100];
    (void)snprintf(rest, sizeof rest, "and %zu more, %zu of which move", levers->count - drawn,
                   before);
    assert_true(before > 1);
    assert_non_null(text_that_begins(d, rest));
    free(d);
  }
  drop(it);
}

static void bars_of_time_are_as_long_as_it_costs(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, NULL);
  const ta_timed_runs *runs = &it->plan.runs;
  for (int narrow = 0; narrow < 2; narrow++) {
    drawing *d = draw(it, TA_PICTURE_TIME, narrow, TA_METRIC);
    double per = 0.0;
    for (int i = TA_FULL_TARGET + 1; i < TA_STRATEGY_COUNT; i++) {
      const char *name = ta_strategy_name((ta_strategy)i);
      const shape *s = shape_of(d, name, 0);
      assert_true((s != NULL) == isfinite(runs->time_s[i]));
      if (s == NULL) continue;
      const double cost_s = runs->time_s[i] - runs->time_s[TA_FULL_TARGET],
                   px = d->point[s->first + 1].x - d->point[s->first].x;
      if (per == 0.0) per = px / cost_s;
      assert_int_equal(off(name, "px", px, per * cost_s, 0.05), 0);
      assert_true(text_of(d, name, 0)->is_bold == ((ta_strategy)i == runs->best));
      assert_true((strstr(text_of(d, name, 0)->text, "(best)") != NULL) ==
                  ((ta_strategy)i == runs->best));
      char cost[40];
      (void)snprintf(cost, sizeof cost, "%+.1f s", cost_s);
      assert_string_equal(text_of(d, name, 1)->text, cost);
    }
    assert_non_null(strstr(text_of(d, "target", 0)->text, "(forbidden)"));
    assert_string_equal(text_of(d, "target", 1)->text, "17:35.2");
    free(d);
  }
  drop(it);
}

static void a_plan_that_needs_no_cap_says_so(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", "goal.map", "121 kPa", NULL);
  drawing *d = draw(it, TA_PICTURE_TIME, false, TA_METRIC);
  assert_int_equal(strncmp(headline_of(d), "No cap is needed: the full target takes ", 40), 0);
  assert_int_equal(d->shapes, 1); /* the paper: no bar of length nought, nor its line */
  free(d);
  drop(it);
}

/* ---- all of them ----------------------------------------------------------------------------- */

static int check_drawing(const char *row, const drawing *d) {
  int bad = 0;
  assert_true(d->title[0] != '\0' && strpbrk(d->description, "0123456789") != NULL);
  for (size_t i = 0; i < d->texts; i++) {
    const lettering *t = &d->text[i];
    if (strcmp(t->part, "cells") == 0 && t->text[0] == '\0') fail_msg("%s: an empty text", row);
    if (!(t->size >= 11.0)) fail_msg("%s: \"%s\" at %g px", row, t->text, t->size);
    const ta_rect box = box_of(d, t);
    if (box.left < -0.5 || box.right > d->width + 0.5 || box.top < -0.5 ||
        box.bottom > d->height + 0.5) {
      print_error("%s: \"%s\" leaves the drawing: %g %g %g %g\n", row, t->text, box.left, box.top,
                  box.right, box.bottom);
      bad++;
    }
    for (size_t k = 0; k < i; k++) {
      const ta_rect other = box_of(d, &d->text[k]);
      const double margin = 0.15 * t->size; /* boxes have room for descenders */
      if (box.left < other.right - margin && other.left < box.right - margin &&
          box.top < other.bottom - margin && other.top < box.bottom - margin) {
        print_error("%s: \"%s\" covers \"%s\"\n", row, t->text, d->text[k].text);
        bad++;
      }
    }
  }
  if (shape_of(d, "ground", 0) != NULL && /* along the course both are always named */
      (text_that_begins(d, "limit ") == NULL || text_that_begins(d, "rated ") == NULL)) {
    print_error("%s: no name of limit or rated speed\n", row);
    bad++;
  }
  const lettering *above = text_of(d, "elevations", 0); /* of a plot that the target lies in */
  const shape *goal = shape_of(d, "goal", 0);
  if (above != NULL && goal != NULL && d->point[goal->first].y < above->y) {
    print_error("%s: the target leaves the plot\n", row);
    bad++;
  }
  for (size_t i = 0; i < d->shapes; i++) { /* no bar covers a number */
    const shape *s = &d->shape[i];
    if (!s->is_rect || s->part[0] == '\0') continue;
    const ta_xy a = d->point[s->first], b = d->point[s->first + 1];
    if (a.x < -0.02 || b.x > d->width + 0.02 || a.y < -0.02 || b.y > d->height + 0.02) bad++;
    for (size_t k = 0; k < d->texts; k++) {
      const lettering *t = &d->text[k];
      const ta_rect box = box_of(d, t);
      const bool in_it = t->x > a.x && t->x < b.x; /* as in a cell */
      if (strcmp(t->part, s->part) != 0 || in_it || strcmp(t->part, "border") == 0) continue;
      if (box.left < b.x - 1.0 && a.x < box.right - 1.0 && box.top < b.y - 3.0 &&
          a.y < box.bottom - 3.0) {
        print_error("%s: a bar covers \"%s\"\n", row, t->text);
        bad++;
      }
    }
  }
  for (size_t i = 0; i < d->ids; i++) {
    if (strncmp(d->id[i], "ta-test-", 8) != 0) fail_msg("%s: id %s", row, d->id[i]);
    for (size_t k = 0; k < i; k++) assert_string_not_equal(d->id[i], d->id[k]);
  }
  for (size_t i = 0; i < d->wants; i++) {
    bool found = false;
    for (size_t k = 0; k < d->ids; k++) found = found || strcmp(d->wanted[i], d->id[k]) == 0;
    if (!found) fail_msg("%s: %s is not there", row, d->wanted[i]);
  }
  return bad;
}

/* Every picture in every size. @return what is wrong with them. */
static int draw_all(const char *name, const planned *it, size_t *pictures, size_t *bytes) {
  int bad = 0;
  *pictures = *bytes = 0;
  for (int picture = 0; picture < TA_PICTURE_COUNT; picture++)
    for (int variant = 0; variant < 4; variant++) {
      char row[200];
      ta_picture_frame frame = frame_of(variant & 1, variant & 2 ? TA_US : TA_METRIC);
      frame.with_style = variant < 3;
      ta_buffer out = {0};
      ta_buffer_add(&out, "untouched");
      const bool drawn =
          ta_picture_draw((ta_picture)picture, &it->prepared, &it->plan, &frame, &out);
      (void)snprintf(row, sizeof row, "%s, %s%s%s", name, ta_picture_name((ta_picture)picture),
                     variant & 1 ? ", narrow" : "", variant & 2 ? ", us" : "");
      if (!drawn) {
        assert_string_equal(out.text, "untouched");
        ta_buffer_free(&out);
        continue;
      }
      memset(out.text, ' ', strlen("untouched"));
      if (variant < 2) *bytes += out.length;
      *pictures += variant == 0;
      const char *const path = getenv("TA_KEEP_PICTURES");
      if (path != NULL) {
        char file[500];
        (void)snprintf(file, sizeof file, "%s/%.60s-%s-%d.svg", path, name,
                       ta_picture_name((ta_picture)picture), variant);
        FILE *kept = fopen(file, "w");
        if (kept != NULL) (void)fwrite(out.text + 9, 1, out.length - 9, kept);
        if (kept != NULL) (void)fclose(kept);
      }
      drawing *d = read_back(&out);
      bad += check_drawing(row, d);
      free(d);
    }
  return bad;
}

static void every_picture_of_every_event_is_sound(void **state) {
  (void)state;
  DIR *folder = opendir(TA_COURSES);
  assert_non_null(folder);
  size_t events = 0, pictures, bytes;
  int bad = 0;
  for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
    if (entry->d_name[0] == '.') continue;
    planned *it = make(entry->d_name, NULL, NULL, NULL);
    const bool has_time = it->plan.runs.known == TA_TIME_KNOWN;
    bad += draw_all(entry->d_name, it, &pictures, &bytes);
    assert_int_equal(pictures, has_time ? 6 : 5);
    assert_true(bytes < 400000);
    drop(it);
    events++;
  }
  (void)closedir(folder);
  assert_true(events >= 2);
  assert_int_equal(bad, 0);
}

static void flatten(ta_event *event) {
  for (size_t i = 0; i < event->course.count; i++) event->course.point[i].elevation_m = 3003.0;
}

static void wave(ta_event *event) {
  for (size_t i = 0; i < event->course.count; i++)
    event->course.point[i].elevation_m =
        2733.0 + 59.0 * sin(event->course.point[i].distance_m / 893.0);
}

static void name_with_malice(ta_event *event) {
  static const char bad[] =
      "</title></text></svg><script>alert(\"1\")</script>&amp;'\x01\xe2\x80\xae\xff ]]> <!--";
  event->name = bad;
  event->car.name = bad;
  event->car.turbo.compressor.name = bad;
  for (size_t i = 0; i < event->course.count; i += 9) event->course.point[i].mark = bad;
}

static void vary_the_goal(ta_event *event) {
  static ta_goal_point rows[] = {{.engine_rpm = 4700.0, .map_pa = 197e3, .has_map = true},
                                 {.engine_rpm = 6100.0, .map_pa = 231e3, .has_map = true},
                                 {.engine_rpm = 7300.0, .map_pa = 213e3, .has_map = true}};
  event->goal.has_map = false;
  event->goal.point = rows;
  event->goal.point_count = COUNT_OF(rows);
}

static void many_nodes(ta_event *event) {
  static double pressure[31], speed[31];
  for (size_t i = 0; i < 31; i++) {
    pressure[i] = 57e3 + 1e3 * (double)i;
    speed[i] = 4500.0 + 107.0 * (double)i; /* past the redline */
  }
  event->car.control.pressure_axis_pa = pressure;
  event->car.control.pressure_axis_count = 31;
  event->car.control.speed_axis_rpm = speed;
  event->car.control.speed_axis_count = 31;
}

static void pictures_of_odd_plans_are_sound(void **state) {
  (void)state;
  static const struct {
    const char *row, *event, *key, *value;
    changer change;
    size_t pictures; /* to draw */
  } rows[] = {
      {"clear", "tolvane-dome", "goal.map", "121 kPa", NULL, 6},
      {"unreachable", "tolvane-dome", "goal.map", "297 kPa", NULL, 5},
      {"starts over", "tolvane-dome", "goal.map", "253 kPa", NULL, 6},
      {"one elevation", "tolvane-dome", NULL, NULL, flatten, 6},
      {"key on", "tolvane-dome", "car.control.holds", "gauge-from-key-on", NULL, 5},
      {"gauge", "tolvane-dome", "car.control.holds", "gauge", NULL, 6},
      {"two lines", "tolvane-dome", NULL, NULL, keep_two_lines, 6},
      {"spring", "tolvane-dome", "car.control.minimum_boost", "1.33 bar", NULL, 5},
      {"by steps", "tolvane-dome", "car.control.interpolation", "step", NULL, 6},
      {"wave", "tolvane-dome", NULL, NULL, wave, 6},
      {"goal over engine speed", "tolvane-dome", NULL, NULL, vary_the_goal, 6},
      {"malice", "tolvane-dome", NULL, NULL, name_with_malice, 6},
      {"large table", "tolvane-dome", NULL, NULL, many_nodes, 6},
      {"table of 16", "tolvane-dome", NULL, NULL, sixteen_nodes, 5},
      {"surge", "tolvane-dome", "car.engine.displacement", "890 cc", NULL, 6},
      {"many marks", "tolvane-dome", NULL, NULL, name_many, 6},
      {"part", "tolvane-dome", NULL, NULL, drive_a_part, 6},
      {"no schedule", "tolvane-dome", "car.control.minimum_boost", "1.5 bar", NULL, 5},
      {"choke", "tolvane-dome", "car.engine.displacement", "3190 cc", NULL, 5},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    size_t pictures, bytes;
    planned *it = make(rows[i].event, rows[i].key, rows[i].value, rows[i].change);
    bad += draw_all(rows[i].row, it, &pictures, &bytes);
    bad += off(rows[i].row, "pictures", (double)pictures, (double)rows[i].pictures, 0.0);
    drop(it);
  }
  assert_int_equal(bad, 0);
}

static void hostile_names_stay_words(void **state) {
  (void)state;
  planned *it = make("tolvane-dome", NULL, NULL, name_with_malice);
  for (int picture = 0; picture < TA_PICTURE_COUNT; picture++) {
    drawing *d = draw(it, (ta_picture)picture, false, TA_METRIC);
    assert_non_null(strstr(d->title, "</title></text></svg><script>alert(\"1\")</script>&amp;'"));
    assert_null(strchr(d->title, '\x01'));
    free(d);
  }
  drop(it);
}

static void pictures_have_names(void **state) {
  (void)state;
  static const char *const names[] = {"course", "compressor", "cap", "table", "levers", "time"};
  ta_picture picture = TA_PICTURE_COUNT;
  assert_int_equal(COUNT_OF(names), TA_PICTURE_COUNT);
  for (size_t i = 0; i < COUNT_OF(names); i++) {
    assert_true(ta_picture_find(names[i], &picture));
    assert_int_equal(picture, i);
    assert_string_equal(ta_picture_name(picture), names[i]);
    assert_true(strlen(ta_picture_title(picture)) > 5 && strlen(ta_picture_reading(picture)) > 20);
  }
  assert_false(ta_picture_find("tables", &picture));
  assert_int_equal(picture, TA_PICTURE_TIME);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_shaft_is_drawn_where_the_plan_has_it),
      cmocka_unit_test(the_course_picture_has_its_levels_and_places),
      cmocka_unit_test(a_part_is_called_a_part),
      cmocka_unit_test(of_many_marks_those_that_matter_are_named),
      cmocka_unit_test(estimates_say_of_which_kind),
      cmocka_unit_test(the_shaft_under_a_cap_is_solved_anew),
      cmocka_unit_test(a_long_course_makes_no_long_file),
      cmocka_unit_test(narrow_peaks_are_drawn),
      cmocka_unit_test(islands_lie_on_the_map_and_end_on_its_outline),
      cmocka_unit_test(speed_lines_and_the_limit_lie_at_their_speeds),
      cmocka_unit_test(the_worst_is_inside_what_is_drawn),
      cmocka_unit_test(the_limit_is_drawn_where_the_worst_has_no_speed),
      cmocka_unit_test(a_narrow_map_names_its_lines_and_both_ends_of_its_scale),
      cmocka_unit_test(the_path_is_where_the_profile_has_it),
      cmocka_unit_test(a_compressor_alone_shows_the_points_as_typed),
      cmocka_unit_test(a_point_of_a_speed_line_reads_back),
      cmocka_unit_test(caps_are_drawn_where_they_are),
      cmocka_unit_test(a_schedule_is_drawn_only_where_it_is_offered),
      cmocka_unit_test(names_of_engine_speeds_stand_in_the_order_of_their_lines),
      cmocka_unit_test(the_cap_picture_says_what_the_plan_says),
      cmocka_unit_test(the_ambient_axis_reaches_the_rows),
      cmocka_unit_test(steps_are_drawn_as_steps),
      cmocka_unit_test(the_table_says_what_goes_into_the_controller),
      cmocka_unit_test(heads_and_numbers_of_a_table_stand_where_they_fit),
      cmocka_unit_test(bars_of_levers_are_as_long_as_what_they_move),
      cmocka_unit_test(bars_of_time_are_as_long_as_it_costs),
      cmocka_unit_test(a_plan_that_needs_no_cap_says_so),
      cmocka_unit_test(every_picture_of_every_event_is_sound),
      cmocka_unit_test(pictures_of_odd_plans_are_sound),
      cmocka_unit_test(hostile_names_stay_words),
      cmocka_unit_test(pictures_have_names),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
