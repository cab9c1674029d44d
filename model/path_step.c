/* Between events a cask feels one table step after another.  Masses go by the midpoint rule,
 * pools and esters by their exponentials at the midpoint's volume and strength. */
#include "model/path_step.h"

#include "model/calendar.h"
#include "model/cooperage.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>

#define YEAR_D 365.0

/* What stays the same while a cask stays in one place. */
struct stretch {
    const struct stv_climate_table *table;
    const struct stv__cask_functions *functions;
    const struct stv_cask_geometry *geometry;
    const struct stv_params *params;
    const struct stv_cask_numbers *numbers;
    double ethanol_kg_d_pa, water_kg_d_pa; /* wall times permeance: kg per day and pascal */
    double joints_per_d;
};

static struct stretch stretch_of(const struct stv_path_input *input, size_t cask_idx,
                                 size_t position_idx)
{
    const struct stv_params *params = &input->params[cask_idx];
    const struct stv_cask_geometry *geometry = &input->ledger->casks[cask_idx].geometry;
    double wall_m2 = geometry->mid_area_m2 * params->area_factor_nd *
                     stv_dry_wood_factor_nd(geometry, params, input->numbers);
    double mol_d_pa = wall_m2 * params->water_permeance_mol_m2spa * STV_DAY_S;
    return (struct stretch){
        .table = input->tables[position_idx],
        .functions = input->functions,
        .geometry = geometry,
        .params = params,
        .numbers = input->numbers,
        .water_kg_d_pa = mol_d_pa * STV_WATER_KG_MOL,
        .ethanol_kg_d_pa = mol_d_pa / params->permeance_ratio_nd * STV_ETHANOL_KG_MOL,
        .joints_per_d = stv_neutral_loss_per_y(geometry, params, input->numbers) / STV_YEAR_D,
    };
}

/* A cask that holds less is quicker: the step's climate at the liquid's present time constant. */
static void feel_step(const struct stretch *stretch, size_t data_idx,
                      const struct stv_spirit_amount *amount, struct stv_step_climate *out)
{
    double tau_h = stv_cask_time_constant_h(stretch->geometry, amount->volume20_l,
                                            amount->abv20_frac, stretch->numbers) *
                   stretch->params->time_constant_factor_nd;
    struct stv_table_weights weights =
        stv_table_weights(stretch->table, tau_h, stretch->params->permeance_ea_j_mol);
    stv_table_step(stretch->table, data_idx, &weights, out);
}

/* The record's own step of that year, else the same step of a year drawn for it. */
static size_t data_of(const struct stv_path_input *input, const struct stv_climate_table *table,
                      int32_t year, size_t step_idx)
{
    size_t data = stv_table_find(table, year, step_idx);
    if (data != SIZE_MAX)
        return data;
    size_t n_whole;
    const int32_t *whole = stv_table_whole_years(table, &n_whole);
    uint64_t calendar_key = (uint64_t)(int64_t)year;
    double u = stv_draw_uniform_nd(input->seed, stv_key_of("weather year"), input->member_idx,
                                   calendar_key);
    size_t most = n_whole ? n_whole : (size_t)INT16_MAX;
    size_t pick = (size_t)(u * (double)most);
    if (input->is_central) {
        int64_t period = (int64_t)most;
        int64_t turn = ((int64_t)year - (n_whole ? whole[0] : 0)) % period;
        pick = (size_t)(turn < 0 ? turn + period : turn);
    }
    if (n_whole)
        return stv_table_find(table, whole[pick], step_idx);
    return stv_table_find_any(table, pick, step_idx);
}

struct mass_rates {
    double air_ethanol, air_water, joint_ethanol, joint_water; /* kg/d */
};

static double held_mole_frac(double ethanol_mole_frac)
{
    return fmin(STV_TABLE_MOST_MOLE_FRAC, fmax(STV_TABLE_LEAST_MOLE_FRAC, ethanol_mole_frac));
}

static double mole_frac_of(double ethanol_kg, double water_kg)
{
    return stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg));
}

/* An error of the water activity: the fluxes are those of a liquid of that activity, but for the
 * ethanol pressure, which stays the liquid's own.  Both hardly move within a step. */
struct activity_error {
    double shift;         /* of the mole fraction */
    double ethanol_ratio; /* of the ethanol activities at 20 C */
};

static struct activity_error activity_error(const struct stretch *stretch,
                                            const struct stv_cask_state *state)
{
    double offset = stretch->params->water_activity_offset_nd;
    if (offset == 0.0)
        return (struct activity_error){0.0, 1.0};
    double x = held_mole_frac(mole_frac_of(state->ethanol_kg, state->water_kg));
    double moved = stv__mole_frac_at_offset(stretch->functions, x, offset);
    return (struct activity_error){moved - x,
                                   stv__ethanol_activity20_nd(stretch->functions, x) /
                                       stv__ethanol_activity20_nd(stretch->functions, moved)};
}

