/* Everything that trials share is made once: scores, groups of casks that exchange spirit, rows of
 * what an hour does.  Climate tables are made for the positions of a few groups at a time and
 * dropped, so that memory does not grow with the house. */
#include "model/ensemble.h"

#include "model/calendar.h"
#include "model/kept_tables.h"
#include "model/ledger_walk.h"
#include "model/place_offset.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

/* Of the tables that are made for some groups at a time, as they usually are. */
#define TABLE_BYTES_MOST (352u << 20)
#define KEPT_BYTES_MOST (256u << 20) /* of all tables, those for another run among them */
/* As many as a table's bytes fill, measured to reckon memory alone: they grow with the logarithm
 * of the years that casks spend there, and by half from 64 trials to 256. */
#define LEAST_CELLS 20.0
#define CELLS_OF_E_TIMES_YEARS 40.0
#define CELLS_LESS 120.0

static enum stv_status map_events(struct stv__ensemble *ensemble)
{
    const struct stv_ledger *ledger = ensemble->ledger;
    ensemble->event_positions = malloc((ledger->n_events + 1) * sizeof(size_t));
    ensemble->stays_y = calloc(ensemble->set->n_positions, sizeof *ensemble->stays_y);
    ensemble->cask_keys = malloc((ledger->n_casks + 1) * sizeof(uint64_t));
    const struct stv_cask **casks = malloc((ledger->n_casks + 1) * sizeof *casks);
    enum stv_status status =
        ensemble->event_positions && ensemble->stays_y && ensemble->cask_keys && casks
            ? STV_OK
            : STV_E_MEMORY;
    for (size_t e = 0; e < ledger->n_events && status == STV_OK; e++) {
        const struct stv_place *place = &ledger->events[e].place;
        ensemble->event_positions[e] = stv_position_of_place(ensemble->set, place);
    }
    for (size_t c = 0; c < ledger->n_casks && status == STV_OK; c++) {
        casks[c] = &ledger->casks[c];
        ensemble->cask_keys[c] = stv_key_of(ledger->casks[c].id);
    }
    if (status == STV_OK)
        status = stv__cask_kinds_of(casks, ledger->n_casks, &ensemble->kinds);
    free(casks);
    return status;
}

/* Lanes of a packet hold the draws of half of the members; a run of draws meets each member once.
 */
static enum stv_status map_draws(struct stv__ensemble *ensemble)
{
    ensemble->n_packets =
        ensemble->is_central ? 1 : (ensemble->n_draws + STV__LANES - 1) / STV__LANES * STV__PACKETS;
    size_t n_lanes = ensemble->n_packets * STV__PACKET;
    ensemble->draw_of_lane = malloc(n_lanes * sizeof *ensemble->draw_of_lane);
    if (!ensemble->draw_of_lane)
        return STV_E_MEMORY;
    for (size_t l = 0; l < n_lanes; l++)
        ensemble->draw_of_lane[l] = SIZE_MAX;
    for (size_t d = 0; d < ensemble->n_draws; d++) {
        size_t lane = ensemble->is_central
                          ? 0
                          : d / STV__LANES * STV__LANES +
                                stv_draw_member(ensemble->options.seed, d, STV_CLIMATE_MEMBERS);
        ensemble->draw_of_lane[lane] = d;
    }
    return STV_OK;
}

/* Lists of members and events, group by group, in two counting sorts. */
static void list_groups(struct stv__ensemble *ensemble, const size_t *parent, size_t *group_of)
{
    const struct stv_ledger *ledger = ensemble->ledger;
    size_t *members = ensemble->group_room, *events = members + ledger->n_casks;
    for (size_t c = 0; c < ledger->n_casks; c++)
        if (parent[c] == c)
            group_of[c] = ensemble->n_groups++;
    for (size_t c = 0; c < ledger->n_casks; c++)
        ensemble->groups[group_of[parent[c]]].n_members++;
    for (size_t e = 0; e < ledger->n_events; e++)
        ensemble->groups[group_of[parent[ledger->events[e].cask_idx]]].n_events++;
    for (size_t g = 0; g < ensemble->n_groups; g++) {
        struct stv_path_group *group = &ensemble->groups[g];
        group->members = members;
        group->events = events;
        members += group->n_members;
        events += group->n_events;
        group->n_members = group->n_events = 0;
    }
    for (size_t c = 0; c < ledger->n_casks; c++) {
        struct stv_path_group *group = &ensemble->groups[group_of[parent[c]]];
        ensemble->group_room[(size_t)(group->members - ensemble->group_room) + group->n_members++] =
            c;
    }
    for (size_t e = 0; e < ledger->n_events; e++) {
        struct stv_path_group *group =
            &ensemble->groups[group_of[parent[ledger->events[e].cask_idx]]];
        ensemble->group_room[(size_t)(group->events - ensemble->group_room) + group->n_events++] =
            e;
    }
}

