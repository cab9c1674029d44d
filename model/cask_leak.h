/* What the verdicts on a cask say of its leak.  Layer 8; pure; nothing here allocates. */
#ifndef STV_MODEL_CASK_LEAK_H
#define STV_MODEL_CASK_LEAK_H

#include "model/cask_learning.h"

#define STV__LEAK_LEAST_PER_Y 1e-4 /* of one that was stopped, where gauges show nothing of it */

/* How likely a cask leaks by its verdicts, from when and by how much: a share of what it holds, so
 * that it holds at the last gauge what was found.  Gauges that all fall short of the same earlier
 * one would each have to be misread on its own; gauges without litres say nothing.  A leak that was
 * stopped, and gauged since, was one for certain, however little it took. */
void stv__cask_leak_set(const struct stv_ledger *ledger, const struct stv_cask_learning *learning,
                        size_t cask_idx, struct stv_posterior_leak *leak);

/* One that was stopped, and gauged since. */
bool stv__is_sure_leak(const struct stv_posterior_leak *leak);

#endif
