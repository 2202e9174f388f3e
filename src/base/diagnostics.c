/* diagnostics.c - the list of errors and warnings about the user's input. */
#include "thinair/diagnostics.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void ta_diagnostics_clear(ta_diagnostics *list) {
  if (list != NULL) memset(list, 0, sizeof *list);
}

/* What a user's file holds must not steer a terminal. */
static void hide_control(char *text) {
  for (; *text != '\0'; text++) {
    const unsigned char c = (unsigned char)text[0], next = (unsigned char)text[1];
    if (c < 0x20 || c == 0x7f) text[0] = '?';
    if (c == 0xc2 && next >= 0x80 && next < 0xa0) text[0] = text[1] = '?'; /* C1 in UTF-8 */
  }
}

static __attribute__((format(printf, 5, 0))) ta_diagnostic *raise_item(
    ta_diagnostics *list, ta_severity severity, const char *key, const char *also_key,
    const char *format, va_list args) {
  if (list == NULL) return NULL;
  if (severity == TA_ERROR) list->errors++;
  if (list->count == TA_DIAGNOSTICS_MAX) {
    list->dropped++;
    return NULL;
  }
  ta_diagnostic *item = &list->item[list->count++];
  memset(item, 0, sizeof *item);
  item->severity = severity;
  (void)snprintf(item->key, sizeof item->key, "%s%s", list->scope, key);
  if (also_key[0] != '\0')
    (void)snprintf(item->also_key, sizeof item->also_key, "%s%s", list->scope, also_key);
  (void)vsnprintf(item->text, sizeof item->text, format, args);
  hide_control(item->text);
  return item;
}

ta_diagnostic *ta_raise(ta_diagnostics *list, ta_severity severity, const char *key,
                        const char *format, ...) {
  va_list args;
  va_start(args, format);
  ta_diagnostic *item = raise_item(list, severity, key, "", format, args);
  va_end(args);
  return item;
}

ta_diagnostic *ta_raise_relation(ta_diagnostics *list, const char *key, const char *also_key,
                                 const char *format, ...) {
  va_list args;
  va_start(args, format);
  ta_diagnostic *item = raise_item(list, TA_ERROR, key, also_key, format, args);
  va_end(args);
  return item;
}

/* True when one key is the other, or a group that holds it. */
static bool key_within(const char *inner, const char *outer) {
  const size_t n = strlen(outer);
  if (n == 0) return true;
  return strncmp(inner, outer, n) == 0 && (inner[n] == '\0' || inner[n] == '.' || inner[n] == '[');
}

bool ta_key_sound(const ta_diagnostics *list, const char *key) {
  if (list == NULL) return true;
  if (list->dropped > 0 && list->errors > 0) return false;
  for (size_t i = 0; i < list->count; i++) {
    const ta_diagnostic *item = &list->item[i];
    if (item->severity != TA_ERROR) continue;
    if (key_within(item->key, key) || key_within(key, item->key)) return false;
    if (item->also_key[0] != '\0' &&
        (key_within(item->also_key, key) || key_within(key, item->also_key)))
      return false;
  }
  return true;
}
