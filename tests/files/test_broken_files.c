/* test_broken_files.c - one slip, one error, at its exact place; and nothing takes long.
 *
 * Each row changes one thing of a sound event.  `at` is the text at whose first byte the error must
 * be placed, `also` the other end of a relation. */
#define _POSIX_C_SOURCE 200809L /* mkdtemp, mkfifo */
#include <gsl/gsl_errno.h>
#include <stdbool.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "../test.h"
#include "thinair/event_reader.h"
#include "whole_event.h"

static const char PATH[] = "/nonexistent/event.yaml";
static const double LONGEST_S = 1.0; /* with sanitizers */
static ta_diagnostics diagnostics;

static double seconds(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Line and column of the first byte of a piece of a text. */
static bool find(const char *text, const char *piece, ta_place *place) {
  const char *at = strstr(text, piece);
  if (at == NULL) return false;
  place->line = place->column = 1;
  for (const char *c = text; c < at; c++) {
    place->column++;
    if (*c == '\n') place->line++, place->column = 1;
  }
  return true;
}

static ta_status read_bytes(const char *bytes, size_t size, ta_event *event) {
  memset(event, 0x5a, sizeof *event);
  ta_diagnostics_clear(&diagnostics);
  return ta_event_read_bytes(PATH, bytes, size, NULL, 0, event, &diagnostics);
}

static bool is_zero(const ta_event *event) {
  static const ta_event nothing;
  return memcmp(event, &nothing, sizeof nothing) == 0;
}

/* The first error that was raised; the list holds warnings too. */
static const ta_diagnostic *first_error(void) {
  for (size_t i = 0; i < diagnostics.count; i++)
    if (diagnostics.item[i].severity == TA_ERROR) return &diagnostics.item[i];
  fail_msg("no error in the list");
  return NULL;
}

static int wrong_place(const char *row, const char *what, const ta_place *got, const char *file,
                       const ta_place *want) {
  if (strcmp(got->file, file) == 0 && got->line == want->line && got->column == want->column)
    return 0;
  print_error("%s: %s is %s:%d:%d, want %s:%d:%d\n", row, what, got->file, got->line, got->column,
              file, want->line, want->column);
  return 1;
}

static void show_errors(void) {
  for (size_t i = 0; i < diagnostics.count; i++)
    if (diagnostics.item[i].severity == TA_ERROR)
      print_error("    %d:%d: %s: %s\n", diagnostics.item[i].place.line,
                  diagnostics.item[i].place.column, diagnostics.item[i].key,
                  diagnostics.item[i].text);
}

typedef struct {
  const char *row, *old, *with; /* the change */
  const char *at, *also;        /* NULL: no relation */
  const char *key, *phrase;
  size_t errors; /* 0 stands for 1 */
} slip;

/* The change is made to `whole`. */
static int check_slip(const char *whole, const slip *s) {
  ta_event event;
  ta_place at = {"", 0, 0}, also = {"", 0, 0};
  char *text = replaced(whole, s->old, s->with);
  const double start = seconds();
  const ta_status status = read_bytes(text, strlen(text), &event);
  const double took = seconds() - start;
  int bad = 0;
  if (!find(text, s->at, &at) || (s->also != NULL && !find(text, s->also, &also)))
    fail_msg("%s: its place is not in the text", s->row);
  free(text);
  if (status != TA_ERR_INPUT || diagnostics.errors != (s->errors > 0 ? s->errors : 1) ||
      !is_zero(&event)) {
    print_error("%s: %s with %zu errors%s\n", s->row, ta_status_name(status), diagnostics.errors,
                is_zero(&event) ? "" : ", and something is left");
    show_errors();
    ta_event_free(&event);
    return 1;
  }
  const ta_diagnostic *item = first_error();
  bad += wrong_place(s->row, "the place", &item->place, PATH, &at);
  if (s->also != NULL) bad += wrong_place(s->row, "the other place", &item->also, PATH, &also);
  if (s->also == NULL && item->also_key[0] != '\0') bad++;
  if (strcmp(item->key, s->key) != 0 || strstr(item->text, s->phrase) == NULL) bad++;
  if (took > LONGEST_S) bad++;
  if (bad > 0)
    print_error("%s: key \"%s\", text \"%s\", also \"%s\", %.2f s\n", s->row, item->key, item->text,
                item->also_key, took);
  return bad;
}

static void one_slip_gives_one_error_at_its_place(void **state) {
  (void)state;
  static const slip slips[] = {
      /* units */
      {"unknown unit", "1999.221808 cc", "1999.221808 ccm", "1999.221808 ccm", NULL,
       "car.engine.displacement", "unknown unit", 0},
      {"unit of another kind", "1999.221808 cc", "1999 hPa", "1999 hPa", NULL,
       "car.engine.displacement", "is a pressure, not a volume", 0},
      {"missing unit", "7620 rpm", "7621", "7621", NULL, "car.engine.redline", "has no unit", 0},
      {"unit in the wrong case", "6 K\n", "6 k\n", "6 k\n", NULL, "car.intake.temperature_rise",
       "did you mean K?", 0},
      {"psig for a MAP", "boost: 1.1 bar", "map: 22 psig", "22 psig", NULL, "goal.map",
       "gauge pressure, not an absolute pressure", 0},
      {"psia for a boost", "boost: 1.1 bar", "boost: 34 psia", "34 psia", NULL, "goal.boost",
       "absolute pressure, not a gauge pressure", 0},
      {"bare number with a unit", "air_fuel_ratio: 11.8", "air_fuel_ratio: 11.8 kg", "11.8 kg",
       NULL, "car.engine.air_fuel_ratio", "bare number", 0},
      {"column without a unit", "elevation: m,", "elevation: ,", ", mark: text", NULL,
       "course.columns", "elevation takes: mm, cm, m", 0},
      {"column unit of another kind", "elevation: m,", "elevation: psi,", "psi,", NULL,
       "course.columns", "elevation takes: mm, cm, m", 0},
      {"text column with a unit", "mark: text", "mark: m", "m}", NULL, "course.columns",
       "the column mark takes: text", 0},
      /* numbers */
      {"NaN", "redline: 7620 rpm", "redline: nan rpm", "nan rpm", NULL, "car.engine.redline",
       "does not begin with a plain number", 0},
      {"inf", "redline: 7620 rpm", "redline: .inf rpm", ".inf rpm", NULL, "car.engine.redline",
       "does not begin with a plain number", 0},
      {"hexadecimal", "redline: 7620 rpm", "redline: 0x1dc4 rpm", "0x1dc4 rpm", NULL,
       "car.engine.redline", "does not begin with a plain number", 0},
      {"too large", "redline: 7620 rpm", "redline: 1e999 rpm", "1e999 rpm", NULL,
       "car.engine.redline", "too large", 0},
      {"comma for the decimal mark", "6 K\n", "6,5 K\n", "6,5 K\n", NULL,
       "car.intake.temperature_rise", "one plain number", 0},
      {"NaN in a cell", "1.45, 0.70", "1.45, nan", "nan", NULL,
       "car.turbo.compressor.lines[0].rows[2].efficiency", "a bare number is taken here", 0},
      {"unit in a cell", "[15.9325056,", "[15.9 km,", "15.9 km", NULL, "course.rows[1].distance",
       "its unit stands in `columns`", 0},
      {"list in a cell", "Long Bend", "[a, b]", "[a, b]", NULL, "course.rows[1].mark",
       "found a list; a text is taken", 0},
      {"empty cell", "1.45, 0.70", "1.45, ~", "~], [0.24", NULL,
       "car.turbo.compressor.lines[0].rows[2].efficiency", "found nothing", 0},
      /* keys */
      {"missing key", "    bsfc: 310.25 g/kWh\n", "", "displacement", NULL, "car.engine.bsfc",
       "missing: brake specific fuel consumption", 0},
      {"missing key of a list's element", "elevation: 4114.8 m, ", "", "{temperature: -1", NULL,
       "day.stations[1].elevation", "missing: above sea level", 0},
      {"missing group", "  control: {holds: absolute, overshoot: 4.8 kPa}\n", "",
       "car: one that was made up", NULL, "car.control", "it holds holds, overshoot", 0},
      {"no reference", "      reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n", "",
       "compressor: made up too", NULL, "car.turbo.compressor.reference", "96.17 kPa with 302.6 K",
       0},
      {"no columns", "      columns: {engine_speed: rpm, ve: 1}\n", "", "rows: [[2040", NULL,
       "car.engine.volumetric_efficiency.columns", "missing: column names", 0},
      {"no columns for a goal", "  boost: 1.1 bar\n", "  rows: [[3000, 190]]\n", "rows: [[3000",
       NULL, "goal.columns", "missing: column names", 0},
      {"rows without columns beside a MAP", "  boost: 1.1 bar\n",
       "  map: 2 bar\n  rows: [[3000, 190]]\n", "map: 2 bar", NULL, "goal.columns",
       "missing: column names", 0},
      {"missing column", "{distance: km, elevation: m, mark: text}", "{distance: km, mark: text}",
       "{distance: km, mark", NULL, "course.columns", "the column elevation is missing", 0},
      {"doubled column", "{engine_speed: rpm, ve: 1}", "{engine_speed: rpm, ve: 1, ve: 1}",
       "ve: 1}", NULL, "car.engine.volumetric_efficiency.columns", "stands here twice", 0},
      {"unknown column", "mark: text", "marks: text", "marks: text", NULL, "course.columns",
       "no such column: \"marks\"; taken: distance, elevation, corner_radius, speed_limit, mark",
       0},
      {"doubled key", "    redline: 7620 rpm\n", "    redline: 7620 rpm\n    \"redline\": 7 kHz\n",
       "\"redline\"", NULL, "car.engine.redline", "stands here twice", 0},
      {"unknown key", "    redline: 7620 rpm\n", "    redlime: 7620 rpm\n", "redlime", NULL,
       "car.engine", "no such key: \"redlime\"; taken: displacement, cycle,", 0},
      {"merge key", "    redline: 7620 rpm\n", "    <<: {redline: 7620 rpm}\n", "<<", NULL,
       "car.engine", "no such key", 0},
      {"a list for a key", "    redline: 7620 rpm\n", "    ? [redline]\n    : 7620 rpm\n",
       "[redline]", NULL, "car.engine", "no such key: a list", 0},
      {"nothing after the colon", "redline: 7620 rpm", "redline: #", " #", NULL,
       "car.engine.redline", "found nothing; highest engine speed, taken: rpm, Hz, kHz", 0},
      {"unknown word", "four-stroke", "six-stroke", "six-stroke", NULL, "car.engine.cycle",
       "taken: four-stroke, two-stroke, rotary", 0},
      {"a word for a quantity", "coolant: 40 degC", "coolant: water", "water", NULL,
       "car.charge_cooler.coolant", "or the word ambient", 0},
      /* shapes */
      {"a list for a mapping", "{holds: absolute, overshoot: 4.8 kPa}", "[absolute, 4.8 kPa]",
       "[absolute", NULL, "car.control", "found a list; a group of keys is taken: holds", 0},
      {"a number for a mapping", "{holds: absolute, overshoot: 4.8 kPa}", "4.8 kPa",
       "4.8 kPa\n  turbo", NULL, "car.control",
       "found \"4.8 kPa\"; a group of keys is taken: holds", 0},
      {"a mapping for a number", "1999.221808 cc", "{cc: 1999}", "{cc: 1999}", NULL,
       "car.engine.displacement", "found a group of keys; swept volume", 0},
      {"a mapping for a list", "[[2040, 0.86], [6000, 1.01], [7620, 0.93]]", "{2040: 0.86}",
       "{2040", NULL, "car.engine.volumetric_efficiency.rows", "found a group of keys; taken: [[",
       0},
      {"a number for a row", "[6000, 1.01]", "6000", "6000, [7620", NULL,
       "car.engine.volumetric_efficiency.rows[1]", "a row is taken", 0},
      {"a cell too many", "[6000, 1.01]", "[6000, 1.01, 3]", "[6000", NULL,
       "car.engine.volumetric_efficiency.rows[1]", "the row has 3 cells, and there are 2 columns",
       0},
      {"a cell too few", "[6000, 1.01]", "[6000]", "[6000", NULL,
       "car.engine.volumetric_efficiency.rows[1]", "the row has 1 cells, and there are 2 columns",
       0},
      {"no rows", "[[2040, 0.86], [6000, 1.01], [7620, 0.93]]", "[]", "[]", NULL,
       "car.engine.volumetric_efficiency.rows", "no rows", 0},
      {"a range of one", "[4500 rpm, 7200 rpm]", "[4500 rpm]", "[4500", NULL,
       "car.engine.boost_window", "taken: [low, high]", 0},
      {"window reversed", "[4500 rpm, 7200 rpm]", "[7200 rpm, 4500 rpm]", "[7200", NULL,
       "car.engine.boost_window", "the first must be below the second", 0},
      {"window without a unit at one end", "[4500 rpm, 7200 rpm]", "[4500 rpm, 7200]", "7200]",
       NULL, "car.engine.boost_window[1]", "has no unit", 0},
      {"control character in a name", "event: made up", "event: \"made \\e[2J up\"", "\"made", NULL,
       "event", "control character", 0},
      {"C1 control character in a name", "Long Bend", "\"Long \\x9b2J\"", "\"Long", NULL,
       "course.rows[1].mark", "control character", 0},
      {"zero byte in a text", "Long Bend", "\"Long\\0Bend\"", "\"Long", NULL, "", "zero byte", 0},
      /* values and relations */
      {"humidity without %", "humidity: 40 %", "humidity: 45", "45}", NULL,
       "day.stations[0].humidity", "taken: 0 to 1, or 0 to 100 %", 0},
      {"efficiency above 1", "2.28, 0.76", "2.28, 1.2", "1.2], [0.275", NULL,
       "car.turbo.compressor.lines[1].rows[1].efficiency", "taken: 0.2 to 0.9", 0},
      {"efficiency without %", "2.28, 0.76", "2.28, 76", "76], [0.275", NULL,
       "car.turbo.compressor.lines[1].rows[1].efficiency", "20 to 90 %", 0},
      {"redline below the window", "7620 rpm", "6900 rpm", "6900 rpm", "7200 rpm]",
       "car.engine.redline", "below the top of the boost window", 0},
      {"a half turbo", "count: 2", "count: 1.5", "1.5\n    imbalance", NULL, "car.turbo.count",
       "no whole number", 0},
      {"a digit too many in the rated speed", "146400 rpm", "1464000 rpm", "1464000 rpm", NULL,
       "car.turbo.rated_speed", "outside what is possible", 0},
      {"a digit too few in the rated speed", "146400 rpm", "14640 rpm", "14640 rpm", "66.04 mm",
       "car.turbo.rated_speed", "is a tip speed of 51 m/s", 0},
      {"distance going back", "[34.1, 4114.8, ~]", "[14.1, 4114.8, ~]", "14.1", "15.9325056",
       "course.rows[2].distance", "distance must rise", 0},
      {"rows shuffled", "[[2040, 0.86], [6000, 1.01], [7620, 0.93]]",
       "[[2040, 0.86], [7620, 0.93], [6000, 1.01]]", "6000", "7620, 0.93",
       "car.engine.volumetric_efficiency.rows[2].engine_speed", "engine speed must rise", 0},
      {"a wall", "15.9325056", "0.9325056", "2706.624", NULL, "course.rows[1].elevation",
       "is a grade of 200 %", 0},
      {"station pressure that is a QNH", "853 hPa", "1018 hPa", "1018 hPa", NULL,
       "day.stations[0].pressure", "looks like an altimeter setting", 0},
      {"QNH that is a station pressure", "1019.3 hPa", "611 hPa", "611 hPa", NULL,
       "day.stations[1].qnh", "", 0},
      {"elevation in km typed as m", "elevation: 1463.04 m", "elevation: 1.463 m", "853 hPa", NULL,
       "day.stations[0].pressure", "standard day", 0},
      {"no pressure", "pressure: 853 hPa, ", "", "{name: paddock", NULL, "day.stations[0].pressure",
       "needs `pressure` or `qnh`", 0},
      {"no stations",
       "    - {name: paddock, elevation: 1463.04 m, temperature: 16 degC, pressure: 853 hPa, "
       "humidity: 40 %}\n    - {elevation: 4114.8 m, temperature: -1 degC, qnh: 1019.3 hPa, "
       "dew_point: -5.5 degC}\n",
       "    []\n", "[]", NULL, "day.stations", "an empty list", 0},
      {"stations and the standard day", "  lapse_rate: 6.1 K/km\n", "  isa: {offset: 3 K}\n",
       "{offset: 3 K}", "- {name: paddock", "day.isa", "both the standard day and stations", 0},
      {"no target", "  boost: 1.1 bar\n", "", "margin: 4 %", NULL, "goal", "there is no target", 0},
      {"two targets", "  boost: 1.1 bar\n", "  boost: 1.1 bar\n  map: 220 kPa\n", "boost: 1.1",
       NULL, "goal", "more than one target", 0},
      {"no goal", "goal:\n" GOAL, "", "event: made up", NULL, "goal", "missing: it holds boost", 0},
      {"a target below ambient", "boost: 1.1 bar", "map: 81 kPa", "81 kPa", NULL, "goal.map",
       "is no boost", 0},
      /* the compressor map */
      {"one speed line", LINE_2 LINE_3, "", "- speed: 90000", NULL, "car.turbo.compressor.lines",
       "1 speed lines; a compressor map takes two or more", 0},
      {"two points", "[0.20, 2.28, 0.76], [0.275, 2.03, 0.70], ", "", "speed: 120000", NULL,
       "car.turbo.compressor.lines[1]", "2 points; a speed line takes three or more", 0},
      {"lines out of order", LINE_2 LINE_3, LINE_3 LINE_2, "speed: 120000", "speed: 150000",
       "car.turbo.compressor.lines[2]", "is not faster than line 2", 0},
      {"a line twice", LINE_3,
       "        - \"speed\": 120000 rpm\n          rows: [[0.20, 3.4, 0.69], [0.27, 3.3, 0.75], "
       "[0.38, 2.1, 0.5]]\n",
       "\"speed\": 120000", "speed: 120000", "car.turbo.compressor.lines[2]",
       "is not faster than line 2", 0},
      {"a point past the next line", "[0.315, 1.54, 0.5]", "[0.40, 1.54, 0.5]", "[0.40, 1.54", NULL,
       "car.turbo.compressor.lines[1].rows[3]", "line 2 point 4 leaves its line", 0},
      {"a point mistyped", "[0.20, 2.28", "[0.10, 2.28", "[0.10, 2.28", NULL,
       "car.turbo.compressor.lines[1].rows[1]", "leaves its line", 0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++) bad += check_slip(WHOLE, &slips[i]);
  assert_int_equal(bad, 0);
}

#define METAR "XXAA 121200Z 22012KT 17/M02 Q1013"

/* A day from a report: what is wrong with it is told at the report. */
static void one_slip_of_a_report_is_told_at_its_place(void **state) {
  (void)state;
  static const slip slips[] = {
      {"no elevation", "  elevation: 1880 m\n", "", "metar:", NULL, "day.elevation",
       "the aerodrome's elevation, with metar", 0},
      {"elevation without a unit", "1880 m", "1880", "1880\n", NULL, "day.elevation", "has no unit",
       0},
      {"no report", "  metar: " METAR "\n", "", "1880 m", NULL, "day.elevation",
       "the elevation of a metar, and there is none", 0},
      {"with stations", "  elevation: 1880 m\n",
       "  elevation: 1880 m\n  stations:\n    - {elevation: 1 km, temperature: 9 degC}\n", "XXAA",
       "- {elevation", "day.metar", "of metar, stations and isa one is taken", 0},
      {"with the standard day", "  elevation: 1880 m\n",
       "  elevation: 1880 m\n  isa: {offset: 1 K}\n", "XXAA", "{offset", "day.metar",
       "of metar, stations and isa one is taken", 0},
      {"no pressure", "Q1013", "Q////", "XXAA", NULL, "day.metar", "the report has no pressure", 0},
      {"another report", METAR, "TAF XXAA 121100Z 1212/1318 24010KT", "TAF", NULL, "day.metar",
       "no temperatures", 0},
      {"a list", METAR, "[XXAA, 121200Z]", "[XXAA", NULL, "day.metar", "a text is taken", 0},
      {"nothing", METAR, "#", " #", NULL, "day.metar", "a text is taken", 0},
      /* what only the column of air notices */
      {"a dew point that no air has", "17/M02", "50/45", "XXAA", NULL, "day.stations[0].dew_point",
       "found 45 degC", 0},
  };
  char *whole = replaced(WHOLE, DAY, "  metar: " METAR "\n  elevation: 1880 m\n");
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++) bad += check_slip(whole, &slips[i]);
  free(whole);
  assert_int_equal(bad, 0);
}

static void one_slip_of_a_printed_map_is_told_at_its_place(void **state) {
  (void)state;
#define MAP "car.turbo.compressor."
  static const slip slips[] = {
      {"no reference", "      reference: {pressure: 96.2 kPa, temperature: 303.15 K}\n", "",
       "compressor: made up too", NULL, MAP "reference", "96.17 kPa with 302.6 K; 100 kPa with", 0},
      {"reference without a pressure", "{pressure: 96.2 kPa, temp", "{temp", "{temperature: 303.15",
       NULL, MAP "reference.pressure", "usual: 96.17 kPa, 100 kPa, 101.325 kPa", 0},
      {"tip speeds without a wheel", "      exducer_diameter: 66.04 mm\n", "", "311 m/s", NULL,
       MAP "lines[0].speed", "exducer_diameter is needed", 3},
      {"tip speeds with a wheel that is wrong", "66.04 mm", "66.04", "66.04\n", NULL,
       MAP "exducer_diameter", "has no unit", 0},
      {"no columns", "      columns: {flow: m3/min, pressure_ratio: 1}\n", "",
       "compressor: made up too", NULL, MAP "columns", "missing: column names", 0},
      {"a flow parameter", "{flow: m3/min,", "{flow: kg/s sqrt(K)/kPa,", "kg/s sqrt", NULL,
       MAP "columns", "times the reference pressure over the square root", 0},
      {"another flow parameter", "{flow: m3/min,", "{flow: kg/s*sqrt(K)/kPa,", "kg/s*sqrt", NULL,
       MAP "columns", "times the reference pressure over the square root", 0},
      {"a flow parameter of an island", "{pressure_ratio: 1, flow: g/s}",
       "{pressure_ratio: 1, flow: g/s sqrt(K)/bar}", "g/s sqrt", NULL, MAP "islands[1].columns",
       "times the reference pressure over the square root", 0},
      {"a speed parameter", "311 m/s", "3000 rpm/sqrt(K)", "3000 rpm/sqrt", NULL,
       MAP "lines[0].speed", "times the square root of the reference temperature", 0},
      {"a length for a speed", "311 m/s", "311 m", "311 m,", NULL, MAP "lines[0].speed", "m/s", 0},
      {"no efficiency at all", "      islands:\n" ISLANDS, "", "- {speed: 311", NULL, MAP "lines",
       "points have no efficiency: a column efficiency, or islands, are taken", 0},
      {"one point of an island", "      islands:\n" ISLANDS,
       "      islands: [{efficiency: 0.7, rows: [[7.4, 1.58]]}]\n", "[{efficiency", NULL,
       MAP "islands", "efficiency is given at 1 points of the map; six or more", 0},
      {"no point of an island", "[[7.4, 1.58], [10.6, 2.28], [14.6, 3.3], [12.3, 2.2]]", "7.4",
       "7.4\n", NULL, MAP "islands[0].rows", "taken: [[", 0},
      {"no islands", "      islands:\n" ISLANDS, "      islands: []\n", "[]", NULL, MAP "islands",
       "an empty list", 0},
      {"efficiency of an island in the wrong unit", "75 %", "75", "75\n", NULL,
       MAP "islands[0].efficiency", "30 to 90 %", 0},
      {"a column that islands have not", "{pressure_ratio: 1, flow: g/s}",
       "{pressure_ratio: 1, flow: g/s, efficiency: 1}", "efficiency: 1}", NULL,
       MAP "islands[1].columns", "no such column: \"efficiency\"", 0},
      {"one point of a surge line", "[[0.0765, 1.63], [0.2, 3.4]]", "[[0.2, 3.4]]", "[[0.2, 3.4]]",
       NULL, MAP "surge_line.rows", "two points or more", 0},
      {"a surge line that falls", "[[0.0765, 1.63], [0.2, 3.4]]", "[[0.0765, 3.4], [0.2, 1.63]]",
       "[0.2, 1.63]", NULL, MAP "surge_line.rows[1]", "must rise", 0},
      {"a surge line without rows", "        rows: [[0.0765, 1.63], [0.2, 3.4]]\n", "",
       "columns: {flow: kg/s", NULL, MAP "surge_line.rows", "missing: points of the surge line", 0},
      {"a pressure ratio below 1", "[10.9, 1.45]", "[10.9, 0.45]", "0.45]", NULL,
       MAP "lines[0].rows[2].pressure_ratio", "taken: 1 to 12", 0},
  };
  char *whole = replaced(WHOLE, COMPRESSOR, PRINTED);
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++) bad += check_slip(whole, &slips[i]);
  free(whole);
  assert_int_equal(bad, 0);
#undef MAP
}

