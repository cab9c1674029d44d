/* The tidy tables of a study: one row for each figure, and words for every column. */
#include "cli/study.h"

#include "cli/cell_metrics.h"
#include "cli/csv.h"
#include "cli/site_metrics.h"

#include <math.h>
#include <string.h>

static const struct stv_study_cell *cell_of(const struct stv_study_run *run,
                                            const struct stv_arm *arm)
{
    const struct stv_study *study = run->study;
    return &run->cells[(arm->site_idx * study->n_buildings + arm->building_idx) * study->n_casks +
                       arm->cask_idx];
}

static void finish(struct stv_text *out, struct stv_sheet *table)
{
    stv_sheet_csv(table, out);
    out->has_failed = out->has_failed || table->has_failed;
    stv_sheet_free(table);
}

static void add_arm(struct stv_sheet *table, const struct stv_study *study,
                    const struct stv_arm *arm)
{
    stv_sheet_add_text(table, study->sites[arm->site_idx].name);
    stv_sheet_add_text(table, study->buildings[arm->building_idx].name);
    stv_sheet_add_text(table, study->casks[arm->cask_idx].name);
}

static const char *checked_word(const struct stv_study *study, size_t building_idx)
{
    return study->buildings[building_idx].checked[0] ? "checked" : "not measured";
}

void stv_study_results_sheet(struct stv_sheet *table, const struct stv_study_run *run)
{
    stv_csv_heads(table, "site,building,cask,tier,fill_year,followed_y,is_typical,building_model,"
                         "metric,unit,value*");
    for (size_t a = 0; a < run->grid.n_arms; a++) {
        const struct stv_arm *arm = &run->grid.arms[a];
        const struct stv_study_cell *cell = cell_of(run, arm);
        for (size_t y = 0; y < cell->n_years; y++)
            for (int m = 0; m < STV_CELL_METRIC_N; m++) {
                const struct stv_cell_metric_form *form =
                    stv_cell_metric_form((enum stv_cell_metric)m);
                struct stv_range range;
                if (stv_cell_year_range(cell, arm->tier_idx, (enum stv_cell_metric)m, y, &range) !=
                    STV_OK)
                    table->has_failed = true;
                add_arm(table, run->study, arm);
                stv_csv_place(table, run->study->tiers_idx[arm->tier_idx]);
                stv_csv_number(table, cell->is_typical ? (double)NAN : cell->years[y]);
                stv_csv_number(table, (double)cell->follow_y);
                stv_csv_number(table, cell->is_typical);
                stv_sheet_add_text(table, checked_word(run->study, arm->building_idx));
                stv_sheet_add_text(table, form->key);
                stv_sheet_add_text(table, form->unit);
                stv_csv_range(table, range, form->factor_nd);
            }
    }
}

void stv_study_results_csv(struct stv_text *out, const struct stv_study_run *run)
{
    struct stv_sheet table = {0};
    stv_study_results_sheet(&table, run);
    finish(out, &table);
}

static const char *factor_word(enum stv_arm_factor factor)
{
    return factor == STV_FACTOR_SITE ? "site" : factor == STV_FACTOR_BUILDING ? "building" : "cask";
}

static void add_judged(struct stv_sheet *table, const struct stv_judged *judged,
                       const struct stv_cell_metric_form *form)
{
    stv_csv_number(table, (double)judged->n_years);
    stv_csv_number(table, judged->effective_y);
    stv_csv_number(table, (double)judged->n_years_more);
    stv_csv_number(table, judged->mean_nd * form->factor_nd);
    stv_csv_number(table, judged->least_nd * form->factor_nd);
    stv_csv_number(table, judged->most_nd * form->factor_nd);
    stv_csv_number(table, judged->error_nd * form->factor_nd);
    stv_csv_number(table, judged->p_differs_nd);
    stv_csv_number(table, judged->p_same_nd);
    stv_csv_number(table, judged->adjusted_p_differs_nd);
    stv_csv_number(table, judged->adjusted_p_same_nd);
    stv_sheet_add_text(table, stv_verdict_text(judged->verdict));
    stv_csv_range(table, judged->spread, form->factor_nd);
}

static void add_figures(struct stv_sheet *table, const struct stv_study *study,
                        enum stv_cell_metric metric, const struct stv_judged *judged)
{
    const struct stv_cell_metric_form *form = stv_cell_metric_form(metric);
    stv_sheet_add_text(table, form->key);
    stv_sheet_add_text(table, form->unit);
    stv_csv_number(table, study->cell_margin[metric] * form->factor_nd);
    add_judged(table, judged, form);
}

