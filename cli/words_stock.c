/* What the house holds year by year, what the angels will have had and what that is worth, and when
 * to order casks. */
#include "cli/stock.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LABEL_COLUMNS 25
#define SURE_FRAC 0.9
#define IDS_MOST 12
#define LABELS_MOST 20 /* on one page */
#define HELD_ROW "%-9s%6s %25s%9s %27s\n"
#define LOST_ROW "%-10s %16s %10s %7s %7s %7s %8s %6s\n"

static struct stv_formatted tight(struct stv_range range, int decimals)
{
    struct stv_formatted low = stv_format_number(range.p05, decimals);
    struct stv_formatted high = stv_format_number(range.p95, decimals);
    if (strcmp(low.text, high.text) == 0)
        return stv_format_number(range.p50, decimals);
    return stv_format("%s (%s-%s)", stv_format_number(range.p50, decimals).text, low.text,
                      high.text);
}

static struct stv_range house_range(const struct stv_stock_answer *answer, size_t day_idx,
                                    enum stv_stock_figure figure)
{
    return stv_stock_range(&answer->stock, stv_stock_house(answer), day_idx, figure);
}

static struct stv_formatted middle(const struct stv_stock_answer *answer, size_t label_idx,
                                   size_t day_idx, enum stv_stock_figure figure, int decimals)
{
    return stv_format_number(stv_stock_range(&answer->stock, label_idx, day_idx, figure).p50,
                             decimals);
}

/* A figure of spans over all years, trial by trial. */
static struct stv_range over_all_years(const struct stv_stock_answer *answer,
                                       enum stv_stock_figure figure)
{
    size_t n = answer->stock.n_draws;
    double *sum = calloc(n, sizeof *sum);
    struct stv_range range = stv_range_point((double)NAN);
    if (!sum)
        return range;
    for (size_t y = 1; y <= answer->n_years; y++) {
        const double *draws =
            stv_stock_draws_nd(&answer->stock, stv_stock_house(answer), y, figure);
        for (size_t k = 0; k < n; k++)
            sum[k] += draws[k];
    }
    range = stv_range_of(sum, n);
    free(sum);
    return range;
}

static bool is_left_alone(const struct stv_stock_answer *answer)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    return ledger->n_events == 0 ||
           ledger->events[ledger->n_events - 1].day_d <= answer->chain->as_of_day_d;
}

void stv_words_stock_year(struct stv_text *text, const struct stv_stock_answer *answer)
{
    double year_frac = stv_stock_lost_frac(&answer->stock, stv_stock_house(answer), 1).p50;
    if (isfinite(year_frac))
        stv_prose_wrap(text, 0,
                       "All losses take %s %% of the alcohol in the coming year. That compounds: "
                       "five such years leave %s %%, not %s %%.",
                       stv_format_number(100.0 * year_frac, 1).text,
                       stv_format_number(100.0 * stv_left_frac(year_frac, 5.0), 1).text,
                       stv_format_number(100.0 * (1.0 - 5.0 * year_frac), 1).text);
}

static void add_answer(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_house_rules *rules = &answer->chain->book.rules;
    double bottles_per_l = stv_bottles_of_lpa_nd(rules, 1.0);
    struct stv_range angels = over_all_years(answer, STV_STOCK_ANGELS_LPA_L);
    if (answer->stock.n_full[stv_stock_house(answer) * answer->stock.n_days] == 0) {
        stv_prose_wrap(text, 0, "No cask holds spirit on %s.",
                       stv_format_day(answer->days_d[0]).text);
        return;
    }
    stv_prose_wrap(text, 0,
                   "By %s the angels will have had about %s bottles: %s litres of pure alcohol, "
                   "through the wood and at the joints.",
                   stv_format_day(answer->days_d[answer->n_years]).text,
                   stv_format_range(stv_range_scaled(angels, bottles_per_l), 0).text,
                   stv_format_range(angels, 0).text);
    stv_prose_wrap(
        text, 0,
        "Today %s hold %s litres of pure alcohol, about %s bottles at %s %%vol; %s, %s by then.",
        stv_format_count(answer->n_full, "cask", "casks").text,
        stv_format_range(house_range(answer, 0, STV_STOCK_LPA_L), 0).text,
        stv_format_range(house_range(answer, 0, STV_STOCK_BOTTLES_ND), 0).text,
        stv_words_percent(rules->bottling_abv20_frac).text,
        is_left_alone(answer) ? "left alone" : "with what history.csv plans",
        stv_format_range(house_range(answer, answer->n_years, STV_STOCK_BOTTLES_ND), 0).text);
    stv_words_stock_year(text, answer);
}

