/* plan_tables.h - the tables of a plan, whoever writes them: places, ways to run, the controller's
 * table, what moves it.
 *
 * A table points into the struct that holds it: it is not to be copied. */
#ifndef THINAIR_REPORT_PLAN_TABLES_H
#define THINAIR_REPORT_PLAN_TABLES_H

#include "sentences.h"
#include "table.h"
#include "thinair/plan.h"

enum {
  TA_PLACE_COLUMNS = 8,
  TA_PLACES_MAX = 3,
  TA_WAY_COLUMNS = 7,
  TA_LEVER_COLUMNS = 6,
  TA_LEVERS_SHOWN = 5,
  TA_CONTROLLER_COLUMNS = TA_AXIS_MAX + 4
};

typedef char ta_words[TA_SENTENCE_MAX / 4];

/** Start, first crossing, worst place. */
typedef struct {
  const char *place, *sure;
  double elevation_m, ambient_pa, temperature_k, shaft_rpm, of_rated, power_w;
  char words[TA_SENTENCE_MAX];
} ta_place_row;

typedef struct {
  ta_place_row row[TA_PLACES_MAX];
  ta_table table;
} ta_places_table;

void ta_places_table_make(const ta_prepared *prepared, const ta_plan *plan,
                          ta_places_table *places);

/** The ways to run that are offered, and what each costs. */
typedef struct {
  ta_strategy strategy;
  const char *what, *map, *boost, *power, *time, *cost, *remark;
  ta_words words[6];
} ta_way_row;

typedef struct {
  ta_way_row row[TA_STRATEGY_COUNT];
  char heading[3][TA_SHOWN_MAX];
  ta_column column[TA_WAY_COLUMNS];
  ta_table table;
} ta_ways_table;

void ta_ways_table_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                        ta_ways_table *ways);

/** What goes into the controller: ambient, elevation, a set-point for each engine speed, the one for
 *  any engine speed, what 10 K warmer does to that. */
typedef struct {
  const char *cell[TA_CONTROLLER_COLUMNS];
  char words[TA_CONTROLLER_COLUMNS][TA_SHOWN_MAX];
} ta_controller_row;

typedef struct {
  char about[2 * TA_SENTENCE_MAX]; /* how it is to be read */
  ta_controller_row row[TA_AXIS_MAX];
  char heading[TA_CONTROLLER_COLUMNS][TA_SHOWN_MAX];
  ta_column column[TA_CONTROLLER_COLUMNS];
  size_t speed_count; /* columns of engine speeds */
  char
      rest[TA_SHOWN_MAX]; /* how many breakpoints there are, where some were left out; else empty */
  ta_table table;
} ta_controller_shown;

/** @param[in] at_most  Breakpoints of either axis; both ends are always among them.
 *  @return false where there is none to offer. */
bool ta_controller_shown_make(const ta_prepared *prepared, const ta_plan *plan,
                              ta_unit_system units, size_t at_most, ta_controller_shown *shown);

/** The levers that move most. */
typedef struct {
  const char *step, *speed, *cap, *power, *time, *remark;
  char words[TA_SENTENCE_MAX], shown[4][TA_SHOWN_MAX];
} ta_lever_row;

typedef struct {
  char heading[2 * TA_SENTENCE_MAX];
  ta_lever_row row[TA_LEVERS_SHOWN];
  ta_column column[TA_LEVER_COLUMNS];
  ta_table table;
} ta_levers_table;

void ta_levers_table_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                          ta_levers_table *table);

#endif
