/* controller_table.c - set-points over ambient pressure and engine speed.
 *
 * Model     The controller reads its barometer and takes the set-point off its table.  A barometer
 *           that reads high makes it believe in denser air than there is, so the ceiling at a
 *           reading is the cap of the air that may really be there: the point cap less overshoot
 *           and sensor error, never above the goal, what the sensor reads, or what the turbine
 *           drives.
 * Limits    Made for one day's air: at the same pressure warmer air takes a lower cap.
 * Pinned by tests/plan/test_controller_table.c.
 */
#include "thinair/controller_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "table_nodes.h"

enum { CHOSEN = 8, BISECTIONS = 60, CLOSER = 7 };
static const double TOO_HIGH_PA = 0.1;
static const double REACH_PA = 2000.0; /* below the course's lowest pressure */
static const double ROUND_PA = 500.0;
static const double LOWEST_M = -2000.0, HIGHEST_M = 9000.0;
static const double NEAR_RPM = 100.0;      /* a breakpoint nearer to another one adds nothing */
static const double LEAST_SET_POINT = 1.0; /* Pa; a cap that cannot be had is flagged */

ta_speed_range ta_controller_speeds(const ta_car *car) {
  ta_speed_range range = ta_judged_speeds(car);
  if (car->engine.has_redline) range.high_rpm = fmax(range.high_rpm, car->engine.redline_rpm);
  return range;
}

