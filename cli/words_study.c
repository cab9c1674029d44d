/* A study in words: which site, building or cask keeps most, in how many years and by how many
 * bottles; what the difference is made of; and what may not be said. */
#include "cli/study.h"

#include "cli/cell_metrics.h"
#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <string.h>

#define PAIRS_PRINTED_MOST 6
#define ARMS_PRINTED_MOST 8
#define KINDS_PRINTED_MOST 8
#define NAME_COLUMNS 15

static const struct stv_study_cell *cell_of(const struct stv_study_run *run,
                                            const struct stv_arm *arm)
{
    const struct stv_study *study = run->study;
    return &run->cells[(arm->site_idx * study->n_buildings + arm->building_idx) * study->n_casks +
                       arm->cask_idx];
}

static struct stv_formatted with(const struct stv_formatted *so_far, bool is_shown,
                                 const char *name)
{
    if (!is_shown)
        return *so_far;
    return stv_format("%s%s%s", so_far->text, so_far->text[0] ? ", " : "", name);
}

struct stv_formatted stv_study_arm_name(const struct stv_study *study, const struct stv_arm *arm)
{
    struct stv_formatted name = {{0}};
    bool is_alone = study->n_buildings * study->n_casks * study->n_tiers == 1;
    name = with(&name, study->n_sites > 1 || is_alone, study->sites[arm->site_idx].name);
    name = with(&name, study->n_buildings > 1, study->buildings[arm->building_idx].name);
    name = with(&name, study->n_casks > 1, study->casks[arm->cask_idx].name);
    if (study->n_tiers > 1)
        name = with(&name, true, stv_format("tier %d", study->tiers_idx[arm->tier_idx] + 1).text);
    return name;
}

struct stv_formatted stv_study_casks(const struct stv_study *study)
{
    size_t n = 0;
    for (size_t c = 0; c < study->n_casks; c++)
        n += study->casks[c].n_alike;
    return n == study->n_casks ? stv_format_count(n, "cask", "casks")
                               : stv_format("%zu casks of %s", n,
                                            stv_format_count(study->n_casks, "kind", "kinds").text);
}

const char *stv_study_level_name(const struct stv_study *study, enum stv_arm_factor factor,
                                 size_t level_idx)
{
    return factor == STV_FACTOR_SITE       ? study->sites[level_idx].name
           : factor == STV_FACTOR_BUILDING ? study->buildings[level_idx].name
                                           : study->casks[level_idx].name;
}

/* The one thing in which an arm differs from the other of its pair. */
static const char *side_name(const struct stv_study *study, const struct stv_arm_pair *pair,
                             const struct stv_arm *arm)
{
    const size_t level[STV_FACTOR_N] = {arm->site_idx, arm->building_idx, arm->cask_idx};
    return stv_study_level_name(study, pair->differs, level[pair->differs]);
}

/* What both have in common, where a study has several of it. */
static struct stv_formatted shared_name(const struct stv_study *study,
                                        const struct stv_arm_pair *pair, const struct stv_arm *arm)
{
    struct stv_formatted name = {{0}};
    name = with(&name, study->n_sites > 1 && pair->differs != STV_FACTOR_SITE,
                study->sites[arm->site_idx].name);
    name = with(&name, study->n_buildings > 1 && pair->differs != STV_FACTOR_BUILDING,
                study->buildings[arm->building_idx].name);
    name = with(&name, study->n_casks > 1 && pair->differs != STV_FACTOR_CASK,
                study->casks[arm->cask_idx].name);
    return with(&name, study->n_tiers > 1,
                stv_format("tier %d", study->tiers_idx[arm->tier_idx] + 1).text);
}

struct stv_formatted stv_study_shown(double value_nd, enum stv_cell_metric metric)
{
    const struct stv_cell_metric_form *form = stv_cell_metric_form(metric);
    return metric == STV_CELL_DRIFT_FRAC
               ? stv_format_signed(value_nd * form->factor_nd, form->decimals)
               : stv_format_number(value_nd * form->factor_nd, form->decimals);
}

