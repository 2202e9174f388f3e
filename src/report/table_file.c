/* table_file.c - the controller's table as its editor takes it: CSV, axes first. */
#include "controller_unit.h"
#include "thinair/report.h"

bool ta_report_table_file(const ta_prepared *prepared, const ta_plan *plan, ta_buffer *out) {
  const ta_controller_table *table = &plan->caps.table;
  const ta_controller_axes *axes = &table->axes;
  const ta_control *control = &prepared->event->car.control;
  if (table->set_point == NULL || !table->can_be_had) return false;
  const ta_pressure_unit *unit = ta_controller_unit_of(control);
  ta_buffer_add(out, "%s %s over ambient %s and rpm",
                control->holds == TA_HOLDS_GAUGE ? "boost" : "MAP", unit->name, unit->name);
  for (size_t k = 0; k < axes->speed_count; k++) ta_buffer_add(out, ",%.10g", axes->speed_rpm[k]);
  ta_buffer_add(out, "\n");
  for (size_t i = 0; i < axes->pressure_count; i++) {
    ta_buffer_add(out, "%.6g", axes->pressure_pa[i] / unit->pa);
    for (size_t k = 0; k < axes->speed_count; k++)
      ta_buffer_add(out, ",%.10g", table->set_point[i * axes->speed_count + k] / unit->pa);
    ta_buffer_add(out, "\n");
  }
  return true;
}
