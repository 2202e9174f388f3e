/* printed_map.c - a compressor map as it is printed, made into speed lines with efficiencies.
 *
 * Decision  Efficiencies are read where a point lies between surge and choke and how fast it turns,
 *           both taken from the speed lines alone: there islands are plain hills, whatever the
 *           slant of the map.
 * Pinned by tests/model/test_printed_map.c.
 */
#include "thinair/printed_map.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "efficiency_islands.h"
#include "thinair/air.h"

static const double PLACEHOLDER_EFFICIENCY = 0.7; /* where only the lines' shape is asked */
static const double LOWEST_EFFICIENCY = 0.3, ABOVE_BEST = 0.01;
static const double FURTHEST_TO_SURGE = 0.3; /* a line is continued by so much of its flow */

static double volume_to_mass(const ta_compressor *compressor, double volume_m3_s) {
  return volume_m3_s * compressor->reference.pressure_pa /
         (TA_R_DRY_JKGK * compressor->reference.temperature_k);
}

double ta_printed_flow(const ta_compressor *compressor, const ta_printed_point *point) {
  return point->has_volume ? volume_to_mass(compressor, point->flow_m3_s) : point->flow_kg_s;
}

/* Flow on the printed surge line at a pressure ratio, continued straight past its ends. */
static double surge_flow(const ta_compressor *compressor, double pressure_ratio) {
  const ta_printed_point *point = compressor->surge;
  size_t i = 1;
  while (i + 1 < compressor->surge_count && point[i].pressure_ratio < pressure_ratio) i++;
  const double low = ta_printed_flow(compressor, &point[i - 1]),
               high = ta_printed_flow(compressor, &point[i]);
  return low + (high - low) * (pressure_ratio - point[i - 1].pressure_ratio) /
                   (point[i].pressure_ratio - point[i - 1].pressure_ratio);
}

static bool surge_line_sound(const ta_compressor *compressor, ta_diagnostics *d) {
  if (compressor->surge_count == 1)
    (void)ta_raise(d, TA_ERROR, "surge_line.rows", "a surge line takes two points or more");
  bool sound = compressor->surge_count != 1;
  for (size_t i = 1; i < compressor->surge_count; i++) {
    const ta_printed_point *a = &compressor->surge[i - 1], *b = &compressor->surge[i];
    if (b->pressure_ratio > a->pressure_ratio &&
        ta_printed_flow(compressor, b) > ta_printed_flow(compressor, a))
      continue;
    char key[TA_KEY_MAX];
    (void)snprintf(key, sizeof key, "surge_line.rows[%zu]", i);
    (void)ta_raise(d, TA_ERROR, key,
                   "flow and pressure ratio of the surge line must rise from point to point");
    sound = false;
  }
  return sound;
}

/* Share of the way from a to b at which the line crosses the surge line, from the left sides. */
static double crossing(const ta_compressor *compressor, const ta_map_point *a,
                       const ta_map_point *b) {
  const double left = a->flow_kg_s - surge_flow(compressor, a->pressure_ratio),
               right = b->flow_kg_s - surge_flow(compressor, b->pressure_ratio);
  return left / (left - right);
}

