#include "cli/json_report.h"

#include "model/calendar.h"

#define PERCENT 100.0

static const char *const season_names[STV_LOSS_SEASONS] = {"warm", "cold"};
static const char *const part_keys[STV_PART_N] = {[STV_PART_AIR_WATER] = "wood_water_kg",
                                                  [STV_PART_AIR_ETHANOL] = "wood_ethanol_kg",
                                                  [STV_PART_JOINTS] = "joints_kg",
                                                  [STV_PART_INDRINK] = "indrink_kg",
                                                  [STV_PART_SAMPLES] = "samples_kg",
                                                  [STV_PART_LEAK] = "leak_kg",
                                                  [STV_PART_ALL] = "all_kg"};

/* Of the mean cask of a tier in one season. */
static json_t *tier_losses(const struct stv_group_losses *losses, size_t tier_idx)
{
    json_t *tier = json_object();
    stv_json_set(tier, "tier", stv_json_place((int)tier_idx));
    stv_json_set(tier, "casks", json_integer((json_int_t)losses->n_casks));
    for (size_t p = 0; p < STV_PART_N; p++)
        stv_json_set(tier, part_keys[p], stv_json_range(losses->part_kg[p], 1.0));
    return tier;
}

static json_t *store_losses(const struct stv_season_losses *store)
{
    json_t *object = json_object(), *seasons = json_object();
    stv_json_set(object, "warehouse", stv_json_text(store->name));
    stv_json_set(object, "is_coming", json_boolean(store->is_coming));
    for (size_t s = 0; s < STV_LOSS_SEASONS; s++) {
        json_t *season = json_object(), *tiers = json_array();
        stv_json_set(season, "from", stv_json_day(store->from_day_d[s] + 1));
        stv_json_set(season, "to", stv_json_day(store->to_day_d[s]));
        for (size_t t = 0; t < store->n_tiers; t++)
            stv_json_append(tiers, tier_losses(&store->tiers[s][t], t));
        stv_json_set(season, "tiers", tiers);
        stv_json_set(seasons, season_names[s], season);
    }
    stv_json_set(object, "seasons", seasons);
    return object;
}

static json_t *tier_path(const struct stv_store_paths *store, size_t tier_idx)
{
    json_t *tier = json_object(), *ages = json_array();
    stv_json_set(tier, "tier", stv_json_place((int)tier_idx));
    for (size_t a = 0; a < store->n_ages; a++) {
        const struct stv_path_age *told = &store->told[tier_idx * store->n_ages + a];
        json_t *age = json_object();
        stv_json_set(age, "age_y", stv_json_number(store->ages_y[a]));
        stv_json_set(age, "lost_pct", stv_json_range(told->lost_frac, PERCENT));
        stv_json_set(age, "wood_index", stv_json_range(told->wood_nd, 1.0));
        stv_json_append(ages, age);
    }
    stv_json_set(tier, "ages", ages);
    return tier;
}

static json_t *store_paths(const struct stv_store_paths *store)
{
    json_t *object = json_object(), *tiers = json_array();
    stv_json_set(object, "warehouse", stv_json_text(store->name));
    stv_json_set(object, "capacity_l", stv_json_number(store->capacity_l));
    stv_json_set(object, "fill_abv20_pct", stv_json_number(PERCENT * store->abv20_frac));
    stv_json_set(object, "filled", stv_json_day(store->from_day_d));
    for (size_t t = 0; t < store->n_tiers; t++)
        stv_json_append(tiers, tier_path(store, t));
    stv_json_set(object, "tiers", tiers);
    return object;
}

void stv_report_set_json(json_t *document, const struct stv_report_data *data)
{
    json_t *losses = json_array(), *paths = json_array();
    size_t n = data->climate.n_warehouses;
    for (size_t w = 0; w < n && data->has_casks; w++)
        stv_json_append(losses, store_losses(&data->seasons.stores[w]));
    for (size_t w = 0; w < n && data->paths; w++)
        stv_json_append(paths, store_paths(&data->paths[w]));
    stv_json_set(document, "season_losses", losses);
    stv_json_set(document, "tier_paths", paths);
}
