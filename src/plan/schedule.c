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
#include "thinair/controller_table.h"

static const double LEAST_SET_POINT = 1.0; /* Pa; a cap that cannot be had is flagged */

static ta_status cap_at_pressure(const ta_prepared *prepared, double pressure_pa,
                                 ta_place_cap *cap) {
  ta_air air;
  double elevation_m;
  const ta_status status = ta_air_at_pressure(&prepared->day, pressure_pa, &air, &elevation_m);
  return status == TA_OK
             ? ta_place_cap_find(prepared, ta_controller_speeds(&prepared->event->car), &air, cap)
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
  const ta_speed_range range = ta_controller_speeds(&prepared->event->car);
  ta_air air;
  row->ambient_pa = pressure_pa;
  ta_status status = ta_air_at_pressure(&prepared->day, pressure_pa, &air, &row->elevation_m);
  if (status == TA_OK) status = ta_place_cap_find(prepared, range, &air, &row->cap);
  if (status == TA_OK) status = ta_cap_per_10k(prepared, range, &row->cap, &row->per_10k);
  return status;
}

/* A table of one engine speed, which stands for all. */
static ta_table_nodes nodes_of(const ta_prepared *prepared, const double *pressure_pa, size_t count,
                               double *set_point) {
  static const double any_speed = 0.0;
  return (ta_table_nodes){
      pressure_pa,
      &any_speed,
      count,
      1,
      prepared->event->car.control.interpolation == 0 ? TA_TABLE_LINEAR : TA_TABLE_STEP,
      set_point,
      false}; /* what it gives away is not asked for */
}

ta_status ta_schedule_find(const ta_prepared *prepared, ta_schedule *schedule) {
  if (prepared == NULL || schedule == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  ta_schedule found = {.count = 0};
  if (event->car.control.holds == TA_HOLDS_GAUGE_KEY_ON) {
    schedule->count = 0;
    return TA_OK;
  }
  ta_controller_axes axes;
  double set_point[TA_AXIS_MAX];
  ta_status status = ta_controller_axes_make(prepared, &axes);
  if (status != TA_OK) return status;
  found.count = axes.pressure_count;
  ta_table_nodes table = nodes_of(prepared, axes.pressure_pa, found.count, set_point);
  status = ta_table_nodes_fit(&table, ceiling, &prepared, event->car.control.resolution_pa, NULL);
  for (size_t i = 0; status == TA_OK && i < found.count; i++) {
    ta_schedule_row *row = &found.row[found.count - 1 - i];
    status = row_at(prepared, axes.pressure_pa[i], row);
    row->set_point = set_point[i];
  }
  if (status == TA_OK) *schedule = found;
  return status;
}

double ta_schedule_read(const ta_prepared *prepared, const ta_schedule *schedule,
                        double ambient_pa) {
  double pressure_pa[TA_AXIS_MAX], set_point[TA_AXIS_MAX];
  for (size_t i = 0; i < schedule->count; i++) { /* its rows fall, an axis rises */
    pressure_pa[schedule->count - 1 - i] = schedule->row[i].ambient_pa;
    set_point[schedule->count - 1 - i] = schedule->row[i].set_point;
  }
  const ta_table_nodes nodes = nodes_of(prepared, pressure_pa, schedule->count, set_point);
  return ta_table_nodes_read(&nodes, ambient_pa, 0.0);
}
