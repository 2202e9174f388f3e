/* page.c - a plan as one self-contained page.
 *
 * Standard  HTML; Content Security Policy Level 3 by a meta element: default-src 'none', styles and
 *           the script by hash (a static file has no server that could give a nonce).
 * Decision  Both drawings of a picture stand in the page; the style sheet shows the one that fits.
 * Decision  The switches work by style alone, so that they need no script.
 * Pinned by tests/report/test_page.c, tests/browser.
 */
#include "page.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "picture_parts.h"
#include "plan_tables.h"
#include "plan_view.h"
#include "plan_words.h"
#include "sha256.h"
#include "svg.h"

/* ---- small parts ----------------------------------------------------------------------------- */

static void element(const char *name, const char *text, ta_buffer *out) {
  if (text == NULL || text[0] == '\0') return;
  ta_buffer_add(out, "<%s>", name);
  ta_svg_escape(out, text);
  ta_buffer_add(out, "</%s>\n", name);
}

/* A heading that names a table or a figure: "<kind>-heading". */
static void heading(const char *name, const char *kind, const char *text, ta_buffer *out) {
  ta_buffer_add(out, "<%s id=\"%s-heading\">", name, kind);
  ta_svg_escape(out, text);
  ta_buffer_add(out, "</%s>\n", name);
}

static void fact(const char *title, const char *text, ta_buffer *out) {
  if (text == NULL) return;
  ta_buffer_add(out, "<div>");
  element("dt", title, out);
  element("dd", text, out);
  ta_buffer_add(out, "</div>\n");
}

/* Everything that is drawn, wide and narrow, and the trace that the script reads. */
typedef struct {
  ta_buffer sheet[2 * TA_PICTURE_COUNT], trace;
  bool is_drawn[2 * TA_PICTURE_COUNT];
} drawings;

static void draw(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                 drawings *all) {
  memset(all, 0, sizeof *all);
#pragma omp parallel for schedule(dynamic)
  for (int i = -1; i < 2 * TA_PICTURE_COUNT; i++) {
    if (i < 0) { /* the longest first */
      ta_page_trace(prepared, plan, units, &all->trace);
      continue;
    }
    const ta_picture picture = (ta_picture)(i / 2);
    const bool is_narrow = i % 2 == 1;
    char id[TA_SVG_ID_MAX];
    (void)snprintf(id, sizeof id, "%s-%s", ta_picture_name(picture), is_narrow ? "narrow" : "wide");
    ta_picture_frame frame = ta_picture_frame_of(picture, is_narrow, units);
    frame.id = id;
    all->is_drawn[i] = ta_picture_draw(picture, prepared, plan, &frame, &all->sheet[i]);
  }
}

static bool drawing_failed(const drawings *all) {
  bool failed = all->trace.failed;
  for (int i = 0; i < 2 * TA_PICTURE_COUNT; i++) failed = failed || all->sheet[i].failed;
  return failed;
}

static void drawings_free(drawings *all) {
  for (int i = 0; i < 2 * TA_PICTURE_COUNT; i++) ta_buffer_free(&all->sheet[i]);
  ta_buffer_free(&all->trace);
}

/* The picture in both shapes.  @return false where there is nothing to draw: out is untouched. */
static bool figure(ta_picture picture, const drawings *all, ta_buffer *out) {
  const int wide = 2 * (int)picture;
  if (!all->is_drawn[wide] || !all->is_drawn[wide + 1]) return false;
  char kind[40];
  (void)snprintf(kind, sizeof kind, "figure-%s", ta_picture_name(picture));
  ta_buffer_add(out, "<figure class=\"%s\" aria-labelledby=\"%s-heading\">\n",
                ta_picture_name(picture), kind);
  heading("h3", kind, ta_picture_title(picture), out);
  ta_buffer_add(out, "<div class=\"sheet wide\">%s</div>\n<div class=\"sheet narrow\">%s</div>\n",
                all->sheet[wide].text, all->sheet[wide + 1].text);
  element("figcaption", ta_picture_reading(picture), out);
  ta_buffer_add(out, "</figure>\n");
  return true;
}

/* ---- the first screen ------------------------------------------------------------------------ */

