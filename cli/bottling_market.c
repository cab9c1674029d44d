/* What the named market bars on the day of each planned bottling. */
#include "cli/bottling_parts.h"

#include <math.h>
#include <stdlib.h>

enum stv_status stv__bottling_find_stands(struct stv_bottling_answer *answer)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    size_t n = answer->n_planned * ledger->n_casks;
    answer->stands = calloc(n + 1, sizeof *answer->stands);
    enum stv_status status = answer->stands ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < answer->n_planned && status == STV_OK; w++) {
        int64_t day_d = answer->planned[w].wish.day_d;
        struct stv_lineage *lineage = NULL;
        status = stv_lineage_new(ledger, day_d, &lineage);
        for (size_t c = 0; c < ledger->n_casks && status == STV_OK; c++)
            status = stv_market_stand(answer->chain, lineage, (int)c, day_d,
                                      &answer->stands[w * ledger->n_casks + c]);
        stv_lineage_free(lineage);
    }
    return status;
}

const struct stv_market_stand *stv_bottling_stand(const struct stv_bottling_answer *answer,
                                                  size_t wish_idx, size_t cask_idx)
{
    return &answer->stands[wish_idx * answer->chain->book.ledger.n_casks + cask_idx];
}

bool stv_bottling_is_under_market(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const double rounding_frac = 1e-9;
    const struct stv_market *market = answer->chain->named.market;
    return market && market->bottled_least_abv20_frac.value >
                         answer->planned[wish_idx].wish.least_abv20_frac + rounding_frac;
}

bool stv_bottling_is_unsure(const struct stv_bottling_answer *answer, size_t wish_idx,
                            size_t cask_idx)
{
    const struct stv_market_stand *stand = stv_bottling_stand(answer, wish_idx, cask_idx);
    return answer->chain->named.market && stand->most_age_y > stand->age_y;
}

bool stv_bottling_wants_market_look(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    bool wants = stv_bottling_is_under_market(answer, wish_idx);
    for (size_t i = 0; i < outcome->n_casks; i++)
        wants |= stv_bottling_is_unsure(answer, wish_idx, (size_t)outcome->casks[i].cask_idx);
    return wants;
}

struct stv_market_stand stv_bottling_youngest(const struct stv_bottling_answer *answer,
                                              size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    struct stv_market_stand least = {.calendar_y = NAN, .age_y = NAN, .most_age_y = NAN};
    for (size_t i = 0; i < outcome->n_casks; i++) {
        const struct stv_market_stand *stand =
            stv_bottling_stand(answer, wish_idx, (size_t)outcome->casks[i].cask_idx);
        least.calendar_y = fmin(least.calendar_y, stand->calendar_y);
        least.age_y = fmin(least.age_y, stand->age_y);
        least.most_age_y = fmin(least.most_age_y, stand->most_age_y);
    }
    return least;
}
