/* Gauges of a cask that bear each other out, and not what came before.  Layer 8; pure. */
#ifndef STV_MODEL_GAUGE_AGREE_H
#define STV_MODEL_GAUGE_AGREE_H

#include "model/cask_learning.h"

/* Marks, of one cask's verdicts, each misread gauge without a likely swap that another gauge bears
 * out, and that one: two slips do not agree, so something was done that the history lacks.
 * Source: judgement */
void stv__mark_agreeing(struct stv_cask_verdict *verdicts, size_t n);

#endif
