/* What every format's reader needs: rows, values, times, places.  A missing code becomes NaN and is
 * no fault; a word, or a number that cannot be, is set aside and said where it stands. */
#include "ingest/weather_format.h"

#include "ingest/clock.h"
#include "ingest/machine.h"
#include "ingest/reading.h"
#include "ingest/stamp.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FOUND_MAX 96
#define WHY_MAX 200
#define STAMP_MAX 48
#define NAMES_LISTED 12
#define YEAR_LEAST 1850
#define YEAR_MOST 2150
#define MINUTE_S 60
#define LEAST_LINE 16 /* bytes of the shortest row that any format has */

struct stv_weather_row stv__weather_row(void)
{
    struct stv_weather_row row = {0};
    for (size_t j = 0; j < STV_WQ_N; j++)
        row.values[j] = (double)NAN;
    return row;
}

/* Lines of a text, roughly: from the length of its middle ones. */
static size_t expected_rows(const struct stv_weather_text *file)
{
    size_t middle = file->n / 2, n_seen = 0, end = middle;
    while (end < file->n && n_seen < 8)
        n_seen += file->text[end++] == '\n';
    return n_seen ? file->n / ((end - middle) / n_seen + 1) + 1 : file->n / LEAST_LINE + 1;
}

bool stv__weather_begin(struct stv_weather_text *file, unsigned quantities)
{
    file->status = stv_samples_init(&file->samples, quantities, expected_rows(file));
    return file->status == STV_OK;
}

void stv__weather_take_ranked(struct stv_weather_text *file, const struct stv_line *line,
                              const struct stv_weather_row *row, uint8_t rank)
{
    bool has_value = false;
    file->n_rows++;
    for (size_t j = 0; j < STV_WQ_N; j++)
        has_value = has_value || (file->samples.values[j] && isfinite(row->values[j]));
    if (!has_value) {
        file->n_empty++;
        return;
    }
    enum stv_status status = stv_samples_add(&file->samples, row->time_s, line->at, row->values);
    if (status == STV_OK)
        file->samples.rank[file->samples.n - 1] = rank;
    else
        file->status = status;
}

void stv__weather_take(struct stv_weather_text *file, const struct stv_line *line,
                       const struct stv_weather_row *row)
{
    stv__weather_take_ranked(file, line, row, 0);
}

static void say(struct stv_weather_text *file, const struct stv_line *line, const char *rule,
                struct stv_slice found, const char *what)
{
    char text[FOUND_MAX];
    stv_slice_copy(found, text, sizeof text);
    struct stv_finding finding = {.severity = STV_SET_ASIDE,
                                  .rule = rule,
                                  .file = file->file,
                                  .row = line->number,
                                  .found = text};
    stv_finding_add(file->problems, &finding, "%s", what);
}

void stv__weather_row_aside(struct stv_weather_text *file, const struct stv_line *line,
                            struct stv_slice found, const char *what)
{
    file->n_rows++;
    file->n_set_aside++;
    say(file, line, "row", found, what);
}

static void value_aside(struct stv_weather_text *file, const struct stv_line *line,
                        struct stv_slice cell, enum stv_weather_quantity quantity,
                        enum stv_reading_fault fault)
{
    char what[WHY_MAX];
    file->n_values_set_aside++;
    snprintf(what, sizeof what, "%s %s: the value is not used", stv_reading_name(quantity),
             stv_reading_fault_text(quantity, fault));
    say(file, line, fault == STV_READING_CODE ? "code" : "value", cell, what);
}

double stv__weather_value(struct stv_weather_text *file, const struct stv_line *line,
                          struct stv_slice cell, struct stv_weather_want want)
{
    double number, value;
    if (cell.n == 0)
        return (double)NAN;
    if (!stv_slice_number(cell, &number)) {
        value_aside(file, line, cell, want.quantity, STV_READING_WORD);
        return (double)NAN;
    }
    if (number == want.missing)
        return (double)NAN;
    value = want.offset + want.factor * number;
    enum stv_reading_fault fault = stv_reading_check(want.quantity, number, &value);
    if (fault == STV_READING_AT_LIMIT)
        file->n_at_limit[want.quantity]++;
    if (fault == STV_READING_GOOD || fault == STV_READING_AT_LIMIT)
        return value;
    file->n_beyond[want.quantity] += fault == STV_READING_BEYOND;
    value_aside(file, line, cell, want.quantity, fault);
    return (double)NAN;
}

void stv__weather_flagged(struct stv_weather_text *file, const struct stv_line *line,
                          enum stv_weather_quantity quantity, struct stv_slice code)
{
    size_t i = 0;
    char text[sizeof file->flags[0].code];
    stv_slice_copy(code, text, sizeof text);
    while (i < file->n_flags &&
           (file->flags[i].quantity != quantity || strcmp(file->flags[i].code, text) != 0))
        i++;
    if (i == file->n_flags) {
        if (i == STV_FLAGS_MAX) /* too many different codes: the last entry counts them all */
            i--;
        else
            file->flags[file->n_flags++] =
                (struct stv_weather_flag){.quantity = quantity, .first_line = line->number};
        memcpy(file->flags[i].code, text, sizeof text);
    }
    file->flags[i].count++;
    file->flags[i].last_line = line->number;
}