/* Restrictor, controller, sensor, turbine and vehicle. */
#define EIGHT(tens, unit)                                                                   \
  tens "0" unit ", " tens "1" unit ", " tens "2" unit ", " tens "3" unit ", " tens "4" unit \
       ", " tens "5" unit ", " tens "6" unit ", " tens "7" unit
#define THIRTY_TWO(a, b, c, d, unit) \
  EIGHT(a, unit) ", " EIGHT(b, unit) ", " EIGHT(c, unit) ", " EIGHT(d, unit)

static void one_slip_of_what_a_car_may_have_is_told_at_its_place(void **state) {
  (void)state;
#define T "car.turbo.turbine."
  static const slip slips[] = {
      {"a half restrictor", "      count: 2\n", "      count: 1.5\n", "1.5\n", NULL,
       "car.intake.restrictor.count", "1.5 is no whole number of restrictors", 0},
      {"a restrictor without a diameter", "      diameter: 33.02 mm\n", "", "count: 2\n      rec",
       NULL, "car.intake.restrictor.diameter", "missing: diameter of its throat", 0},
      {"a restrictor in metres", "33.02 mm", "33.02 m", "33.02 m\n", NULL,
       "car.intake.restrictor.diameter", "taken: 0.005 to 0.3 m", 0},
      {"half a position", "positions: 5", "positions: 2.5", "2.5\n", NULL, "car.control.positions",
       "2.5 is no whole number of positions", 0},
      {"no controller holds that", "gauge-from-key-on", "gage", "gage", NULL, "car.control.holds",
       "taken: absolute, gauge, gauge-from-key-on", 0},
      {"no controller counts in that", "unit: psi", "unit: inHg", "inHg\n", NULL,
       "car.control.unit", "taken: kPa, mbar, bar, psi", 0},
      {"no controller reads so", "interpolation: step", "interpolation: cubic", "cubic\n", NULL,
       "car.control.interpolation", "taken: linear, step", 0},
      {"breakpoints falling", "85 kPa]", "55 kPa]", "55 kPa]", "60 kPa, 55",
       "car.control.pressure_axis[1]", "breakpoints must rise from one to the next", 0},
      {"two breakpoints alike", "6600 rpm,", "4500 rpm,", "4500 rpm, 7680", "4500 rpm, 4500",
       "car.control.speed_axis[1]", "breakpoints must rise from one to the next", 0},
      {"a breakpoint that no mountain has", "[60 kPa,", "[34 kPa,", "34 kPa,", NULL,
       "car.control.pressure_axis[0]", "taken: 35 to 115 kPa", 0},
      {"a breakpoint in boost", "85 kPa]", "12 psig]", "12 psig]", NULL,
       "car.control.pressure_axis[1]", "gauge pressure, not an absolute pressure", 0},
      {"a breakpoint without a unit", "6600 rpm,", "6600,", "6600, 7680", NULL,
       "car.control.speed_axis[1]", "has no unit", 0},
      {"an axis that ends below the redline", "7680 rpm]", "7619 rpm]", "[4500 rpm, 6600",
       "7620 rpm", "car.control.speed_axis",
       "the last breakpoint, 7619 rpm, is held up to 7620 rpm", 0},
      /* 61.3 kPa up there: 1,019.3 hPa of altimeter setting brought to 4,114.8 m by the ISA */
      {"an axis that ends below the top", "[60 kPa,", "[62 kPa,", "[62 kPa,", NULL,
       "car.control.pressure_axis", "62.0 kPa, is held down to the 61.", 0},
      {"too many pressures", "[60 kPa, 85 kPa]",
       "[" THIRTY_TWO("5", "6", "7", "8", " kPa") ", 89 kPa]", "[50 kPa", NULL,
       "car.control.pressure_axis", "33 breakpoints; up to 32 are taken", 0},
      {"too many engine speeds", "[4500 rpm, 6600 rpm, 7680 rpm]",
       "[" THIRTY_TWO("7", "8", "9", "10", " Hz") ", 128 Hz]", "[70 Hz", NULL,
       "car.control.speed_axis", "33 breakpoints; up to 32 are taken", 0},
      {"a gauge sensor", "map_sensor: 350 kPa", "map_sensor: 50 psig", "50 psig", NULL,
       "car.control.map_sensor", "gauge pressure, not an absolute pressure", 0},
      {"an absolute spring", "minimum_boost: 55 kPa", "minimum_boost: 22 psia", "22 psia", NULL,
       "car.control.minimum_boost", "absolute pressure, not a gauge pressure", 0},
      {"half a blade", "{blades: 7,", "{blades: 6.5,", "6.5, div", NULL, "car.turbo.sensor.blades",
       "6.5 is no whole number of blades", 0},
      {"a divider between", "divider: 2", "divider: 2.5", "2.5, thread", NULL,
       "car.turbo.sensor.divider", "2.5 is no whole number of blades for a pulse", 0},
      {"a thread without turns", ", turns_back: 0.75", "", "{blades", NULL, "car.turbo.sensor",
       "found thread_pitch alone", 0},
      {"turns without a thread", ", thread_pitch: 0.635 mm", "", "{blades", NULL,
       "car.turbo.sensor", "found turns_back alone", 0},
      {"no efficiency", "      efficiency: 69 %\n", "", "inlet_temperature: 910", NULL,
       T "efficiency", "one number, or columns and rows over expansion_ratio", 0},
      {"an empty table of efficiency", "      efficiency: 69 %\n",
       "      efficiency: {columns: {expansion_ratio: 1, efficiency: 1}, rows: []}\n",
       "{columns: {expansion_ratio: 1, eff", NULL, T "efficiency", "one number, or", 0},
      {"efficiency shuffled", "      efficiency: 69 %\n",
       "      efficiency: {columns: {expansion_ratio: 1, efficiency: 1}, rows: [[2.4, 0.7], "
       "[1.3, 0.66]]}\n",
       "1.3, 0.66", "2.4, 0.7", T "efficiency.rows[1].expansion_ratio",
       "expansion ratio must rise from row to row, found 1.3 after 2.4", 0},
      {"no flow", "rows: [[1.2, 0.11], [1.7, 0.15], [2.6, 0.166]]", "rows: []", "[]\n", NULL,
       T "flow_capacity.rows", "no rows; at least one", 0},
      {"expansion falling", "[1.7, 0.15]", "[1.1, 0.15]", "1.1, 0.15", "1.2, 0.11",
       T "flow_capacity.rows[1].expansion_ratio", "expansion ratio must rise", 0},
      {"flow without expansion", "[1.2, 0.11]", "[1.0, 0.11]", "[1.0, 0.11]", NULL,
       T "flow_capacity.rows[0]", "at an expansion ratio of 1 nothing flows", 0},
      {"flow falling", "[2.6, 0.166]", "[2.6, 0.149]", "[2.6, 0.149]", "[1.7, 0.15]",
       T "flow_capacity.rows[2]", "found 0.149 kg/s after 0.15 kg/s", 0},
      {"gears shuffled", "[3.1, 2.05, 1.5]", "[3.1, 1.5, 2.05]", "2.05]", "1.5, 2.05",
       "car.vehicle.gears[2]", "ratios must fall from gear to gear, found 2.05 after 1.5", 0},
      {"two gears alike", "[3.1, 2.05, 1.5]", "[3.1, 3.1, 1.5]", "3.1, 1.5", "3.1, 3.1",
       "car.vehicle.gears[1]", "found 3.1 after 3.1", 0},
      {"no gears", "[3.1, 2.05, 1.5]", "[]", "[]\n", NULL, "car.vehicle.gears",
       "found an empty list; ratios of the gears, first gear first, taken: [a, b, ...]", 0},
      {"gears that are no list", "[3.1, 2.05, 1.5]", "3.1", "3.1\n", NULL, "car.vehicle.gears",
       "taken: [a, b, ...]", 0},
      {"a gear with a unit", "2.05,", "2.05 m,", "2.05 m", NULL, "car.vehicle.gears[1]",
       "bare number", 0},
      {"a gear that is none", "2.05,", "205,", "205,", NULL, "car.vehicle.gears[1]",
       "taken: 0.1 to 30", 0},
      {"no gears key", "    gears: [3.1, 2.05, 1.5]\n", "", "mass: 1133", NULL, "car.vehicle.gears",
       "missing: ratios of the gears, first gear first; taken: [a, b, ...]", 0},
      {"a shift past the redline", "shift_speed: 7080 rpm", "shift_speed: 7621 rpm", "7621 rpm",
       "7620 rpm", "car.vehicle.shift_speed", "above the redline, 7620 rpm", 0},
      {"a corner of no radius", "30.48, ~", "0.5, ~", "0.5, ~", NULL,
       "course.rows[1].corner_radius", "taken: 1 to 1e+05 m", 0},
      {"a speed limit typed in another unit", "96.56064", "965.6064", "965.6064", NULL,
       "course.rows[0].speed_limit", "taken: 0.36 to 720 km/h", 0},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(slips); i++) bad += check_slip(EVERYTHING, &slips[i]);
  /* without a redline the boost window's top is to be reached */
  static const slip to_the_window = {"an axis that ends below the window",
                                     "7680 rpm]",
                                     "7199 rpm]",
                                     "[4500 rpm, 6600",
                                     "[4500 rpm, 7200 rpm]",
                                     "car.control.speed_axis",
                                     "the last breakpoint, 7199 rpm, is held up to 7200 rpm",
                                     0};
  char *text = replaced(EVERYTHING, "    redline: 7620 rpm\n", "");
  bad += check_slip(text, &to_the_window);
  free(text);
  assert_int_equal(bad, 0);
#undef T
}

