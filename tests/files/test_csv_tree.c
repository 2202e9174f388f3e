/* test_csv_tree.c - tables in CSV are what the same tables in YAML are, and their errors are
 * placed.
 */
#include <gsl/gsl_errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "../test.h"
#include "thinair/event_reader.h"
#include "thinair/report.h"

static const double LONGEST_S = 15.0; /* with sanitizers */
static ta_diagnostics diagnostics;

static void show(void) {
  for (size_t i = 0; i < diagnostics.count; i++)
    print_error("    %s:%d:%d: %s: %s\n", diagnostics.item[i].place.file,
                diagnostics.item[i].place.line, diagnostics.item[i].place.column,
                diagnostics.item[i].key, diagnostics.item[i].text);
}

static ta_status read_sized(const char *part, const char *path, const char *text, size_t size,
                            ta_event *event) {
  char *exact = malloc(size > 0 ? size : 1); /* reading past the end is noticed */
  if (exact == NULL) fail_msg("out of memory");
  memcpy(exact, text, size);
  ta_diagnostics_clear(&diagnostics);
  const ta_status status = ta_event_read_part_bytes(part, path, exact, size, event, &diagnostics);
  free(exact);
  return status;
}

static void read_good(const char *part, const char *path, const char *text, ta_event *event) {
  if (read_sized(part, path, text, strlen(text), event) == TA_OK) return;
  show();
  fail_msg("a sound table is refused");
}

/* ---- the same as YAML ---- */

static const char COURSE_YAML[] =
    "columns: {distance: km, elevation: m, mark: text}\n"
    "rows:\n"
    "  - [0.31, 1463.04, Start]\n"
    "  - [15.9325056, 2706.624, \"Long, \\\"Bend\\\"\"]\n"
    "  - [20.1, 2911, \"~\"]\n"
    "  - [34.1, 4114.8, ~]\n";

static void same_course(const char *row, const ta_course *got, const ta_course *want,
                        double tolerance) {
  int bad = 0;
  assert_int_equal(got->count, want->count);
  for (size_t i = 0; i < want->count; i++) {
    const char *mark = want->point[i].mark;
    bad += off_rel(row, "distance", got->point[i].distance_m, want->point[i].distance_m, tolerance);
    bad +=
        off_rel(row, "elevation", got->point[i].elevation_m, want->point[i].elevation_m, tolerance);
    assert_true((mark == NULL) == (got->point[i].mark == NULL));
    if (mark != NULL) assert_string_equal(got->point[i].mark, mark);
  }
  assert_int_equal(bad, 0);
}

static void a_course_is_that_of_yaml(void **state) {
  (void)state;
  static const char *const tables[] = {
      "distance (km),elevation (m),mark\n0.31,1463.04,Start\n"
      "15.9325056,2706.624,\"Long, \"\"Bend\"\"\"\n20.1,2911,~\n34.1,4114.8,\n",
      "\xef\xbb\xbf# from the organisers: by post\r\n\r\nmark;elevation (m);distance (km)\r\n"
      "Start;1463.04;0.31\r\n\"Long, \"\"Bend\"\"\";2706.624;15.9325056\r\n# a comment\r\n"
      "~;2911;20.1\r\n;4114.8;34.1\r\n",
      "distance (m)\televation (m)\tmark\n310\t1463.04\tStart\n"
      "15932.5056\t2706.624\t\"Long, \"\"Bend\"\"\"\n20100\t2911\t~\n34100\t4114.8\t\n",
  };
  ta_event yaml, csv;
  read_good("course", "road.yaml", COURSE_YAML, &yaml);
  for (size_t i = 0; i < COUNT_OF(tables); i++) {
    read_good("course", i == 1 ? "ROAD.CSV" : "road.csv", tables[i], &csv);
    same_course("course", &csv.course, &yaml.course, 1e-15);
    assert_false(csv.has_course_smoothing);
    ta_event_free(&csv);
  }
  ta_event_free(&yaml);
}

