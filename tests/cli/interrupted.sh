#!/bin/sh
# usage: interrupted.sh THINAIR EVENT - a sweep that is interrupted while it works leaves no file and
# exits with 130.
thinair=$1 event=$2
folder=$(mktemp -d) && trap 'rm -rf "$folder"' EXIT
"$thinair" sweep "$event" --vary "car.intake.pressure_drop=1:6 kPa:300" \
  --vary "goal.map=160:240 kPa:300" -o "$folder/out.csv" --csv 2>"$folder/err" &
sweep=$!
tries=0
while ! ls "$folder"/out.csv.*.part >/dev/null 2>&1; do # it is written under another name
  tries=$((tries + 1))
  [ "$tries" -lt 500 ] || { echo "no file was begun"; kill -KILL "$sweep"; exit 1; }
  sleep 0.02
done
sleep 0.2 # past the files, in the cells
kill -INT "$sweep"
wait "$sweep"
status=$?
bad=0
[ "$status" -eq 130 ] || { echo "exit status $status, want 130"; bad=1; }
left=$(find "$folder" -type f ! -name err)
[ -z "$left" ] || { echo "left behind: $left"; bad=1; }
[ ! -s "$folder/err" ] || { cat "$folder/err"; bad=1; }
exit "$bad"
