#!/bin/sh
# A book whose every name would be a command, a formula or a tag somewhere: the report shows it as
# text, and nothing of it runs in gnuplot, in the page or in a spreadsheet.
#
#     sh tests/report_hostile.sh SOURCE STAVECAST REPORT_SCAN
set -eu
export LC_ALL=C TZ=UTC
source=${1:?usage: report_hostile.sh SOURCE STAVECAST REPORT_SCAN}
stavecast=${2:?usage: report_hostile.sh SOURCE STAVECAST REPORT_SCAN}
report_scan=${3:?usage: report_hostile.sh SOURCE STAVECAST REPORT_SCAN}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
mkdir -p "$work/book/loggers"
cd "$work"
long=$(head -c 10000 /dev/zero | tr '\0' 'x')

house="<script>alert('house')</script>\"\`touch ran\`]]>\$(touch ran) 🥃"
store="=cmd|'/C calc'!A0<img src=x onerror=alert(2)>]]>';system"
tag='<img src=x onerror=alert(1)>'
script='</script><script>alert(3)</script>'
letters='שלום عالم 🥃 %s%n\n'
gnuplot="x'; system 'touch ran'; #"
tick='`touch ran`@{^_}'

cat >book/book.yaml <<YAML
name: "$(printf '%s' "$house" | sed 's/"/\\"/g')"
invented: true
as_of: 2022-01-01
units: {strength: "%vol", volume: L, mass: kg}
site: {latitude: 40.0, longitude: 0.0, elevation: 0 m, clock: UTC}
warehouses:
  - {name: "$store", kind: racked shed, tiers: 2, bays: 3, depth: 1}
targets: {bottling_strength: 46 %vol, bottle: 70 cl, wood: {least: 0.3, most: 1.5}}
bottlings:
  - {name: "=1+1<script>alert(6)</script>]]>", when: 2023-01, style: single casks, casks: 1, bottles: 9}
YAML
cat >book/casks.csv <<CSV
cask,size,held,uses,kind,wood,toast,note
$tag,200,new,0,<script>alert('kind')</script>,=1+1,@x,-
$script,200,new,0,"]]>'""\`touch ran\`",white oak,-,+SUM(1)
$letters,200,bourbon,0,-cmd,=x,-,$long
$gnuplot,200,new,0,@SUM(A1),<b>,-,=cmd
$tick,200,new,0,+cmd|' /C calc'!A0,<b>,-,"a ""quote"""
CSV
cat >book/history.csv <<CSV
date,what,cask,litres,strength,tier,bay,depth,soaked,note
2021-01-01,fill,$tag,195,60,1,1,1,yes,<b>
2021-01-01,fill,$script,195,60,1,2,1,yes,=1
2021-01-01,fill,$letters,195,60,2,1,1,yes,$long
2021-01-01,fill,$gnuplot,195,60,2,2,1,yes,]]>
2021-01-01,fill,$tick,195,60,2,3,1,yes,\`touch ran\`
2021-10-01,sample,$script,0.5,,,,,,=1
CSV
cat >book/gauges.csv <<CSV
date,cask,litres,strength,nose,by,note
2021-11-01,$script,180,61,nearly,<u>&,=1+1
2021-12-01,$script,170,61,nearly,\`,]]>
CSV
printf 'file,warehouse,tier,clock\nroom.csv,,1,UTC\n' >book/loggers.csv
{
    printf 'logger,"<script>alert(4)</script>`touch ran`"\n'
    sed '1,2s/^time,/"<b onclick=alert(5)>time",/' "$source/tests/books/constant-hot/loggers/room.csv"
    printf '<script>alert(5)</script>,=1+1,%s\n' "$long"
} >book/loggers/room.csv

# 1 means that something asks for attention; the answer is whole.
run() { "$stavecast" "$@" 2>log || [ "$?" -eq 1 ] || { cat log; exit 1; }; }
code=0
run report book --draws 8 --out page >words
"$report_scan" page "$house" "$store" "$tag" "$script" "$letters" "$gnuplot" "$tick" \
    "<script>alert('kind')</script>" "]]>'\"\`touch ran\`" "@SUM(A1)" "+cmd|' /C calc'!A0" || code=1
for chart in page/charts/*.svg; do
    grep -q 'invented example' "$chart" || { echo "$chart is not whole"; code=1; }
done
run forecast book --draws 8 --csv >forecast.csv
run stock book --draws 8 --csv >stock.csv
for table in forecast.csv stock.csv; do
    "$report_scan" "$table" || code=1
done
sh "$source/tests/browser/report_check.sh" page/index.html || code=1
[ -z "$(find "$work" -name 'ran*')" ] || { echo "a name ran as a command"; code=1; }

# The look itself sees a page, a picture and a table that are not as they should be.
cp -r page broken
sed -i "s|&lt;/script&gt;|</script>|" broken/index.html
sed -i 's/<text>/<text onclick="alert(7)">/' broken/charts/ridges-1.svg
printf '"=1+1",2\n' >>broken/charts/ridges-1.csv
"$report_scan" broken >said && { echo "a broken report passed"; code=1; }
for reason in 'no well-formed XML' 'attribute that acts' 'spreadsheet runs' 'cells under'; do
    grep -q "$reason" said || { echo "a broken report passed for: $reason"; cat said; code=1; }
done

# What a spreadsheet would run is refused where it names a cask.
printf 'cask,size,held\n=1+1,200,new\n' >book/casks.csv
if "$stavecast" report book --out other >words 2>log; then
    echo "a formula was taken for a cask"
    code=1
fi
grep -q "is a spreadsheet's formula" log || { cat log; code=1; }
exit "$code"
