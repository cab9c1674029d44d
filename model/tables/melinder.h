/* Heat capacity, conductivity, viscosity and freezing point of ethanol-water.
 *
 * f = sum_i sum_j c[i][j] (t - 8.1578)^i (p - 0.292361)^j
 *
 * Unit and basis: cp J/(kg K); k W/(m K); ln of the viscosity in mPa s; freezing point K above
 *            absolute zero; t deg C; p ethanol mass fraction.
 * Axes:      i = 0..3 in temperature, j = 0..5 in composition, i + j <= 5.
 * Range:     p 0..0.60, from the freezing curve to 40 C.
 * Accuracy:  viscosity 2 % of handbook values (3 % near pure water); the others not stated.
 * Source:    [MELINDER] A. Melinder, Properties of Secondary Working Fluids for Indirect Systems,
 *            IIR, Paris, 2010, ethanol-water.
 * Obtained:  typed from a public data file that cites it (second-hand).  That file divides the
 *            viscosity coefficients by 1000 and calls them a plain polynomial; they are the
 *            logarithm, as handbook viscosities show (tests/test_spirit_activity.c).
 * Licence:   published property data, facts.
 */
#ifndef STV_MODEL_TABLES_MELINDER_H
#define STV_MODEL_TABLES_MELINDER_H

#define MELINDER_N_TEMP 4
#define MELINDER_N_COMP 6
#define MELINDER_CENTRE_C 8.1578
#define MELINDER_CENTRE_FRAC 0.292361

static const double melinder_cp_j_kgk[MELINDER_N_TEMP][MELINDER_N_COMP] = {
    {4204.0, -2102.0, -3714.0, 17430.0, -6292.0, -82900.0},
    {2.319, 49.27, -23.35, -296.9, 535.3, 0.0},
    {-0.03042, -0.3072, -0.1960, 1.901, 0.0, 0.0},
    {6.86e-4, -5.69e-3, 7.461e-3, 0.0, 0.0, 0.0}};

static const double melinder_conductivity_w_mk[MELINDER_N_TEMP][MELINDER_N_COMP] = {
    {0.4067, -0.5008, 0.2801, -0.02009, -0.1506, -0.1653},
    {6.775e-4, -2.377e-3, 2.669e-3, -6.813e-3, 1.167e-2, 0.0},
    {3.105e-7, -3.216e-6, -3.606e-5, 1.429e-4, 0.0, 0.0},
    {-2.0e-8, 8.362e-9, 1.552e-7, 0.0, 0.0, 0.0}};

static const double melinder_ln_viscosity_nd[MELINDER_N_TEMP][MELINDER_N_COMP] = {
    {1.474, 1.565, -8.435, 7.552, 15.29, -41.30},
    {-0.04745, -0.004106, 0.1640, -0.1118, -0.09481, 0.0},
    {4.314e-4, -5.135e-4, -1.091e-3, 1.899e-3, 0.0, 0.0},
    {-3.023e-6, 7.004e-6, -1.967e-5, 0.0, 0.0, 0.0}};

static const double melinder_freezing_k[MELINDER_N_COMP] = {253.74, -95.40, -26.48,
                                                            385.1,  -28.58, -1670.0};

#endif
