/* An exchange of places: what it evens out, what it saves, and the work. */
#include "cli/words_place_exchange.h"

#include "cli/place_crew.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <string.h>

static void add_answer(struct stv_text *text, const struct stv_place_exchange *told)
{
    static const char *const first[] = {
        [STV_EXCHANGE_NO_MATTER] =
            "Not worth it: it does not matter. It neither evens out nor saves.",
        [STV_EXCHANGE_EVENS_OUT] = "Not worth it, unless you need them alike: an exchange evens "
                                   "out, it does not save.",
        [STV_EXCHANGE_SAVES] = "It would save some, against its work.",
        [STV_EXCHANGE_COSTS] = "Leave them: an exchange would cost more than lying still.",
    };
    const struct stv_exchange *exchange = &told->exchange;
    stv_prose_wrap(text, 0, "%s", first[told->verdict]);
    stv_prose_wrap(
        text, 0,
        "%s change places, %zu casks: %s %% of the litres kept, %s bottles, by %s of lifting.",
        stv_format_count(told->n_pairs, "pair would", "pairs would").text, 2 * told->n_pairs,
        stv_format_signed_range(stv_range_scaled(exchange->gain_frac, 100.0), 2).text,
        stv_format_signed_range(exchange->gain_bottles_nd, 0).text,
        stv_format("%s kg", stv_format_number(exchange->moved_kg, 0).text).text);
}

static void add_table(struct stv_text *text, const struct stv_place_exchange *told)
{
    const struct stv_exchange *exchange = &told->exchange;
    stv_prose_add(text, "\n%-34s%-24s%s\n", "", "as they lie", "exchanged");
    stv_prose_add(text, "%-34s%-24s%s\n", "one lot loses more, litres a cask",
                  stv_format_range(exchange->spread_l, 1).text,
                  stv_format_range(exchange->exchanged_spread_l, 1).text);
    stv_prose_add(text, "%-34s%-24s%s\n\n", "kept by all, litres",
                  stv_format_range(exchange->total_l, 0).text,
                  stv_format_range(exchange->exchanged_total_l, 0).text);
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
    stv_words_bottle_basis(text, &chain->book.rules);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "Another day for it: halfway evens out most.");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_moving(text);
    stv_words_caution_planning(text);
}
