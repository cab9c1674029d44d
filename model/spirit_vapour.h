/* The vapour over spirit: activities, partial pressures, diffusion into air, the air space in a
 * cask.
 *
 * Sources, cited below by key:
 *   [RK303]    our fit to Pemberton and Mash, J. Chem. Thermodyn. 10 (1978) 867
 *   [LARKIN]   J. A. Larkin, J. Chem. Thermodyn. 7 (1975) 137
 *   [KW]       C. B. Kretschmer and R. Wiebe, J. Am. Chem. Soc. 71 (1949) 1793
 *   [AS70]     D. Ambrose and C. H. S. Sprake, J. Chem. Thermodyn. 2 (1970) 631
 *   [FSG]      E. N. Fuller, P. D. Schettler and J. C. Giddings, Ind. Eng. Chem. 58 (1966) 18
 *   [MASSMAN]  W. J. Massman, Atmos. Environ. 32 (1998) 1111
 *
 * All functions are scalar in, scalar out, and allocate nothing.  The vapour is taken as an ideal
 * gas, good to 1 per cent below 45 C. */
#ifndef STV_MODEL_SPIRIT_VAPOUR_H
#define STV_MODEL_SPIRIT_VAPOUR_H

#include "model/status.h"

/* Activities over the pure liquids: partial pressure is activity x saturation pressure. */
struct stv_spirit_activity {
    double ethanol_nd, water_nd;
};

/* Activities of ethanol and water in spirit.
 *
 * ethanol_mole_frac  0..1, both ends included
 * temp_c             spirit temperature, deg C.  Valid -15..93.
 * out                both members NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside either range, or NaN
 *          STV_E_ARG     out is NULL
 * Accuracy, by part of the range, mole fraction 0.10..0.95 (26..98 % vol) unless said:
 *            -15..15 C  an extrapolation of the heats of mixing: standard deviation 0.02 in the
 *                       activity of water (assumed)
 *             15..50 C  as tested: total pressure 0.14 % rms at 30 C (fitted over 0.004..0.98),
 *                       0.6 % at 25 C, 0.3 % and 0.4 % in two sets at 50 C; activity of water
 *                       within 0.015
 *             50..93 C  as tested: total pressure 0.3 % rms in two sets at 90 C
 *            below 0.10 towards pure water the slope with temperature is too steep: total pressure
 *                       up to 1.7 % low at 50 C, 1.4 % high at 90 C
 *            above 0.95 as the pure liquids, within 0.5 %
 * Source:  [RK303], [LARKIN]
 * Assumes: an ideal vapour, nothing dissolved from wood. */
STV_MUST_CHECK enum stv_status stv_spirit_activity(double ethanol_mole_frac, double temp_c,
                                                   struct stv_spirit_activity *out);

/* Natural logarithms of the two activity coefficients.
 *
 * ethanol_mole_frac, temp_c, errors, accuracy, source: as stv_spirit_activity
 * out_ethanol_nd, out_water_nd  NaN when the status is not OK.  0 for the pure liquid, finite at
 *                               infinite dilution. */
STV_MUST_CHECK enum stv_status stv_spirit_ln_gamma(double ethanol_mole_frac, double temp_c,
                                                   double *out_ethanol_nd, double *out_water_nd);

/* Saturation pressure of pure ethanol, Pa.
 *
 * temp_c         deg C.  Valid 0..93, extrapolated on purpose from -30; NaN outside.
 *
 * Accuracy: as tested: 0.05 % at 30 C, 0.3 % at 50 C, 0.05 % at the normal boiling point
 * Source:  [KW] to 65 C, [AS70] from 75 C, both as Antoine equations, coefficients second-hand and
 *          from memory; between the two a smooth blend of their logarithms, which differ by 0.14 %
 *          at 65 C, so that there is no step */
double stv_ethanol_psat_pa(double temp_c);

/* Partial pressures over spirit, Pa. */
struct stv_spirit_vapour {
    double ethanol_pa, water_pa;
};

/* Partial pressures of ethanol and water over spirit; their sum is its vapour pressure.
 *
 * ethanol_mole_frac, temp_c, errors, accuracy, assumptions: as stv_spirit_activity
 * out            both members NaN when the status is not OK.
 *
 * Source:  activities [RK303], [LARKIN]; ethanol [KW], [AS70]; water [WP93] of model/air.h */
STV_MUST_CHECK enum stv_status stv_spirit_vapour(double ethanol_mole_frac, double temp_c,
                                                 struct stv_spirit_vapour *out);

/* Diffusion of ethanol, and of water, through air, m2/s.
 *
 * temp_c         deg C.  Valid -30..100; NaN outside.
 * pressure_pa    of the air, Pa, above 0; NaN otherwise.
 *
 * Accuracy: about 5 %; as tested: ethanol at 0 C within 4 % of a handbook's 1.02e-5
 * Source:  ethanol [FSG], its constants from memory; water [MASSMAN], constants from memory */
double stv_ethanol_in_air_m2_s(double temp_c, double pressure_pa);
double stv_water_in_air_m2_s(double temp_c, double pressure_pa);

/* The air space over spirit in a closed vessel. */
struct stv_head_space {
    double ethanol_frac; /* ethanol's share of the gas by volume */
    double ethanol_g_m3;
};

/* Ethanol in the air space when it is saturated.
 *
 * ethanol_mole_frac, temp_c   as stv_spirit_activity
 * pressure_pa    of the gas, Pa, above the vapour pressure of the spirit
 * out            both members NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside a range, NaN, or the spirit would boil
 *          STV_E_ARG     out is NULL
 * Accuracy, source: as stv_spirit_vapour
 * Assumes: still and saturated; a space just opened or filled holds less. */
STV_MUST_CHECK enum stv_status stv_head_space(double ethanol_mole_frac, double temp_c,
                                              double pressure_pa, struct stv_head_space *out);

/* Gas closed in over spirit, as it was when the vessel was closed. */
struct stv_closed_space {
    double ethanol_mole_frac;
    double temp_c;
    double pressure_pa;
    double gas_l;
};

/* Pressure when that vessel is warmed and its gas squeezed to gas_l, Pa.
 *
 * closed         as it was closed; gas_l above 0
 * temp_c, gas_l  now; gas_l above 0
 * out_pa         NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside a range or NaN; STV_E_ARG an argument is NULL
 * Source:  ideal gas for the air, stv_spirit_vapour for the vapours
 * Assumes: rigid and tight.  Real casks breathe through wood and joints: this is what pushes at
 *          bung and heads, not a pressure that a gauge would show. */
STV_MUST_CHECK enum stv_status stv_closed_space_pressure_pa(const struct stv_closed_space *closed,
                                                            double temp_c, double gas_l,
                                                            double *out_pa);

#endif
