#include "cli/casks_alike.h"

#include "model/calendar.h"
#include "model/draws.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LITRES_ALIKE_L 1.0
#define ABV_ALIKE_FRAC 0.001
#define WORTH_SHARE \
    0.5 /* of the full casks that need no run of their own: else kinds gain little */

/* Samples and notes leave casks alike. */
enum stv_status stv_alike_new(const struct stv_chain *chain, int64_t until_d, struct stv_alike *out)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    *out = (struct stv_alike){
        .chain = chain,
        .first_event = malloc((ledger->n_casks + 1) * sizeof *out->first_event),
        .next_event = malloc((ledger->n_events + 1) * sizeof *out->next_event),
        .has_met_others = calloc(ledger->n_casks + 1, sizeof *out->has_met_others),
    };
    if (!out->first_event || !out->next_event || !out->has_met_others)
        return STV_E_MEMORY;
    for (size_t c = 0; c < ledger->n_casks; c++)
        out->first_event[c] = SIZE_MAX;
    for (size_t e = ledger->n_events; e-- > 0;) {
        const struct stv_event *event = &ledger->events[e];
        if (event->day_d > until_d)
            continue;
        bool counts = event->kind != STV_EVENT_SAMPLE && event->kind != STV_EVENT_LEAK_STOPPED;
        if (counts) {
            out->next_event[e] = out->first_event[event->cask_idx];
            out->first_event[event->cask_idx] = e;
        }
        if (event->other_idx >= 0)
            out->has_met_others[event->cask_idx] = out->has_met_others[event->other_idx] = true;
    }
    return STV_OK;
}

void stv_alike_free(struct stv_alike *alike)
{
    free(alike->first_event);
    free(alike->next_event);
    free(alike->has_met_others);
    *alike = (struct stv_alike){0};
}

static bool is_same_event(const struct stv_chain *chain, const struct stv_event *one,
                          const struct stv_event *other)
{
    struct stv_date day = stv_date_from_day(one->day_d), same = stv_date_from_day(other->day_d);
    bool has_places = one->place.warehouse_idx >= 0 && other->place.warehouse_idx >= 0;
    return one->kind == other->kind && one->is_soaked == other->is_soaked &&
           day.year == same.year && day.month == same.month &&
           !(fabs(one->volume20_l - other->volume20_l) > LITRES_ALIKE_L) &&
           !(fabs(one->abv20_frac - other->abv20_frac) > ABV_ALIKE_FRAC) &&
           !(fabs(one->water_kg - other->water_kg) > LITRES_ALIKE_L) &&
           !(has_places && stv_position_of_place(&chain->set, &one->place) !=
                               stv_position_of_place(&chain->set, &other->place));
}

static bool is_same_past(const struct stv_alike *alike, int a, int b)
{
    const struct stv_event *events = alike->chain->book.ledger.events;
    size_t i = alike->first_event[a], j = alike->first_event[b];
    while (i != SIZE_MAX && j != SIZE_MAX) {
        if (!is_same_event(alike->chain, &events[i], &events[j]))
            return false;
        i = alike->next_event[i];
        j = alike->next_event[j];
    }
    return i == j;
}

bool stv_alike_is(const struct stv_alike *alike, int a, int b)
{
    const struct stv_cask *one = &alike->chain->book.ledger.casks[a];
    const struct stv_cask *other = &alike->chain->book.ledger.casks[b];
    return one->history == other->history &&
           one->geometry.capacity_l == other->geometry.capacity_l &&
           one->geometry.stave_mm == other->geometry.stave_mm &&
           strcmp(one->kind_name, other->kind_name) == 0 && !alike->has_met_others[a] &&
           !alike->has_met_others[b] && is_same_past(alike, a, b);
}

/* What a kind is told by beside what was done: of a full cask of which nothing was learned. */
struct told_by {
    bool is_like_others;
    size_t position_idx;
    struct stv_day_span youngest;
};

static struct told_by told_by_of(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_posterior *learned = &chain->learned_casks.posterior;
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    struct stv_place place = stv_lineage_place(chain->lineage, cask_idx);
    uint64_t key = stv_key_of(chain->book.ledger.casks[cask_idx].id);
    struct told_by told = {.youngest = spirit.youngest};
    told.is_like_others =
        spirit.is_there && !(learned->n_casks > 0 && stv_posterior_find(learned, key));
    if (told.is_like_others)
        told.position_idx = stv_position_of_place(&chain->set, &place);
    return told;
}

static bool is_one_kind(const struct stv_alike *alike, const struct told_by *told, int a, int b)
{
    const struct stv_cask *one = &alike->chain->book.ledger.casks[a];
    const struct stv_cask *other = &alike->chain->book.ledger.casks[b];
    return told[a].is_like_others && told[b].is_like_others &&
           told[a].position_idx == told[b].position_idx &&
           told[a].youngest.from_day_d == told[b].youngest.from_day_d &&
           told[a].youngest.to_day_d == told[b].youngest.to_day_d &&
           one->n_uses_before == other->n_uses_before && one->is_charred == other->is_charred &&
           one->is_other_wood == other->is_other_wood && stv_alike_is(alike, a, b);
}

static enum stv_status kinds_new(size_t n_casks, struct stv_alike_kinds *out)
{
    *out = (struct stv_alike_kinds){
        .of_cask = malloc((n_casks + 1) * sizeof *out->of_cask),
        .first_cask = malloc((n_casks + 1) * sizeof *out->first_cask),
        .n_casks = calloc(n_casks + 1, sizeof *out->n_casks),
    };
    return out->of_cask && out->first_cask && out->n_casks ? STV_OK : STV_E_MEMORY;
}

static void each_by_itself(size_t n_casks, struct stv_alike_kinds *out)
{
    out->n = n_casks;
    for (size_t c = 0; c < n_casks; c++) {
        out->of_cask[c] = c;
        out->first_cask[c] = (int)c;
        out->n_casks[c] = 1;
    }
}

enum stv_status stv_alike_kinds_find(const struct stv_chain *chain, struct stv_alike_kinds *out)
{
    size_t n_casks = chain->book.ledger.n_casks, n_full = 0;
    struct stv_alike alike;
    struct told_by *told = malloc((n_casks + 1) * sizeof *told);
    enum stv_status status = stv_alike_new(chain, INT64_MAX, &alike);
    enum stv_status made = kinds_new(n_casks, out);
    if (status == STV_OK)
        status = told ? made : STV_E_MEMORY;
    for (size_t c = 0; c < n_casks && status == STV_OK; c++) {
        size_t k = 0;
        told[c] = told_by_of(chain, (int)c);
        n_full += told[c].is_like_others;
        while (k < out->n && !is_one_kind(&alike, told, out->first_cask[k], (int)c))
            k++;
        if (k == out->n)
            out->first_cask[out->n++] = (int)c;
        out->of_cask[c] = k;
        out->n_casks[k]++;
    }
    if (status == STV_OK && (double)(n_casks - out->n) < WORTH_SHARE * (double)n_full)
        each_by_itself(n_casks, out);
    stv_alike_free(&alike);
    free(told);
    if (status != STV_OK)
        stv_alike_kinds_free(out);
    return status;
}

void stv_alike_kinds_free(struct stv_alike_kinds *kinds)
{
    free(kinds->of_cask);
    free(kinds->first_cask);
    free(kinds->n_casks);
    *kinds = (struct stv_alike_kinds){0};
}
