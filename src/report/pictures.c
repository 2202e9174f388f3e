/* pictures.c - the list of pictures, and what they share.
 *
 * Source    Thinning of lines: D. H. Douglas, T. K. Peucker, Cartographica 10(2), 1973, 112.
 * Pinned by tests/report/test_pictures.c.
 */
#include "pictures.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "picture_parts.h"

static const double NARROW_PX = 600.0;
static const double CAUTION_PX = 11.0;
static const double THIN_PX = 1.0 / 3.0;

typedef bool (*drawer)(const ta_prepared *prepared, const ta_plan *plan,
                       const ta_picture_frame *frame, ta_buffer *out);

static const struct {
  const char *name, *title, *reading;
} pictures[] = {
#define X(symbol, name, title, reading) [symbol] = {name, title, reading},
    TA_PICTURE_ROWS(X)
#undef X
};

static const drawer drawers[TA_PICTURE_COUNT] = {
    [TA_PICTURE_COURSE] = ta_picture_course_draw,
    [TA_PICTURE_COMPRESSOR] = ta_picture_compressor_draw,
    [TA_PICTURE_CAP] = ta_picture_cap_draw,
    [TA_PICTURE_TABLE] = ta_picture_table_draw,
    [TA_PICTURE_LEVERS] = ta_picture_levers_draw,
    [TA_PICTURE_TIME] = ta_picture_time_draw,
};

const char *ta_picture_name(ta_picture picture) {
  return (unsigned)picture < TA_PICTURE_COUNT ? pictures[picture].name : "?";
}

const char *ta_picture_title(ta_picture picture) {
  return (unsigned)picture < TA_PICTURE_COUNT ? pictures[picture].title : "?";
}

const char *ta_picture_reading(ta_picture picture) {
  return (unsigned)picture < TA_PICTURE_COUNT ? pictures[picture].reading : "?";
}

bool ta_picture_find(const char *name, ta_picture *picture) {
  for (int i = 0; i < TA_PICTURE_COUNT; i++) {
    if (strcmp(pictures[i].name, name) != 0) continue;
    *picture = (ta_picture)i;
    return true;
  }
  return false;
}

ta_picture_frame ta_picture_frame_of(ta_picture picture, bool is_narrow, ta_unit_system units) {
  const double wide = picture == TA_PICTURE_TIME ? 300.0 : 560.0; /* it has few bars */
  return (ta_picture_frame){.width = is_narrow ? 390.0 : 1200.0,
                            .height = is_narrow ? 420.0 : wide,
                            .text = is_narrow ? 12.0 : 14.0,
                            .units = units};
}

bool ta_picture_draw(ta_picture picture, const ta_prepared *prepared, const ta_plan *plan,
                     const ta_picture_frame *frame, ta_buffer *out) {
  return (unsigned)picture < TA_PICTURE_COUNT && drawers[picture](prepared, plan, frame, out);
}

/* ---- the sheet ------------------------------------------------------------------------------- */

/* How many bytes of the text fit into a width, whole words; the first word at least. */
static size_t words_within(const ta_svg *svg, const ta_lettering *style, double width,
                           const char *text) {
  char piece[TA_SENTENCE_MAX];
  size_t fits = 0;
  for (size_t end = 0; text[end] != '\0';) {
    end += strspn(text + end, " ");
    end += strcspn(text + end, " ");
    (void)snprintf(piece, sizeof piece, "%.*s", (int)end, text);
    const ta_rect box = ta_svg_text_box(svg, style, piece);
    if (fits > 0 && box.right - box.left > width) break;
    fits = end;
  }
  return fits;
}

void ta_sheet_paragraph(ta_sheet *sheet, const ta_lettering *style, size_t most_lines,
                        const char *text) {
  const double em = style->size_px > 0.0 ? style->size_px : sheet->svg.text_px,
               width = sheet->svg.width - 16.0;
  char line[TA_SENTENCE_MAX];
  for (size_t i = 0; i < most_lines && *text != '\0'; i++) {
    size_t fits = words_within(&sheet->svg, style, width, text);
    const bool is_cut = i + 1 == most_lines && text[fits] != '\0';
    if (is_cut) fits = words_within(&sheet->svg, style, width - 2.0 * em, text);
    ta_lettering here = *style;
    (void)snprintf(line, sizeof line, "%.*s%s", (int)fits, text, is_cut ? " ..." : "");
    here.at = (ta_xy){8.0, sheet->top + 0.75 * em};
    ta_svg_text(&sheet->svg, &here, line);
    ta_svg_keep_clear(&sheet->svg, ta_svg_text_box(&sheet->svg, &here, line));
    sheet->top += 1.4 * em;
    text += fits;
    text += strspn(text, " ");
  }
}