/* The road from start to finish, hatched where the limit is passed. */
static void strip(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                  ta_buffer *out) {
  const ta_course *course = &prepared->event->course;
  const ta_course_point *start = &course->point[0], *finish = &course->point[course->count - 1];
  const double per_m = 100.0 / (finish->distance_m - start->distance_m);
  ta_paragraph text;
  char place[TA_SENTENCE_MAX];
  ta_buffer_add(out,
                "<div class=\"strip\"><svg role=\"img\" aria-labelledby=\"strip-title\"><title "
                "id=\"strip-title\">The course from start to finish, hatched over the "
                "limit</title><defs><pattern id=\"strip-hatch\" patternUnits=\"userSpaceOnUse\" "
                "width=\"9\" height=\"9\" patternTransform=\"rotate(45)\"><g "
                "class=\"ta-over-limit\"><rect width=\"9\" height=\"9\" fill=\"currentColor\" "
                "fill-opacity=\"0.18\"/><path d=\"M0 4.5H9\" stroke=\"currentColor\" "
                "stroke-width=\"4\"/></g></pattern></defs>\n<g class=\"ta-grid\"><rect "
                "width=\"100%%\" height=\"22\" fill=\"currentColor\"/></g>\n");
  for (size_t i = 0; i < plan->over.count; i++) {
    const ta_stretch *s = &plan->over.stretch[i];
    ta_buffer_add(out,
                  "<rect x=\"%.2f%%\" width=\"%.2f%%\" height=\"22\" "
                  "fill=\"url(#strip-hatch)\"/>\n",
                  per_m * (s->from_distance_m - start->distance_m),
                  per_m * (s->to_distance_m - s->from_distance_m));
  }
  ta_buffer_add(out, "<g class=\"ta-text\">");
  for (size_t i = 1; i + 1 < course->count; i++)
    if (course->point[i].mark != NULL)
      ta_buffer_add(out, "<rect x=\"%.2f%%\" width=\"2\" height=\"22\" fill=\"currentColor\"/>",
                    per_m * (course->point[i].distance_m - start->distance_m));
  ta_buffer_add(out, "</g></svg>\n<p>");
  element("span", ta_say_place(course, units, start->distance_m, start->elevation_m, place), out);
  element("span", ta_say_place(course, units, finish->distance_m, finish->elevation_m, place), out);
  ta_buffer_add(out, "</p>\n");
  if (plan->over.count > 1) {
    ta_buffer_add(out, "<ul>\n");
    for (size_t i = 0; i < plan->over.count; i++)
      element("li", ta_say_stretch(prepared, &plan->over.stretch[i], units, text), out);
    ta_buffer_add(out, "</ul>\n");
  }
  ta_buffer_add(out, "</div>\n");
}

static void first_facts(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_buffer *out) {
  ta_paragraph text;
  char alarm[TA_SHOWN_MAX];
  ta_buffer_add(out, "<dl class=\"facts\">\n");
  fact("Worst point", ta_say_worst(prepared, plan, units, text), out);
  fact("Limit", ta_say_limit(prepared, units, text), out);
  fact("Alarm", ta_show_quantity(TA_SHOW_RPM, units, -1, ta_alarm_rpm(prepared), alarm), out);
  fact("The day", ta_say_day(prepared, units, text), out);
  ta_buffer_add(out, "</dl>\n");
}

static void answer(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                   ta_buffer *out) {
  static const char *const looks[TA_VERDICT_COUNT] = {[TA_CANNOT_HOLD] = "bad",
                                                      [TA_OVER] = "bad",
                                                      [TA_CANNOT_CAP] = "bad",
                                                      [TA_UNSURE] = "open",
                                                      [TA_CLEAR] = "good"};
  ta_answer lines;
  ta_answer_make(prepared, plan, units, &lines);
  ta_buffer_add(out, "<section class=\"answer %s\">\n<div>\n", looks[plan->verdict]);
  bool in_list = false;
  for (size_t i = 0; i < lines.count; i++) {
    const ta_answer_line *line = &lines.line[i];
    if (line->is_item != in_list) ta_buffer_add(out, line->is_item ? "<ul>\n" : "</ul>\n");
    in_list = line->is_item;
    if (line->verdict != NULL) {
      ta_buffer_add(out, "<h2><b>%s</b> ", line->verdict);
      ta_svg_escape(out, line->text);
      ta_buffer_add(out, "</h2>\n");
    } else {
      element(line->is_item ? "li" : "p", line->text, out);
    }
  }
  ta_buffer_add(out, "%s</div>\n", in_list ? "</ul>\n" : "");
  first_facts(prepared, plan, units, out);
  strip(prepared, plan, units, out);
  ta_buffer_add(out, "</section>\n");
}

