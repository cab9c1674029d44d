/* What could be done, beside what is: differences first, because they are surer than levels. */
#include "cli/forecast_answer.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>

static bool is_told(const struct stv_compared *told)
{
    return isfinite(told->difference.p50);
}

static bool matters_at_all(const struct stv_compared *figures)
{
    for (size_t f = 0; f < STV_FIGURE_TOLD; f++)
        if (is_told(&figures[f]) && figures[f].matters)
            return true;
    return false;
}

/* "4 bottles fewer (2 to 6)", by the figures that matter. */
static void add_sentence(struct stv_text *text, const char *who, const struct stv_compared *figures,
                         int64_t day_d)
{
    struct stv_text line = {0};
    for (size_t f = 0; f < STV_FIGURE_TOLD; f++) {
        const struct stv_figure_form *form = stv_figure_form((enum stv_figure)f);
        if (!is_told(&figures[f]) || !figures[f].matters)
            continue;
        stv_prose_add(&line, "%s%s %s%s", line.n ? "; " : "", form->name,
                      stv_format_signed_range(
                          stv_range_scaled(figures[f].difference, form->factor_nd), form->decimals)
                          .text,
                      figures[f].is_sure ? "" : ", which may as well be nothing");
    }
    if (line.n)
        stv_prose_wrap(text, 2, "%s, %s: %s.", who, stv_format_month(day_d).text,
                       stv_text_string(&line));
    else
        stv_prose_wrap(text, 2, "%s, %s: it does not matter.", who, stv_format_month(day_d).text);
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
}

static void add_table(struct stv_text *text, const char *const heads[2],
                      const struct stv_compared *figures)
{
    stv_prose_add(text, "  %-21s %12s %12s %26s\n", "", heads[0], heads[1], "difference");
    for (size_t f = 0; f < STV_FIGURE_TOLD; f++) {
        const struct stv_figure_form *form = stv_figure_form((enum stv_figure)f);
        const struct stv_compared *told = &figures[f];
        int decimals = form->decimals;
        if (!isfinite(told->one.p50) && !isfinite(told->other.p50))
            continue;
        stv_prose_add(text, "  %-21s %12s %12s %26s\n", form->name,
                      stv_format_number(told->one.p50 * form->factor_nd, decimals).text,
                      stv_format_number(told->other.p50 * form->factor_nd, decimals).text,
                      is_told(told)
                          ? stv_format_signed_range(
                                stv_range_scaled(told->difference, form->factor_nd), decimals)
                                .text
                          : "-");
    }
}

static void add_pair(struct stv_text *text, const struct stv_forecast_answer *answer,
                     size_t pair_idx, size_t day_idx)
{
    const struct stv_comparison *comparison = &answer->what_if;
    const struct stv_compare_pair *pair = &comparison->pairs[pair_idx];
    const struct stv_cask *casks = answer->chain->book.ledger.casks;
    const struct stv_compared *figures =
        stv_compared_of(comparison, pair_idx, day_idx, (enum stv_figure)0);
    int64_t day_d = comparison->days_d[day_idx];
    struct stv_formatted who = stv_format("Cask %s", casks[pair->cask_idx].id);
    if (pair->other_idx != pair->cask_idx)
        who =
            stv_format("Cask %s, then in %s", casks[pair->cask_idx].id, casks[pair->other_idx].id);
    if (!is_told(&figures[STV_FIGURE_VOLUME]))
        stv_prose_wrap(text, 2, "%s, %s: empty on one side, nothing to compare.", who.text,
                       stv_format_month(day_d).text);
    else
        add_sentence(text, who.text, figures, day_d);
}

