#!/bin/sh
# The demo's six loggers with three of them hidden, in all twenty ways: how far the hidden tiers are
# missed when they are told from the other three and the weather.
#
#     sh tests/bench/hidden_loggers.sh STAVECAST SOURCE
#
# Prints root mean squares of hours and of months, and degree-days of the cask above 10 C against
# those with the tier's own logger, over the hours that it hung there.  The store is invented and made
# by the same building model, so that this is a check of the method, not of the model: a real store is
# missed by more.
# Ends with 1 only when a book cannot be run.
set -eu
stavecast=${1:?usage: hidden_loggers.sh STAVECAST SOURCE}
source=${2:?usage: hidden_loggers.sh STAVECAST SOURCE}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
cp -r "$source/examples/quill-basin" "$work/book"
chmod -R u+w "$work/book"
cp "$work/book/loggers.csv" "$work/loggers.csv"

# 1 is "done, and something wants a look": the demo has planted faults.
run() { "$stavecast" "$@" -q >/dev/null 2>"$work/err" || [ $? -eq 1 ] || { cat "$work/err"; exit 1; }; }

# hidden tiers, as a set of digits
hide() {
    grep -v "^tier[$1]" "$work/loggers.csv" >"$work/book/loggers.csv"
}

# set
compare() {
    run climate "$work/book" --hourly "$work/hours.csv"
    awk -F, -v hidden="$1" '
        NR == FNR { air[$1 $2] = $3; cask[$1 $2] = $5; next }
        FNR == 1 || index(hidden, $2) == 0 || $1 < "2026-10-02" || $1 > "2027-11-30" { next }
        $2 == 4 && $1 > "2027-07-08" && $1 < "2027-07-20" { next } # its logger stood still
        { off = $3 - air[$1 $2]; month = $2 " " substr($1, 1, 7)
          n++; square += off * off; sum[month] += off; in_month[month]++
          own[$2] += cask[$1 $2] > 10 ? (cask[$1 $2] - 10) / 24 : 0
          told[$2] += $5 > 10 ? ($5 - 10) / 24 : 0 }
        END { for (m in sum) { months += (sum[m] / in_month[m]) ^ 2; k++ }
              for (t in own) { days += (told[t] / own[t] - 1) ^ 2; tiers++ }
              printf "%s %.3f %.3f %.3f\n", hidden, sqrt(square / n), sqrt(months / k),
                  100 * sqrt(days / tiers) }' "$work/full.csv" "$work/hours.csv" >>"$work/found"
}

hide x
run climate "$work/book" --hourly "$work/full.csv"
for set in 123 124 125 126 134 135 136 145 146 156 234 235 236 245 246 256 345 346 356 456; do
    hide "$set"
    compare "$set"
done
echo "three of six loggers hidden, all twenty ways: misses of the hidden tiers' air"
awk '{ n++; for (i = 2; i <= 4; i++) { sum[i] += $i ^ 2; if ($i > most[i]) { most[i] = $i; at[i] = $1 } } }
    END { printf "  hour %.2f K (worst %.2f, tiers %s), month %.2f K (worst %.2f, tiers %s), degree-days %.1f %% (worst %.1f, tiers %s)\n",
              sqrt(sum[2] / n), most[2], at[2], sqrt(sum[3] / n), most[3], at[3], sqrt(sum[4] / n), most[4], at[4] }' "$work/found"
