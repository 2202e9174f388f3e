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

/* Ambient pressure at an elevation. */
static double ambient_at(const card *c, double elevation_m) {
  ta_air air;
  assert_int_equal(ta_day_air(&c->prepared.day, elevation_m, &air), TA_OK);
  return air.pressure_pa;
}

/* Does the strategy hold the target back at a place, by more than the controller's step? */
static bool is_capped(const card *c, ta_strategy strategy, double distance_m) {
  const ta_event *event = c->prepared.event;
  const double ambient_pa = ambient_at(c, ta_course_elevation(&event->course, distance_m)),
               rpm = event->car.engine.window_rpm[1],
               step_pa = strategy == TA_BY_TABLE || strategy == TA_BY_AMBIENT
                             ? event->car.control.resolution_pa
                             : 0.0;
  return ta_strategy_cap(&c->prepared, &c->plan->caps, strategy, distance_m, ambient_pa, rpm) <
         ta_prepared_goal(&c->prepared, rpm) - step_pa - 1.0;
}

/* Distance on the one row that says so [m]. */
static double cap_starts_at(const card *c) {
  const char *arrow = strstr(c->out.text, "<- cap starts");
  double km = (double)NAN;
  assert_non_null(arrow);
  assert_null(strstr(arrow + 1, "<- cap starts"));
  const char *row = arrow;
  while (row > c->out.text && row[-1] != '\n') row--;
  for (row += *row == '-'; *row != '\0' && !(*row >= '0' && *row <= '9'); row++) continue;
  assert_int_equal(sscanf(row, "%lf", &km), 1);
  return 1e3 * km;
}

static void rows_show_caps_that_hold_and_what_the_gauge_should_read(void **state) {
  (void)state;
  static const struct {
    const char *name;
    size_t point;
  } places[] = {{"start", 0}, {"long bend", 1}, {"gate", 2}, {"summit", 3}};
  static const ta_strategy strategies[] = {TA_BY_TABLE, TA_BY_AMBIENT, TA_BY_POSITION, TA_ONE_CAP};
  int bad = 0;
  for (size_t s = 0; s < COUNT_OF(strategies); s++) {
    invented it;
    card c;
    make(&it);
    card_print(&it, strategies[s], &styles[0], &weather, &c);
    holds(&c, ta_strategy_words(strategies[s]));
    holds(&c, "At 7,270 rpm and full throttle, overshoot off, the gauges should read: ");
    for (size_t i = 0; i < COUNT_OF(places); i++) {
      const ta_course_point *place = &it.course[places[i].point];
      double map_kpa, boost_bar, shaft_rpm;
      char rest[40];
      assert_true(row_of(&c, places[i].name, &map_kpa, &boost_bar, &shaft_rpm, rest));
      const double ambient_pa = ambient_at(&c, place->elevation_m);
      const double cap = fmin(ta_strategy_cap(&c.prepared, &c.plan->caps, strategies[s],
                                              place->distance_m, ambient_pa, 7270.0),
                              173300.0);
      assert_true(1e3 * map_kpa <= cap + 1e-3 && 1e3 * map_kpa > cap - 100.0);
      bad += off(places[i].name, "boost", boost_bar, (1e3 * map_kpa - ambient_pa) / 1e5 - 0.005,
                 0.00501); /* not rounded up */
      bad += off(places[i].name, "shaft", shaft_rpm,
                 fastest_at(&c, place->elevation_m, 1e3 * map_kpa), 1.5);
      assert_true(shaft_rpm < c.prepared.limit_rpm);
    }
    const double starts_m = cap_starts_at(&c);
    assert_true(is_capped(&c, strategies[s], starts_m + 60.0));
    for (double at = 0.0; at < starts_m - 160.0; at += 97.0)
      assert_false(is_capped(&c, strategies[s], at));
    card_free(&c);
  }
  assert_int_equal(bad, 0);
}

