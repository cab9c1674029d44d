/* Density and strength of ethanol-water.
 *
 * The density is the R 22 polynomial rho(p, t), p the ethanol mass fraction and t the temperature
 * in deg C.  Every measure of strength is a curve of p: % vol is p rho(p, 20) / 789.24, US proof
 * is 200 p rho(p, 60 F) / rho(1, 60 F); the way back is a root of the same curve.  Dissolved
 * solids, the glass of hydrometers and the buoyancy of air are not dealt with here.
 */
#include "model/spirit.h"

#include <math.h>
#include <stdbool.h>

#include "model/tables/oiml_r22.h"
#include "model/units.h"

/* R 22 is stated for -20..40 C; water and ethanol at 50 C still agree with independent equations
 * of state within 0.3 kg/m3, and the mixture's slope bends away after 55 C. */
#define DENSITY_LOW_C (-20.0)
#define DENSITY_HIGH_C 40.0
#define DENSITY_EXTRAPOLATED_HIGH_C 50.0

/* Newton's error is squared at each step, so after a step of 1e-9 only rounding is left.
 * Bisection alone would come that far in 30 steps; the curves are near straight lines and need
 * four or five. */
#define SOLVE_STEP_FRAC 1e-9
#define SOLVE_MAX_STEPS 60

/* Regulation gives 100 proof = 57.1 % vol. */
#define UK_PROOF_PER_PCT_VOL 1.75131

struct curve_point {
    double value, slope; /* of the curve, and per unit of mass fraction */
};

/* Horner value and slope of sum_k c[k] p^k. */
static struct curve_point polynomial(const double *coefficient, int n, double p)
{
    struct curve_point at = {0.0, 0.0};
    for (int k = n - 1; k >= 0; k--) {
        at.slope = at.slope * p + at.value;
        at.value = at.value * p + coefficient[k];
    }
    return at;
}

/* The R 22 density and its slope, unchecked. */
static struct curve_point density_curve(double p, double temp_c)
{
    static const struct {
        const double *coefficient;
        int n;
    } cross[R22_N_C] = {{r22_c1_kg_m3, 11},
                        {r22_c2_kg_m3, 10},
                        {r22_c3_kg_m3, 9},
                        {r22_c4_kg_m3, 4},
                        {r22_c5_kg_m3, 2}};
    struct curve_point at = polynomial(r22_a_kg_m3, R22_N_A, p);
    double above_k = temp_c - R22_REFERENCE_C;
    if (above_k == 0.0)
        return at; /* all other terms carry a power of t - 20 */
    at.value += above_k * polynomial(r22_b_kg_m3, R22_N_B, above_k).value;
    double power = 1.0;
    for (int i = 0; i < R22_N_C; i++) {
        struct curve_point term = polynomial(cross[i].coefficient, cross[i].n, p);
        power *= above_k;
        at.value += power * p * term.value;
        at.slope += power * (term.value + p * term.slope);
    }
    return at;
}

/* Mass of ethanol in a cubic metre of the mixture: the curve behind % vol and proof. */
static struct curve_point ethanol_density_curve(double p, double temp_c)
{
    struct curve_point rho = density_curve(p, temp_c);
    struct curve_point at = {p * rho.value, rho.value + p * rho.slope};
    return at;
}

static bool is_fraction(double value)
{
    return value >= 0.0 && value <= 1.0;
}

/* Mass fraction at which a monotonic curve takes a value, by Newton's method kept inside a
 * shrinking bracket. */
