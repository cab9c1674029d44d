/* What a cask's litres are, in words: how old, which woods, which water, whose spirit. */
#ifndef STV_CLI_WORDS_LINEAGE_H
#define STV_CLI_WORDS_LINEAGE_H

#include "cli/chain.h"
#include "cli/format.h"
#include "plots/text.h"

/* "3 years and 12 days old", "212 days old"; ", give or take 15 days" where the day is vague. */
struct stv_formatted stv_words_age(struct stv_day_span born, int64_t day_d);

/* A paragraph on what is in the cask on the day of the answer, or since when it is empty. */
void stv_words_lineage(struct stv_text *text, const struct stv_chain *chain, int cask_idx);

#endif
