/* The rules that an answer was held against, each with its source and date, and the casks that are
 * not as they ask. */
#include "cli/bench_age.h"
#include "cli/market.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LISTED_MOST 40
#define REST_MAX 160
/* Strengths this near are one. */
#define ROUNDING_FRAC 0.00005

/* "3, 4 and 7": casks of the book with a fault; empty when none has it. */
static size_t add_casks(struct stv_text *text, const struct stv_chain *chain,
                        enum stv_market_fault fault)
{
    size_t n = 0, k = 0;
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
        n += stv_market_finds(chain, c, fault);
    for (size_t c = 0; c < chain->book.ledger.n_casks && k < LISTED_MOST; c++)
        if (stv_market_finds(chain, c, fault)) {
            stv_prose_add(text, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                          chain->book.ledger.casks[c].id);
            k++;
        }
    if (n > k)
        stv_prose_add(text, " and %zu more", n - k);
    return n;
}

static void add_fault(struct stv_text *text, const struct stv_chain *chain,
                      enum stv_market_fault fault, const char *lead)
{
    struct stv_text ids = {0};
    if (add_casks(&ids, chain, fault) > 0)
        stv_prose_wrap(text, 4, "%s: %s.", lead, stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

const char *stv_words_rule_date(const struct stv_rule *rule)
{
    return strcmp(rule->date, "unknown") == 0 ? "undated" : rule->date;
}

/* "(27 CFR 5.143(a); law, 2026-06-20)" */
static void add_rule(struct stv_text *text, const char *what, const struct stv_rule *rule,
                     const char *rest)
{
    if (rule->text[0])
        stv_prose_wrap(text, 2, "%s: %s (%s; %s, %s).%s", what, rule->text, rule->source,
                       rule->seen, stv_words_rule_date(rule), isnan(rule->value) ? "" : rest);
    else
        stv_prose_wrap(text, 2, "%s: not among its rules.", what);
}

static void add_strength(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_market *market)
{
    const struct stv_book *book = &chain->book;
    const struct stv_rule *least = &market->bottled_least_abv20_frac;
    char rest[REST_MAX];
    snprintf(rest, sizeof rest,
             book->market.sets_strength ? " %s %%vol at 20 " STV_PROSE_DEGREE
                                          "C, which stands here in the place of the book's %s."
                                        : " %s %%vol at 20 " STV_PROSE_DEGREE
                                          "C: the %s that the book allows asks as much or more.",
             stv_format_number(100.0 * least->value, 2).text,
             stv_words_percent(chain->named.house_abv20_frac).text);
    add_rule(text, "Least in the bottle", least, rest);
    if (book->rules.bottling_abv20_frac < least->value - ROUNDING_FRAC)
        stv_prose_wrap(text, 4, "LOOK: `targets: bottling_strength`, %s %%vol, lies under it.",
                       stv_words_percent(book->rules.bottling_abv20_frac).text);
    if (book->water.is_said && book->water.rules.to_abv20_frac < least->value - ROUNDING_FRAC)
        stv_prose_wrap(text, 4, "LOOK: `water: to`, %s %%vol, lies under it.",
                       stv_words_percent(book->water.rules.to_abv20_frac).text);
}

static void add_age(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_market *market)
{
    const char *words = stv_bench_clock_words(market->age_clock);
    char rest[REST_MAX];
    snprintf(rest, sizeof rest,
             chain->book.market.sets_age
                 ? " It stands here in the place of the book's %s y, by the calendar from the fill "
                   "of the youngest part."
                 : " The %s y that the book wants asks as much or more.",
             stv_format_number(chain->named.house_age_y, 1).text);
    add_rule(text, "Least age", &market->age_least_y, rest);
    if (!words) {
        add_rule(text, "Age", &market->age_clock_rule, "");
        return;
    }
    stv_prose_wrap(text, 2, "Age: only time in %s counts (%s; %s, %s).", words,
                   market->age_clock_rule.source, market->age_clock_rule.seen,
                   market->age_clock_rule.date);
    add_fault(text, chain, STV_MARKET_STANDS, "It does not run in the wood where these lie");
    add_fault(text, chain, STV_MARKET_UNSURE,
              "Not known of the wood where these lie (`toast` and wood in casks.csv say it)");
}

static void add_size(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_market *market)
{
    const struct stv_cask_plan *plan = &chain->book.cask_plan;
    add_rule(text, "Largest cask", &market->cask_most_l, "");
    add_fault(text, chain, STV_MARKET_TOO_LARGE, "LOOK: larger");
    for (size_t i = 0; i < plan->n_fills; i++)
        if (stv_market_is_too_large(market, plan->fills[i].fill.capacity_l))
            stv_prose_wrap(text, 4, "LOOK: `cask_plan` fills casks of %s L on %s.",
                           stv_format_number(plan->fills[i].fill.capacity_l, 0).text,
                           stv_format_day(plan->fills[i].fill.day_d).text);
}

/* Whether the market leaves every rule of the book and every cask as they are. */
static bool is_idle(const struct stv_chain *chain)
{
    const struct stv_market *market = chain->named.market;
    const struct stv_book *book = &chain->book;
    double least = market->bottled_least_abv20_frac.value - ROUNDING_FRAC;
    bool finds = book->market.sets_strength || book->market.sets_age ||
                 book->rules.bottling_abv20_frac < least ||
                 (book->water.is_said && book->water.rules.to_abv20_frac < least);
    for (size_t c = 0; c < book->ledger.n_casks && !finds; c++)
        for (int fault = 0; fault < STV_MARKET_FAULT_N && !finds; fault++)
            finds = stv_market_finds(chain, c, (enum stv_market_fault)fault);
    for (size_t i = 0; i < book->cask_plan.n_fills && !finds; i++)
        finds = stv_market_is_too_large(market, book->cask_plan.fills[i].fill.capacity_l);
    return !finds;
}

void stv_words_market_beside(struct stv_text *text, const struct stv_chain *chain)
{
    if (!chain->named.market || chain->basis == STV_BASIS_ALL || !is_idle(chain))
        stv_words_market(text, chain);
    else
        stv_prose_wrap(
            text, 0,
            "Held against the rules of %s, which change nothing here (`stavecast check%s%s` "
            "shows them; not legal advice).",
            chain->named.market->name, chain->named.is_of_book ? "" : " --market ",
            chain->named.is_of_book ? "" : chain->named.market->name);
}

void stv_words_market(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_market *market = chain->named.market;
    if (!market)
        return;
    stv_prose_heading(text, "Held against the rules of %s", market->name);
    stv_prose_wrap(text, 2, "%s; %s.", market->label,
                   chain->named.is_of_book ? "`market:` in book.yaml names it, --market none "
                                             "leaves it aside"
                                           : "--market names it");
    add_strength(text, chain, market);
    add_age(text, chain, market);
    add_rule(text, "Most into the cask", &market->entry_most_abv20_frac, "");
    add_fault(text, chain, STV_MARKET_TOO_STRONG, "LOOK: filled stronger");
    add_size(text, chain, market);
    stv_prose_wrap(text, 2, "Numbers held against numbers: not legal advice. Read the law itself.");
}
