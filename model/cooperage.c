/* Casks as vessels: wall areas, staves and thermal mass by capacity.
 *
 * Sizes between the rows of the table go linearly in the logarithm of the capacity; outside they
 * keep the nearest row's shape, so areas and wood grow as capacity^(2/3).  The heat of a cask is
 *     C dT/dt = UA (T_around - T),  C = V rho cp + 0.6 x wood x 1700,
 *     1/UA = 1/(h_in A_in) + s/(k A_mid) + 1/(h_out A_out)
 * with the outer 40 % of the wood taken to follow the air.  Bilge, bung and hoops, and layers of
 * warm over cold spirit, are left out.
 */
#include "model/cooperage.h"

#include <math.h>
#include <stddef.h>

#include "model/spirit.h"
#include "model/units.h"

#define CAPACITY_LOW_L 1.0
#define CAPACITY_HIGH_L 1000.0
#define STAVE_LOW_MM 10.0
#define STAVE_HIGH_MM 60.0
#define SURFACE_EXPONENT_ND (2.0 / 3.0)

#define HEAT_REFERENCE_C 20.0

/* 60 halvings of pi reach the rounding of an angle. */
#define SEGMENT_HALVINGS 60

/* Where Melinder ends; stronger spirit goes on a straight line to pure ethanol. */
#define MELINDER_HIGH_FRAC 0.60

#define PI 3.14159265358979323846

#define CASK_SIZES_N 6

/* Capacities of the rows of the size table.  Source: model/cask_numbers.h */
static const double size_capacity_l[CASK_SIZES_N] = {50.0, 100.0, 200.0, 225.0, 250.0, 500.0};

struct size_columns {
    double inner_area_m2[CASK_SIZES_N], stave_mm[CASK_SIZES_N], wood_kg[CASK_SIZES_N];
};

static struct size_columns columns_of(const struct stv_cask_numbers *numbers)
{
#define COLUMN(what)                                                                           \
    {                                                                                          \
        numbers->cask_50_l_##what, numbers->cask_100_l_##what, numbers->cask_200_l_##what,     \
            numbers->cask_225_l_##what, numbers->cask_250_l_##what, numbers->cask_500_l_##what \
    }
    return (struct size_columns){COLUMN(area_m2), COLUMN(stave_mm), COLUMN(wood_kg)};
#undef COLUMN
}

/* Value of a column at a capacity between the first and last rows. */
static double between_rows(const double *column, double capacity_l)
{
    size_t row = 0;
    while (row + 2 < CASK_SIZES_N && capacity_l > size_capacity_l[row + 1])
        row++;
    double share = log(capacity_l / size_capacity_l[row]) /
                   log(size_capacity_l[row + 1] / size_capacity_l[row]);
    return column[row] + share * (column[row + 1] - column[row]);
}

/* Areas and wood depend on the capacity as (V/V_row)^(2/3) beyond the row at the table's end. */
static void fill_sizes(double capacity_l, const struct stv_cask_numbers *numbers,
                       struct stv_cask_geometry *out)
{
    double first_l = size_capacity_l[0], last_l = size_capacity_l[CASK_SIZES_N - 1];
    double inside_l = fmin(fmax(capacity_l, first_l), last_l);
    double scale = pow(capacity_l / inside_l, SURFACE_EXPONENT_ND);
    struct size_columns columns = columns_of(numbers);
    out->capacity_l = capacity_l;
    out->inner_area_m2 = scale * between_rows(columns.inner_area_m2, inside_l);
    out->mid_area_m2 = numbers->mid_per_inner_area_nd * out->inner_area_m2;
    out->outer_area_m2 = numbers->outer_per_inner_area_nd * out->inner_area_m2;
    out->stave_mm = between_rows(columns.stave_mm, inside_l);
    out->wood_kg = scale * between_rows(columns.wood_kg, inside_l);
}

