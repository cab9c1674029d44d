/* Words of `place` for many casks, for an exchange, and before buying. */
#ifndef STV_CLI_WORDS_PLACE_HOUSE_H
#define STV_CLI_WORDS_PLACE_HOUSE_H

#include "cli/place_house.h"
#include "plots/text.h"

void stv_words_place_house(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house, bool is_all, bool with_crew);

#endif
