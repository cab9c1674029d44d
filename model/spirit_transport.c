/* Heat capacity, conductivity, viscosity and freezing point of ethanol-water.
 *
 * Each is a double polynomial in temperature and composition about a centre (Melinder),
 * f = sum_ij c_ij (t - tm)^i (p - pm)^j; the viscosity is its exponential.  Pressure and
 * dissolved wood are left out, and so is all spirit above 60 % by mass.
 */
#include <math.h>
#include <stdbool.h>

#include "model/spirit.h"
#include "model/tables/melinder.h"
#include "model/units.h"

#define MELINDER_HIGH_C 40.0
#define MELINDER_HIGH_FRAC 0.60
#define PA_S_PER_MPA_S 1e-3

static double in_composition(const double *coefficient, double p)
{
    double sum = 0.0;
    for (int j = MELINDER_N_COMP - 1; j >= 0; j--)
        sum = sum * (p - MELINDER_CENTRE_FRAC) + coefficient[j];
    return sum;
}

static double double_polynomial(const double (*coefficient)[MELINDER_N_COMP], double p,
                                double temp_c)
{
    double sum = 0.0;
    for (int i = MELINDER_N_TEMP - 1; i >= 0; i--)
        sum = sum * (temp_c - MELINDER_CENTRE_C) + in_composition(coefficient[i], p);
    return sum;
}

static bool is_known(double p, double temp_c)
{
    return p >= 0.0 && p <= MELINDER_HIGH_FRAC && temp_c <= MELINDER_HIGH_C &&
           temp_c >= stv_spirit_freezing_c(p);
}

static enum stv_status property(const double (*coefficient)[MELINDER_N_COMP], double p,
                                double temp_c, double *out)
{
    if (!out)
        return STV_E_ARG;
    *out = NAN;
    if (!is_known(p, temp_c))
        return STV_E_DOMAIN;
    *out = double_polynomial(coefficient, p, temp_c);
    return STV_OK;
}

double stv_spirit_freezing_c(double ethanol_mass_frac)
{
    if (!(ethanol_mass_frac >= 0.0 && ethanol_mass_frac <= MELINDER_HIGH_FRAC))
        return NAN;
    return stv_c_from_k(in_composition(melinder_freezing_k, ethanol_mass_frac));
}

enum stv_status stv_spirit_cp_j_kgk(double ethanol_mass_frac, double temp_c, double *out_j_kgk)
{
    return property(melinder_cp_j_kgk, ethanol_mass_frac, temp_c, out_j_kgk);
}

enum stv_status stv_spirit_conductivity_w_mk(double ethanol_mass_frac, double temp_c,
                                             double *out_w_mk)
{
    return property(melinder_conductivity_w_mk, ethanol_mass_frac, temp_c, out_w_mk);
}

enum stv_status stv_spirit_viscosity_pa_s(double ethanol_mass_frac, double temp_c, double *out_pa_s)
{
    enum stv_status status =
        property(melinder_ln_viscosity_nd, ethanol_mass_frac, temp_c, out_pa_s);
    if (status == STV_OK)
        *out_pa_s = PA_S_PER_MPA_S * exp(*out_pa_s);
    return status;
}
