/* Compressor maps as printed: the demo's map drawn as makers print it, and typed in again.
 *
 * Source  The demo's own map, given point by point, is what its printed form is held against:
 *         islands are traced on its surface, everything is rounded as read off a plot.  Bar: the
 *         plan made with the one and with the other agree within 0.5 %.  Reading a plot to half a
 *         percent of its full scale: common practice. */
#include "thinair/printed_map.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/compressor_surface.h"
#include "test.h"
#include "thinair/air.h"
#include "thinair/event_reader.h"
#include "thinair/plan.h"

enum { LINES_MAX = 8, POINTS_MAX = 16, ISLANDS_MAX = 10, TRACED_MAX = 400 };

/* A printed compressor with the memory that it needs. */
typedef struct {
  ta_compressor compressor;
  ta_printed_line printed[LINES_MAX];
  ta_printed_point point[LINES_MAX][POINTS_MAX];
  ta_printed_island island[ISLANDS_MAX];
  ta_printed_point traced[ISLANDS_MAX][TRACED_MAX];
  ta_printed_point surge[LINES_MAX];
  ta_speed_line line[LINES_MAX];
  ta_map_point made[LINES_MAX][POINTS_MAX + 1];
} sheet;

/* The demo, its surface, and the printed form. */
typedef struct {
  ta_event event;
  ta_compressor_map *truth;
  sheet sheet;
  ta_diagnostics diagnostics;
} desk;

static desk *desk_open(void) {
  desk *d = calloc(1, sizeof *d);
  assert_non_null(d);
  assert_int_equal(
      ta_event_read(TA_COURSES "/tolvane-dome", NULL, 0, &d->event, &d->diagnostics), TA_OK);
  ta_diagnostics_clear(&d->diagnostics);
  const ta_compressor *c = &d->event.car.turbo.compressor;
  assert_int_equal(ta_compressor_map_create(c->line, c->line_count, &d->truth), TA_OK);
  return d;
}

static void desk_close(desk *d) {
  ta_compressor_map_free(d->truth);
  ta_event_free(&d->event);
  free(d);
}

static double ratio_of(double y) {
  return pow(1.0 + y * y, 3.5);
}

/* The place of the surface at a share of the way from surge to choke and a speed; left of surge
 * (tau below 0) as far outside, at the surge line's pressure ratio. */
static void place_at(const ta_compressor_map *map, double tau, double rpm, double *flow,
                     double *y) {
  const ta_surface_view view = ta_surface_view_of(map);
  const double on = fmax(tau, 0.0);
  double low = 0.0, high = TA_SURFACE_Q / map->cells_per_q;
  for (int i = 0; i < 60; i++) {
    const double q = 0.5 * (low + high);
    const ta_surface_cell cell = ta_surface_cell_at(q * map->cells_per_q, TA_SURFACE_Q);
    const double v =
        ta_surface_edge(map->surge_v, cell) + on / ta_surface_edge(map->per_span_v, cell);
    *flow = v * q / map->per_flow;
    *y = q - v * q;
    if (ta_surface_rpm(&view, *flow, *y) < rpm)
      low = q;
    else
      high = q;
  }
  *flow *= 1.0 + tau - on;
}

static double efficiency_at(const ta_compressor_map *map, double flow, double y) {
  const ta_surface_view view = ta_surface_view_of(map);
  return ta_surface_efficiency(&view, flow, y);
}

/* How a plot is read: rounded to these steps. */
typedef struct {
  double flow, ratio;
} reading_step;

static double rounded(double x, double step) {
  return step > 0.0 ? step * round(x / step) : x;
}

static ta_printed_point read_off(double flow, double y, reading_step step) {
  return (ta_printed_point){.flow_kg_s = rounded(flow, step.flow),
                            .pressure_ratio = rounded(ratio_of(y), step.ratio)};
}

/* The contour of one efficiency, where the surface has it: along lines of constant speed, and up
 * lines of constant share. */
