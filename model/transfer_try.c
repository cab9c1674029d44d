/* Receivers tried: copies of a cask and of what once met its spirit, with the same ids and so the
 * same trials, part only on the day of the move.  One copy stays, one moves into each receiver
 * then, one a year later. */
#include "model/placement_trial.h"
#include "model/transfer_parts.h"

#include "model/calendar.h"
#include "model/draws.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Trials kept at a time. */
#define VALUES_MOST ((size_t)32 << 20)
#define UNKNOWN_ID "?" /* a cask of which the house learned nothing */

/* The ledger of copies of some items, and where each told cask stands in it. */
struct trial {
    struct stv_ledger ledger;
    size_t casks_room, events_room;
    size_t *told; /* 1 + 2 n_tried of each item in turn: left, moved, moved later (SIZE_MAX) */
    size_t n_told;
    int64_t *days_d; /* planned days, ascending, each once */
    size_t n_days;
    int *idx_of;  /* per cask of the book */
    char *is_kin; /* per cask of the book: its spirit met the item's before */
};

static void trial_free(struct trial *trial)
{
    stv_ledger_free(&trial->ledger);
    free(trial->told);
    free(trial->days_d);
    free(trial->idx_of);
    free(trial->is_kin);
}

static enum stv_status make_room(struct trial *trial, size_t n_casks, size_t n_events)
{
    struct stv_ledger *ledger = &trial->ledger;
    if (ledger->n_casks + n_casks > trial->casks_room) {
        trial->casks_room = 2 * (ledger->n_casks + n_casks);
        void *grown = realloc(ledger->casks, trial->casks_room * sizeof *ledger->casks);
        if (!grown)
            return STV_E_MEMORY;
        ledger->casks = grown;
    }
    if (ledger->n_events + n_events > trial->events_room) {
        trial->events_room = 2 * (ledger->n_events + n_events);
        void *grown = realloc(ledger->events, trial->events_room * sizeof *ledger->events);
        if (!grown)
            return STV_E_MEMORY;
        ledger->events = grown;
    }
    return STV_OK;
}

/* A move, or none; indices are the copy's. */
struct move {
    int from_idx, to_idx; /* to_idx -1: it stays */
    int64_t day_d;
    double lost_l;
    struct stv_place place; /* of the cask it leaves: so they differ by the wood alone */
};

static void add_move(const struct move *move, struct stv_ledger *to)
{
    struct stv_event event = {.day_d = move->day_d,
                              .kind = STV_EVENT_SAMPLE,
                              .cask_idx = move->from_idx,
                              .other_idx = -1,
                              .volume20_l = move->lost_l,
                              .abv20_frac = (double)NAN,
                              .water_kg = (double)NAN,
                              .place = {-1, -1, -1, -1},
                              .row = SIZE_MAX - 1};
    if (move->lost_l > 0.0)
        to->events[to->n_events++] = event;
    event.kind = STV_EVENT_TRANSFER;
    event.other_idx = move->to_idx;
    event.volume20_l = (double)NAN;
    event.place = move->place;
    event.row = SIZE_MAX;
    to->events[to->n_events++] = event;
}

static bool is_kind_learned(const struct stv_posterior *learned, const char *kind_name)
{
    for (size_t k = 0; learned && k < learned->n_kinds; k++)
        if (learned->kind_keys[k] == stv_key_of(kind_name))
            return true;
    return false;
}

/* What nobody knows of two woods is alike in each trial, so that trials differ by what is known: a
 * receiver of which nothing was learned has the source's draws, or, where those were learned of the
 * source alone, those of a cask unknown to the house. */
static void draw_alike(const struct stv_posterior *learned, const struct stv_cask *source,
                       struct stv_cask *receiver)
{
    if (learned && stv_posterior_find(learned, stv_key_of(receiver->id)))
        return;
    if (learned && stv_posterior_find(learned, stv_key_of(source->id)))
        memcpy(receiver->id, UNKNOWN_ID, sizeof UNKNOWN_ID);
    else
        memcpy(receiver->id, source->id, sizeof receiver->id);
    if (!is_kind_learned(learned, source->kind_name) &&
        !is_kind_learned(learned, receiver->kind_name))
        memcpy(receiver->kind_name, source->kind_name, sizeof receiver->kind_name);
}

/* Adds the copy of a cask, with a receiver unless that is NULL; what is told goes to trial->told.
 */
