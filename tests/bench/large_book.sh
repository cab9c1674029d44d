#!/bin/sh
# The decisions of a large house: 5 000 casks of 180 kinds (six kinds of cask, thirty days of
# filling) on six tiers, 256 trials; and its report with the usual trials, and the page's size.
#
#     sh tests/bench/large_book.sh STAVECAST SOURCE [CASKS]
#
# Prints wall and processor seconds and the most memory of each command; ends with 1 only when one
# gives no answer.
set -eu
stavecast=${1:?usage: large_book.sh STAVECAST SOURCE [CASKS]}
source=${2:?usage: large_book.sh STAVECAST SOURCE [CASKS]}
n_casks=${3:-5000}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
sh "$source/tests/bench/large_book_write.sh" "$work/book" "$source" "$n_casks"

for command in "forecast --draws 256" "place --all --draws 256" "bottling --draws 256" \
    "stock --draws 256" "report --out $work/page"; do
    code=0
    # shellcheck disable=SC2086
    /usr/bin/time -f "%e %U %M" -o "$work/time" "$stavecast" $command "$work/book" -q \
        >"$work/out" 2>"$work/err" || code=$?
    [ "$code" -le 1 ] || {
        echo "$command ended with $code"
        cat "$work/err"
        exit 1
    }
    tail -n 1 "$work/time" | awk -v what="${command%% *}" -v n="$n_casks" \
        '{ printf "%-12s %d casks: %6.1f s, %6.1f s of processor, %5.0f MB\n", what, n, $1, $2, $3 / 1024 }'
done
wc -c <"$work/page/index.html" | awk '{ printf "the page: %.1f MB\n", $1 / 1e6 }'
