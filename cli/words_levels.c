/* The answer of a study: which site, which building and which cask keeps most, each told over all
 * that the study puts with it, with ties called ties. */
#include "cli/study.h"

#include "cli/cell_metrics.h"
#include "cli/format.h"
#include "cli/prose.h"

#include <math.h>

#define AGAINST_MOST 5
#define STRENGTHS_MOST 6
#define MOVES_LEAST_FRAC 0.0005 /* strengths are told by the tenth of a %vol */

/* One factor of a study and the figure it is told by. */
struct question {
    const struct stv_study_run *run;
    enum stv_arm_factor factor;
    enum stv_cell_metric metric;
    size_t n_levels, n_arms; /* arms in each level */
    size_t best;             /* the level that keeps most */
    size_t n_apart, n_same, n_others;
};

static const char *name_of(const struct question *question, size_t level)
{
    return stv_study_level_name(question->run->study, question->factor, level);
}

/* Bottles compare casks only when as much alcohol went into each. */
static bool are_filled_alike(const struct stv_study *study)
{
    for (size_t c = 1; c < study->n_casks; c++)
        if (study->casks[c].cask.geometry.capacity_l < study->casks[0].cask.geometry.capacity_l ||
            study->casks[c].cask.geometry.capacity_l > study->casks[0].cask.geometry.capacity_l ||
            study->casks[c].fill_abv20_frac < study->casks[0].fill_abv20_frac ||
            study->casks[c].fill_abv20_frac > study->casks[0].fill_abv20_frac)
            return false;
    return true;
}

/* The pair of two levels; NULL when it has no fill year. */
static const struct stv_level_pair *pair_of(const struct question *question, size_t one,
                                            size_t other)
{
    const struct stv_grid_result *grid = &question->run->grid;
    for (size_t p = 0; p < grid->n_level_pairs; p++) {
        const struct stv_level_pair *pair = &grid->level_pairs[p];
        bool is_it = (pair->a_idx == one && pair->b_idx == other) ||
                     (pair->a_idx == other && pair->b_idx == one);
        if (pair->differs == question->factor && is_it)
            return pair->figure[question->metric].n_years > 0 ? pair : NULL;
    }
    return NULL;
}

static bool is_apart(const struct stv_judged *judged)
{
    return judged->verdict == STV_VERDICT_MORE || judged->verdict == STV_VERDICT_LESS;
}

/* False when the study asks nothing of that factor, or no two levels share a fill year. */
static bool ask(const struct stv_study_run *run, enum stv_arm_factor factor, struct question *out)
{
    const struct stv_study *study = run->study;
    const size_t n[STV_FACTOR_N] = {study->n_sites, study->n_buildings, study->n_casks};
    *out = (struct question){.run = run,
                             .factor = factor,
                             .metric = factor == STV_FACTOR_CASK && !are_filled_alike(study)
                                           ? STV_CELL_LPA_LOSS_FRAC
                                           : STV_CELL_BOTTLES_ND,
                             .n_levels = n[factor],
                             .n_arms = run->grid.n_arms / n[factor]};
    double sign = out->metric == STV_CELL_BOTTLES_ND ? 1.0 : -1.0;
    for (size_t l = 1; l < out->n_levels; l++) {
        const struct stv_level_pair *pair = pair_of(out, out->best, l);
        if (pair && sign * pair->figure[out->metric].mean_nd < 0.0)
            out->best = l;
    }
    for (size_t l = 0; l < out->n_levels; l++) {
        const struct stv_level_pair *pair = l == out->best ? NULL : pair_of(out, out->best, l);
        if (!pair)
            continue;
        out->n_others++;
        out->n_apart += is_apart(&pair->figure[out->metric]);
        out->n_same += pair->figure[out->metric].verdict == STV_VERDICT_SAME;
    }
    return out->n_others > 0;
}

/* "Chicago, Seattle and Boston": the best and those not told apart from it. */
static void add_ties(struct stv_text *names, const struct question *question)
{
    size_t n_left = question->n_others - question->n_apart;
    stv_prose_add(names, "%s", name_of(question, question->best));
    for (size_t l = 0; l < question->n_levels; l++) {
        const struct stv_level_pair *pair =
            l == question->best ? NULL : pair_of(question, question->best, l);
        if (pair && !is_apart(&pair->figure[question->metric]))
            stv_prose_add(names, "%s%s", --n_left ? ", " : " and ", name_of(question, l));
    }
}