/* --- prices -------------------------------------------------------------------------------- */

/* To three figures: no price is known better. */
static double rounded(double value)
{
    double step = fabs(value) >= 1000.0 ? pow(10.0, floor(log10(fabs(value))) - 2.0) : 1.0;
    return step * round(value / step);
}

static void add_price(struct stv_text *text, const struct stv_stock_answer *answer,
                      struct stv_range amount, double price, const char *what)
{
    const char *currency = answer->chain->book.prices.currency;
    struct stv_range worth = {rounded(amount.p05 * price), rounded(amount.p25 * price),
                              rounded(amount.p50 * price), rounded(amount.p75 * price),
                              rounded(amount.p95 * price)};
    if (isfinite(price))
        stv_prose_wrap(text, 0, "At %s %s %s the angels' share of the coming year is %s %s.",
                       stv_format_number(price, floor(price) < price ? 2 : 0).text, currency, what,
                       stv_format_range(worth, 0).text, currency);
}

static void add_prices(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_prices *prices = &answer->chain->book.prices;
    struct stv_range lpa_l = house_range(answer, 1, STV_STOCK_ANGELS_LPA_L);
    double bottles_per_l = stv_bottles_of_lpa_nd(&answer->chain->book.rules, 1.0);
    add_price(text, answer, stv_range_scaled(lpa_l, bottles_per_l), prices->per_bottle, "a bottle");
    add_price(text, answer, lpa_l, prices->per_lpa, "a litre of pure alcohol");
    if (!prices->currency[0])
        stv_prose_wrap(text, 0,
                       "What it is worth: the book says no `prices:` (a bottle, a litre of "
                       "alcohol).");
}

/* --- tables -------------------------------------------------------------------------------- */

static void add_years(struct stv_text *text, const struct stv_stock_answer *answer)
{
    size_t house = stv_stock_house(answer);
    stv_prose_add(text, "\n" HELD_ROW, "held", "casks", "pure alcohol, L", "litres", "bottles");
    for (size_t y = 0; y <= answer->n_years; y++)
        stv_prose_add(
            text, HELD_ROW, stv_format_month(answer->days_d[y]).text,
            stv_format("%zu", answer->stock.n_full[house * answer->stock.n_days + y]).text,
            tight(house_range(answer, y, STV_STOCK_LPA_L), 0).text,
            middle(answer, house, y, STV_STOCK_VOLUME20_L, 0).text,
            tight(house_range(answer, y, STV_STOCK_BOTTLES_ND), 0).text);
    stv_prose_add(text, "\n%-10s %16s %10s\n", "lost in", "pure alcohol", "% of what");
    stv_prose_add(text, LOST_ROW, "the year", "L", "was held", "wood", "joints", "staves",
                  "samples", "leaks");
    for (size_t y = 1; y <= answer->n_years; y++)
        stv_prose_add(
            text, LOST_ROW, stv_format("to %s", stv_format_month(answer->days_d[y]).text).text,
            tight(house_range(answer, y, STV_STOCK_LOST_LPA_L), 0).text,
            stv_format_number(100.0 * stv_stock_lost_frac(&answer->stock, house, y).p50, 1).text,
            middle(answer, house, y, STV_STOCK_WOOD_AIR_LPA_L, 0).text,
            middle(answer, house, y, STV_STOCK_JOINTS_LPA_L, 0).text,
            middle(answer, house, y, STV_STOCK_INDRINK_LPA_L, 1).text,
            middle(answer, house, y, STV_STOCK_SAMPLES_LPA_L, 1).text,
            middle(answer, house, y, STV_STOCK_LEAK_LPA_L, 0).text);
    for (size_t y = 1; y <= answer->n_years; y++) {
        double filled_l = house_range(answer, y, STV_STOCK_FILLED_LPA_L).p50;
        struct stv_range taken = house_range(answer, y, STV_STOCK_TAKEN_LPA_L);
        if (filled_l > 0.5 || taken.p50 > 0.5)
            stv_prose_wrap(text, 0,
                           "In the year to %s history.csv fills %s L of pure alcohol and empties "
                           "%s L.",
                           stv_format_month(answer->days_d[y]).text,
                           stv_format_number(filled_l, 0).text, stv_format_range(taken, 0).text);
    }
}

