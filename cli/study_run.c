/* Cells of a study one after another: those that are finished are taken, the others run and kept.
 */
#include "cli/study.h"

#include "cli/messages.h"
#include "cli/session.h"
#include "ingest/cell_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct runner {
    const struct stv_options *options;
    const char *cells_folder;
    struct stv_problems *problems;
    struct stv_study_run *run;
};

/* One building under one sky. */
struct store {
    struct stv_building_climate climate;
    struct stv_position *tiers;
    struct stv_kept_tables *kept; /* climate tables, from one cask to the next */
};

static void store_free(const struct stv_study *study, struct store *store)
{
    stv_kept_tables_free(store->kept);
    for (size_t t = 0; store->tiers && t < study->n_tiers; t++)
        stv_position_free(&store->tiers[t]);
    free(store->tiers);
    stv_building_climate_free(&store->climate);
    *store = (struct store){0};
}

static enum stv_status store_make(const struct stv_study *study, size_t building_idx,
                                  const struct stv_weather *weather, struct store *store)
{
    enum stv_status status = stv_building_simulate(&study->buildings[building_idx].building,
                                                   weather, 3600, &store->climate);
    store->kept = stv_kept_tables_new(NULL);
    store->tiers = calloc(study->n_tiers, sizeof *store->tiers);
    if (!store->tiers)
        status = STV_E_MEMORY;
    for (size_t t = 0; t < study->n_tiers && status == STV_OK; t++)
        status = stv_chain_site_tier(study, study->tiers_idx[t], &store->climate, &store->tiers[t]);
    return status;
}

static bool take_kept(const struct runner *to, const char *path, const char *key,
                      struct stv_study_cell *cell)
{
    if (!to->cells_folder || !key[0])
        return false;
    enum stv_status status = stv_cell_file_read(path, key, cell);
    if (status == STV_E_PARSE)
        stv_messages_note(to->options, "%s is damaged and is made anew.", path);
    return status == STV_OK;
}

