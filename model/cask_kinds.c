#include "model/cask_kinds.h"

#include "model/draws.h"

#include <stdlib.h>

static int compare_keys(const void *a, const void *b)
{
    uint64_t x = *(const uint64_t *)a, y = *(const uint64_t *)b;
    return (x > y) - (x < y);
}

enum stv_status stv__cask_kinds_of(const struct stv_cask *const *casks, size_t n_casks,
                                   struct stv__cask_kinds *out)
{
    *out = (struct stv__cask_kinds){.keys = malloc((n_casks + 1) * sizeof *out->keys),
                                    .of_cask = malloc((n_casks + 1) * sizeof *out->of_cask)};
    if (!out->keys || !out->of_cask) {
        stv__cask_kinds_free(out);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < n_casks; c++)
        out->keys[c] = stv_key_of(casks[c]->kind_name);
    if (n_casks)
        qsort(out->keys, n_casks, sizeof *out->keys, compare_keys);
    for (size_t c = 0; c < n_casks; c++)
        if (c == 0 || out->keys[c] != out->keys[out->n - 1])
            out->keys[out->n++] = out->keys[c];
    for (size_t c = 0; c < n_casks; c++) {
        uint64_t key = stv_key_of(casks[c]->kind_name);
        const uint64_t *found = bsearch(&key, out->keys, out->n, sizeof key, compare_keys);
        out->of_cask[c] = (size_t)(found - out->keys);
    }
    return STV_OK;
}

void stv__cask_kinds_free(struct stv__cask_kinds *kinds)
{
    free(kinds->keys);
    free(kinds->of_cask);
    *kinds = (struct stv__cask_kinds){0};
}
