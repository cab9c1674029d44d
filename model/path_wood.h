/* Private to path_step.c: wood and esters over a piece of a step, at its middle's volume and
 * strength.
 *
 * Oak, for each kind, with u = Wf - b M, b = delta Kp / V and M the mass in the liquid:
 *     dWf/dt = -k u,   dM/dt = wall k u + S - kd M,   k = w kf fa,   S the slow pool's gift
 * is linear, so the step is y + phi(A dt) dt (A y + s) with phi(z) = (e^z - 1)/z as a series of
 * matrix products: wood and liquid together keep their mass to rounding, whatever the terms. */
#ifndef STV_MODEL_PATH_WOOD_H
#define STV_MODEL_PATH_WOOD_H

#include "model/esters.h"
#include "model/path_amounts.h"
#include "model/path_felt.h"
#include "model/spirit.h"

#define STV__PER_J_MOL_K 1.35e-6 /* of a factor, with a kelvin more at 25 C: 1/(R T^2) */
#define STV__LEAST_EA_J_MOL 1e4  /* of the esters, to tell from them what other energies see */

/* Terms of the series that leave 1e-7 of a step's move at a norm. */
STV__INLINE int stv__terms_of(double norm_nd)
{
    return norm_nd < 0.05 ? 3 : norm_nd < 0.15 ? 4 : norm_nd < 0.4 ? 6 : 9;
}

/* Conditions of a step for the wood. */
struct stv__wood {
    stv__v8 wetted_frac, wetted_slope_nd; /* with the volume */
    stv__v8 volume_m3, push_per_m3;       /* delta Kp / V */
    stv__v8 shrinks_nd;                   /* of the volume, in a piece */
    stv__v8 falls_per_d, evenly_per_d;    /* all, and what of it does not swing */
    /* Lost beyond the half, and the response to strength: in the mean of the step, and how much
     * more where an hour counts by the esters' rate. */
    stv__v8 lost_nd, bell_nd, line_nd;
    stv__v8 esters_lost_nd, esters_bell_nd, esters_line_nd;
    stv__v8 per_ester_ea;
    stv__v8 mole_frac, mole_frac_per_d; /* of ethanol, and how fast it rises */
    stv__v8 warmer_k;                   /* than the row's liquid */
    stv__v8 piece_d, cycling_nd;
};

/* A factor in the step. */
struct stv__factor {
    stv__v8 mean_nd;   /* of the liquid as warm as it is */
    stv__v8 esters_nd; /* its energy over that of the esters, by which its hours count so far */
    stv__v8 early_d;
};

STV__INLINE struct stv__factor stv__factor_of(const struct stv__felt *felt,
                                              const struct stv__wood *wood, size_t column,
                                              stv__v8 ea_j_mol)
{
    size_t idx = column - STV__COL_FACTORS;
    return (struct stv__factor){.mean_nd = felt->factor_nd[idx] *
                                           (1.0 + STV__PER_J_MOL_K * wood->warmer_k * ea_j_mol),
                                .esters_nd = ea_j_mol * wood->per_ester_ea,
                                .early_d = felt->early_d[idx]};
}

/* What of the liquid is lost beyond the middle's where an hour counts by a factor. */
STV__INLINE stv__v8 stv__lost_nd(const struct stv__wood *wood, const struct stv__factor *factor)
{
    return wood->lost_nd + factor->esters_nd * wood->esters_lost_nd -
           wood->evenly_per_d * factor->early_d;
}

/* Response to the strength where an hour counts by a factor. */
STV__INLINE stv__v8 stv__response_of(const struct stv__wood *wood, size_t kind,
                                     const struct stv__factor *factor)
{
    return kind == STV_OAK_TANNINS || kind == STV_OAK_SUGARS
               ? wood->line_nd + factor->esters_nd * wood->esters_line_nd
               : wood->bell_nd + factor->esters_nd * wood->esters_bell_nd;
}

