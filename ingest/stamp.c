/* A small grammar of date-times, and the vote on whether 03/04 is March or April.
 *
 * One stamp alone often cannot tell; a file can, by a number above 12 or by its dates going on
 * day by day under one reading only.  What this does not do: guess.  Months by name in other
 * languages than English are left to a person. */
#include "ingest/stamp.h"

#include "model/calendar.h"
#include "model/units.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define MINUTE_S 60
#define NOON_H 12
#define PIVOT_YEAR 70 /* two digits below it are 20xx */
#define YEAR_DIGITS 4
#define DAMAGED_ONE_IN 20 /* fewer stamps against the others are damage, and set aside */
#define MONTHS_MOST 12
#define DAYS_MOST 31
#define OFFSET_MOST_H 15
#define UNIX_DIGITS 10
#define UNIX_LEAST_S 950000000LL /* 2000-02 */
#define UNIX_MOST_S 4200000000LL /* 2103 */
#define SERIAL_DIGITS 5
#define SERIAL_LEAST_D 20000.0 /* 1954 */
#define SERIAL_MOST_D 80000.0  /* 2119 */
#define SERIAL_1970_D 25569.0  /* of 1970-01-01 in the 1900 system */

static void skip_blanks(const char **cursor)
{
    while (**cursor == ' ')
        (*cursor)++;
}

/* One to `most` digits; returns how many, 0 when there is none or there are more. */
static int take_number(const char **cursor, int most, int32_t *out)
{
    int n = 0;
    int32_t value = 0;
    const char *at = *cursor;
    while (isdigit((unsigned char)*at)) {
        if (++n > most)
            return 0;
        value = value * 10 + (*at++ - '0');
    }
    *out = value;
    *cursor = at;
    return n;
}

/* 20240314 or 202403140705, the digits of machine formats. */
static bool take_packed(const char **cursor, struct stv_stamp *stamp)
{
    size_t n = strspn(*cursor, "0123456789");
    int32_t field[5] = {0};
    static const int width[5] = {4, 2, 2, 2, 2};
    if (n != 8 && n != 12)
        return false;
    for (size_t i = 0; i < (n == 8 ? 3u : 5u); i++)
        for (int k = 0; k < width[i]; k++)
            field[i] = field[i] * 10 + (*(*cursor)++ - '0');
    stamp->year = field[0];
    stamp->first = field[1];
    stamp->second = field[2];
    stamp->is_year_first = true;
    stamp->has_time = n == 12;
    stamp->second_s = field[3] * STV_HOUR_S + field[4] * MINUTE_S;
    return field[3] < STV_DAY_H && field[4] < MINUTE_S;
}

/* English name or short name of a month, 1..12; 0 for none. */
static int32_t take_month_name(const char **cursor)
{
    static const char *const names[MONTHS_MOST] = {"january",   "february", "march",    "april",
                                                   "may",       "june",     "july",     "august",
                                                   "september", "october",  "november", "december"};
    size_t n = 0;
    while (isalpha((unsigned char)(*cursor)[n]))
        n++;
    for (int32_t i = 0; i < MONTHS_MOST; i++) {
        bool is_short = n == 3 || (n == 4 && i == 8); /* Sept */
        if ((is_short && strncasecmp(*cursor, names[i], 3) == 0 &&
             strncasecmp(*cursor, names[i], n) == 0) ||
            (n == strlen(names[i]) && strncasecmp(*cursor, names[i], n) == 0)) {
            *cursor += n;
            return i + 1;
        }
    }
    return 0;
}

static bool take_year_last(const char **cursor, struct stv_stamp *stamp)
{
    int n = take_number(cursor, YEAR_DIGITS, &stamp->year);
    if (n == 2)
        stamp->year += stamp->year < PIVOT_YEAR ? 2000 : 1900;
    return n == 2 || n == YEAR_DIGITS;
}

