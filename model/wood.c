/* Oak in humid air.
 *
 * Equilibrium moisture is the Hailwood-Horrobin two-hydrate equation of the Wood Handbook,
 *     M = 1800/W [K h/(1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2)]
 * with W, K, K1, K2 quadratic in temperature.  Bound water moves faster in moister wood as
 * exp(70 M/(1.987 T)) (70 cal/mol per per cent, Siau); the mean of that over the stave is taken
 * in humidity, between the spirit's water activity and the air's humidity.  Hysteresis, species
 * and the swelling of wood by ethanol are left out.
 */
#include "model/wood.h"

#include <math.h>
#include <stdbool.h>

#include "model/units.h"

#define WOOD_LOW_C (-30.0)
#define WOOD_HIGH_C 100.0

/* [SIAU84] J. F. Siau, Transport Processes in Wood, Springer 1984: activation energy of bound
 * water 9200 - 70 M cal/mol, from memory; 13 % is the parameter sheet's reference moisture. */
#define MOISTURE_ENERGY_CAL_MOL 70.0
#define GAS_CAL_MOLK 1.987
#define REFERENCE_MOISTURE_PCT 13.0

/* The four temperature functions of the isotherm. */
struct isotherm {
    double w, k, k1, k2;
};

/* [USFPL] Forest Products Laboratory, Wood Handbook, eq. 4-5 (Simpson 1973); the coefficients
 * for deg C are from memory, checked against tabled moistures in tests/test_wood.c. */
static struct isotherm isotherm_at(double temp_c)
{
    double square = temp_c * temp_c;
    struct isotherm at = {
        349.0 + 1.29 * temp_c + 0.0135 * square, 0.805 + 0.000736 * temp_c - 0.00000273 * square,
        6.27 - 0.00938 * temp_c - 0.000303 * square, 1.91 + 0.0407 * temp_c - 0.000293 * square};
    return at;
}

static double moisture_pct(const struct isotherm *at, double rh_frac)
{
    double kh = at->k * rh_frac;
    double first = at->k1 * kh, second = at->k1 * at->k2 * kh * kh;
    return 1800.0 / at->w * (kh / (1.0 - kh) + (first + 2.0 * second) / (1.0 + first + second));
}

static double local_factor_nd(const struct isotherm *at, double rh_frac, double temp_k)
{
    return exp(MOISTURE_ENERGY_CAL_MOL * (moisture_pct(at, rh_frac) - REFERENCE_MOISTURE_PCT) /
               (GAS_CAL_MOLK * temp_k));
}

static bool is_known(double rh_frac, double temp_c)
{
    return rh_frac >= 0.0 && rh_frac <= 1.0 && temp_c >= WOOD_LOW_C && temp_c <= WOOD_HIGH_C;
}

double stv_wood_moisture_pct(double rh_frac, double temp_c)
{
    if (!is_known(rh_frac, temp_c))
        return NAN;
    struct isotherm at = isotherm_at(temp_c);
    return moisture_pct(&at, rh_frac);
}

double stv_wood_local_factor_nd(double rh_frac, double temp_c)
{
    if (!is_known(rh_frac, temp_c))
        return NAN;
    struct isotherm at = isotherm_at(temp_c);
    return local_factor_nd(&at, rh_frac, stv_k_from_c(temp_c));
}

double stv_wood_factor_nd(double rh_frac, double water_activity_nd, double temp_c)
{
    /* Gauss-Legendre, 5 points on -1..1: Source: Abramowitz and Stegun 1964, Table 25.4, from
     * memory; tests/test_wood.c holds the mean against a fine sum. */
    static const double node_nd[3] = {0.0, 0.538469310105683, 0.906179845938664};
    static const double weight_nd[3] = {0.568888888888889, 0.478628670499366, 0.236926885056189};
    if (!is_known(rh_frac, temp_c) || !is_known(water_activity_nd, temp_c))
        return NAN;
    struct isotherm at = isotherm_at(temp_c);
    double temp_k = stv_k_from_c(temp_c);
    double middle = 0.5 * (rh_frac + water_activity_nd);
    double half = 0.5 * (water_activity_nd - rh_frac);
    double sum = weight_nd[0] * local_factor_nd(&at, middle, temp_k);
    for (int i = 1; i < 3; i++)
        sum += weight_nd[i] * (local_factor_nd(&at, middle - half * node_nd[i], temp_k) +
                               local_factor_nd(&at, middle + half * node_nd[i], temp_k));
    return 0.5 * sum;
}