/* Make a line begin on the surge line.  Its last two points and one more must be left. */
static bool begin_on_surge(const ta_compressor *compressor, size_t i, ta_speed_line *line,
                           bool *known, ta_diagnostics *d) {
  char key[TA_KEY_MAX];
  ta_map_point *point = line->point;
  size_t first = 0;
  (void)snprintf(key, sizeof key, "lines[%zu]", i);
  while (first < line->point_count &&
         point[first].flow_kg_s <= surge_flow(compressor, point[first].pressure_ratio))
    first++;
  if (first + 2 > line->point_count) {
    (void)ta_raise_relation(d, key, "surge_line", "line %zu lies left of the surge line", i + 1);
    return false;
  }
  if (first == 0) {
    /* continued as the parabola through its first three points goes, to where the two meet */
    const ta_map_point *p = point;
    double low = p[0].flow_kg_s * (1.0 - FURTHEST_TO_SURGE), high = p[0].flow_kg_s, ratio = 0.0;
    for (int step = 0; step < 60; step++) {
      const double w = 0.5 * (low + high);
      const double a = (w - p[1].flow_kg_s) * (w - p[2].flow_kg_s) /
                       ((p[0].flow_kg_s - p[1].flow_kg_s) * (p[0].flow_kg_s - p[2].flow_kg_s)),
                   b = (w - p[0].flow_kg_s) * (w - p[2].flow_kg_s) /
                       ((p[1].flow_kg_s - p[0].flow_kg_s) * (p[1].flow_kg_s - p[2].flow_kg_s)),
                   c = (w - p[0].flow_kg_s) * (w - p[1].flow_kg_s) /
                       ((p[2].flow_kg_s - p[0].flow_kg_s) * (p[2].flow_kg_s - p[1].flow_kg_s));
      ratio = a * p[0].pressure_ratio + b * p[1].pressure_ratio + c * p[2].pressure_ratio;
      if (w > surge_flow(compressor, ratio))
        high = w;
      else
        low = w;
    }
    if (low <= p[0].flow_kg_s * (1.0 - FURTHEST_TO_SURGE) * (1.0 + 1e-9)) {
      (void)ta_raise_relation(
          d, key, "surge_line",
          "line %zu begins more than %.0f %% of its flow right of the surge line", i + 1,
          100.0 * FURTHEST_TO_SURGE);
      return false;
    }
    if (high > p[0].flow_kg_s * (1.0 - 1e-3)) return true; /* it begins there already */
    memmove(point + 1, point, line->point_count * sizeof *point);
    memmove(known + 1, known, line->point_count * sizeof *known);
    point[0] = (ta_map_point){.flow_kg_s = high, .pressure_ratio = ratio};
    known[0] = false;
    line->point_count++;
    return true;
  }
  /* the crossing takes the place of the last point that falls away */
  const ta_map_point *a = &point[first - 1], *b = &point[first];
  const double share = crossing(compressor, a, b);
  const ta_map_point on = {
      .flow_kg_s = a->flow_kg_s + share * (b->flow_kg_s - a->flow_kg_s),
      .pressure_ratio = a->pressure_ratio + share * (b->pressure_ratio - a->pressure_ratio),
      .efficiency = a->efficiency + share * (b->efficiency - a->efficiency)};
  known[first - 1] = known[first - 1] && known[first];
  point[first - 1] = on;
  line->point_count -= first - 1;
  memmove(point, point + first - 1, line->point_count * sizeof *point);
  memmove(known, known + first - 1, line->point_count * sizeof *known);
  return true;
}

/* Where a point lies between surge and choke and how fast it turns; false where nothing can be
 * said. */
static bool place_of(const ta_compressor_map *shape, double flow_kg_s, double pressure_ratio,
                     ta_known_efficiency *place) {
  ta_map_reading reading;
  if (ta_compressor_map_at(shape, flow_kg_s, pressure_ratio, &reading) != TA_OK ||
      reading.zone == TA_UNREACHABLE)
    return false;
  place->along = reading.surge_to_choke;
  place->up = reading.corrected_rpm / ta_compressor_map_top_rpm(shape);
  return true;
}

/* Are the lines sound, whatever their efficiencies? */
static bool shape_sound(ta_compressor *compressor, const bool *known, size_t room,
                        ta_diagnostics *d) {
  for (size_t i = 0; i < compressor->line_count; i++)
    for (size_t j = 0; j < compressor->line[i].point_count; j++)
      if (!known[i * room + j]) compressor->line[i].point[j].efficiency = PLACEHOLDER_EFFICIENCY;
  return ta_speed_lines_check(compressor->line, compressor->line_count, d) == TA_OK;
}

/* Efficiencies from the islands and the points that have one. */
static ta_status fill_efficiencies(ta_compressor *compressor, const bool *known, size_t room,
                                   ta_diagnostics *d) {
  size_t known_count = 0, place_count = 0, most = 0;
  for (size_t i = 0; i < compressor->island_count; i++) most += compressor->island[i].point_count;
  for (size_t i = 0; i < compressor->line_count; i++) most += compressor->line[i].point_count;
  ta_known_efficiency *all = calloc(2 * most + 1, sizeof *all), *place = all + most;
  ta_compressor_map *shape = NULL;
  if (all == NULL) return TA_ERR_MEMORY;
  ta_status status = shape_sound(compressor, known, room, d) ? TA_OK : TA_ERR_INPUT;
  if (status == TA_OK)
    status = ta_compressor_map_create(compressor->line, compressor->line_count, &shape);
  if (status != TA_OK) goto done;
  double best = 0.0;
  for (size_t i = 0; i < compressor->island_count; i++) {
    const ta_printed_island *island = &compressor->island[i];
    for (size_t j = 0; j < island->point_count; j++) {
      if (!place_of(shape, ta_printed_flow(compressor, &island->point[j]),
                    island->point[j].pressure_ratio, &all[known_count])) {
        char key[TA_KEY_MAX];
        (void)snprintf(key, sizeof key, "islands[%zu].rows[%zu]", i, j);
        (void)ta_raise(d, TA_ERROR, key, "island %zu point %zu lies far above the top speed line",
                       i + 1, j + 1);
        status = TA_ERR_INPUT;
        continue;
      }
      best = fmax(best, all[known_count++].efficiency = island->efficiency);
    }
  }
  for (size_t i = 0; i < compressor->line_count; i++) {
    for (size_t j = 0; j < compressor->line[i].point_count; j++) {
      const ta_map_point *point = &compressor->line[i].point[j];
      ta_known_efficiency *at = known[i * room + j] ? &all[known_count] : &place[place_count];
      (void)place_of(shape, point->flow_kg_s, point->pressure_ratio, at); /* on a checked line */
      at->efficiency = point->efficiency;
      if (known[i * room + j])
        best = fmax(best, all[known_count++].efficiency);
      else
        place_count++;
    }
  }
  if (status != TA_OK) goto done;
  status = ta_efficiency_between(all, known_count, place, place_count);
  if (status == TA_ERR_DOMAIN) {
    (void)ta_raise(
        d, TA_ERROR, "islands",
        "efficiency is given at %zu points of the map; six or more are taken, spread over "
        "islands or lines",
        known_count);
    status = TA_ERR_INPUT;
  }
  for (size_t i = 0, k = 0; status == TA_OK && i < compressor->line_count; i++)
    for (size_t j = 0; j < compressor->line[i].point_count; j++)
      if (!known[i * room + j])
        compressor->line[i].point[j].efficiency =
            fmin(fmax(place[k++].efficiency, LOWEST_EFFICIENCY), best + ABOVE_BEST);
done:
  ta_compressor_map_free(shape);
  free(all);
  return status;
}