/* Without a mark near, the place has a row of its own. */
static void where_the_cap_starts_has_a_row(void **state) {
  (void)state;
  static const ta_strategy strategies[] = {TA_BY_TABLE, TA_BY_AMBIENT};
  for (size_t s = 0; s < COUNT_OF(strategies); s++) {
    invented it;
    card c;
    make(&it);
    for (size_t i = 0; i < 4; i++) it.course[i].mark = NULL;
    card_print(&it, strategies[s], &styles[0], &weather, &c);
    const double starts_m = cap_starts_at(&c);
    assert_true(starts_m > 1e3 && starts_m < 30e3);
    assert_false(is_capped(&c, strategies[s], starts_m - 60.0));
    assert_true(is_capped(&c, strategies[s], starts_m + 60.0));
    double map_kpa, boost_bar, shaft_rpm;
    char rest[40], elevation[20], shown[30];
    assert_true(row_of(&c, "-", &map_kpa, &boost_bar, &shaft_rpm, rest));
    assert_string_equal(rest, "  <- cap starts");
    assert_true(map_kpa > 171.9 && map_kpa <= 173.3);
    assert_int_equal(sscanf(strstr(c.out.text, "\n- ") + 2, "%*f %19s", elevation), 1);
    const double high_m = ta_course_elevation(&it.event.course, starts_m);
    double thousands, rest_m;
    assert_int_equal(sscanf(elevation, "%lf,%lf", &thousands, &rest_m), 2);
    assert_int_equal(off("elevation", "m", 1e3 * thousands + rest_m, high_m, 5.0), 0);
    (void)snprintf(shown, sizeof shown, "\nStart ");
    assert_true(strstr(c.out.text, shown) < strstr(c.out.text, "\n- "));
    assert_true(strstr(c.out.text, "\n- ") < strstr(c.out.text, "\nFinish "));
    card_free(&c);
    /* a mark within 100 m of it serves */
    it.course[1] =
        (ta_course_point){.distance_m = starts_m + 70.0,
                          .elevation_m = ta_course_elevation(&it.event.course, starts_m + 70.0),
                          .mark = "just there"};
    card_print(&it, strategies[s], &styles[0], &weather, &c);
    assert_null(strstr(c.out.text, "\n- "));
    assert_true(row_of(&c, "just there", &map_kpa, &boost_bar, &shaft_rpm, rest));
    assert_string_equal(rest, "  <- cap starts");
    card_free(&c);
  }
}

/* The set-points that stand after a text as "A at B", in SI; their number. */
static size_t pairs_after(const card *c, const char *text, double set_si, double ambient_si,
                          double pair[][2]) {
  static char joined[8000];
  size_t count = 0, n = 0;
  for (const char *at = c->out.text; *at != '\0' && n + 1 < sizeof joined; at++)
    if ((*at != ' ' && *at != '\n') || (n > 0 && joined[n - 1] != ' '))
      joined[n++] = *at == '\n' ? ' ' : *at;
  joined[n] = '\0';
  const char *at = strstr(joined, text);
  if (at == NULL) fail_msg("\"%s\" does not stand in\n%s%s", text, c->why, c->out.text);
  for (at += strlen(text); sscanf(at, "%lf at %lf", &pair[count][0], &pair[count][1]) == 2;
       count++) {
    pair[count][0] *= set_si;
    pair[count][1] *= ambient_si;
    at += strcspn(at, ",;") + 1;
  }
  return count;
}

/* What is typed off the card is nowhere above the schedule. */
static void a_schedule_is_told_row_by_row(void **state) {
  (void)state;
  /* 1 psi = 6,894.757 Pa, 1 inHg = 3,386.389 Pa (NIST SP 811) */
  static const struct {
    size_t style;
    ta_holds holds;
    const char *text;
    double set_si, ambient_si, step_pa;
  } rows[] = {
      {0, TA_HOLDS_ABSOLUTE, "Set MAP by ambient, kPa at kPa: ", 1e3, 1e3, 100.0},
      {1, TA_HOLDS_ABSOLUTE, "Set MAP by ambient, psia at inHg: ", 6894.757, 3386.389, 69.0},
      {0, TA_HOLDS_GAUGE, "Set boost by ambient, bar at kPa: ", 1e5, 1e3, 1000.0},
      {1, TA_HOLDS_GAUGE, "Set boost by ambient, psi at inHg: ", 6894.757, 3386.389, 690.0},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    invented it;
    card c;
    double pair[TA_AXIS_MAX][2];
    make(&it);
    it.event.car.control.holds = rows[i].holds;
    it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
    card_print(&it, TA_BY_AMBIENT, &styles[rows[i].style], &weather, &c);
    const ta_schedule *schedule = &c.plan->caps.schedule;
    const size_t count = pairs_after(&c, rows[i].text, rows[i].set_si, rows[i].ambient_si, pair);
    assert_int_equal(count, schedule->count);
    for (size_t k = 0; k < count; k++) {
      const ta_schedule_row *row = &schedule->row[k];
      assert_true(pair[k][0] <= row->set_point + 0.1 &&
                  pair[k][0] > row->set_point - rows[i].step_pa - 0.1);
      assert_true(pair[k][1] >= row->ambient_pa - 0.1 && pair[k][1] < row->ambient_pa + 100.0);
      for (int part = 0; k + 1 < count && part < 7; part++) {
        const double share = part / 7.0,
                     ambient_pa = pair[k][1] + share * (pair[k + 1][1] - pair[k][1]);
        assert_true(pair[k][0] + share * (pair[k + 1][0] - pair[k][0]) <=
                    ta_schedule_read(&c.prepared, schedule, ambient_pa) + 0.2);
      }
    }
    holds(&c, "; linear between them.");
    card_free(&c);
    it.event.car.control.interpolation = 1.0;
    card_print(&it, TA_BY_AMBIENT, &styles[0], &weather, &c);
    holds(&c, "; in steps.");
    card_free(&c);
  }
}

