/* test_terminal_profile.c - the course drawn in characters: read back column by column and held
 * against the road's own elevations and shaft speeds. */
#include "report/terminal_profile.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"

enum { LABEL = 11, COLUMNS_MOST = 300, LINES_MOST = 12, FINE = 400 };

typedef struct {
  invented it;
  ta_prepared prepared;
  ta_plan plan; /* its profile alone */
  ta_buffer out;
  int line_count;
  int width[LINES_MOST];                      /* of each line, in columns */
  const char *cell[LINES_MOST][COLUMNS_MOST]; /* where each character begins */
} drawn;

static drawn *plan_of(void (*change)(invented *it)) {
  drawn *d = calloc(1, sizeof *d);
  assert_non_null(d);
  invented_make(&d->it);
  change(&d->it);
  assert_int_equal(ta_prepare(&d->it.event, &d->prepared), TA_OK);
  assert_int_equal(
      ta_profile_make(&d->prepared, ta_judged_speeds(&d->it.event.car), HUGE_VAL, &d->plan.profile),
      TA_OK);
  return d;
}

static void drop(drawn *d) {
  ta_buffer_free(&d->out);
  ta_prepared_free(&d->prepared);
  free(d);
}

/* Draws, and takes the lines apart into characters; without colour a byte is one or continues one. */
static void draw(drawn *d, int width) {
  const ta_style style = {.format = TA_FORMAT_TEXT, .units = TA_METRIC, .width = width};
  ta_buffer_free(&d->out);
  d->line_count = 0;
  ta_terminal_profile(&d->prepared, &d->plan, &style, &d->out);
  for (const char *c = d->out.text; c != NULL && *c != '\0'; c++) {
    assert_true(d->line_count < LINES_MOST);
    int *at = &d->width[d->line_count];
    *at = 0;
    for (; *c != '\n'; c++)
      if (((unsigned char)*c & 0xc0) != 0x80) {
        assert_true(*at < COLUMNS_MOST);
        d->cell[d->line_count][(*at)++] = c;
      }
    d->line_count++;
  }
}

/* Eighths that a cell is filled: U+2581 to U+2588, or a blank. */
static int eighths_of(const char *cell) {
  if (*cell == ' ') return 0;
  assert_true(strncmp(cell, "\xe2\x96", 2) == 0);
  const int eighths = (unsigned char)cell[2] - 0x80;
  assert_true(eighths >= 1 && eighths <= 8);
  return eighths;
}

/* Of three rows, from the top: a full one under each that is not empty. */
static int height_of(const drawn *d, int first_line, int column) {
  int height = 0;
  for (int row = 0; row < 3; row++) {
    const int eighths = eighths_of(d->cell[first_line + row][LABEL + column]);
    assert_true(height == 0 || eighths == 8);
    height += eighths;
  }
  return height;
}

/* Highest ground and fastest shaft of a column's road, walked in small steps and at its points. */
static void walk(const drawn *d, int column, int columns, double *elevation_m, double *shaft) {
  const ta_course *course = &d->it.event.course;
  const double start_m = course->point[0].distance_m,
               each_m = (course->point[course->count - 1].distance_m - start_m) / columns,
               from_m = start_m + each_m * column;
  *elevation_m = *shaft = 0.0;
  for (size_t i = 0; i <= FINE + course->count; i++) {
    const double at_m =
        i <= FINE ? from_m + each_m * (double)i / FINE : course->point[i - FINE - 1].distance_m;
    if (at_m < from_m || at_m > from_m + each_m) continue;
    const double here_m = ta_course_elevation(course, at_m);
    *elevation_m = fmax(*elevation_m, here_m);
    *shaft = fmax(*shaft, ta_profile_shaft(&d->plan.profile, here_m) / d->prepared.limit_rpm);
  }
}