/* As many breakpoints as there is room for, and axes that end where they must reach. */
static void axes_at_their_bounds_are_taken(void **state) {
  (void)state;
  static const char *const changes[][2] = {
      {"[60 kPa, 85 kPa]", "[" THIRTY_TWO("5", "6", "7", "8", " kPa") "]"},
      {"7680 rpm]", "7620 rpm]"},
      {"[60 kPa, 85 kPa]", "[61 kPa]"}};
  for (size_t i = 0; i < COUNT_OF(changes); i++) {
    ta_event event;
    char *text = replaced(EVERYTHING, changes[i][0], changes[i][1]);
    if (read_bytes(text, strlen(text), &event) != TA_OK) {
      show_errors();
      fail_msg("%s is refused", changes[i][1]);
    }
    if (i == 0) assert_int_equal(event.car.control.pressure_axis_count, 32);
    ta_event_free(&event);
    free(text);
  }
}

/* What is no boost depends on what is held: a MAP must be one at the lowest place of the course, a
 * boost at the start line; from key-on it counts from where the barometer is read. */
static void a_target_that_is_no_boost_is_told_under_each_controller(void **state) {
  (void)state;
  /* 85.3 kPa at the start; the road falls to 1300 m first, some 1.6 kPa more */
  static const struct {
    const char *row, *holds, *goal, *read_at;
    const char *key; /* NULL: taken */
    const char *phrase;
  } rows[] = {
      {"absolute", "absolute", "map: 86 kPa", "", "goal.map", "on this course is up to 87.0 kPa"},
      {"absolute, more", "absolute", "map: 87.5 kPa", "", NULL, ""},
      {"absolute, boost", "absolute", "boost: 1.2 kPa", "", "goal.boost", "a MAP of 86.5 kPa"},
      {"gauge", "gauge", "map: 86 kPa", "", NULL, ""},
      {"gauge, less", "gauge", "map: 85.2 kPa", "", "goal.map", "at the start is 85.3 kPa"},
      {"gauge, boost", "gauge", "boost: 1.2 kPa", "", NULL, ""},
      {"key-on", "gauge-from-key-on", "map: 86 kPa", "", "goal.map", "on this course is up to"},
      {"key-on, boost", "gauge-from-key-on", "boost: 21 kPa", "", NULL, ""},
      {"key-on, read on the top", "gauge-from-key-on", "boost: 21 kPa",
       ", barometer_read_at: 4100 m", "goal.boost", "on this course is up to"},
      {"key-on, read below", "gauge-from-key-on", "boost: 1.2 kPa", ", barometer_read_at: 1200 m",
       NULL, ""},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char control[120], goal[80];
    (void)snprintf(control, sizeof control, "  control: {holds: %s, overshoot: 4.8 kPa%s}\n",
                   rows[i].holds, rows[i].read_at);
    (void)snprintf(goal, sizeof goal, "  %s\n", rows[i].goal);
    char *low = replaced(WHOLE, "2706.624", "1300"), *held = replaced(low, PLAIN_CONTROL, control),
         *text = replaced(held, "  boost: 1.1 bar\n", goal);
    ta_event event;
    const ta_status status = read_bytes(text, strlen(text), &event);
    ta_place at = {"", 0, 0};
    bool good = status == (rows[i].key != NULL ? TA_ERR_INPUT : TA_OK);
    if (good && rows[i].key != NULL) {
      const ta_diagnostic *item = first_error();
      good = diagnostics.errors == 1 && strcmp(item->key, rows[i].key) == 0 &&
             strstr(item->text, "is no boost") != NULL &&
             strstr(item->text, rows[i].phrase) != NULL && find(text, rows[i].goal, &at);
      at.column += (int)strcspn(rows[i].goal, " ") + 1;
      good = good && wrong_place(rows[i].row, "the place", &item->place, PATH, &at) == 0;
    }
    if (!good) {
      print_error("%s: %s\n", rows[i].row, ta_status_name(status));
      show_errors();
      bad++;
    }
    ta_event_free(&event);
    free(low);
    free(held);
    free(text);
  }
  assert_int_equal(bad, 0);
}

