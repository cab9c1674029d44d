/* Water and ethanol leaving a cask: two species through oak, and a neutral share at the joints. */
#ifndef STV_MODEL_EVAPORATION_H
#define STV_MODEL_EVAPORATION_H

#include "model/cask_numbers.h"
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

/* Flux at one moment.
 *
 * params             permeances, their energy, and the error of the water activity count
 * ethanol_mole_frac  of the liquid, 0..1
 * liquid_c           deg C, -15..50
 * air_c, rh_frac     of the room, deg C, -80..373 (stv_water_psat_pa), and 0..1 over liquid water
 * out                negative water comes in; both NaN when the status is not OK
 *
 * Errors:  STV_E_DOMAIN  anything outside, NaN, or a water activity that its error takes out of
 *                        0..1
 * Accuracy: as tested: the sheet's 56 years, sizes and sensitivities to their last digit;
 *           against the world see the ranges of model/params.h
 * Source:  parameter sheet (DEVELOPERS.md, Sources), section 2, set D
 * Assumes: no ethanol in the room's air */
STV_MUST_CHECK enum stv_status stv_wood_flux(const struct stv_params *params,
                                             double ethanol_mole_frac, double liquid_c,
                                             double air_c, double rh_frac,
                                             struct stv_wood_flux *out);

/* k of the sheet: 20 mm over the dry thickness, which is the stave (times the draws' factor) less
 * 7 mm of wetted wood and counts as 3 mm where it would be thinner (judgement); all three by
 * default. */
double stv_dry_wood_factor_nd(const struct stv_cask_geometry *cask, const struct stv_params *params,
                              const struct stv_cask_numbers *numbers);

/* Neutral loss of this size, 1/y: the parameter, stated for 10 m-1, times its mid-wall area over
 * its capacity.  Source: parameter sheet, section 2. */
double stv_neutral_loss_per_y(const struct stv_cask_geometry *cask, const struct stv_params *params,
                              const struct stv_cask_numbers *numbers);

/* A cask's wood: none of the three may be NULL. */
struct stv_cask_wood {
    const struct stv_cask_geometry *geometry;
    const struct stv_params *params;
    const struct stv_cask_numbers *numbers;
};

/* All four rates of a cask of a content at one moment.
 *
 * cask                   its parts as from stv_cask_geometry and the defaults
 * ethanol_kg, water_kg   what it holds, not negative, not both 0
 * liquid_c, air_c, rh_frac   as stv_wood_flux
 * out                    kg/s; all NaN when the status is not OK
 *
 * Errors:  STV_E_DOMAIN  a mass outside, or as stv_wood_flux
 * Source:  parameter sheet, section 2
 * Assumes: the whole wall evaporates whatever the level; joints do not follow temperature (the
 *          temperature share enters where a year's mean is known, in the path) */
STV_MUST_CHECK enum stv_status stv_evaporation_rates(const struct stv_cask_wood *cask,
                                                     double ethanol_kg, double water_kg,
                                                     double liquid_c, double air_c, double rh_frac,
                                                     struct stv_evaporation *out);

#endif
