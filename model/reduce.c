/* What is added brings p_r of ethanol by mass: (m p + a p_r) = (m + a) p', so that
 * a = m (p - p') / (p' - p_r).  Litres follow from the masses; they do not add up. */
#include "model/reduce.h"

#include <math.h>

#include "model/spirit.h"

/* So that 356.0 computed as 355.9999999999 is 356 bottles. */
#define ROUNDING_BOTTLES 1e-9

double stv_bottles_of_volume_nd(double volume20_l, double bottle_l)
{
    return fmax(0.0, floor(volume20_l / bottle_l + ROUNDING_BOTTLES));
}

static double added_kg(double mass_kg, double from_mass_frac, double to_mass_frac,
                       double with_mass_frac)
{
    return mass_kg * (from_mass_frac - to_mass_frac) / (to_mass_frac - with_mass_frac);
}

static enum stv_status check(const struct stv_reduce_input *input)
{
    if (!(input->volume_l > 0.0 && isfinite(input->volume_l)) || input->n_steps < 1 ||
        input->n_steps > STV_REDUCE_STEPS_MAX || !stv_cask_limit_is_possible(&input->limit))
        return STV_E_DOMAIN;
    if (input->to_abv20_frac >= input->from_abv20_frac ||
        input->to_abv20_frac <= input->with_abv20_frac)
        return STV_E_CONSISTENCY;
    return STV_OK;
}

/* Where the mass stands before a step. */
struct state {
    double mass_kg, mass_frac;
};

/* Mass fraction after step k (from 1) when every step takes the same points of strength. */
static enum stv_status aim(const struct stv_reduce_input *input, size_t k, double *out_mass_frac)
{
    double done = (double)k / (double)input->n_steps;
    double abv20_frac =
        input->from_abv20_frac + done * (input->to_abv20_frac - input->from_abv20_frac);
    return stv_mass_frac_from_abv20(abv20_frac, out_mass_frac);
}

static void take_step(const struct stv_reduce_input *input, double kg, double with_mass_frac,
                      struct state *state, struct stv_reduce_step *out)
{
    double ethanol_kg = state->mass_kg * state->mass_frac + kg * with_mass_frac;
    state->mass_kg += kg;
    state->mass_frac = ethanol_kg / state->mass_kg;
    *out = (struct stv_reduce_step){
        .added_kg = kg,
        .added20_l = 1000.0 * kg / stv_spirit_rho20_kg_m3(with_mass_frac),
        .water_kg = input->with_abv20_frac > 0.0 ? 0.0 : kg,
        .volume20_l = 1000.0 * state->mass_kg / stv_spirit_rho20_kg_m3(state->mass_frac),
        .abv20_frac = stv_abv20_from_mass_frac(state->mass_frac),
        .volume_hot_l =
            stv_spirit_volume_l(state->mass_kg, state->mass_frac, input->limit.hottest_c),
    };
    out->fits = stv_fits(&input->limit, out->volume_hot_l);
}

static enum stv_status work(const struct stv_reduce_input *input, struct stv_reduce_step *out_steps)
{
    struct state state;
    double with_mass_frac = 0.0, to_mass_frac = 0.0;
    enum stv_status status = check(input);
    if (status == STV_OK)
        status = stv_mass_frac_from_abv20(input->from_abv20_frac, &state.mass_frac);
    if (status == STV_OK)
        status = stv_mass_frac_from_abv20(input->with_abv20_frac, &with_mass_frac);
    if (status == STV_OK)
        status = stv_mass_frac_from_abv20(input->to_abv20_frac, &to_mass_frac);
    if (status != STV_OK)
        return status;
    state.mass_kg = input->volume_l / stv_spirit_volume_l(1.0, state.mass_frac, input->temp_c);
    if (!isfinite(state.mass_kg))
        return STV_E_DOMAIN;
    double equal_kg = added_kg(state.mass_kg, state.mass_frac, to_mass_frac, with_mass_frac) /
                      (double)input->n_steps;
    for (size_t k = 1; k <= input->n_steps; k++) {
        double kg = equal_kg, next_mass_frac;
        if (!input->has_equal_additions) {
            status = aim(input, k, &next_mass_frac);
            if (status != STV_OK)
                return status;
            kg = added_kg(state.mass_kg, state.mass_frac, next_mass_frac, with_mass_frac);
        }
        take_step(input, kg, with_mass_frac, &state, &out_steps[k - 1]);
        if (!isfinite(out_steps[k - 1].volume_hot_l))
            return STV_E_DOMAIN;
    }
    return STV_OK;
}

enum stv_status stv_reduce_work(const struct stv_reduce_input *input,
                                struct stv_reduce_step *out_steps)
{
    if (!input || !out_steps)
        return STV_E_ARG;
    enum stv_status status = work(input, out_steps);
    for (size_t k = 0; status != STV_OK && k < input->n_steps && k < STV_REDUCE_STEPS_MAX; k++)
        out_steps[k] = (struct stv_reduce_step){NAN, NAN, NAN, NAN, NAN, NAN, false};
    return status;
}
