/* Two species leave through oak by N = P g f(T) (p_liquid - p_air), each along its own vapour
 * pressure; a composition-neutral share leaves at joints and heads.  g is the wood's moisture
 * factor, a mean between room humidity and water activity.  Ethanol in the room's air is taken as
 * zero, so a closed store is not described.  Parameter sheet, section 2. */
#include "model/evaporation.h"

#include "model/air.h"
#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/units.h"
#include "model/wood.h"

#include <math.h>

#define HOTTEST_C 50.0     /* beyond it the wood factor is not known */
#define REFERENCE_K 288.15 /* 15 C, where the permeances are stated */

enum stv_status stv_wood_flux(const struct stv_params *params, double ethanol_mole_frac,
                              double liquid_c, double air_c, double rh_frac,
                              struct stv_wood_flux *out)
{
    *out = (struct stv_wood_flux){NAN, NAN};
    double room_pa = rh_frac * stv_water_psat_pa(air_c);
    if (!(rh_frac >= 0.0 && rh_frac <= 1.0) || !isfinite(room_pa) || !(liquid_c <= HOTTEST_C))
        return STV_E_DOMAIN;
    struct stv_spirit_activity activity;
    enum stv_status status = stv_spirit_activity(ethanol_mole_frac, liquid_c, &activity);
    if (status != STV_OK)
        return status;
    double water_activity = activity.water_nd + params->water_activity_offset_nd;
    if (!(water_activity >= 0.0 && water_activity <= 1.0))
        return STV_E_DOMAIN;
    double liquid_k = stv_k_from_c(liquid_c);
    double warmth =
        exp(-params->permeance_ea_j_mol / STV_GAS_J_MOLK * (1.0 / liquid_k - 1.0 / REFERENCE_K));
    double permeance = params->water_permeance_mol_m2spa * warmth *
                       stv_wood_factor_nd(rh_frac, water_activity, liquid_c);
    out->water_mol_m2s = permeance * (water_activity * stv_water_psat_pa(liquid_c) - room_pa);
    out->ethanol_mol_m2s = permeance / params->permeance_ratio_nd * activity.ethanol_nd *
                           stv_ethanol_psat_pa(liquid_c);
    return STV_OK;
}

double stv_dry_wood_factor_nd(const struct stv_cask_geometry *cask, const struct stv_params *params,
                              const struct stv_cask_numbers *numbers)
{
    double dry_mm = cask->stave_mm * params->stave_factor_nd - numbers->wetted_wood_mm;
    return numbers->reference_dry_wood_mm / fmax(dry_mm, numbers->least_dry_wood_mm);
}

double stv_neutral_loss_per_y(const struct stv_cask_geometry *cask, const struct stv_params *params,
                              const struct stv_cask_numbers *numbers)
{
    double area_per_volume = cask->mid_area_m2 / (cask->capacity_l / 1000.0);
    return params->neutral_loss_per_y * area_per_volume / numbers->neutral_loss_reference_per_m;
}

enum stv_status stv_evaporation_rates(const struct stv_cask_wood *cask, double ethanol_kg,
                                      double water_kg, double liquid_c, double air_c,
                                      double rh_frac, struct stv_evaporation *out)
{
    *out = (struct stv_evaporation){NAN, NAN, NAN, NAN};
    const struct stv_cask_geometry *geometry = cask->geometry;
    const struct stv_params *params = cask->params;
    if (!(ethanol_kg >= 0.0 && water_kg >= 0.0 && ethanol_kg + water_kg > 0.0))
        return STV_E_DOMAIN;
    struct stv_wood_flux flux;
    double mole_frac = stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg));
    enum stv_status status = stv_wood_flux(params, mole_frac, liquid_c, air_c, rh_frac, &flux);
    if (status != STV_OK)
        return status;
    double wall = geometry->mid_area_m2 * params->area_factor_nd *
                  stv_dry_wood_factor_nd(geometry, params, cask->numbers);
    double joints_per_s =
        stv_neutral_loss_per_y(geometry, params, cask->numbers) / (STV_YEAR_D * STV_DAY_S);
    *out = (struct stv_evaporation){
        .air_ethanol_kg_s = wall * STV_ETHANOL_KG_MOL * flux.ethanol_mol_m2s,
        .air_water_kg_s = wall * STV_WATER_KG_MOL * flux.water_mol_m2s,
        .joint_ethanol_kg_s = joints_per_s * ethanol_kg,
        .joint_water_kg_s = joints_per_s * water_kg,
    };
    return STV_OK;
}
