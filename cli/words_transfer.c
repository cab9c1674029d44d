/* When new wood should be left, in words: the house in one table, what that rests on, cautions. */
#include "cli/transfer.h"
#include "cli/words.h"

#include "cli/bench_age.h"
#include "cli/prose.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SURE_FRAC 0.95
#define LISTED_MOST 40

struct stv_formatted stv__words_tenths(double frac)
{
    if (isnan(frac))
        return stv_format("-");
    if (frac >= SURE_FRAC)
        return stv_format("nearly all");
    if (frac <= 1.0 - SURE_FRAC)
        return stv_format("hardly any");
    return stv_format("%.0f in 10", fmin(9.0, fmax(1.0, floor(10.0 * frac + 0.5))));
}

struct stv_formatted stv__words_tenths_short(double frac)
{
    if (isnan(frac))
        return stv_format("-");
    if (frac >= SURE_FRAC || frac <= 1.0 - SURE_FRAC)
        return stv_format("%s", frac >= SURE_FRAC ? "all" : "none");
    return stv_format("%.0f/10", fmin(9.0, fmax(1.0, floor(10.0 * frac + 0.5))));
}

/* Whole per cent, never rounded up to the 7 in 10 that a summer is named by. */
static struct stv_formatted percent_short(double frac)
{
    if (isnan(frac) || frac >= SURE_FRAC || frac <= 1.0 - SURE_FRAC)
        return stv__words_tenths_short(frac);
    return stv_format("%.0f %%", floor(100.0 * frac + 1e-9));
}

struct stv_formatted stv__words_summer(const struct stv_summer *summer)
{
    int from = stv_date_from_day(summer->from_day_d).year;
    int to = stv_date_from_day(summer->to_day_d).year;
    return from == to ? stv_format("%d", from) : stv_format("%d-%02d", from, to % 100);
}

static const char *id_of(const struct stv_transfer_answer *answer, int cask_idx)
{
    return answer->chain->book.ledger.casks[cask_idx].id;
}

static bool is_urgent(const struct stv_transfer *item)
{
    return item->leaving.call == STV_LEAVE_BEFORE || item->leaving.call == STV_LEAVE_NOW;
}

/* First day of the summer before which to leave. */
static int64_t summer_day(const struct stv_transfer *item)
{
    return item->leaving.summers[item->leaving.last_idx].summer.from_day_d;
}

/* Adds "12, 18 and 26" for the items of a call, of BEFORE those of one summer; returns how many
 * there are. */
static size_t add_ids(struct stv_text *text, const struct stv_transfer_answer *answer,
                      enum stv_leave call, int64_t from_day_d)
{
    size_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < answer->transfers.n; i++) {
            const struct stv_transfer *item = &answer->transfers.items[i];
            if (item->leaving.call != call ||
                (call == STV_LEAVE_BEFORE && summer_day(item) != from_day_d))
                continue;
            n += pass == 0;
            if (pass == 1 && k < LISTED_MOST)
                stv_prose_add(text, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                              id_of(answer, item->cask_idx));
            k += pass == 1;
        }
    if (n > LISTED_MOST)
        stv_prose_add(text, " and %zu more", n - LISTED_MOST);
    return n;
}

static size_t add_group(struct stv_text *text, const struct stv_transfer_answer *answer,
                        enum stv_leave call, int64_t from_day_d, const char *lead)
{
    struct stv_text ids = {0};
    size_t n = add_ids(&ids, answer, call, from_day_d);
    if (n)
        stv_prose_wrap(text, 0, "%s: %s.", lead, stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
    return n;
}

/* Summers in turn: the one after that told last. */
static const struct stv_transfer *next_summer(const struct stv_transfer_answer *answer,
                                              int64_t after_day_d)
{
    const struct stv_transfer *next = NULL;
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        if (item->leaving.call == STV_LEAVE_BEFORE && summer_day(item) > after_day_d &&
            (!next || summer_day(item) < summer_day(next)))
            next = item;
    }
    return next;
}

/* Whether no empty cask does better than staying, for any that should leave; said first then, for
 * all that follows stands under it. */
