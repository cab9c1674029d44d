/* The last warm and cold season of each store, and what its casks lost in them. */
#ifndef STV_CLI_SEASON_LOSSES_H
#define STV_CLI_SEASON_LOSSES_H

#include "cli/chain.h"
#include "plots/chart_losses.h"

struct stv_house_seasons {
    struct stv_season_losses *stores; /* as the climate's warehouses, whose names they borrow */
    /* tier of each cask in each season; SIZE_MAX: it does not count */
    size_t *(*label_of_cask)[STV_LOSS_SEASONS];
    size_t n;
};

/* Finds the days and the casks that count: the last seasons that are over on the day of the answer
 * or, where no cask lay through them, those to come.
 * Errors: STV_E_MEMORY.  Free with stv_house_seasons_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_house_seasons_find(const struct stv_chain *chain,
                                                      const struct stv_climate_result *climate,
                                                      struct stv_house_seasons *out);

/* Days that an outlook must hold, not sorted: 2 * STV_LOSS_SEASONS for each store. */
#define STV_SEASON_DAYS(n_stores) (2 * STV_LOSS_SEASONS * (n_stores))
void stv_house_seasons_days(const struct stv_house_seasons *seasons, int64_t *out_days_d);

/* Works the losses out of an outlook that holds those days, values too.
 * Errors: those of stv_outlook_losses. */
STV_MUST_CHECK enum stv_status stv_house_seasons_run(const struct stv_outlook *outlook,
                                                     struct stv_house_seasons *seasons);
void stv_house_seasons_free(struct stv_house_seasons *seasons);

#endif
