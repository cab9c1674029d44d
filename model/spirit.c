/* Density and strength of ethanol-water.
 *
 * The density is the R 22 polynomial rho(p, t), p the ethanol mass fraction and t the temperature
 * in deg C.  Every measure of strength is a curve of p: % vol is p rho(p, 20) / 789.24, US proof
 * is 200 p rho(p, 60 F) / rho(1, 60 F); the way back is a root of the same curve.  Dissolved
 * solids, the glass of hydrometers and the buoyancy of air are not dealt with here.
 */
#include "model/spirit.h"

#include <math.h>
#include <string.h>

#include "model/tables/oiml_r22.h"
#include "model/tables/oiml_r22_starts.h"
#include "model/units.h"

/* R 22 is stated for -20..40 C; water and ethanol at 50 C still agree with independent equations
 * of state within 0.3 kg/m3, and the mixture's slope bends away after 55 C. */
#define DENSITY_LOW_C (-20.0)
#define DENSITY_HIGH_C 40.0
#define DENSITY_EXTRAPOLATED_HIGH_C 50.0

/* Halley's error is cubed at each step, so after a step of 1e-5 only rounding is left.  From the
 * table of starts that is two steps, seldom three; the bracket around the root is for the rest. */
#define SOLVE_STEP_FRAC 1e-5
#define SOLVE_MAX_STEPS 60

/* Above it nothing freezes, so that the curve need not be looked at. */
#define FREEZING_MOST_C 0.5

/* Regulation gives 100 proof = 57.1 % vol. */
#define UK_PROOF_PER_PCT_VOL 1.75131

/* A curve of the mass fraction: its value, slope, and half its second derivative. */
struct curve_point {
    double value, slope, bend;
};

/* Which curve of the mass fraction is solved. */
enum curve {
    DENSITY,        /* rho(p): falls */
    ETHANOL_DENSITY /* p rho(p), kg of ethanol in a cubic metre of spirit: rises */
};

/* Even and odd powers apart, so that the two halves can be worked out side by side. */
static double density(const double c[STV_SPIRIT_AT_N], double p)
{
    double square = p * p, even = c[STV_SPIRIT_AT_N - 2], odd = c[STV_SPIRIT_AT_N - 1];
    for (int k = STV_SPIRIT_AT_N - 4; k >= 0; k -= 2) {
        even = even * square + c[k];
        odd = odd * square + c[k + 1];
    }
    return even + p * odd;
}

/* With w = p^2, rho = E(w) + p O(w), so that rho' = 2 p E' + O + 2 w O' and
 * rho'' / 2 = E' + 2 w E'' + 3 p O' + 2 p w O''. */
static struct curve_point point_of(const struct stv_spirit_at *at, enum curve curve, double p)
{
    const double *c = at->rho_kg_m3;
    double w = p * p;
    struct curve_point even = {c[STV_SPIRIT_AT_N - 2], 0.0, 0.0};
    struct curve_point odd = {c[STV_SPIRIT_AT_N - 1], 0.0, 0.0};
    for (int k = STV_SPIRIT_AT_N - 4; k >= 0; k -= 2) {
        even.bend = even.bend * w + even.slope;
        odd.bend = odd.bend * w + odd.slope;
        even.slope = even.slope * w + even.value;
        odd.slope = odd.slope * w + odd.value;
        even.value = even.value * w + c[k];
        odd.value = odd.value * w + c[k + 1];
    }
    struct curve_point rho = {
        even.value + p * odd.value, 2.0 * (p * even.slope + w * odd.slope) + odd.value,
        even.slope + 3.0 * p * odd.slope + 4.0 * w * (even.bend + p * odd.bend)};
    if (curve == DENSITY)
        return rho;
    struct curve_point ethanol = {p * rho.value, rho.value + p * rho.slope,
                                  rho.slope + p * rho.bend};
    return ethanol;
}

static bool is_fraction(double value)
{
    return value >= 0.0 && value <= 1.0;
}

static bool is_frozen(double p, double temp_c)
{
    return temp_c < FREEZING_MOST_C && temp_c < stv_spirit_freezing_c(p);
}

/* Between neighbours of a row of starts. */
static double start_in_row(const double row[R22_STARTS_N], double place_nd)
{
    int k = (int)place_nd;
    k = k < R22_STARTS_N - 2 ? k : R22_STARTS_N - 2;
    double part = place_nd - k;
    return (1.0 - part) * row[k] + part * row[k + 1];
}

