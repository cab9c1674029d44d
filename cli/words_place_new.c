/* Which cask to buy and how strong to fill it: what each would be after some years. */
#include "cli/words_place_new.h"

#include "cli/prose.h"
#include "cli/words.h"
#include "cli/words_place_why.h"

#include <math.h>

static struct stv_formatted cask_words(const struct stv_place_new *told, size_t c)
{
    return stv_format("%.40s at %s %%vol", told->ledger->casks[c].kind_name,
                      stv_words_percent(told->ledger->events[c].abv20_frac).text);
}

static bool is_barred(const struct stv_place_new *told, size_t c)
{
    return told->is_over_entry[c] || told->is_too_large[c];
}

/* What the market bars comes before anything else. */
static void add_barred(struct stv_text *text, const struct stv_place_new *told)
{
    struct stv_text strong = {0}, large = {0};
    for (size_t c = 0; c < told->result->n_casks; c++) {
        struct stv_text *list = told->is_over_entry[c]  ? &strong
                                : told->is_too_large[c] ? &large
                                                        : NULL;
        if (list)
            stv_prose_add(list, "%s%s", stv_text_string(list)[0] ? "; " : "",
                          cask_words(told, c).text);
    }
    if (stv_text_string(&strong)[0])
        stv_prose_wrap(text, 0, "NOT for %s, stronger than it lets into a cask (%s): %s.",
                       told->market->name, told->market->entry_most_abv20_frac.text,
                       stv_text_string(&strong));
    if (stv_text_string(&large)[0])
        stv_prose_wrap(text, 0, "NOT for %s, larger than it allows a cask to be (%s): %s.",
                       told->market->name, told->market->cask_most_l.text, stv_text_string(&large));
    stv_text_free(&strong);
    stv_text_free(&large);
}

static bool matters_in_bottles(const struct stv_place_new *told)
{
    double least = INFINITY, most = 0.0;
    for (size_t c = 0; c < told->result->n_casks; c++) {
        double bottles_nd = told->result->scores[c].bottles_nd.p50;
        if (is_barred(told, c))
            continue;
        least = fmin(least, bottles_nd);
        most = fmax(most, bottles_nd);
    }
    return most - least >= STV_BOTTLES_TIE_SHARE * most;
}

static void add_answer(struct stv_text *text, const struct stv_place_new *told)
{
    const struct stv_new_result *result = told->result;
    const struct stv_place_score *best = &result->scores[result->best_idx];
    size_t n_allowed = 0, n_good = 0;
    for (size_t c = 0; c < result->n_casks; c++) {
        n_allowed += !is_barred(told, c);
        n_good += !is_barred(told, c) && result->scores[c].as_good;
    }
    struct stv_formatted planned = stv_format("%.3g", told->wish->planned_age_y);
    if (n_allowed == 0) {
        stv_prose_wrap(text, 0, "None of these may be filled so for %s.", told->market->name);
        return;
    }
    if (n_allowed > 1 && n_good == n_allowed)
        stv_prose_wrap(text, 0,
                       "It does not matter which of %s is bought: none is told apart from the "
                       "others by your targets at %s years.",
                       n_allowed < result->n_casks ? "the others" : "these", planned.text);
    else
        stv_prose_wrap(text, 0, "%s %s.",
                       n_allowed > 1                 ? "By your targets, fill"
                       : n_allowed < result->n_casks ? "Only one may be filled so:"
                                                     : "Only one to judge:",
                       cask_words(told, result->best_idx).text);
    if (n_allowed > 1 && n_good < n_allowed && !matters_in_bottles(told))
        stv_prose_wrap(text, 0,
                       "In bottles it does not matter: they differ by less than 1.5 %%. Below each "
                       "stands what it is behind in.");
    stv_prose_wrap(text, 0,
                   "%s gives %s bottles of each 100 litres of pure alcohol put in, at %s years, "
                   "over the tiers below; inside the wood you allow in %s of 10 trials, strong "
                   "enough in %s.",
                   n_good > 1 ? cask_words(told, result->best_idx).text : "It",
                   stv_format_range(best->bottles_nd, 0).text, planned.text,
                   stv_format_number(10.0 * best->wood_ok_frac, 0).text,
                   stv_format_number(10.0 * best->abv_ok_frac, 0).text);
}

static void add_limits(struct stv_text *text, const struct stv_place_new *told)
{
    if (!told->market)
        stv_prose_wrap(text, 0,
                       "No market was named: strengths are held against the least you allow, "
                       "%s %%vol. --market NAME, or `market:` in book.yaml, holds them against a "
                       "law.",
                       stv_words_percent(told->wish->least_abv20_frac).text);
}

