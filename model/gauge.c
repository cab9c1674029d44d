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

/* The formula at the temperatures that a gauge needs. */
struct grounds {
    struct stv_spirit_at reference; /* of the instrument */
    struct stv_spirit_at spirit;
    struct stv_spirit_at us; /* 60 F */
};

static enum stv_status prepare(const struct stv_strength_reading *reading, double temp_c,
                               struct grounds *out)
{
    enum stv_status status = stv_spirit_at(temp_c, &out->spirit);
    if (status == STV_OK)
        status = stv_spirit_at(STV_60F_C, &out->us);
    out->reference = out->us;
    bool is_other = reading->instrument != STV_CORRECTED && reading->reference_c != STV_60F_C;
    if (status == STV_OK && is_other)
        status = stv_spirit_at(reading->reference_c, &out->reference);
    return status;
}

/* Density of the spirit in which a hydrometer shows a mass fraction. */
static double floating_rho_kg_m3(const struct stv_strength_reading *reading,
                                 const struct grounds *grounds)
{
    double grown = STV_GLASS_PER_K * (grounds->spirit.temp_c - grounds->reference.temp_c);
    return stv_spirit_at_rho_kg_m3(&grounds->reference, reading->mass_frac) * (1.0 - grown);
}

static enum stv_status find_mass_frac(const struct stv_strength_reading *reading,
                                      const struct grounds *grounds, double *out)
{
    switch (reading->instrument) {
    case STV_HYDROMETER:
        return stv_spirit_at_mass_frac(&grounds->spirit, floating_rho_kg_m3(reading, grounds), out);
    case STV_DENSITY_METER:
        return stv_spirit_at_mass_frac(&grounds->reference, reading->rho_kg_m3, out);
    case STV_CORRECTED:
        break;
    }
    *out = reading->mass_frac;
    return isnan(stv_spirit_at_rho_kg_m3(&grounds->spirit, *out)) ? STV_E_DOMAIN : STV_OK;
}

enum stv_status stv_true_mass_frac(const struct stv_strength_reading *reading, double temp_c,
                                   double *out)
{
    if (!reading || !out)
        return STV_E_ARG;
    struct grounds grounds;
    enum stv_status status = prepare(reading, temp_c, &grounds);
    if (status == STV_OK)
        status = find_mass_frac(reading, &grounds, out);
    if (status != STV_OK)
        *out = NAN;
    return status;
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

static void fill_amounts(const struct stv_gauge_input *input, const struct stv_spirit_at *us,
                         struct stv_gauged *out)
{
    double *value = out->value, rho60f = stv_spirit_at_rho_kg_m3(us, out->mass_frac);
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
static enum stv_status work_values(const struct stv_gauge_input *input,
                                   const struct grounds *grounds, struct stv_gauged *out)
{
    for (int i = 0; i < STV_GAUGE_N; i++)
        out->value[i] = out->error[i] = NAN;
    out->volume_l = NAN;
    enum stv_status status = find_mass_frac(&input->reading, grounds, &out->mass_frac);
    if (status == STV_OK)
        status = reveal(input->obscuration_abv20_frac, &out->mass_frac);
    if (status != STV_OK)
        return status;
    out->rho_kg_m3 = stv_spirit_at_rho_kg_m3(&grounds->spirit, out->mass_frac);
    if (isnan(out->rho_kg_m3))
        return STV_E_DOMAIN; /* a meter's cell was warm, the spirit is frozen */
    out->is_extrapolated = grounds->spirit.is_extrapolated || grounds->reference.is_extrapolated;
    out->value[STV_GAUGE_ABV20_FRAC] = stv_abv20_from_mass_frac(out->mass_frac);
    out->value[STV_GAUGE_US_PROOF_ND] =
        200.0 * stv_spirit_at_vol_frac(&grounds->us, out->mass_frac);
    if (input->by != STV_BY_NOTHING)
        fill_amounts(input, &grounds->us, out);
    return STV_OK;
}

static void add_squares(const struct stv_gauged *moved, const struct stv_gauged *middle,
                        double squares[STV_GAUGE_N])
{
    for (int i = 0; i < STV_GAUGE_N; i++) {
        double change = moved->value[i] - middle->value[i];
        squares[i] += change * change;
    }
}

/* The gauge with its reading moved by its error; the other way when that leaves the scale. */
static enum stv_status move_reading(const struct stv_gauge_input *input,
                                    const struct grounds *grounds, struct stv_gauged *out)
{
    enum stv_status status = STV_E_DOMAIN;
    for (double way = 1.0; way >= -1.0 && status != STV_OK; way -= 2.0) {
        struct stv_gauge_input moved = *input;
        moved.reading.mass_frac += way * moved.reading.error_mass_frac;
        moved.reading.rho_kg_m3 += way * moved.reading.rho_error_kg_m3;
        status = work_values(&moved, grounds, out);
    }
    return status;
}

/* The same with its temperature. */
static enum stv_status move_temp(const struct stv_gauge_input *input, const struct grounds *grounds,
                                 struct stv_gauged *out)
{
    enum stv_status status = STV_E_DOMAIN;
    for (double way = 1.0; way >= -1.0 && status != STV_OK; way -= 2.0) {
        struct stv_gauge_input moved = *input;
        struct grounds there = *grounds;
        moved.temp_c += way * moved.temp_error_k;
        status = stv_spirit_at(moved.temp_c, &there.spirit);
        if (status == STV_OK)
            status = work_values(&moved, &there, out);
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

static enum stv_status work_errors(const struct stv_gauge_input *input,
                                   const struct grounds *grounds, struct stv_gauged *out)
{
    double squares[STV_GAUGE_N] = {0.0};
    struct stv_gauged moved;
    enum stv_status status = move_reading(input, grounds, &moved);
    if (status != STV_OK)
        return status;
    add_squares(&moved, out, squares);
    double by_reading = squares[STV_GAUGE_ABV20_FRAC];
    status = move_temp(input, grounds, &moved);
    if (status != STV_OK)
        return status;
    add_squares(&moved, out, squares);
    out->strength_error_of_reading_frac = sqrt(by_reading);
    out->strength_error_of_temp_frac = sqrt(squares[STV_GAUGE_ABV20_FRAC] - by_reading);
    if (input->by != STV_BY_NOTHING)
        add_amount_squares(input, out, squares);
    for (int i = 0; i < STV_GAUGE_N; i++)
        out->error[i] = isnan(out->value[i]) ? (double)NAN : sqrt(squares[i]);
    return STV_OK;
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
    struct grounds grounds;
    enum stv_status status = has_amount(input) ? STV_OK : STV_E_DOMAIN;
    if (status == STV_OK)
        status = prepare(&input->reading, input->temp_c, &grounds);
    if (status == STV_OK)
        status = work_values(input, &grounds, out);
    if (status == STV_OK)
        status = work_errors(input, &grounds, out);
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
