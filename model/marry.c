/* Ethanol and water are added up by mass; litres, strength and water follow.  The age is that of
 * the youngest part, whatever its share. */
#include "model/marry.h"

#include <math.h>
#include <stdbool.h>

#include "model/calendar.h"
#include "model/reduce.h"
#include "model/spirit.h"

#define LOSS_MOST_FRAC 0.5

/* Water that rounding alone asks for is none. */
#define ROUNDING_FRAC 1e-12

int stv_whole_years(int64_t since_day_d, int64_t until_day_d)
{
    struct stv_date since = stv_date_from_day(since_day_d);
    struct stv_date until = stv_date_from_day(until_day_d);
    int years = until.year - since.year;
    bool is_before_anniversary =
        until.month < since.month || (until.month == since.month && until.day < since.day);
    return years - is_before_anniversary;
}

/* Adds a part's masses. */
static enum stv_status add_part(const struct stv_marry_part *part, double *ethanol_kg,
                                double *water_kg, double *volume20_l)
{
    if (isnan(part->volume20_l) == isnan(part->mass_kg) || part->age_y < 0.0)
        return STV_E_DOMAIN;
    double mass_frac;
    enum stv_status status = stv_mass_frac_from_abv20(part->abv20_frac, &mass_frac);
    if (status != STV_OK)
        return status;
    double rho20 = stv_spirit_rho20_kg_m3(mass_frac);
    double mass_kg = isnan(part->mass_kg) ? part->volume20_l * rho20 / 1000.0 : part->mass_kg;
    if (!(mass_kg > 0.0 && isfinite(mass_kg)))
        return STV_E_DOMAIN;
    *ethanol_kg += mass_kg * mass_frac;
    *water_kg += mass_kg * (1.0 - mass_frac);
    *volume20_l += 1000.0 * mass_kg / rho20;
    return STV_OK;
}

static double youngest_y(const struct stv_marry_input *input)
{
    double age_y = input->parts[0].age_y;
    for (size_t i = 1; i < input->n_parts; i++) {
        double other_y = input->parts[i].age_y;
        age_y = isnan(age_y) || isnan(other_y) ? (double)NAN : fmin(age_y, other_y);
    }
    return age_y;
}

/* Water to the strength wanted; none when none is wanted, or it is that already. */
static enum stv_status reduce(const struct stv_marry_input *input, double ethanol_kg,
                              struct stv_marriage *out)
{
    double to = isnan(input->to_abv20_frac) ? out->abv20_frac : input->to_abv20_frac, to_mass_frac;
    if (to > out->abv20_frac * (1.0 + ROUNDING_FRAC))
        return STV_E_CONSISTENCY;
    enum stv_status status = stv_mass_frac_from_abv20(to, &to_mass_frac);
    if (status != STV_OK || to_mass_frac <= 0.0)
        return STV_E_DOMAIN;
    bool needs_water = to < out->abv20_frac * (1.0 - ROUNDING_FRAC);
    double bottling_kg = needs_water ? ethanol_kg / to_mass_frac : out->mass_kg;
    out->water_kg = bottling_kg - out->mass_kg;
    out->bottling20_l =
        needs_water ? 1000.0 * bottling_kg / stv_spirit_rho20_kg_m3(to_mass_frac) : out->volume20_l;
    out->bottling_abv20_frac = to;
    double kept_l = out->bottling20_l * (1.0 - input->loss_frac);
    out->bottles_nd =
        isnan(input->bottle_l) ? (double)NAN : stv_bottles_of_volume_nd(kept_l, input->bottle_l);
    return STV_OK;
}

enum stv_status stv_marry_work(const struct stv_marry_input *input, struct stv_marriage *out)
{
    if (!input || !out || !input->parts)
        return STV_E_ARG;
    *out = (struct stv_marriage){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    bool is_fine = input->n_parts > 0 && input->loss_frac >= 0.0 &&
                   input->loss_frac <= LOSS_MOST_FRAC && !(input->bottle_l <= 0.0);
    double ethanol_kg = 0.0, water_kg = 0.0, volume20_l = 0.0;
    enum stv_status status = is_fine ? STV_OK : STV_E_DOMAIN;
    for (size_t i = 0; i < input->n_parts && status == STV_OK; i++)
        status = add_part(&input->parts[i], &ethanol_kg, &water_kg, &volume20_l);
    if (status != STV_OK)
        return status;
    struct stv_spirit_amount amount = stv_spirit_amount(ethanol_kg, water_kg);
    struct stv_marriage made = {
        .mass_kg = ethanol_kg + water_kg,
        .volume20_l = amount.volume20_l,
        .abv20_frac = amount.abv20_frac,
        .lpa_l = amount.lpa_l,
        .sum_of_volumes20_l = volume20_l,
        .age_y = youngest_y(input),
    };
    status = reduce(input, ethanol_kg, &made);
    if (status == STV_OK)
        *out = made;
    return status;
}