/* 5-Mar-24, 14 March 2024, Mar 14, 2024: the month says itself. */
static bool take_named_date(const char **cursor, struct stv_stamp *stamp)
{
    const char *at = *cursor;
    int32_t day, month = take_month_name(&at);
    bool is_month_first = month > 0;
    at += strspn(at, " -/.,");
    if (!take_number(&at, 2, &day))
        return false;
    at += strspn(at, " -/.,");
    if (!is_month_first)
        month = take_month_name(&at);
    at += strspn(at, " -/.,");
    if (month == 0 || !take_year_last(&at, stamp))
        return false;
    stamp->first = month;
    stamp->second = day;
    stamp->is_year_first = true; /* nothing is left to decide */
    *cursor = at;
    return true;
}

/* Seconds since 1970 as a stamp in UTC. */
static void set_instant(struct stv_stamp *stamp, int64_t time_s, bool is_utc)
{
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(time_s, 0, &second_s));
    *stamp = (struct stv_stamp){.year = date.year,
                                .first = date.month,
                                .second = date.day,
                                .second_s = second_s,
                                .is_year_first = true,
                                .has_time = true,
                                .has_offset = is_utc};
}

/* A number alone: seconds or milliseconds since 1970, which are UTC, or a spreadsheet's serial day,
 * counted from 1899-12-30, in the file's own clock. */
static bool read_number(const char *text, struct stv_stamp *out)
{
    size_t whole = strspn(text, "0123456789");
    char *end;
    if (text[whole] == '\0' && (whole == UNIX_DIGITS || whole == UNIX_DIGITS + 3)) {
        int64_t time_s = strtoll(text, NULL, 10) / (whole == UNIX_DIGITS ? 1 : 1000);
        if (time_s < UNIX_LEAST_S || time_s > UNIX_MOST_S)
            return false;
        set_instant(out, time_s, true);
        return true;
    }
    if (whole != SERIAL_DIGITS || (text[whole] != '.' && text[whole] != ',') ||
        strspn(text + whole + 1, "0123456789") == 0)
        return false;
    char copy[32];
    snprintf(copy, sizeof copy, "%.30s", text);
    copy[whole] = '.';
    double serial_d = strtod(copy, &end);
    if (*end || serial_d < SERIAL_LEAST_D || serial_d > SERIAL_MOST_D)
        return false;
    set_instant(out, (int64_t)((serial_d - SERIAL_1970_D) * STV_DAY_S + 0.5), false);
    out->is_serial = true;
    return true;
}

static bool take_date(const char **cursor, struct stv_stamp *stamp)
{
    if (take_packed(cursor, stamp) || take_named_date(cursor, stamp))
        return true;
    int32_t leading, middle;
    int n = take_number(cursor, YEAR_DIGITS, &leading);
    char separator = **cursor;
    if (n == 0 || separator == '\0' || !strchr("-/.", separator))
        return false;
    (*cursor)++;
    if (!take_number(cursor, 2, &middle) || *(*cursor)++ != separator)
        return false;
    stamp->first = n == YEAR_DIGITS ? middle : leading;
    stamp->second = middle;
    if (n == YEAR_DIGITS) {
        stamp->year = leading;
        stamp->is_year_first = true;
        return take_number(cursor, 2, &stamp->second) > 0;
    }
    return n <= 2 && take_year_last(cursor, stamp);
}

/* AM, a.m., PM ...: 0 when there is none, else 'a' or 'p'. */
static char take_half_day(const char **cursor)
{
    static const char *const spelt[] = {"am", "a.m.", "pm", "p.m."};
    for (size_t i = 0; i < 4; i++) {
        size_t n = strlen(spelt[i]);
        if (strncasecmp(*cursor, spelt[i], n) == 0) {
            *cursor += n;
            return spelt[i][0];
        }
    }
    return '\0';
}

