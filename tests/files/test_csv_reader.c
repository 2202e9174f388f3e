/* test_csv_reader.c - records and cells of comma-separated text.
 *
 * Source  Quoting, doubled quotes, line ends inside quotes, CRLF: RFC 4180 section 2.  Semicolons,
 *         tabs, byte-order marks and comment lines: common practice of spreadsheets and loggers. */
#include "files/csv_reader.h"

#include <stdio.h>
#include <stdlib.h>

#include "test.h"

static ta_diagnostics diagnostics;

typedef struct {
  const char *text;
  int line, column;
} cell;

/* The records of a text against the cells wanted; a NULL text ends a record, two of them the list.
 */
static int check(const char *row, const char *text, size_t size, const cell *want) {
  ta_csv csv;
  int bad = 0;
  char *bytes = malloc(size + 1); /* exact: writing past the end is noticed */
  if (bytes == NULL) fail_msg("out of memory");
  memcpy(bytes, text, size);
  ta_diagnostics_clear(&diagnostics);
  ta_csv_start(&csv, "road.csv", bytes, size);
  while (want->text != NULL) {
    if (!ta_csv_next(&csv, &diagnostics)) {
      print_error("%s: ends before \"%s\"\n", row, want->text);
      bad++;
      break;
    }
    for (size_t i = 0; i < csv.count || want->text != NULL; i++, want++) {
      const cell none = {"(none)", 0, 0}, *w = want->text != NULL ? want : &none;
      const cell got =
          i < csv.count ? (cell){csv.cell[i].text, csv.cell[i].line, csv.cell[i].column} : none;
      if (strcmp(got.text, w->text) != 0 || got.line != w->line || got.column != w->column) {
        print_error("%s: \"%s\" at %d:%d, want \"%s\" at %d:%d\n", row, got.text, got.line,
                    got.column, w->text, w->line, w->column);
        bad++;
      }
      if (want->text == NULL) want--;
    }
    want++;
  }
  if (bad == 0 && (ta_csv_next(&csv, &diagnostics) || csv.count != 0)) {
    print_error("%s: there is more\n", row);
    bad++;
  }
  free(bytes);
  return bad;
}

static void records_are_cut_into_cells(void **state) {
  (void)state;
  static const struct {
    const char *row, *text;
    cell want[16];
  } rows[] = {
      {"plain", "a,bc\n1,2\n", {{"a", 1, 1}, {"bc", 1, 3}, {0}, {"1", 2, 1}, {"2", 2, 3}, {0}}},
      {"no last line end", "a\n1", {{"a", 1, 1}, {0}, {"1", 2, 1}, {0}}},
      {"CRLF", "a,b\r\n1,2\r\n", {{"a", 1, 1}, {"b", 1, 3}, {0}, {"1", 2, 1}, {"2", 2, 3}, {0}}},
      {"CRLF after a quote", "\"a\"\r\n1", {{"a", 1, 1}, {0}, {"1", 2, 1}, {0}}},
      {"blanks around", " a , b\t\n", {{"a", 1, 2}, {"b", 1, 6}, {0}}},
      {"empty cells",
       ",a,\n,,\n",
       {{"", 1, 1}, {"a", 1, 2}, {"", 1, 4}, {0}, {"", 2, 1}, {"", 2, 2}, {"", 2, 3}, {0}}},
      {"empty lines", "\n \t\r\na\n\n\n1\n\n", {{"a", 3, 1}, {0}, {"1", 6, 1}, {0}}},
      {"comments", "# a,b\na\n  # c\n1 # 2\n#", {{"a", 2, 1}, {0}, {"1 # 2", 4, 1}, {0}}},
      {"a hash inside quotes", "\"#1\",2\n", {{"#1", 1, 1}, {"2", 1, 6}, {0}}},
      {"a byte-order mark",
       "\xef\xbb\xbf"
       "a,b\n",
       {{"a", 1, 1}, {"b", 1, 3}, {0}}},
      {"semicolons",
       "a;b\n1,5;2\n",
       {{"a", 1, 1}, {"b", 1, 3}, {0}, {"1,5", 2, 1}, {"2", 2, 5}, {0}}},
      {"tabs", "a\tb\n\t2\n", {{"a", 1, 1}, {"b", 1, 3}, {0}, {"", 2, 1}, {"2", 2, 2}, {0}}},
      {"tabs and semicolons", "a;b\tc\n", {{"a", 1, 1}, {"b\tc", 1, 3}, {0}}},
      {"a comma stands first", "a,b;c\n", {{"a", 1, 1}, {"b;c", 1, 3}, {0}}},
      {"quotes", "\"a,b\",\"\"\n", {{"a,b", 1, 1}, {"", 1, 7}, {0}}},
      {"blanks in and around quotes", " \" a \" ,b\n", {{" a ", 1, 2}, {"b", 1, 9}, {0}}},
      {"doubled quotes", "\"\"\"a\"\"\",b\n", {{"\"a\"", 1, 1}, {"b", 1, 9}, {0}}},
      {"a quote inside", "a\"b,\"c\"\n", {{"a\"b", 1, 1}, {"c", 1, 5}, {0}}},
      {"a line end inside quotes",
       "\"a\nbc\",d\ne\n",
       {{"a\nbc", 1, 1}, {"d", 2, 5}, {0}, {"e", 3, 1}, {0}}},
      {"columns count characters",
       "Z\xc3\xbcrich,\"\xe2\x9b\xb0\"\"\",c\n",
       {{"Z\xc3\xbcrich", 1, 1}, {"\xe2\x9b\xb0\"", 1, 8}, {"c", 1, 14}, {0}}},
      {"nothing", "", {{0}}},
      {"a byte-order mark alone", "\xef\xbb\xbf", {{0}}},
      {"comments alone", "# a\n\n#b", {{0}}},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    bad += check(rows[i].row, rows[i].text, strlen(rows[i].text), rows[i].want);
    assert_int_equal(diagnostics.count, 0);
  }
  assert_int_equal(bad, 0);
}

