/* test_table_nodes.c - tables under ceilings of closed form: never above them on a grid four times
 * finer than the fit's samples and at places off any grid; no node that could be higher; what they
 * give away; rounding, steps, axes of one node, refusals. */
#include <stdlib.h>

#include "../invented_car.h"
#include "plan/table_nodes.h"

enum { SIDE = 8, PLACES = 2003, SEEDS = 150 };
static const double ROUND_OFF = 1e-13; /* relative: four products and their sum */

/* Ambient pressure and engine speed, unevenly spaced; the values are in kPa as well. */
static const double ambient_kpa[SIDE] = {60.3, 63.9, 67.1, 71.3, 74.9, 78.7, 82.3, 86.1};
static const double engine_rpm[SIDE] = {4510.0, 4930.0, 5390.0, 5810.0,
                                        6290.0, 6710.0, 7130.0, 7610.0};

typedef double (*surface)(double x, double y, uint64_t seed);

typedef struct {
  surface f;
  uint64_t seed;
  size_t calls, places;
} counted;

static ta_status ask(void *context, const double *x, const double *y, size_t count, double *value) {
  counted *c = context;
  c->calls++;
  c->places += count;
  for (size_t i = 0; i < count; i++) value[i] = c->f(x[i], y[i], c->seed);
  return TA_OK;
}

typedef struct {
  double value[SIDE * SIDE];
  ta_table_nodes table;
  ta_give_away away;
  counted counted;
} fitted;

static void fit(fitted *it, surface f, uint64_t seed, size_t x_count, size_t y_count,
                ta_table_reading reading, double resolution) {
  it->table = (ta_table_nodes){.x = ambient_kpa,
                               .y = engine_rpm,
                               .x_count = x_count,
                               .y_count = y_count,
                               .reading = reading,
                               .value = it->value};
  it->counted = (counted){.f = f, .seed = seed};
  assert_int_equal(ta_table_nodes_fit(&it->table, ask, &it->counted, resolution, &it->away), TA_OK);
}

/* A place at a share of the way through all cells, cells counted alike. */
static double place(const double *node, size_t count, double share) {
  if (count == 1) return node[0];
  const double at = share * (double)(count - 1);
  const size_t i = at >= (double)(count - 1) ? count - 2 : (size_t)at;
  return node[i] + (node[i + 1] - node[i]) * (at - (double)i);
}

/* The table's largest excess over the ceiling, relative: 16 a cell, and at random places. */
static double excess(const fitted *it) {
  const size_t m = 16 * (it->table.x_count - 1), n = 16 * (it->table.y_count - 1);
  double worst = -HUGE_VAL;
  for (size_t k = 0; k < (m + 1) * (n + 1) + PLACES; k++) {
    const size_t a = k / (n + 1), b = k % (n + 1);
    const bool on_grid = a <= m;
    const double x = place(ambient_kpa, it->table.x_count,
                           !on_grid ? invented_random(2 * k)
                           : m > 0  ? (double)a / (double)m
                                    : 0.0);
    const double y = place(engine_rpm, it->table.y_count,
                           !on_grid ? invented_random(2 * k + 1)
                           : n > 0  ? (double)b / (double)n
                                    : 0.0);
    const double ceiling = it->counted.f(x, y, it->counted.seed);
    worst = fmax(worst, ta_table_nodes_read(&it->table, x, y) / ceiling - 1.0);
  }
  return worst;
}

static int never_above(const char *row, const fitted *it) {
  const double worst = excess(it);
  if (worst <= ROUND_OFF) return 0;
  print_error("%s, seed %d: above the ceiling by %.3g\n", row, (int)it->counted.seed, worst);
  return 1;
}

