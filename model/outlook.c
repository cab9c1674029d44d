/* All casks, all draws, at the days somebody asks for.  Wood and cask esters are told as ratios to
 * the house's reference cask of the same draw, so what the house does not know of oak in general
 * does not blur the comparison of its casks. */
#include "model/outlook.h"

#include "model/calendar.h"
#include "model/days.h"
#include "model/kept_tables.h"
#include "model/outlook_start.h"
#include "model/outlook_told.h"
#include "model/retarget.h"
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

/* Who listens to the reference cask. */
struct reference_told {
    const struct stv__ensemble *ensemble;
    struct stv__reference *out; /* per draw */
};

static void tell_reference(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                           const struct stv__packet *packet)
{
    const struct reference_told *told = context;
    (void)member_idx;
    (void)day_idx;
    for (size_t l = 0; l < STV__PACKET; l++) {
        size_t draw = told->ensemble->draw_of_lane[packet_idx * STV__PACKET + l];
        if (draw != SIZE_MAX)
            told->out[draw] = stv__reference_of(packet, l);
    }
}

/* The same for all runs of a study: it is walked once and told again. */
static enum stv_status find_reference(const struct stv__ensemble *ensemble,
                                      const struct stv__reference_run *run,
                                      const struct stv__lane_cask *lanes,
                                      struct stv__reference *out)
{
    const struct stv_climate_table *table = ensemble->tables[ensemble->set->reference_idx];
    struct reference_told told = {ensemble, out};
    struct stv_byte_run key;
    size_t n = ensemble->n_draws * sizeof *out;
    void *bytes = stv__reference_key(ensemble, run, lanes, &key.n);
    key.bytes = bytes;
    enum stv_status status = bytes ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK && !stv__kept_told_find(ensemble->kept, table, &key, out, n)) {
        status = stv__reference_run(ensemble, run, lanes, tell_reference, &told);
        if (status == STV_OK)
            stv__kept_told_keep(ensemble->kept, table, &key, out, n);
    }
    free(bytes);
    return status;
}

static enum stv_status run_reference(const struct stv__ensemble *ensemble,
                                     const struct stv_house_rules *rules,
                                     struct stv__reference *out)
{
    struct stv__reference_run run;
    enum stv_status status = stv__reference_run_of(ensemble, rules, &run);
    struct stv__lane_cask *lanes = aligned_alloc(64, ensemble->n_packets * sizeof *lanes);
    if (!lanes)
        return STV_E_MEMORY;
    if (status == STV_OK) {
        stv__ensemble_reference_lanes(ensemble, &run.cask.geometry, lanes);
        status = find_reference(ensemble, &run, lanes, out);
    }
    free(lanes);
    return status;
}

/* One run of all groups. */
struct house_run {
    struct stv__ensemble *ensemble;
    const struct stv_outlook_request *request;
    struct stv__reference *references; /* per draw */
    struct stv_outlook *outlook;
    struct stv_progress_count done; /* groups */
};

/* One group's telling: values of its casks at the outlook's days and at their own. */
struct group_run {
    const struct house_run *house;
    const struct stv_path_group *group;
    int64_t *days_d; /* all of them, ascending, each once */
    size_t n_days;
    double *values; /* [((member * n_days + day) * STV_Q_N + quantity) * n_draws + draw] */
    double **own;   /* per member, at its own days; NULL without any */
    double residual_frac;
    size_t n_strength_held;
};

static size_t own_days(const struct group_run *run, size_t member_idx, const int64_t **out_days_d)
{
    const struct stv_outlook_rows *rows = run->house->request->rows;
    size_t cask = run->group->members[member_idx];
    *out_days_d = rows ? rows->days_d[cask] : NULL;
    return rows ? rows->n_days[cask] : 0;
}

/* Where a member's values of a day go: up to two places. */
static size_t places_of(const struct group_run *run, size_t member_idx, size_t day_idx,
                        double *out[2])
{
    const struct stv_outlook *outlook = run->house->outlook;
    const int64_t *own_d;
    size_t n_own = own_days(run, member_idx, &own_d), n = 0;
    size_t block = STV_Q_N * outlook->n_draws;
    int64_t day_d = run->days_d[day_idx];
    size_t common = stv_days_find(outlook->days_d, outlook->n_days, day_d);
    size_t own = stv_days_find(own_d, n_own, day_d);
    if (common < outlook->n_days)
        out[n++] = run->values + (member_idx * outlook->n_days + common) * block;
    if (own < n_own)
        out[n++] = run->own[member_idx] + own * block;
    return n;
}

