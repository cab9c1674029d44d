/* The rules of quality_rows.c, one file for each idea. */
#ifndef STV_INGEST_QUALITY_PARTS_H
#define STV_INGEST_QUALITY_PARTS_H

#include "ingest/quality.h"

/* Rows with one fault; `to` is the last of them. */
struct stv__run {
    size_t from, to;
    enum stv_severity severity;
    const char *rule; /* static text */
};

void stv__quality_say(struct stv_quality_rows *rows, const struct stv__run *run, const char *what);
/* Marks the rows, and takes the values of those set aside away. */
void stv__quality_mark(struct stv_quality_rows *rows, enum stv_weather_quantity quantity,
                       const struct stv__run *run);
/* Value of row k when it stands within two hours of row `at`; else NaN. */
double stv__quality_near(const struct stv_samples *samples, const double *values, size_t at,
                         size_t k);

/* Single values far from those around them. */
void stv__quality_spikes(struct stv_quality_rows *rows);
/* A sensor that still comes from another place when it starts. */
void stv__quality_settling(struct stv_quality_rows *rows);
/* A sensor that stands still, or is wet. */
void stv__quality_stuck(struct stv_quality_rows *rows, enum stv_weather_quantity quantity);
/* A sensor that says one value for longer than any air does: its rows are set aside. */
void stv__quality_dead(struct stv_quality_rows *rows, enum stv_weather_quantity quantity);
/* The smallest step between two rows that differ; HUGE_VAL when none do. */
double stv__quality_resolution(const struct stv_samples *samples, const double *values);
/* A fixed clock whose file has the hole of a night in spring. */
void stv__quality_clock(struct stv_quality_rows *rows);

#endif
