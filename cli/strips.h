/* Which days of each logger are used, suspect and missing: as text for the terminal, and as a
 * picture. */
#ifndef STV_CLI_STRIPS_H
#define STV_CLI_STRIPS_H

#include "cli/chain.h"
#include "cli/options.h"
#include "plots/text.h"

/* A line a month, a character a day; longer spans than three years a character a week. */
void stv_words_strips(struct stv_text *text, const struct stv_chain *chain);

/* Draws the picture as SVG, with its numbers as CSV beside it.
 * Errors: STV_E_PROGRAM no gnuplot, STV_E_NO_DATA no logger, STV_E_IO; said */
STV_MUST_CHECK enum stv_status stv_strips_draw(const struct stv_options *options,
                                               const struct stv_chain *chain, const char *path);

#endif
