/* street.c - a street car that moves to the mountains.
 *
 * Model     Three made-up days stand for a year: the standard one, one 10 K colder with the pressure
 *           that such a column really has, one 20 K warmer with the standard pressure.
 * Method    Each place and day is judged as a plan judges its worst place.  The elevation up to which
 *           the boost holds is searched upwards in steps, then halved to the whole metre.
 * Decision  What is offered judges as within: heights are searched by the verdict, caps are found
 *           with the compressor map's own error taken off the limit, and then judged themselves.
 * Limits    Dry air.  A stretch over the limit that ends again within a step of the search is not seen
 *           by it; shaft speed over elevation is far smoother than that.
 * Pinned by tests/plan/test_street.c.
 */
#include "thinair/street.h"

#include <math.h>
#include <string.h>

#include "thinair/access.h"

static const double SEARCH_STEP_M = 100.0, SEARCH_TOP_M = 4500.0;
static const double LEAST_CAP_STEP_M = 250.0;
static const double SAME_PLACE_M = 0.01;
static const double LAST_DIGITS = 1e-9; /* relative */
static const double STANDARD_LAPSE_K_M = 0.0065;

static const struct {
  const char *name;
  double offset_k;
  int hydrostatic;
} days[] = {
#define X(symbol, name, offset_k, hydrostatic) [symbol] = {name, offset_k, hydrostatic},
    TA_STREET_DAY_ROWS(X)
#undef X
};

const char *ta_street_day_name(ta_street_day day) {
  return (unsigned)day < TA_STREET_DAY_COUNT ? days[day].name : "?";
}

double ta_street_day_offset(ta_street_day day) {
  return (unsigned)day < TA_STREET_DAY_COUNT ? days[day].offset_k : 0.0;
}

static ta_status check(const ta_event *car, const ta_street_question *question) {
  const ta_goal *goal = &question->goal;
  if (question->elevation_m == NULL || question->elevation_count == 0 ||
      question->elevation_count > TA_STREET_PLACES_MAX || goal->point_count > 0 ||
      goal->has_boost == goal->has_map || !(goal->margin >= 0.0 && goal->margin <= 0.5) ||
      !(question->cap_step_m >= LEAST_CAP_STEP_M))
    return TA_ERR_ARGUMENT;
  if (goal->has_map ? car->car.control.holds != TA_HOLDS_ABSOLUTE : !(goal->boost_pa > 0.0))
    return TA_ERR_ARGUMENT;
  for (size_t i = 0; i < question->elevation_count; i++)
    if (!(question->elevation_m[i] >= TA_STREET_LOWEST_M &&
          question->elevation_m[i] <= TA_STREET_HIGHEST_M))
      return TA_ERR_DOMAIN;
  ta_air home;
  const ta_status status = ta_isa_at(ta_geopotential_m(question->elevation_m[0]), &home);
  if (status != TA_OK) return status;
  return goal->has_map && !(goal->map_pa > home.pressure_pa) ? TA_ERR_DOMAIN : TA_OK;
}

/* The car on one of the days, its target as the controller holds it. */
static ta_status prepare(const ta_event *car, const ta_goal *goal, ta_street_day day,
                         ta_street *street) {
  ta_event *event = &street->event[day];
  *event = *car;
  event->goal = *goal;
  event->course = (ta_course){street->home_and_top, 2};
  event->is_cut = false;
  event->day_is_isa = true;
  event->day = (ta_day_reading){.isa_offset_k = days[day].offset_k,
                                .isa_hydrostatic = days[day].hydrostatic,
                                .lapse_rate_k_m = STANDARD_LAPSE_K_M};
  if (goal->has_boost && car->car.control.holds == TA_HOLDS_ABSOLUTE) {
    ta_air home;
    const ta_status status =
        ta_isa_at(ta_geopotential_m(street->home_and_top[0].elevation_m), &home);
    if (status != TA_OK) return status;
    event->goal.has_boost = false;
    event->goal.has_map = true;
    event->goal.map_pa = goal->boost_pa + home.pressure_pa;
  }
  if (street->key_on_is_supposed) {
    event->car.control.has_barometer_read_at = true;
    event->car.control.barometer_read_at_m = street->low_m;
  }
  if (day == 0) return ta_prepare(event, &street->prepared[0]);
  return ta_prepare_again(&street->prepared[0], event, TA_TOUCHES_DAY, &street->prepared[day]);
}

