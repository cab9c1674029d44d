/* Which casks are told, their planned days, the house's summer; and the age clock of a market. */
#include "cli/transfer.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Less wood than this, in parts of the reference cask, is not told apart. */
#define WOOD_TOLD_ND 0.05
/* Twice what 256 trials are out by. */
#define EVEN_FRAC 0.06

static enum stv_status add_named(struct stv_transfer_answer *answer, const char *id, char *why,
                                 size_t size)
{
    const struct stv_chain *chain = answer->chain;
    int cask_idx = stv_chain_cask(chain, id);
    const char *nearest = cask_idx < 0 ? stv_chain_nearest_cask(chain, id) : NULL;
    if (cask_idx < 0 && nearest)
        snprintf(why, size, "There is no cask \"%.60s\"; did you mean \"%.60s\"?", id, nearest);
    else if (cask_idx < 0)
        snprintf(why, size, "There is no cask \"%.60s\" in casks.csv.", id);
    else if (!stv_lineage_spirit(chain->lineage, cask_idx).is_there)
        snprintf(why, size,
                 "Cask \"%.60s\" is empty on that day: name one that holds spirit to be moved.",
                 id);
    else {
        for (size_t i = 0; i < answer->n_casks; i++)
            if (answer->cask_idx[i] == cask_idx)
                return STV_OK;
        answer->cask_idx[answer->n_casks++] = cask_idx;
        return STV_OK;
    }
    return STV_E_USAGE;
}

static enum stv_status choose_casks(struct stv_transfer_answer *answer, const char *const *ids,
                                    size_t n_ids, char *why, size_t size)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t most = n_ids > ledger->n_casks ? n_ids : ledger->n_casks;
    enum stv_status status = STV_OK;
    answer->cask_idx = malloc((most + 1) * sizeof *answer->cask_idx);
    answer->planned_day_d = malloc((most + 1) * sizeof *answer->planned_day_d);
    if (!answer->cask_idx || !answer->planned_day_d)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n_ids && status == STV_OK; i++)
        status = add_named(answer, ids[i], why, size);
    for (size_t c = 0; c < ledger->n_casks; c++) {
        if (n_ids == 0 && stv_wood_is_active(ledger, chain->lineage, (int)c))
            answer->cask_idx[answer->n_casks++] = (int)c;
        answer->n_empty += !stv_lineage_spirit(chain->lineage, (int)c).is_there;
    }
    for (size_t i = 0; i < answer->n_casks; i++)
        answer->planned_day_d[i] = stv_chain_planned_day(chain, answer->cask_idx[i]);
    return status;
}

/* The months that the house calls warm, else the warmest 13 weeks of the reference's place. */
static enum stv_status find_summer(const struct stv_chain *chain, struct stv_season_span *out)
{
    const struct stv_position *reference = &chain->set.positions[chain->set.reference_idx];
    struct stv_season_span seasons[STV_SEASON_N];
    enum stv_status status = stv_seasons_find(&reference->grid, reference->air_c, seasons);
    stv_chain_named_seasons(&chain->book.warm_months, &chain->book.cold_months, seasons);
    *out = seasons[STV_SEASON_WARM];
    return chain->book.warm_months.is_said ? STV_OK : status;
}

enum stv_status stv_transfer_answer_make(struct stv_transfer_answer *answer, const char *const *ids,
                                         size_t n_ids, char *why, size_t size)
{
    const struct stv_chain *chain = answer->chain;
    answer->is_named = n_ids > 0;
    enum stv_status status = choose_casks(answer, ids, n_ids, why, size);
    if (status == STV_OK)
        status = find_summer(chain, &answer->warm);
    if (status != STV_OK)
        return status;
    struct stv_outlook_request house = stv_chain_request(chain);
    const struct stv_transfer_request request = {.house = &house,
                                                 .lineage = chain->lineage,
                                                 .as_of_day_d = chain->as_of_day_d,
                                                 .warm = &answer->warm,
                                                 .wood = &chain->book.wood_rules,
                                                 .cask_idx = answer->cask_idx,
                                                 .planned_day_d = answer->planned_day_d,
                                                 .n_casks = answer->n_casks,
                                                 .tries_all = answer->is_named};
    return stv_transfer_plan(&request, &answer->transfers);
}