struct stv_formatted stv_study_by_how_much(const struct stv_judged *judged,
                                           enum stv_cell_metric metric)
{
    const struct stv_cell_metric_form *form = stv_cell_metric_form(metric);
    double sign = judged->mean_nd < 0.0 ? -1.0 : 1.0;
    bool has_mean = isfinite(judged->least_nd);
    double middle = has_mean ? judged->mean_nd : judged->spread.p50;
    double least = has_mean ? judged->least_nd : judged->spread.p05;
    double most = has_mean ? judged->most_nd : judged->spread.p95;
    double factor = sign * form->factor_nd;
    double low = fmin(least * factor, most * factor), high = fmax(least * factor, most * factor);
    return stv_format("%s%s (%s to %s)", stv_format_number(middle * factor, form->decimals).text,
                      form->suffix, stv_format_number(low, form->decimals).text,
                      stv_format_number(high, form->decimals).text);
}

static const char *loss_of(enum stv_cell_metric metric)
{
    return metric == STV_CELL_LPA_LOSS_FRAC ? "Pure alcohol" : "Litres";
}

struct stv_formatted stv_study_in_years(const struct stv_judged *judged)
{
    size_t n =
        judged->mean_nd < 0.0 ? judged->n_years - judged->n_years_more : judged->n_years_more;
    if (judged->n_years == 1)
        return stv_format("in the one year there is");
    return stv_format("in %zu of %zu years", n, judged->n_years);
}

static void add_loss(struct stv_text *text, const struct stv_study_run *run,
                     const struct stv_arm_pair *pair, enum stv_cell_metric metric)
{
    const struct stv_judged *judged = &pair->figure[metric];
    const struct stv_cell_metric_form *form = stv_cell_metric_form(metric);
    double margin = run->study->cell_margin[metric] * form->factor_nd;
    bool is_a = judged->mean_nd >= 0.0;
    const char *a = side_name(run->study, pair, &run->grid.arms[is_a ? pair->a_idx : pair->b_idx]);
    if (judged->verdict == STV_VERDICT_SAME)
        stv_prose_wrap(text, 4,
                       "%s: indistinguishable; the difference, %s, lies inside the %s%s set "
                       "beforehand.",
                       loss_of(metric), stv_study_by_how_much(judged, metric).text,
                       stv_format_number(margin, form->decimals).text, form->suffix);
    else if (judged->verdict == STV_VERDICT_UNSURE)
        stv_prose_wrap(text, 4, "%s: cannot be told apart; %s loses more %s, by %s.",
                       loss_of(metric), a, stv_study_in_years(judged).text,
                       stv_study_by_how_much(judged, metric).text);
    else
        stv_prose_wrap(text, 4, "%s: %s loses more %s, by %s of the fill.", loss_of(metric), a,
                       stv_study_in_years(judged).text, stv_study_by_how_much(judged, metric).text);
}

/* One line for all the other figures: only those that are told apart are given numbers. */
static void add_others(struct stv_text *text, const struct stv_arm_pair *pair)
{
    static const enum stv_cell_metric rest[] = {
        STV_CELL_DRIFT_FRAC, STV_CELL_WOOD_ND, STV_CELL_FRUIT_ND, STV_CELL_WINDOW_MONTHS,
        STV_CELL_HOT_H,      STV_CELL_COOL_H,  STV_CELL_CYCLES_ND};
    struct stv_text parts = {0};
    for (size_t i = 0; i < sizeof rest / sizeof rest[0]; i++) {
        const struct stv_judged *judged = &pair->figure[rest[i]];
        const struct stv_cell_metric_form *form = stv_cell_metric_form(rest[i]);
        double mean = isfinite(judged->mean_nd) ? judged->mean_nd : judged->spread.p50;
        stv_prose_add(&parts, "%s%s ", i ? "; " : "Also: ", form->phrase);
        if (judged->verdict == STV_VERDICT_SAME)
            stv_prose_add(&parts, "the same");
        else if (judged->verdict == STV_VERDICT_UNSURE)
            stv_prose_add(&parts, "not told apart");
        else
            stv_prose_add(&parts, "%s%s",
                          stv_format_signed(mean * form->factor_nd, form->decimals).text,
                          form->suffix);
    }
    stv_prose_wrap(text, 4, "%s.", stv_text_string(&parts));
    text->has_failed = text->has_failed || parts.has_failed;
    stv_text_free(&parts);
}

