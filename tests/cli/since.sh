#!/bin/sh
# usage: since.sh THINAIR COURSES - what plan --json writes, plan --since takes; and what it does not.
thinair=$1 demo=$2/tolvane-dome other=$2/red-lantern-canyon
check=$(dirname "$0")/check.sh
folder=$(mktemp -d) && trap 'rm -rf "$folder"' EXIT
bad=0
expect() { "$check" "$@" || bad=1; }

"$thinair" plan "$demo" --json >"$folder/then.json" || exit 1
expect 0 "^one cap for the whole run +193.0 kPa +190.1 kPa" - "$thinair" plan "$demo" \
  --since "$folder/then.json" --set "day.stations[0].temperature=26 degC"
expect 0 "^What changed since .*then.json .thinair" - "$thinair" plan "$demo" \
  --since "$folder/then.json" --now "26 degC"
expect 0 "^What changed with the new reading" - "$thinair" plan "$demo" \
  --since "$folder/then.json" --now "26 degC"
expect 0 "^verdict +over +clear$" - "$thinair" plan "$demo" --since "$folder/then.json" \
  --map "120 kPa" --fail-if-over
expect 0 '^    "cap_map_kPa": 193' - "$thinair" plan "$demo" --since "$folder/then.json" --json
expect 0 '^  "since": null' - "$thinair" plan "$demo" --json

expect 1 - ":3:12: event: found a plan of .Tolvane Dome" "$thinair" plan "$other" \
  --since "$folder/then.json"
head -c 2000 "$folder/then.json" >"$folder/cut.json"
expect 1 - "cut.json:[0-9]+:[0-9]+: " "$thinair" plan "$demo" --since "$folder/cut.json"
expect 1 - "event.yaml:1:1: found no plan" "$thinair" plan "$demo" --since "$demo/event.yaml"
expect 1 - "nowhere.json: there is no such file" "$thinair" plan "$demo" \
  --since "$folder/nowhere.json"
exit "$bad"