/* Would the target as it is set pass the limit, were there no spring to give more? */
static ta_status target_passes(const ta_prepared *prepared, double elevation_m, bool *over) {
  ta_event event;
  const ta_prepared springless = ta_prepared_without_spring(prepared, &event);
  ta_operating_point worst;
  const ta_status status = ta_worst_in_window(&springless, elevation_m, HUGE_VAL, &worst);
  if (status == TA_OK) *over = worst.shaft_rpm > prepared->limit_rpm;
  return status;
}

/* A place on a day, for all that is not about its cap. */
static ta_status see(const ta_prepared *prepared, const ta_map_error *map_error, double elevation_m,
                     ta_street_point *point) {
  ta_status status = ta_worst_in_window(prepared, elevation_m, HUGE_VAL, &point->worst);
  if (status == TA_OK) status = ta_look_over_window(prepared, elevation_m, &point->look);
  if (status != TA_OK) return status;
  const bool over = point->worst.shaft_rpm > prepared->limit_rpm;
  point->map_error = ta_map_error_at(map_error, &point->worst);
  point->reason[TA_REASON_OVER] = over;
  point->reason[TA_REASON_MAP_SENSOR] =
      ta_sensor_is_blind(prepared, point->worst.ambient.pressure_pa);
  ta_point_reasons(&point->worst, prepared->limit_rpm, point->map_error,
                   point->look.surges_below_rpm, over, point->reason);
  point->verdict = ta_verdict_of(point->reason);
  return TA_OK;
}

static ta_status judge(const ta_prepared *prepared, const ta_map_error *map_error,
                       double elevation_m, ta_street_point *point) {
  ta_place_cap cap;
  ta_status status = see(prepared, map_error, elevation_m, point);
  if (status == TA_OK)
    status = ta_place_cap_find(prepared, ta_judged_speeds(&prepared->event->car),
                               &point->worst.ambient, &cap);
  if (status != TA_OK || cap.limited_by != TA_BY_MINIMUM_BOOST) return status;
  point->reason[TA_REASON_CANNOT_CAP] = true;
  status = target_passes(prepared, elevation_m, &point->reason[TA_REASON_OVER]);
  point->verdict = ta_verdict_of(point->reason);
  return status;
}

/* A key that is turned at the lowest place of the road is turned lower on a lower road. */
static ta_status is_within(const ta_street *street, ta_street_day day,
                           const ta_map_error *map_error, double elevation_m, bool *within) {
  ta_street_point point = {0};
  ta_prepared at = street->prepared[day];
  ta_status status = TA_OK;
  if (street->key_on_is_supposed && elevation_m < street->low_m) {
    ta_air air;
    status = ta_day_air(&at.day, elevation_m, &air);
    if (status == TA_OK) at.read_pa = air.pressure_pa;
  }
  if (status == TA_OK) status = see(&at, map_error, elevation_m, &point);
  if (status == TA_OK) *within = point.verdict == TA_CLEAR;
  return status;
}

/* Halve to a metre between an elevation that is within and one that is not, both whole. */
static ta_status find_edge(const ta_street *street, ta_street_day day,
                           const ta_map_error *map_error, double *within_m, double beyond_m) {
  ta_status status = TA_OK;
  while (status == TA_OK && fabs(beyond_m - *within_m) > 1.0) {
    const double middle_m = floor(0.5 * (*within_m + beyond_m));
    bool within = false;
    status = is_within(street, day, map_error, middle_m, &within);
    *(within ? within_m : &beyond_m) = middle_m;
  }
  return status;
}

/* The lowest stretch of elevations that is within. */
static ta_status find_reach(const ta_street *street, ta_street_day day,
                            const ta_map_error *map_error, ta_street_reach *reach) {
  const double from_m = street->searched_from_m, to_m = street->searched_to_m;
  double at_m = from_m, before_m = from_m;
  ta_status status = TA_OK;
  *reach = (ta_street_reach){.from_m = from_m, .elevation_m = from_m, .nowhere = true};
  for (;;) {
    bool within = false;
    status = is_within(street, day, map_error, at_m, &within);
    if (status != TA_OK) return status;
    if (within && reach->nowhere) {
      reach->nowhere = false;
      reach->from_m = at_m;
      status = find_edge(street, day, map_error, &reach->from_m, before_m);
      if (status != TA_OK) return status;
    }
    if (within) reach->elevation_m = at_m;
    if (!within && !reach->nowhere)
      return find_edge(street, day, map_error, &reach->elevation_m, at_m);
    if (at_m >= to_m) break;
    before_m = at_m;
    at_m = fmin(at_m + SEARCH_STEP_M, to_m);
  }
  reach->everywhere = !reach->nowhere && reach->from_m == from_m;
  return TA_OK;
}

