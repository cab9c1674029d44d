#!/bin/sh
# What the report of the demo takes, and how much of that is gnuplot's.
#
#     sh tests/bench/report.sh STAVECAST SOURCE
#
# Prints wall seconds (the best of three, the cache filled), how often gnuplot was started, its
# share, milliseconds a chart, and the sizes of the page and of the largest picture.  Ends with 1
# only when there is no report.
set -eu
stavecast=${1:?usage: report.sh STAVECAST SOURCE}
source=${2:?usage: report.sh STAVECAST SOURCE}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
gnuplot=$(command -v gnuplot)
mkdir "$work/bin"
# Stands before gnuplot, which it starts, and writes down how long that took.
cat >"$work/bin/gnuplot" <<WRAPPER
#!/bin/sh
start=\$(date +%s.%N)
"$gnuplot" "\$@"
code=\$?
echo "\$start \$(date +%s.%N)" >>"$work/times"
exit \$code
WRAPPER
chmod +x "$work/bin/gnuplot"

# one run: seconds of all, seconds of gnuplot, how often it was started
run() {
    : >"$work/times"
    start=$(date +%s.%N)
    PATH="$work/bin:$PATH" "$stavecast" report "$source/examples/quill-basin" --out "$work/page" -q \
        >"$work/said" 2>"$work/err" || [ $? -eq 1 ]
    end=$(date +%s.%N)
    awk -v all="$(awk -v a="$start" -v b="$end" 'BEGIN { print b - a }')" \
        '{ sum += $2 - $1 } END { print all, sum, NR }' "$work/times"
}
run >"$work/first"
for _ in 1 2 3; do run; done | sort -n | head -n 1 >"$work/best"
read -r first _ _ <"$work/first"
read -r all drawing n_starts <"$work/best"
awk -v first="$first" -v all="$all" -v drawing="$drawing" -v n_starts="$n_starts" \
    -v n="$(find "$work/page/charts" -name '*.svg' | wc -l)" \
    -v page="$(wc -c <"$work/page/index.html")" \
    -v largest="$(find "$work/page/charts" -name '*.svg' -exec wc -c {} + | sort -n |
        tail -n 2 | head -n 1)" 'BEGIN {
    split(largest, part, " ")
    sub(/.*\//, "", part[2])
    printf "report of the demo, %d charts, page %.1f MB, largest picture %s %.0f kB\n", \
        n, page / 1e6, part[2], part[1] / 1e3
    printf "  %.2f s the first time, then %.2f s; %d gnuplot %.2f s, %.0f %% of it: %.0f ms a chart\n", \
        first, all, n_starts, drawing, 100 * drawing / all, 1e3 * drawing / n }'