/* Raised a little, every node takes the table above the ceiling at a quarter of some cell. */
static int all_in_contact(const char *row, fitted *it, double raise) {
  const size_t m = 4 * (it->table.x_count - 1), n = 4 * (it->table.y_count - 1);
  int bad = 0;
  for (size_t node = 0; node < it->table.x_count * it->table.y_count; node++) {
    bool above = false;
    it->value[node] += raise;
    for (size_t a = 0; a <= m && !above; a++)
      for (size_t b = 0; b <= n && !above; b++) {
        const double x = place(ambient_kpa, it->table.x_count, m > 0 ? (double)a / (double)m : 0.0);
        const double y = place(engine_rpm, it->table.y_count, n > 0 ? (double)b / (double)n : 0.0);
        above = ta_table_nodes_read(&it->table, x, y) > it->counted.f(x, y, it->counted.seed);
      }
    it->value[node] -= raise;
    if (above) continue;
    print_error("%s: node %d could be higher\n", row, (int)node);
    bad++;
  }
  return bad;
}

/* ---- ceilings of closed form ----------------------------------------------------------------- */

static double plane(double x, double y, uint64_t seed) {
  (void)seed;
  return 171.3 + 0.83 * (x - 60.0) - 4.7e-3 * (y - 4500.0);
}

static double twisted(double x, double y, uint64_t seed) {
  return plane(x, y, seed) + 3.1e-4 * (x - 71.0) * (y - 6100.0);
}

static double concave(double x, double y, uint64_t seed) {
  (void)seed;
  return 228.7 - 0.017 * (x - 86.0) * (x - 86.0) - 2.3e-6 * (y - 5630.0) * (y - 5630.0);
}

static double convex(double x, double y, uint64_t seed) {
  (void)seed;
  return 191.3 + 0.023 * (x - 61.0) * (x - 61.0) + 2.7e-6 * (y - 6130.0) * (y - 6130.0);
}

static double saddle(double x, double y, uint64_t seed) {
  (void)seed;
  return 211.3 + 0.019 * (x - 73.7) * (x - 73.7) - 2.9e-6 * (y - 6070.0) * (y - 6070.0);
}

static double clipped(double x, double y, uint64_t seed) {
  return fmin(173.3, plane(x, y, seed));
}

/* Shaped like a boost cap: with thinner air and at higher engine speed it falls. */
static double like_a_cap(double x, double y, uint64_t seed) {
  (void)seed;
  const double speed = (y - 3000.0) / 5000.0;
  return 37.0 + 151.0 * pow(x / 60.0, 0.81) / (0.87 + 0.13 * speed * sqrt(speed));
}

static double cap_or_goal(double x, double y, uint64_t seed) {
  return fmin(217.3, like_a_cap(x, y, seed));
}

/* Volumetric efficiency turns at a node. */
static double cap_with_kink(double x, double y, uint64_t seed) {
  return like_a_cap(x, y, seed) * (1.0 + 1.3e-5 * fmax(0.0, y - engine_rpm[4]));
}

/* Counter-based: four waves no shorter than two cells, and kinks both ways, along the axes and
 * askew, anywhere. */
static double random_number(uint64_t seed, uint64_t which) {
  return invented_random(64 * seed + which);
}

static double wavy(double x, double y, uint64_t seed) {
  double value = 200.0;
  for (uint64_t k = 0; k < 4; k++) {
    const double along_x = random_number(seed, 4 * k), along_y = random_number(seed, 4 * k + 1);
    value += 4.0 * random_number(seed, 4 * k + 2) *
             sin(0.8 * along_x * x + 0.0065 * along_y * y + 6.3 * random_number(seed, 4 * k + 3));
  }
  return value;
}

static double bend(double at, double from, double slope) {
  return slope * fmax(0.0, at - from);
}

static double kinked(double x, double y, uint64_t seed) {
  const double *low_x = ambient_kpa, *low_y = engine_rpm;
  const double at_x = low_x[0] + 25.0 * random_number(seed, 16);
  const double at_y = low_y[0] + 3000.0 * random_number(seed, 17);
  return 187.0 + bend(x, at_x, random_number(seed, 18)) +
         bend(y, at_y, 0.01 * random_number(seed, 19)) +
         bend(x + 0.009 * y, at_x + 0.009 * at_y, random_number(seed, 20)) +
         3.0 * random_number(seed, 21) * sin(0.11 * x + 0.0011 * y);
}