static enum stv_status solve_curve(struct curve_point (*curve)(double, double), double temp_c,
                                   double target, double *out_mass_frac)
{
    double low = 0.0, high = 1.0;
    double at_low = curve(low, temp_c).value - target;
    double at_high = curve(high, temp_c).value - target;
    *out_mass_frac = NAN;
    if (!(at_low * at_high <= 0.0))
        return STV_E_DOMAIN;
    double p = fabs(at_low) / (fabs(at_low) + fabs(at_high));
    for (int step = 0; step < SOLVE_MAX_STEPS; step++) {
        struct curve_point at = curve(p, temp_c);
        double miss = at.value - target, next = p - miss / at.slope;
        if (fabs(next - p) <= SOLVE_STEP_FRAC) {
            *out_mass_frac = fmin(fmax(next, 0.0), 1.0);
            return STV_OK;
        }
        if ((miss > 0.0) == (at_high > at_low))
            high = p;
        else
            low = p;
        if (!(next >= low - SOLVE_STEP_FRAC && next <= high + SOLVE_STEP_FRAC))
            next = 0.5 * (low + high);
        p = next;
    }
    return STV_E_NO_CONVERGENCE;
}

static enum stv_status density_within(double p, double temp_c, double high_c, double *out_kg_m3)
{
    if (!out_kg_m3)
        return STV_E_ARG;
    *out_kg_m3 = NAN;
    if (!is_fraction(p) || !(temp_c >= DENSITY_LOW_C && temp_c <= high_c))
        return STV_E_DOMAIN;
    if (temp_c < stv_spirit_freezing_c(p))
        return STV_E_DOMAIN;
    *out_kg_m3 = density_curve(p, temp_c).value;
    return STV_OK;
}

enum stv_status stv_spirit_density_kg_m3(double ethanol_mass_frac, double temp_c, double *out_kg_m3)
{
    return density_within(ethanol_mass_frac, temp_c, DENSITY_HIGH_C, out_kg_m3);
}

enum stv_status stv_spirit_density_extrapolated_kg_m3(double ethanol_mass_frac, double temp_c,
                                                      double *out_kg_m3)
{
    return density_within(ethanol_mass_frac, temp_c, DENSITY_EXTRAPOLATED_HIGH_C, out_kg_m3);
}

double stv_spirit_rho20_kg_m3(double ethanol_mass_frac)
{
    double rho = 0.0;
    for (int k = R22_N_A - 1; k >= 0; k--)
        rho = rho * ethanol_mass_frac + r22_a_kg_m3[k];
    return rho;
}

double stv_abv20_from_mass_frac(double ethanol_mass_frac)
{
    if (!is_fraction(ethanol_mass_frac))
        return NAN;
    return ethanol_mass_frac * stv_spirit_rho20_kg_m3(ethanol_mass_frac) / STV_ETHANOL_RHO20_KG_M3;
}

enum stv_status stv_mass_frac_from_abv20(double abv20_frac, double *out_mass_frac)
{
    if (!out_mass_frac)
        return STV_E_ARG;
    *out_mass_frac = NAN;
    if (!is_fraction(abv20_frac))
        return STV_E_DOMAIN;
    /* The printed 789.24 is 1.1e-6 above the formula's own density of pure ethanol. */
    if (abv20_frac >= stv_abv20_from_mass_frac(1.0)) {
        *out_mass_frac = 1.0;
        return STV_OK;
    }
    return solve_curve(ethanol_density_curve, R22_REFERENCE_C, abv20_frac * STV_ETHANOL_RHO20_KG_M3,
                       out_mass_frac);
}

enum stv_status stv_mass_frac_from_density(double rho_kg_m3, double temp_c, double *out_mass_frac)
{
    if (!out_mass_frac)
        return STV_E_ARG;
    *out_mass_frac = NAN;
    if (!(temp_c >= DENSITY_LOW_C && temp_c <= DENSITY_HIGH_C) || !isfinite(rho_kg_m3))
        return STV_E_DOMAIN;
    double p;
    enum stv_status status = solve_curve(density_curve, temp_c, rho_kg_m3, &p);
    if (status != STV_OK)
        return status;
    if (temp_c < stv_spirit_freezing_c(p))
        return STV_E_DOMAIN;
    *out_mass_frac = p;
    return STV_OK;
}

