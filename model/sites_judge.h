/* What paired differences of several fill years prove: their mean with its error, how many years
 * they are worth, and whether they are more, less or the same within a margin set beforehand. */
#ifndef STV_MODEL_SITES_JUDGE_H
#define STV_MODEL_SITES_JUDGE_H

#include "model/quantiles.h"
#include "model/status.h"

#include <stddef.h>

enum stv_verdict { STV_VERDICT_MORE, STV_VERDICT_LESS, STV_VERDICT_SAME, STV_VERDICT_UNSURE };

/* What paired differences of this range say.
 *
 * margin   in the range's unit, set beforehand
 *
 * Source:  own rule: the same when 90 % of the differences lie inside the margin, more or less when
 *          95 % lie on one side and the middle outside it; else unsure */
enum stv_verdict stv_verdict_of(const struct stv_range *difference, double margin);

/* Share of wrong verdicts allowed in one family of pairs. */
#define STV_JUDGE_LEVEL 0.05

/* Independent years that n fill years in a row are worth when each is followed for follow_y years:
 * neighbours share weather, and k years apart their sums correlate as 1 - k/follow_y where years
 * are independent of each other.
 *
 * Result from 1 to n; 0 for n = 0.
 * Source:  Bayley & Hammersley, Suppl. J. R. Stat. Soc. 8 (1946) 184: n/(1 + 2 sum (1-k/n) rho_k)
 * Assumes: one year's weather says nothing of the next one's */
double stv_effective_years_y(size_t n, size_t follow_y);

/* Differences of one figure between two cells: [year * n_draws + draw], fill years one after
 * another. */
struct stv_paired {
    const double *values;
    size_t n_years, n_draws, follow_y;
    double margin; /* in the figure's unit, above 0 */
};

struct stv_judged {
    /* Mean over years and its error, in the figure's unit; NaN error below two effective years. */
    double mean_nd, error_nd;
    double least_nd, most_nd; /* 90 % interval of the mean; NaN likewise */
    struct stv_range spread;  /* of one cask in one year, over years and trials */
    double effective_y;
    double degrees_nd;              /* of freedom of the error; NaN likewise */
    double p_differs_nd, p_same_nd; /* as found; NaN likewise */
    double adjusted_p_differs_nd;   /* after Holm, set by stv_judge_family */
    double adjusted_p_same_nd;
    size_t n_years, n_years_more; /* years whose middle trial is above 0 */
    enum stv_verdict verdict;     /* set by stv_judge_family */
};

/* Mean of the differences, its error and both tests.
 *
 * Within a trial the years speak: Student's t about the trial's mean, with the spread of its years
 * over their effective number, made larger for what overlapping years hide, and as many degrees of
 * freedom less one.  Trials, which differ in what nobody knows of oak and climate, count alike, and
 * more years do not lessen their part.  p_differs_nd is twice the smaller side of 0 in what is then
 * believed of the mean; p_same_nd the larger part outside either end of the margin (two one-sided
 * tests).  One trial alone makes both the usual t tests.
 *
 * Errors:  STV_E_MEMORY
 * Source:  Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657; that trials count alike is an own
 *          rule (a flat prior within each) */
STV_MUST_CHECK enum stv_status stv_judge_pair(const struct stv_paired *paired,
                                              struct stv_judged *out);

/* Adjusts p values for their number, step down; NaN ones do not count and stay.
 *
 * p_nd     n values, changed in place
 * Errors:  STV_E_MEMORY
 * Source:  Holm, Scand. J. Statist. 6 (1979) 65 */
STV_MUST_CHECK enum stv_status stv_holm(double *p_nd, size_t n);

/* Verdicts of all pairs of one figure: both families of tests adjusted after Holm.
 *
 * The same when its adjusted p is at most STV_JUDGE_LEVEL; more or less when the other's is, and
 * the mean lies outside the margin; else unsure.  Where no year's spread is known, the trials of
 * the one year decide as stv_verdict_of has it.
 *
 * margin   as each was judged with
 * Errors:  STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_judge_family(struct stv_judged *const *judged, size_t n,
                                                double margin);

#endif