/* "2.1 % behind by your targets, most by wood" */
static struct stv_formatted behind_words(const struct stv_chain *chain,
                                         const struct stv_place_score *best,
                                         const struct stv_place_score *score)
{
    double parts_nd[STV_PARTS];
    stv_place_parts(score, best, score->bottles_against_best_nd, &chain->book.rules, parts_nd);
    return stv_format("%s %% behind by your targets, most by %s",
                      stv_format_number(100.0 * (1.0 - score->merit_nd / best->merit_nd), 1).text,
                      stv_place_part_words(stv_place_main_part(parts_nd, -1), &chain->book.rules));
}

/* Ages ascending, the planned one, which the result has last, in its place. */
static size_t age_at(const struct stv_place_new *told, size_t n_ages, size_t rank)
{
    size_t planned_rank = 0;
    for (size_t k = 0; k + 1 < n_ages; k++)
        planned_rank += told->wish->ages_y[k] < told->wish->planned_age_y;
    if (rank == planned_rank)
        return n_ages - 1;
    return rank < planned_rank ? rank : rank - 1;
}

static void add_cask(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_place_new *told, size_t c)
{
    const struct stv_new_result *result = told->result;
    const struct stv_place_score *score = &result->scores[c];
    struct stv_formatted behind = behind_words(chain, &result->scores[result->best_idx], score);
    const char *mark = told->is_over_entry[c]  ? "stronger than the market lets in"
                       : told->is_too_large[c] ? "larger than the market allows"
                       : c == result->best_idx ? "best by your targets"
                       : score->as_good        ? "as good"
                                               : behind.text;
    stv_prose_add(text, "\n");
    stv_prose_wrap(text, 0,
                   "%s, %s L: %s bottles of 100 L of alcohol, inside the wood in %s of 100 trials, "
                   "strong enough in %s; %s.",
                   cask_words(told, c).text,
                   stv_format_number(told->ledger->events[c].volume20_l, 0).text,
                   stv_format_number(score->bottles_nd.p50, 0).text,
                   stv_format_number(100.0 * score->wood_ok_frac, 0).text,
                   stv_format_number(100.0 * score->abv_ok_frac, 0).text, mark);
    stv_prose_add(text, "%-8s%6s  %-24s%6s%8s%9s%14s\n", "tier", "years", "%vol", "wood", "fruit",
                  "bottles", "too weak in");
    for (size_t p = 0; p < result->n_places; p++)
        for (size_t rank = 0; rank < result->n_ages; rank++) {
            size_t a = age_at(told, result->n_ages, rank);
            bool is_planned = a + 1 == result->n_ages;
            double age_y = is_planned ? told->wish->planned_age_y : told->wish->ages_y[a];
            bool is_told = false;
            for (size_t k = 0; k < told->wish->n_ages && is_planned; k++)
                is_told |= told->wish->ages_y[k] == age_y;
            if (is_told)
                continue;
            const struct stv_new_outcome *outcome =
                &result->outcomes[(c * result->n_places + p) * result->n_ages + a];
            stv_prose_cell(text, stv_words_place_short(chain, &told->wish->places[p]).text, 8);
            stv_prose_add(
                text, "%6s  %-24s%6s%8s%9s%14s\n", stv_format("%.3g", age_y).text,
                stv_format_range(stv_range_scaled(outcome->abv20_frac, 100.0), 1).text,
                stv_format_number(outcome->wood_nd.p50, 2).text,
                stv_format_number(outcome->fruit_nd.p50, 2).text,
                stv_format_number(outcome->bottles_nd.p50, 0).text,
                stv_format("%s of 100", stv_format_number(100.0 * outcome->too_weak_frac, 0).text)
                    .text);
        }
}

void stv_words_place_new(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_new *told)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    add_barred(text, told);
    add_answer(text, told);
    add_limits(text, told);
    for (size_t c = 0; c < told->result->n_casks; c++)
        add_cask(text, chain, told, c);
    stv_words_warehouse_key(text, chain);
    stv_prose_add(text, "\n");
    stv_prose_wrap(text, 0,
                   "Too weak: under %s %%vol in the cask, as it stands, without water added. All "
                   "are tried with the same trials.",
                   stv_words_percent(told->wish->least_abv20_frac).text);
    stv_prose_wrap(text, 0,
                   "Why: stronger spirit puts more alcohol into a cask, draws another wood and "
                   "dries out differently; the price of casks and spirit is yours to add.");
    stv_words_bottle_basis(text, rules, 0);
    stv_words_rests_on(text, chain, true);
    if (chain->basis == STV_BASIS_ALL)
        stv_prose_wrap(text, 2,
                       "A first fill after spirit and a refill are the same wood to the model.");
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "Another planned age or wood range under `targets:`.");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_room(text);
    stv_words_caution_planning(text);
}
