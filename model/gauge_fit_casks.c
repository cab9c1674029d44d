/* The casks of a fit: their observations, their moments, and their part of the normal equations. */
#include "model/gauge_fit_parts.h"

#include <math.h>
#include <stdlib.h>

static bool is_observation_sound(const struct stv_fit_problem *problem,
                                 const struct stv_fit_observation *observation)
{
    if (observation->cask_idx >= problem->n_casks ||
        observation->moment_idx >= problem->n_moments[observation->cask_idx] ||
        !isfinite(observation->value) || !(observation->error > 0.0) ||
        !isfinite(observation->error))
        return false;
    if (observation->from.counts &&
        (observation->from.moment_idx >= problem->n_moments[observation->cask_idx] ||
         !isfinite(observation->from.value)))
        return false;
    switch (observation->kind) {
    case STV_FIT_READING:
        return observation->scale_idx < problem->n_scales;
    case STV_FIT_VERDICT:
        return observation->value >= 0.0 && observation->value <= STV_FIT_THRESHOLDS &&
               observation->value == floor(observation->value);
    default:
        return (unsigned)observation->kind < STV_FIT_KINDS;
    }
}

bool stv__fit_is_sound(const struct stv_fit_problem *problem)
{
    if (!problem || !problem->predict || problem->n_top > STV_FIT_TOP_MOST ||
        problem->n_own > STV_FIT_OWN_MOST || problem->n_scales > STV_FIT_SCALES_MOST ||
        (problem->n_casks && (!problem->n_moments || !problem->tares)) ||
        (problem->n_scales && !problem->scales) ||
        (problem->n_observations && !problem->observations))
        return false;
    const double *threshold_ln = problem->ready.threshold_ln_nd;
    bool is_sound = isfinite(threshold_ln[0]) && threshold_ln[0] < threshold_ln[1] &&
                    threshold_ln[1] < threshold_ln[2] && isfinite(threshold_ln[2]) &&
                    problem->ready.error_ln_nd > 0.0 && isfinite(problem->ready.error_ln_nd);
    for (size_t c = 0; c < problem->n_casks && is_sound; c++)
        is_sound = isfinite(problem->tares[c].tare_kg) && problem->tares[c].error_kg >= 0.0 &&
                   isfinite(problem->tares[c].error_kg);
    for (size_t s = 0; s < problem->n_scales && is_sound; s++) {
        const struct stv_fit_scale *scale = &problem->scales[s];
        is_sound = isfinite(scale->middle_nd) && isfinite(scale->wood_ln_nd) &&
                   scale->step_ln_nd > 0.0 && isfinite(scale->step_ln_nd) &&
                   scale->wood_spread_ln_nd >= 0.0 && isfinite(scale->wood_spread_ln_nd) &&
                   scale->step_spread_frac >= 0.0 && isfinite(scale->step_spread_frac);
    }
    for (size_t i = 0; i < problem->n_observations && is_sound; i++)
        is_sound = is_observation_sound(problem, &problem->observations[i]);
    return is_sound;
}

static void sort_by_cask(struct stv__fit_casks *casks)
{
    const struct stv_fit_problem *problem = casks->problem;
    for (size_t i = 0; i < problem->n_observations; i++)
        casks->first_observation[problem->observations[i].cask_idx + 1]++;
    for (size_t c = 0; c < problem->n_casks; c++) {
        casks->first_observation[c + 1] += casks->first_observation[c];
        casks->first_moment[c + 1] = casks->first_moment[c] + problem->n_moments[c];
    }
    /* Each start is pushed on as its cask fills, then pulled back by one cask. */
    for (size_t i = 0; i < problem->n_observations; i++)
        casks->order[casks->first_observation[problem->observations[i].cask_idx]++] = i;
    for (size_t c = problem->n_casks; c > 0; c--)
        casks->first_observation[c] = casks->first_observation[c - 1];
    casks->first_observation[0] = 0;
}

