/* diagnostics.h - errors and warnings about the user's input, in a fixed list the caller owns.
 *
 * A diagnostic names the *key* it is about ("car.engine.redline", "course[3].elevation"); the code
 * that read the files knows where each key was written and fills in the place.  So a check deep in
 * the model is located too, and the model knows no files. */
#ifndef THINAIR_DIAGNOSTICS_H
#define THINAIR_DIAGNOSTICS_H

#include <stdbool.h>
#include <stddef.h>

enum {
  TA_DIAGNOSTICS_MAX = 64, /* kept; more are counted and dropped */
  TA_KEY_MAX = 128,
  TA_FILE_MAX = 512,
  TA_MESSAGE_MAX = 400
};

typedef enum { TA_ERROR, TA_WARNING } ta_severity;

/** Where something was written.  line and column count from 1; line 0: the file as a whole.
 *  An empty file name: not located (yet). */
typedef struct {
  char file[TA_FILE_MAX];
  int line, column;
} ta_place;

typedef struct {
  ta_severity severity;
  char key[TA_KEY_MAX];      /* what it is about; may be empty */
  char also_key[TA_KEY_MAX]; /* the other end of a relation; empty: none */
  ta_place place, also;
  char text[TA_MESSAGE_MAX]; /* what was found, and what is taken */
} ta_diagnostic;

typedef struct {
  size_t count;           /* items in use */
  size_t errors;          /* errors raised, dropped ones included */
  size_t dropped;         /* raised after the list was full */
  char scope[TA_KEY_MAX]; /* put before every key that is raised, such as "car.turbo.compressor." */
  ta_diagnostic item[TA_DIAGNOSTICS_MAX];
} ta_diagnostics;

/** Empty the list. */
void ta_diagnostics_clear(ta_diagnostics *list);

/**
 * Raise an error or a warning about a key.
 *
 * @param[in,out] list    The list; NULL is taken and ignored.
 * @param[in]     key     Key path, to which the list's scope is prefixed; "" for none.
 * @param[in]     format  printf format of the text.
 * @return The new item, so that the caller may add place or also_key; NULL when it was dropped.
 */
ta_diagnostic *ta_raise(ta_diagnostics *list, ta_severity severity, const char *key,
                        const char *format, ...) __attribute__((format(printf, 4, 5)));

/** As ta_raise(TA_ERROR, ...), for a relation between two keys (both get the scope). */
ta_diagnostic *ta_raise_relation(ta_diagnostics *list, const char *key, const char *also_key,
                                 const char *format, ...) __attribute__((format(printf, 4, 5)));

/** True when no error was raised about the key, about anything inside it, or about a group that
 *  holds it, at either end of a relation.  A check that needs the key asks this first, so that one
 *  slip gives one error.  False once something was dropped and there are errors: nothing can be
 * said then.  The scope is not applied. */
bool ta_key_sound(const ta_diagnostics *list, const char *key);

#endif
