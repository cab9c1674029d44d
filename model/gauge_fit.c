/* Damped Gauss-Newton steps to the most likely scores, and the spread about them. */
#include "model/gauge_fit_parts.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEPS_MOST 200
#define DAMPING_FIRST 0.01 /* of the unit curvature that every prior has */
#define DAMPING_MOST 1e9
#define DAMPING_FACTOR 10.0
#define GAIN_GOOD 0.75 /* share of the promised gain from which the damping falls */
#define GAIN_POOR 0.25 /* and below which it rises */
#define GAIN_LEAST 1e-4
#define GAIN_DONE 5e-13
/* Squared length of a step, in standard deviations of what was learned, from which on it is good
 * enough where rounding hides a gain. */
#define STEP_STALLED 1e-6
/* No score goes so far at once: what predict says there is not to be trusted. */
#define SCORE_STEP_MOST 6.0
/* Casks are summed up in so many parts, which keeps the sums the same at any number of threads. */
#define N_PARTS 32
#define PARALLEL_LEAST 32 /* casks; for fewer, threads cost more than they bring */

struct solver {
    const struct stv_fit_problem *problem;
    struct stv__fit_casks casks;
    struct stv__fit_blocks now, next; /* normal equations at the point and at the point tried */
    size_t n_shared, n_blocks, n_all; /* n_blocks: scores of all casks */
    double *scores, *tried, *step;    /* n_all: shared, then the blocks */
    double *part_sums;                /* N_PARTS x (n_shared x n_shared + n_shared) */
    double *matrix;                   /* n_shared x n_shared */
    double part_costs[N_PARTS];
};

static size_t part_length(const struct solver *solver)
{
    return solver->n_shared * (solver->n_shared + 1);
}

static size_t part_start(const struct solver *solver, size_t part)
{
    return solver->problem->n_casks * part / N_PARTS;
}

static void add_parts(const struct solver *solver, double *matrix, double *side)
{
    size_t n = solver->n_shared * solver->n_shared;
    for (size_t p = 0; p < N_PARTS; p++) {
        const double *sums = solver->part_sums + p * part_length(solver);
        for (size_t i = 0; i < n; i++)
            matrix[i] += sums[i];
        for (size_t i = 0; i < solver->n_shared; i++)
            side[i] += sums[n + i];
    }
}

static void add_cask(const struct solver *solver, struct stv__fit_blocks *blocks, size_t cask_idx,
                     const double *scores, double *cost)
{
    const struct stv_fit_problem *problem = solver->problem;
    struct stv__fit_point point = {scores,
                                   scores + solver->n_shared + cask_idx * (problem->n_own + 1)};
    struct stv__fit_told told[STV_FIT_THRESHOLDS], rows[STV__FIT_ROWS_MOST];
    for (size_t k = solver->casks.first_observation[cask_idx];
         k < solver->casks.first_observation[cask_idx + 1]; k++) {
        size_t idx = solver->casks.order[k];
        (void)stv__fit_tell_at(&solver->casks, idx, point, told);
        size_t n = stv__fit_rows(&problem->observations[idx], told, rows, cost);
        for (size_t r = 0; r < n; r++)
            stv__fit_add_row(blocks, cask_idx, &rows[r], -rows[r].value);
    }
}

