/* day.h - the day's air over the whole mountain. */
#ifndef THINAIR_DAY_H
#define THINAIR_DAY_H

#include <stdbool.h>
#include <stddef.h>

#include "thinair/air.h"
#include "thinair/diagnostics.h"
#include "thinair/status.h"

/** One reading.  Of pressure and qnh one at the most, of humidity and dew point one at the most;
 *  the lowest station needs pressure or qnh. */
typedef struct {
  const char *name;   /* may be NULL */
  double elevation_m; /* geometric */
  double temperature_k;
  double pressure_pa; /* station pressure, not reduced to sea level */
  double qnh_pa;
  double humidity; /* relative, over water, 0 to 1 */
  double dew_point_k;
  bool has_pressure, has_qnh, has_humidity, has_dew_point;
} ta_station;

/** What is known of the day: stations, or the standard day with an offset. */
typedef struct {
  ta_station *station;
  size_t station_count;  /* 0: the standard day below */
  double isa_offset_k;   /* moves the thermometer, leaves the standard pressure alone */
  double isa_humidity;   /* relative; 0: dry */
  int isa_hydrostatic;   /* 1: integrates the pressure from the standard one at sea level */
  double lapse_rate_k_m; /* beyond the stations; positive: colder with height */
} ta_day_reading;

enum { TA_DAY_LAYERS_MAX = 256, TA_STATIONS_MAX = 64 };

/** The column of air, ready to be asked.  Plain data, about 10 kB. */
typedef struct {
  size_t count;
  struct {
    double height_gp_m, temperature_k, mixing_ratio, log_pressure, virtual_temperature_k;
  } level[TA_DAY_LAYERS_MAX];
  bool standard;             /* pressure is the standard day's, whatever the temperature */
  bool humidity_known;       /* false: no station gives it, and the air was taken as dry */
  bool cold_reading;         /* one cold valley reading: the warmer of it and the ISA is aloft */
  bool stations_disagree;    /* warned of: superadiabatic, or pressures more than 1 hPa apart */
  double top_station_m;      /* geometric; highest station; HUGE_VAL for the standard day */
  double offset_k, humidity; /* of the standard day */
} ta_day;

/**
 * Build the column of air from readings, -2 000 to 9 000 m geometric.
 *
 *     T     linear in geopotential height H between stations, dT/dH = -lapse beyond
 *     w     linear in H between stations that give humidity, the nearest one's beyond, at most
 *           saturation; 0 when none does
 *     ln p  = ln p(station) - (g0/R_dry) integral of dH/Tv, Tv the virtual temperature
 *
 * Between two stations with pressure the integral starts at the lower; what it misses at the upper
 * is shared linearly in H.  QNH becomes station pressure by the standard day.  Stations may come
 * in any order.  One station alone, more than 8 K below the standard day: above it the warmer of
 * the extrapolation and the standard day is taken, since a dawn inversion ends below the summit.
 * Without stations: the standard day's pressure, its temperature plus the offset, constant
 * relative humidity.
 *
 * @param[in]     reading      One day.  station: elevation -2 000 to 9 000 m, 1 m apart or more;
 *                             temperature 180 to 340 K; pressure within 4 % of the standard day;
 *                             qnh 900 to 1 090 hPa; humidity 0 to 1; dew point 173.15 to
 *                             313.15 K, not above the temperature.  At most TA_STATIONS_MAX.
 *                             isa_offset_k -50 to 50 K; lapse rate -10 to 10 K/km.
 * @param[out]    day          Untouched unless TA_OK is returned.
 * @param[in,out] diagnostics  Errors and warnings, keys such as "stations[0].pressure" and
 *                             "isa.offset", indices those of `reading`; nothing is raised about a
 *                             key that has an error already.  May be NULL.
 * @retval TA_ERR_ARGUMENT  reading or day is NULL, or station is NULL with a count.
 * @retval TA_ERR_INPUT     The reading contradicts itself or is impossible; see the diagnostics.
 *
 * Accuracy  A fine integration of the same profile agrees within 1e-5 of the pressure.  Four real
 *           ascents, from their ground station to 4 km up: tests/published/test_soundings.c.
 * Threads   Pure; no allocation, 32 kB of stack.
 * Source    Hydrostatics; the traps are common practice.
 */
ta_status ta_day_build(const ta_day_reading *reading, ta_day *day, ta_diagnostics *diagnostics);

/**
 * The air at an elevation.
 *
 * @param[in]  day          From ta_day_build.
 * @param[in]  elevation_m  Geometric [m], -2 000 to 9 000.
 * @param[out] air          Untouched unless TA_OK is returned.
 * @retval TA_ERR_ARGUMENT  day or air is NULL, the day was not built, or the elevation is not
 *                          finite.
 * @retval TA_ERR_DOMAIN    The elevation is outside the range.
 *
 * Accuracy  As ta_day_build; continuous, but for the temperature at a cold reading's station.
 * Threads   Pure; no allocation.
 * Source    As ta_day_build.
 */
ta_status ta_day_air(const ta_day *day, double elevation_m, ta_air *air);

#endif
