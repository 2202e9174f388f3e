/* Compressor maps as printed: the demo's map drawn as makers print it, and typed in again.
 *
 * Source  The demo's own map, given point by point, is what its printed form is held against:
 *         islands are traced on its surface, everything is rounded as read off a plot.  Bar: the
 *         plan made with the one and with the other agree within 0.5 %.  Reading a plot to half a
 *         percent of its full scale: common practice. */
#define _POSIX_C_SOURCE 200809L /* mkstemp */
#include "thinair/printed_map.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

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
  assert_int_equal(ta_event_read(TA_COURSES "/tolvane-dome", NULL, 0, &d->event, &d->diagnostics),
                   TA_OK);
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
static void draw(desk *d, reading_step step, const double *level, size_t levels, bool some_known) {
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
    s->printed[i] = (ta_printed_line){
        .corrected_rpm = from->line[i].corrected_rpm, .point = s->point[i], .point_count = POINTS};
    s->line[i].point = s->made[i];
    double flow, y;
    for (size_t j = 0; j < POINTS; j++) {
      const double share = (double)j / (POINTS - 1);
      place_at(d->truth, begins[i] + (1.0 - begins[i]) * share, from->line[i].corrected_rpm, &flow,
               &y);
      s->point[i][j] = read_off(flow, y, step);
      if (!some_known || j % 3 != 0) continue;
      s->point[i][j].has_efficiency = true;
      s->point[i][j].efficiency = rounded(efficiency_at(d->truth, flow, y), 0.001);
    }
    place_at(d->truth, 0.0, from->line[i].corrected_rpm, &flow, &y);
    s->surge[i] = read_off(flow, y, step);
  }
  for (size_t k = 0; k < levels; k++) {
    ta_printed_island *island = &s->island[s->compressor.island_count];
    const size_t count = trace(d->truth, from->line[0].corrected_rpm, level[k], step, s->traced[k]);
    if (count == 0) continue; /* the map has no such efficiency */
    *island =
        (ta_printed_island){.efficiency = level[k], .point = s->traced[k], .point_count = count};
    s->compressor.island_count++;
  }
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
                     plan->caps.constant.set_point};
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
  bool some_known;   /* every third point of a line has its efficiency too */
  double rms, worst; /* bars of efficiency: a printed island's line is about 0.002 wide */
} forms[] = {
    {"many islands, exact", many, COUNT_OF(many), &exact, false, 0.002, 0.008},
    {"many islands", many, COUNT_OF(many), &plotted, false, 0.002, 0.008},
    {"many islands, coarse", many, COUNT_OF(many), &coarse, false, 0.0025, 0.012},
    {"few islands, exact", few, COUNT_OF(few), &exact, false, 5e-3, 25e-3},
    {"few islands", few, COUNT_OF(few), &plotted, false, 5e-3, 25e-3},
    {"few islands, coarse", few, COUNT_OF(few), &coarse, false, 5e-3, 25e-3},
    {"few islands and some points", few, COUNT_OF(few), &plotted, true, 3e-3, 12e-3},
};

static void a_printed_map_plans_as_the_same_map_point_by_point(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(forms); i++) {
    desk *d = desk_open();
    const figures want = plan_of(&d->event, 0.0);
    draw(d, *forms[i].step, forms[i].level, forms[i].levels, forms[i].some_known);
    complete(d);
    double rms, worst;
    efficiency_error(d, &rms, &worst);
    d->event.car.turbo.compressor = d->sheet.compressor;
    const figures got = plan_of(&d->event, want.first_m);
    bad += off(forms[i].name, "efficiency, rms over the map", rms, 0.0, forms[i].rms);
    bad += off(forms[i].name, "efficiency, worst", worst, 0.0, forms[i].worst);
    bad += off_rel(forms[i].name, "shaft speed at the start", got.start_rpm, want.start_rpm, 5e-3);
    bad +=
        off_rel(forms[i].name, "shaft speed at the summit", got.summit_rpm, want.summit_rpm, 5e-3);
    bad += off_rel(forms[i].name, "shaft speed where the limit was passed", got.first_rpm,
                   want.first_rpm, 5e-3);
    bad += off_rel(forms[i].name, "constant cap", got.cap_pa, want.cap_pa, 5e-3);
    desk_close(d);
  }
  assert_int_equal(bad, 0);
}

