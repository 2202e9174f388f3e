/* test_gpx.c - GPX files to courses: distances, gaps, marks, elevations, and every refusal placed.
 *
 * Oracle    The tracks are ours; their legs were measured with PROJ 9.1 (geod_inverse, WGS 84) and
 *           are copied here.
 * Source    GPX 1.0 and 1.1 schemas for what may stand where. */
#include "files/gpx.h"

#include <stdio.h>
#include <stdlib.h>

#include "../test.h"
#include "thinair/geodesic.h"

#define GPX_11 "<gpx version=\"1.1\" creator=\"t\" xmlns=\"http://www.topografix.com/GPX/1/1\">"
#define GPX_10 "<gpx version=\"1.0\" creator=\"t\" xmlns=\"http://www.topografix.com/GPX/1/0\">"
#define A "<trkpt lat=\"46.5\" lon=\"10.5\"><ele>1500</ele></trkpt>"
#define B "<trkpt lat=\"46.501\" lon=\"10.5\"><ele>1505</ele></trkpt>"
#define C "<trkpt lat=\"46.502\" lon=\"10.5\"><ele>1512</ele></trkpt>"
#define TRACK(points) "<trk><trkseg>" points "</trkseg></trk>"

enum { TEXT_MAX = 24 * 1024 * 1024 };

static ta_diagnostics list;
static ta_event event;
static ta_course course;
static char *text;
static size_t length;

static int start(void **state) {
  (void)state;
  ta_diagnostics_clear(&list);
  memset(&event, 0, sizeof event);
  memset(&course, 0, sizeof course);
  length = 0;
  return 0;
}

static int stop(void **state) {
  (void)state;
  ta_event_free(&event);
  return 0;
}

static ta_status read_bytes(const char *bytes, size_t size) {
  char *exact = malloc(size > 0 ? size : 1); /* reading past the end is noticed */
  assert_non_null(exact);
  memcpy(exact, bytes, size);
  ta_event_free(&event);
  ta_diagnostics_clear(&list);
  memset(&course, 0, sizeof course);
  const ta_status status = ta_gpx_read("road.gpx", exact, size, &event, &course, &list);
  free(exact);
  if (status != TA_OK) assert_true(course.point == NULL && course.count == 0);
  return status;
}

static ta_status read_text(const char *bytes) {
  return read_bytes(bytes, strlen(bytes));
}

/* Read, and print what was said when it is not what was wanted. */
static void taken(const char *bytes, size_t points, size_t warnings) {
  const ta_status status = read_text(bytes);
  for (size_t i = 0; (status != TA_OK || list.count != warnings) && i < list.count; i++)
    print_error("%d:%d: %s\n", list.item[i].place.line, list.item[i].place.column,
                list.item[i].text);
  assert_int_equal(status, TA_OK);
  assert_int_equal(course.count, points);
  assert_int_equal(list.count, warnings);
  assert_int_equal(list.errors, 0);
}

static void said(size_t i, ta_severity severity, int line, int column, const char *part) {
  assert_true(i < list.count);
  const ta_diagnostic *item = &list.item[i];
  if (strstr(item->text, part) == NULL || item->place.line != line ||
      item->place.column != column || item->severity != severity)
    fail_msg("%d:%d: \"%s\", want %d:%d: \"...%s...\"", item->place.line, item->place.column,
             item->text, line, column, part);
  assert_string_equal(item->place.file, "road.gpx");
  assert_string_equal(item->key, "course");
}

static void refused(const char *bytes, int line, int column, const char *part) {
  assert_int_equal(read_text(bytes), TA_ERR_INPUT);
  assert_int_equal(list.errors, 1);
  said(list.count - 1, TA_ERROR, line, column, part);
}

static __attribute__((format(printf, 1, 2))) void add(const char *format, ...) {
  va_list args;
  va_start(args, format);
  length += (size_t)vsnprintf(text + length, TEXT_MAX - length, format, args);
  va_end(args);
  assert_true(length < TEXT_MAX);
}

/* A straight road north, one point a line from line 2 on; NaN: no ele. */
static void add_road(size_t count, double step_deg, const double *elevation) {
  length = 0;
  add(GPX_11 "<trk><trkseg>\n");
  for (size_t i = 0; i < count; i++) {
    add("<trkpt lat=\"%.7f\" lon=\"10.5\">", 46.5 + step_deg * (double)i);
    if (!isnan(elevation[i])) add("<ele>%.3f</ele>", elevation[i]);
    add("</trkpt>\n");
  }
  add("</trkseg></trk></gpx>");
}

