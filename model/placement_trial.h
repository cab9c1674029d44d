/* Shared inside model/: casks tried in several places, and what a place gave. */
#ifndef STV_MODEL_PLACEMENT_TRIAL_H
#define STV_MODEL_PLACEMENT_TRIAL_H

#include "model/outlook.h"
#include "model/placement.h"

/* A cask and where it goes on the day of the trial; warehouse_idx -1: it stays. */
struct stv__trial_want {
    int cask_idx;
    struct stv_place place;
};

/* A ledger of copies: the same ids and so the same draws, parted only by the move. */
struct stv__trial {
    struct stv_ledger ledger;
    size_t *cask_of_want; /* per want: index in the trial's ledger */
};

/* Copies each want's cask and all that it exchanged spirit with, up to the end of from_day_d, and
 * moves it then.  Wants of one cask beside each other cost least.
 * Errors: STV_E_MEMORY.  Free with stv__trial_free, whatever the status. */
STV_MUST_CHECK enum stv_status stv__trial_new(const struct stv_ledger *ledger, int64_t from_day_d,
                                              const struct stv__trial_want *wants, size_t n_wants,
                                              struct stv__trial *out);
void stv__trial_free(struct stv__trial *trial);

/* What one cask gives on one day: values [quantity * n_draws + draw], room for
 * n_draws.  Sets all of
 * the score that needs no other place. */
void stv__place_score(const double *values, size_t n_draws, const struct stv_house_rules *rules,
                      double *room_draws, struct stv_place_score *score);

/* Median over draws of own less other. */
double stv__paired_median_nd(const double *own_draws, const double *other_draws, size_t n_draws,
                             double *room_draws);

/* Bottles inside which two places are as good; and whether one is as good as the best, from which
 * it is off by so many. */
double stv__place_margin_nd(const struct stv_place_score *best);
int stv__place_is_as_good(const struct stv_place_score *score, const struct stv_place_score *best,
                          double bottles_nd, const struct stv_house_rules *rules);

#endif
