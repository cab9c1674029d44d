/* Casks before they are bought: kinds and fill strengths in a few places of the house, over years.
 */
#ifndef STV_MODEL_PLACEMENT_NEW_H
#define STV_MODEL_PLACEMENT_NEW_H

#include "model/placement.h"

#define STV_NEW_AGES_MAX 4

struct stv_new_wish {
    int64_t from_day_d;  /* of the fills */
    const int *cask_idx; /* n_casks: each filled once, on that day; alike in id, so that
                            they are compared with the same draws */
    size_t n_casks;
    const struct stv_place *places; /* n_places, each of its own climate */
    size_t n_places;
    double ages_y[STV_NEW_AGES_MAX]; /* ascending, n_ages; told besides the planned age */
    size_t n_ages;
    double planned_age_y;
    const int *is_barred;    /* per cask: never the best, whatever it gives; NULL: none */
    double least_abv20_frac; /* of the market or the house, whichever asks for more */
};

/* One cask in one place at one age. */
struct stv_new_outcome {
    struct stv_range abv20_frac, wood_nd, fruit_nd, bottles_nd;
    double too_weak_frac; /* share of draws below the least strength */
};

struct stv_new_result {
    size_t n_casks, n_places, n_ages; /* n_ages with the planned age behind the others */
    struct stv_new_outcome *outcomes; /* [(cask * n_places + place) * n_ages + age] */
    /* At the planned age, over the places, per 100 litres of pure alcohol put in. */
    struct stv_place_score *scores; /* per cask; free_idx: the cask */
    size_t best_idx;                /* of the most merit; the first where all are barred */
};

/* Runs each cask in each place.
 *
 * house   its days are not used
 * out     free with stv_new_result_free; empty when the status is not OK
 * Errors: STV_E_ARG nothing asked, ages not ascending or below a month; STV_E_NO_DATA a cask is
 *         empty on the first day; others of stv_outlook_run
 * Source: own rule: merit and margins as for places (model/placement.h), bottles per 100 L of pure
 *         alcohol put in, each place counting alike */
STV_MUST_CHECK enum stv_status stv_new_compare(const struct stv_outlook_request *house,
                                               const struct stv_new_wish *wish,
                                               struct stv_new_result *out);
/* Frees and empties; may be called twice. */
void stv_new_result_free(struct stv_new_result *result);

#endif
