/* gpx.c - a course from a GPX file.
 *
 * Method    expat walks the file once and fills three lists (track points, route points,
 *           waypoints); then the list that makes the road is measured, completed and judged.
 * Decisions Elements count in the namespace of the root, whichever that is; all others are skipped.
 *           A file that declares entities is refused: GPX needs none, and bombs are made of them.
 *           An elevation is never guessed beyond a short straight fill between two neighbours.
 * Source    The GPX 1.0 and 1.1 schemas (namespaces http://www.topografix.com/GPX/1/0 and /1/1).
 */
#include "gpx.h"

#include <expat.h>
#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/geodesic.h"
#include "thinair/quantity.h"

enum {
  NAME_MAX_BYTES = 80,  /* a longer name is cut, and shows it */
  MARK_MAX_BYTES = 200, /* names that share one point */
  SHOWN_MAX = 40,
  LISTED_MAX = 5, /* gaps and names told one by one */
  WAYPOINTS_MAX = 1000
};

static const double SAME_PLACE_M = 0.001;
static const double GAP_STEP_M = 0.01;    /* so that distances rise over a gap */
static const double LONG_LEG_M = 5000.0;  /* too coarse for grades */
static const double MARK_REACH_M = 100.0; /* a waypoint farther from the road is none of it */
static const double FILL_SHARE = 0.05;    /* of the points */
static const double FILL_ROAD_M = 200.0;  /* of road between known elevations */
static const double LOWEST_M = -500.0, HIGHEST_M = 6500.0;
static const double STEEPEST_GRADE = 0.5; /* steeper and higher than SPIKE_M: no road */
static const double SPIKE_M = 15.0, REFUSED_SPIKE_M = 100.0;
static const double CLIFF_GRADE = 2.0; /* a step like that is refused without the way back */
static const double DRIFT_M = 10.0;    /* between elevations at one place */

typedef struct {
  double latitude_deg, longitude_deg, elevation_m, distance_m;
  size_t name; /* offset in the names; 0: none */
  int line, column;
  bool has_elevation, after_gap; /* while reading: first of a segment */
} gpx_point;

typedef struct {
  gpx_point *point;
  size_t count, room;
} gpx_list;

typedef enum { TRACKS, ROUTES, WAYPOINTS, LISTS } list_kind;
typedef enum { AT_TOP, IN_GPX, IN_TRK, IN_TRKSEG, IN_RTE, IN_POINT, IN_ELE, IN_NAME } where;

/* What may stand in what; all else is skipped. */
static const struct {
  where parent;
  const char *name;
  where child;
  list_kind list; /* of a point */
} nesting[] = {
    {AT_TOP, "gpx", IN_GPX, LISTS},       {IN_GPX, "trk", IN_TRK, LISTS},
    {IN_TRK, "trkseg", IN_TRKSEG, LISTS}, {IN_TRKSEG, "trkpt", IN_POINT, TRACKS},
    {IN_GPX, "rte", IN_RTE, LISTS},       {IN_RTE, "rtept", IN_POINT, ROUTES},
    {IN_GPX, "wpt", IN_POINT, WAYPOINTS}, {IN_POINT, "ele", IN_ELE, LISTS},
    {IN_POINT, "name", IN_NAME, LISTS},
};
enum { DEEPEST = 7, NESTINGS = sizeof nesting / sizeof nesting[0] };

typedef struct {
  const char *path;
  ta_diagnostics *diagnostics;
  size_t errors;
  bool no_memory;

  gpx_list list[LISTS];
  char *names;
  size_t names_used, names_room;

  XML_Parser xml;
  where stack[DEEPEST];
  size_t depth, skipped; /* skipped: levels inside an element that says nothing here */
  char *space;           /* namespace of the root */
  int root_line, root_column;
  list_kind kind; /* of the point that is open */
  bool fresh;     /* the next point begins a segment */
  char text[256];
  size_t text_length;
  int text_line, text_column;
} reading;

