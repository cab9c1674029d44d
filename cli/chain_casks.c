/* Third part of the chain: casks through the positions, and what is decided from them. */
#include "cli/chain.h"

#include "ingest/quantity.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TRIAL_FULL_FRAC 0.97 /* how full an empty cask is filled when it is tried somewhere */
#define LEAST_PLAN_D 365     /* a place is judged over a year at least */

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
                                  size_t n_days, struct stv_outlook *out)
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
    enum stv_status status = stv_outlook_run(&request, out);
    free(house);
    return status;
}

/* Full casks by place: index of the cask that lies there, or -1. */
static int occupant(const struct stv_chain *chain, const struct stv_place *places,
                    const struct stv_place *wanted)
{
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
        if (places[c].warehouse_idx >= 0 && memcmp(&places[c], wanted, sizeof *wanted) == 0)
            return (int)c;
    return -1;
}

static void describe_reach(const struct stv_chain *chain, const struct stv_place *places,
                           struct stv_free_place *free_place)
{
    const struct stv_warehouse *warehouse =
        &chain->book.warehouses[free_place->place.warehouse_idx];
    free_place->reach = free_place->place.tier_idx < (int)warehouse->by_hand_tiers ? STV_REACH_HAND
                                                                                   : STV_REACH_LIFT;
    struct stv_place front = free_place->place;
    for (front.depth_idx = 0; front.depth_idx < free_place->place.depth_idx; front.depth_idx++) {
        int cask = occupant(chain, places, &front);
        if (cask < 0)
            continue;
        free_place->reach = STV_REACH_BEHIND;
        memcpy(free_place->blocked_by, chain->book.ledger.casks[cask].id, STV_ID_MAX);
        return;
    }
}

/* Adds the place when it is free or the cask's own. */
static void consider(const struct stv_chain *chain, const struct stv_place *places, int cask_idx,
                     struct stv_place place, struct stv_free_place *list, size_t *n)
{
    int there = occupant(chain, places, &place);
    if (there >= 0 && there != cask_idx)
        return;
    struct stv_free_place *free_place = &list[(*n)++];
    *free_place = (struct stv_free_place){
        .place = place,
        .position_idx = stv_position_of_place(&chain->set, &place),
        .is_present = there == cask_idx,
    };
    describe_reach(chain, places, free_place);
}

static size_t n_slots(const struct stv_chain *chain)
{
    size_t n = 0;
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        const struct stv_building *building = &chain->book.warehouses[w].building;
        n += building->n_tiers * building->n_bays * building->n_depth;
    }
    return n;
}

static enum stv_status find_free(const struct stv_chain *chain, int cask_idx,
                                 struct stv_free_place **out, size_t *out_n)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct stv_place *places = malloc((ledger->n_casks + 1) * sizeof *places);
    *out = calloc(n_slots(chain) + 1, sizeof **out);
    *out_n = 0;
    if (!places || !*out) {
        free(places);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < ledger->n_casks; c++) {
        places[c] = stv_lineage_place(chain->lineage, (int)c);
        if (!stv_lineage_spirit(chain->lineage, (int)c).is_there)
            places[c].warehouse_idx = -1;
    }
    for (int w = 0; w < (int)chain->book.n_warehouses; w++) {
        const struct stv_warehouse *warehouse = &chain->book.warehouses[w];
        const struct stv_building *building = &warehouse->building;
        for (int t = 0; t < (int)building->n_tiers && t < (int)warehouse->with_lift_tiers; t++)
            for (int b = 0; b < (int)building->n_bays; b++)
                for (int d = 0; d < (int)building->n_depth; d++)
                    consider(chain, places, cask_idx, (struct stv_place){w, t, b, d}, *out, out_n);
    }
    free(places);
    return STV_OK;
}

/* The ledger with an invented fill of an empty cask on the day of the answer. */
static enum stv_status with_trial_fill(const struct stv_chain *chain, int cask_idx,
                                       struct stv_ledger *out, struct stv_placement *placement)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    *out = *ledger;
    out->events = malloc((ledger->n_events + 1) * sizeof *out->events);
    if (!out->events)
        return STV_E_MEMORY;
    memcpy(out->events, ledger->events, ledger->n_events * sizeof *out->events);
    placement->is_filled_for_trial = 1;
    placement->trial_volume20_l = TRIAL_FULL_FRAC * ledger->casks[cask_idx].geometry.capacity_l;
    placement->trial_abv20_frac = chain->book.rules.reference_abv20_frac;
    out->events[out->n_events++] = (struct stv_event){
        .day_d = chain->as_of_day_d,
        .kind = STV_EVENT_FILL,
        .cask_idx = cask_idx,
        .other_idx = -1,
        .volume20_l = placement->trial_volume20_l,
        .abv20_frac = placement->trial_abv20_frac,
        .water_kg = NAN,
        .place = {-1, -1, -1, -1},
        .row = SIZE_MAX - 1, /* after the day's rows, before the trial's move */
    };
    return stv_ledger_sort(out);
}

int64_t stv_chain_planned_day(const struct stv_chain *chain, int cask_idx)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    int64_t born_d = spirit.is_there ? stv_day_span_middle(spirit.youngest) : chain->as_of_day_d;
    int64_t planned_d = born_d + (int64_t)llround(chain->book.rules.planned_age_y * STV_YEAR_D);
    int64_t least_d = chain->as_of_day_d + LEAST_PLAN_D;
    return planned_d > least_d ? planned_d : least_d;
}

enum stv_status stv_chain_place(const struct stv_chain *chain, int cask_idx,
                                struct stv_placement *out, struct stv_free_place **out_free,
                                size_t *out_n_free)
{
    struct stv_ledger ledger = chain->book.ledger;
    struct stv_placement trial = {0};
    *out = trial;
    int is_full = stv_lineage_spirit(chain->lineage, cask_idx).is_there;
    enum stv_status status = find_free(chain, cask_idx, out_free, out_n_free);
    if (status == STV_OK && !is_full)
        status = with_trial_fill(chain, cask_idx, &ledger, &trial);
    if (status == STV_OK) {
        struct stv_outlook_request request = stv_chain_request(chain);
        request.ledger = &ledger;
        struct stv_placement_wish wish = {
            .cask_idx = cask_idx,
            .from_day_d = chain->as_of_day_d,
            .target_day_d = stv_chain_planned_day(chain, cask_idx),
            .free_places = *out_free,
            .n_free = *out_n_free,
        };
        status = stv_placement_rank(&request, &wish, out);
        out->is_filled_for_trial = trial.is_filled_for_trial;
        out->trial_volume20_l = trial.trial_volume20_l;
        out->trial_abv20_frac = trial.trial_abv20_frac;
    }
    if (ledger.events != chain->book.ledger.events)
        free(ledger.events);
    if (status != STV_OK) {
        free(*out_free);
        *out_free = NULL;
        *out_n_free = 0;
    }
    return status;
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
