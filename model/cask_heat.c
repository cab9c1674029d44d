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

#include "model/lanes.h"

#include <math.h>
#include <stdbool.h>

#define PIECE_H 0.5
#define TIME_CONSTANT_LEAST_H 1.0
#define TIME_CONSTANT_MOST_H 2000.0
#define SPIN_UP_H 720 /* 30 days: long against a cask, short against a season */

/* Weights of one half-hour piece, for eight time constants side by side. */
struct piece {
    stv__v8 of_state_nd, of_start_nd, of_end_nd;
    stv__v8 inverse_x_nd;
};

static void piece_of(const double time_constant_h[STV__PACKET], struct piece *out)
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

/* Walks one piece; returns the mean of the liquid over it. */
STV__INLINE stv__v8 walk_piece_c(const struct piece *piece, double from_c, double to_c,
                                 stv__v8 *state_c)
{
    stv__v8 start_c = *state_c;
    *state_c = piece->of_state_nd * start_c + piece->of_start_nd * from_c + piece->of_end_nd * to_c;
    return 0.5 * (from_c + to_c) - (*state_c - start_c) * piece->inverse_x_nd;
}

STV__INLINE double outside_c(const struct stv__surround *outside, size_t k)
{
    return outside->convective_frac * outside->air_c[k] +
           (1.0 - outside->convective_frac) * outside->radiant_c[k];
}

/* Walks an hour whose middle value lies between those of its neighbours in walking order. */
STV__INLINE stv__v8 walk_hour_c(const struct piece *piece, const double middles_c[3],
                                stv__v8 *state_c)
{
    stv__v8 first_c =
        walk_piece_c(piece, 0.5 * (middles_c[0] + middles_c[1]), middles_c[1], state_c);
    stv__v8 second_c =
        walk_piece_c(piece, middles_c[1], 0.5 * (middles_c[1] + middles_c[2]), state_c);
    return 0.5 * (first_c + second_c);
}

/* Walks the first n hours, in order or mirrored; the ends are level. */
STV__INLINE void walk_block(const struct piece *piece, const struct stv__surround *outside,
                            size_t n, int is_mirrored, stv__v8 *state_c)
{
    double first_c = outside_c(outside, is_mirrored ? n - 1 : 0);
    double middles_c[3] = {first_c, first_c, first_c};
    for (size_t k = 0; k < n; k++) {
        size_t next = k + 1 < n ? k + 1 : k;
        middles_c[2] = outside_c(outside, is_mirrored ? n - 1 - next : next);
        walk_hour_c(piece, middles_c, state_c);
        middles_c[0] = middles_c[1];
        middles_c[1] = middles_c[2];
    }
}

/* State at the start: that of the first block run forwards and backwards for ever.  One round is
 * T -> T_round + D (T - T_guess) with D = exp(-2 n/tau), so its fixed point needs one walk. */
STV__INLINE void start_state_c(const struct piece *piece, const struct stv__surround *outside,
                               const double time_constant_h[STV__PACKET], stv__v8 *out_c)
{
    size_t n = outside->n < SPIN_UP_H ? outside->n : SPIN_UP_H;
    double guess_c = 0.0;
    for (size_t k = 0; k < n; k++)
        guess_c += outside_c(outside, k) / (double)n;
    stv__v8 state_c = stv__all(guess_c);
    walk_block(piece, outside, n, 0, &state_c);
    walk_block(piece, outside, n, 1, &state_c);
    for (int l = 0; l < STV__PACKET; l++)
        (*out_c)[l] =
            guess_c + (state_c[l] - guess_c) / -expm1(-2.0 * (double)n / time_constant_h[l]);
}

static bool is_known(const struct stv__surround *outside)
{
    for (size_t k = 0; k < outside->n; k++)
        if (!isfinite(outside->air_c[k]) || !isfinite(outside->radiant_c[k]))
            return false;
    return true;
}

STV__WIDE static void walk_all(const struct stv__surround *outside,
                               const double time_constant_h[STV__PACKET], size_t n_lanes,
                               double *const out_liquid_c[STV__PACKET])
{
    struct piece piece;
    stv__v8 state_c;
    piece_of(time_constant_h, &piece);
    start_state_c(&piece, outside, time_constant_h, &state_c);
    double first_c = outside_c(outside, 0);
    double middles_c[3] = {first_c, first_c, first_c};
    for (size_t k = 0; k < outside->n; k++) {
        middles_c[2] = k + 1 < outside->n ? outside_c(outside, k + 1) : middles_c[1];
        stv__v8 mean_c = walk_hour_c(&piece, middles_c, &state_c);
        for (size_t l = 0; l < n_lanes; l++)
            out_liquid_c[l][k] = mean_c[l];
        middles_c[0] = middles_c[1];
        middles_c[1] = middles_c[2];
    }
}

enum stv_status stv__cask_liquids_c(const struct stv__surround *around,
                                    const double time_constant_h[STV__PACKET], size_t n_lanes,
                                    double *const out_liquid_c[STV__PACKET])
{
    if (!around->air_c || !around->radiant_c || around->n == 0)
        return STV_E_ARG;
    double held_h[STV__PACKET];
    bool is_good = is_known(around);
    for (size_t l = 0; l < STV__PACKET; l++) {
        held_h[l] = time_constant_h[l < n_lanes ? l : 0];
        is_good =
            is_good && held_h[l] >= TIME_CONSTANT_LEAST_H && held_h[l] <= TIME_CONSTANT_MOST_H;
    }
    if (is_good) {
        walk_all(around, held_h, n_lanes, out_liquid_c);
        return STV_OK;
    }
    for (size_t l = 0; l < n_lanes; l++)
        for (size_t k = 0; k < around->n; k++)
            out_liquid_c[l][k] = NAN;
    return STV_E_DOMAIN;
}

enum stv_status stv_cask_liquid_c(const double *air_c, const double *radiant_c, size_t n,
                                  double time_constant_h, double convective_frac,
                                  double *out_liquid_c)
{
    if (!out_liquid_c)
        return STV_E_ARG;
    const struct stv__surround around = {air_c, radiant_c, n, convective_frac};
    const double constants_h[STV__PACKET] = {time_constant_h};
    double *const out_c[STV__PACKET] = {out_liquid_c};
    return stv__cask_liquids_c(&around, constants_h, 1, out_c);
}
