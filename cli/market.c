/* Which market, what it changes in the house's rules, and what is not as it asks.  A cask is held
 * against it by its own fill and by the wood in which its spirit lies; where that spirit lay before
 * is told by `forecast --cask`. */
#include "cli/market.h"

#include "cli/bench_limit.h"
#include "cli/json.h"
#include "cli/messages.h"
#include "cli/transfer.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define ADVICE_MAX 256

void stv_named_market_free(struct stv_named_market *named)
{
    stv_markets_free(&named->markets);
    *named = (struct stv_named_market){0};
}

/* What each market asks, for whoever named one that there is not. */
static void show_markets(const struct stv_markets *markets)
{
    stv_messages_error("%-24s %-14s %-14s %-9s %-8s", "market", "least bottled", "most in cask",
                       "least age", "cask");
    for (size_t i = 0; i < markets->n; i++) {
        const struct stv_market *market = &markets->items[i];
        stv_messages_error(
            "%-24s %-14s %-14s %-9s %-8s", market->name, market->bottled_least_abv20_frac.text,
            market->entry_most_abv20_frac.text, market->age_least_y.text, market->cask_most_l.text);
    }
    stv_messages_error("(empty: not known; sources: stavecast help --markets)");
}

/* Nobody has such a market. */
static enum stv_status refuse_name(const struct stv_named_market *named, const char *name,
                                   const struct stv_book *book, struct stv_problems *problems,
                                   char *why, size_t size)
{
    char advice[ADVICE_MAX], path[sizeof book->folder + sizeof "/book.yaml"];
    stv_markets_advice(&named->markets, name, advice, sizeof advice);
    const char *stop = advice[0] && advice[strlen(advice) - 1] == '?' ? "" : ".";
    if (named->is_of_book) {
        snprintf(path, sizeof path, "%s%sbook.yaml", book->folder, book->folder[0] ? "/" : "");
        stv_problem_add(problems, STV_REFUSED, path, book->market.line, book->market.column, name,
                        "market %s%s `stavecast help --markets` prints the rules of each, `none` "
                        "is none",
                        advice, stop);
        return STV_E_PARSE;
    }
    snprintf(why, size, "--market \"%.60s\" %s%s None was applied.", name, advice, stop);
    show_markets(&named->markets);
    return STV_E_USAGE;
}

enum stv_status stv_market_take(const struct stv_options *options, const struct stv_book *book,
                                struct stv_problems *problems, struct stv_named_market *out,
                                char *why, size_t size)
{
    const char *name =
        stv_options_has(options, STV_OPT_MARKET) ? stv_options_text(options, STV_OPT_MARKET) : NULL;
    const char *rules =
        stv_options_has(options, STV_OPT_RULES) ? stv_options_text(options, STV_OPT_RULES) : NULL;
    *out = (struct stv_named_market){.is_of_book = !name && book && book->market.name[0]};
    if (out->is_of_book)
        name = book->market.name;
    bool is_named = name && !stv_market_is_none(name);
    if (rules && !is_named) {
        snprintf(why, size, "--rules does nothing without --market: name one of its markets%s.",
                 book ? ", or one as `market:` in book.yaml" : "");
        return STV_E_USAGE;
    }
    if (!is_named)
        return STV_OK;
    enum stv_status status = stv_markets_read(rules, problems, &out->markets);
    if (status != STV_OK) {
        snprintf(why, size, "The market rules cannot be used.");
        return status;
    }
    out->market = stv_markets_find(&out->markets, name);
    return out->market ? STV_OK : refuse_name(out, name, book, problems, why, size);
}

void stv_market_apply(struct stv_named_market *named, struct stv_book *book)
{
    struct stv_house_rules *rules = &book->rules;
    struct stv_reduction_rules *water = &book->water.rules;
    named->house_abv20_frac = rules->least_abv20_frac;
    named->house_age_y = rules->least_age_y;
    if (!named->market)
        return;
    double abv20_frac = named->market->bottled_least_abv20_frac.value;
    double age_y = named->market->age_least_y.value;
    book->market.sets_strength = abv20_frac > rules->least_abv20_frac;
    book->market.sets_age = age_y > rules->least_age_y;
    if (book->market.sets_strength)
        rules->least_abv20_frac = abv20_frac;
    if (book->market.sets_age)
        rules->least_age_y = age_y;
    /* A target under it is said, not moved: the house's own plan stays as the house wrote it. */
    if (book->water.is_said && abv20_frac > water->least_abv20_frac)
        water->least_abv20_frac = fmin(abv20_frac, water->to_abv20_frac);
}