static void distances_are_those_of_proj_and_gaps_are_not_driven(void **state) {
  (void)state;
  static const double leg[] = {212.567941513, 180.145246886, 174.771865754, 254.573737546,
                               0.01,          129.101243340, 179.373968517, 227.655153022};
  taken("<?xml version=\"1.0\"?>\n" GPX_11
        "<trk><name>x</name><trkseg>\n"
        "<trkpt lat=\"-13.3371\" lon=\"-72.1013\"><ele>3456.5</ele></trkpt>"
        "<trkpt lat=\"-13.33655\" lon=\"-72.09942\"><ele>3462</ele></trkpt>"
        "<trkpt lat=\"-13.335013\" lon=\"-72.098871\"><ele>3471</ele></trkpt>"
        "<trkpt lat=\"-13.334417\" lon=\"-72.100365\"><ele>3480</ele></trkpt>"
        "<trkpt lat=\"-13.332208\" lon=\"-72.099707\"><ele>3491</ele></trkpt>"
        "</trkseg></trk><trk><trkseg>\n"
        "  <trkpt lat=\"-13.3309\" lon=\"-72.1019\"><ele>3487.7</ele></trkpt>"
        "<trkpt lat=\"-13.329871\" lon=\"-72.101338\"><ele>3493</ele></trkpt>"
        "<trkpt lat=\"-13.329064\" lon=\"-72.102774\"><ele>3500</ele></trkpt>"
        "<trkpt lat=\"-13.328555\" lon=\"-72.10481\"><ele>3511.25</ele></trkpt>"
        "</trkseg></trk></gpx>",
        9, 1);
  said(0, TA_WARNING, 4, 3, "a gap of 278 m before this point, 3.3 m down: not driven");
  assert_false(course.point[0].after_gap);
  double distance = 0.0;
  int bad = off("start", "distance", course.point[0].distance_m, 0.0, 0.0);
  for (size_t i = 1; i < 9; i++) {
    distance += leg[i - 1];
    bad += off("point", "distance", course.point[i].distance_m, distance, 1e-7);
    assert_true(course.point[i].after_gap == (i == 5));
    assert_true(course.point[i].has_position);
    assert_null(course.point[i].mark);
  }
  assert_int_equal(bad, 0);
  assert_true(course.point[0].elevation_m == 3456.5 && course.point[8].elevation_m == 3511.25);
  assert_true(course.point[3].latitude_deg == -13.334417);
  assert_true(course.point[3].longitude_deg == -72.100365);
}

static void the_date_line_is_no_seam(void **state) {
  (void)state;
  taken(GPX_10
        "<trk><trkseg><trkpt lat=\"-16.8\" lon=\"179.9975\"><ele>10</ele></trkpt>"
        "<trkpt lat=\"-16.7991\" lon=\"179.9998\"><ele>14</ele></trkpt>"
        "<trkpt lat=\"-16.79833\" lon=\"-179.9989\"><ele>20</ele></trkpt></trkseg></trk>"
        "<wpt lat=\"-16.7987\" lon=\"-179.9995\"><name>post</name></wpt></gpx>",
        3, 0);
  assert_int_equal(off("date line", "distance", course.point[2].distance_m, 427.316725340, 1e-7),
                   0);
  assert_string_equal(course.point[2].mark, "post");
}

static void namespaces_and_versions(void **state) {
  (void)state;
  taken(GPX_10 TRACK(A B) "</gpx>", 2, 0);
  taken(GPX_11 TRACK(A B) "</gpx>", 2, 0);
  taken(
      "\xef\xbb\xbf<?xml version=\"1.0\" encoding=\"utf-8\"?><g:gpx version=\"1.1\" "
      "xmlns:g=\"http://www.topografix.com/GPX/1/1\"><g:trk><g:trkseg>"
      "<g:trkpt lat=\"46.5\" lon=\"10.5\"><g:ele>1500</g:ele></g:trkpt>"
      "<g:trkpt lat=\"46.501\" lon=\"10.5\"><g:ele>1505</g:ele></g:trkpt>"
      "<trkpt lat=\"47\" lon=\"10.5\"/></g:trkseg></g:trk></g:gpx>",
      2, 0);
  taken("\n <gpx>" TRACK(A B) "</gpx>", 2, 2);
  said(0, TA_WARNING, 2, 2, "no namespace");
  said(1, TA_WARNING, 2, 2, "no version");
  taken("<gpx version=\"2.7\" xmlns=\"http://example.invalid/gpx\">" TRACK(A B) "</gpx>", 2, 2);
  said(0, TA_WARNING, 1, 1, "\"http://example.invalid/gpx\" is not that of GPX 1.0 or 1.1");
  said(1, TA_WARNING, 1, 1, "version \"2.7\"");
}

