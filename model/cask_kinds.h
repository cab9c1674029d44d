/* Shared inside model/: the kinds of casks that a house tells apart, which share part of what is
 * not known of them. */
#ifndef STV_MODEL_CASK_KINDS_H
#define STV_MODEL_CASK_KINDS_H

#include "model/ledger.h"
#include "model/status.h"

struct stv__cask_kinds {
    size_t n;
    uint64_t *keys;  /* of each kind: stv_key_of its name */
    size_t *of_cask; /* n_casks */
};

/* Kinds in the order of their keys, so that they do not depend on the order of rows.
 * Errors: STV_E_MEMORY.  Free with stv__cask_kinds_free, which empties and may be called twice. */
STV_MUST_CHECK enum stv_status stv__cask_kinds_of(const struct stv_cask *const *casks,
                                                  size_t n_casks, struct stv__cask_kinds *out);
void stv__cask_kinds_free(struct stv__cask_kinds *kinds);

#endif