/* An elevation that no controller asks for is told, and taken. */
static void a_barometer_that_is_not_read_is_warned_of(void **state) {
  (void)state;
  static const char *const holds[] = {"absolute", "gauge", "gauge-from-key-on"};
  for (size_t i = 0; i < COUNT_OF(holds); i++) {
    char control[120];
    (void)snprintf(control, sizeof control,
                   "  control: {holds: %s, overshoot: 4.8 kPa, barometer_read_at: 2 km}\n",
                   holds[i]);
    char *text = replaced(WHOLE, PLAIN_CONTROL, control);
    ta_event event;
    ta_place at = {"", 0, 0};
    assert_int_equal(read_bytes(text, strlen(text), &event), TA_OK);
    size_t told = 0;
    for (size_t k = 0; k < diagnostics.count; k++) {
      const ta_diagnostic *item = &diagnostics.item[k];
      if (strcmp(item->key, "car.control.barometer_read_at") != 0) continue;
      told++;
      assert_int_equal(item->severity, TA_WARNING);
      assert_true(find(text, "2 km", &at));
      assert_int_equal(wrong_place(holds[i], "the place", &item->place, PATH, &at), 0);
    }
    assert_true(told == (i < 2 ? 1 : 0));
    ta_event_free(&event);
    free(text);
  }
}