/* More litres and less alcohol, or the other way round, both told apart. */
static bool are_opposite(const struct stv_arm_pair *pair)
{
    enum stv_verdict litres = pair->figure[STV_CELL_VOLUME_LOSS_FRAC].verdict;
    enum stv_verdict alcohol = pair->figure[STV_CELL_LPA_LOSS_FRAC].verdict;
    return (litres == STV_VERDICT_MORE && alcohol == STV_VERDICT_LESS) ||
           (litres == STV_VERDICT_LESS && alcohol == STV_VERDICT_MORE);
}

static void add_pair(struct stv_text *text, const struct stv_study_run *run,
                     const struct stv_arm_pair *pair)
{
    const struct stv_study *study = run->study;
    const struct stv_judged *bottles = &pair->figure[STV_CELL_BOTTLES_ND];
    const char *a = side_name(study, pair, &run->grid.arms[pair->a_idx]);
    const char *b = side_name(study, pair, &run->grid.arms[pair->b_idx]);
    if (bottles->n_years == 0) {
        stv_prose_wrap(text, 2, "%s against %s: no fill year in common, so nothing is told.", a, b);
        return;
    }
    struct stv_formatted shared = shared_name(study, pair, &run->grid.arms[pair->a_idx]);
    stv_prose_wrap(text, 2, "%s against %s (%s%s%s, worth %s on their own):", a, b, shared.text,
                   shared.text[0] ? "; " : "",
                   stv_format_count(bottles->n_years, "fill year", "fill years").text,
                   stv_format_number(bottles->effective_y, 1).text);
    if (isnan(bottles->p_differs_nd))
        stv_prose_wrap(text, 4,
                       "Too few years to know how they differ: judged by the trials alone.");
    add_loss(text, run, pair, STV_CELL_LPA_LOSS_FRAC);
    add_loss(text, run, pair, STV_CELL_VOLUME_LOSS_FRAC);
    if (are_opposite(pair))
        stv_prose_wrap(text, 4,
                       "The one that loses more litres loses less alcohol: dry air takes water "
                       "first, and the strength goes up.");
    add_others(text, pair);
}

/* Least and most of the yearly middles. */
static void add_span(struct stv_text *text, const struct stv_study_cell *cell,
                     const struct stv_arm *arm, enum stv_cell_metric metric, int width)
{
    double least = arm->year_median[metric][0], most = least;
    for (size_t y = 1; y < cell->n_years; y++) {
        least = fmin(least, arm->year_median[metric][y]);
        most = fmax(most, arm->year_median[metric][y]);
    }
    const struct stv_cell_metric_form *form = stv_cell_metric_form(metric);
    bool is_wide = metric == STV_CELL_LPA_LOSS_FRAC || metric == STV_CELL_VOLUME_LOSS_FRAC ||
                   metric == STV_CELL_DRIFT_FRAC;
    int decimals = form->decimals - is_wide;
    bool is_signed = metric == STV_CELL_DRIFT_FRAC;
    struct stv_formatted low = stv_format_number(least * form->factor_nd, decimals);
    struct stv_formatted high = stv_format_number(most * form->factor_nd, decimals);
    struct stv_formatted cell_text =
        cell->n_years < 2
            ? stv_format("-")
            : stv_format("%s%s%s", low.text, is_signed || least < 0.0 ? " to " : "-", high.text);
    stv_prose_add(text, "%*s", width, cell_text.text);
}

