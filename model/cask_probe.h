/* Private to cask_learning.c: casks of the engine told at their gauges, with derivatives. */
#ifndef STV_MODEL_CASK_PROBE_H
#define STV_MODEL_CASK_PROBE_H

#include "model/ensemble.h"
#include "model/gauge_fit.h"

/* So many scores are probed by lanes without a table of their own: those of the house beyond its
 * member, of the kind, and the cask's own.  They fill two packets. */
enum {
    STV__HOUSE_PROBES = STV_SCORE_N - STV_SCORE_MEMBER_N,
    STV__PLAIN_PROBES = STV__HOUSE_PROBES + STV_KIND_SCORE_N + STV_OWN_SCORE_N
};

/* What a leak takes of what a cask holds, from a day until it was stopped. */
struct stv__probe_leak {
    double per_y;
    int64_t from_d, to_d;
};
extern const struct stv__probe_leak stv__probe_no_leak;

struct stv__cask_probe {
    struct stv__ensemble ensemble; /* probing, with the tables of all positions */
    size_t n_casks;                /* of the ledger */
    const struct stv_house_rules *rules;
    size_t *group_of; /* per cask of the ledger */
    int64_t **days_d; /* per cask: its moments, ascending; NULL when it has none */
    size_t *n_days;
    struct stv__member_slopes **slopes; /* per cask and moment, as last frozen; NULL before */
    double frozen_top_nd[STV_FIT_TOP_MOST];
    const struct stv__probe_leak *leaks;    /* per cask, the caller's; NULL: none leaks */
    struct stv__probe_reference *reference; /* cask, as last told: alike for all casks of a point */
};

/* What a moment moves by per unit of the scores of the climate member. */
struct stv__member_slopes {
    double by_score_nd[STV_FIT_QUANTITIES][STV_SCORE_MEMBER_N];
};

/* days_d: n_days[cask] moments per cask; both are taken over, also after a failure.
 * Errors: those of stv__ensemble_new_probing and stv__ensemble_tables */
STV_MUST_CHECK enum stv_status stv__cask_probe_new(const struct stv_outlook_request *house,
                                                   int64_t **days_d, size_t *n_days,
                                                   struct stv__cask_probe *out);
void stv__cask_probe_free(struct stv__cask_probe *probe);

/* Takes the effects of the member's scores, and the kinds of other casks whose spirit came in, as
 * they are at a point, from now on and wherever the fit goes: a moment and its derivatives are then
 * one and the same function, which a fit that looks at both needs.  fit NULL: the middle of
 * everything. Errors: as stv__cask_probe_tell */
STV_MUST_CHECK enum stv_status stv__cask_probe_freeze(struct stv__cask_probe *probe,
                                                      const struct stv_fit *fit);

size_t stv__cask_probe_top(const struct stv__cask_probe *probe);

/* stv_fit_predict of a probe (the context). */
enum stv_status stv__cask_probe_tell(void *context, size_t cask_idx, const double *top_nd,
                                     const double *own_nd, struct stv_fit_moment *out_moments);

#endif
