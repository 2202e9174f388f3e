/* shift_speed.c - the cap expressed as an engine speed.
 *
 * Method    At every elevation of the profile that passes the limit, the range of engine speeds from
 *           the window's low end is halved until the end of what holds is known to half a rev/min; the
 *           lowest of them holds everywhere.
 * Pinned by tests/plan/test_shift_speed.c.
 */
#include "thinair/shift_speed.h"

#include <math.h>

static const double SETTLED_RPM = 0.5;

static ta_status holds_up_to(const ta_prepared *prepared, double elevation_m, double high_rpm,
                             bool *holds) {
  const ta_speed_range range = {ta_judged_speeds(&prepared->event->car).low_rpm, high_rpm};
  ta_operating_point worst;
  const ta_status status = ta_worst_in_range(prepared, range, elevation_m, HUGE_VAL, &worst);
  if (status == TA_OK) *holds = worst.shaft_rpm <= prepared->limit_rpm;
  return status;
}

ta_status ta_shift_speed_find(const ta_prepared *prepared, const ta_profile *profile,
                              ta_shift_speed *shift) {
  if (prepared == NULL || profile == NULL || shift == NULL) return TA_ERR_ARGUMENT;
  const ta_speed_range judged = ta_judged_speeds(&prepared->event->car);
  ta_shift_speed found = {
      .engine_rpm = judged.high_rpm, .whole_window = true, .elevation_m = profile->elevation_m[0]};
  ta_status status = TA_OK;
  /* from the top, where the shaft is mostly fastest: what holds there mostly holds below */
  for (size_t i = profile->count; status == TA_OK && i-- > 0 && !found.none;) {
    if (profile->node[i].shaft_rpm <= prepared->limit_rpm) continue;
    const double elevation_m = profile->elevation_m[i];
    bool holds = false;
    if (!found.whole_window) status = holds_up_to(prepared, elevation_m, found.engine_rpm, &holds);
    if (status != TA_OK || holds) continue;
    double low = judged.low_rpm, high = found.engine_rpm;
    status = holds_up_to(prepared, elevation_m, low, &holds);
    found.none = !holds;
    while (status == TA_OK && holds && high - low > SETTLED_RPM) {
      bool middle_holds = false;
      const double middle = 0.5 * (low + high);
      status = holds_up_to(prepared, elevation_m, middle, &middle_holds);
      *(middle_holds ? &low : &high) = middle;
    }
    found.engine_rpm = low;
    found.elevation_m = elevation_m;
    found.whole_window = false;
  }
  ta_air air;
  if (status == TA_OK) status = ta_day_air(&prepared->day, found.elevation_m, &air);
  if (status == TA_OK)
    status = ta_point_solve(
        &prepared->event->car, prepared->map, &air, found.engine_rpm,
        ta_judged_map(prepared, ta_prepared_goal(prepared, found.engine_rpm), air.pressure_pa),
        &found.at);
  if (status == TA_OK) *shift = found;
  return status;
}
