/* What was learned of the casks, as draws use it: a normal distribution of the scores of
 * model/draws.h, made from what was standard normal by shifts and triangles, so that a draw of what
 * was learned is the very draw that it was before, moved. */
#ifndef STV_MODEL_CASK_POSTERIOR_H
#define STV_MODEL_CASK_POSTERIOR_H

#include "model/draws.h"
#include "model/status.h"

/* One gauged or nosed cask: own = mean + by_shared (shared - shared's mean) + chol e. */
struct stv_posterior_cask {
    uint64_t key; /* stv_key_of its id */
    double mean_nd[STV_OWN_SCORE_N];
    double chol_nd[STV_OWN_SCORE_N][STV_OWN_SCORE_N]; /* lower */
    double leak_frac, leak_per_y; /* how likely it leaks, and by how much then */
    int64_t leak_from_d;          /* since when; INT64_MIN: always */
    /* Litres and strength at its last gauge that counted, as learned, and how they move with its
     * own scores: trials are held to it (model/retarget.h).  INT64_MIN: no such gauge. */
    int64_t told_day_d;
    double told_l, told_frac;
    double told_l_by_own_nd[STV_OWN_SCORE_N], told_frac_by_own_nd[STV_OWN_SCORE_N];
};

/* Shared scores: the house's, then STV_KIND_SCORE_N of each kind, then those of noses and cards:
 * at least those of the house and its kinds. */
struct stv_posterior {
    size_t n_kinds, n_shared, n_casks;
    uint64_t *kind_keys;              /* n_kinds, ascending */
    double *mean_nd;                  /* n_shared */
    double *chol_nd;                  /* n_shared x n_shared by rows, lower */
    struct stv_posterior_cask *casks; /* by key, ascending */
    double *by_shared_nd;             /* n_casks x STV_OWN_SCORE_N x n_shared */
    double *told_by_shared_nd;        /* n_casks x (litres, strength) x n_shared */
};

/* Frees and empties; may be called twice. */
void stv_posterior_free(struct stv_posterior *posterior);

/* Puts the casks in the order in which they are found; what stands beside them does not move. */
void stv__posterior_sort_casks(struct stv_posterior *posterior);

/* The cask's entry, or NULL when nothing was learned of it. */
const struct stv_posterior_cask *stv_posterior_find(const struct stv_posterior *posterior,
                                                    uint64_t cask_key);

/* Moves the draws of a house and its kinds to what was learned.  Kinds that it does not know keep
 * their own.  The house then remembers its shared scores for the casks.
 *
 * house     as from stv_house_draws_new, of kind_keys
 * Errors:   STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_posterior_move_house(const struct stv_posterior *posterior,
                                                        const uint64_t *kind_keys,
                                                        struct stv_house_draws *house);

/* Moves a cask's own scores of a draw, and its leak; casks that it does not know keep theirs.
 * house     moved by stv_posterior_move_house */
void stv_posterior_move_cask(const struct stv_posterior *posterior,
                             const struct stv_house_draws *house, size_t draw_idx,
                             uint64_t cask_key, struct stv_scores *scores);

#endif
