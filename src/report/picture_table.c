/* picture_table.c - the controller's table as it is typed in, the darker the less boost.
 *
 * Decision  Every engine speed is named, turned where the columns are narrow; where the numbers fit
 *           the columns, the sheet is as high as its rows take.
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>

#include "controller_unit.h"
#include "picture_parts.h"
#include "thinair/controller_table.h"

/* Rows from the densest air down, as a controller's screen or a sheet has them. */
typedef struct {
  ta_sheet *sheet;
  const ta_controller_table *table;
  const ta_control *control;
  double least, most; /* set-points */
  ta_rect area;
  double cell_width, cell_height;
  double number_px;  /* size of the numbers; 0: they do not fit */
  bool turned_heads; /* of the columns */
} table_panel;

static const double SMALLEST_PX = 11.0;
static const double HEAD_ROW = 1.3,
                    TWO_LINES = 2.4; /* height of a row's head over the text's size */

static double node(const table_panel *p, size_t row, size_t column) {
  const ta_controller_axes *axes = &p->table->axes;
  return p->table->set_point[(axes->pressure_count - 1 - row) * axes->speed_count + column];
}

static double row_pressure(const table_panel *p, size_t row) {
  const ta_controller_axes *axes = &p->table->axes;
  return axes->pressure_pa[axes->pressure_count - 1 - row];
}

static ta_rect cell(const table_panel *p, size_t row, size_t column) {
  const double left = p->area.left + p->cell_width * (double)column,
               top = p->area.top + p->cell_height * (double)row;
  return (ta_rect){left + 0.75, top + 0.75, left + p->cell_width - 0.75,
                   top + p->cell_height - 0.75};
}

static bool is_at_target(const table_panel *p, size_t row, size_t column) {
  const ta_prepared *prepared = p->sheet->prepared;
  return ta_prepared_goal(prepared, p->table->axes.speed_rpm[column]) - node(p, row, column) <
         prepared->event->car.control.resolution_pa;
}

static void number_of(const table_panel *p, size_t row, size_t column, char text[TA_SHOWN_MAX]) {
  (void)ta_show_controller(p->control, node(p, row, column), text);
}

static bool elevation_of(const table_panel *p, size_t row, double *elevation_m) {
  ta_air air;
  return ta_air_at_pressure(&p->sheet->prepared->day, row_pressure(p, row), &air, elevation_m) ==
         TA_OK;
}

/* ---- what fits ------------------------------------------------------------------------------- */

static double width_of(const table_panel *p, double size_px, const char *text) {
  const ta_lettering style = {.role = TA_ROLE_TEXT, .size_px = size_px};
  const ta_rect box = ta_svg_text_box(&p->sheet->svg, &style, text);
  return box.right - box.left;
}

static double widest_number(const table_panel *p, double size_px) {
  const ta_controller_axes *axes = &p->table->axes;
  char text[TA_SHOWN_MAX];
  double widest = 0.0;
  for (size_t row = 0; row < axes->pressure_count; row++)
    for (size_t column = 0; column < axes->speed_count; column++) {
      number_of(p, row, column, text);
      widest = fmax(widest, width_of(p, size_px, text));
    }
  return widest;
}

static double widest_speed(const table_panel *p) {
  const ta_controller_axes *axes = &p->table->axes;
  char text[TA_SHOWN_MAX];
  double widest = 0.0;
  for (size_t i = 0; i < axes->speed_count; i++)
    widest =
        fmax(widest,
             width_of(p, 0.0,
                      ta_show_number(TA_SHOW_RPM, p->sheet->units, -1, axes->speed_rpm[i], text)));
  return widest;
}

/* Of the rows on a phone: ambient above elevation. */
static double widest_row_head(const table_panel *p) {
  const ta_unit_system units = p->sheet->units;
  char text[TA_SHOWN_MAX];
  double widest = 0.0, elevation_m;
  for (size_t i = 0; i < p->table->axes.pressure_count; i++) {
    (void)ta_show_number(TA_SHOW_AMBIENT, units, -1, row_pressure(p, i), text);
    widest = fmax(widest, width_of(p, 0.0, text));
    if (!elevation_of(p, i, &elevation_m)) continue;
    (void)ta_show_number(TA_SHOW_ELEVATION, units, -1, elevation_m, text);
    widest = fmax(widest, width_of(p, SMALLEST_PX, text));
  }
  return widest;
}

/* Places the cells on what the sheet has left.  @return By how much it is too low for them [px]. */
static double lay_out(table_panel *p) {
  const ta_sheet *sheet = p->sheet;
  const ta_controller_axes *axes = &p->table->axes;
  const double em = sheet->svg.text_px, speed_px = widest_speed(p),
               left = sheet->is_narrow ? 4.0 + widest_row_head(p) + 0.5 * em : 11.5 * em,
               right = sheet->svg.width - (sheet->is_narrow ? 4.0 : 8.0);
  p->cell_width = (right - left) / (double)axes->speed_count;
  p->turned_heads = speed_px + 0.4 * em > p->cell_width;
  p->number_px = widest_number(p, em) <= p->cell_width            ? em
                 : widest_number(p, SMALLEST_PX) <= p->cell_width ? SMALLEST_PX
                                                                  : 0.0;
  p->area = (ta_rect){left, sheet->top + 1.4 * em + (p->turned_heads ? speed_px + em : 1.6 * em),
                      right, sheet->bottom};
  p->cell_height = (p->area.bottom - p->area.top) / (double)axes->pressure_count;
  const double row_px = (sheet->is_narrow ? TWO_LINES : HEAD_ROW) * em;
  return p->number_px > 0.0 ? fmax(row_px - p->cell_height, 0.0) * (double)axes->pressure_count
                            : 0.0;
}

