/* The report's first screen: the answers of all commands, the shortest form of each; of a page
 * without forecasts what the ledger and the racks say. */
#include "cli/words.h"

#include "cli/cask_state.h"
#include "cli/chain_cask_learning.h"
#include "cli/prose.h"
#include "cli/report_answers.h"
#include "model/calendar.h"

#include <stdio.h>

#define LOOKS_MOST 6
#define NOSES_MOST 6
#define ORDER_MONTHS 6 /* an order to place within so many months is told */

static size_t count_never_nosed(const struct stv_chain *chain)
{
    size_t n = 0;
    for (int c = 0; c < (int)chain->book.ledger.n_casks; c++)
        n += stv_fill_event(chain, c) >= 0 && stv_last_nose(chain, c) < 0;
    return n;
}

/* "Open 12, 18 and 26 by 31 December 2027": what narrows most, by rank. */
static size_t add_opens(struct stv_text *text, const struct stv_month_answer *month)
{
    struct stv_text ids = {0};
    size_t n = month->n_visits < NOSES_MOST ? month->n_visits : NOSES_MOST;
    for (size_t rank = 1; rank <= n; rank++)
        for (size_t i = 0; i < month->n_visits; i++)
            if (month->visits[i].rank == rank)
                stv_prose_add(&ids, "%s%s",
                              rank == 1   ? ""
                              : rank == n ? " and "
                                          : ", ",
                              month->chain->book.ledger.casks[month->visits[i].cask_idx].id);
    if (n)
        stv_prose_wrap(text, 2,
                       "Open %s by %s, to gauge or nose: of all casks they narrow most what is "
                       "known of wood and litres.",
                       stv_text_string(&ids), stv_format_day(month->to_d).text);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
    return n;
}

/* What the commands' answers ask for; returns how many. */
static size_t add_asked(struct stv_text *text, const struct stv_first_screen *screen)
{
    const struct stv_report_answers *answers = screen->answers;
    struct stv_text closing = {0};
    size_t n = 0;
    if (screen->bottling && stv_words_closing(&closing, screen->chain, screen->bottling)) {
        stv_prose_wrap(text, 2, "Windows to bottle in. %s", stv_text_string(&closing));
        n++;
    }
    text->has_failed = text->has_failed || closing.has_failed;
    stv_text_free(&closing);
    if (answers->has_month && answers->month.is_unlearned) {
        if (!stv_words_learned_stale(text, screen->chain))
            stv_prose_wrap(text, 2,
                           "The gauges are not learned yet: stavecast learn says which casks may "
                           "leak, and which to open next.");
        n++;
    }
    if (answers->has_month)
        n += add_opens(text, &answers->month);
    if (answers->has_stock)
        n += stv_words_orders(text, &answers->stock,
                              stv_day_add_months(screen->chain->as_of_day_d, ORDER_MONTHS));
    return n;
}

/* What was wrong or doubtful in the book's files; returns how many lines. */
static size_t add_problems(struct stv_text *text, const struct stv_problems *problems)
{
    size_t n_out = problems->n_by_severity[STV_REFUSED] + problems->n_by_severity[STV_SET_ASIDE];
    size_t n_suspect = problems->n_by_severity[STV_SUSPECT];
    if (n_out > 0)
        stv_prose_wrap(text, 2,
                       "Set aside or refused in the book's files: %s. stavecast check lists what.",
                       stv_format_count(n_out, "value or row", "values or rows").text);
    if (n_suspect > 0)
        stv_prose_wrap(text, 2, "Doubtful in loggers and weather: %s. stavecast check lists what.",
                       stv_format_count(n_suspect, "value or row", "values or rows").text);
    return (size_t)(n_out > 0) + (size_t)(n_suspect > 0);
}

static void add_looks(struct stv_text *text, const struct stv_first_screen *screen)
{
    stv_prose_heading(text, "LOOK AT FIRST");
    size_t n = stv_words_gauges(text, screen->chain, screen->forecast, LOOKS_MOST);
    n += add_asked(text, screen);
    n += add_problems(text, &screen->chain->problems);
    if (n == 0)
        stv_prose_wrap(text, 2, "%s",
                       screen->chain->book.n_gauges > 0
                           ? "Nothing stands out: no gauge disagrees with the forecast."
                           : "Nothing to hold the forecast against: no cask was gauged yet.");
}

static void add_least_sure(struct stv_text *text, const struct stv_first_screen *screen)
{
    size_t n_full, n_empty, n_unnosed = count_never_nosed(screen->chain);
    stv_count_casks(screen->chain, &n_full, &n_empty);
    stv_prose_heading(text, "LEAST SURE OF");
    if (n_unnosed > 0)
        stv_prose_wrap(text, 2, "Wood in the %zu of %zu casks never nosed since they were filled.",
                       n_unnosed, n_full);
    for (size_t i = 0; i < screen->chain->book.n_warehouses; i++) {
        const struct stv_chain_warehouse *warehouse = &screen->chain->warehouses[i];
        struct stv_text tiers = {0};
        for (size_t k = 0; k < warehouse->n_tiers; k++)
            if (!(warehouse->positions[k].measured_frac > 0.0))
                stv_prose_add(&tiers, "%s%zu", tiers.n ? ", " : "", k + 1);
        if (tiers.n)
            stv_prose_wrap(text, 2, "%s: tiers without a logger: %s.",
                           screen->chain->book.warehouses[i].name, stv_text_string(&tiers));
        text->has_failed = text->has_failed || tiers.has_failed;
        stv_text_free(&tiers);
    }
}