/* At the foot of a drawing that goes about alone; a narrow one has room for the first. */
static void cautions(ta_sheet *sheet) {
  const ta_lettering style = {.role = TA_ROLE_MUTED, .size_px = CAUTION_PX};
  const double row = 1.4 * CAUTION_PX, top = sheet->top;
  const size_t rows = sheet->is_narrow ? 1 : 2;
  char text[TA_SENTENCE_MAX];
  (void)snprintf(text, sizeof text, "%.*s",
                 (int)(sheet->is_narrow ? strcspn(ta_cautions, "\n") : strlen(ta_cautions) - 1),
                 ta_cautions);
  for (char *c = text; *c != '\0'; c++)
    if (*c == '\n') *c = ' ';
  sheet->bottom = sheet->svg.height - 4.0 - row * (double)rows;
  sheet->top = sheet->bottom;
  ta_sheet_paragraph(sheet, &style, rows, text);
  sheet->top = top;
  sheet->bottom -= 4.0;
}

bool ta_frame_is_narrow(const ta_picture_frame *frame) {
  return frame->width < NARROW_PX;
}

void ta_sheet_open(ta_sheet *sheet, const ta_prepared *prepared, const ta_plan *plan,
                   const ta_picture_frame *frame, const ta_sheet_words *words, ta_buffer *out) {
  char title[TA_SENTENCE_MAX];
  *sheet = (ta_sheet){.prepared = prepared,
                      .plan = plan,
                      .units = frame->units,
                      .is_narrow = ta_frame_is_narrow(frame),
                      .top = 5.0,
                      .bottom = frame->height - 8.0};
  (void)snprintf(title, sizeof title, "%s: %s", words->title, words->subject);
  const ta_drawing drawing = {frame->id,     title,       words->description, frame->width,
                              frame->height, frame->text, frame->with_style};
  ta_svg_open(&sheet->svg, &drawing, out);
  if (frame->with_style)
    ta_sheet_paragraph(sheet, &(ta_lettering){.role = TA_ROLE_MUTED}, 1, title);
  ta_sheet_paragraph(sheet,
                     &(ta_lettering){.role = TA_ROLE_TEXT,
                                     .size_px = (sheet->is_narrow ? 1.1 : 1.3) * frame->text,
                                     .bold = true},
                     2, words->headline);
  sheet->top += 2.0;
  if (frame->with_style) cautions(sheet);
}

void ta_sheet_open_plan(ta_sheet *sheet, ta_picture picture, const ta_prepared *prepared,
                        const ta_plan *plan, const ta_picture_frame *frame, const char *headline,
                        const char *description, ta_buffer *out) {
  char subject[TA_SENTENCE_MAX];
  const char *car = prepared->event->car.name;
  (void)snprintf(subject, sizeof subject, "%s%s%s", prepared->event->name, car != NULL ? ", " : "",
                 car != NULL ? car : "");
  const ta_sheet_words words = {subject, ta_picture_title(picture), headline, description};
  ta_sheet_open(sheet, prepared, plan, frame, &words, out);
}

void ta_sheet_key(ta_sheet *sheet, const ta_key_entry *entry, size_t count) {
  sheet->top = ta_svg_key(&sheet->svg, entry, count, 8.0, sheet->top, sheet->svg.width - 8.0) + 2.0;
}

double ta_sheet_value(const ta_sheet *sheet, ta_show show, double si) {
  return ta_show_value(show, sheet->units, si);
}

/* ---- lines ----------------------------------------------------------------------------------- */

static double off_the_chord(ta_xy p, ta_xy a, ta_xy b) {
  const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  const double along =
      length2 > 0.0 ? fmin(fmax(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0), 1.0) : 0.0;
  return hypot(p.x - a.x - along * dx, p.y - a.y - along * dy);
}

static bool is_there(ta_xy p) {
  return isfinite(p.x) && isfinite(p.y);
}

