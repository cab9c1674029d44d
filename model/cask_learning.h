/* Learning casks from gauges and noses: the engine's own casks, told at the gauges with their
 * derivatives by every score, fitted by model/gauge_fit.h; gauges that disagree are judged by
 * model/gauge_verdict.h and left out where they are slips or leaks.
 *
 * Layer 8; pure. */
#ifndef STV_MODEL_CASK_LEARNING_H
#define STV_MODEL_CASK_LEARNING_H

#include "model/cask_posterior.h"
#include "model/gauge_fit.h"
#include "model/gauge_verdict.h"
#include "model/outlook.h"

/* One figure of one gauge. */
struct stv_cask_observation {
    size_t cask_idx; /* of the ledger; it must hold spirit that day */
    int64_t day_d;   /* states after that day's events are compared */
    enum stv_fit_kind kind;
    double value, error; /* as in model/gauge_fit.h */
    size_t scale_idx;    /* of a reading */
    bool is_unmixed;
    bool is_set_aside; /* known for a slip: judged, and nothing is learned from it */
    /* Of litres and strength: the figure as typed, as in struct stv_gauge_figure; 0: not known. */
    double typed_nd, per_typed_nd;
    int n_decimals;
    size_t gauge_idx; /* the caller's; figures of one gauge are judged together */
};

struct stv_cask_learning_request {
    struct stv_outlook_request house; /* days, sums and learned are not looked at */
    const struct stv_cask_observation *observations;
    size_t n_observations;
    const struct stv_fit_tare *tares; /* per cask of the ledger */
    const struct stv_fit_scale *scales;
    size_t n_scales;
    struct stv_fit_ready ready;
};

/* What became of an observation. */
struct stv_cask_told {
    double then_nd, then_error_nd; /* in the unit of the observation, predicted from earlier days
                                      alone, but for what a leak took that was stopped; error with
                                      its own */
    bool is_left_out;              /* a slip, or litres after a leak began */
    /* After a leak was stopped: the observation before it, whose find it counts from; its own index
     * where there is none; SIZE_MAX: it counts from the fill. */
    size_t from_idx;
};

/* A gauge with litres or strength, against the one before it or the fill, and what all other casks
 * and earlier days of its own say of it. */
struct stv_cask_verdict {
    size_t cask_idx, gauge_idx;
    int64_t since_day_d, day_d;
    struct stv_gauge_change change;
    struct stv_gauge_odds odds;
    double reckoned_per_y; /* of a leak, in what was predicted */
    int64_t reckoned_from_d;
    double tare_error_l; /* of litres that were weighed with the cask */
    bool is_set_aside;
    bool agrees; /* with another gauge, and both not with what came before */
};

/* The first day after another on which a cask's leak was stopped; INT64_MAX: none.  What was
 * stopped on the other day itself had leaked before it. */
int64_t stv_leak_stopped_day(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d);
/* Whether a gauge that looked like a leak was misread, once later ones have ruled the leak out:
 * that is likelier than the air alone, and nobody stopped a leak after it began. */
bool stv_slip_if_no_leak(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d,
                         double misread_frac, double evaporation_frac);

struct stv_cask_learning {
    struct stv_posterior posterior;
    struct stv_fit fit;         /* cask i of the fit is cask i of the ledger */
    struct stv_cask_told *told; /* per observation */
    struct stv_cask_verdict *verdicts;
    size_t n_verdicts;
    double ready_ln_nd[2], ready_error_ln_nd[2]; /* of the reference's wood, from ready to over */
    size_t stuck_cask_idx; /* with STV_E_NO_CONVERGENCE: whose figures drew its scores furthest */
};

/* Learns.
 *
 * request  ledger sorted and free of faults; up to 28 kinds of cask
 * out      free with stv_cask_learning_free; empty unless OK, but for stuck_cask_idx
 *
 * Errors:  STV_E_NO_DATA  no observation; STV_E_DOMAIN more than 28 kinds of cask
 *          STV_E_NO_CONVERGENCE; those of stv_outlook_run and stv_fit_learn
 * Accuracy: as tested over 300 invented houses of 10 casks gauged with error in the first half of
 *          their life: see tests/test_calibration.c
 * Assumes: errors of the climate members (temperature, humidity, wood energies, time constant) act
 *          in a straight line, from the middle of what is held likely; spirit that a cask poured
 *          into another brings the middle of its own scores along; a leak that is likelier than
 *          not goes on as it did until "leak stopped"; what was stopped was one, and litres found
 *          after it tell what went since, not what the leak took */
STV_MUST_CHECK enum stv_status stv_cask_learn(const struct stv_cask_learning_request *request,
                                              struct stv_cask_learning *out);
/* Frees and empties; may be called twice. */
void stv_cask_learning_free(struct stv_cask_learning *learning);

/* One more gauge or nosing of a cask, and the day that it may narrow. */
struct stv_cask_wish {
    size_t cask_idx;
    int64_t gauge_day_d, target_day_d; /* it holds spirit on both */
};
/* Errors of the target day, one standard deviation, before and after. */
struct stv_cask_worth {
    struct stv_fit_worth volume20_l;   /* by a weighing, the wood's own weight known */
    struct stv_fit_worth wood_by_nose; /* ln of the reference's wood, by a verdict */
};
#define STV_CASK_WEIGHING_ERROR_KG 1.0 /* of that weighing.  Source: judgement */

/* What one weighing and one nosing of each cask would narrow, on average over what they may find.
 *
 * request   as the learning was asked
 * out       n_wishes; NaN of a cask that cannot be told so far
 *
 * Errors:   those of stv_cask_learn
 * Assumes:  what stv_fit_worth_of does */
STV_MUST_CHECK enum stv_status stv_cask_worth_of(const struct stv_cask_learning_request *request,
                                                 const struct stv_cask_learning *learning,
                                                 const struct stv_cask_wish *wishes,
                                                 size_t n_wishes, struct stv_cask_worth *out);

/* The fit that a posterior was made from, as far as it was kept: casks' weights without liquid are
 * as if nothing was learned of them.  Enough for stv_cask_worth_of and stv_sampling_of_casks.
 *
 * request  as the learning was asked
 * out      free with stv_fit_free; empty unless OK
 *
 * Errors:  STV_E_ARG  the posterior is not of these kinds, scales and noses; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status
stv_cask_fit_of_posterior(const struct stv_cask_learning_request *request,
                          const struct stv_posterior *posterior, struct stv_fit *out);

#endif