/* ---- what is no sound YAML ---- */

static void texts_that_are_no_event(void **state) {
  (void)state;
  static const struct {
    const char *row, *text;
    size_t size; /* 0: up to the zero byte */
    int line, column;
    const char *phrase;
  } rows[] = {
      {"empty", "", 0, 1, 1, "the file is empty"},
      {"blanks", "  \n\n  ", 0, 1, 1, "the file is empty"},
      {"comments", "# a\n# b\n", 0, 1, 1, "the file is empty"},
      {"a list", "# a\n- a\n- b\n", 0, 2, 1, "must hold `key: value` lines"},
      {"a text", "event\n", 0, 1, 1, "must hold `key: value` lines"},
      {"cut in the middle", "event: x\ncar: {engine: {displacement: 1998 c", 0, 3, 1,
       "line 2, column 15"},
      {"unclosed bracket", "event: x\ncar: [a, b\nday: y\n", 0, 3, 4, "line 2, column 6"},
      {"unclosed quote", "event: x\ncar: \"a\nday: y\n", 0, 4, 1, "line 2, column 6"},
      {"closed too often", "event: x\ncar: {a: b}}\n", 0, 2, 12, ""},
      {"tab", "event: x\ncar:\n\tengine: y\n", 0, 3, 1, "cannot start any token"},
      {"second document", "event: x\n---\nevent: y\n", 0, 2, 1, "a second document"},
      {"second document, broken", "event: x\n---\n[", 0, 2, 1, "a second document"},
      {"binary", "event: \x01\x02\n", 0, 1, 8, "this is not YAML text"},
      {"zero byte", "event: x\n\0\n", 11, 2, 1, "this is not YAML text"},
      {"not UTF-8", "event: Z\xfcrich\n", 0, 1, 9, "this is not YAML text"},
      {"UTF-8 cut short", "event: x\ncar: Z\xc3\xbcrich \xe2\x82\n", 0, 2, 14,
       "this is not YAML text"},
      {"alias", "event: x\ncar: *x\n", 0, 2, 6, "anchors and references are not taken"},
      {"undefined alias", "event: *x\n", 0, 1, 8, "anchors and references are not taken"},
      {"recursive anchor", "car: &x\n  engine: *x\n", 0, 1, 6,
       "anchors and references are not taken"},
      {"bomb", "a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n", 0, 1, 4,
       "anchors and references are not taken"},
      {"not indented", "event: x\ncar:\n    engine: x\n  intake: y\n", 0, 4, 3, ""},
      {"no colon", "event: x\ncar\nday: y\n", 0, 3, 1, ""},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event;
    const size_t size = rows[i].size > 0 ? rows[i].size : strlen(rows[i].text);
    char *exact = malloc(size > 0 ? size : 1); /* reading past the end is noticed */
    assert_non_null(exact);
    memcpy(exact, rows[i].text, size);
    const ta_status status = read_bytes(exact, size, &event);
    free(exact);
    if (status != TA_ERR_INPUT || diagnostics.errors != 1 || !is_zero(&event)) {
      print_error("%s: %s with %zu errors\n", rows[i].row, ta_status_name(status),
                  diagnostics.errors);
      show_errors();
      bad++;
      continue;
    }
    const ta_place want = {"", rows[i].line, rows[i].column};
    const int wrong = wrong_place(rows[i].row, "the place", &first_error()->place, PATH, &want) +
                      (strstr(first_error()->text, rows[i].phrase) == NULL);
    if (wrong > 0) print_error("%s: \"%s\"\n", rows[i].row, first_error()->text);
    bad += wrong;
  }
  assert_int_equal(bad, 0);
}