static __attribute__((format(printf, 5, 6))) void raise_at(reading *r, ta_severity severity,
                                                           int line, int column, const char *format,
                                                           ...) {
  char text[TA_MESSAGE_MAX];
  va_list args;
  va_start(args, format);
  (void)vsnprintf(text, sizeof text, format, args);
  va_end(args);
  if (severity == TA_ERROR) r->errors++;
  ta_diagnostic *item = ta_raise(r->diagnostics, severity, "course", "%s", text);
  if (item == NULL) return;
  (void)snprintf(item->place.file, sizeof item->place.file, "%s", r->path);
  item->place.line = line;
  item->place.column = column;
}

/* ---- from bytes to lists ----------------------------------------------------------------------
 */

static int line_now(const reading *r) {
  return (int)XML_GetCurrentLineNumber(r->xml);
}
static int column_now(const reading *r) {
  return (int)XML_GetCurrentColumnNumber(r->xml) + 1;
}

static void stop(reading *r) {
  (void)XML_StopParser(r->xml, XML_FALSE);
}

static void stop_without_memory(reading *r) {
  r->no_memory = true;
  stop(r);
}

static bool make_room(void **items, size_t *room, size_t wanted, size_t size) {
  if (wanted <= *room) return true;
  const size_t more = wanted > 2 * *room ? wanted : 2 * *room;
  void *grown = realloc(*items, more * size);
  if (grown == NULL) return false;
  *items = grown;
  *room = more;
  return true;
}

/* Keep a text; its offset, or 0 when there is no memory. */
static size_t keep_name(reading *r, const char *text) {
  const size_t length = strlen(text) + 1, at = r->names_used > 0 ? r->names_used : 1;
  void *names = r->names;
  if (!make_room(&names, &r->names_room, at + length, 1)) {
    r->no_memory = true;
    return 0;
  }
  r->names = names;
  memcpy(r->names + at, text, length);
  r->names_used = at + length;
  return at;
}

/* The longest start of a text that holds whole characters in so many bytes. */
static int shown(const char *text, size_t most) {
  size_t n = strlen(text);
  if (n > most)
    for (n = most; n > 0 && ((unsigned char)text[n] & 0xc0) == 0x80; n--) continue;
  return (int)n;
}

static bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Read a number within a range; what is wrong is raised, and the number stays as it was. */
static void read_number(reading *r, const char *what, const char *text, double low, double high,
                        int line, int column, double *number) {
  const char *rest = text;
  double value = 0.0;
  while (is_blank(*text)) text++;
  const ta_status status = ta_number_parse(text, &value, &rest);
  while (status == TA_OK && is_blank(*rest)) rest++;
  if (status != TA_OK || *rest != '\0') {
    raise_at(r, TA_ERROR, line, column, "%s \"%.*s\" is not a plain number such as 46.5", what,
             shown(text, SHOWN_MAX), text);
    return;
  }
  if (!(value >= low && value <= high)) {
    raise_at(r, TA_ERROR, line, column, "%s %.9g is outside what is possible here; taken: %g to %g",
             what, value, low, high);
    return;
  }
  *number = value;
}

static void read_root(reading *r, const char *local, size_t space_length, const char *name,
                      const char **attribute) {
  const char *version = NULL;
  r->root_line = line_now(r);
  r->root_column = column_now(r);
  if (strcmp(local, "gpx") != 0) {
    raise_at(r, TA_ERROR, r->root_line, r->root_column,
             "this is no GPX file: its outermost element is %.*s, not gpx", shown(local, SHOWN_MAX),
             local);
    stop(r);
    return;
  }
  r->space = malloc(space_length + 1);
  if (r->space == NULL) {
    stop_without_memory(r);
    return;
  }
  memcpy(r->space, name, space_length);
  r->space[space_length] = '\0';
  for (; *attribute != NULL; attribute += 2)
    if (strcmp(attribute[0], "version") == 0) version = attribute[1];

  const bool known_space = strcmp(r->space, "http://www.topografix.com/GPX/1/0") == 0 ||
                           strcmp(r->space, "http://www.topografix.com/GPX/1/1") == 0;
  if (!known_space && space_length == 0)
    raise_at(r, TA_WARNING, r->root_line, r->root_column,
             "the file names no namespace; it is read as GPX 1.1");
  else if (!known_space)
    raise_at(r, TA_WARNING, r->root_line, r->root_column,
             "the namespace \"%.*s\" is not that of GPX 1.0 or 1.1; it is read as GPX 1.1",
             shown(r->space, NAME_MAX_BYTES), r->space);
  if (version == NULL)
    raise_at(r, TA_WARNING, r->root_line, r->root_column,
             "the file names no version; it is read as GPX 1.1");
  else if (strcmp(version, "1.0") != 0 && strcmp(version, "1.1") != 0)
    raise_at(r, TA_WARNING, r->root_line, r->root_column,
             "version \"%.*s\" is not 1.0 or 1.1; it is read as GPX 1.1", shown(version, SHOWN_MAX),
             version);
}

