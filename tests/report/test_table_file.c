/* test_table_file.c - the controller's table read back from its file, in every unit, absolute and
 * gauge; and no file where there is no table.
 *
 * Factors   NIST SP 811 (2008) Appendix B: 1 psi = 6894.757 Pa, with the digits that 1 lb, 1 in and
 *           g0 give; bar and mbar by definition. */
#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "thinair/report.h"

typedef struct {
  invented it;
  ta_prepared prepared;
  ta_plan plan; /* its table alone */
  ta_buffer out;
} tabled;

static tabled *table_of(int holds, int unit, double resolution_pa, double minimum_boost_pa) {
  tabled *t = calloc(1, sizeof *t);
  assert_non_null(t);
  invented_make(&t->it);
  ta_control *control = &t->it.event.car.control;
  control->holds = holds;
  control->unit = unit;
  control->resolution_pa = resolution_pa;
  control->has_minimum_boost = minimum_boost_pa > 0.0;
  control->minimum_boost_pa = minimum_boost_pa;
  if (holds == TA_HOLDS_GAUGE)
    t->it.event.goal = (ta_goal){.boost_pa = 113e3, .has_boost = true, .margin = 0.037};
  assert_int_equal(ta_prepare(&t->it.event, &t->prepared), TA_OK);
  assert_int_equal(ta_controller_table_find(&t->prepared, true, &t->plan.caps.table), TA_OK);
  return t;
}

static void drop(tabled *t) {
  ta_buffer_free(&t->out);
  ta_controller_table_free(&t->plan.caps.table);
  ta_prepared_free(&t->prepared);
  free(t);
}

/* The number after the next comma or at the line's begin. */
static double next_number(const char **at) {
  char *end = NULL;
  if (**at == ',') ++*at;
  const double number = strtod(*at, &end);
  assert_true(end > *at && strchr(",\n", *end) != NULL);
  *at = end;
  return number;
}

static void what_is_written_is_the_table(void **state) {
  (void)state;
  static const struct {
    const char *corner;
    int holds, unit;
    double pa, resolution_pa;
  } rows[] = {
      {"MAP kPa over ambient kPa and rpm", TA_HOLDS_ABSOLUTE, TA_CONTROLLER_KPA, 1e3, 700.0},
      {"MAP mbar over ambient mbar and rpm", TA_HOLDS_ABSOLUTE, TA_CONTROLLER_MBAR, 100.0, 300.0},
      {"MAP psi over ambient psi and rpm", TA_HOLDS_ABSOLUTE, TA_CONTROLLER_PSI, 6894.757293168361,
       689.4757293168361},
      {"boost bar over ambient bar and rpm", TA_HOLDS_GAUGE, TA_CONTROLLER_BAR, 1e5, 1300.0},
      {"boost psi over ambient psi and rpm", TA_HOLDS_GAUGE, TA_CONTROLLER_PSI, 6894.757293168361,
       1378.9514586336722},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    tabled *t = table_of(rows[i].holds, rows[i].unit, rows[i].resolution_pa, 0.0);
    const ta_controller_table *table = &t->plan.caps.table;
    const ta_controller_axes *axes = &table->axes;
    assert_true(ta_report_table_file(&t->prepared, &t->plan, &t->out));
    const char *at = t->out.text;
    assert_true(strncmp(at, rows[i].corner, strlen(rows[i].corner)) == 0);
    at += strlen(rows[i].corner);
    for (size_t k = 0; k < axes->speed_count; k++)
      bad += off_rel(rows[i].corner, "rpm", next_number(&at), axes->speed_rpm[k], 1e-9);
    assert_true(*at++ == '\n');
    double lowest = HUGE_VAL, highest = 0.0;
    for (size_t p = 0; p < axes->pressure_count; p++) {
      bad += off_rel(rows[i].corner, "ambient", next_number(&at) * rows[i].pa, axes->pressure_pa[p],
                     5e-6); /* six digits */
      for (size_t k = 0; k < axes->speed_count; k++) {
        const double want = table->set_point[p * axes->speed_count + k];
        lowest = fmin(lowest, want);
        highest = fmax(highest, want);
        bad += off_rel(rows[i].corner, "set-point", next_number(&at) * rows[i].pa, want, 1e-9);
      }
      assert_true(*at++ == '\n');
    }
    assert_true(*at == '\0' && highest > lowest); /* a table that says something */
    drop(t);
  }
  assert_int_equal(bad, 0);
}

/* A step of 0.1 psi is written as such. */
static void steps_are_written_round(void **state) {
  (void)state;
  tabled *t = table_of(TA_HOLDS_ABSOLUTE, TA_CONTROLLER_PSI, 689.4757293168361, 0.0);
  assert_true(ta_report_table_file(&t->prepared, &t->plan, &t->out));
  const char *at = strchr(t->out.text, '\n') + 1; /* past the engine speeds */
  while (*at != '\0') {
    (void)next_number(&at); /* the ambient pressure */
    while (*at == ',') {
      const char *point = strchr(at, '.'), *cell = at;
      (void)next_number(&at);
      if (point == NULL || point >= at) continue; /* whole psi */
      if (at != point + 2) fail_msg("%.*s", (int)(at - cell), cell);
    }
    at++;
  }
  drop(t);
}

static void no_table_no_file(void **state) {
  (void)state;
  static const struct {
    const char *row;
    int holds;
    double minimum_boost_pa;
  } rows[] = {{"a barometer that is read once", TA_HOLDS_GAUGE_KEY_ON, 0.0},
              {"a spring above the cap", TA_HOLDS_ABSOLUTE, 131e3}};
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    tabled *t = table_of(rows[i].holds, TA_CONTROLLER_KPA, 700.0, rows[i].minimum_boost_pa);
    ta_buffer_add(&t->out, "as it was");
    if (ta_report_table_file(&t->prepared, &t->plan, &t->out)) fail_msg("%s", rows[i].row);
    assert_string_equal(t->out.text, "as it was");
    drop(t);
  }
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_written_is_the_table),
      cmocka_unit_test(steps_are_written_round),
      cmocka_unit_test(no_table_no_file),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