/* Cost and normal equations at a point. */
static enum stv_status evaluate(struct solver *solver, const double *scores,
                                struct stv__fit_blocks *out, double *out_cost)
{
    size_t ns = solver->n_shared;
    enum stv_status status = stv__fit_predict_all(&solver->casks, scores, scores + ns);
    if (status != STV_OK)
        return status;
    stv__fit_blocks_reset(out, solver->problem->n_casks);
    memset(solver->part_sums, 0, N_PARTS * part_length(solver) * sizeof(double));
#pragma omp parallel for schedule(dynamic) if (solver->problem->n_casks >= PARALLEL_LEAST)
    for (size_t p = 0; p < N_PARTS; p++) {
        struct stv__fit_blocks mine = *out;
        mine.shared_nd = solver->part_sums + p * part_length(solver);
        mine.shared_side_nd = mine.shared_nd + ns * ns;
        double cost = 0.0;
        for (size_t c = part_start(solver, p); c < part_start(solver, p + 1); c++)
            add_cask(solver, &mine, c, scores, &cost);
        solver->part_costs[p] = cost;
    }
    add_parts(solver, out->shared_nd, out->shared_side_nd);
    *out_cost = 0.0;
    for (size_t p = 0; p < N_PARTS; p++)
        *out_cost += solver->part_costs[p];
    for (size_t i = 0; i < ns; i++)
        out->shared_side_nd[i] -= scores[i];
    for (size_t i = 0; i < solver->n_blocks; i++)
        out->side_nd[i] -= scores[ns + i];
    for (size_t i = 0; i < solver->n_all; i++)
        *out_cost += 0.5 * scores[i] * scores[i];
    return isfinite(*out_cost) ? STV_OK : STV_E_DOMAIN;
}

/* Leaves in matrix the Cholesky factor of what the casks leave to the shared scores, in side what
 * they leave on the right.  False when derivatives are so large that rounding took all of it. */
static bool eliminate(struct solver *solver, double damping, double *matrix, double *side)
{
    const struct stv__fit_blocks *now = &solver->now;
    size_t ns = solver->n_shared;
    memcpy(matrix, now->shared_nd, ns * ns * sizeof(double));
    memcpy(side, now->shared_side_nd, ns * sizeof(double));
    for (size_t i = 0; i < ns; i++)
        matrix[i * ns + i] += damping;
    memset(solver->part_sums, 0, N_PARTS * part_length(solver) * sizeof(double));
#pragma omp parallel for schedule(dynamic) if (solver->problem->n_casks >= PARALLEL_LEAST)
    for (size_t p = 0; p < N_PARTS; p++) {
        double *sums = solver->part_sums + p * part_length(solver);
        struct stv__fit_factor factor;
        for (size_t c = part_start(solver, p); c < part_start(solver, p + 1); c++) {
            stv__fit_factor_of(now, c, damping, &factor);
            stv__fit_add_factor(now, &factor, -1.0, sums, sums + ns * ns);
        }
    }
    add_parts(solver, matrix, side);
    gsl_matrix_view view = gsl_matrix_view_array(matrix, ns, ns);
    return gsl_linalg_cholesky_decomp1(&view.matrix) == GSL_SUCCESS;
}

/* The step of all scores; returns the gain it promises, NaN when there is none to be found, and its
 * squared length in standard deviations when nothing damps it. */
static double find_step(struct solver *solver, double damping, double *out_length)
{
    size_t ns = solver->n_shared, nb = solver->now.n_block;
    if (!eliminate(solver, damping, solver->matrix, solver->step))
        return *out_length = NAN;
    gsl_matrix_view matrix = gsl_matrix_view_array(solver->matrix, ns, ns);
    gsl_vector_view shared = gsl_vector_view_array(solver->step, ns);
    (void)gsl_linalg_cholesky_svx(&matrix.matrix, &shared.vector);
#pragma omp parallel for schedule(static) if (solver->problem->n_casks >= PARALLEL_LEAST)
    for (size_t c = 0; c < solver->problem->n_casks; c++) {
        struct stv__fit_factor factor;
        stv__fit_factor_of(&solver->now, c, damping, &factor);
        gsl_matrix_view chol = gsl_matrix_view_array(factor.chol_nd, nb, nb);
        gsl_matrix_view cross = gsl_matrix_view_array(factor.cross_nd, nb, ns);
        gsl_vector_view block = gsl_vector_view_array(solver->step + ns + c * nb, nb);
        memcpy(solver->step + ns + c * nb, factor.side_nd, nb * sizeof(double));
        gsl_blas_dgemv(CblasNoTrans, -1.0, &cross.matrix, &shared.vector, 1.0, &block.vector);
        gsl_blas_dtrsv(CblasLower, CblasTrans, CblasNonUnit, &chol.matrix, &block.vector);
    }
    double slope = 0.0, square = 0.0;
    for (size_t i = 0; i < solver->n_all; i++) {
        double side = i < ns ? solver->now.shared_side_nd[i] : solver->now.side_nd[i - ns];
        slope += side * solver->step[i];
        square += solver->step[i] * solver->step[i];
    }
    *out_length = slope;
    return 0.5 * (slope + damping * square);
}