static enum stv_status add_copy(const struct stv__transfer_work *work,
                                const struct stv_transfer *item,
                                const struct stv_receiver *receiver, int64_t move_day_d,
                                struct trial *trial)
{
    int wanted[2] = {item->cask_idx, receiver ? receiver->cask_idx : -1};
    struct stv_ledger part, *to = &trial->ledger;
    enum stv_status status =
        stv_ledger_part(&work->past, wanted, receiver ? 2 : 1, &part, trial->idx_of);
    if (status == STV_OK)
        status = make_room(trial, part.n_casks, part.n_events + 2);
    if (status != STV_OK)
        return status;
    int first = (int)to->n_casks;
    const struct stv_posterior *learned = work->ask->house->learned;
    memcpy(to->casks + first, part.casks, part.n_casks * sizeof *part.casks);
    to->n_casks += part.n_casks;
    for (size_t e = 0; e < part.n_events; e++) {
        struct stv_event *event = &to->events[to->n_events++];
        *event = part.events[e];
        event->cask_idx += first;
        if (event->other_idx >= 0)
            event->other_idx += first;
    }
    struct move move = {.from_idx = first + trial->idx_of[wanted[0]],
                        .day_d = move_day_d,
                        .lost_l = work->ask->wood->move_loss_frac * item->leaving.volume20_l.p50,
                        .place = stv_lineage_place(work->ask->lineage, item->cask_idx)};
    trial->told[trial->n_told++] = (size_t)move.from_idx;
    if (receiver) {
        move.to_idx = first + trial->idx_of[wanted[1]];
        if (!trial->is_kin[wanted[1]])
            draw_alike(learned, &to->casks[move.from_idx], &to->casks[move.to_idx]);
        add_move(&move, to);
        trial->told[trial->n_told - 1] = (size_t)move.to_idx;
    }
    stv_ledger_free(&part);
    return STV_OK;
}

static enum stv_status add_item(const struct stv__transfer_work *work,
                                const struct stv_transfer *item, struct trial *trial)
{
    const struct stv_leaving *leaving = &item->leaving;
    size_t at = 0;
    enum stv_status status = add_copy(work, item, NULL, leaving->leave_day_d, trial);
    for (size_t c = 0; c < work->past.n_casks && status == STV_OK; c++)
        trial->is_kin[c] = trial->idx_of[c] >= 0;
    for (size_t r = 0; r < item->n_tried && status == STV_OK; r++) {
        status = add_copy(work, item, &item->receivers[r], leaving->leave_day_d, trial);
        if (status != STV_OK)
            break;
        if (leaving->a_year_on_d < item->planned_day_d)
            status = add_copy(work, item, &item->receivers[r], leaving->a_year_on_d, trial);
        else
            trial->told[trial->n_told++] = SIZE_MAX;
    }
    while (at < trial->n_days && trial->days_d[at] < item->planned_day_d)
        at++;
    if (at < trial->n_days && trial->days_d[at] == item->planned_day_d)
        return status;
    memmove(trial->days_d + at + 1, trial->days_d + at,
            (trial->n_days - at) * sizeof *trial->days_d);
    trial->days_d[at] = item->planned_day_d;
    trial->n_days++;
    return status;
}

/* --- what came of it ---------------------------------------------------------------------- */

struct told {
    const struct stv_outlook *outlook;
    const struct stv_house_rules *rules;
    size_t day_idx;
    double *room;
};

/* Median over trials of one cask's quantity less another's. */
static double paired(const struct told *told, size_t cask_idx, size_t other_idx,
                     enum stv_quantity quantity)
{
    const double *own = stv_outlook_draws(told->outlook, cask_idx, told->day_idx, quantity);
    const double *other = stv_outlook_draws(told->outlook, other_idx, told->day_idx, quantity);
    return stv__paired_median_nd(own, other, told->outlook->n_draws, told->room);
}

static void score(const struct told *told, size_t cask_idx, struct stv_place_score *out)
{
    const double *values = stv_outlook_draws(told->outlook, cask_idx, told->day_idx, 0);
    stv__place_score(values, told->outlook->n_draws, told->rules, told->room, out);
}

static double under_frac(const struct told *told, size_t cask_idx)
{
    const double *wood =
        stv_outlook_draws(told->outlook, cask_idx, told->day_idx, STV_Q_WOOD_INDEX_ND);
    size_t n_under = 0;
    for (size_t k = 0; k < told->outlook->n_draws; k++)
        n_under += wood[k] <= told->rules->wood_most_nd;
    return (double)n_under / (double)told->outlook->n_draws;
}

