#!/bin/sh
# The decisions of a large house: 5 000 casks of 180 kinds (six kinds of cask, thirty days of
# filling) on six tiers, 256 trials.
#
#     sh tests/bench/large_book.sh STAVECAST SOURCE [CASKS]
#
# Prints wall and processor seconds and the most memory of each command; ends with 1 only when one
# gives no answer.  The book is invented: the demo's store, made longer.
set -eu
stavecast=${1:?usage: large_book.sh STAVECAST SOURCE [CASKS]}
source=${2:?usage: large_book.sh STAVECAST SOURCE [CASKS]}
n_casks=${3:-5000}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
cp -R "$source/examples/quill-basin" "$work/book"
rm -f "$work/book/gauges.csv" "$work/book"/*.yaml
bays=$(((n_casks + 899) / 900 * 100))
sed -e "s/    bays: 12/    bays: $bays/" -e "s/casks_stored: 130 .*/casks_stored: $n_casks/" \
    "$source/examples/quill-basin/book.yaml" >"$work/book/book.yaml"

awk -v n="$n_casks" 'BEGIN {
    print "cask,size [L],held,uses,wood,toast,stave,kind,note"
    split("200 200 250 50 500 225", size); split("new spirit spirit new spirit sherry", held)
    split("0 1 2 0 1 1", uses)
    for (i = 0; i < n; i++) {
        k = i % 6 + 1
        printf "%d,%d,%s,%d,white oak,char 3,27 mm,%s %d L,-\n", i + 1, size[k], held[k], uses[k],
            held[k] == "new" ? "new oak" : held[k] == "spirit" ? "held spirit" : "held sherry", size[k]
    } }' >"$work/book/casks.csv"
awk -v n="$n_casks" -v bays="$bays" 'BEGIN {
    print "date,what,cask,to,litres [L],strength [%vol],water [kg],warehouse,tier,bay,depth,soaked,note"
    split("200 200 250 50 500 225", size)
    for (i = 0; i < n; i++) {
        run = int(i / 6) % 30; slot = i
        tier = slot % 6 + 1; slot = int(slot / 6); bay = slot % bays + 1; depth = int(slot / bays) + 1
        printf "%d-%02d-15,fill,%d,,%.1f,59.0,,Long Shed,%d,%d,%d,,\n", 2020 + int(run / 5),
            2 * (run % 5) + 1, i + 1, 0.97 * size[i % 6 + 1], tier, bay, depth
    } }' | { read -r head; printf '%s\n' "$head"; sort; } >"$work/book/history.csv"

for command in "forecast" "place --all" "bottling" "stock"; do
    code=0
    # shellcheck disable=SC2086
    /usr/bin/time -f "%e %U %M" -o "$work/time" "$stavecast" $command "$work/book" --draws 256 -q \
        >"$work/out" 2>"$work/err" || code=$?
    [ "$code" -le 1 ] || {
        echo "$command ended with $code"
        cat "$work/err"
        exit 1
    }
    tail -n 1 "$work/time" | awk -v what="$command" -v n="$n_casks" \
        '{ printf "%-12s %d casks: %6.1f s, %6.1f s of processor, %5.0f MB\n", what, n, $1, $2, $3 / 1024 }'
done