enum stv_status stv__fit_casks_new(const struct stv_fit_problem *problem,
                                   struct stv__fit_casks *out)
{
    size_t n_moments = 0;
    for (size_t c = 0; c < problem->n_casks; c++)
        n_moments += problem->n_moments[c];
    *out =
        (struct stv__fit_casks){.problem = problem,
                                .first_observation = calloc(problem->n_casks + 1, sizeof(size_t)),
                                .order = calloc(problem->n_observations + 1, sizeof(size_t)),
                                .first_moment = calloc(problem->n_casks + 1, sizeof(size_t)),
                                .statuses = calloc(problem->n_casks + 1, sizeof(enum stv_status)),
                                .moments = calloc(n_moments + 1, sizeof(struct stv_fit_moment))};
    if (!out->statuses || !out->first_observation || !out->order || !out->first_moment ||
        !out->moments) {
        stv__fit_casks_free(out);
        return STV_E_MEMORY;
    }
    sort_by_cask(out);
    return STV_OK;
}

void stv__fit_casks_free(struct stv__fit_casks *casks)
{
    free(casks->first_observation);
    free(casks->order);
    free(casks->first_moment);
    free(casks->statuses);
    free(casks->moments);
    *casks = (struct stv__fit_casks){0};
}

static bool are_finite(const double *values, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(values[i]))
            return false;
    return true;
}

static bool is_finite_moment(const struct stv_fit_problem *problem,
                             const struct stv_fit_moment *moment)
{
    bool is_finite = true;
    for (size_t q = 0; q < STV_FIT_QUANTITIES && is_finite; q++)
        is_finite = isfinite(moment->value[q]) &&
                    are_finite(moment->by_top_nd[q], problem->n_top) &&
                    are_finite(moment->by_own_nd[q], problem->n_own);
    return is_finite;
}

static enum stv_status predict_cask(struct stv__fit_casks *casks, size_t cask_idx,
                                    struct stv__fit_point point)
{
    const struct stv_fit_problem *problem = casks->problem;
    if (casks->first_observation[cask_idx] == casks->first_observation[cask_idx + 1])
        return STV_OK;
    enum stv_status status =
        problem->predict(problem->context, cask_idx, point.shared_nd, point.block_nd,
                         casks->moments + casks->first_moment[cask_idx]);
    for (size_t m = casks->first_moment[cask_idx];
         m < casks->first_moment[cask_idx + 1] && status == STV_OK; m++)
        if (!is_finite_moment(problem, &casks->moments[m]))
            status = STV_E_DOMAIN;
    return status;
}

enum stv_status stv__fit_predict_all(struct stv__fit_casks *casks, const double *shared_nd,
                                     const double *blocks_nd)
{
    size_t n_casks = casks->problem->n_casks, n_block = casks->problem->n_own + 1;
#pragma omp parallel for schedule(dynamic)
    for (size_t c = 0; c < n_casks; c++)
        casks->statuses[c] =
            predict_cask(casks, c, (struct stv__fit_point){shared_nd, blocks_nd + c * n_block});
    /* The first cask's failure, however many threads there are; a point that cannot be told comes
     * last. */
    enum stv_status told = STV_OK;
    for (size_t c = 0; c < n_casks; c++) {
        if (casks->statuses[c] == STV_E_DOMAIN)
            told = STV_E_DOMAIN;
        else if (casks->statuses[c] != STV_OK)
            return casks->statuses[c];
    }
    return told;
}

/* What was found at an earlier moment, and what came since. */
static void count_from(const struct stv_fit_observation *observation,
                       const struct stv__fit_told *then, struct stv__fit_told *out)
{
    out->value += observation->from.value - then->value;
    for (size_t i = 0; i < STV__FIT_SHARED_MOST; i++)
        out->by_shared_nd[i] -= then->by_shared_nd[i];
    for (size_t i = 0; i < STV__FIT_BLOCK_MOST; i++)
        out->by_block_nd[i] -= then->by_block_nd[i];
}

size_t stv__fit_tell_at(const struct stv__fit_casks *casks, size_t observation_idx,
                        struct stv__fit_point point, struct stv__fit_told out[STV_FIT_THRESHOLDS])
{
    const struct stv_fit_observation *observation = &casks->problem->observations[observation_idx];
    const struct stv_fit_moment *moments =
        casks->moments + casks->first_moment[observation->cask_idx];
    size_t n =
        stv__fit_tell(casks->problem, observation, &moments[observation->moment_idx], point, out);
    if (observation->from.counts) {
        struct stv__fit_told then[STV_FIT_THRESHOLDS];
        (void)stv__fit_tell(casks->problem, observation, &moments[observation->from.moment_idx],
                            point, then);
        count_from(observation, then, out);
    }
    return n;
}
