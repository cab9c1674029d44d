/* How much of the stock is ready, not ready yet or past what the house allows, year by year and by
 * kind of cask. */
#include "cli/stock.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <string.h>

#define KIND_COLUMNS 24
#define N_STATES 4
#define KINDS_MOST 15 /* on one page */

static struct stv_range range_of(const struct stv_stock_answer *answer, size_t label_idx,
                                 size_t day_idx, int state)
{
    return stv_stock_range(&answer->stock, label_idx, day_idx,
                           (enum stv_stock_figure)(STV_STOCK_YOUNG_CASKS_ND + state));
}

static struct stv_formatted casks_of(const struct stv_stock_answer *answer, size_t label_idx,
                                     size_t day_idx, int state)
{
    return stv_format_number(range_of(answer, label_idx, day_idx, state).p50, 0);
}

static bool is_held(const struct stv_stock_answer *answer, size_t label_idx)
{
    for (size_t d = 0; d <= answer->n_years; d++)
        if (answer->stock.n_full[label_idx * answer->stock.n_days + d])
            return true;
    return false;
}

/* The first day on which half the casks of a kind are over in the middle trial; SIZE_MAX: none. */
static size_t over_from(const struct stv_stock_answer *answer, size_t label_idx)
{
    const struct stv_stock *stock = &answer->stock;
    for (size_t d = 0; d < stock->n_days; d++) {
        double n_full = (double)stock->n_full[label_idx * stock->n_days + d];
        if (n_full > 0.0 && 2.0 * range_of(answer, label_idx, d, 3).p50 >= n_full)
            return d;
    }
    return SIZE_MAX;
}

static void add_first(struct stv_text *text, const struct stv_stock_answer *answer)
{
    size_t house = stv_stock_house(answer), n_days = answer->stock.n_days, n_soon = 0;
    struct stv_range now = range_of(answer, house, 0, 3);
    struct stv_range then = range_of(answer, house, answer->n_years, 3);
    struct stv_text kinds = {0};
    for (size_t i = 0; i < answer->n_kinds; i++) {
        size_t label = answer->kinds_from + i, from = over_from(answer, label);
        if (from < n_days && ++n_soon <= KINDS_MOST)
            stv_prose_add(&kinds, "%s%s %s", n_soon > 1 ? ", " : "", answer->names[label],
                          from == 0 ? "now" : stv_format_month(answer->days_d[from]).text);
    }
    stv_prose_wrap(
        text, 0, "Over the wood that the house allows: %s of %s today, %s of %zu by %s if left.",
        stv_format_range(now, 0).text,
        stv_format_count(answer->stock.n_full[house * n_days], "cask", "casks").text,
        stv_format_range(then, 0).text, answer->stock.n_full[house * n_days + answer->n_years],
        stv_format_month(answer->days_d[answer->n_years]).text);
    if (n_soon)
        stv_prose_wrap(text, 0, "Kinds of which half are over, and from when: %s.",
                       stv_text_string(&kinds));
    text->has_failed = text->has_failed || kinds.has_failed;
    stv_text_free(&kinds);
}

static void add_by_year(struct stv_text *text, const struct stv_stock_answer *answer)
{
    size_t house = stv_stock_house(answer);
    stv_prose_add(text, "\n%-9s%14s%14s%14s%16s\n", "casks", "not yet", "ready", "too weak",
                  "too much wood");
    for (size_t d = 0; d < answer->stock.n_days; d++) {
        stv_prose_add(text, "%-9s", stv_format_month(answer->days_d[d]).text);
        for (int s = 0; s < N_STATES; s++) {
            struct stv_range range = range_of(answer, house, d, s);
            struct stv_formatted cell = stv_format(
                "%s (%s-%s)", stv_format_number(range.p50, 0).text,
                stv_format_number(range.p05, 0).text, stv_format_number(range.p95, 0).text);
            stv_prose_add(text, "%*s", s == N_STATES - 1 ? 16 : 14, cell.text);
        }
        stv_prose_add(text, "\n");
    }
}

static void add_by_kind(struct stv_text *text, const struct stv_stock_answer *answer)
{
    size_t last = answer->n_years, n_told = 0;
    stv_prose_add(text, "\n%-*s%28s%28s\n", KIND_COLUMNS, "",
                  stv_format_month(answer->days_d[0]).text,
                  stv_format_month(answer->days_d[last]).text);
    stv_prose_add(text, "%-*s%8s%6s%6s%8s%8s%6s%6s%8s\n", KIND_COLUMNS, "kind of cask", "not yet",
                  "ready", "weak", "over", "not yet", "ready", "weak", "over");
    for (size_t i = 0; i < answer->n_kinds; i++) {
        size_t label = answer->kinds_from + i;
        const char *name = answer->names[label];
        if (!is_held(answer, label) || n_told++ >= KINDS_MOST)
            continue;
        if (stv_prose_columns(name, strlen(name)) > KIND_COLUMNS) {
            stv_prose_add(text, "%s\n", name);
            name = "";
        }
        stv_prose_cell(text, name, KIND_COLUMNS);
        for (int side = 0; side < 2; side++)
            for (int s = 0; s < N_STATES; s++)
                stv_prose_add(text, "%*s", s == 0 || s == N_STATES - 1 ? 8 : 6,
                              casks_of(answer, label, side ? last : 0, s).text);
        stv_prose_add(text, "\n");
    }
    if (n_told > KINDS_MOST)
        stv_prose_add(text, "... and %zu more kinds: kinds[] of --json has all.\n",
                      n_told - KINDS_MOST);
}

void stv_words_stock_ready(struct stv_text *text, const struct stv_stock_answer *answer)
{
    const struct stv_house_rules *rules = &answer->chain->book.rules;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Ready or not");
    add_first(text, answer);
    add_by_year(text, answer);
    add_by_kind(text, answer);
    stv_prose_wrap(
        text, 0,
        "Ready: wood from %s to %s of the reference cask, %s %%vol or more%s. Middle values, "
        "which need not add up; --json has alcohol and ranges, by year and kind.",
        stv_format_number(rules->wood_least_nd, 2).text,
        stv_format_number(rules->wood_most_nd, 2).text,
        stv_words_percent(fmax(rules->least_abv20_frac, rules->bottling_abv20_frac)).text,
        rules->least_age_y > 0.0
            ? stv_format(", %s years old", stv_format_number(rules->least_age_y, 0).text).text
            : "");
}
