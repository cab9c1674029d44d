/* One cask in full: before which summer, its odds, each empty cask for it, its age and label. */
#include "cli/transfer.h"
#include "cli/words.h"

#include "cli/bench_age.h"
#include "cli/forecast_answer.h"
#include "cli/prose.h"
#include "model/calendar.h"

#include <math.h>
#include <string.h>

/* Beyond this the wall for each litre is worth a word. */
#define AREA_TOLD_ND 0.1

static const struct stv_cask *cask_of(const struct stv_transfer_answer *answer, int cask_idx)
{
    return &answer->chain->book.ledger.casks[cask_idx];
}

static bool has_window(const struct stv_transfer *item)
{
    return item->leaving.call == STV_LEAVE_BEFORE || item->leaving.call == STV_LEAVE_NOW;
}

/* ", and by 30 September 2029": where that is not the first day of the summer. */
static struct stv_formatted by_text(const struct stv_leaving *leaving)
{
    if (leaving->leave_day_d == leaving->summers[leaving->last_idx].summer.from_day_d)
        return stv_format("%s", "");
    return stv_format(", and by %s", stv_format_day(leaving->leave_day_d).text);
}

static void add_call(struct stv_text *text, const struct stv_transfer_answer *answer,
                     const struct stv_transfer *item)
{
    const struct stv_leaving *leaving = &item->leaving;
    const char *id = cask_of(answer, item->cask_idx)->id;
    struct stv_formatted most = stv_format_number(answer->chain->book.rules.wood_most_nd, 2);
    const struct stv_summer_odds *odds = &leaving->summers[leaving->last_idx];
    bool is_later = stv_chain_is_year_ahead(answer->chain, item->planned_day_d);
    const char *act = stv_transfer_into(item) == STV_INTO_BETTER
                          ? "move it out of its wood"
                          : "no empty cask does better for it than staying: bottle or marry it, or "
                            "empty one that would serve,";
    switch (leaving->call) {
    case STV_LEAVE_BEFORE:
        stv_prose_wrap(
            text, 0,
            "Cask %s: %s before the summer of %s%s. Then %s trials are still under the wood you "
            "allow (%s of your reference cask); when that summer is over, %s.",
            id, act, stv__words_summer(&odds->summer).text, by_text(leaving).text,
            stv__words_tenths(leaving->leave_frac).text, most.text,
            stv__words_tenths(odds->after_frac).text);
        break;
    case STV_LEAVE_NOW:
        stv_prose_wrap(
            text, 0,
            "Cask %s: %s now. %s trials are under the wood you allow (%s of your reference cask) "
            "today; a year on, %s.",
            id, act, stv__words_tenths(leaving->now_frac).text, most.text,
            stv__words_tenths(leaving->a_year_on_frac).text);
        break;
    case STV_LEAVE_STAY:
        stv_prose_wrap(
            text, 0,
            "Cask %s: it can stay in its wood to %s%s%s: %s trials are under the wood you "
            "allow (%s of your reference cask) then.",
            id, is_later ? "" : "its planned age, ", stv_format_month(item->planned_day_d).text,
            is_later ? ", at least a year ahead" : "",
            stv__words_tenths(leaving->planned_frac).text, most.text);
        break;
    case STV_LEAVE_OVER:
        stv_prose_wrap(text, 0,
                       "Cask %s: there is no window left, it is over already: %s trials are "
                       "still under the wood you allow (%s of your reference cask) today. Moving "
                       "it keeps more wood out and takes none back; marrying it with spirit of "
                       "less wood does.",
                       id, stv__words_tenths(leaving->now_frac).text, most.text);
        break;
    }
}

static const struct stv_receiver *best_of(const struct stv_transfer *item)
{
    return item->n_tried > 0 ? &item->receivers[0] : NULL;
}