struct column {
    enum stv_cell_metric metric;
    const char *heads[2];
    int width;
};

/* A long name has a line of its own. */
static void add_row_name(struct stv_text *text, const char *name)
{
    bool fits = stv_prose_columns(name, strlen(name)) < NAME_COLUMNS;
    if (!fits)
        stv_prose_add(text, "%s\n", name);
    stv_prose_cell(text, fits ? name : "  middle", NAME_COLUMNS);
}

/* n_casks: of how many casks; the rest would repeat the first. */
static void add_columns(struct stv_text *text, const struct stv_study_run *run, size_t n_casks,
                        const struct column *columns, size_t n)
{
    size_t n_printed = 0, n_asked = 0;
    for (int line = 0; line < 2; line++) {
        stv_prose_cell(text, "", NAME_COLUMNS);
        for (size_t c = 0; c < n; c++)
            stv_prose_add(text, "%*s", columns[c].width, columns[c].heads[line]);
        stv_prose_add(text, "\n");
    }
    for (size_t a = 0; a < run->grid.n_arms; a++) {
        const struct stv_arm *arm = &run->grid.arms[a];
        n_asked += arm->cask_idx < n_casks;
        if (arm->cask_idx >= n_casks || n_printed == ARMS_PRINTED_MOST)
            continue;
        n_printed++;
        add_row_name(text, stv_study_arm_name(run->study, arm).text);
        for (size_t c = 0; c < n; c++)
            stv_prose_add(
                text, "%*s", columns[c].width,
                stv_study_shown(arm->figure[columns[c].metric].p50, columns[c].metric).text);
        stv_prose_add(text, "\n");
        stv_prose_cell(text, "  year to year", NAME_COLUMNS);
        for (size_t c = 0; c < n; c++)
            add_span(text, cell_of(run, arm), arm, columns[c].metric, columns[c].width);
        stv_prose_add(text, "\n");
    }
    if (n_asked > n_printed)
        stv_prose_add(text, "  ... and %zu more: --csv or --json has them all.\n",
                      n_asked - n_printed);
    stv_prose_add(text, "\n");
}

static void add_tables(struct stv_text *text, const struct stv_study_run *run)
{
    static const struct column cask[] = {{STV_CELL_BOTTLES_ND, {"bottles", ""}, 12},
                                         {STV_CELL_LPA_LOSS_FRAC, {"alcohol", "lost %"}, 10},
                                         {STV_CELL_VOLUME_LOSS_FRAC, {"litres", "lost %"}, 10},
                                         {STV_CELL_DRIFT_FRAC, {"strength", "%vol"}, 13},
                                         {STV_CELL_WOOD_ND, {"wood", "ref.=1"}, 10},
                                         {STV_CELL_FRUIT_ND, {"fruit", "left"}, 10}};
    static const struct column air[] = {{STV_CELL_AIR_C, {"air", "C"}, 11},
                                        {STV_CELL_RH_FRAC, {"humidity", "%"}, 9},
                                        {STV_CELL_HOT_H, {"hours", "> 35 C"}, 11},
                                        {STV_CELL_COOL_H, {"cool", "hours"}, 11},
                                        {STV_CELL_CYCLES_ND, {"cycles", "> 8 K"}, 10},
                                        {STV_CELL_WINDOW_MONTHS, {"to bottle", "months"}, 11}};
    stv_prose_heading(text, "A cask after %s, and its air a year",
                      stv_format_count(run->study->follow_y, "year", "years").text);
    size_t n_casks = run->study->n_casks, n_air = sizeof air / sizeof air[0];
    add_columns(text, run, n_casks, cask, sizeof cask / sizeof cask[0]);
    /* The air is the same for every cask; the months in which it could be bottled are not. */
    add_columns(text, run, 1, air, n_casks > 1 ? n_air - 1 : n_air);
}

