/* Brightness coefficients of the Perez sky, F1 (circumsolar) and F2 (horizon).
 *
 * Quantity:  F11 F12 F13 F21 F22 F23, dimensionless, for the zenith angle in radians
 * Axis:      eight bins of sky clearness epsilon, 1 (overcast) upward; upper edges below, the last
 *            bin is open
 * Range:     epsilon >= 1
 * Class:     fitted, all-sites composite of ten American and three European stations (from memory)
 * Uncertainty: not published per coefficient; printed to three decimals
 * Source:    Perez, Ineichen, Seals, Michalsky and Stewart 1990, Modeling daylight availability
 *            and irradiance components from direct and global irradiance, Solar Energy 44,
 *            271-289, tables 1 and 6
 * Obtained:  second-hand, typed from the table as carried by the open library pvlib; the last
 *            row compared with several other open codes, one of which prints 1.062 for the
 *            1.060 of row seven (taken as its misprint)
 * Checked:   row eight (clear sky) by the worked value in tests/test_sun.c, all rows by a sum
 * Licence:   facts, freely usable */
#ifndef STV_MODEL_TABLES_PEREZ_H
#define STV_MODEL_TABLES_PEREZ_H

#define STV__PEREZ_BINS 8
#define STV__PEREZ_COLUMNS 6

/* Source: Perez et al. 1990, table 1. */
static const double stv__perez_edges_nd[STV__PEREZ_BINS - 1] = {1.065, 1.23, 1.5, 1.95,
                                                                2.8,   4.5,  6.2};

/* Source: Perez et al. 1990, table 6. */
static const double stv__perez_nd[STV__PEREZ_BINS][STV__PEREZ_COLUMNS] = {
    {-0.008, 0.588, -0.062, -0.060, 0.072, -0.022}, {0.130, 0.683, -0.151, -0.019, 0.066, -0.029},
    {0.330, 0.487, -0.221, 0.055, -0.064, -0.026},  {0.568, 0.187, -0.295, 0.109, -0.152, -0.014},
    {0.873, -0.392, -0.362, 0.226, -0.462, 0.001},  {1.132, -1.237, -0.412, 0.288, -0.823, 0.056},
    {1.060, -1.600, -0.359, 0.264, -1.127, 0.131},  {0.678, -0.327, -0.250, 0.156, -1.377, 0.251},
};

#endif
