/* Ethanol-water spirit: density, strength conversions, heat and flow properties.
 *
 * Sources, cited below by key:
 *   [R22]      OIML R 22, International alcoholometric tables, 1975, general formula, p. 12-13
 *   [27CFR30]  27 CFR part 30, US gauging manual (definitions in 30.11)
 *   [FSSAI18]  Food Safety and Standards (Alcoholic Beverages) Regulations, India, 2018
 *   [MELINDER] A. Melinder, Properties of Secondary Working Fluids, IIR, 2010
 *
 * All functions are scalar in, scalar out, and allocate nothing.  ethanol_mass_frac is kg ethanol
 * per kg of spirit; abv20_frac is the volume fraction at 20 C; both 0..1. */
#ifndef STV_MODEL_SPIRIT_H
#define STV_MODEL_SPIRIT_H

#include "model/status.h"

#include <stdbool.h>

/* Density of pure ethanol at 20 C as [R22] prints and uses it; the formula itself gives 789.2391,
 * 1.1e-6 less, so that pure ethanol computes to 99.99989 % vol. */
#define STV_ETHANOL_RHO20_KG_M3 789.24

/* Density of spirit.
 *
 * ethanol_mass_frac  0..1, at or above the freezing curve
 * temp_c             spirit temperature, deg C.  Valid -20..40.
 * out_kg_m3          true density, kg/m3; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside either range, below freezing (up to 0.60), or NaN
 *          STV_E_ARG     out_kg_m3 is NULL
 * Accuracy: as tested: within 0.006 kg/m3 of printed [R22] values, at 20 C and off it
 * Source:  [R22]; freezing curve [MELINDER]
 * Assumes: nothing dissolved but ethanol and water. */
STV_MUST_CHECK enum stv_status stv_spirit_density_kg_m3(double ethanol_mass_frac, double temp_c,
                                                        double *out_kg_m3);

/* The density formula at one temperature: made once, then cheap for any number of strengths.  All
 * density functions below go through it. */
#define STV_SPIRIT_AT_N 12
struct stv_spirit_at {
    double temp_c;
    double rho_kg_m3[STV_SPIRIT_AT_N]; /* [k] goes with the k-th power of the mass fraction */
    double pure_ethanol_kg_m3;
    bool is_extrapolated; /* above 40 C, where [R22] ends: say so to whoever reads the result */
};

/* True above 40 C. */
bool stv_spirit_is_extrapolated(double temp_c);

/* Prepares the formula at a temperature.
 *
 * temp_c         deg C.  Valid -20..50; above 40 flagged as extrapolated.
 * out            temp_c is NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  temp_c outside, or NaN
 *          STV_E_ARG     out is NULL
 * Accuracy: above 40 C about 0.3 kg/m3, from the two pure liquids against equations of state
 * Source:  [R22], extrapolated above 40 C */
STV_MUST_CHECK enum stv_status stv_spirit_at(double temp_c, struct stv_spirit_at *out);

/* Density, kg/m3, at the prepared temperature; NaN for a mass fraction outside 0..1 and for spirit
 * that is frozen there.  Source: [R22] */
double stv_spirit_at_rho_kg_m3(const struct stv_spirit_at *at, double ethanol_mass_frac);

/* Volume of pure ethanol over the volume of the spirit, both at the prepared temperature, 0..1: at
 * 60 F half a hundredth of the US proof.  NaN as stv_spirit_at_rho_kg_m3.
 *
 * Source:  definition of % vol in [R22], with the formula's own density of pure ethanol */
double stv_spirit_at_vol_frac(const struct stv_spirit_at *at, double ethanol_mass_frac);

/* Mass fraction of a density at the prepared temperature; inverse of stv_spirit_at_rho_kg_m3.
 *
 * out_mass_frac  0..1; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN          no spirit is that heavy or light, or it would be frozen
 *          STV_E_NO_CONVERGENCE  never seen
 *          STV_E_ARG             out_mass_frac is NULL
 * Accuracy: as tested: round trips to 1e-10 over the whole domain */
STV_MUST_CHECK enum stv_status stv_spirit_at_mass_frac(const struct stv_spirit_at *at,
                                                       double rho_kg_m3, double *out_mass_frac);

