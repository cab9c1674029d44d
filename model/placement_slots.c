/* From counts of kinds to single casks and places. */
#include "model/placement_house.h"

#include <stdlib.h>

struct order {
    const struct stv_house_slot *slots;
    size_t slot_idx;
};

/* Lower tiers first, then fronts, then along the bays. */
static int compare_slots(const void *a, const void *b)
{
    const struct order *x = a, *y = b;
    const struct stv_place *p = &x->slots[x->slot_idx].place;
    const struct stv_place *q = &y->slots[y->slot_idx].place;
    int steps[] = {p->warehouse_idx - q->warehouse_idx, p->tier_idx - q->tier_idx,
                   p->depth_idx - q->depth_idx, p->bay_idx - q->bay_idx};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (steps[i] != 0)
            return steps[i];
    return (x->slot_idx > y->slot_idx) - (x->slot_idx < y->slot_idx);
}

struct expansion {
    const struct stv_house_placement *placement;
    const struct stv_house_slot *slots;
    const struct stv_house_item *items;
    size_t n_slots, n_items;
    struct order *order;
    int *is_taken;
    size_t *item_of;    /* per slot: the cask that lies there; SIZE_MAX: none */
    size_t *n_to_place; /* [group * n_kinds + kind] */
    size_t *slot_of;
};

/* Those who may stay, from the hardest place to reach to the easiest. */
static void keep_staying(struct expansion *all)
{
    for (size_t s = all->n_slots; s-- > 0;) {
        size_t slot = all->order[s].slot_idx, item = all->item_of[slot];
        if (item == SIZE_MAX)
            continue;
        size_t *n = &all->n_to_place[all->items[item].group_idx * all->placement->n_kinds +
                                     all->slots[slot].kind_idx];
        if (*n == 0)
            continue;
        --*n;
        all->slot_of[item] = slot;
        all->is_taken[slot] = 1;
    }
}

/* The first free slot of a kind in the order. */
static size_t first_free(const struct expansion *all, size_t kind, size_t *from)
{
    for (; *from < all->n_slots; ++*from) {
        size_t slot = all->order[*from].slot_idx;
        if (all->slots[slot].kind_idx == kind && !all->is_taken[slot])
            return slot;
    }
    return SIZE_MAX;
}

/* Of those as far to the front, the one nearest along the bays to where a cask lies: less carrying,
 * and each side of the store keeps its load. */
static size_t nearest_free(const struct expansion *all, size_t kind, size_t own)
{
    size_t nearest = SIZE_MAX;
    int least = 0, bay_idx = all->slots[own].place.bay_idx;
    for (size_t i = 0; i < all->n_slots; i++) {
        size_t slot = all->order[i].slot_idx;
        const struct stv_place *place = &all->slots[slot].place;
        if (all->slots[slot].kind_idx != kind || all->is_taken[slot])
            continue;
        if (nearest != SIZE_MAX && place->depth_idx > all->slots[nearest].place.depth_idx)
            break;
        if (nearest == SIZE_MAX || abs(place->bay_idx - bay_idx) < least) {
            nearest = slot;
            least = abs(place->bay_idx - bay_idx);
        }
    }
    return nearest;
}

/* The others, each kind of place in its order. */
static enum stv_status place_moving(struct expansion *all)
{
    for (size_t k = 0; k < all->placement->n_kinds; k++) {
        size_t from = 0;
        for (size_t i = 0; i < all->n_items; i++) {
            size_t *n = &all->n_to_place[all->items[i].group_idx * all->placement->n_kinds + k];
            if (all->slot_of[i] != SIZE_MAX || *n == 0)
                continue;
            size_t own = all->items[i].slot_idx;
            size_t slot = own == SIZE_MAX ? first_free(all, k, &from) : nearest_free(all, k, own);
            if (slot == SIZE_MAX)
                return STV_E_ARG;
            all->is_taken[slot] = 1;
            all->slot_of[i] = slot;
            --*n;
        }
    }
    for (size_t c = 0; c < all->placement->n_groups * all->placement->n_kinds; c++)
        if (all->n_to_place[c] != 0)
            return STV_E_ARG;
    return STV_OK;
}

enum stv_status stv_house_expand(const struct stv_house_placement *placement,
                                 const struct stv_house_slot *slots, size_t n_slots,
                                 const struct stv_house_item *items, size_t n_items,
                                 size_t *out_slot_idx)
{
    size_t n_cells = placement->n_groups * placement->n_kinds;
    struct expansion all = {.placement = placement,
                            .slots = slots,
                            .items = items,
                            .n_slots = n_slots,
                            .n_items = n_items,
                            .order = malloc((n_slots + 1) * sizeof *all.order),
                            .is_taken = calloc(n_slots + 1, sizeof *all.is_taken),
                            .item_of = malloc((n_slots + 1) * sizeof *all.item_of),
                            .n_to_place = malloc((n_cells + 1) * sizeof *all.n_to_place),
                            .slot_of = out_slot_idx};
    enum stv_status status =
        all.order && all.is_taken && all.item_of && all.n_to_place ? STV_OK : STV_E_MEMORY;
    for (size_t s = 0; s < n_slots && status == STV_OK; s++)
        all.item_of[s] = SIZE_MAX;
    for (size_t i = 0; i < n_items && status == STV_OK; i++) {
        out_slot_idx[i] = SIZE_MAX;
        if (items[i].group_idx >= placement->n_groups ||
            (items[i].slot_idx != SIZE_MAX && items[i].slot_idx >= n_slots))
            status = STV_E_ARG;
        else if (items[i].slot_idx != SIZE_MAX)
            all.item_of[items[i].slot_idx] = i;
    }
    if (status == STV_OK) {
        for (size_t c = 0; c < n_cells; c++)
            all.n_to_place[c] = placement->assignment.n_placed[c];
        for (size_t s = 0; s < n_slots; s++)
            all.order[s] = (struct order){slots, s};
        qsort(all.order, n_slots, sizeof *all.order, compare_slots);
        keep_staying(&all);
        status = place_moving(&all);
    }
    free(all.order);
    free(all.is_taken);
    free(all.item_of);
    free(all.n_to_place);
    return status;
}
