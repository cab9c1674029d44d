/* What oak gives to spirit: a fast and a slow pool per kind, per square metre of wood. */
#ifndef STV_MODEL_EXTRACTION_H
#define STV_MODEL_EXTRACTION_H

#include "model/cask_numbers.h"
#include "model/params.h"

#include <stddef.h>

enum stv_oak_kind {
    STV_OAK_PHENOLICS, /* phenolics and colour */
    STV_OAK_LACTONE,
    STV_OAK_ALDEHYDES, /* vanillin-type */
    STV_OAK_TANNINS,   /* hydrolysable */
    STV_OAK_ACIDS,     /* volatile acids from wood, as acetic */
    STV_OAK_SUGARS,
    STV_OAK_N
};

struct stv_oak_constants {
    double fast_rate_per_d, fast_ea_j_mol, fast_pool_mg_m2;
    double slow_rate_per_y, slow_ea_j_mol, slow_pool_mg_m2;
    double decay_per_y, decay_ea_j_mol; /* 0 where nothing decays */
};

/* Those of a kind below STV_OAK_N.  Source: model/cask_numbers.h */
struct stv_oak_constants stv_oak_constants_of(const struct stv_cask_numbers *numbers,
                                              enum stv_oak_kind kind);

/* What a wood held before it came to this house. */
enum stv_wood_history {
    STV_WOOD_NEW,            /* never held anything */
    STV_WOOD_HELD_SPIRIT,    /* held new-wood spirit */
    STV_WOOD_HELD_FORTIFIED, /* held fortified wine */
    STV_WOOD_HISTORY_N
};
/* In words, never NULL. */
const char *stv_wood_history_name(enum stv_wood_history history);

/* Pools left in the wall, mg per m2 of the whole inner wall. */
struct stv_oak_pools {
    double fast_mg_m2[STV_OAK_N];
    double slow_mg_m2[STV_OAK_N];
};

/* Pools of a wood when it came here: a new wood's, times the share its history left and the
 * parameters' factor.  history below STV_WOOD_HISTORY_N. */
struct stv_oak_pools stv_oak_pools_of(enum stv_wood_history history,
                                      const struct stv_params *params,
                                      const struct stv_cask_numbers *numbers);

/* Response of a kind to strength: exp(-((ABV - 57)/25)^2), for tannins and sugars
 * 1 - 0.012 (ABV - 55) kept in 0.4..1.3, by default.  abv20_frac 0..1.  Source: parameter sheet,
 * section 4. */
double stv_oak_strength_factor_nd(enum stv_oak_kind kind, double abv20_frac,
                                  const struct stv_cask_numbers *numbers);

/* Activation energy with the draws' offset, kept in the numbers' limits (20..65 kJ/mol by
 * default); a default outside stays allowed. */
double stv_oak_ea_j_mol(double default_j_mol, const struct stv_params *params,
                        const struct stv_cask_numbers *numbers);

/* Arrhenius factor relative to 20 C; temp_c above absolute zero. */
double stv_arrhenius20_nd(double ea_j_mol, double temp_c);

/* One step at constant conditions; fast_nd, slow_nd and decay_nd are its mean Arrhenius factors,
 * relative to 20 C. */
struct stv_oak_step {
    double step_d;
    double wetted_m2; /* wall under liquid */
    double wall_m2;   /* whole inner wall */
    double volume20_l;
    double abv20_frac;
    double fast_nd[STV_OAK_N], slow_nd[STV_OAK_N], decay_nd[STV_OAK_N];
};

/* Carries pools and content over a step.
 *
 * step         volume20_l above 0, wetted_m2 within 0..wall_m2, step_d any length
 * pools        changed; mg per m2 of the whole wall
 * content_mg   STV_OAK_N masses in the liquid, mg; changed
 *
 * Accuracy: wood and liquid together keep their mass to rounding; the fast pool's exchange is
 *           exact, the slow pool's gift and decay are split from it: the sheet's table within
 *           1e-3, and 5e-4 between 5 and 2.5 days
 * Source:  parameter sheet, section 4
 * Assumes: a well-mixed liquid; levels are for ratios to the reference cask only */
void stv_oak_advance(const struct stv_oak_step *step, const struct stv_cask_numbers *numbers,
                     struct stv_oak_pools *pools, double content_mg[STV_OAK_N]);

#endif
