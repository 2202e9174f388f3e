/* test_positions.c - positions of a knob: against every choice of marks there is, and solved again
 * along each position's part of the course. */
#include "thinair/positions.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#include "../invented_car.h"
#include "../judged.h"

enum { PARTS_MOST = 7 };

typedef struct {
  invented it;
  ta_course_point road[PARTS_MOST + 2];
  ta_prepared prepared;
  ta_profile profile;
  ta_constant_cap cap[PARTS_MOST + 2][PARTS_MOST + 2]; /* between two points, once asked for */
  bool known[PARTS_MOST + 2][PARTS_MOST + 2];
} hill;

/* A road up, and sometimes down, with a mark at some of its points. */
static hill *hill_make(uint64_t number) {
  uint64_t next = 97 * number + 5;
  hill *h = calloc(1, sizeof *h);
  assert_non_null(h);
  invented_make(&h->it);
  const size_t count = 4 + (size_t)(5.0 * invented_random(next++));
  double at_m = 130.0, elevation_m = 1763.0 + 900.0 * invented_random(next++);
  static const char *const names[] = {"a", "b", "c", "d", "e", "f", "g", "h", "i"};
  memset(h->road, 0, sizeof h->road);
  for (size_t i = 0; i < count; i++) {
    h->road[i] = (ta_course_point){.distance_m = at_m, .elevation_m = elevation_m};
    if (i > 0 && invented_random(next++) < 0.75) h->road[i].mark = names[i];
    at_m += 700.0 + 5100.0 * invented_random(next++);
    elevation_m += -250.0 + 1100.0 * invented_random(next++);
  }
  h->it.event.course = (ta_course){h->road, count};
  h->it.event.goal.map_pa = 197300.0;
  if (number % 3 == 1) {
    h->it.event.car.control.holds = TA_HOLDS_GAUGE;
    h->it.event.goal = (ta_goal){.boost_pa = 127e3, .has_boost = true, .margin = 0.037};
  }
  assert_int_equal(ta_prepare(&h->it.event, &h->prepared), TA_OK);
  assert_int_equal(
      ta_profile_make(&h->prepared, ta_judged_speeds(&h->it.event.car), HUGE_VAL, &h->profile),
      TA_OK);
  return h;
}

static void hill_free(hill *h) {
  ta_prepared_free(&h->prepared);
  free(h);
}

/* The cap of the road from one point to another. */
static ta_constant_cap cap_between(hill *h, size_t first, size_t last) {
  ta_constant_cap *cap = &h->cap[first][last];
  if (!h->known[first][last]) {
    ta_event part = h->it.event;
    ta_prepared cut = h->prepared;
    part.course = (ta_course){h->it.event.course.point + first, last - first + 1};
    cut.event = &part;
    assert_int_equal(ta_constant_cap_find(&cut, &h->profile, cap), TA_OK);
    h->known[first][last] = true;
  }
  return *cap;
}

/* Points at which a position may begin: the start and the marks before the finish. */
static size_t switches(const hill *h, size_t *at) {
  size_t count = 0;
  const ta_course *course = &h->it.event.course;
  for (size_t i = 0; i + 1 < course->count; i++)
    if (i == 0 || course->point[i].mark != NULL) at[count++] = i;
  at[count] = course->count - 1;
  return count;
}

/* The most set-point times length with at most so many positions, by trying every choice. */
static double best_of_all(hill *h, size_t most) {
  size_t at[PARTS_MOST + 2];
  const size_t count = switches(h, at);
  const ta_course_point *point = h->it.event.course.point;
  double best = 0.0;
  for (unsigned chosen = 1; chosen < 1u << count; chosen += 2) { /* the start is always one */
    double score = 0.0;
    size_t positions = 0;
    for (size_t i = 0; i < count; i++) {
      if ((chosen >> i & 1u) == 0) continue;
      size_t end = i + 1;
      while (end < count && (chosen >> end & 1u) == 0) end++;
      score += cap_between(h, at[i], at[end]).set_point *
               (point[at[end]].distance_m - point[at[i]].distance_m);
      positions++;
    }
    if (positions <= most) best = fmax(best, score);
  }
  return best;
}