struct stv__kind_rates {
    stv__v8 fast_per_d, slow_per_d, decay_per_d; /* of the whole wall */
    /* Before the middle of the fast pool's exchange lies that of what decays and of the slow's. */
    stv__v8 decay_early_d, slow_early_d;
    stv__v8 push_per_m3;
};

STV__INLINE struct stv__kind_rates stv__kind_rates(const struct stv__path_model *model,
                                                   const struct stv__lane_cask *cask,
                                                   const struct stv__felt *felt,
                                                   const struct stv__wood *wood, size_t k)
{
    const struct stv_oak_constants *oak = &model->oak[k];
    const struct stv__factor_columns *columns = model->columns;
    struct stv__factor fast = stv__factor_of(felt, wood, columns->fast[k],
                                             oak->fast_ea_j_mol + cask->extraction_more_j_mol);
    struct stv__factor slow = stv__factor_of(felt, wood, columns->slow[k],
                                             oak->slow_ea_j_mol + cask->extraction_more_j_mol);
    stv__v8 fast_lost_nd = stv__lost_nd(wood, &fast), slow_lost_nd = stv__lost_nd(wood, &slow);
    struct stv__kind_rates rates;
    rates.fast_per_d = oak->fast_rate_per_d * fast.mean_nd * stv__response_of(wood, k, &fast) *
                       wood->cycling_nd *
                       (wood->wetted_frac - wood->wetted_slope_nd * fast_lost_nd);
    rates.slow_per_d = oak->slow_rate_per_y / STV_YEAR_D * slow.mean_nd *
                       stv__response_of(wood, k, &slow) *
                       (wood->wetted_frac - wood->wetted_slope_nd * slow_lost_nd);
    rates.slow_early_d = slow.early_d - fast.early_d;
    rates.decay_per_d = rates.decay_early_d = stv__all(0.0);
    if (columns->decay[k] != SIZE_MAX) {
        struct stv__factor decay =
            stv__factor_of(felt, wood, columns->decay[k], stv__all(oak->decay_ea_j_mol));
        rates.decay_per_d = oak->decay_per_y / STV_YEAR_D * decay.mean_nd;
        rates.decay_early_d = decay.early_d - fast.early_d;
    }
    rates.push_per_m3 = wood->push_per_m3 * (1.0 + fast_lost_nd);
    return rates;
}

/* The liquid shrinks in a piece, so it pushes back harder at the end, which the wood remembers
 * best: the integral of the push's growth about the middle, weighed by what is left of it at the
 * end. */
STV__INLINE stv__v8 stv__later_nd(const struct stv__wood *wood, stv__v8 rate)
{
    return wood->shrinks_nd * rate * (1.0 / 12.0 + rate * (rate * (1.0 / 80.0) - 1.0 / 24.0));
}

