/* compressor_map.h - speed lines as the maker prints them, and the one dense surface made of them. */
#ifndef THINAIR_COMPRESSOR_MAP_H
#define THINAIR_COMPRESSOR_MAP_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/status.h"

/** One printed point, corrected to the map's reference state. */
typedef struct {
  double flow_kg_s;      /* corrected mass flow */
  double pressure_ratio; /* total to total */
  double efficiency;     /* isentropic, total to total */
} ta_map_point;

/** One speed line, from surge to choke. */
typedef struct {
  double corrected_rpm;
  ta_map_point *point;
  size_t point_count;
} ta_speed_line;

/** Where an operating point lies.  Unreachable is judged first: no speed can be named there.  Else
 *  surge and choke win over the rest. */
#define TA_ZONE_ROWS(X)                                             \
  X(TA_MAPPED, "mapped")             /* between the lines */        \
  X(TA_EXTRAPOLATED, "extrapolated") /* above the top line */       \
  X(TA_BELOW, "below")               /* below the lowest line */    \
  X(TA_SURGE, "surge")               /* left of the surge line */   \
  X(TA_CHOKE, "choke")               /* right of the lines' ends */ \
  X(TA_UNREACHABLE, "unreachable")   /* above 1.25 times the top line */

typedef enum {
#define X(symbol, name) symbol,
  TA_ZONE_ROWS(X)
#undef X
      TA_ZONE_COUNT
} ta_zone;

/** "mapped", "extrapolated", ... */
const char *ta_zone_name(ta_zone zone);

/** What the surface says of one (corrected flow, pressure ratio). */
typedef struct {
  double corrected_rpm;   /* INFINITY where unreachable: no speed can be named */
  double efficiency;      /* such that T2/T1 - 1 = (PR^(2/7) - 1)/efficiency */
  double beyond_top_line; /* corrected_rpm over the top line's, less 1; negative below it;
                             INFINITY where unreachable */
  double surge_to_choke;  /* throttle coordinate: 0 on the surge line, 1 at the lines' ends */
  ta_zone zone;
} ta_map_reading;

/** The surface: opaque, immutable once made, may be shared by threads. */
typedef struct ta_compressor_map ta_compressor_map;

/**
 * Check speed lines as typed.  Raises every fault with keys "lines", "lines[i]" and
 * "lines[i].rows[j]", which count from 0; the texts count from 1.  One point off its line gives one
 * error; shapes are judged once every number by itself is sound.
 * @param[in,out] diagnostics  May be NULL.
 * @retval TA_ERR_ARGUMENT  No lines at all are given (NULL), though count says so.
 * @retval TA_ERR_INPUT     At least one error was raised.
 * @retval TA_ERR_MEMORY
 */
ta_status ta_speed_lines_check(const ta_speed_line *line, size_t count,
                               ta_diagnostics *diagnostics);

/**
 * Make the surface, 82 kB, in 2 ms.  Does the checks above itself.
 * @param[out] map  To be freed with ta_compressor_map_free.  Untouched on failure.
 * @retval TA_ERR_INPUT  The lines have a fault: ta_speed_lines_check says which.
 * Accuracy  A line left out between two others is read within 0.1 % rms in speed on closed-form
 *           maps of six lines and seven points or more a line (0.4 % with three points), and 0.3 %
 *           on a measured map; the top line left out within 0.3 % and 0.5 %.
 */
ta_status ta_compressor_map_create(const ta_speed_line *line, size_t count,
                                   ta_compressor_map **map);

/** NULL is fine. */
void ta_compressor_map_free(ta_compressor_map *map);

/** Corrected speed of the top line [rpm]. */
double ta_compressor_map_top_rpm(const ta_compressor_map *map);

/** Corrected flow of the surge line at a pressure ratio above 1 [kg/s]. */
double ta_compressor_map_surge_flow(const ta_compressor_map *map, double pressure_ratio);

/**
 * Read the surface: total inverse, one corrected speed for every flow > 0 and pressure ratio > 1.
 * @retval TA_ERR_ARGUMENT  Not finite.   @retval TA_ERR_DOMAIN  flow <= 0 or pressure ratio <= 1.
 */
ta_status ta_compressor_map_at(const ta_compressor_map *map, double flow_kg_s,
                               double pressure_ratio, ta_map_reading *reading);

/**
 * The point of a speed line, the way back from a reading.
 *
 * @param[in]  surge_to_choke  0 on the surge line to 1 at the lines' ends.
 * @param[in]  corrected_rpm   Above 0, up to 1.25 times the top line's.
 * @param[out] flow_kg_s, pressure_ratio  Untouched on failure.
 * @retval TA_ERR_ARGUMENT  A pointer is NULL.   @retval TA_ERR_DOMAIN  Outside the ranges above.
 * Accuracy  A reading there gives the speed back within 1e-9, relative, and surge_to_choke within
 *           1e-9 between the edges.
 */
ta_status ta_compressor_map_point(const ta_compressor_map *map, double surge_to_choke,
                                  double corrected_rpm, double *flow_kg_s, double *pressure_ratio);

/**
 * How well the lines predict each other: line i is left out, the surface is made from the rest, and
 * speed is read at the points of line i.
 * @param[out] rms  count values: root mean square of (read speed over the line's speed, less 1).
 *                  The lowest line, and any line when fewer than three are there, cannot be left
 *                  out: -1 there.  Untouched on failure.
 * @retval TA_ERR_INPUT  The lines have a fault.
 */
ta_status ta_compressor_map_leave_one_out(const ta_speed_line *line, size_t count, double *rms);

#endif