static bool set_time(struct stv_stamp *stamp, const int32_t field[3], char half_day)
{
    int32_t hour = field[0];
    if (half_day) {
        if (hour < 1 || hour > NOON_H)
            return false;
        hour = hour % NOON_H + (half_day == 'p' ? NOON_H : 0);
    }
    stamp->has_time = true;
    stamp->second_s = hour * STV_HOUR_S + field[1] * MINUTE_S + field[2];
    return field[1] < MINUTE_S && field[2] < MINUTE_S && stamp->second_s <= STV_DAY_S;
}

static bool take_time(const char **cursor, struct stv_stamp *stamp)
{
    int32_t field[3] = {0}; /* hour, minute, second */
    if (!take_number(cursor, 2, &field[0]) || **cursor != ':')
        return false;
    for (int i = 1; i < 3 && **cursor == ':'; i++) {
        (*cursor)++;
        if (take_number(cursor, 2, &field[i]) != 2)
            return false;
    }
    if (**cursor == '.' || **cursor == ',') {
        (*cursor)++;
        size_t n = strspn(*cursor, "0123456789");
        if (n == 0)
            return false;
        *cursor += n;
    }
    skip_blanks(cursor);
    return set_time(stamp, field, take_half_day(cursor));
}

/* Z, UTC, +05:30, -0700, +02 */
static bool take_offset(const char **cursor, struct stv_stamp *stamp)
{
    int32_t hours, minutes = 0;
    if (**cursor == 'Z' || strncmp(*cursor, "UTC", 3) == 0) {
        *cursor += **cursor == 'Z' ? 1 : 3;
        stamp->has_offset = true;
        return true;
    }
    if (**cursor != '+' && **cursor != '-')
        return true;
    int sign = *(*cursor)++ == '-' ? -1 : 1;
    int n = take_number(cursor, 4, &hours);
    if (n == 4) {
        minutes = hours % 100;
        hours /= 100;
    } else if (n == 0 || n == 3) {
        return false;
    } else if (**cursor == ':') {
        (*cursor)++;
        if (take_number(cursor, 2, &minutes) != 2)
            return false;
    }
    stamp->has_offset = true;
    stamp->offset_min = sign * (hours * 60 + minutes);
    return hours <= OFFSET_MOST_H && minutes < 60;
}

bool stv_stamp_read(const char *text, struct stv_stamp *out)
{
    struct stv_stamp stamp = {0};
    const char *cursor = text;
    skip_blanks(&cursor);
    if (read_number(cursor, out))
        return true;
    if (!take_date(&cursor, &stamp))
        return false;
    bool has_separator = *cursor == 'T' || *cursor == ' ';
    if (*cursor == 'T')
        cursor++;
    skip_blanks(&cursor);
    if (has_separator && *cursor && !take_time(&cursor, &stamp))
        return false;
    skip_blanks(&cursor);
    if (stamp.has_time && !take_offset(&cursor, &stamp))
        return false;
    skip_blanks(&cursor);
    int32_t first_most = stamp.is_year_first ? MONTHS_MOST : DAYS_MOST;
    if (*cursor || stamp.first < 1 || stamp.first > first_most || stamp.second < 1 ||
        stamp.second > DAYS_MOST || (stamp.first > MONTHS_MOST && stamp.second > MONTHS_MOST))
        return false;
    *out = stamp;
    return true;
}

static bool date_of(const struct stv_stamp *stamp, enum stv_stamp_order order, struct stv_date *out)
{
    bool is_day_first = !stamp->is_year_first && order == STV_DAY_FIRST;
    out->year = stamp->year;
    out->month = is_day_first ? stamp->second : stamp->first;
    out->day = is_day_first ? stamp->first : stamp->second;
    return stv_date_is_valid(*out);
}

static bool is_next_day(const struct stv_stamp *from, const struct stv_stamp *to,
                        enum stv_stamp_order order)
{
    struct stv_date from_date, to_date;
    return date_of(from, order, &from_date) && date_of(to, order, &to_date) &&
           stv_day_from_date(to_date) == stv_day_from_date(from_date) + 1;
}

