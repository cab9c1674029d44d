/* Excess Gibbs energy of ethanol-water at 303.15 K.
 *
 * gE/RT = x (1 - x) sum_i c_i (2 x - 1)^i
 *
 * Unit and basis: dimensionless; x ethanol mole fraction 0..1, at 303.15 K only.
 * Range:     trusted for x 0.10..0.95; finite and of the right limit outside.
 * Class:     fitted.  Residual 0.14 % rms in total pressure, 0.0013 rms in vapour mole fraction.
 * Source:    [RK303] least squares of our own to P and y at 303.15 K of R. C. Pemberton and
 *            C. J. Mash, J. Chem. Thermodyn. 10 (1978) 867 (23 points), with the vapour
 *            pressures of spirit_activity.c and an ideal vapour.
 * Obtained:  fitted to a public transcription of the measurements; tests/test_spirit_activity.c
 * repeats the residual and tests against 25 and 50 C data that were not in the fit.
 */
#ifndef STV_MODEL_TABLES_REDLICH_KISTER_H
#define STV_MODEL_TABLES_REDLICH_KISTER_H

#define REDLICH_KISTER_N 5
#define REDLICH_KISTER_K 303.15

static const double redlich_kister_nd[REDLICH_KISTER_N] = {1.2003, -0.3094, 0.0549, 0.0532,
                                                           -0.1448};

#endif
