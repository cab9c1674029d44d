/* Oak gives from a fast pool that is washed out and a slow one that is hydrolysed; the liquid
 * pushes back on the fast pool through its partition.  For one kind, with u = Wf - delta Kp C:
 *     dM/dt = A_wet [kf fa u + ks fa Ws] - kd M,   dWf/dt = -w kf fa u,   dWs/dt = -w ks fa Ws
 * with M the mass in the liquid, w the wetted share and W per m2 of the whole wall.  u decays
 * exponentially at constant conditions, so the exchange is exact; decay is split around it.
 * Levels are judgement and meant for ratios to a reference cask only. */
#include "model/extraction.h"

#include "model/units.h"

#include <math.h>

#define REFERENCE_20C_K 293.15
#define L_PER_M3 1000.0

struct stv_oak_constants stv_oak_constants_of(const struct stv_cask_numbers *numbers,
                                              enum stv_oak_kind kind)
{
#define CONSTANTS(kind)                                                                   \
    {                                                                                     \
        numbers->oak_##kind##_fast_rate_per_d, numbers->oak_##kind##_fast_ea_j_mol,       \
            numbers->oak_##kind##_fast_pool_mg_m2, numbers->oak_##kind##_slow_rate_per_y, \
            numbers->oak_##kind##_slow_ea_j_mol, numbers->oak_##kind##_slow_pool_mg_m2,   \
            numbers->oak_##kind##_decay_per_y, numbers->oak_##kind##_decay_ea_j_mol       \
    }
    switch (kind) {
    case STV_OAK_PHENOLICS:
        return (struct stv_oak_constants)CONSTANTS(phenolics);
    case STV_OAK_LACTONE:
        return (struct stv_oak_constants)CONSTANTS(lactone);
    case STV_OAK_ALDEHYDES:
        return (struct stv_oak_constants)CONSTANTS(aldehydes);
    case STV_OAK_TANNINS:
        return (struct stv_oak_constants)CONSTANTS(tannins);
    case STV_OAK_ACIDS:
        return (struct stv_oak_constants)CONSTANTS(acids);
    case STV_OAK_SUGARS:
        return (struct stv_oak_constants)CONSTANTS(sugars);
    case STV_OAK_N:
        break;
    }
#undef CONSTANTS
    return (struct stv_oak_constants){0};
}

const char *stv_wood_history_name(enum stv_wood_history history)
{
    switch (history) {
    case STV_WOOD_NEW:
        return "new oak";
    case STV_WOOD_HELD_SPIRIT:
        return "held spirit before";
    case STV_WOOD_HELD_FORTIFIED:
        return "held fortified wine before";
    case STV_WOOD_HISTORY_N:
        break;
    }
    return "unknown wood";
}

struct stv_oak_pools stv_oak_pools_of(enum stv_wood_history history,
                                      const struct stv_params *params,
                                      const struct stv_cask_numbers *numbers)
{
    const double fast_share[STV_WOOD_HISTORY_N] = {1.0, numbers->held_spirit_fast_frac,
                                                   numbers->held_fortified_fast_frac};
    const double slow_share[STV_WOOD_HISTORY_N] = {1.0, numbers->held_spirit_slow_frac,
                                                   numbers->held_fortified_slow_frac};
    struct stv_oak_pools pools;
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants oak = stv_oak_constants_of(numbers, (enum stv_oak_kind)k);
        pools.fast_mg_m2[k] =
            oak.fast_pool_mg_m2 * fast_share[history] * params->wood_pool_factor_nd;
        pools.slow_mg_m2[k] =
            oak.slow_pool_mg_m2 * slow_share[history] * params->wood_pool_factor_nd;
    }
    return pools;
}

double stv_oak_strength_factor_nd(enum stv_oak_kind kind, double abv20_frac,
                                  const struct stv_cask_numbers *numbers)
{
    double abv_pct = 100.0 * abv20_frac;
    if (kind == STV_OAK_TANNINS || kind == STV_OAK_SUGARS)
        return fmin(numbers->oak_strength_line_most_nd,
                    fmax(numbers->oak_strength_line_least_nd,
                         1.0 - numbers->oak_strength_line_slope_nd *
                                   (abv_pct - numbers->oak_strength_line_centre_pct)));
    double off =
        (abv_pct - numbers->oak_strength_bell_centre_pct) / numbers->oak_strength_bell_width_pct;
    return exp(-off * off);
}

double stv_oak_ea_j_mol(double default_j_mol, const struct stv_params *params,
                        const struct stv_cask_numbers *numbers)
{
    double moved = default_j_mol + params->extraction_ea_offset_j_mol;
    /* The limits bound what draws may do; a default of the table outside them stays itself. */
    double least = fmin(numbers->oak_ea_least_j_mol, default_j_mol);
    double most = fmax(numbers->oak_ea_most_j_mol, default_j_mol);
    return fmin(most, fmax(least, moved));
}

double stv_arrhenius20_nd(double ea_j_mol, double temp_c)
{
    return exp(-ea_j_mol / STV_GAS_J_MOLK * (1.0 / stv_k_from_c(temp_c) - 1.0 / REFERENCE_20C_K));
}

static void advance_kind(const struct stv_oak_step *step, const struct stv_cask_numbers *numbers,
                         enum stv_oak_kind k, struct stv_oak_pools *pools, double *content_mg)
{
    struct stv_oak_constants oak = stv_oak_constants_of(numbers, k);
    double strength = stv_oak_strength_factor_nd(k, step->abv20_frac, numbers);
    double fast_per_d = oak.fast_rate_per_d * step->fast_nd[k] * strength;
    double slow_per_d = oak.slow_rate_per_y / STV_YEAR_D * step->slow_nd[k] * strength;
    double half_decay = exp(-0.5 * oak.decay_per_y / STV_YEAR_D * step->decay_nd[k] * step->step_d);
    double wetted = step->wetted_m2 / step->wall_m2;
    double volume_m3 = step->volume20_l / L_PER_M3;
    double push_m = numbers->oak_wet_depth_m * numbers->oak_partition_nd;

    double content = *content_mg * half_decay;
    double u = pools->fast_mg_m2[k] - push_m * content / volume_m3;
    double rate_per_d = fast_per_d * (wetted + push_m * step->wetted_m2 / volume_m3);
    double given = fast_per_d * wetted * u * -expm1(-rate_per_d * step->step_d) / rate_per_d;
    double slow_given = pools->slow_mg_m2[k] * -expm1(-slow_per_d * wetted * step->step_d);
    if (!(rate_per_d > 0.0))
        given = 0.0;
    pools->fast_mg_m2[k] -= given;
    pools->slow_mg_m2[k] -= slow_given;
    content += (given + slow_given) * step->wall_m2;
    *content_mg = content * half_decay;
}

void stv_oak_advance(const struct stv_oak_step *step, const struct stv_cask_numbers *numbers,
                     struct stv_oak_pools *pools, double content_mg[STV_OAK_N])
{
    for (size_t k = 0; k < STV_OAK_N; k++)
        advance_kind(step, numbers, (enum stv_oak_kind)k, pools, &content_mg[k]);
}
