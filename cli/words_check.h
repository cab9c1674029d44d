/* What `check` prints: findings file by file, then what each logger gave. */
#ifndef STV_CLI_WORDS_CHECK_H
#define STV_CLI_WORDS_CHECK_H

#include "cli/chain.h"
#include "plots/text.h"

/* Findings in the order of the files in which they lie.  At most most_alike of one kind in one file
 * are listed one by one; the rest of them in one line with their count and rows. */
void stv_words_findings(struct stv_text *text, const struct stv_problems *problems,
                        size_t most_alike);

/* A table of the loggers, and how each was read. */
void stv_words_loggers(struct stv_text *text, const struct stv_chain *chain);

#endif
