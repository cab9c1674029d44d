/* A rack logger's CSV, averaged into whole hours, every row that is not used said. */
#ifndef STV_INGEST_LOGGER_FILE_H
#define STV_INGEST_LOGGER_FILE_H

#include "ingest/clock.h"
#include "ingest/problem.h"
#include "model/position.h"
#include "model/status.h"

/* One row of loggers.csv. */
struct stv_logger_source {
    char path[512];         /* full path */
    char label[256];        /* as written in loggers.csv */
    struct stv_place place; /* warehouse_idx -1: outdoors */
    struct stv_clock clock;
    int64_t from_s, to_s; /* rows outside are not used; INT64_MIN / INT64_MAX when not said */
    double temp_correction_k, rh_correction_frac; /* added to what was measured */
    size_t row;                                   /* of loggers.csv */
};

struct stv_logger_report {
    size_t n_rows, n_used, n_set_aside; /* n_rows = n_used + n_set_aside */
    size_t n_values_set_aside;          /* single values, whatever became of their rows */
    size_t n_suspect;                   /* values that are used but doubtful */
    size_t n_outside;                   /* rows before from_s or after to_s, not in n_rows */
    size_t n_hours, n_hours_missing;    /* between first and last row */
    int64_t first_s, last_s;
    double coverage_frac; /* share of the hours that have a temperature */
};

/* Reads one file.
 *
 * source          which file, and what is known about it
 * utc_offset_min  the site's fixed offset; hours and days are cut by it
 * out             hours from the first row's to the last row's, NaN where less than half of the
 *                 hour was measured; rh_frac NULL when the file has no humidity
 * out_report      may not be NULL
 *
 * The header is the first of 200 lines with a time and a temperature; lines before it are passed
 * over.  The temperature's unit stands in the header, in a row of units below it, or in each
 * cell; humidity without a unit is per cent.  Sub-hourly rows are averaged, each weighed by the
 * time to its neighbours.
 *
 * Bad values (text, codes, what cannot be) and bad rows (no date, cut short, repeated, a local
 * time that does not exist, a date far from all others) are set aside and said in problems; so
 * are, as notes, gaps above 3 h, a sensor that stands still for 48 h, and single jumps.
 *
 * Errors:  STV_E_IO, STV_E_PARSE (empty, binary, HTML, no column understood, no unit, dates that
 *          can be read two ways), STV_E_NO_DATA, STV_E_MEMORY
 * Memory:  caller frees with stv_logger_hours_free; on failure *out is empty */
STV_MUST_CHECK enum stv_status stv_logger_file_read(const struct stv_logger_source *source,
                                                    int32_t utc_offset_min,
                                                    struct stv_problems *problems,
                                                    struct stv_logger_hours *out,
                                                    struct stv_logger_report *out_report);
void stv_logger_hours_free(struct stv_logger_hours *hours);

#endif