/* One run without gaps: from each point kept to the farthest one that all between lie close to, in
 * steps that double and then halve. */
static bool reaches(const ta_frame *frame, const ta_xy *point, size_t from, size_t to) {
  const ta_xy a = ta_frame_place(frame, point[from]), b = ta_frame_place(frame, point[to]);
  for (size_t i = from + 1; i < to; i++)
    if (off_the_chord(ta_frame_place(frame, point[i]), a, b) > THIN_PX) return false;
  return true;
}

static size_t run_thin(const ta_frame *frame, ta_xy *point, size_t count) {
  size_t kept = 1;
  for (size_t from = 0; from + 1 < count;) {
    size_t near = from + 1, step = 1;
    while (near + step < count && reaches(frame, point, from, near + step)) {
      near += step;
      step *= 2;
    }
    for (; step > 0; step /= 2)
      if (near + step < count && reaches(frame, point, from, near + step)) near += step;
    point[kept++] = point[near];
    from = near;
  }
  return kept;
}

size_t ta_points_thin(const ta_frame *frame, ta_xy *point, size_t count) {
  size_t kept = 0;
  for (size_t i = 0; i < count;) {
    size_t run = 0;
    while (i + run < count && is_there(point[i + run])) run++;
    const size_t left = run > 0 ? run_thin(frame, &point[i], run) : 1;
    memmove(&point[kept], &point[i], left * sizeof *point);
    kept += left;
    i += run > 0 ? run : 1;
  }
  return kept;
}

/* ---- caps ------------------------------------------------------------------------------------ */

ta_show ta_set_point_show(const ta_prepared *prepared) {
  return prepared->event->car.control.holds == TA_HOLDS_GAUGE ? TA_SHOW_BOOST : TA_SHOW_MAP;
}

const char *ta_set_point_word(const ta_prepared *prepared) {
  return ta_set_point_show(prepared) == TA_SHOW_BOOST ? "boost" : "MAP";
}

const char *ta_say_start(const ta_prepared *prepared) {
  return prepared->event->is_cut ? "where the part begins" : "at the start";
}

bool ta_best_cap(const ta_plan *plan, ta_strategy *best) {
  if (plan->runs.has_best) *best = plan->runs.best;
  if (plan->runs.has_best) return true;
  for (int i = TA_FULL_TARGET + 1; i < TA_STRATEGY_COUNT; i++)
    if (ta_strategy_offered(&plan->caps, (ta_strategy)i)) {
      *best = (ta_strategy)i;
      return true;
    }
  return false;
}

bool ta_judged_at(const ta_prepared *prepared, const ta_plan *plan, ta_strategy strategy,
                  ta_speed_range range, double distance_m, double elevation_m, ta_judged *worst) {
  ta_air air;
  if (ta_day_air(&prepared->day, elevation_m, &air) != TA_OK) return false;
  *worst = (ta_judged){.shaft_rpm = -1.0};
  ta_point_block block;
  for (double from = range.low_rpm; isfinite(from);) {
    double rpm[TA_LANES];
    block = (ta_point_block){.count = ta_speeds_in_range(prepared->event, range, &from, rpm)};
    for (size_t i = 0; i < block.count; i++) {
      const double set_point = fmin(
          ta_prepared_goal(prepared, rpm[i]),
          ta_strategy_cap(prepared, &plan->caps, strategy, distance_m, air.pressure_pa, rpm[i]));
      block.ambient_pressure_pa[i] = air.pressure_pa;
      block.ambient_temperature_k[i] = air.temperature_k;
      block.gas_constant_jkgk[i] = air.gas_constant_jkgk;
      block.engine_rpm[i] = rpm[i];
      block.map_pa[i] =
          fmax(ta_judged_map(prepared, set_point, air.pressure_pa), air.pressure_pa * (1.0 + 1e-9));
    }
    ta_points_solve(&prepared->event->car, prepared->map, &block);
    for (size_t i = 0; i < block.count; i++)
      if (block.shaft_rpm[i] > worst->shaft_rpm)
        *worst = (ta_judged){block.shaft_rpm[i],
                             block.corrected_flow_kg_s[i],
                             block.outlet_pressure_pa[i] / block.inlet_pressure_pa[i],
                             block.beyond_top_line[i],
                             block.engine_rpm[i],
                             block.map_pa[i]};
  }
  return true;
}
