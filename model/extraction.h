/* What oak gives to spirit: a fast and a slow pool per kind, per square metre of wood. */
#ifndef STV_MODEL_EXTRACTION_H
#define STV_MODEL_EXTRACTION_H

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
    const char *name;
    double fast_rate_per_d, fast_ea_j_mol, fast_pool_mg_m2;
    double slow_rate_per_y, slow_ea_j_mol, slow_pool_mg_m2;
    double decay_per_y, decay_ea_j_mol; /* 0 where nothing decays */
};

/* The table of the closed parameter sheet, section 4: all levels are judgement. */
const struct stv_oak_constants *stv_oak_table(void);

/* What a wood held before it came to this house. */
enum stv_wood_history {
    STV_WOOD_NEW,             /* never held anything */
    STV_WOOD_HELD_SPIRIT,     /* held new-wood spirit: fast x 0.28, slow x 0.75 */
    STV_WOOD_HELD_FORTIFIED,  /* held fortified wine: fast x 0.5, slow x 0.85 */
    STV_WOOD_HISTORY_N
};
const char *stv_wood_history_name(enum stv_wood_history history);

/* Pools left in the wall, mg per m2 of the whole inner wall. */
struct stv_oak_pools {
    double fast_mg_m2[STV_OAK_N];
    double slow_mg_m2[STV_OAK_N];
};
struct stv_oak_pools stv_oak_pools_of(enum stv_wood_history history, const struct stv_params *params);

/* Response of a kind to strength: gaussian about 57 % or falling line, see the sheet. */
double stv_oak_strength_factor_nd(enum stv_oak_kind kind, double abv20_frac);

/* Activation energy with the draws' offset, kept in 20..65 kJ/mol. */
double stv_oak_ea_j_mol(double default_j_mol, const struct stv_params *params);

/* Arrhenius factor relative to 20 C. */
double stv_arrhenius20_nd(double ea_j_mol, double temp_c);

/* One step of pools and content (mg in the liquid) at constant conditions: exchange at the
 * wetted share, exact for the fast pool's exchange, exponential for the slow pool and decay.
 * fast_nd, slow_nd, decay_nd are the step's mean Arrhenius factors. */
struct stv_oak_step {
    double step_d;
    double wetted_m2;      /* wall under liquid */
    double wall_m2;        /* whole inner wall */
    double volume20_l;
    double abv20_frac;
    double fast_nd[STV_OAK_N], slow_nd[STV_OAK_N], decay_nd[STV_OAK_N];
};
void stv_oak_advance(const struct stv_oak_step *step, struct stv_oak_pools *pools,
                     double content_mg[STV_OAK_N]);

#endif
