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
# Names as long as a book takes, with and without blanks, in every table.  The study of sites asks for
# the weather samples where they lie in the source.
named="$work/source/examples/named"
mkdir -p "$work/source/examples"
cp -r "$1/weather-samples" "$work/source"
cp -r "$1/examples/quill-basin" "$named"
bare=AVeryLongCaskNameWithoutAnyBlankThatNobodyPaints-2019-0012
blanks="Sherry butt of the old bonded store number 47 spring filling"
sed -i -E "s/^12,/$bare,/; s/^47,/$blanks,/" "$named/casks.csv"
sed -i -E "s/^([0-9-]+,[a-z ]+),12,/\\1,$bare,/; s/^([0-9-]+,[a-z ]+),47,/\\1,$blanks,/" "$named/history.csv"
sed -i -E "s/^([0-9-]+),12,/\\1,$bare,/; s/^([0-9-]+),47,/\\1,$blanks,/" "$named/gauges.csv"
code=0
"$2" report "$named" --out "$work/long" --draws 4 >"$work/out" 2>"$work/err" || code=$?
[ "$code" -le 1 ] || { cat "$work/err"; echo "report of long names ended with $code"; exit 1; }
for name in "$bare" "$blanks"; do
    grep -qF ">$name</th>" "$work/long/index.html" || { echo "no row of $name"; exit 1; }
done
sh "$1/tests/browser/report_check.sh" "$work/long/index.html"
