#!/bin/sh
# Writes the book of a large house: casks of 180 kinds (six kinds of cask, thirty days of filling)
# on six tiers.  The book is invented: the demo's store, made longer.
#
#     sh tests/bench/large_book_write.sh FOLDER SOURCE [CASKS]
set -eu
folder=${1:?usage: large_book_write.sh FOLDER SOURCE [CASKS]}
source=${2:?usage: large_book_write.sh FOLDER SOURCE [CASKS]}
n_casks=${3:-5000}
cp -R "$source/examples/quill-basin" "$folder"
chmod -R u+w "$folder"
rm -f "$folder/gauges.csv" "$folder"/*.yaml
bays=$(((n_casks + 899) / 900 * 100))
[ "$bays" -le 600 ] || bays=600 # no building is longer than 500 m
depth=$(((n_casks + 6 * bays - 1) / (6 * bays)))
sed -e "s/    bays: 12/    bays: $bays/" -e "s/    depth: 2/    depth: $depth/" \
    -e "s/casks_stored: 130 .*/casks_stored: $n_casks/" \
    "$source/examples/quill-basin/book.yaml" >"$folder/book.yaml"

awk -v n="$n_casks" 'BEGIN {
    print "cask,size [L],held,uses,wood,toast,stave,kind,note"
    split("200 200 250 50 500 225", size); split("new spirit spirit new spirit sherry", held)
    split("0 1 2 0 1 1", uses)
    for (i = 0; i < n; i++) {
        k = i % 6 + 1
        printf "%d,%d,%s,%d,white oak,char 3,27 mm,%s %d L,-\n", i + 1, size[k], held[k], uses[k],
            held[k] == "new" ? "new oak" : held[k] == "spirit" ? "held spirit" : "held sherry", size[k]
    } }' >"$folder/casks.csv"
awk -v n="$n_casks" -v bays="$bays" 'BEGIN {
    print "date,what,cask,to,litres [L],strength [%vol],water [kg],warehouse,tier,bay,depth,soaked,note"
    split("200 200 250 50 500 225", size)
    for (i = 0; i < n; i++) {
        run = int(i / 6) % 30; slot = i
        tier = slot % 6 + 1; slot = int(slot / 6); bay = slot % bays + 1; depth = int(slot / bays) + 1
        printf "%d-%02d-15,fill,%d,,%.1f,59.0,,Long Shed,%d,%d,%d,,\n", 2020 + int(run / 5),
            2 * (run % 5) + 1, i + 1, 0.97 * size[i % 6 + 1], tier, bay, depth
    } }' | { read -r head; printf '%s\n' "$head"; sort; } >"$folder/history.csv"
