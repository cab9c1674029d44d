/* All casks, all draws, at the days somebody asks for.  Wood and cask esters are told as ratios to
 * the house's reference cask of the same draw, so what the house does not know of oak in general
 * does not blur the comparison of its casks. */
#include "model/outlook.h"

#include "model/calendar.h"
#include "model/ensemble.h"
#include "model/outlook_told.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GROUPS_AT_ONCE 64 /* told before they are added up */

struct stv_house_rules stv_house_rules_default(void)
{
    return (struct stv_house_rules){
        .bottling_abv20_frac = 0.46,
        .bottle_l = 0.70,
        .bottling_loss_frac = 0.02,
        .reference_capacity_l = 200.0,
        .reference_abv20_frac = 0.60,
        .reference_months = 36.0,
        .wood_least_nd = 0.7,
        .wood_most_nd = 1.3,
        .least_abv20_frac = 0.40,
        .planned_age_y = 5.0,
    };
}

/* How well a position stands for a place: 0 not at all, then tier, bay, bay and depth. */
static int match_of(const struct stv_place *position, const struct stv_place *place)
{
    if (place->warehouse_idx < 0 || position->warehouse_idx != place->warehouse_idx ||
        place->tier_idx < 0 || position->tier_idx != place->tier_idx)
        return 0;
    if (position->bay_idx < 0)
        return 1;
    if (position->bay_idx != place->bay_idx)
        return 0;
    if (position->depth_idx < 0)
        return 2;
    return position->depth_idx == place->depth_idx ? 3 : 0;
}

/* Middle tier of a warehouse; the reference's position when the warehouse has none. */
static size_t middle_of_warehouse(const struct stv_position_set *set, int warehouse_idx)
{
    if (warehouse_idx < 0 ||
        set->positions[set->reference_idx].place.warehouse_idx == warehouse_idx)
        return set->reference_idx;
    int most = -1;
    for (size_t p = 0; p < set->n_positions; p++)
        if (set->positions[p].place.warehouse_idx == warehouse_idx &&
            set->positions[p].place.tier_idx > most)
            most = set->positions[p].place.tier_idx;
    for (size_t p = 0; p < set->n_positions; p++)
        if (set->positions[p].place.warehouse_idx == warehouse_idx &&
            set->positions[p].place.bay_idx < 0 && set->positions[p].place.tier_idx == most / 2)
            return p;
    return set->reference_idx;
}

size_t stv_position_of_place(const struct stv_position_set *set, const struct stv_place *place)
{
    size_t best = middle_of_warehouse(set, place->warehouse_idx);
    int best_match = 0;
    for (size_t p = 0; p < set->n_positions; p++) {
        int match = match_of(&set->positions[p].place, place);
        if (match > best_match) {
            best = p;
            best_match = match;
        }
    }
    return best;
}

/* The reference cask's own ledger: filled on the first day of its first year. */
struct reference_run {
    const struct stv__ensemble *ensemble;
    struct stv__reference *out; /* per draw */
};

static void tell_reference(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                           const struct stv__packet *packet)
{
    const struct reference_run *run = context;
    (void)member_idx;
    (void)day_idx;
    for (size_t l = 0; l < STV__PACKET; l++) {
        size_t draw = run->ensemble->draw_of_lane[packet_idx * STV__PACKET + l];
        if (draw != SIZE_MAX)
            run->out[draw] = stv__reference_of(packet, l);
    }
}

static enum stv_status run_reference(const struct stv__ensemble *ensemble,
                                     const struct stv_house_rules *rules,
                                     struct stv__reference *out)
{
    struct stv_cask cask = {.history = STV_WOOD_NEW};
    struct stv_event fill = {
        .day_d = stv_day_from_date((struct stv_date){ensemble->reference_year, 1, 1}),
        .kind = STV_EVENT_FILL,
        .other_idx = -1,
        .volume20_l = rules->reference_capacity_l,
        .abv20_frac = rules->reference_abv20_frac,
        .place = {-1, -1, -1, -1}};
    enum stv_status status =
        stv_cask_geometry(rules->reference_capacity_l, NAN, &ensemble->numbers, &cask.geometry);
    struct stv__lane_cask *lanes = aligned_alloc(64, ensemble->n_packets * sizeof *lanes);
    if (!lanes)
        return STV_E_MEMORY;
    if (status == STV_OK)
        stv__ensemble_reference_lanes(ensemble, &cask.geometry, lanes);
    const struct stv_ledger ledger = {&cask, 1, &fill, 1};
    const size_t zero = 0;
    int64_t end_d =
        fill.day_d + (int64_t)llround(rules->reference_months * STV_YEAR_D / STV_MONTHS);
    const struct stv_path_group group = {&zero, &zero, 1, 1};
    const struct stv_path_input input = {
        .ledger = &ledger,
        .model = &ensemble->model,
        .tables = ensemble->tables,
        .event_positions = &ensemble->set->reference_idx,
        .reference_idx = ensemble->set->reference_idx,
        .days_d = &end_d,
        .n_days = 1,
        .n_packets = ensemble->n_packets,
    };
    struct reference_run run = {ensemble, out};
    if (status == STV_OK)
        status = stv_path_run(&input, &group, lanes, tell_reference, &run);
    free(lanes);
    return status;
}

/* One run of all groups. */
struct house_run {
    struct stv__ensemble *ensemble;
    const struct stv_outlook_request *request;
    struct stv__reference *references; /* per draw */
    struct stv_outlook *outlook;
};

/* One group's telling: values of its casks at the days. */
struct group_run {
    const struct house_run *house;
    double *values; /* [((member * n_days + day) * STV_Q_N + quantity) * n_draws + draw] */
    double residual_frac;
    size_t n_strength_held;
};

