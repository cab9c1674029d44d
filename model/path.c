/* A group of casks in date order: each is carried to the next event or reported day, then the
 * event is applied.  A whole transfer moves all there is; wood keeps its pools. */
#include "model/path.h"

#include "model/path_step.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>

static struct stv_cask_state new_state(const struct stv_path_input *input, size_t cask_idx)
{
    struct stv_cask_state state = {.emptied_day_d = INT64_MIN,
                                   .position_idx = input->reference_idx};
    state.pools = stv_oak_pools_of(input->ledger->casks[cask_idx].history, &input->params[cask_idx],
                                   input->numbers);
    return state;
}

static void scale_liquid(struct stv_cask_state *state, double part)
{
    state->ethanol_kg *= part;
    state->water_kg *= part;
    state->ester_mg *= part;
    for (size_t k = 0; k < STV_OAK_N; k++)
        state->content_mg[k] *= part;
    double *losses = (double *)&state->losses;
    for (size_t i = 0; i < sizeof state->losses / sizeof *losses; i++)
        losses[i] *= part;
}

/* Liquid leaves by hand: `part` of it. */
static void take_out(struct stv_cask_state *state, double part)
{
    state->out_ethanol_kg += part * state->ethanol_kg;
    state->out_water_kg += part * state->water_kg;
    scale_liquid(state, 1.0 - part);
}

static void make_empty(struct stv_cask_state *state, int64_t day_d)
{
    take_out(state, 1.0);
    state->is_full = false;
    state->emptied_day_d = day_d;
}

/* Spirit meets wood: dry wood will drink. */
static void wet(const struct stv_cask_numbers *numbers, const struct stv_cask *cask,
                const struct stv_event *event, struct stv_cask_state *state)
{
    bool was_wet = state->emptied_day_d != INT64_MIN &&
                   (double)(event->day_d - state->emptied_day_d) <= numbers->stays_soaked_d;
    bool is_soaked = event->is_soaked || was_wet;
    state->wetted_day_d = event->day_d;
    state->indrink_total_l = is_soaked ? 0.0 : numbers->indrink_l_per_kg * cask->geometry.wood_kg;
    state->damp_water_kg = is_soaked ? 0.0 : numbers->damp_water_kg_per_kg * cask->geometry.wood_kg;
}

static enum stv_status apply_fill(const struct stv_cask_numbers *numbers,
                                  const struct stv_cask *cask, const struct stv_event *event,
                                  size_t position_idx, struct stv_cask_state *state)
{
    double ethanol_kg;
    double water_kg;
    enum stv_status status =
        stv_spirit_masses_kg(event->volume20_l, event->abv20_frac, &ethanol_kg, &water_kg);
    if (status != STV_OK)
        return status;
    state->is_full = true;
    state->ethanol_kg = ethanol_kg;
    state->water_kg = water_kg;
    state->in_ethanol_kg += ethanol_kg;
    state->in_water_kg += water_kg;
    state->ester_mg = 0.0;
    state->fruit_nd = 1.0;
    for (size_t k = 0; k < STV_OAK_N; k++)
        state->content_mg[k] = 0.0;
    state->losses = (struct stv_losses){0};
    if (event->place.warehouse_idx >= 0)
        state->position_idx = position_idx;
    wet(numbers, cask, event, state);
    return STV_OK;
}

static void add_losses(struct stv_losses *to, const struct stv_losses *added)
{
    double *sum = (double *)to;
    const double *add = (const double *)added;
    for (size_t i = 0; i < sizeof *to / sizeof *sum; i++)
        sum[i] += add[i];
}

/* Spirit of another cask comes into this one and brings its history along. */
static void pour_in(const struct stv_cask_state *moved, struct stv_cask_state *to)
{
    double there_l = stv_spirit_amount(to->ethanol_kg, to->water_kg).volume20_l;
    double moved_l = stv_spirit_amount(moved->ethanol_kg, moved->water_kg).volume20_l;
    to->fruit_nd = (there_l * to->fruit_nd + moved_l * moved->fruit_nd) / (there_l + moved_l);
    to->is_full = true;
    to->ethanol_kg += moved->ethanol_kg;
    to->water_kg += moved->water_kg;
    to->in_ethanol_kg += moved->ethanol_kg;
    to->in_water_kg += moved->water_kg;
    to->ester_mg += moved->ester_mg;
    for (size_t k = 0; k < STV_OAK_N; k++)
        to->content_mg[k] += moved->content_mg[k];
    add_losses(&to->losses, &moved->losses);
}

static void apply_transfer(const struct stv_path_input *input, size_t event_idx,
                           struct stv_cask_state *from, struct stv_cask_state *to)
{
    const struct stv_event *event = &input->ledger->events[event_idx];
    double there_l = stv_spirit_amount(from->ethanol_kg, from->water_kg).volume20_l;
    if (!(there_l > 0.0))
        return; /* the ledger's check names a transfer out of an empty cask */
    double part = isfinite(event->volume20_l) ? fmin(1.0, event->volume20_l / there_l) : 1.0;
    struct stv_cask_state moved = *from;
    scale_liquid(&moved, part);
    if (!to->is_full)
        wet(input->numbers, &input->ledger->casks[event->other_idx], event, to);
    pour_in(&moved, to);
    if (event->place.warehouse_idx >= 0)
        to->position_idx = input->event_positions[event_idx];
    if (part < 1.0)
        take_out(from, part);
    else
        make_empty(from, event->day_d);
    if (!isfinite(event->volume20_l))
        from->position_idx = input->reference_idx;
}