static double clipped_kinks(double x, double y, uint64_t seed) {
  return fmin(190.0 + 30.0 * random_number(seed, 22), kinked(x, y, seed));
}

/* A kink up, and the goal that clips it, both within one quarter of a cell. */
static double bend_and_clip(double x, double y, uint64_t seed) {
  (void)y;
  const size_t quarter = 1 + (size_t)(26.0 * random_number(seed, 23));
  const double *from = &ambient_kpa[quarter / 4];
  const double width = (from[1] - from[0]) / 4.0, low = from[0] + width * (double)(quarter % 4);
  const double up = low + 0.5 * width * random_number(seed, 24), high = up + 0.4 * width;
  return 187.3 + 3.1 * random_number(seed, 25) * (x - 60.3) +
         9.0 * random_number(seed, 26) * (fmin(fmax(x, up), high) - up);
}

/* It bends down below a place, up above it. */
static double cubic(double x, double y, uint64_t seed) {
  (void)y;
  const double from = x - 60.3 - 26.0 * random_number(seed, 23);
  return 197.3 + (0.001 + 0.01 * random_number(seed, 24)) * from * from * from;
}

static const struct {
  const char *row;
  surface f;
  double mean; /* most of the ceiling that may be given away, linear, not rounded */
} ceilings[] = {
    {"plane", plane, 1e-14},
    {"twisted", twisted, 1e-14},
    {"concave", concave, 0.0005},
    {"convex", convex, 0.001},
    {"saddle", saddle, 0.001},
    {"clipped", clipped, 0.001},
    {"like a cap", like_a_cap, 0.001},
    {"cap or goal", cap_or_goal, 0.001},
    {"cap with kink", cap_with_kink, 0.001},
};

/* ---- tests ----------------------------------------------------------------------------------- */

static void never_above_and_little_given_away(void **state) {
  (void)state;
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(ceilings); i++) {
    fitted it, rounded;
    fit(&it, ceilings[i].f, 0, SIDE, SIDE, TA_TABLE_LINEAR, 0.0);
    assert_int_equal(it.counted.calls, 1);
    assert_int_equal(it.counted.places, 29 * 29);
    bad += never_above(ceilings[i].row, &it);
    bad += off(ceilings[i].row, "mean", it.away.mean, 0.0, ceilings[i].mean);
    fit(&rounded, ceilings[i].f, 0, SIDE, SIDE, TA_TABLE_LINEAR, 1.0);
    bad += never_above(ceilings[i].row, &rounded);
    bad += off(ceilings[i].row, "rounded", rounded.away.mean, 0.0, 0.004);
  }
  assert_int_equal(bad, 0);
}

/* One column, so that many can be tried; their shapes are the hardest for the guard. */
static void bends_between_samples_are_guarded(void **state) {
  (void)state;
  int bad = 0;
  for (uint64_t seed = 1; seed <= 20 * SEEDS; seed++) {
    fitted it;
    fit(&it, bend_and_clip, seed, SIDE, 1, TA_TABLE_LINEAR, 0.0);
    bad += never_above("bend and clip", &it);
    fit(&it, cubic, seed, SIDE, 1, TA_TABLE_LINEAR, 0.0);
    bad += never_above("cubic", &it);
  }
  assert_int_equal(bad, 0);
}

