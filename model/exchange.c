/* Places exchanged.  Both lots then had the same air for as long as each other, so that the spread
 * closes; the sum hardly moves, for each place takes its share of whatever lies there. */
#include "model/exchange.h"

#include "model/placement_trial.h"

#include <math.h>
#include <stdlib.h>

/* Judgement, set beforehand. */
#define MATTERS_FRAC 0.01
#define EVENED_SHARE 0.5

enum stv_exchange_verdict stv_exchange_judge(const struct stv_exchange *exchange, size_t n_casks)
{
    const struct stv_range *gain = &exchange->gain_frac;
    double kept_l = exchange->total_l.p50 / (double)n_casks;
    if (gain->p50 > MATTERS_FRAC && gain->p05 > 0.0)
        return STV_EXCHANGE_SAVES;
    if (gain->p50 < -MATTERS_FRAC && gain->p95 < 0.0)
        return STV_EXCHANGE_COSTS;
    if (exchange->spread_l.p50 >= MATTERS_FRAC * kept_l &&
        exchange->exchanged_spread_l.p50 <= EVENED_SHARE * exchange->spread_l.p50)
        return STV_EXCHANGE_EVENS_OUT;
    return STV_EXCHANGE_NO_MATTER;
}

enum stv_status stv_exchange_of_steady(const struct stv_exchange_steady *lots,
                                       struct stv_exchange *out)
{
    double one = 1.0 - lots->one_loss_frac_per_y, other = 1.0 - lots->other_loss_frac_per_y;
    *out = (struct stv_exchange){0};
    if (!(one >= 0.0 && one <= 1.0 && other >= 0.0 && other <= 1.0 && lots->litres_l > 0.0 &&
          lots->exchanged_after_y >= 0.0 && lots->years_y >= lots->exchanged_after_y))
        return STV_E_DOMAIN;
    double before_y = lots->exchanged_after_y, after_y = lots->years_y - before_y;
    double stay_one_l = lots->litres_l * pow(one, lots->years_y);
    double stay_other_l = lots->litres_l * pow(other, lots->years_y);
    double moved_one_l = lots->litres_l * pow(one, before_y) * pow(other, after_y);
    double moved_other_l = lots->litres_l * pow(other, before_y) * pow(one, after_y);
    double n_one = (double)lots->n_one, n_other = (double)lots->n_other;
    double stay_l = n_one * stay_one_l + n_other * stay_other_l;
    double moved_l = n_one * moved_one_l + n_other * moved_other_l;
    *out = (struct stv_exchange){
        .n_moves = lots->n_one + lots->n_other,
        .moved_kg = (n_one + n_other) * lots->cask_kg,
        .spread_l = stv_range_point(fabs(stay_one_l - stay_other_l)),
        .exchanged_spread_l = stv_range_point(fabs(moved_one_l - moved_other_l)),
        .total_l = stv_range_point(stay_l),
        .exchanged_total_l = stv_range_point(moved_l),
        .gain_l = stv_range_point(moved_l - stay_l),
        .gain_frac = stv_range_point((moved_l - stay_l) / stay_l),
        .gain_bottles_nd = stv_range_point(NAN),
        .gain_fruit_nd = stv_range_point(NAN),
    };
    return STV_OK;
}

/* Wants in fours: one and other as they lie, one and other exchanged. */
enum { ONE_STAYS, OTHER_STAYS, ONE_MOVES, OTHER_MOVES, WAYS };

static enum stv_status make_trial(const struct stv_outlook_request *house,
                                  const struct stv_exchange_ask *ask, struct stv__trial *out)
{
    struct stv__trial_want *wants = malloc(WAYS * ask->n_pairs * sizeof *wants);
    if (!wants)
        return STV_E_MEMORY;
    const struct stv_place nowhere = {-1, -1, -1, -1};
    for (size_t p = 0; p < ask->n_pairs; p++) {
        const struct stv_exchange_pair *pair = &ask->pairs[p];
        wants[WAYS * p + ONE_STAYS] = (struct stv__trial_want){pair->one_idx, nowhere};
        wants[WAYS * p + OTHER_STAYS] = (struct stv__trial_want){pair->other_idx, nowhere};
        wants[WAYS * p + ONE_MOVES] = (struct stv__trial_want){pair->one_idx, pair->other_place};
        wants[WAYS * p + OTHER_MOVES] = (struct stv__trial_want){pair->other_idx, pair->one_place};
    }
    enum stv_status status =
        stv__trial_new(house->ledger, ask->exchange_day_d, wants, WAYS * ask->n_pairs, out);
    free(wants);
    return status;
}

/* Means over pairs, draw by draw. */
struct sums {
    double lost_l[WAYS], kept_l[WAYS], bottles_nd[WAYS], fruit_nd[WAYS];
};

