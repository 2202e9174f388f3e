/* output_file.h - a file that is there whole or not at all. */
#ifndef THINAIR_CLI_OUTPUT_FILE_H
#define THINAIR_CLI_OUTPUT_FILE_H

#include <stdbool.h>
#include <stdio.h>

#include "thinair/buffer.h"
#include "thinair/diagnostics.h"

typedef struct {
  const char *path;
  char temporary[TA_FILE_MAX + 32]; /* in the same folder; takes the name at the end */
  FILE *file;
  bool force;
} output_file;

/** Begin a file; a file of that name is refused unless forced, anything else (device, pipe, link,
 *  folder) always.  What is wrong is printed. */
bool output_file_open(const char *path, bool force, output_file *output);

/** Write the text and give the file its name; what is wrong is printed, and nothing is left then. */
bool output_file_finish(output_file *output, const ta_buffer *text);

/** Leave nothing.  Fine after output_file_finish, too. */
void output_file_discard(output_file *output);

#endif
