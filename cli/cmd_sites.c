/* `sites`: the same cask in the same building under several skies, and in that building changed. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/change_figures.h"
#include "cli/csv.h"
#include "cli/messages.h"
#include "cli/session.h"
#include "cli/site_metrics.h"
#include "cli/study.h"
#include "cli/targets.h"
#include "cli/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

struct result {
    const struct stv_study *study;
    const struct stv_sites_result *sites;
    const struct stv_climate_result *climates;
    const struct stv_changes_result *changes; /* per site; NULL without any */
    const struct stv_study_run *run;          /* NULL beside changes */
    const struct stv_problems *problems;
};

static json_t *years_array(const struct stv_site_years *site)
{
    json_t *years = json_array();
    for (size_t i = 0; i < site->n_years; i++) {
        json_t *year = json_object();
        stv_json_set(year, "year", json_integer(site->years[i]));
        for (int m = 0; m < STV_SITE_METRIC_N; m++) {
            const struct stv_site_metric_form *form = stv_site_metric_form((enum stv_site_metric)m);
            stv_json_set(year, form->key,
                         stv_json_number(form->factor_nd * site->year_median[m][i]));
        }
        stv_json_append(years, year);
    }
    return years;
}

static json_t *site_object(const struct result *result, size_t site_idx)
{
    const struct stv_site_years *site = &result->sites->sites[site_idx];
    json_t *object = json_object();
    stv_json_set(object, "site", stv_json_text(site->name));
    stv_json_set(object, "n_years", json_integer((json_int_t)site->n_years));
    for (int m = 0; m < STV_SITE_METRIC_N; m++) {
        const struct stv_site_metric_form *form = stv_site_metric_form((enum stv_site_metric)m);
        stv_json_set(object, form->key, stv_json_range(site->metric[m], form->factor_nd));
    }
    if (site_idx < result->climates->n_warehouses &&
        result->climates->warehouses[site_idx].n_tiers > 0) {
        const struct stv_season_metrics *seasons =
            result->climates->warehouses[site_idx].tiers[0].seasons;
        stv_json_set(object, "liquid_mean_c",
                     stv_json_number(seasons[STV_SEASON_YEAR].liquid_mean_c));
        stv_json_set(object, "warm_liquid_mean_c",
                     stv_json_number(seasons[STV_SEASON_WARM].liquid_mean_c));
        stv_json_set(object, "cold_liquid_mean_c",
                     stv_json_number(seasons[STV_SEASON_COLD].liquid_mean_c));
    }
    stv_json_set(object, "by_year", years_array(site));
    return object;
}