static void apply_sample(const struct stv_event *event, struct stv_cask_state *state)
{
    struct stv_spirit_amount amount = stv_spirit_amount(state->ethanol_kg, state->water_kg);
    double part = fmin(1.0, event->volume20_l / amount.volume20_l);
    struct stv_losses before = state->losses;
    state->gone_ethanol_kg += part * state->ethanol_kg;
    state->gone_water_kg += part * state->water_kg;
    before.sample_ethanol_kg += part * state->ethanol_kg;
    before.sample_water_kg += part * state->water_kg;
    scale_liquid(state, 1.0 - part);
    state->losses = before;
}

static enum stv_status apply_top_up(const struct stv_event *event, struct stv_cask_state *state)
{
    double ethanol_kg;
    double water_kg;
    enum stv_status status =
        stv_spirit_masses_kg(event->volume20_l, event->abv20_frac, &ethanol_kg, &water_kg);
    if (status != STV_OK)
        return status;
    state->is_full = true; /* litres written down may have drained it before */
    state->ethanol_kg += ethanol_kg;
    state->water_kg += water_kg;
    state->in_ethanol_kg += ethanol_kg;
    state->in_water_kg += water_kg;
    return STV_OK;
}

static void apply_rejuvenation(const struct stv_params *params,
                               const struct stv_cask_numbers *numbers, struct stv_cask_state *state)
{
    struct stv_oak_pools fresh = stv_oak_pools_of(STV_WOOD_NEW, params, numbers);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        state->pools.fast_mg_m2[k] +=
            numbers->rejuvenation_frac * (fresh.fast_mg_m2[k] - state->pools.fast_mg_m2[k]);
        state->pools.slow_mg_m2[k] +=
            numbers->rejuvenation_frac * (fresh.slow_mg_m2[k] - state->pools.slow_mg_m2[k]);
    }
}

/* states: of all casks of the ledger. */
static enum stv_status apply(const struct stv_path_input *input, size_t event_idx,
                             struct stv_cask_state *states)
{
    const struct stv_event *event = &input->ledger->events[event_idx];
    const struct stv_cask *casks = input->ledger->casks;
    struct stv_cask_state *state = &states[event->cask_idx];
    size_t position_idx = input->event_positions[event_idx];
    switch (event->kind) {
    case STV_EVENT_FILL:
        return apply_fill(input->numbers, &casks[event->cask_idx], event, position_idx, state);
    case STV_EVENT_MOVE:
        state->position_idx = position_idx;
        break;
    case STV_EVENT_TRANSFER:
        apply_transfer(input, event_idx, state, &states[event->other_idx]);
        break;
    case STV_EVENT_ADD_WATER:
        state->water_kg += event->water_kg;
        state->in_water_kg += event->water_kg;
        break;
    case STV_EVENT_TOP_UP:
        return apply_top_up(event, state);
    case STV_EVENT_SAMPLE:
        apply_sample(event, state);
        break;
    case STV_EVENT_REJUVENATE:
        apply_rejuvenation(&input->params[event->cask_idx], input->numbers, state);
        break;
    case STV_EVENT_EMPTY:
        make_empty(state, event->day_d);
        state->position_idx = input->reference_idx; /* the ledger gives its place up too */
        break;
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_N:
        break;
    }
    return STV_OK;
}

static void carry(const struct stv_path_input *input, const struct stv_path_group *group,
                  int64_t from_day_d, int64_t to_day_d, struct stv_cask_state *states)
{
    for (size_t m = 0; m < group->n_members; m++) {
        struct stv_cask_state *state = &states[group->members[m]];
        if (state->is_full)
            stv__path_advance(input, group->members[m], from_day_d, to_day_d, state);
    }
}

static enum stv_status walk(const struct stv_path_input *input, const struct stv_path_group *group,
                            struct stv_cask_state *states, struct stv_cask_state *out_states)
{
    size_t e = 0;
    size_t d = 0;
    int64_t now_d = INT64_MIN;
    enum stv_status status = STV_OK;
    while ((e < group->n_events || d < input->n_days) && status == STV_OK) {
        int64_t event_day =
            e < group->n_events ? input->ledger->events[group->events[e]].day_d : INT64_MAX;
        int64_t report_day = d < input->n_days ? input->days_d[d] : INT64_MAX;
        int64_t next_d = event_day < report_day ? event_day : report_day;
        if (d >= input->n_days)
            break; /* events after the last reported day change nothing that is asked */
        if (now_d != INT64_MIN)
            carry(input, group, now_d, next_d, states);
        now_d = next_d;
        while (status == STV_OK && e < group->n_events &&
               input->ledger->events[group->events[e]].day_d == now_d)
            status = apply(input, group->events[e++], states);
        for (; status == STV_OK && d < input->n_days && input->days_d[d] == now_d; d++)
            for (size_t m = 0; m < group->n_members; m++)
                out_states[m * input->n_days + d] = states[group->members[m]];
    }
    return status;
}

enum stv_status stv_path_run(const struct stv_path_input *input, const struct stv_path_group *group,
                             struct stv_cask_state *out_states)
{
    struct stv_cask_state *states = malloc(input->ledger->n_casks * sizeof *states);
    if (!states)
        return STV_E_MEMORY;
    for (size_t m = 0; m < group->n_members; m++)
        states[group->members[m]] = new_state(input, group->members[m]);
    enum stv_status status = walk(input, group, states, out_states);
    free(states);
    return status;
}
