/* What a fit says: draws, what earlier days said, what one more observation would narrow. */
#include "model/gauge_fit_parts.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void stv_fit_draw_shared(const struct stv_fit *fit, const double *e_nd, double *out_nd)
{
    size_t ns = fit->n_shared;
    for (size_t i = 0; i < ns; i++) {
        double score = fit->shared_nd[i];
        for (size_t j = 0; j <= i; j++)
            score += fit->shared_chol_nd[i * ns + j] * e_nd[j];
        out_nd[i] = score;
    }
}

void stv_fit_draw_block(const struct stv_fit *fit, size_t cask_idx, const double *shared_nd,
                        const double *e_nd, double *out_nd)
{
    size_t ns = fit->n_shared, nb = fit->n_block;
    const double *by_shared = fit->by_shared_nd + cask_idx * nb * ns;
    const double *chol = fit->block_chol_nd + cask_idx * nb * nb;
    for (size_t i = 0; i < nb; i++) {
        double score = fit->block_nd[cask_idx * nb + i];
        for (size_t j = 0; j < ns; j++)
            score += by_shared[i * ns + j] * (shared_nd[j] - fit->shared_nd[j]);
        for (size_t j = 0; j <= i; j++)
            score += chol[i * nb + j] * e_nd[j];
        out_nd[i] = score;
    }
}

/* Rows, linear about the fit, day by day. */
struct history {
    const struct stv_fit_problem *problem;
    const struct stv_fit *fit;
    struct stv__fit_casks casks;
    struct stv__fit_blocks known; /* its shared part: what the casks leave to the shared scores */
    double *covariance;           /* of the shared scores, n_shared x n_shared */
    double *mean;                 /* of the shared scores */
    size_t *by_day;               /* observations */
};

struct day_of {
    int64_t day_d;
    size_t idx;
};

static int compare_days(const void *a, const void *b)
{
    const struct day_of *first = a, *second = b;
    if (first->day_d != second->day_d)
        return first->day_d < second->day_d ? -1 : 1;
    return first->idx < second->idx ? -1 : first->idx > second->idx;
}

static enum stv_status sort_by_day(struct history *history)
{
    size_t n = history->problem->n_observations;
    struct day_of *days = calloc(n + 1, sizeof *days);
    if (!days)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        days[i] = (struct day_of){history->problem->observations[i].day_d, i};
    qsort(days, n, sizeof *days, compare_days);
    for (size_t i = 0; i < n; i++)
        history->by_day[i] = days[i].idx;
    free(days);
    return STV_OK;
}

static struct stv__fit_point point_of(const struct stv_fit *fit, size_t cask_idx)
{
    return (struct stv__fit_point){fit->shared_nd, fit->block_nd + cask_idx * fit->n_block};
}

/* The row's own figure at the fit. */
static double at_fit(const struct stv_fit *fit, size_t cask_idx, const struct stv__fit_told *row)
{
    struct stv__fit_point point = point_of(fit, cask_idx);
    double sum = 0.0;
    for (size_t i = 0; i < fit->n_shared; i++)
        sum += row->by_shared_nd[i] * point.shared_nd[i];
    for (size_t i = 0; i < fit->n_block; i++)
        sum += row->by_block_nd[i] * point.block_nd[i];
    return sum;
}

/* Mean and covariance of the shared scores as known so far. */
static void sum_up(struct history *history)
{
    size_t ns = history->fit->n_shared;
    gsl_matrix_view matrix = gsl_matrix_view_array(history->covariance, ns, ns);
    gsl_vector_view mean = gsl_vector_view_array(history->mean, ns);
    memcpy(history->covariance, history->known.shared_nd, ns * ns * sizeof(double));
    memcpy(history->mean, history->known.shared_side_nd, ns * sizeof(double));
    (void)gsl_linalg_cholesky_decomp1(&matrix.matrix);
    (void)gsl_linalg_cholesky_svx(&matrix.matrix, &mean.vector);
    (void)gsl_linalg_cholesky_invert(&matrix.matrix);
}