/* ", mean of 2 casks and 2 tiers". */
static struct stv_formatted mean_of_what(const struct question *question)
{
    const struct stv_study *study = question->run->study;
    const size_t n[] = {study->n_sites, study->n_buildings, study->n_casks, study->n_tiers};
    const struct stv_formatted words[] = {stv_format("%zu sites", n[0]),
                                          stv_format("%zu buildings", n[1]), stv_study_casks(study),
                                          stv_format("%zu tiers", n[3])};
    struct stv_formatted out = {{0}};
    for (size_t i = 0; i < sizeof n / sizeof n[0]; i++)
        if (n[i] > 1 && i != (size_t)question->factor)
            out =
                stv_format("%s%s%s", out.text, out.text[0] ? " by " : ", mean of ", words[i].text);
    return out;
}

/* "212.6 bottles in a cask after 2 years, mean of 2 casks by 2 tiers (one year: 204 to 219)". */
static void add_figure(struct stv_text *line, const struct question *question)
{
    const struct stv_range *range =
        &question->run->grid.levels[question->factor][question->best].figure[question->metric];
    stv_prose_add(line, "%s%s after %s%s", stv_study_shown(range->p50, question->metric).text,
                  question->metric == STV_CELL_BOTTLES_ND ? " bottles in a cask"
                                                          : " % of its alcohol gone",
                  stv_format_count(question->run->study->follow_y, "year", "years").text,
                  mean_of_what(question).text);
    stv_prose_add(line, " (%s: %s to %s)", question->n_arms > 1 ? "one year" : "one cask, one year",
                  stv_study_shown(range->p05, question->metric).text,
                  stv_study_shown(range->p95, question->metric).text);
}

/* The best alone, or with those it is tied with. */
static void add_winners(struct stv_text *line, const struct question *question)
{
    bool is_bottles = question->metric == STV_CELL_BOTTLES_ND;
    size_t n_ties = question->n_others - question->n_apart;
    add_ties(line, question);
    if (n_ties == 0)
        stv_prose_add(line, is_bottles ? " keeps most: " : " loses least: ");
    else
        stv_prose_add(line, "%s and %s: %s ", is_bottles ? " keep most" : " lose least",
                      question->n_same < n_ties ? "cannot be told apart" : "are indistinguishable",
                      name_of(question, question->best));
}

static void add_first(struct stv_text *text, const struct question *question)
{
    struct stv_text line = {0};
    if (question->n_apart > 0)
        add_winners(&line, question);
    else {
        stv_prose_add(&line, "In %s %s: ",
                      question->metric == STV_CELL_BOTTLES_ND ? "bottles" : "alcohol lost",
                      question->n_same == question->n_others ? "it does not matter"
                                                             : "they cannot be told apart");
        add_ties(&line, question);
        stv_prose_add(&line, ". %s: ", name_of(question, question->best));
    }
    add_figure(&line, question);
    stv_prose_wrap(text, 0, "%s.", stv_text_string(&line));
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
}

static void add_against(struct stv_text *text, const struct question *question, size_t other)
{
    const struct stv_level_pair *pair = pair_of(question, question->best, other);
    if (!pair) {
        stv_prose_wrap(text, 0, "%s has no fill year in common with %s: not compared.",
                       name_of(question, other), name_of(question, question->best));
        return;
    }
    const struct stv_judged *judged = &pair->figure[question->metric];
    const struct stv_cell_metric_form *form = stv_cell_metric_form(question->metric);
    bool is_bottles = question->metric == STV_CELL_BOTTLES_ND;
    const char *best = name_of(question, question->best), *name = name_of(question, other);
    const char *of = is_bottles ? " a cask" : " of the fill";
    struct stv_formatted by = stv_study_by_how_much(judged, question->metric);
    if (judged->verdict == STV_VERDICT_SAME)
        stv_prose_wrap(
            text, 0,
            "%s and %s are indistinguishable: the difference, %s%s, lies inside the "
            "%s%s set beforehand.",
            best, name, by.text, of,
            stv_format_number(question->run->study->cell_margin[question->metric] * form->factor_nd,
                              form->decimals)
                .text,
            is_bottles ? "" : form->suffix);
    else if (judged->verdict == STV_VERDICT_UNSURE)
        stv_prose_wrap(text, 0, "%s and %s cannot be told apart: %s%s.", best, name, by.text, of);
    else
        stv_prose_wrap(text, 0, "Against %s it %s %s: by %s%s.", name,
                       is_bottles ? "keeps more" : "loses less", stv_study_in_years(judged).text,
                       by.text, of);
}

