/* A hydrometer sinks until it has moved its own weight, so it names the density of the spirit
 * whatever made it so; its glass has grown with warmth.  From that density and the temperature
 * R 22 gives the strength; strength and mass give every other amount at 20 C and 60 F. */
#include "model/gauge.h"

#include <math.h>

#include "model/units.h"

#define REFERENCE_C 20.0

double stv_vessel_volume_l(double volume_l, double per_k, double reference_c, double temp_c)
{
    return volume_l * (1.0 + per_k * (temp_c - reference_c));
}

double stv_mass_from_net_kg(double net_in_air_kg, double rho_kg_m3)
{
    return net_in_air_kg * (1.0 - STV_GAUGE_AIR_KG_M3 / STV_GAUGE_WEIGHTS_KG_M3) /
           (1.0 - STV_GAUGE_AIR_KG_M3 / rho_kg_m3);
}

double stv_net_from_mass_kg(double mass_kg, double rho_kg_m3)
{
    return mass_kg / stv_mass_from_net_kg(1.0, rho_kg_m3);
}

/* Density of the spirit at temp_c in which a hydrometer shows a mass fraction. */
static double floating_rho_kg_m3(const struct stv_strength_reading *reading, double temp_c)
{
    struct stv_spirit_at reference;
    if (stv_spirit_at(reading->reference_c, &reference) != STV_OK)
        return NAN;
    double grown = STV_GLASS_PER_K * (temp_c - reading->reference_c);
    return stv_spirit_at_rho_kg_m3(&reference, reading->mass_frac) * (1.0 - grown);
}

enum stv_status stv_true_mass_frac(const struct stv_strength_reading *reading, double temp_c,
                                   double *out)
{
    if (!reading || !out)
        return STV_E_ARG;
    *out = NAN;
    bool is_meter = reading->instrument == STV_DENSITY_METER;
    struct stv_spirit_at at;
    enum stv_status status = stv_spirit_at(is_meter ? reading->reference_c : temp_c, &at);
    if (status != STV_OK)
        return status;
    if (is_meter)
        return stv_spirit_at_mass_frac(&at, reading->rho_kg_m3, out);
    if (reading->instrument == STV_HYDROMETER)
        return stv_spirit_at_mass_frac(&at, floating_rho_kg_m3(reading, temp_c), out);
    if (isnan(stv_spirit_at_rho_kg_m3(&at, reading->mass_frac)))
        return STV_E_DOMAIN;
    *out = reading->mass_frac;
    return STV_OK;
}

static enum stv_status reveal(double obscuration_abv20_frac, double *mass_frac)
{
    if (obscuration_abv20_frac == 0.0)
        return STV_OK;
    if (!(obscuration_abv20_frac > 0.0))
        return STV_E_DOMAIN;
    return stv_mass_frac_from_abv20(stv_abv20_from_mass_frac(*mass_frac) + obscuration_abv20_frac,
                                    mass_frac);
}

static void fill_amounts(const struct stv_gauge_input *input, struct stv_gauged *out)
{
    double *value = out->value;
    struct stv_spirit_at at60f;
    enum stv_status status = stv_spirit_at(STV_60F_C, &at60f);
    double rho60f =
        status == STV_OK ? stv_spirit_at_rho_kg_m3(&at60f, out->mass_frac) : (double)NAN;
    if (input->by == STV_BY_WEIGHT) {
        value[STV_GAUGE_MASS_KG] = stv_mass_from_net_kg(input->net_in_air_kg, out->rho_kg_m3);
        out->volume_l = 1000.0 * value[STV_GAUGE_MASS_KG] / out->rho_kg_m3;
    } else if (input->by == STV_BY_VOLUME) {
        out->volume_l =
            stv_vessel_volume_l(input->volume_l, input->vessel_per_k, REFERENCE_C, input->temp_c);
        value[STV_GAUGE_MASS_KG] = out->volume_l * out->rho_kg_m3 / 1000.0;
    }
    double mass_kg = value[STV_GAUGE_MASS_KG];
    value[STV_GAUGE_NET_IN_AIR_KG] = stv_net_from_mass_kg(mass_kg, out->rho_kg_m3);
    value[STV_GAUGE_VOLUME20_L] = 1000.0 * mass_kg / stv_spirit_rho20_kg_m3(out->mass_frac);
    value[STV_GAUGE_LPA_L] = 1000.0 * mass_kg * out->mass_frac / STV_ETHANOL_RHO20_KG_M3;
    value[STV_GAUGE_WINE_GAL] = 1000.0 * mass_kg / rho60f / STV_WINE_GALLON_L;
    value[STV_GAUGE_PROOF_GAL] = value[STV_GAUGE_WINE_GAL] * value[STV_GAUGE_US_PROOF_ND] / 100.0;
}

