/* sweep_axis.c - the values of one key of a sweep, as people type them. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "thinair/access.h"
#include "thinair/sweep.h"

static const char BLANKS[] = " \t";

/* An item of a list, blanks at its ends off. */
static bool take_item(const char **at, char end, char item[TA_SWEEP_VALUE_MAX]) {
  const char ends[] = {end, '\0'};
  size_t length = strcspn(*at, ends);
  const char *from = *at;
  *at += length + ((*at)[length] != '\0');
  while (length > 0 && strchr(BLANKS, from[0]) != NULL) {
    from++;
    length--;
  }
  while (length > 0 && strchr(BLANKS, from[length - 1]) != NULL) length--;
  (void)snprintf(item, TA_SWEEP_VALUE_MAX, "%.*s", (int)length, from);
  return length > 0 && length < TA_SWEEP_VALUE_MAX;
}

static size_t count_items(const char *text, char end) {
  size_t count = 1;
  for (; *text != '\0'; text++) count += *text == end;
  return count;
}

static bool is_choice(const char *choices, const char *word) {
  const size_t n = strlen(word);
  for (const char *c = choices; c != NULL && *c != '\0';) {
    const size_t length = strcspn(c, "|");
    if (length == n && strncmp(c, word, n) == 0) return true;
    c += length + (c[length] == '|');
  }
  return false;
}

/* A number, which takes the unit of the last one where it has none. */
static ta_status parse_number(const ta_sweep_axis *axis, const char *item, const char *last,
                              double *si, char *why, size_t why_size) {
  char whole[2 * TA_SWEEP_VALUE_MAX];
  const char *rest = NULL, *unit = NULL;
  double number;
  const bool bare = ta_number_parse(item, &number, &rest) == TA_OK && *rest == '\0' &&
                    ta_number_parse(last, &number, &unit) == TA_OK;
  (void)snprintf(whole, sizeof whole, "%s%s", item, bare && item != last ? unit : "");
  return ta_quantity_parse(whole, axis->field->kind, si, why, why_size) == TA_OK ? TA_OK
                                                                                 : TA_ERR_ARGUMENT;
}

/* A:B:N */
static ta_status parse_range(const char *text, ta_sweep_axis *axis, char *why, size_t why_size) {
  char low[TA_SWEEP_VALUE_MAX], high[TA_SWEEP_VALUE_MAX], number[TA_SWEEP_VALUE_MAX];
  const char *rest = NULL;
  double a, b, count = 0.0;
  if (count_items(text, ':') != 3 || !take_item(&text, ':', low) || !take_item(&text, ':', high) ||
      !take_item(&text, ':', number)) {
    (void)snprintf(why, why_size, "A:B:N is taken, such as \"1 kPa:6 kPa:11\"");
    return TA_ERR_ARGUMENT;
  }
  if (ta_number_parse(number, &count, &rest) != TA_OK || *rest != '\0' ||
      !(count >= 2.0 && count <= TA_SWEEP_CELLS_MAX) || count != (double)(size_t)count) {
    (void)snprintf(why, why_size, "\"%.40s\" is no number of values; taken: 2 to %d", number,
                   TA_SWEEP_CELLS_MAX);
    return TA_ERR_ARGUMENT;
  }
  if (parse_number(axis, high, high, &b, why, why_size) != TA_OK ||
      parse_number(axis, low, high, &a, why, why_size) != TA_OK)
    return TA_ERR_ARGUMENT;
  if (a == b) {
    (void)snprintf(why, why_size, "both ends are the same");
    return TA_ERR_ARGUMENT;
  }
  axis->unit = ta_field_unit(axis->field, high);
  axis->count = (size_t)count;
  axis->si = malloc(axis->count * sizeof *axis->si);
  if (axis->si == NULL) return TA_ERR_MEMORY;
  for (size_t i = 0; i < axis->count; i++) {
    const double share = (double)i / (count - 1.0);
    axis->si[i] = (1.0 - share) * a + share * b;
  }
  return TA_OK;
}

static ta_status parse_word(const ta_field *field, const char *item, char *why, size_t why_size) {
  if (field->form != TA_FORM_CHOICE || is_choice(field->choices, item)) return TA_OK;
  (void)snprintf(why, why_size, "found \"%.40s\"; taken: %s", item, field->choices);
  return TA_ERR_ARGUMENT;
}

