/* Shared by the files of gauge_fit. */
#ifndef STV_MODEL_GAUGE_FIT_PARTS_H
#define STV_MODEL_GAUGE_FIT_PARTS_H

#include "model/gauge_fit.h"

#define STV__FIT_SHARED_MOST (STV_FIT_TOP_MOST + STV_FIT_THRESHOLDS + 2 * STV_FIT_SCALES_MOST)
#define STV__FIT_BLOCK_MOST (STV_FIT_OWN_MOST + 1)
#define STV__FIT_ROWS_MOST 2
#define STV__FIT_VERDICTS (STV_FIT_THRESHOLDS + 1)

/* A figure, or what a row of least squares leaves over, and how it moves with the scores of one
 * cask and those shared. */
struct stv__fit_told {
    double value;
    double by_shared_nd[STV__FIT_SHARED_MOST], by_block_nd[STV__FIT_BLOCK_MOST];
};

/* A point: all scores. */
struct stv__fit_point {
    const double *shared_nd;
    const double *block_nd; /* of one cask */
};

size_t stv__fit_n_shared(const struct stv_fit_problem *problem);

/* What an observation should find: one figure; of a reading, ln of wood above what it says, then ln
 * of the scale's step; of a verdict, ln of wood above each threshold.  Returns how many. */
size_t stv__fit_tell(const struct stv_fit_problem *problem,
                     const struct stv_fit_observation *observation,
                     const struct stv_fit_moment *moment, struct stv__fit_point point,
                     struct stv__fit_told out[STV_FIT_THRESHOLDS]);

/* ln of wood per unit of reading, at a point. */
double stv__fit_step_ln_nd(const struct stv_fit_problem *problem, size_t scale_idx,
                           const double *shared_nd);

/* Error with all that widens it. */
double stv__fit_error_nd(const struct stv_fit_observation *observation);

/* Rows of least squares, each a left-over with error 1, whose slope and curvature are those of
 * minus the log likelihood; the latter is added to *cost.  Returns how many. */
size_t stv__fit_rows(const struct stv_fit_observation *observation,
                     const struct stv__fit_told told[STV_FIT_THRESHOLDS],
                     struct stv__fit_told out[STV__FIT_ROWS_MOST], double *cost_nd);

/* Normal equations: the shared scores, and for each cask its own block and its cross terms. */
struct stv__fit_blocks {
    size_t n_shared, n_block;
    double *shared_nd;      /* n_shared x n_shared; the lower half counts */
    double *shared_side_nd; /* n_shared */
    double *block_nd;       /* n_casks x n_block x n_block; the lower half counts */
    double *cross_nd;       /* n_casks x n_block x n_shared */
    double *side_nd;        /* n_casks x n_block */
    double *memory_nd;      /* of all these */
};

STV_MUST_CHECK enum stv_status stv__fit_blocks_new(const struct stv_fit_problem *problem,
                                                   struct stv__fit_blocks *out);
void stv__fit_blocks_free(struct stv__fit_blocks *blocks);
/* Everything at the priors: unit matrices, zero sides. */
void stv__fit_blocks_reset(struct stv__fit_blocks *blocks, size_t n_casks);

/* The same of one cask's own part, which the shared scores must not hold any more. */
void stv__fit_blocks_reset_cask(struct stv__fit_blocks *blocks, size_t cask_idx);

/* Takes in row . scores = side, error 1. */
void stv__fit_add_row(struct stv__fit_blocks *blocks, size_t cask_idx,
                      const struct stv__fit_told *row, double side_nd);

/* The part of a row that lies in the shared scores alone, times a sign: -1 takes it out again. */
void stv__fit_add_shared(struct stv__fit_blocks *blocks, const struct stv__fit_told *row,
                         double side_nd, double sign_nd);

/* Cholesky factor of a cask's block with damping on its diagonal; and through it the cross terms
 * and the side: what the cask's scores leave to the shared ones. */
struct stv__fit_factor {
    double chol_nd[STV__FIT_BLOCK_MOST * STV__FIT_BLOCK_MOST];
    double cross_nd[STV__FIT_BLOCK_MOST * STV__FIT_SHARED_MOST];
    double side_nd[STV__FIT_BLOCK_MOST];
};
void stv__fit_factor_of(const struct stv__fit_blocks *blocks, size_t cask_idx, double damping_nd,
                        struct stv__fit_factor *out);
/* Adds sign times what the factor takes from the shared matrix and side. */
void stv__fit_add_factor(const struct stv__fit_blocks *blocks, const struct stv__fit_factor *factor,
                         double sign_nd, double *shared_nd, double *side_nd);

/* Observations by cask, in their order, and every cask's moments. */
struct stv__fit_casks {
    const struct stv_fit_problem *problem;
    size_t *first_observation; /* n_casks + 1 */
    size_t *order;             /* n_observations */
    size_t *first_moment;      /* n_casks + 1 */
    enum stv_status *statuses; /* what predict last gave for each cask */
    struct stv_fit_moment *moments;
};

STV_MUST_CHECK enum stv_status stv__fit_casks_new(const struct stv_fit_problem *problem,
                                                  struct stv__fit_casks *out);
void stv__fit_casks_free(struct stv__fit_casks *casks);
/* Asks predict about every cask that was observed. */
STV_MUST_CHECK enum stv_status stv__fit_predict_all(struct stv__fit_casks *casks,
                                                    const double *shared_nd,
                                                    const double *blocks_nd);
/* Tells an observation by the moments last predicted; block_nd is the cask's. */
size_t stv__fit_tell_at(const struct stv__fit_casks *casks, size_t observation_idx,
                        struct stv__fit_point point, struct stv__fit_told out[STV_FIT_THRESHOLDS]);

/* A figure as what independent normals give: those of the shared scores, then the cask's. */
struct stv__fit_spread {
    size_t cask_idx;
    double shared_nd[STV__FIT_SHARED_MOST], block_nd[STV__FIT_BLOCK_MOST];
};
void stv__fit_spread_of(const struct stv_fit *fit, size_t cask_idx, const struct stv__fit_told *row,
                        struct stv__fit_spread *out);
double stv__fit_covariance_nd(const struct stv_fit *fit, const struct stv__fit_spread *a,
                              const struct stv__fit_spread *b);

/* Room for a problem's fit, all of it 0.  Errors: STV_E_MEMORY.  Free with stv_fit_free. */
STV_MUST_CHECK enum stv_status stv__fit_new(const struct stv_fit_problem *problem,
                                            struct stv_fit *out);

/* Whether a problem can be asked at all. */
bool stv__fit_is_sound(const struct stv_fit_problem *problem);

#endif