static void add_release(struct stv_text *text, const struct stv_first_screen *screen)
{
    const struct stv_report_answers *answers = screen->answers;
    stv_prose_heading(text, "NEXT RELEASE");
    stv_words_not_promised(text, &answers->release);
    if (answers->release.n_planned > 0)
        stv_words_planned_head(text, &answers->release, 0);
    else
        stv_prose_wrap(text, 0, "No bottling is planned in book.yaml (`bottlings:`).");
}

static void add_water(struct stv_text *text, const struct stv_first_screen *screen)
{
    const struct stv_report_answers *answers = screen->answers;
    stv_prose_heading(text, "NEXT WATER");
    if (answers->has_water)
        stv_words_water_next(text, screen->chain, &answers->water);
    else
        stv_prose_wrap(text, 0, "%s",
                       screen->chain->book.water.is_said
                           ? "Of a house as large as this, stavecast water tells it."
                           : "book.yaml says nothing of how casks are brought down (`water:`).");
}

static void add_ahead(struct stv_text *text, const struct stv_first_screen *screen)
{
    add_release(text, screen);
    add_water(text, screen);
    if (screen->answers->has_stock) {
        stv_prose_heading(text, "THE YEAR TO COME");
        stv_words_stock_year(text, &screen->answers->stock);
    }
}

static void add_racks(struct stv_text *text, const struct stv_first_screen *screen)
{
    stv_prose_heading(text, "THE RACKS");
    for (size_t i = 0; i < screen->climate->n_warehouses; i++) {
        if (screen->climate->n_warehouses > 1)
            stv_prose_wrap(text, 0, "%s:", screen->climate->warehouses[i].name);
        if (screen->climate->warehouses[i].n_tiers > 0)
            stv_words_climate_answer(text, &screen->climate->warehouses[i],
                                     screen->chain->despite_holes);
    }
}

static void add_end(struct stv_text *text, const struct stv_first_screen *screen)
{
    add_least_sure(text, screen);
    stv_prose_wrap(text, 0,
                   "Planning figures. Not a duty account, not a loss account. Not a "
                   "safety assessment.");
}

/* How many gauges there are up to the day of the answer, and the last day of one. */
static void add_gauged(struct stv_text *text, const struct stv_chain *chain)
{
    size_t n = 0, n_set_aside = 0;
    int64_t last_d = INT64_MIN;
    for (size_t g = 0; g < chain->book.n_gauges; g++) {
        const struct stv_gauge *gauge = &chain->book.gauges[g];
        if (gauge->day_d > chain->as_of_day_d)
            continue;
        last_d = gauge->day_d > last_d ? gauge->day_d : last_d;
        n_set_aside += gauge->is_suspect;
        n++;
    }
    char aside[64] = "";
    if (n_set_aside > 0)
        snprintf(aside, sizeof aside, "; %zu of them %s not used", n_set_aside,
                 n_set_aside == 1 ? "is" : "are");
    if (n > 0)
        stv_prose_wrap(text, 0, "gauges.csv has %s, the last of %s%s.",
                       stv_format_count(n, "gauge", "gauges").text, stv_format_day(last_d).text,
                       aside);
    else
        stv_prose_wrap(text, 0, "No cask was gauged yet.");
}

void stv_words_ledger_screen(struct stv_text *text, const struct stv_first_screen *screen)
{
    const struct stv_chain *chain = screen->chain;
    const struct stv_problems *problems = &chain->problems;
    size_t n_full, n_empty;
    stv_count_casks(chain, &n_full, &n_empty);
    stv_prose_wrap(text, 0, "Forecasts are left out of this page: stavecast report %s shows them.",
                   chain->book.folder);
    stv_prose_wrap(text, 0, "By the ledger %s spirit; %s empty.",
                   stv_format_count(n_full, "cask holds", "casks hold").text,
                   stv_format_count(n_empty, "cask is", "casks are").text);
    add_gauged(text, chain);
    if (problems->n_by_severity[STV_REFUSED] + problems->n_by_severity[STV_SET_ASIDE] +
            problems->n_by_severity[STV_SUSPECT] >
        0) {
        stv_prose_heading(text, "LOOK AT FIRST");
        add_problems(text, problems);
    }
    add_racks(text, screen);
    add_end(text, screen);
}

void stv_words_first_screen(struct stv_text *text, const struct stv_first_screen *screen)
{
    if (screen->forecast) {
        stv_words_learning_left_out(text, screen->chain);
        stv_words_forecast_answer(text, screen->chain, screen->forecast);
        add_looks(text, screen);
    } else {
        stv_prose_wrap(text, 0, "The book holds no full cask yet.");
    }
    if (screen->forecast)
        add_ahead(text, screen);
    add_racks(text, screen);
    if (screen->sites) {
        stv_prose_heading(text, "SITES");
        stv_words_sites_answer(text, screen->sites);
    }
    if (screen->changes) {
        stv_prose_heading(text, "CHANGES OF THE BUILDING");
        for (size_t s = 0; s < screen->study->n_sites; s++)
            stv_words_changes_answer(text, screen->study, s, &screen->changes[s]);
        stv_prose_wrap(text, 2, "Tier by tier, and what it rests on: stavecast sites.");
    }
    add_end(text, screen);
}
