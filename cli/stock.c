/* Labels, years, and the house's own casks for the fills to come. */
#include "cli/stock.h"

#include "cli/cask_state.h"
#include "cli/stock_alike.h"
#include "cli/words.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *stv_stock_by_key(enum stv_stock_by by)
{
    static const char *const keys[] = {[STV_STOCK_BY_TIER] = "tier",
                                       [STV_STOCK_BY_WOOD] = "wood",
                                       [STV_STOCK_BY_YEAR] = "year",
                                       [STV_STOCK_BY_HOUSE] = "house"};
    return keys[by];
}

/* --- labels -------------------------------------------------------------------------------- */

/* Index of the first event that fills a cask after the day of the answer; -1. */
static int later_fill(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool comes_in = (event->kind == STV_EVENT_FILL && event->cask_idx == cask_idx) ||
                        (event->kind == STV_EVENT_TRANSFER && event->other_idx == cask_idx);
        if (comes_in && event->day_d > chain->as_of_day_d)
            return (int)e;
    }
    return -1;
}

/* What the cask's spirit is called by today; of an empty one, what its next fill will be. */
static void name_of(const struct stv_chain *chain, enum stv_stock_by by, int cask_idx,
                    char out[STV_STOCK_NAME_MAX])
{
    int fill = stv_fill_event(chain, cask_idx);
    bool is_full = fill >= 0;
    const struct stv_event *begin = NULL;
    if (fill < 0)
        fill = later_fill(chain, cask_idx);
    if (fill >= 0)
        begin = &chain->book.ledger.events[fill];
    struct stv_place place = is_full ? stv_lineage_place(chain->lineage, cask_idx)
                             : begin ? begin->place
                                     : (struct stv_place){-1, -1, -1, -1};
    if (by == STV_STOCK_BY_WOOD)
        snprintf(out, STV_STOCK_NAME_MAX, "%s", chain->book.ledger.casks[cask_idx].kind_name);
    else if (by == STV_STOCK_BY_YEAR && begin)
        snprintf(out, STV_STOCK_NAME_MAX, "%d", stv_date_from_day(begin->day_d).year);
    else if (by == STV_STOCK_BY_YEAR)
        snprintf(out, STV_STOCK_NAME_MAX, "never filled");
    else if (by == STV_STOCK_BY_TIER) {
        place.bay_idx = place.depth_idx = -1;
        snprintf(out, STV_STOCK_NAME_MAX, "%s", stv_words_place_of(chain, &place).text);
    } else
        snprintf(out, STV_STOCK_NAME_MAX, "the house");
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(a, b);
}

/* Adds names in their order, each once, from first on, and sets the label of each cask that ever
 * holds spirit from today on; those that never do hang on the first.  Their number, one at least.
 */
static size_t list_labels(const struct stv_chain *chain, enum stv_stock_by by, size_t first,
                          char (*names)[STV_STOCK_NAME_MAX], size_t *labels)
{
    size_t n_casks = chain->book.ledger.n_casks, n = first, end = first;
    for (size_t c = 0; c < n_casks; c++)
        if (stv_fill_event(chain, (int)c) >= 0 || later_fill(chain, (int)c) >= 0)
            name_of(chain, by, (int)c, names[n++]);
    qsort(names + first, n - first, sizeof *names, compare_names);
    for (size_t i = first; i < n; i++)
        if (end == first || strcmp(names[end - 1], names[i]) != 0)
            memmove(names[end++], names[i], sizeof *names);
    for (size_t c = 0; c < n_casks; c++) {
        char name[STV_STOCK_NAME_MAX];
        name_of(chain, by, (int)c, name);
        labels[c] = first;
        for (size_t l = first; l < end; l++)
            if (strcmp(name, names[l]) == 0)
                labels[c] = l;
    }
    if (end == first)
        names[end++][0] = '\0';
    return end - first;
}

