/* Private to ledger*.c, lineage*.c and ensemble.c: the book's events walked with volumes as
 * written, and who exchanges spirit with whom. */
#ifndef STV_MODEL_LEDGER_WALK_H
#define STV_MODEL_LEDGER_WALK_H

#include "model/ledger.h"

/* What the ledger alone knows of a cask after an event. */
struct stv__cask_entry {
    int is_full;
    double volume20_l; /* as written, nothing evaporated; NaN when nobody said */
    struct stv_place place;
};

/* Room for the entries of all casks before the first event; NULL without memory. */
struct stv__cask_entry *stv__cask_entries_new(const struct stv_ledger *ledger);

/* Applies one event to the entries of all casks, without judging it. */
void stv__ledger_apply(const struct stv_event *event, struct stv__cask_entry *entries);

/* Joins casks that exchange spirit: root_of, n_casks long, then names one cask of each one's group,
 * the same for all of a group. */
void stv__ledger_join(const struct stv_ledger *ledger, size_t *root_of);

#endif