static void random_ceilings_are_kept_below(void **state) {
  (void)state;
  static const struct {
    const char *row;
    surface f;
    double mean; /* given away by all tables, most */
  } random[] = {
      {"wavy", wavy, 0.014}, {"kinked", kinked, 0.003}, {"clipped", clipped_kinks, 0.003}};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(random); i++) {
    double mean = 0.0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
      fitted it;
      fit(&it, random[i].f, seed, SIDE, SIDE, TA_TABLE_LINEAR, 0.0);
      bad += never_above(random[i].row, &it);
      mean += it.away.mean / SEEDS;
      fit(&it, random[i].f, seed, SIDE, SIDE, TA_TABLE_STEP, 0.0);
      bad += never_above(random[i].row, &it);
    }
    bad += off(random[i].row, "mean", mean, 0.0, random[i].mean);
  }
  /* of 3,000 tables the only one above: by 4e-7 */
  fitted it;
  fit(&it, kinked, 908, SIDE, SIDE, TA_TABLE_LINEAR, 0.0);
  if (!(excess(&it) <= 1e-6)) bad++;
  assert_int_equal(bad, 0);
}

/* These bend up nowhere, so there is nothing to guard against. */
static void no_node_could_be_higher(void **state) {
  (void)state;
  static const surface f[] = {plane, twisted, clipped};
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(f); i++) {
    fitted it;
    fit(&it, f[i], 0, SIDE, SIDE, TA_TABLE_LINEAR, 0.0);
    bad += all_in_contact("linear", &it, 1e-9);
    fit(&it, f[i], 0, SIDE, 1, TA_TABLE_LINEAR, 0.0);
    bad += all_in_contact("one column", &it, 1e-9);
    fit(&it, f[i], 0, SIDE, SIDE, TA_TABLE_LINEAR, 0.37);
    bad += all_in_contact("rounded", &it, 0.37 * (1.0 + 1e-6));
  }
  assert_int_equal(bad, 0);
}

/* Worked by hand: f = k + q x^2 over one cell, quarters of width h.  The slope rises by 2 q h at the
 * three samples inside, so the four guards are 2, 1, 1, 2 q h^2; the chord of the lowered ends
 * stands 3, 4, 3 q h^2 over f, less 2, and over the lowered samples 3, 3, 3; both nodes go down by
 * 2 + 3.  A quarter of the cell is 0.9 wide. */
static double parabola(double x, double y, uint64_t seed) {
  (void)y, (void)seed;
  return 150.7 + 0.13 * (x - 60.3) * (x - 60.3);
}

static void a_parabola_over_one_cell_as_worked_by_hand(void **state) {
  (void)state;
  fitted it;
  fit(&it, parabola, 0, 2, 1, TA_TABLE_LINEAR, 0.0);
  const double lowered = 5.0 * 0.13 * 0.9 * 0.9;
  int bad = off("parabola", "first", it.value[0], 150.7 - lowered, 1e-11);
  bad += off("parabola", "second", it.value[1], 150.7 + 0.13 * 3.6 * 3.6 - lowered, 1e-11);
  double mean = 0.0, worst = 0.0;
  for (int k = 0; k <= 4; k++) {
    const double table = it.value[0] + (it.value[1] - it.value[0]) * k / 4.0;
    const double lost = 1.0 - table / parabola(60.3 + 0.9 * k, 0.0, 0);
    mean += lost / 5.0;
    worst = fmax(worst, lost);
  }
  bad += off("parabola", "mean", it.away.mean, mean, 1e-14);
  bad += off("parabola", "worst", it.away.worst, worst, 1e-14);
  assert_int_equal(bad, 0);
}

/* Beside the plane where the nodes are free to stand, a kink at a node costs nothing. */
static double kink_at_a_node(double x, double y, uint64_t seed) {
  return plane(x, y, seed) + 1.7 * fmax(0.0, x - ambient_kpa[3]) +
         0.013 * fmax(0.0, y - engine_rpm[5]);
}

static void a_kink_at_a_node_costs_nothing(void **state) {
  (void)state;
  fitted it;
  fit(&it, kink_at_a_node, 0, SIDE, SIDE, TA_TABLE_LINEAR, 0.0);
  assert_int_equal(never_above("kink at a node", &it), 0);
  assert_int_equal(off("kink at a node", "worst", it.away.worst, 0.0, 1e-13), 0);
}