static bool add_none_better(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    size_t n_urgent = 0, n_better = 0;
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        n_urgent += is_urgent(item);
        n_better += is_urgent(item) && stv_transfer_into(item) == STV_INTO_BETTER;
    }
    if (n_urgent == 0 || n_better > 0)
        return false;
    if (answer->n_empty == 0)
        stv_prose_wrap(text, 0, "Move none now: no cask of the book is empty.");
    else
        stv_prose_wrap(text, 0, "Move none now: no empty cask of the %zu does better than staying.",
                       answer->n_empty);
    return true;
}

/* Told to bottle, those that the least age does not let be bottled by then. */
static void add_too_young(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    struct stv_text list = {0};
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        int64_t from_d = stv_transfer_old_enough_d(answer, item);
        if (is_urgent(item) && stv_transfer_into(item) != STV_INTO_BETTER &&
            from_d > item->leaving.leave_day_d)
            stv_prose_add(&list, "%s%s (from %s on)", list.n ? ", " : "",
                          id_of(answer, item->cask_idx), stv_format_day(from_d).text);
    }
    if (list.n)
        stv_prose_wrap(text, 0,
                       "Too young to be bottled by then, with a least age of %s years: %s. Empty a "
                       "cask that would serve, or marry them with older wood's spirit and wait.",
                       stv_format_number(answer->chain->book.rules.least_age_y, 1).text,
                       stv_text_string(&list));
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}

/* What history.csv plans for the casks told and for the empty ones, which is left out. */
static void add_planned(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    size_t n = 0, n_most = answer->transfers.n ? answer->transfers.items[0].n_receivers : 0;
    int *empty = malloc((n_most + 1) * sizeof *empty);
    stv_words_planned_leaves(text, answer->chain, answer->cask_idx, answer->n_casks);
    for (; empty && n < n_most; n++)
        empty[n] = answer->transfers.items[0].receivers[n].cask_idx;
    if (empty)
        stv_words_planned_fills(text, answer->chain, empty, n);
    text->has_failed = text->has_failed || !empty;
    free(empty);
}

static void add_even(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    struct stv_text ids = {0};
    for (size_t i = 0; i < answer->transfers.n; i++)
        if (stv_transfer_is_even(&answer->transfers.items[i]))
            stv_prose_add(&ids, "%s%s", ids.n ? ", " : "",
                          id_of(answer, answer->transfers.items[i].cask_idx));
    if (ids.n)
        stv_prose_wrap(text, 0,
                       "On the edge, as likely over the wood you allow today as under it, so that "
                       "the next reckoning may call them the other way: %s. A nosing tells.",
                       stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_answer(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    const char *act =
        add_none_better(text, answer) ? "Bottle or marry" : "Move out of new or first-fill wood";
    size_t n = add_group(text, answer, STV_LEAVE_NOW, 0, stv_format("%s now", act).text);
    const struct stv_transfer *item = next_summer(answer, INT64_MIN);
    for (; item; item = next_summer(answer, summer_day(item))) {
        const struct stv_leaving *leaving = &item->leaving;
        struct stv_formatted lead =
            stv_format("%s before the summer of %s", n ? "Then" : act,
                       stv__words_summer(&leaving->summers[leaving->last_idx].summer).text);
        n += add_group(text, answer, STV_LEAVE_BEFORE, summer_day(item), lead.text);
    }
    if (n == 0)
        stv_prose_wrap(text, 0,
                       "No cask has to be moved out of its wood at a time that is still to come.");
    add_group(text, answer, STV_LEAVE_STAY, 0, "Can stay to their planned age");
    add_group(text, answer, STV_LEAVE_OVER, 0,
              "Over the wood you allow already, so that there is no window left");
    add_too_young(text, answer);
    add_even(text, answer);
}

void stv_words_transfer_change(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "What would change it: an empty cask whose wood has given more (a second fill "
                   "of spirit or later), kept wet, and of a size that this fills.");
}

/* Why the best empty cask is not better than staying, counted over the casks that should leave. */
static void add_why_none(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    size_t n_as_much = 0, n_less = 0, n_unfit = 0;
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        enum stv_into use = stv_transfer_into(item);
        if (!is_urgent(item) || use == STV_INTO_BETTER)
            continue;
        n_unfit += use == STV_INTO_NONE_FITS;
        if (item->n_tried > 0 && stv_transfer_spares_wood(&item->receivers[0]))
            n_less++;
        else if (item->n_tried > 0)
            n_as_much++;
    }
    if (n_as_much)
        stv_prose_wrap(
            text, 0,
            "Why: for %s the wood of the best empty one gives as much as staying would, "
            "and the move costs bottles (hose, drips, what dry wood drinks, what the air "
            "takes more of it there).",
            stv_format_count(n_as_much, "cask", "casks").text);
    if (n_less)
        stv_prose_wrap(text, 0,
                       "Why: for %s the wood of the best empty one gives less than staying would, "
                       "which is wanted, but the bottles that the move costs (hose, drips, what "
                       "dry wood drinks, what the air takes more of it there) weigh more.",
                       stv_format_count(n_less, "cask", "casks").text);
    if (n_unfit)
        stv_prose_wrap(text, 0, "Why: for %s none fits, or all have served their time.",
                       stv_format_count(n_unfit, "cask", "casks").text);
    stv_words_transfer_change(text);
}

