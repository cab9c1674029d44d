#!/bin/sh
# Writes the demo's report, and that without forecasts, and looks at them in headless Chromium; also
# proves that the look would have seen a broken page.
#
#     run.sh SOURCE_DIR STAVECAST
set -eu
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
code=0
"$2" report "$1/examples/quill-basin" --out "$work/report" --draws 16 >"$work/out" 2>"$work/err" ||
    code=$?
# 1 is "done, and something wants a look": the demo's loggers carry planted faults.
[ "$code" -le 1 ] || { cat "$work/err"; echo "report ended with $code"; exit 1; }
sh "$1/tests/browser/report_check.sh" --prove "$work/report/index.html"
code=0
"$2" report "$1/examples/quill-basin" --out "$work/paper" --without-forecasts >"$work/out" \
    2>"$work/err" || code=$?
[ "$code" -le 1 ] || { cat "$work/err"; echo "report without forecasts ended with $code"; exit 1; }
sh "$1/tests/browser/report_check.sh" "$work/paper/index.html"
