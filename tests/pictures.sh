#!/bin/sh
# README's pictures are the demo's charts of today: each says the same words.  Figures may differ in
# their last digit from machine to machine, so they are left out.
#
#     sh tests/pictures.sh STAVECAST SOURCE
set -eu
stavecast=${1:?usage: pictures.sh STAVECAST SOURCE}
source=${2:?usage: pictures.sh STAVECAST SOURCE}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"

words() { grep -o '<text>[^<]*' "$1" | sed 's/[0-9.]//g'; }

n=0
failed=0
for picture in "$source"/examples/pictures/*.svg; do
    chart=$(basename "$picture" .svg)
    [ "$chart" != sites ] || chart=sites-1
    code=0
    "$stavecast" report "$source/examples/quill-basin" --chart "$chart" --out "$work/$chart.svg" \
        -q >/dev/null 2>"$work/err" || code=$?
    if [ "$code" -gt 1 ]; then
        cat "$work/err"
        exit 1
    fi
    words "$picture" >"$work/shown"
    words "$work/$chart.svg" >"$work/now"
    if ! [ -s "$work/now" ] || ! cmp -s "$work/shown" "$work/now"; then
        echo "$picture: says other words than \`report --chart $chart\`; draw it again"
        diff "$work/shown" "$work/now" || true
        failed=1
    fi
    n=$((n + 1))
done
echo "pictures: $n compared"
[ "$n" -gt 0 ] && [ "$failed" -eq 0 ]
