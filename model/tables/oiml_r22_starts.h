/* Mass fractions at which the search for a root of the R 22 formula starts.
 *
 * Unit and basis: ethanol mass fraction 0..1.
 * Axes:      along a row the curve's value in 16 equal parts of the way from pure water's to pure
 *            ethanol's; by density a row for each 10 C from -20 to 50; by volume one row, at 20 C,
 *            since that curve hardly moves with temperature.
 * Accuracy:  the start is within 0.04 of the root wherever the spirit is liquid, mostly 0.005; the
 *            root itself does not depend on it.
 * Source:    computed from [R22] by bisection (table oiml_r22.h), four decimals kept.
 * Obtained:  computed.  tests/test_spirit.c solves the same values again.
 */
#ifndef STV_MODEL_TABLES_OIML_R22_STARTS_H
#define STV_MODEL_TABLES_OIML_R22_STARTS_H

#define R22_STARTS_N 17
#define R22_STARTS_ROWS 8
#define R22_STARTS_LOW_C (-20.0)
#define R22_STARTS_STEP_K 10.0

static const double r22_start_by_density_frac[R22_STARTS_ROWS][R22_STARTS_N] = {
    {0.0000, 0.0765, 0.3289, 0.4055, 0.4639, 0.5168, 0.5673, 0.6162, 0.6637, 0.7102, 0.7560, 0.8011,
     0.8449, 0.8868, 0.9262, 0.9634, 1.0000},
    {0.0000, 0.0747, 0.2429, 0.3525, 0.4212, 0.4796, 0.5342, 0.5868, 0.6380, 0.6882, 0.7374, 0.7856,
     0.8327, 0.8781, 0.9212, 0.9618, 1.0000},
    {0.0000, 0.0753, 0.1992, 0.3128, 0.3885, 0.4514, 0.5091, 0.5644, 0.6183, 0.6710, 0.7227, 0.7735,
     0.8231, 0.8711, 0.9169, 0.9600, 1.0000},
    {0.0000, 0.0765, 0.1825, 0.2857, 0.3636, 0.4291, 0.4890, 0.5464, 0.6022, 0.6569, 0.7106, 0.7633,
     0.8150, 0.8651, 0.9130, 0.9582, 1.0000},
    {0.0000, 0.0773, 0.1735, 0.2674, 0.3444, 0.4110, 0.4724, 0.5313, 0.5886, 0.6448, 0.7000, 0.7544,
     0.8077, 0.8596, 0.9094, 0.9564, 1.0000},
    {0.0000, 0.0775, 0.1674, 0.2542, 0.3293, 0.3961, 0.4583, 0.5182, 0.5767, 0.6341, 0.6906, 0.7463,
     0.8010, 0.8545, 0.9061, 0.9549, 1.0000},
    {0.0000, 0.0775, 0.1627, 0.2439, 0.3171, 0.3838, 0.4465, 0.5069, 0.5661, 0.6245, 0.6821, 0.7389,
     0.7947, 0.8495, 0.9028, 0.9536, 1.0000},
    {0.0000, 0.0776, 0.1594, 0.2357, 0.3071, 0.3739, 0.4369, 0.4974, 0.5568, 0.6158, 0.6743, 0.7320,
     0.7887, 0.8444, 0.8996, 0.9529, 1.0000},
};

static const double r22_start_by_volume_frac[R22_STARTS_N] = {
    0.0000, 0.0499, 0.1005, 0.1518, 0.2038, 0.2567, 0.3109, 0.3666, 0.4243,
    0.4840, 0.5460, 0.6106, 0.6782, 0.7493, 0.8249, 0.9066, 1.0000};

#endif