/* Mean and variance of a figure as known so far. */
static void tell_known(const struct history *history, size_t cask_idx,
                       const struct stv__fit_told *told, double *out_mean, double *out_variance)
{
    size_t ns = history->fit->n_shared, nb = history->fit->n_block;
    struct stv__fit_factor factor;
    stv__fit_factor_of(&history->known, cask_idx, 0.0, &factor);
    double own[STV__FIT_BLOCK_MOST], by_shared[STV__FIT_SHARED_MOST], moved[STV__FIT_SHARED_MOST];
    memcpy(own, told->by_block_nd, nb * sizeof(double));
    memcpy(by_shared, told->by_shared_nd, ns * sizeof(double));
    gsl_matrix_view chol = gsl_matrix_view_array(factor.chol_nd, nb, nb);
    gsl_matrix_view cross = gsl_matrix_view_array(factor.cross_nd, nb, ns);
    gsl_matrix_view covariance = gsl_matrix_view_array(history->covariance, ns, ns);
    gsl_vector_view own_view = gsl_vector_view_array(own, nb);
    gsl_vector_view by_view = gsl_vector_view_array(by_shared, ns);
    gsl_vector_view moved_view = gsl_vector_view_array(moved, ns);
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, &chol.matrix, &own_view.vector);
    gsl_blas_dgemv(CblasTrans, -1.0, &cross.matrix, &own_view.vector, 1.0, &by_view.vector);
    gsl_blas_dsymv(CblasLower, 1.0, &covariance.matrix, &by_view.vector, 0.0, &moved_view.vector);
    *out_mean = told->value - at_fit(history->fit, cask_idx, told);
    *out_variance = 0.0;
    for (size_t i = 0; i < ns; i++) {
        *out_mean += by_shared[i] * history->mean[i];
        *out_variance += by_shared[i] * moved[i];
    }
    for (size_t i = 0; i < nb; i++) {
        *out_mean += own[i] * factor.side_nd[i];
        *out_variance += own[i] * own[i];
    }
}

/* Chances of the verdicts when ln of wood above each threshold is normal. */
static void verdict_chances(const double above[STV_FIT_THRESHOLDS],
                            const double error[STV_FIT_THRESHOLDS], double out[STV__FIT_VERDICTS])
{
    /* The thresholds' errors differ, so far out the order could turn round: never below nothing. */
    double passed = 1.0;
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++) {
        double next = fmin(passed, gsl_cdf_ugaussian_P(above[k] / error[k]));
        out[k] = passed - next;
        passed = next;
    }
    out[STV_FIT_THRESHOLDS] = passed;
}

static void predict_one(const struct history *history, size_t idx, struct stv_fit_then *out)
{
    const struct stv_fit_observation *observation = &history->problem->observations[idx];
    struct stv__fit_told told[STV_FIT_THRESHOLDS];
    double mean[STV_FIT_THRESHOLDS], error[STV_FIT_THRESHOLDS], chance[STV__FIT_VERDICTS];
    size_t cask = observation->cask_idx;
    size_t n = stv__fit_tell_at(&history->casks, idx, point_of(history->fit, cask), told);
    for (size_t k = 0; k < n; k++) {
        double variance;
        tell_known(history, cask, &told[k], &mean[k], &variance);
        error[k] = hypot(sqrt(fmax(variance, 0.0)), stv__fit_error_nd(observation));
    }
    if (observation->kind == STV_FIT_READING) {
        double step_ln =
            stv__fit_step_ln_nd(history->problem, observation->scale_idx, history->fit->shared_nd);
        *out = (struct stv_fit_then){observation->value + mean[0] / step_ln, error[0] / step_ln};
        return;
    }
    if (observation->kind != STV_FIT_VERDICT) {
        *out = (struct stv_fit_then){mean[0], error[0]};
        return;
    }
    double first = 0.0, second = 0.0;
    verdict_chances(mean, error, chance);
    for (size_t v = 0; v < STV__FIT_VERDICTS; v++) {
        first += chance[v] * (double)v;
        second += chance[v] * (double)(v * v);
    }
    *out = (struct stv_fit_then){first, sqrt(fmax(second - first * first, 0.0))};
}

/* The cask's part is taken out of the shared scores and put back with the row in it. */
static void take_in(struct history *history, size_t idx)
{
    const struct stv_fit_observation *observation = &history->problem->observations[idx];
    struct stv__fit_blocks *known = &history->known;
    struct stv__fit_told told[STV_FIT_THRESHOLDS], rows[STV__FIT_ROWS_MOST];
    struct stv__fit_factor factor;
    size_t cask = observation->cask_idx;
    double cost = 0.0;
    (void)stv__fit_tell_at(&history->casks, idx, point_of(history->fit, cask), told);
    size_t n = stv__fit_rows(observation, told, rows, &cost);
    stv__fit_factor_of(known, cask, 0.0, &factor);
    stv__fit_add_factor(known, &factor, 1.0, known->shared_nd, known->shared_side_nd);
    for (size_t r = 0; r < n; r++)
        stv__fit_add_row(known, cask, &rows[r],
                         at_fit(history->fit, cask, &rows[r]) - rows[r].value);
    stv__fit_factor_of(known, cask, 0.0, &factor);
    stv__fit_add_factor(known, &factor, -1.0, known->shared_nd, known->shared_side_nd);
}

