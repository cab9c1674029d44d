/* Private to path.c and path_step.c: one cask over one stretch without events. */
#ifndef STV_MODEL_PATH_STEP_H
#define STV_MODEL_PATH_STEP_H

#include "model/path.h"

/* A cask stops when this little is left. */
#define STV__LEAST_VOLUME_L 1.0

/* Carries a full cask from one local midnight to another at state->position_idx, in pieces that end
 * where the table's steps do.  Days outside the record take the same steps of another year. */
void stv__path_advance(const struct stv_path_input *input, size_t cask_idx, int64_t from_day_d,
                       int64_t to_day_d, struct stv_cask_state *state);

#endif