void stv_stamp_vote_add(struct stv_stamp_vote *vote, const struct stv_stamp *stamp)
{
    if (stamp->is_year_first)
        return;
    vote->n_first_day += stamp->first > MONTHS_MOST;
    vote->n_second_day += stamp->second > MONTHS_MOST;
    const struct stv_stamp *last = &vote->last;
    if (vote->n_numbers && (last->first != stamp->first || last->second != stamp->second)) {
        vote->n_changes++;
        vote->n_next_day[0] += is_next_day(last, stamp, STV_DAY_FIRST);
        vote->n_next_day[1] += is_next_day(last, stamp, STV_MONTH_FIRST);
    }
    vote->n_numbers++;
    vote->last = *stamp;
}

enum stv_status stv_stamp_vote_order(const struct stv_stamp_vote *vote, enum stv_stamp_order *out,
                                     char *why, size_t size)
{
    bool is_day = vote->n_first_day > vote->n_second_day / DAMAGED_ONE_IN;
    bool is_month = vote->n_second_day > vote->n_first_day / DAMAGED_ONE_IN;
    if (vote->n_numbers == 0) {
        *out = STV_YEAR_FIRST;
        return STV_OK;
    }
    if (!is_day && !is_month) {
        is_day = vote->n_next_day[0] > 0 && vote->n_next_day[1] == 0;
        is_month = vote->n_next_day[1] > 0 && vote->n_next_day[0] == 0;
    }
    if (is_day != is_month) {
        *out = is_day ? STV_DAY_FIRST : STV_MONTH_FIRST;
        return STV_OK;
    }
    if (is_day)
        snprintf(why, size,
                 "has dates with the day first and dates with the month first; write "
                 "them all as 2024-03-14");
    else
        snprintf(
            why, size,
            "has dates that can be read two ways, and nothing in the file decides: the last is "
            "%04d-%02d-%02d read day first, %04d-%02d-%02d read month first; say which under "
            "dates in loggers.csv (\"day first\" or \"month first\"), or write them as "
            "2024-03-14",
            vote->last.year, vote->last.second, vote->last.first, vote->last.year, vote->last.first,
            vote->last.second);
    return STV_E_PARSE;
}

bool stv_stamp_local_s(const struct stv_stamp *stamp, enum stv_stamp_order order,
                       int64_t *out_local_s)
{
    struct stv_date date;
    if (!date_of(stamp, order, &date))
        return false;
    *out_local_s = stv_day_from_date(date) * STV_DAY_S + stamp->second_s;
    return true;
}

enum stv_status stv_stamp_walk_utc(struct stv_stamp_walk *walk, const struct stv_stamp *stamp,
                                   int64_t local_s, int64_t *out_time_s)
{
    if (stamp->has_offset) {
        *out_time_s = local_s - (int64_t)stamp->offset_min * MINUTE_S;
        return STV_OK;
    }
    bool is_double = stv_clock_is_double(&walk->clock, local_s);
    if (!is_double)
        walk->is_second_pass = false;
    else if (walk->has_last && stv_clock_is_double(&walk->clock, walk->last_local_s) &&
             local_s <= walk->last_local_s)
        walk->is_second_pass = true;
    enum stv_status status = stv_clock_utc(&walk->clock, local_s, walk->is_second_pass, out_time_s);
    if (status == STV_OK) {
        walk->last_local_s = local_s;
        walk->has_last = true;
    }
    return status;
}

void stv_stamp_text(int64_t time_s, int32_t utc_offset_min, char *buffer, size_t size)
{
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(time_s, utc_offset_min, &second_s));
    snprintf(buffer, size, "%04d-%02d-%02d %02d:%02d", (int)date.year, (int)date.month,
             (int)date.day, (int)(second_s / STV_HOUR_S), (int)(second_s % STV_HOUR_S / MINUTE_S));
}