/* The same from a fraction by volume; inverse of stv_spirit_at_vol_frac.
 *
 * vol_frac       0..1
 *
 * Errors, accuracy: as stv_spirit_at_mass_frac */
STV_MUST_CHECK enum stv_status stv_spirit_at_mass_frac_of_vol(const struct stv_spirit_at *at,
                                                              double vol_frac,
                                                              double *out_mass_frac);

/* Density at 20 C for inner loops, kg/m3.
 *
 * ethanol_mass_frac  0..1, not checked; NaN in, NaN out.
 *
 * Accuracy: equal to the last bit to stv_spirit_density_kg_m3 at 20 C
 * Source:  [R22] */
double stv_spirit_rho20_kg_m3(double ethanol_mass_frac);

/* Freezing temperature of spirit, deg C.
 *
 * ethanol_mass_frac  0..0.60; NaN outside.
 *
 * Accuracy: not stated; as tested: within 0.5 K of handbook values to 40 % by mass
 * Source:  [MELINDER] */
double stv_spirit_freezing_c(double ethanol_mass_frac);

/* Strength of a mass fraction, volume fraction at 20 C.
 *
 * ethanol_mass_frac  0..1; NaN outside.  1 gives 0.9999989 (see STV_ETHANOL_RHO20_KG_M3).
 *
 * Source:  [R22] definition, % vol = mass fraction x rho20 / 789.24 */
double stv_abv20_from_mass_frac(double ethanol_mass_frac);

/* Mass fraction of a strength; inverse of stv_abv20_from_mass_frac.
 *
 * abv20_frac     0..1; the last 1.1e-6 below 1 is pure ethanol too.
 * out_mass_frac  0..1; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN          abv20_frac outside 0..1, or NaN
 *          STV_E_NO_CONVERGENCE  never seen
 *          STV_E_ARG             out_mass_frac is NULL
 * Accuracy: as tested: round trips to 1e-10
 * Source:  [R22] */
STV_MUST_CHECK enum stv_status stv_mass_frac_from_abv20(double abv20_frac, double *out_mass_frac);

/* Mass fraction of a measured density.
 *
 * rho_kg_m3      true density (in vacuum), kg/m3
 * temp_c         at which it was measured, deg C.  Valid -20..40.
 * out_mass_frac  0..1; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN          temp_c outside, no spirit is that heavy or light, or it would
 *                                be frozen
 *          STV_E_NO_CONVERGENCE  never seen
 *          STV_E_ARG             out_mass_frac is NULL
 * Accuracy: as tested: round trips to 1e-10; one 0.1 kg/m3 is 0.0003..0.0013 of mass fraction
 * Source:  [R22]
 * Assumes: no dissolved solids. */
STV_MUST_CHECK enum stv_status stv_mass_frac_from_density(double rho_kg_m3, double temp_c,
                                                          double *out_mass_frac);

/* Ethanol mole fraction of a mass fraction and back.
 *
 * argument       0..1; NaN outside.
 *
 * Source:  molar masses of model/units.h */
double stv_mole_frac_from_mass_frac(double ethanol_mass_frac);
double stv_mass_frac_from_mole_frac(double ethanol_mole_frac);

/* US proof: twice the per cent of ethanol by volume at 60 F.
 *
 * ethanol_mass_frac  0..1; NaN outside.  Result 0..200 degrees.
 *
 * Accuracy: as tested: the specific gravities of [27CFR30] Table 6 within 4e-5 at 70..150 proof,
 *           which is 0.03 proof; the US tables stand on older densities
 * Source:  [27CFR30] 30.11 definition, densities [R22] */
double stv_us_proof_nd(double ethanol_mass_frac);

/* Mass fraction of a US proof; inverse of stv_us_proof_nd.
 *
 * us_proof_nd    0..200 degrees
 * out_mass_frac  0..1; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN          us_proof_nd outside 0..200, or NaN
 *          STV_E_NO_CONVERGENCE  never seen
 *          STV_E_ARG             out_mass_frac is NULL
 * Accuracy: as tested: round trips to 1e-10
 * Source:  [27CFR30], [R22] */
