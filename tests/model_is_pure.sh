#!/bin/sh
# usage: model_is_pure.sh ARCHIVE... - fail if the core can do I/O, exit or read the environment.
# The _chk spellings are what fortified builds emit.
bad=$(nm -u "$@" | awk '{print $NF}' | sort -u | grep -E \
 '^(__)?(f?open(64)?|f?read|f?write|v?f?printf|f?puts|f?putc|putchar|exit|abort|getenv|setlocale|time)(_chk)?$')
[ -z "$bad" ] || { echo "the core refers to: $bad" >&2; exit 1; }