void stv_transfer_answer_free(struct stv_transfer_answer *answer)
{
    stv_transfers_free(&answer->transfers);
    free(answer->cask_idx);
    free(answer->planned_day_d);
    answer->cask_idx = NULL;
    answer->planned_day_d = NULL;
}

enum stv_wood_class stv_transfer_wood(const struct stv_cask *cask, int use_idx)
{
    if (cask->is_other_wood)
        return STV_WOOD_OTHER;
    if (cask->history != STV_WOOD_NEW || use_idx > 0)
        return STV_WOOD_OAK;
    return cask->is_charred ? STV_WOOD_CHARRED_NEW_OAK : STV_WOOD_NEW_OAK;
}

struct stv_transfer_clock stv_transfer_clock_of(const struct stv_transfer_answer *answer,
                                                const struct stv_transfer *item,
                                                const struct stv_receiver *receiver)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_market *market = answer->chain->named.market;
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, item->cask_idx);
    enum stv_wood_class here = stv_transfer_wood(&ledger->casks[item->cask_idx], spirit.use_idx);
    enum stv_wood_class there =
        receiver ? stv_transfer_wood(&ledger->casks[receiver->cask_idx], receiver->n_uses)
                 : STV_WOOD_OAK;
    struct stv_transfer_clock clock = {
        .here = stv_bench_clock(market->age_clock, here),
        .there = stv_bench_clock(market->age_clock, there),
        .age_then = stv_age_between(spirit.youngest.to_day_d, item->leaving.leave_day_d),
        .is_mixed_past = ledger->events[spirit.begin_idx].kind != STV_EVENT_FILL,
    };
    double least_y = market->age_least_y.value;
    clock.is_too_young = clock.there == STV_CLOCK_STANDS && clock.here != STV_CLOCK_STANDS &&
                         isfinite(least_y) && (double)clock.age_then.years < least_y;
    return clock;
}

const char *stv_transfer_call_key(enum stv_leave call)
{
    static const char *const keys[] = {[STV_LEAVE_STAY] = "stay",
                                       [STV_LEAVE_BEFORE] = "before",
                                       [STV_LEAVE_NOW] = "now",
                                       [STV_LEAVE_OVER] = "over"};
    return keys[call];
}

const char *stv_transfer_fault_key(enum stv_receiver_fault fault)
{
    static const char *const keys[] = {[STV_RECEIVER_GOOD] = "good",
                                       [STV_RECEIVER_TOO_SMALL] = "too small",
                                       [STV_RECEIVER_USED_UP] = "used up"};
    return keys[fault];
}

double stv_transfer_drinks_l(const struct stv_transfer_answer *answer,
                             const struct stv_receiver *receiver)
{
    const struct stv_book *book = &answer->chain->book;
    if (receiver->dry_d <= book->numbers.stays_soaked_d)
        return 0.0;
    return book->numbers.indrink_l_per_kg * book->ledger.casks[receiver->cask_idx].geometry.wood_kg;
}

bool stv_transfer_spares_wood(const struct stv_receiver *receiver)
{
    return receiver->wood_against_left_nd < -WOOD_TOLD_ND;
}

int64_t stv_transfer_old_enough_d(const struct stv_transfer_answer *answer,
                                  const struct stv_transfer *item)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(answer->chain->lineage, item->cask_idx);
    return stv_day_add_months(spirit.youngest.to_day_d,
                              (int)lround(answer->chain->book.rules.least_age_y * STV_MONTHS));
}

bool stv_transfer_is_even(const struct stv_transfer *item)
{
    return fabs(item->leaving.now_frac - 0.5) <= EVEN_FRAC;
}

enum stv_into stv_transfer_into(const struct stv_transfer *item)
{
    if (item->n_receivers == 0)
        return STV_INTO_NONE_EMPTY;
    if (item->n_tried == 0)
        return STV_INTO_NONE_FITS;
    if (item->left.as_good)
        return STV_INTO_NO_MATTER;
    for (size_t r = 0; r < item->n_tried; r++)
        if (item->receivers[r].worth_bottles_nd > item->left_worth_bottles_nd)
            return STV_INTO_BETTER;
    return STV_INTO_NONE_BETTER;
}