/* `unit` again and again up to `size` bytes, between `before` and `after`. */
static char *pile(const char *before, const char *unit, size_t size, const char *after) {
  const size_t n = strlen(unit), count = size / n;
  char *text = malloc(strlen(before) + n * count + strlen(after) + 1), *to = text;
  if (text == NULL) fail_msg("out of memory");
  to += sprintf(to, "%s", before);
  for (size_t i = 0; i < count; i++, to += n) memcpy(to, unit, n);
  (void)sprintf(to, "%s", after);
  return text;
}

/* One key inside the other, each a line further in. */
static char *stairs(int depth) {
  char *text = malloc((size_t)depth * (size_t)(depth + 4) + 1), *to = text;
  if (text == NULL) fail_msg("out of memory");
  for (int i = 0; i < depth; i++) to += sprintf(to, "%*sa:\n", i, "");
  return text;
}

static void nothing_takes_long(void **state) {
  (void)state;
  enum { MEGABYTES_10 = 10000000, MEGABYTE = 1000000 };
  const struct {
    const char *row;
    char *text;
    size_t errors; /* 0: however many */
    const char *phrase;
  } rows[] = {
      {"brackets", pile("car: ", "[", MEGABYTES_10, ""), 1, "nests too deep"},
      {"braces", pile("car: ", "{", MEGABYTES_10, ""), 1, "nests too deep"},
      {"pairs", pile("car: ", "[]", MEGABYTES_10, ""), 1, ""},
      {"brackets of keys", pile("car: ", "{a: ", MEGABYTES_10, ""), 1, "nests too deep"},
      {"dashes", pile("car:\n", "- ", MEGABYTES_10, ""), 1, "nests too deep"},
      {"question marks", pile("", "? ", MEGABYTES_10, ""), 1, "nests too deep"},
      {"stairs", stairs(3000), 1, "nests too deep"},
      {"long text", pile("event: \"", "x", MEGABYTES_10, "\"\n"), 5, "bytes long"},
      {"long number", pile("units: 1", "0", MEGABYTES_10, " rpm\n"), 6, "found \"1000"},
      {"long key", pile("", "k", MEGABYTES_10, ": x\n"), 1, ""},
      {"long key with a question mark", pile("? ", "k", MEGABYTES_10, "\n: x\n"), 6,
       "no such key: \"kkkk"},
      {"comment", pile("event: x #", "x", MEGABYTES_10, "\n"), 4, "missing: the road"},
      {"lines", pile("event: x", "\n", MEGABYTES_10, ""), 4, "missing: the road"},
      {"spaces", pile("event: x", " ", MEGABYTES_10, ""), 4, "missing: the road"},
      {"anchors", pile("event: [", "&a b, ", MEGABYTES_10, "]\n"), 1, "anchors and references"},
      {"unknown keys", pile("event: x\n", "a: b\n", MEGABYTE / 8, ""), 25004, "no such key"},
      {"documents", pile("event: x\n", "---\n", MEGABYTES_10, ""), 1, "a second document"},
      {"rows",
       pile("course: {columns: {distance: m, elevation: m}, rows: [", "[0, 0],\n", MEGABYTE / 4,
            "]}\n"),
       0, ""},
      {"rows of rows",
       pile("course: {columns: {distance: m, elevation: m}, rows: [", "[[]],\n", MEGABYTE / 4,
            "]}\n"),
       0, ""},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event;
    const double start = seconds();
    const ta_status status = read_bytes(rows[i].text, strlen(rows[i].text), &event);
    const double took = seconds() - start;
    free(rows[i].text);
    const bool counted =
        rows[i].errors == 0 ? diagnostics.errors > 0 : diagnostics.errors == rows[i].errors;
    if (getenv("SHOW_TIMES") != NULL) print_message("%-30s %.3f s\n", rows[i].row, took);
    if (status == TA_ERR_INPUT && counted && is_zero(&event) && took <= LONGEST_S &&
        strstr(first_error()->text, rows[i].phrase) != NULL && first_error()->place.line > 0)
      continue;
    print_error("%s: %s with %zu errors in %.2f s: %s\n", rows[i].row, ta_status_name(status),
                diagnostics.errors, took, diagnostics.item[0].text);
    bad++;
  }
  assert_int_equal(bad, 0);
}

