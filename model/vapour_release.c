/* A cask's flux of ethanol in an hour is
 *
 *     wall P/ratio f(T; E) sum over nodes w_tau w_x g a_e psat(T_tau)
 *
 * with weights w of its time constant and composition.  The pressures at the nodes are the place's,
 * the weights the casks': those of all casks are added before any hour is looked at, so that an
 * hour costs the same for one cask as for a thousand.  Each cask counts with its own size, wall,
 * content and strength.  Joints give off their share of the content, part of it with the pressure
 * of ethanol over its mean. */
#include "model/vapour_release.h"

#include "model/air.h"
#include "model/evaporation.h"
#include "model/position_liquid.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define REFERENCE_K 288.15 /* 15 C, where the permeances are stated */
#define LEAST_LIQUID_C (-15.0)
#define MOST_LIQUID_C 50.0

/* One hour at one time constant. */
struct node_hour {
    double ethanol_pa[STV__NODES];
    double cooler_mol_j; /* (1/T - 1/T_ref) / R */
    double pressure_rel_nd;
};

struct stv__vapour_hours {
    size_t n;
    struct node_hour (*at)[STV__TAUS];
};

static double held_mole_frac(double mole_frac)
{
    return fmin(STV_TABLE_MOST_MOLE_FRAC, fmax(STV_TABLE_LEAST_MOLE_FRAC, mole_frac));
}

/* Weights of the nodes of composition; an error of the water activity moves the fluxes as in the
 * cask's own path, and beyond the tables' weak end the flux goes with the ethanol left. */
static void node_weights(const struct stv__cask_functions *functions,
                         const struct stv_params *params, double mole_frac,
                         double out_nd[STV__NODES])
{
    double x = held_mole_frac(mole_frac), scale = fmin(1.0, mole_frac / x),
           offset = params->water_activity_offset_nd;
    double moved = x;
    if (offset != 0.0) {
        moved = stv__mole_frac_at_offset(functions, x, offset);
        scale *=
            stv__ethanol_activity20_nd(functions, x) / stv__ethanol_activity20_nd(functions, moved);
    }
    stv__node_weights(functions, held_mole_frac(moved), out_nd);
    for (size_t i = 0; i < STV__NODES; i++)
        out_nd[i] *= scale;
}

enum stv_status stv__vapour_load_add(const struct stv__cask_functions *functions,
                                     const struct stv__vapour_cask *cask,
                                     struct stv__vapour_load *load)
{
    const struct stv_params *params = cask->params;
    double ethanol_kg, water_kg, node_nd[STV__NODES], tau_nd[STV__TAUS];
    if (!(cask->volume20_l > 0.0))
        return STV_OK;
    enum stv_status status =
        stv_spirit_masses_kg(cask->volume20_l, cask->abv20_frac, &ethanol_kg, &water_kg);
    if (status != STV_OK)
        return status;
    double wall_m2 = cask->geometry->mid_area_m2 * params->area_factor_nd *
                     stv_dry_wood_factor_nd(cask->geometry, params, cask->numbers);
    double kg_h_pa = wall_m2 * params->water_permeance_mol_m2spa / params->permeance_ratio_nd *
                     STV_ETHANOL_KG_MOL * STV_HOUR_S;
    double joints_per_y =
        stv_neutral_loss_per_y(cask->geometry, params, cask->numbers) + params->leak_per_y;
    double joint_kg_h = joints_per_y / (STV_YEAR_D * STV_DAY_H) * ethanol_kg;
    double tau_h = stv_cask_time_constant_h(cask->geometry, cask->volume20_l, cask->abv20_frac,
                                            cask->numbers) *
                   params->time_constant_factor_nd;
    node_weights(functions, params,
                 stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg)), node_nd);
    stv__tau_weights(tau_h, tau_nd);
    for (size_t t = 0; t < STV__TAUS; t++) {
        for (size_t i = 0; i < STV__NODES; i++)
            load->wall_kg_h_pa[t][i] += kg_h_pa * tau_nd[t] * node_nd[i];
        load->warm_joint_kg_h[t] += joint_kg_h * params->neutral_temp_share_frac * tau_nd[t];
    }
    load->joint_kg_h += joint_kg_h * (1.0 - params->neutral_temp_share_frac);
    load->permeance_ea_j_mol = params->permeance_ea_j_mol;
    return STV_OK;
}

