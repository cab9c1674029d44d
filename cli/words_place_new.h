/* Casks before they are bought, told. */
#ifndef STV_CLI_WORDS_PLACE_NEW_H
#define STV_CLI_WORDS_PLACE_NEW_H

#include "cli/chain.h"
#include "ingest/market.h"
#include "model/placement_new.h"
#include "plots/text.h"

#define STV_PLACE_NEW_MAX 48 /* casks: kinds times strengths */

struct stv_place_new {
    const struct stv_ledger *ledger; /* a cask and its fill for each row, in their order */
    const struct stv_new_wish *wish;
    const struct stv_new_result *result;
    const struct stv_market *market;      /* NULL: none named */
    int is_over_entry[STV_PLACE_NEW_MAX]; /* the market forbids this strength in the cask */
    int is_too_large[STV_PLACE_NEW_MAX];  /* ... or a cask of this size */
};

void stv_words_place_new(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_new *told);

#endif
