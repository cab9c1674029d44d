#!/bin/sh
# A book with typing errors in its gauges, litres that rise without a topping, and a block of
# Fahrenheit in a logger's Celsius.  Invented.
#
#     sh tests/stories/typing_errors.sh
set -eu
rm -rf book
mkdir -p book/loggers
cat >book/book.yaml <<YAML
name: Typing House
site: {latitude: 33, longitude: -98, elevation: 300 m, clock: "UTC-06:00"}
units: {volume: L, strength: "%vol"}
warehouses:
  - {name: Shed, kind: racked shed, tiers: 2, bays: 4}
YAML
cat >book/casks.csv <<CSV
cask,size,held,filled,litres,strength,tier,bay,depth
7,200,bourbon,2021-04-01,195,63.5,1,1,1
CSV
cat >book/gauges.csv <<CSV
cask,date,litres,strength
7,2021-10-01,187,63.4
7,2022-04-01,181,62.9
7,2022-10-01,191,26.3
7,2023-04-01,172,62.0
CSV
awk 'BEGIN {
    split("31 28 31 30 31 30 31 31 30 31 30 31", days, " ")
    print "time,temperature [C],humidity [%]"
    for (month = 1; month <= 12; month++)
        for (day = 1; day <= days[month]; day++)
            for (hour = 0; hour < 24; hour++) {
                c = 27 + 2 * cos((hour - 16) * 0.2618)
                if (month == 7 && day == 5 && hour >= 4 && hour < 13) c = c * 1.8 + 32
                printf "2022-%02d-%02d %02d:00,%.1f,60\n", month, day, hour, c
            }
}' >book/loggers/low.csv
printf 'file,warehouse,tier,clock\nlow.csv,Shed,1,UTC-06:00\n' >book/loggers.csv
