/* Two things that are never one: esters made in the cask, and what is left of the still's fruit.
 * Both are weak knowledge. */
#ifndef STV_MODEL_ESTERS_H
#define STV_MODEL_ESTERS_H

#include "model/params.h"

#define STV_OXIDATION_EA_J_MOL 45000.0

/* Hydrolysis rate kh, 1/y, at 25 C before the Arrhenius factor. */
double stv_ester_rate25_per_y(const struct stv_params *params);

/* Arrhenius factor relative to 25 C. */
double stv_arrhenius25_nd(double ea_j_mol, double temp_c);

/* Half-life of an ester far above its equilibrium, years. temp_c -15..50. */
double stv_ester_half_life_y(const struct stv_params *params, double temp_c);

/* One step.  rate_nd: the step's mean Arrhenius factor (25 C) of the ester energy; oxidation_nd
 * that of oxidation (20 C).  acid_mg is the acetic acid in the liquid and is changed by what
 * forms and by oxidation; ester_mg ethyl acetate; fruit_nd the still's fruit left, 1 at fill. */
struct stv_ester_step {
    double step_d;
    double volume20_l;
    double ethanol_mole_frac; /* of the liquid, below 1 */
    double rate_nd, oxidation_nd;
};
void stv_ester_advance(const struct stv_ester_step *step, const struct stv_params *params,
                       double *acid_mg, double *ester_mg, double *fruit_nd);

#endif
