#!/bin/sh
# The numbers beside the charts are those of the answers, on the demo book: cycles and degree-days
# of `climate --json`, warmest hours of `climate --hourly`; racks, ridges, casks, windows, vapour,
# gauges and sites of the whole report against the answers with the same trials, seasons' losses and
# paths against the report's own (charts_equal.c).
#
#     sh tests/charts_match.sh SOURCE STAVECAST JSON_GET CHARTS_EQUAL
set -eu
export LC_ALL=C
source=${1:?usage: charts_match.sh SOURCE STAVECAST JSON_GET CHARTS_EQUAL}
stavecast=${2:?usage: charts_match.sh SOURCE STAVECAST JSON_GET CHARTS_EQUAL}
json_get=${3:?usage: charts_match.sh SOURCE STAVECAST JSON_GET CHARTS_EQUAL}
charts_equal=${4:?usage: charts_match.sh SOURCE STAVECAST JSON_GET CHARTS_EQUAL}
book=$source/examples/quill-basin
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
code=0

# 1 means that something asks for attention; the answer is whole.
run() {
    "$stavecast" "$@" -q 2>"$work/log" || [ "$?" -eq 1 ] || {
        cat "$work/log"
        exit 1
    }
}
run climate "$book" --json --hourly "$work/hours.csv" >"$work/climate.json"
for answer in forecast bottling vapour; do
    run "$answer" "$book" --draws 16 --json >"$work/$answer.json"
done
run sites "$book/sites.yaml" --draws 16 --json >"$work/sites.json"
run report "$book" --draws 16 --out "$work" --json >"$work/report.json"
"$charts_equal" "$work" >"$work/said" 2>&1 || {
    cat "$work/said"
    code=1
}
get() { "$json_get" "$work/climate.json" "$1"; }

# same WHAT A B: nine digits alike
same() {
    awk -v what="$1" -v a="$2" -v b="$3" 'BEGIN {
        if (a == "" || b == "" || (a - b) ^ 2 > (1e-8 * b) ^ 2) {
            print what ": the chart has " a ", the answer " b
            exit 1
        }
    }' || code=1
}

for season in warm cold; do
    sum=$(awk -F, -v season="\"$season\"" '$3 == season { n += $6 } END { print n + 0 }' \
        OFMT=%.12g CONVFMT=%.12g "$work/charts/cycles-1.csv")
    same "cycles, $season season" "$sum" "$(get "positions[2].seasons.$season.cycles")"
done

# last LINE: what the line of the chart ends at
last() {
    awk -F, -v line="\"$1\"" '$3 == line { end = $6 } END { print end }' "$work/charts/degree-days-1.csv"
}
n=$(get 'warehouses[0].by_year.years' | cut -d' ' -f2)
[ "$n" -ge 2 ] || { echo "the demo has $n years"; code=1; }
y=0
while [ "$y" -lt "$n" ]; do
    at="warehouses[0].by_year.years[$y]"
    same "degree-days, year $y" "$(last "$(get "$at.year")")" "$(get "$at.degree_days_k_d")"
    y=$((y + 1))
done
same "degree-days, p10" "$(last p10)" "$(get 'warehouses[0].by_year.degree_days_p10_k_d')"
same "degree-days, middle" "$(last middle)" "$(get 'warehouses[0].by_year.degree_days_p50_k_d')"
same "degree-days, p90" "$(last p90)" "$(get 'warehouses[0].by_year.degree_days_p90_k_d')"

# The record begins at a local midnight and has no hole: a day is 24 hours of tier 3.
awk -F, '
    FNR == 1 { next }
    NR == FNR {
        if ($2 != 3)
            next
        high = n % 24 == 0 || $5 + 0 > high ? $5 + 0 : high
        if (++n % 24 == 0)
            want[++days] = high
        next
    }
    (want[++rows] - $4) ^ 2 > 1e-12 { print $3 ": the chart has " $4 ", the hours " want[rows]; bad++ }
    END {
        if (rows < 365 || rows != days || n % 24 != 0)
            print "calendar: " rows " days in the chart, " days " in the hours"
        exit bad > 0 || rows < 365 || rows != days || n % 24 != 0
    }' "$work/hours.csv" "$work/charts/calendar-1.csv" || code=1
[ "$code" -ne 0 ] || echo "charts: the numbers of $n years as in the answers"
exit "$code"