/* kinds: NULL where the labels are those of the kinds. */
static enum stv_status sum_casks(struct stv_stock_answer *answer, const size_t *labels,
                                 const size_t *kinds)
{
    struct stv_outlook_request house = stv_chain_request(answer->chain);
    const size_t *const both[2] = {labels, kinds ? kinds : labels};
    struct stv__stock_part part;
    enum stv_status status = stv__stock_part_new(answer->chain, both, answer->n_labels, &part);
    house.ledger = &part.ledger;
    const struct stv_stock_request request = {.house = &house,
                                              .days_d = answer->days_d,
                                              .n_days = answer->n_years + 1,
                                              .label_of_cask = part.labels[0],
                                              .kind_of_cask = kinds ? part.labels[1] : NULL,
                                              .n_labels = answer->n_labels,
                                              .n_alike = part.n_alike};
    if (status == STV_OK)
        status = stv_stock_sum(&request, &answer->stock);
    answer->n_run = part.ledger.n_casks;
    stv__stock_part_free(&part);
    return status;
}

static enum stv_status sum_up(const struct stv_chain *chain, struct stv_stock_answer *answer)
{
    size_t n_casks = chain->book.ledger.n_casks;
    size_t *labels = calloc(n_casks + 1, sizeof *labels);
    size_t *kinds = calloc(n_casks + 1, sizeof *kinds);
    answer->names = calloc(2 * n_casks + 2, sizeof *answer->names);
    answer->days_d = calloc(answer->n_years + 1, sizeof *answer->days_d);
    bool has_all = labels && kinds && answer->names && answer->days_d;
    enum stv_status status = has_all ? STV_OK : STV_E_MEMORY;
    for (size_t y = 0; status == STV_OK && y <= answer->n_years; y++)
        answer->days_d[y] = stv_day_add_months(chain->as_of_day_d, (int)y * STV_MONTHS);
    if (status == STV_OK) {
        bool is_by_kind = answer->by == STV_STOCK_BY_WOOD;
        answer->n_by = answer->n_labels = answer->n_kinds =
            list_labels(chain, answer->by, 0, answer->names, labels);
        if (!is_by_kind) {
            answer->kinds_from = answer->n_by;
            answer->n_kinds =
                list_labels(chain, STV_STOCK_BY_WOOD, answer->n_by, answer->names, kinds);
            answer->n_labels += answer->n_kinds;
        }
        status = sum_casks(answer, labels, is_by_kind ? NULL : kinds);
    }
    free(labels);
    free(kinds);
    return status;
}

/* --- casks to buy -------------------------------------------------------------------------- */

/* What the cask is to the fill after the one it holds, and how many fills it has left. */
static enum stv_status take_cask(const struct stv_chain *chain, int cask_idx,
                                 struct stv_stock_answer *answer)
{
    const struct stv_cask *wood = &chain->book.ledger.casks[cask_idx];
    struct stv_wood_life life;
    int end = stv_planned_end(chain, cask_idx);
    bool is_drained = chain->is_drained[cask_idx];
    bool is_full = stv_fill_event(chain, cask_idx) >= 0 && !is_drained;
    if (!is_full && later_fill(chain, cask_idx) >= 0)
        return STV_OK; /* history.csv fills it itself */
    enum stv_status status = stv_lineage_wood(chain->lineage, cask_idx, &life);
    if (status != STV_OK)
        return status;
    size_t n_fills = wood->n_fills_before + life.n_uses;
    bool was_new = wood->history == STV_WOOD_NEW;
    size_t most = (size_t)chain->book.wood_rules.most_uses[wood->history];
    struct stv_stock_cask *own = &answer->casks[answer->n_casks++];
    *own = (struct stv_stock_cask){
        .cask = {.cask_idx = cask_idx,
                 .free_day_d = is_drained ? chain->as_of_day_d
                               : !is_full ? life.empty_since_day_d
                               : end >= 0 ? chain->book.ledger.events[end].day_d
                                          : stv_chain_planned_day(chain, cask_idx),
                 .wood = n_fills   ? STV_BUYING_REFILL
                         : was_new ? STV_BUYING_NEW
                                   : STV_BUYING_FIRST_FILL,
                 .capacity_l = wood->geometry.capacity_l,
                 .n_fills_left = n_fills < most ? most - n_fills : 0},
        .is_planned = is_full && end >= 0,
        .is_empty = !is_full,
    };
    stv_wood_life_free(&life);
    return STV_OK;
}

