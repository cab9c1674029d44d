/* When a cask passes a level, where its spirit goes, what sums hold, and what would be otherwise:
 * the parts of a forecast that are told beside its table of days. */
#include "cli/forecast_answer.h"

#include "cli/bars.h"
#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Odds below and above which a thing is said not to happen, or to be so: the ends of a range. */
#define HARDLY_FRAC 0.05
#define HALF_FRAC 0.5
#define NEARLY_ALL_FRAC 0.95
/* A span of months that is told by the month; longer ones by the year. */
#define BY_MONTH_D 550
#define HOUSE_ROWS_MOST 20

/* --- levels ------------------------------------------------------------------------------- */

static bool is_dry_level(const struct stv_threshold *threshold)
{
    return threshold->quantity == STV_Q_VOLUME20_L && threshold->level.value == STV_DRY_L;
}

/* "46 %vol", "0.6 of your reference's wood", "150 L" */
static struct stv_formatted level_words(const struct stv_threshold *threshold)
{
    double value = threshold->level.value;
    if (threshold->quantity == STV_Q_ABV20_FRAC)
        return stv_format("%s %%vol", stv_words_percent(value).text);
    if (threshold->quantity == STV_Q_WOOD_INDEX_ND)
        return stv_format("%s of your reference's wood", stv_format_number(value, 2).text);
    return stv_format("%s L%s", stv_format_number(value, 1).text,
                      is_dry_level(threshold) ? " (as good as dry)" : "");
}

static struct stv_formatted when(double day_d, double span_d)
{
    int64_t day = (int64_t)llround(day_d);
    if (span_d <= BY_MONTH_D)
        return stv_format_month(day);
    return stv_format("%d", stv_date_from_day(day).year);
}

static const char *verb(const struct stv_threshold *threshold)
{
    return threshold->level.is_fallen_to ? "Falls to" : "Reaches";
}

/* How far a cask was looked at: "Dec 2042", or "Jun 2028, when it is emptied". */
static struct stv_formatted until_words(const struct stv_forecast *forecast,
                                        const struct stv_forecast_cask *cask)
{
    if (!cask->emptied || cask->emptied->day_d > forecast->horizon_day_d)
        return stv_format_month(forecast->horizon_day_d);
    return stv_format("%s, when it is emptied", stv_format_month(cask->emptied->day_d).text);
}

/* A passing that is looked for and not found, or found in some trials alone. */
static void add_perhaps(struct stv_text *text, const char *until,
                        const struct stv_threshold *threshold, const struct stv_crossing *crossing)
{
    struct stv_formatted level = level_words(threshold);
    struct stv_formatted odds = stv_format_number(100.0 * crossing->odds_frac, 0);
    bool is_early = isfinite(crossing->earliest_d);
    if (crossing->odds_frac < HARDLY_FRAC)
        stv_prose_wrap(text, 2, "%s %s: not before %s%s.", verb(threshold), level.text, until,
                       crossing->odds_frac > 0.0
                           ? stv_format(", but for %s trials in 100", odds.text).text
                           : "");
    else if (isfinite(crossing->central_d))
        stv_prose_wrap(text, 2, "%s %s: not before %s, most likely in %s; %s chances in 100 by %s.",
                       verb(threshold), level.text,
                       stv_format_month((int64_t)crossing->earliest_d).text,
                       when(crossing->central_d, INFINITY).text, odds.text, until);
    else
        stv_prose_wrap(text, 2, "%s %s: not before %s; %s chances in 100 by %s.", verb(threshold),
                       level.text,
                       is_early ? stv_format_month((int64_t)crossing->earliest_d).text : until,
                       odds.text, until);
}

static void add_crossing(struct stv_text *text, const char *until,
                         const struct stv_threshold *threshold, const struct stv_crossing *crossing)
{
    struct stv_formatted level = level_words(threshold);
    double span_d = crossing->latest_d - crossing->earliest_d;
    if (crossing->already_frac > NEARLY_ALL_FRAC) {
        stv_prose_wrap(text, 2, "%s %s: so already.", verb(threshold), level.text);
        return;
    }
    if (!isfinite(crossing->latest_d)) {
        add_perhaps(text, until, threshold, crossing);
        return;
    }
    struct stv_formatted early = stv_format_month((int64_t)crossing->earliest_d);
    struct stv_formatted late = stv_format_month((int64_t)crossing->latest_d);
    if (strcmp(early.text, late.text) == 0)
        stv_prose_wrap(text, 2, "%s %s in %s.", verb(threshold), level.text, early.text);
    else if (crossing->already_frac > HARDLY_FRAC)
        stv_prose_wrap(
            text, 2, "Has %s %s already in %s of 100 trials%s; in 19 of 20 by %s.",
            threshold->level.is_fallen_to ? "fallen to" : "reached", level.text,
            stv_format_number(100.0 * crossing->already_frac, 0).text,
            crossing->already_frac < HALF_FRAC
                ? stv_format(", most likely does so in %s", when(crossing->central_d, span_d).text)
                      .text
                : "",
            late.text);
    else
        stv_prose_wrap(text, 2, "%s %s between %s and %s, most likely in %s.", verb(threshold),
                       level.text, early.text, late.text, when(crossing->central_d, span_d).text);
}

