/* Equally spaced time, shared by every column that stands on it. */
#ifndef STV_MODEL_SERIES_H
#define STV_MODEL_SERIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Sample k covers [t0_s + k step_s, t0_s + (k + 1) step_s).  Missing samples are NaN in the
 * columns.  Local days are cut at the fixed offset.  A typical year has no calendar year: its
 * t0_s stands in 2001 and its year number means nothing. */
struct stv_grid {
    int64_t t0_s; /* UTC, seconds since 1970 */
    int32_t step_s;
    int32_t utc_offset_min;
    size_t n;
    bool is_typical;
};

/* Start of sample k, UTC seconds; k may be n or more. */
int64_t stv_grid_start_s(const struct stv_grid *grid, size_t k);

/* Local day number of the middle of sample k; hour of that day, 0..23, into out_hour when not
 * NULL. */
int64_t stv_grid_local_day(const struct stv_grid *grid, size_t k, int *out_hour);

/* Local day from which a grid tells: that on which an hourly one's first hour ends, for one that is
 * stamped 0:00 on 1 July at its end lies in 30 June; of longer steps the first one's own. */
int64_t stv_grid_first_day(const struct stv_grid *grid);

/* Index of the sample that holds an instant; n when it lies outside. */
size_t stv_grid_index(const struct stv_grid *grid, int64_t time_s);

/* Mean of the finite ones of n values, in their unit; NaN when there are none.  Plain sum: good to
 * about n roundings. */
double stv_mean_nd(const double *values, size_t n);

#endif
