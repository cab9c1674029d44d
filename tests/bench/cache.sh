#!/bin/sh
# What `forecast` of the demo takes before and after the cache holds what it makes of the air: 60
# casks, ten years, 256 trials.
#
#     sh tests/bench/cache.sh STAVECAST SOURCE
#
# Prints wall seconds, the best of three, the room that the cache takes and the ratio.  Ends with 1
# only when an answer differs.
set -eu
stavecast=${1:?usage: cache.sh STAVECAST SOURCE}
source=${2:?usage: cache.sh STAVECAST SOURCE}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
cp -r "$source/examples/quill-basin" "$work/book"

now() { date +%s.%N; }

# name, what to do before each run, options: best of three into best_NAME
best() {
    name=$1
    before=$2
    shift 2
    seconds=""
    for _ in 1 2 3; do
        $before
        start=$(now)
        "$stavecast" forecast "$work/book" --draws 256 -q "$@" >"$work/$name" 2>"$work/err" || [ $? -eq 1 ]
        end=$(now)
        seconds="$seconds $(awk -v a="$start" -v b="$end" 'BEGIN { print b - a }')"
    done
    cmp "$work/none" "$work/$name"
    eval "best_$name=$(printf '%s\n' $seconds | sort -n | head -n 1)"
}

best none true --no-cache
best cold "rm -rf $work/cache"
best warm true
awk -v none="$best_none" -v cold="$best_cold" -v warm="$best_warm" \
    -v mb="$(du -sm "$work/cache" | cut -f 1)" 'BEGIN {
    printf "forecast of the demo, 60 casks, 10 years, 256 trials\n"
    printf "  without the cache %5.2f s, filling it %5.2f s, from it %5.2f s: %.1f times as fast, %d MB kept\n",
        none, cold, warm, none / warm, mb }'
