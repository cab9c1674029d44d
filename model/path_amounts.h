/* Private to path*.c: mass fraction and density of eight liquids. */
#ifndef STV_MODEL_PATH_AMOUNTS_H
#define STV_MODEL_PATH_AMOUNTS_H

#include "model/path_packet.h"

/* Even and odd powers apart, in the order of model/spirit.c. */
STV__INLINE void stv__density(const struct stv__path_model *model, stv__v8 ethanol_kg,
                              stv__v8 total_kg, stv__v8 *out_mass_frac, stv__v8 *out_kg_m3)
{
    const double *c = model->density_kg_m3;
    stv__v8 p = ethanol_kg / total_kg, square = p * p;
    stv__v8 even = stv__all(c[10]), odd = stv__all(c[11]);
    for (int k = 8; k >= 0; k -= 2) {
        even = even * square + c[k];
        odd = odd * square + c[k + 1];
    }
    *out_mass_frac = p;
    *out_kg_m3 = even + p * odd;
}

/* Value of a curve tabulated from 0 to 1, by straight lines, and how steep it is; places are held
 * inside. */
STV__INLINE stv__v8 stv__curve_and_slope(const double *values, int n_cells, stv__v8 place_frac,
                                         stv__v8 *out_slope)
{
    stv__v8 low, high;
    stv__v8 at = stv__least(stv__all(n_cells), stv__most(stv__all(0.0), place_frac * n_cells));
    stv__i8 cells = __builtin_convertvector(stv__least(at, stv__all(n_cells - 1)), stv__i8);
    for (int l = 0; l < STV__PACKET; l++) {
        low[l] = values[cells[l]];
        high[l] = values[cells[l] + 1];
    }
    *out_slope = (high - low) * n_cells;
    return low + (at - __builtin_convertvector(cells, stv__v8)) * (high - low);
}

STV__INLINE stv__v8 stv__curve(const double *values, int n_cells, stv__v8 place_frac)
{
    stv__v8 slope;
    return stv__curve_and_slope(values, n_cells, place_frac, &slope);
}

/* By the root of twice the share that is full or empty, whichever is less. */
STV__INLINE stv__v8 stv__wetted(const struct stv__path_model *model, stv__v8 full_frac)
{
    stv__v8 full = stv__least(stv__all(1.0), stv__most(stv__all(0.0), full_frac));
    stv__v8 half = 0.5 * stv__root(2.0 * stv__least(full, 1.0 - full));
    return stv__curve(model->wetted_frac, STV__WETTED_CELLS,
                      stv__pick(full < 0.5, half, 1.0 - half));
}

/* Keeps a share of all that is dissolved. */
STV__INLINE void stv__keep_dissolved(struct stv__packet *packet, stv__v8 kept_frac)
{
    packet->ester_mg *= kept_frac;
    for (size_t k = 0; k < STV_OAK_N; k++)
        packet->content_mg[k] *= kept_frac;
}

#endif
