/* Private to path_step.c: the step's climate as eight trials feel it, and what goes at some masses.
 */
#ifndef STV_MODEL_PATH_FELT_H
#define STV_MODEL_PATH_FELT_H

#include "model/path_step.h"
#include "model/units.h"

#define STV__MOST_AHEAD_FRAC 0.25 /* of a mass, that its mean in a step may be off */
#define STV__MOST_WAVE_FRAC 0.01  /* of ethanol's pressure: a wave that is more is none */
#define STV__MOST_WARMER_K 0.1    /* than the row's liquid: 1e-3 is much */

/* A polynomial's panel in each lane: where a root lies in -1..1. */
struct stv__composition {
    stv__v8 middle_nd, per_half_nd;
    stv__v8 per_ethanol_pa; /* one over ethanol's in the middle */
    stv__v8 ethanol_pa[STV__NODES8], water_pa[STV__NODES8];
    stv__v8 ethanol_wave[STV__LINE_TERMS], water_wave[STV__LINE_TERMS];
    stv__v8 esters_rise_pa_h[STV__LINE_TERMS];
    stv__v8 water_over_ethanol_nd[STV__PARABOLA_TERMS];
};

/* By what the liquid is warmer than the row's, and that in the mean of the step and at its end. */
struct stv__lag {
    const struct stv__step_needs *needs;
    stv__v8 warmer_k; /* as the step begins */
    stv__v8 half_step_d;
    stv__v8 slope_pa_k, per_slope_k_pa; /* and one over it */
    stv__v8 warm[STV__LAG_N], left[STV__LAG_N];
    /* What a kelvin adds to ethanol's pressure, over it: to its vapour's, and through the wood. */
    stv__v8 vapour_per_k, ethanol_per_k;
};

/* The step's climate as these lanes feel it. */
struct stv__felt {
    struct stv__composition composition;
    stv__v8 pressure_nd, swing_k;
    struct stv__lag lag;
    double leak_frac; /* 0 once it was stopped */
    stv__v8 factor_nd[STV__FACTORS_MOST], early_d[STV__FACTORS_MOST], ester_apart_d2;
    /* What has gone ahead of a steady loss (lane_rows.h): as the hours go, as what swings at the
     * joints sees it, and as the esters do. */
    stv__v8 ahead_d, ahead_pa_d, joints_ahead_d, joints_ahead_pa_d, esters_ahead_d;
};

STV__INLINE stv__v8 stv__alive_kg(stv__m8 is_alive, stv__v8 kg)
{
    return stv__pick(is_alive, kg, stv__all(1.0));
}

/* One over a mass; 0 of none, as the ethanol of water alone. */
STV__INLINE stv__v8 stv__per_kg(stv__v8 kg)
{
    stv__m8 is_any = kg > 0.0;
    return stv__pick(is_any, 1.0 / stv__alive_kg(is_any, kg), stv__all(0.0));
}

STV__INLINE stv__v8 stv__mole_frac_of(stv__v8 ethanol_kg, stv__v8 water_kg)
{
    return ethanol_kg / (ethanol_kg + water_kg * (STV_ETHANOL_KG_MOL / STV_WATER_KG_MOL));
}

/* The nearest mole fraction that the tables know. */
STV__INLINE stv__v8 stv__held_frac(stv__v8 mole_frac)
{
    return stv__least(stv__all(STV_TABLE_MOST_MOLE_FRAC),
                      stv__most(stv__all(STV_TABLE_LEAST_MOLE_FRAC), mole_frac));
}

/* Columns of one lane, blended over the window's nodes. */
STV__INLINE void stv__blend_lane(const struct stv__step *step,
                                 const stv__v8f weights[STV__TAU_WINDOW], size_t lane,
                                 size_t n_padded, stv__v8f *out)
{
    const float *const *rows = step->rows[lane];
    for (size_t c = 0; c < n_padded; c += 8) {
        stv__v8f sum = weights[0][lane] * stv__load_f(rows[0] + c);
        for (size_t w = 1; w < STV__TAU_WINDOW; w++)
            sum += weights[w][lane] * stv__load_f(rows[w] + c);
        out[c / 8] = sum;
    }
}

/* All columns, blended lane by lane, then turned so that a vector holds one column of every lane.
 */