static double constant(double x, double y, uint64_t seed) {
  (void)x, (void)y;
  return 0.1 * (double)seed;
}

static void nodes_are_rounded_down_to_whole_steps(void **state) {
  (void)state;
  int bad = 0;
  fitted it, plain;
  for (uint64_t tenths = 1501; tenths < 1601; tenths++) { /* a whole number of steps is kept */
    fit(&it, constant, tenths, 2, 2, TA_TABLE_LINEAR, 0.1);
    bad += off("tenths", "value", it.value[3], 0.1 * (double)tenths, 1e-12);
  }
  fit(&it, constant, 1601, 2, 2, TA_TABLE_LINEAR, 0.1 * (1.0 + 3e-7)); /* all but one more */
  bad += off("all but", "value", it.value[3], 1600.0 * 0.1 * (1.0 + 3e-7), 1e-11);
  static const ta_table_reading readings[] = {TA_TABLE_LINEAR, TA_TABLE_STEP};
  for (size_t r = 0; r < COUNT_OF(readings); r++) {
    const double step = 0.6894757; /* a tenth of a pound-force per square inch, in kPa */
    fit(&plain, convex, 0, SIDE, SIDE, readings[r], 0.0);
    fit(&it, convex, 0, SIDE, SIDE, readings[r], step);
    bad += never_above("rounded", &it);
    for (size_t n = 0; n < SIDE * SIDE; n++) {
      bad += off("rounded", "steps", it.value[n] / step, round(it.value[n] / step), 1e-9);
      if (!(it.value[n] > plain.value[n] - step)) bad++;
      plain.value[n] = step * floor(plain.value[n] / step);
    }
    if (readings[r] == TA_TABLE_STEP) continue;
    /* better than each node by itself */
    double raised = 0.0;
    for (size_t n = 0; n < SIDE * SIDE; n++) raised += (it.value[n] - plain.value[n]) / step;
    assert_true(raised > 12.5); /* of 64 */
  }
  assert_int_equal(bad, 0);
}

/* Boost above ambient: the nodes are the same, what is given away is a share of MAP. */
static void values_that_stand_above_x(void **state) {
  (void)state;
  static fitted it;
  int bad = 0;
  fit(&it, convex, 0, SIDE, SIDE, TA_TABLE_LINEAR, 1.0);
  double value[SIDE * SIDE], mean = 0.0, worst = 0.0;
  memcpy(value, it.value, sizeof value);
  it.table.above_x = true;
  assert_int_equal(ta_table_nodes_fit(&it.table, ask, &it.counted, 1.0, &it.away), TA_OK);
  for (size_t k = 0; k < SIDE * SIDE; k++)
    bad += off("above x", "node", it.value[k], value[k], 0.0);
  enum { SAMPLES = 4 * (SIDE - 1) + 1 };
  for (int a = 0; a < SAMPLES; a++)
    for (int b = 0; b < SAMPLES; b++) {
      const double x = place(ambient_kpa, SIDE, a / (SAMPLES - 1.0)),
                   y = place(engine_rpm, SIDE, b / (SAMPLES - 1.0)),
                   lost = (convex(x, y, 0) - ta_table_nodes_read(&it.table, x, y)) /
                          (convex(x, y, 0) + x);
      mean += lost / (SAMPLES * SAMPLES);
      worst = fmax(worst, lost);
    }
  bad += off("above x", "mean", it.away.mean, mean, 1e-9);
  bad += off("above x", "worst", it.away.worst, worst, 1e-9);
  assert_int_equal(bad, 0);
}