static void add_ties(struct stv_text *text, const struct stv_transfer_answer *answer,
                     const struct stv_transfer *item)
{
    struct stv_text ids = {0};
    size_t n = 0;
    for (size_t r = 1; r < item->n_tried; r++)
        if (item->receivers[r].score.as_good)
            stv_prose_add(&ids, "%s%s", n++ ? ", " : "",
                          cask_of(answer, item->receivers[r].cask_idx)->id);
    if (n)
        stv_prose_wrap(text, 0, "As good: %s.", stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

/* Why the best of the empty casks is not better than staying, and what one would be that is. */
static void add_why_none(struct stv_text *text, const struct stv_transfer_answer *answer,
                         const struct stv_transfer *item)
{
    const struct stv_receiver *best = best_of(item);
    struct stv_formatted loss = stv_format_number(-best->bottles_against_left_nd, 0);
    const char *id = cask_of(answer, best->cask_idx)->id;
    if (!stv_transfer_spares_wood(best))
        stv_prose_wrap(text, 0, "Why: the wood of %s gives it as much as its own would.", id);
    else
        stv_prose_wrap(
            text, 0, "Why: the wood that %s spares it is worth less than what the move takes.", id);
    if (best->bottles_against_left_nd < -0.5)
        stv_prose_wrap(text, 0,
                       "By then the move costs %s bottles: hose, drips, what dry wood drinks, and "
                       "what the air takes more of it there.",
                       loss.text);
    stv_words_transfer_change(text);
}

/* What the best of the empty casks would make of it. */
static void add_best(struct stv_text *text, const struct stv_transfer_answer *answer,
                     const struct stv_transfer *item)
{
    const struct stv_receiver *best = best_of(item);
    const struct stv_cask *into = cask_of(answer, best->cask_idx);
    struct stv_formatted by = stv_format_month(item->planned_day_d);
    struct stv_formatted bottles = stv_format_signed(best->bottles_against_left_nd, 0);
    struct stv_formatted wood = stv_format_signed(best->wood_against_left_nd, 2);
    enum stv_into use = stv_transfer_into(item);
    if (use == STV_INTO_BETTER)
        stv_prose_wrap(text, 0,
                       "%s cask %s (%s)%s: by %s %s trials are under, in place of %s if it stays; "
                       "%s bottles, wood %s.",
                       item->leaving.call == STV_LEAVE_STAY ? "If it is moved all the same, into"
                                                            : "Into",
                       into->id, into->kind_name, best->is_dry ? ", soaked and tested first" : "",
                       by.text, stv__words_tenths(best->under_frac).text,
                       stv__words_tenths(item->leaving.planned_frac).text, bottles.text, wood.text);
    else
        stv_prose_wrap(text, 0,
                       "%s by %s: the best of the empty casks, %s (%s), makes %s bottles, wood %s "
                       "and still fruit %s against staying.",
                       use == STV_INTO_NO_MATTER ? "Moving it would not matter"
                                                 : "No empty cask does better than staying",
                       by.text, into->id, into->kind_name, bottles.text, wood.text,
                       stv_format_signed(best->fruit_against_left_nd, 2).text);
    if (use == STV_INTO_NONE_BETTER)
        add_why_none(text, answer, item);
    if (use == STV_INTO_BETTER)
        add_ties(text, answer, item);
}

static void add_into(struct stv_text *text, const struct stv_transfer_answer *answer,
                     const struct stv_transfer *item)
{
    switch (stv_transfer_into(item)) {
    case STV_INTO_NONE_EMPTY:
        stv_prose_wrap(text, 0, "No cask of the book is empty, so none could take it.");
        break;
    case STV_INTO_NONE_FITS:
        stv_prose_wrap(text, 0, "None of the empty casks could take it: see below.");
        break;
    case STV_INTO_NO_MATTER:
    case STV_INTO_NONE_BETTER:
    case STV_INTO_BETTER:
        add_best(text, answer, item);
        break;
    }
}

static void add_summers(struct stv_text *text, const struct stv_transfer *item)
{
    const struct stv_leaving *leaving = &item->leaving;
    if (leaving->n_summers == 0 || leaving->call == STV_LEAVE_OVER)
        return;
    stv_prose_add(text, "\n  %-10s%-18s%s\n", "summer", "under, it begins", "under, it is over");
    for (size_t s = 0; s < leaving->n_summers; s++) {
        const struct stv_summer_odds *odds = &leaving->summers[s];
        bool is_last = has_window(item) && s == leaving->last_idx;
        stv_prose_add(text, is_last ? "  %-10s%-18s%-12s%s\n" : "  %-10s%-18s%s%s\n",
                      stv__words_summer(&odds->summer).text,
                      stv__words_tenths(odds->before_frac).text,
                      stv__words_tenths(odds->after_frac).text, is_last ? "<- out before it" : "");
    }
}

/* When it has enough wood and when too much, in the words of `forecast`. */
static void add_crossings(struct stv_text *text, const struct stv_transfer_answer *answer,
                          const struct stv_transfer *item)
{
    const struct stv_house_rules *rules = &answer->chain->book.rules;
    struct stv_threshold thresholds[2] = {{STV_Q_WOOD_INDEX_ND, {rules->wood_least_nd, 0}},
                                          {STV_Q_WOOD_INDEX_ND, {rules->wood_most_nd, 0}}};
    struct stv_crossing crossings[2] = {item->leaving.enough, item->leaving.over};
    struct stv_forecast forecast = {.thresholds = thresholds,
                                    .n_thresholds = 2,
                                    .horizon_day_d =
                                        stv_day_add_months(item->planned_day_d, STV_MONTHS)};
    struct stv_forecast_cask cask = {.cask_idx = item->cask_idx, .crossings = crossings};
    stv_words_crossings(text, &forecast, &cask);
}

static void add_why(struct stv_text *text, const struct stv_transfer_answer *answer,
                    const struct stv_transfer *item)
{
    const struct stv_leaving *leaving = &item->leaving;
    const struct stv_cask *cask = cask_of(answer, item->cask_idx);
    struct stv_place place = stv_lineage_place(answer->chain->lineage, item->cask_idx);
    stv_prose_wrap(
        text, 2, "%s, %s. Wood now %s of your reference cask; if it stays there to %s, %s.",
        cask->kind_name, stv_words_place_of(answer->chain, &place).text,
        stv_format_range(leaving->wood_now_nd, 2).text, stv_format_month(item->planned_day_d).text,
        stv_format_range(leaving->wood_planned_nd, 2).text);
    if (fabs(leaving->area_ratio_nd - 1.0) > AREA_TOLD_ND)
        stv_prose_wrap(text, 2,
                       "It has %s times the wall for each litre that your reference cask has, and "
                       "so takes wood %s.",
                       stv_format_number(leaving->area_ratio_nd, 2).text,
                       leaving->area_ratio_nd > 1.0 ? "sooner" : "later");
    struct stv_formatted then = stv__words_tenths(leaving->leave_frac);
    struct stv_formatted later = stv__words_tenths(leaving->a_year_on_frac);
    bool is_same = strcmp(then.text, later.text) == 0;
    stv_prose_wrap(text, 2,
                   "Staying a year after %s: %s under%s%s; the air takes %s bottles of it in that "
                   "year, in whatever wood.",
                   stv_format_day(leaving->leave_day_d).text, later.text,
                   is_same ? ", as before" : " in place of ", is_same ? "" : then.text,
                   stv_format_number(leaving->a_year_on_bottles_nd, 0).text);
    const struct stv_receiver *best = best_of(item);
    if (best && isfinite(best->waited_under_frac) && stv_transfer_into(item) == STV_INTO_BETTER)
        stv_prose_wrap(
            text, 2, "Moved into %s a year late: by %s %s under in place of %s, %s bottles.",
            cask_of(answer, best->cask_idx)->id, stv_format_month(item->planned_day_d).text,
            stv__words_tenths(best->waited_under_frac).text,
            stv__words_tenths(best->under_frac).text,
            stv_format_signed(best->waited_bottles_nd, 0).text);
}

/* --- the empty casks ----------------------------------------------------------------------- */

/* Columns behind the cask and its kind, to which the share under and a mark are added. */
#define INTO_ROW "%4s %-9s%4s%8s%7s%6s%6s  "
#define KIND_COLUMNS 15

static struct stv_formatted dry_text(const struct stv_receiver *receiver)
{
    if (receiver->is_never_wet)
        return stv_format("new,soak");
    if (isnan(receiver->dry_d))
        return stv_format("?,soak");
    return stv_format("%.0f%s", receiver->dry_d, receiver->is_dry ? ",soak" : "");
}

static void add_name(struct stv_text *text, const struct stv_transfer_answer *answer,
                     const char *name, const char *kind)
{
    size_t id_columns = stv_words_id_columns(answer->chain);
    stv_prose_name_cell(text, name, id_columns, 0);
    stv_text_add(text, " ");
    stv_prose_cell(text, kind, KIND_COLUMNS + 4 - id_columns);
}

static void add_score(struct stv_text *text, const char *facts[3],
                      const struct stv_place_score *score, const double worth_under[2],
                      const char *mark)
{
    stv_prose_add(text, INTO_ROW, facts[0], facts[1], facts[2],
                  stv_format_number(score->bottles_nd.p50, 0).text,
                  stv_format_number(worth_under[0], 0).text,
                  stv_format_number(score->wood_nd.p50, 2).text,
                  stv_format_number(score->fruit_nd.p50, 2).text);
    stv_prose_add(text, mark[0] ? "%-6s%s\n" : "%s%s\n",
                  stv__words_tenths_short(worth_under[1]).text, mark);
}

static void add_receiver(struct stv_text *text, const struct stv_transfer_answer *answer,
                         const struct stv_transfer *item, size_t r)
{
    const struct stv_receiver *receiver = &item->receivers[r];
    const struct stv_cask *cask = cask_of(answer, receiver->cask_idx);
    struct stv_formatted left = stv_format("%d", receiver->uses_left > 0 ? receiver->uses_left : 0);
    struct stv_formatted dry = dry_text(receiver);
    struct stv_formatted full = stv_format("%.0f", 100.0 * receiver->full_frac);
    const char *facts[3] = {left.text, dry.text, full.text};
    const double worth_under[2] = {receiver->worth_bottles_nd, receiver->under_frac};
    enum stv_into use = stv_transfer_into(item);
    bool is_best = r == 0 && use == STV_INTO_BETTER;
    bool is_tie = use != STV_INTO_NONE_BETTER && receiver->score.as_good;
    add_name(text, answer, cask->id, cask->kind_name);
    if (receiver->was_tried)
        add_score(text, facts, &receiver->score, worth_under,
                  is_best ? "<-" : (is_tie ? "as good" : ""));
    else
        stv_prose_add(
            text, "%4s %-9s%4s  %s\n", facts[0], facts[1], facts[2],
            receiver->fault == STV_RECEIVER_TOO_SMALL
                ? stv_format("too small: at most %.0f %% full", 100.0 * receiver->most_full_frac)
                      .text
                : "used up");
}

static void add_table(struct stv_text *text, const struct stv_transfer_answer *answer,
                      const struct stv_transfer *item)
{
    if (!item->receivers || item->n_receivers == 0)
        return;
    const char *nothing[3] = {"-", "-", "-"};
    const double worth_under[2] = {item->left_worth_bottles_nd, item->leaving.planned_frac};
    stv_prose_add(text, "\n%-*s" INTO_ROW "under\n", KIND_COLUMNS + 5, "into", "fill", "dry d",
                  "full", "bottles", "worth", "wood", "fruit");
    add_name(text, answer, "stay", "");
    add_score(text, nothing, &item->left, worth_under,
              item->left.as_good                                ? "as good"
              : stv_transfer_into(item) == STV_INTO_NONE_BETTER ? "<-"
                                                                : "");
    for (size_t r = 0; r < item->n_receivers; r++)
        add_receiver(text, answer, item, r);
    stv_prose_wrap(text, 0,
                   "(fill: fills it may still serve, this one counted; dry: days empty by %s, "
                   "soak: soak and test it first; full: per cent of the cask; the rest in %s; "
                   "worth: bottles, those outside the wood or strength you allow by how far, twice "
                   "the wood half: by this they are ranked%s)",
                   stv_format_day(item->leaving.leave_day_d).text,
                   stv_format_month(item->planned_day_d).text,
                   item->n_tried ? stv_format("; within %s bottles as good, of these "
                                              "the wet and best filled first",
                                              stv_format_number(item->margin_bottles_nd, 1).text)
                                       .text
                                 : "");
    stv_text_add(text, "\n");
}

static void add_thirst(struct stv_text *text, const struct stv_transfer_answer *answer,
                       const struct stv_transfer *item)
{
    const struct stv_receiver *best = best_of(item);
    double drinks_l = best ? stv_transfer_drinks_l(answer, best) : 0.0;
    if (drinks_l > 0.0)
        stv_prose_wrap(text, 0, "The dry wood of %s would drink about %s L; that is counted.",
                       cask_of(answer, best->cask_idx)->id, stv_format_number(drinks_l, 1).text);
}

/* --- age and label ------------------------------------------------------------------------- */

static void add_age(struct stv_text *text, const struct stv_transfer_answer *answer,
                    const struct stv_transfer *item)
{
    const struct stv_market *market = answer->chain->named.market;
    if (!market || !stv_bench_clock_words(market->age_clock))
        return;
    struct stv_transfer_clock clock = stv_transfer_clock_of(answer, item, best_of(item));
    struct stv_formatted age =
        stv_format("%d years and %d days", clock.age_then.years, clock.age_then.days);
    struct stv_formatted day = stv_format_day(item->leaving.leave_day_d);
    if (clock.here == STV_CLOCK_STANDS)
        stv_prose_wrap(text, 0, "Its age by %s does not run in the wood where it lies.",
                       market->name);
    else if (clock.there == STV_CLOCK_COUNTS)
        stv_prose_wrap(text, 0, "Its age by %s runs on in the other cask: %s on %s.", market->name,
                       age.text, day.text);
    else if (clock.there == STV_CLOCK_STANDS)
        stv_prose_wrap(text, 0, "Its age by %s stops with the move: moved on %s it stays %s%s.",
                       market->name, day.text, age.text,
                       clock.here == STV_CLOCK_UNSURE
                           ? ", if its wood was charred (`toast` in casks.csv does not say)"
                           : "");
    else
        stv_prose_wrap(text, 0, "Whether its age by %s runs on there is not known: say the wood.",
                       market->name);
    if (clock.is_too_young)
        stv_prose_wrap(text, 0,
                       "LOOK: that is less than the %s which %s asks for, and it would never get "
                       "there (%s, %s).",
                       market->age_least_y.text, market->name, market->age_least_y.source,
                       market->age_least_y.seen);
    if (clock.is_mixed_past)
        stv_prose_wrap(text, 0,
                       "It lay in other wood before: not all of that age need count there "
                       "(`forecast --cask` lists its woods).");
}

static void add_label(struct stv_text *text, const struct stv_transfer_answer *answer,
                      const struct stv_transfer *item)
{
    if (!stv_lineage_spirit(answer->chain->lineage, item->cask_idx).is_single)
        stv_prose_wrap(text, 0,
                       "It met another cask's spirit before: no single cask, moved or not.");
}

void stv__words_transfer_cask(struct stv_text *text, const struct stv_transfer_answer *answer,
                              const struct stv_transfer *item)
{
    add_call(text, answer, item);
    if (stv_transfer_is_even(item))
        stv_prose_wrap(text, 0,
                       "It is on the edge: as likely over as under today, so that the next "
                       "reckoning may call it the other way. A nosing tells.");
    if (has_window(item) && stv_transfer_into(item) != STV_INTO_BETTER &&
        stv_transfer_old_enough_d(answer, item) > item->leaving.leave_day_d)
        stv_prose_wrap(text, 0,
                       "It is too young to be bottled before %s, with a least age of %s years.",
                       stv_format_day(stv_transfer_old_enough_d(answer, item)).text,
                       stv_format_number(answer->chain->book.rules.least_age_y, 1).text);
    if (item->receivers)
        add_into(text, answer, item);
    add_summers(text, item);
    stv_text_add(text, "\n");
    add_why(text, answer, item);
    add_crossings(text, answer, item);
    add_table(text, answer, item);
    add_thirst(text, answer, item);
    add_age(text, answer, item);
    add_label(text, answer, item);
}