/* Share that a label loses in the first year in one trial, without what leaks take: a leak is the
 * cask's and says nothing about the tier where it lies. */
static double sound_frac(const struct stv_stock *stock, size_t label, size_t trial)
{
    double lost_l = stv_stock_draws_nd(stock, label, 1, STV_STOCK_LOST_LPA_L)[trial];
    double leak_l = stv_stock_draws_nd(stock, label, 1, STV_STOCK_LEAK_LPA_L)[trial];
    return (lost_l - leak_l) / stv_stock_draws_nd(stock, label, 0, STV_STOCK_LPA_L)[trial];
}

static double middle_sound_frac(const struct stv_stock *stock, size_t label)
{
    double *fracs = malloc((stock->n_draws + 1) * sizeof *fracs);
    if (!fracs)
        return (double)NAN;
    for (size_t k = 0; k < stock->n_draws; k++)
        fracs[k] = sound_frac(stock, label, k);
    double middle_frac = stv_range_of(fracs, stock->n_draws).p50;
    free(fracs);
    return middle_frac;
}

/* In how many trials of 1 the first label loses the larger share in the first year. */
static double more_often_frac(const struct stv_stock *stock, size_t one, size_t other)
{
    size_t n_more = 0, n = 0;
    for (size_t k = 0; k < stock->n_draws; k++) {
        double a = sound_frac(stock, one, k), b = sound_frac(stock, other, k);
        if (!isfinite(a) || !isfinite(b))
            continue;
        n++;
        n_more += a > b;
    }
    return n ? (double)n_more / (double)n : (double)NAN;
}

/* A small cask loses more of what it holds wherever it lies. */
static void add_sizes(struct stv_text *text, const struct stv_stock_answer *answer, size_t one,
                      size_t other)
{
    double least_l[2], most_l[2];
    stv_stock_sizes(answer, one, &least_l[0], &most_l[0]);
    stv_stock_sizes(answer, other, &least_l[1], &most_l[1]);
    double low_l = fmin(least_l[0], least_l[1]), high_l = fmax(most_l[0], most_l[1]);
    if (answer->by == STV_STOCK_BY_TIER && low_l < high_l)
        stv_prose_wrap(text, 0,
                       "Casks of %s to %s L lie on these two, and a small one loses more of what "
                       "it holds anywhere: this does not compare the places.",
                       stv_format_number(low_l, 0).text, stv_format_number(high_l, 0).text);
}

