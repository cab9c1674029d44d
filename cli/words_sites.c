/* The same cask under several skies: which sky keeps most, and which differences are no more than
 * the difference of one year from another. */
#include "cli/words.h"

#include "cli/prose.h"
#include "cli/site_metrics.h"

#include <math.h>
#include <string.h>

#define PAIRS_PRINTED_MOST 15

static const struct stv_range *metric_of(const struct stv_sites_result *result, size_t site,
                                         enum stv_site_metric metric)
{
    return &result->sites[site].metric[metric];
}

static size_t least_of(const struct stv_sites_result *result, enum stv_site_metric metric)
{
    size_t best = 0;
    for (size_t i = 1; i < result->n_sites; i++)
        if (metric_of(result, i, metric)->p50 < metric_of(result, best, metric)->p50)
            best = i;
    return best;
}

/* True when some pair has a metric told apart. */
static bool is_told_apart(const struct stv_sites_result *result, enum stv_site_metric metric)
{
    for (size_t i = 0; i < result->n_pairs; i++) {
        enum stv_verdict verdict = result->pairs[i].metric[metric].verdict;
        if (verdict == STV_VERDICT_MORE || verdict == STV_VERDICT_LESS)
            return true;
    }
    return false;
}

static struct stv_formatted shown(const struct stv_sites_result *result, size_t site,
                                  enum stv_site_metric metric)
{
    const struct stv_site_metric_form *form = stv_site_metric_form(metric);
    return stv_format_range(stv_range_scaled(*metric_of(result, site, metric), form->factor_nd),
                            form->decimals);
}

/* Says when a figure does not matter between the sites, or cannot be told apart. */
static void add_sameness(struct stv_text *text, const struct stv_sites_result *result,
                         enum stv_site_metric metric)
{
    if (is_told_apart(result, metric))
        return;
    bool is_same = true;
    for (size_t i = 0; i < result->n_pairs; i++)
        is_same = is_same && result->pairs[i].metric[metric].verdict == STV_VERDICT_SAME;
    stv_prose_wrap(text, 0,
                   is_same ? "%s: the choice of site does not matter."
                           : "%s: the sites cannot be told apart.",
                   stv_site_metric_form(metric)->title);
}

/* Adds " and NAME" for every site whose alcohol is not told apart from the best one's. */
static size_t add_ties(struct stv_text *ties, const struct stv_sites_result *result, size_t best)
{
    size_t n = 0;
    for (size_t i = 0; i < result->n_pairs; i++) {
        const struct stv_site_pair *pair = &result->pairs[i];
        enum stv_verdict verdict = pair->metric[STV_SITE_LPA_LOSS_FRAC].verdict;
        if ((pair->a_idx != best && pair->b_idx != best) || verdict == STV_VERDICT_MORE ||
            verdict == STV_VERDICT_LESS)
            continue;
        size_t other = pair->a_idx == best ? pair->b_idx : pair->a_idx;
        stv_prose_add(ties, " and %s", result->sites[other].name);
        n++;
    }
    return n;
}

void stv_words_sites_answer(struct stv_text *text, const struct stv_sites_result *result)
{
    if (result->n_sites == 0)
        return;
    if (result->n_sites == 1) {
        stv_prose_wrap(text, 0,
                       "%s: in its first year a cask loses %s %% of its litres and %s %% "
                       "of its alcohol.",
                       result->sites[0].name, shown(result, 0, STV_SITE_VOLUME_LOSS_FRAC).text,
                       shown(result, 0, STV_SITE_LPA_LOSS_FRAC).text);
        return;
    }
    if (!is_told_apart(result, STV_SITE_LPA_LOSS_FRAC)) {
        stv_prose_wrap(text, 0,
                       "In alcohol lost the sites cannot be told apart: a cask loses %s %% "
                       "in its first year at %s, much the same elsewhere.",
                       shown(result, 0, STV_SITE_LPA_LOSS_FRAC).text, result->sites[0].name);
    } else {
        size_t best = least_of(result, STV_SITE_LPA_LOSS_FRAC);
        struct stv_text ties = {0};
        size_t n_ties = add_ties(&ties, result, best);
        stv_prose_wrap(text, 0,
                       "%s%s %s most alcohol%s: a cask at %s loses %s %% of it in the first "
                       "year, and %s %% of its litres.",
                       result->sites[best].name, stv_text_string(&ties), n_ties ? "keep" : "keeps",
                       n_ties ? " and cannot be told apart" : "", result->sites[best].name,
                       shown(result, best, STV_SITE_LPA_LOSS_FRAC).text,
                       shown(result, best, STV_SITE_VOLUME_LOSS_FRAC).text);
        stv_text_free(&ties);
    }
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        if (m != STV_SITE_LPA_LOSS_FRAC)
            add_sameness(text, result, (enum stv_site_metric)m);
}

