/* A whole transfer moves all there is; wood keeps its pools. */
#include "model/path_events.h"

#include "model/path_amounts.h"
#include "model/spirit.h"

#include <math.h>

static void pools_of(const struct stv_cask_numbers *numbers, enum stv_wood_history history,
                     stv__v8 factor_nd, stv__v8 out_fast[STV_OAK_N], stv__v8 out_slow[STV_OAK_N])
{
    const struct stv_params plain = {.wood_pool_factor_nd = 1.0};
    struct stv_oak_pools pools = stv_oak_pools_of(history, &plain, numbers);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        out_fast[k] = pools.fast_mg_m2[k] * factor_nd;
        out_slow[k] = pools.slow_mg_m2[k] * factor_nd;
    }
}

void stv__cask_now_start(const struct stv_path_input *input, struct stv__cask_now *now)
{
    now->is_full = false;
    now->stopped_d = INT64_MIN;
    now->position_idx = input->reference_idx;
    now->indrink_total_l = now->damp_water_kg = 0.0;
    now->wetted_day_d = 0;
    now->emptied_day_d = INT64_MIN;
    for (size_t p = 0; p < input->n_packets; p++) {
        memset(&now->packets[p], 0, sizeof now->packets[p]);
        pools_of(&input->model->numbers, now->cask->history, now->lanes[p].pool_factor_nd,
                 now->packets[p].fast_mg_m2, now->packets[p].slow_mg_m2);
    }
}

static void scale_liquid(struct stv__packet *packet, stv__v8 part)
{
    stv__v8 *losses = (stv__v8 *)&packet->losses;
    packet->ethanol_kg *= part;
    packet->water_kg *= part;
    stv__keep_dissolved(packet, part);
    for (size_t i = 0; i < STV__LOSSES_N; i++)
        losses[i] *= part;
}

/* Liquid leaves by hand: `part` of it. */
static void take_out(struct stv__packet *packet, stv__v8 part)
{
    packet->out_ethanol_kg += part * packet->ethanol_kg;
    packet->out_water_kg += part * packet->water_kg;
    scale_liquid(packet, 1.0 - part);
}

static void make_empty(const struct stv_path_input *input, int64_t day_d, struct stv__cask_now *now)
{
    for (size_t p = 0; p < input->n_packets; p++)
        take_out(&now->packets[p], stv__all(1.0));
    now->is_full = false;
    now->emptied_day_d = day_d;
}

/* Spirit meets wood: dry wood will drink. */
static void wet(const struct stv_cask_numbers *numbers, const struct stv_event *event,
                struct stv__cask_now *now)
{
    bool was_wet = now->emptied_day_d != INT64_MIN &&
                   (double)(event->day_d - now->emptied_day_d) <= numbers->stays_soaked_d;
    bool is_soaked = event->is_soaked || was_wet;
    now->wetted_day_d = event->day_d;
    now->indrink_total_l =
        is_soaked ? 0.0 : numbers->indrink_l_per_kg * now->cask->geometry.wood_kg;
    now->damp_water_kg =
        is_soaked ? 0.0 : numbers->damp_water_kg_per_kg * now->cask->geometry.wood_kg;
}

static enum stv_status apply_fill(const struct stv_path_input *input, size_t event_idx,
                                  struct stv__cask_now *now)
{
    const struct stv_event *event = &input->ledger->events[event_idx];
    double ethanol_kg, water_kg;
    enum stv_status status =
        stv_spirit_masses_kg(event->volume20_l, event->abv20_frac, &ethanol_kg, &water_kg);
    if (status != STV_OK)
        return status;
    for (size_t p = 0; p < input->n_packets; p++) {
        struct stv__packet *packet = &now->packets[p];
        packet->ethanol_kg = stv__all(ethanol_kg);
        packet->water_kg = stv__all(water_kg);
        packet->in_ethanol_kg += ethanol_kg;
        packet->in_water_kg += water_kg;
        packet->ester_mg = packet->fall_kg_d = packet->fall_ethanol_kg_d = stv__all(0.0);
        packet->fruit_nd = stv__all(1.0);
        for (size_t k = 0; k < STV_OAK_N; k++)
            packet->content_mg[k] = stv__all(0.0);
        memset(&packet->losses, 0, sizeof packet->losses);
    }
    now->is_full = true;
    if (event->place.warehouse_idx >= 0)
        now->position_idx = input->event_positions[event_idx];
    wet(&input->model->numbers, event, now);
    return STV_OK;
}

/* Spirit of another cask comes into this one and brings its history along. */
static void pour_in(const struct stv_path_input *input, const struct stv__packet *moved,
                    struct stv__packet *to)
{
    struct stv__amounts there, more;
    stv__v8 *sum = (stv__v8 *)&to->losses;
    const stv__v8 *add = (const stv__v8 *)&moved->losses;
    stv__packet_amounts(input->model, to, &there);
    stv__packet_amounts(input->model, moved, &more);
    stv__v8 total_l = there.volume20_l + more.volume20_l;
    stv__v8 fruit = (there.volume20_l * to->fruit_nd + more.volume20_l * moved->fruit_nd) /
                    stv__pick(total_l > 0.0, total_l, stv__all(1.0));
    to->fruit_nd = stv__pick(total_l > 0.0, fruit, to->fruit_nd);
    to->ethanol_kg += moved->ethanol_kg;
    to->water_kg += moved->water_kg;
    to->in_ethanol_kg += moved->ethanol_kg;
    to->in_water_kg += moved->water_kg;
    to->ester_mg += moved->ester_mg;
    for (size_t k = 0; k < STV_OAK_N; k++)
        to->content_mg[k] += moved->content_mg[k];
    for (size_t i = 0; i < STV__LOSSES_N; i++)
        sum[i] += add[i];
}

