/* The chart of predicted against measured, between its files. */
#ifndef STV_PLOTS_CHART_GAUGES_PARTS_H
#define STV_PLOTS_CHART_GAUGES_PARTS_H

#include "plots/chart.h"
#include "plots/chart_gauges.h"

#define STV__GAUGE_ID_CHARS 8

struct stv__gauged {
    const char *key, *heading, *under, *unit;
    double factor_nd; /* to the unit of words and table */
    int n_decimals;
};
extern const struct stv__gauged stv__gauged[STV_GAUGED_N];

struct stv__gauges {
    const struct stv_told_figures *told;
    const size_t *drawn[STV_GAUGED_N]; /* indices into the figures */
    size_t n_drawn[STV_GAUGED_N], n_known[STV_GAUGED_N], n_misses[STV_GAUGED_N];
    double low[STV_GAUGED_N], high[STV_GAUGED_N];
    double least[STV_GAUGED_N], most[STV_GAUGED_N]; /* beyond them a figure is far off */
};

/* True of a figure that would hide the rest. */
bool stv__gauge_is_far(const struct stv__gauges *gauges, const struct stv_told_figure *figure);
double stv__gauge_miss_size(const struct stv_told_figure *figure);
/* The largest miss below a size; NULL: none is left. */
const struct stv_told_figure *stv__gauge_next_miss(const struct stv__gauges *gauges,
                                                   enum stv_gauged what, double below);

/* What the chart says: its table, its words and note, and what stands below its title. */
void stv__gauges_table(const struct stv__gauges *gauges, struct stv_chart *chart);
void stv__gauges_words(const struct stv__gauges *gauges, struct stv_chart *chart);
void stv__gauges_subtitle(const struct stv__gauges *gauges, struct stv_text *out);

#endif