static double longest_of(const struct solver *solver)
{
    double longest = 0.0;
    for (size_t i = 0; i < solver->n_all; i++)
        longest = fmax(longest, fabs(solver->step[i]));
    return longest;
}

static void move_on(struct solver *solver)
{
    struct stv__fit_blocks blocks = solver->now;
    double *scores = solver->scores;
    solver->now = solver->next;
    solver->next = blocks;
    solver->scores = solver->tried;
    solver->tried = scores;
}

static double damp_more(double damping)
{
    return fmax(damping * DAMPING_FACTOR, DAMPING_FIRST);
}

static double damping_after(double damping, double gained_frac)
{
    if (gained_frac < GAIN_POOR)
        return damp_more(damping);
    if (gained_frac < GAIN_GOOD)
        return damping;
    return damping > DAMPING_FIRST ? damping / DAMPING_FACTOR : 0.0;
}

/* Whether the top is reached; says how far off it is, were nothing damped. */
static enum stv_status arrive(struct solver *solver, struct stv_fit *fit)
{
    double length;
    (void)find_step(solver, 0.0, &length);
    if (isnan(length))
        return STV_E_DOMAIN;
    fit->last_step_nd = sqrt(fmax(length, 0.0));
    return length < STEP_STALLED ? STV_OK : STV_E_NO_CONVERGENCE;
}

/* Whether the step that nothing damps is shorter than the problem asks for. */
static bool is_near(struct solver *solver, struct stv_fit *fit)
{
    double length, near_nd = solver->problem->near_enough_nd;
    if (near_nd <= 0.0)
        return false;
    (void)find_step(solver, 0.0, &length);
    fit->last_step_nd = sqrt(fmax(length, 0.0));
    return length < near_nd * near_nd;
}

static enum stv_status climb(struct solver *solver, struct stv_fit *fit)
{
    double damping = 0.0, cost = 0.0, tried_cost = 0.0, length = 0.0;
    enum stv_status status = evaluate(solver, solver->scores, &solver->now, &cost);
    for (fit->n_steps = 0; status == STV_OK; fit->n_steps++) {
        fit->cost_nd = cost;
        if (is_near(solver, fit))
            return STV_OK;
        double promised = find_step(solver, damping, &length), gained_frac = 0.0;
        if (!(promised >= GAIN_DONE) || fit->n_steps == STEPS_MOST || damping > DAMPING_MOST)
            return arrive(solver, fit);
        if (longest_of(solver) <= SCORE_STEP_MOST) {
            for (size_t i = 0; i < solver->n_all; i++)
                solver->tried[i] = solver->scores[i] + solver->step[i];
            status = evaluate(solver, solver->tried, &solver->next, &tried_cost);
            gained_frac = status == STV_OK ? (cost - tried_cost) / promised : 0.0;
            if (status == STV_E_DOMAIN)
                status = STV_OK;
        }
        if (gained_frac > GAIN_LEAST) {
            move_on(solver);
            cost = tried_cost;
        } else if (damping == 0.0 && length < STEP_STALLED)
            return arrive(solver, fit);
        damping = damping_after(damping, gained_frac);
    }
    return status;
}

