/* Which casks to gauge and to nose next: those that narrow the house's ranges most, within a number
 * of casks and an allowance of samples, each with what the ones before it already tell.
 *
 * Layer 8; pure. */
#ifndef STV_MODEL_SAMPLING_H
#define STV_MODEL_SAMPLING_H

#include "model/cask_learning.h"

enum stv_sampling_way {
    STV_SAMPLING_GAUGE, /* weighed, and its strength read in a jar */
    STV_SAMPLING_NOSE,  /* a verdict: not yet, nearly, ready, over */
    STV_SAMPLING_WAYS
};

#define STV_SAMPLING_STRENGTH_ERROR_FRAC 0.002 /* of a jar's strength.  Source: judgement */
/* A hydrometer jar takes 100 to 250 ml (a hobby page on gauging); a nose less: judgement. */
#define STV_SAMPLING_GAUGE_L 0.20
#define STV_SAMPLING_NOSE_L 0.05
/* Of what a cask holds, at most so much in one visit: 200 ml four times a year are 0.4 % of 200 L
 * but 4 % of 20 L.  Source: judgement */
#define STV_SAMPLING_MOST_SHARE_FRAC 0.005
/* Offers that narrow within so much of the best are as good.  Source: judgement */
#define STV_SAMPLING_AS_GOOD_FRAC 0.05
/* What narrows the house by less is not worth opening a cask for.  Source: judgement */
#define STV_SAMPLING_LEAST_FRAC 0.0005

/* One visit that could be made. */
struct stv_sampling_offer {
    size_t cask_idx;
    enum stv_sampling_way way;
    double sample_l, holds_l; /* that it draws, and that the cask holds */
};
/* What is to be known better: the litres and the wood of one cask, on a day of its own. */
struct stv_sampling_target {
    size_t cask_idx;
    const struct stv_fit_moment *moment, *target; /* on the day of the visits, and on its own day */
};
struct stv_sampling_limits {
    size_t most_casks;
    double most_samples_l;  /* of all visits together */
    double most_share_frac; /* of what one cask holds, in all its visits */
};

struct stv_sampling_pick {
    size_t offer_idx;
    double narrowed_frac; /* of the house's mean squared error, litres and wood half each, as it was
                             before the list; with the picks before it known */
    size_t n_as_good;     /* offers of other casks, not picked so far, that would do as well */
};
struct stv_sampling_error {
    double volume20_l, wood_ln_nd; /* one standard deviation */
};
struct stv_sampling_list {
    struct stv_sampling_pick *picks;
    size_t n_picks, n_casks;
    double samples_l;
    struct stv_sampling_error *before, *after;           /* per target */
    struct stv_sampling_error house_before, house_after; /* root of the mean square */
    size_t n_spared; /* offers that would take too much of a small cask */
};

/* What a choice is made from. */
struct stv_sampling_request {
    const struct stv_sampling_offer *offers; /* a cask that is offered has a target */
    size_t n_offers;
    const struct stv_sampling_target *targets; /* at most one for each cask */
    size_t n_targets;
    struct stv_sampling_limits limits;
};

/* Chooses, one visit after another: always what narrows most; among those as good, a cask that is
 * visited anyway, then the one that loses the least share, then the order of the offers.
 *
 * problem  of the fit; its observations are not looked at
 * out      in the order of choice; free with stv_sampling_free; empty when the status is not OK
 *
 * Method:  errors of all targets hang together by what casks share; a visit is one or two straight
 *          readings, a nosing one that narrows as much as its four verdicts do on average
 *          (stv_fit_worth_of); each pick conditions all that follows
 * Cost:    picks times casks times the square of the shared scores
 * Errors:  STV_E_ARG  a cask outside, or offered without a target; STV_E_MEMORY
 * Accuracy: leaves less than random lists of the same length on invented houses that are learned
 *          anew with what was then found: tests/test_sampling.c */
STV_MUST_CHECK enum stv_status stv_sampling_choose(const struct stv_fit_problem *problem,
                                                   const struct stv_fit *fit,
                                                   const struct stv_sampling_request *request,
                                                   struct stv_sampling_list *out);

/* The same of learned casks.
 *
 * learning  as the request was answered
 * wishes    n_wishes: the casks that can be visited, each to the day that it is to be known for
 * out       offers 2 w (a gauging) and 2 w + 1 (a nosing) are those of wish w
 *
 * Errors:   those of stv_cask_learn and of stv_sampling_choose; a cask that cannot be told so far
 * is left out */
STV_MUST_CHECK enum stv_status
stv_sampling_of_casks(const struct stv_cask_learning_request *request,
                      const struct stv_cask_learning *learning, const struct stv_cask_wish *wishes,
                      size_t n_wishes, struct stv_sampling_limits limits,
                      struct stv_sampling_list *out);

/* Frees and empties; may be called twice. */
void stv_sampling_free(struct stv_sampling_list *list);

#endif