/* A group with the position it first stands in. */
struct placed_group {
    struct stv_path_group group;
    size_t position_idx, first_cask_idx;
};

static int compare_placed(const void *a, const void *b)
{
    const struct placed_group *x = a, *y = b;
    if (x->position_idx != y->position_idx)
        return x->position_idx < y->position_idx ? -1 : 1;
    return (x->first_cask_idx > y->first_cask_idx) - (x->first_cask_idx < y->first_cask_idx);
}

static enum stv_status sort_groups(struct stv__ensemble *ensemble)
{
    struct placed_group *placed = malloc((ensemble->n_groups + 1) * sizeof *placed);
    if (!placed)
        return STV_E_MEMORY;
    for (size_t g = 0; g < ensemble->n_groups; g++) {
        const struct stv_path_group *group = &ensemble->groups[g];
        size_t position = group->n_events ? ensemble->event_positions[group->events[0]]
                                          : ensemble->set->reference_idx;
        placed[g] = (struct placed_group){*group, position, group->members[0]};
    }
    qsort(placed, ensemble->n_groups, sizeof *placed, compare_placed);
    for (size_t g = 0; g < ensemble->n_groups; g++)
        ensemble->groups[g] = placed[g].group;
    free(placed);
    return STV_OK;
}

static enum stv_status make_groups(struct stv__ensemble *ensemble)
{
    const struct stv_ledger *ledger = ensemble->ledger;
    size_t n = ledger->n_casks;
    size_t *parent = malloc((n + 1) * sizeof *parent);
    size_t *group_of = malloc((n + 1) * sizeof *group_of);
    ensemble->group_room = malloc((n + ledger->n_events + 1) * sizeof(size_t));
    ensemble->groups = calloc(n + 1, sizeof *ensemble->groups);
    enum stv_status status =
        parent && group_of && ensemble->group_room && ensemble->groups ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        stv__ledger_join(ledger, parent);
        list_groups(ensemble, parent, group_of);
        status = sort_groups(ensemble);
    }
    free(parent);
    free(group_of);
    return status;
}

/* As if every cask stayed where it was filled or moved to. */
static void count_stays(struct stv__ensemble *ensemble, int64_t last_d)
{
    for (size_t e = 0; e < ensemble->ledger->n_events; e++) {
        const struct stv_event *event = &ensemble->ledger->events[e];
        bool is_put = event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_MOVE;
        if (is_put && event->day_d < last_d)
            ensemble->stays_y[ensemble->event_positions[e]] +=
                (double)(last_d - event->day_d) / STV_YEAR_D;
    }
}

/* Years of events and days; the reference cask starts with the record's first whole year. */
static void find_years(struct stv__ensemble *ensemble, const struct stv_outlook_request *request)
{
    const struct stv_grid *grid = &ensemble->set->positions[ensemble->set->reference_idx].grid;
    int64_t first_d = INT64_MAX, last_d = stv_grid_local_day(grid, 0, NULL);
    struct stv_date record = stv_date_from_day(last_d);
    if (request->n_days) {
        first_d = request->days_d[0];
        last_d = request->days_d[request->n_days - 1];
    }
    if (ensemble->ledger->n_events && ensemble->ledger->events[0].day_d < first_d)
        first_d = ensemble->ledger->events[0].day_d;
    for (size_t c = 0; ensemble->learned && c < ensemble->learned->n_casks; c++) {
        int64_t gauged_d = stv_posterior_last_day(&ensemble->learned->casks[c]);
        last_d = gauged_d > last_d ? gauged_d : last_d;
    }
    ensemble->first_year = stv_date_from_day(first_d < last_d ? first_d : last_d).year;
    ensemble->last_year = stv_date_from_day(last_d).year;
    count_stays(ensemble, last_d);
    ensemble->reference_year = record.year + (record.month > 1 || record.day > 1);
    if (grid->is_typical)
        ensemble->reference_year = record.year;
    ensemble->last_reference_year =
        ensemble->reference_year + 1 + (int32_t)(request->rules->reference_months / STV_MONTHS);
}

