/* buffer.c - text that grows. */
#include "thinair/buffer.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void ta_buffer_add(ta_buffer *buffer, const char *format, ...) {
  if (buffer->failed) return;
  va_list args, again;
  va_start(args, format);
  va_copy(again, args);
  /* most of the time it fits: printed once */
  const size_t left = buffer->room - buffer->length;
  const int needed = vsnprintf(left > 0 ? buffer->text + buffer->length : NULL, left, format, args);
  if (needed >= 0 && (size_t)needed >= left) {
    const size_t wanted = buffer->length + (size_t)needed + 1, room = 2 * wanted + 4096;
    char *more = realloc(buffer->text, room);
    buffer->failed = more == NULL;
    if (more != NULL) {
      buffer->text = more;
      buffer->room = room;
      (void)vsnprintf(more + buffer->length, (size_t)needed + 1, format, again);
    } else if (left > 0) {
      buffer->text[buffer->length] = '\0';
    }
  }
  if (needed >= 0 && !buffer->failed) buffer->length += (size_t)needed;
  va_end(again);
  va_end(args);
}

void ta_buffer_free(ta_buffer *buffer) {
  free(buffer->text);
  memset(buffer, 0, sizeof *buffer);
}