static void read_point(reading *r, const char *element, list_kind kind, const char **attribute) {
  gpx_point point = {.line = line_now(r), .column = column_now(r), .after_gap = r->fresh};
  const char *latitude = NULL, *longitude = NULL;
  for (; *attribute != NULL; attribute += 2) {
    if (strcmp(attribute[0], "lat") == 0) latitude = attribute[1];
    if (strcmp(attribute[0], "lon") == 0) longitude = attribute[1];
  }
  if (latitude == NULL || longitude == NULL)
    raise_at(r, TA_ERROR, point.line, point.column, "%s has no %s", element,
             latitude != NULL    ? "lon"
             : longitude != NULL ? "lat"
                                 : "lat and no lon");
  if (latitude != NULL)
    read_number(r, "latitude", latitude, -90.0, 90.0, point.line, point.column,
                &point.latitude_deg);
  if (longitude != NULL)
    read_number(r, "longitude", longitude, -180.0, 180.0, point.line, point.column,
                &point.longitude_deg);

  gpx_list *list = &r->list[kind];
  void *points = list->point;
  if (!make_room(&points, &list->room, list->count + 1, sizeof point)) {
    stop_without_memory(r);
    return;
  }
  list->point = points;
  list->point[list->count++] = point;
  r->kind = kind;
  r->fresh = false;
}

static void XMLCALL on_start(void *user, const char *name, const char **attribute) {
  reading *r = user;
  const char *bar = strrchr(name, '|'), *local = bar != NULL ? bar + 1 : name;
  const size_t space_length = bar != NULL ? (size_t)(bar - name) : 0;
  if (r->skipped > 0) {
    r->skipped++;
    return;
  }
  if (r->depth == 0) read_root(r, local, space_length, name, attribute);
  size_t i = NESTINGS;
  if (r->space != NULL && strlen(r->space) == space_length &&
      memcmp(r->space, name, space_length) == 0) {
    size_t anywhere = NESTINGS;
    for (i = 0; i < NESTINGS; i++) {
      if (strcmp(nesting[i].name, local) != 0) continue;
      if (nesting[i].parent == r->stack[r->depth]) break;
      anywhere = i;
    }
    if (i == NESTINGS && anywhere < NESTINGS && nesting[anywhere].parent != IN_POINT)
      raise_at(r, TA_ERROR, line_now(r), column_now(r),
               "%s stands where GPX takes none: gpx holds trk, rte and wpt, trk holds trkseg, "
               "trkseg holds trkpt, rte holds rtept",
               local);
  }
  if (i == NESTINGS) {
    r->skipped = 1;
    return;
  }
  r->stack[++r->depth] = nesting[i].child;
  switch (nesting[i].child) {
    case IN_TRKSEG:
    case IN_RTE:
      r->fresh = true;
      break;
    case IN_POINT:
      read_point(r, local, nesting[i].list, attribute);
      break;
    case IN_ELE:
    case IN_NAME:
      r->text_length = 0;
      r->text_line = line_now(r);
      r->text_column = column_now(r);
      break;
    default:
      break;
  }
}

static void XMLCALL on_text(void *user, const char *text, int length) {
  reading *r = user;
  if (r->skipped > 0 || (r->stack[r->depth] != IN_ELE && r->stack[r->depth] != IN_NAME)) return;
  for (int i = 0; i < length; i++) {
    const bool blank = is_blank(text[i]);
    /* none before, one between */
    if (blank && (r->text_length == 0 || r->text[r->text_length - 1] == ' ')) continue;
    if (r->text_length == sizeof r->text - 1) {
      memcpy(r->text + r->text_length - 3, "...", 3); /* no number then */
      return;
    }
    r->text[r->text_length++] = text[i];
    if (blank) r->text[r->text_length - 1] = ' ';
  }
}

