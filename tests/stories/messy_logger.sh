#!/bin/sh
# A book with a year of half-hourly rows in local time: two 01:30s in November, and days without
# rows in July.  A second logger, a tier higher, has neither fault.  Invented.
#
#     sh tests/stories/messy_logger.sh [one|both] [HOLES] [DAYS]
#
# Makes the folder book/ anew; HOLES becomes the line `holes:` of book.yaml; DAYS are 9.
set -eu
rm -rf book
mkdir -p book/loggers
awk -v hole_days="${3:-9}" '
    function days_before(month) { return substr("000031059090120151181212243273304334", 3 * month - 2, 3) + 0 }
    function stamp(minute,    day, month) {
        day = int(minute / 1440); month = 12
        while (days_before(month) > day) month--
        return sprintf("2023-%02d-%02d %02d:%02d", month, day - days_before(month) + 1,
            int(minute / 60) % 24, minute % 60)
    }
    BEGIN {
        print "time,temperature [C],humidity [%]" >"book/loggers/low.csv"
        print "time,temperature [C],humidity [%]" >"book/loggers/high.csv"
        for (slot = 0; slot < 365 * 48 - 2; slot++) {
            # 8:00 UTC on 12 March is 2:00 standard time; 7:00 UTC on 5 November is 2:00 summer time.
            standard = slot * 30; local = standard
            if (standard >= 70 * 1440 + 120 && standard < 308 * 1440 + 60) local += 60
            day = standard / 1440
            base = 18 - 10 * cos(day * 0.0172142) + 4 * cos((standard / 60 - 16) * 0.2617994)
            printf "%s,%.2f,62\n", stamp(local), base + 2 + 1.5 * cos((standard / 60 - 15) * 0.2617994) >"book/loggers/high.csv"
            if (day < 190 || day >= 190 + hole_days)
                printf "%s,%.2f,62\n", stamp(local), base >"book/loggers/low.csv"
        }
    }'
cat >book/book.yaml <<YAML
name: Hole House
site: {latitude: 33, longitude: -98, elevation: 300 m, clock: "UTC-06:00"}
${2:+holes: $2}
warehouses:
  - {name: Shed, kind: racked shed, tiers: 2, bays: 4}
YAML
printf 'file,warehouse,tier,clock\nlow.csv,Shed,1,"CST6CDT,M3.2.0,M11.1.0"\n' >book/loggers.csv
[ "${1:-one}" = one ] || printf 'high.csv,Shed,2,"CST6CDT,M3.2.0,M11.1.0"\n' >>book/loggers.csv