bool stv_market_is_too_strong(const struct stv_market *market, double abv20_frac)
{
    return market && !isnan(market->entry_most_abv20_frac.value) && !isnan(abv20_frac) &&
           !stv_bench_may_enter(market, abv20_frac);
}

bool stv_market_is_too_large(const struct stv_market *market, double capacity_l)
{
    return market && capacity_l > market->cask_most_l.value;
}

bool stv_market_finds(const struct stv_chain *chain, size_t cask_idx, enum stv_market_fault fault)
{
    const struct stv_market *market = chain->named.market;
    const struct stv_cask *cask = &chain->book.ledger.casks[cask_idx];
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, (int)cask_idx);
    if (!market || !spirit.is_there)
        return false;
    const struct stv_event *begin = &chain->book.ledger.events[spirit.begin_idx];
    bool has_clock = market->age_clock != STV_AGE_CLOCK_UNKNOWN;
    enum stv_clock_verdict clock =
        stv_bench_clock(market->age_clock, stv_transfer_wood(cask, spirit.use_idx));
    switch (fault) {
    case STV_MARKET_TOO_STRONG:
        return begin->kind == STV_EVENT_FILL && stv_market_is_too_strong(market, begin->abv20_frac);
    case STV_MARKET_TOO_LARGE:
        return stv_market_is_too_large(market, cask->geometry.capacity_l);
    case STV_MARKET_STANDS:
        return has_clock && clock == STV_CLOCK_STANDS;
    case STV_MARKET_UNSURE:
        return has_clock && clock == STV_CLOCK_UNSURE;
    case STV_MARKET_FAULT_N:
        break;
    }
    return false;
}

static json_t *rule_object(const struct stv_rule *rule)
{
    if (!rule->text[0])
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "value", stv_json_text(rule->text));
    stv_json_set(object, "source", stv_json_text(rule->source));
    stv_json_set(object, "seen", stv_json_text(rule->seen));
    stv_json_set(object, "date", stv_json_text(rule->date));
    return object;
}

json_t *stv_market_json(const struct stv_market *market)
{
    if (!market)
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "name", stv_json_text(market->name));
    stv_json_set(object, "label", stv_json_text(market->label));
    stv_json_set(object, "bottled_least", rule_object(&market->bottled_least_abv20_frac));
    stv_json_set(object, "entry_most", rule_object(&market->entry_most_abv20_frac));
    stv_json_set(object, "age_least", rule_object(&market->age_least_y));
    stv_json_set(object, "cask_most", rule_object(&market->cask_most_l));
    stv_json_set(object, "label_tolerance", rule_object(&market->label_tolerance_abv20_frac));
    stv_json_set(object, "age_clock", rule_object(&market->age_clock_rule));
    stv_json_set(object, "duty_rounding", rule_object(&market->duty_rounding));
    return object;
}

json_t *stv_market_json_of_chain(const struct stv_chain *chain)
{
    static const char *const keys[STV_MARKET_FAULT_N] = {
        "casks_filled_too_strong", "casks_too_large", "casks_age_stands", "casks_age_not_known"};
    json_t *object = stv_market_json(chain->named.market);
    if (!chain->named.market)
        return object;
    stv_json_set(object, "named_by",
                 stv_json_text(chain->named.is_of_book ? "book.yaml" : "--market"));
    for (int f = 0; f < STV_MARKET_FAULT_N; f++) {
        json_t *ids = json_array();
        for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
            if (stv_market_finds(chain, c, (enum stv_market_fault)f))
                stv_json_append(ids, stv_json_text(chain->book.ledger.casks[c].id));
        stv_json_set(object, keys[f], ids);
    }
    return object;
}
