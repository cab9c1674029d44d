#!/bin/sh
# A measured roof space, learned and told: each month without itself, and half a year that no logger
# was read of, by an ordinary book.
#
#     sh tests/roof_space.sh STAVECAST SOURCE
#
# Source: TRH-1 database ("TRH-tietokanta"), house R3 at Espoo, Finland, measured data CC BY 4.0;
# outdoor weather of the Finnish Meteorological Institute, CC BY 4.0.  No part of the project: it is
# looked for in $STAVECAST_DATA/roof-space, else beside the project in ../shared/data.  Without it
# nothing is tested: that is said, and the exit code is 77.
#
# Allowed: 2.2 K an hour in the middle of the roof space and 2.6 K at its top, 1.0 K and 6 % of
# humidity in the mean of a month; filters of outdoor air and sun alone reach 2.5 and 3.0 K.
set -eu
stavecast=${1:?usage: roof_space.sh STAVECAST SOURCE}
source=${2:?usage: roof_space.sh STAVECAST SOURCE}
data=${STAVECAST_DATA:-$source/../shared/data}/roof-space
if [ ! -f "$data/fmi.csv" ]; then
    echo "roof space: not tested, no $data/fmi.csv"
    exit 77
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export XDG_CACHE_HOME="$scratch/cache"

# book LAST_DAY: one building of two tiers, the middle of the roof space and its top.
book() {
    rm -rf "$scratch/book"
    mkdir -p "$scratch/book/loggers" "$scratch/book/weather"
    cp "$data/fmi.csv" "$scratch/book/weather/"
    cp "$data/roofmiddle_airmiddle.csv" "$data/roofmiddle_airtop.csv" "$scratch/book/loggers/"
    cat >"$scratch/book/book.yaml" <<'YAML'
name: Roof space
site: {latitude: 60.2, longitude: 24.7, elevation: 20 m, clock: "UTC+02:00"}
weather: {file: weather/fmi.csv}
warehouses:
  - {name: Roof, kind: racked shed, tiers: 2, length: 12 m, width: 10 m, eaves_height: 1.5 m, tier_height: 0.4 m, casks_stored: 0}
YAML
    cat >"$scratch/book/weather/fmi.meta.yaml" <<'YAML'
source: Finnish Meteorological Institute
licence: CC BY 4.0
typical: false
step: hour
clock: "UTC+02:00"
stamp: end
time_column: t_UTC+2
columns:
  Te: {quantity: temperature, unit: C}
  RHe: {quantity: humidity, unit: "%"}
  Rglob: {quantity: global_sun, unit: W/m2}
  Rdif: {quantity: diffuse_sun, unit: W/m2}
  ws: {quantity: wind, unit: m/s}
position: {latitude: 60.2, longitude: 24.7, elevation: 20 m}
YAML
    printf 'file,warehouse,tier,unit,clock,to\nroofmiddle_airmiddle.csv,Roof,1,C,UTC+02:00,%s\nroofmiddle_airtop.csv,Roof,2,C,UTC+02:00,%s\n' \
        "$1" "$1" >"$scratch/book/loggers.csv"
}

# Ends with 1 for "done, and something wants a look": rows of the loggers are suspect.
run() { "$stavecast" "$@" 2>"$scratch/err" || [ $? -eq 1 ]; }

hours() { run climate "$scratch/book" -q --hourly "$1" >/dev/null; }

n_wrong=0
judge='function bad(what, value, most) {
        printf "%-46s %6.2f, allowed %.1f%s\n", what, value, most, value <= most ? "" : "  WRONG"
        n_bad += !(value <= most) }'

book -
# Right under a roof the lag behind outdoors changes with sun and snow: no clock was touched.
run check "$scratch/book" -q >"$scratch/findings"
if grep shifted "$scratch/findings"; then n_wrong=$((n_wrong + 1)); fi
run learn "$scratch/book" --csv -o "$scratch/skill.csv"
awk -F, "$judge"'
    NR == 1 { for (i = 1; i <= NF; i++) { gsub(/"/, "", $i); at[$i] = i }; next }
    { name = $at["tier"] == 1 ? "middle" : "top"
      bad(name " left out, K an hour", $at["misses_hour_k"], $at["tier"] == 1 ? 2.2 : 2.6)
      bad(name " left out, K a month", $at["misses_month_k"], 1.0)
      bad(name " left out, % humidity a month", 100 * $at["humidity_misses_month_frac"], 6.0) }
    END { exit (n_bad > 0 || NR != 3) }' "$scratch/skill.csv" || n_wrong=$((n_wrong + 1))
hours "$scratch/measured.csv"

book 2011-06-30
run learn "$scratch/book" -q >/dev/null
hours "$scratch/told.csv"
awk -F, "$judge"'
    NR == FNR { air[$1 $2] = $3; rh[$1 $2] = $4; next }
    FNR == 1 || $1 < "2011-07-01" { next }
    { off = $3 - air[$1 $2]; off_rh = 100 * ($4 - rh[$1 $2]); month = $2 " " substr($1, 6, 2)
      n[$2]++; square[$2] += off * off; in_month[month]++
      sum[month] += off; sum_rh[month] += off_rh }
    END { for (t = 1; t <= 2; t++) {
              name = t == 1 ? "middle" : "top"; n_months = air_2 = rh_2 = 0
              for (m in in_month) if (substr(m, 1, 1) == t && in_month[m] > 240) {
                  n_months++; air_2 += (sum[m] / in_month[m]) ^ 2; rh_2 += (sum_rh[m] / in_month[m]) ^ 2 }
              bad(name " July to December, K an hour", sqrt(square[t] / n[t]), t == 1 ? 2.2 : 2.6)
              bad(name " July to December, K a month", sqrt(air_2 / n_months), 1.0)
              bad(name " July to December, % humidity a month", sqrt(rh_2 / n_months), 6.0)
              n_bad += n_months != 6 }
          exit (n_bad > 0) }' "$scratch/measured.csv" "$scratch/told.csv" || n_wrong=$((n_wrong + 1))
[ "$n_wrong" -eq 0 ]