static void what_to_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        const drawings *all, ta_buffer *out) {
  ta_ways_table ways;
  ta_paragraph text;
  ta_ways_table_make(prepared, plan, units, &ways);
  ta_buffer_add(out, "<section>\n");
  heading("h2", "ways", ways.column[0].title, out);
  ways.column[0].title = "";
  ta_table_html(&ways.table, units, "ways", NULL, out);
  element("p", ta_say_positions(prepared, plan, units, text), out);
  element("p", ta_say_holds(prepared, plan, units, text), out);
  element("p", ta_say_no_shift(plan), out);
  element("p", ta_say_drive(plan, units, text), out);
  (void)figure(TA_PICTURE_TIME, all, out);
  ta_buffer_add(out, "</section>\n");
}

/* ---- the rest -------------------------------------------------------------------------------- */

/* @return Whether the pictures are there that the script links. */
static bool where(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                  const drawings *all, ta_buffer *out) {
  ta_places_table places;
  ta_paragraph text;
  ta_buffer pair = {0};
  ta_places_table_make(prepared, plan, &places);
  ta_buffer_add(out, "<section>\n");
  heading("h2", "places", "Where", out);
  ta_table_html(&places.table, units, "places", NULL, out);
  ta_buffer_add(out, "<dl class=\"facts\">\n");
  fact("In a run", ta_say_run(prepared, plan, units, text), out);
  fact("Redline", ta_say_redline(prepared, plan, units, text), out);
  fact("Engine speeds", ta_say_judged(prepared, plan, units, text), out);
  ta_buffer_add(out, "</dl>\n");
  const bool course = figure(TA_PICTURE_COURSE, all, &pair),
             compressor = figure(TA_PICTURE_COMPRESSOR, all, &pair);
  out->failed = out->failed || pair.failed;
  if ((course || compressor) && !out->failed) {
    ta_buffer_add(out, "<div class=\"linked\">\n");
    ta_page_switches(plan, out);
    ta_buffer_add(out, "<div class=\"pair\">\n%s</div>\n", pair.text);
    if (course && compressor) ta_page_readout(prepared, plan, units, out);
    ta_buffer_add(out, "</div>\n");
  }
  ta_buffer_free(&pair);
  ta_buffer_add(out, "</section>\n");
  return course && compressor;
}

static void controller(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                       const drawings *all, ta_buffer *out) {
  ta_controller_shown shown;
  ta_buffer drawn = {0};
  const bool cap = figure(TA_PICTURE_CAP, all, &drawn),
             table = figure(TA_PICTURE_TABLE, all, &drawn),
             offered = ta_controller_shown_make(prepared, plan, units, TA_AXIS_MAX, &shown);
  out->failed = out->failed || drawn.failed;
  if ((cap || table || offered) && !out->failed) {
    ta_buffer_add(out, "<section>\n<h2>What goes into the controller</h2>\n");
    if (offered) {
      ta_buffer_add(out,
                    "<div class=\"scrolls\" role=\"region\" aria-label=\"Controller table\" "
                    "tabindex=\"0\">\n");
      ta_table_html(&shown.table, units, "controller", shown.about, out);
      ta_buffer_add(out, "</div>\n");
    }
    if (drawn.text != NULL) ta_buffer_add(out, "<div class=\"pair\">\n%s</div>\n", drawn.text);
    ta_buffer_add(out, "</section>\n");
  }
  ta_buffer_free(&drawn);
}

static void levers(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                   const drawings *all, ta_buffer *out) {
  ta_levers_table moves;
  ta_levers_table_make(prepared, plan, units, &moves);
  moves.column[0].title = "";
  ta_buffer_add(out, "<section>\n");
  heading("h2", "levers", moves.heading, out);
  ta_table_html(&moves.table, units, "levers", NULL, out);
  (void)figure(TA_PICTURE_LEVERS, all, out);
  ta_buffer_add(out, "</section>\n");
}