static void what_says_nothing_here_is_skipped(void **state) {
  (void)state;
  taken(
      "<?xml version=\"1.0\"?><!DOCTYPE gpx SYSTEM \"http://example.invalid/gpx.dtd\"><!-- c -->"
      "<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\" xmlns:h=\"urn:h\">"
      "<metadata><name>not a mark</name><trk/></metadata>"
      "<trk><name>nor this</name><extensions><trkseg/><h:trkpt lat=\"x\"/></extensions><trkseg>"
      "<trkpt lon=\"10.5\" lat=\"46.5\"><h:ele>9</h:ele><!-- --><ele><![CDATA[ "
      "15]]>0<h:x>7<h:y/>8</h:x>0 <!-- -->"
      "</ele><time>2026-01-01T00:00:00Z</time><extensions><ele>7</ele><name>n</name>"
      "</extensions></trkpt>" B "</trkseg><trkseg></trkseg></trk></gpx>",
      2, 0);
  assert_true(course.point[0].elevation_m == 1500.0);
  assert_null(course.point[0].mark);
}

static void other_encodings(void **state) {
  (void)state;
  taken(
      "<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>" GPX_11
      "<trk><trkseg><trkpt lat=\"46.5\" lon=\"10.5\"><ele>1500</ele><name>H\xf6he</name></trkpt>" B
      "</trkseg></trk></gpx>",
      2, 0);
  assert_string_equal(course.point[0].mark, "H\xc3\xb6he");
  static const char plain[] = GPX_11 TRACK(A B) "</gpx>";
  static char wide[2 * sizeof plain];
  wide[0] = '\xff', wide[1] = '\xfe';
  for (size_t i = 0; i + 1 < sizeof plain; i++) wide[2 + 2 * i] = plain[i];
  assert_int_equal(read_bytes(wide, 2 * sizeof plain), TA_OK);
  assert_int_equal(course.count, 2);
  refused("<?xml version=\"1.0\" encoding=\"x-own\"?><gpx/>", 1, 31, "unknown encoding");
}

static void tracks_before_routes(void **state) {
  (void)state;
#define ROUTE                                                                     \
  "<rte><rtept lat=\"46.6\" lon=\"10.5\"><ele>1500</ele><name>one</name></rtept>" \
  "<rtept lat=\"46.601\" lon=\"10.5\"><ele>1504</ele></rtept></rte>"
#define ROUTE_2                                                     \
  "<rte><rtept lat=\"46.602\" lon=\"10.5\"><ele>1510</ele></rtept>" \
  "<rtept lat=\"46.603\" lon=\"10.5\"><ele>1514</ele></rtept></rte>"
  taken(GPX_11 "\n" ROUTE TRACK(A B C) "</gpx>", 3, 1);
  said(0, TA_WARNING, 2, 6, "the tracks are taken");
  taken(GPX_11 ROUTE "</gpx>", 2, 0);
  assert_string_equal(course.point[0].mark, "one");
  taken(GPX_11 "\n" ROUTE "\n" TRACK(A) "</gpx>", 2, 1);
  said(0, TA_WARNING, 3, 14, "the track has one point; the route is taken");
  taken(GPX_11 "\n" ROUTE "\n" ROUTE_2 "</gpx>", 4, 2);
  said(0, TA_WARNING, 2, 6, "2 routes are taken as one course");
  said(1, TA_WARNING, 3, 6, "a gap of 111 m before this point, 6.0 m up");
  assert_true(course.point[2].after_gap);
}

static void many_gaps_are_summed_up(void **state) {
  (void)state;
  add(GPX_11);
  for (int i = 0; i < 8; i++)
    add("\n<trk><trkseg><trkpt lat=\"%.4f\" lon=\"10\"><ele>1500</ele></trkpt>"
        "<trkpt lat=\"%.4f\" lon=\"10\"><ele>1501</ele></trkpt></trkseg></trk>",
        46.5 + i * 0.002, 46.501 + i * 0.002);
  add("</gpx>");
  taken(text, 16, 6);
  said(0, TA_WARNING, 3, 14, "a gap of 111 m before this point, 1.0 m down");
  said(5, TA_WARNING, 8, 14, "2 more gaps from here on, 222 m together");
}

