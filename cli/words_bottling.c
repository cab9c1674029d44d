/* Windows in words: when a cask opens, its surest month, when it closes, and why. */
#include "cli/words.h"

#include "cli/bottling.h"
#include "cli/prose.h"
#include "model/units.h"
#include "model/window_clear.h"
#include "plots/window_words.h"

#include <math.h>
#include <string.h>

/* A window that ends within this many months is told first. */
#define SOON_MONTHS 6u
#define CERTAIN_FRAC 0.5
/* Without a window, but not far from one: its wood is not known well enough. */
#define PERHAPS_FRAC 0.25
#define LISTED_MOST 60 /* casks of one sentence, and ... */
#define ALIKE_MOST 12  /* ... behind the row that stands for them; --csv has them all */

/* Columns behind the cask. */
#define WINDOW_ROW "%-11s %-13s %-11s %-13s %-13s %s\n"

#define TRIALS_LEAST 20 /* fewer cannot tell 1 in 20 */

static bool has_few_trials(const struct stv_bottling_answer *answer)
{
    return answer->n_plan_draws > 0 && answer->n_plan_draws < TRIALS_LEAST;
}

const char *stv_words_surely(const struct stv_bottling_answer *answer)
{
    return has_few_trials(answer) ? "in so few trials" : "19 in 20";
}

void stv_words_few_trials(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    if (has_few_trials(answer) && answer->n_planned > 0)
        stv_prose_wrap(text, 0,
                       "ONLY %s CHOSE, and as many tell what comes of it: they call no odds. Ask "
                       "for 64 or more (--draws) before you rely on it.",
                       stv_format_count(answer->n_plan_draws, "TRIAL", "TRIALS").text);
}

/* A side in so few words that it fits a column. */
static const char *short_side(enum stv_window_side side)
{
    static const char *const words[] = {
        [STV_SIDE_NONE] = "-",
        [STV_SIDE_AGE] = "old enough",
        [STV_SIDE_WOOD_LOW] = "enough wood",
        [STV_SIDE_WOOD_HIGH] = "too much wood",
        [STV_SIDE_STRENGTH] = "strength",
        [STV_SIDE_VOLUME] = "few bottles",
        [STV_SIDE_EMPTIED] = "emptied then",
    };
    return words[side];
}

static const struct stv_window *window_at(const struct stv_bottling *bottling, size_t i)
{
    return &bottling->windows[i];
}

static const char *cask_id(const struct stv_chain *chain, const struct stv_window *window)
{
    return chain->book.ledger.casks[window->cask_idx].id;
}

/* Adds "12, 18 and 26" for the casks that a rule picks; returns how many there are. */
static size_t add_ids(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_bottling *bottling,
                      bool (*is_picked)(const struct stv_window *))
{
    size_t n = 0, k = 0;
    for (size_t i = 0; i < bottling->n_windows; i++)
        n += is_picked(window_at(bottling, i));
    for (size_t i = 0; i < bottling->n_windows && k < LISTED_MOST; i++) {
        if (!is_picked(window_at(bottling, i)))
            continue;
        stv_prose_add(text, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                      cask_id(chain, window_at(bottling, i)));
        k++;
    }
    if (n > k)
        stv_prose_add(text, " and %zu more", n - k);
    return n;
}

static bool is_open_now(const struct stv_window *window)
{
    return window->has_window && window->open_idx == 0;
}

static bool closes_soon(const struct stv_window *window)
{
    return window->has_window && window->closes && window->close_idx < SOON_MONTHS;
}

static bool is_closing_soon(const struct stv_window *window)
{
    return closes_soon(window) && stv_window_closes_clear(window);
}

static bool is_perhaps_closing(const struct stv_window *window)
{
    return closes_soon(window) && !stv_window_closes_clear(window);
}

static bool is_over(const struct stv_window *window)
{
    return !window->has_window && window->never_by == STV_SIDE_WOOD_HIGH;
}

static bool is_never(const struct stv_window *window)
{
    return !window->has_window && window->never_by != STV_SIDE_WOOD_HIGH;
}

/* Returns how many it names. */
static size_t add_group(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_bottling *bottling,
                        bool (*is_picked)(const struct stv_window *), const char *lead,
                        const char *none)
{
    struct stv_text ids = {0};
    size_t n = add_ids(&ids, chain, bottling, is_picked);
    if (n)
        stv_prose_wrap(text, 0, "%s: %s.", lead, stv_text_string(&ids));
    else if (none)
        stv_prose_wrap(text, 0, "%s", none);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
    return n;
}

