/* Activities of ethanol and water in spirit.
 *
 * The excess Gibbs energy G(x, T) = gE/RT is measured at T0 = 303.15 K (Redlich-Kister) and
 * carried to other temperatures by the heat of mixing (Gibbs-Helmholtz, d G/dT = -HE/(R T2)):
 *     G = x(1-x) sum_i c_i (2x-1)^i + sum_m K_m(T) x^(1+m) (1-x)
 *     K_m = [b_m (1/T - 1/T0) - c_m ln(T/T0) - d_m (T - T0)] / R
 *     ln g_ethanol = G + (1-x) G',  ln g_water = G - x G',  G' = dG/dx
 * so both satisfy Gibbs-Duhem by construction.  Dissolved wood, the non-ideality of the vapour
 * and salts are left out.
 */
#include <math.h>
#include <stdbool.h>

#include "model/spirit.h"
#include "model/tables/larkin.h"
#include "model/tables/redlich_kister.h"
#include "model/units.h"

#define ACTIVITY_LOW_C (-15.0)
#define ACTIVITY_HIGH_C 50.0

/* Antoine, log10(P/bar) = A - B/(T + C): [KW], second-hand. */
#define ETHANOL_ANTOINE_A_ND 5.37229
#define ETHANOL_ANTOINE_B_K 1670.409
#define ETHANOL_ANTOINE_C_K (-40.191)
#define ETHANOL_PSAT_LOW_C (-30.0)
#define ETHANOL_PSAT_HIGH_C 78.5
#define BAR_PA 1e5

struct excess {
    double energy_nd, slope_nd; /* G and dG/dx */
};

static struct excess reference_excess(double x)
{
    double z = 2.0 * x - 1.0, sum = 0.0, sum_slope = 0.0;
    for (int i = REDLICH_KISTER_N - 1; i >= 0; i--) {
        sum_slope = sum_slope * z + sum;
        sum = sum * z + redlich_kister_nd[i];
    }
    struct excess at = {x * (1.0 - x) * sum,
                        (1.0 - 2.0 * x) * sum + 2.0 * x * (1.0 - x) * sum_slope};
    return at;
}

/* Adds the change of G between T0 and a temperature. */
static struct excess heated_excess(struct excess at, double x, double temp_k)
{
    double root = sqrt(x);
    const double power[LARKIN_N] = {1.0, root, root * x, root * x * x, root * x * x * x * x};
    double reciprocal = 1.0 / temp_k - 1.0 / REDLICH_KISTER_K;
    double logarithm = log(temp_k / REDLICH_KISTER_K);
    double difference_k = temp_k - REDLICH_KISTER_K;
    for (int m = 0; m < LARKIN_N; m++) {
        double factor = (larkin_b_j_mol[m] * reciprocal - larkin_c_j_molk[m] * logarithm -
                         larkin_d_j_molk2[m] * difference_k) /
                        STV_GAS_J_MOLK;
        at.energy_nd += factor * power[m] * x * (1.0 - x);
        at.slope_nd += factor * power[m] * ((1.0 + larkin_power_nd[m]) * (1.0 - x) - x);
    }
    return at;
}

static bool is_known(double x, double temp_c)
{
    return x >= 0.0 && x <= 1.0 && temp_c >= ACTIVITY_LOW_C && temp_c <= ACTIVITY_HIGH_C;
}

enum stv_status stv_spirit_ln_gamma(double ethanol_mole_frac, double temp_c, double *out_ethanol_nd,
                                    double *out_water_nd)
{
    if (!out_ethanol_nd || !out_water_nd)
        return STV_E_ARG;
    *out_ethanol_nd = NAN;
    *out_water_nd = NAN;
    if (!is_known(ethanol_mole_frac, temp_c))
        return STV_E_DOMAIN;
    struct excess at =
        heated_excess(reference_excess(ethanol_mole_frac), ethanol_mole_frac, stv_k_from_c(temp_c));
    *out_ethanol_nd = at.energy_nd + (1.0 - ethanol_mole_frac) * at.slope_nd;
    *out_water_nd = at.energy_nd - ethanol_mole_frac * at.slope_nd;
    return STV_OK;
}

enum stv_status stv_spirit_activity(double ethanol_mole_frac, double temp_c,
                                    struct stv_spirit_activity *out)
{
    if (!out)
        return STV_E_ARG;
    double ln_ethanol, ln_water;
    enum stv_status status = stv_spirit_ln_gamma(ethanol_mole_frac, temp_c, &ln_ethanol, &ln_water);
    out->ethanol_nd = ethanol_mole_frac * exp(ln_ethanol);
    out->water_nd = (1.0 - ethanol_mole_frac) * exp(ln_water);
    return status;
}

double stv_ethanol_psat_pa(double temp_c)
{
    if (!(temp_c >= ETHANOL_PSAT_LOW_C && temp_c <= ETHANOL_PSAT_HIGH_C))
        return NAN;
    return BAR_PA * pow(10.0, ETHANOL_ANTOINE_A_ND - ETHANOL_ANTOINE_B_K / (stv_k_from_c(temp_c) +
                                                                            ETHANOL_ANTOINE_C_K));
}
