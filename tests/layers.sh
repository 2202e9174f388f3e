#!/bin/sh
# usage: layers.sh ARCHIVE BELOW... - every ta_ symbol that ARCHIVE needs stands in it or in one of the
# archives below it, and all that it shows to others begins with ta_.
archive=$1
folder=$(mktemp -d) && trap 'rm -rf "$folder"' EXIT
nm -u "$archive" | awk '$1 == "U" && $2 ~ /^ta_/ {print $2}' | sort -u >"$folder/needed"
nm --defined-only -g "$@" 2>/dev/null | awk 'NF == 3 {print $3}' | sort -u >"$folder/there"
up=$(comm -23 "$folder/needed" "$folder/there")
foreign=$(nm --defined-only -g "$archive" | awk 'NF == 3 {print $3}' | grep -Ev '^(ta_|__|_)' || true)
[ -z "$up" ] || echo "an arrow runs back up: $up"
[ -z "$foreign" ] || echo "not ours to define: $foreign"
[ -z "$up$foreign" ]