bool stv_words_closing(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_bottling *bottling)
{
    size_t n = add_group(text, chain, bottling, is_closing_soon, "Closing within six months", NULL);
    return n + add_group(text, chain, bottling, is_perhaps_closing,
                         "Closing within six months in most trials, but not clear", NULL) >
           0;
}

void stv_words_bottling_answer(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_bottling *bottling)
{
    if (bottling->n_windows == 0) {
        stv_prose_wrap(text, 0, "No cask holds spirit, so there is nothing to bottle.");
        return;
    }
    add_group(text, chain, bottling, is_open_now, "Could be bottled now",
              "No cask meets all your wishes in most trials now.");
    (void)stv_words_closing(text, chain, bottling);
    add_group(text, chain, bottling, is_over,
              "Over the wood you allow in most trials before the rest is right", NULL);
    add_group(text, chain, bottling, is_never, "Not in the months looked at", NULL);
}

/* "1-3 summers", "2+ summers": between the days by which 5 and 95 of 100 trials have it. */
static struct stv_formatted summers(const struct stv_chain *chain,
                                    const struct stv_crossing *crossing)
{
    int from = stv_summers_until(chain, crossing->earliest_d);
    if (!isfinite(crossing->latest_d))
        return from ? stv_format("%d+ summers", from) : stv_format("%s", "not clear");
    int to = stv_summers_until(chain, crossing->latest_d);
    return from == to ? stv_format("%d %s", to, to == 1 ? "summer" : "summers")
                      : stv_format("%d-%d summers", from, to);
}

/* A side of a window as a month; where wood decides and is not known to the half year, in
 * summers. */
static struct stv_formatted side_words(const struct stv_bottling_answer *answer,
                                       enum stv_window_side side, size_t month_idx,
                                       const struct stv_crossing *wood)
{
    return stv_window_side_is_clear(side, wood) ? stv_format_month(answer->months_d[month_idx])
                                                : summers(answer->chain, wood);
}

static struct stv_formatted surest_words(const int64_t *months_d, const struct stv_window *window)
{
    struct stv_text text = {0};
    stv_window_add_surest(&text, window, months_d);
    struct stv_formatted words = stv_format("%s", stv_text_string(&text));
    stv_text_free(&text);
    return words;
}

/* What is left to do with a cask that has no window; one whose strength falls must not wait. */
static struct stv_formatted advice(const struct stv_bottling_answer *answer,
                                   const struct stv_window *window)
{
    double falls_d = answer->guards[window->cask_idx].earliest_d;
    int64_t last_d = answer->months_d[answer->ask.n_months];
    bool is_wood = window->never_by == STV_SIDE_WOOD_LOW || window->never_by == STV_SIDE_WOOD_HIGH;
    if (is_wood && window->over_now_frac < CERTAIN_FRAC && window->surest_frac >= PERHAPS_FRAC)
        return stv_format("not clear: nose it");
    switch (window->never_by) {
    case STV_SIDE_WOOD_HIGH:
        return window->over_now_frac >= CERTAIN_FRAC
                   ? stv_format("over already: marry it with spirit short of wood")
                   : stv_format("over before the rest is right: marry it");
    case STV_SIDE_STRENGTH:
        return stv_format("marry or bottle now");
    case STV_SIDE_VOLUME:
        return stv_format("marry it");
    case STV_SIDE_EMPTIED:
        return stv_format("nothing is left in it");
    case STV_SIDE_WOOD_LOW:
    case STV_SIDE_AGE:
    case STV_SIDE_NONE:
        break;
    }
    if (isfinite(falls_d) && !answer->ask.by_lot && falls_d < (double)last_d + STV_YEAR_D)
        return stv_format("strength falls: marry by %s", stv_format_month((int64_t)falls_d).text);
    return stv_format("wait");
}

