/* Gauges beside what had been told of them: what the report's chart of them shows. */
#ifndef STV_CLI_TOLD_GAUGES_H
#define STV_CLI_TOLD_GAUGES_H

#include "cli/forecast.h"
#include "plots/chart_gauges.h"

/* What `learn` kept where anything was learned; else the casks' last gauges against the forecast.
 *
 * out     ids borrowed from the chain; free its figures
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_told_figures_find(const struct stv_chain *chain,
                                                     const struct stv_forecast *forecast,
                                                     struct stv_told_figures *out);

#endif