static void names_become_marks(void **state) {
  (void)state;
  /* C1 lies 111 m north of the first point; 0.0005 deg of longitude are 38 m, 0.0014 107 m */
  taken(GPX_11
        "<wpt lat=\"46.5001\" lon=\"10.5005\"><ele>nonsense</ele><name> gate\n 1 </name></wpt>"
        "<wpt lat=\"46.5\" lon=\"10.5\"><name>start</name></wpt>"
        "<wpt lat=\"46.5\" lon=\"10.5\"><name>start</name></wpt>"
        "<wpt lat=\"46.5028\" lon=\"10.5\"><name>half way</name></wpt>"
        "<wpt lat=\"46.501\" lon=\"10.5\"/>"
        "<wpt lat=\"46.501\" lon=\"10.5\"><name></name></wpt>\n"
        "<wpt lat=\"46.501\" lon=\"10.5014\"><name>hut</name></wpt>"
        "<wpt lat=\"46.499\" lon=\"10.5\"><name>car park</name></wpt>"
        "<wpt lat=\"-46.5\" lon=\"10.5\"><name>far</name></wpt>" TRACK(
            A B "<trkpt lat=\"46.502\" lon=\"10.5\"><ele>1510</ele><name>bend</name></trkpt>"
                "<trkpt lat=\"46.506\" lon=\"10.5\"><ele>1530</ele></trkpt>") "</gpx>",
        4, 1);
  assert_string_equal(course.point[0].mark, "gate 1, start");
  assert_null(course.point[1].mark);
  assert_string_equal(course.point[2].mark, "bend, half way"); /* 89 m on, of 445 */
  assert_null(course.point[3].mark);
  said(0, TA_WARNING, 3, 1,
       "3 waypoints are farther than 100 m off the road, no mark: \"hut\", "
       "\"car park\", \"far\"");
}

static void waypoints_are_measured_to_the_road_not_to_its_points(void **state) {
  (void)state;
  /* legs of 1.1 km; beside the second one, 77 m east of it and a third on */
  taken(GPX_11 "<wpt lat=\"46.5133\" lon=\"10.501\"><name>ruin</name></wpt>" TRACK(
            "<trkpt lat=\"46.5\" lon=\"10.5\"><ele>1500</ele></trkpt>"
            "<trkpt lat=\"46.51\" lon=\"10.5\"><ele>1550</ele></trkpt>"
            "<trkpt lat=\"46.52\" lon=\"10.5\"><ele>1600</ele></trkpt>") "</gpx>",
        3, 0);
  assert_string_equal(course.point[1].mark, "ruin");
  /* in a gap there is no road */
  taken(GPX_11
        "<wpt lat=\"46.5133\" lon=\"10.5\"><name>ruin</name></wpt><trk><trkseg>"
        "<trkpt lat=\"46.5\" lon=\"10.5\"><ele>1500</ele></trkpt>"
        "<trkpt lat=\"46.51\" lon=\"10.5\"><ele>1550</ele></trkpt></trkseg><trkseg>"
        "<trkpt lat=\"46.52\" lon=\"10.5\"><ele>1600</ele></trkpt></trkseg></trk></gpx>",
        3, 2);
  said(1, TA_WARNING, 1, 74, "1 waypoint is farther than 100 m off the road, no mark: \"ruin\"");
}

static void long_and_many_names_are_cut_where_it_shows(void **state) {
  (void)state;
  add(GPX_11 "<trk><trkseg><trkpt lat=\"46.5\" lon=\"10.5\"><ele>1500</ele><name>a");
  for (int i = 0; i < 500; i++) add("\xc3\xb6");
  add("</name></trkpt>" B "</trkseg></trk>");
  for (int i = 0; i < 40; i++)
    add("<wpt lat=\"46.501\" lon=\"10.5\"><name>post %d</name></wpt>", i);
  for (int i = 0; i < 9; i++) add("<wpt lat=\"40\" lon=\"10.5\"><name>hut %d</name></wpt>", i);
  add("</gpx>");
  taken(text, 2, 1);
  assert_int_equal(strlen(course.point[0].mark), 82); /* whole characters */
  assert_string_equal(course.point[0].mark + 77, "\xc3\xb6...");
  const char *many = course.point[1].mark;
  assert_memory_equal(many, "post 0, post 1, ", 16);
  assert_true(strlen(many) <= 205 && strcmp(many + strlen(many) - 5, ", ...") == 0);
  assert_non_null(strstr(list.item[0].text, "9 waypoints"));
  assert_non_null(strstr(list.item[0].text, "\"hut 4\" and 4 more"));
}

static void only_so_many_waypoints_are_looked_at(void **state) {
  (void)state;
  add(GPX_11);
  for (int i = 0; i < 1001; i++) add("\n<wpt lat=\"46.5\" lon=\"10.5\"><name>%d</name></wpt>", i);
  add(TRACK(A B) "</gpx>");
  taken(text, 2, 1);
  said(0, TA_WARNING, 1002, 1, "1001 waypoints; from here on they are not looked at");
}