enum stv_status stv_cask_geometry(double capacity_l, double stave_mm,
                                  const struct stv_cask_numbers *numbers,
                                  struct stv_cask_geometry *out)
{
    if (!out)
        return STV_E_ARG;
    *out = (struct stv_cask_geometry){NAN, NAN, NAN, NAN, NAN, NAN};
    if (!(capacity_l >= CAPACITY_LOW_L && capacity_l <= CAPACITY_HIGH_L))
        return STV_E_DOMAIN;
    if (!isnan(stave_mm) && !(stave_mm >= STAVE_LOW_MM && stave_mm <= STAVE_HIGH_MM))
        return STV_E_DOMAIN;
    fill_sizes(capacity_l, numbers, out);
    if (!isnan(stave_mm))
        out->stave_mm = stave_mm;
    return STV_OK;
}

double stv_cask_wetted_frac(double full_frac, const struct stv_cask_numbers *numbers)
{
    if (isnan(full_frac))
        return NAN;
    /* The two heads of a straight cylinder, as a share of its wall. */
    double head_frac = 1.0 / (1.0 + 2.0 * numbers->cask_length_per_diameter_nd);
    double full = fmin(fmax(full_frac, 0.0), 1.0);
    /* A segment of half angle a covers (a - sin a cos a)/pi of the circle and a/pi of its rim. */
    double low_rad = 0.0, high_rad = PI;
    for (int step = 0; step < SEGMENT_HALVINGS; step++) {
        double middle_rad = 0.5 * (low_rad + high_rad);
        if (middle_rad - sin(middle_rad) * cos(middle_rad) < PI * full)
            low_rad = middle_rad;
        else
            high_rad = middle_rad;
    }
    double girth_frac = 0.5 * (low_rad + high_rad) / PI;
    return (1.0 - head_frac) * girth_frac + head_frac * full;
}

/* Heat capacity at 20 C of spirit of any strength; NaN outside 0..1. */
static double liquid_cp_j_kgk(double ethanol_mass_frac, const struct stv_cask_numbers *numbers)
{
    double cp_j_kgk, known_frac = fmin(ethanol_mass_frac, MELINDER_HIGH_FRAC);
    if (stv_spirit_cp_j_kgk(known_frac, HEAT_REFERENCE_C, &cp_j_kgk) != STV_OK)
        return NAN;
    double beyond = (ethanol_mass_frac - known_frac) / (1.0 - MELINDER_HIGH_FRAC);
    return cp_j_kgk + beyond * (numbers->ethanol_cp20_j_kgk - cp_j_kgk);
}

double stv_cask_heat_capacity_j_k(const struct stv_cask_geometry *cask, double volume20_l,
                                  double abv20_frac, const struct stv_cask_numbers *numbers)
{
    double wood_j_k = numbers->wood_with_liquid_frac * cask->wood_kg * numbers->oak_cp_j_kgk;
    double ethanol_kg, water_kg;
    if (volume20_l == 0.0)
        return wood_j_k;
    if (stv_spirit_masses_kg(volume20_l, abv20_frac, &ethanol_kg, &water_kg) != STV_OK)
        return NAN;
    double liquid_kg = ethanol_kg + water_kg;
    return liquid_kg * liquid_cp_j_kgk(ethanol_kg / liquid_kg, numbers) + wood_j_k;
}

double stv_cask_conductance_w_k(const struct stv_cask_geometry *cask,
                                const struct stv_cask_numbers *numbers)
{
    double outside_w_m2k =
        numbers->outside_film_convective_w_m2k + numbers->outside_film_radiative_w_m2k;
    double inside_k_w = 1.0 / (numbers->inside_film_w_m2k * cask->inner_area_m2);
    double stave_k_w =
        cask->stave_mm / 1000.0 / (numbers->oak_conductivity_w_mk * cask->mid_area_m2);
    double outside_k_w = 1.0 / (outside_w_m2k * cask->outer_area_m2);
    return 1.0 / (inside_k_w + stave_k_w + outside_k_w);
}

double stv_cask_time_constant_h(const struct stv_cask_geometry *cask, double volume20_l,
                                double abv20_frac, const struct stv_cask_numbers *numbers)
{
    return stv_cask_heat_capacity_j_k(cask, volume20_l, abv20_frac, numbers) /
           stv_cask_conductance_w_k(cask, numbers) / STV_HOUR_S;
}

double stv_cask_convective_frac(const struct stv_cask_numbers *numbers)
{
    return numbers->outside_film_convective_w_m2k /
           (numbers->outside_film_convective_w_m2k + numbers->outside_film_radiative_w_m2k);
}
