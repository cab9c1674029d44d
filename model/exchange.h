/* An exchange of places: whether it evens the casks out, and whether it saves anything. */
#ifndef STV_MODEL_EXCHANGE_H
#define STV_MODEL_EXCHANGE_H

#include "model/outlook.h"

/* Two lots that change places.  Litres at 20 C. */
struct stv_exchange {
    size_t n_moves;
    double moved_kg; /* of all moves together */
    /* Difference of litres lost by a cask of one lot and of the other, on average, without its
     * sign: what an exchange evens out. */
    struct stv_range spread_l, exchanged_spread_l;
    struct stv_range total_l, exchanged_total_l; /* kept by all of them */
    struct stv_range gain_l, gain_frac;          /* kept more by exchanging; of the total */
    struct stv_range gain_bottles_nd;            /* NaN where no bottles are counted */
    struct stv_range gain_fruit_nd;              /* still fruit left, mean over casks; else NaN */
};

enum stv_exchange_verdict {
    STV_EXCHANGE_NO_MATTER, /* neither evens out nor saves */
    STV_EXCHANGE_EVENS_OUT, /* evens out, does not save */
    STV_EXCHANGE_SAVES,
    STV_EXCHANGE_COSTS /* it loses more than it would by lying still */
};

/* What to call it.
 * Source: own rule: it saves, or costs, when the middle gain is beyond 1 % of what is kept and 9
 *         trials in 10 have its sign; it evens out when it takes half of the spread or more, of at
 *         least 1 % of what a cask keeps: judgement */
enum stv_exchange_verdict stv_exchange_judge(const struct stv_exchange *exchange, size_t n_casks);

/* Two lots in steady air. */
struct stv_exchange_steady {
    size_t n_one, n_other;
    double litres_l;                                   /* in each cask at the start */
    double one_loss_frac_per_y, other_loss_frac_per_y; /* by where a lot starts */
    double years_y, exchanged_after_y;
    double cask_kg; /* of one full cask */
};
/* Losses by plain compound shares a year, no ranges.
 * Errors: STV_E_DOMAIN a share outside 0..1, a time outside 0..years, no litres
 * Source: (1 - loss)^years */
STV_MUST_CHECK enum stv_status stv_exchange_of_steady(const struct stv_exchange_steady *lots,
                                                      struct stv_exchange *out);

/* A pair of casks that change places on a day. */
struct stv_exchange_pair {
    int one_idx, other_idx;                  /* of the ledger */
    struct stv_place one_place, other_place; /* where they lie until then */
};
struct stv_exchange_ask {
    const struct stv_exchange_pair *pairs;
    size_t n_pairs;
    int64_t from_day_d, exchange_day_d,
        until_day_d; /* ascending; the losses count from the first */
};
/* Runs each cask twice, with the same draws: as it lies, and exchanged.
 *
 * house    its days are not used; what its ledger says after exchange_day_d is left out
 * out      moved_kg is the caller's; n_moves two for each pair
 * Errors:  STV_E_ARG no pair, or days not ascending; STV_E_NO_DATA a cask is empty on a day;
 *          others of stv_outlook_run */
STV_MUST_CHECK enum stv_status stv_exchange_run(const struct stv_outlook_request *house,
                                                const struct stv_exchange_ask *ask,
                                                struct stv_exchange *out);

#endif
