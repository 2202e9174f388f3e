/* buffer.c - text that grows. */
#include "thinair/buffer.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void ta_buffer_add(ta_buffer *buffer, const char *format, ...) {
  va_list args, again;
  va_start(args, format);
  va_copy(again, args);
  const int needed = vsnprintf(NULL, 0, format, args);
  if (needed >= 0 && !buffer->failed) {
    const size_t wanted = buffer->length + (size_t)needed + 1;
    if (wanted > buffer->room) {
      const size_t room = wanted < 4096 ? 4096 : 2 * wanted;
      char *more = realloc(buffer->text, room);
      if (more != NULL) {
        buffer->text = more;
        buffer->room = room;
      }
    }
    buffer->failed = wanted > buffer->room;
    if (!buffer->failed) {
      (void)vsnprintf(buffer->text + buffer->length, (size_t)needed + 1, format, again);
      buffer->length += (size_t)needed;
    }
  }
  va_end(again);
  va_end(args);
}

void ta_buffer_free(ta_buffer *buffer) {
  free(buffer->text);
  memset(buffer, 0, sizeof *buffer);
}
