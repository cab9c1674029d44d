/* Inside the reader of machine tables: one row from its line to a sample. */
#ifndef STV_INGEST_MACHINE_PARTS_H
#define STV_INGEST_MACHINE_PARTS_H

#include "ingest/machine.h"

#include <stdint.h>
#include <string.h>

#define STV__CELLS_MAX 96
#define STV__STAMP_MAX 96
#define STV__DATE_MAX 24

/* The date of the row before: most rows share it. */
struct stv__date_cache {
    char text[STV__DATE_MAX];
    size_t n; /* 0: empty */
    int64_t day_s;
};

/* Whether n bytes are the same; dates have eight to sixteen, which two whole numbers hold. */
static inline bool stv__same_bytes(const char *a, const char *b, size_t n)
{
    uint64_t first_a, first_b, last_a, last_b;
    if (n < sizeof first_a || n > 2 * sizeof first_a)
        return memcmp(a, b, n) == 0;
    memcpy(&first_a, a, sizeof first_a);
    memcpy(&first_b, b, sizeof first_b);
    memcpy(&last_a, a + n - sizeof last_a, sizeof last_a);
    memcpy(&last_b, b + n - sizeof last_b, sizeof last_b);
    return first_a == first_b && last_a == last_b;
}

struct stv__rows {
    struct stv_machine *machine;
    struct stv_stamp_walk walk;
    struct stv__date_cache date;
    struct stv_line_cursor cursor;
    struct stv_slice cells[STV__CELLS_MAX];
    size_t n_cells;                 /* of the row at hand, counted to its end */
    size_t n_needed;                /* cells to which a row has to be cut */
    char last_date[STV__STAMP_MAX]; /* for files that write it once a day */
    int32_t last_second_s;
    int64_t carried_d; /* days that times of day have passed midnight since last_date */
    /* Bad lines behind the last good row: faults, or the status lines of a logger's end. */
    size_t *pending;
    size_t n_pending, pending_room;
    bool has_new_header;
    /* Of a clock of twelve hours: never an afternoon, and back at noon. */
    size_t n_back_half_day;
    size_t first_empty_at, last_empty_at; /* bytes of the text, of machine->n_empty rows */
    size_t n_serial;                      /* stamps that are a spreadsheet's day numbers */
    int64_t last_local_s;
    bool has_last, has_afternoon;
    double own_unit_factor;                 /* of the first cell that named its unit; 0 before */
    double least[STV_WQ_N], most[STV_WQ_N]; /* of columns: inside is certainly good */
    enum stv_status status;
};

/* Cuts a line into rows->cells. */
void stv__row_cut(struct stv__rows *rows, struct stv_slice line);

/* UTC start of what a row stands for; what is wrong, or NULL. */
const char *stv__row_time(struct stv__rows *rows, size_t time_cell, int64_t *out_time_s);

/* Value of a column in the row at hand; NaN when there is none, which is said unless the cell is
 * empty. */
double stv__row_value(struct stv__rows *rows, const struct stv_line *line, size_t column_idx);

/* Reads the plain rows of a fixed layout that follow each other from `at` on (time first, then the
 * columns as plain numbers); returns the first byte of the first line that is not one. */
const char *stv__rows_fast(struct stv__rows *rows, const char *at, const char *end);

/* Says what is wrong with a line and counts it as a row that is not used. */
void stv__row_aside(struct stv__rows *rows, const struct stv_line *line, const char *rule,
                    struct stv_slice found, const char *what);

/* Adds a sample of the row at hand; values are looked at for the columns' quantities alone. */
void stv__row_take(struct stv__rows *rows, int64_t time_s, size_t at, const double *values);

#endif
