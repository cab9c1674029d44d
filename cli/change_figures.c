/* Data of changes.  A row without a tier is the mean over the tiers, so a cask of the house; times
 * the casks stored it is the house. */
#include "cli/change_figures.h"

#include "cli/csv.h"
#include "cli/json_document.h"
#include "cli/site_metrics.h"

#include <math.h>

static const struct stv_change_figure_form forms[STV_CHANGE_FIGURES] = {
    [STV_CHANGE_WARM_LIQUID_C] = {"warm_liquid_mean_c", "warm_liquid_change_k", 1.0},
    [STV_CHANGE_COLD_LIQUID_C] = {"cold_liquid_mean_c", "cold_liquid_change_k", 1.0},
    [STV_CHANGE_YEAR_LIQUID_C] = {"year_liquid_mean_c", "year_liquid_change_k", 1.0},
    [STV_CHANGE_WARM_RH_FRAC] = {"warm_rh_mean_frac", "warm_rh_change_frac", 1.0},
    [STV_CHANGE_COLD_RH_FRAC] = {"cold_rh_mean_frac", "cold_rh_change_frac", 1.0},
    [STV_CHANGE_YEAR_RH_FRAC] = {"year_rh_mean_frac", "year_rh_change_frac", 1.0},
    [STV_CHANGE_BOTTLES_ND] = {"bottles_left", "bottles_kept_per_y", 1.0},
    [STV_CHANGE_LPA_L] = {"lpa_left_l", "lpa_kept_l_per_y", 1.0},
    [STV_CHANGE_VOLUME20_L] = {"volume20_left_l", "volume20_kept_l_per_y", 1.0},
    [STV_CHANGE_ABV20_FRAC] = {"abv20_left_pct", "abv20_change_pct", 100.0},
    [STV_CHANGE_WOOD_ND] = {NULL, "wood_change_pct", 100.0},
    [STV_CHANGE_FRUIT_ND] = {"still_fruit_left_index", "still_fruit_change_index", 1.0},
};

const struct stv_change_figure_form *stv_change_figure_form(enum stv_change_figure figure)
{
    return &forms[figure];
}

/* Whether a changed building has more of something than the building as it is. */
static bool has_more(const struct stv_study *study,
                     double (*amount_of)(const struct stv_building *))
{
    for (size_t c = 0; c < study->n_changes; c++)
        if (amount_of(&study->changes[c].building) > amount_of(&study->building))
            return true;
    return false;
}

static double fan_of(const struct stv_building *building)
{
    return building->night_air_change_per_h;
}

static double wetness_of(const struct stv_building *building)
{
    return building->floor_wetness_frac;
}

static double heating_of(const struct stv_building *building)
{
    return isnan(building->heating_c) ? -(double)INFINITY : building->heating_c;
}

/* Lamps and machines. */
static double gain_of(const struct stv_building *building)
{
    return building->gain_w;
}

static double misting_of(const struct stv_building *building)
{
    return building->misting.rate_kg_h;
}

static double roof_spray_of(const struct stv_building *building)
{
    return building->roof_spray.wet_frac;
}

size_t stv_changes_cautions(const struct stv_study *study,
                            const char *out[STV_CHANGE_CAUTIONS_MOST])
{
    size_t n = 0;
    if (has_more(study, fan_of))
        out[n++] = "Fans and switches near ethanol vapour must be rated for it; local codes and "
                   "licensed practice decide.";
    if (has_more(study, wetness_of))
        out[n++] = "Wet floors slip, and damp near walls and wood grows mould.";
    if (has_more(study, heating_of) || has_more(study, gain_of))
        out[n++] = "Heaters and lamps near ethanol vapour must be rated for it: they are what sets "
                   "it off; local codes and licensed practice decide.";
    if (has_more(study, misting_of) || has_more(study, roof_spray_of))
        out[n++] = "Mist and sprayed roofs: wet ways slip, standing water breeds germs, and the "
                   "frame must bear the water; pumps must be rated for where they stand.";
    return n;
}

static void set_row(json_t *object, const struct stv_change_row *row, int is_change)
{
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        const char *key = is_change ? forms[f].change_key : forms[f].level_key;
        if (key)
            stv_json_set(object, key, stv_json_range(row->figure[f], forms[f].factor_nd));
    }
}