static enum stv_status keep(const struct runner *to, const char *path, const char *key,
                            const struct stv_study_cell *cell)
{
    char why[512];
    if (!to->cells_folder || !key[0])
        return STV_OK;
    enum stv_status status = stv_cell_file_write(path, key, cell, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(to->problems, STV_REFUSED, path, 0, 0, NULL, "could not be kept: %s", why);
    return status;
}

static size_t first_cell(const struct stv_study *study, size_t site_idx, size_t building_idx)
{
    return (site_idx * study->n_buildings + building_idx) * study->n_casks;
}

/* Where a cell is kept, and under which key. */
struct cell_place {
    char key[STV_SHA256_TEXT], path[STV_STUDY_PATH_MAX + 80];
};

static struct cell_place place_of_cell(const struct runner *to, size_t cell_idx)
{
    struct cell_place place;
    stv_study_cell_key(to->run, cell_idx, place.key);
    snprintf(place.path, sizeof place.path, "%s/%s.cell", to->cells_folder ? to->cells_folder : "",
             place.key);
    return place;
}

/* Takes the cells of a building that are kept. */
static void take_cells(const struct runner *to, size_t first)
{
    struct stv_study_run *run = to->run;
    for (size_t c = first; c < first + run->study->n_casks; c++) {
        struct cell_place place = place_of_cell(to, c);
        run->n_kept += take_kept(to, place.path, place.key, &run->cells[c]);
    }
}

static enum stv_status run_cell(const struct runner *to, size_t cell_idx, const struct store *store)
{
    struct stv_study_run *run = to->run;
    const struct stv_study *study = run->study;
    size_t building_idx = cell_idx / study->n_casks % study->n_buildings;
    const struct stv_study_cask *cask = &study->casks[cell_idx % study->n_casks];
    struct stv_cell_input input = {
        .tiers = store->tiers,
        .n_tiers = study->n_tiers,
        .exposed_frac = study->buildings[building_idx].building.exposed_frac,
        .cask = &cask->cask,
        .fill_abv20_frac = cask->fill_abv20_frac,
        .rules = &study->rules,
        .base = &study->params,
        .numbers = &study->numbers,
        .options = run->options,
        .follow_y = study->follow_y,
        .kept = store->kept,
    };
    enum stv_status status = stv_cell_run(&input, &run->cells[cell_idx]);
    struct cell_place place = place_of_cell(to, cell_idx);
    return status == STV_OK ? keep(to, place.path, place.key, &run->cells[cell_idx]) : status;
}

static void note_origin(struct stv_study_run *run, size_t site_idx,
                        const struct stv_weather_meta *meta)
{
    run->is_invented[site_idx] = meta->is_invented;
    for (size_t i = 0; i < run->n_inputs; i++) {
        struct stv_study_input *input = &run->inputs[i];
        if (strcmp(input->path, run->study->sites[site_idx].weather.path) != 0)
            continue;
        snprintf(input->source, sizeof input->source, "%s", meta->source);
        snprintf(input->licence, sizeof input->licence, "%s", meta->licence);
    }
}

/* What a record without an answer lacks: days that nothing stands in for, or years. */
static void say_lack(const struct runner *to, const struct stv_study_site *site,
                     const struct stv_weather_record *record)
{
    struct stv_weather_hole hole = {0};
    while (stv_weather_next_hole(record, &hole))
        if (!hole.is_covered) {
            stv_problem_add(to->problems, STV_REFUSED, site->weather.path, 0, 0, site->name,
                            "no other year of the record has the days of a hole in its "
                            "temperature: keep only the rows on one side of the hole");
            return;
        }
    stv_problem_add(to->problems, STV_REFUSED, site->weather.path, 0, 0, site->name,
                    "the record lacks %zu whole calendar years on end: take a longer one, or "
                    "fewer follow_years",
                    to->run->study->follow_y);
}

static bool has_cells_to_run(const struct stv_study_run *run, size_t first)
{
    for (size_t c = first; c < first + run->study->n_casks; c++)
        if (!run->cells[c].values)
            return true;
    return false;
}

/* The air of all buildings that have cells to be run, side by side. */
static enum stv_status make_stores(const struct stv_study_run *run, size_t site_idx,
                                   const struct stv_weather *weather, struct store *stores)
{
    const struct stv_study *study = run->study;
    int worst = STV_OK; /* the same, whoever comes first */
#pragma omp parallel for schedule(dynamic) reduction(max : worst)
    for (size_t b = 0; b < study->n_buildings; b++) {
        if (!has_cells_to_run(run, first_cell(study, site_idx, b)))
            continue;
        int status = store_make(study, b, weather, &stores[b]);
        worst = status > worst ? status : worst;
    }
    return (enum stv_status)worst;
}

static enum stv_status run_building(const struct runner *to, size_t site_idx, size_t building_idx,
                                    const struct store *store)
{
    const struct stv_study *study = to->run->study;
    size_t first = first_cell(study, site_idx, building_idx);
    enum stv_status status = STV_OK;
    for (size_t c = 0; c < study->n_casks && status == STV_OK; c++) {
        stv_messages_step(to->options, "%s, %s, %s", study->sites[site_idx].name,
                          study->buildings[building_idx].name, study->casks[c].name);
        if (!to->run->cells[first + c].values)
            status = run_cell(to, first + c, store);
    }
    return status;
}

static enum stv_status run_buildings(const struct runner *to, size_t site_idx,
                                     const struct stv_weather *weather)
{
    const struct stv_study *study = to->run->study;
    struct store *stores = calloc(study->n_buildings + 1, sizeof *stores);
    if (!stores)
        return STV_E_MEMORY;
    for (size_t b = 0; b < study->n_buildings; b++)
        take_cells(to, first_cell(study, site_idx, b));
    enum stv_status status = make_stores(to->run, site_idx, weather, stores);
    for (size_t b = 0; b < study->n_buildings; b++) {
        if (status == STV_OK)
            status = run_building(to, site_idx, b, &stores[b]);
        store_free(study, &stores[b]);
    }
    free(stores);
    return status;
}

static enum stv_status run_site(const struct runner *to, size_t site_idx)
{
    const struct stv_study *study = to->run->study;
    const struct stv_study_site *site = &study->sites[site_idx];
    struct stv_weather_record record = {0};
    struct stv_weather weather = {0};
    struct stv_weather_meta meta;
    enum stv_status status = stv_chain_site_weather(site, to->problems, &record, &weather, &meta);
    if (status == STV_OK)
        note_origin(to->run, site_idx, &meta);
    if (status == STV_OK)
        status = run_buildings(to, site_idx, &weather);
    if (status == STV_E_NO_DATA)
        say_lack(to, site, &record);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
    return status;
}

static enum stv_status compare(struct stv_study_run *run)
{
    const struct stv_study *study = run->study;
    const struct stv_house_rules *rules = &study->rules;
    double n_alike_nd[STV_STUDY_CASKS_MAX];
    for (size_t c = 0; c < study->n_casks; c++)
        n_alike_nd[c] = (double)study->casks[c].n_alike;
    struct stv_grid_request request = {
        .sizes = {study->n_sites, study->n_buildings, study->n_casks, study->n_tiers},
        .cells = run->cells,
        .n_alike_nd = n_alike_nd,
        .wood_least_nd = rules->wood_least_nd,
        .wood_most_nd = rules->wood_most_nd,
        .least_abv20_frac = rules->least_abv20_frac > rules->bottling_abv20_frac
                                ? rules->least_abv20_frac
                                : rules->bottling_abv20_frac};
    memcpy(request.margin, study->cell_margin, sizeof request.margin);
    return stv_grid_compare(&request, &run->grid);
}

enum stv_status stv_study_run(const struct stv_options *options, const struct stv_study *study,
                              const char *cells_folder, struct stv_problems *problems,
                              struct stv_study_run *out)
{
    *out = (struct stv_study_run){.study = study,
                                  .study_path = options->operand,
                                  .options = stv_run_options_of(options),
                                  .problems = problems};
    out->n_cells = study->n_sites * study->n_buildings * study->n_casks;
    out->cells = calloc(out->n_cells + 1, sizeof *out->cells);
    out->is_invented = calloc(study->n_sites + 1, sizeof *out->is_invented);
    enum stv_status status = out->cells && out->is_invented ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_study_list_inputs(out, problems);
    const struct runner to = {options, cells_folder, problems, out};
    for (size_t s = 0; s < study->n_sites && status == STV_OK; s++)
        status = run_site(&to, s);
    return status == STV_OK ? compare(out) : status;
}

void stv_study_run_free(struct stv_study_run *run)
{
    for (size_t c = 0; run->cells && c < run->n_cells; c++)
        stv_cell_free(&run->cells[c]);
    free(run->cells);
    free(run->is_invented);
    free(run->inputs);
    stv_grid_free(&run->grid);
    *run = (struct stv_study_run){.study = NULL};
}
