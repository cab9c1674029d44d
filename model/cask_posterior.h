/* What was learned of the casks, as draws use it: a normal distribution of the scores of
 * model/draws.h, made from what was standard normal by shifts and triangles, so that a draw of what
 * was learned is the very draw that it was before, moved. */
#ifndef STV_MODEL_CASK_POSTERIOR_H
#define STV_MODEL_CASK_POSTERIOR_H

#include "model/draws.h"
#include "model/status.h"

/* A figure at the last gauge at which it counted, as learned, and how it moves with the cask's own
 * scores: trials are held to it (model/retarget.h). */
enum stv_last { STV_LAST_VOLUME20_L, STV_LAST_ABV20_FRAC, STV_LAST_N };
struct stv_posterior_last {
    int64_t day_d;  /* INT64_MIN: never gauged, or never counted */
    int64_t from_d; /* value is what came since; INT64_MIN: all that is there */
    double value;
    double by_own_nd[STV_OWN_SCORE_N];
};

/* What was found of a cask that leaks, at the last gauge that says so. */
struct stv_posterior_leak {
    double chance_frac, per_y; /* how likely it leaks, and what share of what it holds then */
    int64_t from_d;            /* since when; INT64_MIN: always */
    int64_t to_d, again_d;     /* it was stopped, and began again; INT64_MAX: not, as is known */
    int64_t found_d;
    double found_l, found_sd_l; /* at 20 C */
    double leaking_y;           /* of the time to the gauge, above 0 */
    /* How likely its litres are gone, by a leak or through wood and joints, where they taught
     * nothing; else how likely it leaks. */
    double gone_frac;
};

/* None that is known. */
struct stv_posterior_leak stv_posterior_leak_none(void);
/* The day since when a leak goes on, or went on until it was stopped. */
int64_t stv_posterior_leak_since_day(const struct stv_posterior_leak *leak);

/* One gauged or nosed cask: own = mean + by_shared (shared - shared's mean) + chol e. */
struct stv_posterior_cask {
    uint64_t key; /* stv_key_of its id */
    double mean_nd[STV_OWN_SCORE_N];
    double chol_nd[STV_OWN_SCORE_N][STV_OWN_SCORE_N]; /* lower */
    struct stv_posterior_leak leak;
    struct stv_posterior_last last[STV_LAST_N];
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
    double *last_by_shared_nd;        /* n_casks x STV_LAST_N x n_shared */
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

/* The last day that its trials are held to; INT64_MIN: to none. */
int64_t stv_posterior_last_day(const struct stv_posterior_cask *cask);

/* Litres that a draw takes a leaking cask to have held when it was last gauged: what was found, and
 * a draw of its error. */
double stv_posterior_leak_found_l(const struct stv_posterior_cask *cask,
                                  const struct stv_house_draws *house, size_t draw_idx);

#endif
