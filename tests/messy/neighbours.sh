#!/bin/sh
# A book with three racks and the air outdoors for 90 days of invented weather, one fault in it.
#
#     sh tests/messy/neighbours.sh CASE      none swapped shifted early offset sun copied
#
# Makes the folder book/ anew.  Racks: the higher, the warmer and the livelier; clocks are UTC.
set -eu
rm -rf book
mkdir -p book/loggers book/weather
awk -v fault="$1" '
    # The same weather each time: a generator of our own, since rand() differs between programs.
    function chance() { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
    function stamp(hour,    day, month) {
        day = int(hour / 24) + 1; month = 4
        if (day > 30) { day -= 30; month = 5 }
        if (month == 5 && day > 31) { day -= 31; month = 6 }
        return sprintf("2024-%02d-%02d %02d:00", month, day, hour % 24)
    }
    function air(hour,    day, part) {
        day = day_of(hour); part = hour / 24 - day
        return mild[day] * (1 - part) + mild[day + 1] * part + swing[day] * wave(hour % 24 - 21)
    }
    function day_of(hour) { return hour < 0 ? -1 : int(hour / 24) }
    function wave(hour) { return cos(hour * 3.14159265 / 12) }
    function day_part(hour) { return wave(hour) > 0 ? wave(hour) : 0 }
    # Tier: its own swing and lag around the outdoor mean.
    function rack(tier, hour,    back) {
        back = hour - tier_lag[tier]
        return warm[tier] + live[tier] * air(back) + (1 - live[tier]) * (mild[day_of(back)] + 20) / 2
    }
    BEGIN {
        seed = 12345
        for (d = -1; d <= 92; d++) { mild[d] = 16 + 8 * chance(); swing[d] = 3 + 6 * chance() }
        split("0.30 0.45 0.65", live, " "); split("4 3 2", tier_lag, " "); split("0 0.8 1.7", warm, " ")
        head = "time,temperature [C]"
        for (t = 1; t <= 3; t++) print head >"book/loggers/tier" t ".csv"
        print head >"book/weather/outdoors.csv"
        for (hour = 0; hour < 90 * 24; hour++) {
            printf "%s,%.1f\n", stamp(hour), air(hour) >"book/weather/outdoors.csv"
            is_late = hour >= 33 * 24
            for (t = 1; t <= 3; t++) {
                from = t; at = hour
                if (fault == "swapped" && is_late && t != 2) from = 4 - t
                if (fault == "copied" && t == 2) from = 1
                if (fault == "shifted" && is_late && t == 2) at = hour - 6
                if (fault == "early" && t == 2) at = hour + 6
                value = rack(from, at)
                if (fault == "offset") value = value - warm[t] + (t == 3 ? 2.4 : 0)
                if (fault == "sun" && t == 3) value += 8 * day_part(hour % 24 - 19)
                printf "%s,%.2f\n", stamp(hour), value >"book/loggers/tier" t ".csv"
            }
        }
    }'
cat >book/book.yaml <<YAML
name: Neighbours
site: {latitude: 33, longitude: -98, elevation: 300 m, clock: "UTC-06:00"}
weather: {file: weather/outdoors.csv, clock: UTC}
warehouses:
  - {name: Shed, kind: racked shed, tiers: 3, bays: 4}
YAML
cat >book/loggers.csv <<CSV
file,warehouse,tier,clock
tier1.csv,Shed,1,UTC
tier2.csv,Shed,2,UTC
tier3.csv,Shed,3,UTC
CSV
