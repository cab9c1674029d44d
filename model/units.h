/* Physical constants and unit factors used by every layer. */
#ifndef STV_MODEL_UNITS_H
#define STV_MODEL_UNITS_H

#define STV_ZERO_C_IN_K 273.15
#define STV_GAS_J_MOLK 8.314462618       /* CODATA 2018, exact */
#define STV_ETHANOL_KG_MOL 0.04606844    /* model sheet, section 1 */
#define STV_WATER_KG_MOL 0.018015268     /* model sheet, section 1 */
#define STV_STEFAN_W_M2K4 5.670374419e-8 /* CODATA 2018, exact */
#define STV_GRAVITY_M_S2 9.80665         /* standard gravity, exact */
#define STV_STANDARD_PRESSURE_PA 101325.0

#define STV_LB_KG 0.45359237          /* international pound of 1959, exact */
#define STV_WINE_GALLON_L 3.785411784 /* US gallon, 231 cubic inches, exact */

#define STV_HOUR_S 3600
#define STV_DAY_S 86400
#define STV_DAY_H 24
#define STV_YEAR_D 365.25

/* 60 F, the reference temperature of US proof, in Celsius (27 CFR 30.11). */
#define STV_60F_C (140.0 / 9.0)

static inline double stv_k_from_c(double temp_c)
{
    return temp_c + STV_ZERO_C_IN_K;
}

static inline double stv_c_from_k(double temp_k)
{
    return temp_k - STV_ZERO_C_IN_K;
}

static inline double stv_c_from_f(double temp_f)
{
    return (temp_f - 32.0) / 1.8;
}

#endif
