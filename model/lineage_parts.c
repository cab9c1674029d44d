/* What a liquid is made of: its graph is followed back from the last node, always the node with the
 * largest number next, so that all of a node's share has come together before it is handed on to
 * the nodes it was made of. */
#include "model/lineage.h"
#include "model/lineage_walk.h"

#include <math.h>
#include <stdlib.h>

/* Some of a liquid, on its way back. */
struct flow {
    int node;
    int is_exit; /* it left the wood at until_day_d */
    double share_frac;
    int64_t until_day_d;
};

/* A heap of flows, the largest node first. */
struct heap {
    struct flow *items;
    size_t n, room;
};

/* Grows an array by doubling; false when out of memory, the array is then still good. */
static int has_room(void **items, size_t n, size_t *room, size_t item_size)
{
    if (n < *room)
        return 1;
    size_t larger = *room ? 2 * *room : 16;
    void *grown = realloc(*items, larger * item_size);
    if (!grown)
        return 0;
    *items = grown;
    *room = larger;
    return 1;
}

static int push(struct heap *heap, struct flow flow)
{
    void *items = heap->items;
    if (!has_room(&items, heap->n, &heap->room, sizeof *heap->items))
        return 0;
    heap->items = items;
    size_t at = heap->n++;
    for (; at > 0 && heap->items[(at - 1) / 2].node < flow.node; at = (at - 1) / 2)
        heap->items[at] = heap->items[(at - 1) / 2];
    heap->items[at] = flow;
    return 1;
}

static struct flow pop(struct heap *heap)
{
    struct flow top = heap->items[0];
    struct flow last = heap->items[--heap->n];
    size_t at = 0;
    for (size_t child = 1; child < heap->n; child = 2 * at + 1) {
        if (child + 1 < heap->n && heap->items[child + 1].node > heap->items[child].node)
            child++;
        if (heap->items[child].node <= last.node)
            break;
        heap->items[at] = heap->items[child];
        at = child;
    }
    heap->items[at] = last;
    return top;
}

/* A stay as it is added up: mean_d holds days times share until the end, and `use` its place in
 * the lineage. */
struct stay {
    int use;
    struct stv_wood_stay wood;
};

struct gathering {
    const struct stv_lineage *lineage;
    struct heap heap;
    struct stay *stays;
    size_t n_stays, stays_room;
    struct stv_lineage_parts *out;
    size_t parts_room;
};

static int64_t day_of(const struct gathering *all, int node)
{
    return all->lineage->ledger.events[all->lineage->liquids[node].event_idx].day_d;
}

static int add_stay(struct gathering *all, const struct flow *flow)
{
    void *items = all->stays;
    if (!has_room(&items, all->n_stays, &all->stays_room, sizeof *all->stays))
        return 0;
    all->stays = items;
    int64_t from_day_d = day_of(all, flow->node);
    all->stays[all->n_stays++] = (struct stay){
        .use = all->lineage->liquids[flow->node].use,
        .wood = {.from_day_d = from_day_d,
                 .to_day_d = flow->until_day_d,
                 .share_frac = flow->is_exit ? flow->share_frac : 0.0,
                 .mean_d = flow->share_frac * (double)(flow->until_day_d - from_day_d)}};
    return 1;
}

static int add_part(struct gathering *all, size_t event_idx, double share_frac)
{
    void *items = all->out->parts;
    if (!has_room(&items, all->out->n_parts, &all->parts_room, sizeof *all->out->parts))
        return 0;
    all->out->parts = items;
    all->out->parts[all->out->n_parts++] = (struct stv_spirit_part){
        event_idx, share_frac, stv__event_born(&all->lineage->ledger.events[event_idx])};
    return 1;
}

/* Takes the largest node with all that flows from it, and hands it on; false without memory. */
static int follow(struct gathering *all)
{
    int node = all->heap.items[0].node;
    double share_frac = 0.0;
    while (all->heap.n > 0 && all->heap.items[0].node == node) {
        struct flow flow = pop(&all->heap);
        share_frac += flow.share_frac;
        if (!add_stay(all, &flow))
            return 0;
    }
    const struct stv__liquid *liquid = &all->lineage->liquids[node];
    int64_t day_d = day_of(all, node);
    double other_frac = liquid->older < 0 ? 1.0 : 1.0 - liquid->older_frac;
    if (liquid->older >= 0 &&
        !push(&all->heap, (struct flow){liquid->older, 0, share_frac * liquid->older_frac, day_d}))
        return 0;
    if (liquid->other < 0)
        return add_part(all, liquid->event_idx, share_frac * other_frac);
    return push(&all->heap, (struct flow){liquid->other, 1, share_frac * other_frac, day_d});
}