static void add_table(struct stv_text *text, const struct stv_sites_result *result)
{
    stv_prose_add(text, "\n%-17s%6s%14s%14s%13s%8s%8s\n", "", "", "litres", "alcohol", "strength",
                  "wood", "fruit");
    stv_prose_add(text, "%-17s%6s%14s%14s%13s%8s%8s\n", "first year", "years", "lost %", "lost %",
                  "%vol", "", "left");
    for (size_t i = 0; i < result->n_sites; i++) {
        const char *name = result->sites[i].name;
        if (stv_prose_columns(name, strlen(name)) >= 17) { /* a line of its own */
            stv_prose_add(text, "%s\n", name);
            name = "";
        }
        stv_prose_cell(text, name, 17);
        stv_prose_add(
            text, "%6zu%14s%14s%13s%8s%8s\n", result->sites[i].n_years,
            stv_format_number(100.0 * metric_of(result, i, STV_SITE_VOLUME_LOSS_FRAC)->p50, 2).text,
            stv_format_number(100.0 * metric_of(result, i, STV_SITE_LPA_LOSS_FRAC)->p50, 2).text,
            stv_format_signed(100.0 * metric_of(result, i, STV_SITE_DRIFT_FRAC)->p50, 2).text,
            stv_format_number(metric_of(result, i, STV_SITE_WOOD_ND)->p50, 2).text,
            stv_format_number(metric_of(result, i, STV_SITE_FRUIT_ND)->p50, 2).text);
    }
    stv_prose_add(text, "(wood: 1 = the reference cask at the first site)\n\n");
}

/* "litres lost more by 0.55 % (0.14 to 1.06)": the mean over years, told as a positive number. */
static void add_apart(struct stv_text *parts, const struct stv_judged *judged,
                      const struct stv_site_metric_form *form)
{
    bool has_mean = isfinite(judged->least_nd), is_more = judged->verdict == STV_VERDICT_MORE;
    double factor = is_more ? form->factor_nd : -form->factor_nd;
    double by = factor * (has_mean ? judged->mean_nd : judged->spread.p50);
    double one = factor * (has_mean ? judged->least_nd : judged->spread.p05);
    double other = factor * (has_mean ? judged->most_nd : judged->spread.p95);
    stv_prose_add(parts, "%s %s by %s%s (%s to %s)", form->phrase, is_more ? "more" : "less",
                  stv_format_number(by, form->decimals).text, form->unit,
                  stv_format_number(fmin(one, other), form->decimals).text,
                  stv_format_number(fmax(one, other), form->decimals).text);
}

static void add_pair(struct stv_text *text, const struct stv_sites_result *result,
                     const struct stv_site_pair *pair)
{
    struct stv_text parts = {0};
    for (int m = 0; m < STV_SITE_METRIC_N; m++) {
        const struct stv_site_metric_form *form = stv_site_metric_form((enum stv_site_metric)m);
        enum stv_verdict verdict = pair->metric[m].verdict;
        stv_prose_add(&parts, "%s", m ? "; " : "");
        if (verdict == STV_VERDICT_SAME)
            stv_prose_add(&parts, "%s indistinguishable", form->phrase);
        else if (verdict == STV_VERDICT_UNSURE)
            stv_prose_add(&parts, "%s cannot be told apart", form->phrase);
        else
            add_apart(&parts, &pair->metric[m], form);
    }
    stv_prose_wrap(text, 2, "%s against %s (%zu %s): %s.", result->sites[pair->a_idx].name,
                   result->sites[pair->b_idx].name, pair->n_common_years,
                   pair->n_common_years == 1 ? "year in common" : "years in common",
                   stv_text_string(&parts));
    text->has_failed = text->has_failed || parts.has_failed;
    stv_text_free(&parts);
}

