/* The rows of a file that a machine wrote: stamps made UTC, values made SI, faults set aside.
 * Shared by weather_file.c and logger_file.c; not for the outside. */
#ifndef STV_INGEST_MACHINE_H
#define STV_INGEST_MACHINE_H

#include "ingest/clock.h"
#include "ingest/csv.h"
#include "ingest/problem.h"
#include "ingest/reading.h"
#include "ingest/stamp.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_NO_CELL SIZE_MAX

struct stv_machine_column {
    size_t cell_idx;
    enum stv_weather_quantity quantity;
    struct stv_scale scale;
    double correction; /* added to the value, in the quantity's own unit */
    bool is_sea_level; /* pressure that still has to be brought to the station's height */
    const char *name;  /* as the header has it */
};

struct stv_machine_row {
    int64_t time_s; /* start of what the row stands for, or its instant */
    size_t csv_row, slot;
};

struct stv_machine {
    /* What to read, set by the caller. */
    const struct stv_csv *csv;
    const char *file;  /* for messages */
    size_t line_shift; /* lines of the file before csv's first */
    struct stv_problems *problems;
    size_t header_row;
    size_t time_cell, time_of_day_cell; /* the second STV_NO_CELL when one cell holds both */
    size_t station_cell;                /* STV_NO_CELL: every row counts */
    const char *station;
    struct stv_machine_column columns[STV_WQ_N];
    size_t n_columns;
    struct stv_clock clock;
    int64_t from_s, to_s;
    int32_t shift_s; /* stamps less this: 3600 where an hour is stamped at its end */
    bool is_daily;   /* the time of day does not count */
    bool is_typical; /* months and days count, the year becomes STV_TYPICAL_YEAR */

    /* What was found. */
    struct stv_stamp *stamps; /* one for each row of csv */
    bool *has_stamp;
    size_t n_with_time, n_stamps;
    enum stv_stamp_order order;
    size_t usual_cells;
    struct stv_machine_row *rows; /* in order of time once stv__machine_order has run */
    double *values;               /* n_columns for each slot */
    size_t n;
    size_t n_rows, n_set_aside; /* n_rows = n + n_set_aside */
    size_t n_values_set_aside;  /* single values of rows that are used */
    size_t n_at_limit;          /* values brought back to their limit */
    size_t n_outside;           /* rows before from_s or after to_s, in no other count */
};

#define STV_TYPICAL_YEAR 2001

/* Reads the stamps and decides day and month for the whole file.
 * Errors: STV_E_PARSE both readings are possible (in problems); STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_scan(struct stv_machine *machine);

/* Reads the rows, in file order, setting faults aside.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_read(struct stv_machine *machine);

/* Sorts by time, sets repeated stamps aside, notes rows that were out of order. */
void stv__machine_order(struct stv_machine *machine);

/* Sets aside what lies more than a year from the most rows: a logger whose clock was reset. */
void stv__machine_drop_far_dates(struct stv_machine *machine);

/* Notes the gaps longer than least_s, at most the first twenty by date. */
void stv__machine_note_gaps(const struct stv_machine *machine, int64_t least_s);

/* Sets rows aside that have lost their last value. */
void stv__machine_drop_empty(struct stv_machine *machine);

/* 1-based line in the file of a row of csv. */
size_t stv__machine_line(const struct stv_machine *machine, size_t csv_row);

static inline double *stv__machine_values(const struct stv_machine *machine, size_t k)
{
    return machine->values + machine->rows[k].slot * machine->n_columns;
}

/* Frees what was found, not what the caller set. */
void stv__machine_free(struct stv_machine *machine);

#endif
