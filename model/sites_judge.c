/* Tests on paired differences.  Years are few and trials many, so a year's weight is told apart
 * from that of the numbers nobody knows: the first shrinks with years, the second never does.
 * Trials of one sign prove that sign however unlike they are in size. */
#include "model/sites_judge.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define QUANTILE_TOLERANCE 1e-6 /* of the interval that holds it */
#define ROOT_STEPS_MOST 100

enum stv_verdict stv_verdict_of(const struct stv_range *difference, double margin)
{
    if (difference->p05 >= -margin && difference->p95 <= margin)
        return STV_VERDICT_SAME;
    if (difference->p05 > 0.0 && difference->p50 > margin)
        return STV_VERDICT_MORE;
    if (difference->p95 < 0.0 && difference->p50 < -margin)
        return STV_VERDICT_LESS;
    return STV_VERDICT_UNSURE;
}

double stv_effective_years_y(size_t n, size_t follow_y)
{
    double sum = 0.0;
    for (size_t k = 1; k < follow_y && k < n; k++)
        sum += (1.0 - (double)k / (double)n) * (1.0 - (double)k / (double)follow_y);
    return (double)n / (1.0 + 2.0 * sum);
}

static double mean_of(const double *values, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += values[i];
    return sum / (double)n;
}

static double variance_of(const double *values, size_t n)
{
    double mean = mean_of(values, n), sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += (values[i] - mean) * (values[i] - mean);
    return n > 1 ? sum / (double)(n - 1) : 0.0;
}

/* What is believed of the mean: Student's t about each trial's own mean, every trial alike. */
struct belief {
    const double *means, *errors; /* of the trials */
    size_t n;
    double degrees_nd;
};

/* Share of the belief above a value. */
static double above(const struct belief *belief, double value)
{
    double sum = 0.0;
    for (size_t d = 0; d < belief->n; d++) {
        double by = belief->means[d] - value, error = belief->errors[d];
        sum += error > 0.0 ? gsl_cdf_tdist_P(by / error, belief->degrees_nd) : by > 0.0;
    }
    return sum / (double)belief->n;
}

static double below(const struct belief *belief, double value)
{
    double sum = 0.0;
    for (size_t d = 0; d < belief->n; d++) {
        double by = value - belief->means[d], error = belief->errors[d];
        sum += error > 0.0 ? gsl_cdf_tdist_P(by / error, belief->degrees_nd) : by > 0.0;
    }
    return sum / (double)belief->n;
}

struct sought {
    const struct belief *belief;
    double frac;
};

static double beyond_sought(double value, void *context)
{
    const struct sought *sought = context;
    return below(sought->belief, value) - sought->frac;
}

/* Value with so much of the belief below it, in an interval that surely holds it. */
static double quantile(gsl_root_fsolver *solver, const struct belief *belief, double frac)
{
    double reach = fabs(gsl_cdf_tdist_Pinv(frac, belief->degrees_nd));
    double low = belief->means[0], high = belief->means[0];
    for (size_t d = 0; d < belief->n; d++) {
        low = fmin(low, belief->means[d] - reach * belief->errors[d]);
        high = fmax(high, belief->means[d] + reach * belief->errors[d]);
    }
    struct sought sought = {belief, frac};
    gsl_function function = {beyond_sought, &sought};
    if (!(low < high) || !(beyond_sought(low, &sought) < 0.0))
        return low;
    if (!(beyond_sought(high, &sought) > 0.0))
        return high;
    double enough = QUANTILE_TOLERANCE * (high - low);
    if (gsl_root_fsolver_set(solver, &function, low, high) != GSL_SUCCESS)
        return NAN;
    for (int i = 0; i < ROOT_STEPS_MOST; i++)
        if (gsl_root_fsolver_iterate(solver) != GSL_SUCCESS ||
            gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                                   gsl_root_fsolver_x_upper(solver), enough, 0.0) == GSL_SUCCESS)
            break;
    return gsl_root_fsolver_root(solver);
}

/* The years' part of the error of each trial's mean.  Years that share weather vary too little
 * among themselves: E s2 = sigma2 n/(n-1) (1-1/m) for m effective years, so sigma2/m is this. */
static void weigh_trials(const struct stv_paired *paired, double effective_years, double *years,
                         double *means, double *errors)
{
    size_t n_years = paired->n_years, n_draws = paired->n_draws;
    double factor = (double)(n_years - 1) / ((double)n_years * (effective_years - 1.0));
    for (size_t d = 0; d < n_draws; d++) {
        for (size_t y = 0; y < n_years; y++)
            years[y] = paired->values[y * n_draws + d];
        means[d] = mean_of(years, n_years);
        errors[d] = sqrt(factor * variance_of(years, n_years));
    }
}