/* ---- what is drawn --------------------------------------------------------------------------- */

static void draw_cells(const table_panel *p) {
  const ta_controller_axes *axes = &p->table->axes;
  ta_svg_part(&p->sheet->svg, "cells");
  for (size_t row = 0; row < axes->pressure_count; row++)
    for (size_t column = 0; column < axes->speed_count; column++) {
      char text[TA_SHOWN_MAX] = "";
      const double share =
          p->most > p->least ? (p->most - node(p, row, column)) / (p->most - p->least) : 0.0;
      if (p->number_px > 0.0) number_of(p, row, column, text);
      ta_svg_cell(&p->sheet->svg, cell(p, row, column), share, p->number_px, text);
    }
  ta_svg_part_end(&p->sheet->svg);
}

/* A heavy line between cells at the target and cells below it. */
static void draw_border(const table_panel *p) {
  const ta_controller_axes *axes = &p->table->axes;
  ta_svg *svg = &p->sheet->svg;
  const double half = 1.75;
  ta_svg_part(svg, "border");
  for (size_t row = 0; row < axes->pressure_count; row++)
    for (size_t column = 0; column < axes->speed_count; column++) {
      const double left = p->area.left + p->cell_width * (double)column,
                   top = p->area.top + p->cell_height * (double)row;
      const bool here = is_at_target(p, row, column);
      if (row > 0 && is_at_target(p, row - 1, column) != here)
        ta_svg_rect(svg, TA_ROLE_LIMIT, TA_SOLID,
                    (ta_rect){left - half, top - half, left + p->cell_width + half, top + half});
      if (column > 0 && is_at_target(p, row, column - 1) != here)
        ta_svg_rect(svg, TA_ROLE_LIMIT, TA_SOLID,
                    (ta_rect){left - half, top - half, left + half, top + p->cell_height + half});
    }
  ta_svg_part_end(svg);
}

/* Every so many, that labels stay apart. */
static size_t every(double cell_px, double label_px) {
  return cell_px >= label_px ? 1 : (size_t)ceil(label_px / cell_px);
}

static void draw_speeds(const table_panel *p) {
  const ta_controller_axes *axes = &p->table->axes;
  const double em = p->sheet->svg.text_px;
  char text[TA_SHOWN_MAX];
  for (size_t i = 0; i < axes->speed_count; i += every(p->cell_width, HEAD_ROW * em)) {
    const ta_lettering head = {{p->area.left + p->cell_width * ((double)i + 0.5),
                                p->area.top - (p->turned_heads ? 0.5 : 0.8) * em},
                               p->turned_heads ? TA_START : TA_MIDDLE,
                               .turn_deg = p->turned_heads ? -90.0 : 0.0,
                               .role = TA_ROLE_TEXT};
    ta_svg_text(&p->sheet->svg, &head,
                ta_show_number(TA_SHOW_RPM, p->sheet->units, -1, axes->speed_rpm[i], text));
  }
}

static void draw_ambients(const table_panel *p) {
  ta_svg *svg = &p->sheet->svg;
  const ta_unit_system units = p->sheet->units;
  const bool below = p->sheet->is_narrow; /* the elevation stands below the pressure, else beside */
  const double em = svg->text_px;
  char text[TA_SHOWN_MAX];
  for (size_t i = 0; i < p->table->axes.pressure_count;
       i += every(p->cell_height, (below ? TWO_LINES : HEAD_ROW) * em)) {
    const double y = p->area.top + p->cell_height * ((double)i + 0.5),
                 off = below ? 0.55 * em : 0.0, x = p->area.left - 0.5 * em;
    double elevation_m;
    const ta_lettering head = {{x, y - off}, TA_END, .role = TA_ROLE_TEXT};
    ta_svg_text(svg, &head, ta_show_number(TA_SHOW_AMBIENT, units, -1, row_pressure(p, i), text));
    if (!elevation_of(p, i, &elevation_m)) continue;
    const ta_lettering high = {{below ? x : x - 5.0 * em, y + off},
                               TA_END,
                               .role = TA_ROLE_MUTED,
                               .size_px = below ? SMALLEST_PX : 0.0};
    ta_svg_text(svg, &high,
                (below ? ta_show_number : ta_show_quantity)(TA_SHOW_ELEVATION, units, 0,
                                                            elevation_m, text));
  }
}

