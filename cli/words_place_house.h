/* Words of `place` for many casks, for an exchange, and before buying. */
#ifndef STV_CLI_WORDS_PLACE_HOUSE_H
#define STV_CLI_WORDS_PLACE_HOUSE_H

#include "cli/place_house.h"
#include "plots/text.h"

void stv_words_place_house(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house, bool is_all, bool with_crew);

/* Parts of it. */
const struct stv_house_outcome *stv__outcome_of(const struct stv_place_house *house, size_t group,
                                                size_t kind);
size_t stv__placed_in(const struct stv_place_house *house, size_t group, size_t kind);
void stv__words_place_gaps(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house);

#endif
