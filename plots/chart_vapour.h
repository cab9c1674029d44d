/* What the chart of ethanol in a store's air shows. */
#ifndef STV_PLOTS_CHART_VAPOUR_H
#define STV_PLOTS_CHART_VAPOUR_H

#include "model/calendar.h"
#include "model/quantiles.h"
#include "model/units.h"

#include <stdbool.h>
#include <stdint.h>

struct stv_vapour_clock {
    bool has_any; /* else nothing is known of this store's air */
    const char *name, *caution;
    double n_casks;       /* that give off */
    bool is_listed_alone; /* more may be stored: the book does not say how many */
    struct stv_range highest_ppm[STV_MONTHS][STV_DAY_H]; /* of the record; NaN unknown */
    struct stv_range worst_ppm;                          /* of each trial's own worst hour */
    int64_t worst_day_d;                                 /* when one hour's upper end is highest */
    int worst_hour;                                      /* that begins it, local standard time */
    bool is_typical; /* of a year put together: its days have no year */
};

#endif
