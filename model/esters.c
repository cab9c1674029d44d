/* acid + ethanol <-> ester + water with K = [E][W]/([A][EtOH]):
 *     dE/dt = kh (r A - E),   r = K [EtOH]/[W],   A + E kept but for oxidation
 * so E goes exponentially to its share of A + E.  What the still made in acetates of higher
 * alcohols lies far above its equilibrium and only decays.  The C8-C12 ethyl esters are left out:
 * published directions conflict. */
#include "model/esters.h"

#include "model/extraction.h"
#include "model/units.h"

#include <math.h>

#define REFERENCE_25C_K 298.15

double stv_ester_rate25_per_y(const struct stv_params *params,
                              const struct stv_cask_numbers *numbers)
{
    double hydrogen_m = pow(10.0, -params->acid_ph_nd);
    return numbers->ester_acid_rate25_per_ms * hydrogen_m * params->ester_rate_factor_nd *
           STV_YEAR_D * STV_DAY_S;
}

double stv_arrhenius25_nd(double ea_j_mol, double temp_c)
{
    return exp(-ea_j_mol / STV_GAS_J_MOLK * (1.0 / stv_k_from_c(temp_c) - 1.0 / REFERENCE_25C_K));
}

double stv_ester_half_life_y(const struct stv_params *params,
                             const struct stv_cask_numbers *numbers, double temp_c)
{
    double rate_per_y = stv_ester_rate25_per_y(params, numbers) *
                        stv_arrhenius25_nd(params->ester_ea_j_mol, temp_c);
    return log(2.0) / rate_per_y;
}

void stv_ester_advance(const struct stv_ester_step *step, const struct stv_params *params,
                       const struct stv_cask_numbers *numbers, double *acid_mg, double *ester_mg,
                       double *fruit_nd)
{
    double step_y = step->step_d / STV_YEAR_D;
    double rate_per_y = stv_ester_rate25_per_y(params, numbers) * step->rate_nd;
    *acid_mg += params->oxidation_mg_ly * step->oxidation_nd * step_y * step->volume20_l;

    double water = 1.0 - step->ethanol_mole_frac;
    double both =
        water + numbers->ester_equilibrium_nd * step->ethanol_mole_frac; /* (1 + r) times water */
    double acid_mmol = *acid_mg / STV_ACETIC_G_MOL;
    double ester_mmol = *ester_mg / STV_ETHYL_ACETATE_G_MOL;
    double total_mmol = acid_mmol + ester_mmol;
    double target_mmol = total_mmol * (both - water) / both;
    double left = exp(-rate_per_y * both / water * step_y);
    ester_mmol = target_mmol + (ester_mmol - target_mmol) * left;
    *ester_mg = ester_mmol * STV_ETHYL_ACETATE_G_MOL;
    *acid_mg = (total_mmol - ester_mmol) * STV_ACETIC_G_MOL;
    *fruit_nd *= exp(-rate_per_y * step_y);
}
