/* test_card.c - the run card: what it shows holds, it fits a page, and what cannot be run gives none. */
#include <gsl/gsl_errno.h>

#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/report.h"

enum { WIDTH = 80, LINES = 60 };

static const ta_style styles[] = {
    {.format = TA_FORMAT_TEXT, .units = TA_METRIC, .version = "0"},
    {.format = TA_FORMAT_TEXT, .units = TA_US, .version = "0"},
};
static const ta_weather weather = {{-1700.0, true}, {-2900.0, true}};

typedef struct {
  ta_prepared prepared;
  ta_plan *plan;
  ta_buffer out;
  char why[900];
  bool printed;
} card;

static void make(invented *it) {
  invented_make(it);
  it->event.name = "made up";
  it->event.car.name = "one that was made up";
  it->event.car.control.positions = 3.0;
  it->event.car.control.resolution_pa = 1000.0;
  it->course[1].mark = "long bend";
}

static void card_print(const invented *it, ta_strategy strategy, const ta_style *style,
                       const ta_weather *changes, card *c) {
  memset(c, 0, sizeof *c);
  c->plan = malloc(sizeof *c->plan);
  assert_non_null(c->plan);
  assert_int_equal(ta_prepare(&it->event, &c->prepared), TA_OK);
  assert_int_equal(ta_plan_make(&c->prepared, c->plan), TA_OK);
  if (strategy == TA_STRATEGY_COUNT) strategy = ta_card_strategy(c->plan);
  c->printed = ta_report_card(&c->prepared, c->plan, strategy, changes, "09:40", style, &c->out,
                              c->why, sizeof c->why);
  assert_true(c->printed == (c->out.length > 0));
  assert_true(c->printed == (c->why[0] == '\0'));
}

static void card_free(card *c) {
  ta_buffer_free(&c->out);
  ta_plan_free(c->plan);
  ta_prepared_free(&c->prepared);
  free(c->plan);
}

/* Does the text stand there, folded and spaced as may be? */
static bool stands(const card *c, const char *text) {
  static char joined[8000];
  size_t n = 0;
  for (const char *at = c->printed ? c->out.text : ""; *at != '\0' && n + 1 < sizeof joined; at++) {
    const bool blank = *at == ' ' || *at == '\n';
    if (!blank || (n > 0 && joined[n - 1] != ' ')) joined[n++] = *at;
    if (blank && n > 0) joined[n - 1] = ' ';
  }
  joined[n] = '\0';
  return strstr(joined, text) != NULL;
}

static void holds(const card *c, const char *text) {
  if (!stands(c, text)) fail_msg("\"%s\" does not stand in\n%s%s", text, c->why, c->out.text);
}

/* What a row of the card says, metric; false: there is no such row. */
static bool row_of(const card *c, const char *place, double *map_kpa, double *boost_bar,
                   double *shaft_rpm, char rest[40]) {
  char pattern[60], thousands[2][20];
  (void)snprintf(pattern, sizeof pattern, "\n%s ", place);
  const char *at = strstr(c->out.text, pattern);
  rest[0] = '\0';
  if (at == NULL || sscanf(at + 1 + strlen(place), "%*f %19s %*f %lf %lf %19s%39[^\n]",
                           thousands[0], map_kpa, boost_bar, thousands[1], rest) < 4)
    return false;
  *shaft_rpm = 0.0;
  for (const char *digit = thousands[1]; *digit != '\0'; digit++)
    if (*digit >= '0' && *digit <= '9') *shaft_rpm = 10.0 * *shaft_rpm + (*digit - '0');
  return true;
}

/* The fastest of the boost window at exactly this MAP, tried one by one. */
static double fastest_at(const card *c, double elevation_m, double map_pa) {
  const ta_event *event = c->prepared.event;
  ta_air air;
  double fastest = 0.0;
  assert_int_equal(ta_day_air(&c->prepared.day, elevation_m, &air), TA_OK);
  for (double rpm = event->car.engine.window_rpm[0]; rpm <= event->car.engine.window_rpm[1];
       rpm += 5.0) {
    ta_operating_point point;
    assert_int_equal(ta_point_solve(&event->car, c->prepared.map, &air, rpm, map_pa, &point),
                     TA_OK);
    fastest = fmax(fastest, point.shaft_rpm);
  }
  return fastest;
}