static enum stv_status serve_fills(const struct stv_chain *chain, struct stv_stock_answer *answer)
{
    const struct stv_cask_plan *plan = &chain->book.cask_plan;
    size_t n_casks = chain->book.ledger.n_casks;
    struct stv_buying_fill *fills = calloc(plan->n_fills + 1, sizeof *fills);
    struct stv_buying_cask *casks = calloc(n_casks + 1, sizeof *casks);
    answer->casks = calloc(n_casks + 1, sizeof *answer->casks);
    enum stv_status status = fills && casks && answer->casks ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n_casks && status == STV_OK; c++)
        status = take_cask(chain, (int)c, answer);
    for (size_t c = 0; c < answer->n_casks && status == STV_OK; c++)
        casks[c] = answer->casks[c].cask;
    for (size_t f = 0; f < plan->n_fills && status == STV_OK; f++) {
        fills[f] = plan->fills[f].fill;
        if (fills[f].day_d <= chain->as_of_day_d)
            fills[f].n_casks = 0; /* what was filled stands in history.csv */
    }
    if (status == STV_OK)
        status = stv_buying_serve(fills, plan->n_fills, casks, answer->n_casks, &answer->plan);
    free(fills);
    free(casks);
    return status;
}

enum stv_status stv_stock_make(const struct stv_chain *chain, enum stv_stock_by by, size_t n_years,
                               struct stv_stock_answer *out)
{
    *out = (struct stv_stock_answer){.chain = chain, .by = by, .n_years = n_years};
    stv_count_casks(chain, &out->n_full, &out->n_empty);
    enum stv_status status = sum_up(chain, out);
    return status == STV_OK ? serve_fills(chain, out) : status;
}

enum stv_status stv_stock_plan(const struct stv_chain *chain, struct stv_stock_answer *out)
{
    *out = (struct stv_stock_answer){.chain = chain, .by = STV_STOCK_BY_HOUSE};
    return serve_fills(chain, out);
}

void stv_stock_sizes(const struct stv_stock_answer *answer, size_t label, double *out_least_l,
                     double *out_most_l)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    *out_least_l = *out_most_l = (double)NAN;
    for (size_t c = 0; c < ledger->n_casks; c++) {
        char name[STV_STOCK_NAME_MAX];
        if (stv_fill_event(answer->chain, (int)c) < 0)
            continue;
        name_of(answer->chain, answer->by, (int)c, name);
        if (strcmp(name, answer->names[label]) != 0)
            continue;
        *out_least_l = fmin(*out_least_l, ledger->casks[c].geometry.capacity_l);
        *out_most_l = fmax(*out_most_l, ledger->casks[c].geometry.capacity_l);
    }
}

void stv_stock_answer_free(struct stv_stock_answer *answer)
{
    stv_stock_free(&answer->stock);
    stv_buying_free(&answer->plan);
    free(answer->days_d);
    free(answer->names);
    free(answer->casks);
    *answer = (struct stv_stock_answer){0};
}

double stv_stock_price_of(const struct stv_book *book, const char *kind)
{
    for (size_t i = 0; i < book->prices.n_casks; i++)
        if (strcmp(book->prices.casks[i].kind, kind) == 0)
            return book->prices.casks[i].price;
    return (double)NAN;
}

bool stv_stock_order_of(const struct stv_stock_answer *answer, size_t fill_idx,
                        struct stv_stock_order *out)
{
    const struct stv_book *book = &answer->chain->book;
    const struct stv_cask_plan *plan = &book->cask_plan;
    int64_t day_d = plan->fills[fill_idx].fill.day_d;
    *out = (struct stv_stock_order){.fill_day_d = day_d,
                                    .order_day_d = stv_day_add_months(day_d, -plan->lead_months)};
    out->is_late = out->order_day_d < answer->chain->as_of_day_d;
    for (size_t f = 0; f < plan->n_fills; f++) {
        const struct stv_buying_served *served = &answer->plan.fills[f];
        if (plan->fills[f].fill.day_d != day_d)
            continue;
        if (f < fill_idx)
            return false;
        out->n_own += served->n_own;
        out->n_buy += served->n_to_buy;
        if (served->n_to_buy)
            out->price += (double)served->n_to_buy * stv_stock_price_of(book, plan->fills[f].kind);
    }
    return true;
}
