/* All casks, all draws, at the days somebody asks for.  Wood and cask esters are told as ratios to
 * the house's reference cask of the same draw, so what the house does not know of oak in general
 * does not blur the comparison of its casks. */
#include "model/outlook.h"

#include "model/calendar.h"
#include "model/ensemble.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define L_PER_M3 1000.0

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

/* The reference cask at its age in one draw. */
struct reference {
    double phenolics_mg_per_lpa, esters_mg_l;
};

static enum stv_status run_reference(const struct stv__ensemble *ensemble,
                                     const struct stv_house_rules *rules,
                                     const struct stv_path_input *draw, struct reference *out)
{
    struct stv_cask cask = {.history = STV_WOOD_NEW};
    enum stv_status status =
        stv_cask_geometry(rules->reference_capacity_l, NAN, draw->numbers, &cask.geometry);
    if (status != STV_OK)
        return status;
    size_t n_whole;
    const int32_t *whole =
        stv_table_whole_years(draw->tables[ensemble->set->reference_idx], &n_whole);
    int64_t start_d = stv_day_from_date((struct stv_date){n_whole ? whole[0] : 2001, 1, 1});
    struct stv_event fill = {
        .day_d = start_d,
        .kind = STV_EVENT_FILL,
        .other_idx = -1,
        .volume20_l = rules->reference_capacity_l,
        .abv20_frac = rules->reference_abv20_frac,
        .place = {-1, -1, -1, -1},
    };
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    size_t zero = 0;
    int64_t end_d = start_d + (int64_t)llround(rules->reference_months * STV_YEAR_D / STV_MONTHS);
    struct stv_path_input input = *draw;
    input.ledger = &ledger;
    input.params = draw->params + ensemble->ledger->n_casks;
    input.event_positions = &ensemble->set->reference_idx;
    input.reference_idx = ensemble->set->reference_idx;
    input.days_d = &end_d;
    input.n_days = 1;
    struct stv_path_group group = {&zero, &zero, 1, 1};
    struct stv_cask_state state;
    status = stv_path_run(&input, &group, &state);
    if (status != STV_OK)
        return status;
    struct stv_spirit_amount amount = stv_spirit_amount(state.ethanol_kg, state.water_kg);
    out->phenolics_mg_per_lpa = state.content_mg[STV_OAK_PHENOLICS] / amount.lpa_l;
    out->esters_mg_l = state.ester_mg / amount.volume20_l;
    return STV_OK;
}

static double lpa_of_kg(double ethanol_kg)
{
    return ethanol_kg / STV_ETHANOL_RHO20_KG_M3 * L_PER_M3;
}

static double bottles_of(const struct stv_spirit_amount *amount,
                         const struct stv_house_rules *rules)
{
    double bottled_l = amount->abv20_frac >= rules->bottling_abv20_frac
                           ? amount->lpa_l / rules->bottling_abv20_frac
                           : amount->volume20_l;
    return bottled_l * (1.0 - rules->bottling_loss_frac) / rules->bottle_l;
}

static void quantities_of(const struct stv_cask_state *state, const struct stv_house_rules *rules,
                          const struct reference *reference, double out[STV_Q_N])
{
    if (!state->is_full) {
        for (size_t q = 0; q < STV_Q_N; q++)
            out[q] = NAN;
        return;
    }
    struct stv_spirit_amount amount = stv_spirit_amount(state->ethanol_kg, state->water_kg);
    const struct stv_losses *lost = &state->losses;
    out[STV_Q_VOLUME20_L] = amount.volume20_l;
    out[STV_Q_ABV20_FRAC] = amount.abv20_frac;
    out[STV_Q_LPA_L] = amount.lpa_l;
    out[STV_Q_WATER_LOST_KG] = lost->air_water_kg + lost->joint_water_kg;
    out[STV_Q_ETHANOL_LOST_KG] = lost->air_ethanol_kg + lost->joint_ethanol_kg;
    out[STV_Q_WOOD_INDEX_ND] =
        state->content_mg[STV_OAK_PHENOLICS] / amount.lpa_l / reference->phenolics_mg_per_lpa;
    out[STV_Q_CASK_ESTERS_ND] = state->ester_mg / amount.volume20_l / reference->esters_mg_l;
    out[STV_Q_STILL_FRUIT_ND] = state->fruit_nd;
    out[STV_Q_AIR_LPA_L] = lpa_of_kg(lost->air_ethanol_kg);
    out[STV_Q_JOINT_LPA_L] = lpa_of_kg(lost->joint_ethanol_kg);
    out[STV_Q_INDRINK_LPA_L] = lpa_of_kg(lost->indrink_ethanol_kg);
    out[STV_Q_SAMPLE_LPA_L] = lpa_of_kg(lost->sample_ethanol_kg);
    out[STV_Q_BOTTLES_ND] = bottles_of(&amount, rules);
    out[STV_Q_OAK_MG_PER_LPA_L] = state->content_mg[STV_OAK_PHENOLICS] / amount.lpa_l;
}