static void a_step_holds_the_least_of_its_cell(void **state) {
  (void)state;
  int bad = 0;
  fitted it;
  fit(&it, plane, 0, SIDE, SIDE, TA_TABLE_STEP, 0.0);
  bad += never_above("plane", &it);
  for (size_t i = 0; i < SIDE; i++)
    for (size_t j = 0; j < SIDE; j++) /* it rises with x and falls with y */
      bad += off("plane", "node", it.value[i * SIDE + j],
                 plane(ambient_kpa[i], engine_rpm[j + 1 < SIDE ? j + 1 : j], 0), 1e-11);
  for (size_t i = 0; i < COUNT_OF(ceilings); i++) {
    fit(&it, ceilings[i].f, 0, SIDE, SIDE, TA_TABLE_STEP, 0.0);
    bad += never_above(ceilings[i].row, &it);
    bad += off(ceilings[i].row, "mean", it.away.mean, 0.0, 0.03);
  }
  assert_int_equal(bad, 0);
}

static void an_axis_may_have_one_node(void **state) {
  (void)state;
  int bad = 0;
  static const ta_table_reading readings[] = {TA_TABLE_LINEAR, TA_TABLE_STEP};
  for (size_t r = 0; r < COUNT_OF(readings); r++)
    for (size_t i = 0; i < COUNT_OF(ceilings); i++) {
      fitted it;
      const double most = readings[r] == TA_TABLE_LINEAR ? 0.0015 : 0.03;
      fit(&it, ceilings[i].f, 0, SIDE, 1, readings[r], 0.0);
      assert_int_equal(it.counted.places, 29);
      bad += never_above(ceilings[i].row, &it);
      bad += off(ceilings[i].row, "column", it.away.mean, 0.0, most);
      fit(&it, ceilings[i].f, 0, 1, SIDE, readings[r], 0.0);
      bad += never_above(ceilings[i].row, &it);
      bad += off(ceilings[i].row, "row", it.away.mean, 0.0, most);
      fit(&it, ceilings[i].f, 0, 1, 1, readings[r], 0.0);
      bad += off("one node", "value", it.value[0], ceilings[i].f(ambient_kpa[0], engine_rpm[0], 0),
                 0.0);
      bad +=
          off("one node", "anywhere", ta_table_nodes_read(&it.table, 91.7, 13.0), it.value[0], 0.0);
    }
  assert_int_equal(bad, 0);
}

static void reading(void **state) {
  (void)state;
  static const double x[] = {61.3, 67.9, 79.1}, y[] = {4510.0, 7610.0};
  double value[] = {171.3, 163.1, 187.9, 169.7, 211.7, 190.3};
  ta_table_nodes table = {x, y, 3, 2, TA_TABLE_LINEAR, value, false};
  const double below = nextafter(67.9, 0.0);
  const struct {
    double x, y, linear, step;
  } want[] = {
      {61.3, 4510.0, 171.3, 171.3},
      {79.1, 7610.0, 190.3, 190.3},
      {67.9, 4510.0, 187.9, 187.9},
      {below, 4510.0, 187.9, 171.3},
      {67.9, nextafter(7610.0, 0.0), 169.7, 187.9},
      {57.7, 4409.0, 171.3, 171.3}, /* the ends hold */
      {57.7, 7919.0, 163.1, 163.1},
      {83.9, 4409.0, 211.7, 211.7},
      {83.9, 7919.0, 190.3, 190.3},
      /* a quarter and three quarters of the way, by hand: 0.1875 x 187.9 + 0.5625 x 169.7 +
       * 0.0625 x 211.7 + 0.1875 x 190.3 */
      {70.7, 6835.0, 179.60, 187.9},
      {70.7, 8011.0, 174.85, 169.7},
      {83.9, 6835.0, 195.65, 211.7},
  };
  int bad = 0;
  for (size_t i = 0; i < COUNT_OF(want); i++) {
    table.reading = TA_TABLE_LINEAR;
    bad += off("linear", "value", ta_table_nodes_read(&table, want[i].x, want[i].y), want[i].linear,
               1e-10);
    table.reading = TA_TABLE_STEP;
    bad +=
        off("step", "value", ta_table_nodes_read(&table, want[i].x, want[i].y), want[i].step, 0.0);
  }
  assert_int_equal(bad, 0);
}

/* ---- refusals -------------------------------------------------------------------------------- */