static void rows_show_caps_that_hold_and_what_the_gauge_should_read(void **state) {
  (void)state;
  static const struct {
    const char *name;
    size_t point;
  } places[] = {{"start", 0}, {"long bend", 1}, {"gate", 2}, {"summit", 3}};
  static const ta_strategy strategies[] = {TA_BY_AMBIENT, TA_BY_POSITION, TA_ONE_CAP};
  int bad = 0;
  for (size_t s = 0; s < COUNT_OF(strategies); s++) {
    invented it;
    card c;
    make(&it);
    card_print(&it, strategies[s], &styles[0], &weather, &c);
    holds(&c, ta_strategy_words(strategies[s]));
    bool before_start = true;
    for (size_t i = 0; i < COUNT_OF(places); i++) {
      const ta_course_point *place = &it.course[places[i].point];
      double map_kpa, boost_bar, shaft_rpm;
      char rest[40];
      ta_air air;
      assert_true(row_of(&c, places[i].name, &map_kpa, &boost_bar, &shaft_rpm, rest));
      assert_int_equal(ta_day_air(&c.prepared.day, place->elevation_m, &air), TA_OK);
      const double cap =
          fmin(ta_strategy_cap(&c.prepared, &c.plan->caps, strategies[s], place->distance_m,
                               air.pressure_pa, it.event.car.engine.window_rpm[1]),
               173300.0);
      assert_true(1e3 * map_kpa <= cap + 1e-3 && 1e3 * map_kpa > cap - 100.0);
      bad +=
          off(places[i].name, "boost", boost_bar, (1e3 * map_kpa - air.pressure_pa) / 1e5, 0.00501);
      bad += off(places[i].name, "shaft", shaft_rpm,
                 fastest_at(&c, place->elevation_m, 1e3 * map_kpa), 1.5);
      assert_true(shaft_rpm < c.prepared.limit_rpm);
      /* the cap starts where the target is not reached any more, and that is said once */
      const bool capped = map_kpa < 173.3;
      assert_true((strstr(rest, "<- cap starts") != NULL) == (capped && before_start));
      before_start = before_start && !capped;
    }
    assert_false(before_start);
    card_free(&c);
  }
  assert_int_equal(bad, 0);
}

static void head_and_blocks_name_the_speeds(void **state) {
  (void)state;
  invented it;
  card c;
  make(&it);
  card_print(&it, TA_STRATEGY_COUNT, &styles[0], &weather, &c);
  /* rated 158,700, limit 152,828: halfway 155,764, down to 500 */
  holds(&c, "ALARM 155,500 rpm NEVER ABOVE 158,700 rpm");
  holds(&c, "made 09:40 from ");
  holds(&c, "table, ambient x engine speed");      /* an absolute controller has a live barometer */
  holds(&c, "MAP must read 84.9 kPa +/- 1.0 kPa"); /* 84,947 Pa: ISO 2533 at 1,463 m */
  holds(&c, "Once above 158,700 rpm");
  holds(&c, "a burst wheel can kill.");
  assert_null(strstr(c.out.text, "blade count"));
  /* the summit alone lies past the map's lines */
  const char *estimate = strstr(c.out.text, " ~1");
  assert_true(estimate != NULL && estimate > strstr(c.out.text, "\nsummit ") &&
              strchr(strstr(c.out.text, "\nsummit ") + 1, '\n') > estimate);
  holds(&c, "~ past the compressor map's lines: an estimate");
  card_free(&c);
  it.event.car.turbo.sensor.blades = 9.0;
  it.event.car.turbo.has_sensor = true;
  card_print(&it, TA_STRATEGY_COUNT, &styles[1], &weather, &c);
  holds(&c, "blade count 9");
  holds(&c, "MAP must read 12.32 psia +/- 0.15 psi"); /* 84,947 Pa/6,894.757 */
  ta_buffer out = {0};
  assert_true(ta_report_card(&c.prepared, c.plan, TA_ONE_CAP, &weather, NULL, &styles[0], &out,
                             c.why, sizeof c.why));
  assert_non_null(strstr(out.text, "made _____ from"));
  ta_buffer_free(&out);
  card_free(&c);
}

