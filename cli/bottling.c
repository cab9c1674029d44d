#include "cli/bottling_parts.h"
#include "cli/forecast_parts.h"
#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HOT_MONTH_NORTH 7 /* the middle of a summer is the middle of this month */
#define HOT_MONTH_SOUTH 1
/* A cask emptied so long before the day of a bottling may have been emptied for it; judgement. */
#define DONE_BEFORE_D 45
#define DONE_AFTER_D 92 /* a bottling that slips by more is another one */

struct stv_bottling_name stv_bottling_name(const struct stv_book_bottling *bottling)
{
    struct stv_bottling_name name;
    if (bottling->n_releases > 1)
        snprintf(name.text, sizeof name.text, "%s, %zu of %zu", bottling->name, bottling->release,
                 bottling->n_releases);
    else
        snprintf(name.text, sizeof name.text, "%s", bottling->name);
    return name;
}

int stv_bottling_of_cask(const struct stv_bottling_answer *answer, int cask_idx)
{
    for (size_t w = 0; w < answer->n_planned; w++)
        for (size_t i = 0; i < answer->plan.outcomes[w].n_casks; i++)
            if (answer->plan.outcomes[w].casks[i].cask_idx == cask_idx)
                return (int)w;
    return -1;
}

bool stv_bottling_is_short(const struct stv_bottling_outcome *outcome)
{
    return outcome->n_missing_casks > 0 || outcome->missing_bottles_nd > 0.0 ||
           outcome->missing_abv20_frac > 0.0;
}

size_t stv_bottling_n_ahead(const struct stv_bottling_answer *answer, enum stv_event_kind kind)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    size_t n = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        n += ledger->events[e].kind == kind && ledger->events[e].day_d > answer->chain->as_of_day_d;
    return n;
}

int stv_summers_until(const struct stv_chain *chain, double day_d)
{
    bool is_south = chain->book.has_site && chain->book.site.latitude_deg < 0.0;
    struct stv_date date = stv_date_from_day(chain->as_of_day_d);
    int n = 0;
    date.month = is_south ? HOT_MONTH_SOUTH : HOT_MONTH_NORTH;
    date.day = 15;
    for (int64_t hot_d = stv_day_from_date(date); (double)hot_d <= day_d;
         hot_d = stv_day_from_date(date)) {
        n += hot_d > chain->as_of_day_d;
        date.year++;
    }
    return n;
}

/* Labels of the lots, and their names in answer->lots. */
static enum stv_status find_lots(struct stv_bottling_answer *answer)
{
    size_t n = answer->chain->book.ledger.n_casks;
    int *all = malloc((n + 1) * sizeof *all);
    answer->lot_of_cask = malloc((n + 1) * sizeof *answer->lot_of_cask);
    enum stv_status status = all && answer->lot_of_cask ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n && status == STV_OK; c++) {
        all[c] = (int)c;
        answer->lot_of_cask[c] = SIZE_MAX;
    }
    const struct stv_forecast_ask ask = {.cask_idx = all, .n_casks = n, .by = STV_BY_LOT};
    if (status == STV_OK)
        status = stv__sum_labels(answer->chain, &ask, all, answer->lot_of_cask, &answer->lots);
    free(all);
    return status;
}

/* Of bottlings on one day: that which still lacks casks of its number, then that without one. */
static int rank_of(const struct stv_book_bottling *bottling, size_t n_given)
{
    if (bottling->wish.n_casks == 0)
        return 1;
    return n_given < bottling->wish.n_casks ? 0 : 2;
}

/* The bottling nearest to the day on which a cask was emptied: no cask is taken for two of them.
 */
static size_t bottling_nearest(const struct stv_book *book, int64_t day_d, const size_t *n_given)
{
    size_t best = SIZE_MAX;
    int64_t best_apart_d = INT64_MAX;
    int best_rank = 0;
    for (size_t b = 0; b < book->n_bottlings; b++) {
        int64_t late_d = day_d - book->bottlings[b].wish.day_d;
        int64_t apart_d = late_d < 0 ? -late_d : late_d;
        int rank = rank_of(&book->bottlings[b], n_given[b]);
        if (late_d < -DONE_BEFORE_D || late_d > DONE_AFTER_D || apart_d > best_apart_d ||
            (apart_d == best_apart_d && rank >= best_rank))
            continue;
        best = b;
        best_apart_d = apart_d;
        best_rank = rank;
    }
    return best;
}

/* Counts casks emptied per bottling of the book; out: per event, its bottling of the book. */
static void count_emptied(const struct stv_chain *chain, size_t *n_given, size_t *out)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++) {
        out[e] = SIZE_MAX;
        if (ledger->events[e].kind != STV_EVENT_EMPTY ||
            ledger->events[e].day_d > chain->as_of_day_d)
            continue;
        out[e] = bottling_nearest(&chain->book, ledger->events[e].day_d, n_given);
        if (out[e] != SIZE_MAX)
            n_given[out[e]]++;
    }
}

