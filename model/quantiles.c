#include "model/quantiles.h"

#include <math.h>
#include <stdlib.h>

static int compare_values(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

double stv_quantile_nd(const double *sorted, size_t n, double frac_nd)
{
    if (n == 0 || !(frac_nd >= 0.0 && frac_nd <= 1.0))
        return NAN;
    double place = frac_nd * (double)(n - 1);
    size_t low = (size_t)place;
    if (low + 1 >= n)
        return sorted[n - 1];
    return sorted[low] + (place - (double)low) * (sorted[low + 1] - sorted[low]);
}

struct stv_range stv_range_of(double *values, size_t n)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (isfinite(values[i]))
            values[count++] = values[i];
    qsort(values, count, sizeof *values, compare_values);
    return (struct stv_range){
        stv_quantile_nd(values, count, 0.05), stv_quantile_nd(values, count, 0.25),
        stv_quantile_nd(values, count, 0.50), stv_quantile_nd(values, count, 0.75),
        stv_quantile_nd(values, count, 0.95),
    };
}

struct stv_range stv_range_point(double value)
{
    return (struct stv_range){value, value, value, value, value};
}

struct stv_range stv_range_scaled(struct stv_range range, double factor_nd)
{
    struct stv_range out = {range.p05 * factor_nd, range.p25 * factor_nd, range.p50 * factor_nd,
                            range.p75 * factor_nd, range.p95 * factor_nd};
    if (factor_nd < 0.0)
        return (struct stv_range){out.p95, out.p75, out.p50, out.p25, out.p05};
    return out;
}
