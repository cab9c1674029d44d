/* Runs of the rows that most loggers write, in one pass over their bytes: a date of ten bytes that
 * the row before had too, a time of day no earlier than that row's, numbers with a point, the
 * line's end.  The first row that is not exactly so ends the run and is left to the general reader,
 * which decides what it means; here nothing is judged, only recognised.
 *
 * Eight bytes are looked at as one whole number.  XOR with the expected text leaves the digits'
 * values, and zeros where the marks stand; adding 0x76 to a digit's byte, and 0x7F to a mark's,
 * sets its top bit exactly when it was neither.  How many digits a number has is taken from the row
 * before and checked.  Everything that a row needs stands in local variables, for a row has some
 * thirty cycles. */
#include "ingest/machine_parts.h"

#include "model/units.h"

#include <math.h>
#include <string.h>

#define DATE_BYTES 10 /* of 2024-05-03, and of 03.05.2024 */
#define HEAD_BYTES (DATE_BYTES + 1)
#define ROW_ROOM 64 /* bytes: the longest row that is read here, and the eight behind it */
#define DIGITS_MOST 9
#define SHAPE_DIGITS 4 /* of a number whose digits are read together */
#define TOP_BITS 0x8080808080808080u
#define DIGIT_ADDED 0x76u
#define MARK_ADDED 0x7Fu

#if defined __BYTE_ORDER__ && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
#define FIRST_BYTE_IS_LOW true
#else
#define FIRST_BYTE_IS_LOW false
#endif

static const double tens[DIGITS_MOST + 1] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};

/* A text of up to eight bytes, digits anywhere and marks where they have to be. */
struct pattern {
    uint64_t expected; /* '0' and the marks */
    uint64_t read;     /* 0xFF at each of its bytes */
    uint64_t added;
};

/* A number with the mark that ends it. */
struct shape {
    struct pattern pattern;
    uint64_t whole, decimals;               /* 0xFF at the digits before and behind the point */
    uint64_t whole_factor, decimals_factor; /* move them to stand together, the last in byte 4 */
    size_t n_bytes;                         /* with the mark */
    double ten;
};

/* What is read of a column. */
struct lane {
    double offset, factor, correction, least, most;
    double *values;
    struct shape shape;
};

/* What is read of a stamp. */
struct clock {
    uint64_t start, end; /* the eight first and the eight last of the bytes before its time */
    struct pattern pattern;
    size_t n_bytes; /* of the time: 5 or 8 */
};

static inline uint64_t word_at(const char *p)
{
    uint64_t word;
    memcpy(&word, p, sizeof word);
    return word;
}

/* The digits of a text of that pattern, marks as zeros; false when it is none. */
static inline bool fits(uint64_t word, const struct pattern *pattern, uint64_t *out_digits)
{
    uint64_t digits = (word ^ pattern->expected) & pattern->read;
    *out_digits = digits;
    return !((digits | (digits + pattern->added)) & TOP_BITS);
}

static struct pattern pattern_of(const char *text, size_t n)
{
    struct pattern pattern = {0};
    for (size_t i = 0; i < n; i++) {
        bool is_digit = text[i] >= '0' && text[i] <= '9';
        pattern.expected |= (uint64_t)(unsigned char)(is_digit ? '0' : text[i]) << (8 * i);
        pattern.read |= (uint64_t)0xFF << (8 * i);
        pattern.added |= (uint64_t)(is_digit ? DIGIT_ADDED : MARK_ADDED) << (8 * i);
    }
    return pattern;
}

static const struct shape no_shape = {.pattern = {.added = TOP_BITS}, .ten = 1.0};

