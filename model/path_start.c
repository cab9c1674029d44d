#include "model/path_start.h"

#include <stdlib.h>

enum stv_status stv__path_start_new(size_t n_members, size_t n_packets, struct stv__path_start *out)
{
    *out = (struct stv__path_start){.n_members = n_members, .n_packets = n_packets};
    out->casks = malloc((n_members + 1) * sizeof *out->casks);
    out->packets = aligned_alloc(64, (n_members * n_packets + 1) * sizeof *out->packets);
    return out->casks && out->packets ? STV_OK : STV_E_MEMORY;
}

void stv__path_start_free(struct stv__path_start *start)
{
    free(start->casks);
    free(start->packets);
    *start = (struct stv__path_start){0};
}