/* The cask's rows leave what is known, and its scores are as before anything was measured. */
static void forget_cask(struct history *history, size_t cask_idx)
{
    struct stv__fit_blocks *known = &history->known;
    struct stv__fit_told told[STV_FIT_THRESHOLDS], rows[STV__FIT_ROWS_MOST];
    struct stv__fit_factor factor;
    double cost = 0.0;
    stv__fit_factor_of(known, cask_idx, 0.0, &factor);
    stv__fit_add_factor(known, &factor, 1.0, known->shared_nd, known->shared_side_nd);
    for (size_t k = history->casks.first_observation[cask_idx];
         k < history->casks.first_observation[cask_idx + 1]; k++) {
        size_t idx = history->casks.order[k];
        const struct stv_fit_observation *observation = &history->problem->observations[idx];
        (void)stv__fit_tell_at(&history->casks, idx, point_of(history->fit, cask_idx), told);
        size_t n = stv__fit_rows(observation, told, rows, &cost);
        for (size_t r = 0; r < n; r++)
            stv__fit_add_shared(known, &rows[r],
                                at_fit(history->fit, cask_idx, &rows[r]) - rows[r].value, -1.0);
    }
    stv__fit_blocks_reset_cask(known, cask_idx);
}

/* Day by day: what is known so far of that day's observations, which are then taken in. */
static void walk_days(struct history *history, const size_t *by_day, size_t n,
                      struct stv_fit_then *out)
{
    const struct stv_fit_observation *observations = history->problem->observations;
    for (size_t from = 0, to; from < n; from = to) {
        int64_t day_d = observations[by_day[from]].day_d;
        sum_up(history);
        for (to = from; to < n && observations[by_day[to]].day_d == day_d; to++)
            predict_one(history, by_day[to], &out[by_day[to]]);
        for (size_t i = from; i < to; i++)
            take_in(history, by_day[i]);
    }
}

static bool fits_problem(const struct stv_fit_problem *problem, const struct stv_fit *fit)
{
    return fit && fit->shared_nd && stv__fit_is_sound(problem) && fit->n_top == problem->n_top &&
           fit->n_own == problem->n_own && fit->n_casks == problem->n_casks &&
           fit->n_shared == stv__fit_n_shared(problem);
}

static void history_free(struct history *history)
{
    stv__fit_casks_free(&history->casks);
    stv__fit_blocks_free(&history->known);
    free(history->covariance);
    free(history->mean);
    free(history->by_day);
}

static enum stv_status history_new(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                                   struct history *out)
{
    *out = (struct history){.problem = problem,
                            .fit = fit,
                            .covariance = calloc(fit->n_shared * fit->n_shared, sizeof(double)),
                            .mean = calloc(fit->n_shared, sizeof(double)),
                            .by_day = calloc(problem->n_observations + 1, sizeof(size_t))};
    enum stv_status status = STV_E_MEMORY;
    if (out->covariance && out->mean && out->by_day)
        status = stv__fit_casks_new(problem, &out->casks);
    if (status == STV_OK)
        status = stv__fit_blocks_new(problem, &out->known);
    if (status == STV_OK)
        status = sort_by_day(out);
    if (status == STV_OK)
        status = stv__fit_predict_all(&out->casks, fit->shared_nd, fit->block_nd);
    return status;
}

enum stv_status stv_fit_predicted_then(const struct stv_fit_problem *problem,
                                       const struct stv_fit *fit, struct stv_fit_then *out)
{
    struct history history;
    if (!out || !fits_problem(problem, fit))
        return STV_E_ARG;
    enum stv_status status = history_new(problem, fit, &history);
    if (status == STV_OK)
        walk_days(&history, history.by_day, problem->n_observations, out);
    history_free(&history);
    return status;
}

