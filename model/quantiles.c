#include "model/quantiles.h"

#include <math.h>

#define FEW 24 /* sorted by insertion */

static double middle_of_three(double a, double b, double c)
{
    double least = a < b ? a : b, most = a < b ? b : a;
    return c < least ? least : c > most ? most : c;
}

/* Sorts them into those up to some value, *out_low of them, and, from *out_high on, those from it
 * on; what stands between is that value. */
static void split(double *values, size_t n, size_t *out_low, size_t *out_high)
{
    double middle = middle_of_three(values[0], values[n / 2], values[n - 1]);
    size_t from = 0, to = n; /* next from below, and one past the next from above */
    while (from < to) {
        while (values[from] < middle)
            from++;
        while (values[to - 1] > middle)
            to--;
        if (from < to) {
            double value = values[from];
            values[from++] = values[to - 1];
            values[--to] = value;
        }
    }
    *out_low = to;
    *out_high = from;
}

/* A sort without a call for each comparison: ranges are made by the hundred thousand. */
void stv_sort_nd(double *values, size_t n)
{
    while (n > FEW) {
        size_t low, high;
        split(values, n, &low, &high);
        if (low < n - high) { /* the longer part last, so that calls nest log2(n) deep */
            stv_sort_nd(values, low);
            values += high;
            n -= high;
        } else {
            stv_sort_nd(values + high, n - high);
            n = low;
        }
    }
    for (size_t i = 1; i < n; i++) {
        double value = values[i];
        size_t at = i;
        for (; at > 0 && values[at - 1] > value; at--)
            values[at] = values[at - 1];
        values[at] = value;
    }
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
    stv_sort_nd(values, count);
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