/* A mass fraction near the root, by how far the target lies between the curve's two ends. */
static double start_of(const struct stv_spirit_at *at, enum curve curve, double share_frac)
{
    double place_nd = share_frac * (R22_STARTS_N - 1);
    if (curve == ETHANOL_DENSITY)
        return start_in_row(r22_start_by_volume_frac, place_nd);
    double row_nd = (at->temp_c - R22_STARTS_LOW_C) * (1.0 / R22_STARTS_STEP_K);
    int row = (int)row_nd;
    row = row < R22_STARTS_ROWS - 2 ? row : R22_STARTS_ROWS - 2;
    double part = row_nd - row;
    return (1.0 - part) * start_in_row(r22_start_by_density_frac[row], place_nd) +
           part * start_in_row(r22_start_by_density_frac[row + 1], place_nd);
}

/* Mass fraction at which a curve takes a value, by Halley's method kept inside a shrinking
 * bracket. */
static enum stv_status solve(const struct stv_spirit_at *at, enum curve curve, double target,
                             double *out_mass_frac)
{
    double at_low = curve == DENSITY ? at->rho_kg_m3[0] : 0.0;
    double share_frac = (target - at_low) / (at->pure_ethanol_kg_m3 - at_low);
    *out_mass_frac = NAN;
    if (!is_fraction(share_frac))
        return STV_E_DOMAIN;
    double low = 0.0, high = 1.0, p = start_of(at, curve, share_frac);
    for (int step = 0; step < SOLVE_MAX_STEPS; step++) {
        struct curve_point point = point_of(at, curve, p);
        double miss = point.value - target;
        /* Halley's correction with one division. */
        double correction = miss * point.slope / (point.slope * point.slope - miss * point.bend);
        double next = p - correction;
        if (fabs(correction) <= SOLVE_STEP_FRAC) {
            *out_mass_frac = fmin(fmax(next, 0.0), 1.0);
            return STV_OK;
        }
        if (miss * point.slope > 0.0) /* both curves are monotonic: the root lies below p */
            high = p;
        else
            low = p;
        p = next >= low && next <= high ? next : 0.5 * (low + high);
    }
    return STV_E_NO_CONVERGENCE;
}

bool stv_spirit_is_extrapolated(double temp_c)
{
    return temp_c > DENSITY_HIGH_C;
}

/* density(c, 1.0) to the last bit, without its products. */
static double sum_of(const double c[STV_SPIRIT_AT_N])
{
    double even = ((((c[10] + c[8]) + c[6]) + c[4]) + c[2]) + c[0];
    double odd = ((((c[11] + c[9]) + c[7]) + c[5]) + c[3]) + c[1];
    return even + odd;
}

/* R 22 at a temperature, whatever it is. */
static void prepare(double temp_c, struct stv_spirit_at *out)
{
    double t = temp_c - R22_REFERENCE_C, t2 = t * t, t3 = t2 * t, t4 = t2 * t2, t5 = t4 * t;
    const double *b = r22_b_kg_m3;
    double *c = out->rho_kg_m3;
    out->temp_c = temp_c;
    out->is_extrapolated = stv_spirit_is_extrapolated(temp_c);
    c[0] = r22_a_kg_m3[0] +
           (t * ((b[0] + t * b[1]) + t2 * (b[2] + t * b[3])) + t5 * (b[4] + t * b[5]));
    for (int k = 0; k < STV_SPIRIT_AT_N - 1; k++)
        c[k + 1] = r22_a_kg_m3[k + 1] + t * r22_c1_kg_m3[k];
    for (int k = 0; k < 10; k++)
        c[k + 1] += t2 * r22_c2_kg_m3[k];
    for (int k = 0; k < 9; k++)
        c[k + 1] += t3 * r22_c3_kg_m3[k];
    for (int k = 0; k < 4; k++)
        c[k + 1] += t4 * r22_c4_kg_m3[k];
    for (int k = 0; k < 2; k++)
        c[k + 1] += t5 * r22_c5_kg_m3[k];
    out->pure_ethanol_kg_m3 = sum_of(c);
}