/* The cap of one air that judges as within: with the map's own error, where its point lies, taken off
 * the limit. */
static ta_status find_sure_cap(const ta_prepared *prepared, const ta_map_error *map_error,
                               const ta_air *air, ta_place_cap *cap) {
  ta_prepared careful = *prepared;
  double error = map_error->inside;
  for (int i = 0; i < 2; i++) {
    careful.limit_rpm = prepared->limit_rpm / (1.0 + fmax(error, 0.0));
    const ta_status status =
        ta_place_cap_find(&careful, ta_judged_speeds(&prepared->event->car), air, cap);
    if (status != TA_OK) return status;
    error = ta_map_error_at(map_error, &cap->at);
  }
  return TA_OK;
}

/* Judge a cap at an elevation on all days, set as the target. */
static ta_status judge_cap(const ta_street *street, const ta_map_error *map_error,
                           double elevation_m, ta_street_cap *cap) {
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    ta_event event = street->event[day];
    ta_prepared set = street->prepared[day];
    ta_street_point point = {0};
    set.event = &event;
    event.goal.map_pa = cap->map_pa * (1.0 - LAST_DIGITS);
    event.goal.boost_pa = cap->boost_pa * (1.0 - LAST_DIGITS);
    const ta_status status = see(&set, map_error, elevation_m, &point);
    if (status != TA_OK) return status;
    if (point.verdict < cap->verdict) cap->verdict = point.verdict;
  }
  return TA_OK;
}

static ta_status find_cap(const ta_street *street, const ta_map_error *map_error,
                          double elevation_m, ta_street_cap *cap) {
  const ta_control *control = &street->event[0].car.control;
  double least = HUGE_VAL;
  *cap = (ta_street_cap){.elevation_m = elevation_m,
                         .boost_pa = HUGE_VAL,
                         .map_pa = HUGE_VAL,
                         .can_be_had = true,
                         .verdict = TA_CLEAR};
  for (int day = 0; day < TA_STREET_DAY_COUNT; day++) {
    const ta_prepared *prepared = &street->prepared[day];
    ta_air air;
    ta_place_cap place;
    ta_status status = ta_day_air(&prepared->day, elevation_m, &air);
    if (status == TA_OK) status = find_sure_cap(prepared, map_error, &air, &place);
    if (status != TA_OK) return status;
    const double map_pa = ta_set_point_map(prepared, place.set_point, air.pressure_pa),
                 above_pa =
                     control->holds == TA_HOLDS_GAUGE_KEY_ON ? prepared->read_pa : air.pressure_pa,
                 held = control->holds == TA_HOLDS_ABSOLUTE ? map_pa : map_pa - above_pa;
    cap->map_pa = fmin(cap->map_pa, map_pa);
    cap->boost_pa = fmin(cap->boost_pa, map_pa - above_pa);
    const bool tighter = place.can_be_had == cap->can_be_had ? held < least : !place.can_be_had;
    if (!tighter) continue;
    cap->can_be_had = place.can_be_had;
    least = held;
    cap->limited_by = place.limited_by;
    cap->day = (ta_street_day)day;
  }
  return cap->can_be_had ? judge_cap(street, map_error, elevation_m, cap) : TA_OK;
}

static bool is_less(const ta_street_cap *a, const ta_street_cap *b, bool absolute) {
  if (a->can_be_had != b->can_be_had) return b->can_be_had;
  return absolute ? a->map_pa < b->map_pa : a->boost_pa < b->boost_pa;
}

