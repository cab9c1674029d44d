/* Private to forecast*.c: losses and sums of a forecast. */
#ifndef STV_CLI_FORECAST_PARTS_H
#define STV_CLI_FORECAST_PARTS_H

#include "cli/forecast.h"

/* Room for two rows of trials. */
struct stv__scratch {
    size_t n_draws;
    double *room; /* 2 * n_draws */
};

/* Trials of one quantity on one day. */
typedef const double *stv__draws_of(const void *source, size_t day_idx, enum stv_quantity quantity);
/* Losses up to a day, less those up to an earlier one (SIZE_MAX: none). */
void stv__losses_between(const void *source, stv__draws_of *draws_of, const size_t day_idx[2],
                         const struct stv__scratch *scratch, struct stv_losses_told *out);

/* Which sum each cask of the part belongs to, by what is so today; names and counts of the sums.
 * idx_of: per cask of the book, where it stands in the part, or -1.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__sum_labels(const struct stv_chain *chain,
                                               const struct stv_forecast_ask *ask,
                                               const int *idx_of, size_t *label_of_cask,
                                               struct stv_forecast *out);
/* Sums of a label on a day, all three by number. */
void stv__sum_take(const struct stv_outlook *outlook, const size_t sum_label_day[3],
                   const struct stv__scratch *scratch, struct stv_forecast_totals *out);

#endif
