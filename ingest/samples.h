/* Values with their times, as a machine's file gives them: one column for each quantity, all of
 * one length, each row knowing where in the text it stands. */
#ifndef STV_INGEST_SAMPLES_H
#define STV_INGEST_SAMPLES_H

#include "model/status.h"
#include "model/weather.h"

#include <stddef.h>
#include <stdint.h>

struct stv_samples {
    size_t n, capacity;
    int64_t *time_s;          /* UTC */
    uint32_t *at;             /* byte of the text at which the row starts */
    uint8_t *rank;            /* of rows with one time the lowest counts; NULL: all alike */
    double *values[STV_WQ_N]; /* NaN where missing; NULL for what no row has */
};

/* Set of quantities: bit of each. */
#define STV_SAMPLES_BIT(quantity) (1u << (quantity))

/* Empty columns for a set of quantities.
 *
 * n_expected  rows to make room for; more may come
 * Errors:     STV_E_MEMORY; free also then */
STV_MUST_CHECK enum stv_status stv_samples_init(struct stv_samples *samples, unsigned quantities,
                                                size_t n_expected);

/* Adds a row; values has STV_WQ_N entries, those outside the set are not looked at.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_samples_add(struct stv_samples *samples, int64_t time_s,
                                               size_t at, const double *values);

/* Sorts by time; rows of one time by rank, then as they stand in the text.
 * out_first_back  receives the first row, in file order, that was out of order; SIZE_MAX for none
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_samples_sort(struct stv_samples *samples,
                                                size_t *out_first_back);

/* Keeps the rows that are marked, in order; keep has n entries. */
void stv_samples_keep(struct stv_samples *samples, const uint8_t *keep);

/* Number of the line that holds byte `at` of a text, counted on from an earlier call: *cursor is a
 * zeroed struct before the first. */
struct stv_line_cursor {
    size_t at, line;
};
size_t stv_line_of(const char *text, size_t at, struct stv_line_cursor *cursor);

void stv_samples_free(struct stv_samples *samples);

#endif