static void node_hour_of(const struct stv__cask_functions *functions, double liquid_c,
                         double room_pa, double rh_frac, struct node_hour *out)
{
    struct stv__liquid_row row;
    double water_pa[STV__NODES];
    (void)stv__hour_pressures(functions, liquid_c, room_pa, rh_frac, &row, out->ethanol_pa,
                              water_pa);
    double held_c = fmin(MOST_LIQUID_C, fmax(LEAST_LIQUID_C, liquid_c));
    out->cooler_mol_j = (1.0 / stv_k_from_c(held_c) - 1.0 / REFERENCE_K) / STV_GAS_J_MOLK;
    out->pressure_rel_nd = row.pure_ethanol_pa;
}

/* Pressure of ethanol relative to its mean over the known hours, per time constant. */
static void relate_pressures(struct stv__vapour_hours *hours)
{
    for (size_t t = 0; t < STV__TAUS; t++) {
        double sum = 0.0;
        size_t n = 0;
        for (size_t k = 0; k < hours->n; k++)
            if (isfinite(hours->at[k][t].pressure_rel_nd)) {
                sum += hours->at[k][t].pressure_rel_nd;
                n++;
            }
        for (size_t k = 0; k < hours->n; k++)
            hours->at[k][t].pressure_rel_nd *= (double)n / sum;
    }
}

static void fill_hours(const struct stv_position *position, const struct stv_climate_member *member,
                       const struct stv__cask_functions *functions, const double *liquid_c,
                       struct stv__vapour_hours *hours)
{
    for (size_t k = 0; k < hours->n; k++) {
        double rh_frac = fmin(1.0, fmax(0.0, position->rh_frac[k] + member->humidity_offset_frac));
        double room_pa = rh_frac * stv_water_psat_pa(position->air_c[k] + member->liquid_offset_k);
        bool is_known =
            isfinite(position->rh_frac[k]) && isfinite(room_pa) && isfinite(liquid_c[k]);
        for (size_t t = 0; t < STV__TAUS; t++) {
            if (is_known)
                node_hour_of(functions, liquid_c[t * hours->n + k] + member->liquid_offset_k,
                             room_pa, rh_frac, &hours->at[k][t]);
            else
                hours->at[k][t] = (struct node_hour){.pressure_rel_nd = (double)NAN};
        }
    }
    relate_pressures(hours);
}

enum stv_status stv__vapour_hours_new(const struct stv_position *position,
                                      const struct stv__vapour_outside *outside,
                                      const struct stv_climate_member *member,
                                      const struct stv__cask_functions *functions,
                                      struct stv__vapour_hours **out)
{
    size_t n = position->grid.n;
    struct stv__vapour_hours *hours = calloc(1, sizeof *hours);
    double *liquid_c = malloc(STV__TAUS * n * sizeof *liquid_c + 1);
    *out = hours;
    if (hours)
        hours->at = malloc(n * sizeof *hours->at + 1);
    enum stv_status status = hours && hours->at && liquid_c ? STV_OK : STV_E_MEMORY;
    for (size_t t = 0; t < STV__TAUS && status == STV_OK; t++)
        status = stv_position_liquid_at_c(position, stv__tau_h[t] / outside->exposed_frac,
                                          outside->convective_frac, liquid_c + t * n);
    if (status == STV_OK) {
        hours->n = n;
        fill_hours(position, member, functions, liquid_c, hours);
    } else {
        stv__vapour_hours_free(hours);
        *out = NULL;
    }
    free(liquid_c);
    return status;
}

void stv__vapour_hours_free(struct stv__vapour_hours *hours)
{
    if (!hours)
        return;
    free(hours->at);
    free(hours);
}

void stv__vapour_hours_add(const struct stv__vapour_hours *hours,
                           const struct stv__vapour_load *load, double *inout_kg_h)
{
    for (size_t k = 0; k < hours->n; k++) {
        double kg_h = load->joint_kg_h;
        for (size_t t = 0; t < STV__TAUS; t++) {
            const struct node_hour *at = &hours->at[k][t];
            double wall_kg_h = 0.0;
            for (size_t i = 0; i < STV__NODES; i++)
                wall_kg_h += load->wall_kg_h_pa[t][i] * at->ethanol_pa[i];
            kg_h += exp(-load->permeance_ea_j_mol * at->cooler_mol_j) * wall_kg_h +
                    load->warm_joint_kg_h[t] * at->pressure_rel_nd;
        }
        inout_kg_h[k] += kg_h;
    }
}