/* The site, building or cask alone; the rest is empty, for it is all of them. */
static void add_level(struct stv_sheet *table, const struct stv_study *study,
                      enum stv_arm_factor factor, size_t level_idx)
{
    for (int f = 0; f < STV_FACTOR_N; f++)
        stv_sheet_add_text(table,
                           f == (int)factor ? stv_study_level_name(study, factor, level_idx) : "");
}

static void add_level_pairs(struct stv_sheet *table, const struct stv_study_run *run)
{
    for (size_t p = 0; p < run->grid.n_level_pairs; p++) {
        const struct stv_level_pair *pair = &run->grid.level_pairs[p];
        for (int m = 0; m < STV_CELL_METRIC_N; m++) {
            stv_sheet_add_text(table, factor_word(pair->differs));
            add_level(table, run->study, pair->differs, pair->a_idx);
            add_level(table, run->study, pair->differs, pair->b_idx);
            stv_csv_number(table, (double)NAN);
            add_figures(table, run->study, (enum stv_cell_metric)m, &pair->figure[m]);
        }
    }
}

void stv_study_pairs_csv(struct stv_text *out, const struct stv_study_run *run)
{
    struct stv_sheet table = {0};
    const struct stv_study *study = run->study;
    stv_csv_heads(&table, "differ_in,a_site,a_building,a_cask,b_site,b_building,b_cask,tier,metric,"
                          "unit,margin,fill_years_n,effective_years_n,years_a_more_n,mean,mean_p05,"
                          "mean_p95,error,p_differs,p_same,holm_p_differs,holm_p_same,verdict,"
                          "one_cask_one_year*");
    for (size_t p = 0; p < run->grid.n_pairs; p++) {
        const struct stv_arm_pair *pair = &run->grid.pairs[p];
        for (int m = 0; m < STV_CELL_METRIC_N; m++) {
            stv_sheet_add_text(&table, factor_word(pair->differs));
            add_arm(&table, study, &run->grid.arms[pair->a_idx]);
            add_arm(&table, study, &run->grid.arms[pair->b_idx]);
            stv_csv_place(&table, study->tiers_idx[run->grid.arms[pair->a_idx].tier_idx]);
            add_figures(&table, study, (enum stv_cell_metric)m, &pair->figure[m]);
        }
    }
    if (run->grid.n_pairs > run->grid.n_level_pairs) /* else they would repeat the arms */
        add_level_pairs(&table, run);
    finish(out, &table);
}

void stv_study_split_csv(struct stv_text *out, const struct stv_study_run *run)
{
    struct stv_sheet table = {0};
    stv_csv_heads(&table, "metric,unit,sd,weather_year_pct,parameters_pct,site_pct,building_pct,"
                          "cask_pct,tier_pct,together_pct,common_fill_years_n");
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        const struct stv_variance_split *split = &run->grid.split[m];
        const double shares[] = {split->year_frac,     split->parameters_frac, split->site_frac,
                                 split->building_frac, split->cask_frac,       split->tier_frac,
                                 split->together_frac};
        stv_sheet_add_text(&table, form->key);
        stv_sheet_add_text(&table, form->unit);
        stv_csv_number(&table, split->sd_nd * form->factor_nd);
        for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++)
            stv_csv_number(&table, 100.0 * shares[i]);
        stv_csv_number(&table, (double)run->grid.n_common_years);
    }
    finish(out, &table);
}

/* What bottles and fills are, of which the figures are made. */
static void add_basis(struct stv_sheet *table, const struct stv_house_rules *rules)
{
    const struct {
        const char *name, *unit, *meaning;
        double value;
    } rows[] = {
        {"fill", "% of the cask", "litres at 20 C that go in, of what the cask holds",
         100.0 * STV_STUDY_FILL_FRAC},
        {"bottle", "cl", "size of a bottle of bottles_n", 100.0 * rules->bottle_l},
        {"bottling_strength", "% vol", "strength of the bottles of bottles_n",
         100.0 * rules->bottling_abv20_frac},
        {"bottling_loss", "%", "lost in emptying, filtering and samples before bottles_n",
         100.0 * rules->bottling_loss_frac},
    };
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++) {
        stv_sheet_add_text(table, "basis");
        stv_sheet_add_text(table, rows[r].name);
        stv_sheet_add_text(table, rows[r].unit);
        stv_sheet_add_text(
            table,
            stv_format("%s: %s", stv_format_number(rows[r].value, 1).text, rows[r].meaning).text);
    }
}

