/* Windows and guards, worked out of one cask of each kind, or of whole lots, some at a time: values
 * of months and years of a large house would not fit into memory together. */
#include "cli/bottling_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GUARD_MONTHS_APART 6

struct run {
    struct stv_bottling_answer *answer;
    const struct stv__bottling_trials *trials;
    int64_t guards_d[STV_GUARD_DAYS];
    int *casks; /* n_casks: whose own values are needed, those of one lot side by side */
    size_t n_casks;
    struct stv_window *of_kind; /* not by lot */
};

void stv_guard_days(const struct stv_chain *chain, int64_t days_d[STV_GUARD_DAYS])
{
    for (int h = 0; h < STV_GUARD_DAYS; h++)
        days_d[h] = stv_day_add_months(chain->as_of_day_d, h * GUARD_MONTHS_APART);
}

/* By lot every cask runs itself, for a sum of many is surer than one; else one of each kind. */
static enum stv_status list_casks(struct run *run)
{
    const struct stv_bottling_answer *answer = run->answer;
    size_t n_book = answer->chain->book.ledger.n_casks;
    char *is_listed = calloc(n_book + 1, 1);
    run->casks = malloc((n_book + 1) * sizeof *run->casks);
    if (!run->casks || !is_listed) {
        free(is_listed);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < n_book; c++) {
        size_t lot = answer->lot_of_cask[c];
        bool stands =
            answer->ask.by_lot || answer->kinds.first_cask[answer->kinds.of_cask[c]] == (int)c;
        if (is_listed[c] || !stands || !stv_lineage_spirit(answer->chain->lineage, (int)c).is_there)
            continue;
        for (size_t m = c; m < n_book; m++)
            if (m == c ||
                (answer->ask.by_lot && answer->lot_of_cask[m] == lot && lot != SIZE_MAX)) {
                run->casks[run->n_casks++] = (int)m;
                is_listed[m] = 1;
            }
    }
    free(is_listed);
    return STV_OK;
}

/* Where the next casks end that fit into memory together: a lot is never cut. */
static size_t end_of_some(const struct run *run, size_t from)
{
    const size_t *lot_of = run->answer->lot_of_cask;
    size_t to = from + STV__CASKS_AT_ONCE < run->n_casks ? from + STV__CASKS_AT_ONCE : run->n_casks;
    while (run->answer->ask.by_lot && to < run->n_casks && lot_of[run->casks[to]] != SIZE_MAX &&
           lot_of[run->casks[to]] == lot_of[run->casks[to - 1]])
        to++;
    return to;
}

/* Windows of the casks that were asked for: those they exchange spirit with came along. */
static enum stv_status take_windows(struct run *run, const struct stv__cask_part *part,
                                    const char *is_asked, const struct stv_outlook *months)
{
    struct stv_bottling_answer *answer = run->answer;
    const struct stv_book *book = &answer->chain->book;
    struct stv_bottling found = {0};
    for (size_t c = 0; c < part->ledger.n_casks; c++)
        if (!is_asked[part->book_of[c]])
            part->lot_of[c] = SIZE_MAX;
    const struct stv_bottling_request request = {
        .outlook = months,
        .ledger = &part->ledger,
        .rules = &book->rules,
        .least_bottles_nd = book->least_bottles_nd,
        .lot_of_cask = answer->ask.by_lot ? part->lot_of : NULL,
        .n_lots = answer->lots.n_sums,
    };
    enum stv_status status = stv_bottling_windows(&request, &found);
    for (size_t w = 0; w < found.n_windows && status == STV_OK; w++) {
        found.windows[w].cask_idx = part->book_of[found.windows[w].cask_idx];
        if (!is_asked[found.windows[w].cask_idx])
            continue;
        if (answer->ask.by_lot)
            answer->windows.windows[answer->windows.n_windows++] = found.windows[w];
        else
            run->of_kind[answer->kinds.of_cask[found.windows[w].cask_idx]] = found.windows[w];
    }
    stv_bottling_free(&found);
    return status;
}

static enum stv_status find_windows(struct run *run, const struct stv__cask_part *part,
                                    const char *is_asked)
{
    struct stv_run_options options = run->answer->chain->run;
    const struct stv__day_list days = {.days_d = run->answer->months_d,
                                       .n = run->answer->ask.n_months + 1};
    struct stv_outlook months = {0};
    options.n_draws = stv_bottling_draws(options.n_draws);
    enum stv_status status = stv__cask_part_run(run->answer->chain, part, &days, options, &months);
    if (status == STV_OK)
        status = take_windows(run, part, is_asked, &months);
    stv_outlook_free(&months);
    return status;
}

/* By the plan's trials: all casks are asked for. */
static enum stv_status pick_windows(struct run *run)
{
    const struct stv_bottling_answer *answer = run->answer;
    size_t n_book = answer->chain->book.ledger.n_casks;
    char *is_asked = malloc(n_book + 1);
    struct stv_outlook months = {0};
    if (!is_asked)
        return STV_E_MEMORY;
    memset(is_asked, 1, n_book + 1);
    enum stv_status status = stv_outlook_pick(&run->trials->outlook, answer->months_d,
                                              answer->ask.n_months + 1, &months);
    if (status == STV_OK)
        status = take_windows(run, &run->trials->part, is_asked, &months);
    stv_outlook_free(&months);
    free(is_asked);
    return status;
}