static void draw_titles(const table_panel *p) {
  ta_sheet *sheet = p->sheet;
  const ta_unit_system units = sheet->units;
  const double em = sheet->svg.text_px, y = sheet->top + 0.8 * em;
  char text[TA_SENTENCE_MAX];
  if (sheet->is_narrow)
    (void)snprintf(text, sizeof text, "ambient, %s; elevation, %s",
                   ta_show_unit(TA_SHOW_AMBIENT, units), ta_show_unit(TA_SHOW_ELEVATION, units));
  else
    (void)snprintf(text, sizeof text, "ambient, %s", ta_show_unit(TA_SHOW_AMBIENT, units));
  const ta_lettering left = {{sheet->is_narrow ? 8.0 : p->area.left - 0.5 * em, y},
                             sheet->is_narrow ? TA_START : TA_END,
                             .role = TA_ROLE_MUTED},
                     right = {{p->area.right, y}, TA_END, .role = TA_ROLE_MUTED};
  ta_svg_text(&sheet->svg, &left, text);
  ta_svg_text(&sheet->svg, &right, "engine speed, rpm");
}

static void say(const table_panel *p, char headline[TA_SENTENCE_MAX],
                char description[TA_SENTENCE_MAX]) {
  const ta_controller_axes *axes = &p->table->axes;
  const ta_unit_system units = p->sheet->units;
  char most[TA_SHOWN_MAX], least[TA_SHOWN_MAX], step[TA_SHOWN_MAX], dense[TA_SHOWN_MAX],
      thin[TA_SHOWN_MAX], slow[TA_SHOWN_MAX], fast[TA_SHOWN_MAX];
  const char *word = ta_set_point_word(p->sheet->prepared),
             *unit = ta_controller_unit_of(p->control)->name,
             *heading = p->control->holds == TA_HOLDS_GAUGE ? "Boost" : "MAP";
  (void)ta_show_controller(p->control, p->most, most);
  (void)ta_show_controller(p->control, p->least, least);
  if (p->most > p->least)
    (void)snprintf(headline, TA_SENTENCE_MAX, "%s from %s down to %s %s", heading, most, least,
                   unit);
  else
    (void)snprintf(headline, TA_SENTENCE_MAX, "%s %s %s everywhere: the target needs no cap",
                   heading, most, unit);
  (void)snprintf(
      description, TA_SENTENCE_MAX,
      "Controller table of %zu ambient pressures from %s to %s by %zu engine speeds from %s to %s: "
      "%s from %s down to %s %s, rounded down to %s %s.",
      axes->pressure_count, ta_show_quantity(TA_SHOW_AMBIENT, units, -1, row_pressure(p, 0), dense),
      ta_show_quantity(TA_SHOW_AMBIENT, units, -1, axes->pressure_pa[0], thin), axes->speed_count,
      ta_show_number(TA_SHOW_RPM, units, -1, axes->speed_rpm[0], slow),
      ta_show_quantity(TA_SHOW_RPM, units, -1, axes->speed_rpm[axes->speed_count - 1], fast), word,
      most, least, unit, ta_show_controller(p->control, p->control->resolution_pa, step), unit);
}

static void open_sheet(table_panel *p, const ta_picture_frame *frame, const char *headline,
                       const char *description, ta_buffer *out) {
  ta_sheet *sheet = p->sheet;
  ta_sheet_open_plan(sheet, TA_PICTURE_TABLE, sheet->prepared, sheet->plan, frame, headline,
                     description, out);
  if (p->most > p->least)
    ta_sheet_paragraph(sheet, &(ta_lettering){.role = TA_ROLE_MUTED}, 1,
                       sheet->is_narrow
                           ? "beyond the heavy line less than the target"
                           : "darker is less; beyond the heavy line less than the target is held");
}

bool ta_picture_table_draw(const ta_prepared *prepared, const ta_plan *plan,
                           const ta_picture_frame *frame, ta_buffer *out) {
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  table_panel p = {.sheet = &sheet,
                   .table = &plan->caps.table,
                   .control = &prepared->event->car.control,
                   .least = HUGE_VAL,
                   .most = -HUGE_VAL};
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX];
  const ta_controller_axes *axes = &p.table->axes;
  ta_picture_frame higher = *frame;
  ta_buffer trial = {0}; /* to see what the words leave */
  if (p.table->set_point == NULL || !p.table->can_be_had) return false;
  for (size_t i = 0; i < axes->pressure_count * axes->speed_count; i++) {
    p.least = fmin(p.least, p.table->set_point[i]);
    p.most = fmax(p.most, p.table->set_point[i]);
  }
  say(&p, headline, description);
  open_sheet(&p, frame, headline, description, &trial);
  higher.height += ceil(lay_out(&p));
  ta_svg_close(&sheet.svg);
  ta_buffer_free(&trial);
  open_sheet(&p, &higher, headline, description, out);
  (void)lay_out(&p);
  draw_titles(&p);
  ta_svg_part(&sheet.svg, "heads");
  draw_speeds(&p);
  draw_ambients(&p);
  ta_svg_part_end(&sheet.svg);
  draw_cells(&p);
  draw_border(&p);
  ta_svg_close(&sheet.svg);
  return true;
}
