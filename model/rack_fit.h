/* A straight sum of hourly columns fitted to what a logger showed.  Groups of columns are taken in
 * one after the other, and each must earn its place on calendar months that the fit has not seen.
 */
#ifndef STV_MODEL_RACK_FIT_H
#define STV_MODEL_RACK_FIT_H

#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

#define STV_RACK_COLUMNS_MAX 48
#define STV_RACK_FOLDS 12 /* calendar months; all years of a month are left out together */

struct stv_rack_problem {
    size_t n;                     /* hours, measured or not */
    const double *const *columns; /* n_columns pointers to n finite values each */
    const uint8_t *groups;        /* of each column, 0..31 */
    size_t n_columns;             /* 1..STV_RACK_COLUMNS_MAX */
    uint32_t allowed_groups;      /* a bit each: those that may come in */
    uint32_t kept_groups;         /* those of them that are always in */
    const double *target_nd;      /* n values; NaN: not measured */
    const uint8_t *folds;         /* of each hour, below STV_RACK_FOLDS */
};

struct stv_rack_fit {
    uint32_t groups; /* taken in, a bit each */
    double ridge_nd; /* penalty on standardised columns, per hour */
    double intercept_nd;
    double coef_nd[STV_RACK_COLUMNS_MAX]; /* per unit of the column; 0 for columns left out */
    double error_nd;         /* rms per hour, each fold told by a choice of groups and a
                              * fit that never saw it; the target's unit */
    size_t n_hours, n_folds; /* measured hours, and folds with at least ten days of them */
};

/* Fits, and says how far a fit misses months it has not seen.
 *
 * out_unseen_nd  problem->n values, or NULL: what the other folds say of each hour, measured or not
 * out         untouched when the status is not OK
 *
 * Method:  ridge on standardised columns, intercept free; groups forward, one at a time, as long as
 *          the leave-a-fold-out error falls by 1 %; then the ridge of 1e-4 .. 1e-1 with the least.
 *          out->error repeats choice and fit without each fold in turn, so that choosing is not
 *          paid for by the fold that judges.
 * Errors:  STV_E_ARG      NULL, too many columns, a group or fold out of range
 *          STV_E_NO_DATA  less than three folds with ten days of hours
 *          STV_E_MEMORY
 * Source:  ridge: Hoerl and Kennard 1970, Technometrics 12:55 (from memory); nested leaving out:
 *          Varma and Simon 2006, BMC Bioinformatics 7:91 (from memory)
 * Assumes: the folds differ as later years will */
STV_MUST_CHECK enum stv_status stv_rack_fit(const struct stv_rack_problem *problem,
                                            double *out_unseen_nd, struct stv_rack_fit *out);

#endif
