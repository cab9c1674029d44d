/* Everything that leaving out needs stands in sums of products, one matrix for each fold: a choice
 * of columns is then judged without going through the hours again. */
#include "model/rack_fit.h"

#include "model/units.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define FOLD_LEAST_H (10.0 * STV_DAY_H)
#define FOLDS_LEAST 3
#define WORTH_FRAC 0.99 /* a group stays when it brings the error under this share */
#define FIRST_RIDGE 1e-3
#define NO_FOLD STV_RACK_FOLDS
#define ROWS_MAX (STV_RACK_COLUMNS_MAX + 2) /* the columns, a one, the target */
#define LEAST_SPREAD 1e-9 /* of a column that stands still: nothing to learn from it */

/* Source: judgement: none, little, some and much of what the columns' own spread would give. */
static const double ridges[] = {1e-4, 1e-3, 1e-2, 1e-1};
#define N_RIDGES (sizeof ridges / sizeof ridges[0])

/* Sums of products of standardised columns, the one and the target, over some hours. */
struct sums {
    double product[ROWS_MAX][ROWS_MAX];
    double n;
};

struct work {
    const struct stv_rack_problem *problem;
    double mean[STV_RACK_COLUMNS_MAX], spread[STV_RACK_COLUMNS_MAX];
    struct sums folds[STV_RACK_FOLDS];
    struct sums all, rest, part; /* all hours; without one fold; without two */
    bool is_judged[STV_RACK_FOLDS];
};

/* A fit of some of the columns: standardised, the one last. */
struct partial {
    size_t ids[ROWS_MAX];
    size_t n;
    double value[ROWS_MAX];
};

static void standardise(struct work *work)
{
    const struct stv_rack_problem *p = work->problem;
    for (size_t c = 0; c < p->n_columns; c++) {
        double sum = 0.0, square = 0.0, n = 0.0;
        for (size_t k = 0; k < p->n; k++)
            if (isfinite(p->target_nd[k])) {
                sum += p->columns[c][k];
                n += 1.0;
            }
        work->mean[c] = n > 0.0 ? sum / n : 0.0;
        for (size_t k = 0; k < p->n; k++)
            if (isfinite(p->target_nd[k])) {
                double off = p->columns[c][k] - work->mean[c];
                square += off * off;
            }
        double spread = n > 0.0 ? sqrt(square / n) : 0.0;
        work->spread[c] = spread > LEAST_SPREAD ? spread : HUGE_VAL;
    }
}

static double standardised(const struct work *work, size_t column, size_t hour)
{
    return (work->problem->columns[column][hour] - work->mean[column]) / work->spread[column];
}

static void add_hours(struct work *work)
{
    const struct stv_rack_problem *p = work->problem;
    size_t n_rows = p->n_columns + 2;
    double row[ROWS_MAX];
    for (size_t k = 0; k < p->n; k++) {
        if (!isfinite(p->target_nd[k]))
            continue;
        struct sums *fold = &work->folds[p->folds[k]];
        for (size_t c = 0; c < p->n_columns; c++)
            row[c] = standardised(work, c, k);
        row[p->n_columns] = 1.0;
        row[p->n_columns + 1] = p->target_nd[k];
        for (size_t i = 0; i < n_rows; i++)
            for (size_t j = 0; j <= i; j++)
                fold->product[i][j] += row[i] * row[j];
        fold->n += 1.0;
    }
    for (size_t f = 0; f < STV_RACK_FOLDS; f++)
        for (size_t i = 0; i < n_rows; i++)
            for (size_t j = 0; j < i; j++)
                work->folds[f].product[j][i] = work->folds[f].product[i][j];
}

/* Sums over all folds but up to two. */
static void sum_without(const struct work *work, size_t fold, size_t other, struct sums *out)
{
    size_t n_rows = work->problem->n_columns + 2;
    memset(out, 0, sizeof *out);
    for (size_t f = 0; f < STV_RACK_FOLDS; f++) {
        if (f == fold || f == other || work->folds[f].n == 0.0)
            continue;
        out->n += work->folds[f].n;
        for (size_t i = 0; i < n_rows; i++)
            for (size_t j = 0; j < n_rows; j++)
                out->product[i][j] += work->folds[f].product[i][j];
    }
}