ta_status ta_air_at_pressure(const ta_day *day, double pressure_pa, ta_air *air,
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

/* ---- axes ------------------------------------------------------------------------------------ */

static void add_speed(ta_controller_axes *axes, double rpm) {
  size_t i = axes->speed_count;
  for (size_t k = 0; k < axes->speed_count; k++)
    if (fabs(axes->speed_rpm[k] - rpm) < NEAR_RPM) return;
  for (; i > 0 && axes->speed_rpm[i - 1] > rpm; i--) axes->speed_rpm[i] = axes->speed_rpm[i - 1];
  axes->speed_rpm[i] = rpm;
  axes->speed_count++;
}

static void choose_speeds(const ta_event *event, ta_controller_axes *axes) {
  const ta_engine *engine = &event->car.engine;
  const ta_goal *goal = &event->goal;
  const ta_speed_range range = ta_controller_speeds(&event->car);
  axes->speed_count = 0;
  add_speed(axes, range.low_rpm);
  add_speed(axes, range.high_rpm);
  for (size_t i = 0; i < engine->ve_count + goal->point_count; i++) {
    const double rpm = i < engine->ve_count ? engine->ve[i].engine_rpm
                                            : goal->point[i - engine->ve_count].engine_rpm;
    if (rpm > range.low_rpm && rpm < range.high_rpm && axes->speed_count < TA_AXIS_MAX)
      add_speed(axes, rpm);
  }
  while (axes->speed_count < CHOSEN) {
    size_t widest = 1;
    for (size_t i = 2; i < axes->speed_count; i++)
      if (axes->speed_rpm[i] - axes->speed_rpm[i - 1] >
          axes->speed_rpm[widest] - axes->speed_rpm[widest - 1])
        widest = i;
    if (axes->speed_count < 2 ||
        axes->speed_rpm[widest] - axes->speed_rpm[widest - 1] < 2.0 * NEAR_RPM)
      return;
    add_speed(axes, 0.5 * (axes->speed_rpm[widest] + axes->speed_rpm[widest - 1]));
  }
}

ta_status ta_controller_axes_make(const ta_prepared *prepared, ta_controller_axes *axes) {
  if (prepared == NULL || axes == NULL) return TA_ERR_ARGUMENT;
  const ta_event *event = prepared->event;
  const ta_control *control = &event->car.control;
  double low_m, high_m;
  ta_air low, high;
  ta_controller_axes made = {.pressure_count = control->pressure_axis_count,
                             .speed_count = control->speed_axis_count};
  ta_course_range(&event->course, &low_m, &high_m);
  ta_status status = ta_day_air(&prepared->day, low_m, &low);
  if (status == TA_OK) status = ta_day_air(&prepared->day, high_m, &high);
  if (status != TA_OK) return status;
  for (size_t i = 0; i < made.pressure_count; i++)
    made.pressure_pa[i] = control->pressure_axis_pa[i];
  for (size_t i = 0; i < made.speed_count; i++) made.speed_rpm[i] = control->speed_axis_rpm[i];
  if (made.pressure_count == 0) {
    /* round numbers: someone types them into the controller */
    const double from_pa = ROUND_PA * floor((high.pressure_pa - REACH_PA) / ROUND_PA),
                 to_pa = ROUND_PA * ceil(low.pressure_pa / ROUND_PA);
    const size_t rounds = (size_t)round((to_pa - from_pa) / ROUND_PA); /* 4 at the least */
    made.pressure_count = rounds + 1 < CHOSEN ? rounds + 1 : CHOSEN;
    for (size_t i = 0; i < made.pressure_count; i++)
      made.pressure_pa[i] =
          from_pa + ROUND_PA * round((double)(rounds * i) / (double)(made.pressure_count - 1));
  }
  if (made.speed_count == 0) choose_speeds(event, &made);
  *axes = made;
  return TA_OK;
}

/* ---- the ceiling ----------------------------------------------------------------------------- */

typedef struct {
  const ta_prepared *prepared;
  bool can_be_had;
  double reading_pa; /* the last one, and its air: samples come row by row */
  ta_air thin, as_read;
} work;

static ta_status take_reading(work *w, double reading_pa) {
  const ta_prepared *prepared = w->prepared;
  double elevation_m;
  if (reading_pa == w->reading_pa) return TA_OK;
  ta_status status = ta_air_at_pressure(
      &prepared->day, reading_pa - prepared->event->car.control.barometer_error_pa, &w->thin,
      &elevation_m);
  if (status == TA_OK)
    status = ta_air_at_pressure(&prepared->day, reading_pa, &w->as_read, &elevation_m);
  w->reading_pa = reading_pa;
  return status;
}

/* What may be held at readings of the barometer, a few engine speeds at a time. */
static ta_status ceiling(void *context, const double *reading_pa, const double *rpm, size_t count,
                         double *set_point) {
  work *w = context;
  for (size_t from = 0, n; from < count; from += n) {
    const ta_air *air[TA_LANES];
    double both_rpm[TA_LANES], both[TA_LANES];
    const ta_status status = take_reading(w, reading_pa[from]);
    if (status != TA_OK) return status;
    n = 0;
    while (from + n < count && n < TA_LANES / 2 && reading_pa[from + n] == reading_pa[from]) n++;
    for (size_t i = 0; i < n; i++) {
      air[2 * i] = &w->thin;
      air[2 * i + 1] = &w->as_read;
      both_rpm[2 * i] = both_rpm[2 * i + 1] = rpm[from + i];
    }
    if (!ta_speed_caps(w->prepared, air, both_rpm, 2 * n, both)) w->can_be_had = false;
    for (size_t i = 0; i < n; i++)
      set_point[from + i] = fmax(fmin(both[2 * i], both[2 * i + 1]), LEAST_SET_POINT);
  }
  return TA_OK;
}

/* ---- the table ------------------------------------------------------------------------------- */

static ta_table_nodes nodes_of(const ta_prepared *prepared, const ta_controller_table *table) {
  const ta_controller_axes *axes = &table->axes;
  return (ta_table_nodes){
      axes->pressure_pa,
      axes->speed_rpm,
      axes->pressure_count,
      axes->speed_count,
      prepared->event->car.control.interpolation == 0 ? TA_TABLE_LINEAR : TA_TABLE_STEP,
      table->set_point,
      prepared->event->car.control.holds == TA_HOLDS_GAUGE};
}

/* Between the samples of the fit a ceiling with several bends may dip: every cell is looked at once
 * more, closer, and its nodes are lowered by what the table stands too high.  That lowers every
 * place of the cell by as much, and raises none of another: one look is enough. */
static ta_status lower_where_too_high(work *w, ta_table_nodes *nodes, double resolution) {
  const size_t rows = nodes->x_count > 1 ? nodes->x_count - 1 : 1,
               columns = nodes->y_count > 1 ? nodes->y_count - 1 : 1;
  for (size_t i = 0; i < rows; i++) {
    const size_t up = i + 1 < nodes->x_count ? i + 1 : i;
    double x[CLOSER][CLOSER * TA_AXIS_MAX], y[CLOSER][CLOSER * TA_AXIS_MAX],
        most[CLOSER][CLOSER * TA_AXIS_MAX];
    for (size_t a = 0; a < CLOSER; a++) { /* along a row the air is the same */
      for (size_t n = 0; n < CLOSER * columns; n++) {
        const size_t k = n / CLOSER, right = k + 1 < nodes->y_count ? k + 1 : k;
        const double along = ((double)(n % CLOSER) + 0.5) / CLOSER;
        x[a][n] = nodes->x[i] + ((double)a + 0.5) / CLOSER * (nodes->x[up] - nodes->x[i]);
        y[a][n] = nodes->y[k] + along * (nodes->y[right] - nodes->y[k]);
      }
      const ta_status status = ceiling(w, x[a], y[a], CLOSER * columns, most[a]);
      if (status != TA_OK) return status;
    }
    for (size_t k = 0; k < columns; k++) {
      double excess = 0.0;
      for (size_t a = 0; a < CLOSER; a++)
        for (size_t n = CLOSER * k; n < CLOSER * (k + 1); n++)
          excess = fmax(excess, ta_table_nodes_read(nodes, x[a][n], y[a][n]) - most[a][n]);
      if (!(excess > TOO_HIGH_PA)) continue;
      if (resolution > 0.0) excess = resolution * ceil(excess / resolution);
      for (size_t corner = i; corner <= up; corner++)
        for (size_t c = k; c <= k + 1 && c < nodes->y_count; c++)
          nodes->value[corner * nodes->y_count + c] -= excess;
    }
  }
  return TA_OK;
}

ta_status ta_controller_table_find(const ta_prepared *prepared, bool rounded,
                                   ta_controller_table *table) {
  if (prepared == NULL || table == NULL) return TA_ERR_ARGUMENT;
  const ta_control *control = &prepared->event->car.control;
  ta_controller_table found = {.can_be_had = true};
  ta_status status = ta_controller_axes_make(prepared, &found.axes);
  if (status == TA_OK && control->holds != TA_HOLDS_GAUGE_KEY_ON) {
    ta_give_away give_away = {0.0, 0.0};
    work w = {.prepared = prepared, .can_be_had = true, .reading_pa = -1.0};
    found.set_point =
        calloc(found.axes.pressure_count * found.axes.speed_count + 1, sizeof(double));
    if (found.set_point == NULL) return TA_ERR_MEMORY;
    ta_table_nodes nodes = nodes_of(prepared, &found);
    const double resolution = rounded ? control->resolution_pa : 0.0;
    status = ta_table_nodes_fit(&nodes, ceiling, &w, resolution, &give_away);
    if (status == TA_OK) status = lower_where_too_high(&w, &nodes, resolution);
    found.can_be_had = w.can_be_had;
    found.give_away_mean = give_away.mean;
    found.give_away_worst = give_away.worst;
  }
  if (status == TA_OK)
    *table = found;
  else
    free(found.set_point);
  return status;
}

void ta_controller_table_free(ta_controller_table *table) {
  if (table == NULL) return;
  free(table->set_point);
  memset(table, 0, sizeof *table);
}

double ta_controller_table_read(const ta_prepared *prepared, const ta_controller_table *table,
                                double ambient_pa, double engine_rpm) {
  const ta_table_nodes nodes = nodes_of(prepared, table);
  return ta_table_nodes_read(&nodes, ambient_pa, engine_rpm);
}