static void a_known_efficiency_is_kept_and_a_line_begins_on_the_surge_line(void **state) {
  (void)state;
  desk *d = desk_open();
  draw(d, plotted, many, COUNT_OF(many), true);
  complete(d);
  int bad = 0;
  const sheet *s = &d->sheet;
  for (size_t i = 0; i < s->compressor.line_count; i++) {
    const ta_speed_line *line = &s->line[i];
    /* Rounding moves the surge line by half a step, and along it the level line by as much. */
    bad += off_rel("begins", "flow", line->point[0].flow_kg_s, s->surge[i].flow_kg_s, 0.02);
    bad += off_rel("begins", "pressure ratio", line->point[0].pressure_ratio,
                   s->surge[i].pressure_ratio, 5e-3);
    for (size_t j = 3; j < s->printed[i].point_count; j += 3) {
      size_t k = 0;
      while (k + 1 < line->point_count && line->point[k].flow_kg_s < s->point[i][j].flow_kg_s) k++;
      bad += off("known", "flow", line->point[k].flow_kg_s, s->point[i][j].flow_kg_s, 0.0);
      bad += off("known", "efficiency", line->point[k].efficiency, s->point[i][j].efficiency, 0.0);
    }
  }
  assert_int_equal(bad, 0);
  desk_close(d);
}

static void island_far_above(sheet *s) {
  s->island[2].point[0].pressure_ratio = 9.0;
}
static void no_islands(sheet *s) {
  s->compressor.island_count = 0;
}
static void too_few_known(sheet *s) {
  s->compressor.island_count = 1;
  s->island[0].point_count = 5;
}
static void known_on_one_straight_line(sheet *s) {
  s->compressor.island_count = 1;
  s->island[0].point_count = 6;
  for (size_t i = 1; i < 6; i++) s->island[0].point[i] = s->island[0].point[0];
}
static void tip_speed_alone(sheet *s) {
  s->compressor.has_exducer = false;
  s->printed[1].has_tip_speed = true;
}
static void surge_line_of_one_point(sheet *s) {
  s->compressor.surge_count = 1;
}
static void surge_line_falls(sheet *s) {
  s->surge[3].pressure_ratio = s->surge[2].pressure_ratio - 0.1;
}
static void line_left_of_surge(sheet *s) {
  for (size_t i = 0; i < s->compressor.surge_count; i++) s->surge[i].flow_kg_s += 0.14;
}
static void line_far_right_of_surge(sheet *s) {
  for (size_t i = 0; i < s->compressor.surge_count; i++) s->surge[i].flow_kg_s *= 0.6;
}
static void point_misread(sheet *s) {
  s->point[3][4].pressure_ratio += 0.5;
}

static const struct {
  const char *name;
  void (*spoil)(sheet *s);
  const char *key, *also, *text;
} faults[] = {
    {"far island", island_far_above, "islands[2].rows[0]", "", "far above the top speed line"},
    {"no islands", no_islands, "lines", "", "points have no efficiency"},
    {"few known", too_few_known, "islands", "", "given at 5 points"},
    {"one place", known_on_one_straight_line, "islands", "", "spread over"},
    {"tip speed", tip_speed_alone, "lines[1].speed", "", "exducer_diameter is needed"},
    {"one point", surge_line_of_one_point, "surge_line.rows", "", "two points or more"},
    {"falls", surge_line_falls, "surge_line.rows[3]", "", "must rise"},
    {"left", line_left_of_surge, "lines[0]", "surge_line", "line 1 lies left of the surge line"},
    {"right", line_far_right_of_surge, "lines[0]", "surge_line",
     "line 1 begins more than 30 % of its flow right"},
    {"misread", point_misread, "lines[3].rows[4]", "", "line 4 point 5 leaves its line"},
};

static void every_fault_is_raised_with_its_key(void **state) {
  (void)state;
  desk *d = desk_open();
  for (size_t i = 0; i < COUNT_OF(faults); i++) {
    memset(&d->sheet, 0, sizeof d->sheet);
    draw(d, plotted, many, COUNT_OF(many), false);
    faults[i].spoil(&d->sheet);
    ta_diagnostics_clear(&d->diagnostics);
    const ta_status status = ta_printed_map_complete(&d->sheet.compressor, &d->diagnostics);
    const ta_diagnostic *item = &d->diagnostics.item[0];
    if (status != TA_ERR_INPUT || strcmp(item->key, faults[i].key) != 0 ||
        strcmp(item->also_key, faults[i].also) != 0 || strstr(item->text, faults[i].text) == NULL)
      fail_msg("%s: %s, key '%s' also '%s': %s", faults[i].name, ta_status_name(status), item->key,
               item->also_key, item->text);
  }
  desk_close(d);
}