static void choose_columns(const struct work *work, uint32_t groups, struct partial *out)
{
    out->n = 0;
    for (size_t c = 0; c < work->problem->n_columns; c++)
        if (groups >> work->problem->groups[c] & 1u)
            out->ids[out->n++] = c;
    out->ids[out->n++] = work->problem->n_columns;
}

/* False when the sums are not those of independent columns, which the ridge prevents. */
static bool solve(const struct work *work, const struct sums *sums, double ridge_nd,
                  struct partial *fit)
{
    double matrix[ROWS_MAX * ROWS_MAX];
    size_t n = fit->n, target = work->problem->n_columns + 1;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++)
            matrix[i * n + j] = sums->product[fit->ids[i]][fit->ids[j]];
        fit->value[i] = sums->product[fit->ids[i]][target];
        if (i + 1 < n)
            matrix[i * n + i] += ridge_nd * sums->n;
    }
    gsl_matrix_view a = gsl_matrix_view_array(matrix, n, n);
    gsl_vector_view b = gsl_vector_view_array(fit->value, n);
    return gsl_linalg_cholesky_decomp1(&a.matrix) == GSL_SUCCESS &&
           gsl_linalg_cholesky_svx(&a.matrix, &b.vector) == GSL_SUCCESS;
}

/* Sum of squares that a fit leaves in a fold. */
static double left_over(const struct work *work, const struct sums *fold, const struct partial *fit)
{
    size_t target = work->problem->n_columns + 1;
    double left = fold->product[target][target];
    for (size_t i = 0; i < fit->n; i++) {
        const double *row = fold->product[fit->ids[i]];
        double told = -2.0 * row[target];
        for (size_t j = 0; j < fit->n; j++)
            told += fit->value[j] * row[fit->ids[j]];
        left += fit->value[i] * told;
    }
    return left > 0.0 ? left : 0.0;
}

struct choice {
    uint32_t groups;
    double ridge_nd;
};

/* Mean square over the folds but `without`, each told by the others. */
static double judge(struct work *work, struct choice choice, size_t without)
{
    double sum = 0.0, n = 0.0;
    struct partial fit;
    choose_columns(work, choice.groups, &fit);
    for (size_t f = 0; f < STV_RACK_FOLDS; f++) {
        if (!work->is_judged[f] || f == without)
            continue;
        sum_without(work, without, f, &work->part);
        if (!solve(work, &work->part, choice.ridge_nd, &fit))
            return HUGE_VAL;
        sum += left_over(work, &work->folds[f], &fit);
        n += work->folds[f].n;
    }
    return n > 0.0 ? sum / n : HUGE_VAL;
}

static uint32_t groups_there(const struct stv_rack_problem *problem)
{
    uint32_t groups = 0;
    for (size_t c = 0; c < problem->n_columns; c++)
        groups |= 1u << problem->groups[c];
    return groups & problem->allowed_groups;
}

/* The groups and the ridge, chosen without one fold (NO_FOLD: with all). */
static struct choice choose(struct work *work, size_t without)
{
    uint32_t there = groups_there(work->problem);
    struct choice best = {work->problem->kept_groups & there, FIRST_RIDGE};
    double least = judge(work, best, without);
    for (bool has_grown = true; has_grown;) {
        struct choice next = best;
        double found = HUGE_VAL;
        has_grown = false;
        for (unsigned g = 0; g < 32; g++) {
            struct choice trial = {best.groups | 1u << g, FIRST_RIDGE};
            if (!(there >> g & 1u) || trial.groups == best.groups)
                continue;
            double error = judge(work, trial, without);
            if (error < found) {
                found = error;
                next = trial;
            }
        }
        if (found < WORTH_FRAC * WORTH_FRAC * least) {
            best = next;
            least = found;
            has_grown = true;
        }
    }
    for (size_t r = 0; r < N_RIDGES; r++) {
        struct choice trial = {best.groups, ridges[r]};
        double error = judge(work, trial, without);
        if (error < least) {
            least = error;
            best = trial;
        }
    }
    return best;
}

