#!/bin/sh
# usage: output_file.sh THINAIR EVENT - a sweep's file is what its standard output would be, replaces no
# other unless forced, and is not there when there was no answer.
thinair=$1 event=$2
folder=$(mktemp -d) && trap 'rm -rf "$folder"' EXIT
bad=0
fail() { echo "$1"; bad=1; }
sweep() { "$thinair" sweep "$event" --csv "$@" 2>"$folder/err"; }
vary="car.intake.pressure_drop=1:6 kPa:3" out="$folder/out.csv"
sweep --vary "$vary" >"$folder/want"
sweep --vary "$vary" -o "$out" || fail "exit status $?"
cmp "$out" "$folder/want" || fail "the file is not what standard output is"
sweep --vary "goal.margin=1:6%:3" --output "$out" && fail "it was replaced unasked"
grep -q "force replaces it" "$folder/err" || fail "not told why"
cmp -s "$out" "$folder/want" || fail "it was changed"
sweep --vary "goal.margin=1:6%:3" -o "$out" --force || fail "exit status $? with --force"
head -n 1 "$out" | grep -q "^goal.margin (%)" || fail "it was not replaced"
sweep --vary "car.engine.redline=1:2 rpm:3" -o "$folder/none.csv" && fail "no answer is an error"
sweep --vary "$vary" -o "$folder/nowhere/out.csv" && fail "there is no such folder"
left=$(find "$folder" -type f ! -name err ! -name want ! -name out.csv)
[ -z "$left" ] || fail "left behind: $left"
exit "$bad"
