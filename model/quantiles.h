/* Quantiles of draws, and the five-number range in which every uncertain answer is given. */
#ifndef STV_MODEL_QUANTILES_H
#define STV_MODEL_QUANTILES_H

#include <stddef.h>

/* 5, 25, 50, 75 and 95 % points; all equal when one draw ran.  NaN when nothing was known.
 * The unit is that of the values it was made from. */
struct stv_range {
    double p05, p25, p50, p75, p95;
};

/* Sorts n finite values, ascending, in place. */
void stv_sort_nd(double *values, size_t n);

/* Range of n values.
 *
 * values   n of any unit; sorted in place, and those that are not finite left out: the array is
 *          not what it was.  May be NULL only with n = 0.
 *
 * Result all NaN when no value is finite.  Allocates nothing. */
struct stv_range stv_range_of(double *values, size_t n);

/* Quantile by linear interpolation.
 *
 * sorted   n ascending finite values
 * frac_nd  0..1
 *
 * Result in the values' unit; NaN for n = 0 or frac_nd outside.
 * Source:  Hyndman & Fan 1996, Am. Stat. 50:361, type 7 */
double stv_quantile_nd(const double *sorted, size_t n, double frac_nd);

/* Range whose five numbers are all the same. */
struct stv_range stv_range_point(double value);

/* Every number of the range times a factor; a negative factor keeps p05 the smallest. */
struct stv_range stv_range_scaled(struct stv_range range, double factor_nd);

#endif