static void add_climates(struct stv_text *text, const struct stv_climate_result *climates)
{
    for (size_t i = 0; climates && i < climates->n_warehouses; i++) {
        const struct stv_warehouse_climate *site = &climates->warehouses[i];
        if (site->n_tiers == 0)
            continue;
        const struct stv_position_metrics *tier = &site->tiers[0];
        stv_prose_wrap(text, 2, "%s: %s C in the cask over the year, %s C from %s, %s C from %s.",
                       site->name,
                       stv_format_number(tier->seasons[STV_SEASON_YEAR].liquid_mean_c, 1).text,
                       stv_format_number(tier->seasons[STV_SEASON_WARM].liquid_mean_c, 1).text,
                       stv_format_doy_span(site->seasons[STV_SEASON_WARM].from_doy,
                                           site->seasons[STV_SEASON_WARM].to_doy)
                           .text,
                       stv_format_number(tier->seasons[STV_SEASON_COLD].liquid_mean_c, 1).text,
                       stv_format_doy_span(site->seasons[STV_SEASON_COLD].from_doy,
                                           site->seasons[STV_SEASON_COLD].to_doy)
                           .text);
    }
}

static void add_rests_on(struct stv_text *text, const struct stv_study *study,
                         const struct stv_sites_result *result,
                         const struct stv_climate_result *climates)
{
    stv_prose_heading(text, "Rests on");
    stv_prose_wrap(
        text, 2,
        "A %s L cask, %s, filled with %s L at %s %%vol, tier %d of a %s, each whole year "
        "of each record on its own, %zu trials.",
        stv_format_number(study->cask.geometry.capacity_l, 0).text,
        stv_wood_history_name(study->cask.history),
        stv_format_number(STV_STUDY_FILL_FRAC * study->cask.geometry.capacity_l, 1).text,
        stv_words_percent(study->fill_abv20_frac).text, study->tier_idx + 1,
        stv_building_kind_name(study->building.kind), result->n_draws);
    add_climates(text, climates);
    stv_prose_wrap(text, 2,
                   "Differences inside %s %% of litres, %s %% of alcohol, %s %%vol, %s of "
                   "wood and %s of fruit count as none; they were set beforehand.",
                   stv_format_number(100.0 * result->margin[STV_SITE_VOLUME_LOSS_FRAC], 2).text,
                   stv_format_number(100.0 * result->margin[STV_SITE_LPA_LOSS_FRAC], 2).text,
                   stv_format_number(100.0 * result->margin[STV_SITE_DRIFT_FRAC], 2).text,
                   stv_format_number(result->margin[STV_SITE_WOOD_ND], 2).text,
                   stv_format_number(result->margin[STV_SITE_FRUIT_ND], 2).text);
    for (size_t i = 0; i < result->n_sites; i++)
        if (result->sites[i].n_years < 2)
            stv_prose_wrap(text, 2,
                           "%s: a single year, so nothing is known of how its years "
                           "differ.",
                           result->sites[i].name);
}

void stv_words_sites(struct stv_text *text, const struct stv_study *study,
                     const struct stv_sites_result *result,
                     const struct stv_climate_result *climates,
                     const struct stv_changes_result *changes, const struct stv_problems *problems)
{
    for (size_t s = 0; changes && s < study->n_sites; s++)
        stv_words_changes(text, study, s, &changes[s]);
    if (changes)
        stv_prose_heading(text, "The building as it is");
    stv_words_sites_answer(text, result);
    add_table(text, result);
    for (size_t i = 0; i < result->n_pairs && i < PAIRS_PRINTED_MOST; i++)
        add_pair(text, result, &result->pairs[i]);
    if (result->n_pairs > PAIRS_PRINTED_MOST)
        stv_prose_add(text, "  ... and %zu more pairs: --csv or --json has them all.\n",
                      result->n_pairs - PAIRS_PRINTED_MOST);
    add_rests_on(text, study, result, climates);
    stv_words_study_made_up(text, problems, 2);
    if (changes)
        stv_words_changes_rest(text, study, &changes[0]);
    stv_prose_heading(text, "Would change it");
    stv_prose_wrap(text, 2, "More years of weather at each site, and a logger in a store there.");
    stv_prose_heading(text, "Cautions");
    if (changes)
        stv_words_changes_cautions(text, study);
    stv_words_caution_planning(text);
}
