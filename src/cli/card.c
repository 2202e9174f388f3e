/* card.c - thinair card. */
#include <stdio.h>
#include <string.h>

#include "planned.h"
#include "thinair/strategy.h"
#include "thinair/weather.h"

/* The strategy that the line names; TA_STRATEGY_COUNT: none.  @return false: there is no such. */
static bool read_strategy(const char *name, ta_strategy *strategy) {
  *strategy = TA_STRATEGY_COUNT;
  if (name == NULL) return true;
  for (int i = TA_FULL_TARGET + 1; i < TA_STRATEGY_COUNT; i++)
    if (strcmp(ta_strategy_name((ta_strategy)i), name) == 0) *strategy = (ta_strategy)i;
  return *strategy != TA_STRATEGY_COUNT;
}

static int print_card(const command_line *line, const ta_prepared *prepared, const ta_plan *plan,
                      ta_strategy strategy) {
  ta_buffer out = {0};
  ta_weather weather;
  char made[CLOCK_TEXT_MAX], why[1000];
  const ta_status status = ta_weather_find(prepared, &plan->caps.constant, &weather);
  if (status != TA_OK) {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
    return EXIT_FAILED;
  }
  const ta_style style = style_of(line, prepared->event);
  clock_text(made);
  if (strategy == TA_STRATEGY_COUNT) strategy = ta_card_strategy(plan);
  if (ta_report_card(prepared, plan, strategy, &weather, made[0] != '\0' ? made + CLOCK_TIME : NULL,
                     &style, &out, why, sizeof why))
    return print_report(&out);
  (void)fprintf(stderr, "thinair: no run card: %s\n", why);
  return EXIT_FAILED;
}

static int run(const command_line *line) {
  ta_strategy strategy;
  if (!read_strategy(line->strategy, &strategy)) {
    (void)fprintf(stderr,
                  "thinair: --strategy takes schedule, positions, constant, shift_speed or table, "
                  "found %s\ntry: thinair card --help\n",
                  line->strategy);
    return EXIT_USAGE;
  }
  planned *p = planned_open(line);
  const int code = p != NULL ? print_card(line, &p->prepared, &p->plan, strategy) : EXIT_FAILED;
  planned_close(p);
  return code;
}

const command command_card = {
    .name = "card",
    .operand = "EVENT",
    .about = "the run card: one page to take to the start line",
    .help =
        "What to set at every mark, what the shaft-speed gauge should read there, the alarm, what "
        "to\n"
        "check, and what warmer or lower-pressure weather takes off the cap. No card is printed "
        "of\n"
        "what cannot be run.",
    .example = "thinair card courses/tolvane-dome --strategy positions",
    .options = OPTION_UNITS | OPTION_SET | OPTION_GOAL | OPTION_DAY | OPTION_PART | OPTION_STRATEGY,
    .run = run};