static double residual_of(const struct stv_cask_state *state)
{
    double ethanol =
        state->in_ethanol_kg - state->gone_ethanol_kg - state->out_ethanol_kg - state->ethanol_kg;
    double water =
        state->in_water_kg - state->gone_water_kg - state->out_water_kg - state->water_kg;
    double scale = state->in_ethanol_kg + state->in_water_kg;
    return scale > 0.0 ? fmax(fabs(ethanol), fabs(water)) / scale : 0.0;
}

/* One draw's room, so that draws can run side by side. */
struct draw_room {
    struct stv_params *params;
    struct stv_cask_state *states;
    double residual_frac;
    size_t n_strength_held;
};

static enum stv_status room_new(const struct stv_outlook *outlook, struct draw_room *room)
{
    room->residual_frac = 0.0;
    room->n_strength_held = 0;
    room->params = malloc((outlook->n_casks + 1) * sizeof *room->params);
    room->states = malloc((outlook->n_casks * outlook->n_days + 1) * sizeof *room->states);
    return room->params && room->states ? STV_OK : STV_E_MEMORY;
}

static void room_free(struct draw_room *room)
{
    free(room->params);
    free(room->states);
}

static void store(struct stv_outlook *outlook, const struct stv_path_group *group,
                  const struct stv_house_rules *rules, const struct reference *reference,
                  size_t draw_idx, struct draw_room *room)
{
    double values[STV_Q_N];
    for (size_t m = 0; m < group->n_members; m++) {
        for (size_t d = 0; d < outlook->n_days; d++) {
            const struct stv_cask_state *state = &room->states[m * outlook->n_days + d];
            quantities_of(state, rules, reference, values);
            size_t base = (group->members[m] * outlook->n_days + d) * STV_Q_N;
            for (size_t q = 0; q < STV_Q_N; q++)
                outlook->values[(base + q) * outlook->n_draws + draw_idx] = values[q];
        }
        if (outlook->n_days == 0)
            continue;
        const struct stv_cask_state *last =
            &room->states[m * outlook->n_days + outlook->n_days - 1];
        room->residual_frac = fmax(room->residual_frac, residual_of(last));
        room->n_strength_held += last->is_strength_held;
    }
}

static enum stv_status run_draw(const struct stv__ensemble *ensemble,
                                const struct stv_house_rules *rules, size_t draw_idx,
                                struct stv_outlook *outlook, struct draw_room *room)
{
    size_t member = stv__ensemble_member(ensemble, draw_idx);
    stv__ensemble_params(ensemble, draw_idx, room->params);
    struct stv_path_input input = {
        .ledger = ensemble->ledger,
        .params = room->params,
        .numbers = &ensemble->numbers,
        .tables = (const struct stv_climate_table *const *)ensemble->tables +
                  member * ensemble->set->n_positions,
        .functions = ensemble->functions,
        .event_positions = ensemble->event_positions,
        .reference_idx = ensemble->set->reference_idx,
        .days_d = outlook->days_d,
        .n_days = outlook->n_days,
        .seed = ensemble->seed,
        .member_idx = member,
        .is_central = ensemble->is_central,
    };
    struct reference reference;
    enum stv_status status = run_reference(ensemble, rules, &input, &reference);
    for (size_t g = 0; g < ensemble->n_groups && status == STV_OK; g++) {
        status = stv_path_run(&input, &ensemble->groups[g], room->states);
        if (status == STV_OK)
            store(outlook, &ensemble->groups[g], rules, &reference, draw_idx, room);
    }
    return status;
}

