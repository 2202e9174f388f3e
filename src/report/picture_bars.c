/* picture_bars.c - what moves the answer, and what each way to run it costs, as bars.
 *
 * Pinned by tests/report/test_pictures.c.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "picture_parts.h"
#include "plan_words.h"

enum { LEVERS_WIDE = 10, LEVERS_NARROW = 6, QUANTITIES = 3 };
static const double BAR_MOST_PX = 26.0;
static const double ROW_MOST_EM = 6.0;
static const double NUMBER_EM = 5.4; /* kept free for the number beside a bar */

static void write_number(ta_sheet *sheet, double x, double middle, bool is_left,
                         const char *number) {
  const ta_lettering text = {{x, middle}, is_left ? TA_END : TA_START, .role = TA_ROLE_TEXT};
  ta_svg_text(&sheet->svg, &text, number);
}

static void draw_zero(ta_sheet *sheet, double x, double top, double bottom) {
  const ta_xy line[2] = {{x, top}, {x, bottom}};
  ta_svg_line(&sheet->svg, NULL, TA_ROLE_TEXT, line, 2);
}

/* ---- levers ----------------------------------------------------------------------------------- */

/* One thing that a lever moves; a bar to the right helps. */
typedef struct {
  const char *title, *narrow_title;
  ta_show show;
  double sign; /* of a change that helps */
} quantity;

static const quantity quantities[QUANTITIES] = {
    {"run time: right is quicker", "time", TA_SHOW_TIME, -1.0},
    {"power at the cap: right is more", "power", TA_SHOW_POWER, 1.0},
    {"shaft speed at the target: right is slower", "shaft", TA_SHOW_SHARE, -1.0},
};

static double moved(const ta_lever *lever, size_t which) {
  return which == 0   ? lever->time_change_s
         : which == 1 ? lever->power_change_w
                      : lever->shaft_share;
}

/* One column of bars: where nought stands, and how far a bar may go. */
typedef struct {
  size_t which;
  double left, right, zero, per_unit;
} lever_column;

/* Numbers stand on the other side of nought, so that bars have all the room. */
static lever_column column_of(const ta_sheet *sheet, const ta_lever *const *shown, size_t count,
                              size_t which, double left, double right) {
  const double number = NUMBER_EM * sheet->svg.text_px;
  double helps = 1e-9, hurts = 1e-9;
  for (size_t i = 0; i < count; i++) {
    const double to_right = quantities[which].sign * moved(shown[i], which);
    if (isfinite(to_right)) helps = fmax(helps, to_right);
    if (isfinite(to_right)) hurts = fmax(hurts, -to_right);
  }
  const double zero =
      fmin(fmax(left + (right - left) * hurts / (helps + hurts), left + number), right - number);
  return (lever_column){which, left, right, zero,
                        fmin((zero - left) / hurts, (right - zero) / helps)};
}

static void draw_lever_bar(ta_sheet *sheet, const lever_column *c, const ta_lever *lever,
                           double middle, double thick) {
  char text[TA_SHOWN_MAX] = "-";
  const quantity *q = &quantities[c->which];
  const double value = moved(lever, c->which), gap = 0.5 * sheet->svg.text_px,
               to_right = isfinite(value) ? q->sign * value : 0.0,
               end = c->zero + c->per_unit * to_right;
  const bool helps = to_right > 0.0;
  if (isfinite(value)) (void)ta_say_change(q->show, sheet->units, value, text);
  if (fabs(end - c->zero) > 0.05)
    ta_svg_rect(&sheet->svg, helps ? TA_ROLE_SHAFT_UNDER_CAP : TA_ROLE_OVER_LIMIT,
                helps ? TA_SOLID : TA_HATCH,
                (ta_rect){fmin(c->zero, end), middle - 0.5 * thick, fmax(c->zero, end),
                          middle + 0.5 * thick});
  draw_zero(sheet, c->zero, middle - 0.75 * thick, middle + 0.75 * thick);
  write_number(sheet, helps ? c->zero - gap : c->zero + gap, middle, helps, text);
}

/* How many there are besides, and how many of those come before the leak, which is always drawn. */
static void say_rest(const ta_levers *levers, const ta_lever *const *shown, size_t count,
                     char text[TA_SENTENCE_MAX]) {
  const size_t before = (size_t)(shown[count - 1] - levers->lever) + 1 - count;
  const int used = snprintf(text, TA_SENTENCE_MAX, "and %zu more", levers->count - count);
  if (before > 0)
    (void)snprintf(text + used, TA_SENTENCE_MAX - (size_t)used,
                   ", %zu of which move%s it more than the leak", before, before == 1 ? "s" : "");
}

