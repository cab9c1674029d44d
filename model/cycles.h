/* Rainflow counting of temperature cycles (ASTM E1049-85). */
#ifndef STV_MODEL_CYCLES_H
#define STV_MODEL_CYCLES_H

#include "model/status.h"

#include <stddef.h>

struct stv_cycle {
    double range_k;
    double mean_c;
    double count_nd; /* 1 or 0.5 */
};

/* The cycles of a series, in the order in which they close; unclosed halves come last.
 *
 * values_c    n values, deg C; those that are not finite are skipped, a plateau counts once
 * n           any number; NULL values_c only with n = 0
 * least_k     smaller ranges are counted but not reported, K, >= 0
 * out_cycles  room for n entries; the first *out_n are written
 * out_n       how many; 0 when the status is not OK
 *
 * Shape:   n values in, at most n - 1 cycles out
 * Errors:  STV_E_ARG     a NULL, or least_k negative or NaN
 *          STV_E_MEMORY
 * Accuracy: exact; work and memory grow in proportion to n
 * Source:  ASTM E1049-85, section 5.4.4 (three-point rule).  The first and the last value count
 *          as reversals, as there.
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_cycles_count(const double *values_c, size_t n, double least_k,
                                                struct stv_cycle *out_cycles, size_t *out_n);

/* Where a series' cycles are counted by size: bin b holds ranges from least_k + b step_k on, and
 * the last bin all that are wider.  Smaller ones than least_k are left out. */
struct stv_cycle_bins {
    double least_k, step_k; /* >= 0 and > 0 */
    size_t n;               /* at least 1 */
};

/* Adds the counts of a series to n bins, halves as halves; their sum is that of stv_cycles_sum_nd.
 *
 * values_c, n  as above
 * io_count_nd  bins->n values; untouched when the status is not OK
 *
 * Shape:   n values in, bins->n counts out
 * Errors:  STV_E_ARG, STV_E_MEMORY as above
 * Source:  ASTM E1049-85, section 5.4.4
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_cycles_add_bins_nd(const double *values_c, size_t n,
                                                      const struct stv_cycle_bins *bins,
                                                      double *io_count_nd);

/* Sum of the counts of a series.
 *
 * values_c, n, least_k  as above
 * out_count_nd          sum, halves as halves; 0 for fewer than two different values, NaN when
 *                       the status is not OK
 *
 * Shape:   n values in, scalar out
 * Errors:  STV_E_ARG, STV_E_MEMORY as above
 * Source:  ASTM E1049-85, section 5.4.4
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_cycles_sum_nd(const double *values_c, size_t n, double least_k,
                                                 double *out_count_nd);

#endif
