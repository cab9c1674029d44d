#include "model/cask_posterior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void stv_posterior_free(struct stv_posterior *posterior)
{
    free(posterior->kind_keys);
    free(posterior->mean_nd);
    free(posterior->chol_nd);
    free(posterior->casks);
    free(posterior->by_shared_nd);
    free(posterior->last_by_shared_nd);
    *posterior = (struct stv_posterior){0};
}

static int compare_casks(const void *a, const void *b)
{
    const struct stv_posterior_cask *x = a, *y = b;
    return (x->key > y->key) - (x->key < y->key);
}

void stv__posterior_sort_casks(struct stv_posterior *posterior)
{
    if (posterior->n_casks)
        qsort(posterior->casks, posterior->n_casks, sizeof *posterior->casks, compare_casks);
}

const struct stv_posterior_cask *stv_posterior_find(const struct stv_posterior *posterior,
                                                    uint64_t cask_key)
{
    const struct stv_posterior_cask wanted = {.key = cask_key};
    if (posterior->n_casks == 0)
        return NULL;
    return bsearch(&wanted, posterior->casks, posterior->n_casks, sizeof wanted, compare_casks);
}

/* Place of a kind among the house's; n_kinds when it has none such. */
static size_t kind_of(const struct stv_house_draws *house, const uint64_t *kind_keys, uint64_t key)
{
    size_t kind = 0;
    while (kind < house->n_kinds && kind_keys[kind] != key)
        kind++;
    return kind;
}

/* The standard normal scores behind the shared ones, in the posterior's order. */
static void gather(const struct stv_posterior *posterior, const struct stv_house_draws *house,
                   size_t draw_idx, double *out)
{
    memcpy(out, house->scores_nd + draw_idx * STV_SCORE_N, STV_SCORE_N * sizeof *out);
    for (size_t i = STV_SCORE_N; i < posterior->n_shared; i++)
        out[i] = stv_draw_normal_nd(house->seed, stv_key_of("shared"), i, draw_idx);
    /* A kind that is not among these casks counts as it would if it were, so that a cask's trials
     * do not hang on what is asked for beside it. */
    for (size_t k = 0; k < posterior->n_kinds; k++)
        for (size_t s = 0; s < STV_KIND_SCORE_N; s++)
            out[STV_SCORE_N + k * STV_KIND_SCORE_N + s] =
                stv_kind_score_nd(house->seed, posterior->kind_keys[k], s, draw_idx);
}

static void scatter(const struct stv_posterior *posterior, const double *shared,
                    const uint64_t *kind_keys, size_t draw_idx, struct stv_house_draws *house)
{
    memcpy(house->scores_nd + draw_idx * STV_SCORE_N, shared, STV_SCORE_N * sizeof *shared);
    for (size_t k = 0; k < posterior->n_kinds; k++) {
        size_t kind = kind_of(house, kind_keys, posterior->kind_keys[k]);
        if (kind < house->n_kinds)
            memcpy(house->kinds_nd + (draw_idx * house->n_kinds + kind) * STV_KIND_SCORE_N,
                   shared + STV_SCORE_N + k * STV_KIND_SCORE_N, STV_KIND_SCORE_N * sizeof *shared);
    }
}

enum stv_status stv_posterior_move_house(const struct stv_posterior *posterior,
                                         const uint64_t *kind_keys, struct stv_house_draws *house)
{
    size_t n = posterior->n_shared;
    double *plain = malloc((n + 1) * sizeof *plain);
    house->n_shared = n;
    house->shared_nd = malloc((house->n_draws * n + 1) * sizeof *house->shared_nd);
    if (!plain || !house->shared_nd) {
        free(plain);
        return STV_E_MEMORY;
    }
    for (size_t d = 0; d < house->n_draws; d++) {
        double *shared = house->shared_nd + d * n;
        gather(posterior, house, d, plain);
        for (size_t i = 0; i < n; i++) {
            shared[i] = posterior->mean_nd[i];
            for (size_t j = 0; j <= i; j++)
                shared[i] += posterior->chol_nd[i * n + j] * plain[j];
        }
        scatter(posterior, shared, kind_keys, d, house);
    }
    free(plain);
    return STV_OK;
}

void stv_posterior_move_cask(const struct stv_posterior *posterior,
                             const struct stv_house_draws *house, size_t draw_idx,
                             uint64_t cask_key, struct stv_scores *scores)
{
    const struct stv_posterior_cask *cask = stv_posterior_find(posterior, cask_key);
    if (!cask)
        return;
    size_t n = posterior->n_shared;
    const double *shared = house->shared_nd + draw_idx * n;
    const double *by_shared =
        posterior->by_shared_nd + (size_t)(cask - posterior->casks) * STV_OWN_SCORE_N * n;
    double plain[STV_OWN_SCORE_N];
    memcpy(plain, scores->own_nd, sizeof plain);
    for (size_t i = 0; i < STV_OWN_SCORE_N; i++) {
        scores->own_nd[i] = cask->mean_nd[i];
        for (size_t j = 0; j < n; j++)
            scores->own_nd[i] += by_shared[i * n + j] * (shared[j] - posterior->mean_nd[j]);
        for (size_t j = 0; j <= i; j++)
            scores->own_nd[i] += cask->chol_nd[i][j] * plain[j];
    }
    double u = stv_draw_uniform_nd(house->seed, stv_key_of("leaker"), cask_key, draw_idx);
    scores->leak_per_y = u < cask->leak.gone_frac ? cask->leak.per_y : 0.0;
}

int64_t stv_posterior_last_day(const struct stv_posterior_cask *cask)
{
    int64_t last_d = cask->leak.chance_frac > 0.0 ? cask->leak.found_d : INT64_MIN;
    for (int k = 0; k < STV_LAST_N; k++)
        last_d = cask->last[k].day_d > last_d ? cask->last[k].day_d : last_d;
    return last_d;
}

struct stv_posterior_leak stv_posterior_leak_none(void)
{
    return (struct stv_posterior_leak){
        .from_d = INT64_MIN, .to_d = INT64_MAX, .again_d = INT64_MAX};
}

int64_t stv_posterior_leak_since_day(const struct stv_posterior_leak *leak)
{
    return leak->again_d < INT64_MAX ? leak->again_d : leak->from_d;
}

double stv_posterior_leak_found_l(const struct stv_posterior_cask *cask,
                                  const struct stv_house_draws *house, size_t draw_idx)
{
    return fmax(0.0,
                cask->leak.found_l + cask->leak.found_sd_l *
                                         stv_draw_normal_nd(house->seed, stv_key_of("litres left"),
                                                            cask->key, draw_idx));
}