static json_t *rows_array(const struct stv_change_row *rows, size_t n_tiers, int is_change)
{
    json_t *array = json_array();
    for (size_t t = 0; t < n_tiers; t++) {
        json_t *tier = json_object();
        stv_json_set(tier, "tier", stv_json_place((int)t));
        set_row(tier, &rows[t], is_change);
        stv_json_append(array, tier);
    }
    return array;
}

static json_t *row_object(const struct stv_change_row *row, int is_change)
{
    json_t *object = json_object();
    set_row(object, row, is_change);
    return object;
}

static json_t *effect_object(const char *site, const struct stv_changes_result *result,
                             const struct stv_change_effect *effect)
{
    json_t *object = json_object(), *house = json_object(), *verdicts = json_object();
    for (size_t f = STV_CHANGE_BOTTLES_ND; f <= STV_CHANGE_VOLUME20_L; f++)
        stv_json_set(house, forms[f].change_key,
                     stv_json_range(effect->mean.figure[f], effect->n_casks));
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        stv_json_set(verdicts, forms[f].change_key,
                     stv_json_text(stv_verdict_text(
                         stv_verdict_of(&effect->mean.figure[f], result->margin[f]))));
    stv_json_set(object, "site", stv_json_text(site));
    stv_json_set(object, "change", stv_json_text(effect->name));
    stv_json_set(object, "casks_stored", stv_json_number(effect->n_casks));
    stv_json_set(object, "per_cask", row_object(&effect->mean, 1));
    stv_json_set(object, "house", house);
    stv_json_set(object, "lpa_behind_best_l_per_y", stv_json_range(effect->behind_lpa_l, 1.0));
    stv_json_set(object, "verdict", verdicts);
    stv_json_set(object, "tiers", rows_array(effect->tiers, result->n_tiers, 1));
    return object;
}

static json_t *ranges_object(const struct stv_site_changes *all)
{
    json_t *object = json_object(), *doubts = json_array(), *sites = json_array();
    for (int d = 0; d < STV_BUILDING_DOUBTS; d++) {
        const struct stv_building_doubt_info *info =
            stv_building_doubt_info((enum stv_building_doubt)d);
        json_t *doubt = json_object();
        stv_json_set(doubt, "what", stv_json_text(info->what));
        stv_json_set(doubt, "spread", stv_json_text(info->spread));
        stv_json_set(doubt, "source", stv_json_text(info->source));
        stv_json_append(doubts, doubt);
    }
    for (size_t s = 0; s < all->study->n_sites; s++) {
        const struct stv_changes_result *result = &all->changes[s];
        json_t *site = json_object();
        stv_json_set(site, "site", stv_json_text(all->study->sites[s].name));
        stv_json_set(site, "n_buildings", json_integer((json_int_t)result->n_members));
        stv_json_set(site, "n_trials", json_integer((json_int_t)result->n_trials));
        stv_json_set(site, "n_years", json_integer((json_int_t)result->n_years));
        stv_json_set(site, "is_typical_year", json_boolean(result->is_typical));
        stv_json_append(sites, site);
    }
    stv_json_set(object, "are_measured", json_false());
    stv_json_set(object, "sites", sites);
    stv_json_set(object, "doubts", doubts);
    return object;
}

void stv_changes_add_json(json_t *document, const struct stv_site_changes *all)
{
    json_t *changes = json_array(), *as_is = json_array(), *margin = json_object();
    for (size_t s = 0; s < all->study->n_sites; s++) {
        const struct stv_changes_result *result = &all->changes[s];
        const char *name = all->study->sites[s].name;
        json_t *site = json_object();
        stv_json_set(site, "site", stv_json_text(name));
        stv_json_set(site, "per_cask", row_object(&result->as_is_mean, 0));
        stv_json_set(site, "tiers", rows_array(result->as_is, result->n_tiers, 0));
        stv_json_append(as_is, site);
        for (size_t c = 0; c < result->n_effects; c++)
            stv_json_append(changes, effect_object(name, result, &result->effects[c]));
    }
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        stv_json_set(margin, forms[f].change_key,
                     stv_json_number(forms[f].factor_nd * all->changes[0].margin[f]));
    stv_json_set(document, "changes", changes);
    stv_json_set(document, "as_is", as_is);
    stv_json_set(document, "change_margin", margin);
    stv_json_set(document, "change_ranges", ranges_object(all));
    const char *cautions[STV_CHANGE_CAUTIONS_MOST];
    size_t n = stv_changes_cautions(all->study, cautions);
    for (size_t i = 0; i < n; i++)
        stv_json_warn(document, "%s", cautions[i]);
}