static void finish_elevation(reading *r, gpx_point *point) {
  if (r->text_length == 0 || r->kind == WAYPOINTS) return; /* <ele/> says nothing */
  if (point->has_elevation) {
    raise_at(r, TA_ERROR, r->text_line, r->text_column, "a second elevation in one point");
    return;
  }
  point->has_elevation = true; /* a bad one is not a missing one */
  read_number(r, "elevation", r->text, LOWEST_M, HIGHEST_M, r->text_line, r->text_column,
              &point->elevation_m);
}

static void finish_name(reading *r, gpx_point *point) {
  if (r->text_length == 0 || point->name != 0) return;
  const int whole = shown(r->text, NAME_MAX_BYTES);
  if (r->text[whole] != '\0') (void)snprintf(r->text + whole, 4, "...");
  point->name = keep_name(r, r->text);
  if (point->name == 0) stop(r);
}

static void XMLCALL on_end(void *user, const char *name) {
  (void)name;
  reading *r = user;
  if (r->skipped > 0) {
    r->skipped--;
    return;
  }
  const where closed = r->stack[r->depth--];
  if (closed != IN_ELE && closed != IN_NAME) return;
  if (r->text_length > 0 && r->text[r->text_length - 1] == ' ') r->text_length--;
  r->text[r->text_length] = '\0';
  gpx_list *list = &r->list[r->kind];
  gpx_point *point = &list->point[list->count - 1];
  if (closed == IN_ELE)
    finish_elevation(r, point);
  else
    finish_name(r, point);
}

static void XMLCALL on_entity(void *user, const char *name, int is_parameter, const char *value,
                              int length, const char *base, const char *system,
                              const char *public_id, const char *notation) {
  (void)name, (void)is_parameter, (void)value, (void)length, (void)base, (void)system;
  (void)public_id, (void)notation;
  reading *r = user;
  raise_at(r, TA_ERROR, line_now(r), column_now(r),
           "the file declares entities; a GPX file needs none, and nothing is fetched");
  stop(r);
}

static void XMLCALL on_skipped_entity(void *user, const char *name, int is_parameter) {
  (void)is_parameter;
  reading *r = user;
  raise_at(r, TA_ERROR, line_now(r), column_now(r), "the entity &%.*s; is not known",
           shown(name, SHOWN_MAX), name);
}

static void raise_xml_error(reading *r, size_t size) {
  const enum XML_Error code = XML_GetErrorCode(r->xml);
  if (code == XML_ERROR_ABORTED) return; /* we stopped, and said why */
  if (code == XML_ERROR_NO_MEMORY)
    r->no_memory = true;
  else if (size == 0)
    raise_at(r, TA_ERROR, 1, 1, "the file is empty");
  else if (code == XML_ERROR_NO_ELEMENTS || code == XML_ERROR_UNCLOSED_TOKEN ||
           code == XML_ERROR_PARTIAL_CHAR || code == XML_ERROR_UNCLOSED_CDATA_SECTION)
    raise_at(r, TA_ERROR, line_now(r), column_now(r),
             "the file ends before its outermost element does: it is cut off, or no GPX");
  else
    raise_at(r, TA_ERROR, line_now(r), column_now(r), "this is not well-formed XML: %s",
             XML_ErrorString(code));
}

static void read_xml(reading *r, const char *bytes, size_t size) {
  if (size > INT_MAX) {
    raise_at(r, TA_ERROR, 0, 0, "the file is too large");
    return;
  }
  r->xml = XML_ParserCreateNS(NULL, '|');
  if (r->xml == NULL) {
    r->no_memory = true;
    return;
  }
  XML_SetUserData(r->xml, r);
  XML_SetElementHandler(r->xml, on_start, on_end);
  XML_SetCharacterDataHandler(r->xml, on_text);
  XML_SetEntityDeclHandler(r->xml, on_entity);
  XML_SetSkippedEntityHandler(r->xml, on_skipped_entity);
  if (XML_Parse(r->xml, bytes, (int)size, XML_TRUE) != XML_STATUS_OK) raise_xml_error(r, size);
  XML_ParserFree(r->xml);
}

