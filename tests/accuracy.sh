#!/bin/sh
# The table of published observations in README.md is what the model says now.
#
#     accuracy.sh README PROGRAM              ends with 1 and the difference when it is not
#     accuracy.sh README PROGRAM --refresh    writes it (cmake --build BUILD --target accuracy_table)
set -eu
readme=$1
program=$2
begin='<!-- accuracy: made by tests/accuracy, do not edit -->'
end='<!-- accuracy: end -->'
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

for marker in "$begin" "$end"; do
    [ "$(grep -cxF -e "$marker" "$readme")" = 1 ] || {
        echo "accuracy.sh: $readme must hold this line once: $marker"
        exit 1
    }
done
"$program" >"$work/table"
awk -v begin="$begin" -v end="$end" -v table="$work/table" '
    $0 == end { on = 0 }
    !on
    $0 == begin { on = 1; print ""; while ((getline line < table) > 0) print line; print "" }
' "$readme" >"$work/readme"
if [ "${3:-}" = --refresh ]; then
    cat "$work/readme" >"$readme"
elif ! diff -u "$readme" "$work/readme"; then
    echo "accuracy.sh: the table is not what the model says now;"
    echo "look at what moved, then: cmake --build BUILD --target accuracy_table"
    exit 1
fi
