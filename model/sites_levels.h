/* Whole sites, buildings and casks of a study against each other. */
#ifndef STV_MODEL_SITES_LEVELS_H
#define STV_MODEL_SITES_LEVELS_H

#include "model/sites_grid.h"

/* Sets levels and level_pairs; wood and windows are set before.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__grid_levels(const struct stv_grid_request *request,
                                                struct stv_grid_result *result);

#endif
