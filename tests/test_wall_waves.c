/* Waves through walls and into the ground against the exact solutions of the heat equation. */
#include "tests/check.h"

#include "model/units.h"
#include "tests/wall_case.h"

#include <complex.h>
#include <stdbool.h>

/* The standard I is a complex float. */
#define IMAGINARY ((double complex)I)

static const double pi_nd = 3.14159265358979323846;

/* Answers to a unit daily wave: fluxes into the wall, W/m2K, and heat held, J/m2K. */
struct answers {
    double complex y11, y22, yie, heat1, heat2;
};

static void multiply(double complex z[2][2], const double complex by[2][2])
{
    for (int i = 0; i < 2; i++) {
        double complex a = z[i][0], b = z[i][1];
        z[i][0] = a * by[0][0] + b * by[1][0];
        z[i][1] = a * by[0][1] + b * by[1][1];
    }
}

static void multiply_film(double complex z[2][2], double film_m2k_w)
{
    const double complex film[2][2] = {{1.0, -film_m2k_w}, {0.0, 1.0}};
    multiply(z, film);
}

static double wave_depth_m(const struct stv_layer *layer, double period_s)
{
    return sqrt(layer->conductivity_w_mk * period_s /
                (pi_nd * layer->density_kg_m3 * layer->cp_j_kgk));
}

/* ISO 13786: Z = Z_se Z_n .. Z_1 Z_si; Y11 = -Z11/Z12, Y22 = -Z22/Z12, Yie = -1/Z12.  Heat held is
 * what enters less what leaves, over i w; its modulus is kappa = P/(2 pi) |(Z11 - 1)/Z12|. */
static struct answers exact_answers(const struct wall_case *row)
{
    double complex z[2][2] = {{1.0, 0.0}, {0.0, 1.0}};
    multiply_film(z, row->film_out_m2k_w);
    for (size_t i = 0; i < row->construction.n_layers; i++) {
        const struct stv_layer *layer = &row->construction.layers[i];
        double complex g = (1.0 + IMAGINARY) / wave_depth_m(layer, STV_DAY_S);
        double complex q = g * layer->thickness_m, kg = layer->conductivity_w_mk * g;
        const double complex m[2][2] = {{ccosh(q), -csinh(q) / kg}, {-kg * csinh(q), ccosh(q)}};
        multiply(z, m);
    }
    multiply_film(z, row->film_in_m2k_w);
    double complex per_angle = STV_DAY_S / (2.0 * pi_nd * IMAGINARY);
    return (struct answers){.y11 = -z[0][0] / z[0][1],
                            .y22 = -z[1][1] / z[0][1],
                            .yie = -1.0 / z[0][1],
                            .heat1 = per_angle * (1.0 - z[0][0]) / z[0][1],
                            .heat2 = per_angle * (1.0 - z[1][1]) / z[0][1]};
}

/* Hours by which an answer leads, in -12 .. 12; and by which what passes lags, in 0 .. 24. */
static double lead_h(double complex answer)
{
    return carg(answer) * STV_DAY_H / (2.0 * pi_nd);
}

static double lag_h(double complex answer)
{
    double lead = lead_h(answer);
    return lead > 0.0 ? STV_DAY_H - lead : -lead;
}

static struct wall_figures figures_of(const struct wall_case *row, const struct answers *answers)
{
    double u =
        stv_construction_u_w_m2k(&row->construction, row->film_in_m2k_w, row->film_out_m2k_w);
    return (struct wall_figures){.u = u,
                                 .y11 = cabs(answers->y11),
                                 .lead11_h = lead_h(answers->y11),
                                 .y22 = cabs(answers->y22),
                                 .lead22_h = lead_h(answers->y22),
                                 .yie = cabs(answers->yie),
                                 .lag_h = lag_h(answers->yie),
                                 .decrement = cabs(answers->yie) / u,
                                 .kappa1 = cabs(answers->heat1) / 1000.0,
                                 .kappa2 = cabs(answers->heat2) / 1000.0};
}

/* Drives the wall for n_days with a unit wave of the air on one side, and takes the first Fourier
 * coefficients of the last day from the ends of the steps. */
