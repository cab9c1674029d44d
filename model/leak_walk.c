#include "model/leak_walk.h"

#include <stdlib.h>

/* So long after a hot season began the next one's new casks are filled: it lasts a quarter of a
 * year or more. */
#define NEW_WITHIN_D 275

static int64_t later(int64_t a, int64_t b)
{
    return (a < b) - (a > b);
}

static int compare(const void *a, const void *b)
{
    const struct stv_walk_cask *x = a, *y = b;
    if (x->reason != y->reason)
        return x->reason < y->reason ? -1 : 1;
    if (x->reason == STV_WALK_LEARNED && x->leak_frac != y->leak_frac)
        return x->leak_frac > y->leak_frac ? -1 : 1;
    if (x->tier_idx != y->tier_idx)
        return x->tier_idx > y->tier_idx ? -1 : 1;
    if (x->fill_day_d != y->fill_day_d)
        return (int)later(x->fill_day_d, y->fill_day_d);
    return (x->cask_idx > y->cask_idx) - (x->cask_idx < y->cask_idx);
}

size_t stv_leak_walk_order(struct stv_walk_cask *casks, size_t n, bool is_hot,
                           int64_t hot_from_day_d)
{
    int top = -1;
    size_t n_reasons = 0;
    for (size_t i = 0; i < n; i++)
        top = casks[i].tier_idx > top ? casks[i].tier_idx : top;
    for (size_t i = 0; i < n; i++) {
        struct stv_walk_cask *cask = &casks[i];
        cask->reason = STV_WALK_NOT;
        if (cask->leak_frac >= STV_WALK_LEARNED_FRAC)
            cask->reason = STV_WALK_LEARNED;
        else if (is_hot && cask->fill_day_d > hot_from_day_d - NEW_WITHIN_D)
            cask->reason = STV_WALK_NEW;
        else if (is_hot && top >= 0 && cask->tier_idx == top)
            cask->reason = STV_WALK_TOP;
        n_reasons += cask->reason != STV_WALK_NOT;
    }
    if (n)
        qsort(casks, n, sizeof *casks, compare);
    return n_reasons;
}