/* Beyond the tables' strengths (the last litres of a leaking cask) the fluxes are those at the end
 * of the range, that of the species that runs out in proportion to what is left of it, and the
 * state remembers it. */
static struct mass_rates rates_at(const struct stretch *stretch,
                                  const struct stv_step_climate *climate, double ethanol_kg,
                                  double water_kg, const struct activity_error *error,
                                  bool *out_is_held)
{
    double own = mole_frac_of(ethanol_kg, water_kg);
    double x = held_mole_frac(own);
    *out_is_held |= x != own;
    struct stv_step_flux flux =
        stv_step_flux(stretch->table, climate, held_mole_frac(x + error->shift));
    flux.ethanol_pa *= error->ethanol_ratio;
    if (own < x)
        flux.ethanol_pa *= own / x;
    if (own > x && flux.water_pa > 0.0)
        flux.water_pa *= (1.0 - own) / (1.0 - x);
    double share = stretch->params->neutral_temp_share_frac;
    double joints_per_d =
        stretch->joints_per_d * (1.0 - share + share * climate->ethanol_pressure_rel_nd);
    return (struct mass_rates){
        .air_ethanol = stretch->ethanol_kg_d_pa * flux.ethanol_pa,
        .air_water = stretch->water_kg_d_pa * flux.water_pa,
        .joint_ethanol = joints_per_d * ethanol_kg,
        .joint_water = joints_per_d * water_kg,
    };
}

/* Share of the whole indrink that has happened after an age. */
static double indrink_share(const struct stv_cask_numbers *numbers, double age_d)
{
    double fast = numbers->indrink_fast_frac;
    return fast * fmin(1.0, age_d / numbers->indrink_fast_d) +
           (1.0 - fast) * -expm1(-age_d / numbers->indrink_slow_d);
}

static void take_indrink(const struct stv_cask_numbers *numbers, double age_d, double step_d,
                         struct stv_cask_state *state)
{
    if (state->indrink_total_l <= 0.0)
        return;
    struct stv_spirit_amount amount = stv_spirit_amount(state->ethanol_kg, state->water_kg);
    double taken_l = state->indrink_total_l *
                     (indrink_share(numbers, age_d + step_d) - indrink_share(numbers, age_d));
    double part = fmin(1.0, taken_l / amount.volume20_l);
    state->losses.indrink_ethanol_kg += part * state->ethanol_kg;
    state->losses.indrink_water_kg += part * state->water_kg;
    state->gone_ethanol_kg += part * state->ethanol_kg;
    state->gone_water_kg += part * state->water_kg;
    state->ethanol_kg *= 1.0 - part;
    state->water_kg *= 1.0 - part;
    state->ester_mg *= 1.0 - part;
    for (size_t k = 0; k < STV_OAK_N; k++)
        state->content_mg[k] *= 1.0 - part;
    double given_kg =
        state->damp_water_kg * (fmin(1.0, (age_d + step_d) / numbers->indrink_fast_d) -
                                fmin(1.0, age_d / numbers->indrink_fast_d));
    state->water_kg += given_kg;
    state->in_water_kg += given_kg;
}

static void advance_quality(const struct stretch *stretch, const struct stv_step_climate *climate,
                            double ethanol_kg, double water_kg, double step_d,
                            struct stv_cask_state *state)
{
    const struct stv_params *params = stretch->params;
    struct stv_spirit_amount amount = stv_spirit_amount(ethanol_kg, water_kg);
    const struct stv_cask_numbers *numbers = stretch->numbers;
    struct stv_oak_step step = {
        .step_d = step_d,
        .wall_m2 = stretch->geometry->inner_area_m2 * params->area_factor_nd,
        .volume20_l = amount.volume20_l,
        .abv20_frac = amount.abv20_frac,
    };
    step.wetted_m2 =
        step.wall_m2 *
        stv__wetted_frac(stretch->functions, amount.volume20_l / stretch->geometry->capacity_l);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants oak = stv_oak_constants_of(numbers, (enum stv_oak_kind)k);
        step.fast_nd[k] =
            stv_step_arrhenius20_nd(climate, stv_oak_ea_j_mol(oak.fast_ea_j_mol, params, numbers));
        step.slow_nd[k] =
            stv_step_arrhenius20_nd(climate, stv_oak_ea_j_mol(oak.slow_ea_j_mol, params, numbers));
        step.decay_nd[k] =
            oak.decay_per_y > 0.0 ? stv_step_arrhenius20_nd(climate, oak.decay_ea_j_mol) : 0.0;
    }
    stv_oak_advance(&step, numbers, &state->pools, state->content_mg);

    struct stv_ester_step ester = {
        .step_d = step_d,
        .volume20_l = amount.volume20_l,
        .ethanol_mole_frac = mole_frac_of(ethanol_kg, water_kg),
        .rate_nd = stv_step_arrhenius20_nd(climate, params->ester_ea_j_mol) *
                   stv_arrhenius25_nd(params->ester_ea_j_mol, 20.0),
        .oxidation_nd = stv_step_arrhenius20_nd(climate, numbers->oxidation_ea_j_mol),
    };
    stv_ester_advance(&ester, params, numbers, &state->content_mg[STV_OAK_ACIDS], &state->ester_mg,
                      &state->fruit_nd);
}

