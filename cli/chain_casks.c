/* Third part of the chain: casks through the positions, and what is decided from them. */
#include "cli/chain.h"

#include "ingest/quantity.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_PLAN_D 365 /* a place is judged over a year at least */

int stv_chain_cask(const struct stv_chain *chain, const char *id)
{
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
        if (strcmp(chain->book.ledger.casks[c].id, id) == 0)
            return (int)c;
    return -1;
}

const char *stv_chain_nearest_cask(const struct stv_chain *chain, const char *id)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const char **ids = malloc((ledger->n_casks + 1) * sizeof *ids);
    for (size_t c = 0; ids && c < ledger->n_casks; c++)
        ids[c] = ledger->casks[c].id;
    const char *nearest = ids ? stv_nearest_word(id, ids, ledger->n_casks) : NULL;
    free(ids);
    return nearest;
}

void stv_place_text(const struct stv_place *place, char *buffer, size_t size)
{
    if (place->warehouse_idx < 0 || place->tier_idx < 0) {
        snprintf(buffer, size, "nowhere said");
        return;
    }
    int used = snprintf(buffer, size, "tier %d", place->tier_idx + 1);
    if (used < 0 || (size_t)used >= size || place->bay_idx < 0)
        return;
    buffer += used;
    size -= (size_t)used;
    const char *depth = place->depth_idx == 0 ? ", front" : place->depth_idx > 0 ? ", behind" : "";
    snprintf(buffer, size, ", bay %d%s", place->bay_idx + 1, depth);
}

struct stv_outlook_request stv_chain_request(const struct stv_chain *chain)
{
    const struct stv_posterior *posterior = &chain->learned_casks.posterior;
    return (struct stv_outlook_request){
        .ledger = &chain->book.ledger,
        .set = &chain->set,
        .rules = &chain->book.rules,
        .base = &chain->book.params,
        .options = chain->run,
        .numbers = &chain->book.numbers,
        .learned = posterior->n_casks ? posterior : NULL,
        .kept = chain->kept,
    };
}

enum stv_status stv_chain_outlook(const struct stv_chain *chain, const int64_t *days_d,
                                  size_t n_days, const struct stv_outlook_rows *rows,
                                  struct stv_outlook *out)
{
    struct stv_outlook_request request = stv_chain_request(chain);
    size_t *house = calloc(chain->book.ledger.n_casks + 1, sizeof *house);
    if (!house)
        return STV_E_MEMORY;
    const struct stv_outlook_sums sum = {house, 1};
    request.days_d = days_d;
    request.n_days = n_days;
    request.sums = &sum;
    request.n_sums = 1;
    request.rows = rows;
    enum stv_status status = stv_outlook_run(&request, out);
    free(house);
    return status;
}

int64_t stv_chain_planned_day(const struct stv_chain *chain, int cask_idx)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    int64_t born_d = spirit.is_there ? stv_day_span_middle(spirit.youngest) : chain->as_of_day_d;
    int64_t planned_d = born_d + (int64_t)llround(chain->book.rules.planned_age_y * STV_YEAR_D);
    int64_t least_d = chain->as_of_day_d + LEAST_PLAN_D;
    return planned_d > least_d ? planned_d : least_d;
}

bool stv_chain_is_year_ahead(const struct stv_chain *chain, int64_t planned_day_d)
{
    return planned_day_d == chain->as_of_day_d + LEAST_PLAN_D;
}

int64_t *stv_chain_months(const struct stv_chain *chain, size_t n_months)
{
    int64_t *days_d = malloc((n_months + 1) * sizeof *days_d);
    for (size_t m = 0; days_d && m <= n_months; m++)
        days_d[m] = stv_day_add_months(chain->as_of_day_d, (int)m);
    return days_d;
}

enum stv_status stv_chain_windows(const struct stv_chain *chain, const struct stv_outlook *months,
                                  struct stv_bottling *out)
{
    struct stv_bottling_request request = {
        .outlook = months,
        .ledger = &chain->book.ledger,
        .rules = &chain->book.rules,
        .least_bottles_nd = chain->book.least_bottles_nd,
    };
    return stv_bottling_windows(&request, out);
}

size_t stv_chain_listed(const struct stv_chain *chain, size_t warehouse_idx)
{
    size_t n = 0;
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
        n += stv_lineage_spirit(chain->lineage, (int)c).is_there &&
             stv_lineage_place(chain->lineage, (int)c).warehouse_idx == (int)warehouse_idx;
    return n;
}