static void what_cannot_be_read_is_told_once(void **state) {
  (void)state;
  static const struct {
    const char *row, *text, *phrase;
    int line, column;
  } rows[] = {
      {"an open quote", "a,b\n1,\"2\n3,4\n", "never closed", 2, 3},
      {"a quote at the end", "a,b\n1,\"", "never closed", 2, 3},
      {"a doubled quote at the end", "a\n\"1\"\"", "never closed", 2, 1},
      {"text behind a quote", "a,b\n\xc3\xbc,\"2\"x\n", "text follows", 2, 3},
      {"a carriage return and text", "\"2\"\rx\n", "text follows", 1, 1},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char text[40];
    ta_csv csv;
    (void)snprintf(text, sizeof text, "%s", rows[i].text);
    ta_diagnostics_clear(&diagnostics);
    ta_csv_start(&csv, "road.csv", text, strlen(text));
    while (ta_csv_next(&csv, &diagnostics)) continue;
    assert_false(ta_csv_next(&csv, &diagnostics));
    assert_int_equal(diagnostics.errors, 1);
    const ta_diagnostic *item = &diagnostics.item[0];
    assert_string_equal(item->place.file, "road.csv");
    if (item->place.line != rows[i].line || item->place.column != rows[i].column ||
        strstr(item->text, rows[i].phrase) == NULL)
      fail_msg("%s: %d:%d: %s", rows[i].row, item->place.line, item->place.column, item->text);
  }
}

static void sixty_four_cells_are_taken(void **state) {
  (void)state;
  char text[200] = "";
  ta_csv csv;
  for (size_t i = 0; i < 63; i++) (void)strcat(text, "x,");
  (void)strcat(text, "x\n");
  char more[204];
  (void)snprintf(more, sizeof more, "x,%s", text);
  ta_diagnostics_clear(&diagnostics);
  ta_csv_start(&csv, "road.csv", text, strlen(text));
  assert_true(ta_csv_next(&csv, &diagnostics));
  assert_int_equal(csv.count, 64);
  ta_csv_start(&csv, "road.csv", more, strlen(more));
  assert_false(ta_csv_next(&csv, &diagnostics));
  assert_int_equal(diagnostics.errors, 1);
  assert_int_equal(diagnostics.item[0].place.column, 129);
  assert_non_null(strstr(diagnostics.item[0].text, "more than 64 cells"));
}

static void headings_are_name_and_unit(void **state) {
  (void)state;
  static const struct {
    const char *cell, *name, *unit;
  } rows[] = {
      {"distance (km)", "distance", "km"},
      {"distance(km)", "distance", "km"},
      {"distance ( km )", "distance", "km"},
      {"mark", "mark", ""},
      {"", "", ""},
      {"(km)", "", "km"},
      {"distance ()", "distance", ""},
      {"distance (km", "distance (km", ""},
      {"distance km)", "distance km)", ""},
      {"distance )km(", "distance )km(", ""},
      {"distance (km) 2", "distance (km) 2", ""},
      {"flow (kg/s sqrt(K)/kPa)", "flow", "kg/s sqrt(K)/kPa"},
      {"speed (rpm/sqrt(K))", "speed", "rpm/sqrt(K)"},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char text[60];
    const char *name, *unit;
    (void)snprintf(text, sizeof text, "%s", rows[i].cell);
    ta_csv_heading(text, &name, &unit);
    assert_string_equal(name, rows[i].name);
    assert_string_equal(unit, rows[i].unit);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(records_are_cut_into_cells),
      cmocka_unit_test(what_cannot_be_read_is_told_once),
      cmocka_unit_test(sixty_four_cells_are_taken),
      cmocka_unit_test(headings_are_name_and_unit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