static void it_says_what_is_to_be_set(void **state) {
  (void)state;
  invented it;
  card c;
  char want[200];
  make(&it);
  card_print(&it, TA_BY_TABLE, &styles[0], &weather, &c);
  holds(&c,
        "Load the controller table (thinair plan --table FILE); the MAP column is what it gives "
        "at 7,270 rpm, for checking only.");
  assert_false(stands(&c, "Set MAP"));
  card_free(&c);
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  (void)snprintf(want, sizeof want, "one cap for the whole run. Set MAP %.1f kPa.",
                 floor(c.plan->caps.constant.set_point / 100.0) / 10.0);
  holds(&c, want);
  card_free(&c);
  card_print(&it, TA_BY_POSITION, &styles[0], &weather, &c);
  const ta_position *position = c.plan->caps.positions.position;
  assert_int_equal(c.plan->caps.positions.count, 2);
  (void)snprintf(
      want, sizeof want,
      "positions of a knob. Set MAP, kPa: no. 1 %.1f, no. 2 %.1f. Turn it where the knob "
      "column changes.",
      floor(position[0].cap.set_point / 100.0 + 1e-6) / 10.0,
      floor(position[1].cap.set_point / 100.0 + 1e-6) / 10.0);
  holds(&c, want);
  card_free(&c);
  it.event.car.control.holds = TA_HOLDS_GAUGE;
  it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
  card_print(&it, TA_BY_TABLE, &styles[0], &weather, &c);
  holds(&c, "the boost column is what it gives at 7,270 rpm, for checking only.");
  card_free(&c);
}

