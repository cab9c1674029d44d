/* Private inside model/: casks told on the day of a gauge to come and on the day it may narrow. */
#ifndef STV_MODEL_CASK_WORTH_H
#define STV_MODEL_CASK_WORTH_H

#include "model/cask_learning.h"
#include "model/cask_probe.h"

/* Two moments for each wished cask: the gauge's, then the target's.
 * Errors: STV_E_ARG  a target that is not later, or a cask wished twice; those of
 *         stv__cask_probe_new.  Free with stv__cask_probe_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv__wish_probe(const struct stv_cask_learning_request *request,
                                               const struct stv_cask_wish *wishes, size_t n_wishes,
                                               struct stv__cask_probe *out);
/* The problem that the learned casks were of, told by the probe, without its observations. */
struct stv_fit_problem stv__wish_problem(const struct stv_cask_learning_request *request,
                                         struct stv__cask_probe *probe);

#endif