bool stv__weather_time(int32_t year, int32_t month, int32_t day, int32_t hour, int32_t minute,
                       int64_t *out_s)
{
    struct stv_date date = {.year = year, .month = month, .day = day};
    if (year < YEAR_LEAST || year > YEAR_MOST || !stv_date_is_valid(date) || hour < 0 ||
        hour > STV_DAY_H || minute < 0 || minute >= MINUTE_S || (hour == STV_DAY_H && minute > 0))
        return false;
    *out_s = stv_day_from_date(date) * STV_DAY_S + hour * STV_HOUR_S + minute * MINUTE_S;
    return true;
}

/* 2024031407: ten digits, hour last, which some services write. */
static bool hour_stamp(struct stv_slice text, int64_t *out_s)
{
    int32_t year, month, day, hour;
    return text.n == 10 && stv_slice_int((struct stv_slice){text.text, 4}, &year) &&
           stv_slice_int((struct stv_slice){text.text + 4, 2}, &month) &&
           stv_slice_int((struct stv_slice){text.text + 6, 2}, &day) &&
           stv_slice_int((struct stv_slice){text.text + 8, 2}, &hour) &&
           stv__weather_time(year, month, day, hour, 0, out_s);
}

bool stv__weather_stamp(struct stv_slice text, int64_t *out_s)
{
    char copy[STAMP_MAX];
    struct stv_stamp stamp;
    if (hour_stamp(text, out_s))
        return true;
    if (text.n >= sizeof copy)
        return false;
    stv_slice_copy(text, copy, sizeof copy);
    if (!stv_stamp_read(copy, &stamp) || !stamp.is_year_first || stamp.year < YEAR_LEAST ||
        stamp.year > YEAR_MOST || !stv_stamp_local_s(&stamp, STV_YEAR_FIRST, out_s))
        return false;
    if (stamp.has_offset)
        *out_s -= (int64_t)stamp.offset_min * MINUTE_S;
    return true;
}

bool stv__weather_typical_time(int32_t month, int32_t day, int32_t hour, int64_t *out_s)
{
    return hour >= 1 && hour <= STV_DAY_H &&
           stv__weather_time(STV_TYPICAL_YEAR, month, day, hour - 1, 0, out_s);
}

bool stv__weather_site(struct stv_weather_text *file, double latitude_deg, double longitude_deg,
                       double elevation_m)
{
    bool is_nowhere = latitude_deg == 0.0 && longitude_deg == 0.0;
    if (!(fabs(latitude_deg) <= 90.0) || !(fabs(longitude_deg) <= 180.0) || is_nowhere)
        return false;
    file->meta.site = (struct stv_site_position){latitude_deg, longitude_deg, elevation_m};
    file->meta.has_site = true;
    return true;
}

void stv__weather_clock(struct stv_weather_text *file, double offset_h)
{
    int offset_min = (int)lround(fabs(offset_h) * 60.0);
    if (offset_min == 0)
        snprintf(file->meta.clock, sizeof file->meta.clock, "UTC");
    else
        snprintf(file->meta.clock, sizeof file->meta.clock, "UTC%c%02d:%02d",
                 offset_h < 0.0 ? '-' : '+', offset_min / 60 % 100, offset_min % 60);
}

void stv__weather_hour_ending(struct stv_weather_text *file)
{
    for (size_t j = 0; j < STV_WQ_N; j++)
        file->shift_s[j] = -1; /* one second puts the end of an hour into that hour */
}

enum stv_status stv__weather_refuse(struct stv_weather_text *file, size_t line,
                                    struct stv_slice found, const char *what)
{
    char text[FOUND_MAX];
    stv_slice_copy(found, text, sizeof text);
    stv_problem_add(file->problems, STV_REFUSED, file->file, line, 0, text, "%s", what);
    return STV_E_PARSE;
}

enum stv_status stv__weather_choose(struct stv_weather_text *file, const struct stv_slice *stations,
                                    size_t n, size_t *out_idx)
{
    char list[WHY_MAX] = "";
    *out_idx = 0;
    file->has_chosen = true;
    if (n == 1 && file->station[0] == '\0')
        return STV_OK;
    for (size_t i = 0; i < n; i++) {
        if (file->station[0] && stv_slice_is(stations[i], file->station)) {
            *out_idx = i;
            return STV_OK;
        }
        size_t used = strlen(list);
        if (i < NAMES_LISTED)
            snprintf(list + used, sizeof list - used, "%s%.*s", i ? ", " : "",
                     (int)(stations[i].n < STV_NAME_MAX ? stations[i].n : STV_NAME_MAX),
                     stations[i].text);
    }
    stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, file->station,
                    "%s The file has: %s%s",
                    file->station[0] ? "no such station." : "several stations; say which.", list,
                    n > NAMES_LISTED ? ", and more" : "");
    return STV_E_USAGE;
}