/* ---- from lists to a road ---------------------------------------------------------------------
 */

static gpx_list *choose_list(reading *r) {
  gpx_list *const tracks = &r->list[TRACKS], *const routes = &r->list[ROUTES];
  if (tracks->count < 2 && routes->count < 2) {
    raise_at(r, TA_ERROR, r->root_line, r->root_column,
             "a course needs at least two points of a track or a route, found %zu and %zu%s",
             tracks->count, routes->count,
             r->list[WAYPOINTS].count > 0 ? "; waypoints make no road" : "");
    return NULL;
  }
  if (tracks->count < 2) {
    size_t pieces = 0;
    for (size_t i = 0; i < routes->count; i++) pieces += routes->point[i].after_gap;
    if (tracks->count > 0)
      raise_at(r, TA_WARNING, tracks->point[0].line, tracks->point[0].column,
               "the track has one point; the route is taken");
    if (pieces > 1)
      raise_at(r, TA_WARNING, routes->point[0].line, routes->point[0].column,
               "%zu routes are taken as one course, in the order of the file", pieces);
    return routes;
  }
  if (routes->count > 0)
    raise_at(r, TA_WARNING, routes->point[0].line, routes->point[0].column,
             "the file has tracks and routes; the tracks are taken");
  return tracks;
}

/* Faults that need no distance, so that they are told beside faults of position. */
static void check_any_elevation(reading *r, const gpx_list *list) {
  size_t known = 0, zero = 0;
  for (size_t i = 0; i < list->count; i++) {
    known += list->point[i].has_elevation;
    zero += list->point[i].has_elevation && list->point[i].elevation_m == 0.0;
  }
  if (known == 0)
    raise_at(r, TA_ERROR, list->point[0].line, list->point[0].column,
             "no elevations: none of the %zu points has an ele; add them from a survey or a map "
             "before planning on this track",
             list->count);
  else if (zero == known)
    raise_at(r, TA_ERROR, list->point[0].line, list->point[0].column,
             "every elevation is zero: the file was written by something that knew none; add them "
             "from a survey or a map");
}

/* True when the last of the names joined by ", " is this one. */
static bool ends_with(const char *names, const char *name) {
  const size_t length = strlen(names), last = strlen(name);
  if (length < last || strcmp(names + length - last, name) != 0) return false;
  return length == last || (length >= last + 2 && memcmp(names + length - last - 2, ", ", 2) == 0);
}

/* Give a point a name beside those that it has; past the room for them only "..." is added. */
static void add_mark(reading *r, gpx_point *point, size_t name) {
  static const char more[] = ", ...";
  char joined[MARK_MAX_BYTES + sizeof more];
  if (name == 0) return;
  if (point->name == 0) {
    point->name = name;
    return;
  }
  const char *has = r->names + point->name, *adds = r->names + name;
  const size_t length = strlen(has);
  if (ends_with(has, adds) || ends_with(has, more + 2)) return;
  if (length + 2 + strlen(adds) <= MARK_MAX_BYTES)
    (void)snprintf(joined, sizeof joined, "%s, %s", has, adds);
  else
    (void)snprintf(joined, sizeof joined, "%s%s", has, more);
  const size_t both = keep_name(r, joined);
  if (both != 0) point->name = both;
}

static double leg_between(const gpx_point *a, const gpx_point *b) {
  return ta_geodesic_distance(a->latitude_deg, a->longitude_deg, b->latitude_deg, b->longitude_deg);
}

