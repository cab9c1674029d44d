/* What the chart of predicted against measured shows. */
#ifndef STV_PLOTS_CHART_GAUGES_H
#define STV_PLOTS_CHART_GAUGES_H

#include "model/extraction.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_GAUGE_RANGE_SDS 1.645 /* nine in ten of a normal distribution */

enum stv_gauged { STV_GAUGED_LITRES, STV_GAUGED_STRENGTH, STV_GAUGED_N };

/* A figure that was measured, and what had been told of it: litres at 20 C, or a volume fraction.
 * Nine in ten of what was told lie from told_p05 to told_p95. */
struct stv_told_figure {
    const char *cask_id;
    enum stv_wood_history wood;
    double capacity_l;
    enum stv_gauged what;
    int64_t day_d;
    double told, told_p05, told_p95;
    double measured, measured_sd; /* of the gauge; NaN: not known */
    bool is_miss;                 /* outside by more than nine in ten account for */
    bool is_left_out;             /* the learning took it for a leak or a slip */
};

struct stv_told_figures {
    struct stv_told_figure *figures; /* by cask, then day; owned by the caller */
    size_t n;
    /* Each told by `learn` from the gauges of earlier days alone, the gauge's own error in its
     * range; else by a forecast that no gauge moved, for the last gauge of each full cask. */
    bool is_then;
};

#endif
