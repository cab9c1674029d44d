/* Greedy: of the moves that nothing hinders, the lowest, deepest, best balanced.  Where all are
 * hindered, the first cask in the way goes to the floor, and its own place (or the one it was to go
 * to) becomes one more move. */
#include "model/crew_list.h"

#include <stdint.h>
#include <stdlib.h>

struct yard {
    const struct stv_crew_cask *casks;
    size_t n_casks;
    size_t n_tiers, n_bays, n_depth, n_stores; /* of the grid */
    size_t *occupant;                          /* [place]: SIZE_MAX: empty */
    size_t *wanted_by; /* [place]: the cask that is still to come there; SIZE_MAX */
    size_t *at;        /* per cask: place where it lies; SIZE_MAX: on the floor or outside */
    int *is_pending;   /* per cask: still to go to its place */
    int *is_aside;
    int *off;          /* per store: casks gained by the low bays less those by the high ones */
    size_t n_on_floor; /* put aside and not yet back */
    struct stv_crew_list *out;
};

static int is_whole(const struct stv_place *place)
{
    return place->tier_idx >= 0 && place->bay_idx >= 0 && place->depth_idx >= 0;
}

static size_t cell_of(const struct yard *yard, const struct stv_place *place)
{
    return ((((size_t)place->warehouse_idx * yard->n_tiers + (size_t)place->tier_idx) *
                 yard->n_bays +
             (size_t)place->bay_idx) *
            yard->n_depth) +
           (size_t)place->depth_idx;
}

static void grow(size_t *n, int idx)
{
    if (idx >= 0 && (size_t)idx + 1 > *n)
        *n = (size_t)idx + 1;
}

static enum stv_status measure(struct yard *yard)
{
    for (size_t c = 0; c < yard->n_casks; c++) {
        const struct stv_place *both[2] = {&yard->casks[c].from, &yard->casks[c].to};
        for (int i = 0; i < 2; i++) {
            if (both[i]->warehouse_idx < 0 && i == 0)
                continue;
            if (both[i]->warehouse_idx < 0 || !is_whole(both[i]))
                return STV_E_ARG;
            grow(&yard->n_stores, both[i]->warehouse_idx);
            grow(&yard->n_tiers, both[i]->tier_idx);
            grow(&yard->n_bays, both[i]->bay_idx);
            grow(&yard->n_depth, both[i]->depth_idx);
        }
    }
    return STV_OK;
}

static enum stv_status yard_new(struct yard *yard)
{
    enum stv_status status = measure(yard);
    if (status != STV_OK)
        return status;
    size_t n = yard->n_stores * yard->n_tiers * yard->n_bays * yard->n_depth;
    yard->occupant = malloc((n + 1) * sizeof *yard->occupant);
    yard->wanted_by = malloc((n + 1) * sizeof *yard->wanted_by);
    yard->at = malloc((yard->n_casks + 1) * sizeof *yard->at);
    yard->is_pending = calloc(yard->n_casks + 1, sizeof *yard->is_pending);
    yard->is_aside = calloc(yard->n_casks + 1, sizeof *yard->is_aside);
    yard->off = calloc(yard->n_stores + 1, sizeof *yard->off);
    /* Each cask is put aside once at most, and put into its place once. */
    yard->out->steps = malloc((2 * yard->n_casks + 1) * sizeof *yard->out->steps);
    if (!yard->occupant || !yard->wanted_by || !yard->at || !yard->is_pending || !yard->is_aside ||
        !yard->off || !yard->out->steps)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        yard->occupant[i] = yard->wanted_by[i] = SIZE_MAX;
    for (size_t c = 0; c < yard->n_casks; c++) {
        const struct stv_crew_cask *cask = &yard->casks[c];
        size_t to = cell_of(yard, &cask->to);
        yard->at[c] = cask->from.warehouse_idx < 0 ? SIZE_MAX : cell_of(yard, &cask->from);
        yard->is_pending[c] = yard->at[c] != to;
        if ((yard->at[c] != SIZE_MAX && yard->occupant[yard->at[c]] != SIZE_MAX) ||
            yard->wanted_by[to] != SIZE_MAX)
            return STV_E_CONSISTENCY;
        if (yard->at[c] != SIZE_MAX)
            yard->occupant[yard->at[c]] = c;
        yard->wanted_by[to] = c;
    }
    for (size_t i = 0; i < n; i++)
        if (yard->wanted_by[i] != SIZE_MAX && !yard->is_pending[yard->wanted_by[i]])
            yard->wanted_by[i] = SIZE_MAX;
    return STV_OK;
}