static double told_at(const struct work *work, const struct partial *fit, size_t hour)
{
    double told = fit->value[fit->n - 1];
    for (size_t i = 0; i + 1 < fit->n; i++)
        told += fit->value[i] * standardised(work, fit->ids[i], hour);
    return told;
}

static void tell_hours(const struct work *work, const struct partial *fit, size_t fold,
                       double *out_unseen)
{
    for (size_t k = 0; out_unseen && k < work->problem->n; k++)
        if (work->problem->folds[k] == fold)
            out_unseen[k] = told_at(work, fit, k);
}

/* Each fold told by a choice and a fit that never saw it. */
static bool tell_unseen(struct work *work, double *out_unseen, double *out_error)
{
    double sum = 0.0, n = 0.0;
    struct partial fit;
    for (size_t f = 0; f < STV_RACK_FOLDS; f++) {
        struct choice choice = choose(work, f);
        sum_without(work, f, NO_FOLD, &work->rest);
        choose_columns(work, choice.groups, &fit);
        if (!solve(work, &work->rest, choice.ridge_nd, &fit))
            return false;
        tell_hours(work, &fit, f, out_unseen);
        if (!work->is_judged[f])
            continue;
        sum += left_over(work, &work->folds[f], &fit);
        n += work->folds[f].n;
    }
    *out_error = sqrt(sum / n);
    return true;
}

static void give(const struct work *work, const struct partial *fit, struct stv_rack_fit *out)
{
    out->intercept_nd = fit->value[fit->n - 1];
    for (size_t i = 0; i + 1 < fit->n; i++) {
        size_t c = fit->ids[i];
        out->coef_nd[c] = fit->value[i] / work->spread[c];
        out->intercept_nd -= out->coef_nd[c] * work->mean[c];
    }
}

static bool is_well_formed(const struct stv_rack_problem *problem)
{
    if (!problem || !problem->columns || !problem->groups || !problem->target_nd ||
        !problem->folds || problem->n_columns == 0 || problem->n_columns > STV_RACK_COLUMNS_MAX)
        return false;
    for (size_t c = 0; c < problem->n_columns; c++)
        if (!problem->columns[c] || problem->groups[c] > 31)
            return false;
    for (size_t k = 0; k < problem->n; k++)
        if (problem->folds[k] >= STV_RACK_FOLDS)
            return false;
    return true;
}

static enum stv_status fit_folds(struct work *work, double *out_unseen, struct stv_rack_fit *out)
{
    struct stv_rack_fit fit = {0};
    struct partial last;
    standardise(work);
    add_hours(work);
    for (size_t f = 0; f < STV_RACK_FOLDS; f++) {
        work->is_judged[f] = work->folds[f].n >= FOLD_LEAST_H;
        fit.n_folds += work->is_judged[f];
        fit.n_hours += (size_t)work->folds[f].n;
    }
    if (fit.n_folds < FOLDS_LEAST)
        return STV_E_NO_DATA;
    if (!tell_unseen(work, out_unseen, &fit.error_nd))
        return STV_E_NO_CONVERGENCE;
    struct choice choice = choose(work, NO_FOLD);
    sum_without(work, NO_FOLD, NO_FOLD, &work->all);
    choose_columns(work, choice.groups, &last);
    if (!solve(work, &work->all, choice.ridge_nd, &last))
        return STV_E_NO_CONVERGENCE;
    fit.groups = choice.groups;
    fit.ridge_nd = choice.ridge_nd;
    give(work, &last, &fit);
    *out = fit;
    return STV_OK;
}

enum stv_status stv_rack_fit(const struct stv_rack_problem *problem, double *out_unseen,
                             struct stv_rack_fit *out)
{
    if (!out || !is_well_formed(problem))
        return STV_E_ARG;
    struct work *work = calloc(1, sizeof *work);
    if (!work)
        return STV_E_MEMORY;
    work->problem = problem;
    enum stv_status status = fit_folds(work, out_unseen, out);
    free(work);
    return status;
}
