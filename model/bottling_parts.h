/* What windows and planned bottlings share. */
#ifndef STV_MODEL_BOTTLING_PARTS_H
#define STV_MODEL_BOTTLING_PARTS_H

#include "model/lineage.h"
#include "model/outlook.h"

/* Some casks taken as one liquid, draw by draw; n_draws of each, owned. */
struct stv__blend {
    size_t n_draws;
    double *volume20_l, *lpa_l, *abv20_frac, *wood_nd; /* NaN in draws in which all are empty */
};
/* Errors: STV_E_MEMORY; free in any case. */
STV_MUST_CHECK enum stv_status stv__blend_new(size_t n_draws, struct stv__blend *out);
void stv__blend_free(struct stv__blend *blend);
/* Adds the casks up on a day.  Litres are added as they are: between casks of like strength they
 * shrink by less than a thousandth.  Wood counts by pure alcohol, as the index does. */
void stv__blend_of(const struct stv_outlook *outlook, const int *cask_idx, size_t n_casks,
                   size_t day_idx, struct stv__blend *out);
/* The same in two halves, so that the sums of many casks can be kept and one more put onto them:
 * sums of litres, alcohol and wood by alcohol (onto NULL: from nothing), and then what they mix to.
 */
void stv__blend_sum(const struct stv_outlook *outlook, const int *cask_idx, size_t n_casks,
                    size_t day_idx, const struct stv__blend *onto, struct stv__blend *out);
void stv__blend_mix(struct stv__blend *blend);

/* The day on which spirit is old enough by the house's rule: by the calendar, for three years are
 * three birthdays. */
int64_t stv__old_enough_day(const struct stv_house_rules *rules, int64_t born_day_d);

/* What the solver is asked: wishes, and each cask under each of them. */
struct stv__choice_wish {
    double bottles_nd; /* wanted, with what is kept back of a marriage */
    size_t n_casks;    /* 0: not said */
    int is_married;
    double least_abv20_frac, most_abv20_frac; /* of the marriage; most 1: none */
    double wood_least_nd, wood_most_nd;
    size_t series_idx;
    int is_in_series;  /* it has other releases */
    int is_impossible; /* all casks together, fit or not, are too few: it takes none */
};
struct stv__choice_cask {
    int may_serve;
    double bottles_nd, cost_nd; /* what it gives; how little it is wanted here */
    double volume20_l, lpa_l, wood_nd;
};
struct stv__choice {
    const struct stv__choice_wish *wishes;
    size_t n_wishes, n_casks;
    const struct stv__choice_cask *casks; /* [wish * n_casks + cask] */
    const size_t *n_alike;                /* of each cask so many may be taken; NULL: one */
    const size_t *lot_of_cask;
};
/* out_taken: how many each wish takes, [wish * n_casks + cask].
 * Errors: STV_E_NO_CONVERGENCE; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__choose(const struct stv__choice *choice, size_t *out_taken);

#endif
