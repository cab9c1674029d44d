/* Everything that draws share is made once: climate tables per member and position, groups of
 * casks that exchange spirit, house scores.  Draws of climate form a few members; draws of
 * parameters nest inside them. */
#include "model/ensemble.h"

#include <math.h>
#include <stdlib.h>

static enum stv_status map_events(struct stv__ensemble *ensemble)
{
    const struct stv_ledger *ledger = ensemble->ledger;
    ensemble->event_positions = malloc((ledger->n_events + 1) * sizeof(size_t));
    ensemble->cask_keys = malloc((ledger->n_casks + 1) * sizeof(uint64_t));
    if (!ensemble->event_positions || !ensemble->cask_keys)
        return STV_E_MEMORY;
    for (size_t e = 0; e < ledger->n_events; e++)
        ensemble->event_positions[e] =
            stv_position_of_place(ensemble->set, &ledger->events[e].place);
    for (size_t c = 0; c < ledger->n_casks; c++)
        ensemble->cask_keys[c] = stv_key_of(ledger->casks[c].id);
    return STV_OK;
}

/* Root of a cask's group, with the path halved on the way. */
static size_t root_of(size_t *parent, size_t cask)
{
    while (parent[cask] != cask) {
        parent[cask] = parent[parent[cask]];
        cask = parent[cask];
    }
    return cask;
}

/* Fills one group's lists from `room`; returns the room left. */
static size_t *fill_group(const struct stv_ledger *ledger, size_t *parent, size_t root,
                          size_t *room, struct stv_path_group *group)
{
    group->members = room;
    group->n_members = 0;
    for (size_t c = 0; c < ledger->n_casks; c++)
        if (root_of(parent, c) == root)
            room[group->n_members++] = c;
    room += group->n_members;
    group->events = room;
    group->n_events = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (root_of(parent, (size_t)ledger->events[e].cask_idx) == root)
            room[group->n_events++] = e;
    return room + group->n_events;
}

static enum stv_status make_groups(struct stv__ensemble *ensemble)
{
    const struct stv_ledger *ledger = ensemble->ledger;
    size_t n = ledger->n_casks;
    size_t *parent = malloc((n + 1) * sizeof *parent);
    ensemble->group_room = malloc((n + ledger->n_events + 1) * sizeof(size_t));
    ensemble->groups = malloc((n + 1) * sizeof *ensemble->groups);
    enum stv_status status =
        parent && ensemble->group_room && ensemble->groups ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        for (size_t c = 0; c < n; c++)
            parent[c] = c;
        for (size_t e = 0; e < ledger->n_events; e++)
            if (ledger->events[e].kind == STV_EVENT_TRANSFER)
                parent[root_of(parent, (size_t)ledger->events[e].cask_idx)] =
                    root_of(parent, (size_t)ledger->events[e].other_idx);
        size_t *room = ensemble->group_room;
        for (size_t c = 0; c < n; c++)
            if (root_of(parent, c) == c)
                room = fill_group(ledger, parent, c, room, &ensemble->groups[ensemble->n_groups++]);
    }
    free(parent);
    return status;
}

static enum stv_status make_table(struct stv__ensemble *ensemble, size_t table_idx, double step_d)
{
    size_t member = table_idx / ensemble->set->n_positions;
    size_t position = table_idx % ensemble->set->n_positions;
    struct stv_table_options options = {
        .step_d = step_d,
        .exposed_frac = ensemble->set->exposed_frac[position],
        .numbers = &ensemble->numbers,
    };
    if (ensemble->is_central) {
        options.member.liquid_offset_k = ensemble->base.liquid_offset_k;
        options.member.humidity_offset_frac = ensemble->base.humidity_offset_frac;
    } else {
        options.member = stv_climate_member(ensemble->seed, member, ensemble->n_members,
                                            ensemble->set->positions[position].error);
        options.member.liquid_offset_k += ensemble->base.liquid_offset_k;
        options.member.humidity_offset_frac += ensemble->base.humidity_offset_frac;
    }
    return stv_climate_table_new(&ensemble->set->positions[position], ensemble->functions, &options,
                                 &ensemble->tables[table_idx]);
}

