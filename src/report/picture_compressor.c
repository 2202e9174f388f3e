/* picture_compressor.c - the compressor map as printed maps show it, and the course's path on it.
 *
 * Method    Lines and islands are drawn in (surge-to-choke coordinate, speed), where the map is a
 *           rectangle, and every vertex is then placed by the surface itself: an island that leaves
 *           the map ends on surge, choke, or an outer line.
 * Limits    The path stands at the flow and pressure ratio that the compressor sees; in thin air it
 *           takes more speed there than the lines say, and the picture says how much.
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "picture_parts.h"
#include "thinair/printed_map.h"

enum {
  ALONG = 49,
  UP = 33,
  PATH = 65,
  ISLANDS_MAX = 24,
  ISLANDS_WIDE = 9,
  ISLANDS_NARROW = 5,
  SPOTS = 7,
  SPOTS_NARROW = 4
};
static const double PAST_TOP = 0.06;      /* drawn past the last line, at least */
static const double PAST_TOP_MOST = 0.25; /* where the surface ends */
static const double HEADROOM = 1.03;

typedef struct {
  const ta_compressor *compressor;
  const ta_compressor_map *map;
  double low_rpm, top_rpm, past_rpm; /* lowest and last line, and to where it is drawn */
  ta_frame frame;
  ta_sheet *sheet;
} drawn_map;

/* A place on the map in the axes' units; NaN where the surface has none. */
static ta_xy map_place(const drawn_map *m, double surge_to_choke, double rpm) {
  double flow, ratio;
  if (ta_compressor_map_point(m->map, surge_to_choke, rpm, &flow, &ratio) != TA_OK)
    return (ta_xy){(double)NAN, (double)NAN};
  return (ta_xy){ta_sheet_value(m->sheet, TA_SHOW_FLOW, flow), ratio};
}

static size_t speed_line(const drawn_map *m, double rpm, ta_xy *point) {
  for (size_t i = 0; i < ALONG; i++) point[i] = map_place(m, (double)i / (ALONG - 1), rpm);
  return ALONG;
}

static size_t edge(const drawn_map *m, double surge_to_choke, double to_rpm, ta_xy *point) {
  for (size_t i = 0; i < ALONG; i++)
    point[i] =
        map_place(m, surge_to_choke, m->low_rpm + (to_rpm - m->low_rpm) * (double)i / (ALONG - 1));
  return ALONG;
}

/* ---- axes ------------------------------------------------------------------------------------- */

static void widen(ta_xy *most, const ta_xy *point, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (isfinite(point[i].x)) most->x = fmax(most->x, point[i].x);
    if (isfinite(point[i].y)) most->y = fmax(most->y, point[i].y);
  }
}

static void draw_axes(drawn_map *m, ta_xy most) {
  char flow[3 * TA_SHOWN_MAX];
  ta_sheet *sheet = m->sheet;
  const bool several = sheet->prepared != NULL && sheet->prepared->event->car.turbo.count > 1.0;
  ta_xy point[ALONG];
  widen(&most, point, speed_line(m, m->past_rpm, point));
  widen(&most, point, edge(m, 1.0, m->past_rpm, point));
  (void)snprintf(flow, sizeof flow, "corrected flow%s, %s", several ? " of one turbo" : "",
                 ta_show_unit(TA_SHOW_FLOW, sheet->units));
  const double right = sheet->is_narrow ? 34.0 : 48.0; /* for the names of the lines */
  const ta_chart chart = {{0.0, HEADROOM * most.x, flow},
                          {1.0, 1.0 + HEADROOM * (most.y - 1.0), "pressure ratio"},
                          NULL,
                          {4.0, sheet->top, right, sheet->svg.height - sheet->bottom - 4.0}};
  ta_chart_draw(&sheet->svg, &chart, &m->frame, NULL);
}

/* ---- the map ---------------------------------------------------------------------------------- */