static void drive(const struct wall_case *row, double step_s, bool is_outside, int n_days,
                  struct answers *out)
{
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row->construction, 1, step_s, 0.0, &wall));
    int per_day = (int)(STV_DAY_S / step_s + 0.5);
    const double still_c[STV_STAGES] = {0.0, 0.0};
    double complex in = 0.0, through = 0.0, heat = 0.0;
    for (int i = 0; i < n_days * per_day; i++) {
        double wave_c[STV_STAGES];
        struct wall_fluxes fluxes;
        for (int stage = 0; stage < STV_STAGES; stage++)
            wave_c[stage] = cos(2.0 * pi_nd * (i + stv_stage_time_frac(stage)) / per_day);
        wall_case_step(wall, row, is_outside ? wave_c : still_c, is_outside ? still_c : wave_c,
                       &fluxes);
        if (i < (n_days - 1) * per_day)
            continue;
        double complex turn =
            2.0 / per_day * cexp(-2.0 * pi_nd * IMAGINARY * (double)(i + 1) / (double)per_day);
        in += turn * (is_outside ? fluxes.from_outside_w_m2[1] : -fluxes.into_room_w_m2[1]);
        through += turn * fluxes.into_room_w_m2[1];
        heat += turn * stv_wall_heat_j_m2(wall, 0);
    }
    stv_wall_free(wall);
    *(is_outside ? &out->y22 : &out->y11) = in;
    *(is_outside ? &out->heat2 : &out->heat1) = heat;
    if (is_outside)
        out->yie = through;
}

static struct wall_figures simulated(const struct wall_case *row, double step_s)
{
    struct answers answers;
    drive(row, step_s, true, 20, &answers);
    drive(row, step_s, false, 20, &answers);
    return figures_of(row, &answers);
}

/* The worst miss of a set of figures: amplitudes in per cent, times in hours. */
struct misses {
    double amplitude_frac, time_h;
};

static struct misses worst_miss(const struct wall_figures *got, const struct wall_figures *want)
{
    const double amplitudes[][2] = {{got->y11, want->y11},
                                    {got->y22, want->y22},
                                    {got->yie, want->yie},
                                    {got->kappa1, want->kappa1},
                                    {got->kappa2, want->kappa2}};
    struct misses worst = {0.0, 0.0};
    for (size_t i = 0; i < 5; i++)
        worst.amplitude_frac =
            fmax(worst.amplitude_frac, fabs(amplitudes[i][0] / amplitudes[i][1] - 1.0));
    worst.time_h = fmax(fabs(got->lag_h - want->lag_h), fmax(fabs(got->lead11_h - want->lead11_h),
                                                             fabs(got->lead22_h - want->lead22_h)));
    return worst;
}

static void print_figures(const char *what, const struct wall_figures *f)
{
    print_message("%-20s U %.4f  Y11 %.4f %.3f h  Y22 %.4f %.3f h  Yie %.4f %.3f h  f %.4f  "
                  "kappa %.2f %.2f\n",
                  what, f->u, f->y11, f->lead11_h, f->y22, f->lead22_h, f->yie, f->lag_h,
                  f->decrement, f->kappa1, f->kappa2);
}

/* Half a unit of the last printed digit. */
static void test_matrix_gives_the_typed_figures(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_WALL_CASES; i++) {
        const struct wall_figures *want = &wall_cases[i].known;
        struct answers answers = exact_answers(&wall_cases[i]);
        struct wall_figures exact = figures_of(&wall_cases[i], &answers);
        print_figures(wall_cases[i].what, &exact);
        stv_assert_close(exact.u, want->u, 0.0, 5.1e-5);
        stv_assert_close(exact.y11, want->y11, 0.0, 5.1e-5);
        stv_assert_close(exact.lead11_h, want->lead11_h, 0.0, 5.1e-4);
        stv_assert_close(exact.y22, want->y22, 0.0, 5.1e-5);
        stv_assert_close(exact.lead22_h, want->lead22_h, 0.0, 5.1e-4);
        stv_assert_close(exact.yie, want->yie, 0.0, 5.1e-5);
        stv_assert_close(exact.lag_h, want->lag_h, 0.0, 5.1e-4);
        stv_assert_close(exact.decrement, want->decrement, 0.0, 5.1e-5);
        stv_assert_close(exact.kappa1, want->kappa1, 0.0, 5.1e-3);
        stv_assert_close(exact.kappa2, want->kappa2, 0.0, 5.1e-3);
    }
}

/* The wall in finite volumes: one line a construction, misses against the exact figures.  What
 * passes is held to 1 % and 0.05 h at any step, both faces and the heat held as asked. */
static void check_walls(double step_s, double amplitude_frac, double time_h)
{
    for (size_t i = 0; i < N_WALL_CASES; i++) {
        struct answers answers = exact_answers(&wall_cases[i]);
        struct wall_figures exact = figures_of(&wall_cases[i], &answers);
        struct wall_figures got = simulated(&wall_cases[i], step_s);
        struct misses miss = worst_miss(&got, &exact);
        print_message("%4.0f s %-20s Yie %.4f (%+.2f %%), lag %.3f h (%+.3f); worst of all "
                      "amplitudes %.2f %%, of all times %.3f h\n",
                      step_s, wall_cases[i].what, got.yie, 100.0 * (got.yie / exact.yie - 1.0),
                      got.lag_h, got.lag_h - exact.lag_h, 100.0 * miss.amplitude_frac, miss.time_h);
        stv_assert_close(got.yie, exact.yie, 0.01, 0.0);
        stv_assert_close(got.lag_h, exact.lag_h, 0.0, 0.05);
        stv_assert_close(miss.amplitude_frac, 0.0, 0.0, amplitude_frac);
        stv_assert_close(miss.time_h, 0.0, 0.0, time_h);
    }
}