static void keys_stand_in_comment_lines(void **state) {
  (void)state;
  ta_event event;
  read_good("course", "road.csv",
            "# Tour of the valley. Smoothing: none\n#smoothing: 90 m\n"
            "distance (km),elevation (m)\n1,1000\n2,1050\n# smoothing: 3 m\n3,1060\n",
            &event);
  assert_true(event.has_course_smoothing && event.course_smoothing_m == 90.0);
  ta_event_free(&event);
}

static const char COMPRESSOR_YAML[] =
    "compressor: made up\n"
    "exducer_diameter: 66.04 mm\n"
    "reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n"
    "columns: {flow: kg/s, pressure_ratio: 1, efficiency: '%'}\n"
    "lines:\n"
    "  - {speed: 90000 rpm, rows: [[0.08, 1.62, 68], [0.14, 1.58, 75], [0.20, 1.45, 70]]}\n"
    "  - {speed: 120000 rpm, rows: [[0.13, 2.35, 69], [0.20, 2.28, 76], [0.275, 2.03, 70]]}\n"
    "  - {speed: 150000 rpm, rows: [[0.20, 3.4, 69], [0.27, 3.3, 75], [0.345, 2.9, 70]]}\n";

#define KEYS                                                      \
  "# compressor: made up\n"                                       \
  "# a comment that is no key\n"                                  \
  "#    reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n" \
  "#exducer_diameter: 66.04 mm\n"
#define LINE_1 "90000,0.08,1.62,68\n90000,0.14,1.58,75\n90000,0.20,1.45,70\n"
#define LINE_2 "120000,0.13,2.35,69\n120000,0.20,2.28,76\n120000,0.275,2.03,70\n"
#define LINE_3 "150000,0.20,3.4,69\n150000,0.27,3.3,75\n150000,0.345,2.9,70\n"
#define COMPRESSOR \
  KEYS "speed (rpm),flow (kg/s),pressure_ratio,efficiency (%)\n" LINE_1 LINE_2 LINE_3

static void a_compressor_map_is_that_of_yaml(void **state) {
  (void)state;
  static const char in_other_units[] = KEYS
      "efficiency,speed (kHz),pressure_ratio (1),flow (g/s)\n"
      "0.68,1.5,1.62,80\n0.75,1.5,1.58,140\n0.70,1.5,1.45,200\n"
      "0.69,2,2.35,130\n0.76,2,2.28,200\n0.70,2,2.03,275\n"
      "0.69,2.5,3.4,200\n0.75,2.5,3.3,270\n0.70,2.5,2.9,345\n";
  static const char *const tables[] = {COMPRESSOR, in_other_units};
  ta_event yaml, csv;
  read_good("car.turbo.compressor", "map.yaml", COMPRESSOR_YAML, &yaml);
  const ta_compressor *want = &yaml.car.turbo.compressor;
  int bad = 0;
  for (size_t k = 0; k < COUNT_OF(tables); k++) {
    read_good("car.turbo.compressor", "map.csv", tables[k], &csv);
    const ta_compressor *got = &csv.car.turbo.compressor;
    assert_string_equal(got->name, want->name);
    assert_true(got->has_exducer);
    assert_int_equal(got->line_count, want->line_count);
    bad += off_rel("csv", "D", got->exducer_m, want->exducer_m, 1e-15);
    bad += off_rel("csv", "p", got->reference.pressure_pa, want->reference.pressure_pa, 1e-15);
    bad += off_rel("csv", "T", got->reference.temperature_k, want->reference.temperature_k, 1e-15);
    for (size_t i = 0; i < want->line_count; i++) {
      assert_int_equal(got->line[i].point_count, want->line[i].point_count);
      bad += off_rel("csv", "Nc", got->line[i].corrected_rpm, want->line[i].corrected_rpm, 1e-15);
      for (size_t j = 0; j < want->line[i].point_count; j++) {
        const ta_map_point *a = &got->line[i].point[j], *b = &want->line[i].point[j];
        bad += off_rel("csv", "Wc", a->flow_kg_s, b->flow_kg_s, 1e-15);
        bad += off_rel("csv", "PR", a->pressure_ratio, b->pressure_ratio, 1e-15);
        bad += off_rel("csv", "eta", a->efficiency, b->efficiency, 1e-15);
      }
    }
    ta_event_free(&csv);
  }
  ta_event_free(&yaml);
  assert_int_equal(bad, 0);
}