/* So many years ahead, and nothing chosen: the usual trials do. */
static enum stv_status find_guards(struct run *run, const struct stv__cask_part *part)
{
    const struct stv_chain *chain = run->answer->chain;
    int64_t *guards_d = run->guards_d;
    const struct stv__day_list days = {.days_d = guards_d, .n = STV_GUARD_DAYS};
    struct stv_outlook half_years = {0};
    enum stv_status status = stv__cask_part_run(chain, part, &days, chain->run, &half_years);
    for (size_t c = 0; c < part->ledger.n_casks && status == STV_OK; c++)
        status = stv_strength_guard(&half_years, (int)c, run->answer->guard_abv20_frac,
                                    &run->answer->guards[part->book_of[c]]);
    stv_outlook_free(&half_years);
    return status;
}

static enum stv_status take_guards(struct run *run)
{
    struct stv_bottling_answer *answer = run->answer;
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < run->n_casks && status == STV_OK; i++)
        status = stv_strength_guard(answer->ask.half_years, run->casks[i], answer->guard_abv20_frac,
                                    &answer->guards[run->casks[i]]);
    return status;
}

static enum stv_status run_some(struct run *run, size_t from, size_t to)
{
    struct stv_bottling_answer *answer = run->answer;
    struct stv__cask_part part = {0};
    char *is_asked = calloc(answer->chain->book.ledger.n_casks + 1, 1);
    enum stv_status status = is_asked ? stv__cask_part_new(answer->chain, run->casks + from,
                                                           to - from, answer->lot_of_cask, &part)
                                      : STV_E_MEMORY;
    for (size_t i = from; i < to && is_asked; i++)
        is_asked[run->casks[i]] = 1;
    if (status == STV_OK && !run->trials->is_there)
        status = find_windows(run, &part, is_asked);
    if (status == STV_OK && !answer->ask.half_years)
        status = find_guards(run, &part);
    stv__cask_part_free(&part);
    free(is_asked);
    return status;
}

/* The strength that must not be passed: the book's own, or the market's where that is as high. */
static void take_guard(struct stv_bottling_answer *answer)
{
    const double rounding_frac = 1e-9;
    const struct stv_market *market = answer->chain->named.market;
    double asked_frac = market ? market->bottled_least_abv20_frac.value : (double)NAN;
    if (market && isfinite(market->label_tolerance_abv20_frac.value))
        asked_frac += market->label_tolerance_abv20_frac.value;
    double least_frac = answer->chain->book.rules.least_abv20_frac;
    answer->is_guard_by_market = asked_frac >= least_frac - rounding_frac;
    answer->guard_abv20_frac = answer->is_guard_by_market ? asked_frac : least_frac;
}

/* What one cask of a kind came to, told of each. */
static void tell_each(struct run *run)
{
    struct stv_bottling_answer *answer = run->answer;
    for (size_t c = 0; c < answer->chain->book.ledger.n_casks; c++) {
        size_t kind = answer->kinds.of_cask[c];
        if (!stv_lineage_spirit(answer->chain->lineage, (int)c).is_there)
            continue;
        answer->guards[c] = answer->guards[answer->kinds.first_cask[kind]];
        answer->windows.windows[answer->windows.n_windows] = run->of_kind[kind];
        answer->windows.windows[answer->windows.n_windows++].cask_idx = (int)c;
    }
}

static enum stv_status make_room(struct run *run)
{
    struct stv_bottling_answer *answer = run->answer;
    size_t n_book = answer->chain->book.ledger.n_casks;
    run->of_kind = calloc(answer->kinds.n + 1, sizeof *run->of_kind);
    answer->guards = calloc(n_book + 1, sizeof *answer->guards);
    answer->windows.windows = calloc(n_book + 1, sizeof *answer->windows.windows);
    return run->of_kind && answer->guards && answer->windows.windows ? STV_OK : STV_E_MEMORY;
}

enum stv_status stv__bottling_find_windows(struct stv_bottling_answer *answer,
                                           const struct stv__bottling_trials *trials)
{
    struct run run = {.answer = answer, .trials = trials};
    enum stv_status status = make_room(&run);
    take_guard(answer);
    stv_guard_days(answer->chain, run.guards_d);
    if (status == STV_OK)
        status = list_casks(&run);
    if (status == STV_OK && trials->is_there)
        status = pick_windows(&run);
    if (status == STV_OK && answer->ask.half_years)
        status = take_guards(&run);
    size_t from = trials->is_there && answer->ask.half_years ? run.n_casks : 0;
    for (size_t to; from < run.n_casks && status == STV_OK; from = to) {
        to = end_of_some(&run, from);
        status = run_some(&run, from, to);
    }
    if (status == STV_OK && !answer->ask.by_lot)
        tell_each(&run);
    answer->guard_until_d = run.guards_d[STV_GUARD_DAYS - 1];
    free(run.casks);
    free(run.of_kind);
    return status;
}
