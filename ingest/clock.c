/* Local time without the system's zone tables, so that a book means the same on every machine.
 *
 * A wall time w is an instant w - offset.  Both offsets are tried; the one whose instant really
 * lies in its half of the year stands.  Two stand in the autumn's double hour, none in the
 * spring's hole.  The halves are cut by the POSIX rules of the instant's own year, so southern
 * summers and negative summer times need no case of their own. */
#include "ingest/clock.h"

#include "model/calendar.h"
#include "model/units.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define MINUTE_S 60
#define HOUR_MIN 60
#define OFFSET_MOST_H 15       /* the widest in use is 14 */
#define RULE_TIME_MOST_H 167   /* POSIX.1-2017 8.3 allows a week either way */
#define RULE_TIME_USUAL_S 7200 /* 02:00 when a rule gives no time */
#define ZONE_NAME_LEAST 3
#define THURSDAY 4 /* 1970-01-01, Sunday being 0 */
#define WEEK_D 7

/* Reads up to max_digits digits; false when there is none. */
static bool read_digits(const char **cursor, int max_digits, int *out)
{
    int n = 0;
    *out = 0;
    while (n < max_digits && isdigit((unsigned char)**cursor)) {
        *out = *out * 10 + (**cursor - '0');
        (*cursor)++;
        n++;
    }
    return n > 0 && !isdigit((unsigned char)**cursor);
}

/* Two digits below sixty. */
static bool read_sixtieths(const char **cursor, int *out)
{
    const char *start = *cursor;
    return read_digits(cursor, 2, out) && *cursor - start == 2 && *out <= 59;
}

/* [+-]h[h][h][:mm[:ss]] as seconds, the sign as written. */
static bool read_time(const char **cursor, int most_h, int32_t *out_s)
{
    int sign = **cursor == '-' ? -1 : 1;
    int hours, minutes = 0, seconds = 0;
    if (**cursor == '-' || **cursor == '+')
        (*cursor)++;
    if (!read_digits(cursor, 3, &hours) || hours > most_h)
        return false;
    if (**cursor == ':') {
        (*cursor)++;
        if (!read_sixtieths(cursor, &minutes))
            return false;
        if (**cursor == ':') {
            (*cursor)++;
            if (!read_sixtieths(cursor, &seconds))
                return false;
        }
    }
    *out_s = sign * (hours * STV_HOUR_S + minutes * MINUTE_S + seconds);
    return true;
}

/* MST or <+0330>. */
static bool skip_zone_name(const char **cursor)
{
    const char *start = *cursor;
    if (*start == '<') {
        const char *end = strchr(start, '>');
        if (!end || end - start <= ZONE_NAME_LEAST)
            return false;
        *cursor = end + 1;
        return true;
    }
    while (isalpha((unsigned char)**cursor))
        (*cursor)++;
    return *cursor - start >= ZONE_NAME_LEAST;
}

/* ,Mm.w.d[/time] */
static bool read_rule(const char **cursor, struct stv_clock_rule *rule)
{
    if ((*cursor)[0] != ',' || (*cursor)[1] != 'M')
        return false;
    *cursor += 2;
    if (!read_digits(cursor, 2, &rule->month) || rule->month < 1 || rule->month > STV_MONTHS ||
        *(*cursor)++ != '.')
        return false;
    if (!read_digits(cursor, 1, &rule->week) || rule->week < 1 || rule->week > 5 ||
        *(*cursor)++ != '.')
        return false;
    if (!read_digits(cursor, 1, &rule->weekday) || rule->weekday >= WEEK_D)
        return false;
    rule->second_s = RULE_TIME_USUAL_S;
    if (**cursor != '/')
        return true;
    (*cursor)++;
    return read_time(cursor, RULE_TIME_MOST_H, &rule->second_s);
}

static bool is_whole_minutes(int32_t offset_s)
{
    return offset_s % MINUTE_S == 0;
}

/* UTC, UTC+h[h][:mm]: here the sign is the everyday one, east positive. */
static bool read_fixed(const char *text, struct stv_clock *clock)
{
    const char *cursor = text + 3;
    int32_t offset_s = 0;
    if (*cursor &&
        ((*cursor != '+' && *cursor != '-') || !read_time(&cursor, OFFSET_MOST_H, &offset_s)))
        return false;
    clock->standard_offset_min = offset_s / MINUTE_S;
    clock->summer_offset_min = clock->standard_offset_min;
    return *cursor == '\0' && is_whole_minutes(offset_s);
}

