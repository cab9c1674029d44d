/* One gauge against the one before it or the fill, and what all others say of it.  Layer 8; pure.
 */
#ifndef STV_MODEL_GAUGE_JUDGE_H
#define STV_MODEL_GAUGE_JUDGE_H

#include "model/cask_learning.h"
#include "model/cask_probe.h"

struct stv__judging {
    const struct stv_cask_learning_request *request;
    const size_t *first_of, *order; /* per cask: its observations; n_casks + 1 and all */
    int64_t *const *days_d;         /* per cask: those of its gauges, ascending */
    const struct stv_fit *fit;
    const struct stv_cask_told *told;    /* per observation: what is left out so far */
    const struct stv__probe_leak *leaks; /* per cask: reckoned with in what is told */
    const struct stv_fit_then *apart;    /* per observation: as told without its own gauge */
};

/* Figures of one gauge: indices into the observations, SIZE_MAX where not measured. */
struct stv__gauge_figures {
    size_t volume, strength, gross;
};
struct stv__gauge_figures stv__gauge_figures_of(const struct stv__judging *judging, size_t cask_idx,
                                                int64_t day_d);

/* The event that a cask's spirit of a day began with: a fill, or what was poured into it when it
 * was empty.  NULL without one. */
const struct stv_event *stv__spirit_begin(const struct stv_ledger *ledger, size_t cask_idx,
                                          int64_t day_d);

/* Whether a cask held the same spirit on two days. */
bool stv__is_same_spirit(const struct stv_ledger *ledger, size_t cask_idx, int64_t a_d,
                         int64_t b_d);
/* The begin of the spirit that an event finds in its cask. */
const struct stv_event *stv__spirit_found(const struct stv_ledger *ledger,
                                          const struct stv_event *event);

struct stv__gauge_moment {
    size_t cask_idx, moment_idx;
};

/* Judges one gauge; false when there is nothing to judge.  What was weighed with the cask is held
 * against what was weighed before: the cask's own weight then says nothing. */
bool stv__gauge_judge(const struct stv__judging *judging, struct stv__gauge_moment at,
                      struct stv_cask_verdict *out);

/* Litres, or kilograms with the cask or without. */
bool stv__is_amount(const struct stv_cask_observation *seen);
bool stv__is_misread(const struct stv_cask_verdict *verdict);
/* The verdict on the gauge of an observation; NULL: there is none. */
const struct stv_cask_verdict *stv__verdict_on(const struct stv_cask_learning *learning,
                                               const struct stv_cask_observation *seen);

#endif