/* The shape of the number at p and the mark behind it. */
static struct shape shape_of(const char *p, size_t n_whole, size_t n_decimals)
{
    size_t n_digits = n_whole + n_decimals, n_bytes = n_digits + (n_decimals > 0) + 1;
    struct shape shape = no_shape;
    shape.ten = tens[n_decimals];
    if (!FIRST_BYTE_IS_LOW || n_digits > SHAPE_DIGITS)
        return shape;
    shape.pattern = pattern_of(p, n_bytes);
    shape.n_bytes = n_bytes;
    shape.whole = ((uint64_t)1 << (8 * n_whole)) - 1;
    shape.decimals_factor = (uint64_t)1 << (8 * (SHAPE_DIGITS - n_digits));
    shape.whole_factor = shape.decimals_factor << 8; /* a byte more: over the point */
    if (n_decimals > 0)
        shape.decimals = (((uint64_t)1 << (8 * n_decimals)) - 1) << (8 * (n_whole + 1));
    return shape;
}

/* Four digits in bytes 1 to 4 as one number: first two of two digits, then one of four. */
static inline uint64_t joined(uint64_t digits)
{
    uint64_t twos = (digits * 10 + (digits >> 8)) & 0xFF00FF00;
    return (twos * (1 + ((uint64_t)100 << 16))) >> 24 & 0xFFFF;
}

/* 12.34 and the mark behind it, digit by digit; notes its shape.  NULL when it is not of that form.
 * The text ends with a NUL, so that no loop runs past it. */
__attribute__((noinline)) static const char *take_digits(const char *p, struct shape *shape,
                                                         uint64_t *out_digits)
{
    const char *first = p;
    uint64_t digits = 0;
    unsigned digit;
    size_t n_decimals = 0;
    for (; (digit = (unsigned char)*p - (unsigned)'0') <= 9 && p - first < DIGITS_MOST; p++)
        digits = digits * 10 + digit;
    size_t n_whole = (size_t)(p - first);
    if (*p == '.') {
        const char *mark = ++p;
        for (; (digit = (unsigned char)*p - (unsigned)'0') <= 9 && p - mark < DIGITS_MOST; p++)
            digits = digits * 10 + digit;
        n_decimals = (size_t)(p - mark);
        if (n_decimals == 0)
            return NULL;
    }
    if (n_whole == 0 || n_whole + n_decimals > DIGITS_MOST || digit <= 9 || *p == '.')
        return NULL;
    *shape = shape_of(first, n_whole, n_decimals);
    *out_digits = digits;
    return p + 1;
}

/* The value of a number without its sign and the mark behind it; NULL when it is not plain. */
static inline const char *take_unsigned(const char *p, bool is_negative, struct lane *lane,
                                        double *out)
{
    const struct shape *shape = &lane->shape;
    uint64_t digits;
    if (fits(word_at(p), &shape->pattern, &digits)) {
        digits = joined((digits & shape->whole) * shape->whole_factor +
                        (digits & shape->decimals) * shape->decimals_factor);
        p += shape->n_bytes;
    } else if (!(p = take_digits(p, &lane->shape, &digits))) {
        return NULL;
    }
    int64_t number = is_negative ? -(int64_t)digits : (int64_t)digits;
    double value = lane->offset + lane->factor * ((double)number / shape->ten) + lane->correction;
    *out = value;
    return value >= lane->least && value <= lane->most ? p : NULL;
}

/* The same with its sign.  A branch and not a sum, so that the next bytes can be read before this
 * one is known. */
static inline const char *take_value(const char *p, struct lane *lane, double *out)
{
    return *p == '-' ? take_unsigned(p + 1, true, lane, out) : take_unsigned(p, false, lane, out);
}

/* HH:MM:SS or HH:MM behind the date; false when it is not of the run's form. */
static inline bool take_time(const char *p, const struct clock *clock, int64_t *out_second_s)
{
    /* Added to hour, minute and second they set the top bit from 24, 60 and 60 on. */
    const uint64_t limits = 0x44 << 24 | (uint64_t)0x44 << 48 | 0x68;
    uint64_t digits;
    if (!fits(word_at(p), &clock->pattern, &digits))
        return false;
    uint64_t fields = (digits * 10 + (digits >> 8)) & 0x00FF0000FF0000FF;
    *out_second_s =
        (int64_t)((fields & 0xFF) * STV_HOUR_S + (fields >> 24 & 0xFF) * 60 + (fields >> 48));
    return !((fields + limits) & TOP_BITS);
}

