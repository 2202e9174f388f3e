/* controller_unit.c - set-points as the controller's editor shows them. */
#include "controller_unit.h"

#include <math.h>
#include <stdio.h>

enum { DECIMALS_MAX = 3 };

/* In the order of the unit's choices. */
static const ta_pressure_unit units[] = {[TA_CONTROLLER_KPA] = {"kPa", 1e3},
                                         [TA_CONTROLLER_MBAR] = {"mbar", 100.0},
                                         [TA_CONTROLLER_BAR] = {"bar", 1e5},
                                         [TA_CONTROLLER_PSI] = {"psi", 6894.757293168361}};

const ta_pressure_unit *ta_controller_unit_of(const ta_control *control) {
  return &units[control->unit];
}

const char *ta_show_controller(const ta_control *control, double set_point_pa,
                               char text[TA_SHOWN_MAX]) {
  const double unit = ta_controller_unit_of(control)->pa;
  double scale = 1.0, steps = control->resolution_pa / unit;
  int decimals = 0; /* as many as the resolution has */
  while (decimals < DECIMALS_MAX && !(steps > 0.5 && fabs(steps - round(steps)) < 1e-6)) {
    decimals++;
    scale *= 10.0;
    steps *= 10.0;
  }
  (void)snprintf(text, TA_SHOWN_MAX, "%.*f", decimals,
                 floor(scale * set_point_pa / unit + 1e-6) / scale);
  return text;
}
