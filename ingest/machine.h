/* The rows of a table that a machine wrote, read from its text into columns: stamps made UTC,
 * values made SI, faults set aside and located.  Shared by weather_file.c and logger_file.c; not
 * for the outside.
 *
 * The order of work: stv__machine_head cuts the first lines into cells, the caller finds the header
 * and names the columns, stv__machine_scan decides how dates are written, stv__machine_read reads,
 * stv__machine_order sorts. */
#ifndef STV_INGEST_MACHINE_H
#define STV_INGEST_MACHINE_H

#include "ingest/clock.h"
#include "ingest/csv.h"
#include "ingest/lines.h"
#include "ingest/problem.h"
#include "ingest/reading.h"
#include "ingest/samples.h"
#include "ingest/stamp.h"
#include "ingest/text_file.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_NO_CELL SIZE_MAX
#define STV_TYPICAL_YEAR 2001
#define STV_MACHINE_NAME 64

struct stv_machine_column {
    size_t cell_idx;
    size_t time_cell; /* STV_NO_CELL: the row's own */
    enum stv_weather_quantity quantity;
    struct stv_scale scale;      /* NaN: only cells that name their unit can be read */
    double correction;           /* added to the value, in the quantity's own unit */
    bool is_sea_level;           /* pressure that still has to be brought to the station's height */
    char name[STV_MACHINE_NAME]; /* as the header has it */
};

struct stv_machine {
    /* What to read, set by the caller. */
    const struct stv_text_file *text;
    const char *file; /* for messages */
    struct stv_problems *problems;
    size_t header_row; /* in head */
    bool has_no_header;
    size_t time_cell, time_of_day_cell; /* the second STV_NO_CELL when one cell holds both */
    size_t station_cell;                /* STV_NO_CELL: every row counts */
    char station[STV_MACHINE_NAME];
    struct stv_machine_column columns[STV_WQ_N];
    size_t n_columns;
    struct stv_clock clock;
    int64_t from_s, to_s;
    int64_t latest_s; /* rows after it are of the future; INT64_MAX when nobody knows the time */
    int32_t shift_s;  /* stamps less this: 1 where an hour is stamped at its end */
    bool is_daily;    /* the time of day does not count */
    bool is_typical;  /* months and days count, the year becomes STV_TYPICAL_YEAR */
    bool has_order;   /* order was said by a person */
    enum stv_stamp_order order;
    char unit[4]; /* of temperatures without one; "" when nobody said */

    /* What was found. */
    struct stv_csv head;   /* the first lines, cut into cells */
    size_t data_at;        /* byte of the text at which the rows begin */
    const char *order_why; /* what decided, in words; static text */
    bool has_stamps;       /* at least one row has a date */
    bool has_times;        /* stamps have a time of day */
    bool has_one_time;     /* the same one in every row looked at */
    size_t usual_cells;
    struct stv_samples samples;
    size_t n_rows, n_set_aside; /* the rest is used: a sample each, or one for each own clock */
    bool has_own_clocks;
    size_t n_values_set_aside; /* single values of rows that are used */
    size_t n_temp_beyond;      /* temperatures that cannot be, of single values or n_set_aside */
    size_t n_at_limit;         /* values brought back to their limit */
    size_t n_outside;          /* rows before from_s or after to_s, in no other count */
    size_t n_events;           /* lines that tell of an event, in no other count */
    size_t n_empty;            /* rows without any value, of n_set_aside */
    size_t n_double[2];        /* rows in hours that come twice: first and second pass */
    size_t n_other_units;      /* cells that name another unit than the first that did */
};

/* Cuts the head of the text.  from_line skips lines of a preamble with other delimiters.
 * Errors: STV_E_PARSE nothing in it, STV_E_MEMORY; why says */
STV_MUST_CHECK enum stv_status stv__machine_head(struct stv_machine *machine, size_t from_byte,
                                                 char *why, size_t size);

/* Byte of the text behind so many lines of the head. */
size_t stv__machine_behind(const struct stv_machine *machine, size_t n_lines);

/* Decides for the whole file: day or month first, how many cells a row has.
 * Errors: STV_E_PARSE both readings are possible, columns in doubt (in problems); STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_scan(struct stv_machine *machine);

/* Reads the rows in file order into samples, setting faults aside.
 * Errors: STV_E_PARSE what only the whole file tells: hours of a twelve-hour clock; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_read(struct stv_machine *machine);

/* Sorts by time, sets repeated stamps aside, notes rows that were out of order.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_order(struct stv_machine *machine);

/* Sets aside what lies more than a year from the most rows: a logger whose clock was reset.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_drop_far_dates(struct stv_machine *machine);

/* Notes the gaps longer than least_s, at most the first twenty by date. */
void stv__machine_note_gaps(const struct stv_machine *machine, int64_t least_s);

/* Sets rows aside that have lost their last value.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__machine_drop_empty(struct stv_machine *machine);

/* Line of the file of a sample, counted on from an earlier call. */
size_t stv__machine_line(const struct stv_machine *machine, size_t k,
                         struct stv_line_cursor *cursor);

/* Frees what was found, not what the caller set. */
void stv__machine_free(struct stv_machine *machine);

#endif