/* Up past limit and rated speed, down below both, and up again. */
static void change_to_a_dip(invented *it) {
  static const ta_course_point road[] = {
      {.distance_m = 410.0, .elevation_m = 1463.0, .mark = "start"},
      {.distance_m = 15870.0, .elevation_m = 3903.0, .mark = "crest"},
      {.distance_m = 23130.0, .elevation_m = 2512.0, .mark = "long bridge"},
      {.distance_m = 34010.0, .elevation_m = 4117.0, .mark = "summit"}};
  memcpy(it->course, road, sizeof road);
  it->event.goal.map_pa = 176e3;
}

static void every_column_is_its_road(void **state) {
  (void)state;
  static const int widths[] = {40, 57, 80, 251};
  drawn *d = plan_of(change_to_a_dip);
  const double rated = 1.0 / (1.0 - 0.037);
  int bad = 0;
  for (size_t w = 0; w < COUNT_OF(widths); w++) {
    const int columns = widths[w] - LABEL;
    size_t over = 0, over_rated = 0, within = 0;
    double fastest = rated;
    draw(d, widths[w]);
    assert_int_equal(d->line_count, 10); /* a blank, shaft, over, ground, marks, signs */
    for (int line = 0; line < d->line_count; line++) assert_true(d->width[line] <= widths[w]);
    for (int row = 0; row < 3; row++)
      assert_true(d->width[1 + row] == widths[w] && d->width[5 + row] == widths[w]);
    for (int i = 0; i < columns; i++) {
      double elevation_m, shaft;
      walk(d, i, columns, &elevation_m, &shaft);
      fastest = fmax(fastest, shaft);
    }
    for (int i = 0; i < columns; i++) {
      double elevation_m, shaft;
      walk(d, i, columns, &elevation_m, &shaft);
      /* to half an eighth of rounding */
      const double share = fmax((shaft - 0.75) / (fastest - 0.75), 0.0);
      bad += off("shaft", "height", height_of(d, 1, i), 24.0 * share, 0.51);
      const double low_m = 1463.0 - 0.1 * (4117.0 - 1463.0) - 1.0;
      bad += off("ground", "height", height_of(d, 5, i),
                 24.0 * (elevation_m - low_m) / (4117.0 - low_m), 0.51);
      if (fabs(shaft - 1.0) < 1e-6 || fabs(shaft - rated) < 1e-6) continue; /* either will do */
      const char want = shaft > rated ? '#' : shaft > 1.0 ? '^' : ' ';
      const char got = LABEL + i < d->width[4] ? *d->cell[4][LABEL + i] : ' ';
      if (got != want) {
        print_error("%d columns: '%c' in column %d at %.7f of the limit\n", columns, got, i, shaft);
        bad++;
      }
      over += want == '^';
      over_rated += want == '#';
      within += want == ' ';
    }
    assert_true(over > 0 && over_rated > 0 && within > 0);
    assert_int_equal(d->width[0], 0);
  }
  drop(d);
  assert_int_equal(bad, 0);
}

/* Two metres of a crest pass the limit, and 116 m of road hold it. */
static void change_to_a_short_crest(invented *it) {
  static const ta_course_point road[] = {{.distance_m = 0.0, .elevation_m = 1463.0},
                                         {.distance_m = 17003.0, .elevation_m = 2400.0},
                                         {.distance_m = 17061.0, .elevation_m = 2428.0},
                                         {.distance_m = 17119.0, .elevation_m = 2400.0},
                                         {.distance_m = 34010.0, .elevation_m = 1500.0}};
  ta_prepared prepared;
  ta_operating_point at;
  memset(it->course, 0, sizeof it->course);
  memcpy(it->course, road, sizeof road);
  it->event.course.count = COUNT_OF(road);
  assert_int_equal(ta_prepare(&it->event, &prepared), TA_OK);
  assert_int_equal(ta_worst_in_window(&prepared, 2426.0, HUGE_VAL, &at), TA_OK);
  ta_prepared_free(&prepared);
  it->event.car.turbo.rated_rpm = at.shaft_rpm / (1.0 - it->event.goal.margin);
}

static void label_is(const drawn *d, int line, const char *want) {
  if (strncmp(d->cell[line][0], want, strlen(want)) != 0)
    fail_msg("line %d: %.11s, want %s", line, d->cell[line][0], want);
}

