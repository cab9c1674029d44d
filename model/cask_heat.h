/* Temperature of the liquid in a cask: one well-mixed node behind wood and air film. */
#ifndef STV_MODEL_CASK_HEAT_H
#define STV_MODEL_CASK_HEAT_H

#include "model/lanes.h"
#include "model/status.h"

#include <stddef.h>

/* Hourly means of the liquid temperature under what surrounds the cask.
 *
 * air_c, radiant_c   n hourly means, deg C, finite; the outside is convective_frac of the air
 *                    and the rest of the radiant
 * n                  hours, > 0
 * convective_frac    share of the outside film that is convective, 0..1
 * time_constant_h    the liquid's, 1..2000 h
 * out_liquid_c       n hourly means, deg C; all NaN when the status is STV_E_DOMAIN
 *
 * Shape:   n values in, n values out, caller owns; air_c and radiant_c may be one array,
 *          out_liquid_c may not be either of them
 * Errors:  STV_E_ARG     n = 0 or a NULL; nothing is written
 *          STV_E_DOMAIN  time constant outside 1..2000 h or NaN, or a value that is not finite
 * Accuracy: exact, to rounding, for an outside that runs straight from hour middle to hour
 *          middle and stays level in the first and the last half hour.  Within the day such a
 *          line is 0.9 % flatter than the sine it stands for, in the liquid's hourly means.
 * Source:  closed form of the linear equation tau dT/dt = T_outside - T
 * Assumes: a time constant that does not change, no heat from sun on the cask itself.  The record
 *          starts as if its first 30 days had run backwards and forwards for ever before it.
 * Memory:  allocates nothing */
STV_MUST_CHECK enum stv_status stv_cask_liquid_c(const double *air_c, const double *radiant_c,
                                                 size_t n, double time_constant_h,
                                                 double convective_frac, double *out_liquid_c);

/* Shared inside model/: the same for up to eight time constants at once.
 *
 * n_lanes        1..8: how many count
 * out_liquid_c   n_lanes rows of around->n hourly means
 * Errors and accuracy as stv_cask_liquid_c */
struct stv__surround {
    const double *air_c, *radiant_c; /* n hourly means */
    size_t n;
    double convective_frac;
};
STV_MUST_CHECK enum stv_status stv__cask_liquids_c(const struct stv__surround *around,
                                                   const double time_constant_h[STV__PACKET],
                                                   size_t n_lanes,
                                                   double *const out_liquid_c[STV__PACKET]);

#endif