static size_t trace(const ta_compressor_map *map, double low_rpm, double level, reading_step step,
                    ta_printed_point *traced) {
  enum { ROWS = 12, STEPS = 100 };
  size_t count = 0;
  for (int axis = 0; axis < 2; axis++) {
    for (int row = 0; row <= ROWS; row++) {
      double before = 0.0, flow_before = 0.0, y_before = 0.0;
      for (int k = 0; k <= STEPS; k++) {
        const double across = (double)row / ROWS, along = (double)k / STEPS;
        const double tau = axis == 0 ? along : across, up = axis == 0 ? across : along;
        double flow, y;
        place_at(map, tau, low_rpm + up * (map->top_rpm - low_rpm), &flow, &y);
        const double here = efficiency_at(map, flow, y) - level;
        if (k > 0 && (here < 0.0) != (before < 0.0)) {
          const double share = before / (before - here);
          assert_true(count < TRACED_MAX);
          traced[count++] = read_off(flow_before + share * (flow - flow_before),
                                     y_before + share * (y - y_before), step);
        }
        before = here;
        flow_before = flow;
        y_before = y;
      }
    }
  }
  return count;
}

/* Where a drawn line begins: share of the way to choke, below 0 left of the surge line. */
static const double begins[LINES_MAX] = {0.04, -0.03, 0.0, 0.07, -0.02, 0.03, -0.04};

/* The demo's map as makers print it. */
static ta_compressor *draw(desk *d, reading_step step, const double *level, size_t levels) {
  sheet *s = &d->sheet;
  const ta_compressor *from = &d->event.car.turbo.compressor;
  s->compressor = (ta_compressor){.name = "printed",
                                  .exducer_m = from->exducer_m,
                                  .has_exducer = from->has_exducer,
                                  .reference = from->reference,
                                  .printed = s->printed,
                                  .printed_count = from->line_count,
                                  .island = s->island,
                                  .surge = s->surge,
                                  .surge_count = from->line_count,
                                  .line = s->line};
  for (size_t i = 0; i < from->line_count; i++) {
    enum { POINTS = 10 };
    s->printed[i] = (ta_printed_line){.corrected_rpm = from->line[i].corrected_rpm,
                                      .point = s->point[i],
                                      .point_count = POINTS};
    s->line[i].point = s->made[i];
    double flow, y;
    for (size_t j = 0; j < POINTS; j++) {
      const double share = (double)j / (POINTS - 1);
      place_at(d->truth, begins[i] + (1.0 - begins[i]) * share, from->line[i].corrected_rpm, &flow,
               &y);
      s->point[i][j] = read_off(flow, y, step);
    }
    place_at(d->truth, 0.0, from->line[i].corrected_rpm, &flow, &y);
    s->surge[i] = read_off(flow, y, step);
  }
  for (size_t k = 0; k < levels; k++) {
    ta_printed_island *island = &s->island[s->compressor.island_count];
    const size_t count =
        trace(d->truth, from->line[0].corrected_rpm, level[k], step, s->traced[k]);
    if (count == 0) continue; /* the map has no such efficiency */
    *island = (ta_printed_island){
        .efficiency = level[k], .point = s->traced[k], .point_count = count};
    s->compressor.island_count++;
  }
  return &s->compressor;
}

static void complete(desk *d) {
  const ta_status status = ta_printed_map_complete(&d->sheet.compressor, &d->diagnostics);
  if (status != TA_OK)
    fail_msg("%s: %s: %s", ta_status_name(status), d->diagnostics.item[0].key,
             d->diagnostics.item[0].text);
}

