#!/bin/sh
# usage: demo_events.sh SOURCE_DIR - the files of the invented events are what their scripts print.
cd "$1" || exit 1
command -v python3 >/dev/null || exit 77
bad=0
same() { # FILE COMMAND...
  file=$1
  shift
  "$@" | diff -q - "$file" >/dev/null || { echo "$file is not what $* prints"; bad=1; }
}
for event in tolvane-dome red-lantern-canyon brackwater; do
  same courses/$event/compressor.yaml scripts/make-compressor $event
done
same courses/red-lantern-canyon/course.gpx scripts/make-canyon
exit "$bad"