/* --- CSV ---------------------------------------------------------------------------------- */

void stv_changes_add_heads(struct stv_text *names)
{
    stv_text_add(names, ",change,tier,casks_stored,alcohol_verdict,lpa_behind_best_l_per_y*");
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        stv_text_format(names, ",%s*", forms[f].change_key);
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        if (forms[f].level_key)
            stv_text_format(names, ",%s*", forms[f].level_key);
}

static void add_blank(struct stv_sheet *table, size_t n)
{
    for (size_t i = 0; i < n; i++)
        stv_csv_number(table, (double)NAN);
}

static void add_figures(struct stv_sheet *table, const struct stv_change_row *row, int is_level)
{
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        if (is_level && !forms[f].level_key)
            continue;
        if (row)
            stv_csv_range(table, row->figure[f], forms[f].factor_nd);
        else
            add_blank(table, 5);
    }
}

void stv_changes_skip_cells(struct stv_sheet *table)
{
    stv_sheet_add_text(table, "");
    add_blank(table, 2);
    stv_sheet_add_text(table, "");
    add_blank(table, 5);
    add_figures(table, NULL, 0);
    add_figures(table, NULL, 1);
}

struct csv_row {
    const char *site, *change, *verdict;
    int tier_idx; /* -1: the mean */
    double n_casks;
    struct stv_range behind_lpa_l;
    const struct stv_change_row *difference, *level; /* one of them NULL */
};

static void add_row(struct stv_sheet *table, const struct csv_row *row, size_t n_skipped)
{
    stv_sheet_add_text(table, row->site);
    add_blank(table, n_skipped);
    stv_sheet_add_text(table, row->change);
    stv_csv_place(table, row->tier_idx);
    stv_csv_number(table, row->n_casks);
    stv_sheet_add_text(table, row->verdict);
    stv_csv_range(table, row->behind_lpa_l, 1.0);
    add_figures(table, row->difference, 0);
    add_figures(table, row->level, 1);
}

void stv_changes_add_rows(struct stv_sheet *table, const struct stv_site_changes *all,
                          size_t n_skipped)
{
    for (size_t s = 0; s < all->study->n_sites; s++) {
        const struct stv_changes_result *result = &all->changes[s];
        struct csv_row row = {.site = all->study->sites[s].name,
                              .change = "as it is",
                              .verdict = "",
                              .n_casks = all->study->building.n_casks,
                              .behind_lpa_l = stv_range_point((double)NAN)};
        for (size_t t = 0; t <= result->n_tiers; t++) {
            row.tier_idx = t < result->n_tiers ? (int)t : -1;
            row.level = t < result->n_tiers ? &result->as_is[t] : &result->as_is_mean;
            add_row(table, &row, n_skipped);
        }
        row.level = NULL;
        for (size_t c = 0; c < result->n_effects; c++) {
            const struct stv_change_effect *effect = &result->effects[c];
            row.change = effect->name;
            row.n_casks = effect->n_casks;
            for (size_t t = 0; t <= result->n_tiers; t++) {
                bool is_mean = t == result->n_tiers;
                row.tier_idx = is_mean ? -1 : (int)t;
                row.difference = is_mean ? &effect->mean : &effect->tiers[t];
                row.verdict = stv_verdict_text(stv_verdict_of(
                    &row.difference->figure[STV_CHANGE_LPA_L], result->margin[STV_CHANGE_LPA_L]));
                row.behind_lpa_l = is_mean ? effect->behind_lpa_l : stv_range_point((double)NAN);
                add_row(table, &row, n_skipped);
            }
        }
    }
}