static void repeated_places_are_left_out(void **state) {
  (void)state;
  /* the second has what the first lacks; the third drifts; the last is told */
  taken(GPX_11
        "<trk><trkseg><trkpt lat=\"46.5\" lon=\"10.5\"/>"
        "<trkpt lat=\"46.5\" lon=\"10.5\"><ele>1490</ele><name>start</name></trkpt>" A
        "<trkpt lat=\"46.500000001\" lon=\"10.5\"><ele>1499</ele></trkpt>" B "</trkseg><trkseg>" B C
        "</trkseg></trk></gpx>",
        3, 0);
  assert_true(course.point[0].elevation_m == 1490.0);
  assert_string_equal(course.point[0].mark, "start");
  assert_true(!course.point[1].after_gap && !course.point[2].after_gap);
  assert_int_equal(off("joined", "distance", course.point[2].distance_m,
                       ta_geodesic_distance(46.5, 10.5, 46.502, 10.5), 1e-7),
                   0);
  taken(GPX_11 "<trk><trkseg>" A "\n" B
               "<trkpt lat=\"46.501\" lon=\"10.5\"><ele>1515.5</ele></trkpt>" C
               "</trkseg></trk></gpx>",
        3, 1);
  said(0, TA_WARNING, 2, 1, "differ in elevation, here by 10 m");
  assert_true(course.point[1].elevation_m == 1505.0);
  refused(GPX_11 TRACK(A A A) "</gpx>", 1, 87, "no two points of one segment are apart");
  refused(GPX_11 TRACK(A) TRACK(B) "</gpx>", 1, 87, "no two points of one segment are apart");
}

static void a_short_gap_in_the_elevations_is_filled(void **state) {
  (void)state;
  static double z[41];
  for (size_t i = 0; i < 41; i++) z[i] = 1500.0 + 2.0 * (double)i;
  z[7] = (double)NAN;
  add_road(41, 0.0005, z);
  taken(text, 41, 1);
  said(0, TA_WARNING, 9, 1, "1 of 41 points have no elevation, this is the first; filled in");
  assert_int_equal(off("filled", "elevation", course.point[7].elevation_m, 1514.0, 1e-5), 0);
  z[8] = (double)NAN; /* 2 of 41 are 4.9 %; 167 m of road */
  add_road(41, 0.0005, z);
  taken(text, 41, 1);
  assert_int_equal(off("filled", "elevation", course.point[8].elevation_m, 1516.0, 1e-5), 0);
  add_road(41, 0.00061, z); /* 203 m */
  refused(text, 9, 1,
          "no elevation over 203 m of road from here; up to 200 m are filled in (2 of 41");
  add_road(40, 0.0005, z); /* 5 % */
  refused(text, 9, 1, "2 of 40 points have no elevation, this is the first; fewer than 5 %");
}

static void elevations_at_ends_are_not_guessed(void **state) {
  (void)state;
  static double z[41];
  for (size_t i = 0; i < 41; i++) z[i] = 1500.0 + 2.0 * (double)i;
  z[0] = (double)NAN;
  add_road(41, 0.0005, z);
  refused(text, 2, 1, "the first point of a segment has no elevation");
  z[40] = (double)NAN; /* both are told */
  add_road(41, 0.0005, z);
  assert_int_equal(read_text(text), TA_ERR_INPUT);
  assert_int_equal(list.errors, 2);
  said(1, TA_ERROR, 42, 1, "the end of a segment has no elevation");
  /* nor beside a gap, though both neighbours are known */
  length = 0;
  add(GPX_11 "<trk><trkseg>");
  for (int i = 0; i < 30; i++)
    add("<trkpt lat=\"%.4f\" lon=\"10.5\">%s</trkpt>%s\n", 46.5 + 0.0005 * i,
        i == 14 ? "" : "<ele>1500</ele>", i == 14 ? "</trkseg><trkseg>" : "");
  add("</trkseg></trk></gpx>");
  refused(text, 15, 1, "the end of a segment has no elevation");
}

static void no_elevations_and_zeros(void **state) {
  (void)state;
  refused(GPX_11
          "\n<trk><trkseg>\n<trkpt lat=\"46.5\" lon=\"10.5\"/>"
          "<trkpt lat=\"46.51\" lon=\"10.5\"><ele/></trkpt></trkseg></trk></gpx>",
          3, 1, "no elevations: none of the 2 points has an ele");
  refused(GPX_11
          "<trk><trkseg>\n<trkpt lat=\"46.5\" lon=\"10.5\"><ele>0.0</ele></trkpt>"
          "<trkpt lat=\"46.51\" lon=\"10.5\"><ele>-0</ele></trkpt></trkseg></trk></gpx>",
          2, 1, "every elevation is zero");
  /* level road is level road */
  taken(GPX_11
        "<trk><trkseg>\n<trkpt lat=\"46.5\" lon=\"10.5\"><ele>191.6</ele></trkpt>"
        "<trkpt lat=\"46.501\" lon=\"10.5\"><ele>191.6</ele></trkpt></trkseg></trk></gpx>",
        2, 0);
}

