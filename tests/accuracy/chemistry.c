#include "tests/accuracy/chemistry.h"

#include "model/esters.h"
#include "model/spirit.h"
#include "tests/accuracy/store.h"

#define STEP_MOST_D 5.0
#define WARMEST_D 200.0 /* as tests/places.h */

void acc_params_of_draws(const struct stv_params *base, struct stv_params *out, size_t n_draws)
{
    struct stv_params defaults = stv_params_default();
    struct stv_house_draws house;
    uint64_t kind_key = stv_key_of(""); /* of the casks in store.c */
    stv_assert_ok(stv_house_draws_new(ACC_SEED, n_draws, &kind_key, 1, &house));
    for (size_t d = 0; d < n_draws; d++) {
        struct stv_scores scores =
            stv_scores_drawn(base ? base : &defaults, &usual, &house, d, 0, stv_key_of("0"));
        out[d] = stv_params_of_scores(base ? base : &defaults, &usual, &scores);
    }
    stv_house_draws_free(&house);
}

void acc_liquid_fill(struct acc_liquid *liquid, double abv20_frac)
{
    struct stv_cask_geometry geometry;
    stv_assert_ok(stv_cask_geometry(200.0, NAN, &usual, &geometry));
    struct stv_oak_pools pools = liquid->pools;
    *liquid = (struct acc_liquid){.volume20_l = 200.0,
                                  .abv20_frac = abv20_frac,
                                  .wall_m2 = geometry.inner_area_m2,
                                  .fruit_nd = 1.0,
                                  .pools = pools};
}

static void step(struct acc_liquid *liquid, const struct stv_params *params, double temp_c,
                 double step_d)
{
    struct stv_oak_step oak = {.step_d = step_d,
                               .wetted_m2 = liquid->wall_m2,
                               .wall_m2 = liquid->wall_m2,
                               .volume20_l = liquid->volume20_l,
                               .abv20_frac = liquid->abv20_frac};
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants kind = stv_oak_constants_of(&usual, (enum stv_oak_kind)k);
        oak.fast_nd[k] =
            stv_arrhenius20_nd(stv_oak_ea_j_mol(kind.fast_ea_j_mol, params, &usual), temp_c);
        oak.slow_nd[k] =
            stv_arrhenius20_nd(stv_oak_ea_j_mol(kind.slow_ea_j_mol, params, &usual), temp_c);
        oak.decay_nd[k] =
            stv_arrhenius20_nd(stv_oak_ea_j_mol(kind.decay_ea_j_mol, params, &usual), temp_c);
    }
    stv_oak_advance(&oak, &usual, &liquid->pools, liquid->content_mg);
    double mass_frac;
    stv_assert_ok(stv_mass_frac_from_abv20(liquid->abv20_frac, &mass_frac));
    struct stv_ester_step ester = {
        .step_d = step_d,
        .volume20_l = liquid->volume20_l,
        .ethanol_mole_frac = stv_mole_frac_from_mass_frac(mass_frac),
        .rate_nd = stv_arrhenius25_nd(params->ester_ea_j_mol, temp_c),
        .oxidation_nd = stv_arrhenius20_nd(usual.oxidation_ea_j_mol, temp_c),
    };
    stv_ester_advance(&ester, params, &usual, &liquid->content_mg[STV_OAK_ACIDS], &liquid->ester_mg,
                      &liquid->fruit_nd);
}

void acc_liquid_carry(struct acc_liquid *liquid, const struct stv_params *params,
                      const struct climate_of *wave, double from_d, double to_d)
{
    int n = (int)ceil((to_d - from_d) / STEP_MOST_D);
    double step_d = (to_d - from_d) / n;
    for (int i = 0; i < n; i++) {
        double middle_d = from_d + (i + 0.5) * step_d;
        double temp_c =
            wave->mean_c + wave->year_k * cos(TWO_PI * (middle_d - WARMEST_D) / STV_YEAR_D);
        step(liquid, params, temp_c, step_d);
    }
}
