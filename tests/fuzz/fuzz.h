/* fuzz.h - what every fuzz target includes. */
#ifndef THINAIR_FUZZ_H
#define THINAIR_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/** Called with every input.  @return 0. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

/* The property that is fuzzed; unlike assert it names itself in every build. */
#define HOLDS(property)                                                                   \
  do {                                                                                    \
    if (!(property)) {                                                                    \
      (void)fprintf(stderr, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #property); \
      abort();                                                                            \
    }                                                                                     \
  } while (0)

#endif
