/* Runs of the rows that most loggers write, in one pass over their bytes: a date of ten bytes that
 * the row before had too, a time of day no earlier than that row's, numbers with a point, the
 * line's end.  The first row that is not exactly so ends the run and is left to the general reader,
 * which decides what it means; here nothing is judged, only recognised.
 *
 * Everything that a row needs stands in local variables, for a row has some fifty cycles. */
#include "ingest/machine_parts.h"

#include "model/units.h"

#include <math.h>
#include <string.h>

#define DATE_BYTES 10 /* of 2024-05-03, and of 03.05.2024 */
#define ROW_LEAST 20  /* bytes of a row with a digit for each value, with room for its end */
#define DIGITS_MOST 9

/* Two digits at p, 100 and more when they are none. */
static inline unsigned pair(const char *p)
{
    unsigned tens = (unsigned char)p[0] - (unsigned)'0', ones = (unsigned char)p[1] - (unsigned)'0';
    return tens <= 9 && ones <= 9 ? 10 * tens + ones : 100;
}

/* -12.34 up to a delimiter or line end; NULL when it is not of that form.  The text ends with a
 * NUL, so that no digit loop runs past it. */
static inline const char *take_number(const char *p, double *out)
{
    static const double tens[DIGITS_MOST + 1] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
    bool is_negative = *p == '-';
    p += is_negative;
    const char *first = p;
    uint64_t digits = 0;
    unsigned digit;
    while ((digit = (unsigned char)*p - (unsigned)'0') <= 9) {
        digits = digits * 10 + digit;
        p++;
    }
    size_t n_whole = (size_t)(p - first), n_decimals = 0;
    if (*p == '.') {
        const char *mark = ++p;
        while ((digit = (unsigned char)*p - (unsigned)'0') <= 9) {
            digits = digits * 10 + digit;
            p++;
        }
        n_decimals = (size_t)(p - mark);
        if (n_decimals == 0)
            return NULL;
    }
    if (n_whole == 0 || n_whole + n_decimals > DIGITS_MOST)
        return NULL;
    double value = (double)(int64_t)digits / tens[n_decimals];
    *out = is_negative ? -value : value;
    return p;
}

/* HH:MM:SS by its eight bytes at once: each less its '0' or ':' has to be a digit, 0 for the
 * colons; then ten times a byte and the next one are the pairs.  Only where the first byte is the
 * lowest. */
#define COLONS 0x00003A00003A0000u
#define COLON_MASK 0x0000FF0000FF0000u
#define ZEROS 0x30303A30303A3030u
#define ABOVE_NINE 0x7676767676767676u /* carries into the top bit of a byte above 9 */
#define TOP_BITS 0x8080808080808080u

static inline bool take_eight(const char *p, unsigned *hour, unsigned *minute, unsigned *second)
{
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    uint64_t bytes;
    memcpy(&bytes, p, sizeof bytes);
    if ((bytes & COLON_MASK) != COLONS)
        return false;
    uint64_t digits = bytes - ZEROS;
    if (((digits + ABOVE_NINE) | digits) & TOP_BITS)
        return false;
    uint64_t pairs = digits * 10 + (digits >> 8);
    *hour = (unsigned)(pairs & 0xFF);
    *minute = (unsigned)(pairs >> 24 & 0xFF);
    *second = (unsigned)(pairs >> 48 & 0xFF);
    return true;
#else
    (void)p, (void)hour, (void)minute, (void)second;
    return false;
#endif
}

/* HH:MM or HH:MM:SS behind the date; NULL when it is neither. */
static inline const char *take_time(const char *p, int64_t *out_second_s)
{
    unsigned hour, minute, second = 0;
    if (take_eight(p, &hour, &minute, &second)) {
        p += 8;
    } else {
        hour = pair(p);
        minute = pair(p + 3);
        if (p[2] != ':' || p[5] == ':')
            return NULL;
        p += 5;
    }
    *out_second_s = (int64_t)hour * STV_HOUR_S + minute * 60 + second;
    return hour > 23 || minute > 59 || second > 59 ? NULL : p;
}

