#!/bin/sh
# The report of a book is the same, byte for byte, whatever the time zone, the locale, the working
# folder, the time of day and what an earlier run kept; a single chart too, as PNG and as PDF.
#
#     sh tests/report_bytes.sh SOURCE STAVECAST
set -eu
source=${1:?usage: report_bytes.sh SOURCE STAVECAST}
stavecast=${2:?usage: report_bytes.sh SOURCE STAVECAST}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
mkdir -p "$work/here" "$work/far/away"
# The page names the book's files as they were given, so the books are named alike in both folders.
cp -r "$source/examples/quill-basin" "$work/book"
cp -r "$source/tests/books/constant-hot" "$work/small"
rm "$work/book/sites.yaml"
for folder in here far/away; do
    ln -s "$work/book" "$work/small" "$work/$folder"
done

# 1 means that something asks for attention; the answer is whole.
report() {
    "$stavecast" report "$@" --draws 4 -q >said 2>log || [ "$?" -eq 1 ] || {
        cat log
        exit 1
    }
}
reports() {
    report book --out page
    mv said answer
    report small --chart windows-1 --out chart.png
    report small --chart windows-1 --out chart.pdf
}
# A locale that writes 1,5 where there is one to be had; else its name alone is tried.
mkdir "$work/locale"
localedef -i de_DE -f UTF-8 "$work/locale/de_DE.UTF-8" >"$work/log" 2>&1 ||
    echo "report: without the sources of a German locale"
cd "$work/here"
LC_ALL=C TZ=UTC reports
sleep 1.1 # a time of day in a file would be another now
cd "$work/far/away"
export LC_ALL=de_DE.UTF-8 LOCPATH="$work/locale" TZ=Asia/Kathmandu
reports
unset LC_ALL LOCPATH

cd "$work"
diff -rq here far/away
n=$(find here/page -type f | wc -l)
[ "$n" -gt 100 ] || { echo "only $n files in the report"; exit 1; }
echo "report: $n files and two charts, byte for byte"
