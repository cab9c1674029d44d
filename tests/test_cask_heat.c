/* Closed forms of one node under steps, ramps and waves, and a fine integration beside them. */
#include "model/cask_heat.h"
#include "model/cooperage.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <stdlib.h>

#define TWO_PI 6.28318530717958647693
#define SPIN_UP_H 720

static double *series(size_t n)
{
    double *values = calloc(n, sizeof *values);
    assert_non_null(values);
    return values;
}

/* sinh(y)/y with y half an hour over tau: what smearing over an hour does to an exponential. */
static double smear_nd(double time_constant_h)
{
    double y = 0.5 / time_constant_h;
    return sinh(y) / y;
}

/* T = 1 - exp(-t/tau) after a step; the step here rises in the hour between two hour middles, and
 * the result is an hour's mean, each of which multiplies the exponential by smear_nd. */
static void step_follows_the_exponential(void **state)
{
    (void)state;
    static const double time_constants_h[] = {1.0, 6.0, 28.2, 385.0, 2000.0};
    const size_t n = 1500, before = 800;
    double *outside_c = series(n), *liquid_c = series(n);
    for (size_t k = before; k < n; k++)
        outside_c[k] = 1.0;
    for (size_t i = 0; i < sizeof time_constants_h / sizeof *time_constants_h; i++) {
        double tau_h = time_constants_h[i];
        stv_assert_ok(stv_cask_liquid_c(outside_c, outside_c, n, tau_h,
                                        stv_cask_convective_frac(&usual), liquid_c));
        for (size_t k = 0; k < before - 1; k++)
            stv_assert_close(liquid_c[k], 0.0, 0.0, 1e-12);
        for (size_t k = before + 1; k < n; k++) {
            double since_h = (double)(k - before) + 0.5; /* middle of hour k after the step */
            double want = 1.0 - exp(-since_h / tau_h) * smear_nd(tau_h) * smear_nd(tau_h);
            stv_assert_close(liquid_c[k], want, 0.0, 1e-12);
        }
    }
    free(outside_c);
    free(liquid_c);
}

static void ramp_lags_by_the_time_constant(void **state)
{
    (void)state;
    const double tau_h = 28.2, rate_k_h = 0.0385, start_c = 11.3;
    const size_t n = 3000;
    double *outside_c = series(n), *liquid_c = series(n);
    for (size_t k = 0; k < n; k++)
        outside_c[k] = start_c + rate_k_h * (double)k;
    stv_assert_ok(stv_cask_liquid_c(outside_c, outside_c, n, tau_h,
                                    stv_cask_convective_frac(&usual), liquid_c));
    for (size_t k = 1500; k < n - 1; k++) /* 53 time constants after the start */
        stv_assert_close(liquid_c[k], outside_c[k] - rate_k_h * tau_h, 0.0, 1e-10);
    free(outside_c);
    free(liquid_c);
}

/* Gain and lag of a sine of `period_h` through the node, from the last three whole periods. */
static void wave_response(size_t period_h, double tau_h, double *out_gain_nd, double *out_lag_h)
{
    size_t n = period_h * 20, first = n - 4 * period_h, last = n - period_h;
    double *outside_c = series(n), *liquid_c = series(n);
    double in_phase = 0.0, behind = 0.0;
    for (size_t k = 0; k < n; k++)
        outside_c[k] = cos(TWO_PI * ((double)k + 0.5) / (double)period_h);
    stv_assert_ok(stv_cask_liquid_c(outside_c, outside_c, n, tau_h,
                                    stv_cask_convective_frac(&usual), liquid_c));
    for (size_t k = first; k < last; k++) {
        double angle_rad = TWO_PI * ((double)k + 0.5) / (double)period_h;
        in_phase += liquid_c[k] * cos(angle_rad);
        behind += liquid_c[k] * sin(angle_rad);
    }
    *out_gain_nd = 2.0 * hypot(in_phase, behind) / (double)(last - first);
    *out_lag_h = atan2(behind, in_phase) * (double)period_h / TWO_PI;
    free(outside_c);
    free(liquid_c);
}

