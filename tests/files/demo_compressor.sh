#!/bin/sh
# usage: demo_compressor.sh SOURCE_DIR - fail if the demo's compressor map is not what its script
# prints.  Skipped (77) where there is no Python.
command -v python3 >/dev/null || exit 77
printed=$(mktemp) || exit 1
trap 'rm -f "$printed"' EXIT
python3 "$1/scripts/make-compressor" >"$printed" || exit 1
diff -u "$1/courses/tolvane-dome/compressor.yaml" "$printed"
