/* The page: its hashes, what it escapes, what stands in it; in a browser: tests/browser. */
#include "test.h"

#include <stdio.h>
#include <stdlib.h>

#include "report/page.h"
#include "report/plan_tables.h"
#include "report/sha256.h"
#include "report/svg.h"
#include "report/table.h"
#include "thinair/event_reader.h"
#include "thinair/report.h"
#include "thinair/strategy.h"

/* ---- SHA-256 --------------------------------------------------------------------------------- */

static const char *hex(const void *bytes, size_t length, char text[2 * TA_SHA256_BYTES + 1]) {
  uint8_t digest[TA_SHA256_BYTES];
  ta_sha256(bytes, length, digest);
  for (size_t i = 0; i < TA_SHA256_BYTES; i++)
    for (size_t k = 0; k < 2; k++)
      text[2 * i + k] = "0123456789abcdef"[digest[i] >> (4 - 4 * k) & 15];
  text[2 * TA_SHA256_BYTES] = '\0';
  return text;
}

/* Source  NIST, examples with intermediate values for FIPS 180 (SHA256.pdf: one block, two blocks);
 *         the empty message and a million times "a": the same examples' additional data. */
static void sha256_gives_the_published_examples(void **state) {
  (void)state;
  static const struct {
    const char *message, *digest;
  } rows[] = {
      {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
      {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
      {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
       "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
  };
  char text[2 * TA_SHA256_BYTES + 1];
  for (size_t i = 0; i < COUNT_OF(rows); i++)
    assert_string_equal(hex(rows[i].message, strlen(rows[i].message), text), rows[i].digest);
  char *million = malloc(1000000);
  assert_non_null(million);
  memset(million, 'a', 1000000);
  assert_string_equal(hex(million, 1000000, text),
                      "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  free(million);
}

/* Digests of bytes (7 i + 3) mod 251 about the ends of a block, by OpenSSL's hash (python3 hashlib). */
static void sha256_pads_about_the_ends_of_a_block(void **state) {
  (void)state;
  static const struct {
    size_t length;
    const char *digest;
  } rows[] = {
      {55, "1deace58c745f3ecadde68a5923f494c3703fa73f0306483ccb898a5826e8d70"},
      {56, "06dbe23685750e4d3881ded95047abaf93fa8f9c5d3501dc57c717a72ff1398e"},
      {63, "47fb38b12335c9298d09280515c0666489a189d1554bb0ac1a0740806ce9d8b6"},
      {64, "dfa798724b1a8014994f363e5da7474ed26ce3757fb29e07aa47ad5a9352d37b"},
      {65, "dd2eab5a5507d7717c63ce953d9ac61752c21e664425ad1227054722a0d97f69"},
      {119, "c6e0f435df5d7d265baacca31e0602c00aa22fa6d3819aed664649294c743756"},
      {120, "17eb8960823a644bde3065620bb9d45931fe8993fd8eb692a17aff0fd725db6a"},
  };
  uint8_t bytes[120];
  char text[2 * TA_SHA256_BYTES + 1];
  for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = (uint8_t)((7 * i + 3) % 251);
  for (size_t i = 0; i < COUNT_OF(rows); i++)
    assert_string_equal(hex(bytes, rows[i].length, text), rows[i].digest);
}

/* RFC 4648's alphabet: the same digest of "abc" as above, 32 bytes with one sign of padding. */
static void a_digest_in_base_64(void **state) {
  (void)state;
  char text[TA_SHA256_BASE64_MAX];
  assert_string_equal(ta_sha256_base64("abc", 3, text),
                      "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

static size_t count_of(const char *text, const char *what) {
  size_t count = 0;
  for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what)) count++;
  return count;
}

/* ---- tables ---------------------------------------------------------------------------------- */

static void a_table_says_what_each_cell_is(void **state) {
  (void)state;
  typedef struct {
    const char *place;
    double map_pa;
  } row;
  static const ta_column columns[] = {
      {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(row, place)},
      {"", "MAP", TA_CELL_NUMBER, TA_SHOW_MAP, offsetof(row, map_pa)}};
  const row rows[] = {{"<Goat> & \"Fold\"", 193270.0}};
  const ta_table table = {columns, 2, rows, 1, sizeof rows[0]};
  ta_buffer out = {0};
  ta_table_html(&table, TA_METRIC, "kind", "it's", &out);
  assert_string_equal(
      out.text,
      "<table class=\"kind\" role=\"table\">\n<caption>it&#39;s</caption>\n"
      "<thead role=\"rowgroup\"><tr role=\"row\"><td role=\"columnheader\"></td>"
      "<th role=\"columnheader\" scope=\"col\" class=\"number\">MAP kPa</th></tr></thead>\n"
      "<tbody role=\"rowgroup\">\n<tr role=\"row\"><th scope=\"row\" role=\"rowheader\" "
      "data-label=\"\">&#60;Goat&#62; &#38; &#34;Fold&#34;</th><td role=\"cell\" "
      "class=\"number\" data-label=\"MAP kPa\">193.3</td></tr>\n</tbody>\n</table>\n");
  ta_buffer_free(&out);
}

static double fact_of(const char *element, const char *name) {
  char wanted[40];
  (void)snprintf(wanted, sizeof wanted, " data-%s=\"", name);
  const char *at = strstr(element, wanted);
  assert_non_null(at);
  return strtod(at + strlen(wanted), NULL);
}

/* What the page's script is told of a drawing is where the drawing puts its data. */
static void a_drawing_says_where_its_data_stand(void **state) {
  (void)state;
  const ta_axis right = {-3.7, 11.3, "b"};
  const ta_chart chart = {.x = {0.317, 34.019, "x"}, .left = {1.031, 4.573, "a"}, .right = &right};
  const ta_drawing drawing = {"it", "a", "b", 613.0, 407.0, 12.0, false};
  ta_buffer out = {0};
  ta_svg svg;
  ta_frame frame[2];
  ta_svg_open(&svg, &drawing, &out);
  ta_chart_draw(&svg, &chart, &frame[0], &frame[1]);
  ta_svg_close(&svg);
  assert_int_equal(count_of(out.text, "class=\"ta-plot\""), 2);
  const char *element = out.text;
  for (size_t i = 0; i < 2; i++) {
    element = strstr(element, "class=\"ta-plot\"") + 1;
    const ta_xy low = ta_frame_place(&frame[i],
                                     (ta_xy){fact_of(element, "x0"), fact_of(element, "y0")}),
                high = ta_frame_place(&frame[i],
                                      (ta_xy){fact_of(element, "x1"), fact_of(element, "y1")});
    int bad = off("low", "x", low.x, fact_of(element, "left"), 1e-6);
    bad += off("low", "y", low.y, fact_of(element, "bottom"), 1e-6);
    bad += off("high", "x", high.x, fact_of(element, "right"), 1e-6);
    bad += off("high", "y", high.y, fact_of(element, "top"), 1e-6);
    bad += off("span", "x", high.x - low.x, frame[i].plot.right - frame[i].plot.left, 1e-6);
    bad += off("span", "y", low.y - high.y, frame[i].plot.bottom - frame[i].plot.top, 1e-6);
    assert_int_equal(bad, 0);
  }
  ta_buffer_free(&out);
}

/* ---- the page -------------------------------------------------------------------------------- */

typedef struct {
  ta_event event;
  ta_diagnostics diagnostics;
  ta_prepared prepared;
  ta_plan plan;
} planned;

static void make(planned *p, const char *folder, const char *boost_or_map, const char *value) {
  const ta_setting setting = {"--set", boost_or_map, value, "map|boost|columns|rows"};
  memset(p, 0, sizeof *p);
  assert_int_equal(
      ta_event_read(folder, &setting, value != NULL ? 1 : 0, &p->event, &p->diagnostics), TA_OK);
  assert_int_equal(ta_prepare(&p->event, &p->prepared), TA_OK);
  assert_int_equal(ta_plan_make(&p->prepared, &p->plan), TA_OK);
}

static void unmake(planned *p) {
  ta_plan_free(&p->plan);
  ta_prepared_free(&p->prepared);
  ta_event_free(&p->event);
}

static const ta_page with_card = {
    .command = "thinair report courses/tolvane-dome -o 'a b.html'",
    .made = "2026-06-28 09:41",
    .card =
        "car <41>\n\033[1mALARM 143,000\033[0m\nRUN   first\n      second\nplace\n      km\n"
        "\u2068\u05e9\u05e2\u05e8\u2069  15.9\n"};

static ta_buffer page_of(const planned *p, const ta_page *page, ta_unit_system units) {
  const ta_style style = {.units = units, .version = "0.1.7"};
  ta_buffer out = {0};
  ta_report_page(&p->prepared, &p->plan, &p->diagnostics, page, &style, &out);
  assert_false(out.failed);
  assert_int_equal(strlen(out.text), out.length);
  return out;
}

static planned demo, hostile;

static int set_up(void **state) {
  (void)state;
  make(&demo, TA_COURSES "/tolvane-dome", NULL, NULL);
  make(&hostile, TA_COURSES "/tolvane-dome", NULL, NULL);
  hostile.event.name = "</title></script><img src=x onerror=alert(1)>";
  hostile.event.car.name = "\" onload=\"alert(2)";
  for (size_t i = 0; i < hostile.event.course.count; i++)
    if (hostile.event.course.point[i].mark != NULL)
      hostile.event.course.point[i].mark = "</script>\\\"'&\n";
  return 0;
}

static int tear_down(void **state) {
  (void)state;
  unmake(&demo);
  unmake(&hostile);
  return 0;
}

/* Every style and script that the policy should let in is in it, by its hash, and no other. */
static void the_policy_names_every_style_and_script(void **state) {
  (void)state;
  ta_buffer out = page_of(&demo, &with_card, TA_METRIC);
  const char *policy = strstr(out.text, "http-equiv=\"Content-Security-Policy\""),
             *policy_end = strchr(policy, '>');
  static const char *const opens[] = {"<style>", "<script>"}, *const closes[] = {"</style>",
                                                                                 "</script>"};
  size_t named = 0;
  assert_non_null(strstr(policy, "default-src 'none'"));
  for (size_t i = 0; i < 2; i++)
    for (const char *at = strstr(out.text, opens[i]); at != NULL; at = strstr(at + 1, opens[i])) {
      char hash[TA_SHA256_BASE64_MAX];
      const char *inner = at + strlen(opens[i]);
      const size_t length = (size_t)(strstr(inner, closes[i]) - inner);
      const char *where = strstr(policy, ta_sha256_base64(inner, length, hash));
      assert_true(where != NULL && where < policy_end);
      assert_true((where > strstr(policy, "script-src")) == (i == 1));
      named++;
    }
  assert_int_equal(named, 3);
  assert_int_equal(count_of(out.text, "'sha256-"), 3);
  assert_int_equal(count_of(out.text, "unsafe"), 0);
  ta_buffer_free(&out);
}

static void nothing_comes_from_elsewhere(void **state) {
  (void)state;
  ta_buffer out = page_of(&demo, &with_card, TA_METRIC);
  assert_int_equal(count_of(out.text, "http"),
                   count_of(out.text, "http://www.w3.org/2000/svg") + 1); /* http-equiv */
  static const char *const none[] = {" src=",   "href=\"h", "@import",  "url(h",
                                     " style=", "<link",    " onload=", " onclick="};
  for (size_t i = 0; i < COUNT_OF(none); i++)
    if (strstr(out.text, none[i]) != NULL) fail_msg("found %s", none[i]);
  assert_true(out.length < 400000);
  ta_buffer_free(&out);
}

static void what_files_say_is_text(void **state) {
  (void)state;
  ta_buffer out = page_of(&hostile, &with_card, TA_METRIC),
            plain = page_of(&demo, &with_card, TA_METRIC);
  static const char *const marks[] = {"<img",    "</title>", "</script>",
                                      "<script", "<svg",     "onload=\""};
  for (size_t i = 0; i < COUNT_OF(marks); i++)
    if (count_of(out.text, marks[i]) != count_of(plain.text, marks[i])) fail_msg("%s", marks[i]);
  assert_non_null(strstr(out.text, "<title>&#60;/title&#62;&#60;/script&#62;&#60;img src=x "));
  const char *trace = strstr(out.text, "id=\"trace\">");
  const size_t length = strcspn(trace + 11, "<>&");
  assert_memory_equal(trace + 11 + length, "</script>\n<script>", 18);
  assert_non_null(strstr(trace, "\\u003c/script\\u003e\\u005c\\u0022'\\u0026\\u000a"));
  ta_buffer_free(&out);
  ta_buffer_free(&plain);
}

static void every_part_of_a_plan_is_there(void **state) {
  (void)state;
  ta_buffer out = page_of(&demo, &with_card, TA_METRIC);
  static const char *const parts[] = {
      "<h2><b>OVER THE LIMIT</b> from 16.4 km (2,732 m, ",
      "Do not run this target on this course.",
      "<dt>Worst point</dt>",
      "<dt>The day</dt>",
      "<dd>143,000 rpm</dd>",
      "<th scope=\"row\" role=\"rowheader\" data-label=\"\">one cap for the whole run</th>",
      "Positions: 228.0 kPa, from ",
      "Absolute MAP is held, so the boost rises where the car climbs",
      "The turbine drives it from",
      "<th scope=\"row\" role=\"rowheader\" data-label=\"\">First over</th>",
      "<h2>What goes into the controller</h2>",
      "within the limit between cells (linear)",
      "<h2 id=\"levers-heading\">What moves it, at 34.0 km (4,120 m, Summit)</h2>",
      "check hoses: MAP will not show it",
      "<strong>Note:</strong> no station in the top 2660 m",
      "thin air +2.3 % of speed",
      "Rated speed as typed",
      "Not covered: hose off",
      "thinair 0.1.7, made 2026-06-28 09:41",
      "<code>thinair report courses/tolvane-dome -o &#39;a b.html&#39;</code>",
      "A prediction does not replace a shaft-speed sensor.",
      "a burst wheel can kill",
      "car &#60;41&#62;\n<b>ALARM 143,000</b>\nRUN   first <span class=\"fold\">\n      "
      "</span>second"
      "\nplace\n      km\n<bdi>\u05e9\u05e2\u05e8</bdi>  15.9\n"};
  int missing = 0;
  for (size_t i = 0; i < COUNT_OF(parts); i++)
    if (strstr(out.text, parts[i]) == NULL) {
      print_error("missing: %s\n", parts[i]);
      missing++;
    }
  assert_int_equal(missing, 0);
  assert_int_equal(count_of(out.text, "<figure"), 6);
  ta_buffer_free(&out);
}

/* As typed in courses/tolvane-dome. */
static void every_input_is_there_in_the_units_asked_for(void **state) {
  (void)state;
  ta_buffer out = {0};
  ta_page_inputs(&demo.event, TA_METRIC, &out);
  static const struct {
    const char *key, *value;
  } rows[] = {
      {"event", "Tolvane Dome Hill Climb"},
      {"course.rows", "266 rows"},
      {"car.engine.displacement", "1998 cc"},
      {"car.engine.boost_window", "4500 rpm, 7200 rpm"},
      {"car.engine.volumetric_efficiency.rows[3]", "engine_speed 7500 rpm, ve 0.88"},
      {"car.engine.bsfc", "310 g/kWh"},
      {"car.intake.measured_at.temperature", "15 degC"},
      {"car.charge_cooler.coolant", "ambient"},
      {"car.control.holds", "absolute"},
      {"car.control.minimum_boost", "0.6 bar"},
      {"car.control.interpolation", "linear"},
      {"car.turbo.thin_air.pressure_exponent", "0.04"},
      {"car.turbo.compressor.exducer_diameter", "66 mm"},
      {"car.turbo.compressor.lines[2].rows[7]",
       "flow 0.2821 kg/s, pressure_ratio 1.898, efficiency 0.746"},
      {"car.turbo.turbine.inlet_temperature", "930 degC"},
      {"car.vehicle.gears", "3.1, 2.05, 1.52, 1.2, 0.98"},
      {"day.stations[0].name", "start line"},
      {"day.stations[0].pressure", "85.3 kPa"},
      {"day.lapse_rate", "6.5 K/km"},
      {"goal.map", "228 kPa"},
      {"goal.margin", "0.04"},
  };
  int missing = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char wanted[400];
    (void)snprintf(wanted, sizeof wanted, "rowheader\">%s</th><td role=\"cell\">%s</td>",
                   rows[i].key, rows[i].value);
    if (strstr(out.text, wanted) == NULL) {
      print_error("missing: %s %s\n", rows[i].key, rows[i].value);
      missing++;
    }
  }
  assert_int_equal(missing, 0);
  assert_null(strstr(out.text, "car.intake.restrictor")); /* none is fitted */
  ta_buffer_free(&out);
  ta_page_inputs(&demo.event, TA_US, &out);
  assert_non_null(strstr(out.text, ">car.turbo.rated_speed</th><td role=\"cell\">146000 rpm</td>"));
  /* 16 degC = 1.8 x 16 + 32 degF */
  assert_non_null(strstr(out.text, ">60.8 degF</td>"));
  ta_buffer_free(&out);
}

static void a_plan_without_a_cap_has_no_switches(void **state) {
  (void)state;
  static planned clear;
  const ta_page no_card = {.command = "thinair", .no_card = "because <so>"};
  make(&clear, TA_COURSES "/tolvane-dome", "goal.map", "121.3 kPa");
  ta_buffer out = page_of(&clear, &no_card, TA_US);
  assert_non_null(strstr(out.text, "<h2><b>CLEAR</b> at "));
  assert_null(strstr(out.text, "id=\"show-cap\""));
  assert_non_null(strstr(out.text, "<p>No run card: because &#60;so&#62;.</p>"));
  assert_null(strstr(out.text, "<pre>"));
  assert_null(strstr(out.text, ", made "));
  assert_non_null(strstr(out.text, "id=\"trace\""));
  ta_buffer_free(&out);
  unmake(&clear);
}

/* The texts of a list in a part of the trace; what follows the last is empty. */
enum { TEXTS = 301, TEXT = 16 };
static void texts_of(const ta_buffer *trace, const char *part, const char *list,
                     char text[TEXTS][TEXT]) {
  char opens[40];
  (void)snprintf(opens, sizeof opens, "\"%s\":{", part);
  const char *at = strstr(trace->text, opens);
  assert_non_null(at);
  (void)snprintf(opens, sizeof opens, "\"%s\":[", list);
  at = strstr(at, opens);
  assert_non_null(at);
  at += strlen(opens) - 1;
  memset(text, 0, TEXTS * TEXT);
  for (size_t i = 0; i < TEXTS && *at != ']'; i++) {
    at += 2; /* [" or ," */
    const size_t length = strcspn(at, "\"");
    assert_true(length < TEXT);
    memcpy(text[i], at, length);
    at += length + 1;
  }
}

/* The demo: 228 kPa held, 5 kPa of overshoot; its table to 1 kPa. */
static void the_cursor_shows_what_is_to_be_set(void **state) {
  (void)state;
  ta_buffer trace = {0};
  static char set[TEXTS][TEXT], target[TEXTS][TEXT], engine[TEXTS][TEXT], capped[TEXTS][TEXT];
  ta_page_trace(&demo.prepared, &demo.plan, TA_METRIC, &trace);
  texts_of(&trace, "target", "set", target);
  texts_of(&trace, "cap", "set", set);
  texts_of(&trace, "target", "engine", engine);
  texts_of(&trace, "cap", "engine", capped);
  int bad = 0;
  for (size_t i = 0; i < TA_CURSOR_POINTS; i++) {
    assert_string_equal(target[i], "228.0");
    assert_string_equal(engine[i], capped[i]);
    const double cap = strtod(set[i], NULL);
    if (!(cap > 150.0 && cap <= 228.0)) bad++;
  }
  assert_int_equal(bad, 0);
  assert_string_equal(target[TA_CURSOR_POINTS], "");
  assert_string_equal(set[0], "228.0");
  /* at the top, 7,200 rpm: the column of the table's last engine speed in its axis */
  ta_air top;
  const ta_course_point *finish = &demo.event.course.point[demo.event.course.count - 1];
  assert_int_equal(ta_day_air(&demo.prepared.day, finish->elevation_m, &top), TA_OK);
  const double held = ta_strategy_cap(&demo.prepared, &demo.plan.caps, TA_BY_TABLE,
                                      finish->distance_m, top.pressure_pa, 7200.0);
  assert_string_equal(engine[TA_CURSOR_POINTS - 1], "7,200");
  assert_int_equal(
      off("top", "set", strtod(set[TA_CURSOR_POINTS - 1], NULL), held / 1e3 - 0.05, 0.0501), 0);
  ta_buffer_free(&trace);
}

/* Brackwater: 1.10 bar of boost. */
static void the_cursor_of_a_gauge_car_shows_boost(void **state) {
  (void)state;
  static planned gauge;
  static char set[TEXTS][TEXT];
  make(&gauge, TA_COURSES "/brackwater", NULL, NULL);
  ta_buffer out = page_of(&gauge, &with_card, TA_METRIC);
  texts_of(&out, "target", "set", set);
  for (size_t i = 0; i < TA_CURSOR_POINTS; i++) assert_string_equal(set[i], "1.10");
  assert_non_null(strstr(out.text, "<dt>boost set bar</dt>"));
  assert_null(strstr(out.text, "<dt>MAP"));
  ta_buffer_free(&out);
  unmake(&gauge);
}

/* Letters are as large as the longest line allows, on A4's 186 mm between margins, and lines no
 * farther apart than Letter's height allows: 12 mm of margin, 25.4 mm to the inch, 72 pt to it. */
static void a_card_fits_a_page(void **state) {
  (void)state;
  static const struct {
    int lines, columns;
  } cards[] = {{3, 7}, {41, 80}, {60, 80}, {60, 33}, {23, 97}};
  const double wide_pt = (210.0 - 24.0) / 25.4 * 72.0, high_pt = (279.4 - 24.0) / 25.4 * 72.0,
               advance = 0.602; /* of the widest typewriter face at hand, DejaVu Sans Mono */
  for (size_t i = 0; i < COUNT_OF(cards); i++) {
    ta_buffer card = {0};
    for (int k = 0; k < cards[i].lines; k++)
      ta_buffer_add(&card, "%.*s\n", k == cards[i].lines / 2 ? cards[i].columns : 3,
                    "\xc3\xa9"
                    "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"
                    "xxxxxxxxxxxxxxxxxxxxxxxxx");
    const ta_page page = {.command = "thinair", .card = card.text};
    ta_buffer out = page_of(&demo, &page, TA_METRIC);
    const char *rule = strstr(out.text, "@media print{.card pre{font-size:");
    double letters_pt = 0.0, leading = 0.0;
    assert_non_null(rule);
    letters_pt = strtod(rule + strlen("@media print{.card pre{font-size:"), NULL);
    leading = strtod(strstr(rule, "line-height:") + strlen("line-height:"), NULL);
    assert_true(letters_pt >= 8.5 && letters_pt <= 14.0);
    assert_true(letters_pt * advance * (cards[i].columns - 1) <= wide_pt);
    assert_true(leading >= 1.15 && leading * letters_pt * cards[i].lines <= high_pt);
    ta_buffer_free(&out);
    ta_buffer_free(&card);
  }
}

static void the_same_plan_gives_the_same_bytes(void **state) {
  (void)state;
  ta_buffer a = page_of(&demo, &with_card, TA_US), b = page_of(&demo, &with_card, TA_US);
  assert_string_equal(a.text, b.text);
  ta_buffer_free(&a);
  ta_buffer_free(&b);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sha256_gives_the_published_examples),
      cmocka_unit_test(sha256_pads_about_the_ends_of_a_block),
      cmocka_unit_test(a_digest_in_base_64),
      cmocka_unit_test(a_table_says_what_each_cell_is),
      cmocka_unit_test(a_drawing_says_where_its_data_stand),
      cmocka_unit_test(the_policy_names_every_style_and_script),
      cmocka_unit_test(nothing_comes_from_elsewhere),
      cmocka_unit_test(what_files_say_is_text),
      cmocka_unit_test(every_part_of_a_plan_is_there),
      cmocka_unit_test(every_input_is_there_in_the_units_asked_for),
      cmocka_unit_test(a_plan_without_a_cap_has_no_switches),
      cmocka_unit_test(the_cursor_shows_what_is_to_be_set),
      cmocka_unit_test(the_cursor_of_a_gauge_car_shows_boost),
      cmocka_unit_test(a_card_fits_a_page),
      cmocka_unit_test(the_same_plan_gives_the_same_bytes),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
