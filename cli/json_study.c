/* A study as JSON. */
#include "cli/study.h"

#include "cli/cell_metrics.h"
#include "cli/json_document.h"
#include "cli/site_metrics.h"

static json_t *arm_object(const struct stv_study_run *run, const struct stv_arm *arm)
{
    const struct stv_study *study = run->study;
    json_t *object = json_object();
    stv_json_set(object, "site", stv_json_text(study->sites[arm->site_idx].name));
    stv_json_set(object, "building", stv_json_text(study->buildings[arm->building_idx].name));
    stv_json_set(object, "cask", stv_json_text(study->casks[arm->cask_idx].name));
    stv_json_set(object, "tier", stv_json_place(study->tiers_idx[arm->tier_idx]));
    return object;
}

static json_t *levels_object(const struct stv_study_run *run, const struct stv_arm *arm)
{
    const struct stv_study *study = run->study;
    const struct stv_study_cell *cell =
        &run->cells[(arm->site_idx * study->n_buildings + arm->building_idx) * study->n_casks +
                    arm->cask_idx];
    json_t *object = arm_object(run, arm), *years = json_array();
    bool is_checked = study->buildings[arm->building_idx].checked[0] != '\0';
    stv_json_set(object, "is_typical", json_boolean(cell->is_typical));
    stv_json_set(object, "building_is_measured", json_boolean(is_checked));
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        stv_json_set(object, form->key, stv_json_range(arm->figure[m], form->factor_nd));
    }
    for (size_t y = 0; y < cell->n_years; y++) {
        json_t *year = json_object();
        stv_json_set(year, "fill_year",
                     cell->is_typical ? json_null() : json_integer(cell->years[y]));
        for (int m = 0; m < STV_CELL_METRIC_N; m++) {
            const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
            stv_json_set(year, form->key,
                         stv_json_number(arm->year_median[m][y] * form->factor_nd));
        }
        stv_json_append(years, year);
    }
    stv_json_set(object, "by_fill_year", years);
    return object;
}

static json_t *judged_object(const struct stv_judged *judged,
                             const struct stv_cell_metric_form *form)
{
    json_t *object = json_object();
    stv_json_set(object, "mean", stv_json_number(judged->mean_nd * form->factor_nd));
    stv_json_set(object, "mean_p05", stv_json_number(judged->least_nd * form->factor_nd));
    stv_json_set(object, "mean_p95", stv_json_number(judged->most_nd * form->factor_nd));
    stv_json_set(object, "one_cask_one_year", stv_json_range(judged->spread, form->factor_nd));
    stv_json_set(object, "years_a_is_more", json_integer((json_int_t)judged->n_years_more));
    stv_json_set(object, "holm_p_differs", stv_json_number(judged->adjusted_p_differs_nd));
    stv_json_set(object, "holm_p_same", stv_json_number(judged->adjusted_p_same_nd));
    stv_json_set(object, "verdict", stv_json_text(stv_verdict_text(judged->verdict)));
    return object;
}

static const char *const factors[STV_FACTOR_N] = {"site", "building", "cask"};

static void add_figures(json_t *object, const struct stv_judged *figures)
{
    stv_json_set(object, "n_fill_years", json_integer((json_int_t)figures[0].n_years));
    stv_json_set(object, "effective_years", stv_json_number(figures[0].effective_y));
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        stv_json_set(object, form->key, judged_object(&figures[m], form));
    }
}

static json_t *level_pair_object(const struct stv_study *study, const struct stv_level_pair *pair)
{
    json_t *object = json_object();
    stv_json_set(object, "differ_in", json_string(factors[pair->differs]));
    stv_json_set(object, "a",
                 stv_json_text(stv_study_level_name(study, pair->differs, pair->a_idx)));
    stv_json_set(object, "b",
                 stv_json_text(stv_study_level_name(study, pair->differs, pair->b_idx)));
    add_figures(object, pair->figure);
    return object;
}

static json_t *pair_object(const struct stv_study_run *run, const struct stv_arm_pair *pair)
{
    json_t *object = json_object();
    stv_json_set(object, "differ_in", json_string(factors[pair->differs]));
    stv_json_set(object, "a", arm_object(run, &run->grid.arms[pair->a_idx]));
    stv_json_set(object, "b", arm_object(run, &run->grid.arms[pair->b_idx]));
    add_figures(object, pair->figure);
    return object;
}

static json_t *split_object(const struct stv_variance_split *split)
{
    json_t *object = json_object();
    stv_json_set(object, "weather_year_pct", stv_json_number(100.0 * split->year_frac));
    stv_json_set(object, "parameters_pct", stv_json_number(100.0 * split->parameters_frac));
    stv_json_set(object, "site_pct", stv_json_number(100.0 * split->site_frac));
    stv_json_set(object, "building_pct", stv_json_number(100.0 * split->building_frac));
    stv_json_set(object, "cask_pct", stv_json_number(100.0 * split->cask_frac));
    stv_json_set(object, "tier_pct", stv_json_number(100.0 * split->tier_frac));
    stv_json_set(object, "together_pct", stv_json_number(100.0 * split->together_frac));
    return object;
}

static json_t *casks_array(const struct stv_study *study)
{
    json_t *casks = json_array();
    for (size_t c = 0; c < study->n_casks; c++) {
        json_t *cask = json_object();
        stv_json_set(cask, "cask", stv_json_text(study->casks[c].name));
        stv_json_set(cask, "count", json_integer((json_int_t)study->casks[c].n_alike));
        stv_json_append(casks, cask);
    }
    return casks;
}

void stv_study_add_json(json_t *document, const struct stv_study_run *run)
{
    json_t *arms = json_array(), *pairs = json_array(), *splits = json_object();
    json_t *margin = json_object(), *level_pairs = json_array();
    for (size_t p = 0; p < run->grid.n_level_pairs; p++)
        stv_json_append(level_pairs, level_pair_object(run->study, &run->grid.level_pairs[p]));
    for (size_t a = 0; a < run->grid.n_arms; a++)
        stv_json_append(arms, levels_object(run, &run->grid.arms[a]));
    for (size_t p = 0; p < run->grid.n_pairs; p++)
        stv_json_append(pairs, pair_object(run, &run->grid.pairs[p]));
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        stv_json_set(margin, form->key,
                     stv_json_number(run->study->cell_margin[m] * form->factor_nd));
        stv_json_set(splits, form->key, split_object(&run->grid.split[m]));
    }
    stv_json_set(document, "study_casks", casks_array(run->study));
    stv_json_set(document, "follow_years", json_integer((json_int_t)run->study->follow_y));
    stv_json_set(document, "study_margin", margin);
    stv_json_set(document, "arms", arms);
    stv_json_set(document, "level_pairs", level_pairs);
    stv_json_set(document, "study_pairs", pairs);
    stv_json_set(document, "variance", splits);
    for (size_t b = 0; b < run->study->n_buildings; b++)
        if (!run->study->buildings[b].checked[0])
            stv_json_warn(document, "%s: one building model, not measured there.",
                          run->study->buildings[b].name);
    for (size_t s = 0; s < run->study->n_sites; s++)
        if (run->is_invented[s])
            stv_json_warn(document, "%s: invented weather.", run->study->sites[s].name);
}