static void a_short_crest_is_not_missed(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_a_short_crest);
  for (int width = 40; width < 140; width += 7) {
    draw(d, width);
    label_is(d, 9, "           ^ past limit\n");
    const int column = LABEL + (int)(17061.0 / 34010.0 * (width - LABEL));
    assert_int_equal(d->width[4], column + 1);
    for (int i = LABEL; i < d->width[4]; i++)
      assert_true(*d->cell[4][i] == (i == column ? '^' : ' '));
  }
  drop(d);
}

static void narrow_terminals_get_nothing_and_wide_ones_no_more_than_fits(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_a_dip);
  draw(d, 39);
  assert_true(d->out.length == 0);
  draw(d, 0);
  assert_true(d->out.length == 0);
  draw(d, 40);
  assert_int_equal(d->width[1], 40);
  draw(d, 100000);
  assert_int_equal(d->width[1], 251);
  drop(d);
}

static void axes_are_named(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_a_dip);
  double fastest = 0.0;
  for (size_t i = 0; i < d->plan.profile.count; i++)
    fastest = fmax(fastest, d->plan.profile.node[i].shaft_rpm / d->prepared.limit_rpm);
  char top[20];
  (void)snprintf(top, sizeof top, "%.0f %% ", 100.0 * fastest);
  draw(d, 80);
  label_is(d, 1, top);
  label_is(d, 2, "of limit ");
  label_is(d, 3, "75 % ");
  label_is(d, 4, "over ");
  label_is(d, 5, "4,117 m ");
  label_is(d, 6, "ground ");
  label_is(d, 7, "1,463 m ");
  label_is(d, 9, "           ^ past limit, # past rated\n");
  drop(d);
}

static void change_to_quiet(invented *it) {
  it->event.goal.map_pa = 146e3;
}

static void nothing_over_is_said_in_a_word(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_quiet);
  draw(d, 80);
  label_is(d, 4, "over       nowhere\n");
  assert_int_equal(d->line_count, 9); /* no sign to explain */
  drop(d);
}

static void change_to_a_flat_course(invented *it) {
  it->event.course.count = 2;
  it->course[0].elevation_m = it->course[1].elevation_m = 4007.0;
}

static void change_to_unreachable(invented *it) {
  change_to_a_flat_course(it);
  it->event.goal.map_pa = 351e3;
}

static void flat_and_unreachable_roads_are_drawn_too(void **state) {
  (void)state;
  void (*const changes[])(invented *) = {change_to_a_flat_course, change_to_unreachable};
  for (size_t k = 0; k < COUNT_OF(changes); k++) {
    drawn *d = plan_of(changes[k]);
    draw(d, 80);
    assert_int_equal(d->width[4], 80);
    for (int i = 0; i < 80 - LABEL; i++) {
      const double shaft = d->plan.profile.node[0].shaft_rpm;
      assert_true(*d->cell[4][LABEL + i] == (shaft > d->it.event.car.turbo.rated_rpm ? '#' : '^'));
      assert_int_equal(height_of(d, 5, i), 24);
      if (k == 1) assert_int_equal(height_of(d, 1, i), 24);
    }
    if (k == 1) label_is(d, 1, "104 % "); /* no number past the map: rated over limit */
    assert_true(strstr(d->out.text, "inf") == NULL && strstr(d->out.text, "nan") == NULL);
    drop(d);
  }
}

/* The marks of a line: where a name begins, -1: it is not there. */
static int mark_at(const drawn *d, const char *name) {
  const char *line = d->cell[8][0], *at = strstr(line, name);
  if (at == NULL) return -1;
  for (int i = 0; i < d->width[8]; i++)
    if (d->cell[8][i] == at) return i - LABEL;
  return -1;
}

