#include "model/crossing.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#define EARLIEST_FRAC 0.05
#define LATEST_FRAC 0.95

static int has_passed(double value, struct stv_level level)
{
    return level.is_fallen_to ? value <= level.value : value >= level.value;
}

static double day_of_trial(const int64_t *days_d, const double *const *values, size_t n_days,
                           size_t draw, struct stv_level level)
{
    for (size_t d = 0; d < n_days; d++) {
        double here = values[d][draw];
        if (!isfinite(here))
            return INFINITY;
        if (!has_passed(here, level))
            continue;
        if (d == 0)
            return (double)days_d[0];
        double before = values[d - 1][draw];
        double share = (level.value - before) / (here - before);
        return (double)days_d[d - 1] + share * (double)(days_d[d] - days_d[d - 1]);
    }
    return INFINITY;
}

/* The nearest trial and no straight line between two: one of them may never pass. */
static double by_rank(const double *sorted, size_t n, double frac)
{
    return sorted[(size_t)llround(frac * (double)(n - 1))];
}

enum stv_status stv_crossing_find(const int64_t *days_d, const double *const *values,
                                  const size_t n[2], struct stv_level level,
                                  struct stv_crossing *out)
{
    size_t n_days = n[0], n_draws = n[1], n_passed = 0, n_already = 0;
    if (n_days == 0 || n_draws == 0)
        return STV_E_ARG;
    double *when_d = malloc(n_draws * sizeof *when_d);
    if (!when_d)
        return STV_E_MEMORY;
    for (size_t k = 0; k < n_draws; k++) {
        when_d[k] = day_of_trial(days_d, values, n_days, k, level);
        n_passed += isfinite(when_d[k]);
        n_already += isfinite(values[0][k]) && has_passed(values[0][k], level);
    }
    gsl_sort(when_d, 1, n_draws);
    *out = (struct stv_crossing){
        .odds_frac = (double)n_passed / (double)n_draws,
        .already_frac = (double)n_already / (double)n_draws,
        .earliest_d = by_rank(when_d, n_draws, EARLIEST_FRAC),
        .central_d = by_rank(when_d, n_draws, 0.5),
        .latest_d = by_rank(when_d, n_draws, LATEST_FRAC),
    };
    free(when_d);
    return STV_OK;
}
