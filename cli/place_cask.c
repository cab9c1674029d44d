/* The free places for one cask, and the cask tried in each. */
#include "cli/place_cask.h"

#include "cli/cask_state.h"
#include "cli/format.h"
#include "cli/place_house.h"
#include "model/cask_room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

/* Adds the place when it is the cask's own, or free, within reach, with a plate that bears it. */
static void consider(const struct stv_chain *chain, const struct stv_place *places,
                     struct stv_place place, struct stv_place_cask *out)
{
    const struct stv_warehouse *warehouse = &chain->book.warehouses[place.warehouse_idx];
    int there = occupant(chain, places, &place);
    bool is_own = there == out->cask_idx;
    bool is_reached = place.tier_idx < (int)warehouse->with_lift_tiers;
    if (!is_own && (there >= 0 || !is_reached))
        return;
    if (!is_own && stv_planned_into(chain, &place, out->cask_idx) >= 0) {
        out->n_promised++;
        return;
    }
    out->is_beyond_gear |= is_own && !is_reached;
    double most_kg = stv_place_plate_kg(warehouse, place.tier_idx);
    if (out->mass_kg > most_kg) {
        out->n_plate += !is_own;
        return;
    }
    struct stv_free_place *free_place = &out->free_places[out->n_free++];
    *free_place = (struct stv_free_place){
        .place = place,
        .position_idx = stv_position_of_place(&chain->set, &place),
        .is_present = is_own,
        .most_kg = most_kg,
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

/* Where each full cask lies; one whose place is not said whole holds none. */
static void find_occupants(const struct stv_chain *chain, struct stv_place *places,
                           struct stv_place_cask *out)
{
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++) {
        places[c] = stv_lineage_place(chain->lineage, (int)c);
        if (!stv_lineage_spirit(chain->lineage, (int)c).is_there)
            places[c].warehouse_idx = -1;
        out->n_vague += (int)c != out->cask_idx && places[c].warehouse_idx >= 0 &&
                        !stv_place_is_whole(&places[c]);
    }
}

static enum stv_status find_free(const struct stv_chain *chain, struct stv_place_cask *out)
{
    struct stv_place *places = malloc((chain->book.ledger.n_casks + 1) * sizeof *places);
    out->free_places = calloc(n_slots(chain) + 1, sizeof *out->free_places);
    if (!places || !out->free_places) {
        free(places);
        return STV_E_MEMORY;
    }
    find_occupants(chain, places, out);
    out->present = places[out->cask_idx];
    out->present_plate_kg =
        out->present.warehouse_idx >= 0 && out->present.tier_idx >= 0
            ? stv_place_plate_kg(&chain->book.warehouses[out->present.warehouse_idx],
                                 out->present.tier_idx)
            : (double)INFINITY;
    for (int w = 0; w < (int)chain->book.n_warehouses; w++) {
        const struct stv_building *building = &chain->book.warehouses[w].building;
        for (int t = 0; t < (int)building->n_tiers; t++)
            for (int b = 0; b < (int)building->n_bays; b++)
                for (int d = 0; d < (int)building->n_depth; d++)
                    consider(chain, places, (struct stv_place){w, t, b, d}, out);
    }
    free(places);
    return STV_OK;
}

/* The ledger with an invented fill of an empty cask on the day of the answer. */
static enum stv_status with_trial_fill(const struct stv_chain *chain,
                                       const struct stv_place_cask *told, struct stv_ledger *out)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    *out = *ledger;
    out->events = malloc((ledger->n_events + 1) * sizeof *out->events);
    if (!out->events)
        return STV_E_MEMORY;
    memcpy(out->events, ledger->events, ledger->n_events * sizeof *out->events);
    out->events[out->n_events++] = (struct stv_event){
        .day_d = chain->as_of_day_d,
        .kind = STV_EVENT_FILL,
        .cask_idx = told->cask_idx,
        .other_idx = -1,
        .volume20_l = told->trial_l,
        .abv20_frac = told->trial_frac,
        .water_kg = NAN,
        .place = {-1, -1, -1, -1},
        .row = SIZE_MAX - 1, /* after the day's rows, before the trial's move */
    };
    return stv_ledger_sort(out);
}

/* Why nothing could be judged. */
static void explain(const struct stv_place_cask *told, enum stv_status status, char *why,
                    size_t size)
{
    if (status == STV_E_NO_DATA && told->n_free == 0 && told->n_plate > 0)
        snprintf(why, size,
                 "on %s the plate leaves less for one cask than the %s kg it weighs full%s",
                 stv_format_count(told->n_plate, "free place", "free places").text,
                 stv_format_number(told->mass_kg, 0).text,
                 told->present.warehouse_idx >= 0 ? ", as where it lies" : "");
    else if (status == STV_E_NO_DATA && told->n_free == 0)
        snprintf(why, size, "there is no free place for it: 1 place is missing");
    else
        snprintf(why, size, "%s", stv_status_text(status));
}

static enum stv_status rank(const struct stv_chain *chain, struct stv_place_cask *out)
{
    struct stv_ledger ledger = chain->book.ledger;
    enum stv_status status =
        out->is_filled_for_trial ? with_trial_fill(chain, out, &ledger) : STV_OK;
    if (status == STV_OK) {
        struct stv_outlook_request request = stv_chain_request(chain);
        struct stv_placement_wish wish = {
            .cask_idx = out->cask_idx,
            .from_day_d = chain->as_of_day_d,
            .target_day_d = stv_chain_planned_day(chain, out->cask_idx),
            .free_places = out->free_places,
            .n_free = out->n_free,
        };
        request.ledger = &ledger;
        status = stv_placement_rank(&request, &wish, &out->placement);
    }
    if (ledger.events != chain->book.ledger.events)
        free(ledger.events);
    return status;
}

enum stv_status stv_place_cask_make(const struct stv_chain *chain, int cask_idx,
                                    struct stv_place_cask *out, char *why, size_t size)
{
    const struct stv_cask *cask = &chain->book.ledger.casks[cask_idx];
    *out = (struct stv_place_cask){.cask_idx = cask_idx,
                                   .mass_kg = stv_place_book_cask_kg(chain, cask_idx)};
    if (!stv_lineage_spirit(chain->lineage, cask_idx).is_there) {
        out->is_filled_for_trial = 1;
        out->trial_l = STV_USUAL_FILL_FRAC * cask->geometry.capacity_l;
        out->trial_frac = chain->book.rules.reference_abv20_frac;
        out->mass_kg = stv_place_cask_kg(cask, out->trial_l, out->trial_frac);
    }
    enum stv_status status = find_free(chain, out);
    if (status == STV_OK)
        status = rank(chain, out);
    if (status != STV_OK)
        explain(out, status, why, size);
    return status;
}

void stv_place_cask_free(struct stv_place_cask *cask)
{
    stv_placement_free(&cask->placement);
    free(cask->free_places);
    cask->free_places = NULL;
}
