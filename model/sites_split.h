/* Private to sites_grid.c: where the spread of a study's figures comes from. */
#ifndef STV_MODEL_SITES_SPLIT_H
#define STV_MODEL_SITES_SPLIT_H

#include "model/sites_grid.h"

/* Sets split and n_common_years.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__grid_split(const struct stv_grid_request *request,
                                               struct stv_grid_result *result);

#endif
