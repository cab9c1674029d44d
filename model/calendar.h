/* Proleptic Gregorian dates as day numbers; no time zone rules live here.
 *
 * All functions are scalar in, scalar out, exact, and allocate nothing.  Day numbers count from
 * 1970-01-01 (day 0) and are meant for years 1..9999; other years are computed by the same rule.
 * Source: the Gregorian rule (ISO 8601); tested day by day over eight centuries. */
#ifndef STV_MODEL_CALENDAR_H
#define STV_MODEL_CALENDAR_H

#include <stdbool.h>
#include <stdint.h>

struct stv_date {
    int32_t year;
    int32_t month; /* 1..12 */
    int32_t day;   /* 1..31 */
};

#define STV_MONTHS 12

/* Day number of a date, which must be valid (stv_date_is_valid); else the number is meaningless. */
int64_t stv_day_from_date(struct stv_date date);

/* The date of a day number; inverse of stv_day_from_date. */
struct stv_date stv_date_from_day(int64_t day_d);

/* True for dates that exist, years 1..9999. */
bool stv_date_is_valid(struct stv_date date);

/* 1 for 1 January, up to 366. */
int stv_day_of_year(int64_t day_d);

/* 0 for 1 January, 364 for 31 December of every year: 29 February counts with the 28th. */
int stv_day_of_common_year(int64_t day_d);

/* True when the year has a 29 February. */
bool stv_year_is_leap(int32_t year);

/* The same day n_months later, or earlier when negative; a day that the month lacks becomes its
 * last.  The result must lie in year 1 or later. */
int64_t stv_day_add_months(int64_t day_d, int n_months);

/* Local day number of a UTC instant.
 *
 * time_s          seconds since 1970, UTC; negative before
 * utc_offset_min  minutes that local clocks are ahead
 * out_second_s    second of the local day, 0..86399; may be NULL */
int64_t stv_local_day(int64_t time_s, int32_t utc_offset_min, int32_t *out_second_s);

#endif
