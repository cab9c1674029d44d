/* What the chart of losses by tier shows. */
#ifndef STV_PLOTS_CHART_LOSSES_H
#define STV_PLOTS_CHART_LOSSES_H

#include "model/climate_metrics.h"
#include "model/outlook_losses.h"

#include <stdbool.h>
#include <stdint.h>

#define STV_LOSS_SEASONS 2 /* STV_SEASON_WARM and STV_SEASON_COLD */

/* One store, its warm and its cold season.  A season lasts from the end of from_day_d to the end of
 * to_day_d. */
struct stv_season_losses {
    const char *name;
    int64_t from_day_d[STV_LOSS_SEASONS], to_day_d[STV_LOSS_SEASONS];
    double least_l, most_l;                           /* sizes of the casks that count */
    bool is_coming;                                   /* else the last ones that are over */
    struct stv_group_losses *tiers[STV_LOSS_SEASONS]; /* n_tiers each, the floor first; owned */
    size_t n_tiers;
};

#endif
