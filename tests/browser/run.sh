#!/bin/sh
# usage: run.sh THINAIR COURSES - the page of thinair report in a browser.  Skipped (77) where there
# is no chromium or no node.
set -eu
command -v chromium >/dev/null && command -v node >/dev/null || exit 77
here=$(cd "$(dirname "$0")" && pwd)
[ -d "$here/node_modules/playwright-core" ] || (cd "$here" && npm ci --loglevel=error --no-audit --no-fund)
exec node --test-reporter=spec "$here/report.mjs" "$1" "$2"