/* Leave out repeated places and give every point its distance. */
static void measure(reading *r, gpx_list *list) {
  const gpx_point *longest = NULL, *drifted = NULL;
  double longest_m = LONG_LEG_M, drift_m = DRIFT_M;
  size_t kept = 1, legs = 0, coarse = 0;
  list->point[0].distance_m = 0.0;
  list->point[0].after_gap = false;
  for (size_t i = 1; i < list->count; i++) {
    gpx_point point = list->point[i], *before = &list->point[kept - 1];
    const double leg_m = leg_between(before, &point);
    if (leg_m < SAME_PLACE_M) {
      const double apart_m = fabs(point.elevation_m - before->elevation_m);
      if (!before->has_elevation) {
        before->elevation_m = point.elevation_m;
        before->has_elevation = point.has_elevation;
      } else if (point.has_elevation && apart_m > drift_m) {
        drift_m = apart_m;
        drifted = before;
      }
      add_mark(r, before, point.name);
      continue;
    }
    point.distance_m = before->distance_m + (point.after_gap ? GAP_STEP_M : leg_m);
    list->point[kept] = point;
    if (!point.after_gap) {
      legs++;
      coarse += leg_m > LONG_LEG_M;
      if (leg_m > longest_m) {
        longest_m = leg_m;
        longest = &list->point[kept];
      }
    }
    kept++;
  }
  list->count = kept;
  if (legs == 0)
    raise_at(r, TA_ERROR, list->point[0].line, list->point[0].column,
             "there is no road: no two points of one segment are apart");
  if (longest != NULL)
    raise_at(r, TA_WARNING, longest->line, longest->column,
             "%zu %s between points longer than 5 km, up to %.1f km before this one: too coarse "
             "for grades",
             coarse, coarse == 1 ? "leg" : "legs", longest_m / 1e3);
  if (drifted != NULL)
    raise_at(r, TA_WARNING, drifted->line, drifted->column,
             "points at one place differ in elevation, here by %.0f m; the first is taken",
             drift_m);
}

/* Missing elevations: filled in where that is no guess, else an error. */
static void fill_elevations(reading *r, gpx_list *list) {
  gpx_point *point = list->point;
  const gpx_point *first = NULL;
  size_t missing = 0;
  for (size_t i = 0; i < list->count; i++) {
    if (point[i].has_elevation) continue;
    if (missing++ == 0) first = &point[i];
  }
  if (missing == 0) return;
  if ((double)missing >= FILL_SHARE * (double)list->count) {
    raise_at(r, TA_ERROR, first->line, first->column,
             "%zu of %zu points have no elevation, this is the first; fewer than %.0f %% are "
             "filled in",
             missing, list->count, 100.0 * FILL_SHARE);
    return;
  }
  const size_t errors = r->errors;
  for (size_t i = 0; i < list->count; i++) {
    if (point[i].has_elevation) continue;
    size_t next = i;
    while (next < list->count && !point[next].has_elevation &&
           (next == i || !point[next].after_gap))
      next++;
    const bool open = i == 0 || point[i].after_gap || next == list->count || point[next].after_gap;
    const double road_m = open ? 0.0 : point[next].distance_m - point[i - 1].distance_m;
    if (open)
      raise_at(r, TA_ERROR, point[i].line, point[i].column,
               "the %s of a segment has no elevation: nothing to fill it in from (%zu of %zu "
               "points have none)",
               i == 0 || point[i].after_gap ? "first point" : "end", missing, list->count);
    else if (road_m > FILL_ROAD_M)
      raise_at(r, TA_ERROR, point[i].line, point[i].column,
               "no elevation over %.0f m of road from here; up to %.0f m are filled in (%zu of %zu "
               "points have none)",
               road_m, FILL_ROAD_M, missing, list->count);
    for (size_t k = i; k < next; k++) {
      if (!open) {
        const double share = (point[k].distance_m - point[i - 1].distance_m) / road_m;
        point[k].elevation_m =
            point[i - 1].elevation_m + share * (point[next].elevation_m - point[i - 1].elevation_m);
      }
      point[k].has_elevation = true;
    }
  }
  if (r->errors == errors)
    raise_at(r, TA_WARNING, first->line, first->column,
             "%zu of %zu points have no elevation, this is the first; filled in along the road "
             "between their neighbours",
             missing, list->count);
}

