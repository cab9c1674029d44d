/* Humid air.
 *
 * Vapour pressure over liquid water is the Wagner-Pruss equation,
 *     ln(p/pc) = (Tc/T) (a1 v + a2 v^1.5 + a3 v^3 + a4 v^3.5 + a5 v^4 + a6 v^7.5),  v = 1 - T/Tc
 * carried below 0 C on purpose: wood and hygrometers go by humidity over liquid water.  Air and
 * vapour are ideal gases; the enhancement of vapour pressure by air (about 0.5 % at sea level)
 * and ice are left out.
 */
#include "model/air.h"

#include <math.h>

#include "model/units.h"

/* [WP93] Wagner and Pruss 1993, J. Phys. Chem. Ref. Data 22, 783 (IAPWS SR1-86(1992)); from
 * memory, checked at the triple point and the normal boiling point in tests/test_air.c. */
#define WATER_CRITICAL_K 647.096
#define WATER_CRITICAL_PA 22.064e6
#define WATER_A1_ND (-7.85951783)
#define WATER_A2_ND 1.84408259
#define WATER_A3_ND (-11.7866497)
#define WATER_A4_ND 22.6807411
#define WATER_A5_ND (-15.9618719)
#define WATER_A6_ND 1.80122502

/* Extrapolated vapour pressures below -80 C serve nothing here; 373 C is the critical point. */
#define WATER_LOW_C (-80.0)
#define WATER_HIGH_C 373.0

/* Magnus form only as a first guess: WMO-No. 8, from memory. */
#define MAGNUS_PA 611.2
#define MAGNUS_ND 17.62
#define MAGNUS_C 243.12
#define DEW_STEP_K 1e-10
#define DEW_MAX_STEPS 50

/* [ASHRAE17] ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 3, 20, 26, 30, 33; numbers from
 * memory, checked against its tables and example in tests/test_air.c. */
#define RATIO_OF_MOLAR_MASSES_ND 0.621945
#define DRY_AIR_GAS_J_KGK 287.042
#define DRY_AIR_CP_J_KGK 1006.0
#define VAPOUR_CP_J_KGK 1860.0
#define LIQUID_CP_J_KGK 4186.0
#define EVAPORATION_0C_J_KG 2501000.0
#define ATMOSPHERE_PER_M 2.25577e-5
#define ATMOSPHERE_EXPONENT_ND 5.2559
#define ATMOSPHERE_LOW_M (-5000.0)
#define ATMOSPHERE_HIGH_M 11000.0

/* No air is so dry that its wet bulb, from below 100 C, lies under -60 C; 60 halvings of that
 * span reach the rounding of a temperature. */
#define WET_BULB_LOW_C (-60.0)
#define WET_BULB_HIGH_C 100.0
#define WET_BULB_HALVINGS 60

struct saturation {
    double ln_nd;     /* ln(p/pc) */
    double slope_per; /* d ln p / d(1/T), K */
};

static struct saturation water_saturation(double temp_k)
{
    double v = 1.0 - temp_k / WATER_CRITICAL_K, root = sqrt(v);
    double sum = v * (WATER_A1_ND + root * WATER_A2_ND +
                      v * v *
                          (WATER_A3_ND + root * WATER_A4_ND + v * WATER_A5_ND +
                           v * v * v * v * root * WATER_A6_ND));
    double sum_slope = WATER_A1_ND + 1.5 * root * WATER_A2_ND +
                       v * v *
                           (3.0 * WATER_A3_ND + 3.5 * root * WATER_A4_ND + 4.0 * v * WATER_A5_ND +
                            7.5 * v * v * v * v * root * WATER_A6_ND);
    struct saturation at = {WATER_CRITICAL_K / temp_k * sum, WATER_CRITICAL_K * sum};
    at.slope_per += temp_k * sum_slope;
    return at;
}

double stv_water_psat_pa(double temp_c)
{
    if (!(temp_c >= WATER_LOW_C && temp_c <= WATER_HIGH_C))
        return NAN;
    return WATER_CRITICAL_PA * exp(water_saturation(stv_k_from_c(temp_c)).ln_nd);
}

double stv_dew_point_c(double vapour_pa)
{
    if (!(vapour_pa >= stv_water_psat_pa(WATER_LOW_C) &&
          vapour_pa <= stv_water_psat_pa(WATER_HIGH_C)))
        return NAN;
    double want_nd = log(vapour_pa / WATER_CRITICAL_PA);
    double magnus_nd = log(vapour_pa / MAGNUS_PA);
    double temp_k = stv_k_from_c(MAGNUS_C * magnus_nd / (MAGNUS_ND - magnus_nd));
    temp_k = fmin(fmax(temp_k, stv_k_from_c(WATER_LOW_C)), stv_k_from_c(WATER_HIGH_C));
    /* ln p is nearly straight in 1/T, so Newton's method in 1/T needs three or four steps. */
    for (int step = 0; step < DEW_MAX_STEPS; step++) {
        struct saturation at = water_saturation(temp_k);
        double next_k = 1.0 / (1.0 / temp_k + (want_nd - at.ln_nd) / at.slope_per);
        double moved_k = fabs(next_k - temp_k);
        temp_k = next_k;
        if (moved_k <= DEW_STEP_K)
            return stv_c_from_k(temp_k);
    }
    return NAN;
}