static void add_row(struct stv_text *text, const struct stv_bottling_answer *answer,
                    const struct stv_window *window, size_t columns)
{
    if (answer->ask.by_lot)
        stv_prose_add(text, "%s: %s\n",
                      answer->lots.sums[answer->lot_of_cask[window->cask_idx]].name,
                      stv_format_count(window->n_casks, "cask", "casks").text);
    stv_prose_name_cell(text, answer->ask.by_lot ? "" : cask_id(answer->chain, window), columns, 0);
    stv_text_add(text, " ");
    if (!window->has_window) {
        stv_prose_add(text, "none: %s (%s)\n",
                      window->never_by == STV_SIDE_AGE ? "not old enough yet"
                                                       : stv_window_side_text(window->never_by),
                      advice(answer, window).text);
        return;
    }
    struct stv_formatted closes =
        window->closes
            ? side_words(answer, window->closes_by, window->close_idx, &window->too_much_wood)
            : stv_format("open");
    stv_prose_add(
        text, WINDOW_ROW,
        window->open_idx == 0
            ? "now"
            : side_words(answer, window->opens_by, window->open_idx, &window->enough_wood).text,
        surest_words(answer->months_d, window).text, closes.text, short_side(window->opens_by),
        short_side(window->closes_by),
        stv_format("%s (%s)", stv_format_number(floor(window->bottles_nd.p50), 0).text,
                   stv_format_number(floor(window->bottles_nd.p05), 0).text)
            .text);
}

static void add_waiting(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_bottling *bottling)
{
    const struct stv_window *dearest = NULL;
    for (size_t i = 0; i < bottling->n_windows; i++) {
        const struct stv_window *window = window_at(bottling, i);
        if (window->has_window && isfinite(window->wait_cost_bottles_nd) &&
            (!dearest || window->wait_cost_bottles_nd > dearest->wait_cost_bottles_nd))
            dearest = window;
    }
    if (dearest)
        stv_prose_wrap(text, 0,
                       "Waiting a year after the surest month costs most on cask %s: %s "
                       "bottles, and %s in 10 that its wood goes over what you allow.",
                       cask_id(chain, dearest),
                       stv_format_number(dearest->wait_cost_bottles_nd, 0).text,
                       stv_format_number(10.0 * dearest->wait_over_frac, 0).text);
}