/* Whether the empty casks are of any use to those that should leave. */
static void add_verdict(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    struct stv_text given = {0}, useless = {0};
    size_t n_useless = 0, n_urgent = 0;
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        const char *id = id_of(answer, item->cask_idx);
        if (!is_urgent(item))
            continue;
        n_urgent++;
        if (item->given_idx != SIZE_MAX)
            stv_prose_add(&given, "%s%s into %s", given.n ? ", " : "", id,
                          id_of(answer, item->receivers[item->given_idx].cask_idx));
        else if (stv_transfer_into(item) != STV_INTO_BETTER && n_useless++ < LISTED_MOST)
            stv_prose_add(&useless, "%s%s", useless.n ? ", " : "", id);
    }
    if (given.n)
        stv_prose_wrap(text, 0, "Empty casks that do better than staying: %s.",
                       stv_text_string(&given));
    if (n_useless > 0 && n_useless < n_urgent)
        stv_prose_wrap(text, 0,
                       "No empty cask does better than staying for: %s. Bottle or marry them by "
                       "then, or empty a cask that would serve.",
                       stv_text_string(&useless));
    if (n_useless > 0 && answer->n_empty > 0)
        add_why_none(text, answer);
    text->has_failed = text->has_failed || given.has_failed || useless.has_failed;
    stv_text_free(&given);
    stv_text_free(&useless);
}

/* Into which empty cask, in a few words. */
static struct stv_formatted into_text(const struct stv_transfer_answer *answer,
                                      const struct stv_transfer *item)
{
    static const char *const words[] = {[STV_INTO_NONE_EMPTY] = "none empty",
                                        [STV_INTO_NONE_FITS] = "none fits",
                                        [STV_INTO_NO_MATTER] = "as staying",
                                        [STV_INTO_NONE_BETTER] = "none better",
                                        [STV_INTO_BETTER] = "taken"};
    if (item->given_idx == SIZE_MAX)
        return stv_format("%s", words[stv_transfer_into(item)]);
    const struct stv_receiver *into = &item->receivers[item->given_idx];
    return stv_format("%s%s", id_of(answer, into->cask_idx), into->is_dry ? ", soak" : "");
}

/* Columns behind the cask and its kind. */
#define HOUSE_ROW "%-8s%5s  %-7s%-7s%-9s%s\n"

/* What the ids leave of the width, which they take twice: for the cask and what it goes into. */
static size_t kind_columns(const struct stv_transfer_answer *answer)
{
    enum { USUAL = 24, LEAST = 6, ID_USUAL = 4 };
    size_t more = 2 * (stv_words_id_columns(answer->chain) - ID_USUAL);
    return more + LEAST < USUAL ? USUAL - more : LEAST;
}