static enum stv_status run_draws(const struct stv__ensemble *ensemble,
                                 const struct stv_house_rules *rules, struct stv_outlook *outlook)
{
    enum stv_status *status = calloc(ensemble->n_draws, sizeof *status);
    double *residual = calloc(ensemble->n_draws, sizeof *residual);
    size_t *n_held = calloc(ensemble->n_draws, sizeof *n_held);
    enum stv_status worst = status && residual && n_held ? STV_OK : STV_E_MEMORY;
    if (worst == STV_OK) {
#pragma omp parallel for schedule(dynamic)
        for (size_t d = 0; d < ensemble->n_draws; d++) {
            struct draw_room room;
            status[d] = room_new(outlook, &room);
            if (status[d] == STV_OK)
                status[d] = run_draw(ensemble, rules, d, outlook, &room);
            residual[d] = room.residual_frac;
            n_held[d] = room.n_strength_held;
            room_free(&room);
        }
        for (size_t d = 0; d < ensemble->n_draws && worst == STV_OK; d++) {
            worst = status[d];
            outlook->balance_residual_frac = fmax(outlook->balance_residual_frac, residual[d]);
            outlook->n_strength_held += n_held[d];
        }
    }
    free(status);
    free(residual);
    free(n_held);
    return worst;
}

/* Room for n_days of an outlook whose casks and draws are set. */
static enum stv_status allocate(const int64_t *days_d, size_t n_days, struct stv_outlook *out)
{
    size_t n_values = out->n_casks * n_days * STV_Q_N * out->n_draws;
    out->n_days = n_days;
    out->days_d = malloc((n_days + 1) * sizeof *out->days_d);
    out->values = malloc((n_values + 1) * sizeof *out->values);
    out->in_record = calloc(n_days + 1, sizeof *out->in_record);
    if (!out->days_d || !out->values || !out->in_record)
        return STV_E_MEMORY;
    memcpy(out->days_d, days_d, n_days * sizeof *out->days_d);
    return STV_OK;
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
    enum stv_status status = allocate(request->days_d, request->n_days, out);
    if (status == STV_OK)
        status = stv__ensemble_new(request, &ensemble);
    if (status != STV_OK) {
        stv_outlook_free(out);
        return status;
    }
    status = run_draws(&ensemble, request->rules, out);
    mark_record(request->set, out);
    out->held_frac = stv__ensemble_held_frac(&ensemble);
    stv__ensemble_free(&ensemble);
    if (status != STV_OK)
        stv_outlook_free(out);
    return status;
}

/* Index of a day; n_days when the outlook lacks it. */
static size_t day_index(const struct stv_outlook *outlook, int64_t day_d)
{
    size_t at = 0;
    while (at < outlook->n_days && outlook->days_d[at] != day_d)
        at++;
    return at;
}

enum stv_status stv_outlook_pick(const struct stv_outlook *outlook, const int64_t *days_d,
                                 size_t n_days, struct stv_outlook *out)
{
    size_t block = STV_Q_N * outlook->n_draws;
    *out = *outlook;
    enum stv_status status = allocate(days_d, n_days, out);
    for (size_t d = 0; d < n_days && status == STV_OK; d++) {
        size_t from = day_index(outlook, days_d[d]);
        if (from == outlook->n_days) {
            status = STV_E_NO_DATA;
            break;
        }
        out->in_record[d] = outlook->in_record[from];
        for (size_t c = 0; c < out->n_casks; c++)
            memcpy(out->values + (c * n_days + d) * block,
                   outlook->values + (c * outlook->n_days + from) * block,
                   block * sizeof *out->values);
    }
    if (status != STV_OK)
        stv_outlook_free(out);
    return status;
}

void stv_outlook_free(struct stv_outlook *outlook)
{
    free(outlook->days_d);
    free(outlook->values);
    free(outlook->in_record);
    *outlook = (struct stv_outlook){0};
}

const double *stv_outlook_draws(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                                enum stv_quantity quantity)
{
    size_t base = (cask_idx * outlook->n_days + day_idx) * STV_Q_N + (size_t)quantity;
    return outlook->values + base * outlook->n_draws;
}

struct stv_range stv_outlook_range(const struct stv_outlook *outlook, size_t cask_idx,
                                   size_t day_idx, enum stv_quantity quantity)
{
    const double *draws = stv_outlook_draws(outlook, cask_idx, day_idx, quantity);
    double *copy = malloc(outlook->n_draws * sizeof *copy);
    if (!copy)
        return stv_range_point(NAN);
    memcpy(copy, draws, outlook->n_draws * sizeof *copy);
    struct stv_range range = stv_range_of(copy, outlook->n_draws);
    free(copy);
    return range;
}
