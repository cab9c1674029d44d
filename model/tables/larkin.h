/* Excess enthalpy of ethanol-water.
 *
 * HE = x (1 - x) sum_m (b_m + c_m T + d_m T^2) x^m, m = 0, 0.5, 1.5, 2.5, 4.5
 *
 * Unit and basis: J per mol of mixture; x ethanol mole fraction; T in K.
 *            b in J/mol, c in J/(mol K), d in J/(mol K2).
 * Range:     298..383 K, x 0..1; the half powers make the slope at x below 0.03 too steep.
 * Accuracy:  not known to us; with [RK303] it predicts the total pressure at 50 C to 0.20 % rms.
 * Source:    [LARKIN] J. A. Larkin, J. Chem. Thermodyn. 7 (1975) 137.
 * Obtained:  typed from public transcriptions of form and coefficients (second-hand); checked by
 *            total pressures at 50 C in tests/test_spirit_activity.c, which entered no fit.
 * Licence:   published measurements, facts.
 */
#ifndef STV_MODEL_TABLES_LARKIN_H
#define STV_MODEL_TABLES_LARKIN_H

#define LARKIN_N 5

static const double larkin_power_nd[LARKIN_N] = {0.0, 0.5, 1.5, 2.5, 4.5};

static const double larkin_b_j_mol[LARKIN_N] = {-3.63868e5, 9.25982e5, -14.04894e5, 10.91318e5,
                                                -2.79986e5};

static const double larkin_c_j_molk[LARKIN_N] = {1.83829e3, -4.83586e3, 7.51661e3, -5.89498e3,
                                                 1.50557e3};

static const double larkin_d_j_molk2[LARKIN_N] = {-2.32763, 6.37228, -10.11280, 7.98868, -2.03127};

#endif
