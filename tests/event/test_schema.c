/* test_schema.c - the rows of the schema hold together. */
#include "thinair/schema.h"

#include <stdbool.h>
#include <stdio.h>

#include "../test.h"
#include "thinair/event.h"

enum { NAMES_MOST = 32 }; /* the reader keeps one flag for every name of a group */

static const ta_field *row;
static size_t count;

static int start(void **state) {
  (void)state;
  row = ta_schema(&count);
  return count > 0 ? 0 : -1;
}

/* The pattern of the list or table that holds a key, "" for the event itself. */
static size_t holder_length(const char *key) {
  const char *last = NULL;
  for (const char *c = key; (c = strstr(c, "[]")) != NULL; c += 2) last = c;
  return last != NULL ? (size_t)(last - key) : 0;
}

static void every_key_stands_once(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < i; k++) assert_string_not_equal(row[i].key, row[k].key);
}

static void every_row_says_what_it_is_about(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++) {
    assert_non_null(row[i].about);
    assert_true(strlen(row[i].about) > 3 && strchr(row[i].about, '\n') == NULL);
  }
}

static void bounds_are_in_order_and_hold_the_fallback(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++) {
    if (row[i].form != TA_FORM_QUANTITY && row[i].form != TA_FORM_RANGE &&
        row[i].form != TA_FORM_SERIES)
      continue;
    if (!(row[i].low < row[i].high)) fail_msg("%s", row[i].key);
    if (row[i].presence == TA_DEFAULT &&
        !(row[i].fallback >= row[i].low && row[i].fallback <= row[i].high))
      fail_msg("%s: the fallback is outside the bounds", row[i].key);
  }
}

/* What the program cannot do without is not unset silently: an optional number has a flag, unless a
 * whole list stands for it. */
static void an_optional_number_has_a_flag(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++)
    if (row[i].form == TA_FORM_QUANTITY && row[i].presence == TA_OPTIONAL &&
        row[i].has_offset == TA_NOWHERE)
      fail_msg("%s", row[i].key);
}

/* Members lie inside the struct that holds them, and no two keys share one. */
static void members_lie_apart_in_their_struct(void **state) {
  (void)state;
  static const size_t size_of[] = {
      [TA_FORM_QUANTITY] = sizeof(double), [TA_FORM_RANGE] = 2 * sizeof(double),
      [TA_FORM_TEXT] = sizeof(char *),     [TA_FORM_CHOICE] = sizeof(int),
      [TA_FORM_LIST] = sizeof(void *),     [TA_FORM_TABLE] = sizeof(void *),
      [TA_FORM_SERIES] = sizeof(void *)};
  for (size_t i = 0; i < count; i++) {
    if (row[i].form == TA_FORM_GROUP || row[i].form == TA_FORM_FILE ||
        row[i].form == TA_FORM_COLUMNS)
      continue;
    const size_t holder = holder_length(row[i].key), size = size_of[row[i].form];
    const ta_field *list = holder > 0 ? ta_schema_find(row[i].key, holder) : NULL;
    if (holder > 0) {
      assert_non_null(list);
      assert_true(list->form == TA_FORM_LIST || list->form == TA_FORM_TABLE);
    }
    const size_t room = list != NULL ? list->element_size : sizeof(ta_event);
    if (row[i].offset + size > room) fail_msg("%s lies outside its struct", row[i].key);
    if (row[i].has_offset != TA_NOWHERE) assert_true(row[i].has_offset < room);
    for (size_t k = 0; k < i; k++) {
      if (row[k].form == TA_FORM_GROUP || row[k].form == TA_FORM_FILE ||
          row[k].form == TA_FORM_COLUMNS || holder_length(row[k].key) != holder ||
          strncmp(row[k].key, row[i].key, holder) != 0)
        continue;
      if (row[i].offset < row[k].offset + size_of[row[k].form] &&
          row[k].offset < row[i].offset + size)
        fail_msg("%s and %s share a member", row[i].key, row[k].key);
    }
  }
}

/* A quantity of two kinds goes to one of two members, and a flag says to which. */
static void a_second_kind_has_a_member_of_its_own(void **state) {
  (void)state;
  size_t met = 0;
  for (size_t i = 0; i < count; i++) {
    if (row[i].other_kind == TA_NUMBER) continue;
    met++;
    assert_int_equal(row[i].form, TA_FORM_QUANTITY);
    assert_int_not_equal(row[i].other_kind, row[i].kind);
    assert_int_not_equal(row[i].other_offset, row[i].offset);
    const ta_field *holder = ta_schema_find(row[i].key, holder_length(row[i].key));
    assert_true(row[i].other_offset + sizeof(double) <= holder->element_size);
    assert_true(row[i].other_has_offset < holder->element_size);
  }
  assert_int_equal(met, 4); /* speed of a line; flow of lines, islands and surge line */
}

/* A table finds its columns in its own group or in a group around it. */
static void every_table_has_columns(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++) {
    if (row[i].form != TA_FORM_TABLE) continue;
    char group[128], key[160];
    bool found = false;
    (void)snprintf(group, sizeof group, "%s", row[i].key);
    while (!found && strrchr(group, '.') != NULL) {
      *strrchr(group, '.') = '\0';
      (void)snprintf(key, sizeof key, "%s.columns", group);
      const ta_field *columns = ta_schema_find(key, strlen(key));
      found = columns != NULL && columns->form == TA_FORM_COLUMNS;
    }
    if (!found) fail_msg("%s", row[i].key);
  }
}

