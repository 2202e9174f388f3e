/* output_file.c - a file written under a temporary name and renamed at the end.
 *
 * Decision  Only a plain file is ever replaced: renaming over a device, a pipe or a link would put a
 *           file in its place.
 */
#define _POSIX_C_SOURCE 200809L
#include "output_file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command.h"

static bool complain(const char *path, const char *what) {
  (void)fprintf(stderr, "thinair: %s: %s\n", path, what);
  return false;
}

static bool is_free(const output_file *output) {
  struct stat there;
  if (lstat(output->path, &there) != 0)
    return true; /* what else is wrong shows when it is opened */
  if (!S_ISREG(there.st_mode)) return complain(output->path, "this is no plain file: left alone");
  return output->force || complain(output->path, "this file is there already; --force replaces it");
}

bool output_file_open(const char *path, bool force, output_file *output) {
  *output = (output_file){.path = path, .force = force};
  if (strlen(path) >= TA_FILE_MAX) return complain(path, "the name is too long");
  if (!is_free(output)) return false;
  (void)snprintf(output->temporary, sizeof output->temporary, "%s.%ld.part", path, (long)getpid());
  const int descriptor = open(output->temporary, O_WRONLY | O_CREAT | O_EXCL, 0666);
  if (descriptor < 0) return complain(path, strerror(errno));
  output->file = fdopen(descriptor, "w");
  if (output->file != NULL) return true;
  const bool opened = complain(path, strerror(errno));
  (void)close(descriptor);
  (void)unlink(output->temporary);
  return opened;
}

bool output_file_finish(output_file *output, const ta_buffer *text) {
  FILE *file = output->file;
  bool good = fwrite(text->text, 1, text->length, file) == text->length && fflush(file) == 0 &&
              fsync(fileno(file)) == 0;
  good = fclose(file) == 0 && good;
  output->file = NULL;
  if (!good) (void)complain(output->path, strerror(errno));
  if (good && is_free(output)) {
    good = rename(output->temporary, output->path) == 0;
    if (good) return true;
    (void)complain(output->path, strerror(errno));
  }
  (void)unlink(output->temporary);
  return false;
}

void output_file_discard(output_file *output) {
  if (output->file == NULL) return;
  (void)fclose(output->file);
  (void)unlink(output->temporary);
  output->file = NULL;
}

bool write_output(const char *path, bool force, ta_buffer *out) {
  bool good = !out->failed;
  if (!good) (void)fprintf(stderr, "thinair: %s\n", ta_status_text(TA_ERR_MEMORY));
  if (good && strcmp(path, "-") == 0) return print_report(out) == EXIT_DONE;
  output_file file;
  good = good && output_file_open(path, force, &file) && output_file_finish(&file, out);
  ta_buffer_free(out);
  return good;
}
