/* What writing and reading of learned-casks.yaml have alike. */
#ifndef STV_INGEST_LEARNED_CASKS_PARTS_H
#define STV_INGEST_LEARNED_CASKS_PARTS_H

#include "ingest/learned_casks_file.h"

#define STV__LEARNED_CASKS_FORM 3 /* of the file; another is refused */
#define STV__NO_NUMBER "-"        /* stands where nothing is known */

/* Rows of the triangle of n scores, one after the other. */
static inline size_t stv__n_triangle(size_t n)
{
    return n * (n + 1) / 2;
}

/* "litres", "strength", ... by enum stv_fit_kind. */
extern const char *const stv__told_words[STV_FIT_KINDS];

/* "litres" and "strength", by enum stv_last. */
extern const char *const stv__last_words[STV_LAST_N];

/* The kind of cask with that key, by the name it has in the ledger; NULL when none has. */
const char *stv__kind_of_key(const struct stv_ledger *ledger, uint64_t key);

#endif
