/* The rules of quality_neighbours.c, one file for each idea. */
#ifndef STV_INGEST_NEIGHBOURS_PARTS_H
#define STV_INGEST_NEIGHBOURS_PARTS_H

#include "ingest/quality.h"

#include <stdbool.h>

/* Loggers side by side; tables of n_loggers rows of n_days local days, NaN where a day has too few
 * hours. */
struct stv__neighbours {
    const struct stv_quality_logger *loggers;
    size_t n_loggers;
    const struct stv_grid *outdoor_grid; /* NULL when there is no outdoor record of real years */
    const double *outdoor_c;
    struct stv_problems *problems;
    int64_t first_day_d;
    size_t n_days;
    double *mean_c, *swing_k, *night_c;
};

/* Temperature of a logger in the hour that starts then; NaN outside. */
double stv__neighbour_c(const struct stv_logger_hours *hours, int64_t time_s);
/* Local midnight of the table's day. */
int64_t stv__neighbour_day_s(const struct stv__neighbours *all, size_t day_idx);
bool stv__neighbour_is_near(const struct stv__neighbours *all, size_t i, size_t j);
/* File, and sensor where the file holds several. */
#define STV__NAME_MAX 256
const char *stv__neighbour_name(const struct stv__neighbours *all, size_t i,
                                char out[STV__NAME_MAX]);
/* Adds a finding about logger i. */
__attribute__((format(printf, 5, 6))) void stv__neighbour_say(const struct stv__neighbours *all,
                                                              size_t i, enum stv_severity severity,
                                                              const char *rule, const char *format,
                                                              ...);

/* Marks logger i's used hours as suspect from that day on. */
void stv__neighbour_doubt(const struct stv__neighbours *all, size_t i, size_t from_day_idx);

/* Two loggers whose means, and swings, change places from one day to the next.
 * doubtful  one for each logger; becomes true for those that are named
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__neighbours_swapped(const struct stv__neighbours *all,
                                                       bool *doubtful);
/* A logger whose day comes at another hour than it did, or before the day outdoors.
 * doubtful  those that are true already are left out, for their days move with the rack
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__neighbours_shifted(const struct stv__neighbours *all,
                                                       bool *doubtful);

#endif
