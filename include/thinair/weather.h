/* weather.h - what another hour's weather does to the one cap. */
#ifndef THINAIR_WEATHER_H
#define THINAIR_WEATHER_H

#include <stdbool.h>

#include "thinair/caps.h"
#include "thinair/prepare.h"

#define TA_WEATHER_WARMER_K 5.0
#define TA_WEATHER_LOWER_PA 1000.0

/** Change of the one cap's set-point. */
typedef struct {
  double change;
  bool known; /* false: the day cannot be changed so, or no cap can be had then */
} ta_cap_change;

typedef struct {
  ta_cap_change warmer; /* the whole day TA_WEATHER_WARMER_K warmer, its pressures as read */
  ta_cap_change lower;  /* every pressure read TA_WEATHER_LOWER_PA lower; not known where none is */
} ta_weather;

/**
 * Solve the one cap again in both changed days.  Where the target itself still holds then, the change
 * is 0.
 *
 * @param[in]  cap  The one cap of the event as it is.
 * @retval TA_ERR_ARGUMENT  An argument is NULL.
 * @retval TA_ERR_MEMORY    Out of memory.
 */
ta_status ta_weather_find(const ta_prepared *prepared, const ta_constant_cap *cap,
                          ta_weather *weather);

#endif
