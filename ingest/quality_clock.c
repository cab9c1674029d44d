/* A clock that is said to be fixed and behaves like one of local time: in a file of regular rows
 * one hour is missing in a night in which clocks go forward, and in no other.
 *
 * Nights: Sundays of March, April, September and October, when the zones that shift go forward, one
 * hemisphere or the other. */
#include "ingest/quality_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#define FIRST_S 0
#define LAST_S (4 * STV_HOUR_S)
#define SUNDAY_REMAINDER 3 /* of days since 1970-01-01, a Thursday, by 7 */
#define WEEK_D 7

static bool is_such_night(const struct stv_quality_rows *rows, int64_t time_s)
{
    int32_t second_s;
    int64_t day_d = stv_local_day(time_s, rows->clock->standard_offset_min, &second_s);
    int month = stv_date_from_day(day_d).month;
    bool is_month = month == 3 || month == 4 || month == 9 || month == 10;
    return is_month && day_d % WEEK_D == SUNDAY_REMAINDER && second_s > FIRST_S &&
           second_s <= LAST_S;
}

static bool is_hole_of_an_hour(const struct stv_samples *samples, size_t k)
{
    int64_t step_s = samples->time_s[k - 1] - samples->time_s[k - 2];
    int64_t hole_s = samples->time_s[k] - samples->time_s[k - 1];
    return step_s <= STV_HOUR_S && hole_s == step_s + STV_HOUR_S &&
           samples->time_s[k + 1] - samples->time_s[k] == step_s;
}

void stv__quality_clock(struct stv_quality_rows *rows)
{
    const struct stv_samples *samples = rows->samples;
    size_t first = 0, n_elsewhere = 0;
    if (rows->clock->has_summer)
        return;
    for (size_t k = 2; k + 1 < samples->n; k++) {
        if (!is_hole_of_an_hour(samples, k))
            continue;
        if (!is_such_night(rows, samples->time_s[k]))
            n_elsewhere++;
        else if (first == 0)
            first = k;
    }
    if (first == 0 || n_elsewhere > 0)
        return;
    struct stv__run run = {first, first, STV_SUSPECT, "clock"};
    stv__quality_say(rows, &run,
                     "one hour is missing in the night in which clocks go forward: local time with "
                     "daylight saving? Then give the zone's rule as clock, such as "
                     "CST6CDT,M3.2.0,M11.1.0");
}
