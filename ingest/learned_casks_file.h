/* learned-casks.yaml: what the gauges and noses of a house taught of its casks, kept beside its
 * book.  Written and read by the program; plain enough to be looked at. */
#ifndef STV_INGEST_LEARNED_CASKS_FILE_H
#define STV_INGEST_LEARNED_CASKS_FILE_H

#include "ingest/book.h"
#include "ingest/learned_file.h"
#include "model/cask_posterior.h"
#include "model/gauge_fit.h"

#define STV_LEARNED_CASKS_FILE "learned-casks.yaml"

/* A figure: what earlier days said it would be, and what it was; units as in model/gauge_fit.h. */
struct stv_learned_told {
    int cask_idx; /* of the ledger */
    int64_t day_d;
    enum stv_fit_kind kind;
    double then_value, then_error, value; /* error: one standard deviation, the gauge's in it */
    bool is_left_out;                     /* nothing was learned from it */
};

/* A gauge of litres or strength against the one before it. */
struct stv_learned_verdict {
    int cask_idx;
    int64_t since_day_d, day_d;
    double evaporation_frac, leak_frac, misread_frac;
    double excess_l, excess_error_l;           /* NaN without litres */
    double rise_abv20_frac;                    /* since then, as measured; NaN without both */
    double meant_litres_nd, meant_strength_nd; /* as typed; NaN: no swap of digits explains it */
    bool agrees; /* with another gauge, and both not with what came before */
};

struct stv_learned_casks {
    struct stv_posterior posterior;              /* n_casks 0: nothing was learned */
    double ready_ln_nd[2], ready_error_ln_nd[2]; /* wood of the reference: ready, over */
    size_t n_gauges, n_gauged_casks; /* rows that taught something, and of how many casks */
    size_t n_verdicts_of_noses;      /* in them */
    int64_t as_of_day_d;             /* gauges up to this day */
    struct stv_learned_told *told;   /* by cask, then day */
    size_t n_told;
    struct stv_learned_verdict *verdicts; /* likewise */
    size_t n_verdicts;
    struct stv_learned_input *inputs;
    size_t n_inputs;
};

/* The files that it rests on, those that are there, with the check sums they have now: book.yaml,
 * casks.csv, history.csv, gauges.csv and learned.yaml.  On failure *out is NULL.
 * Errors: STV_E_IO, STV_E_MEMORY.  Caller frees with free(). */
STV_MUST_CHECK enum stv_status stv_learned_casks_inputs(const struct stv_book *book,
                                                        struct stv_learned_input **out,
                                                        size_t *out_n);

/* Writes BOOK/learned-casks.yaml, whole or not at all.
 *
 * learned   its casks and kinds are those of the book
 * Errors:   STV_E_IO, with why; STV_E_MEMORY
 * Accuracy: 9 digits; what a cask's scores follow of the house's has 7 */
STV_MUST_CHECK enum stv_status stv_learned_casks_write(const struct stv_book *book,
                                                       const struct stv_learned_casks *learned,
                                                       char *why, size_t size);

/* Reads BOOK/learned-casks.yaml when it is there; without it *out is empty and the status OK.
 *
 * problems  faults with line and column, as STV_REFUSED: it is made anew by `learn`; casks and
 *           kinds of cask that the book no longer has are left out, as STV_NOTED
 * out       free with stv_learned_casks_free; empty after a failure
 * Errors:   STV_E_IO, STV_E_PARSE, STV_E_MEMORY
 * Cost:     5 000 gauged casks: see tests/test_learned_casks.c */
STV_MUST_CHECK enum stv_status stv_learned_casks_read(const struct stv_book *book,
                                                      struct stv_problems *problems,
                                                      struct stv_learned_casks *out);
/* Frees and empties; may be called twice. */
void stv_learned_casks_free(struct stv_learned_casks *learned);

#endif