static const char *read_posix(const char *text, struct stv_clock *clock)
{
    const char *cursor = text;
    int32_t west_s;
    if (!skip_zone_name(&cursor) || !read_time(&cursor, OFFSET_MOST_H, &west_s) ||
        !is_whole_minutes(west_s))
        return "is not a clock; write UTC, UTC-07:00, or a POSIX rule such as "
               "MST7MDT,M3.2.0,M11.1.0";
    clock->standard_offset_min = -west_s / MINUTE_S;
    clock->summer_offset_min = clock->standard_offset_min;
    if (*cursor == '\0')
        return NULL;
    if (!skip_zone_name(&cursor))
        return "has text after its offset that names no summer time";
    clock->has_summer = true;
    clock->summer_offset_min = clock->standard_offset_min + HOUR_MIN;
    if (*cursor != ',' && *cursor != '\0') {
        if (!read_time(&cursor, OFFSET_MOST_H, &west_s) || !is_whole_minutes(west_s))
            return "has a summer offset that cannot be read";
        clock->summer_offset_min = -west_s / MINUTE_S;
    }
    if (*cursor == '\0')
        return "has a summer time but not when it begins and ends; write it like "
               "MST7MDT,M3.2.0,M11.1.0";
    if (!read_rule(&cursor, &clock->to_summer) || !read_rule(&cursor, &clock->to_standard) ||
        *cursor)
        return "has a rule that cannot be read; each is ,Mmonth.week.weekday with /time if "
               "it is not 02:00";
    return NULL;
}

enum stv_status stv_clock_parse(const char *text, struct stv_clock *out, char *why, size_t size)
{
    struct stv_clock clock = {0};
    const char *fault = NULL;
    if (strncmp(text, "UTC", 3) == 0 && !isalpha((unsigned char)text[3])) {
        if (!read_fixed(text, &clock))
            fault = "is not a fixed clock; write UTC, or UTC-07:00 for seven hours west";
    } else {
        fault = read_posix(text, &clock);
    }
    if (fault) {
        if (size)
            snprintf(why, size, "\"%.40s\" %s", text, fault);
        return STV_E_PARSE;
    }
    *out = clock;
    return STV_OK;
}

/* Local wall time, as seconds since 1970, at which a rule acts in a year. */
static int64_t rule_local_s(const struct stv_clock_rule *rule, int32_t year)
{
    struct stv_date first = {year, rule->month, 1};
    int64_t day_d = stv_day_from_date(first);
    int64_t weekday = ((day_d + THURSDAY) % WEEK_D + WEEK_D) % WEEK_D;
    int64_t next_month_d = stv_day_add_months(day_d, 1);
    day_d += (rule->weekday - weekday + WEEK_D) % WEEK_D + (int64_t)(rule->week - 1) * WEEK_D;
    if (day_d >= next_month_d)
        day_d -= WEEK_D;
    return day_d * STV_DAY_S + rule->second_s;
}

static bool is_summer(const struct stv_clock *clock, int64_t time_s)
{
    int64_t day_d = stv_local_day(time_s, clock->standard_offset_min, NULL);
    int32_t year = stv_date_from_day(day_d).year;
    int64_t begin_s =
        rule_local_s(&clock->to_summer, year) - (int64_t)clock->standard_offset_min * MINUTE_S;
    int64_t end_s =
        rule_local_s(&clock->to_standard, year) - (int64_t)clock->summer_offset_min * MINUTE_S;
    if (begin_s < end_s)
        return time_s >= begin_s && time_s < end_s;
    return time_s < end_s || time_s >= begin_s;
}

/* The instants, in order, that show this wall time: 0, 1 or 2 of them. */
static int instants(const struct stv_clock *clock, int64_t local_s, int64_t out_time_s[2])
{
    int64_t standard_s = local_s - (int64_t)clock->standard_offset_min * MINUTE_S;
    int64_t summer_s = local_s - (int64_t)clock->summer_offset_min * MINUTE_S;
    int n = 0;
    if (!clock->has_summer || !is_summer(clock, standard_s))
        out_time_s[n++] = standard_s;
    if (clock->has_summer && is_summer(clock, summer_s))
        out_time_s[n++] = summer_s;
    if (n == 2 && out_time_s[0] > out_time_s[1]) {
        out_time_s[0] = summer_s;
        out_time_s[1] = standard_s;
    }
    return n;
}

enum stv_status stv_clock_utc(const struct stv_clock *clock, int64_t local_s, bool second_pass,
                              int64_t *out_time_s)
{
    int64_t found_s[2];
    int n = instants(clock, local_s, found_s);
    if (n == 0)
        return STV_E_DOMAIN;
    *out_time_s = found_s[second_pass && n == 2];
    return STV_OK;
}

bool stv_clock_is_double(const struct stv_clock *clock, int64_t local_s)
{
    int64_t found_s[2];
    return instants(clock, local_s, found_s) == 2;
}