static bool is_strength(const struct stv_threshold *threshold)
{
    return threshold->quantity == STV_Q_ABV20_FRAC && threshold->level.is_fallen_to;
}

/* From its fill to now no row stood above the level: it cannot have fallen to it. */
static bool was_never_above(const struct stv_forecast_cask *cask,
                            const struct stv_threshold *threshold)
{
    bool is_below = threshold->level.is_fallen_to && cask->n_rows > 0;
    for (size_t i = 0; i < cask->n_rows && is_below; i++)
        if (cask->rows[i].day_d <= cask->now.day_d)
            is_below = cask->rows[i].quantity[threshold->quantity].p95 <= threshold->level.value;
    return is_below && cask->now.quantity[threshold->quantity].p95 <= threshold->level.value;
}

void stv_words_crossings(struct stv_text *text, const struct stv_forecast *forecast,
                         const struct stv_forecast_cask *cask)
{
    double now_frac = cask->now.quantity[STV_Q_ABV20_FRAC].p50;
    bool is_rising = cask->end.quantity[STV_Q_ABV20_FRAC].p50 > now_frac;
    struct stv_formatted until = until_words(forecast, cask);
    struct stv_text never = {0};
    for (size_t t = 0; cask->crossings && t < forecast->n_thresholds; t++) {
        const struct stv_threshold *threshold = &forecast->thresholds[t];
        if (is_dry_level(threshold) && cask->crossings[t].odds_frac < HARDLY_FRAC)
            continue;
        if (is_strength(threshold) && is_rising && cask->crossings[t].odds_frac < HARDLY_FRAC)
            stv_prose_add(&never, "%s%s", never.n ? " or " : "", level_words(threshold).text);
        else if (was_never_above(cask, threshold))
            stv_prose_wrap(text, 2, "Falls to %s: never above it since its fill.",
                           level_words(threshold).text);
        else
            add_crossing(text, until.text, threshold, &cask->crossings[t]);
    }
    if (never.n)
        stv_prose_wrap(text, 2, "Its strength rises: it does not fall to %s before %s.",
                       stv_text_string(&never), until.text);
    text->has_failed = text->has_failed || never.has_failed;
    stv_text_free(&never);
}

/* --- a house's levels --------------------------------------------------------------------- */

struct passing {
    const struct stv_forecast_cask *cask;
    const struct stv_crossing *crossing;
};

static int compare_passings(const void *a, const void *b)
{
    const struct passing *x = a, *y = b;
    if (x->crossing->central_d != y->crossing->central_d)
        return x->crossing->central_d < y->crossing->central_d ? -1 : 1;
    if (x->crossing->odds_frac != y->crossing->odds_frac)
        return x->crossing->odds_frac > y->crossing->odds_frac ? -1 : 1;
    return (x->cask->cask_idx > y->cask->cask_idx) - (x->cask->cask_idx < y->cask->cask_idx);
}

static struct stv_formatted passing_day(const struct stv_crossing *crossing, double day_d)
{
    if (crossing->already_frac > NEARLY_ALL_FRAC)
        return stv_format("so already");
    return isfinite(day_d) ? stv_format_month((int64_t)day_d) : stv_format("%s", "not by then");
}

static void add_house_level(struct stv_text *text, const struct stv_forecast_answer *answer,
                            size_t threshold_idx, struct passing *list)
{
    const struct stv_forecast *forecast = answer->forecast;
    const struct stv_threshold *threshold = &forecast->thresholds[threshold_idx];
    size_t n = 0, n_already = 0;
    for (size_t i = 0; i < forecast->n_casks; i++) {
        const struct stv_forecast_cask *cask = &forecast->casks[i];
        if (!cask->crossings || cask->crossings[threshold_idx].odds_frac < HARDLY_FRAC)
            continue;
        n_already += cask->crossings[threshold_idx].already_frac > NEARLY_ALL_FRAC;
        list[n++] = (struct passing){cask, &cask->crossings[threshold_idx]};
    }
    qsort(list, n, sizeof *list, compare_passings);
    stv_prose_heading(text, "%s %s by %s: %s%s", verb(threshold), level_words(threshold).text,
                      stv_format_month(forecast->horizon_day_d).text,
                      stv_format_count(n, "cask", "casks").text,
                      n_already > 0 ? stv_format(", %zu of them so already", n_already).text : "");
    if (n)
        stv_prose_add(text, "%-16s %11s %11s %11s %14s\n", "cask", "earliest", "middle", "latest",
                      "chances in 100");
    for (size_t i = 0; i < n && i < HOUSE_ROWS_MOST; i++) {
        const struct stv_crossing *crossing = list[i].crossing;
        stv_prose_name_cell(text, answer->chain->book.ledger.casks[list[i].cask->cask_idx].id, 16,
                            0);
        stv_prose_add(text, " %11s %11s %11s %14s\n",
                      passing_day(crossing, crossing->earliest_d).text,
                      passing_day(crossing, crossing->central_d).text,
                      passing_day(crossing, crossing->latest_d).text,
                      stv_format_number(100.0 * crossing->odds_frac, 0).text);
    }
    if (n > HOUSE_ROWS_MOST)
        stv_prose_add(text, "... and %zu more: --json has them all.\n", n - HOUSE_ROWS_MOST);
    stv_text_add(text, "\n");
}