/* Words as they are; numbers, should one of them be a word that unsets the key, too. */
static ta_status parse_list(const char *text, bool numbers, ta_sweep_axis *axis, char *why,
                            size_t why_size) {
  char item[TA_SWEEP_VALUE_MAX], last[TA_SWEEP_VALUE_MAX] = "";
  const char *at = text;
  axis->count = count_items(text, ',');
  for (size_t i = 0; i < axis->count; i++) {
    if (!take_item(&at, ',', last)) {
      (void)snprintf(why, why_size, "value %zu is empty or too long", i + 1);
      return TA_ERR_ARGUMENT;
    }
    numbers = numbers && !is_choice(axis->field->choices, last);
  }
  if (axis->count < 2) {
    (void)snprintf(why, why_size,
                   "one value is nothing to compare: two or more are taken, A:B:N "
                   "or A,B,...; --set sets one");
    return TA_ERR_ARGUMENT;
  }
  if (numbers) {
    axis->unit = ta_field_unit(axis->field, last);
    axis->si = malloc(axis->count * sizeof *axis->si);
  } else {
    axis->word = calloc(axis->count, sizeof *axis->word);
  }
  if (axis->si == NULL && axis->word == NULL) return TA_ERR_MEMORY;
  at = text;
  for (size_t i = 0; i < axis->count; i++) {
    (void)take_item(&at, ',', item);
    const ta_status status = numbers ? parse_number(axis, item, i + 1 < axis->count ? last : item,
                                                    &axis->si[i], why, why_size)
                                     : parse_word(axis->field, item, why, why_size);
    if (status != TA_OK) return status;
    if (numbers) continue;
    axis->word[i] = malloc(strlen(item) + 1);
    if (axis->word[i] == NULL) return TA_ERR_MEMORY;
    memcpy(axis->word[i], item, strlen(item) + 1);
  }
  return TA_OK;
}

/* The row of a key whose values are words. */
static const ta_field *word_field(const char *key) {
  char pattern[TA_KEY_MAX];
  ta_schema_pattern(key, pattern);
  const ta_field *field = ta_schema_find(pattern, strlen(pattern));
  return field != NULL && (field->form == TA_FORM_CHOICE || field->form == TA_FORM_FILE ||
                           field->form == TA_FORM_TEXT)
             ? field
             : NULL;
}

ta_status ta_sweep_axis_parse(const char *text, ta_sweep_axis *axis, char *why, size_t why_size) {
  if (text == NULL || axis == NULL || why == NULL) return TA_ERR_ARGUMENT;
  memset(axis, 0, sizeof *axis);
  const char *equals = strchr(text, '=');
  if (equals == NULL || equals == text || equals - text >= TA_KEY_MAX) {
    (void)snprintf(why, why_size, "KEY=A:B:N or KEY=A,B,... is taken");
    return TA_ERR_ARGUMENT;
  }
  (void)snprintf(axis->key, sizeof axis->key, "%.*s", (int)(equals - text), text);
  const ta_field *words = word_field(axis->key);
  axis->field = words != NULL ? words : ta_number_field(axis->key, why, why_size);
  const bool range = words == NULL && strchr(equals + 1, ':') != NULL;
  ta_status status = TA_ERR_ARGUMENT;
  if (axis->field != NULL)
    status = range ? parse_range(equals + 1, axis, why, why_size)
                   : parse_list(equals + 1, words == NULL, axis, why, why_size);
  if (status != TA_OK) ta_sweep_axis_free(axis);
  return status;
}

void ta_sweep_axis_free(ta_sweep_axis *axis) {
  if (axis == NULL) return;
  for (size_t i = 0; axis->word != NULL && i < axis->count; i++) free(axis->word[i]);
  free(axis->word);
  free(axis->si);
  memset(axis, 0, sizeof *axis);
}

const char *ta_sweep_value_text(const ta_sweep_axis *axis, size_t value, int digits,
                                char text[TA_SWEEP_VALUE_MAX]) {
  if (axis->word != NULL) {
    (void)snprintf(text, TA_SWEEP_VALUE_MAX, "%s", axis->word[value]);
    return text;
  }
  const bool bare = strcmp(axis->unit->name, "1") == 0;
  (void)snprintf(text, TA_SWEEP_VALUE_MAX, "%.*g%s%s", digits,
                 ta_from_si(axis->unit, axis->si[value]), bare ? "" : " ",
                 bare ? "" : axis->unit->name);
  return text;
}