static int by_use(const void *a, const void *b)
{
    const struct stay *x = a, *y = b;
    return (x->use > y->use) - (x->use < y->use);
}

static int by_last_day(const void *a, const void *b)
{
    const struct stay *x = a, *y = b;
    if (x->wood.to_day_d != y->wood.to_day_d)
        return x->wood.to_day_d < y->wood.to_day_d ? -1 : 1;
    if (x->wood.from_day_d != y->wood.from_day_d)
        return x->wood.from_day_d < y->wood.from_day_d ? -1 : 1;
    return by_use(a, b);
}

static int by_event(const void *a, const void *b)
{
    const struct stv_spirit_part *x = a, *y = b;
    return (x->event_idx > y->event_idx) - (x->event_idx < y->event_idx);
}

static void merge_stays(struct gathering *all)
{
    size_t n = 0;
    qsort(all->stays, all->n_stays, sizeof *all->stays, by_use);
    for (size_t i = 0; i < all->n_stays; i++) {
        struct stv_wood_stay *more = &all->stays[i].wood;
        struct stv_wood_stay *into = &all->stays[n > 0 ? n - 1 : 0].wood;
        if (n == 0 || all->stays[n - 1].use != all->stays[i].use) {
            all->stays[n++] = all->stays[i];
            continue;
        }
        into->share_frac += more->share_frac;
        into->mean_d += more->mean_d;
        if (more->from_day_d < into->from_day_d)
            into->from_day_d = more->from_day_d;
        if (more->to_day_d > into->to_day_d)
            into->to_day_d = more->to_day_d;
    }
    all->n_stays = n;
    qsort(all->stays, n, sizeof *all->stays, by_last_day);
}

/* What a wood held when a use of it began: the first one finds it as it came. */
static enum stv_wood_history held_before(const struct stv_lineage *lineage,
                                         const struct stv__use *use)
{
    return use->use_idx == 0 ? lineage->ledger.casks[use->cask_idx].history : STV_WOOD_HELD_SPIRIT;
}

static int hand_out(struct gathering *all, int root_use)
{
    const struct stv_lineage *lineage = all->lineage;
    struct stv_lineage_parts *out = all->out;
    merge_stays(all);
    qsort(out->parts, out->n_parts, sizeof *out->parts, by_event);
    out->stays = malloc((all->n_stays + 1) * sizeof *out->stays);
    if (!out->stays)
        return 0;
    out->n_stays = all->n_stays;
    for (size_t i = 0; i < all->n_stays; i++) {
        const struct stay *stay = &all->stays[i];
        const struct stv__use *use = &lineage->uses[stay->use];
        struct stv_wood_stay *to = &out->stays[i];
        *to = stay->wood;
        to->cask_idx = use->cask_idx;
        to->use_idx = use->use_idx;
        to->held_before = held_before(lineage, use);
        to->is_now = stay->use == root_use && use->to_day_d == INT64_MAX;
        if (to->share_frac > 1.0)
            to->share_frac = 1.0; /* some of it left this wood and came back during one use */
        to->mean_d /= to->share_frac;
    }
    return 1;
}

static int find_use(const struct stv_lineage *lineage, int cask_idx, int use_idx)
{
    int use = lineage->holdings[cask_idx].use;
    while (use >= 0 && lineage->uses[use].use_idx != use_idx)
        use = lineage->uses[use].before;
    return use;
}

enum stv_status stv_lineage_held(const struct stv_lineage *lineage, int cask_idx, int use_idx,
                                 struct stv_lineage_parts *out)
{
    *out = (struct stv_lineage_parts){0};
    int root_use = find_use(lineage, cask_idx, use_idx);
    if (root_use < 0)
        return STV_E_ARG;
    const struct stv__use *use = &lineage->uses[root_use];
    int64_t until_day_d = use->to_day_d < lineage->day_d ? use->to_day_d : lineage->day_d;
    struct gathering all = {.lineage = lineage, .out = out};
    int is_good = push(&all.heap, (struct flow){use->last_node, 1, 1.0, until_day_d});
    while (is_good && all.heap.n > 0)
        is_good = follow(&all);
    is_good = is_good && hand_out(&all, root_use);
    free(all.heap.items);
    free(all.stays);
    if (is_good)
        return STV_OK;
    stv_lineage_parts_free(out);
    return STV_E_MEMORY;
}

void stv_lineage_parts_free(struct stv_lineage_parts *parts)
{
    free(parts->parts);
    free(parts->stays);
    *parts = (struct stv_lineage_parts){0};
}