/* What the members decide of all their draws. */
static void member_params(struct stv__ensemble *ensemble, struct stv_params out[STV__LANES])
{
    for (size_t lane = 0; lane < STV__LANES; lane++) {
        out[lane] = ensemble->base;
        ensemble->tau_factor_nd[lane] = ensemble->base.time_constant_factor_nd;
    }
    for (size_t d = 0; d < STV__LANES && !ensemble->is_central; d++) {
        double probe_nd[STV_SCORE_N] = {0.0};
        size_t lane = d;
        struct stv_scores scores = stv_scores_middle();
        if (ensemble->is_probing) {
            if (d > 0 && d <= STV_SCORE_MEMBER_N)
                probe_nd[d - 1] = STV__PROBE_ND;
            scores.house_nd = probe_nd;
        } else {
            lane = stv_draw_member(ensemble->options.seed, d, STV_CLIMATE_MEMBERS);
            scores = stv_scores_drawn(&ensemble->base, &ensemble->numbers, &ensemble->house, d,
                                      SIZE_MAX, 0);
        }
        out[lane] = stv_params_of_scores(&ensemble->base, &ensemble->numbers, &scores);
        ensemble->liquid_nd[lane] = scores.house_nd[STV_SCORE_LIQUID];
        ensemble->humidity_nd[lane] = scores.house_nd[STV_SCORE_HUMIDITY];
        ensemble->tau_factor_nd[lane] = out[lane].time_constant_factor_nd;
    }
}

static enum stv_status make_shared(struct stv__ensemble *ensemble)
{
    struct stv_params lanes[STV__LANES];
    /* Every member needs a draw of its own, whether it is asked for or not. */
    size_t n = ensemble->n_draws > STV__LANES ? ensemble->n_draws : STV__LANES;
    enum stv_status status = STV_OK;
    if (!ensemble->is_central && !ensemble->is_probing)
        status = stv_house_draws_new(ensemble->options.seed, n, ensemble->kinds.keys,
                                     ensemble->kinds.n, &ensemble->house);
    if (status == STV_OK && ensemble->learned && ensemble->house.n_draws)
        status =
            stv_posterior_move_house(ensemble->learned, ensemble->kinds.keys, &ensemble->house);
    if (status != STV_OK)
        return status;
    member_params(ensemble, lanes);
    size_t n_distinct = ensemble->is_central ? 1 : STV__LANES;
    ensemble->rows = stv__kept_rows_take(ensemble->kept, lanes, &ensemble->numbers, n_distinct);
    if (!ensemble->rows)
        status = stv__lane_rows_new(lanes, &ensemble->numbers, n_distinct, &ensemble->rows);
    if (status == STV_OK)
        status = stv__path_model_fill(&ensemble->numbers, stv__lane_rows_columns(ensemble->rows),
                                      &ensemble->model);
    return status;
}

static enum stv_status ensemble_new(const struct stv_outlook_request *request, bool is_probing,
                                    struct stv__ensemble *out)
{
    *out = (struct stv__ensemble){
        .learned = is_probing ? NULL : request->learned,
        .is_probing = is_probing,
        .ledger = request->ledger,
        .set = request->set,
        .base = request->base ? *request->base : stv_params_default(),
        .numbers = request->numbers ? *request->numbers : stv_cask_numbers_default(),
        .options = request->options,
        .is_central = !is_probing && request->options.n_draws == 0,
        .n_draws = request->options.n_draws ? request->options.n_draws : 1,
        .kept = request->kept,
    };
    if (request->set->n_positions == 0)
        return STV_E_NO_DATA;
    out->tables = calloc(request->set->n_positions, sizeof *out->tables);
    enum stv_status status = out->tables ? map_events(out) : STV_E_MEMORY;
    if (status == STV_OK)
        status = map_draws(out);
    if (status == STV_OK)
        status = make_groups(out);
    if (status == STV_OK)
        status = make_shared(out);
    if (status == STV_OK)
        find_years(out, request);
    else
        stv__ensemble_free(out);
    return status;
}