static void lines_may_be_marked_with_tip_speeds(void **state) {
  (void)state;
  ta_event event;
  read_good("car.turbo.compressor", "map.csv",
            KEYS
            "speed (m/s),flow (kg/s),pressure_ratio,efficiency\n"
            "311,0.08,1.62,0.68\n311,0.14,1.58,0.75\n311,0.20,1.45,0.7\n"
            "415,0.13,2.35,0.69\n415,0.20,2.28,0.76\n415,0.275,2.03,0.7\n",
            &event);
  const ta_compressor *map = &event.car.turbo.compressor;
  assert_int_equal(off_rel("csv", "Nc", map->line[1].corrected_rpm, /* n = 60 u/(pi D) */
                           60 * 415 / (3.14159265358979324 * 0.06604), 1e-12),
                   0);
  ta_event_free(&event);
}

/* What `thinair course FILE --csv` prints is read again as the same course. */
static void a_course_that_was_written_is_read_again(void **state) {
  (void)state;
  static const ta_unit_system systems[] = {TA_METRIC, TA_US};
  ta_event event, again;
  read_good("course", "road.yaml", COURSE_YAML, &event);
  for (size_t i = 0; i < COUNT_OF(systems); i++) {
    const ta_style style = {TA_FORMAT_CSV, systems[i], false, "0"};
    ta_buffer out = {0};
    ta_diagnostics_clear(&diagnostics);
    ta_report_course(&event, &diagnostics, &style, &out);
    assert_false(out.failed);
    if (systems[i] == TA_METRIC)
      assert_int_equal(strncmp(out.text, "distance (km),elevation (m),mark\n", 33), 0);
    read_good("course", "again.csv", out.text, &again);
    same_course("again", &again.course, &event.course, 1e-11);
    ta_event_free(&again);
    ta_buffer_free(&out);
  }
  ta_event_free(&event);
}

/* ---- errors ---- */

typedef struct {
  const char *row, *text;
  int line, column;
  const char *key, *phrase;
  size_t errors; /* 0 stands for 1 */
} slip;

static int check_slip(const char *part, const slip *s, size_t size) {
  static const ta_event nothing;
  ta_event event;
  const ta_status status = read_sized(part, "table.csv", s->text, size, &event);
  const ta_diagnostic *item = &diagnostics.item[0];
  while (item->severity != TA_ERROR && item < &diagnostics.item[diagnostics.count]) item++;
  if (status == TA_ERR_INPUT && diagnostics.errors == (s->errors > 0 ? s->errors : 1) &&
      memcmp(&event, &nothing, sizeof event) == 0 && item->place.line == s->line &&
      item->place.column == s->column && strcmp(item->place.file, "table.csv") == 0 &&
      strcmp(item->key, s->key) == 0 && strstr(item->text, s->phrase) != NULL)
    return 0;
  print_error("%s: %s, %zu errors, want %d:%d %s\n", s->row, ta_status_name(status),
              diagnostics.errors, s->line, s->column, s->key);
  show();
  ta_event_free(&event);
  return 1;
}