static void tell_cask(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                      const struct stv__packet *packet)
{
    struct group_run *run = context;
    const struct stv_outlook *outlook = run->house->outlook;
    const size_t *draw_of_lane = run->house->ensemble->draw_of_lane + packet_idx * STV__PACKET;
    double *values =
        run->values + (member_idx * outlook->n_days + day_idx) * STV_Q_N * outlook->n_draws;
    for (size_t l = 0; l < STV__PACKET; l++) {
        double told[STV_Q_N];
        size_t draw = draw_of_lane[l];
        if (draw == SIZE_MAX)
            continue;
        stv__quantities_of(packet, l, run->house->request->rules, &run->house->references[draw],
                           told);
        for (size_t q = 0; q < STV_Q_N; q++)
            values[q * outlook->n_draws + draw] = told[q];
        if (day_idx + 1 < outlook->n_days)
            continue;
        run->residual_frac = fmax(run->residual_frac, stv__residual_frac(packet, l));
        run->n_strength_held += packet->held_nd[l] > 0.0;
    }
}

static enum stv_status run_group(const struct house_run *house, size_t group_idx,
                                 struct group_run *run)
{
    const struct stv__ensemble *ensemble = house->ensemble;
    const struct stv_path_group *group = &ensemble->groups[group_idx];
    const struct stv_outlook *outlook = house->outlook;
    size_t n_cask = outlook->n_days * STV_Q_N * outlook->n_draws;
    struct stv__lane_cask *lanes =
        aligned_alloc(64, group->n_members * ensemble->n_packets * sizeof *lanes);
    *run = (struct group_run){.house = house};
    run->values = malloc((group->n_members * n_cask + 1) * sizeof *run->values);
    enum stv_status status = lanes && run->values ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        const struct stv_path_input input = {
            .ledger = ensemble->ledger,
            .model = &ensemble->model,
            .tables = ensemble->tables,
            .event_positions = ensemble->event_positions,
            .reference_idx = ensemble->set->reference_idx,
            .days_d = outlook->days_d,
            .n_days = outlook->n_days,
            .n_packets = ensemble->n_packets,
        };
        stv__ensemble_lanes(ensemble, group, lanes);
        status = stv_path_run(&input, group, lanes, tell_cask, run);
    }
    for (size_t m = 0; m < group->n_members && status == STV_OK; m++)
        status = stv__outlook_keep(house->outlook, group->members[m], run->values + m * n_cask);
    free(lanes);
    return status;
}

/* Groups of one batch, a few at a time: run side by side, then added up in their order. */
static enum stv_status run_some(struct house_run *house, size_t from, size_t to)
{
    struct group_run runs[GROUPS_AT_ONCE];
    enum stv_status status[GROUPS_AT_ONCE], worst = STV_OK;
    struct stv_outlook *outlook = house->outlook;
    size_t n = to - from;
#pragma omp parallel for schedule(dynamic)
    for (size_t i = 0; i < n; i++)
        status[i] = run_group(house, from + i, &runs[i]);
    for (size_t i = 0; i < n; i++) {
        if (status[i] == STV_OK)
            stv__outlook_add(outlook, house->request, &house->ensemble->groups[from + i],
                             runs[i].values);
        else if (worst == STV_OK)
            worst = status[i];
        outlook->balance_residual_frac =
            fmax(outlook->balance_residual_frac, runs[i].residual_frac);
        outlook->n_strength_held += runs[i].n_strength_held;
        free(runs[i].values);
    }
    return worst;
}

static enum stv_status run_house(struct house_run *house)
{
    enum stv_status status = STV_OK;
    bool has_reference = false;
    size_t next = 0;
    do {
        size_t to;
        status = stv__ensemble_tables(house->ensemble, next, &to);
        if (status == STV_OK && !has_reference)
            status = run_reference(house->ensemble, house->request->rules, house->references);
        has_reference = true;
        while (next < to && status == STV_OK) {
            size_t end = to - next < GROUPS_AT_ONCE ? to : next + GROUPS_AT_ONCE;
            status = run_some(house, next, end);
            next = end;
        }
    } while (next < house->ensemble->n_groups && status == STV_OK);
    return status;
}

static void mark_record(const struct stv_position_set *set, struct stv_outlook *out)
{
    const struct stv_grid *grid = &set->positions[set->reference_idx].grid;
    int64_t first_d = stv_grid_local_day(grid, 0, NULL);
    int64_t last_d = stv_grid_local_day(grid, grid->n - 1, NULL);
    for (size_t d = 0; d < out->n_days; d++)
        out->in_record[d] =
            !grid->is_typical && out->days_d[d] >= first_d && out->days_d[d] <= last_d;
}

enum stv_status stv_outlook_run(const struct stv_outlook_request *request, struct stv_outlook *out)
{
    struct stv__ensemble ensemble;
    *out = (struct stv_outlook){
        .n_casks = request->ledger->n_casks,
        .n_draws = request->options.n_draws ? request->options.n_draws : 1,
    };
    enum stv_status status = stv__outlook_room(request, out);
    if (status == STV_OK)
        status = stv__ensemble_new(request, &ensemble);
    if (status != STV_OK) {
        stv_outlook_free(out);
        return status;
    }
    struct house_run house = {&ensemble, request, malloc(out->n_draws * sizeof *house.references),
                              out};
    status = house.references ? run_house(&house) : STV_E_MEMORY;
    mark_record(request->set, out);
    out->held_frac = stv__ensemble_held_frac(&ensemble);
    free(house.references);
    stv__ensemble_free(&ensemble);
    if (status != STV_OK)
        stv_outlook_free(out);
    return status;
}