double stv_humidity_ratio_kg_kg(double vapour_pa, double pressure_pa)
{
    if (!(vapour_pa >= 0.0 && vapour_pa < pressure_pa))
        return NAN;
    return RATIO_OF_MOLAR_MASSES_ND * vapour_pa / (pressure_pa - vapour_pa);
}

double stv_vapour_from_ratio_pa(double ratio_kg_kg, double pressure_pa)
{
    if (!(ratio_kg_kg >= 0.0 && pressure_pa > 0.0))
        return NAN;
    return pressure_pa * ratio_kg_kg / (RATIO_OF_MOLAR_MASSES_ND + ratio_kg_kg);
}

/* Humidity ratio of a wet-bulb reading ([ASHRAE17] eq. 33); negative for impossible readings. */
static double ratio_from_wet_bulb_kg_kg(double temp_c, double wet_bulb_c, double pressure_pa)
{
    double saturated = stv_humidity_ratio_kg_kg(stv_water_psat_pa(wet_bulb_c), pressure_pa);
    double evaporation_j_kg =
        EVAPORATION_0C_J_KG + (VAPOUR_CP_J_KGK - LIQUID_CP_J_KGK) * wet_bulb_c;
    return (evaporation_j_kg * saturated - DRY_AIR_CP_J_KGK * (temp_c - wet_bulb_c)) /
           (EVAPORATION_0C_J_KG + VAPOUR_CP_J_KGK * temp_c - LIQUID_CP_J_KGK * wet_bulb_c);
}

enum stv_status stv_vapour_from_wet_bulb_pa(double temp_c, double wet_bulb_c, double pressure_pa,
                                            double *out_vapour_pa)
{
    if (!out_vapour_pa)
        return STV_E_ARG;
    *out_vapour_pa = NAN;
    if (!(wet_bulb_c >= WET_BULB_LOW_C && wet_bulb_c <= temp_c && temp_c <= WET_BULB_HIGH_C))
        return STV_E_DOMAIN;
    double ratio = ratio_from_wet_bulb_kg_kg(temp_c, wet_bulb_c, pressure_pa);
    if (!(ratio >= 0.0))
        return STV_E_DOMAIN;
    *out_vapour_pa = stv_vapour_from_ratio_pa(ratio, pressure_pa);
    return STV_OK;
}

enum stv_status stv_wet_bulb_c(double temp_c, double vapour_pa, double pressure_pa,
                               double *out_wet_bulb_c)
{
    if (!out_wet_bulb_c)
        return STV_E_ARG;
    *out_wet_bulb_c = NAN;
    double ratio = stv_humidity_ratio_kg_kg(vapour_pa, pressure_pa);
    double low_c = WET_BULB_LOW_C, high_c = temp_c;
    if (isnan(ratio) || !(temp_c > low_c && temp_c <= WET_BULB_HIGH_C) ||
        !(vapour_pa <= stv_water_psat_pa(temp_c)))
        return STV_E_DOMAIN;
    for (int step = 0; step < WET_BULB_HALVINGS; step++) {
        double middle_c = 0.5 * (low_c + high_c);
        /* Where water would boil the ratio is NaN, which counts as too high. */
        if (ratio_from_wet_bulb_kg_kg(temp_c, middle_c, pressure_pa) < ratio)
            low_c = middle_c;
        else
            high_c = middle_c;
    }
    *out_wet_bulb_c = 0.5 * (low_c + high_c);
    return STV_OK;
}

double stv_air_enthalpy_j_kg(double temp_c, double ratio_kg_kg)
{
    if (!(ratio_kg_kg >= 0.0))
        return NAN;
    return DRY_AIR_CP_J_KGK * temp_c +
           ratio_kg_kg * (EVAPORATION_0C_J_KG + VAPOUR_CP_J_KGK * temp_c);
}

double stv_air_density_kg_m3(double temp_c, double vapour_pa, double pressure_pa)
{
    double temp_k = stv_k_from_c(temp_c);
    if (!(vapour_pa >= 0.0 && vapour_pa <= pressure_pa && temp_k > 0.0))
        return NAN;
    return (pressure_pa - (1.0 - RATIO_OF_MOLAR_MASSES_ND) * vapour_pa) /
           (DRY_AIR_GAS_J_KGK * temp_k);
}

double stv_pressure_at_height_pa(double elevation_m)
{
    if (!(elevation_m >= ATMOSPHERE_LOW_M && elevation_m <= ATMOSPHERE_HIGH_M))
        return NAN;
    return STV_STANDARD_PRESSURE_PA *
           pow(1.0 - ATMOSPHERE_PER_M * elevation_m, ATMOSPHERE_EXPONENT_ND);
}
