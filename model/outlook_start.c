#include "model/outlook_start.h"

#include <stdlib.h>
#include <string.h>

/* Events have the indices of the group's members for those of casks. */
struct stv_outlook_start {
    struct stv__path_start path;
    uint64_t *cask_keys;
    struct stv__lane_cask *lanes;
    struct stv_event *events; /* done by its day */
    int64_t *days_d;          /* told by its day */
};

void stv_outlook_start_free(struct stv_outlook_start *start)
{
    if (!start)
        return;
    stv__path_start_free(&start->path);
    free(start->cask_keys);
    free(start->lanes);
    free(start->events);
    free(start->days_d);
    free(start);
}

static size_t slot_of(const struct stv__start_place *place)
{
    return place->starts->slot_of_cask[place->group->members[0]];
}

static int member_of(const struct stv_path_group *group, int cask_idx)
{
    for (size_t m = 0; m < group->n_members; m++)
        if (cask_idx >= 0 && group->members[m] == (size_t)cask_idx)
            return (int)m;
    return -1;
}

static struct stv_event event_at(const struct stv__start_place *place, size_t nth)
{
    struct stv_event event = place->ensemble->ledger->events[place->group->events[nth]];
    event.cask_idx = member_of(place->group, event.cask_idx);
    event.other_idx = member_of(place->group, event.other_idx);
    return event;
}

/* NaN is as NaN. */
static bool is_same_number(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

static bool is_same_event(const struct stv_event *a, const struct stv_event *b)
{
    return a->day_d == b->day_d && a->kind == b->kind && a->cask_idx == b->cask_idx &&
           a->other_idx == b->other_idx && is_same_number(a->volume20_l, b->volume20_l) &&
           is_same_number(a->abv20_frac, b->abv20_frac) &&
           is_same_number(a->water_kg, b->water_kg) && a->is_soaked == b->is_soaked &&
           a->place.warehouse_idx == b->place.warehouse_idx &&
           a->place.tier_idx == b->place.tier_idx && a->place.bay_idx == b->place.bay_idx &&
           a->place.depth_idx == b->place.depth_idx;
}

/* Whether all that was done and told by the start's day is what the group asks for by then. */
static bool holds(const struct stv_outlook_start *start, const struct stv__start_place *place)
{
    const struct stv_path_group *group = place->group;
    const struct stv__path_start *path = &start->path;
    if (path->n_members != group->n_members || path->n_packets != place->ensemble->n_packets ||
        path->n_events > group->n_events || path->n_days > place->n_days ||
        (path->n_days < place->n_days && place->days_d[path->n_days] <= path->day_d) ||
        (path->n_events < group->n_events && event_at(place, path->n_events).day_d <= path->day_d))
        return false;
    for (size_t m = 0; m < group->n_members; m++)
        if (start->cask_keys[m] != place->ensemble->cask_keys[group->members[m]])
            return false;
    for (size_t e = 0; e < path->n_events; e++) {
        struct stv_event event = event_at(place, e);
        if (!is_same_event(&event, &start->events[e]))
            return false;
    }
    return memcmp(start->days_d, place->days_d, path->n_days * sizeof *place->days_d) == 0;
}

const struct stv__path_start *stv__start_find(const struct stv__start_place *place,
                                              struct stv__lane_cask *out_lanes)
{
    const struct stv_outlook_start *start =
        place->starts ? place->starts->slots[slot_of(place)] : NULL;
    if (!start || !holds(start, place))
        return NULL;
    memcpy(out_lanes, start->lanes,
           start->path.n_members * start->path.n_packets * sizeof *out_lanes);
    return &start->path;
}

enum stv_status stv__start_leave(const struct stv__start_place *place,
                                 const struct stv__lane_cask *lanes, struct stv__path_start *path)
{
    const struct stv_path_group *group = place->group;
    size_t n = group->n_members, n_lanes = n * path->n_packets;
    if (!path->packets)
        return STV_OK;
    struct stv_outlook_start *start = calloc(1, sizeof *start);
    if (!start)
        return STV_E_MEMORY;
    start->cask_keys = malloc((n + 1) * sizeof *start->cask_keys);
    start->lanes = aligned_alloc(64, (n_lanes + 1) * sizeof *start->lanes);
    start->events = malloc((path->n_events + 1) * sizeof *start->events);
    start->days_d = malloc((path->n_days + 1) * sizeof *start->days_d);
    if (!start->cask_keys || !start->lanes || !start->events || !start->days_d) {
        stv_outlook_start_free(start);
        return STV_E_MEMORY;
    }
    for (size_t m = 0; m < n; m++)
        start->cask_keys[m] = place->ensemble->cask_keys[group->members[m]];
    memcpy(start->lanes, lanes, n_lanes * sizeof *lanes);
    for (size_t e = 0; e < path->n_events; e++)
        start->events[e] = event_at(place, e);
    memcpy(start->days_d, place->days_d, path->n_days * sizeof *start->days_d);
    start->path = *path;
    *path = (struct stv__path_start){0};
    struct stv_outlook_start **slot = &place->starts->slots[slot_of(place)];
    stv_outlook_start_free(*slot);
    *slot = start;
    return STV_OK;
}

int64_t stv__start_leave_day(const struct stv__start_place *place)
{
    int64_t first_d = INT64_MAX;
    for (size_t m = 0; place->starts && m < place->group->n_members; m++) {
        int64_t leave_d = place->starts->leave_day_d[place->group->members[m]];
        first_d = leave_d < first_d ? leave_d : first_d;
    }
    return first_d;
}