/* ---- several errors ---- */

typedef struct {
  const char *old, *with, *key;
} one_of_several;

/* All of them in one text, and nothing else is told. */
static void check_several(const char *whole, const one_of_several *slips, size_t count) {
  char *text = replaced(whole, "", "");
  for (size_t i = 0; i < count; i++) {
    char *more = replaced(text, slips[i].old, slips[i].with);
    free(text);
    text = more;
  }
  ta_event event;
  assert_int_equal(read_bytes(text, strlen(text), &event), TA_ERR_INPUT);
  free(text);
  int bad = 0;
  for (size_t i = 0; i < count; i++) {
    int found = 0;
    for (size_t k = 0; k < diagnostics.count; k++)
      found += diagnostics.item[k].severity == TA_ERROR &&
               strcmp(diagnostics.item[k].key, slips[i].key) == 0;
    if (found != 1) print_error("%s is told %d times\n", slips[i].key, found);
    bad += found != 1;
  }
  if (bad > 0 || diagnostics.errors != count) show_errors();
  assert_int_equal(bad, 0);
  assert_int_equal(diagnostics.errors, count);
}

static void every_error_of_a_file_is_told(void **state) {
  (void)state;
  static const one_of_several slips[] = {
      {"units: us", "units: imperial", "units"},
      {"15.9325056", "15.9 km", "course.rows[1].distance"},
      {"1999.221808 cc", "1999", "car.engine.displacement"},
      {"  control: {holds: absolute, ", "  control: {", "car.control.holds"},
      {"146400 rpm", "14640 rpm", "car.turbo.rated_speed"},
      {"0.76], [0.275", "1.2], [0.275", "car.turbo.compressor.lines[1].rows[1].efficiency"},
      {"853 hPa", "1018 hPa", "day.stations[0].pressure"},
      {"margin: 4 %", "margin: 4 psi", "goal.margin"},
  };
  check_several(WHOLE, slips, COUNT_OF(slips));
}

/* One value that is no number hides nothing of the others in its group. */
static void several_errors_of_one_group_are_told(void **state) {
  (void)state;
  static const one_of_several slips[] = {
      {"efficiency: 69 %", "efficiency: 69", "car.turbo.turbine.efficiency"},
      {"[[1.2, 0.11], [1.7, 0.15]", "[[1.7, 0.15], [1.2, 0.11]",
       "car.turbo.turbine.flow_capacity.rows[1].expansion_ratio"},
      {"mass: 1133.980925 kg", "mass: 1133.980925", "car.vehicle.mass"},
      {"[3.1, 2.05, 1.5]", "[3.1, 1.5, 2.05]", "car.vehicle.gears[2]"},
      {"shift_speed: 7080 rpm", "shift_speed: 7621 rpm", "car.vehicle.shift_speed"},
      {"bsfc: 310.25 g/kWh", "bsfc: 310", "car.engine.bsfc"},
      {"  boost: 1.1 bar\n",
       "  columns: {engine_speed: rpm, map: kPa}\n  rows: [[5200, 190], [3010, 181]]\n",
       "goal.rows[1].engine_speed"},
      {"margin: 4 %", "margin: 4 psi", "goal.margin"},
  };
  static const one_of_several reversed[] = {
      {"efficiency: 69 %",
       "efficiency: {columns: {expansion_ratio: 1, efficiency: 1}, rows: [[2.4, 0.7], [1.3, "
       "0.66]]}",
       "car.turbo.turbine.efficiency.rows[1].expansion_ratio"},
      {"[1.7, 0.15]", "[1.7, 0.15 m]", "car.turbo.turbine.flow_capacity.rows[1].flow"},
  };
  check_several(EVERYTHING, slips, COUNT_OF(slips));
  check_several(EVERYTHING, reversed, COUNT_OF(reversed));
}

static void errors_past_the_list_are_counted(void **state) {
  (void)state;
  char *many = pile("", "a: b\n", 5 * (TA_DIAGNOSTICS_MAX + 7), ""),
       *text = replaced(WHOLE, "", many);
  ta_event event;
  assert_int_equal(read_bytes(text, strlen(text), &event), TA_ERR_INPUT);
  /* the whole stands last: `a` belongs to the event, not to the goal */
  assert_int_equal(diagnostics.errors, TA_DIAGNOSTICS_MAX + 7);
  assert_int_equal(diagnostics.count, TA_DIAGNOSTICS_MAX);
  assert_int_equal(diagnostics.dropped, 7);
  assert_true(is_zero(&event));
  free(many);
  free(text);
}

/* ---- what is taken all the same ---- */

static void harmless_oddities_are_taken(void **state) {
  (void)state;
  ta_event event;
  char *crlf = malloc(2 * sizeof WHOLE), *to = crlf;
  assert_non_null(crlf);
  for (const char *c = WHOLE; *c != '\0'; c++) {
    if (*c == '\n') *to++ = '\r';
    *to++ = *c;
  }
  *to = '\0';
  char *texts[] = {
      replaced(WHOLE, "", ""),
      replaced(WHOLE, HEAD, "\xef\xbb\xbf" HEAD), /* byte order mark of UTF-8 */
      crlf,
      replaced(WHOLE, HEAD, "%YAML 1.1\n---\n" HEAD),
      replaced(WHOLE, "", "...\n# the end\n"),
      replaced(WHOLE, HEAD,
               HEAD "# [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\n"),
      replaced(WHOLE, "made up", "Z\xc3\xbcrich \xe2\x9b\xb0"),
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(texts); i++) {
    if (read_bytes(texts[i], strlen(texts[i]), &event) != TA_OK) {
      print_error("oddity %zu\n", i);
      show_errors();
      bad++;
    }
    ta_event_free(&event);
    free(texts[i]);
  }
  assert_int_equal(bad, 0);
}

