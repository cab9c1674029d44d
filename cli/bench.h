/* The frame of a bench sum (gauge, fill, reduce, marry): one line of words worked out and told as
 * text, JSON or CSV, or a whole sheet of them, row by row. */
#ifndef STV_CLI_BENCH_H
#define STV_CLI_BENCH_H

#include "cli/bench_read.h"
#include "cli/options.h"
#include "ingest/market.h"
#include "ingest/rod.h"
#include "plots/text.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#define STV_BENCH_NOTES_MAX 12
#define STV_BENCH_NOTE_BYTES 400
#define STV_BENCH_RESULTS_MAX 40

/* Warnings of one sum, in the order in which they matter. */
struct stv_bench_notes {
    char items[STV_BENCH_NOTES_MAX][STV_BENCH_NOTE_BYTES];
    size_t n;
    bool needs_attention; /* exit 1 */
};

/* Adds a warning.  No sum has STV_BENCH_NOTES_MAX of them; one more would replace the last. */
__attribute__((format(printf, 3, 4))) void
stv_bench_note(struct stv_bench_notes *notes, bool needs_attention, const char *format, ...);

/* The warnings in one cell of a table. */
void stv_bench_join(const struct stv_bench_notes *notes, struct stv_text *out);

/* What decides for duty, a sentence; under every answer. */
extern const char stv_bench_duty[];

/* What every row of a sheet shares. */
struct stv_bench_shared {
    const struct stv_market *market; /* NULL: none named */
    const struct stv_rod *rod;       /* NULL: none */
};

/* A column that a sheet may have: an option and what its unit measures; STV_DIM_N for words. */
struct stv_bench_column {
    enum stv_option option;
    enum stv_dimension dimension;
};

struct stv_bench_sum {
    const struct stv_bench_column *columns;
    size_t n_columns;
    /* Reads the words and works the sum out into a case of the command's own; faults of any kind
     * are set in the reader.  The case is static in the command: sums are worked out one at a time.
     */
    const void *(*work)(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_bench_notes *notes);
    void (*add_answer)(struct stv_text *text, const void *sum_case); /* its first lines */
    void (*add_rest)(struct stv_text *text, const void *sum_case);   /* what stands behind them */
    void (*add_json)(json_t *document, const void *sum_case);
    /* Names of the numbers that a sheet gets, cut at commas, and the numbers; NaN: an empty cell.
     */
    const char *result_names;
    void (*results)(const void *sum_case, double *out);
    const char *basis;           /* temperatures that the answer is told at, a sentence */
    const char *const *cautions; /* sentences, the last NULL */
};

/* Runs a bench command; returns the exit code. */
int stv_bench_run(const struct stv_options *options, const struct stv_bench_sum *sum);

/* The same over --sheet.  Returns the exit code. */
int stv_bench_sheet(const struct stv_options *options, const struct stv_bench_sum *sum,
                    const struct stv_bench_shared *shared);

#endif
