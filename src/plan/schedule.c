/* schedule.c - the cap over ambient pressure.
 *
 * Model     The controller reads its barometer and takes the set-point off a line through a few
 *           rows.  A barometer that reads high makes it believe in denser air than there is, so the
 *           ceiling at a reading is the cap of the air that may really be there.
 * Limits    Made for one day's air: at the same pressure warmer air takes a lower cap.
 * Pinned by tests/plan/test_schedule.c.
 */
#include "thinair/schedule.h"

#include <math.h>

#include "table_nodes.h"

static const double REACH_PA = 2000.0; /* below the course's lowest pressure */
static const double LOWEST_M = -2000.0, HIGHEST_M = 9000.0;
static const double LEAST_SET_POINT = 1.0; /* Pa; a cap that cannot be had is flagged */
enum { BISECTIONS = 60 };

ta_speed_range ta_schedule_speeds(const ta_engine *engine) {
  ta_speed_range range = ta_boost_window(engine);
  if (engine->has_redline) range.high_rpm = fmax(range.high_rpm, engine->redline_rpm);
  return range;
}

/* The day's air at a pressure, and where it is. */
static ta_status air_at_pressure(const ta_day *day, double pressure_pa, ta_air *air,
                                 double *elevation_m) {
  double low = LOWEST_M, high = HIGHEST_M;
  for (int i = 0; i < BISECTIONS; i++) {
    *elevation_m = 0.5 * (low + high);
    const ta_status status = ta_day_air(day, *elevation_m, air);
    if (status != TA_OK) return status;
    *(air->pressure_pa > pressure_pa ? &low : &high) = *elevation_m;
  }
  return fabs(air->pressure_pa / pressure_pa - 1.0) < 1e-9 ? TA_OK : TA_ERR_DOMAIN;
}

static ta_status cap_at_pressure(const ta_prepared *prepared, double pressure_pa,
                                 ta_place_cap *cap) {
  ta_air air;
  double elevation_m;
  const ta_status status = air_at_pressure(&prepared->day, pressure_pa, &air, &elevation_m);
  return status == TA_OK
             ? ta_place_cap_find(prepared, ta_schedule_speeds(&prepared->event->car.engine), &air,
                                 cap)
             : status;
}

/* What may be held at readings of the barometer. */
static ta_status ceiling(void *context, const double *reading_pa, const double *unused,
                         size_t count, double *set_point) {
  const ta_prepared *prepared = *(const ta_prepared *const *)context;
  const double error_pa = prepared->event->car.control.barometer_error_pa;
  (void)unused;
  for (size_t i = 0; i < count; i++) {
    ta_place_cap thin, as_read;
    ta_status status = cap_at_pressure(prepared, reading_pa[i] - error_pa, &thin);
    if (status == TA_OK) status = cap_at_pressure(prepared, reading_pa[i], &as_read);
    if (status != TA_OK) return status;
    set_point[i] = fmax(fmin(thin.set_point, as_read.set_point), LEAST_SET_POINT);
  }
  return TA_OK;
}

static ta_status row_at(const ta_prepared *prepared, double pressure_pa, ta_schedule_row *row) {
  const ta_speed_range range = ta_schedule_speeds(&prepared->event->car.engine);
  ta_air air;
  row->ambient_pa = pressure_pa;
  ta_status status = air_at_pressure(&prepared->day, pressure_pa, &air, &row->elevation_m);
  if (status == TA_OK) status = ta_place_cap_find(prepared, range, &air, &row->cap);
  if (status == TA_OK) status = ta_cap_per_10k(prepared, range, &row->cap, &row->per_10k);
  return status;
}

ta_status ta_schedule_find(const ta_prepared *prepared, ta_schedule *schedule) {
  if (prepared == NULL || schedule == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  ta_schedule found = {.count = TA_SCHEDULE_ROWS};
  if (event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON) {
    schedule->count = 0;
    return TA_OK;
  }
  double low_m, high_m, reading_pa[TA_SCHEDULE_ROWS], set_point[TA_SCHEDULE_ROWS];
  ta_air low, high;
  ta_course_range(&event->course, &low_m, &high_m);
  ta_status status = ta_day_air(&prepared->day, low_m, &low);
  if (status == TA_OK) status = ta_day_air(&prepared->day, high_m, &high);
  if (status != TA_OK) return status;
  const double from_pa = high.pressure_pa - REACH_PA;
  for (size_t i = 0; i < TA_SCHEDULE_ROWS; i++)
    reading_pa[i] = from_pa + (low.pressure_pa - from_pa) * (double)i / (TA_SCHEDULE_ROWS - 1);
  ta_table_nodes table = {reading_pa, &(const double){0.0}, TA_SCHEDULE_ROWS,
                          1,          TA_TABLE_LINEAR,      set_point};
  status = ta_table_nodes_fit(&table, ceiling, &prepared, event->car.control.resolution_pa, NULL);
  for (size_t i = 0; status == TA_OK && i < TA_SCHEDULE_ROWS; i++) {
    ta_schedule_row *row = &found.row[TA_SCHEDULE_ROWS - 1 - i];
    status = row_at(prepared, reading_pa[i], row);
    row->set_point = set_point[i];
  }
  if (status == TA_OK) *schedule = found;
  return status;
}
