/* Private to bottling*.c: some casks of the book, run by themselves. */
#ifndef STV_CLI_BOTTLING_PARTS_H
#define STV_CLI_BOTTLING_PARTS_H

#include "cli/bottling.h"
#include "cli/day_list.h"

/* Casks with all that exchange spirit with them. */
struct stv__cask_part {
    struct stv_ledger ledger;
    int *idx_of;    /* per cask of the book: where it stands in the part; -1 */
    int *book_of;   /* per cask of the part */
    size_t *lot_of; /* per cask of the part: its label, where lots_of_cask says one */
};
/* lot_of_cask  per cask of the book
 * Errors: STV_E_MEMORY.  Free with stv__cask_part_free in any case. */
STV_MUST_CHECK enum stv_status stv__cask_part_new(const struct stv_chain *chain, const int *casks,
                                                  size_t n, const size_t *lot_of_cask,
                                                  struct stv__cask_part *out);
void stv__cask_part_free(struct stv__cask_part *part);

/* Runs a part through such days and keeps what windows, guards and plans read of it. */
STV_MUST_CHECK enum stv_status stv__cask_part_run(const struct stv_chain *chain,
                                                  const struct stv__cask_part *part,
                                                  const struct stv__day_list *days,
                                                  struct stv_run_options options,
                                                  struct stv_outlook *out);

/* Windows and strengths that fall: answer->windows, months, guards and what they are held to. */
STV_MUST_CHECK enum stv_status stv__bottling_find_windows(struct stv_bottling_answer *answer);
/* How each cask stands by the market on each planned day: answer->stands. */
STV_MUST_CHECK enum stv_status stv__bottling_find_stands(struct stv_bottling_answer *answer);
/* Casks for what is planned: answer->plan. */
STV_MUST_CHECK enum stv_status stv__bottling_find_plan(struct stv_bottling_answer *answer);

#endif
