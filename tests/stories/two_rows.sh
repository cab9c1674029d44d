#!/bin/sh
# A book of two rows: a cool damp floor and a hot dry top, 24 full casks of one fill on each, and
# room for some more.  Invented.
#
#     sh tests/stories/two_rows.sh [LINES]
#
# Makes the folder book/ anew; LINES are added to book.yaml.
set -eu
rm -rf book
mkdir -p book/loggers
awk 'BEGIN {
    print "time,temperature [C],humidity [%]" >"book/loggers/low.csv"
    print "time,temperature [C],humidity [%]" >"book/loggers/high.csv"
    for (day = 0; day < 366; day++)
        for (hour = 0; hour < 24; hour++) {
            stamp = sprintf("2024-%s %02d:00", substr(dates(day), 1, 5), hour)
            print stamp ",14,82" >"book/loggers/low.csv"
            print stamp ",23.5,42" >"book/loggers/high.csv"
        }
    print "cask,size [L],held,uses" >"book/casks.csv"
    print "date,what,cask,litres [L],strength [%vol],tier,bay,depth,soaked" >"book/history.csv"
    for (i = 1; i <= 48; i++) {
        print i ",200,bourbon,0" >"book/casks.csv"
        tier = i <= 24 ? 1 : 2; at = (i - 1) % 24
        printf "2024-01-01,fill,%d,195,60,%d,%d,%d,yes\n", i, tier, int(at / 2) + 1, at % 2 + 1 >"book/history.csv"
    }
}
function dates(day,    month, left, length_of) {
    split("31 29 31 30 31 30 31 31 30 31 30 31", length_of, " ")
    left = day
    for (month = 1; left >= length_of[month]; month++) left -= length_of[month]
    return sprintf("%02d-%02d", month, left + 1)
}'
cat >book/book.yaml <<YAML
name: Two Rows
invented: true
as_of: 2025-01-01
site: {latitude: 40, longitude: 0, elevation: 0 m, clock: UTC}
warehouses:
  - {name: Shed, kind: racked shed, tiers: 2, bays: 15, depth: 2}
${1:-}
YAML
printf 'file,warehouse,tier,clock\nlow.csv,Shed,1,UTC\nhigh.csv,Shed,2,UTC\n' >book/loggers.csv