/* The columns are at one engine speed, and a target that is higher at another says so. */
static void a_target_over_engine_speed_is_told(void **state) {
  (void)state;
  static const ta_goal_point goal[] = {{.engine_rpm = 4130.0, .map_pa = 161300.0, .has_map = true},
                                       {.engine_rpm = 5230.0, .map_pa = 173300.0, .has_map = true},
                                       {.engine_rpm = 6130.0, .map_pa = 167700.0, .has_map = true},
                                       {.engine_rpm = 7270.0, .map_pa = 158900.0, .has_map = true}};
  invented it;
  card c;
  double map_kpa, boost_bar, shaft_rpm;
  char rest[40], want[120];
  make(&it);
  memcpy(it.goal, goal, sizeof goal);
  it.event.goal =
      (ta_goal){.point = it.goal, .point_count = COUNT_OF(goal), .has_map = true, .margin = 0.037};
  it.event.car.turbo.rated_rpm = 149900.0;
  card_print(&it, TA_BY_TABLE, &styles[0], &weather, &c);
  assert_int_equal(c.plan->verdict, TA_OVER);
  holds(&c,
        "More is set at other engine speeds: 173.0 kPa of MAP at 5,230 rpm in the first row. At "
        "7,270 rpm");
  assert_true(row_of(&c, "start", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_true(map_kpa <= 158.9 && map_kpa > 157.8);
  card_free(&c);
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  (void)snprintf(want, sizeof want, "Set the target by engine speed, nowhere above MAP %.1f kPa.",
                 floor(c.plan->caps.constant.set_point / 100.0) / 10.0);
  holds(&c, want);
  assert_true(row_of(&c, "start", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_true(map_kpa <= 158.9);
  card_free(&c);
  it.event.car.turbo.rated_rpm = 138700.0; /* the cap is below what is asked at any speed */
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  assert_true(c.plan->caps.constant.set_point < 158900.0);
  assert_false(stands(&c, "More is set"));
  card_free(&c);
  it.event.car.turbo.rated_rpm = 178300.0;
  card_print(&it, TA_ONE_CAP, &styles[1], &weather, &c);
  assert_int_equal(c.plan->verdict, TA_CLEAR);
  holds(&c, "full target, no cap. Set the target by engine speed, nowhere above MAP 25.13 psia.");
  card_free(&c);
}

/* Where the spring gives more than is set, the car makes the spring's. */
static void the_spring_is_told_where_it_rules(void **state) {
  (void)state;
  invented it;
  card c;
  double map_kpa, boost_bar, shaft_rpm;
  char rest[40];
  make(&it);
  it.event.goal.map_pa = 141300.0;
  it.event.car.control.minimum_boost_pa = 71700.0;
  it.event.car.control.has_minimum_boost = true;
  card_print(&it, TA_STRATEGY_COUNT, &styles[0], &weather, &c);
  assert_int_equal(c.plan->verdict, TA_CLEAR);
  const double spring_pa = ambient_at(&c, 1463.0) + 71700.0; /* 84,947 + 71,700 */
  assert_true(row_of(&c, "start", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_int_equal(off("start", "MAP", map_kpa, 156.6, 0.001), 0);
  assert_int_equal(off("start", "boost", boost_bar, 0.71, 0.0001), 0);
  assert_int_equal(off("start", "shaft", shaft_rpm, fastest_at(&c, 1463.0, spring_pa), 1.5), 0);
  assert_string_equal(rest, "  <- spring");
  holds(&c, "spring: the wastegate's spring gives that there, whatever is set.");
  holds(&c, "Set MAP 141.3 kPa.");
  /* 61.5 kPa at the summit: the target is above the spring there */
  assert_true(row_of(&c, "summit", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_string_equal(rest, "");
  assert_int_equal(off("summit", "MAP", map_kpa, 141.3, 0.001), 0);
  card_free(&c);
  it.event.car.control.has_minimum_boost = false;
  card_print(&it, TA_STRATEGY_COUNT, &styles[0], &weather, &c);
  assert_false(stands(&c, "spring"));
  card_free(&c);
}

/* What is typed is a boost above what the controller reads where the key is turned. */
static void key_on_is_told_with_its_place(void **state) {
  (void)state;
  invented it;
  card c;
  char want[200], rest[40];
  double map_kpa, boost_bar, shaft_rpm;
  make(&it);
  it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  it.event.car.control.has_barometer_read_at = true;
  it.event.car.control.barometer_read_at_m = 1957.0;
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  const double read_pa = ambient_at(&c, 1957.0);
  const double typed = floor((c.plan->caps.constant.set_point - read_pa) / 1e3) / 100.0;
  (void)snprintf(want, sizeof want,
                 "Set boost above key-on %.2f bar: the controller adds it to the %.1f kPa that it "
                 "reads when the key is turned at 1,957 m.",
                 typed, read_pa / 1e3);
  holds(&c, want);
  (void)snprintf(want, sizeof want,
                 "BEFORE Key on at 1,957 m, engine off: MAP must read %.1f kPa +/- 1.0 kPa.",
                 read_pa / 1e3);
  holds(&c, want);
  holds(&c, "Leave the key on from there: turned again it reads another ambient.");
  assert_true(row_of(&c, "summit", &map_kpa, &boost_bar, &shaft_rpm, rest));
  assert_true(1e3 * map_kpa <= read_pa + 1e5 * typed + 0.1 &&
              1e3 * map_kpa > read_pa + 1e5 * typed - 100.0);
  card_free(&c);
  it.event.car.control.has_barometer_read_at = false;
  card_print(&it, TA_BY_POSITION, &styles[0], &weather, &c);
  holds(&c, "Set boost above key-on, bar: no. 1 0.88, no. 2 ");
  holds(&c, "Key on at 1,463 m, engine off: MAP must read 84.9 kPa");
  card_free(&c);
}

/* A target that the sensor cannot read does not stand against a cap that it can. */
static void a_cap_within_the_sensor_is_printed(void **state) {
  (void)state;
  static const ta_strategy strategies[] = {TA_STRATEGY_COUNT, TA_BY_TABLE, TA_BY_AMBIENT,
                                           TA_ONE_CAP};
  invented it;
  card c;
  make(&it);
  it.event.goal.map_pa = 149700.0;
  it.event.car.control.map_sensor_pa = 151300.0;
  it.event.car.control.has_map_sensor = true;
  for (size_t i = 0; i < COUNT_OF(strategies); i++) {
    double map_kpa, boost_bar, shaft_rpm;
    char rest[40];
    card_print(&it, strategies[i], &styles[0], &weather, &c);
    assert_int_equal(c.plan->verdict, TA_UNSURE);
    if (!c.printed) fail_msg("%s", c.why);
    assert_true(row_of(&c, "start", &map_kpa, &boost_bar, &shaft_rpm, rest));
    assert_true(1e3 * map_kpa <= 0.98 * 151300.0 - 5300.0); /* overshoot is read, too */
    assert_string_equal(rest, "  <- cap starts");
    card_free(&c);
  }
  card_print(&it, TA_BY_POSITION, &styles[0], &weather, &c);
  assert_false(c.printed);
  assert_non_null(strstr(c.why, "positions cannot be had; what can: table schedule constant"));
  card_free(&c);
  /* with the key turned in the valley too, what holds the whole target is refused */
  it.event.goal.map_pa = 173300.0;
  it.event.car.control.map_sensor_pa = 175100.0;
  card_print(&it, TA_EARLY_SHIFT, &styles[0], &weather, &c);
  assert_int_equal(c.plan->verdict, TA_OVER);
  assert_true(ta_strategy_offered(&c.plan->caps, TA_EARLY_SHIFT));
  assert_false(c.printed);
  assert_non_null(strstr(c.why, "not enough is known to run the target: the target, overshoot on"));
  card_free(&c);
  card_print(&it, TA_BY_TABLE, &styles[0], &weather, &c);
  assert_true(c.printed);
  card_free(&c);
  /* another doubt of the whole day still stands against every run */
  it.event.goal.map_pa = 149700.0;
  it.event.car.control.map_sensor_pa = 151300.0;
  it.station[0] = (ta_station){
      .elevation_m = 1463.0, .temperature_k = 267.3, .pressure_pa = 85170.0, .has_pressure = true};
  it.event.day.station = it.station;
  it.event.day.station_count = 1;
  it.event.day_is_isa = false;
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  assert_int_equal(c.plan->verdict, TA_UNSURE);
  assert_false(c.printed);
  assert_non_null(strstr(c.why, "not enough is known to run a cap: one cold valley reading"));
  card_free(&c);
}

/* A part of the course is checked where it begins. */
static void a_part_begins_with_its_own_ambient(void **state) {
  (void)state;
  invented it;
  card c;
  char want[120];
  make(&it);
  it.event.is_cut = true;
  it.event.start_elevation_m = 1463.0;
  it.event.course = (ta_course){it.course + 2, 2};
  card_print(&it, TA_BY_TABLE, &styles[0], &weather, &c);
  const double ambient_pa = ambient_at(&c, 3512.0);
  (void)snprintf(want, sizeof want,
                 "Key on at gate (3,512 m), engine off: MAP must read %.1f kPa +/- 1.0 kPa.",
                 ambient_pa / 1e3);
  holds(&c, want);
  (void)snprintf(want, sizeof want, "%.1f kPa at 3,512 m\n", ambient_pa / 1e3);
  assert_non_null(strstr(c.out.text, want));
  card_free(&c);
  /* what the controller has read stays that of the start */
  it.event.car.control.holds = TA_HOLDS_GAUGE_KEY_ON;
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  holds(&c, "Key on at 1,463 m, engine off: MAP must read 84.9 kPa");
  card_free(&c);
}

/* In US units, too, no column of a cap is above it. */
static void nothing_is_rounded_up_in_us_units(void **state) {
  (void)state;
  static const ta_holds holding[] = {TA_HOLDS_ABSOLUTE, TA_HOLDS_GAUGE, TA_HOLDS_GAUGE_KEY_ON};
  static const char *const names[] = {"start", "long bend", "gate", "summit"};
  for (size_t h = 0; h < COUNT_OF(holding); h++)
    for (int s = TA_BY_TABLE; s < TA_EARLY_SHIFT; s++) {
      invented it;
      card c;
      make(&it);
      it.event.car.control.holds = holding[h];
      it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
      card_print(&it, (ta_strategy)s, &styles[1], &weather, &c);
      assert_int_equal(c.plan->verdict, TA_OVER);
      assert_true(c.printed == (h != 2 || s == TA_BY_POSITION || s == TA_ONE_CAP));
      for (size_t i = 0; c.printed && i < COUNT_OF(names); i++) {
        double map_psia, boost_psi, shaft_rpm;
        char rest[40];
        const ta_course_point *place = &it.course[i];
        assert_true(row_of(&c, names[i], &map_psia, &boost_psi, &shaft_rpm, rest));
        const double ambient_pa = ambient_at(&c, place->elevation_m),
                     set = fmin(ta_strategy_cap(&c.prepared, &c.plan->caps, (ta_strategy)s,
                                                place->distance_m, ambient_pa, 7270.0),
                                ta_prepared_goal(&c.prepared, 7270.0)),
                     map_pa = ta_set_point_map(&c.prepared, set, ambient_pa);
        /* 1 psi = 6,894.757 Pa (NIST SP 811) */
        assert_true(map_psia * 6894.757 <= map_pa + 0.1);
        assert_true(boost_psi * 6894.757 <= map_pa - ambient_pa + 0.1);
        assert_true(boost_psi * 6894.757 > map_pa - ambient_pa - 2.0 * 689.5);
      }
      card_free(&c);
    }
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
  holds(&c, "MAP must read 12.32 psia +/- 0.14 psi"); /* 84,947 Pa/6,894.757 */
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
  static double axis_pa[TA_AXIS_MAX];
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
  for (size_t i = 0; i < TA_AXIS_MAX; i++) axis_pa[i] = 53170.0 + 1030.0 * (double)i;
  it.event.car.control.pressure_axis_pa = axis_pa;
  it.event.car.control.pressure_axis_count = TA_AXIS_MAX;
  it.event.car.engine.window_rpm[0] = 2311.0; /* left of the surge line */
  it.event.car.turbo.sensor.blades = 11.0;
  it.event.car.turbo.has_sensor = true;
  for (int strategy = TA_BY_AMBIENT; strategy < TA_STRATEGY_COUNT; strategy++)
    for (size_t s = 0; s < COUNT_OF(styles); s++) {
      card c;
      card_print(&it, (ta_strategy)strategy, &styles[s], &weather, &c);
      if (!c.printed) fail_msg("%s", c.why);
      assert_true(c.plan->surges_below_rpm > 0.0);
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

/* RFC 3629, section 4: the lengths that its first bytes announce. */
static bool is_utf_8(const char *text) {
  while (*text != '\0') {
    const unsigned char first = (unsigned char)*text++;
    int more = first < 0x80                    ? 0
               : first >= 0xc2 && first < 0xe0 ? 1
               : (first & 0xf0) == 0xe0        ? 2
                                               : 3;
    if (first >= 0x80 && (first < 0xc2 || first > 0xf4)) return false;
    for (; more > 0; more--)
      if (((unsigned char)*text++ & 0xc0) != 0x80) return false;
  }
  return true;
}

/* Letters of two, three and four bytes, of names longer than a cell, at every length about it. */
static void names_are_cut_between_characters(void **state) {
  (void)state;
  static const char *const signs[] = {"\u00e9", "\u5c71", "\U0001f3d4"};
  invented it;
  for (size_t k = 0; k < COUNT_OF(signs); k++)
    for (size_t length = 10; length <= 60; length += 7) {
      char name[4 * 60 + 1] = "";
      for (size_t i = 0; i < length; i++) (void)strcat(name, signs[k]);
      make(&it);
      it.course[1].mark = name;
      card c;
      card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
      assert_true(c.printed && is_utf_8(c.out.text));
      if (length <= 17) holds(&c, name); /* there is room for it */
      card_free(&c);
    }
}

/* Source  Unicode Standard Annex 9, X5c and X6a: first strong isolate, pop directional isolate.  The
 *         words: common practice, Hebrew, Arabic, and N'Ko beside Latin and Armenian. */
static void names_from_right_to_left_leave_the_numbers_alone(void **state) {
  (void)state;
  static const struct {
    const char *mark;
    bool isolated;
  } rows[] = {{"\u05e9\u05e2\u05e8", true}, {"Gate \u0628\u0627\u0628", true},
              {"\u07ca\u07cb", true},       {"\ufefb", true},
              {"\U0001e900", true},         {"\u0531\u0580\u0562", false},
              {"caf\u00e9 \u5c71", false},  {"Gate", false}};
  invented it;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char want[100];
    make(&it);
    it.course[1].mark = rows[i].mark;
    card c;
    card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
    assert_true(c.printed && is_utf_8(c.out.text));
    (void)snprintf(want, sizeof want, "\n%s%s%s ", rows[i].isolated ? "\u2068" : "", rows[i].mark,
                   rows[i].isolated ? "\u2069" : "");
    if (strstr(c.out.text, want) == NULL) fail_msg("row %zu is not there", i);
    assert_int_equal(strstr(c.out.text, "\u2068") != NULL, rows[i].isolated);
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
  holds(&c, "one cap for the whole run. Set boost 1.03 bar.");
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

/* A target left of the surge line at low engine speed is to be kept out of. */
static void surge_is_told(void **state) {
  (void)state;
  invented it;
  card c;
  char want[80];
  make(&it);
  it.event.car.engine.window_rpm[0] = 2311.0;
  card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
  (void)snprintf(want, sizeof want, "IN RUN Full throttle above %.0f,%03.0f rpm only: ",
                 floor(c.plan->surges_below_rpm / 1e3), fmod(c.plan->surges_below_rpm, 1e3));
  holds(&c, want);
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

/* One cap, solved again at the summit, overshoot on: a throat within 3 % of its choke gives no card. */
static void a_throat_near_its_choke_gives_no_card(void **state) {
  (void)state;
  int refused = 0, printed = 0;
  for (double diameter_m = 0.0493; diameter_m > 0.0393; diameter_m *= 0.9911) {
    invented it;
    card c;
    make(&it);
    it.event.car.intake.has_restrictor = true;
    it.event.car.intake.restrictor = (ta_restrictor){diameter_m, 1.0, 0.93};
    card_print(&it, TA_ONE_CAP, &styles[0], &weather, &c);
    ta_operating_point point;
    const double set_point = 100.0 * floor(c.plan->caps.constant.set_point / 100.0);
    assert_int_equal(ta_worst_in_window(&c.prepared, it.course[3].elevation_m, set_point, &point),
                     TA_OK);
    const bool throat = strstr(c.why, "within 3 % of the inlet restrictor's choke") != NULL;
    if (c.plan->verdict == TA_OVER && point.restrictor_share > 0.9701) {
      if (c.printed || (point.zone == TA_MAPPED && !throat))
        fail_msg("%.1f mm: %s", 1e3 * diameter_m, c.why);
      refused += throat;
    } else if (c.plan->verdict == TA_OVER && point.restrictor_share < 0.9699) {
      if (!c.printed) fail_msg("%.1f mm: %s", 1e3 * diameter_m, c.why);
      printed++;
    }
    card_free(&c);
  }
  print_message("throats: %d cards printed, %d refused\n", printed, refused);
  assert_true(refused > 1 && printed > 3);
}

int main(void) {
  gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_show_caps_that_hold_and_what_the_gauge_should_read),
      cmocka_unit_test(where_the_cap_starts_has_a_row),
      cmocka_unit_test(a_schedule_is_told_row_by_row),
      cmocka_unit_test(it_says_what_is_to_be_set),
      cmocka_unit_test(a_target_over_engine_speed_is_told),
      cmocka_unit_test(the_spring_is_told_where_it_rules),
      cmocka_unit_test(key_on_is_told_with_its_place),
      cmocka_unit_test(a_cap_within_the_sensor_is_printed),
      cmocka_unit_test(a_part_begins_with_its_own_ambient),
      cmocka_unit_test(nothing_is_rounded_up_in_us_units),
      cmocka_unit_test(surge_is_told),
      cmocka_unit_test(head_and_blocks_name_the_speeds),
      cmocka_unit_test(it_fits_a_page),
      cmocka_unit_test(names_are_cut_between_characters),
      cmocka_unit_test(names_from_right_to_left_leave_the_numbers_alone),
      cmocka_unit_test(marks_are_thinned_evenly),
      cmocka_unit_test(an_early_shift_is_told),
      cmocka_unit_test(a_clear_plan_shows_its_target),
      cmocka_unit_test(weather_is_rounded_to_the_careful_side),
      cmocka_unit_test(a_gauge_controller_is_set_by_its_boost),
      cmocka_unit_test(no_room_for_an_alarm_is_told),
      cmocka_unit_test(what_cannot_be_run_gives_no_card),
      cmocka_unit_test(a_throat_near_its_choke_gives_no_card),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