/* Gain 1/sqrt(1 + (2 pi tau/P)^2), lag (P/2 pi) atan(2 pi tau/P): first-order low pass.  Drawn out
 * fifty times, where straight lines between hours stand for the sine to 4e-6. */
static void wave_has_the_closed_gain_and_lag(void **state)
{
    (void)state;
    static const struct {
        double tau_h, gain_nd, lag_h;
    } cases[] = {{6.0, 0.5370, 3.83}, {30.0, 0.1263, 5.52}}; /* for a day of 24 h */
    for (size_t i = 0; i < 2; i++) {
        double gain_nd, lag_h, x = TWO_PI * cases[i].tau_h / 24.0;
        double want_gain_nd = 1.0 / sqrt(1.0 + x * x), want_lag_h = 24.0 / TWO_PI * atan(x);
        stv_assert_close(want_gain_nd, cases[i].gain_nd, 0.0, 5e-5);
        stv_assert_close(want_lag_h, cases[i].lag_h, 0.0, 5e-3);
        wave_response(1200, cases[i].tau_h * 50.0, &gain_nd, &lag_h);
        stv_assert_close(gain_nd, want_gain_nd, 1e-5, 0.0);
        stv_assert_close(lag_h / 50.0, want_lag_h, 0.0, 1e-5);
        /* A day of 24 hourly values: the line loses (sin y/y)^2 and the hour's mean one more,
         * y = pi/24: 0.86 % together, and the corners give a little back. */
        wave_response(24, cases[i].tau_h, &gain_nd, &lag_h);
        double y = TWO_PI / 48.0;
        stv_assert_close(gain_nd, want_gain_nd * pow(sin(y) / y, 3.0), 1e-3, 0.0);
        stv_assert_close(lag_h, want_lag_h, 0.0, 0.02);
    }
    /* The yearly wave of a full cask, and of a whole store's 660 h: to the digits shown. */
    static const double yearly[][3] = {{30.0, 0.9998, 30.0}, {660.0, 0.9038, 616.4}};
    for (size_t i = 0; i < 2; i++) {
        double gain_nd, lag_h;
        wave_response(365 * 24, yearly[i][0], &gain_nd, &lag_h);
        print_message("cask, tau %.0f h, year: gain %.4f, lag %.2f h\n", yearly[i][0], gain_nd,
                      lag_h);
        stv_assert_close(gain_nd, yearly[i][1], 0.0, 5e-5);
        stv_assert_close(lag_h, yearly[i][2], 0.0, 5e-2);
    }
}

static double pseudo_weather_c(size_t k)
{
    double hour = (double)k;
    return 17.35 + 9.1 * sin(TWO_PI * hour / 24.0) + 4.2 * sin(TWO_PI * hour / 91.7) +
           1.3 * sin(hour * hour);
}

/* Classical Runge-Kutta with `n_steps` steps in each half hour, from the middle of hour 0 on. */
static double integrate_hour_c(const double *air_c, const double *radiant_c, size_t k, double tau_h,
                               double *state_c)
{
    const int n_steps = 200;
    double sum_c = 0.0, h = 0.5 / n_steps;
    for (int i = 0; i < 2 * n_steps; i++) {
        double at[3], start_c = *state_c;
        for (int j = 0; j < 3; j++) {
            double place = (i + 0.5 * j) * h - 0.5; /* from the hour's middle */
            size_t other = place < 0.0 ? k - 1 : k + 1;
            double share = fabs(place);
            double air = air_c[k] + share * (air_c[other] - air_c[k]);
            double radiant = radiant_c[k] + share * (radiant_c[other] - radiant_c[k]);
            at[j] = stv_cask_convective_frac(&usual) * air +
                    (1.0 - stv_cask_convective_frac(&usual)) * radiant;
        }
        double k1 = (at[0] - start_c) / tau_h;
        double k2 = (at[1] - start_c - 0.5 * h * k1) / tau_h;
        double k3 = (at[1] - start_c - 0.5 * h * k2) / tau_h;
        double k4 = (at[2] - start_c - h * k3) / tau_h;
        double middle_c = start_c + h * (5.0 * k1 + 4.0 * k2 + 4.0 * k3 - k4) / 24.0;
        *state_c = start_c + h * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
        sum_c += (start_c + 4.0 * middle_c + *state_c) / 6.0;
    }
    return sum_c / (2 * n_steps);
}

