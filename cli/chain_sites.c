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

static enum stv_status read_site(const struct stv_study_site *site, struct stv_problems *problems,
                                 struct site_run *run)
{
    struct stv_weather_meta meta;
    enum stv_status status = stv_weather_read(&site->weather, problems, &run->record, &meta);
    if (status != STV_OK)
        return status;
    run->record.site = meta.site;
    return STV_OK;
}

static enum stv_status run_site(const struct stv_study *study, const struct stv_study_site *site,
                                struct stv_problems *problems, struct site_run *run)
{
    enum stv_status status = read_site(site, problems, run);
    if (status == STV_OK)
        status = stv_weather_complete(&run->record, &run->weather);
    if (status == STV_OK)
        status = stv_building_simulate(&study->building, &run->weather, 3600, &run->climate);
    if (status == STV_OK) {
        struct stv_place place = {0, study->tier_idx, -1, -1};
        status = stv_position_join(place, &run->climate, NULL, NULL, 0, &run->position);
    }
    return status;
}

/* The judged tier's climate as a warehouse of its own, for the charts. */
static enum stv_status judge_climate(const struct stv_study *study, const char *name,
                                     const struct site_run *run, struct stv_warehouse_climate *out)
{
    const struct stv_position *position = &run->position;
    struct stv_metric_options options = stv_metric_options_default();
    memcpy(out->name, name, sizeof out->name);
    out->building = study->building;
    out->tiers = calloc(1, sizeof *out->tiers);
    if (!out->tiers)
        return STV_E_MEMORY;
    out->n_tiers = 1;
    out->air_change_mean_per_h = run->climate.air_change_mean_per_h;
    enum stv_status status = stv_seasons_find(&position->grid, position->air_c, out->seasons);
    if (status == STV_OK)
        status = stv_position_metrics(position, out->seasons, &options,
                                      study->building.exposed_frac, &out->tiers[0]);
    if (status != STV_OK)
        return status;
    const struct stv_grid *grid = &position->grid;
    out->n_years = out->tiers[0].n_years;
    out->first_year = stv_date_from_day(stv_grid_local_day(grid, 0, NULL)).year;
    out->last_year = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL)).year;
    for (size_t s = 0; s < STV_SEASON_N; s++)
        out->gradient_k_m[s] = NAN; /* one tier has none */
    return STV_OK;
}

static enum stv_status run_all(const struct stv_study *study, struct stv_problems *problems,
                               struct site_run *runs, struct stv_site_input *inputs,
                               struct stv_climate_result *climates)
{
    for (size_t s = 0; s < study->n_sites; s++) {
        climates->n_warehouses = s + 1;
        enum stv_status status = run_site(study, &study->sites[s], problems, &runs[s]);
        if (status == STV_OK)
            status = judge_climate(study, study->sites[s].name, &runs[s], &climates->warehouses[s]);
        if (status != STV_OK)
            return status;
        memcpy(inputs[s].name, study->sites[s].name, sizeof inputs[s].name);
        inputs[s].position = &runs[s].position;
        inputs[s].exposed_frac = study->building.exposed_frac;
    }
    return STV_OK;
}

enum stv_status stv_chain_sites(const struct stv_study *study, const struct stv_run_options *run,
                                struct stv_problems *problems, struct stv_sites_result *out,
                                struct stv_climate_result *out_climates)
{
    *out = (struct stv_sites_result){0};
    *out_climates = (struct stv_climate_result){0};
    struct site_run *runs = calloc(study->n_sites + 1, sizeof *runs);
    struct stv_site_input *inputs = calloc(study->n_sites + 1, sizeof *inputs);
    out_climates->warehouses = calloc(study->n_sites + 1, sizeof *out_climates->warehouses);
    enum stv_status status = runs && inputs && out_climates->warehouses ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = run_all(study, problems, runs, inputs, out_climates);
    if (status == STV_OK) {
        struct stv_sites_request request = {
            .sites = inputs,
            .n_sites = study->n_sites,
            .cask = &study->cask,
            .fill_abv20_frac = study->fill_abv20_frac,
            .options = *run,
        };
        memcpy(request.margin, study->margin, sizeof request.margin);
        status = stv_sites_compare(&request, out);
    }
    for (size_t s = 0; runs && s < study->n_sites; s++)
        site_run_free(&runs[s]);
    free(runs);
    free(inputs);
    if (status != STV_OK)
        stv_climate_result_free(out_climates);
    return status;
}