STV_MUST_CHECK enum stv_status stv_mass_frac_from_us_proof(double us_proof_nd,
                                                           double *out_mass_frac);

/* Mass fraction of a proof of the British scale, as still used in India: 1.75131 degrees per
 * % vol at 20 C.
 *
 * uk_proof_nd    0..175.131 degrees
 * out_mass_frac  0..1; NaN when the status is not OK.
 *
 * Errors:  as stv_mass_frac_from_abv20
 * Accuracy: 100 degrees give 57.10 % vol.  The older definition, a spirit that weighs 12/13 of
 *           an equal volume of water at 51 F (UK Alcoholic Liquor Duties Act 1979, s. 2 as
 *           enacted), gives 57.145 % vol by [R22]; the factor in force is used.
 * Source:  [FSSAI18], second-hand */
STV_MUST_CHECK enum stv_status stv_mass_frac_from_uk_proof(double uk_proof_nd,
                                                           double *out_mass_frac);

/* The British scale of a mass fraction, 0..175.131 degrees; NaN outside 0..1.
 *
 * Accuracy, source: as stv_mass_frac_from_uk_proof */
double stv_uk_proof_nd(double ethanol_mass_frac);

/* Litres, strength and pure alcohol of two masses. */
struct stv_spirit_amount {
    double volume20_l;
    double abv20_frac; /* NaN when the masses are zero */
    double lpa_l;      /* litres of pure alcohol at 20 C */
};

/* The amount that two masses make.
 *
 * ethanol_kg, water_kg  kg, not negative.  All members are NaN for a negative or NaN mass; zero
 *                       masses make zero litres of no strength.
 *
 * Accuracy: as the density at 20 C
 * Source:  [R22] */
struct stv_spirit_amount stv_spirit_amount(double ethanol_kg, double water_kg);

/* Masses in a volume of a strength.
 *
 * volume20_l                    litres at 20 C, not negative, finite
 * abv20_frac                    0..1
 * out_ethanol_kg, out_water_kg  kg; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN          outside either range, or NaN
 *          STV_E_NO_CONVERGENCE  never seen
 *          STV_E_ARG             an out pointer is NULL
 * Accuracy: as tested: returns to the same litres and strength to 1e-12
 * Source:  [R22] */
STV_MUST_CHECK enum stv_status stv_spirit_masses_kg(double volume20_l, double abv20_frac,
                                                    double *out_ethanol_kg, double *out_water_kg);

/* Specific heat capacity of spirit.
 *
 * ethanol_mass_frac  0..0.60 (67.8 % vol)
 * temp_c             deg C, from the freezing curve to 40
 * out_j_kgk          J/(kg K); NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside either range, or NaN
 *          STV_E_ARG     the out pointer is NULL
 * Accuracy: not stated; within 1 % of water's at ethanol_mass_frac 0
 * Source:  [MELINDER] */
STV_MUST_CHECK enum stv_status stv_spirit_cp_j_kgk(double ethanol_mass_frac, double temp_c,
                                                   double *out_j_kgk);

/* Thermal conductivity of spirit.
 *
 * ethanol_mass_frac, temp_c, errors: as stv_spirit_cp_j_kgk
 * out_w_mk           W/(m K); NaN when the status is not OK.
 *
 * Accuracy: not stated; within 0.5 % of water's at ethanol_mass_frac 0
 * Source:  [MELINDER] */
STV_MUST_CHECK enum stv_status stv_spirit_conductivity_w_mk(double ethanol_mass_frac, double temp_c,
                                                            double *out_w_mk);

/* Dynamic viscosity of spirit.
 *
 * ethanol_mass_frac, temp_c, errors: as stv_spirit_cp_j_kgk
 * out_pa_s           Pa s; NaN when the status is not OK.
 *
 * Accuracy: as tested: within 2.5 % of handbook values for 10..60 % by mass, 20..40 C
 * Source:  [MELINDER] */
STV_MUST_CHECK enum stv_status stv_spirit_viscosity_pa_s(double ethanol_mass_frac, double temp_c,
                                                         double *out_pa_s);

#endif
