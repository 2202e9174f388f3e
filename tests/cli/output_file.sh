#!/bin/sh
# usage: output_file.sh THINAIR EVENT - a sweep's file is what its standard output would be, replaces no
# other unless forced and nothing but a plain file, and is not there when there was no answer.
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
# only a plain file is ever replaced: a pipe stays a pipe, a link and what it points to stay as they are
mkfifo "$folder/pipe" && ln -s want "$folder/link" && ln -s gone "$folder/loose" && cp "$folder/want" "$folder/was"
for name in pipe link loose; do
  before=$(stat -c '%F %i' "$folder/$name")
  for force in "" --force; do
    sweep --vary "$vary" -o "$folder/$name" $force && fail "$name: written to $force"
    grep -q "no plain file" "$folder/err" || fail "$name: not told why $force: $(cat "$folder/err")"
  done
  after=$(stat -c '%F %i' "$folder/$name")
  [ "$after" = "$before" ] || fail "$name: was $before, is $after"
done
cmp -s "$folder/want" "$folder/was" || fail "what the link points to was changed"
left=$(find "$folder" -type f ! -name err ! -name want ! -name out.csv ! -name was)
[ -z "$left" ] || fail "left behind: $left"
exit "$bad"