enum stv_status stv__fit_new(const struct stv_fit_problem *problem, struct stv_fit *out)
{
    size_t ns = stv__fit_n_shared(problem), nb = problem->n_own + 1, nc = problem->n_casks;
    *out = (struct stv_fit){.n_top = problem->n_top,
                            .n_own = problem->n_own,
                            .n_casks = nc,
                            .n_shared = ns,
                            .n_block = nb};
    /* One piece of memory, held by its first member. */
    out->shared_nd = calloc(ns * (ns + 2) + nc * nb * (ns + nb + 2), sizeof(double));
    if (!out->shared_nd)
        return STV_E_MEMORY;
    out->shared_error_nd = out->shared_nd + ns;
    out->shared_chol_nd = out->shared_error_nd + ns;
    out->block_nd = out->shared_chol_nd + ns * ns;
    out->block_error_nd = out->block_nd + nc * nb;
    out->by_shared_nd = out->block_error_nd + nc * nb;
    out->block_chol_nd = out->by_shared_nd + nc * nb * ns;
    return STV_OK;
}

void stv_fit_free(struct stv_fit *fit)
{
    free(fit->shared_nd);
    *fit = (struct stv_fit){0};
}

/* Lower factor of the inverse of the matrix whose factor is given; in the same order, which an
 * inverted factor would not keep. */
static void invert_factor(double *chol, size_t n)
{
    gsl_matrix_view view = gsl_matrix_view_array(chol, n, n);
    (void)gsl_linalg_cholesky_invert(&view.matrix);
    (void)gsl_linalg_cholesky_decomp1(&view.matrix);
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            chol[i * n + j] = 0.0;
}

static double length_of(const double *values, size_t n)
{
    double square = 0.0;
    for (size_t i = 0; i < n; i++)
        square += values[i] * values[i];
    return sqrt(square);
}

static void spread_of_cask(const struct solver *solver, size_t cask_idx, struct stv_fit *fit)
{
    size_t ns = fit->n_shared, nb = fit->n_block;
    double *by_shared = fit->by_shared_nd + cask_idx * nb * ns;
    double *block_chol = fit->block_chol_nd + cask_idx * nb * nb;
    double moved[STV__FIT_SHARED_MOST];
    struct stv__fit_factor factor;
    stv__fit_factor_of(&solver->now, cask_idx, 0.0, &factor);
    gsl_matrix_view chol = gsl_matrix_view_array(factor.chol_nd, nb, nb);
    gsl_matrix_view cross = gsl_matrix_view_array(factor.cross_nd, nb, ns);
    gsl_blas_dtrsm(CblasLeft, CblasLower, CblasTrans, CblasNonUnit, -1.0, &chol.matrix,
                   &cross.matrix);
    memcpy(by_shared, factor.cross_nd, nb * ns * sizeof(double));
    memcpy(block_chol, factor.chol_nd, nb * nb * sizeof(double));
    invert_factor(block_chol, nb);
    gsl_matrix_view shared_chol = gsl_matrix_view_array(fit->shared_chol_nd, ns, ns);
    for (size_t i = 0; i < nb; i++) {
        gsl_vector_view view = gsl_vector_view_array(moved, ns);
        memcpy(moved, by_shared + i * ns, ns * sizeof(double));
        gsl_blas_dtrmv(CblasLower, CblasTrans, CblasNonUnit, &shared_chol.matrix, &view.vector);
        fit->block_error_nd[cask_idx * nb + i] =
            hypot(length_of(moved, ns), length_of(block_chol + i * nb, nb));
    }
}