/* Every line within the page, in both unit systems, whatever the names. */
static void it_fits_a_page(void **state) {
  (void)state;
  static char wide[101];
  invented it;
  ta_course_point many[40];
  make(&it);
  for (size_t i = 0; i < 50; i++) memcpy(wide + 2 * i, "\xc3\xa9", 2);
  for (size_t i = 0; i < COUNT_OF(many); i++)
    many[i] = (ta_course_point){
        .distance_m = 871.0 * (double)i, .elevation_m = 1463.0 + 67.3 * (double)i, .mark = wide};
  it.event.course = (ta_course){many, COUNT_OF(many)};
  it.event.name = it.event.car.name = wide;
  it.event.car.control.positions = 12.0;
  it.event.car.turbo.sensor.blades = 11.0;
  it.event.car.turbo.has_sensor = true;
  for (int strategy = TA_BY_AMBIENT; strategy < TA_STRATEGY_COUNT; strategy++)
    for (size_t s = 0; s < COUNT_OF(styles); s++) {
      card c;
      card_print(&it, (ta_strategy)strategy, &styles[s], &weather, &c);
      if (!c.printed) fail_msg("%s", c.why);
      int lines = 0, width = 0;
      for (const char *byte = c.out.text; *byte != '\0'; byte++) {
        if (*byte == '\n') {
          assert_true(byte == c.out.text || byte[-1] != ' ');
          lines++;
          width = 0;
        } else {
          width += ((unsigned char)*byte & 0xc0) != 0x80;
        }
        assert_true(width <= WIDTH);
      }
      assert_true(lines <= LINES);
      card_free(&c);
    }
}

static int rows_named(const card *c, const char *with) {
  int count = 0;
  for (const char *at = c->out.text; (at = strstr(at, with)) != NULL; at++) count++;
  return count;
}

static void marks_are_thinned_evenly(void **state) {
  (void)state;
  static char names[40][8];
  invented it;
  card c;
  ta_course_point many[40];
  make(&it);
  for (size_t i = 0; i < COUNT_OF(many); i++) {
    (void)snprintf(names[i], sizeof names[i], "#%zu#", i);
    many[i] = (ta_course_point){.distance_m = 871.0 * (double)i,
                                .elevation_m = 1463.0 + 67.3 * (double)i,
                                .mark = i < 39 ? names[i] : NULL};
  }
  it.event.course = (ta_course){many, COUNT_OF(many)};
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  assert_int_equal(rows_named(&c, "\n#"), 13);
  assert_non_null(strstr(c.out.text, "\n#0#"));
  assert_non_null(strstr(c.out.text, "\nFinish "));
  for (int gap = 0, i = 1; i < 39; i++) { /* 38 marks to 12 rows: none further apart than 4 */
    char row[12];
    (void)snprintf(row, sizeof row, "\n#%d#", i);
    gap = strstr(c.out.text, row) != NULL ? 0 : gap + 1;
    assert_true(gap < 4);
  }
  card_free(&c);
  it.event.car.control.positions = 7.0;
  card_print(&it, TA_BY_POSITION, &styles[0], &weather, &c);
  assert_int_equal(rows_named(&c, "\n#"), 13);
  assert_int_equal(c.plan->caps.positions.count, 7);
  for (size_t i = 1; i < c.plan->caps.positions.count; i++) { /* where the knob is turned stays */
    char row[12], knob[12];
    (void)snprintf(row, sizeof row, "\n%s", c.plan->caps.positions.position[i].from_mark);
    (void)snprintf(knob, sizeof knob, "   %zu", i + 1);
    const char *at = strstr(c.out.text, row);
    assert_non_null(at);
    const char *number = strstr(at, knob);
    assert_true(number != NULL && number < strchr(at + 1, '\n'));
  }
  card_free(&c);
}

