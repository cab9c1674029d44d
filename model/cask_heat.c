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

/* Weights of one half-hour piece. */
struct piece {
    double of_state_nd, of_start_nd, of_end_nd;
    double inverse_x_nd;
};

struct outside {
    const double *air_c, *radiant_c;
    size_t n;
    double convective_frac;
};

static struct piece piece_of(double time_constant_h)
{
    double x = PIECE_H / time_constant_h;
    double level = -expm1(-x) / x;
    double decay = exp(-x);
    return (struct piece){decay, level - decay, 1.0 - level, 1.0 / x};
}

/* Walks one piece; returns the mean of the liquid over it. */
static double walk_piece_c(const struct piece *piece, double from_c, double to_c, double *state_c)
{
    double start_c = *state_c;
    *state_c = piece->of_state_nd * start_c + piece->of_start_nd * from_c + piece->of_end_nd * to_c;
    return 0.5 * (from_c + to_c) - (*state_c - start_c) * piece->inverse_x_nd;
}

static double outside_c(const struct outside *outside, size_t k)
{
    return outside->convective_frac * outside->air_c[k] +
           (1.0 - outside->convective_frac) * outside->radiant_c[k];
}

/* Walks an hour whose middle value lies between those of its neighbours in walking order. */
static double walk_hour_c(const struct piece *piece, double before_c, double here_c, double after_c,
                          double *state_c)
{
    double first_c = walk_piece_c(piece, 0.5 * (before_c + here_c), here_c, state_c);
    double second_c = walk_piece_c(piece, here_c, 0.5 * (here_c + after_c), state_c);
    return 0.5 * (first_c + second_c);
}

/* Walks the first n hours, in order or mirrored; the ends are level. */
static void walk_block(const struct piece *piece, const struct outside *outside, size_t n,
                       bool is_mirrored, double *state_c)
{
    double before_c = outside_c(outside, is_mirrored ? n - 1 : 0);
    double here_c = before_c;
    for (size_t k = 0; k < n; k++) {
        size_t next = k + 1 < n ? k + 1 : k;
        double after_c = outside_c(outside, is_mirrored ? n - 1 - next : next);
        walk_hour_c(piece, before_c, here_c, after_c, state_c);
        before_c = here_c;
        here_c = after_c;
    }
}

/* State at the start: that of the first block run forwards and backwards for ever.  One round is
 * T -> T_round + D (T - T_guess) with D = exp(-2 n/tau), so its fixed point needs one walk. */
static double start_state_c(const struct piece *piece, const struct outside *outside,
                            double time_constant_h)
{
    size_t n = outside->n < SPIN_UP_H ? outside->n : SPIN_UP_H;
    double guess_c = 0.0;
    for (size_t k = 0; k < n; k++)
        guess_c += outside_c(outside, k) / (double)n;
    double state_c = guess_c;
    walk_block(piece, outside, n, false, &state_c);
    walk_block(piece, outside, n, true, &state_c);
    return guess_c + (state_c - guess_c) / -expm1(-2.0 * (double)n / time_constant_h);
}

static bool is_known(const struct outside *outside)
{
    for (size_t k = 0; k < outside->n; k++)
        if (!isfinite(outside->air_c[k]) || !isfinite(outside->radiant_c[k]))
            return false;
    return true;
}

enum stv_status stv_cask_liquid_c(const double *air_c, const double *radiant_c, size_t n,
                                  double time_constant_h, double convective_frac,
                                  double *out_liquid_c)
{
    if (!air_c || !radiant_c || !out_liquid_c || n == 0)
        return STV_E_ARG;
    struct outside outside = {air_c, radiant_c, n, convective_frac};
    if (!(time_constant_h >= TIME_CONSTANT_LEAST_H && time_constant_h <= TIME_CONSTANT_MOST_H) ||
        !is_known(&outside)) {
        for (size_t k = 0; k < n; k++)
            out_liquid_c[k] = NAN;
        return STV_E_DOMAIN;
    }
    struct piece piece = piece_of(time_constant_h);
    double state_c = start_state_c(&piece, &outside, time_constant_h);
    double before_c = outside_c(&outside, 0);
    double here_c = before_c;
    for (size_t k = 0; k < n; k++) {
        double after_c = k + 1 < n ? outside_c(&outside, k + 1) : here_c;
        out_liquid_c[k] = walk_hour_c(&piece, before_c, here_c, after_c, &state_c);
        before_c = here_c;
        here_c = after_c;
    }
    return STV_OK;
}