static void book(struct stv_cask_state *state, const struct mass_rates *rates, double step_d)
{
    state->losses.air_ethanol_kg += rates->air_ethanol * step_d;
    state->losses.air_water_kg += rates->air_water * step_d;
    state->losses.joint_ethanol_kg += rates->joint_ethanol * step_d;
    state->losses.joint_water_kg += rates->joint_water * step_d;
    state->gone_ethanol_kg += (rates->air_ethanol + rates->joint_ethanol) * step_d;
    state->gone_water_kg += (rates->air_water + rates->joint_water) * step_d;
    state->ethanol_kg -= (rates->air_ethanol + rates->joint_ethanol) * step_d;
    state->water_kg -= (rates->air_water + rates->joint_water) * step_d;
}

static void one_piece(const struct stretch *stretch, size_t data_idx, double age_d, double step_d,
                      struct stv_cask_state *state)
{
    struct stv_step_climate climate;
    take_indrink(stretch->numbers, age_d, step_d, state);
    struct stv_spirit_amount amount = stv_spirit_amount(state->ethanol_kg, state->water_kg);
    if (amount.volume20_l < STV__LEAST_VOLUME_L)
        return;
    feel_step(stretch, data_idx, &amount, &climate);
    struct activity_error error = activity_error(stretch, state);
    struct mass_rates rates = rates_at(stretch, &climate, state->ethanol_kg, state->water_kg,
                                       &error, &state->is_strength_held);
    double half_d = 0.5 * step_d;
    double mid_ethanol_kg = state->ethanol_kg - (rates.air_ethanol + rates.joint_ethanol) * half_d;
    double mid_water_kg = state->water_kg - (rates.air_water + rates.joint_water) * half_d;
    rates =
        rates_at(stretch, &climate, mid_ethanol_kg, mid_water_kg, &error, &state->is_strength_held);
    book(state, &rates, step_d);
    advance_quality(stretch, &climate, mid_ethanol_kg, mid_water_kg, step_d, state);
}

/* The table's step at a moment, and when it ends.  Days count from 1970, local. */
static size_t step_at(const struct stv_climate_table *table, double at_d, int32_t *out_year,
                      double *out_end_d)
{
    size_t n_steps = stv_table_steps(table);
    int32_t year = stv_date_from_day((int64_t)floor(at_d)).year;
    double new_year_d = (double)stv_day_from_date((struct stv_date){year, 1, 1});
    size_t step = (size_t)((at_d - new_year_d) / YEAR_D * (double)n_steps);
    if (step > n_steps - 1)
        step = n_steps - 1;
    /* Where rounding put the moment just before a step's end, that step is over. */
    if (step + 1 < n_steps && new_year_d + stv_table_step_start_d(table, step + 1) <= at_d)
        step++;
    *out_year = year;
    *out_end_d = step + 1 < n_steps ? new_year_d + stv_table_step_start_d(table, step + 1)
                                    : (double)stv_day_from_date((struct stv_date){year + 1, 1, 1});
    return step;
}

void stv__path_advance(const struct stv_path_input *input, size_t cask_idx, int64_t from_day_d,
                       int64_t to_day_d, struct stv_cask_state *state)
{
    struct stretch stretch = stretch_of(input, cask_idx, state->position_idx);
    double at_d = (double)from_day_d;
    while (at_d < (double)to_day_d) {
        int32_t year;
        double end_d;
        size_t step = step_at(stretch.table, at_d, &year, &end_d);
        end_d = fmin(end_d, (double)to_day_d);
        one_piece(&stretch, data_of(input, stretch.table, year, step),
                  at_d - (double)state->wetted_day_d, end_d - at_d, state);
        at_d = end_d;
    }
}