static void test(const struct stv_paired *paired, gsl_root_fsolver *solver, double *room,
                 struct stv_judged *out)
{
    size_t n = paired->n_draws;
    double *means = room, *errors = room + n, *years = room + 2 * n;
    weigh_trials(paired, out->effective_y, years, means, errors);
    struct belief belief = {means, errors, n, out->effective_y - 1.0};
    double year_var = 0.0;
    for (size_t d = 0; d < n; d++)
        year_var += errors[d] * errors[d] / (double)n;
    out->error_nd = sqrt(year_var + variance_of(means, n));
    out->degrees_nd = belief.degrees_nd;
    out->least_nd = quantile(solver, &belief, 0.05);
    out->most_nd = quantile(solver, &belief, 0.95);
    out->p_differs_nd = fmin(1.0, 2.0 * fmin(1.0 - above(&belief, 0.0), 1.0 - below(&belief, 0.0)));
    out->p_same_nd = fmax(above(&belief, paired->margin), below(&belief, -paired->margin));
}

static void judge(const struct stv_paired *paired, gsl_root_fsolver *solver, double *room,
                  struct stv_judged *out)
{
    size_t n_years = paired->n_years, n_draws = paired->n_draws, n = n_years * n_draws;
    for (size_t y = 0; y < n_years; y++) {
        memcpy(room, paired->values + y * n_draws, n_draws * sizeof *room);
        out->n_years_more += stv_range_of(room, n_draws).p50 > 0.0;
    }
    memcpy(room, paired->values, n * sizeof *room);
    out->spread = stv_range_of(room, n);
    out->mean_nd = mean_of(paired->values, n);
    if (out->effective_y >= 2.0)
        test(paired, solver, room, out);
}

enum stv_status stv_judge_pair(const struct stv_paired *paired, struct stv_judged *out)
{
    double nan = (double)NAN;
    *out = (struct stv_judged){.mean_nd = nan,
                               .error_nd = nan,
                               .least_nd = nan,
                               .most_nd = nan,
                               .spread = stv_range_point(nan),
                               .degrees_nd = nan,
                               .p_differs_nd = nan,
                               .p_same_nd = nan,
                               .adjusted_p_differs_nd = nan,
                               .adjusted_p_same_nd = nan,
                               .n_years = paired->n_years,
                               .verdict = STV_VERDICT_UNSURE};
    out->effective_y = stv_effective_years_y(paired->n_years, paired->follow_y);
    if (paired->n_years == 0 || paired->n_draws == 0)
        return STV_OK;
    size_t n_room = paired->n_years * paired->n_draws + 2 * paired->n_draws + paired->n_years;
    double *room = malloc(n_room * sizeof *room);
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    bool has_all = room && solver;
    if (has_all)
        judge(paired, solver, room, out);
    if (solver)
        gsl_root_fsolver_free(solver);
    free(room);
    return has_all ? STV_OK : STV_E_MEMORY;
}

struct ranked {
    double p;
    size_t idx;
};

static int by_p(const void *left, const void *right)
{
    const struct ranked *a = left, *b = right;
    if (a->p != b->p)
        return a->p < b->p ? -1 : 1;
    return a->idx < b->idx ? -1 : a->idx > b->idx;
}

enum stv_status stv_holm(double *p_nd, size_t n)
{
    struct ranked *ranked = malloc((n + 1) * sizeof *ranked);
    size_t m = 0;
    if (!ranked)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        if (!isnan(p_nd[i]))
            ranked[m++] = (struct ranked){p_nd[i], i};
    qsort(ranked, m, sizeof *ranked, by_p);
    double least = 0.0;
    for (size_t k = 0; k < m; k++) {
        least = fmax(least, fmin(1.0, (double)(m - k) * ranked[k].p));
        p_nd[ranked[k].idx] = least;
    }
    free(ranked);
    return STV_OK;
}

static enum stv_verdict verdict_of(const struct stv_judged *judged, double margin)
{
    if (judged->n_years == 0)
        return STV_VERDICT_UNSURE;
    if (isnan(judged->p_differs_nd))
        return stv_verdict_of(&judged->spread, margin);
    if (judged->adjusted_p_same_nd <= STV_JUDGE_LEVEL)
        return STV_VERDICT_SAME;
    if (judged->adjusted_p_differs_nd > STV_JUDGE_LEVEL || fabs(judged->mean_nd) <= margin)
        return STV_VERDICT_UNSURE;
    return judged->mean_nd > 0.0 ? STV_VERDICT_MORE : STV_VERDICT_LESS;
}

enum stv_status stv_judge_family(struct stv_judged *const *judged, size_t n, double margin)
{
    double *p = malloc((2 * n + 1) * sizeof *p);
    if (!p)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        p[i] = judged[i]->p_differs_nd;
        p[n + i] = judged[i]->p_same_nd;
    }
    enum stv_status status = stv_holm(p, n);
    if (status == STV_OK)
        status = stv_holm(p + n, n);
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        judged[i]->adjusted_p_differs_nd = p[i];
        judged[i]->adjusted_p_same_nd = p[n + i];
        judged[i]->verdict = verdict_of(judged[i], margin);
    }
    free(p);
    return status;
}
