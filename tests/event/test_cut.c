/* A part of the course: its ends, its names, and the start line that stays. */
#include "test.h"
#include "thinair/event.h"

static ta_event event_with(ta_course_point *point, size_t count) {
  return (ta_event){.course = {point, count}};
}

static void a_part_keeps_its_places(void **state) {
  (void)state;
  ta_course_point point[] = {{.distance_m = 100.0, .elevation_m = 1460.0, .mark = "Start"},
                             {.distance_m = 900.0, .elevation_m = 1500.0, .mark = "Bend"},
                             {.distance_m = 1700.0, .elevation_m = 1620.0},
                             {.distance_m = 2500.0, .elevation_m = 1700.0, .mark = "Top"}};
  static const struct {
    const char *row, *from, *to;
    size_t count;
    double first_m, first_elevation_m, last_m, last_elevation_m;
    const char *first_mark, *last_mark;
  } rows[] = {
      {"whole", NULL, NULL, 4, 100.0, 1460.0, 2500.0, 1700.0, "Start", "Top"},
      {"marks", "Bend", "Top", 3, 900.0, 1500.0, 2500.0, 1700.0, "Bend", "Top"},
      {"between", "500 m", "2.1 km", 4, 500.0, 1480.0, 2100.0, 1660.0, NULL, NULL},
      {"inside one leg", "1000 m", "1400 m", 2, 1000.0, 1515.0, 1400.0, 1575.0, NULL, NULL},
      {"to alone", NULL, "Bend", 2, 100.0, 1460.0, 900.0, 1500.0, "Start", "Bend"},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event = event_with(point, COUNT_OF(point));
    char why[200] = "";
    assert_int_equal(ta_event_cut(&event, rows[i].from, rows[i].to, why, sizeof why), TA_OK);
    const ta_course_point *first = event.course.point, *last = first + event.course.count - 1;
    if (event.course.count != rows[i].count)
      fail_msg("%s: %zu points", rows[i].row, event.course.count);
    bad += off(rows[i].row, "first", first->distance_m, rows[i].first_m, 1e-9);
    bad += off(rows[i].row, "its elevation", first->elevation_m, rows[i].first_elevation_m, 1e-9);
    bad += off(rows[i].row, "last", last->distance_m, rows[i].last_m, 1e-9);
    bad += off(rows[i].row, "its elevation", last->elevation_m, rows[i].last_elevation_m, 1e-9);
    bad += off(rows[i].row, "start line", event.start_elevation_m, 1460.0, 0.0);
    assert_true(first->mark == rows[i].first_mark || strcmp(first->mark, rows[i].first_mark) == 0);
    assert_true(last->mark == rows[i].last_mark || strcmp(last->mark, rows[i].last_mark) == 0);
    assert_true(event.is_cut);
    ta_event_free(&event);
  }
  assert_int_equal(bad, 0);
}

static void refusals_leave_the_course_alone(void **state) {
  (void)state;
  ta_course_point point[] = {{.distance_m = 100.0, .elevation_m = 1460.0, .mark = "Start"},
                             {.distance_m = 900.0, .elevation_m = 1500.0}};
  static const struct {
    const char *from, *to, *words;
  } rows[] = {{"Strat", NULL, "neither a distance nor a mark; marks here: \"Start\""},
              {"500", NULL, "neither a distance"},
              {"800 m", "200 m", "no part of a course"},
              {"800 m", "800 m", "no part of a course"},
              {"50 m", NULL, "no part of a course"},
              {NULL, "1 km", "no part of a course"}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_event event = event_with(point, COUNT_OF(point));
    char why[200] = "";
    assert_int_equal(ta_event_cut(&event, rows[i].from, rows[i].to, why, sizeof why),
                     TA_ERR_ARGUMENT);
    if (strstr(why, rows[i].words) == NULL) fail_msg("%zu: %s", i, why);
    assert_ptr_equal(event.course.point, point);
    assert_false(event.is_cut);
    ta_event_free(&event);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_part_keeps_its_places),
      cmocka_unit_test(refusals_leave_the_course_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