static void draw_past_top(const drawn_map *m) {
  ta_xy point[2 * ALONG];
  for (size_t i = 0; i < ALONG; i++) {
    point[i] = map_place(m, (double)i / (ALONG - 1), m->top_rpm);
    point[2 * ALONG - 1 - i] = map_place(m, (double)i / (ALONG - 1), m->past_rpm);
  }
  ta_svg_part(&m->sheet->svg, "past-top");
  ta_svg_polygon(&m->sheet->svg, &m->frame, TA_ROLE_EXTRAPOLATED, TA_HATCH, point,
                 sizeof point / sizeof point[0]);
  ta_svg_part_end(&m->sheet->svg);
}

static void draw_named(const drawn_map *m, const char *name, ta_role role, ta_xy *point,
                       size_t count) {
  count = ta_points_thin(&m->frame, point, count);
  ta_svg_part(&m->sheet->svg, name);
  ta_svg_line(&m->sheet->svg, &m->frame, role, point, count);
  ta_svg_part_end(&m->sheet->svg);
}

static void draw_edges(const drawn_map *m) {
  ta_xy point[ALONG];
  draw_named(m, "surge", TA_ROLE_SURGE_LINE, point, edge(m, 0.0, m->top_rpm, point));
  draw_named(m, "choke", TA_ROLE_CHOKE_LINE, point, edge(m, 1.0, m->top_rpm, point));
}

static void draw_speed_lines(const drawn_map *m) {
  ta_xy point[ALONG];
  ta_svg_part(&m->sheet->svg, "speed-lines");
  for (size_t i = 0; i < m->compressor->line_count; i++) {
    size_t count = speed_line(m, m->compressor->line[i].corrected_rpm, point);
    count = ta_points_thin(&m->frame, point, count);
    ta_svg_line(&m->sheet->svg, &m->frame, TA_ROLE_SPEED_LINE, point, count);
  }
  ta_svg_part_end(&m->sheet->svg);
}

/* Names of lines stand right of their ends, in thousands. */
static void label_speed_lines(const drawn_map *m) {
  for (size_t i = m->compressor->line_count; i-- > 0;) {
    char text[TA_SHOWN_MAX];
    const double rpm = m->compressor->line[i].corrected_rpm;
    (void)snprintf(text, sizeof text, "%.4g", rpm / 1000.0);
    (void)ta_svg_label(&m->sheet->svg, TA_ROLE_SPEED_LINE,
                       ta_frame_place(&m->frame, map_place(m, 1.0, rpm)), TA_SIDE_RIGHT, NULL,
                       text);
  }
}

/* ---- islands ---------------------------------------------------------------------------------- */

/* Efficiency over (surge-to-choke, speed). */
typedef struct {
  double along[UP], up[UP], value[UP * UP], low, high;
} island_grid;

static bool islands_read(const drawn_map *m, island_grid *grid) {
  grid->low = HUGE_VAL;
  grid->high = -HUGE_VAL;
  for (size_t j = 0; j < UP; j++) {
    grid->along[j] = (double)j / (UP - 1);
    grid->up[j] = m->low_rpm + (m->top_rpm - m->low_rpm) * (double)j / (UP - 1);
  }
  for (size_t j = 0; j < UP; j++) {
    for (size_t i = 0; i < UP; i++) {
      double flow, ratio;
      ta_map_reading reading;
      if (ta_compressor_map_point(m->map, grid->along[i], grid->up[j], &flow, &ratio) != TA_OK ||
          ta_compressor_map_at(m->map, flow, ratio, &reading) != TA_OK)
        return false;
      grid->value[j * UP + i] = reading.efficiency;
      grid->low = fmin(grid->low, reading.efficiency);
      grid->high = fmax(grid->high, reading.efficiency);
    }
  }
  return true;
}

static int falling(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x < y) - (x > y);
}

/* Those that were printed, else round ones, from the best down; every so many where there are more
 * than asked for. */
static size_t island_levels(const ta_compressor *compressor, const island_grid *grid, size_t most,
                            double level[ISLANDS_MAX]) {
  static const double round_step = 0.01;
  size_t count = 0, kept = 0;
  for (size_t i = 0; i < compressor->island_count && count < ISLANDS_MAX; i++)
    level[count++] = compressor->island[i].efficiency;
  if (count == 0)
    for (int k = (int)floor(grid->high / round_step);
         k * round_step > grid->low && count < ISLANDS_MAX; k--)
      level[count++] = k * round_step;
  qsort(level, count, sizeof *level, falling);
  const size_t every = (count + most - 1) / most;
  for (size_t i = 0; i < count; i++)
    if (i % every == 0 && (kept == 0 || level[kept - 1] > level[i])) level[kept++] = level[i];
  return kept;
}