static void add_row(struct stv_text *text, const struct stv_transfer_answer *answer,
                    const struct stv_transfer *item)
{
    const struct stv_leaving *leaving = &item->leaving;
    const struct stv_summer_odds *odds = &leaving->summers[leaving->last_idx];
    bool is_before = leaving->call == STV_LEAVE_BEFORE;
    size_t id_columns = stv_words_id_columns(answer->chain);
    stv_prose_name_cell(text, id_of(answer, item->cask_idx), id_columns, 0);
    stv_text_add(text, " ");
    stv_prose_cell(text, answer->chain->book.ledger.casks[item->cask_idx].kind_name,
                   kind_columns(answer));
    stv_prose_add(text, " " HOUSE_ROW, is_before ? stv__words_summer(&odds->summer).text : "now",
                  stv_format_number(leaving->wood_now_nd.p50, 2).text,
                  percent_short(leaving->leave_frac).text,
                  percent_short(leaving->n_summers ? odds->after_frac : (double)NAN).text,
                  percent_short(leaving->a_year_on_frac).text, into_text(answer, item).text);
}

static void add_table(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    size_t n = 0;
    for (size_t i = 0; i < answer->transfers.n; i++)
        n += is_urgent(&answer->transfers.items[i]);
    if (n == 0)
        return;
    stv_prose_add(text, "\n%-*s" HOUSE_ROW,
                  (int)(stv_words_id_columns(answer->chain) + kind_columns(answer) + 2), "cask",
                  "before", "wood", "then", "after", "year on", "into");
    for (size_t i = 0; i < answer->transfers.n; i++) {
        if (!is_urgent(&answer->transfers.items[i]))
            continue;
        add_row(text, answer, &answer->transfers.items[i]);
        stv_words_doubt_row(text, answer->chain, answer->transfers.items[i].cask_idx);
    }
    stv_prose_wrap(text, 0,
                   "(before: the summer; wood: now; then, after, year on: trials still under %s "
                   "of your reference cask, the most you allow, when that summer begins, when it "
                   "is over, a year after it began; into: the empty cask for it, each given once, "
                   "the most urgent first; none better: staying beats every one; as staying: the "
                   "best one does neither better nor worse; taken: by a more urgent one)",
                   stv_format_number(answer->chain->book.rules.wood_most_nd, 2).text);
}

/* What the year costs that is most dearly waited for. */
static void add_dearest(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    const struct stv_transfer *worst = NULL;
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        double falls = item->leaving.leave_frac - item->leaving.a_year_on_frac;
        if (is_urgent(item) &&
            (!worst || falls > worst->leaving.leave_frac - worst->leaving.a_year_on_frac))
            worst = item;
    }
    if (worst)
        stv_prose_wrap(text, 0,
                       "Staying a year longer is dearest in cask %s: %s still under in place of "
                       "%s. The air takes %s bottles of it in that year, in whatever wood.",
                       id_of(answer, worst->cask_idx),
                       stv__words_tenths(worst->leaving.a_year_on_frac).text,
                       stv__words_tenths(worst->leaving.leave_frac).text,
                       stv_format_number(worst->leaving.a_year_on_bottles_nd, 0).text);
}

static void add_law(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    const struct stv_market *market = answer->chain->named.market;
    const char *words = market ? stv_bench_clock_words(market->age_clock) : NULL;
    if (!market)
        stv_prose_wrap(text, 0,
                       "Legal age: no market is named. Some count only time in charred new oak: "
                       "there the age stops on the day of the move. --market NAME tells.");
    else if (!words)
        stv_prose_wrap(text, 0, "Legal age: what wood counts for %s is not among its rules.",
                       market->name);
    else
        stv_prose_wrap(text, 0, "Legal age: %s counts only time in %s (%s, %s).%s", market->name,
                       words, market->age_clock_rule.source, market->age_clock_rule.seen,
                       market->age_clock == STV_AGE_IN_CHARRED_NEW_OAK
                           ? " Moved into used wood, the spirit grows no older by it."
                           : " A move from cask to cask does not stop it in such wood.");
    stv_prose_wrap(text, 0,
                   "Label: moved whole into one empty cask it is a single cask still; two joined "
                   "in one are none any more.");
}

static struct stv_formatted days_text(const struct stv_wood_rules *wood,
                                      enum stv_wood_history history)
{
    return stv_format_number(wood->dry_after_d[history], 0);
}

