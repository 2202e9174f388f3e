/* weather.c - what another hour's weather does to the one cap.
 *
 * Method    The event with a changed day is solved anew: no derivative is assumed.
 * Limits    Relative humidity stays as read, so warmer air holds more vapour; a dew point stays too.
 * Pinned by tests/plan/test_weather.c.
 */
#include "thinair/weather.h"

#include <math.h>
#include <stdlib.h>

#include "thinair/access.h"

/* The reading with its temperatures raised and its pressures lowered.  A QNH becomes the pressure
 * that it stands for, since it is the barometer there that will read lower. */
static bool change_day(const ta_day_reading *reading, double warmer_k, double lower_pa,
                       ta_station station[TA_STATIONS_MAX], ta_day_reading *changed) {
  *changed = *reading;
  changed->station = station;
  changed->isa_offset_k += warmer_k;
  bool pressure_read = false;
  for (size_t i = 0; i < reading->station_count; i++) {
    station[i] = reading->station[i];
    station[i].temperature_k += warmer_k;
    if (station[i].has_qnh) {
      if (ta_station_pressure(station[i].qnh_pa, ta_geopotential_m(station[i].elevation_m),
                              &station[i].pressure_pa) != TA_OK)
        return false;
      station[i].has_qnh = false;
      station[i].has_pressure = true;
    }
    station[i].pressure_pa -= lower_pa;
    pressure_read = pressure_read || station[i].has_pressure;
  }
  return pressure_read || lower_pa == 0.0;
}

static ta_status find_change(const ta_prepared *prepared, const ta_constant_cap *cap,
                             double warmer_k, double lower_pa, ta_cap_change *change) {
  ta_station station[TA_STATIONS_MAX];
  ta_event event = *prepared->event;
  ta_prepared changed;
  ta_constant_cap then;
  *change = (ta_cap_change){0};
  if (!change_day(&prepared->event->day, warmer_k, lower_pa, station, &event.day)) return TA_OK;
  ta_status status = ta_prepare_again(prepared, &event, TA_TOUCHES_DAY, &changed);
  if (status != TA_OK) return status == TA_ERR_MEMORY ? status : TA_OK; /* no such day */
  ta_profile *profile = malloc(sizeof *profile);
  status = profile != NULL
               ? ta_profile_make(&changed, ta_judged_speeds(&event.car), HUGE_VAL, profile)
               : TA_ERR_MEMORY;
  if (status == TA_OK) status = ta_constant_cap_find(&changed, profile, &then);
  if (status == TA_OK && then.can_be_had) {
    change->known = true;
    change->change = then.limited_by == TA_BY_GOAL ? 0.0 : then.set_point - cap->set_point;
  }
  free(profile);
  ta_prepared_free(&changed);
  return status == TA_ERR_MEMORY ? status : TA_OK;
}

ta_status ta_weather_find(const ta_prepared *prepared, const ta_constant_cap *cap,
                          ta_weather *weather) {
  if (prepared == NULL || cap == NULL || weather == NULL) return TA_ERR_ARGUMENT;
  ta_weather found;
  ta_status status = find_change(prepared, cap, TA_WEATHER_WARMER_K, 0.0, &found.warmer);
  if (status == TA_OK) status = find_change(prepared, cap, 0.0, TA_WEATHER_LOWER_PA, &found.lower);
  if (status == TA_OK) *weather = found;
  return status;
}