static struct lane lane_of(const struct stv__rows *rows, size_t j)
{
    const struct stv_machine_column *column = &rows->machine->columns[j];
    return (struct lane){.offset = column->scale.offset,
                         .factor = column->scale.factor,
                         .correction = column->correction,
                         .least = rows->least[column->quantity],
                         .most = rows->most[column->quantity],
                         .values = rows->machine->samples.values[column->quantity],
                         .shape = no_shape};
}

/* The stamps of the run that starts at a row; false when they are not of ten bytes, T or a blank,
 * and a time. */
static bool clock_of(const struct stv__rows *rows, const char *at, struct clock *out)
{
    char head[HEAD_BYTES];
    if (!FIRST_BYTE_IS_LOW || rows->date.n != DATE_BYTES || !rows->has_last ||
        (at[DATE_BYTES] != 'T' && at[DATE_BYTES] != ' '))
        return false;
    memcpy(head, rows->date.text, DATE_BYTES);
    head[DATE_BYTES] = at[DATE_BYTES];
    out->start = word_at(head);
    out->end = word_at(head + HEAD_BYTES - sizeof out->end);
    out->n_bytes = at[HEAD_BYTES + 5] == ':' ? 8 : 5;
    out->pattern = pattern_of("00:00:00", out->n_bytes);
    return true;
}

/* First and last second, on the rows' own clock, that need no second look. */
static void bounds_of(const struct stv__rows *rows, int64_t shift_s, int64_t *out_least_s,
                      int64_t *out_most_s)
{
    const struct stv_machine *machine = rows->machine;
    int64_t most_s = machine->to_s < machine->latest_s ? machine->to_s : machine->latest_s;
    int64_t least_s = machine->from_s == INT64_MIN ? INT64_MIN : machine->from_s + shift_s;
    *out_least_s = least_s > rows->last_local_s ? least_s : rows->last_local_s;
    *out_most_s = most_s == INT64_MAX ? INT64_MAX : most_s + shift_s;
}

const char *stv__rows_fast(struct stv__rows *rows, const char *at, const char *end)
{
    struct stv_machine *machine = rows->machine;
    struct stv_samples *samples = &machine->samples;
    const char *const text = machine->text->text;
    const char delimiter = machine->head.delimiter;
    const bool has_two = machine->n_columns == 2;
    const int64_t shift_s = (int64_t)machine->clock.standard_offset_min * 60 + machine->shift_s;
    const int64_t day_s = rows->date.day_s;
    int64_t *const times_s = samples->time_s;
    uint32_t *const places = samples->at;
    struct lane first, second;
    struct clock clock;
    int64_t least_s, most_s;
    size_t k = samples->n;
    if (end - at < ROW_ROOM || !clock_of(rows, at, &clock))
        return at;
    first = lane_of(rows, 0);
    second = lane_of(rows, has_two ? 1 : 0);
    bounds_of(rows, shift_s, &least_s, &most_s);
    while (end - at >= ROW_ROOM && k < samples->capacity) {
        const char *p = at + HEAD_BYTES;
        int64_t second_s;
        double one, two = 0.0;
        if (word_at(at) != clock.start || word_at(p - sizeof clock.end) != clock.end ||
            !take_time(p, &clock, &second_s) || p[clock.n_bytes] != delimiter ||
            !(p = take_value(p + clock.n_bytes + 1, &first, &one)))
            break;
        if (has_two && (p[-1] != delimiter || !(p = take_value(p, &second, &two))))
            break;
        if (p[-1] != '\n' && (p[-1] != '\r' || *p++ != '\n'))
            break;
        int64_t local_s = day_s + second_s;
        if (local_s < least_s || local_s > most_s)
            break;
        times_s[k] = local_s - shift_s;
        places[k] = (uint32_t)(at - text);
        first.values[k] = one;
        if (has_two)
            second.values[k] = two;
        k++;
        least_s = local_s;
        at = p;
    }
    if (k > samples->n) {
        rows->has_afternoon = rows->has_afternoon || least_s % STV_DAY_S >= 13 * STV_HOUR_S;
        rows->last_local_s = least_s;
    }
    machine->n_rows += k - samples->n;
    samples->n = k;
    return at;
}