enum stv_status stv__ensemble_new(const struct stv_outlook_request *request,
                                  struct stv__ensemble *out)
{
    return ensemble_new(request, false, out);
}

enum stv_status stv__ensemble_new_probing(const struct stv_outlook_request *request,
                                          struct stv__ensemble *out)
{
    return ensemble_new(request, true, out);
}

static void drop_table(struct stv__ensemble *ensemble, size_t position_idx)
{
    if (ensemble->tables[position_idx])
        ensemble->held_frac =
            fmax(ensemble->held_frac, stv_table_held_frac(ensemble->tables[position_idx]));
    stv__kept_table_drop(ensemble->kept, ensemble->tables[position_idx]);
    ensemble->tables[position_idx] = NULL;
}

void stv__ensemble_free(struct stv__ensemble *ensemble)
{
    stv__kept_leave(ensemble->kept, ensemble->rows, ensemble->tables,
                    ensemble->tables ? ensemble->set->n_positions : 0);
    stv_house_draws_free(&ensemble->house);
    stv__cask_kinds_free(&ensemble->kinds);
    free(ensemble->draw_of_lane);
    free(ensemble->cask_keys);
    free(ensemble->event_positions);
    free(ensemble->stays_y);
    free(ensemble->groups);
    free(ensemble->group_room);
    *ensemble = (struct stv__ensemble){0};
}

double stv__ensemble_held_frac(const struct stv__ensemble *ensemble)
{
    double worst_frac = ensemble->held_frac;
    for (size_t p = 0; p < ensemble->set->n_positions; p++)
        if (ensemble->tables[p])
            worst_frac = fmax(worst_frac, stv_table_held_frac(ensemble->tables[p]));
    return worst_frac;
}

/* A climate that is one of a set carries its error already. */
static struct stv_climate_member offset_of(const struct stv__ensemble *ensemble,
                                           size_t position_idx, size_t lane)
{
    const struct stv_climate_member shared_nd = {ensemble->liquid_nd[lane],
                                                 ensemble->humidity_nd[lane]};
    bool is_drawn = !ensemble->is_central && !ensemble->is_probing;
    if (ensemble->set->is_member)
        return (struct stv_climate_member){0.0, 0.0};
    return stv__place_offset(ensemble->set, position_idx, shared_nd, ensemble->options.seed,
                             is_drawn ? lane : SIZE_MAX);
}

static enum stv_status make_table(struct stv__ensemble *ensemble, size_t position_idx)
{
    const struct stv_position_set *set = ensemble->set;
    const struct stv_position *position = &set->positions[position_idx];
    struct stv__table_plan plan = {
        .position = position,
        .rows = ensemble->rows,
        .step_d = (size_t)ensemble->options.step_d, /* whole days; the table refuses 0 */
        .first_year = ensemble->first_year,
        .last_year = ensemble->last_year,
        .seed = ensemble->options.seed,
        .is_central = ensemble->is_central || ensemble->is_probing,
        .convective_frac = stv_cask_convective_frac(&ensemble->numbers),
        .warming_k_per_y = ensemble->options.warming_k_per_y,
    };
    for (size_t lane = 0; lane < STV__LANES; lane++) {
        const struct stv_climate_member offset = offset_of(ensemble, position_idx, lane);
        plan.members[lane].liquid_offset_k =
            ensemble->base.liquid_offset_k + offset.liquid_offset_k;
        plan.members[lane].humidity_offset_frac =
            ensemble->base.humidity_offset_frac + offset.humidity_offset_frac;
        plan.tau_factor_nd[lane] = ensemble->tau_factor_nd[lane] / set->exposed_frac[position_idx];
    }
    if (position_idx == set->reference_idx) {
        int32_t first = ensemble->reference_year, last = ensemble->last_reference_year;
        plan.first_year = plan.first_year < first ? plan.first_year : first;
        plan.last_year = plan.last_year > last ? plan.last_year : last;
    }
    return stv__kept_table_of(ensemble->kept, position_idx, &plan, &ensemble->tables[position_idx]);
}

