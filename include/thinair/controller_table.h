/* controller_table.h - set-points over ambient pressure and engine speed, as a controller reads
 * them. */
#ifndef THINAIR_CONTROLLER_TABLE_H
#define THINAIR_CONTROLLER_TABLE_H

#include "thinair/caps.h"
#include "thinair/prepare.h"

/** Breakpoints, rising: those that the car file gives, else chosen. */
typedef struct {
  double pressure_pa[TA_AXIS_MAX], speed_rpm[TA_AXIS_MAX];
  size_t pressure_count, speed_count;
} ta_controller_axes;

/**
 * Chosen axes: 8 pressures, even but for rounding to half a kPa, from the course's highest to 2 kPa
 * or a little more below its lowest; 8 engine
 * speeds over ta_controller_speeds, breakpoints of ve and goal among them, the
 * others where the gaps are widest.
 */
ta_status ta_controller_axes_make(const ta_prepared *prepared, ta_controller_axes *axes);

/** Engine speeds that a table must stand: those that are judged, and on to the redline. */
ta_speed_range ta_controller_speeds(const ta_car *car);

/** The day's air at a pressure, and the elevation where it is.
 *  @retval TA_ERR_DOMAIN  Between -2000 and 9000 m the day has no such pressure. */
ta_status ta_air_at_pressure(const ta_day *day, double pressure_pa, ta_air *air,
                             double *elevation_m);

typedef struct {
  ta_controller_axes axes;
  double *set_point; /* [pressure][speed], rounded down to the controller's step; to be freed with
                         ta_controller_table_free; NULL: the controller has no live barometer */
  bool can_be_had;   /* false: the wastegate's spring gives more than some node */
  double give_away_mean, give_away_worst; /* 1 - table/cap in MAP, over the samples */
} ta_controller_table;

/**
 * Set-points that nowhere between their nodes pass the cap of that engine speed in that air, though
 * the barometer reads high by its error; read linearly or by steps, as the controller does.
 *
 * @param[in]  rounded  Down to the controller's step; else exact.
 */
ta_status ta_controller_table_find(const ta_prepared *prepared, bool rounded,
                                   ta_controller_table *table);
void ta_controller_table_free(ta_controller_table *table);

/** The set-point that the controller reads off at an ambient pressure and an engine speed. */
double ta_controller_table_read(const ta_prepared *prepared, const ta_controller_table *table,
                                double ambient_pa, double engine_rpm);

#endif