static void one_slip_of_a_course_is_told_at_its_place(void **state) {
  (void)state;
#define HEAD "distance (km),elevation (m),mark\n"
#define REST "4,1100,\n5,1200,\n"
  static const slip slips[] = {
      {"empty", "", 1, 1, "course", "there is no header row", 0},
      {"blank", "\n \n", 1, 1, "course", "there is no header row", 0},
      {"comments alone", "# a\n", 1, 1, "course", "there is no header row", 0},
      {"header alone", HEAD, 1, 1, "course.rows", "two points", 0},
      {"one row", HEAD "1,1000,\n", 1, 1, "course.rows", "two points", 0},
      {"unknown column", "distance (km),height (m),elevation (m)\n1,2,3\n2,3,4\n", 1, 15,
       "course.columns",
       "no such column: \"height\"; taken: distance, "
       "elevation, corner_radius, speed_limit, mark",
       0},
      {"missing column", "distance (km),mark\n1,a\n2,b\n", 1, 1, "course.columns",
       "the column elevation is missing", 0},
      {"doubled column", "distance (km),elevation (m),distance (m)\n1,2,3\n2,3,4\n", 1, 29,
       "course.columns", "the column distance stands here twice", 0},
      {"a cell without a name", "distance (km),elevation (m),\n1,2,\n2,3,\n", 1, 29,
       "course.columns", "no such column", 0},
      {"wrong unit", "distance (km),elevation (bar)\n1,2\n2,3\n", 1, 15, "course.columns",
       "found \"bar\"; the column elevation takes: mm, cm, m", 0},
      {"no unit", "distance,elevation (m)\n1,2\n2,3\n", 1, 1, "course.columns",
       "found nothing; the column distance takes: mm, cm, m", 0},
      {"a mark with a unit", "distance (km),elevation (m),mark (m)\n1,2,a\n2,3,b\n", 1, 29,
       "course.columns", "the column mark takes: text", 0},
      {"a cell too few", HEAD "1,1000,\n2,1010\n" REST, 3, 1, "course.rows",
       "the row has 2 cells, and the header has 3", 0},
      {"a cell too many", HEAD "1,1000,\n 2,1010,a,b\n" REST, 3, 2, "course.rows",
       "the row has 4 cells, and the header has 3", 0},
      {"rows and cells", HEAD "1,1000,\n2\n3,1k,\n" REST, 3, 1, "course.rows",
       "the row has 1 cells", 2},
      {"a word for a number", HEAD "1,1000,\n2, high,\n" REST, 3, 4, "course.rows[1].elevation",
       "found \"high\"; a bare number is taken here", 0},
      {"a unit in a cell", HEAD "1,1000,\n2 km,1010,\n" REST, 3, 1, "course.rows[1].distance",
       "its unit stands in `columns`", 0},
      {"an empty cell", HEAD "1,1000,\n2,,\n" REST, 3, 3, "course.rows[1].elevation",
       "found nothing", 0},
      {"behind characters",
       "mark,distance (km),elevation (m)\nZ\xc3\xbcrich,1,1000\n"
       "\"\xe2\x9b\xb0, \"\"b\"\"\",2,x\nc,3,1020\n",
       3, 14, "course.rows[1].elevation", "found \"x\"", 0},
      {"behind a line end in quotes",
       "mark,distance (km),elevation (m)\n\"a\nb\",1,1000\n"
       "b,2,x\nc,3,1020\n",
       2, 1, "course.rows[0].mark", "control character", 2},
      {"out of range", HEAD "1,1000,\n2,29035,\n" REST, 3, 3, "course.rows[1].elevation",
       "taken: -500 to 6500 m", 0},
      {"going back", HEAD "1,1000,\n0.5,1010,\n" REST, 3, 1, "course.rows[1].distance",
       "distance must rise", 0},
      {"decimal commas", "distance (km);elevation (m)\n0;1000\n1,5;1002\n2;1003\n", 3, 1,
       "course.rows[1].distance",
       "found \"1,5\"; a bare number is taken here, with a point for the", 0},
      {"commas in thousands", HEAD "1,1000,\n2,\"1,010\",\n" REST, 3, 3, "course.rows[1].elevation",
       "with a point for the decimal mark and no other marks", 0},
      {"an open quote", HEAD "1,1000,\n2,1010,\"a\n3,1020\n", 3, 8, "course", "never closed", 0},
      {"text behind a quote", HEAD "1,1000,\"a\"b\n", 2, 8, "course", "text follows", 0},
      {"Latin-1", HEAD "1,1000,a\n2,1010,Z\xfcrich\n", 3, 9, "course", "not UTF-8", 0},
      {"UTF-8 cut short", HEAD "1,1000,\xe2\x9b", 2, 8, "course", "not UTF-8", 0},
      {"an overlong zero", HEAD "1,1000,\xc0\x80\n", 2, 8, "course", "not UTF-8", 0},
      {"a surplus byte", HEAD "1,1000,\x80\n", 2, 8, "course", "not UTF-8", 0},
      {"UTF-16",
       "\xff\xfe"
       "d",
       1, 1, "course", "not UTF-8", 0},
      {"unknown key", "# Tour\n#  smothing: 50 m\n" HEAD "1,1000,\n" REST, 2, 4, "course",
       "no such key: \"smothing\"; taken: smoothing, columns, rows", 0},
      {"a bad value of a key", "\xef\xbb\xbf#  smoothing: 50\n" HEAD "1,1000,\n" REST, 1, 15,
       "course.smoothing", "has no unit", 0},
      {"a line end of YAML in a key",
       "# smoothing: 5\r x\n# smothing: \xe2\x80\xa8 x\n" HEAD "1,1000,\n" REST, 1, 14,
       "course.smoothing", "has no unit", 2},
      {"rows twice", "# rows: [[1, 2, x]]\n" HEAD "1,1000,\n" REST, 2, 1, "course.rows",
       "stands here twice", 0},
      {"a key that is no YAML", "# Tour\n# smoothing: [\n" HEAD "1,1000,\n" REST, 3, 1, "course",
       "", 0},
      {"a control character in a key", "# smoothing: 5\x01 m\n" HEAD REST, 1, 15, "course",
       "not YAML text: control characters", 0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++)
    bad += check_slip("course", &slips[i], strlen(slips[i].text));
  static const char zero[] = HEAD "1,1000,a\0b\n" REST;
  const slip nul = {"a zero byte", zero, 2, 9, "course", "a zero byte stands here", 0};
  bad += check_slip("course", &nul, sizeof zero - 1);
  assert_int_equal(bad, 0);
}

static void one_slip_of_a_compressor_map_is_told_at_its_place(void **state) {
  (void)state;
#define MAP "car.turbo.compressor"
#define TITLES "speed (rpm),flow (kg/s),pressure_ratio,efficiency (%)\n"
#define BARE "efficiency (%)\n" LINE_1 LINE_2 LINE_3
  static const slip slips[] = {
      {"no reference", "# compressor: x\n" TITLES LINE_1 LINE_2, 1, 3, MAP ".reference",
       "96.17 kPa with 302.6 K", 0},
      {"no keys at all", TITLES LINE_1 LINE_2, 1, 1, MAP ".compressor", "missing", 2},
      {"no speed", KEYS "flow (kg/s),pressure_ratio,efficiency\n0.1,1.5,0.7\n", 5, 1,
       MAP ".columns", "the column speed is missing: corrected speed", 0},
      {"two speeds", KEYS "speed (rpm),flow (kg/s),speed (rpm),pressure_ratio\n1,1,1,1\n", 5, 25,
       MAP ".columns", "the column speed stands here twice", 0},
      {"speed without a unit", KEYS "speed,flow (kg/s),pressure_ratio," BARE, 5, 1, MAP ".columns",
       "found no unit; the column speed takes: rpm, Hz, kHz", 0},
      {"speed in another unit", KEYS "speed (psi),flow (kg/s),pressure_ratio," BARE, 5, 1,
       MAP ".columns", "found \"psi\"; the column speed takes: rpm, Hz, kHz", 0},
      {"a speed parameter", KEYS "speed (rpm/sqrt(K)),flow (kg/s),pressure_ratio," BARE, 5, 1,
       MAP ".columns", "times the square root of the reference temperature", 0},
      {"a flow parameter", KEYS "speed (rpm),flow (kg/s*sqrt(K)/kPa),pressure_ratio," BARE, 5, 13,
       MAP ".columns", "times the reference pressure over the square root", 0},
      {"a word for a speed", KEYS TITLES "slow,0.08,1.62,68\n" LINE_2 LINE_3, 6, 1,
       MAP ".lines[0].speed", "does not begin with a plain number", 0},
      {"a word for a flow",
       KEYS TITLES LINE_1 "120000,0.13,2.35,69\n120000,?,2.28,76\n"
                          "120000,0.275,2.03,70\n" LINE_3,
       10, 8, MAP ".lines[1].rows[1].flow", "found \"?\"", 0},
      {"no efficiency at one",
       KEYS TITLES LINE_1 "120000,0.13,2.35,69\n120000,0.20,2.28,\n"
                          "120000,0.275,2.03,70\n" LINE_3,
       10, 18, MAP ".lines[1].rows[1].efficiency", "found nothing; without islands", 0},
      {"no efficiency",
       KEYS "speed (rpm),flow (kg/s),pressure_ratio\n90000,0.08,1.62\n"
            "90000,0.14,1.58\n90000,0.2,1.4\n120000,0.13,2.35\n120000,0.2,2.28\n120000,0.28,2\n",
       5, 1, MAP ".lines", "points have no efficiency", 0},
      {"a row too short", KEYS TITLES LINE_1 LINE_2 LINE_3 "150000\n", 15, 1, MAP ".lines",
       "the row has 1 cells, and the header has 4", 0},
      {"a line in two runs", KEYS TITLES LINE_1 LINE_2 "90000,0.22,1.3,60\n" LINE_3, 12, 1,
       MAP ".lines", "the rows of speed 90000 stand apart: others begin at line 6", 0},
      {"sorted by flow",
       KEYS TITLES "90000,0.08,1.62,68\n120000,0.13,2.35,69\n90000,0.14,1.58,75\n"
                   "90000,0.2,1.45,70\n120000,0.2,2.28,76\n",
       8, 1, MAP ".lines", "stand apart", 0},
      {"from the fastest", KEYS TITLES LINE_2 LINE_1, 9, 1, MAP ".lines[1]",
       "line 2 (90000 rpm) is not faster than line 1", 0},
      {"from choke",
       KEYS TITLES LINE_1 "120000,0.275,2.03,70\n120000,0.20,2.28,76\n"
                          "120000,0.13,2.35,69\n",
       9, 1, MAP ".lines[1]", "runs from choke to surge", 0},
      {"one line", KEYS TITLES LINE_1, 5, 1, MAP ".lines", "two or more", 0},
      {"no rows", KEYS TITLES, 5, 1, MAP ".lines", "an empty list", 0},
      {"two points", KEYS TITLES LINE_1 "120000,0.13,2.35,69\n120000,0.20,2.28,76\n", 9, 1,
       MAP ".lines[1]", "2 points; a speed line takes three or more", 0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++)
    bad += check_slip(MAP, &slips[i], strlen(slips[i].text));
  assert_int_equal(bad, 0);
}

/* ---- size ---- */

static double seconds(void) {
  return (double)clock() / CLOCKS_PER_SEC;
}

static char *pile(const char *before, const char *unit, size_t count) {
  const size_t n = strlen(unit), start = strlen(before);
  char *text = malloc(start + n * count + 1);
  if (text == NULL) fail_msg("out of memory");
  memcpy(text, before, start);
  for (size_t i = 0; i < count; i++) memcpy(text + start + i * n, unit, n);
  text[start + n * count] = '\0';
  return text;
}

static void nothing_takes_long(void **state) {
  (void)state;
  enum { MILLION = 1000000 };
  const struct {
    const char *row, *part;
    char *text;
    const char *phrase;
  } rows[] = {
      {"rows", "course", pile("distance (km),elevation (m)\n", "1,2\n", MILLION), "must rise"},
      {"short rows", "course", pile("distance (km),elevation (m)\n", "1\n", MILLION),
       "has 1 cells"},
      {"words", "course", pile("distance (km),elevation (m)\n", "a,b\n", MILLION / 4),
       "found \"a\""},
      {"a long cell", "course", pile("distance (km),elevation (m)\n1,", "7", 10 * MILLION),
       "found \"777"},
      {"a long mark", "course",
       pile("distance (km),elevation (m),mark\n1,2,", "\xc3\xbc", 5 * MILLION),
       "10000000 bytes long"},
      {"a long heading", "course", pile("", "x", 10 * MILLION), "no such column"},
      {"a long unit", "course", pile("distance (", "(", 10 * MILLION), "no such column"},
      {"quotes", "course", pile("a\n\"", "\"\"", 5 * MILLION), "never closed"},
      {"commas", "course", pile("", ",", 10 * MILLION), "more than 64 cells"},
      {"line ends", "course", pile("", "\n", 10 * MILLION), "no header row"},
      {"comments", "course", pile("", "# a\n", 2 * MILLION), "no header row"},
      {"keys", "course", pile("", "# a: b\n", MILLION / 10), "no header row"},
      {"many lines", "car.turbo.compressor",
       pile("speed (rpm),flow (kg/s),pressure_ratio\n", "1,1,1\n2,1,1\n", MILLION / 4),
       "stand apart"},
      {"one line", "car.turbo.compressor",
       pile("speed (rpm),flow (kg/s),pressure_ratio\n", "10000,1,2\n", MILLION / 4), ""},
      {"a long speed", "car.turbo.compressor",
       pile("speed (rpm),flow (kg/s),pressure_ratio\n", "9", 10 * MILLION), "has 1 cells"},
      {"a long speed in its row", "car.turbo.compressor",
       pile("flow (kg/s),pressure_ratio,speed (rpm)\n1,2,", "\xc3\xbc", 5 * MILLION), ""},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event;
    const double start = seconds();
    ta_diagnostics_clear(&diagnostics);
    const ta_status status = ta_event_read_part_bytes(rows[i].part, "table.csv", rows[i].text,
                                                      strlen(rows[i].text), &event, &diagnostics);
    const double took = seconds() - start;
    free(rows[i].text);
    if (getenv("SHOW_TIMES") != NULL) print_message("%-30s %.3f s\n", rows[i].row, took);
    bool told = false;
    for (size_t k = 0; k < diagnostics.count; k++)
      told |= strstr(diagnostics.item[k].text, rows[i].phrase) != NULL &&
              diagnostics.item[k].place.line > 0;
    if (status == TA_ERR_INPUT && told && took <= LONGEST_S) continue;
    print_error("%s: %s, %zu errors, %.2f s\n", rows[i].row, ta_status_name(status),
                diagnostics.errors, took);
    if (diagnostics.count > 2) diagnostics.count = 2;
    show();
    ta_event_free(&event);
    bad++;
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_course_is_that_of_yaml),
      cmocka_unit_test(keys_stand_in_comment_lines),
      cmocka_unit_test(a_compressor_map_is_that_of_yaml),
      cmocka_unit_test(lines_may_be_marked_with_tip_speeds),
      cmocka_unit_test(a_course_that_was_written_is_read_again),
      cmocka_unit_test(one_slip_of_a_course_is_told_at_its_place),
      cmocka_unit_test(one_slip_of_a_compressor_map_is_told_at_its_place),
      cmocka_unit_test(nothing_takes_long),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