static void say_levers(const ta_sheet *sheet, bool has_time, char headline[TA_SENTENCE_MAX],
                       char description[TA_SENTENCE_MAX]) {
  const ta_levers *levers = &sheet->plan->levers;
  const ta_lever *first = &levers->lever[0];
  char what[TA_SENTENCE_MAX], by[TA_SHOWN_MAX], power[TA_SHOWN_MAX], place[TA_SENTENCE_MAX];
  (void)ta_say_lever(first, sheet->units, what);
  (void)ta_say_change(has_time ? TA_SHOW_TIME : TA_SHOW_POWER, sheet->units,
                      has_time ? first->time_change_s : first->power_change_w, by);
  (void)ta_say_change(TA_SHOW_POWER, sheet->units, first->power_change_w, power);
  (void)snprintf(headline, TA_SENTENCE_MAX, "Moves it most: %s, %s", what, by);
  (void)ta_say_place(&sheet->prepared->event->course, sheet->units, levers->distance_m,
                     levers->elevation_m, place);
  (void)snprintf(description, TA_SENTENCE_MAX,
                 "What moves the answer, the largest first: %s moves the shaft speed at the target "
                 "by %+.1f %% and the power at the cap by %s%s%s, at %s.",
                 what, 100.0 * first->shaft_share, power, has_time ? ", the run time by " : "",
                 has_time ? by : "", place);
}

bool ta_picture_levers_draw(const ta_prepared *prepared, const ta_plan *plan,
                            const ta_picture_frame *frame, ta_buffer *out) {
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  const ta_lever *shown[LEVERS_WIDE];
  lever_column column[QUANTITIES];
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX], text[TA_SENTENCE_MAX];
  if (plan->levers.count == 0) return false;
  const bool has_time = isfinite(plan->levers.lever[0].time_change_s);
  say_levers(&sheet, has_time, headline, description);
  ta_sheet_open_plan(&sheet, TA_PICTURE_LEVERS, prepared, plan, frame, headline, description, out);
  const size_t count =
      ta_levers_first(&plan->levers, sheet.is_narrow ? LEVERS_NARROW : LEVERS_WIDE, shown);
  const double em = sheet.svg.text_px, right = frame->width - 8.0,
               left = sheet.is_narrow ? 8.0 : 0.27 * frame->width;
  const double gap = sheet.is_narrow ? 12.0 : 40.0; /* between columns */
  const size_t first = has_time ? 0 : 1;
  const double each = (right - left) / (double)(QUANTITIES - first);
  ta_sheet_key(&sheet,
               (const ta_key_entry[]){{TA_ROLE_SHAFT_UNDER_CAP, true, TA_SOLID, "helps"},
                                      {TA_ROLE_OVER_LIMIT, true, TA_HATCH, "hurts"}},
               2);
  for (size_t k = first; k < QUANTITIES; k++) {
    column[k] = column_of(&sheet, shown, count, k, left + each * (double)(k - first),
                          left + each * (double)(k - first + 1) - gap);
    const ta_lettering title = {{0.5 * (column[k].left + column[k].right), sheet.top + 0.8 * em},
                                TA_MIDDLE,
                                .role = TA_ROLE_MUTED};
    ta_svg_text(&sheet.svg, &title,
                sheet.is_narrow ? quantities[k].narrow_title : quantities[k].title);
  }
  sheet.top += 1.8 * em;
  if (count < plan->levers.count) {
    say_rest(&plan->levers, shown, count, text);
    const ta_lettering rest = {{8.0, sheet.bottom - 0.7 * em}, .role = TA_ROLE_MUTED};
    ta_svg_part(&sheet.svg, "rest");
    ta_svg_text(&sheet.svg, &rest, text);
    ta_svg_part_end(&sheet.svg);
    sheet.bottom -= 1.5 * em;
  }
  const double row = (sheet.bottom - sheet.top) / (double)count;
  for (size_t i = 0; i < count; i++) {
    const double top = sheet.top + row * (double)i,
                 middle = sheet.is_narrow ? top + 0.72 * row : top + 0.5 * row,
                 thick = fmin((sheet.is_narrow ? 0.36 : 0.6) * row, BAR_MOST_PX);
    (void)ta_say_lever(shown[i], sheet.units, text);
    const ta_lettering words = {
        {8.0, sheet.is_narrow ? top + 0.28 * row : middle}, .role = TA_ROLE_TEXT, .halo = true};
    ta_svg_part(&sheet.svg, shown[i]->name);
    ta_svg_text(&sheet.svg, &words, text);
    for (size_t k = first; k < QUANTITIES; k++)
      draw_lever_bar(&sheet, &column[k], shown[i], middle, thick);
    ta_svg_part_end(&sheet.svg);
  }
  ta_svg_close(&sheet.svg);
  return true;
}

/* ---- time ------------------------------------------------------------------------------------- */

static size_t strategies_shown(const ta_plan *plan, ta_strategy shown[TA_STRATEGY_COUNT],
                               double *most_s) {
  size_t count = 0;
  *most_s = 0.0;
  for (int i = 0; i < TA_STRATEGY_COUNT; i++) {
    if (!isfinite(plan->runs.time_s[i])) continue;
    shown[count++] = (ta_strategy)i;
    *most_s = fmax(*most_s, plan->runs.time_s[i] - plan->runs.time_s[TA_FULL_TARGET]);
  }
  return count;
}

