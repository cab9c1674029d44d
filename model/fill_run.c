/* Masses add up, litres do not: the mass in each cask follows from its litres at the temperature of
 * filling, its ethanol comes from the stronger spirit, and the rest of the mass is water. */
#include "model/fill_run.h"

#include <math.h>

#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/units.h"

#define INDRINK_LARGEST_FRAC 0.5

static double closed_pa(const struct stv_fill_input *input, const struct stv_fill *fill)
{
    const struct stv_cask_limit *limit = &input->limit;
    if (input->into_l >= limit->capacity_l)
        return INFINITY;
    double gas_hot_l = limit->capacity_l - fill->volume_hot_l, pressure_pa;
    if (gas_hot_l <= 0.0)
        return INFINITY;
    const struct stv_closed_space closed = {
        .ethanol_mole_frac = stv_mole_frac_from_mass_frac(fill->mass_frac),
        .temp_c = input->filled_at_c,
        .pressure_pa = STV_STANDARD_PRESSURE_PA,
        .gas_l = limit->capacity_l - input->into_l,
    };
    enum stv_status status =
        stv_closed_space_pressure_pa(&closed, limit->hottest_c, gas_hot_l, &pressure_pa);
    return status == STV_OK ? pressure_pa : (double)NAN;
}

static enum stv_status work(const struct stv_fill_input *input, struct stv_fill *out)
{
    const struct stv_cask_limit *limit = &input->limit;
    if (!stv_cask_limit_is_possible(limit) ||
        !(input->n_casks > 0 && input->into_l > 0.0 && input->abv20_frac > 0.0) ||
        !(input->indrink_frac >= 0.0 && input->indrink_frac <= INDRINK_LARGEST_FRAC) ||
        input->into_l > limit->capacity_l)
        return STV_E_DOMAIN;
    if (input->from_abv20_frac < input->abv20_frac)
        return STV_E_CONSISTENCY;
    double from_mass_frac;
    enum stv_status status = stv_mass_frac_from_abv20(input->abv20_frac, &out->mass_frac);
    if (status == STV_OK)
        status = stv_mass_frac_from_abv20(input->from_abv20_frac, &from_mass_frac);
    if (status != STV_OK)
        return status;
    double n_casks = (double)input->n_casks;
    double kg_per_l = 1.0 / stv_spirit_volume_l(1.0, out->mass_frac, input->filled_at_c);
    out->cask_kg = input->into_l * kg_per_l;
    out->into20_l = 1000.0 * out->cask_kg / stv_spirit_rho20_kg_m3(out->mass_frac);
    out->volume_hot_l = stv_spirit_volume_l(out->cask_kg, out->mass_frac, limit->hottest_c);
    if (!isfinite(out->volume_hot_l))
        return STV_E_DOMAIN;
    out->spirit_kg = n_casks * out->cask_kg * out->mass_frac / from_mass_frac;
    out->spirit20_l = 1000.0 * out->spirit_kg / stv_spirit_rho20_kg_m3(from_mass_frac);
    out->water_kg = n_casks * out->cask_kg - out->spirit_kg;
    out->lpa_l = n_casks * out->into20_l * input->abv20_frac;
    out->volume_hot_after_indrink_l = out->volume_hot_l * (1.0 - input->indrink_frac);
    out->most_full_l = stv_most_full_l(limit, out->mass_frac, input->filled_at_c, limit->room_frac);
    out->fits = stv_fits(limit, fmax(out->volume_hot_l, input->into_l));
    out->closed_pa = isnan(limit->capacity_l) ? (double)NAN : closed_pa(input, out);
    out->is_extrapolated = stv_spirit_is_extrapolated(fmax(limit->hottest_c, input->filled_at_c));
    return STV_OK;
}

enum stv_status stv_fill_work(const struct stv_fill_input *input, struct stv_fill *out)
{
    if (!input || !out)
        return STV_E_ARG;
    struct stv_fill fill = {0};
    enum stv_status status = work(input, &fill);
    if (status != STV_OK)
        fill =
            (struct stv_fill){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, false, NAN, false};
    *out = fill;
    return status;
}
