/* The time of a row.  Rows of one day share their date's text, so it is read once; a time of day of
 * plain digits is read here, and all else goes through stamp.c. */
#include "ingest/machine_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <stdio.h>
#include <string.h>

/* Instruments and reanalyses reach back to about 1850; later than 2150 is a broken clock. */
#define YEAR_LEAST 1850
#define YEAR_MOST 2150
#define HALF_DAY_LEAST_S (11 * STV_HOUR_S)
#define HALF_DAY_MOST_S (12 * STV_HOUR_S + STV_HOUR_S / 2)
#define NOON_S (13 * STV_HOUR_S) /* a clock of twelve hours never shows 13:00 */

static bool two_digits(const char *text, int32_t *out)
{
    unsigned tens = (unsigned char)text[0] - (unsigned)'0';
    unsigned ones = (unsigned char)text[1] - (unsigned)'0';
    *out = (int32_t)(10 * tens + ones);
    return tens <= 9 && ones <= 9;
}

/* HH:MM or HH:MM:SS; false for any other writing. */
static bool plain_time(struct stv_slice text, int32_t *out_second_s)
{
    int32_t hour, minute, second = 0;
    if ((text.n != 5 && text.n != 8) || text.text[2] != ':' || !two_digits(text.text, &hour) ||
        !two_digits(text.text + 3, &minute))
        return false;
    if (text.n == 8 && (text.text[5] != ':' || !two_digits(text.text + 6, &second)))
        return false;
    *out_second_s = hour * STV_HOUR_S + minute * 60 + second;
    return hour < STV_DAY_H && minute < 60 && second < 60;
}

/* Bytes of the date at the start of a stamp, 0 when no time of day stands apart from it. */
static size_t date_bytes(struct stv_slice text)
{
    for (size_t i = 6; i < text.n && i < STV__DATE_MAX; i++)
        if (text.text[i] == ' ' || text.text[i] == 'T')
            return i;
    return 0;
}

/* Local time of a stamp whose date is the row's before; false when it has to be read in full. */
static bool cached_local(const struct stv__rows *rows, struct stv_slice text, int64_t *out_local_s)
{
    int32_t second_s;
    size_t n = rows->date.n;
    if (n == 0 || text.n <= n + 1 || (text.text[n] != ' ' && text.text[n] != 'T') ||
        !stv__same_bytes(text.text, rows->date.text, n) ||
        !plain_time((struct stv_slice){text.text + n + 1, text.n - n - 1}, &second_s))
        return false;
    *out_local_s = rows->date.day_s + second_s;
    return true;
}

/* The stamp's text, joined from two cells where date and time stand apart; the date of an earlier
 * row where it is written once a day. */
static bool join_stamp(struct stv__rows *rows, size_t time_cell, char out[STV__STAMP_MAX])
{
    const struct stv_machine *machine = rows->machine;
    struct stv_slice none = {"", 0};
    struct stv_slice date =
        time_cell < rows->n_cells && time_cell < STV__CELLS_MAX ? rows->cells[time_cell] : none;
    if (machine->time_of_day_cell == STV_NO_CELL || time_cell != machine->time_cell) {
        stv_slice_copy(date, out, STV__STAMP_MAX);
        return date.n > 0 && date.n < STV__STAMP_MAX;
    }
    size_t cell = machine->time_of_day_cell;
    struct stv_slice time =
        cell < rows->n_cells && cell < STV__CELLS_MAX ? rows->cells[cell] : none;
    if (date.n > 0) {
        stv_slice_copy(date, rows->last_date, sizeof rows->last_date);
        rows->carried_d = 0;
        rows->last_second_s = -1;
    }
    if (time.n == 0 || date.n >= STV__STAMP_MAX || rows->last_date[0] == '\0')
        return false;
    int n = snprintf(out, STV__STAMP_MAX, "%s %.*s", rows->last_date,
                     (int)(time.n < STV__STAMP_MAX ? time.n : STV__STAMP_MAX), time.text);
    return n > 0 && n < STV__STAMP_MAX;
}

/* The same month, day and time in the one year that typical years stand in. */
static bool move_to_typical_year(int64_t *local_s)
{
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(*local_s, 0, &second_s));
    date.year = STV_TYPICAL_YEAR;
    if (!stv_date_is_valid(date))
        return false;
    *local_s = stv_day_from_date(date) * STV_DAY_S + second_s;
    return true;
}

