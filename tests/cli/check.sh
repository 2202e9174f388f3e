#!/bin/sh
# usage: check.sh STATUS OUTPUT_REGEX ERROR_REGEX COMMAND... - run a command; its exit status must be
# STATUS, its standard output and standard error must each hold a line that fits ("-": must be empty).
want=$1 out_regex=$2 err_regex=$3
shift 3
folder=$(mktemp -d) && trap 'rm -rf "$folder"' EXIT
"$@" >"$folder/out" 2>"$folder/err" </dev/null
got=$?
fits() { # FILE REGEX
  if [ "$2" = - ]; then [ ! -s "$1" ]; else grep -Eq -- "$2" "$1"; fi
}
bad=0
[ "$got" -eq "$want" ] || { echo "exit status $got, want $want"; bad=1; }
fits "$folder/out" "$out_regex" || { echo "standard output does not fit: $out_regex"; bad=1; }
fits "$folder/err" "$err_regex" || { echo "standard error does not fit: $err_regex"; bad=1; }
[ "$bad" -eq 0 ] || head -n 50 "$folder/out" "$folder/err"
exit "$bad"
