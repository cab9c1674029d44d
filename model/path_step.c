/* One step: indrink, then in each piece masses by Kutta's rule of third order, or by the midpoint's
 * where little goes, and wood and esters by the piece's middle (path_wood.h). */
#include "model/path_step.h"

#include "model/path_wood.h"
#include "model/units.h"

#define MOST_LOSS_FRAC 0.015 /* of the liquid in a piece of a step, */
#define MOST_PIECES 256
#define SHORT_LOSS_FRAC 0.005 /* up to which its middle tells it all */
#define SPENT_KG 1e-6         /* below a litre: nobody goes on for less */
/* A day takes more of the last litres, or of their ethanol where damp air gives as much water:
 * they follow every wave of the weather.  91 % a year. */
#define LAST_FALL_PER_D 0.0025

/* stv__tau_place_nd, eight at a time, and how far an hour more moves it. */
STV__INLINE void put_tau_places(struct stv__step_needs *out)
{
    stv__v8 root = stv__root(stv__root(stv__root(out->tau_h)));
    stv__v8 place = (root - STV__TAU_FIRST_ROOT) / STV__TAU_ROOT_STEP;
    out->tau_place_nd = stv__least(stv__all(STV__TAU_NODES - 3.0),
                                   stv__most(stv__all(STV__TAU_LEAST_PLACE), place));
    out->places_per_h = root / (8.0 * STV__TAU_ROOT_STEP * out->tau_h);
}

STV__WIDE void stv__packet_needs(const struct stv__path_model *model,
                                 const struct stv__lane_cask *cask,
                                 const struct stv__packet *packet, double step_d,
                                 struct stv__step_needs *out)
{
    stv__m8 is_alive = packet->ethanol_kg + packet->water_kg > 0.0;
    stv__v8 ethanol_kg = stv__alive_kg(is_alive, packet->ethanol_kg);
    stv__v8 water_kg = stv__alive_kg(is_alive, packet->water_kg);
    stv__v8 total_kg = ethanol_kg + water_kg;
    stv__v8 root = stv__root(stv__held_frac(stv__mole_frac_of(ethanol_kg, water_kg)));
    /* At the middle of the step, as the last one fell. */
    stv__v8 middle_kg = stv__most(0.5 * total_kg, total_kg - 0.5 * step_d * packet->fall_kg_d);
    stv__v8 middle_ethanol_kg =
        stv__most(0.5 * ethanol_kg, ethanol_kg - 0.5 * step_d * packet->fall_ethanol_kg_d);
    stv__v8 slope, ethanol_frac = middle_ethanol_kg / middle_kg;
    stv__v8 heat = stv__curve_and_slope(model->heat_j_kgk, STV__HEAT_CELLS, ethanol_frac, &slope);
    out->tau_h = (middle_kg * heat + cask->wood_j_k) * cask->per_w_k_h;
    out->of_water_h_kg = (heat - ethanol_frac * slope) * cask->per_w_k_h;
    out->of_ethanol_h_kg = out->of_water_h_kg + slope * cask->per_w_k_h;
    out->falls_h_d = stv__falls_h_d(out, packet->fall_ethanol_kg_d,
                                    packet->fall_kg_d - packet->fall_ethanol_kg_d);
    put_tau_places(out);
    out->is_alive = is_alive;
    out->first_alive = STV__PACKET;
    for (size_t l = STV__PACKET; l-- > 0;) {
        out->panel[l] = stv__panel_of(root[l]);
        out->first_alive = is_alive[l] ? l : out->first_alive;
    }
}

stv__m8 stv__packet_last(const struct stv__packet *packet)
{
    stv__v8 total_kg = packet->ethanol_kg + packet->water_kg;
    return (total_kg > 0.0) & ((packet->fall_kg_d > LAST_FALL_PER_D * total_kg) |
                               (packet->fall_ethanol_kg_d > LAST_FALL_PER_D * packet->ethanol_kg));
}