static void spread_of_thresholds(const struct stv_fit_problem *problem, struct stv_fit *fit)
{
    /* Thresholds are told as ln of wood above them, which here is none. */
    struct stv_fit_observation verdict = {.kind = STV_FIT_VERDICT};
    struct stv_fit_moment nothing = {0};
    struct stv__fit_told told[STV_FIT_THRESHOLDS];
    double moved[STV__FIT_SHARED_MOST];
    size_t ns = fit->n_shared;
    gsl_matrix_view chol = gsl_matrix_view_array(fit->shared_chol_nd, ns, ns);
    gsl_vector_view view = gsl_vector_view_array(moved, ns);
    stv_fit_thresholds(problem, fit->shared_nd, fit->threshold_ln_nd);
    (void)stv__fit_tell(problem, &verdict, &nothing, (struct stv__fit_point){fit->shared_nd, NULL},
                        told);
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++) {
        memcpy(moved, told[k].by_shared_nd, ns * sizeof(double));
        gsl_blas_dtrmv(CblasLower, CblasTrans, CblasNonUnit, &chol.matrix, &view.vector);
        fit->threshold_error_ln_nd[k] = length_of(moved, ns);
    }
}

static void find_spread(struct solver *solver, struct stv_fit *fit)
{
    size_t ns = fit->n_shared;
    memcpy(fit->shared_nd, solver->scores, ns * sizeof(double));
    memcpy(fit->block_nd, solver->scores + ns, solver->n_blocks * sizeof(double));
    (void)eliminate(solver, 0.0, fit->shared_chol_nd, solver->step); /* as when it arrived */
    invert_factor(fit->shared_chol_nd, ns);
    for (size_t i = 0; i < ns; i++)
        fit->shared_error_nd[i] = length_of(fit->shared_chol_nd + i * ns, ns);
#pragma omp parallel for schedule(static) if (fit->n_casks >= PARALLEL_LEAST)
    for (size_t c = 0; c < fit->n_casks; c++)
        spread_of_cask(solver, c, fit);
    spread_of_thresholds(solver->problem, fit);
}

static void solver_free(struct solver *solver)
{
    stv__fit_casks_free(&solver->casks);
    stv__fit_blocks_free(&solver->now);
    stv__fit_blocks_free(&solver->next);
    free(solver->scores);
    free(solver->tried);
    free(solver->step);
    free(solver->part_sums);
    free(solver->matrix);
}

static enum stv_status solver_new(const struct stv_fit_problem *problem, struct solver *out)
{
    size_t ns = stv__fit_n_shared(problem), n_blocks = problem->n_casks * (problem->n_own + 1);
    *out = (struct solver){.problem = problem,
                           .n_shared = ns,
                           .n_blocks = n_blocks,
                           .n_all = ns + n_blocks,
                           .scores = calloc(ns + n_blocks, sizeof(double)),
                           .tried = calloc(ns + n_blocks, sizeof(double)),
                           .step = calloc(ns + n_blocks, sizeof(double)),
                           .part_sums = calloc(N_PARTS * ns * (ns + 1), sizeof(double)),
                           .matrix = calloc(ns * ns, sizeof(double))};
    enum stv_status status = STV_E_MEMORY;
    if (out->scores && out->tried && out->step && out->part_sums && out->matrix)
        status = stv__fit_casks_new(problem, &out->casks);
    if (status == STV_OK)
        status = stv__fit_blocks_new(problem, &out->now);
    if (status == STV_OK)
        status = stv__fit_blocks_new(problem, &out->next);
    if (status != STV_OK)
        solver_free(out);
    return status;
}

enum stv_status stv_fit_learn(const struct stv_fit_problem *problem, struct stv_fit *out)
{
    if (!out || !stv__fit_is_sound(problem))
        return STV_E_ARG;
    struct solver solver;
    struct stv_fit fit;
    enum stv_status status = solver_new(problem, &solver);
    if (status != STV_OK)
        return status;
    status = stv__fit_new(problem, &fit);
    if (status == STV_OK)
        status = climb(&solver, &fit);
    if (status == STV_OK || status == STV_E_NO_CONVERGENCE) {
        find_spread(&solver, &fit);
        *out = fit;
    } else
        stv_fit_free(&fit);
    solver_free(&solver);
    return status;
}