static void spikes_are_told_and_high_ones_refused(void **state) {
  (void)state;
  static double z[30];
  for (size_t i = 0; i < 30; i++) z[i] = 1500.0;
  z[5] = 1515.5; /* over 22 m: 70 % */
  z[9] = 1460.0;
  add_road(30, 0.0002, z);
  taken(text, 30, 1);
  said(0, TA_WARNING, 11, 1, "jumps by 40 m here, steeper than 50 %, the largest of 2 such places");
  z[9] = 1399.0;
  z[20] = 1601.0;
  add_road(30, 0.0002, z);
  assert_int_equal(read_text(text), TA_ERR_INPUT);
  assert_int_equal(list.errors, 2);
  said(0, TA_ERROR, 11, 1, "elevation 1399 m after 1500 m, 22.2 m of road before, and back again");
  said(1, TA_ERROR, 22, 1, "elevation 1601 m after 1500 m");
  for (size_t i = 2; i < 30; i++) z[i] = 1530.0;
  z[0] = 1500.0;
  z[1] = 1608.0; /* up at 75 %, back at 54 %: the larger side counts */
  add_road(30, 0.0013, z);
  refused(text, 3, 1, "elevation 1608 m after 1500 m, 144.5 m of road before, and back again");
  for (size_t i = 0; i < 30; i++) z[i] = 1500.0;
  z[5] = 1514.0; /* not high enough */
  z[9] = 1511.0; /* nor this: 49 % */
  add_road(30, 0.0002, z);
  taken(text, 30, 0);
  for (size_t i = 10; i < 30; i++) z[i] = 1590.0; /* a step, no spike */
  add_road(30, 0.0002, z);
  taken(text, 30, 1);
  said(0, TA_WARNING, 12, 1, "jumps by 79 m here, steeper than 50 %, the largest of 1 such place:");
  for (size_t i = 10; i < 30; i++) z[i] = 1612.0; /* of more than 100 m, at 4.5 m a metre */
  add_road(30, 0.0002, z);
  refused(text, 12, 1, "elevation 1612 m after 1511 m, 22.2 m of road before: no road does that");
  add_road(30, 0.00044, z); /* at 2.06 */
  refused(text, 12, 1, "elevation 1612 m after 1511 m");
  add_road(30, 0.00047, z); /* at 1.93: a mountain path may */
  taken(text, 30, 1);
  add_road(30, 0.00175, z); /* at 0.519 */
  taken(text, 30, 1);
  add_road(30, 0.00185, z); /* at 0.49 */
  taken(text, 30, 0);
}

static void long_legs_are_told(void **state) {
  (void)state;
  taken(GPX_11 "<trk><trkseg>" A
               "\n<trkpt lat=\"46.55\" lon=\"10.5\"><ele>1600</ele></trkpt>"
               "\n<trkpt lat=\"46.6\" lon=\"10.57\"><ele>1700</ele></trkpt>"
               "<trkpt lat=\"46.647\" lon=\"10.57\"><ele>1700</ele></trkpt>"
               "<trkpt lat=\"46.69\" lon=\"10.57\"><ele>1700</ele></trkpt></trkseg></trk></gpx>",
        5, 1);
  said(0, TA_WARNING, 3, 1, "3 legs between points longer than 5 km, up to 7.7 km before this one");
  assert_memory_equal(list.item[0].text, "3 legs", 6);
}

static void values_that_cannot_be(void **state) {
  (void)state;
  static const struct {
    const char *point, *part;
    int column;
  } row[] = {
      {"<trkpt lon=\"10\"><ele>1</ele></trkpt>", "trkpt has no lat", 1},
      {"<trkpt lat=\"10\"><ele>1</ele></trkpt>", "trkpt has no lon", 1},
      {"<trkpt><ele>1</ele></trkpt>", "trkpt has no lat and no lon", 1},
      {"<trkpt lat=\"90.001\" lon=\"10\"><ele>1</ele></trkpt>",
       "latitude 90.001 is outside what is possible here; taken: -90 to 90", 1},
      {"<trkpt lat=\"-91\" lon=\"10\"><ele>1</ele></trkpt>", "latitude -91 is outside", 1},
      {"<trkpt lat=\"9\" lon=\"180.5\"><ele>1</ele></trkpt>", "longitude 180.5 is outside", 1},
      {"<trkpt lat=\"9\" lon=\"-181\"><ele>1</ele></trkpt>", "longitude -181 is outside", 1},
      {"<trkpt lat=\"46,5\" lon=\"10\"><ele>1</ele></trkpt>",
       "latitude \"46,5\" is not a plain number", 1},
      {"<trkpt lat=\"\" lon=\"10\"><ele>1</ele></trkpt>", "latitude \"\" is not", 1},
      {"<trkpt lat=\"9\" lon=\"NaN\"><ele>1</ele></trkpt>", "longitude \"NaN\" is not", 1},
      {"<trkpt lat=\"9\" lon=\"1e999\"><ele>1</ele></trkpt>", "longitude \"1e999\" is not", 1},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>nan</ele></trkpt>", "elevation \"nan\" is not", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>inf</ele></trkpt>", "elevation \"inf\" is not", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>12 m</ele></trkpt>", "elevation \"12 m\" is not", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>0x10</ele></trkpt>", "elevation \"0x10\" is not", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>6500.5</ele></trkpt>",
       "elevation 6500.5 is outside what is possible here; taken: -500 to 6500", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>-501</ele></trkpt>", "elevation -501 is outside", 24},
      {"<trkpt lat=\"9\" lon=\"1\"><ele>5</ele><ele>6</ele></trkpt>", "a second elevation", 36},
  };
  for (size_t i = 0; i < COUNT_OF(row); i++) {
    length = 0;
    add(GPX_11 "<trk><trkseg>" A B "\n%s</trkseg></trk></gpx>", row[i].point);
    refused(text, 2, row[i].column, row[i].part);
  }
  refused(GPX_11 TRACK(A B) "\n<wpt lat=\"91\" lon=\"0\"/></gpx>", 2, 1, "latitude 91 is outside");
  taken(GPX_11 "<trk><trkseg><trkpt lat=\" +46.5\n\" lon=\"1.05e1\"><ele> +15e2 </ele></trkpt>" B
               "</trkseg></trk></gpx>",
        2, 0);
  assert_true(course.point[0].longitude_deg == 10.5 && course.point[0].elevation_m == 1500.0);
  /* the ends of what is taken */
  taken(GPX_11
        "<trk><trkseg><trkpt lat=\"90\" lon=\"180\"><ele>-500</ele></trkpt>"
        "<trkpt lat=\"-90\" lon=\"-180\"><ele>6500</ele></trkpt></trkseg></trk></gpx>",
        2, 1);
}

