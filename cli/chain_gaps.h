/* Holes in the loggers' hours, filled within the book's limit before positions are joined. */
#ifndef STV_CLI_CHAIN_GAPS_H
#define STV_CLI_CHAIN_GAPS_H

#include "cli/chain.h"
#include "plots/text.h"

/* Fills the loggers of one warehouse, each from the others as they were measured, nearest tier
 * first, then from the building model.  chain->gap_reports tells what was done. */
STV_MUST_CHECK enum stv_status stv_chain_fill_gaps(struct stv_chain *chain, size_t warehouse_idx);

/* What was filled and what was left, a line for each logger with a hole. */
void stv_words_gaps_bridged(struct stv_text *text, const struct stv_chain *chain);
/* Holes filled from elsewhere, and those that are left. */
void stv_words_gaps_heed(struct stv_text *text, const struct stv_chain *chain);

#endif