static json_t *pair_object(const struct stv_sites_result *sites, const struct stv_site_pair *pair)
{
    json_t *object = json_object();
    stv_json_set(object, "a", stv_json_text(sites->sites[pair->a_idx].name));
    stv_json_set(object, "b", stv_json_text(sites->sites[pair->b_idx].name));
    stv_json_set(object, "n_common_years", json_integer((json_int_t)pair->n_common_years));
    for (int m = 0; m < STV_SITE_METRIC_N; m++) {
        const struct stv_site_metric_form *form = stv_site_metric_form((enum stv_site_metric)m);
        json_t *metric = json_object();
        stv_json_set(metric, "difference", stv_json_range(pair->metric[m].spread, form->factor_nd));
        stv_json_set(metric, "years_a_is_more",
                     json_integer((json_int_t)pair->metric[m].n_years_more));
        stv_json_set(metric, "verdict", stv_json_text(stv_verdict_text(pair->metric[m].verdict)));
        stv_json_set(object, form->key, metric);
    }
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    json_t *margin = json_object();
    json_t *sites = json_array();
    json_t *pairs = json_array();
    for (int m = 0; m < STV_SITE_METRIC_N; m++) {
        const struct stv_site_metric_form *form = stv_site_metric_form((enum stv_site_metric)m);
        stv_json_set(margin, form->key, stv_json_number(form->factor_nd * all->sites->margin[m]));
    }
    for (size_t i = 0; i < all->sites->n_sites; i++)
        stv_json_append(sites, site_object(all, i));
    for (size_t i = 0; i < all->sites->n_pairs; i++)
        stv_json_append(pairs, pair_object(all->sites, &all->sites->pairs[i]));
    stv_json_set(document, "study", stv_json_text(all->study->name));
    stv_json_set(document, "tier", stv_json_place(all->study->tier_idx));
    stv_json_set(document, "margin", margin);
    stv_json_set(document, "sites", sites);
    stv_json_set(document, "pairs", pairs);
    if (all->changes)
        stv_changes_add_json(document, &(struct stv_site_changes){all->study, all->changes});
    if (all->run)
        stv_study_add_json(document, all->run);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    struct stv_text names = {0};
    stv_text_add(&names, "site,year");
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        stv_text_format(&names, ",%s", stv_site_metric_form((enum stv_site_metric)m)->key);
    if (all->changes)
        stv_changes_add_heads(&names);
    stv_csv_heads(table, stv_text_string(&names));
    table->has_failed = table->has_failed || names.has_failed;
    stv_text_free(&names);
    for (size_t i = 0; i < all->sites->n_sites; i++) {
        const struct stv_site_years *site = &all->sites->sites[i];
        for (size_t k = 0; k < site->n_years; k++) {
            stv_sheet_add_text(table, site->name);
            stv_csv_number(table, site->years[k]);
            for (int m = 0; m < STV_SITE_METRIC_N; m++)
                stv_csv_number(table, stv_site_metric_form((enum stv_site_metric)m)->factor_nd *
                                          site->year_median[m][k]);
            if (all->changes)
                stv_changes_skip_cells(table);
        }
    }
    if (all->changes)
        stv_changes_add_rows(table, &(struct stv_site_changes){all->study, all->changes},
                             1 + STV_SITE_METRIC_N);
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_sites(text, all->study, all->sites, all->climates, all->changes, all->problems);
}

/* The study's own inputs, echoed where the other commands echo the book's. */
static void add_inputs(json_t *document, const struct stv_study *study)
{
    json_t *inputs = json_object_get(document, "inputs");
    json_t *sites = json_array();
    if (study->warehouse[0]) {
        stv_json_set(inputs, "house", stv_json_text(study->house));
        stv_json_set(inputs, "warehouse", stv_json_text(study->warehouse));
    }
    stv_json_set(inputs, "kind", stv_json_text(stv_building_kind_name(study->building.kind)));
    stv_json_set(inputs, "cask_l", stv_json_number(study->cask.geometry.capacity_l));
    stv_json_set(inputs, "cask_history", stv_json_text(stv_wood_history_name(study->cask.history)));
    stv_json_set(inputs, "fill_abv20_pct", stv_json_number(100.0 * study->fill_abv20_frac));
    for (size_t i = 0; i < study->n_sites; i++) {
        json_t *site = json_object();
        stv_json_set(site, "site", stv_json_text(study->sites[i].name));
        stv_json_set(site, "file", stv_json_text(study->sites[i].weather.path));
        stv_json_set(site, "station", stv_json_text(study->sites[i].weather.station));
        stv_json_append(sites, site);
    }
    stv_json_set(inputs, "sites", sites);
    if (study->n_changes > 0)
        stv_json_set(inputs, "casks_stored", stv_json_number(study->building.n_casks));
}

static void add_json_with_inputs(json_t *document, const void *result)
{
    add_inputs(document, ((const struct result *)result)->study);
    stv_json_set(document, "parameters",
                 stv_study_parameters(((const struct result *)result)->study));
    add_json(document, result);
}

static void add_study_text(struct stv_text *text, const void *result)
{
    stv_words_study(text, result);
}