/* Whether arms of the level go up and others down, of which its mean then says nothing. */
static bool goes_both_ways(const struct question *question, size_t level)
{
    const struct stv_grid_result *grid = &question->run->grid;
    size_t n_up = 0, n_down = 0;
    for (size_t a = 0; a < grid->n_arms; a++) {
        const struct stv_arm *arm = &grid->arms[a];
        const size_t levels[STV_FACTOR_N] = {arm->site_idx, arm->building_idx, arm->cask_idx};
        double drift = arm->figure[STV_CELL_DRIFT_FRAC].p50;
        n_up += levels[question->factor] == level && drift >= MOVES_LEAST_FRAC;
        n_down += levels[question->factor] == level && drift <= -MOVES_LEAST_FRAC;
    }
    return n_up > 0 && n_down > 0;
}

/* Which way the strength goes. */
static void add_strength(struct stv_text *text, const struct question *question)
{
    size_t n_up = 0, n_down = 0, n_both = 0, n = 0;
    struct stv_text list = {0};
    for (size_t l = 0; l < question->n_levels; l++) {
        double drift =
            question->run->grid.levels[question->factor][l].figure[STV_CELL_DRIFT_FRAC].p50;
        if (!isfinite(drift))
            continue;
        n_up += drift >= MOVES_LEAST_FRAC;
        n_down += drift <= -MOVES_LEAST_FRAC;
        n_both += goes_both_ways(question, l);
        if (n++ < STRENGTHS_MOST)
            stv_prose_add(&list, "%s%s %%vol (%s)", n > 1 ? ", " : "",
                          stv_study_shown(drift, STV_CELL_DRIFT_FRAC).text, name_of(question, l));
    }
    const char *all = n == 2 ? "both" : "all";
    const char *way = n_up == n     ? "goes up in"
                      : n_down == n ? "goes down in"
                      : n_up + n_down == 0
                          ? n_both ? "hardly moves, on average, in" : "hardly moves in"
                          : "does not go one way in";
    stv_prose_wrap(text, 0, "The strength %s %s: %s%s.%s", way, all, stv_text_string(&list),
                   n > STRENGTHS_MOST ? " and more" : "",
                   n_both ? " These are means: it goes up in some of what they are taken over and "
                            "down in others."
                          : "");
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}

static void add_question(struct stv_text *text, const struct question *question)
{
    size_t n_told = 0;
    add_first(text, question);
    for (size_t l = 0; l < question->n_levels; l++)
        if (l != question->best && n_told++ < AGAINST_MOST)
            add_against(text, question, l);
    if (n_told > AGAINST_MOST)
        stv_prose_wrap(text, 0, "And %zu more: level_pairs[] of --json has them all.",
                       n_told - AGAINST_MOST);
    add_strength(text, question);
}

void stv_words_levels(struct stv_text *text, const struct stv_study_run *run)
{
    size_t n_asked = 0;
    for (int f = 0; f < STV_FACTOR_N; f++) {
        struct question question;
        if (!ask(run, (enum stv_arm_factor)f, &question))
            continue;
        if (n_asked++)
            stv_prose_add(text, "\n");
        add_question(text, &question);
    }
    const struct stv_range *bottles = &run->grid.arms[0].figure[STV_CELL_BOTTLES_ND];
    if (n_asked == 0)
        stv_prose_wrap(text, 0,
                       "%s gives %s bottles in a cask after %s (one cask, one year: %s to %s).",
                       stv_study_arm_name(run->study, &run->grid.arms[0]).text,
                       stv_study_shown(bottles->p50, STV_CELL_BOTTLES_ND).text,
                       stv_format_count(run->study->follow_y, "year", "years").text,
                       stv_study_shown(bottles->p05, STV_CELL_BOTTLES_ND).text,
                       stv_study_shown(bottles->p95, STV_CELL_BOTTLES_ND).text);
}
