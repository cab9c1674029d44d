/* What gauges and noses say about the casks: the most likely scores of the house, of its kinds of
 * cask and of each cask, how sure they are, and how they hang together.
 *
 * Scores are standard normal until something is measured; what a score means is the caller's, who
 * tells by a callback what each gauge should have found and how that moves with each score.
 *
 * Words:  top     scores that all casks share: the house's, then its kinds'
 *         own     scores of one cask
 *         shared  top, then what the fit adds for all casks: three thresholds of the verdicts, then
 *                 two for each scale (where it stands, how steep it is)
 *         block   own, then the tare of the cask
 *
 * Layer 7; pure. */
#ifndef STV_MODEL_GAUGE_FIT_H
#define STV_MODEL_GAUGE_FIT_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_FIT_TOP_MOST 128
#define STV_FIT_OWN_MOST 8
#define STV_FIT_SCALES_MOST 16
#define STV_FIT_THRESHOLDS 3 /* between not yet, nearly, ready and over */

enum {
    STV_FIT_VOLUME20_L,
    STV_FIT_ABV20_FRAC,
    STV_FIT_LIQUID_KG,
    STV_FIT_LN_WOOD,
    STV_FIT_QUANTITIES
};

/* What a gauge of a cask should find, each in its unit, and per unit of each score. */
struct stv_fit_moment {
    double value[STV_FIT_QUANTITIES];
    double by_top_nd[STV_FIT_QUANTITIES][STV_FIT_TOP_MOST];
    double by_own_nd[STV_FIT_QUANTITIES][STV_FIT_OWN_MOST];
};

/* Tells the moments of one cask at a point.
 *
 * top_nd, own_nd   n_top and n_own scores
 * out_moments      n_moments[cask_idx] to write; columns past n_top and n_own are not read
 *
 * Called for several casks at once from several threads.
 * Errors:  STV_E_DOMAIN  this point cannot be told: the fit tries one nearer to where it came from;
 *          any other status ends the fit */
typedef enum stv_status (*stv_fit_predict)(void *context, size_t cask_idx, const double *top_nd,
                                           const double *own_nd,
                                           struct stv_fit_moment *out_moments);

enum stv_fit_kind {
    STV_FIT_VOLUME,   /* L at 20 C */
    STV_FIT_STRENGTH, /* volume fraction at 20 C */
    STV_FIT_LIQUID,   /* kg */
    STV_FIT_GROSS,    /* kg, with the cask */
    STV_FIT_READING,  /* on a scale of its own: a colour card, a nose's points */
    STV_FIT_VERDICT,  /* 0 not yet, 1 nearly, 2 ready, 3 over */
    STV_FIT_KINDS
};

/* Error of a verdict and of a reading, in ln of wood.  Source: judgement */
#define STV_FIT_NOSE_ERROR_LN 0.25

/* Added in quadrature to the error of a strength gauged within 21 days of water: layers of a cask
 * not stirred differ by a few %vol.  Source: judgement */
#define STV_FIT_UNMIXED_ERROR_FRAC 0.01

/* Litres or kilograms may count from what was found at an earlier moment: what had gone before is
 * nobody's to explain then. */
struct stv_fit_from {
    bool counts;
    size_t moment_idx;
    double value;
};

struct stv_fit_observation {
    size_t cask_idx, moment_idx; /* below n_casks, and below n_moments of the cask */
    enum stv_fit_kind kind;
    double value, error; /* error: one standard deviation, above 0; in ln of wood for a reading
                          * and a verdict */
    size_t scale_idx;    /* of a reading */
    bool is_unmixed;
    struct stv_fit_from from;
    int64_t day_d;
};

/* What a cask weighs without its liquid: normal. */
struct stv_fit_tare {
    double tare_kg, error_kg; /* error 0 or more */
};

enum stv_tare_kind { STV_FIT_TARE_DRY, STV_FIT_TARE_WET, STV_FIT_TARE_UNKNOWN };

/* A tare as told.
 *
 * told_kg  dry: stencilled before the first fill, 4.5 +- 1.5 kg soak in afterwards; wet: weighed
 *          on after emptying, +- 1 kg; unknown: the wood's weight, +- 50 kg
 * Source:  judgement; soaking: 3 to 6 L, as coopers tell */
struct stv_fit_tare stv_fit_tare_of(enum stv_tare_kind kind, double told_kg);

/* Readings that rise in a straight line with ln of wood; both scores are the scale's own:
 * ln wood = wood_ln + wood_spread c + step (1 + step_spread s) (reading - middle), +- the error */
struct stv_fit_scale {
    double middle_nd;  /* a reading near the middle */
    double wood_ln_nd; /* ln of wood there, most likely */
    double wood_spread_ln_nd;
    double step_ln_nd; /* ln of wood per unit of reading, above 0 */
    double step_spread_frac;
};

/* Scales of which nothing is known: a colour card of n_steps (2 or more) whose steps run from 0.1
 * to 2 of the reference cask's wood, and a nose's 0 to 10 with 5 at 0.7 and 8 at 1.3.
 * Source: judgement, as are the spreads of 0.7 and 0.35 */
struct stv_fit_scale stv_fit_card(size_t n_steps);
struct stv_fit_scale stv_fit_points(void);

/* Where the house's verdicts change, before anybody nosed. */
struct stv_fit_ready {
    double threshold_ln_nd[STV_FIT_THRESHOLDS]; /* ln of wood, rising */
    double error_ln_nd; /* of the second, above 0; the gaps are lognormal.  0.3 is judgement */
};