STV__INLINE void stv__extract(const struct stv__lane_cask *cask, const struct stv__wood *wood,
                              const struct stv__kind_rates *rates, stv__v8 grown_nd, size_t k,
                              struct stv__packet *packet)
{
    /* Source: reciprocals; a division takes as long as six products. */
    static const double one_over[11] = {1.0,       1.0,       1.0 / 2.0, 1.0 / 3.0,
                                        1.0 / 4.0, 1.0 / 5.0, 1.0 / 6.0, 1.0 / 7.0,
                                        1.0 / 8.0, 1.0 / 9.0, 1.0 / 10.0};
    stv__v8 piece_d = wood->piece_d, push_per_m3 = rates->push_per_m3 * grown_nd;
    stv__v8 fast = rates->fast_per_d * piece_d, decay = rates->decay_per_d * piece_d;
    stv__v8 slow = rates->slow_per_d * piece_d;
    stv__v8 given = packet->slow_mg_m2[k] *
                    (slow * (1.0 + slow * (-0.5 + slow * (1.0 / 6.0 - slow * (1.0 / 24.0)))));
    stv__v8 gift = cask->wall_m2 * given, push = push_per_m3 * packet->content_mg[k];
    stv__v8 u = fast * (packet->fast_mg_m2[k] - push);
    stv__v8 lag = fast * rates->decay_per_d * rates->decay_early_d;
    stv__v8 slow_lag = rates->decay_per_d * (rates->decay_early_d - rates->slow_early_d);
    stv__v8 of_wood = -u - lag * push;
    stv__v8 of_liquid = cask->wall_m2 * (u + lag * packet->fast_mg_m2[k]) +
                        gift * (1.0 + slow_lag) - decay * packet->content_mg[k];
    stv__v8 rate = fast * (1.0 + push_per_m3 * cask->wall_m2) + decay;
    stv__v8 pushed = fast * push * stv__later_nd(wood, rate) +
                     rates->fast_per_d * push_per_m3 * gift * rates->slow_early_d;
    of_wood += pushed;
    of_liquid -= cask->wall_m2 * pushed;
    stv__v8 in_wood = of_wood, in_liquid = of_liquid;
    double norm = stv__most_lane(rate);
    for (int term = stv__terms_of(norm); term > 0; term--) {
        double share = one_over[term + 1];
        stv__v8 moved = share * fast * (in_wood - push_per_m3 * in_liquid);
        in_liquid = of_liquid + cask->wall_m2 * moved - share * decay * in_liquid;
        in_wood = of_wood - moved;
    }
    packet->slow_mg_m2[k] -= given;
    packet->fast_mg_m2[k] += in_wood;
    packet->content_mg[k] += in_liquid;
}

/* (1 - e^-z)/z. */
STV__INLINE stv__v8 stv__mean_decay(stv__v8 z, stv__v8 left)
{
    stv__m8 is_small = z < 1e-3;
    return stv__pick(is_small, 1.0 - z * (0.5 - z * (1.0 / 6.0)),
                     (1.0 - left) / stv__pick(is_small, stv__all(1.0), z));
}

/* Half a piece of acid + ethanol <-> ester + water: dE/dt = k r A - k E = K (S - E), with
 * K = k (1 + r) and S = share T, share = r/(1 + r), T = A + E.  With acid coming in evenly by
 * oxidation and the strength moving evenly S goes in a line, and E = S - S'/K + (...) e^-Kt. */
struct stv__ester_half {
    stv__v8 share, share_more; /* half way of the step, and what a half adds */
    stv__v8 left, late;        /* of what is off balance, of the move of S */
    stv__v8 acid_mmol;         /* by oxidation */
    stv__v8 fruit_left;
    stv__v8 made_per_d;             /* of the acids */
    stv__v8 made_lag_d, acid_lag_d; /* middle of the wood's exchange after that of either */
};

STV__INLINE struct stv__ester_half stv__ester_half(const struct stv__path_model *model,
                                                   const struct stv__lane_cask *cask,
                                                   const struct stv__felt *felt,
                                                   const struct stv__wood *wood)
{
    const struct stv__factor_columns *columns = model->columns;
    struct stv__ester_half half;
    stv__v8 half_d = 0.5 * wood->piece_d;
    struct stv__factor esters = stv__factor_of(felt, wood, columns->ester, cask->ester_ea_j_mol);
    struct stv__factor oxidation =
        stv__factor_of(felt, wood, columns->oxidation, stv__all(model->numbers.oxidation_ea_j_mol));
    stv__v8 hydrolysis = cask->ester_per_d * half_d * esters.mean_nd;
    stv__v8 water = 1.0 - wood->mole_frac;
    stv__v8 made = model->numbers.ester_equilibrium_nd * wood->mole_frac, both = water + made;
    stv__v8 z = hydrolysis * both / water;
    half.share = made / both;
    half.left = stv__exp(-z);
    half.late = stv__mean_decay(z, half.left);
    half.share_more =
        half_d * wood->mole_frac_per_d * model->numbers.ester_equilibrium_nd / (both * both);
    half.acid_mmol = cask->oxidation_mg_ld * oxidation.mean_nd * half_d * wood->volume_m3 *
                     (1.0 - stv__lost_nd(wood, &oxidation)) * (1000.0 / STV_ACETIC_G_MOL);
    /* Nothing is made in a piece that is 0 long. */
    half.made_per_d =
        half.share * (1.0 - half.left) / stv__pick(half_d > 0.0, half_d, stv__all(1.0));
    stv__v8 acids_early_d = felt->early_d[columns->fast[STV_OAK_ACIDS] - STV__COL_FACTORS];
    half.made_lag_d = esters.early_d - acids_early_d;
    half.acid_lag_d = oxidation.early_d - acids_early_d;
    half.fruit_left = stv__exp(-hydrolysis);
    return half;
}