static void test_daily_wave_at_five_minutes(void **state)
{
    (void)state;
    check_walls(300.0, 0.01, 0.1);
}

static void test_daily_wave_at_the_production_step(void **state)
{
    (void)state;
    check_walls(STV_HOUR_S, 0.03, 0.3);
}

/* Solid brick, films 0.12 and 0.06: admittance, decrement and lag as exact solutions to the digits
 * shown; a table of a British guide (CIBSE Guide A, from memory) agrees with them to its own
 * rounding. */
static void test_bricks(void **state)
{
    (void)state;
    const struct {
        double thickness_m, u, y11, decrement, lag_h;
    } bricks[] = {{0.105, 3.28, 4.26, 0.872, 2.6},
                  {0.220, 2.26, 4.70, 0.538, 6.0},
                  {0.335, 1.73, 4.73, 0.290, 9.4}};
    for (size_t i = 0; i < sizeof bricks / sizeof bricks[0]; i++) {
        struct wall_case row = {
            .construction = {.layers = {{0.84, bricks[i].thickness_m, 1700, 800, 0}},
                             .n_layers = 1},
            .film_in_m2k_w = 0.12,
            .film_out_m2k_w = 0.06};
        struct answers answers = exact_answers(&row);
        struct wall_figures exact = figures_of(&row, &answers), got = simulated(&row, 300.0);
        print_figures("brick", &got);
        stv_assert_close(exact.u, bricks[i].u, 0.0, 5.1e-3);
        stv_assert_close(exact.y11, bricks[i].y11, 0.0, 5.1e-3);
        stv_assert_close(exact.decrement, bricks[i].decrement, 0.0, 5.1e-4);
        stv_assert_close(exact.lag_h, bricks[i].lag_h, 0.0, 5.1e-2);
        stv_assert_close(worst_miss(&got, &exact).amplitude_frac, 0.0, 0.0, 0.01);
    }
}

static void test_steady_flux_is_u(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_WALL_CASES; i++) {
        struct stv_wall *wall;
        stv_assert_ok(stv_wall_new(&wall_cases[i].construction, 1, STV_HOUR_S, 3.7, &wall));
        const double outside_c[2] = {23.85, 23.85}, inside_c[2] = {0.0, 0.0};
        struct wall_fluxes fluxes;
        for (int step = 0; step < 24 * 60; step++)
            wall_case_step(wall, &wall_cases[i], outside_c, inside_c, &fluxes);
        stv_assert_close(fluxes.into_room_w_m2[1],
                         23.85 * stv_construction_u_w_m2k(&wall_cases[i].construction,
                                                          wall_cases[i].film_in_m2k_w,
                                                          wall_cases[i].film_out_m2k_w),
                         1e-9, 0.0);
        stv_wall_free(wall);
    }
}

/* Depth of a wave in a thick body, its lag by the metre, and what its surface takes in. */
struct ground_wave {
    double depth_m, lag_h_per_m, admittance_w_m2k;
};

/* Eight layers of 0.9 wave depths, so that nothing comes back from the far side; the wave is read
 * at the node nearest to one depth, on the tenth period. */
static struct ground_wave wave_in_ground(struct stv_layer soil, double period_s)
{
    int per_period = 288, n_periods = 10;
    struct wall_case row = {.film_in_m2k_w = 0.13, .film_out_m2k_w = 1e-4};
    soil.thickness_m = 0.9 * wave_depth_m(&soil, period_s);
    for (row.construction.n_layers = 0; row.construction.n_layers < 8;)
        row.construction.layers[row.construction.n_layers++] = soil;
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, period_s / per_period, 0.0, &wall));
    double cell_m = 8.0 * soil.thickness_m / (double)(stv_wall_n_nodes(wall) - 1);
    size_t node_idx = (size_t)(soil.thickness_m / 0.9 / cell_m + 0.5);
    double complex below = 0.0, surface = 0.0, flux = 0.0;
    const double still_c[STV_STAGES] = {0.0, 0.0};
    for (int i = 0; i < n_periods * per_period; i++) {
        double wave_c[STV_STAGES];
        struct wall_fluxes fluxes;
        for (int stage = 0; stage < STV_STAGES; stage++)
            wave_c[stage] = cos(2.0 * pi_nd * (i + stv_stage_time_frac(stage)) / per_period);
        wall_case_step(wall, &row, wave_c, still_c, &fluxes);
        if (i < (n_periods - 1) * per_period)
            continue;
        double complex turn =
            2.0 / per_period * cexp(-2.0 * pi_nd * IMAGINARY * (double)(i + 1) / per_period);
        below += turn * stv_wall_node_c(wall, node_idx, 0);
        surface += turn * stv_wall_node_c(wall, 0, 0);
        flux += turn * fluxes.from_outside_w_m2[1];
    }
    stv_wall_free(wall);
    double x_m = cell_m * (double)node_idx;
    return (struct ground_wave){-x_m / log(cabs(below / surface)),
                                -carg(below / surface) * period_s / (2.0 * pi_nd * 3600.0) / x_m,
                                cabs(flux / surface)};
}

