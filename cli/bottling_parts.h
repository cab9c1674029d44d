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

/* Casks by themselves on the planned days. */
struct stv__bottling_trials {
    struct stv__cask_part part;
    struct stv_outlook outlook;
    bool is_there;
};
/* Where every cask of the book is tried by itself: all of them, through the months as well, for
 * plan and windows alike.  Else nothing.
 * Errors: those of stv_outlook_run.  out is zero before; end it with stv__bottling_trials_free in
 * any case. */
STV_MUST_CHECK enum stv_status stv__bottling_run_trials(const struct stv_bottling_answer *answer,
                                                        struct stv__bottling_trials *out);
void stv__bottling_trials_free(struct stv__bottling_trials *trials);
/* Most casks whose values of all months are held at once. */
#define STV__CASKS_AT_ONCE 512

/* Windows and strengths that fall: answer->windows, guards and what they are held to; windows by
 * these trials where they are there. */
STV_MUST_CHECK enum stv_status
stv__bottling_find_windows(struct stv_bottling_answer *answer,
                           const struct stv__bottling_trials *trials);
/* How each cask stands by the market on each planned day: answer->stands. */
STV_MUST_CHECK enum stv_status stv__bottling_find_stands(struct stv_bottling_answer *answer);
/* Casks for what is planned: answer->plan; chosen by these trials where they are there. */
STV_MUST_CHECK enum stv_status stv__bottling_find_plan(struct stv_bottling_answer *answer,
                                                       const struct stv__bottling_trials *trials);

#endif