/* Everything but the errors. */
static enum stv_status work_values(const struct stv_gauge_input *input, struct stv_gauged *out)
{
    for (int i = 0; i < STV_GAUGE_N; i++)
        out->value[i] = out->error[i] = NAN;
    out->volume_l = NAN;
    struct stv_spirit_at at;
    enum stv_status status = stv_true_mass_frac(&input->reading, input->temp_c, &out->mass_frac);
    if (status == STV_OK)
        status = reveal(input->obscuration_abv20_frac, &out->mass_frac);
    if (status == STV_OK)
        status = stv_spirit_at(input->temp_c, &at);
    if (status != STV_OK)
        return status;
    out->rho_kg_m3 = stv_spirit_at_rho_kg_m3(&at, out->mass_frac);
    if (isnan(out->rho_kg_m3))
        return STV_E_DOMAIN; /* a meter's cell was warm, the spirit is frozen */
    out->is_extrapolated = at.is_extrapolated;
    out->value[STV_GAUGE_ABV20_FRAC] = stv_abv20_from_mass_frac(out->mass_frac);
    out->value[STV_GAUGE_US_PROOF_ND] = stv_us_proof_nd(out->mass_frac);
    if (input->by != STV_BY_NOTHING)
        fill_amounts(input, out);
    return STV_OK;
}

/* Squares of what one changed input does to every value.  A change that leaves the scale is taken
 * the other way. */
static enum stv_status add_squares(const struct stv_gauge_input *plus,
                                   const struct stv_gauge_input *minus,
                                   const struct stv_gauged *middle, double squares[STV_GAUGE_N])
{
    struct stv_gauged moved;
    enum stv_status status = work_values(plus, &moved);
    if (status != STV_OK)
        status = work_values(minus, &moved);
    for (int i = 0; i < STV_GAUGE_N && status == STV_OK; i++) {
        double change = moved.value[i] - middle->value[i];
        squares[i] += change * change;
    }
    return status;
}

static void add_amount_squares(const struct stv_gauge_input *input, const struct stv_gauged *middle,
                               double squares[STV_GAUGE_N])
{
    double relative = input->by == STV_BY_WEIGHT ? input->net_error_kg / input->net_in_air_kg
                                                 : input->volume_error_l / input->volume_l;
    for (int i = STV_GAUGE_NET_IN_AIR_KG; i < STV_GAUGE_N; i++)
        squares[i] += relative * relative * middle->value[i] * middle->value[i];
}

static enum stv_status work_errors(const struct stv_gauge_input *input, struct stv_gauged *out)
{
    double squares[STV_GAUGE_N] = {0.0};
    struct stv_gauge_input plus = *input, minus = *input;
    plus.reading.mass_frac += plus.reading.error_mass_frac;
    plus.reading.rho_kg_m3 += plus.reading.rho_error_kg_m3;
    minus.reading.mass_frac -= minus.reading.error_mass_frac;
    minus.reading.rho_kg_m3 -= minus.reading.rho_error_kg_m3;
    enum stv_status status = add_squares(&plus, &minus, out, squares);
    out->strength_error_of_reading_frac = sqrt(squares[STV_GAUGE_ABV20_FRAC]);
    plus = minus = *input;
    plus.temp_c += plus.temp_error_k;
    minus.temp_c -= minus.temp_error_k;
    if (status == STV_OK)
        status = add_squares(&plus, &minus, out, squares);
    double from_reading = out->strength_error_of_reading_frac;
    out->strength_error_of_temp_frac =
        sqrt(fmax(0.0, squares[STV_GAUGE_ABV20_FRAC] - from_reading * from_reading));
    if (input->by != STV_BY_NOTHING)
        add_amount_squares(input, out, squares);
    for (int i = 0; i < STV_GAUGE_N; i++)
        out->error[i] = isnan(out->value[i]) ? (double)NAN : sqrt(squares[i]);
    return status;
}

static bool has_amount(const struct stv_gauge_input *input)
{
    switch (input->by) {
    case STV_BY_NOTHING:
        return true;
    case STV_BY_WEIGHT:
        return input->net_in_air_kg > 0.0 && isfinite(input->net_in_air_kg);
    case STV_BY_VOLUME:
        return input->volume_l > 0.0 && isfinite(input->volume_l);
    }
    return false;
}

enum stv_status stv_gauge_work(const struct stv_gauge_input *input, struct stv_gauged *out)
{
    if (!input || !out)
        return STV_E_ARG;
    enum stv_status status = has_amount(input) ? work_values(input, out) : STV_E_DOMAIN;
    if (status == STV_OK)
        status = work_errors(input, out);
    if (status != STV_OK) {
        for (int i = 0; i < STV_GAUGE_N; i++)
            out->value[i] = out->error[i] = NAN;
        out->mass_frac = out->rho_kg_m3 = out->volume_l = NAN;
        out->strength_error_of_reading_frac = out->strength_error_of_temp_frac = NAN;
    }
    out->uk_proof_nd = stv_uk_proof_nd(out->mass_frac);
    out->abv60f_frac = out->value[STV_GAUGE_US_PROOF_ND] / 200.0;
    bool has_scale = status == STV_OK && input->reading.instrument != STV_DENSITY_METER;
    out->shown_abv20_frac =
        has_scale ? stv_abv20_from_mass_frac(input->reading.mass_frac) : (double)NAN;
    return status;
}