STV__INLINE void book(struct stv__packet *packet, const struct stv__rates *rates, stv__v8 piece_d)
{
    struct stv__losses *losses = &packet->losses;
    stv__v8 ethanol_kg = stv__ethanol_kg_d(rates) * piece_d,
            water_kg = stv__water_kg_d(rates) * piece_d;
    losses->air_ethanol_kg += rates->air_ethanol * piece_d;
    losses->air_water_kg += rates->air_water * piece_d;
    losses->joint_ethanol_kg += rates->joint_ethanol * piece_d;
    losses->joint_water_kg += rates->joint_water * piece_d;
    losses->leak_ethanol_kg += rates->leak_ethanol * piece_d;
    losses->leak_water_kg += rates->leak_water * piece_d;
    packet->gone_ethanol_kg += ethanol_kg;
    packet->gone_water_kg += water_kg;
    packet->ethanol_kg -= ethanol_kg;
    packet->water_kg -= water_kg;
}

/* Half of the water that damp wood gives back in the step, so much less drunk; none where all was.
 */
STV__INLINE void give_water(const struct stv__step *step, struct stv__packet *packet)
{
    stv__m8 is_alive = packet->ethanol_kg + packet->water_kg > 0.0;
    stv__v8 given_kg = stv__pick(is_alive, stv__all(0.5 * step->damp_water_kg), stv__all(0.0));
    packet->water_kg += given_kg;
    packet->losses.indrink_water_kg -= given_kg;
    packet->gone_water_kg -= given_kg;
}

/* Half of what goes into dry wood in the step, as it is in the cask. */
STV__INLINE void take_indrink(const struct stv__path_model *model, const struct stv__step *step,
                              struct stv__packet *packet)
{
    stv__v8 fraction, rho;
    stv__m8 is_alive = packet->ethanol_kg + packet->water_kg > 0.0;
    stv__v8 total_kg = stv__alive_kg(is_alive, packet->ethanol_kg + packet->water_kg);
    stv__density(model, stv__pick(is_alive, packet->ethanol_kg, stv__all(0.5)), total_kg, &fraction,
                 &rho);
    stv__v8 part = stv__least(stv__all(1.0), 0.5 * step->indrink_l * rho / (1000.0 * total_kg));
    stv__v8 ethanol_kg = part * packet->ethanol_kg, water_kg = part * packet->water_kg;
    packet->losses.indrink_ethanol_kg += ethanol_kg;
    packet->losses.indrink_water_kg += water_kg;
    packet->gone_ethanol_kg += ethanol_kg;
    packet->gone_water_kg += water_kg;
    packet->ethanol_kg -= ethanol_kg;
    packet->water_kg -= water_kg;
    stv__keep_dissolved(packet, 1.0 - part);
}

/* A leak takes what is dissolved along, half before what the wood gives and half after; air and
 * joints leave it behind. */
STV__INLINE void leak_content(const struct stv__rates *rates, stv__v8 total_kg, stv__v8 piece_d,
                              struct stv__packet *packet)
{
    stv__v8 part = 0.5 * (rates->leak_ethanol + rates->leak_water) * piece_d / total_kg;
    stv__keep_dissolved(packet, 1.0 - part + 0.5 * part * part);
}

/* The middle of a piece. */
struct middle {
    struct stv__rates rates;
    stv__v8 ethanol_kg, water_kg;
};

STV__INLINE stv__v8 mean_of(stv__v8 begin, stv__v8 middle, stv__v8 end)
{
    return (1.0 / 6.0) * (begin + 4.0 * middle + end);
}

STV__INLINE void put_mean(const struct stv__rates *begin, const struct stv__rates *end,
                          struct stv__rates *middle)
{
    middle->air_ethanol = mean_of(begin->air_ethanol, middle->air_ethanol, end->air_ethanol);
    middle->air_water = mean_of(begin->air_water, middle->air_water, end->air_water);
    middle->joint_ethanol =
        mean_of(begin->joint_ethanol, middle->joint_ethanol, end->joint_ethanol);
    middle->joint_water = mean_of(begin->joint_water, middle->joint_water, end->joint_water);
    middle->leak_ethanol = mean_of(begin->leak_ethanol, middle->leak_ethanol, end->leak_ethanol);
    middle->leak_water = mean_of(begin->leak_water, middle->leak_water, end->leak_water);
}