static void agrees_with_a_fine_integration(void **state)
{
    (void)state;
    const size_t n = 900;
    const double tau_h = 16.4;
    double *air_c = series(n), *radiant_c = series(n), *liquid_c = series(n);
    for (size_t k = 0; k < n; k++) {
        air_c[k] = pseudo_weather_c(k);
        radiant_c[k] = air_c[k] + 2.385 * sin(0.31 * (double)k);
    }
    stv_assert_ok(
        stv_cask_liquid_c(air_c, radiant_c, n, tau_h, stv_cask_convective_frac(&usual), liquid_c));
    double state_c = liquid_c[0]; /* forgotten after 40 time constants */
    for (size_t k = 1; k + 1 < n; k++) {
        double want_c = integrate_hour_c(air_c, radiant_c, k, tau_h, &state_c);
        if (k > 700)
            stv_assert_close(liquid_c[k], want_c, 0.0, 1e-9);
    }
    free(air_c);
    free(radiant_c);
    free(liquid_c);
}

/* The same broken line cut three times as fine, with three times the time constant in steps, must
 * give the same hourly means: the update has no step error.  (A third keeps the hour's middle.) */
static void finer_cut_changes_nothing(void **state)
{
    (void)state;
    enum { N = 230 };
    double *coarse_c = series(N), *coarse_liquid_c = series(N);
    double *fine_c = series(3 * N), *fine_liquid_c = series(3 * N);
    for (size_t k = 0; k < N; k++)
        coarse_c[k] = pseudo_weather_c(k);
    for (size_t k = 0; k < N; k++) {
        double before_c = coarse_c[k ? k - 1 : 0], after_c = coarse_c[k + 1 < N ? k + 1 : k];
        fine_c[3 * k] = coarse_c[k] + (before_c - coarse_c[k]) / 3.0;
        fine_c[3 * k + 1] = coarse_c[k];
        fine_c[3 * k + 2] = coarse_c[k] + (after_c - coarse_c[k]) / 3.0;
    }
    stv_assert_ok(stv_cask_liquid_c(coarse_c, coarse_c, N, 22.2, stv_cask_convective_frac(&usual),
                                    coarse_liquid_c));
    stv_assert_ok(stv_cask_liquid_c(fine_c, fine_c, 3 * N, 66.6, stv_cask_convective_frac(&usual),
                                    fine_liquid_c));
    for (size_t k = 0; k < N; k++) {
        double mean_c =
            (fine_liquid_c[3 * k] + fine_liquid_c[3 * k + 1] + fine_liquid_c[3 * k + 2]) / 3.0;
        stv_assert_close(coarse_liquid_c[k], mean_c, 0.0, 1e-11);
    }
    free(coarse_c);
    free(coarse_liquid_c);
    free(fine_c);
    free(fine_liquid_c);
}

static void radiant_share_is_five_eighths(void **state)
{
    (void)state;
    double air_c[50], radiant_c[50], liquid_c[50];
    for (size_t k = 0; k < 50; k++) {
        air_c[k] = 19.25;
        radiant_c[k] = 27.25;
    }
    stv_assert_ok(
        stv_cask_liquid_c(air_c, radiant_c, 50, 28.2, stv_cask_convective_frac(&usual), liquid_c));
    for (size_t k = 0; k < 50; k++)
        stv_assert_close(liquid_c[k], 0.375 * 19.25 + 0.625 * 27.25, 1e-14, 0.0);
}

