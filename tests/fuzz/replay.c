/* replay.c - runs a fuzz target once over each file named, without a fuzzer. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "fuzz.h"

static int replay(const char *path) {
  FILE *file = fopen(path, "rb");
  if (file == NULL) return 0;
  int good = 0;
  if (fseek(file, 0, SEEK_END) == 0) {
    const long size = ftell(file);
    uint8_t *bytes = size >= 0 ? malloc((size_t)size + 1) : NULL;
    rewind(file);
    if (bytes != NULL && fread(bytes, 1, (size_t)size, file) == (size_t)size) {
      (void)LLVMFuzzerTestOneInput(bytes, (size_t)size);
      good = 1;
    }
    free(bytes);
  }
  (void)fclose(file);
  return good;
}

int main(int argc, char **argv) {
  if (argc < 2) {
    (void)fprintf(stderr, "usage: %s FILE...\n", argv[0]);
    return EXIT_FAILURE;
  }
  for (int i = 1; i < argc; i++) {
    if (!replay(argv[i])) {
      (void)fprintf(stderr, "%s: it cannot be read\n", argv[i]);
      return EXIT_FAILURE;
    }
  }
  (void)printf("%d inputs replayed\n", argc - 1);
  return EXIT_SUCCESS;
}
