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

#include "model/spirit_vapour.h"
#include "model/tables/larkin.h"
#include "model/tables/redlich_kister.h"
#include "model/units.h"

#define ACTIVITY_LOW_C (-15.0)
#define ACTIVITY_HIGH_C 93.0

/* Antoine, log10(P/bar) = A - B/(T + C). */
struct antoine {
    double a_nd, b_k, c_k;
};
static const struct antoine kretschmer_wiebe = {5.37229, 1670.409, -40.191}; /* [KW], second-hand */
static const struct antoine ambrose_sprake = {5.24677, 1598.673, -46.424}; /* [AS70], from memory */

/* The first equation holds up to the join, the second beyond it. */
#define JOIN_FROM_C 65.0
#define JOIN_TO_C 75.0
#define ETHANOL_PSAT_LOW_C (-30.0)
#define ETHANOL_PSAT_HIGH_C 93.0
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

static double log10_bar(struct antoine antoine, double temp_c)
{
    return antoine.a_nd - antoine.b_k / (stv_k_from_c(temp_c) + antoine.c_k);
}

double stv_ethanol_psat_pa(double temp_c)
{
    if (!(temp_c >= ETHANOL_PSAT_LOW_C && temp_c <= ETHANOL_PSAT_HIGH_C))
        return NAN;
    double log10_p = log10_bar(kretschmer_wiebe, temp_c);
    if (temp_c > JOIN_FROM_C) {
        double share = fmin((temp_c - JOIN_FROM_C) / (JOIN_TO_C - JOIN_FROM_C), 1.0);
        double weight = share * share * (3.0 - 2.0 * share); /* no kink at either end */
        log10_p += weight * (log10_bar(ambrose_sprake, temp_c) - log10_p);
    }
    return BAR_PA * pow(10.0, log10_p);
}
