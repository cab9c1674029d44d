/* Casks for what is planned.  Of casks alike it does not matter which are taken: kinds are tried by
 * one cask each, and then as many of each kind as a plan may take run themselves, for casks alike
 * share their house and wood but not their luck. */
#include "cli/bottling_parts.h"

#include "model/calendar.h"

#include <stdlib.h>

#define SPARE_CASKS 1 /* of each kind, beside those that a plan may take: one in their stead */

/* The casks that run themselves. */
struct candidates {
    int *casks;
    size_t *n_alike; /* per cask: how many of the house it stands for */
    size_t n;
};

/* Where every cask is tried by itself, windows are called from the same trials. */
static bool are_shared(const struct stv_bottling_answer *answer)
{
    size_t n_book = answer->chain->book.ledger.n_casks;
    return !answer->ask.by_lot && answer->kinds.n == n_book && n_book <= STV__CASKS_AT_ONCE;
}

/* Today and so many months, the planned days, and a year later. */
static enum stv_status list_days(const struct stv_bottling_answer *answer, size_t n_months,
                                 struct stv__day_list *list)
{
    enum stv_status status = STV_OK;
    for (size_t m = 0; m <= n_months && status == STV_OK; m++)
        status = stv__day_add(list, answer->months_d[m]);
    for (size_t w = 0; w < answer->n_planned && status == STV_OK; w++) {
        int64_t day_d = answer->planned[w].wish.day_d;
        status = stv__day_add(list, day_d);
        if (status == STV_OK)
            status = stv__day_add(list, stv_day_add_months(day_d, STV_MONTHS));
    }
    if (status == STV_OK)
        stv__day_seal(list);
    return status;
}

/* By trials of another seed for each turn. */
static enum stv_status run_turn(const struct stv_bottling_answer *answer,
                                const struct stv__cask_part *part, uint64_t turn,
                                struct stv_outlook *out)
{
    struct stv_run_options options = answer->chain->run;
    struct stv__day_list days = {0};
    size_t n_months = turn == 0 && are_shared(answer) ? answer->ask.n_months : 0;
    enum stv_status status = list_days(answer, n_months, &days);
    options.seed += turn;
    options.n_draws = stv_bottling_draws(options.n_draws);
    if (status == STV_OK)
        status = stv__cask_part_run(answer->chain, part, &days, options, out);
    free(days.days_d);
    return status;
}

/* What the market bars of a part on each planned day, malloc'd; NULL also without a market. */
static enum stv_status find_bars(const struct stv_bottling_answer *answer,
                                 const struct stv__cask_part *part, char **out)
{
    size_t n = part->ledger.n_casks;
    *out = NULL;
    if (!answer->chain->named.market)
        return STV_OK;
    *out = malloc(answer->n_planned * n + 1);
    if (!*out)
        return STV_E_MEMORY;
    for (size_t w = 0; w < answer->n_planned; w++)
        for (size_t c = 0; c < n; c++)
            (*out)[w * n + c] =
                stv_bottling_stand(answer, w, (size_t)part->book_of[c])->bar != STV_BAR_NONE;
    return STV_OK;
}

static struct stv_bottling_plan_request request_of(const struct stv_bottling_answer *answer,
                                                   const struct stv__cask_part *part,
                                                   const struct stv_planned_bottling *wishes,
                                                   const char *is_barred)
{
    const struct stv_book *book = &answer->chain->book;
    return (struct stv_bottling_plan_request){
        .ledger = &part->ledger,
        .rules = &book->rules,
        .wishes = wishes,
        .n_wishes = answer->n_planned,
        .least_bottles_nd = book->least_bottles_nd,
        .lot_of_cask = part->lot_of,
        .is_barred = is_barred,
    };
}

/* How many of each kind a plan may take: by one cask of each. */
static enum stv_status find_numbers(const struct stv_bottling_answer *answer,
                                    const struct stv_planned_bottling *wishes, size_t *out_n_most)
{
    const struct stv_alike_kinds *kinds = &answer->kinds;
    struct stv__cask_part part;
    struct stv_outlook outlook = {0};
    char *is_barred = NULL;
    enum stv_status status =
        stv__cask_part_new(answer->chain, kinds->first_cask, kinds->n, answer->lot_of_cask, &part);
    if (status == STV_OK)
        status = run_turn(answer, &part, 0, &outlook);
    if (status == STV_OK)
        status = find_bars(answer, &part, &is_barred);
    struct stv_bottling_plan_request request = request_of(answer, &part, wishes, is_barred);
    request.outlook = &outlook;
    request.n_alike = kinds->n_casks;
    if (status == STV_OK)
        status = stv_bottling_plan_numbers(&request, out_n_most);
    free(is_barred);
    stv_outlook_free(&outlook);
    stv__cask_part_free(&part);
    return status;
}

/* The first of each kind; the last of those stands for all that are left.
 *
 * n_most    per kind: how many a plan may take
 * n_listed  per kind, zeros */
static void list_candidates(const struct stv_alike_kinds *kinds, size_t n_book,
                            const size_t *n_most, size_t *n_listed, struct candidates *out)
{
    for (size_t c = 0; c < n_book; c++) {
        size_t kind = kinds->of_cask[c], most = n_most[kind] + SPARE_CASKS;
        if (n_listed[kind] == most)
            continue;
        bool is_last = ++n_listed[kind] == most;
        out->n_alike[out->n] = is_last ? kinds->n_casks[kind] - (most - 1) : 1;
        out->casks[out->n++] = (int)c;
    }
}

