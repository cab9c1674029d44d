/* Water and ethanol leaving a cask: two species through oak, and a neutral share at the joints. */
#ifndef STV_MODEL_EVAPORATION_H
#define STV_MODEL_EVAPORATION_H

#include "model/cooperage.h"
#include "model/params.h"
#include "model/status.h"

/* Rates out of the cask, kg/s; negative water means that humid air gives water to the cask. */
struct stv_evaporation {
    double air_ethanol_kg_s, air_water_kg_s;     /* through the wood */
    double joint_ethanol_kg_s, joint_water_kg_s; /* neutral loss at joints, heads, bung */
};

/* Flux through 1 m2 of mid-wall of a 20 mm dry zone (k = 1), mol/(m2 s) per unit of the
 * parameters' permeances already applied. */
struct stv_wood_flux {
    double ethanol_mol_m2s, water_mol_m2s;
};

/* Flux at one moment.  rh_frac 0..1 at air_c; liquid_c -15..50; ethanol_mole_frac 0..1.
 * Errors: STV_E_DOMAIN. Source: closed parameter sheet section 2 (set D). */
STV_MUST_CHECK enum stv_status stv_wood_flux(const struct stv_params *params, double ethanol_mole_frac,
                                             double liquid_c, double air_c, double rh_frac,
                                             struct stv_wood_flux *out);

/* k of the sheet: 20 mm over the dry thickness (stave - 7 mm), with the draws' stave factor. */
double stv_dry_wood_factor_nd(const struct stv_cask_geometry *cask, const struct stv_params *params);

/* Neutral loss of this size, 1/y: scaled by (A_mid/V)/10 m-1. */
double stv_neutral_loss_per_y(const struct stv_cask_geometry *cask, const struct stv_params *params);

/* All four rates of a cask of a content at one moment. */
STV_MUST_CHECK enum stv_status stv_evaporation_rates(const struct stv_cask_geometry *cask,
                                                     const struct stv_params *params,
                                                     double ethanol_kg, double water_kg,
                                                     double liquid_c, double air_c, double rh_frac,
                                                     struct stv_evaporation *out);

#endif