static void keys_are_found_by_name_and_length(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++)
    assert_ptr_equal(ta_schema_find(row[i].key, strlen(row[i].key)), &row[i]);
  assert_null(ta_schema_find("goal", 4)); /* a group without a row of its own */
  assert_null(ta_schema_find("", 0));
  assert_null(ta_schema_find("goal.map.", 9));
  assert_null(ta_schema_find("goal.Map", 8));
  assert_ptr_equal(ta_schema_find("goal.mapping", 8), ta_schema_find("goal.map", 8));
}

static void groups_are_known(void **state) {
  (void)state;
  assert_true(ta_schema_is_group("goal", 4));
  assert_true(ta_schema_is_group("car.turbo.thin_air", 18)); /* a choice as well */
  assert_true(ta_schema_is_group("day.stations[]", 14));
  assert_false(ta_schema_is_group("goal.map", 8));
  assert_false(ta_schema_is_group("day.stations", 12)); /* a list */
  assert_false(ta_schema_is_group("go", 2));
  assert_false(ta_schema_is_group("", 0));
}

static void names_of_a_group(void **state) {
  (void)state;
  static const struct {
    const char *group, *names;
  } rows[] = {
      {"", "event, units, course, car, day, goal"},
      {"course", "smoothing, columns, rows"},
      {"course.rows[]", "distance, elevation, corner_radius, speed_limit, mark"},
      {"car", "car, engine, intake, charge_cooler, control, turbo, vehicle"},
      {"car.intake",
       "pressure_drop, at_flow, measured_at, temperature_rise, ram_recovery, restrictor"},
      {"car.intake.restrictor", "diameter, count, recovery"},
      {"car.control",
       "holds, overshoot, map_error, barometer_error, barometer_read_at, map_sensor, "
       "minimum_boost, unit, resolution, interpolation, pressure_axis, speed_axis, positions"},
      {"car.turbo", "count, imbalance, rated_speed, thin_air, sensor, compressor, turbine"},
      {"car.turbo.sensor", "blades, divider, thread_pitch, turns_back"},
      {"car.turbo.turbine",
       "inlet_temperature, efficiency, mechanical_efficiency, reference, flow_capacity, "
       "back_pressure, at_flow, measured_at, gamma, gas_constant"},
      {"car.turbo.turbine.efficiency", "columns, rows"},
      {"car.turbo.turbine.efficiency.rows[]", "expansion_ratio, efficiency"},
      {"car.turbo.turbine.flow_capacity", "columns, rows"},
      {"car.turbo.turbine.flow_capacity.rows[]", "expansion_ratio, flow"},
      {"car.vehicle",
       "mass, drag_area, downforce_area, rolling_resistance, tyre_radius, gears, final_drive, "
       "drivetrain_efficiency, shift_speed, shift_time, grip, driven_load_share"},
      {"car.vehicle.grip", "drive, corner, brake"},
      {"car.turbo.compressor.lines[]", "speed, rows"},
      {"car.turbo.compressor",
       "compressor, exducer_diameter, reference, columns, lines, islands, surge_line"},
      {"car.turbo.compressor.islands[]", "efficiency, columns, rows"},
      {"car.turbo.compressor.islands[].rows[]", "flow, pressure_ratio"},
      {"car.turbo.compressor.surge_line", "columns, rows"},
      {"day", "isa, metar, elevation, stations, lapse_rate"},
      {"day.isa", "offset, humidity, column"},
      {"goal", "boost, map, columns, rows, margin"},
      {"goal.map", ""},
      {"gaol", ""},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    char names[300];
    ta_schema_names(rows[i].group, names, sizeof names);
    assert_string_equal(names, rows[i].names);
  }
  char few[12];
  ta_schema_names("", few, sizeof few);
  assert_string_equal(few, "event"); /* what has no room is left out whole */
}

/* Every row is reached from the event by names, each name once. */
static void names_reach_every_row(void **state) {
  (void)state;
  for (size_t i = 0; i < count; i++) {
    for (size_t dot = 0; dot <= strlen(row[i].key); dot++) {
      if (row[i].key[dot] != '.' && row[i].key[dot] != '\0') continue;
      char group[128];
      (void)snprintf(group, sizeof group, "%.*s", (int)dot, row[i].key);
      char *name = strrchr(group, '.');
      if (name != NULL) *name++ = '\0';
      const char *wanted = name != NULL ? name : group, *holder = name != NULL ? group : "";
      size_t at = 0, length = 0, times = 0, names = 0;
      const char *got;
      while ((got = ta_schema_next_name(holder, &at, &length)) != NULL) {
        names++;
        times += length == strcspn(wanted, "[") && strncmp(got, wanted, length) == 0;
      }
      if (times != 1) fail_msg("%s: met %zu times in \"%s\"", row[i].key, times, holder);
      assert_true(names <= NAMES_MOST);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_key_stands_once),
      cmocka_unit_test(every_row_says_what_it_is_about),
      cmocka_unit_test(bounds_are_in_order_and_hold_the_fallback),
      cmocka_unit_test(an_optional_number_has_a_flag),
      cmocka_unit_test(members_lie_apart_in_their_struct),
      cmocka_unit_test(a_second_kind_has_a_member_of_its_own),
      cmocka_unit_test(every_table_has_columns),
      cmocka_unit_test(keys_are_found_by_name_and_length),
      cmocka_unit_test(groups_are_known),
      cmocka_unit_test(names_of_a_group),
      cmocka_unit_test(names_reach_every_row),
  };
  return cmocka_run_group_tests(tests, start, NULL);
}