/* A byte order mark and CRLF move no place. */
static void oddities_move_no_place(void **state) {
  (void)state;
  static const char text[] =
      "\xef\xbb\xbf"
      "evens: x\r\nunits: Z\xc3\xbcrich\r\ngoal: 3\r\n";
  static const ta_place want[] = {{"", 1, 1}, {"", 2, 8}, {"", 3, 7}};
  ta_event event;
  assert_int_equal(read_bytes(text, sizeof text - 1, &event), TA_ERR_INPUT);
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(want); i++)
    bad += wrong_place("oddity", "the place", &diagnostics.item[i].place, PATH, &want[i]);
  assert_int_equal(bad, 0);
}

/* ---- files ---- */

static char folder[] = "/tmp/thinair-broken-XXXXXX";

static int make_folder(void **state) {
  (void)state;
  return mkdtemp(folder) == NULL ? -1 : 0;
}

static void path_of(const char *name, char *path) {
  (void)snprintf(path, TA_FILE_MAX, "%.100s/%.100s", folder, name);
}

static void write_file(const char *name, const char *text) {
  char path[TA_FILE_MAX];
  path_of(name, path);
  FILE *file = fopen(path, "wb");
  if (file == NULL) fail_msg("%s", path);
  (void)fputs(text, file);
  assert_int_equal(fclose(file), 0);
}

static int remove_folder(void **state) {
  (void)state;
  static const char *const names[] = {"event.yaml", "broken.yaml", "pipe", "folder", "itself.yaml"};
  char path[TA_FILE_MAX];
  for (size_t i = 0; i < COUNT_OF(names); i++) {
    path_of(names[i], path);
    (void)remove(path);
  }
  return rmdir(folder);
}

static void files_that_cannot_be_read(void **state) {
  (void)state;
  static char long_name[700];
  memset(long_name, 'n', sizeof long_name - 1);
  const struct {
    const char *row, *name, *phrase;
  } rows[] = {
      {"missing", "none.yaml", "there is no such file"},
      {"a folder", "folder", "this is not a regular file"},
      {"a device", "/dev/zero", "this is not a regular file"},
      {"a pipe", "pipe", "this is not a regular file"},
      {"itself", "event.yaml", "read already"},
      {"a name too long", long_name, "the name is too long"},
      {"control character in the name", "\"a\\e[2J.yaml\"", "control character"},
  };
  char path[TA_FILE_MAX], pipe_path[TA_FILE_MAX], folder_path[TA_FILE_MAX];
  path_of("event.yaml", path);
  path_of("pipe", pipe_path);
  path_of("folder", folder_path);
  assert_int_equal(mkfifo(pipe_path, 0600), 0);
  assert_int_equal(mkdir(folder_path, 0700), 0);
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char line[800];
    ta_event event;
    ta_place want = {"", 0, 0};
    (void)snprintf(line, sizeof line, "day: %s\n", rows[i].name);
    char *text = replaced(WHOLE, "day:\n" DAY, line);
    write_file("event.yaml", text);
    ta_diagnostics_clear(&diagnostics);
    const double start = seconds();
    const ta_status status = ta_event_read(folder, NULL, 0, &event, &diagnostics);
    const double took = seconds() - start;
    (void)find(text, strchr(strstr(text, "\nday: "), ' ') + 1, &want);
    free(text);
    if (status != TA_ERR_INPUT || diagnostics.errors != 1 || !is_zero(&event) || took > LONGEST_S ||
        strcmp(first_error()->key, "day") != 0 ||
        strstr(first_error()->text, rows[i].phrase) == NULL ||
        wrong_place(rows[i].row, "the place", &first_error()->place, path, &want) != 0) {
      print_error("%s: %s with %zu errors\n", rows[i].row, ta_status_name(status),
                  diagnostics.errors);
      show_errors();
      bad++;
    }
  }
  assert_int_equal(bad, 0);
}

static void an_event_that_cannot_be_opened(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event event;
  path_of("none.yaml", path);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read(path, NULL, 0, &event, &diagnostics), TA_ERR_INPUT);
  assert_int_equal(diagnostics.errors, 1);
  assert_string_equal(first_error()->place.file, path);
  assert_int_equal(first_error()->place.line, 0);
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read("", NULL, 0, &event, &diagnostics), TA_ERR_INPUT);
  assert_int_equal(diagnostics.errors, 1);
  assert_int_equal(ta_event_read(NULL, NULL, 0, &event, &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_read(path, NULL, 0, NULL, &diagnostics), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_read(path, NULL, 0, &event, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_event_read_bytes(path, NULL, 0, NULL, 0, &event, &diagnostics),
                   TA_ERR_ARGUMENT);
}

/* The error of a file that is named stands in that file, once. */
static void a_broken_file_is_told_in_that_file(void **state) {
  (void)state;
  char path[TA_FILE_MAX];
  ta_event event;
  path_of("broken.yaml", path);
  char *text = replaced(WHOLE, "day:\n" DAY, "day: broken.yaml\n");
  write_file("event.yaml", text);
  free(text);
  write_file("broken.yaml", "stations: [\nlapse_rate: 6 K/km\n");
  const ta_setting setting = {"--set", "day.lapse_rate", "6 K/km", NULL};
  for (size_t settings = 0; settings < 2; settings++) { /* nor does a setting inside it add one */
    ta_diagnostics_clear(&diagnostics);
    assert_int_equal(ta_event_read(folder, &setting, settings, &event, &diagnostics), TA_ERR_INPUT);
    if (diagnostics.errors != 1) show_errors();
    assert_int_equal(diagnostics.errors, 1);
    assert_string_equal(first_error()->key, "day");
    assert_string_equal(first_error()->place.file, path);
    assert_true(first_error()->place.line > 0);
  }
  write_file("broken.yaml", DAY "  wind: 3 m/s\n");
  ta_diagnostics_clear(&diagnostics);
  assert_int_equal(ta_event_read(folder, NULL, 0, &event, &diagnostics), TA_ERR_INPUT);
  const ta_place want = {"", 5, 3};
  assert_int_equal(diagnostics.errors, 1);
  assert_int_equal(wrong_place("wind", "the place", &first_error()->place, path, &want), 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_slip_gives_one_error_at_its_place),
      cmocka_unit_test(one_slip_of_a_report_is_told_at_its_place),
      cmocka_unit_test(one_slip_of_a_printed_map_is_told_at_its_place),
      cmocka_unit_test(one_slip_of_what_a_car_may_have_is_told_at_its_place),
      cmocka_unit_test(axes_at_their_bounds_are_taken),
      cmocka_unit_test(a_target_that_is_no_boost_is_told_under_each_controller),
      cmocka_unit_test(a_barometer_that_is_not_read_is_warned_of),
      cmocka_unit_test(texts_that_are_no_event),
      cmocka_unit_test(nothing_takes_long),
      cmocka_unit_test(every_error_of_a_file_is_told),
      cmocka_unit_test(several_errors_of_one_group_are_told),
      cmocka_unit_test(errors_past_the_list_are_counted),
      cmocka_unit_test(harmless_oddities_are_taken),
      cmocka_unit_test(oddities_move_no_place),
      cmocka_unit_test(files_that_cannot_be_read),
      cmocka_unit_test(an_event_that_cannot_be_opened),
      cmocka_unit_test(a_broken_file_is_told_in_that_file),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
