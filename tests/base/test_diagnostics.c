/* test_diagnostics.c - the list of errors and warnings, and the statuses. */
#include "thinair/diagnostics.h"

#include <stdio.h>

#include "thinair/status.h"

#include "test.h"

static ta_diagnostics list;

static int start(void **state) {
  (void)state;
  memset(&list, 0x5a, sizeof list); /* what a caller's stack may hold */
  ta_diagnostics_clear(&list);
  return 0;
}

static void a_cleared_list_is_empty(void **state) {
  (void)state;
  assert_true(list.count == 0 && list.errors == 0 && list.dropped == 0);
  assert_string_equal(list.scope, "");
  assert_true(ta_key_sound(&list, "car.engine"));
  assert_non_null(ta_raise(&list, TA_ERROR, "car", "found %d", 3));
  (void)snprintf(list.scope, sizeof list.scope, "car.");
  ta_diagnostics_clear(&list);
  assert_true(list.count == 0 && list.errors == 0);
  assert_string_equal(list.scope, "");
}

static void an_item_holds_what_was_raised(void **state) {
  (void)state;
  ta_diagnostic *const error =
      ta_raise(&list, TA_ERROR, "car.engine.redline", "%s is a pressure, %d %%", "7600 psi", 41);
  assert_ptr_equal(error, &list.item[0]);
  assert_int_equal(error->severity, TA_ERROR);
  assert_string_equal(error->key, "car.engine.redline");
  assert_string_equal(error->also_key, "");
  assert_string_equal(error->text, "7600 psi is a pressure, 41 %");
  assert_string_equal(error->place.file, ""); /* not located yet */
  assert_true(error->place.line == 0 && error->place.column == 0);
  assert_string_equal(error->also.file, "");

  const ta_diagnostic *const warning = ta_raise(&list, TA_WARNING, "", "no wind is modelled");
  assert_ptr_equal(warning, &list.item[1]);
  assert_int_equal(warning->severity, TA_WARNING);
  assert_string_equal(warning->key, "");
  assert_true(list.count == 2 && list.errors == 1 && list.dropped == 0);
}

static void a_relation_has_two_keys(void **state) {
  (void)state;
  const ta_diagnostic *const item =
      ta_raise_relation(&list, "lines[2]", "lines[3]", "crosses at point %d", 2);
  assert_ptr_equal(item, &list.item[0]);
  assert_int_equal(item->severity, TA_ERROR);
  assert_string_equal(item->key, "lines[2]");
  assert_string_equal(item->also_key, "lines[3]");
  assert_string_equal(item->text, "crosses at point 2");
  assert_int_equal(list.errors, 1);
}

static void the_scope_stands_before_every_key(void **state) {
  (void)state;
  (void)snprintf(list.scope, sizeof list.scope, "car.turbo.compressor.");
  assert_string_equal(ta_raise(&list, TA_WARNING, "reference", "x")->key,
                      "car.turbo.compressor.reference");
  const ta_diagnostic *const item = ta_raise_relation(&list, "lines[0]", "lines[1]", "x");
  assert_string_equal(item->key, "car.turbo.compressor.lines[0]");
  assert_string_equal(item->also_key, "car.turbo.compressor.lines[1]");
  assert_string_equal(ta_raise_relation(&list, "lines[0]", "", "x")->also_key, "");
  assert_false(ta_key_sound(&list, "car.turbo.compressor.lines[0]"));
  assert_true(ta_key_sound(&list, "lines[0]")); /* soundness takes whole keys */
}

static void a_full_list_counts_and_drops(void **state) {
  (void)state;
  for (int i = 0; i < TA_DIAGNOSTICS_MAX; i++) {
    const ta_diagnostic *const item = ta_raise(&list, TA_WARNING, "day", "number %d", i);
    assert_ptr_equal(item, &list.item[i]);
  }
  ta_diagnostics other = list;
  assert_null(ta_raise(&other, TA_WARNING, "day", "one too many"));
  assert_true(other.count == TA_DIAGNOSTICS_MAX && other.dropped == 1 && other.errors == 0);
  assert_string_equal(other.item[TA_DIAGNOSTICS_MAX - 1].text, "number 63");
  assert_true(ta_key_sound(&other, "car")); /* a warning was dropped, no error */

  assert_null(ta_raise_relation(&list, "day", "car", "an error too many"));
  assert_true(list.count == TA_DIAGNOSTICS_MAX && list.dropped == 1 && list.errors == 1);
  assert_false(ta_key_sound(&list, "course")); /* nothing can be said any more */
}