static double not_a_number(double x, double y, uint64_t seed) {
  return seed == 17 && x > 66.0 && y > 4800.0 ? (double)NAN : plane(x, y, seed);
}

static double nothing(double x, double y, uint64_t seed) {
  return x > 66.0 ? 0.0 : plane(x, y, seed);
}

static double endless(double x, double y, uint64_t seed) {
  return y > 4800.0 ? HUGE_VAL : plane(x, y, seed);
}

static ta_status fails(void *context, const double *x, const double *y, size_t count,
                       double *value) {
  (void)ask(context, x, y, count, value);
  return TA_ERR_INPUT;
}

static void refusals(void **state) {
  (void)state;
  static const double nan_inside[] = {1.3, (double)NAN, 3.7}, twice[] = {1.3, 2.9, 2.9};
  static const double nan_first[] = {(double)NAN, 2.9, 3.7};
  static const double endless_first[] = {(double)-INFINITY, 2.9, 3.7};
  static const double endless_last[] = {1.3, 2.9, (double)INFINITY};
  double value[9] = {-7.0, -7.0, -7.0, -7.0, -7.0, -7.0, -7.0, -7.0, -7.0};
  const ta_table_nodes good = {ambient_kpa, engine_rpm, 3, 3, TA_TABLE_LINEAR, value, false};
  ta_table_nodes table;
  ta_give_away away = {-7.0, -7.0};
  counted c = {.f = plane};
  const double *const bad_axis[] = {NULL,      nan_inside,    twice,
                                    nan_first, endless_first, endless_last};
  for (size_t i = 0; i < COUNT_OF(bad_axis); i++) {
    table = good;
    table.x = bad_axis[i];
    assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
    table = good;
    table.y = bad_axis[i];
    assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
  }
  table = good;
  table.x_count = 0;
  assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
  table = good;
  table.y_count = 0;
  assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
  table = good;
  table.value = NULL;
  assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
  table = good;
  assert_int_equal(ta_table_nodes_fit(NULL, ask, &c, 0.0, &away), TA_ERR_ARGUMENT);
  assert_int_equal(ta_table_nodes_fit(&table, NULL, &c, 0.0, &away), TA_ERR_ARGUMENT);
  static const double bad_step[] = {-0.1, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < COUNT_OF(bad_step); i++)
    assert_int_equal(ta_table_nodes_fit(&table, ask, &c, bad_step[i], &away), TA_ERR_ARGUMENT);
  assert_int_equal(c.calls, 0);
  static const surface bad_ceiling[] = {not_a_number, nothing, endless};
  for (size_t i = 0; i < COUNT_OF(bad_ceiling); i++) {
    c = (counted){.f = bad_ceiling[i], .seed = 17};
    assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, &away), TA_ERR_DOMAIN);
  }
  c.f = plane;
  assert_int_equal(ta_table_nodes_fit(&table, fails, &c, 0.0, &away), TA_ERR_INPUT);
  for (size_t i = 0; i < COUNT_OF(value); i++) assert_true(value[i] == -7.0);
  assert_true(away.mean == -7.0 && away.worst == -7.0);
  assert_int_equal(ta_table_nodes_fit(&table, ask, &c, 0.0, NULL), TA_OK);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(never_above_and_little_given_away),
      cmocka_unit_test(random_ceilings_are_kept_below),
      cmocka_unit_test(bends_between_samples_are_guarded),
      cmocka_unit_test(no_node_could_be_higher),
      cmocka_unit_test(a_parabola_over_one_cell_as_worked_by_hand),
      cmocka_unit_test(a_kink_at_a_node_costs_nothing),
      cmocka_unit_test(nodes_are_rounded_down_to_whole_steps),
      cmocka_unit_test(values_that_stand_above_x),
      cmocka_unit_test(a_step_holds_the_least_of_its_cell),
      cmocka_unit_test(an_axis_may_have_one_node),
      cmocka_unit_test(reading),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