static void warn_of_gaps(reading *r, const gpx_list *list) {
  size_t told = 0, more = 0;
  double more_m = 0.0;
  const gpx_point *first_more = NULL;
  for (size_t i = 1; i < list->count; i++) {
    const gpx_point *b = &list->point[i], *a = b - 1;
    if (!b->after_gap) continue;
    if (told < LISTED_MAX) {
      told++;
      const double rise_m = b->elevation_m - a->elevation_m;
      raise_at(r, TA_WARNING, b->line, b->column,
               "a gap of %.0f m before this point, %.1f m %s: not driven, not counted in the "
               "distance",
               leg_between(a, b), fabs(rise_m), rise_m < 0.0 ? "down" : "up");
    } else {
      if (more++ == 0) first_more = b;
      more_m += leg_between(a, b);
    }
  }
  if (more > 0)
    raise_at(r, TA_WARNING, first_more->line, first_more->column,
             "%zu more %s from here on, %.0f m together, not driven", more,
             more == 1 ? "gap" : "gaps", more_m);
}

/* The rise to a point when no road rises like that, else 0. */
static double jump_to(const gpx_list *list, size_t i) {
  if (i >= list->count || list->point[i].after_gap) return 0.0;
  const gpx_point *b = &list->point[i], *a = b - 1;
  const double rise_m = b->elevation_m - a->elevation_m;
  return fabs(rise_m) > SPIKE_M && fabs(rise_m) > STEEPEST_GRADE * (b->distance_m - a->distance_m)
             ? rise_m
             : 0.0;
}

static void check_jumps(reading *r, const gpx_list *list) {
  const gpx_point *worst = NULL;
  double worst_m = 0.0;
  size_t warned = 0;
  for (size_t i = 1; i < list->count; i++) {
    const gpx_point *point = &list->point[i];
    const double there_m = jump_to(list, i);
    if (there_m == 0.0) continue;
    const double back_m = jump_to(list, i + 1);
    const bool spike = there_m * back_m < 0.0;
    const double height_m = spike ? fmax(fabs(there_m), fabs(back_m)) : fabs(there_m);
    const double road_m = point->distance_m - point[-1].distance_m;
    if (height_m > REFUSED_SPIKE_M && (spike || height_m > CLIFF_GRADE * road_m)) {
      raise_at(r, TA_ERROR, point->line, point->column,
               "elevation %.6g m after %.6g m, %.1f m of road before%s: no road does that; correct "
               "or remove the point",
               point->elevation_m, point[-1].elevation_m, road_m, spike ? ", and back again" : "");
    } else {
      warned++;
      if (height_m > worst_m) {
        worst_m = height_m;
        worst = point;
      }
    }
    if (spike) i++;
  }
  if (worst == NULL) return;
  raise_at(r, TA_WARNING, worst->line, worst->column,
           "the elevation jumps by %.0f m here, steeper than 50 %%, the largest of %zu such %s: "
           "smoothing does not remove that",
           worst_m, warned, warned == 1 ? "place" : "places");
}

/* The course point that a waypoint within reach of the road marks; NULL when it is not. */
static gpx_point *point_beside(const gpx_list *list, const gpx_point *waypoint) {
  const double latitude = waypoint->latitude_deg, step = 0.001; /* deg */
  const double inward = latitude > 0.0 ? latitude - step : latitude + step;
  const double north_m = ta_geodesic_distance(latitude, 0.0, inward, 0.0) / step, /* per degree */
      east_m = ta_geodesic_distance(latitude, 0.0, latitude, step) / step;
  const double reach_deg = MARK_REACH_M / north_m;
  gpx_point *nearest = NULL;
  double nearest_m = MARK_REACH_M;
  for (size_t i = 0; i < list->count; i++) {
    gpx_point *a = &list->point[i];
    gpx_point *b = i + 1 < list->count && !a[1].after_gap ? a + 1 : a;
    const double ay_deg = a->latitude_deg - latitude, by_deg = b->latitude_deg - latitude;
    if (fmin(ay_deg, by_deg) > reach_deg || fmax(ay_deg, by_deg) < -reach_deg) continue;
    const double ax = remainder(a->longitude_deg - waypoint->longitude_deg, 360.0) * east_m,
                 ay = ay_deg * north_m;
    const double dx = remainder(b->longitude_deg - a->longitude_deg, 360.0) * east_m,
                 dy = by_deg * north_m - ay;
    const double square = dx * dx + dy * dy;
    const double share = square > 0.0 ? fmin(fmax(-(ax * dx + ay * dy) / square, 0.0), 1.0) : 0.0;
    const double apart_m = hypot(ax + share * dx, ay + share * dy);
    if (apart_m > nearest_m || (apart_m == nearest_m && nearest != NULL)) continue;
    nearest_m = apart_m;
    nearest = share <= 0.5 ? a : b;
  }
  return nearest;
}

