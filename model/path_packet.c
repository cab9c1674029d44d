/* Numbers and curves that the steps read. */
#include "model/path_packet.h"

#include "model/air.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/path_amounts.h"
#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/units.h"

#include <math.h>

/* What each species' vapour comes to over the liquid. */
struct vapour {
    double ethanol_pa, water_pa;
};

static enum stv_status vapour_of(double root_nd, double temp_c, struct vapour *out)
{
    struct stv_spirit_activity activity;
    enum stv_status status = stv_spirit_activity(root_nd * root_nd, temp_c, &activity);
    out->ethanol_pa = activity.ethanol_nd * stv_ethanol_psat_pa(temp_c);
    out->water_pa = activity.water_nd * stv_water_psat_pa(temp_c);
    return status;
}

#define PANELS_C 20.0
#define APART_K 1.0

static enum stv_status fill_panel(size_t panel_idx, struct stv__path_model *out)
{
    double low = stv__panel_bound_nd[panel_idx], high = stv__panel_bound_nd[panel_idx + 1];
    double kelvin = stv_k_from_c(PANELS_C), ratio[STV__PARABOLA_TERMS];
    struct vapour colder, warmer;
    enum stv_status status = vapour_of(0.5 * (low + high), PANELS_C - 0.5 * APART_K, &colder);
    if (status == STV_OK)
        status = vapour_of(0.5 * (low + high), PANELS_C + 0.5 * APART_K, &warmer);
    for (size_t i = 0; i < STV__PARABOLA_TERMS && status == STV_OK; i++) {
        struct vapour at;
        status = vapour_of(low + 0.5 * (double)i * (high - low), PANELS_C, &at);
        ratio[i] = at.water_pa / at.ethanol_pa;
    }
    if (status != STV_OK)
        return status;
    double *terms = out->water_over_ethanol_nd[panel_idx];
    terms[0] = 1.0;
    terms[1] = 0.5 * (ratio[2] - ratio[0]) / ratio[1];
    terms[2] = 0.5 * (ratio[2] + ratio[0]) / ratio[1] - 1.0;
    out->ethanol_heat_j_mol[panel_idx] =
        STV_GAS_J_MOLK * kelvin * kelvin / APART_K * log(warmer.ethanol_pa / colder.ethanol_pa);
    return STV_OK;
}

enum stv_status stv__path_model_fill(const struct stv_cask_numbers *numbers,
                                     const struct stv__factor_columns *columns,
                                     struct stv__path_model *out)
{
    struct stv_spirit_at at;
    /* A litre of any cask: only what a kilogram of liquid adds counts. */
    const struct stv_cask_geometry bare = {.capacity_l = 1.0};
    enum stv_status status = stv_spirit_at(20.0, &at);
    if (status != STV_OK)
        return status;
    out->columns = columns;
    for (size_t k = 0; k < STV_OAK_N; k++)
        out->oak[k] = stv_oak_constants_of(numbers, (enum stv_oak_kind)k);
    out->numbers = *numbers;
    for (size_t i = 0; i < sizeof out->density_kg_m3 / sizeof *out->density_kg_m3; i++)
        out->density_kg_m3[i] = at.rho_kg_m3[i];
    for (size_t i = 0; i <= STV__HEAT_CELLS; i++) {
        double mass_frac = (double)i / STV__HEAT_CELLS;
        struct stv_spirit_amount amount = stv_spirit_amount(mass_frac, 1.0 - mass_frac);
        out->heat_j_kgk[i] =
            stv_cask_heat_capacity_j_k(&bare, amount.volume20_l, amount.abv20_frac, numbers);
        if (!isfinite(out->heat_j_kgk[i]))
            return STV_E_DOMAIN;
    }
    for (size_t i = 0; i <= STV__WETTED_CELLS; i++) {
        double place = (double)i / STV__WETTED_CELLS, half = fmin(place, 1.0 - place);
        double share = 2.0 * half * half; /* full or empty */
        out->wetted_frac[i] = stv_cask_wetted_frac(place < 0.5 ? share : 1.0 - share, numbers);
    }
    for (size_t p = 0; p < STV__PANELS && status == STV_OK; p++)
        status = fill_panel(p, out);
    return status;
}

void stv__lane_cask_of(const struct stv__lane_cask_source *source, struct stv__lane_cask *out)
{
    const struct stv_cask_geometry *geometry = source->geometry;
    const struct stv_cask_numbers *numbers = source->numbers;
    for (int l = 0; l < STV__PACKET; l++) {
        const struct stv_params *params = source->params[l];
        double wall_m2 = geometry->mid_area_m2 * params->area_factor_nd *
                         stv_dry_wood_factor_nd(geometry, params, numbers);
        double mol_d_pa = wall_m2 * params->water_permeance_mol_m2spa * STV_DAY_S;
        out->water_kg_d_pa[l] = mol_d_pa * STV_WATER_KG_MOL;
        out->ethanol_kg_d_pa[l] = mol_d_pa / params->permeance_ratio_nd * STV_ETHANOL_KG_MOL;
        out->per_ratio_nd[l] = 1.0 / params->permeance_ratio_nd;
        out->permeance_ea_j_mol[l] = params->permeance_ea_j_mol;
        out->joints_per_d[l] = stv_neutral_loss_per_y(geometry, params, numbers) / STV_YEAR_D;
        out->leak_per_d[l] = params->leak_per_y / STV_YEAR_D;
        out->temp_share_frac[l] = params->neutral_temp_share_frac;
        out->wall_m2[l] = geometry->inner_area_m2 * params->area_factor_nd;
        out->pool_factor_nd[l] = params->wood_pool_factor_nd;
        out->extraction_more_j_mol[l] = params->extraction_ea_offset_j_mol;
        out->ester_ea_j_mol[l] = params->ester_ea_j_mol;
        out->ester_per_d[l] = stv_ester_rate25_per_y(params, numbers) / STV_YEAR_D *
                              stv_arrhenius25_nd(params->ester_ea_j_mol, 20.0);
        out->oxidation_mg_ld[l] = params->oxidation_mg_ly / STV_YEAR_D;
        out->cycling_per_k[l] = params->cycling_gain_per_k;
    }
    out->wood_j_k = stv_cask_heat_capacity_j_k(geometry, 0.0, 0.0, numbers);
    out->per_w_k_h = 1.0 / (stv_cask_conductance_w_k(geometry, numbers) * STV_HOUR_S);
    out->capacity_l = geometry->capacity_l;
    out->leak_from_d = INT64_MIN;
    out->leak_to_d = out->leak_again_d = INT64_MAX;
}

STV__WIDE void stv__packet_amounts(const struct stv__path_model *model,
                                   const struct stv__packet *packet, struct stv__amounts *out)
{
    stv__v8 total_kg = packet->ethanol_kg + packet->water_kg;
    stv__m8 is_full = total_kg > 0.0;
    stv__v8 fraction, rho;
    stv__density(model, stv__pick(is_full, packet->ethanol_kg, stv__all(1.0)),
                 stv__pick(is_full, total_kg, stv__all(1.0)), &fraction, &rho);
    out->volume20_l = total_kg / rho * 1000.0;
    out->abv20_frac = stv__pick(is_full, fraction * rho / STV_ETHANOL_RHO20_KG_M3, stv__all(0.0));
}