static struct sums sums_of(const struct stv_outlook *outlook, const struct stv__trial *trial,
                           size_t n_pairs, size_t draw)
{
    struct sums sums = {0};
    for (size_t w = 0; w < WAYS * n_pairs; w++) {
        size_t cask = trial->cask_of_want[w], way = w % WAYS;
        double from_l = stv_outlook_draws(outlook, cask, 0, STV_Q_VOLUME20_L)[draw];
        double until_l = stv_outlook_draws(outlook, cask, 1, STV_Q_VOLUME20_L)[draw];
        sums.lost_l[way] += (from_l - until_l) / (double)n_pairs;
        sums.kept_l[way] += until_l;
        sums.bottles_nd[way] += stv_outlook_draws(outlook, cask, 1, STV_Q_BOTTLES_ND)[draw];
        sums.fruit_nd[way] += stv_outlook_draws(outlook, cask, 1, STV_Q_STILL_FRUIT_ND)[draw];
    }
    return sums;
}

enum { SPREAD, MOVED_SPREAD, TOTAL, MOVED_TOTAL, GAIN_L, GAIN, BOTTLES, FRUIT, FIGURES };

static enum stv_status tell(const struct stv_outlook *outlook, const struct stv__trial *trial,
                            size_t n_pairs, struct stv_exchange *out)
{
    size_t n = outlook->n_draws;
    double *room = malloc(FIGURES * n * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    for (size_t d = 0; d < n; d++) {
        struct sums sums = sums_of(outlook, trial, n_pairs, d);
        double stay_l = sums.kept_l[ONE_STAYS] + sums.kept_l[OTHER_STAYS];
        double moved_l = sums.kept_l[ONE_MOVES] + sums.kept_l[OTHER_MOVES];
        room[SPREAD * n + d] = fabs(sums.lost_l[ONE_STAYS] - sums.lost_l[OTHER_STAYS]);
        room[MOVED_SPREAD * n + d] = fabs(sums.lost_l[ONE_MOVES] - sums.lost_l[OTHER_MOVES]);
        room[TOTAL * n + d] = stay_l;
        room[MOVED_TOTAL * n + d] = moved_l;
        room[GAIN_L * n + d] = moved_l - stay_l;
        room[GAIN * n + d] = (moved_l - stay_l) / stay_l;
        room[BOTTLES * n + d] = sums.bottles_nd[ONE_MOVES] + sums.bottles_nd[OTHER_MOVES] -
                                sums.bottles_nd[ONE_STAYS] - sums.bottles_nd[OTHER_STAYS];
        room[FRUIT * n + d] = (sums.fruit_nd[ONE_MOVES] + sums.fruit_nd[OTHER_MOVES] -
                               sums.fruit_nd[ONE_STAYS] - sums.fruit_nd[OTHER_STAYS]) /
                              (2.0 * (double)n_pairs);
    }
    struct stv_range *ranges[FIGURES] = {
        &out->spread_l, &out->exchanged_spread_l, &out->total_l,         &out->exchanged_total_l,
        &out->gain_l,   &out->gain_frac,          &out->gain_bottles_nd, &out->gain_fruit_nd,
    };
    for (size_t f = 0; f < FIGURES; f++)
        *ranges[f] = stv_range_of(room + f * n, n);
    free(room);
    return isnan(out->total_l.p50) ? STV_E_NO_DATA : STV_OK;
}

enum stv_status stv_exchange_run(const struct stv_outlook_request *house,
                                 const struct stv_exchange_ask *ask, struct stv_exchange *out)
{
    *out = (struct stv_exchange){.n_moves = 2 * ask->n_pairs};
    if (ask->n_pairs == 0 || ask->exchange_day_d < ask->from_day_d ||
        ask->until_day_d <= ask->exchange_day_d)
        return STV_E_ARG;
    for (size_t p = 0; p < ask->n_pairs; p++)
        if (!stv_ledger_is_full(house->ledger, ask->pairs[p].one_idx, ask->from_day_d) ||
            !stv_ledger_is_full(house->ledger, ask->pairs[p].other_idx, ask->from_day_d))
            return STV_E_NO_DATA;
    struct stv__trial trial = {0};
    struct stv_outlook outlook = {0};
    const int64_t days_d[2] = {ask->from_day_d, ask->until_day_d};
    enum stv_status status = make_trial(house, ask, &trial);
    if (status == STV_OK) {
        struct stv_outlook_request request = *house;
        request.ledger = &trial.ledger;
        request.days_d = days_d;
        request.n_days = 2;
        request.sums = NULL;
        request.n_sums = 0;
        status = stv_outlook_run(&request, &outlook);
    }
    if (status == STV_OK)
        status = tell(&outlook, &trial, ask->n_pairs, out);
    stv_outlook_free(&outlook);
    stv__trial_free(&trial);
    return status;
}