static void an_early_shift_is_told(void **state) {
  (void)state;
  invented it;
  card c;
  make(&it);
  card_print(&it, TA_EARLY_SHIFT, &styles[0], &weather, &c);
  double map_kpa, boost_bar, shaft_rpm;
  char rest[40], rpm[60];
  const double shift = 50.0 * floor(c.plan->caps.shift.engine_rpm / 50.0);
  (void)snprintf(rpm, sizeof rpm, "SHIFT AT %.0f,%03.0f rpm", floor(shift / 1e3), fmod(shift, 1e3));
  holds(&c, rpm);
  assert_true(row_of(&c, "summit", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_true(map_kpa == 173.3 && shaft_rpm < c.prepared.limit_rpm);
  it.event.car.engine.window_rpm[1] = shift;
  assert_int_equal(off("summit", "shaft", shaft_rpm, fastest_at(&c, 4117.0, 173300.0), 1.5), 0);
  holds(&c, "warmer: plan again. Up to 10 hPa lower: plan again."); /* a cap's change is no help */
  card_free(&c);
}

static void a_clear_plan_shows_its_target(void **state) {
  (void)state;
  static const ta_weather none = {{0.0, true}, {-1.0, true}};
  invented it;
  card c;
  make(&it);
  it.event.goal.map_pa = 146e3;
  card_print(&it, TA_ONE_CAP, &styles[0], &none, &c);
  assert_int_equal(c.plan->verdict, TA_CLEAR);
  holds(&c, "full target, no cap");
  holds(&c, "warmer: target as it is. Up to 10 hPa lower: target -1 kPa.");
  assert_null(strstr(c.out.text, "cap starts"));
  double map_kpa, boost_bar, shaft_rpm;
  char rest[40];
  assert_true(row_of(&c, "summit", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_true(map_kpa == 146.0);
  ta_buffer knob = {0}; /* whatever way to run it is asked for */
  assert_true(ta_report_card(&c.prepared, c.plan, TA_BY_POSITION, &none, "09:40", &styles[0], &knob,
                             c.why, sizeof c.why));
  assert_string_equal(knob.text, c.out.text);
  ta_buffer_free(&knob);
  card_free(&c);
}

static void weather_is_rounded_to_the_careful_side(void **state) {
  (void)state;
  static const struct {
    ta_cap_change change;
    ta_unit_system units;
    const char *want;
  } rows[] = {
      {{-1.0, true},
       TA_METRIC,
       "lower: cap -1 kPa. Both at once: both off. More than either: new "
       "reading, plan again. Colder, or higher: no more than planned."},
      {{-2000.0, true}, TA_METRIC, "lower: cap -2 kPa."},
      {{-2003.0, true}, TA_METRIC, "lower: cap -3 kPa."},
      {{0.0, true}, TA_METRIC, "lower: cap as it is."},
      /* nothing is raised off a card, and the other way it may fall */
      {{1300.0, true},
       TA_METRIC,
       "lower: cap as it is. Both at once: both off. More than either: "
       "new reading, plan again. Colder, or higher: plan again."},
      {{-2000.0, false},
       TA_METRIC,
       "lower: plan again. More than either: new reading, plan again. "
       "Colder, or higher: plan again."},
      /* 1 psi = 6,894.757 Pa (NIST SP 811) */
      {{-3440.0, true}, TA_US, "lower: cap -0.5 psi."},
      {{-3460.0, true}, TA_US, "lower: cap -1.0 psi."},
  };
  invented it;
  make(&it);
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    const ta_weather changes = {{-1700.0, true}, rows[i].change};
    card c;
    card_print(&it, TA_ONE_CAP, &styles[rows[i].units], &changes, &c);
    holds(&c, rows[i].want);
    holds(&c, rows[i].units == TA_US ? "Up to 9 degF warmer: cap -0.5 psi."
                                     : "Up to 5 degC warmer: cap -2 kPa.");
    card_free(&c);
  }
  /* a row of the table loses more than the one cap does */
  static const ta_weather mild = {{-1.0, true}, {-1.0, true}};
  card c;
  card_print(&it, TA_BY_AMBIENT, &styles[0], &mild, &c);
  double most = 0.0;
  for (size_t i = 0; i < c.plan->caps.schedule.count; i++)
    most = fmin(most, 0.5 * c.plan->caps.schedule.row[i].per_10k);
  char want[60];
  (void)snprintf(want, sizeof want, "warmer: cap -%.0f kPa", ceil(-most / 1e3));
  assert_true(most < -1000.0);
  holds(&c, want);
  card_free(&c);
}

/* The boost is what a gauge controller is set to, and what is rounded. */
static void a_gauge_controller_is_set_by_its_boost(void **state) {
  (void)state;
  invented it;
  card c;
  make(&it);
  it.event.car.control.holds = TA_HOLDS_GAUGE;
  it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  holds(&c, "set the boost column");
  holds(&c, "cap -0.02 bar");
  double map_kpa, boost_bar, shaft_rpm;
  char rest[40];
  assert_true(row_of(&c, "summit", &map_kpa, &boost_bar, &shaft_rpm, rest));
  const double cap_bar = c.plan->caps.constant.set_point / 1e5;
  assert_true(boost_bar <= cap_bar && boost_bar > cap_bar - 0.01);
  ta_air air;
  assert_int_equal(ta_day_air(&c.prepared.day, 4117.0, &air), TA_OK);
  assert_int_equal(off("summit", "shaft", shaft_rpm,
                       fastest_at(&c, 4117.0, 1e5 * boost_bar + air.pressure_pa), 1.5),
                   0);
  card_free(&c);
}

/* An alarm that sounds at the limit all the way up, or at the rated speed, is told on the card. */
static void no_room_for_an_alarm_is_told(void **state) {
  (void)state;
  invented it;
  card c;
  make(&it);
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  assert_false(stands(&c, "NOTE"));
  card_free(&c);
  it.event.goal.margin = 0.0037; /* of 158,700 rpm: 587.2 */
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  holds(&c, "NOTE limit and rated speed lie 587 rpm apart: too little room for an alarm");
  card_free(&c);
}

static void change_to_unsure(invented *it) {
  it->event.goal.map_pa = 191e3; /* far above the top line, and within the limit */
  it->event.car.turbo.rated_rpm = 211e3;
}

static void change_to_cannot_cap(invented *it) {
  it->event.goal.map_pa = 146e3;
  it->event.car.control.minimum_boost_pa = 130e3;
  it->event.car.control.has_minimum_boost = true;
}

static void change_to_no_cap(invented *it) {
  it->event.car.control.minimum_boost_pa = 130e3;
  it->event.car.control.has_minimum_boost = true;
}

static void change_to_no_positions(invented *it) {
  it->event.car.control.positions = 1.0;
}

static void change_to_a_cold_reading(invented *it) {
  it->station[0] = (ta_station){
      .elevation_m = 1463.0, .temperature_k = 267.3, .pressure_pa = 85170.0, .has_pressure = true};
  it->event.day.station = it->station;
  it->event.day.station_count = 1;
  it->event.day_is_isa = false;
}

static void change_to_choke(invented *it) {
  for (size_t i = 0; i < 4; i++) it->course[i].elevation_m = 3907.0 + 53.0 * (double)i;
  it->event.car.engine.displacement_m3 *= 1.7;
}

static void what_cannot_be_run_gives_no_card(void **state) {
  (void)state;
  static const struct {
    void (*change)(invented *);
    ta_strategy strategy;
    ta_verdict verdict;
    const char *why;
  } rows[] = {
      {change_to_unsure, TA_STRATEGY_COUNT, TA_UNSURE, "not enough is known to run the target: "},
      {change_to_cannot_cap, TA_STRATEGY_COUNT, TA_CANNOT_CAP, "the wastegate's spring alone"},
      {change_to_no_cap, TA_STRATEGY_COUNT, TA_OVER, "no cap can be had that avoids it: the waste"},
      {change_to_no_cap, TA_ONE_CAP, TA_OVER, "constant cannot be had"},
      {change_to_no_positions, TA_BY_POSITION, TA_OVER,
       "positions cannot be had; what can: table schedule constant shift_speed"},
      {change_to_a_cold_reading, TA_STRATEGY_COUNT, TA_OVER,
       "not enough is known to run a cap: one cold valley reading"},
      {change_to_choke, TA_STRATEGY_COUNT, TA_OVER, "right of the lines' ends"},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    card c;
    make(&it);
    rows[i].change(&it);
    card_print(&it, rows[i].strategy, &styles[0], &weather, &c);
    if (c.plan->verdict != rows[i].verdict || c.printed || strstr(c.why, rows[i].why) == NULL)
      fail_msg("row %zu: %s, %s, %s", i, ta_verdict_name(c.plan->verdict),
               c.printed ? c.out.text : "refused", c.why);
    card_free(&c);
  }
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_show_caps_that_hold_and_what_the_gauge_should_read),
      cmocka_unit_test(head_and_blocks_name_the_speeds),
      cmocka_unit_test(it_fits_a_page),
      cmocka_unit_test(marks_are_thinned_evenly),
      cmocka_unit_test(an_early_shift_is_told),
      cmocka_unit_test(a_clear_plan_shows_its_target),
      cmocka_unit_test(weather_is_rounded_to_the_careful_side),
      cmocka_unit_test(a_gauge_controller_is_set_by_its_boost),
      cmocka_unit_test(no_room_for_an_alarm_is_told),
      cmocka_unit_test(what_cannot_be_run_gives_no_card),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