enum stv_status stv_spirit_at(double temp_c, struct stv_spirit_at *out)
{
    if (!out)
        return STV_E_ARG;
    *out = (struct stv_spirit_at){.temp_c = NAN};
    if (!(temp_c >= DENSITY_LOW_C && temp_c <= DENSITY_EXTRAPOLATED_HIGH_C))
        return STV_E_DOMAIN;
    prepare(temp_c, out);
    return STV_OK;
}

double stv_spirit_at_rho_kg_m3(const struct stv_spirit_at *at, double ethanol_mass_frac)
{
    if (!is_fraction(ethanol_mass_frac) || is_frozen(ethanol_mass_frac, at->temp_c))
        return NAN;
    return density(at->rho_kg_m3, ethanol_mass_frac);
}

double stv_spirit_at_vol_frac(const struct stv_spirit_at *at, double ethanol_mass_frac)
{
    return ethanol_mass_frac * stv_spirit_at_rho_kg_m3(at, ethanol_mass_frac) /
           at->pure_ethanol_kg_m3;
}

static enum stv_status solve_unfrozen(const struct stv_spirit_at *at, enum curve curve,
                                      double target, double *out_mass_frac)
{
    if (!out_mass_frac)
        return STV_E_ARG;
    enum stv_status status = solve(at, curve, target, out_mass_frac);
    if (status != STV_OK || !is_frozen(*out_mass_frac, at->temp_c))
        return status;
    *out_mass_frac = NAN;
    return STV_E_DOMAIN;
}

enum stv_status stv_spirit_at_mass_frac(const struct stv_spirit_at *at, double rho_kg_m3,
                                        double *out_mass_frac)
{
    return solve_unfrozen(at, DENSITY, rho_kg_m3, out_mass_frac);
}

enum stv_status stv_spirit_at_mass_frac_of_vol(const struct stv_spirit_at *at, double vol_frac,
                                               double *out_mass_frac)
{
    return solve_unfrozen(at, ETHANOL_DENSITY, vol_frac * at->pure_ethanol_kg_m3, out_mass_frac);
}

enum stv_status stv_spirit_density_kg_m3(double ethanol_mass_frac, double temp_c, double *out_kg_m3)
{
    if (!out_kg_m3)
        return STV_E_ARG;
    *out_kg_m3 = NAN;
    struct stv_spirit_at at;
    if (stv_spirit_at(temp_c, &at) != STV_OK || at.is_extrapolated)
        return STV_E_DOMAIN;
    *out_kg_m3 = stv_spirit_at_rho_kg_m3(&at, ethanol_mass_frac);
    return isnan(*out_kg_m3) ? STV_E_DOMAIN : STV_OK;
}

double stv_spirit_rho20_kg_m3(double ethanol_mass_frac)
{
    return density(r22_a_kg_m3, ethanol_mass_frac);
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
    struct stv_spirit_at at;
    prepare(R22_REFERENCE_C, &at);
    return solve(&at, ETHANOL_DENSITY, abv20_frac * STV_ETHANOL_RHO20_KG_M3, out_mass_frac);
}

enum stv_status stv_mass_frac_from_density(double rho_kg_m3, double temp_c, double *out_mass_frac)
{
    if (!out_mass_frac)
        return STV_E_ARG;
    *out_mass_frac = NAN;
    struct stv_spirit_at at;
    if (stv_spirit_at(temp_c, &at) != STV_OK || at.is_extrapolated)
        return STV_E_DOMAIN;
    return stv_spirit_at_mass_frac(&at, rho_kg_m3, out_mass_frac);
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

double stv_us_proof_nd(double ethanol_mass_frac)
{
    struct stv_spirit_at at;
    prepare(STV_60F_C, &at);
    return 200.0 * stv_spirit_at_vol_frac(&at, ethanol_mass_frac);
}

enum stv_status stv_mass_frac_from_us_proof(double us_proof_nd, double *out_mass_frac)
{
    struct stv_spirit_at at;
    prepare(STV_60F_C, &at);
    return stv_spirit_at_mass_frac_of_vol(&at, us_proof_nd / 200.0, out_mass_frac);
}

double stv_uk_proof_nd(double ethanol_mass_frac)
{
    return 100.0 * UK_PROOF_PER_PCT_VOL * stv_abv20_from_mass_frac(ethanol_mass_frac);
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
