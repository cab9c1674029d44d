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

/* Shared inside model/: eight liquids side by side, an hour at a time, each of its own time
 * constant or outside. */
struct stv__surround {
    const double *air_c, *radiant_c; /* n hourly means */
    size_t n;
    double convective_frac;
};
double stv__outside_c(const struct stv__surround *around, size_t hour_idx);

/* Weights of half an hour, and where the liquids stand. */
struct stv__liquid_walk {
    stv__v8 of_state_nd, of_start_nd, of_end_nd, inverse_x_nd;
    stv__v8 state_c;
};
/* Weights of these time constants, 1..2000 h, and the state before the first hour. */
void stv__liquid_walk_start(const struct stv__surround *around,
                            const double time_constant_h[STV__PACKET],
                            struct stv__liquid_walk *out);

/* Walks half an hour; returns the mean of the liquid over it. */
STV__INLINE stv__v8 stv__liquid_half_hour_c(struct stv__liquid_walk *walk, stv__v8 from_c,
                                            stv__v8 to_c)
{
    stv__v8 start_c = walk->state_c;
    walk->state_c =
        walk->of_state_nd * start_c + walk->of_start_nd * from_c + walk->of_end_nd * to_c;
    return 0.5 * (from_c + to_c) - (walk->state_c - start_c) * walk->inverse_x_nd;
}

/* Walks an hour by the outside of its middle and of the hours before and after it; returns the mean
 * of the liquid over it.  At an end of the record the hour itself stands for the missing one. */
STV__INLINE stv__v8 stv__liquid_hour_c(struct stv__liquid_walk *walk, stv__v8 before_c,
                                       stv__v8 here_c, stv__v8 after_c)
{
    stv__v8 first_c = stv__liquid_half_hour_c(walk, 0.5 * (before_c + here_c), here_c);
    return 0.5 * (first_c + stv__liquid_half_hour_c(walk, here_c, 0.5 * (here_c + after_c)));
}

#endif
