/* The chain once per site of a study: the same building and cask under each sky. */
#include "cli/chain.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What must live until the comparison is done. */
struct site_run {
    struct stv_weather_record record;
    struct stv_weather weather;
    struct stv_building_climate climate;
    struct stv_position position;
};

static void site_run_free(struct site_run *run)
{
    stv_position_free(&run->position);
    stv_building_climate_free(&run->climate);
    stv_weather_free(&run->weather);
    stv_weather_record_free(&run->record);
}

enum stv_status stv_chain_site_weather(const struct stv_study_site *site,
                                       struct stv_problems *problems,
                                       struct stv_weather_record *out_record,
                                       struct stv_weather *out, struct stv_weather_meta *out_meta)
{
    enum stv_status status = stv_weather_read(&site->weather, problems, out_record, out_meta);
    if (status != STV_OK)
        return status;
    out_record->site = out_meta->site;
    return stv_weather_complete(out_record, out);
}

enum stv_status stv_chain_site_tier(const struct stv_study *study, int tier_idx,
                                    const struct stv_building_climate *climate,
                                    struct stv_position *out)
{
    struct stv_place place = {0, tier_idx, -1, -1};
    enum stv_status status = stv_position_join(place, climate, NULL, NULL, 0, out);
    out->error = stv_climate_error_weather(&study->numbers);
    return status;
}

/* The judged tier's climate as a warehouse of its own, for the charts. */
static enum stv_status judge_climate(const struct stv_study *study, const char *name,
                                     const struct site_run *run, struct stv_warehouse_climate *out)
{
    const struct stv_position *position = &run->position;
    struct stv_metric_options options = {study->params, study->numbers};
    memcpy(out->name, name, sizeof out->name);
    out->building = study->building;
    out->tiers = calloc(1, sizeof *out->tiers);
    if (!out->tiers)
        return STV_E_MEMORY;
    out->n_tiers = 1;
    out->air_change_mean_per_h = run->climate.air_change_mean_per_h;
    enum stv_status status = stv_seasons_find(&position->grid, position->air_c, out->seasons);
    stv_chain_named_seasons(&study->warm_months, &study->cold_months, out->seasons);
    if (status == STV_OK)
        status = stv_position_metrics(position, out->seasons, &options,
                                      study->building.exposed_frac, &out->tiers[0]);
    if (status != STV_OK)
        return status;
    const struct stv_grid *grid = &position->grid;
    out->n_years = out->tiers[0].n_years;
    out->first_year = stv_date_from_day(stv_grid_first_day(grid)).year;
    out->last_year = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL)).year;
    for (size_t s = 0; s < STV_SEASON_N; s++)
        out->gradient_k_m[s] = NAN; /* one tier has none */
    return STV_OK;
}

/* A site whose weather is there. */
static enum stv_status run_site(const struct stv_study *study, size_t site_idx,
                                const struct stv_byte_store *store, struct site_run *run,
                                struct stv_warehouse_climate *out)
{
    enum stv_status status =
        stv_building_climate_of(&study->building, &run->weather, store, &run->climate);
    if (status == STV_OK)
        status = stv_chain_site_tier(study, study->tier_idx, &run->climate, &run->position);
    return status == STV_OK ? judge_climate(study, study->sites[site_idx].name, run, out) : status;
}

static enum stv_status run_side_by_side(const struct stv_study *study,
                                        const struct stv_byte_store *store, struct site_run *runs,
                                        struct stv_climate_result *climates)
{
    enum stv_status *statuses = calloc(study->n_sites + 1, sizeof *statuses);
    enum stv_status status = statuses ? STV_OK : STV_E_MEMORY;
    if (!statuses)
        return status;
#pragma omp parallel for schedule(dynamic)
    for (size_t s = 0; s < study->n_sites; s++)
        statuses[s] = run_site(study, s, store, &runs[s], &climates->warehouses[s]);
    for (size_t s = 0; s < study->n_sites && status == STV_OK; s++)
        status = statuses[s];
    free(statuses);
    return status;
}

static enum stv_status run_all(const struct stv_study *study, const struct stv_byte_store *store,
                               struct stv_problems *problems, struct site_run *runs,
                               struct stv_site_input *inputs, struct stv_climate_result *climates)
{
    climates->n_warehouses = study->n_sites;
    for (size_t s = 0; s < study->n_sites; s++) {
        struct stv_weather_meta meta;
        enum stv_status status = stv_chain_site_weather(&study->sites[s], problems, &runs[s].record,
                                                        &runs[s].weather, &meta);
        if (status != STV_OK)
            return status;
        memcpy(inputs[s].name, study->sites[s].name, sizeof inputs[s].name);
        inputs[s].position = &runs[s].position;
        inputs[s].exposed_frac = study->building.exposed_frac;
    }
    return run_side_by_side(study, store, runs, climates);
}