double stv_mole_frac_from_mass_frac(double ethanol_mass_frac)
{
    if (!is_fraction(ethanol_mass_frac))
        return NAN;
    double ethanol_mol_kg = ethanol_mass_frac / STV_ETHANOL_KG_MOL;
    double water_mol_kg = (1.0 - ethanol_mass_frac) / STV_WATER_KG_MOL;
    return ethanol_mol_kg / (ethanol_mol_kg + water_mol_kg);
}

double stv_mass_frac_from_mole_frac(double ethanol_mole_frac)
{
    if (!is_fraction(ethanol_mole_frac))
        return NAN;
    double ethanol_kg_mol = ethanol_mole_frac * STV_ETHANOL_KG_MOL;
    return ethanol_kg_mol / (ethanol_kg_mol + (1.0 - ethanol_mole_frac) * STV_WATER_KG_MOL);
}

/* Density of pure ethanol at 60 F by R 22 itself, so that 200 proof is exactly pure. */
static double ethanol_60f_kg_m3(void)
{
    return density_curve(1.0, STV_60F_C).value;
}

double stv_us_proof_nd(double ethanol_mass_frac)
{
    if (!is_fraction(ethanol_mass_frac))
        return NAN;
    return 200.0 * ethanol_density_curve(ethanol_mass_frac, STV_60F_C).value / ethanol_60f_kg_m3();
}

enum stv_status stv_mass_frac_from_us_proof(double us_proof_nd, double *out_mass_frac)
{
    if (!out_mass_frac)
        return STV_E_ARG;
    *out_mass_frac = NAN;
    if (!(us_proof_nd >= 0.0 && us_proof_nd <= 200.0))
        return STV_E_DOMAIN;
    return solve_curve(ethanol_density_curve, STV_60F_C, us_proof_nd / 200.0 * ethanol_60f_kg_m3(),
                       out_mass_frac);
}

enum stv_status stv_mass_frac_from_uk_proof(double uk_proof_nd, double *out_mass_frac)
{
    return stv_mass_frac_from_abv20(uk_proof_nd / (100.0 * UK_PROOF_PER_PCT_VOL), out_mass_frac);
}

struct stv_spirit_amount stv_spirit_amount(double ethanol_kg, double water_kg)
{
    struct stv_spirit_amount amount = {NAN, NAN, NAN};
    double total_kg = ethanol_kg + water_kg;
    if (!(ethanol_kg >= 0.0 && water_kg >= 0.0))
        return amount;
    amount.lpa_l = ethanol_kg / STV_ETHANOL_RHO20_KG_M3 * 1000.0;
    amount.volume20_l = 0.0;
    if (total_kg > 0.0) {
        double ethanol_mass_frac = ethanol_kg / total_kg;
        double rho20 = stv_spirit_rho20_kg_m3(ethanol_mass_frac);
        amount.volume20_l = total_kg / rho20 * 1000.0;
        amount.abv20_frac = ethanol_mass_frac * rho20 / STV_ETHANOL_RHO20_KG_M3;
    }
    return amount;
}

enum stv_status stv_spirit_masses_kg(double volume20_l, double abv20_frac, double *out_ethanol_kg,
                                     double *out_water_kg)
{
    if (!out_ethanol_kg || !out_water_kg)
        return STV_E_ARG;
    *out_ethanol_kg = NAN;
    *out_water_kg = NAN;
    if (!(volume20_l >= 0.0 && isfinite(volume20_l)))
        return STV_E_DOMAIN;
    double p;
    enum stv_status status = stv_mass_frac_from_abv20(abv20_frac, &p);
    if (status != STV_OK)
        return status;
    double total_kg = volume20_l * stv_spirit_rho20_kg_m3(p) / 1000.0;
    *out_ethanol_kg = total_kg * p;
    *out_water_kg = total_kg * (1.0 - p);
    return STV_OK;
}