static void how_sure(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                     const ta_warnings *warnings, ta_buffer *out) {
  ta_paragraph text;
  ta_buffer_add(out, "<section>\n<h2>How sure</h2>\n<ul>\n");
  for (int i = 0; i < TA_REASON_COUNT; i++)
    if (ta_say_untold(prepared, plan, (ta_reason)i, units, text)) element("li", text, out);
  for (size_t i = 0; i < warnings->count; i++) {
    ta_buffer_add(out, "<li><strong>Note:</strong> ");
    ta_svg_escape(out, warnings->text[i]);
    ta_buffer_add(out, "</li>\n");
  }
  element("li", ta_say_model(plan, text), out);
  element("li", ta_say_imbalance(prepared, text), out);
  element("li", ta_say_not_checked(prepared, plan, text), out);
  ta_buffer_add(out, "</ul>\n</section>\n");
}

static void inputs(const ta_event *event, const ta_page *page, const ta_style *style,
                   ta_buffer *out) {
  ta_buffer_add(out, "<section>\n<h2>Inputs and model</h2>\n<p>thinair ");
  ta_svg_escape(out, style->version);
  ta_buffer_add(out, "; this page is made again by</p>\n<p><code>");
  ta_svg_escape(out, page->command);
  ta_buffer_add(out, "</code></p>\n<details>");
  heading("summary", "inputs", "Every value it was made from", out);
  ta_page_inputs(event, style->units, out);
  ta_buffer_add(out, "</details>\n</section>\n");
}

/* Is the line after this one only what did not fit beside a heading in capitals? */
static bool goes_on(const char *line_end, bool headed) {
  return headed && strncmp(line_end, "\n  ", 3) == 0;
}

/* The card's text: what a terminal shows bold in <b>, what it isolates (UAX #9) in <bdi>; where a line was only folded, the fold in an
 * element of its own, which a narrow screen leaves out. */
static void card_text(const char *text, ta_buffer *out) {
  static const struct {
    const char *sign, *tag;
  } tags[] = {{"\033[1m", "<b>"}, {"\033[0m", "</b>"}, {"\u2068", "<bdi>"}, {"\u2069", "</bdi>"}};
  enum { TAGS = sizeof tags / sizeof tags[0] };
  bool headed = false, begins = true;
  while (*text != '\0') {
    char piece[TA_SENTENCE_MAX];
    if (begins && *text != ' ')
      headed = text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'A' && text[1] <= 'Z';
    begins = false;
    size_t tag = 0;
    while (tag < TAGS && strncmp(text, tags[tag].sign, strlen(tags[tag].sign)) != 0) tag++;
    if (tag < TAGS) {
      ta_buffer_add(out, "%s", tags[tag].tag);
      text += strlen(tags[tag].sign);
    } else if (goes_on(text, headed)) {
      const size_t fold = 1 + strspn(text + 1, " ");
      ta_buffer_add(out, " <span class=\"fold\">%.*s</span>", (int)fold, text);
      text += fold;
    } else if (*text == '\n') {
      ta_buffer_add(out, "\n");
      begins = true;
      text++;
    } else {
      const size_t length = strcspn(text + 1, "\033\n\xe2") + 1;
      (void)snprintf(piece, sizeof piece, "%.*s", (int)length, text);
      ta_svg_escape(out, piece);
      text += strlen(piece);
    }
  }
}

static void card(const ta_page *page, ta_buffer *out) {
  ta_buffer_add(out, "<section class=\"card\">\n<h2>Run card</h2>\n");
  if (page->card != NULL) {
    ta_buffer_add(out,
                  "<p class=\"quiet\">Print this page: the card is all that comes out.</p>\n"
                  "<pre>");
    card_text(page->card, out);
    ta_buffer_add(out, "</pre>\n");
  } else {
    ta_buffer_add(out, "<p>No run card: ");
    ta_svg_escape(out, page->no_card);
    ta_buffer_add(out, ".</p>\n");
  }
  ta_buffer_add(out, "</section>\n");
}

static void cautions(ta_buffer *out) {
  char line[TA_SENTENCE_MAX];
  ta_buffer_add(out, "<section class=\"cautions\">\n<h2>Cautions</h2>\n");
  for (const char *text = ta_cautions; *text != '\0'; text += strcspn(text, "\n") + 1) {
    (void)snprintf(line, sizeof line, "%.*s", (int)strcspn(text, "\n"), text);
    element("p", line, out);
  }
  ta_buffer_add(out, "</section>\n");
}