/* The vertices of one level, thinned, written over the lines as places on the map. */
static void island_place(const drawn_map *m, ta_lines *lines) {
  for (size_t i = 0; i < lines->point_count; i++)
    lines->point[i] = map_place(m, lines->point[i].x, lines->point[i].y);
  for (size_t i = 0; i < lines->line_count; i++)
    lines->line[i].count =
        ta_points_thin(&m->frame, &lines->point[lines->line[i].first], lines->line[i].count);
}

static void label_island(const drawn_map *m, const ta_lines *lines, double level) {
  char text[TA_SHOWN_MAX];
  (void)snprintf(text, sizeof text, "%.3g %%", 100.0 * level);
  for (size_t i = 0; i < lines->line_count; i++) {
    const ta_span *line = &lines->line[i];
    const ta_xy *point = &lines->point[line->first];
    if (line->count < 2) continue;
    const size_t spots = 2 * line->count - 1; /* vertices, and halfway between them */
    for (size_t k = 0; k < spots; k++) {      /* from the middle outward */
      const size_t off = (k + 1) / 2, middle = spots / 2,
                   at = k % 2 == 0 ? middle + off : middle - off;
      if (at >= spots) continue;
      const ta_xy a = point[at / 2], b = point[(at + 1) / 2],
                  spot = {0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
      if (ta_svg_label_on(&m->sheet->svg, TA_ROLE_ISLAND, ta_frame_place(&m->frame, spot),
                          &m->frame.plot, text))
        return;
    }
  }
}

typedef struct {
  ta_lines lines[ISLANDS_MAX];
  double level[ISLANDS_MAX];
  size_t count;
} drawn_islands;

/* A map alone has all that were printed, to be compared. */
static size_t islands_most(const ta_sheet *sheet) {
  return sheet->is_narrow ? ISLANDS_NARROW : sheet->plan != NULL ? ISLANDS_WIDE : ISLANDS_MAX;
}

static void draw_islands(const drawn_map *m, drawn_islands *islands) {
  island_grid grid;
  islands->count = 0;
  if (!islands_read(m, &grid)) return;
  const size_t found = island_levels(m->compressor, &grid, islands_most(m->sheet), islands->level);
  ta_svg_part(&m->sheet->svg, "islands");
  for (; islands->count < found; islands->count++) {
    ta_lines *lines = &islands->lines[islands->count];
    if (ta_contour_trace(grid.along, UP, grid.up, UP, grid.value, islands->level[islands->count],
                         lines) != TA_OK)
      break;
    island_place(m, lines);
    ta_svg_lines(&m->sheet->svg, &m->frame, TA_ROLE_ISLAND, lines);
  }
  ta_svg_part_end(&m->sheet->svg);
}

static void finish_islands(const drawn_map *m, drawn_islands *islands) {
  for (size_t i = 0; i < islands->count; i++) {
    label_island(m, &islands->lines[i], islands->level[i]);
    ta_lines_free(&islands->lines[i]);
  }
}

static void label_edges(const drawn_map *m) {
  const double middle = 0.5 * (m->low_rpm + m->top_rpm);
  (void)ta_svg_label(&m->sheet->svg, TA_ROLE_SURGE_LINE,
                     ta_frame_place(&m->frame, map_place(m, 0.0, middle)), TA_SIDE_LEFT,
                     &m->frame.plot, "surge");
  (void)ta_svg_label(&m->sheet->svg, TA_ROLE_CHOKE_LINE,
                     ta_frame_place(&m->frame, map_place(m, 1.0, middle)), TA_SIDE_BELOW,
                     &m->frame.plot, "choke");
}

static drawn_map map_of(ta_sheet *sheet, const ta_compressor *compressor,
                        const ta_compressor_map *map, double beyond) {
  const double top = ta_compressor_map_top_rpm(map);
  return (drawn_map){.compressor = compressor,
                     .map = map,
                     .low_rpm = compressor->line[0].corrected_rpm,
                     .top_rpm = top,
                     .past_rpm = top * (1.0 + fmin(fmax(beyond, PAST_TOP), PAST_TOP_MOST)),
                     .sheet = sheet};
}

/* ---- the path --------------------------------------------------------------------------------- */

/* The worst of the window at even elevations, and under the cap at that engine speed. */
typedef struct {
  double low_m, high_m;
  ta_xy target[PATH], capped[PATH]; /* in the axes' units; NaN where capped gives nothing less */
  double beyond[PATH];              /* the last line, at the target */
  double most_beyond;
  bool has_cap;
  ta_strategy cap;
} path;

static double path_elevation(const path *way, size_t i) {
  return way->low_m + (way->high_m - way->low_m) * (double)i / (PATH - 1);
}

static ta_xy as_drawn(const ta_sheet *sheet, double flow_kg_s, double pressure_ratio) {
  return (ta_xy){ta_sheet_value(sheet, TA_SHOW_FLOW, flow_kg_s), pressure_ratio};
}

static void path_make(const ta_sheet *sheet, path *way) {
  const ta_course *course = &sheet->prepared->event->course;
  ta_course_range(course, &way->low_m, &way->high_m);
  way->has_cap = ta_best_cap(sheet->plan, &way->cap);
  way->most_beyond = 0.0;
  for (size_t i = 0; i < PATH; i++) {
    const ta_operating_point *a, *b;
    double share;
    ta_judged capped;
    ta_profile_between(&sheet->plan->profile, path_elevation(way, i), &a, &b, &share);
#define BETWEEN(member) (a->member + share * (b->member - a->member))
    way->target[i] = as_drawn(sheet, BETWEEN(corrected_flow_kg_s), BETWEEN(pressure_ratio));
    way->beyond[i] = share > 0.0 ? BETWEEN(beyond_top_line) : a->beyond_top_line;
    const double engine_rpm = BETWEEN(engine_rpm);
#undef BETWEEN
    if (isfinite(way->beyond[i])) way->most_beyond = fmax(way->most_beyond, way->beyond[i]);
    const ta_speed_range one = {engine_rpm, engine_rpm};
    /* positions change with distance: as at the last place of that elevation they are seen */
    double distance_m = course->point[0].distance_m;
    for (size_t k = 0; way->has_cap && way->cap == TA_BY_POSITION && k < course->count; k++)
      if (course->point[k].elevation_m <= path_elevation(way, i) + 0.5)
        distance_m = course->point[k].distance_m;
    way->capped[i] = (ta_xy){(double)NAN, (double)NAN};
    if (way->has_cap && ta_judged_at(sheet->prepared, sheet->plan, way->cap, one, distance_m,
                                     path_elevation(way, i), &capped))
      way->capped[i] = as_drawn(sheet, capped.corrected_flow_kg_s, capped.pressure_ratio);
  }
}

static bool is_capped(const path *way, size_t i) {
  return isfinite(way->capped[i].y) && way->capped[i].y < way->target[i].y - 0.005;
}

static void draw_path(const drawn_map *m, const path *way) {
  ta_svg *svg = &m->sheet->svg;
  ta_xy firm[PATH], soft[PATH], capped[PATH];
  const ta_xy gap = {(double)NAN, (double)NAN};
  for (size_t i = 0; i < PATH; i++) {
    const bool past = !(way->beyond[i] <= 0.0),
               meets = past || (i + 1 < PATH && !(way->beyond[i + 1] <= 0.0)) ||
                       (i > 0 && !(way->beyond[i - 1] <= 0.0));
    firm[i] = past ? gap : way->target[i];
    soft[i] = meets ? way->target[i] : gap;
    capped[i] = is_capped(way, i) || (i + 1 < PATH && is_capped(way, i + 1)) ||
                        (i > 0 && is_capped(way, i - 1))
                    ? way->capped[i]
                    : gap;
  }
  ta_svg_keep_line_clear(svg, &m->frame, way->target, PATH);
  ta_svg_keep_line_clear(svg, &m->frame, capped, PATH);
  draw_named(m, "capped", TA_ROLE_SHAFT_UNDER_CAP, capped, PATH);
  draw_named(m, "target", TA_ROLE_SHAFT_AT_TARGET, firm, PATH);
  draw_named(m, "estimate", TA_ROLE_SHAFT_ESTIMATE, soft, PATH);
}

static void label_height(const drawn_map *m, ta_xy at, ta_side side, double elevation_m,
                         const char *more) {
  char text[TA_SENTENCE_MAX], height[TA_SHOWN_MAX];
  (void)snprintf(text, sizeof text, "%s%s",
                 ta_show_quantity(TA_SHOW_ELEVATION, m->sheet->units, 0, elevation_m, height),
                 more);
  (void)ta_svg_label(&m->sheet->svg, TA_ROLE_TEXT, ta_frame_place(&m->frame, at), side,
                     &m->frame.plot, text);
}

/* Discs at the target, squares under the cap, coloured by elevation. */
static void draw_spots(const drawn_map *m, const path *way) {
  ta_svg *svg = &m->sheet->svg;
  const size_t spots = !(way->high_m > way->low_m) ? 1 : m->sheet->is_narrow ? SPOTS_NARROW : SPOTS;
  for (int capped = 1; capped >= 0; capped--) {
    ta_svg_part(svg, capped ? "capped-spots" : "target-spots");
    for (size_t k = 0; k < spots; k++) {
      const size_t i = spots > 1 ? k * (PATH - 1) / (spots - 1) : 0;
      const double share = (double)i / (PATH - 1);
      if (capped && !is_capped(way, i)) continue;
      ta_svg_spot(svg, &m->frame, TA_ROLE_TEXT, capped ? TA_SQUARE : TA_DISC,
                  capped ? way->capped[i] : way->target[i], capped ? 9.0 : 10.0, share);
    }
    ta_svg_part_end(svg);
  }
}

static ta_xy worst_place(const drawn_map *m) {
  const ta_operating_point *point = &m->sheet->plan->over.worst.point;
  return as_drawn(m->sheet, point->corrected_flow_kg_s, point->pressure_ratio);
}

static void draw_worst(const drawn_map *m) {
  ta_svg_part(&m->sheet->svg, "worst");
  ta_svg_marker(&m->sheet->svg, &m->frame, TA_ROLE_LIMIT, TA_RING, worst_place(m), 17.0);
  ta_svg_part_end(&m->sheet->svg);
}

static void label_path(const drawn_map *m, const path *way) {
  const ta_placed_point *worst = &m->sheet->plan->over.worst;
  char more[TA_SENTENCE_MAX], rpm[TA_SHOWN_MAX];
  const ta_xy at = worst_place(m);
  if (m->sheet->is_narrow)
    more[0] = '\0';
  else if (isfinite(worst->point.shaft_rpm))
    (void)snprintf(more, sizeof more, ", worst: %s",
                   ta_show_quantity(TA_SHOW_RPM, m->sheet->units, -1, worst->point.shaft_rpm, rpm));
  else
    (void)snprintf(more, sizeof more, ", worst: off the map");
  label_height(m, at, TA_SIDE_UPPER_RIGHT, worst->elevation_m, more);
  if (worst->elevation_m > way->low_m + 1.0)
    label_height(m, way->target[0], TA_SIDE_LOWER_RIGHT, way->low_m, "");
  if (worst->elevation_m < way->high_m - 1.0)
    label_height(m, way->target[PATH - 1], TA_SIDE_UPPER_RIGHT, way->high_m, "");
}

/* Where the limit is drawn for: the worst place; where no speed can be named there, that of the
 * tightest cap.  NULL: none. */
static const ta_placed_point *limit_place(const ta_plan *plan) {
  if (isfinite(plan->over.worst.point.shaft_rpm)) return &plan->over.worst;
  const ta_placed_point *tightest = &plan->caps.constant.tightest;
  return tightest->point.shaft_rpm > 0.0 && isfinite(tightest->point.shaft_rpm) ? tightest : NULL;
}

/* The speed line on which the limit lies in the air there; 0 where none is drawn. */
static double limit_on_map(const drawn_map *m) {
  const ta_placed_point *at = limit_place(m->sheet->plan);
  if (at == NULL) return 0.0;
  const double rpm = m->sheet->prepared->limit_rpm *
                     (at->point.corrected_rpm / at->point.shaft_rpm) /
                     at->point.thin_air_speed_factor;
  return rpm <= m->past_rpm ? rpm : 0.0;
}

static void draw_limit(const drawn_map *m) {
  const double rpm = limit_on_map(m);
  ta_xy point[ALONG];
  if (!(rpm > 0.0)) return;
  (void)speed_line(m, rpm, point);
  draw_named(m, "limit", TA_ROLE_LIMIT, point, ALONG);
}

static void label_limit(const drawn_map *m) {
  char text[TA_SENTENCE_MAX], height[TA_SHOWN_MAX];
  const double rpm = limit_on_map(m);
  if (!(rpm > 0.0)) return;
  (void)snprintf(text, sizeof text, "limit at %s",
                 ta_show_quantity(TA_SHOW_ELEVATION, m->sheet->units, 0,
                                  limit_place(m->sheet->plan)->elevation_m, height));
  (void)ta_svg_label(&m->sheet->svg, TA_ROLE_LIMIT,
                     ta_frame_place(&m->frame, map_place(m, 0.0, rpm)), TA_SIDE_LEFT,
                     &m->frame.plot, text);
}

/* Which colour is which elevation: in the corner left of surge, where it fits. */
static void draw_scale(const drawn_map *m, const path *way) {
  char title[TA_SHOWN_MAX];
  const ta_rect *plot = &m->frame.plot;
  const double em = m->sheet->svg.text_px, bottom = plot->top + 4.8 * em;
  double right = plot->left + 260.0;
  for (size_t i = 0; i < ALONG; i++) {
    const double rpm = m->low_rpm + (m->past_rpm - m->low_rpm) * (double)i / (ALONG - 1);
    const ta_xy at = ta_frame_place(&m->frame, map_place(m, 0.0, rpm));
    if (at.y < bottom) right = fmin(right, at.x);
  }
  const ta_rect bar = {plot->left + 2.0 * em, plot->top + 0.7 * em, right - 2.4 * em,
                       plot->top + 1.6 * em};
  if (bar.right - bar.left < 5.0 * em || !(way->high_m > way->low_m)) return;
  (void)snprintf(title, sizeof title, "elevation, %s",
                 ta_show_unit(TA_SHOW_ELEVATION, m->sheet->units));
  ta_svg_part(&m->sheet->svg, "scale");
  ta_svg_scale_bar(&m->sheet->svg, bar, &(ta_axis){0.0, 0.0, title}); /* without ticks: */
  for (int end = 0; end < 2; end++) {
    char number[TA_SHOWN_MAX];
    (void)ta_show_number(TA_SHOW_ELEVATION, m->sheet->units, 0, end ? way->high_m : way->low_m,
                         number);
    ta_svg_text(
        &m->sheet->svg,
        &(ta_lettering){
            {end ? bar.right : bar.left, bar.bottom + 1.25 * em}, TA_MIDDLE, .role = TA_ROLE_MUTED},
        number);
  }
  ta_svg_part_end(&m->sheet->svg);
  ta_svg_keep_clear(&m->sheet->svg, (ta_rect){plot->left, plot->top, bar.right + em, bottom});
}

/* A narrow one has short words, in an order that fills its rows. */
static void draw_key(ta_sheet *sheet, const path *way) {
  const ta_key_entry target = {TA_ROLE_SHAFT_AT_TARGET, false, TA_SOLID, "at the full target"},
                     speed = {TA_ROLE_SPEED_LINE, false, TA_SOLID,
                              sheet->is_narrow ? "1000 rpm" : "speed, 1000 rpm"},
                     past = {TA_ROLE_EXTRAPOLATED, true, TA_HATCH, "past the map: an estimate"},
                     efficiency = {TA_ROLE_ISLAND, false, TA_SOLID, "efficiency"};
  ta_key_entry entry[5];
  size_t count = 0;
  char capped[TA_SENTENCE_MAX];
  entry[count++] = target;
  if (sheet->is_narrow) entry[count++] = speed;
  if (way->has_cap) {
    (void)snprintf(capped, sizeof capped, "%s%s",
                   sheet->is_narrow ? "" : "capped: ", ta_strategy_words(way->cap));
    entry[count++] = (ta_key_entry){TA_ROLE_SHAFT_UNDER_CAP, false, TA_SOLID, capped};
  }
  entry[count++] = past;
  if (!sheet->is_narrow) entry[count++] = speed;
  entry[count++] = efficiency;
  ta_sheet_key(sheet, entry, count);
}

static void say_thin_air(const drawn_map *m) {
  char text[TA_SENTENCE_MAX], height[TA_SHOWN_MAX];
  const ta_placed_point *at = limit_place(m->sheet->plan);
  const double more = at != NULL ? at->point.thin_air_speed_factor - 1.0 : 0.0,
               em = m->sheet->svg.text_px;
  const ta_rect *plot = &m->frame.plot;
  if (!(fabs(more) > 5e-4) || m->sheet->is_narrow) return;
  (void)snprintf(text, sizeof text, "thin air takes %.1f %% more speed at %s than the lines say%s",
                 100.0 * more,
                 ta_show_quantity(TA_SHOW_ELEVATION, m->sheet->units, 0, at->elevation_m, height),
                 limit_on_map(m) > 0.0 ? "; the limit is drawn with it" : "");
  const ta_lettering note = {
      {plot->left + 0.8 * em, plot->bottom - em}, .role = TA_ROLE_MUTED, .halo = true};
  ta_svg_text(&m->sheet->svg, &note, text);
  ta_svg_keep_clear(&m->sheet->svg, ta_svg_text_box(&m->sheet->svg, &note, text));
}

static void say_worst(const ta_sheet *sheet, char headline[TA_SENTENCE_MAX],
                      char description[TA_SENTENCE_MAX]) {
  const ta_placed_point *worst = &sheet->plan->over.worst;
  const ta_operating_point *point = &worst->point;
  char height[TA_SHOWN_MAX], flow[TA_SHOWN_MAX], zone[TA_SENTENCE_MAX], place[TA_SENTENCE_MAX];
  (void)ta_show_quantity(TA_SHOW_ELEVATION, sheet->units, 0, worst->elevation_m, height);
  (void)ta_say_zone(point, zone);
  (void)snprintf(headline, TA_SENTENCE_MAX, "Worst at %s, %s", height, zone);
  (void)snprintf(
      description, TA_SENTENCE_MAX,
      "The compressor map with the course's path at the full target: worst at %s, corrected flow "
      "%s, pressure ratio %.2f, %s.",
      ta_say_place(&sheet->prepared->event->course, sheet->units, worst->distance_m,
                   worst->elevation_m, place),
      ta_show_quantity(TA_SHOW_FLOW, sheet->units, -1, point->corrected_flow_kg_s, flow),
      point->pressure_ratio, zone);
}

bool ta_picture_compressor_draw(const ta_prepared *prepared, const ta_plan *plan,
                                const ta_picture_frame *frame, ta_buffer *out) {
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX];
  const ta_compressor *compressor = &prepared->event->car.turbo.compressor;
  path way;
  drawn_islands islands;
  say_worst(&sheet, headline, description);
  ta_sheet_open_plan(&sheet, TA_PICTURE_COMPRESSOR, prepared, plan, frame, headline, description,
                     out);
  path_make(&sheet, &way);
  draw_key(&sheet, &way);
  drawn_map m = map_of(&sheet, compressor, prepared->map, way.most_beyond + 0.02);
  ta_xy most = {0.0, 1.0};
  widen(&most, way.target, PATH);
  draw_axes(&m, most);
  ta_svg_clip(&sheet.svg, &m.frame, NULL, 0);
  draw_past_top(&m);
  draw_speed_lines(&m);
  draw_islands(&m, &islands);
  draw_edges(&m);
  draw_limit(&m);
  draw_path(&m, &way);
  draw_worst(&m);
  draw_spots(&m, &way);
  ta_svg_clip_end(&sheet.svg);
  draw_scale(&m, &way);
  say_thin_air(&m);
  label_path(&m, &way);
  label_limit(&m);
  label_edges(&m);
  label_speed_lines(&m);
  finish_islands(&m, &islands);
  ta_svg_close(&sheet.svg);
  return true;
}