/* Efficiency of the finished map against the truth: root mean square and worst, over the map. */
static void efficiency_error(const desk *d, double *rms, double *worst) {
  ta_compressor_map *map = NULL;
  const ta_compressor *c = &d->sheet.compressor;
  assert_int_equal(ta_compressor_map_create(c->line, c->line_count, &map), TA_OK);
  double sum = 0.0;
  int count = 0;
  *worst = 0.0;
  for (int a = 0; a <= 20; a++) {
    for (int b = 0; b <= 20; b++, count++) {
      const double low = d->event.car.turbo.compressor.line[0].corrected_rpm;
      double flow, y;
      place_at(d->truth, a / 20.0, low + b / 20.0 * (d->truth->top_rpm - low), &flow, &y);
      const double e = efficiency_at(map, flow, y) - efficiency_at(d->truth, flow, y);
      sum += e * e;
      *worst = fmax(*worst, fabs(e));
    }
  }
  *rms = sqrt(sum / count);
  ta_compressor_map_free(map);
}

typedef struct {
  double start_rpm, summit_rpm, first_m, first_rpm, cap_pa;
} figures;

static figures plan_of(ta_event *event, double at_m) {
  ta_prepared prepared;
  ta_plan *plan = malloc(sizeof *plan);
  assert_non_null(plan);
  assert_int_equal(ta_prepare(event, &prepared), TA_OK);
  assert_int_equal(ta_plan_make(&prepared, plan), TA_OK);
  assert_int_equal(plan->verdict, TA_OVER);
  const double first_m = plan->over.first.elevation_m;
  const figures f = {plan->start.shaft_rpm, plan->over.worst.point.shaft_rpm, first_m,
                     ta_profile_shaft(&plan->profile, at_m > 0.0 ? at_m : first_m),
                     plan->constant.map_pa};
  ta_plan_free(plan);
  ta_prepared_free(&prepared);
  free(plan);
  return f;
}

static const double many[] = {0.60, 0.65, 0.68, 0.70, 0.72, 0.74, 0.75, 0.76, 0.77};
static const double few[] = {0.60, 0.65, 0.70, 0.74, 0.76};
static const reading_step exact = {0.0, 0.0}, plotted = {0.001, 0.01}, coarse = {0.002, 0.02};

static const struct {
  const char *name;
  const double *level;
  size_t levels;
  const reading_step *step;
} forms[] = {
    {"many islands, exact", many, COUNT_OF(many), &exact},
    {"many islands", many, COUNT_OF(many), &plotted},
    {"many islands, coarse", many, COUNT_OF(many), &coarse},
    {"few islands, exact", few, COUNT_OF(few), &exact},
    {"few islands", few, COUNT_OF(few), &plotted},
    {"few islands, coarse", few, COUNT_OF(few), &coarse},
};

static void a_printed_map_plans_as_the_same_map_point_by_point(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(forms); i++) {
    desk *d = desk_open();
    const figures want = plan_of(&d->event, 0.0);
    (void)draw(d, *forms[i].step, forms[i].level, forms[i].levels);
    complete(d);
    double rms, worst;
    efficiency_error(d, &rms, &worst);
    d->event.car.turbo.compressor = d->sheet.compressor;
    const figures got = plan_of(&d->event, want.first_m);
    if (getenv("SHOW"))
      print_message("%-24s eff rms %.4f worst %.4f  start %+.3f%% summit %+.3f%% first %+.1f m %+.3f%% cap %+.3f%%\n", forms[i].name, rms, worst,
        100*(got.start_rpm/want.start_rpm-1), 100*(got.summit_rpm/want.summit_rpm-1), got.first_m-want.first_m, 100*(got.first_rpm/want.first_rpm-1), 100*(got.cap_pa/want.cap_pa-1));
    bad += off_rel(forms[i].name, "shaft speed at the start", got.start_rpm, want.start_rpm, 5e-3);
    bad += off_rel(forms[i].name, "shaft speed at the summit", got.summit_rpm, want.summit_rpm, 5e-3);
    bad += off_rel(forms[i].name, "shaft speed where the limit was passed", got.first_rpm, want.first_rpm, 5e-3);
    bad += off_rel(forms[i].name, "constant cap", got.cap_pa, want.cap_pa, 5e-3);
    desk_close(d);
  }
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_printed_map_plans_as_the_same_map_point_by_point),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