/* Masses half way, from the rates at the begin, in the middle and at the end. */
STV__INLINE stv__v8 half_way_kg(stv__v8 kg, stv__v8 piece_d, stv__v8 begin, stv__v8 middle,
                                stv__v8 end)
{
    return kg - piece_d * (1.0 / 24.0) * (5.0 * begin + 8.0 * middle - end);
}

/* Masses over a piece from the rates at its start; it is 0 long where nothing is left. */
STV__INLINE void lose(const struct stv__lane_cask *cask, const struct stv__felt *felt,
                      const struct stv__rates *begin, stv__v8 piece_d, bool is_short,
                      struct stv__packet *packet, struct middle *out)
{
    stv__m8 is_alive = piece_d > 0.0;
    stv__v8 ethanol_kg = stv__alive_kg(is_alive, packet->ethanol_kg);
    stv__v8 water_kg = stv__alive_kg(is_alive, packet->water_kg);
    stv__v8 ethanol_kg_d = stv__ethanol_kg_d(begin), water_kg_d = stv__water_kg_d(begin);
    out->ethanol_kg = ethanol_kg - 0.5 * piece_d * ethanol_kg_d;
    out->water_kg = water_kg - 0.5 * piece_d * water_kg_d;
    packet->held_nd =
        stv__most(packet->held_nd, stv__pick(is_alive, begin->is_held_nd, stv__all(0.0)));
    out->rates = stv__rates_at(cask, felt, out->ethanol_kg, out->water_kg);
    struct stv__rates mean = out->rates;
    stv__v8 middle_ethanol_kg_d = stv__ethanol_kg_d(&mean),
            middle_water_kg_d = stv__water_kg_d(&mean);
    if (!is_short) {
        struct stv__rates end = stv__rates_at(
            cask, felt, ethanol_kg - piece_d * (2.0 * middle_ethanol_kg_d - ethanol_kg_d),
            water_kg - piece_d * (2.0 * middle_water_kg_d - water_kg_d));
        put_mean(begin, &end, &mean);
        out->ethanol_kg = half_way_kg(ethanol_kg, piece_d, ethanol_kg_d, middle_ethanol_kg_d,
                                      stv__ethanol_kg_d(&end));
        out->water_kg =
            half_way_kg(water_kg, piece_d, water_kg_d, middle_water_kg_d, stv__water_kg_d(&end));
    }
    book(packet, &mean, piece_d);
    packet->fall_ethanol_kg_d = stv__pick(is_alive, middle_ethanol_kg_d, stv__all(0.0));
    packet->fall_kg_d = stv__pick(is_alive, middle_ethanol_kg_d + middle_water_kg_d, stv__all(0.0));
    packet->warmer_k =
        stv__warmer_in_the_end_k(cask, &felt->lag, &out->rates); /* the last piece's */
}

/* Wood and esters over a piece. */
STV__INLINE void mature(const struct stv__path_model *model, const struct stv__lane_cask *cask,
                        const struct stv__felt *felt, const struct middle *middle, stv__v8 piece_d,
                        int wood_pieces, struct stv__packet *packet)
{
    stv__v8 total_kg = middle->ethanol_kg + middle->water_kg;
    leak_content(&middle->rates, total_kg, piece_d, packet);
    stv__advance_quality(model, cask, felt, &middle->rates, middle->ethanol_kg, middle->water_kg,
                         piece_d, wood_pieces, packet);
    leak_content(&middle->rates, total_kg, piece_d, packet);
}