static void yard_free(struct yard *yard)
{
    free(yard->occupant);
    free(yard->wanted_by);
    free(yard->at);
    free(yard->is_pending);
    free(yard->is_aside);
    free(yard->off);
}

/* The cask in front of a place that is met first, other than one that is on its way; SIZE_MAX:
 * none. */
static size_t in_front(const struct yard *yard, size_t cell, size_t besides)
{
    size_t depth = cell % yard->n_depth;
    for (size_t front = cell - depth; front < cell; front++)
        if (yard->occupant[front] != SIZE_MAX && yard->occupant[front] != besides)
            return yard->occupant[front];
    return SIZE_MAX;
}

/* True when something behind a cask's place is still to come or to go. */
static int is_needed_open(const struct yard *yard, size_t cask)
{
    size_t cell = cell_of(yard, &yard->casks[cask].to);
    size_t end = cell - cell % yard->n_depth + yard->n_depth;
    for (size_t behind = cell + 1; behind < end; behind++)
        if (yard->wanted_by[behind] != SIZE_MAX ||
            (yard->occupant[behind] != SIZE_MAX && yard->occupant[behind] != cask &&
             yard->is_pending[yard->occupant[behind]]))
            return 1;
    return 0;
}

/* What must be put aside first for this move; SIZE_MAX: nothing. */
static size_t obstacle(const struct yard *yard, size_t cask)
{
    size_t to = cell_of(yard, &yard->casks[cask].to);
    size_t way = SIZE_MAX;
    if (yard->at[cask] != SIZE_MAX)
        way = in_front(yard, yard->at[cask], cask);
    if (way == SIZE_MAX)
        way = in_front(yard, to, cask);
    return way == SIZE_MAX ? yard->occupant[to] : way;
}

static int side_of(const struct yard *yard, size_t cell)
{
    size_t bay = cell / yard->n_depth % yard->n_bays;
    return 2 * bay + 1 < yard->n_bays ? 1 : 2 * bay + 1 > yard->n_bays ? -1 : 0;
}

static size_t store_of(const struct yard *yard, size_t cell)
{
    return cell / (yard->n_tiers * yard->n_bays * yard->n_depth);
}

/* How far the halves would be apart after a cask left one place (or none) for another (or none). */
static int off_after(const struct yard *yard, size_t from, size_t to, int does_it)
{
    int worst = 0, by[2] = {0, 0};
    size_t cells[2] = {from, to};
    for (int i = 0; i < 2; i++) {
        if (cells[i] == SIZE_MAX)
            continue;
        int *off = &yard->off[store_of(yard, cells[i])];
        by[i] = (i == 0 ? -1 : 1) * side_of(yard, cells[i]);
        *off += by[i];
    }
    for (int i = 0; i < 2; i++)
        if (cells[i] != SIZE_MAX && abs(yard->off[store_of(yard, cells[i])]) > worst)
            worst = abs(yard->off[store_of(yard, cells[i])]);
    for (int i = 0; i < 2 && !does_it; i++)
        if (cells[i] != SIZE_MAX)
            yard->off[store_of(yard, cells[i])] -= by[i];
    return worst;
}