/* Speeds and flows in the units of the model; known tells which points have an efficiency. */
static bool copy_lines(ta_compressor *compressor, bool *known, size_t room, ta_diagnostics *d) {
  bool sound = true;
  for (size_t i = 0; i < compressor->printed_count; i++) {
    const ta_printed_line *from = &compressor->printed[i];
    ta_speed_line *to = &compressor->line[i];
    to->corrected_rpm = from->corrected_rpm;
    to->point_count = from->point_count;
    if (from->has_tip_speed && !compressor->has_exducer) {
      char key[TA_KEY_MAX];
      (void)snprintf(key, sizeof key, "lines[%zu].speed", i);
      (void)ta_raise(d, TA_ERROR, key,
                     "the line is marked with a tip speed: exducer_diameter is needed to turn it "
                     "into rpm");
      sound = false;
    } else if (from->has_tip_speed) {
      to->corrected_rpm = 60.0 * from->tip_speed_ms / (acos(-1.0) * compressor->exducer_m);
    }
    for (size_t j = 0; j < from->point_count; j++) {
      const ta_printed_point *point = &from->point[j];
      to->point[j] = (ta_map_point){ta_printed_flow(compressor, point), point->pressure_ratio,
                                    point->efficiency};
      known[i * room + j] = point->has_efficiency;
    }
  }
  compressor->line_count = compressor->printed_count;
  return sound;
}

ta_status ta_printed_map_complete(ta_compressor *compressor, ta_diagnostics *diagnostics) {
  if (compressor == NULL) return TA_ERR_ARGUMENT;
  size_t room = 1;
  for (size_t i = 0; i < compressor->printed_count; i++)
    room = compressor->printed[i].point_count + 1 > room ? compressor->printed[i].point_count + 1
                                                         : room;
  bool *known = calloc(compressor->printed_count * room + 1, sizeof *known);
  if (known == NULL) return TA_ERR_MEMORY;
  bool sound = copy_lines(compressor, known, room, diagnostics);
  if (sound && compressor->surge_count > 0) /* misread points are named as they are printed */
    sound = shape_sound(compressor, known, room, diagnostics);
  if (compressor->surge_count > 0) {
    sound = surge_line_sound(compressor, diagnostics) && sound;
    for (size_t i = 0; sound && i < compressor->line_count; i++)
      if (compressor->line[i].point_count >= 3)
        sound = begin_on_surge(compressor, i, &compressor->line[i], known + i * room, diagnostics);
  }
  bool all_known = true;
  for (size_t i = 0; i < compressor->line_count; i++)
    for (size_t j = 0; j < compressor->line[i].point_count; j++) all_known &= known[i * room + j];
  ta_status status = sound ? TA_OK : TA_ERR_INPUT;
  if (status == TA_OK && !all_known && compressor->island_count == 0) {
    (void)ta_raise(diagnostics, TA_ERROR, "lines",
                   "points have no efficiency: a column efficiency, or islands, are taken");
    status = TA_ERR_INPUT;
  } else if (status == TA_OK && !all_known) {
    status = fill_efficiencies(compressor, known, room, diagnostics);
  }
  free(known);
  return status;
}