static double worth_bottles_nd(const struct told *told, size_t cask_idx)
{
    const struct stv_outlook *outlook = told->outlook;
    const struct stv_house_rules *rules = told->rules;
    const double *wood = stv_outlook_draws(outlook, cask_idx, told->day_idx, STV_Q_WOOD_INDEX_ND);
    const double *abv = stv_outlook_draws(outlook, cask_idx, told->day_idx, STV_Q_ABV20_FRAC);
    const double *bottles = stv_outlook_draws(outlook, cask_idx, told->day_idx, STV_Q_BOTTLES_ND);
    double least_abv = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac), sum = 0.0;
    for (size_t k = 0; k < outlook->n_draws; k++) {
        double worth = fmin(1.0, abv[k] / least_abv);
        if (wood[k] > rules->wood_most_nd)
            worth *= rules->wood_most_nd / wood[k];
        else if (wood[k] < rules->wood_least_nd)
            worth *= wood[k] / rules->wood_least_nd;
        sum += worth * bottles[k];
    }
    return sum / (double)outlook->n_draws;
}

static void score_receiver(const struct told *told, const size_t *cask_of, size_t r,
                           struct stv_receiver *receiver)
{
    size_t moved = cask_of[1 + 2 * r], later = cask_of[2 + 2 * r];
    score(told, moved, &receiver->score);
    receiver->bottles_against_left_nd = paired(told, moved, cask_of[0], STV_Q_BOTTLES_ND);
    receiver->wood_against_left_nd = paired(told, moved, cask_of[0], STV_Q_WOOD_INDEX_ND);
    receiver->fruit_against_left_nd = paired(told, moved, cask_of[0], STV_Q_STILL_FRUIT_ND);
    receiver->under_frac = under_frac(told, moved);
    receiver->worth_bottles_nd = worth_bottles_nd(told, moved);
    if (later == SIZE_MAX)
        return;
    receiver->waited_bottles_nd = paired(told, later, moved, STV_Q_BOTTLES_ND);
    receiver->waited_under_frac = under_frac(told, later);
}

static int compare_receivers(const void *a, const void *b)
{
    const struct stv_receiver *x = a, *y = b;
    if (x->was_tried != y->was_tried)
        return y->was_tried - x->was_tried;
    if (x->score.as_good != y->score.as_good)
        return y->score.as_good - x->score.as_good;
    if (!x->was_tried || x->score.as_good)
        return stv__receiver_by_fit(a, b);
    if (x->worth_bottles_nd != y->worth_bottles_nd)
        return x->worth_bottles_nd > y->worth_bottles_nd ? -1 : 1;
    return x->cask_idx - y->cask_idx;
}

static void judge_item(const struct told *told, const size_t *cask_of, struct stv_transfer *item)
{
    size_t best = 0;
    score(told, cask_of[0], &item->left);
    item->left_worth_bottles_nd = worth_bottles_nd(told, cask_of[0]);
    for (size_t r = 0; r < item->n_tried; r++) {
        score_receiver(told, cask_of, r, &item->receivers[r]);
        if (item->receivers[r].worth_bottles_nd > item->receivers[best].worth_bottles_nd)
            best = r;
    }
    if (item->n_tried == 0)
        return;
    const struct stv_receiver top = item->receivers[best];
    double margin_nd = stv__place_margin_nd(&top.score);
    item->margin_bottles_nd = margin_nd;
    for (size_t r = 0; r < item->n_tried; r++) {
        struct stv_receiver *receiver = &item->receivers[r];
        receiver->score.bottles_against_best_nd =
            paired(told, cask_of[1 + 2 * r], cask_of[1 + 2 * best], STV_Q_BOTTLES_ND);
        receiver->score.as_good = receiver->worth_bottles_nd >= top.worth_bottles_nd - margin_nd;
    }
    item->left.bottles_against_best_nd =
        paired(told, cask_of[0], cask_of[1 + 2 * best], STV_Q_BOTTLES_ND);
    item->left.as_good = fabs(item->left_worth_bottles_nd - top.worth_bottles_nd) <= margin_nd;
    qsort(item->receivers, item->n_receivers, sizeof *item->receivers, compare_receivers);
}