/* T(x) = Tm + A exp(-x/d) sin(w t - x/d), d = sqrt(a P/pi): the depth of the daily and the yearly
 * wave and their lag, exact to the digits shown. */
static void test_waves_sink_into_the_ground(void **state)
{
    (void)state;
    const struct {
        const char *what;
        struct stv_layer layer;
        double day_m, day_h_per_m, year_m, year_h_per_m;
    } grounds[] = {{"moist soil", {1.5, 1, 1800, 1111, 0}, 0.1436, 26.6, 2.744, 508},
                   {"dry soil", {0.6, 1, 1500, 900, 0}, 0.1106, 34.6, 2.112, 660},
                   {"stone", {1.7, 1, 2200, 900, 0}, 0.1537, 24.9, 2.936, 475},
                   {"oak", {0.17, 1, 720, 1900, 0}, 0.0585, 65.3, 1.117, 1248}};
    for (size_t i = 0; i < sizeof grounds / sizeof grounds[0]; i++) {
        const double periods_s[] = {STV_DAY_S, 365.0 * STV_DAY_S};
        const double depths_m[] = {grounds[i].day_m, grounds[i].year_m};
        const double lags[] = {grounds[i].day_h_per_m, grounds[i].year_h_per_m};
        for (size_t k = 0; k < 2; k++) {
            double exact_m = wave_depth_m(&grounds[i].layer, periods_s[k]);
            double exact_h_per_m = periods_s[k] / (2.0 * pi_nd * 3600.0 * exact_m);
            struct ground_wave got = wave_in_ground(grounds[i].layer, periods_s[k]);
            print_message("%-10s %3.0f d: depth %.4f m (exact %.4f), lag %.2f h/m (exact %.2f)\n",
                          grounds[i].what, periods_s[k] / STV_DAY_S, got.depth_m, exact_m,
                          got.lag_h_per_m, exact_h_per_m);
            stv_assert_close(exact_m, depths_m[k], 0.0, k == 0 ? 5.1e-5 : 5.1e-4);
            stv_assert_close(exact_h_per_m, lags[k], 0.0, k == 0 ? 0.051 : 0.51);
            stv_assert_close(got.depth_m, exact_m, 0.01, 0.0);
            stv_assert_close(got.lag_h_per_m, exact_h_per_m, 0.01, 0.0);
        }
    }
}

/* sqrt(2 pi k rho c/P) of a thick body under the daily wave. */
static void test_surface_of_a_thick_body(void **state)
{
    (void)state;
    const struct {
        struct stv_layer layer;
        double admittance_w_m2k;
    } bodies[] = {{{1.8, 1, 2400, 1000, 0}, 17.725}, {{1.5, 1, 1800, 1111, 0}, 14.770}};
    for (size_t i = 0; i < 2; i++) {
        const struct stv_layer *layer = &bodies[i].layer;
        double exact = sqrt(2.0 * pi_nd * layer->conductivity_w_mk * layer->density_kg_m3 *
                            layer->cp_j_kgk / STV_DAY_S);
        double got = wave_in_ground(*layer, STV_DAY_S).admittance_w_m2k;
        print_message("thick body: admittance %.3f (exact %.3f) W/m2K\n", got, exact);
        stv_assert_close(exact, bodies[i].admittance_w_m2k, 0.0, 5.1e-4);
        stv_assert_close(got, exact, 0.01, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_matrix_gives_the_typed_figures),
        cmocka_unit_test(test_daily_wave_at_five_minutes),
        cmocka_unit_test(test_daily_wave_at_the_production_step),
        cmocka_unit_test(test_bricks),
        cmocka_unit_test(test_steady_flux_is_u),
        cmocka_unit_test(test_waves_sink_into_the_ground),
        cmocka_unit_test(test_surface_of_a_thick_body),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
