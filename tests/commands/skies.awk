# Ten made-up years of hours, 2005 to 2014: a yearly and a daily wave, spells of twelve days, and
# years that differ.  -v cooler=K -v rh=PER_CENT
function wave(x) { return cos(6.283185307179586 * x) }
BEGIN {
    split("31 28 31 30 31 30 31 31 30 31 30 31", days, " ")
    split("0.6 -0.8 0.2 1.1 -0.4 -1.0 0.5 0.9 -0.6 0.1", warmer, " ")
    print "time,temp_c,rh_pct"
    for (year = 2005; year <= 2014; year++) {
        day = 0
        for (month = 1; month <= 12; month++) {
            last = days[month] + (month == 2 && year % 4 == 0)
            for (date = 1; date <= last; date++) {
                day++
                for (hour = 0; hour < 24; hour++) {
                    t = 27 - cooler + warmer[year - 2004] + 9 * wave((day - 170) / 365.25)
                    t = t + 5 * wave((day + 11 * year) / 12) + 7 * wave((hour - 15) / 24)
                    r = rh + 3 * warmer[year - 2004] - 8 * wave((hour - 15) / 24)
                    printf "%d-%02d-%02d %02d:00,%.1f,%.0f\n", year, month, date, hour, t, r
                }
            }
        }
    }
}
