/* buffer.h - text that grows. */
#ifndef THINAIR_BUFFER_H
#define THINAIR_BUFFER_H

#include <stdbool.h>
#include <stddef.h>

/** Start with {0}; give back with ta_buffer_free.  After a failed allocation it stays as it was and
 *  `failed` is set. */
typedef struct {
  char *text; /* terminated; NULL while empty */
  size_t length, room;
  bool failed;
} ta_buffer;

void ta_buffer_add(ta_buffer *buffer, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void ta_buffer_free(ta_buffer *buffer);

#endif
