/* Oak: equilibrium moisture and the moisture factor of its permeance.
 *
 * Sources, cited below by key:
 *   [USFPL]  Forest Products Laboratory, Wood Handbook, eq. 4-5 (Simpson 1973), coefficients for
 *            deg C from memory
 *   [SIAU84] J. F. Siau, Transport Processes in Wood, Springer 1984, from memory
 *
 * All functions are scalar in, scalar out, and allocate nothing.  Humidities and water activity
 * are 0..1 over liquid water, temperatures -30..100 C; NaN outside. */
#ifndef STV_MODEL_WOOD_H
#define STV_MODEL_WOOD_H

/* Equilibrium moisture content of wood, per cent of dry mass (Hailwood-Horrobin).
 *
 * rh_frac        relative humidity, 0..1
 * temp_c         deg C, -30..100; below -1 an extrapolation
 *
 * Accuracy: as published: 0.13 per cent of moisture on average, 0.9 at most, against the
 *           handbook's table; oak may differ by 1
 * Source:  [USFPL] */
double stv_wood_moisture_pct(double rh_frac, double temp_c);

/* Permeance of wood to water at a humidity over that at 13 per cent moisture:
 * exp[70 (M(h, t) - 13)/(1.987 T)].
 *
 * rh_frac        humidity at that place in the stave, 0..1
 * temp_c         deg C, -30..100
 *
 * Accuracy: a factor 8 between 2.5 and 18 per cent was measured on aspen
 * Source:  [SIAU84]; 13 per cent: parameter sheet (DEVELOPERS.md, Sources) */
double stv_wood_local_factor_nd(double rh_frac, double temp_c);

/* Mean of the local factor over humidity between the air and the spirit.
 *
 * rh_frac            of the air, 0..1
 * water_activity_nd  of the spirit, 0..1, on either side of rh_frac; when equal, the local value
 * temp_c             of the wood, deg C, -30..100
 *
 * Accuracy: 5-point Gauss-Legendre; as tested: 2e-5 of the exact mean for humidities 0.40..0.90
 *           and activities 0.78..0.88 (40..68 % vol); 5e-3 at worst (dry air, activity near 1)
 * Source:  [SIAU84]; the mean is the parameter sheet's form (DEVELOPERS.md, Sources) */
double stv_wood_factor_nd(double rh_frac, double water_activity_nd, double temp_c);

#endif
