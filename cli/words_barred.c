/* What the named market bars of a planned bottling, or cannot know, and what would lift it. */
#include "cli/bench_age.h"
#include "cli/bottling.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdlib.h>

#define LISTED_MOST 40

static const char *cask_id(const struct stv_bottling_answer *answer, size_t cask_idx)
{
    return answer->chain->book.ledger.casks[cask_idx].id;
}

static struct stv_formatted planned_words(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    return stv_format("%s (%s)", stv_bottling_name(planned).text, stv_words_when(planned).text);
}

/* Chosen casks of whose wood it is not known whether the market counts the time in it. */
static void add_unsure(struct stv_text *text, const struct stv_bottling_answer *answer,
                       size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    const struct stv_market *market = answer->chain->named.market;
    struct stv_text ids = {0};
    for (size_t i = 0; i < outcome->n_casks; i++) {
        size_t cask = (size_t)outcome->casks[i].cask_idx;
        if (stv_bottling_is_unsure(answer, wish_idx, cask))
            stv_prose_add(&ids, "%s%s", ids.n ? ", " : "", cask_id(answer, cask));
    }
    if (ids.n)
        stv_prose_wrap(text, 0,
                       "NOT KNOWN BY %s: %s, cask %s: whether age runs in all the wood where they "
                       "lay (%s; %s). `toast` and wood in casks.csv say it.",
                       market->name, planned_words(answer, wish_idx).text, stv_text_string(&ids),
                       market->age_clock_rule.source, market->age_clock_rule.seen);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

void stv_words_barred(struct stv_text *text, const struct stv_bottling_answer *answer,
                      size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    const struct stv_market *market = answer->chain->named.market;
    if (!market)
        return;
    if (stv_bottling_is_under_market(answer, wish_idx))
        stv_prose_wrap(text, 0,
                       "BARRED BY %s: %s, planned from %s %%vol on: it asks for %s in the "
                       "bottle (%s; %s).",
                       market->name, planned_words(answer, wish_idx).text,
                       stv_words_percent(planned->wish.least_abv20_frac).text,
                       market->bottled_least_abv20_frac.text,
                       market->bottled_least_abv20_frac.source,
                       market->bottled_least_abv20_frac.seen);
    add_unsure(text, answer, wish_idx);
}

/* "3, 7 (from Mar 2031) and 12 more": casks that a rule leaves out; waits: those that time lifts.
 */
static void add_left_out(struct stv_text *ids, const struct stv_bottling_answer *answer,
                         size_t wish_idx, enum stv_market_bar bar, bool waits)
{
    size_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t c = 0; c < answer->chain->book.ledger.n_casks; c++) {
            const struct stv_market_stand *stand = stv_bottling_stand(answer, wish_idx, c);
            if (stand->bar != bar || (stand->lifts_day_d != INT64_MIN) != waits)
                continue;
            n += pass == 0;
            if (pass == 0 || k == LISTED_MOST)
                continue;
            stv_prose_add(ids, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                          cask_id(answer, c));
            if (waits)
                stv_prose_add(ids, " (from %s)", stv_format_month(stand->lifts_day_d).text);
            k++;
        }
    if (n > k)
        stv_prose_add(ids, " and %zu more", n - k);
}

void stv_words_left_out(struct stv_text *text, const struct stv_bottling_answer *answer,
                        size_t wish_idx)
{
    const struct stv_market *market = answer->chain->named.market;
    if (!market)
        return;
    const char *clock = stv_bench_clock_words(market->age_clock);
    const struct stv_rule *of_age =
        market->age_clock_rule.text[0] ? &market->age_clock_rule : &market->cask_most_l;
    const struct {
        enum stv_market_bar bar;
        bool waits;
        const char *why, *lift;
        const struct stv_rule *rule;
    } told[] = {
        {STV_BAR_STRONG, false, "went into the wood stronger than it lets in",
         "Nothing lifts that for this spirit", &market->entry_most_abv20_frac},
        {STV_BAR_LARGE, false, "the wood is larger than it lets be",
         "Smaller wood, and its least age there, would lift it", &market->cask_most_l},
        {STV_BAR_AGE, true, "too young by its clock, which runs", "Waiting lifts it", of_age},
        {STV_BAR_AGE, false,
         "no age by its clock, or too little, and it stands in the wood where they lie",
         "Wood that counts would lift it", of_age},
    };
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        bool is_in_wood = told[i].bar == STV_BAR_AGE && !told[i].waits;
        struct stv_text ids = {0};
        add_left_out(&ids, answer, wish_idx, told[i].bar, told[i].waits);
        if (ids.n)
            stv_prose_wrap(text, 0, "Left out by %s, cask %s: %s: %s (%s; %s, %s). %s%s%s.",
                           market->name, stv_text_string(&ids), told[i].why, told[i].rule->text,
                           told[i].rule->source, told[i].rule->seen,
                           stv_words_rule_date(told[i].rule), told[i].lift,
                           is_in_wood && clock ? ": only " : "", is_in_wood && clock ? clock : "");
        text->has_failed = text->has_failed || ids.has_failed;
        stv_text_free(&ids);
    }
}

struct stv_formatted stv_words_market_age(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_market *market = answer->chain->named.market;
    struct stv_market_stand youngest = stv_bottling_youngest(answer, wish_idx);
    const double told_from_y = 0.05;
    if (!market || !(youngest.calendar_y - youngest.age_y > told_from_y))
        return stv_format("%s", "");
    if (youngest.most_age_y - youngest.age_y > told_from_y)
        return stv_format(
            " by the calendar, %s to %s years by %s's clock, as its wood is not known",
            stv_format_number(youngest.age_y, 1).text,
            stv_format_number(youngest.most_age_y, 1).text, market->name);
    return stv_format(" by the calendar, %s years by %s's clock",
                      stv_format_number(youngest.age_y, 1).text, market->name);
}