/* A file that writes its date once a day passes midnight where the time goes back. */
static void carry_date(struct stv__rows *rows, const struct stv_stamp *stamp, int64_t *local_s)
{
    if (rows->machine->time_of_day_cell == STV_NO_CELL)
        return;
    if (rows->last_second_s >= 0 && stamp->second_s < rows->last_second_s)
        rows->carried_d++;
    rows->last_second_s = stamp->second_s;
    *local_s += rows->carried_d * STV_DAY_S;
}

static const char *read_in_full(struct stv__rows *rows, struct stv_slice text,
                                struct stv_stamp *out, int64_t *out_local_s)
{
    const struct stv_machine *machine = rows->machine;
    char copy[STV__STAMP_MAX];
    stv_slice_copy(text, copy, sizeof copy);
    if (text.n >= sizeof copy || !stv_stamp_read(copy, out))
        return "is not a date and time: the row is not used";
    rows->n_serial += out->is_serial;
    if (machine->is_daily || machine->is_typical)
        out->has_offset = false;
    if (machine->is_daily)
        out->second_s = 0;
    if (out->year < YEAR_LEAST || out->year > YEAR_MOST)
        return "the year cannot be: the row is not used";
    if (!stv_stamp_local_s(out, machine->order, out_local_s))
        return "there is no such day: the row is not used";
    size_t n = date_bytes(text);
    bool is_plain = n > 0 && !out->has_offset && !machine->is_daily && out->second_s < STV_DAY_S;
    rows->date.n = is_plain ? n : 0;
    if (is_plain) {
        memcpy(rows->date.text, text.text, n);
        rows->date.day_s = *out_local_s - out->second_s;
    }
    return NULL;
}

/* Watches for a clock of twelve hours without AM and PM. */
static void watch_halves(struct stv__rows *rows, int64_t local_s, int32_t second_s)
{
    int64_t back_s = rows->last_local_s - local_s;
    rows->has_afternoon = rows->has_afternoon || second_s >= NOON_S;
    rows->n_back_half_day +=
        rows->has_last && back_s >= HALF_DAY_LEAST_S && back_s <= HALF_DAY_MOST_S;
    rows->last_local_s = local_s;
    rows->has_last = true;
}

static const char *to_utc(struct stv__rows *rows, const struct stv_stamp *stamp, int64_t local_s,
                          int64_t *out_time_s)
{
    struct stv_machine *machine = rows->machine;
    if (!machine->clock.has_summer && !stamp->has_offset) {
        *out_time_s = local_s - (int64_t)machine->clock.standard_offset_min * 60;
        return NULL;
    }
    bool is_double = !stamp->has_offset && stv_clock_is_double(&machine->clock, local_s);
    if (stv_stamp_walk_utc(&rows->walk, stamp, local_s, out_time_s) != STV_OK)
        return "this local time does not exist, the clocks had gone forward: the row is not used; "
               "if the machine does not change its clock, say a fixed one such as UTC-07:00";
    if (is_double)
        machine->n_double[rows->walk.is_second_pass]++;
    return NULL;
}

const char *stv__row_time(struct stv__rows *rows, size_t time_cell, int64_t *out_time_s)
{
    struct stv_machine *machine = rows->machine;
    char joined[STV__STAMP_MAX];
    struct stv_stamp stamp = {0};
    int64_t local_s;
    struct stv_slice text = {"", 0};
    bool is_apart = machine->time_of_day_cell != STV_NO_CELL && time_cell == machine->time_cell;
    if (is_apart) {
        if (!join_stamp(rows, time_cell, joined))
            return "is not a date and time: the row is not used";
        text = stv_slice_of(joined);
    } else if (time_cell < rows->n_cells && time_cell < STV__CELLS_MAX) {
        text = rows->cells[time_cell];
    }
    if (!cached_local(rows, text, &local_s)) {
        const char *fault = read_in_full(rows, text, &stamp, &local_s);
        if (fault)
            return fault;
    } else {
        stamp.second_s = (int32_t)(local_s - rows->date.day_s);
    }
    if (is_apart)
        carry_date(rows, &stamp, &local_s);
    watch_halves(rows, local_s, stamp.second_s);
    if (machine->is_typical) {
        local_s -= machine->shift_s;
        if (!move_to_typical_year(&local_s))
            return "a typical year has no 29 February: the row is not used";
        local_s += machine->shift_s;
    }
    const char *fault = to_utc(rows, &stamp, local_s, out_time_s);
    *out_time_s -= fault ? 0 : machine->shift_s;
    return fault;
}
