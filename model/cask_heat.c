/* The liquid as one node: tau dT/dt = F - T, where F is the convective share of the air and else
 * radiant temperature.
 *
 * F runs straight between the middles of hours.  In a piece of length h with F from a to b, and
 * x = h/tau, E = exp(-x), p = (1 - E)/x:
 *     T(h) = E T(0) + (p - E) a + (1 - p) b        (state after the piece)
 *     mean = (a + b)/2 - (T(h) - T(0))/x           (the equation itself, integrated over h)
 * so neither the state nor the hourly mean carries a step error.  Stratification in the cask, heat
 * stored in the staves apart from the liquid, and sun falling on the cask are left out. */
#include "model/cask_heat.h"

#include <math.h>
#include <stdbool.h>

#define PIECE_H 0.5
#define TIME_CONSTANT_LEAST_H 1.0
#define TIME_CONSTANT_MOST_H 2000.0
#define SPIN_UP_H 720 /* 30 days: long against a cask, short against a season */

static void set_weights(const double time_constant_h[STV__PACKET], struct stv__liquid_walk *out)
{
    for (int l = 0; l < STV__PACKET; l++) {
        double x = PIECE_H / time_constant_h[l];
        double level = -expm1(-x) / x;
        out->of_state_nd[l] = exp(-x);
        out->of_start_nd[l] = level - out->of_state_nd[l];
        out->of_end_nd[l] = 1.0 - level;
        out->inverse_x_nd[l] = 1.0 / x;
    }
}

double stv__outside_c(const struct stv__surround *around, size_t hour_idx)
{
    return around->convective_frac * around->air_c[hour_idx] +
           (1.0 - around->convective_frac) * around->radiant_c[hour_idx];
}

/* Walks the first n hours, in order or mirrored; the ends are level. */
STV__INLINE void walk_block(const struct stv__surround *around, size_t n, int is_mirrored,
                            struct stv__liquid_walk *walk)
{
    stv__v8 here_c = stv__all(stv__outside_c(around, is_mirrored ? n - 1 : 0)), before_c = here_c;
    for (size_t k = 0; k < n; k++) {
        size_t next = k + 1 < n ? k + 1 : k;
        stv__v8 after_c = stv__all(stv__outside_c(around, is_mirrored ? n - 1 - next : next));
        stv__liquid_hour_c(walk, before_c, here_c, after_c);
        before_c = here_c;
        here_c = after_c;
    }
}

/* State at the start: that of the first block run forwards and backwards for ever.  One round is
 * T -> T_round + D (T - T_guess) with D = exp(-2 n/tau), so its fixed point needs one walk. */
STV__WIDE void stv__liquid_walk_start(const struct stv__surround *around,
                                      const double time_constant_h[STV__PACKET],
                                      struct stv__liquid_walk *out)
{
    size_t n = around->n < SPIN_UP_H ? around->n : SPIN_UP_H;
    double guess_c = 0.0;
    set_weights(time_constant_h, out);
    for (size_t k = 0; k < n; k++)
        guess_c += stv__outside_c(around, k) / (double)n;
    out->state_c = stv__all(guess_c);
    walk_block(around, n, 0, out);
    walk_block(around, n, 1, out);
    for (int l = 0; l < STV__PACKET; l++)
        out->state_c[l] =
            guess_c + (out->state_c[l] - guess_c) / -expm1(-2.0 * (double)n / time_constant_h[l]);
}

static bool is_known(const struct stv__surround *around)
{
    for (size_t k = 0; k < around->n; k++)
        if (!isfinite(around->air_c[k]) || !isfinite(around->radiant_c[k]))
            return false;
    return true;
}

STV__WIDE static void walk_all(const struct stv__surround *around, double time_constant_h,
                               double *out_liquid_c)
{
    double constants_h[STV__PACKET];
    struct stv__liquid_walk walk;
    for (size_t l = 0; l < STV__PACKET; l++)
        constants_h[l] = time_constant_h;
    stv__liquid_walk_start(around, constants_h, &walk);
    stv__v8 here_c = stv__all(stv__outside_c(around, 0)), before_c = here_c;
    for (size_t k = 0; k < around->n; k++) {
        stv__v8 after_c = k + 1 < around->n ? stv__all(stv__outside_c(around, k + 1)) : here_c;
        out_liquid_c[k] = stv__liquid_hour_c(&walk, before_c, here_c, after_c)[0];
        before_c = here_c;
        here_c = after_c;
    }
}

enum stv_status stv_cask_liquid_c(const double *air_c, const double *radiant_c, size_t n,
                                  double time_constant_h, double convective_frac,
                                  double *out_liquid_c)
{
    if (!air_c || !radiant_c || !out_liquid_c || n == 0)
        return STV_E_ARG;
    const struct stv__surround around = {air_c, radiant_c, n, convective_frac};
    if (time_constant_h >= TIME_CONSTANT_LEAST_H && time_constant_h <= TIME_CONSTANT_MOST_H &&
        is_known(&around)) {
        walk_all(&around, time_constant_h, out_liquid_c);
        return STV_OK;
    }
    for (size_t k = 0; k < n; k++)
        out_liquid_c[k] = NAN;
    return STV_E_DOMAIN;
}