static enum stv_status compare_sites(const struct stv_study *study,
                                     const struct stv_sites_terms *terms,
                                     const struct stv_site_input *inputs,
                                     struct stv_sites_result *out)
{
    struct stv_sites_request request = {
        .sites = inputs,
        .n_sites = study->n_sites,
        .cask = &study->cask,
        .fill_abv20_frac = study->fill_abv20_frac,
        .base = &study->params,
        .numbers = &study->numbers,
        .options = terms->run,
        .rules = &study->rules,
        .store = terms->store,
    };
    memcpy(request.margin, study->margin, sizeof request.margin);
    return stv_sites_compare(&request, out);
}

/* Margins of the study as those of one cask; alcohol follows the bottles. */
static void set_margins(const struct stv_study *study, double margin[STV_CHANGE_FIGURES])
{
    const struct stv_house_rules *rules = &study->rules;
    for (size_t s = 0; s < STV_SEASON_N; s++) {
        margin[STV_CHANGE_WARM_LIQUID_C + s] = study->margin_liquid_k;
        margin[STV_CHANGE_WARM_RH_FRAC + s] = study->margin_rh_frac;
    }
    margin[STV_CHANGE_BOTTLES_ND] = study->margin_bottles_nd;
    margin[STV_CHANGE_LPA_L] = study->margin_bottles_nd * rules->bottle_l *
                               rules->bottling_abv20_frac / (1.0 - rules->bottling_loss_frac);
    margin[STV_CHANGE_VOLUME20_L] = study->margin[STV_SITE_VOLUME_LOSS_FRAC] * STV_STUDY_FILL_FRAC *
                                    study->cask.geometry.capacity_l;
    margin[STV_CHANGE_ABV20_FRAC] = study->margin[STV_SITE_DRIFT_FRAC];
    margin[STV_CHANGE_WOOD_ND] = study->margin[STV_SITE_WOOD_ND];
    margin[STV_CHANGE_FRUIT_ND] = study->margin[STV_SITE_FRUIT_ND];
}

/* The study's changes under one sky. */
static enum stv_status change_site(const struct stv_study *study, const struct stv_run_options *run,
                                   const struct site_run *site,
                                   const struct stv_warehouse_climate *climate,
                                   struct stv_changes_result *out)
{
    struct stv_changes_request request = {
        .weather = &site->weather,
        .as_is = &study->building,
        .changes = study->changes,
        .n_changes = study->n_changes,
        .cask = &study->cask,
        .fill_abv20_frac = study->fill_abv20_frac,
        .rules = &study->rules,
        .base = &study->params,
        .numbers = &study->numbers,
        .options = *run,
    };
    memcpy(request.seasons, climate->seasons, sizeof request.seasons);
    set_margins(study, request.margin);
    return stv_sites_changes(&request, out);
}

static enum stv_status change_all(const struct stv_study *study, const struct stv_run_options *run,
                                  const struct site_run *runs,
                                  const struct stv_climate_result *climates,
                                  struct stv_changes_result **out)
{
    *out = calloc(study->n_sites + 1, sizeof **out);
    enum stv_status status = *out ? STV_OK : STV_E_MEMORY;
    for (size_t s = 0; s < study->n_sites && status == STV_OK; s++)
        status = change_site(study, run, &runs[s], &climates->warehouses[s], &(*out)[s]);
    return status;
}

void stv_chain_changes_free(const struct stv_study *study, struct stv_changes_result *changes)
{
    for (size_t s = 0; changes && s < study->n_sites; s++)
        stv_changes_result_free(&changes[s]);
    free(changes);
}

enum stv_status stv_chain_sites(const struct stv_study *study, const struct stv_sites_terms *terms,
                                struct stv_problems *problems, struct stv_sites_result *out,
                                struct stv_climate_result *out_climates,
                                struct stv_changes_result **out_changes)
{
    if (out)
        *out = (struct stv_sites_result){0};
    *out_climates = (struct stv_climate_result){0};
    *out_changes = NULL;
    struct site_run *runs = calloc(study->n_sites + 1, sizeof *runs);
    struct stv_site_input *inputs = calloc(study->n_sites + 1, sizeof *inputs);
    out_climates->warehouses = calloc(study->n_sites + 1, sizeof *out_climates->warehouses);
    enum stv_status status = runs && inputs && out_climates->warehouses ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = run_all(study, terms->store, problems, runs, inputs, out_climates);
    if (status == STV_OK && out)
        status = compare_sites(study, terms, inputs, out);
    if (status == STV_OK && study->n_changes > 0)
        status = change_all(study, &terms->run, runs, out_climates, out_changes);
    for (size_t s = 0; runs && s < study->n_sites; s++)
        site_run_free(&runs[s]);
    free(runs);
    free(inputs);
    if (status != STV_OK) {
        stv_climate_result_free(out_climates);
        if (out)
            stv_sites_result_free(out);
    }
    return status;
}
