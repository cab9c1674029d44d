#!/bin/sh
# Habits of the code that a machine can see.
#
#     sh tests/style.sh SOURCE [COMPILER]
#
# 1  no file over 600 lines, tables apart; no function over 60
# 2  every double in a header of model/ says its unit in its name
# 3  every table of doubles, and every constant in model/tables, has a "Source:" in the 40 lines
#    before it
# 4  nothing is left for later in a comment
# 5  every header compiles by itself (with COMPILER)
# Ends with 1 and one line for each breach.  Needs universal-ctags.
set -eu
export LC_ALL=C
source=${1:?usage: style.sh SOURCE [COMPILER]}
compiler=${2:-}
file_most=600
function_most=60
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$source"
: >"$work/breaches"
ctags --version 2>/dev/null | grep -q 'Universal Ctags' || {
    echo "style: universal-ctags is needed" >&2
    exit 6
}
find model ingest plots cli tests examples -name '*.[ch]' | sort >"$work/files"
grep -v '^model/tables/' "$work/files" >"$work/prose"

while read -r file; do
    lines=$(wc -l <"$file")
    [ "$lines" -le "$file_most" ] || echo "$file: $lines lines, at most $file_most"
done <"$work/prose" >>"$work/breaches"

ctags --language-force=C --sort=no -I STV_MUST_CHECK --kinds-C=f -x \
    --_xformat='%F %n %{end} %N' -L "$work/files" >"$work/functions"
[ -s "$work/functions" ] || echo "no function was found under $source" >>"$work/breaches"
awk -v most="$function_most" '
    $3 == "-" { print $1 ":" $2 ": the end of " $4 " was not found"; next }
    $3 - $2 + 1 > most { print $1 ":" $2 ": " $4 " has " $3 - $2 + 1 " lines, at most " most }
' "$work/functions" >>"$work/breaches"

# Units as they end a name.  Names in `free` are told their unit by an index or by their caller.
units='c|f|k|pa|hpa|kg|g|mg|l|ml|m|mm|m2|m3|frac|pct|s|h|d|y|ly|ms|months|nd|w|j|deg|rad|mol|sk'
units="$units|ppm|m2k|m2k4|m2s|m2spa|m3k|mk|kgk|molk|s2"
free='values?|error|columns|day_values|out_hours|sorted|margin|year_median|p[0-9][0-9]|out|n|n_[a-z_]+'
free="$free|[a-z_]*_draws|[a-z_]*_hours"
find model -name '*.h' ! -path 'model/tables/*' | sort >"$work/headers"
ctags --language-force=C --sort=no -I STV_MUST_CHECK --kinds-C=mpz -x \
    --_xformat='%N|%{typeref}|%F:%n' -L "$work/headers" >"$work/names"
awk -F'|' '$2 ~ /^typename:(const )?double/' "$work/names" >"$work/doubles"
[ -s "$work/doubles" ] || echo "no double was found in the headers of model/" >>"$work/breaches"
grep -vE "^([a-zA-Z0-9_]*_($units)(_at_[a-z_]+|_of_[a-z_]+)?|$free)\|" "$work/doubles" |
    awk -F'|' '{ print $3 ": " $1 " has no unit in its name" }' >>"$work/breaches" || true

find model -name '*.[ch]' -exec awk '
    FNR == 1 { source = -1000 }
    /Source:/ { source = FNR }
    (/^(static )?const double [a-z0-9_]+\[/ ||
     (FILENAME ~ /^model\/tables\// && /^static const /)) && FNR - source > 40 {
        print FILENAME ":" FNR ": numbers without a Source: in the 40 lines before"
    }' {} + >>"$work/breaches"

xargs grep -nE '\b(TODO|FIXME|XXX|HACK)\b' /dev/null <"$work/files" |
    sed 's/$/   (finish it, or write the limit down)/' >>"$work/breaches" || true

if [ -n "$compiler" ]; then
    find model ingest plots cli tests -name '*.h' | sort >"$work/all-headers"
    while read -r header; do
        printf '#include "%s"\n' "$header" >"$work/alone.c"
        "$compiler" -std=c17 -D_POSIX_C_SOURCE=200809L -DSTV_SOURCE_DIR='"."' -I. -fsyntax-only \
            "$work/alone.c" >"$work/alone.log" 2>&1 ||
            echo "$header: does not compile by itself: $(head -n 1 "$work/alone.log")"
    done <"$work/all-headers" >>"$work/breaches"
fi

if [ -s "$work/breaches" ]; then
    cat "$work/breaches"
    exit 1
fi
echo "style: $(wc -l <"$work/files") files, $(wc -l <"$work/functions") functions and" \
    "$(wc -l <"$work/doubles") doubles in headers, all as agreed"