/* The half begins so many halves after the middle of the step. */
STV__INLINE void stv__make_esters(const struct stv__ester_half *half, double halves_nd,
                                  struct stv__packet *packet)
{
    const double per_ester = 1.0 / STV_ETHYL_ACETATE_G_MOL, per_acid = 1.0 / STV_ACETIC_G_MOL;
    stv__v8 ester_mmol = packet->ester_mg * per_ester;
    stv__v8 before_mmol = packet->content_mg[STV_OAK_ACIDS] * per_acid + ester_mmol;
    stv__v8 after_mmol = before_mmol + half->acid_mmol;
    stv__v8 share = half->share + halves_nd * half->share_more;
    stv__v8 from_mmol = share * before_mmol, to_mmol = (share + half->share_more) * after_mmol;
    ester_mmol =
        to_mmol + (ester_mmol - from_mmol) * half->left - half->late * (to_mmol - from_mmol);
    packet->ester_mg = ester_mmol * STV_ETHYL_ACETATE_G_MOL;
    packet->content_mg[STV_OAK_ACIDS] = (after_mmol - ester_mmol) * STV_ACETIC_G_MOL;
    packet->fruit_nd *= half->fruit_left;
}

/* What comes and goes in the liquid between halves, the wood feels no sooner than it is there. */
STV__INLINE void stv__push_back(const struct stv__lane_cask *cask,
                                const struct stv__ester_half *half, stv__v8 pushes_per_d_m3,
                                stv__v8 made_mg, struct stv__packet *packet)
{
    stv__v8 acid_mg = 2.0 * half->acid_mmol * STV_ACETIC_G_MOL;
    stv__v8 pushed = pushes_per_d_m3 * (acid_mg * half->acid_lag_d - made_mg * half->made_lag_d);
    stv__v8 most = packet->content_mg[STV_OAK_ACIDS] / cask->wall_m2;
    pushed = stv__least(most, stv__most(-packet->fast_mg_m2[STV_OAK_ACIDS], pushed));
    packet->fast_mg_m2[STV_OAK_ACIDS] += pushed;
    packet->content_mg[STV_OAK_ACIDS] -= cask->wall_m2 * pushed;
}

/* Told as acids. */
STV__INLINE void stv__unmake_esters(stv__v8 unmade_mg, struct stv__packet *packet)
{
    const double per_acid = STV_ETHYL_ACETATE_G_MOL / STV_ACETIC_G_MOL;
    unmade_mg = stv__least(packet->ester_mg * (1.0 / per_acid), unmade_mg);
    unmade_mg = stv__most(-packet->content_mg[STV_OAK_ACIDS], unmade_mg);
    packet->content_mg[STV_OAK_ACIDS] += unmade_mg;
    packet->ester_mg -= unmade_mg * per_acid;
}

/* Of what the wood and oxidation give, esters find the less the sooner they are made. */
STV__INLINE stv__v8 stv__unmade_mg(const struct stv__ester_half *half, stv__v8 given_mg)
{
    stv__v8 oxidised_mg = 2.0 * half->acid_mmol * STV_ACETIC_G_MOL;
    return half->made_per_d *
           (half->made_lag_d * given_mg + (half->made_lag_d - half->acid_lag_d) * oxidised_mg);
}

