/* Humid air: saturation, humidity measures, density.
 *
 * Sources, cited below by key:
 *   [WP93]     W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783 (IAPWS SR1-86(1992))
 *   [ASHRAE17] ASHRAE Handbook Fundamentals 2017, ch. 1
 *
 * All functions are scalar in, scalar out, and allocate nothing.  Humidity is over liquid water
 * at every temperature, also below 0 C. */
#ifndef STV_MODEL_AIR_H
#define STV_MODEL_AIR_H

#include "model/status.h"

/* Saturation pressure of water over liquid, Pa.
 *
 * temp_c         deg C.  Valid 0..373; extrapolated on purpose over supercooled liquid from -80;
 *                NaN outside.
 *
 * Accuracy: as tested: triple point and boiling point to 1e-5; 0.3 % of tabled values over
 *           supercooled water at -10 and -20 C
 * Source:  [WP93], coefficients from memory */
double stv_water_psat_pa(double temp_c);

/* Dew point over liquid water, deg C; inverse of stv_water_psat_pa.
 *
 * vapour_pa      partial pressure of water, Pa.  Valid for dew points of -80..373 C; NaN
 *                outside, so for 0 and less.
 *
 * Accuracy: as tested: round trips to 1e-9 K
 * Source:  [WP93] */
double stv_dew_point_c(double vapour_pa);

/* Humidity ratio, kg of water per kg of dry air.
 *
 * vapour_pa      partial pressure of water, Pa, from 0 to below pressure_pa; NaN outside.
 * pressure_pa    of the moist air, Pa
 *
 * Source:  [ASHRAE17] eq. 20
 * Assumes: ideal gases. */
double stv_humidity_ratio_kg_kg(double vapour_pa, double pressure_pa);

/* Partial pressure of water, Pa; inverse of stv_humidity_ratio_kg_kg.
 *
 * ratio_kg_kg    kg/kg dry air, not negative; NaN otherwise.
 * pressure_pa    of the moist air, Pa, above 0; NaN otherwise.
 *
 * Source:  [ASHRAE17] eq. 20 */
double stv_vapour_from_ratio_pa(double ratio_kg_kg, double pressure_pa);

/* Partial pressure of water of a wet-bulb reading, the wick wet with liquid water.
 *
 * temp_c         dry bulb, deg C.  Valid up to 100.
 * wet_bulb_c     deg C, from -60 to temp_c
 * pressure_pa    of the moist air, Pa
 * out_vapour_pa  Pa; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  wet bulb above the dry bulb or so low that no air gives it, water would
 *                        boil, outside a range, or NaN
 *          STV_E_ARG     out_vapour_pa is NULL
 * Accuracy: as tested: 3e-4 of a published humidity ratio
 * Source:  [ASHRAE17] eq. 33
 * Assumes: thermodynamic wet bulb (a well aspirated thermometer); no ice on the wick. */
STV_MUST_CHECK enum stv_status stv_vapour_from_wet_bulb_pa(double temp_c, double wet_bulb_c,
                                                           double pressure_pa,
                                                           double *out_vapour_pa);

/* Wet bulb of air; inverse of stv_vapour_from_wet_bulb_pa.
 *
 * temp_c          dry bulb, deg C.  Valid above -60, up to 100.
 * vapour_pa       Pa, from 0 to saturation and below pressure_pa
 * pressure_pa     of the moist air, Pa
 * out_wet_bulb_c  deg C; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside a range, above saturation, or NaN
 *          STV_E_ARG     out_wet_bulb_c is NULL
 * Accuracy: as tested: 0.001 K of a published value; round trips to 1e-9 K
 * Source:  [ASHRAE17] eq. 33 */
STV_MUST_CHECK enum stv_status stv_wet_bulb_c(double temp_c, double vapour_pa, double pressure_pa,
                                              double *out_wet_bulb_c);

/* Specific enthalpy of moist air, J per kg of dry air, zero for dry air and liquid at 0 C.
 *
 * temp_c         deg C
 * ratio_kg_kg    kg/kg dry air, not negative; NaN otherwise.
 *
 * Source:  [ASHRAE17] eq. 30 */
double stv_air_enthalpy_j_kg(double temp_c, double ratio_kg_kg);

/* Density of moist air, kg/m3 (both gases).
 *
 * temp_c         deg C, above absolute zero
 * vapour_pa      Pa, 0..pressure_pa; NaN outside.
 * pressure_pa    of the moist air, Pa
 *
 * Source:  [ASHRAE17] eq. 26
 * Assumes: ideal gases. */
double stv_air_density_kg_m3(double temp_c, double vapour_pa, double pressure_pa);

/* Pressure of the standard atmosphere at a height, Pa.
 *
 * elevation_m    above sea level, m.  Valid -5000..11000; NaN outside.
 *
 * Accuracy: as tested: the published table to its last digit
 * Source:  [ASHRAE17] eq. 3 */
double stv_pressure_at_height_pa(double elevation_m);

#endif