void stv_words_house_crossings(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    struct passing *list = malloc((answer->forecast->n_casks + 1) * sizeof *list);
    if (!list) {
        text->has_failed = true;
        return;
    }
    for (size_t t = 0; t < answer->forecast->n_thresholds; t++)
        add_house_level(text, answer, t, list);
    free(list);
}

/* --- losses ------------------------------------------------------------------------------- */

void stv_words_losses(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_forecast_cask *cask)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    const struct stv_losses_told *spans[2] = {&cask->gone, &cask->coming};
    double bottles_per_l = stv_bottles_of_lpa_nd(rules, 1.0);
    const struct stv_range *gone_l = &cask->gone.lpa_l[STV_LOSS_ALL];
    const struct stv_range *coming_l = &cask->coming.lpa_l[STV_LOSS_ALL];
    struct stv_text coming = {0};
    if (isfinite(coming_l->p50))
        stv_prose_add(&coming, "In the coming year: about %s, %s L.",
                      stv_format_range(stv_range_scaled(*coming_l, bottles_per_l), 0).text,
                      stv_format_range(*coming_l, 1).text);
    else
        stv_prose_add(&coming, "It does not stay full for the coming year (-).");
    stv_prose_wrap(text, 2,
                   "Gone since the fill: about %s bottles' worth, %s L of pure alcohol. %s",
                   stv_format_range(stv_range_scaled(*gone_l, bottles_per_l), 0).text,
                   stv_format_range(*gone_l, 1).text, stv_text_string(&coming));
    text->has_failed = text->has_failed || coming.has_failed;
    stv_text_free(&coming);
    stv_prose_add(text, "\n  %-20s %26s   %26s\n", "", "since the fill", "in the coming year");
    stv_prose_add(text, "  %-20s %8s %9s %7s   %8s %9s %7s\n", "", "bottles", "alcohol L", "litres",
                  "bottles", "alcohol L", "litres");
    for (size_t l = 0; l < STV_LOSS_N; l++) {
        stv_prose_add(text, "  %-20s", stv_loss_name((enum stv_loss)l));
        for (int i = 0; i < 2; i++)
            stv_prose_add(text, "%s %8s %9s %7s", i ? "  " : "",
                          stv_format_number(spans[i]->lpa_l[l].p50 * bottles_per_l, 1).text,
                          stv_format_number(spans[i]->lpa_l[l].p50, 1).text,
                          stv_format_number(spans[i]->volume20_l[l].p50, 1).text);
        stv_text_add(text, "\n");
    }
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask->cask_idx);
    bool is_filled =
        spirit.is_there && chain->book.ledger.events[spirit.begin_idx].kind == STV_EVENT_FILL;
    if (spirit.is_there && (!is_filled || !spirit.is_single))
        stv_prose_wrap(text, 2,
                       "Since the fill of its spirit: what that lost in the casks before, by the "
                       "share that came here, is in it.");
    if (chain->run.n_draws > 0)
        stv_prose_wrap(text, 2, "Middle values, which need not add up.");
}

/* --- sums --------------------------------------------------------------------------------- */

#define SUM_COLUMNS 25 /* 79 with the columns behind it */
#define BAR_COLUMNS 54 /* likewise */

/* A long name has a line of its own: cut, two kinds of cask could look alike. */
static void add_sum_name(struct stv_text *text, const char *name)
{
    if (stv_prose_columns(name, strlen(name)) > SUM_COLUMNS) {
        stv_prose_add(text, "%s\n", name);
        name = "";
    }
    stv_prose_cell(text, name, SUM_COLUMNS);
}