static enum stv_status run_items(const struct stv__transfer_work *work, size_t from, size_t to,
                                 struct trial *trial)
{
    struct stv_outlook_request request = *work->ask->house;
    struct stv_outlook outlook = {0};
    double *room = malloc(work->n_draws * sizeof *room);
    enum stv_status status = room ? stv_ledger_sort(&trial->ledger) : STV_E_MEMORY;
    request.ledger = &trial->ledger;
    request.days_d = trial->days_d;
    request.n_days = trial->n_days;
    request.keeps_ranges_only = 0;
    request.sums = NULL;
    request.n_sums = 0;
    request.rows = NULL;
    if (status == STV_OK)
        status = stv_outlook_run(&request, &outlook);
    const size_t *cask_of = trial->told;
    for (size_t i = from; i < to && status == STV_OK; i++) {
        struct stv_transfer *item = &work->out->items[i];
        struct told told = {&outlook, work->ask->house->rules, 0, room};
        if (!item->receivers)
            continue;
        while (trial->days_d[told.day_idx] < item->planned_day_d)
            told.day_idx++;
        judge_item(&told, cask_of, item);
        cask_of += 1 + 2 * item->n_tried;
    }
    stv_outlook_free(&outlook);
    free(room);
    return status;
}

static size_t values_of(const struct stv__transfer_work *work, const struct trial *trial)
{
    return trial->ledger.n_casks * trial->n_days * STV_Q_N * work->n_draws;
}

/* As many items as fit into memory together, from *at on. */
static enum stv_status try_some(const struct stv__transfer_work *work, size_t *at)
{
    struct trial trial = {0};
    size_t from = *at, n_told = 0;
    for (size_t i = from; i < work->out->n; i++)
        n_told += 1 + 2 * work->out->items[i].n_tried;
    trial.told = malloc((n_told + 1) * sizeof *trial.told);
    trial.days_d = malloc((work->out->n + 1) * sizeof *trial.days_d);
    trial.idx_of = malloc((work->past.n_casks + 1) * sizeof *trial.idx_of);
    trial.is_kin = calloc(work->past.n_casks + 1, 1);
    enum stv_status status =
        trial.told && trial.days_d && trial.idx_of && trial.is_kin ? STV_OK : STV_E_MEMORY;
    for (; *at < work->out->n && status == STV_OK && values_of(work, &trial) < VALUES_MOST; ++*at)
        if (work->out->items[*at].receivers)
            status = add_item(work, &work->out->items[*at], &trial);
    if (status == STV_OK && trial.n_told > 0)
        status = run_items(work, from, *at, &trial);
    trial_free(&trial);
    return status;
}

/* The most urgent first: the earlier day, then the fewer trials under what is allowed a year on. */
static int is_more_urgent(const struct stv_transfer *a, const struct stv_transfer *b)
{
    if (a->leaving.leave_day_d != b->leaving.leave_day_d)
        return a->leaving.leave_day_d < b->leaving.leave_day_d;
    return a->leaving.a_year_on_frac < b->leaving.a_year_on_frac;
}

/* Each receiver to one cask; a cask takes the first of its own that is not given yet. */
static enum stv_status give_out(const struct stv__transfer_work *work)
{
    struct stv_transfers *out = work->out;
    char *is_given = calloc(work->past.n_casks + 1, 1), *is_done = calloc(out->n + 1, 1);
    for (size_t round = 0; is_given && is_done && round < out->n; round++) {
        size_t next = SIZE_MAX;
        for (size_t i = 0; i < out->n; i++)
            if (!is_done[i] &&
                (next == SIZE_MAX || is_more_urgent(&out->items[i], &out->items[next])))
                next = i;
        struct stv_transfer *item = &out->items[next];
        is_done[next] = 1;
        int is_urgent =
            item->leaving.call == STV_LEAVE_BEFORE || item->leaving.call == STV_LEAVE_NOW;
        if (!is_urgent || item->left.as_good)
            continue;
        for (size_t r = 0; r < item->n_receivers && item->given_idx == SIZE_MAX; r++) {
            const struct stv_receiver *receiver = &item->receivers[r];
            if (!receiver->was_tried || is_given[receiver->cask_idx] ||
                receiver->worth_bottles_nd <= item->left_worth_bottles_nd)
                continue;
            item->given_idx = r;
            is_given[receiver->cask_idx] = 1;
        }
    }
    enum stv_status status = is_given && is_done ? STV_OK : STV_E_MEMORY;
    free(is_given);
    free(is_done);
    return status;
}

enum stv_status stv__transfer_try(const struct stv__transfer_work *work)
{
    size_t at = 0;
    enum stv_status status = STV_OK;
    while (at < work->out->n && status == STV_OK)
        status = try_some(work, &at);
    return status == STV_OK ? give_out(work) : status;
}