STV__INLINE void stv__blend(const struct stv__step *step, const stv__v8f weights[STV__TAU_WINDOW],
                            size_t n_padded, stv__v8f *out)
{
    stv__v8f lanes[STV__PACKET][STV__ROW_MOST / 8];
    for (size_t l = 0; l < STV__PACKET; l++)
        stv__blend_lane(step, weights, l, n_padded, lanes[l]);
    for (size_t g = 0; 8 * g < n_padded; g++) {
        const stv__v8f group[STV__PACKET] = {lanes[0][g], lanes[1][g], lanes[2][g], lanes[3][g],
                                             lanes[4][g], lanes[5][g], lanes[6][g], lanes[7][g]};
        stv__turn(group, out + 8 * g);
    }
}

STV__INLINE stv__v8 stv__blend_one(const struct stv__step *step,
                                   const stv__v8f weights[STV__TAU_WINDOW], size_t column)
{
    stv__v8f sum = {0};
    for (size_t w = 0; w < STV__TAU_WINDOW; w++)
        sum += weights[w] * (stv__v8f){step->rows[0][w][column], step->rows[1][w][column],
                                       step->rows[2][w][column], step->rows[3][w][column],
                                       step->rows[4][w][column], step->rows[5][w][column],
                                       step->rows[6][w][column], step->rows[7][w][column]};
    return __builtin_convertvector(sum, stv__v8);
}

STV__INLINE void stv__widen(const stv__v8f *columns, size_t n, stv__v8 *out)
{
    for (size_t k = 0; k < n; k++)
        out[k] = __builtin_convertvector(columns[k], stv__v8);
}

/* What an hour more would change of where the row's liquid begins, by the slopes of the window's
 * cubic. */
STV__INLINE stv__v8 stv__start_k_h(const struct stv__step *step, stv__v8 t, stv__v8 places_per_h)
{
    stv__v8 a = t * (t - 1.0), b = t * (t - 2.0), c = t * (t - 3.0);
    stv__v8 d = (t - 1.0) * (t - 2.0), e = (t - 1.0) * (t - 3.0), f = (t - 2.0) * (t - 3.0);
    const stv__v8 slopes[STV__TAU_WINDOW] = {-(d + e + f) / 6.0, 0.5 * (f + c + b),
                                             -0.5 * (e + c + a), (d + b + a) / 6.0};
    stv__v8f weights[STV__TAU_WINDOW];
    for (size_t w = 0; w < STV__TAU_WINDOW; w++)
        weights[w] = __builtin_convertvector(places_per_h * slopes[w], stv__v8f);
    return stv__blend_one(step, weights, STV__COL_START_C);
}

/* The row's liquid begins elsewhere than the last row's ended, by the change of its time constant
 * alone. */
STV__INLINE void stv__feel_lag(const struct stv__step *step, const struct stv__step_needs *needs,
                               stv__v8 t, const struct stv__packet *packet, struct stv__lag *out)
{
    out->needs = needs;
    out->half_step_d = stv__all(0.5 * step->step_d);
    stv__v8 own_h = needs->tau_h + out->half_step_d * needs->falls_h_d;
    stv__v8 last_h = stv__pick(packet->row_tau_h > 0.0, packet->row_tau_h, own_h);
    stv__v8 more_h = needs->tau_h - last_h;
    stv__v8 between = t - 0.5 * more_h * needs->places_per_h;
    out->warmer_k = packet->warmer_k - more_h * stv__start_k_h(step, between, needs->places_per_h);
}

STV__INLINE void stv__feel_factors(const struct stv__factor_columns *columns, const stv__v8f *felt,
                                   struct stv__felt *out)
{
    size_t n = columns->n_factors;
    stv__widen(felt, n, out->factor_nd);
    stv__widen(felt + n, n, out->early_d);
    stv__widen(felt + 2 * n, 1, &out->ester_apart_d2);
    for (size_t f = 0; f < n; f++)
        out->early_d[f] *= 1.0 / STV_DAY_H;
    out->ester_apart_d2 *= 1.0 / (STV_DAY_H * STV_DAY_H);
}