static void a_number_too_long_to_hold_is_none(void **state) {
  (void)state;
  add(GPX_11 "<trk><trkseg>" A B "\n<trkpt lat=\"46.6\" lon=\"10.5\"><ele>1500.");
  for (int i = 0; i < 300; i++) add("0");
  add("e3</ele></trkpt></trkseg></trk></gpx>");
  refused(text, 2, 30, "elevation \"1500.00");
}

static void all_errors_at_once(void **state) {
  (void)state;
  assert_int_equal(read_text(GPX_11 "<trk><trkseg>\n<trkpt lat=\"99\" lon=\"x\"/>\n"
                                    "<trkpt lat=\"9\" lon=\"1\"><ele>?</ele></trkpt>\n"
                                    "<trkpt lat=\"9\" lon=\"y\"/></trkseg></trk>\n<trk>"),
                   TA_ERR_INPUT);
  assert_int_equal(list.errors, 5);
  said(0, TA_ERROR, 2, 1, "latitude 99");
  said(1, TA_ERROR, 2, 1, "longitude \"x\"");
  said(2, TA_ERROR, 3, 24, "elevation \"?\"");
  said(3, TA_ERROR, 4, 1, "longitude \"y\"");
  said(4, TA_ERROR, 5, 6, "the file ends before its outermost element does");
  /* faults of position hide no missing elevations */
  assert_int_equal(read_text(GPX_11 "<trk><trkseg>\n<trkpt lat=\"99\" lon=\"1\"/>\n"
                                    "<trkpt lat=\"9\" lon=\"1\"/></trkseg></trk></gpx>"),
                   TA_ERR_INPUT);
  assert_int_equal(list.errors, 2);
  said(1, TA_ERROR, 2, 1, "no elevations");
}

static void what_is_no_gpx_is_refused_where_it_shows(void **state) {
  (void)state;
  refused("", 1, 1, "the file is empty");
  refused(" \n ", 2, 2, "the file ends before its outermost element does");
  refused("\x01\x02\x03", 1, 1, "not well-formed XML");
  refused("<kml xmlns=\"urn:k\"><gpx/></kml>", 1, 1, "its outermost element is kml, not gpx");
  refused(GPX_11 "<trk><trkseg>\n" A, 2, 53, "the file ends before its outermost element does");
  refused(GPX_11 "\n<trk><![CDATA[ ", 2, 16, "the file ends before its outermost element does");
  refused(GPX_11 "<trk>\n  </trkseg></gpx>", 2, 5, "mismatched tag");
  refused(GPX_11 "\n<trk h:a=\"1\"/></gpx>", 2, 1, "unbound prefix");
  refused(GPX_11 "\n<trk>&who;</trk></gpx>", 2, 6, "undefined entity");
  refused(GPX_11 "\n</gpx>", 1, 1, "at least two points of a track or a route, found 0 and 0");
  refused(GPX_11 TRACK(A) "</gpx>", 1, 1, "found 1 and 0");
  refused(GPX_11 "<wpt lat=\"1\" lon=\"1\"/></gpx>", 1, 1, "waypoints make no road");
  refused(GPX_11 TRACK(A B) "\n<trkpt lat=\"1\" lon=\"1\"/></gpx>", 2, 1,
          "trkpt stands where GPX takes none");
  refused(GPX_11 TRACK(A B) "\n<trk><trkpt lat=\"1\" lon=\"1\"/></trk></gpx>", 2, 6,
          "trkpt stands where GPX takes none");
  assert_int_equal(
      read_bytes(GPX_11 TRACK(A B) "\0</gpx>", sizeof GPX_11 TRACK(A B) "\0</gpx>" - 1),
      TA_ERR_INPUT);
}