static void add_study_json(json_t *document, const void *result)
{
    const struct stv_study_run *run = result;
    add_inputs(document, run->study);
    stv_json_set(document, "parameters", stv_study_parameters(run->study));
    stv_json_set(document, "study", stv_json_text(run->study->name));
    stv_study_add_json(document, run);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_study_csv(struct stv_sheet *table, const void *result)
{
    stv_study_results_sheet(table, result);
}

/* Keeps the tables where --out says. */
static enum stv_status keep_study(const struct stv_options *options,
                                  const struct stv_study_run *run)
{
    if (!stv_options_has(options, STV_OPT_STUDY_OUT))
        return STV_OK;
    const char *folder = stv_options_text(options, STV_OPT_STUDY_OUT);
    struct stv_study_file files[STV_STUDY_FILES];
    enum stv_status status = stv_study_files(run, files);
    if (status == STV_OK)
        status = stv_study_files_write(folder, files);
    stv_study_files_free(files);
    if (status == STV_OK)
        stv_messages_note(options,
                          "%s: %zu of %zu cells were finished before; tables and manifest "
                          "written.",
                          folder, run->n_kept, run->n_cells);
    return status;
}

static int stop(struct stv_session *session, enum stv_status status)
{
    return stv_session_fail(session, status, "%s: %s.", session->options->operand,
                            session->chain.problems.n_by_severity[STV_REFUSED] > 0
                                ? "nothing was computed or written"
                                : stv_status_text(status));
}

/* Makes room for what is to be kept, runs the study and keeps it. */
static enum stv_status run_study(const struct stv_options *options, const struct stv_study *study,
                                 struct stv_problems *problems, struct stv_study_run *out)
{
    char cells[STV_STUDY_PATH_MAX] = "";
    bool is_kept = stv_options_has(options, STV_OPT_STUDY_OUT);
    enum stv_status status = STV_OK;
    *out = (struct stv_study_run){
        .study = study, .study_path = options->operand, .problems = problems};
    if (is_kept)
        status = stv_study_list_inputs(out, problems);
    if (is_kept && status == STV_OK &&
        !stv_study_folder_is_free(stv_options_text(options, STV_OPT_STUDY_OUT), out))
        status = STV_E_USAGE;
    stv_study_run_free(out);
    if (is_kept && status == STV_OK)
        status =
            stv_study_make_folder(stv_options_text(options, STV_OPT_STUDY_OUT), "cells", cells);
    if (status == STV_OK)
        status = stv_study_run(options, study, is_kept ? cells : NULL, problems, out);
    if (status != STV_OK && is_kept) { /* a folder in which nothing came to stand is no answer */
        rmdir(cells);
        rmdir(stv_options_text(options, STV_OPT_STUDY_OUT));
    }
    return status == STV_OK ? keep_study(options, out) : status;
}

/* Sites in one building, and its changes. */
static enum stv_status answer_changes(const struct stv_options *options,
                                      const struct stv_study *study, struct stv_problems *problems)
{
    const struct stv_sites_terms terms = {.run = stv_run_options_of(options)};
    struct stv_sites_result sites = {0};
    struct stv_climate_result climates = {0};
    struct stv_changes_result *changes = NULL;
    stv_messages_step(options, "Running %zu sites and %zu changes", study->n_sites,
                      study->n_changes);
    enum stv_status status = stv_chain_sites(study, &terms, problems, &sites, &climates, &changes);
    stv_messages_problems(options, problems);
    if (status == STV_OK) {
        const struct result result = {study, &sites, &climates, changes, NULL, problems};
        const struct stv_answer answer = {&result, add_text, add_json_with_inputs, add_csv};
        status = stv_answer_write(options, NULL, problems, &answer);
        stv_sites_result_free(&sites);
        stv_climate_result_free(&climates);
    }
    stv_chain_changes_free(study, changes);
    return status;
}

/* Sites and pairs of a run of one building, cask and tier; years and medians stay the run's. */
static enum stv_status sites_of_run(const struct stv_study_run *run, struct stv_sites_result *out)
{
    static const enum stv_cell_metric same[STV_SITE_METRIC_N] = {
        [STV_SITE_VOLUME_LOSS_FRAC] = STV_CELL_VOLUME_LOSS_FRAC,
        [STV_SITE_LPA_LOSS_FRAC] = STV_CELL_LPA_LOSS_FRAC,
        [STV_SITE_DRIFT_FRAC] = STV_CELL_DRIFT_FRAC,
        [STV_SITE_WOOD_ND] = STV_CELL_WOOD_ND,
        [STV_SITE_FRUIT_ND] = STV_CELL_FRUIT_ND,
    };
    const struct stv_grid_result *grid = &run->grid;
    *out = (struct stv_sites_result){.sites = calloc(grid->n_arms + 1, sizeof *out->sites),
                                     .n_sites = grid->n_arms,
                                     .pairs = calloc(grid->n_pairs + 1, sizeof *out->pairs),
                                     .n_pairs = grid->n_pairs,
                                     .n_draws = grid->n_draws};
    if (!out->sites || !out->pairs)
        return STV_E_MEMORY;
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
        out->margin[m] = run->study->cell_margin[same[m]];
        for (size_t s = 0; s < grid->n_arms; s++) {
            out->sites[s].metric[m] = grid->arms[s].figure[same[m]];
            out->sites[s].year_median[m] = grid->arms[s].year_median[same[m]];
        }
        for (size_t p = 0; p < grid->n_pairs; p++)
            out->pairs[p].metric[m] = grid->pairs[p].figure[same[m]];
    }
    for (size_t s = 0; s < grid->n_arms; s++) {
        snprintf(out->sites[s].name, sizeof out->sites[s].name, "%s", run->study->sites[s].name);
        out->sites[s].years = run->cells[s].years;
        out->sites[s].n_years = run->cells[s].n_years;
    }
    for (size_t p = 0; p < grid->n_pairs; p++) {
        out->pairs[p].a_idx = grid->pairs[p].a_idx;
        out->pairs[p].b_idx = grid->pairs[p].b_idx;
        out->pairs[p].n_common_years = grid->pairs[p].figure[STV_CELL_LPA_LOSS_FRAC].n_years;
    }
    return STV_OK;
}

