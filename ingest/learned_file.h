/* learned.yaml: what the loggers of a house taught, kept beside its book.  Written and read by the
 * program; plain enough to be looked at. */
#ifndef STV_INGEST_LEARNED_FILE_H
#define STV_INGEST_LEARNED_FILE_H

#include "ingest/book.h"
#include "ingest/hash.h"
#include "ingest/problem.h"
#include "model/rack.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_LEARNED_FILE "learned.yaml"

/* A file that the learning rests on. */
struct stv_learned_input {
    char file[512]; /* as it lies in the book's folder */
    char sha256[STV_SHA256_TEXT];
};

/* How far a tier without a logger is missed: every logged tier in turn told from the others. */
struct stv_learned_between {
    int warehouse_idx;
    size_t n_tiers;                        /* logged; at least two */
    double hour_k, month_k, rh_month_frac; /* root mean squares; the last NaN without humidity */
};

struct stv_learned {
    struct stv_rack *racks; /* tiers before bays, in the order of the book */
    size_t n_racks;
    struct stv_learned_between *between;
    size_t n_between;
    struct stv_learned_input *inputs;
    size_t n_inputs;
};

/* The files that a book's learning rests on, with the check sums they have now; a folder of weather
 * counts as one.  On failure *out is NULL.
 * Errors: STV_E_IO, STV_E_MEMORY.  Caller frees with free(). */
STV_MUST_CHECK enum stv_status stv_learned_inputs(const struct stv_book *book,
                                                  struct stv_learned_input **out, size_t *out_n);

/* The figures of a rack by the keys they have in the file, in its order; NaN where not known. */
#define STV_LEARNED_FIGURES 24
struct stv_learned_figure {
    const char *key;
    double value_nd; /* in the unit that the key ends with */
};
void stv_learned_figures(const struct stv_rack *rack,
                         struct stv_learned_figure out[STV_LEARNED_FIGURES]);
/* "outdoor air", "building model", "another tier": what a sum is added to. */
const char *stv_learned_start_name(enum stv_rack_start start);

/* False of a rack whose numbers run away from each other, as those of few months may, which no
 * reader takes. */
bool stv_learned_can_hold(const struct stv_rack *rack);

/* Writes BOOK/learned.yaml, whole or not at all.
 * Errors: STV_E_IO, with why; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_learned_write(const struct stv_book *book,
                                                 const struct stv_learned *learned, char *why,
                                                 size_t size);

/* Reads BOOK/learned.yaml when it is there; without it *out is empty and the status OK.
 *
 * problems  faults with line and column, as STV_REFUSED: it is made anew by `learn`; racks of
 *           warehouses, tiers or bays that the book no longer has are left out, as STV_NOTED
 * out       free with stv_learned_free; empty after a failure
 * Errors:   STV_E_IO, STV_E_PARSE, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_learned_read(const struct stv_book *book,
                                                struct stv_problems *problems,
                                                struct stv_learned *out);
/* Frees and empties; may be called twice. */
void stv_learned_free(struct stv_learned *learned);

#endif