/* What a lane holds beyond a litre. */
STV__INLINE stv__v8 beyond_kg(const struct stv__path_model *model, const struct stv__packet *packet)
{
    stv__v8 fraction, rho, total_kg = packet->ethanol_kg + packet->water_kg;
    stv__m8 is_full = total_kg > 0.0;
    stv__density(model, stv__alive_kg(is_full, packet->ethanol_kg),
                 stv__alive_kg(is_full, total_kg), &fraction, &rho);
    return stv__pick(is_full, total_kg - rho * (STV__LEAST_VOLUME_L / 1000.0), stv__all(-1.0));
}

/* A piece no longer than until a lane is down to a litre, at the rates of now; 0 where it is. */
STV__INLINE stv__v8 piece_of(stv__v8 beyond_kg, const struct stv__rates *rates, double piece_d)
{
    stv__v8 fall_kg_d = stv__ethanol_kg_d(rates) + stv__water_kg_d(rates);
    stv__m8 falls = fall_kg_d > 0.0;
    stv__v8 left_d = (beyond_kg + SPENT_KG) / stv__pick(falls, fall_kg_d, stv__all(1.0));
    stv__v8 longest_d = stv__pick(falls, stv__least(left_d, stv__all(piece_d)), stv__all(piece_d));
    return stv__pick(beyond_kg > 0.0, longest_d, stv__all(0.0));
}

struct pieces {
    int n;
    double piece_d;
    bool is_short;
};

STV__INLINE struct pieces pieces_of(const struct stv__rates *rates, stv__m8 is_alive,
                                    stv__v8 ethanol_kg, stv__v8 water_kg, double step_d)
{
    stv__v8 falls = stv__ethanol_kg_d(rates) / ethanol_kg;
    stv__v8 water_falls = stv__water_kg_d(rates) / water_kg;
    falls = stv__most(falls, stv__most(water_falls, -water_falls));
    double worst = stv__most_lane(stv__pick(is_alive, falls, stv__all(0.0))) * step_d;
    int n = worst < MOST_LOSS_FRAC * MOST_PIECES ? (int)(worst / MOST_LOSS_FRAC) + 1 : MOST_PIECES;
    return (struct pieces){n, step_d / n, worst < SHORT_LOSS_FRAC * n};
}

STV__WIDE void stv__packet_advance(const struct stv__path_model *model,
                                   const struct stv__lane_cask *cask, const struct stv__step *step,
                                   const struct stv__step_needs *needs, struct stv__packet *packet)
{
    struct stv__felt felt;
    if (step->indrink_l > 0.0) {
        take_indrink(model, step, packet);
        give_water(step, packet);
    }
    stv__feel(model, step, cask, needs, packet, &felt);
    stv__v8 over_kg = beyond_kg(model, packet);
    stv__m8 is_alive = over_kg > 0.0;
    stv__v8 ethanol_kg = stv__alive_kg(is_alive, packet->ethanol_kg);
    stv__v8 water_kg = stv__alive_kg(is_alive, packet->water_kg);
    struct stv__rates rates = stv__rates_at(cask, &felt, ethanol_kg, water_kg);
    const struct pieces pieces = pieces_of(&rates, is_alive, ethanol_kg, water_kg, step->step_d);
    for (int i = 0; i < pieces.n; i++) {
        struct middle middle;
        if (i > 0) {
            over_kg = stv__least(over_kg, beyond_kg(model, packet));
            is_alive = over_kg > 0.0;
            rates = stv__rates_at(cask, &felt, stv__alive_kg(is_alive, packet->ethanol_kg),
                                  stv__alive_kg(is_alive, packet->water_kg));
        }
        stv__v8 piece_d = piece_of(over_kg, &rates, pieces.piece_d);
        lose(cask, &felt, &rates, piece_d, pieces.is_short, packet, &middle);
        mature(model, cask, &felt, &middle, piece_d, step->wood_pieces, packet);
    }
    packet->row_tau_h = needs->tau_h;
    if (step->indrink_l > 0.0) {
        give_water(step, packet);
        take_indrink(model, step, packet);
    }
}