STV__INLINE void stv__feel_ahead(const stv__v8f *columns, struct stv__felt *out)
{
    enum { N = STV__COL_ESTERS_AHEAD_H - STV__COL_AHEAD };
    stv__v8 ahead[N + 1], *joints = ahead + STV__COL_JOINTS_AHEAD - STV__COL_AHEAD;
    stv__widen(columns + STV__COL_AHEAD, N + 1, ahead);
    out->ahead_d = (1.0 / STV_DAY_H) * ahead[STV__AHEAD_ETHANOL];
    out->ahead_pa_d = (1.0 / STV_DAY_H) * ahead[STV__AHEAD_WATER];
    out->joints_ahead_d = (1.0 / STV_DAY_H) * joints[STV__AHEAD_ETHANOL];
    out->joints_ahead_pa_d = (1.0 / STV_DAY_H) * joints[STV__AHEAD_WATER];
    out->esters_ahead_d = (1.0 / STV_DAY_H) * ahead[N];
}

/* At the temperature that the row's liquid begins with. */
STV__INLINE void stv__feel_slopes(const struct stv__lane_cask *cask, stv__v8 heat_j_mol,
                                  const stv__v8f *start_c, struct stv__lag *out)
{
    stv__v8 kelvin = __builtin_convertvector(*start_c, stv__v8) + STV_ZERO_C_IN_K;
    stv__v8 per_energy = 1.0 / (STV_GAS_J_MOLK * kelvin * kelvin);
    out->vapour_per_k = per_energy * heat_j_mol;
    out->ethanol_per_k =
        out->vapour_per_k + per_energy * cask->permeance_ea_j_mol + STV__WOOD_PER_K;
}