static void add_pairs(struct stv_text *text, const struct stv_study_run *run)
{
    if (run->grid.n_pairs == 0)
        return;
    stv_prose_heading(text, "In pairs: same fill years, same trials");
    size_t n = 0;
    for (int factor = 0; factor < STV_FACTOR_N; factor++)
        for (size_t p = 0; p < run->grid.n_pairs; p++)
            if ((int)run->grid.pairs[p].differs == factor && n++ < PAIRS_PRINTED_MOST)
                add_pair(text, run, &run->grid.pairs[p]);
    if (run->grid.n_pairs > PAIRS_PRINTED_MOST)
        stv_prose_add(text, "  ... and %zu more pairs: --json or pairs.csv has them all.\n",
                      run->grid.n_pairs - PAIRS_PRINTED_MOST);
}

static void add_share(struct stv_text *parts, const char *name, double share_frac, bool is_asked)
{
    if (!is_asked)
        return;
    if (isfinite(share_frac))
        stv_prose_add(parts, "%s%s %s %%", parts->n ? ", " : "", name,
                      stv_format_number(100.0 * share_frac, 0).text);
    else
        stv_prose_add(parts, "%s%s not known", parts->n ? ", " : "", name);
}

static void add_split(struct stv_text *text, const struct stv_study_run *run)
{
    static const enum stv_cell_metric told[] = {STV_CELL_LPA_LOSS_FRAC, STV_CELL_WOOD_ND};
    const struct stv_study *study = run->study;
    stv_prose_heading(text, "Where the spread comes from");
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        const struct stv_variance_split *split = &run->grid.split[told[i]];
        struct stv_text parts = {0};
        if (run->grid.n_common_years == 0) {
            stv_prose_wrap(text, 2, "%s: not told, for no fill year is common to all sites.",
                           stv_cell_metric_form(told[i])->phrase);
            continue;
        }
        add_share(&parts, "site", split->site_frac, study->n_sites > 1);
        add_share(&parts, "building", split->building_frac, study->n_buildings > 1);
        add_share(&parts, "cask", split->cask_frac, study->n_casks > 1);
        add_share(&parts, "tier", split->tier_frac, study->n_tiers > 1);
        add_share(&parts, "weather year", split->year_frac, true);
        add_share(&parts, "what nobody knows of oak and climate", split->parameters_frac, true);
        add_share(&parts, "together", split->together_frac, true);
        stv_prose_wrap(text, 2, "%s: %s.", stv_cell_metric_form(told[i])->phrase,
                       stv_text_string(&parts));
        text->has_failed = text->has_failed || parts.has_failed;
        stv_text_free(&parts);
    }
}

static void add_casks(struct stv_text *text, const struct stv_study *study)
{
    for (size_t c = 0; c < study->n_casks && c < KINDS_PRINTED_MOST; c++) {
        const struct stv_study_cask *cask = &study->casks[c];
        stv_prose_wrap(
            text, 2,
            "%s: %s%s L, %s, filled with %s L at %s %%vol on 1 January, followed for "
            "%s.",
            cask->name, cask->n_alike > 1 ? stv_format("%zu of ", cask->n_alike).text : "",
            stv_format_number(cask->cask.geometry.capacity_l, 0).text,
            stv_wood_history_name(cask->cask.history),
            stv_format_number(STV_STUDY_FILL_FRAC * cask->cask.geometry.capacity_l, 1).text,
            stv_words_percent(cask->fill_abv20_frac).text,
            stv_format_count(study->follow_y, "year", "years").text);
    }
    if (study->n_casks > KINDS_PRINTED_MOST)
        stv_prose_wrap(text, 2, "And %s of cask more, %s in all: --csv has each.",
                       stv_format_count(study->n_casks - KINDS_PRINTED_MOST, "kind", "kinds").text,
                       stv_study_casks(study).text);
    if (study->n_casks > STV_GRID_CASKS_PAIRED_MOST)
        stv_prose_wrap(text, 2,
                       "More than %d kinds of cask are not set against one another: keep %d in a "
                       "study to see which keeps most.",
                       STV_GRID_CASKS_PAIRED_MOST, STV_GRID_CASKS_PAIRED_MOST);
}

