/* A rack logger's CSV, averaged into whole hours, every row that is not used said. */
#ifndef STV_INGEST_LOGGER_FILE_H
#define STV_INGEST_LOGGER_FILE_H

#include "ingest/clock.h"
#include "ingest/problem.h"
#include "ingest/stamp.h"
#include "model/position.h"
#include "model/status.h"

#include <stdbool.h>
#include <stdint.h>

#define STV_SENSOR_MAX 64

/* One row of loggers.csv. */
struct stv_logger_source {
    char path[512];         /* full path */
    char label[256];        /* as written in loggers.csv */
    struct stv_place place; /* warehouse_idx -1: outdoors */
    struct stv_clock clock;
    char sensor[STV_SENSOR_MAX]; /* which of several in the file; "" when it holds one */
    char unit[4];                /* of the temperature where the file says none: C, F, K or "" */
    bool has_order;              /* day, month or year first was said */
    enum stv_stamp_order order;
    int64_t from_s, to_s; /* rows outside are not used; INT64_MIN / INT64_MAX when not said */
    int64_t latest_s;     /* no row can be later; INT64_MAX when nobody knows the time */
    double temp_correction_k, rh_correction_frac; /* added to what was measured */
    size_t row;                                   /* of loggers.csv */
};

struct stv_logger_report {
    size_t n_rows, n_used, n_set_aside; /* n_rows = n_used + n_set_aside */
    size_t n_values_set_aside;          /* single values of rows that are used */
    size_t n_suspect;                   /* values that are used but doubtful */
    size_t n_outside;                   /* rows before from_s or after to_s, not in n_rows */
    size_t n_hours, n_hours_missing;    /* between first and last row */
    int64_t first_s, last_s;
    double coverage_frac; /* share of the hours that have a temperature, or lie between two rows
                             of a logger that is read every two or three hours */
    bool has_hours_between;
    /* How the file was read, in words. */
    char unit[24]; /* of the temperature */
    bool has_humidity;
    char unread[256];     /* columns with a name that are not read: "\"A\", \"B\""; "" for none */
    char dates[64];       /* "day first: a number above 12 decides" */
    char clock[64];       /* "UTC-06:00" */
    char intervals[96];   /* "30 min", or "30 min, then 10 min from 2024-05-04" */
    char encoding[24];    /* "UTF-8" */
    bool is_unit_assumed; /* C, because nothing says a unit and all values can be C */
    uint8_t *marks; /* enum stv_mark of each of the n_hours; a missing hour is aside or dead */
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
 * are rows of a dead sensor; noted are gaps above 3 h, a sensor that stands still for 48 h, and
 * single jumps.
 *
 * Errors:  STV_E_IO, STV_E_PARSE (empty, binary, HTML, no column understood, no unit, dates that
 *          can be read two ways), STV_E_NO_DATA, STV_E_MEMORY
 * Memory:  caller frees with stv_logger_hours_free; on failure *out is empty */
STV_MUST_CHECK enum stv_status stv_logger_file_read(const struct stv_logger_source *source,
                                                    int32_t utc_offset_min,
                                                    struct stv_problems *problems,
                                                    struct stv_logger_hours *out,
                                                    struct stv_logger_report *out_report);
/* Frees the marks. */
void stv_logger_report_free(struct stv_logger_report *report);
void stv_logger_hours_free(struct stv_logger_hours *hours);

#endif