/* Bottlings whose day, or month, has come and for which casks were emptied. */
static enum stv_status list_done(struct stv_bottling_answer *answer, bool *is_done)
{
    const struct stv_book *book = &answer->chain->book;
    size_t n_events = book->ledger.n_events;
    size_t *n_given = calloc(book->n_bottlings + 1, sizeof *n_given);
    answer->done = malloc((book->n_bottlings + 1) * sizeof *answer->done);
    answer->done_of_event = malloc((n_events + 1) * sizeof *answer->done_of_event);
    if (!n_given || !answer->done || !answer->done_of_event) {
        free(n_given);
        return STV_E_MEMORY;
    }
    count_emptied(answer->chain, n_given, answer->done_of_event);
    for (size_t b = 0; b < book->n_bottlings; b++) {
        const struct stv_book_bottling *bottling = &book->bottlings[b];
        is_done[b] = n_given[b] > 0 && (double)bottling->wish.day_d - bottling->day_width_d <=
                                           (double)answer->chain->as_of_day_d;
        n_given[b] = is_done[b] ? answer->n_done : SIZE_MAX;
        if (is_done[b])
            answer->done[answer->n_done++] = *bottling;
    }
    for (size_t e = 0; e < n_events; e++)
        if (answer->done_of_event[e] != SIZE_MAX)
            answer->done_of_event[e] = n_given[answer->done_of_event[e]];
    free(n_given);
    return STV_OK;
}

/* A month that has begun is not past: it is bottled from the day of the answer on. */
static enum stv_status list_planned(struct stv_bottling_answer *answer, const bool *is_done)
{
    const struct stv_book *book = &answer->chain->book;
    int64_t today_d = answer->chain->as_of_day_d;
    answer->planned = malloc((book->n_bottlings + 1) * sizeof *answer->planned);
    answer->past = malloc((book->n_bottlings + 1) * sizeof *answer->past);
    if (!answer->planned || !answer->past)
        return STV_E_MEMORY;
    for (size_t i = 0; i < book->n_bottlings; i++) {
        struct stv_book_bottling bottling = book->bottlings[i];
        if (is_done[i])
            continue;
        if ((double)bottling.wish.day_d + bottling.day_width_d < (double)today_d) {
            answer->past[answer->n_past++] = bottling;
            continue;
        }
        bottling.wish.day_d = bottling.wish.day_d > today_d ? bottling.wish.day_d : today_d;
        answer->planned[answer->n_planned++] = bottling;
    }
    return STV_OK;
}

static enum stv_status list_bottlings(struct stv_bottling_answer *answer)
{
    bool *is_done = calloc(answer->chain->book.n_bottlings + 1, sizeof *is_done);
    enum stv_status status = is_done ? list_done(answer, is_done) : STV_E_MEMORY;
    if (status == STV_OK)
        status = list_planned(answer, is_done);
    free(is_done);
    return status;
}

enum stv_status stv_bottling_answer_make(const struct stv_chain *chain,
                                         const struct stv_bottling_ask *ask,
                                         struct stv_bottling_answer *out)
{
    struct stv__bottling_trials trials = {0};
    *out = (struct stv_bottling_answer){
        .chain = chain, .ask = *ask, .months_d = stv_chain_months(chain, ask->n_months)};
    enum stv_status status = out->months_d ? list_bottlings(out) : STV_E_MEMORY;
    if (status == STV_OK)
        status = find_lots(out);
    if (status == STV_OK)
        status = stv_alike_kinds_find(chain, &out->kinds);
    if (status == STV_OK && out->n_planned > 0)
        status = stv__bottling_run_trials(out, &trials);
    if (status == STV_OK)
        status = stv__bottling_find_windows(out, &trials);
    if (status == STV_OK)
        status = stv__bottling_find_stands(out);
    /* Last, for it tells by trials of another seed, which want other climate tables. */
    if (status == STV_OK && out->n_planned > 0)
        status = stv__bottling_find_plan(out, &trials);
    stv__bottling_trials_free(&trials);
    if (status != STV_OK)
        stv_bottling_answer_free(out);
    return status;
}

void stv_bottling_answer_free(struct stv_bottling_answer *answer)
{
    stv_bottling_plan_free(&answer->plan);
    stv_bottling_free(&answer->windows);
    stv_alike_kinds_free(&answer->kinds);
    free(answer->months_d);
    stv_forecast_free(&answer->lots);
    free(answer->planned);
    free(answer->past);
    free(answer->done);
    free(answer->done_of_event);
    free(answer->lot_of_cask);
    free(answer->guards);
    free(answer->stands);
    *answer = (struct stv_bottling_answer){0};
}