/* A plain study's JSON and CSV are told by sites too; what its weather files say was said. */
static enum stv_status answer_sites(const struct stv_options *options,
                                    const struct stv_study *study, struct stv_problems *problems,
                                    const struct stv_study_run *run)
{
    const struct stv_sites_terms terms = {.run = stv_run_options_of(options)};
    struct stv_sites_result sites = {0};
    struct stv_climate_result climates = {0};
    struct stv_changes_result *none = NULL;
    struct stv_problems unheard;
    stv_problems_init(&unheard);
    enum stv_status status = sites_of_run(run, &sites);
    if (status == STV_OK)
        status = stv_chain_sites(study, &terms, &unheard, NULL, &climates, &none);
    if (status == STV_OK) {
        const struct result result = {study, &sites, &climates, NULL, run, problems};
        const struct stv_answer answer = {&result, NULL, add_json_with_inputs, add_csv};
        status = stv_answer_write(options, NULL, problems, &answer);
        stv_climate_result_free(&climates);
    }
    free(sites.sites);
    free(sites.pairs);
    stv_problems_free(&unheard);
    return status;
}

/* Changes have their own comparison. */
static enum stv_status answer_study(const struct stv_options *options,
                                    const struct stv_study *study, struct stv_problems *problems)
{
    struct stv_study_run run = {.study = NULL};
    bool is_table = stv_options_has(options, STV_OPT_JSON) || stv_options_has(options, STV_OPT_CSV);
    if (study->n_changes > 0)
        return answer_changes(options, study, problems);
    enum stv_status status = run_study(options, study, problems, &run);
    stv_messages_problems(options, problems);
    const struct stv_answer answer = {&run, add_study_text, add_study_json, add_study_csv};
    if (status == STV_OK)
        status = is_table && !study->is_grid ? answer_sites(options, study, problems, &run)
                                             : stv_answer_write(options, NULL, problems, &answer);
    stv_study_run_free(&run);
    return status;
}

int stv_cmd_sites(const struct stv_options *options)
{
    static struct stv_study study;
    struct stv_session session = {.options = options};
    struct stv_problems *problems = &session.chain.problems;
    stv_problems_init(problems);
    enum stv_status status = stv_study_read(options->operand, problems, &study);
    for (size_t i = 0; i < study.n_sites && status == STV_OK; i++)
        if (!stv_targets_spare(options, study.sites[i].weather.path, problems))
            status = STV_E_USAGE;
    if (status == STV_OK && stv_options_has(options, STV_OPT_STUDY_OUT) && study.n_changes > 0) {
        stv_problem_add(problems, STV_REFUSED, options->operand, 0, 0, "changes",
                        "are not kept by --out: list them under buildings, or leave out --out");
        status = STV_E_USAGE;
    }
    if (status != STV_OK)
        stv_messages_problems(options, problems);
    else
        status = answer_study(options, &study, problems);
    return status == STV_OK ? stv_session_close(&session, status) : stop(&session, status);
}