/* A row for each column that is named, so that a program finds them all. */
static void add_columns(struct stv_sheet *table, const char *const row[4])
{
    for (const char *name = row[1]; *name;) {
        size_t n = strcspn(name, ",");
        struct stv_text column = {0};
        stv_text_add_bytes(&column, name, n);
        stv_sheet_add_text(table, row[0]);
        stv_sheet_add_text(table, stv_text_string(&column));
        stv_sheet_add_text(table, row[2]);
        stv_sheet_add_text(table, row[3]);
        stv_text_free(&column);
        name += n + strspn(name + n, ", ");
    }
}

void stv_study_dictionary_csv(struct stv_text *out, const struct stv_study *study)
{
    static const char *const rows[][4] = {
        {"results.csv", "site, building, cask", "", "names as the study writes them"},
        {"results.csv", "tier", "", "1 is the floor"},
        {"results.csv", "fill_year", "year", "filled on 1 January of it; empty: a typical year"},
        {"results.csv", "followed_y", "years of 365 days", "how long that fill is followed"},
        {"results.csv", "is_typical", "0 or 1",
         "1: a made-up typical year, which has no spread from year to year"},
        {"results.csv", "building_model", "",
         "not measured: no logger ever checked this building model; checked: the study says how"},
        {"results.csv", "metric, unit", "", "see the rows of metrics below"},
        {"results.csv", "value_p05, value_p25, value_p50, value_p75, value_p95", "of the metric",
         "5, 25, 50, 75 and 95 % points of the trials of that fill year"},
        {"pairs.csv", "differ_in", "", "the one thing in which a and b differ"},
        {"pairs.csv", "metric, unit", "", "see the rows of metrics below"},
        {"pairs.csv", "a_site, a_building, a_cask, b_site, b_building, b_cask, tier", "",
         "empty: the mean over all that the study has of it"},
        {"pairs.csv", "margin", "of the metric",
         "set beforehand: differences inside count as none"},
        {"pairs.csv", "fill_years_n", "", "fill years that both have"},
        {"pairs.csv", "effective_years_n", "",
         "independent years they are worth, overlapping ones counted for less"},
        {"pairs.csv", "years_a_more_n", "", "fill years in which the middle trial has a above b"},
        {"pairs.csv", "mean, mean_p05, mean_p95", "of the metric",
         "a minus b, mean of the years, and its 90 % interval"},
        {"pairs.csv", "error", "of the metric", "standard error of the mean, years and parameters"},
        {"pairs.csv", "p_differs, p_same", "0 to 1",
         "of no difference, and of a difference outside the margin"},
        {"pairs.csv", "holm_p_differs, holm_p_same", "0 to 1",
         "the same, adjusted for the number of pairs of this metric"},
        {"pairs.csv", "verdict", "",
         "more, less, same (inside the margin) or cannot be told apart; of a single year by its "
         "trials alone"},
        {"pairs.csv",
         "one_cask_one_year_p05, one_cask_one_year_p25, one_cask_one_year_p50, "
         "one_cask_one_year_p75, one_cask_one_year_p95",
         "of the metric", "a minus b of one cask in one year, over years and trials"},
        {"variance.csv", "sd", "of the metric", "standard deviation of all arms, years and trials"},
        {"variance.csv", "metric, unit", "", "see the rows of metrics below"},
        {"variance.csv",
         "weather_year_pct, parameters_pct, site_pct, building_pct, cask_pct, tier_pct",
         "% of the variance", "main effect of each"},
        {"variance.csv", "together_pct", "% of the variance", "what no single one explains"},
        {"variance.csv", "common_fill_years_n", "", "fill years that all arms have"},
    };
    struct stv_sheet table = {0};
    stv_csv_heads(&table, "file,column_or_metric,unit,meaning");
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++)
        add_columns(&table, rows[r]);
    for (int m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_cell_metric_form *form = stv_cell_metric_form((enum stv_cell_metric)m);
        stv_sheet_add_text(&table, "metric");
        stv_sheet_add_text(&table, form->key);
        stv_sheet_add_text(&table, form->unit);
        stv_sheet_add_text(&table, form->meaning);
    }
    add_basis(&table, &study->rules);
    finish(out, &table);
}
