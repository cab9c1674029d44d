/* The row that most loggers write, in one pass over its bytes: a year-first date that the row
 * before had too, a time of day, numbers with a point, the line's end.  Whatever is not exactly so
 * is left to the general reader, which decides what it means; here nothing is judged, only
 * recognised. */
#include "ingest/machine_parts.h"

#include "model/units.h"

#include <math.h>
#include <string.h>

#define ISO_DATE 10 /* bytes of 2024-05-03 */
#define DIGITS_MOST 9

/* Two digits at p, 100 and more when they are none. */
static unsigned pair(const char *p)
{
    unsigned tens = (unsigned char)p[0] - (unsigned)'0', ones = (unsigned char)p[1] - (unsigned)'0';
    return tens <= 9 && ones <= 9 ? 10 * tens + ones : 100;
}

/* -12.34 up to a delimiter or line end; false when it is not of that form. */
static bool take_number(const char **cursor, const char *end, double *out)
{
    static const double tens[DIGITS_MOST + 1] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
    const char *p = *cursor;
    bool is_negative = p < end && *p == '-';
    p += is_negative;
    const char *first = p;
    uint64_t digits = 0;
    unsigned digit;
    while (p < end && (digit = (unsigned char)*p - (unsigned)'0') <= 9) {
        digits = digits * 10 + digit;
        p++;
    }
    size_t n_whole = (size_t)(p - first), n_decimals = 0;
    if (p < end && *p == '.') {
        const char *mark = ++p;
        while (p < end && (digit = (unsigned char)*p - (unsigned)'0') <= 9) {
            digits = digits * 10 + digit;
            p++;
        }
        n_decimals = (size_t)(p - mark);
        if (n_decimals == 0)
            return false;
    }
    if (n_whole == 0 || n_whole + n_decimals > DIGITS_MOST)
        return false;
    double value = (double)(int64_t)digits / tens[n_decimals];
    *out = is_negative ? -value : value;
    *cursor = p;
    return true;
}

/* HH:MM or HH:MM:SS behind the date. */
static bool take_time(const char **cursor, const char *end, int64_t *out_second_s)
{
    const char *p = *cursor;
    if (end - p < 9)
        return false;
    unsigned hour = pair(p), minute = pair(p + 3), second = 0;
    if (hour > 23 || minute > 59 || p[2] != ':')
        return false;
    p += 5;
    if (*p == ':') {
        second = pair(p + 1);
        p += 3;
    }
    if (second > 59)
        return false;
    *out_second_s = (int64_t)hour * STV_HOUR_S + minute * 60 + second;
    *cursor = p;
    return true;
}

/* The columns of a row: cells 1, 2, ... in that order. */
static bool take_values(const struct stv__rows *rows, const char **cursor, const char *end,
                        char delimiter, double values[2])
{
    const struct stv_machine *machine = rows->machine;
    for (size_t j = 0; j < machine->n_columns; j++) {
        const struct stv_machine_column *column = &machine->columns[j];
        double number;
        if (*cursor >= end || **cursor != delimiter)
            return false;
        (*cursor)++;
        if (!take_number(cursor, end, &number))
            return false;
        values[j] = column->scale.offset + column->scale.factor * number + column->correction;
        if (!(values[j] >= rows->least[column->quantity] &&
              values[j] <= rows->most[column->quantity]))
            return false;
    }
    return true;
}

bool stv__row_fast(struct stv__rows *rows, const char *at, const char *end, const char **out_next)
{
    struct stv_machine *machine = rows->machine;
    struct stv_samples *samples = &machine->samples;
    const char *p = at + ISO_DATE + 1;
    int64_t second_s;
    double values[2];
    if (rows->date.n != ISO_DATE || end - at < ISO_DATE + 10 ||
        memcmp(at, rows->date.text, ISO_DATE) != 0 ||
        (at[ISO_DATE] != 'T' && at[ISO_DATE] != ' ') || !take_time(&p, end, &second_s) ||
        !take_values(rows, &p, end, machine->head.delimiter, values))
        return false;
    if (p < end && *p == '\r')
        p++;
    if (p >= end || *p != '\n' || samples->n == samples->capacity)
        return false;
    int64_t local_s = rows->date.day_s + second_s;
    int64_t time_s = local_s - (int64_t)machine->clock.standard_offset_min * 60 - machine->shift_s;
    if (time_s < machine->from_s || time_s > machine->to_s || time_s > machine->latest_s ||
        local_s < rows->last_local_s)
        return false;
    rows->has_afternoon = rows->has_afternoon || second_s >= 13 * STV_HOUR_S;
    rows->last_local_s = local_s;
    rows->has_last = true;
    size_t k = samples->n++;
    samples->time_s[k] = time_s;
    samples->at[k] = (uint32_t)(at - machine->text->text);
    samples->rank[k] = 0;
    for (size_t j = 0; j < machine->n_columns; j++)
        samples->values[machine->columns[j].quantity][k] = values[j];
    machine->n_rows++;
    *out_next = p + 1;
    return true;
}
