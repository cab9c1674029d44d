/* When a quantity first passes a level, trial by trial. */
#ifndef STV_MODEL_CROSSING_H
#define STV_MODEL_CROSSING_H

#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

struct stv_level {
    double value;
    int is_fallen_to; /* 1: passed from above, 0: from below */
};

/* Days are day numbers with their fraction; INFINITY: not within the days looked at. */
struct stv_crossing {
    double odds_frac;                       /* share of trials that pass it at all in that time */
    double already_frac;                    /* share that has passed it on the first day */
    double earliest_d, central_d, latest_d; /* 5, 50 and 95 of 100 trials have passed it by then;
                                               trials that never do count as the last ones */
};

/* Finds the crossing.
 *
 * n        number of days, number of draws
 * days_d   ascending
 * values   per day n_draws values in the level's unit; not finite: the cask is empty, and a trial
 *          ends there
 * out      between two days by a straight line
 *
 * Errors: STV_E_ARG no day or no draw; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_crossing_find(const int64_t *days_d, const double *const *values,
                                                 const size_t n[2], struct stv_level level,
                                                 struct stv_crossing *out);

#endif