/* Letters as large as the card's longest line allows on A4 and Letter, and its lines as far apart as
 * they fill the page. */
static void card_size(const char *text, double *letters_pt, double *leading) {
  const double wide_pt = 520.0,
               high_pt = 700.0; /* what 12 mm of margin leave of both, and a little */
  const double advance = 0.61, least_leading = 1.2, most_leading = 1.7, most_pt = 14.0;
  int lines = 1, longest = 1, column = 0;
  for (; text != NULL && *text != '\0'; text++) {
    column = *text == '\n' ? 0 : column + (((unsigned char)*text & 0xc0) != 0x80);
    longest = column > longest ? column : longest;
    lines += *text == '\n';
  }
  *letters_pt =
      fmin(most_pt, fmin(wide_pt / (advance * longest), high_pt / (least_leading * lines)));
  *leading = fmin(most_leading, high_pt / (*letters_pt * lines));
}

static void head(const ta_event *event, const ta_page *page, const ta_buffer *look,
                 const ta_buffer *script, ta_buffer *out) {
  ta_buffer sheet = {0};
  char hash[TA_SHA256_BASE64_MAX];
  double letters_pt, leading;
  const char *inner = strchr(look->text, '>') + 1; /* of the element <style> */
  const size_t inner_length = (size_t)(strstr(inner, "</style>") - inner);
  card_size(page->card, &letters_pt, &leading);
  ta_page_style(letters_pt, leading, &sheet);
  out->failed = out->failed || sheet.failed;
  if (!out->failed) {
    ta_buffer_add(out,
                  "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                  "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                  "base-uri 'none'; form-action 'none'; style-src 'sha256-%s'",
                  ta_sha256_base64(inner, inner_length, hash));
    ta_buffer_add(out, " 'sha256-%s'; ", ta_sha256_base64(sheet.text, sheet.length, hash));
    ta_buffer_add(out, "script-src 'sha256-%s'\">\n",
                  ta_sha256_base64(script->text, script->length, hash));
    ta_buffer_add(out,
                  "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n"
                  "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
    ta_svg_escape(out, event->name);
    ta_buffer_add(out, "</title>\n%s<style>%s</style>\n</head>\n", look->text, sheet.text);
  }
  ta_buffer_free(&sheet);
}

void ta_report_page(const ta_prepared *prepared, const ta_plan *plan,
                    const ta_diagnostics *diagnostics, const ta_page *page, const ta_style *style,
                    ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_unit_system units = style->units;
  ta_warnings warnings;
  ta_buffer look = {0}, script = {0};
  drawings all;
  ta_svg_style(&look);
  ta_page_script(&script);
  draw(prepared, plan, units, &all);
  out->failed = out->failed || look.failed || script.failed || drawing_failed(&all);
  if (!out->failed) {
    ta_warnings_collect(prepared, plan, diagnostics, units, &warnings);
    head(event, page, &look, &script, out);
    ta_buffer_add(out, "<body>\n<main%s>\n<header>\n<h1>",
                  page->card == NULL ? " class=\"no-card\"" : "");
    ta_svg_escape(out, event->name);
    ta_buffer_add(out, "<span>, ");
    ta_svg_escape(out, event->car.name);
    ta_buffer_add(out, "</span></h1>\n<p class=\"made\">thinair %s%s%s</p>\n</header>\n",
                  style->version, page->made != NULL ? ", made " : "",
                  page->made != NULL ? page->made : "");
    answer(prepared, plan, units, out);
    what_to_run(prepared, plan, units, &all, out);
    const bool linked = where(prepared, plan, units, &all, out);
    controller(prepared, plan, units, &all, out);
    levers(prepared, plan, units, &all, out);
    card(page, out);
    how_sure(prepared, plan, style->units, &warnings, out);
    inputs(event, page, style, out);
    cautions(out);
    ta_buffer_add(out, "</main>\n");
    if (linked) {
      ta_buffer_add(out, "%s<script>%s</script>\n", all.trace.text, script.text);
    }
    ta_buffer_add(out, "</body>\n</html>\n");
  }
  ta_buffer_free(&look);
  ta_buffer_free(&script);
  drawings_free(&all);
}