/* ---- a compressor alone ----------------------------------------------------------------------- */

/* The points as typed, to be compared with the print. */
static void draw_typed(const drawn_map *m) {
  ta_svg *svg = &m->sheet->svg;
  const ta_compressor *compressor = m->compressor;
  ta_svg_part(svg, "typed");
  for (size_t i = 0; i < compressor->line_count; i++)
    for (size_t k = 0; k < compressor->line[i].point_count; k++) {
      const ta_map_point *p = &compressor->line[i].point[k];
      ta_svg_marker(svg, &m->frame, TA_ROLE_SPEED_LINE, TA_DISC,
                    as_drawn(m->sheet, p->flow_kg_s, p->pressure_ratio), 4.5);
    }
  for (size_t i = 0; i < compressor->island_count; i++)
    for (size_t k = 0; k < compressor->island[i].point_count; k++) {
      const ta_printed_point *p = &compressor->island[i].point[k];
      ta_svg_marker(svg, &m->frame, TA_ROLE_ISLAND, TA_DIAMOND,
                    as_drawn(m->sheet, ta_printed_flow(compressor, p), p->pressure_ratio), 4.5);
    }
  ta_svg_part_end(svg);
}

void ta_picture_map_draw(const ta_compressor *compressor, const ta_compressor_map *map,
                         const ta_picture_frame *frame, ta_buffer *out) {
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX], a[TA_SHOWN_MAX], b[TA_SHOWN_MAX],
      c[TA_SHOWN_MAX], d[TA_SHOWN_MAX];
  ta_sheet sheet;
  drawn_islands islands;
  const ta_unit_system units = frame->units;
  (void)snprintf(
      headline, sizeof headline, "Corrected to %s and %s",
      ta_show_quantity(TA_SHOW_STATION, units, 2, compressor->reference.pressure_pa, a),
      ta_show_quantity(TA_SHOW_TEMPERATURE, units, 2, compressor->reference.temperature_k, b));
  (void)snprintf(
      description, sizeof description,
      "Compressor map of %zu speed lines from %s to %s, corrected to %s and %s, with efficiency "
      "islands.",
      compressor->line_count,
      ta_show_number(TA_SHOW_RPM, units, -1, compressor->line[0].corrected_rpm, c),
      ta_show_quantity(TA_SHOW_RPM, units, -1, ta_compressor_map_top_rpm(map), d), a, b);
  const ta_sheet_words words = {compressor->name != NULL ? compressor->name : "compressor",
                                "compressor map", headline, description};
  ta_sheet_open(&sheet, NULL, NULL, frame, &words, out);
  const ta_key_entry entry[] = {
      {TA_ROLE_SPEED_LINE, false, TA_SOLID, "speed, 1000 rpm"},
      {TA_ROLE_ISLAND, false, TA_SOLID, "efficiency"},
      {TA_ROLE_EXTRAPOLATED, true, TA_HATCH, "past the map: an estimate"}};
  ta_sheet_key(&sheet, entry, sizeof entry / sizeof entry[0]);
  drawn_map m = map_of(&sheet, compressor, map, PAST_TOP);
  draw_axes(&m, (ta_xy){0.0, 1.0});
  ta_svg_clip(&sheet.svg, &m.frame, NULL, 0);
  draw_past_top(&m);
  draw_speed_lines(&m);
  draw_islands(&m, &islands);
  draw_edges(&m);
  draw_typed(&m);
  ta_svg_clip_end(&sheet.svg);
  label_edges(&m);
  label_speed_lines(&m);
  finish_islands(&m, &islands);
  ta_svg_close(&sheet.svg);
}
