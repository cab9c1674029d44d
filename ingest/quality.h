/* What a logger's values betray only side by side: rules over the rows of one file, and over the
 * hours of several loggers.  Nothing is repaired: a value is used, suspect or set aside. */
#ifndef STV_INGEST_QUALITY_H
#define STV_INGEST_QUALITY_H

#include "ingest/clock.h"
#include "ingest/problem.h"
#include "ingest/samples.h"
#include "model/position.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* DEAD: set aside with its whole row, as nothing was measured. */
enum stv_mark { STV_MARK_USED, STV_MARK_SUSPECT, STV_MARK_ASIDE, STV_MARK_DEAD };
/* The rule by which the rows of a dead sensor are told. */
#define STV_RULE_DEAD "dead"

/* Rows of one sensor, in order of time, repeats already set aside. */
struct stv_quality_rows {
    const char *file;              /* for messages */
    const char *text;              /* the file's text, for line numbers */
    struct stv_line_cursor cursor; /* zeroed */
    struct stv_samples *samples;   /* temperature, and humidity when there is one; what is set aside
                                      becomes NaN */
    uint8_t *marks[STV_WQ_N];      /* samples->n enum stv_mark for each of those columns, zeroed */
    double correction[STV_WQ_N];   /* that was added to what was read */
    size_t n_beyond; /* temperatures that were set aside before, each for itself, as none of air */
    const struct stv_clock *clock;
    struct stv_problems *problems;
};

/* Runs the rules over rows; marks them and adds one finding for each run of rows with one fault.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_quality_check_rows(struct stv_quality_rows *rows);

/* One logger among its neighbours. */
struct stv_quality_logger {
    const char *file, *sensor; /* sensor "" when the file holds one */
    const struct stv_logger_hours *hours;
    uint8_t
        *marks; /* enum stv_mark of each hour: those in doubt become suspect; NULL: not wanted */
};

/* Compares loggers that overlap with each other and, where given, with the outdoor temperature on
 * its own hourly grid (outdoor_c NULL when there is none or the year is typical).
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status
stv_quality_check_neighbours(const struct stv_quality_logger *loggers, size_t n_loggers,
                             const struct stv_grid *outdoor_grid, const double *outdoor_c,
                             struct stv_problems *problems);

#endif