/* What the wood gave in the first and the last of a step's parts: the acids rise in a curve, and
 * the esters that are made far from the middle find less than on a line. */
struct stv__curve {
    stv__v8 first_mg, last_mg;
    double n_parts;
};

STV__INLINE void stv__unmake_by_curve(const struct stv__ester_half *half,
                                      const struct stv__curve *curve, const struct stv__felt *felt,
                                      stv__v8 part_d, struct stv__packet *packet)
{
    if (curve->n_parts < 2.0)
        return;
    /* made_per_d is 0 in a part that is 0 long. */
    stv__v8 own_d = stv__pick(part_d > 0.0, part_d, stv__all(1.0));
    stv__v8 bend_mg_d2 =
        (curve->first_mg - curve->last_mg) / (own_d * own_d * (curve->n_parts - 1.0));
    stv__v8 made = half->made_per_d * own_d * curve->n_parts;
    stv__unmake_esters(0.5 * made * bend_mg_d2 * felt->ester_apart_d2, packet);
}

/* Volume, loss and responses in the mean of a step and as the esters see them. */
STV__INLINE void stv__feel_liquid(const struct stv__path_model *model,
                                  const struct stv__rates *rates, stv__v8 ethanol_kg,
                                  stv__v8 water_kg, struct stv__wood *wood)
{
    const struct stv_cask_numbers *numbers = &model->numbers;
    const double per_width = 1.0 / numbers->oak_strength_bell_width_pct;
    const double slope = numbers->oak_strength_line_slope_nd, more = 0.01;
    const double pct_m3_kg = 100.0 / STV_ETHANOL_RHO20_KG_M3;
    stv__v8 fraction, rho, more_fraction, more_rho;
    stv__v8 total_kg = ethanol_kg + water_kg, mean_ethanol_kg = rates->mean_ethanol_kg;
    stv__v8 mean_kg = mean_ethanol_kg + rates->mean_water_kg;
    stv__density(model, mean_ethanol_kg, mean_kg, &fraction, &rho);
    stv__density(model, (1.0 + more) * mean_ethanol_kg, mean_kg, &more_fraction, &more_rho);
    wood->volume_m3 = total_kg / rho;
    wood->lost_nd = 1.0 - mean_kg / total_kg;
    stv__v8 less_ethanol_kg = mean_ethanol_kg - rates->esters_ethanol_kg;
    wood->esters_lost_nd =
        (less_ethanol_kg + rates->mean_water_kg - rates->esters_water_kg) / total_kg;
    stv__v8 abv_pct = fraction * rho * pct_m3_kg;
    stv__v8 pct_by_share = (more_fraction * more_rho * pct_m3_kg - abv_pct) * (1.0 / more);
    stv__v8 esters_pct =
        pct_by_share * (wood->esters_lost_nd - less_ethanol_kg * stv__per_kg(ethanol_kg));
    stv__v8 off = (abv_pct - numbers->oak_strength_bell_centre_pct) * per_width;
    wood->bell_nd = stv__exp(-off * off);
    wood->esters_bell_nd = wood->bell_nd * (-2.0 * per_width) * off * esters_pct;
    stv__v8 line = 1.0 - slope * (abv_pct - numbers->oak_strength_line_centre_pct);
    wood->line_nd = stv__least(stv__all(numbers->oak_strength_line_most_nd),
                               stv__most(stv__all(numbers->oak_strength_line_least_nd), line));
    wood->esters_line_nd =
        stv__pick(wood->line_nd == line, -slope * esters_pct, stv__all(0.0)); /* else held */
}

