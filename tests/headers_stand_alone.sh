#!/bin/sh
# usage: headers_stand_alone.sh INCLUDE_DIR - every public header compiles alone.
bad=0
for header in "$1"/thinair/*.h; do
  printf '#include "thinair/%s"\n' "${header##*/}" |
    cc -std=c11 -Wall -Wextra -Wpedantic -Werror -I"$1" -fsyntax-only -x c - || bad=1
done
exit "$bad"
