/* Proleptic Gregorian dates as day numbers; no time zone rules live here. */
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

/* Days since 1970-01-01.  The date must be valid (stv_date_is_valid). */
int64_t stv_day_from_date(struct stv_date date);

/* The date of a day number; inverse of stv_day_from_date. */
struct stv_date stv_date_from_day(int64_t day_d);

/* True for dates that exist, years 1..9999. */
bool stv_date_is_valid(struct stv_date date);

/* 1 for 1 January, up to 366. */
int stv_day_of_year(int64_t day_d);

bool stv_year_is_leap(int32_t year);

/* The same day `n_months` later (or earlier); day 31 becomes the month's last day. */
int64_t stv_day_add_months(int64_t day_d, int n_months);

/* Day number and second of day of a UTC instant shifted by a fixed offset. */
int64_t stv_local_day(int64_t time_s, int32_t utc_offset_min, int32_t *out_second_s);

#endif