static void marks_stand_under_their_places(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_a_dip);
  draw(d, 80);
  const double columns = 80 - LABEL - 1, road_m = 34010.0 - 410.0;
  assert_int_equal(mark_at(d, "start"), 0);
  assert_int_equal(mark_at(d, "crest"), (int)(columns * (15870.0 - 410.0) / road_m));
  assert_int_equal(mark_at(d, "long bridge"), (int)(columns * (23130.0 - 410.0) / road_m));
  assert_int_equal(mark_at(d, "summit"), 80 - LABEL - 6); /* its end at the end of the road */
  assert_int_equal(d->width[8], 80);
  draw(d, 40); /* "long bridge" from column 18 to 28, "summit" from 23 */
  assert_int_equal(mark_at(d, "long bridge"), -1);
  assert_int_equal(mark_at(d, "summit"), 40 - LABEL - 6);
  drop(d);
}

static void change_to_crowded_marks(invented *it) {
  static const char wide[] =
      "a name that is longer than any terminal is wide, and that nobody will miss under a picture "
      "of some columns, however much it may be the name of a place";
  change_to_a_dip(it);
  it->course[0].mark = "caf\xc3\xa9";
  it->course[1] = (ta_course_point){.distance_m = 2633.0, .elevation_m = 1900.0, .mark = "hidden"};
  it->course[2].mark = wide;
}

static void crowded_and_wide_marks_are_left_out(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_crowded_marks);
  draw(d, 80); /* "hidden" would begin in column 4, right after the first */
  assert_int_equal(mark_at(d, "caf\xc3\xa9"), 0);
  assert_int_equal(mark_at(d, "hidden"), -1);
  assert_int_equal(mark_at(d, "a name"), -1);
  assert_int_equal(mark_at(d, "summit"), 80 - LABEL - 6); /* a letter of two bytes is one column */
  d->it.course[0].mark = d->it.course[1].mark = d->it.course[2].mark = d->it.course[3].mark = NULL;
  draw(d, 80);
  assert_int_equal(d->line_count, 10);
  assert_int_equal(d->width[8], LABEL);
  drop(d);
}

static void colour_is_the_same_picture_with_bold_where_the_limit_is_passed(void **state) {
  (void)state;
  drawn *d = plan_of(change_to_a_dip);
  ta_style style = {.format = TA_FORMAT_TEXT, .units = TA_METRIC, .width = 80};
  draw(d, 80);
  assert_null(strchr(d->out.text, '\033'));
  style.colour = true;
  ta_buffer coloured = {0};
  ta_terminal_profile(&d->prepared, &d->plan, &style, &coloured);
  const char *c = coloured.text, *plain = d->out.text;
  bool bold = false;
  int column = 0, line = 0, cells = 0;
  for (; *c != '\0'; c++) {
    if (*c == '\033') {
      const bool begins = strncmp(c, "\033[1m", 4) == 0;
      assert_true(begins ? !bold : bold && strncmp(c, "\033[0m", 4) == 0);
      bold = begins;
      c += 3;
      continue;
    }
    assert_true(*c == *plain);
    plain++;
    if (*c == '\n') {
      assert_false(bold); /* nothing leaks into the next line */
      line++;
      column = 0;
      continue;
    }
    if (((unsigned char)*c & 0xc0) == 0x80) continue;
    const bool chart = (line >= 1 && line <= 3) || (line >= 5 && line <= 7);
    if (chart && column >= LABEL) {
      const bool over = column < d->width[4] && strchr("^#", *d->cell[4][column]) != NULL;
      assert_true(bold == over);
      cells += over;
    } else {
      assert_false(bold);
    }
    column++;
  }
  assert_true(*plain == '\0' && cells > 20);
  ta_buffer_free(&coloured);
  drop(d);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_column_is_its_road),
      cmocka_unit_test(a_short_crest_is_not_missed),
      cmocka_unit_test(narrow_terminals_get_nothing_and_wide_ones_no_more_than_fits),
      cmocka_unit_test(axes_are_named),
      cmocka_unit_test(nothing_over_is_said_in_a_word),
      cmocka_unit_test(flat_and_unreachable_roads_are_drawn_too),
      cmocka_unit_test(marks_stand_under_their_places),
      cmocka_unit_test(crowded_and_wide_marks_are_left_out),
      cmocka_unit_test(colour_is_the_same_picture_with_bold_where_the_limit_is_passed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