/* At the places and at the multiples of the step between them, rising. */
static ta_status find_caps(const ta_street_question *question, const ta_map_error *map_error,
                           ta_street *street) {
  double at_m[TA_STREET_CAPS_MAX];
  size_t count = 0;
  for (size_t i = 0; i < question->elevation_count; i++) at_m[count++] = question->elevation_m[i];
  const double step_m = question->cap_step_m;
  const double first = floor(street->low_m / step_m) + 1.0;
  for (int k = 0; step_m * (first + k) < street->high_m - SAME_PLACE_M; k++)
    at_m[count++] = step_m * (first + k);
  for (size_t i = 1; i < count; i++) /* in order */
    for (size_t k = i; k > 0 && at_m[k] < at_m[k - 1]; k--) {
      const double lower = at_m[k];
      at_m[k] = at_m[k - 1];
      at_m[k - 1] = lower;
    }
  const bool absolute = street->event[0].car.control.holds == TA_HOLDS_ABSOLUTE;
  for (size_t i = 0; i < count; i++) {
    if (i > 0 && at_m[i] - at_m[i - 1] < SAME_PLACE_M) continue;
    ta_street_cap *cap = &street->cap[street->cap_count++];
    const ta_status status = find_cap(street, map_error, at_m[i], cap);
    if (status != TA_OK) return status;
    if (street->cap_count == 1) street->one = *cap;
    const double boost_pa = fmin(street->one.boost_pa, cap->boost_pa),
                 map_pa = fmin(street->one.map_pa, cap->map_pa);
    if (is_less(cap, &street->one, absolute)) street->one = *cap;
    street->one.boost_pa = boost_pa;
    street->one.map_pa = map_pa;
  }
  ta_status status = TA_OK;
  for (size_t i = 0; status == TA_OK && street->one.can_be_had && i < street->cap_count; i++)
    status = judge_cap(street, map_error, street->cap[i].elevation_m, &street->one);
  return status;
}

static ta_status answer(const ta_event *car, const ta_street_question *question,
                        ta_street *street) {
  ta_map_error map_error;
  const double home_m = question->elevation_m[0];
  street->low_m = street->high_m = home_m;
  for (size_t i = 1; i < question->elevation_count; i++) {
    street->low_m = fmin(street->low_m, question->elevation_m[i]);
    street->high_m = fmax(street->high_m, question->elevation_m[i]);
  }
  street->home_and_top[0] = (ta_course_point){.elevation_m = home_m};
  street->home_and_top[1] = (ta_course_point){.distance_m = 1.0, .elevation_m = street->high_m};
  street->searched_from_m = ceil(fmin(street->low_m, 0.0));
  street->searched_to_m = floor(fmax(street->high_m, SEARCH_TOP_M));
  street->key_on_is_supposed =
      car->car.control.holds == TA_HOLDS_GAUGE_KEY_ON && !car->car.control.has_barometer_read_at;
  street->verdict = TA_CLEAR;
  ta_status status = ta_map_error_find(&car->car.turbo.compressor, &map_error);
  for (int day = 0; status == TA_OK && day < TA_STREET_DAY_COUNT; day++) {
    status = prepare(car, &question->goal, (ta_street_day)day, street);
    if (status == TA_OK)
      status = find_reach(street, (ta_street_day)day, &map_error, &street->reach[day]);
    for (size_t i = 0; status == TA_OK && i < question->elevation_count; i++) {
      ta_street_point *point = &street->place[i].day[day];
      street->place[i].elevation_m = question->elevation_m[i];
      status = judge(&street->prepared[day], &map_error, question->elevation_m[i], point);
      if (point->verdict < street->verdict) street->verdict = point->verdict;
    }
  }
  street->place_count = question->elevation_count;
  return status == TA_OK ? find_caps(question, &map_error, street) : status;
}

ta_status ta_street_make(const ta_event *car, const ta_street_question *question,
                         ta_street *street) {
  if (car == NULL || question == NULL || street == NULL) return TA_ERR_ARGUMENT;
  memset(street, 0, sizeof *street);
  ta_status status = check(car, question);
  if (status != TA_OK) return status;
  status = answer(car, question, street);
  if (status != TA_OK) ta_street_free(street);
  return status;
}

void ta_street_free(ta_street *street) {
  if (street == NULL) return;
  /* the later days borrow the first one's compressor map */
  for (int day = TA_STREET_DAY_COUNT; day-- > 0;) ta_prepared_free(&street->prepared[day]);
  memset(street, 0, sizeof *street);
}
