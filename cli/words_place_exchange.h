/* An exchange of places, told. */
#ifndef STV_CLI_WORDS_PLACE_EXCHANGE_H
#define STV_CLI_WORDS_PLACE_EXCHANGE_H

#include "cli/place_house.h"
#include "model/exchange.h"
#include "plots/text.h"

struct stv_place_exchange {
    struct stv_place one, other; /* tiers (bay and depth -1), or the places of two casks */
    struct stv_exchange_pair *pairs;
    size_t n_pairs, n_without_partner;
    size_t n_gone;      /* casks that history.csv moves or empties before that day */
    size_t n_too_heavy; /* casks that stay, for the plate of the other side bears less */
    int64_t exchange_day_d, until_day_d;
    struct stv_exchange exchange;
    enum stv_exchange_verdict verdict;
    struct stv_place_house house; /* its items and crew alone */
};

void stv_words_place_exchange(struct stv_text *text, const struct stv_chain *chain,
                              const struct stv_place_exchange *told, bool with_crew);

#endif
