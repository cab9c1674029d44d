/* The casks that some casks depend on.  A transfer ties two casks together whichever way it went,
 * because the one that gave is told, too. */
#include "model/ledger.h"

#include "model/ledger_walk.h"

#include <stdlib.h>

/* Root of a cask's group, with the path halved on the way. */
static size_t find_root(size_t *parent, size_t cask)
{
    while (parent[cask] != cask) {
        parent[cask] = parent[parent[cask]];
        cask = parent[cask];
    }
    return cask;
}

void stv__ledger_join(const struct stv_ledger *ledger, size_t *root_of)
{
    for (size_t c = 0; c < ledger->n_casks; c++)
        root_of[c] = c;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].other_idx >= 0)
            root_of[find_root(root_of, (size_t)ledger->events[e].cask_idx)] =
                find_root(root_of, (size_t)ledger->events[e].other_idx);
    for (size_t c = 0; c < ledger->n_casks; c++)
        root_of[c] = find_root(root_of, c);
}

/* Marks the casks of these casks' groups with 0, all others with -1. */
static void mark_groups(const size_t *root_of, size_t n_casks, const int *cask_idx, size_t n,
                        int *out_idx_of)
{
    for (size_t c = 0; c < n_casks; c++)
        out_idx_of[c] = -1;
    for (size_t i = 0; i < n; i++)
        out_idx_of[root_of[cask_idx[i]]] = 0;
    for (size_t c = 0; c < n_casks; c++)
        out_idx_of[c] = out_idx_of[root_of[c]];
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
    size_t *root_of = malloc((ledger->n_casks + 1) * sizeof *root_of);
    if (!out->casks || !out->events || !root_of) {
        free(root_of);
        stv_ledger_free(out);
        return STV_E_MEMORY;
    }
    stv__ledger_join(ledger, root_of);
    mark_groups(root_of, ledger->n_casks, cask_idx, n, out_idx_of);
    free(root_of);
    copy_part(ledger, out_idx_of, out);
    return STV_OK;
}