static void place_waypoints(reading *r, gpx_list *list) {
  const gpx_list *waypoints = &r->list[WAYPOINTS];
  const gpx_point *first = NULL;
  char left[LISTED_MAX * SHOWN_MAX + 64] = "";
  size_t left_out = 0, length = 0;
  for (size_t i = 0; i < waypoints->count && i < WAYPOINTS_MAX; i++) {
    const gpx_point *waypoint = &waypoints->point[i];
    if (waypoint->name == 0) continue;
    gpx_point *point = point_beside(list, waypoint);
    if (point != NULL) {
      add_mark(r, point, waypoint->name);
      continue;
    }
    if (left_out++ == 0) first = waypoint;
    const char *name = r->names + waypoint->name;
    if (left_out <= LISTED_MAX)
      length += (size_t)snprintf(left + length, sizeof left - length, "%s\"%.*s\"",
                                 left_out > 1 ? ", " : "", shown(name, SHOWN_MAX), name);
  }
  if (left_out > LISTED_MAX)
    (void)snprintf(left + length, sizeof left - length, " and %zu more", left_out - LISTED_MAX);
  if (left_out > 0)
    raise_at(r, TA_WARNING, first->line, first->column,
             "%zu %s farther than 100 m off the road, no mark: %s", left_out,
             left_out == 1 ? "waypoint is" : "waypoints are", left);
  if (waypoints->count > WAYPOINTS_MAX)
    raise_at(r, TA_WARNING, waypoints->point[WAYPOINTS_MAX].line,
             waypoints->point[WAYPOINTS_MAX].column,
             "%zu waypoints; from here on they are not looked at", waypoints->count);
}

static ta_status hand_over(const reading *r, const gpx_list *list, ta_event *event,
                           ta_course *course) {
  ta_course_point *point = ta_event_allocate(event, list->count * sizeof *point);
  char *names = r->names_used > 0 ? ta_event_allocate(event, r->names_used) : NULL;
  if (point == NULL || (names == NULL && r->names_used > 0)) return TA_ERR_MEMORY;
  if (names != NULL) memcpy(names + 1, r->names + 1, r->names_used - 1);
  for (size_t i = 0; i < list->count; i++) {
    const gpx_point *read = &list->point[i];
    point[i] = (ta_course_point){.distance_m = read->distance_m,
                                 .elevation_m = read->elevation_m,
                                 .mark = read->name != 0 ? names + read->name : NULL,
                                 .latitude_deg = read->latitude_deg,
                                 .longitude_deg = read->longitude_deg,
                                 .has_position = true,
                                 .after_gap = read->after_gap};
  }
  course->point = point;
  course->count = list->count;
  return TA_OK;
}

static void make_road(reading *r, gpx_list *list) {
  measure(r, list);
  fill_elevations(r, list);
  if (r->errors > 0) return;
  warn_of_gaps(r, list);
  check_jumps(r, list);
  place_waypoints(r, list);
}

ta_status ta_gpx_read(const char *path, const char *bytes, size_t size, ta_event *event,
                      ta_course *course, ta_diagnostics *diagnostics) {
  if (path == NULL || bytes == NULL || event == NULL || course == NULL) return TA_ERR_ARGUMENT;
  reading r = {.path = path, .diagnostics = diagnostics, .fresh = true};
  gpx_list *list = NULL;
  read_xml(&r, bytes, size);
  if (r.space != NULL && !r.no_memory && (r.errors == 0 || r.depth == 0)) list = choose_list(&r);
  if (list != NULL) check_any_elevation(&r, list);
  if (list != NULL && r.errors == 0) make_road(&r, list);

  ta_status status = TA_ERR_INPUT;
  if (r.no_memory)
    status = TA_ERR_MEMORY;
  else if (list != NULL && r.errors == 0)
    status = hand_over(&r, list, event, course);
  for (size_t i = 0; i < LISTS; i++) free(r.list[i].point);
  free(r.names);
  free(r.space);
  return status;
}
