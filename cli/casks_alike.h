/* Casks of the book to which the same was done: what is worked out of one serves all of them. */
#ifndef STV_CLI_CASKS_ALIKE_H
#define STV_CLI_CASKS_ALIKE_H

#include "cli/chain.h"

/* The book's events cask by cask, for comparing. */
struct stv_alike {
    const struct stv_chain *chain;
    size_t *first_event, *next_event; /* of each cask its first, of each event the cask's next */
    bool *has_met_others;             /* per cask: spirit ever went between it and another */
};

/* Lists the events up to a day.  Free with stv_alike_free, whatever the status.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_alike_new(const struct stv_chain *chain, int64_t until_d,
                                             struct stv_alike *out);
void stv_alike_free(struct stv_alike *alike);

/* True when two casks are of one kind, size and wood, and the same was done to both, in the same
 * months and amounts, in the same air.  A cask that met the spirit of another is like none. */
bool stv_alike_is(const struct stv_alike *alike, int a, int b);

/* Kinds of casks: those alike for whatever is asked of their spirit, down to the day of their age
 * and the market's clock.  A cask of which something was learned is a kind by itself, and so is an
 * empty one; so is every cask of a house in which fewer than half have one alike before them. */
struct stv_alike_kinds {
    size_t n;
    size_t *of_cask; /* per cask of the book */
    int *first_cask; /* n, ascending: stands for the kind */
    size_t *n_casks; /* n */
};
/* Errors: STV_E_MEMORY; free with stv_alike_kinds_free after STV_OK alone. */
STV_MUST_CHECK enum stv_status stv_alike_kinds_find(const struct stv_chain *chain,
                                                    struct stv_alike_kinds *out);
void stv_alike_kinds_free(struct stv_alike_kinds *kinds);

#endif
