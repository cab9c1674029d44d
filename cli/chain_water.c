/* Casks that hold spirit, their last days and hottest hours, handed to the planning. */
#include "cli/water.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The day on which the youngest part is so old; whole years and months by the calendar. */
static int64_t day_of_age(int64_t born_d, double age_y)
{
    double months = age_y * STV_MONTHS;
    if (fabs(months - round(months)) < 1e-6)
        return stv_day_add_months(born_d, (int)lround(months));
    return born_d + (int64_t)llround(age_y * STV_YEAR_D);
}

static int64_t last_day(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_water_house *water = &chain->book.water;
    if (water->by_day_d != INT64_MIN)
        return water->by_day_d;
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    return day_of_age(stv_day_span_middle(spirit.youngest), water->age_y);
}

/* Days on which the book's casks are added to, cask by cask: a wish's stand together. */
static void list_added(const struct stv_chain *chain, int64_t **next,
                       struct stv_reduction_wish *wish)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    wish->added_d = *next;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool is_added = event->kind == STV_EVENT_ADD_WATER || event->kind == STV_EVENT_TOP_UP;
        if ((is_added && event->cask_idx == wish->cask_idx) ||
            (event->kind == STV_EVENT_TRANSFER && event->other_idx == wish->cask_idx)) {
            *(*next)++ = event->day_d;
            wish->n_added++;
        }
    }
}

enum stv_status stv_water_make(const struct stv_chain *chain, const int *cask_idx, size_t n,
                               struct stv_reduction *out)
{
    const struct stv_outlook_request house = stv_chain_request(chain);
    struct stv_reduction_wish *wishes = malloc((n + 1) * sizeof *wishes);
    int64_t *added_d = malloc((chain->book.ledger.n_events + 1) * sizeof *added_d);
    int64_t *next = added_d;
    enum stv_status status = wishes && added_d ? STV_OK : STV_E_MEMORY;
    *out = (struct stv_reduction){0};
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        wishes[i] = (struct stv_reduction_wish){
            .cask_idx = cask_idx[i],
            .from_day_d = chain->as_of_day_d,
            .end_day_d = last_day(chain, cask_idx[i]),
            .capacity_l = chain->book.ledger.casks[cask_idx[i]].geometry.capacity_l,
        };
        list_added(chain, &next, &wishes[i]);
        status =
            stv_reduction_hottest_c(&house, cask_idx[i], chain->as_of_day_d, &wishes[i].hottest_c);
    }
    if (status == STV_OK)
        status = stv_reduction_of_house(&house, &chain->book.water.rules, wishes, n, out);
    free(added_d);
    free(wishes);
    return status;
}

struct stv_place stv_water_place(const struct stv_chain *chain, int cask_idx)
{
    return stv_lineage_place(chain->lineage, cask_idx);
}

int stv_water_age_years(const struct stv_chain *chain, const struct stv_reduction_plan *plan)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    /* A label is held to the last day on which a vague fill may have been. */
    int64_t born_d = stv_lineage_spirit(chain->lineage, plan->cask_idx).youngest.to_day_d;
    if (rules->with_abv20_frac > 0.0 && plan->n_steps > 0 && rules->with_filled_day_d > born_d)
        born_d = rules->with_filled_day_d;
    return stv_age_between(born_d, plan->end_day_d).years;
}

const char *stv_water_kind_key(enum stv_reduction_kind kind)
{
    static const char *const keys[STV_REDUCTION_N] = {
        [STV_REDUCTION_STEPS] = "steps",          [STV_REDUCTION_TANK] = "tank alone",
        [STV_REDUCTION_BELOW] = "needs none",     [STV_REDUCTION_MONTHS] = "no month left",
        [STV_REDUCTION_LEAST] = "held by least",  [STV_REDUCTION_PAST] = "last day over",
        [STV_REDUCTION_LEAVES] = "emptied before"};
    return keys[kind];
}

/* A step's place in the crew's order. */
struct rank {
    struct stv_water_row row;
    int64_t day_d;
    struct stv_place place;
};

static int compare_ranks(const void *a, const void *b)
{
    const struct rank *x = a, *y = b;
    if (x->day_d != y->day_d)
        return x->day_d < y->day_d ? -1 : 1;
    const int xs[4] = {x->place.warehouse_idx, x->place.tier_idx, x->place.bay_idx,
                       x->place.depth_idx};
    const int ys[4] = {y->place.warehouse_idx, y->place.tier_idx, y->place.bay_idx,
                       y->place.depth_idx};
    for (size_t i = 0; i < 4; i++)
        if (xs[i] != ys[i])
            return xs[i] < ys[i] ? -1 : 1;
    return x->row.plan_idx < y->row.plan_idx ? -1 : x->row.plan_idx > y->row.plan_idx;
}

static size_t list_ranks(const struct stv_chain *chain, const struct stv_reduction *reduction,
                         struct rank *ranks)
{
    size_t n = 0;
    for (size_t i = 0; i < reduction->n_plans; i++)
        for (size_t s = 0; s < reduction->plans[i].n_steps; s++)
            ranks[n++] = (struct rank){{i, s},
                                       reduction->plans[i].steps[s].day_d,
                                       stv_water_place(chain, reduction->plans[i].cask_idx)};
    qsort(ranks, n, sizeof *ranks, compare_ranks);
    return n;
}

enum stv_status stv_water_crew(const struct stv_chain *chain, const struct stv_reduction *reduction,
                               struct stv_water_row **out, size_t *out_n)
{
    size_t n = 0;
    for (size_t i = 0; i < reduction->n_plans; i++)
        n += reduction->plans[i].n_steps;
    struct rank *ranks = malloc((n + 1) * sizeof *ranks);
    *out = malloc((n + 1) * sizeof **out);
    *out_n = 0;
    if (!ranks || !*out) {
        free(ranks);
        free(*out);
        *out = NULL;
        return STV_E_MEMORY;
    }
    n = list_ranks(chain, reduction, ranks);
    int64_t until_d = stv_day_add_months(chain->as_of_day_d, STV_MONTHS);
    for (size_t i = 0; i < n && ranks[i].day_d <= until_d; i++)
        (*out)[(*out_n)++] = ranks[i].row;
    free(ranks);
    return STV_OK;
}