static void add_extremes(struct stv_text *text, const struct stv_stock_answer *answer)
{
    size_t most = SIZE_MAX, least = SIZE_MAX;
    double most_frac = NAN, least_frac = NAN;
    const struct stv_stock *stock = &answer->stock;
    for (size_t l = 0; l < answer->n_by; l++) {
        double frac = middle_sound_frac(stock, l);
        if (!isfinite(frac))
            continue;
        if (most == SIZE_MAX || frac > most_frac) {
            most = l;
            most_frac = frac;
        }
        if (least == SIZE_MAX || frac < least_frac) {
            least = l;
            least_frac = frac;
        }
    }
    if (most == least)
        return;
    double odds_frac = more_often_frac(stock, most, least);
    bool has_leaks = house_range(answer, 1, STV_STOCK_LEAK_LPA_L).p95 > 0.0;
    if (odds_frac < SURE_FRAC)
        stv_prose_wrap(text, 0,
                       "%s of them can be told to lose more of what it holds than another.",
                       has_leaks ? "Leaks aside, none" : "None");
    else
        stv_prose_wrap(text, 0,
                       "%s what it holds %s loses most in the coming year, %s %%, and %s least, "
                       "%s %%: so in %s of 100 trials.",
                       has_leaks ? "Leaks aside, of" : "Of", answer->names[most],
                       stv_format_number(100.0 * most_frac, 1).text, answer->names[least],
                       stv_format_number(100.0 * least_frac, 1).text,
                       stv_format_number(100.0 * odds_frac, 0).text);
    if (!(odds_frac < SURE_FRAC))
        add_sizes(text, answer, most, least);
}

static void add_labels(struct stv_text *text, const struct stv_stock_answer *answer)
{
    static const char *const heads[] = {"tier, where they lie now", "kind of cask", "year of fill",
                                        ""};
    if (answer->by == STV_STOCK_BY_HOUSE)
        return;
    stv_prose_add(text, "\n%-*s%5s %22s  %22s\n", LABEL_COLUMNS, "", "",
                  stv_format_month(answer->days_d[0]).text,
                  stv_format_month(answer->days_d[answer->n_years]).text);
    stv_prose_add(text, "%-*s%5s %7s %7s %7s %7s %7s %8s\n", LABEL_COLUMNS, heads[answer->by],
                  "casks", "alcohol", "bottles", "lost, %", "casks", "alcohol", "bottles");
    for (size_t l = 0; l < answer->n_by && l < LABELS_MOST; l++) {
        const char *name = answer->names[l];
        size_t at = l * answer->stock.n_days;
        if (stv_prose_columns(name, strlen(name)) > LABEL_COLUMNS) {
            stv_prose_add(text, "%s\n", name);
            name = "";
        }
        stv_prose_cell(text, name, LABEL_COLUMNS);
        stv_prose_add(
            text, "%5zu %7s %7s %7s %7zu %7s %8s\n", answer->stock.n_full[at],
            middle(answer, l, 0, STV_STOCK_LPA_L, 0).text,
            middle(answer, l, 0, STV_STOCK_BOTTLES_ND, 0).text,
            stv_format_number(100.0 * stv_stock_lost_frac(&answer->stock, l, 1).p50, 1).text,
            answer->stock.n_full[at + answer->n_years],
            middle(answer, l, answer->n_years, STV_STOCK_LPA_L, 0).text,
            middle(answer, l, answer->n_years, STV_STOCK_BOTTLES_ND, 0).text);
    }
    if (answer->n_by > LABELS_MOST)
        stv_prose_add(text, "... and %zu more: --json or --csv has all.\n",
                      answer->n_by - LABELS_MOST);
    stv_prose_wrap(text, 0, "Middle values; \"lost\" is the coming year's. --json has the ranges.");
    add_extremes(text, answer);
}

/* --- casks to buy -------------------------------------------------------------------------- */

/* "8 new 200 L, 4 first-fill bourbon 200 L": of one order, those to buy. */
static void list_to_buy(struct stv_text *line, const struct stv_stock_answer *answer, int64_t day_d)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    size_t n = 0;
    for (size_t f = 0; f < plan->n_fills; f++)
        if (plan->fills[f].fill.day_d == day_d && answer->plan.fills[f].n_to_buy)
            stv_prose_add(line, "%s%zu %s", n++ ? ", " : "", answer->plan.fills[f].n_to_buy,
                          plan->fills[f].kind);
}