static void entities_are_refused_and_nothing_is_fetched(void **state) {
  (void)state;
  refused("<!DOCTYPE gpx [\n<!ENTITY a \"1\">\n<!ENTITY b \"&a;&a;&a;&a;\">]>" GPX_11 TRACK(
              A B) "</gpx>",
          2, 12, "declares entities");
  refused("<!DOCTYPE gpx [<!ENTITY a SYSTEM \"file:///etc/passwd\">]>" GPX_11
          "<trk><trkseg><trkpt lat=\"1\" lon=\"1\"><ele>&a;</ele></trkpt></trkseg></trk></gpx>",
          1, 54, "declares entities");
  /* one that a DTD elsewhere may declare */
  refused("<!DOCTYPE gpx SYSTEM \"http://example.invalid/gpx.dtd\">" GPX_11 "<trk><trkseg>" A B
          "\n<trkpt lat=\"1\" lon=\"1\"><ele>&a;</ele></trkpt></trkseg></trk></gpx>",
          2, 29, "the entity &a; is not known");
}

static void a_large_file(void **state) {
  (void)state;
  enum { COUNT = 200000 };
  add(GPX_11 "<trk><trkseg>");
  for (int i = 0; i < COUNT; i++)
    add("<trkpt lat=\"%.7f\" lon=\"10.5\"><ele>%.2f</ele></trkpt>\n", 46.0 + 1e-5 * i,
        1500.0 + 0.001 * i);
  add("</trkseg></trk></gpx>");
  assert_int_equal(read_text(text), TA_OK);
  assert_int_equal(course.count, COUNT);
  assert_int_equal(off_rel("2 deg of meridian", "distance", course.point[COUNT - 1].distance_m,
                           222340.557135, 1e-10),
                   0); /* PROJ, 46 to 47.99999 north */
  assert_int_equal(list.count, 0);
}

static void arguments(void **state) {
  (void)state;
  static const char good[] = GPX_11 TRACK(A B) "</gpx>";
  const size_t size = sizeof good - 1;
  assert_int_equal(ta_gpx_read(NULL, good, size, &event, &course, &list), TA_ERR_ARGUMENT);
  assert_int_equal(ta_gpx_read("x", NULL, size, &event, &course, &list), TA_ERR_ARGUMENT);
  assert_int_equal(ta_gpx_read("x", good, size, NULL, &course, &list), TA_ERR_ARGUMENT);
  assert_int_equal(ta_gpx_read("x", good, size, &event, NULL, &list), TA_ERR_ARGUMENT);
  assert_int_equal(ta_gpx_read("x", good, size, &event, &course, NULL), TA_OK);
  assert_int_equal(ta_gpx_read("x", good, 40, &event, &course, NULL), TA_ERR_INPUT);
  assert_int_equal(course.count, 2); /* as it was */
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, start, stop)
  const struct CMUnitTest tests[] = {
      TEST(distances_are_those_of_proj_and_gaps_are_not_driven),
      TEST(the_date_line_is_no_seam),
      TEST(namespaces_and_versions),
      TEST(what_says_nothing_here_is_skipped),
      TEST(other_encodings),
      TEST(tracks_before_routes),
      TEST(many_gaps_are_summed_up),
      TEST(names_become_marks),
      TEST(waypoints_are_measured_to_the_road_not_to_its_points),
      TEST(long_and_many_names_are_cut_where_it_shows),
      TEST(only_so_many_waypoints_are_looked_at),
      TEST(repeated_places_are_left_out),
      TEST(a_short_gap_in_the_elevations_is_filled),
      TEST(elevations_at_ends_are_not_guessed),
      TEST(no_elevations_and_zeros),
      TEST(spikes_are_told_and_high_ones_refused),
      TEST(long_legs_are_told),
      TEST(values_that_cannot_be),
      TEST(a_number_too_long_to_hold_is_none),
      TEST(all_errors_at_once),
      TEST(what_is_no_gpx_is_refused_where_it_shows),
      TEST(entities_are_refused_and_nothing_is_fetched),
      TEST(a_large_file),
      TEST(arguments),
  };
  text = malloc(TEXT_MAX);
  if (text == NULL) return 1;
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  free(text);
  return failed;
}
