/* Casks that are not there yet, as people type them: "12 x new oak 200 L, 195 L at 59.2 %". */
#ifndef STV_INGEST_FILL_WORDS_H
#define STV_INGEST_FILL_WORDS_H

#include "model/cask_numbers.h"
#include "model/ledger.h"
#include "model/status.h"

#include <stddef.h>

#define STV_FILL_STRENGTHS_MAX 8
#define STV_FILL_CASKS_MAX 20000

struct stv_fill_words {
    size_t n_casks;       /* 0: not said */
    struct stv_cask cask; /* size, wood and kind; no id */
    double litres_l;      /* into each, at 20 C; NaN: not said */
    double strengths_frac[STV_FILL_STRENGTHS_MAX];
    size_t n_strengths;
    double plan_y; /* NaN: not said */
};

/* Reads "[N x] WOOD SIZE[, LITRES] at STRENGTH[, STRENGTH ...][, plan AGE]".
 *
 * WOOD is new oak, first-fill (bourbon unless another is named) or refill; SIZE litres with a unit
 * or a name such as hogshead.  "%" counts as %vol, the unit of the last strength for those before.
 * why: size bytes; on failure what was wrong, starting in lower case.
 * Errors: STV_E_PARSE not so written; STV_E_DOMAIN no such cask, or more litres than it holds */
STV_MUST_CHECK enum stv_status stv_fill_words_read(const char *text,
                                                   const struct stv_cask_numbers *numbers,
                                                   struct stv_fill_words *out, char *why,
                                                   size_t size);

#endif
