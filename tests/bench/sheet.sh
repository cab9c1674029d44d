#!/bin/sh
# Rate of `gauge --sheet` over a million rows, and that it needs no more memory than over a thousand.
#
#     sh tests/bench/sheet.sh STAVECAST
#
# Prints seconds and ratios of one run.  Ends with 1 only when a row is missing or 64 MiB of address
# space are not enough.
set -eu
stavecast=${1:?usage: sheet.sh STAVECAST}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

make_sheet() {
    awk -v n="$1" 'BEGIN {
        print "cask,reading [US proof],temp [F],gross [lb],tare [lb],by"
        for (i = 0; i < n; i++)
            printf "%d,%.1f,%d,%.1f,118,\"A, B\"\n", i, 105 + i % 250 / 10, 50 + i % 50, 440 + i % 300 / 10
    }'
}

now() { date +%s.%N; }

run() {
    start=$(now)
    (ulimit -v 65536 && "$stavecast" gauge --sheet "$work/in.csv" -o "$work/out.csv" -q) || [ $? -eq 1 ]
    end=$(now)
    rows=$(($(wc -l <"$work/out.csv") - 1))
    [ "$rows" -eq "$1" ] || { echo "sheet: $rows rows came back of $1"; exit 1; }
    awk -v a="$start" -v b="$end" -v n="$1" \
        'BEGIN { printf "  %8d rows in %6.2f s, %7.0f rows a second, within 64 MiB\n", n, b - a, n / (b - a) }'
}

echo "gauge --sheet"
for n in 1000 1000000; do
    make_sheet "$n" >"$work/in.csv"
    run "$n"
done
