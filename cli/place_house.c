/* From kinds to a plan: solved, told cask by cask, and put into the order in which a crew can do
 * it. */
#include "cli/place_house.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static enum stv_status check(const struct stv_place_house *house, const struct stv_place_ask *ask,
                             char *why, size_t size)
{
    if (house->n_items == 0) {
        snprintf(why, size, "%s",
                 ask->has_all ? "No full cask of the book lies in a place that is said whole "
                                "(tier, bay and depth): there is nothing to move."
                              : "No full cask of the book is without a place.");
        return STV_E_NO_DATA;
    }
    if (house->n_slots == 0) {
        snprintf(why, size,
                 "No place is free for %zu casks, so that %zu places are missing: every one is "
                 "taken, or higher than the gear reaches.",
                 house->n_items, house->n_items);
        return STV_E_NO_DATA;
    }
    return STV_OK;
}

enum stv_status stv_place_crew(const struct stv_chain *chain, const struct stv_place_item *items,
                               const struct stv_place *to, size_t n_items,
                               struct stv_place_house *out)
{
    size_t n_book = chain->book.ledger.n_casks, n = 0;
    struct stv_crew_cask *casks = malloc((n_book + n_items + 1) * sizeof *casks);
    char *is_item = calloc(n_book + 1, 1);
    out->crew_item = malloc((n_book + n_items + 1) * sizeof *out->crew_item);
    out->crew_cask = malloc((n_book + n_items + 1) * sizeof *out->crew_cask);
    enum stv_status status =
        casks && is_item && out->crew_item && out->crew_cask ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < n_items && status == STV_OK; i++) {
        if (items[i].cask_idx >= 0)
            is_item[items[i].cask_idx] = 1;
        if (to[i].warehouse_idx < 0)
            continue;
        out->crew_item[n] = (int)i;
        out->crew_cask[n] = items[i].cask_idx;
        casks[n++] = (struct stv_crew_cask){items[i].from, to[i]};
    }
    for (size_t c = 0; c < n_book && status == STV_OK; c++) {
        struct stv_place place = stv_lineage_place(chain->lineage, (int)c);
        if (is_item[c] || place.warehouse_idx < 0 || place.tier_idx < 0 || place.bay_idx < 0 ||
            place.depth_idx < 0 || !stv_lineage_spirit(chain->lineage, (int)c).is_there)
            continue;
        out->crew_item[n] = -1;
        out->crew_cask[n] = (int)c;
        casks[n++] = (struct stv_crew_cask){place, place};
    }
    out->n_crew_casks = n;
    if (status == STV_OK)
        status = stv_crew_list_make(casks, n, &out->crew);
    free(casks);
    free(is_item);
    return status;
}

static enum stv_status make_crew(const struct stv_chain *chain, struct stv_place_house *house)
{
    struct stv_place *to = malloc((house->n_items + 1) * sizeof *to);
    if (!to)
        return STV_E_MEMORY;
    for (size_t i = 0; i < house->n_items; i++) {
        size_t slot = house->slot_of_item[i];
        to[i] = slot == SIZE_MAX ? (struct stv_place){-1, -1, -1, -1} : house->slots[slot].place;
    }
    enum stv_status status = stv_place_crew(chain, house->items, to, house->n_items, house);
    free(to);
    return status;
}

enum stv_status stv_place_house_make(const struct stv_chain *chain, const struct stv_place_ask *ask,
                                     struct stv_place_house *out, char *why, size_t size)
{
    *out = (struct stv_place_house){.most_moves = ask->most_moves};
    enum stv_status status = stv__place_stock(chain, ask, out);
    if (status == STV_OK)
        status = check(out, ask, why, size);
    if (status == STV_OK) {
        struct stv_outlook_request request = stv_chain_request(chain);
        struct stv_house_wish wish = {chain->as_of_day_d, out->groups,  out->n_groups,
                                      out->kinds,         out->n_kinds, ask->most_moves};
        request.ledger = &out->ledger;
        status = stv_house_place(&request, &wish, &out->placement);
        if (status != STV_OK)
            snprintf(why, size, "The casks could not be judged: %s.", stv_status_text(status));
    }
    if (status == STV_OK) {
        out->slot_of_item = malloc((out->n_items + 1) * sizeof *out->slot_of_item);
        status = out->slot_of_item
                     ? stv_house_expand(&out->placement, out->slots, out->n_slots, out->house_items,
                                        out->n_items, out->slot_of_item)
                     : STV_E_MEMORY;
    }
    if (status == STV_OK)
        status = make_crew(chain, out);
    if (status != STV_OK)
        stv_place_house_free(out);
    return status;
}

bool stv_place_group_fault(const struct stv_chain *chain, const struct stv_place_house *house,
                           size_t group_idx)
{
    const struct stv_place_group *group = &house->group_words[group_idx];
    const struct stv_cask *cask = &house->ledger.casks[house->groups[group_idx].cask_idx];
    return group->is_invented &&
           (stv_market_is_too_strong(chain->named.market, group->abv20_frac) ||
            stv_market_is_too_large(chain->named.market, cask->geometry.capacity_l));
}

void stv_place_house_free(struct stv_place_house *house)
{
    stv_ledger_free(&house->ledger);
    free(house->groups);
    free(house->group_words);
    free(house->kinds);
    free(house->slots);
    free(house->house_items);
    free(house->items);
    stv_house_placement_free(&house->placement);
    free(house->slot_of_item);
    stv_crew_list_free(&house->crew);
    free(house->crew_item);
    free(house->crew_cask);
    *house = (struct stv_place_house){0};
}