/* "9 refill 200 L come free": refills that come out of the racks, and casks never filled yet. */
static void list_own(struct stv_text *line, const struct stv_stock_answer *answer, int64_t day_d)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    for (size_t f = 0; f < plan->n_fills; f++) {
        size_t n_own = answer->plan.fills[f].n_own;
        bool is_refill = plan->fills[f].fill.wood == STV_BUYING_REFILL;
        if (plan->fills[f].fill.day_d == day_d && n_own)
            stv_prose_add(line, "; %zu %s %s", n_own, plan->fills[f].kind,
                          !is_refill   ? "in hand"
                          : n_own == 1 ? "comes free"
                                       : "come free");
    }
}

static void add_order(struct stv_text *text, const struct stv_stock_answer *answer,
                      const struct stv_stock_order *order)
{
    const struct stv_prices *prices = &answer->chain->book.prices;
    struct stv_text line = {0};
    if (order->n_buy) {
        stv_prose_add(&line, order->is_late ? "Order at once (%s is past): " : "Order by %s: ",
                      stv_format_day(order->order_day_d).text);
        list_to_buy(&line, answer, order->fill_day_d);
    } else
        stv_prose_add(&line, "Nothing to order");
    stv_prose_add(&line, ", for the fill of %s", stv_format_day(order->fill_day_d).text);
    list_own(&line, answer, order->fill_day_d);
    if (order->n_buy && isfinite(order->price) && prices->currency[0])
        stv_prose_add(&line, ". Together %s %s", stv_format_number(order->price, 0).text,
                      prices->currency);
    stv_prose_wrap(text, 2, "%s.", stv_text_string(&line));
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
}

bool stv_words_orders(struct stv_text *text, const struct stv_stock_answer *answer, int64_t until_d)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    bool has_any = false;
    for (size_t f = 0; f < plan->n_fills; f++) {
        struct stv_stock_order order;
        if (!stv_stock_order_of(answer, f, &order) || order.order_day_d > until_d ||
            order.fill_day_d <= answer->chain->as_of_day_d)
            continue;
        if (until_d != INT64_MAX && order.n_buy == 0)
            continue;
        add_order(text, answer, &order);
        has_any = true;
    }
    return has_any;
}