static enum stv_status make_tables(struct stv__ensemble *ensemble, double step_d)
{
    size_t n_positions = ensemble->set->n_positions;
    size_t n_tables = ensemble->n_members * n_positions;
    ensemble->tables = calloc(n_tables, sizeof *ensemble->tables);
    int *is_used = calloc(n_positions, sizeof *is_used);
    enum stv_status *status = calloc(n_tables, sizeof *status);
    enum stv_status worst = ensemble->tables && is_used && status ? STV_OK : STV_E_MEMORY;
    if (worst == STV_OK) {
        is_used[ensemble->set->reference_idx] = 1;
        for (size_t e = 0; e < ensemble->ledger->n_events; e++)
            is_used[ensemble->event_positions[e]] = 1;
#pragma omp parallel for schedule(dynamic)
        for (size_t t = 0; t < n_tables; t++)
            if (is_used[t % n_positions])
                status[t] = make_table(ensemble, t, step_d);
        for (size_t t = 0; t < n_tables && worst == STV_OK; t++)
            worst = status[t];
    }
    free(is_used);
    free(status);
    return worst;
}

enum stv_status stv__ensemble_new(const struct stv_outlook_request *request,
                                  struct stv__ensemble *out)
{
    *out = (struct stv__ensemble){
        .ledger = request->ledger,
        .set = request->set,
        .base = request->base ? *request->base : stv_params_default(),
        .numbers = request->numbers ? *request->numbers : stv_cask_numbers_default(),
        .seed = request->options.seed,
        .is_central = request->options.n_draws == 0,
        .n_draws = request->options.n_draws ? request->options.n_draws : 1,
    };
    if (request->set->n_positions == 0)
        return STV_E_NO_DATA;
    out->n_members = out->n_draws < STV_CLIMATE_MEMBERS ? out->n_draws : STV_CLIMATE_MEMBERS;
    if (request->set->is_member)
        out->n_members = 1; /* alone it is the middle: no offset beside the base's */
    enum stv_status status = stv__cask_functions_new(&out->base, &out->numbers, &out->functions);
    if (status == STV_OK)
        status = stv_house_draws_new(out->seed, out->n_draws, &out->house);
    if (status == STV_OK)
        status = map_events(out);
    if (status == STV_OK)
        status = make_groups(out);
    if (status == STV_OK)
        status = make_tables(out, request->options.step_d);
    if (status != STV_OK)
        stv__ensemble_free(out);
    return status;
}

void stv__ensemble_free(struct stv__ensemble *ensemble)
{
    if (ensemble->tables)
        for (size_t t = 0; t < ensemble->n_members * ensemble->set->n_positions; t++)
            stv_climate_table_free(ensemble->tables[t]);
    free(ensemble->tables);
    stv__cask_functions_free(ensemble->functions);
    stv_house_draws_free(&ensemble->house);
    free(ensemble->cask_keys);
    free(ensemble->event_positions);
    free(ensemble->groups);
    free(ensemble->group_room);
    *ensemble = (struct stv__ensemble){0};
}

double stv__ensemble_held_frac(const struct stv__ensemble *ensemble)
{
    double worst_frac = 0.0;
    for (size_t t = 0; t < ensemble->n_members * ensemble->set->n_positions; t++)
        if (ensemble->tables[t])
            worst_frac = fmax(worst_frac, stv_table_held_frac(ensemble->tables[t]));
    return worst_frac;
}

void stv__ensemble_params(const struct stv__ensemble *ensemble, size_t draw_idx,
                          struct stv_params *out_params)
{
    for (size_t c = 0; c <= ensemble->ledger->n_casks; c++) {
        uint64_t key = c < ensemble->ledger->n_casks ? ensemble->cask_keys[c] : 0;
        out_params[c] = ensemble->is_central ? ensemble->base
                                             : stv_params_drawn(&ensemble->base, &ensemble->numbers,
                                                                &ensemble->house, draw_idx, key);
    }
}

size_t stv__ensemble_member(const struct stv__ensemble *ensemble, size_t draw_idx)
{
    if (ensemble->is_central)
        return 0;
    return stv_draw_member(ensemble->seed, draw_idx, ensemble->n_members);
}