/* What is read of a column, out of reach of stores. */
struct lane {
    double offset, factor, correction, least, most;
    double *values;
};

static struct lane lane_of(const struct stv__rows *rows, size_t j)
{
    const struct stv_machine_column *column = &rows->machine->columns[j];
    return (struct lane){
        column->scale.offset,         column->scale.factor,
        column->correction,           rows->least[column->quantity],
        rows->most[column->quantity], rows->machine->samples.values[column->quantity]};
}

/* The delimiter, the number and the value behind it; NULL when the row is not plain. */
static inline const char *take_value(const char *p, char delimiter, const struct lane *lane,
                                     double *out)
{
    double number;
    if (*p != delimiter || !(p = take_number(p + 1, &number)))
        return NULL;
    double value = lane->offset + lane->factor * number + lane->correction;
    *out = value;
    return value >= lane->least && value <= lane->most ? p : NULL;
}

/* First and last second, on the rows' own clock, that need no second look. */
static void bounds_of(const struct stv__rows *rows, int64_t shift_s, int64_t *out_least_s,
                      int64_t *out_most_s)
{
    const struct stv_machine *machine = rows->machine;
    int64_t most_s = machine->to_s < machine->latest_s ? machine->to_s : machine->latest_s;
    *out_least_s = machine->from_s == INT64_MIN ? INT64_MIN : machine->from_s + shift_s;
    *out_most_s = most_s == INT64_MAX ? INT64_MAX : most_s + shift_s;
}

const char *stv__rows_fast(struct stv__rows *rows, const char *at, const char *end)
{
    struct stv_machine *machine = rows->machine;
    struct stv_samples *samples = &machine->samples;
    const char *text = machine->text->text;
    const char delimiter = machine->head.delimiter;
    const bool has_two = machine->n_columns == 2;
    const struct lane first = lane_of(rows, 0);
    const struct lane second = lane_of(rows, has_two ? 1 : 0);
    const int64_t shift_s = (int64_t)machine->clock.standard_offset_min * 60 + machine->shift_s;
    int64_t *const times_s = samples->time_s;
    uint32_t *const places = samples->at;
    int64_t least_s, most_s, last_s = rows->last_local_s;
    size_t k = samples->n;
    uint64_t date;
    uint16_t date_end;
    if (rows->date.n != DATE_BYTES || !rows->has_last)
        return at;
    bounds_of(rows, shift_s, &least_s, &most_s);
    memcpy(&date, rows->date.text, sizeof date);
    memcpy(&date_end, rows->date.text + sizeof date, sizeof date_end);
    while (end - at >= ROW_LEAST && k < samples->capacity) {
        uint64_t head;
        uint16_t head_end;
        int64_t second_s;
        double one, two = 0.0;
        memcpy(&head, at, sizeof head);
        memcpy(&head_end, at + sizeof head, sizeof head_end);
        const char *p = at + DATE_BYTES;
        if (head != date || head_end != date_end || (*p != 'T' && *p != ' ') ||
            !(p = take_time(p + 1, &second_s)) || !(p = take_value(p, delimiter, &first, &one)))
            break;
        if (has_two && !(p = take_value(p, delimiter, &second, &two)))
            break;
        p += *p == '\r';
        int64_t local_s = rows->date.day_s + second_s;
        if (*p != '\n' || local_s < last_s || local_s < least_s || local_s > most_s)
            break;
        times_s[k] = local_s - shift_s;
        places[k] = (uint32_t)(at - text);
        first.values[k] = one;
        if (has_two)
            second.values[k] = two;
        k++;
        last_s = local_s;
        at = p + 1;
    }
    machine->n_rows += k - samples->n;
    samples->n = k;
    rows->has_afternoon = rows->has_afternoon || last_s % STV_DAY_S >= 13 * STV_HOUR_S;
    rows->last_local_s = last_s;
    return at;
}
