/* The house's reference cask on each tier of each store, to the planned age. */
#ifndef STV_CLI_TIER_PATHS_H
#define STV_CLI_TIER_PATHS_H

#include "cli/chain.h"
#include "plots/chart_paths.h"

/* One for each warehouse of the climate.
 *
 * out     malloc'd; names borrowed from the climate; free with stv_tier_paths_free, also after a
 *         failure
 * Errors: those of stv_placement_paths */
STV_MUST_CHECK enum stv_status stv_tier_paths(const struct stv_chain *chain,
                                              const struct stv_climate_result *climate,
                                              struct stv_store_paths **out);
void stv_tier_paths_free(struct stv_store_paths *paths, size_t n);

#endif
