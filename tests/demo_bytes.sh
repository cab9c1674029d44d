#!/bin/sh
# The invented files of the demo are what generate.c makes, byte for byte.
#
#     sh tests/demo_bytes.sh SOURCE COMPILER
set -eu
source=${1:?usage: demo_bytes.sh SOURCE COMPILER}
compiler=${2:?usage: demo_bytes.sh SOURCE COMPILER}
book=$source/examples/quill-basin
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/weather" "$work/loggers"
"$compiler" -std=c17 -O2 -ffp-contract=off -Wall -Wextra -Werror "$book/generate.c" \
    -o "$work/generate"
"$work/generate" "$work"
code=0
n=0
for file in weather/basin.csv loggers/tier1.csv loggers/tier2.csv loggers/tier3.csv \
    loggers/tier4.csv loggers/tier5.csv loggers/tier6.csv; do
    n=$((n + 1))
    cmp "$work/$file" "$book/$file" || code=1
done
for file in "$book"/loggers/*.csv; do
    [ -f "$work/loggers/${file##*/}" ] || {
        echo "$file is not made by generate.c"
        code=1
    }
done
[ "$code" -ne 0 ] || echo "demo: $n files, byte for byte"
exit "$code"
