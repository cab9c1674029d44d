/* The casks that some casks depend on.  A transfer ties two casks together whichever way it went,
 * because the one that gave is told, too. */
#include "model/ledger.h"

#include <stdlib.h>
#include <string.h>

/* Marks all casks that exchange spirit with a marked one; each round reaches one transfer on. */
static void spread(const struct stv_ledger *ledger, int *idx_of)
{
    int has_grown = 1;
    while (has_grown) {
        has_grown = 0;
        for (size_t e = 0; e < ledger->n_events; e++) {
            const struct stv_event *event = &ledger->events[e];
            if (event->other_idx < 0 || idx_of[event->cask_idx] == idx_of[event->other_idx])
                continue;
            idx_of[event->cask_idx] = idx_of[event->other_idx] = 0;
            has_grown = 1;
        }
    }
}

static void copy_part(const struct stv_ledger *ledger, int *idx_of, struct stv_ledger *out)
{
    for (size_t c = 0; c < ledger->n_casks; c++) {
        if (idx_of[c] < 0)
            continue;
        idx_of[c] = (int)out->n_casks;
        out->casks[out->n_casks++] = ledger->casks[c];
    }
    for (size_t e = 0; e < ledger->n_events; e++) {
        struct stv_event event = ledger->events[e];
        if (idx_of[event.cask_idx] < 0)
            continue;
        event.cask_idx = idx_of[event.cask_idx];
        event.other_idx = event.other_idx < 0 ? -1 : idx_of[event.other_idx];
        out->events[out->n_events++] = event;
    }
}

enum stv_status stv_ledger_part(const struct stv_ledger *ledger, const int *cask_idx, size_t n,
                                struct stv_ledger *out, int *out_idx_of)
{
    *out = (struct stv_ledger){
        .casks = malloc((ledger->n_casks + 1) * sizeof *out->casks),
        .events = malloc((ledger->n_events + 1) * sizeof *out->events),
    };
    if (!out->casks || !out->events) {
        stv_ledger_free(out);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < ledger->n_casks; c++)
        out_idx_of[c] = -1;
    for (size_t i = 0; i < n; i++)
        out_idx_of[cask_idx[i]] = 0;
    spread(ledger, out_idx_of);
    copy_part(ledger, out_idx_of, out);
    return STV_OK;
}