/* What cannot be done, before what it would change. */
static void add_overfull(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_comparison *comparison = &answer->what_if;
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    for (size_t p = 0; p < comparison->n_pairs; p++)
        for (size_t d = 0; d < comparison->n_days; d++) {
            if (!stv_compared_is_overfull(ledger, comparison, p, d))
                continue;
            const struct stv_cask *cask = &ledger->casks[comparison->pairs[p].other_idx];
            const struct stv_compared *figures =
                stv_compared_of(comparison, p, d, (enum stv_figure)0);
            stv_prose_wrap(text, 0,
                           "IT DOES NOT FIT: cask %s would have to hold %s L in %s, more than its "
                           "%s.",
                           cask->id,
                           stv_format_number(figures[STV_FIGURE_VOLUME].other.p50, 0).text,
                           stv_format_month(comparison->days_d[d]).text,
                           stv_format_number(cask->geometry.capacity_l, 0).text);
            break;
        }
}

/* The day on which it is weakest, of those on which it cannot be bottled as wanted. */
static void add_weak(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_comparison *comparison = &answer->what_if;
    const struct stv_house_rules *rules = &answer->chain->book.rules;
    for (size_t p = 0; p < comparison->n_pairs; p++) {
        double weakest_frac = rules->bottling_abv20_frac;
        int64_t day_d = 0;
        for (size_t d = 0; d < comparison->n_days; d++) {
            double abv20_frac = stv_compared_of(comparison, p, d, STV_FIGURE_STRENGTH)->other.p50;
            if (!(abv20_frac < weakest_frac))
                continue;
            weakest_frac = abv20_frac;
            day_d = comparison->days_d[d];
        }
        if (!(weakest_frac < rules->bottling_abv20_frac))
            continue;
        bool is_under = weakest_frac < rules->least_abv20_frac;
        stv_prose_wrap(text, 0,
                       "TOO WEAK: cask %s would hold %s %%vol in %s, under the %s %%vol that you "
                       "bottle at%s. No water brings it up; its bottles are counted at its own "
                       "strength.",
                       answer->chain->book.ledger.casks[comparison->pairs[p].other_idx].id,
                       stv_format_number(100.0 * weakest_frac, 1).text,
                       stv_format_month(day_d).text,
                       stv_words_percent(rules->bottling_abv20_frac).text,
                       is_under ? " and under your least in the cask" : "");
    }
}

void stv_words_compared_cautions(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const bool *is_done = answer->is_done;
    if (is_done[STV_EVENT_MOVE])
        stv_words_caution_moving(text);
    if (is_done[STV_EVENT_TRANSFER])
        stv_words_caution_pouring(text);
    if (is_done[STV_EVENT_TRANSFER] || is_done[STV_EVENT_ADD_WATER])
        stv_words_caution_open_bungs(text);
    if (is_done[STV_EVENT_TRANSFER])
        stv_words_caution_vapour(text);
}

/* Whether it matters in the end; a cask that is empty today, or then, says nothing of that. */
static void add_verdict(struct stv_text *text, const struct stv_forecast_answer *answer,
                        size_t last)
{
    const struct stv_comparison *comparison = &answer->what_if;
    struct stv_formatted day = stv_format_day(comparison->days_d[last]);
    bool is_any_told = false, matters = false;
    for (size_t p = 0; p < comparison->n_pairs; p++) {
        const struct stv_compared *figures =
            stv_compared_of(comparison, p, last, (enum stv_figure)0);
        is_any_told |= is_told(&figures[STV_FIGURE_VOLUME]);
        matters |= matters_at_all(figures);
    }
    if (is_any_told)
        stv_prose_wrap(text, 0, "%s by %s, against leaving it:",
                       matters ? "What it changes" : "It does not matter", day.text);
    else
        stv_prose_wrap(text, 0,
                       "Nothing to compare by %s: none of these casks holds spirit both on %s and "
                       "then.",
                       day.text, stv_format_day(answer->chain->as_of_day_d).text);
}