/* Of a position's table, when all is done there. */
static double usual_bytes(const struct stv__ensemble *ensemble, size_t position_idx)
{
    size_t n_days = ensemble->set->positions[position_idx].grid.n / STV_DAY_H + 1;
    double years = fmax(1.0, ensemble->stays_y[position_idx]);
    if (ensemble->options.warming_k_per_y != 0.0) /* each of its years is one of its own */
        n_days += (size_t)(ensemble->last_year - ensemble->first_year + 1) * 366;
    double cells = fmax(LEAST_CELLS, CELLS_OF_E_TIMES_YEARS * log(years) - CELLS_LESS);
    return cells * (double)n_days / ensemble->options.step_d *
           (double)ensemble->model.columns->n_padded * STV__LANES * sizeof(float);
}

/* Marks the positions of a group; returns the bytes of those that were not marked before. */
static double mark_group(const struct stv__ensemble *ensemble, size_t group_idx, bool *is_needed)
{
    const struct stv_path_group *group = &ensemble->groups[group_idx];
    double bytes = 0.0;
    for (size_t e = 0; e < group->n_events; e++) {
        size_t position = ensemble->event_positions[group->events[e]];
        bytes += is_needed[position] ? 0.0 : usual_bytes(ensemble, position);
        is_needed[position] = true;
    }
    return bytes;
}

/* Tables that are not needed now stay for the next run as far as there is room, the first of them:
 * that run begins with these. */
static void drop_unneeded(struct stv__ensemble *ensemble, const bool *is_needed)
{
    double bytes = 0.0;
    for (size_t p = 0; p < ensemble->set->n_positions; p++) {
        if (ensemble->tables[p])
            bytes += (double)stv_table_bytes(ensemble->tables[p]);
        else if (is_needed[p])
            bytes += usual_bytes(ensemble, p);
    }
    for (size_t p = ensemble->set->n_positions; p-- > 0;) {
        if (is_needed[p] || p == ensemble->set->reference_idx || !ensemble->tables[p])
            continue;
        if (ensemble->kept && bytes <= KEPT_BYTES_MOST)
            break;
        bytes -= (double)stv_table_bytes(ensemble->tables[p]);
        drop_table(ensemble, p);
    }
}

static enum stv_status replace_tables(struct stv__ensemble *ensemble, const bool *is_needed)
{
    int worst = STV_OK; /* the same, whoever comes first */
    drop_unneeded(ensemble, is_needed);
#pragma omp parallel for schedule(dynamic) reduction(max : worst)
    for (size_t p = 0; p < ensemble->set->n_positions; p++)
        if (is_needed[p] && !ensemble->tables[p]) {
            int status = make_table(ensemble, p);
            worst = status > worst ? status : worst;
        }
    return (enum stv_status)worst;
}

enum stv_status stv__ensemble_tables(struct stv__ensemble *ensemble, size_t from, size_t *out_to)
{
    size_t n_positions = ensemble->set->n_positions;
    bool *is_needed = calloc(n_positions, sizeof *is_needed);
    if (!is_needed)
        return STV_E_MEMORY;
    is_needed[ensemble->set->reference_idx] = true;
    double bytes = 0.0;
    size_t to = from;
    while (to < ensemble->n_groups) {
        bytes += mark_group(ensemble, to, is_needed);
        if (bytes > TABLE_BYTES_MOST && to > from) {
            memset(is_needed, 0, n_positions * sizeof *is_needed);
            is_needed[ensemble->set->reference_idx] = true;
            for (size_t g = from; g < to; g++)
                mark_group(ensemble, g, is_needed);
            break;
        }
        to++;
    }
    enum stv_status status = replace_tables(ensemble, is_needed);
    free(is_needed);
    *out_to = to;
    return status;
}