/* What each site's record is, and which building nobody measured. */
static void add_rests(struct stv_text *text, const struct stv_study_run *run)
{
    const struct stv_study *study = run->study;
    stv_prose_heading(text, "Rests on");
    add_casks(text, study);
    stv_words_bottle_basis(text, &study->rules, 2);
    if (study->n_tiers == 1)
        stv_prose_wrap(text, 2, "Tier %d, 1 being the floor.", study->tiers_idx[0] + 1);
    for (size_t s = 0; s < study->n_sites; s++) {
        const struct stv_study_cell *cell = &run->cells[s * study->n_buildings * study->n_casks];
        const char *invented = run->is_invented[s] ? " Invented weather." : "";
        if (cell->is_typical)
            stv_prose_wrap(text, 2,
                           "%s: a typical year, so nothing is known of the spread from year to "
                           "year, and no verdict over years.%s",
                           study->sites[s].name, invented);
        else
            stv_prose_wrap(text, 2, "%s: %s, %d to %d.%s", study->sites[s].name,
                           stv_format_count(cell->n_years, "fill year", "fill years").text,
                           (int)cell->years[0], (int)cell->years[cell->n_years - 1], invented);
    }
    stv_words_study_made_up(text, run->problems, 2);
    if (study->follow_y > 1)
        stv_prose_wrap(text, 2,
                       "Fill years that are followed for %zu years share weather with their "
                       "neighbours and count for less than their number.",
                       study->follow_y);
    for (size_t b = 0; b < study->n_buildings; b++)
        if (study->buildings[b].checked[0])
            stv_prose_wrap(text, 2,
                           "%s: a building model, checked as the study says (%s); not at "
                           "other sites.",
                           study->buildings[b].name, study->buildings[b].checked);
        else
            stv_prose_wrap(text, 2, "%s: one building model, not measured there.%s",
                           study->buildings[b].name,
                           study->warehouse[0] ? " A study reads no logger of the book." : "");
    const double *margin = study->cell_margin;
    stv_prose_wrap(text, 2,
                   "%zu trials, %s. Verdicts at 1 in 20, adjusted for the number of pairs of each "
                   "figure that differ in the same thing (Holm).",
                   run->grid.n_draws, stv_format_count(run->grid.n_pairs, "pair", "pairs").text);
    stv_prose_wrap(text, 2,
                   "Set beforehand: differences inside %s of a bottle, %s %% of alcohol, %s %% of "
                   "litres, %s %%vol, %s of wood and %s of fruit count as none.",
                   stv_format_number(margin[STV_CELL_BOTTLES_ND], 2).text,
                   stv_format_number(100.0 * margin[STV_CELL_LPA_LOSS_FRAC], 2).text,
                   stv_format_number(100.0 * margin[STV_CELL_VOLUME_LOSS_FRAC], 2).text,
                   stv_format_number(100.0 * margin[STV_CELL_DRIFT_FRAC], 2).text,
                   stv_format_number(margin[STV_CELL_WOOD_ND], 2).text,
                   stv_format_number(margin[STV_CELL_FRUIT_ND], 2).text);
}

void stv_words_study(struct stv_text *text, const struct stv_study_run *run)
{
    stv_prose_wrap(text, 0, "%s", run->study->name);
    stv_prose_add(text, "\n");
    stv_words_levels(text, run);
    stv_prose_add(text, "\n");
    add_tables(text, run);
    add_pairs(text, run);
    add_split(text, run);
    add_rests(text, run);
    if (run->grid.n_draws < 20)
        stv_prose_wrap(text, 2,
                       "So few trials tell little of what nobody knows: ask for 64 or more before "
                       "you rely on a verdict.");
    stv_prose_heading(text, "Would change it");
    stv_prose_wrap(text, 2,
                   "A logger in a store at the site; more years of weather; another tier, cask or "
                   "strength.");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_planning(text);
}
