/* An exchange of places: what it evens out, what it saves, and the work. */
#include "cli/words_place_exchange.h"

#include "cli/place_crew.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What an exchange does, and what it does not, by its middle figures. */
static const char *verdict_words(const struct stv_place_exchange *told)
{
    const struct stv_exchange *exchange = &told->exchange;
    switch (told->verdict) {
    case STV_EXCHANGE_EVENS_OUT:
        return "Not worth it, unless you need them alike: an exchange evens out, it does not save.";
    case STV_EXCHANGE_SAVES:
        return "It would save some, against its work.";
    case STV_EXCHANGE_COSTS:
        return "Let them lie: an exchange would lose more than lying still.";
    case STV_EXCHANGE_NO_MATTER:
        break;
    }
    if (exchange->exchanged_spread_l.p50 >= exchange->spread_l.p50)
        return "Not worth it: it does not matter. An exchange brings the two no closer, and saves "
               "nothing to speak of.";
    if (2.0 * exchange->exchanged_spread_l.p50 > exchange->spread_l.p50)
        return "Not worth it: it does not matter. An exchange takes less than half of what they "
               "are apart, and saves nothing to speak of.";
    return "Not worth it: it does not matter. The two lose nearly alike as they lie, and an "
           "exchange saves nothing to speak of.";
}

/* The table's middle figures, in words. */
static void add_answer(struct stv_text *text, const struct stv_place_exchange *told)
{
    const struct stv_exchange *exchange = &told->exchange;
    stv_prose_wrap(text, 0, "%s", verdict_words(told));
    stv_prose_wrap(text, 0,
                   "As they lie, the two come to be %s L a cask apart and keep %s L in all; "
                   "exchanged, %s L apart and %s L (%s L, %s bottles).",
                   stv_format_number(exchange->spread_l.p50, 1).text,
                   stv_format_number(exchange->total_l.p50, 0).text,
                   stv_format_number(exchange->exchanged_spread_l.p50, 1).text,
                   stv_format_number(exchange->exchanged_total_l.p50, 0).text,
                   stv_format_signed(exchange->gain_l.p50, 1).text,
                   stv_format_signed(exchange->gain_bottles_nd.p50, 0).text);
    stv_prose_wrap(
        text, 0, "%s: %zu casks, %s, %s kg.",
        stv_format_count(told->n_pairs, "pair would change places", "pairs would change places")
            .text,
        2 * told->n_pairs, stv_format_count(told->house.crew.n_steps, "handling", "handlings").text,
        stv_format_number(exchange->moved_kg, 0).text);
}

static void add_table(struct stv_text *text, const struct stv_place_exchange *told)
{
    const struct stv_exchange *exchange = &told->exchange;
    stv_prose_add(text, "\n%-28s%-26s%s\n", "", "as they lie", "exchanged");
    stv_prose_add(text, "%-28s%-26s%s\n", "apart, litres a cask",
                  stv_format_range(exchange->spread_l, 1).text,
                  stv_format_range(exchange->exchanged_spread_l, 1).text);
    stv_prose_add(text, "%-28s%-26s%s\n", "kept by all, litres",
                  stv_format_range(exchange->total_l, 0).text,
                  stv_format_range(exchange->exchanged_total_l, 0).text);
    stv_prose_add(text, "%-28s%-26s%s\n", "by exchanging, litres", "",
                  stv_format_signed_range(exchange->gain_l, 1).text);
    stv_prose_add(text, "%-28s%-26s%s\n", "  per cent of what is kept", "",
                  stv_format_signed_range(stv_range_scaled(exchange->gain_frac, 100.0), 2).text);
    stv_prose_add(text, "%-28s%-26s%s\n\n", "  bottles", "",
                  stv_format_signed_range(exchange->gain_bottles_nd, 0).text);
    stv_prose_wrap(text, 0,
                   "Apart: what a cask of one loses more than a cask of the other, on average. By "
                   "exchanging: trial by trial, so its middle may be off the middles above it.");
}

static void add_planned(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_place_exchange *told)
{
    int *casks = malloc((2 * told->n_pairs + 1) * sizeof *casks);
    for (size_t p = 0; casks && p < told->n_pairs; p++) {
        casks[2 * p] = told->pairs[p].one_idx;
        casks[2 * p + 1] = told->pairs[p].other_idx;
    }
    if (casks)
        stv_words_planned_leaves(text, chain, casks, 2 * told->n_pairs);
    text->has_failed = text->has_failed || !casks;
    free(casks);
}

void stv_words_place_exchange(struct stv_text *text, const struct stv_chain *chain,
                              const struct stv_place_exchange *told, bool with_crew)
{
    const struct stv_exchange *exchange = &told->exchange;
    struct stv_place_words one = stv_words_place_of(chain, &told->one);
    struct stv_place_words other = stv_words_place_of(chain, &told->other);
    add_answer(text, told);
    stv_prose_wrap(text, 0, "Exchanged: %s with %s, on %s; counted from %s to %s.", one.text,
                   other.text, stv_format_day(told->exchange_day_d).text,
                   stv_format_day(chain->as_of_day_d).text, stv_format_day(told->until_day_d).text);
    if (told->n_gone)
        stv_prose_wrap(text, 0, "%s moved or emptied before that day by history.csv, and left out.",
                       stv_format_count(told->n_gone, "cask is", "casks are").text);
    add_planned(text, chain, told);
    if (told->n_too_heavy)
        stv_prose_wrap(text, 0,
                       "%s, for the plate on the other side leaves less for one cask than their "
                       "weight.",
                       stv_format_count(told->n_too_heavy, "cask stays", "casks stay").text);
    if (told->n_without_partner)
        stv_prose_wrap(text, 0, "%s without a partner of the same size and stay.",
                       stv_format_count(told->n_without_partner, "cask is", "casks are").text);
    add_table(text, told);
    stv_prose_wrap(text, 0,
                   "Why: each place takes its share of whatever lies there. Changing who lies "
                   "there moves the loss from cask to cask; still fruit left changes by %s on "
                   "average.",
                   stv_format_signed_range(exchange->gain_fruit_nd, 2).text);
    stv_prose_wrap(text, 0,
                   "It would matter for casks of one bottling that must be alike, or where one "
                   "lot has to keep its fruit for longer than the other.");
    stv_place_crew_text(text, chain, &told->house, with_crew);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "Another day for it: halfway evens out most.");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_moving(text);
    stv_words_caution_planning(text);
}