STV__INLINE void stv__feel(const struct stv__path_model *model, const struct stv__step *step,
                           const struct stv__lane_cask *cask, const struct stv__step_needs *needs,
                           const struct stv__packet *packet, struct stv__felt *out)
{
    struct stv__composition *composition = &out->composition;
    stv__v8 first, heat_j_mol;
    for (size_t l = 0; l < STV__PACKET; l++) {
        double low = stv__panel_bound_nd[needs->panel[l]];
        double high = stv__panel_bound_nd[needs->panel[l] + 1];
        composition->middle_nd[l] = 0.5 * (low + high);
        composition->per_half_nd[l] = 2.0 / (high - low);
        for (size_t k = 0; k < STV__PARABOLA_TERMS; k++)
            composition->water_over_ethanol_nd[k][l] =
                model->water_over_ethanol_nd[needs->panel[l]][k];
        heat_j_mol[l] = model->ethanol_heat_j_mol[needs->panel[l]];
        first[l] = (double)stv__first_node(needs, l);
    }
    stv__v8 t = needs->tau_place_nd - first;
    const stv__v8f weights[STV__TAU_WINDOW] = {
        __builtin_convertvector(-(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0, stv__v8f),
        __builtin_convertvector(0.5 * t * (t - 2.0) * (t - 3.0), stv__v8f),
        __builtin_convertvector(-0.5 * t * (t - 1.0) * (t - 3.0), stv__v8f),
        __builtin_convertvector(t * (t - 1.0) * (t - 2.0) / 6.0, stv__v8f)};
    stv__v8f columns[STV__ROW_MOST];
    stv__blend(step, weights, model->columns->n_padded, columns);
    out->leak_frac = step->leak_frac;
    stv__feel_lag(step, needs, t, packet, &out->lag);
    stv__widen(columns + STV__COL_SLOPE, 1, &out->lag.slope_pa_k);
    out->lag.per_slope_k_pa = 1.0 / out->lag.slope_pa_k;
    stv__widen(columns + STV__COL_WARM, STV__LAG_N, out->lag.warm);
    stv__widen(columns + STV__COL_LEFT, STV__LAG_N, out->lag.left);
    stv__feel_slopes(cask, heat_j_mol, columns + STV__COL_START_C, &out->lag);
    stv__widen(columns + STV__COL_ETHANOL, STV__NODES8, composition->ethanol_pa);
    composition->per_ethanol_pa = 1.0 / composition->ethanol_pa[0];
    stv__widen(columns + STV__COL_WATER, STV__NODES8, composition->water_pa);
    stv__widen(columns + STV__COL_ETHANOL_WAVE, STV__LINE_TERMS, composition->ethanol_wave);
    stv__widen(columns + STV__COL_WATER_WAVE, STV__LINE_TERMS, composition->water_wave);
    out->pressure_nd = __builtin_convertvector(columns[STV__COL_PRESSURE], stv__v8);
    stv__feel_ahead(columns, out);
    stv__widen(columns + STV__COL_ESTERS_RISE, STV__LINE_TERMS, composition->esters_rise_pa_h);
    out->swing_k = __builtin_convertvector(columns[STV__COL_SWING], stv__v8);
    stv__feel_factors(model->columns, columns + STV__COL_FACTORS, out);
}

struct stv__rates {
    stv__v8 air_ethanol, air_water, joint_ethanol, joint_water, leak_ethanol, leak_water; /* kg/d */
    stv__v8 is_held_nd;
    stv__v8 more_water_pa;                /* than in the panel's middle */
    stv__v8 swings_ethanol, swings_water; /* what of it swings as ethanol's pressure, kg/d */
    /* In the mean of the hours, these masses being half way of a step. */
    stv__v8 mean_ethanol_kg, mean_water_kg;
    /* And but for what goes evenly, where an hour counts by the esters' rate. */
    stv__v8 esters_ethanol_kg, esters_water_kg;
    stv__v8 evenly_per_d; /* of either, by leak and joints, */
    stv__v8 joints_per_d; /* and by joints as pure ethanol's pressure */
};

STV__INLINE stv__v8 stv__ethanol_kg_d(const struct stv__rates *rates)
{
    return rates->air_ethanol + rates->joint_ethanol + rates->leak_ethanol;
}

STV__INLINE stv__v8 stv__water_kg_d(const struct stv__rates *rates)
{
    return rates->air_water + rates->joint_water + rates->leak_water;
}

STV__INLINE stv__v8 stv__within(stv__v8 value, stv__v8 most)
{
    return stv__least(most, stv__most(-most, value));
}

/* What the wave adds to the pressures. */
struct stv__wave {
    stv__v8 ethanol_pa, water_pa;
};

STV__INLINE stv__v8 stv__polynomial(const stv__v8 terms[STV__NODES8], stv__v8 place)
{
    stv__v8 value = terms[STV__NODES8 - 1];
    for (int k = STV__NODES8 - 2; k >= 0; k--)
        value = value * place + terms[k];
    return value;
}

STV__INLINE stv__v8 stv__line(const stv__v8 terms[STV__LINE_TERMS], stv__v8 place)
{
    return terms[1] * place + terms[0];
}

STV__INLINE stv__v8 stv__parabola(const stv__v8 terms[STV__PARABOLA_TERMS], stv__v8 place)
{
    return (terms[2] * place + terms[1]) * place + terms[0];
}

/* The cask's strength has a daily wave of its own, which meets that of the pressures: 1e-5 of a
 * loss, and it adds up to a thousandth of the last litres. */
STV__INLINE struct stv__wave stv__wave_of(const struct stv__lane_cask *cask,
                                          const struct stv__composition *composition, stv__v8 root,
                                          stv__v8 place, stv__v8 ethanol_kg)
{
    struct stv__wave wave;
    stv__v8 water_kg_h_pa = cask->water_kg_d_pa * (1.0 / STV_DAY_H);
    stv__v8 place_per_pa_h = water_kg_h_pa * composition->per_half_nd * root / ethanol_kg *
                             (0.5 * STV_ETHANOL_KG_MOL / STV_WATER_KG_MOL);
    wave.ethanol_pa = place_per_pa_h * stv__line(composition->ethanol_wave, place);
    wave.water_pa = place_per_pa_h * stv__line(composition->water_wave, place);
    return wave;
}

/* What the five ways in which a time constant differs from the row's come to (lane_rows.h). */
STV__INLINE stv__v8 stv__lagging(const struct stv__lane_cask *cask, const struct stv__lag *lag,
                                 const struct stv__rates *rates, const stv__v8 lags[STV__LAG_N])
{
    const struct stv__step_needs *needs = lag->needs;
    const stv__v8 *ahead = lags + STV__LAG_AHEAD;
    stv__v8 falls_h_d = stv__falls_h_d(needs, stv__ethanol_kg_d(rates), stv__water_kg_d(rates));
    stv__v8 swings_h_d = stv__falls_h_d(needs, rates->swings_ethanol, rates->swings_water);
    stv__v8 short_h = lag->half_step_d * (falls_h_d - needs->falls_h_d);
    return lag->warmer_k * lags[STV__LAG_BEGUN] + short_h * lags[STV__LAG_SHORT] +
           (1.0 / STV_DAY_H) *
               (falls_h_d * lags[STV__LAG_FALLING] + swings_h_d * ahead[STV__AHEAD_ETHANOL] +
                needs->of_water_h_kg * cask->water_kg_d_pa * ahead[STV__AHEAD_WATER]);
}

/* In the mean of the step. */
STV__INLINE stv__v8 stv__warmer_k(const struct stv__lane_cask *cask, const struct stv__lag *lag,
                                  const struct stv__rates *rates)
{
    return stv__within(stv__lagging(cask, lag, rates, lag->warm) * lag->per_slope_k_pa,
                       stv__all(STV__MOST_WARMER_K));
}

/* 1e-5 of a loss, but a loss of water that nearly balances with damp air is small itself.  What a
 * kelvin adds is known in the panel's middle.  Elsewhere it is as much more as the vapour over the
 * liquid and the wood's factor are, which ethanol's pressure tells; what is lost, the difference
 * to the room's, does not. */
STV__INLINE void stv__add_lag(const struct stv__composition *composition,
                              const struct stv__lag *lag, stv__v8 place, stv__v8 ethanol_pa,
                              stv__v8 warmer_k, struct stv__wave *wave)
{
    stv__v8 more_nd = ethanol_pa * composition->per_ethanol_pa *
                      stv__parabola(composition->water_over_ethanol_nd, place);
    wave->water_pa += warmer_k * lag->slope_pa_k * more_nd;
    wave->ethanol_pa += warmer_k * lag->ethanol_per_k * ethanol_pa;
}

STV__INLINE stv__v8 stv__warmer_in_the_end_k(const struct stv__lane_cask *cask,
                                             const struct stv__lag *lag,
                                             const struct stv__rates *rates)
{
    return stv__lagging(cask, lag, rates, lag->left);
}

/* All of it, and what of the lag the joints feel; no wave is told of a strength that is held at an
 * end of the range. */
STV__INLINE void stv__add_waves(const struct stv__lane_cask *cask, const struct stv__felt *felt,
                                stv__v8 root, stv__v8 place, stv__v8 ethanol_kg, stv__v8 water_kg,
                                stv__v8 ethanol_pa, struct stv__rates *rates)
{
    struct stv__wave wave = stv__wave_of(cask, &felt->composition, root, place, ethanol_kg);
    stv__v8 warmer_k = stv__warmer_k(cask, &felt->lag, rates);
    stv__add_lag(&felt->composition, &felt->lag, place, ethanol_pa, warmer_k, &wave);
    stv__v8 is_known = 1.0 - rates->is_held_nd,
            most_pa = is_known * STV__MOST_WAVE_FRAC * ethanol_pa;
    rates->air_ethanol += cask->ethanol_kg_d_pa * stv__within(wave.ethanol_pa, most_pa);
    rates->air_water += cask->water_kg_d_pa * stv__within(wave.water_pa, most_pa);
    stv__v8 more_per_d = rates->joints_per_d * felt->lag.vapour_per_k * warmer_k;
    rates->joint_ethanol += more_per_d * ethanol_kg;
    rates->joint_water += more_per_d * water_kg;
}

/* No more than a part of a mass is ahead. */
STV__INLINE stv__v8 stv__less_kg(stv__v8 kg, stv__v8 ahead_kg)
{
    return kg - stv__within(ahead_kg, STV__MOST_AHEAD_FRAC * kg);
}

STV__INLINE void stv__put_means(const struct stv__lane_cask *cask, const struct stv__felt *felt,
                                stv__v8 ethanol_kg, stv__v8 water_kg, struct stv__rates *rates)
{
    rates->mean_ethanol_kg = stv__less_kg(ethanol_kg, rates->swings_ethanol * felt->ahead_d);
    rates->mean_water_kg = stv__less_kg(water_kg, rates->swings_water * felt->ahead_d +
                                                      cask->water_kg_d_pa * felt->ahead_pa_d);
}

/* As the esters see them; the rise is told as if all of it were water's. */
STV__INLINE void stv__put_esters_means(const struct stv__lane_cask *cask,
                                       const struct stv__felt *felt, stv__v8 root, stv__v8 place,
                                       stv__v8 ethanol_kg, stv__v8 water_kg,
                                       struct stv__rates *rates)
{
    stv__v8 rise_pa_h = stv__line(felt->composition.esters_rise_pa_h, place);
    stv__v8 less_kg = (1.0 - rates->is_held_nd) * cask->water_kg_d_pa * (1.0 / STV_DAY_H) *
                      rise_pa_h / (root * root);
    rates->esters_ethanol_kg =
        stv__less_kg(ethanol_kg, rates->swings_ethanol * felt->esters_ahead_d);
    stv__v8 gone_frac = (ethanol_kg - rates->esters_ethanol_kg) * stv__per_kg(ethanol_kg);
    rates->esters_water_kg = stv__less_kg(water_kg, less_kg) * (1.0 - gone_frac);
}

/* What goes as it is in the cask: by pure ethanol's pressure, it meets the half but for what the
 * air takes in other hours; evenly, it meets the mean of the hours. */
STV__INLINE void stv__seep(const struct stv__lane_cask *cask, const struct stv__felt *felt,
                           stv__v8 ethanol_kg, stv__v8 water_kg, struct stv__rates *rates)
{
    stv__v8 leak_per_d = felt->leak_frac * cask->leak_per_d;
    stv__v8 evenly_per_d = cask->joints_per_d * (1.0 - cask->temp_share_frac);
    stv__v8 swings_per_d = cask->joints_per_d * cask->temp_share_frac * felt->pressure_nd;
    rates->evenly_per_d = evenly_per_d + leak_per_d;
    rates->joints_per_d = swings_per_d;
    rates->swings_ethanol = rates->air_ethanol + swings_per_d * ethanol_kg;
    rates->swings_water = cask->water_kg_d_pa * rates->more_water_pa + swings_per_d * water_kg;
    stv__put_means(cask, felt, ethanol_kg, water_kg, rates);
    stv__v8 ahead_pa_d = felt->joints_ahead_pa_d + rates->more_water_pa * felt->joints_ahead_d;
    rates->joint_ethanol =
        evenly_per_d * rates->mean_ethanol_kg +
        swings_per_d * stv__less_kg(ethanol_kg, rates->air_ethanol * felt->joints_ahead_d);
    rates->joint_water = evenly_per_d * rates->mean_water_kg +
                         swings_per_d * stv__less_kg(water_kg, cask->water_kg_d_pa * ahead_pa_d);
    rates->leak_ethanol = leak_per_d * rates->mean_ethanol_kg;
    rates->leak_water = leak_per_d * rates->mean_water_kg;
}

/* Beyond the tables' strengths (the last litres of a leaking cask) the fluxes are those at the end
 * of the range, that of the species that runs out in proportion to what is left of it. */
STV__INLINE struct stv__rates stv__rates_at(const struct stv__lane_cask *cask,
                                            const struct stv__felt *felt, stv__v8 ethanol_kg,
                                            stv__v8 water_kg)
{
    const struct stv__composition *composition = &felt->composition;
    struct stv__rates rates;
    stv__v8 own = stv__mole_frac_of(ethanol_kg, water_kg), held = stv__held_frac(own);
    stv__v8 root = stv__root(held);
    stv__v8 place = (root - composition->middle_nd) * composition->per_half_nd;
    stv__v8 ethanol_pa = stv__polynomial(composition->ethanol_pa, place);
    rates.air_ethanol = cask->ethanol_kg_d_pa * ethanol_pa;
    stv__v8 water_pa = stv__polynomial(composition->water_pa, place);
    rates.air_water = cask->water_kg_d_pa * water_pa;
    rates.more_water_pa = water_pa - composition->water_pa[0];
    stv__seep(cask, felt, ethanol_kg, water_kg, &rates);
    rates.is_held_nd = stv__pick(own != held, stv__all(1.0), stv__all(0.0));
    stv__put_esters_means(cask, felt, root, place, ethanol_kg, water_kg, &rates);
    stv__add_waves(cask, felt, root, place, ethanol_kg, water_kg, ethanol_pa, &rates);
    rates.air_ethanol *= stv__pick(own < held, own / held, stv__all(1.0));
    rates.air_water *= stv__pick(own > held, (1.0 - own) / (1.0 - held), stv__all(1.0));
    return rates;
}

#endif