struct stv_scores stv__ensemble_scores(const struct stv__ensemble *ensemble, size_t cask_idx,
                                       size_t draw_idx)
{
    bool is_reference = cask_idx == SIZE_MAX;
    uint64_t key = is_reference ? 0 : ensemble->cask_keys[cask_idx];
    struct stv_scores scores =
        stv_scores_drawn(&ensemble->base, &ensemble->numbers, &ensemble->house, draw_idx,
                         is_reference ? SIZE_MAX : ensemble->kinds.of_cask[cask_idx], key);
    if (ensemble->learned && !is_reference)
        stv_posterior_move_cask(ensemble->learned, &ensemble->house, draw_idx, key, &scores);
    return scores;
}

static void move(const struct stv__own_shift *shift, struct stv_scores *scores)
{
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++)
        scores->own_nd[s] += shift->score_nd[s];
    if (scores->leak_per_y > 0.0)
        scores->leak_per_y = fmax(0.0, scores->leak_per_y + shift->leak_per_y);
}

/* Packs drawn parameters of one cask into its packets; cask SIZE_MAX is the reference. */
static void pack(const struct stv__ensemble *ensemble, size_t cask_idx,
                 const struct stv_cask_geometry *geometry, const struct stv__own_shift *shifts_nd,
                 struct stv__lane_cask *out)
{
    const struct stv_posterior_cask *known = NULL;
    if (ensemble->learned && cask_idx != SIZE_MAX)
        known = stv_posterior_find(ensemble->learned, ensemble->cask_keys[cask_idx]);
    for (size_t p = 0; p < ensemble->n_packets; p++) {
        struct stv_params params[STV__PACKET];
        const struct stv_params *lanes[STV__PACKET];
        for (size_t l = 0; l < STV__PACKET; l++) {
            size_t draw = ensemble->draw_of_lane[p * STV__PACKET + l];
            params[l] = ensemble->base;
            if (!ensemble->is_central) {
                /* Lanes without a draw stay empty (path.h). */
                struct stv_scores scores =
                    stv__ensemble_scores(ensemble, cask_idx, draw == SIZE_MAX ? 0 : draw);
                if (shifts_nd)
                    move(&shifts_nd[p * STV__PACKET + l], &scores);
                params[l] = stv_params_of_scores(&ensemble->base, &ensemble->numbers, &scores);
            }
            lanes[l] = &params[l];
        }
        const struct stv__lane_cask_source source = {geometry, lanes, &ensemble->numbers};
        stv__lane_cask_of(&source, &out[p]);
        if (known) {
            out[p].leak_from_d = known->leak.from_d;
            out[p].leak_to_d = known->leak.to_d;
            out[p].leak_again_d = known->leak.again_d;
        }
    }
}

void stv__ensemble_lanes(const struct stv__ensemble *ensemble, const struct stv_path_group *group,
                         const struct stv__own_shift *shifts_nd, struct stv__lane_cask *out)
{
    for (size_t m = 0; m < group->n_members; m++) {
        size_t cask = group->members[m], at = m * ensemble->n_packets;
        pack(ensemble, cask, &ensemble->ledger->casks[cask].geometry,
             shifts_nd ? shifts_nd + at * STV__PACKET : NULL, out + at);
    }
}

void stv__ensemble_reference_lanes(const struct stv__ensemble *ensemble,
                                   const struct stv_cask_geometry *geometry,
                                   struct stv__lane_cask *out)
{
    pack(ensemble, SIZE_MAX, geometry, NULL, out);
}

struct stv_path_input stv__ensemble_path(const struct stv__ensemble *ensemble)
{
    return (struct stv_path_input){
        .ledger = ensemble->ledger,
        .model = &ensemble->model,
        .tables = ensemble->tables,
        .event_positions = ensemble->event_positions,
        .reference_idx = ensemble->set->reference_idx,
        .n_packets = ensemble->n_packets,
        .draw_of_lane = ensemble->is_probing ? NULL : ensemble->draw_of_lane,
    };
}

enum stv_status stv__ensemble_all_tables(struct stv__ensemble *ensemble)
{
    bool *is_needed = calloc(ensemble->set->n_positions, sizeof *is_needed);
    if (!is_needed)
        return STV_E_MEMORY;
    is_needed[ensemble->set->reference_idx] = true;
    for (size_t g = 0; g < ensemble->n_groups; g++)
        mark_group(ensemble, g, is_needed);
    enum stv_status status = replace_tables(ensemble, is_needed);
    free(is_needed);
    return status;
}
