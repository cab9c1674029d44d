/* Civil dates by the shifted-year method: the year starts on 1 March, so the leap day is last. */
#include "model/calendar.h"

#include "model/units.h"

#define DAYS_PER_ERA 146097  /* 400 Gregorian years */
#define EPOCH_SHIFT_D 719468 /* 0000-03-01 to 1970-01-01 */
#define FIRST_OF_MARCH_IDX 59

int64_t stv_day_from_date(struct stv_date date)
{
    int64_t year = (int64_t)date.year - (date.month <= 2);
    int64_t era = (year >= 0 ? year : year - 399) / 400;
    int64_t year_of_era = year - era * 400;
    int64_t month_from_march = (date.month + 9) % 12;
    int64_t day_of_year = (153 * month_from_march + 2) / 5 + date.day - 1;
    int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * DAYS_PER_ERA + day_of_era - EPOCH_SHIFT_D;
}

struct stv_date stv_date_from_day(int64_t day_d)
{
    int64_t shifted = day_d + EPOCH_SHIFT_D;
    int64_t era = (shifted >= 0 ? shifted : shifted - (DAYS_PER_ERA - 1)) / DAYS_PER_ERA;
    int64_t day_of_era = shifted - era * DAYS_PER_ERA;
    int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t month_from_march = (5 * day_of_year + 2) / 153;
    struct stv_date date;
    date.day = (int32_t)(day_of_year - (153 * month_from_march + 2) / 5 + 1);
    date.month = (int32_t)(month_from_march < 10 ? month_from_march + 3 : month_from_march - 9);
    date.year = (int32_t)(year_of_era + era * 400 + (date.month <= 2));
    return date;
}

bool stv_year_is_leap(int32_t year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int32_t days_in_month(int32_t year, int32_t month)
{
    static const int32_t days[STV_MONTHS] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && stv_year_is_leap(year));
}

bool stv_date_is_valid(struct stv_date date)
{
    return date.year >= 1 && date.year <= 9999 && date.month >= 1 && date.month <= STV_MONTHS &&
           date.day >= 1 && date.day <= days_in_month(date.year, date.month);
}

int stv_day_of_year(int64_t day_d)
{
    struct stv_date first = stv_date_from_day(day_d);
    first.month = 1;
    first.day = 1;
    return (int)(day_d - stv_day_from_date(first)) + 1;
}

int stv_day_of_common_year(int64_t day_d)
{
    int idx = stv_day_of_year(day_d) - 1;
    bool is_past_leap_day =
        idx >= FIRST_OF_MARCH_IDX && stv_year_is_leap(stv_date_from_day(day_d).year);
    return is_past_leap_day ? idx - 1 : idx;
}

int64_t stv_day_add_months(int64_t day_d, int n_months)
{
    struct stv_date date = stv_date_from_day(day_d);
    int32_t months = date.year * STV_MONTHS + date.month - 1 + n_months;
    date.year = months / STV_MONTHS;
    date.month = months % STV_MONTHS + 1;
    int32_t last = days_in_month(date.year, date.month);
    if (date.day > last)
        date.day = last;
    return stv_day_from_date(date);
}

int64_t stv_local_day(int64_t time_s, int32_t utc_offset_min, int32_t *out_second_s)
{
    int64_t local_s = time_s + (int64_t)utc_offset_min * 60;
    int64_t day_d = local_s / STV_DAY_S;
    int64_t second_s = local_s % STV_DAY_S;
    if (second_s < 0) {
        second_s += STV_DAY_S;
        day_d--;
    }
    if (out_second_s)
        *out_second_s = (int32_t)second_s;
    return day_d;
}