/* by_day sorted by cask, days within a cask as they were. */
static void gather_by_cask(const struct history *history, size_t *next_of, size_t *out)
{
    const struct stv_fit_problem *problem = history->problem;
    memcpy(next_of, history->casks.first_observation, problem->n_casks * sizeof *next_of);
    for (size_t i = 0; i < problem->n_observations; i++)
        out[next_of[problem->observations[history->by_day[i]].cask_idx]++] = history->by_day[i];
}

enum stv_status stv_fit_predicted_apart(const struct stv_fit_problem *problem,
                                        const struct stv_fit *at, struct stv_fit_then *out)
{
    struct history history;
    if (!out || !fits_problem(problem, at))
        return STV_E_ARG;
    enum stv_status status = history_new(problem, at, &history);
    size_t *next_of = calloc(problem->n_casks + 1, sizeof *next_of);
    size_t *by_cask = calloc(problem->n_observations + 1, sizeof *by_cask);
    if (status == STV_OK && !(next_of && by_cask))
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        gather_by_cask(&history, next_of, by_cask);
        for (size_t i = 0; i < problem->n_observations; i++)
            take_in(&history, i);
    }
    for (size_t c = 0; c < problem->n_casks && status == STV_OK; c++) {
        size_t first = history.casks.first_observation[c];
        forget_cask(&history, c);
        walk_days(&history, by_cask + first, history.casks.first_observation[c + 1] - first, out);
    }
    free(next_of);
    free(by_cask);
    history_free(&history);
    return status;
}

void stv__fit_spread_of(const struct stv_fit *fit, size_t cask_idx, const struct stv__fit_told *row,
                        struct stv__fit_spread *out)
{
    size_t ns = fit->n_shared, nb = fit->n_block;
    const double *by_shared = fit->by_shared_nd + cask_idx * nb * ns;
    const double *chol = fit->block_chol_nd + cask_idx * nb * nb;
    double moved[STV__FIT_SHARED_MOST];
    out->cask_idx = cask_idx;
    for (size_t j = 0; j < ns; j++) {
        moved[j] = row->by_shared_nd[j];
        for (size_t i = 0; i < nb; i++)
            moved[j] += row->by_block_nd[i] * by_shared[i * ns + j];
    }
    for (size_t j = 0; j < ns; j++) {
        out->shared_nd[j] = 0.0;
        for (size_t i = j; i < ns; i++)
            out->shared_nd[j] += moved[i] * fit->shared_chol_nd[i * ns + j];
    }
    for (size_t j = 0; j < nb; j++) {
        out->block_nd[j] = 0.0;
        for (size_t i = j; i < nb; i++)
            out->block_nd[j] += row->by_block_nd[i] * chol[i * nb + j];
    }
}

double stv__fit_covariance_nd(const struct stv_fit *fit, const struct stv__fit_spread *a,
                              const struct stv__fit_spread *b)
{
    double sum = 0.0;
    for (size_t i = 0; i < fit->n_shared; i++)
        sum += a->shared_nd[i] * b->shared_nd[i];
    for (size_t i = 0; i < fit->n_block && a->cask_idx == b->cask_idx; i++)
        sum += a->block_nd[i] * b->block_nd[i];
    return sum;
}

/* By how much up to two rows with error 1 lower the variance of a target. */
static double lowered_by(const struct stv_fit *fit, size_t cask_idx,
                         const struct stv__fit_told *rows, size_t n_rows,
                         const struct stv__fit_spread *target)
{
    struct stv__fit_spread first, second;
    if (n_rows == 0)
        return 0.0;
    stv__fit_spread_of(fit, cask_idx, &rows[0], &first);
    double k0 = stv__fit_covariance_nd(fit, &first, target),
           v00 = stv__fit_covariance_nd(fit, &first, &first) + 1.0;
    if (n_rows == 1)
        return k0 * k0 / v00;
    stv__fit_spread_of(fit, cask_idx, &rows[1], &second);
    double k1 = stv__fit_covariance_nd(fit, &second, target);
    double v11 = stv__fit_covariance_nd(fit, &second, &second) + 1.0;
    double v01 = stv__fit_covariance_nd(fit, &first, &second);
    return (k0 * k0 * v11 - 2.0 * k0 * k1 * v01 + k1 * k1 * v00) / (v00 * v11 - v01 * v01);
}