static void tell_cask(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                      const struct stv__packet *packet)
{
    struct group_run *run = context;
    size_t n_draws = run->house->outlook->n_draws;
    const size_t *draw_of_lane = run->house->ensemble->draw_of_lane + packet_idx * STV__PACKET;
    double *to[2];
    size_t n_to = places_of(run, member_idx, day_idx, to);
    for (size_t l = 0; l < STV__PACKET; l++) {
        double told[STV_Q_N];
        size_t draw = draw_of_lane[l];
        if (draw == SIZE_MAX)
            continue;
        if (n_to)
            stv__quantities_of(packet, l, run->house->request->rules, &run->house->references[draw],
                               told);
        for (size_t t = 0; t < n_to; t++)
            for (size_t q = 0; q < STV_Q_N; q++)
                to[t][q * n_draws + draw] = told[q];
        if (day_idx + 1 < run->n_days)
            continue;
        run->residual_frac = fmax(run->residual_frac, stv__residual_frac(packet, l));
        run->n_strength_held += packet->held_nd[l] > 0.0;
    }
}

/* Days of all of the group's casks, and room for what is told on them. */
static enum stv_status group_room(struct group_run *run)
{
    const struct stv_outlook *outlook = run->house->outlook;
    const struct stv_path_group *group = run->group;
    size_t block = STV_Q_N * outlook->n_draws, n = outlook->n_days;
    const int64_t *own_d;
    for (size_t m = 0; m < group->n_members; m++)
        n += own_days(run, m, &own_d);
    run->days_d = malloc((n + 1) * sizeof *run->days_d);
    run->values = malloc((group->n_members * outlook->n_days * block + 1) * sizeof *run->values);
    run->own = calloc(group->n_members + 1, sizeof *run->own);
    if (!run->days_d || !run->values || !run->own)
        return STV_E_MEMORY;
    memcpy(run->days_d, outlook->days_d, outlook->n_days * sizeof *run->days_d);
    size_t at = outlook->n_days;
    for (size_t m = 0; m < group->n_members; m++) {
        size_t n_own = own_days(run, m, &own_d);
        if (n_own == 0)
            continue;
        memcpy(run->days_d + at, own_d, n_own * sizeof *own_d);
        at += n_own;
        run->own[m] = malloc(n_own * block * sizeof **run->own);
        if (!run->own[m])
            return STV_E_MEMORY;
    }
    run->n_days = stv_days_sort(run->days_d, n);
    return STV_OK;
}

/* What is told goes to the outlook and to who asked for rows; values stay for the sums. */
static enum stv_status hand_out(struct group_run *run)
{
    const struct stv_outlook_rows *rows = run->house->request->rows;
    struct stv_outlook *outlook = run->house->outlook;
    size_t n_cask = outlook->n_days * STV_Q_N * outlook->n_draws;
    enum stv_status status = STV_OK;
    for (size_t m = 0; m < run->group->n_members && status == STV_OK; m++) {
        size_t cask = run->group->members[m];
        status = stv__outlook_keep(outlook, cask, run->values + m * n_cask);
        if (status == STV_OK && run->own[m])
            status = rows->take(rows->context, cask, run->own[m]);
    }
    return status;
}

static void free_all_but_values(struct group_run *run)
{
    for (size_t m = 0; run->own && m < run->group->n_members; m++)
        free(run->own[m]);
    free(run->own);
    free(run->days_d);
}

