/* Which empty casks could take a cask's spirit: facts by the ledger alone, and which to try. */
#include "model/transfer_parts.h"

#include "model/cask_room.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>

#define TRIED_MOST 8
#define HOTTEST_MOST_C 50.0

/* What is known of an empty cask whoever asks. */
struct empty {
    int cask_idx;
    int n_uses;
    int64_t since_day_d; /* INT64_MIN: not by this ledger */
};

static enum stv_status list_empties(const struct stv__transfer_work *work, struct empty *out,
                                    size_t *out_n)
{
    const struct stv_ledger *ledger = &work->past;
    *out_n = 0;
    for (size_t c = 0; c < ledger->n_casks; c++) {
        struct stv_wood_life life;
        if (stv_lineage_spirit(work->ask->lineage, (int)c).is_there)
            continue;
        enum stv_status status = stv_lineage_wood(work->ask->lineage, (int)c, &life);
        if (status != STV_OK)
            return status;
        if (life.empty_since_day_d != INT64_MAX) /* full, of water perhaps */
            out[(*out_n)++] = (struct empty){
                (int)c, ledger->casks[c].n_uses_before + (int)life.n_uses, life.empty_since_day_d};
        stv_wood_life_free(&life);
    }
    return STV_OK;
}

/* Warmest hour of the air where the cask lies; its spirit stays below. */
static double hottest_c(const struct stv__transfer_work *work, int cask_idx)
{
    const struct stv_position_set *set = work->ask->house->set;
    struct stv_place place = stv_lineage_place(work->ask->lineage, cask_idx);
    const struct stv_position *position = &set->positions[stv_position_of_place(set, &place)];
    double most_c = 20.0;
    for (size_t k = 0; k < position->grid.n; k++)
        if (position->air_c[k] > most_c)
            most_c = position->air_c[k];
    return fmin(most_c, HOTTEST_MOST_C);
}

/* Litres at 20 C that leave the usual room at the hottest, as a share of the cask. */
static double most_full_frac(const struct stv_leaving *leaving, double capacity_l,
                             double hottest_air_c)
{
    double ethanol_kg, water_kg;
    struct stv_cask_limit limit = {capacity_l, hottest_air_c, STV_ROOM_USUAL_FRAC};
    if (stv_spirit_masses_kg(1.0, leaving->abv20_frac.p50, &ethanol_kg, &water_kg) != STV_OK)
        return (double)NAN;
    return stv_most_full_l(&limit, ethanol_kg / (ethanol_kg + water_kg), 20.0,
                           STV_ROOM_USUAL_FRAC) /
           capacity_l;
}

static struct stv_receiver describe(const struct stv__transfer_work *work,
                                    const struct stv_leaving *leaving, const struct empty *empty,
                                    double hottest_air_c)
{
    const struct stv_cask *cask = &work->past.casks[empty->cask_idx];
    const struct stv_wood_rules *rules = work->ask->wood;
    struct stv_receiver receiver = {
        .cask_idx = empty->cask_idx,
        .n_uses = empty->n_uses,
        .uses_left = rules->most_uses[cask->history] - empty->n_uses,
        .is_never_wet = empty->n_uses == 0 && cask->history == STV_WOOD_NEW,
        .dry_d = empty->since_day_d == INT64_MIN
                     ? (double)NAN
                     : (double)(leaving->leave_day_d - empty->since_day_d),
        .full_frac =
            leaving->volume20_l.p50 * (1.0 - rules->move_loss_frac) / cask->geometry.capacity_l,
        .most_full_frac = most_full_frac(leaving, cask->geometry.capacity_l, hottest_air_c),
        .waited_bottles_nd = (double)NAN,
        .waited_under_frac = (double)NAN,
    };
    receiver.is_dry = !(receiver.dry_d <= rules->dry_after_d[cask->history]);
    if (receiver.uses_left <= 0)
        receiver.fault = STV_RECEIVER_USED_UP;
    else if (!(receiver.full_frac <= receiver.most_full_frac))
        receiver.fault = STV_RECEIVER_TOO_SMALL;
    return receiver;
}

int stv__receiver_by_fit(const void *a, const void *b)
{
    const struct stv_receiver *x = a, *y = b;
    if (x->fault != y->fault)
        return (int)x->fault - (int)y->fault;
    if (x->is_dry != y->is_dry)
        return x->is_dry - y->is_dry;
    if (x->full_frac != y->full_frac)
        return x->full_frac > y->full_frac ? -1 : 1;
    return x->cask_idx - y->cask_idx;
}

static int wants_receiver(const struct stv__transfer_work *work, const struct stv_transfer *item)
{
    int is_urgent = item->leaving.call == STV_LEAVE_BEFORE || item->leaving.call == STV_LEAVE_NOW;
    return item->leaving.leave_day_d < item->planned_day_d && (work->ask->tries_all || is_urgent);
}

static enum stv_status list_for(const struct stv__transfer_work *work, const struct empty *empties,
                                size_t n, struct stv_transfer *item)
{
    item->receivers = malloc((n + 1) * sizeof *item->receivers);
    if (!item->receivers)
        return STV_E_MEMORY;
    double hottest_air_c = hottest_c(work, item->cask_idx);
    for (size_t i = 0; i < n; i++) {
        item->receivers[i] = describe(work, &item->leaving, &empties[i], hottest_air_c);
        item->n_tried += item->receivers[i].fault == STV_RECEIVER_GOOD;
    }
    item->n_receivers = n;
    qsort(item->receivers, n, sizeof *item->receivers, stv__receiver_by_fit);
    if (!work->ask->tries_all && item->n_tried > TRIED_MOST)
        item->n_tried = TRIED_MOST;
    for (size_t i = 0; i < item->n_tried; i++)
        item->receivers[i].was_tried = 1;
    return STV_OK;
}

enum stv_status stv__transfer_list(const struct stv__transfer_work *work)
{
    struct empty *empties = malloc((work->past.n_casks + 1) * sizeof *empties);
    size_t n = 0;
    enum stv_status status = empties ? list_empties(work, empties, &n) : STV_E_MEMORY;
    for (size_t i = 0; i < work->out->n && status == STV_OK; i++)
        if (wants_receiver(work, &work->out->items[i]))
            status = list_for(work, empties, n, &work->out->items[i]);
    free(empties);
    return status;
}
