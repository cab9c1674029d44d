/* What the next gauge or nosing would narrow: the learned casks told once more, on the day of the
 * gauge and on the day that is asked about. */
#include "model/cask_worth.h"
#include "model/cask_learning.h"
#include "model/cask_probe.h"
#include "model/gauge_fit_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Two days per wished cask, ascending.  Taken over by the probe, also after a failure. */
static enum stv_status list_days(size_t n_casks, const struct stv_cask_wish *wishes,
                                 size_t n_wishes, int64_t ***out_days_d, size_t **out_n)
{
    int64_t **days_d = calloc(n_casks + 1, sizeof *days_d);
    size_t *n_days = calloc(n_casks + 1, sizeof *n_days);
    *out_days_d = days_d;
    *out_n = n_days;
    if (!days_d || !n_days)
        return STV_E_MEMORY;
    for (size_t w = 0; w < n_wishes; w++) {
        size_t cask = wishes[w].cask_idx;
        if (wishes[w].target_day_d <= wishes[w].gauge_day_d || days_d[cask])
            return STV_E_ARG;
        days_d[cask] = malloc(2 * sizeof **days_d);
        if (!days_d[cask])
            return STV_E_MEMORY;
        days_d[cask][0] = wishes[w].gauge_day_d;
        days_d[cask][1] = wishes[w].target_day_d;
        n_days[cask] = 2;
    }
    return STV_OK;
}

static enum stv_status worth_of_one(const struct stv_fit_problem *problem,
                                    const struct stv_fit *fit, size_t cask_idx,
                                    struct stv_cask_worth *out)
{
    struct stv_fit_moment moments[2];
    enum stv_status status = problem->predict(problem->context, cask_idx, fit->shared_nd,
                                              fit->block_nd + cask_idx * fit->n_block, moments);
    struct stv_fit_wish weighing = {
        .observation = {.cask_idx = cask_idx,
                        .kind = STV_FIT_LIQUID,
                        .error = STV_CASK_WEIGHING_ERROR_KG},
        .moment = &moments[0],
        .target_cask_idx = cask_idx,
        .target_by_top_nd = moments[1].by_top_nd[STV_FIT_VOLUME20_L],
        .target_by_own_nd = moments[1].by_own_nd[STV_FIT_VOLUME20_L],
    };
    struct stv_fit_wish nosing = weighing;
    nosing.observation.kind = STV_FIT_VERDICT;
    nosing.observation.error = STV_FIT_NOSE_ERROR_LN;
    nosing.target_by_top_nd = moments[1].by_top_nd[STV_FIT_LN_WOOD];
    nosing.target_by_own_nd = moments[1].by_own_nd[STV_FIT_LN_WOOD];
    if (status == STV_OK)
        status = stv_fit_worth_of(problem, fit, &weighing, &out->volume20_l);
    if (status == STV_OK)
        status = stv_fit_worth_of(problem, fit, &nosing, &out->wood_by_nose);
    return status;
}

struct stv_fit_problem stv__wish_problem(const struct stv_cask_learning_request *request,
                                         struct stv__cask_probe *probe)
{
    return (struct stv_fit_problem){
        .n_top = stv__cask_probe_top(probe),
        .n_own = STV_OWN_SCORE_N,
        .n_casks = request->house.ledger->n_casks,
        .n_scales = request->n_scales,
        .n_moments = probe->n_days,
        .tares = request->tares,
        .scales = request->scales,
        .ready = request->ready,
        .predict = stv__cask_probe_tell,
        .context = probe,
    };
}

enum stv_status stv__wish_probe(const struct stv_cask_learning_request *request,
                                const struct stv_cask_wish *wishes, size_t n_wishes,
                                struct stv__cask_probe *out)
{
    *out = (struct stv__cask_probe){.n_casks = request->house.ledger->n_casks};
    enum stv_status status =
        list_days(request->house.ledger->n_casks, wishes, n_wishes, &out->days_d, &out->n_days);
    if (status == STV_OK)
        status = stv__cask_probe_new(&request->house, out->days_d, out->n_days, out);
    return status;
}