void stv_words_compared(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_comparison *comparison = &answer->what_if;
    static const char *const heads[2] = {"as it stands", "what if"};
    size_t last = comparison->n_days - 1;
    if (answer->n_sentences == 0)
        return;
    stv_prose_heading(text, "What if");
    for (size_t i = 0; i < answer->n_sentences; i++)
        stv_prose_wrap(text, 2, "%s", answer->sentences[i]);
    add_overfull(text, answer);
    add_weak(text, answer);
    add_verdict(text, answer, last);
    for (size_t p = 0; p < comparison->n_pairs; p++)
        for (size_t d = 0; d < comparison->n_days; d++)
            add_pair(text, answer, p, d);
    if (comparison->n_pairs > 1)
        add_sentence(text, "All these casks together", comparison->together + last * STV_FIGURE_N,
                     comparison->days_d[last]);
    for (size_t p = 0; p < comparison->n_pairs; p++) {
        const struct stv_cask *casks = answer->chain->book.ledger.casks;
        stv_prose_add(text, "\n  Cask %s on %s\n", casks[comparison->pairs[p].cask_idx].id,
                      stv_format_day(comparison->days_d[last]).text);
        add_table(text, heads, stv_compared_of(comparison, p, last, (enum stv_figure)0));
    }
    stv_text_add(text, "\n");
    stv_prose_wrap(text, 0,
                   "Differences are made trial by trial; less than 1.5 %% of bottles, alcohol and "
                   "litres, 0.2 %%vol, or 0.04 of wood and fruit does not matter (judgement).");
    stv_words_compared_cautions(text, answer);
    stv_text_add(text, "\n");
}

static void add_cycling_row(struct stv_text *text, const struct stv_forecast_answer *answer,
                            size_t pair_idx, size_t day_idx)
{
    const struct stv_comparison *comparison = &answer->cycling;
    const struct stv_cask *casks = answer->chain->book.ledger.casks;
    const struct stv_compared *wood =
        stv_compared_of(comparison, pair_idx, day_idx, STV_FIGURE_WOOD);
    struct stv_range more =
        stv_compared_of(comparison, pair_idx, day_idx, STV_FIGURE_OAK)->ratio_nd;
    more = (struct stv_range){more.p05 - 1.0, more.p25 - 1.0, more.p50 - 1.0, more.p75 - 1.0,
                              more.p95 - 1.0};
    stv_text_add(text, "  ");
    stv_prose_name_cell(text, casks[comparison->pairs[pair_idx].cask_idx].id, 8, 2);
    stv_prose_add(text, " %8s %19s %19s %19s\n", stv_format_month(comparison->days_d[day_idx]).text,
                  stv_format_range(wood->one, 2).text, stv_format_range(wood->other, 2).text,
                  stv_format_signed_range(stv_range_scaled(more, 100.0), 1).text);
}

/* By the margin that every comparison of wood has. */
static bool does_cycling_not_matter(const struct stv_comparison *comparison)
{
    for (size_t p = 0; p < comparison->n_pairs; p++)
        for (size_t d = 0; d < comparison->n_days; d++)
            if (stv_compared_of(comparison, p, d, STV_FIGURE_WOOD)->matters)
                return false;
    return comparison->n_pairs > 0;
}

void stv_words_cycling(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_comparison *comparison = &answer->cycling;
    if (!isfinite(answer->cycling_gain_per_k))
        return;
    stv_prose_heading(text, "Wood without and with daily swings counted");
    stv_prose_wrap(
        text, 2,
        "Whether swings of temperature draw more from the wood is disputed. Here each K "
        "of daily swing of the spirit hastens the wood's fast part by %s %% "
        "(judgement); in a year or two that part is drawn out either way. Your reference "
        "cask swings as well.",
        stv_format_number(100.0 * answer->cycling_gain_per_k, 1).text);
    stv_prose_add(text, "  %-8s %8s %19s %19s %19s\n", "cask", "", "wood without", "with",
                  "oak drawn out, %");
    for (size_t p = 0; p < comparison->n_pairs; p++)
        for (size_t d = 0; d < comparison->n_days; d++)
            add_cycling_row(text, answer, p, d);
    if (does_cycling_not_matter(comparison))
        stv_prose_wrap(text, 2,
                       "It does not matter here: on none of these days are the two further apart "
                       "than 0.04 of the reference cask's wood.");
    stv_text_add(text, "\n");
}
