/* Private to stock*.c: the casks that run themselves for the sums of a large house. */
#ifndef STV_CLI_STOCK_ALIKE_H
#define STV_CLI_STOCK_ALIKE_H

#include "cli/chain.h"

struct stv__stock_part {
    struct stv_ledger ledger;
    size_t *labels[2]; /* per cask of the part */
    size_t *n_alike;   /* likewise: how many of the book it stands for */
};

/* Of casks alike under the same two labels so many that each label has enough of its own casks for
 * the chance of single casks to weigh little in its sums; all of a house with few casks alike.
 *
 * labels  per cask of the book, two of them, below n_labels
 * Errors: STV_E_MEMORY.  Free with stv__stock_part_free in any case. */
STV_MUST_CHECK enum stv_status stv__stock_part_new(const struct stv_chain *chain,
                                                   const size_t *const labels[2], size_t n_labels,
                                                   struct stv__stock_part *out);
void stv__stock_part_free(struct stv__stock_part *part);

#endif
