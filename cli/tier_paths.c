/* A new cask of the house's reference size and strength, filled on the day of the answer. */
#include "cli/tier_paths.h"

#include "ingest/fill_words.h"
#include "model/cask_room.h"
#include "plots/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define LEAST_LAST_Y 0.5 /* a planned age so near a whole year has no mark of its own */

/* Each whole year, and the planned age last. */
static void set_ages(double planned_y, struct stv_store_paths *store)
{
    for (int y = 1; y < planned_y - LEAST_LAST_Y && store->n_ages + 1 < STV_PATH_AGES_MAX; y++)
        store->ages_y[store->n_ages++] = y;
    store->ages_y[store->n_ages++] = planned_y;
}

static enum stv_status run_store(const struct stv_chain *chain, const struct stv_cask *cask,
                                 int warehouse_idx, struct stv_store_paths *store)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    struct stv_place *places = calloc(store->n_tiers + 1, sizeof *places);
    store->told = calloc(store->n_tiers * store->n_ages + 1, sizeof *store->told);
    if (!places || !store->told) {
        free(places);
        return STV_E_MEMORY;
    }
    for (size_t t = 0; t < store->n_tiers; t++)
        places[t] = (struct stv_place){warehouse_idx, (int)t, -1, -1};
    const struct stv_path_wish wish = {.cask = cask,
                                       .volume20_l =
                                           STV_USUAL_FILL_FRAC * rules->reference_capacity_l,
                                       .abv20_frac = rules->reference_abv20_frac,
                                       .from_day_d = chain->as_of_day_d,
                                       .places = places,
                                       .n_places = store->n_tiers,
                                       .ages_y = store->ages_y,
                                       .n_ages = store->n_ages};
    struct stv_outlook_request house = stv_chain_request(chain);
    enum stv_status status = stv_placement_paths(&house, &wish, store->told);
    free(places);
    if (status != STV_E_NO_DATA)
        return status;
    store->n_tiers = 0; /* a climate with holes: nothing is told */
    return STV_OK;
}

/* The cask of `place --new`: its kind's name leads to what was learned of that kind. */
static enum stv_status make_cask(const struct stv_chain *chain, struct stv_cask *out)
{
    struct stv_fill_words words;
    struct stv_text text = {0};
    char why[128];
    stv_text_add(&text, "new oak ");
    stv_text_add_exact(&text, chain->book.rules.reference_capacity_l);
    stv_text_add(&text, " L at ");
    stv_text_add_exact(&text, 100.0 * chain->book.rules.reference_abv20_frac);
    stv_text_add(&text, " %");
    enum stv_status status =
        stv_fill_words_read(stv_text_string(&text), &chain->book.numbers, &words, why, sizeof why);
    stv_text_free(&text);
    if (status == STV_OK) {
        *out = words.cask;
        snprintf(out->id, sizeof out->id, "new cask");
    }
    return status;
}

enum stv_status stv_tier_paths(const struct stv_chain *chain,
                               const struct stv_climate_result *climate,
                               struct stv_store_paths **out)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    struct stv_cask cask;
    struct stv_store_paths *stores = calloc(climate->n_warehouses + 1, sizeof *stores);
    *out = stores;
    enum stv_status status = stores ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = make_cask(chain, &cask);
    for (size_t w = 0; w < climate->n_warehouses && status == STV_OK; w++) {
        stores[w] = (struct stv_store_paths){.name = climate->warehouses[w].name,
                                             .capacity_l = rules->reference_capacity_l,
                                             .abv20_frac = rules->reference_abv20_frac,
                                             .from_day_d = chain->as_of_day_d,
                                             .n_tiers = climate->warehouses[w].n_tiers,
                                             .wood_least_nd = rules->wood_least_nd,
                                             .wood_most_nd = rules->wood_most_nd};
        set_ages(rules->planned_age_y, &stores[w]);
        if (stores[w].n_tiers > 0)
            status = run_store(chain, &cask, (int)w, &stores[w]);
    }
    return status;
}

void stv_tier_paths_free(struct stv_store_paths *paths, size_t n)
{
    for (size_t w = 0; paths && w < n; w++)
        free(paths[w].told);
    free(paths);
}