static void long_words_are_cut_and_ended(void **state) {
  (void)state;
  char words[1000];
  memset(words, 'k', sizeof words);
  words[sizeof words - 1] = '\0';
  (void)snprintf(list.scope, sizeof list.scope, "car.");
  const ta_diagnostic *const item = ta_raise_relation(&list, words, words, "%s", words);
  assert_int_equal(strlen(item->key), TA_KEY_MAX - 1);
  assert_memory_equal(item->key, "car.kkk", 7);
  assert_int_equal(strlen(item->also_key), TA_KEY_MAX - 1);
  assert_int_equal(strlen(item->text), TA_MESSAGE_MAX - 1);
  assert_true(item->place.line == 0 && item->also.line == 0);
}

static void no_list_is_taken(void **state) {
  (void)state;
  ta_diagnostics_clear(NULL);
  assert_null(ta_raise(NULL, TA_ERROR, "car", "x"));
  assert_null(ta_raise_relation(NULL, "car", "day", "x"));
  assert_true(ta_key_sound(NULL, "car"));
}

static void a_key_is_sound_unless_an_error_touches_it(void **state) {
  (void)state;
  static const struct {
    const char *raised, *asked;
    bool sound;
  } rows[] = {
      {"car.engine", "car.engine", false},
      {"car.engine.redline", "car.engine", false}, /* inside it */
      {"car.engine.redline", "car", false},
      {"car", "car.engine.redline", false}, /* a group that holds it */
      {"course[3]", "course", false},
      {"course", "course[3].elevation", false},
      {"course[3].elevation", "course[3]", false},
      {"", "car.engine", false}, /* the whole */
      {"car.engine", "", false},
      {"car.engine", "car.engine_speed", true}, /* same beginning, another key */
      {"car.engine_speed", "car.engine", true},
      {"course[3]", "course[30]", true},
      {"course[30].elevation", "course[3]", true},
      {"car.engine", "car.intake", true},
      {"car.engine.redline", "car.engine.cycle", true},
      {"car.engine", "day", true},
  };
  for (size_t i = 0; i < COUNT_OF(rows); i++) {
    ta_diagnostics_clear(&list);
    (void)ta_raise(&list, TA_WARNING, rows[i].raised, "only doubtful");
    assert_true(ta_key_sound(&list, rows[i].asked));
    ta_diagnostics_clear(&list);
    (void)ta_raise(&list, TA_ERROR, rows[i].raised, "wrong");
    (void)ta_raise(&list, TA_WARNING, "sensor", "only doubtful");
    if (ta_key_sound(&list, rows[i].asked) != rows[i].sound)
      fail_msg("error at \"%s\", asked \"%s\"", rows[i].raised, rows[i].asked);
  }
}

static void every_status_has_its_name_and_own_words(void **state) {
  (void)state;
#define X(symbol, words)                                \
  assert_string_equal(ta_status_name(symbol), #symbol); \
  assert_string_equal(ta_status_text(symbol), words);
  TA_STATUS_ROWS(X)
#undef X
  assert_int_equal(TA_OK, 0);
  for (int i = 0; i < TA_STATUS_COUNT; i++)
    for (int j = 0; j < i; j++)
      assert_string_not_equal(ta_status_text((ta_status)i), ta_status_text((ta_status)j));
  assert_string_equal(ta_status_name(TA_STATUS_COUNT), "?");
  assert_string_equal(ta_status_name((ta_status)-1), "?");
  assert_string_equal(ta_status_text(TA_STATUS_COUNT), "unknown status");
  assert_string_equal(ta_status_text((ta_status)-1), "unknown status");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(a_cleared_list_is_empty, start),
      cmocka_unit_test_setup(an_item_holds_what_was_raised, start),
      cmocka_unit_test_setup(a_relation_has_two_keys, start),
      cmocka_unit_test_setup(the_scope_stands_before_every_key, start),
      cmocka_unit_test_setup(a_full_list_counts_and_drops, start),
      cmocka_unit_test_setup(long_words_are_cut_and_ended, start),
      cmocka_unit_test_setup(no_list_is_taken, start),
      cmocka_unit_test_setup(a_key_is_sound_unless_an_error_touches_it, start),
      cmocka_unit_test(every_status_has_its_name_and_own_words),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