/* The start is the fixed point of the first block run forwards and backwards: a record that is that
 * loop, many times over, ends where it began. */
static void start_is_the_settled_state(void **state)
{
    (void)state;
    const size_t rounds = 12, n = 2 * SPIN_UP_H * rounds;
    const double tau_h = 1500.0;
    double *outside_c = series(n), *liquid_c = series(n);
    for (size_t k = 0; k < n; k++) {
        size_t at = k % (2 * SPIN_UP_H);
        outside_c[k] = pseudo_weather_c(at < SPIN_UP_H ? at : 2 * SPIN_UP_H - 1 - at) +
                       0.01 * (double)(at < SPIN_UP_H ? at : 2 * SPIN_UP_H - 1 - at);
    }
    stv_assert_ok(stv_cask_liquid_c(outside_c, outside_c, n, tau_h,
                                    stv_cask_convective_frac(&usual), liquid_c));
    for (size_t k = 0; k < n - 2 * SPIN_UP_H; k++)
        stv_assert_close(liquid_c[k], liquid_c[k + 2 * SPIN_UP_H], 0.0, 1e-10);
    free(outside_c);
    free(liquid_c);
}

static void refusals_are_said(void **state)
{
    (void)state;
    double air_c[3] = {11.0, 12.5, 13.0}, out_c[3] = {1.0, 1.0, 1.0};
    static const double bad_h[] = {0.999, 2000.001, -5.0};
    stv_assert_status(
        stv_cask_liquid_c(NULL, air_c, 3, 20.0, stv_cask_convective_frac(&usual), out_c),
        STV_E_ARG);
    stv_assert_status(
        stv_cask_liquid_c(air_c, NULL, 3, 20.0, stv_cask_convective_frac(&usual), out_c),
        STV_E_ARG);
    stv_assert_status(
        stv_cask_liquid_c(air_c, air_c, 3, 20.0, stv_cask_convective_frac(&usual), NULL),
        STV_E_ARG);
    stv_assert_status(
        stv_cask_liquid_c(air_c, air_c, 0, 20.0, stv_cask_convective_frac(&usual), out_c),
        STV_E_ARG);
    stv_assert_close(out_c[1], 1.0, 0.0, 0.0);
    for (size_t i = 0; i < 3; i++) {
        out_c[2] = 1.0;
        stv_assert_status(
            stv_cask_liquid_c(air_c, air_c, 3, bad_h[i], stv_cask_convective_frac(&usual), out_c),
            STV_E_DOMAIN);
        stv_assert_close(out_c[2], (double)NAN, 0.0, 0.0);
    }
    stv_assert_status(
        stv_cask_liquid_c(air_c, air_c, 3, (double)NAN, stv_cask_convective_frac(&usual), out_c),
        STV_E_DOMAIN);
    double holed_c[3] = {11.0, (double)NAN, 13.0};
    stv_assert_status(
        stv_cask_liquid_c(air_c, holed_c, 3, 20.0, stv_cask_convective_frac(&usual), out_c),
        STV_E_DOMAIN);
    stv_assert_close(out_c[0], (double)NAN, 0.0, 0.0);
    stv_assert_ok(
        stv_cask_liquid_c(air_c, air_c, 1, 20.0, stv_cask_convective_frac(&usual), out_c));
    stv_assert_close(out_c[0], 11.0, 1e-13, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(step_follows_the_exponential),
        cmocka_unit_test(ramp_lags_by_the_time_constant),
        cmocka_unit_test(wave_has_the_closed_gain_and_lag),
        cmocka_unit_test(agrees_with_a_fine_integration),
        cmocka_unit_test(finer_cut_changes_nothing),
        cmocka_unit_test(radiant_share_is_five_eighths),
        cmocka_unit_test(start_is_the_settled_state),
        cmocka_unit_test(refusals_are_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