static enum stv_status find_candidates(const struct stv_bottling_answer *answer,
                                       const struct stv_planned_bottling *wishes,
                                       struct candidates *out)
{
    const struct stv_alike_kinds *kinds = &answer->kinds;
    size_t n_book = answer->chain->book.ledger.n_casks;
    size_t *n_most = calloc(kinds->n + 1, sizeof *n_most);
    size_t *n_listed = calloc(kinds->n + 1, sizeof *n_listed);
    *out = (struct candidates){malloc((n_book + 1) * sizeof *out->casks),
                               malloc((n_book + 1) * sizeof *out->n_alike), 0};
    enum stv_status status =
        n_most && n_listed && out->casks && out->n_alike ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK && kinds->n < n_book)
        status = find_numbers(answer, wishes, n_most);
    if (status == STV_OK)
        list_candidates(kinds, n_book, n_most, n_listed, out);
    free(n_listed);
    free(n_most);
    return status;
}

/* From casks of the part to those of the book. */
static void name_casks(const struct stv__cask_part *part, struct stv_bottling_plan *plan)
{
    for (size_t w = 0; w < plan->n; w++)
        for (size_t i = 0; i < plan->outcomes[w].n_casks; i++) {
            struct stv_chosen_cask *cask = &plan->outcomes[w].casks[i];
            cask->cask_idx = part->book_of[cask->cask_idx];
            if (cask->substitute_idx >= 0)
                cask->substitute_idx = part->book_of[cask->substitute_idx];
        }
}

/* Casks of a part that are told by trials of their own. */
struct told {
    const struct stv_bottling_answer *answer;
    const struct stv__cask_part *part;
};

static enum stv_status run_told(void *context, const int *casks, size_t n, struct stv_outlook *out,
                                int *out_at)
{
    const struct told *told = context;
    struct stv__cask_part part = {0};
    int *of_book = malloc((n + 1) * sizeof *of_book);
    for (size_t i = 0; i < n && of_book; i++)
        of_book[i] = told->part->book_of[casks[i]];
    enum stv_status status = of_book ? stv__cask_part_new(told->answer->chain, of_book, n,
                                                          told->answer->lot_of_cask, &part)
                                     : STV_E_MEMORY;
    if (status == STV_OK)
        status = run_turn(told->answer, &part, 1, out);
    for (size_t i = 0; i < n && status == STV_OK; i++)
        out_at[i] = part.idx_of[of_book[i]];
    stv__cask_part_free(&part);
    free(of_book);
    return status;
}

static enum stv_status run_trials(const struct stv_bottling_answer *answer, const int *casks,
                                  size_t n, struct stv__bottling_trials *out)
{
    enum stv_status status =
        stv__cask_part_new(answer->chain, casks, n, answer->lot_of_cask, &out->part);
    if (status == STV_OK)
        status = run_turn(answer, &out->part, 0, &out->outlook);
    out->is_there = status == STV_OK;
    return status;
}

enum stv_status stv__bottling_run_trials(const struct stv_bottling_answer *answer,
                                         struct stv__bottling_trials *out)
{
    return are_shared(answer) ? run_trials(answer, answer->kinds.first_cask, answer->kinds.n, out)
                              : STV_OK;
}

void stv__bottling_trials_free(struct stv__bottling_trials *trials)
{
    stv_outlook_free(&trials->outlook);
    stv__cask_part_free(&trials->part);
    trials->is_there = false;
}

/* What is told of a choice must not be what made it. */
static enum stv_status choose(struct stv_bottling_answer *answer,
                              const struct stv_planned_bottling *wishes,
                              const struct candidates *candidates,
                              const struct stv__bottling_trials *trials)
{
    const struct stv__cask_part *part = &trials->part;
    char *is_barred = NULL;
    enum stv_status status = find_bars(answer, part, &is_barred);
    struct stv_bottling_plan_request request = request_of(answer, part, wishes, is_barred);
    request.outlook = &trials->outlook;
    request.n_alike = candidates->n_alike;
    struct told told = {answer, part};
    request.run_told = answer->n_plan_draws > 0 ? run_told : NULL;
    request.told_context = &told;
    if (status == STV_OK)
        status = stv_bottling_plan(&request, &answer->plan);
    if (status == STV_OK)
        name_casks(part, &answer->plan);
    free(is_barred);
    return status;
}

/* By the trials that are there, else by those of the candidates. */
static enum stv_status plan_of(struct stv_bottling_answer *answer,
                               const struct stv_planned_bottling *wishes,
                               const struct candidates *candidates,
                               const struct stv__bottling_trials *trials)
{
    if (trials->is_there)
        return choose(answer, wishes, candidates, trials);
    struct stv__bottling_trials own = {0};
    enum stv_status status = run_trials(answer, candidates->casks, candidates->n, &own);
    if (status == STV_OK)
        status = choose(answer, wishes, candidates, &own);
    stv__bottling_trials_free(&own);
    return status;
}

enum stv_status stv__bottling_find_plan(struct stv_bottling_answer *answer,
                                        const struct stv__bottling_trials *trials)
{
    struct stv_planned_bottling *wishes = malloc((answer->n_planned + 1) * sizeof *wishes);
    struct candidates candidates = {0};
    enum stv_status status = wishes ? STV_OK : STV_E_MEMORY;
    answer->n_plan_draws = stv_bottling_draws(answer->chain->run.n_draws);
    for (size_t w = 0; w < answer->n_planned && wishes; w++)
        wishes[w] = answer->planned[w].wish;
    if (status == STV_OK)
        status = find_candidates(answer, wishes, &candidates);
    answer->n_planned_casks = candidates.n;
    if (status == STV_OK)
        status = plan_of(answer, wishes, &candidates, trials);
    free(candidates.casks);
    free(candidates.n_alike);
    free(wishes);
    return status;
}