/* Units that a printed map may come in.  Exact: the international pound and foot. */
static const struct {
  const char *name, *flow_unit;
  double kg_s; /* of one unit of mass flow; 0: a volume flow */
  double m3_s; /* of one unit of volume flow */
  bool tip;    /* lines marked with the tip speed */
} printed_in[] = {
    {"kg/s and rpm", "kg/s", 1.0, 0.0, false},
    {"lb/min and rpm", "lb/min", 0.45359237 / 60.0, 0.0, false},
    {"lb/min and m/s", "lb/min", 0.45359237 / 60.0, 0.0, true},
    {"m3/s and m/s", "m3/s", 0.0, 1.0, true},
    {"cfm and rpm", "cfm", 0.0, 0.3048 * 0.3048 * 0.3048 / 60.0, false},
};

/* The demo's map as a file in other units. */
static void write_in(const ta_compressor *c, size_t unit, const char *path) {
  const double kg_m3 = c->reference.pressure_pa / (287.05287 * c->reference.temperature_k);
  const double per =
      printed_in[unit].kg_s > 0.0 ? printed_in[unit].kg_s : printed_in[unit].m3_s * kg_m3;
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  (void)fprintf(file,
                "compressor: wheel\nexducer_diameter: %.17g m\n"
                "reference: {pressure: %.17g Pa, temperature: %.17g K}\n"
                "columns: {flow: %s, pressure_ratio: 1, efficiency: 1}\nlines:\n",
                c->exducer_m, c->reference.pressure_pa, c->reference.temperature_k,
                printed_in[unit].flow_unit);
  for (size_t i = 0; i < c->line_count; i++) {
    const double rpm = c->line[i].corrected_rpm;
    (void)fprintf(file, "  - speed: %.17g %s\n    rows:\n",
                  printed_in[unit].tip ? acos(-1.0) * c->exducer_m * rpm / 60.0 : rpm,
                  printed_in[unit].tip ? "m/s" : "rpm");
    for (size_t j = 0; j < c->line[i].point_count; j++) {
      const ta_map_point *p = &c->line[i].point[j];
      (void)fprintf(file, "      - [%.17g, %.17g, %.17g]\n", p->flow_kg_s / per, p->pressure_ratio,
                    p->efficiency);
    }
  }
  assert_int_equal(fclose(file), 0);
}

static void units_do_not_change_the_surface(void **state) {
  (void)state;
  int bad = 0;
  char path[] = "/tmp/thinair_units_XXXXXX";
  const int descriptor = mkstemp(path);
  assert_true(descriptor >= 0);
  assert_int_equal(close(descriptor), 0);
  desk *d = desk_open();
  for (size_t unit = 0; unit < COUNT_OF(printed_in); unit++) {
    ta_event event;
    ta_compressor_map *map = NULL;
    write_in(&d->event.car.turbo.compressor, unit, path);
    ta_diagnostics_clear(&d->diagnostics);
    if (ta_event_read_part("car.turbo.compressor", path, NULL, 0, &event, &d->diagnostics) != TA_OK)
      fail_msg("%s: %s", printed_in[unit].name, d->diagnostics.item[0].text);
    const ta_compressor *c = &event.car.turbo.compressor;
    assert_int_equal(ta_compressor_map_create(c->line, c->line_count, &map), TA_OK);
    for (int i = 0; i < 400; i++) {
      const double flow = 0.05 + 0.021 * (i % 20), ratio = 1.13 + 0.157 * (i / 20);
      ta_map_reading want, got;
      assert_int_equal(ta_compressor_map_at(d->truth, flow, ratio, &want), TA_OK);
      assert_int_equal(ta_compressor_map_at(map, flow, ratio, &got), TA_OK);
      assert_int_equal(got.zone, want.zone);
      if (want.zone == TA_UNREACHABLE) continue;
      bad += off_rel(printed_in[unit].name, "speed", got.corrected_rpm, want.corrected_rpm, 1e-9);
      bad += off_rel(printed_in[unit].name, "efficiency", got.efficiency, want.efficiency, 1e-9);
    }
    ta_compressor_map_free(map);
    ta_event_free(&event);
  }
  (void)remove(path);
  desk_close(d);
  assert_int_equal(bad, 0);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_printed_map_plans_as_the_same_map_point_by_point),
      cmocka_unit_test(a_known_efficiency_is_kept_and_a_line_begins_on_the_surge_line),
      cmocka_unit_test(every_fault_is_raised_with_its_key),
      cmocka_unit_test(units_do_not_change_the_surface),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