static void step(struct yard *yard, size_t cask, int is_aside)
{
    struct stv_crew_list *out = yard->out;
    const struct stv_crew_cask *own = &yard->casks[cask];
    const struct stv_place floor = {-1, -1, -1, -1};
    size_t from = yard->at[cask], to = is_aside ? SIZE_MAX : cell_of(yard, &own->to);
    out->steps[out->n_steps++] = (struct stv_crew_step){
        .cask_idx = cask,
        .kind = is_aside               ? STV_CREW_ASIDE
                : from != SIZE_MAX     ? STV_CREW_MOVE
                : yard->is_aside[cask] ? STV_CREW_BACK
                                       : STV_CREW_IN,
        .from = from == SIZE_MAX ? floor : own->from,
        .to = is_aside ? floor : own->to,
    };
    int off = off_after(yard, from, to, 1);
    if ((size_t)off > out->most_off)
        out->most_off = (size_t)off;
    if (from != SIZE_MAX)
        yard->occupant[from] = SIZE_MAX;
    yard->at[cask] = to;
    yard->is_pending[cask] = is_aside;
    if (is_aside) {
        yard->is_aside[cask] = 1;
        yard->wanted_by[cell_of(yard, &own->to)] = cask;
        out->n_aside++;
        if (++yard->n_on_floor > out->most_on_floor)
            out->most_on_floor = yard->n_on_floor;
    } else {
        yard->n_on_floor -= from == SIZE_MAX && yard->is_aside[cask];
        yard->occupant[to] = cask;
        yard->wanted_by[to] = SIZE_MAX;
    }
}

/* Below zero when a is to come before b: lower, deeper, better balanced, as listed. */
static int compare(const struct yard *yard, size_t a, size_t b)
{
    const struct stv_place *p = &yard->casks[a].to, *q = &yard->casks[b].to;
    if (p->tier_idx != q->tier_idx)
        return p->tier_idx - q->tier_idx;
    int more = off_after(yard, yard->at[a], cell_of(yard, p), 0) -
               off_after(yard, yard->at[b], cell_of(yard, q), 0);
    if (more != 0)
        return more;
    if (p->depth_idx != q->depth_idx)
        return q->depth_idx - p->depth_idx;
    return p->bay_idx != q->bay_idx ? p->bay_idx - q->bay_idx : (a > b) - (a < b);
}

/* The best of the moves that nothing hinders, of those that something in the way hinders, and of
 * those that would shut in what is still to go; SIZE_MAX: none. */
struct choice {
    size_t clear, hindered, waiting;
};

static struct choice choose(const struct yard *yard)
{
    struct choice best = {SIZE_MAX, SIZE_MAX, SIZE_MAX};
    for (size_t c = 0; c < yard->n_casks; c++) {
        if (!yard->is_pending[c])
            continue;
        size_t *to_beat = &best.clear;
        if (obstacle(yard, c) != SIZE_MAX)
            to_beat = &best.hindered;
        else if (is_needed_open(yard, c))
            to_beat = &best.waiting;
        if (to_beat == &best.waiting && yard->at[c] == SIZE_MAX)
            continue; /* it waits outside */
        if (*to_beat == SIZE_MAX || compare(yard, c, *to_beat) < 0)
            *to_beat = c;
    }
    return best;
}

enum stv_status stv_crew_list_make(const struct stv_crew_cask *casks, size_t n_casks,
                                   struct stv_crew_list *out)
{
    *out = (struct stv_crew_list){0};
    struct yard yard = {.casks = casks, .n_casks = n_casks, .out = out};
    enum stv_status status = yard_new(&yard);
    while (status == STV_OK) {
        struct choice next = choose(&yard);
        if (next.clear != SIZE_MAX) {
            step(&yard, next.clear, 0);
            continue;
        }
        if (next.hindered == SIZE_MAX && next.waiting == SIZE_MAX)
            break;
        size_t aside = next.waiting;
        size_t front = next.hindered == SIZE_MAX ? SIZE_MAX : obstacle(&yard, next.hindered);
        for (; front != SIZE_MAX; front = in_front(&yard, yard.at[aside], aside))
            aside = front;
        step(&yard, aside, 1);
    }
    yard_free(&yard);
    if (status != STV_OK)
        stv_crew_list_free(out);
    return status;
}

void stv_crew_list_free(struct stv_crew_list *list)
{
    free(list->steps);
    *list = (struct stv_crew_list){0};
}