/* Where the planned age of some comes within the year, a later day stands in for it. */
static void add_year_ahead(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    size_t n = 0;
    int64_t planned_d = 0;
    for (size_t i = 0; i < answer->transfers.n; i++)
        if (stv_chain_is_year_ahead(answer->chain, answer->transfers.items[i].planned_day_d)) {
            planned_d = answer->transfers.items[i].planned_day_d;
            n++;
        }
    if (n)
        stv_prose_wrap(
            text, 0,
            "Planned age is told at least a year ahead: that of %s comes sooner, so %s stands "
            "for it.",
            stv_format_count(n, "cask", "casks").text, stv_format_month(planned_d).text);
}

static void add_basis(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    const struct stv_wood_rules *wood = &book->wood_rules;
    stv_prose_wrap(text, 0,
                   "Summer is %s%s. The one named is the first after which fewer than 7 in 10 "
                   "trials are still under; a cask is over when fewer than half are.",
                   stv_format_doy_span(answer->warm.from_doy, answer->warm.to_doy).text,
                   book->warm_months.is_said ? "" : ", the warmest 13 weeks of the store");
    stv_prose_wrap(
        text, 0,
        "A move loses %s %% in hose and drips, and wood dry for long drinks first: both "
        "are counted. New wood serves %d fills and is soaked and tested after %s days "
        "dry, spirit's %d and %s, fortified wine's %d and %s%s.",
        stv_format_number(100.0 * wood->move_loss_frac, 1).text, wood->most_uses[STV_WOOD_NEW],
        days_text(wood, STV_WOOD_NEW).text, wood->most_uses[STV_WOOD_HELD_SPIRIT],
        days_text(wood, STV_WOOD_HELD_SPIRIT).text, wood->most_uses[STV_WOOD_HELD_FORTIFIED],
        days_text(wood, STV_WOOD_HELD_FORTIFIED).text,
        book->has_wood_rules ? " (`wood_life:` in book.yaml; what that leaves out is "
                               "common practice, no published source)"
                             : " (common practice, no published source; `wood_life:` "
                               "in book.yaml says yours)");
    stv_prose_wrap(
        text, 0,
        "Each empty cask is tried lying where the full one lies; `place` tells where it "
        "would lie better. What nobody knows of two casks is taken alike. What `bottling` "
        "and `water` plan is not looked at here: a cask bottled before its summer needs "
        "no move.");
}

static void add_cautions(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    (void)answer;
    stv_prose_heading(text, "Cautions");
    stv_words_caution_pouring(text);
    stv_words_caution_vapour(text);
    stv_words_caution_room(text);
    stv_words_caution_moving(text);
    stv_words_caution_planning(text);
}

void stv_words_transfer(struct stv_text *text, const struct stv_transfer_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    if (answer->transfers.n == 0) {
        stv_prose_wrap(text, 0,
                       "No cask lies in new or first-fill wood, so there is none to move out of. "
                       "--cask ID tells of any other.");
        return;
    }
    struct stv_text leaks = {0};
    for (size_t i = 0; i < answer->transfers.n; i++)
        stv_words_list_leak(&leaks, chain, answer->transfers.items[i].cask_idx);
    stv_words_leaks_first(text, &leaks);
    if (answer->is_named) {
        add_planned(text, answer);
        for (size_t i = 0; i < answer->transfers.n; i++) {
            if (i > 0)
                stv_text_add(text, "\n");
            stv__words_transfer_cask(text, answer, &answer->transfers.items[i]);
        }
    } else {
        add_answer(text, answer);
        add_planned(text, answer);
        add_verdict(text, answer);
        add_table(text, answer);
        add_dearest(text, answer);
        stv_prose_wrap(text, 0, "--cask ID tells one in full, with every empty cask for it.");
    }
    add_law(text, answer);
    add_year_ahead(text, answer);
    add_basis(text, answer);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2,
                   "A nosing: how much your oak gives is in more doubt than what one summer adds. "
                   "Another `targets: wood: most` or planned "
                   "age.");
    add_cautions(text, answer);
}
