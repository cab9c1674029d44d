#include "model/buying.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static bool fits(const struct stv_buying_fill *fill, const struct stv_buying_cask *cask)
{
    return cask->n_fills_left > 0 && cask->wood == fill->wood && cask->free_day_d <= fill->day_d &&
           fabs(cask->capacity_l - fill->capacity_l) <= STV_BUYING_SIZE_FRAC * fill->capacity_l;
}

/* The longest empty cask that fits and serves no other fill; n when there is none. */
static size_t next_cask(const struct stv_buying_fill *fill, const struct stv_buying_cask *casks,
                        size_t n, const size_t *fill_of_cask)
{
    size_t best = n;
    for (size_t c = 0; c < n; c++)
        if (fill_of_cask[c] == SIZE_MAX && fits(fill, &casks[c]) &&
            (best == n || casks[c].free_day_d < casks[best].free_day_d))
            best = c;
    return best;
}

/* The earliest fill that is not served; those of one day in the order given. */
static size_t next_fill(const struct stv_buying_fill *fills, size_t n, const bool *is_served)
{
    size_t best = n;
    for (size_t f = 0; f < n; f++)
        if (!is_served[f] && (best == n || fills[f].day_d < fills[best].day_d))
            best = f;
    return best;
}

enum stv_status stv_buying_serve(const struct stv_buying_fill *fills, size_t n_fills,
                                 const struct stv_buying_cask *casks, size_t n_casks,
                                 struct stv_buying_plan *out)
{
    *out =
        (struct stv_buying_plan){.fills = calloc(n_fills + 1, sizeof *out->fills),
                                 .fill_of_cask = malloc((n_casks + 1) * sizeof *out->fill_of_cask)};
    bool *is_served = calloc(n_fills + 1, sizeof *is_served);
    if (!out->fills || !out->fill_of_cask || !is_served) {
        free(is_served);
        stv_buying_free(out);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < n_casks; c++)
        out->fill_of_cask[c] = SIZE_MAX;
    for (size_t f; (f = next_fill(fills, n_fills, is_served)) < n_fills;) {
        struct stv_buying_served *served = &out->fills[f];
        is_served[f] = true;
        for (size_t c; served->n_own < fills[f].n_casks &&
                       (c = next_cask(&fills[f], casks, n_casks, out->fill_of_cask)) < n_casks;) {
            out->fill_of_cask[c] = f;
            served->n_own++;
        }
        served->n_to_buy = fills[f].n_casks - served->n_own;
    }
    for (size_t c = 0; c < n_casks; c++) {
        out->n_retired += casks[c].n_fills_left == 0;
        out->n_spare += casks[c].n_fills_left > 0 && out->fill_of_cask[c] == SIZE_MAX;
    }
    free(is_served);
    return STV_OK;
}

void stv_buying_free(struct stv_buying_plan *plan)
{
    free(plan->fills);
    free(plan->fill_of_cask);
    *plan = (struct stv_buying_plan){0};
}