static enum stv_status worth_of_all(struct stv__cask_probe *probe,
                                    const struct stv_cask_learning_request *request,
                                    const struct stv_fit *fit, const struct stv_cask_wish *wishes,
                                    size_t n_wishes, struct stv_cask_worth *out)
{
    const struct stv_fit_problem problem = stv__wish_problem(request, probe);
    enum stv_status worst = STV_OK;
#pragma omp parallel for schedule(dynamic)
    for (size_t w = 0; w < n_wishes; w++) {
        enum stv_status status = worth_of_one(&problem, fit, wishes[w].cask_idx, &out[w]);
        if (status == STV_E_DOMAIN) {
            out[w] = (struct stv_cask_worth){{NAN, NAN}, {NAN, NAN}};
            continue;
        }
#pragma omp critical
        worst = status != STV_OK ? status : worst;
    }
    return worst;
}

enum stv_status stv_cask_worth_of(const struct stv_cask_learning_request *request,
                                  const struct stv_cask_learning *learning,
                                  const struct stv_cask_wish *wishes, size_t n_wishes,
                                  struct stv_cask_worth *out)
{
    struct stv__cask_probe probe;
    if (n_wishes == 0)
        return STV_OK;
    enum stv_status status = stv__wish_probe(request, wishes, n_wishes, &probe);
    if (status == STV_OK)
        status = worth_of_all(&probe, request, &learning->fit, wishes, n_wishes, out);
    stv__cask_probe_free(&probe);
    return status;
}

/* A cask's own scores; of one that the posterior does not know, as before anything was seen. */
static void fill_block(const struct stv_posterior *posterior, uint64_t key, size_t cask_idx,
                       struct stv_fit *fit)
{
    const struct stv_posterior_cask *known = stv_posterior_find(posterior, key);
    size_t ns = fit->n_shared, nb = fit->n_block;
    double *chol = fit->block_chol_nd + cask_idx * nb * nb;
    for (size_t i = 0; i < nb; i++)
        chol[i * nb + i] = 1.0;
    if (!known)
        return;
    memcpy(fit->block_nd + cask_idx * nb, known->mean_nd, sizeof known->mean_nd);
    memcpy(fit->by_shared_nd + cask_idx * nb * ns,
           posterior->by_shared_nd + (size_t)(known - posterior->casks) * STV_OWN_SCORE_N * ns,
           STV_OWN_SCORE_N * ns * sizeof *fit->by_shared_nd);
    for (size_t i = 0; i < STV_OWN_SCORE_N; i++)
        memcpy(chol + i * nb, known->chol_nd[i], STV_OWN_SCORE_N * sizeof *chol);
}

enum stv_status stv_cask_fit_of_posterior(const struct stv_cask_learning_request *request,
                                          const struct stv_posterior *posterior,
                                          struct stv_fit *out)
{
    const struct stv_ledger *ledger = request->house.ledger;
    const struct stv_fit_problem problem = {
        .n_top = STV_SCORE_N + posterior->n_kinds * STV_KIND_SCORE_N,
        .n_own = STV_OWN_SCORE_N,
        .n_casks = ledger->n_casks,
        .n_scales = request->n_scales,
        .ready = request->ready,
    };
    size_t n = posterior->n_shared;
    *out = (struct stv_fit){0};
    if (n != stv__fit_n_shared(&problem))
        return STV_E_ARG;
    enum stv_status status = stv__fit_new(&problem, out);
    if (status != STV_OK)
        return status;
    memcpy(out->shared_nd, posterior->mean_nd, n * sizeof *out->shared_nd);
    memcpy(out->shared_chol_nd, posterior->chol_nd, n * n * sizeof *out->shared_chol_nd);
    for (size_t c = 0; c < ledger->n_casks; c++)
        fill_block(posterior, stv_key_of(ledger->casks[c].id), c, out);
    return STV_OK;
}
