#!/bin/sh
# The published free-float cases 600FF and 900FF, written as ordinary books (tests/books), run with
# `climate --hourly`.
#
#     sh tests/free_float.sh STAVECAST SOURCE [WEATHER.epw]
#
# WEATHER is 725650TYCST.epw, Denver, which the standard's cases run on; it is not part of the project.
# Left out, it is looked for in $STAVECAST_DATA/buildings, else beside the project in ../shared/data.
# Without it nothing is tested: that is said, and the exit code is 77.
#
# Source: ANSI/ASHRAE 140-2023, example results of six programs: yearly maximum, minimum and mean of
# the hour means, and the hours of 1 February as the mean of five of them (all but BSIMAC).
set -eu
stavecast=${1:?usage: free_float.sh STAVECAST SOURCE [WEATHER.epw]}
source=${2:?usage: free_float.sh STAVECAST SOURCE [WEATHER.epw]}
weather=${3:-}
name=725650TYCST.epw
folder=${STAVECAST_DATA:-$source/../shared/data}/buildings
if [ -z "$weather" ] && [ -f "$folder/$name" ]; then weather=$folder/$name; fi
if [ -z "$weather" ]; then
    echo "free float: not tested, no $folder/$name"
    exit 77
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export XDG_CACHE_HOME="$scratch/cache"
n_wrong=0

# case book  most and least of maximum, minimum, mean  allowed rms on the day, K  hours of 1 February
check() {
    cp -r "$source/tests/books/$2" "$scratch/$2"
    cp "$weather" "$scratch/$2/weather.epw"
    "$stavecast" climate "$scratch/$2" --hourly "$scratch/hours.csv" -q >/dev/null
    awk -F, -v name="$1" -v ranges="$3" -v allowed="$4" -v hours="$5" '
        NR == 1 { next }
        { n++; sum += $3; if (n == 1 || $3 > most) most = $3; if (n == 1 || $3 < least) least = $3
          if (n > 744 && n <= 768) day[n - 744] = $3 }
        function judge(what, value, from, to) {
            bad = value < from - 0.5 || value > to + 0.5
            printf "%s %-8s %6.2f C, published %.1f to %.1f%s\n", name, what, value, from, to,
                bad ? "  WRONG: more than 0.5 K outside" : ""
            n_bad += bad }
        END {
            split(ranges, r, " ")
            judge("maximum", most, r[1], r[2]); judge("minimum", least, r[3], r[4])
            judge("mean", sum / n, r[5], r[6])
            split(hours, published, " ")
            for (h = 1; h <= 24; h++) square += (day[h] - published[h]) ^ 2
            rms = sqrt(square / 24); bad = rms > allowed
            printf "%s 1 Feb    %6.2f K rms from the mean of five programs%s\n", name, rms,
                bad ? "  WRONG: more than " allowed " K" : ""
            exit (n_bad + bad > 0 || n != 8760) }' "$scratch/hours.csv" || n_wrong=$((n_wrong + 1))
}

check 600FF light-zone "62.4 68.4 -13.8 -9.9 24.3 26.1" 1.5 "5.62 3.90 2.36 0.98 -0.22 -1.26 -2.14 -1.90 2.14 9.48 18.30 27.58 36.38 43.30 47.20 \
    48.12 45.64 39.46 32.66 26.82 21.80 17.30 13.36 10.08"
check 900FF heavy-zone "43.3 46.0 0.6 2.2 24.5 25.7" 1.0 "13.00 12.46 11.98 11.46 11.02 10.60 10.18 10.22 11.50 13.52 15.70 17.98 20.16 21.66 \
    22.36 22.50 21.86 20.32 19.02 18.20 17.38 16.64 15.90 15.28"
[ "$n_wrong" -eq 0 ]