static void positions_are_the_best_of_all_choices(void **state) {
  (void)state;
  int bad = 0;
  size_t many = 0;
  for (uint64_t number = 0; number < 14; number++) {
    hill *h = hill_make(number);
    const ta_course *course = &h->it.event.course;
    const double limit = h->prepared.limit_rpm;
    for (size_t most = 1; most <= 4; most++) {
      ta_positions positions;
      assert_int_equal(ta_positions_find(&h->prepared, &h->profile, most, &positions), TA_OK);
      assert_true(positions.count >= 1 && positions.count <= most);
      many += positions.count > 2;
      double score = 0.0;
      for (size_t i = 0; i < positions.count; i++) {
        const ta_position *p = &positions.position[i];
        size_t first = 0, last = course->count - 1;
        while (course->point[first].distance_m != p->from_distance_m) first++;
        if (i + 1 < positions.count)
          for (last = first; course->point[last].distance_m != p[1].from_distance_m;) last++;
        assert_true(p->from_elevation_m == course->point[first].elevation_m);
        assert_true(i == 0 ? first == 0 : p->from_mark != NULL && last > first);
        assert_ptr_equal(p->from_mark, course->point[first].mark);
        score +=
            p->cap.set_point * (course->point[last].distance_m - course->point[first].distance_m);
        /* the cap is that of its whole part, and nothing there passes the limit */
        const ta_constant_cap cap = cap_between(h, first, last);
        bad += off_rel("position", "cap", p->cap.set_point, cap.set_point, 1e-6);
        assert_int_equal(p->cap.limited_by, cap.limited_by);
        assert_true(p->cap.tightest.distance_m >= course->point[first].distance_m &&
                    p->cap.tightest.distance_m <= course->point[last].distance_m);
        assert_true(judged_fastest_between(&h->prepared, first, last, 151.0, 257.0, 7270.0,
                                           p->cap.set_point) <= limit * (1.0 + 1e-6));
      }
      const double best = best_of_all(h, most);
      bad += off_rel("positions", "score", score, best, 3e-6);
      /* one fewer does worse */
      if (positions.count > 1) assert_true(best_of_all(h, positions.count - 1) < score);
      ta_positions_free(&positions);
      assert_true(positions.position == NULL && positions.count == 0);
    }
    hill_free(h);
  }
  assert_true(many > 8);
  assert_int_equal(bad, 0);
}

/* Where one cap does as well, the knob stays. */
static void no_position_without_a_gain(void **state) {
  (void)state;
  hill *h = hill_make(3);
  h->it.event.goal = (ta_goal){.map_pa = 131e3, .has_map = true, .margin = 0.037};
  ta_positions positions;
  assert_int_equal(ta_profile_make(&h->prepared, h->profile.range, HUGE_VAL, &h->profile), TA_OK);
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 5, &positions), TA_OK);
  assert_int_equal(positions.count, 1);
  assert_true(positions.position[0].cap.limited_by == TA_BY_GOAL &&
              positions.position[0].cap.set_point == 131e3 &&
              positions.position[0].from_distance_m == 130.0);
  ta_positions_free(&positions);
  /* and without marks there is nowhere to switch */
  h->it.event.goal.map_pa = 173300.0;
  for (size_t i = 0; i < h->it.event.course.count; i++) h->road[i].mark = NULL;
  assert_int_equal(ta_profile_make(&h->prepared, h->profile.range, HUGE_VAL, &h->profile), TA_OK);
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 5, &positions), TA_OK);
  assert_int_equal(positions.count, 1);
  assert_true(positions.position[0].from_mark == NULL);
  ta_positions_free(&positions);
  hill_free(h);
}

/* A part in which no cap can be had spoils the position that holds it, and no other. */
static void what_cannot_be_had_stays_in_its_part(void **state) {
  (void)state;
  hill *h = hill_make(0);
  ta_course *course = &h->it.event.course;
  course->count = 4;
  static const double elevation_m[] = {1500.0, 2100.0, 3300.0, 4100.0};
  for (size_t i = 0; i < 4; i++) {
    h->road[i].elevation_m = elevation_m[i];
    h->road[i].mark = "a mark";
  }
  h->it.event.car.control.has_minimum_boost = true;
  h->it.event.car.control.minimum_boost_pa = 114e3;
  h->it.event.goal.map_pa = 141e3; /* the target itself would hold everywhere */
  assert_int_equal(ta_profile_make(&h->prepared, h->profile.range, HUGE_VAL, &h->profile), TA_OK);
  ta_positions positions;
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 3, &positions), TA_OK);
  size_t spoilt = 0;
  for (size_t i = 0; i < positions.count; i++) spoilt += !positions.position[i].cap.can_be_had;
  assert_true(positions.count > 1 && spoilt == 1);
  assert_false(positions.position[positions.count - 1].cap.can_be_had);
  assert_int_equal(positions.position[positions.count - 1].cap.limited_by, TA_BY_MINIMUM_BOOST);
  ta_positions_free(&positions);
  hill_free(h);
}

static void refusals(void **state) {
  (void)state;
  hill *h = hill_make(2);
  ta_positions positions = {.count = 7};
  assert_int_equal(ta_positions_find(NULL, &h->profile, 3, &positions), TA_ERR_ARGUMENT);
  assert_int_equal(ta_positions_find(&h->prepared, NULL, 3, &positions), TA_ERR_ARGUMENT);
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 3, NULL), TA_ERR_ARGUMENT);
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 0, &positions), TA_ERR_ARGUMENT);
  assert_int_equal(positions.count, 7);
  h->road[h->it.event.course.count - 1].elevation_m = 9500.0; /* above the column of air */
  assert_int_equal(ta_positions_find(&h->prepared, &h->profile, 3, &positions), TA_ERR_DOMAIN);
  assert_true(positions.position == NULL && positions.count == 0);
  ta_positions_free(NULL);
  hill_free(h);
}

int main(void) {
  (void)gsl_set_error_handler_off();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(positions_are_the_best_of_all_choices),
      cmocka_unit_test(no_position_without_a_gain),
      cmocka_unit_test(what_cannot_be_had_stays_in_its_part),
      cmocka_unit_test(refusals),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