/* From where an earlier run left the group, else from its fills. */
static enum stv_status walk_group(struct group_run *run, struct stv__lane_cask *lanes)
{
    const struct stv__ensemble *ensemble = run->house->ensemble;
    const struct stv_outlook_starts *starts = run->house->request->starts;
    const struct stv__start_place place = {starts, ensemble, run->group, run->days_d, run->n_days};
    struct stv_path_input input = stv__ensemble_path(ensemble);
    struct stv__path_start left = {0};
    input.days_d = run->days_d;
    input.n_days = run->n_days;
    input.from = stv__start_find(&place, lanes);
    input.leave_day_d = stv__start_leave_day(&place);
    input.leave = input.leave_day_d < INT64_MAX ? &left : NULL;
    for (size_t m = 0; starts && m < run->group->n_members; m++)
        starts->from_day_d[run->group->members[m]] = input.from ? input.from->day_d : INT64_MIN;
    enum stv_status status = input.from ? STV_OK : stv__retarget(ensemble, run->group, lanes);
    if (status == STV_OK)
        status = stv_path_run(&input, run->group, lanes, tell_cask, run);
    if (status == STV_OK)
        status = stv__start_leave(&place, lanes, &left);
    stv__path_start_free(&left);
    return status;
}

static enum stv_status run_group(const struct house_run *house, size_t group_idx,
                                 struct group_run *run)
{
    const struct stv__ensemble *ensemble = house->ensemble;
    const struct stv_path_group *group = &ensemble->groups[group_idx];
    struct stv__lane_cask *lanes =
        aligned_alloc(64, group->n_members * ensemble->n_packets * sizeof *lanes);
    *run = (struct group_run){.house = house, .group = group};
    enum stv_status status = lanes ? group_room(run) : STV_E_MEMORY;
    if (status == STV_OK)
        status = walk_group(run, lanes);
    if (status == STV_OK)
        status = hand_out(run);
    free_all_but_values(run);
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
    for (size_t i = 0; i < n; i++) {
        status[i] = run_group(house, from + i, &runs[i]);
        stv_progress_one_more(&house->done);
    }
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

int stv_day_is_in_record(const struct stv_position_set *set, int64_t day_d)
{
    const struct stv_grid *grid = &set->positions[set->reference_idx].grid;
    return !grid->is_typical && day_d >= stv_grid_local_day(grid, 0, NULL) &&
           day_d <= stv_grid_local_day(grid, grid->n - 1, NULL);
}

/* First and last day of the outlook and of all rows; 0 when there is none. */
static size_t span_of(const struct stv_outlook_request *request, int64_t span_d[2])
{
    const struct stv_outlook_rows *rows = request->rows;
    span_d[0] = request->n_days ? request->days_d[0] : INT64_MAX;
    span_d[1] = request->n_days ? request->days_d[request->n_days - 1] : INT64_MIN;
    for (size_t c = 0; rows && c < request->ledger->n_casks; c++) {
        if (rows->n_days[c] == 0)
            continue;
        int64_t first_d = rows->days_d[c][0], last_d = rows->days_d[c][rows->n_days[c] - 1];
        span_d[0] = first_d < span_d[0] ? first_d : span_d[0];
        span_d[1] = last_d > span_d[1] ? last_d : span_d[1];
    }
    return span_d[0] <= span_d[1] ? 2 : 0;
}

enum stv_status stv_outlook_run(const struct stv_outlook_request *request, struct stv_outlook *out)
{
    struct stv__ensemble ensemble;
    *out = (struct stv_outlook){
        .n_casks = request->ledger->n_casks,
        .n_draws = request->options.n_draws ? request->options.n_draws : 1,
    };
    enum stv_status status = stv__outlook_room(request, out);
    /* The years of the tables are those of all days that anybody asks for. */
    struct stv_outlook_request spanned = *request;
    int64_t span_d[2];
    spanned.days_d = span_d;
    spanned.n_days = span_of(request, span_d);
    if (status == STV_OK)
        status = stv__ensemble_new(&spanned, &ensemble);
    if (status != STV_OK) {
        stv_outlook_free(out);
        return status;
    }
    struct house_run house = {&ensemble,
                              request,
                              malloc(out->n_draws * sizeof *house.references),
                              out,
                              {request->options.progress, 0, ensemble.n_groups}};
    status = house.references ? run_house(&house) : STV_E_MEMORY;
    stv_progress_end(&house.done);
    for (size_t d = 0; d < out->n_days; d++)
        out->in_record[d] = stv_day_is_in_record(request->set, out->days_d[d]);
    out->held_frac = stv__ensemble_held_frac(&ensemble);
    free(house.references);
    stv__ensemble_free(&ensemble);
    if (status != STV_OK)
        stv_outlook_free(out);
    return status;
}