static void add_retired(struct stv_text *text, const struct stv_stock_answer *answer)
{
    int64_t last_d = answer->days_d[answer->n_years];
    size_t n = 0;
    struct stv_text ids = {0};
    for (size_t c = 0; c < answer->n_casks; c++) {
        const struct stv_buying_cask *cask = &answer->casks[c].cask;
        if (cask->n_fills_left > 0 || cask->free_day_d > last_d)
            continue;
        if (n++ < IDS_MOST)
            stv_prose_add(&ids, "%s%s (%s)", n > 1 ? ", " : "",
                          answer->chain->book.ledger.casks[cask->cask_idx].id,
                          answer->casks[c].is_empty ? "empty now"
                                                    : stv_format_month(cask->free_day_d).text);
    }
    if (n)
        stv_prose_wrap(text, 2,
                       "Have served their time, with the month they come empty: cask %s%s.",
                       stv_text_string(&ids), n > IDS_MOST ? " and more (--json)" : "");
    else
        stv_prose_wrap(text, 2, "No cask has served its time by %s.",
                       stv_format_month(last_d).text);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_plan_basis(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    bool has_both = plan->has_fills_of_new && plan->has_fills_of_used;
    const int *uses = answer->chain->book.wood_rules.most_uses;
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    size_t n_often = 0;
    stv_prose_wrap(
        text, 2,
        "A cask bought new serves %d fills of spirit, one that held spirit %d and one of "
        "fortified wine %d%s; %d months from order to delivery%s. A cask comes free when "
        "history.csv empties it, else at its planned age of %s years, at least a year ahead.",
        uses[STV_WOOD_NEW], uses[STV_WOOD_HELD_SPIRIT], uses[STV_WOOD_HELD_FORTIFIED],
        has_both ? ", as the book says"
                 : " (common practice, no published source; `wood_life:` says yours)",
        plan->lead_months, plan->has_lead ? ", as the book says" : " (judgement)",
        stv_format_number(answer->chain->book.rules.planned_age_y, 0).text);
    for (size_t c = 0; c < ledger->n_casks; c++)
        n_often += ledger->casks[c].n_fills_before > 1;
    if (n_often)
        stv_prose_wrap(text, 2,
                       "%s more than one fill before this book: how much each took out of the wood "
                       "is not known, so they are run as after one and may give less.",
                       stv_format_count(n_often, "cask had", "casks had").text);
}

static bool is_planned_kind(const struct stv_book *book, const char *kind)
{
    for (size_t f = 0; f < book->cask_plan.n_fills; f++)
        if (strcmp(book->cask_plan.fills[f].kind, kind) == 0)
            return true;
    return false;
}

/* What the book says and nothing here uses. */
static void add_unused(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    size_t n_past = 0;
    for (size_t f = 0; f < book->cask_plan.n_fills; f++)
        n_past += book->cask_plan.fills[f].fill.day_d <= answer->chain->as_of_day_d;
    if (n_past)
        stv_prose_wrap(text, 2,
                       "%s not counted: the day is past. What was filled stands in "
                       "history.csv.",
                       stv_format_count(n_past, "planned fill is", "planned fills are").text);
    for (size_t i = 0; i < book->prices.n_casks; i++)
        if (!is_planned_kind(book, book->prices.casks[i].kind))
            stv_prose_wrap(text, 2,
                           "The price of \"%s\" is used nowhere: no planned fill has this "
                           "kind.",
                           book->prices.casks[i].kind);
}

void stv_words_stock_buying(struct stv_text *text, const struct stv_stock_answer *answer)
{
    stv_prose_heading(text, "Casks to buy");
    if (answer->chain->book.cask_plan.n_fills == 0)
        stv_prose_wrap(text, 2,
                       "The book plans no fills: write them into book.yaml, as `cask_plan: {fills: "
                       "[{date: 2028-04-10, casks: 8, wood: new, size: 200 L}]}`.");
    else if (!stv_words_orders(text, answer, INT64_MAX))
        stv_prose_wrap(text, 2, "No planned fill lies ahead.");
    add_unused(text, answer);
    add_retired(text, answer);
    add_plan_basis(text, answer);
}

/* Today, or by what history.csv plans. */
static bool holds_ever(const struct stv_stock_answer *answer)
{
    for (size_t y = 0; y <= answer->n_years; y++)
        if (answer->stock.n_full[stv_stock_house(answer) * answer->stock.n_days + y])
            return true;
    return false;
}

void stv_words_stock_held(struct stv_text *text, const struct stv_stock_answer *answer)
{
    add_answer(text, answer);
    if (!holds_ever(answer))
        return;
    add_prices(text, answer);
    add_years(text, answer);
    add_labels(text, answer);
    stv_words_stock_ready(text, answer);
}

void stv_words_stock(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    stv_words_stock_held(text, answer);
    stv_prose_add(text, "\n");
    stv_words_stock_buying(text, answer);
    stv_prose_add(text, "\n");
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_prose_wrap(text, 0,
                   "A cask weaker than that is counted by its alcohol all the same: it gives these "
                   "bottles only together with stronger spirit.");
    if (answer->n_run < chain->book.ledger.n_casks)
        stv_prose_wrap(text, 0,
                       "Casks alike in wood, size, air and what was done to them stand for each "
                       "other: %zu of %zu were run. Ranges of sums are a little wider for it, of "
                       "leaks more, and tiers, woods or years are told apart less surely.",
                       answer->n_run, chain->book.ledger.n_casks);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_words_caution_planning(text);
    stv_words_caution_vapour(text);
}
