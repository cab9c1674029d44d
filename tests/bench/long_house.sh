#!/bin/sh
# Twenty years of a large house, whole command and cold cache: every cask of large_book_write.sh from
# its fill in 2020 to 2025 to the start of 2043, in the mean 20.2 years; a sixth of them hold 50 L.
#
#     sh tests/bench/long_house.sh STAVECAST SOURCE [CASKS] [TRIALS]
#
# Prints wall and processor seconds, the most memory, and cask-years (of a trial each) a second of
# processor, tables and all; ends with 1 only when there is no answer.
set -eu
stavecast=${1:?usage: long_house.sh STAVECAST SOURCE [CASKS] [TRIALS]}
source=${2:?usage: long_house.sh STAVECAST SOURCE [CASKS] [TRIALS]}
n_casks=${3:-50000}
n_trials=${4:-64}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
sh "$source/tests/bench/large_book_write.sh" "$work/book" "$source" "$n_casks"
code=0
/usr/bin/time -f "%e %U %M" -o "$work/time" "$stavecast" forecast --until 2043-01-15 --by house \
    --draws "$n_trials" "$work/book" -q >"$work/out" 2>"$work/err" || code=$?
[ "$code" -le 1 ] || {
    echo "forecast ended with $code"
    cat "$work/err"
    exit 1
}
tail -n 1 "$work/time" | awk -v casks="$n_casks" -v trials="$n_trials" '{
    printf "%d casks, %d trials, 20 years: %.1f s, %.1f s of processor, %.0f MB, %.0f cask-years/s/core\n",
        casks, trials, $1, $2, $3 / 1024, casks * trials * 20.2 / $2 }'
