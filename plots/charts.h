/* The charts of the report, each made from the result structs. */
#ifndef STV_PLOTS_CHARTS_H
#define STV_PLOTS_CHARTS_H

#include "model/bottling.h"
#include "model/climate_metrics.h"
#include "model/outlook.h"
#include "model/sites.h"
#include "plots/chart.h"
#include "plots/report.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* All of these fill a chart that starts with all members zero, up to but without the picture
 * (stv_charts_draw), and need stv_chart_free in every case.
 * Errors: STV_E_NO_DATA when there is nothing to show; STV_E_MEMORY. */

enum stv_rack_quantity {
    STV_RACK_LIQUID_C,
    STV_RACK_EVAPORATION_FRAC_PER_Y,
    STV_RACK_EXTRACTION_ND,
    STV_RACK_N
};

/* Tiers and the bays with a logger of their own, warm season beside cold, one colour scale.
 * number  of the warehouse, from 1, for the file name */
STV_MUST_CHECK enum stv_status stv_chart_rack(const struct stv_warehouse_climate *warehouse,
                                              enum stv_rack_quantity quantity, size_t number,
                                              bool is_invented, struct stv_chart *out);

/* How the hours of the warm and the cold season are spread over temperature, tier by tier. */
STV_MUST_CHECK enum stv_status stv_chart_ridges(const struct stv_warehouse_climate *warehouse,
                                                size_t number, bool is_invented,
                                                struct stv_chart *out);

/* What the mean cask of each tier lost, by cause, warm season beside cold.
 * number  of the warehouse, from 1, for the file name */
STV_MUST_CHECK enum stv_status stv_chart_losses(const struct stv_season_losses *store,
                                                size_t number, bool is_invented,
                                                struct stv_chart *out);

/* Wood against loss of one same cask on each tier.
 * number  of the warehouse, from 1, for the file name */
STV_MUST_CHECK enum stv_status stv_chart_paths(const struct stv_store_paths *store, size_t number,
                                               bool is_invented, struct stv_chart *out);

/* Ethanol in a store's air by hour and month, its caution inside the frame.
 * climate  of the store, for the years; number of it, from 1, for the file name */
STV_MUST_CHECK enum stv_status stv_chart_vapour(const struct stv_vapour_clock *store,
                                                const struct stv_warehouse_climate *climate,
                                                size_t number, bool is_invented,
                                                struct stv_chart *out);

/* What was told of gauges against what they measured, litres beside strength. */
STV_MUST_CHECK enum stv_status stv_chart_gauges(const struct stv_told_figures *told,
                                                bool is_invented, struct stv_chart *out);

/* Temperature cycles of the middle tier by width, warm season beside cold. */
STV_MUST_CHECK enum stv_status stv_chart_cycles(const struct stv_warehouse_climate *warehouse,
                                                size_t number, bool is_invented,
                                                struct stv_chart *out);

/* Days of the middle tier of a warehouse. */
struct stv_days_input {
    const struct stv_warehouse_climate *warehouse;
    const struct stv_climate_days *days;
    size_t number; /* of the warehouse, from 1 */
    bool is_invented;
};

/* Warmest hour of every day, one strip for each of the last 10 years. */
STV_MUST_CHECK enum stv_status stv_chart_calendar(const struct stv_days_input *input,
                                                  struct stv_chart *out);

/* Degree-days summed through the year, years laid over each other. */
STV_MUST_CHECK enum stv_status stv_chart_degree_days(const struct stv_days_input *input,
                                                     struct stv_chart *out);

/* A cask on a day; NaN when it is empty. */
struct stv_fan_day {
    int64_t day_d;
    struct stv_range abv20_frac, volume20_l;
};
struct stv_fan_days {
    struct stv_fan_day *days; /* ascending; owned by whoever made them */
    size_t n;
};

/* Strength and litres of one cask through time, with ranges, gauges and events. */
struct stv_fan_input {
    const struct stv_ledger *ledger;
    const struct stv_outlook *outlook;
    const struct stv_fan_days
        *own_days; /* beside the outlook's, none of them thinned; NULL: none */
    const struct stv_house_rules *rules; /* may be NULL: no least-strength line */
    const struct stv_report_gauge *gauges;
    size_t n_gauges;
    size_t cask_idx;
    size_t
        n_alike; /* the mean of so many casks of a kind, which the ledger's cask names; 0: a cask */
    int64_t as_of_day_d;
    bool is_invented;
};
STV_MUST_CHECK enum stv_status stv_chart_fan(const struct stv_fan_input *input,
                                             struct stv_chart *out);

/* Bottling windows of some casks, one row each. */
#define STV_WINDOW_ROWS_MAX 24 /* rows that fit a page and stay readable */
struct stv_windows_input {
    const struct stv_ledger *ledger;
    const struct stv_outlook *months;
    const struct stv_bottling *bottling;
    size_t first_row, n_rows; /* into bottling->windows */
    bool is_of_kinds;         /* a row is all casks of a kind, which the ledger's cask names */
    int64_t as_of_day_d;
    bool is_invented;
    size_t number; /* of the chart, from 1 */
};
STV_MUST_CHECK enum stv_status stv_chart_windows(const struct stv_windows_input *input,
                                                 struct stv_chart *out);

/* Days of a logger: shares of each day's hours that are used and that are suspect; the rest is
 * missing.  NaN in used_frac: the logger did not hang there. */
struct stv_strip {
    const char *label;
    int64_t first_day_d;
    size_t n_days;
    const float *used_frac, *suspect_frac;
};
#define STV_STRIPS_MAX 40

/* Calendar strips, one row for each logger, at most STV_STRIPS_MAX of them. */
STV_MUST_CHECK enum stv_status stv_chart_strips(const struct stv_strip *strips, size_t n,
                                                bool is_invented, struct stv_chart *out);

/* The same cask at several sites: middle, ranges and single years, metric by metric. */
STV_MUST_CHECK enum stv_status stv_chart_sites(const struct stv_sites_result *sites,
                                               bool is_invented, struct stv_chart *out);

#endif