/* Wood and esters over a piece from its middle's masses. */
STV__INLINE void stv__advance_quality(const struct stv__path_model *model,
                                      const struct stv__lane_cask *cask,
                                      const struct stv__felt *felt, const struct stv__rates *rates,
                                      stv__v8 ethanol_kg, stv__v8 water_kg, stv__v8 piece_d,
                                      int wood_pieces, struct stv__packet *packet)
{
    struct stv__wood wood;
    stv__feel_liquid(model, rates, ethanol_kg, water_kg, &wood);
    stv__v8 full = wood.volume_m3 * (1000.0 / cask->capacity_l);
    wood.wetted_frac = stv__wetted(model, full);
    wood.wetted_slope_nd = 100.0 * (wood.wetted_frac - stv__wetted(model, 0.99 * full));
    wood.push_per_m3 =
        model->numbers.oak_wet_depth_m * model->numbers.oak_partition_nd / wood.volume_m3;
    wood.cycling_nd = 1.0 + cask->cycling_per_k * felt->swing_k;
    wood.warmer_k = stv__warmer_k(cask, &felt->lag, rates);
    wood.falls_per_d =
        (stv__ethanol_kg_d(rates) + stv__water_kg_d(rates)) / (ethanol_kg + water_kg);
    wood.evenly_per_d = rates->evenly_per_d;
    wood.per_ester_ea = stv__pick(cask->ester_ea_j_mol > STV__LEAST_EA_J_MOL,
                                  1.0 / cask->ester_ea_j_mol, stv__all(0.0));
    struct stv__kind_rates kinds[STV_OAK_N];
    stv__v8 norm = stv__all(0.0);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        kinds[k] = stv__kind_rates(model, cask, felt, &wood, k);
        norm = stv__most(norm, kinds[k].fast_per_d * (1.0 + wood.push_per_m3 * cask->wall_m2) +
                                   kinds[k].decay_per_d + 5.0 * kinds[k].slow_per_d);
    }
    int n = (int)(stv__most_lane(norm * piece_d)) + 1; /* the series wants a norm up to 1 */
    if (n < wood_pieces)
        n = wood_pieces;
    wood.piece_d = piece_d / n;
    wood.mole_frac = stv__mole_frac_of(rates->esters_ethanol_kg, rates->esters_water_kg);
    wood.mole_frac_per_d = wood.mole_frac * (1.0 - wood.mole_frac) *
                           (stv__water_kg_d(rates) * stv__per_kg(water_kg) -
                            stv__ethanol_kg_d(rates) * stv__per_kg(ethanol_kg));
    wood.shrinks_nd = wood.falls_per_d * wood.piece_d;
    struct stv__ester_half half = stv__ester_half(model, cask, felt, &wood);
    struct stv__curve curve = {.n_parts = n};
    for (int i = 0; i < n; i++) {
        stv__v8 grown_nd = 1.0 + wood.shrinks_nd * (i + 0.5 - 0.5 * n); /* the push */
        stv__v8 ester_mg = packet->ester_mg;
        stv__make_esters(&half, 2.0 * i - n, packet);
        stv__v8 before_mg = packet->content_mg[STV_OAK_ACIDS];
        for (size_t k = 0; k < STV_OAK_N; k++)
            stv__extract(cask, &wood, &kinds[k], grown_nd, k, packet);
        curve.last_mg = packet->content_mg[STV_OAK_ACIDS] - before_mg;
        if (i == 0)
            curve.first_mg = curve.last_mg;
        stv__unmake_esters(stv__unmade_mg(&half, curve.last_mg), packet);
        stv__make_esters(&half, 2.0 * i + 1.0 - n, packet);
        stv__v8 made_mg =
            (packet->ester_mg - ester_mg) * (STV_ACETIC_G_MOL / STV_ETHYL_ACETATE_G_MOL);
        stv__push_back(cask, &half, kinds[STV_OAK_ACIDS].fast_per_d * wood.push_per_m3, made_mg,
                       packet);
    }
    stv__unmake_by_curve(&half, &curve, felt, wood.piece_d, packet);
}

#endif
