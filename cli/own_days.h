/* Days on which each cask is told alone, beside those of all casks. */
#ifndef STV_CLI_OWN_DAYS_H
#define STV_CLI_OWN_DAYS_H

#include "cli/chain.h"
#include "cli/day_list.h"
#include "plots/charts.h"

/* Per cask of the ledger; days_d and n_days are filled by sealing. */
struct stv__own_days {
    size_t n_casks;
    struct stv__day_list *lists;
    const int64_t **days_d;
    size_t *n_days;
};

/* Errors: STV_E_MEMORY; free also then. */
STV_MUST_CHECK enum stv_status stv__own_days_new(size_t n_casks, struct stv__own_days *out);
void stv__own_days_free(struct stv__own_days *own);

/* Adds, of what is done up to a day, each day and the one before it: a cask's path breaks between
 * them. */
STV_MUST_CHECK enum stv_status stv__own_days_add_events(const struct stv_ledger *ledger,
                                                        int64_t end_d, struct stv__own_days *own);
/* After this no day is added. */
void stv__own_days_seal(struct stv__own_days *own);

/* Ranges of what an outlook's rows tell of a cask on its days, for its chart; its days are
 * malloc'd. */
STV_MUST_CHECK enum stv_status stv__own_days_told(const struct stv__own_days *own, size_t cask_idx,
                                                  const double *values, size_t n_draws,
                                                  struct stv_fan_days *out);

#endif
