# A made-up year as EPW, on standard output: sh made_year.sh LATITUDE MEAN_C [LEFT_OUT_PER_CENT]
# Sun by the height it stands at noon and the hours it is up; the southern half has its summer in January.
awk -v latitude="$1" -v mean="$2" -v left_out="${3:-0}" '
BEGIN {
    pi = atan2(0, -1)
    print "LOCATION,Made Up,-,-,TMY,1," latitude ",15.0,1.0,100"
    print "DATA PERIODS,1,1,Data,Sunday,1/1,12/31"
    split("31 28 31 30 31 30 31 31 30 31 30 31", days, " ")
    srand(1)
    for (month = 1; month <= 12; month++)
        for (day = 1; day <= days[month]; day++) {
            n++
            for (hour = 1; hour <= 24; hour++) {
                tilt = 0.409 * sin(2 * pi * (n - 81) / 365)
                turn = (hour - 12.5) * pi / 12
                up = sin(latitude * pi / 180) * sin(tilt) + cos(latitude * pi / 180) * cos(tilt) * cos(turn)
                sun = up > 0 ? 800 * up : 0
                air = mean + 12 * cos(2 * pi * (n - (latitude < 0 ? 15 : 200)) / 365) + 5 * cos(2 * pi * (hour - 15) / 24)
                is_out = 100 * rand() < left_out
                printf "2001,%d,%d,%d,0,x,%s,%s,%s,98000,0,0,300,%.0f,%.0f,%.0f,0,0,0,0,0,3.0,5\n", month, day, hour,
                    is_out ? "99.9" : sprintf("%.1f", air), is_out ? "99.9" : sprintf("%.1f", air - 6),
                    is_out ? "999" : "60", sun, 0.7 * sun, 0.3 * sun
            }
        }
}'
