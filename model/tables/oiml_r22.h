/* Density of ethanol-water, rho(p, t), as a polynomial.
 *
 * Unit and basis: kg/m3 (true density, in vacuum); p ethanol mass fraction 0..1; t in deg C,
 *            IPTS-68 in the original (differs from ITS-90 by less than 0.01 K here).
 * Axes:      A[k] goes with p^k; B[k] with (t-20)^(k+1); C_i[k] with p^(k+1) (t-20)^i.
 * Range:     -20..40 C, from the freezing curve to p = 1.
 * Accuracy:  the formula reproduces its own printed tables within 0.005 kg/m3.
 * Source:    [R22] OIML International Recommendation R 22, International alcoholometric tables,
 *            1975, general formula and coefficients, p. 12-13; the same formula in the annex of
 *            Council Directive 76/766/EEC (OJ L 262, 27.9.1976, p. 149); data of H. Wagenbreth
 *            and W. Blanke, PTB-Mitteilungen 81 (1971) 412-415.
 * Obtained:  typed from public transcriptions that agree digit for digit; the scan itself has no
 *            text layer.  Checked by the sums and the printed densities in tests/test_spirit.c,
 *            off 20 C with p > 0 as well, where a wrong C shows.
 * Licence:   figures of a legal metrology document, facts.
 */
#ifndef STV_MODEL_TABLES_OIML_R22_H
#define STV_MODEL_TABLES_OIML_R22_H

#define R22_REFERENCE_C 20.0
#define R22_N_A 12
#define R22_N_B 6
#define R22_N_C 5

static const double r22_a_kg_m3[R22_N_A] = {
    9.982012300e2, -1.929769495e2, 3.891238958e2, -1.668103923e3, 1.352215441e4, -8.829278388e4,
    3.062874042e5, -6.138381234e5, 7.470172998e5, -5.478461354e5, 2.234460334e5, -3.903285426e4};

static const double r22_b_kg_m3[R22_N_B] = {-2.0618513e-1, -5.2682542e-3, 3.6130013e-5,
                                            -3.8957702e-7, 7.1693540e-9,  -9.9739231e-11};

static const double r22_c1_kg_m3[11] = {
    1.693443461530087e-1, -1.046914743455169e1, 7.196353469546523e1, -7.047478054272792e2,
    3.924090430035045e3,  -1.210164659068747e4, 2.248646550400788e4, -2.605562982188164e4,
    1.852373922069467e4,  -7.420201433430137e3, 1.285617841998974e3};

/* Source: [R22] p. 12-13.  Two public copies end C_2,3 in ...563993 and ...536933; the majority
 * reading stands here, the effect is below 1e-6 kg/m3. */
static const double r22_c2_kg_m3[10] = {
    -1.193013005057010e-2, 2.517399633803461e-1, -2.170575700536993,   1.353034988843029e1,
    -5.029988758547014e1,  1.096355666577570e2,  -1.422753946421155e2, 1.080435942856230e2,
    -4.414153236817392e1,  7.442971530188783};

static const double r22_c3_kg_m3[9] = {
    -6.802995733503803e-4, 1.876837790289664e-2, -2.002561813734156e-1,
    1.022992966719220,     -2.895696483903638,   4.810060584300675,
    -4.672147440794683,    2.458043105903461,    -5.411227621436812e-1};

/* Source: [R22] p. 12-13. */
static const double r22_c4_kg_m3[4] = {4.075376675622027e-6, -8.763058573471110e-6,
                                       6.515031360099368e-6, -1.515784836987210e-6};

static const double r22_c5_kg_m3[2] = {-2.788074354782409e-8, 1.345612883493354e-8};

#endif