static void add_label_words(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_bottling *bottling)
{
    struct stv_text ids = {0};
    for (size_t i = 0; i < bottling->n_windows; i++) {
        const struct stv_window *window = window_at(bottling, i);
        if (stv_lineage_spirit(chain->lineage, window->cask_idx).had_water)
            stv_prose_add(&ids, "%s%s", ids.n ? ", " : "", cask_id(chain, window));
    }
    if (ids.n)
        stv_prose_wrap(text, 0, "Words on the label: these had water in the cask: %s.",
                       stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_wishes(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_house_rules *rules = &chain->book.rules;
    struct stv_formatted age =
        rules->least_age_y > 0.0
            ? stv_format("at least %s years old, ", stv_format_number(rules->least_age_y, 1).text)
            : stv_format("%s", "");
    stv_prose_wrap(
        text, 0,
        "Looked at: %s to %s. Wishes: %swood %s to %s of your reference cask, "
        "at least %s %%vol in the cask, at least %s bottles.",
        stv_format_month(answer->months_d[0]).text,
        stv_format_month(answer->months_d[answer->ask.n_months]).text, age.text,
        stv_format_number(rules->wood_least_nd, 2).text,
        stv_format_number(rules->wood_most_nd, 2).text,
        stv_words_percent(fmax(rules->least_abv20_frac, rules->bottling_abv20_frac)).text,
        stv_format_number(chain->book.least_bottles_nd, 0).text);
}

/* The others of a kind, below the one whose row stands for them. */
static void add_alike(struct stv_text *text, const struct stv_bottling_answer *answer, size_t kind)
{
    const struct stv_alike_kinds *kinds = &answer->kinds;
    size_t n = kinds->n_casks[kind] - 1, k = 0;
    struct stv_text ids = {0};
    for (size_t c = (size_t)kinds->first_cask[kind] + 1;
         c < answer->chain->book.ledger.n_casks && k < n && k < ALIKE_MOST; c++)
        if (kinds->of_cask[c] == kind)
            stv_prose_add(&ids, "%s%s", k++ ? ", " : "", answer->chain->book.ledger.casks[c].id);
    if (n > k)
        stv_prose_add(&ids, " and %zu more", n - k);
    if (n > 0)
        stv_prose_wrap(text, 5, "alike: %s", stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_cask_rows(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    const struct stv_alike_kinds *kinds = &answer->kinds;
    size_t columns = stv_words_id_columns(answer->chain);
    for (size_t i = 0; i < answer->windows.n_windows; i++) {
        const struct stv_window *window = window_at(&answer->windows, i);
        size_t kind = kinds->of_cask[window->cask_idx];
        if (kinds->first_cask[kind] != window->cask_idx)
            continue;
        add_row(text, answer, window, columns);
        stv_words_doubt_row(text, answer->chain, window->cask_idx);
        add_alike(text, answer, kind);
    }
    if (kinds->n < answer->chain->book.ledger.n_casks)
        stv_prose_wrap(text, 0,
                       "(Casks alike in wood, size, air and what was done to them were run as one: "
                       "one row for each of %zu kinds; --csv has a row for each cask.)",
                       kinds->n);
}

#define LOT_COLUMNS 4 /* its name stands on a line of its own */

static void add_windows(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    size_t columns = answer->ask.by_lot ? LOT_COLUMNS : stv_words_id_columns(answer->chain);
    stv_prose_heading(text, "%s", answer->ask.by_lot ? "Each lot, as one liquid" : "Each cask");
    stv_prose_add(text, "%-*s " WINDOW_ROW, (int)columns, answer->ask.by_lot ? "lot" : "cask",
                  "opens", "surest", "closes", "opens by", "closes by", "bottles");
    for (size_t i = 0; answer->ask.by_lot && i < answer->windows.n_windows; i++)
        add_row(text, answer, window_at(&answer->windows, i), columns);
    if (!answer->ask.by_lot)
        add_cask_rows(text, answer);
    stv_prose_wrap(text, 0,
                   "(A window: at least half the trials meet every wish; \"not clear\": never 7 in "
                   "10. Summers: hot seasons from today until wood opens or closes it, 9 trials in "
                   "10. Bottles: counted at %s %%vol, where a plan counts at its own strength; in "
                   "brackets: reached in 19 trials of 20.)",
                   stv_words_percent(answer->chain->book.rules.bottling_abv20_frac).text);
    stv_text_add(text, "\n");
}

void stv_words_done(struct stv_text *text, const struct stv_bottling_answer *answer,
                    size_t done_idx)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    struct stv_text ids = {0};
    int64_t first_d = INT64_MAX, last_d = INT64_MIN;
    size_t n = 0, k = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        n += answer->done_of_event[e] == done_idx;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        if (answer->done_of_event[e] != done_idx)
            continue;
        stv_prose_add(&ids, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                      ledger->casks[event->cask_idx].id);
        first_d = event->day_d < first_d ? event->day_d : first_d;
        last_d = event->day_d > last_d ? event->day_d : last_d;
        k++;
    }
    struct stv_formatted last = stv_format_day(last_d);
    struct stv_formatted days =
        first_d == last_d ? stv_format("on %s", last.text)
                          : stv_format("from %s to %s", stv_format_day(first_d).text, last.text);
    stv_prose_wrap(text, 0,
                   "DONE: %s (%s) is taken as done: %s %s emptied %s. No cask is chosen for it.",
                   stv_bottling_name(&answer->done[done_idx]).text,
                   stv_words_when(&answer->done[done_idx]).text, stv_text_string(&ids),
                   n == 1 ? "was" : "were", days.text);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

/* Releases may be planned of spirit that history.csv fills later. */
static void add_nothing(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    stv_words_bottling_answer(text, answer->chain, &answer->windows);
    stv_words_not_promised(text, answer);
    if (answer->n_planned == 0)
        return;
    stv_prose_wrap(text, 0, "Planned, of what history.csv fills after that day:");
    stv_text_add(text, "\n");
    stv_words_planned(text, answer);
}

void stv_words_bottling(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_bottling *bottling = &answer->windows;
    if (bottling->n_windows == 0) {
        add_nothing(text, answer);
        return;
    }
    stv_words_not_promised(text, answer);
    if (text->n > 0)
        stv_text_add(text, "\n");
    if (answer->n_planned > 0)
        stv_words_planned(text, answer);
    if (!answer->ask.by_lot)
        stv_words_bottling_answer(text, chain, bottling);
    if (answer->n_planned == 0)
        stv_words_planned(text, answer);
    stv_text_add(text, "\n");
    add_windows(text, answer);
    if (!answer->ask.by_lot) {
        add_waiting(text, chain, bottling);
        add_label_words(text, chain, bottling);
    }
    add_wishes(text, answer);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_text_add(text, "\n");
    stv_words_guard(text, answer);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "A nosing of the casks that are \"not clear\".");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_planning(text);
    stv_words_caution_haze(text, &chain->book.rules);
    stv_words_caution_vapour(text);
    stv_words_caution_moving(text);
}
