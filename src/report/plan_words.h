/* plan_words.h - what a plan says in sentences, whoever prints them. */
#ifndef THINAIR_REPORT_PLAN_WORDS_H
#define THINAIR_REPORT_PLAN_WORDS_H

#include "sentences.h"
#include "thinair/plan.h"

typedef char ta_paragraph[3 * TA_SENTENCE_MAX];

/** The answer: the verdict, and what to do about it. */
typedef struct {
  const char *verdict; /* "OVER THE LIMIT" that the text goes on from; NULL: a line of its own */
  bool is_item;        /* of a list */
  ta_paragraph text;
} ta_answer_line;

typedef struct {
  ta_answer_line line[4 + TA_REASON_COUNT];
  size_t count;
} ta_answer;

void ta_answer_make(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                    ta_answer *answer);

/** A reason that the answer does not speak of.  @return false: it does, or the reason does not hold. */
bool ta_say_untold(const ta_prepared *prepared, const ta_plan *plan, ta_reason reason,
                   ta_unit_system units, char text[TA_SENTENCE_MAX]);

/** "140,160 rpm = rated 146,000 less 4 %" */
const char *ta_say_limit(const ta_prepared *prepared, ta_unit_system units, ta_paragraph text);
/** "judged from 4,500 to 7,200 rpm (worst 7,200), overshoot of 5.0 kPa on" */
const char *ta_say_judged(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                          ta_paragraph text);

/* What does not hold for a plan has no sentence: NULL then. */

/** "16.4 km (2,732 m, ...) to 18.1 km (...)" */
const char *ta_say_stretch(const ta_prepared *prepared, const ta_stretch *stretch,
                           ta_unit_system units, ta_paragraph text);
/** What the shaft does at the engine speeds that the car really has. */
const char *ta_say_run(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                       ta_paragraph text);
const char *ta_say_redline(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                           ta_paragraph text);
/** How fast, how much of rated, where, and how sure that is. */
const char *ta_say_worst(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                         ta_paragraph text);
/** The air at the start and at the top, and what it was made of. */
const char *ta_say_day(const ta_prepared *prepared, ta_unit_system units, ta_paragraph text);
/** Where the positions of the knob begin. */
const char *ta_say_positions(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                             ta_paragraph text);
/** What the controller holds, what is typed into one that reads its barometer once, and why no time
 *  is known. */
const char *ta_say_holds(const ta_prepared *prepared, const ta_plan *plan, ta_unit_system units,
                         ta_paragraph text);
/** Where even the lowest speed of the boost window passes the limit at the target. */
const char *ta_say_no_shift(const ta_plan *plan);
const char *ta_say_drive(const ta_plan *plan, ta_unit_system units, ta_paragraph text);
/** What the model adds for thin air, how far off the compressor map is, whose word the rated speed
 *  is. */
const char *ta_say_model(const ta_plan *plan, ta_paragraph text);
const char *ta_say_imbalance(const ta_prepared *prepared, ta_paragraph text);
const char *ta_say_not_checked(const ta_prepared *prepared, const ta_plan *plan, ta_paragraph text);

/** "+5.1 kW"; the sign stands, a nought has none. */
const char *ta_say_change(ta_show show, ta_unit_system units, double change,
                          char text[TA_SHOWN_MAX]);
/** "intake drop 2.0 > 4.0 kPa" */
const char *ta_say_lever(const ta_lever *lever, ta_unit_system units, char text[TA_SENTENCE_MAX]);

/** The first few levers; a leak is always among them, for nothing on the dash shows it.
 *  @return How many. */
size_t ta_levers_first(const ta_levers *levers, size_t at_most, const ta_lever **first);

#endif
