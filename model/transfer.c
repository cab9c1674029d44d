/* The whole: what is asked, cut at the day of the answer; windows; receivers. */
#include "model/transfer_parts.h"

#include <stdlib.h>
#include <string.h>

struct stv_wood_rules stv_wood_rules_default(void)
{
    return (struct stv_wood_rules){
        .most_uses =
            {[STV_WOOD_NEW] = 4, [STV_WOOD_HELD_SPIRIT] = 3, [STV_WOOD_HELD_FORTIFIED] = 4},
        .dry_after_d = {60.0, 60.0, 60.0},
        .move_loss_frac = 0.005,
    };
}

size_t stv_summers_between(const struct stv_season_span *warm, int64_t from_day_d, int64_t to_day_d,
                           struct stv_summer *out, size_t most)
{
    enum { YEAR_D = 365 };
    size_t n = 0;
    int is_in = 0;
    struct stv_summer summer = {0, 0};
    /* A year back, so that a summer that has begun is known from its first day. */
    for (int64_t day_d = from_day_d - YEAR_D; n < most; day_d++) {
        int holds = stv_season_holds(warm, stv_season_day(day_d));
        int ends = is_in && (!holds || day_d - summer.from_day_d >= YEAR_D);
        if (ends) {
            summer.to_day_d = day_d - 1;
            if (summer.to_day_d >= from_day_d)
                out[n++] = summer;
            is_in = 0;
        }
        if (!is_in && day_d > to_day_d)
            break;
        if (holds && !is_in) {
            summer.from_day_d = day_d;
            is_in = 1;
        }
    }
    return n;
}

int stv_wood_is_active(const struct stv_ledger *ledger, const struct stv_lineage *lineage,
                       int cask_idx)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(lineage, cask_idx);
    return spirit.is_there && spirit.use_idx == 0 && ledger->casks[cask_idx].n_uses_before == 0;
}

/* The book's events up to the day of the answer; casks are the book's. */
static enum stv_status cut_ledger(const struct stv_transfer_request *ask, struct stv_ledger *out)
{
    const struct stv_ledger *ledger = ask->house->ledger;
    *out = *ledger;
    out->n_events = 0;
    out->events = malloc((ledger->n_events + 1) * sizeof *out->events);
    if (!out->events)
        return STV_E_MEMORY;
    for (size_t e = 0; e < ledger->n_events && ledger->events[e].day_d <= ask->as_of_day_d; e++)
        out->events[out->n_events++] = ledger->events[e];
    return STV_OK;
}

enum stv_status stv_transfer_plan(const struct stv_transfer_request *request,
                                  struct stv_transfers *out)
{
    *out = (struct stv_transfers){.items = calloc(request->n_casks + 1, sizeof *out->items),
                                  .n = request->n_casks};
    size_t n_draws = request->house->options.n_draws;
    struct stv__transfer_work work = {.ask = request, .n_draws = n_draws ? n_draws : 1, .out = out};
    enum stv_status status = out->items ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < request->n_casks && status == STV_OK; i++) {
        out->items[i].cask_idx = request->cask_idx[i];
        out->items[i].planned_day_d = request->planned_day_d[i];
        out->items[i].given_idx = SIZE_MAX;
        if (request->planned_day_d[i] <= request->as_of_day_d)
            status = STV_E_ARG;
    }
    if (status == STV_OK)
        status = cut_ledger(request, &work.past);
    if (status == STV_OK && out->n > 0)
        status = stv__transfer_windows(&work);
    if (status == STV_OK)
        status = stv__transfer_list(&work);
    if (status == STV_OK)
        status = stv__transfer_try(&work);
    free(work.past.events);
    if (status != STV_OK)
        stv_transfers_free(out);
    return status;
}

void stv_transfers_free(struct stv_transfers *transfers)
{
    for (size_t i = 0; transfers->items && i < transfers->n; i++)
        free(transfers->items[i].receivers);
    free(transfers->items);
    *transfers = (struct stv_transfers){0};
}