/* Share of each lane's liquid that some litres are; all of it where there are fewer. */
static stv__v8 part_of(const struct stv_path_input *input, const struct stv__packet *packet,
                       double volume20_l)
{
    struct stv__amounts there;
    stv__packet_amounts(input->model, packet, &there);
    stv__m8 has_more = there.volume20_l > volume20_l;
    return stv__pick(has_more, volume20_l / stv__pick(has_more, there.volume20_l, stv__all(1.0)),
                     stv__all(1.0));
}

static void apply_transfer(const struct stv_path_input *input, size_t event_idx,
                           struct stv__cask_now *from, struct stv__cask_now *to)
{
    const struct stv_event *event = &input->ledger->events[event_idx];
    bool is_whole = !isfinite(event->volume20_l);
    if (!from->is_full)
        return; /* the ledger's check names a transfer out of an empty cask */
    if (!to->is_full)
        wet(&input->model->numbers, event, to);
    for (size_t p = 0; p < input->n_packets; p++) {
        struct stv__packet moved = from->packets[p];
        stv__v8 part =
            is_whole ? stv__all(1.0) : part_of(input, &from->packets[p], event->volume20_l);
        scale_liquid(&moved, part);
        pour_in(input, &moved, &to->packets[p]);
        to->packets[p].fall_kg_d = to->packets[p].fall_ethanol_kg_d = stv__all(0.0);
        take_out(&from->packets[p], part);
    }
    to->is_full = true;
    if (event->place.warehouse_idx >= 0)
        to->position_idx = input->event_positions[event_idx];
    if (is_whole) {
        make_empty(input, event->day_d, from);
        from->position_idx = input->reference_idx;
    }
}

static void apply_sample(const struct stv_path_input *input, const struct stv_event *event,
                         struct stv__packet *packet)
{
    stv__v8 part = part_of(input, packet, event->volume20_l);
    struct stv__losses before = packet->losses;
    packet->gone_ethanol_kg += part * packet->ethanol_kg;
    packet->gone_water_kg += part * packet->water_kg;
    before.sample_ethanol_kg += part * packet->ethanol_kg;
    before.sample_water_kg += part * packet->water_kg;
    scale_liquid(packet, 1.0 - part);
    packet->losses = before;
}

static enum stv_status apply_top_up(const struct stv_path_input *input,
                                    const struct stv_event *event, struct stv__cask_now *now)
{
    double ethanol_kg, water_kg;
    enum stv_status status =
        stv_spirit_masses_kg(event->volume20_l, event->abv20_frac, &ethanol_kg, &water_kg);
    for (size_t p = 0; status == STV_OK && p < input->n_packets; p++) {
        now->packets[p].ethanol_kg += ethanol_kg;
        now->packets[p].water_kg += water_kg;
        now->packets[p].in_ethanol_kg += ethanol_kg;
        now->packets[p].in_water_kg += water_kg;
    }
    now->is_full = status == STV_OK; /* litres written down may have drained it before */
    return status;
}

static void apply_rejuvenation(const struct stv_path_input *input, struct stv__cask_now *now)
{
    for (size_t p = 0; p < input->n_packets; p++) {
        struct stv__packet *packet = &now->packets[p];
        stv__v8 fast[STV_OAK_N], slow[STV_OAK_N];
        pools_of(&input->model->numbers, STV_WOOD_NEW, now->lanes[p].pool_factor_nd, fast, slow);
        for (size_t k = 0; k < STV_OAK_N; k++) {
            packet->fast_mg_m2[k] +=
                input->model->numbers.rejuvenation_frac * (fast[k] - packet->fast_mg_m2[k]);
            packet->slow_mg_m2[k] +=
                input->model->numbers.rejuvenation_frac * (slow[k] - packet->slow_mg_m2[k]);
        }
    }
}

static void add_water(const struct stv_path_input *input, double water_kg,
                      struct stv__cask_now *now)
{
    for (size_t p = 0; p < input->n_packets; p++) {
        now->packets[p].water_kg += water_kg;
        now->packets[p].in_water_kg += water_kg;
    }
}

enum stv_status stv__event_apply(const struct stv_path_input *input, size_t event_idx,
                                 struct stv__cask_now *now, struct stv__cask_now *other)
{
    const struct stv_event *event = &input->ledger->events[event_idx];
    switch (event->kind) {
    case STV_EVENT_FILL:
        return apply_fill(input, event_idx, now);
    case STV_EVENT_MOVE:
        now->position_idx = input->event_positions[event_idx];
        break;
    case STV_EVENT_TRANSFER:
        apply_transfer(input, event_idx, now, other);
        break;
    case STV_EVENT_ADD_WATER:
        add_water(input, event->water_kg, now);
        break;
    case STV_EVENT_TOP_UP:
        return apply_top_up(input, event, now);
    case STV_EVENT_SAMPLE:
        for (size_t p = 0; p < input->n_packets; p++)
            apply_sample(input, event, &now->packets[p]);
        break;
    case STV_EVENT_REJUVENATE:
        apply_rejuvenation(input, now);
        break;
    case STV_EVENT_EMPTY:
        make_empty(input, event->day_d, now);
        now->position_idx = input->reference_idx; /* the ledger gives its place up too */
        break;
    case STV_EVENT_LEAK_STOPPED:
        now->stopped_d = event->day_d;
        break;
    case STV_EVENT_N:
        break;
    }
    return STV_OK;
}