static bool is_forbidden(const ta_plan *plan, ta_strategy strategy) {
  return strategy == TA_FULL_TARGET && plan->over.count > 0;
}

static void say_time(const ta_sheet *sheet, size_t count, char headline[TA_SENTENCE_MAX],
                     char description[TA_SENTENCE_MAX]) {
  const ta_timed_runs *runs = &sheet->plan->runs;
  const double target_s = runs->time_s[TA_FULL_TARGET];
  char time[TA_SHOWN_MAX], best[TA_SHOWN_MAX];
  (void)ta_say_time(target_s, time);
  if (!runs->has_best) {
    (void)snprintf(headline, TA_SENTENCE_MAX, "%s takes %s",
                   is_forbidden(sheet->plan, TA_FULL_TARGET) ? "The full target, forbidden,"
                   : sheet->plan->verdict == TA_CLEAR        ? "No cap is needed: the full target"
                                                             : "The full target",
                   time);
    (void)snprintf(description, TA_SENTENCE_MAX, "Run time: the full target takes %s.", time);
    return;
  }
  const double cost_s = runs->time_s[runs->best] - target_s;
  (void)snprintf(headline, TA_SENTENCE_MAX, "Best within the limit: %s, %+.1f s",
                 ta_strategy_words(runs->best), cost_s);
  (void)snprintf(description, TA_SENTENCE_MAX,
                 "Run time of %zu ways to run the course: the full target takes %s, the best "
                 "within the limit, %s, %s, %+.1f s.",
                 count, time, ta_strategy_words(runs->best),
                 ta_say_time(runs->time_s[runs->best], best), cost_s);
}

bool ta_picture_time_draw(const ta_prepared *prepared, const ta_plan *plan,
                          const ta_picture_frame *frame, ta_buffer *out) {
  ta_sheet sheet = {.prepared = prepared, .plan = plan, .units = frame->units};
  const ta_timed_runs *runs = &plan->runs;
  ta_strategy shown[TA_STRATEGY_COUNT];
  char headline[TA_SENTENCE_MAX], description[TA_SENTENCE_MAX], text[TA_SENTENCE_MAX],
      time[TA_SHOWN_MAX];
  double most_s;
  if (runs->known != TA_TIME_KNOWN) return false;
  const size_t count = strategies_shown(plan, shown, &most_s);
  say_time(&sheet, count, headline, description);
  ta_sheet_open_plan(&sheet, TA_PICTURE_TIME, prepared, plan, frame, headline, description, out);
  const double em = sheet.svg.text_px, zero = sheet.is_narrow ? 10.0 : 0.3 * frame->width,
               right = frame->width - (sheet.is_narrow ? 11.0 : 13.0) * em,
               row = fmin((sheet.bottom - sheet.top) / (double)count, ROW_MOST_EM * em);
  if (count > 1) draw_zero(&sheet, zero, sheet.top, sheet.top + row * (double)count);
  for (size_t i = 0; i < count; i++) {
    const ta_strategy strategy = shown[i];
    const bool is_best = runs->has_best && strategy == runs->best;
    const double cost_s = runs->time_s[strategy] - runs->time_s[TA_FULL_TARGET],
                 top = sheet.top + row * (double)i,
                 middle = sheet.is_narrow ? top + 0.68 * row : top + 0.5 * row,
                 end = zero + (most_s > 0.0 ? (right - zero) * fmax(cost_s, 0.0) / most_s : 0.0);
    (void)snprintf(text, sizeof text, "%s%s", ta_strategy_words(strategy),
                   is_best                        ? " (best)"
                   : is_forbidden(plan, strategy) ? " (forbidden)"
                                                  : "");
    const ta_lettering words = {{sheet.is_narrow ? zero + 0.5 * em : zero - 0.8 * em,
                                 sheet.is_narrow ? top + 0.28 * row : middle},
                                sheet.is_narrow ? TA_START : TA_END,
                                .role = TA_ROLE_TEXT,
                                .bold = is_best,
                                .halo = true};
    ta_svg_part(&sheet.svg, ta_strategy_name(strategy));
    ta_svg_text(&sheet.svg, &words, text);
    const double thick = fmin(0.42 * row, BAR_MOST_PX);
    if (end - zero > 0.05)
      ta_svg_rect(&sheet.svg, is_best ? TA_ROLE_SHAFT_UNDER_CAP : TA_ROLE_GROUND, TA_SOLID,
                  (ta_rect){zero, middle - 0.5 * thick, end, middle + 0.5 * thick});
    (void)snprintf(text, sizeof text, "%+.1f s", cost_s);
    if (strategy != TA_FULL_TARGET) write_number(&sheet, end + 0.5 * em, middle, false, text);
    write_number(&sheet, frame->width - 8.0, middle, true,
                 ta_say_time(runs->time_s[strategy], time));
    ta_svg_part_end(&sheet.svg);
  }
  ta_svg_close(&sheet.svg);
  return true;
}