/* A verdict narrows by what it turns out to be: the mean over the four. */
static double lowered_by_verdict(const struct stv_fit *fit,
                                 const struct stv_fit_observation *observation,
                                 const struct stv__fit_told told[STV_FIT_THRESHOLDS],
                                 const struct stv__fit_spread *target)
{
    double above[STV_FIT_THRESHOLDS], error[STV_FIT_THRESHOLDS], chance[STV__FIT_VERDICTS];
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++) {
        struct stv__fit_spread spread;
        stv__fit_spread_of(fit, observation->cask_idx, &told[k], &spread);
        above[k] = told[k].value;
        error[k] = hypot(observation->error, sqrt(stv__fit_covariance_nd(fit, &spread, &spread)));
    }
    verdict_chances(above, error, chance);
    double lowered = 0.0, cost = 0.0;
    for (size_t v = 0; v < STV__FIT_VERDICTS; v++) {
        struct stv_fit_observation found = *observation;
        struct stv__fit_told rows[STV__FIT_ROWS_MOST];
        found.value = (double)v;
        size_t n_rows = stv__fit_rows(&found, told, rows, &cost);
        lowered += chance[v] * lowered_by(fit, observation->cask_idx, rows, n_rows, target);
    }
    return lowered;
}

static double lowered_by_one(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                             const struct stv_fit_observation *observation,
                             const struct stv_fit_moment *moment,
                             const struct stv__fit_spread *target)
{
    struct stv__fit_told told[STV_FIT_THRESHOLDS], rows[STV__FIT_ROWS_MOST];
    size_t cask = observation->cask_idx;
    double cost = 0.0;
    (void)stv__fit_tell(problem, observation, moment, point_of(fit, cask), told);
    if (observation->kind == STV_FIT_VERDICT)
        return lowered_by_verdict(fit, observation, told, target);
    size_t n_rows = stv__fit_rows(observation, told, rows, &cost);
    return lowered_by(fit, cask, rows, n_rows, target);
}

/* A reading narrows by where on its scale it falls: the mean over three points of the normal
 * distribution of what it may be (Gauss and Hermite's). */
static double lowered_by_reading(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                                 const struct stv_fit_wish *wish,
                                 const struct stv__fit_spread *target)
{
    struct stv_fit_observation found = wish->observation;
    struct stv__fit_told told[STV_FIT_THRESHOLDS];
    struct stv__fit_spread spread;
    double step_ln = stv__fit_step_ln_nd(problem, found.scale_idx, fit->shared_nd), lowered = 0.0;
    found.value = problem->scales[found.scale_idx].middle_nd;
    (void)stv__fit_tell(problem, &found, wish->moment, point_of(fit, found.cask_idx), told);
    double likely = found.value + told->value / step_ln;
    stv__fit_spread_of(fit, found.cask_idx, told, &spread);
    double error =
        hypot(found.error, sqrt(stv__fit_covariance_nd(fit, &spread, &spread))) / step_ln;
    for (int k = -1; k <= 1; k++) {
        found.value = likely + k * sqrt(3.0) * error;
        lowered += (k == 0 ? 2.0 / 3.0 : 1.0 / 6.0) *
                   lowered_by_one(problem, fit, &found, wish->moment, target);
    }
    return lowered;
}

enum stv_status stv_fit_worth_of(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                                 const struct stv_fit_wish *wish, struct stv_fit_worth *out)
{
    if (!out || !wish || !wish->moment || !wish->target_by_top_nd || !wish->target_by_own_nd ||
        !fits_problem(problem, fit) || wish->target_cask_idx >= fit->n_casks)
        return STV_E_ARG;
    const struct stv_fit_observation *observation = &wish->observation;
    if (observation->cask_idx >= fit->n_casks || (unsigned)observation->kind >= STV_FIT_KINDS ||
        !(observation->error > 0.0) ||
        (observation->kind == STV_FIT_READING && observation->scale_idx >= problem->n_scales))
        return STV_E_ARG;
    struct stv__fit_told target_row = {0};
    struct stv__fit_spread target;
    memcpy(target_row.by_shared_nd, wish->target_by_top_nd, fit->n_top * sizeof(double));
    memcpy(target_row.by_block_nd, wish->target_by_own_nd, fit->n_own * sizeof(double));
    stv__fit_spread_of(fit, wish->target_cask_idx, &target_row, &target);
    double before = stv__fit_covariance_nd(fit, &target, &target);
    double lowered = observation->kind == STV_FIT_READING
                         ? lowered_by_reading(problem, fit, wish, &target)
                         : lowered_by_one(problem, fit, observation, wish->moment, &target);
    *out = (struct stv_fit_worth){sqrt(before), sqrt(fmax(before - lowered, 0.0))};
    return STV_OK;
}