struct stv_fit_problem {
    size_t n_top, n_own, n_casks, n_scales, n_observations;
    const size_t *n_moments;          /* n_casks */
    const struct stv_fit_tare *tares; /* n_casks */
    const struct stv_fit_scale *scales;
    struct stv_fit_ready ready;
    const struct stv_fit_observation *observations; /* in any order */
    stv_fit_predict predict;
    void *context;
    /* A step shorter than this, in standard deviations of what was learned, all scores together, is
     * not taken: for a predict whose derivatives are differences.  0: to the last digit. */
    double near_enough_nd;
};

/* What was learned: a normal distribution of all scores.
 * A draw is     shared = shared_nd + shared_chol_nd e,
 *               block_c = block_nd_c + by_shared_nd_c (shared - shared_nd) + block_chol_nd_c e_c
 * with standard normal e and e_c: those of the draws before anything was measured, so that both
 * are paired.  Triangles are lower and keep the order: the first scores of a draw depend on the
 * first e alone.  Top scores alone need the first n_top e only; a block needs all shared scores, or
 * what noses and casks have in common is lost. */
struct stv_fit {
    size_t n_top, n_own, n_casks;
    size_t n_shared, n_block;
    double *shared_nd;       /* n_shared */
    double *shared_chol_nd;  /* n_shared x n_shared by rows */
    double *shared_error_nd; /* n_shared; 1 before anything was measured */
    double *block_nd;        /* n_casks x n_block, as all below */
    double *by_shared_nd;    /* x n_shared */
    double *block_chol_nd;   /* x n_block */
    double *block_error_nd;
    double threshold_ln_nd[STV_FIT_THRESHOLDS];
    double threshold_error_ln_nd[STV_FIT_THRESHOLDS];
    double cost_nd;      /* minus the log posterior, without constants */
    double last_step_nd; /* the step not taken, in standard deviations of what was learned */
    size_t n_steps;
};

/* Learns.
 *
 * out      free with stv_fit_free; filled too when the status is STV_E_NO_CONVERGENCE, with what
 *          was reached; else untouched unless OK
 *
 * Method:  most likely scores by Gauss-Newton steps, damped as Levenberg and Marquardt do, each
 *          cask eliminated before the shared scores are solved for, so that the cost grows with
 *          the number of casks (GSL's dense solver grows with its cube; tests compare with it);
 *          spread by the curvature there (Laplace).  Scores of kinds are shrunk towards the house
 *          by their standard normal priors.  Same bytes at any thread count.
 * Errors:  STV_E_ARG             the problem contradicts itself
 *          STV_E_NO_CONVERGENCE  see last_step_nd
 *          STV_E_DOMAIN          derivatives too large to be solved with
 *          STV_E_MEMORY, and what predict gave at the first point
 * Accuracy: as tested on invented houses: 90 % ranges hold the truth of top, own and tare scores in
 *          89 to 91 %, of scales in 91, of thresholds in 87 %
 * Source:  damping: Nocedal & Wright, Numerical Optimization, 2006, chapters 4 and 10 (from memory)
 * Assumes: errors independent and normal; readings that are slips were left out by the caller
 *          (gauge_verdict.h) */
STV_MUST_CHECK enum stv_status stv_fit_learn(const struct stv_fit_problem *problem,
                                             struct stv_fit *out);
/* Frees and empties; may be called twice. */
void stv_fit_free(struct stv_fit *fit);

/* Draws; e_nd: n_shared and n_block standard normals, out as many scores. */
void stv_fit_draw_shared(const struct stv_fit *fit, const double *e_nd, double *out_nd);
void stv_fit_draw_block(const struct stv_fit *fit, size_t cask_idx, const double *shared_nd,
                        const double *e_nd, double *out_nd);

/* Thresholds at shared scores, rising. */
void stv_fit_thresholds(const struct stv_fit_problem *problem, const double *shared_nd,
                        double out_ln_nd[STV_FIT_THRESHOLDS]);

struct stv_fit_then {
    double value, error; /* in the observation's unit; a verdict's 0 to 3; error: with its own */
};

/* What earlier days' observations of all casks say of each observation.
 *
 * out      n_observations
 * Method:  everything linear about what was learned in the end, taken in day by day
 * Errors:  STV_E_ARG, STV_E_MEMORY, those of predict */
STV_MUST_CHECK enum stv_status stv_fit_predicted_then(const struct stv_fit_problem *problem,
                                                      const struct stv_fit *fit,
                                                      struct stv_fit_then *out);

/* What all other casks' observations, and the cask's own of earlier days, say of each: for judging
 * a gauge by its sisters of the same day too.
 *
 * at       scores about which everything is taken as linear: of a fit, or nearer the middle where a
 *          figure that is to be judged may have drawn them away; n_shared, and n_block of each cask
 * out      n_observations
 * Errors:  as stv_fit_predicted_then */
STV_MUST_CHECK enum stv_status stv_fit_predicted_apart(const struct stv_fit_problem *problem,
                                                       const struct stv_fit *at,
                                                       struct stv_fit_then *out);

/* One more observation, and something it may narrow. */
struct stv_fit_wish {
    struct stv_fit_observation observation; /* value, moment and day are not looked at */
    const struct stv_fit_moment *moment;    /* as predict would tell it at what was learned */
    size_t target_cask_idx;
    const double *target_by_top_nd,
        *target_by_own_nd; /* n_top, n_own: the target per unit of score */
};
struct stv_fit_worth {
    double before_nd, after_nd; /* error of the target, in its unit */
};

/* What an observation would narrow, on average over what it may find.
 *
 * Accuracy: exact for straight figures; of what a nose narrows in variance it promises up to a
 *           quarter too much, as tested on invented houses
 * Errors:  STV_E_ARG */
STV_MUST_CHECK enum stv_status stv_fit_worth_of(const struct stv_fit_problem *problem,
                                                const struct stv_fit *fit,
                                                const struct stv_fit_wish *wish,
                                                struct stv_fit_worth *out);

#endif