static void add_sum_losses(struct stv_text *text, const struct stv_forecast *forecast, bool is_end,
                           int64_t day_d)
{
    static const char *const heads[STV_LOSS_N] = {"wood",    "joints", "staves",
                                                  "samples", "leaks",  "all"};
    stv_prose_add(text, "\nPure alcohol gone by %s of what is there then, litres\n",
                  stv_format_month(day_d).text);
    stv_prose_add(text, "%-*s", SUM_COLUMNS, "");
    for (size_t l = 0; l < STV_LOSS_N; l++)
        stv_prose_add(text, " %8s", heads[l]);
    stv_text_add(text, "\n");
    for (size_t s = 0; s < forecast->n_sums; s++) {
        const struct stv_forecast_totals *totals =
            is_end ? &forecast->sums[s].end : &forecast->sums[s].now;
        add_sum_name(text, forecast->sums[s].name);
        for (size_t l = 0; l < STV_LOSS_N; l++)
            stv_prose_add(text, " %8s", stv_format_number(totals->gone.lpa_l[l].p50, 0).text);
        stv_text_add(text, "\n");
    }
}

/* Pure alcohol now and at the end of each sum, for a terminal. */
static void add_sum_bars(struct stv_text *text, const struct stv_forecast *forecast)
{
    struct stv_bar_scale scale = {0.0, 0.0, BAR_COLUMNS};
    struct stv_bar bars[2];
    if (forecast->n_sums < 2)
        return;
    for (int is_drawn = 0; is_drawn <= 1; is_drawn++) {
        if (is_drawn) {
            stv_prose_drawing(text);
            stv_text_add(text, "\n");
            stv_prose_drawing(text);
            stv_prose_add(text, "%-*s", SUM_COLUMNS, "alcohol: O now, o then");
            stv_bar_scale_add(text, &scale, 0, "L");
            stv_text_add(text, "\n");
        }
        for (size_t s = 0; s < forecast->n_sums; s++) {
            const struct stv_range *now = &forecast->sums[s].now.lpa_l;
            const struct stv_range *then = &forecast->sums[s].end.lpa_l;
            bars[0] = (struct stv_bar){then->p05, then->p50, then->p95, '-', 'o'};
            bars[1] = (struct stv_bar){now->p05, now->p50, now->p95, '=', 'O'};
            stv_bar_scale_hold(&scale, &bars[0]);
            stv_bar_scale_hold(&scale, &bars[1]);
            if (!is_drawn)
                continue;
            stv_prose_drawing(text);
            stv_prose_cell(text, forecast->sums[s].name, SUM_COLUMNS);
            stv_bars_add(text, &scale, bars, 2);
            stv_text_add(text, "\n");
        }
    }
}

void stv_words_sums(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    static const char *const of[] = {
        [STV_BY_CASK] = "cask", [STV_BY_LOT] = "lot", [STV_BY_TIER] = "tier", [STV_BY_HOUSE] = ""};
    stv_prose_add(text, "\n%-*s %4s %23s  %23s\n", SUM_COLUMNS, "", "",
                  stv_format_month(answer->chain->as_of_day_d).text,
                  stv_format_month(forecast->end_day_d).text);
    stv_prose_add(text, "%-*s %4s %7s %7s %7s  %7s %7s %7s\n", SUM_COLUMNS, of[answer->by], "no.",
                  "litres", "alcohol", "bottles", "litres", "alcohol", "bottles");
    for (size_t s = 0; s < forecast->n_sums; s++) {
        const struct stv_forecast_sum *sum = &forecast->sums[s];
        add_sum_name(text, sum->name);
        stv_prose_add(text, " %4zu", sum->n_casks);
        for (int i = 0; i < 2; i++) {
            const struct stv_forecast_totals *totals = i ? &sum->end : &sum->now;
            stv_prose_add(text, "%s %7s %7s %7s", i ? " " : "",
                          stv_format_number(totals->volume20_l.p50, 0).text,
                          stv_format_number(totals->lpa_l.p50, 0).text,
                          stv_format_number(totals->bottles_nd.p50, 0).text);
        }
        stv_text_add(text, "\n");
    }
    add_sum_bars(text, forecast);
    add_sum_losses(text, forecast, false, answer->chain->as_of_day_d);
    add_sum_losses(text, forecast, true, forecast->end_day_d);
    stv_text_add(text, "\n");
    stv_prose_wrap(
        text, 0, "Middle values of sums made trial by trial; --json has their ranges. %s",
        answer->by == STV_BY_LOT ? "A lot is what was filled on one day into one kind of cask."
        : answer->by == STV_BY_TIER
            ? "A tier holds the casks that lie there today, wherever they go later."
            : "");
    if (forecast->n_unsummed)
        stv_prose_wrap(text, 0, "%s empty today and in no sum.",
                       stv_format_count(forecast->n_unsummed, "cask is", "casks are").text);
    stv_text_add(text, "\n");
}
