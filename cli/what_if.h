/* Things that could be done, in words, as events of a ledger of their own. */
#ifndef STV_CLI_WHAT_IF_H
#define STV_CLI_WHAT_IF_H

#include "cli/chain.h"

/* The forms that are understood, for messages and help. */
#define STV_WHAT_IF_FORMS                                                                        \
    "\"move cask 12 to tier 2 bay 7 on 2028-10-01\", \"transfer cask 12 into cask 47 on "        \
    "2028-11-01\" (or \"transfer 50 L of cask 12 into ...\") or \"add 11.7 kg water to cask 12 " \
    "on 2028-10-12\""

struct stv_what_if {
    struct stv_ledger ledger; /* the book's, and what could be done */
    struct stv_event *events; /* as they were said */
    size_t n_events;
};

/* Reads the sentences and adds them to the book's ledger.
 *
 * until_day_d  none may lie after it, or before the day of the answer
 * why          size bytes; on failure which sentence, what is wrong with it and what to write
 *
 * Errors: STV_E_USAGE not understood, no such cask or place, a day outside; STV_E_CONSISTENCY it
 *         cannot be done; STV_E_MEMORY.  Free with stv_what_if_free when STV_OK. */
STV_MUST_CHECK enum stv_status stv_what_if_read(const struct stv_chain *chain,
                                                const char *const *sentences, size_t n,
                                                int64_t until_day_d, struct stv_what_if *out,
                                                char *why, size_t size);
void stv_what_if_free(struct stv_what_if *what_if);

/* Cask that holds at the end what a cask holds now, by the events of what could be done; the cask
 * itself when it is not transferred whole. */
int stv_what_if_holder(const struct stv_what_if *what_if, int cask_idx);

#endif
