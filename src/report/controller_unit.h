/* controller_unit.h - set-points as the controller's editor shows them. */
#ifndef THINAIR_REPORT_CONTROLLER_UNIT_H
#define THINAIR_REPORT_CONTROLLER_UNIT_H

#include "display.h"
#include "thinair/event.h"

/** One unit of the controller's table. */
typedef struct {
  const char *name;
  double pa;
} ta_pressure_unit;

const ta_pressure_unit *ta_controller_unit_of(const ta_control *control);

/** A set-point in the controller's unit, to its resolution, never above what it stands for. */
const char *ta_show_controller(const ta_control *control, double set_point_pa,
                               char text[TA_SHOWN_MAX]);

#endif
